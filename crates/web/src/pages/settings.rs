//! Settings: how the workshop reads and shows its figures, and what its time costs.

use app::App;
use app::forms::{self, Filled, SYSTEMS, as_typed, example, word_of};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::Response;
use axum::routing::get;
use maud::html;
use measure::{DecimalMark, Problems};
use workshop::Workshop;

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/settings", get(show).post(set))
}

async fn show(
    State(site): State<Site>,
    headers: HeaderMap,
    Query(pairs): Query<Pairs>,
) -> Response {
    let language = headers
        .get(header::ACCEPT_LANGUAGE)
        .and_then(|language| language.to_str().ok())
        .unwrap_or_default()
        .to_owned();
    site.run(move |app| {
        let first = first_choices(&language);
        let filled = Filled::new(pairs).or("system", first.system);
        let filled = filled
            .or("currency", first.currency)
            .or("decimal_mark", first.decimal_mark);
        page(app, &filled, &Problems::default())
    })
    .await
}

async fn set(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| forms::set_up(app, WHO, filled),
        |_, _| Ok("/settings?kept=yes".to_owned()),
        page,
    )
    .await
}

/// What a first visit finds chosen.
struct First {
    system: &'static str,
    currency: &'static str,
    decimal_mark: &'static str,
}

/// Guesses by the languages a browser asks for; everything can be changed.
fn first_choices(language: &str) -> First {
    let first = language
        .split([',', ';'])
        .next()
        .unwrap_or_default()
        .trim()
        .to_lowercase();
    let (system, currency, decimal_mark) = match first.as_str() {
        "en-gb" => ("metric", "GBP", "point"),
        "en-au" | "en-nz" => ("metric", "AUD", "point"),
        "en-ca" => ("metric", "CAD", "point"),
        "en-ie" => ("metric", "EUR", "point"),
        "" | "en" | "en-us" => ("us", "USD", "point"),
        other if other.starts_with("en") => ("metric", "USD", "point"),
        _ => ("metric", "EUR", "comma"),
    };
    First {
        system,
        currency,
        decimal_mark,
    }
}

/// The settings as they would be typed; what was typed stays.
fn as_filled(workshop: &Workshop, typed: &Filled) -> Filled {
    let Some(settings) = workshop.settings() else {
        let step = if typed.get("system") == "metric" {
            "1 g"
        } else {
            "0.1 oz"
        };
        return typed.clone().or("readability", step);
    };
    let text = |figure: Option<String>| figure.unwrap_or_default();
    let mark = match settings.decimal_mark {
        DecimalMark::Point => "point",
        DecimalMark::Comma => "comma",
    };
    let own = |figure: &dyn std::fmt::Display| as_typed(workshop, figure);
    let stands = Filled::default()
        .with("name", settings.name.as_str())
        .with("system", word_of(&SYSTEMS, &settings.system))
        .with("currency", settings.currency.code())
        .with("decimal_mark", mark)
        .with("readability", own(&settings.readability))
        .with(
            "expected_loss",
            text(settings.expected_loss.as_ref().map(|loss| own(loss))),
        )
        .with(
            "melter",
            text(settings.melter.as_ref().map(|melter| own(melter))),
        )
        .with("wage", text(settings.wage.as_ref().map(|wage| own(wage))))
        .with(
            "overhead_per_hour",
            text(
                settings
                    .overhead_per_hour
                    .as_ref()
                    .map(|hourly| own(hourly)),
            ),
        );
    // A form that came back with problems holds every field; a first look none.
    if typed.has("name") {
        typed.clone()
    } else {
        stands
    }
}

fn page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        let kept = filled.some("kept").is_some() && problems.is_empty();
        let filled = as_filled(workshop, filled);
        let own = |sentence: &str| example(workshop, sentence);
        let choice = |value: &str, words: &str| (value.to_owned(), words.to_owned());
        let systems = [
            choice("us", "ounces and pounds (US)"),
            choice("imperial", "ounces and pounds (UK)"),
            choice("metric", "grams and millilitres"),
        ];
        let marks = [choice("point", "a point: 1.5"), choice("comma", "a comma: 1,5")];
        Page {
            title: "How does this workshop count?".to_owned(),
            place: Place::Today,
            back: Some(("/".to_owned(), "Today".to_owned())),
            body: html! {
                (parts::question("How does this workshop count?"))
                @if kept { p.said role="status" { "Kept. Every page counts this way from now on." } }
                @if workshop.settings().is_none() {
                    p.doubt { "Three choices to begin with; the rest can wait until you know it." }
                } @else {
                    p.doubt { "What is already written down keeps the units and the currency it was written in." }
                }
                (parts::problems(problems))
                form.sheet method="post" action="/settings" {
                    fieldset {
                        legend { "The workshop" }
                        div.fields {
                            (Field::text("name", "Its name", filled.get("name")).hint("stands at the head of every page").draw(problems))
                            (parts::select("system", "It weighs in", filled.get("system"), &systems, "either can be typed anywhere; US or UK is about fluid ounces", problems))
                            (Field::text("currency", "Its currency", filled.get("currency")).hint("three letters, such as GBP").draw(problems))
                            (parts::select("decimal_mark", "Decimals are written with", filled.get("decimal_mark"), &marks, "", problems))
                        }
                    }
                    fieldset {
                        legend { "The bench" }
                        div.fields {
                            (Field::text("readability", "The scale reads to", filled.get("readability")).hint(&own("its smallest step, such as 0.1 oz or 1 g")).draw(problems))
                            (Field::text("expected_loss", "Lost in pot and pitcher", filled.get("expected_loss")).hint(&own("a share such as 1.5 %, until your pours say better")).draw(problems))
                            (Field::text("melter", "The melter holds", filled.get("melter")).hint(&own("such as 6 lb or 2.7 kg; a pour that is larger says so")).draw(problems))
                        }
                    }
                    fieldset {
                        legend { "Your time" }
                        div.fields {
                            (Field::text("wage", "An hour of hands-on work is worth", filled.get("wage")).keys("decimal").hint("without it, cost holds no time").draw(problems))
                            (Field::text("overhead_per_hour", "Overhead for that hour", filled.get("overhead_per_hour")).keys("decimal").hint("rent, power, insurance and the like, a year of it over a year's hands-on hours").draw(problems))
                        }
                    }
                    p.next { button.do type="submit" { "Keep this" } }
                }
            },
        }
    })?)
}
