//! The calculation `label-elements`: from classes to what the label carries.

use std::collections::BTreeMap;

use measure::{
    Checker, Problems, Reading, Typed, Unclear, Volume, VolumeUnit, Working, parse_decimal,
};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    Audience, Declared, Elements, LeftOut, Setting, State, Supplement, UNITED_STATES, Wording,
    elements,
};
use crate::class::Hazard;
use crate::given::{self, Place};
use crate::pack::{Closures, Due, Relief};
use crate::phrase::{Language, Own, OwnWords};
use crate::precaution::Choice;
use crate::regime::Rules;

/// A classification and where, to whom and in what it is sold.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a plain yes or no of the input"
)]
pub struct Input {
    /// `EU`, `NI`, `GB`, `UN` or `US`.
    #[serde(default)]
    pub jurisdiction: Option<String>,
    /// The day the law is read on: `2026-12-01`.
    #[serde(default)]
    pub date: Option<String>,
    /// The mixture's classes: `Skin Sens. 1 H317`.
    #[serde(default)]
    pub classification: Vec<String>,
    /// Substances that lead to a class for which they are named.
    #[serde(default)]
    pub contains: Vec<String>,
    /// Sensitisers at or above their elicitation limit that do not classify it.
    #[serde(default)]
    pub sensitisers: Vec<String>,
    /// Share whose acute toxicity is unknown: `2 %`.
    #[serde(default)]
    pub unknown_acute: Option<String>,
    /// Share whose hazard to water is unknown.
    #[serde(default)]
    pub unknown_aquatic: Option<String>,
    /// Languages of the label: `en`, `de`, `fr`, `es`; English when left out.
    #[serde(default)]
    pub languages: Vec<String>,
    /// `public` or `professional`; the public when left out.
    #[serde(default)]
    pub audience: Option<String>,
    /// `solid` or `liquid`; solid when left out.
    #[serde(default)]
    pub form: Option<String>,
    /// Whether it is warmed or burnt in use; yes when left out.
    #[serde(default)]
    pub warmed: Option<bool>,
    /// Whether instructions for use come with it.
    #[serde(default)]
    pub instructions: bool,
    /// What the package holds: `60 ml`.
    #[serde(default)]
    pub capacity: Option<String>,
    /// That the whole label fits neither on a fold-out, nor a tag, nor an outer
    /// packaging, and what may be left out is to be left out.
    #[serde(default)]
    pub no_room: bool,
    /// Names and claims on the pack, looked through for forbidden words.
    #[serde(default)]
    pub claims: Vec<String>,
    /// Words for a statement's gap by code and language:
    /// `{"P501":{"en":"a household waste bin"}}`.
    #[serde(default)]
    pub gaps: BTreeMap<String, BTreeMap<String, String>>,
    /// Whole official texts the tables lack, looked up by you, by code and
    /// language.
    #[serde(default)]
    pub texts: BTreeMap<String, BTreeMap<String, String>>,
    /// Whether dry skin is a concern though it is no irritant.
    #[serde(default)]
    pub dries_skin: bool,
    /// Whether it holds what obliges to give a sheet on request.
    #[serde(default)]
    pub sheet_on_request: bool,
}

/// What the label must carry.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Output {
    /// The law it was read by.
    pub rules: String,
    /// Whether a label by that law is due.
    pub due: bool,
    /// Pictograms by code.
    pub pictograms: Vec<String>,
    /// Signal word in English; null for none.
    pub signal_word: Option<String>,
    /// Hazard statements by code.
    pub hazard_statements: Vec<String>,
    /// Precautions by code.
    pub precautionary: Vec<String>,
    /// The same with the reason for each.
    pub precautions: Vec<Choice>,
    /// Precautions to add freely, apart from the rest.
    pub voluntary: Vec<String>,
    /// Supplemental statements.
    pub supplemental: Vec<Supplement>,
    /// Substances named beside the product's name.
    pub named: Vec<String>,
    /// What was left out, with the reason and the paragraph.
    pub left_out: Vec<LeftOut>,
    /// The label in each language; a language with something missing cannot be
    /// printed.
    pub wording: Vec<Wording>,
    /// Smallest sizes, where the capacity was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sizes: Option<SizesShown>,
    /// Closure and tactile mark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closures: Option<Closures>,
    /// What a small package may leave out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relief: Option<Relief>,
    /// Unique formula identifier and notice to poison centres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub formula_identifier: Option<Due>,
    /// Why it may not be sold so.
    pub blocked: Vec<String>,
    /// What else to know.
    pub notes: Vec<String>,
    /// How it was found.
    pub working: Working,
}

/// The smallest sizes in words and figures.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SizesShown {
    /// The label.
    pub label: String,
    /// Its width, mm.
    pub label_width_mm: u16,
    /// Its height, mm.
    pub label_height_mm: u16,
    /// The side of a pictogram.
    pub pictogram: String,
    /// The same, never less, mm.
    pub pictogram_mm: u16,
    /// The same, where possible, mm.
    pub pictogram_wanted_mm: u16,
    /// The height of a lower-case x.
    pub x_height: String,
    /// The same in mm.
    pub x_height_mm: f64,
    /// Distance of lines.
    pub leading: String,
}

fn sizes_shown(sizes: &super::Sizes) -> SizesShown {
    let (width, height) = sizes.label_mm;
    SizesShown {
        label: format!(
            "{}{width} × {height} mm",
            if sizes.label_if_possible {
                "if possible "
            } else {
                ""
            }
        ),
        label_width_mm: width,
        label_height_mm: height,
        pictogram: if sizes.pictogram_wanted_mm > sizes.pictogram_mm {
            format!(
                "{} mm a side, never under {} mm",
                sizes.pictogram_wanted_mm, sizes.pictogram_mm
            )
        } else {
            format!("{} mm a side", sizes.pictogram_mm)
        },
        pictogram_mm: sizes.pictogram_mm,
        pictogram_wanted_mm: sizes.pictogram_wanted_mm,
        x_height: format!(
            "{} mm{}",
            sizes.x_height_mm,
            if sizes.x_height_is_law {
                ""
            } else {
                ", advice: the law on that day asks for easily readable type"
            }
        ),
        x_height_mm: sizes.x_height_mm.to_f64().unwrap_or_default(),
        leading: format!("{} times the type size", sizes.leading),
    }
}

/// Answers `label-elements`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let place = check.required("jurisdiction", input.jurisdiction.as_deref(), given::place);
    let rules = match place {
        Some(Place::Law(law)) => check.required("date", input.date.as_deref(), |text| {
            given::rules(law, text)
        }),
        // Where the law is not known or asks for nothing, the day is no matter.
        _ => None,
    };
    let mut hazards = Vec::new();
    for (idx, text) in input.classification.iter().enumerate() {
        let read = check.keep(&format!("classification[{idx}]"), Hazard::parse(text));
        hazards.extend(read);
    }
    let mut languages = Vec::new();
    for (idx, code) in input.languages.iter().enumerate() {
        languages.extend(check.keep(&format!("languages[{idx}]"), language(code)));
    }
    if input.languages.is_empty() {
        languages.push(Language::En);
    }
    let audience = check
        .optional("audience", input.audience.as_deref(), |text| {
            one_of(
                text,
                &[
                    ("public", Audience::Public),
                    ("professional", Audience::Professional),
                ],
                "write public or professional",
            )
        })
        .unwrap_or(Audience::Public);
    let state = check
        .optional("form", input.form.as_deref(), |text| {
            one_of(
                text,
                &[("solid", State::Solid), ("liquid", State::Liquid)],
                "write solid or liquid",
            )
        })
        .unwrap_or(State::Solid);
    let capacity_ml = check.optional("capacity", input.capacity.as_deref(), |text| {
        let volume = Typed::<Volume>::parse(text)?.value();
        if volume.is_zero() {
            return Err(Unclear::new(
                text,
                "a package that holds nothing",
                "write what the package holds, such as 60 ml",
            ));
        }
        Ok(volume.to_decimal(VolumeUnit::Millilitre))
    });
    let mut share = |field: &str, text: &Option<String>| {
        check
            .optional(field, text.as_deref(), percent)
            .unwrap_or_default()
    };
    let unknown_acute = share("unknown_acute", &input.unknown_acute);
    let unknown_aquatic = share("unknown_aquatic", &input.unknown_aquatic);
    let mut own = OwnWords::new();
    let gaps = input.gaps.iter().map(|given| ("gaps", given));
    let texts = input.texts.iter().map(|given| ("texts", given));
    for (field, (code, by_language)) in gaps.chain(texts) {
        for (short, words) in by_language {
            let read = check.keep(&format!("{field}.{code}.{short}"), language(short));
            if let Some(language) = read {
                let words = if field == "gaps" {
                    Own::Gap(words.clone())
                } else {
                    Own::Text(words.clone())
                };
                own.insert((code.clone(), language), words);
            }
        }
    }
    check.finish()?;
    let Some(rules) = rules else {
        return Ok(Output {
            rules: "United States: no label elements by the GHS".to_owned(),
            notes: vec![UNITED_STATES.to_owned()],
            ..Output::default()
        });
    };
    let declared = Declared {
        hazards,
        named: input.contains.clone(),
        sensitisers_below: input.sensitisers.clone(),
        unknown_acute,
        unknown_aquatic,
        sheet_on_request: input.sheet_on_request,
        dries_skin: input.dries_skin,
    };
    let setting = Setting {
        rules,
        audience,
        state,
        warmed: input.warmed.unwrap_or(true),
        instructions: input.instructions,
        capacity_ml,
        languages,
        no_room: input.no_room,
        own,
        claims: input.claims.clone(),
    };
    Ok(show(&elements(&declared, &setting), rules))
}

fn show(found: &Elements, rules: Rules) -> Output {
    let mut notes = found.notes.clone();
    notes.push(
        "This informs and does not decide: the supplier's current safety data sheet comes first, \
         and only the official texts bind."
            .to_owned(),
    );
    Output {
        rules: format!("{} on {}", rules.jurisdiction, rules.on),
        due: found.due,
        pictograms: found.pictograms.iter().map(ToString::to_string).collect(),
        signal_word: found.signal_word.map(|word| word.to_string()),
        hazard_statements: found.hazard_statements.clone(),
        precautionary: found
            .precaution_codes()
            .into_iter()
            .map(str::to_owned)
            .collect(),
        precautions: found.precautionary.clone(),
        voluntary: found.voluntary.clone(),
        supplemental: found.supplemental.clone(),
        named: found.named.clone(),
        left_out: found.left_out.clone(),
        wording: found.wording.clone(),
        sizes: found.sizes.as_ref().map(sizes_shown),
        closures: Some(found.closures.clone()),
        relief: found.relief.clone(),
        formula_identifier: Some(found.formula_identifier.clone()),
        blocked: found.blocked.clone(),
        notes,
        working: found.working(),
    }
}

fn language(code: &str) -> Result<Language, Unclear> {
    Language::of_code(code).ok_or_else(|| {
        Unclear::new(
            code,
            "there are no statements in that language",
            "write en, de, fr or es",
        )
    })
}

fn percent(text: &str) -> Result<Decimal, Unclear> {
    let accepted = "write a share such as 2 %";
    let figure = text
        .trim()
        .strip_suffix('%')
        .ok_or_else(|| Unclear::new(text, "there is no percent sign", accepted))?;
    let share = parse_decimal(figure.trim(), Reading::PLAIN)
        .map_err(|unclear| Unclear::new(text, unclear.wrong, accepted))?;
    if (Decimal::ZERO..=Decimal::ONE_HUNDRED).contains(&share) {
        Ok(share)
    } else {
        Err(Unclear::new(
            text,
            "that is not a share from 0 to 100 %",
            accepted,
        ))
    }
}

fn one_of<T: Copy>(
    text: &str,
    choices: &[(&str, T)],
    accepted: &'static str,
) -> Result<T, Unclear> {
    let wanted = text.trim();
    if wanted.is_empty() {
        return Err(Unclear::new(text, "it is missing", accepted));
    }
    choices
        .iter()
        .find_map(|(name, value)| name.eq_ignore_ascii_case(wanted).then_some(*value))
        .ok_or_else(|| Unclear::new(wanted, "that is not one of the choices", accepted))
}
