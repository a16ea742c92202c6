//! Decisions about money paid for other things than supplies.

use measure::{Money, Problem};

use super::{Decision, fact, not_too_dear, note};
use crate::facts::{ExpenseKind, ExpensePaid};
use crate::state::Workshop;

/// Writes down that money was paid for something other than supplies and
/// market days; below zero when it was given back.
///
/// # Errors
///
/// [`crate::Refusal::Input`] for an amount of nothing, in another currency
/// than the workshop's or past what anyone pays, and for a note that is
/// missing or too long.
pub fn pay_expense(
    workshop: &Workshop,
    kind: ExpenseKind,
    amount: Money,
    what_for: &str,
    back: bool,
) -> Decision {
    let note = note("note", what_for)?;
    not_too_dear("amount", amount)?;
    let wrong =
        |wrong: &str, accepted: String| Problem::new("amount", amount.to_string(), wrong, accepted);
    if amount.minor() == 0 {
        return Err(wrong("nothing was paid", "write what was paid".to_owned()).into());
    }
    let own = workshop.money_kept_in();
    if let Some(own) = own.filter(|own| *own != amount.currency()) {
        return Err(wrong(
            "the workshop keeps its money in another currency",
            format!("write it in {}", own.code()),
        )
        .into());
    }
    Ok(fact(ExpensePaid {
        kind,
        amount,
        note,
        back,
    }))
}
