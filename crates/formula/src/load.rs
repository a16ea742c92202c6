//! Fragrance load: how much oil, and what the share is a share of.

mod calculation;

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use measure::{Decimal, Mass, Ratio, Reading, Unclear, percent};
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

pub use calculation::{Input, Output, Weighed, calculate, calculate_with};

const ACCEPTED: &str = "write a load with its base, such as 8 % of wax or 7.4 % of total";

/// How much fragrance a blend carries, and what the share is a share of.
///
/// Dye and other additions weighed into the melt count as part of the total.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FragranceLoad {
    /// Fragrance ÷ wax. A load of 8 % of wax puts 8 g into 100 g of wax.
    OfWax(Ratio),
    /// Fragrance ÷ everything. A load of 8 % of total puts 8 g into 92 g of
    /// wax when nothing else is added. Always less than the whole.
    OfTotal(Ratio),
}

impl FragranceLoad {
    /// Reads a load: `8 % of wax`, `7.41 % of total`, `7.41 % of the melt`, or
    /// the bench rule `1 oz per lb`, which is 6.25 % of wax.
    ///
    /// # Errors
    ///
    /// [`Unclear`] without a base (a bare `8 %` has two meanings and is never
    /// guessed at), without a percent sign, negative, or not less than all of
    /// the total.
    ///
    /// # Example
    ///
    /// ```
    /// use formula::FragranceLoad;
    ///
    /// let load: FragranceLoad = "10 % of total".parse()?;
    /// assert_eq!(load.to_string(), "10 % of total");
    /// assert!("10 %".parse::<FragranceLoad>().is_err());
    /// # Ok::<(), measure::Unclear>(())
    /// ```
    pub fn parse(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "a fragrance load is missing", ACCEPTED));
        }
        let lower = trimmed.to_lowercase();
        if let Some((oil, wax)) = lower.split_once(" per ") {
            return Self::per_weight(oil, wax, trimmed, reading);
        }
        let (share, base) = lower.split_once(" of ").ok_or_else(|| {
            Unclear::new(
                trimmed,
                "the load does not say of what: of wax or of total",
                both_readings(&lower, reading),
            )
        })?;
        let ratio = Ratio::parse(share, reading)
            .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
        match base.trim().trim_start_matches("the ") {
            "wax" => Self::of_wax(ratio),
            "total" | "melt" | "mix" | "blend" => Self::of_total(ratio),
            _ => {
                return Err(Unclear::new(
                    trimmed,
                    "the load is neither of wax nor of total",
                    ACCEPTED,
                ));
            }
        }
        .ok_or_else(|| Unclear::new(trimmed, "that much oil leaves no room for wax", ACCEPTED))
    }

    fn per_weight(oil: &str, wax: &str, text: &str, reading: Reading) -> Result<Self, Unclear> {
        let part = |words: &str| -> Result<Mass, Unclear> {
            let counted = if words.trim().starts_with(|c: char| c.is_ascii_digit()) {
                words.trim().to_owned()
            } else {
                format!("1 {}", words.trim())
            };
            measure::Typed::<Mass>::parse_with(&counted, reading)
                .map(|typed| typed.value())
                .map_err(|unclear| Unclear::new(text, unclear.wrong, ACCEPTED))
        };
        let (oil, wax) = (part(oil)?, part(wax)?);
        let ratio = Decimal::from(oil.micrograms())
            .checked_div(Decimal::from(wax.micrograms()))
            .map(|ratio| ratio.round_dp(8).normalize())
            .and_then(Ratio::from_decimal)
            .ok_or_else(|| Unclear::new(text, "the wax weighs nothing", ACCEPTED))?;
        Self::of_wax(ratio)
            .ok_or_else(|| Unclear::new(text, "that much oil leaves no room for wax", ACCEPTED))
    }

    /// A load of wax; none above 100 %, which no wax can hold.
    pub fn of_wax(ratio: Ratio) -> Option<Self> {
        (ratio <= Ratio::ONE).then_some(Self::OfWax(ratio))
    }

    /// A load of total; none above 50 %, where there is less wax than oil.
    pub fn of_total(ratio: Ratio) -> Option<Self> {
        (ratio.decimal() <= Decimal::new(5, 1)).then_some(Self::OfTotal(ratio))
    }

    /// The share as stated, whatever its base.
    pub const fn ratio(self) -> Ratio {
        match self {
            Self::OfWax(ratio) | Self::OfTotal(ratio) => ratio,
        }
    }

    /// What the share is a share of, in words.
    pub const fn base(self) -> &'static str {
        match self {
            Self::OfWax(_) => "of wax",
            Self::OfTotal(_) => "of total",
        }
    }

    /// The load as a share of wax, when `others` (dye and additions, as a
    /// share of wax) are in the melt too.
    ///
    /// # Source
    ///
    /// The definitions: l = F/W, c = F/(W + F + A), so l = c (1 + a)/(1 - c).
    pub fn as_of_wax(self, others: Ratio) -> Ratio {
        match self {
            Self::OfWax(ratio) => ratio,
            Self::OfTotal(ratio) => {
                let c = ratio.decimal();
                Ratio::from_decimal(c * (Decimal::ONE + others.decimal()) / (Decimal::ONE - c))
                    .expect("a share of total is less than the whole")
            }
        }
    }

    /// The load as a share of everything in the melt, when `others` (dye and
    /// additions, as a share of wax) are in it too.
    ///
    /// # Source
    ///
    /// The definitions: c = F/(W + F + A) = l/(1 + l + a).
    pub fn as_of_total(self, others: Ratio) -> Ratio {
        match self {
            Self::OfTotal(ratio) => ratio,
            Self::OfWax(ratio) => {
                let l = ratio.decimal();
                Ratio::from_decimal(l / (Decimal::ONE + l + others.decimal()))
                    .expect("a quotient of non-negative shares is not negative")
            }
        }
    }

    /// The load on both bases, the stated one first:
    /// `8 % of wax (7.41 % of the melt)`.
    pub fn both(self, others: Ratio) -> String {
        match self {
            Self::OfWax(_) => {
                format!(
                    "{self} ({} of the melt)",
                    percent(self.as_of_total(others), 2)
                )
            }
            Self::OfTotal(ratio) => format!(
                "{ratio} of the melt ({} of wax)",
                percent(self.as_of_wax(others), 2)
            ),
        }
    }
}

/// What a figure without a base can mean, for the maker to choose from.
fn both_readings(text: &str, reading: Reading) -> Cow<'static, str> {
    let figure = text
        .trim_end_matches(|c: char| c == '%' || c.is_alphabetic() || c.is_whitespace())
        .trim();
    let is_share = text == figure || Ratio::parse(text, reading).is_ok();
    if is_share && measure::parse_decimal(figure, reading).is_ok() {
        format!(
            "write {figure} % of wax ({figure} to every 100 of wax), or {figure} % of total ({figure} in every 100 of everything)"
        )
        .into()
    } else {
        ACCEPTED.into()
    }
}

impl fmt::Display for FragranceLoad {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.ratio(), self.base())
    }
}

impl FromStr for FragranceLoad {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text, Reading::PLAIN)
    }
}

impl Serialize for FragranceLoad {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for FragranceLoad {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(de::Error::custom)
    }
}

impl JsonSchema for FragranceLoad {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "load".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "description": ACCEPTED })
    }
}
