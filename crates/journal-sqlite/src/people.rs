//! Who people are: the one table whose rows change and go.

use journal::{PeopleError, StoreError, WorkshopId};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

use crate::fault::{Fault, classify, store_error};
use crate::schema;

fn people_error(error: &rusqlite::Error) -> PeopleError {
    match classify(error) {
        Fault::ReadOnly => PeopleError::ReadOnly,
        Fault::Full => PeopleError::Full,
        _ => PeopleError::Store(store_error(error)),
    }
}

pub(crate) fn person(
    conn: &Connection,
    workshop: &WorkshopId,
    person: &str,
) -> Result<Option<String>, StoreError> {
    let read = || -> rusqlite::Result<Option<String>> {
        if !schema::has_people(conn)? {
            return Ok(None);
        }
        let sql = "SELECT details FROM people WHERE workshop = ?1 AND person = ?2";
        conn.prepare_cached(sql)?
            .query_row([workshop.as_str(), person], |row| row.get(0))
            .optional()
    };
    read().map_err(|error| store_error(&error))
}

pub(crate) fn people(
    conn: &Connection,
    workshop: &WorkshopId,
) -> Result<Vec<(String, String)>, StoreError> {
    let read = || -> rusqlite::Result<Vec<(String, String)>> {
        if !schema::has_people(conn)? {
            return Ok(Vec::new());
        }
        let sql = "SELECT person, details FROM people WHERE workshop = ?1 ORDER BY person";
        let mut statement = conn.prepare_cached(sql)?;
        let rows =
            statement.query_map([workshop.as_str()], |row| Ok((row.get(0)?, row.get(1)?)))?;
        rows.collect()
    };
    read().map_err(|error| store_error(&error))
}

pub(crate) fn put(
    conn: &mut Connection,
    workshop: &WorkshopId,
    person: &str,
    details: &str,
) -> Result<(), PeopleError> {
    let write = |conn: &mut Connection| -> rusqlite::Result<()> {
        overwrite_what_goes(conn)?;
        let transaction = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let sql = "INSERT INTO people (workshop, person, details) VALUES (?1, ?2, ?3) \
                   ON CONFLICT (workshop, person) DO UPDATE SET details = excluded.details";
        transaction.execute(sql, params![workshop.as_str(), person, details])?;
        transaction.commit()
    };
    write(conn).map_err(|error| people_error(&error))
}

pub(crate) fn forget(
    conn: &mut Connection,
    workshop: &WorkshopId,
    person: &str,
) -> Result<bool, PeopleError> {
    let write = |conn: &mut Connection| -> rusqlite::Result<bool> {
        overwrite_what_goes(conn)?;
        let transaction = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let sql = "DELETE FROM people WHERE workshop = ?1 AND person = ?2";
        let removed = transaction.execute(sql, [workshop.as_str(), person])?;
        transaction.commit()?;
        // The log still holds the pages as they were when the person was put. What
        // is in use by a reader stays there until the next time the log is emptied.
        conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
        Ok(removed > 0)
    };
    write(conn).map_err(|error| people_error(&error))
}

/// Has the database write zeros over what is removed.
///
/// # Source
///
/// <https://sqlite.org/pragma.html#pragma_secure_delete>.
fn overwrite_what_goes(conn: &Connection) -> rusqlite::Result<()> {
    conn.pragma_update_and_check(None, "secure_delete", true, |_| Ok(()))
}
