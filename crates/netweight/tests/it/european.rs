//! The average system of the EU and Britain.

use measure::Mass;
use netweight::us::Column;
use netweight::{Rule, eu};

use crate::{bare, grams, mass, spread};

/// Directive 76/211/EEC, Annex I, 2.4, every row at both ends (they meet), and
/// the rows above 10 kg of the British guidance.
#[test]
fn every_row_of_the_tolerable_errors() {
    for (nominal, error) in [
        (5.0, 0.5),
        (50.0, 4.5),
        (50.1, 4.5),
        (100.0, 4.5),
        (100.1, 4.6),
        (200.0, 9.0),
        (200.1, 9.0),
        (300.0, 9.0),
        (300.1, 9.1),
        (500.0, 15.0),
        (500.1, 15.0),
        (1_000.0, 15.0),
        (1_000.1, 15.1),
        (10_000.0, 150.0),
        (10_001.0, 150.0),
        (15_000.0, 150.0),
        (15_001.0, 150.1),
        (25_000.0, 250.0),
    ] {
        assert_eq!(
            eu::tolerable_error(grams(nominal)),
            grams(error),
            "{nominal} g"
        );
    }
}

/// The same table, percentages rounded up to the next tenth of a gram as the
/// Directive's Annex I, 2.4 asks; own arithmetic.
#[test]
fn tolerable_errors_of_usual_packs() {
    for (nominal, error) in [
        (7.0, 0.7),
        (23.0, 2.1),
        (28.0, 2.6),
        (30.0, 2.7),
        (45.0, 4.1),
        (50.0, 4.5),
        (70.0, 4.5),
        (110.0, 5.0),
        (125.0, 5.7),
        (150.0, 6.8),
        (185.0, 8.4),
        (340.0, 10.2),
        (400.0, 12.0),
        (1_200.0, 18.0),
    ] {
        let limits = Rule::Eu.limits(grams(nominal), Column::Gram);
        assert_eq!(limits.variation, grams(error), "{nominal} g");
        assert_eq!(limits.floor, grams(nominal) - grams(error));
        assert_eq!(
            limits.hard_floor,
            Some(grams(nominal) - grams(error) - grams(error))
        );
    }
}

/// SI 2006/659, schedule 2, 3 and 4, every row with both ends of its batches.
#[test]
fn reference_tests() {
    for (from, to, sample, accepted, averaged, factor) in [
        (100, 500, 50, 3, 30, 0.503),
        (501, 3_200, 80, 5, 50, 0.379),
        (3_201, 10_000, 125, 7, 50, 0.379),
    ] {
        for batch in [from, to] {
            let plan = eu::plan(batch);
            assert_eq!(
                (
                    plan.sample,
                    plan.beyond_allowed,
                    plan.average_sample,
                    plan.factor
                ),
                (sample, accepted, averaged, factor),
                "batch {batch}"
            );
        }
    }
    // Below 100 all are weighed and one in twenty may be too light.
    for (batch, accepted) in [(1, 0), (19, 0), (20, 1), (60, 3), (99, 4)] {
        let plan = eu::plan(batch);
        assert_eq!(
            (plan.sample, plan.beyond_allowed, plan.factor),
            (batch, accepted, 0.0)
        );
    }
    let opened = eu::OPENED;
    assert_eq!(
        (opened.sample, opened.beyond_allowed, opened.factor),
        (20, 1, 0.640)
    );
}

/// The factors are t(0.995; n − 1)/√n; computed with SciPy 1.17: 0.6397, 0.5032
/// and 0.3790.
#[test]
fn printed_factors_follow_the_rule_behind_them() {
    for (n, by_rule) in [(20, 0.6397), (30, 0.5032), (50, 0.3790)] {
        assert!((eu::factor(n).unwrap() - by_rule).abs() < 5e-4);
    }
    // t(0.995; 11) is 3.106.
    assert!((eu::factor(12).unwrap() - 3.106 / 12.0_f64.sqrt()).abs() < 2e-4);
    assert_eq!(eu::factor(1), None);
}

/// Own arithmetic by the Directive: 648 shells of 90 g, 50 weighed, average
/// 91.9, deviation 1.6: limit 90 − 0.379 × 1.6 = 89.39, and an average of
/// 90.6 to aim at.
#[test]
fn ninety_gram_shells() {
    let found = eu::inspect(Rule::Eu, &bare(&spread(50, 91.9, 1.6)), grams(90.0), 648);
    assert!((found.over_g() - 1.9).abs() < 1e-4);
    assert!((90.0 - found.error_limit_g - 89.39).abs() < 5e-3);
    assert_eq!(found.limits.floor, grams(85.5));
    assert_eq!((found.beyond, found.beyond_twice), (0, 0));
    assert!(found.meets() && !found.is_full());
    let aim = 90.0 + Rule::Eu.guard(648) * 1.6;
    assert!((aim - 90.6).abs() < 0.01);
}

/// Directive 76/211/EEC, Annex I, 1: the three rules, one broken at a time.
#[test]
fn each_of_the_three_rules_can_fail() {
    let even = vec![70.5; 60];
    let good = eu::inspect(Rule::Uk, &bare(&even), grams(70.0), 60);
    assert!(good.is_full() && good.meets());
    // The average: no allowance below a hundred.
    let low = eu::inspect(Rule::Uk, &bare(&[69.99; 60]), grams(70.0), 60);
    assert!(low.has_failed() && low.beyond == 0);
    // More than one in twenty below 65.5 g; just 65.5 is not below.
    let mut light = even.clone();
    light[..3].fill(65.4);
    light[3..6].fill(65.5);
    light[6..].fill(71.5);
    let found = eu::inspect(Rule::Uk, &bare(&light), grams(70.0), 60);
    assert_eq!((found.beyond, found.beyond_allowed), (3, 3));
    assert!(found.meets());
    light[3] = 65.4;
    let found = eu::inspect(Rule::Uk, &bare(&light), grams(70.0), 60);
    assert!(found.has_failed() && found.average_meets);
    // One below 61 g.
    let mut lightest = even;
    lightest[0] = 60.9;
    lightest[1] = 90.0;
    let found = eu::inspect(Rule::Uk, &bare(&lightest), grams(70.0), 60);
    assert_eq!((found.beyond, found.beyond_twice), (1, 1));
    assert!(found.has_failed() && found.average_meets);
}

#[test]
fn more_weighed_takes_the_next_plan() {
    let found = eu::inspect(Rule::Eu, &bare(&spread(80, 71.0, 1.0)), mass("70 g"), 400);
    assert_eq!((found.required, found.beyond_allowed), (50, 5));
    let all = eu::inspect(Rule::Eu, &bare(&spread(400, 71.0, 1.0)), mass("70 g"), 400);
    assert_eq!((all.error_limit_g, all.beyond_allowed), (0.0, 7));
    assert_eq!(Mass::ZERO, grams(0.0));
}

/// Directive 76/211/EEC, Annex II, 2.1.1, from memory: every row of the double
/// plans, and each of the ways one may end.
#[test]
fn reference_tests_in_two_steps() {
    for (batch, expected) in [
        (100, [30, 1, 3, 60, 4]),
        (500, [30, 1, 3, 60, 4]),
        (501, [50, 2, 5, 100, 6]),
        (3_200, [50, 2, 5, 100, 6]),
        (3_201, [80, 3, 7, 160, 8]),
    ] {
        let plan = eu::two_steps(batch).unwrap();
        let found = [
            plan.first,
            plan.accept_first,
            plan.reject_first,
            plan.both,
            plan.accept_both,
        ];
        assert_eq!(found, expected, "{batch}");
    }
    assert_eq!(eu::two_steps(99), None);
    // 70 g: the tolerable error is 4.5 g, so 65 g is too light.
    let lot = |n: usize, light: &[usize]| -> Vec<f64> {
        let one = |idx: usize| if light.contains(&idx) { 65.0 } else { 72.0 };
        (0..n).map(one).collect()
    };
    let test = |weights: &[f64]| eu::inspect_in_two(Rule::Eu, &bare(weights), grams(70.0), 300);
    let passes = test(&lot(30, &[4]));
    assert!(passes.meets() && passes.is_full());
    assert_eq!((passes.required, passes.beyond), (30, 1));
    let fails = test(&lot(30, &[1, 2, 3]));
    assert!(fails.has_failed());
    let open = test(&lot(30, &[1, 2]));
    assert!(!open.has_failed() && !open.is_full());
    assert_eq!(open.required, 60);
    let second = test(&lot(60, &[1, 2, 40, 50]));
    assert!(second.meets() && second.is_full());
    assert!(test(&lot(60, &[1, 2, 40, 50, 55])).has_failed());
    // Below 100 all are weighed, in one step.
    let small = eu::inspect_in_two(Rule::Eu, &bare(&lot(60, &[1])), grams(70.0), 60);
    assert_eq!(
        small,
        eu::inspect(Rule::Eu, &bare(&lot(60, &[1])), grams(70.0), 60)
    );
}

/// The minimum system: guidance to SI 2006/659. A unit of just the declared
/// weight holds it, and one under it does not, however heavy the others are.
#[test]
fn every_unit_at_least() {
    let test =
        |weights: &[f64]| Rule::UkEvery.inspect(&bare(weights), grams(70.0), Column::Gram, 4);
    let good = test(&[70.0, 70.1, 72.0, 70.0]);
    assert!(good.meets() && good.is_full());
    let one = test(&[69.9, 80.0, 80.0, 80.0]);
    assert!(one.has_failed());
    assert_eq!((one.beyond, one.required), (1, 4));
    assert!(!test(&[71.0, 71.0]).is_full());
    // The quantile of 0.975^(1/n) by the normal distribution of Python's
    // `statistics`.
    for (lot, expected) in [(4, 2.494_35), (100, 3.477_41), (500, 3.887_53)] {
        let guard = Rule::UkEvery.guard(lot);
        assert!((guard - expected).abs() < 1e-4, "{lot}: {guard}");
    }
}
