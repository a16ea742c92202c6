//! Books: what each lot cost, and which format earns more.

use app::App;
use app::forms::{self, Filled, as_typed};
use app::selling::{
    Comparison, compare, cost_with_time, first_comparison, formats_in, goods_asked, lot_asked,
    put_time_in, rearranged, time_twice,
};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::{Currency, Problems};
use price::{Amounts, CompareFormatsOutput, EarnsMore, EqualAt, FormatOutput, Layer, UnitCost};
use workshop::books::{Books, Valued};
use workshop::facts::PourId;
use workshop::{
    LotCost, Pour, Workshop, column_of_costs, format_rests_on, good_of, layer_of, layer_word,
    lot_cost, lot_rests_on, lot_working, small_cost, worth_of_all,
};

use crate::layout::{Page, Place};
use crate::pages::{Pairs, shelf, stall, today, year};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Reply, Site, WHO};

/// Lots on one page of the Books.
const LISTED: usize = 40;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/books", get(books))
        .route("/books/lot/{id}", get(lot))
        .route("/books/lot/{id}/time", post(take_time))
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
                    (ways_on(workshop))
                    (year::ways())
                    (lots(workshop, before))
                } @else {
                    p.empty { "Every finished lot stands here with what it cost. None is finished yet." }
                    p.next {
                        a.button.do href="/quick" { "Start with a quick pour" }
                        a.button.quiet href="/books/compare" { "Compare two formats" }
                    }
                    (year::ways())
                }
            },
        })?)
    })
    .await
}

/// From the books: the latest lot beside what is sold now, where it has a cost.
fn ways_on(workshop: &Workshop) -> Markup {
    let latest = workshop
        .pours()
        .rev()
        .find(|pour| pour.finished.is_some())
        .filter(|pour| lot_cost(workshop, pour).is_some_and(|found| found.cost.is_some()));
    html! {
        p.next {
            @if let Some(pour) = latest {
                a.button.do href={ "/books/compare?lot=" (pour.id) } { "Compare lot " (pour.lot) " with what you sell now" }
                a.button.quiet href="/books/compare" { "Compare two formats" }
            } @else {
                a.button.do href="/books/compare" { "Compare two formats" }
            }
            a.button.quiet data-again="compare" hidden href="/books/compare" { "Your last comparison" }
            a.button.quiet href="/stall" { "Set prices" }
        }
    }
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
            (parts::answer_words("Nobody can say yet: nothing you sell has both a price and a lot whose cost is known.",
                "What a unit of each lot cost stands below."))
        }
        @if known > 0 {
            table.stack {
                thead { tr { th { "Good" } th.n { "Full cost" } th.n { "Typical price" } th.n { "Leaves" } th.n { "An hour pays" } } }
                tbody {
                    @for worth in goods.iter().filter(|worth| worth.earning.is_some()) {
                        tr {
                            td { a href={ "/stall/good/" (worth.product.id) } { (worth.product.name) } }
                            @if let (Some(recent), Some(earning)) = (&worth.recent, worth.earning) {
                                td.n data-label="Full cost" { span { (fig(recent.cost.full().to_string())) (stall::without_time(recent.has_time)) } }
                                td.n data-label="Typical price" { (fig(earning.typical.price.to_string())) }
                                td.n data-label="Leaves" { (fig(earning.typical.left.to_string())) }
                                td.n data-label="An hour pays" { @if let Some(hourly) = earning.typical.pays_per_hour { (fig(hourly.to_string())) } @else { "–" } }
                            }
                        }
                    }
                }
            }
            p.soft.small { "Averages over the last lots of each good whose cost is known; its page shows the working." }
        }
    }
}

/// What the three costs are, said wherever they stand side by side.
const WHAT_COSTS_ARE: &str = "Material cost is what went in and what it is packed with; making cost is that and your hands-on time; full cost is that and your overhead.";

fn lots(workshop: &Workshop, before: Option<PourId>) -> Markup {
    let mut finished = workshop
        .pours()
        .rev()
        .filter(|pour| pour.finished.is_some() && before.is_none_or(|before| pour.id < before));
    let shown: Vec<_> = finished.by_ref().take(LISTED).collect();
    let more = finished.next().is_some();
    html! {
        h2 { "What a unit of each lot cost" }
        p.soft { (WHAT_COSTS_ARE) }
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
                @if let Some(cost) = cost {
                    @if found.as_ref().is_some_and(|found| found.has_time) { strong { (fig(cost.full().to_string())) } }
                    @else { span { (fig(cost.full().to_string())) (stall::without_time(false)) } }
                }
                @else if let Some(found) = found.as_ref().filter(|found| !found.unpriced.is_empty()) {
                    a href=(shelf::receive_these(found.unpriced.iter().copied(), Some(pour.id))) { "write down what it took" }
                } @else { span.soft { "not known" } }
            }
        }
    }
}

async fn lot(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| lot_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn take_time(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| put_time_in(app, WHO, id, filled),
        move |_, _| Ok(format!("/books/lot/{id}")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}

fn lot_page(app: &App, id: PourId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let books = app.books()?;
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("lot"))?;
        Ok(Page {
            title: format!("What did lot {} cost?", pour.lot),
            place: Place::Books,
            back: Some(("/books".to_owned(), "Books".to_owned())),
            body: html! {
                p.soft { "Lot " strong { (pour.lot) } " · " (today::what_of(workshop, pour)) " · " a href={ "/rack/" (id) } { "on the rack" } " · " a href={ "/pour/" (id) } { "the pour" } }
                (parts::question("What did it cost me?"))
                (parts::problems(problems))
                (lot_body(workshop, pour, filled, problems))
                @if let Some(books) = &books { (in_the_books(books, pour)) }
            },
        })
    })?
}

/// What the books take the lot for, which is another figure than the average
/// that prices rest on.
fn in_the_books(books: &Books, pour: &Pour) -> Markup {
    let lot = pour.finished.as_ref();
    let units = lot.map_or(0, |lot| i64::from(lot.good.saturating_add(lot.seconds)));
    let a_unit = |valued: &Valued| {
        let costs = valued.lot(pour.id).unwrap_or_default();
        books.money(costs.materials.share(1, units))
    };
    html! {
        @if units > 0 && books.own().lot(pour.id).is_some_and(|costs| !costs.is_zero()) {
            p.soft {
                "In the books a unit of it stands at " (fig(a_unit(books.own()).to_string())) " of materials by " (books.chosen().words())
                " (by the other method " (fig(a_unit(books.other()).to_string())) "). "
                "The figures above take the average of everything received until it was finished: steadier to set a price by, but nothing that adds up over a year. "
                a href="/books/stock" { "What is the stock worth?" }
            }
        }
    }
}

fn lot_body(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
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
            (costed(workshop, pour, &found, cost, &time_form(workshop, pour, &found, filled, problems)))
        } @else if found.unpriced.is_empty() {
            (parts::answer_words("No unit of it can be sold, so nothing can bear what it cost.", ""))
        } @else {
            (unpriced(workshop, pour, &found))
        }
    }
}

/// Which supplies stand between the lot and its cost, and the way on.
fn unpriced(workshop: &Workshop, pour: &Pour, found: &LotCost) -> Markup {
    let name = |id| {
        workshop
            .supply(id)
            .map_or("?", |supply| supply.name.as_str())
    };
    html! {
        (parts::answer_words("Nobody can say yet: not everything in it has a price.",
            "These went in and have no price yet."))
        ul.rows {
            @for id in &found.unpriced {
                li {
                    a href={ "/shelf/supply/" (id) } { (name(*id)) }
                    a href=(shelf::receive_these(std::iter::once(*id), Some(pour.id))) { "write down its delivery" }
                }
            }
        }
        p.next { a.button.do href=(shelf::receive_these(found.unpriced.iter().copied(), Some(pour.id))) {
            @if found.unpriced.len() == 1 { "Write down what it cost" } @else { "Write down what they cost, all at once" }
        } }
    }
}

/// What keeps the maker's own time out of the cost, asked for where it is missed.
fn time_form(
    workshop: &Workshop,
    pour: &Pour,
    found: &LotCost,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let [no_minutes, no_wage] = found.missing();
    let worth = format!(
        "such as {}; kept for every lot, and may be changed in the settings",
        forms::example(workshop, "18.00")
    );
    html! {
        @if no_minutes || no_wage {
            form.sheet method="post" action={ "/books/lot/" (pour.id) "/time" } {
                fieldset {
                    legend { "Your own time is not in it yet" }
                    div.fields {
                        @if no_minutes {
                            (Field::text("minutes", "Hands-on time of this lot", filled.get("minutes")).hint("waiting apart; minutes, or 1 h 20 min").needed().draw(problems))
                        }
                        @if no_wage {
                            (Field::text("wage", "An hour of your work is worth", filled.get("wage")).keys("decimal").hint(&worth).needed().draw(problems))
                        }
                    }
                    p.next { button type="submit" { "Put my time in" } }
                }
            }
        }
    }
}

fn costed(
    workshop: &Workshop,
    pour: &Pour,
    found: &LotCost,
    cost: &UnitCost,
    time_form: &Markup,
) -> Markup {
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
    let good = good_of(workshop, pour);
    let each = column_of_costs(
        &cost
            .lines()
            .iter()
            .map(|line| cost.on_a_unit(line.batch))
            .collect::<Vec<_>>(),
    );
    let without = if found.has_time {
        ""
    } else {
        ", without your time"
    };
    html! {
        (parts::answer(&cost.full().to_string(), &format!("a unit, for each of {}{without}", cost.good()), rests))
        @if let Some(more) = &found.left_out {
            p.note { "The " (fig(more.to_string())) " of melt added later is not in this cost: it was weighed into no pot of this lot." }
        }
        p.next {
            a.button.do href={ "/books/compare?lot=" (pour.id) } { "Compare with what you sell now" }
            @if let Some(good) = good { a.button.quiet href={ "/stall/good/" (good.id) } { "What should I charge?" } }
        }
        (time_form)
        @if found.has_time { p.soft { (WHAT_COSTS_ARE) } }
        dl.facts {
            dt { "Material cost" } dd { (fig(cost.material().to_string())) " a unit, " (fig(cost.material_of_batch().to_string())) " the lot" }
            dt { "Making cost" } dd { (fig(cost.making().to_string())) " a unit, " (fig(cost.making_of_batch().to_string())) " the lot" }
            dt { @if found.has_time { "Full cost" } @else { "Full cost, without your time" } } dd { strong { (fig(cost.full().to_string())) } " a unit, " (fig(cost.full_of_batch().to_string())) " the lot" }
        }
        (lot_picture(workshop, pour, cost))
        h2 { "Line by line" }
        table.stack {
            thead { tr { th { "What" } th { "Counts as" } th.n { "A unit" } th.n { "The lot" } } }
            tbody {
                @for (line, each) in cost.lines().iter().zip(&each) {
                    tr {
                        td { (line.name) }
                        td data-label="Counts as" { (layer_word(line.layer)) }
                        td.n data-label="A unit" { (fig(each)) }
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
    site.run(|app| {
        let asked = Filled::new(pairs);
        // Sides exchanged or filled anew get an address of their own.
        let other = app.look(|workshop| rearranged(workshop, &asked))?;
        match other {
            Some(other) => Ok(Reply::Goto(format!(
                "/books/compare?{}",
                parts::query(other.pairs())
            ))),
            None => compare_page(app, &asked).map(Into::into),
        }
    })
    .await
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
                div data-part="answer" {
                    (compared(&came_of))
                    (counted_twice(workshop, &filled))
                }
                (compare_form(workshop, &filled, &problems))
                div data-part="more" {
                    @if let Comparison::Answer(output) = &came_of {
                        p.soft { "The address of this page holds all that is typed here: bookmark it to come back to this comparison." }
                        (side_by_side(output))
                    }
                }
            },
        }
    })?)
}

/// Which good or lot is taken for which side.
fn which_is_which(workshop: &Workshop, asked: &Filled) -> Markup {
    let goods = goods_asked(workshop, asked);
    let lot = lot_asked(workshop, asked).filter(|_| goods[1].is_none());
    html! {
        @if let Some(rests) = lot.and_then(|pour| lot_rests_on(workshop, pour)) {
            p.note {
                (rests) " It stands as the new format."
                @if goods[0].is_none() { " Write down what you sell now." }
            }
        }
        @if let [Some(now), Some(new)] = goods {
            p.note {
                strong { (now.name) } " stands as what you sell now, " strong { (new.name) } " as the new format."
                @if asked.has("good") { " The one poured first is taken for the one you sell." }
            }
        }
        @for product in goods.into_iter().flatten() {
            p.soft { (format_rests_on(workshop, product)) }
        }
    }
}

/// Costs with the maker's time in them, where that time is charged beside.
fn counted_twice(workshop: &Workshop, filled: &Filled) -> Markup {
    html! {
        @for (field, found) in time_twice(workshop, filled) {
            @let mended = filled.clone().with(&field, as_typed(workshop, small_cost(found.without)));
            p.note {
                strong { (fig(found.with.to_string())) } " is what a unit of " (found.of) " cost with your time in it; without it, it is "
                strong { (fig(small_cost(found.without))) } ". Your time is charged beside it, so it would count twice. "
                a href={ "/books/compare?" (parts::query(mended.pairs())) } { "Take " (small_cost(found.without)) } "."
            }
        }
    }
}

/// The answer, or what stands between it and the maker.
fn compared(came_of: &Comparison) -> Markup {
    html! {
        @match came_of {
            Comparison::StillEmpty(boxes) => {
                (parts::answer_words("Write down both formats, made from the same wax.",
                    &format!("{} marked \"needed\" {} still empty; the answer follows. The rest may stay empty.", boxes_word(*boxes), if *boxes == 1 { "is" } else { "are" })))
            }
            Comparison::Unclear(problems, boxes) => {
                div.problems role="alert" {
                    h2 { "That cannot be compared yet" }
                    (parts::problem_list(problems))
                    @if *boxes > 0 { p.soft { (boxes_word(*boxes)) " marked \"needed\" " (if *boxes == 1 { "is" } else { "are" }) " still empty." } }
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
        @for (equal, new) in output.equal_at.iter().zip(output.formats.iter().skip(1)) {
            @if let Some(old) = output.formats.first() {
                p { "A batch, at any price in both ranges: " (earns_more(equal.more_per_batch, new, old)) }
                @if let Some(hourly) = equal.more_per_hour {
                    p { "An hour, at any price in both ranges: " (earns_more(hourly, new, old)) }
                }
            }
        }
        @for note in &output.notes { p.soft { (note) } }
    }
}

/// Whether one earns more at any price in its range, and what decides it.
fn earns_more(more: EarnsMore, new: &FormatOutput, old: &FormatOutput) -> Markup {
    let at = |format: &FormatOutput, edge: &str| {
        let ranges = format.price.low.is_some() || format.price.high.is_some();
        let edge = if ranges { edge } else { "only" };
        format!("the {}'s {edge} price", format.name)
    };
    html! {
        @match more {
            EarnsMore::Yes => { (parts::verdict("yes", "more")) ", even at " (at(new, "lowest")) " and " (at(old, "highest")) "." }
            EarnsMore::No => { (parts::verdict("no", "not more")) ", not even at " (at(new, "highest")) " and " (at(old, "lowest")) "." }
            EarnsMore::NotProven => { (parts::verdict("unproven", "not proven")) ": at " (at(new, "lowest")) " and " (at(old, "highest")) " it would not earn more." }
        }
    }
}

fn compare_form(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let ounces = workshop.system() != measure::System::Metric || workshop.settings().is_none();
    let goods: Vec<_> = std::iter::once((String::new(), "–".to_owned()))
        .chain(
            workshop
                .products()
                .map(|product| (product.id.to_string(), product.name.clone())),
        )
        .collect();
    let chosen = goods_asked(workshop, filled)
        .map(|good| good.map_or_else(String::new, |good| good.id.to_string()));
    html! {
        form.sheet method="get" action="/books/compare" data-live="/books/compare" data-remember="compare" {
            // The first button of a form is what the Enter key presses.
            button.skip type="submit" tabindex="-1" aria-hidden="true" { "Work it out" }
            p.next { button.quiet type="submit" name="swap" value="yes" { "Swap the two sides" } }
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
                        @if i < 2 && goods.len() > 1 { (take_good(["a", "b"][i], &chosen[i], &goods)) }
                        div.fields.tight {
                            (Field::text(&name, "It is a", filled.get(&name)).hint(if i == 0 { "such as clamshell" } else { "such as bar" }).needed().draw(problems))
                            (Field::text(&units, "Units of it", filled.get(&units)).keys("numeric").hint("from that wax").needed().draw(problems))
                        }
                        div.fields.three {
                            (Field::text(&low, "Low price", filled.get(&low)).keys("decimal").draw(problems))
                            (Field::text(&typical, "Typical price", filled.get(&typical)).keys("decimal").needed().draw(problems))
                            (Field::text(&high, "High price", filled.get(&high)).keys("decimal").draw(problems))
                        }
                        div.fields.tight {
                            (Field::text(&cost, "A unit costs, without your time", filled.get(&cost)).keys("decimal").hint("wax, oil, packing, overhead").needed().draw(problems))
                            (Field::text(&minutes, "Hands-on time", filled.get(&minutes)).hint("for the batch, such as 40 min; may stay empty").draw(problems))
                        }
                    }
                }
            }
            p.next { button type="submit" { "Compare" } }
        }
    }
}

/// Fills one side from a good of the workshop.
fn take_good(side: &str, chosen: &str, goods: &[(String, String)]) -> Markup {
    html! {
        div.fields.take {
            (parts::select(side, "One of your goods", chosen, goods, "", &Problems::default()))
            p.next { button.quiet type="submit" name="take" value=(side) { "Take its figures" } }
        }
    }
}

fn side_by_side(output: &CompareFormatsOutput) -> Markup {
    let paid = output.formats.iter().any(|format| format.labour.is_some());
    html! {
        (ladder(output))
        h2 { "Side by side" }
        div.scroll {
            table {
                thead { tr { th {} @for format in &output.formats { th.n { (format.name) } } } }
                tbody {
                    (row(output, "Units", |format| Some(html! { (format.units) })))
                    (range_row(output, "Takings of a batch", |format| Some(&format.revenue)))
                    (row(output, "Cost of a batch, without your time", |format| Some(fig(&format.cost))))
                    (row(output, "Your time, at its wage", |format| format.labour.as_ref().map(fig)))
                    (range_row(output, "Profit of a batch", |format| Some(&format.profit)))
                    (range_row(output, "Profit per lb of wax", |format| format.profit_per_lb.as_ref()))
                    (range_row(output, "Profit per kg of wax", |format| format.profit_per_kg.as_ref()))
                    (range_row(output, if paid { "An hour of your work pays: your wage and the profit" } else { "An hour of your work pays" }, |format| format.pays_per_hour.as_ref()))
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
            cost: Some(cost_with_time(format)),
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
        cost_word: if output.formats.iter().any(|format| format.labour.is_some()) {
            "cost with your time"
        } else {
            "cost without your time"
        },
        write: &write,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}
