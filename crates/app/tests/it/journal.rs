//! Several programs on one journal, and journals that fail or are put back.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, RwLock};

use app::forms::{self, Filled};
use app::{ActError, App, Done, FixedClock, OpenError};
use jiff::Timestamp;
use jiff::civil::{Date, date};
use journal::{
    AppendError, Entry, Head, Interrupted, MemoryStore, People, PeopleError, Position, ReadError,
    Record, RestoreError, Store, StoreError, WorkshopId,
};
use workshop::Refusal;

const TODAY: Date = date(2026, 10, 4);

/// A store that can be made to fail while it is read, to tamper with what it
/// hands over, and to hold another journal from one moment to the next.
#[derive(Default)]
struct Unruly {
    inner: RwLock<Arc<MemoryStore>>,
    /// Reading fails at this record; 0 for never.
    fails_at: AtomicU64,
    /// This record is handed over altered; 0 for none.
    alters: AtomicU64,
}

impl Unruly {
    fn inner(&self) -> Arc<MemoryStore> {
        Arc::clone(&self.inner.read().unwrap())
    }

    fn put_back(&self, other: Arc<MemoryStore>) {
        *self.inner.write().unwrap() = other;
    }
}

impl People for Unruly {
    fn put(&self, workshop: &WorkshopId, person: &str, details: &str) -> Result<(), PeopleError> {
        self.inner().put(workshop, person, details)
    }

    fn person(&self, workshop: &WorkshopId, person: &str) -> Result<Option<String>, StoreError> {
        self.inner().person(workshop, person)
    }

    fn people(&self, workshop: &WorkshopId) -> Result<Vec<(String, String)>, StoreError> {
        self.inner().people(workshop)
    }

    fn forget(&self, workshop: &WorkshopId, person: &str) -> Result<bool, PeopleError> {
        self.inner().forget(workshop, person)
    }
}

impl Store for Unruly {
    fn workshops(&self) -> Result<Vec<WorkshopId>, StoreError> {
        self.inner().workshops()
    }

    fn head(&self, workshop: &WorkshopId) -> Result<Head, StoreError> {
        self.inner().head(workshop)
    }

    fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Result<Head, AppendError> {
        self.inner().append(workshop, expected, recorded, entries)
    }

    fn read(
        &self,
        workshop: &WorkshopId,
        after: Position,
        visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        let (fails_at, alters) = (
            self.fails_at.load(Ordering::SeqCst),
            self.alters.load(Ordering::SeqCst),
        );
        let mut failed = false;
        self.inner().read(workshop, after, &mut |mut record| {
            if record.position.0 == fails_at {
                failed = true;
                return ControlFlow::Break(());
            }
            if record.position.0 == alters {
                record.day = date(2020, 1, 1);
            }
            visit(record)
        })?;
        if failed {
            Err(StoreError::Busy)
        } else {
            Ok(())
        }
    }

    fn restore(
        &self,
        workshop: &WorkshopId,
        next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
    ) -> Result<Head, RestoreError> {
        self.inner().restore(workshop, next)
    }
}

fn id() -> WorkshopId {
    WorkshopId::try_new("test").unwrap()
}

fn open(store: &Arc<Unruly>) -> App {
    App::open(store.clone(), Arc::new(FixedClock(TODAY)), id()).unwrap()
}

fn enter(app: &App, name: &str) -> Result<Done, ActError> {
    let supply = Filled::of([("kind", "wax"), ("name", name)]);
    forms::define_supply(app, "test", &supply)
}

/// How many facts were folded, and the names on the shelf.
fn shelf(app: &App) -> Result<(u64, Vec<String>), OpenError> {
    app.look(|workshop| {
        let names = workshop.supplies().map(|supply| supply.name.clone());
        (workshop.facts(), names.collect())
    })
}

#[track_caller]
fn check(app: &App, names: &[&str]) {
    let (facts, found) = shelf(app).unwrap();
    assert_eq!(found, names);
    assert_eq!(facts, names.len() as u64, "each fact is folded once");
}

fn write_raw(store: &Unruly, name: &str, payload: &str) {
    let entry = Entry::try_new(TODAY, "test", name, 1, payload).unwrap();
    let head = store.head(&id()).unwrap();
    store
        .append(&id(), head, Timestamp::UNIX_EPOCH, &[entry])
        .unwrap();
}

#[test]
fn a_catch_up_that_fails_part_way_goes_on_where_it_ended() {
    let store = Arc::new(Unruly::default());
    let (mine, other) = (open(&store), open(&store));
    for name in ["soy", "paraffin", "beeswax"] {
        enter(&other, name).unwrap();
    }
    store.fails_at.store(3, Ordering::SeqCst);
    for _ in 0..3 {
        assert!(matches!(
            shelf(&mine),
            Err(OpenError::Read(ReadError::Store(StoreError::Busy)))
        ));
    }
    store.fails_at.store(0, Ordering::SeqCst);
    check(&mine, &["soy", "paraffin", "beeswax"]);
}

#[test]
fn a_broken_link_stops_every_look_and_every_act() {
    let store = Arc::new(Unruly::default());
    let (mine, other) = (open(&store), open(&store));
    for name in ["soy", "paraffin", "beeswax"] {
        enter(&other, name).unwrap();
    }
    store.alters.store(2, Ordering::SeqCst);
    for _ in 0..2 {
        assert!(matches!(
            shelf(&mine),
            Err(OpenError::Read(ReadError::Chain(_)))
        ));
        assert!(matches!(enter(&mine, "rapeseed"), Err(ActError::Read(_))));
    }
    assert_eq!(store.head(&id()).unwrap().position.0, 3);
    store.alters.store(0, Ordering::SeqCst);
    check(&mine, &["soy", "paraffin", "beeswax"]);
}

#[test]
fn a_record_that_is_not_understood_is_never_written_past() {
    let store = Arc::new(Unruly::default());
    let mine = open(&store);
    enter(&mine, "soy").unwrap();
    check(&mine, &["soy"]);
    write_raw(&store, "SupplyTransmuted", "{}");
    for _ in 0..2 {
        let error = shelf(&mine).unwrap_err();
        assert!(
            matches!(error, OpenError::Fact { position: 2, .. }),
            "{error}"
        );
        let error = enter(&mine, "paraffin").unwrap_err();
        assert!(
            matches!(error, ActError::Read(OpenError::Fact { position: 2, .. })),
            "{error}"
        );
    }
    assert_eq!(
        store.head(&id()).unwrap().position.0,
        2,
        "nothing was added"
    );
    let again = App::open(store, Arc::new(FixedClock(TODAY)), id());
    assert!(matches!(
        again.err(),
        Some(OpenError::Fact { position: 2, .. })
    ));
}

#[test]
fn a_wish_is_decided_on_what_others_wrote() {
    let store = Arc::new(Unruly::default());
    let (mine, other) = (open(&store), open(&store));
    enter(&other, "soy").unwrap();
    // On what this program had folded, the name would be free.
    let refused = enter(&mine, "soy").unwrap_err();
    assert!(
        matches!(refused, ActError::Refused(Refusal::Input(_))),
        "{refused}"
    );
    check(&mine, &["soy"]);
    // And the delivery of a supply that only the other has entered is taken.
    enter(&other, "paraffin").unwrap();
    let delivery = Filled::of([
        ("lines[0].supply", "2"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00 USD"),
    ]);
    forms::receive(&mine, "test", &delivery).unwrap();
}

#[test]
fn a_wish_that_others_overtook_is_decided_again_before_it_is_kept() {
    let store = Arc::new(Unruly::default());
    let (mine, other) = (open(&store), open(&store));
    enter(&other, "soy").unwrap();
    let seen = std::sync::Mutex::new(Vec::new());
    let done = mine.act("test", |workshop, _| {
        seen.lock().unwrap().push(workshop.facts());
        let kind = workshop::facts::SupplyKind::Wax;
        workshop::decide::define_supply(workshop, kind, "paraffin", None, None)
    });
    done.unwrap();
    // The append refused what was decided on an empty shelf; the second
    // decision knew the soy and took the next number.
    assert_eq!(*seen.lock().unwrap(), [0, 1]);
    check(&mine, &["soy", "paraffin"]);
    check(&other, &["soy", "paraffin"]);
}

#[test]
fn a_refusal_stands_only_when_nothing_was_written_in_between() {
    let store = Arc::new(Unruly::default());
    let (mine, other) = (open(&store), open(&store));
    let calls = AtomicU64::new(0);
    let done = mine.act("test", |workshop, _| {
        // The other program writes while this one decides for the first time.
        if calls.fetch_add(1, Ordering::SeqCst) == 0 {
            enter(&other, "soy").unwrap();
        }
        let known = workshop.supplies().next();
        let known = known.ok_or_else(|| Refusal::Unknown {
            what: "supply",
            id: "1".to_owned(),
        })?;
        workshop::decide::amend_supply(workshop, known.id, "soy flakes", None, None)
    });
    done.unwrap();
    let (facts, names) = shelf(&mine).unwrap();
    assert_eq!((facts, names), (2, vec!["soy flakes".to_owned()]));
}

#[test]
fn a_journal_put_back_while_it_is_open_is_folded_anew() {
    for extra in 0..3 {
        let store = Arc::new(Unruly::default());
        let mine = open(&store);
        enter(&mine, "soy").unwrap();
        enter(&mine, "paraffin").unwrap();
        check(&mine, &["soy", "paraffin"]);
        let mark = mine.mark().unwrap();

        // Another journal: shorter than what was folded, as long, and longer.
        let copy = Arc::new(Unruly::default());
        let elsewhere = open(&copy);
        let names: Vec<_> = ["beeswax", "rapeseed", "coconut"]
            .into_iter()
            .take(1 + extra)
            .collect();
        for name in &names {
            enter(&elsewhere, name).unwrap();
        }
        store.put_back(copy.inner());
        check(&mine, &names);
        assert_ne!(mine.mark().unwrap(), mark);
        enter(&mine, "stearic").unwrap();
        check(&elsewhere, &[names.as_slice(), &["stearic"]].concat());
    }
}

#[test]
fn an_older_copy_put_back_is_gone_on_from() {
    let store = Arc::new(Unruly::default());
    let mine = open(&store);
    enter(&mine, "soy").unwrap();
    let copy = Arc::new(MemoryStore::new());
    let mut records = Vec::new();
    store
        .read(&id(), Position::START, &mut |record| {
            records.push(record);
            ControlFlow::Continue(())
        })
        .unwrap();
    let mut records = records.into_iter();
    copy.restore(&id(), &mut || Ok(records.next())).unwrap();
    let mark = mine.mark().unwrap();
    enter(&mine, "paraffin").unwrap();
    check(&mine, &["soy", "paraffin"]);
    store.put_back(copy);
    check(&mine, &["soy"]);
    assert_eq!(mine.mark().unwrap(), mark, "it is the same journal");
    enter(&mine, "beeswax").unwrap();
    check(&mine, &["soy", "beeswax"]);
}

#[test]
fn a_name_that_cannot_stand_in_a_journal_is_an_error() {
    let store = Arc::new(Unruly::default());
    let mine = open(&store);
    let supply = Filled::of([("kind", "wax"), ("name", "soy")]);
    let error = forms::define_supply(&mine, "two\nlines", &supply).unwrap_err();
    assert!(matches!(error, ActError::Unfit(_)), "{error}");
    assert_eq!(store.head(&id()).unwrap(), Head::EMPTY);
}

#[test]
fn the_mark_tells_one_journal_from_another() {
    let store = Arc::new(Unruly::default());
    let mine = open(&store);
    assert_eq!(mine.mark().unwrap(), "");
    enter(&mine, "soy").unwrap();
    let mark = mine.mark().unwrap();
    assert_eq!(mark.len(), 12);
    enter(&mine, "paraffin").unwrap();
    assert_eq!(mine.mark().unwrap(), mark);
    assert_eq!(open(&store).mark().unwrap(), mark);
}
