//! Buyers: who buys, what is agreed with them, and what stands at shops that
//! pay for what they sell.

use std::collections::BTreeMap;

use app::App;
use app::forms::{Filled, as_typed};
use app::orders;
use app::people::Everyone;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use maud::{Markup, html};
use measure::{Money, Problems, percent};
use workshop::facts::{BuyerId, ChannelKind, Fact, Place as Spot};
use workshop::trace::sells_on;
use workshop::{
    AtShop, Buyer, COUNTED_EVERY, Workshop, accounts, at_shop, buyers_to_invoice, days_from,
    if_all_sells, owed_by, owed_by_all,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, orders as order_pages};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// What the page of goods at shops asks.
const AT_SHOPS: &str = "What stands at shops?";

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall/buyers", get(list))
        .route("/stall/buyers/new", get(new).post(enter))
        .route("/stall/buyer/{id}", get(one).post(change))
        .route("/stall/buyer/{id}/forget", get(ask_forget).post(forget))
        .route("/stall/buyer/{id}/invoice", post(invoice))
        .route("/stall/shops", get(shops))
        .route("/stall/shop/{id}", get(shop).post(count))
}

/// The way back to a page of the Stall.
pub(crate) fn back(path: &str, words: &str) -> (String, String) {
    (path.to_owned(), words.to_owned())
}

/// A box to tick.
pub(crate) fn tick(name: &str, words: &str, is_ticked: bool) -> Markup {
    let id = parts::id_of(name);
    html! {
        div.field {
            label.choice for=(id) {
                input type="checkbox" id=(id) name=(name) value="yes" checked[is_ticked];
                (words)
            }
        }
    }
}

/// A buyer with a link to its page.
pub(crate) fn named(everyone: &Everyone, workshop: &Workshop, buyer: BuyerId) -> Markup {
    html! { a href={ "/stall/buyer/" (buyer) } { (everyone.name(workshop, buyer)) } }
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|app| {
        let everyone = app.everyone()?;
        Ok(app.look(|workshop| list_page(workshop, &everyone))?)
    })
    .await
}

fn list_page(workshop: &Workshop, everyone: &Everyone) -> Page {
    let trade = workshop.trade();
    let n_buyers = trade.buyers().count();
    let to_invoice = buyers_to_invoice(trade);
    let owed = owed_by_all(trade);
    let mut open: BTreeMap<BuyerId, usize> = BTreeMap::new();
    for order in trade.orders().filter(|order| order.is_open()) {
        *open.entry(order.buyer).or_default() += 1;
    }
    let mut buyers: Vec<&Buyer> = trade.buyers().collect();
    buyers.sort_by_key(|buyer| {
        let name = everyone.name(workshop, buyer.id).to_lowercase();
        (buyer.forgotten, name)
    });
    Page {
        title: "Who buys from me?".to_owned(),
        place: Place::Stall,
        back: Some(back("/stall", "Stall")),
        body: html! {
            (parts::question("Who buys from me?"))
            @if n_buyers == 0 {
                (parts::empty("Shops that buy, shops that pay for what they sell, and people who order stand here. Their names and addresses are kept apart, so that they can be forgotten.",
                    "/stall/buyers/new", "Enter a buyer"))
            } @else {
                p.next {
                    a.button.do href="/stall/buyers/new" { "Enter a buyer" }
                    a.button.quiet href="/stall/orders" { "Orders" }
                    a.button.quiet href="/stall/invoices" { "Invoices" }
                    a.button.quiet href="/stall/shops" { "Goods at shops" }
                }
                table.stack {
                    thead { tr { th { "Buyer" } th { "Buys through" } th.n { "Open orders" } th.n { "Not invoiced" } th.n { "Owes" } } }
                    tbody {
                        @for buyer in &buyers {
                            tr {
                                td { (named(everyone, workshop, buyer.id)) }
                                td data-label="Buys through" { (channel_name(workshop, buyer)) }
                                td.n data-label="Open orders" { (open.get(&buyer.id).copied().unwrap_or(0)) }
                                td.n data-label="Not invoiced" { (money_or_dash(to_invoice.get(&buyer.id).copied())) }
                                td.n data-label="Owes" { (money_or_dash(owed.get(&buyer.id).copied())) }
                            }
                        }
                    }
                }
            }
        },
    }
}

pub(crate) fn money_or_dash(money: Option<Money>) -> Markup {
    html! {
        @match money.filter(|money| money.minor() != 0) {
            Some(money) => (fig(money.to_string())),
            None => span.soft { "–" },
        }
    }
}

fn channel_name(workshop: &Workshop, buyer: &Buyer) -> String {
    let channel = workshop.trade().channel(buyer.terms.channel);
    channel.map_or_else(String::new, |channel| channel.name.clone())
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn enter(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| orders::settle_buyer(app, WHO, None, filled),
        |_, done| {
            let entered = done.facts.iter().find_map(|fact| match fact {
                Fact::BuyerSettled(fact) => Some(format!("/stall/buyer/{}", fact.buyer)),
                _ => None,
            });
            Ok(entered.unwrap_or_else(|| "/stall/buyers".to_owned()))
        },
        new_page,
    )
    .await
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| Page {
        title: "Who is it?".to_owned(),
        place: Place::Stall,
        back: Some(back("/stall/buyers", "Who buys from me?")),
        body: html! {
            (parts::question("Who is it, and what is agreed?"))
            @if workshop.trade().channels().next().is_none() {
                (parts::empty("A buyer buys through a channel, such as wholesale, and none is open yet.", "/stall/channel/new", "Open a channel"))
            } @else {
                p.doubt { "The name, the address and the contacts are kept beside the journal and not in it: they can be forgotten for good." }
                (parts::problems(problems))
                form.sheet method="post" action="/stall/buyers/new" {
                    (once::field())
                    (buyer_fields(workshop, filled, problems))
                    p.next { button.do type="submit" { "Enter the buyer" } }
                }
            }
        },
    })?)
}

fn buyer_fields(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let channels: Vec<(String, String)> = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed || channel.id.to_string() == filled.get("channel"))
        .map(|channel| {
            let words = format!("{} ({})", channel.name, channel.kind.word());
            (channel.id.to_string(), words)
        })
        .collect();
    html! {
        div.fields {
            (Field::text("name", "Name of the shop or the person", filled.get("name")).draw(problems))
            (parts::select("channel", "Buys through", filled.get("channel"), &channels, "", problems))
            (Field::text("contact", "Whom to ask for", filled.get("contact")).draw(problems))
            (Field::text("email", "Mail", filled.get("email")).draw(problems))
            (Field::text("phone", "Telephone", filled.get("phone")).draw(problems))
            (Field::text("country", "Country", filled.get("country")).hint("two letters: US, GB, DE").draw(problems))
        }
        (parts::text_area("address", "Address", filled.get("address"), "line by line, as on the parcel", problems))
        div.fields {
            (Field::text("discount", "Its own discount", filled.get("discount")).keys("decimal").hint("50 %; empty takes the channel's").draw(problems))
            (Field::text("days_to_pay", "Its own days to pay", filled.get("days_to_pay")).keys("numeric").hint("empty takes the channel's").draw(problems))
            (Field::text("tax_number", "Its tax number", filled.get("tax_number")).draw(problems))
            (Field::text("about", "Anything else", filled.get("about")).draw(problems))
        }
        (tick("resells", "It sells on what it buys; a shop always does", filled.some("resells").is_some()))
        (tick("untaxed", "No sales tax is taken from it", filled.some("untaxed").is_some()))
    }
}

async fn one(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| one_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn change(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::settle_buyer(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/buyer/{id}")),
        move |app, filled, problems| one_page(app, id, filled, problems),
    )
    .await
}

fn one_page(app: &App, id: BuyerId, typed: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    let day = app.today();
    app.look(|workshop| {
        let buyer = workshop.trade().buyer(id).ok_or(Fault::Nothing("buyer"))?;
        let name = everyone.name(workshop, id);
        Ok(Page {
            title: name.clone(),
            place: Place::Stall,
            back: Some(back("/stall/buyers", "Who buys from me?")),
            body: html! {
                (parts::question(&name))
                (standing(workshop, buyer))
                (parts::problems(problems))
                (buyers_orders(workshop, buyer, day))
                (buyers_invoices(workshop, buyer, day))
                @if buyer.forgotten {
                    p.soft { "Who this is was forgotten for good; what it bought stays written down under its number." }
                } @else {
                    (agreed_form(workshop, &everyone, buyer, typed, problems))
                    p { a href={ "/stall/buyer/" (id) "/forget" } { "Forget who this is" } }
                }
            },
        })
    })?
}

/// What the buyer owes, and the one next thing to do about it.
fn standing(workshop: &Workshop, buyer: &Buyer) -> Markup {
    let trade = workshop.trade();
    let id = buyer.id;
    let owed = owed_by(trade, id).filter(|owed| owed.minor() > 0);
    let open = buyers_to_invoice(trade).get(&id).copied();
    let there: u32 = at_shop(workshop, id).iter().map(|good| good.count).sum();
    let open = open.filter(|open| open.minor() > 0);
    let mut doubt = match (owed, open, there) {
        (Some(_), Some(open), _) => format!("And {open} is sold and not invoiced yet."),
        (None, Some(_), _) => "No invoice waits to be paid.".to_owned(),
        (_, None, 0) => "Everything sold is invoiced.".to_owned(),
        (_, None, _) => String::new(),
    };
    if there > 0 {
        let gap = if doubt.is_empty() { "" } else { " " };
        doubt = format!("{doubt}{gap}{there} units stand there and are still yours.");
    }
    html! {
        @match (owed, open) {
            (Some(owed), _) => (parts::answer(&owed.to_string(), "owed", &doubt)),
            (None, Some(open)) => (parts::answer(&open.to_string(), "sold and not invoiced yet", &doubt)),
            (None, None) => (parts::answer_words("Owes nothing.", &doubt)),
        }
        @if !buyer.forgotten {
            div.next {
                @if open.is_some() {
                    form method="post" action={ "/stall/buyer/" (id) "/invoice" } {
                        (once::field())
                        button.do type="submit" { "Write the invoice" }
                    }
                }
                @if there > 0 { a.button.quiet href={ "/stall/shop/" (id) } { "Count the shop" } }
                a.button.quiet href={ "/stall/orders/new?buyer=" (id) } { "Take an order" }
            }
        }
    }
}

fn buyers_orders(workshop: &Workshop, buyer: &Buyer, day: Date) -> Markup {
    let orders: Vec<_> = workshop
        .trade()
        .orders()
        .rev()
        .filter(|order| order.buyer == buyer.id)
        .collect();
    html! {
        @if !orders.is_empty() {
            h2 { "Orders" }
            ul.rows { @for order in orders { (order_pages::row(workshop, None, order, day)) } }
        }
    }
}

fn buyers_invoices(workshop: &Workshop, buyer: &Buyer, day: Date) -> Markup {
    let trade = workshop.trade();
    let accounts = accounts(trade);
    let invoices: Vec<_> = trade
        .invoices()
        .iter()
        .rev()
        .filter(|invoice| invoice.buyer == buyer.id)
        .collect();
    html! {
        @if !invoices.is_empty() {
            h2 { "Invoices" }
            ul.rows { @for invoice in invoices { (order_pages::invoice_row(None, workshop, invoice, &accounts, day)) } }
        }
    }
}

fn agreed_form(
    workshop: &Workshop,
    everyone: &Everyone,
    buyer: &Buyer,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let terms = &buyer.terms;
    let mut filled = typed.clone();
    if !typed.has("channel") {
        filled = everyone
            .get(buyer.id)
            .cloned()
            .unwrap_or_default()
            .fill(filled)
            .or("channel", terms.channel.to_string())
            .or("country", terms.country.as_str())
            .or(
                "discount",
                terms
                    .discount
                    .map_or_else(String::new, |part| as_typed(workshop, percent(part, 2))),
            )
            .or(
                "days_to_pay",
                terms
                    .days_to_pay
                    .map_or_else(String::new, |days| days.to_string()),
            );
        for (name, is_set) in [("resells", terms.resells), ("untaxed", terms.untaxed)] {
            if is_set {
                filled = filled.or(name, "yes");
            }
        }
    }
    let person = everyone.get(buyer.id);
    html! {
        h2 { "Who it is and what is agreed" }
        dl.facts {
            @if let Some(person) = person {
                dt { "Address" } dd { @for (i, line) in person.address.iter().enumerate() { @if i > 0 { br; } (line) } @if person.address.is_empty() { span.soft { "not known" } } }
                @for (word, text) in [("Ask for", &person.contact), ("Mail", &person.email), ("Telephone", &person.phone), ("Tax number", &person.tax_number), ("Note", &person.note)] {
                    @if !text.is_empty() { dt { (word) } dd { (text) } }
                }
            } @else { dt { "Address" } dd { span.soft { "not known" } } }
            dt { "Buys through" } dd { (channel_name(workshop, buyer)) }
            dt { "Sells on" } dd { @if sells_on(workshop, buyer.id) { "yes" } @else { "no" } }
            @if terms.untaxed { dt { "Sales tax" } dd { "none is taken" } }
            dt { "Since" } dd { (parts::day(buyer.since)) }
        }
        details open[!problems.is_empty()] {
            summary { "Change it" }
            form.sheet method="post" action={ "/stall/buyer/" (buyer.id) } {
                (buyer_fields(workshop, &filled, problems))
                p.next { button.do type="submit" { "Keep it" } }
            }
        }
    }
}

async fn ask_forget(State(site): State<Site>, At(id): At<BuyerId>) -> Response {
    site.run(move |app| forget_page(app, id, &Problems::default()))
        .await
}

async fn forget(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, _| orders::forget_buyer(app, WHO, id),
        move |_, _| Ok(format!("/stall/buyer/{id}")),
        move |app, _, problems| forget_page(app, id, problems),
    )
    .await
}

fn forget_page(app: &App, id: BuyerId, problems: &Problems) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    app.look(|workshop| {
        let buyer = workshop.trade().buyer(id).ok_or(Fault::Nothing("buyer"))?;
        let name = everyone.name(workshop, id);
        let question = format!("Forget who {name} is?");
        let stands_in_the_way = match workshop::decide::forget_buyer(workshop, id) {
            Err(workshop::Refusal::Input(open)) if problems.is_empty() => open,
            _ => problems.clone(),
        };
        Ok(Page {
            title: question.clone(),
            place: Place::Stall,
            back: Some((format!("/stall/buyer/{id}"), name.clone())),
            body: html! {
                (parts::question(&question))
                @if buyer.forgotten {
                    p { "That is done." }
                } @else if !stands_in_the_way.is_empty() {
                    (parts::answer_words("Not yet.", "The name and address are still needed."))
                    (parts::problem_list(&stands_in_the_way))
                } @else {
                    p { "Its name, address and contacts are erased for good, here and in every copy made from now on. What it bought, its orders and its invoices stay written down as those of buyer " (id) "." }
                    p { "Copies made before keep it. Print the invoices you have to keep first: " a href="/stall/invoices" { "invoices" } "." }
                    form method="post" action={ "/stall/buyer/" (id) "/forget" } {
                        p.next { button.do type="submit" { "Forget it for good" } a.button.quiet href={ "/stall/buyer/" (id) } { "Keep it" } }
                    }
                }
            },
        })
    })?
}

async fn invoice(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::write_invoice(app, WHO, id, filled),
        |_, done| {
            let written = done.facts.iter().find_map(|fact| match fact {
                Fact::Invoiced(fact) => Some(format!("/stall/invoice/{}", fact.invoice)),
                _ => None,
            });
            Ok(written.unwrap_or_else(|| "/stall/invoices".to_owned()))
        },
        move |app, filled, problems| one_page(app, id, filled, problems),
    )
    .await
}

/// The last day goods left a shop, or came there: when it was looked at last.
fn last_seen(workshop: &Workshop, buyer: BuyerId, there: &[AtShop]) -> Option<Date> {
    let at = workshop::Spot::At(Spot::Shop(buyer));
    let left = workshop
        .goods()
        .movements()
        .iter()
        .rev()
        .find(|movement| movement.from == at)
        .map(|movement| movement.day);
    let came = there.iter().filter_map(|good| good.since).max();
    left.max(came)
}

async fn shops(State(site): State<Site>) -> Response {
    site.run(|app| {
        let everyone = app.everyone()?;
        let day = app.today();
        Ok(app.look(|workshop| shops_page(workshop, &everyone, day))?)
    })
    .await
}

fn shops_page(workshop: &Workshop, everyone: &Everyone, day: Date) -> Page {
    let mut shops: Vec<(BuyerId, Vec<AtShop>, Option<Date>)> = workshop
        .trade()
        .buyers()
        .map(|buyer| (buyer.id, at_shop(workshop, buyer.id)))
        .filter(|(_, there)| !there.is_empty())
        .map(|(id, there)| {
            let seen = last_seen(workshop, id, &there);
            (id, there, seen)
        })
        .collect();
    shops.sort_by_key(|(_, _, seen)| *seen);
    let units: u32 = shops
        .iter()
        .flat_map(|(_, there, _)| there)
        .map(|good| good.count)
        .sum();
    Page {
        title: AT_SHOPS.to_owned(),
        place: Place::Stall,
        back: Some(back("/stall", "Stall")),
        body: html! {
            (parts::question(AT_SHOPS))
            @if shops.is_empty() {
                p.answer.words { "Nothing." }
                p.doubt { "Goods sent on return stand here until the shop has sold them or gives them back." }
                p.next { a.button.do href="/stall/orders/new" { "Take an order" } }
            } @else {
                (parts::answer(&units.to_string(), "units, still yours", &format!("At {}. A month without a count is long: common practice, no source.", shops_word(shops.len()))))
                table.stack {
                    thead { tr { th { "Shop" } th.n { "Units" } th.n { "If all sell" } th { "Looked at last" } th { "Count by" } th { "" } } }
                    tbody {
                        @for (id, there, seen) in &shops {
                            @let by = seen.map(|seen| workshop::day_after(seen, COUNTED_EVERY));
                            tr {
                                td { (named(everyone, workshop, *id)) }
                                td.n data-label="Units" { (there.iter().map(|good| good.count).sum::<u32>()) }
                                td.n data-label="If all sell" { (money_or_dash(if_all_sells(there))) }
                                td data-label="Looked at last" { @match seen { Some(seen) => (parts::day(*seen)), None => "–" } }
                                td data-label="Count by" {
                                    @match by {
                                        Some(by) if days_from(by, day) > 0 => span { (parts::verdict("no", "overdue")) " " (parts::day(by)) },
                                        Some(by) => (parts::day(by)),
                                        None => "–",
                                    }
                                }
                                td { a href={ "/stall/shop/" (id) } { "Count it" } }
                            }
                        }
                    }
                }
            }
        },
    }
}

fn shops_word(n: usize) -> String {
    parts::counted(u32::try_from(n).unwrap_or(u32::MAX), "shop")
}

async fn shop(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| shop_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn count(
    State(site): State<Site>,
    At(id): At<BuyerId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::count_shop(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/buyer/{id}")),
        move |app, filled, problems| shop_page(app, id, filled, problems),
    )
    .await
}

fn shop_page(app: &App, id: BuyerId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    let day = app.today();
    app.look(|workshop| {
        workshop.trade().buyer(id).ok_or(Fault::Nothing("buyer"))?;
        let name = everyone.name(workshop, id);
        let there = at_shop(workshop, id);
        let question = format!("What has {name} sold?");
        Ok(Page {
            title: question.clone(),
            place: Place::Stall,
            back: Some((format!("/stall/buyer/{id}"), name)),
            body: html! {
                (parts::question(&question))
                @if there.is_empty() {
                    (parts::empty("Nothing of yours stands there.", &format!("/stall/orders/new?buyer={id}"), "Take an order"))
                } @else {
                    p.doubt { "Write what is still there and what comes back; the rest was sold, at the price that was agreed. A good of which you write nothing is left as it is." }
                    (parts::problems(problems))
                    form.sheet method="post" action={ "/stall/shop/" (id) } {
                        (once::field())
                        @for good in &there { (shop_good(workshop, good, filled, problems)) }
                        div.fields { (parts::past_day("on", "Counted on", filled.get("on"), day, problems)) }
                        p.next { button.do type="submit" { "Write down the count" } }
                    }
                }
            },
        })
    })?
}

fn shop_good(workshop: &Workshop, good: &AtShop, filled: &Filled, problems: &Problems) -> Markup {
    let name = workshop
        .product(good.product)
        .map_or_else(String::new, |product| product.name.clone());
    let each = good.each.map_or_else(
        || "no price is agreed yet".to_owned(),
        |each| format!("{} each", as_typed(workshop, each)),
    );
    let field = |part: &str| format!("{part}-{}", good.product);
    html! {
        fieldset {
            legend { (name) " " span.soft { (fig(good.count.to_string())) " stood there · " (each) } }
            div.fields.three {
                @for (part, label) in [("there", "Still there"), ("back", "Given back, fit for sale"), ("spoilt", "Damaged"), ("missing", "Neither there nor sold"), ("sold", "Or: sold, as the shop says")] {
                    @let name = field(part);
                    (Field::text(&name, label, filled.get(&name)).keys("numeric").draw(problems))
                }
                @if good.each.is_none() {
                    @let name = field("each");
                    (Field::text(&name, "What it pays for each", filled.get(&name)).keys("decimal").draw(problems))
                }
            }
        }
    }
}

/// Whether a buyer's channel leaves goods at shops.
pub(crate) fn is_on_return(workshop: &Workshop, buyer: BuyerId) -> bool {
    let trade = workshop.trade();
    let channel = trade
        .buyer(buyer)
        .and_then(|buyer| trade.channel(buyer.terms.channel));
    channel.is_some_and(|channel| channel.kind == ChannelKind::SaleOrReturn)
}
