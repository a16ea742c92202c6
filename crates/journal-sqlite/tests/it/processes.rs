//! Two programs and one journal.

use std::path::Path;

use journal::{AppendError, Head, Store};

use crate::helper::{
    append, as_other_process, creating, entry, open_with, other_process, passes, verified, workshop,
};

/// How often each process appends.
const APPENDS: usize = 60;

/// Appends, starting over when told that another process came first; counts how often.
#[track_caller]
fn contend(path: &Path) -> usize {
    let store = open_with(path, &creating());
    let pair = [entry(&std::process::id().to_string()), entry("\"second\"")];
    let mut lost = 0;
    let mut head = store.head(&workshop()).unwrap();
    for _ in 0..APPENDS {
        head = loop {
            match append(&store, head, &pair) {
                Ok(next) => break next,
                Err(AppendError::Stale { expected, found }) => {
                    assert_eq!(expected, head);
                    assert!(found.position > head.position);
                    head = found;
                    lost += 1;
                }
                Err(error) => panic!("{error:?}"),
            }
        };
    }
    lost
}

#[test]
fn processes_that_append_at_once_lose_nothing() {
    if let Some(path) = as_other_process() {
        println!("told to start over {} times", contend(&path));
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let test = "processes::processes_that_append_at_once_lose_nothing";
    // None of them finds a file: making it is contended too.
    std::thread::scope(|scope| {
        for _ in 0..3 {
            scope.spawn(|| passes(other_process(test, &path)));
        }
    });
    let store = open_with(&path, &creating());
    let records = verified(&store, Head::EMPTY);
    assert_eq!(records.len(), 3 * APPENDS * 2);
    let mut writers: Vec<&str> = records.chunks(2).map(|pair| &*pair[0].payload).collect();
    assert!(
        records
            .chunks(2)
            .all(|pair| &*pair[1].payload == "\"second\""),
        "pairs are mixed"
    );
    writers.sort_unstable();
    assert!(
        writers
            .chunks(APPENDS)
            .all(|same| same.iter().all(|it| *it == same[0]))
    );
}

#[test]
fn an_append_behind_another_process_is_stale() {
    if let Some(path) = as_other_process() {
        append(&open_with(&path, &creating()), Head::EMPTY, &[entry("1")]).unwrap();
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let store = open_with(&path, &creating());
    assert_eq!(store.head(&workshop()).unwrap(), Head::EMPTY);
    passes(other_process(
        "processes::an_append_behind_another_process_is_stale",
        &path,
    ));
    match append(&store, Head::EMPTY, &[entry("2")]) {
        Err(AppendError::Stale {
            expected: Head::EMPTY,
            found,
        }) => {
            assert_eq!(store.head(&workshop()).unwrap(), found);
            append(&store, found, &[entry("2")]).unwrap();
        }
        other => panic!("should be stale, was {other:?}"),
    }
}
