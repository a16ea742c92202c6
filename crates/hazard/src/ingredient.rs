//! One line of a composition.

use std::fmt;

use measure::{Reading, Unclear, parse_decimal};
use rust_decimal::Decimal;

use crate::cas::Cas;
use crate::class::{Class, Hazard};
use crate::share::Share;

/// A substance in an oil, a wax or a dye, as its supplier's sheet gives it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ingredient {
    /// The name for the label, by the sheet's section 3.
    pub name: String,
    /// Its CAS number, where it has one.
    pub cas: Option<Cas>,
    /// How much of the raw material it makes up.
    pub share: Share,
    /// Its classes; `None` where nobody has said. An empty list is a statement
    /// too: not classified.
    pub hazards: Option<Vec<Hazard>>,
    /// Its multiplying factor for Aquatic Acute 1: a power of ten. Where it is
    /// due and missing, the answer is provisional.
    pub m_acute: Option<u32>,
    /// The same for Aquatic Chronic 1.
    pub m_chronic: Option<u32>,
    /// What is known of its acute toxicity.
    pub estimates: Vec<AcuteEstimate>,
    /// Limits of its own that stand in for the generic ones.
    pub bands: Vec<Band>,
}

/// An acute toxicity estimate, or the LD50 or LC50 it is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AcuteEstimate {
    /// The way it was given and the unit of the value.
    pub kind: EstimateKind,
    /// The value in that unit; above zero.
    pub value: Decimal,
    /// Whether the value is only a bound that was not reached (`> 5000 mg/kg`,
    /// a limit test without signs of poisoning).
    pub above: bool,
}

impl AcuteEstimate {
    /// Reads `500 mg/kg`, `> 5000 mg/kg`, `11 mg/l`, `4500 ppm`; of a range
    /// such as `200 - 2000 mg/kg` the lower end counts.
    ///
    /// # Errors
    ///
    /// [`Unclear`] without the unit of its scale, not above zero, or when it
    /// is not a value.
    ///
    /// # Source
    ///
    /// The lowest value of a range that reaches over two categories: UNECE,
    /// guidance example 3-1a (ST/SG/AC.10/C.4/2008/23).
    pub fn parse(kind: EstimateKind, text: &str, reading: Reading) -> Result<Self, Unclear> {
        let accepted = kind.accepted();
        let wrong = |what: &'static str| Unclear::new(text.trim(), what, accepted);
        let lower = text.trim().to_lowercase();
        let plain = [
            "bw/day",
            "bodyweight",
            "body weight",
            "bw",
            "/4h",
            "/4 h",
            "(4 h)",
            "(4h)",
        ]
        .iter()
        .fold(lower.as_str(), |text, tail| {
            text.trim_end().trim_end_matches(tail)
        })
        .trim_end();
        let figure = kind
            .units()
            .iter()
            .find_map(|unit| plain.strip_suffix(unit))
            .ok_or_else(|| wrong("the unit is missing or not that of this route"))?
            .trim();
        let (above, figure) = match figure.strip_prefix(['>', '\u{2265}']) {
            Some(rest) => (true, rest.trim_start_matches('=').trim()),
            None => (false, figure),
        };
        let figure = figure
            .split_once(['-', '\u{2013}'])
            .map_or(figure, |(lowest, _)| lowest)
            .trim();
        let value = parse_decimal(figure, reading)
            .map_err(|unclear| Unclear::new(text.trim(), unclear.wrong, accepted))?;
        let fits = value > Decimal::ZERO
            && value <= Decimal::from(1_000_000_000)
            && value.normalize().scale() <= 6;
        if !fits {
            return Err(wrong(
                "an estimate is above zero, with six decimals at most",
            ));
        }
        Ok(Self { kind, value, above })
    }
}

impl EstimateKind {
    const fn units(self) -> &'static [&'static str] {
        match self {
            Self::Oral | Self::Dermal => &["mg/kg"],
            Self::Gas => &["ppmv", "ppm"],
            Self::Vapour | Self::Mist => &["mg/l"],
        }
    }

    const fn accepted(self) -> &'static str {
        match self {
            Self::Oral | Self::Dermal => "write a value such as 500 mg/kg or > 5000 mg/kg",
            Self::Gas => "write a value such as 4500 ppm",
            Self::Vapour | Self::Mist => "write a value over four hours such as 11 mg/l",
        }
    }

    /// The unit its values are in.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Oral | Self::Dermal => "mg/kg",
            Self::Gas => "ppm",
            Self::Vapour | Self::Mist => "mg/l",
        }
    }
}

/// The scale an acute estimate is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EstimateKind {
    /// Swallowed, mg/kg of body weight.
    Oral,
    /// Through the skin, mg/kg of body weight.
    Dermal,
    /// Breathed in as gas, ppm by volume.
    Gas,
    /// Breathed in as vapour, mg/l over four hours.
    Vapour,
    /// Breathed in as dust or mist, mg/l over four hours.
    Mist,
}

impl fmt::Display for EstimateKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Oral => "swallowed, mg/kg",
            Self::Dermal => "skin, mg/kg",
            Self::Gas => "gas, ppm",
            Self::Vapour => "vapour, mg/l",
            Self::Mist => "dust or mist, mg/l",
        })
    }
}

/// A specific concentration limit: at these shares of the finished mixture the
/// substance leads to that class. A substance may have several.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    /// The class it leads to.
    pub class: Class,
    /// From this many percent, that figure included.
    pub from: Decimal,
    /// Up to this many percent, that figure left out; none for no upper end.
    pub below: Option<Decimal>,
}

impl Band {
    /// Reads the shares of a specific limit: `>= 0.1 %`, `>= 0.5 % < 2 %`,
    /// `0.5 - < 2 %`, `0.5 % <= C < 2 %`; the lower end with the upper one.
    ///
    /// # Errors
    ///
    /// [`Unclear`] without a percent sign or a lower end, or when it is not a
    /// limit.
    pub fn parse_limit(
        text: &str,
        reading: Reading,
    ) -> Result<(Decimal, Option<Decimal>), Unclear> {
        const ACCEPTED: &str = "write a limit such as >= 0.1 % or >= 0.5 % < 2 %";
        let trimmed = text.trim();
        let wrong = |what: &'static str| Unclear::new(trimmed, what, ACCEPTED);
        if !trimmed.contains('%') {
            return Err(wrong("there is no percent sign"));
        }
        let plain: String = trimmed
            .replace(['\u{2265}', '\u{2a7e}'], ">=")
            .replace(['\u{2264}', '\u{2a7d}'], "<=")
            .replace(['%', 'C', 'c', ':'], " ");
        let mut figures = plain
            .split(|sign: char| {
                matches!(sign, '<' | '>' | '=' | '-' | '\u{2013}') || sign.is_whitespace()
            })
            .filter(|figure| !figure.is_empty());
        let mut next = || {
            figures.next().map(|figure| {
                parse_decimal(figure, reading)
                    .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))
            })
        };
        let (first, second) = (next().transpose()?, next().transpose()?);
        if next().is_some() {
            return Err(wrong("there are more than two figures"));
        }
        let from = first.ok_or_else(|| wrong("the figure is missing"))?;
        if second.is_none() && plain.trim_start().starts_with('<') {
            return Err(wrong("the lower end is missing"));
        }
        let fits = |percent: Decimal| {
            percent > Decimal::ZERO
                && percent <= Decimal::ONE_HUNDRED
                && percent.normalize().scale() <= 6
        };
        if !fits(from) || second.is_some_and(|below| !fits(below) || below <= from) {
            return Err(wrong(
                "that is not a limit above 0 % with a higher upper end",
            ));
        }
        Ok((from, second))
    }
}
