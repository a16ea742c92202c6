//! What filling more than the label says costs, and what to aim at instead.

use measure::{Cost, Decimal, Mass, Readability, Typed};

use crate::outlook::Outlook;

mod calculation;

pub use calculation::{Input, Output, calculate, calculate_with};

/// What the wax of a unit costs: so much money for so much of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// The money.
    pub cost: Cost,
    /// For how much.
    pub per: Mass,
}

impl Rate {
    /// What so much costs, exactly; none for a rate over nothing.
    pub fn of(&self, mass: Mass) -> Option<Cost> {
        self.cost
            .times(Decimal::from(mass.micrograms()))
            .over(Decimal::from(self.per.micrograms()))
    }
}

/// What to fill on average, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// The average to aim at.
    pub weight: Typed<Mass>,
    /// The chance that the next lot's own average then holds the declaration.
    pub average_holds: f64,
    /// The chance that its single units then do.
    pub units_hold: f64,
    /// The chance that an inspection of it then passes.
    pub passes: f64,
}

/// The least average, in whole steps, at which the next lot carries
/// `declared` with this chance, should its units spread and lots differ as
/// they did; each way it may fail taken by itself ([`Outlook::carries`]). None
/// where twice the declaration does not.
pub fn aim(outlook: &Outlook, declared: Mass, step: &Readability, chance: f64) -> Option<Aim> {
    let step_ug = step.mass().micrograms().max(1);
    let weight = |steps: i64| step.nearest(Mass::from_micrograms(step_ug.saturating_mul(steps)));
    let at = |steps: i64| outlook.moved(weight(steps).value().grams() - outlook.mean());
    let carried = |steps: i64| at(steps).carries(declared) >= chance;
    // Below the declaration no average holds it with an even chance or better.
    let (mut fails, mut holds) = (
        declared.micrograms() / step_ug - 1,
        2 * (declared.micrograms() / step_ug) + 1,
    );
    if !carried(holds) {
        return None;
    }
    while holds - fails > 1 {
        let middle = i64::midpoint(fails, holds);
        if carried(middle) {
            holds = middle;
        } else {
            fails = middle;
        }
    }
    let there = at(holds);
    Some(Aim {
        weight: weight(holds),
        average_holds: there.average_holds(declared),
        units_hold: there.units_hold(declared),
        passes: there.inspection_passes(declared),
    })
}
