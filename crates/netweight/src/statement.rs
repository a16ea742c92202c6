//! The words of the net quantity statement, in both systems.
//!
//! A figure converted for the second system is cut, never rounded up: the
//! larger of the two is the one an inspection tests.

use std::fmt::Write as _;

use measure::{Decimal, Mass, MassUnit, Typed};

use crate::rule::Rule;
use rust_decimal::RoundingStrategy;
use rust_decimal::prelude::ToPrimitive;

/// 1 oz = 28.3495 g: 16 CFR 500.19(a).
const GRAMS_PER_OUNCE: Decimal = Decimal::from_parts(283_495, 0, 0, false, 4);
/// 1 g = 0.0352740 oz: 16 CFR 500.19(a).
const OUNCES_PER_GRAM: Decimal = Decimal::from_parts(352_740, 0, 0, false, 7);

/// Why a weight makes no statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StatementError {
    /// So little that the figures print as nothing.
    #[error("the weight is too small to declare")]
    TooSmall,
    /// A pack of one piece, or of none.
    #[error("a pack of several pieces holds two or more")]
    NotSeveral,
    /// More than can be reckoned with.
    #[error("the weight is too large to declare")]
    TooLarge,
}

/// A net quantity statement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// As printed: `NET WT 1.4 OZ (39 g)`, `40 g`.
    pub text: String,
    /// The larger of the weights in it, which is the one tested.
    pub tested: Mass,
}

/// Ounces and grams of one declaration, cut to what may be printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Both {
    ounces: Decimal,
    grams: Decimal,
}

impl Both {
    fn of(declared: &Typed<Mass>) -> Result<Self, StatementError> {
        let unit = declared.unit();
        let held = declared.value();
        let both = match unit {
            MassUnit::Ounce | MassUnit::Pound => {
                // Ounces are held to half a microgram; the figure that was
                // typed shows again at six places.
                let ounces = cut(held.to_decimal(MassUnit::Ounce).round_dp(6), 2);
                Self {
                    ounces,
                    grams: cut_metric(times(ounces, GRAMS_PER_OUNCE)?),
                }
            }
            MassUnit::Gram | MassUnit::Kilogram | MassUnit::Milligram => {
                let grams = cut_metric(held.to_decimal(MassUnit::Gram));
                Self {
                    ounces: cut(times(grams, OUNCES_PER_GRAM)?, 2),
                    grams,
                }
            }
        };
        if both.ounces.is_zero() || both.grams.is_zero() {
            return Err(StatementError::TooSmall);
        }
        Ok(both)
    }

    fn tested(self) -> Result<Mass, StatementError> {
        let ounces = Typed::<Mass>::from_decimal(self.ounces, MassUnit::Ounce);
        let grams = Typed::<Mass>::from_decimal(self.grams, MassUnit::Gram);
        let (ounces, grams) = ounces.zip(grams).ok_or(StatementError::TooLarge)?;
        Ok(ounces.value().max(grams.value()))
    }

    /// `1.4 OZ (39 g)`, `1 LB 4 OZ (566 g)`.
    fn text(self) -> String {
        format!("{} ({})", inch_pound(self.ounces), metric(self.grams))
    }
}

/// The statement under a body of rules; for Britain without ounces.
///
/// # Errors
///
/// [`StatementError`].
pub fn of(rule: Rule, declared: &Typed<Mass>) -> Result<Statement, StatementError> {
    match rule {
        Rule::Us => us(declared),
        Rule::Eu => eu(declared),
        Rule::Uk | Rule::UkEvery => uk(declared, false),
    }
}

/// The statement for the United States, both systems, from a weight in either.
///
/// Below a pound in ounces, from a pound in pounds and the rest in ounces;
/// below a kilogram in grams, above in kilograms. Ounces are cut to two
/// decimal places, grams to two figures below 100 g and three above.
///
/// # Errors
///
/// [`StatementError`].
///
/// # Source
///
/// 16 CFR 500.17 to 500.19; pounds first and kilograms from 1 kg: 500.9 and
/// 500.23, from memory; two places instead of the three of 500.17, because
/// some states allow no more; cutting instead of rounding: Uniform Packaging
/// and Labeling Regulation, NIST Handbook 130, second hand.
pub fn us(declared: &Typed<Mass>) -> Result<Statement, StatementError> {
    let both = Both::of(declared)?;
    Ok(Statement {
        text: format!("NET WT {}", both.text()),
        tested: both.tested()?,
    })
}

/// The statement of a pack of several pieces for the United States: how many,
/// how much each, how much in all. The total is so many times what each piece
/// is said to weigh.
///
/// # Errors
///
/// [`StatementError`].
///
/// # Source
///
/// 16 CFR 500.27, multiunit packages, from memory.
pub fn us_pack(pieces: u32, noun: &str, each: &Typed<Mass>) -> Result<Statement, StatementError> {
    if pieces < 2 {
        return Err(StatementError::NotSeveral);
    }
    let one = Both::of(each)?;
    let total = times(one.ounces, Decimal::from(pieces))?;
    // Whole grams of each piece add up; the ounces' own conversion may be more.
    let total = Both {
        ounces: total,
        grams: cut_metric(
            times(total, GRAMS_PER_OUNCE)?.max(times(one.grams, Decimal::from(pieces))?),
        ),
    };
    Ok(Statement {
        text: format!(
            "{pieces} {}, {} EACH, NET WT {}",
            noun.to_uppercase(),
            one.text(),
            total.text()
        ),
        tested: total.tested()?,
    })
}

/// The statement for the European Union: the nominal quantity in grams below a
/// kilogram, in kilograms from there.
///
/// # Errors
///
/// [`StatementError`].
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 3.1 (second hand).
pub fn eu(declared: &Typed<Mass>) -> Result<Statement, StatementError> {
    let grams = cut(declared.value().to_decimal(MassUnit::Gram).round_dp(4), 2);
    if grams.is_zero() {
        return Err(StatementError::TooSmall);
    }
    let tested = Typed::<Mass>::from_decimal(grams, MassUnit::Gram);
    Ok(Statement {
        text: metric(grams),
        tested: tested.ok_or(StatementError::TooLarge)?.value(),
    })
}

/// The statement for Britain: as in the EU, with ounces after it as a
/// supplementary indication when wanted.
///
/// # Errors
///
/// [`StatementError`].
///
/// # Source
///
/// SI 2006/659; that imperial figures may follow: a label printer's guide to
/// British honey labels, second hand.
pub fn uk(declared: &Typed<Mass>, with_ounces: bool) -> Result<Statement, StatementError> {
    let metric = eu(declared)?;
    if !with_ounces {
        return Ok(metric);
    }
    let grams = metric.tested.to_decimal(MassUnit::Gram);
    let ounces = cut(times(grams, OUNCES_PER_GRAM)?, 2);
    if ounces.is_zero() {
        return Ok(metric);
    }
    Ok(Statement {
        text: format!("{} ({} oz)", metric.text, ounces.normalize()),
        tested: metric.tested,
    })
}

fn times(a: Decimal, b: Decimal) -> Result<Decimal, StatementError> {
    a.checked_mul(b).ok_or(StatementError::TooLarge)
}

fn cut(figure: Decimal, places: u32) -> Decimal {
    figure.round_dp_with_strategy(places, RoundingStrategy::ToZero)
}

/// Cuts grams to two figures below 100 g, to three above.
fn cut_metric(grams: Decimal) -> Decimal {
    let figures = if grams < Decimal::ONE_HUNDRED { 2 } else { 3 };
    grams
        .round_sf_with_strategy(figures, RoundingStrategy::ToZero)
        .unwrap_or(grams)
}

fn inch_pound(ounces: Decimal) -> String {
    let sixteen = Decimal::from(16);
    if ounces < sixteen {
        return format!("{} OZ", ounces.normalize());
    }
    let pounds = (ounces / sixteen).trunc();
    let rest = ounces - pounds * sixteen;
    let mut text = format!("{} LB", pounds.normalize());
    if !rest.is_zero() {
        write!(text, " {} OZ", rest.normalize()).expect("a text takes what is written to it");
    }
    text
}

fn metric(grams: Decimal) -> String {
    if grams.to_f64().unwrap_or(0.0) < 1_000.0 {
        format!("{} g", grams.normalize())
    } else {
        format!("{} kg", (grams / Decimal::ONE_THOUSAND).normalize())
    }
}
