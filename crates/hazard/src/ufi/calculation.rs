//! The calculation `ufi`: make a unique formula identifier, or look into one.

use measure::{Checker, Problem, Problems, Unclear, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Country, FORMULATION_MAX, Owner, Ufi};

const MANUAL: &str = "ECHA, UFI Developers Manual, version 1.4, November 2021";

/// A company and a formulation number, or a UFI to check.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The VAT number, with or without its country's letters.
    #[serde(default)]
    pub vat: Option<String>,
    /// The two letters of the VAT number's country; not needed when the number
    /// begins with them.
    #[serde(default)]
    pub country: Option<String>,
    /// Instead of a VAT number: the company key as ECHA's own tool issued it.
    #[serde(default)]
    pub company_key: Option<Figure>,
    /// The formulation number, 0 to 268 435 455, chosen by the company and
    /// never used for two formulas.
    #[serde(default)]
    pub formulation: Option<Figure>,
    /// A UFI to check and read, instead of the others.
    #[serde(default)]
    pub check: Option<String>,
}

/// A whole number, as a number or as text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Figure {
    /// Written as a whole number.
    Whole(i64),
    /// Written as any other number; refused, with what is wrong with it.
    Fraction(f64),
    /// Written as text.
    Text(String),
}

impl Figure {
    fn text(&self) -> String {
        match self {
            Self::Whole(number) => number.to_string(),
            Self::Fraction(number) => number.to_string(),
            Self::Text(text) => text.trim().to_owned(),
        }
    }
}

/// A UFI made, or what one says.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The UFI, in four groups of four; none where the one to check is wrong.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ufi: Option<String>,
    /// Whether it passes every check.
    pub valid: bool,
    /// What is wrong with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrong: Option<String>,
    /// What to do about that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accepted: Option<String>,
    /// The two letters of the company's country.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub country: Option<String>,
    /// The VAT number that can be read out of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vat: Option<String>,
    /// The company key in it, as text because it may be long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub company_key: Option<String>,
    /// The formulation number in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub formulation: Option<u32>,
    /// When one is due and when not, and what it gives away.
    pub notes: Vec<String>,
    /// How it was found.
    pub working: Working,
}

/// Answers `ufi`.
///
/// # Errors
///
/// Every problem of the input, with its field. A UFI that fails its check is an
/// answer, not a problem.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let given = |text: &Option<String>| text.as_deref().is_some_and(|text| !text.trim().is_empty());
    let figure = |figure: &Option<Figure>| {
        figure
            .as_ref()
            .map(Figure::text)
            .filter(|text| !text.is_empty())
    };
    let (key, formulation) = (figure(&input.company_key), figure(&input.formulation));
    if given(&input.check) {
        for (field, is_given) in [
            ("vat", given(&input.vat)),
            ("country", given(&input.country)),
            ("company_key", key.is_some()),
            ("formulation", formulation.is_some()),
        ] {
            if is_given {
                check.refuse(Problem::new(
                    field,
                    "",
                    "a UFI to check was given beside what to make one from",
                    "give either `check` alone, or a company and a formulation",
                ));
            }
        }
        check.finish()?;
        let text = input.check.as_deref().unwrap_or_default();
        return Ok(match Ufi::parse(text) {
            Ok(ufi) => told(ufi, Question::Check),
            Err(unclear) => Output {
                ufi: None,
                valid: false,
                wrong: Some(unclear.wrong.into_owned()),
                accepted: Some(unclear.accepted.into_owned()),
                country: None,
                vat: None,
                company_key: None,
                formulation: None,
                notes: notes(None),
                working: Working::new(),
            },
        });
    }
    let country = check.optional("country", input.country.as_deref(), Country::parse);
    let country_is_clear = country.is_some() || !given(&input.country);
    let owner = match (given(&input.vat), &key) {
        (true, Some(key)) => {
            check.refuse(Problem::new(
                "company_key",
                key.as_str(),
                "there are both a VAT number and a company key",
                "give one of them",
            ));
            None
        }
        (false, Some(key)) => check.keep("company_key", Owner::key(key)),
        // With a wrong country nothing can be said about the number.
        _ if !country_is_clear => None,
        _ => {
            let text = input.vat.as_deref().unwrap_or_default();
            check.keep("vat", Owner::vat(text, country))
        }
    };
    let formulation = check.required("formulation", formulation.as_deref(), read_formulation);
    let (Some(owner), Some(formulation)) = (owner, formulation) else {
        return Err(check.into_problems());
    };
    check.finish()?;
    let ufi = Ufi::of(owner, formulation)
        .map_err(|unclear| Problems::from(Problem::at("formulation", unclear)))?;
    Ok(told(ufi, Question::Make))
}

fn read_formulation(text: &str) -> Result<u32, Unclear> {
    const ACCEPTED: &str = "choose a whole number from 0 to 268 435 455";
    if text.is_empty() {
        return Err(Unclear::new(
            text,
            "the formulation number is missing",
            ACCEPTED,
        ));
    }
    if text.starts_with('-') {
        return Err(Unclear::new(
            text,
            "a formulation number cannot be negative",
            ACCEPTED,
        ));
    }
    if !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Unclear::new(
            text,
            "a formulation number is a whole number",
            ACCEPTED,
        ));
    }
    text.parse()
        .ok()
        .filter(|number| *number <= FORMULATION_MAX)
        .ok_or_else(|| Unclear::new(text, "that formulation number is too large", ACCEPTED))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Question {
    Make,
    Check,
}

fn told(ufi: Ufi, question: Question) -> Output {
    let owner = ufi.decoded();
    let vat = owner.vat_text();
    let whose = owner.country().map_or("a company key", Country::letters);
    let mut working = Working::new();
    let held = (
        "Number in it",
        "formulation × 2⁴⁶ + country and VAT number or key × 2, 74 bits",
        format!(
            "formulation {}, {whose}, {}",
            ufi.formulation(),
            owner.number()
        ),
        ufi.payload.to_string(),
    );
    let written = (
        "Signs",
        "base 31, reordered, check sign in front: the signs weighted 1 to 16 make a multiple of 31",
        ufi.payload.to_string(),
        ufi.to_string(),
    );
    let steps = match question {
        Question::Make => [held, written],
        Question::Check => [written, held],
    };
    for (label, formula, numbers, result) in steps {
        working.step(label, formula, numbers, result, MANUAL);
    }
    Output {
        ufi: Some(ufi.to_string()),
        valid: true,
        wrong: None,
        accepted: None,
        country: owner.country().map(|country| country.letters().to_owned()),
        notes: notes(Some((owner, vat.is_some()))),
        vat,
        company_key: owner
            .country()
            .is_none()
            .then(|| owner.number().to_string()),
        formulation: Some(ufi.formulation()),
        working,
    }
}

/// # Source
///
/// CLP Art. 45 and Annex VIII: second hand. Great Britain: HSE and the National
/// Poisons Information Service, second hand.
fn notes(held: Option<(Owner, bool)>) -> Vec<String> {
    let mut notes = vec![
        "Due in the EU, the EEA and Northern Ireland: on a mixture classified for a physical or \
         health hazard, once its formula has been notified to the poison centre (CLP Art. 45, \
         Annex VIII). Print it only when the notification has been made."
            .to_owned(),
        "Not due: on a mixture without a classification (EUH208 alone is none), on one \
         classified for the environment alone, in Great Britain, and in the United States."
            .to_owned(),
        "One UFI stands for one formula. A changed formula takes a new formulation number; no \
         number is used twice."
            .to_owned(),
    ];
    match held {
        Some((owner, true)) if owner.country().is_some() => notes.push(
            "Anyone can read the VAT number and the formulation number out of a UFI. A company \
             key and a number that gives nothing away keep both private."
                .to_owned(),
        ),
        Some((owner, false)) if owner.country().is_some() => notes.push(
            "It passes every check, but the number in it is none that its country writes as a \
             VAT number."
                .to_owned(),
        ),
        _ => {}
    }
    notes
}
