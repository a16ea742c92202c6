//! Opening a file, and saying clearly why it cannot be opened.

use std::error::Error;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::fault::{Fault, cause, classify};
use crate::schema::{self, Kind};

/// The oldest SQLite that is trusted with a journal.
///
/// Before 3.51.3 a write and a checkpoint in two connections at the same moment
/// could leave the write-ahead log wrong and damage the file.
///
/// # Source
///
/// <https://sqlite.org/wal.html>, "The WAL-Reset Bug".
const OLDEST_SQLITE: i32 = 3_051_003;

/// What every SQLite file starts with.
///
/// # Source
///
/// <https://sqlite.org/fileformat2.html>, "Magic Header String".
const DATABASE_START: &[u8; 16] = b"SQLite format 3\0";

/// How a journal is opened.
#[derive(Debug, Clone)]
pub struct OpenOptions {
    /// Make a new journal when there is none.
    pub create: bool,
    /// Only read. Appending is then refused, and the file is left as it is.
    pub read_only: bool,
    /// How long to wait for another program that is writing.
    pub busy_timeout: Duration,
    /// The most the file may grow to, in bytes, rounded down to whole pages;
    /// as far as the disk has room when not given.
    pub max_bytes: Option<u64>,
}

impl Default for OpenOptions {
    /// An existing journal, for reading and writing, waiting 5 seconds for others.
    fn default() -> Self {
        Self {
            create: false,
            read_only: false,
            busy_timeout: Duration::from_secs(5),
            max_bytes: None,
        }
    }
}

/// Why a journal cannot be opened. The file was left as it is.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// There is no file.
    #[error("there is no journal at {path}; check the path, or create a journal there")]
    Missing {
        /// Where.
        path: PathBuf,
    },
    /// The folder it should be in is missing, or is a file.
    #[error("the folder of {path} does not exist; create it first")]
    NoFolder {
        /// Where.
        path: PathBuf,
    },
    /// The path names a folder or a device.
    #[error("{path} is not a file; name a file, in this folder or another")]
    NotAFile {
        /// Where.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{path} is not a journal; choose another file")]
    NotAJournal {
        /// Where.
        path: PathBuf,
    },
    /// A newer program laid out the file.
    #[error(
        "{path} was written by a newer program (layout {found}, this one knows up to {known}); \
         use the newer program"
    )]
    Newer {
        /// Where.
        path: PathBuf,
        /// The layout of the file.
        found: i32,
        /// The newest layout this program knows.
        known: i32,
    },
    /// The file is gone, but what belongs to it is still there.
    #[error(
        "{log} belongs to a journal that is missing; put the journal back beside it, \
         or move {log} away before making a new one"
    )]
    Leftover {
        /// The write-ahead log.
        log: PathBuf,
    },
    /// The file may not be written.
    #[error(
        "{path} may only be read; allow writing to the file and its folder, \
         or open the journal for reading only"
    )]
    ReadOnly {
        /// Where.
        path: PathBuf,
    },
    /// The file may not be opened.
    #[error("{path} may not be opened; check who may read and write the file and its folder")]
    Denied {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: Box<dyn Error + Send + Sync>,
    },
    /// Another program holds the file.
    #[error("another program is busy with {path}; close it or try again in a moment")]
    Busy {
        /// Where.
        path: PathBuf,
    },
    /// There is no room for a new journal.
    #[error("there is no room for a journal at {path}; free some space and try again")]
    Full {
        /// Where.
        path: PathBuf,
    },
    /// The file is damaged.
    #[error("{path} is damaged; put back a backup, and keep the damaged file")]
    Damaged {
        /// Where.
        path: PathBuf,
        /// What was found.
        source: Box<dyn Error + Send + Sync>,
    },
    /// The program was built with an SQLite that can damage journals.
    #[error("this program was built with SQLite {found}, which can damage a journal; update it")]
    OldSqlite {
        /// Its version.
        found: &'static str,
    },
    /// Something else failed.
    #[error("{path} cannot be opened")]
    Other {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: Box<dyn Error + Send + Sync>,
    },
}

/// Opens the file, making a journal of it where that is asked for, and returns
/// its full path and the first connection.
pub(crate) fn open(path: &Path, options: &OpenOptions) -> Result<(PathBuf, Connection), OpenError> {
    if !is_trusted(rusqlite::version_number()) {
        return Err(OpenError::OldSqlite {
            found: rusqlite::version(),
        });
    }
    // A full path also keeps names like `:memory:` from meaning something else.
    let path = std::path::absolute(path).map_err(|error| OpenError::Other {
        path: path.to_owned(),
        source: error.into(),
    })?;
    let may_create = options.create && !options.read_only;
    let is_new = look(&path, may_create)?;
    let said = |error: rusqlite::Error| open_error(&path, &error);

    let conn = connect(&path, options, is_new).map_err(said)?;
    let kind = match schema::identify(&conn) {
        Ok(kind) => kind,
        // On a read-only disk the files beside a journal cannot be made.
        Err(error) if !options.read_only && conn.is_readonly("main") == Ok(true) => {
            return match classify(&error) {
                Fault::Denied | Fault::ReadOnly => Err(OpenError::ReadOnly { path }),
                _ => Err(said(error)),
            };
        }
        Err(error) => return Err(said(error)),
    };
    match kind {
        Kind::Journal | Kind::Older => {}
        Kind::Newer(found) => {
            return Err(OpenError::Newer {
                path,
                found,
                known: schema::LAYOUT,
            });
        }
        Kind::Empty if may_create => {}
        Kind::Empty | Kind::Other => return Err(OpenError::NotAJournal { path }),
    }
    if options.read_only {
        return Ok((path, conn));
    }
    if conn.is_readonly("main").map_err(said)? {
        return Err(OpenError::ReadOnly { path });
    }
    let conn = prepare(conn, options).map_err(said)?;
    if schema::identify(&conn).map_err(said)? != Kind::Journal {
        return Err(OpenError::NotAJournal { path });
    }
    if is_new {
        sync_folder(&path).map_err(|error| OpenError::Other {
            path: path.clone(),
            source: error.into(),
        })?;
    }
    Ok((path, conn))
}

fn is_trusted(version: i32) -> bool {
    version >= OLDEST_SQLITE
}

/// Looks at the path before the database does, and returns whether a file is to be made.
fn look(path: &Path, may_create: bool) -> Result<bool, OpenError> {
    let path = || path.to_owned();
    match fs::metadata(path()) {
        Ok(found) if !found.is_file() => Err(OpenError::NotAFile { path: path() }),
        Ok(found) if found.len() == 0 && may_create => no_leftover(&path()).map(|()| true),
        Ok(_) => is_database(&path()).map(|()| false),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let has_folder = path().parent().is_some_and(Path::is_dir);
            match (may_create, has_folder) {
                (true, true) => no_leftover(&path()).map(|()| true),
                (true, false) => Err(OpenError::NoFolder { path: path() }),
                (false, _) => Err(OpenError::Missing { path: path() }),
            }
        }
        Err(error) => Err(file_error(path(), error)),
    }
}

/// Looks at the first bytes: a file shorter than a page is taken by SQLite for an
/// empty database, and would be written over.
fn is_database(path: &Path) -> Result<(), OpenError> {
    let mut start = Vec::new();
    let read = File::open(path).and_then(|file| {
        file.take(DATABASE_START.len() as u64)
            .read_to_end(&mut start)
    });
    read.map_err(|error| file_error(path.to_owned(), error))?;
    if start != DATABASE_START {
        return Err(OpenError::NotAJournal {
            path: path.to_owned(),
        });
    }
    Ok(())
}

fn file_error(path: PathBuf, error: io::Error) -> OpenError {
    match error.kind() {
        io::ErrorKind::NotADirectory => OpenError::NoFolder { path },
        io::ErrorKind::PermissionDenied => OpenError::Denied {
            path,
            source: error.into(),
        },
        _ => OpenError::Other {
            path,
            source: error.into(),
        },
    }
}

/// A new database would throw away the log of the one that was there before.
fn no_leftover(path: &Path) -> Result<(), OpenError> {
    let mut log = path.to_owned().into_os_string();
    log.push("-wal");
    let log = PathBuf::from(log);
    match fs::metadata(&log) {
        Ok(found) if found.len() > 0 => Err(OpenError::Leftover { log }),
        _ => Ok(()),
    }
}

/// Opens a connection as everyone here uses it.
pub(crate) fn connect(
    path: &Path,
    options: &OpenOptions,
    create: bool,
) -> rusqlite::Result<Connection> {
    let mut flags = OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_EXRESCODE;
    flags |= if options.read_only {
        OpenFlags::SQLITE_OPEN_READ_ONLY
    } else {
        OpenFlags::SQLITE_OPEN_READ_WRITE
    };
    flags.set(OpenFlags::SQLITE_OPEN_CREATE, create);
    let conn = Connection::open_with_flags(path, flags)?;
    guard(&conn, options)?;
    if options.read_only {
        // A journal is read through files beside it. Where they cannot be made, as on
        // a read-only disk, it can still be read alone, if it was closed properly.
        let probe = conn.query_row("PRAGMA schema_version", [], |_| Ok(()));
        if let Err(error) = probe
            && matches!(classify(&error), Fault::Denied | Fault::ReadOnly)
            && no_leftover(path).is_ok()
            && let Some(uri) = immutable_uri(path)
        {
            let alone = Connection::open_with_flags(uri, flags | OpenFlags::SQLITE_OPEN_URI)?;
            guard(&alone, options)?;
            return Ok(alone);
        }
    }
    Ok(conn)
}

fn guard(conn: &Connection, options: &OpenOptions) -> rusqlite::Result<()> {
    conn.busy_timeout(options.busy_timeout)?;
    // A file from elsewhere is not trusted to run anything through its schema.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    conn.pragma_update(None, "cell_size_check", true)
}

/// Returns the path as an address that promises that nobody writes the file.
///
/// # Source
///
/// <https://sqlite.org/uri.html>, sections 3.1 and 3.2.
fn immutable_uri(path: &Path) -> Option<String> {
    let path = path.to_str()?;
    let path = if cfg!(windows) {
        path.replace('\\', "/")
    } else {
        path.to_owned()
    };
    let mut uri = if path.starts_with('/') {
        "file://"
    } else {
        "file:///"
    }
    .to_owned();
    for byte in path.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b':' | b'.' | b'-' | b'_' => {
                uri.push(char::from(byte));
            }
            _ => {
                let digit = |half: u8| char::from_digit(u32::from(half), 16);
                uri.push('%');
                uri.extend([digit(byte >> 4), digit(byte & 15)].into_iter().flatten());
            }
        }
    }
    Some(uri + "?immutable=1")
}

/// Makes a connection ready to write durably, laying out an empty file as a journal.
pub(crate) fn prepare(mut conn: Connection, options: &OpenOptions) -> rusqlite::Result<Connection> {
    let mode = |conn: &Connection| {
        conn.query_row("PRAGMA journal_mode", [], |row| row.get::<_, String>(0))
    };
    if mode(&conn)? != "wal" {
        conn.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
    }
    conn.pragma_update(None, "synchronous", "FULL")?;
    // These two act on macOS only, where a plain fsync leaves data in the drive.
    conn.pragma_update(None, "fullfsync", true)?;
    conn.pragma_update(None, "checkpoint_fullfsync", true)?;
    // A log that grew during an import is cut back to this many bytes.
    conn.pragma_update_and_check(None, "journal_size_limit", 64 * 1024 * 1024, |_| Ok(()))?;
    if let Some(max_bytes) = options.max_bytes {
        let page_size = conn.query_row("PRAGMA page_size", [], |row| row.get::<_, u32>(0))?;
        let pages = (max_bytes / u64::from(page_size)).clamp(1, u64::from(u32::MAX - 1));
        let pages = i64::try_from(pages).unwrap_or(i64::MAX);
        conn.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(()))?;
    }
    if matches!(schema::identify(&conn)?, Kind::Empty | Kind::Older) {
        let transaction = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Looked at again inside the transaction: another program may have been first.
        match schema::identify(&transaction)? {
            Kind::Empty => schema::lay_out(&transaction)?,
            Kind::Older => schema::bring_up_to_date(&transaction)?,
            Kind::Journal | Kind::Newer(_) | Kind::Other => {}
        }
        transaction.commit()?;
    }
    Ok(conn)
}

/// Makes a new name in a folder durable.
pub(crate) fn sync_folder(path: &Path) -> io::Result<()> {
    // Elsewhere a folder cannot be opened as a file, and needs no such call.
    if cfg!(unix)
        && let Some(folder) = path.parent()
    {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

fn open_error(path: &Path, error: &rusqlite::Error) -> OpenError {
    let path = path.to_owned();
    match classify(error) {
        Fault::Busy => OpenError::Busy { path },
        Fault::ReadOnly => OpenError::ReadOnly { path },
        Fault::Full => OpenError::Full { path },
        Fault::NotADatabase => OpenError::NotAJournal { path },
        Fault::Damaged => OpenError::Damaged {
            path,
            source: cause(error),
        },
        Fault::Denied => OpenError::Denied {
            path,
            source: cause(error),
        },
        Fault::Device | Fault::Other => OpenError::Other {
            path,
            source: cause(error),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_sqlite_that_can_damage_journals_is_not_trusted() {
        assert!(!is_trusted(3_051_002));
        assert!(is_trusted(3_051_003));
        assert!(is_trusted(rusqlite::version_number()));
    }
}
