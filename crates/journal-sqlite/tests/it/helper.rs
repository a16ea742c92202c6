//! Opening, writing and reading in one line, and this test program as another process.

use std::env;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;

use jiff::Timestamp;
use journal::{AppendError, Entry, Head, Record, Store, WorkshopId, read_verified};
use journal_sqlite::{OpenOptions, SqliteStore};

pub(crate) fn creating() -> OpenOptions {
    OpenOptions {
        create: true,
        ..OpenOptions::default()
    }
}

pub(crate) fn reading() -> OpenOptions {
    OpenOptions {
        read_only: true,
        ..OpenOptions::default()
    }
}

#[track_caller]
pub(crate) fn open_with(path: &Path, options: &OpenOptions) -> SqliteStore {
    SqliteStore::open(path, options).unwrap()
}

pub(crate) fn workshop() -> WorkshopId {
    WorkshopId::try_new("quillfen").unwrap()
}

pub(crate) fn entry(payload: &str) -> Entry {
    Entry::try_new(jiff::civil::date(2026, 6, 1), "Ines", "Noted", 1, payload).unwrap()
}

pub(crate) fn append(
    store: &SqliteStore,
    expected: Head,
    entries: &[Entry],
) -> Result<Head, AppendError> {
    store.append(&workshop(), expected, Timestamp::UNIX_EPOCH, entries)
}

/// Appends `count` records one after the other.
#[track_caller]
pub(crate) fn fill(store: &SqliteStore, count: usize) -> Head {
    (0..count).fold(store.head(&workshop()).unwrap(), |head, idx| {
        append(store, head, &[entry(&format!(r#"{{"n":{idx}}}"#))]).unwrap()
    })
}

/// Reads and verifies what comes after `head`.
#[track_caller]
pub(crate) fn verified(store: &SqliteStore, after: Head) -> Vec<Record> {
    let mut records = Vec::new();
    let visit = |record| {
        records.push(record);
        ControlFlow::Continue(())
    };
    read_verified(store, &workshop(), after, visit).unwrap();
    records
}

/// Tells a process that it is the other one, and which file to use.
const OTHER: &str = "JOURNAL_TEST_FILE";

/// Returns the file to use when this process is the other one of a test.
pub(crate) fn as_other_process() -> Option<std::path::PathBuf> {
    env::var_os(OTHER).map(Into::into)
}

/// Returns a command that runs one test of this program as the other process.
pub(crate) fn other_process(test: &str, file: &Path) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command
        .args([test, "--exact", "--nocapture", "--test-threads=1"])
        .env(OTHER, file);
    command
}

/// Returns a command that runs `script` and then one test, with mounts of its own.
///
/// `None` where the system does not let us, which is said: the test is left out.
pub(crate) fn with_own_mounts(script: &str, test: &str, file: &Path) -> Option<Command> {
    let allowed = Command::new("unshare").args(["-rm", "true"]).output();
    if !allowed.is_ok_and(|output| output.status.success()) {
        println!("left out: this system does not allow mounts of our own");
        return None;
    }
    let run = format!("{script} && exec \"$0\" {test} --exact --nocapture --test-threads=1");
    let mut command = Command::new("unshare");
    command
        .args(["-rm", "sh", "-ec", &run])
        .arg(env::current_exe().unwrap());
    command
        .env(OTHER, file)
        .env("FOLDER", file.parent().unwrap());
    Some(command)
}

/// Runs the command, which must run exactly one test and pass.
#[track_caller]
pub(crate) fn passes(mut command: Command) {
    let output = command.output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success() && said.contains("1 passed"),
        "{said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

/// Returns the database the test tampers with, its guards taken down.
#[track_caller]
pub(crate) fn unguarded(path: &Path) -> rusqlite::Connection {
    let conn = rusqlite::Connection::open(path).unwrap();
    let drop_all = "DROP TRIGGER record_is_never_changed; \
                    DROP TRIGGER record_is_never_removed; \
                    DROP TRIGGER record_follows_the_last;";
    conn.execute_batch(drop_all).unwrap();
    conn
}
