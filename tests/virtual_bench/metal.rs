//! How a bent tube springs back by beam theory, summed up strip by strip over its section. Apart from the
//! program, which has closed forms.

/// Stress against strain of a metal.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Law {
    /// Modulus of elasticity, MPa.
    modulus: f64,
    /// Stress = strength × strain^exponent, MPa; with an exponent of 0 the stress that it yields at.
    strength: f64,
    exponent: f64,
}

impl Law {
    /// Annealed copper: 530 MPa × strain^0.44, with 117.2 GPa (a textbook's hardening law, a handbook's modulus).
    pub(crate) const SOFT_COPPER: Law = Law { modulus: 117_200.0, strength: 530.0, exponent: 0.44 };

    /// Elastic up to a stress that then stays, MPa.
    pub(crate) const fn yielding(modulus: f64, stress: f64) -> Law {
        Law { modulus, strength: stress, exponent: 0.0 }
    }

    fn stress(self, strain: f64) -> f64 {
        if self.exponent > 0.0 {
            return self.strength * strain.powf(self.exponent);
        }
        self.strength.min(self.modulus * strain)
    }
}

const STRIPS: i32 = 1000;

/// Sum over the upper half of the section of f(height) × width × height.
fn over_section(od: f64, wall: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (outer, inner) = (od / 2.0, od / 2.0 - wall);
    // Heights by the sine of an angle, so that the width has no steep end; midpoint rule.
    let step = std::f64::consts::FRAC_PI_2 / f64::from(STRIPS);
    (0..STRIPS)
        .map(|k| {
            let angle = step * (f64::from(k) + 0.5);
            let height = outer * angle.sin();
            let bore = (inner * inner - height * height).max(0.0).sqrt();
            let width = 2.0 * ((outer * angle.cos()) - bore);
            f(height) * width * height * outer * angle.cos() * step
        })
        .sum()
}

/// Radius a tube relaxes to that is held at `radius`, mm.
fn let_go(law: Law, od: f64, wall: f64, radius: f64) -> f64 {
    let moment = 2.0 * over_section(od, wall, |height| law.stress(height / radius));
    let inertia = 2.0 * over_section(od, wall, |height| height);
    1.0 / (1.0 / radius - moment / (law.modulus * inertia))
}

/// Radius to hold a tube at so that it relaxes to `finished`, mm, by halving.
pub(crate) fn held(law: Law, od: f64, wall: f64, finished: f64) -> f64 {
    let (mut low, mut high) = (finished / 2.0, finished);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        let relaxed = let_go(law, od, wall, middle);
        if relaxed > 0.0 && relaxed < finished { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}
