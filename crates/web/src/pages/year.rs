//! Books: the year, the stock, who earns it, the tax, what was paid for other
//! things, and everything to take away.

use app::App;
use app::books::{
    ENTRIES, EXPENSES, KINDS, days_asked, entries, good_name, kind_named, pay_expense,
    pots_under_way,
};
use app::forms::{Filled, word_of};
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use jiff::civil::Date;
use ledger::Value;
use maud::{Markup, html};
use measure::{Checker, Money, Problems, Working};
use workshop::books::{
    Books, By, Costs, Days, Earned, Good, Key, LayerOf, Moved, OnHand, Period, Summary, TaxMonth,
    earned_by, expenses_by_kind, format_at, moved, on_hand, summary, tax_report,
};
use workshop::facts::{CostMethod, FormulaId, SupplyId};
use workshop::{Workshop, plain_amount_of};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::buyers::tick;
use crate::pages::{Pairs, kept};
use crate::parts::{self, Field, fig};
use crate::site::{Fault, Reply, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/books/year", get(year))
        .route("/books/stock", get(stock))
        .route("/books/earns", get(earns))
        .route("/books/tax", get(tax))
        .route("/books/expenses", get(expenses).post(pay))
        .route("/books/take", get(take))
        .route("/books/take/{file}", get(file))
}

/// The ways from the Books to its pages.
pub(crate) fn ways() -> Markup {
    html! {
        ul.rows {
            li { a href="/books/year" { "How was the year?" } }
            li { a href="/books/stock" { "What is the stock worth?" } }
            li { a href="/books/earns" { "Who earns it?" } }
            li { a href="/books/tax" { "What tax is due?" } }
            li { a href="/books/expenses" { "What else did I pay for?" } }
            li { a href="/books/read" { "What does this file say?" } " " span.soft { "read in sales, deliveries and payouts" } }
            li { a href="/books/payouts" { "Which sales did a payout pay for?" } }
            li { a href="/books/take" { "Take it all away" } }
            li { a href=(kept::PATH) { "How are the books kept?" } }
        }
    }
}

fn page(title: &str, body: Markup) -> Page {
    Page {
        title: title.to_owned(),
        place: Place::Books,
        back: Some(("/books".to_owned(), "Books".to_owned())),
        body,
    }
}

/// A page over the books, or what to do first where there are none.
fn over(
    app: &App,
    title: &str,
    body: impl FnOnce(&Workshop, &Books) -> Markup,
) -> Result<Page, Fault> {
    let books = app.books()?;
    Ok(app.look(|workshop| {
        let body = if let Some(books) = &books {
            body(workshop, books)
        } else {
            html! {
                p.empty { "The books begin with your currency and your first delivery." }
                p.next {
                    a.button.do href="/settings" { "Choose a currency" }
                    a.button.quiet href="/shelf/receive" { "Write down a delivery" }
                }
            }
        };
        page(title, html! { (parts::question(title)) (body) })
    })?)
}

/// The days a page is about; those of the form where they can be read, or
/// else the year, with what is wrong.
fn asked(app: &App, filled: &Filled) -> Result<(Date, Date, Problems), Fault> {
    let today = app.today();
    Ok(
        app.look(|workshop| match days_asked(workshop, filled, today) {
            Ok((from, to)) => (from, to, Problems::default()),
            Err(problems) => {
                let (from, to) = app::books::year_of(workshop, today);
                (from, to, problems)
            }
        })?,
    )
}

/// The boxes for a stretch of days.
fn stretch(to: &str, from: Date, last: Date, more: &Markup, problems: &Problems) -> Markup {
    let day = |name: &str, label: &str, day: Date| {
        let problem = problems.of(name);
        html! {
            div.field.wrong[problem.is_some()] {
                label for={ "f-" (name) } { (label) }
                input type="date" id={ "f-" (name) } name=(name) value=(day)
                    aria-invalid=[problem.map(|_| "true")]
                    aria-describedby=[problem.map(|_| format!("f-{name}-more"))];
                (parts::beneath(&format!("f-{name}"), "", problem))
            }
        }
    };
    html! {
        form.sheet.no-paper method="get" action=(to) {
            div.fields {
                (day("from", "From", from))
                (day("to", "To", last))
                (more)
            }
            p.next { button.quiet type="submit" { "Look at these days" } }
        }
    }
}

fn minor(books: &Books, minor: i64) -> Markup {
    fig(Money::from_minor(minor, books.currency()).to_string())
}

fn value(books: &Books, value: Value) -> Markup {
    fig(books.money(value).to_string())
}

fn whole(books: &Books, value: Value) -> String {
    books.money(value).to_string()
}

async fn year(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let (from, to, problems) = asked(app, &Filled::new(pairs))?;
        over(app, "How was the year?", |workshop, books| {
            year_body(workshop, books, (from, to), app.today(), &problems)
        })
    })
    .await
}

fn year_body(
    workshop: &Workshop,
    books: &Books,
    (from, to): (Date, Date),
    today: Date,
    problems: &Problems,
) -> Markup {
    let summary = summary(workshop, books, Days::between(from, to.min(today)));
    let sum = &summary.earned;
    let profit = summary.profit();
    let work = sum.all_costs().work;
    let so_far = if to > today { " so far" } else { "" };
    html! {
        (parts::answer(
            &whole(books, profit),
            &format!("profit{so_far}, {}", span(from, to)),
            &format!("Before your own time. Stock by {}.", books.chosen().words()),
        ))
        (doubts(workshop, books))
        p.next {
            a.button.do href={ "/books/take?from=" (from) "&to=" (to) } { "Take it away" }
            a.button.quiet href={ "/books/earns?from=" (from) "&to=" (to) } { "Who earns it?" }
            a.button.quiet href={ "/books/tax?from=" (from) "&to=" (to) } { "What tax is due?" }
        }
        table.figures {
            caption { "From takings to profit" }
            tbody {
                tr { th scope="row" { "Takings, tax in it" } td.n { (minor(books, sum.takings)) } }
                tr { th scope="row" { "− tax" } td.n { (minor(books, sum.tax)) } }
                tr { th scope="row" { "− cost of goods sold" } td.n { (value(books, sum.cost.materials)) } }
                tr { th scope="row" { "− goods and supplies lost" } td.n { (value(books, sum.lost.materials)) } }
                @if !sum.differences.materials.is_zero() {
                    tr { th scope="row" { "− " (DEARER) } td.n { (value(books, sum.differences.materials)) } }
                }
                tr { th scope="row" { "− fees of channels and payments" } td.n { (minor(books, sum.fees)) } }
                tr { th scope="row" { "− postage of orders" } td.n { (minor(books, sum.postage)) } }
                tr { th scope="row" { "− market days" } td.n { (minor(books, sum.day_costs)) } }
                @if sum.tins != 0 { tr { th scope="row" { "− missing from cash tins" } td.n { (minor(books, sum.tins)) } } }
                @for (kind, spent) in &summary.expenses {
                    tr { th scope="row" { "− " (kind.words()) } td.n { (minor(books, *spent)) } }
                }
                tr { th scope="row" { strong { "Profit before your time" } } td.n { strong { (value(books, profit)) } } }
            }
        }
        @if !sum.differences.materials.is_zero() {
            p.soft { "Some of it left before the delivery or the lot it came from was written down, so its cost was taken from what was known; what it turned out to cost more stands on a line of its own, below zero where it cost less." }
        }
        @if !work.is_zero() {
            p.soft { "Your hands-on time and overhead in what was sold and lost come to " (value(books, work)) ", by the wage and rate in the settings. After them " (value(books, summary.profit_after_work())) " is left." }
        }
        @if sum.fees != 0 || sum.postage != 0 {
            p.soft { "Fees and postage here go by the terms of each channel and by what each order cost to send; write down as an expense only what is not in them." }
        }
        h2 { "Cost of goods sold" }
        (cost_of_goods(workshop, books, &summary.own, &summary.other))
        (stretch("/books/year", from, to, &html! {}, problems))
        (parts::working("w-year", &year_working(books, &summary)))
    }
}

/// What something that left before it came turned out to cost more.
const DEARER: &str = "what turned out to cost more than was known";

/// Two days as people write them.
fn span(from: Date, to: Date) -> String {
    format!("{} to {}", parts::day(from), parts::day(to))
}

/// What every figure of the books rests on that is not known.
fn doubts(workshop: &Workshop, books: &Books) -> Markup {
    let unmade: Vec<String> = books
        .never_made()
        .map(|good| good_name(workshop, good))
        .collect();
    let partly = books.partly_costed();
    html! {
        @if !unmade.is_empty() {
            p.note { "Not known: what " (unmade.join(", ")) " cost; no lot of it was ever finished here, so it counts as free." }
        }
        @if !partly.is_empty() {
            p.note {
                "Not everything is priced: "
                @if partly.len() == 1 { "in one lot" } @else { "in " (partly.len()) " lots" }
                " went supplies that were never received, and they count as free. "
                a href="/books" { "Which lots" }
            }
        }
        @if !books.foreign().is_empty() {
            p.note { "Deliveries paid in another currency count as free." }
        }
    }
}

/// The table a tax form asks for, by both methods.
fn cost_of_goods(workshop: &Workshop, books: &Books, own: &Period, other: &Period) -> Markup {
    let us = workshop.system() == measure::System::Us;
    let (opening, closing) = if us {
        ("Beginning inventory", "Ending inventory")
    } else {
        ("Opening stock", "Closing stock")
    };
    let row = |what: &str, costs: [Costs; 2]| {
        html! {
            tr {
                th scope="row" { (what) }
                td.n data-label=(books.chosen().words()) { (value(books, costs[0].materials)) }
                td.n data-label=(other_words(books)) { (value(books, costs[1].materials)) }
            }
        }
    };
    html! {
        table.stack {
            thead { tr { th { "" } th.n { (capital(books.chosen().words())) } th.n { (capital(other_words(books))) } } }
            tbody {
                (row(opening, [own.opening.all(), other.opening.all()]))
                (row("+ purchases, materials and supplies", [own.bought, other.bought]))
                (row(&format!("− {}", closing.to_lowercase()), [own.closing.all(), other.closing.all()]))
                (row("= cost of goods sold", [own.cost_of_goods(), other.cost_of_goods()]))
            }
        }
        p.soft {
            (if us { "Cost of labor" } else { "Labour" }) ": nothing is counted in for your own time; wages you paid others stand with the other costs. "
            "What was lost, given away or used for trying is in the cost of goods sold: "
            (value(books, own.all_lost().materials)) "."
        }
        @if !own.lost.is_empty() || !own.differences.materials.is_zero() {
            dl.facts {
                @for (how, costs) in &own.lost {
                    dt { (capital(how.words())) } dd { (value(books, costs.materials)) }
                }
                @if !own.differences.materials.is_zero() {
                    dt { (capital(DEARER)) } dd { (value(books, own.differences.materials)) }
                }
            }
        }
        p.soft { "This informs and does not certify; ask whoever does your taxes which method your return takes." }
    }
}

fn other_words(books: &Books) -> &'static str {
    match books.chosen() {
        CostMethod::Fifo => CostMethod::Average.words(),
        CostMethod::Average => CostMethod::Fifo.words(),
    }
}

fn capital(words: &str) -> String {
    parts::capital(words)
}

fn year_working(books: &Books, summary: &Summary) -> Working {
    let (sum, period) = (&summary.earned, &summary.own);
    let money = |value: Value| books.money(value).to_string();
    let coins = |minor: i64| Money::from_minor(minor, books.currency()).to_string();
    let mut working = Working::new();
    working.step(
        "Net takings",
        "takings − tax",
        format!("{} − {}", coins(sum.takings), coins(sum.tax)),
        coins(sum.net()),
        "",
    );
    working.step(
        "Cost of goods sold and lost",
        "opening + purchases − closing",
        format!(
            "{} + {} − {}",
            money(period.opening.all().materials),
            money(period.bought.materials),
            money(period.closing.all().materials)
        ),
        money(period.cost_of_goods().materials),
        "stock at what it cost; Schedule C (Form 1040) of the United States asks for the same lines in its part III",
    );
    working.step(
        "Profit before your time",
        "net − cost of goods sold and lost − fees − postage − market days and tins − other costs",
        format!(
            "{} − {} − {} − {} − {} − {}",
            coins(sum.net()),
            money(period.cost_of_goods().materials),
            coins(sum.fees),
            coins(sum.postage),
            coins(sum.day_costs + sum.tins),
            coins(summary.spent())
        ),
        money(summary.profit()),
        "",
    );
    working
}

async fn stock(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let today = app.today();
        let mut check = Checker::default();
        let on = check.optional("on", filled.some("on"), app::books::a_day);
        let problems = check.into_problems();
        let title = "What is the stock worth?";
        match on.filter(|on| *on < today) {
            None => over(app, title, |workshop, books| {
                stock_body(workshop, books, today, on.unwrap_or(today), &problems)
            }),
            Some(on) => Ok(app.look(|workshop| {
                let books = Books::as_of(workshop, on);
                let body = books.map_or_else(
                    || html! { p.empty { "The books begin with your currency and your first delivery." } },
                    |books| stock_body(workshop, &books, today, on, &problems),
                );
                page(title, html! { (parts::question(title)) (body) })
            })?),
        }
    })
    .await
}

fn stock_body(
    workshop: &Workshop,
    books: &Books,
    today: Date,
    on: Date,
    problems: &Problems,
) -> Markup {
    let until = Days {
        from: None,
        to: Some(on),
    };
    let own = books.own().period(until).closing;
    let other = books.other().period(until).closing;
    let mut goods = on_hand(workshop, books, today);
    goods.sort_by_key(|good| std::cmp::Reverse(good.costs.materials));
    let pots = pots_under_way(workshop);
    html! {
        (parts::answer(
            &whole(books, own.all().materials),
            &format!("at what it cost, {}", parts::day(on)),
            &format!("By {}; by {} it is {}.", books.chosen().words(), other_words(books), books.money(other.all().materials)),
        ))
        (doubts(workshop, books))
        p.next {
            a.button.do href="/books/take/supplies.xlsx" { "Take the list away" }
            a.button.quiet href="/books/year" { "How was the year?" }
        }
        dl.facts {
            dt { "Supplies" } dd { (value(books, own.supplies.materials)) }
            @if !own.pots.is_zero() || pots > 0 { dt { "In pots and moulds" } dd { (value(books, own.pots.materials)) } }
            dt { "Finished goods, wherever they stand" } dd { (value(books, own.goods.materials)) }
            @if !own.goods.work.is_zero() { dt { "Your own time and overhead in them" } dd { (value(books, own.goods.work)) ", not counted in" } }
        }
        @if !goods.is_empty() {
            h2 { "Finished goods" }
            (days_left_picture(workshop, &goods))
            table.stack {
                thead { tr { th { "Good" } th.n { "Units" } th.n { "Worth" } th.n { "Made anew" } th.n { "Lasts" } } }
                tbody { @for good in &goods { (good_row(workshop, books, good)) } }
            }
            p.soft { "Made anew is what the same units would cost in materials at the last prices paid. How long they last goes by what was sold in the last 91 days, or since the first could be sold; fewer than five sold tell too little." }
            p.soft { "Layers are how the value is reckoned: what came first is taken to have gone first, whichever lot you really took." }
            @for good in &goods { (layers(workshop, books, good.good)) }
        }
        h2 { "Supplies" }
        (supplies(workshop, books))
        form.sheet.no-paper method="get" action="/books/stock" {
            div.fields { (parts::past_day("on", "As it stood at the end of", &on.to_string(), today, problems)) }
            p.next { button.quiet type="submit" { "Look at that day" } }
        }
    }
}

fn lasts(good: &OnHand) -> String {
    match good.days_left() {
        Some(days) if days > 365 => "over a year".to_owned(),
        Some(days) => format!("about {days} d"),
        None if good.units <= 0 => "–".to_owned(),
        None => "not enough to tell".to_owned(),
    }
}

fn good_row(workshop: &Workshop, books: &Books, good: &OnHand) -> Markup {
    html! {
        tr {
            td { (good_name(workshop, good.good)) }
            td.n data-label="Units" { (good.units) @if good.units < 0 { " " span.soft { "more left than was made" } } }
            td.n data-label="Worth" { (value(books, good.costs.materials)) }
            td.n data-label="Made anew" { @if let Some(anew) = good.anew { (value(books, anew.materials)) } @else { span.soft { "–" } } }
            td.n data-label="Lasts" { (lasts(good)) }
        }
    }
}

fn days_left_picture(workshop: &Workshop, goods: &[OnHand]) -> Markup {
    let known: Vec<(String, f64, String)> = goods
        .iter()
        .filter_map(|good| {
            let days = good.days_left()?;
            let words = format!("{} units, {}", good.units, lasts(good));
            Some((good_name(workshop, good.good), days as f64, words))
        })
        .take(12)
        .collect();
    let bars: Vec<press::Bar> = known
        .iter()
        .map(|(name, amount, words)| press::Bar {
            name,
            amount: *amount,
            words,
        })
        .collect();
    let longest = known.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let title = longest.map_or_else(String::new, |(name, _, words)| {
        format!("{name} lasts longest: {words}")
    });
    let drawn = press::bars(&press::Bars {
        title: &title,
        name_word: "good",
        amount_word: "units on hand, and days they last",
        bars: &bars,
        at_least: 0.0,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

fn layers(workshop: &Workshop, books: &Books, good: Good) -> Markup {
    let layers = books
        .own()
        .good(good)
        .map(workshop::books::GoodsStock::layers);
    let layers = layers.unwrap_or_default();
    let of = |of: LayerOf| match of {
        LayerOf::Lot(pour) => workshop
            .pour(pour)
            .map_or_else(String::new, |pour| format!("Lot {}", pour.lot)),
        LayerOf::Back(sale) => format!("Came back from sale {sale}"),
        LayerOf::Found => "Found when counted".to_owned(),
        LayerOf::Delivery(_) => String::new(),
    };
    html! {
        @if !layers.is_empty() {
            details {
                summary { (good_name(workshop, good)) ", layer by layer" }
                table.figures {
                    thead { tr { th { "Layer" } th.n { "Units" } th.n { "Worth" } } }
                    tbody {
                        @for layer in &layers {
                            tr { td { (of(layer.of)) } td.n { (layer.quantity) } td.n { (value(books, layer.costs.materials)) } }
                        }
                    }
                }
            }
        }
    }
}

fn supplies(workshop: &Workshop, books: &Books) -> Markup {
    let say = |supply: SupplyId, smallest: i64| {
        workshop.supply(supply).map_or_else(String::new, |known| {
            plain_amount_of(known.kind, smallest, workshop.system())
        })
    };
    let held: Vec<_> = workshop
        .supplies()
        .filter_map(|supply| Some((supply, books.own().supply(supply.id)?)))
        .filter(|(_, stock)| stock.quantity() != 0 || !stock.value().is_zero())
        .collect();
    html! {
        @if held.is_empty() {
            p.empty { "No supply is on hand. " a href="/shelf/receive" { "Write down a delivery" } }
        } @else {
            table.stack {
                thead { tr { th { "Supply" } th.n { "On hand" } th.n { "Worth" } th.n { "Other method" } th.n { "At the last price" } } }
                tbody {
                    @for (supply, stock) in &held {
                        tr {
                            td { a href={ "/shelf/supply/" (supply.id) } { (supply.name) } }
                            td.n data-label="On hand" { (fig(say(supply.id, stock.quantity()))) }
                            td.n data-label="Worth" { (value(books, stock.value())) }
                            td.n data-label="Other method" { @if let Some(other) = books.other().supply(supply.id) { (value(books, other.value())) } }
                            td.n data-label="At the last price" { @if let Some(anew) = books.supply_anew(supply.id) { (value(books, anew)) } @else { span.soft { "–" } } }
                        }
                    }
                }
            }
            details {
                summary { "Supplies, layer by layer" }
                table.figures {
                    thead { tr { th { "Delivery" } th.n { "Left" } th.n { "Worth" } } }
                    tbody {
                        @for (supply, _) in &held {
                            @for layer in books.own().supply_layers(supply.id) {
                                tr {
                                    td { (supply.name) ", " (delivery_words(workshop, layer.of)) }
                                    td.n { (fig(say(supply.id, layer.quantity))) }
                                    td.n { (value(books, layer.costs.materials)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn delivery_words(workshop: &Workshop, of: LayerOf) -> String {
    match of {
        LayerOf::Delivery(lot) => workshop
            .receipt(lot.receipt)
            .map_or_else(String::new, |receipt| {
                format!("came {}", parts::day(receipt.day))
            }),
        _ => "found when counted".to_owned(),
    }
}

/// The words of an address for what earnings are told apart by.
const BYS: [(&str, By); 6] = [
    ("product", By::Product),
    ("scent", By::Scent),
    ("format", By::Format),
    ("channel", By::Channel),
    ("day", By::MarketDay),
    ("month", By::Month),
];

async fn earns(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let (from, to, problems) = asked(app, &filled)?;
        let by = BYS.iter().find(|(word, _)| *word == filled.get("by"));
        let by = by.map_or(By::Product, |(_, by)| *by);
        over(app, "Who earns it?", |workshop, books| {
            earns_body(workshop, books, by, (from, to), app.today(), &problems)
        })
    })
    .await
}

fn key_name(workshop: &Workshop, key: Key) -> String {
    let trade = workshop.trade();
    match key {
        Key::Good(good) => good_name(workshop, good),
        Key::Scent(formula) => scent_name(workshop, formula),
        Key::Format(nth) => format_at(nth).map_or_else(String::new, |it| it.word().to_owned()),
        Key::Channel(channel) => trade
            .channel(channel)
            .map_or_else(|| format!("channel {channel}"), |it| it.name.clone()),
        Key::MarketDay(day) => trade.market_day(day).map_or_else(
            || format!("market day {day}"),
            |it| format!("{}, {}", it.market, parts::day(it.on)),
        ),
        Key::Month(year, month) => month_name(year, month),
        Key::Rest => "not of one alone".to_owned(),
    }
}

fn month_name(year: i16, month: i8) -> String {
    Date::new(year, month, 1).map_or_else(
        |_| format!("{year}-{month:02}"),
        |first| first.strftime("%b %Y").to_string(),
    )
}

fn scent_name(workshop: &Workshop, formula: FormulaId) -> String {
    workshop
        .formula(formula)
        .map_or_else(|| format!("formula {formula}"), |it| it.name.clone())
}

fn earns_body(
    workshop: &Workshop,
    books: &Books,
    by: By,
    (from, to): (Date, Date),
    today: Date,
    problems: &Problems,
) -> Markup {
    let days = Days::between(from, to.min(today));
    let mut rows: Vec<(Key, Earned)> = earned_by(workshop, books, by, days).into_iter().collect();
    if by != By::Month {
        rows.sort_by_key(|(key, row)| (*key == Key::Rest, std::cmp::Reverse(row.left())));
    }
    let mut sum = Earned::default();
    for (_, row) in &rows {
        sum.add(row);
    }
    let best = rows
        .iter()
        .filter(|(key, _)| *key != Key::Rest)
        .max_by_key(|(_, row)| row.left());
    let options: Vec<(String, String)> = BYS
        .iter()
        .map(|(word, by)| ((*word).to_owned(), by.word().to_owned()))
        .collect();
    let chosen = word_of(&BYS, &by);
    let choice = parts::select(
        "by",
        "Told apart by",
        chosen,
        &options,
        "",
        &Problems::default(),
    );
    html! {
        @match best {
            Some((key, row)) if sum.units != 0 => {
                (parts::answer(&whole(books, row.left()), &format!("left by {}", key_name(workshop, *key)),
                    &format!("The most of any {}, {}: net of tax, fees, postage, day costs and the materials of what was sold and lost. Your own time is not taken off.", by.word(), span(from, to))))
            }
            _ => {
                (parts::answer_words("Nobody can say yet: nothing was sold in these days.", ""))
                p.next { a.button.do href="/stall" { "Go to the Stall" } }
            }
        }
        (doubts(workshop, books))
        (stretch("/books/earns", from, to, &choice, problems))
        @if !rows.is_empty() {
            table.stack.wide {
                thead { tr { th { (capital(by.word())) } th.n { "Units" } th.n { "Takings" } th.n { "Tax" } th.n { "Fees and postage" } th.n { "Day costs" } th.n { "Materials" } th.n { "Lost" } th.n { "Left" } th.n { "An hour" } } }
                tbody {
                    @for (key, row) in &rows { (earned_row(books, &key_name(workshop, *key), row)) }
                    (earned_row(books, "all together", &sum))
                }
            }
            p.soft { "What cannot be put to one " (by.word()) " stands by itself; the rows add up to the same whatever they are told apart by. An hour is what is left, over the hours of selling and of making what was sold, as far as they are written down." }
            (hour_picture(workshop, books, by, &rows))
            (sell_through(workshop, books, by, days))
            (where_it_goes(workshop, books, by, &rows))
        }
    }
}

fn earned_row(books: &Books, name: &str, row: &Earned) -> Markup {
    html! {
        tr {
            td { (name) }
            td.n data-label="Units" { (row.units) }
            td.n data-label="Takings" { (minor(books, row.takings)) }
            td.n data-label="Tax" { (minor(books, row.tax)) }
            td.n data-label="Fees and postage" { (minor(books, row.fees + row.postage)) }
            td.n data-label="Day costs" { (minor(books, row.day_costs + row.tins)) }
            td.n data-label="Materials" { (value(books, row.cost.materials)) }
            td.n data-label="Lost" { (value(books, row.lost.materials + row.differences.materials)) }
            td.n data-label="Left" { strong { (value(books, row.left())) } }
            td.n data-label="An hour" { @if let Some(hour) = row.per_hour().filter(|_| row.selling_ms > 0 || row.units > 0) { (value(books, hour)) } @else { span.soft { "–" } } }
        }
    }
}

fn hour_picture(workshop: &Workshop, books: &Books, by: By, rows: &[(Key, Earned)]) -> Markup {
    if !matches!(by, By::Channel | By::MarketDay) {
        return html! {};
    }
    let known: Vec<(String, f64, String)> = rows
        .iter()
        .filter(|(key, _)| *key != Key::Rest)
        .filter_map(|(key, row)| {
            let hour = row.per_hour()?;
            let words = books.money(hour).to_string();
            Some((key_name(workshop, *key), books.drawn(hour), words))
        })
        .take(12)
        .collect();
    let bars: Vec<press::Bar> = known
        .iter()
        .map(|(name, amount, words)| press::Bar {
            name,
            amount: *amount,
            words,
        })
        .collect();
    let best = known.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let title = best.map_or_else(String::new, |(name, amount, words)| {
        format!(
            "{} at {name}: {words}",
            if *amount > 0.0 {
                "An hour leaves most"
            } else {
                "No hour earns yet; least is lost"
            }
        )
    });
    let drawn = press::bars(&press::Bars {
        title: &title,
        name_word: by.word(),
        amount_word: "left for an hour of making and selling",
        bars: &bars,
        at_least: 0.0,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

fn sell_through(workshop: &Workshop, books: &Books, by: By, days: Days) -> Markup {
    if !matches!(by, By::Product | By::Scent) {
        return html! {};
    }
    let mut rows: Vec<(String, Moved)> = Vec::new();
    for (good, row) in moved(books, days) {
        let formula = match good {
            Good::Product(product) => workshop.product(product).map(|it| it.formula),
            Good::Trial(pour) => workshop.pour(pour).map(|it| it.formula),
        };
        let name = match (by, formula) {
            (By::Scent, Some(formula)) => scent_name(workshop, formula),
            _ => good_name(workshop, good),
        };
        match rows.iter_mut().find(|(known, _)| *known == name) {
            Some((_, known)) => known.add(&row),
            None => rows.push((name, row)),
        }
    }
    let mut known: Vec<(String, f64, String)> = rows
        .into_iter()
        .filter_map(|(name, row)| {
            let share = row.sell_through()?;
            let there = row.opening + row.made;
            let words = format!("{:.0} %, {} of {there}", share * 100.0, row.sold);
            Some((name, share, words))
        })
        .collect();
    known.sort_by(|a, b| b.1.total_cmp(&a.1));
    known.truncate(12);
    let bars: Vec<press::Bar> = known
        .iter()
        .map(|(name, amount, words)| press::Bar {
            name,
            amount: *amount,
            words,
        })
        .collect();
    let title = known.first().map_or_else(String::new, |(name, _, words)| {
        format!("{name} sells through best: {words}")
    });
    let drawn = press::bars(&press::Bars {
        title: &title,
        name_word: by.word(),
        amount_word: "sold, of what there was to sell",
        bars: &bars,
        at_least: 1.0,
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

/// Where the price of one unit of the good that sold most went.
fn where_it_goes(workshop: &Workshop, books: &Books, by: By, rows: &[(Key, Earned)]) -> Markup {
    let most = rows
        .iter()
        .filter(|(key, row)| *key != Key::Rest && row.units > 0)
        .max_by_key(|(_, row)| row.units);
    let of_one = most.filter(|_| by == By::Product);
    let of_one = of_one.and_then(|(key, row)| Some((key, row.of_one()?)));
    let Some((key, one)) = of_one else {
        return html! {};
    };
    let parts_of = [
        ("tax", one.tax),
        ("fees and postage", one.fees),
        ("materials and packing", one.materials),
        ("lost units", one.lost),
        ("hands-on time and overhead", one.work),
    ]
    .map(|(name, amount)| press::CostPart {
        name,
        amount: books.drawn(amount),
    });
    let name = key_name(workshop, *key);
    let write = parts::money_writer(books.currency());
    let drawn = press::cost_parts(&press::CostParts {
        name: &name,
        price: Some(books.drawn(one.price)),
        parts: &parts_of,
        left_word: "left",
        write: &write,
    });
    html! {
        @if let Some(drawn) = drawn {
            h2 { "Where the price of one goes" }
            (parts::picture(&drawn))
        }
    }
}

async fn tax(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let (from, to, problems) = asked(app, &Filled::new(pairs))?;
        over(app, "What tax is due?", |workshop, books| {
            tax_body(workshop, books, (from, to), &problems)
        })
    })
    .await
}

fn tax_body(
    workshop: &Workshop,
    books: &Books,
    (from, to): (Date, Date),
    problems: &Problems,
) -> Markup {
    let months = tax_report(workshop, Days::between(from, to));
    let mut sum = TaxMonth::default();
    for month in months.values() {
        sum.add(month);
    }
    let settled = workshop
        .trade()
        .books()
        .and_then(|books| books.tax.as_ref());
    let name = settled.map_or("tax", |tax| tax.name.as_str());
    let due = Money::from_minor(sum.due(), books.currency()).to_string();
    html! {
        @if settled.is_none() && sum.tax == 0 {
            (parts::answer_words("None: this workshop takes no tax on its sales.", "It was never said that it does."))
        } @else {
            (parts::answer(&due, &format!("{name}, {}", span(from, to)),
                "By the day of each sale, whenever the money came; what was given back or credited is taken off. A voided sale counts as never made."))
        }
        p.next { a.button.do href={ "/books/take/sales.xlsx?from=" (from) "&to=" (to) } { "Take the sales away" } }
        @if !months.is_empty() {
            table.stack {
                thead { tr { th { "Month" } th.n { "Sales with tax" } th.n { "Tax in them" } th.n { "Sales without" } th.n { "Given back" } th.n { "Tax in that" } th.n { "Due" } } }
                tbody {
                    @for ((year, month), row) in &months { (tax_row(books, &month_name(*year, *month), row)) }
                    (tax_row(books, "all together", &sum))
                }
            }
        }
        (stretch("/books/tax", from, to, &html! {}, problems))
        p.soft { "This informs and does not certify. Which sales bear tax, at which rate and when it is due is settled by your tax office." }
    }
}

fn tax_row(books: &Books, name: &str, row: &TaxMonth) -> Markup {
    html! {
        tr {
            td { (name) }
            td.n data-label="Sales with tax" { (minor(books, row.taxed)) }
            td.n data-label="Tax in them" { (minor(books, row.tax)) }
            td.n data-label="Sales without" { (minor(books, row.untaxed)) }
            td.n data-label="Given back" { (minor(books, row.refunds)) }
            td.n data-label="Tax in that" { (minor(books, row.tax_back)) }
            td.n data-label="Due" { strong { (minor(books, row.due())) } }
        }
    }
}

async fn expenses(State(site): State<Site>) -> Response {
    site.run(|app| expenses_page(app, &Filled::default(), &Problems::default()))
        .await
}

async fn pay(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, filled| pay_expense(app, WHO, filled),
        move |_, _| Ok("/books/expenses".to_owned()),
        expenses_page,
    )
    .await
}

/// Expenses on one page, latest first.
const LISTED: usize = 100;

fn expenses_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let today = app.today();
    over(app, "What else did I pay for?", |workshop, books| {
        let (from, to) = app::books::year_of(workshop, today);
        let days = Days::between(from, to);
        let sum = expenses_by_kind(workshop, books, days).values().sum();
        let options: Vec<(String, String)> = EXPENSES
            .iter()
            .map(|(word, kind)| ((*word).to_owned(), kind.words().to_owned()))
            .collect();
        let example = app::forms::example(workshop, "such as 18.00");
        let all = workshop.trade().expenses();
        html! {
            (parts::problems(problems))
            (parts::answer(&Money::from_minor(sum, books.currency()).to_string(), &format!("since {}", parts::day(from)),
                "Other than supplies, market days and the fees and postage that channels and orders say."))
            form.sheet method="post" action="/books/expenses" {
                (once::field())
                div.fields {
                    (parts::past_day("paid_on", "Paid on", filled.get("paid_on"), today, problems))
                    (parts::select("kind", "For", filled.get("kind"), &options, "", problems))
                    (Field::text("amount", "Paid", filled.get("amount")).keys("decimal").hint(&example).needed().draw(problems))
                    (Field::text("note", "In words", filled.get("note")).needed().draw(problems))
                }
                (tick("back", "This money came back to me", filled.some("back").is_some()))
                p.next { button.do type="submit" { "Write it down" } }
            }
            @if all.is_empty() {
                p.empty { "Rent, power, moulds, signs: what you pay for and is no supply belongs here." }
            } @else {
                table.stack {
                    thead { tr { th { "Day" } th { "For" } th { "In words" } th.n { "Paid" } } }
                    tbody {
                        @for (day, paid) in all.iter().rev().take(LISTED) {
                            tr {
                                td { (parts::day(*day)) }
                                td data-label="For" { (paid.kind.words()) }
                                td data-label="In words" { (paid.note) }
                                td.n data-label="Paid" { (fig(paid.cost().to_string())) }
                            }
                        }
                    }
                }
                p.soft { "One that was written down wrongly is put right by writing it down once more, as money that came back." }
                p.next { a.button.quiet href="/books/take/expenses.xlsx" { "Take them all away" } }
            }
        }
    })
}

async fn take(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let (from, to, problems) = asked(app, &filled)?;
        let named = filled.some("from").is_some() || filled.some("to").is_some();
        let end = if named {
            format!("?from={from}&to={to}")
        } else {
            String::new()
        };
        over(app, "Take it all away", |_, _| {
            html! {
                (parts::answer_words("Everything you wrote down is yours, in forms that any spreadsheet and any bookkeeper reads.",
                    if named { "Of the days below." } else { "Of all days." }))
                table.stack {
                    thead { tr { th { "What" } th { "As" } } }
                    tbody {
                        @for kind in &KINDS {
                            @let end = if kind.by_days { end.as_str() } else { "" };
                            tr {
                                td { (capital(kind.what)) }
                                td data-label="As" {
                                    a href={ "/books/take/" (kind.name) ".csv" (end) } { "CSV" } " · "
                                    a href={ "/books/take/" (kind.name) ".xlsx" (end) } { "XLSX" }
                                }
                            }
                        }
                        tr {
                            td { "Double entry, which balances to zero" }
                            td data-label="As" {
                                a href={ "/books/take/" (ENTRIES) ".txt" (end) } { "plain-text journal" } " · "
                                a href={ "/books/take/" (ENTRIES) ".csv" (end) } { "CSV" }
                            }
                        }
                    }
                }
                p.soft { "In the double entry nobody is paid for your own time, so it is not in it; fees stand as each channel's terms make them." }
                (stretch("/books/take", from, to, &html! {}, &problems))
                p.soft { "The whole journal, from which everything here is reckoned, is copied with " code { "pourwright backup" } "." }
            }
        })
    })
    .await
}

async fn file(
    State(site): State<Site>,
    Path(file): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let (name, form) = file.rsplit_once('.').ok_or(Fault::Nothing("file"))?;
        let days = if filled.some("from").is_some() || filled.some("to").is_some() {
            let (from, to, problems) = asked(app, &filled)?;
            if !problems.0.is_empty() {
                let page = page("Take it all away", html! {
                    (parts::question("Take it all away"))
                    (parts::problems(&problems))
                    p.next { a.button.do href="/books/take" { "Choose the days" } }
                });
                return Ok(Reply::Page(StatusCode::UNPROCESSABLE_ENTITY, page));
            }
            Days::between(from, to)
        } else {
            Days::ALL
        };
        let (kind, bytes): (&str, Vec<u8>) = match (name, form) {
            (ENTRIES, "txt" | "csv") => {
                let books = app.books()?.ok_or(Fault::Nothing("file"))?;
                let book = app.look(|workshop| entries(workshop, &books, days, app.today()))?;
                if form == "txt" {
                    ("text/plain; charset=utf-8", book.to_plain_text().into_bytes())
                } else {
                    ("text/csv; charset=utf-8", book.to_csv().into_bytes())
                }
            }
            (name, form) => {
                let kind = kind_named(name).ok_or(Fault::Nothing("file"))?;
                let table = kind.table(app, days)?;
                match form {
                    "csv" => ("text/csv; charset=utf-8", table.to_csv().into_bytes()),
                    "xlsx" => {
                        const SHEET: &str =
                            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
                        match table.to_xlsx(name) {
                            Ok(bytes) => (SHEET, bytes),
                            Err(why) => {
                                let page = page("Take it all away", html! {
                                    (parts::question("Take it all away"))
                                    p { (capital(&why.to_string())) "." }
                                    p.next { a.button.do href={ "/books/take/" (name) ".csv" } { "Take it as CSV" } }
                                });
                                return Ok(Reply::Page(StatusCode::UNPROCESSABLE_ENTITY, page));
                            }
                        }
                    }
                    _ => return Err(Fault::Nothing("file")),
                }
            }
        };
        let named = format!("attachment; filename=\"{name}.{form}\"");
        let response = (
            [
                (header::CONTENT_TYPE, kind.to_owned()),
                (header::CONTENT_DISPOSITION, named),
            ],
            bytes,
        );
        Ok(Reply::File(response.into_response()))
    })
    .await
}
