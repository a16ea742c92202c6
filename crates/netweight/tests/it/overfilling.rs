//! What is given away, and the average to aim at.

use measure::Problems;
use netweight::overfill;
use serde_json::{Value, json};

fn try_ask(input: Value) -> Result<overfill::Output, Problems> {
    overfill::calculate(&measure::parse_input(input)?)
}

fn ask(input: Value) -> overfill::Output {
    try_ask(input).unwrap()
}

/// A lot of 648, 50 weighed, 91.9 g give or take 1.6 g, nominal 90 g: common
/// practice, no source. By hand: 1.9 g at 6.05 EUR a kilogram are 0.0115 EUR,
/// 701 EUR on 61,000; 91.9 − 90.6 g save 1.3 × 0.00605 × 61,000 = 480 EUR; the
/// floor is 90 − 4.5 = 85.5 g, (91.9 − 85.5)/1.6 = 4.0 and (90.6 − 85.5)/1.6 =
/// 3.2 standard deviations away. The aim: 90 + t(0.99; 49) × 1.6 × √(1/50 +
/// 1/648) = 90 + 2.405 × 0.2348 = 90.565 g, up to the next tenth.
#[test]
fn ninety_gram_shells_give_wax_away() {
    let said = ask(json!({
        "rule": "EU", "declared": "90 g", "average": "91.9 g", "spread": "1.6 g", "weighed": 50,
        "lot_size": 648, "a_year": 61_000, "cost": "6.05 EUR", "cost_per": "1 kg"
    }));
    assert_eq!(said.over, "1.90 g");
    assert_eq!(said.cost_each.as_deref(), Some("0.0115 EUR"));
    assert_eq!(said.cost_lot.as_deref(), Some("7.45 EUR"));
    assert_eq!(said.cost_year.as_deref(), Some("701.20 EUR"));
    assert_eq!(said.aim, "90.6 g");
    assert_eq!(said.saves_year.as_deref(), Some("479.76 EUR"));
    assert_eq!(said.floor, "85.50 g");
    assert!((said.floor_now - 4.0).abs() < 0.01, "{}", said.floor_now);
    assert!(
        (said.floor_at_aim - 3.2).abs() < 0.02,
        "{}",
        said.floor_at_aim
    );
    assert_eq!(said.chance_pass, "over 99.9 %");
    assert_eq!(
        said.reason[..2],
        [
            "A unit holds 1.90 g more than 90 g. That costs 0.0115 EUR each, 7.45 EUR a lot, 701.20 \
             EUR on 61000 a year.",
            "Aim at 90.6 g and save 479.76 EUR a year: the next lot's average then holds 90 g with \
             a chance of 99.3 %, and an inspection passes with a chance of over 99.9 %.",
        ]
    );
}

/// One step lower the chance is not kept.
#[test]
fn the_aim_is_the_least_that_keeps_the_chance() {
    let shells = json!({
        "rule": "EU", "declared": "90 g", "average": "90.5 g", "spread": "1.6 g", "weighed": 50,
        "lot_size": 648
    });
    let said = ask(shells);
    assert_eq!(said.aim, "90.6 g");
    assert!(said.reason[1].starts_with("Aim at 90.6 g, which is more than now: "));
    assert_eq!((said.cost_each, said.saves_year), (None, None));
    let doubled = ask(json!({
        "rule": "EU", "declared": "90 g", "average": "91.9 g", "spread": "4 g", "weighed": 50,
        "lot_size": 648
    }));
    assert!(doubled.aim_g > said.aim_g + 1.0, "{}", doubled.aim);
}

/// Short units give nothing away, and say so.
#[test]
fn short_units_cost_nothing() {
    let said = ask(json!({
        "rule": "US", "declared": "3 oz", "average": "1.55 oz", "spread": "0.03 oz", "weighed": 12,
        "cost": "3 USD"
    }));
    assert_eq!(said.cost_each, None);
    assert_eq!(
        said.reason,
        ["Units weigh 1.450 oz less than 3 oz, so that each is too light: declare less."]
    );
    let said = ask(json!({
        "rule": "US", "declared": "1.6 oz", "average": "1.55 oz", "spread": "0.03 oz",
        "weighed": 12, "cost": "3 USD"
    }));
    assert_eq!(said.cost_each, None);
    assert!(said.reason[0].ends_with("nothing is given away, and the label is not held."));
    assert!(
        said.reason[1].starts_with("Aim at 1.63 oz, which is more than now: "),
        "{}",
        said.reason[1]
    );
}

#[test]
fn what_is_wrong_comes_back_together() {
    let problems = try_ask(json!({
        "rule": "UK", "declared": "3 oz", "average": "x", "spread": "1 g", "weighed": 1.5,
        "cost": "6", "chance": "20 %"
    }))
    .unwrap_err();
    for field in ["declared", "average", "weighed", "cost", "chance"] {
        assert!(problems.of(field).is_some(), "{field}: {problems}");
    }
    let nothing = try_ask(json!({"rule": "EU", "declared": "40 g"})).unwrap_err();
    assert!(nothing.of("weights").is_some());
    let both = try_ask(json!({
        "rule": "EU", "declared": "40 g", "average": "41 g", "spread": "1 g", "weighed": 3,
        "weights": ["41 g", "42 g"]
    }));
    assert!(both.unwrap_err().of("average").is_some());
    // What could only be passed over is refused.
    let beside = try_ask(json!({
        "rule": "EU", "declared": "40 g", "average": "46 g", "spread": "1 g", "weighed": 12,
        "tare": "5 g", "lots": [["41 g", "42 g"]]
    }))
    .unwrap_err();
    assert!(beside.of("tare").is_some() && beside.of("lots").is_some());
    let wild = try_ask(json!({
        "rule": "EU", "declared": "40 g", "average": "41 g", "spread": "80 g", "weighed": 3
    }));
    assert!(wild.unwrap_err().of("spread").is_some());
}
