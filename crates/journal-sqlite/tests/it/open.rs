//! Opening: what is not opened, and what is said about it.

use std::fs;
use std::path::Path;
use std::time::Duration;

use journal::{AppendError, Head, Store, StoreError};
use journal_sqlite::{OpenOptions, SqliteStore};
use rusqlite::Connection;

use crate::helper::{append, creating, entry, fill, open_with, reading, verified, workshop};

/// Opens, which must fail, and returns what is said, the folder cut off.
#[track_caller]
fn refusal(folder: &Path, name: &str, options: &OpenOptions) -> String {
    let error = SqliteStore::open(folder.join(name), options).unwrap_err();
    error
        .to_string()
        .replace(&format!("{}/", folder.display()), "")
}

#[test]
fn a_path_without_a_journal_is_said_to_be_so() {
    let folder = tempfile::tempdir().unwrap();
    let it = folder.path();
    let open = OpenOptions::default();
    let missing = "a.journal: there is no journal";
    let missing = format!(
        "{} at a.journal; check the path, or create a journal there",
        &missing[11..]
    );
    assert_eq!(refusal(it, "a.journal", &open), missing);
    assert_eq!(refusal(it, "a.journal", &reading()), missing);
    let both = OpenOptions {
        read_only: true,
        ..creating()
    };
    assert_eq!(refusal(it, "a.journal", &both), missing);
    assert_eq!(
        refusal(it, "no/a.journal", &creating()),
        "the folder of no/a.journal does not exist; create it first"
    );
    fs::write(it.join("file"), "x").unwrap();
    assert_eq!(
        refusal(it, "file/a.journal", &creating()),
        "the folder of file/a.journal does not exist; create it first"
    );
    fs::create_dir(it.join("dir")).unwrap();
    assert_eq!(
        refusal(it, "dir", &creating()),
        "dir is not a file; name a file, in this folder or another"
    );
    assert_eq!(fs::read_dir(it).unwrap().count(), 2, "something was made");
}

#[test]
fn a_file_that_is_not_a_journal_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let it = folder.path();
    let text = "poured,left\n18.7 oz,0 oz\n".repeat(400);
    for (name, content) in [
        ("short", "x"),
        ("text", &text),
        ("zeros", &"\0".repeat(8192)),
    ] {
        fs::write(it.join(name), content).unwrap();
    }
    Connection::open(it.join("other"))
        .unwrap()
        .execute_batch("CREATE TABLE t (a)")
        .unwrap();
    let id = "PRAGMA application_id = 7";
    Connection::open(it.join("marked"))
        .unwrap()
        .execute_batch(id)
        .unwrap();
    for name in ["short", "text", "zeros", "other", "marked"] {
        let before = fs::read(it.join(name)).unwrap();
        for options in [OpenOptions::default(), creating(), reading()] {
            assert_eq!(
                refusal(it, name, &options),
                format!("{name} is not a journal; choose another file")
            );
        }
        assert!(
            fs::read(it.join(name)).unwrap() == before,
            "{name} was changed"
        );
    }
    fs::write(it.join("empty"), "").unwrap();
    for options in [OpenOptions::default(), reading()] {
        let not = "empty is not a journal; choose another file";
        assert_eq!(refusal(it, "empty", &options), not);
    }
    // What a program leaves that is stopped while it makes a journal.
    fill(&open_with(&it.join("empty"), &creating()), 1);
}

#[test]
fn a_file_of_a_newer_program_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fill(&open_with(&path, &creating()), 1);
    Connection::open(&path)
        .unwrap()
        .execute_batch("PRAGMA user_version = 3")
        .unwrap();
    let before = fs::read(&path).unwrap();
    for options in [OpenOptions::default(), creating(), reading()] {
        assert_eq!(
            refusal(folder.path(), "a.journal", &options),
            "a.journal was written by a newer program (layout 3, this one knows up to 2); \
             use the newer program"
        );
    }
    assert!(fs::read(&path).unwrap() == before, "the file was changed");
}

#[test]
fn a_damaged_file_is_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fill(&open_with(&path, &creating()), 200);
    let mut bytes = fs::read(&path).unwrap();
    // The first page after its header: the list of tables.
    bytes[100..4096].fill(0xff);
    fs::write(&path, bytes).unwrap();
    assert_eq!(
        refusal(folder.path(), "a.journal", &OpenOptions::default()),
        "a.journal is damaged; put back a backup, and keep the damaged file"
    );
}

#[test]
fn the_log_of_a_missing_journal_is_not_thrown_away() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.journal-wal"), "records").unwrap();
    assert_eq!(
        refusal(folder.path(), "a.journal", &creating()),
        "a.journal-wal belongs to a journal that is missing; put the journal back beside it, \
         or move a.journal-wal away before making a new one"
    );
    assert_eq!(
        fs::read(folder.path().join("a.journal-wal")).unwrap(),
        b"records"
    );
}

#[test]
fn a_name_that_sqlite_reads_otherwise_is_a_file() {
    let folder = tempfile::tempdir().unwrap();
    for name in [
        ":memory:",
        "file:a?mode=memory",
        "Räucherwachs 🕯.journal",
        "a'b;--",
    ] {
        let path = folder.path().join(name);
        let head = fill(&open_with(&path, &creating()), 1);
        assert!(path.is_file(), "{name}");
        assert_eq!(
            open_with(&path, &reading()).head(&workshop()).unwrap(),
            head
        );
    }
}

#[test]
fn a_journal_goes_on_where_it_was_closed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let head = fill(&open_with(&path, &creating()), 3);
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "the log stayed behind"
    );
    let store = open_with(&path, &OpenOptions::default());
    assert_eq!(store.head(&workshop()).unwrap(), head);
    fill(&store, 2);
    assert_eq!(verified(&store, Head::EMPTY).len(), 5);
}

#[test]
fn a_file_held_by_another_is_busy_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let brief = OpenOptions {
        busy_timeout: Duration::from_millis(50),
        ..creating()
    };
    let store = open_with(&path, &brief);
    let head = fill(&store, 1);

    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = append(&store, head, &[entry("2")]).unwrap_err();
    assert!(
        matches!(error, AppendError::Store(StoreError::Busy)),
        "{error:?}"
    );
    assert_eq!(
        std::error::Error::source(&error).unwrap().to_string(),
        "another program is busy with the journal; close it or try again in a moment"
    );
    // Reading and opening go on meanwhile.
    assert_eq!(verified(&store, Head::EMPTY).len(), 1);
    assert_eq!(open_with(&path, &brief).head(&workshop()).unwrap(), head);
    other.execute_batch("ROLLBACK").unwrap();
    append(&store, head, &[entry("2")]).unwrap();
    drop((store, other));

    let other = Connection::open(&path).unwrap();
    other
        .execute_batch("PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE")
        .unwrap();
    assert_eq!(
        refusal(folder.path(), "a.journal", &brief),
        "another program is busy with a.journal; close it or try again in a moment"
    );
    drop(other);
    assert_eq!(verified(&open_with(&path, &brief), Head::EMPTY).len(), 2);
}

#[test]
fn the_file_itself_refuses_to_change_or_remove_a_record() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fill(&open_with(&path, &creating()), 3);
    let conn = Connection::open(&path).unwrap();
    let check = |sql: &str, expected: &str| {
        assert_eq!(
            conn.execute(sql, []).unwrap_err().to_string(),
            expected,
            "{sql}"
        );
    };
    check(
        "UPDATE record SET who = 'Otto'",
        "a record of the journal is never changed",
    );
    check(
        "DELETE FROM record",
        "a record of the journal is never removed",
    );
    let insert = |position: i64, source: i64| {
        format!(
            "INSERT OR REPLACE INTO record \
             SELECT workshop, {position}, recorded, day, who, name, version, payload, \
             previous, hash FROM record WHERE position = {source}"
        )
    };
    let follows = "a record of the journal follows the last one";
    check(&insert(2, 2), follows);
    check(&insert(1, 1), follows);
    check(&insert(3, 3), follows);
    check(&insert(5, 3), follows);
    check(&insert(4, 3), follows);
    assert_eq!(
        verified(&open_with(&path, &reading()), Head::EMPTY).len(),
        3
    );
}
