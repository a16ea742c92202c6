//! What a good looks like, how it is wrapped, and the label sheets on hand.

use label::wrap::Cover;
use measure::{Length, Typed};
use serde::{Deserialize, Serialize};

/// How a good is wrapped. What is not settled takes the usual figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrapChoice {
    /// How much of it is covered.
    pub cover: Cover,
    /// Overlap at the seam.
    pub overlap: Option<Typed<Length>>,
    /// How far end flaps go past the middle of the end.
    pub tuck: Option<Typed<Length>>,
    /// Width of a band.
    pub band: Option<Typed<Length>>,
    /// Width of the roll or sheet it is cut from.
    pub stock_width: Option<Typed<Length>>,
    /// Length of the roll or height of the sheet.
    pub stock_length: Option<Typed<Length>>,
}
