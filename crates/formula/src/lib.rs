//! Blends of wax, fragrance load in both conventions, what to weigh, and what
//! to do when the hand slips.
//!
//! The ambiguity of the trade, 8 % of *what*, is a type here
//! ([`FragranceLoad`]), so no caller can leave it open.
//!
//! This crate refuses to know where a formula is kept, what it costs and which
//! mould it goes into.

mod load;

pub use load::FragranceLoad;
