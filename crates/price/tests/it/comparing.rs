//! The calculation `compare-formats`.

use measure::{Currency, Decimal, TimeSpan, TimeUnit, Typed};
use price::{EarnsMore, Format, Prices};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{compared, dollars};

fn clamshells_and_bars() -> Value {
    json!({
        "wax": "16 oz",
        "formats": [
            {"name": "clamshell", "units": 7, "unit_cost": "1.85 USD", "minutes": "30 min",
             "price": {"low": "5 USD", "typical": "6.50 USD", "high": "8 USD"}},
            {"name": "bar", "units": 11, "unit_cost": "1.10 USD", "minutes": "40 min",
             "price": {"low": "4 USD", "typical": "5 USD", "high": "6 USD"}},
        ],
    })
}

/// Common practice, no source: from about a pound of wax, seven clamshells at
/// 5 to 8 give 35 to 56; eleven bars at 4 to 6 give 44 to 66, and 33 at 3.
#[test]
fn a_pound_of_wax_as_clamshells_and_as_bars() {
    let mut input = clamshells_and_bars();
    let out = compared(input.clone());
    let takings = |at: usize| {
        let revenue = &out.formats[at].revenue;
        (revenue.low_in_currency, revenue.high_in_currency)
    };
    assert_eq!(takings(0), (Some(35.0), Some(56.0)));
    assert_eq!(takings(1), (Some(44.0), Some(66.0)));
    input["formats"][1]["price"] = json!({"typical": "3 USD"});
    assert_eq!(compared(input).formats[1].revenue.typical, "33.00 USD");
}

#[test]
fn every_figure_of_a_comparison() {
    let out = compared(clamshells_and_bars());
    insta::assert_snapshot!(serde_json::to_string_pretty(&out).unwrap());
}

fn thousand_hours() -> TimeSpan {
    Typed::<TimeSpan>::from_decimal(1000.into(), TimeUnit::Hour)
        .unwrap()
        .value()
}

/// A worked indifference point: contribution 120 a unit with fixed costs of
/// 360,000 and contribution 90 with 315,000 earn the same at 1,500 units.
/// https://power.one/t/5612516971d01e304c21/cost-indifference-point-calculator
#[test]
fn two_plans_agree_where_a_worked_example_says() {
    let plan = |contribution: &str, fixed_a_thousandth: &str| Format {
        name: "plan".to_owned(),
        units: 1500,
        prices: Prices {
            low: None,
            typical: dollars(contribution),
            high: None,
        },
        unit_cost: dollars("0"),
        time: Some(thousand_hours()),
        wage: Some(dollars(fixed_a_thousandth)),
    };
    let current = plan("120", "360");
    let proposed = plan("90", "315");
    let earned = current.at(current.prices.typical, None).unwrap();
    // 120 × 1,500 - 360,000.
    assert_eq!(earned.profit, dollars("-180000"));
    let agreed = proposed.price_for_profit(earned.profit).unwrap().unwrap();
    assert_eq!(agreed.major(), Decimal::from(90));
}

/// An introductory text on break-even analysis: fixed costs 20,000, price
/// 400, variable cost 250. Nothing sold loses 20,000; each unit sold brings
/// 150. https://psu.pb.unizin.org/acctg211/chapter/breakeven-analysis
#[test]
fn a_unit_sold_brings_its_contribution_as_in_a_textbook() {
    let selling = |units: u32| Format {
        name: "unit".to_owned(),
        units,
        prices: Prices {
            low: None,
            typical: dollars("400"),
            high: None,
        },
        unit_cost: dollars("250"),
        time: Some(thousand_hours()),
        wage: Some(dollars("20")),
    };
    let profit = |units| selling(units).at(dollars("400"), None).unwrap().profit;
    assert_eq!(profit(0), dollars("-20000"));
    assert_eq!(profit(1), dollars("-19850"));
    assert!(profit(133).major() < Decimal::ZERO);
    assert!(profit(134).major() > Decimal::ZERO);
    let even = selling(100).price_for_profit(dollars("0")).unwrap();
    assert_eq!(even, Some(dollars("450")));
}

#[test]
fn more_a_batch_and_less_an_hour_is_said_so() {
    let mut input = clamshells_and_bars();
    input["formats"][1]["minutes"] = json!("60 min");
    let out = compared(input);
    insta::assert_snapshot!(out.verdict, @"At their typical prices the bar earns 10.35 USD more a batch than the clamshell, but 22.20 USD less an hour. It would earn as much a batch at 4.06 USD and as much an hour at 7.02 USD.");
}

#[test]
fn a_wage_is_paid_before_the_profit() {
    let mut input = clamshells_and_bars();
    input["wage"] = json!("18 USD");
    let out = compared(input);
    let bar = &out.formats[1];
    // 11 × 5 - 11 × 1.10 - 18 × 40 ÷ 60.
    assert_eq!(bar.labour.as_deref(), Some("12.00 USD"));
    assert_eq!(bar.profit.typical, "30.90 USD");
    // 30.90 and 42.90 in two thirds of an hour.
    assert_eq!(bar.profit_per_hour.as_ref().unwrap().typical, "46.35 USD");
    assert_eq!(bar.pays_per_hour.as_ref().unwrap().typical, "64.35 USD");
    assert_eq!(bar.profit_per_lb.as_ref().unwrap().typical, "30.90 USD");
    // 1 kg = 1 / 0.45359237 lb (NIST SP 811): 30.90 × 2.20462.
    assert_eq!(bar.profit_per_kg.as_ref().unwrap().typical, "68.12 USD");
}

#[test]
fn what_is_not_known_is_left_open() {
    let out = compared(json!({
        "wax": "0 oz", "currency": "EUR",
        "formats": [
            {"name": "bar", "units": 10, "unit_cost": "1", "minutes": "0 min", "price": {"typical": "5"}},
            {"name": "dud", "units": 0, "unit_cost": "1", "minutes": "20 min", "price": {"typical": "5"}},
            {"name": "cube", "units": 10, "unit_cost": "5", "price": {"typical": "1"}},
        ],
    }));
    let [bar, dud, cube] = &out.formats[..] else {
        panic!("three formats come back");
    };
    assert_eq!(bar.profit_per_lb, None);
    assert_eq!(bar.profit_per_hour, None);
    assert_eq!(dud.profit.typical, "0.00 EUR");
    assert_eq!(cube.profit.typical, "-40.00 EUR");
    assert_eq!(out.equal_at[0].per_batch, None);
    assert_eq!(out.equal_at[1].per_hour, None);
    insta::assert_snapshot!(out.verdict, @"At their typical prices the dud earns 40.00 EUR less a batch than the bar; what an hour earns is not known. At their typical prices the cube earns 80.00 EUR less a batch than the bar; what an hour earns is not known. It would earn as much a batch at 9.00 EUR.");
    insta::assert_snapshot!(out.notes.join("\n"), @r#"
    No wage was given, so the profit is before your own time is paid.
    What an hour earns is not known for bar: no hands-on time is given for it.
    dud makes no units from this wax, so no price can make up for it.
    What an hour earns is not known for cube: no hands-on time is given for it.
    "#);
}

#[test]
fn the_answer_holds_over_the_whole_ranges_or_is_not_proven() {
    let against = |low: &str, high: &str| {
        let mut input = clamshells_and_bars();
        input["formats"][1]["price"] = json!({"low": low, "typical": low, "high": high});
        compared(input).equal_at[0].more_per_batch
    };
    // Clamshells leave 22.05 to 43.05 a batch.
    assert_eq!(against("3.10 USD", "3.10 USD"), EarnsMore::No);
    assert_eq!(against("3.10 USD", "3.11 USD"), EarnsMore::NotProven);
    assert_eq!(against("5.02 USD", "6 USD"), EarnsMore::Yes);
}

fn any_format() -> impl Strategy<Value = Format> {
    (
        1..500_u32,
        0..10_000_i64,
        0..10_000_i64,
        1..600_u32,
        0..5_000_i64,
    )
        .prop_map(|(units, price, cost, minutes, wage)| {
            let cents = |minor| measure::Cost::new(Decimal::new(minor, 2), Currency::USD);
            Format {
                name: "format".to_owned(),
                units,
                prices: Prices {
                    low: None,
                    typical: cents(price),
                    high: None,
                },
                unit_cost: cents(cost),
                time: Typed::<TimeSpan>::from_decimal(minutes.into(), TimeUnit::Minute)
                    .map(|time| time.value()),
                wage: Some(cents(wage)),
            }
        })
}

proptest! {
    #[test]
    fn at_the_equal_price_both_earn_the_same(old in any_format(), new in any_format()) {
        let earned = old.at(old.prices.typical, None).unwrap();
        let tolerance = Decimal::new(1, 12);

        let agreed = new.price_for_profit(earned.profit).unwrap().unwrap();
        let profit = new.at(agreed, None).unwrap().profit;
        prop_assert!((profit.major() - earned.profit.major()).abs() < tolerance);

        let hourly = earned.per_hour.unwrap();
        let agreed = new.price_for_hourly(hourly).unwrap().unwrap();
        let found = new.at(agreed, None).unwrap().per_hour.unwrap();
        prop_assert!((found.major() - hourly.major()).abs() < tolerance);
    }
}
