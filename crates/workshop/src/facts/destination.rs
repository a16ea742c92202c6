//! Where goods go under a label of their own.

use serde::{Deserialize, Serialize};

use super::{DestinationId, LabelSettings};

/// Where the label settings say goods are sold: the first destination.
pub const HOME: DestinationId = DestinationId(0);

/// What a label carries that goes to one destination.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Destination {
    /// What it is called.
    pub name: String,
    /// Whose law is read, in which languages, and who stands on the label.
    pub settings: LabelSettings,
    /// Name and address of whoever answers for the goods there, such as an
    /// importer; may be empty.
    pub responsible: String,
    /// A line to ring in an emergency; may be empty.
    pub emergency: String,
    /// What else stands on the label there, a line each.
    pub marks: Vec<String>,
    /// The web address of a square code; may be empty.
    pub link: String,
}
