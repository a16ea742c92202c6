//! The United States inspection.

use measure::Mass;
use netweight::Tare;
use netweight::us::{self, Column, Plan};
use netweight::{Inspected, Rule, Sample};

use crate::{bare, grams, mass};

/// NIST Handbook 133, appendix A, table 2-1, from memory, every row with both
/// ends of its lots.
#[test]
fn sampling_plans_of_category_a() {
    let printed = [
        (1, 1, 1, None, 0),
        (2, 2, 2, Some(8.984), 0),
        (3, 3, 3, Some(2.484), 0),
        (4, 4, 4, Some(1.591), 0),
        (5, 5, 5, Some(1.241), 0),
        (6, 6, 6, Some(1.050), 0),
        (7, 7, 7, Some(0.925), 0),
        (8, 8, 8, Some(0.836), 0),
        (9, 9, 9, Some(0.769), 0),
        (10, 10, 10, Some(0.715), 0),
        (11, 11, 11, Some(0.672), 0),
        (12, 250, 12, Some(0.635), 0),
        (251, 3_200, 24, Some(0.422), 0),
        (3_201, u32::MAX, 48, Some(0.291), 1),
    ];
    for (from, to, sample, factor, beyond_allowed) in printed {
        for lot in [from, to] {
            let Plan {
                sample: found,
                factor: f,
                beyond_allowed: b,
                ..
            } = us::plan(lot);
            assert_eq!((found, f, b), (sample, factor, beyond_allowed), "lot {lot}");
        }
    }
    // Tares opened first: two below 251, where two or three could apply three.
    for (lot, tares) in [(1, 1), (2, 2), (250, 2), (251, 3), (3_201, 3)] {
        assert_eq!(us::plan(lot).tare_first, tares);
    }
}

/// The factors are t(0.975; n − 1)/√n; four printed ones are off by one in the
/// last place. Quantiles computed with SciPy 1.17.
#[test]
fn printed_factors_follow_the_rule_behind_them() {
    let computed = [
        (2, 8.985),
        (3, 2.484),
        (4, 1.591),
        (5, 1.242),
        (6, 1.049),
        (7, 0.925),
        (8, 0.836),
        (9, 0.769),
        (10, 0.715),
        (11, 0.672),
        (12, 0.635),
        (24, 0.422),
        (48, 0.290),
    ];
    for (n, by_rule) in computed {
        let printed = us::factor(n).unwrap();
        assert!((printed - by_rule).abs() < 0.001_1, "n {n}");
    }
    // Between the printed ones the rule itself: t(0.975; 19) is 2.093.
    assert!((us::factor(20).unwrap() - 2.093 / 20.0_f64.sqrt()).abs() < 2e-4);
    assert_eq!(us::factor(1), None);
}

/// NIST Handbook 133, appendix A, table 2-5, from memory: every row at its
/// upper limit and just above the row before, in both columns. The rows of
/// 0.25 lb (113 g) and 2 lb (907 g) are printed in its chapter 2 (2026), 2.2
/// and 2.3.8.
#[test]
fn allowed_variations() {
    // Upper limit in lb and g, variation in lb and g.
    let rows = [
        ("0.12", 54.0, "0.008", 3.6),
        ("0.18", 81.0, "0.012", 5.4),
        ("0.26", 117.0, "0.016", 7.2),
        ("0.34", 154.0, "0.020", 9.0),
        ("0.46", 208.0, "0.024", 10.8),
        ("0.58", 263.0, "0.028", 12.7),
        ("0.70", 317.0, "0.032", 14.5),
        ("0.84", 381.0, "0.036", 16.3),
        ("0.94", 426.0, "0.040", 18.1),
        ("1.08", 489.0, "0.044", 19.9),
        ("1.26", 571.0, "0.048", 21.7),
        ("1.40", 635.0, "0.052", 23.5),
        ("1.54", 698.0, "0.056", 25.4),
        ("1.70", 771.0, "0.060", 27.2),
        ("1.88", 852.0, "0.064", 29.0),
        ("2.14", 970.0, "0.070", 31.7),
        ("2.48", 1_120.0, "0.078", 35.3),
        ("2.76", 1_250.0, "0.086", 39.0),
        ("3.20", 1_450.0, "0.094", 42.6),
        ("3.90", 1_760.0, "0.11", 49.0),
        ("4.70", 2_130.0, "0.12", 54.0),
        ("5.80", 2_630.0, "0.14", 63.0),
        ("6.80", 3_080.0, "0.15", 68.0),
        ("7.90", 3_580.0, "0.17", 77.0),
        ("9.40", 4_260.0, "0.19", 86.0),
        ("11.70", 5_300.0, "0.22", 99.0),
        ("14.30", 6_480.0, "0.25", 113.0),
        ("17.70", 8_020.0, "0.28", 127.0),
        ("23.20", 10_520.0, "0.31", 140.0),
        ("31.60", 14_330.0, "0.37", 167.0),
        ("42.40", 19_230.0, "0.44", 199.0),
        ("54.40", 24_670.0, "0.50", 226.0),
    ];
    let mut before_lb = mass("0.08 lb");
    let mut before_g = grams(36.0);
    let hair = Mass::from_micrograms(100);
    for (to_lb, to_g, lb, g) in rows {
        let (to_lb, to_g) = (mass(&format!("{to_lb} lb")), grams(to_g));
        for label in [before_lb + hair, to_lb] {
            assert_eq!(
                us::allowed_variation(label, Column::Pound),
                mass(&format!("{lb} lb"))
            );
        }
        for label in [before_g + hair, to_g] {
            assert_eq!(us::allowed_variation(label, Column::Gram), grams(g));
        }
        // Each gram figure is its pound figure cut: to 0.1 g up to 0.1 lb.
        let exact = mass(&format!("{lb} lb")).grams();
        let cut = if exact < 45.0 {
            (exact * 10.0).floor() / 10.0
        } else {
            exact.floor()
        };
        assert_eq!(g, cut);
        (before_lb, before_g) = (to_lb, to_g);
    }
    // A tenth of the smallest, a fiftieth of the largest.
    assert_eq!(
        us::allowed_variation(mass("0.08 lb"), Column::Pound),
        mass("0.008 lb")
    );
    assert_eq!(us::allowed_variation(grams(36.0), Column::Gram), grams(3.6));
    assert_eq!(
        us::allowed_variation(mass("1.2 oz"), Column::Pound),
        mass("0.12 oz")
    );
    assert_eq!(
        us::allowed_variation(mass("60 lb"), Column::Pound),
        mass("1.2 lb")
    );
    assert_eq!(
        us::allowed_variation(grams(25_000.0), Column::Gram),
        grams(500.0)
    );
    // Printed in chapter 2.
    assert_eq!(
        us::allowed_variation(mass("0.25 lb"), Column::Pound),
        mass("0.016 lb")
    );
    assert_eq!(
        us::allowed_variation(grams(113.0), Column::Gram),
        grams(7.2)
    );
    assert_eq!(
        us::allowed_variation(mass("2 lb"), Column::Pound),
        mass("0.07 lb")
    );
    assert_eq!(
        us::allowed_variation(grams(907.0), Column::Gram),
        grams(31.7)
    );
}

/// NIST Handbook 133 (2026), 2.3.3.1, printed example: "1 lb (454 g)" is
/// tested at 454 g, since a pound is 453.592 g.
#[test]
fn the_larger_of_two_declarations_is_tested() {
    assert_eq!(us::tested(mass("1 lb"), grams(454.0)), grams(454.0));
    assert_eq!(us::tested(mass("1 lb"), grams(453.0)), mass("1 lb"));
}

/// NIST Handbook 133 (2026), 2.3.8, printed examples: nominal gross weight with
/// a moisture allowance of 3 %, 907 + 14 − 27 = 894 g; given after the test, it
/// widens the variation, 31.7 + 27 = 58.7 g. Wax has no allowance; here only
/// the sums of masses are held against the print.
#[test]
fn sums_of_the_printed_examples() {
    let nominal = grams(907.0) + grams(14.0) - grams(27.0);
    assert_eq!(nominal, grams(894.0));
    let wider = us::allowed_variation(grams(907.0), Column::Gram) + grams(27.0);
    assert_eq!(wider, grams(58.7));
}

fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 5.1e-5,
        "{found} is not {expected}"
    );
}

/// Own arithmetic after NIST Handbook 133 (2026), 2.3.6 and 2.3.7: sixty
/// clamshells labelled 2.5 oz (70 g), two tares of 8.1 and 8.3 g.
#[test]
fn sixty_clamshells_pass_below_their_label() {
    let gross = [
        78.6, 79.9, 79.3, 78.1, 79.0, 80.2, 78.8, 79.5, 77.9, 79.1, 78.4, 78.7,
    ];
    let gross: Vec<Mass> = gross.iter().map(|g| grams(*g)).collect();
    let sample = Sample::try_new(&gross, grams(8.2)).unwrap();
    let found = us::inspect(&sample, mass("2.5 oz"), Column::Pound, 60);
    assert_eq!((found.required, found.weighed), (12, 12));
    near(found.over_g(), -0.1155);
    near(found.sd_g, 0.6908);
    near(found.error_limit_g, 0.4387);
    near(found.limits.variation.grams(), 5.4431);
    assert_eq!((found.beyond, found.beyond_allowed), (0, 0));
    assert!(found.meets() && !found.has_failed());
}

/// Errors in grams about a label of 70 g, in a lot of 60.
fn errors(errors: &[f64]) -> Inspected {
    let nets: Vec<f64> = errors.iter().map(|error| 70.0 + error).collect();
    us::inspect(&bare(&nets), grams(70.0), Column::Gram, 60)
}

/// Own arithmetic, as above: E = −14/12, s = 1.8505, limit 1.1750.
#[test]
fn a_lot_that_passes_by_eight_milligrams() {
    let found = errors(&[
        -2.0, 1.0, -3.0, 0.0, -4.0, 2.0, -1.0, -2.0, -3.0, 1.0, -2.0, -1.0,
    ]);
    near(found.over_g(), -14.0 / 12.0);
    near(found.sd_g, 1.8505);
    near(found.error_limit_g, 1.1750);
    assert!(found.meets());
}

/// Own arithmetic, as above: E = −4, s = 1.5374, limit 0.9763, two beyond.
#[test]
fn a_lot_that_fails_both_requirements() {
    let found = errors(&[
        -3.0, -5.0, -4.0, -2.0, -6.0, -3.0, -4.0, -5.0, -2.0, -4.0, -3.0, -7.0,
    ]);
    near(found.over_g(), -4.0);
    near(found.sd_g, 1.5374);
    near(found.error_limit_g, 0.9763);
    assert!(!found.average_meets);
    assert_eq!(found.beyond, 2);
    assert!(found.has_failed());
}

/// NIST Handbook 133 (2026), 2.3.7: a package is unreasonably short when it is
/// short by *more* than the variation.
#[test]
fn short_by_just_the_variation_is_not_beyond() {
    let found = errors(&[-5.4, 5.4]);
    assert_eq!(found.beyond, 0);
    assert_eq!(errors(&[-5.41, 5.41]).beyond, 1);
    // The same in ounces, which are no whole micrograms.
    let one = Sample::try_new(&[mass("2.308 oz")], Mass::ZERO).unwrap();
    let found = us::inspect(&one, mass("2.5 oz"), Column::Pound, 60);
    assert_eq!(found.beyond, 0);
}

/// One package: only the variation is asked (table 2-1, from memory).
#[test]
fn a_lot_of_one() {
    let found = us::inspect(&bare(&[68.0]), grams(70.0), Column::Gram, 1);
    assert!(found.is_full() && found.meets());
    let found = us::inspect(&bare(&[64.0]), grams(70.0), Column::Gram, 1);
    assert!(found.has_failed());
}

/// Who weighs more than the plan asks is allowed less, not more.
#[test]
fn more_units_leave_less_to_chance() {
    let twelve = us::inspect(
        &bare(&crate::spread(12, 69.0, 2.0)),
        grams(70.0),
        Column::Gram,
        60,
    );
    let sixty = us::inspect(
        &bare(&crate::spread(60, 69.0, 2.0)),
        grams(70.0),
        Column::Gram,
        60,
    );
    assert!(twelve.average_meets && !sixty.average_meets);
    // t(0.975; 59) is 2.001.
    near(sixty.factor, 0.2583);
    assert!((Rule::Us.guard(60) - 0.635).abs() < 1e-12);
}

/// Own rule in place of appendix A, table 2-3; by hand: 70 g allows 5.4 g, a
/// tenth of its sixth is 0.09 g. Two tares of 8.1 and 8.3 g have a spread of
/// 0.1414 g; t(0.95) is 1.943 for 6 and 1.860 for 8 degrees of freedom: eight
/// give 1.895 × 0.1414/√8 = 0.0948, nine 1.860 × 0.1414/√9 = 0.0877.
#[test]
fn wrappings_to_weigh() {
    let tare = Tare::of(&[grams(8.1), grams(8.3)]).unwrap();
    assert_eq!(us::tares_enough(&tare, grams(5.4)), Some(9));
    let even = Tare::of(&[grams(8.2), grams(8.2)]).unwrap();
    assert_eq!(us::tares_enough(&even, grams(5.4)), Some(2));
    assert_eq!(
        us::tares_enough(&Tare::of_one(grams(8.2)), grams(5.4)),
        None
    );
}
