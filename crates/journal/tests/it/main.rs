//! What the journal promises, seen from outside.

#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests are outside test functions"
)]

mod jsonl;
mod specimens;
