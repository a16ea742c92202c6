//! The largest tidy weight that may be declared.

use measure::{Mass, Quantity, Readability, Typed};

use crate::outlook::Outlook;

mod calculation;

pub use calculation::{Input, Output, calculate, calculate_with};

/// A declaration with its chances.
#[derive(Debug, Clone, PartialEq)]
pub struct Declaration {
    /// The weight to declare.
    pub declared: Typed<Mass>,
    /// The chance that an inspection of the next lot passes.
    pub passes: f64,
    /// The chance that the next lot's own average is not below it.
    pub average_holds: f64,
    /// The chance that the next lot's units are heavy enough, inspected or not.
    pub units_hold: f64,
    /// The weight the next lot's average is not below with the chance asked
    /// for, g; before it was made tidy.
    pub bound_g: f64,
    /// The next tidy weight up.
    pub next: Typed<Mass>,
    /// Whether single light packages, and not the average, decide.
    pub singles_decide: bool,
}

/// Finds the largest declaration in whole steps that the next lot carries with
/// this chance, each way it may fail taken by itself ([`Outlook::carries`]);
/// none when not even one step does.
pub fn declare(outlook: &Outlook, step: &Readability, chance: f64) -> Option<Declaration> {
    let bound_g = outlook.average_bound(chance);
    let step_ug = step.mass().micrograms().max(1);
    let bound = Mass::from_grams(bound_g).filter(|bound| *bound > Mass::ZERO)?;
    let top = bound.micrograms().saturating_add(1) / step_ug;
    let at = |steps: i64| step.nearest(Mass::from_smallest(step_ug.saturating_mul(steps)));
    let carried = |steps: i64| outlook.carries(at(steps).value()) >= chance;
    // A step is held to half a microgram, so the highest may be one further.
    let highest = if at(top + 1).value() <= bound {
        top + 1
    } else {
        top
    };
    let steps = if highest >= 1 && carried(highest) {
        highest
    } else {
        let (mut holds, mut fails) = (0, highest.max(1));
        while fails - holds > 1 {
            let middle = i64::midpoint(holds, fails);
            if carried(middle) {
                holds = middle;
            } else {
                fails = middle;
            }
        }
        holds
    };
    if steps < 1 {
        return None;
    }
    let declared = at(steps);
    Some(Declaration {
        passes: outlook.inspection_passes(declared.value()),
        average_holds: outlook.average_holds(declared.value()),
        units_hold: outlook.units_hold(declared.value()),
        bound_g,
        next: at(steps + 1),
        singles_decide: steps < highest,
        declared,
    })
}
