//! Export and import: what is refused, and where.

use std::io::{self, BufReader, Read};
use std::ops::ControlFlow;

use journal::{
    Entry, Head, MemoryStore, Position, Record, Store, WorkshopId, jsonl, read_verified,
};
use proptest::prelude::*;

const V1: &str = include_str!("../specimens/v1.jsonl");

fn workshop() -> WorkshopId {
    WorkshopId::try_new("quillfen").unwrap()
}

fn records(store: &MemoryStore) -> Vec<Record> {
    let mut records = Vec::new();
    let visit = |record| {
        records.push(record);
        ControlFlow::Continue(())
    };
    read_verified(store, &workshop(), Head::EMPTY, visit).unwrap();
    records
}

/// Imports into an empty store, which must stay empty, and returns why not.
#[track_caller]
fn refusal(file: impl AsRef<[u8]>) -> String {
    let store = MemoryStore::new();
    let error = jsonl::import(&store, &mut file.as_ref()).unwrap_err();
    assert_eq!(store.workshops().unwrap(), []);
    error.to_string()
}

/// The specimen with one line replaced.
fn with_line(line: usize, change: impl FnOnce(&str) -> String) -> String {
    let mut lines: Vec<String> = V1.lines().map(str::to_owned).collect();
    lines[line - 1] = change(&lines[line - 1]);
    lines.join("\n") + "\n"
}

#[test]
fn what_is_not_a_journal_is_told_apart_from_a_newer_one() {
    let not = "line 1: this is not an exported journal: \
               the first line should name the format `pourwright-journal`";
    for file in [
        "",
        "\n",
        "poured,left\n18.7 oz,0 oz\n",
        "{\"format\":\"something else\"}",
        "[]",
    ] {
        assert_eq!(refusal(file), not);
    }
    let other = with_line(1, |it| it.replace("pourwright-journal", "something-else"));
    assert_eq!(refusal(other), not);
    let newer = with_line(1, |it| it.replace(":1,", ":2,\"compressed\":true,"));
    assert_eq!(
        refusal(newer),
        "line 1: the file has format version 2, and this program reads up to 1; use a newer program"
    );
    let shouted = with_line(1, |it| it.replace("quillfen", "Quillfen"));
    assert!(refusal(shouted).starts_with("line 1: the header is malformed: `Quillfen` is not a"));
    assert_eq!(refusal([0xff, 0xfe, b'\n']), not);
}

#[test]
fn a_file_cut_short_anywhere_is_refused() {
    for end in 0..V1.len() - 1 {
        let refusal = refusal(&V1.as_bytes()[..end]);
        if !V1[..].is_char_boundary(end) || end < V1.find('\n').unwrap() {
            continue;
        }
        assert!(
            refusal.contains("the file breaks off here"),
            "at byte {end}: {refusal}"
        );
    }
    // Only the last line feed may be missing.
    jsonl::import(&MemoryStore::new(), &mut &V1.as_bytes()[..V1.len() - 1]).unwrap();
}

#[test]
fn a_change_names_its_line() {
    let changed = with_line(4, |it| it.replace("18.7 oz", "18.8 oz"));
    assert_eq!(
        refusal(changed),
        "line 4: the chain is broken: \
         record 3 is not as it was written: its hash does not fit its content"
    );
    let mut lines: Vec<_> = V1.lines().collect();
    lines.remove(4);
    assert_eq!(
        refusal(lines.join("\n")),
        "line 5: the chain is broken: record 5 stands where record 4 belongs"
    );
    let other_workshop = with_line(1, |it| it.replace("quillfen", "hollin"));
    assert!(refusal(other_workshop).starts_with("line 2: the chain is broken: record 1 is not as"));
}

#[test]
fn a_malformed_line_names_its_line_and_column() {
    let check = |line: &str, expected: &str| {
        let refusal = refusal(with_line(3, |_| line.to_owned()));
        assert_eq!(refusal, format!("line 3: {expected}"));
    };
    let v1_line = V1.lines().nth(2).unwrap();
    check(
        "",
        "this is not a record: EOF while parsing a value at column 0",
    );
    check("wax", "this is not a record: expected value at column 1");
    check(
        "{}",
        "this is not a record: missing field `position` at column 2",
    );
    check(
        &v1_line.replacen('{', "{\"colour\":1,", 1),
        "this is not a record: unknown field `colour`, expected one of `position`, `recorded`, \
         `day`, `who`, `name`, `version`, `payload`, `previous`, `hash` at column 9",
    );
    check(
        &v1_line.replace("12.5Z", "12.5000001Z"),
        "`recorded` is given more finely than to the microsecond",
    );
    check(
        &v1_line.replace("FormulaRevised", "Formula revised"),
        "the record is malformed: `Formula revised` is not a fact name: \
         use 1 to 64 ASCII letters, digits, `_`, `-` or `.`",
    );
}

#[test]
fn the_closing_line_must_fit_and_be_the_last() {
    let miscounted = with_line(8, |it| it.replace(":6,", ":7,"));
    let misfit = "line 8: the closing line does not fit: \
                  it should say 6 records and their last hash";
    assert_eq!(refusal(miscounted), misfit);
    let unhashed = with_line(8, |it| it.split(",\"hash").next().unwrap().to_owned() + "}");
    assert_eq!(refusal(unhashed), misfit);
    let doubled = format!("{V1}{}", V1.lines().last().unwrap());
    assert_eq!(
        refusal(doubled),
        "line 9: nothing may stand after the line that closes the journal"
    );
}

#[test]
fn a_line_without_end_is_refused_before_it_fills_the_memory() {
    let header = V1.lines().next().unwrap();
    let file = format!("{header}\n").into_bytes();
    let mut endless = BufReader::new(file.as_slice().chain(io::repeat(b' ')));
    let error = jsonl::import(&MemoryStore::new(), &mut endless).unwrap_err();
    assert_eq!(
        error.to_string(),
        "line 2: the line is longer than any record can be"
    );
}

#[test]
fn a_file_with_carriage_returns_is_the_same_journal() {
    let store = MemoryStore::new();
    jsonl::import(&store, &mut V1.replace('\n', "\r\n").as_bytes()).unwrap();
    let mut again = Vec::new();
    jsonl::export(&store, &workshop(), &mut again).unwrap();
    assert_eq!(String::from_utf8(again).unwrap(), V1);
}

#[test]
fn an_import_over_a_journal_says_how_many_records_it_has() {
    let store = MemoryStore::new();
    jsonl::import(&store, &mut V1.as_bytes()).unwrap();
    let jsonl::ImportError::Restore(error) = jsonl::import(&store, &mut V1.as_bytes()).unwrap_err()
    else {
        panic!("refused for another reason");
    };
    assert_eq!(
        error.to_string(),
        "the workshop `quillfen` already has a journal of 6 records; \
         a journal is only taken into an empty one"
    );
    assert_eq!(records(&store).len(), 6);
}

#[test]
fn no_byte_can_be_changed_unnoticed() {
    let store = MemoryStore::new();
    jsonl::import(&store, &mut V1.as_bytes()).unwrap();
    let sound = records(&store);
    let mut survivors = 0;
    for place in 0..V1.len() {
        for byte in *b"\"0 }x\n" {
            let mut file = V1.as_bytes().to_vec();
            if file[place] == byte {
                continue;
            }
            file[place] = byte;
            let store = MemoryStore::new();
            if jsonl::import(&store, &mut file.as_slice()).is_ok() {
                // Only what says the same may pass: blank space between tokens, or the
                // last digit of a time that has none.
                assert_eq!(
                    records(&store),
                    sound,
                    "byte {place} became {:?}",
                    byte as char
                );
                survivors += 1;
            }
        }
    }
    assert!(survivors < 10, "{survivors} changes passed");
}

prop_compose! {
    fn any_entry()(
        days in -3_000_000_i32..2_900_000,
        who in "\\PC{0,20}",
        name in "[A-Za-z0-9_.-]{1,64}",
        version in any::<u16>(),
        text in any::<String>(),
        number in any::<f64>(),
    ) -> Entry {
        let day = jiff::civil::date(1970, 1, 1).saturating_add(jiff::Span::new().days(days));
        let payload = serde_json::json!({ "text": text, "n": [number, null] }).to_string();
        Entry::try_new(day, &who, &name, version, &payload).unwrap()
    }
}

proptest! {
    #[test]
    fn what_was_exported_comes_back(
        entries in prop::collection::vec(any_entry(), 0..8),
        micros in -300_000_000_000_000_000_i64..250_000_000_000_000_000,
    ) {
        let (here, there) = (MemoryStore::new(), MemoryStore::new());
        let recorded = jiff::Timestamp::from_microsecond(micros).unwrap();
        let head = here.append(&workshop(), Head::EMPTY, recorded, &entries).unwrap();
        let mut file = Vec::new();
        jsonl::export(&here, &workshop(), &mut file).unwrap();
        prop_assert_eq!(file.split(|byte| *byte == b'\n').count(), entries.len() + 3);
        let imported = jsonl::import(&there, &mut file.as_slice()).unwrap();
        prop_assert_eq!(imported, (workshop(), head));
        prop_assert_eq!(head.position, Position(entries.len() as u64));
        prop_assert_eq!(records(&here), records(&there));
    }
}
