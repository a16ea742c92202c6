//! Numbers as people write them: `15.0`, `1/2`, `3 1/2`, `½`.

use std::fmt;

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

use crate::problem::Unclear;

/// The sign between whole and tenths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalMark {
    /// `1.5`
    #[default]
    Point,
    /// `1,5`
    Comma,
}

/// Whose cups and fluid ounces a bare `cup` or `fl oz` means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Customary {
    /// United States measure.
    Us,
    /// British measure.
    Uk,
}

/// How a typed text is to be read. A setting of the workshop, passed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reading {
    /// The decimal mark; the other one is refused, never guessed at.
    pub decimal_mark: DecimalMark,
    /// Whose customary units a bare `fl oz` means; with none it is refused.
    pub customary: Option<Customary>,
}

impl Reading {
    /// A decimal point, and no assumption about fluid ounces: the reading of
    /// journals, files and the programming interface.
    pub const PLAIN: Self = Self {
        decimal_mark: DecimalMark::Point,
        customary: None,
    };
}

/// A number as it was written, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Number {
    /// Digits with at most one decimal mark; keeps trailing zeros.
    Decimal(Decimal),
    /// A whole and a fraction, `3 1/2`; the whole may be zero.
    Mixed { whole: u32, over: u32, under: u32 },
}

impl Number {
    /// The number as `numerator / denominator`, both exact.
    pub(crate) fn fraction(self) -> (Decimal, Decimal) {
        match self {
            Self::Decimal(value) => (value, Decimal::ONE),
            Self::Mixed { whole, over, under } => (
                // Three u32 cannot leave the range of a Decimal.
                Decimal::from(u64::from(whole) * u64::from(under) + u64::from(over)),
                Decimal::from(under),
            ),
        }
    }
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Decimal(value) => write!(f, "{value}"),
            Self::Mixed {
                whole: 0,
                over,
                under,
            } => write!(f, "{over}/{under}"),
            Self::Mixed { whole, over, under } => write!(f, "{whole} {over}/{under}"),
        }
    }
}

/// Takes a number off the front of `rest`, which has no leading space.
///
/// `whole` is the full text, for the message.
pub(crate) fn take_number<'a>(
    rest: &'a str,
    whole: &str,
    reading: Reading,
    accepted: &'static str,
) -> Result<(Number, &'a str), Unclear> {
    let wrong = |what: &'static str| Unclear::new(whole, what, accepted);
    refuse_foreign_digits(rest, whole)?;
    let (digits, after) = split_number(rest);
    if let Some((fraction, after)) = vulgar_fraction(after) {
        let count = if digits.is_empty() {
            0
        } else {
            small(digits, &wrong)?
        };
        let (over, under) = fraction;
        return Ok((
            Number::Mixed {
                whole: count,
                over,
                under,
            },
            after,
        ));
    }
    if digits.is_empty() {
        return Err(wrong("there is no number at the start"));
    }
    // `1/2` and `3 1/2`
    if let Some(tail) = after.strip_prefix('/') {
        let (under, after) = split_number(tail);
        return Ok((
            mixed(0, small(digits, &wrong)?, small(under, &wrong)?, &wrong)?,
            after,
        ));
    }
    if let Some(tail) = after.strip_prefix(' ') {
        let (over, tail) = split_number(tail.trim_start());
        if let (false, Some(tail)) = (over.is_empty(), tail.strip_prefix('/')) {
            let (under, after) = split_number(tail);
            let whole = small(digits, &wrong)?;
            return Ok((
                mixed(whole, small(over, &wrong)?, small(under, &wrong)?, &wrong)?,
                after,
            ));
        }
    }
    Ok((
        Number::Decimal(decimal(digits, whole, reading, accepted)?),
        after,
    ))
}

/// Reads digits with at most one decimal mark of the right kind.
fn decimal(
    digits: &str,
    whole: &str,
    reading: Reading,
    accepted: &'static str,
) -> Result<Decimal, Unclear> {
    let (mark, other, say) = match reading.decimal_mark {
        DecimalMark::Point => (
            '.',
            ',',
            "a comma is not a decimal mark here; write a point",
        ),
        DecimalMark::Comma => (
            ',',
            '.',
            "a point is not a decimal mark here; write a comma",
        ),
    };
    if digits.contains(other) {
        return Err(Unclear::new(whole, say, accepted));
    }
    if digits.matches(mark).count() > 1 {
        return Err(Unclear::new(
            whole,
            "the number has more than one decimal mark",
            accepted,
        ));
    }
    if digits.starts_with(mark) || digits.ends_with(mark) {
        return Err(Unclear::new(
            whole,
            "a digit is missing beside the decimal mark",
            accepted,
        ));
    }
    let read = match reading.decimal_mark {
        DecimalMark::Point => Decimal::from_str_exact(digits),
        DecimalMark::Comma => Decimal::from_str_exact(&digits.replace(mark, ".")),
    };
    read.map_err(|_| Unclear::new(whole, "the number is too large or too fine", accepted))
}

/// Reads a bare decimal number, which may be negative: `0.75`, `-3`.
///
/// # Errors
///
/// [`Unclear`] when the text is empty, has more than a number in it, or does
/// not fit 28 digits.
///
/// # Example
///
/// ```
/// use measure::{Reading, parse_decimal};
///
/// assert_eq!(parse_decimal(" 0.75 ", Reading::PLAIN).unwrap().to_string(), "0.75");
/// assert!(parse_decimal("0,75", Reading::PLAIN).is_err());
/// ```
pub fn parse_decimal(text: &str, reading: Reading) -> Result<Decimal, Unclear> {
    const ACCEPTED: &str = "write a number such as 0.75";
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(Unclear::new(text, "a number is missing", ACCEPTED));
    }
    let (negative, digits) = match trimmed.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest),
        None => (false, trimmed),
    };
    let (number, rest) = take_number(digits, trimmed, reading, ACCEPTED)?;
    if !rest.trim().is_empty() {
        return Err(Unclear::new(
            trimmed,
            "there is more here than a number",
            ACCEPTED,
        ));
    }
    let (over, under) = number.fraction();
    let value = over
        .checked_div(under)
        .ok_or_else(|| Unclear::new(trimmed, "the number is too large", ACCEPTED))?;
    Ok(if negative { -value } else { value })
}

/// Returns the decimal nearest to a finite float, rounded half-even to
/// `places` decimal places; none for a float that is not finite or too large.
pub fn decimal_from_f64(value: f64, places: u32) -> Option<Decimal> {
    if !value.is_finite() {
        return None;
    }
    Decimal::from_f64(value).map(|decimal| decimal.round_dp(places))
}

fn split_number(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(text.len());
    text.split_at(end)
}

fn small(digits: &str, wrong: &dyn Fn(&'static str) -> Unclear) -> Result<u32, Unclear> {
    digits
        .parse()
        .map_err(|_| wrong("the fraction is not made of whole numbers"))
}

fn mixed(
    whole: u32,
    over: u32,
    under: u32,
    wrong: &dyn Fn(&'static str) -> Unclear,
) -> Result<Number, Unclear> {
    if under == 0 {
        return Err(wrong("the fraction divides by nothing"));
    }
    if whole > 0 && over >= under {
        return Err(wrong(
            "the fraction after the whole number is not less than one",
        ));
    }
    Ok(Number::Mixed { whole, over, under })
}

fn vulgar_fraction(text: &str) -> Option<((u32, u32), &str)> {
    let mut chars = text.trim_start_matches(' ').chars();
    Some((vulgar(chars.next()?)?, chars.as_str()))
}

fn vulgar(sign: char) -> Option<(u32, u32)> {
    Some(match sign {
        '¼' => (1, 4),
        '½' => (1, 2),
        '¾' => (3, 4),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    })
}

/// Whether a number can begin, or end, with this character.
pub(crate) fn is_figure(c: char) -> bool {
    c.is_ascii_digit() || vulgar(c).is_some()
}

fn refuse_foreign_digits(text: &str, whole: &str) -> Result<(), Unclear> {
    if text.is_ascii() {
        return Ok(());
    }
    let foreign = |c: char| c.is_numeric() && !is_figure(c);
    if text.contains(foreign) {
        return Err(Unclear::new(
            whole,
            "some digits are not plain 0 to 9",
            "type the number with the ordinary digits 0 to 9",
        ));
    }
    Ok(())
}
