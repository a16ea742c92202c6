//! The calculation `gtin`.

use measure::{Checker, Problems, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Gtin, Kind, Read, text_of, weighted_sum};
use crate::ruler::show_size;
use crate::symbol::{BarSize, Bars, X_NOMINAL_MM};

const SOURCE: &str =
    "GS1 General Specifications, mod 10 check digit, as shown by GS1 Hong Kong and GS1 India";

/// A trade item number, with or without its check digit.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The digits; spaces and hyphens are passed over.
    #[serde(default)]
    pub digits: Option<String>,
    /// `GTIN-8`, `GTIN-12`, `GTIN-13` or `GTIN-14`; left out, the length
    /// says, and twelve digits are a GTIN-13 without its check digit.
    #[serde(default)]
    pub kind: Option<String>,
}

/// The whole number.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// All its digits.
    pub gtin: String,
    /// `GTIN-13` and the like.
    pub kind: String,
    /// The last digit.
    pub check_digit: u8,
    /// Whether the check digit was made here; otherwise it was verified.
    pub made: bool,
    /// The number in fourteen digits.
    pub fourteen: String,
    /// Whether goods sold by others may bear it, as far as its first digits say.
    pub for_trade: bool,
    /// The symbol a shop's till reads it from: `EAN-13`, `UPC-A`, `EAN-8`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub symbol: Option<String>,
    /// Width and height of that symbol at its nominal size, quiet zones and
    /// digits counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub symbol_size: Option<String>,
    /// What to know about it.
    pub notes: Vec<String>,
    /// How the check digit was found.
    pub working: Working,
}

/// Answers `gtin`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let kind = check.optional("kind", input.kind.as_deref(), Kind::parse);
    // With a kind that cannot be read, the digits are held against none.
    let read = check.required("digits", input.digits.as_deref(), |text| {
        Gtin::parse(text, kind)
    });
    match read {
        Some(read) if check.is_clean() => Ok(answer(&read)),
        _ => Err(check.into_problems()),
    }
}

fn answer(read: &Read) -> Output {
    let gtin = read.gtin;
    let digits = gtin.digits();
    let before = digits.split_last().map_or(digits, |(_, before)| before);
    let sum = weighted_sum(before);
    let mut working = Working::new();
    working.step(
        "Weighted sum",
        "digits × 3, 1, 3, 1 … from the right, added up",
        terms(before),
        sum.to_string(),
        SOURCE,
    );
    working.step(
        "Check digit",
        "what brings the sum to a whole ten",
        format!(
            "{sum} + {} = {}",
            gtin.check_digit(),
            sum + u32::from(gtin.check_digit())
        ),
        gtin.check_digit().to_string(),
        SOURCE,
    );
    let mut notes = Vec::new();
    if let Some(shorter) = read.is_also {
        notes.push(format!(
            "Twelve digits were taken as a GTIN-13 without its check digit. They are a whole {shorter} as well: if that is what you have, say so under kind."
        ));
    }
    let prefix = gtin.prefix();
    notes.extend(prefix.remark().map(str::to_owned));
    if gtin.kind() == Kind::Gtin14 {
        match digits.first() {
            Some(0) => notes.push(
                "The nought in front says that this is a shorter number, written in fourteen digits."
                    .to_owned(),
            ),
            Some(9) => notes.push(
                "A nine in front stands for goods of varying measure (from memory).".to_owned(),
            ),
            _ => notes.push(
                "Fourteen digits number a case of equal units; the units inside have their own number."
                    .to_owned(),
            ),
        }
    }
    let bars = Bars::of(&gtin);
    Output {
        gtin: gtin.to_string(),
        kind: gtin.kind().to_string(),
        check_digit: gtin.check_digit(),
        made: read.is_made,
        fourteen: gtin.in_fourteen(),
        for_trade: prefix.is_for_trade(),
        symbol: bars.as_ref().map(|bars| bars.symbol().to_string()),
        symbol_size: bars.as_ref().map(|bars| {
            let size = BarSize::at(bars.symbol(), X_NOMINAL_MM);
            format!(
                "{}, a module of {}",
                show_size(size.width_mm, size.height_mm),
                "0.33 mm"
            )
        }),
        notes,
        working,
    }
}

/// The digits with their weights.
fn terms(before: &[u8]) -> String {
    let n = before.len();
    before
        .iter()
        .enumerate()
        .map(|(idx, digit)| {
            let weight = if (n - idx) % 2 == 1 { 3 } else { 1 };
            format!("{}×{weight}", text_of(&[*digit]))
        })
        .collect::<Vec<_>>()
        .join(" + ")
}
