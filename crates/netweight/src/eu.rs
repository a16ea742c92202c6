//! The European Union and Britain: the average system and its reference test.
//!
//! Three rules bind the packer: the average is not below the nominal quantity
//! *Q*; few packages are below *Q* − *T*; none is below *Q* − 2*T*, where *T*
//! is the tolerable negative error.

use measure::Mass;

use crate::chance::t_at;
use crate::rule::{Inspected, Rule};
use crate::sample::Sample;
use crate::us::ROUNDING_G;

/// A line of the table of tolerable negative errors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ErrorRow {
    /// Holds up to so many grams.
    pub to_g: i64,
    /// The error.
    pub error: TolerableError,
}

/// A tolerable negative error, as the table gives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TolerableError {
    /// In thousandths of the nominal quantity.
    PerMille(i64),
    /// In tenths of a gram.
    Tenths(i64),
}

/// The tolerable negative errors; the lines meet at their limits, so it does
/// not matter to which of two a limit belongs.
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 2.4; the lines above 10 kg, which Britain
/// adds: the guidance to SI 2006/659 at
/// <https://www.gov.uk/weights-measures-and-packaging-the-law/packaged-goods>.
pub const ERRORS: [ErrorRow; 9] = [
    ErrorRow {
        to_g: 50,
        error: TolerableError::PerMille(90),
    },
    ErrorRow {
        to_g: 100,
        error: TolerableError::Tenths(45),
    },
    ErrorRow {
        to_g: 200,
        error: TolerableError::PerMille(45),
    },
    ErrorRow {
        to_g: 300,
        error: TolerableError::Tenths(90),
    },
    ErrorRow {
        to_g: 500,
        error: TolerableError::PerMille(30),
    },
    ErrorRow {
        to_g: 1_000,
        error: TolerableError::Tenths(150),
    },
    ErrorRow {
        to_g: 10_000,
        error: TolerableError::PerMille(15),
    },
    ErrorRow {
        to_g: 15_000,
        error: TolerableError::Tenths(1_500),
    },
    ErrorRow {
        to_g: i64::MAX,
        error: TolerableError::PerMille(10),
    },
];

/// The tolerable negative error of a nominal quantity; one found as a
/// percentage is rounded up to the next tenth of a gram.
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 2.4.
pub fn tolerable_error(nominal: Mass) -> Mass {
    let micrograms = nominal.micrograms().max(0);
    let row = ERRORS
        .iter()
        .find(|row| micrograms <= row.to_g.saturating_mul(1_000_000))
        .expect("the last line is for any quantity");
    let tenths = match row.error {
        TolerableError::Tenths(tenths) => i128::from(tenths),
        // Tenths of a gram in micrograms are 100,000; the thousandths make it 10^8.
        TolerableError::PerMille(part) => {
            (i128::from(micrograms) * i128::from(part) + 99_999_999) / 100_000_000
        }
    };
    Mass::from_micrograms(i64::try_from(tenths * 100_000).unwrap_or(i64::MAX))
}

/// A reference test: how many are weighed and what is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Packages whose content is looked at singly.
    pub sample: u32,
    /// Of these, packages whose average is tested.
    pub average_sample: u32,
    /// The average may lie below the nominal quantity by this many standard
    /// deviations.
    pub factor: f64,
    /// Packages that may be below *Q* − *T*.
    pub beyond_allowed: u32,
}

/// The single plans for packages that are not opened: the largest batch a line
/// is for, and the line. Below 100 every package is weighed: [`plan`].
///
/// # Source
///
/// SI 2006/659, schedule 2, 3 (content) and 4 (average).
pub const SINGLE: [(u32, Plan); 3] = [
    (
        500,
        Plan {
            sample: 50,
            average_sample: 30,
            factor: 0.503,
            beyond_allowed: 3,
        },
    ),
    (
        3_200,
        Plan {
            sample: 80,
            average_sample: 50,
            factor: 0.379,
            beyond_allowed: 5,
        },
    ),
    (
        u32::MAX,
        Plan {
            sample: 125,
            average_sample: 50,
            factor: 0.379,
            beyond_allowed: 7,
        },
    ),
];

/// The plan where packages have to be opened and nothing else works; batches
/// of 100 or more.
///
/// # Source
///
/// SI 2006/659, schedule 2, 3 and 4.
pub const OPENED: Plan = Plan {
    sample: 20,
    average_sample: 20,
    factor: 0.640,
    beyond_allowed: 1,
};

/// The most packages of one batch; a larger run is several.
pub const LARGEST_BATCH: u32 = 10_000;

/// The reference test of a batch of packages that are not opened.
pub fn plan(batch: u32) -> Plan {
    if batch < 100 {
        return Plan {
            sample: batch,
            average_sample: batch,
            factor: 0.0,
            beyond_allowed: batch / 20,
        };
    }
    SINGLE
        .iter()
        .find(|(most, _)| batch <= *most)
        .map(|(_, plan)| *plan)
        .expect("the last line is for any batch")
}

/// The factor of the average's test for this many packages: as printed for 20,
/// 30 and 50, otherwise by the rule behind the figures, t(0.995; n − 1)/√n.
///
/// None for fewer than two.
pub fn factor(packages: u32) -> Option<f64> {
    match packages {
        0 | 1 => None,
        20 => Some(0.640),
        30 => Some(0.503),
        50 => Some(0.379),
        n => {
            let n = f64::from(n);
            Some(t_at(0.995, n - 1.0) / n.sqrt())
        }
    }
}

/// Tests a batch against its nominal quantity.
///
/// All packages weighed count. A batch below 100 has no statistical slack: its
/// average is what it is, and one package in twenty may be below *Q* − *T*.
///
/// # Source
///
/// Directive 76/211/EEC, Annexes I and II; SI 2006/659, schedule 2.
pub fn inspect(rule: Rule, sample: &Sample, nominal: Mass, batch: u32) -> Inspected {
    let weighed = u32::try_from(sample.len()).unwrap_or(u32::MAX);
    let plan = plan(batch);
    let limits = rule.limits(nominal, crate::us::Column::Gram);
    let factor = if batch < 100 || weighed >= batch {
        0.0
    } else {
        factor(weighed).unwrap_or(0.0)
    };
    // Who weighed more than the plan asks is held to the next plan's figure.
    let beyond_allowed = SINGLE
        .iter()
        .filter(|(_, row)| batch >= 100 && row.sample <= weighed)
        .map(|(_, row)| row.beyond_allowed)
        .max()
        .unwrap_or(0)
        .max(plan.beyond_allowed);
    let error_limit_g = factor * sample.sd();
    Inspected {
        rule,
        declared: nominal,
        required: plan.sample,
        weighed,
        average_g: sample.mean(),
        sd_g: sample.sd(),
        factor,
        error_limit_g,
        average_meets: nominal.grams() - sample.mean() <= error_limit_g + ROUNDING_G,
        limits,
        beyond: sample.below(limits.floor),
        beyond_allowed,
        beyond_twice: limits.hard_floor.map_or(0, |floor| sample.below(floor)),
    }
}

/// Tests a lot by Britain's minimum system: no package holds less than it says,
/// so every one is weighed and those below are set aside.
///
/// # Source
///
/// Guidance to SI 2006/659 at
/// <https://www.gov.uk/weights-measures-and-packaging-the-law/packaged-goods>.
pub fn every(sample: &Sample, declared: Mass, lot: u32) -> Inspected {
    Inspected {
        rule: Rule::UkEvery,
        declared,
        required: lot,
        weighed: u32::try_from(sample.len()).unwrap_or(u32::MAX),
        average_g: sample.mean(),
        sd_g: sample.sd(),
        factor: 0.0,
        error_limit_g: 0.0,
        average_meets: true,
        limits: Rule::UkEvery.limits(declared, crate::us::Column::Gram),
        beyond: sample.below(declared),
        beyond_allowed: 0,
        beyond_twice: 0,
    }
}

/// A reference test in two steps: how many are weighed first, and what decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TwoSteps {
    /// Packages weighed first.
    pub first: u32,
    /// The batch passes at once with no more below *Q* − *T* than this.
    pub accept_first: u32,
    /// It fails at once with this many.
    pub reject_first: u32,
    /// Packages weighed in all where neither was reached.
    pub both: u32,
    /// It then passes with no more below *Q* − *T* than this.
    pub accept_both: u32,
}

/// The double plans for packages that are not opened: the largest batch a line
/// is for, and the line. Below 100 every package is weighed.
///
/// # Source
///
/// Directive 76/211/EEC, Annex II, 2.1.1, from memory.
pub const DOUBLE: [(u32, TwoSteps); 3] = [
    (
        500,
        TwoSteps {
            first: 30,
            accept_first: 1,
            reject_first: 3,
            both: 60,
            accept_both: 4,
        },
    ),
    (
        3_200,
        TwoSteps {
            first: 50,
            accept_first: 2,
            reject_first: 5,
            both: 100,
            accept_both: 6,
        },
    ),
    (
        u32::MAX,
        TwoSteps {
            first: 80,
            accept_first: 3,
            reject_first: 7,
            both: 160,
            accept_both: 8,
        },
    ),
];

/// The double plan of a batch; none below 100, where every package is weighed.
pub fn two_steps(batch: u32) -> Option<TwoSteps> {
    let row = DOUBLE.iter().find(|(most, _)| batch <= *most)?;
    (batch >= 100).then_some(row.1)
}

/// Tests a batch by the double plan: the packages in the order they were
/// weighed, the first ones by themselves and all together where those do not
/// decide. The average is tested as in [`inspect`]. Below 100 packages there
/// is no double plan and [`inspect`] answers.
///
/// # Source
///
/// Directive 76/211/EEC, Annex II, 2.1.1, from memory.
pub fn inspect_in_two(rule: Rule, sample: &Sample, nominal: Mass, batch: u32) -> Inspected {
    let single = inspect(rule, sample, nominal, batch);
    let Some(plan) = two_steps(batch) else {
        return single;
    };
    let floor = single.limits.floor;
    let first = sample.first(plan.first as usize).below(floor);
    let whole = sample.len() >= plan.first as usize;
    // While the first step is open, what decides is what ends it.
    let decided = whole && (first <= plan.accept_first || first >= plan.reject_first);
    let (required, beyond, beyond_allowed) = if decided || !whole {
        let allowed = if first >= plan.reject_first {
            plan.reject_first - 1
        } else if whole {
            plan.accept_first
        } else {
            plan.reject_first - 1
        };
        (plan.first, first, allowed)
    } else {
        let both = sample.first(plan.both as usize).below(floor);
        (plan.both, both, plan.accept_both)
    };
    Inspected {
        required,
        beyond,
        beyond_allowed,
        ..single
    }
}
