//! Oil, wax and dye as one mixture, with exact concentrations.

use std::collections::BTreeMap;
use std::fmt;

use measure::{Problem, Problems};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::cas::Cas;
use crate::class::{Class, Hazard};
use crate::ingredient::{AcuteEstimate, Band, Ingredient};
use crate::share::Share;

/// A millionth of a percent, the finest share there is.
const PER_PERCENT: u128 = 1_000_000;
/// The largest weight after its decimals are taken away; products of it with
/// a share stay far inside 128 bits.
const HEAVIEST: u128 = 10_u128.pow(24);

/// A raw material of the mixture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Its name, for notes.
    pub name: String,
    /// How much of it goes in, by weight; the unit is the same for all parts.
    pub weight: Decimal,
    /// What it is made of. None for a material without a hazard.
    pub ingredients: Vec<Ingredient>,
    /// What is known of the share the ingredients leave open.
    pub unlisted: Unlisted,
}

/// What is known of the part of a material its sheet does not list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unlisted {
    /// Its supplier says there is nothing in it that classifies.
    NotHazardous,
    /// Nobody has said.
    #[default]
    Unknown,
}

/// The state the mixture is sold in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Solid at 40 °C: a melt, a bar, a candle.
    Solid,
    /// A solid by law that is wholly molten at 40 °C.
    MoltenAt40C {
        /// Its kinematic viscosity at 40 °C in mm²/s, where known.
        viscosity_mm2_s: Option<Decimal>,
    },
    /// A liquid: the fragrance oil itself.
    Liquid {
        /// The flash point in °C, where known.
        flash_point_c: Option<Decimal>,
        /// The initial boiling point in °C, where known.
        boiling_point_c: Option<Decimal>,
        /// The kinematic viscosity at 40 °C in mm²/s, where known.
        viscosity_mm2_s: Option<Decimal>,
    },
}

/// How much of the whole mixture something makes up: percent by weight, exact.
///
/// `high / whole` percent is the most there can be. Both ends and the whole
/// are whole numbers, so 11 % of 10 parts in 110 is exactly 1 %.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Concentration {
    /// The least, over `whole`.
    pub low: u128,
    /// The most, over `whole`.
    pub high: u128,
    /// Whether the most is itself left out (`< 10 %`).
    pub high_open: bool,
    /// What the two are counted in; the same for all of one mixture.
    pub whole: u128,
}

impl Concentration {
    /// The most, in percent.
    pub fn most(&self) -> f64 {
        quotient(self.high, self.whole)
    }

    /// The least, in percent.
    pub fn least(&self) -> f64 {
        quotient(self.low, self.whole)
    }

    /// The middle of the range, in percent.
    pub fn middle(&self) -> f64 {
        quotient(self.low + self.high, self.whole) / 2.0
    }

    /// Whether it is one figure.
    pub const fn is_point(&self) -> bool {
        self.low == self.high
    }

    const fn plus(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            high: self.high + other.high,
            high_open: self.high_open || other.high_open,
            whole: self.whole,
        }
    }
}

/// Two whole numbers divided. A wide one is slow to turn into a float, and
/// hardly any needs the width.
fn quotient(part: u128, whole: u128) -> f64 {
    match (u64::try_from(part), u64::try_from(whole)) {
        (Ok(part), Ok(whole)) => part as f64 / whole as f64,
        _ => part as f64 / whole as f64,
    }
}

impl fmt::Display for Concentration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let under = if self.high_open { "< " } else { "" };
        if self.is_point() {
            write!(f, "{} %", percent_figure(self.most()))
        } else {
            let (least, most) = (percent_figure(self.least()), percent_figure(self.most()));
            write!(f, "{least} to {under}{most} %")
        }
    }
}

/// A percentage to five significant digits, without trailing zeros.
pub(crate) fn percent_figure(percent: f64) -> String {
    measure::decimal_from_f64(percent, 12)
        .and_then(|percent| percent.round_sf(5))
        .map_or_else(
            || percent.to_string(),
            |figure| figure.normalize().to_string(),
        )
}

/// One substance of the whole mixture, wherever it came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Substance {
    /// Its name.
    pub name: String,
    /// Its CAS number, where it has one.
    pub cas: Option<Cas>,
    /// How much of the mixture it makes up.
    pub concentration: Concentration,
    /// Its classes; `None` where nobody has said.
    pub hazards: Option<Vec<Hazard>>,
    /// Its multiplying factor for Aquatic Acute 1.
    pub m_acute: Option<u32>,
    /// Its multiplying factor for Aquatic Chronic 1.
    pub m_chronic: Option<u32>,
    /// What is known of its acute toxicity.
    pub estimates: Vec<AcuteEstimate>,
    /// Limits of its own.
    pub bands: Vec<Band>,
    /// Whether it stands for what a material's sheet does not list.
    pub is_unlisted: bool,
    /// Its classes, a bit each, and those its own limits are for: every table
    /// asks for them again and again.
    classes: u128,
    limited: u128,
}

const _: () = assert!(Class::ALL.len() <= 128, "a class has a bit of 128");

/// The bit of a class.
const fn bit(class: Class) -> u128 {
    1 << class as u32
}

impl Substance {
    /// Whether it is classified so.
    pub fn is(&self, class: Class) -> bool {
        self.classes & bit(class) != 0
    }

    /// Whether it has one of the classes, by its sheet or by a limit of its own
    /// for it.
    pub(crate) fn has(&self, classes: &[Class]) -> bool {
        let asked = classes.iter().fold(0, |bits, class| bits | bit(*class));
        (self.classes | self.limited) & asked != 0
    }

    fn gather_classes(&mut self) {
        let hazards = self.hazards.iter().flatten();
        self.classes = hazards.fold(0, |bits, hazard| bits | bit(hazard.class));
        self.limited = self
            .bands
            .iter()
            .fold(0, |bits, band| bits | bit(band.class));
    }

    /// Whether nobody has said what it does.
    pub fn is_unknown(&self) -> bool {
        self.hazards.is_none()
    }
}

/// Everything in the pot as one list of substances.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mixture {
    /// The substances, each once, in the order they were first named; what is
    /// unlisted and unknown comes last.
    pub substances: Vec<Substance>,
    /// What no sheet lists and its supplier says does not classify.
    pub unlisted_not_hazardous: Concentration,
    /// Substances whose two sheets do not say the same of them, by their place
    /// in the list. The stricter word was taken.
    pub disagreeing: Vec<usize>,
}

impl Mixture {
    /// Puts the parts together. The same substance (by CAS number, without one
    /// by name) in two of them is added up, before any limit is asked of it.
    ///
    /// # Errors
    ///
    /// A [`Problem`] each, with fields such as `parts[0].ingredients[2].share`:
    /// no part or ingredient at all, a weight that is negative or out of reach,
    /// shares over 100 %, an M-factor that is not a power of ten, a specific
    /// limit or estimate that cannot be.
    pub fn of(parts: &[Part]) -> Result<Self, Problems> {
        let mut problems = Vec::new();
        let weights = whole_weights(parts, &mut problems);
        for (idx, part) in parts.iter().enumerate() {
            check_part(idx, part, &mut problems);
        }
        if parts.iter().all(|part| part.ingredients.is_empty()) {
            problems.push(Problem::new(
                "parts",
                "",
                "there is nothing in the mixture",
                "give at least one ingredient with its share",
            ));
        }
        let total = weights.iter().sum::<u128>();
        if total == 0 && problems.is_empty() {
            problems.push(Problem::new(
                "parts",
                "",
                "the parts weigh nothing",
                "give a weight above zero",
            ));
        }
        if !problems.is_empty() {
            return Err(Problems(problems));
        }
        // percent = weight × share ÷ total
        let whole = total * PER_PERCENT;
        let mut gathered = Gathered::new(whole);
        for (part, weight) in parts.iter().zip(weights) {
            gathered.add(part, weight);
        }
        Ok(gathered.finish())
    }

    /// The substance at that place of a list of deciding ones.
    pub fn name(&self, substance: usize) -> &str {
        self.substances
            .get(substance)
            .map_or("", |substance| substance.name.as_str())
    }

    /// Whether any share is a range.
    pub fn has_ranges(&self) -> bool {
        self.substances
            .iter()
            .any(|substance| !substance.concentration.is_point())
    }
}

/// The weights as whole numbers in one unit, as small as they can be.
fn whole_weights(parts: &[Part], problems: &mut Vec<Problem>) -> Vec<u128> {
    let scale = parts
        .iter()
        .map(|part| part.weight.normalize().scale())
        .max()
        .unwrap_or_default();
    let weights: Vec<u128> = parts
        .iter()
        .enumerate()
        .map(|(idx, part)| {
            let plain = part.weight.normalize();
            let weight = u128::try_from(plain.mantissa())
                .ok()
                .and_then(|mantissa| {
                    mantissa.checked_mul(10_u128.checked_pow(scale - plain.scale())?)
                })
                .filter(|weight| *weight <= HEAVIEST);
            weight.unwrap_or_else(|| {
                problems.push(Problem::new(
                    format!("parts[{idx}].weight"),
                    part.weight.to_string(),
                    "that weight is negative or out of reach",
                    "give the parts by weight, such as 100 and 10",
                ));
                0
            })
        })
        .collect();
    let divisor = weights.iter().copied().fold(0, gcd).max(1);
    weights.into_iter().map(|weight| weight / divisor).collect()
}

fn gcd(a: u128, b: u128) -> u128 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// A share's figure in millionths of a percent.
fn millionths(percent: Decimal) -> u128 {
    (percent * Decimal::from(1_000_000))
        .to_u128()
        .expect("a share is from 0 to 100 % with at most six decimals")
}

fn check_part(idx: usize, part: &Part, problems: &mut Vec<Problem>) {
    let least: u128 = part
        .ingredients
        .iter()
        .map(|ingredient| millionths(ingredient.share.low()))
        .sum();
    if least > 100 * PER_PERCENT {
        let sum: Decimal = part.ingredients.iter().map(|line| line.share.low()).sum();
        problems.push(Problem::new(
            format!("parts[{idx}].ingredients"),
            format!("{} %", sum.normalize()),
            "the shares add up to more than 100 %",
            "compare the shares with the sheet; they must not exceed 100 % together",
        ));
    }
    for (line, ingredient) in part.ingredients.iter().enumerate() {
        let at = |field: &str| format!("parts[{idx}].ingredients[{line}].{field}");
        for (field, factor) in [
            ("m_acute", ingredient.m_acute),
            ("m_chronic", ingredient.m_chronic),
        ] {
            if let Some(factor) = factor.filter(|factor| !is_m_factor(*factor)) {
                problems.push(Problem::new(
                    at(field),
                    factor.to_string(),
                    "an M-factor is a power of ten",
                    "write 1, 10, 100, 1000 and so on, up to 1000000",
                ));
            }
        }
        for (nth, band) in ingredient.bands.iter().enumerate() {
            let fits = |percent: Decimal| {
                percent > Decimal::ZERO
                    && percent <= Decimal::ONE_HUNDRED
                    && percent.normalize().scale() <= 6
            };
            if !fits(band.from)
                || band
                    .below
                    .is_some_and(|below| !fits(below) || below <= band.from)
            {
                problems.push(Problem::new(
                    at(&format!("scl[{nth}].limit")),
                    band.from.to_string(),
                    "that is not a concentration limit",
                    "write a limit above 0 % such as >= 0.1 % or >= 0.5 % < 2 %",
                ));
            }
        }
        for estimate in &ingredient.estimates {
            let value = estimate.value.normalize();
            if value <= Decimal::ZERO || value > Decimal::from(1_000_000_000) || value.scale() > 6 {
                problems.push(Problem::new(
                    at("estimates"),
                    value.to_string(),
                    "that is not an acute toxicity estimate",
                    "write a value above zero such as 500 mg/kg",
                ));
            }
        }
    }
}

/// Whether it is 1, 10, 100 and so on.
pub(crate) const fn is_m_factor(factor: u32) -> bool {
    matches!(factor, 1 | 10 | 100 | 1000 | 10_000 | 100_000 | 1_000_000)
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Cas(Cas),
    Name(String),
}

struct Gathered {
    whole: u128,
    substances: Vec<Substance>,
    places: BTreeMap<Key, usize>,
    disagreeing: Vec<usize>,
    unlisted: [Concentration; 2],
}

impl Gathered {
    fn new(whole: u128) -> Self {
        let nothing = Concentration {
            low: 0,
            high: 0,
            high_open: false,
            whole,
        };
        Self {
            whole,
            substances: Vec::new(),
            places: BTreeMap::new(),
            disagreeing: Vec::new(),
            unlisted: [nothing; 2],
        }
    }

    fn add(&mut self, part: &Part, weight: u128) {
        let hundred = 100 * PER_PERCENT;
        let least: u128 = part
            .ingredients
            .iter()
            .map(|ingredient| millionths(ingredient.share.low()))
            .sum();
        let most: u128 = part
            .ingredients
            .iter()
            .map(|ingredient| highest(&ingredient.share, least))
            .sum();
        let place = match part.unlisted {
            Unlisted::NotHazardous => 0,
            Unlisted::Unknown => 1,
        };
        self.unlisted[place] = self.unlisted[place].plus(Concentration {
            low: weight * hundred.saturating_sub(most),
            high: weight * hundred.saturating_sub(least),
            high_open: false,
            whole: self.whole,
        });
        for ingredient in &part.ingredients {
            let share = &ingredient.share;
            let concentration = Concentration {
                low: weight * millionths(share.low()),
                high: weight * highest(share, least),
                high_open: weight > 0 && share.high_is_open(),
                whole: self.whole,
            };
            self.add_ingredient(ingredient, concentration);
        }
    }

    fn add_ingredient(&mut self, ingredient: &Ingredient, concentration: Concentration) {
        let key = ingredient.cas.map_or_else(
            || Key::Name(ingredient.name.trim().to_lowercase()),
            Key::Cas,
        );
        if let Some(place) = self.places.get(&key).copied() {
            let known = &mut self.substances[place];
            known.concentration = known.concentration.plus(concentration);
            if take_stricter(known, ingredient) && !self.disagreeing.contains(&place) {
                self.disagreeing.push(place);
            }
            return;
        }
        self.places.insert(key, self.substances.len());
        self.substances.push(Substance {
            name: ingredient.name.trim().to_owned(),
            cas: ingredient.cas,
            concentration,
            hazards: ingredient.hazards.clone(),
            m_acute: ingredient.m_acute,
            m_chronic: ingredient.m_chronic,
            estimates: ingredient.estimates.clone(),
            bands: ingredient.bands.clone(),
            is_unlisted: false,
            classes: 0,
            limited: 0,
        });
    }

    fn finish(mut self) -> Mixture {
        let [not_hazardous, unknown] = self.unlisted;
        if unknown.high > 0 {
            self.substances.push(Substance {
                name: "what the sheets do not list".to_owned(),
                cas: None,
                concentration: unknown,
                hazards: None,
                m_acute: None,
                m_chronic: None,
                estimates: Vec::new(),
                bands: Vec::new(),
                is_unlisted: true,
                classes: 0,
                limited: 0,
            });
        }
        for substance in &mut self.substances {
            substance.gather_classes();
        }
        Mixture {
            substances: self.substances,
            unlisted_not_hazardous: not_hazardous,
            disagreeing: self.disagreeing,
        }
    }
}

/// The upper end in millionths of a percent; where the sheet gives none, what
/// the least of the others leaves.
fn highest(share: &Share, least_of_all: u128) -> u128 {
    share.high().map_or_else(
        || {
            let own = millionths(share.low());
            (100 * PER_PERCENT)
                .saturating_sub(least_of_all.saturating_sub(own))
                .max(own)
        },
        millionths,
    )
}

/// Adds what a second sheet says of a substance; whether the two differ.
fn take_stricter(known: &mut Substance, other: &Ingredient) -> bool {
    let mut differ = false;
    match (&mut known.hazards, &other.hazards) {
        (Some(known), Some(other)) => {
            for hazard in other {
                if !known.contains(hazard) {
                    differ = true;
                    known.push(*hazard);
                }
            }
            differ |= known.len() > other.len();
        }
        (known @ None, Some(other)) => *known = Some(other.clone()),
        (_, None) => {}
    }
    for (known, other) in [
        (&mut known.m_acute, other.m_acute),
        (&mut known.m_chronic, other.m_chronic),
    ] {
        differ |= known.is_some() && other.is_some() && *known != other;
        *known = (*known).max(other);
    }
    for band in &other.bands {
        if !known.bands.contains(band) {
            differ |= known.bands.iter().any(|own| own.class == band.class);
            known.bands.push(*band);
        }
    }
    for estimate in &other.estimates {
        if !known.estimates.contains(estimate) {
            differ |= known.estimates.iter().any(|own| own.kind == estimate.kind);
            known.estimates.push(*estimate);
        }
    }
    differ
}
