//! The lots of a supply: what is left of each, which is open, how long it lasts.

use app::App;
use app::forms::Filled;
use app::supply_lots::{self, WHY, lot_key};
use axum::Router;
use axum::extract::{Form, State};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use maud::{Markup, html};
use measure::Problems;
use workshop::facts::{SupplyId, SupplyLot, Suspect};
use workshop::lots::{LotUse, SupplyLots, USE_DAYS, days_of_use, lots_of};
use workshop::trace::receipt_of;
use workshop::{Supply, Workshop, amount_of};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, trace};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Lots that are used up and still listed.
const LISTED: usize = 20;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/shelf/supply/{id}/lots", get(lots))
        .route("/shelf/supply/{id}/open", post(open))
        .route("/shelf/supply/{id}/waste", post(waste))
        .route("/shelf/supply/{id}/count", post(count))
        .route("/shelf/supply/{id}/date", post(date))
}

async fn lots(State(site): State<Site>, At(id): At<SupplyId>) -> Response {
    site.run(move |app| lots_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn open(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| supply_lots::open(app, WHO, id, filled),
        move |_, _| Ok(format!("/shelf/supply/{id}/lots")),
        move |app, filled, problems| lots_page(app, id, filled, problems),
    )
    .await
}

async fn waste(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| supply_lots::waste(app, WHO, id, filled),
        move |_, _| Ok(format!("/shelf/supply/{id}/lots")),
        move |app, filled, problems| lots_page(app, id, filled, problems),
    )
    .await
}

async fn count(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| supply_lots::count(app, WHO, id, filled),
        move |_, _| Ok(format!("/shelf/supply/{id}/lots")),
        move |app, filled, problems| lots_page(app, id, filled, problems),
    )
    .await
}

async fn date(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| supply_lots::date(app, WHO, filled),
        move |_, _| Ok(format!("/shelf/supply/{id}/lots")),
        move |app, filled, problems| lots_page(app, id, filled, problems),
    )
    .await
}

/// How long what is on hand lasts, in words.
pub(crate) fn lasts(workshop: &Workshop, supply: &Supply, today: Date) -> Option<String> {
    let days = days_of_use(workshop, supply.id, supply.stock.on_hand(), today)?;
    Some(match days {
        1 => "1 day".to_owned(),
        days if days > 730 => "more than two years".to_owned(),
        days => format!("{days} days"),
    })
}

fn lots_page(app: &App, id: SupplyId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    const QUESTION: &str = "Which lot is in use?";
    let today = app.today();
    app.look(|workshop| {
        let supply = workshop.supply(id).ok_or(Fault::Nothing("supply"))?;
        let lots = lots_of(workshop, id);
        let say = |smallest| amount_of(supply.kind, smallest, workshop.system());
        let doubt = match lasts(workshop, supply, today) {
            Some(days) => format!(
                "{} on hand; at the rate of the last {USE_DAYS} days that lasts {days}.",
                say(supply.stock.on_hand())
            ),
            None => format!(
                "{} on hand; none was used in the last {USE_DAYS} days.",
                say(supply.stock.on_hand())
            ),
        };
        Ok(Page {
            title: format!("{QUESTION} · {}", supply.name),
            place: Place::Shelf,
            back: Some((format!("/shelf/supply/{id}"), supply.name.clone())),
            body: html! {
                (parts::question(QUESTION))
                p.soft { (supply.name) }
                (parts::problems(problems))
                (parts::answer_words(&in_use(workshop, &lots), &doubt))
                @if supply.stock.on_hand() < 0 {
                    p.note { (parts::verdict("no", "does not add up")) " More was used than ever came in. Write down the delivery that is missing, or count it below." }
                }
                (table(workshop, supply, &lots, today))
                @if !lots.lots.is_empty() { (forms_of(workshop, supply, &lots, filled, problems)) }
            },
        })
    })?
}

fn in_use(workshop: &Workshop, lots: &SupplyLots) -> String {
    let open = lots
        .open
        .filter(|lot| lots.lot(*lot).is_some_and(|of| of.left() > 0));
    let oldest = lots.lots.iter().find(|(_, of)| of.left() > 0);
    match (open, oldest) {
        (Some(lot), _) => format!("{} is open.", lot_words(workshop, lot)),
        (None, Some((lot, _))) => format!(
            "None was said to be open: it comes out of the oldest, {}.",
            lot_words(workshop, *lot)
        ),
        (None, None) if lots.lots.is_empty() => "No delivery of it is written down yet.".to_owned(),
        (None, None) => "Every lot is used up.".to_owned(),
    }
}

/// A lot in a few words: the supplier's number, or the day it came.
pub(crate) fn lot_words(workshop: &Workshop, lot: SupplyLot) -> String {
    match receipt_of(workshop, lot) {
        Some((receipt, line)) if line.supplier_lot.is_empty() => {
            format!("the lot of {}", parts::day(receipt.day))
        }
        Some((_, line)) => format!("lot {}", line.supplier_lot),
        None => "a lot".to_owned(),
    }
}

fn table(workshop: &Workshop, supply: &Supply, lots: &SupplyLots, today: Date) -> Markup {
    let say = |smallest| amount_of(supply.kind, smallest, workshop.system());
    let used_up = lots.lots.iter().filter(|(_, of)| of.left() <= 0).count();
    let skipped = used_up.saturating_sub(LISTED);
    let mut seen = 0;
    let shown: Vec<&(SupplyLot, LotUse)> = lots
        .lots
        .iter()
        .filter(|(_, of)| {
            // Of those used up, the youngest are the ones still asked about.
            let is_empty = of.left() <= 0;
            seen += usize::from(is_empty);
            !is_empty || seen > skipped
        })
        .collect();
    html! {
        @if !shown.is_empty() {
            table.stack {
                thead { tr { th { "Lot" } th { "Came" } th.n { "Left" } th { "Opened" } th { "Best before" } th {} } }
                tbody {
                    @for (lot, of) in shown {
                        @let date = workshop.supply_date(*lot);
                        tr {
                            td { a href=(trace::path_of(Suspect::SupplyLot(*lot))) { (parts::capital(&lot_words(workshop, *lot))) }
                                @if lots.open == Some(*lot) { " " (parts::verdict("yes", "open")) } }
                            td data-label="Came" { @if let Some(day) = of.received_on { (parts::day(day)) } ", " (fig(say(of.received))) }
                            td.n data-label="Left" { (fig(say(of.left()))) }
                            td data-label="Opened" { @if let Some(day) = of.opened_on { (parts::day(day)) } @else { span.soft { "–" } } }
                            td data-label="Best before" {
                                @if let Some(day) = date {
                                    (parts::day(day))
                                    @if day < today && of.left() > 0 { " " (parts::verdict("no", "past its date")) }
                                } @else { span.soft { "–" } }
                            }
                            td {
                                @if lots.open != Some(*lot) && of.left() > 0 {
                                    form method="post" action={ "/shelf/supply/" (supply.id) "/open" } {
                                        input type="hidden" name="lot" value=(lot_key(*lot));
                                        button.quiet type="submit" aria-label={ "Open " (lot_words(workshop, *lot)) } { "Open it" }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @if skipped > 0 { p.soft { (skipped) " older lots are used up." } }
        }
        @if let Some(open) = lots.open {
            @let there = lots.lot(open).map_or(0, LotUse::left);
            @let others = lots.lots.iter().any(|(lot, of)| *lot != open && of.left() > 0);
            @if there > 0 && others {
                p.soft { "Opening another does not use up " (lot_words(workshop, open)) ": the " (fig(say(there))) " in it stay on the shelf." }
            }
        }
        @let unaccounted: i64 = lots.unaccounted.values().sum();
        @if unaccounted > 0 {
            p.note { (fig(say(unaccounted))) " went into pours and came out of no lot: a delivery is missing, or a weight is wrong." }
        }
    }
}

fn forms_of(
    workshop: &Workshop,
    supply: &Supply,
    lots: &SupplyLots,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let words = |lot: &SupplyLot| (lot_key(*lot), parts::capital(&lot_words(workshop, *lot)));
    let some: Vec<_> = lots
        .lots
        .iter()
        .rev()
        .filter(|(_, of)| of.left() > 0)
        .map(|(lot, _)| words(lot))
        .collect();
    let all: Vec<_> = lots
        .lots
        .iter()
        .rev()
        .map(|(lot, _)| words(lot))
        .take(60)
        .collect();
    let with = |first: &str, rest: &[(String, String)]| -> Vec<(String, String)> {
        let first = (String::new(), first.to_owned());
        std::iter::once(first).chain(rest.iter().cloned()).collect()
    };
    let why: Vec<_> = std::iter::once((String::new(), "choose".to_owned()))
        .chain(
            WHY.iter()
                .map(|(word, why)| ((*word).to_owned(), why.words().to_owned())),
        )
        .collect();
    let unit = if supply.kind.is_weighed() {
        format!(
            "in {} unless you say otherwise",
            workshop.system().mass_unit().symbol()
        )
    } else {
        "a whole number".to_owned()
    };
    let path = format!("/shelf/supply/{}", supply.id);
    // Three forms stand on the page, and each has a lot of its own.
    let lot = |id: &str, options: &[(String, String)]| {
        html! {
            div.field {
                label for=(id) { "Which lot" }
                select id=(id) name="lot" {
                    @for (value, words) in options { option value=(value) selected[value == filled.get("lot")] { (words) } }
                }
            }
        }
    };
    html! {
        form.sheet method="post" action={ (path) "/count" } {
            h2 { "Counted it?" }
            (once::field())
            div.fields {
                (lot("f-lot", &with("all of it together", &all)))
                (Field::text("counted", "There is", filled.get("counted")).hint(&unit).draw(problems))
                (Field::text("count_note", "What explains a difference", filled.get("count_note")).hint("may stay empty").draw(problems))
            }
            p.next { button type="submit" { "Write down the count" } }
        }
        form.sheet method="post" action={ (path) "/waste" } {
            h2 { "Threw some away?" }
            (once::field())
            div.fields {
                (lot("f-lot-wasted", &with("whichever is open", &some)))
                (Field::text("wasted", "Gone", filled.get("wasted")).hint(&unit).draw(problems))
                (parts::select("why", "Why", filled.get("why"), &why, "", problems))
                (Field::text("waste_note", "In words", filled.get("waste_note")).hint("may stay empty").draw(problems))
            }
            p.next { button type="submit" { "Take it off the shelf" } }
        }
        form.sheet method="post" action={ (path) "/date" } {
            h2 { "A date on the package?" }
            div.fields {
                (lot("f-lot-dated", &all))
                (date_field(filled, problems))
            }
            p.next { button type="submit" { "Note the date" } }
        }
    }
}

fn date_field(filled: &Filled, problems: &Problems) -> Markup {
    let problem = problems.of("best_before");
    html! {
        div.field.wrong[problem.is_some()] {
            label for="f-best_before" { "Best before" }
            input type="date" #f-best_before name="best_before" value=(filled.get("best_before"))
                aria-invalid=[problem.map(|_| "true")] aria-describedby="f-best_before-more";
            (parts::beneath("f-best_before", "empty where it carries none", problem))
        }
    }
}
