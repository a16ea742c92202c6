//! What a person waits for, on a journal of 200,000 facts: opening it, every
//! main page, and writing one fact down. Prints a table; nothing is asserted.
//!
//! The facts are made by the same decisions as a maker's own, over ten years
//! of pours in three moulds, into one SQLite file.

use std::sync::Arc;
use std::time::{Duration, Instant};

use app::{App, FixedClock};
use axum::body::Body;
use axum::http::Request;
use jiff::civil::{Date, date};
use journal::{Entry, Head, Record, Store, WorkshopId, read_verified};
use journal_sqlite::{OpenOptions, SqliteStore};
use measure::{Currency, Decimal, DecimalMark, MassUnit, Money, System, Typed};
use tower::ServiceExt;
use workshop::facts::{
    Amount, BlendPart, Dated, Format, FormulaId, FreightSpread, MouldId, PartFill, PourCount,
    ProductId, ReceiptLine, Recipe, Settings, SupplyId, SupplyKind,
};
use workshop::{Fact, Refusal, Workshop, decide};

/// Facts in the journal.
const FACTS: usize = 200_000;
/// Requests to each page.
const ROUNDS: usize = 200;
/// Times the journal is opened and replayed; the median is told, and the worst.
const OPENINGS: usize = 5;
/// Turns of each side of the durable appends, and appends a turn.
const TURNS: usize = 21;
const APPENDS: usize = 100;
/// Names the journal that a process of its own is to hold, and nothing more.
const OPEN_ONLY: &str = "POURWRIGHT_BENCH_HOLD";
/// Facts in one append while the journal is made.
const AT_ONCE: usize = 2_000;

fn main() {
    if let Some(path) = std::env::var_os(OPEN_ONLY) {
        return hold(&path);
    }
    // On the disk of the target directory: the temporary directory may be memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a temporary folder");
    let path = folder.path().join("journal.sqlite");
    let id = WorkshopId::try_new("workshop").expect("small letters");
    let facts = make();
    let last = facts.last().expect("facts were made").0;
    println!("{} facts, {} to {last}", facts.len(), facts[0].0);
    fill(&path, &id, &facts);
    let size = std::fs::metadata(&path).map_or(0, |file| file.len());
    println!("journal file: {:.1} MB", size as f64 / 1e6);

    decode_and_fold(&facts);
    drop(facts);
    let store = || Arc::new(SqliteStore::open(&path, &OpenOptions::default()).expect("it opens"));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    let (mut opened, mut shown) = (Vec::new(), Vec::new());
    let mut last_opened = None;
    for _ in 0..OPENINGS {
        drop(last_opened.take());
        let started = Instant::now();
        let app = Arc::new(open(store(), last, &id));
        opened.push(started.elapsed());
        let router = web::router(Arc::clone(&app), web::Doors::loopback(7364));
        runtime.block_on(get(&router, "/"));
        shown.push(started.elapsed());
        last_opened = Some((app, router));
    }
    let (app, router) = last_opened.expect("it was opened at least once");
    let (opened, shown) = (Spread::of(opened), Spread::of(shown));
    println!(
        "start to first page, of {OPENINGS}: median {:.0} ms, worst {:.0} ms",
        ms(shown.median),
        ms(shown.worst)
    );
    println!(
        "of that, replay with every hash checked: median {:.0} ms, {:.0} facts a second",
        ms(opened.median),
        FACTS as f64 / opened.median.as_secs_f64()
    );
    println!(
        "memory of a process that holds it: {:.0} MB resident",
        memory_of(&path)
    );
    verify_alone(&store(), &id);

    println!(
        "{:<28} {:>9} {:>9} {:>9}",
        "page", "first ms", "p50 ms", "p99 ms"
    );
    for page in [
        "/",
        "/quick",
        "/shelf",
        "/shelf/supply/1",
        "/bench",
        "/bench/formula/1",
        "/bench/moulds",
        "/bench/mould/1",
        "/pour",
        "/pour/new",
        "/pour/100",
        "/pour/100/sheet",
        "/rack",
        "/rack/100",
        "/stall",
        "/stall/good/1",
        "/books",
        "/books/lot/100",
        "/books/compare?a=1&b=2",
        "/settings",
        "/work",
    ] {
        let mut times: Vec<_> = (0..=ROUNDS)
            .map(|_| runtime.block_on(get(&router, page)))
            .collect();
        let cold = times.remove(0);
        times.sort();
        let at = |share: usize| times[(times.len() - 1) * share / 100];
        println!(
            "{page:<28} {:>9.2} {:>9.2} {:>9.2}",
            ms(cold),
            ms(at(50)),
            ms(at(99))
        );
    }
    durable_appends(&app, &path, &id);
}

/// The middle and the worst of several times.
struct Spread {
    median: Duration,
    worst: Duration,
}

impl Spread {
    fn of(mut times: Vec<Duration>) -> Self {
        times.sort_unstable();
        Self {
            median: times[times.len() / 2],
            worst: times[times.len() - 1],
        }
    }
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// Opens a journal in this process, which does nothing else, and prints what
/// it holds in memory.
fn hold(path: &std::ffi::OsStr) {
    let id = WorkshopId::try_new("workshop").expect("small letters");
    let store = SqliteStore::open(path, &OpenOptions::default()).expect("it opens");
    let app = open(Arc::new(store), date(2026, 11, 25), &id);
    let facts = app.look(Workshop::facts).expect("it was just read");
    assert!(facts >= FACTS as u64, "{facts} facts");
    println!("{}", resident());
}

/// Resident memory in MB of a process of its own that holds the journal.
fn memory_of(path: &std::path::Path) -> f64 {
    let this = std::env::current_exe().expect("a bench has a file");
    let told = std::process::Command::new(this)
        .env(OPEN_ONLY, path)
        .output()
        .expect("it starts again");
    let told = String::from_utf8_lossy(&told.stdout);
    told.trim()
        .parse::<f64>()
        .map_or(f64::NAN, |bytes| bytes / 1e6)
}

/// Resident memory of this process in bytes; nothing where the system does not tell.
fn resident() -> f64 {
    std::fs::read_to_string("/proc/self/status")
        .ok()
        .and_then(|status| {
            let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
            line.split_whitespace().nth(1)?.parse::<f64>().ok()
        })
        .map_or(0.0, |kilobytes| kilobytes * 1024.0)
}

fn open(store: Arc<SqliteStore>, today: Date, id: &WorkshopId) -> App {
    App::open(store, Arc::new(FixedClock(today)), id.clone()).expect("the journal is sound")
}

async fn get(router: &axum::Router, path: &str) -> Duration {
    let request = Request::get(path)
        .header("host", "localhost:7364")
        .body(Body::empty())
        .expect("the path is sound");
    let started = Instant::now();
    let reply = router
        .clone()
        .oneshot(request)
        .await
        .expect("a router answers");
    assert!(reply.status().is_success(), "{path}: {}", reply.status());
    axum::body::to_bytes(reply.into_body(), usize::MAX)
        .await
        .expect("a whole page");
    started.elapsed()
}

fn decode_and_fold(facts: &[(Date, Fact)]) {
    let stored: Vec<_> = facts
        .iter()
        .map(|(day, fact)| (*day, fact.name(), fact.version(), fact.write()))
        .collect();
    let times = (0..OPENINGS)
        .map(|_| {
            let started = Instant::now();
            let mut workshop = Workshop::default();
            for (day, name, version, payload) in &stored {
                let fact = Fact::read(name, *version, payload).expect("it was just written");
                workshop.apply(&Dated { day: *day, fact });
            }
            started.elapsed()
        })
        .collect();
    let rate = stored.len() as f64 / Spread::of(times).median.as_secs_f64();
    println!("replay, JSON to state in memory: {rate:.0} facts a second");
}

/// One fact after the other through a use case, turn by turn with bare SQLite
/// inserting the same records, as many behind them, with the same durability.
fn durable_appends(app: &App, path: &std::path::Path, id: &WorkshopId) {
    let bare = bare(path);
    let store = SqliteStore::open(path, &OpenOptions::default()).expect("it opens");
    let (mut by_app, mut by_bare) = (Vec::new(), Vec::new());
    for turn in 0..TURNS {
        let before = store.head(id).expect("it can be read").position;
        let started = Instant::now();
        for nth in 0..APPENDS {
            let cents = i64::try_from(turn * APPENDS + nth).expect("a few thousand");
            let price = |more| dollars(400 + cents + more);
            let (low, typical, high) = (price(0), price(100), price(200));
            app.act("bench", |workshop, _| {
                decide::set_prices(workshop, ProductId(1), low, typical, high)
            })
            .expect("the workshop allows it");
        }
        by_app.push(started.elapsed());

        let mut records = Vec::with_capacity(APPENDS);
        store
            .read(id, before, &mut |record| {
                records.push(record);
                std::ops::ControlFlow::Continue(())
            })
            .expect("it can be read");
        assert_eq!(records.len(), APPENDS);
        let started = Instant::now();
        for record in &records {
            insert(&bare, record).expect("room on the disk");
        }
        by_bare.push(started.elapsed());
    }
    let rate = |time: Duration| APPENDS as f64 / time.as_secs_f64();
    let (by_app, by_bare) = (Spread::of(by_app).median, Spread::of(by_bare).median);
    println!(
        "durable appends of one fact by a use case: {:.0} a second, bare SQLite {:.0} a second, \
         ratio {:.2} (median of {TURNS} turns of {APPENDS})",
        rate(by_app),
        rate(by_bare),
        by_app.as_secs_f64() / by_bare.as_secs_f64()
    );
}

/// The same records in the plainest table that could hold them.
fn bare(path: &std::path::Path) -> rusqlite::Connection {
    let bare = path.with_file_name("bare.sqlite");
    let opened = rusqlite::Connection::open(bare).and_then(|bare| {
        bare.execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; \
             PRAGMA checkpoint_fullfsync = ON; \
             CREATE TABLE record (workshop TEXT, position INTEGER, recorded INTEGER, day TEXT, \
             who TEXT, name TEXT, version INTEGER, payload TEXT, previous BLOB, hash BLOB, \
             PRIMARY KEY (workshop, position)) STRICT, WITHOUT ROWID",
        )?;
        bare.execute("ATTACH ?1 AS journal", [path.to_string_lossy()])?;
        bare.execute_batch("INSERT INTO main.record SELECT * FROM journal.record; DETACH journal")?;
        Ok(bare)
    });
    opened.expect("a table of its own")
}

fn insert(bare: &rusqlite::Connection, record: &Record) -> rusqlite::Result<()> {
    let previous = record
        .previous
        .as_ref()
        .map(|hash| hash.as_bytes().as_slice());
    bare.prepare_cached("INSERT INTO record VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")?
        .execute(rusqlite::params![
            record.workshop.as_str(),
            record.position.0.cast_signed(),
            record.recorded.as_microsecond(),
            record.day.to_string(),
            record.who,
            record.name,
            record.version,
            record.payload,
            previous,
            record.hash.as_bytes().as_slice(),
        ])?;
    Ok(())
}

fn verify_alone(store: &SqliteStore, id: &WorkshopId) {
    let started = Instant::now();
    read_verified(store, id, Head::EMPTY, |_| {
        std::ops::ControlFlow::Continue(())
    })
    .expect("the journal is sound");
    println!(
        "of that, reading and checking hashes alone: {:.0} ms",
        ms(started.elapsed())
    );
}

fn fill(path: &std::path::Path, id: &WorkshopId, facts: &[(Date, Fact)]) {
    let options = OpenOptions {
        create: true,
        ..OpenOptions::default()
    };
    let store = SqliteStore::open(path, &options).expect("a new journal");
    let mut head = Head::EMPTY;
    let mut written = Duration::ZERO;
    for chunk in facts.chunks(AT_ONCE) {
        let entries: Vec<_> = chunk
            .iter()
            .map(|(day, fact)| {
                Entry::try_new(*day, "bench", fact.name(), fact.version(), &fact.write())
                    .expect("a fact is sound")
            })
            .collect();
        let started = Instant::now();
        head = store
            .append(id, head, jiff::Timestamp::UNIX_EPOCH, &entries)
            .expect("room on the disk");
        written += started.elapsed();
    }
    println!(
        "append, {AT_ONCE} facts at once: {:.0} facts a second",
        facts.len() as f64 / written.as_secs_f64()
    );
}

/// Ten years of pours.
fn make() -> Vec<(Date, Fact)> {
    let mut made = Made {
        workshop: Workshop::default(),
        facts: Vec::with_capacity(FACTS + 64),
        day: date(2016, 1, 4),
    };
    made.set_up();
    let mut n = 0_u32;
    while made.facts.len() < FACTS {
        n += 1;
        if n.is_multiple_of(4) {
            made.day = made.day.tomorrow().unwrap_or(made.day);
        }
        if n.is_multiple_of(40) {
            made.receive();
        }
        made.pour(n);
    }
    made.facts
}

struct Made {
    workshop: Workshop,
    facts: Vec<(Date, Fact)>,
    day: Date,
}

impl Made {
    fn note(&mut self, decided: Result<Vec<Fact>, Refusal>) {
        for fact in decided.expect("the workshop allows it") {
            let dated = Dated {
                day: self.day,
                fact,
            };
            self.workshop.apply(&dated);
            self.facts.push((dated.day, dated.fact));
        }
    }

    fn set_up(&mut self) {
        let settings = Settings {
            name: "Ten years of Quillfen".to_owned(),
            system: System::Us,
            currency: Currency::USD,
            decimal_mark: DecimalMark::Point,
            readability: ounces(10, 2),
            expected_loss: None,
            melter: None,
            wage: Some(dollars(1800)),
            overhead_per_hour: Some(dollars(350)),
        };
        self.note(decide::set_up(&self.workshop, settings));
        for (kind, name) in [
            (SupplyKind::Wax, "soy container wax"),
            (SupplyKind::FragranceOil, "Harbour Fig oil"),
            (SupplyKind::Wrap, "foil"),
        ] {
            self.note(decide::define_supply(
                &self.workshop,
                kind,
                name,
                None,
                None,
            ));
        }
        self.receive();
        let recipe = Recipe {
            blend: vec![BlendPart {
                supply: SupplyId(1),
                parts: Decimal::ONE_HUNDRED,
            }],
            oil: Some(SupplyId(2)),
            load: "8 % of wax".parse().expect("a load"),
            dye: None,
            add_at: None,
            pour_at: None,
            cure_days: 7,
            set_density: None,
        };
        self.note(decide::define_formula(
            &self.workshop,
            "Harbour Fig",
            recipe,
        ));
        for (name, cavities) in [("12-bar mould", 12), ("tray of 24", 24), ("6 tins", 6)] {
            let format = Format::SnapBar;
            self.note(decide::define_mould(
                &self.workshop,
                name,
                format,
                cavities,
                None,
                None,
            ));
        }
        for mould in 1..=3 {
            let name = format!("good {mould}");
            let (formula, mould) = (FormulaId(1), MouldId(mould));
            let packing = vec![(SupplyId(3), 1)];
            self.note(decide::define_product(
                &self.workshop,
                &name,
                formula,
                mould,
                packing,
            ));
            let product = ProductId(mould.0);
            let prices = [400, 500, 600].map(dollars);
            let [low, typical, high] = prices;
            self.note(decide::set_prices(
                &self.workshop,
                product,
                low,
                typical,
                high,
            ));
        }
    }

    fn receive(&mut self) {
        let line = |supply, amount, paid| ReceiptLine {
            volume: None,
            supply: SupplyId(supply),
            supplier_lot: "S-1".to_owned(),
            amount,
            paid: dollars(paid),
        };
        let lines = vec![
            line(1, Amount::Weight(ounces(160_000, 2)), 19_000),
            line(2, Amount::Weight(ounces(12_800, 2)), 16_000),
            line(3, Amount::Count(1_000), 4_000),
        ];
        let freight = Some(dollars(3_000));
        let spread = FreightSpread::ByWeight;
        self.note(decide::receive(
            &self.workshop,
            "Averin Chandlery",
            lines,
            freight,
            spread,
        ));
    }

    fn pour(&mut self, n: u32) {
        let product = ProductId(n % 3 + 1);
        let mould = MouldId(product.0);
        let cavities = self
            .workshop
            .mould(mould)
            .map_or(12, |mould| mould.cavities);
        let total = ounces(i64::from(cavities) * 160 + i64::from(n % 17), 2);
        let recipe = self
            .workshop
            .formula(FormulaId(1))
            .map(|formula| formula.current().clone());
        let recipe = recipe.expect("the formula was written down");
        let target = formula::Target::Total(total.value());
        let planned = workshop::plan_pour(&self.workshop, &recipe, target).expect("a plan");
        let pour = self.workshop.next_pour();
        let (formula, day) = (FormulaId(1), self.day);
        self.note(decide::start_pour(
            &self.workshop,
            formula,
            Some(mould),
            Some(product),
            cavities,
            planned.portions,
            day,
        ));
        for portion in 0..2 {
            let weight = self
                .workshop
                .pour(pour)
                .map(|pour| pour.targets[portion as usize].clone());
            let weight = weight.expect("it was begun");
            self.note(decide::weigh(&self.workshop, pour, portion, weight));
        }
        let warm = Typed::parse("155 F").ok();
        self.note(decide::pour_out(&self.workshop, pour, warm, None));
        let count = PourCount {
            full: cavities,
            part: PartFill::None,
            left: Some(ounces(i64::from(n % 7), 2)),
            topped_up: None,
        };
        self.note(decide::count(&self.workshop, pour, count, None));
        let weights = (0..5)
            .map(|i| ounces(i64::from(150 + (n + i) % 9), 2))
            .collect();
        self.note(decide::weigh_units(&self.workshop, pour, weights));
        let minutes = Typed::parse("40 min").ok();
        self.note(decide::finish(
            &self.workshop,
            pour,
            cavities - 1,
            1,
            0,
            minutes,
        ));
    }
}

fn ounces(figure: i64, scale: u32) -> Typed<measure::Mass> {
    Typed::from_decimal(Decimal::new(figure, scale), MassUnit::Ounce).expect("a few ounces")
}

fn dollars(cents: i64) -> Money {
    Money::from_minor(cents, Currency::USD)
}
