//! Numbers of units as a person writes them, in whole millionths inside.

use measure::{Decimal, Reading, Unclear, parse_decimal};

/// Millionths in a unit: a twelfth of a case can be told apart.
pub(crate) const PER_UNIT: i64 = 1_000_000;
/// More units than anybody moves at once.
const MOST_UNITS: i64 = 100_000_000;

const ACCEPTED: &str = "write a number of units such as 60";

/// Reads a number of units above zero.
pub(crate) fn parse_units(text: &str, reading: Reading) -> Result<i64, Unclear> {
    let trimmed = text.trim();
    let refuse = |wrong: String| Unclear::new(trimmed, wrong, ACCEPTED);
    if trimmed.is_empty() {
        return Err(refuse("a number of units is missing".to_owned()));
    }
    let units = parse_decimal(trimmed, reading)
        .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
    if units.is_zero() {
        return Err(refuse("nothing moves".to_owned()));
    }
    if units.is_sign_negative() {
        return Err(refuse("a number of units cannot be negative".to_owned()));
    }
    if units > Decimal::from(MOST_UNITS) {
        return Err(refuse(format!(
            "there cannot be more than {MOST_UNITS} units"
        )));
    }
    let millionths = (units * Decimal::from(PER_UNIT)).normalize();
    if millionths.scale() > 0 {
        return Err(refuse(
            "that is finer than a millionth of a unit".to_owned(),
        ));
    }
    i64::try_from(millionths).map_err(|_| refuse("the number is too large".to_owned()))
}

/// Millionths of a unit as a decimal.
pub(crate) fn units(millionths: i64) -> Decimal {
    Decimal::new(millionths, 6).normalize()
}

/// A number of units in words: `1 unit`, `12.5 units`.
pub(crate) fn in_units(millionths: i64) -> String {
    let many = units(millionths);
    if many == Decimal::ONE {
        return "1 unit".to_owned();
    }
    format!("{many} units")
}

/// A sum of millionths that may be past the range of an `i64`.
pub(crate) fn narrow(millionths: i128) -> i64 {
    i64::try_from(millionths).unwrap_or(if millionths < 0 { i64::MIN } else { i64::MAX })
}
