//! What the crate promises, one module a feature.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod booking;
mod histories;
mod printed;
mod tracing;
mod valuing;

use ledger::inventory_value;
use measure::Problems;
use serde_json::Value;

#[track_caller]
fn valued(input: Value) -> inventory_value::Output {
    inventory_value::calculate(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn unvalued(input: Value) -> Problems {
    inventory_value::calculate(&measure::parse_input(input).unwrap()).unwrap_err()
}

/// Chances that come again the same: the splitmix64 sequence.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// From `least` to `most`, both included.
    fn between(&mut self, least: i64, most: i64) -> i64 {
        let span = u64::try_from(most - least).unwrap() + 1;
        least + i64::try_from(self.next() % span).unwrap()
    }
}
