//! What the crate promises, one module a feature.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod channels;
mod comparing;
mod consigning;
mod costing;
mod enduring;
mod market_days;
mod parcels;
mod pricing;
mod refusing;
mod spreading;

use measure::{Cost, Currency, Decimal, Problems};
use price::{CompareFormatsOutput, UnitCostOutput};
use serde_json::Value;

fn dollars(text: &str) -> Cost {
    Cost::new(text.parse::<Decimal>().unwrap(), Currency::USD)
}

#[track_caller]
fn costed(input: Value) -> UnitCostOutput {
    price::unit_cost(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn uncosted(input: Value) -> Problems {
    price::unit_cost(&measure::parse_input(input).unwrap()).unwrap_err()
}

#[track_caller]
fn compared(input: Value) -> CompareFormatsOutput {
    price::compare_formats(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn uncompared(input: Value) -> Problems {
    price::compare_formats(&measure::parse_input(input).unwrap()).unwrap_err()
}
