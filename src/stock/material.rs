//! Metals tubes are made of: what the program needs to know of each.

/// A metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Name, as a spec writes it.
    pub name: &'static str,
    /// Density, kg/m³.
    pub density: f64,
}

/// Phosphorus-deoxidised copper C12200, Cu-DHP: the metal of all built-in tube standards.
///
/// 8940 kg/m³ is what the weights printed in ASTM B88, B88M and B280 are calculated with.
pub const COPPER: Material = Material { name: "copper", density: 8940.0 };

/// The known metals. Densities other than copper's are from memory: usual handbook values at 20 °C.
const MATERIALS: [Material; 5] = [
    COPPER,
    // CuZn37, 8.44 g/cm³.
    Material { name: "brass", density: 8440.0 },
    // 18/8 chromium-nickel steel (1.4301), EN 10088-1: 7.9 kg/dm³.
    Material { name: "stainless steel", density: 7900.0 },
    // Unalloyed steel: 7.85 kg/dm³, the value EN product standards for steel tube calculate with.
    Material { name: "steel", density: 7850.0 },
    // 6060 and its like: 2.70 g/cm³.
    Material { name: "aluminium", density: 2700.0 },
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_forgiving_but_not_guessed() {
        assert_eq!(material(" Copper"), Some(COPPER));
        assert_eq!(material("aluminum").map(|m| m.density), Some(2700.0));
        assert_eq!(material("titanium"), None);
    }
}
