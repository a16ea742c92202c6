//! The sampler against answers found in other ways.

use fill::{Assumptions, NormalBelief, Part, Pour, Range, Spread, Weighing, learn};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::workshop::{TruePour, Truth};

#[track_caller]
fn near(of: &str, found: f64, expected: f64, off: f64) {
    println!("{of}: {found:.4}, expected {expected:.4}");
    assert!(
        (found - expected).abs() <= off,
        "{of}: {found} is not {expected} within {off}"
    );
}

/// Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5, the
/// wings of nine midges. The book's prior mean "worth one" is one more wing of
/// 1.9, so the sampler can be given the very same posterior, which is known
/// exactly. Widths are about 0.14 and 0.44; a twentieth of that is allowed.
#[test]
fn midge_wings_as_units_of_one_pour() {
    let wings = [1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08];
    let exact = NormalBelief::prior(1.9, 1.0, 0.1, 1.0)
        .unwrap()
        .after(&wings)
        .unwrap();
    let pour = Pour {
        // Ample, and nobody looked what was left: the balance says nothing.
        poured: 1000.0,
        top_ups: Vec::new(),
        left: None,
        cavities: 10,
        filled: 10,
        part: Part::NotSaid,
        weighings: wings
            .iter()
            .chain(&[1.9])
            .map(|w| Weighing::one(*w))
            .collect(),
        readability: 0.0,
    };
    let assumptions = Assumptions {
        nominal_unit: Some(1.9),
        nominal_doubt: 10.0,
        spread_within: Spread::InverseChiSquare {
            units: 1.0,
            sd: 0.1,
        },
        spread_between: Spread::Known(1e-4),
        ..Assumptions::default()
    };
    let learned = learn(&[pour], &assumptions).unwrap();
    for (chance, mean, next) in [
        (0.05, learned.unit_weight.low, learned.next_unit.low),
        (0.5, learned.unit_weight.median, learned.next_unit.median),
        (0.95, learned.unit_weight.high, learned.next_unit.high),
    ] {
        near("mean", mean, exact.mean_at(chance).unwrap(), 0.007);
        near("next", next, exact.next_unit_at(chance).unwrap(), 0.022);
    }
}

/// Draws truths from the prior, pours, and keeps those whose record is the
/// very one seen. What remains is the posterior, with no likelihood, no
/// rounding model and no chain in it.
fn by_rejection(
    nominal: f64,
    tries: u32,
    seen: impl Fn(&TruePour) -> bool,
    cavities: u32,
) -> [Range; 3] {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let (mut mean, mut loss, mut need) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..tries {
        let truth = Truth::draw(&mut rng, nominal);
        if seen(&TruePour::draw(&mut rng, &truth, cavities)) {
            mean.push(truth.mu);
            let odds = libm::exp(truth.loss);
            loss.push(odds / (1.0 + odds));
            need.push(TruePour::draw(&mut rng, &truth, cavities).need());
        }
    }
    println!("{} kept of {tries}", mean.len());
    assert!(mean.len() > 4_000);
    [mean, loss, need].map(|mut values| {
        values.sort_by(f64::total_cmp);
        let at = |percent: usize| values[percent * values.len() / 100];
        Range {
            low: at(5),
            median: at(50),
            high: at(95),
        }
    })
}

/// Both sides are drawn, so a tenth of the width is allowed.
#[track_caller]
fn agree(of: &str, found: Range, expected: Range) {
    let off = 0.1 * (expected.high - expected.low);
    near(of, found.low, expected.low, off);
    near(of, found.median, expected.median, off);
    near(of, found.high, expected.high, off);
}

fn pour(filled: u32, weighings: Vec<Weighing>) -> Pour {
    Pour {
        poured: 530.0,
        top_ups: Vec::new(),
        left: Some(0.0),
        cavities: 12,
        filled,
        part: Part::NotSaid,
        weighings,
        readability: 2.0,
    }
}

/// Six bars on a scale that cannot tell them apart say as much about their
/// mean as one of them: nothing finer than the step.
#[test]
fn a_scale_too_coarse_teaches_what_rejection_teaches() {
    let seen = |it: &TruePour| {
        it.pour(530.0).0 == 11 && it.units[..6].iter().all(|unit| (unit - 45.0).abs() < 2.5)
    };
    let [mean, loss, need] = by_rejection(45.0, 200_000, seen, 12);
    let assumptions = Assumptions {
        nominal_unit: Some(45.0),
        ..Assumptions::default()
    };
    let coarse = Pour {
        readability: 5.0,
        ..pour(11, vec![Weighing::one(45.0); 6])
    };
    let learned = learn(&[coarse], &assumptions).unwrap();
    agree("mean", learned.unit_weight, mean);
    agree("loss", learned.loss, loss);
    agree("need", learned.need(12).range(), need);
}

#[test]
fn a_count_alone_teaches_what_rejection_teaches() {
    let seen = |it: &TruePour| it.pour(530.0).0 == 11;
    let [mean, loss, need] = by_rejection(45.0, 200_000, seen, 12);
    let assumptions = Assumptions {
        nominal_unit: Some(45.0),
        ..Assumptions::default()
    };
    let learned = learn(&[pour(11, Vec::new())], &assumptions).unwrap();
    agree("mean", learned.unit_weight, mean);
    agree("loss", learned.loss, loss);
    agree("need", learned.need(12).range(), need);
}

#[test]
fn two_coarse_weights_teach_what_rejection_teaches() {
    // A scale of 2 g reads 44 from 43 up to 45.
    let reads = |grams: f64, reading: f64| (grams - reading).abs() < 1.0;
    let seen = |it: &TruePour| {
        it.pour(530.0).0 == 11 && reads(it.units[0], 44.0) && reads(it.units[1], 46.0)
    };
    let [mean, loss, need] = by_rejection(45.0, 1_000_000, seen, 12);
    let assumptions = Assumptions {
        nominal_unit: Some(45.0),
        ..Assumptions::default()
    };
    let weighings = vec![Weighing::one(44.0), Weighing::one(46.0)];
    let learned = learn(&[pour(11, weighings)], &assumptions).unwrap();
    agree("mean", learned.unit_weight, mean);
    agree("loss", learned.loss, loss);
    agree("need", learned.need(12).range(), need);
}
