//! The papers of the workshop, as files and as a list to choose from.

use app::App;
use app::forms::Filled;
use app::paper::{self, About, NoPaper, Paper};
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::{Markup, html};
use measure::{Problem, Problems};
use workshop::Workshop;

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{Fault, Reply, Site};

/// Lots to choose from.
const LISTED: usize = 60;
/// What is not about the paper: how it is handed out.
const HANDED: [&str; 2] = ["as", "number"];

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/print", get(list))
        .route("/print/{document}", get(print))
        .route("/print/{document}/ask", get(ask))
}

/// A link that opens a paper.
pub(crate) fn link(document: &str, field: &str, id: impl std::fmt::Display, words: &str) -> Markup {
    html! { a href={ "/print/" (document) "?" (field) "=" (id) } type="application/pdf" { (words) } }
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|_| Ok(list_page(&Problems::default()))).await
}

/// Asks what is missing before a paper can be drawn.
async fn ask(
    State(site): State<Site>,
    Path(document): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| match paper::named(&document) {
        Ok(paper) => {
            let page = ask_page(app, paper, &Filled::new(pairs), &Problems::default())?;
            Ok(Reply::from(page))
        }
        Err(problem) => Ok(no_such(problem)),
    })
    .await
}

fn no_such(problem: Problem) -> Reply {
    Reply::Page(StatusCode::NOT_FOUND, list_page(&problem.into()))
}

async fn print(
    State(site): State<Site>,
    Path(document): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| {
        let paper = match paper::named(&document) {
            Ok(paper) => paper,
            Err(problem) => return Ok(no_such(problem)),
        };
        let (handed, asked): (Pairs, Pairs) = pairs
            .into_iter()
            .partition(|(name, _)| HANDED.contains(&name.as_str()));
        let (handed, asked) = (Filled::new(handed), Filled::new(asked));
        match file(app, paper, &handed, &asked) {
            Ok(file) => Ok(Reply::File(file)),
            Err(NoPaper::Asked(problems)) => {
                let page = ask_page(app, paper, &asked, &problems)?;
                Ok(Reply::Page(StatusCode::UNPROCESSABLE_ENTITY, page))
            }
            Err(NoPaper::Unread(error)) => Err(error.into()),
        }
    })
    .await
}

fn file(app: &App, paper: &Paper, handed: &Filled, asked: &Filled) -> Result<Response, NoPaper> {
    let document = paper.draw(app, asked)?;
    let (kind, bytes) = match handed.get("as") {
        "svg" => {
            let number = match handed.get("number") {
                "" => 1,
                text => text.parse().map_err(|_| {
                    Problem::new(
                        "number",
                        text,
                        "it is not a page's number",
                        "write 1 or more",
                    )
                })?,
            };
            let svg = paper::svg(&document, number)?;
            ("image/svg+xml", svg.into_bytes())
        }
        "" | "pdf" => ("application/pdf", paper::pdf(&document)?),
        other => {
            return Err(
                Problem::new("as", other, "there is no such form", "ask for pdf or svg").into(),
            );
        }
    };
    // What shows a PDF inside a browser is the browser's own, with its own
    // styles; nothing in the file runs or fetches.
    let policy =
        "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'none'";
    Ok((
        [
            (header::CONTENT_TYPE, kind),
            (header::CONTENT_SECURITY_POLICY, policy),
        ],
        [(
            header::CONTENT_DISPOSITION,
            format!(
                "inline; filename=\"{}.{}\"",
                paper.name,
                if kind == "application/pdf" {
                    "pdf"
                } else {
                    "svg"
                }
            ),
        )],
        bytes,
    )
        .into_response())
}

fn wrong(problems: &Problems) -> Markup {
    html! {
        @if !problems.is_empty() {
            div.problems role="alert" { h2 { "Nothing was printed yet" } (parts::problem_list(problems)) }
        }
    }
}

fn list_page(problems: &Problems) -> Page {
    const QUESTION: &str = "What do I print?";
    Page {
        title: QUESTION.to_owned(),
        place: Place::Today,
        back: Some(("/".to_owned(), "Today".to_owned())),
        body: html! {
            (parts::question(QUESTION))
            (wrong(problems))
            p.soft { "On ordinary paper, in black. What is written down is filled in; the rest is left to write on." }
            ul.rows {
                @for paper in paper::all() {
                    li {
                        span { a href={ "/print/" (paper.name) "/ask" } { (paper.title) } }
                        span.soft { (paper.purpose) }
                    }
                }
                li {
                    span { a href="/label/sheet" { "Labels" } }
                    span.soft { "On sheets, from any place on, several lots together" }
                }
                li {
                    span { a href="/label/printers" { "Calibration page" } }
                    span.soft { "Shows how far a printer is off, so that labels land where they should" }
                }
            }
        },
    }
}

fn ask_page(app: &App, paper: &Paper, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| Page {
        title: format!("Print: {}", paper.title.to_lowercase()),
        place: Place::Today,
        back: Some(("/print".to_owned(), "What do I print?".to_owned())),
        body: html! {
            (parts::question(paper.title))
            p { (paper.purpose) }
            @if !paper.caution.is_empty() { p.note { (paper.caution) } }
            (wrong(problems))
            @if let Some(missing) = missing(workshop, paper) {
                p.soft { (missing) }
            } @else {
                (form(workshop, paper, filled, problems))
            }
        },
    })?)
}

/// Why there is nothing to print this of yet.
fn missing(workshop: &Workshop, paper: &Paper) -> Option<&'static str> {
    match paper.about {
        About::Lot | About::LotOrSupply if workshop.n_pours() == 0 => {
            Some("Nothing was poured yet; a lot begins with a pour.")
        }
        About::Good | About::Goods if workshop.products().next().is_none() => {
            Some("Nothing that is sold is written down yet.")
        }
        About::Order if orders(workshop).is_empty() => Some("No order on return was taken yet."),
        About::Invoice if invoices(workshop, paper).is_empty() => {
            Some("None was written yet; one is written for an order that was sent.")
        }
        _ => None,
    }
}

fn form(workshop: &Workshop, paper: &Paper, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        form.sheet method="get" action={ "/print/" (paper.name) } {
            div.fields {
                @for field in paper.about.fields() {
                    @match *field {
                        "lot" => (parts::select("lot", "Lot", filled.get("lot"), &lots(workshop, paper), "", problems)),
                        "product" => (parts::select("product", "Good", filled.get("product"), &goods(workshop, paper), "", problems)),
                        "order" => (parts::select("order", "Order", filled.get("order"), &orders(workshop), "", problems)),
                        "invoice" => (parts::select("invoice", "Number", filled.get("invoice"), &invoices(workshop, paper), "", problems)),
                        _ => (parts::select("supply", "Or every lot that holds", filled.get("supply"), &supplies(workshop), "", problems)),
                    }
                }
                @for given in paper.takes.iter().filter(|given| !given.many) {
                    (Field::text(given.name, given.label, filled.get(given.name)).hint(given.hint).draw(problems))
                }
                (parts::select("page", "Paper", filled.get("page"), &papers(), "", problems))
            }
            div.fields {
                @for given in paper.takes.iter().filter(|given| given.many) {
                    (parts::text_area(given.name, given.label, &several(filled, given.name), given.hint, problems))
                }
            }
            p.next {
                button.do type="submit" { "Open the PDF" }
                button.quiet type="submit" name="as" value="svg" { "Look at the first page" }
            }
        }
    }
}

/// Every text given for a field, each on its line.
fn several(filled: &Filled, field: &str) -> String {
    let pairs = filled.pairs().iter();
    let texts: Vec<&str> = pairs
        .filter(|(name, _)| name == field)
        .map(|(_, text)| text.as_str())
        .collect();
    texts.join("\n")
}

type Options = Vec<(String, String)>;

fn papers() -> Options {
    [("", "as usual here"), ("a4", "A4"), ("letter", "US letter")]
        .map(|(value, words)| (value.to_owned(), words.to_owned()))
        .into()
}

fn lots(workshop: &Workshop, paper: &Paper) -> Options {
    let none = (paper.about == About::LotOrSupply).then(|| (String::new(), "choose".to_owned()));
    let lots = workshop.pours().rev().take(LISTED).map(|pour| {
        let words = format!("{} {}", pour.lot, super::today::what_of(workshop, pour));
        (pour.id.to_string(), words)
    });
    none.into_iter().chain(lots).collect()
}

fn goods(workshop: &Workshop, paper: &Paper) -> Options {
    let all = (paper.about == About::Goods).then(|| (String::new(), "all of them".to_owned()));
    let goods = workshop
        .products()
        .map(|good| (good.id.to_string(), good.name.clone()));
    all.into_iter().chain(goods).collect()
}

/// Orders on return: the one paper about an order is for these.
fn orders(workshop: &Workshop) -> Options {
    let orders = workshop.trade().orders().rev();
    orders
        .filter(|order| order.on_return)
        .take(LISTED)
        .map(|order| {
            let words = format!("order {} of {}", order.id, order.day);
            (order.id.to_string(), words)
        })
        .collect()
}

/// Invoices, or credit notes for the paper that is one.
fn invoices(workshop: &Workshop, paper: &Paper) -> Options {
    let is_credit = paper.name == "credit-note";
    let invoices = workshop.trade().invoices().iter().rev();
    invoices
        .filter(|invoice| invoice.credits.is_some() == is_credit)
        .take(LISTED)
        .map(|invoice| {
            let words = format!("{} of {}", invoice.id, invoice.day);
            (invoice.id.to_string(), words)
        })
        .collect()
}

fn supplies(workshop: &Workshop) -> Options {
    let supplies = workshop
        .supplies()
        .map(|supply| (supply.id.to_string(), supply.name.clone()));
    std::iter::once((String::new(), "no supply".to_owned()))
        .chain(supplies)
        .collect()
}
