//! Global trade item numbers: the check digit, what a slip does to it, and
//! which numbers may be used where.
//!
//! # Source
//!
//! Check digit: the mod 10 method of the GS1 General Specifications as the
//! pages of GS1 Hong Kong and GS1 India show it. Prefixes: `docs/sources.md`,
//! "Trade item numbers"; most of them are from memory.

mod calculation;

use std::fmt;

use measure::Unclear;

pub use calculation::{Input, Output, calculate};

/// The lengths a trade item number may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Eight digits, for packs too small for more.
    Gtin8,
    /// Twelve digits, the number of a UPC-A symbol.
    Gtin12,
    /// Thirteen digits, the number of an EAN-13 symbol.
    Gtin13,
    /// Fourteen digits, for a case of equal units.
    Gtin14,
}

impl Kind {
    /// Every kind, shortest first.
    pub const ALL: [Self; 4] = [Self::Gtin8, Self::Gtin12, Self::Gtin13, Self::Gtin14];

    /// Its digits, the check digit counted.
    pub const fn n_digits(self) -> usize {
        match self {
            Self::Gtin8 => 8,
            Self::Gtin12 => 12,
            Self::Gtin13 => 13,
            Self::Gtin14 => 14,
        }
    }

    /// Reads `GTIN-13`, `13`, `EAN`, `UPC-A` and the like.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for anything else.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        let plain: String = text
            .to_lowercase()
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .collect();
        match plain.as_str() {
            "gtin8" | "8" | "ean8" => Ok(Self::Gtin8),
            "gtin12" | "12" | "upc" | "upca" => Ok(Self::Gtin12),
            "gtin13" | "13" | "ean" | "ean13" => Ok(Self::Gtin13),
            "gtin14" | "14" => Ok(Self::Gtin14),
            _ => Err(Unclear::new(
                text,
                "that is not a kind of number",
                "write GTIN-8, GTIN-12, GTIN-13 or GTIN-14",
            )),
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "GTIN-{}", self.n_digits())
    }
}

/// A trade item number whose check digit is right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Gtin {
    kind_digits: usize,
    /// Fourteen digits, noughts in front.
    digits: [u8; 14],
}

/// How a number was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Read {
    /// The number.
    pub gtin: Gtin,
    /// Whether the check digit was made here and not typed.
    pub is_made: bool,
    /// Whether the digits could also be the whole of a shorter number.
    pub is_also: Option<Kind>,
}

/// Who may use a number that begins like this.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prefix {
    /// Nothing is known against it.
    Ordinary,
    /// For use inside one company.
    Company,
    /// For use inside one region, as for goods weighed in the shop.
    Region,
    /// For demonstrations and examples.
    Demonstration,
    /// Kept by the numbering body's own office.
    Office,
    /// Journals and magazines.
    Serials,
    /// Books.
    Books,
    /// Slips for money back.
    Refunds,
    /// Coupons.
    Coupons,
}

impl Prefix {
    /// Whether goods sold by others may bear it.
    pub const fn is_for_trade(self) -> bool {
        matches!(self, Self::Ordinary)
    }

    /// What to say about it; nothing about an ordinary one.
    pub const fn remark(self) -> Option<&'static str> {
        match self {
            Self::Ordinary => None,
            Self::Company => Some(
                "Numbers that begin so are for use inside one company: good for your own shelf and stall, never for a shop or a marketplace (from memory).",
            ),
            Self::Region => Some(
                "Numbers that begin so are for use inside one region, as for goods weighed in the shop; a maker's goods never bear them (from memory).",
            ),
            Self::Demonstration => Some(
                "Numbers that begin so are for demonstrations and examples; no goods are sold under them (from memory).",
            ),
            Self::Office => Some(
                "Numbers that begin so are kept by the numbering body's own office (from memory).",
            ),
            Self::Serials => Some("Numbers that begin so are those of journals and magazines."),
            Self::Books => Some("Numbers that begin so are those of books."),
            Self::Refunds => Some("Numbers that begin so stand on slips for money back."),
            Self::Coupons => Some("Numbers that begin so stand on coupons."),
        }
    }
}

/// The check digit of the digits before it.
///
/// From the right, the digits weigh 3, 1, 3, 1 …; the check digit brings the
/// sum to a whole ten.
pub fn check_digit(digits: &[u8]) -> u8 {
    let tens = u8::try_from(weighted_sum(digits) % 10).expect("a remainder of ten is a digit");
    (10 - tens) % 10
}

/// The sum the check digit is taken from.
pub(crate) fn weighted_sum(digits: &[u8]) -> u32 {
    let weights = [3, 1].into_iter().cycle();
    digits
        .iter()
        .rev()
        .zip(weights)
        .map(|(&digit, weight)| u32::from(digit) * weight)
        .sum()
}

impl Gtin {
    /// Reads a number with or without its check digit.
    ///
    /// The length says which: 8, 13 and 14 digits are whole numbers, 7 and 11
    /// lack their check digit. Twelve digits are taken as a GTIN-13 that lacks
    /// it unless `kind` says GTIN-12; [`Read::is_also`] tells when they would
    /// make a whole GTIN-12 as well. Spaces and hyphens are passed over.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a text of other signs or another length, and for a
    /// check digit that is not right, with what would be.
    pub fn parse(text: &str, kind: Option<Kind>) -> Result<Read, Unclear> {
        let digits = digits_of(text)?;
        let wrong_length = |accepted: String| {
            Unclear::new(text, format!("there are {} digits", digits.len()), accepted)
        };
        let (kind, is_made) = match (kind, digits.len()) {
            (Some(kind), n) if n == kind.n_digits() => (kind, false),
            (Some(kind), n) if n + 1 == kind.n_digits() => (kind, true),
            (Some(kind), _) => {
                return Err(wrong_length(format!(
                    "a {kind} has {}, or {} without its check digit",
                    kind.n_digits(),
                    kind.n_digits() - 1
                )));
            }
            (None, 7) => (Kind::Gtin8, true),
            (None, 8) => (Kind::Gtin8, false),
            (None, 11) => (Kind::Gtin12, true),
            (None, 12) => (Kind::Gtin13, true),
            (None, 13) => (Kind::Gtin13, false),
            (None, 14) => (Kind::Gtin14, false),
            (None, _) => {
                return Err(wrong_length(
                    "write 8, 12, 13 or 14 digits, or one fewer to have the check digit made"
                        .to_owned(),
                ));
            }
        };
        if digits.iter().all(|digit| *digit == 0) {
            return Err(Unclear::new(
                text,
                "noughts alone are nobody's number",
                "write the number as it was given to you",
            ));
        }
        let is_also =
            (is_made && kind == Kind::Gtin13 && is_whole(&digits)).then_some(Kind::Gtin12);
        let mut whole = digits;
        if is_made {
            whole.push(check_digit(&whole));
        } else if !is_whole(&whole) {
            return Err(wrong_check_digit(text, &whole));
        }
        let mut padded = [0; 14];
        for (place, digit) in padded.iter_mut().rev().zip(whole.iter().rev()) {
            *place = *digit;
        }
        Ok(Read {
            gtin: Self {
                kind_digits: kind.n_digits(),
                digits: padded,
            },
            is_made,
            is_also,
        })
    }

    /// Its kind.
    pub fn kind(&self) -> Kind {
        Kind::ALL
            .into_iter()
            .find(|kind| kind.n_digits() == self.kind_digits)
            .unwrap_or(Kind::Gtin14)
    }

    /// Its digits, the check digit last.
    pub fn digits(&self) -> &[u8] {
        self.digits
            .get(14 - self.kind_digits..)
            .unwrap_or(&self.digits)
    }

    /// Its check digit.
    pub const fn check_digit(&self) -> u8 {
        self.digits[13]
    }

    /// The number in fourteen digits, as it is kept in files and links.
    pub fn in_fourteen(&self) -> String {
        text_of(&self.digits)
    }

    /// What its first digits say.
    pub fn prefix(&self) -> Prefix {
        let [_, rest @ ..] = self.digits;
        if self.kind() == Kind::Gtin8 {
            // The short numbers have prefixes of their own.
            return match self.digits().first() {
                Some(0 | 2) => Prefix::Company,
                _ => Prefix::Ordinary,
            };
        }
        let lead = rest
            .iter()
            .take(3)
            .fold(0_u32, |number, digit| number * 10 + u32::from(*digit));
        match lead {
            20..=29 | 200..=299 => Prefix::Region,
            40..=49 => Prefix::Company,
            950 | 951 => Prefix::Office,
            952 => Prefix::Demonstration,
            977 => Prefix::Serials,
            978 | 979 => Prefix::Books,
            980 => Prefix::Refunds,
            981..=983 | 990..=999 => Prefix::Coupons,
            _ => Prefix::Ordinary,
        }
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&text_of(self.digits()))
    }
}

pub(crate) fn text_of(digits: &[u8]) -> String {
    digits
        .iter()
        .map(|digit| char::from(b'0' + digit % 10))
        .collect()
}

fn digits_of(text: &str) -> Result<Vec<u8>, Unclear> {
    let mut digits = Vec::new();
    for sign in text.chars() {
        match sign.to_digit(10).and_then(|digit| u8::try_from(digit).ok()) {
            Some(digit) => digits.push(digit),
            None if sign.is_whitespace() || matches!(sign, '-' | '\u{2010}'..='\u{2013}') => {}
            None => {
                return Err(Unclear::new(
                    text,
                    format!("“{sign}” is not a digit"),
                    "write digits alone, such as 629104150021",
                ));
            }
        }
        if digits.len() > 20 {
            break;
        }
    }
    if digits.is_empty() {
        return Err(Unclear::new(
            text,
            "the number is missing",
            "write its digits, such as 629104150021",
        ));
    }
    Ok(digits)
}

/// Whether the last digit is the check digit of those before.
fn is_whole(digits: &[u8]) -> bool {
    digits
        .split_last()
        .is_some_and(|(last, before)| check_digit(before) == *last)
}

/// Says what would be right: the check digit, or two neighbours exchanged.
fn wrong_check_digit(text: &str, whole: &[u8]) -> Unclear {
    let (last, before) = whole.split_last().unwrap_or((&0, &[]));
    let swaps: Vec<String> = (1..whole.len())
        .filter_map(|right| {
            let mut other = whole.to_vec();
            other.swap(right - 1, right);
            (other != whole && is_whole(&other)).then(|| text_of(&other))
        })
        .collect();
    let right = check_digit(before);
    let mut accepted = format!(
        "if the others are right the last digit is {right}; one wrong digit anywhere does this too, so compare them all"
    );
    if !swaps.is_empty() {
        accepted.push_str("; with two neighbours exchanged it would be ");
        accepted.push_str(&swaps.join(" or "));
    }
    Unclear::new(
        text,
        format!("the check digit {last} does not belong to the digits before it"),
        accepted,
    )
}
