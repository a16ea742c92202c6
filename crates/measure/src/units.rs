//! The units a maker may type, with their exact factors.
//!
//! Every factor is an exact decimal number of the smallest unit held. The
//! tests check each against NIST SP 811 (2008), Appendix B.

use rust_decimal::Decimal;

use crate::number::Customary;

/// One line of a unit table. Public only to the traits that are sealed by it;
/// nothing outside can name it.
pub struct UnitLine<U: 'static> {
    pub unit: U,
    /// As printed after a figure.
    pub symbol: &'static str,
    /// Spellings accepted beside the symbol, in lower case.
    pub also: &'static [&'static str],
    /// Smallest units in one of these: `coefficient / 10^scale`.
    pub coefficient: i64,
    pub scale: u32,
    /// Bare spellings accepted only where this customary system is set.
    pub bare: Option<(Customary, &'static [&'static str])>,
}

impl<U> UnitLine<U> {
    fn factor(&self) -> Decimal {
        Decimal::new(self.coefficient, self.scale)
    }
}

macro_rules! units {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident $symbol:literal
        [$($also:literal),*] $coefficient:literal / $scale:literal
        $(bare $customary:ident [$($bare:literal),*])?;)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$vdoc])* $variant),* }

        impl $name {
            /// Every one of these units, the everyday ones first.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            pub(crate) const LINES: &'static [UnitLine<Self>] = &[
                $(UnitLine {
                    unit: Self::$variant,
                    symbol: $symbol,
                    also: &[$($also),*],
                    coefficient: $coefficient,
                    scale: $scale,
                    bare: units!(@bare $($customary [$($bare),*])?),
                }),*
            ];

            /// The symbol printed after a figure in this unit.
            pub const fn symbol(self) -> &'static str {
                Self::LINES[self as usize].symbol
            }

            /// Smallest units held in one of this unit; exact.
            pub fn factor(self) -> Decimal {
                Self::LINES[self as usize].factor()
            }
        }
    };
    (@bare) => { None };
    (@bare $customary:ident [$($bare:literal),*]) => {
        Some((Customary::$customary, &[$($bare),*]))
    };
}

units! {
    /// Units of mass; held in micrograms.
    MassUnit {
        /// Gram.
        Gram "g" ["gr.", "gram", "grams", "gramme", "grammes"] 1_000_000/0;
        /// Kilogram.
        Kilogram "kg" ["kilo", "kilos", "kilogram", "kilograms"] 1_000_000_000/0;
        /// Milligram.
        Milligram "mg" ["milligram", "milligrams"] 1_000/0;
        /// Avoirdupois ounce: one sixteenth of a pound.
        Ounce "oz" ["ounce", "ounces"] 28_349_523_125/3;
        /// Avoirdupois pound: 0.453 592 37 kg exactly.
        Pound "lb" ["lbs", "pound", "pounds"] 453_592_370/0;
    }
}

units! {
    /// Units of volume; held in nanolitres.
    VolumeUnit {
        /// Millilitre.
        Millilitre "ml" ["cc", "millilitre", "millilitres", "milliliter", "milliliters"] 1_000_000/0;
        /// Litre.
        Litre "l" ["litre", "litres", "liter", "liters"] 1_000_000_000/0;
        /// United States fluid ounce: 1/128 of a gallon of 231 cubic inches.
        UsFluidOunce "US fl oz" ["us fl. oz", "us fl. oz.", "us fluid ounce", "us fluid ounces"]
            295_735_295_625/4 bare Us ["fl oz", "fl. oz", "fl. oz.", "floz", "fluid ounce", "fluid ounces"];
        /// British fluid ounce: 1/160 of a gallon of 4.546 09 litres.
        UkFluidOunce "UK fl oz" ["uk fl. oz", "uk fl. oz.", "uk fluid ounce", "uk fluid ounces", "imp fl oz", "imperial fl oz"]
            284_130_625/1 bare Uk ["fl oz", "fl. oz", "fl. oz.", "floz", "fluid ounce", "fluid ounces"];
        /// United States cup: 8 US fluid ounces.
        UsCup "US cup" ["us cups"] 2_365_882_365/1 bare Us ["cup", "cups"];
        /// British cup: half an imperial pint, 10 UK fluid ounces.
        UkCup "UK cup" ["uk cups", "imp cup", "imperial cup"] 284_130_625/0 bare Uk ["cup", "cups"];
        /// United States teaspoon: one sixth of a US fluid ounce.
        UsTeaspoon "US tsp" ["us teaspoon", "us teaspoons"] 492_892_159_375/5 bare Us ["tsp", "teaspoon", "teaspoons"];
        /// British teaspoon: the 5 ml measuring spoon.
        UkTeaspoon "UK tsp" ["uk teaspoon", "uk teaspoons"] 5_000_000/0 bare Uk ["tsp", "teaspoon", "teaspoons"];
    }
}

units! {
    /// Units of length; held in nanometres.
    LengthUnit {
        /// Millimetre.
        Millimetre "mm" ["millimetre", "millimetres", "millimeter", "millimeters"] 1_000_000/0;
        /// Centimetre.
        Centimetre "cm" ["centimetre", "centimetres", "centimeter", "centimeters"] 10_000_000/0;
        /// Metre.
        Metre "m" ["metre", "metres", "meter", "meters"] 1_000_000_000/0;
        /// Inch: 25.4 mm exactly.
        Inch "in" ["inch", "inches", "\"", "″"] 25_400_000/0;
        /// Foot: 0.3048 m exactly.
        Foot "ft" ["foot", "feet"] 304_800_000/0;
    }
}

units! {
    /// Units of time; held in milliseconds.
    TimeUnit {
        /// Minute.
        Minute "min" ["mins", "minute", "minutes"] 60_000/0;
        /// Hour.
        Hour "h" ["hr", "hrs", "hour", "hours"] 3_600_000/0;
        /// Second.
        Second "s" ["sec", "secs", "second", "seconds"] 1_000/0;
        /// Day of 24 hours.
        Day "d" ["day", "days"] 86_400_000/0;
    }
}

units! {
    /// Scales of temperature; held in microkelvin above absolute zero.
    TemperatureUnit {
        /// Degree Celsius.
        Celsius "°C" ["c", "° c", "celsius", "deg c", "degc"] 1_000_000/0;
        /// Degree Fahrenheit.
        Fahrenheit "°F" ["f", "° f", "fahrenheit", "deg f", "degf"] 1_000_000/0;
    }
}
