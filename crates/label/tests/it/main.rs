//! What the crate promises, against published figures and laws of geometry.
#![expect(
    clippy::unwrap_used,
    clippy::unnecessary_wraps,
    reason = "helpers of tests fail as their asserts do, and fill optional fields"
)]

mod numbers;
mod sheets;
mod symbols;
mod units;
mod wraps;
