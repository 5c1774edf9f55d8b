//! A block with a groove along one side: half of a bending form, a whole one, or its follower.

use super::part::Purpose;
use crate::flat::{Edge, Path, Point};

/// The groove along a block's rim: part of a circle that is moved along the rim.
///
/// Seen along the tube the rim is a straight line at height 0 of the section; the circle's centre lies
/// `offset` outside it. 0 gives a half-round groove; more than 0 a shallower one (a segment of less than half
/// the circle); less than 0 a deeper one, whose walls go on straight from the circle's sides to the rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Groove {
    /// Radius of its section, mm.
    pub radius: f64,
    /// How far the section's centre lies outside the rim, mm, −∞ < offset < radius.
    pub offset: f64,
}

impl Groove {
    /// Depth below the rim, mm.
    pub fn depth(&self) -> f64 {
        self.radius - self.offset
    }
}

/// A blind round hole into a flat side of a block, at half its height, for a dowel that joins two halves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideHole {
    /// Which straight of the back it is in: from `back[side]` to `back[side + 1]` (see [`Block::back`]).
    pub side: usize,
    /// Distance from that straight's start to the hole's centre, mm.
    pub along: f64,
    /// Diameter, mm.
    pub diameter: f64,
    /// Depth, mm.
    pub depth: f64,
}

/// A block of even height, −height/2 ≤ z ≤ height/2, with a groove along its rim at z = 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Name, fit for a path: "form", "form-a", "follower".
    pub name: String,
    /// Height, mm.
    pub height: f64,
    /// The rim: straights and arcs that go on without a kink, all arcs clockwise (the block is on the right
    /// hand, the tube on the left). The contour at top and bottom.
    pub rim: Vec<Edge>,
    /// The groove.
    pub groove: Groove,
    /// The rest of the contour: corners from the rim's end (first) back to the rim's start (last),
    /// clockwise; at least three. The first and the last side stand square to the rim's ends.
    pub back: Vec<Point>,
    /// Round holes through the block along z: centre, diameter, purpose.
    pub holes: Vec<(Point, f64, Purpose)>,
    /// Other holes through the block along z: closed contours of straights, counter-clockwise.
    pub slots: Vec<Path>,
    /// Marks sunk into the top: closed contours of straights, counter-clockwise, clear of each other, of all
    /// holes and of the contour.
    pub sunk: Vec<Path>,
    /// How deep the marks are sunk, mm.
    pub sunk_depth: f64,
    /// Dowel holes into the back's sides.
    pub side_holes: Vec<SideHole>,
}
