//! A program that is killed loses nothing it acknowledged.
//!
//! This is about a program that ends at any moment (SIGKILL). What a power cut
//! does depends on the disk keeping its word about fsync, which no test here shows.

use std::hash::{BuildHasher, RandomState};
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::Stdio;
use std::thread;
use std::time::{Duration, Instant};

use journal::{Head, Position, Record, Store};
use journal_sqlite::OpenOptions;

use crate::helper::{
    append, as_other_process, creating, entry, open_with, other_process, reading, verified,
    workshop,
};

const KILLS: usize = 200;

/// What stands before an acknowledged position in the output.
const ACKNOWLEDGED: &str = "acknowledged ";

/// Appends one to three entries a time, small and large, and says so when each is acknowledged.
fn append_and_say(path: &Path, out: &mut impl Write, limit: usize) -> io::Result<()> {
    let store = open_with(path, &creating());
    let mut head = store.head(&workshop()).unwrap();
    for turn in 0..limit {
        let count = 1 + turn % 3;
        // Now and then large, so that the write-ahead log is often folded into the file.
        let filling = "wax ".repeat(if turn % 8 == 7 { 25_000 } else { 50 });
        let start = head.position.0 + 1;
        let one = |idx| entry(&format!(r#"[{start},{},{count},"{filling}"]"#, start + idx));
        let entries: Vec<_> = (0..count as u64).map(one).collect();
        head = append(&store, head, &entries).unwrap();
        writeln!(out, "{ACKNOWLEDGED}{}", head.position)?;
        out.flush()?;
    }
    Ok(())
}

/// Returns the last position that was acknowledged; a line cut short does not count.
fn last_acknowledged(said: &str) -> Option<Position> {
    let whole = &said[..=said.rfind('\n')?];
    let mut acknowledged = whole
        .lines()
        .filter_map(|line| line.strip_prefix(ACKNOWLEDGED));
    acknowledged
        .next_back()
        .map(|position| Position(position.parse().unwrap()))
}

/// Returns the start, place and count of a record's append, and its filling.
fn parts(record: &Record) -> (u64, u64, usize, &str) {
    serde_json::from_str(&record.payload).unwrap()
}

/// Checks that the records after `before` are whole appends in an unbroken chain.
#[track_caller]
fn check(path: &Path, options: &OpenOptions, before: Head, acknowledged: Position) -> Head {
    let store = open_with(path, options);
    let records = verified(&store, before);
    let head = records.last().map_or(before, Record::head);
    assert!(
        head.position >= acknowledged,
        "{acknowledged} was lost: ends at {}",
        head.position
    );
    let mut rest = records.as_slice();
    while let Some(first) = rest.first() {
        let (start, _, count, _) = parts(first);
        let append = rest.get(..count).expect("an append was kept in part");
        for (record, place) in append.iter().zip(start..) {
            assert_eq!(record.position.0, place);
            let (its_start, its_place, its_count, _) = parts(record);
            assert_eq!((its_start, its_place, its_count), (start, place, count));
        }
        rest = &rest[count..];
    }
    head
}

#[test]
fn a_program_killed_at_any_moment_loses_nothing_it_acknowledged() {
    if let Some(path) = as_other_process() {
        append_and_say(&path, &mut io::stdout(), usize::MAX).unwrap();
        return;
    }
    let test = "crash::a_program_killed_at_any_moment_loses_nothing_it_acknowledged";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.journal");
    let start = || {
        other_process(test, &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap()
    };

    // How long one takes to open the journal and append shows which moments matter.
    let begun = Instant::now();
    let mut child = start();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let first = lines.find(|line| line.as_ref().unwrap().starts_with(ACKNOWLEDGED));
    assert!(first.is_some(), "nothing was acknowledged");
    let until_first = begun.elapsed();
    child.kill().unwrap();
    child.wait().unwrap();

    let longest = until_first * 2 + Duration::from_millis(30);
    let random = RandomState::new();
    let (mut head, mut acknowledged) = (Head::EMPTY, Position::START);
    let mut while_appending = 0;
    for round in 0..KILLS {
        let moment = longest.mul_f64((random.hash_one(round) >> 11) as f64 / (1_u64 << 53) as f64);
        let mut child = start();
        thread::sleep(moment);
        child.kill().unwrap();
        let mut said = String::new();
        child
            .stdout
            .take()
            .unwrap()
            .read_to_string(&mut said)
            .unwrap();
        child.wait().unwrap();
        if let Some(last) = last_acknowledged(&said) {
            acknowledged = acknowledged.max(last);
            while_appending += 1;
        }
        // A journal opened for reading leaves the log for the next process to find.
        let options = if round % 2 == 0 {
            reading()
        } else {
            creating()
        };
        head = check(&path, &options, head, acknowledged);
    }
    println!(
        "{KILLS} kills up to {longest:?} after the start, {while_appending} of them while \
         appending, {} records",
        head.position
    );
    assert!(while_appending > 0, "no kill came late enough to matter");
    assert!(
        while_appending < KILLS,
        "no kill came while the journal was being opened"
    );
    let store = open_with(&path, &OpenOptions::default());
    assert!(store.check().unwrap().is_sound());
    assert_eq!(store.head(&workshop()).unwrap(), head);
}
