//! Metals tubes are made of: what the program needs to know of each.

use crate::formula::springback::FlowLaw;
use crate::spelling;

/// A metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Name, as a spec writes it.
    pub name: &'static str,
    /// Density, kg/m³.
    pub density: f64,
    /// Modulus of elasticity, MPa.
    pub modulus: f64,
    /// How it is made soft, where that is known.
    pub annealing: Option<Annealing>,
    /// Its tempers, where they are known.
    pub tempers: Option<Tempers>,
}

/// How a metal is made soft with a torch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Annealing {
    /// Temperature to bring it to, °C.
    pub temperature: f64,
    /// Specific heat, J/(kg·K).
    pub specific_heat: f64,
}

/// Strengths of a metal's tempers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tempers {
    /// Annealed.
    pub soft: Strength,
    /// Half hard.
    pub half_hard: Strength,
    /// Hard.
    pub hard: Strength,
}

/// Strength of a metal in one temper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// How it flows.
    pub law: FlowLaw,
    /// Elongation at fracture, 1.
    pub elongation: f64,
}

/// Phosphorus-deoxidised copper C12200, Cu-DHP: the metal of all built-in tube standards.
///
/// * 8940 kg/m³ is what the weights printed in ASTM B88, B88M and B280 are calculated with.
/// * Modulus 17 000 ksi = 117.2 GPa (from memory; read for the sister coppers C10200 and C15500).
/// * Specific heat 385 J/(kg·K) as read for C10300; annealing range 375–650 °C as read for C10200: 600 °C
///   is the first red that shows in shade, with room below the top of the range.
/// * Half hard and hard are EN 1057 R250 and R290. The number, a least tensile strength in MPa, is
///   taken as the stress the drawn tube flows at, since it hardens little more; elongation 20 % (thick
///   walls) and 3 %.
/// * Soft: annealed copper hardens by 315·ε^0.54 MPa (Kalpakjian & Schmid, Manufacturing Processes for
///   Engineering Materials, from memory); EN 1057 R220 elongation 40 % (from memory). The law's own tensile
///   strength, K·nⁿ·e⁻ⁿ = 132 MPa, is below the 220 MPa of R220, so stronger soft tube springs back up to
///   1.7 times as far: test bends say more.
pub const COPPER: Material = Material {
    name: "copper",
    density: 8940.0,
    modulus: 117_200.0,
    annealing: Some(Annealing { temperature: 600.0, specific_heat: 385.0 }),
    tempers: Some(Tempers {
        soft: Strength { law: FlowLaw::Power { strength: 315.0, exponent: 0.54 }, elongation: 0.40 },
        half_hard: Strength { law: FlowLaw::Plastic { stress: 250.0 }, elongation: 0.20 },
        hard: Strength { law: FlowLaw::Plastic { stress: 290.0 }, elongation: 0.03 },
    }),
};

/// A metal of which no temper is known.
const fn metal(name: &'static str, density: f64, modulus: f64) -> Material {
    Material { name, density, modulus, annealing: None, tempers: None }
}

/// The known metals. Densities and moduli other than copper's are from memory: usual handbook values at 20 °C.
const MATERIALS: [Material; 5] = [
    COPPER,
    // CuZn37, 8.44 g/cm³.
    metal("brass", 8440.0, 105_000.0),
    // 18/8 chromium-nickel steel (1.4301), EN 10088-1: 7.9 kg/dm³, 200 GPa.
    metal("stainless steel", 7900.0, 200_000.0),
    // Unalloyed steel: 7.85 kg/dm³, the value EN product standards for steel tube calculate with.
    metal("steel", 7850.0, 210_000.0),
    // 6060 and its like: 2.70 g/cm³.
    metal("aluminium", 2700.0, 70_000.0),
];

/// Every known metal.
pub fn materials() -> &'static [Material] {
    &MATERIALS
}

/// The metal with this name, in any case; `aluminum` is read too.
pub fn material(name: &str) -> Option<Material> {
    let name = name.trim().to_ascii_lowercase();
    let name = if name == "aluminum" { "aluminium" } else { name.as_str() };
    MATERIALS.into_iter().find(|m| m.name == name)
}

/// Words people use for a metal, beside its own name.
const OTHER_NAMES: [(&str, &str); 7] = [
    ("alu", "aluminium"),
    ("cu", "copper"),
    ("inox", "stainless steel"),
    ("mild steel", "steel"),
    ("ss", "stainless steel"),
    ("stainless", "stainless steel"),
    ("yellow brass", "brass"),
];

/// The known metal that was probably meant by a name that is not known.
pub fn material_meant(name: &str) -> Option<&'static str> {
    let typed = name.trim().to_ascii_lowercase();
    let other = OTHER_NAMES.iter().find(|(other, _)| *other == typed).map(|(_, name)| *name);
    other.or_else(|| spelling::nearest(&typed, MATERIALS.iter().map(|m| m.name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_forgiving_but_not_guessed() {
        assert_eq!(material(" Copper"), Some(COPPER));
        assert_eq!(material("aluminum").map(|m| m.density), Some(2700.0));
        assert_eq!(material("titanium"), None);
        for (name, meant) in [
            ("cooper", Some("copper")),
            ("Stainless-Steel", Some("stainless steel")),
            ("alu", Some("aluminium")),
        ] {
            assert_eq!(material_meant(name), meant, "{name}");
        }
        assert_eq!(material_meant("titanium"), None);
    }
}
