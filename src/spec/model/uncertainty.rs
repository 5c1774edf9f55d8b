//! How exactly the work is done: what 95 % of all errors stay within.

/// Half-widths that hold 95 % of the errors, either way. Those left out are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Of each coordinate of a port, mm.
    pub port: f64,
    /// Of where a mark is and how the tube is held to it, mm.
    pub mark: f64,
    /// Of the angle of a bend, rad, if the spec says.
    pub angle: Option<f64>,
    /// Of the turn of the tube before a bend, rad.
    pub turn: f64,
    /// Of the finished radius of a former, mm, if the spec says.
    pub radius: Option<f64>,
    /// Of the length a tube is cut to, mm.
    pub length: f64,
}

impl Default for Uncertainty {
    fn default() -> Self {
        let degree = 1f64.to_radians();
        Uncertainty { port: 1.0, mark: 0.5, angle: None, turn: degree, radius: None, length: 0.5 }
    }
}

impl Uncertainty {
    /// That of an angle, rad: half as much where test bends show the springback.
    pub fn angle(&self, tested: bool) -> f64 {
        self.angle.unwrap_or(if tested { 0.5f64 } else { 1.0 }.to_radians())
    }

    /// That of a radius, mm: less where test bends show it.
    pub fn radius(&self, tested: bool) -> f64 {
        self.radius.unwrap_or(if tested { 0.3 } else { 1.0 })
    }
}
