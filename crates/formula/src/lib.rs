//! Blends of wax, fragrance load in both conventions, what to weigh, and what
//! to do when the hand slips.
//!
//! The ambiguity of the trade, 8 % of *what*, is a type here
//! ([`FragranceLoad`]), so no caller can leave it open.
//!
//! A formula is a [`Blend`] of waxes and additives, a load and perhaps some
//! [`Dye`]. *Wax* means the whole blend, additives included: they are melted
//! together and the load is a share of that. Dye and fragrance are added to it
//! and count in the total only.
//!
//! This crate refuses to know where a formula is kept, what it costs and which
//! mould it goes into.
//!
//! Start with [`weigh_out::plan`], then [`rescale::rescale`], for when too
//! much of something went in. [`weigh_out::calculate`] and [`load::calculate`]
//! are the same as text in, text out.

pub mod blend;
pub mod cut_over;
pub mod diagnosis;
pub mod dye;
mod given;
pub mod load;
pub mod rescale;
pub mod weigh_out;

pub use blend::{Blend, Limit, Part, PartKind};
pub use dye::{Dye, DyeAmount};
pub use given::Given;
pub use load::FragranceLoad;
pub use rescale::{Rescale, rescale};
pub use weigh_out::{Bench, Formula, Loss, Note, NoteKind, Plan, Portion, Role, Target, plan};
