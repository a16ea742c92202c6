//! Stall: the goods and what they are sold for.

use app::App;
use app::forms::{self, Filled, as_typed};
use app::selling::tried_prices;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::Problems;
use price::{Earning, percent};
use workshop::facts::{Fact, ProductId, SupplyKind};
use workshop::{Product, Workshop, Worth, layer_word, worth_of, worth_of_all, worth_working};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, channel, market, print};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Kinds of packing that a form for a good offers.
const PACKING_LINES: usize = 4;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall", get(stall))
        .route("/stall/new", get(new).post(define))
        .route("/stall/good/{id}", get(good).post(set_prices))
        .route("/stall/good/{id}/names", post(name_good))
}

async fn stall(State(site): State<Site>) -> Response {
    site.run(|app| {
        let today = app.today();
        Ok(app.look(|workshop| {
            let goods = worth_of_all(workshop);
            let sells = workshop.trade().channels().next().is_some();
            let title = if sells { "Where do I sell next?" } else { "What should I charge?" };
            Page {
                title: title.to_owned(),
                place: Place::Stall,
                back: None,
                body: html! {
                    (parts::question(title))
                    @if sells {
                        (next_market(workshop, today))
                        h2 id="charge" { "What should I charge?" }
                    }
                    @if goods.is_empty() {
                        (parts::empty(
                            "What you sell stands here: a formula in a mould or vessel, packed one way, with what you ask for it.",
                            "/stall/new", "Add something you sell"))
                    } @else {
                        (goods_answer(&goods))
                        p.next {
                            a.button.do href="/stall/new" { "Add something you sell" }
                            a.button.quiet href="/books/compare" { "Compare two formats" }
                            @if !sells { a.button.quiet href="/stall/channel/new" { "Open a stall or another channel" } }
                        }
                        table.stack {
                            thead { tr { th { "Good" } th.n { "Low" } th.n { "Typical" } th.n { "High" } th.n { "Costs" } th.n { "Typical leaves" } } }
                            tbody { @for worth in &goods { (good_row(worth)) } }
                        }
                        @if sells {
                            p {
                                a href="/books/earns?by=scent" { "Which scent sells through best" } " · "
                                a href="/books/stock" { "How long the stock lasts" }
                            }
                        }
                        p {
                            "Print: " a href="/print/price-signs" type="application/pdf" { "price signs" } ", "
                            a href="/print/scent-list" type="application/pdf" { "a scent list for the table" } ", "
                            a href="/print/price-list" type="application/pdf" { "a price list" } ", "
                            a href="/print/line-sheet/ask" { "a line sheet for shops" } ", "
                            a href="/print/packing-slip/ask" { "a packing slip" } "."
                        }
                    }
                },
            }
        })?)
    })
    .await
}

/// The next market day in an answer, the days around it, and the channels.
fn next_market(workshop: &Workshop, today: jiff::civil::Date) -> Markup {
    let (next, last) = market::next_and_last(workshop, today);
    html! {
        @match next.first() {
            Some(day) => {
                @let when = format!("{} at {}", parts::day(day.on), day.market);
                (parts::answer_words(&when, &match day.n_taken() { 0 => "Nothing is packed for it yet.".to_owned(), n => format!("{n} units are packed.") }))
                p.next {
                    a.button.do href={ "/stall/day/" (day.id) } { @if day.on <= today { "Go on with it" } @else { "What do I take?" } }
                    a.button.quiet href="/stall/day/new" { "Plan a market day" }
                }
            }
            None => {
                (parts::answer_words(if last.is_some() { "No market day is planned." } else { "No market day was planned yet." }, ""))
                p.next { a.button.do href="/stall/day/new" { "Plan a market day" } }
            }
        }
        (market::at_a_glance(workshop, today))
        p { a href="/stall/days" { "Every market day" } }
        h2 { "How I sell" }
        (channel::list(workshop))
        p {
            a href="/stall/channel/new" { "Open another channel" } " · "
            a href="/books/earns?by=channel" { "What an hour leaves in each" } " · "
            a href="/books/kept" { "Tax on sales" }
        }
        (crate::pages::orders::at_a_glance(workshop))
    }
}

fn goods_answer(goods: &[Worth]) -> Markup {
    let count = |wanted: Option<bool>| {
        let known = goods.iter().filter(|worth| worth.earning.is_some());
        known
            .filter(|worth| worth.leaves_something() == wanted)
            .count()
    };
    let (known, losing, thin) = (
        goods.iter().filter(|worth| worth.earning.is_some()).count(),
        count(Some(false)),
        count(None),
    );
    let words = if known == 0 {
        "Nobody can say yet: nothing you sell has both a price and a lot whose cost is known."
    } else if losing > 0 {
        "More than you do for some: at its typical price a good leaves nothing."
    } else if thin > 0 {
        "About what you do, but not less: a low price leaves nothing."
    } else {
        "What you do: every good leaves something, even at its low price."
    };
    html! {
        (parts::answer_words(words, &format!("Rests on {known} of {} goods: those with prices and a lot whose cost is known.", goods.len())))
    }
}

fn good_row(worth: &Worth) -> Markup {
    let product = worth.product;
    html! {
        tr {
            td { a href={ "/stall/good/" (product.id) } { (product.name) } }
            @if let Some(prices) = product.prices {
                td.n data-label="Low" { (fig(prices.low.to_string())) }
                td.n data-label="Typical" { (fig(prices.typical.to_string())) }
                td.n data-label="High" { (fig(prices.high.to_string())) }
            } @else {
                td.n data-label="Low" { span.soft { "–" } }
                td.n data-label="Typical" { a href={ "/stall/good/" (product.id) } { "set a price" } }
                td.n data-label="High" { span.soft { "–" } }
            }
            td.n data-label="Costs" {
                @if let Some(recent) = &worth.recent { span { (fig(recent.cost.full().to_string())) (without_time(recent.has_time)) } } @else { span.soft { "not known yet" } }
            }
            td.n data-label="Typical leaves" {
                @if let Some(earning) = worth.earning {
                    span {
                        @match worth.leaves_something() {
                            Some(false) => { (parts::verdict("no", "no")) }
                            Some(true) => { (parts::verdict("yes", "yes")) }
                            None => { (parts::verdict("unproven", "not always")) }
                        }
                        " " (fig(earning.typical.left.to_string()))
                    }
                } @else { span.soft { "–" } }
            }
        }
    }
}

/// Beside a cost that is not the whole of it.
pub(crate) fn without_time(has_time: bool) -> Markup {
    html! { @if !has_time { " " span.soft.small { "without your time" } } }
}

async fn good(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| good_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn set_prices(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::set_prices(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/good/{id}")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

fn good_page(app: &App, id: ProductId, typed: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let product = workshop.product(id).ok_or(Fault::Nothing("good"))?;
        // Prices that are only being tried show what they would leave.
        let (tried, unclear) = match tried_prices(workshop, product, typed) {
            Ok(prices) => (prices, Problems::default()),
            Err(unclear) => (product.prices, unclear),
        };
        let problems = if problems.is_empty() { &unclear } else { problems };
        let tried = Product { prices: tried, ..product.clone() };
        let worth = worth_of(workshop, &tried);
        let text = |money: Option<measure::Money>| money.map_or_else(String::new, |money| as_typed(workshop, money));
        let filled = typed
            .clone()
            .or("low", text(product.prices.map(|prices| prices.low)))
            .or("typical", text(product.prices.map(|prices| prices.typical)))
            .or("high", text(product.prices.map(|prices| prices.high)));
        Ok(Page {
            title: format!("What should I charge for {}?", product.name),
            place: Place::Stall,
            back: Some(("/stall".to_owned(), "Stall".to_owned())),
            body: html! {
                (parts::question(&format!("{}: what should I charge?", product.name)))
                div data-part="answer" {
                    (parts::problems(problems))
                    (leaves(&worth))
                }
                form.sheet method="post" action={ "/stall/good/" (id) } data-live={ "/stall/good/" (id) } {
                    div.fields.three {
                        (Field::text("low", "The least you ask", filled.get("low")).keys("decimal").hint("a slow day, three for the price of two").draw(problems))
                        (Field::text("typical", "What you usually ask", filled.get("typical")).keys("decimal").draw(problems))
                        (Field::text("high", "The most you ask", filled.get("high")).keys("decimal").hint("a gift season, a good pitch").draw(problems))
                    }
                    p.next {
                        button.do type="submit" { "Set these prices" }
                        button.quiet type="submit" formmethod="get" { "Only try them" }
                    }
                }
                div data-part="more" {
                    (picture(&worth))
                    @if worth.earning.is_some() { (parts::working("working-worth", &worth_working(&worth))) }
                }
                (channel::of_good(workshop, id))
                (channel::ladder_of_good(workshop, id, typed))
                h2 { "What it is" }
                (what_it_is(workshop, product))
                (names_form(workshop, product, typed, problems))
                p.next {
                    a.button.quiet href={ "/pour/new?product=" (id) } { "Pour this" }
                    a.button.quiet href={ "/stall/good/" (id) "/price" } { "Which price earns most?" }
                    a.button.quiet href={ "/books/compare?good=" (id) } { "Compare with what you sell now" }
                }
                p { "Print: " (print::link("care-card", "product", id, "care cards")) ", " (print::link("price-signs", "product", id, "its price sign")) "." }
            },
        })
    })?
}

/// What each price leaves over what a unit cost lately.
fn leaves(worth: &Worth) -> Markup {
    let Some(recent) = &worth.recent else {
        return html! {
            (parts::answer_words("Nobody can say yet: no lot of it has a cost.",
                "A lot has a cost once it is finished and everything in it has a price."))
        };
    };
    let what = if recent.has_time {
        "a unit's full cost"
    } else {
        "a unit's cost without your time,"
    };
    let rests = format!("{what} over its {}", recent.lots_word());
    let full = recent.cost.full();
    let Some(earning) = worth.earning else {
        return html! {
            (parts::answer(&full.to_string(), "and more", &format!("{rests}; below that every one sold costs you money.")))
            (rule_of_thumb(full))
        };
    };
    let typical = earning.typical;
    html! {
        (parts::answer(&typical.left.to_string(), &format!("left of {}", typical.price), &format!("after {full}, {rests}.")))
        p {
            "Does it leave something? "
            @match worth.leaves_something() {
                Some(true) => { (parts::verdict("yes", "yes")) ", even the low price leaves something." }
                Some(false) => { (parts::verdict("no", "no")) ", not at these prices: every one sold at the typical price costs you money." }
                None => { (parts::verdict("unproven", "not always")) ": the low price leaves nothing." }
            }
        }
        table.stack {
            thead { tr { th { "At the" } th.n { "Price" } th.n { "Leaves" } th.n { "Margin" } th.n { "An hour pays" } } }
            tbody {
                @if let Some(at) = earning.low { (rung("low price", &at)) }
                (rung("typical price", &typical))
                @if let Some(at) = earning.high { (rung("high price", &at)) }
            }
        }
        @if typical.pays_per_hour.is_none() { p.soft { "What an hour pays is not known: a lot has no hands-on time." } }
        (rule_of_thumb(full))
    }
}

fn rung(word: &str, at: &Earning) -> Markup {
    html! {
        tr {
            td { (word) }
            td.n data-label="Price" { (fig(at.price.to_string())) }
            td.n data-label="Leaves" { strong { (fig(at.left.to_string())) } }
            td.n data-label="Margin" { @if let Some(margin) = at.margin { span { (fig(percent(margin))) " of price" } } @else { "–" } }
            td.n data-label="An hour pays" { @if let Some(hourly) = at.pays_per_hour { (fig(hourly.to_string())) } @else { "–" } }
        }
    }
}

fn rule_of_thumb(full: measure::Cost) -> Markup {
    html! {
        @if let Ok(twice) = price::keystone(full) {
            p.soft { "An old rule of thumb asks twice the cost: " (fig(twice.to_string())) " (common practice, no source)." }
        }
    }
}

fn picture(worth: &Worth) -> Markup {
    let Some(recent) = &worth.recent else {
        return html! {};
    };
    let write = parts::money_writer(recent.cost.currency());
    let layers = recent.layers();
    let parts_of: Vec<_> = layers
        .iter()
        .map(|(layer, unit)| press::CostPart {
            name: layer_word(*layer),
            amount: unit.to_f64(),
        })
        .collect();
    let drawn = press::cost_parts(&press::CostParts {
        name: &worth.product.name,
        price: worth.earning.map(|earning| earning.typical.price.to_f64()),
        parts: &parts_of,
        left_word: "left",
        write: &write,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

fn what_it_is(workshop: &Workshop, product: &Product) -> Markup {
    html! {
        dl.facts {
            dt { "Formula" }
            dd { a href={ "/bench/formula/" (product.formula) } { (workshop.formula(product.formula).map_or("?", |formula| formula.name.as_str())) } }
            dt { "Mould or vessel" }
            dd {
                @if let Some(mould) = workshop.mould(product.mould) {
                    a href={ "/bench/mould/" (product.mould) } { (mould.name) } span.soft { " · " (mould.format.word()) }
                }
            }
            dt { "Packed with" }
            dd {
                @for (i, (supply, each)) in product.packing.iter().enumerate() {
                    @if i > 0 { ", " }
                    @if *each > 1 { (each) " × " }
                    a href={ "/shelf/supply/" (supply) } { (workshop.supply(*supply).map_or("?", |supply| supply.name.as_str())) }
                }
                @if product.packing.is_empty() { "nothing" }
            }
            @if let Some(prices) = product.prices { dt { "Prices since" } dd { (parts::day(prices.since)) } }
            dt { "Says it weighs" }
            dd {
                @for (i, one) in workshop.declared_weights(product.id).enumerate() {
                    @if i > 0 { ", " }
                    (fig(as_typed(workshop, &one.declared))) span.soft { " " (one.rule.place()) }
                }
                @if workshop.declared_weights(product.id).next().is_none() { span.soft { "nothing yet" } }
                " · " a href={ "/rack/good/" (product.id) "/weight" } { "What may I say it weighs?" }
            }
            dt { "Best scent" }
            dd { @match workshop.shelf_life(product.id) { Some(1) => "1 month from pouring", Some(months) => { (months) " months from pouring" }, None => span.soft { "not settled" } } }
            dt { "Trade item number" }
            dd { @match workshop.gtin(product.id) { Some(gtin) => (gtin), None => span.soft { "none" } } }
        }
    }
}

/// How long the scent keeps and the trade item number: what a label names of
/// the good itself.
fn names_form(
    workshop: &Workshop,
    product: &Product,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let months = workshop
        .shelf_life(product.id)
        .map_or_else(String::new, |months| months.to_string());
    let filled = typed
        .clone()
        .or("months", months)
        .or("gtin", workshop.gtin(product.id).unwrap_or_default());
    let is_wrong = problems.of("months").is_some() || problems.of("gtin").is_some();
    html! {
        details open[is_wrong] {
            summary { "How long it keeps, and its number" }
            form.sheet method="post" action={ "/stall/good/" (product.id) "/names" } {
                div.fields {
                    (Field::text("months", "Months from pouring that the scent keeps", filled.get("months")).keys("numeric")
                        .hint("best scent by, on the label; empty prints no date").draw(problems))
                    (Field::text("gtin", "Trade item number (GTIN)", filled.get("gtin")).keys("numeric")
                        .hint("8, 12, 13 or 14 digits with the check digit; empty has none").draw(problems))
                }
                p.next { button type="submit" { "Keep it" } }
            }
        }
    }
}

async fn name_good(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| app::weights::name_good(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/good/{id}")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn define(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| forms::define_product(app, WHO, filled),
        |_, done| {
            Ok(done
                .facts
                .iter()
                .find_map(|fact| match fact {
                    Fact::ProductDefined(fact) => Some(format!("/stall/good/{}", fact.product)),
                    _ => None,
                })
                .unwrap_or_else(|| "/stall".to_owned()))
        },
        new_page,
    )
    .await
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| Page {
        title: "What is it sold as?".to_owned(),
        place: Place::Stall,
        back: Some(("/stall".to_owned(), "Stall".to_owned())),
        body: html! {
            (parts::question("What is it sold as?"))
            @if workshop.formulas().next().is_none() {
                (parts::empty("A good is a formula in a mould or vessel, and no formula is written down yet.", "/bench/formula/new", "Write down a formula"))
            } @else if workshop.moulds().next().is_none() {
                (parts::empty("A good is a formula in a mould or vessel, and no mould is entered yet.", "/bench/moulds", "Enter a mould"))
            } @else {
                p.doubt { "A formula in a mould or vessel, packed one way. Bars, clamshells and candles of one scent are three goods." }
                (parts::problems(problems))
                (new_form(workshop, filled, problems))
            }
        },
    })?)
}

fn new_form(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let formulas: Vec<_> = workshop
        .formulas()
        .map(|formula| (formula.id.to_string(), formula.name.clone()))
        .collect();
    let moulds: Vec<_> = workshop
        .moulds()
        .map(|mould| {
            (
                mould.id.to_string(),
                format!("{} ({})", mould.name, mould.format.word()),
            )
        })
        .collect();
    let supplies: Vec<_> = std::iter::once((String::new(), "–".to_owned()))
        .chain(
            workshop
                .supplies()
                .filter(|supply| !supply.kind.is_weighed())
                .map(|supply| {
                    (
                        supply.id.to_string(),
                        format!("{} ({})", supply.name, supply.kind.word()),
                    )
                }),
        )
        .collect();
    let lines = filled.lines("packing").max(PACKING_LINES);
    html! {
        form.sheet method="post" action="/stall/new" {
            (once::field())
            div.fields {
                (Field::text("name", "Name", filled.get("name")).hint("as on the stall: Harbour Fig snap bar").draw(problems))
                (parts::select("formula", "Formula", filled.get("formula"), &formulas, "", problems))
                (parts::select("mould", "Mould or vessel", filled.get("mould"), &moulds, "", problems))
            }
            fieldset id=(parts::id_of("packing")) {
                legend { "Each one is packed with" }
                @if let Some(problem) = problems.of("packing") { p.problem { (problem.wrong) "; " (problem.accepted) } }
                @if supplies.len() > 1 {
                    @for i in 0..lines {
                        @let (which, each) = (format!("packing[{i}].supply"), format!("packing[{i}].each"));
                        div.fields {
                            (parts::select(&which, if i == 0 { "Wick, vessel, wrap or label" } else { "And" }, filled.get(&which), &supplies, "", problems))
                            (Field::text(&each, "How many", if filled.has(&each) { filled.get(&each) } else { "1" }).keys("numeric").draw(problems))
                        }
                    }
                } @else {
                    p.soft { "No " (SupplyKind::Wick.word()) ", vessel, wrap or label stands on the shelf. " a href="/shelf/new?kind=wrap" { "Enter one" } " first if each unit is packed with something." }
                }
            }
            p.next { button.do type="submit" { "Add it" } }
        }
    }
}
