//! Decisions about labels.

use jiff::civil::Date;
use measure::Problem;

use super::{Decision, LONGEST_NAME, fact, known_pour, line, not_too_many, refuse_if_any};
use crate::Refusal;
use crate::facts::{
    Destination, DestinationId, DestinationLabelMarkedReady, DestinationSettled, HOME, Identifier,
    LabelMarkedReady, LabelPart, LabelSettings, LabelSettled, LabelsPrinted, PourId, ProductId,
};
use crate::label::{
    elements_of, ground_of, identifier_by, label_case_for, number_is_taken, owner_of,
};
use crate::state::Workshop;

/// The longest address.
const LONGEST_ADDRESS: usize = 200;
/// The longest telephone or VAT number.
const LONGEST_NUMBER: usize = 40;
/// The most lines a destination adds to a label.
const MOST_MARKS: usize = 6;
/// The most labels anyone prints at once.
const MOST_LABELS: u32 = 10_000;

/// Sets where labels are read, in which languages, and who stands on them.
///
/// # Errors
///
/// [`Refusal::Input`] without a market or a language,
/// or for a supplier without name, address or telephone number where a law of
/// labels asks for them.
pub fn settle_labels(_: &Workshop, mut settings: LabelSettings) -> Decision {
    let mut problems = Vec::new();
    check_settings(&mut settings, &mut problems);
    refuse_if_any(problems)?;
    Ok(fact(LabelSettled { settings }))
}

fn check_settings(settings: &mut LabelSettings, problems: &mut Vec<Problem>) {
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
    for language in &settings.languages {
        if !languages.contains(language) {
            languages.push(*language);
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
}

/// Settles what a label carries that goes to a destination of its own; a number
/// not used yet adds one.
///
/// # Errors
///
/// As [`settle_labels`]; and for a name that is missing or another
/// destination's, a number out of turn, more lines than a label has room for,
/// and a web address that is none.
pub fn settle_destination(
    workshop: &Workshop,
    destination: DestinationId,
    mut details: Destination,
) -> Decision {
    let next = workshop.next_destination();
    if destination == HOME || destination > next {
        return Err(Refusal::Unknown {
            what: "destination",
            id: destination.to_string(),
        });
    }
    let mut problems = Vec::new();
    match line("destination_name", &details.name, LONGEST_NAME) {
        Ok(name) => details.name = name,
        Err(problem) => problems.push(problem),
    }
    let wanted = details.name.to_lowercase();
    let is_taken = workshop
        .destinations()
        .any(|(id, other)| id != destination && other.name.to_lowercase() == wanted);
    if is_taken {
        problems.push(Problem::new(
            "destination_name",
            details.name.clone(),
            "another destination is called so",
            "choose another name",
        ));
    }
    check_settings(&mut details.settings, &mut problems);
    let mut keep = |field: &str, text: &mut String, longest: usize| {
        let plain = text.trim().to_owned();
        if plain.is_empty() {
            text.clear();
            return;
        }
        match line(field, &plain, longest) {
            Ok(plain) => *text = plain,
            Err(problem) => problems.push(problem),
        }
    };
    keep("responsible", &mut details.responsible, LONGEST_ADDRESS);
    keep("emergency", &mut details.emergency, LONGEST_ADDRESS);
    keep("link", &mut details.link, LONGEST_ADDRESS);
    details.marks.retain(|mark| !mark.trim().is_empty());
    for mark in &mut details.marks {
        keep("marks", mark, LONGEST_NAME);
    }
    problems.extend(not_too_many("marks", details.marks.len(), MOST_MARKS).err());
    if !details.link.is_empty() && (details.link.contains(' ') || !details.link.contains('.')) {
        problems.push(Problem::new(
            "link",
            details.link.clone(),
            "it is no web address",
            "write one such as quillfen.example/fig",
        ));
    }
    refuse_if_any(problems)?;
    if workshop.destination(destination) == Some(&details) {
        return Ok(Vec::new());
    }
    Ok(fact(DestinationSettled {
        destination,
        details,
    }))
}

/// Writes down that labels of a good were printed, in the version that stands.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good, lot or destination that is not there;
/// [`Refusal::Input`] for none at all, more than anyone prints, or a lot that
/// is another good's.
pub fn note_printed(
    workshop: &Workshop,
    product: ProductId,
    lot: Option<PourId>,
    destination: DestinationId,
    part: LabelPart,
    count: u32,
) -> Decision {
    let unknown = |what: &'static str, id: String| Refusal::Unknown { what, id };
    let good = workshop
        .product(product)
        .ok_or_else(|| unknown("good", product.to_string()))?;
    if destination != HOME && workshop.destination(destination).is_none() {
        return Err(unknown("destination", destination.to_string()));
    }
    if !(1..=MOST_LABELS).contains(&count) {
        return Err(Problem::new(
            "count",
            count.to_string(),
            "that is no number of labels",
            format!("write a whole number from 1 to {MOST_LABELS}"),
        )
        .into());
    }
    if let Some(lot) = lot {
        let pour = known_pour(workshop, lot)?;
        if pour.product != Some(product) {
            return Err(Problem::new(
                "lot",
                pour.lot.clone(),
                format!("that lot is not {}", good.name),
                "choose a lot of this good",
            )
            .into());
        }
    }
    Ok(fact(LabelsPrinted {
        product,
        lot,
        destination,
        version: workshop.label_version(product, destination),
        part,
        count,
    }))
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
    mark_label_ready_for(workshop, product, HOME, number, day)
}

/// Marks a good's label for a destination ready to print, as it must be on
/// `day`.
///
/// # Errors
///
/// As [`mark_label_ready`]; and for a destination that is not there.
pub fn mark_label_ready_for(
    workshop: &Workshop,
    product: ProductId,
    destination: DestinationId,
    number: Option<u32>,
    day: Date,
) -> Decision {
    let unknown = || {
        if workshop.product(product).is_some() {
            Refusal::Unknown {
                what: "destination",
                id: destination.to_string(),
            }
        } else {
            Refusal::Unknown {
                what: "good",
                id: product.to_string(),
            }
        }
    };
    let case = label_case_for(workshop, product, destination, day).ok_or_else(unknown)?;
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
        match identifier_by(workshop.settings_for(destination), number) {
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
    let (ground, elements) = (ground_of(&outlook, revision), elements_of(&outlook));
    Ok(if destination == HOME {
        fact(LabelMarkedReady {
            product,
            ground,
            elements,
            identifier,
        })
    } else {
        fact(DestinationLabelMarkedReady {
            product,
            destination,
            ground,
            elements,
            identifier,
        })
    })
}
