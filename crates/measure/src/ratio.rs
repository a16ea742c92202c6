//! A share of something, as an exact decimal.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::number::{Reading, parse_decimal};
use crate::problem::Unclear;

const ACCEPTED: &str = "write a percentage such as 8 %";

/// A part of a whole, not below zero; 1 is the whole. May exceed the whole
/// where that has a meaning (a markup of 150 %).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Ratio(Decimal);

impl Ratio {
    /// Nothing.
    pub const ZERO: Self = Self(Decimal::ZERO);
    /// The whole.
    pub const ONE: Self = Self(Decimal::ONE);

    /// Makes a ratio; none below zero.
    pub fn from_decimal(part: Decimal) -> Option<Self> {
        (!part.is_sign_negative() || part.is_zero()).then_some(Self(part))
    }

    /// Makes a ratio from a percentage figure; none below zero.
    pub fn from_percent(percent: Decimal) -> Option<Self> {
        Self::from_decimal(percent.checked_div(Decimal::ONE_HUNDRED)?)
    }

    /// The part of the whole.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The part of the whole as a float.
    pub fn to_f64(self) -> f64 {
        self.0.to_f64().expect("a finite decimal is a finite float")
    }

    /// The percentage figure.
    pub fn percent(self) -> Decimal {
        self.0
            .checked_mul(Decimal::ONE_HUNDRED)
            .unwrap_or(Decimal::MAX)
            .normalize()
    }

    /// Reads a percentage: `8 %`, `8%`, `7.41 percent`.
    ///
    /// # Errors
    ///
    /// [`Unclear`] without a percent sign (0.08 and 8 are not told apart by
    /// guessing), below zero, or when it is not a number.
    pub fn parse(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "a percentage is missing", ACCEPTED));
        }
        let figure = ["%", "percent", "per cent", "pct"]
            .iter()
            .find_map(|sign| trimmed.strip_suffix(sign))
            .ok_or_else(|| Unclear::new(trimmed, "there is no percent sign", ACCEPTED))?;
        let figure = parse_decimal(figure, reading)
            .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
        Self::from_percent(figure)
            .ok_or_else(|| Unclear::new(trimmed, "a percentage cannot be negative", ACCEPTED))
    }
}

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.percent())
    }
}

impl FromStr for Ratio {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text, Reading::PLAIN)
    }
}

impl Serialize for Ratio {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Ratio {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(de::Error::custom)
    }
}

impl JsonSchema for Ratio {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "percentage".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "description": ACCEPTED })
    }
}
