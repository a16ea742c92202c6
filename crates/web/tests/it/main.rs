//! The pages, asked as a browser asks.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod api;
mod bench;
mod best_price;
mod books;
mod comma;
mod doors;
mod first_visit;
mod hostile;
mod label;
mod made;
mod market;
mod moulds;
mod orders;
mod pour;
mod print;
mod proof;
mod quick;
mod rack;
mod reading;
mod resent;
mod sell;
mod settings;
mod sheet;
mod shelf;
mod site;
mod stall;
mod trace;
mod weight;
mod year;
