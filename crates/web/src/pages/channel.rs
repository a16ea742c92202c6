//! The ways goods are sold: what each takes, what goods cost there, and what a
//! price keeps.

use app::App;
use app::forms::{Filled, as_typed};
use app::stall::{self, CHANNEL_KINDS, Rung, channel_price, knows_cost, price_ladder};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::{Money, Problems};
use price::ChannelPriceOutput;
use workshop::facts::{ChannelId, ChannelKind, Fact, ProductId};
use workshop::selling::price_in;
use workshop::{Channel, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::pages::market::name_of;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Empty lines for bundles that a form ends with.
const SPARE_BUNDLES: usize = 1;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall/channel/new", get(new).post(open))
        .route("/stall/channel/{id}", get(channel).post(change))
        .route("/stall/channel/{id}/prices", post(prices))
        .route("/stall/channel/{id}/bundles", post(bundles))
        .route("/stall/channel/{id}/good/{good}", get(keeps))
}

/// The channels with what each is, for the front page of the stall.
pub(crate) fn list(workshop: &Workshop) -> Markup {
    let channels: Vec<&Channel> = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed)
        .collect();
    html! {
        @if !channels.is_empty() {
            ul.rows {
                @for channel in channels {
                    li {
                        span { a href={ "/stall/channel/" (channel.id) } { (channel.name) } br; span.soft.small { (terms_words(channel)) } }
                        span.soft { (channel.kind.word()) }
                    }
                }
            }
        }
    }
}

/// What each channel keeps of a good's price, dearest first; nothing where
/// there is no channel.
pub(crate) fn of_good(workshop: &Workshop, product: ProductId) -> Markup {
    let mut rows: Vec<(&Channel, ChannelPriceOutput)> = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed)
        .filter_map(|channel| {
            price_in(workshop, channel, product)?;
            let answer = channel_price(workshop, channel.id, product, &Filled::default());
            Some((channel, answer.ok()?))
        })
        .collect();
    rows.sort_by(|(_, a), (_, b)| b.price_in_currency.total_cmp(&a.price_in_currency));
    let knows = knows_cost(workshop, product);
    html! {
        @if !rows.is_empty() {
            h2 { "In each channel" }
            table.stack {
                thead { tr { th { "Channel" } th.n { "Price" } th.n { "Tax" } th.n { "Fees" } th.n { "Kept" } th.n { "Leaves" } } }
                tbody {
                    @for (channel, answer) in &rows {
                        tr {
                            td { a href={ "/stall/channel/" (channel.id) "/good/" (product) } { (channel.name) } }
                            td.n data-label="Price" { (fig(&answer.price)) }
                            td.n data-label="Tax" { (fig(&answer.tax)) }
                            td.n data-label="Fees" { (fig(&answer.fees)) }
                            td.n data-label="Kept" { (fig(&answer.kept)) }
                            td.n data-label="Leaves" { @if knows { (fig(&answer.profit)) } @else { span.soft { "cost not known" } } }
                        }
                    }
                }
            }
        }
    }
}

/// What each channel needs for what is wanted of a good, beside what is asked
/// there; nothing where there is no channel or no cost.
pub(crate) fn ladder_of_good(workshop: &Workshop, product: ProductId, typed: &Filled) -> Markup {
    let any = workshop.trade().channels().any(|channel| !channel.closed);
    if !any || !knows_cost(workshop, product) {
        return html! {};
    }
    let none = Problems::default();
    let found = price_ladder(workshop, product, typed);
    let problems = found.as_ref().err().unwrap_or(&none);
    html! {
        h2 id="channels" { "What each channel needs" }
        form.sheet method="get" action={ "/stall/good/" (product) "#channels" } {
            div.fields {
                (Field::text("want_margin", "For a margin of", typed.get("want_margin")).keys("decimal").hint("60 % of net").draw(problems))
                (Field::text("want_hour", "Or so much an hour", typed.get("want_hour")).keys("decimal").hint("of making and selling; empty boxes: to lose nothing").draw(problems))
            }
            p.next { button.quiet type="submit" { "Look at that" } }
        }
        @if let Ok((wanted, rungs)) = &found { (ladder(workshop, product, wanted, rungs)) }
    }
}

fn ladder(workshop: &Workshop, product: ProductId, wanted: &str, rungs: &[Rung]) -> Markup {
    let write = parts::money_writer(workshop.currency().unwrap_or(measure::Currency::USD));
    let drawn: Vec<press::ChannelRung> = rungs
        .iter()
        .map(|rung| press::ChannelRung {
            name: &rung.name,
            needs: rung.needs.map(|needs| needs.cost().to_f64()),
            asks: rung.asks.map(|asks| asks.cost().to_f64()),
        })
        .collect();
    let drawn = press::channel_ladder(&press::ChannelLadder {
        wanted,
        rungs: &drawn,
        write: &write,
    });
    html! {
        @if let Some(drawn) = drawn { (parts::picture(&drawn)) }
        table.stack {
            thead { tr { th { "Channel" } th.n { "Needs " (wanted) } th.n { "Asked now" } th { "Enough?" } } }
            tbody {
                @for rung in rungs {
                    tr {
                        td { a href={ "/stall/channel/" (rung.channel) "/good/" (product) } { (rung.name) } }
                        td.n data-label="Needs" { @if let Some(needs) = rung.needs { (fig(needs.to_string())) } @else { span.soft { (rung.why_not) } } }
                        td.n data-label="Asked now" { @if let Some(asks) = rung.asks { (fig(asks.to_string())) } @else { span.soft { "no price" } } }
                        td data-label="Enough?" {
                            @match rung.is_enough() {
                                Some(true) => { (parts::verdict("yes", "yes")) }
                                Some(false) => { (parts::verdict("no", "no")) }
                                None => { span.soft { "–" } }
                            }
                        }
                    }
                }
            }
        }
        p.soft { "As if everyone paid by card and bought one. Of a shop that buys it is what the shop pays, and it orders the least it may. An hour counts making at its own time and, at a stall, the last market day that was counted back." }
    }
}

/// What a channel takes, in a line: `2.6 % + 0.10 USD a card`.
fn terms_words(channel: &Channel) -> String {
    let terms = &channel.terms;
    let pair = |share: Option<measure::Ratio>, fixed: Option<Money>, of: &str| {
        let words: Vec<String> = share
            .map(|it| it.to_string())
            .into_iter()
            .chain(fixed.map(|it| it.to_string()))
            .collect();
        (!words.is_empty()).then(|| format!("{} {of}", words.join(" + ")))
    };
    let all = [
        pair(terms.percent_fee, terms.fixed_fee, "a sale"),
        pair(terms.payment_percent, terms.payment_fixed, "a card payment"),
        terms.discount.map(|it| format!("{it} off for shops")),
        terms.share.map(|it| format!("{it} of the price is yours")),
        terms.minimum.map(|it| format!("at least {it} an order")),
    ];
    let words: Vec<String> = all.into_iter().flatten().collect();
    if words.is_empty() {
        "takes nothing".to_owned()
    } else {
        words.join("; ")
    }
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn open(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| stall::settle_channel(app, WHO, None, filled),
        |_, done| {
            Ok(done
                .facts
                .iter()
                .find_map(|fact| match fact {
                    Fact::ChannelSettled(fact) => Some(format!("/stall/channel/{}", fact.channel)),
                    _ => None,
                })
                .unwrap_or_else(|| "/stall".to_owned()))
        },
        new_page,
    )
    .await
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|_| Page {
        title: "How else do I sell?".to_owned(),
        place: Place::Stall,
        back: Some(("/stall".to_owned(), "Stall".to_owned())),
        body: html! {
            (parts::question("How else do I sell?"))
            p.doubt { "A stall, a page of your own, shops that buy, shops that pay for what they sell: each with what it takes." }
            (parts::problems(problems))
            form.sheet method="post" action="/stall/channel/new" {
                (once::field())
                (terms_fields(filled, problems))
                p.next { button.do type="submit" { "Open it" } }
            }
        },
    })?)
}

fn terms_fields(filled: &Filled, problems: &Problems) -> Markup {
    let kinds: Vec<_> = CHANNEL_KINDS
        .iter()
        .map(|(word, kind)| ((*word).to_owned(), kind.word().to_owned()))
        .collect();
    let by_post = matches!(filled.get("kind"), "web" | "wholesale" | "sale_or_return")
        || ["postage_paid", "postage_charged", "time_a_sale"]
            .iter()
            .any(|field| filled.some(field).is_some() || problems.of(field).is_some());
    html! {
        div.fields {
            (Field::text("name", "Name", filled.get("name")).hint("the stall, my own page").draw(problems))
            (parts::select("kind", "What it is", filled.get("kind"), &kinds, "", problems))
        }
        div.fields.tight {
            (Field::text("payment_percent", "Card fee, share", filled.get("payment_percent")).keys("decimal").hint("2.6 % of what is paid").draw(problems))
            (Field::text("payment_fixed", "Card fee, each payment", filled.get("payment_fixed")).keys("decimal").draw(problems))
            (Field::text("percent_fee", "Channel's fee, share", filled.get("percent_fee")).keys("decimal").hint("6.5 % of what the buyer pays").draw(problems))
            (Field::text("fixed_fee", "Channel's fee, each sale", filled.get("fixed_fee")).keys("decimal").draw(problems))
        }
        fieldset {
            legend { "For shops" }
            div.fields.tight {
                (Field::text("discount", "Wholesale: shops pay less", filled.get("discount")).keys("decimal").hint("50 % off the usual price").draw(problems))
                (Field::text("share", "Sale or return: yours of what a shop sells", filled.get("share")).keys("decimal").hint("65 %").draw(problems))
                (Field::text("minimum", "Least order", filled.get("minimum")).keys("decimal").draw(problems))
                (Field::text("days_to_pay", "Days to pay", filled.get("days_to_pay")).keys("numeric").hint("empty: at once").draw(problems))
            }
        }
        details open[by_post] {
            summary { "By post, and the time of a sale" }
            div.fields.tight {
                (Field::text("postage_paid", "Postage you pay", filled.get("postage_paid")).keys("decimal").draw(problems))
                (Field::text("postage_charged", "Postage the buyer pays", filled.get("postage_charged")).keys("decimal").draw(problems))
                (Field::text("time_a_sale", "Time for one sale", filled.get("time_a_sale")).hint("6 min").draw(problems))
            }
        }
    }
}

fn with_terms(workshop: &Workshop, filled: Filled, channel: &Channel) -> Filled {
    let terms = &channel.terms;
    let own = |text: Option<String>| text.map_or_else(String::new, |text| as_typed(workshop, text));
    let ratio = |it: Option<measure::Ratio>| own(it.map(|it| it.to_string()));
    let money = |it: Option<Money>| own(it.map(|it| it.to_string()));
    filled
        .or("name", &*channel.name)
        .or("kind", app::forms::word_of(&CHANNEL_KINDS, &channel.kind))
        .or("payment_percent", ratio(terms.payment_percent))
        .or("payment_fixed", money(terms.payment_fixed))
        .or("percent_fee", ratio(terms.percent_fee))
        .or("fixed_fee", money(terms.fixed_fee))
        .or("postage_paid", money(terms.postage_paid))
        .or("postage_charged", money(terms.postage_charged))
        .or("discount", ratio(terms.discount))
        .or("share", ratio(terms.share))
        .or("minimum", money(terms.minimum))
        .or(
            "days_to_pay",
            own(terms.days_to_pay.map(|it| it.to_string())),
        )
        .or(
            "time_a_sale",
            own(terms.time_a_sale.as_ref().map(ToString::to_string)),
        )
}

async fn channel(
    State(site): State<Site>,
    At(id): At<ChannelId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| channel_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn change(
    State(site): State<Site>,
    At(id): At<ChannelId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::settle_channel(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/channel/{id}")),
        move |app, filled, problems| channel_page(app, id, filled, problems),
    )
    .await
}

async fn prices(
    State(site): State<Site>,
    At(id): At<ChannelId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::set_channel_prices(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/channel/{id}")),
        move |app, filled, problems| channel_page(app, id, filled, problems),
    )
    .await
}

async fn bundles(
    State(site): State<Site>,
    At(id): At<ChannelId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::set_bundles(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/channel/{id}")),
        move |app, filled, problems| channel_page(app, id, filled, problems),
    )
    .await
}

/// A good with its price in a channel and what that keeps.
struct Kept {
    product: ProductId,
    answer: Option<ChannelPriceOutput>,
    knows_cost: bool,
}

fn channel_page(
    app: &App,
    id: ChannelId,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let channel = workshop.trade().channel(id).ok_or(Fault::Nothing("channel"))?;
        let goods: Vec<Kept> = workshop
            .products()
            .map(|product| {
                let price = price_in(workshop, channel, product.id);
                Kept {
                    product: product.id,
                    answer: price.and_then(|_| {
                        channel_price(workshop, id, product.id, &Filled::default()).ok()
                    }),
                    knows_cost: knows_cost(workshop, product.id),
                }
            })
            .collect();
        let title = format!("What does {} keep of a price?", channel.name);
        let filled = with_terms(workshop, typed.clone(), channel);
        let is_terms = ["name", "kind", "percent_fee", "fixed_fee", "payment_percent", "payment_fixed", "discount", "share", "minimum", "days_to_pay", "time_a_sale", "postage_paid", "postage_charged"]
            .iter()
            .any(|field| problems.of(field).is_some());
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some(("/stall".to_owned(), "Stall".to_owned())),
            body: html! {
                (parts::question(&title))
                (parts::answer_words(&parts::capital(&terms_words(channel)), &rests_on(channel)))
                @if channel.closed { p.doubt { "It is given up." } }
                (parts::problems(problems))
                @if channel.kind == ChannelKind::Stall && !channel.closed {
                    p.next { a.button.quiet href="/stall/day/new" { "Plan a market day" } }
                }
                @if goods.is_empty() {
                    (parts::empty("What you sell comes first: a formula in a mould or vessel, with a price.", "/stall/new", "Add something you sell"))
                } @else {
                    (price_table(workshop, id, &goods, typed, problems))
                    (bundle_form(workshop, channel, typed, problems))
                }
                details open[is_terms] {
                    summary { "What it takes" }
                    form.sheet method="post" action={ "/stall/channel/" (id) } {
                        (terms_fields(&filled, problems))
                        label.choice for="f-closed" {
                            input type="checkbox" id="f-closed" name="closed" value="yes" checked[channel.closed];
                            "It is given up"
                        }
                        p.next { button type="submit" { "Change it" } }
                    }
                }
            },
        })
    })?
}

fn rests_on(channel: &Channel) -> String {
    if channel.terms.payment_percent.is_some() || channel.terms.payment_fixed.is_some() {
        "What a price leaves is reckoned as if everyone paid by card.".to_owned()
    } else {
        String::new()
    }
}

fn price_table(
    workshop: &Workshop,
    id: ChannelId,
    goods: &[Kept],
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let own = workshop.trade().channel(id);
    html! {
        form.sheet method="post" action={ "/stall/channel/" (id) "/prices" } {
            table.stack {
                thead { tr { th { "Good" } th.n { "Price here" } th.n { "Kept" } th.n { "Leaves" } th.n { "Margin" } } }
                tbody {
                    @for good in goods {
                        @let field = format!("price[{}]", good.product);
                        @let set = own.and_then(|own| own.prices.get(&good.product)).map_or_else(String::new, |price| as_typed(workshop, price));
                        @let value = if typed.has(&field) { typed.get(&field).to_owned() } else { set };
                        @let usual = workshop.product(good.product).and_then(|it| it.prices).map_or("no usual price".to_owned(), |it| format!("usually {}", it.typical));
                        tr {
                            td { a href={ "/stall/channel/" (id) "/good/" (good.product) } { (name_of(workshop, good.product)) } }
                            td.n data-label="Price here" { (Field::text(&field, "Price", &value).keys("decimal").hint(&usual).draw(problems)) }
                            @if let Some(answer) = &good.answer {
                                td.n data-label="Kept" { (fig(&answer.kept)) }
                                @if good.knows_cost {
                                    td.n data-label="Leaves" { (fig(&answer.profit)) }
                                    td.n data-label="Margin" { @if let Some(margin) = &answer.margin { (fig(margin)) } @else { "–" } }
                                } @else {
                                    td.n data-label="Leaves" { span.soft { "cost not known" } }
                                    td.n data-label="Margin" { span.soft { "–" } }
                                }
                            } @else {
                                td.n data-label="Kept" { span.soft { "–" } }
                                td.n data-label="Leaves" { span.soft { "–" } }
                                td.n data-label="Margin" { span.soft { "–" } }
                            }
                        }
                    }
                }
            }
            p.soft { "Kept is what is left after tax, fees and postage; leaves is that less the full cost of a unit. An empty box takes the usual price." }
            p.next { button type="submit" { "Keep these prices" } }
        }
    }
}

fn bundle_form(
    workshop: &Workshop,
    channel: &Channel,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let lines = typed
        .lines("bundles")
        .max(channel.bundles.len() + SPARE_BUNDLES);
    let is_wrong = problems.iter().any(|it| it.field.starts_with("bundles"));
    let goods: Vec<ProductId> = workshop.products().map(|product| product.id).collect();
    html! {
        details open[is_wrong || !channel.bundles.is_empty()] {
            summary { "Several together" }
            p.soft { "So many for a price together, in any mix of the goods ticked. A sale takes the cheapest way for the buyer. Empty the boxes of a line to drop it." }
            form.sheet method="post" action={ "/stall/channel/" (channel.id) "/bundles" } {
                @for i in 0..lines {
                    @let known = channel.bundles.get(i);
                    @let (count, price, of) = (format!("bundles[{i}].count"), format!("bundles[{i}].price"), format!("bundles[{i}].goods"));
                    @let shown = |field: &str, set: String| if typed.has(field) { typed.get(field).to_owned() } else { set };
                    fieldset.run id=(parts::id_of(&format!("bundles[{i}].products"))) {
                        legend { @if i < channel.bundles.len() { "Bundle " (i + 1) } @else { "Another bundle" } }
                        div.fields.tight {
                            (Field::text(&count, "How many", &shown(&count, known.map_or_else(String::new, |it| it.count.to_string()))).keys("numeric").hint("3").draw(problems))
                            (Field::text(&price, "For, together", &shown(&price, known.map_or_else(String::new, |it| as_typed(workshop, it.price)))).keys("decimal").hint("18").draw(problems))
                        }
                        @for product in &goods {
                            @let ticked = if typed.lines("bundles") > 0 { typed.pairs().iter().any(|(name, id)| *name == of && *id == product.to_string()) } else { known.is_some_and(|it| it.products.contains(product)) };
                            label.choice {
                                input type="checkbox" name=(of) value=(product) checked[ticked];
                                (name_of(workshop, *product))
                            }
                        }
                        @if let Some(problem) = problems.of(&format!("bundles[{i}].products")) { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) "." } }
                    }
                }
                p.next { button type="submit" { "Keep these bundles" } }
            }
        }
    }
}

async fn keeps(
    State(site): State<Site>,
    At((id, product)): At<(ChannelId, ProductId)>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| keeps_page(app, id, product, &Filled::new(pairs)))
        .await
}

fn keeps_page(
    app: &App,
    id: ChannelId,
    product: ProductId,
    filled: &Filled,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let channel = workshop.trade().channel(id).ok_or(Fault::Nothing("channel"))?;
        workshop.product(product).ok_or(Fault::Nothing("good"))?;
        let found = channel_price(workshop, id, product, filled);
        let name = name_of(workshop, product);
        let title = format!("What should I charge for {name}?");
        let knows = knows_cost(workshop, product);
        let none = Problems::default();
        let asked = ["price", "margin", "markup", "profit", "hour", "ending"]
            .iter()
            .any(|field| filled.some(field).is_some());
        let open = found.as_ref().err().filter(|_| asked).unwrap_or(&none);
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some((format!("/stall/channel/{id}"), channel.name.clone())),
            body: html! {
                (parts::question(&title))
                div data-part="answer" {
                    @if let Ok(answer) = &found { (answered(workshop, channel, product, answer, filled, knows)) }
                    @else if asked { (parts::still_open(open)) }
                    @else { p.empty { "It has no price here yet. Try one, or say what it should leave." } }
                }
                form.sheet method="get" action={ "/stall/channel/" (id) "/good/" (product) } {
                    div.fields.tight {
                        (Field::text("price", "A price to try", filled.get("price")).keys("decimal").hint(if sells_on(channel) { "on the shop's shelf" } else { "" }).draw(open))
                        (Field::text("margin", "Or a margin to reach", filled.get("margin")).keys("decimal").hint("60 % of net").draw(open))
                        (Field::text("markup", "Or a markup", filled.get("markup")).keys("decimal").hint("150 % of cost").draw(open))
                        (Field::text("profit", "Or so much a unit", filled.get("profit")).keys("decimal").draw(open))
                        (Field::text("hour", "Or so much an hour", filled.get("hour")).keys("decimal").hint("of making and selling").draw(open))
                        (Field::text("ending", "Ending in", filled.get("ending")).keys("decimal").hint("0.05, 0.99 or 1").draw(open))
                    }
                    p.next { button type="submit" { "Reckon it" } }
                }
                div data-part="picture" {
                    @if let Ok(answer) = &found {
                        (where_it_goes(answer, knows, name))
                        (parts::working("working", &answer.working))
                    }
                }
            },
        })
    })?
}

/// Whether those who buy through it sell on.
const fn sells_on(channel: &Channel) -> bool {
    matches!(
        channel.kind,
        ChannelKind::Wholesale | ChannelKind::SaleOrReturn
    )
}

/// The price the last buyer sees, and beneath it what the maker gets of it.
fn answered(
    workshop: &Workshop,
    channel: &Channel,
    product: ProductId,
    answer: &ChannelPriceOutput,
    filled: &Filled,
    knows_cost: bool,
) -> Markup {
    let is_asked = ["price", "margin", "markup", "profit", "hour"]
        .iter()
        .any(|field| filled.some(field).is_some());
    // What a channel asks of a shop that buys has the discount off already: on
    // its shelf stands the usual price.
    let usual = workshop.product(product).and_then(|good| good.prices);
    let usual = usual.filter(|_| channel.kind == ChannelKind::Wholesale && !is_asked);
    let seen = usual.map_or_else(|| answer.price.clone(), |prices| prices.typical.to_string());
    let (sold_at, kept) = (&answer.sold_at, &answer.kept);
    let gets = match channel.kind {
        ChannelKind::Stall | ChannelKind::Web => {
            format!("You keep {kept} of it after tax, fees and postage.")
        }
        ChannelKind::Wholesale => format!(
            "The shop pays you {sold_at}; you keep {kept} of that after tax, fees and postage."
        ),
        ChannelKind::SaleOrReturn => format!(
            "Of each it sells the shop pays you {sold_at}; you keep {kept} of that after tax, fees and postage."
        ),
    };
    let where_seen = if sells_on(channel) {
        "on the shop's shelf"
    } else {
        ""
    };
    html! {
        (parts::answer(&seen, where_seen, &gets))
        p { (answer.verdict) }
        @if !knows_cost { p.doubt { "What a unit costs is not known yet, so it is reckoned as nothing: no lot of it has a cost." } }
        @if !answer.notes.is_empty() { ul { @for note in &answer.notes { li.soft { (note) } } } }
    }
}

fn where_it_goes(answer: &ChannelPriceOutput, knows_cost: bool, name: &str) -> Markup {
    let currency = measure::Currency::from_code(&answer.currency);
    let write = parts::money_writer(currency.unwrap_or(measure::Currency::USD));
    let (pays, elsewhere) = stall::parts_of_price(answer);
    let parts_of: Vec<_> = elsewhere
        .into_iter()
        .map(|(name, amount)| press::CostPart { name, amount })
        .collect();
    let drawn = press::cost_parts(&press::CostParts {
        name,
        price: Some(pays),
        parts: &parts_of,
        left_word: if knows_cost {
            "left"
        } else {
            "cost and what is left"
        },
        write: &write,
    });
    html! {
        h2 { "Where the price goes" }
        @if let Some(drawn) = drawn { (parts::picture(&drawn)) }
        @else {
            table.stack { tbody { @for part in &answer.goes_to { tr { td { (part.name) } td.n { (fig(&part.amount)) } } } } }
        }
    }
}
