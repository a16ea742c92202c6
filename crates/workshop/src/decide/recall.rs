//! Decisions about recalls and drills.

use measure::Problem;

use super::{Decision, fact, hold, note, refuse_if_any};
use crate::Refusal;
use crate::facts::{
    Fact, RecallAnswered, RecallBegun, RecallEnded, RecallId, RecallListed, Suspect, Told,
};
use crate::state::Workshop;
use crate::trace::{called, trace};
use crate::trade::Recall;

/// Begins a recall, or a drill of one. A recall in earnest stops every lot
/// concerned that is not stopped already.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a lot that is not there; [`Refusal::Input`] without
/// a reason, where nothing was made of it, or while one of the same kind about
/// the same lot is under way.
pub fn begin_recall(workshop: &Workshop, suspect: Suspect, drill: bool, reason: &str) -> Decision {
    let traced = trace(workshop, suspect).ok_or_else(|| match suspect {
        Suspect::Lot(pour) => Refusal::Unknown {
            what: "lot",
            id: pour.to_string(),
        },
        Suspect::SupplyLot(lot) => Refusal::Unknown {
            what: "supply lot",
            id: format!("{}.{}", lot.receipt, lot.line),
        },
    })?;
    let reason = note("reason", reason)?;
    if traced.lots.is_empty() {
        return Err(Problem::new(
            "",
            "",
            "nothing that was made of it stands on the rack or was sold",
            "finish or give up the pours that drew on it, and do not draw on it again",
        )
        .into());
    }
    let mut others = workshop.trade().recalls();
    let same = others.find(|recall| {
        recall.suspect == suspect && recall.drill == drill && recall.ended.is_none()
    });
    if let Some(recall) = same {
        let what = if drill { "drill" } else { "recall" };
        return Err(Problem::new(
            "",
            "",
            format!("{what} {} about it is under way", recall.id),
            "go on with that one, or end it first",
        )
        .into());
    }
    let recall = workshop.trade().next_recall();
    let mut facts: Vec<Fact> = fact(RecallBegun {
        recall,
        suspect,
        drill,
        reason: reason.clone(),
    });
    if !drill {
        for lot in &traced.lots {
            let is_held = workshop
                .pour(lot.pour)
                .is_none_or(|pour| pour.held.is_some());
            if !is_held {
                facts.extend(hold(workshop, lot.pour, &reason)?);
            }
        }
    }
    Ok(facts)
}

/// Writes down that every holder is known, after so many seconds. The first
/// time stands.
///
/// # Errors
///
/// [`Refusal`] where there is no such recall, or it was ended.
pub fn list_recall(workshop: &Workshop, id: RecallId, seconds: u32) -> Decision {
    let recall = under_way(workshop, id)?;
    if recall.listed.is_some() {
        return Ok(Vec::new());
    }
    Ok(fact(RecallListed {
        recall: id,
        seconds,
    }))
}

/// What someone said who was told of a recall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answer<'a> {
    /// Who.
    pub told: Told,
    /// Units found again there.
    pub back: u32,
    /// In words; may be empty.
    pub note: &'a str,
}

/// Writes down whom a recall reached, and what came back from there. What is
/// known already adds nothing.
///
/// # Errors
///
/// [`Refusal`] where there is no such recall or it was ended; and for every
/// answer of someone to whom none of it went, with more units than are to be
/// found there, or whose words cannot be kept: field `back[0]` or `note[0]` for the first.
pub fn answer_recall(workshop: &Workshop, id: RecallId, answers: &[Answer]) -> Decision {
    let recall = under_way(workshop, id)?;
    let traced = trace(workshop, recall.suspect);
    let calls = traced.map(|traced| called(workshop, recall, &traced));
    let calls = calls.unwrap_or_default();
    let mut facts = Vec::new();
    let mut problems = Vec::new();
    for (nth, answer) in answers.iter().enumerate() {
        let field = format!("back[{nth}]");
        let typed = answer.back.to_string();
        let Some(there) = calls.iter().find(|one| one.call.told == answer.told) else {
            let accepted = "choose someone on the list";
            let wrong = "none of it went there";
            problems.push(Problem::new(field, typed, wrong, accepted));
            continue;
        };
        let most = there.out + there.call.maybe;
        if i64::from(answer.back) > most {
            problems.push(Problem::new(
                field,
                typed,
                format!("only {most} of it can be there"),
                format!("write at most {most}"),
            ));
            continue;
        }
        let said = match answer.note.trim() {
            "" => Ok(String::new()),
            said => note(&format!("note[{nth}]"), said),
        };
        match said {
            Err(problem) => problems.push(problem),
            Ok(said) => {
                let before = recall.answers.get(&answer.told);
                if before.is_none_or(|(_, known, words)| *known != answer.back || *words != said) {
                    facts.extend(fact(RecallAnswered {
                        recall: id,
                        told: answer.told,
                        back: answer.back,
                        note: said,
                    }));
                }
            }
        }
    }
    refuse_if_any(problems)?;
    Ok(facts)
}

/// Ends a recall or a drill: what the trace finds at this moment is written
/// down with it. `seconds` is the time until every holder was known, where that
/// was not written down before.
///
/// # Errors
///
/// [`Refusal`] where there is no such recall, or it was ended already.
pub fn end_recall(workshop: &Workshop, id: RecallId, seconds: u32, said: &str) -> Decision {
    let recall = under_way(workshop, id)?;
    let said = match said.trim() {
        "" => String::new(),
        said => note("note", said)?,
    };
    let Some(traced) = trace(workshop, recall.suspect) else {
        return Err(unknown(id));
    };
    let units = |n: i64| u32::try_from(n.max(0)).unwrap_or(u32::MAX);
    Ok(fact(RecallEnded {
        recall: id,
        seconds: recall.listed.unwrap_or(seconds),
        made: units(traced.sums.made),
        on_hand: units(traced.sums.here),
        named: units(traced.named()),
        note: said,
    }))
}

fn unknown(id: RecallId) -> Refusal {
    Refusal::Unknown {
        what: "recall",
        id: id.to_string(),
    }
}

fn under_way(workshop: &Workshop, id: RecallId) -> Result<&Recall, Refusal> {
    let recall = workshop.trade().recall(id).ok_or_else(|| unknown(id))?;
    if recall.ended.is_some() {
        return Err(Problem::new(
            "",
            "",
            "it was ended, and its record stands",
            "begin another if more has to be done",
        )
        .into());
    }
    Ok(recall)
}
