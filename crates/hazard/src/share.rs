//! How much of an ingredient there is, as a safety data sheet puts it.

use std::fmt;
use std::str::FromStr;

use measure::{DecimalMark, Reading, Unclear, parse_decimal};
use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

const ACCEPTED: &str = "write a share such as 3.2 %, 5-10 % or < 1 %";
/// Finer than any sheet, and coarse enough that sums stay exact.
const DECIMALS: u32 = 6;

/// A share of a mixture by weight, in percent: a point or a range.
///
/// Whether an end belongs to the range is kept, because the law's limits are
/// "at or above": `< 10 %` never reaches a limit of 10 %, `<= 10 %` does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Share {
    low: Decimal,
    high: Option<Decimal>,
    low_open: bool,
    high_open: bool,
}

impl Share {
    /// Nothing at all.
    pub const NOTHING: Self = Self {
        low: Decimal::ZERO,
        high: Some(Decimal::ZERO),
        low_open: false,
        high_open: false,
    };

    /// Exactly that many percent, from 0 to 100 with at most six decimals.
    pub fn exactly(percent: Decimal) -> Option<Self> {
        Self::within(percent, Some(percent), false, false)
    }

    /// From `low` to `high` percent, an end left out where it is `open`; with
    /// no `high`, up to whatever the others leave.
    pub fn within(
        low: Decimal,
        high: Option<Decimal>,
        low_open: bool,
        high_open: bool,
    ) -> Option<Self> {
        let fits = |percent: Decimal| {
            (Decimal::ZERO..=Decimal::ONE_HUNDRED).contains(&percent)
                && percent.normalize().scale() <= DECIMALS
        };
        let ordered = high.map_or(low < Decimal::ONE_HUNDRED || !low_open, |high| {
            low < high || (low == high && !low_open && !high_open)
        });
        (fits(low) && high.is_none_or(fits) && ordered).then(|| Self {
            low: low.normalize(),
            high: high.map(|high| high.normalize()),
            low_open,
            high_open,
        })
    }

    /// The lower end, percent.
    pub const fn low(&self) -> Decimal {
        self.low
    }

    /// The upper end, percent; none where the sheet gives only a lower one.
    pub const fn high(&self) -> Option<Decimal> {
        self.high
    }

    /// Whether the lower end itself is left out.
    pub const fn low_is_open(&self) -> bool {
        self.low_open
    }

    /// Whether the upper end itself is left out.
    pub const fn high_is_open(&self) -> bool {
        self.high_open
    }

    /// Whether it is one figure.
    pub fn is_point(&self) -> bool {
        self.high == Some(self.low)
    }

    /// Reads `3.2 %`, `5-10 %`, `5 – < 10 %`, `>= 1 - < 5 %`, `< 1 %`,
    /// `<= 1 %`, `>= 50 %`.
    ///
    /// # Errors
    ///
    /// [`Unclear`] without a percent sign, below 0 or above 100 %, when the
    /// ends are the wrong way round or it is not a share.
    pub fn parse(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "a share is missing", ACCEPTED));
        }
        let figures = ["%", "percent", "per cent", "pct"]
            .iter()
            .find_map(|sign| trimmed.strip_suffix(sign))
            .ok_or_else(|| Unclear::new(trimmed, "there is no percent sign", ACCEPTED))?;
        Self::parse_figures(figures, reading)
            .map_err(|wrong| Unclear::new(trimmed, wrong.wrong, wrong.accepted))
    }

    /// Reads the same without the percent sign, for a column that is headed %.
    ///
    /// # Errors
    ///
    /// As [`Share::parse`].
    pub fn parse_figures(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let wrong = |what: &'static str| Unclear::new(text, what, ACCEPTED);
        let plain = plain_signs(text);
        let plain = plain.trim();
        if plain.starts_with('-') {
            return Err(wrong("a share cannot be negative"));
        }
        let mut ends = plain.splitn(2, '-');
        let first = ends.next().unwrap_or_default().trim();
        let second = ends.next().map(str::trim);
        if second.is_some_and(|second| second.starts_with('-')) {
            return Err(wrong("a share cannot be negative"));
        }
        let read = |figure: &str| {
            parse_decimal(figure.trim().trim_end_matches('%').trim(), reading)
                .map_err(|unclear| Unclear::new(text, unclear.wrong, ACCEPTED))
        };
        let (sign, figure) = bound(first);
        let figure = read(figure)?;
        let share = match (sign, second) {
            (None | Some(Bound::Over | Bound::AtLeast), Some(second)) => {
                let (upper_sign, upper) = bound(second);
                let upper = read(upper)?;
                if matches!(upper_sign, Some(Bound::Over | Bound::AtLeast)) {
                    return Err(wrong("the upper end of a range cannot be a lower limit"));
                }
                if upper < figure {
                    return Err(wrong("the range is the wrong way round"));
                }
                let low_open = sign == Some(Bound::Over);
                let high_open = upper_sign == Some(Bound::Under);
                Self::within(figure, Some(upper), low_open, high_open)
            }
            (Some(Bound::Under | Bound::AtMost), Some(_)) => {
                return Err(wrong("a range cannot begin with an upper limit"));
            }
            (None, None) => Self::exactly(figure),
            (Some(Bound::Under), None) => Self::within(Decimal::ZERO, Some(figure), false, true),
            (Some(Bound::AtMost), None) => Self::within(Decimal::ZERO, Some(figure), false, false),
            (Some(Bound::Over), None) => Self::within(figure, None, true, false),
            (Some(Bound::AtLeast), None) => Self::within(figure, None, false, false),
        };
        share.ok_or_else(|| {
            if figure > Decimal::ONE_HUNDRED {
                wrong("a share cannot be more than 100 %")
            } else {
                wrong("that is not a share from 0 to 100 % with at most six decimals")
            }
        })
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Bound {
    Under,
    AtMost,
    Over,
    AtLeast,
}

/// Takes the limit sign off the front of a figure.
fn bound(text: &str) -> (Option<Bound>, &str) {
    for (sign, bound) in [
        ("<=", Bound::AtMost),
        (">=", Bound::AtLeast),
        ("=<", Bound::AtMost),
        ("=>", Bound::AtLeast),
        ("<", Bound::Under),
        (">", Bound::Over),
    ] {
        if let Some(rest) = text.strip_prefix(sign) {
            return (Some(bound), rest.trim());
        }
    }
    (None, text)
}

/// Writes every dash, limit sign and `to` in its plainest form.
fn plain_signs(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '\u{2010}'..='\u{2015}' | '\u{2212}' | '~' => plain.push('-'),
            '\u{2264}' | '\u{2a7d}' => plain.push_str("<="),
            '\u{2265}' | '\u{2a7e}' => plain.push_str(">="),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => plain.push(' '),
            other => plain.push(other),
        }
    }
    plain.replace(" to ", " - ")
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let low = self.low;
        match self.high {
            Some(high) if high == low => write!(f, "{low} %"),
            Some(high) if low.is_zero() && !self.low_open => {
                write!(f, "{} {high} %", if self.high_open { "<" } else { "<=" })
            }
            Some(high) => {
                let from = if self.low_open { "> " } else { "" };
                let under = if self.high_open { "< " } else { "" };
                write!(f, "{from}{low} - {under}{high} %")
            }
            None => write!(f, "{} {low} %", if self.low_open { ">" } else { ">=" }),
        }
    }
}

impl FromStr for Share {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text, Reading::PLAIN)
    }
}

impl Serialize for Share {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Share {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

/// The reading of a sheet that writes its tenths with a comma.
pub const COMMA: Reading = Reading {
    decimal_mark: DecimalMark::Comma,
    customary: None,
};

#[cfg(test)]
mod tests {
    use measure::Reading;

    use super::{COMMA, Share};

    fn shown(text: &str) -> String {
        Share::parse(text, Reading::PLAIN)
            .map_or_else(|error| error.to_string(), |share| share.to_string())
    }

    #[test]
    fn reads_what_sheets_print() {
        for (text, meant) in [
            ("3.2 %", "3.2 %"),
            ("3.20%", "3.2 %"),
            ("5-10 %", "5 - 10 %"),
            ("5 \u{2013} 10%", "5 - 10 %"),
            ("\u{2265} 10 - < 25 %", "10 - < 25 %"),
            ("> 1 - \u{2264} 5 %", "> 1 - 5 %"),
            ("5 to 10 %", "5 - 10 %"),
            ("< 1 %", "< 1 %"),
            ("<=1%", "<= 1 %"),
            (">= 50 %", ">= 50 %"),
            ("0 %", "0 %"),
        ] {
            assert_eq!(shown(text), meant, "{text}");
            let again = shown(meant);
            assert_eq!(again, meant);
        }
        let comma = Share::parse("2,5 - < 10 %", COMMA).unwrap();
        assert_eq!(comma.to_string(), "2.5 - < 10 %");
    }

    #[test]
    fn refuses_what_cannot_be() {
        for wrong in [
            "",
            "%",
            "3.2",
            "-1 %",
            "5 - -10 %",
            "101 %",
            "10-5 %",
            "< 5 - 10 %",
            "5 - > 10 %",
            "1.2345678 %",
            "ten %",
            "1.2.3 %",
            "5 - 200 %",
            "> 100 %",
            "\u{2212}3 %",
        ] {
            assert!(Share::parse(wrong, Reading::PLAIN).is_err(), "{wrong}");
        }
    }
}
