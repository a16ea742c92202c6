//! Hazards to water: CLP Annex I, 4.1.

use super::{Fraction, Term, Test, law, push};
use crate::class::Class;
use crate::mixture::Substance;
use crate::regime::Rules;

/// Acute 1 and Chronic 1 count from (0.1 / M) % (CLP Annex I, 4.1.3.1).
fn cut_off(factor: u32) -> Fraction {
    Fraction::of(1, 10 * u64::from(factor))
}

pub(super) fn tests(substances: &[Substance], rules: Rules, tests: &mut Vec<Test>) {
    let limit = Fraction::whole(25);
    let places = |class: Class| {
        substances
            .iter()
            .enumerate()
            .filter(move |(_, substance)| substance.is(class))
    };
    push(
        tests,
        Class::AquaticAcute1,
        places(Class::AquaticAcute1)
            .map(|(place, substance)| {
                let factor = substance.m_acute.unwrap_or(1);
                Term {
                    substance: place,
                    cut_off: cut_off(factor),
                    weight: Fraction::whole(u64::from(factor)),
                }
            })
            .collect(),
        limit,
        law(
            rules,
            "CLP Annex I, Table 4.1.1",
            "UN GHS Rev. 7, Table 4.1.3",
        ),
    );
    let chronic = law(
        rules,
        "CLP Annex I, Table 4.1.2",
        "UN GHS Rev. 7, Table 4.1.4",
    );
    // The strictest category of a substance is the one that counts.
    let category = |substance: &Substance| {
        [
            Class::AquaticChronic1,
            Class::AquaticChronic2,
            Class::AquaticChronic3,
            Class::AquaticChronic4,
        ]
        .iter()
        .position(|class| substance.is(*class))
    };
    let ranked: Vec<(usize, usize, u32)> = substances
        .iter()
        .enumerate()
        .filter_map(|(place, substance)| {
            Some((
                place,
                category(substance)?,
                substance.m_chronic.unwrap_or(1),
            ))
        })
        .collect();
    for (class, weights) in [
        (Class::AquaticChronic1, [1, 0, 0, 0]),
        (Class::AquaticChronic2, [10, 1, 0, 0]),
        (Class::AquaticChronic3, [100, 10, 1, 0]),
        (Class::AquaticChronic4, [1, 1, 1, 1]),
    ] {
        let terms = ranked
            .iter()
            .filter(|(_, category, _)| weights[*category] > 0)
            .map(|&(place, category, factor)| {
                let first = category == 0;
                // The safety net of category 4 adds plain shares: no M-factor.
                let factor_counts = first && class != Class::AquaticChronic4;
                Term {
                    substance: place,
                    cut_off: if first {
                        cut_off(factor)
                    } else {
                        Fraction::ONE
                    },
                    weight: Fraction::whole(weights[category]).times(if factor_counts {
                        u64::from(factor)
                    } else {
                        1
                    }),
                }
            })
            .collect();
        push(tests, class, terms, limit, chronic);
    }
}
