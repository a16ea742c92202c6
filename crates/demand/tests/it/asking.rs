//! The calculation `demand-at-price`, as it is asked and as it answers.

use std::fmt::Write as _;

use demand::{DemandAtPriceInput, DemandAtPriceOutput, Verdict, demand_at_price};
use measure::Problems;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::lines::DAYS;

fn ask(input: Value) -> Result<DemandAtPriceOutput, Problems> {
    let input: DemandAtPriceInput = serde_json::from_value(input).expect("the shape is right");
    demand_at_price(&input)
}

fn sale(price: &str, sold: u64) -> Value {
    json!({"price": price, "sold": sold})
}

/// The eleven days, dated, the dear ones first.
fn eleven_days() -> Vec<Value> {
    DAYS.iter()
        .rev()
        .enumerate()
        .map(|(idx, (price, sold))| {
            json!({
                "day": format!("2026-0{}-1{}", 1 + idx / 4, idx % 4),
                "price": format!("{price:.2} USD"),
                "sold": sold,
            })
        })
        .collect()
}

fn bars() -> Value {
    json!({
        "product": "bar",
        "sales": eleven_days(),
        "unit_cost": "0.74 USD",
        "card": "1.75 %",
        "prices": ["2.75 USD", "3.25 USD"],
        "now": "3.00 USD",
    })
}

#[test]
fn eleven_days_of_bars_keep_their_price() {
    let answer = ask(bars()).unwrap();
    let line = answer.line.as_ref().unwrap();
    assert_eq!(line.formula, "sold = 183.5 − 35 × price in USD");
    assert_eq!(line.best.as_deref(), Some("3.00 USD"));
    assert_eq!(
        format!("{:.0}", line.contribution_in_currency.unwrap()),
        "173"
    );
    let within = line.within_2_percent.as_ref().unwrap();
    assert_eq!((&*within.low, &*within.high), ("2.69 USD", "3.31 USD"));
    let within = line.within_5_percent.as_ref().unwrap();
    assert_eq!((&*within.low, &*within.high), ("2.50 USD", "3.49 USD"));

    assert_eq!(answer.verdict, Verdict::NotProven);
    assert!(answer.enough);
    assert_eq!(answer.best.as_ref().unwrap().price, "3.00 USD");
    // What is drawn is what is told: the curve passes through the contest.
    let (first, last) = (answer.curve.first().unwrap(), answer.curve.last().unwrap());
    assert!((first.price - 2.5).abs() < 1e-12 && (last.price - 3.5).abs() < 1e-12);
    for at in &answer.contest {
        let band = at.contribution_low_in_currency..=at.contribution_high_in_currency;
        assert!(band.contains(&at.contribution_in_currency), "{at:?}");
        let kept = 0.9825 * at.price_in_currency - 0.74;
        assert!((at.sold * kept - at.contribution_in_currency).abs() < 1e-6);
        let drawn = answer.curve.iter();
        let same = |point: &&demand::CurvePoint| (point.price - at.price_in_currency).abs() < 1e-9;
        let drawn = drawn.clone().find(same).unwrap();
        assert!((drawn.contribution - at.contribution_in_currency).abs() < 1e-6);
        assert!((drawn.low - at.contribution_low_in_currency).abs() < 1e-6);
    }
    // The model's own day at 3.00 is near the line's 173.
    let leaves = answer.best.as_ref().unwrap().contribution_in_currency;
    assert!((leaves - 173.0).abs() < 6.0, "{leaves}");
    let [pair] = &answer.apart[..] else {
        panic!("{:?}", answer.apart)
    };
    assert!(!pair.told, "{pair:?}");
    assert!(
        answer
            .sentence
            .contains("The sales cannot tell 2.75 USD from 3.25 USD.")
    );
    assert!(answer.sentence.contains("a change now buys nothing"));
    // Three days at 3.25 hardly ever tell.
    let test = answer
        .tests
        .iter()
        .find(|test| test.price == "3.25 USD")
        .unwrap();
    assert!(
        test.chance_told < 0.3 && test.days_needed > Some(30),
        "{test:?}"
    );
}

#[test]
fn input_and_output_are_what_their_schemas_say() {
    let answer = serde_json::to_value(ask(bars()).unwrap()).unwrap();
    let schema = schemars::schema_for!(DemandAtPriceOutput).to_value();
    for field in answer.as_object().unwrap().keys() {
        assert!(schema["properties"].get(field).is_some(), "{field}");
    }
    let read: DemandAtPriceOutput = serde_json::from_value(answer.clone()).unwrap();
    assert_eq!(serde_json::to_value(read).unwrap(), answer);
    let unknown = serde_json::from_value::<DemandAtPriceInput>(json!({"sale": []}));
    assert!(unknown.is_err());
}

#[test]
fn a_steep_fall_in_sales_proves_a_price() {
    let mut sales = Vec::new();
    for day in 0..12 {
        sales.push(sale("4.00 USD", 24 + day % 3));
        sales.push(sale("3.00 USD", 80 + day % 5));
    }
    let input = json!({"sales": sales, "unit_cost": "0.50 USD", "now": "4.00 USD"});
    let answer = ask(input).unwrap();
    assert_eq!(answer.verdict, Verdict::Yes, "{}", answer.sentence);
    assert_eq!(answer.best.unwrap().price, "3.00 USD");
    assert!(answer.model.elasticity.high < -2.0);
}

#[test]
fn a_price_within_a_twentieth_of_the_best_may_stay() {
    let mut sales = Vec::new();
    for day in 0..40 {
        // Elasticity about −1.5 with a cost of a third: flat at the top.
        sales.push(sale("2.90 USD", 1_051 + day % 3));
        sales.push(sale("3.00 USD", 1_000 + day % 4));
        sales.push(sale("3.10 USD", 950 + day % 3));
    }
    let input = json!({"sales": sales, "unit_cost": "1.00 USD", "now": "3.00 USD"});
    let answer = ask(input).unwrap();
    assert_eq!(answer.verdict, Verdict::No, "{}", answer.sentence);
}

#[test]
fn one_price_tells_nothing_and_says_which_test_would() {
    let sales: Vec<Value> = (0..20).map(|day| sale("3.00 USD", 60 + day)).collect();
    let answer = ask(json!({"sales": sales, "unit_cost": "0.74 USD"})).unwrap();
    assert_eq!((answer.verdict, answer.enough), (Verdict::NotProven, false));
    assert!(answer.best.is_none() && answer.contest.is_empty() && answer.line.is_none());
    assert!(
        answer
            .sentence
            .starts_with("Not enough to tell: every day was at 3.00 USD."),
        "{}",
        answer.sentence
    );
    let test = answer.tests.first().unwrap();
    assert_eq!(test.against, "3.00 USD");
    assert!(test.days_needed.is_some());
}

#[test]
fn other_products_of_the_same_days_help() {
    let mut sales = Vec::new();
    for day in 0..12 {
        let luck = [0.7, 1.0, 1.4][day % 3];
        for (product, base) in [("bar", 40.0), ("clamshell", 60.0), ("votive", 25.0)] {
            let dear = (day + product.len()) % 2 == 0;
            let price = if dear { 3.5 } else { 2.5 };
            let wanted = base * luck * if dear { 0.6 } else { 1.0 };
            sales.push(json!({
                "day": format!("day {day}"), "product": product,
                "price": format!("{price} USD"), "sold": f64::round(wanted),
            }));
        }
    }
    let all = ask(json!({"product": "bar", "sales": sales, "unit_cost": "0.70 USD"})).unwrap();
    let own: Vec<Value> = sales
        .into_iter()
        .filter(|sale| sale["product"] == "bar")
        .collect();
    let alone = ask(json!({"sales": own, "unit_cost": "0.70 USD"})).unwrap();
    let width =
        |answer: &DemandAtPriceOutput| answer.model.elasticity.high - answer.model.elasticity.low;
    assert!(
        width(&all) < 0.6 * width(&alone),
        "{} {}",
        width(&all),
        width(&alone)
    );
    assert_eq!((all.model.products, all.product.as_str()), (3, "bar"));
}

#[test]
fn days_sold_out_count_as_at_least() {
    let mut sales = Vec::new();
    for day in 0..10 {
        sales.push(sale("3.00 USD", 50 + day % 3));
        sales.push(json!({"price": "2.50 USD", "sold": 54, "sold_out": true}));
    }
    let told = ask(json!({"sales": sales.clone(), "prices": ["2.50 USD"]})).unwrap();
    for sale in &mut sales {
        sale["sold_out"] = json!(false);
    }
    let untold = ask(json!({"sales": sales, "prices": ["2.50 USD"]})).unwrap();
    let expected = |answer: &DemandAtPriceOutput| answer.prices.first().unwrap().sold;
    assert!(expected(&told) > 1.05 * expected(&untold));
    assert!(
        told.notes
            .iter()
            .any(|note| note.contains("It sold out on 10 of 20 days"))
    );
}

#[test]
fn long_days_sell_more() {
    let mut sales = Vec::new();
    for day in 0..12_u64 {
        let hours = 4 + day % 4;
        let price = if day % 2 == 0 { "3.00" } else { "3.50" };
        sales.push(json!({
            "day": format!("2026-05-{:02}", day + 1), "price": format!("{price} USD"),
            "sold": hours * if day % 2 == 0 { 10 } else { 8 }, "exposure": format!("{hours} h"),
        }));
    }
    let at = |exposure: &str| {
        let input = json!({"sales": sales.clone(), "prices": ["3.00 USD"], "exposure": exposure});
        ask(input).unwrap().prices.first().unwrap().sold
    };
    let (short, long) = (at("3 h"), at("6 h"));
    assert!((long / short - 2.0).abs() < 1e-9, "{short} {long}");
    assert!((short - 30.0).abs() < 3.0, "{short}");
}

#[test]
fn nothing_sold_and_everything_sold_are_answered() {
    let none: Vec<Value> = (0..8)
        .map(|day| sale(if day % 2 == 0 { "3.00 USD" } else { "4.00 USD" }, 0))
        .collect();
    let answer = ask(json!({"sales": none})).unwrap();
    assert!(!answer.enough);
    assert!(
        answer
            .sentence
            .starts_with("Not enough to tell: none was sold")
    );
    // Every unit sold at one price and none at the other.
    let split: Vec<Value> = (0..8)
        .map(|day| {
            if day % 2 == 0 {
                sale("3.00 USD", 30)
            } else {
                sale("4.00 USD", 0)
            }
        })
        .collect();
    let answer = ask(json!({"sales": split, "unit_cost": "1 USD", "now": "4 USD"})).unwrap();
    assert_eq!(answer.verdict, Verdict::Yes, "{}", answer.sentence);
    assert!(answer.model.alone.is_none());
    // A cost above any price.
    let dear: Vec<Value> = (0..8)
        .map(|day| sale(if day % 2 == 0 { "3.00 USD" } else { "4.00 USD" }, 30 - day))
        .collect();
    let answer = ask(json!({"sales": dear, "unit_cost": "9 USD"})).unwrap();
    assert!(
        answer.sentence.starts_with("At no price that was tried"),
        "{}",
        answer.sentence
    );
    assert!(answer.tests.is_empty());
}

#[test]
fn the_order_of_the_sales_changes_no_digit() {
    let mut input = bars();
    let answer = ask(input.clone()).unwrap();
    input["sales"].as_array_mut().unwrap().reverse();
    assert_eq!(ask(input).unwrap(), answer);
}

#[test]
fn all_problems_come_back_together() {
    let input = json!({
        "product": "bar",
        "sales": [
            {"price": "0 USD", "sold": 3},
            {"price": "3 EUR", "sold": -1},
            {"price": "3 USD", "sold": 2.5},
            {"product": "wreath", "price": "3 USD"},
            {"price": "3 USD", "sold": 2_000_000_000_u64, "exposure": "0"},
        ],
        "unit_cost": "cheap", "card": "100 %", "prices": ["-1 USD"], "ending": "0",
        "chance": "100 %", "test_days": 0, "exposure": "long",
    });
    let mut shown = String::new();
    for problem in &ask(input).unwrap_err() {
        writeln!(shown, "{}: {}", problem.field, problem.wrong).unwrap();
    }
    for expected in [
        "sales[0].price: what is given away says nothing about a price",
        "sales[1].price: this is in EUR, but sales[0].price is in USD",
        "sales[1].sold: a number of units cannot be negative",
        "sales[2].sold: this is not a whole number of units",
        "sales[3].sold: a number is missing",
        "sales[4].sold: there cannot be more than 1000000000",
        "sales[4].exposure: nothing can be sold where nothing was open and nobody came",
        "card: nothing of the price would be left",
        "ending: no price ends so",
        "chance: with this chance nothing is proven, or nothing ever is",
        "test_days: there must be at least 1",
    ] {
        assert!(shown.contains(expected), "{expected} not in\n{shown}");
    }
    for field in ["unit_cost", "prices[0]", "exposure"] {
        assert!(
            shown.contains(&format!("\n{field}: ")),
            "{field} not in\n{shown}"
        );
    }
}

#[test]
fn what_does_not_fit_together_is_refused() {
    #[track_caller]
    fn check(input: Value, field: &str, wrong: &str) {
        let problems = ask(input).unwrap_err();
        assert_eq!(
            problems.of(field).map(|problem| &*problem.wrong),
            Some(wrong),
            "{problems}"
        );
    }
    check(json!({"sales": []}), "sales", "there are no sales");
    let two = json!([
        {"product": "bar", "price": "3 USD", "sold": 4},
        {"product": "votive", "price": "2 USD", "sold": 4},
    ]);
    check(
        json!({"sales": two}),
        "product",
        "the sales are of several products",
    );
    check(
        json!({"sales": two, "product": "jar"}),
        "product",
        "none of the sales is of it",
    );
    check(
        json!({"sales": [
            {"price": "3 USD", "sold": 4, "exposure": "6 h"}, {"price": "2 USD", "sold": 4},
        ]}),
        "sales[1].exposure",
        "other lines say how long or how well visited the day was, this one does not",
    );
    check(
        json!({"sales": [{"price": "3 USD", "sold": 4}], "exposure": "6 h"}),
        "exposure",
        "the sales do not say how long or how well visited their days were",
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_sales_are_answered_or_refused(
        sales in proptest::collection::vec(
            (
                prop_oneof![Just("3.00"), Just("0.000001"), Just("1000000000"), Just("2.5"), Just("7")],
                prop_oneof![Just(0_u64), 1_u64..60, Just(1_000_000_000)],
                0_u8..6,
                0_u8..3,
                any::<bool>(),
            ),
            0..14,
        ),
        cost in prop_oneof![Just("0 USD"), Just("0.5 USD"), Just("1000000000 USD")],
        ending in prop_oneof![Just(None), Just(Some("0.99")), Just(Some("0.25")), Just(Some("0.000000001"))],
    ) {
        let sales: Vec<Value> = sales
            .into_iter()
            .map(|(price, sold, day, product, out)| json!({
                "day": format!("day {day}"), "product": format!("p{product}"),
                "price": format!("{price} USD"), "sold": sold, "sold_out": out,
            }))
            .collect();
        let input = json!({
            "product": "p1", "sales": sales, "unit_cost": cost, "ending": ending,
            "prices": ["3.25 USD", "0.01 USD"],
        });
        if let Ok(answer) = ask(input) {
            prop_assert!(!answer.sentence.contains("NaN") && !answer.sentence.contains('?'));
            let chances: f64 = answer.contest.iter().map(|at| at.chance_best).sum();
            prop_assert!(answer.contest.is_empty() || (chances - 1.0).abs() < 1e-9);
            prop_assert!(answer.prices.iter().all(|at| at.sold.is_finite() && at.sold >= 0.0));
        }
    }
}
