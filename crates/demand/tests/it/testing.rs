//! Whether a price test tells as often as it is said to.

use demand::{PriceTest, Priors, Question, Sale, learn};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::lines::DAYS;
use crate::workshop::{count, normal};

fn sales(days: &[(f64, f64)]) -> Vec<Sale> {
    days.iter()
        .enumerate()
        .map(|(day, &(price, sold))| Sale {
            day,
            product: 0,
            price,
            sold,
            sold_out: false,
            exposure: 1.0,
        })
        .collect()
}

fn question(reference: f64) -> Question {
    let kept = |price: f64| 0.9825 * price - 0.74;
    Question {
        x: [libm::log(2.0 / reference), libm::log(4.0 / reference)],
        kept: [kept(2.0), kept(4.0)],
    }
}

/// Truths are drawn from the belief after eleven days, the test's days are sold
/// from them, all days are learned from together, and what is then believed is
/// held against the promise.
#[test]
fn a_test_tells_as_often_as_promised() {
    const TRIALS: u64 = 120;
    let before = learn(&sales(&DAYS), &Priors::default()).unwrap();
    let reference = before.reference(0).unwrap();
    let belief = before.belief(0).unwrap();
    let asked = question(reference);
    let threshold = asked.threshold().unwrap();
    let plan = PriceTest {
        x: asked.x,
        days: 20,
    };
    let promised = asked.chance_told(&belief, &plan).unwrap();
    let told = (0..TRIALS).filter(|trial| {
        let mut rng = ChaCha8Rng::seed_from_u64(*trial);
        // One draw of the belief, by its normal.
        let [level, both, slope] = belief.covariance;
        let a = normal(&mut rng, 0.0, level.sqrt());
        let rest = (slope - both * both / level).sqrt();
        let b = belief.mean[1] + both / level * a + normal(&mut rng, 0.0, rest);
        let spread = belief.day_variance.sqrt();
        let mut days = DAYS.to_vec();
        for turn in 0..2 * plan.days {
            let price = if turn % 2 == 0 { 2.0 } else { 4.0 };
            let mean = belief.mean[0] + a + b * libm::log(price / reference);
            let luck = normal(&mut rng, 0.0, spread);
            days.push((
                price,
                count(&mut rng, libm::exp(mean + luck), belief.dispersion),
            ));
        }
        // The luck of the shuffle must not matter.
        let by = rng.random_range(0..days.len());
        days.rotate_left(by);
        let after = learn(&sales(&days), &Priors::default())
            .unwrap()
            .belief(0)
            .unwrap();
        let off = (after.mean[1] - threshold).abs() / after.covariance[2].sqrt();
        off >= 1.281_551_565_544_600_4
    });
    let told = told.count() as f64 / TRIALS as f64;
    // Three standard errors of a share of 120 are 0.14 at most.
    assert!((told - promised).abs() < 0.14, "{told} of {promised}");
    assert!(
        (0.2..0.95).contains(&promised),
        "a promise that could fail: {promised}"
    );
}

#[test]
fn more_days_never_tell_less() {
    let belief = learn(&sales(&DAYS), &Priors::default())
        .unwrap()
        .belief(0)
        .unwrap();
    let asked = question(2.9);
    let mut last = 0.0;
    for days in [1, 2, 5, 10, 30, 100, 1_000] {
        let told = asked
            .chance_told(&belief, &PriceTest { x: asked.x, days })
            .unwrap();
        assert!(told >= last, "{days} days: {told} after {last}");
        last = told;
    }
    let needed = asked.days_needed(&belief, asked.x, 0.8).unwrap();
    let at = |days| {
        asked
            .chance_told(&belief, &PriceTest { x: asked.x, days })
            .unwrap()
    };
    assert!(at(needed) >= 0.8 && at(needed - 1) < 0.8);
    // Prices that are alike, or that keep nothing, have no answer.
    let alike = Question {
        x: [0.1, 0.1],
        kept: [1.0, 1.0],
    };
    assert_eq!(alike.threshold(), None);
    let nothing = Question {
        x: [0.0, 0.1],
        kept: [0.0, 1.0],
    };
    assert_eq!(nothing.days_needed(&belief, asked.x, 0.8), None);
}
