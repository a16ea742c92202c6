//! The append-only journal: record, hash chain, store trait, in-memory store.
