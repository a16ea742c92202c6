//! What a good is said to weigh, what its wrapping weighs, and who made it.

use measure::{Mass, Typed};
use serde::{Deserialize, Serialize};

use super::{PourId, ProductId, SupplyId};

/// What was known when a weight was declared.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeightGround {
    /// The lots of the good whose units had been weighed.
    pub lots: Vec<PourId>,
    /// How many units that were.
    pub weighed: u32,
    /// Their average, bare; none before one was weighed.
    pub average: Option<Typed<Mass>>,
    /// Their standard deviation; none for fewer than two.
    pub spread: Option<Typed<Mass>>,
}

/// Whose wrapping was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TareOf {
    /// Everything around one unit of a good: foil, label, clamshell together.
    Product(ProductId),
    /// One piece of a supply that goods are packed with.
    Supply(SupplyId),
}

/// The maker as goods and papers name them: the trade's own name and address,
/// printed on everything it sells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MakerDetails {
    /// The trade name.
    pub name: String,
    /// The postal address, line by line.
    pub lines: Vec<String>,
    /// An e-mail or web address; may be empty.
    pub contact: String,
    /// The country by the two letters of ISO 3166-1; may be empty.
    pub country: String,
}
