//! Quantities as a maker types them, held exactly, read in any unit.
//!
//! What is typed is kept: `1 lb 2.5 oz` stays `1 lb 2.5 oz` ([`Typed`]), and
//! beside it stands the value in whole smallest units ([`Mass`], [`Volume`],
//! [`Length`], [`Temperature`], [`TimeSpan`], [`Money`]). A share is an exact
//! decimal ([`Ratio`]), a price per something an exact decimal amount
//! ([`Cost`]). Nothing here guesses: a text that could mean two things is an
//! [`Unclear`], which says what was given, what is wrong and what would be
//! right.
//!
//! This crate refuses to know what a quantity is *for*. It has no clock, no
//! file, no global setting: how a text is read is an argument ([`Reading`]).
//!
//! Start with [`Typed`] and [`Quantity`], then [`Working`], the form in which
//! every calculation shows how it came to its answer.

mod input;
mod money;
mod number;
mod problem;
mod quantity;
mod ratio;
mod readability;
mod show;
mod units;
mod working;

pub use input::{Checker, parse_input};
pub use money::{Cost, CurrencyMismatch, Money};
pub use number::{Customary, DecimalMark, Reading, decimal_from_f64, parse_decimal};
pub use problem::{Problem, Problems, Unclear};
pub use quantity::{
    Length, Mass, Quantity, Temperature, TimeSpan, Typed, UnitOf, Volume, parse_in,
};
pub use ratio::Ratio;
pub use readability::Readability;
pub use show::{System, figure, in_system, mass_both, percent};
pub use units::{LengthUnit, MassUnit, TemperatureUnit, TimeUnit, VolumeUnit};
pub use working::{Basis, Step, Working};

pub use iso_currency::Currency;
pub use rust_decimal::Decimal;
