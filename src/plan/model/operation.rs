//! How a bend is made: lengths are mm, angles rad.

use std::f64::consts::PI;

/// How one bend is made: the tube is fed to a mark, turned, and pulled. All lengths along the tube are mm from the end
/// that bending begins at, on the cut tube before it is bent: what the bends stretch by is taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operation {
    /// The bend's number from the datum end, from 1.
    pub bend: usize,
    /// First the tube is slid along the tool.
    pub feed: Feed,
    /// Then it is turned about itself.
    pub turn: Turn,
    /// Then it is bent.
    pub pull: Pull,
    /// The tube that the bend is made of.
    pub arc: ArcOnTube,
    /// The tube to be made soft first; none where the bend is not annealed.
    pub anneal: Option<Zone>,
    /// For a bend of 90°: from the tube's end (first bend made) or the end of the last bend, along the leg, to the
    /// centreline of the new leg, mm.
    pub leg: Option<f64>,
    /// Between two bends of 90°: along the leg between them from the back of the bend made before to the back of this
    /// one, mm, as a rule over both legs measures it.
    pub back_to_back: Option<f64>,
}

/// How far the tube is slid along the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// The place on the tube that goes to the bender's reference line, mm: the point of the bend that the bender is
    /// marked for (start, middle or end), less the bender's datum distance, because the line sits that far before
    /// the point it stands for.
    pub mark: f64,
    /// The same measured from the actual end of the bend made before, mm; from the tube's end for the first.
    pub from_last_end: f64,
    /// Straight of the finished tube before the bend, mm; without allowance.
    pub straight_before: f64,
}

/// How far the tube is turned about itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Turn of the bend's plane from that of the bend made before, right-handed about the direction of travel, rad:
    /// clockwise seen from the end that bending begins at. A tool that goes round the tube is turned by it.
    pub rotation: f64,
    /// Where the inside of the bend lies around the tube; the inside of the first bend made is at 0.
    pub inside: Clock,
}

impl Turn {
    /// How far the tube is turned in a tool that stays where it is: rad, clockwise seen from the end that bending
    /// begins at, −π < turn ≤ π. A side that lies clockwise is brought to the tool by turning the tube anticlockwise.
    pub fn of_tube(&self) -> f64 {
        // Half a turn is the same either way.
        if self.rotation.to_degrees() >= 180.0 { PI } else { 0.0 - self.rotation }
    }
}

/// How far the tube is bent before it is let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Angle to pull to, rad.
    pub angle: f64,
    /// Centreline radius under load, while it is held at that angle, mm: that of the tool.
    pub radius: f64,
}

/// The stretch of the straight tube that becomes a bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArcOnTube {
    /// Where it starts, mm.
    pub start: f64,
    /// How long it is, mm.
    pub length: f64,
}

impl ArcOnTube {
    /// Its middle, mm.
    pub fn middle(&self) -> f64 {
        self.start + self.length / 2.0
    }

    /// Its end, mm.
    pub fn end(&self) -> f64 {
        self.start + self.length
    }
}

/// The tube that is made soft for a bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Where it begins, mm.
    pub from: f64,
    /// Where it ends, mm.
    pub to: f64,
}

/// What a dial on the tube reads for one of its sides: clockwise seen from the end that bending begins at, from 0 up
/// to a full turn.
///
/// It adds up the turns as the dial does, in degrees: a sum in radians would end in other digits.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Clock {
    degrees: f64,
}

impl Clock {
    /// The reading after all turns, which are given in degrees.
    pub(in crate::plan) fn after(turned: f64) -> Self {
        let degrees = turned.rem_euclid(360.0);
        // Rounding of a sum near a full turn is no turn.
        Clock { degrees: if 360.0 - degrees < 1e-9 { 0.0 } else { degrees } }
    }

    /// The reading, degrees.
    pub fn degrees(self) -> f64 {
        self.degrees
    }

    /// The angle, rad.
    pub fn radians(self) -> f64 {
        self.degrees.to_radians()
    }
}
