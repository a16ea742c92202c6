//! Figures for people: how many digits, in whose units.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::{Mass, Typed};
use crate::ratio::Ratio;
use crate::units::MassUnit;

/// The units a workshop thinks in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum System {
    /// Grams and millilitres.
    #[default]
    Metric,
    /// Ounces and pounds, United States fluid measure.
    Us,
    /// Ounces and pounds, British fluid measure.
    Imperial,
}

impl System {
    /// The everyday unit of weight.
    pub const fn mass_unit(self) -> MassUnit {
        match self {
            Self::Metric => MassUnit::Gram,
            Self::Us | Self::Imperial => MassUnit::Ounce,
        }
    }

    /// The other side of the pair metric and ounces.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Metric => Self::Us,
            Self::Us | Self::Imperial => Self::Metric,
        }
    }
}

/// Shows a mass in the system's units with a sensible number of digits: about
/// four significant, kilograms or pounds once grams or ounces grow long.
pub fn in_system(mass: Mass, system: System) -> Typed<Mass> {
    let grams = mass.grams().abs();
    match system {
        System::Metric if grams >= 10_000.0 => mass.typed(MassUnit::Kilogram, 2),
        System::Metric if grams >= 200.0 => mass.typed(MassUnit::Gram, 0),
        System::Metric => mass.typed(MassUnit::Gram, 1),
        System::Us | System::Imperial if grams >= 4_500.0 => mass.typed(MassUnit::Pound, 2),
        System::Us | System::Imperial if grams >= 280.0 => mass.typed(MassUnit::Ounce, 1),
        System::Us | System::Imperial => mass.typed(MassUnit::Ounce, 2),
    }
}

/// Shows a mass in the system's units with the other system after it:
/// `19.5 oz (553 g)`.
pub fn mass_both(mass: Mass, system: System) -> String {
    format!(
        "{} ({})",
        in_system(mass, system),
        in_system(mass, system.other())
    )
}

/// Shows a ratio as a percentage rounded half-even to `places`.
pub fn percent(ratio: Ratio, places: u32) -> String {
    let mut shown = ratio.percent().round_dp(places);
    shown.rescale(places);
    format!("{shown} %")
}

/// Shows a float rounded half-even to `places`; `?` for one that is not
/// finite, so that a fault is seen and not mistaken for a figure.
pub fn figure(value: f64, places: u32) -> String {
    let Some(mut shown) = crate::number::decimal_from_f64(value, places) else {
        return "?".to_owned();
    };
    shown.rescale(places);
    if shown.is_zero() {
        shown = Decimal::new(0, places);
    }
    shown.to_string()
}
