//! The calculation `classify`: a composition in, its classes out.

use measure::{Checker, Problem, Problems, Reading, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Classification, Near, classify, working};
use crate::given::{self, FormText, Line, Load, Place};
use crate::label::{self, Pictogram, Setting, SignalWord, State};
use crate::mixture::{Form, Mixture, Part, Unlisted, percent_figure};
use crate::regime::Rules;
use crate::rule::{self, Then};

/// A mixture by its substances, or an oil at a load in a wax.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Whose law: EU, GB, UN, or US for a word on why there is none.
    #[serde(default)]
    pub jurisdiction: String,
    /// The day of first sale: `2026-12-01`.
    #[serde(default)]
    pub date: Option<String>,
    /// `solid` (when left out), `molten at 40 C` or `liquid`.
    #[serde(default)]
    pub form: Option<String>,
    /// Of a liquid: its flash point.
    #[serde(default)]
    pub flash_point: Option<String>,
    /// Of a liquid: its initial boiling point.
    #[serde(default)]
    pub boiling_point: Option<String>,
    /// Of what is thin at 40 °C: its kinematic viscosity there, `18 mm2/s`.
    #[serde(default)]
    pub viscosity: Option<String>,
    /// The whole mixture.
    #[serde(default)]
    pub mixture: Option<Vec<Line>>,
    /// Or the oil.
    #[serde(default)]
    pub oil: Option<Vec<Line>>,
    /// With its load: `10 % of wax`, `9.09 % of total`.
    #[serde(default)]
    pub load: Option<String>,
    /// And the wax, where it has anything that is classified.
    #[serde(default)]
    pub wax: Option<Vec<Line>>,
    /// What the shares leave open: `not hazardous` by the supplier's word, or
    /// `unknown` (when left out).
    #[serde(default)]
    pub unlisted: Option<String>,
}

/// What the mixture is by law.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The law, and the day it was read on.
    pub law: String,
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
    /// What nobody knows.
    pub unknown: UnknownShares,
    /// How each class was reached.
    pub found: Vec<FoundClass>,
    /// Limits it is close to.
    pub near: Vec<NearLimit>,
    /// The acute toxicity estimates of the mixture.
    pub acute_estimates: Vec<String>,
    /// M-factors that are missing; the answer holds with 1.
    pub provisional: Vec<MissingFactor>,
    /// Whether it may not be sold to the public at all.
    pub forbidden_to_the_public: bool,
    /// Sentences that belong beside the answer.
    pub notes: Vec<String>,
    /// What the answer is worth.
    pub caution: String,
    /// How it was found.
    pub working: Working,
}

/// A statement that names substances.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Supplemental {
    /// Its code: `EUH208`.
    pub code: String,
    /// The substances.
    pub substances: Vec<String>,
}

/// Shares nobody knows the hazard of.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct UnknownShares {
    /// If swallowed.
    pub acute_oral: String,
    /// On the skin.
    pub acute_dermal: String,
    /// Breathed in.
    pub acute_inhalation: String,
    /// In water.
    pub aquatic: String,
    /// The substances.
    pub substances: Vec<String>,
}

/// A class and what led to it.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct FoundClass {
    /// The class with its statement.
    pub class: String,
    /// The substances that decide, the weightiest first.
    pub deciding: Vec<String>,
    /// Whether only the upper ends of the ranges lead here.
    pub only_by_worst_case: bool,
    /// The paragraph or table.
    pub law: String,
}

/// A limit not far off.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct NearLimit {
    /// The class that would follow; `named` for a sensitiser's name.
    pub class: String,
    /// What was added up; of acute toxicity the estimate.
    pub value: String,
    /// What it would have to reach; an estimate would have to fall to it.
    pub limit: String,
    /// The substances in it.
    pub substances: Vec<String>,
}

/// An M-factor to ask for.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct MissingFactor {
    /// The substance.
    pub substance: String,
    /// Aquatic Acute 1 or Aquatic Chronic 1.
    pub class: String,
    /// The smallest factor that would change the answer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changes_from: Option<u32>,
    /// To this class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changes_to: Option<String>,
}

/// What stands beside every answer of this crate.
pub(crate) const CAUTION: &str = "Worked out from what you entered; the supplier's current safety \
    data sheet comes first, and only the official texts bind.";

/// Answers `classify`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `classify` for an input typed by a workshop's own habits.
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
        // The day is checked even where the law is not known.
        let jurisdiction = match place {
            Some(Place::Law(jurisdiction)) => jurisdiction,
            _ => crate::Jurisdiction::Eu,
        };
        given::rules(jurisdiction, text)
    });
    let form = given::form(
        &mut check,
        FormText {
            form: input.form.as_deref(),
            flash_point: input.flash_point.as_deref(),
            boiling_point: input.boiling_point.as_deref(),
            viscosity: input.viscosity.as_deref(),
        },
        reading,
    );
    let unlisted = given::unlisted(&mut check, input.unlisted.as_deref());
    let (mixture, load) = composition(&mut check, input, unlisted, reading);
    check.finish()?;
    let (Some(mixture), Some(rules), Some(form)) = (mixture, rules, form) else {
        return Err(nothing_given().into());
    };
    let answer = classify(&mixture, &rules, &form);
    Ok(tell(&mixture, rules, &form, load, input, &answer))
}

fn nothing_given() -> Problem {
    Problem::new(
        "mixture",
        "",
        "there is nothing in the mixture",
        "give mixture, or oil with its load",
    )
}

/// The mixture, by its substances or by oil and wax.
fn composition(
    check: &mut Checker,
    input: &Input,
    unlisted: Unlisted,
    reading: Reading,
) -> (Option<Mixture>, Option<Load>) {
    let part = |name: &str, weight, ingredients| Part {
        name: name.to_owned(),
        weight,
        ingredients,
        unlisted,
    };
    if let Some(mixture) = &input.mixture {
        for (field, given) in [
            ("oil", input.oil.is_some()),
            ("wax", input.wax.is_some()),
            ("load", input.load.is_some()),
        ] {
            if given {
                check.refuse(Problem::new(
                    field,
                    "",
                    "a whole mixture is given as well",
                    "give mixture alone, or oil with its load",
                ));
            }
        }
        let ingredients = given::lines(check, "mixture", mixture, reading);
        if ingredients.is_empty() && !mixture.is_empty() {
            return (None, None);
        }
        let part = part("mixture", rust_decimal::Decimal::ONE_HUNDRED, ingredients);
        return (given::mixture(check, &[part], &["mixture"]), None);
    }
    let Some(oil) = &input.oil else {
        check.refuse(nothing_given());
        return (None, None);
    };
    let load = check.required("load", input.load.as_deref(), |text| {
        given::load(text, reading)
    });
    let wax = given::lines(
        check,
        "wax",
        input.wax.as_deref().unwrap_or_default(),
        reading,
    );
    let ingredients = given::lines(check, "oil", oil, reading);
    if ingredients.is_empty() && !oil.is_empty() {
        return (None, load);
    }
    // Without a load the shares are still looked at.
    let hundred = rust_decimal::Decimal::ONE_HUNDRED;
    let (of_wax, of_oil) = load.map_or((hundred, hundred), |load| (load.wax, load.oil));
    let wax = Part {
        unlisted: if input.wax.is_some() {
            unlisted
        } else {
            Unlisted::NotHazardous
        },
        ..part("wax", of_wax, wax)
    };
    let parts = [wax, part("oil", of_oil, ingredients)];
    (given::mixture(check, &parts, &["wax", "oil"]), load)
}

/// A limit not far off, of acute toxicity on the scale of its estimates.
fn near_limit(mixture: &Mixture, answer: &Classification, near: &Near) -> NearLimit {
    let percent = |percent: f64| format!("{} %", percent_figure(percent));
    let acute = near.class.acute().and_then(|(route, category)| {
        let sum = answer.acute.iter().find(|acute| acute.route == route)?;
        let (estimate, kind) = sum.estimate.zip(sum.kind)?;
        let told = |value: f64| format!("{} {}", percent_figure(value), kind.unit());
        Some((told(estimate), told(rule::acute_bound(kind, category))))
    });
    let (value, limit) = acute.unwrap_or_else(|| (percent(near.sum), percent(near.limit)));
    NearLimit {
        class: if near.then == Then::Name {
            "named".to_owned()
        } else {
            crate::Hazard::from(near.class).to_string()
        },
        value,
        limit,
        substances: near
            .deciding
            .iter()
            .map(|place| mixture.name(*place).to_owned())
            .collect(),
    }
}

fn united_states() -> Output {
    Output {
        law: "United States: Federal Hazardous Substances Act".to_owned(),
        classification: Vec::new(),
        signal_word: None,
        pictograms: Vec::new(),
        hazard_statements: Vec::new(),
        precautionary: Vec::new(),
        supplemental: Vec::new(),
        named: Vec::new(),
        unknown: UnknownShares {
            acute_oral: "0 %".to_owned(),
            acute_dermal: "0 %".to_owned(),
            acute_inhalation: "0 %".to_owned(),
            aquatic: "0 %".to_owned(),
            substances: Vec::new(),
        },
        found: Vec::new(),
        near: Vec::new(),
        acute_estimates: Vec::new(),
        provisional: Vec::new(),
        forbidden_to_the_public: false,
        notes: vec![label::UNITED_STATES.to_owned()],
        caution: "This is no judgement under the act; only the official texts bind.".to_owned(),
        working: Working::new(),
    }
}

fn tell(
    mixture: &Mixture,
    rules: Rules,
    form: &Form,
    load: Option<Load>,
    input: &Input,
    answer: &Classification,
) -> Output {
    let names = |places: &[usize]| {
        places
            .iter()
            .map(|place| mixture.name(*place).to_owned())
            .collect::<Vec<_>>()
    };
    let percent = |percent: f64| format!("{} %", percent_figure(percent));
    let mut working = Working::new();
    if let Some(load) = load {
        let whole = load.wax + load.oil;
        working.step(
            "Oil in everything",
            "oil ÷ (wax + oil)",
            format!("{} ÷ ({} + {})", load.oil, load.wax, load.oil),
            percent(crate::given::percent_of(load.oil, whole)),
            "the definition; every limit is a share of the finished thing (CLP Annex I, 1.1.2.2)",
        );
    }
    working.append(working::working(mixture, rules, answer));
    let mut notes = Vec::new();
    if input.oil.is_some() && input.wax.is_none() {
        notes.push(
            "The wax is taken as not hazardous by its supplier; look at its own sheet.".to_owned(),
        );
    }
    if *form == Form::Solid && input.form.is_none() {
        notes.push("Taken as solid at 40 °C.".to_owned());
    }
    notes.extend(answer.notes.iter().cloned());
    let setting = Setting {
        state: match form {
            Form::Liquid { .. } => State::Liquid,
            Form::Solid | Form::MoltenAt40C { .. } => State::Solid,
        },
        ..Setting::melt(rules, &[])
    };
    let elements = label::elements(&answer.declared(mixture), &setting);
    Output {
        law: format!("{}, {}", rules.jurisdiction, rules.on),
        classification: answer.hazards().map(|hazard| hazard.to_string()).collect(),
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
        unknown: UnknownShares {
            acute_oral: percent(answer.unknown.oral),
            acute_dermal: percent(answer.unknown.dermal),
            acute_inhalation: percent(answer.unknown.inhalation),
            aquatic: percent(answer.unknown.aquatic),
            substances: names(&answer.unknown.substances),
        },
        found: answer
            .found
            .iter()
            .map(|found| FoundClass {
                class: found.hazard.to_string(),
                deciding: names(&found.deciding),
                only_by_worst_case: found.only_by_worst_case,
                law: found.law.to_owned(),
            })
            .collect(),
        near: answer
            .near
            .iter()
            .map(|near| near_limit(mixture, answer, near))
            .collect(),
        acute_estimates: answer
            .acute
            .iter()
            .filter_map(|acute| {
                let (estimate, kind) = acute.estimate.zip(acute.kind)?;
                Some(format!(
                    "{}: {} {}",
                    acute.route,
                    percent_figure(estimate),
                    kind.unit()
                ))
            })
            .collect(),
        provisional: answer
            .provisional
            .iter()
            .map(|missing| MissingFactor {
                substance: mixture.name(missing.substance).to_owned(),
                class: missing.class.to_string(),
                changes_from: missing.changes.map(|(factor, _)| factor),
                changes_to: missing.changes.map(|(_, class)| class.to_string()),
            })
            .collect(),
        forbidden_to_the_public: answer.forbidden_to_the_public,
        notes,
        caution: CAUTION.to_owned(),
        working,
    }
}
