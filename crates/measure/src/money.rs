//! Money in whole minor units, and exact amounts before they are rounded.

use std::fmt;
use std::str::FromStr;

use iso_currency::Currency;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::number::{Reading, parse_decimal};
use crate::problem::Unclear;

const ACCEPTED: &str = "write an amount with its currency, such as 4.50 USD";

/// An amount of money in whole minor units (cents, pence) of one currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    minor: i64,
    currency: Currency,
}

/// Two amounts in different currencies were put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{} and {} are different currencies", .0.code(), .1.code())]
pub struct CurrencyMismatch(pub Currency, pub Currency);

fn places(currency: Currency) -> u32 {
    u32::from(currency.exponent().unwrap_or(0))
}

impl Money {
    /// Makes an amount from minor units.
    pub const fn from_minor(minor: i64, currency: Currency) -> Self {
        Self { minor, currency }
    }

    /// The amount in minor units.
    pub const fn minor(self) -> i64 {
        self.minor
    }

    /// The currency.
    pub const fn currency(self) -> Currency {
        self.currency
    }

    /// The amount in major units, exact.
    pub fn major(self) -> Decimal {
        Decimal::new(self.minor, places(self.currency))
    }

    /// The same amount, open to exact arithmetic.
    pub fn cost(self) -> Cost {
        Cost {
            major: self.major(),
            currency: self.currency,
        }
    }

    /// Reads an amount: `4 USD`, `EUR 4.50`, or a bare `4.50` where the
    /// workshop's own currency is given.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for an unknown code, a negative amount, more decimals than
    /// the currency has, or a bare figure without `own`.
    pub fn parse(text: &str, own: Option<Currency>, reading: Reading) -> Result<Self, Unclear> {
        let cost = Cost::parse(text, own, reading)?;
        let most = places(cost.currency);
        if cost.major.normalize().scale() > most {
            return Err(Unclear::new(
                text.trim(),
                format!("{} has {most} decimal places", cost.currency.code()),
                ACCEPTED,
            ));
        }
        cost.rounded()
            .ok_or_else(|| Unclear::new(text.trim(), "the amount is too large", ACCEPTED))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.major(), self.currency.code())
    }
}

/// An exact amount of money in major units, not yet rounded to coins: a cost
/// per gram, a share of freight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Cost {
    major: Decimal,
    currency: Currency,
}

impl Cost {
    /// Makes an exact amount.
    pub const fn new(major: Decimal, currency: Currency) -> Self {
        Self { major, currency }
    }

    /// No money.
    pub const fn zero(currency: Currency) -> Self {
        Self {
            major: Decimal::ZERO,
            currency,
        }
    }

    /// The amount in major units.
    pub const fn major(self) -> Decimal {
        self.major
    }

    /// The amount in major units as a float.
    pub fn to_f64(self) -> f64 {
        self.major
            .to_f64()
            .expect("a finite decimal is a finite float")
    }

    /// The currency.
    pub const fn currency(self) -> Currency {
        self.currency
    }

    /// Rounds half-even to the minor unit; none when it cannot be held.
    pub fn rounded(self) -> Option<Money> {
        let minor = self
            .major
            .checked_mul(Decimal::from(10_i64.pow(places(self.currency))))?
            .round()
            .to_i64()?;
        Some(Money {
            minor,
            currency: self.currency,
        })
    }

    /// Adds an amount of the same currency.
    ///
    /// # Errors
    ///
    /// [`CurrencyMismatch`] when the currencies differ. A sum past the range
    /// stops at the largest decimal.
    pub fn plus(self, other: Self) -> Result<Self, CurrencyMismatch> {
        self.with(other, rust_decimal::Decimal::saturating_add)
    }

    /// Takes away an amount of the same currency; the result may be negative.
    ///
    /// # Errors
    ///
    /// [`CurrencyMismatch`] when the currencies differ.
    pub fn minus(self, other: Self) -> Result<Self, CurrencyMismatch> {
        self.with(other, rust_decimal::Decimal::saturating_sub)
    }

    fn with(
        self,
        other: Self,
        op: impl Fn(Decimal, Decimal) -> Decimal,
    ) -> Result<Self, CurrencyMismatch> {
        if self.currency != other.currency {
            return Err(CurrencyMismatch(self.currency, other.currency));
        }
        Ok(Self {
            major: op(self.major, other.major),
            currency: self.currency,
        })
    }

    /// The amount times a factor; stops at the largest decimal.
    #[must_use]
    pub fn times(self, factor: Decimal) -> Self {
        Self {
            major: self.major.saturating_mul(factor),
            currency: self.currency,
        }
    }

    /// The amount divided; none when `by` is zero.
    pub fn over(self, by: Decimal) -> Option<Self> {
        Some(Self {
            major: self.major.checked_div(by)?,
            currency: self.currency,
        })
    }

    /// Reads an amount with any number of decimals: `0.0135 USD`.
    ///
    /// # Errors
    ///
    /// As [`Money::parse`], but any number of decimals is accepted.
    pub fn parse(text: &str, own: Option<Currency>, reading: Reading) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "an amount is missing", ACCEPTED));
        }
        let letters = |c: char| c.is_alphabetic();
        let (code, figure) = if trimmed.ends_with(letters) {
            let cut = trimmed.rfind(|c| !letters(c)).map_or(0, |at| {
                at + trimmed[at..].chars().next().map_or(1, char::len_utf8)
            });
            (&trimmed[cut..], trimmed[..cut].trim_end())
        } else if trimmed.starts_with(letters) {
            let cut = trimmed.find(|c| !letters(c)).unwrap_or(trimmed.len());
            (&trimmed[..cut], trimmed[cut..].trim_start())
        } else {
            ("", trimmed)
        };
        let currency = if code.is_empty() {
            own.ok_or_else(|| Unclear::new(trimmed, "the amount has no currency", ACCEPTED))?
        } else {
            Currency::from_code(&code.to_uppercase()).ok_or_else(|| {
                Unclear::new(
                    trimmed,
                    format!("\"{code}\" is not the three letters of a currency"),
                    ACCEPTED,
                )
            })?
        };
        let major = parse_decimal(figure, reading)
            .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
        if major.is_sign_negative() && !major.is_zero() {
            return Err(Unclear::new(
                trimmed,
                "the amount cannot be negative",
                ACCEPTED,
            ));
        }
        Ok(Self { major, currency })
    }
}

impl fmt::Display for Cost {
    /// Prints the amount rounded half-even to the minor unit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut shown = self.major.round_dp(places(self.currency));
        shown.rescale(places(self.currency));
        if shown.is_zero() {
            shown.set_sign_positive(true);
        }
        write!(f, "{shown} {}", self.currency.code())
    }
}

macro_rules! as_text {
    ($name:ident, $described:literal, $write:expr) => {
        impl FromStr for $name {
            type Err = Unclear;
            fn from_str(text: &str) -> Result<Self, Unclear> {
                Self::parse(text, None, Reading::PLAIN)
            }
        }
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(&$write(self))
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = String::deserialize(deserializer)?;
                text.parse().map_err(de::Error::custom)
            }
        }
        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $described.into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({ "type": "string", "description": ACCEPTED })
            }
        }
    };
}
as_text!(Money, "money", |money: &Money| money.to_string());
as_text!(Cost, "amount", |cost: &Cost| format!(
    "{} {}",
    cost.major,
    cost.currency.code()
));
