//! Selling by taps, on a phone held in one hand.
//!
//! Without script it is a form of counts. With it the page goes on without a
//! signal: it carries prices, bundles and tax along, because the sum has to
//! stand there when nobody can be asked, and each sale waits in the browser
//! until the workshop has it.

use app::App;
use app::forms::{Filled, as_typed};
use app::stall::{self, PAYMENTS};
use axum::Router;
use axum::extract::{Form, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use measure::{Currency, Money, Problems};
use serde_json::{Value, json};
use workshop::facts::{MarketDayId, ProductId};
use workshop::selling::{price_in, sales_tax};
use workshop::{Channel, MarketDay, Workshop};

use crate::assets::STAMP;
use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, market};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Ways to pay that a stall meets, beside cash and card.
const PAID_BY: [&str; 4] = ["cash", "card", "transfer", "unknown"];
/// Sales listed on the page without script.
const LAST_ONES: usize = 8;

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/stall/day/{id}/sell", get(sell).post(write_sale))
}

async fn sell(State(site): State<Site>, At(id): At<MarketDayId>) -> Response {
    site.run(move |app| sell_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn write_sale(
    State(site): State<Site>,
    At(id): At<MarketDayId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::sell(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/day/{id}/sell")),
        move |app, filled, problems| sell_page(app, id, filled, problems),
    )
    .await
}

/// One good on the table.
struct Tile<'a> {
    product: ProductId,
    name: &'a str,
    price: Option<Money>,
    left: i64,
}

fn sell_page(
    app: &App,
    id: MarketDayId,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let nothing = Fault::Nothing("market day");
        let day = workshop.trade().market_day(id).ok_or(nothing)?;
        let channel = workshop.trade().channel(day.channel);
        let tiles: Vec<Tile> = stall::left_at(workshop, id)
            .into_iter()
            .map(|(product, left)| {
                let product = ProductId(product);
                Tile {
                    product,
                    name: market::name_of(workshop, product),
                    price: channel.and_then(|channel| price_in(workshop, channel, product)),
                    left,
                }
            })
            .collect();
        let currency = workshop
            .money_kept_in()
            .filter(|_| tiles.iter().any(|tile| tile.price.is_some()));
        let title = "What goes over the table?";
        Ok(Page {
            title: title.to_owned(),
            place: Place::Stall,
            back: Some((format!("/stall/day/{id}"), day.market.clone())),
            body: html! {
                (parts::question(title))
                @if day.called_off {
                    p.doubt { (day.market) " is called off: put it on again before anything is sold there." }
                } @else if day.counted.is_some() {
                    p.doubt { "The day is counted back: only what the count found missing can still be written down as sold." }
                }
                (parts::problems(problems))
                @if tiles.is_empty() {
                    (parts::empty("What you take to the market stands here, one tile a good.", &format!("/stall/day/{id}"), "Write down what you take"))
                } @else {
                    @if let (Some(channel), Some(currency)) = (channel, currency) {
                        (taps(workshop, day, channel, currency, &tiles))
                    }
                    (plain(workshop, day, &tiles, typed, problems))
                }
            },
        })
    })?
}

/// What the script needs to go on without a signal. Amounts are whole minor
/// units.
fn told(
    workshop: &Workshop,
    day: &MarketDay,
    channel: &Channel,
    currency: Currency,
    tiles: &[Tile],
) -> Value {
    let own = |price: &Money| price.currency() == currency;
    let goods: Vec<Value> = tiles
        .iter()
        .map(|tile| {
            let price = tile.price.filter(own).map(Money::minor);
            json!({ "id": tile.product, "name": tile.name, "price": price, "left": tile.left })
        })
        .collect();
    let bundles: Vec<Value> = channel
        .bundles
        .iter()
        .filter(|bundle| own(&bundle.price))
        .map(|bundle| {
            let price = bundle.price.minor();
            json!({ "goods": bundle.products, "count": bundle.count, "price": price })
        })
        .collect();
    let on_top = sales_tax(workshop)
        .filter(|tax| !tax.inside)
        .map(|tax| tax.rate.decimal().normalize());
    let tax = on_top.map(|rate| {
        let of = 10_u128.saturating_pow(rate.scale());
        json!({ "part": rate.mantissa().to_string(), "of": of.to_string() })
    });
    let mark = if as_typed(workshop, "0.1").contains(',') {
        ","
    } else {
        "."
    };
    json!({
        "day": day.id,
        "currency": currency.code(),
        "places": currency.exponent().unwrap_or(0),
        "mark": mark,
        "goods": goods,
        "bundles": bundles,
        "tax": tax,
        // Later figures are those of a later sale.
        "sale": workshop.trade().sales().len(),
    })
}

/// The tiles, the sum and what became of the last sales; there once the script
/// runs.
fn taps(
    workshop: &Workshop,
    day: &MarketDay,
    channel: &Channel,
    currency: Currency,
    tiles: &[Tile],
) -> Markup {
    let told = told(workshop, day, channel, currency, tiles).to_string();
    html! {
        div.sell data-sell=(told) hidden {
            p { span data-state role="status" {} " " span.soft data-why {} }
            section data-trouble hidden {
                h2 { "Not taken by the workshop" }
                ul.rows data-refused {}
            }
            div.tiles {
                @for tile in tiles {
                    div.tile data-good=(tile.product) {
                        button.add type="button" data-add disabled[tile.price.is_none()] {
                            span.name { (tile.name) }
                            span.count data-held {}
                            span.price {
                                @if let Some(price) = tile.price { (fig(as_typed(workshop, price))) } @else { "no price" }
                                " " span.left data-left { (tile.left) " left" }
                            }
                        }
                        button.less type="button" data-less hidden aria-label={ "One " (tile.name) " less" } { "−" }
                    }
                }
            }
            div.till {
                div.sum {
                    output.fig { span data-sum { "0" } span.u { "\u{a0}" (currency.code()) } }
                    span.beside { span.soft.saved data-saved {} output.change data-change {} }
                }
                div.given {
                    span.notes data-notes {}
                    div.field { label for="f-given" { "Given" } input type="text" id="f-given" inputmode="decimal" autocomplete="off" data-given; }
                }
                div.pay {
                    button.do type="button" data-pay="cash" disabled { "Cash" }
                    button.do type="button" data-pay="card" disabled { "Card" }
                }
            }
            section data-lately hidden {
                h2 { "The last ones" }
                ul.rows data-last {}
            }
            p { a href={ "/stall/day/" (day.id) } { "Every sale of the day" } }
            p.soft data-offline {}
        }
        script src={ "/assets/sell.js?" (STAMP) } defer {}
    }
}

/// The same as a form of counts, and the sales written down last.
fn plain(
    workshop: &Workshop,
    day: &MarketDay,
    tiles: &[Tile],
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let chosen = if typed.has("payment") {
        typed.get("payment")
    } else {
        "cash"
    };
    let payments: Vec<_> = PAYMENTS
        .iter()
        .filter(|(word, _)| PAID_BY.contains(word))
        .map(|(word, payment)| ((*word).to_owned(), payment.word().to_owned()))
        .collect();
    let sales = day.sales.iter().rev().take(LAST_ONES);
    let last: Vec<_> = sales.filter_map(|id| workshop.trade().sale(*id)).collect();
    html! {
        div data-without-script {
            form.sheet method="post" action={ "/stall/day/" (day.id) "/sell" } {
                (once::field())
                div.fields.tight {
                    @for tile in tiles {
                        @let field = format!("sold[{}]", tile.product);
                        @let price = tile.price.map_or_else(|| "no price".to_owned(), |price| as_typed(workshop, price));
                        (Field::text(&field, tile.name, typed.get(&field)).keys("numeric").hint(&format!("{price}; {} left", tile.left)).draw(problems))
                    }
                }
                div.fields {
                    (parts::select("payment", "Paid", chosen, &payments, "", problems))
                    (Field::text("paid", "In all", typed.get("paid")).keys("decimal").hint("empty for what the prices and bundles say").draw(problems))
                }
                p.next { button.do type="submit" { "Write it down" } }
            }
            @if !last.is_empty() {
                h2 { "The last ones" }
                ul.rows { @for sale in last { (market::sale_row(workshop, sale)) } }
            }
        }
    }
}
