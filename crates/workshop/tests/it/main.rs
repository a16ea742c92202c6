//! What a workshop's facts say, asked the way a page asks.

#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests are outside test functions"
)]

mod book;
mod books;
mod corrections;
mod goods;
mod histories;
mod labels;
mod learn;
mod orders;
mod pack;
mod rack;
mod refusals;
mod selling;
mod sheets;
mod shelf;
mod specimens;
mod trace;
mod ways;
mod weights;
mod year;
