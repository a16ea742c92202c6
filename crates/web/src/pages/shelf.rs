//! Shelf: what is on hand, what it really cost, and deliveries.

use app::App;
use app::forms::{self, Filled, KINDS, as_typed};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::get;
use jiff::civil::Date;
use maud::{Markup, html};
use measure::{Problems, in_system};
use workshop::facts::{Amount, Fact, PourId, ReceiptId, SupplyId, SupplyKind};
use workshop::lots::USE_DAYS;
use workshop::{
    Pour, Receipt, Supply, Workshop, amount_of, delivery_cost, freight_working, is_unpriced,
    landed_rate, plain_amount_of, receipts_of, shelf_working, uses_of, worth_of_shelf,
    worth_on_hand,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::supply_lots::lasts;
use crate::pages::{Pairs, today};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Lines that an empty delivery offers.
const LINES: usize = 4;
/// Lines that a delivery takes at most; a longer one is written down in two.
const MOST_LINES: usize = 60;
/// Uses and receipts of a supply, and deliveries, that are listed.
const LISTED: usize = 20;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/shelf", get(shelf))
        .route("/shelf/new", get(new).post(define))
        .route("/shelf/receive", get(delivery_form).post(receive))
        .route("/shelf/supply/{id}", get(supply).post(amend))
        .route("/shelf/delivery/{id}", get(delivery))
        .route("/shelf/delivery/{id}/line/{nth}", get(line).post(correct))
}

async fn shelf(State(site): State<Site>) -> Response {
    site.run(|app| {
        Ok(app.look(|workshop| Page {
            title: "What is on hand?".to_owned(),
            place: Place::Shelf,
            back: None,
            body: html! {
                (parts::question("What is on hand?"))
                @if workshop.supplies().next().is_none() {
                    (parts::empty(
                        "Supplies stand here: waxes, oils, dyes, wicks, vessels and wraps, with what each delivery really cost.",
                        "/shelf/new", "Enter a supply"))
                } @else {
                    (on_hand(workshop))
                }
            },
        })?)
    })
    .await
}

fn on_hand(workshop: &Workshop) -> Markup {
    let worth = worth_of_shelf(workshop);
    let supplies = match workshop.supplies().count() {
        1 => "1 supply".to_owned(),
        many => format!("{many} supplies"),
    };
    html! {
        @match worth.cost {
            Some(cost) if !cost.major().is_zero() => {
                (parts::answer(&cost.to_string(), "at average cost", ""))
                p.doubt { (supplies) ", each at its average cost with freight." }
            }
            _ => { (parts::answer_words(&format!("{supplies}, of which nobody knows the cost yet."), "")) }
        }
        p.doubt {
            @if worth.unpriced > 0 {
                " " (worth.unpriced) " of them " (if worth.unpriced == 1 { "was used and has" } else { "were used and have" }) " no price yet: no delivery is written down."
            }
            @if worth.short > 0 {
                " " (parts::verdict("no", "look")) " More of " (worth.short) " was used than ever came in."
            }
        }
        p.next {
            a.button.do href=(receive_path(workshop)) { "Write down a delivery" }
            a.button.quiet href="/shelf/new" { "Enter a supply" }
        }
        @for kind in SupplyKind::ALL {
            @let mut of_kind = workshop.supplies().filter(|supply| supply.kind == kind).peekable();
            @if of_kind.peek().is_some() {
                h2 { (heading(kind)) }
                table.stack.even {
                    thead { tr { th { "Supply" } th.n { "On hand" } th.n { "Cost with delivery" } th.n { "What it is worth" } } }
                    tbody { @for supply in of_kind { (stock_row(workshop, supply)) } }
                }
            }
        }
        @if workshop.receipts().next().is_some() {
            h2 { "Deliveries" }
            ul.rows {
                @for receipt in workshop.receipts().rev().take(LISTED) { (delivery_row(workshop, receipt)) }
            }
        }
    }
}

fn stock_row(workshop: &Workshop, supply: &Supply) -> Markup {
    let path = format!("/shelf/supply/{}", supply.id);
    html! {
        tr {
            td { a href=(path) { (supply.name) } }
            td.n data-label="On hand" { (on_hand_of(workshop, supply)) }
            td.n data-label="Cost with delivery" {
                @if let Some(rate) = landed_rate(supply, workshop.system()) { (fig(rate.to_string())) }
                @else if is_unpriced(supply) { a href={ "/shelf/receive?supply=" (supply.id) } { "write it down" } }
                @else { span.soft { "–" } }
            }
            td.n data-label="What it is worth" {
                @if let Some(worth) = worth_on_hand(supply) { (fig(worth.to_string())) } @else { span.soft { "–" } }
            }
        }
    }
}

/// What is on hand; more used than received is a discrepancy, and says so.
fn on_hand_of(workshop: &Workshop, supply: &Supply) -> Markup {
    let stock = &supply.stock;
    let say = |smallest| amount_of(supply.kind, smallest, workshop.system());
    html! {
        @if is_unpriced(supply) {
            span { (parts::verdict("unproven", "no price yet")) " " span.soft { (fig(say(stock.used))) " used" } }
        } @else if stock.on_hand() < 0 {
            span { (parts::verdict("no", "does not add up")) " " (fig(say(stock.on_hand()))) }
        } @else {
            (fig(say(stock.on_hand())))
        }
    }
}

const fn heading(kind: SupplyKind) -> &'static str {
    match kind {
        SupplyKind::Wax => "Wax",
        SupplyKind::Additive => "Additives",
        SupplyKind::FragranceOil => "Fragrance oils",
        SupplyKind::Dye => "Dye and mica",
        SupplyKind::Wick => "Wicks",
        SupplyKind::Vessel => "Vessels",
        SupplyKind::Wrap => "Wrap",
        SupplyKind::Label => "Labels",
    }
}

/// The delivery form, begun with every supply that has no cost yet.
fn receive_path(workshop: &Workshop) -> String {
    let unpriced = workshop.supplies().filter(|supply| is_unpriced(supply));
    receive_these(unpriced.map(|supply| supply.id), None)
}

/// The delivery form, begun with these supplies; with the lot whose cost waits
/// for it, and to which it leads back.
pub(crate) fn receive_these(
    supplies: impl Iterator<Item = SupplyId>,
    lot: Option<PourId>,
) -> String {
    let asked: Vec<_> = supplies
        .take(MOST_LINES)
        .map(|id| format!("supply={id}"))
        .chain(lot.map(|lot| format!("lot={lot}")))
        .collect();
    if asked.is_empty() {
        "/shelf/receive".to_owned()
    } else {
        format!("/shelf/receive?{}", asked.join("&"))
    }
}

/// The lot whose cost a delivery was written down for.
fn lot_waiting<'a>(workshop: &'a Workshop, asked: &Filled) -> Option<&'a Pour> {
    let id: PourId = asked.get("lot").parse().ok()?;
    workshop.pour(id)
}

/// The way back: to the lot that waits for a cost, else to the shelf.
fn way_back(lot: Option<&Pour>) -> (String, String) {
    match lot {
        Some(pour) => (
            format!("/books/lot/{}", pour.id),
            format!("What lot {} cost", pour.lot),
        ),
        None => ("/shelf".to_owned(), "Shelf".to_owned()),
    }
}

fn delivery_row(workshop: &Workshop, receipt: &Receipt) -> Markup {
    let names: Vec<_> = receipt
        .lines
        .iter()
        .map(|line| name_of(workshop, line.supply))
        .collect();
    html! {
        li {
            span {
                a href={ "/shelf/delivery/" (receipt.id) } { (parts::day(receipt.day)) @if !receipt.supplier.is_empty() { ", " (receipt.supplier) } }
                br; span.soft.small { (names.join(", ")) }
            }
            @if let Some(total) = delivery_cost(receipt).total { (fig(total.to_string())) }
        }
    }
}

fn name_of(workshop: &Workshop, id: SupplyId) -> &str {
    workshop
        .supply(id)
        .map_or("?", |supply| supply.name.as_str())
}

async fn supply(State(site): State<Site>, At(id): At<SupplyId>) -> Response {
    site.run(move |app| supply_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn amend(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::amend_supply(app, WHO, id, filled),
        move |_, _| Ok(format!("/shelf/supply/{id}")),
        move |app, filled, problems| supply_page(app, id, filled, problems),
    )
    .await
}

fn supply_page(
    app: &App,
    id: SupplyId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let today = app.today();
    app.look(|workshop| {
        let supply = workshop.supply(id).ok_or(Fault::Nothing("supply"))?;
        let system = workshop.system();
        let stock = &supply.stock;
        let say = |smallest| amount_of(supply.kind, smallest, system);
        let plain = |smallest| plain_amount_of(supply.kind, smallest, system);
        let also = if supply.kind.is_weighed() {
            amount_of(supply.kind, stock.on_hand(), system.other())
        } else {
            String::new()
        };
        let rate = landed_rate(supply, system);
        Ok(Page {
            title: supply.name.clone(),
            place: Place::Shelf,
            back: Some(("/shelf".to_owned(), "Shelf".to_owned())),
            body: html! {
                (parts::question(&format!("{}: how much is on hand?", supply.name)))
                (parts::problems(problems))
                @if is_unpriced(supply) {
                    (parts::answer_words(&format!("{} used, and it has no price yet.", say(stock.used)),
                        "Write down the delivery it came in, and every pour that used it has a cost."))
                } @else if stock.on_hand() < 0 {
                    (parts::answer(&say(stock.on_hand()), &also, ""))
                    p.doubt { (parts::verdict("no", "does not add up")) " More was used than ever came in: a delivery is missing, or a weight is wrong." }
                } @else {
                    (parts::answer(&say(stock.on_hand()), &also, &format!("{} came in, {} was used.", plain(stock.received), plain(stock.used))))
                }
                @if let Some(rate) = rate {
                    p { "It really cost " strong { (fig(rate.to_string())) } ", freight included"
                        @if let Some(worth) = worth_on_hand(supply) { "; what is left is worth " (fig(worth.to_string())) }
                        "." }
                }
                @if stock.foreign > 0 {
                    p.note { (parts::counted(stock.foreign, "delivery line")) " in another currency cannot be averaged in and is left out of the cost." }
                }
                p.next {
                    a.button.do href={ "/shelf/receive?supply=" (id) } { "Write down a delivery" }
                    @if stock.received > 0 { a.button.quiet href={ "/shelf/supply/" (id) "/lots" } { "Its lots: open, count, throw away" } }
                }
                @if let Some(days) = lasts(workshop, supply, today) {
                    @if stock.on_hand() > 0 { p { "At the rate of the last " (USE_DAYS) " days it lasts " strong { (days) } "." } }
                }
                @if uses_of(workshop, id).next().is_some() {
                    p { "Print: " a href={ "/print/recall-notice/ask?supply=" (id) } { "a notice that calls back what holds it" } "." }
                }
                (parts::working("working-shelf", &shelf_working(workshop, supply)))
                (receipts(workshop, supply))
                (uses(workshop, supply))
                h2 { "What its sheet says" }
                @if supply.kind.is_weighed() {
                    p { a href={ "/shelf/supply/" (id) "/sheet" } { "What is in it" } " by its safety data sheet, and whether each line is confirmed." }
                }
                (amend_form(workshop, supply, filled, problems))
            },
        })
    })?
}

fn receipts(workshop: &Workshop, supply: &Supply) -> Markup {
    let mut lines = receipts_of(workshop, supply.id).take(LISTED).peekable();
    html! {
        @if lines.peek().is_some() {
            h2 { "Where it came from" }
            table.stack {
                thead { tr { th { "Delivery" } th { "Supplier lot" } th.n { "Came" } th.n { "Paid" } th.n { "With delivery" } } }
                tbody {
                    @for (receipt, nth) in lines {
                        @if let (Some(line), Some(landed)) = (receipt.lines.get(nth), receipt.landed.get(nth)) {
                            tr {
                                td { a href={ "/shelf/delivery/" (receipt.id) } { (parts::day(receipt.day)) @if !receipt.supplier.is_empty() { ", " (receipt.supplier) } } }
                                td data-label="Supplier lot" {
                                    @if !line.supplier_lot.is_empty() { (line.supplier_lot) br; }
                                    a.small href={ "/shelf/delivery/" (receipt.id) "/line/" (nth) "/where" } { "Who has it?" }
                                }
                                td.n data-label="Came" { (fig(line.amount.to_string())) }
                                td.n data-label="Paid" { (fig(line.paid.to_string())) }
                                td.n data-label="With delivery" { (fig(landed.to_string())) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn uses(workshop: &Workshop, supply: &Supply) -> Markup {
    let mut uses = uses_of(workshop, supply.id).take(LISTED).peekable();
    html! {
        @if uses.peek().is_some() {
            h2 { "Where it went" }
            ul.rows {
                @for used in uses {
                    @if let Some(pour) = workshop.pour(used.pour) {
                        li {
                            span { a href={ "/pour/" (used.pour) } { "Lot " (pour.lot) } " " (today::what_of(workshop, pour)) }
                            (fig(amount_of(supply.kind, used.smallest, workshop.system())))
                            span.soft { (parts::day(used.day)) }
                        }
                    }
                }
            }
        }
    }
}

fn amend_form(workshop: &Workshop, supply: &Supply, typed: &Filled, problems: &Problems) -> Markup {
    let text = |figure: Option<String>| figure.unwrap_or_default();
    let filled = typed
        .clone()
        .or("name", supply.name.as_str())
        .or(
            "max_load",
            text(supply.max_load.map(|load| as_typed(workshop, load))),
        )
        .or(
            "flash_point",
            text(supply.flash_point.as_ref().map(|at| as_typed(workshop, at))),
        );
    html! {
        form.sheet method="post" action={ "/shelf/supply/" (supply.id) } {
            div.fields {
                (Field::text("name", "Name", filled.get("name")).draw(problems))
                (sheet_fields(workshop, supply.kind, &filled, problems))
            }
            p.next { button type="submit" { "Put it right" } }
        }
    }
}

/// The figures a supplier's sheet gives for this kind of supply.
fn sheet_fields(
    workshop: &Workshop,
    kind: SupplyKind,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    html! {
        @if matches!(kind, SupplyKind::Wax | SupplyKind::Additive) {
            (Field::text("max_load", "It carries at most", filled.get("max_load")).hint("oil, with its base: 10 % of wax").draw(problems))
        }
        @if kind == SupplyKind::FragranceOil {
            (Field::text("flash_point", "Flash point", filled.get("flash_point")).hint(&format!("from its safety data sheet: {}", forms::temperature_hint(workshop, 93))).draw(problems))
        }
    }
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn define(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    let begun = Filled::new(pairs.clone());
    site.post(
        pairs,
        |app, filled| forms::define_supply(app, WHO, filled),
        move |_, done| {
            let entered = done.facts.iter().find_map(|fact| match fact {
                Fact::SupplyDefined(fact) => Some(fact.supply),
                _ => None,
            });
            Ok(match entered {
                Some(supply) if begun.get("for") == "delivery" => back_to_delivery(&begun, supply),
                Some(supply) => format!("/shelf/supply/{supply}"),
                None => "/shelf".to_owned(),
            })
        },
        new_page,
    )
    .await
}

/// What was typed of a delivery, and goes along while a supply is entered for it.
fn typed_of_delivery(filled: &Filled) -> impl Iterator<Item = (&str, &str)> {
    let of_delivery = |name: &str| {
        [
            "supplier",
            "came_on",
            "freight",
            "spread",
            "duty",
            "lines_wanted",
            "lot",
        ]
        .contains(&name)
            || name.starts_with("lines[")
    };
    filled
        .pairs()
        .iter()
        .filter(move |(name, text)| of_delivery(name) && !text.is_empty())
        .map(|(name, text)| (name.as_str(), text.as_str()))
}

/// The delivery as it was typed, with the supply that was just entered on its
/// first line that names none.
fn back_to_delivery(begun: &Filled, supply: SupplyId) -> String {
    let free = (0..MOST_LINES)
        .map(|i| format!("lines[{i}].supply"))
        .find(|line| begun.some(line).is_none());
    let entered = supply.to_string();
    let line = free.as_deref().map(|line| (line, entered.as_str()));
    let pairs: Vec<_> = typed_of_delivery(begun).chain(line).collect();
    format!("/shelf/receive?{}", parts::query(&pairs))
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let kinds: Vec<_> = KINDS
        .iter()
        .map(|(word, kind)| ((*word).to_owned(), kind.word().to_owned()))
        .collect();
    Ok(app.look(|workshop| Page {
        title: "What is new on the shelf?".to_owned(),
        place: Place::Shelf,
        back: Some(("/shelf".to_owned(), "Shelf".to_owned())),
        body: html! {
            (parts::question("What is new on the shelf?"))
            p.doubt { "What kind of thing it is and what you call it is enough; its sheet can follow." }
            @if filled.get("for") == "delivery" { p.note { "The delivery you were writing down is kept, and goes on after this." } }
            (parts::problems(problems))
            form.sheet method="post" action="/shelf/new" {
                (once::field())
                @if filled.get("for") == "delivery" {
                    input type="hidden" name="for" value="delivery";
                    @for (name, text) in typed_of_delivery(filled) { input type="hidden" name=(name) value=(text); }
                }
                div.fields {
                    (parts::select("kind", "It is", filled.get("kind"), &kinds, "", problems))
                    (Field::text("name", "You call it", filled.get("name")).hint("such as soy container wax, or Harbour Fig oil").draw(problems))
                    (Field::text("max_load", "A wax carries at most", filled.get("max_load")).hint("oil, with its base: 10 % of wax").draw(problems))
                    (Field::text("flash_point", "An oil's flash point", filled.get("flash_point")).hint(&format!("from its safety data sheet: {}", forms::temperature_hint(workshop, 93))).draw(problems))
                }
                p.next { button.do type="submit" { "Put it on the shelf" } }
            }
        },
    })?)
}

async fn delivery_form(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        // Each supply asked for begins a line of its own; a form that was
        // filled in already has its lines.
        let asked: Vec<_> = pairs
            .iter()
            .filter(|(name, _)| name == "supply")
            .map(|(_, id)| id.clone())
            .collect();
        let mut filled = Filled::new(pairs);
        if filled.lines("lines") == 0 {
            for (i, id) in asked.into_iter().take(MOST_LINES).enumerate() {
                filled = filled.or(&format!("lines[{i}].supply"), id);
            }
        }
        receive_page(app, &filled, &Problems::default())
    })
    .await
}

async fn receive(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    let typed = Filled::new(pairs.clone());
    site.post(
        pairs,
        |app, filled| forms::receive(app, WHO, filled),
        move |_, done| {
            let lot = typed.some("lot");
            let on = lot.map_or_else(String::new, |lot| {
                format!("?{}", parts::query(&[("lot", lot)]))
            });
            Ok(done
                .facts
                .iter()
                .find_map(|fact| match fact {
                    Fact::SupplyReceived(fact) => {
                        Some(format!("/shelf/delivery/{}{on}", fact.receipt))
                    }
                    _ => None,
                })
                .unwrap_or_else(|| "/shelf".to_owned()))
        },
        receive_page,
    )
    .await
}

fn receive_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let day = app.today();
    Ok(app.look(|workshop| Page {
        title: "What came in?".to_owned(),
        place: Place::Shelf,
        back: Some(way_back(lot_waiting(workshop, filled))),
        body: html! {
            (parts::question("What came in, and what did it cost?"))
            @if workshop.supplies().next().is_none() {
                (parts::empty("A delivery brings supplies, and none is on the list yet.", "/shelf/new?for=delivery", "Enter a supply"))
            } @else {
                @if workshop.currency().is_none() {
                    p.note { "No currency is set yet: write each amount with its code, such as 26.00 USD, or " a href="/settings" { "choose one" } " first." }
                }
                (parts::problems(problems))
                (receive_form(workshop, day, filled, problems))
            }
        },
    })?)
}

fn receive_form(workshop: &Workshop, day: Date, filled: &Filled, problems: &Problems) -> Markup {
    let supplies: Vec<_> = std::iter::once((String::new(), "–".to_owned()))
        .chain(SupplyKind::ALL.into_iter().flat_map(|kind| {
            let of_kind = workshop
                .supplies()
                .filter(move |supply| supply.kind == kind);
            of_kind.map(move |supply| {
                (
                    supply.id.to_string(),
                    format!("{} ({})", supply.name, kind.word()),
                )
            })
        }))
        .collect();
    let asked = filled.get("lines_wanted").parse().unwrap_or(0);
    let lines = filled.lines("lines").max(asked).clamp(LINES, MOST_LINES);
    let spreads = [
        ("by_value".to_owned(), "by what each line cost".to_owned()),
        (
            "by_weight".to_owned(),
            "by what each line weighs".to_owned(),
        ),
        (
            "by_volume".to_owned(),
            "by the room each line takes".to_owned(),
        ),
    ];
    let weight = match workshop.system() {
        measure::System::Metric => "a weight such as 5 kg, or a count",
        measure::System::Us | measure::System::Imperial => "a weight such as 10 lb, or a count",
    };
    html! {
        form.sheet method="post" action="/shelf/receive" {
            (once::field())
            @if let Some(pour) = lot_waiting(workshop, filled) { input type="hidden" name="lot" value=(pour.id); }
            div.fields {
                (Field::text("supplier", "From", filled.get("supplier")).hint("who sent it; may stay empty").draw(problems))
                (parts::past_day("came_on", "Came on", filled.get("came_on"), day, problems))
            }
            fieldset id=(parts::id_of("lines")) {
                legend { "The lines of the invoice" }
                @if let Some(problem) = problems.of("lines") { p.problem { (problem.wrong) "; " (problem.accepted) } }
                @for i in 0..lines {
                    @let field = |part: &str| format!("lines[{i}].{part}");
                    @let (which, amount, paid, lot) = (field("supply"), field("amount"), field("paid"), field("supplier_lot"));
                    @let date = field("best_before");
                    @let first = i == 0;
                    div.fields.line {
                        (parts::select(&which, &format!("Line {}", i + 1), filled.get(&which), &supplies, "", problems))
                        (Field::text(&amount, "Came", filled.get(&amount)).hint(if first { weight } else { "" }).draw(problems))
                        (Field::text(&paid, "Paid", filled.get(&paid)).keys("decimal").hint(if first { "for the whole line, freight apart" } else { "" }).draw(problems))
                        (Field::text(&lot, "Supplier lot", filled.get(&lot)).hint(if first { "the number on the box; may stay empty" } else { "" }).draw(problems))
                        (Field::text(&date, "Best before", filled.get(&date)).hint(if first { "2027-05-31; may stay empty" } else { "" }).draw(problems))
                    }
                }
                @if lines < MOST_LINES {
                    p.next { button.quiet type="submit" formmethod="get" formaction="/shelf/receive" name="lines_wanted" value=(lines + LINES) { "More lines" } }
                }
            }
            fieldset {
                legend { "Freight and duty on the whole" }
                div.fields {
                    (Field::text("freight", "Freight and other charges", filled.get("freight")).keys("decimal").hint("empty when there was none").draw(problems))
                    (parts::select("spread", "Share it", filled.get("spread"), &spreads, "lines that are counted bear none by weight", problems))
                    (Field::text("duty", "Duty", filled.get("duty")).keys("decimal").hint("empty when there was none; it goes by what each line cost").draw(problems))
                }
                details open[(0..lines).any(|i| is_about_room(filled, problems, i))] {
                    summary { "The room each line takes, to share freight by it" }
                    div.fields {
                        @for i in 0..lines {
                            @let room = format!("lines[{i}].volume");
                            (Field::text(&room, &format!("Line {} takes", i + 1), filled.get(&room)).hint(if i == 0 { "of the whole line, such as 20 l" } else { "" }).draw(problems))
                        }
                    }
                }
            }
            p.next {
                button.do type="submit" { "Put it on the shelf" }
                button.quiet type="submit" formmethod="get" formaction="/shelf/new" name="for" value="delivery" { "Enter a new supply first" }
            }
        }
    }
}

/// Whether anything is said of the room that a line takes.
fn is_about_room(filled: &Filled, problems: &Problems, line: usize) -> bool {
    let room = format!("lines[{line}].volume");
    filled.some(&room).is_some() || problems.of(&room).is_some()
}

async fn delivery(
    State(site): State<Site>,
    At(id): At<ReceiptId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| {
        app.look(|workshop| {
            let receipt = workshop.receipt(id).ok_or(Fault::Nothing("delivery"))?;
            let lot = lot_waiting(workshop, &Filled::new(pairs));
            Ok(Page {
                title: format!("Delivery of {}", parts::day(receipt.day)),
                place: Place::Shelf,
                back: Some(way_back(lot)),
                body: delivery_body(workshop, receipt, lot),
            })
        })?
    })
    .await
}

fn delivery_body(workshop: &Workshop, receipt: &Receipt, lot: Option<&Pour>) -> Markup {
    let cost = delivery_cost(receipt);
    let freight = receipt.freight.zip(cost.freight_by);
    let mut spread = freight.map_or_else(
        || "No freight on it.".to_owned(),
        |(freight, by)| format!("{freight} of it is freight, shared {}.", by.words()),
    );
    if let Some(duty) = receipt.duty {
        spread = format!("{spread} {duty} of it is duty, shared by what each line cost.");
    }
    html! {
        (parts::question(&format!("What did the delivery of {} really cost?", parts::day(receipt.day))))
        @if let Some(total) = cost.total { (parts::answer(&total.to_string(), "", &spread)) }
        @if !receipt.supplier.is_empty() { p { "From " (receipt.supplier) "." } }
        @if let Some(pour) = lot {
            p.next { a.button.do href={ "/books/lot/" (pour.id) } { "Back to what lot " (pour.lot) " cost" } }
        }
        table.stack {
            thead { tr { th { "What" } th { "Supplier lot" } th.n { "Came" } th.n { "Paid" } th.n { "With delivery" } th {} } }
            tbody {
                @for (nth, (line, landed)) in receipt.lines.iter().zip(&receipt.landed).enumerate() {
                    tr {
                        td { a href={ "/shelf/supply/" (line.supply) } { (name_of(workshop, line.supply)) } }
                        td data-label="Supplier lot" { @if line.supplier_lot.is_empty() { span.soft { "–" } } @else { (line.supplier_lot) } }
                        td.n data-label="Came" { (fig(line.amount.to_string())) }
                        td.n data-label="Paid" { (fig(line.paid.to_string())) }
                        td.n data-label="With delivery" { strong { (fig(landed.to_string())) } }
                        td.n data-label="Written down wrongly?" { a href={ "/shelf/delivery/" (receipt.id) "/line/" (nth) } { "Put right" } }
                    }
                }
            }
        }
        (parts::working("working-freight", &freight_working(workshop, receipt)))
        p.next { a.button.quiet href=(receive_these(std::iter::empty(), lot.map(|pour| pour.id))) { "Write down another delivery" } }
    }
}

async fn line(State(site): State<Site>, At((id, nth)): At<(ReceiptId, u32)>) -> Response {
    site.run(move |app| line_page(app, id, nth, &Filled::default(), &Problems::default()))
        .await
}

async fn correct(
    State(site): State<Site>,
    At((id, nth)): At<(ReceiptId, u32)>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::correct_receipt(app, WHO, id, nth, filled),
        move |_, _| Ok(format!("/shelf/delivery/{id}")),
        move |app, filled, problems| line_page(app, id, nth, filled, problems),
    )
    .await
}

fn line_page(
    app: &App,
    id: ReceiptId,
    nth: u32,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let receipt = workshop.receipt(id).ok_or(Fault::Nothing("delivery"))?;
        let line = usize::try_from(nth).ok().and_then(|nth| receipt.lines.get(nth));
        let line = line.ok_or(Fault::Nothing("delivery line"))?;
        let name = name_of(workshop, line.supply);
        let filled = typed
            .clone()
            .or("amount", as_typed(workshop, &line.amount))
            .or("paid", as_typed(workshop, line.paid));
        let came = match &line.amount {
            Amount::Weight(weight) => {
                format!("{weight}, or {}", in_system(weight.value(), workshop.system().other()))
            }
            Amount::Count(count) => count.to_string(),
        };
        Ok(Page {
            title: format!("What really came of {name}?"),
            place: Place::Shelf,
            back: Some((format!("/shelf/delivery/{id}"), "The delivery".to_owned())),
            body: html! {
                (parts::question(&format!("What really came of {name}?")))
                p.doubt { "Written down: " (came) " for " (line.paid) ". What was written stays in the journal; from now on the corrected figures count." }
                (parts::problems(problems))
                form.sheet method="post" action={ "/shelf/delivery/" (id) "/line/" (nth) } {
                    div.fields {
                        (Field::text("amount", "Really came", filled.get("amount")).draw(problems))
                        (Field::text("paid", "Really paid", filled.get("paid")).keys("decimal").hint("for the whole line, freight apart").draw(problems))
                        (Field::text("reason", "What had gone wrong", filled.get("reason")).hint("such as: read the wrong line of the invoice").draw(problems))
                    }
                    p.next { button.do type="submit" { "Put it right" } }
                }
            },
        })
    })?
}
