//! Moulds, the weight of what comes out of them, what is lost on the way, and
//! how much to melt next time.
//!
//! Masses are plain grams, volumes plain millilitres and densities grams per
//! millilitre, all `f64`: this is where quantities become numbers to compute
//! with. Shares (of a charge, of a cavity, a chance) run from 0 to 1.
//!
//! This crate refuses to know what the wax costs, what is in it, when it was
//! poured and where the pours are kept. It reads no clock and draws from a
//! named generator with a stated seed, so that equal pours give equal answers
//! on every machine.
//!
//! Start with [`learn()`], which takes the pours of one mould ([`Pour`]) and
//! returns what they teach ([`Learned`]). The model stands in its
//! documentation and in `MODEL.md` beside this crate. [`Balance`] is the plain
//! account of one pour, [`NormalBelief`] the exact answer for the unit weights
//! of one lot, and [`mould`] turns volumes and densities into masses.

mod chance;
pub mod fill_advice;
mod learn;
pub mod mould;
mod normal;
mod odd;
mod part_seen;
mod pours;
mod sampler;

pub use learn::{Assumptions, DEFAULT_SEED, Learned, Need, Range, Spread, learn};
pub use normal::{BeliefError, NormalBelief, WeightBelief};
pub use odd::{Odd, Side};
pub use part_seen::PartSeen;
pub use pours::{Balance, Fault, Part, Pour, Trouble, Weighing};
