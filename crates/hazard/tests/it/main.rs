//! What the hazard crate promises, one module a feature.
#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test fails as its asserts do"
)]

mod asking;
mod constructed;
mod label;
mod ladder;
mod laws;
mod limits;
mod mixing;
mod published;
mod second_opinion;
mod sheet;
mod table;
mod ufi;
