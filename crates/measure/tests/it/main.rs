//! What the measure crate promises, feature by feature.
#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test fails as its asserts do"
)]

mod factors;
mod hostile;
mod money;
mod reading;
mod rounding;
mod temperatures;

use measure::{Mass, Quantity, Typed};

/// The mass a text stands for.
fn mass(text: &str) -> Mass {
    Typed::<Mass>::parse(text).unwrap().value()
}

/// What is wrong with a text, in the crate's words.
#[track_caller]
fn wrong<Q: Quantity>(text: &str) -> String {
    match Typed::<Q>::parse(text) {
        Ok(read) => panic!("{text:?} was read as {read}"),
        Err(unclear) => {
            assert!(!unclear.accepted.is_empty());
            unclear.wrong.into_owned()
        }
    }
}
