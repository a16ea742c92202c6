//! No room left.

use std::fs;
use std::path::Path;
use std::thread;

use jiff::Timestamp;
use journal::{AppendError, Head, RestoreError, Store, WorkshopId};
use journal_sqlite::{BackupError, OpenError, OpenOptions, SqliteStore};

use crate::helper::{
    append, as_other_process, creating, entry, open_with, passes, verified, with_own_mounts,
    workshop,
};

/// Appends until there is no room, and checks that what was acknowledged is there.
#[track_caller]
fn fill_up(store: &SqliteStore) -> Head {
    let payload = format!("\"{}\"", "wax ".repeat(2_500));
    let mut head = store.head(&workshop()).unwrap();
    let start = head;
    let error = loop {
        match append(store, head, &[entry(&payload), entry("1")]) {
            Ok(next) => head = next,
            Err(error) => break error,
        }
    };
    assert!(matches!(error, AppendError::Full), "{error:?}");
    assert_eq!(
        error.to_string(),
        "there is no room left for the journal; free some space and try again"
    );
    assert!(head.position > start.position, "nothing fitted");
    let records = verified(store, Head::EMPTY);
    assert_eq!(records.last().unwrap().head(), head);
    head
}

#[test]
fn a_file_at_its_limit_takes_no_more_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let limited = OpenOptions {
        max_bytes: Some(400_000),
        ..creating()
    };
    let head = {
        let store = open_with(&path, &limited);
        let head = fill_up(&store);
        let head = append(&store, head, &[]).unwrap();
        assert!(store.check().unwrap().is_sound());
        head
    };
    assert!(fs::metadata(&path).unwrap().len() <= 400_000);
    let store = open_with(&path, &OpenOptions::default());
    append(&store, head, &[entry("2")]).unwrap();
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn an_append_that_does_not_fit_spoils_none_that_waits_beside_it() {
    const EACH: usize = 20;
    let folder = tempfile::tempdir().unwrap();
    let limited = OpenOptions {
        max_bytes: Some(400_000),
        ..creating()
    };
    let store = open_with(&folder.path().join("a.journal"), &limited);
    let large = entry(&format!("\"{}\"", "wax ".repeat(150_000)));
    let own = |thread| WorkshopId::try_new(&format!("workshop-{thread}")).unwrap();
    thread::scope(|scope| {
        for thread in 0..4 {
            let (store, large) = (&store, &large);
            scope.spawn(move || {
                let mut head = Head::EMPTY;
                for _ in 0..EACH {
                    let one = [entry("1")];
                    head = store
                        .append(&own(thread), head, Timestamp::UNIX_EPOCH, &one)
                        .unwrap();
                    let two = [entry("2"), large.clone()];
                    let error = store
                        .append(&own(thread), head, Timestamp::UNIX_EPOCH, &two)
                        .unwrap_err();
                    assert!(matches!(error, AppendError::Full), "{error:?}");
                }
            });
        }
    });
    for thread in 0..4 {
        assert_eq!(store.head(&own(thread)).unwrap().position.0, EACH as u64);
    }
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn a_restore_that_does_not_fit_keeps_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let here = open_with(&folder.path().join("a.journal"), &creating());
    let payload = format!("\"{}\"", "wax ".repeat(2_500));
    append(&here, Head::EMPTY, &vec![entry(&payload); 60]).unwrap();
    let mut records = verified(&here, Head::EMPTY).into_iter();

    let limited = OpenOptions {
        max_bytes: Some(400_000),
        ..creating()
    };
    let there = open_with(&folder.path().join("b.journal"), &limited);
    let error = there
        .restore(&workshop(), &mut || Ok(records.next()))
        .unwrap_err();
    assert!(matches!(error, RestoreError::Full), "{error:?}");
    assert_eq!(there.head(&workshop()).unwrap(), Head::EMPTY);
    append(&there, Head::EMPTY, &[entry("1")]).unwrap();
}

/// Runs on a disk of its own with room for 1 MiB, where `ballast` takes up some.
#[track_caller]
fn on_a_small_disk(path: &Path) {
    let ballast = path.with_file_name("ballast");
    fs::write(&ballast, vec![0; 300_000]).unwrap();
    let store = open_with(path, &creating());
    let head = fill_up(&store);
    let error = store
        .backup_to(path.with_file_name("b.journal"))
        .unwrap_err();
    assert!(matches!(error, BackupError::Full { .. }), "{error:?}");
    let error = SqliteStore::open(path.with_file_name("c.journal"), &creating()).unwrap_err();
    assert!(matches!(error, OpenError::Full { .. }), "{error:?}");

    // With room again the same store goes on.
    fs::remove_file(&ballast).unwrap();
    let head = append(&store, head, &[entry("2")]).unwrap();
    assert_eq!(verified(&store, Head::EMPTY).last().unwrap().head(), head);
    drop(store);
    let store = open_with(path, &OpenOptions::default());
    assert!(store.check().unwrap().is_sound());
    assert_eq!(store.head(&workshop()).unwrap(), head);
}

#[test]
fn a_full_disk_takes_no_more_and_loses_nothing() {
    if let Some(path) = as_other_process() {
        return on_a_small_disk(&path);
    }
    let folder = tempfile::tempdir().unwrap();
    let mount = r#"mount -t tmpfs -o size=1m none "$FOLDER""#;
    let test = "full::a_full_disk_takes_no_more_and_loses_nothing";
    if let Some(command) = with_own_mounts(mount, test, &folder.path().join("a.journal")) {
        passes(command);
    }
}
