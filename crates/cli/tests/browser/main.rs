//! The whole job in a real browser, from the first screen to the last.
//!
//! It needs Chromium and its driver. Where they are not installed each test
//! says that it is left out and passes; with `POURWRIGHT_BROWSER=required` it
//! fails instead. Pictures of the pages are kept in `browser/` in the folder
//! that cargo gives to tests, `target/tmp`.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of a test stops it where something is missing"
)]

mod driver;
mod job;
mod label;
mod pages;
mod sell;
#[path = "../server/mod.rs"]
mod server;
mod ways;

use driver::{Browser, Installed};
use server::Server;

/// A workshop of its own, the program over it, and a browser before it.
struct Bench {
    browser: Browser,
    _server: Server,
    _folder: tempfile::TempDir,
}

/// Sets one up, with an empty journal for `serve` and a lived-in one for `demo`.
fn bench(what: &str) -> Option<Bench> {
    let installed = Installed::find()?;
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(what, &folder.path().join("workshop.sqlite"));
    Some(Bench {
        browser: Browser::start(&installed, &server.home),
        _server: server,
        _folder: folder,
    })
}
