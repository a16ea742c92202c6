//! What a price leaves.

use measure::{Currency, Decimal};
use price::{Batch, CostLine, Earning, Layer, Overhead, UnitCost, keystone};
use proptest::prelude::*;

use crate::dollars;

fn costing(cost: &str) -> UnitCost {
    let batch = Batch {
        currency: Currency::USD,
        made: 1,
        rejects: 0,
        materials: vec![CostLine {
            name: "everything".to_owned(),
            layer: Layer::Material,
            batch: dollars(cost),
        }],
        labour: None,
        overhead: Overhead::default(),
    };
    batch.cost().unwrap().unwrap()
}

#[track_caller]
fn check(cost: &str, price: &str, left: &str, margin: &str, markup: &str) {
    let at = Earning::at(dollars(price), &costing(cost), None).unwrap();
    let places = |text: &str| text.parse::<Decimal>().unwrap().scale();
    let shown = |figure: Decimal, like: &str| figure.round_dp(places(like)).to_string();
    assert_eq!(at.left.to_string(), format!("{left} USD"));
    assert_eq!(shown(at.margin.unwrap(), margin), margin);
    assert_eq!(shown(at.markup.unwrap(), markup), markup);
}

/// Business Mathematics, chapter 8 "Mathematics of Selling", worked answers
/// to section 8-2, pp. 297 and 299 (margin there: markup on selling price).
/// https://questionai.com/amp/textbooksolution-120064/423945-book-Business-Mathematics-Chapter-8-Mathematics-of-Selling
#[test]
fn margin_and_markup_as_in_a_textbook() {
    // p. 297, exercise 1: markup 7.00 is 25 % of price 28.00, cost 21.00.
    check("21.00", "28.00", "7.00", "25", "33.3");
    // p. 297, exercise 2: markup 12.40 is 40 % of price 31.00, cost 18.60.
    check("18.60", "31.00", "12.40", "40", "66.7");
    // p. 299, exercise 3: price 399 over cost 335 is 19.1 % on cost.
    check("335", "399", "64.00", "16.0", "19.1");
    // p. 299, exercise 4: price 15.95 over cost 9.97 is 60 % on cost.
    check("9.97", "15.95", "5.98", "37", "60");
}

/// Common practice, no source: keystone is twice the cost.
#[test]
fn keystone_leaves_half_the_price() {
    let price = keystone(dollars("2.35")).unwrap();
    assert_eq!(price.to_string(), "4.70 USD");
    let at = Earning::at(price, &costing("2.35"), None).unwrap();
    assert_eq!(at.margin, Some(Decimal::from(50)));
    assert_eq!(at.markup, Some(Decimal::ONE_HUNDRED));
}

proptest! {
    /// The identity margin = markup ÷ (1 + markup), from the definitions.
    #[test]
    fn margin_and_markup_say_the_same(cost in 1..100_000_i64, price in 1..100_000_i64) {
        let cost = Decimal::new(cost, 2).to_string();
        let price = dollars(&Decimal::new(price, 2).to_string());
        let at = Earning::at(price, &costing(&cost), None).unwrap();
        let markup = at.markup.unwrap() / Decimal::ONE_HUNDRED;
        let margin = at.margin.unwrap() / Decimal::ONE_HUNDRED;
        let difference = margin - markup / (Decimal::ONE + markup);
        prop_assert!(difference.abs() < Decimal::new(1, 12));
    }
}
