//! The unique formula identifier: sixteen signs that tell a poison centre
//! which formula is meant.
//!
//! # Source
//!
//! ECHA, UFI Developers Manual, version 1.4, November 2021: tables and method
//! second hand, as reproduced by two open implementations that agree.

pub mod calculation;

use std::fmt;
use std::str::FromStr;

use measure::Unclear;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

pub use calculation::calculate;

/// Values 0 to 30; B, I, L, O and Z are left out.
const ALPHABET: &[u8; 31] = b"0123456789ACDEFGHJKMNPQRSTUVWXY";
/// Which of the fifteen signs stands where behind the check sign.
const ORDER: [usize; 15] = [5, 4, 3, 7, 2, 8, 9, 10, 1, 0, 11, 6, 12, 13, 14];
/// Bits that hold the country's code and the number together.
const OWNER_BITS: u32 = 41;
/// The highest formulation number: 28 bits.
pub const FORMULATION_MAX: u32 = (1 << 28) - 1;

const ACCEPTED: &str = "write a UFI such as GMTT-2SQN-6FDD-6TV1";
const ACCEPTED_COUNTRY: &str = "write the two letters of the VAT number's country, such as DE";
const ACCEPTED_KEY: &str =
    "write the company key as issued, a whole number below 2 199 023 255 552";

/// How a country writes its VAT numbers behind the two letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Digits alone, as many as one of these.
    Digits(&'static [usize]),
    Austria,
    Belgium,
    Netherlands,
    Cyprus,
    Spain,
    France,
    Britain,
    Ireland,
    Iceland,
}

/// A country whose VAT numbers a UFI can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Country {
    letters: &'static str,
    group: u8,
    bits: u32,
    code: u8,
    form: Form,
}

const fn country(letters: &'static str, group: u8, bits: u32, code: u8, form: Form) -> Country {
    Country {
        letters,
        group,
        bits,
        code,
        form,
    }
}

/// Every country of the manual's tables, by group and code.
static COUNTRIES: [Country; 31] = [
    country("FR", 1, 0, 0, Form::France),
    country("GB", 2, 0, 0, Form::Britain),
    country("LT", 3, 1, 0, Form::Digits(&[9, 12])),
    country("SE", 3, 1, 1, Form::Digits(&[12])),
    country("HR", 4, 4, 0, Form::Digits(&[11])),
    country("IT", 4, 4, 1, Form::Digits(&[11])),
    country("LV", 4, 4, 2, Form::Digits(&[11])),
    country("NL", 4, 4, 3, Form::Netherlands),
    country("BG", 5, 7, 0, Form::Digits(&[9, 10])),
    country("CZ", 5, 7, 1, Form::Digits(&[8, 9, 10])),
    country("IE", 5, 7, 2, Form::Ireland),
    country("ES", 5, 7, 3, Form::Spain),
    country("PL", 5, 7, 4, Form::Digits(&[10])),
    country("RO", 5, 7, 5, Form::Digits(&[2, 3, 4, 5, 6, 7, 8, 9, 10])),
    country("SK", 5, 7, 6, Form::Digits(&[10])),
    country("CY", 5, 7, 7, Form::Cyprus),
    country("IS", 5, 7, 8, Form::Iceland),
    country("BE", 5, 7, 9, Form::Belgium),
    country("DE", 5, 7, 10, Form::Digits(&[9])),
    country("EE", 5, 7, 11, Form::Digits(&[9])),
    country("GR", 5, 7, 12, Form::Digits(&[9])),
    country("NO", 5, 7, 13, Form::Digits(&[9])),
    country("PT", 5, 7, 14, Form::Digits(&[9])),
    country("AT", 5, 7, 15, Form::Austria),
    country("DK", 5, 7, 16, Form::Digits(&[8])),
    country("FI", 5, 7, 17, Form::Digits(&[8])),
    country("HU", 5, 7, 18, Form::Digits(&[8])),
    country("LU", 5, 7, 19, Form::Digits(&[8])),
    country("MT", 5, 7, 20, Form::Digits(&[8])),
    country("SI", 5, 7, 21, Form::Digits(&[8])),
    country("LI", 5, 7, 22, Form::Digits(&[5])),
];

impl Country {
    /// Every country, in the order of the groups and codes.
    pub fn all() -> impl Iterator<Item = Self> {
        COUNTRIES.iter().copied()
    }

    /// Reads two letters; `EL` is Greece and `UK` the United Kingdom.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a country the manual has no code for.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(
                text,
                "the country of the VAT number is missing",
                ACCEPTED_COUNTRY,
            ));
        }
        Self::of_letters(&trimmed.to_uppercase()).ok_or_else(|| {
            if trimmed.eq_ignore_ascii_case("XI") {
                Unclear::new(
                    trimmed,
                    "version 1.4 of the manual has no place for a Northern Irish number",
                    "use a company key instead",
                )
            } else {
                Unclear::new(
                    trimmed,
                    "a UFI cannot hold a VAT number of that country",
                    "use a company key instead",
                )
            }
        })
    }

    fn of_letters(letters: &str) -> Option<Self> {
        let letters = match letters {
            "EL" => "GR",
            "UK" => "GB",
            other => other,
        };
        Self::all().find(|country| country.letters == letters)
    }

    /// Its two letters.
    pub const fn letters(self) -> &'static str {
        self.letters
    }

    /// The number a VAT number stands for, its letters in front taken off.
    fn number_of(self, rest: &str) -> Option<u64> {
        let signs: Vec<char> = rest.chars().collect();
        match self.form {
            Form::Digits(lengths) => lengths
                .contains(&signs.len())
                .then(|| digits(&signs))
                .flatten(),
            Form::Belgium => match signs.first() {
                Some('0' | '1') if signs.len() == 10 => digits(&signs),
                _ => None,
            },
            Form::Austria => match signs.as_slice() {
                ['U', rest @ ..] if rest.len() == 8 => digits(rest),
                _ => None,
            },
            Form::Netherlands => {
                let (head, tail) = signs.split_at_checked(9)?;
                match tail {
                    ['B', rest @ ..] if rest.len() == 2 => {
                        Some(digits(head)? * 100 + digits(rest)?)
                    }
                    _ => None,
                }
            }
            Form::Cyprus => {
                let (head, tail) = signs.split_at_checked(8)?;
                let [last] = tail else { return None };
                Some(letter(*last)? * 10_u64.pow(8) + digits(head)?)
            }
            Form::Spain => match signs.as_slice() {
                [first, middle @ .., last] if middle.len() == 7 => {
                    let ends = 36 * base_36(*first)? + base_36(*last)?;
                    Some(ends * 10_u64.pow(7) + digits(middle)?)
                }
                _ => None,
            },
            Form::France => match signs.as_slice() {
                [first, second, rest @ ..] if rest.len() == 9 => {
                    let ends = 36 * base_36(*first)? + base_36(*second)?;
                    Some(ends * 10_u64.pow(9) + digits(rest)?)
                }
                _ => None,
            },
            Form::Britain => match signs.as_slice() {
                [first, second, rest @ ..] if rest.len() == 3 => {
                    Some((26 * letter(*first)? + letter(*second)?) * 1000 + digits(rest)?)
                }
                all if matches!(all.len(), 9 | 12) => Some((1 << 40) + digits(all)?),
                _ => None,
            },
            Form::Ireland => irish_number(&signs),
            Form::Iceland if signs.len() == 6 => signs
                .iter()
                .try_fold(0, |sum, sign| Some(sum * 36 + base_36(*sign)?)),
            Form::Iceland => None,
        }
    }

    /// A VAT number that stands for this number. Zeros in front that the
    /// country's shortest form does not need are lost in a UFI.
    fn text_of(self, number: u64) -> Option<String> {
        let text = match self.form {
            Form::Digits(lengths) => lengths
                .iter()
                .map(|length| format!("{number:0length$}"))
                .find(|text| lengths.contains(&text.len()))?,
            Form::Belgium => format!("{number:010}"),
            Form::Austria => format!("U{number:08}"),
            Form::Netherlands => format!("{:09}B{:02}", number / 100, number % 100),
            Form::Cyprus => {
                let last = letter_of(number / 10_u64.pow(8))?;
                format!("{:08}{last}", number % 10_u64.pow(8))
            }
            Form::Spain => {
                let ends = number / 10_u64.pow(7);
                let (first, last) = (base_36_of(ends / 36)?, base_36_of(ends % 36)?);
                format!("{first}{:07}{last}", number % 10_u64.pow(7))
            }
            Form::France => {
                let ends = number / 10_u64.pow(9);
                let (first, second) = (base_36_of(ends / 36)?, base_36_of(ends % 36)?);
                format!("{first}{second}{:09}", number % 10_u64.pow(9))
            }
            Form::Britain => match number.checked_sub(1 << 40) {
                Some(plain) if plain < 10_u64.pow(9) => format!("{plain:09}"),
                Some(plain) => format!("{plain:012}"),
                None => {
                    let ends = number / 1000;
                    let (first, second) = (letter_of(ends / 26)?, letter_of(ends % 26)?);
                    format!("{first}{second}{:03}", number % 1000)
                }
            },
            Form::Ireland => irish_text(number)?,
            Form::Iceland => {
                let places = [5, 4, 3, 2, 1, 0];
                places
                    .iter()
                    .map(|place| base_36_of(number / 36_u64.pow(*place) % 36))
                    .collect::<Option<String>>()?
            }
        };
        // What does not read back is not a VAT number of that country.
        (self.number_of(&text) == Some(number)).then(|| format!("{}{text}", self.letters))
    }
}

/// The two forms of an Irish number; the newer one lies above 2³³.
fn irish_number(signs: &[char]) -> Option<u64> {
    let (head, tail) = signs.split_at_checked(7)?;
    if let Some(seven) = digits(head) {
        let (first, second) = match tail {
            [first] => (letter(*first)?, 0),
            [first, second] => (letter(*first)?, letter(*second)?),
            _ => return None,
        };
        return Some((1 << 33) + (26 * second + first) * 10_u64.pow(7) + seven);
    }
    match (head, tail) {
        ([first, middle, five @ ..], [last]) => {
            let middle = match middle {
                '+' => 26,
                '*' => 27,
                other => letter(*other)?,
            };
            let six = digits(&[*first])? * 10_u64.pow(5) + digits(five)?;
            Some((26 * middle + letter(*last)?) * 10_u64.pow(6) + six)
        }
        _ => None,
    }
}

fn irish_text(number: u64) -> Option<String> {
    if let Some(newer) = number.checked_sub(1 << 33) {
        let ends = newer / 10_u64.pow(7);
        let first = letter_of(ends % 26)?;
        // An A in last place and no letter there give the same number.
        let second = match ends / 26 {
            0 => String::new(),
            other => letter_of(other)?.to_string(),
        };
        return Some(format!("{:07}{first}{second}", newer % 10_u64.pow(7)));
    }
    let (ends, six) = (number / 10_u64.pow(6), number % 10_u64.pow(6));
    let middle = match ends / 26 {
        26 => '+',
        27 => '*',
        other => letter_of(other)?,
    };
    let (first, five) = (six / 10_u64.pow(5), six % 10_u64.pow(5));
    Some(format!("{first}{middle}{five:05}{}", letter_of(ends % 26)?))
}

fn digits(signs: &[char]) -> Option<u64> {
    signs.iter().try_fold(0_u64, |sum, sign| {
        sum.checked_mul(10)?
            .checked_add(u64::from(sign.to_digit(10)?))
    })
}

fn letter(sign: char) -> Option<u64> {
    sign.is_ascii_uppercase()
        .then(|| u64::from(u32::from(sign) - u32::from('A')))
}

fn base_36(sign: char) -> Option<u64> {
    if sign.is_ascii_lowercase() {
        return None;
    }
    sign.to_digit(36).map(u64::from)
}

fn letter_of(value: u64) -> Option<char> {
    (value < 26).then(|| base_36_of(value + 10)).flatten()
}

fn base_36_of(value: u64) -> Option<char> {
    char::from_digit(u32::try_from(value).ok()?, 36).map(|sign| sign.to_ascii_uppercase())
}

/// Whose formula it is: a VAT number, or a company key issued by ECHA.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Owner {
    country: Option<Country>,
    number: u64,
}

impl Owner {
    /// Reads a VAT number, with its country's letters in front or with the
    /// country given apart. Spaces, full stops and hyphens in it are forgiven.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when the country is unknown, or the number not of the form
    /// its country writes. Whether it was ever issued is not asked.
    pub fn vat(text: &str, country: Option<Country>) -> Result<Self, Unclear> {
        let plain: String = text
            .trim()
            .to_uppercase()
            .chars()
            .filter(|sign| !sign.is_whitespace() && !matches!(sign, '.' | '-'))
            .collect();
        if plain.is_empty() {
            return Err(Unclear::new(
                text,
                "the VAT number is missing",
                "write it with the letters of its country, such as DE112358132",
            ));
        }
        let (letters, rest) = plain.split_at_checked(2).unwrap_or((plain.as_str(), ""));
        let prefix = Country::of_letters(letters);
        let Some(country) = country.or(prefix) else {
            return Err(if letters == "XI" {
                Unclear::new(
                    text,
                    "version 1.4 of the manual has no place for a Northern Irish number",
                    "use a company key instead",
                )
            } else {
                Unclear::new(
                    text,
                    "that does not begin with the letters of a country a UFI can hold",
                    ACCEPTED_COUNTRY,
                )
            });
        };
        // A French or Spanish number may itself begin with its country's letters.
        let stripped = (prefix == Some(country)).then_some(rest);
        stripped
            .and_then(|rest| country.number_of(rest))
            .or_else(|| country.number_of(&plain))
            .map(|number| Self {
                country: Some(country),
                number,
            })
            .ok_or_else(|| {
                Unclear::new(
                    text,
                    match prefix {
                        Some(other) if other != country && other.number_of(rest).is_some() => {
                            format!(
                                "that is a VAT number of {}, not of {}",
                                other.letters, country.letters
                            )
                        }
                        _ => format!("that is not how {} writes a VAT number", country.letters),
                    },
                    format!(
                        "write it as {} does: {}",
                        country.letters,
                        country.form.described()
                    ),
                )
            })
    }

    /// A company without a VAT number, by the key that ECHA's own tool gave it.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when it is no whole number of at most 41 bits.
    pub fn key(text: &str) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(
                text,
                "the company key is missing",
                ACCEPTED_KEY,
            ));
        }
        let signs: Vec<char> = trimmed.chars().collect();
        match digits(&signs) {
            Some(number) if number < 1 << OWNER_BITS => Ok(Self {
                country: None,
                number,
            }),
            Some(_) => Err(Unclear::new(trimmed, "that key is too large", ACCEPTED_KEY)),
            None => Err(Unclear::new(
                trimmed,
                "a company key is a whole number",
                ACCEPTED_KEY,
            )),
        }
    }

    /// The country of the VAT number; none for a company key.
    pub const fn country(self) -> Option<Country> {
        self.country
    }

    /// The number as the UFI holds it.
    pub const fn number(self) -> u64 {
        self.number
    }

    /// The VAT number it can be read back as. None for a company key, or where
    /// the number is none that the country writes.
    pub fn vat_text(self) -> Option<String> {
        self.country?.text_of(self.number)
    }
}

impl Form {
    fn described(self) -> String {
        match self {
            Self::Digits(lengths) => {
                let lengths: Vec<String> = lengths.iter().map(ToString::to_string).collect();
                format!("{} digits", lengths.join(" or "))
            }
            Self::Austria => "U and 8 digits".to_owned(),
            Self::Belgium => "10 digits, the first 0 or 1".to_owned(),
            Self::Netherlands => "9 digits, B, 2 digits".to_owned(),
            Self::Cyprus => "8 digits and a letter".to_owned(),
            Self::Spain => "a letter or digit, 7 digits, a letter or digit".to_owned(),
            Self::France => "2 letters or digits and 9 digits".to_owned(),
            Self::Britain => "9 or 12 digits, or 2 letters and 3 digits".to_owned(),
            Self::Ireland => {
                "7 digits and 1 or 2 letters, or a digit, a letter, 5 digits, a letter".to_owned()
            }
            Self::Iceland => "6 letters or digits".to_owned(),
        }
    }
}

/// A unique formula identifier that passes every check of the manual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ufi {
    /// Values 0 to 30 of its sixteen signs.
    signs: [u8; 16],
    payload: u128,
}

impl Ufi {
    /// Makes the identifier of one formula of one company. The same two always
    /// give the same sixteen signs.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a formulation number above [`FORMULATION_MAX`].
    pub fn of(owner: Owner, formulation: u32) -> Result<Self, Unclear> {
        if formulation > FORMULATION_MAX {
            return Err(Unclear::new(
                &formulation.to_string(),
                "that formulation number is too large",
                "choose a whole number from 0 to 268 435 455",
            ));
        }
        let (group, bits, code) = owner.country.map_or((0, 0, 0), |country| {
            (country.group, country.bits, country.code)
        });
        let mut payload = u128::from(formulation);
        payload = (payload << 4) | u128::from(group);
        payload = (payload << bits) | u128::from(code);
        payload = (payload << (OWNER_BITS - bits)) | u128::from(owner.number);
        // The last bit is the version, always 0.
        Ok(Self::of_payload(payload << 1))
    }

    fn of_payload(payload: u128) -> Self {
        let mut plain = [0_u8; 15];
        let mut rest = payload;
        for place in plain.iter_mut().rev() {
            *place = u8::try_from(rest % 31).expect("a remainder below 31 fits a byte");
            rest /= 31;
        }
        let mut signs = [0_u8; 16];
        for (sign, from) in signs.iter_mut().skip(1).zip(ORDER) {
            *sign = plain.get(from).copied().unwrap_or_default();
        }
        let sum = weighted_sum(&signs);
        if let Some(check) = signs.first_mut() {
            *check = u8::try_from((31 - sum % 31) % 31).expect("a remainder below 31 fits a byte");
        }
        Self { signs, payload }
    }

    /// Reads a UFI, with or without its hyphens; spaces, small letters and a
    /// leading `UFI:` are forgiven.
    ///
    /// # Errors
    ///
    /// [`Unclear`] with the first check it fails, in the manual's order.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        let wrong = |what: String, accepted: &'static str| Unclear::new(text, what, accepted);
        let upper = text.trim().to_uppercase();
        let plain = upper.strip_prefix("UFI").map_or(upper.as_str(), |rest| {
            rest.trim_start_matches([':', ' ', '\u{a0}'])
        });
        let groups: Vec<String> = plain
            .split(['-', '\u{2010}', '\u{2011}', '\u{2013}'])
            .map(|group| group.chars().filter(|sign| !sign.is_whitespace()).collect())
            .collect();
        let signs: Vec<char> = groups.iter().flat_map(|group| group.chars()).collect();
        if signs.is_empty() {
            return Err(wrong("the UFI is missing".to_owned(), ACCEPTED));
        }
        if signs.len() != 16 {
            return Err(wrong(
                format!("a UFI has 16 signs, this has {}", signs.len()),
                ACCEPTED,
            ));
        }
        // A hyphen may be left out, but not stand within a group.
        let mut before = 0;
        for group in &groups {
            before += group.chars().count();
            if before % 4 != 0 || group.is_empty() {
                return Err(wrong(
                    "hyphens stand after every fourth sign".to_owned(),
                    ACCEPTED,
                ));
            }
        }
        let mut values = [0_u8; 16];
        for (value, sign) in values.iter_mut().zip(&signs) {
            *value = ALPHABET
                .iter()
                .position(|known| char::from(*known) == *sign)
                .and_then(|at| u8::try_from(at).ok())
                .ok_or_else(|| {
                    wrong(
                        format!("{sign} never stands in a UFI"),
                        "the letters B, I, L, O and Z are left out; look for 8, 1, 1, 0 and 2",
                    )
                })?;
        }
        if !weighted_sum(&values).is_multiple_of(31) {
            return Err(wrong(
                "the check sign does not fit the others".to_owned(),
                "compare it with where it was copied from; a sign is wrong or two are swapped",
            ));
        }
        let mut plain = [0_u8; 15];
        for (sign, to) in values.iter().skip(1).zip(ORDER) {
            if let Some(place) = plain.get_mut(to) {
                *place = *sign;
            }
        }
        let payload = plain
            .iter()
            .fold(0_u128, |sum, value| sum * 31 + u128::from(*value));
        let ufi = Self {
            signs: values,
            payload,
        };
        if payload >> 74 != 0 || ufi.owner().is_none() {
            return Err(wrong(
                "no country stands behind that UFI".to_owned(),
                "ask whoever printed it; no tool makes such a one",
            ));
        }
        if payload & 1 != 0 {
            return Err(wrong(
                "that is a UFI of a later version than 0".to_owned(),
                "ask whoever printed it; only version 0 is in use",
            ));
        }
        Ok(ufi)
    }

    /// The formulation number it was made with.
    pub fn formulation(self) -> u32 {
        u32::try_from(self.payload >> 46).expect("a payload of 74 bits leaves 28")
    }

    /// The company it was made for.
    pub fn decoded(self) -> Owner {
        self.owner()
            .expect("parse refuses a UFI without a known country, and of makes none")
    }

    fn owner(self) -> Option<Owner> {
        let group = u8::try_from((self.payload >> 42) & 0xf).ok()?;
        let field = u64::try_from((self.payload >> 1) & ((1 << OWNER_BITS) - 1)).ok()?;
        if group == 0 {
            return Some(Owner {
                country: None,
                number: field,
            });
        }
        Country::all()
            .filter(|country| country.group == group)
            .find_map(|country| {
                let shift = OWNER_BITS - country.bits;
                (field >> shift == u64::from(country.code)).then(|| Owner {
                    country: Some(country),
                    number: field & ((1 << shift) - 1),
                })
            })
    }
}

/// The first sign once, the second twice, … the sixteenth sixteen times. As 31
/// is prime, no wrong sign and no two swapped ones leave the remainder alone.
fn weighted_sum(signs: &[u8; 16]) -> u32 {
    signs
        .iter()
        .zip(1..)
        .map(|(sign, weight)| u32::from(*sign) * weight)
        .sum()
}

impl fmt::Display for Ufi {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, sign) in self.signs.iter().enumerate() {
            if place > 0 && place % 4 == 0 {
                f.write_str("-")?;
            }
            let known = ALPHABET.get(usize::from(*sign)).copied();
            write!(f, "{}", char::from(known.unwrap_or(b'?')))?;
        }
        Ok(())
    }
}

impl FromStr for Ufi {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text)
    }
}

impl Serialize for Ufi {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Ufi {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}
