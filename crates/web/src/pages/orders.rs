//! Orders from the wish to the parcel, and what is invoiced and paid for them.

use std::collections::BTreeMap;

use app::App;
use app::forms::{Filled, as_typed};
use app::orders::{self, PAYMENTS, RETURNS, back_field};
use app::people::Everyone;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use maud::{Markup, html};
use measure::{Money, Problems};
use workshop::facts::{
    BuyerId, ChannelKind, Fact, InvoiceId, OrderId, Payment, ProductId, ReturnTo, Units,
};
use workshop::{
    Account, Invoice, Order, OrderStage, Sale, StockState, Workshop, accounts, buyers_to_invoice,
    came_back_with, charged_for, for_sale, is_overdue, owed_in_all, pick_for, price_for, sale_of,
    stock_states, tax_for, to_invoice_in_all, total_working, with_tax,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::buyers::{back, is_on_return, money_or_dash, named, tick};
use crate::pages::{Pairs, print};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Orders and invoices that are over and still listed.
const LISTED: usize = 40;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall/orders", get(list))
        .route("/stall/orders/new", get(new).post(take))
        .route("/stall/order/{id}", get(one))
        .route("/stall/order/{id}/change", get(ask_change).post(change))
        .route("/stall/order/{id}/confirm", post(confirm))
        .route("/stall/order/{id}/pick", post(pick))
        .route("/stall/order/{id}/anew", post(anew))
        .route("/stall/order/{id}/pack", post(pack))
        .route("/stall/order/{id}/send", post(send))
        .route("/stall/order/{id}/cancel", post(cancel))
        .route("/stall/invoices", get(invoices))
        .route("/stall/invoice/{id}", get(invoice))
        .route("/stall/invoice/{id}/pay", post(pay))
        .route("/stall/invoice/{id}/credit", post(credit))
}

/// The one next thing to do with an order.
fn next_thing(order: &Order) -> &'static str {
    match order.stage {
        OrderStage::Taken => "Confirm it",
        OrderStage::Confirmed => "Pick it",
        OrderStage::Picked if order.still_wanted().is_empty() => "Pack it",
        OrderStage::Picked => "Pick the rest, or pack it",
        OrderStage::Packed => "Send it",
        OrderStage::Sent if order.on_return => "Count the shop",
        OrderStage::Sent | OrderStage::Cancelled => "",
    }
}

/// An order as a line of a list; with whose it is, where that is asked.
pub(crate) fn row(
    workshop: &Workshop,
    everyone: Option<&Everyone>,
    order: &Order,
    day: Date,
) -> Markup {
    let units: u32 = order.lines.iter().map(|line| line.count).sum();
    let late = order.due.filter(|due| *due < day && order.is_open());
    html! {
        li {
            span {
                a href={ "/stall/order/" (order.id) } { "Order " (order.id) }
                @if let Some(everyone) = everyone { " · " (named(everyone, workshop, order.buyer)) }
                br;
                span.soft.small {
                    (parts::counted(units, "unit"))
                    @if order.on_return { " on return" }
                    @if let Some(due) = order.due { ", wanted by " (parts::day(due)) }
                    @if late.is_some() { " " (parts::verdict("no", "late")) }
                }
            }
            span.soft { (order.stage.word()) @if order.is_open() { " · " (next_thing(order)) } }
        }
    }
}

/// The ways into orders, with what waits there, for the front page of the Stall.
pub(crate) fn at_a_glance(workshop: &Workshop) -> Markup {
    let trade = workshop.trade();
    let open = trade.orders().filter(|order| order.is_open()).count();
    let owed = owed_in_all(accounts(trade).values()).filter(|owed| owed.minor() > 0);
    let to_invoice = to_invoice_in_all(&buyers_to_invoice(trade));
    html! {
        h2 { "Orders and shops" }
        ul.rows {
            li { span { a href="/stall/orders" { "What is ordered?" } } span.soft { @match open { 0 => "nothing is open", 1 => "one order is open", n => { (n) " orders are open" } } } }
            li {
                span { a href="/stall/invoices" { "Who owes me what?" } }
                span.soft {
                    @match (owed, to_invoice) {
                        (Some(owed), None) => { (fig(owed.to_string())) " on invoices" }
                        (Some(owed), Some(open)) => { (fig(owed.to_string())) " on invoices, " (fig(open.to_string())) " not invoiced yet" }
                        (None, Some(open)) => { (fig(open.to_string())) " sold and not invoiced yet" }
                        (None, None) => "nobody owes anything",
                    }
                }
            }
            li { span { a href="/stall/shops" { "What stands at shops?" } } }
            li { span { a href="/stall/buyers" { "Who buys from me?" } } }
        }
    }
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|app| {
        let everyone = app.everyone()?;
        let day = app.today();
        Ok(app.look(|workshop| list_page(workshop, &everyone, day))?)
    })
    .await
}

fn list_page(workshop: &Workshop, everyone: &Everyone, day: Date) -> Page {
    const QUESTION: &str = "What is ordered?";
    let trade = workshop.trade();
    let mut open: Vec<&Order> = trade.orders().filter(|order| order.is_open()).collect();
    open.sort_by_key(|order| (order.due.is_none(), order.due, order.id));
    let over: Vec<&Order> = trade
        .orders()
        .rev()
        .filter(|order| !order.is_open())
        .take(LISTED)
        .collect();
    let short: Vec<StockState> = stock_states(workshop, day)
        .into_iter()
        .filter(|state| state.free < 0 && state.promised > 0)
        .collect();
    Page {
        title: QUESTION.to_owned(),
        place: Place::Stall,
        back: Some(back("/stall", "Stall")),
        body: html! {
            (parts::question(QUESTION))
            @if trade.orders().next().is_none() {
                (parts::empty("Orders of shops and people stand here, from the wish to the parcel.", "/stall/orders/new", "Take an order"))
            } @else {
                (parts::answer(&open.len().to_string(), "open", &short_words(workshop, &short)))
                p.next {
                    a.button.do href="/stall/orders/new" { "Take an order" }
                    a.button.quiet href="/stall/buyers" { "Buyers" }
                    a.button.quiet href="/stall/invoices" { "Invoices" }
                    a.button.quiet href="/stall/shops" { "Goods at shops" }
                }
                @if !open.is_empty() {
                    ul.rows { @for order in open { (row(workshop, Some(everyone), order, day)) } }
                }
            }
            (stock_table(workshop, day))
            @if !over.is_empty() {
                h2 { "Sent and called off" }
                ul.rows { @for order in over { (row(workshop, Some(everyone), order, day)) } }
            }
        },
    }
}

/// What the tax on sales is called in this workshop.
fn tax_word(workshop: &Workshop) -> &str {
    let books = workshop.trade().books();
    let tax = books.and_then(|books| books.tax.as_ref());
    tax.map_or("tax", |tax| tax.name.as_str())
}

/// Whether the tax is in what a buyer is charged; nothing where the workshop
/// takes none.
fn tax_hint(workshop: &Workshop, buyer: BuyerId) -> String {
    let trade = workshop.trade();
    let Some(own) = trade.books().and_then(|books| books.tax.as_ref()) else {
        return String::new();
    };
    let taxed = trade.buyer(buyer).and_then(|buyer| tax_for(trade, buyer));
    match taxed {
        None => format!("no {} is taken from this buyer", own.name),
        Some(tax) if tax.inside => format!("{} in it", tax.name),
        Some(tax) => format!("before {}, which comes on top", tax.name),
    }
}

fn good_name(workshop: &Workshop, product: ProductId) -> String {
    let good = workshop.product(product);
    good.map_or_else(|| format!("good {product}"), |good| good.name.clone())
}

fn short_words(workshop: &Workshop, short: &[StockState]) -> String {
    if short.is_empty() {
        return "Everything promised is ready.".to_owned();
    }
    let named: Vec<String> = short
        .iter()
        .map(|state| {
            let name = good_name(workshop, state.product);
            format!("{name} short by {}", -state.free)
        })
        .collect();
    format!("{}.", parts::capital(&named.join(", ")))
}

/// Have, ready, promised and free of every good there is any of.
fn stock_table(workshop: &Workshop, day: Date) -> Markup {
    let states: Vec<StockState> = stock_states(workshop, day)
        .into_iter()
        .filter(|state| {
            [state.have, state.promised, state.at_stalls, state.at_shops] != [0, 0, 0, 0]
        })
        .collect();
    html! {
        @if !states.is_empty() {
            h2 { "How many are free?" }
            table.stack {
                thead { tr { th { "Good" } th.n { "Have" } th.n { "Ready" } th.n { "Promised" } th.n { "Free" } th.n { "At shops" } th.n { "At stalls" } } }
                tbody {
                    @for state in &states {
                        tr {
                            td { a href={ "/stall/good/" (state.product) } { (good_name(workshop, state.product)) } }
                            td.n data-label="Have" { (state.have) }
                            td.n data-label="Ready" { (state.ready) }
                            td.n data-label="Promised" { (state.promised) }
                            td.n data-label="Free" { @if state.free < 0 { (parts::verdict("no", &format!("short by {}", -state.free))) } @else { (state.free) } }
                            td.n data-label="At shops" { (state.at_shops) }
                            td.n data-label="At stalls" { (state.at_stalls) }
                        }
                    }
                }
            }
        }
    }
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| form_page(app, None, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn take(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| orders::take_order(app, WHO, None, filled),
        |_, done| {
            let taken = done.facts.iter().find_map(|fact| match fact {
                Fact::OrderTaken(fact) => Some(format!("/stall/order/{}", fact.order)),
                _ => None,
            });
            Ok(taken.unwrap_or_else(|| "/stall/orders".to_owned()))
        },
        |app, filled, problems| form_page(app, None, filled, problems),
    )
    .await
}

async fn ask_change(State(site): State<Site>, At(id): At<OrderId>) -> Response {
    site.run(move |app| form_page(app, Some(id), &Filled::default(), &Problems::default()))
        .await
}

async fn change(
    State(site): State<Site>,
    At(id): At<OrderId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::take_order(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/order/{id}")),
        move |app, filled, problems| form_page(app, Some(id), filled, problems),
    )
    .await
}

fn form_page(
    app: &App,
    order: Option<OrderId>,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    let day = app.today();
    app.look(|workshop| {
        let trade = workshop.trade();
        if let Some(order) = order {
            trade.order(order).ok_or(Fault::Nothing("order"))?;
        }
        let filled = if typed.has("buyer") && typed.pairs().len() > 1 { typed.clone() } else { orders::first_order(workshop, order, typed.clone()) };
        let buyer: Option<BuyerId> = filled.get("buyer").parse().ok();
        let buyer = buyer.filter(|id| trade.buyer(*id).is_some_and(|buyer| !buyer.forgotten));
        let buyers = trade.buyers().filter(|buyer| !buyer.forgotten).count();
        let (action, way_back) = match order {
            Some(id) => {
                let here = format!("/stall/order/{id}");
                (format!("{here}/change"), Some((here, format!("Order {id}"))))
            }
            None => ("/stall/orders/new".to_owned(), Some(back("/stall/orders", "What is ordered?"))),
        };
        Ok(Page {
            title: "What does the buyer want?".to_owned(),
            place: Place::Stall,
            back: way_back,
            body: html! {
                (parts::question("What does the buyer want?"))
                @if buyers == 0 {
                    (parts::empty("An order belongs to a buyer, and none is entered yet.", "/stall/buyers/new", "Enter a buyer"))
                } @else if workshop.products().next().is_none() {
                    (parts::empty("Nothing you sell is written down yet.", "/stall/new", "Add something you sell"))
                } @else if buyer.is_none() {
                    (whose(workshop, &everyone))
                } @else if let Some(buyer) = buyer {
                    p.doubt { "For " (named(&everyone, workshop, buyer)) ". Prices stand as agreed with its channel; write another where this order has its own." }
                    (parts::problems(problems))
                    form.sheet method="post" action=(action) {
                        (once::field())
                        input type="hidden" name="buyer" value=(buyer);
                        (order_fields(workshop, buyer, order, &filled, day, problems))
                        p.next { button.do type="submit" { @if order.is_some() { "Keep the change" } @else { "Take the order" } } }
                    }
                }
            },
        })
    })?
}

/// Whose order it is, before anything else is asked.
fn whose(workshop: &Workshop, everyone: &Everyone) -> Markup {
    let mut buyers: Vec<(BuyerId, String)> = workshop
        .trade()
        .buyers()
        .filter(|buyer| !buyer.forgotten)
        .map(|buyer| (buyer.id, everyone.name(workshop, buyer.id)))
        .collect();
    buyers.sort_by_key(|(_, name)| name.to_lowercase());
    html! {
        p.doubt { "Whose order is it?" }
        ul.rows {
            @for (id, name) in buyers { li { a href={ "/stall/orders/new?buyer=" (id) } { (name) } } }
        }
        p.next { a.button.quiet href="/stall/buyers/new" { "Enter a buyer" } }
    }
}

fn order_fields(
    workshop: &Workshop,
    buyer: BuyerId,
    order: Option<OrderId>,
    filled: &Filled,
    day: Date,
    problems: &Problems,
) -> Markup {
    let states: BTreeMap<ProductId, StockState> = stock_states(workshop, day)
        .into_iter()
        .map(|state| (state.product, state))
        .collect();
    let known = workshop.trade().buyer(buyer);
    let on_return = if filled.pairs().len() > 1 || order.is_some() {
        filled.some("on_return").is_some()
    } else {
        is_on_return(workshop, buyer)
    };
    html! {
        table.stack {
            thead { tr { th { "Good" } th.n { "Free" } th { "How many" } th { "Each" } } }
            tbody {
                @for product in workshop.products() {
                    @let (count, each) = (format!("count-{}", product.id), format!("each-{}", product.id));
                    @let usual = known.and_then(|buyer| price_for(workshop, buyer, product.id));
                    @let usual = usual.map_or_else(|| "no price yet".to_owned(), |money| as_typed(workshop, money));
                    tr {
                        td { (product.name) }
                        td.n data-label="Free" { (states.get(&product.id).map_or(0, |state| state.free)) }
                        td { (Field::text(&count, &format!("{}: how many", product.name), filled.get(&count)).keys("numeric").draw(problems)) }
                        td { (Field::text(&each, "Each", filled.get(&each)).keys("decimal").hint(&format!("empty: {usual}")).draw(problems)) }
                    }
                }
            }
        }
        @if let Some(problem) = problems.of("lines") { p.problem { (problem.wrong) "; " (problem.accepted) } }
        div.fields {
            div.field.wrong[problems.of("due").is_some()] {
                label for=(parts::id_of("due")) { "Wanted by" }
                input type="date" id=(parts::id_of("due")) name="due" value=(filled.get("due"));
                @if let Some(problem) = problems.of("due") { p.problem { (problem.wrong) "; " (problem.accepted) } }
            }
            (Field::text("note", "Anything else", filled.get("note")).draw(problems))
        }
        (tick("on_return", "On return: the shop pays only for what it sells", on_return))
    }
}

async fn one(
    State(site): State<Site>,
    At(id): At<OrderId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| one_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

macro_rules! steps {
    ($($name:ident => $act:path;)+) => {
        $(async fn $name(
            State(site): State<Site>,
            At(id): At<OrderId>,
            Form(pairs): Form<Pairs>,
        ) -> Response {
            site.post(
                pairs,
                move |app, filled| $act(app, WHO, id, filled),
                move |_, _| Ok(format!("/stall/order/{id}")),
                move |app, filled, problems| one_page(app, id, filled, problems),
            )
            .await
        })+
    };
}

steps! {
    confirm => confirm_it;
    pick => orders::pick_order;
    pack => orders::pack_order;
    send => orders::send_order;
    cancel => orders::cancel_order;
}

async fn anew(State(site): State<Site>, At(id): At<OrderId>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, _| orders::pick_anew(app, WHO, id),
        move |_, done| {
            let taken = done.facts.iter().find_map(|fact| match fact {
                Fact::OrderTaken(fact) => Some(fact.order),
                _ => None,
            });
            Ok(format!("/stall/order/{}", taken.unwrap_or(id)))
        },
        move |app, filled, problems| one_page(app, id, filled, problems),
    )
    .await
}

fn confirm_it(app: &App, who: &str, id: OrderId, _: &Filled) -> Result<app::Done, app::ActError> {
    orders::confirm_order(app, who, id)
}

fn one_page(app: &App, id: OrderId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    let day = app.today();
    app.look(|workshop| {
        let order = workshop.trade().order(id).ok_or(Fault::Nothing("order"))?;
        let question = format!("Order {id}: {}", what_next(order));
        Ok(Page {
            title: question.clone(),
            place: Place::Stall,
            back: Some(back("/stall/orders", "What is ordered?")),
            body: html! {
                (parts::question(&question))
                (order_answer(workshop, &everyone, order, day))
                (parts::problems(problems))
                (next_step(workshop, order, filled, problems, day))
                (lines_table(workshop, order))
                (papers(workshop, order))
                (order_worked(workshop, order))
                @if order.is_open() {
                    p {
                        a href={ "/stall/order/" (id) "/offer" } { "Firm, or on return?" } " · "
                        a href={ "/stall/order/" (id) "/parcel" } { "What do I pack it in?" }
                        @if order.stage < OrderStage::Picked { " · " a href={ "/stall/order/" (id) "/change" } { "Change the order" } }
                    }
                }
                @if matches!(order.stage, OrderStage::Picked | OrderStage::Packed) { (anew_form(order)) }
                @if order.is_open() { (cancel_form(order, filled, problems)) }
            },
        })
    })?
}

fn what_next(order: &Order) -> &'static str {
    match order.stage {
        OrderStage::Taken => "is it agreed?",
        OrderStage::Confirmed => "what goes in?",
        OrderStage::Picked => "is everything in?",
        OrderStage::Packed => "is it on its way?",
        OrderStage::Sent => "sent",
        OrderStage::Cancelled => "called off",
    }
}

fn order_answer(workshop: &Workshop, everyone: &Everyone, order: &Order, day: Date) -> Markup {
    let trade = workshop.trade();
    let buyer = trade.buyer(order.buyer);
    let total = order.total();
    let tax = buyer.and_then(|buyer| tax_for(trade, buyer));
    let paid = total.map(|total| with_tax(total, tax).0);
    let units: u32 = order.lines.iter().map(|line| line.count).sum();
    let channel = trade.channel(order.channel);
    let least = channel.and_then(|channel| channel.terms.minimum);
    let sold = sale_of(trade, order.id)
        .and_then(|id| trade.sale(id))
        .filter(|_| order.stage == OrderStage::Sent);
    let below = least.zip(total).filter(|(least, total)| {
        least.currency() == total.currency() && total.minor() < least.minor()
    });
    html! {
        @if let Some(sale) = sold { (sold_answer(sale)) }
        @else {
            (parts::answer(
                &paid.map_or_else(|| "nothing".to_owned(), |paid| paid.to_string()),
                &format!("for {}{}", parts::counted(units, "unit"), if order.on_return { ", if all of them sell" } else { "" }),
                &match (order.due, order.stage) {
                    (Some(due), stage) if stage < OrderStage::Sent && due < day => format!("Was wanted by {}: late.", parts::day(due)),
                    (Some(due), stage) if stage < OrderStage::Sent => format!("Wanted by {}.", parts::day(due)),
                    _ => String::new(),
                },
            ))
        }
        p {
            "For " (named(everyone, workshop, order.buyer))
            @if let Some(channel) = channel { ", " (channel.name) }
            ". Taken on " (parts::day(order.day)) "."
            @if let Some(sent) = order.sent { " Sent on " (parts::day(sent)) "." }
            @if let Some(reason) = &order.cancelled { " Called off: " (reason) "." }
            @if !order.note.is_empty() { " " (order.note) }
        }
        @if let Some((least, _)) = below { p.note { "Below the least order of " (fig(least.to_string())) " agreed with this channel." } }
    }
}

/// What a sent order comes to, the postage the buyer pays with it, and how it
/// is paid.
fn sold_answer(sale: &Sale) -> Markup {
    let units = u32::try_from(sale.n_units()).unwrap_or(u32::MAX);
    let mut parts_of = String::new();
    if let Some(postage) = sale.postage.filter(|postage| postage.minor() != 0) {
        let goods = sale.paid().minor().saturating_sub(postage.minor());
        let goods = Money::from_minor(goods, postage.currency());
        parts_of = format!("{goods} for the goods and {postage} for postage. ");
    }
    let standing = match (sale.invoice, sale.payment) {
        (Some(invoice), _) => format!("It stands on invoice {invoice}."),
        (None, Payment::Owed) => "Owed, and on no invoice yet.".to_owned(),
        (None, Payment::Unknown) => "How it was paid was not noted.".to_owned(),
        (None, Payment::Payout) => "Paid through the channel.".to_owned(),
        (None, payment) => format!("Paid by {}.", payment.word()),
    };
    let words = format!("for {}", parts::counted(units, "unit"));
    let doubt = format!("{parts_of}{standing}");
    parts::answer(&sale.paid().to_string(), &words, &doubt)
}

/// The one thing to do next, with its form.
fn next_step(
    workshop: &Workshop,
    order: &Order,
    filled: &Filled,
    problems: &Problems,
    day: Date,
) -> Markup {
    let id = order.id;
    html! {
        @match order.stage {
            OrderStage::Taken => {
                form method="post" action={ "/stall/order/" (id) "/confirm" } {
                    p.next { button.do type="submit" { "It is confirmed" } }
                }
                details { summary { "Pick it at once" } (pick_form(workshop, order, filled, problems, day)) }
            }
            OrderStage::Confirmed => (pick_form(workshop, order, filled, problems, day)),
            OrderStage::Picked => {
                @if order.still_wanted().is_empty() { (pack_form(workshop, order, filled, problems)) }
                @else {
                    (pick_form(workshop, order, filled, problems, day))
                    details { summary { "Pack what is picked" } (pack_form(workshop, order, filled, problems)) }
                }
            }
            OrderStage::Packed => (send_form(workshop, order, filled, problems, day)),
            OrderStage::Sent => (after_it(workshop, order)),
            OrderStage::Cancelled => {}
        }
    }
}

/// Every lot that may be picked, with what to take of each already in its box.
fn pick_form(
    workshop: &Workshop,
    order: &Order,
    filled: &Filled,
    problems: &Problems,
    day: Date,
) -> Markup {
    let pick = pick_for(workshop, order, day);
    let wanted = order.still_wanted();
    let any = wanted
        .iter()
        .any(|(product, _)| !for_sale(workshop, *product, day).is_empty());
    html! {
        @for (product, wanted, there) in &pick.short {
            p.note { (parts::verdict("no", &format!("short by {}", wanted - there))) " " (good_name(workshop, *product)) ": " (wanted) " wanted, " (there) " may be sold now." }
        }
        @if any {
            form.sheet method="post" action={ "/stall/order/" (order.id) "/pick" } {
                (once::field())
                @for (product, count) in &wanted {
                    fieldset {
                        legend { (good_name(workshop, *product)) " " span.soft { (fig(count.to_string())) " wanted, the earliest best-by first" } }
                        div.fields.three {
                            @for lot in for_sale(workshop, *product, day) {
                                @let name = format!("lot-{}", lot.lot);
                                @let proposed = pick.units.iter().find(|units| units.lot == Some(lot.lot) && units.product == *product).map_or(0, |units| units.count);
                                @let value = if filled.has(&name) { filled.get(&name).to_owned() } else { proposed.to_string() };
                                @let code = workshop.pour(lot.lot).map_or_else(|| lot.lot.to_string(), |pour| pour.lot.clone());
                                @let hint = match lot.best_by { Some(best) => format!("{} there, best by {}", lot.count, parts::day(best)), None => format!("{} there", lot.count) };
                                (Field::text(&name, &format!("Lot {code}"), &value).keys("numeric").hint(&hint).draw(problems))
                            }
                        }
                    }
                }
                p.next { button.do type="submit" { "These are picked" } }
            }
        } @else { p.soft { "Nothing of it may be sold now: a lot has to be finished, cured and not held." } }
    }
}

fn pack_form(workshop: &Workshop, order: &Order, filled: &Filled, problems: &Problems) -> Markup {
    let parcels = if filled.has("parcels") {
        filled.get("parcels")
    } else {
        "1"
    };
    let unit = parts::in_words(workshop.system()).to_lowercase();
    html! {
        form.sheet method="post" action={ "/stall/order/" (order.id) "/pack" } {
            div.fields {
                (Field::text("parcels", "Parcels", parcels).keys("numeric").draw(problems))
                (Field::text("weight", "What they weigh together", filled.get("weight")).keys("decimal").hint(&format!("may stay empty; a bare figure is {unit}")).draw(problems))
            }
            p.next { button.do type="submit" { "It is packed" } }
        }
    }
}

fn payments(own: &[(&'static str, workshop::facts::Payment)]) -> Vec<(String, String)> {
    own.iter()
        .map(|(word, payment)| ((*word).to_owned(), payment.word().to_owned()))
        .collect()
}

fn send_form(
    workshop: &Workshop,
    order: &Order,
    filled: &Filled,
    problems: &Problems,
    day: Date,
) -> Markup {
    let channel = workshop.trade().channel(order.channel);
    let text =
        |money: Option<Money>| money.map_or_else(String::new, |money| as_typed(workshop, money));
    let postage = text(channel.and_then(|channel| channel.terms.postage_paid));
    let charged = text(channel.and_then(|channel| channel.terms.postage_charged));
    // Who orders from a page of the maker's own or of others pays there.
    let is_web = channel.is_some_and(|channel| channel.kind == ChannelKind::Web);
    let filled = filled
        .clone()
        .or("postage", postage)
        .or("charged", charged)
        .or("payment", if is_web { "payout" } else { "owed" });
    let with_or_without = tax_hint(workshop, order.buyer);
    html! {
        form.sheet method="post" action={ "/stall/order/" (order.id) "/send" } {
            (once::field())
            div.fields {
                (parts::past_day("on", "Sent on", filled.get("on"), day, problems))
                (Field::text("postage", "What sending it costs you", filled.get("postage")).keys("decimal").draw(problems))
                @if !order.on_return {
                    (Field::text("charged", "What the buyer pays for postage", filled.get("charged")).keys("decimal").hint(&with_or_without).draw(problems))
                    (parts::select("payment", "Paid", filled.get("payment"), &payments(&PAYMENTS), "owed goes on an invoice", problems))
                }
            }
            @if order.on_return { p.soft { "Nothing is sold yet: the goods stand at the shop and are yours until it says what it sold." } }
            p.next { button.do type="submit" { "It is sent" } }
        }
    }
}

/// What comes after the parcel left.
fn after_it(workshop: &Workshop, order: &Order) -> Markup {
    let trade = workshop.trade();
    let sale = sale_of(trade, order.id).and_then(|id| trade.sale(id));
    html! {
        @if order.on_return {
            p.next { a.button.do href={ "/stall/shop/" (order.buyer) } { "Count the shop" } }
        } @else if let Some(invoice) = sale.and_then(|sale| sale.invoice) {
            p.next { a.button.do href={ "/stall/invoice/" (invoice) } { "Invoice " (invoice) } }
        } @else if sale.is_some_and(|sale| sale.payment == workshop::facts::Payment::Owed) {
            form method="post" action={ "/stall/buyer/" (order.buyer) "/invoice" } {
                (once::field())
                @if let Some(sale) = sale { input type="hidden" name="sale" value=(sale.id); }
                p.next { button.do type="submit" { "Write the invoice" } }
            }
        }
    }
}

fn lines_table(workshop: &Workshop, order: &Order) -> Markup {
    let lots = |product: ProductId| -> Vec<(String, u32)> {
        order
            .picked
            .iter()
            .filter(|units| units.product == product)
            .filter_map(|units| {
                let pour = workshop.pour(units.lot?)?;
                Some((pour.lot.clone(), units.count))
            })
            .collect()
    };
    html! {
        table.stack {
            thead { tr { th { "Good" } th.n { "Ordered" } th.n { "Each" } th { "Picked" } } }
            tbody {
                @for line in &order.lines {
                    tr {
                        td { a href={ "/stall/good/" (line.product) } { (good_name(workshop, line.product)) } }
                        td.n data-label="Ordered" { (line.count) }
                        td.n data-label="Each" { (fig(line.each.to_string())) }
                        td data-label="Picked" {
                            @let picked = lots(line.product);
                            @if picked.is_empty() { span.soft { "nothing yet" } }
                            @for (i, (lot, count)) in picked.iter().enumerate() { @if i > 0 { ", " } (count) " of " (lot) }
                        }
                    }
                }
            }
        }
    }
}

fn papers(workshop: &Workshop, order: &Order) -> Markup {
    let trade = workshop.trade();
    let sale = sale_of(trade, order.id).and_then(|id| trade.sale(id));
    html! {
        p {
            "Print: " (print::link("packing-slip", "order", order.id, "packing slip"))
            @if order.on_return { ", " (print::link("consignment-note", "order", order.id, "consignment note")) }
            @if let Some(invoice) = sale.and_then(|sale| sale.invoice) { ", " (print::link("invoice", "invoice", invoice, "invoice")) }
            "."
        }
    }
}

fn order_worked(workshop: &Workshop, order: &Order) -> Markup {
    let trade = workshop.trade();
    let tax = trade
        .buyer(order.buyer)
        .and_then(|buyer| tax_for(trade, buyer));
    let lines: Vec<(String, u32, Money)> = order
        .lines
        .iter()
        .map(|line| (good_name(workshop, line.product), line.count, line.each))
        .collect();
    parts::working("working-order", &total_working(&lines, tax))
}

fn anew_form(order: &Order) -> Markup {
    html! {
        details {
            summary { "Pick it anew" }
            form.sheet method="post" action={ "/stall/order/" (order.id) "/anew" } {
                (once::field())
                p.soft { "What is picked goes back to the rack. This order is called off, and the same one stands under the next number, to be picked." }
                p.next { button type="submit" { "Put it back and pick anew" } }
            }
        }
    }
}

fn cancel_form(order: &Order, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        details open[problems.of("reason").is_some()] {
            summary { "Call it off" }
            form.sheet method="post" action={ "/stall/order/" (order.id) "/cancel" } {
                (Field::text("reason", "Why", filled.get("reason")).draw(problems))
                p.next { button type="submit" { "Call it off" } }
                p.soft { "What is picked goes back to the rack." }
            }
        }
    }
}

/// An invoice or a credit note as a line of a list.
pub(crate) fn invoice_row(
    everyone: Option<&Everyone>,
    workshop: &Workshop,
    invoice: &Invoice,
    accounts: &BTreeMap<InvoiceId, Account>,
    day: Date,
) -> Markup {
    let account = accounts.get(&invoice.id);
    html! {
        li {
            span {
                a href={ "/stall/invoice/" (invoice.id) } {
                    @if invoice.credits.is_some() { "Credit note " } @else { "Invoice " } (invoice.id)
                }
                @if let Some(everyone) = everyone { " · " (named(everyone, workshop, invoice.buyer)) }
                br;
                span.soft.small {
                    (fig(invoice.total.to_string())) " on " (parts::day(invoice.day))
                    @if let Some((of, _)) = &invoice.credits { ", off invoice " (of) }
                    @if let Some(due) = invoice.due { ", due " (parts::day(due)) }
                }
            }
            @if let Some(account) = account {
                @if is_overdue(invoice, account, day) { span { (parts::verdict("no", "overdue")) " " (fig(account.owed.to_string())) } }
                @else if account.owed.minor() > 0 { span { (fig(account.owed.to_string())) " owed" } }
                @else { span { (parts::verdict("yes", "settled")) } }
            }
        }
    }
}

async fn invoices(State(site): State<Site>) -> Response {
    site.run(|app| {
        let everyone = app.everyone()?;
        let day = app.today();
        Ok(app.look(|workshop| invoices_page(workshop, &everyone, day))?)
    })
    .await
}

fn invoices_page(workshop: &Workshop, everyone: &Everyone, day: Date) -> Page {
    const QUESTION: &str = "Who owes me what?";
    let trade = workshop.trade();
    let accounts = accounts(trade);
    let is_owed = |invoice: &&Invoice| {
        let account = accounts.get(&invoice.id);
        account.is_some_and(|account| account.owed.minor() > 0)
    };
    let mut owed: Vec<&Invoice> = trade.invoices().iter().filter(is_owed).collect();
    owed.sort_by_key(|invoice| (invoice.due.is_none(), invoice.due, invoice.id));
    let over: Vec<&Invoice> = trade
        .invoices()
        .iter()
        .rev()
        .filter(|invoice| !is_owed(invoice))
        .take(LISTED)
        .collect();
    let sum = owed_in_all(accounts.values());
    let late = owed
        .iter()
        .filter(|invoice| {
            let account = accounts.get(&invoice.id);
            account.is_some_and(|account| is_overdue(invoice, account, day))
        })
        .count();
    let open = buyers_to_invoice(trade);
    Page {
        title: QUESTION.to_owned(),
        place: Place::Stall,
        back: Some(back("/stall", "Stall")),
        body: html! {
            (parts::question(QUESTION))
            (owed_answer(sum.filter(|sum| sum.minor() > 0), to_invoice_in_all(&open), late))
            @if !open.is_empty() {
                h2 { "Sold and not invoiced" }
                ul.rows {
                    @for (buyer, sum) in &open {
                        li {
                            span { (named(everyone, workshop, *buyer)) br; span.soft.small { (fig(sum.to_string())) } }
                            form method="post" action={ "/stall/buyer/" (buyer) "/invoice" } { (once::field()) button.quiet type="submit" { "Write the invoice" } }
                        }
                    }
                }
            }
            @if !owed.is_empty() {
                h2 { "To be paid" }
                ul.rows { @for invoice in owed { (invoice_row(Some(everyone), workshop, invoice, &accounts, day)) } }
            }
            @if !over.is_empty() {
                h2 { "Settled, and credit notes" }
                ul.rows { @for invoice in over { (invoice_row(Some(everyone), workshop, invoice, &accounts, day)) } }
            }
            p.next { a.button.quiet href="/stall/orders" { "Orders" } a.button.quiet href="/stall/buyers" { "Buyers" } }
        },
    }
}

/// What is owed on invoices, and what on none yet.
fn owed_answer(owed: Option<Money>, open: Option<Money>, late: usize) -> Markup {
    let late = match late {
        0 => "Nothing is overdue.".to_owned(),
        1 => "One invoice is overdue.".to_owned(),
        late => format!("{late} invoices are overdue."),
    };
    match (owed, open) {
        (Some(owed), None) => parts::answer(&owed.to_string(), "owed", &late),
        (Some(owed), Some(open)) => parts::answer(
            &owed.to_string(),
            "owed on invoices",
            &format!("{late} And {open} is sold and not invoiced yet."),
        ),
        (None, Some(open)) => parts::answer(
            &open.to_string(),
            "sold and not invoiced yet",
            "No invoice waits to be paid.",
        ),
        (None, None) => parts::answer_words(
            "Nobody owes anything.",
            "Sales that are owed go on an invoice once an order is sent or a shop is counted.",
        ),
    }
}

async fn invoice(
    State(site): State<Site>,
    At(id): At<InvoiceId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| invoice_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn pay(
    State(site): State<Site>,
    At(id): At<InvoiceId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::pay_invoice(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/invoice/{id}")),
        move |app, filled, problems| invoice_page(app, id, filled, problems),
    )
    .await
}

async fn credit(
    State(site): State<Site>,
    At(id): At<InvoiceId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| orders::credit_invoice(app, WHO, id, filled),
        move |_, done| {
            let written = done.facts.iter().find_map(|fact| match fact {
                Fact::Credited(fact) => Some(format!("/stall/invoice/{}", fact.invoice)),
                _ => None,
            });
            Ok(written.unwrap_or_else(|| format!("/stall/invoice/{id}")))
        },
        move |app, filled, problems| invoice_page(app, id, filled, problems),
    )
    .await
}

fn invoice_page(
    app: &App,
    id: InvoiceId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let everyone = app.everyone()?;
    let day = app.today();
    app.look(|workshop| {
        let trade = workshop.trade();
        let invoice = trade.invoice(id).ok_or(Fault::Nothing("invoice"))?;
        let account = accounts(trade).get(&id).copied();
        let title = match &invoice.credits {
            Some(_) => format!("Credit note {id}"),
            None => format!("Invoice {id}: is it paid?"),
        };
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some(back("/stall/invoices", "Who owes me what?")),
            body: html! {
                (parts::question(&title))
                (invoice_answer(workshop, &everyone, invoice, account.as_ref(), day))
                (parts::problems(problems))
                @if let Some(account) = account.filter(|account| account.owed.minor() > 0) {
                    (pay_form(workshop, invoice, &account, filled, day, problems))
                }
                p { "Print: " (print::link(if invoice.credits.is_some() { "credit-note" } else { "invoice" }, "invoice", id, if invoice.credits.is_some() { "credit note" } else { "invoice" })) "." }
                (sold_on_it(workshop, invoice))
                (came_in(invoice))
                (came_back(workshop, invoice))
                (credits_of(workshop, invoice))
                @if account.is_some_and(|account| account.credited.minor() < account.invoiced.minor()) {
                    (credit_form(workshop, invoice, filled, problems))
                }
            },
        })
    })?
}

/// What came in for an invoice, or what was given back of that; none of nothing.
fn money_of(invoice: &Invoice, is_back: bool) -> Option<Money> {
    let amounts = invoice.paid.iter().map(|(_, amount, _)| amount.minor());
    let minor: i64 = amounts.filter(|minor| (*minor < 0) == is_back).sum();
    let sum = Money::from_minor(minor.saturating_abs(), invoice.total.currency());
    Some(sum).filter(|sum| sum.minor() != 0)
}

fn invoice_answer(
    workshop: &Workshop,
    everyone: &Everyone,
    invoice: &Invoice,
    account: Option<&Account>,
    day: Date,
) -> Markup {
    let (came, back) = (money_of(invoice, false), money_of(invoice, true));
    html! {
        @match (account, &invoice.credits) {
            (Some(account), _) if account.owed.minor() == 0 => (parts::answer_words("Settled.", &format!("{} in all.", invoice.total))),
            (Some(account), _) => {
                (parts::answer(&account.owed.to_string(), "left to pay", &match invoice.due {
                    Some(due) if due < day => format!("Was due {}: overdue.", parts::day(due)),
                    Some(due) => format!("Due {}.", parts::day(due)),
                    None => "Due at once.".to_owned(),
                }))
            }
            (None, Some((of, reason))) => {
                (parts::answer(&invoice.total.to_string(), "taken off", &format!("{reason}.")))
                p {
                    "From " a href={ "/stall/invoice/" (of) } { "invoice " (of) } ". "
                    @match invoice.given_back {
                        Some((back, how)) => { (fig(back.to_string())) " of it was given back " (given_how(how)) "." }
                        None => "Nothing of it was paid yet, so nothing is given back.",
                    }
                }
            }
            (None, None) => {}
        }
        p {
            "For " (named(everyone, workshop, invoice.buyer)) ", written on " (parts::day(invoice.day)) ": "
            (fig(invoice.total.to_string()))
            @if invoice.tax.minor() != 0 { ", of which " (tax_word(workshop)) " " (fig(invoice.tax.to_string())) }
            @if let Some(account) = account {
                @if let Some(came) = came { ", paid " (fig(came.to_string())) }
                @if let Some(back) = back { ", given back " (fig(back.to_string())) }
                @if account.credited.minor() != 0 { ", credited " (fig(account.credited.to_string())) }
            }
            "."
        }
    }
}

fn pay_form(
    workshop: &Workshop,
    invoice: &Invoice,
    account: &Account,
    filled: &Filled,
    day: Date,
    problems: &Problems,
) -> Markup {
    let filled = filled
        .clone()
        .or("amount", as_typed(workshop, account.owed))
        .or("payment", "transfer");
    let ways = money_ways();
    html! {
        form.sheet method="post" action={ "/stall/invoice/" (invoice.id) "/pay" } {
            (once::field())
            div.fields.three {
                (Field::text("amount", "What came in", filled.get("amount")).keys("decimal").draw(problems))
                (parts::select("payment", "How", filled.get("payment"), &payments(&ways), "", problems))
                (parts::past_day("on", "On", filled.get("on"), day, problems))
            }
            p.next { button.do type="submit" { "It came in" } }
        }
    }
}

/// The ways in which money really changes hands.
fn money_ways() -> Vec<(&'static str, Payment)> {
    let ways = PAYMENTS.into_iter();
    ways.filter(|(_, payment)| *payment != Payment::Owed)
        .collect()
}

fn sold_on_it(workshop: &Workshop, invoice: &Invoice) -> Markup {
    let trade = workshop.trade();
    let sales: Vec<_> = invoice
        .sales
        .iter()
        .filter_map(|id| trade.sale(*id))
        .collect();
    let price = if invoice.tax.minor() == 0 {
        "Price".to_owned()
    } else {
        format!("Price, {} in it", tax_word(workshop))
    };
    html! {
        @if !sales.is_empty() {
            h2 { "What it is for" }
            table.stack {
                thead { tr { th { "Good" } th { "Of" } th.n { "Units" } th.n { (price) } } }
                tbody {
                    @for sale in &sales {
                        @for line in &sale.lines {
                            tr {
                                td { (line.units.first().map_or_else(String::new, |units| good_name(workshop, units.product))) }
                                td data-label="Of" {
                                    @match sale.order { Some(order) => a href={ "/stall/order/" (order) } { "order " (order) }, None => "the shop's count" }
                                    " " span.soft { (parts::day(sale.day)) }
                                }
                                td.n data-label="Units" { (line.units.iter().map(|units| units.count).sum::<u32>()) }
                                td.n data-label=(price) { (fig(line.paid.to_string())) }
                            }
                        }
                        @if let Some(postage) = sale.postage { tr { td { "Postage" } td data-label="Of" { span.soft { (parts::day(sale.day)) } } td.n data-label="Units" { span.soft { "–" } } td.n data-label=(price) { (money_or_dash(Some(postage))) } } }
                    }
                }
            }
        }
    }
}

fn came_in(invoice: &Invoice) -> Markup {
    html! {
        @if !invoice.paid.is_empty() {
            h2 { @if invoice.paid.iter().any(|(_, amount, _)| amount.minor() < 0) { "What came in and was given back" } @else { "What came in" } }
            ul.rows {
                @for (day, amount, payment) in &invoice.paid { @let sum = Money::from_minor(amount.minor().saturating_abs(), amount.currency()); li { span { (fig(sum.to_string())) " " span.soft { (payment.word()) @if amount.minor() < 0 { ", given back" } } } span.soft { (parts::day(*day)) } } }
            }
        }
    }
}

fn credits_of(workshop: &Workshop, invoice: &Invoice) -> Markup {
    let notes: Vec<&Invoice> = workshop
        .trade()
        .invoices()
        .iter()
        .filter(|note| matches!(&note.credits, Some((of, _)) if *of == invoice.id))
        .collect();
    html! {
        @if !notes.is_empty() {
            h2 { "Credit notes" }
            ul.rows {
                @for note in notes {
                    li { span { a href={ "/stall/invoice/" (note.id) } { "Credit note " (note.id) } " " (fig(note.total.to_string())) } span.soft { @if let Some((_, reason)) = &note.credits { (reason) } } }
                }
            }
        }
    }
}

/// How money was given back.
const fn given_how(how: Payment) -> &'static str {
    match how {
        Payment::Cash => "in cash",
        Payment::Card => "to the card",
        Payment::Transfer => "by transfer",
        Payment::Payout => "through the channel",
        Payment::Owed | Payment::Unknown => "in a way nobody noted",
    }
}

/// Where goods went that came back.
const fn where_to(to: ReturnTo) -> &'static str {
    match to {
        ReturnTo::Rack => "back to the rack",
        ReturnTo::Spoilt => "thrown away",
        ReturnTo::Kept => "the buyer keeps them",
    }
}

/// What came back with a credit note, and where it went.
fn came_back(workshop: &Workshop, note: &Invoice) -> Markup {
    let with = came_back_with(workshop.trade(), note);
    let units = with
        .into_iter()
        .flat_map(|back| back.units.iter().map(move |units| (units, back.to)));
    let rows: Vec<(&Units, ReturnTo)> = units.collect();
    html! {
        @if !rows.is_empty() {
            h2 { "Goods that came back" }
            ul.rows {
                @for (units, to) in rows {
                    li {
                        span {
                            (units.count) " " (good_name(workshop, units.product))
                            @if let Some(pour) = units.lot.and_then(|lot| workshop.pour(lot)) { ", lot " (pour.lot) }
                        }
                        span.soft { (where_to(to)) }
                    }
                }
            }
        }
    }
}

fn credit_form(
    workshop: &Workshop,
    invoice: &Invoice,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let trade = workshop.trade();
    let sales = invoice.sales.iter().filter_map(|id| trade.sale(*id));
    let ways: Vec<(String, String)> = RETURNS
        .iter()
        .map(|(word, to)| ((*word).to_owned(), where_to(*to).to_owned()))
        .collect();
    let given: Vec<(String, String)> = std::iter::once((String::new(), "nothing was paid".into()))
        .chain(payments(&money_ways()))
        .collect();
    // Money goes back the way it came.
    let mut came_in = invoice.paid.iter().rev();
    let last = came_in.find(|(_, amount, _)| amount.minor() > 0);
    let back_by = last.map_or("", |(.., how)| app::forms::word_of(&PAYMENTS, how));
    let filled = filled.clone().or("given_back", back_by);
    let tax = tax_word(workshop);
    let takes_off = if invoice.tax.minor() == 0 {
        "What it takes off".to_owned()
    } else {
        format!("What it takes off, {tax} in it")
    };
    let is_wrong = ["total", "reason", "goods", "given_back"]
        .iter()
        .any(|field| problems.of(field).is_some());
    html! {
        details open[is_wrong] {
            summary { "Write a credit note" }
            form.sheet method="post" action={ "/stall/invoice/" (invoice.id) "/credit" } {
                (once::field())
                div.fields {
                    (Field::text("total", &takes_off, filled.get("total")).keys("decimal").hint("empty: what the goods below cost the buyer, or without goods everything that is still owed").draw(problems))
                    (parts::select("given_back", "What was paid of it is given back", filled.get("given_back"), &given, "as far as it takes off more than is still owed", problems))
                    (Field::text("reason", "Why", filled.get("reason")).draw(problems))
                }
                fieldset {
                    legend { "Goods that came back" }
                    @if let Some(problem) = problems.of("goods") { p.problem { (problem.wrong) "; " (problem.accepted) } }
                    div.fields {
                        @for sale in sales {
                            @for (nth, units) in sale.left().iter().enumerate() {
                                @let name = back_field(sale, nth);
                                @let lot = units.lot.and_then(|lot| workshop.pour(lot)).map_or_else(|| "lot unknown".to_owned(), |pour| format!("lot {}", pour.lot));
                                @let label = format!("{}, {lot}", good_name(workshop, units.product));
                                @let each = charged_for(trade, &[(sale.id, vec![Units { count: 1, ..*units }])]);
                                @let hint = each.map_or_else(|| format!("of {}", units.count), |each| format!("of {}, {each} each", units.count));
                                (Field::text(&name, &label, filled.get(&name)).keys("numeric").hint(&hint).draw(problems))
                            }
                        }
                        (parts::select("to", "They go", filled.get("to"), &ways, "", problems))
                    }
                }
                p.next { button type="submit" { "Write the credit note" } }
            }
        }
    }
}
