//! One line of a composition.

use std::fmt;

use rust_decimal::Decimal;

use crate::cas::Cas;
use crate::class::{Class, Hazard};
use crate::share::Share;

/// A substance in an oil, a wax or a dye, as its supplier's sheet gives it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ingredient {
    /// The name for the label, by the sheet's section 3.
    pub name: String,
    /// Its CAS number, where it has one.
    pub cas: Option<Cas>,
    /// How much of the raw material it makes up.
    pub share: Share,
    /// Its classes; `None` where nobody has said. An empty list is a statement
    /// too: not classified.
    pub hazards: Option<Vec<Hazard>>,
    /// Its multiplying factor for Aquatic Acute 1: a power of ten. Where it is
    /// due and missing, the answer is provisional.
    pub m_acute: Option<u32>,
    /// The same for Aquatic Chronic 1.
    pub m_chronic: Option<u32>,
    /// What is known of its acute toxicity.
    pub estimates: Vec<AcuteEstimate>,
    /// Limits of its own that stand in for the generic ones.
    pub bands: Vec<Band>,
}

/// An acute toxicity estimate, or the LD50 or LC50 it is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AcuteEstimate {
    /// The way it was given and the unit of the value.
    pub kind: EstimateKind,
    /// The value in that unit; above zero.
    pub value: Decimal,
    /// Whether the value is only a bound that was not reached (`> 5000 mg/kg`,
    /// a limit test without signs of poisoning).
    pub above: bool,
}

/// The scale an acute estimate is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EstimateKind {
    /// Swallowed, mg/kg of body weight.
    Oral,
    /// Through the skin, mg/kg of body weight.
    Dermal,
    /// Breathed in as gas, ppm by volume.
    Gas,
    /// Breathed in as vapour, mg/l over four hours.
    Vapour,
    /// Breathed in as dust or mist, mg/l over four hours.
    Mist,
}

impl fmt::Display for EstimateKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Oral => "swallowed, mg/kg",
            Self::Dermal => "skin, mg/kg",
            Self::Gas => "gas, ppm",
            Self::Vapour => "vapour, mg/l",
            Self::Mist => "dust or mist, mg/l",
        })
    }
}

/// A specific concentration limit: at these shares of the finished mixture the
/// substance leads to that class. A substance may have several.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    /// The class it leads to.
    pub class: Class,
    /// From this many percent, that figure included.
    pub from: Decimal,
    /// Up to this many percent, that figure left out; none for no upper end.
    pub below: Option<Decimal>,
}
