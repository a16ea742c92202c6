//! Laws that hold whatever was poured.

use fill::{Assumptions, Learned, Part, Pour, Weighing, learn};
use proptest::prelude::*;

prop_compose! {
    /// A pour that may or may not make sense; `any_pours` keeps those that do.
    fn any_pour()(
        poured in 50.0..3000.0_f64,
        left in prop::option::of(0.0..200.0_f64),
        cavities in 1..30_u32,
        empty in 0..4_u32,
        part in prop_oneof![
            Just(Part::NotSaid),
            Just(Part::Unknown),
            (0.0..1.0_f64).prop_map(Part::Share),
            (0.0..30.0_f64).prop_map(Part::Weighed),
        ],
        weights in prop::collection::vec(0.8..1.2_f64, 0..5),
        readability in prop_oneof![Just(0.1), Just(1.0), Just(2.8)],
    ) -> Pour {
        let filled = cavities.saturating_sub(empty);
        let share = (poured - left.unwrap_or(0.0)).max(10.0) / (f64::from(filled) + 0.7);
        Pour {
            poured,
            top_ups: Vec::new(),
            left,
            cavities,
            filled,
            part: if filled == cavities { Part::NotSaid } else { part },
            weighings: weights
                .into_iter()
                .take(filled as usize)
                .map(|w| Weighing::one(w * share))
                .collect(),
            readability,
        }
    }
}

fn any_pours() -> impl Strategy<Value = Vec<Pour>> {
    prop::collection::vec(
        any_pour().prop_filter("sound", |pour| pour.faults(0).is_empty()),
        1..5,
    )
}

fn learned(pours: &[Pour]) -> Learned {
    learn(pours, &Assumptions::default()).expect("sound pours teach something")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn more_wanted_never_needs_less_and_more_melt_never_fills_fewer(
        pours in any_pours(),
        grams in 0.0..4000.0_f64,
        more in 0.0..500.0_f64,
        units in 0..40_u32,
        chance in 0.0..1.0_f64,
    ) {
        let learned = learned(&pours);
        let need = learned.need(units);
        prop_assert!(need.at(chance) <= learned.need(units + 1).at(chance));
        prop_assert!(need.at(chance) <= need.at((chance + 0.1).min(1.0)));
        prop_assert!(learned.chance(grams, units) <= learned.chance(grams + more, units));
        prop_assert!(learned.chance(grams, units + 1) <= learned.chance(grams, units));
        // What is enough with a chance is enough with that chance.
        prop_assert!(learned.chance(need.at(chance), units) >= chance - 1e-9);
    }

    #[test]
    fn counts_add_up_and_agree_with_the_chance(
        pours in any_pours(),
        grams in 0.0..4000.0_f64,
    ) {
        let learned = learned(&pours);
        let counts = learned.units_from(grams, 24);
        prop_assert_eq!(counts.len(), 25);
        prop_assert!((counts.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        for units in 0..=24_u32 {
            let at_least: f64 = counts[units as usize..].iter().sum();
            prop_assert!((at_least - learned.chance(grams, units)).abs() < 1e-9);
        }
    }

    #[test]
    fn the_order_of_pours_and_weighings_changes_nothing(pours in any_pours()) {
        let mut turned = pours.clone();
        turned.reverse();
        for pour in &mut turned {
            pour.weighings.reverse();
        }
        let (one, other) = (learned(&pours), learned(&turned));
        prop_assert_eq!(one.need(12).range(), other.need(12).range());
        prop_assert_eq!(one.unit_weight, other.unit_weight);
        prop_assert_eq!(one.loss, other.loss);
    }

    #[test]
    fn nothing_that_can_be_typed_panics(
        numbers in prop::collection::vec(prop_oneof![any::<f64>(), Just(f64::NAN), Just(0.0), -1e3..1e9_f64], 6),
        cavities in any::<u32>(),
        filled in any::<u32>(),
        units in any::<u32>(),
    ) {
        let pour = Pour {
            poured: numbers[0],
            top_ups: vec![numbers[1]],
            left: Some(numbers[2]),
            cavities,
            filled,
            part: Part::Share(numbers[3]),
            weighings: vec![Weighing { units, grams: numbers[4] }],
            readability: numbers[5],
        };
        let _ = fill::Balance::of(&pour);
        if let Ok(learned) = learn(&[pour], &Assumptions::default()) {
            prop_assert!(learned.need(12).at(0.9).is_finite());
        }
    }
}
