//! The calculation `sale-or-return`.

use measure::{Decimal, Problems, Quantity, TimeSpan, TimeUnit, Typed};
use price::{EarnsMore, SaleOrReturn, SaleOrReturnOutput, days_to_money};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::dollars;

#[track_caller]
fn offered(input: Value) -> SaleOrReturnOutput {
    price::sale_or_return(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn not_offered(input: Value) -> Problems {
    price::sale_or_return(&measure::parse_input(input).unwrap()).unwrap_err()
}

fn candles() -> Value {
    json!({
        "currency": "GBP", "retail": "12.00", "unit_cost": "4.45", "units": 24,
        "firm": {"price": "6.00", "deliveries": 1, "delivery": "4.50", "paid_after": "30 d"},
        "sale_or_return": {"share": "65 %", "deliveries": 2, "delivery": "4.50", "sold": "70 %",
            "spoiled": 1, "days": "90 d", "count_every": "30 d"},
    })
}

/// By hand: 24 × (6.00 - 4.45) - 4.50 = 32.70; 16.8 × (7.80 - 4.45) - 9.00 -
/// 4.45 = 42.83; (32.70 + 13.45) ÷ 3.35 = 13.8, so 14.
#[test]
fn candles_left_with_a_shop() {
    let out = offered(candles());
    assert_eq!(out.firm.left, "32.70 GBP");
    assert_eq!(out.sale_or_return.paid, "7.80 GBP");
    assert_eq!(out.sale_or_return.left, "42.83 GBP");
    assert_eq!(out.more, "10.13 GBP");
    assert_eq!(out.equal_at, Some(14));
    assert_eq!(out.leaves_more, EarnsMore::NotProven);
    // Counts on day 30, 60 and 90, a third of the sales at each.
    assert!((out.sale_or_return.days_to_money - 60.0).abs() < 1e-9);
    insta::assert_snapshot!(out.verdict, @"If 70 % sell, sale or return leaves 10.13 GBP more than the firm order. The two are equal at 14 of 24 sold. The firm money comes 30 days sooner.");
    let mut by_discount = candles();
    by_discount["firm"] = json!({"discount": "50 %", "delivery": "4.50"});
    assert_eq!(offered(by_discount).firm.left, "32.70 GBP");
}

#[test]
fn every_figure_of_two_offers() {
    insta::assert_snapshot!(serde_json::to_string_pretty(&offered(candles())).unwrap());
}

#[test]
fn the_answer_holds_over_the_range_or_is_not_proven() {
    let over = |low: &str, high: &str| {
        let mut input = candles();
        input["sale_or_return"]["sold"] = json!(low);
        input["sale_or_return"]["sold_low"] = json!(low);
        input["sale_or_return"]["sold_high"] = json!(high);
        offered(input).leaves_more
    };
    assert_eq!(over("60 %", "80 %"), EarnsMore::Yes);
    assert_eq!(over("50 %", "80 %"), EarnsMore::NotProven);
    assert_eq!(over("30 %", "55 %"), EarnsMore::No);
}

#[test]
fn what_can_never_be_equal_says_so() {
    let mut input = candles();
    input["sale_or_return"]["share"] = json!("40 %");
    let out = offered(input);
    assert_eq!(out.equal_at, None);
    insta::assert_snapshot!(out.verdict, @"If 70 % sell, sale or return leaves 40.27 GBP less than the firm order. Even if all that can sell did, it would leave less. The firm money comes 30 days sooner.");
    insta::assert_snapshot!(out.notes.join("\n"), @r#"
    How much sells is one figure here; give sold_low and sold_high to see whether the answer holds.
    Where nothing is known of the shop, a firm first order or a short time to the first count shows how it sells.
    What does not sell comes back fit and keeps its worth; tax is not reckoned.
    "#);
}

#[test]
fn every_problem_of_two_offers_at_once() {
    let problems = not_offered(json!({
        "retail": "12", "unit_cost": "4.45 GBP", "units": 0,
        "firm": {"price": "6 GBP", "discount": "50 %", "deliveries": -1, "paid_after": "soon"},
        "sale_or_return": {"share": "165 %", "sold": "70", "sold_low": "80 %", "days": "-3 d"},
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    retail: "12": the amount has no currency; write an amount with its currency, such as 4.50 USD
    units: "0": there must be at least 1; write a whole number such as 24
    firm.price: "6 GBP": the price is given twice, as an amount and as a discount; write either price, such as 6.00 GBP, or discount, such as 50 %
    firm.deliveries: "-1": a number of units cannot be negative; write a whole number such as 24
    firm.paid_after: "soon": there is no number at the start; write a time such as 40 min, 2 h or 1 h 20 min
    sale_or_return.share: "165 %": this is more than 100 %; write a percentage up to 100 %
    sale_or_return.sold: "70": there is no percent sign; write a percentage such as 8 %
    sale_or_return.days: "-3 d": a time cannot be negative; write a time such as 40 min, 2 h or 1 h 20 min
    "#);
    insta::assert_snapshot!(not_offered(json!({})).to_string(), @r#"
    retail: an amount is missing; write an amount with its currency, such as 4.50 USD
    unit_cost: an amount is missing; write an amount with its currency, such as 4.50 USD
    units: a number is missing; write a whole number such as 24
    firm.price: what the shop pays is missing; write either price, such as 6.00 GBP, or discount, such as 50 %
    sale_or_return.share: a percentage is missing; write a percentage such as 65 %
    sale_or_return.sold: a percentage is missing; write a percentage such as 70 %
    "#);
    let mut input = candles();
    input["sale_or_return"]["spoiled"] = json!(9);
    insta::assert_snapshot!(not_offered(input).to_string(), @r#"sale_or_return.spoiled: "9": more is sold and spoiled than the 24 units there are; write fewer spoiled units or a smaller share sold"#);
}

fn days(days: i64) -> TimeSpan {
    Typed::<TimeSpan>::from_decimal(days.into(), TimeUnit::Day)
        .unwrap()
        .value()
}

#[test]
fn money_comes_at_the_counts() {
    let wait = |whole, every: Option<i64>, after| {
        days_to_money(days(whole), every.map(days), days(after)).unwrap()
    };
    assert_eq!(wait(90, None, 0), Decimal::from(90));
    assert_eq!(wait(90, Some(45), 0), Decimal::new(675, 1));
    assert_eq!(wait(90, Some(30), 7), Decimal::from(67));
    // Counts on day 40, 80 and 90: (40 × 40 + 40 × 80 + 10 × 90) ÷ 90.
    assert_eq!(wait(90, Some(40), 0).round_dp(4), Decimal::new(633_333, 4));
    assert_eq!(wait(90, Some(0), 0), Decimal::from(90));
    assert_eq!(wait(0, None, 14), Decimal::from(14));
}

proptest! {
    /// The mean wait, day by day.
    #[test]
    fn waiting_agrees_with_a_count_of_the_days(whole in 1..200_i64, every in 1..250_i64) {
        let mut sum = 0;
        for day in 1..=whole {
            let count = (day + every - 1) / every * every;
            sum += count.min(whole);
        }
        let mean = Decimal::from(sum) / Decimal::from(whole);
        let found = days_to_money(days(whole), Some(days(every)), TimeSpan::from_smallest(0)).unwrap();
        prop_assert!((found - mean).abs() < Decimal::new(1, 12));
    }

    #[test]
    fn fewer_than_the_equal_number_leave_less(
        units in 1..500_u32, spoiled in 0..20_u32, paid in 1..2000_i64, cost in 0..1500_i64,
        deliveries in 0..5000_i64, wanted in -2000..20_000_i64,
    ) {
        let cents = |minor: i64| dollars(&Decimal::new(minor, 2).to_string());
        let offer = SaleOrReturn { units, paid: cents(paid), deliveries: cents(deliveries), spoiled };
        let left = |sold: u32| offer.left(cents(cost), Decimal::from(sold)).unwrap().major();
        let wanted = cents(wanted);
        match offer.sold_for(cents(cost), wanted).unwrap() {
            Some(sold) if paid > cost => {
                prop_assert!(left(sold) >= wanted.major());
                prop_assert!(sold == 0 || left(sold - 1) < wanted.major());
            }
            Some(sold) => prop_assert_eq!(sold, 0),
            None => prop_assert!(left(units.saturating_sub(spoiled)) < wanted.major()),
        }
    }
}
