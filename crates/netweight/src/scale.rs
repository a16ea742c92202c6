//! Whether a scale is fine enough, and how far off it may be.

use measure::Mass;

/// The classes of scales used for packages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleClass {
    /// Laboratory balances.
    Two,
    /// Shop and kitchen scales.
    Three,
}

/// The coarsest step a scale may show to test packages with this allowed
/// variation: a sixth of it.
///
/// # Source
///
/// NIST Handbook 133 (2026), 2.2.
pub fn coarsest_step(variation: Mass) -> Mass {
    Mass::from_micrograms(variation.micrograms() / 6)
}

/// The class of a scale that bears no mark, by its step and the number of its
/// steps; none when the table has no such scale.
///
/// From 5,001 to 10,000 steps of 0.1 g or more the tolerances of class III are
/// used.
///
/// # Source
///
/// NIST Handbook 133 (2026), chapter 2, table 2-1 "Class of Scale".
pub fn class(step: Mass, steps: u64) -> Option<ScaleClass> {
    let micrograms = step.micrograms();
    match micrograms {
        1_000..=50_000 if (100..=100_000).contains(&steps) => Some(ScaleClass::Two),
        100_000.. if (10_001..=100_000).contains(&steps) => Some(ScaleClass::Two),
        100_000..=2_000_000 if (100..=10_000).contains(&steps) => Some(ScaleClass::Three),
        // Steps of 5 g or more, and what the table leaves out between 2 and 5 g.
        2_000_001.. if (500..=10_000).contains(&steps) => Some(ScaleClass::Three),
        _ => None,
    }
}

/// How far off an accepted scale may be under a load, either way.
///
/// # Source
///
/// NIST Handbook 133 (2026), chapter 2, table 2-2 "Acceptance Tolerances".
pub fn tolerance(class: ScaleClass, step: Mass, load: Mass) -> Mass {
    let micrograms = step.micrograms().max(1);
    // A part of a step counts as the whole: the load lies in the row above.
    let steps = (load.micrograms().max(0) + micrograms - 1) / micrograms;
    let half_steps = match (class, steps) {
        (ScaleClass::Two, ..=5_000) | (ScaleClass::Three, ..=500) => 1,
        (ScaleClass::Two, ..=20_000) | (ScaleClass::Three, ..=2_000) => 2,
        (ScaleClass::Two, _) | (ScaleClass::Three, ..=4_000) => 3,
        (ScaleClass::Three, _) => 5,
    };
    Mass::from_micrograms(micrograms.saturating_mul(half_steps) / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grams(grams: f64) -> Mass {
        Mass::from_grams(grams).unwrap()
    }

    /// NIST Handbook 133 (2026), 2.2, printed example: a label of 113 g has a
    /// variation of 7.2 g, so 1.2 g is the coarsest step (1 g in practice).
    #[test]
    fn a_sixth_of_the_variation() {
        assert_eq!(coarsest_step(grams(7.2)), grams(1.2));
    }

    /// NIST Handbook 133 (2026), 2.2, printed example: 5,000 g by 0.1 g is
    /// 50,000 steps, class II; a load of 1,500 g is 15,000 steps, one step.
    #[test]
    fn the_printed_scale() {
        assert_eq!(class(grams(0.1), 50_000), Some(ScaleClass::Two));
        assert_eq!(
            tolerance(ScaleClass::Two, grams(0.1), grams(1_500.0)),
            grams(0.1)
        );
    }

    /// NIST Handbook 133 (2026), chapter 2, tables 2-1 and 2-2, every row.
    #[test]
    fn every_row() {
        for (step, steps, expected) in [
            (0.001, 100, Some(ScaleClass::Two)),
            (0.05, 100_000, Some(ScaleClass::Two)),
            (0.1, 100, Some(ScaleClass::Three)),
            (0.1, 10_000, Some(ScaleClass::Three)),
            (2.0, 99, None),
            (5.0, 499, None),
            (5.0, 500, Some(ScaleClass::Three)),
            (1.0, 100_001, None),
        ] {
            assert_eq!(class(grams(step), steps), expected, "{step} g, {steps}");
        }
        for (class, load, expected) in [
            (ScaleClass::Two, 5_000.0, 0.5),
            (ScaleClass::Two, 5_001.0, 1.0),
            (ScaleClass::Two, 20_000.0, 1.0),
            (ScaleClass::Two, 20_001.0, 1.5),
            (ScaleClass::Three, 500.0, 0.5),
            (ScaleClass::Three, 501.0, 1.0),
            (ScaleClass::Three, 2_000.0, 1.0),
            (ScaleClass::Three, 2_001.0, 1.5),
            (ScaleClass::Three, 4_000.0, 1.5),
            (ScaleClass::Three, 4_001.0, 2.5),
        ] {
            assert_eq!(tolerance(class, grams(1.0), grams(load)), grams(expected));
        }
    }
}
