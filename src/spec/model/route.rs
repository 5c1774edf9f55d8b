//! A request to find a run's way.

use strum::{IntoStaticStr, VariantArray};

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
    /// Distance to keep from everything else, mm; the run's own where the route has none.
    pub clearance: Option<f64>,
    /// The criteria that come first, in this order; the others follow in theirs.
    pub prefer: Vec<Criterion>,
}

impl Default for Route {
    fn default() -> Self {
        Route { max_bends: MAX_BENDS, angles: Vec::new(), clearance: None, prefer: Vec::new() }
    }
}
