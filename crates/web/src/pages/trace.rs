//! Who has a lot, and recalls and drills.

use app::App;
use app::forms::{Filled, as_typed};
use app::people::Everyone;
use app::recalls::{
    self, capital, holder_name, progress, share, sold_words, sum_words, suspect_name,
    suspect_pairs, told_key, told_name, took, unknown_words,
};
use axum::Router;
use axum::extract::{Form, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::Problems;
use workshop::facts::{Fact, PourId, RecallId, ReceiptId, SupplyLot, Suspect};
use workshop::trace::{Called, Holding, Trace, receipt_of, sources_of, trace, trace_working};
use workshop::{Recall, Workshop, amount_of};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, today};
use crate::parts::{self, Field};
use crate::site::{At, Fault, Site, WHO};

const WHO_HAS: &str = "Who has this lot?";
/// Holders that are listed before the page says how many more there are.
const LISTED: usize = 200;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/rack/{id}/where", get(of_lot))
        .route("/shelf/delivery/{id}/line/{nth}/where", get(of_supply_lot))
        .route("/recall", get(list).post(begin))
        .route("/recall/{id}", get(recall).post(answer))
        .route("/recall/{id}/listed", post(listed))
        .route("/recall/{id}/end", post(end))
}

/// Where a suspect's page is.
pub(crate) fn path_of(suspect: Suspect) -> String {
    match suspect {
        Suspect::Lot(lot) => format!("/rack/{lot}/where"),
        Suspect::SupplyLot(lot) => {
            format!("/shelf/delivery/{}/line/{}/where", lot.receipt, lot.line)
        }
    }
}

/// The paper that says the same.
fn sheet_path(workshop: &Workshop, suspect: Suspect) -> String {
    let pairs = match suspect {
        Suspect::Lot(lot) => vec![("lot", lot.to_string())],
        Suspect::SupplyLot(lot) => {
            let supply = receipt_of(workshop, lot).map(|(_, line)| line.supply);
            vec![
                (
                    "supply",
                    supply.map_or_else(String::new, |id| id.to_string()),
                ),
                ("delivery", format!("{}.{}", lot.receipt, lot.line)),
            ]
        }
    };
    format!("/print/trace-sheet?{}", parts::query(&pairs))
}

/// The notice to those who bought it.
fn notice_path(people: &Everyone, workshop: &Workshop, traced: &Trace) -> String {
    let mut pairs = match traced.suspect {
        Suspect::Lot(lot) => vec![("lot", lot.to_string())],
        Suspect::SupplyLot(lot) => {
            let line = receipt_of(workshop, lot).map(|(_, line)| line);
            line.map_or_else(Vec::new, |line| {
                vec![
                    ("supply", line.supply.to_string()),
                    ("supplier-lot", line.supplier_lot.clone()),
                ]
            })
        }
    };
    pairs.push(("sold", sold_words(people, workshop, traced)));
    format!("/print/recall-notice/ask?{}", parts::query(&pairs))
}

async fn of_lot(State(site): State<Site>, At(id): At<PourId>) -> Response {
    let none = Filled::default();
    site.run(move |app| where_page(app, Suspect::Lot(id), &none, &Problems::default()))
        .await
}

async fn of_supply_lot(
    State(site): State<Site>,
    At((receipt, line)): At<(ReceiptId, u32)>,
) -> Response {
    let suspect = Suspect::SupplyLot(SupplyLot { receipt, line });
    site.run(move |app| where_page(app, suspect, &Filled::default(), &Problems::default()))
        .await
}

fn where_page(
    app: &App,
    suspect: Suspect,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let people = app.everyone()?;
    app.look(|workshop| {
        let traced = trace(workshop, suspect).ok_or(Fault::Nothing("lot"))?;
        let name = suspect_name(workshop, suspect);
        let (place, back) = match suspect {
            Suspect::Lot(lot) => (Place::Rack, (format!("/rack/{lot}"), "The lot".to_owned())),
            Suspect::SupplyLot(lot) => (
                Place::Shelf,
                (format!("/shelf/delivery/{}", lot.receipt), "The delivery".to_owned()),
            ),
        };
        Ok(Page {
            title: format!("{WHO_HAS} · {}", capital(&name)),
            place,
            back: Some(back),
            body: html! {
                (parts::question(WHO_HAS))
                p.soft { (capital(&name)) }
                (parts::problems(problems))
                (answer_of(workshop, &traced))
                p.next {
                    @if !traced.lots.is_empty() { a.button.do href="#begin" { "Call it back, or drill it" } }
                    a.button.quiet href=(sheet_path(workshop, suspect)) type="application/pdf" { "Print the sheet" }
                }
                (holders(&people, workshop, &traced))
                (loose(&people, workshop, &traced))
                (parts::working("trace-working", &trace_working(workshop, &traced)))
                (lots(workshop, &traced))
                (sources(workshop, &traced))
                @if !traced.lots.is_empty() { (begin_form(suspect, filled, problems)) }
            },
        })
    })?
}

/// Where all of it is, and what nobody knows.
fn answer_of(workshop: &Workshop, traced: &Trace) -> Markup {
    let sums = &traced.sums;
    let doubt = if sums.adds_up() {
        format!("They add up to the {} made.", sums.made)
    } else {
        format!("They add up to {} of the {} made.", sums.found(), sums.made)
    };
    let doubt = if traced.lots.is_empty() {
        String::new()
    } else {
        doubt
    };
    html! {
        (parts::answer_words(&sum_words(workshop, traced), &doubt))
        @for words in unknown_words(workshop, traced) { p.note { (words) } }
    }
}

fn holders(people: &Everyone, workshop: &Workshop, traced: &Trace) -> Markup {
    let has_lots = traced.lots.len() > 1;
    html! {
        @if !traced.holdings.is_empty() {
            h2 { "Where it is" }
            table.stack {
                thead { tr {
                    th { "Who or where" } th.n { "Units" }
                    @if has_lots { th { "Of lots" } }
                    th { "When" }
                } }
                tbody {
                    @for holding in traced.holdings.iter().take(LISTED) {
                        tr {
                            td { (holder_name(people, workshop, holding.holder)) (sales_of(workshop, holding)) }
                            td.n data-label="Units" { (holding.units) }
                            @if has_lots { td data-label="Of lots" { (lots_words(workshop, holding)) } }
                            td data-label="When" { (days_words(holding)) }
                        }
                    }
                }
                tfoot { tr {
                    th { "Together" } td.n data-label="Together" { (traced.sums.found()) }
                    @if has_lots { td {} }
                    td { span.soft { (traced.sums.made) " made" } }
                } }
            }
            @if traced.holdings.len() > LISTED {
                p.soft { "and " (traced.holdings.len() - LISTED) " more with fewer each; the printed sheet names them all." }
            }
        }
    }
}

/// Who got units whose lot nobody knows, and may have some of it.
fn loose(people: &Everyone, workshop: &Workshop, traced: &Trace) -> Markup {
    let rows: Vec<(&str, &Holding)> = traced
        .loose
        .iter()
        .flat_map(|loose| {
            let good = workshop.product(loose.product);
            let good = good.map_or("", |good| good.name.as_str());
            loose.holdings.iter().map(move |holding| (good, holding))
        })
        .collect();
    let has_goods = traced.loose.len() > 1;
    html! {
        @if !rows.is_empty() {
            h2 { "Perhaps of it too: lot not known" }
            table.stack {
                thead { tr {
                    th { "Who" }
                    @if has_goods { th { "Good" } }
                    th.n { "Units" } th { "When" }
                } }
                tbody {
                    @for (good, holding) in rows.iter().take(LISTED) {
                        tr {
                            td { (holder_name(people, workshop, holding.holder)) (sales_of(workshop, holding)) }
                            @if has_goods { td data-label="Good" { (good) } }
                            td.n data-label="Units" { (holding.units) }
                            td data-label="When" { (days_words(holding)) }
                        }
                    }
                }
            }
            @if rows.len() > LISTED {
                p.soft { "and " (rows.len() - LISTED) " more with fewer each; the printed sheet names them all." }
            }
        }
    }
}

fn days_words(holding: &Holding) -> String {
    match holding.days {
        None => String::new(),
        Some((first, last)) if first == last => parts::day(first),
        Some((first, last)) => format!("{} to {}", parts::day(first), parts::day(last)),
    }
}

/// The lots with what the holder has of each; of many, the first few.
fn lots_words(workshop: &Workshop, holding: &Holding) -> String {
    const NAMED: usize = 3;
    let mut words: Vec<String> = holding
        .lots
        .iter()
        .take(NAMED)
        .filter_map(|(pour, units)| Some(format!("{units} of {}", workshop.pour(*pour)?.lot)))
        .collect();
    if holding.lots.len() > NAMED {
        words.push(format!("{} more lots", holding.lots.len() - NAMED));
    }
    words.join(", ")
}

/// The single sales, where there are several.
fn sales_of(workshop: &Workshop, holding: &Holding) -> Markup {
    html! {
        @if holding.sales.len() > 1 {
            details {
                summary { (holding.sales.len()) " sales" }
                ul.plain {
                    @for (sale, units) in holding.sales.iter().take(LISTED) {
                        li {
                            "Sale " (sale)
                            @if let Some(sale) = workshop.trade().sale(*sale) {
                                ", " (parts::day(sale.day))
                                @if let Some(order) = sale.order { ", order " (order) }
                            }
                            ": " (units)
                        }
                    }
                    @if holding.sales.len() > LISTED { li { "and " (holding.sales.len() - LISTED) " more" } }
                }
            }
        }
    }
}

fn lots(workshop: &Workshop, traced: &Trace) -> Markup {
    let kind = match traced.suspect {
        Suspect::SupplyLot(lot) => receipt_of(workshop, lot)
            .and_then(|(_, line)| workshop.supply(line.supply))
            .map(|supply| supply.kind),
        Suspect::Lot(_) => None,
    };
    html! {
        @if let (Some(kind), false) = (kind, traced.lots.is_empty()) {
            h2 { "What was made of it" }
            table.stack {
                thead { tr { th { "Lot" } th { "Good" } th.n { "Made" } th.n { "On hand" } th.n { "Drew" } } }
                tbody {
                    @for lot in &traced.lots {
                        @if let Some(pour) = workshop.pour(lot.pour) {
                            tr {
                                td { a href={ "/rack/" (lot.pour) "/where" } { (pour.lot) }
                                    @if pour.held.is_some() { " " (parts::verdict("no", "hold")) } }
                                td data-label="Good" { (today::what_of(workshop, pour)) }
                                td.n data-label="Made" { (lot.made) }
                                td.n data-label="On hand" { (lot.here) }
                                td.n data-label="Drew" {
                                    @if let Some(drew) = lot.drew { (parts::fig(amount_of(kind, drew, workshop.system()))) }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if !traced.on_bench.is_empty() {
            p { "On the bench: "
                @for (nth, id) in traced.on_bench.iter().enumerate() {
                    @if nth > 0 { ", " }
                    a href={ "/pour/" (id) } { "lot " (workshop.pour(*id).map_or("?", |pour| pour.lot.as_str())) }
                }
                "."
            }
        }
    }
}

/// What went into it, back to the supplier's own number.
fn sources(workshop: &Workshop, traced: &Trace) -> Markup {
    let pour = match traced.suspect {
        Suspect::Lot(pour) => workshop.pour(pour),
        Suspect::SupplyLot(_) => None,
    };
    let of_pour = pour.map(|pour| sources_of(workshop, pour));
    html! {
        @if let (Some(sources), Some(pour)) = (&of_pour, pour) {
            h2 { "What went into it" }
            @if sources.is_empty() {
                p.empty { "Nothing was weighed into it yet." }
            } @else {
                table.stack {
                    thead { tr { th { "Supply" } th { "Supplier lot" } th { "Came" } th.n { "Used" } } }
                    tbody {
                        @for source in sources {
                            @if let Some(supply) = workshop.supply(source.supply) {
                                @let from = source.lot.and_then(|lot| Some((lot, receipt_of(workshop, lot)?)));
                                tr {
                                    td { a href={ "/shelf/supply/" (supply.id) } { (supply.name) } }
                                    @if let Some((lot, (receipt, line))) = from {
                                        td data-label="Supplier lot" {
                                            a href=(path_of(Suspect::SupplyLot(lot))) {
                                                @if line.supplier_lot.is_empty() { "no number" } @else { (line.supplier_lot) }
                                            }
                                        }
                                        td data-label="Came" {
                                            span {
                                                a href={ "/shelf/delivery/" (receipt.id) } { (parts::day(receipt.day)) }
                                                @if !receipt.supplier.is_empty() { ", " (receipt.supplier) }
                                            }
                                        }
                                    } @else {
                                        td data-label="Supplier lot" { (parts::verdict("unproven", "not known")) }
                                        td data-label="Came" { span.soft { "no delivery holds it" } }
                                    }
                                    td.n data-label="Used" { (parts::fig(amount_of(supply.kind, source.used, workshop.system()))) }
                                }
                            }
                        }
                    }
                }
            }
            p { "Poured " @if let Some(day) = pour.poured { (parts::day(day)) " " }
                "by " a href={ "/pour/" (pour.id) } { "the pour of lot " (pour.lot) } "." }
        }
        @if let Suspect::SupplyLot(lot) = traced.suspect {
            @if let Some((receipt, line)) = receipt_of(workshop, lot) {
                h2 { "Where it came from" }
                dl.facts {
                    dt { "Delivery" }
                    dd { a href={ "/shelf/delivery/" (receipt.id) } { (parts::day(receipt.day)) } @if !receipt.supplier.is_empty() { ", " (receipt.supplier) } }
                    dt { "Supplier lot" }
                    dd { @if line.supplier_lot.is_empty() { span.soft { "none was written down" } } @else { (line.supplier_lot) } }
                    dt { "Came" }
                    dd { (parts::fig(line.amount.to_string())) }
                    @if let Some(day) = workshop.supply_date(lot) { dt { "Best before" } dd { (parts::day(day)) } }
                }
            }
        }
    }
}

fn begin_form(suspect: Suspect, filled: &Filled, problems: &Problems) -> Markup {
    let kinds = [
        ("drill", "a drill: nothing is stopped, the time is taken"),
        ("recall", "in earnest: every lot of it is held at once"),
    ]
    .map(|(value, words)| (value.to_owned(), words.to_owned()));
    html! {
        form.sheet #begin method="post" action="/recall" {
            h2 { "Call it back, or drill it" }
            (once::field())
            @for (name, value) in suspect_pairs(suspect) { input type="hidden" name=(name) value=(value); }
            div.fields.wide {
                (parts::select("kind", "What is this?", filled.get("kind"), &kinds, "", problems))
                (Field::text("reason", "Why", filled.get("reason")).hint("yearly drill; the oil's supplier called it back").draw(problems))
            }
            p.next { button.do type="submit" { "Begin; the clock runs" } }
        }
    }
}

async fn begin(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, filled| recalls::begin(app, WHO, filled),
        move |_, done| {
            let begun = done.facts.iter().find_map(|fact| match fact {
                Fact::RecallBegun(begun) => Some(begun.recall),
                _ => None,
            });
            Ok(begun.map_or_else(|| "/recall".to_owned(), |id| format!("/recall/{id}")))
        },
        move |app, filled, problems| match recalls::suspect_of(filled) {
            Ok(suspect) => where_page(app, suspect, filled, problems),
            Err(_) => list_page(app, problems),
        },
    )
    .await
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|app| list_page(app, &Problems::default())).await
}

fn list_page(app: &App, problems: &Problems) -> Result<Page, Fault> {
    const QUESTION: &str = "What was called back?";
    Ok(app.look(|workshop| Page {
        title: QUESTION.to_owned(),
        place: Place::Rack,
        back: Some(("/rack".to_owned(), "Rack".to_owned())),
        body: html! {
            (parts::question(QUESTION))
            (parts::problems(problems))
            @if workshop.trade().recalls().next().is_none() {
                (parts::empty(
                    "Recalls and drills stand here, with the time each took. Open a lot, ask who has it, and begin a drill: within a minute you know whether you could find every unit again.",
                    "/rack", "Choose a lot"))
            } @else {
                @let last = workshop.trade().recalls().rev().find(|recall| recall.drill);
                (parts::answer_words(&last_drill(last), "A supply lot is called back from the delivery it came in, a lot from the rack: ask who has it."))
                ul.rows {
                    @for recall in workshop.trade().recalls().rev() { (recall_row(workshop, recall)) }
                }
            }
        },
    })?)
}

fn last_drill(last: Option<&Recall>) -> String {
    match last {
        None => "No drill was ever held.".to_owned(),
        Some(drill) => {
            let seconds = drill
                .listed
                .or_else(|| drill.ended.as_ref().map(|ended| ended.seconds));
            match seconds {
                Some(seconds) => format!(
                    "The last drill, on {}, took {} to find every holder.",
                    parts::day(drill.day),
                    took(seconds)
                ),
                None => format!("A drill is under way since {}.", parts::day(drill.day)),
            }
        }
    }
}

fn kind_word(recall: &Recall) -> &'static str {
    if recall.drill { "Drill" } else { "Recall" }
}

fn recall_row(workshop: &Workshop, recall: &Recall) -> Markup {
    html! {
        li {
            span {
                a href={ "/recall/" (recall.id) } { (kind_word(recall)) " " (recall.id) ": " (suspect_name(workshop, recall.suspect)) }
                br; span.soft.small { (parts::day(recall.day)) ", " (recall.reason) }
            }
            @match &recall.ended {
                Some(ended) => span.soft { "found in " (took(ended.seconds)) },
                None if recall.drill => (parts::verdict("unproven", "under way")),
                None => (parts::verdict("no", "under way")),
            }
        }
    }
}

async fn recall(State(site): State<Site>, At(id): At<RecallId>) -> Response {
    site.run(move |app| recall_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn answer(
    State(site): State<Site>,
    At(id): At<RecallId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| recalls::answer(app, WHO, id, filled),
        move |_, _| Ok(format!("/recall/{id}")),
        move |app, filled, problems| recall_page(app, id, filled, problems),
    )
    .await
}

async fn listed(
    State(site): State<Site>,
    At(id): At<RecallId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, _| recalls::list(app, WHO, id),
        move |_, _| Ok(format!("/recall/{id}")),
        move |app, filled, problems| recall_page(app, id, filled, problems),
    )
    .await
}

async fn end(State(site): State<Site>, At(id): At<RecallId>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, filled| recalls::end(app, WHO, id, filled),
        move |_, _| Ok(format!("/recall/{id}")),
        move |app, filled, problems| recall_page(app, id, filled, problems),
    )
    .await
}

fn recall_page(
    app: &App,
    id: RecallId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    const QUESTION: &str = "Who is told, and what came back?";
    let people = app.everyone()?;
    app.look(|workshop| {
        let recall = workshop.trade().recall(id).ok_or(Fault::Nothing("recall"))?;
        let far = progress(workshop, recall).ok_or(Fault::Nothing("lot"))?;
        let share_back = as_typed(workshop, share(far.back, far.out));
        let (out, back) = (far.out, far.back);
        Ok(Page {
            title: format!("{QUESTION} · {} {id}", kind_word(recall)),
            place: Place::Rack,
            back: Some(("/recall".to_owned(), "Recalls and drills".to_owned())),
            body: html! {
                (parts::question(QUESTION))
                p.soft { (kind_word(recall)) " " (id) ": " a href=(path_of(recall.suspect)) { (suspect_name(workshop, recall.suspect)) } }
                (parts::problems(problems))
                (parts::answer_words(&format!("{} of {} told; {back} of {out} units that were out are found again, {share_back}.", far.told, far.to_tell), ""))
                p.doubt { (sum_words(workshop, &far.traced)) " Begun " (parts::day(recall.day)) ": " (recall.reason) "."
                    @if let Some(end) = &recall.at_end { " Ended " (parts::day(end.day)) ": all of this is as it stood then." } }
                @if !recall.drill { p { (parts::verdict("no", "hold")) " Every lot of it was stopped as this was begun." } }
                @for words in unknown_words(workshop, &far.traced) { p.note { (words) } }
                (clock(&people, workshop, recall, &far.traced))
                (call_list(&people, workshop, recall, &far.calls, filled, problems))
                @match &recall.ended {
                    Some(ended) => (record(workshop, recall, ended, &far)),
                    None => (end_form(id, filled, problems)),
                }
            },
        })
    })?
}

/// The button that stops the clock, and what to print.
fn clock(people: &Everyone, workshop: &Workshop, recall: &Recall, traced: &Trace) -> Markup {
    let sheet = sheet_path(workshop, recall.suspect);
    html! {
        @if let Some(seconds) = recall.listed {
            p { "Every holder was known after " strong { (took(seconds)) } "." }
        }
        @if recall.listed.is_none() && recall.ended.is_none() {
            form method="post" action={ "/recall/" (recall.id) "/listed" } {
                p { "The clock runs until you have everyone below in your hand, on this page or on paper." }
                p.next { button.do type="submit" { "I have the list: stop the clock" } }
            }
        }
        p.next {
            a.button.quiet href=(sheet) type="application/pdf" {
                @if recall.ended.is_none() { "Print the call list" } @else { "Print the sheet as it is now" }
            }
            a.button.quiet href=(notice_path(people, workshop, traced)) { "Print the notice" }
        }
    }
}

fn call_list(
    people: &Everyone,
    workshop: &Workshop,
    recall: &Recall,
    calls: &[Called],
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let open = recall.ended.is_none();
    let doubtful = calls.iter().any(|one| one.call.maybe > 0);
    html! {
        h2 { "Whom to tell" }
        @if calls.is_empty() {
            p.empty { "Nobody: none of it went out." }
        } @else {
            form.sheet method="post" action={ "/recall/" (recall.id) } {
                table.stack {
                    thead { tr {
                        th { "Who" } th.n { "Out there" }
                        @if doubtful { th.n { "Perhaps" } }
                        th { "Told" } th.n { "Found again" } th { "What they said" }
                    } }
                    tbody {
                        @for Called { call, out } in calls {
                            @let key = told_key(call.told);
                            @let known = recall.answers.get(&call.told);
                            tr {
                                td {
                                    (told_name(people, workshop, call.told))
                                    @if call.resells { br; span.soft.small { "sells on: which of these were sold, and to whom, is not known" } }
                                }
                                td.n data-label="Out there" {
                                    (out)
                                    @if call.went > *out { br; span.soft.small { (call.went) " went there, " (call.went - out) " came back or were lost before" } }
                                    @if call.units != *out { br; span.soft.small { (call.units) @if open { " there now" } @else { " there at the end" } } }
                                }
                                @if doubtful { td.n data-label="Perhaps" { @if call.maybe > 0 { (call.maybe) } } }
                                @if open {
                                    (call_fields(&key, &told_name(people, workshop, call.told), known, filled, problems))
                                } @else {
                                    td data-label="Told" { @if let Some((day, ..)) = known { (parts::day(*day)) } @else { span.soft { "not told" } } }
                                    td.n data-label="Found again" { @if let Some((_, back, _)) = known { (back) } }
                                    td data-label="What they said" { @if let Some((_, _, words)) = known { (words) } }
                                }
                            }
                        }
                    }
                }
                @if open { p.next { button.do type="submit" { "Write down who was told" } } }
            }
        }
    }
}

/// The boxes of one line: told, how many came back, and a note.
fn call_fields(
    key: &str,
    name: &str,
    known: Option<&(jiff::civil::Date, u32, String)>,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let (told, back, note) = (
        format!("told[{key}]"),
        format!("back[{key}]"),
        format!("note[{key}]"),
    );
    let ticked = filled.has(&told) || (!filled.has(&back) && known.is_some());
    let typed = |field: &str, kept: String| {
        if filled.has(field) {
            filled.get(field).to_owned()
        } else {
            kept
        }
    };
    let n = typed(
        &back,
        known.map_or_else(String::new, |(_, n, _)| n.to_string()),
    );
    let words = typed(
        &note,
        known.map_or_else(String::new, |(.., words)| words.clone()),
    );
    let wrong = |field: &str| problems.of(field);
    html! {
        td data-label="Told" {
            input type="checkbox" id=(parts::id_of(&told)) name=(told) value="yes" checked[ticked] aria-label={ (name) " was told" };
            @if let Some((day, ..)) = known { " " span.soft.small { (parts::day(*day)) } }
        }
        @for (field, label, value, keys, head) in [(&back, "found again", &n, "numeric", "Found again"), (&note, "said", &words, "text", "What they said")] {
            td.n[keys == "numeric"] data-label=(head) {
                input type="text" id=(parts::id_of(field)) name=(field) value=(value) inputmode=(keys) autocomplete="off"
                    size=(if keys == "numeric" { "5" } else { "18" }) aria-label={ (name) ": " (label) }
                    aria-invalid=[wrong(field).map(|_| "true")];
                @if let Some(problem) = wrong(field) { p.problem { (capital(&problem.wrong)) "; " (problem.accepted) "." } }
            }
        }
    }
}

fn end_form(id: RecallId, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        form.sheet method="post" action={ "/recall/" (id) "/end" } {
            h2 { "End it" }
            p.soft { "What was made, what is on hand and what is with named buyers is written down as it stands now." }
            div.fields.wide {
                (Field::text("note", "What was learned", filled.get("note")).hint("may stay empty").draw(problems))
            }
            p.next { button type="submit" { "End and keep the record" } }
        }
    }
}

/// The record of an ended recall.
fn record(
    workshop: &Workshop,
    recall: &Recall,
    ended: &workshop::facts::RecallEnded,
    far: &recalls::Progress,
) -> Markup {
    let known = i64::from(ended.on_hand) + i64::from(ended.named);
    let made = i64::from(ended.made);
    html! {
        h2 { "The record" }
        dl.facts {
            dt { "Every holder known after" } dd { (took(ended.seconds)) }
            dt { "Made" } dd { (ended.made) }
            dt { "On hand" } dd { (ended.on_hand) }
            dt { "With named buyers" } dd { (ended.named) }
            dt { "On hand or named" } dd { (known) " of " (made) ", " (as_typed(workshop, share(known, made))) }
            dt { "Told" } dd { (far.told) " of " (far.to_tell) }
            dt { "Found again" } dd { (far.back) " of " (far.out) ", " (as_typed(workshop, share(far.back, far.out))) }
            @if !ended.note.is_empty() { dt { "Learned" } dd { (ended.note) } }
        }
        @if !recall.drill {
            p.soft { "The lots stay on hold until each is released on the rack." }
        }
    }
}
