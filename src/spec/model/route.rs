//! A request to find a run's way.

use strum::{IntoStaticStr, VariantArray};

use super::Shape;
use crate::diagnostic::Span;
use crate::geometry::Point3;

/// Most bends of a way, where the spec does not say.
pub const MAX_BENDS: usize = 4;

/// A property that ways are compared by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Criterion {
    /// Fewest bends.
    Bends,
    /// Fewest planes that the bends lie in.
    Planes,
    /// Fewest bends at other angles than 45° and 90°.
    Angles,
    /// Shortest tube.
    Length,
}

/// A request to find the way automatically.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Most bends allowed.
    pub max_bends: usize,
    /// Bend angles allowed, rad; empty for 45° and 90°, and any where these reach nothing.
    pub angles: Vec<f64>,
    /// The directions that legs may have.
    pub directions: Directions,
    /// Distance to keep from everything else, mm; the run's own where the route has none.
    pub clearance: Option<f64>,
    /// The criteria that come first, in this order; the others follow in theirs.
    pub prefer: Vec<Criterion>,
    /// Places that its straights lead through, in this order from the datum end.
    pub through: Vec<Point3>,
    /// Room that it keeps clear of beside all that is there.
    pub avoid: Vec<Avoid>,
    /// The run beside which it leads.
    pub like: Option<Like>,
}

/// The directions of legs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Directions {
    /// Along the axes, halfway between two of them, and the same about the way each end faces.
    #[default]
    Axes,
    /// Any: ways of two and three bends that follow no axis, too.
    Any,
}

/// Room to keep clear of.
#[derive(Debug, Clone, PartialEq)]
pub struct Avoid {
    /// The room.
    pub what: AvoidWhat,
    /// Where the spec names it.
    pub place: Span,
}

/// Room, by name or by place.
#[derive(Debug, Clone, PartialEq)]
pub enum AvoidWhat {
    /// The whole box round a component of this name, with its hollows.
    Component(String),
    /// A box.
    Room(Shape),
}

/// A wish to lead beside another run.
#[derive(Debug, Clone, PartialEq)]
pub struct Like {
    /// The other run.
    pub run: String,
    /// From centreline to centreline, mm; that of the `from` ends where there is none.
    pub spacing: Option<f64>,
    /// Where the spec names it.
    pub place: Span,
}

impl Default for Route {
    fn default() -> Self {
        Route {
            max_bends: MAX_BENDS,
            angles: Vec::new(),
            directions: Directions::default(),
            clearance: None,
            prefer: Vec::new(),
            through: Vec::new(),
            avoid: Vec::new(),
            like: None,
        }
    }
}
