//! How the books are kept: how stock is valued, the tax on sales, and where
//! the year begins.

use app::App;
use app::forms::{Filled, as_typed};
use app::stall;
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::html;
use measure::Problems;
use workshop::facts::CostMethod;

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{Fault, Site, WHO};

/// Where the books are settled.
pub(crate) const PATH: &str = "/books/kept";

pub(crate) fn routes() -> Router<Site> {
    Router::new().route(PATH, get(kept).post(settle))
}

async fn kept(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| kept_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn settle(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| stall::settle_books(app, WHO, filled),
        |_, _| Ok(PATH.to_owned()),
        kept_page,
    )
    .await
}

fn kept_page(app: &App, typed: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        let known = workshop.trade().books();
        let mut filled = typed.clone();
        if let Some(books) = known {
            let method = match books.method {
                CostMethod::Fifo => "fifo",
                CostMethod::Average => "average",
            };
            filled = filled
                .or("method", method)
                .or("year_day", books.year_day.to_string())
                .or("year_month", books.year_month.to_string());
            if let Some(tax) = &books.tax {
                filled = filled
                    .or("tax_name", &*tax.name)
                    .or("tax_rate", as_typed(workshop, tax.rate))
                    .or("tax_inside", if tax.inside { "inside" } else { "on_top" })
                    .or("tax_number", &*tax.number);
            }
        }
        let tax = known.and_then(|books| books.tax.as_ref());
        let answer = match (known, tax) {
            (None, _) => "That is not settled yet.".to_owned(),
            (Some(_), None) => "No tax on sales.".to_owned(),
            (Some(_), Some(tax)) => {
                let way = if tax.inside { "in the prices" } else { "on top of the prices" };
                format!("{} of {}, {way}.", parts::capital(&tax.name), as_typed(workshop, tax.rate))
            }
        };
        let doubt = known.map_or_else(String::new, |books| {
            format!(
                "Stock is worth what it cost, {}. Sales already written down keep the tax they were made with.",
                books.method.words()
            )
        });
        let pairs = |options: &[(&str, &str)]| -> Vec<(String, String)> {
            let own = |(value, words): &(&str, &str)| ((*value).to_owned(), (*words).to_owned());
            options.iter().map(own).collect()
        };
        let methods = pairs(&[
            ("fifo", CostMethod::Fifo.words()),
            ("average", CostMethod::Average.words()),
        ]);
        let ways = pairs(&[
            ("inside", "in the prices on the table"),
            ("on_top", "added to them"),
        ]);
        Page {
            title: "How are the books kept?".to_owned(),
            place: Place::Books,
            back: Some(("/books".to_owned(), "Books".to_owned())),
            body: html! {
                (parts::question("How are the books kept?"))
                (parts::answer_words(&answer, &doubt))
                (parts::problems(problems))
                form.sheet method="post" action=(PATH) {
                    h2 { "Tax on sales" }
                    div.fields {
                        (Field::text("tax_rate", "Rate", filled.get("tax_rate")).keys("decimal").hint("6.25 %; empty where you take none").draw(problems))
                        (parts::select("tax_inside", "It is", filled.get("tax_inside"), &ways, "", problems))
                        (Field::text("tax_name", "What it is called", filled.get("tax_name")).hint("sales tax, VAT").draw(problems))
                        (Field::text("tax_number", "Your number for it", filled.get("tax_number")).hint("may be empty").draw(problems))
                    }
                    h2 { "Stock and year" }
                    div.fields {
                        (parts::select("method", "Stock is valued", filled.get("method"), &methods, "ask whoever does your return; both are shown", problems))
                        (Field::text("year_day", "The year begins on day", filled.get("year_day")).keys("numeric").hint("1").draw(problems))
                        (Field::text("year_month", "of month", filled.get("year_month")).keys("numeric").hint("1 for January, 4 for April").draw(problems))
                    }
                    p.next { button.do type="submit" { "Keep them so" } }
                }
            },
        }
    })?)
}
