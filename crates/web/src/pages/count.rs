//! How many are there? Counting goods at a place, and what left without being
//! sold.

use app::App;
use app::forms::Filled;
use app::stall::{self, LOSSES, place_named, place_word};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::Problems;
use workshop::facts::{Grade, Place as Spot};
use workshop::selling::{Standing, standing_at};
use workshop::{Item, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::pages::market::{item_words, name_of};
use crate::parts::{self, Field};
use crate::site::{Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/rack/count", get(count).post(keep))
        .route("/rack/count/aside", post(aside))
}

/// A place in words.
pub(crate) fn words_of(workshop: &Workshop, place: Spot) -> String {
    match place {
        Spot::Rack => "the rack".to_owned(),
        Spot::Stall(id) => {
            let day = workshop.trade().market_day(id);
            day.map_or_else(
                || "a stall".to_owned(),
                |day| format!("the stall at {}, {}", day.market, parts::day(day.on)),
            )
        }
        Spot::Packed(id) => format!("what is packed for order {id}"),
        Spot::Shop(id) => format!("the shop of buyer {id}"),
    }
}

/// The address at which a place is counted.
pub(crate) fn path_of(place: Spot) -> String {
    format!("/rack/count?place={}", place_word(place).replace(' ', "+"))
}

async fn count(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| count_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn keep(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    let place = place_in(&pairs);
    site.post(
        pairs,
        |app, filled| stall::count_goods(app, WHO, filled),
        move |_, _| Ok(path_of(place)),
        count_page,
    )
    .await
}

async fn aside(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    let place = place_in(&pairs);
    site.post(
        pairs,
        |app, filled| stall::set_aside(app, WHO, filled),
        move |_, _| Ok(path_of(place)),
        count_page,
    )
    .await
}

fn place_in(pairs: &Pairs) -> Spot {
    let named = pairs.iter().rev().find(|(name, _)| name == "place");
    named
        .and_then(|(_, text)| place_named(text))
        .unwrap_or(Spot::Rack)
}

fn count_page(app: &App, typed: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let today = app.today();
    app.look(|workshop| {
        let place = place_named(typed.get("place")).unwrap_or(Spot::Rack);
        let is_known = match place {
            Spot::Rack => true,
            Spot::Stall(id) => workshop.trade().market_day(id).is_some(),
            Spot::Packed(id) => workshop.trade().order(id).is_some(),
            Spot::Shop(id) => workshop.trade().buyer(id).is_some(),
        };
        if !is_known {
            return Err(Fault::Nothing("place"));
        }
        let standing = standing_at(workshop, place, today);
        let goods: Vec<_> = standing.iter().collect();
        let gaps: i64 = standing
            .values()
            .flatten()
            .filter(|one| one.count < 0)
            .map(|one| -one.count)
            .sum();
        let units: i64 = standing.values().flatten().map(|one| one.count).sum();
        let units = match u32::try_from(units) {
            Ok(units) => parts::counted(units, "unit"),
            Err(_) => format!("{units} units"),
        };
        let title = format!(
            "How many are there? {}",
            parts::capital(&words_of(workshop, place))
        );
        let doubt = if gaps > 0 {
            format!(
                "{gaps} more left than ever came. Count what is there, and say what explains it."
            )
        } else {
            "So many are written down. Count, and say what explains a difference.".to_owned()
        };
        Ok(Page {
            title: title.clone(),
            place: Place::Rack,
            back: Some(match place {
                Spot::Stall(id) => (format!("/stall/day/{id}"), "Market day".to_owned()),
                _ => ("/rack".to_owned(), "Rack".to_owned()),
            }),
            body: html! {
                (parts::question(&title))
                @if goods.is_empty() {
                    p.empty { "Nothing is written down as being here." }
                } @else {
                    (parts::answer_words(&format!("{units}."), &doubt))
                    (parts::problems(problems))
                    (count_form(workshop, place, &goods, typed, problems))
                    (aside_form(workshop, place, &goods, typed, problems))
                }
            },
        })
    })?
}

type Goods<'a> = [(&'a workshop::facts::ProductId, &'a Vec<Standing>)];

fn field_of(stem: &str, product: workshop::facts::ProductId, item: Item) -> String {
    match item {
        Item::Unknown(_) => format!("{stem}[{product}]"),
        Item::Lot(lot, Grade::Good) => format!("{stem}[{product}].{lot}"),
        Item::Lot(lot, Grade::Second) => format!("{stem}[{product}].{lot}.second"),
    }
}

fn count_form(
    workshop: &Workshop,
    place: Spot,
    goods: &Goods,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    html! {
        form.sheet method="post" action="/rack/count" {
            (once::field())
            input type="hidden" name="place" value=(place_word(place));
            @for (product, list) in goods {
                fieldset.run {
                    legend { (name_of(workshop, **product)) }
                    div.fields.tight {
                        @for one in *list {
                            @let field = field_of("count", **product, one.item);
                            @let thought = format!("{} written down", one.count);
                            (Field::text(&field, &parts::capital(&item_words(workshop, one.item)), typed.get(&field)).keys("numeric").hint(&thought).draw(problems))
                        }
                    }
                }
            }
            (Field::text("note", "What explains a difference", if typed.has("how") { "" } else { typed.get("note") }).hint("two were given and not noted").draw(problems))
            p.next { button.do type="submit" { "Keep the count" } }
            p.soft { "A box left empty is not counted. Counting a good also settles its units whose lot nobody knew." }
        }
    }
}

fn aside_form(
    workshop: &Workshop,
    place: Spot,
    goods: &Goods,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let is_wrong = problems
        .iter()
        .any(|it| it.field.starts_with("units") || it.field == "how");
    let hows: Vec<_> = std::iter::once((String::new(), "choose".to_owned()))
        .chain(
            LOSSES
                .iter()
                .map(|(word, how)| ((*word).to_owned(), how.word().to_owned())),
        )
        .collect();
    html! {
        details open[is_wrong] {
            summary { "Some left without being sold" }
            form.sheet method="post" action="/rack/count/aside" {
                (once::field())
                input type="hidden" name="place" value=(place_word(place));
                div.fields.tight {
                    @for (product, list) in goods {
                        @let field = format!("units[{product}]");
                        @let there: i64 = list.iter().map(|one| one.count.max(0)).sum();
                        (Field::text(&field, name_of(workshop, **product), typed.get(&field)).keys("numeric").hint(&format!("{there} there")).draw(problems))
                    }
                }
                div.fields {
                    (parts::select("how", "They were", typed.get("how"), &hows, "", problems))
                    div.field {
                        label for="f-aside-note" { "In words" }
                        input type="text" id="f-aside-note" name="note" autocomplete="off" value=(if typed.has("how") { typed.get("note") } else { "" });
                    }
                }
                p.next { button type="submit" { "Write it down" } }
            }
        }
    }
}
