//! What a person waits for in a busy workshop: a made-up year of 40 goods, 600
//! pours, 60 market days and 20,000 sale lines in one SQLite file. Every page
//! that a link leads to is asked for over and over, with nothing changed and
//! again after each new sale; every lot is traced. Prints tables; nothing is
//! asserted on wall time.
//!
//! `POURWRIGHT_YEARS=10` makes ten such years.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use app::{App, FixedClock};
use axum::body::Body;
use axum::http::Request;
use journal_sqlite::{OpenOptions, SqliteStore};
use tokio::runtime::Runtime;
use tower::ServiceExt;
use workshop::books::Books;
use workshop::decide::{self, Counted, LineWish, MarketDayWish, SaleWish};
use workshop::facts::{
    ChannelId, CostMethod, Dated, DayCosts, MarketDayId, Payment, Place, ProductId, Suspect,
};
use workshop::selling::Picker;
use workshop::trace::trace;
use workshop::{Fact, Workshop};

#[path = "../year/mod.rs"]
mod year;

/// Requests to each page with nothing changed.
const ROUNDS: usize = 100;
/// Requests to each page after a new sale each.
const AFTER_SALES: usize = 20;
/// Requests to each paper and each file to take away.
const PAPERS: usize = 5;
/// Pages of one shape that are asked for.
const ALIKE: usize = 2;
/// Times the journal is opened and replayed.
const OPENINGS: usize = 5;
/// Sales tapped one after the other.
const TAPS: usize = 300;
/// Names the journal that a process of its own is to hold, and nothing more.
const OPEN_ONLY: &str = "POURWRIGHT_BENCH_HOLD";
/// Names the only pages to ask for: those that begin so.
const PAGES: &str = "POURWRIGHT_BENCH_PAGES";

fn main() -> anyhow::Result<()> {
    if let Some(path) = std::env::var_os(OPEN_ONLY) {
        let app = open(Path::new(&path));
        app.look(Workshop::facts)?;
        println!("{}", resident());
        return Ok(());
    }
    let years = std::env::var("POURWRIGHT_YEARS")
        .ok()
        .and_then(|years| years.parse().ok())
        .unwrap_or(1);
    // On the disk of the target directory: the temporary directory may be memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let path = folder.path().join("year.sqlite");
    let started = Instant::now();
    let made = year::make(year::Size::FULL.for_years(years), year::SEED);
    let n_facts = made.facts.len();
    println!(
        "{n_facts} facts of {years} year(s), made in {:.1} s",
        started.elapsed().as_secs_f64()
    );
    year::write(&path, &made)?;
    let size = std::fs::metadata(&path)?.len();
    println!("journal file: {:.1} MB", size as f64 / 1e6);
    fold_alone(&made);
    drop(made);

    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    let (mut opened, mut shown) = (Vec::new(), Vec::new());
    for _ in 0..OPENINGS {
        let started = Instant::now();
        let app = Arc::new(open(&path));
        opened.push(started.elapsed());
        let router = web::router(app, web::Doors::loopback(7364));
        ask(&runtime, &router, "/");
        shown.push(started.elapsed());
    }
    let opened = Times::of(opened);
    println!(
        "replay from the file, every hash checked: {}, {:.0} facts a second",
        opened.told(),
        n_facts as f64 / opened.at(50).as_secs_f64()
    );
    println!("start to first page: {}", Times::of(shown).told());
    println!(
        "memory of a process that holds it: {:.0} MB resident",
        memory_of(&path)
    );

    let app = Arc::new(open(&path));
    let router = web::router(Arc::clone(&app), web::Doors::loopback(7364));
    books_alone(&app)?;
    traces(&app, &runtime, &router)?;
    let stall = Stall::open(&app)?;
    taps(&app, &stall)?;
    pages(&app, &runtime, &router, &stall)
}

fn open(path: &Path) -> App {
    let store = SqliteStore::open(path, &OpenOptions::default()).expect("it opens");
    let clock = Arc::new(FixedClock(year::LAST));
    App::open(Arc::new(store), clock, year::id()).expect("the journal is sound")
}

/// Several times, the shortest first.
struct Times(Vec<Duration>);

impl Times {
    fn of(mut times: Vec<Duration>) -> Self {
        times.sort_unstable();
        Self(times)
    }

    fn at(&self, hundredths: usize) -> Duration {
        self.0[(self.0.len() - 1) * hundredths / 100]
    }

    fn told(&self) -> String {
        format!(
            "p50 {:.2} ms, p99 {:.2} ms, longest {:.2} ms of {}",
            ms(self.at(50)),
            ms(self.at(99)),
            ms(self.at(100)),
            self.0.len()
        )
    }
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn timed<T>(what: impl FnOnce() -> T) -> Duration {
    let started = Instant::now();
    std::hint::black_box(what());
    started.elapsed()
}

fn fold_alone(made: &year::Year) {
    let times = (0..OPENINGS).map(|_| {
        timed(|| {
            let mut workshop = Workshop::default();
            for (day, fact) in &made.facts {
                workshop.apply(&Dated {
                    day: *day,
                    fact: fact.clone(),
                });
            }
            workshop
        })
    });
    let times = Times::of(times.collect());
    println!("folding facts that are read: {}", times.told());
}

/// What the first page of the books after a change pays.
fn books_alone(app: &App) -> anyhow::Result<()> {
    let (one, both) = app.look(|workshop| {
        let reckon = |methods: &[CostMethod]| {
            let books = Books::of(workshop).expect("there is a currency");
            let flows = methods.iter().map(|method| books.by(*method).flows());
            flows.map(<[_]>::len).sum::<usize>()
        };
        let times = |methods: &[CostMethod]| {
            let times = (0..ROUNDS).map(|_| timed(|| reckon(methods)));
            Times::of(times.collect())
        };
        (times(&[CostMethod::Fifo]), times(&CostMethod::ALL))
    })?;
    println!("the books reckoned anew, one method: {}", one.told());
    println!("the books reckoned anew, both: {}", both.told());
    Ok(())
}

/// Every lot and every supply lot, once as a query and once as a page.
fn traces(app: &App, runtime: &Runtime, router: &axum::Router) -> anyhow::Result<()> {
    let (lots, supply_lots) = app.look(|workshop| {
        let lots: Vec<_> = workshop
            .pours()
            .filter(|pour| pour.finished.is_some())
            .map(|pour| pour.id)
            .collect();
        let receipts = workshop.receipts();
        let lines = receipts.flat_map(|receipt| {
            let n_lines = u32::try_from(receipt.lines.len()).unwrap_or(0);
            (0..n_lines).map(|line| workshop::facts::SupplyLot {
                receipt: receipt.id,
                line,
            })
        });
        (lots, lines.collect::<Vec<_>>())
    })?;
    let suspects: [(&str, Vec<(Suspect, String)>); 2] = [
        (
            "lots",
            lots.iter()
                .map(|lot| (Suspect::Lot(*lot), format!("/rack/{lot}/where")))
                .collect(),
        ),
        (
            "supply lots",
            supply_lots
                .iter()
                .map(|lot| {
                    let page = format!("/shelf/delivery/{}/line/{}/where", lot.receipt, lot.line);
                    (Suspect::SupplyLot(*lot), page)
                })
                .collect(),
        ),
    ];
    for (name, suspects) in suspects {
        let queries = app.look(|workshop| {
            let each = suspects
                .iter()
                .map(|(suspect, _)| timed(|| trace(workshop, *suspect)));
            Times::of(each.collect())
        })?;
        println!("trace of all {name}: {}", queries.told());
        let pages = suspects
            .iter()
            .filter_map(|(_, page)| ask(runtime, router, page).map(|(time, _)| time));
        let pages = Times::of(pages.collect());
        println!("page that traces one of the {name}: {}", pages.told());
    }
    Ok(())
}

/// A market day that is held while the pages are measured.
struct Stall {
    day: MarketDayId,
    product: ProductId,
}

impl Stall {
    fn open(app: &App) -> anyhow::Result<Self> {
        let wish = MarketDayWish {
            channel: ChannelId(1),
            market: "Quarry Lane".to_owned(),
            on: year::LAST,
            costs: DayCosts::default(),
            hours: None,
            called_off: false,
        };
        let done = app.act("bench", |workshop, _| {
            decide::settle_market_day(workshop, None, wish.clone())
        })?;
        let day = done.facts.iter().find_map(|fact| match fact {
            Fact::MarketDaySettled(fact) => Some(fact.market_day),
            _ => None,
        });
        let day = day.expect("a day was planned");
        let (product, most) = app.look(|workshop| {
            let mut picker = Picker::new(workshop, year::LAST);
            let goods = workshop.products().map(|good| good.id);
            let goods = goods.map(|id| (id, picker.fit(Place::Rack, id)));
            goods
                .max_by_key(|(_, count)| *count)
                .expect("there are goods")
        })?;
        app.act("bench", |workshop, today| {
            decide::take_goods(workshop, day, &[Counted::of(product, most)], today)
        })?;
        Ok(Self { day, product })
    }

    fn tap(&self, app: &App, token: String) -> anyhow::Result<()> {
        let line = LineWish {
            units: Counted::of(self.product, 1),
            paid: None,
        };
        let wish = SaleWish::tapped(token, self.day, vec![line], Payment::Cash);
        app.act("bench", |workshop, today| {
            decide::sell(workshop, &wish, today)
        })?;
        Ok(())
    }
}

/// Sales as a phone sends them, each on the disk before the next.
fn taps(app: &App, stall: &Stall) -> anyhow::Result<()> {
    let mut times = Vec::with_capacity(TAPS);
    for nth in 0..TAPS {
        let started = Instant::now();
        stall.tap(app, format!("tapped-{nth}"))?;
        times.push(started.elapsed());
    }
    println!("a tapped sale, durable: {}", Times::of(times).told());
    Ok(())
}

/// Every page that a link leads to, a few of each shape.
fn pages(app: &App, runtime: &Runtime, router: &axum::Router, stall: &Stall) -> anyhow::Result<()> {
    let only = std::env::var(PAGES).unwrap_or_default();
    let shapes = crawl(runtime, router);
    println!(
        "\n{:<58} {:>8} {:>8} {:>8} {:>10} {:>10} {:>8}",
        "page", "first ms", "p50 ms", "p99 ms", "sale p50", "sale max", "kB"
    );
    let mut taps = 0;
    for paths in shapes.values() {
        // Of pages of one shape, the slowest is told.
        let mut slowest: Option<(Duration, String)> = None;
        for path in paths.iter().filter(|path| path.starts_with(&only)) {
            let Some((first, size)) = ask(runtime, router, path) else {
                continue;
            };
            let is_page = !path.starts_with("/print/") && !path.starts_with("/books/take/");
            let (rounds, sales) = if is_page {
                (ROUNDS, AFTER_SALES)
            } else {
                (PAPERS, PAPERS)
            };
            let again = |_| ask(runtime, router, path).map(|(time, _)| time);
            let times = Times::of((0..rounds).filter_map(again).collect());
            let mut after = Vec::with_capacity(sales);
            for _ in 0..sales {
                taps += 1;
                stall.tap(app, format!("between-{taps}"))?;
                after.extend(ask(runtime, router, path).map(|(time, _)| time));
            }
            let after = Times::of(after);
            let line = format!(
                "{path:<58} {:>8.2} {:>8.2} {:>8.2} {:>10.2} {:>10.2} {:>8.1}",
                ms(first),
                ms(times.at(50)),
                ms(times.at(99)),
                ms(after.at(50)),
                ms(after.at(100)),
                size as f64 / 1e3
            );
            let worst = times.at(99).max(after.at(50));
            if slowest.as_ref().is_none_or(|(so_far, _)| worst > *so_far) {
                slowest = Some((worst, line));
            }
        }
        if let Some((_, line)) = slowest {
            println!("{line}");
        }
    }
    Ok(())
}

/// Follows every link, and keeps a few paths of each shape: the same words
/// with other numbers.
fn crawl(runtime: &Runtime, router: &axum::Router) -> BTreeMap<String, Vec<String>> {
    let mut shapes: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    let mut next: VecDeque<String> = VecDeque::from(["/".to_owned()]);
    while let Some(path) = next.pop_front() {
        let alike = shapes.entry(shape(&path)).or_default();
        if alike.len() == ALIKE {
            continue;
        }
        alike.push(path.clone());
        let Some(html) = text(runtime, router, &path) else {
            continue;
        };
        for link in html.split("href=\"").skip(1) {
            let link = link.split(['"', '#']).next().unwrap_or_default();
            let link = link.replace("&amp;", "&");
            let is_page = link.starts_with('/') && !link.starts_with("/assets");
            if is_page && seen.insert(link.clone()) {
                next.push_back(link);
            }
        }
    }
    shapes
}

fn shape(path: &str) -> String {
    let mut shape = String::new();
    for part in path.split_inclusive(['/', '?', '&', '=']) {
        let word = part.trim_end_matches(['/', '?', '&', '=']);
        let is_value = shape.ends_with('=') || word.bytes().all(|byte| byte.is_ascii_digit());
        if is_value && !word.is_empty() {
            shape.push('N');
            shape.push_str(&part[word.len()..]);
        } else {
            shape.push_str(part);
        }
    }
    shape
}

async fn reply(router: &axum::Router, path: &str) -> Option<(Duration, Vec<u8>)> {
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
    let is_page = reply.status().is_success();
    let body = axum::body::to_bytes(reply.into_body(), usize::MAX)
        .await
        .expect("a whole page");
    is_page.then(|| (started.elapsed(), body.to_vec()))
}

/// How long a page takes, and its size; none where it is no page.
fn ask(runtime: &Runtime, router: &axum::Router, path: &str) -> Option<(Duration, usize)> {
    let (time, body) = runtime.block_on(reply(router, path))?;
    Some((time, body.len()))
}

fn text(runtime: &Runtime, router: &axum::Router, path: &str) -> Option<String> {
    let (_, body) = runtime.block_on(reply(router, path))?;
    String::from_utf8(body).ok()
}

/// Resident memory in MB of a process of its own that holds the journal.
fn memory_of(path: &Path) -> f64 {
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
