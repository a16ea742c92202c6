//! What a maker sees after the first pour, and after the second.

use fill::{Assumptions, Balance, Learned, Part, Pour, Trouble, Weighing, learn};

/// An avoirdupois ounce in grams: NIST SP 811 (2008), B.8.
const OUNCE: f64 = 28.349_523_125;

fn bars(ounces: f64, filled: u32, weights: &[f64]) -> Pour {
    Pour {
        poured: ounces * OUNCE,
        top_ups: Vec::new(),
        left: Some(0.0),
        cavities: 12,
        filled,
        part: Part::NotSaid,
        weighings: weights.iter().map(|w| Weighing::one(w * OUNCE)).collect(),
        readability: 0.1 * OUNCE,
    }
}

fn shells() -> Pour {
    Pour {
        poured: 1842.0,
        top_ups: Vec::new(),
        left: Some(31.0),
        cavities: 24,
        filled: 23,
        part: Part::NotSaid,
        weighings: vec![Weighing {
            units: 23,
            grams: 23.0 * 75.9,
        }],
        readability: 1.0,
    }
}

fn plainly(pours: &[Pour]) -> Learned {
    learn(pours, &Assumptions::default()).expect("the pours are sound")
}

/// Common practice, no source: 16.7 oz of wax with 2 oz of oil filled eleven
/// of twelve bars of 1.5 to 1.6 oz; 17.5 oz with 2 oz filled all twelve.
#[test]
fn the_second_pour_lies_in_the_range_after_the_first_and_narrows_it() {
    let first = bars(18.7, 11, &[1.5, 1.6]);
    let after_one = plainly(std::slice::from_ref(&first)).need(12).range();
    println!(
        "after one pour: {:.2} to {:.2} oz, middle {:.2}",
        after_one.low / OUNCE,
        after_one.high / OUNCE,
        after_one.median / OUNCE
    );
    let second = 19.5 * OUNCE;
    assert!(after_one.low < second && second < after_one.high);

    let both = plainly(&[first, bars(19.5, 12, &[])]);
    let after_two = both.need(12).range();
    println!(
        "after two pours: {:.2} to {:.2} oz, middle {:.2}",
        after_two.low / OUNCE,
        after_two.high / OUNCE,
        after_two.median / OUNCE
    );
    assert!(after_two.width() < 0.9 * after_one.width());
    assert!(after_two.low < second && second < after_two.high);
    assert!((after_two.median / OUNCE - 19.5).abs() < 0.3);
    // The first charge filled eleven and is unlikely to fill twelve now.
    assert!(both.chance(18.7 * OUNCE, 12) < 0.15);
    assert!(both.chance(18.7 * OUNCE, 11) > 0.85);
}

#[test]
fn one_bad_pour_moves_the_loss_part_of_the_way() {
    let assumptions = Assumptions {
        nominal_unit: Some(75.6),
        expected_loss: 0.015,
        ..Assumptions::default()
    };
    let balance = Balance::of(&shells()).unwrap();
    let learned = learn(&[shells()], &assumptions).unwrap();
    println!("{:?} {:?}", learned.loss_before, learned.loss);
    assert!((learned.loss_before.median - 0.015).abs() < 1e-9);
    assert!(learned.loss.median > 0.02 && learned.loss.median < balance.unaccounted_share);
    assert!(learned.loss.width() / learned.loss.median < 2.0);
    assert!((learned.unit_weight.median - 75.9).abs() < 0.5);
    // The next 24 are planned a little larger than the 1,842 g of before.
    let next = learned.need(24).at(0.5);
    println!(
        "next 24: {next:.0} g, nine in ten {:.0} g",
        learned.need(24).at(0.9)
    );
    assert!(next > 1842.0 && next < 1842.0 * 1.04);

    // Five more like it leave little of the first figure.
    let six = learn(&vec![shells(); 6], &assumptions).unwrap();
    let away = |it: &Learned| (it.loss.median - balance.unaccounted_share).abs();
    assert!(away(&six) < 0.5 * away(&learned));
    assert!(six.loss.width() < learned.loss.width());
}

#[test]
fn without_a_pour_the_nominal_weight_answers_with_wide_doubt() {
    let assumptions = Assumptions {
        nominal_unit: Some(75.6),
        expected_loss: 0.015,
        ..Assumptions::default()
    };
    let learned = learn(&[], &assumptions).unwrap();
    // 24 x 75.6 / 0.985, worked by hand: 1,842 g.
    assert!((learned.need(24).at(0.5) / 1842.0 - 1.0).abs() < 0.02);
    // ln(high/low) of a normal of 0.17 is 3.29 x 0.17 = 0.559.
    let doubt = libm::log(learned.unit_weight.high / learned.unit_weight.low);
    assert!((doubt - 0.559).abs() < 0.05, "{doubt}");
    assert!((learned.loss.median / learned.loss_before.median - 1.0).abs() < 0.1);
}

#[test]
fn a_heavier_weighing_together_counts_as_its_units_do() {
    let singly = Pour {
        weighings: vec![Weighing::one(75.9); 23],
        ..shells()
    };
    let (one, many) = (plainly(&[shells()]), plainly(&[singly]));
    assert!((one.unit_weight.median / many.unit_weight.median - 1.0).abs() < 0.005);
    // But alike singles say more about the spread.
    assert!(many.spread_within.high < one.spread_within.high);
}

/// Whatever was not recorded, there is an answer.
#[test]
fn every_gap_in_the_record_is_lived_with() {
    let base = bars(18.7, 11, &[]);
    let gaps = [
        base.clone(),
        Pour {
            left: None,
            ..base.clone()
        },
        Pour {
            filled: 0,
            ..base.clone()
        },
        Pour {
            filled: 0,
            left: None,
            poured: 20.0,
            ..base.clone()
        },
        Pour {
            filled: 12,
            left: None,
            ..base.clone()
        },
        Pour {
            filled: 12,
            left: Some(60.0),
            ..base.clone()
        },
        Pour {
            part: Part::Absent,
            ..base.clone()
        },
        Pour {
            part: Part::Unknown,
            left: Some(5.0),
            ..base.clone()
        },
        Pour {
            part: Part::Share(0.0),
            ..base.clone()
        },
        Pour {
            part: Part::Share(1.0),
            ..base.clone()
        },
        Pour {
            part: Part::Weighed(0.0),
            ..base.clone()
        },
        Pour {
            part: Part::Weighed(20.0),
            ..base.clone()
        },
        Pour {
            readability: 0.0,
            ..base.clone()
        },
        Pour {
            top_ups: vec![10.0, 0.0],
            ..base.clone()
        },
        bars(18.7, 11, &[1.6; 11]),
        // The count and the two weights cannot both be right; the answer is
        // wide rather than absent.
        bars(18.7, 11, &[0.5, 0.5]),
        bars(18.7, 2, &[1.5, 1.6]),
    ];
    for (idx, pour) in gaps.iter().enumerate() {
        let learned = plainly(std::slice::from_ref(pour));
        let need = learned.need(12).range();
        assert!(
            need.low > 0.0 && need.low < need.high && need.high.is_finite(),
            "{idx}: {need:?}"
        );
        let units = learned.unit_weight;
        assert!(
            units.low > 0.0 && units.high.is_finite(),
            "{idx}: {units:?}"
        );
    }
    plainly(&gaps);
}

#[test]
fn what_cannot_be_answered_is_refused_with_its_place() {
    let none = learn(&[], &Assumptions::default()).unwrap_err();
    assert_eq!(none[0].trouble, Trouble::NothingToGoOn);
    // Neither does a pour that went back whole.
    let back = Pour {
        filled: 0,
        left: Some(18.7 * OUNCE),
        ..bars(18.7, 0, &[])
    };
    let none = learn(&[back], &Assumptions::default()).unwrap_err();
    assert_eq!(none[0].trouble, Trouble::NothingToGoOn);
    let faults = learn(
        &[
            shells(),
            Pour {
                filled: 25,
                ..shells()
            },
        ],
        &Assumptions {
            expected_loss: 1.0,
            nominal_unit: Some(-3.0),
            ..Assumptions::default()
        },
    )
    .unwrap_err();
    let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "nominal_unit: this assumption is out of range",
            "expected_loss: this assumption is out of range",
            "filled: 25 units from 24 cavities",
        ]
    );
    assert_eq!(faults[2].pour, Some(1));
}

/// What the draws leave to chance is small beside the doubt they describe.
#[test]
fn another_seed_changes_little() {
    let pours = [
        bars(18.7, 11, &[1.5, 1.6]),
        bars(19.5, 12, &[]),
        bars(19.0, 11, &[]),
    ];
    for n in 1..=pours.len() {
        let needs: Vec<_> = (0..12)
            .map(|seed| {
                let assumptions = Assumptions {
                    seed,
                    ..Assumptions::default()
                };
                let learned = learn(&pours[..n], &assumptions).unwrap();
                assert_eq!(learned.seed, seed);
                learned.need(12).range()
            })
            .collect();
        let width = needs.iter().map(fill::Range::width).sum::<f64>() / needs.len() as f64;
        let off = |value: fn(&fill::Range) -> f64| {
            let values: Vec<f64> = needs.iter().map(value).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
            (squares / (values.len() as f64 - 1.0)).sqrt() / width
        };
        let (low, median, high) = (off(|r| r.low), off(|r| r.median), off(|r| r.high));
        println!("{n} pours: seeds differ by {low:.3}, {median:.3}, {high:.3} of the width");
        assert!(low < 0.05 && median < 0.03 && high < 0.05);
    }
}
