//! Reading a file in: what its columns hold, what every row would add, and
//! then all of it at once.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use app::App;
use app::forms::{Filled, as_typed};
use app::reading_in::{self, DryRun, Fate, OpenName, ReadFile, Table, cells, layout};
use axum::Router;
use axum::extract::{Form, Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::{Problem, Problems};
use workshop::facts::{Column, FileLayout, Meant, RowKind};
use workshop::{Refusal, Workshop};

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{Fault, Reply, Site, WHO};

/// Where files are read in.
pub(crate) const PATH: &str = "/books/read";
/// Where it is seen and said anew what the names in the files of a layout mean.
const NAMES: &str = "/books/read/names";
/// Opened files that are kept in memory; an older one is chosen again.
const OPENED: usize = 6;
/// Rows shown of each fate.
const SHOWN: usize = 200;
/// Names that are asked about at once.
const ASKED: usize = 100;
/// Files listed that were read in before.
const LISTED: usize = 10;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route(PATH, get(front).post(take))
        .route(NAMES, get(known_names).post(say_anew))
        .route("/books/read/{file}", get(look))
        .route("/books/read/{file}/columns", get(columns).post(keep))
        .route("/books/read/{file}/names", post(names))
        .route("/books/read/{file}/add", post(add))
}

/// The files that were opened lately, by their digest.
#[derive(Default)]
pub(crate) struct Opened(Mutex<VecDeque<Arc<ReadFile>>>);

impl Opened {
    fn keep(&self, file: ReadFile) {
        let mut files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        files.retain(|known| known.digest != file.digest);
        files.truncate(OPENED - 1);
        files.push_front(Arc::new(file));
    }

    fn get(&self, digest: &str) -> Option<Arc<ReadFile>> {
        let files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        files.iter().find(|file| file.digest == digest).cloned()
    }
}

/// Which table of which file, and by which layout.
struct Asked {
    file: Arc<ReadFile>,
    sheet: String,
    layout: String,
}

impl Asked {
    fn of(file: Arc<ReadFile>, filled: &Filled) -> Self {
        Self {
            file,
            sheet: filled.get("sheet").to_owned(),
            layout: filled.get("layout").to_owned(),
        }
    }

    fn table(&self) -> Result<&Table, Fault> {
        self.file.table(&self.sheet).ok_or(Fault::Nothing("sheet"))
    }

    fn path(&self, part: &str, layout: &str) -> String {
        let mut pairs = Vec::new();
        if !self.sheet.is_empty() {
            pairs.push(("sheet", self.sheet.as_str()));
        }
        if !layout.is_empty() {
            pairs.push(("layout", layout));
        }
        let query = parts::query(&pairs);
        let mark = if query.is_empty() { "" } else { "?" };
        format!("{PATH}/{}{part}{mark}{query}", self.file.digest)
    }

    /// The hidden fields that say the same in a form.
    fn fields(&self) -> Markup {
        html! {
            input type="hidden" name="sheet" value=(self.sheet);
            input type="hidden" name="layout" value=(self.layout);
        }
    }
}

/// A page about an opened file; where it is forgotten, the way to choose it
/// again.
async fn about(
    site: &Site,
    digest: &str,
    filled: Filled,
    page: impl FnOnce(&App, &Asked) -> Result<Page, Fault> + Send + 'static,
) -> Response {
    let file = site.opened().get(digest);
    site.run(move |app| match file {
        Some(file) => page(app, &Asked::of(file, &filled)).map(Reply::from),
        None => Ok(gone()),
    })
    .await
}

fn gone() -> Reply {
    Reply::Goto(format!("{PATH}?gone=yes"))
}

async fn front(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let is_gone = Filled::new(pairs).get("gone") == "yes";
        front_page(app, is_gone, &Problems::default())
    })
    .await
}

fn front_page(app: &App, is_gone: bool, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        let title = "What does this file say?";
        Page {
            title: title.to_owned(),
            place: Place::Books,
            back: Some(("/books".to_owned(), "Books".to_owned())),
            body: html! {
                (parts::question(title))
                p.doubt { "Sales, deliveries and payouts, from whatever another program exported as CSV or XLSX. Nothing is written down before you have seen what would become of every row." }
                (parts::problems(problems))
                @if is_gone { p.note { "The file is not open any more. Choose it again; what you said of its columns and names is kept." } }
                form.sheet method="post" enctype="multipart/form-data" action=(PATH) {
                    div.field.wrong[problems.of("file").is_some()] {
                        label for="f-file" { "The file" }
                        input type="file" id="f-file" name="file" accept=".csv,.tsv,.txt,.xlsx,text/csv" required;
                        span.hint { "At most 2 MB here; the command " code { "pourwright read" } " takes up to 20 MB." }
                    }
                    p.next { button.do type="submit" { "Look at it" } }
                }
                (before(workshop))
                p.next { a.button.quiet href="/books/payouts" { "Which sales did a payout pay for?" } }
            },
        }
    })?)
}

/// What was read in before, and by which layouts.
fn before(workshop: &Workshop) -> Markup {
    let files = workshop.trade().files();
    let mut layouts = workshop.trade().layouts().peekable();
    html! {
        @if !files.is_empty() {
            h2 { "Read in before" }
            table.stack {
                thead { tr { th { "Day" } th { "File" } th { "Layout" } th.n { "Rows" } th.n { "Added" } } }
                tbody {
                    @for file in files.iter().rev().take(LISTED) {
                        tr {
                            td { (parts::day(file.day)) }
                            td data-label="File" { (file.file) }
                            td data-label="Layout" { (file.layout) }
                            td.n data-label="Rows" { (file.rows) }
                            td.n data-label="Added" { (file.added) }
                        }
                    }
                }
            }
        }
        @if layouts.peek().is_some() {
            h2 { "Files that are known again by their headings" }
            ul.plain {
                @for (name, layout) in layouts {
                    li { (name) ": " (layout_words(workshop, layout)) (names_link(workshop, name)) }
                }
            }
        }
    }
}

/// The way to the names of a layout, where any were said.
fn names_link(workshop: &Workshop, layout: &str) -> Markup {
    html! {
        @if workshop.trade().names(layout).next().is_some() {
            " · " a href=(names_path(layout, 0)) { "What its names mean" }
        }
    }
}

fn names_path(layout: &str, from: usize) -> String {
    let from = from.to_string();
    let pairs = [("layout", layout), ("from", from.as_str())];
    let n = if from == "0" { 1 } else { 2 };
    format!("{NAMES}?{}", parts::query(&pairs[..n]))
}

async fn known_names(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| names_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn say_anew(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    let filled = Filled::new(pairs.clone());
    let layout = filled.get("layout").to_owned();
    let path = names_path(&layout, first_of(&filled));
    site.post(
        pairs,
        move |app, filled| reading_in::match_names(app, WHO, &layout, filled),
        move |_, _| Ok(path),
        names_page,
    )
    .await
}

/// The first name that a page asks about.
fn first_of(filled: &Filled) -> usize {
    filled.get("from").parse().unwrap_or(0)
}

/// What the names in the files of a layout mean, as they can be said anew.
fn names_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let layout = filled.get("layout");
        let Some(by) = workshop.trade().layout(layout) else {
            return Err(Fault::Nothing("layout"));
        };
        let names: Vec<_> = workshop.trade().names(layout).collect();
        let from = first_of(filled);
        let options = meanings(workshop, by.kind);
        let (label, hint) = in_one_words(by.kind);
        let title = format!("What do the names in \"{layout}\" mean?");
        Ok(Page {
            title: title.clone(),
            place: Place::Books,
            back: Some((PATH.to_owned(), "What does this file say?".to_owned())),
            body: html! {
                (parts::question(&title))
                p.doubt { "What you say anew holds for rows read in from now on. Rows that were read in before stay as they were written down." }
                (parts::problems(problems))
                @if names.is_empty() {
                    p { "None was said yet; a name is asked about once a file has it." }
                } @else {
                    form.sheet method="post" action=(names_path(layout, from)) {
                        input type="hidden" name="layout" value=(layout);
                        input type="hidden" name="from" value=(from);
                        fieldset {
                            legend { "Each name" }
                            @for (nth, (name, known, one)) in names.iter().skip(from).take(ASKED).enumerate() {
                                @let meant = format!("meant[{nth}]");
                                @let each = format!("each[{nth}]");
                                @let chosen = if filled.has(&meant) { filled.get(&meant).to_owned() } else { meaning_word(*known) };
                                @let how_much = if filled.has(&each) {
                                    filled.get(&each).to_owned()
                                } else {
                                    one.map_or_else(String::new, |one| as_typed(workshop, one))
                                };
                                input type="hidden" name={ "name[" (nth) "]" } value=(name);
                                div.fields {
                                    (parts::select(&meant, name, &chosen, &options, "", problems))
                                    (Field::text(&each, label, &how_much).hint(hint).draw(problems))
                                }
                            }
                        }
                        p.next { button.do type="submit" { "Keep these answers" } }
                    }
                    @if from > 0 || names.len() > from.saturating_add(ASKED) {
                        p.next {
                            @if from > 0 { a.button.quiet href=(names_path(layout, from.saturating_sub(ASKED))) { "The names before" } }
                            @if names.len() > from.saturating_add(ASKED) { a.button.quiet href=(names_path(layout, from.saturating_add(ASKED))) { "The names after" } }
                        }
                    }
                }
            },
        })
    })?
}

fn layout_words(workshop: &Workshop, layout: &FileLayout) -> String {
    let through = layout
        .channel
        .and_then(|id| workshop.trade().channel(id))
        .map_or_else(String::new, |channel| format!(" through {}", channel.name));
    format!("{}{through}", layout.kind.word())
}

async fn take(State(site): State<Site>, mut parts: Multipart) -> Response {
    let mut sent = None;
    let mut is_cut = false;
    loop {
        match parts.next_field().await {
            Ok(Some(field)) if field.name() == Some("file") => {
                let name = field.file_name().unwrap_or("file").to_owned();
                match field.bytes().await {
                    Ok(bytes) => sent = Some((name, bytes.to_vec())),
                    Err(_) => is_cut = true,
                }
            }
            Ok(Some(_)) => {}
            Ok(None) => break,
            Err(_) => {
                is_cut = true;
                break;
            }
        }
    }
    let opened = site.opened();
    site.run(move |app| {
        let read = match sent {
            _ if is_cut => Err(Problem::new(
                "file",
                "",
                "the file did not arrive whole, or is larger than 2 MB",
                "choose it again, or a shorter stretch of days",
            )),
            None => Err(Problem::new("file", "", "no file came", "choose one")),
            Some((name, bytes)) => reading_in::open(&name, &bytes),
        };
        match read {
            Ok(file) => {
                let path = format!("{PATH}/{}", file.digest);
                opened.keep(file);
                Ok(Reply::Goto(path))
            }
            Err(problem) => front_page(app, false, &problem.into())
                .map(|page| Reply::Page(StatusCode::UNPROCESSABLE_ENTITY, page)),
        }
    })
    .await
}

async fn look(
    State(site): State<Site>,
    Path(digest): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    about(&site, &digest, Filled::new(pairs), |app, asked| {
        look_page(app, asked, &Filled::default(), &Problems::default())
    })
    .await
}

/// The dry run where it is known how the file is read, else the question what
/// its columns hold.
fn look_page(
    app: &App,
    asked: &Asked,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let today = app.today();
    let table = asked.table()?;
    let by = app.look(|workshop| {
        let (same, like) = layout::layouts_for(workshop, table);
        match (asked.layout.as_str(), same.as_slice()) {
            ("", [only]) => Some(only.clone()),
            ("", _) => None,
            (named, _) => same
                .iter()
                .chain(&like)
                .find(|known| *known == named)
                .cloned(),
        }
    })?;
    let Some(by) = by else {
        return columns_page(app, asked, None, &Problems::default());
    };
    let asked = Asked {
        file: Arc::clone(&asked.file),
        sheet: asked.sheet.clone(),
        layout: by,
    };
    app.look(|workshop| {
        let run = match reading_in::dry_run(workshop, today, &asked.layout, table) {
            Ok(run) => run,
            Err(refusal) => return Err(Fault::Refused(refusal)),
        };
        Ok(run_page(workshop, &asked, table, &run, filled, problems))
    })?
}

async fn columns(
    State(site): State<Site>,
    Path(digest): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    about(&site, &digest, Filled::new(pairs), |app, asked| {
        columns_page(app, asked, None, &Problems::default())
    })
    .await
}

async fn keep(
    State(site): State<Site>,
    Path(digest): Path<String>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let Some(file) = site.opened().get(&digest) else {
        return site.run(|_| Ok(gone())).await;
    };
    let filled = Filled::new(pairs.clone());
    let called = filled.get("name").to_owned();
    let asked = Arc::new(Asked::of(file, &filled));
    let (acted, again) = (Arc::clone(&asked), Arc::clone(&asked));
    site.post(
        pairs,
        move |app, filled| match acted.file.table(&acted.sheet) {
            Some(table) => layout::keep(app, WHO, table, filled),
            None => Err(no_sheet(&acted).into()),
        },
        move |_, _| Ok(asked.path("", &called)),
        move |app, filled, problems| columns_page(app, &again, Some(filled), problems),
    )
    .await
}

fn no_sheet(asked: &Asked) -> Refusal {
    Refusal::Unknown {
        what: "sheet",
        id: asked.sheet.clone(),
    }
}

async fn names(
    State(site): State<Site>,
    Path(digest): Path<String>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let Some(file) = site.opened().get(&digest) else {
        return site.run(|_| Ok(gone())).await;
    };
    let asked = Arc::new(Asked::of(file, &Filled::new(pairs.clone())));
    let (acted, again) = (Arc::clone(&asked), Arc::clone(&asked));
    site.post(
        pairs,
        move |app, filled| reading_in::match_names(app, WHO, &acted.layout, filled),
        move |_, _| Ok(asked.path("", &asked.layout)),
        move |app, filled, problems| look_page(app, &again, filled, problems),
    )
    .await
}

async fn add(
    State(site): State<Site>,
    Path(digest): Path<String>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let Some(file) = site.opened().get(&digest) else {
        return site.run(|_| Ok(gone())).await;
    };
    let asked = Arc::new(Asked::of(file, &Filled::new(pairs.clone())));
    let (acted, again) = (Arc::clone(&asked), Arc::clone(&asked));
    site.post(
        pairs,
        move |app, _| reading_in::read_in(app, WHO, &acted.layout, &acted.file, &acted.sheet),
        move |_, _| Ok(asked.path("", &asked.layout)),
        move |app, filled, problems| look_page(app, &again, filled, problems),
    )
    .await
}

/// The sheets of a workbook, where it has several.
fn sheets(asked: &Asked) -> Markup {
    let tables = &asked.file.tables;
    let is_this = |nth: usize, table: &Table| {
        if asked.sheet.is_empty() {
            nth == 0
        } else {
            table.sheet == asked.sheet
        }
    };
    html! {
        @if tables.len() > 1 {
            p.soft {
                "Sheet: "
                @for (nth, table) in tables.iter().enumerate() {
                    @if nth > 0 { " · " }
                    @if is_this(nth, table) {
                        strong { (table.sheet) }
                    } @else {
                        a href={ (PATH) "/" (asked.file.digest) "?" (parts::query(&[("sheet", &table.sheet)])) } { (table.sheet) }
                    }
                }
            }
        }
    }
}

fn columns_page(
    app: &App,
    asked: &Asked,
    filled: Option<&Filled>,
    problems: &Problems,
) -> Result<Page, Fault> {
    let table = asked.table()?;
    Ok(app.look(|workshop| {
        let (same, like) = layout::layouts_for(workshop, table);
        let kept = [asked.layout.as_str()]
            .into_iter()
            .find(|name| workshop.trade().layout(name).is_some());
        let proposed = layout::propose(workshop, table, kept);
        let filled = filled.unwrap_or(&proposed);
        let title = format!("{}: what do its columns hold?", asked.file.name);
        Page {
            title: title.clone(),
            place: Place::Books,
            back: Some((PATH.to_owned(), "What does this file say?".to_owned())),
            body: html! {
                (parts::question(&title))
                p.doubt {
                    (rows_words(table.rows.len())) ". You say this once; the next file with these headings is read at once."
                }
                (parts::problems(problems))
                (sheets(asked))
                @if kept.is_none() && (!same.is_empty() || !like.is_empty()) {
                    p { "It could be one of these:" }
                    p.next {
                        @for name in same.iter().chain(&like) {
                            a.button.quiet href=(asked.path("", name)) { (name) }
                        }
                    }
                }
                (columns_form(workshop, asked, table, filled, problems))
            },
        }
    })?)
}

fn rows_words(n: usize) -> String {
    match n {
        1 => "1 row".to_owned(),
        n => format!("{n} rows"),
    }
}

fn pair(value: &str, words: &str) -> (String, String) {
    (value.to_owned(), words.to_owned())
}

fn columns_form(
    workshop: &Workshop,
    asked: &Asked,
    table: &Table,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let kinds = [
        pair("sales", "sales"),
        pair("purchases", "deliveries of supplies"),
        pair("payouts", "money paid out to you"),
    ];
    let mut channels = vec![pair("", "none")];
    let open = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed);
    channels.extend(open.map(|channel| (channel.id.to_string(), channel.name.clone())));
    let mut days = vec![pair("", "as the days themselves tell")];
    days.extend(
        layout::DAY_ORDERS
            .iter()
            .map(|(word, order)| pair(word, cells::day_example(*order))),
    );
    let marks = [
        pair("point", "a point: 7.50"),
        pair("comma", "a comma: 7,50"),
    ];
    let mut holds = vec![pair("", "not read")];
    holds.extend(
        layout::COLUMNS
            .iter()
            .map(|(word, _, called)| pair(word, called)),
    );
    html! {
        form.sheet method="post" action={ (PATH) "/" (asked.file.digest) "/columns" } {
            input type="hidden" name="sheet" value=(asked.sheet);
            div.fields {
                (parts::select("kind", "Its rows are", filled.get("kind"), &kinds, "", problems))
                (parts::select("channel", "Through", filled.get("channel"), &channels,
                    "for sales and payouts", problems))
                (Field::text("name", "Call such files", filled.get("name")).hint("such as card reader, or web shop orders").needed().draw(problems))
            }
            @if workshop.trade().channels().next().is_none() {
                p.note { "Sales are made through a channel, and none is open yet. " a href="/stall/channel/new" { "Open one" } " first." }
            }
            div.fields {
                (parts::select("days", "Days are written", filled.get("days"), &days, "", problems))
                (parts::select("mark", "The decimal mark is", filled.get("mark"), &marks, "", problems))
            }
            fieldset id="f-columns" {
                legend { "Each column" }
                @if let Some(problem) = problems.of("columns") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) "." } }
                div.fields {
                    @for (nth, heading) in table.headings.iter().enumerate() {
                        @let examples = unlike(table, nth);
                        @if !examples.is_empty() {
                            @let name = format!("column[{nth}]");
                            (parts::select(&name, heading, filled.get(&name), &holds, &examples_words(&examples), problems))
                        }
                    }
                }
            }
            p.next { button.do type="submit" { "Show what would become of every row" } }
            p.soft.small { "Only this is kept now; no row is written down yet." }
        }
    }
}

/// Up to three cells of a column that differ.
fn unlike(table: &Table, column: usize) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    for cell in table.said(column).take(50) {
        if found.len() < 3 && !found.contains(&cell) {
            found.push(cell);
        }
    }
    found
}

fn examples_words(examples: &[&str]) -> String {
    let short = |text: &&str| -> String {
        if text.chars().count() > 24 {
            let cut: String = text.chars().take(22).collect();
            format!("{cut}…")
        } else {
            (*text).to_owned()
        }
    };
    let said: Vec<String> = examples.iter().map(short).collect();
    format!("holds {}", said.join(" · "))
}

fn things(kind: RowKind, n: usize) -> String {
    let (one, many) = match kind {
        RowKind::Sales => ("sale", "sales"),
        RowKind::Purchases => ("delivery", "deliveries"),
        RowKind::Payouts => ("payout", "payouts"),
    };
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {many}")
    }
}

fn run_page(
    workshop: &Workshop,
    asked: &Asked,
    table: &Table,
    run: &DryRun,
    filled: &Filled,
    problems: &Problems,
) -> Page {
    let title = format!("{}: what would it add?", asked.file.name);
    let read = workshop
        .trade()
        .files()
        .iter()
        .rev()
        .find(|known| known.digest == asked.file.digest);
    let sums = &run.sums;
    let fates = [
        "will be added",
        "already there",
        "left out",
        "waits",
        "cannot be read",
    ];
    let counts: Vec<String> = fates
        .iter()
        .map(|word| (word, run.n(word)))
        .filter(|(_, n)| *n > 0)
        .map(|(word, n)| format!("{n} {}", fate_word(n, word)))
        .collect();
    let doubt = format!("{}: {}.", rows_words(run.rows.len()), counts.join(", "));
    let by = workshop.trade().layout(&asked.layout);
    Page {
        title: title.clone(),
        place: Place::Books,
        back: Some((PATH.to_owned(), "What does this file say?".to_owned())),
        body: html! {
            (parts::question(&title))
            @if sums.things == 0 {
                (parts::answer_words("Nothing new.", &doubt))
            } @else {
                (parts::answer(&things(run.kind, sums.things),
                    &sums.paid.map_or_else(String::new, |paid| format!("for {paid}")),
                    &format!("{doubt} Nothing is written down yet.")))
            }
            @if let Some(read) = read {
                p.note { "This file was read in on " (parts::day(read.day)) " as \"" (read.file) "\"; "
                    (rows_words(usize::try_from(read.added).unwrap_or(usize::MAX))) " of it "
                    @if read.added == 1 { "was" } @else { "were" } " added then." }
            }
            (parts::problems(problems))
            (sheets(asked))
            @if !run.open.is_empty() { (open_names(workshop, asked, run, filled, problems)) }
            @if sums.things > 0 {
                form method="post" action={ (PATH) "/" (asked.file.digest) "/add" } {
                    (asked.fields())
                    p.next {
                        button.do type="submit" { "Add " (things(run.kind, sums.things)) }
                        @if !run.open.is_empty() { span.soft { "Rows that wait stay out, and can be added later from the same file." } }
                    }
                }
            } @else {
                p.next {
                    @match run.kind {
                        RowKind::Sales => { a.button.do href="/books/earns" { "Who earns it?" } }
                        RowKind::Purchases => { a.button.do href="/shelf" { "Look at the shelf" } }
                        RowKind::Payouts => { a.button.do href="/books/payouts" { "Which sales did they pay for?" } }
                    }
                    a.button.quiet href=(PATH) { "Read another file" }
                }
            }
            (totals(workshop, run))
            @if !run.notes.is_empty() {
                div.note { ul { @for note in run.notes.iter().take(20) { li { (parts::capital(note)) "." } }
                    @if run.notes.len() > 20 { li { "And " (run.notes.len() - 20) " more of the kind." } } } }
            }
            @if let Some(layout) = by {
                h2 { "Every row" }
                @for word in ["cannot be read", "waits", "left out", "will be added", "already there"] {
                    (rows_of(layout, table, run, word))
                }
                p.soft.small {
                    "Read as " (layout_words(workshop, layout)) " by \"" (asked.layout) "\". "
                    a href=(asked.path("/columns", &asked.layout)) { "Say anew what its columns hold" }
                    (names_link(workshop, &asked.layout))
                }
            }
        },
    }
}

fn totals(workshop: &Workshop, run: &DryRun) -> Markup {
    let sums = &run.sums;
    let line = |label: &str, money: Option<measure::Money>| {
        html! { @if let Some(money) = money { dt { (label) } dd { (fig(money.to_string())) } } }
    };
    let postage = if run.kind == RowKind::Purchases {
        "Freight"
    } else {
        "Postage the buyers paid"
    };
    html! {
        @if let Some((first, last)) = sums.days {
            h2 { "It would add" }
            dl.facts {
                dt { "Days" } dd { (parts::day(first)) @if last != first { " to " (parts::day(last)) } }
                (line("Paid", sums.paid))
                (line(postage, sums.postage))
                (line("Tax in it", sums.tax.filter(|tax| tax.minor() != 0)))
                (line("Fees the file says", sums.fees))
                @for (product, count) in &sums.goods {
                    dt { (workshop.product(*product).map_or("", |good| good.name.as_str())) } dd { (fig(count.to_string())) }
                }
            }
            @if sums.without_lot > 0 {
                p.soft { (sums.without_lot) " of these units were not on the rack that day as far as is written down, so their lot stays unknown; count the rack to explain them." }
            }
        }
    }
}

/// Everything a name in such files can stand for.
fn meanings(workshop: &Workshop, kind: RowKind) -> Vec<(String, String)> {
    let mut options = vec![pair("nothing", "nothing of mine: leave its rows out")];
    match kind {
        RowKind::Sales => options.extend(
            workshop
                .products()
                .map(|good| (meaning_word(Meant::Product(good.id)), good.name.clone())),
        ),
        RowKind::Purchases => options.extend(workshop.supplies().map(|supply| {
            let words = format!("{} ({})", supply.name, supply.kind.word());
            (meaning_word(Meant::Supply(supply.id)), words)
        })),
        RowKind::Payouts => {}
    }
    options
}

fn meaning_word(meant: Meant) -> String {
    match meant {
        Meant::Product(id) => format!("product:{id}"),
        Meant::Supply(id) => format!("supply:{id}"),
        Meant::Nothing => "nothing".to_owned(),
    }
}

/// What is asked of how much one is, and a help line.
const fn in_one_words(kind: RowKind) -> (&'static str, &'static str) {
    match kind {
        RowKind::Purchases => (
            "One of it is",
            "such as 16 oz, or 50 for a pack of 50; empty where the file says the weight",
        ),
        RowKind::Sales | RowKind::Payouts => (
            "Units in one",
            "such as 3 for a pack of three; empty for one",
        ),
    }
}

fn open_names(
    workshop: &Workshop,
    asked: &Asked,
    run: &DryRun,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let mut options = vec![pair("", "say later")];
    options.extend(meanings(workshop, run.kind));
    let proposed = |open: &OpenName| open.maybe.map_or_else(String::new, meaning_word);
    let in_one = |open: &OpenName| open.in_one.map_or_else(String::new, |n| n.to_string());
    let (label, hint) = in_one_words(run.kind);
    html! {
        form.sheet method="post" action={ (PATH) "/" (asked.file.digest) "/names" } {
            (asked.fields())
            fieldset {
                legend { "What are these? You say it once." }
                @for (nth, open) in run.open.iter().take(ASKED).enumerate() {
                    @let meant = format!("meant[{nth}]");
                    @let each = format!("each[{nth}]");
                    @let chosen = if filled.has(&meant) { filled.get(&meant).to_owned() } else { proposed(open) };
                    @let how_much = if filled.has(&each) { filled.get(&each).to_owned() } else { in_one(open) };
                    input type="hidden" name={ "name[" (nth) "]" } value=(open.name);
                    @if open.bare { input type="hidden" name={ "bare[" (nth) "]" } value="yes"; }
                    div.fields {
                        (parts::select(&meant, &open.name, &chosen, &options, &format!("in {}", rows_words(open.rows)), problems))
                        (Field::text(&each, label, &how_much).hint(hint).draw(problems))
                    }
                }
            }
            p.next { button.quiet type="submit" { "Keep these answers" } }
            @if run.open.len() > ASKED { p.soft { (run.open.len() - ASKED) " more are asked about once these are answered." } }
        }
    }
}

/// The word of a fate beside how many rows have it.
fn fate_word(n: usize, word: &str) -> &str {
    if n > 1 && word == "waits" {
        "wait"
    } else {
        word
    }
}

fn rows_of(layout: &FileLayout, table: &Table, run: &DryRun, word: &str) -> Markup {
    let columns: Vec<(Column, usize)> = [
        Column::Day,
        Column::Reference,
        Column::Name,
        Column::Amount,
        Column::Each,
        Column::Paid,
    ]
    .into_iter()
    .filter_map(|column| {
        let heading = layout.heading(column)?;
        Some((column, table.column(heading)?))
    })
    .collect();
    let is_it = |fate: &Fate| fate.word() == word;
    let n = run.n(word);
    let wants_hands = matches!(word, "cannot be read" | "waits");
    let has_why = !matches!(word, "will be added" | "already there");
    html! {
        @if n > 0 {
            details open[wants_hands] {
                summary { (rows_words(n)) " " (fate_word(n, word)) }
                table.stack {
                    thead {
                        tr {
                            th { "Row" }
                            @for (column, at) in &columns {
                                th.n[is_figure(*column)] { (table.headings[*at]) }
                            }
                            @if has_why { th { "Why" } }
                        }
                    }
                    tbody {
                        @for (row, fate) in run.rows.iter().filter(|(_, fate)| is_it(fate)).take(SHOWN) {
                            tr {
                                td { (row.nth) }
                                @for (column, at) in &columns {
                                    td.n[is_figure(*column)] data-label=(table.headings[*at]) { (row.cell(*at)) }
                                }
                                @if has_why { td data-label="Why" { (parts::capital(&fate.why())) } }
                            }
                        }
                    }
                }
                @if n > SHOWN { p.soft { "And " (n - SHOWN) " more; the command " code { "pourwright read --dry-run" } " lists them all." } }
            }
        }
    }
}

const fn is_figure(column: Column) -> bool {
    matches!(column, Column::Amount | Column::Each | Column::Paid)
}
