//! What the database's errors mean to a caller.

use std::error::Error;

use journal::{AppendError, RestoreError, StoreError};
use rusqlite::{ErrorCode, ffi};

/// What went wrong, as far as a caller can act on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    Busy,
    ReadOnly,
    Full,
    Damaged,
    NotADatabase,
    Denied,
    /// Reading or writing failed. If it was writing, what is on the disk is not known.
    Device,
    Other,
}

pub(crate) fn classify(error: &rusqlite::Error) -> Fault {
    match error.sqlite_error_code() {
        Some(
            ErrorCode::DatabaseBusy
            | ErrorCode::DatabaseLocked
            | ErrorCode::FileLockingProtocolFailed,
        ) => Fault::Busy,
        Some(ErrorCode::ReadOnly) => Fault::ReadOnly,
        Some(ErrorCode::DiskFull) => Fault::Full,
        Some(ErrorCode::DatabaseCorrupt) => Fault::Damaged,
        Some(ErrorCode::NotADatabase) => Fault::NotADatabase,
        Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => Fault::Denied,
        // A wait that runs out while the write-ahead log is recovered comes as this.
        Some(ErrorCode::SystemIoFailure) if is_blocked(error) => Fault::Busy,
        Some(ErrorCode::SystemIoFailure) => Fault::Device,
        _ => Fault::Other,
    }
}

fn is_blocked(error: &rusqlite::Error) -> bool {
    let extended = error.sqlite_error().map(|error| error.extended_code);
    extended == Some(ffi::SQLITE_IOERR_BLOCKED)
}

/// The database's own words, as the cause of an error that several callers get.
pub(crate) fn cause(error: &rusqlite::Error) -> Box<dyn Error + Send + Sync> {
    error.to_string().into()
}

pub(crate) fn store_error(error: &rusqlite::Error) -> StoreError {
    match classify(error) {
        Fault::Busy => StoreError::Busy,
        Fault::Damaged | Fault::NotADatabase => StoreError::Damaged(cause(error)),
        _ => StoreError::Other(cause(error)),
    }
}

pub(crate) fn append_error(error: &rusqlite::Error) -> AppendError {
    match classify(error) {
        Fault::ReadOnly => AppendError::ReadOnly,
        Fault::Full => AppendError::Full,
        _ => AppendError::Store(store_error(error)),
    }
}

pub(crate) fn restore_error(error: &rusqlite::Error) -> RestoreError {
    match classify(error) {
        Fault::ReadOnly => RestoreError::ReadOnly,
        Fault::Full => RestoreError::Full,
        _ => RestoreError::Store(store_error(error)),
    }
}
