//! `read`: files of other programs.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use app::reading_in::{self, layout};
use app::{App, SystemClock};
use journal::Store as _;
use journal_sqlite::{OpenOptions, SqliteStore};

use crate::run::on;
use crate::server::Server;

const FILE: &str = "Date;Number;Item;Paid\n\
    05/01/2026;1;Harbour Fig bar;7,00\n\
    25/01/2026;2;Harbour Fig bar;seven\n";

/// Says once what the columns of such files hold, as the page would.
fn keep(journal: &Path, name: &str) {
    let store = SqliteStore::open(journal, &OpenOptions::default()).unwrap();
    let id = store.workshops().unwrap().into_iter().next().unwrap();
    let app = App::open(Arc::new(store), Arc::new(SystemClock), id).unwrap();
    let file = reading_in::open("till.csv", FILE.as_bytes()).unwrap();
    let table = &file.tables[0];
    let form = app
        .look(|workshop| layout::propose(workshop, table, None))
        .unwrap();
    let form = form.with("name", name).with("channel", "1");
    layout::keep(&app, "test", table, &form).unwrap();
}

#[test]
fn a_file_is_read_in_once_and_each_row_has_its_fate() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    drop(Server::start("demo", &journal));
    let file = folder.path().join("till.csv");
    fs::write(&file, FILE).unwrap();
    let file = file.to_str().unwrap();
    let unknown = on(&journal, &["read", file]);
    assert_eq!(unknown.code, 2);
    assert!(
        unknown.err.contains("no layout has these headings"),
        "{}",
        unknown.err
    );
    keep(&journal, "till");
    let dry = on(&journal, &["read", file, "--dry-run"]);
    let expected = "row 2: will be added\n\
        row 3: cannot be read: Paid \"seven\": it is not an amount; write an amount such as 12.50\n\
        Would add 1 sale for 7.00 USD. Rows: 1 new, 1 cannot be read.\n";
    assert_eq!((dry.code, dry.out.as_str()), (0, expected), "{}", dry.err);
    let read = on(&journal, &["read", file, "--layout", "till"]);
    assert!(
        read.out
            .ends_with("Added 1 sale for 7.00 USD. Rows: 1 new, 1 cannot be read.\n"),
        "{}{}",
        read.out,
        read.err
    );
    let again = on(&journal, &["read", file]);
    assert!(
        again
            .out
            .ends_with("Added 0 sales. Rows: 1 already there, 1 cannot be read.\n"),
        "{}",
        again.out
    );
    assert_eq!(on(&journal, &["check"]).code, 0);
    let other = on(&journal, &["read", file, "--layout", "web"]);
    assert_eq!(other.code, 2);
    let none = on(&journal, &["read", "no-such-file.csv"]);
    assert_eq!(none.code, 1);
    keep(&journal, "card reader");
    let several = on(&journal, &["read", file]);
    assert_eq!(several.code, 2);
    assert!(
        several
            .err
            .contains("more than one layout has these headings; write card reader, till"),
        "{}",
        several.err
    );
}
