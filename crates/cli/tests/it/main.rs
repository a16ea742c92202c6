//! The command line, run as a maker or a program runs it.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod journal;
mod print;
mod read;
mod readme;
mod run;
mod serve;
#[path = "../server/mod.rs"]
mod server;
mod work;
mod year;
