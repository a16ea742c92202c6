//! What a check notices.

use std::fs;
use std::path::Path;

use journal::{ChainError, People, Position, StoreError};
use journal_sqlite::{CheckReport, OpenOptions};
use rusqlite::Connection;

use crate::helper::{creating, fill, open_with, reading, unguarded, workshop};

/// A journal of five records, changed behind the store's back, and what a check then says.
#[track_caller]
fn report_after(change: &str) -> CheckReport {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fill(&open_with(&path, &creating()), 5);
    unguarded(&path).execute_batch(change).unwrap();
    let report = open_with(&path, &reading()).check().unwrap();
    assert!(!report.is_sound());
    let guards = [
        "record_follows_the_last",
        "record_is_never_changed",
        "record_is_never_removed",
    ];
    assert_eq!(report.altered, guards);
    report
}

#[track_caller]
fn broken(change: &str) -> (Position, ChainError) {
    let mut report = report_after(change);
    assert_eq!(report.file, [""; 0]);
    let journal = report.journals.remove(0);
    (journal.sound_to.position, journal.broken.unwrap())
}

#[test]
fn a_sound_journal_is_reported_sound() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let store = open_with(&path, &creating());
    assert!(store.check().unwrap().is_sound());
    let head = fill(&store, 5);
    let report = store.check().unwrap();
    assert!(report.is_sound(), "{report:?}");
    let [journal] = &report.journals[..] else {
        panic!("one journal: {report:?}")
    };
    assert_eq!((journal.sound_to, journal.records), (head, Position(5)));
}

#[test]
fn a_changed_or_missing_record_is_found() {
    let hash = ChainError::Hash {
        position: Position(3),
    };
    assert_eq!(
        broken(r#"UPDATE record SET payload = '{"n":9}' WHERE position = 3"#),
        (Position(2), hash.clone())
    );
    assert_eq!(
        broken("UPDATE record SET day = '2026-06-02' WHERE position = 3").1,
        hash
    );
    assert_eq!(
        broken("UPDATE record SET recorded = 1 WHERE position = 3").1,
        hash
    );
    assert_eq!(
        broken("DELETE FROM record WHERE position = 3").1,
        ChainError::Position {
            expected: Position(3),
            found: Position(4)
        }
    );
    assert_eq!(
        broken("UPDATE record SET hash = randomblob(32) WHERE position = 3").1,
        ChainError::Hash {
            position: Position(3)
        }
    );
    let swap = "UPDATE record SET position = 9 WHERE position = 3; \
                UPDATE record SET position = 3 WHERE position = 4; \
                UPDATE record SET position = 4 WHERE position = 9;";
    assert_eq!(
        broken(swap).1,
        ChainError::Previous {
            position: Position(3)
        }
    );
}

#[test]
fn a_record_that_cannot_be_read_is_named() {
    for (change, expected) in [
        ("day = 'yesterday'", "`yesterday` is not a day"),
        ("recorded = 9223372036854775807", "recorded is out of range"),
        ("who = CAST(x'ff' AS TEXT)", "who is not text"),
    ] {
        let change = format!("UPDATE record SET {change} WHERE position = 3");
        let report = report_after(&change);
        let journal = &report.journals[0];
        assert_eq!(
            (journal.sound_to.position, journal.records),
            (Position(2), Position(5))
        );
        match &journal.unreadable {
            Some(StoreError::Unreadable {
                position: Position(3),
                reason,
                ..
            }) => {
                assert!(reason.starts_with(expected), "{reason}");
            }
            other => panic!("{change}: {other:?}"),
        }
    }
}

#[test]
fn a_table_that_is_not_ours_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fill(&open_with(&path, &creating()), 1);
    Connection::open(&path)
        .unwrap()
        .execute_batch("CREATE TABLE extra (a)")
        .unwrap();
    let report = open_with(&path, &OpenOptions::default()).check().unwrap();
    assert_eq!(report.altered, ["extra"]);
}

/// Overwrites a page of records, and returns whether the check says so.
fn is_noticed(path: &Path, page: usize) -> bool {
    let sound = fs::read(path).unwrap();
    let mut bytes = sound.clone();
    bytes[page * 4096 + 64..page * 4096 + 4000].fill(0x5a);
    fs::write(path, bytes).unwrap();
    // Either the file does not open, or checking fails, or the report says so.
    let opened = journal_sqlite::SqliteStore::open(path, &reading());
    let report = opened.map(|store| store.check());
    fs::write(path, sound).unwrap();
    !matches!(report, Ok(Ok(report)) if report.is_sound())
}

#[test]
fn a_bad_spot_on_the_disk_is_noticed_wherever_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let store = open_with(&path, &creating());
    fill(&store, 300);
    // A page of a table without rows holds nothing that could be lost.
    for n in 0..40 {
        let details = format!(r#"{{"name":"{}"}}"#, "x".repeat(50));
        store
            .put(&workshop(), &format!("buyer {n}"), &details)
            .unwrap();
    }
    drop(store);
    let n_pages = fs::read(&path).unwrap().len() / 4096;
    assert!(n_pages > 5, "{n_pages} pages");
    for page in 0..n_pages {
        assert!(is_noticed(&path, page), "page {page}");
    }
}
