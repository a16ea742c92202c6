//! Decisions about labels.

use measure::Problem;

use super::{Decision, LONGEST_NAME, fact, line, refuse_if_any};
use crate::facts::{LabelSettings, LabelSettled};
use crate::state::Workshop;

/// The longest address.
const LONGEST_ADDRESS: usize = 200;
/// The longest telephone or VAT number.
const LONGEST_NUMBER: usize = 40;

/// Sets where labels are read, in which languages, and who stands on them.
///
/// # Errors
///
/// [`Refusal::Input`](crate::Refusal::Input) without a market or a language,
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
    refuse_if_any(problems)?;
    Ok(fact(LabelSettled { settings }))
}
