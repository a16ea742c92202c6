//! The chain of records: making the next link, and checking the ones there are.

use jiff::Timestamp;

use crate::entry::Entry;
use crate::name::WorkshopId;
use crate::record::{Head, Position, Record};

/// Seals entries into records, one after the other.
#[derive(Debug, Clone)]
pub struct Chain {
    workshop: WorkshopId,
    head: Head,
}

impl Chain {
    /// Returns a chain that goes on after `head`.
    pub fn new(workshop: WorkshopId, head: Head) -> Self {
        Self { workshop, head }
    }

    /// Returns `entry` as the next record of the chain.
    pub fn seal(&mut self, recorded: Timestamp, entry: &Entry) -> Record {
        let record = Record::seal(&self.workshop, self.head, recorded, entry);
        self.head = record.head();
        record
    }

    /// Returns the last record so far.
    pub fn head(&self) -> Head {
        self.head
    }
}

/// What is wrong with a chain of records, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ChainError {
    /// A record is missing, doubled or out of its place.
    #[error("record {found} stands where record {expected} belongs")]
    Position {
        /// The position that belongs here.
        expected: Position,
        /// The position the record gives.
        found: Position,
    },
    /// A record belongs to another workshop.
    #[error("record {position} belongs to the workshop `{found}`, not to `{expected}`")]
    Workshop {
        /// The record.
        position: Position,
        /// The workshop whose journal this is.
        expected: WorkshopId,
        /// The workshop the record gives.
        found: WorkshopId,
    },
    /// A record names another predecessor than the one before it.
    #[error("record {position} was not written after the record that stands before it")]
    Previous {
        /// The record.
        position: Position,
    },
    /// A record's fields do not give its hash.
    #[error("record {position} is not as it was written: its hash does not fit its content")]
    Hash {
        /// The record.
        position: Position,
    },
}

impl ChainError {
    /// Returns the position at which the chain breaks.
    pub fn position(&self) -> Position {
        match self {
            Self::Position { expected, .. } => *expected,
            Self::Workshop { position, .. }
            | Self::Previous { position }
            | Self::Hash { position } => *position,
        }
    }
}

/// Checks records as they come by: places without gaps, and every hash.
#[derive(Debug, Clone)]
pub struct Verifier {
    workshop: WorkshopId,
    head: Head,
}

impl Verifier {
    /// Returns a verifier that takes up after `head`; [`Head::EMPTY`] checks from the first record.
    pub fn new(workshop: WorkshopId, head: Head) -> Self {
        Self { workshop, head }
    }

    /// Checks that `record` is the next one.
    ///
    /// # Errors
    ///
    /// [`ChainError`], naming the position and what is wrong. The verifier stays
    /// where it was.
    pub fn check(&mut self, record: &Record) -> Result<(), ChainError> {
        let position = record.position;
        let expected = self.head.position.next();
        if position != expected {
            return Err(ChainError::Position {
                expected,
                found: position,
            });
        }
        if record.workshop != self.workshop {
            let expected = self.workshop.clone();
            return Err(ChainError::Workshop {
                position,
                expected,
                found: record.workshop.clone(),
            });
        }
        if record.previous != self.head.hash {
            return Err(ChainError::Previous { position });
        }
        if record.hash != record.compute_hash() {
            return Err(ChainError::Hash { position });
        }
        self.head = record.head();
        Ok(())
    }

    /// Returns the last record that was found in order.
    pub fn head(&self) -> Head {
        self.head
    }
}
