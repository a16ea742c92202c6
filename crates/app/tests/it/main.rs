//! Use cases, asked as a page or a command asks them.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod books;
mod demo;
mod journal;
mod orders;
mod paper;
mod proof;
mod quick;
mod reading;
mod registry;
mod sheet_pdf;
mod together;
