//! Amounts as the calculations give them out, and price ranges as they come in.

use measure::{Cost, Decimal, Problem};
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::range::Prices;
use crate::reader::Reader;

/// What a unit sells for.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PricesInput {
    /// The lowest price it sells for: `4 USD`. May be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// The price it mostly sells for: `5 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub typical: Option<String>,
    /// The highest price it sells for: `6 USD`. May be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
}

impl PricesInput {
    pub(crate) fn read(&self, at: &str, reader: &mut Reader) -> Option<Prices<Cost>> {
        let low_at = format!("{at}.low");
        let high_at = format!("{at}.high");
        let low = reader.optional_cost(&low_at, self.low.as_deref());
        let typical = reader.cost(&format!("{at}.typical"), self.typical.as_deref());
        let high = reader.optional_cost(&high_at, self.high.as_deref());
        let typical = typical?;
        if let (Some(low), Some(text)) = (low, &self.low)
            && low.major() > typical.major()
        {
            reader.check.refuse(Problem::new(
                low_at,
                text,
                "the low price is above the typical one",
                "write a price no higher than the typical one",
            ));
        }
        if let (Some(high), Some(text)) = (high, &self.high)
            && high.major() < typical.major()
        {
            reader.check.refuse(Problem::new(
                high_at,
                text,
                "the high price is below the typical one",
                "write a price no lower than the typical one",
            ));
        }
        Some(Prices { low, typical, high })
    }
}

/// An amount at the low, the typical and the high price, each as text rounded
/// to the minor unit and as a number, unrounded, in the currency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Amounts {
    /// At the low price; none when no low price was given.
    pub low: Option<String>,
    /// At the low price, in the currency.
    pub low_in_currency: Option<f64>,
    /// At the typical price.
    pub typical: String,
    /// At the typical price, in the currency.
    pub typical_in_currency: f64,
    /// At the high price; none when no high price was given.
    pub high: Option<String>,
    /// At the high price, in the currency.
    pub high_in_currency: Option<f64>,
}

impl From<Prices<Cost>> for Amounts {
    fn from(costs: Prices<Cost>) -> Self {
        Self {
            low: costs.low.map(|cost| cost.to_string()),
            low_in_currency: costs.low.map(Cost::to_f64),
            typical: costs.typical.to_string(),
            typical_in_currency: costs.typical.to_f64(),
            high: costs.high.map(|cost| cost.to_string()),
            high_in_currency: costs.high.map(Cost::to_f64),
        }
    }
}

/// A price range of which every part that is there is known.
pub(crate) fn known(costs: Prices<Option<Cost>>) -> Option<Prices<Cost>> {
    Some(Prices {
        low: match costs.low {
            Some(low) => Some(low?),
            None => None,
        },
        typical: costs.typical?,
        high: match costs.high {
            Some(high) => Some(high?),
            None => None,
        },
    })
}

/// A percentage figure to one decimal place, half-even: `41.7 %`.
pub fn percent(figure: Decimal) -> String {
    let mut shown = figure.round_dp(1);
    shown.rescale(1);
    if shown.is_zero() {
        shown.set_sign_positive(true);
    }
    format!("{shown} %")
}

/// A decimal as a float.
pub(crate) fn float(figure: Decimal) -> f64 {
    figure.to_f64().expect("a finite decimal is a finite float")
}

/// An amount to five figures, or to the minor unit where that is finer:
/// `0.0057319 USD`, `18.00 USD`.
pub fn fine(cost: Cost) -> String {
    let major = cost.major();
    let shown = major.round_sf(5).unwrap_or(major).normalize();
    let coins = u32::from(cost.currency().exponent().unwrap_or(0));
    if shown.scale() <= coins {
        return cost.to_string();
    }
    format!("{shown} {}", cost.currency().code())
}
