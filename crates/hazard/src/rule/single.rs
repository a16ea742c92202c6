//! Classes that are never added up, and the few sums beside them: CLP Annex I,
//! 3.4 to 3.11 and 4.2 to 5.1.

use super::{Fraction, Term, Test, Then, has, law, own_limit, push};
use crate::class::Class;
use crate::mixture::{Form, Substance};
use crate::regime::{Jurisdiction, Rules};

const SKIN_SENSITISERS: [Class; 3] = [Class::SkinSens1A, Class::SkinSens1, Class::SkinSens1B];
const AIRWAY_SENSITISERS: [Class; 3] = [Class::RespSens1A, Class::RespSens1, Class::RespSens1B];

/// One substance against one limit.
fn alone(place: usize, class: Class, limit: Fraction, then: Then, law: &'static str) -> Test {
    Test {
        class,
        then,
        terms: vec![Term {
            substance: place,
            cut_off: Fraction::ZERO,
            weight: Fraction::ONE,
        }],
        limit,
        unknown: Vec::new(),
        law,
    }
}

pub(super) fn tests(substances: &[Substance], rules: Rules, form: &Form, tests: &mut Vec<Test>) {
    for (place, substance) in substances.iter().enumerate() {
        if substance.hazards.as_ref().is_none_or(Vec::is_empty) && substance.bands.is_empty() {
            continue;
        }
        sensitisation(place, substance, rules, tests);
        listed(place, substance, rules, tests);
        organs(place, substance, rules, tests);
    }
    passing_effects(substances, rules, tests);
    aspiration(substances, rules, form, tests);
}

/// CLP Annex I, Tables 3.4.5 (what classifies) and 3.4.6 (what must be named).
///
/// The United Nations leave 0.1 % or 1.0 % open for category 1; the stricter
/// is taken. They know no EUH208.
fn sensitisation(place: usize, substance: &Substance, rules: Rules, tests: &mut Vec<Test>) {
    let un = rules.jurisdiction == Jurisdiction::Un;
    let classify = law(
        rules,
        "CLP Annex I, Table 3.4.5",
        "UN GHS Rev. 7, Table 3.4.5",
    );
    for family in [SKIN_SENSITISERS, AIRWAY_SENSITISERS] {
        let Some(nth) = family
            .iter()
            .position(|class| substance.is(*class))
            .or_else(|| family.iter().position(|class| has(substance, &[*class])))
        else {
            continue;
        };
        let tenth = Fraction::of(1, 10);
        let (generic, elicits) = match nth {
            0 => (tenth, Fraction::of(1, 100)),
            1 if un => (tenth, tenth),
            _ => (Fraction::ONE, tenth),
        };
        let own = own_limit(substance, &family);
        let limit = own.unwrap_or(generic);
        tests.push(alone(place, family[nth], limit, Then::Classify, classify));
        if !un {
            let elicits = own.map_or(elicits, |own| own.divided_by(Fraction::whole(10)));
            tests.push(alone(
                place,
                family[nth],
                elicits,
                Then::Name,
                "CLP Annex II, 2.8 and Annex I, Table 3.4.6",
            ));
        }
    }
}

/// The generic limit of a class in which one substance decides, with the laws
/// it stands in; the United Nations' is the stricter where they leave a choice.
fn generic(class: Class) -> Option<(Fraction, Fraction, &'static str, &'static str)> {
    let tenth = Fraction::of(1, 10);
    let three_tenths = Fraction::of(3, 10);
    Some(match class {
        Class::Muta1A | Class::Muta1B => (
            tenth,
            tenth,
            "CLP Annex I, Table 3.5.2",
            "UN GHS Rev. 7, Table 3.5.1",
        ),
        Class::Muta2 => (
            Fraction::ONE,
            Fraction::ONE,
            "CLP Annex I, Table 3.5.2",
            "UN GHS Rev. 7, Table 3.5.1",
        ),
        Class::Carc1A | Class::Carc1B => (
            tenth,
            tenth,
            "CLP Annex I, Table 3.6.2",
            "UN GHS Rev. 7, Table 3.6.1",
        ),
        Class::Carc2 => (
            Fraction::ONE,
            tenth,
            "CLP Annex I, Table 3.6.2",
            "UN GHS Rev. 7, Table 3.6.1",
        ),
        Class::Repr1A | Class::Repr1B | Class::Lact => (
            three_tenths,
            tenth,
            "CLP Annex I, Table 3.7.2",
            "UN GHS Rev. 7, Table 3.7.1",
        ),
        Class::Repr2 => (
            Fraction::whole(3),
            tenth,
            "CLP Annex I, Table 3.7.2",
            "UN GHS Rev. 7, Table 3.7.1",
        ),
        Class::EdHh1 => (tenth, tenth, "CLP Annex I, Table 3.11.2", ""),
        Class::EdHh2 => (
            Fraction::ONE,
            Fraction::ONE,
            "CLP Annex I, Table 3.11.2",
            "",
        ),
        Class::EdEnv1 => (tenth, tenth, "CLP Annex I, Table 4.2.2", ""),
        Class::EdEnv2 => (Fraction::ONE, Fraction::ONE, "CLP Annex I, Table 4.2.2", ""),
        Class::Pbt | Class::Vpvb => (tenth, tenth, "CLP Annex I, 4.3.3.1", ""),
        Class::Pmt | Class::Vpvm => (tenth, tenth, "CLP Annex I, 4.4.3.1", ""),
        Class::Ozone1 => (
            tenth,
            tenth,
            "CLP Annex I, Table 5.1",
            "UN GHS Rev. 7, Table 4.2.1",
        ),
        _ => return None,
    })
}

/// Whether the class came with Delegated Regulation (EU) 2023/707.
fn is_of_2023(class: Class) -> bool {
    matches!(
        class,
        Class::EdHh1
            | Class::EdHh2
            | Class::EdEnv1
            | Class::EdEnv2
            | Class::Pbt
            | Class::Vpvb
            | Class::Pmt
            | Class::Vpvm
    )
}

fn listed(place: usize, substance: &Substance, rules: Rules, tests: &mut Vec<Test>) {
    let by_sheet = substance
        .hazards
        .iter()
        .flatten()
        .map(|hazard| hazard.class);
    let by_limit = substance.bands.iter().map(|band| band.class);
    let mut seen: Vec<Class> = Vec::new();
    for class in by_sheet.chain(by_limit) {
        let Some((clp, un, clp_law, un_law)) = generic(class) else {
            continue;
        };
        if seen.contains(&class) || (is_of_2023(class) && !rules.endocrine_and_persistent) {
            continue;
        }
        seen.push(class);
        let limit = own_limit(substance, &[class]).unwrap_or(match rules.jurisdiction {
            Jurisdiction::Eu | Jurisdiction::Gb => clp,
            Jurisdiction::Un => un,
        });
        tests.push(alone(
            place,
            class,
            limit,
            Then::Classify,
            law(rules, clp_law, un_law),
        ));
    }
}

/// CLP Annex I, Tables 3.8.3 and 3.9.4: not added up. Category 1 makes the
/// mixture category 2 from 1 %. Under the United Nations' stricter options
/// both categories begin at 1 %.
fn organs(place: usize, substance: &Substance, rules: Rules, tests: &mut Vec<Test>) {
    let ten = match rules.jurisdiction {
        Jurisdiction::Eu | Jurisdiction::Gb => Fraction::whole(10),
        Jurisdiction::Un => Fraction::ONE,
    };
    for (first, second, law) in [
        (
            Class::StotSe1,
            Class::StotSe2,
            law(
                rules,
                "CLP Annex I, Table 3.8.3",
                "UN GHS Rev. 7, Table 3.8.2",
            ),
        ),
        (
            Class::StotRe1,
            Class::StotRe2,
            law(
                rules,
                "CLP Annex I, Table 3.9.4",
                "UN GHS Rev. 7, Table 3.9.3",
            ),
        ),
    ] {
        if has(substance, &[first]) {
            let severe = own_limit(substance, &[first]).unwrap_or(ten);
            let milder =
                own_limit(substance, &[second]).unwrap_or_else(|| severe.min(Fraction::ONE));
            tests.push(alone(place, first, severe, Then::Classify, law));
            tests.push(alone(place, second, milder, Then::Classify, law));
        } else if has(substance, &[second]) {
            let limit = own_limit(substance, &[second]).unwrap_or(ten);
            tests.push(alone(place, second, limit, Then::Classify, law));
        }
    }
}

/// CLP Annex I, 3.8.3.4.5: irritation of the airways and drowsiness, each
/// added up, with 20 % as the limit the regulation calls appropriate.
fn passing_effects(substances: &[Substance], rules: Rules, tests: &mut Vec<Test>) {
    let law = law(rules, "CLP Annex I, 3.8.3.4.5", "UN GHS Rev. 7, 3.8.3.4.5");
    let twenty = Fraction::whole(20);
    for class in [Class::StotSe3Irritation, Class::StotSe3Narcosis] {
        let terms = substances
            .iter()
            .enumerate()
            .filter(|(_, substance)| has(substance, &[class]))
            .map(|(place, substance)| {
                let own = own_limit(substance, &[class]).unwrap_or(twenty);
                Term {
                    substance: place,
                    cut_off: own.min(Fraction::ONE),
                    weight: twenty.divided_by(own),
                }
            })
            .collect();
        push(tests, class, terms, twenty, law);
    }
}

/// Whether the form is one aspiration is asked of: liquid at 40 °C, and not
/// known to be thicker than 20.5 mm²/s.
pub(crate) fn is_thin(form: &Form) -> bool {
    let viscosity = match form {
        Form::Solid => return false,
        Form::MoltenAt40C { viscosity_mm2_s }
        | Form::Liquid {
            viscosity_mm2_s, ..
        } => viscosity_mm2_s,
    };
    viscosity.is_none_or(|viscosity| viscosity <= rust_decimal::Decimal::new(205, 1))
}

/// CLP Annex I, 3.10.3.3.1: 10 % of substances that count from 1 %, in
/// something thin at 40 °C.
fn aspiration(substances: &[Substance], rules: Rules, form: &Form, tests: &mut Vec<Test>) {
    let terms: Vec<Term> = substances
        .iter()
        .enumerate()
        .filter(|(_, substance)| substance.is(Class::AspTox1))
        .map(|(place, _)| Term {
            substance: place,
            cut_off: Fraction::ONE,
            weight: Fraction::ONE,
        })
        .collect();
    if terms.is_empty() {
        return;
    }
    tests.push(Test {
        class: Class::AspTox1,
        then: if is_thin(form) {
            Then::Classify
        } else {
            Then::Warn
        },
        terms,
        limit: Fraction::whole(10),
        unknown: Vec::new(),
        law: law(
            rules,
            "CLP Annex I, 3.10.3.3.1",
            "UN GHS Rev. 7, 3.10.3.3.1",
        ),
    });
}
