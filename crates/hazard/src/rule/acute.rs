//! Acute toxicity: CLP Annex I, 3.1.

use rust_decimal::Decimal;

use super::{AcuteSum, Fraction, Level, Term, Test, Then, counts, law, percent};
use crate::class::{Class, Route};
use crate::ingredient::EstimateKind;
use crate::mixture::{Mixture, Substance};
use crate::regime::Rules;

/// The upper bounds of categories 1 to 4.
///
/// # Source
///
/// CLP Annex I, Table 3.1.1 (mg/kg; ppmV; mg/l).
const fn bounds(kind: EstimateKind) -> [Fraction; 4] {
    let whole = Fraction::whole;
    match kind {
        EstimateKind::Oral => [whole(5), whole(50), whole(300), whole(2000)],
        EstimateKind::Dermal => [whole(50), whole(200), whole(1000), whole(2000)],
        EstimateKind::Gas => [whole(100), whole(500), whole(2500), whole(20_000)],
        EstimateKind::Vapour => [Fraction::of(1, 2), whole(2), whole(10), whole(20)],
        EstimateKind::Mist => [Fraction::of(1, 20), Fraction::of(1, 2), whole(1), whole(5)],
    }
}

/// The upper bound of a category on a scale.
pub(crate) fn bound(kind: EstimateKind, category: u8) -> f64 {
    bounds(kind)
        .get(usize::from(category).saturating_sub(1))
        .map_or(0.0, |bound| bound.to_f64())
}

/// The estimate that stands in where only the category is known.
///
/// # Source
///
/// CLP Annex I, Table 3.1.2.
const fn converted(kind: EstimateKind, category: u8) -> Fraction {
    let row = match kind {
        EstimateKind::Oral => [
            Fraction::of(1, 2),
            Fraction::whole(5),
            Fraction::whole(100),
            Fraction::whole(500),
        ],
        EstimateKind::Dermal => [
            Fraction::whole(5),
            Fraction::whole(50),
            Fraction::whole(300),
            Fraction::whole(1100),
        ],
        EstimateKind::Gas => [
            Fraction::whole(10),
            Fraction::whole(100),
            Fraction::whole(700),
            Fraction::whole(4500),
        ],
        EstimateKind::Vapour => [
            Fraction::of(1, 20),
            Fraction::of(1, 2),
            Fraction::whole(3),
            Fraction::whole(11),
        ],
        EstimateKind::Mist => [
            Fraction::of(1, 200),
            Fraction::of(1, 20),
            Fraction::of(1, 2),
            Fraction::of(3, 2),
        ],
    };
    match category {
        1 => row[0],
        2 => row[1],
        3 => row[2],
        _ => row[3],
    }
}

const CATEGORIES: [(Route, [Class; 4]); 3] = [
    (
        Route::Oral,
        [
            Class::AcuteOral1,
            Class::AcuteOral2,
            Class::AcuteOral3,
            Class::AcuteOral4,
        ],
    ),
    (
        Route::Dermal,
        [
            Class::AcuteDermal1,
            Class::AcuteDermal2,
            Class::AcuteDermal3,
            Class::AcuteDermal4,
        ],
    ),
    (
        Route::Inhalation,
        [
            Class::AcuteInhalation1,
            Class::AcuteInhalation2,
            Class::AcuteInhalation3,
            Class::AcuteInhalation4,
        ],
    ),
];

const fn is_of(kind: EstimateKind, route: Route) -> bool {
    matches!(
        (kind, route),
        (EstimateKind::Oral, Route::Oral)
            | (EstimateKind::Dermal, Route::Dermal)
            | (
                EstimateKind::Gas | EstimateKind::Vapour | EstimateKind::Mist,
                Route::Inhalation
            )
    )
}

/// What is known of a substance by a route.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Known {
    /// It enters the sum with this estimate.
    Toxic(EstimateKind, Fraction),
    /// It is left out of the sum: not toxic by this route, or beyond the
    /// categories.
    NotToxic,
    /// Nobody has said.
    Nothing,
}

/// The estimate used for a substance, in the order of CLP Annex I, Table 3.1.1
/// note a and 3.1.3.6.1: a value, the lowest of them; else that of its
/// category.
fn known(substance: &Substance, route: Route, rules: Rules) -> Known {
    let mut told = false;
    let mut lowest: Option<(EstimateKind, Fraction, f64)> = None;
    for estimate in &substance.estimates {
        if !is_of(estimate.kind, route) {
            continue;
        }
        told = true;
        let top = bounds(estimate.kind)[3];
        let value = Fraction::from_decimal(estimate.value);
        // A limit test at the top of category 4 without signs of poisoning
        // leaves the substance out (3.1.3.6.1 c); a bound below it is the
        // lowest value of a range that reaches into the categories.
        let counted = if estimate.above {
            value.to_f64() < top.to_f64()
        } else if rules.acute_category_5 && route != Route::Inhalation {
            estimate.value <= Decimal::from(5000)
        } else {
            value.to_f64() <= top.to_f64()
        };
        // On its scale's own terms, so that a vapour and a mist compare.
        let rank = value.to_f64() / top.to_f64();
        if counted && lowest.is_none_or(|(_, _, known)| rank < known) {
            lowest = Some((estimate.kind, value, rank));
        }
    }
    if let Some((kind, value, _)) = lowest {
        return Known::Toxic(kind, value);
    }
    if told {
        return Known::NotToxic;
    }
    let Some(hazards) = &substance.hazards else {
        return Known::Nothing;
    };
    let category = hazards
        .iter()
        .filter_map(|hazard| hazard.class.acute())
        .filter(|(own, _)| *own == route)
        .map(|(_, category)| category)
        .min();
    category.map_or(Known::NotToxic, |category| {
        // Which way it is breathed in is not said: vapour, as what is
        // fragrant evaporates. Our choice.
        let kind = match route {
            Route::Oral => EstimateKind::Oral,
            Route::Dermal => EstimateKind::Dermal,
            Route::Inhalation => EstimateKind::Vapour,
        };
        Known::Toxic(kind, converted(kind, category))
    })
}

/// From which share on it counts: CLP Annex I, Table 1.1 (from memory): 0.1 %
/// in categories 1 to 3, else 1 %.
fn cut_off(kind: EstimateKind, value: Fraction) -> Fraction {
    if value.to_f64() <= bounds(kind)[2].to_f64() {
        Fraction::of(1, 10)
    } else {
        Fraction::ONE
    }
}

/// Whether a route is asked at all: inhalation only where something is known
/// to be toxic when breathed in. Our choice.
pub(crate) fn is_asked(substances: &[Substance], route: Route, rules: Rules) -> bool {
    route != Route::Inhalation
        || substances
            .iter()
            .any(|substance| matches!(known(substance, route, rules), Known::Toxic(..)))
}

pub(super) fn tests(substances: &[Substance], rules: Rules, tests: &mut Vec<Test>) {
    let law = law(
        rules,
        "CLP Annex I, 3.1.3.6 and Table 3.1.1",
        "UN GHS Rev. 7, 3.1.3.6 and Table 3.1.1",
    );
    for (route, classes) in CATEGORIES {
        let mut toxic: Vec<(usize, EstimateKind, Fraction)> = Vec::new();
        let mut unknown: Vec<Term> = Vec::new();
        for (place, substance) in substances.iter().enumerate() {
            match known(substance, route, rules) {
                Known::Toxic(kind, value) => toxic.push((place, kind, value)),
                Known::Nothing => unknown.push(unknown_term(place)),
                Known::NotToxic => {}
            }
        }
        if toxic.is_empty() {
            continue;
        }
        for (category, class) in classes.into_iter().enumerate() {
            let terms = toxic
                .iter()
                .map(|(place, kind, value)| Term {
                    substance: *place,
                    cut_off: cut_off(*kind, *value),
                    weight: bounds(*kind)[category].divided_by(*value),
                })
                .collect();
            tests.push(Test {
                class,
                then: Then::Classify,
                terms,
                limit: Fraction::whole(100),
                unknown: unknown.clone(),
                law,
            });
        }
    }
}

/// A substance without any word on it counts as unknown from 1 % on: what is
/// "relevant" by CLP Annex I, 3.1.3.3 (a).
fn unknown_term(substance: usize) -> Term {
    Term {
        substance,
        cut_off: Fraction::ONE,
        weight: Fraction::ONE,
    }
}

/// Above this much unknown, percent, the formula is corrected (CLP Annex I,
/// 3.1.3.6.2.3); a hair wider, for sums of floats that are only shown.
pub(crate) const MOST_UNKNOWN: f64 = 10.0 + 1e-8;

/// How much of the mixture is of unknown acute toxicity by a route, percent.
pub(crate) fn relevant_unknown(mixture: &Mixture, route: Route, rules: Rules) -> f64 {
    mixture
        .substances
        .iter()
        .enumerate()
        .filter(|(place, substance)| {
            substance.is_unknown()
                && known(substance, route, rules) == Known::Nothing
                && counts(&unknown_term(*place), substance, Level::Worst)
        })
        .map(|(_, substance)| percent(substance, Level::Worst))
        .sum()
}

/// The substances that enter the sum of a route, with their estimates.
pub(crate) fn parts(
    mixture: &Mixture,
    route: Route,
    rules: Rules,
) -> Vec<(usize, EstimateKind, Fraction)> {
    mixture
        .substances
        .iter()
        .enumerate()
        .filter_map(|(place, substance)| {
            let Known::Toxic(kind, value) = known(substance, route, rules) else {
                return None;
            };
            let term = Term {
                substance: place,
                cut_off: cut_off(kind, value),
                weight: Fraction::ONE,
            };
            counts(&term, substance, Level::Worst).then_some((place, kind, value))
        })
        .collect()
}

/// The estimate the mixture comes to by a route; none where its substances are
/// on different scales.
pub(crate) fn estimate(mixture: &Mixture, route: Route, rules: Rules) -> AcuteSum {
    let parts = parts(mixture, route, rules);
    let scale = parts.first().map(|(_, kind, _)| *kind);
    let is_one = parts.iter().all(|(_, kind, _)| Some(*kind) == scale);
    let sum: f64 = parts
        .iter()
        .map(|(place, _, value)| {
            percent(&mixture.substances[*place], Level::Worst) / value.to_f64()
        })
        .sum();
    let unknown = relevant_unknown(mixture, route, rules);
    let known_part = if unknown > MOST_UNKNOWN {
        100.0 - unknown
    } else {
        100.0
    };
    AcuteSum {
        route,
        estimate: (sum > 0.0 && is_one).then(|| known_part / sum),
        kind: scale.filter(|_| is_one),
    }
}
