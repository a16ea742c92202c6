//! The calculation `label-ladder`: an oil in, the loads at which the label
//! changes out.

use measure::{Checker, Problem, Problems, Reading, Working};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Base, Change, Ladder, Load, Pot, Rung, What, ladder};
use crate::classify::{CAUTION, Supplemental};
use crate::given::{self, FormText, Line, Place};
use crate::label::{self, Pictogram, Setting, SignalWord, State};
use crate::mixture::{Form, Part, Unlisted, percent_figure};
use crate::regime::{Jurisdiction, Rules};

/// An oil, the wax it goes into, and the most that goes in.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Whose law: EU, GB, UN, or US for a word on why there is none.
    #[serde(default)]
    pub jurisdiction: String,
    /// The day of first sale: `2026-12-01`.
    #[serde(default)]
    pub date: Option<String>,
    /// `solid` (when left out) or `molten at 40 C`.
    #[serde(default)]
    pub form: Option<String>,
    /// Of what is molten at 40 °C: its kinematic viscosity there, `18 mm2/s`.
    #[serde(default)]
    pub viscosity: Option<String>,
    /// The oil's substances.
    #[serde(default)]
    pub oil: Vec<Line>,
    /// The wax's, where it has any that is classified.
    #[serde(default)]
    pub wax: Option<Vec<Line>>,
    /// The most the wax takes: `12 % of wax`. The answer is on the same base.
    #[serde(default)]
    pub max_load: Option<String>,
    /// The load looked at, if any.
    #[serde(default)]
    pub load: Option<String>,
    /// What the shares leave open: `not hazardous` by the supplier's word, or
    /// `unknown` (when left out).
    #[serde(default)]
    pub unlisted: Option<String>,
}

/// The label from no oil to the most.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The law, and the day it was read on.
    pub law: String,
    /// What the percentages are of: `of wax`, `of total`.
    pub of: String,
    /// The rungs, from the lowest load up.
    pub rungs: Vec<RungOut>,
    /// Which rung the load looked at stands on, counted from 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<usize>,
    /// Sentences that belong beside the answer.
    pub notes: Vec<String>,
    /// What the answer is worth.
    pub caution: String,
    /// How it was found.
    pub working: Working,
}

/// A stretch of loads with the same label.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct RungOut {
    /// Over which loads: `up to 7.41 %`, `above 7.41 %`.
    pub span: String,
    /// What the label carries, shortly.
    pub title: String,
    /// Where it begins, percent on the base of the answer.
    pub from_percent: f64,
    /// Where it ends.
    pub to_percent: f64,
    /// The highest load of wax that keeps it, rounded down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest_of_wax: Option<String>,
    /// The highest load of total that keeps it, rounded down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest_of_total: Option<String>,
    /// The classes with their statements.
    pub classification: Vec<String>,
    /// The word above the statements.
    pub signal_word: Option<SignalWord>,
    /// The pictograms.
    pub pictograms: Vec<Pictogram>,
    /// The hazard statements.
    pub hazard_statements: Vec<String>,
    /// The precautions chosen for the public, by code.
    pub precautionary: Vec<String>,
    /// Statements beside them, with the substances they name.
    pub supplemental: Vec<Supplemental>,
    /// Substances to be named beside the product's name.
    pub named: Vec<String>,
    /// What changes where it ends, and by which substance.
    pub then: Vec<String>,
    /// Why it may not be sold so, where it may not.
    pub blocked: Vec<String>,
}

/// Answers `label-ladder`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `label-ladder` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let place = check.required("jurisdiction", Some(&input.jurisdiction), given::place);
    if place == Some(Place::UnitedStates) {
        return Ok(united_states());
    }
    let rules = check.required("date", input.date.as_deref(), |text| {
        let jurisdiction = match place {
            Some(Place::Law(jurisdiction)) => jurisdiction,
            _ => Jurisdiction::Eu,
        };
        given::rules(jurisdiction, text)
    });
    let form = given::form(
        &mut check,
        FormText {
            form: input.form.as_deref(),
            viscosity: input.viscosity.as_deref(),
            ..FormText::default()
        },
        reading,
    );
    if let Some(Form::Liquid { .. }) = form {
        check.refuse(Problem::new(
            "form",
            input.form.clone().unwrap_or_default(),
            "a ladder is of oil in wax, which is solid",
            "write solid or molten at 40 C",
        ));
    }
    let most = check.required("max_load", input.max_load.as_deref(), |text| {
        given::load(text, reading)
    });
    let looked_at = check.optional("load", input.load.as_deref(), |text| {
        given::load(text, reading)
    });
    let unlisted = given::unlisted(&mut check, input.unlisted.as_deref());
    let wax = given::lines(
        &mut check,
        "wax",
        input.wax.as_deref().unwrap_or_default(),
        reading,
    );
    let oil = given::lines(&mut check, "oil", &input.oil, reading);
    let Some(most) = most else {
        return Err(check.into_problems());
    };
    if most.wax.is_zero() || most.oil.is_zero() {
        check.refuse(Problem::new(
            "max_load",
            input.max_load.clone().unwrap_or_default(),
            "that leaves no wax or no oil",
            "write a load such as 12 % of wax",
        ));
    }
    let base = [Part {
        name: "wax".to_owned(),
        weight: most.wax,
        ingredients: wax,
        unlisted: if input.wax.is_some() {
            unlisted
        } else {
            Unlisted::NotHazardous
        },
    }];
    let oil = Part {
        name: "oil".to_owned(),
        weight: most.oil,
        ingredients: oil,
        unlisted,
    };
    if check.is_clean() || !oil.ingredients.is_empty() {
        // So that shares over 100 % are told together with the rest.
        let parts = [base[0].clone(), oil.clone()];
        given::mixture(&mut check, &parts, &["wax", "oil"]);
    }
    check.finish()?;
    let (Some(rules), Some(form)) = (rules, form) else {
        return Err(
            Problem::new("date", "", "the day is missing", "write it as 2026-12-01").into(),
        );
    };
    let pot = Pot {
        base: &base,
        wax: most.wax,
        oil: &oil,
    };
    let ladder = ladder(&pot, &rules, &form)?;
    let written = if most.of_total {
        Base::Total
    } else {
        Base::Wax
    };
    let at = looked_at.map(|load| ladder.place(load.oil, load.wax));
    Ok(tell(&ladder, written, rules, input, at))
}

fn united_states() -> Output {
    Output {
        law: "United States: Federal Hazardous Substances Act".to_owned(),
        of: Base::Wax.words().to_owned(),
        rungs: Vec::new(),
        at: None,
        notes: vec![label::UNITED_STATES.to_owned()],
        caution: "This is no judgement under the act; only the official texts bind.".to_owned(),
        working: Working::new(),
    }
}

fn tell(ladder: &Ladder, base: Base, rules: Rules, input: &Input, at: Option<usize>) -> Output {
    let setting = Setting {
        state: State::Solid,
        ..Setting::melt(rules, &[])
    };
    let mut working = Working::new();
    let mut notes: Vec<String> = Vec::new();
    if input.wax.is_none() {
        notes.push(
            "The wax is taken as not hazardous by its supplier; look at its own sheet.".to_owned(),
        );
    }
    if input
        .form
        .as_deref()
        .is_none_or(|form| form.trim().is_empty())
    {
        notes.push("Taken as solid at 40 °C.".to_owned());
    }
    let rungs = ladder
        .rungs
        .iter()
        .enumerate()
        .map(|(place, rung)| {
            for change in &rung.then {
                step(&mut working, rung, change, base);
            }
            let elements = label::elements(&rung.declared, &setting);
            let figure = |load: Load| base.of(load).to_f64().unwrap_or(f64::NAN);
            RungOut {
                span: ladder.span(place, base),
                title: rung.title(elements.signal_word),
                from_percent: figure(rung.from),
                to_percent: figure(rung.to),
                highest_of_wax: rung.keeps.map(|keeps| format!("{} %", keeps.of_wax)),
                highest_of_total: rung.keeps.map(|keeps| format!("{} %", keeps.of_total)),
                classification: rung.hazards.iter().map(ToString::to_string).collect(),
                signal_word: elements.signal_word,
                pictograms: elements.pictograms,
                hazard_statements: elements.hazard_statements,
                precautionary: elements
                    .precautionary
                    .iter()
                    .map(|choice| choice.code.to_owned())
                    .collect(),
                supplemental: elements
                    .supplemental
                    .into_iter()
                    .map(|extra| Supplemental {
                        code: extra.code,
                        substances: extra.substances,
                    })
                    .collect(),
                named: elements.named,
                then: rung
                    .then
                    .iter()
                    .map(|change| sentence(rung, change, base))
                    .collect(),
                blocked: elements.blocked,
            }
        })
        .collect();
    // What is provisional or unknown at the most is so on every rung.
    if let Some(last) = ladder.rungs.last() {
        notes.extend(last.classification.notes.iter().cloned());
    }
    Output {
        law: format!("{}, {}", rules.jurisdiction, rules.on),
        of: base.words().to_owned(),
        rungs,
        at,
        notes,
        caution: CAUTION.to_owned(),
        working,
    }
}

/// A load where something changes, to a ten-thousandth of a percent.
fn shown(percent: Decimal) -> String {
    format!("{} %", percent.round_dp(4).normalize())
}

fn who(change: &Change) -> String {
    const SHOWN: usize = 3;
    let mut who = change
        .deciding
        .iter()
        .take(SHOWN)
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(", ");
    if change.deciding.len() > SHOWN {
        who.push_str(" and others");
    }
    who
}

fn what(change: &Change) -> String {
    match change.what {
        What::Begins(hazard) => format!("{hazard} begins"),
        What::Ends(hazard) => format!("{hazard} ends"),
        What::Becomes(old, new) => format!("{old} becomes {new}"),
        What::Names => format!("{} must be named", who(change)),
        What::NamesNoMore => format!("{} need no longer be named", who(change)),
    }
}

/// `From 10 % of wax on Skin Sens. 1B H317 begins, by linalool.`
fn sentence(rung: &Rung, change: &Change, base: Base) -> String {
    let at = shown(base.of(rung.to));
    let of = base.words();
    let what = what(change);
    let start = if rung.holds_its_end() {
        format!("Above {at} {of}")
    } else {
        format!("From {at} {of} on")
    };
    match change.what {
        What::Names | What::NamesNoMore => format!("{start} {what}."),
        _ => format!("{start} {what}, by {}.", who(change)),
    }
}

fn step(working: &mut Working, rung: &Rung, change: &Change, base: Base) {
    const SHOWN: usize = 4;
    let mut numbers = change
        .deciding
        .iter()
        .zip(&change.shares)
        .take(SHOWN)
        .map(|(name, share)| format!("{name} {} %", percent_figure(*share)))
        .collect::<Vec<_>>()
        .join(" + ");
    if change.deciding.len() > SHOWN {
        numbers.push_str(" + others");
    }
    let other = match base {
        Base::Wax => Base::Total,
        Base::Total => Base::Wax,
    };
    working.step(
        what(change),
        "share of the oil × oil in everything, those that count added up by the law's weights, \
         equals the limit",
        format!("{numbers}; the limit is {} %", percent_figure(change.limit)),
        format!(
            "{} {} ({} {})",
            shown(base.of(rung.to)),
            base.words(),
            shown(other.of(rung.to)),
            other.words()
        ),
        change.law,
    );
}
