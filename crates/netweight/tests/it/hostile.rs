//! Inputs that mean harm, or nothing.

use measure::{Problems, parse_input};
use netweight::{declare, net_weight};
use proptest::prelude::*;
use serde_json::{Value, json};

fn test(input: Value) -> Result<net_weight::Output, Problems> {
    net_weight::calculate(&parse_input(input)?)
}

fn ask(input: Value) -> Result<declare::Output, Problems> {
    declare::calculate(&parse_input(input)?)
}

#[track_caller]
fn refused<T: std::fmt::Debug>(found: Result<T, Problems>, expected: &[&str]) {
    let problems = found.unwrap_err();
    let found: Vec<String> = problems
        .iter()
        .map(|problem| format!("{}: {}", problem.field, problem.wrong))
        .collect();
    assert_eq!(found, expected);
    assert!(problems.iter().all(|problem| !problem.accepted.is_empty()));
}

#[test]
fn nothing_at_all() {
    refused(
        test(json!({})),
        &[
            "rule: the rule is missing",
            "declared: a weight is missing",
            "lot_size: the size of the lot is missing",
            "weights: no unit was weighed",
        ],
    );
    refused(
        ask(json!({})),
        &["rule: the rule is missing", "weights: no unit was weighed"],
    );
}

#[test]
fn everything_wrong_comes_back_together() {
    refused(
        test(json!({
            "rule": "France", "declared": "1 lb (454", "lot_size": 0.5,
            "weights": ["1.5", "0 g", "-3 g"], "tare": "1 parsec", "tares": ["8 g"],
            "scale": "0 g", "scale_error": "lots",
        })),
        &[
            "rule: there are rules for the United States, the European Union and Britain",
            "declared: the second weight has no closing bracket",
            "weights[0]: the weight has no unit",
            "weights[1]: that weighs nothing",
            "weights[2]: a weight cannot be negative",
            "tare: \"parsec\" is not a unit of weight",
            "tare: there are also tares weighed one by one",
            "scale: that weighs nothing",
            "scale_error: there is no number at the start",
            "lot_size: that is not the size of a lot",
        ],
    );
    refused(
        ask(json!({
            "rule": "EU", "weights": ["40 g", "41 g"], "chance": "100 %", "steps": "0.1 oz",
            "lots": [[], ["40 q"]],
        })),
        &[
            "chance: that chance cannot be answered for",
            "steps: in the EU and Britain a weight is declared in grams or kilograms",
            "lots[0]: the lot has no weights",
            "lots[1][0]: \"q\" is not a unit of weight",
        ],
    );
}

#[test]
fn what_does_not_go_together() {
    refused(
        test(json!({"rule": "UK", "declared": "1.5 oz", "lot_size": 40, "weights": ["1.5 oz"]})),
        &["declared: in the EU and Britain a weight is declared in grams or kilograms"],
    );
    refused(
        test(
            json!({"rule": "US", "declared": "1.5 oz", "lot_size": 1, "weights": ["1.5 oz", "1.5 oz"]}),
        ),
        &["lot_size: more units were weighed than the lot holds"],
    );
    refused(
        test(
            json!({"rule": "US", "declared": "1.5 oz", "lot_size": 40, "weights": ["1.5 oz"], "tare": "2 oz"}),
        ),
        &["weights: weights[0] is not above the tare"],
    );
    refused(
        ask(json!({"rule": "US", "weights": ["1.5 oz"]})),
        &["weights: one unit says nothing of how units differ"],
    );
    refused(
        ask(json!({"rule": "US", "weights": ["1 oz", "2 oz"]})),
        &["weights: not even 0.1 oz can be declared with a chance of 99.0 %"],
    );
    refused(
        ask(json!({"rule": "US", "weights": ["1/3 lb", "1/3 lb"]})),
        &["weights: nothing is known of how units differ"],
    );
    refused(
        test(json!({"rule": "US", "declared": "1 oz", "lot_size": 4, "weights": ["200 kg"]})),
        &["weights[0]: no package weighs so much"],
    );
    assert!(test(json!({"rule": "US", "net": 1})).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_text_panics(
        rule in "US|EU|UK|.{0,4}",
        declared in "[0-9]{1,4}(\\.[0-9]{1,3})? (g|oz|kg|lb)|.{0,12}",
        weights in prop::collection::vec("[0-9]{1,4}(\\.[0-9]{1,3})? (g|oz)|.{0,8}", 0..6),
        lot in 0_u32..20_000,
        steps in "[0-9]\\.[0-9] (g|oz)|.{0,6}",
    ) {
        let _ = test(json!({
            "rule": rule, "declared": declared, "weights": weights, "lot_size": lot,
        }));
        let _ = ask(json!({"rule": rule, "weights": weights, "lot_size": lot, "steps": steps}));
    }

    /// Heavier units never fail what lighter ones pass.
    #[test]
    fn a_heavier_lot_never_does_worse(
        nets in prop::collection::vec(55_000_u32..85_000, 12),
        more in 0_u32..5_000,
    ) {
        let weights = |add: u32| -> Vec<String> {
            nets.iter().map(|mg| format!("{} mg", mg + add)).collect()
        };
        for rule in ["US", "EU"] {
            let said = |weights: Vec<String>| {
                test(json!({"rule": rule, "declared": "70 g", "lot_size": 12, "weights": weights}))
                    .unwrap()
                    .pass
            };
            prop_assert!(!said(weights(0)) || said(weights(more)));
        }
    }

    /// What is declared was asked for in whole steps, lies below the average,
    /// and has at least the chance asked.
    #[test]
    fn a_declaration_keeps_its_word(
        nets in prop::collection::vec(68_000_u32..72_000, 6..20),
        tenths in 1_u32..30,
    ) {
        let weights: Vec<String> = nets.iter().map(|mg| format!("{mg} mg")).collect();
        let steps = f64::from(tenths) / 10.0;
        if let Ok(said) = ask(json!({
            "rule": "EU", "weights": weights, "chance": "95 %", "steps": format!("{steps} g"),
        })) {
            let count = said.declare_g / steps;
            prop_assert!((count - count.round()).abs() < 1e-6);
            prop_assert!(said.declare_g <= said.average_g);
            prop_assert!(said.chance_average_percent >= 95.0 - 1e-9);
            prop_assert!(said.chance_units_percent >= Some(95.0 - 1e-9));
            prop_assert!(said.chance_pass_percent >= 95.0 - 1e-9);
        }
    }
}
