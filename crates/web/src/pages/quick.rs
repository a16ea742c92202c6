//! The quick pour: an answer before anything is set up.

use app::App;
use app::forms::{FORMATS, Filled, example};
use app::quick;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use formula::weigh_out::Output;
use maud::{Markup, html};
use measure::Problems;
use workshop::Workshop;
use workshop::facts::Fact;

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/quick", get(ask))
        .route("/quick/keep", post(keep))
}

async fn ask(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn keep(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| quick::keep(app, WHO, filled),
        |_, done| {
            Ok(done
                .facts
                .iter()
                .find_map(|fact| match fact {
                    Fact::PourStarted(fact) => Some(format!("/pour/{}", fact.pour)),
                    _ => None,
                })
                .unwrap_or_else(|| "/pour".to_owned()))
        },
        page,
    )
    .await
}

fn page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| Page {
        title: "How much do I weigh out?".to_owned(),
        place: Place::Today,
        back: Some(("/".to_owned(), "Today".to_owned())),
        body: panel_with(workshop, filled, problems),
    })?)
}

/// The whole quick pour, for the front page of an empty journal.
pub(crate) fn panel(workshop: &Workshop, filled: &Filled) -> Markup {
    panel_with(workshop, filled, &Problems::default())
}

fn panel_with(workshop: &Workshop, filled: &Filled, kept: &Problems) -> Markup {
    let filled = quick::first_fill(workshop, filled.clone());
    let worked = quick::weigh_out(workshop, &filled);
    // What was to be kept and was refused names every problem already.
    let problems = match &worked {
        Err(open) if kept.is_empty() => open,
        _ => kept,
    };
    let own = |sentence: &str| example(workshop, sentence);
    let is_open = |names: &[&str]| {
        names
            .iter()
            .any(|name| filled.some(name).is_some() || problems.of(name).is_some())
    };
    let more_open = is_open(&["wax2", "parts", "parts2", "max_load", "max_load2"])
        || problems.of("readability").is_some();
    let about_open = is_open(&["name", "cure_days", "workshop"]);
    html! {
        (parts::question("How much do I weigh out?"))
        (parts::problems(kept))
        @if workshop.settings().is_none() {
            p.soft { "A first answer, for wax and a load that are only examples. Write yours below and it follows; nothing has to be set up first." }
        }
        div data-part="answer" {
            @match &worked {
                Ok(output) => (weighed(output, &quick::understood(workshop, &filled, output))),
                Err(open) if kept.is_empty() => (parts::still_open(open)),
                Err(_) => {}
            }
        }
        form.sheet.quick method="get" action="/quick" data-live="/quick" {
            (once::field())
            div.fields {
                (Field::text("wax", "Wax", filled.get("wax")).draw(problems))
                (Field::text("oil", "Fragrance oil", filled.get("oil")).draw(problems))
                (Field::text("load", "Fragrance load", filled.get("load")).hint(&own("always of what: 8 % of wax, 7.4 % of total, 1 oz per lb; a bare number would leave that open")).draw(problems))
                (parts::select("by", "I know", filled.get("by"), &[
                    ("wax".to_owned(), "how much wax I have".to_owned()),
                    ("total".to_owned(), "how much it should be in all".to_owned()),
                    ("units".to_owned(), "how many units I want".to_owned()),
                ], "", problems))
                (Field::text("amount", "How much, or how many", filled.get("amount")).hint(&own("a weight with its unit: 16.7 oz, 1 lb 2.5 oz, 500 g; a bare number only counts units, such as 24")).draw(problems))
                (Field::text("unit_weight", "One unit weighs", filled.get("unit_weight")).hint(&own("for a number of units, such as 75.6 g")).draw(problems))
                (Field::text("loss", "Lost on the way", filled.get("loss")).hint(&own("a weight such as 10 g, or a share such as 1.5 %; may stay empty")).draw(problems))
            }
            details open[more_open] {
                summary { "The scale, a second wax, and what the sheets allow" }
                p.soft { "The scale is taken to read to what stands here. The rest may stay empty." }
                div.fields {
                    (Field::text("readability", "The scale reads to", filled.get("readability")).hint(&own("its smallest step, such as 0.1 oz or 1 g")).draw(problems))
                    (Field::text("parts", "Parts of the first wax", filled.get("parts")).keys("decimal").hint("such as 90").draw(problems))
                    (Field::text("max_load", "It carries at most", filled.get("max_load")).hint("from its sheet: 10 % of wax").draw(problems))
                    (Field::text("wax2", "Second wax", filled.get("wax2")).draw(problems))
                    (Field::text("parts2", "Parts of the second wax", filled.get("parts2")).keys("decimal").hint("such as 10").draw(problems))
                    (Field::text("max_load2", "It carries at most", filled.get("max_load2")).draw(problems))
                }
            }
            p.next { button type="submit" { "Work it out" } }
            h2 { "Keep it, and weigh it out step by step" }
            div.fields {
                @if workshop.settings().is_none() {
                    (Field::text("currency", "Your currency", filled.get("currency")).hint("£, €, or three letters such as USD; for what it costs").draw(problems))
                }
                (Field::text("mould", "Mould or vessel", filled.get("mould")).hint("such as 12-bar mould; may stay empty").draw(problems))
                (Field::text("cavities", "Cavities", filled.get("cavities")).keys("numeric").hint("how many bars or cups in one fill; empty without a mould").draw(problems))
                (parts::select("format", "What comes out", filled.get("format"), &formats(), "", problems))
            }
            details open[about_open] {
                summary { "Its name, days to cure, and your workshop's name" }
                div.fields {
                    (Field::text("name", "Call it", filled.get("name")).hint("the scent; the oil's name if left empty").draw(problems))
                    (Field::text("cure_days", "Days to cure", filled.get("cure_days")).keys("numeric").hint("such as 10; the Rack then says when it is ready; may stay empty").draw(problems))
                    @if workshop.settings().is_none() {
                        (Field::text("workshop", "Your workshop's name", filled.get("workshop")).hint("may stay empty").draw(problems))
                    }
                }
            }
            p.next { button.do type="submit" formaction="/quick/keep" formmethod="post" { "Keep it and start weighing" } }
        }
    }
}

/// The formats of goods as a form's choices.
pub(crate) fn formats() -> Vec<(String, String)> {
    FORMATS
        .iter()
        .map(|(word, format)| ((*word).to_owned(), format.word().to_owned()))
        .collect()
}

fn weighed(output: &Output, understood: &str) -> Markup {
    let cautions = output.cautions;
    let also = quick::also(output);
    html! {
        p.answer {
            @for (i, portion) in output.portions.iter().enumerate() {
                @if i > 0 { span.soft { " + " } }
                (fig(&portion.weight))
            }
        }
        @if let Some(also) = &also {
            p.also {
                @for (i, weight) in also.portions.iter().enumerate() {
                    @if i > 0 { " + " }
                    (fig(weight))
                }
                " = " (fig(&also.total))
            }
        }
        p.soft { "For " (understood) "." }
        p.doubt {
            @for (i, portion) in output.portions.iter().enumerate() { @if i > 0 { ", " } (portion.name) }
            ". " (fig(&output.total)) " in all, "
            (output.load_of_wax) " of wax (" (output.load_of_total) " of the melt) once rounded to the scale."
        }
        @for (i, note) in output.notes.iter().enumerate() {
            @if i < cautions {
                p.note { (parts::verdict("no", "Look first.")) " " (note) }
            } @else if output.other_base != Some(i) {
                p.soft { (note) }
            }
        }
        details.working.no-open id="portions" open {
            summary { "In this order, into one pot" }
            table {
                thead { tr { th { "Weigh" } th.n { "This much" } th.n { "Pot then reads" } @if let Some(also) = &also { th.n.no-phone { (parts::in_words(also.system)) } } } }
                tbody {
                    @for (i, portion) in output.portions.iter().enumerate() {
                        tr { td { (portion.name) } td.n { strong { (fig(&portion.weight)) } } td.n { (fig(&portion.running)) }
                            @if let Some(weight) = also.as_ref().and_then(|also| also.portions.get(i)) { td.n.soft.no-phone { (fig(weight)) } }
                        }
                    }
                }
            }
            @if let Some(note) = output.other_base.and_then(|at| output.notes.get(at)) { p.soft { (note) } }
        }
        (parts::working("working-weigh-out", &output.working))
    }
}
