//! Today: what needs hands now, and a quick pour.

use app::forms::Filled;
use app::people::Everyone;
use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::get;
use jiff::civil::Date;
use maud::{Markup, html};
use workshop::facts::{InvoiceId, MarketDayId, OrderId, PourId, ProductId};
use workshop::label::label_case;
use workshop::{Errand, Pour, Stage, Workshop, errands};

use crate::layout::{Page, Place};
use crate::pages::supply_lots::lot_words;
use crate::pages::{count, quick};
use crate::parts;
use crate::site::Site;

/// Lots named on the front page before it says how many more there are.
const NAMED: usize = 8;

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/", get(today))
}

async fn today(State(site): State<Site>) -> Response {
    site.run(|app| {
        let day = app.today();
        let errands = app.look(|workshop| errands(workshop, day))?;
        // Who buyers are is kept apart, and read only where one is named.
        let everyone = if errands.iter().any(names_a_buyer) {
            app.everyone()?
        } else {
            Everyone::default()
        };
        Ok(app.look(|workshop| {
            let fresh = workshop.facts() == 0;
            Page {
                title: "Today".to_owned(),
                place: Place::Today,
                back: None,
                body: html! {
                    @if fresh {
                        (quick::panel(workshop, &Filled::default()))
                    } @else {
                        (parts::question("What needs hands now?"))
                        p.doubt { (parts::day(day)) }
                        @if errands.is_empty() {
                            p.answer.words { "Nothing. The racks are quiet." }
                        } @else {
                            ul.rows.errands {
                                @for errand in errands.iter().take(NAMED + open(&errands)) { (line(workshop, &everyone, errand, day)) }
                            }
                            @if errands.len() > NAMED + open(&errands) {
                                p.soft { "and " (errands.len() - NAMED - open(&errands)) " more, on the " a href="/rack" { "Rack" } ", the " a href="/shelf" { "Shelf" } " and the " a href="/stall" { "Stall" } "." }
                            }
                        }
                        p.next {
                            a.button.do href="/pour/new" { "Start a pour" }
                            a.button.quiet href="/quick" { "Quick pour" }
                            a.button.quiet href="/print" { "Print something" }
                        }
                    }
                },
            }
        })?)
    })
    .await
}

/// Pours that wait for a next step are all named, however many.
fn open(errands: &[Errand]) -> usize {
    errands
        .iter()
        .filter(|errand| matches!(errand, Errand::GoOnWith(..)))
        .count()
}

fn names_a_buyer(errand: &Errand) -> bool {
    matches!(
        errand,
        Errand::Send(_) | Errand::Overdue(..) | Errand::CountShop(..)
    )
}

fn line(workshop: &Workshop, everyone: &Everyone, errand: &Errand, day: Date) -> Markup {
    html! {
        li {
            @match errand {
                Errand::SellAt(id) => {
                    span { a href={ "/stall/day/" (id) "/sell" } { "Sell at " (market_name(workshop, *id)) } br; span.soft.small { a href={ "/stall/day/" (id) } { "the market day" } } }
                    (parts::verdict("yes", "today"))
                }
                Errand::Send(id) => {
                    span { a href={ "/stall/order/" (id) } { "Send order " (id) } br; span.soft.small { (ordered(workshop, everyone, *id)) } }
                    @if order_due(workshop, *id).is_some_and(|due| due < day) { (parts::verdict("no", "late")) }
                    @else { (parts::verdict("unproven", "today")) }
                }
                Errand::Overdue(id, owed) => {
                    span { a href={ "/stall/invoice/" (id) } { "Ask after invoice " (id) } br; span.soft.small { (invoiced(workshop, everyone, *id)) } }
                    span { (parts::verdict("no", "overdue")) " " (parts::fig(owed.to_string())) }
                }
                Errand::CountShop(shop, seen) => {
                    span { a href={ "/stall/shop/" (shop) } { "Count what stands at " (everyone.name(workshop, *shop)) } br; span.soft.small { "looked at last on " (parts::day(*seen)) } }
                    (parts::verdict("unproven", "count"))
                }
                Errand::GoOnWith(id, stage) => {
                    span { a href={ "/pour/" (id) } { (stage_verb(*stage)) " lot " (lot(workshop, *id)) } br; span.soft.small { (what(workshop, *id)) } }
                    span.soft { (stage.word()) }
                }
                Errand::Held(id) => {
                    span { a href={ "/rack/" (id) } { "Lot " (lot(workshop, *id)) } br; span.soft.small { (what(workshop, *id)) } }
                    (parts::verdict("no", "hold"))
                }
                Errand::CountGoods(place) => {
                    span { a href=(count::path_of(*place)) { "Count " (count::words_of(workshop, *place)) } br; span.soft.small { "more left it than ever came" } }
                    (parts::verdict("no", "explain"))
                }
                Errand::CountBack(id) => {
                    span { a href={ "/stall/day/" (id) } { "Count " (market(workshop, *id)) " back" } br; span.soft.small { "what did not come home was sold" } }
                    (parts::verdict("unproven", "count"))
                }
                Errand::PackFor(id) => {
                    span { a href={ "/stall/day/" (id) } { "Pack for " (market(workshop, *id)) } br; span.soft.small { "nothing is packed yet" } }
                    (parts::verdict("unproven", "pack"))
                }
                Errand::Relabel(id) => {
                    span { a href={ "/label/good/" (id) } { "Renew the label of " (good(workshop, *id)) } br; span.soft.small { (label_why(workshop, *id, day)) } }
                    (parts::verdict("no", "label"))
                }
                Errand::Ready(id, since) => {
                    span { a href={ "/rack/" (id) } { "Lot " (lot(workshop, *id)) } br; span.soft.small { (what(workshop, *id)) } }
                    span { (parts::verdict("yes", "ready")) span.soft { " since " (short(*since)) } }
                }
                Errand::Curing(id, until) => {
                    span { a href={ "/rack/" (id) } { "Lot " (lot(workshop, *id)) } br; span.soft.small { (what(workshop, *id)) } }
                    span { (parts::verdict("unproven", "curing")) span.soft { " ready " (short(*until)) } }
                }
                Errand::Explain(id) => {
                    span { a href={ "/shelf/supply/" (id) "/lots" } { (supply(workshop, *id)) } br; span.soft.small { "more was used than ever came in: a receipt is missing, or a weight is wrong; or count it" } }
                    (parts::verdict("no", "explain"))
                }
                Errand::PastDate(id, lot, date) => {
                    span { a href={ "/shelf/supply/" (id) "/lots" } { (supply(workshop, *id)) ", " (lot_words(workshop, *lot)) } br; span.soft.small { "it was best before " (parts::day(*date)) "; look at it, then throw it away or note another date" } }
                    (parts::verdict("no", "past its date"))
                }
                Errand::NoPrice(id) => {
                    span { a href={ "/shelf/receive?supply=" (id) } { "Write down what " (supply(workshop, *id)) " cost" } br; span.soft.small { "it was used and has no price yet, so its lots have no cost" } }
                    (parts::verdict("unproven", "no cost yet"))
                }
            }
        }
    }
}

fn stage_verb(stage: Stage) -> &'static str {
    match stage {
        Stage::Weighing => "Weigh",
        Stage::Ready => "Pour",
        Stage::Setting => "Count and demould",
        Stage::Demoulded | Stage::Finished | Stage::Abandoned => "Finish",
    }
}

fn lot(workshop: &Workshop, id: PourId) -> &str {
    workshop.pour(id).map_or("?", |pour| pour.lot.as_str())
}

fn good(workshop: &Workshop, id: ProductId) -> &str {
    workshop
        .product(id)
        .map_or("?", |product| product.name.as_str())
}

fn market_name(workshop: &Workshop, id: MarketDayId) -> &str {
    let day = workshop.trade().market_day(id);
    day.map_or("?", |day| day.market.as_str())
}

fn order_due(workshop: &Workshop, id: OrderId) -> Option<Date> {
    workshop.trade().order(id)?.due
}

/// Whose order it is, and by when it is wanted.
fn ordered(workshop: &Workshop, everyone: &Everyone, id: OrderId) -> String {
    let order = workshop.trade().order(id);
    let name = order.map(|order| everyone.name(workshop, order.buyer));
    let due = order_due(workshop, id).map(parts::day);
    format!(
        "{}, wanted by {}",
        name.unwrap_or_default(),
        due.unwrap_or_default()
    )
}

/// Whom an invoice is for, and when it was due.
fn invoiced(workshop: &Workshop, everyone: &Everyone, id: InvoiceId) -> String {
    let invoice = workshop.trade().invoice(id);
    let name = invoice.map(|invoice| everyone.name(workshop, invoice.buyer));
    let due = invoice.and_then(|invoice| invoice.due).map(parts::day);
    format!(
        "{}, due {}",
        name.unwrap_or_default(),
        due.unwrap_or_default()
    )
}

fn market(workshop: &Workshop, id: MarketDayId) -> String {
    let day = workshop.trade().market_day(id);
    day.map_or_else(String::new, |day| {
        format!("{}, {}", day.market, short(day.on))
    })
}

fn label_why(workshop: &Workshop, id: ProductId, day: Date) -> String {
    label_case(workshop, id, day)
        .and_then(|case| Some(case.renewals.first()?.words(workshop)))
        .unwrap_or_default()
}

fn supply(workshop: &Workshop, id: workshop::facts::SupplyId) -> &str {
    workshop
        .supply(id)
        .map_or("?", |supply| supply.name.as_str())
}

/// What a pour is of: the good, or the formula and the mould.
pub(crate) fn what(workshop: &Workshop, id: PourId) -> String {
    workshop
        .pour(id)
        .map(|pour| what_of(workshop, pour))
        .unwrap_or_default()
}

pub(crate) fn what_of(workshop: &Workshop, pour: &Pour) -> String {
    if let Some(product) = pour.product.and_then(|product| workshop.product(product)) {
        return product.name.clone();
    }
    let formula = workshop
        .formula(pour.formula)
        .map_or("?", |formula| formula.name.as_str());
    match pour.mould.and_then(|mould| workshop.mould(mould)) {
        Some(mould) => format!("{formula} in {}", mould.name),
        None => formula.to_owned(),
    }
}

fn short(day: Date) -> String {
    day.strftime("%a %-d %b").to_string()
}
