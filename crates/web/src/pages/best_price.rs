//! Which price of a good earns most, from its own market days.

use app::App;
use app::best_price::{AtPrice, BestPrice, TRIES, best_price, chance, left_writer};
use app::forms::{Filled, as_typed};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use demand::{DemandAtPriceOutput, Verdict};
use maud::{Markup, html};
use measure::{Currency, Problems};
use workshop::facts::ProductId;

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site};

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/stall/good/{id}/price", get(price))
}

async fn price(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| page(app, id, &Filled::new(pairs)))
        .await
}

fn page(app: &App, id: ProductId, filled: &Filled) -> Result<Page, Fault> {
    let found = best_price(app, id, filled)?.ok_or(Fault::Nothing("good"))?;
    let none = Problems::default();
    let (problems, found) = match found {
        Ok(found) => (none, found),
        // What cannot be read is said above the answer to the rest.
        Err(problems) => {
            let plain = best_price(app, id, &Filled::default())?;
            let plain = plain.ok_or(Fault::Nothing("good"))?;
            (problems, plain.map_err(|_| Fault::Nothing("good"))?)
        }
    };
    let good = app.look(|workshop| {
        let good = workshop.product(id);
        good.map_or_else(String::new, |good| good.name.clone())
    })?;
    let typed = |price: measure::Money| app.look(|workshop| as_typed(workshop, price));
    let change_to = match found.change_to {
        Some(price) => Some((price, typed(price)?)),
        None => None,
    };
    let is_proven = found
        .answer
        .as_ref()
        .is_some_and(|answer| answer.verdict == Verdict::Yes);
    let title = format!("Which price earns most for {}?", found.name);
    Ok(Page {
        title: title.clone(),
        place: Place::Stall,
        back: Some((format!("/stall/good/{id}"), good)),
        body: html! {
            (parts::question(&title))
            div data-part="answer" {
                (parts::still_open(&problems))
                @if let Some(answer) = &found.answer { (answered(&found, answer)) }
                @else { (nothing_yet(&found)) }
                div.next.no-paper {
                    @if let (Some((channel, name)), Some((price, typed))) = (&found.channel, &change_to) {
                        form method="post" action={ "/stall/channel/" (channel) "/prices" } {
                            @for good in &found.goods { input type="hidden" name={ "price[" (good) "]" } value=(typed); }
                            button.do[is_proven] type="submit" { "Ask " (price) " at " (name) }
                        }
                    }
                    @if found.answer.is_some() { a.button.quiet href={ "/print/price-signs?product=" (id) } type="application/pdf" { "Print its price sign" } }
                    a.button.quiet href="/stall/day/new" { "Plan a market day" }
                }
            }
            (questions(id, &found, filled, &problems))
            div data-part="picture" {
                @if let Some(answer) = &found.answer {
                    (picture(&found, answer))
                    (table(&found))
                    (ranges(&found, answer))
                    (price_test(&found, answer))
                    @if !found.notes.is_empty() { h2 { "To keep in mind" } ul { @for note in &found.notes { li.soft { (note) } } } }
                    (parts::working("working", &answer.working))
                }
            }
        },
    })
}

fn nothing_yet(found: &BestPrice) -> Markup {
    html! {
        (parts::answer_words("Nobody can say yet: it was on no market day that is counted back.",
            "What tells is how many were sold on days at different prices, days like each other but for the price."))
        @if let Some(alike) = &found.alike {
            p { a href="?of=format" { "Look at " (alike) " together" } }
        }
    }
}

fn answered(found: &BestPrice, answer: &DemandAtPriceOutput) -> Markup {
    html! {
        @if let Some(best) = &answer.best {
            @let also = best.chance_beats_now.map_or_else(String::new, |more| format!("earns more than {}: {} likely", answer.now, chance(more)));
            (parts::answer(&best.price, &also, &answer.sentence))
            p {
                "Does a change pay? "
                @match answer.verdict {
                    Verdict::Yes => { (parts::verdict("yes", "yes")) }
                    Verdict::No => { (parts::verdict("no", "no")) }
                    Verdict::NotProven => { (parts::verdict("unproven", "not proven")) }
                }
                @if let Some(now) = found.now { "; asked now: " (fig(now.to_string())) "." }
                @if let Some(best_of) = best.chance_best { " The very best of the " (found.prices.len()) " prices compared it is with a chance of " (fig(chance(best_of))) "." }
            }
        } @else {
            (parts::answer_words("The sales do not tell yet.", &answer.sentence))
        }
        p.soft { (found.rests_on) }
    }
}

fn questions(id: ProductId, found: &BestPrice, filled: &Filled, problems: &Problems) -> Markup {
    let pair = |value: &str, words: &str| (value.to_owned(), words.to_owned());
    let markets: Vec<_> = std::iter::once(pair("", "every market"))
        .chain(found.markets.iter().map(|market| pair(market, market)))
        .collect();
    let by: Vec<_> = std::iter::once(pair("", "as they are"))
        .chain(found.compared_by.iter().map(|word| match *word {
            "footfall" => pair(word, "by how many came by"),
            _ => pair(word, "by their hours"),
        }))
        .collect();
    let cost = found.cost.map_or_else(
        || "not known; empty counts it as nothing".to_owned(),
        |cost| format!("now {cost}"),
    );
    let path = format!("/stall/good/{id}/price");
    html! {
        form.sheet method="get" action=(path) data-live=(path) {
            div.fields.tight {
                @if let Some(alike) = &found.alike {
                    (parts::select("of", "Of", filled.get("of"), &[pair("", "this good"), pair("format", alike)], "", problems))
                }
                @if found.markets.len() > 1 { (parts::select("market", "At", filled.get("market"), &markets, "", problems)) }
                @if !found.compared_by.is_empty() { (parts::select("by", "Days compared", filled.get("by"), &by, "", problems)) }
                (Field::text("cost", "A unit costs", filled.get("cost")).keys("decimal").hint(&cost).draw(problems))
                (Field::text(TRIES[0], "A price to look at", filled.get(TRIES[0])).keys("decimal").draw(problems))
                (Field::text(TRIES[1], "And another", filled.get(TRIES[1])).keys("decimal").draw(problems))
                (Field::text("ending", "Prices ending in", filled.get("ending")).keys("decimal").hint("0.25, 0.99 or 1").draw(problems))
                (Field::text("days", "Days at each price of a test", filled.get("days")).keys("numeric").hint("3 where it is empty").draw(problems))
            }
            p.next { button type="submit" { "Reckon it" } }
        }
    }
}

fn picture(found: &BestPrice, answer: &DemandAtPriceOutput) -> Markup {
    let currency = Currency::from_code(&answer.currency).unwrap_or(Currency::USD);
    let write = parts::money_writer(currency);
    let curve: Vec<press::PricePoint> = answer
        .curve
        .iter()
        .map(|at| press::PricePoint {
            price: at.price,
            leaves: at.contribution,
            low: at.low,
            high: at.high,
        })
        .collect();
    let prices: Vec<press::PricePoint> = answer
        .contest
        .iter()
        .map(|at| press::PricePoint {
            price: at.price_in_currency,
            leaves: at.contribution_in_currency,
            low: at.contribution_low_in_currency,
            high: at.contribution_high_in_currency,
        })
        .collect();
    let best = answer.best.as_ref();
    let title = best.map_or_else(String::new, |best| {
        let left = left_writer(currency)(best.contribution_in_currency);
        format!("A day at {} leaves about {left}", best.price)
    });
    let drawn = press::price_curve(&press::PriceCurve {
        title: &title,
        curve: &curve,
        prices: &prices,
        days: &found.days,
        best: best.map(|best| (best.price_in_currency, best.contribution_in_currency)),
        alike: found.alike_in_picture(),
        write: &write,
        write_left: &left_writer(currency),
    });
    html! { @if let Some(drawn) = drawn { (parts::picture(&drawn)) } }
}

fn table(found: &BestPrice) -> Markup {
    let (first, rest): (Vec<_>, Vec<_>) = found.prices.iter().partition(|at| at.is_told_first());
    html! {
        @if !found.prices.is_empty() {
            h2 { "At each price" }
            (rows(&first))
            @if !rest.is_empty() { details { summary { "Prices between" } (rows(&rest)) } }
            p.soft { "A day leaves what is kept of the price after tax and fees, less what a unit costs, times the units sold; what the day itself costs is the same at every price. As long as the sales hardly tell, the chance of being the best gathers at the ends of what was tried, and the range below says more." }
        }
    }
}

fn rows(prices: &[&AtPrice]) -> Markup {
    html! {
        table.stack {
            thead { tr { th { "Price" } th.n { "Days so far" } th.n { "Sold a day" } th.n { "A day leaves" } th.n { "On average between" } th.n { "Is the best" } } }
            tbody {
                @for at in prices {
                    tr {
                        td { @if at.is_best { strong { (fig(&at.price)) } } @else { (fig(&at.price)) } @if at.is_now { " " span.soft.small { "now" } } }
                        td.n data-label="Days so far" { @if at.days == 0 { span.soft { "–" } } @else { (at.days) } }
                        td.n data-label="Sold a day" { span { (at.sold) " " span.soft.small { "(" (at.sold_between) ")" } } }
                        td.n data-label="A day leaves" { (fig(&at.leaves)) }
                        td.n data-label="On average between" { span.soft { (at.leaves_between) } }
                        td.n data-label="Is the best" { (fig(&at.chance)) }
                    }
                }
            }
        }
    }
}

fn ranges(found: &BestPrice, answer: &DemandAtPriceOutput) -> Markup {
    let ranges = found.ranges();
    let line = answer.line.as_ref();
    html! {
        @if !ranges.is_empty() {
            h2 { "Where it makes little difference" }
            table.stack {
                thead { tr { th { "A day leaves" } th { "With every belief weighed" } th { "By the plain line" } } }
                tbody {
                    @for (words, by_model, by_line) in &ranges {
                        tr {
                            td { (words) " of the most" }
                            td data-label="With every belief weighed" { @if by_model.is_empty() { "–" } @else { (by_model) } }
                            td data-label="By the plain line" { @if by_line.is_empty() { "–" } @else { (by_line) } }
                        }
                    }
                }
            }
            @if let Some(line) = line {
                p.soft {
                    "The plain line, to be checked by hand: " (line.formula)
                    @if let Some(best) = &line.best { "; its best price is " (best) }
                    "."
                }
            }
        }
    }
}

fn price_test(found: &BestPrice, answer: &DemandAtPriceOutput) -> Markup {
    html! {
        @if let Some(test) = found.test() {
            h2 { "Which test would tell" }
            p { (test.sentence) }
            @for other in answer.tests.iter().filter(|other| *other != test) { p.soft { (other.sentence) } }
            @if found.hardly_tells() {
                p.note { "So few days hardly ever tell: prices this near leave nearly the same, and the wrong one of them costs little. A price further off, or more days, tells more." }
            }
            p {
                "Ask " (fig(&test.price)) " and " (fig(&test.against)) " on like market days, turn about: the same market, the same season, nothing else changed. The price signs say the day's price, and the count at the end of the day is all it needs."
            }
            @if !found.plan.is_empty() {
                table.stack {
                    thead { tr { th { "Market day" } th { "Market" } th.n { "Ask" } } }
                    tbody {
                        @for day in &found.plan {
                            tr {
                                td { a href={ "/stall/day/" (day.market_day) } { (parts::day(day.on)) } }
                                td data-label="Market" { (day.market) }
                                td.n data-label="Ask" { (fig(&day.price)) }
                            }
                        }
                    }
                }
            }
            @if found.to_plan > 0 {
                p.soft { (parts::counted(found.to_plan, "market day")) " of the test " (if found.to_plan == 1 { "is" } else { "are" }) " not planned yet. " a href="/stall/day/new" { "Plan a market day" } }
            }
        }
    }
}
