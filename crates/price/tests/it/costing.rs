//! The calculation `unit-cost`.

use measure::{Cost, Currency, Decimal, Ratio, TimeSpan, TimeUnit, Typed};
use price::{Batch, CostLine, Labour, Layer, Overhead, spread};
use proptest::prelude::*;
use serde_json::json;

use crate::{costed, dollars};

fn hours(hours: u32) -> TimeSpan {
    Typed::<TimeSpan>::from_decimal(hours.into(), TimeUnit::Hour)
        .unwrap()
        .value()
}

fn material(amount: &str) -> CostLine {
    CostLine {
        name: "direct materials".to_owned(),
        layer: Layer::Material,
        batch: dollars(amount),
    }
}

/// A job with overhead charged as a share of labour.
fn job(materials: &str, wage: &str, labour_hours: u32, overhead: &str, made: u32) -> Batch {
    Batch {
        currency: Currency::USD,
        made,
        rejects: 0,
        materials: vec![material(materials)],
        labour: Some(Labour {
            time: hours(labour_hours),
            wage: dollars(wage),
        }),
        overhead: Overhead {
            of_labour: Some(overhead.parse::<Ratio>().unwrap()),
            ..Overhead::default()
        },
    }
}

/// Horngren's Cost Accounting, problem 9-34 "Job-costing spoilage and scrap":
/// materials 240,000, labour 620,000, overhead 150 % of labour, 100,000 units
/// of which 10,000 spoiled. The printed solution has 1,790,000 in all and
/// 17.90 for each unit made.
#[test]
fn a_job_costs_what_a_textbook_says() {
    let mut job = job("240000", "620", 1000, "150 %", 100_000);
    let cost = job.cost().unwrap().unwrap();
    assert_eq!(cost.full_of_batch().major(), Decimal::from(1_790_000));
    assert_eq!(cost.full().to_string(), "17.90 USD");

    // With the spoiled units borne by the good ones: 1,790,000 ÷ 90,000.
    job.rejects = 10_000;
    let cost = job.cost().unwrap().unwrap();
    assert_eq!(cost.full_of_batch().major(), Decimal::from(1_790_000));
    assert_eq!(cost.full().to_string(), "19.89 USD");
}

/// Horngren's Cost Accounting (2018), p. 751: spoilage common to all jobs is
/// 7,000 spread over 140 good units, 50 a unit; 45 good units of 2,000 bear
/// 2,250 of it, come to 92,250 and cost 2,050 each.
#[test]
fn spoilage_is_borne_by_the_good_units_as_in_a_textbook() {
    let batch = Batch {
        currency: Currency::USD,
        made: 45,
        rejects: 0,
        materials: vec![material("90000")],
        labour: None,
        overhead: Overhead {
            per_unit: dollars("7000").over(Decimal::from(140)),
            ..Overhead::default()
        },
    };
    let cost = batch.cost().unwrap().unwrap();
    assert_eq!(cost.full_of_batch().to_string(), "92250.00 USD");
    assert_eq!(cost.full().to_string(), "2050.00 USD");
    assert_eq!(cost.material().to_string(), "2000.00 USD");
}

#[test]
fn a_batch_of_rejects_alone_has_no_unit_cost() {
    let mut job = job("10", "10", 1, "0 %", 3);
    job.rejects = 3;
    assert_eq!(job.cost().unwrap(), None);
    job.rejects = 4;
    assert_eq!(job.cost().unwrap(), None);
}

fn batch() -> serde_json::Value {
    json!({
        "units": 24, "rejects": 1, "loss": "1.5 %",
        "materials": [
            {"name": "soy wax", "bought": "10 lb", "paid": "26.00 USD", "per_unit": "68.4 g"},
            {"name": "fragrance oil, Harbour Fig", "bought": "1 lb", "paid": "24.00 USD", "per_unit": "7.2 g"},
        ],
        "freight": {"paid": "11.00 USD", "by": "weight"},
        "wrap": [
            {"name": "clamshell", "each": "0.31 USD"},
            {"name": "label", "bought": "100", "paid": "9.00 USD", "per_unit": 2, "on": "good"},
        ],
        "minutes": "58 min", "wage": "18 USD",
        "overhead": {"per_batch": "2 USD", "of_labour": "10 %"},
        "price": {"low": "6 USD", "typical": "7 USD", "high": "8 USD"},
    })
}

#[test]
fn every_figure_of_a_batch() {
    insta::assert_snapshot!(serde_json::to_string_pretty(&costed(batch())).unwrap());
}

/// The same batch by hand, with the pound at 453.59237 g (NIST SP 811).
#[test]
fn a_batch_reckoned_by_hand() {
    let out = costed(batch());
    // 26.00 + 10.00 freight for 10 lb: 36 / 4535.9237 x 68.4 x 24 / 0.985.
    let wax = 36.0 / 4535.9237 * 68.4 * 24.0 / 0.985;
    // 24.00 + 1.00 freight for 1 lb.
    let oil = 25.0 / 453.59237 * 7.2 * 24.0 / 0.985;
    let wrap = 0.31 * 24.0 + 0.09 * 2.0 * 23.0;
    let labour = 18.0 * 58.0 / 60.0;
    let material_cost = (wax + oil + wrap) / 23.0;
    let making_cost = material_cost + labour / 23.0;
    let full_cost = making_cost + (2.0 + 0.1 * labour) / 23.0;
    let close = |found: f64, expected: f64| (found - expected).abs() < 1e-9;
    assert!(close(out.unit.material_cost_in_currency, material_cost));
    assert!(close(out.unit.making_cost_in_currency, making_cost));
    assert!(close(out.unit.full_cost_in_currency, full_cost));
    let typical = out.prices.unwrap().typical;
    assert!(close(typical.left_in_currency, 7.0 - full_cost));
    let hour = (7.0 - full_cost) * 23.0 / (58.0 / 60.0);
    assert!(close(typical.left_per_hour_in_currency.unwrap(), hour));
    assert!(close(
        typical.pays_per_hour_in_currency.unwrap(),
        hour + 18.0
    ));
}

#[test]
fn what_was_weighed_in_holds_the_loss_already() {
    let out = costed(json!({
        "units": 10, "loss": "50 %",
        "materials": [{"name": "wax", "bought": "1 kg", "paid": "10 EUR", "per_batch": "500 g"}],
    }));
    assert_eq!(out.batch.material_cost, "5.00 EUR");
    assert_eq!(out.unit.full_cost, "0.50 EUR");
}

#[test]
fn volumes_and_counts_are_costed_like_weights() {
    let out = costed(json!({
        "units": 4, "currency": "GBP",
        "materials": [
            {"name": "dye", "bought": "50 ml", "paid": "5.00", "per_batch": "2 ml"},
            {"name": "wick", "bought": "100 pieces", "paid": "12.00", "per_unit": "1"},
        ],
    }));
    assert_eq!(out.lines[0].batch, "0.20 GBP");
    assert_eq!(out.lines[0].rate.as_deref(), Some("0.10 GBP per ml"));
    assert_eq!(out.lines[1].batch, "0.48 GBP");
    assert_eq!(out.unit.full_cost, "0.17 GBP");
}

#[test]
fn without_time_an_hour_is_not_known() {
    let out = costed(json!({
        "units": 2, "minutes": "0 min", "wage": "18 USD",
        "wrap": [{"name": "tin", "each": "1 USD"}],
        "price": {"typical": "0.75 USD"},
    }));
    assert_eq!(
        out.verdict,
        "A good unit costs 1.00 USD in full; the largest part is tin, 100.0 % of it. At 0.75 USD it loses 0.25 USD a unit."
    );
    let typical = out.prices.unwrap().typical;
    assert_eq!(typical.left, "-0.25 USD");
    assert_eq!(typical.margin.as_deref(), Some("-33.3 % of price"));
    assert_eq!(typical.left_per_hour, None);
}

#[test]
fn what_costs_nothing_has_no_markup() {
    let out = costed(json!({
        "units": 2,
        "wrap": [{"name": "reused tin", "each": "0 USD"}],
        "price": {"typical": "1 USD", "low": "0 USD"},
    }));
    assert_eq!(
        out.verdict,
        "A good unit costs 0.00 USD in full. At 1.00 USD it leaves 1.00 USD a unit."
    );
    let prices = out.prices.unwrap();
    assert_eq!(prices.typical.markup, None);
    assert_eq!(prices.low.unwrap().margin, None);
}

fn any_cost() -> impl Strategy<Value = Cost> {
    (0..10_000_000_i64, 0..5_u32)
        .prop_map(|(mantissa, scale)| Cost::new(Decimal::new(mantissa, scale), Currency::USD))
}

fn any_batch() -> impl Strategy<Value = Batch> {
    let materials = proptest::collection::vec(any_cost(), 0..6);
    let labour = proptest::option::of((0..600_u32, any_cost()));
    let overhead = (
        proptest::option::of(any_cost()),
        proptest::option::of(any_cost()),
        proptest::option::of(0..300_u32),
    );
    (materials, labour, overhead, 1..500_u32, 0..100_u32).prop_map(
        |(materials, labour, (per_unit, per_batch, of_labour), good, rejects)| Batch {
            currency: Currency::USD,
            made: good + rejects,
            rejects,
            materials: materials
                .into_iter()
                .map(|batch| CostLine {
                    name: "something".to_owned(),
                    layer: Layer::Material,
                    batch,
                })
                .collect(),
            labour: labour.map(|(minutes, wage)| Labour {
                time: Typed::<TimeSpan>::from_decimal(minutes.into(), TimeUnit::Minute)
                    .unwrap()
                    .value(),
                wage,
            }),
            overhead: Overhead {
                per_unit,
                per_batch,
                of_labour: of_labour.and_then(|of| Ratio::from_percent(of.into())),
            },
        },
    )
}

proptest! {
    #[test]
    fn costs_allocated_equal_costs_incurred(batch in any_batch()) {
        let cost = batch.cost().unwrap().unwrap();
        // What was incurred, added up apart from the layers.
        let labour = batch.labour.map_or(Decimal::ZERO, |labour| {
            labour.wage.major() * labour.time.to_decimal(TimeUnit::Minute) / Decimal::from(60)
        });
        let incurred = batch.materials.iter().map(|line| line.batch.major()).sum::<Decimal>()
            + labour
            + batch.overhead.per_unit.map_or(Decimal::ZERO, Cost::major) * Decimal::from(batch.made)
            + batch.overhead.per_batch.map_or(Decimal::ZERO, Cost::major)
            + batch.overhead.of_labour.map_or(Decimal::ZERO, Ratio::decimal) * labour;
        let incurred = Cost::new(incurred, Currency::USD);

        // The lines add up to it, and so do the good units.
        let lines: Decimal = cost.lines().iter().map(|line| line.batch.major()).sum();
        prop_assert_eq!(lines, cost.full_of_batch().major());
        let units = cost.full().times(Decimal::from(cost.good()));
        let tolerance = Decimal::new(1, 12);
        prop_assert!((lines - incurred.major()).abs() < tolerance);
        prop_assert!((units.major() - incurred.major()).abs() < tolerance);

        // To the minor unit: what the units are booked at is what was paid.
        let whole = cost.full_of_batch().rounded().unwrap();
        let booked = spread(whole, &vec![1; cost.good() as usize]).unwrap();
        let booked: i64 = booked.iter().map(|unit| unit.minor()).sum();
        prop_assert_eq!(booked, whole.minor());
    }

    #[test]
    fn each_layer_holds_the_one_before(batch in any_batch()) {
        let cost = batch.cost().unwrap().unwrap();
        prop_assert!(cost.material().major() <= cost.making().major());
        prop_assert!(cost.making().major() <= cost.full().major());
    }

    #[test]
    fn a_reject_never_makes_a_unit_cheaper(batch in any_batch()) {
        let more = Batch { rejects: batch.rejects + 1, ..batch.clone() };
        let before = batch.cost().unwrap().unwrap();
        if let Some(after) = more.cost().unwrap() {
            prop_assert!(after.full().major() >= before.full().major());
        }
    }
}
