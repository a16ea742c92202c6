//! Decimal arithmetic that says when a figure outgrows it.

use measure::{Cost, Currency, Decimal, Problem, Problems};

/// The figures together are larger than 28 digits can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the figures together are too large to reckon with")]
pub struct TooLarge;

impl From<TooLarge> for Problems {
    fn from(too_large: TooLarge) -> Self {
        Problem::new(
            "",
            "",
            too_large.to_string(),
            "check the amounts, weights and times for a figure with too many digits",
        )
        .into()
    }
}

/// `value × over ÷ under`; `under` is not zero.
///
/// Multiplies first, so that a share that comes out even is exact.
pub(crate) fn scaled(value: Decimal, over: Decimal, under: Decimal) -> Result<Decimal, TooLarge> {
    if let Some(product) = value.checked_mul(over) {
        return product.checked_div(under).ok_or(TooLarge);
    }
    value
        .checked_div(under)
        .and_then(|part| part.checked_mul(over))
        .ok_or(TooLarge)
}

/// [`scaled`] for an amount of money.
pub(crate) fn scaled_cost(cost: Cost, over: Decimal, under: Decimal) -> Result<Cost, TooLarge> {
    Ok(Cost::new(
        scaled(cost.major(), over, under)?,
        cost.currency(),
    ))
}

/// The sum of amounts in `currency`, which the caller has seen to.
pub(crate) fn total(
    costs: impl IntoIterator<Item = Cost>,
    currency: Currency,
) -> Result<Cost, TooLarge> {
    let mut sum = Decimal::ZERO;
    for cost in costs {
        debug_assert_eq!(cost.currency(), currency);
        sum = sum.checked_add(cost.major()).ok_or(TooLarge)?;
    }
    Ok(Cost::new(sum, currency))
}

/// `from - take`, both in the currency of `from`.
pub(crate) fn less(from: Cost, take: Cost) -> Result<Cost, TooLarge> {
    debug_assert_eq!(from.currency(), take.currency());
    let left = from.major().checked_sub(take.major()).ok_or(TooLarge)?;
    Ok(Cost::new(left, from.currency()))
}

/// The share `part ÷ whole` in percent; none of nothing.
pub(crate) fn percent_of(part: Cost, whole: Cost) -> Result<Option<Decimal>, TooLarge> {
    if whole.major().is_zero() {
        return Ok(None);
    }
    scaled(part.major(), Decimal::ONE_HUNDRED, whole.major()).map(Some)
}

/// `a + b`.
pub(crate) fn add(a: Decimal, b: Decimal) -> Result<Decimal, TooLarge> {
    a.checked_add(b).ok_or(TooLarge)
}

/// `a - b`.
pub(crate) fn sub(a: Decimal, b: Decimal) -> Result<Decimal, TooLarge> {
    a.checked_sub(b).ok_or(TooLarge)
}

/// `a × b`.
pub(crate) fn mul(a: Decimal, b: Decimal) -> Result<Decimal, TooLarge> {
    a.checked_mul(b).ok_or(TooLarge)
}
