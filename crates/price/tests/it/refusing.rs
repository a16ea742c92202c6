//! What is wrong with an input comes back whole, field by field.

use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{uncompared, uncosted};

#[test]
fn every_problem_of_a_comparison_at_once() {
    let problems = uncompared(json!({
        "wax": "12 parsecs", "wage": "-1 USD",
        "formats": [
            {"name": " ", "units": -3, "unit_cost": "1.10 EUR", "minutes": "soon",
             "price": {"low": "6 EUR", "typical": "5 EUR", "high": "4 EUR"}},
            {"name": "bar", "units": 2.5, "unit_cost": "1.10 USD",
             "price": {"low": "1.2.3 EUR", "high": "٤ EUR"}},
            {"name": "cube", "units": 99_999_999},
        ],
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    wax: "12 parsecs": "parsecs" is not a unit of weight; write a weight such as 453.6 g, 16 oz, 1 lb 2.5 oz or 1/2 lb
    wage: "-1 USD": the amount cannot be negative; write an amount with its currency, such as 4.50 USD
    formats[0].name: " ": a name is missing; write what it is, such as soy wax
    formats[0].units: "-3": a number of units cannot be negative; write a whole number such as 24
    formats[0].price.low: "6 EUR": the low price is above the typical one; write a price no higher than the typical one
    formats[0].price.high: "4 EUR": the high price is below the typical one; write a price no lower than the typical one
    formats[0].minutes: "soon": there is no number at the start; write a time such as 40 min, 2 h or 1 h 20 min
    formats[1].units: "2.5": this is not a whole number of units; write a whole number such as 24
    formats[1].price.low: "1.2.3 EUR": the number has more than one decimal mark; write an amount with its currency, such as 4.50 USD
    formats[1].price.typical: an amount is missing; write an amount with its currency, such as 4.50 USD
    formats[1].price.high: "٤ EUR": some digits are not plain 0 to 9; write an amount with its currency, such as 4.50 USD
    formats[1].unit_cost: "1.10 USD": this is in USD, but formats[0].price.low is in EUR; write every amount in one currency, such as EUR
    formats[2].units: "99999999": there cannot be more than 10000000; write a whole number such as 24
    formats[2].price.typical: an amount is missing; write an amount with its currency, such as 4.50 USD
    formats[2].unit_cost: an amount is missing; write an amount with its currency, such as 4.50 USD
    "#);
}

#[test]
fn one_format_is_nothing_to_compare() {
    let problems = uncompared(json!({}));
    insta::assert_snapshot!(problems.to_string(), @r#"formats: "0": there is nothing to compare; give two formats or more"#);
    let format =
        json!({"name": "bar", "units": 11, "unit_cost": "1 USD", "price": {"typical": "5 USD"}});
    let problems = uncompared(json!({"formats": vec![format; 21]}));
    insta::assert_snapshot!(problems.to_string(), @r#"formats: "21": there are too many to read side by side; give at most 20 formats"#);
}

#[test]
fn every_problem_of_a_unit_cost_at_once() {
    let problems = uncosted(json!({
        "currency": "money", "units": 0, "rejects": 0.5, "loss": "100 %",
        "materials": [
            {"name": "wax", "bought": "0 lb", "paid": "26.005 USD", "per_unit": "1 g", "per_batch": "1 g"},
            {"name": "oil", "bought": "250 ml", "paid": "9 USD", "per_unit": "7 g"},
            {"bought": "2 fl oz", "paid": "9", "freight": "nine USD"},
            {"name": "dye", "bought": "2 spoons", "paid": "9 EUR", "per_batch": "-1"},
        ],
        "freight": {"by": "weight"},
        "wrap": [
            {"name": "label", "each": "1 USD", "bought": "100"},
            {"name": "box", "bought": "10 g", "paid": "3 USD", "per_unit": -1},
            {"name": "tag"},
        ],
        "wage": "9999999999999 USD", "overhead": {},
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    currency: "money": "money" is not the three letters of a currency; write a code such as USD
    units: "0": there must be at least 1; write a whole number such as 24
    rejects: "0.5": this is not a whole number of units; write a whole number such as 24
    loss: "100 %": nothing is left in the units; write the share of what is put in that stays behind, such as 1.5 %
    materials[0].bought: "0 lb": nothing was bought for this money; write the quantity the price was paid for, such as 10 lb
    materials[0].paid: "26.005 USD": USD has 2 decimal places; write an amount with its currency, such as 4.50 USD
    materials[0].per_unit: "1 g": the amount is given both per unit and per batch; write either per_unit or per_batch, such as 68 g
    materials[1].per_unit: "7 g": this is a weight, but it was bought as a volume; write both as weights, both as volumes or both as counts
    materials[2].name: a name is missing; write what it is, such as soy wax
    materials[2].bought: "2 fl oz": "fl oz" is one size in the United States and another in Britain; write US fl oz or UK fl oz, or a metric volume
    materials[2].paid: "9": the amount has no currency; write an amount with its currency, such as 4.50 USD
    materials[2].freight: "nine USD": there is no number at the start; write an amount with its currency, such as 4.50 USD
    materials[2].per_unit: how much of it is used is missing; write either per_unit or per_batch, such as 68 g
    materials[3].bought: "2 spoons": "spoons" is not a unit of weight or volume; write a weight such as 10 lb or 4.5 kg, a volume such as 250 ml, or a number of pieces
    materials[3].paid: "9 EUR": this is in EUR, but materials[1].paid is in USD; write every amount in one currency, such as USD
    materials[3].per_batch: "-1": a number of pieces cannot be negative; write a weight such as 10 lb or 4.5 kg, a volume such as 250 ml, or a number of pieces
    freight.paid: an amount is missing; write an amount with its currency, such as 4.50 USD
    wrap[0].each: "1 USD": the price is given both each and for a quantity bought; write either each, or bought and paid
    wrap[1].bought: "10 g": this is a weight, but wraps are counted; write a number of pieces, such as 100
    wrap[1].per_unit: "-1": a number of units cannot be negative; write a whole number such as 24
    wrap[2].each: an amount is missing; write an amount with its currency, such as 4.50 USD
    wage: "9999999999999 USD": the amount is too large; write an amount up to 1000000000000
    overhead: the overhead share is empty; write per_unit, per_batch or of_labour, or leave overhead out
    "#);
}

#[test]
fn an_empty_batch_is_refused() {
    insta::assert_snapshot!(uncosted(json!({})).to_string(), @r#"
    units: a number is missing; write a whole number such as 24
    materials: there is nothing to cost; give at least one material or wrap
    "#);
}

#[test]
fn what_depends_on_a_wage_says_so() {
    let problems = uncosted(json!({
        "units": 3, "rejects": 3,
        "wrap": [{"name": "tin", "each": "1 USD"}],
        "overhead": {"of_labour": "10 %"},
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    rejects: "3": no good unit is left to bear the cost; write fewer rejects than the 3 units made
    overhead.of_labour: "10 %": there is no wage for this to be a share of; write a wage, or the overhead as per_unit or per_batch
    "#);
}

#[test]
fn freight_by_weight_wants_weights() {
    let problems = uncosted(json!({
        "units": 3,
        "materials": [
            {"name": "wax", "bought": "1 kg", "paid": "9 USD", "per_unit": "7 g"},
            {"name": "wick", "bought": "100", "paid": "9 USD", "per_unit": "1"},
        ],
        "freight": {"paid": "4 USD", "by": "weight"},
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"materials[1].bought: "100": this has no weight to spread the freight by; write a weight, or spread the freight by value"#);
}

#[test]
fn an_unknown_field_is_named() {
    let problems = measure::parse_input::<price::UnitCostInput>(json!({"unit": 3})).unwrap_err();
    assert!(problems.to_string().contains("unknown field `unit`"));
}

#[test]
fn figures_too_large_together_are_refused() {
    let problems = uncosted(json!({
        "units": 10_000_000,
        "materials": [{"name": "gold leaf", "bought": "0.000001 g", "paid": "1000000000000 USD",
            "per_unit": "9000 kg"}],
    }));
    insta::assert_snapshot!(problems.to_string(), @"the input: the figures together are too large to reckon with; check the amounts, weights and times for a figure with too many digits");
}

/// Texts of one kind as they come: sensible, extreme, and now and then
/// nonsense.
fn one_of(texts: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop_oneof![
        30 => proptest::sample::select(texts).prop_map(str::to_owned),
        1 => ".{0,12}",
    ]
}

fn any_amount() -> impl Strategy<Value = String> {
    one_of(&[
        "0 USD",
        "5 USD",
        "0.0000000000000000000000000001 USD",
        "999999999999.9999999999999999 USD",
        "1000000000000 USD",
    ])
}

fn any_paid() -> impl Strategy<Value = String> {
    one_of(&["0 USD", "0.01 USD", "26.00 USD", "1000000000000 USD"])
}

fn any_weight() -> impl Strategy<Value = String> {
    one_of(&["0.000001 g", "68.4 g", "16 oz", "9223372036854 g", "0 g"])
}

fn any_time() -> impl Strategy<Value = String> {
    one_of(&["0 min", "0.001 s", "40 min", "2500000000000 h"])
}

fn any_share() -> impl Strategy<Value = String> {
    one_of(&[
        "0 %",
        "10 %",
        "99.99999999999999999999999999 %",
        "1000000 %",
    ])
}

fn any_count() -> impl Strategy<Value = Value> {
    prop_oneof![
        10 => (0..20_u32).prop_map(Value::from),
        5 => Just(json!(10_000_000)),
        1 => any::<i64>().prop_map(Value::from),
        1 => any::<f64>().prop_map(Value::from),
    ]
}

fn any_format() -> impl Strategy<Value = Value> {
    let prices = (any_amount(), any_amount(), any_amount());
    (any_count(), any_time(), any_amount(), prices).prop_map(
        |(units, minutes, unit_cost, (low, typical, high))| {
            let price = if low == high {
                json!({"low": low, "typical": typical, "high": high})
            } else {
                json!({"typical": typical})
            };
            json!({
                "name": "format", "units": units, "minutes": minutes,
                "unit_cost": unit_cost, "price": price,
            })
        },
    )
}

fn any_material() -> impl Strategy<Value = Value> {
    (any_weight(), any_paid(), any_weight(), any::<bool>()).prop_map(
        |(bought, paid, used, each)| {
            let used_as = if each { "per_unit" } else { "per_batch" };
            json!({"name": "wax", "bought": bought, "paid": paid, "freight": paid, used_as: used})
        },
    )
}

/// Whether two figures agree to nine digits of the larger part.
fn agree(found: f64, expected: f64, size: f64) -> bool {
    (found - expected).abs() <= 1e-9 * size.abs().max(1e-9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_comparison_panics(
        wax in any_weight(),
        wage in proptest::option::of(any_amount()),
        formats in proptest::collection::vec(any_format(), 2..4),
    ) {
        let input = json!({"wax": wax, "wage": wage, "formats": formats});
        match measure::parse_input(input).and_then(|input| price::compare_formats(&input)) {
            Ok(answer) => for format in answer.formats {
                let spent = format.cost_in_currency + format.labour_in_currency.unwrap_or(0.0);
                let revenue = format.revenue.typical_in_currency;
                let profit = format.profit.typical_in_currency;
                prop_assert!(agree(profit, revenue - spent, revenue + spent));
            },
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }

    #[test]
    fn no_unit_cost_panics(
        units in any_count(),
        rejects in any_count(),
        loss in any_share(),
        materials in proptest::collection::vec(any_material(), 1..3),
        freight in any_paid(),
        (each, pieces) in (any_amount(), any_count()),
        (minutes, wage) in (any_time(), any_amount()),
        (per_batch, of_labour) in (any_amount(), any_share()),
        typical in any_amount(),
    ) {
        let input = json!({
            "units": units, "rejects": rejects, "loss": loss, "materials": materials,
            "freight": {"paid": freight, "by": "weight"},
            "wrap": [{"name": "tin", "each": each, "per_unit": pieces}],
            "minutes": minutes, "wage": wage,
            "overhead": {"per_batch": per_batch, "of_labour": of_labour},
            "price": {"typical": typical},
        });
        match measure::parse_input(input).and_then(|input| price::unit_cost(&input)) {
            Ok(answer) => {
                let lines: f64 = answer.lines.iter().map(|line| line.batch_in_currency).sum();
                let full = answer.batch.full_cost_in_currency;
                prop_assert!(agree(lines, full, full));
                let units = answer.unit.full_cost_in_currency * f64::from(answer.good_units);
                prop_assert!(agree(units, full, full));
            },
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }
}
