//! A year in a file is the same year when the program opens it again.

use std::sync::Arc;

use app::{App, FixedClock};
use journal_sqlite::{OpenOptions, SqliteStore};
use workshop::books::{Books, Days};

#[path = "../../year/mod.rs"]
mod made;

#[test]
fn a_year_stands_as_it_was_after_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("year.sqlite");
    let year = made::make(made::Size::TENTH, made::SEED);
    made::write(&path, &year).unwrap();
    let facts = year.facts.len() as u64;
    let books = Books::of(&year.workshop).unwrap();
    for _ in 0..2 {
        let store = SqliteStore::open(&path, &OpenOptions::default()).unwrap();
        let clock = Arc::new(FixedClock(made::LAST));
        let app = App::open(Arc::new(store), clock, made::id()).unwrap();
        assert!(app.look(|workshop| *workshop == year.workshop).unwrap());
        assert_eq!(app.look(workshop::Workshop::facts).unwrap(), facts);
        let again = app.books().unwrap().unwrap();
        let whole = |books: &Books| books.own().period(Days::ALL);
        assert_eq!(whole(&again), whole(&books));
        assert_eq!(again.own().flows(), books.own().flows());
    }
    // A file with a journal in it is left alone.
    assert!(made::write(&path, &year).is_err());
}
