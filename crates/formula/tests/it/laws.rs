use formula::{
    Blend, Dye, DyeAmount, Formula, FragranceLoad, Loss, Part, PartKind, Target, plan, rescale,
};
use measure::{Decimal, Mass, Ratio};
use proptest::prelude::*;

use crate::{bench, mass};

fn any_load() -> impl Strategy<Value = FragranceLoad> {
    (0_i64..500, any::<bool>()).prop_map(|(tenths, of_wax)| {
        let ratio = Ratio::from_decimal(Decimal::new(tenths, 3)).unwrap();
        if of_wax {
            FragranceLoad::of_wax(ratio)
        } else {
            FragranceLoad::of_total(ratio)
        }
        .unwrap()
    })
}

fn any_formula() -> impl Strategy<Value = Formula> {
    (
        prop::collection::vec(0_i64..1000, 1..6),
        any_load(),
        prop::collection::vec(0_i64..50, 0..3),
    )
        .prop_map(|(parts, load, dyes)| {
            let mut parts: Vec<Part> = parts
                .into_iter()
                .enumerate()
                .map(|(i, parts)| Part {
                    name: format!("wax {i}"),
                    parts: Decimal::from(parts),
                    max_load: None,
                    kind: PartKind::Wax,
                })
                .collect();
            parts[0].parts += Decimal::ONE;
            Formula {
                blend: Blend::try_new(parts).unwrap(),
                load,
                dyes: dyes
                    .into_iter()
                    .map(|thousandths| Dye {
                        name: "dye".to_owned(),
                        amount: DyeAmount::OfWax(
                            Ratio::from_decimal(Decimal::new(thousandths, 3)).unwrap(),
                        ),
                        drop_weight: None,
                    })
                    .collect(),
            }
        })
}

/// From a gram to a tonne.
fn any_mass() -> impl Strategy<Value = Mass> {
    (1_000_000_i64..1_000_000_000_000).prop_map(Mass::from_micrograms)
}

fn portions(formula: &Formula, total: Mass) -> Vec<Mass> {
    plan(formula, Target::Total(total), &bench("0.001 g"))
        .unwrap()
        .portions
        .iter()
        .map(|portion| portion.exact)
        .collect()
}

proptest! {
    #[test]
    fn the_parts_add_up_to_the_pour(formula in any_formula(), total in any_mass()) {
        prop_assert_eq!(portions(&formula, total).into_iter().sum::<Mass>(), total);
    }

    #[test]
    fn the_wax_on_hand_is_all_used(formula in any_formula(), wax in any_mass()) {
        let plan = plan(&formula, Target::Wax(wax), &bench("0.001 g")).unwrap();
        let blend: Mass = plan.portions.iter()
            .filter(|portion| portion.role.is_in_blend())
            .map(|portion| portion.exact)
            .sum();
        prop_assert_eq!(blend, wax);
    }

    // A milligram more outweighs the microgram each portion may be rounded by.
    #[test]
    fn a_heavier_pour_never_needs_less(
        formula in any_formula(), total in any_mass(), more in 1_000_i64..1_000_000,
    ) {
        let light = portions(&formula, total);
        let heavy = portions(&formula, total + Mass::from_micrograms(more));
        for (light, heavy) in light.iter().zip(&heavy) {
            prop_assert!(heavy >= light);
        }
    }

    #[test]
    fn the_running_reading_is_the_sum_so_far(formula in any_formula(), total in any_mass()) {
        let mut on_scale = bench("1 mg");
        on_scale.tare = Some(mass("412 g"));
        let plan = plan(&formula, Target::Total(total), &on_scale).unwrap();
        let mut sum = Mass::ZERO;
        for portion in &plan.portions {
            sum = sum + portion.weight.value();
            prop_assert_eq!(portion.running.value(), sum);
            prop_assert_eq!(portion.reading.value(), sum + mass("412 g"));
        }
        prop_assert_eq!(sum, plan.weighed.total());
    }

    #[test]
    fn a_load_there_and_back_is_the_same(load in any_load()) {
        let back = match load {
            FragranceLoad::OfWax(_) => FragranceLoad::OfTotal(load.as_of_total(Ratio::ZERO)).as_of_wax(Ratio::ZERO),
            FragranceLoad::OfTotal(_) => FragranceLoad::OfWax(load.as_of_wax(Ratio::ZERO)).as_of_total(Ratio::ZERO),
        };
        prop_assert_eq!(back.decimal().round_dp(20), load.ratio().decimal().round_dp(20));
    }

    #[test]
    fn a_load_reads_as_it_prints(load in any_load()) {
        prop_assert_eq!(load.to_string().parse::<FragranceLoad>().unwrap(), load);
    }

    #[test]
    fn units_and_loss_melt_at_least_the_goods(
        count in 1_u64..1000, each in 1_000_000_i64..1_000_000_000, lost in 0_i64..900,
    ) {
        let each = Mass::from_micrograms(each);
        let loss = Loss::OfMelted(Ratio::from_decimal(Decimal::new(lost, 3)).unwrap());
        let target = Target::Units { count, each, loss };
        let plan = plan(&crate::plain("8 % of wax"), target, &bench("0.1 g")).unwrap();
        prop_assert!(plan.exact.total() >= plan.goods.unwrap());
    }

    // Keeping the formula never asks to take something out, and every portion
    // in the pot stays within a step of the scaled plan.
    #[test]
    fn keeping_the_formula_only_adds(
        formula in any_formula(), total in any_mass(), slips in prop::collection::vec(500_i64..3000, 1..8),
    ) {
        let on = bench("0.1 g");
        let plan = plan(&formula, Target::Total(total + mass("100 g")), &on).unwrap();
        let in_pot: Vec<Option<Mass>> = plan.portions.iter().zip(&slips)
            .map(|(portion, slip)| portion.weight.value().share(Decimal::new(*slip, 3), Decimal::ONE))
            .collect();
        let ways = rescale(&plan, &in_pot, &on).unwrap();
        if let Some(keep) = ways.keep_formula {
            prop_assert!(keep.factor >= Decimal::ONE);
            for portion in &keep.portions {
                prop_assert!(portion.add >= Mass::ZERO);
                prop_assert_eq!(portion.in_pot + portion.add, portion.target);
            }
        }
        prop_assert_eq!(ways.keep_going.portions.iter().copied().sum::<Mass>(), ways.keep_going.contents.total());
    }

    #[test]
    fn no_text_panics(text in "\\PC{0,24}", other in "[0-9 .,/%a-z-]{0,16}") {
        let _ = text.parse::<FragranceLoad>();
        let _ = other.parse::<FragranceLoad>();
        let _ = DyeAmount::parse(&text, measure::Reading::PLAIN);
        let _ = DyeAmount::parse(&other, measure::Reading::PLAIN);
        let _ = crate::try_weigh(serde_json::json!({
            "blend": [{ "name": text, "parts": other }],
            "load": format!("{other} of wax"),
            "target": { "total": format!("{other} g"), "unit_weight": text },
            "readability": other,
        }));
    }
}
