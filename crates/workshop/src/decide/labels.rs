//! Decisions about labels.

use jiff::civil::Date;
use measure::Problem;

use super::{Decision, LONGEST_NAME, fact, line, refuse_if_any};
use crate::Refusal;
use crate::facts::{Identifier, LabelMarkedReady, LabelSettings, LabelSettled, ProductId};
use crate::label::{elements_of, ground_of, identifier_of, label_case, number_is_taken, owner_of};
use crate::state::Workshop;

/// The longest address.
const LONGEST_ADDRESS: usize = 200;
/// The longest telephone or VAT number.
const LONGEST_NUMBER: usize = 40;

/// Sets where labels are read, in which languages, and who stands on them.
///
/// # Errors
///
/// [`Refusal::Input`] without a market or a language,
/// or for a supplier without name, address or telephone number where a law of
/// labels asks for them.
pub fn settle_labels(_: &Workshop, mut settings: LabelSettings) -> Decision {
    let mut problems = Vec::new();
    settings.markets.sort_unstable();
    settings.markets.dedup();
    if settings.markets.is_empty() {
        problems.push(Problem::new(
            "markets",
            "",
            "nowhere is chosen",
            "choose where the goods are sold",
        ));
    }
    let mut languages = Vec::new();
    for language in settings.languages {
        if !languages.contains(&language) {
            languages.push(language);
        }
    }
    settings.languages = languages;
    if settings.languages.is_empty() {
        problems.push(Problem::new(
            "languages",
            "",
            "no language is chosen",
            "choose at least one",
        ));
    }
    let is_due = settings.jurisdiction().is_some();
    let mut keep = |field: &str, text: &mut String, longest: usize, is_due: bool| {
        let plain = text.trim().to_owned();
        if plain.is_empty() && !is_due {
            text.clear();
            return;
        }
        match line(field, &plain, longest) {
            Ok(plain) => *text = plain,
            Err(problem) => problems.push(problem),
        }
    };
    keep("supplier_name", &mut settings.name, LONGEST_NAME, is_due);
    keep("address", &mut settings.address, LONGEST_ADDRESS, is_due);
    keep("phone", &mut settings.phone, LONGEST_NUMBER, is_due);
    keep("vat", &mut settings.vat, LONGEST_NUMBER, false);
    if !settings.vat.is_empty() {
        let wrong = owner_of(&settings.vat).err();
        problems.extend(wrong.map(|unclear| Problem::at("vat", unclear)));
    }
    refuse_if_any(problems)?;
    Ok(fact(LabelSettled { settings }))
}

/// Marks a good's label ready to print, as it must be on `day`.
///
/// `number` is the formulation number for its identifier; none takes the one
/// its formula has, or the next.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there; [`Refusal::Input`] with
/// everything that hinders it: no settings, no sheet, a line that was not
/// compared, a statement without a text, a load above the certificate's
/// maximum or the wax's limit, a sale the law forbids, and a formulation number
/// that another formula has.
pub fn mark_label_ready(
    workshop: &Workshop,
    product: ProductId,
    number: Option<u32>,
    day: Date,
) -> Decision {
    let unknown = || Refusal::Unknown {
        what: "good",
        id: product.to_string(),
    };
    let case = label_case(workshop, product, day).ok_or_else(unknown)?;
    let mut problems: Vec<_> = case
        .hindrances
        .iter()
        .map(|hindrance| {
            let words = hindrance.words(workshop);
            let (wrong, accepted) = words
                .rsplit_once("; ")
                .unwrap_or((words.as_str(), "look at what it rests on"));
            Problem::new("", "", wrong, accepted)
        })
        .collect();
    let formula = case.product.formula;
    let revision = workshop
        .formula(formula)
        .map_or(0, crate::Formula::revision);
    let number = number.unwrap_or(case.number);
    let mut identifier = None;
    if case.needs_identifier() {
        if let Some(other) = number_is_taken(workshop, number, formula, revision) {
            problems.push(Problem::new(
                "number",
                number.to_string(),
                format!(
                    "that number stands on a label of {} for another formula",
                    other.name
                ),
                "one identifier never covers two formulas; choose another number",
            ));
        }
        match identifier_of(workshop, number) {
            Ok(ufi) => {
                identifier = Some(Identifier {
                    number,
                    ufi: ufi.to_string(),
                });
            }
            Err(wrong) if problems.is_empty() => {
                problems.push(Problem::new(
                    "number",
                    number.to_string(),
                    wrong,
                    "choose another number",
                ));
            }
            Err(_) => {}
        }
    }
    refuse_if_any(problems)?;
    let outlook = case.outlook.ok_or_else(unknown)?;
    Ok(fact(LabelMarkedReady {
        product,
        ground: ground_of(&outlook, revision),
        elements: elements_of(&outlook),
        identifier,
    }))
}
