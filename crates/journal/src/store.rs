//! What every place that keeps journals must do.

use std::error::Error;
use std::ops::ControlFlow;
use std::sync::Arc;

use jiff::Timestamp;

use crate::chain::{ChainError, Verifier};
use crate::entry::{Entry, EntryError};
use crate::name::WorkshopId;
use crate::people::People;
use crate::record::{Head, Position, Record};

/// Keeps the journals of one or more workshops.
///
/// A store only ever adds. What it has acknowledged is durable: it is there
/// after the program, or the machine, stops at any later moment. Beside the
/// records it keeps who [`People`] are, which can be forgotten.
pub trait Store: People {
    /// Returns the workshops that have at least one record, in order.
    ///
    /// # Errors
    ///
    /// [`StoreError`] when the store cannot be read.
    fn workshops(&self) -> Result<Vec<WorkshopId>, StoreError>;

    /// Returns the last record of a journal, [`Head::EMPTY`] when there is none.
    ///
    /// # Errors
    ///
    /// [`StoreError`] when the store cannot be read.
    fn head(&self, workshop: &WorkshopId) -> Result<Head, StoreError>;

    /// Appends `entries` after `expected`, all of them or none, and returns the new head.
    ///
    /// Without entries this only asks whether the journal still ends at `expected`.
    ///
    /// # Errors
    ///
    /// [`AppendError::Stale`] when the journal does not end at `expected`; the
    /// caller reads what is new and decides again. Otherwise why nothing could be
    /// written.
    fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Result<Head, AppendError>;

    /// Hands over the records after `after`, in order, until `visit` breaks off.
    ///
    /// What is handed over is the journal as it was at one moment during the
    /// call; `visit` may use the store. Records are read, not verified: see
    /// [`read_verified`].
    ///
    /// # Errors
    ///
    /// [`StoreError`] when the store or a record in it cannot be read.
    fn read(
        &self,
        workshop: &WorkshopId,
        after: Position,
        visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
    ) -> Result<(), StoreError>;

    /// Takes in a whole journal that was written elsewhere, all of it or nothing.
    ///
    /// `next` is called until it returns `None`; records keep their hashes.
    ///
    /// # Errors
    ///
    /// [`RestoreError::NotEmpty`] when the workshop already has records,
    /// [`RestoreError::Chain`] when the records are not an unbroken chain from the
    /// first one, [`RestoreError::Interrupted`] when `next` gives up. Otherwise why
    /// nothing could be written.
    fn restore(
        &self,
        workshop: &WorkshopId,
        next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
    ) -> Result<Head, RestoreError>;
}

/// The source of a [`Store::restore`] gave up; it knows why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the source of the records gave up")]
pub struct Interrupted;

/// Why a store could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another program is writing and did not finish in time.
    #[error("another program is busy with the journal; close it or try again in a moment")]
    Busy,
    /// A record cannot be read. Nothing is skipped, so nothing after it is read either.
    #[error("record {position} of the workshop `{workshop}` cannot be read: {reason}")]
    Unreadable {
        /// The journal.
        workshop: WorkshopId,
        /// The record.
        position: Position,
        /// What is wrong with it.
        reason: String,
    },
    /// What the store keeps is damaged.
    #[error("the journal is damaged; put back a backup, and keep the damaged file")]
    Damaged(#[source] Box<dyn Error + Send + Sync>),
    /// An earlier failure left it open what was kept, so the store takes nothing more.
    #[error("writing failed earlier; close the program, check the disk and open the journal again")]
    Stopped,
    /// Something else failed.
    #[error("the journal could not be reached")]
    Other(#[source] Box<dyn Error + Send + Sync>),
}

/// Why a journal did not take what was to be appended. Nothing was written.
///
/// The one exception is a failure of the machine while writing, which comes as
/// [`AppendError::Store`]; after it the store takes nothing more until it is
/// opened again, and then shows whether the record was kept.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// Someone else appended first. The caller reads on and decides again.
    #[error("{}", stale(expected, found))]
    Stale {
        /// Where the caller thought the journal ends.
        expected: Head,
        /// Where it ends.
        found: Head,
    },
    /// The journal may only be read.
    #[error("the journal is open for reading only")]
    ReadOnly,
    /// There is no room left.
    #[error("there is no room left for the journal; free some space and try again")]
    Full,
    /// The store failed.
    #[error("could not append to the journal")]
    Store(#[source] StoreError),
}

/// Why a journal was not taken in. Nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum RestoreError {
    /// The workshop already has a journal, which is never written over.
    #[error(
        "the workshop `{workshop}` already has a journal of {records} records; \
         a journal is only taken into an empty one"
    )]
    NotEmpty {
        /// The workshop.
        workshop: WorkshopId,
        /// How many records it has.
        records: Position,
    },
    /// The records are not an unbroken chain.
    #[error("the records are not an unbroken chain")]
    Chain(#[source] ChainError),
    /// A record is malformed.
    #[error("record {position} is malformed")]
    Form {
        /// The record.
        position: Position,
        /// What is wrong with it.
        source: EntryError,
    },
    /// The source of the records gave up.
    #[error(transparent)]
    Interrupted(#[from] Interrupted),
    /// The journal may only be read.
    #[error("the journal is open for reading only")]
    ReadOnly,
    /// There is no room left.
    #[error("there is no room left for the journal; free some space and try again")]
    Full,
    /// The store failed.
    #[error("could not take in the journal")]
    Store(#[source] StoreError),
}

fn stale(expected: &Head, found: &Head) -> String {
    if expected.position == found.position {
        let position = found.position;
        return format!("record {position} is no longer the one this was decided on; reload");
    }
    format!(
        "the journal moved on from {} to {}; reload",
        expected.position, found.position
    )
}

/// Why a journal could not be read and verified.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The chain is broken.
    #[error("the journal is not as it was written")]
    Chain(#[source] ChainError),
    /// The store failed.
    #[error("could not read the journal")]
    Store(#[source] StoreError),
}

/// Hands over the records after `after`, each verified first, and returns the last one's head.
///
/// # Errors
///
/// [`ReadError::Chain`] at the first record that is not the next link of the
/// chain, which is then not handed over; [`ReadError::Store`] when reading fails.
pub fn read_verified<S: Store + ?Sized>(
    store: &S,
    workshop: &WorkshopId,
    after: Head,
    mut visit: impl FnMut(Record) -> ControlFlow<()>,
) -> Result<Head, ReadError> {
    let mut verifier = Verifier::new(workshop.clone(), after);
    let mut broken = None;
    store
        .read(
            workshop,
            after.position,
            &mut |record| match verifier.check(&record) {
                Ok(()) => visit(record),
                Err(error) => {
                    broken = Some(error);
                    ControlFlow::Break(())
                }
            },
        )
        .map_err(ReadError::Store)?;
    match broken {
        Some(error) => Err(ReadError::Chain(error)),
        None => Ok(verifier.head()),
    }
}

impl<S: Store + ?Sized> Store for Arc<S> {
    fn workshops(&self) -> Result<Vec<WorkshopId>, StoreError> {
        (**self).workshops()
    }

    fn head(&self, workshop: &WorkshopId) -> Result<Head, StoreError> {
        (**self).head(workshop)
    }

    fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Result<Head, AppendError> {
        (**self).append(workshop, expected, recorded, entries)
    }

    fn read(
        &self,
        workshop: &WorkshopId,
        after: Position,
        visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        (**self).read(workshop, after, visit)
    }

    fn restore(
        &self,
        workshop: &WorkshopId,
        next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
    ) -> Result<Head, RestoreError> {
        (**self).restore(workshop, next)
    }
}
