//! Books: what each lot cost, and which format earns more.

use app::App;
use app::forms::Filled;
use app::selling::{Comparison, compare, first_comparison, formats_in, goods_asked};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use measure::{Currency, Problems};
use price::{Amounts, CompareFormatsOutput, EarnsMore, EqualAt, FormatOutput, Layer, UnitCost};
use workshop::facts::PourId;
use workshop::{
    LotCost, Pour, Workshop, format_rests_on, layer_of, layer_word, lot_cost, lot_working,
    small_cost, worth_of_all,
};

use crate::layout::{Page, Place};
use crate::pages::{Pairs, shelf, today};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site};

/// Lots on one page of the Books.
const LISTED: usize = 40;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/books", get(books))
        .route("/books/lot/{id}", get(lot))
        .route("/books/compare", get(comparison))
}

async fn books(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let before = Filled::new(pairs).get("before").parse().ok();
        Ok(app.look(|workshop| Page {
            title: "Is it worth making?".to_owned(),
            place: Place::Books,
            back: None,
            body: html! {
                (parts::question("Is it worth making?"))
                @if workshop.pours().any(|pour| pour.finished.is_some()) {
                    (goods(workshop))
                    p.next {
                        a.button.do href="/books/compare" { "Compare two formats" }
                        a.button.quiet href="/stall" { "Set prices" }
                    }
                    (lots(workshop, before))
                } @else {
                    p.empty { "Every finished lot stands here with what it cost. None is finished yet." }
                    p.next {
                        a.button.do href="/quick" { "Start with a quick pour" }
                        a.button.quiet href="/books/compare" { "Compare two formats" }
                    }
                }
            },
        })?)
    })
    .await
}

/// The goods, what pays an hour best first.
fn goods(workshop: &Workshop) -> Markup {
    let goods = worth_of_all(workshop);
    let known = goods.iter().filter(|worth| worth.earning.is_some()).count();
    let best = goods.iter().find_map(|worth| {
        let hourly = worth.earning?.typical.pays_per_hour?;
        Some((worth.product, hourly))
    });
    html! {
        @if let Some((product, hourly)) = best {
            (parts::answer(&hourly.to_string(), &format!("for an hour of {}", product.name),
                "The most that an hour of hands-on work pays, your wage in it, when everything sells at its typical price."))
        } @else if known > 0 {
            (parts::answer_words("What an hour pays is not known: no lot has its hands-on time.", "Write it down when you finish a pour."))
        } @else {
            (parts::answer_words("Nobody can say yet: no good has both a price and a costed lot.",
                "What each lot cost stands below."))
        }
        @if known > 0 {
            table.stack {
                thead { tr { th { "Good" } th.n { "Full cost" } th.n { "Typical price" } th.n { "Leaves" } th.n { "An hour pays" } } }
                tbody {
                    @for worth in goods.iter().filter(|worth| worth.earning.is_some()) {
                        tr {
                            td { a href={ "/stall/good/" (worth.product.id) } { (worth.product.name) } }
                            @if let (Some(recent), Some(earning)) = (&worth.recent, worth.earning) {
                                td.n data-label="Full cost" { (fig(recent.cost.full().to_string())) }
                                td.n data-label="Typical price" { (fig(earning.typical.price.to_string())) }
                                td.n data-label="Leaves" { (fig(earning.typical.left.to_string())) }
                                td.n data-label="An hour pays" { @if let Some(hourly) = earning.typical.pays_per_hour { (fig(hourly.to_string())) } @else { "–" } }
                            }
                        }
                    }
                }
            }
            p.soft.small { "Averages over the last costed lots of each good; its page shows the working." }
        }
    }
}

fn lots(workshop: &Workshop, before: Option<PourId>) -> Markup {
    let mut finished = workshop
        .pours()
        .rev()
        .filter(|pour| pour.finished.is_some() && before.is_none_or(|before| pour.id < before));
    let shown: Vec<_> = finished.by_ref().take(LISTED).collect();
    let more = finished.next().is_some();
    html! {
        h2 { "What each lot cost a unit" }
        table.stack {
            thead { tr { th { "Lot" } th.n { "Sold or for sale" } th.n { "Material cost" } th.n { "Making cost" } th.n { "Full cost" } } }
            tbody { @for pour in &shown { (lot_row(workshop, pour)) } }
        }
        p.next {
            @if before.is_some() { a.button.quiet href="/books" { "The latest" } }
            @if let (true, Some(last)) = (more, shown.last()) { a.button.quiet href={ "/books?before=" (last.id) } { "Earlier lots" } }
        }
    }
}

fn lot_row(workshop: &Workshop, pour: &Pour) -> Markup {
    let found = lot_cost(workshop, pour);
    let cost = found.as_ref().and_then(|found| found.cost.as_ref());
    let dash = |cost: Option<measure::Cost>| html! { @if let Some(cost) = cost { (fig(cost.to_string())) } @else { span.soft { "–" } } };
    html! {
        tr {
            td { a href={ "/books/lot/" (pour.id) } { "Lot " (pour.lot) } " " span.soft { (today::what_of(workshop, pour)) } }
            td.n data-label="Sold or for sale" { @if let Some(cost) = cost { (cost.good()) } @else { span.soft { "–" } } }
            td.n data-label="Material cost" { (dash(cost.map(UnitCost::material))) }
            td.n data-label="Making cost" { (dash(cost.map(UnitCost::making))) }
            td.n data-label="Full cost" {
                @if let Some(cost) = cost { strong { (fig(cost.full().to_string())) } }
                @else if let Some(found) = found.as_ref().filter(|found| !found.unpriced.is_empty()) {
                    a href=(shelf::receive_these(found.unpriced.iter().copied())) { "write down what it took" }
                } @else { span.soft { "not known" } }
            }
        }
    }
}

async fn lot(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| {
        app.look(|workshop| {
            let pour = workshop.pour(id).ok_or(Fault::Nothing("lot"))?;
            Ok(Page {
                title: format!("What did lot {} cost?", pour.lot),
                place: Place::Books,
                back: Some(("/books".to_owned(), "Books".to_owned())),
                body: html! {
                    p.soft { "Lot " strong { (pour.lot) } " · " (today::what_of(workshop, pour)) " · " a href={ "/rack/" (id) } { "on the rack" } " · " a href={ "/pour/" (id) } { "the pour" } }
                    (parts::question("What did it cost me?"))
                    (lot_body(workshop, pour))
                },
            })
        })?
    })
    .await
}

fn lot_body(workshop: &Workshop, pour: &Pour) -> Markup {
    let Some(found) = lot_cost(workshop, pour) else {
        return html! {
            @if pour.finished.is_none() {
                (parts::answer_words("It is not finished yet.", "A lot has a cost once its units are counted and on the rack."))
                p.next { a.button.do href={ "/pour/" (pour.id) } { "Go on with it" } }
            } @else {
                (parts::answer_words("Nobody can say: this workshop has no currency yet.", ""))
                p.next { a.button.do href="/settings" { "Choose one" } }
            }
        };
    };
    html! {
        @if let Some(cost) = &found.cost {
            (costed(workshop, pour, &found, cost))
        } @else if found.unpriced.is_empty() {
            (parts::answer_words("No unit of it can be sold, so nothing can bear what it cost.", ""))
        } @else {
            (unpriced(workshop, &found))
        }
    }
}

/// Which supplies stand between the lot and its cost, and the way on.
fn unpriced(workshop: &Workshop, found: &LotCost) -> Markup {
    let name = |id| {
        workshop
            .supply(id)
            .map_or("?", |supply| supply.name.as_str())
    };
    html! {
        (parts::answer_words("Nobody can say yet: not everything in it has a price.",
            "These went in and were never received, so nothing knows what they cost."))
        ul.rows {
            @for id in &found.unpriced {
                li {
                    a href={ "/shelf/supply/" (id) } { (name(*id)) }
                    a href={ "/shelf/receive?supply=" (id) } { "write down its delivery" }
                }
            }
        }
        p.next { a.button.do href=(shelf::receive_these(found.unpriced.iter().copied())) {
            @if found.unpriced.len() == 1 { "Write down what it cost" } @else { "Write down what they cost, all at once" }
        } }
    }
}

fn costed(workshop: &Workshop, pour: &Pour, found: &LotCost, cost: &UnitCost) -> Markup {
    let missing = found.missing();
    let rests = if found.has_time {
        "Rests on what was weighed, what its supplies cost on average, delivery included, and the hands-on time you wrote down."
    } else {
        match missing {
            [true, true] => {
                "Rests on what was weighed and what its supplies cost on average, delivery included. Your own time is not in it: neither its hands-on time nor a wage is written down."
            }
            [true, false] => {
                "Rests on what was weighed and what its supplies cost on average, delivery included. Your own time is not in it: its hands-on time is not written down."
            }
            [false, _] => {
                "Rests on what was weighed and what its supplies cost on average, delivery included. Your own time is not in it: no wage is set."
            }
        }
    };
    let product = pour.product.and_then(|product| workshop.product(product));
    html! {
        (parts::answer(&cost.full().to_string(), &format!("a unit, for each of {}", cost.good()), rests))
        @if let Some(more) = &found.left_out {
            p.note { "The " (fig(more.to_string())) " of melt added later is not in this cost: it was weighed into no pot of this lot." }
        }
        @if !found.has_time {
            p.next {
                @if missing[0] { a.button.quiet href={ "/pour/" (pour.id) } { "Write down its hands-on time" } }
                @if missing[1] { a.button.quiet href="/settings" { "Set a wage" } }
            }
        }
        dl.facts {
            dt { "Material cost" } dd { (fig(cost.material().to_string())) " a unit, " (fig(cost.material_of_batch().to_string())) " the lot" }
            dt { "Making cost" } dd { (fig(cost.making().to_string())) " a unit, " (fig(cost.making_of_batch().to_string())) " the lot" }
            dt { "Full cost" } dd { strong { (fig(cost.full().to_string())) } " a unit, " (fig(cost.full_of_batch().to_string())) " the lot" }
        }
        @if let Some(product) = product {
            p.next { a.button.do href={ "/stall/good/" (product.id) } { "What should I charge?" } a.button.quiet href={ "/books/compare?good=" (product.id) } { "Compare with another format" } }
        }
        (lot_picture(workshop, pour, cost))
        h2 { "Line by line" }
        table.stack {
            thead { tr { th { "What" } th { "Counts as" } th.n { "A unit" } th.n { "The lot" } } }
            tbody {
                @for line in cost.lines() {
                    tr {
                        td { (line.name) }
                        td data-label="Counts as" { (layer_word(line.layer)) }
                        td.n data-label="A unit" { (fig(small_cost(cost.on_a_unit(line.batch)))) }
                        td.n data-label="The lot" { (fig(line.batch.to_string())) }
                    }
                }
            }
        }
        @if let Some(working) = lot_working(workshop, pour) { (parts::working("working-lot", &working)) }
    }
}

fn lot_picture(workshop: &Workshop, pour: &Pour, cost: &UnitCost) -> Markup {
    let write = parts::money_writer(cost.currency());
    let parts_of: Vec<_> = [Layer::Material, Layer::Wrap, Layer::Time, Layer::Overhead]
        .into_iter()
        .filter_map(|layer| {
            let amount = layer_of(cost, layer)?.to_f64();
            Some(press::CostPart {
                name: layer_word(layer),
                amount,
            })
        })
        .collect();
    let product = pour.product.and_then(|product| workshop.product(product));
    let name = product.map_or("unit", |product| product.name.as_str());
    let price = product
        .and_then(|product| product.prices)
        .map(|prices| prices.typical.cost())
        .filter(|price| price.currency() == cost.currency());
    let drawn = press::cost_parts(&press::CostParts {
        name,
        price: price.map(measure::Cost::to_f64),
        parts: &parts_of,
        left_word: "left",
        write: &write,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

async fn comparison(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| compare_page(app, &Filled::new(pairs))).await
}

fn compare_page(app: &App, asked: &Filled) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        let filled = first_comparison(workshop, asked.clone());
        let came_of = compare(workshop, &filled);
        let problems = match &came_of {
            Comparison::Unclear(problems, _) => problems.clone(),
            _ => Problems::default(),
        };
        Page {
            title: "Does the new format earn more?".to_owned(),
            place: Place::Books,
            back: Some(("/books".to_owned(), "Books".to_owned())),
            body: html! {
                (parts::question("Does the new format earn more?"))
                (which_is_which(workshop, asked))
                div data-part="answer" { (compared(&came_of)) }
                (compare_form(workshop, &filled, &problems))
                div data-part="more" {
                    @if let Comparison::Answer(output) = &came_of { (side_by_side(output)) }
                }
                (take_goods(workshop, &filled))
            },
        }
    })?)
}

/// Which good is taken for what is sold now, and the way to say otherwise.
fn which_is_which(workshop: &Workshop, asked: &Filled) -> Markup {
    let [Some(now), Some(new)] = goods_asked(workshop, asked) else {
        return html! {};
    };
    html! {
        p.note {
            strong { (now.name) } " stands as what you sell now, " strong { (new.name) } " as the new format. "
            @if asked.has("good") { "The one poured first is taken for the one you sell. " }
            a href={ "/books/compare?a=" (new.id) "&b=" (now.id) } { "It is the other way round" } "."
        }
    }
}

/// The answer, or what stands between it and the maker.
fn compared(came_of: &Comparison) -> Markup {
    html! {
        @match came_of {
            Comparison::StillEmpty(boxes) => {
                (parts::answer_words("Write down both formats, made from the same wax.",
                    &format!("{} to fill in; the answer follows.", boxes_word(*boxes))))
            }
            Comparison::Unclear(problems, boxes) => {
                div.problems role="alert" {
                    h2 { "That cannot be compared yet" }
                    (parts::problem_list(problems))
                    @if *boxes > 0 { p.soft { (boxes_word(*boxes)) " to fill in." } }
                }
            }
            Comparison::Answer(output) => { (verdict(output)) }
        }
    }
}

fn boxes_word(boxes: usize) -> String {
    match boxes {
        1 => "One box".to_owned(),
        many => format!("{many} boxes"),
    }
}

fn verdict(output: &CompareFormatsOutput) -> Markup {
    // The first sentence is the answer, the next says where it turns.
    let (answer, turns) = output
        .verdict
        .split_once(". ")
        .unwrap_or((output.verdict.trim_end_matches('.'), ""));
    html! {
        (parts::answer_words(&format!("{answer}."), turns))
        @for equal in &output.equal_at {
            p {
                "Over the whole of both price ranges the " (equal.format) " earns more a batch: " (earns_more(equal.more_per_batch))
                @if let Some(hourly) = equal.more_per_hour { "; more an hour: " (earns_more(hourly)) }
                "."
            }
        }
        @for note in &output.notes { p.soft { (note) } }
    }
}

fn earns_more(more: EarnsMore) -> Markup {
    match more {
        EarnsMore::Yes => parts::verdict("yes", "yes"),
        EarnsMore::No => parts::verdict("no", "no"),
        EarnsMore::NotProven => parts::verdict("unproven", "not proven"),
    }
}

fn compare_form(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let ounces = workshop.system() != measure::System::Metric || workshop.settings().is_none();
    html! {
        form.sheet method="get" action="/books/compare" data-live="/books/compare" {
            fieldset {
                legend { "The same wax for both" }
                div.fields {
                    (Field::text("wax", "Wax melted", filled.get("wax")).hint(if ounces { "such as 16 oz" } else { "such as 500 g" }).draw(problems))
                    (Field::text("wage", "Your hour is worth", filled.get("wage")).keys("decimal").hint("empty to leave your time out").draw(problems))
                    @if workshop.currency().is_none() {
                        (Field::text("currency", "Currency", filled.get("currency")).hint("three letters, such as GBP").draw(problems))
                    }
                }
            }
            div.cols {
                @for i in 0..formats_in(filled) {
                    @let field = |part: &str| format!("formats[{i}].{part}");
                    @let (name, units, cost, minutes) = (field("name"), field("units"), field("unit_cost"), field("minutes"));
                    @let (low, typical, high) = (field("price.low"), field("price.typical"), field("price.high"));
                    fieldset {
                        legend { @if i == 0 { "What you sell now" } @else { "The new format" } }
                        div.fields.tight {
                            (Field::text(&name, "It is a", filled.get(&name)).hint(if i == 0 { "such as clamshell" } else { "such as bar" }).draw(problems))
                            (Field::text(&units, "Units of it", filled.get(&units)).keys("numeric").hint("from that wax").draw(problems))
                        }
                        div.fields.three {
                            (Field::text(&low, "Low price", filled.get(&low)).keys("decimal").draw(problems))
                            (Field::text(&typical, "Typical price", filled.get(&typical)).keys("decimal").draw(problems))
                            (Field::text(&high, "High price", filled.get(&high)).keys("decimal").draw(problems))
                        }
                        div.fields.tight {
                            (Field::text(&cost, "A unit costs", filled.get(&cost)).keys("decimal").hint("wax, oil, packing, overhead; your time apart").draw(problems))
                            (Field::text(&minutes, "Hands-on time", filled.get(&minutes)).hint("for the batch, such as 40 min").draw(problems))
                        }
                    }
                }
            }
            p.next { button type="submit" { "Compare" } }
        }
    }
}

/// Fills the boxes from goods of the workshop.
fn take_goods(workshop: &Workshop, filled: &Filled) -> Markup {
    let goods: Vec<_> = std::iter::once((String::new(), "–".to_owned()))
        .chain(
            workshop
                .products()
                .map(|product| (product.id.to_string(), product.name.clone())),
        )
        .collect();
    html! {
        @if goods.len() > 1 {
            h2 { "Take the figures from your own goods" }
            @for product in goods_asked(workshop, filled).into_iter().flatten() {
                p.soft { (format_rests_on(workshop, product)) }
            }
            form.sheet method="get" action="/books/compare" {
                div.fields {
                    @let chosen = goods_asked(workshop, filled).map(|good| good.map_or_else(String::new, |good| good.id.to_string()));
                    (parts::select("a", "What you sell now", &chosen[0], &goods, "", &Problems::default()))
                    (parts::select("b", "The new format", &chosen[1], &goods, "", &Problems::default()))
                }
                p.next { button type="submit" { "Take their figures" } }
            }
        }
    }
}

fn side_by_side(output: &CompareFormatsOutput) -> Markup {
    html! {
        (ladder(output))
        h2 { "Side by side" }
        div.scroll {
            table {
                thead { tr { th {} @for format in &output.formats { th.n { (format.name) } } } }
                tbody {
                    (row(output, "Units", |format| Some(html! { (format.units) })))
                    (range_row(output, "Takings of a batch", |format| Some(&format.revenue)))
                    (row(output, "Cost of a batch", |format| Some(fig(&format.cost))))
                    (row(output, "Your time, at its wage", |format| format.labour.as_ref().map(fig)))
                    (range_row(output, "Profit of a batch", |format| Some(&format.profit)))
                    (range_row(output, "Profit per lb of wax", |format| format.profit_per_lb.as_ref()))
                    (range_row(output, "Profit per kg of wax", |format| format.profit_per_kg.as_ref()))
                    (range_row(output, "Profit an hour", |format| format.profit_per_hour.as_ref()))
                    (range_row(output, "An hour pays, wage in it", |format| format.pays_per_hour.as_ref()))
                }
            }
        }
        @for equal in &output.equal_at { (equal_prices(equal)) }
        (parts::working("working-compare", &output.working))
    }
}

/// A row that is left out when no format has anything in it.
fn row(
    output: &CompareFormatsOutput,
    label: &str,
    cell: impl Fn(&FormatOutput) -> Option<Markup>,
) -> Markup {
    let cells: Vec<_> = output.formats.iter().map(cell).collect();
    html! {
        @if cells.iter().any(Option::is_some) {
            tr {
                th scope="row" { (label) }
                @for cell in &cells { td.n { @if let Some(cell) = cell { (cell) } @else { "–" } } }
            }
        }
    }
}

/// A row with the typical amount large and the low and high one below.
fn range_row<'a>(
    output: &'a CompareFormatsOutput,
    label: &str,
    amounts: impl Fn(&'a FormatOutput) -> Option<&'a Amounts>,
) -> Markup {
    let cells: Vec<_> = output.formats.iter().map(amounts).collect();
    html! {
        @if cells.iter().any(Option::is_some) {
            tr {
                th scope="row" { (label) }
                @for cell in &cells {
                    td.n {
                        @if let Some(amounts) = cell {
                            strong { (fig(&amounts.typical)) }
                            @if let (Some(low), Some(high)) = (&amounts.low, &amounts.high) {
                                br; span.soft.small { (fig(low)) " to " (fig(high)) }
                            }
                        } @else { "–" }
                    }
                }
            }
        }
    }
}

fn equal_prices(equal: &EqualAt) -> Markup {
    let prices = |amounts: &Amounts| {
        html! {
            strong { (fig(&amounts.typical)) }
            @if let (Some(low), Some(high)) = (&amounts.low, &amounts.high) {
                span.soft { ", and between " (fig(low)) " and " (fig(high)) " over its prices" }
            }
        }
    };
    html! {
        h2 { "Where " (equal.format) " earns what " (equal.against) " does" }
        dl.facts {
            @if let Some(amounts) = &equal.per_batch { dt { "A batch, at" } dd { (prices(amounts)) } }
            @if let Some(amounts) = &equal.per_hour { dt { "An hour, at" } dd { (prices(amounts)) } }
        }
    }
}

fn ladder(output: &CompareFormatsOutput) -> Markup {
    let Some(currency) = Currency::from_code(&output.currency) else {
        return html! {};
    };
    let write = parts::money_writer(currency);
    let formats: Vec<_> = output
        .formats
        .iter()
        .map(|format| press::LadderFormat {
            name: &format.name,
            low: format
                .price
                .low_in_currency
                .unwrap_or(format.price.typical_in_currency),
            typical: format.price.typical_in_currency,
            high: format
                .price
                .high_in_currency
                .unwrap_or(format.price.typical_in_currency),
            cost: Some(format.unit_cost_in_currency),
        })
        .collect();
    let equal = output
        .equal_at
        .first()
        .and_then(|equal| equal.per_batch.as_ref());
    let drawn = press::price_ladder(&press::PriceLadder {
        formats: &formats,
        equal: equal.map(|amounts| press::EqualAt {
            format: 1,
            other: 0,
            price: amounts.typical_in_currency,
        }),
        write: &write,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}
