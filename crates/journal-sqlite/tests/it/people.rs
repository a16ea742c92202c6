//! Who people are, in files: kept, copied, brought up to date, and gone when forgotten.

use std::fs;
use std::path::Path;

use journal::{People, PeopleError, Store};
use journal_sqlite::OpenOptions;

use crate::helper::{creating, fill, open_with, reading, workshop};
use crate::specimens::LAYOUT_1;

/// Not a word that a database has in it by itself.
const NAME: &str = "Ottoline Fernsby-Quarle";

fn details(name: &str) -> String {
    format!(r#"{{"name":"{name}"}}"#)
}

/// Whether any file of the folder has `words` in it.
fn is_anywhere(folder: &Path, words: &str) -> bool {
    fs::read_dir(folder).unwrap().any(|file| {
        let bytes = fs::read(file.unwrap().path()).unwrap();
        bytes
            .windows(words.len())
            .any(|window| window == words.as_bytes())
    })
}

#[test]
fn who_is_forgotten_is_in_no_file_any_more() {
    let folder = tempfile::tempdir().unwrap();
    let store = open_with(&folder.path().join("a.journal"), &creating());
    fill(&store, 5);
    // Enough people for more than one page, and one written down twice.
    for n in 0..200 {
        let person = format!("buyer {n}");
        store
            .put(&workshop(), &person, &details("Someone"))
            .unwrap();
    }
    store.put(&workshop(), "buyer 7", &details(NAME)).unwrap();
    let moved = format!(r#"{{"name":"{NAME}","address":"{}"}}"#, "x".repeat(9_000));
    store.put(&workshop(), "buyer 7", &moved).unwrap();
    assert!(is_anywhere(folder.path(), NAME));
    assert!(store.forget(&workshop(), "buyer 7").unwrap());
    assert!(!is_anywhere(folder.path(), NAME), "while the file is open");
    fill(&store, 5);
    assert!(store.check().unwrap().is_sound());
    drop(store);
    assert!(!is_anywhere(folder.path(), NAME), "after it was closed");
}

#[test]
fn people_go_with_a_backup() {
    let folder = tempfile::tempdir().unwrap();
    let store = open_with(&folder.path().join("a.journal"), &creating());
    let head = fill(&store, 2);
    store.put(&workshop(), "buyer 1", &details(NAME)).unwrap();
    let copy = folder.path().join("b.journal");
    store.backup_to(&copy).unwrap();
    let copied = open_with(&copy, &OpenOptions::default());
    assert!(copied.check().unwrap().is_sound());
    assert_eq!(copied.head(&workshop()).unwrap(), head);
    let known = copied.people(&workshop()).unwrap();
    assert_eq!(known, [("buyer 1".to_owned(), details(NAME))]);
}

#[test]
fn a_file_without_a_place_for_people_gets_one_when_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    fs::write(&path, LAYOUT_1).unwrap();
    let as_it_was = {
        let store = open_with(&path, &reading());
        assert_eq!(store.people(&workshop()).unwrap(), []);
        assert_eq!(store.person(&workshop(), "buyer 1").unwrap(), None);
        let refused = store.put(&workshop(), "buyer 1", "{}");
        assert!(matches!(refused, Err(PeopleError::ReadOnly)), "{refused:?}");
        let refused = store.forget(&workshop(), "buyer 1");
        assert!(matches!(refused, Err(PeopleError::ReadOnly)), "{refused:?}");
        store.head(&workshop()).unwrap()
    };
    for n in 1..=2 {
        let store = open_with(&path, &OpenOptions::default());
        assert!(store.check().unwrap().is_sound());
        assert_eq!(store.head(&workshop()).unwrap(), as_it_was);
        let person = format!("buyer {n}");
        store.put(&workshop(), &person, &details(NAME)).unwrap();
        assert_eq!(store.people(&workshop()).unwrap().len(), n);
    }
    let store = open_with(&path, &reading());
    assert!(store.check().unwrap().is_sound());
    assert_eq!(store.people(&workshop()).unwrap().len(), 2);
}

#[test]
fn two_stores_on_one_file_know_the_same_people() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let one = open_with(&path, &creating());
    let other = open_with(&path, &OpenOptions::default());
    one.put(&workshop(), "buyer 1", &details(NAME)).unwrap();
    let known = other.person(&workshop(), "buyer 1").unwrap();
    assert_eq!(known, Some(details(NAME)));
    assert!(other.forget(&workshop(), "buyer 1").unwrap());
    assert_eq!(one.people(&workshop()).unwrap(), []);
    assert!(!is_anywhere(folder.path(), NAME));
}
