//! The unit that was not filled, as a maker writes it down.

use measure::{Mass, MassUnit, Ratio, Reading, Typed, Unclear, parse_in};

use crate::pours::Part;

const ACCEPTED: &str = "write its weight, a share such as 60 %, or none";

/// What was seen of the unit that was begun and not filled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PartSeen {
    /// Nobody looked.
    Unknown,
    /// There was none.
    None,
    /// About this share of a full one.
    Share(Ratio),
    /// It weighed this.
    Weighed(Typed<Mass>),
}

impl PartSeen {
    /// Reads `none`, `unknown`, `half`, a share such as `60 %`, or a weight; a
    /// bare figure is in `unit`, where there is one. Nothing written is unknown.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for anything else, and for a share of more than the whole.
    ///
    /// # Example
    ///
    /// ```
    /// use fill::PartSeen;
    /// use measure::{MassUnit, Reading};
    ///
    /// let seen = PartSeen::parse("60 %", None, Reading::PLAIN).unwrap();
    /// assert_eq!(seen, PartSeen::Share("60 %".parse().unwrap()));
    /// assert!(PartSeen::parse("0.9", None, Reading::PLAIN).is_err());
    /// let seen = PartSeen::parse("0.9", Some(MassUnit::Ounce), Reading::PLAIN).unwrap();
    /// assert!(matches!(seen, PartSeen::Weighed(_)));
    /// ```
    pub fn parse(text: &str, unit: Option<MassUnit>, reading: Reading) -> Result<Self, Unclear> {
        let text = text.trim();
        match text.to_lowercase().as_str() {
            "" | "?" | "unknown" => return Ok(Self::Unknown),
            "none" | "no" | "0" | "-" => return Ok(Self::None),
            "half" => return Self::parse("50 %", unit, reading),
            _ => {}
        }
        if text.ends_with('%') {
            let share = Ratio::parse(text, reading)?;
            if share > Ratio::ONE {
                return Err(Unclear::new(
                    text,
                    "a unit that was not filled is not more than full",
                    ACCEPTED,
                ));
            }
            return Ok(Self::Share(share));
        }
        let weight = match unit {
            Some(unit) => parse_in(text, unit, reading),
            None => Typed::<Mass>::parse_with(text, reading),
        };
        weight
            .map(Self::Weighed)
            .map_err(|unclear| Unclear::new(text, unclear.wrong, ACCEPTED))
    }
}

impl From<&PartSeen> for Part {
    fn from(seen: &PartSeen) -> Self {
        match seen {
            PartSeen::Unknown => Self::NotSaid,
            PartSeen::None => Self::Absent,
            PartSeen::Share(share) => Self::Share(share.to_f64()),
            PartSeen::Weighed(weight) => Self::Weighed(weight.value().grams()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Part) {
        let seen = PartSeen::parse(text, Some(MassUnit::Gram), Reading::PLAIN).unwrap();
        assert_eq!(Part::from(&seen), expected);
    }

    #[test]
    fn what_a_maker_writes_of_the_last_unit() {
        check("", Part::NotSaid);
        check(" ? ", Part::NotSaid);
        check("None", Part::Absent);
        check("0", Part::Absent);
        check("-", Part::Absent);
        check("Half", Part::Share(0.5));
        check("60%", Part::Share(0.6));
        check("12", Part::Weighed(12.0));
        check("12.5 g", Part::Weighed(12.5));
    }

    #[test]
    fn what_is_no_part_of_a_unit_is_refused() {
        for text in ["150 %", "most", "-3 g", "60"] {
            let refused = PartSeen::parse(text, None, Reading::PLAIN).unwrap_err();
            assert_eq!(refused.given, text);
        }
    }
}
