//! How much a package may be said to hold, how that is tested, and how it is
//! printed.
//!
//! Two bodies of rules, side by side ([`Rule`]): the United States inspection
//! of NIST Handbook 133 ([`us`]) and the average system of Directive
//! 76/211/EEC, kept in British law ([`eu`]). [`Outlook`] turns the units
//! weighed into the chance that a lot meets the rule and passes an inspection,
//! and [`declare`] finds the largest tidy weight that has the chance asked
//! for; [`overfill`] says what a fuller unit gives away and what to aim at.
//! [`chart`] watches lot after lot; [`statement`] and [`panel`] say what
//! is printed and how large.
//!
//! Weights that are held against a limit are whole micrograms; statistics run
//! on plain grams as `f64`. Figures of the law that could only be recalled and
//! not read are marked "from memory" where they stand.
//!
//! This crate refuses to know where weights are kept, which product they
//! belong to and what a label looks like. It reads no clock and draws from a
//! named generator with a stated seed. It informs; the weights and measures
//! office decides.
//!
//! Start with [`net_weight::calculate`] and [`declare::calculate`], or with
//! [`us::inspect`] and [`eu::inspect`] under them.

mod chance;
pub mod chart;
pub mod declare;
pub mod eu;
mod given;
pub mod net_weight;
mod outlook;
pub mod overfill;
pub mod panel;
mod rule;
mod sample;
pub mod scale;
pub mod statement;
mod tare;
pub mod us;

pub use outlook::{DEFAULT_SEED, History, Outlook, TooFew};
pub use rule::{Inspected, Limits, Plan, Rule};
pub use sample::{Sample, SampleError};
pub use tare::Tare;
