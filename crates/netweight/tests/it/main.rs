//! What the crate promises, feature by feature.
#![expect(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a helper of a test fails as its asserts do, and these floats are exact figures"
)]

mod asking;
mod european;
mod hostile;
mod overfilling;
mod printing;
mod promising;
mod states;

use measure::{Mass, Typed};
use netweight::{Sample, Tare};

fn mass(text: &str) -> Mass {
    typed(text).value()
}

fn typed(text: &str) -> Typed<Mass> {
    Typed::parse(text).unwrap()
}

fn grams(grams: f64) -> Mass {
    Mass::from_micrograms(micrograms(grams))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "weights of a test are grams and kilograms"
)]
fn micrograms(grams: f64) -> i64 {
    (grams * 1e6).round() as i64
}

/// Net weights in grams, weighed bare.
fn bare(weights: &[f64]) -> Sample {
    let masses: Vec<Mass> = weights.iter().map(|w| grams(*w)).collect();
    Sample::try_new(&masses, Tare::NONE.average).unwrap()
}

/// `n` weights with exactly this average and standard deviation, g.
fn spread(n: u32, mean: f64, sd: f64) -> Vec<f64> {
    let raw: Vec<f64> = (0..n)
        .map(|idx| f64::from(idx) - f64::from(n - 1) / 2.0)
        .collect();
    let scale = (raw.iter().map(|x| x * x).sum::<f64>() / f64::from(n - 1)).sqrt();
    raw.iter().map(|x| mean + sd * x / scale).collect()
}
