//! Journals that may only be read.

use std::ops::ControlFlow;
use std::path::Path;

use journal::{AppendError, Head, Position, RestoreError, Store};
use journal_sqlite::{OpenOptions, SqliteStore};

use crate::helper::{
    append, as_other_process, creating, entry, fill, open_with, passes, reading, verified,
    with_own_mounts, workshop,
};

#[test]
fn a_journal_opened_for_reading_refuses_to_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let head = fill(&open_with(&path, &creating()), 2);
    let store = open_with(&path, &reading());
    assert!(store.is_read_only());
    let error = append(&store, head, &[entry("1")]).unwrap_err();
    assert!(matches!(error, AppendError::ReadOnly), "{error:?}");
    assert_eq!(error.to_string(), "the journal is open for reading only");
    let error = store.restore(&workshop(), &mut || Ok(None)).unwrap_err();
    assert!(matches!(error, RestoreError::ReadOnly), "{error:?}");
    assert_eq!(verified(&store, Head::EMPTY).len(), 2);
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn a_reader_sees_what_another_store_appends() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let writer = open_with(&path, &creating());
    let reader = open_with(&path, &reading());
    for count in 1..=3_u64 {
        let head = fill(&writer, 1);
        assert_eq!(reader.head(&workshop()).unwrap(), head);
        let mut seen = 0;
        let count_one = &mut |_| {
            seen += 1;
            ControlFlow::Continue(())
        };
        reader
            .read(&workshop(), Position::START, count_one)
            .unwrap();
        assert_eq!(seen, count);
    }
}

/// Runs where the folder of the journal cannot be written, not even by root.
#[track_caller]
fn on_a_read_only_disk(path: &Path) {
    for options in [OpenOptions::default(), creating()] {
        let error = SqliteStore::open(path, &options).unwrap_err().to_string();
        let end = "a.journal may only be read; allow writing to the file and its folder, \
                   or open the journal for reading only";
        assert!(error.ends_with(end), "{error}");
    }
    let new = SqliteStore::open(path.with_file_name("b.journal"), &creating()).unwrap_err();
    assert!(
        new.to_string()
            .contains("b.journal may not be opened; check who may"),
        "{new}"
    );
    let store = open_with(path, &reading());
    assert_eq!(verified(&store, Head::EMPTY).len(), 2);
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn a_journal_on_a_read_only_disk_can_be_read_and_says_so_when_written() {
    if let Some(path) = as_other_process() {
        return on_a_read_only_disk(&path);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("50 % wax? #1, a.journal");
    fill(&open_with(&path, &creating()), 2);
    let mount = r#"mount --bind "$FOLDER" "$FOLDER" && mount -o remount,bind,ro "$FOLDER""#;
    let test = "read_only::a_journal_on_a_read_only_disk_can_be_read_and_says_so_when_written";
    if let Some(command) = with_own_mounts(mount, test, &path) {
        passes(command);
    }
}
