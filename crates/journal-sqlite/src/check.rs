//! Checking a whole file.

use std::ops::ControlFlow;

use journal::{ChainError, Head, Position, StoreError, Verifier, WorkshopId};
use rusqlite::Connection;

use crate::fault::{Fault, classify, store_error};
use crate::{read, schema};

/// What a check found.
#[derive(Debug)]
pub struct CheckReport {
    /// What the database says is wrong with the file, in its own words.
    pub file: Vec<String>,
    /// The tables and guards that are missing, altered or not ours.
    pub altered: Vec<String>,
    /// The journals in the file, in order.
    pub journals: Vec<JournalReport>,
}

/// What a check found in one journal.
#[derive(Debug)]
pub struct JournalReport {
    /// Whose journal it is.
    pub workshop: WorkshopId,
    /// The last record up to which everything is in order.
    pub sound_to: Head,
    /// How many records there are.
    pub records: Position,
    /// Where and how the chain breaks after that.
    pub broken: Option<ChainError>,
    /// Why reading ended early.
    pub unreadable: Option<StoreError>,
}

impl CheckReport {
    /// Returns whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.file.is_empty()
            && self.altered.is_empty()
            && self.journals.iter().all(JournalReport::is_sound)
    }
}

impl JournalReport {
    /// Returns whether every record is as it was written.
    pub fn is_sound(&self) -> bool {
        self.broken.is_none() && self.unreadable.is_none()
    }
}

pub(crate) fn check(conn: &Connection) -> Result<CheckReport, StoreError> {
    let file = integrity(conn).or_else(|error| match classify(&error) {
        Fault::Damaged => Ok(vec![error.to_string()]),
        _ => Err(store_error(&error)),
    })?;
    let altered = schema::altered(conn).map_err(|error| store_error(&error))?;
    let workshops = read::workshops(conn)?;
    let journals = workshops.into_iter().map(|id| journal(conn, id)).collect();
    Ok(CheckReport {
        file,
        altered,
        journals,
    })
}

/// Returns what the database finds wrong with its file.
pub(crate) fn integrity(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut statement = conn.prepare("PRAGMA integrity_check")?;
    let lines = statement.query_map([], |row| row.get::<_, String>(0))?;
    lines
        .filter(|line| !matches!(line, Ok(line) if line == "ok"))
        .collect()
}

fn journal(conn: &Connection, workshop: WorkshopId) -> JournalReport {
    let mut verifier = Verifier::new(workshop.clone(), Head::EMPTY);
    let mut broken = None;
    let read = read::records(
        conn,
        &workshop,
        Position::START,
        &mut |record| match verifier.check(&record) {
            Ok(()) => ControlFlow::Continue(()),
            Err(error) => {
                broken = Some(error);
                ControlFlow::Break(())
            }
        },
    );
    let head = read::head(conn, &workshop).map_err(|error| store_error(&error));
    let (records, unreadable) = match (read, head) {
        (Ok(()), Ok(head)) => (head.position, None),
        (Err(error), Ok(head)) => (head.position, Some(error)),
        (Err(error), Err(_)) | (Ok(()), Err(error)) => (verifier.head().position, Some(error)),
    };
    JournalReport {
        workshop,
        sound_to: verifier.head(),
        records,
        broken,
        unreadable,
    }
}
