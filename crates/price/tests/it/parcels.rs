//! The calculation `parcel`.

use measure::Problems;
use price::ParcelOutput;
use proptest::prelude::*;
use serde_json::{Value, json};

#[track_caller]
fn packed(input: Value) -> ParcelOutput {
    price::parcel(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn unpacked(input: Value) -> Problems {
    price::parcel(&measure::parse_input(input).unwrap()).unwrap_err()
}

fn twelve_bars() -> Value {
    json!({
        "items": [{"name": "bar", "count": 12, "each": "56.5 g"}],
        "packings": [{"name": "the box", "weight": "95 g"}, {"name": "the mailer", "weight": "62 g"}],
        "bands": [
            {"up_to": "250 g", "price": "2.70 GBP"}, {"up_to": "750 g", "price": "3.39 GBP"},
            {"up_to": "1 kg", "price": "4.69 GBP"},
        ],
    })
}

/// By hand: 12 × 56.5 = 678 g, with the box 773 g, with the mailer 740 g.
#[test]
fn twelve_bars_go_in_the_mailer() {
    let out = packed(twelve_bars());
    assert_eq!(out.packing.as_deref(), Some("the mailer"));
    assert_eq!(out.weight.as_deref(), Some("740 g"));
    assert_eq!(out.postage.as_deref(), Some("3.39 GBP"));
    assert_eq!(out.under.as_deref(), Some("10 g"));
    assert_eq!(out.saves.as_deref(), Some("1.30 GBP"));
    assert_eq!(out.options[0].weight, "773 g");
    assert_eq!(out.options[0].postage.as_deref(), Some("4.69 GBP"));
    insta::assert_snapshot!(out.verdict, @"Use the mailer: 740 g, 10 g under the 750 g band, 3.39 GBP. That saves 1.30 GBP against the box, which is 23 g over the 750 g band.");
    insta::assert_snapshot!(
        "every_step_of_a_parcel",
        serde_json::to_string_pretty(&out.working).unwrap()
    );
}

#[test]
fn a_parcel_of_exactly_the_weight_is_in_its_band() {
    let mut input = twelve_bars();
    input["extra"] = json!("10 g");
    let out = packed(input.clone());
    assert_eq!(out.under.as_deref(), Some("0 g"));
    assert_eq!(out.postage.as_deref(), Some("3.39 GBP"));
    input["extra"] = json!("10.1 g");
    // Both go in the same band, and the lighter one is as good.
    assert_eq!(packed(input).postage.as_deref(), Some("4.69 GBP"));
}

#[test]
fn what_does_not_hold_or_costs_more_is_not_used() {
    let mut input = twelve_bars();
    input["packings"][1]["holds"] = json!(10);
    assert_eq!(packed(input).packing.as_deref(), Some("the box"));
    let mut input = twelve_bars();
    input["packings"][1]["price"] = json!("1.31 GBP");
    let out = packed(input);
    assert_eq!(out.packing.as_deref(), Some("the box"));
    assert_eq!(out.saves.as_deref(), Some("0.00 GBP"));
    let mut input = twelve_bars();
    input["items"][0]["count"] = json!(40);
    let out = packed(input.clone());
    assert_eq!(out.packing, None);
    insta::assert_snapshot!(out.verdict, @"It is heavier than every band of the price list: send it in two parcels.");
    input["packings"] = json!([{"name": "bag", "weight": "5 g", "holds": 1}]);
    insta::assert_snapshot!(packed(input).verdict, @"No packing holds it: send it in two parcels.");
}

#[test]
fn every_problem_of_a_parcel_at_once() {
    let problems = unpacked(json!({
        "items": [{"count": 0, "each": "heavy"}],
        "packings": [{"weight": "-1 g", "holds": 1.5}],
        "bands": [{"up_to": "750 g", "price": "3.39"}, {"up_to": "0.75 kg", "price": "3 GBP"},
            {"up_to": "750 g", "price": "4 GBP"}, {"up_to": "2 kg", "price": "4 EUR"}],
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    items[0].count: "0": there must be at least 1; write a whole number such as 24
    items[0].each: "heavy": there is no number at the start; write a weight such as 453.6 g, 16 oz, 1 lb 2.5 oz or 1/2 lb
    packings[0].name: a name is missing; write what it is, such as soy wax
    packings[0].weight: "-1 g": a weight cannot be negative; write a weight such as 453.6 g, 16 oz, 1 lb 2.5 oz or 1/2 lb
    packings[0].holds: "1.5": this is not a whole number of units; write a whole number such as 24
    bands[0].price: "3.39": the amount has no currency; write an amount with its currency, such as 4.50 USD
    bands[2].up_to: "750 g": there are two prices for this weight; give each weight once
    bands[3].price: "4 EUR": this is in EUR, but bands[1].price is in GBP; write every amount in one currency, such as GBP
    "#);
    insta::assert_snapshot!(unpacked(json!({})).to_string(), @r#"
    items: "0": there are none; give from 1 to 500
    packings: "0": there are none; give from 1 to 500
    bands: "0": there are none; give from 1 to 500
    "#);
}

proptest! {
    /// Nothing that can go costs less than what is chosen.
    #[test]
    fn nothing_is_cheaper(
        count in 1..30_u32, each in 1..200_u32, boxes in proptest::collection::vec((1..300_u32, 1..40_u32, 0..200_u32), 1..5),
        bands in proptest::collection::btree_map(1..8000_u32, 1..2000_u32, 1..6),
    ) {
        let input = json!({
            "items": [{"count": count, "each": format!("{each} g")}],
            "packings": boxes.iter().map(|(weight, holds, price)| json!({
                "name": "box", "weight": format!("{weight} g"), "holds": holds,
                "price": format!("0.{price:03} GBP"),
            })).collect::<Vec<_>>(),
            "bands": bands.iter().map(|(up_to, price)| json!({
                "up_to": format!("{up_to} g"), "price": format!("{price} GBP"),
            })).collect::<Vec<_>>(),
        });
        let out = packed(input);
        let mut least: Option<u64> = None;
        for (weight, holds, price) in &boxes {
            let whole = count * each + weight;
            let band = bands.iter().filter(|(up_to, _)| whole <= **up_to).map(|(_, price)| *price).min();
            if let Some(band) = band.filter(|_| count <= *holds) {
                let cost = u64::from(band) * 1000 + u64::from(*price);
                least = Some(least.map_or(cost, |least| least.min(cost)));
            }
        }
        match (least, out.cost_in_currency) {
            (Some(least), Some(cost)) => {
                let thousandths = f64::from(u32::try_from(least).unwrap());
                prop_assert!((cost * 1000.0 - thousandths).abs() < 1e-6);
                prop_assert!(out.under_g.unwrap() >= 0.0);
            }
            (None, None) => {}
            other => return Err(TestCaseError::fail(format!("{other:?}"))),
        }
    }
}
