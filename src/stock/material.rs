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
    /// Mean specific heat from room temperature up to it, J/(kg·K).
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
    /// As the standard designates the temper.
    pub name: &'static str,
    /// How it flows.
    pub law: FlowLaw,
    /// Least tensile strength that the standard prints, MPa.
    pub least_tensile: f64,
    /// Elongation at fracture, 1.
    pub elongation: f64,
}

/// Phosphorus-deoxidised copper C12200, Cu-DHP: the metal of all built-in tube standards.
///
/// * 8940 kg/m³ is what the weights printed in ASTM B88, B88M and B280 are calculated with.
/// * Modulus 17 000 ksi = 117.2 GPa (from memory; read for the sister coppers C10200 and C15500).
/// * Annealing range 375–650 °C as read for C10200: 600 °C is the first red that shows in shade, with room below
///   the top of the range. From 20 °C that takes 240 kJ/kg (NIST's Shomate equation for copper, from memory): a mean
///   of 414 J/(kg·K), where 385 are those at room temperature.
/// * Its tempers are those of EN 1057: see [`EN_1057`].
pub const COPPER: Material = Material {
    name: "copper",
    density: 8940.0,
    modulus: 117_200.0,
    annealing: Some(Annealing { temperature: 600.0, specific_heat: 414.0 }),
    tempers: Some(EN_1057),
};

/// Annealed copper hardens by 530·ε^0.44 MPa (Callister, Materials Science and Engineering, 2005, p. 199, as cited in
/// a table). The law's own tensile strength is 238 MPa.
const ANNEALED: FlowLaw = FlowLaw::Power { strength: 530.0, exponent: 0.44 };

/// Copper tube of EN 1057, and of no standard. The number of a temper is its least tensile strength in MPa. Drawn tube
/// hardens little more: the number is taken as the stress it flows at. Elongations: R220 40 % (from memory), R250 20 %
/// (thick walls), R290 3 %.
pub(super) const EN_1057: Tempers = Tempers {
    soft: Strength { name: "R220", law: ANNEALED, least_tensile: 220.0, elongation: 0.40 },
    half_hard: drawn("R250", 250.0, 0.20),
    hard: drawn("R290", 290.0, 0.03),
};

/// Copper tube of ASTM B88, B88M and B280: annealed O60 of at least 30 ksi (207 MPa, read), or drawn H58 of at least
/// 36 ksi (248 MPa; B88 from memory, 250 MPa read in B75M for the same temper). Drawn tube has one temper,
/// half hard or hard as a spec may call it.
///
/// No elongation is printed for H58. 20 % is that of R250, which is as strong, and bears out the Copper Tube Handbook
/// (CDA A4015): its least radii for drawn tube stretch the back by 14.6 % at most.
pub(super) const ASTM: Tempers = Tempers {
    soft: Strength { name: "O60", law: ANNEALED, least_tensile: 207.0, elongation: 0.40 },
    half_hard: drawn("H58", 248.0, 0.20),
    hard: drawn("H58", 248.0, 0.20),
};

/// A drawn temper, which flows at its least tensile strength, MPa.
const fn drawn(name: &'static str, tensile: f64, elongation: f64) -> Strength {
    Strength { name, law: FlowLaw::Plastic { stress: tensile }, least_tensile: tensile, elongation }
}

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

    /// Least tensile strengths as printed: EN 1057 R220, R250, R290 (the number itself); ASTM B88 O60 30 ksi (read),
    /// H58 36 ksi (from memory).
    const PRINTED: [(&str, f64); 5] =
        [("R220", 220.0), ("R250", 250.0), ("R290", 290.0), ("O60", 207.0), ("H58", 248.0)];

    #[test]
    fn no_law_is_weaker_than_its_temper() {
        let metals = materials().iter().filter_map(|metal| metal.tempers);
        let standards = crate::stock::standards().iter().map(|standard| standard.tempers);
        let tempers: Vec<Tempers> = metals.chain(standards).collect();
        let mut seen = Vec::new();
        for strength in tempers.iter().flat_map(|all| [all.soft, all.half_hard, all.hard]) {
            let printed = PRINTED.iter().find(|(name, _)| *name == strength.name).expect(strength.name);
            assert_eq!(strength.least_tensile, printed.1, "{}", strength.name);
            let tensile = strength.law.tensile_strength();
            assert!(tensile >= printed.1, "{} {tensile}", strength.name);
            seen.push(strength.name);
        }
        for (name, _) in PRINTED {
            assert!(seen.contains(&name), "{name} is of no tube");
        }
        // Nor is annealed tube taken for harder than it is: EN 1652 prints 200 to 250 MPa for soft strip (read).
        assert!(ANNEALED.tensile_strength() < 250.0);
    }

    #[test]
    fn a_standard_has_its_own_tempers() {
        let hard = |metal, standard| crate::stock::tempers(metal, standard).map(|all| all.hard.name);
        assert_eq!(hard("copper", Some("ASTM B88")), Some("H58"));
        assert_eq!(hard("copper", Some("ASTM B280")), Some("H58"));
        assert_eq!(hard("copper", Some("EN 1057")), Some("R290"));
        assert_eq!(hard("copper", None), Some("R290"));
        assert_eq!(hard("steel", None), None);
    }
}
