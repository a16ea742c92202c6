//! The steps by which a mixture came to its classes.

use measure::Working;

use super::{Classification, Family};
use crate::class::{Class, Route};
use crate::mixture::{Mixture, percent_figure};
use crate::regime::Rules;
use crate::rule::{self, Level, Sum, Test, Then};

/// The steps: for each class the sum, the limit, the substances and the
/// paragraph; of the classes that were not reached the nearest of each kind.
pub fn working(mixture: &Mixture, rules: Rules, answer: &Classification) -> Working {
    let mut working = Working::new();
    for found in &answer.found {
        let class = found.hazard.class;
        if Family::of(class) == Family::Flammable {
            working.step(
                found.hazard.to_string(),
                "the flash point of the liquid itself",
                format!("{} °C", percent_figure(found.sum)),
                if found.limit < 60.0 {
                    "below 23 °C".to_owned()
                } else {
                    "from 23 °C to 60 °C".to_owned()
                },
                found.law,
            );
        }
    }
    let mut family = None;
    let mut start = 0;
    // The tests come class by class; what is never added up is gathered.
    let mut order: Vec<usize> = (0..answer.asked.len()).collect();
    order.sort_by_key(|place| {
        let test = &answer.asked[*place].0;
        (Family::of(test.class), test.then as u8)
    });
    for (nth, place) in order.iter().enumerate() {
        let own = Family::of(answer.asked[*place].0.class);
        if family != Some(own) {
            family_steps(mixture, rules, answer, &order[start..nth], &mut working);
            family = Some(own);
            start = nth;
        }
    }
    family_steps(mixture, rules, answer, &order[start..], &mut working);
    working
}

fn family_steps(
    mixture: &Mixture,
    rules: Rules,
    answer: &Classification,
    places: &[usize],
    working: &mut Working,
) {
    let asked = |place: &usize| &answer.asked[*place];
    let Some((first, _)) = places.first().map(asked) else {
        return;
    };
    let family = Family::of(first.class);
    let found = answer
        .found
        .iter()
        .find(|found| Family::of(found.hazard.class) == family);
    if let Family::Acute(route) = family {
        acute_step(mixture, rules, answer, route, working);
        return;
    }
    // Backwards, so that of two as near as each other the severer is shown.
    let classify = || {
        places
            .iter()
            .rev()
            .map(asked)
            .filter(|(test, _)| test.then == Then::Classify)
    };
    let ratio = |(test, sum): &&(Test, Sum)| sum.sum / test.limit.to_f64();
    let shown = match found {
        Some(found) => {
            let class = found.hazard.class;
            classify()
                .filter(|(test, sum)| {
                    sum.reached && (test.class == class || is_sensitiser(test.class))
                })
                .max_by(|a, b| ratio(a).total_cmp(&ratio(b)))
                .or_else(|| classify().find(|(_, sum)| sum.reached))
        }
        None => classify()
            .filter(|(_, sum)| sum.sum > 0.0)
            .max_by(|a, b| ratio(a).total_cmp(&ratio(b))),
    };
    if let Some((test, sum)) = shown {
        let result = match found {
            Some(found) => format!("{}: {}", held_against(test, sum), found.hazard),
            None => format!("{}: not {}", held_against(test, sum), test.class),
        };
        working.step(
            found.map_or_else(|| test.class.to_string(), |found| found.hazard.to_string()),
            formula(test),
            numbers(mixture, test),
            result,
            test.law,
        );
    }
    for (test, sum) in places.iter().map(asked) {
        let Some(substance) = test.terms.first().map(|term| term.substance) else {
            continue;
        };
        if test.then == Then::Name && answer.contains.contains(&substance) {
            working.step(
                format!("Named: {}", mixture.name(substance)),
                "the share of one sensitiser against its limit of elicitation",
                numbers(mixture, test),
                held_against(test, sum),
                test.law,
            );
        }
    }
}

fn is_sensitiser(class: Class) -> bool {
    matches!(Family::of(class), Family::Airways | Family::Allergy)
}

fn held_against(test: &Test, sum: &Sum) -> String {
    let limit = percent_figure(test.limit.to_f64());
    let own = percent_figure(sum.sum);
    if sum.reached {
        format!("{own} %, at or above {limit} %")
    } else if own == limit {
        // Rounded alike, or an upper end that is left out.
        format!("just under {limit} %")
    } else {
        format!("{own} %, below {limit} %")
    }
}

fn formula(test: &Test) -> &'static str {
    match test.class {
        Class::SkinCorr1 | Class::SkinCorr1A | Class::SkinCorr1B | Class::SkinCorr1C => {
            "sum of the corrosive ones, each from 1 % (or its own lower limit)"
        }
        Class::SkinIrrit2 => {
            "10 × the corrosive ones + the irritant ones, each from 1 % (or its own lower limit)"
        }
        Class::EyeDam1 => {
            "sum of the corrosive and the eye damaging ones, each once, from 1 % (or its own lower \
             limit)"
        }
        Class::EyeIrrit2 => {
            "10 × the corrosive and eye damaging ones + the eye irritant ones, each from 1 % (or \
             its own lower limit)"
        }
        Class::StotSe3Irritation | Class::StotSe3Narcosis => {
            "sum of those with this effect, each from 1 % (or its own lower limit)"
        }
        Class::AspTox1 => "sum of those with this class, each from 1 %",
        Class::AquaticAcute1 => "sum of M × Acute 1, each from (0.1 ÷ M) %",
        Class::AquaticChronic1 => "sum of M × Chronic 1, each from (0.1 ÷ M) %",
        Class::AquaticChronic2 => "10 × M × Chronic 1 + Chronic 2",
        Class::AquaticChronic3 => "100 × M × Chronic 1 + 10 × Chronic 2 + Chronic 3",
        Class::AquaticChronic4 => "Chronic 1 + Chronic 2 + Chronic 3 + Chronic 4, without M",
        _ => "the share of one substance against its limit; never added up",
    }
}

/// The sum with the numbers put in, the weightiest first.
fn numbers(mixture: &Mixture, test: &Test) -> String {
    const SHOWN: usize = 12;
    let counted = test.counted(mixture, Level::Worst);
    if counted.is_empty() {
        return "nothing is at or above its cut-off".to_owned();
    }
    let summand = |place: &usize| {
        let term = test.terms.iter().find(|term| term.substance == *place)?;
        let substance = mixture.substances.get(*place)?;
        let share = substance.concentration;
        let under = if share.high_open { "< " } else { "" };
        let share = format!(
            "{under}{} % ({})",
            percent_figure(share.most()),
            substance.name
        );
        let weight = term.weight.to_f64();
        Some(if (weight - 1.0).abs() < 1e-12 {
            share
        } else {
            format!("{} × {share}", percent_figure(weight))
        })
    };
    let mut text = counted
        .iter()
        .take(SHOWN)
        .filter_map(summand)
        .collect::<Vec<_>>()
        .join(" + ");
    if counted.len() > SHOWN {
        text = format!("{text} + {} more", counted.len() - SHOWN);
    }
    text
}

fn acute_step(
    mixture: &Mixture,
    rules: Rules,
    answer: &Classification,
    route: Route,
    working: &mut Working,
) {
    let found = answer
        .found
        .iter()
        .find(|found| Family::of(found.hazard.class) == Family::Acute(route));
    let parts = rule::acute_parts(mixture, route, rules);
    if parts.is_empty() {
        return;
    }
    let sum = parts
        .iter()
        .map(|(place, kind, value)| {
            format!(
                "{} % ÷ {} {} ({})",
                percent_figure(mixture.substances[*place].concentration.most()),
                percent_figure(value.to_f64()),
                kind.unit(),
                mixture.name(*place)
            )
        })
        .collect::<Vec<_>>()
        .join(" + ");
    let unknown = rule::relevant_unknown(mixture, route, rules);
    let (formula, over) = if unknown > rule::MOST_UNKNOWN {
        (
            "(100 − unknown) ÷ ATE = sum of share ÷ ATE",
            format!("(100 − {})", percent_figure(unknown)),
        )
    } else {
        ("100 ÷ ATE = sum of share ÷ ATE", "100".to_owned())
    };
    let estimate = answer
        .acute
        .iter()
        .find(|acute| acute.route == route)
        .and_then(|acute| acute.estimate.zip(acute.kind));
    let value = estimate.map_or_else(
        || "each on its own scale".to_owned(),
        |(estimate, kind)| format!("{} {}", percent_figure(estimate), kind.unit()),
    );
    let result = found.map_or_else(
        || format!("{value}: not classified"),
        |found| format!("{value}: {}", found.hazard),
    );
    working.step(
        found.map_or_else(
            || format!("Acute toxicity, {route}"),
            |found| found.hazard.to_string(),
        ),
        formula,
        format!("{over} ÷ ({sum})"),
        result,
        match rules.jurisdiction {
            crate::Jurisdiction::Un => "UN GHS Rev. 7, 3.1.3.6 and Table 3.1.1",
            _ => "CLP Annex I, 3.1.3.6 and Table 3.1.1",
        },
    );
}
