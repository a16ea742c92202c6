//! CAS registry numbers.

use std::fmt;
use std::str::FromStr;

use measure::Unclear;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

const ACCEPTED: &str = "write a CAS number such as 5989-27-5";

/// A CAS registry number whose check digit is right.
///
/// # Source
///
/// CAS, "Check digit verification of CAS registry numbers": the digits before
/// the last, counted from the right, times 1, 2, 3 …, summed, modulo 10.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Cas(u64);

impl Cas {
    /// Reads `5989-27-5`; spaces around it and other dashes than the hyphen
    /// are forgiven, since sheets are full of them.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when it is not of that form or its check digit is wrong.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "a CAS number is missing", ACCEPTED));
        }
        let wrong_form = || Unclear::new(trimmed, "that is not a CAS number", ACCEPTED);
        let plain: String = trimmed
            .chars()
            .map(|sign| match sign {
                '\u{2010}'..='\u{2014}' | '\u{2212}' => '-',
                other => other,
            })
            .collect();
        let mut parts = plain.split('-');
        let (Some(first), Some(second), Some(check), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(wrong_form());
        };
        let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        let formed = (2..=7).contains(&first.len()) && second.len() == 2 && check.len() == 1;
        if !formed || ![first, second, check].into_iter().all(digits) {
            return Err(wrong_form());
        }
        let whole: u64 = format!("{first}{second}{check}")
            .parse()
            .map_err(|_| wrong_form())?;
        let cas = Self(whole);
        let due = cas.check_digit();
        if whole % 10 == due {
            Ok(cas)
        } else {
            Err(Unclear::new(
                trimmed,
                format!("the check digit of that CAS number would be {due}"),
                "compare it with the sheet; a digit is wrong or two are swapped",
            ))
        }
    }

    /// The number with these digits, the check digit last, if that is right.
    pub(crate) fn of_digits(digits: u64) -> Option<Self> {
        let cas = Self(digits);
        (digits % 10 == cas.check_digit()).then_some(cas)
    }

    /// The digits as one number, the check digit last.
    pub const fn digits(self) -> u64 {
        self.0
    }

    fn check_digit(self) -> u64 {
        let mut rest = self.0 / 10;
        let mut sum = 0;
        let mut place = 1;
        while rest > 0 {
            sum += place * (rest % 10);
            rest /= 10;
            place += 1;
        }
        sum % 10
    }
}

impl fmt::Display for Cas {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}-{:02}-{}",
            self.0 / 1000,
            self.0 / 10 % 100,
            self.0 % 10
        )
    }
}

impl fmt::Debug for Cas {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Cas({self})")
    }
}

impl FromStr for Cas {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text)
    }
}

impl Serialize for Cas {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Cas {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::Cas;

    // CAS's own worked example for water and two common solvents' numbers.
    #[test]
    fn the_check_digit_is_verified() {
        for right in ["7732-18-5", "64-17-5", "5989-27-5", "107-07-3"] {
            assert_eq!(Cas::parse(right).unwrap().to_string(), right);
        }
        assert_eq!(
            Cas::parse(" 5989\u{2013}27\u{2013}5 ").unwrap().to_string(),
            "5989-27-5"
        );
        for wrong in [
            "7732-18-4",
            "5989-72-5",
            "5989-27",
            "1-23-4",
            "",
            "5989-27-5-1",
            "５989-27-5",
            "99999999-99-4",
        ] {
            assert!(Cas::parse(wrong).is_err(), "{wrong}");
        }
    }
}
