//! Durable appends beside bare SQLite doing the same, and reading with verification.
//!
//! `cargo bench -p journal-sqlite`. Both sides write to the same disk, turn by
//! turn, so that what else the disk is doing falls on both.

#![expect(clippy::unwrap_used, reason = "a bench stops at the first failure")]

use std::fs;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use journal::{Chain, Entry, Head, Position, Record, Store, WorkshopId, read_verified};
use journal_sqlite::{OpenOptions, SqliteStore};
use rusqlite::{Connection, params};

/// Turns of each side, and appends a turn.
const TURNS: usize = 21;
const APPENDS: usize = 200;

/// Records that are read.
const RECORDS: usize = 200_000;

fn main() {
    // On the disk of the target directory: the temporary directory may be memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    durable_appends(folder.path());
    appends_from_many_threads(folder.path());
    read_and_verify(folder.path());
}

fn creating() -> OpenOptions {
    OpenOptions {
        create: true,
        ..OpenOptions::default()
    }
}

fn workshop() -> WorkshopId {
    WorkshopId::try_new("quillfen").unwrap()
}

/// A fact as long as most: about 200 bytes of JSON.
fn entry(idx: usize) -> Entry {
    let payload = format!(
        r#"{{"pour":"pour-{idx:06}","poured":"18.7 oz","filled":11,"part":"0.6 oz","left":"0 oz","unit_weights":["1.5 oz","1.6 oz","1.5 oz"],"note":"Harbour Fig, a little cool when it was stirred in"}}"#
    );
    Entry::try_new(jiff::civil::date(2026, 6, 1), "Ines", "Poured", 1, &payload).unwrap()
}

/// Bare SQLite: the same statements with the same settings, nothing else.
fn bare(path: &Path, schema: &str) -> Connection {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch(&format!(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; \
         PRAGMA checkpoint_fullfsync = ON; PRAGMA cell_size_check = ON; {schema}"
    ))
    .unwrap();
    conn
}

fn insert(conn: &Connection, record: &Record) {
    conn.prepare_cached("INSERT INTO record VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")
        .unwrap()
        .execute(params![
            record.workshop.as_str(),
            i64::try_from(record.position.0).unwrap(),
            record.recorded.as_microsecond(),
            record.day.to_string(),
            record.who,
            record.name,
            record.version,
            record.payload,
            record
                .previous
                .as_ref()
                .map(|hash| hash.as_bytes().as_slice()),
            record.hash.as_bytes().as_slice(),
        ])
        .unwrap();
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

fn rate(count: usize, time: Duration) -> f64 {
    count as f64 / time.as_secs_f64()
}

fn durable_appends(folder: &Path) {
    let store = SqliteStore::open(folder.join("store"), &creating()).unwrap();
    // Once with the journal's own table and guards, once with the plainest table that
    // could hold the same: what the guards cost shows between the two.
    let guarded = bare(&folder.join("guarded"), include_str!("../src/schema.sql"));
    let plain = bare(
        &folder.join("plain"),
        "CREATE TABLE record (workshop TEXT, position INTEGER, recorded INTEGER, day TEXT, \
         who TEXT, name TEXT, version INTEGER, payload TEXT, previous BLOB, hash BLOB, \
         PRIMARY KEY (workshop, position)) STRICT, WITHOUT ROWID",
    );
    let mut chain = Chain::new(workshop(), Head::EMPTY);
    let mut head = Head::EMPTY;
    let (mut by_store, mut by_guarded, mut by_plain) = (Vec::new(), Vec::new(), Vec::new());
    for turn in 0..TURNS {
        let entries: Vec<_> = (0..APPENDS)
            .map(|idx| entry(turn * APPENDS + idx))
            .collect();
        let records: Vec<_> = entries
            .iter()
            .map(|entry| chain.seal(Timestamp::UNIX_EPOCH, entry))
            .collect();

        let begun = Instant::now();
        for entry in &entries {
            let one = std::slice::from_ref(entry);
            head = store
                .append(&workshop(), head, Timestamp::UNIX_EPOCH, one)
                .unwrap();
        }
        by_store.push(begun.elapsed());
        assert_eq!(head, chain.head());

        for (conn, times) in [(&guarded, &mut by_guarded), (&plain, &mut by_plain)] {
            let begun = Instant::now();
            for record in &records {
                insert(conn, record);
            }
            times.push(begun.elapsed());
        }
    }
    let (by_store, by_guarded, by_plain) = (median(by_store), median(by_guarded), median(by_plain));
    println!("durable appends of one fact, median of {TURNS} turns of {APPENDS}:");
    println!(
        "  store                     {:8.0} a second",
        rate(APPENDS, by_store)
    );
    for (name, time) in [
        ("same table and guards", by_guarded),
        ("plain table", by_plain),
    ] {
        let ratio = by_store.as_secs_f64() / time.as_secs_f64();
        println!(
            "  bare, {name:21} {:6.0} a second, ratio {ratio:.2}",
            rate(APPENDS, time)
        );
    }
}

fn appends_from_many_threads(folder: &Path) {
    const THREADS: usize = 8;
    let store = SqliteStore::open(folder.join("threads"), &creating()).unwrap();
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for thread in 0..THREADS {
            let store = &store;
            scope.spawn(move || {
                let own = WorkshopId::try_new(&format!("workshop-{thread}")).unwrap();
                let mut head = Head::EMPTY;
                for idx in 0..1_000 {
                    let one = [entry(idx)];
                    head = store
                        .append(&own, head, Timestamp::UNIX_EPOCH, &one)
                        .unwrap();
                }
            });
        }
    });
    let rate = rate(THREADS * 1_000, begun.elapsed());
    println!("durable appends of one fact from {THREADS} threads: {rate:.0} a second");
}

fn read_and_verify(folder: &Path) {
    let path = folder.join("read");
    let store = SqliteStore::open(&path, &creating()).unwrap();
    let begun = Instant::now();
    let mut head = Head::EMPTY;
    for start in (0..RECORDS).step_by(1_000) {
        let entries: Vec<_> = (start..start + 1_000).map(entry).collect();
        head = store
            .append(&workshop(), head, Timestamp::UNIX_EPOCH, &entries)
            .unwrap();
    }
    println!(
        "appends of 1,000 facts: {:.0} facts a second",
        rate(RECORDS, begun.elapsed())
    );
    drop(store);
    println!(
        "file of {RECORDS} facts: {} MB",
        fs::metadata(&path).unwrap().len() / 1_000_000
    );

    let store = SqliteStore::open(&path, &OpenOptions::default()).unwrap();
    let (mut reading, mut verifying) = (Vec::new(), Vec::new());
    for _ in 0..7 {
        let mut bytes = 0;
        let begun = Instant::now();
        let count = &mut |record: Record| {
            bytes += record.payload.len();
            ControlFlow::Continue(())
        };
        store.read(&workshop(), Position::START, count).unwrap();
        reading.push(begun.elapsed());

        let begun = Instant::now();
        let mut verified = 0;
        let end = read_verified(&store, &workshop(), Head::EMPTY, |record| {
            verified += record.payload.len();
            ControlFlow::Continue(())
        });
        verifying.push(begun.elapsed());
        assert_eq!((end.unwrap(), verified), (head, bytes));
    }
    for (name, times) in [("read", reading), ("read and verify", verifying)] {
        let time = median(times);
        println!(
            "{name} {RECORDS} facts: {time:.0?}, {:.0} a second",
            rate(RECORDS, time)
        );
    }
    let begun = Instant::now();
    assert!(store.check().unwrap().is_sound());
    println!("check of the whole file: {:.0?}", begun.elapsed());
    let begun = Instant::now();
    store.backup_to(folder.join("copy")).unwrap();
    println!("backup: {:.0?}", begun.elapsed());
}
