//! Splitting money that was paid so that the shares add up to it.

use measure::{CurrencyMismatch, Mass, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the freight of a receipt is spread by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FreightBy {
    /// By what each line cost.
    #[default]
    Value,
    /// By what each line weighs.
    Weight,
}

/// One line of a receipt, as far as freight is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReceiptLine {
    /// What was paid for the line, without freight.
    pub paid: Money,
    /// What it weighs, where it is known.
    pub weight: Option<Mass>,
}

/// Why freight could not be spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FreightError {
    /// A line is in another currency than the freight.
    #[error("the freight and a line are in different currencies")]
    Currency(#[from] CurrencyMismatch),
    /// The freight goes by weight and a line has none. Counted from nought.
    #[error("line {} has no weight to spread the freight by", .0 + 1)]
    NoWeight(usize),
    /// The lines are all free, or all weightless, or there are none.
    #[error("the lines have nothing to spread the freight by")]
    NothingToGoBy,
}

/// Splits `total` in proportion to `weights`, in whole minor units.
///
/// Each share is first rounded down; the minor units left over go one each to
/// the largest remainders, the earlier line first where two are alike. The
/// shares add up to `total` exactly. None when the weights are all zero.
///
/// # Source
///
/// The largest remainder method, with the exact quota.
///
/// # Example
///
/// ```
/// use measure::{Currency, Money};
///
/// let freight = Money::from_minor(1000, Currency::USD);
/// let shares = price::spread(freight, &[1, 1, 1]).unwrap();
/// let cents: Vec<i64> = shares.iter().map(|share| share.minor()).collect();
/// assert_eq!(cents, [334, 333, 333]);
/// ```
pub fn spread(total: Money, weights: &[u64]) -> Option<Vec<Money>> {
    // Whole numbers throughout: an i64 times a u64 always fits an i128.
    let sum: i128 = weights.iter().copied().map(i128::from).sum();
    if sum == 0 {
        return None;
    }
    let minor = i128::from(total.minor());
    let mut shares: Vec<i128> = Vec::with_capacity(weights.len());
    let mut remainders: Vec<(i128, usize)> = Vec::with_capacity(weights.len());
    for (idx, weight) in weights.iter().copied().enumerate() {
        let product = minor * i128::from(weight);
        shares.push(product.div_euclid(sum));
        remainders.push((product.rem_euclid(sum), idx));
    }
    let mut left = minor - shares.iter().sum::<i128>();
    // Stable: among equal remainders the earlier line keeps its place.
    remainders.sort_by_key(|(remainder, _)| std::cmp::Reverse(*remainder));
    for (_, idx) in remainders {
        if left == 0 {
            break;
        }
        if let Some(share) = shares.get_mut(idx) {
            *share += 1;
            left -= 1;
        }
    }
    let shares = shares.into_iter().map(|share| {
        let share = i64::try_from(share).expect("a share never exceeds its whole");
        Money::from_minor(share, total.currency())
    });
    Some(shares.collect())
}

/// Spreads the freight of a receipt over its lines; the shares add up to it.
///
/// # Errors
///
/// [`FreightError`] when the currencies differ, a line has no weight to go
/// by, or all lines are free or weightless.
pub fn spread_freight(
    freight: Money,
    lines: &[ReceiptLine],
    by: FreightBy,
) -> Result<Vec<Money>, FreightError> {
    let mut weights = Vec::with_capacity(lines.len());
    for (idx, line) in lines.iter().enumerate() {
        if line.paid.currency() != freight.currency() {
            let mismatch = CurrencyMismatch(freight.currency(), line.paid.currency());
            return Err(mismatch.into());
        }
        weights.push(match by {
            FreightBy::Value => line.paid.minor().unsigned_abs(),
            FreightBy::Weight => {
                let weight = line.weight.ok_or(FreightError::NoWeight(idx))?;
                weight.micrograms().unsigned_abs()
            }
        });
    }
    spread(freight, &weights).ok_or(FreightError::NothingToGoBy)
}
