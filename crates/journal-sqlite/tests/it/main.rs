//! What the store promises, on real files and in more than one process.

#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests are outside test functions"
)]

mod backup;
mod check;
mod crash;
mod full;
mod helper;
mod open;
mod people;
mod processes;
mod read_only;
mod specimens;

mod suite {
    use std::cell::Cell;

    use crate::helper::{creating, open_with};

    journal::suite_tests!({
        let folder = tempfile::tempdir().unwrap();
        let opened = Cell::new(0);
        move || {
            opened.set(opened.get() + 1);
            open_with(
                &folder.path().join(format!("{}.journal", opened.get())),
                &creating(),
            )
        }
    });
}
