//! What the program can do, one use case after another.
//!
//! A request comes in as texts. A use case reads them by the workshop's own
//! habits, lets [`workshop`] decide, appends the facts to the [`journal`] and
//! folds them into the state that is kept in memory. Two writers cannot
//! overwrite each other: an append states the position it expects, and the
//! loser decides again on what is new.
//!
//! Here, and only here, time enters: through a [`Clock`].
//!
//! Every calculation of the pure crates stands in one [`registry`], and
//! the page, the programming interface and the command line all take it from
//! there. Every [`paper`] stands in one list too, for the same three.
//!
//! This crate refuses to know how a page looks and where the journal is kept.
//! Start with [`App`].

pub mod best_price;
pub mod books;
pub mod demo;
pub mod forms;
pub mod labels;
pub mod melting;
pub mod offers;
pub mod orders;
pub mod packing;
pub mod paper;
pub mod people;
pub mod pouring;
pub mod proof;
pub mod quick;
pub mod reading_in;
pub mod recalls;
pub mod registry;
pub mod selling;
pub mod sheet_pdf;
pub mod sheets;
pub mod stall;
pub mod supply_lots;
pub mod weights;
pub mod wording;

mod steps;

mod app;
mod clock;

pub use app::{ActError, App, Done, OpenError, Written};
pub use clock::{Clock, FixedClock, SystemClock};
