//! How the file is laid out, and how it says so.

use rusqlite::{Connection, Result};

/// The tables and the triggers that guard them, as layout 1 has them.
const SCHEMA: &str = include_str!("schema.sql");

/// What layout 2 adds: who people are.
const PEOPLE: &str = include_str!("people.sql");

/// `POUR` in ASCII, in the header of the file (`PRAGMA application_id`).
pub(crate) const APPLICATION_ID: i32 = i32::from_be_bytes(*b"POUR");

/// The version of the layout (`PRAGMA user_version`).
pub(crate) const LAYOUT: i32 = 2;

/// The layout before people were kept.
const WITHOUT_PEOPLE: i32 = 1;

/// What a file says it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A journal as this program lays it out.
    Journal,
    /// A journal of an older program; it is read as it is, and brought up to date
    /// when it is opened for writing.
    Older,
    /// A journal of a newer program, with this layout.
    Newer(i32),
    /// A database without anything in it.
    Empty,
    /// A database of something else.
    Other,
}

/// Asks the file what it is, changing nothing.
pub(crate) fn identify(conn: &Connection) -> Result<Kind> {
    let number = |sql| conn.query_row(sql, [], |row| row.get::<_, i32>(0));
    let application_id = number("PRAGMA application_id")?;
    let layout = layout(conn)?;
    let n_objects = number("SELECT count(*) FROM sqlite_schema")?;
    Ok(match (application_id, layout, n_objects) {
        (APPLICATION_ID, LAYOUT, _) => Kind::Journal,
        (APPLICATION_ID, WITHOUT_PEOPLE, _) => Kind::Older,
        (APPLICATION_ID, newer, _) if newer > LAYOUT => Kind::Newer(newer),
        (0, 0, 0) => Kind::Empty,
        _ => Kind::Other,
    })
}

/// Lays out an empty database as a journal, inside the transaction of the caller.
pub(crate) fn lay_out(conn: &Connection) -> Result<()> {
    conn.execute_batch(SCHEMA)?;
    conn.execute_batch(PEOPLE)?;
    conn.pragma_update(None, "application_id", APPLICATION_ID)?;
    conn.pragma_update(None, "user_version", LAYOUT)
}

/// Brings a journal of an older program up to date, inside the transaction of the
/// caller. Records stay as they are.
pub(crate) fn bring_up_to_date(conn: &Connection) -> Result<()> {
    conn.execute_batch(PEOPLE)?;
    conn.pragma_update(None, "user_version", LAYOUT)
}

/// Returns whether the file has a place for people.
pub(crate) fn has_people(conn: &Connection) -> Result<bool> {
    Ok(layout(conn)? > WITHOUT_PEOPLE)
}

fn layout(conn: &Connection) -> Result<i32> {
    conn.query_row("PRAGMA user_version", [], |row| row.get(0))
}

/// Returns the tables and guards that are missing from the file or not as they should be.
pub(crate) fn altered(conn: &Connection) -> Result<Vec<String>> {
    let fresh = Connection::open_in_memory()?;
    fresh.execute_batch(SCHEMA)?;
    if has_people(conn)? {
        fresh.execute_batch(PEOPLE)?;
    }
    let objects = |conn: &Connection| -> Result<Vec<(String, String)>> {
        let sql = "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name";
        let mut statement = conn.prepare(sql)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        rows.collect()
    };
    let (expected, found) = (objects(&fresh)?, objects(conn)?);
    let missing = expected.iter().filter(|object| !found.contains(object));
    let added = found
        .iter()
        .filter(|(name, _)| !expected.iter().any(|(known, _)| known == name));
    Ok(missing.chain(added).map(|(name, _)| name.clone()).collect())
}
