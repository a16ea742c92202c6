//! What to do when too much of something went into the pot.
//!
//! Two ways out, always both: weigh more of everything else so that the
//! formula holds, or go on by the plan and live with what results.

use measure::{Decimal, Mass, Ratio, percent};

use crate::weigh_out::{
    Bench, Contents, MOST, Note, NoteKind, Plan, Role, limit_note, melter_note, quotient,
};

/// Why there is nothing to say about a pot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RescaleError {
    /// More weights than the plan has portions.
    #[error("the plan has {portions} portions and {weighed} were weighed")]
    TooMany {
        /// Portions of the plan.
        portions: usize,
        /// Weights given.
        weighed: usize,
    },
    /// The weights are beyond measure.
    #[error("that is more than this can reckon with")]
    TooLarge,
    /// No wax is in the pot or to come.
    #[error("there is no wax in the pot or still to come")]
    NoWax,
}

/// Both ways out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rescale {
    /// The portions that went over, by their place in the plan.
    pub over: Vec<usize>,
    /// Scale the rest to keep the formula; none when something is in the pot
    /// that the plan has nothing of.
    pub keep_formula: Option<KeepFormula>,
    /// Keep going by the plan.
    pub keep_going: KeepGoing,
}

/// The plan made larger until what is in the pot fits it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeepFormula {
    /// What every portion is multiplied by; never below 1.
    pub factor: Decimal,
    /// Every portion of the plan.
    pub portions: Vec<Scaled>,
    /// What the pot will hold.
    pub contents: Contents,
    /// How much more that is than the plan.
    pub more: Mass,
    /// Whole units more than planned, when units were planned.
    pub more_units: Option<u64>,
    /// What follows from it, in sentences.
    pub consequences: Vec<Note>,
}

/// A portion of the larger plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scaled {
    /// What the maker calls it.
    pub name: String,
    /// Its new weight, rounded to the scale.
    pub target: Mass,
    /// What of it is in the pot.
    pub in_pot: Mass,
    /// What to add now.
    pub add: Mass,
}

/// The plan as it is, with what went wrong left in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeepGoing {
    /// What each portion will be in the end.
    pub portions: Vec<Mass>,
    /// What the pot will hold.
    pub contents: Contents,
    /// Oil ÷ wax.
    pub of_wax: Ratio,
    /// Oil ÷ everything.
    pub of_total: Ratio,
    /// Oil beyond what the sheets allow, when it is over.
    pub over_limit: Option<Mass>,
    /// What follows from it, in sentences.
    pub consequences: Vec<Note>,
}

/// Works out both ways on from a pot that does not follow its plan.
///
/// `in_pot` holds what was weighed of each portion, in the plan's order; none,
/// or a shorter list, for what is still to come. When going on, a portion
/// weighed short stays short; when keeping the formula, it is topped up.
///
/// The factor is the largest of weighed ÷ planned weight, as both stand on the
/// sheet, over the portions that went over; a portion that the plan rounds to
/// nothing cannot set it.
///
/// # Errors
///
/// [`RescaleError`] when the weights do not belong to the plan.
pub fn rescale(
    plan: &Plan,
    in_pot: &[Option<Mass>],
    bench: &Bench,
) -> Result<Rescale, RescaleError> {
    if in_pot.len() > plan.portions.len() {
        return Err(RescaleError::TooMany {
            portions: plan.portions.len(),
            weighed: in_pot.len(),
        });
    }
    if in_pot.iter().flatten().any(|mass| *mass > MOST) {
        return Err(RescaleError::TooLarge);
    }
    let weighed = |i: usize| in_pot.get(i).copied().flatten();
    let over: Vec<usize> = plan
        .portions
        .iter()
        .enumerate()
        .filter(|(i, portion)| weighed(*i).is_some_and(|mass| mass > portion.weight.value()))
        .map(|(i, _)| i)
        .collect();
    Ok(Rescale {
        keep_formula: keep_formula(plan, &weighed, &over, bench)?,
        keep_going: keep_going(plan, &weighed, bench)?,
        over,
    })
}

fn keep_formula(
    plan: &Plan,
    weighed: &dyn Fn(usize) -> Option<Mass>,
    over: &[usize],
    bench: &Bench,
) -> Result<Option<KeepFormula>, RescaleError> {
    let mut factor = Decimal::ONE;
    for i in over {
        let Some((portion, actual)) = plan.portions.get(*i).zip(weighed(*i)) else {
            continue;
        };
        // Beyond the plan, but the plan has none of it at this scale.
        let Some(ratio) = quotient(actual, portion.weight.value()) else {
            return Ok(None);
        };
        factor = factor.max(ratio.decimal());
    }
    let mut contents = Contents::default();
    let mut portions = Vec::with_capacity(plan.portions.len());
    for (i, portion) in plan.portions.iter().enumerate() {
        let in_pot = weighed(i).unwrap_or_default();
        let scaled = portion
            .weight
            .value()
            .share(factor, Decimal::ONE)
            .ok_or(RescaleError::TooLarge)?;
        // What is in cannot be taken out again, whatever the rounding says.
        let target = bench.readability.nearest(scaled).value().max(in_pot);
        contents.add(portion.role, target);
        portions.push(Scaled {
            name: portion.name.clone(),
            target,
            in_pot,
            add: target - in_pot,
        });
    }
    let planned = plan.weighed.total();
    let more = contents.total() - planned;
    if contents.total() == Mass::from_micrograms(i64::MAX) {
        return Err(RescaleError::TooLarge);
    }
    let more_units = plan.units.and_then(|units| {
        let ratio = quotient(contents.total(), planned)?.decimal();
        let extra = Decimal::from(units).checked_mul(ratio)? - Decimal::from(units);
        u64::try_from(extra.floor()).ok()
    });

    let shown = |mass: Mass| bench.readability.nearest(mass);
    let step = shown(bench.readability.mass());
    let mut consequences = Vec::new();
    let grown = match more_units {
        Some(0) => format!(
            "{} more, less than one more unit of this pour takes",
            shown(more)
        ),
        Some(1) => format!("{} more, enough for 1 unit more", shown(more)),
        Some(units) => format!("{} more, enough for {units} units more", shown(more)),
        None => format!("{} more", shown(more)),
    };
    consequences.push(Note::new(
        NoteKind::Consequence,
        if over.is_empty() {
            format!(
                "Nothing is over its plan: the pour stays at {}.",
                shown(planned)
            )
        } else {
            let larger = larger(factor);
            let (was, becomes) = (shown(planned), shown(contents.total()));
            if was.value() == becomes.value() {
                format!(
                    "The formula holds: everything is made {larger} larger, too little to show on a scale that reads to {step}: the pour still comes to {was}, rounded."
                )
            } else {
                format!(
                    "The formula holds: everything is made {larger} larger and the pour grows from {was} to {becomes} ({grown})."
                )
            }
        },
    ));
    let unmoved = plan
        .portions
        .iter()
        .zip(&portions)
        .all(|(portion, scaled)| {
            scaled.target <= shown(portion.weight.value()).value().max(scaled.in_pot)
        });
    if unmoved && !over.is_empty() && over.len() < portions.len() {
        consequences.push(Note::new(
            NoteKind::Consequence,
            format!(
                "What is over is too little to change any other weight by the {step} the scale reads to: the rest is weighed as planned."
            ),
        ));
    }
    if let Some((of_wax, of_total)) = contents.of_wax().zip(contents.of_total()) {
        consequences.push(Note::new(
            NoteKind::Consequence,
            format!(
                "The load is {} of wax ({} of the melt).",
                percent(of_wax, 1),
                percent(of_total, 1)
            ),
        ));
    }
    consequences.extend(melter_note(contents.total(), bench));
    Ok(Some(KeepFormula {
        factor,
        portions,
        contents,
        more,
        more_units,
        consequences,
    }))
}

fn keep_going(
    plan: &Plan,
    weighed: &dyn Fn(usize) -> Option<Mass>,
    bench: &Bench,
) -> Result<KeepGoing, RescaleError> {
    let mut contents = Contents::default();
    let mut portions = Vec::with_capacity(plan.portions.len());
    for (i, portion) in plan.portions.iter().enumerate() {
        let mass = weighed(i).unwrap_or_else(|| portion.weight.value());
        contents.add(portion.role, mass);
        portions.push(mass);
    }
    if contents.total() == Mass::from_micrograms(i64::MAX) {
        return Err(RescaleError::TooLarge);
    }
    let (of_wax, of_total) = contents
        .of_wax()
        .zip(contents.of_total())
        .ok_or(RescaleError::NoWax)?;
    let over_limit = plan
        .limit
        .oil(contents.wax)
        .and_then(|most| crate::weigh_out::over(contents.oil, most));

    let mut consequences = vec![Note::new(
        NoteKind::Consequence,
        format!(
            "{}, and the pour {}.",
            load_words((of_wax, of_total), (plan.of_wax(), plan.of_total())),
            pour_words(contents.total(), plan.weighed.total(), bench)
        ),
    )];
    consequences.extend(drift(plan, &portions, &contents));
    consequences.extend(limit_note(
        plan.load,
        &plan.limit,
        contents.wax,
        contents.oil,
        bench,
    ));
    consequences.extend(melter_note(contents.total(), bench));
    Ok(KeepGoing {
        portions,
        contents,
        of_wax,
        of_total,
        over_limit,
        consequences,
    })
}

/// How much larger, never as nothing.
fn larger(factor: Decimal) -> String {
    let by = Ratio::from_decimal(factor - Decimal::ONE).unwrap_or_default();
    if by.decimal() < Decimal::new(5, 4) {
        "less than 0.1 %".to_owned()
    } else {
        percent(by, 1)
    }
}

/// How the load moves; where rounding hides it, that is said.
fn load_words(now: (Ratio, Ratio), planned: (Ratio, Ratio)) -> String {
    let words = |(of_wax, of_total)| {
        format!(
            "{} of wax ({} of the melt)",
            percent(of_wax, 1),
            percent(of_total, 1)
        )
    };
    let (now, planned) = (words(now), words(planned));
    if now == planned {
        format!("The load stays at {now}, rounded")
    } else {
        format!("The load becomes {now} instead of {planned}")
    }
}

/// How the pour grows; where the scale's step hides it, that is said.
fn pour_words(now: Mass, planned: Mass, bench: &Bench) -> String {
    let shown = |mass: Mass| bench.readability.nearest(mass);
    if shown(now).value() == shown(planned).value() {
        format!(
            "still comes to {}, rounded to the {} that the scale reads to",
            shown(now),
            shown(bench.readability.mass())
        )
    } else {
        format!("{} instead of {}", shown(now), shown(planned))
    }
}

/// How the blend itself moves: named for the ingredients that move by a tenth
/// of a percent of the wax or more.
fn drift(plan: &Plan, portions: &[Mass], contents: &Contents) -> Option<Note> {
    let moved: Vec<String> = plan
        .portions
        .iter()
        .zip(portions)
        .filter(|(portion, _)| matches!(portion.role, Role::Wax | Role::Additive))
        .filter_map(|(portion, mass)| {
            let before = percent(quotient(portion.weight.value(), plan.weighed.wax)?, 1);
            let after = percent(quotient(*mass, contents.wax)?, 1);
            (before != after).then(|| format!("{} from {before} to {after}", portion.name))
        })
        .take(6)
        .collect();
    (!moved.is_empty()).then(|| {
        Note::new(
            NoteKind::Consequence,
            format!("The blend shifts: {} of the wax.", moved.join(", ")),
        )
    })
}
