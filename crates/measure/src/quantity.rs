//! Typed quantities: the value in whole smallest units, and the text it came from.

use std::borrow::Cow;
use std::fmt;
use std::hash::Hash;
use std::iter::Sum;
use std::ops::{Add, Sub};

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::number::{Number, Reading, is_figure, take_number};
use crate::problem::Unclear;
use crate::units::{LengthUnit, MassUnit, TemperatureUnit, TimeUnit, UnitLine, VolumeUnit};

/// A kind of quantity: held as a whole number of one smallest unit.
///
/// The kinds are closed: mass, volume, length, time and temperature.
pub trait Quantity: Copy + Eq + Ord + Hash + fmt::Debug + Sized + sealed::Kind {
    /// The units it may be typed in.
    type Unit: UnitOf;
    /// Shown when a text cannot be read: what would be accepted.
    const ACCEPTED: &'static str;
    /// What it is called in a message.
    const NAME: &'static str;

    /// Makes the quantity from smallest units.
    fn from_smallest(smallest: i64) -> Self;
    /// The quantity in smallest units.
    fn smallest(self) -> i64;
}

/// A unit in which some quantity can be typed and shown.
pub trait UnitOf: Copy + Eq + Hash + fmt::Debug + sealed::Table {
    /// The symbol printed after a figure.
    fn symbol(self) -> &'static str;
    /// Smallest units in one of this unit.
    fn factor(self) -> Decimal;
}

mod sealed {
    use super::UnitLine;

    pub trait Kind {
        /// Whether two terms may stand side by side, `1 lb 2.5 oz`.
        const COMPOUND: bool;
        /// Whether a value below zero is meaningful.
        const SIGNED: bool;
    }

    pub trait Table: Sized + 'static {
        fn lines() -> &'static [UnitLine<Self>];
        /// The figure `over / under` in smallest units.
        fn to_smallest(self, over: super::Decimal, under: super::Decimal)
        -> Option<super::Decimal>;
        /// So many smallest units as a figure in this unit.
        fn figure_of(self, smallest: super::Decimal) -> super::Decimal;
    }
}
use sealed::Table as _;

macro_rules! unit_table {
    ($unit:ty) => {
        impl UnitOf for $unit {
            fn symbol(self) -> &'static str {
                self.symbol()
            }
            fn factor(self) -> Decimal {
                self.factor()
            }
        }
        impl sealed::Table for $unit {
            fn lines() -> &'static [UnitLine<Self>] {
                Self::LINES
            }
            fn to_smallest(self, over: Decimal, under: Decimal) -> Option<Decimal> {
                let smallest = over.checked_mul(self.factor())?;
                // Dividing is dear, and most figures have no denominator.
                if under == Decimal::ONE {
                    return Some(smallest);
                }
                smallest.checked_div(under)
            }
            fn figure_of(self, smallest: Decimal) -> Decimal {
                smallest / self.factor()
            }
        }
    };
}
unit_table!(MassUnit);
unit_table!(VolumeUnit);
unit_table!(LengthUnit);
unit_table!(TimeUnit);

/// Microkelvin at 0 °C.
const ICE_POINT: Decimal = Decimal::from_parts(273_150_000, 0, 0, false, 0);

impl UnitOf for TemperatureUnit {
    fn symbol(self) -> &'static str {
        self.symbol()
    }
    fn factor(self) -> Decimal {
        self.factor()
    }
}

impl sealed::Table for TemperatureUnit {
    fn lines() -> &'static [UnitLine<Self>] {
        Self::LINES
    }
    /// NIST SP 811 (2008), B.8: t/°C = (t/°F - 32)/1.8, T/K = t/°C + 273.15.
    fn to_smallest(self, over: Decimal, under: Decimal) -> Option<Decimal> {
        let degrees = if under == Decimal::ONE {
            over
        } else {
            over.checked_div(under)?
        };
        let micro = match self {
            Self::Celsius => degrees.checked_mul(self.factor())?,
            Self::Fahrenheit => degrees
                .checked_sub(Decimal::from(32))?
                .checked_mul(self.factor())?
                .checked_div(Decimal::new(18, 1))?,
        };
        micro.checked_add(ICE_POINT)
    }
    fn figure_of(self, smallest: Decimal) -> Decimal {
        let celsius = (smallest - ICE_POINT) / self.factor();
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => celsius * Decimal::new(18, 1) + Decimal::from(32),
        }
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:ty, $word:literal, compound $compound:literal,
     signed $signed:literal, $accepted:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(i64);

        impl sealed::Kind for $name {
            const COMPOUND: bool = $compound;
            const SIGNED: bool = $signed;
        }

        impl Quantity for $name {
            type Unit = $unit;
            const ACCEPTED: &'static str = $accepted;
            const NAME: &'static str = $word;
            fn from_smallest(smallest: i64) -> Self {
                Self(smallest)
            }
            fn smallest(self) -> i64 {
                self.0
            }
        }

        impl $name {
            /// Makes the quantity from a float in `unit`, rounded half away
            /// from zero to the smallest unit held; none when it is not
            /// finite or out of range.
            pub fn from_f64(figure: f64, unit: $unit) -> Option<Self> {
                let smallest = unit.to_smallest(Decimal::from_f64_retain(figure)?, Decimal::ONE)?;
                smallest.round().to_i64().map(Self)
            }

            /// The quantity in `unit` as a float.
            pub fn to_f64(self, unit: $unit) -> f64 {
                self.to_decimal(unit).to_f64().expect("a finite decimal is a finite float")
            }

            /// The quantity in `unit`, to 28 digits.
            pub fn to_decimal(self, unit: $unit) -> Decimal {
                unit.figure_of(Decimal::from(self.0))
            }

            /// The quantity in `unit`, rounded half-even to `places` decimal
            /// places, as a typed quantity that prints with all its places.
            pub fn typed(self, unit: $unit, places: u32) -> Typed<Self> {
                let mut figure = self.to_decimal(unit).round_dp(places);
                figure.rescale(places);
                Typed::from_decimal(figure, unit).unwrap_or(Typed {
                    terms: Box::new([Term { number: Number::Decimal(figure), unit }]),
                    value: self,
                })
            }
        }
    };
}

quantity! {
    /// A mass in whole micrograms; up to 9.2 thousand million kilograms.
    Mass, MassUnit, "weight", compound true, signed false,
    "write a weight such as 453.6 g, 16 oz, 1 lb 2.5 oz or 1/2 lb"
}
quantity! {
    /// A volume in whole nanolitres.
    Volume, VolumeUnit, "volume", compound false, signed false,
    "write a volume such as 84 ml, 3 US fl oz or 3 UK fl oz"
}
quantity! {
    /// A length in whole nanometres.
    Length, LengthUnit, "length", compound true, signed false,
    "write a length such as 50 mm, 2.5 cm or 3 1/2 in"
}
quantity! {
    /// A span of time in whole milliseconds.
    TimeSpan, TimeUnit, "time", compound true, signed false,
    "write a time such as 40 min, 2 h or 1 h 20 min"
}
quantity! {
    /// A temperature in whole microkelvin above absolute zero.
    ///
    /// A point on the scale, not a difference between two.
    Temperature, TemperatureUnit, "temperature", compound false, signed true,
    "write a temperature such as 75 C or 167 F"
}

macro_rules! amounts_add {
    ($($name:ident),*) => { $(
        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);

            /// Whether there is none.
            pub const fn is_zero(self) -> bool {
                self.0 == 0
            }

            /// The sum; stops at the largest value that can be held.
            #[must_use]
            pub const fn saturating_add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }
        }
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                self.saturating_add(other)
            }
        }
        impl Sub for $name {
            type Output = Self;
            /// The difference, which may be below zero.
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                all.fold(Self::ZERO, Self::saturating_add)
            }
        }
    )* };
}
amounts_add!(Mass, Volume, Length, TimeSpan);

impl Mass {
    /// Makes a mass from whole micrograms.
    pub const fn from_micrograms(micrograms: i64) -> Self {
        Self(micrograms)
    }

    /// The mass in whole micrograms.
    pub const fn micrograms(self) -> i64 {
        self.0
    }

    /// The mass in grams.
    pub fn grams(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Makes a mass from grams, rounded to the microgram; none when the
    /// figure is not finite or out of range.
    pub fn from_grams(grams: f64) -> Option<Self> {
        Self::from_f64(grams, MassUnit::Gram)
    }

    /// The part `over/under` of this mass, rounded half-even to the
    /// microgram; none when it cannot be held.
    pub fn share(self, over: Decimal, under: Decimal) -> Option<Self> {
        let part = Decimal::from(self.0)
            .checked_mul(over)?
            .checked_div(under)?;
        part.round().to_i64().map(Self)
    }
}

impl TimeSpan {
    /// The span in minutes.
    pub fn minutes(self) -> f64 {
        self.0 as f64 / 60_000.0
    }

    /// The span in hours, exact.
    pub fn hours(self) -> Decimal {
        self.to_decimal(TimeUnit::Hour)
    }
}

/// One figure with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Term<U> {
    number: Number,
    unit: U,
}

/// A quantity as it was typed, exact, beside its value.
///
/// Two typed quantities are equal when they were typed alike: `16 oz` and
/// `1 lb` have one value and two spellings. Serialised as its text.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Typed<Q: Quantity> {
    terms: Box<[Term<Q::Unit>]>,
    value: Q,
}

impl<Q: Quantity> Typed<Q> {
    /// Reads a quantity with a decimal point and no assumption about whose
    /// fluid ounces are meant.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a text that is empty, negative, not a number, without
    /// a unit, in a unit of another kind or out of range.
    ///
    /// # Example
    ///
    /// ```
    /// use measure::{Mass, Typed};
    ///
    /// let charge = Typed::<Mass>::parse("1 lb 2.5 oz")?;
    /// assert_eq!(charge.to_string(), "1 lb 2.5 oz");
    /// assert_eq!(charge.value().micrograms(), 524_466_178);
    /// # Ok::<(), measure::Unclear>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        Self::parse_with(text, Reading::PLAIN)
    }

    /// Reads a quantity by the workshop's own habits.
    ///
    /// What is kept is plain: a comma typed in a comma country prints as a
    /// point, a bare `fl oz` as `US fl oz` or `UK fl oz`.
    ///
    /// # Errors
    ///
    /// As [`Typed::parse`].
    pub fn parse_with(text: &str, reading: Reading) -> Result<Self, Unclear> {
        let unclear = |wrong: String| Unclear::new(text.trim(), wrong, Q::ACCEPTED);
        let spaced = plain_spaces(text);
        let mut rest = spaced.trim();
        if rest.is_empty() {
            return Err(unclear(format!("a {} is missing", Q::NAME)));
        }
        let negative = match rest.strip_prefix(['-', '\u{2212}']) {
            Some(_) if !Q::SIGNED => {
                return Err(unclear(format!("a {} cannot be negative", Q::NAME)));
            }
            Some(positive) => {
                rest = positive.trim_start();
                true
            }
            None => false,
        };
        let mut terms: Vec<Term<Q::Unit>> = Vec::with_capacity(1);
        while !rest.is_empty() {
            let (number, after) = take_number(rest, text.trim(), reading, Q::ACCEPTED)?;
            let after = after.trim_start();
            let end = after.find(is_figure).unwrap_or(after.len());
            let (word, tail) = after.split_at(end);
            let number = match number {
                Number::Decimal(value) if negative => Number::Decimal(-value),
                Number::Mixed { .. } if negative => {
                    return Err(unclear("a negative figure cannot be a fraction".to_owned()));
                }
                number => number,
            };
            let unit = find_unit::<Q>(word.trim(), text.trim(), reading)?;
            if let Some(before) = terms.last()
                && (!Q::COMPOUND || before.unit.factor() <= unit.factor())
            {
                return Err(unclear(
                    "the units do not go from large to small".to_owned(),
                ));
            }
            terms.push(Term { number, unit });
            rest = tail.trim_start();
        }
        let value = value_of::<Q>(&terms)
            .ok_or_else(|| unclear(format!("the {} is too large", Q::NAME)))?;
        if Q::SIGNED && value.smallest() < 0 {
            return Err(unclear("nothing is colder than -273.15 °C".to_owned()));
        }
        Ok(Self {
            terms: terms.into_boxed_slice(),
            value,
        })
    }

    /// Makes a typed quantity from a decimal figure and its unit; none when
    /// it is out of range.
    pub fn from_decimal(figure: Decimal, unit: Q::Unit) -> Option<Self> {
        let terms = [Term {
            number: Number::Decimal(figure),
            unit,
        }];
        let value = value_of::<Q>(&terms)?;
        Some(Self {
            terms: Box::new(terms),
            value,
        })
    }

    /// The value in whole smallest units; each typed quantity is rounded once,
    /// half-even.
    pub const fn value(&self) -> Q {
        self.value
    }

    /// The unit of its last, smallest term: the one to answer in.
    pub fn unit(&self) -> Q::Unit {
        self.terms.last().expect("a typed quantity has a term").unit
    }

    /// The figure exactly as typed; none for several terms side by side.
    pub(crate) fn figure(&self) -> Option<Decimal> {
        let [term] = &*self.terms else { return None };
        let (over, under) = term.number.fraction();
        over.checked_div(under)
    }

    /// Decimal places typed in the last term; none for a fraction.
    pub fn places(&self) -> Option<u32> {
        match self
            .terms
            .last()
            .expect("a typed quantity has a term")
            .number
        {
            Number::Decimal(figure) => Some(figure.scale()),
            Number::Mixed { .. } => None,
        }
    }
}

/// No-break spaces and tabs made plain; untouched text is not copied.
fn plain_spaces(text: &str) -> Cow<'_, str> {
    const SPACES: [char; 3] = ['\u{a0}', '\u{202f}', '\t'];
    if text.contains(SPACES) {
        Cow::Owned(text.replace(SPACES, " "))
    } else {
        Cow::Borrowed(text)
    }
}

fn value_of<Q: Quantity>(terms: &[Term<Q::Unit>]) -> Option<Q> {
    let mut smallest = Decimal::ZERO;
    for term in terms {
        let (over, under) = term.number.fraction();
        smallest = smallest.checked_add(term.unit.to_smallest(over, under)?)?;
    }
    whole(smallest).map(Q::from_smallest)
}

/// Rounds half-even to a whole number; none out of range.
fn whole(figure: Decimal) -> Option<i64> {
    if figure.scale() == 0 {
        figure.to_i64()
    } else {
        figure.round().to_i64()
    }
}

fn find_unit<Q: Quantity>(word: &str, text: &str, reading: Reading) -> Result<Q::Unit, Unclear> {
    if word.is_empty() {
        return Err(Unclear::new(
            text,
            format!("the {} has no unit", Q::NAME),
            Q::ACCEPTED,
        ));
    }
    let mut bare = false;
    // No spelling in the tables needs more than the case of ASCII letters.
    let is = |spelling: &&str| spelling.eq_ignore_ascii_case(word);
    for line in Q::Unit::lines() {
        if is(&line.symbol) || line.also.iter().any(is) {
            return Ok(line.unit);
        }
        if let Some((customary, words)) = line.bare
            && words.iter().any(is)
        {
            if reading.customary == Some(customary) {
                return Ok(line.unit);
            }
            bare = true;
        }
    }
    if bare {
        let lower = word.to_lowercase();
        return Err(Unclear::new(
            text,
            format!("\"{word}\" is one size in the United States and another in Britain"),
            format!("write US {lower} or UK {lower}, or a metric volume"),
        ));
    }
    Err(Unclear::new(
        text,
        format!("\"{word}\" is not a unit of {}", Q::NAME),
        Q::ACCEPTED,
    ))
}

/// Reads a quantity in which a missing unit means `default`, for boxes that
/// print their unit beside them.
///
/// # Errors
///
/// As [`Typed::parse`].
pub fn parse_in<Q: Quantity>(
    text: &str,
    default: Q::Unit,
    reading: Reading,
) -> Result<Typed<Q>, Unclear> {
    let trimmed = text.trim();
    let bare = trimmed.chars().next_back().is_some_and(is_figure);
    if bare {
        Typed::parse_with(&format!("{trimmed} {}", default.symbol()), reading)
    } else {
        Typed::parse_with(text, reading)
    }
}

impl<Q: Quantity> fmt::Display for Typed<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, term) in self.terms.iter().enumerate() {
            if i > 0 {
                f.write_str(" ")?;
            }
            write!(f, "{} {}", term.number, term.unit.symbol())?;
        }
        Ok(())
    }
}

impl<Q: Quantity> std::str::FromStr for Typed<Q> {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text)
    }
}

impl<Q: Quantity> Serialize for Typed<Q> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de, Q: Quantity> Deserialize<'de> for Typed<Q> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Text<Q>(std::marker::PhantomData<Q>);
        impl<Q: Quantity> de::Visitor<'_> for Text<Q> {
            type Value = Typed<Q>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a {} as text", Q::NAME)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
                Typed::parse(text).map_err(E::custom)
            }
        }
        deserializer.deserialize_str(Text(std::marker::PhantomData))
    }
}

impl<Q: Quantity> JsonSchema for Typed<Q> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        Q::NAME.into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "description": Q::ACCEPTED })
    }
}
