use measure::{MassUnit, Readability, Typed, figure, percent};
use proptest::prelude::*;

use crate::mass;

fn scale(step: &str) -> Readability {
    Readability::try_new(&Typed::parse(step).unwrap()).unwrap()
}

#[track_caller]
fn check(step: &str, given: &str, nearest: &str, down: &str, up: &str) {
    let (scale, given) = (scale(step), mass(given));
    assert_eq!(scale.nearest(given).to_string(), nearest);
    assert_eq!(scale.down(given).to_string(), down);
    assert_eq!(scale.up(given).to_string(), up);
}

#[test]
fn a_scale_rounds_to_its_step() {
    check("1 g", "75.6 g", "76 g", "75 g", "76 g");
    check("0.1 oz", "15.03 oz", "15.0 oz", "15.0 oz", "15.1 oz");
    check("0.1 oz", "1.67 oz", "1.7 oz", "1.6 oz", "1.7 oz");
    check("5 g", "12 g", "10 g", "10 g", "15 g");
    check("0.05 oz", "1 oz", "1.00 oz", "1.00 oz", "1.00 oz");
    check("2 g", "453.6 g", "454 g", "452 g", "454 g");
    check("1 g", "1 lb", "454 g", "453 g", "454 g");
    check("0.1 oz", "0 g", "0.0 oz", "0.0 oz", "0.0 oz");
}

#[test]
fn half_a_step_goes_to_the_even_one() {
    check("1 g", "0.5 g", "0 g", "0 g", "1 g");
    check("1 g", "1.5 g", "2 g", "1 g", "2 g");
    check("1 g", "2.5 g", "2 g", "2 g", "3 g");
}

/// A tenth of an ounce is 2,834,952.3125 µg: held in whole micrograms, it must
/// still be one step and not a hair less.
#[test]
fn a_step_typed_is_a_step_whatever_it_holds() {
    check("0.1 oz", "0.1 oz", "0.1 oz", "0.1 oz", "0.1 oz");
    check("1/8 oz", "3/8 oz", "0.375 oz", "0.375 oz", "0.375 oz");
    assert_eq!(scale("1/8 oz").to_string(), "0.125 oz");
    assert_eq!(scale("0.10 oz").to_string(), "0.1 oz");
}

#[test]
fn a_step_without_an_end_in_decimals_is_refused() {
    for step in ["1/3 oz", "2/7 g", "1 lb 1 oz"] {
        let refused = Readability::try_new(&Typed::parse(step).unwrap()).unwrap_err();
        assert_eq!(refused.wrong, "no scale shows such a step in decimals");
    }
    check("1/16 oz", "0.33 oz", "0.3125 oz", "0.3125 oz", "0.3750 oz");
}

#[test]
fn a_usual_scale_shows_grams_or_tenths_of_an_ounce() {
    let usual = |unit| Readability::usual(unit).to_string();
    assert_eq!(usual(MassUnit::Gram), "1 g");
    assert_eq!(usual(MassUnit::Kilogram), "1 g");
    assert_eq!(usual(MassUnit::Ounce), "0.1 oz");
    assert_eq!(usual(MassUnit::Pound), "0.1 oz");
}

#[test]
fn extremes_are_rounded_and_do_not_panic() {
    let most = measure::Mass::from_micrograms(i64::MAX);
    for step in ["0.000001 g", "0.000001 lb", "1/64 oz", "9000000000 kg"] {
        let scale = scale(step);
        for given in [most, measure::Mass::ZERO, measure::Mass::ZERO - most] {
            let _ = (scale.nearest(given), scale.down(given), scale.up(given));
        }
    }
}

#[test]
fn figures_for_people_round_half_even() {
    assert_eq!(figure(0.125, 2), "0.12");
    assert_eq!(figure(0.375, 2), "0.38");
    assert_eq!(figure(-0.001, 2), "0.00");
    assert_eq!(figure(f64::NAN, 2), "?");
    assert_eq!(figure(f64::INFINITY, 2), "?");
    assert_eq!(figure(1e300, 2), "?");
    assert_eq!(percent("12.25 %".parse().unwrap(), 1), "12.2 %");
    assert_eq!(percent("12.35 %".parse().unwrap(), 1), "12.4 %");
    assert_eq!(
        mass("425.24 g").typed(MassUnit::Ounce, 1).to_string(),
        "15.0 oz"
    );
}

proptest! {
    #[test]
    fn down_nearest_up_stand_in_order(micrograms in 0_i64..10_000_000_000_000, step in 1_i64..100_000) {
        let step = Typed::<measure::Mass>::parse(&format!("0.{step:05} oz"));
        prop_assume!(step.as_ref().is_ok_and(|step| !step.value().is_zero()));
        let scale = Readability::try_new(&step.unwrap()).unwrap();
        let mass = measure::Mass::from_micrograms(micrograms);
        let (down, nearest, up) = (scale.down(mass), scale.nearest(mass), scale.up(mass));
        prop_assert!(down.value() <= nearest.value() && nearest.value() <= up.value());
        // A step is allowed a ten-thousandth for being held in micrograms.
        let step = scale.mass();
        prop_assert!((up.value() - down.value()).micrograms() <= step.micrograms() + 1);
        prop_assert!((mass - nearest.value()).micrograms().abs() * 10_000 <= step.micrograms() * 5_001 + 10_000);
    }
}
