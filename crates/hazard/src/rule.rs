//! The law's tables as data: which substances are summed, from which share on,
//! with which weight, and what the sum must reach.
//!
//! Every table of limits comes down to one shape, a [`Test`]: "the sum, over
//! the substances at or above their cut-off, of weight times concentration
//! reaches the limit". A class that is never added up has one test for each
//! substance. A specific limit of a substance enters as its weight: the generic
//! limit over its own. Acute toxicity has the category's bound over the
//! substance's estimate as weight.

mod acute;
mod aquatic;
mod single;
mod skin;

use num_bigint::BigUint;
use rust_decimal::Decimal;

use crate::class::{Class, Route};
use crate::ingredient::EstimateKind;
use crate::mixture::{Form, Mixture, Substance};
use crate::regime::{Jurisdiction, Rules};

/// An exact number that is not below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fraction {
    over: u64,
    under: u64,
}

impl Fraction {
    /// Nothing.
    pub const ZERO: Self = Self::whole(0);
    /// One.
    pub const ONE: Self = Self::whole(1);

    /// A whole number.
    pub const fn whole(number: u64) -> Self {
        Self {
            over: number,
            under: 1,
        }
    }

    /// `over / under`; an `under` of zero is taken as one.
    pub const fn of(over: u64, under: u64) -> Self {
        Self {
            over,
            under: if under == 0 { 1 } else { under },
        }
    }

    /// The same as a decimal that is not negative and has at most six
    /// decimals and nine digits before them; otherwise nothing.
    pub fn from_decimal(decimal: Decimal) -> Self {
        // Taking zeros off is slow, and seldom needed.
        let plain = if decimal.scale() > 6 {
            decimal.normalize()
        } else {
            decimal
        };
        let over = u64::try_from(plain.mantissa()).unwrap_or_default();
        Self::of(over, 10_u64.saturating_pow(plain.scale()))
    }

    /// This over that, for the small figures of tables.
    fn divided_by(self, by: Self) -> Self {
        Self::of(
            self.over.saturating_mul(by.under),
            self.under.saturating_mul(by.over),
        )
    }

    fn times(self, by: u64) -> Self {
        Self::of(self.over.saturating_mul(by), self.under)
    }

    fn min(self, other: Self) -> Self {
        let own = u128::from(self.over) * u128::from(other.under);
        if own <= u128::from(other.over) * u128::from(self.under) {
            self
        } else {
            other
        }
    }

    /// The nearest float.
    pub fn to_f64(self) -> f64 {
        self.over as f64 / self.under as f64
    }

    /// The number above the line.
    pub const fn over(self) -> u64 {
        self.over
    }

    /// The number below the line.
    pub const fn under(self) -> u64 {
        self.under
    }
}

/// One substance in a sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Term {
    /// Its place in the mixture's list.
    pub substance: usize,
    /// It counts from this many percent on, that figure included.
    pub cut_off: Fraction,
    /// What its percentage is multiplied by.
    pub weight: Fraction,
}

/// What follows when a test's limit is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    /// The mixture has the class.
    Classify,
    /// The sensitiser must be named: EUH208, or a further name.
    Name,
    /// The mixture would have the class by a table that holds only where the
    /// substance's chemistry defeats adding up; a person decides.
    Warn,
}

/// "The sum of weight × percentage reaches the limit."
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Test {
    /// The class it leads to.
    pub class: Class,
    /// What follows.
    pub then: Then,
    /// What is added up.
    pub terms: Vec<Term>,
    /// What the sum must reach, that figure included.
    pub limit: Fraction,
    /// Substances nobody knows anything of. Where together they are more than
    /// 10 %, their sum joins the other: `(100 − U) / ATE = Σ C / ATE`.
    pub unknown: Vec<Term>,
    /// The paragraph or table it is.
    pub law: &'static str,
}

/// Which end of the ranges a test is asked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The upper ends: what the law asks for.
    Worst,
    /// The middles, to say whether the ranges alone decide.
    Middle,
}

/// The answer to a test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// What the counted substances add up to, the unknown ones left out.
    pub sum: f64,
    /// What of the mixture is unknown, percent.
    pub unknown: f64,
    /// Whether the limit is reached.
    pub reached: bool,
}

/// How near to a limit a float still has to be looked at exactly.
const NEAR: f64 = 1e-9;

impl Test {
    /// Asks it of a mixture. Exact at the limit, whatever the shares.
    pub fn of(&self, mixture: &Mixture, level: Level) -> Sum {
        let substances = &mixture.substances;
        let sum = total(&self.terms, substances, level);
        let limit = self.limit.to_f64();
        let mut reached = reaches(&self.terms, &[], substances, level, sum, self.limit);
        let mut unknown = 0.0;
        if !self.unknown.is_empty() {
            unknown = total(&self.unknown, substances, level);
            if !reached
                && sum > 0.0
                && unknown > 10.0 * (1.0 - NEAR)
                && sum + unknown >= limit * (1.0 - NEAR)
            {
                reached = exceeds_ten(&self.unknown, substances, level, unknown)
                    && reaches(
                        &self.terms,
                        &self.unknown,
                        substances,
                        level,
                        sum + unknown,
                        self.limit,
                    );
            }
        }
        Sum {
            sum,
            unknown,
            reached,
        }
    }

    /// The substances that count, the weightiest first.
    pub fn counted(&self, mixture: &Mixture, level: Level) -> Vec<usize> {
        let mut counted: Vec<(f64, usize)> = self
            .terms
            .iter()
            .filter_map(|term| {
                let substance = mixture.substances.get(term.substance)?;
                counts(term, substance, level).then(|| {
                    (
                        percent(substance, level) * term.weight.to_f64(),
                        term.substance,
                    )
                })
            })
            .collect();
        counted.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        counted
            .into_iter()
            .map(|(_, substance)| substance)
            .collect()
    }
}

fn percent(substance: &Substance, level: Level) -> f64 {
    match level {
        Level::Worst => substance.concentration.most(),
        Level::Middle => substance.concentration.middle(),
    }
}

/// The concentration as a fraction, with whether that figure is only neared.
fn exactly(substance: &Substance, level: Level) -> (u128, u128, bool) {
    let concentration = &substance.concentration;
    match level {
        Level::Worst => (
            concentration.high,
            concentration.whole,
            concentration.high_open,
        ),
        Level::Middle => (
            concentration.low + concentration.high,
            2 * concentration.whole,
            false,
        ),
    }
}

/// Whether a substance is at or above its cut-off.
fn counts(term: &Term, substance: &Substance, level: Level) -> bool {
    let percent = percent(substance, level);
    let cut_off = term.cut_off.to_f64();
    if percent <= 0.0 {
        return false;
    }
    if (percent - cut_off).abs() > cut_off * NEAR {
        return percent > cut_off;
    }
    let (part, whole, open) = exactly(substance, level);
    let own = BigUint::from(part) * term.cut_off.under;
    let due = BigUint::from(whole) * term.cut_off.over;
    own > due || (own == due && !open)
}

fn total(terms: &[Term], substances: &[Substance], level: Level) -> f64 {
    terms
        .iter()
        .filter_map(|term| {
            let substance = substances.get(term.substance)?;
            counts(term, substance, level).then(|| percent(substance, level) * term.weight.to_f64())
        })
        .sum()
}

/// Whether `sum`, the total of both lists, is at or above the limit.
fn reaches(
    terms: &[Term],
    more: &[Term],
    substances: &[Substance],
    level: Level,
    sum: f64,
    limit: Fraction,
) -> bool {
    let bound = limit.to_f64();
    if (sum - bound).abs() > bound * NEAR {
        return sum > bound;
    }
    let (order, open) = compare(terms.iter().chain(more), substances, level, limit);
    order.is_gt() || (order.is_eq() && !open)
}

/// Whether the unknown part is more than 10 %.
fn exceeds_ten(terms: &[Term], substances: &[Substance], level: Level, sum: f64) -> bool {
    if (sum - 10.0).abs() > 10.0 * NEAR {
        return sum > 10.0;
    }
    // An upper end that is left out cannot lift the sum above what it nears.
    compare(terms.iter(), substances, level, Fraction::whole(10))
        .0
        .is_gt()
}

/// Compares a sum with a limit in whole numbers; whether the sum is one that
/// is only neared.
fn compare<'a>(
    terms: impl Iterator<Item = &'a Term>,
    substances: &[Substance],
    level: Level,
    limit: Fraction,
) -> (std::cmp::Ordering, bool) {
    let mut open = false;
    let mut whole = 1;
    // Σ n·o/u, gathered by u.
    let mut sums: Vec<(u64, BigUint)> = Vec::new();
    for term in terms {
        let Some(substance) = substances.get(term.substance) else {
            continue;
        };
        if !counts(term, substance, level) {
            continue;
        }
        let (part, of, neared) = exactly(substance, level);
        whole = of;
        open |= neared && term.weight.over > 0;
        let summand = BigUint::from(part) * term.weight.over;
        match sums
            .iter_mut()
            .find(|(under, _)| *under == term.weight.under)
        {
            Some((_, sum)) => *sum += summand,
            None => sums.push((term.weight.under, summand)),
        }
    }
    let (mut over, mut under) = (BigUint::ZERO, BigUint::from(1_u8));
    for (by, sum) in sums {
        over = over * by + sum * &under;
        under *= by;
    }
    let own = over * limit.under;
    let due = under * whole * limit.over;
    (own.cmp(&due), open)
}

/// The estimate of acute toxicity a route comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcuteSum {
    /// The route.
    pub route: Route,
    /// The mixture's estimate on the scale of its substances; none where
    /// nothing counts or they are on different scales.
    pub estimate: Option<f64>,
    /// That scale.
    pub kind: Option<EstimateKind>,
}

/// Every test that has something to add up, by class in the order of the law.
///
/// They hang on what the substances are, not on how much of them there is: one
/// list serves every load of the same oil.
pub fn tests(substances: &[Substance], rules: &Rules, form: &Form) -> Vec<Test> {
    let mut tests = Vec::with_capacity(substances.len() * 4 + 24);
    acute::tests(substances, *rules, &mut tests);
    skin::tests(substances, *rules, &mut tests);
    single::tests(substances, *rules, form, &mut tests);
    aquatic::tests(substances, *rules, &mut tests);
    tests
}

pub(crate) use acute::{
    MOST_UNKNOWN, bound as acute_bound, estimate as acute_estimate, is_asked as acute_is_asked,
    parts as acute_parts, relevant_unknown,
};

/// A paragraph by the law in force: the regulation's, or the United Nations'.
fn law(rules: Rules, clp: &'static str, un: &'static str) -> &'static str {
    match rules.jurisdiction {
        Jurisdiction::Eu | Jurisdiction::Gb => clp,
        Jurisdiction::Un => un,
    }
}

/// The lowest specific limit a substance has for any of the classes.
fn own_limit(substance: &Substance, classes: &[Class]) -> Option<Fraction> {
    if substance.bands.is_empty() {
        return None;
    }
    substance
        .bands
        .iter()
        .filter(|band| classes.contains(&band.class))
        .map(|band| band.from)
        .min()
        .map(Fraction::from_decimal)
}

/// Where the specific limits for a milder class end, which is where the
/// severer begins.
fn ends_at(substance: &Substance, class: Class) -> Option<Fraction> {
    substance
        .bands
        .iter()
        .filter(|band| band.class == class)
        .filter_map(|band| band.below)
        .min()
        .map(Fraction::from_decimal)
}

/// Whether a substance has one of the classes, by its sheet or by a specific
/// limit it carries for it.
fn has(substance: &Substance, classes: &[Class]) -> bool {
    substance.has(classes)
}

/// Adds a test for a sum, unless nothing enters it.
fn push(tests: &mut Vec<Test>, class: Class, terms: Vec<Term>, limit: Fraction, law: &'static str) {
    if !terms.is_empty() {
        tests.push(Test {
            class,
            then: Then::Classify,
            terms,
            limit,
            unknown: Vec::new(),
            law,
        });
    }
}
