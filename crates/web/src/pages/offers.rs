//! An order, before it is agreed and before it is posted: firm or on return,
//! and what to pack it in.

use app::App;
use app::forms::Filled;
use app::offers::{self, Asked, BANDS, PACKINGS};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use measure::Problems;
use price::{EarnsMore, ParcelOutput, SaleOrReturnOutput};
use workshop::facts::OrderId;
use workshop::{Order, Workshop};

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall/order/{id}/offer", get(offer))
        .route("/stall/order/{id}/parcel", get(parcel))
}

/// What the page of an offer asks.
const FIRM_OR_RETURN: &str = "Firm, or on return?";
/// What the page of a parcel asks.
const PACKED_IN: &str = "What do I pack it in?";

async fn offer(
    State(site): State<Site>,
    At(id): At<OrderId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| offer_page(app, id, Filled::new(pairs)))
        .await
}

fn page(order: &Order, question: &str, body: Markup) -> Page {
    Page {
        title: format!("Order {}: {question}", order.id),
        place: Place::Stall,
        back: Some((
            format!("/stall/order/{}", order.id),
            format!("Order {}", order.id),
        )),
        body,
    }
}

fn offer_page(app: &App, id: OrderId, typed: Filled) -> Result<Page, Fault> {
    app.look(|workshop| {
        let order = workshop.trade().order(id).ok_or(Fault::Nothing("order"))?;
        let filled = offers::first_offer(workshop, order, typed);
        let asked = offers::offer(workshop, &filled);
        let none = Problems::default();
        let problems = match &asked {
            Asked::Unclear(problems, _) => problems,
            _ => &none,
        };
        let body = html! {
            (parts::question(FIRM_OR_RETURN))
            div data-part="answer" { (offer_answer(&asked)) }
            (offer_form(id, &filled, problems))
            div data-part="more" {
                @if let Asked::Answer(output) = &asked { (both(output)) (parts::working("working-offer", &output.working)) }
            }
        };
        Ok(page(order, FIRM_OR_RETURN, body))
    })?
}

fn still(empty: usize) -> Markup {
    parts::answer_words(
        "Nobody can say yet.",
        &match empty {
            1 => "One box is still empty.".to_owned(),
            n => format!("{n} boxes are still empty."),
        },
    )
}

fn offer_answer(asked: &Asked<SaleOrReturnOutput>) -> Markup {
    html! {
        @match asked {
            Asked::StillEmpty(n) => (still(*n)),
            Asked::Unclear(problems, _) => (parts::problems(problems)),
            Asked::Answer(output) => {
                (parts::answer(&output.sale_or_return.left, &format!("on return; firm leaves {}", output.firm.left), &output.verdict))
                p {
                    "Does on return leave more? "
                    @match output.leaves_more {
                        EarnsMore::Yes => (parts::verdict("yes", "yes")),
                        EarnsMore::No => (parts::verdict("no", "no")),
                        EarnsMore::NotProven => (parts::verdict("unproven", "not proven")),
                    }
                    @if let Some(at) = output.equal_at { ": it does once " (fig(at.to_string())) " are sold." }
                }
            }
        }
    }
}

fn both(output: &SaleOrReturnOutput) -> Markup {
    html! {
        table.stack {
            thead { tr { th { "" } th.n { "Paid for each" } th.n { "Deliveries" } th.n { "Left" } } }
            tbody {
                @for (word, offer) in [("Firm", &output.firm), ("On return", &output.sale_or_return)] {
                    tr {
                        td { (word) }
                        td.n data-label="Paid for each" { (fig(&offer.paid)) }
                        td.n data-label="Deliveries" { (fig(&offer.deliveries)) }
                        td.n data-label="Left" { strong { (fig(&offer.left)) } }
                    }
                }
            }
        }
        @for note in &output.notes { p.soft { (note) } }
    }
}

fn offer_form(id: OrderId, filled: &Filled, problems: &Problems) -> Markup {
    let box_of = |name: &str, label: &str, hint: &str, keys: &'static str| {
        Field::text(name, label, filled.get(name))
            .keys(keys)
            .hint(hint)
            .draw(problems)
    };
    let path = format!("/stall/order/{id}/offer");
    html! {
        form.sheet method="get" action=(path) data-live=(path) {
            div.fields.three {
                (box_of("units", "Units", "", "numeric"))
                (box_of("retail", "What the shop asks for one", "the average over this order", "decimal"))
                (box_of("unit_cost", "What one costs you, time in it", "the average over this order's goods", "decimal"))
            }
            fieldset {
                legend { "Firm" }
                div.fields.three {
                    (box_of("firm.price", "The shop pays for each", "", "decimal"))
                    (box_of("firm.deliveries", "Deliveries", "", "numeric"))
                    (box_of("firm.delivery", "One costs", "", "decimal"))
                }
            }
            fieldset {
                legend { "On return" }
                div.fields.three {
                    (box_of("sale_or_return.share", "You keep of the price", "65 %", "decimal"))
                    (box_of("sale_or_return.deliveries", "Deliveries and collections", "", "numeric"))
                    (box_of("sale_or_return.delivery", "One costs", "", "decimal"))
                    (box_of("sale_or_return.sold", "How much of it sells", "70 %; by what shops have sold so far", "decimal"))
                    (box_of("sale_or_return.spoiled", "Come back unfit for sale", "units", "numeric"))
                    (box_of("sale_or_return.days", "How long they stay", "90 d; may stay empty", "text"))
                }
            }
            p.next { button.do type="submit" { "Set them side by side" } }
        }
    }
}

async fn parcel(
    State(site): State<Site>,
    At(id): At<OrderId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| parcel_page(app, id, Filled::new(pairs)))
        .await
}

fn parcel_page(app: &App, id: OrderId, typed: Filled) -> Result<Page, Fault> {
    app.look(|workshop| {
        let order = workshop.trade().order(id).ok_or(Fault::Nothing("order"))?;
        let filled = offers::first_parcel(workshop, order, typed);
        let asked = offers::pack_in(workshop, order, &filled);
        let none = Problems::default();
        let problems = match &asked {
            Asked::Unclear(problems, _) => problems,
            _ => &none,
        };
        let body = html! {
            (parts::question(PACKED_IN))
            div data-part="answer" { (parcel_answer(&asked)) }
            (parcel_form(workshop, order, &filled, problems))
            div data-part="more" {
                @if let Asked::Answer(output) = &asked { (packings(output)) (parts::working("working-parcel", &output.working)) }
            }
        };
        Ok(page(order, PACKED_IN, body))
    })?
}

fn parcel_answer(asked: &Asked<ParcelOutput>) -> Markup {
    html! {
        @match asked {
            Asked::StillEmpty(n) => (still(*n)),
            Asked::Unclear(problems, _) => (parts::problems(problems)),
            Asked::Answer(output) => {
                @match &output.packing {
                    Some(packing) => (parts::answer(packing, &output.weight.clone().unwrap_or_default(), &output.verdict)),
                    None => (parts::answer_words("In none of them.", &output.verdict)),
                }
            }
        }
    }
}

fn packings(output: &ParcelOutput) -> Markup {
    let dash = |text: &Option<String>| html! { @match text { Some(text) => (fig(text)), None => span.soft { "–" } } };
    html! {
        table.stack {
            thead { tr { th { "Packing" } th.n { "Weighs" } th.n { "Up to" } th.n { "Postage" } th.n { "In all" } } }
            tbody {
                @for option in &output.options {
                    tr {
                        td { (option.name) }
                        td.n data-label="Weighs" { (fig(&option.weight)) }
                        td.n data-label="Up to" { (dash(&option.band)) }
                        td.n data-label="Postage" { (dash(&option.postage)) }
                        td.n data-label="In all" { (dash(&option.cost)) }
                    }
                }
            }
        }
    }
}

fn parcel_form(workshop: &Workshop, order: &Order, filled: &Filled, problems: &Problems) -> Markup {
    let box_of = |name: String, label: &str, hint: &str, keys: &'static str| {
        Field::text(&name, label, filled.get(&name))
            .keys(keys)
            .hint(hint)
            .draw(problems)
    };
    let path = format!("/stall/order/{}/parcel", order.id);
    html! {
        form.sheet method="get" action=(path) data-live=(path) data-remember={ "parcel-" (order.id) } {
            fieldset {
                legend { "What goes in" }
                @for (i, line) in order.lines.iter().enumerate() {
                    @let name = workshop.product(line.product).map_or("", |good| good.name.as_str());
                    div.fields {
                        (box_of(format!("items[{i}].count"), &format!("{name}: how many"), "", "numeric"))
                        (box_of(format!("items[{i}].each"), "One weighs, wrapped", "the average of those weighed", "decimal"))
                    }
                }
            }
            fieldset {
                legend { "Packing, the usual one first" }
                @for i in 0..PACKINGS {
                    div.fields.three {
                        (box_of(format!("packings[{i}].name"), "Called", "", "text"))
                        (box_of(format!("packings[{i}].weight"), "Weighs, with what closes it", "", "decimal"))
                        (box_of(format!("packings[{i}].price"), "Costs", "may stay empty", "decimal"))
                    }
                }
            }
            fieldset {
                legend { "The post's price list" }
                @for i in 0..BANDS {
                    div.fields {
                        (box_of(format!("bands[{i}].up_to"), "Up to", "", "decimal"))
                        (box_of(format!("bands[{i}].price"), "Price", "", "decimal"))
                    }
                }
            }
            p.next { button.do type="submit" { "Find the cheapest" } }
        }
    }
}
