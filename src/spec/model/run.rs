//! A run: its ends and the way between them.

use strum::{IntoStaticStr, VariantArray};

use super::{Bender, CopyOf, Fitting, Port, PortSlip, Route, Tube};
use crate::diagnostic::Span;
use crate::geometry::{InnerSpace, Point3, Vector3, angle_between};
use crate::tolerance::COINCIDENT_MM;

/// Whether bends are made soft with the torch first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Anneal {
    /// Where the bend would stretch the tube too far as it is.
    #[default]
    Auto,
    /// Every bend.
    Always,
    /// No bend.
    Never,
}

/// The end that bending begins at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum BendFrom {
    /// The `from` end, whatever it leaves to hold.
    Datum,
    /// The `to` end, whatever it leaves to hold.
    Other,
    /// The datum end, unless the bender can hold the tube much better from the other.
    #[default]
    Better,
}

impl BendFrom {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
    }
}

/// Largest misalignment at an end without a fitting, rad (1°): common practice, no source.
const MAX_ANGLE: f64 = std::f64::consts::PI / 180.0;

/// One end of a run, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Centre of the tube's end: the port's face, `insert` deeper.
    pub at: Point3,
    /// Centre of the port's face (the same as `at` without a fitting).
    pub face: Point3,
    /// Unit vector out of the port, if the end says which way it faces.
    pub facing: Option<Vector3>,
    /// `component.port`, if it is one.
    pub port: Option<String>,
    /// The port or end that it is the mirror image of, as messages name it: `component.port`, or an end of another run.
    pub image_of: Option<String>,
    /// The fitting there.
    pub fitting: Option<Fitting>,
    /// The finding about its port.
    pub slip: Option<PortSlip>,
    /// Where the spec says so.
    pub place: Span,
}

impl End {
    /// Largest misalignment of the tube that it takes, rad: that of its fitting.
    pub fn max_angle(&self) -> f64 {
        self.fitting.as_ref().map_or(MAX_ANGLE, |fitting| fitting.max_angle)
    }

    /// Whether a tube that goes straight on to this point leaves as the end asks; `None` where it faces nowhere.
    pub fn takes(&self, point: Point3) -> Option<bool> {
        let way = point - self.at;
        let turn = |facing| angle_between(way.normalize(), facing);
        self.facing.map(|facing| way.magnitude() > COINCIDENT_MM && turn(facing) <= self.max_angle())
    }

    /// The end of a run in a port. `name` is the port's full name, and `place` where the run names it.
    pub fn in_port(port: &Port, name: String, place: Span) -> End {
        let insert = port.fitting.as_ref().map_or(0.0, |fitting| fitting.insert);
        End {
            at: port.at - port.facing * insert,
            face: port.at,
            facing: Some(port.facing),
            port: Some(name),
            image_of: None,
            fitting: port.fitting.clone(),
            slip: port.slip,
            place,
        }
    }

    /// The same end if it faced along the unit vector `way`.
    #[must_use]
    pub fn turned_to(&self, way: Vector3) -> End {
        End { at: self.face - way * self.insert(), facing: Some(way), ..self.clone() }
    }

    /// How far the tube goes in behind the face, mm.
    pub fn insert(&self) -> f64 {
        self.fitting.as_ref().map_or(0.0, |f| f.insert)
    }
}

/// A bend's own centreline radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnClr {
    /// The radius, mm.
    pub mm: f64,
    /// Where the spec says so.
    pub place: Span,
}

/// How the spec writes the place of a corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Placed {
    /// By its coordinates.
    #[default]
    Point,
    /// In front of the face of the `from` end, with or without steps from there.
    Out,
    /// The same of the `to` end.
    In,
    /// By steps from the corner before.
    Step,
}

/// A corner of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where the straight centrelines cross.
    pub at: Point3,
    /// How the spec writes that.
    pub by: Placed,
    /// Its own centreline radius; without one its bender's.
    pub clr: Option<OwnClr>,
    /// Where the spec says so.
    pub place: Span,
}

/// A corner whose bend has one centre with a bend of another run, so that the two lines run side by side all the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Parallel {
    /// The corner's number, from 1.
    pub corner: usize,
    /// The other run.
    pub run: String,
    /// Where the spec says so.
    pub place: Span,
}

/// A row of a bend table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendRow {
    /// Straight before the bend, mm.
    pub length: f64,
    /// Plane rotation, rad.
    pub rotation: f64,
    /// Bend angle, rad.
    pub angle: f64,
    /// Its own centreline radius; without one its bender's.
    pub clr: Option<OwnClr>,
    /// Where the spec says so.
    pub place: Span,
}

/// How a run gets from one end to the other.
#[derive(Debug, Clone, PartialEq)]
pub enum RunPath {
    /// Through corners; may be empty for a straight piece.
    Corners(Vec<Corner>),
    /// By a bend table.
    Bends {
        /// Rows, datum end first.
        rows: Vec<BendRow>,
        /// Straight after the last bend, mm.
        end_length: f64,
    },
    /// To be found.
    Route(Route),
    /// By the bends of another run, which has corners. A layout has the bend table in its place.
    SameAs(String),
}

impl RunPath {
    /// Where the spec writes bend `number` (from 1): its row or its corner.
    pub fn place(&self, number: usize) -> Option<Span> {
        let index = number.wrapping_sub(1);
        match self {
            RunPath::Corners(corners) => corners.get(index).map(|corner| corner.place),
            RunPath::Bends { rows, .. } => rows.get(index).map(|row| row.place),
            RunPath::Route(_) | RunPath::SameAs(_) => None,
        }
    }

    /// The radius that bend `number` (from 1) has of its own instead of the bender's.
    pub fn own_clr(&self, number: usize) -> Option<OwnClr> {
        let index = number.wrapping_sub(1);
        match self {
            RunPath::Corners(corners) => corners.get(index)?.clr,
            RunPath::Bends { rows, .. } => rows.get(index)?.clr,
            RunPath::Route(_) | RunPath::SameAs(_) => None,
        }
    }
}

/// One tube to be bent.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its name.
    pub name: String,
    /// Its tube (the run's own, or the spec's).
    pub tube: Tube,
    /// Its bender (the run's own, or the spec's).
    pub bender: Bender,
    /// Datum end. A bend table may do without.
    pub from: Option<End>,
    /// Other end. A bend table may do without.
    pub to: Option<End>,
    /// How it gets there.
    pub path: RunPath,
    /// Whose way that is, where it is another run's.
    pub copy: Option<CopyOf>,
    /// Its corners that are bent parallel to another run. In a layout they have the radius that follows.
    pub parallels: Vec<Parallel>,
    /// Whether its bends are annealed first.
    pub anneal: Anneal,
    /// The end that bending begins at.
    pub bend_from: BendFrom,
    /// Least gap wanted between it and everything else, mm, if the spec says.
    pub clearance: Option<f64>,
    /// Extra tube at the datum end, to trim away after fitting, mm.
    pub allowance_start: f64,
    /// Extra tube at the other end, to trim away after fitting, mm.
    pub allowance_end: f64,
    /// Where the spec names it.
    pub place: Span,
}

impl Run {
    /// The run that the spec writes its bends for, where that is another.
    pub fn written_in(&self) -> Option<&str> {
        self.copy.as_ref().map(|copy| copy.first.as_str())
    }

    /// Whether the spec writes its bends as corners.
    pub fn is_by_corners(&self) -> bool {
        match &self.copy {
            Some(copy) => copy.by_corners,
            None => matches!(self.path, RunPath::Corners(_)),
        }
    }
}
