//! Skin and eyes: CLP Annex I, 3.2 and 3.3.

use super::{Fraction, Term, Test, Then, ends_at, has, law, own_limit, push};
use crate::class::Class;
use crate::mixture::Substance;
use crate::regime::Rules;

const CORROSIVE: [Class; 4] = [
    Class::SkinCorr1,
    Class::SkinCorr1A,
    Class::SkinCorr1B,
    Class::SkinCorr1C,
];

/// From which share on something corrosive or irritant counts: 1 %, or its own
/// limit where that is lower (CLP Annex I, 1.1.2.2.2 (a) and 3.2.3.3.1).
fn cut_off(own: Fraction) -> Fraction {
    own.min(Fraction::ONE)
}

/// The limit from which a corrosive substance makes the mixture corrosive.
fn corrosive_limit(substance: &Substance, classes: &[Class]) -> Fraction {
    own_limit(substance, classes)
        .or_else(|| ends_at(substance, Class::SkinIrrit2))
        .unwrap_or(Fraction::whole(5))
}

/// The limit from which it makes the mixture irritant to the skin.
fn irritant_limit(substance: &Substance) -> Fraction {
    own_limit(substance, &[Class::SkinIrrit2]).unwrap_or_else(|| {
        if has(substance, &CORROSIVE) {
            Fraction::ONE.min(corrosive_limit(substance, &CORROSIVE))
        } else {
            Fraction::whole(10)
        }
    })
}

fn is_damaging(substance: &Substance) -> bool {
    has(substance, &CORROSIVE) || has(substance, &[Class::EyeDam1])
}

/// The limit from which it makes the mixture damaging to the eyes. A substance
/// that is corrosive to the skin below 3 % is so to the eyes.
fn damage_limit(substance: &Substance) -> Fraction {
    own_limit(substance, &[Class::EyeDam1])
        .or_else(|| ends_at(substance, Class::EyeIrrit2))
        .unwrap_or_else(|| {
            let three = Fraction::whole(3);
            own_limit(substance, &CORROSIVE).map_or(three, |own| own.min(three))
        })
}

/// The limit from which it makes the mixture irritant to the eyes.
fn eye_limit(substance: &Substance) -> Fraction {
    own_limit(substance, &[Class::EyeIrrit2]).unwrap_or_else(|| {
        if is_damaging(substance) {
            Fraction::ONE.min(damage_limit(substance))
        } else {
            Fraction::whole(10)
        }
    })
}

/// A sum of quotients: each share over its own limit, as a multiple of the
/// generic one.
fn sum(
    substances: &[Substance],
    generic: u64,
    mut enters: impl FnMut(&Substance) -> Option<Fraction>,
) -> Vec<Term> {
    substances
        .iter()
        .enumerate()
        .filter_map(|(place, substance)| {
            let own = enters(substance)?;
            Some(Term {
                substance: place,
                cut_off: cut_off(own),
                weight: Fraction::whole(generic).divided_by(own),
            })
        })
        .collect()
}

pub(super) fn tests(substances: &[Substance], rules: Rules, tests: &mut Vec<Test>) {
    let skin = law(
        rules,
        "CLP Annex I, Table 3.2.3",
        "UN GHS Rev. 7, Table 3.2.3",
    );
    let eye = law(
        rules,
        "CLP Annex I, Table 3.3.3",
        "UN GHS Rev. 7, Table 3.3.3",
    );
    let five = Fraction::whole(5);
    let ten = Fraction::whole(10);
    push(
        tests,
        Class::SkinCorr1,
        sum(substances, 5, |substance| {
            has(substance, &CORROSIVE).then(|| corrosive_limit(substance, &CORROSIVE))
        }),
        five,
        skin,
    );
    for (class, with) in [
        (Class::SkinCorr1A, &CORROSIVE[1..2]),
        (Class::SkinCorr1B, &CORROSIVE[1..3]),
        (Class::SkinCorr1C, &CORROSIVE[1..4]),
    ] {
        push(
            tests,
            class,
            sum(substances, 5, |substance| {
                has(substance, with).then(|| {
                    own_limit(substance, with)
                        .unwrap_or_else(|| corrosive_limit(substance, &CORROSIVE[..1]))
                })
            }),
            five,
            skin,
        );
    }
    push(
        tests,
        Class::SkinIrrit2,
        sum(substances, 10, |substance| {
            (has(substance, &CORROSIVE) || has(substance, &[Class::SkinIrrit2]))
                .then(|| irritant_limit(substance))
        }),
        ten,
        skin,
    );
    push(
        tests,
        Class::EyeDam1,
        sum(substances, 3, |substance| {
            is_damaging(substance).then(|| damage_limit(substance))
        }),
        Fraction::whole(3),
        eye,
    );
    push(
        tests,
        Class::EyeIrrit2,
        sum(substances, 10, |substance| {
            (is_damaging(substance) || has(substance, &[Class::EyeIrrit2]))
                .then(|| eye_limit(substance))
        }),
        ten,
        eye,
    );
    not_additive(substances, rules, tests);
}

/// The limits for acids, bases, aldehydes, phenols, surfactants and the like,
/// whose chemistry may defeat adding up. A sheet does not say which they are,
/// so these only warn.
fn not_additive(substances: &[Substance], rules: Rules, tests: &mut Vec<Test>) {
    let skin = law(
        rules,
        "CLP Annex I, Table 3.2.4",
        "UN GHS Rev. 7, Table 3.2.4",
    );
    let eye = law(
        rules,
        "CLP Annex I, Table 3.3.4",
        "UN GHS Rev. 7, Table 3.3.4",
    );
    for (place, substance) in substances.iter().enumerate() {
        let mut warn = |class, percent: u64, law| {
            tests.push(Test {
                class,
                then: Then::Warn,
                terms: vec![Term {
                    substance: place,
                    cut_off: Fraction::ZERO,
                    weight: Fraction::ONE,
                }],
                limit: Fraction::whole(percent),
                unknown: Vec::new(),
                law,
            });
        };
        if !substance.bands.is_empty() {
            // Its own limits stand in for both tables.
            continue;
        }
        if has(substance, &CORROSIVE) {
            warn(Class::SkinCorr1, 1, skin);
        } else if has(substance, &[Class::SkinIrrit2]) {
            warn(Class::SkinIrrit2, 3, skin);
        }
        if is_damaging(substance) {
            warn(Class::EyeDam1, 1, eye);
        } else if has(substance, &[Class::EyeIrrit2]) {
            warn(Class::EyeIrrit2, 3, eye);
        }
    }
}
