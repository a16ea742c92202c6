//! The calculation `inventory-value`.

use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{unvalued, valued};

#[test]
fn what_went_out_costs_what_came_in_first() {
    let found = valued(json!({
        "method": "fifo",
        "movements": [
            {"day": "2026-01-01", "in": "100", "cost": "10.00 USD"},
            {"day": "2026-01-05", "out": "60"},
            {"day": "2026-01-09", "in": "80", "cost": "11.00 USD"},
            {"day": "2026-01-20", "out": "70"},
        ],
        "replacement": "12.00 USD",
    }));
    // 40 × 10 + 30 × 11 go out on the 20th; 50 × 11 stay.
    assert_eq!(found.cost_of_goods, "1330.00 USD");
    assert_eq!(
        (found.closing_units.as_str(), found.closing_value.as_str()),
        ("50", "550.00 USD")
    );
    assert_eq!(found.average_unit_cost.as_deref(), Some("11.00 USD"));
    assert_eq!(found.layers.len(), 1);
    assert_eq!(
        (found.layers[0].movement, found.layers[0].units.as_str()),
        (3, "50")
    );
    let replacement = found.replacement.unwrap();
    assert_eq!(
        (replacement.value.as_str(), replacement.difference.as_str()),
        ("600.00 USD", "50.00 USD")
    );
    // 120 at 1280 ÷ 120: 70 cost 746.67 and 50 stay at 533.33.
    assert_eq!(found.other_method.cost_of_goods, "1346.67 USD");
    assert_eq!(found.other_method.closing_value, "533.33 USD");
    assert_eq!(found.other_method.closing_difference, "-16.67 USD");
    assert_eq!(
        found.verdict,
        "By first in, first out, what went out cost 1330.00 USD; 50 units on hand are worth 550.00 USD."
    );
    let steps: Vec<String> = found
        .working
        .steps()
        .iter()
        .map(|step| format!("{}: {} = {}", step.label, step.numbers, step.result))
        .collect();
    insta::assert_snapshot!(steps.join("\n"), @r#"
    2026-01-01, in: 100 × 10.00 USD = 1000.00 USD; on hand 100 worth 1000.00 USD
    2026-01-05, out: 60 × 10.00 USD = 600.00 USD; on hand 40 worth 400.00 USD
    2026-01-09, in: 80 × 11.00 USD = 880.00 USD; on hand 120 worth 1280.00 USD
    2026-01-20, out: 40 × 10.00 USD + 30 × 11.00 USD = 730.00 USD; on hand 50 worth 550.00 USD
    Cost of goods: 0.00 USD + 1880.00 USD − 550.00 USD = 1330.00 USD
    "#);
}

#[test]
fn a_period_opens_with_what_was_there() {
    let input = |method: &str| {
        json!({
            "method": method, "from": "2026-02-01", "to": "2026-02-28",
            "movements": [
                {"day": "2026-01-10", "in": "10", "cost": "1.00 EUR"},
                {"day": "2026-02-20", "out": "8"},
                {"day": "2026-03-01", "out": "1"},
                {"day": "2026-02-10", "in": "10", "cost": "2.00 EUR"},
                {"day": "2026-01-20", "out": "4"},
            ],
        })
    };
    let found = valued(input("fifo"));
    assert_eq!(
        (found.opening_units.as_str(), found.opening_value.as_str()),
        ("6", "6.00 EUR")
    );
    assert_eq!(found.received_value, "20.00 EUR");
    assert_eq!(
        (found.units_out.as_str(), found.cost_of_goods.as_str()),
        ("8", "10.00 EUR")
    );
    assert_eq!(
        (found.closing_units.as_str(), found.closing_value.as_str()),
        ("8", "16.00 EUR")
    );
    let order: Vec<usize> = found.movements.iter().map(|each| each.movement).collect();
    assert_eq!(order, [4, 2]);
    assert_eq!(
        found.notes,
        [
            "2 movements were not in the order of the days; they were put where their days belong.",
            "The period ends with 2026-02-28; 1 movement after it is left out.",
        ]
    );
    // 26 ÷ 16 is 1.625 for each.
    let found = valued(input("average"));
    assert_eq!(found.cost_of_goods, "13.00 EUR");
    assert_eq!(found.average_unit_cost.as_deref(), Some("1.625 EUR"));
}

#[test]
fn below_nought_is_said_and_settled_later() {
    let found = valued(json!({
        "method": "fifo",
        "movements": [
            {"day": "2026-01-01", "in": "10", "cost": "1.00 GBP"},
            {"day": "2026-01-02", "out": "12.5"},
            {"day": "2026-01-03", "in": "10", "cost": "1.20 GBP"},
        ],
    }));
    assert_eq!(found.discrepancies.len(), 1);
    assert_eq!(
        found.discrepancies[0].words,
        "On 2026-01-02 2.5 units went out that were not there; they are taken to cost 2.50 GBP until more comes in."
    );
    // 2.5 of the second receipt are gone: 0.20 more for each than was assumed.
    assert_eq!(found.settled_difference.as_deref(), Some("0.50 GBP"));
    assert_eq!(found.cost_of_goods, "13.00 GBP");
    assert_eq!(
        (found.closing_units.as_str(), found.closing_value.as_str()),
        ("7.5", "9.00 GBP")
    );
    assert!(
        found
            .verdict
            .ends_with("At times more went out than was there: find out why.")
    );

    let found = valued(json!({
        "method": "average",
        "movements": [
            {"day": "2026-01-02", "out": "3"},
            {"day": "2026-01-03", "in": "1", "cost": "4 GBP"},
        ],
    }));
    assert!(!found.discrepancies[0].cost_known);
    assert_eq!(
        (found.closing_units.as_str(), found.closing_value.as_str()),
        ("-2", "0.00 GBP")
    );
    assert_eq!(found.cost_of_goods, "4.00 GBP");
    assert!(found.verdict.contains("More went out than ever came in"));
}

#[test]
fn every_problem_at_once() {
    let problems = unvalued(json!({
        "method": "lifo", "from": "2026-02-01", "to": "2026-01-31", "replacement": "-1 USD",
        "movements": [
            {"day": "2026-13-01", "in": "10", "cost": "1 USD"},
            {"in": "-1", "cost": "1 EUR"},
            {"day": "soon", "out": "0"},
            {"day": "2026-01-01", "in": "1"},
            {"day": "2026-01-01", "in": "1", "out": "1"},
            {"day": "2026-01-01"},
            {"day": "2026-01-01", "out": "1", "cost": "1 USD"},
            {"day": "2026-01-01", "in": "0.00000001", "cost": "0.123456789012345678 USD"},
            {"day": "2026-01-01", "in": "100000001", "cost": "1000000001 USD"},
            {"day": "2026-01-01", "out": "many"},
        ],
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    method: "lifo": it is not a method known here; write fifo (first in, first out) or average (moving average)
    movements[0].day: "2026-13-01": it is not a day; write a day such as 2026-01-31
    movements[1].day: the day is missing; write a day such as 2026-01-31
    movements[1].in: "-1": a number of units cannot be negative; write a number of units such as 60
    movements[1].cost: "1 EUR": this is in EUR, but movements[0].cost is in USD; write every cost in one currency, such as USD
    movements[2].day: "soon": it is not a day; write a day such as 2026-01-31
    movements[2].out: "0": nothing moves; write a number of units such as 60
    movements[3].cost: the cost is missing; write what one unit cost, with its currency, such as 4.50 USD
    movements[4].out: "1": a movement goes in or out, not both; write two movements
    movements[5]: nothing comes in or goes out; give in with a cost, or out
    movements[6].cost: "1 USD": what goes out costs what came in, which is what is asked here; leave the cost of what goes out away
    movements[7].in: "0.00000001": that is finer than a millionth of a unit; write a number of units such as 60
    movements[7].cost: "0.123456789012345678 USD": the cost has more than 14 decimal places; write what one unit cost, with its currency, such as 4.50 USD
    movements[8].in: "100000001": there cannot be more than 100000000 units; write a number of units such as 60
    movements[8].cost: "1000000001 USD": one unit cannot cost more than 1000000000; write what one unit cost, with its currency, such as 4.50 USD
    movements[9].out: "many": there is no number at the start; write a number of units such as 60
    to: "2026-01-31": the period would end before it begins, on 2026-02-01; write a last day that is not before the first
    replacement: "-1 USD": the amount cannot be negative; write an amount with its currency, such as 4.50 USD
    "#);
    let problems = unvalued(json!({}));
    insta::assert_snapshot!(problems.to_string(), @r#"
    method: the method is missing; write fifo (first in, first out) or average (moving average)
    movements: nothing came in or went out; give at least one movement that comes in, with its cost
    "#);
    let problems =
        unvalued(json!({"method": "fifo", "movements": [{"day": "2026-01-01", "out": "1"}]}));
    insta::assert_snapshot!(problems.to_string(), @r#"movements: nothing that came in says what it cost; give at least one movement that comes in, with its cost"#);
}

#[test]
fn the_largest_input_is_reckoned() {
    let most: Vec<Value> = (0..100)
        .map(|_| json!({"day": "9999-12-31", "in": "100000000", "cost": "1000000000 KWD"}))
        .collect();
    let found = valued(json!({"method": "average", "movements": most}));
    assert_eq!(found.closing_value, "10000000000000000000.000 KWD");
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[0-9]{1,12}(\\.[0-9]{1,20})?",
        2 => "[0-9]{1,6} (USD|EUR|JPY|XXX)",
        2 => "-?[0-9]{4}-[0-1][0-9]-[0-3][0-9]",
        1 => "\\PC{0,12}",
        1 => Just(String::new()),
    ]
}

proptest! {
    #[test]
    fn no_input_panics(
        method in prop_oneof![Just("fifo".to_owned()), Just("average".to_owned()), any_text()],
        rows in prop::collection::vec((any_text(), any_text(), any_text(), any::<bool>()), 0..8),
        from in any_text(),
    ) {
        let movements: Vec<Value> = rows
            .into_iter()
            .map(|(day, units, cost, comes_in)| if comes_in {
                json!({"day": day, "in": units, "cost": cost})
            } else {
                json!({"day": day, "out": units})
            })
            .collect();
        let input = json!({"method": method, "movements": movements, "from": from});
        let input = measure::parse_input(input).unwrap();
        let _ = ledger::inventory_value::calculate(&input);
    }
}
