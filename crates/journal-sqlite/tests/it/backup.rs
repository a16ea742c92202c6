//! Copies taken while the journal is in use.

use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use journal::{Head, Store};
use journal_sqlite::{BackupError, OpenOptions};

use crate::helper::{creating, fill, open_with, reading, verified, workshop};

#[test]
fn a_backup_is_a_journal_that_can_be_written_on() {
    let folder = tempfile::tempdir().unwrap();
    let store = open_with(&folder.path().join("a.journal"), &creating());
    let head = fill(&store, 20);
    let copy = folder.path().join("b.journal");
    let bytes = store.backup_to(&copy).unwrap();
    assert_eq!(bytes, fs::metadata(&copy).unwrap().len());
    fill(&store, 1);

    assert_eq!(
        open_with(&copy, &reading()).head(&workshop()).unwrap(),
        head
    );
    let copied = open_with(&copy, &OpenOptions::default());
    assert!(copied.check().unwrap().is_sound());
    assert_eq!(copied.head(&workshop()).unwrap(), head);
    fill(&copied, 3);
    assert_eq!(verified(&copied, Head::EMPTY).len(), 23);
    drop((store, copied));
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        2,
        "something was left behind"
    );
}

#[test]
fn a_journal_open_for_reading_only_can_be_copied() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let head = fill(&open_with(&path, &creating()), 2);
    open_with(&path, &reading())
        .backup_to(folder.path().join("b.journal"))
        .unwrap();
    let copied = open_with(&folder.path().join("b.journal"), &reading());
    assert_eq!(copied.head(&workshop()).unwrap(), head);
}

#[test]
fn a_backup_never_replaces_anything() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let store = open_with(&path, &creating());
    fill(&store, 2);
    fs::write(folder.path().join("b"), "mine").unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", folder.path().join("c")).unwrap();
    fs::create_dir(folder.path().join("d")).unwrap();
    for name in ["a.journal", "b", "c", "d"] {
        if name == "c" && cfg!(not(unix)) {
            continue;
        }
        let error = store.backup_to(folder.path().join(name)).unwrap_err();
        assert!(
            matches!(error, BackupError::Exists { .. }),
            "{name}: {error:?}"
        );
    }
    assert_eq!(fs::read(folder.path().join("b")).unwrap(), b"mine");
    let error = store.backup_to(folder.path().join("no/b")).unwrap_err();
    assert!(matches!(error, BackupError::NoFolder { .. }), "{error:?}");
    assert_eq!(verified(&store, Head::EMPTY).len(), 2);
}

#[test]
fn copies_taken_while_others_write_are_whole() {
    let folder = tempfile::tempdir().unwrap();
    let store = open_with(&folder.path().join("a.journal"), &creating());
    fill(&store, 50);
    let done = AtomicBool::new(false);
    let copied = thread::scope(|scope| {
        let writer = scope.spawn(|| {
            while !done.load(Ordering::SeqCst) {
                fill(&store, 1);
            }
        });
        let copied: Vec<usize> = (0..5)
            .map(|turn| {
                let copy = folder.path().join(format!("{turn}.journal"));
                store.backup_to(&copy).unwrap();
                verified(&open_with(&copy, &reading()), Head::EMPTY).len()
            })
            .collect();
        done.store(true, Ordering::SeqCst);
        writer.join().unwrap();
        copied
    });
    assert!(copied.is_sorted() && copied[0] >= 50, "{copied:?}");
    assert!(
        copied[4] > copied[0],
        "nothing was written meanwhile: {copied:?}"
    );
}
