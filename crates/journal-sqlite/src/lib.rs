//! The journal in one SQLite file.
//!
//! Needs no set-up: [`SqliteStore::open`] a path, and what is appended is durable
//! when the call returns. Several threads, and several programs, may use one file
//! at once. The file says what it is (`application_id`) and how it is laid out
//! (`user_version`), and itself refuses to change or remove a record.
//!
//! One thread writes, and commits together whatever is waiting, so that ten
//! callers pay for one wait on the disk; each is told its own outcome. Readers
//! have connections of their own and see the journal as it was when they began.
//!
//! Who people are stands in a table of its own, whose rows can be changed and
//! removed; what is removed is written over with zeros.
//!
//! This crate refuses to know what is in a payload. No database shows in its
//! signatures.
//!
//! Start with [`SqliteStore`], then `schema.sql` and
//! `people.sql`.

mod backup;
mod check;
mod fault;
mod open;
mod people;
mod read;
mod schema;
mod store;
mod write;

pub use backup::BackupError;
pub use check::{CheckReport, JournalReport};
pub use open::{OpenError, OpenOptions};
pub use store::SqliteStore;
