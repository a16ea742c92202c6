//! The append-only journal: what happened in a workshop, one record after another.
//!
//! A [`Record`] says what happened, on which day, who wrote it down and when.
//! Records are numbered from 1 without gaps, and each carries a hash over itself
//! and over the record before it, so that nothing can be changed, removed or put
//! in between without a [`Verifier`] noticing. A [`Store`] keeps records;
//! appending says which record it expects to be the last, so that of two writers
//! who decided on the same state one is told that the journal moved on.
//!
//! Who people are stands beside the records and not in them ([`People`]), so that
//! someone can be forgotten while the chain stays whole.
//!
//! This crate refuses to know what a payload means, what time it is, and where
//! records are kept. The payload is JSON text and stays, byte for byte, as it was
//! given. No database shows in these signatures.
//!
//! Start with [`Store`], then [`Record`]. [`MemoryStore`] is the store of tests,
//! [`suite`] what every store must pass, [`jsonl`] a journal as a file of text.

mod chain;
mod entry;
pub mod jsonl;
mod memory;
mod name;
mod people;
mod record;
mod store;
pub mod suite;

pub use chain::{Chain, ChainError, Verifier};
pub use entry::{Entry, EntryError, MAX_NAME, MAX_PAYLOAD, MAX_WHO};
pub use memory::MemoryStore;
pub use name::{WorkshopId, WorkshopIdError};
pub use people::{MAX_DETAILS, MAX_PERSON, People, PeopleError, check_person};
pub use record::{Hash, HashError, Head, Position, Record};
pub use store::{
    AppendError, Interrupted, ReadError, RestoreError, Store, StoreError, read_verified,
};
