//! What every store must pass: the same cases for each.
//!
//! A store's tests take them all in with [`suite_tests!`](crate::suite_tests),
//! or call single cases. Each case takes a function that opens an empty store,
//! and panics where the store does something else than it should.

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use jiff::Timestamp;
use jiff::civil::{Date, date};

use crate::chain::{Chain, ChainError, Verifier};
use crate::entry::Entry;
use crate::jsonl;
use crate::name::WorkshopId;
use crate::people::{MAX_DETAILS, MAX_PERSON, PeopleError};
use crate::record::{Hash, Head, Position, Record};
use crate::store::{AppendError, Interrupted, RestoreError, Store, read_verified};

/// Makes a test of every case of the [suite](crate::suite).
///
/// Takes an expression for a function that opens an empty store each time it is
/// called; the expression is evaluated once a test.
#[macro_export]
macro_rules! suite_tests {
    ($open:expr) => {
        $crate::suite_tests! { $open;
            an_empty_store_is_empty
            records_come_back_as_they_were_given
            a_stale_append_loses_and_is_told
            an_append_to_another_history_of_the_same_length_is_stale
            an_append_without_entries_only_compares
            entries_of_one_append_stand_or_fall_together
            reading_starts_after_a_position_and_stops_when_told
            a_reader_may_use_the_store
            two_workshops_are_apart
            every_script_and_sign_is_kept
            a_huge_payload_is_kept
            days_and_times_at_the_edges_are_kept
            many_threads_lose_nothing
            a_change_of_any_field_is_noticed
            a_restore_keeps_every_record
            a_restore_of_a_broken_chain_keeps_nothing
            a_restore_into_a_journal_is_refused
            an_interrupted_restore_keeps_nothing
            an_export_imports_as_the_same_journal
            people_are_kept_apart_from_the_records
            a_person_is_known_as_last_put
            who_is_forgotten_is_gone_and_the_chain_stays_whole
            what_cannot_be_kept_of_a_person_is_refused
        }
    };
    ($open:expr; $($case:ident)+) => {
        $(
            #[test]
            fn $case() {
                $crate::suite::$case($open);
            }
        )+
    };
}

/// Returns the workshop of the cases.
fn workshop() -> WorkshopId {
    WorkshopId::try_new("quillfen").expect("a sound id")
}

fn day() -> Date {
    date(2026, 6, 1)
}

fn moment() -> Timestamp {
    Timestamp::from_microsecond(1_780_306_200_123_456).expect("a time in range")
}

fn entry(payload: &str) -> Entry {
    Entry::try_new(day(), "Ines", "Noted", 1, payload).expect("a sound entry")
}

fn entries(count: usize) -> Vec<Entry> {
    (1..=count)
        .map(|idx| entry(&format!(r#"{{"n":{idx}}}"#)))
        .collect()
}

#[track_caller]
fn append(store: &impl Store, id: &WorkshopId, expected: Head, entries: &[Entry]) -> Head {
    match store.append(id, expected, moment(), entries) {
        Ok(head) => head,
        Err(error) => panic!("an append in its place was refused: {error:?}"),
    }
}

#[track_caller]
fn read_from(store: &impl Store, id: &WorkshopId, after: Position) -> Vec<Record> {
    let mut records = Vec::new();
    let read = store.read(id, after, &mut |record| {
        records.push(record);
        ControlFlow::Continue(())
    });
    if let Err(error) = read {
        panic!("reading failed: {error:?}");
    }
    records
}

#[track_caller]
fn read_all(store: &impl Store, id: &WorkshopId) -> Vec<Record> {
    read_from(store, id, Position::START)
}

#[track_caller]
fn head_of(store: &impl Store, id: &WorkshopId) -> Head {
    match store.head(id) {
        Ok(head) => head,
        Err(error) => panic!("the head cannot be read: {error:?}"),
    }
}

/// Checks the chain and returns the head it ends with.
#[track_caller]
fn verify(records: &[Record], id: &WorkshopId) -> Head {
    let mut verifier = Verifier::new(id.clone(), Head::EMPTY);
    for record in records {
        if let Err(error) = verifier.check(record) {
            panic!("the chain is broken: {error}");
        }
    }
    verifier.head()
}

#[track_caller]
fn check_stale(outcome: Result<Head, AppendError>, expected: Head, found: Head) {
    match outcome {
        Err(AppendError::Stale {
            expected: said,
            found: is,
        }) => {
            assert_eq!((said, is), (expected, found));
        }
        other => panic!("should be stale, was {other:?}"),
    }
}

/// Records written without a store, to be restored into one.
fn sealed(count: usize) -> Vec<Record> {
    let mut chain = Chain::new(workshop(), Head::EMPTY);
    entries(count)
        .iter()
        .map(|entry| chain.seal(moment(), entry))
        .collect()
}

fn restore(store: &impl Store, records: &[Record]) -> Result<Head, RestoreError> {
    let mut rest = records.iter();
    store.restore(&workshop(), &mut || Ok(rest.next().cloned()))
}

/// A new store has no workshops, no head and nothing to read.
pub fn an_empty_store_is_empty<S: Store>(open: impl Fn() -> S) {
    let store = open();
    assert_eq!(store.workshops().ok(), Some(Vec::new()));
    assert_eq!(head_of(&store, &workshop()), Head::EMPTY);
    assert_eq!(read_all(&store, &workshop()), []);
    assert_eq!(read_from(&store, &workshop(), Position(u64::MAX)), []);
}

/// Every field comes back, in order, with positions from 1 and an unbroken chain.
pub fn records_come_back_as_they_were_given<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let first = append(
        &store,
        &workshop(),
        Head::EMPTY,
        &[entry(r#"{"a":1.50,"b":[ ]}"#)],
    );
    let second = Entry::try_new(date(2026, 6, 2), "", "Sold", u16::MAX, "null");
    let second = [second.expect("a sound entry")];
    let later = Timestamp::from_microsecond(1_780_306_201_000_001).expect("a time in range");
    let head = match store.append(&workshop(), first, later, &second) {
        Ok(head) => head,
        Err(error) => panic!("an append in its place was refused: {error:?}"),
    };

    let records = read_all(&store, &workshop());
    let mut chain = Chain::new(workshop(), Head::EMPTY);
    let expected = [
        chain.seal(moment(), &entry(r#"{"a":1.50,"b":[ ]}"#)),
        chain.seal(later, &second[0]),
    ];
    assert_eq!(records, expected);
    assert_eq!(
        head,
        Head {
            position: Position(2),
            hash: Some(expected[1].hash)
        }
    );
    assert_eq!(head_of(&store, &workshop()), head);
    assert_eq!(store.workshops().ok(), Some(vec![workshop()]));
}

/// Of two writers who read the same state, the second is told and adds nothing.
pub fn a_stale_append_loses_and_is_told<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let one = append(&store, &workshop(), Head::EMPTY, &entries(1));
    let three = append(&store, &workshop(), one, &entries(2));
    for behind in [Head::EMPTY, one] {
        let outcome = store.append(&workshop(), behind, moment(), &entries(1));
        check_stale(outcome, behind, three);
    }
    let ahead = Head {
        position: Position(9),
        hash: three.hash,
    };
    check_stale(
        store.append(&workshop(), ahead, moment(), &entries(1)),
        ahead,
        three,
    );
    assert_eq!(read_all(&store, &workshop()).len(), 3);
}

/// A head of the same length but another history does not fit either.
pub fn an_append_to_another_history_of_the_same_length_is_stale<S: Store>(open: impl Fn() -> S) {
    let (here, there) = (open(), open());
    let head = append(&here, &workshop(), Head::EMPTY, &[entry("1")]);
    let other = append(&there, &workshop(), Head::EMPTY, &[entry("2")]);
    assert_eq!(head.position, other.position);
    check_stale(
        here.append(&workshop(), other, moment(), &entries(1)),
        other,
        head,
    );
}

/// Nothing to append: the head, if it is the expected one.
pub fn an_append_without_entries_only_compares<S: Store>(open: impl Fn() -> S) {
    let store = open();
    assert_eq!(append(&store, &workshop(), Head::EMPTY, &[]), Head::EMPTY);
    let head = append(&store, &workshop(), Head::EMPTY, &entries(1));
    assert_eq!(append(&store, &workshop(), head, &[]), head);
    check_stale(
        store.append(&workshop(), Head::EMPTY, moment(), &[]),
        Head::EMPTY,
        head,
    );
    assert_eq!(store.workshops().ok(), Some(vec![workshop()]));
}

/// Appends of several entries from many threads are never seen in part.
pub fn entries_of_one_append_stand_or_fall_together<S: Store>(open: impl Fn() -> S) {
    const GROUP: usize = 5;
    let store = open();
    let done = AtomicUsize::new(0);
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                for _ in 0..20 {
                    append_retrying(&store, &workshop(), &entries(GROUP));
                }
                done.fetch_add(1, Ordering::SeqCst);
            });
        }
        let mut seen = 0;
        while done.load(Ordering::SeqCst) < 2 {
            let records = read_all(&store, &workshop());
            assert_eq!(records.len() % GROUP, 0, "an append was seen in part");
            assert!(records.len() >= seen, "records went away");
            seen = records.len();
        }
    });
    let records = read_all(&store, &workshop());
    verify(&records, &workshop());
    assert_eq!(records.len(), 2 * 20 * GROUP);
    for (group, append) in records.chunks(GROUP).enumerate() {
        let payloads: Vec<_> = append.iter().map(|record| &*record.payload).collect();
        let whole = [
            r#"{"n":1}"#,
            r#"{"n":2}"#,
            r#"{"n":3}"#,
            r#"{"n":4}"#,
            r#"{"n":5}"#,
        ];
        assert_eq!(payloads, whole, "append {group} is mixed with another");
    }
}

/// Appends, starting over whenever someone else came first; returns the position before it.
fn append_retrying(store: &impl Store, id: &WorkshopId, entries: &[Entry]) -> Position {
    let mut expected = head_of(store, id);
    loop {
        match store.append(id, expected, moment(), entries) {
            Ok(_) => return expected.position,
            Err(AppendError::Stale { found, .. }) => expected = found,
            Err(error) => panic!("an append failed: {error:?}"),
        }
    }
}

/// Reading takes up where it is told to, and ends early when told to.
pub fn reading_starts_after_a_position_and_stops_when_told<S: Store>(open: impl Fn() -> S) {
    let store = open();
    append(&store, &workshop(), Head::EMPTY, &entries(7));
    for after in 0..=8 {
        let positions: Vec<_> = read_from(&store, &workshop(), Position(after))
            .iter()
            .map(|record| record.position.0)
            .collect();
        assert_eq!(positions, (after + 1..=7).collect::<Vec<_>>());
    }
    let mut seen = 0;
    let read = store.read(&workshop(), Position(2), &mut |_| {
        seen += 1;
        if seen == 3 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    assert!(read.is_ok());
    assert_eq!(seen, 3);
}

/// A record may lead to another append while reading goes on; the reading does not see it.
pub fn a_reader_may_use_the_store<S: Store>(open: impl Fn() -> S) {
    let store = open();
    append(&store, &workshop(), Head::EMPTY, &entries(3));
    let mut seen = 0;
    let read = store.read(&workshop(), Position::START, &mut |_| {
        seen += 1;
        append_retrying(&store, &workshop(), &entries(1));
        ControlFlow::Continue(())
    });
    assert!(read.is_ok());
    assert_eq!(seen, 3);
    assert_eq!(read_all(&store, &workshop()).len(), 6);
}

/// Workshops have their own positions and chains.
pub fn two_workshops_are_apart<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let other = WorkshopId::try_new("hollin").expect("a sound id");
    let here = append(&store, &workshop(), Head::EMPTY, &entries(2));
    let there = append(&store, &other, Head::EMPTY, &entries(1));
    let here = append(&store, &workshop(), here, &entries(1));
    assert_eq!((here.position, there.position), (Position(3), Position(1)));
    assert_eq!(verify(&read_all(&store, &workshop()), &workshop()), here);
    assert_eq!(verify(&read_all(&store, &other), &other), there);
    assert_eq!(store.workshops().ok(), Some(vec![other, workshop()]));
    check_stale(
        store.append(&workshop(), there, moment(), &entries(1)),
        there,
        here,
    );
}

/// Text of every script, unusual signs and escapes come back byte for byte.
pub fn every_script_and_sign_is_kept<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let texts = [
        "Räucherwachs & Pflaume – 1½ oz",
        "ろうそく工房",
        "שעווה ריחנית",
        "🕯\u{fe0f}🏴\u{200d}☠\u{fe0f}",
        "e\u{301} and \u{e9} are not made one",
        "\u{feff}\u{2028}\u{2029}\u{202e}\u{10ffff}",
        "'; DROP TABLE record; --",
        "<b>&amp;</b>%s{}",
    ];
    let mut given: Vec<Entry> = texts
        .iter()
        .map(|text| {
            let payload = format!(r#"{{"text":"{text}"}}"#);
            Entry::try_new(day(), text, "Noted", 1, &payload).expect("a sound entry")
        })
        .collect();
    let escapes = r#"["\u0000","\ud83d\udd6f","\/\\\"\b","\ud800",1e400,-0,0.10, {"a":1,"a":2}]"#;
    given.push(entry(escapes));
    append(&store, &workshop(), Head::EMPTY, &given);
    let records = read_all(&store, &workshop());
    verify(&records, &workshop());
    assert_eq!(records.len(), given.len());
    for (record, given) in records.iter().zip(&given) {
        assert_eq!(&*record.who, given.who());
        assert_eq!(&*record.payload, given.payload());
    }
}

/// A payload of 5 MiB is no different from a small one.
pub fn a_huge_payload_is_kept<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let payload = format!(r#"{{"text":"{}"}}"#, "wax ".repeat(5 * 1024 * 1024 / 4));
    let head = append(
        &store,
        &workshop(),
        Head::EMPTY,
        &[entry(&payload), entry("1")],
    );
    let records = read_all(&store, &workshop());
    assert_eq!(verify(&records, &workshop()), head);
    assert_eq!(*records[0].payload, *payload);
}

/// The first and last day and moment that can be told are kept.
pub fn days_and_times_at_the_edges_are_kept<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let mut head = Head::EMPTY;
    let mut chain = Chain::new(workshop(), Head::EMPTY);
    let mut expected = Vec::new();
    for (day, recorded) in [
        (Date::MIN, Timestamp::MIN),
        (date(-1, 12, 31), Timestamp::UNIX_EPOCH),
        (date(0, 2, 29), moment()),
        (Date::MAX, Timestamp::MAX),
    ] {
        let given = Entry::try_new(day, "Ines", "Noted", 1, "{}").expect("a sound entry");
        expected.push(chain.seal(recorded, &given));
        head = match store.append(&workshop(), head, recorded, &[given]) {
            Ok(head) => head,
            Err(error) => panic!("{day} was refused: {error:?}"),
        };
    }
    assert_eq!(read_all(&store, &workshop()), expected);
}

/// Eight threads append at once: each record is there once, the chain unbroken.
pub fn many_threads_lose_nothing<S: Store>(open: impl Fn() -> S) {
    const THREADS: usize = 8;
    const EACH: usize = 25;
    let store = open();
    let places: BTreeSet<Position> = thread::scope(|scope| {
        let writers: Vec<_> = (0..THREADS)
            .map(|thread| {
                let store = &store;
                scope.spawn(move || {
                    let one = |turn| [entry(&format!(r#"{{"thread":{thread},"turn":{turn}}}"#))];
                    let place = |turn| append_retrying(store, &workshop(), &one(turn));
                    (0..EACH).map(place).collect::<Vec<_>>()
                })
            })
            .collect();
        let places = writers
            .into_iter()
            .map(|writer| writer.join().expect("no writer panicked"));
        places.flatten().collect()
    });
    assert_eq!(places.len(), THREADS * EACH, "a place was given twice");
    let records = read_all(&store, &workshop());
    verify(&records, &workshop());
    let payloads: BTreeSet<_> = records.iter().map(|record| &record.payload).collect();
    assert_eq!(
        (records.len(), payloads.len()),
        (THREADS * EACH, THREADS * EACH)
    );
}

/// The verifier notices a change of any field, and a record left out, doubled or swapped.
pub fn a_change_of_any_field_is_noticed<S: Store>(open: impl Fn() -> S) {
    let store = open();
    append(&store, &workshop(), Head::EMPTY, &entries(4));
    let sound = read_all(&store, &workshop());
    verify(&sound, &workshop());
    let third = Position(3);

    let check = |change: &dyn Fn(&mut Vec<Record>), expected: ChainError| {
        let mut records = sound.clone();
        change(&mut records);
        let mut verifier = Verifier::new(workshop(), Head::EMPTY);
        let found = records
            .iter()
            .find_map(|record| verifier.check(record).err());
        assert_eq!(found, Some(expected));
    };
    let changed = ChainError::Hash { position: third };
    let hash = Hash::from_bytes([7; 32]);
    check(
        &|it| it[2].recorded = Timestamp::UNIX_EPOCH,
        changed.clone(),
    );
    check(&|it| it[2].day = date(2026, 6, 2), changed.clone());
    check(&|it| it[2].who = "Ine".into(), changed.clone());
    check(
        &|it| (it[2].who, it[2].name) = ("InesN".into(), "oted".into()),
        changed.clone(),
    );
    check(&|it| it[2].name = "Note".into(), changed.clone());
    check(&|it| it[2].version = 2, changed.clone());
    check(&|it| it[2].payload = r#"{"n":4}"#.into(), changed.clone());
    check(&|it| it[2].hash = hash, changed);
    check(
        &|it| it[2].previous = Some(hash),
        ChainError::Previous { position: third },
    );
    check(
        &|it| it[2].previous = None,
        ChainError::Previous { position: third },
    );
    let other = WorkshopId::try_new("hollin").expect("a sound id");
    check(
        &|it| it[2].workshop = WorkshopId::try_new("hollin").expect("a sound id"),
        ChainError::Workshop {
            position: third,
            expected: workshop(),
            found: other,
        },
    );
    let gap = |found| ChainError::Position {
        expected: third,
        found: Position(found),
    };
    check(&|it| it[2].position = Position(9), gap(9));
    check(&|it| drop(it.remove(2)), gap(4));
    check(&|it| it.swap(2, 3), gap(4));
    check(&|it| it.insert(2, it[1].clone()), gap(2));
    // A record changed together with its own hash breaks the chain at the next one.
    check(
        &|it| {
            it[1].payload = "0".into();
            it[1].hash = it[1].compute_hash();
        },
        ChainError::Previous { position: third },
    );
}

/// A journal written elsewhere is taken in as it is, and goes on from there.
pub fn a_restore_keeps_every_record<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let records = sealed(300);
    let head = restore(&store, &records).unwrap_or_else(|error| panic!("refused: {error:?}"));
    assert_eq!(head, records[299].head());
    assert_eq!(read_all(&store, &workshop()), records);
    append(&store, &workshop(), head, &entries(1));
    verify(&read_all(&store, &workshop()), &workshop());

    let empty = open();
    assert_eq!(restore(&empty, &[]).ok(), Some(Head::EMPTY));
    assert_eq!(empty.workshops().ok(), Some(Vec::new()));
}

/// A gap, a change, a wrong start or a malformed record: nothing is kept.
pub fn a_restore_of_a_broken_chain_keeps_nothing<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let check = |change: &dyn Fn(&mut Vec<Record>), place: u64| {
        let mut records = sealed(5);
        change(&mut records);
        match restore(&store, &records) {
            Err(RestoreError::Chain(error)) => assert_eq!(error.position(), Position(place)),
            other => panic!("should be a broken chain, was {other:?}"),
        }
        assert_eq!(head_of(&store, &workshop()), Head::EMPTY);
        assert_eq!(read_all(&store, &workshop()), []);
    };
    check(&|it| drop(it.remove(0)), 1);
    check(&|it| drop(it.remove(3)), 4);
    check(&|it| it[4].payload = "0".into(), 5);

    let mut malformed = sealed(2);
    malformed[1].payload = "{".into();
    malformed[1].hash = malformed[1].compute_hash();
    let refused = restore(&store, &malformed);
    assert!(
        matches!(
            refused,
            Err(RestoreError::Form {
                position: Position(2),
                ..
            })
        ),
        "{refused:?}"
    );
    assert_eq!(read_all(&store, &workshop()), []);
    append(&store, &workshop(), Head::EMPTY, &entries(1));
}

/// A journal is never taken in over another.
pub fn a_restore_into_a_journal_is_refused<S: Store>(open: impl Fn() -> S) {
    let store = open();
    append(&store, &workshop(), Head::EMPTY, &entries(2));
    let before = read_all(&store, &workshop());
    for records in [sealed(5), sealed(0)] {
        match restore(&store, &records) {
            Err(RestoreError::NotEmpty {
                records: Position(2),
                ..
            }) => {}
            other => panic!("should be refused, was {other:?}"),
        }
    }
    assert_eq!(read_all(&store, &workshop()), before);
}

/// When the source gives up half-way nothing is kept.
pub fn an_interrupted_restore_keeps_nothing<S: Store>(open: impl Fn() -> S) {
    let store = open();
    let records = sealed(50);
    let mut rest = records.iter();
    let outcome = store.restore(&workshop(), &mut || match rest.next() {
        Some(record) if record.position < Position(40) => Ok(Some(record.clone())),
        _ => Err(Interrupted),
    });
    assert!(
        matches!(outcome, Err(RestoreError::Interrupted(_))),
        "{outcome:?}"
    );
    assert_eq!(head_of(&store, &workshop()), Head::EMPTY);
    assert_eq!(read_all(&store, &workshop()), []);
}

/// Export and import give the same records, and the same file again.
pub fn an_export_imports_as_the_same_journal<S: Store>(open: impl Fn() -> S) {
    let (here, there) = (open(), open());
    let escapes = r#"{"a":[1.50,"\u0000é\n"],"b":{ }}"#;
    let head = append(
        &here,
        &workshop(),
        Head::EMPTY,
        &[entry(escapes), entry("\"\u{2028}\"")],
    );
    let mut file = Vec::new();
    let exported = jsonl::export(&here, &workshop(), &mut file);
    assert_eq!(exported.ok(), Some(head));
    let imported = jsonl::import(&there, &mut file.as_slice());
    match imported {
        Ok(imported) => assert_eq!(imported, (workshop(), head)),
        Err(error) => panic!("the export was refused: {error}"),
    }
    assert_eq!(read_all(&here, &workshop()), read_all(&there, &workshop()));
    let verified = read_verified(&there, &workshop(), Head::EMPTY, |_| {
        ControlFlow::Continue(())
    });
    assert_eq!(verified.ok(), Some(head));
    let mut again = Vec::new();
    assert!(jsonl::export(&there, &workshop(), &mut again).is_ok());
    assert_eq!(file, again);
}

const HER: &str = r#"{"name":"Zoë Ilves, Quay 3","note":"bell “twice” \u0007"}"#;

#[track_caller]
fn put(store: &impl Store, id: &WorkshopId, person: &str, details: &str) {
    if let Err(error) = store.put(id, person, details) {
        panic!("a person was refused: {error:?}");
    }
}

#[track_caller]
fn known(store: &impl Store, id: &WorkshopId) -> Vec<(String, String)> {
    match store.people(id) {
        Ok(known) => known,
        Err(error) => panic!("people cannot be read: {error:?}"),
    }
}

#[track_caller]
fn person(store: &impl Store, id: &WorkshopId, person: &str) -> Option<String> {
    match store.person(id, person) {
        Ok(known) => known,
        Err(error) => panic!("a person cannot be read: {error:?}"),
    }
}

/// People make no record, no workshop and no head, and are each workshop's own.
pub fn people_are_kept_apart_from_the_records<S: Store>(mut open: impl FnMut() -> S) {
    let store = open();
    let id = workshop();
    let other = WorkshopId::try_new("other").expect("a sound id");
    assert_eq!(known(&store, &id), []);
    put(&store, &id, "buyer 2", HER);
    put(&store, &id, "buyer 10", "{}");
    put(&store, &other, "buyer 2", "null");
    let both = [("buyer 10", "{}"), ("buyer 2", HER)];
    let both = both.map(|(person, details)| (person.to_owned(), details.to_owned()));
    assert_eq!(known(&store, &id), both);
    assert_eq!(
        known(&store, &other),
        [("buyer 2".to_owned(), "null".to_owned())]
    );
    assert_eq!(head_of(&store, &id), Head::EMPTY);
    assert_eq!(read_all(&store, &id), []);
    let head = append(&store, &id, Head::EMPTY, &entries(2));
    assert_eq!(verify(&read_all(&store, &id), &id), head);
    assert_eq!(known(&store, &id), both);
}

/// Byte for byte, and the last word stands.
pub fn a_person_is_known_as_last_put<S: Store>(mut open: impl FnMut() -> S) {
    let store = open();
    let id = workshop();
    assert_eq!(person(&store, &id, "buyer 1"), None);
    put(&store, &id, "buyer 1", "{\"a\": 1 }");
    put(&store, &id, "buyer 1", HER);
    assert_eq!(person(&store, &id, "buyer 1").as_deref(), Some(HER));
    assert_eq!(known(&store, &id).len(), 1);
}

/// Who is forgotten can be forgotten again, which changes nothing.
pub fn who_is_forgotten_is_gone_and_the_chain_stays_whole<S: Store>(mut open: impl FnMut() -> S) {
    let store = open();
    let id = workshop();
    let head = append(&store, &id, Head::EMPTY, &entries(3));
    put(&store, &id, "buyer 1", HER);
    put(&store, &id, "buyer 2", "{}");
    let forget = |person: &str| match store.forget(&id, person) {
        Ok(forgotten) => forgotten,
        Err(error) => panic!("nobody was forgotten: {error:?}"),
    };
    assert!(forget("buyer 1"));
    assert!(!forget("buyer 1"));
    assert!(!forget("buyer 3"));
    assert_eq!(person(&store, &id, "buyer 1"), None);
    assert_eq!(
        known(&store, &id),
        [("buyer 2".to_owned(), "{}".to_owned())]
    );
    assert_eq!(verify(&read_all(&store, &id), &id), head);
    append(&store, &id, head, &entries(1));
}

/// The limits are the same in every store.
pub fn what_cannot_be_kept_of_a_person_is_refused<S: Store>(mut open: impl FnMut() -> S) {
    let store = open();
    let id = workshop();
    let longest = format!("\"{}\"", "x".repeat(MAX_DETAILS - 2));
    put(&store, &id, &"p".repeat(MAX_PERSON), &longest);
    for word in ["", "a\nb", &"p".repeat(MAX_PERSON + 1)] {
        let outcome = store.put(&id, word, "{}");
        assert!(matches!(outcome, Err(PeopleError::Word)), "{word:?}");
    }
    let outcome = store.put(&id, "buyer 1", &(longest.clone() + " "));
    assert!(matches!(outcome, Err(PeopleError::TooLong { .. })));
    for details in ["", "{", "{} {}", "name"] {
        let outcome = store.put(&id, "buyer 1", details);
        assert!(matches!(outcome, Err(PeopleError::NotJson(_))), "{details}");
    }
    assert_eq!(known(&store, &id).len(), 1);
}
