//! The store.

use std::fmt;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use journal::{
    AppendError, Entry, Head, Interrupted, People, PeopleError, Position, Record, RestoreError,
    Store, StoreError, WorkshopId, check_person,
};
use rusqlite::Connection;

use crate::backup::{self, BackupError};
use crate::check::{self, CheckReport};
use crate::fault::restore_error;
use crate::open::{self, OpenError, OpenOptions};
use crate::people;
use crate::read::{self, Readers};
use crate::write::{self, Writer};

/// Journals in one SQLite file.
pub struct SqliteStore {
    path: PathBuf,
    options: OpenOptions,
    readers: Readers,
    /// `None` when the file is open for reading only.
    writer: Option<Writer>,
}

impl SqliteStore {
    /// Opens the journal at `path`.
    ///
    /// # Errors
    ///
    /// [`OpenError`] says why not and what to do about it. Nothing that was there
    /// is changed then.
    pub fn open(path: impl AsRef<Path>, options: &OpenOptions) -> Result<Self, OpenError> {
        let (path, conn) = open::open(path.as_ref(), options)?;
        let readers = Readers::new(&path, options);
        let writer = if options.read_only {
            readers.keep(conn);
            None
        } else {
            let started = Writer::start(conn);
            let failed = |error: std::io::Error| OpenError::Other {
                path: path.clone(),
                source: error.into(),
            };
            Some(started.map_err(failed)?)
        };
        Ok(Self {
            path,
            options: options.clone(),
            readers,
            writer,
        })
    }

    /// Returns the full path of the file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Returns whether the journal is open for reading only.
    pub fn is_read_only(&self) -> bool {
        self.writer.is_none()
    }

    /// Writes a copy of the whole file to `path`, and returns its size in bytes.
    ///
    /// Others may go on writing; the copy is the journal as it was at one moment.
    /// It appears under its name only when it is whole, checked and durable.
    ///
    /// # Errors
    ///
    /// [`BackupError`], above all when there is already something at `path`, which
    /// is never written over.
    pub fn backup_to(&self, path: impl AsRef<Path>) -> Result<u64, BackupError> {
        backup::backup(&self.readers, path.as_ref())
    }

    /// Checks the whole file: the database, its guards and every record of every chain.
    ///
    /// # Errors
    ///
    /// [`StoreError`] when checking itself fails. What is wrong with the journal
    /// is in the report.
    pub fn check(&self) -> Result<CheckReport, StoreError> {
        self.readers.with(check::check)
    }

    /// Opens a connection of its own for what the writer does not do.
    fn own(&self) -> rusqlite::Result<Connection> {
        open::connect(&self.path, &self.options, false)
            .and_then(|conn| open::prepare(conn, &self.options))
    }

    fn own_for_people(&self) -> Result<Connection, PeopleError> {
        if self.is_read_only() {
            return Err(PeopleError::ReadOnly);
        }
        self.own()
            .map_err(|error| crate::fault::store_error(&error).into())
    }
}

impl People for SqliteStore {
    fn put(&self, workshop: &WorkshopId, person: &str, details: &str) -> Result<(), PeopleError> {
        check_person(person, details)?;
        people::put(&mut self.own_for_people()?, workshop, person, details)
    }

    fn person(&self, workshop: &WorkshopId, person: &str) -> Result<Option<String>, StoreError> {
        self.readers
            .with(|conn| people::person(conn, workshop, person))
    }

    fn people(&self, workshop: &WorkshopId) -> Result<Vec<(String, String)>, StoreError> {
        self.readers.with(|conn| people::people(conn, workshop))
    }

    fn forget(&self, workshop: &WorkshopId, person: &str) -> Result<bool, PeopleError> {
        people::forget(&mut self.own_for_people()?, workshop, person)
    }
}

impl fmt::Debug for SqliteStore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SqliteStore")
            .field("path", &self.path)
            .field("options", &self.options)
            .finish_non_exhaustive()
    }
}

impl Drop for SqliteStore {
    fn drop(&mut self) {
        // The writer's connection goes last: the last one out folds the
        // write-ahead log into the file, which a reader may not do.
        self.readers.close();
        self.writer = None;
    }
}

impl Store for SqliteStore {
    fn workshops(&self) -> Result<Vec<WorkshopId>, StoreError> {
        self.readers.with(read::workshops)
    }

    fn head(&self, workshop: &WorkshopId) -> Result<Head, StoreError> {
        self.readers.with(|conn| {
            read::head(conn, workshop).map_err(|error| crate::fault::store_error(&error))
        })
    }

    fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Result<Head, AppendError> {
        let writer = self.writer.as_ref().ok_or(AppendError::ReadOnly)?;
        writer.append(workshop, expected, recorded, entries)
    }

    fn read(
        &self,
        workshop: &WorkshopId,
        after: Position,
        visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        self.readers
            .with(|conn| read::records(conn, workshop, after, visit))
    }

    fn restore(
        &self,
        workshop: &WorkshopId,
        next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
    ) -> Result<Head, RestoreError> {
        if self.is_read_only() {
            return Err(RestoreError::ReadOnly);
        }
        // The source of the records belongs to this thread.
        let mut conn = self.own().map_err(|error| restore_error(&error))?;
        write::restore(&mut conn, workshop, next)
    }
}
