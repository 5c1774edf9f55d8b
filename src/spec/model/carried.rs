//! The stuff that the tubes carry when they are in use.

use strum::{IntoStaticStr, VariantArray};

/// What the tubes carry: it decides which tests, cautions and pressures the sheet speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Carried {
    /// Coolant of a closed loop, beside electric parts.
    Coolant,
    /// Water that nobody drinks.
    Water,
    /// Water to drink, or for food.
    DrinkingWater,
    /// Steam.
    Steam,
    /// Fuel gas, refrigerant or any other gas.
    Gas,
    /// Oil, fuel or brake fluid.
    Oil,
    /// Nothing: a frame, a rail, a conduit.
    Nothing,
}

impl Carried {
    /// As written in a spec.
    pub fn name(self) -> &'static str {
        self.into()
    }
}
