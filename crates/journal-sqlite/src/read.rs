//! Reading: connections that are kept for the next reader, and rows as records.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::Timestamp;
use journal::{Hash, Head, Position, Record, StoreError, WorkshopId};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::fault::store_error;
use crate::open::{self, OpenOptions};

/// As many connections as are kept open between reads.
const KEPT: usize = 8;

/// Connections that only read.
pub(crate) struct Readers {
    path: PathBuf,
    options: OpenOptions,
    idle: Mutex<Vec<Connection>>,
}

impl Readers {
    pub(crate) fn new(path: &Path, options: &OpenOptions) -> Self {
        let options = OpenOptions {
            read_only: true,
            create: false,
            ..options.clone()
        };
        Self {
            path: path.to_owned(),
            options,
            idle: Mutex::default(),
        }
    }

    /// Lends a connection to `work`; an error costs it its place among the kept ones.
    pub(crate) fn with<T>(
        &self,
        work: impl FnOnce(&Connection) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let kept = self.idle().pop();
        let conn = match kept {
            Some(conn) => conn,
            None => open::connect(&self.path, &self.options, false)
                .map_err(|error| store_error(&error))?,
        };
        let done = work(&conn)?;
        self.keep(conn);
        Ok(done)
    }

    /// Keeps a connection for the next reader.
    pub(crate) fn keep(&self, conn: Connection) {
        let mut idle = self.idle();
        if idle.len() < KEPT {
            idle.push(conn);
        }
    }

    /// Closes the kept connections.
    pub(crate) fn close(&self) {
        self.idle().clear();
    }

    fn idle(&self) -> MutexGuard<'_, Vec<Connection>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Returns the workshops in the file, in order.
pub(crate) fn workshops(conn: &Connection) -> Result<Vec<WorkshopId>, StoreError> {
    // Leaps from one workshop to the next along the key, past all their records.
    let sql = "SELECT min(workshop) FROM record WHERE workshop > ?1";
    let mut statement = conn
        .prepare_cached(sql)
        .map_err(|error| store_error(&error))?;
    let mut found = Vec::new();
    let mut last = String::new();
    loop {
        let next = statement
            .query_row([&last], |row| row.get::<_, Option<String>>(0))
            .map_err(|error| store_error(&error))?;
        let Some(next) = next else { return Ok(found) };
        let id = WorkshopId::try_new(&next);
        found.push(id.map_err(|error| StoreError::Damaged(error.into()))?);
        last = next;
    }
}

/// Returns where a journal ends.
pub(crate) fn head(conn: &Connection, workshop: &WorkshopId) -> rusqlite::Result<Head> {
    let sql = "SELECT position, hash FROM record WHERE workshop = ?1 \
               ORDER BY position DESC LIMIT 1";
    let head = conn
        .prepare_cached(sql)?
        .query_row([workshop.as_str()], |row| {
            // The table's checks keep positions above 0.
            let position = Position(row.get::<_, i64>(0)?.unsigned_abs());
            let hash = Some(Hash::from_bytes(row.get(1)?));
            Ok(Head { position, hash })
        })
        .optional()?;
    Ok(head.unwrap_or(Head::EMPTY))
}

/// Hands over the records after `after` until `visit` breaks off.
pub(crate) fn records(
    conn: &Connection,
    workshop: &WorkshopId,
    after: Position,
    visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
) -> Result<(), StoreError> {
    let Ok(after) = i64::try_from(after.0) else {
        return Ok(());
    };
    let said = |error| store_error(&error);
    let sql = "SELECT position, recorded, day, who, name, version, payload, previous, hash \
               FROM record WHERE workshop = ?1 AND position > ?2 ORDER BY position";
    let mut statement = conn.prepare_cached(sql).map_err(said)?;
    let mut rows = statement
        .query(params![workshop.as_str(), after])
        .map_err(said)?;
    while let Some(row) = rows.next().map_err(said)? {
        if visit(record(row, workshop)?).is_break() {
            break;
        }
    }
    Ok(())
}

/// Why a column does not hold what it should.
type Reason = String;

fn record(row: &Row<'_>, workshop: &WorkshopId) -> Result<Record, StoreError> {
    let position = column(row, 0, ValueRef::as_i64)
        .and_then(|it| u64::try_from(it).map_err(|_| format!("{it} is not a position")))
        .map(Position);
    let place = position.as_ref().copied().unwrap_or_default();
    fields(row, workshop, position).map_err(|reason| StoreError::Unreadable {
        workshop: workshop.clone(),
        position: place,
        reason,
    })
}

fn fields(
    row: &Row<'_>,
    workshop: &WorkshopId,
    position: Result<Position, Reason>,
) -> Result<Record, Reason> {
    let text = |idx| {
        let value = row.get_ref(idx).map_err(|error| error.to_string())?;
        value
            .as_str()
            .map_err(|error| format!("{} is not text: {error}", name(row, idx)))
    };
    let micros = column(row, 1, ValueRef::as_i64)?;
    // Not from microseconds: that ends one second before the last moment there is.
    let recorded = Timestamp::from_nanosecond(i128::from(micros) * 1_000)
        .map_err(|error| format!("recorded is out of range: {error}"))?;
    let day = text(2)?;
    let day = day
        .parse()
        .map_err(|error| format!("`{day}` is not a day: {error}"))?;
    let version = column(row, 5, ValueRef::as_i64)?;
    let version = version
        .try_into()
        .map_err(|_| format!("{version} is not a version"))?;
    let hash = |idx| -> Result<Option<Hash>, Reason> {
        let bytes = column(row, idx, ValueRef::as_blob_or_null)?;
        let bytes = bytes.map(<[u8; 32]>::try_from).transpose();
        let bytes = bytes.map_err(|_| format!("{} is not 32 bytes long", name(row, idx)))?;
        Ok(bytes.map(Hash::from_bytes))
    };
    Ok(Record {
        workshop: workshop.clone(),
        position: position?,
        recorded,
        day,
        who: text(3)?.into(),
        name: text(4)?.into(),
        version,
        payload: text(6)?.into(),
        previous: hash(7)?,
        hash: hash(8)?.ok_or("hash is missing")?,
    })
}

fn column<'a, T>(
    row: &'a Row<'_>,
    idx: usize,
    read: impl FnOnce(&ValueRef<'a>) -> rusqlite::types::FromSqlResult<T>,
) -> Result<T, Reason> {
    let value = row.get_ref(idx).map_err(|error| error.to_string())?;
    read(&value).map_err(|error| format!("{}: {error}", name(row, idx)))
}

fn name<'a>(row: &'a Row<'_>, idx: usize) -> &'a str {
    row.as_ref().column_name(idx).unwrap_or("a column")
}
