//! Rack: what cures, what may be sold, and what the weights of a lot say.

use app::App;
use app::forms::{self, Filled};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use maud::{Markup, html};
use measure::{Mass, Problems, System, figure, in_system, percent};
use workshop::facts::PourId;
use workshop::{
    LotBalance, LotWeights, NoRange, OnRack, Pour, Rack, Standing, Workshop, day_after, days_from,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::today::what_of;
use crate::pages::{Pairs, print};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/rack", get(rack))
        .route("/rack/{id}", get(lot))
        .route("/rack/{id}/units", post(weigh_units))
        .route("/rack/{id}/strike", get(strike).post(strike_weight))
        .route("/rack/{id}/hold", post(hold))
        .route("/rack/{id}/release", post(release))
}

async fn rack(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let before = Filled::new(pairs).get("before").parse().ok();
        let today = app.today();
        Ok(app.look(|workshop| rack_page(workshop, today, before))?)
    })
    .await
}

fn rack_page(workshop: &Workshop, today: Date, before: Option<PourId>) -> Page {
    let rack = workshop::rack_on(workshop, today, before);
    let question = if before.is_some() {
        "What stood on the rack before?"
    } else {
        "What may be sold?"
    };
    Page {
        title: question.to_owned(),
        place: Place::Rack,
        back: before.map(|_| ("/rack".to_owned(), "Rack".to_owned())),
        body: html! {
            (parts::question(question))
            @if rack.is_empty() && before.is_none() {
                (parts::empty(
                    "Lots stand here once they are poured: cooling, curing, ready. Nothing has been poured yet.",
                    "/pour/new", "Start a pour"))
            } @else {
                @if before.is_none() { (parts::answer_words(&ready_words(&rack), &rest_words(&rack))) }
                (lines(workshop, today, "Needs hands first", &rack.first))
                (lines(workshop, today, "Curing", &rack.curing))
                @if before.is_none() { (cure_picture(workshop, today, &rack)) }
                (lines(workshop, today, "Ready", &rack.ready))
                (gone(workshop, today, &rack.gone))
                @if before.is_none() { p { a href="/recall" { "Recalls and drills" } } }
                @if before.is_none() { p.next { a.button.quiet href="/rack/count" { "Count the rack" } } }
                @if let Some(older) = rack.older {
                    p.next { a.button.quiet href={ "/rack?before=" (older) } { "Older lots" } }
                }
            }
        },
    }
}

fn ready_words(rack: &Rack) -> String {
    match rack.ready.len() {
        0 if !rack.gone.is_empty() => "Nothing is left that may be sold.".to_owned(),
        0 => "No lot may be sold yet.".to_owned(),
        1 => "1 lot may be sold.".to_owned(),
        n => format!("{n} lots may be sold."),
    }
}

fn rest_words(rack: &Rack) -> String {
    let held = rack
        .first
        .iter()
        .filter(|lot| matches!(lot.standing, Standing::Held(_)))
        .count();
    let mut words = Vec::new();
    if let Some(OnRack {
        standing: Standing::Curing(until),
        ..
    }) = rack.curing.first()
    {
        words.push(format!(
            "{} curing, the next ready on {}.",
            rack.curing.len(),
            parts::day(*until)
        ));
    }
    if held > 0 {
        words.push(format!("{held} on hold."));
    }
    if rack.older.is_some() {
        words.push("Older lots are on the next page.".to_owned());
    }
    words.join(" ")
}

fn lines(workshop: &Workshop, today: Date, heading: &str, lots: &[OnRack]) -> Markup {
    html! {
        @if !lots.is_empty() {
            h2 { (heading) }
            (rows(workshop, today, lots))
        }
    }
}

/// Lots of which none is on the rack, folded away.
fn gone(workshop: &Workshop, today: Date, lots: &[OnRack]) -> Markup {
    html! {
        @if !lots.is_empty() {
            details {
                summary {
                    (parts::counted(u32::try_from(lots.len()).unwrap_or(u32::MAX), "lot"))
                    " of which none is on the rack"
                }
                (rows(workshop, today, lots))
            }
        }
    }
}

fn rows(workshop: &Workshop, today: Date, lots: &[OnRack]) -> Markup {
    html! {
        ul.rows {
            @for lot in lots {
                li {
                    span {
                        a href=(path_of(lot)) { "Lot " (lot.pour.lot) }
                        br;
                        span.soft.small {
                            (what_of(workshop, lot.pour))
                            @if let Some(left) = left_words(workshop, lot.pour) { " · " (left) }
                        }
                    }
                    (standing_line(today, &lot.standing))
                }
            }
        }
    }
}

/// How many of a finished lot are left, of how many that were good.
fn left_words(workshop: &Workshop, pour: &Pour) -> Option<String> {
    let made = pour.finished.as_ref()?.good;
    let left = workshop::left_of(workshop, pour.id).unwrap_or_default();
    let mut words = if left.good == i64::from(made) {
        format!("{made} good")
    } else {
        format!("{} of {made} good left", left.good.max(0))
    };
    if left.seconds > 0 {
        let seconds = u32::try_from(left.seconds).unwrap_or(u32::MAX);
        words = format!("{words}, {}", parts::counted(seconds, "second"));
    }
    if left.elsewhere > 0 {
        words = format!(
            "{words}, {} packed, at a stall or at a shop",
            left.elsewhere
        );
    }
    Some(words)
}

/// Where a lot's next step is: at the bench until it is finished.
fn path_of(lot: &OnRack) -> String {
    match lot.standing {
        Standing::NeedsHands(_) => format!("/pour/{}", lot.pour.id),
        _ => format!("/rack/{}", lot.pour.id),
    }
}

fn standing_line(today: Date, standing: &Standing) -> Markup {
    html! {
        span {
            @match standing {
                Standing::NeedsHands(stage) => {
                    (parts::verdict("unproven", "not finished")) span.soft { " " (stage.word()) }
                }
                Standing::Held(reason) => { (parts::verdict("no", "hold")) span.soft { " " (reason) } }
                Standing::Curing(until) => {
                    (parts::verdict("unproven", "curing")) span.soft { " " (in_days(days_from(today, *until))) ", " (parts::day(*until)) }
                }
                Standing::Ready(since) => { (parts::verdict("yes", "ready")) span.soft { " since " (parts::day(*since)) } }
            }
        }
    }
}

fn in_days(days: i32) -> String {
    match days {
        1 => "1 day more".to_owned(),
        n => format!("{n} days more"),
    }
}

/// Lots that cure, are held, or became ready lately, along the days.
fn cure_picture(workshop: &Workshop, today: Date, rack: &Rack) -> Markup {
    /// Days a ready lot still stands in the picture.
    const NEWS: i32 = 14;
    let standing = rack.first.iter().chain(&rack.curing).chain(&rack.ready);
    let drawn: Vec<(String, &OnRack, Date, Date)> = standing
        .filter(|lot| match lot.standing {
            Standing::Ready(since) => days_from(since, today) <= NEWS,
            Standing::Curing(_) | Standing::Held(_) => true,
            Standing::NeedsHands(_) => false,
        })
        .filter_map(|lot| {
            let name = format!("{} {}", lot.pour.lot, what_of(workshop, lot.pour));
            Some((name, lot, lot.pour.poured?, workshop.ready_on(lot.pour)?))
        })
        .collect();
    let lots: Vec<_> = drawn
        .iter()
        .map(|(name, lot, poured, ready)| press::CureLot {
            name,
            poured: days_from(today, *poured),
            ready: days_from(today, *ready),
            state: match lot.standing {
                Standing::Held(_) => press::CureState::Held,
                Standing::Ready(_) => press::CureState::Ready,
                Standing::Curing(_) | Standing::NeedsHands(_) => press::CureState::Curing,
            },
        })
        .collect();
    let write_day = |days: i32| day_after(today, days).strftime("%-d %b").to_string();
    let picture = press::cure_rack(&press::CureRack {
        lots: &lots,
        today: 0,
        write_day: &write_day,
    });
    html! { @if let Some(picture) = picture { (parts::picture(&picture)) } }
}

async fn lot(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| lot_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

fn lot_page(app: &App, id: PourId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    const QUESTION: &str = "May this lot be sold?";
    let today = app.today();
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("lot"))?;
        let standing = workshop::standing(workshop, pour, today);
        let weights = workshop::lot_weights(workshop, pour);
        let balance = workshop::lot_balance(workshop, pour);
        Ok(Page {
            title: format!("{QUESTION} · Lot {}", pour.lot),
            place: Place::Rack,
            back: Some(("/rack".to_owned(), "Rack".to_owned())),
            body: html! {
                (parts::question(QUESTION))
                p.soft { "Lot " strong { (pour.lot) } " · " (what_of(workshop, pour)) }
                (parts::problems(problems))
                (verdict(workshop, today, pour, standing.as_ref()))
                (next_steps(pour, standing.as_ref()))
                (weights_section(workshop, pour, weights.as_ref(), filled, problems))
                @if let Some(balance) = &balance { (balance_section(workshop, pour, balance)) }
                @if pour.finished.is_some() { (hold_form(pour, filled, problems)) }
                (about(workshop, pour))
            },
        })
    })?
}

fn verdict(workshop: &Workshop, today: Date, pour: &Pour, standing: Option<&Standing>) -> Markup {
    const NO_CURE: &str = "The formula names no days to cure, so nothing here says that it has cured. Nobody holds it; that is no check of weight, label or law.";
    const NO_CHECK: &str = "Ready says that the cure is over and nobody holds it; it is no check of weight, label or law.";
    let cures = workshop
        .recipe_of(pour)
        .is_none_or(|recipe| recipe.cure_days > 0);
    let (class, word, words, doubt) = match standing {
        Some(Standing::Ready(_)) if !cures => (
            "yes",
            "Yes.",
            "No cure time was given.".to_owned(),
            NO_CURE.to_owned(),
        ),
        Some(Standing::Ready(since)) => (
            "yes",
            "Yes.",
            format!("Ready since {}.", parts::day(*since)),
            NO_CHECK.to_owned(),
        ),
        Some(Standing::Curing(until)) => (
            "unproven",
            "Not yet.",
            format!("Curing until {}.", parts::day(*until)),
            format!("{}.", capital(&in_days(days_from(today, *until)))),
        ),
        Some(Standing::Held(reason)) => (
            "no",
            "No.",
            "It is on hold.".to_owned(),
            format!("Why: {reason}"),
        ),
        Some(Standing::NeedsHands(stage)) => (
            "unproven",
            "Not yet.",
            format!("It is {}.", stage.word()),
            String::new(),
        ),
        None => (
            "unproven",
            "Not yet.",
            format!("It is {}.", pour.stage().word()),
            String::new(),
        ),
    };
    html! {
        p.answer.words { (parts::verdict(class, word)) " " (words) }
        @if !doubt.is_empty() { p.doubt { (doubt) } }
        @if let Some(done) = &pour.finished {
            p {
                (done.good) " good"
                @if done.seconds > 0 { ", " (parts::counted(done.seconds, "second")) }
                @if done.rejects > 0 { ", " (parts::counted(done.rejects, "reject")) }
                span.soft { " · finished " (parts::day(done.day)) }
                @let left = workshop::left_of(workshop, pour.id).unwrap_or_default().good;
                @if left != i64::from(done.good) { span.soft { " · " (left.max(0)) " good left on the rack" } }
            }
        }
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

fn next_steps(pour: &Pour, standing: Option<&Standing>) -> Markup {
    html! {
        p.next {
            @if matches!(standing, None | Some(Standing::NeedsHands(_))) {
                a.button.do href={ "/pour/" (pour.id) } { "Go on with it" }
            } @else {
                @if pour.weights().next().is_none() {
                    a.button.do href="#f-weights" { "Weigh some units" }
                    a.button href={ "/books/lot/" (pour.id) } { "What did it cost?" }
                } @else {
                    a.button.do href={ "/books/lot/" (pour.id) } { "What did it cost?" }
                    a.button href="#f-weights" { "Weigh more units" }
                }
            }
            @if pour.weights().next().is_some() || !pour.wrapped.is_empty() {
                a.button href={ "/rack/" (pour.id) "/weight" } { "What may I say it weighs?" }
            }
            @if let Some(mould) = pour.mould {
                a.button.quiet href={ "/bench/mould/" (mould) } { "How much next time?" }
            }
        }
        p {
            "Print: " (print::link("batch-record", "lot", pour.id, "the batch record"))
            @if let Some(product) = pour.product {
                ", " a href={ "/label/sheet?" (parts::query(&[("run[0].product", product.to_string()), ("run[0].lot", pour.id.to_string())])) } { "its labels" }
            }
            @if pour.poured.is_some() {
                ", or " a href={ "/print/recall-notice/ask?lot=" (pour.id) } { "a notice that calls it back" }
            }
            "."
            @if pour.finished.is_some() { " " a href={ "/rack/" (pour.id) "/where" } { "Who has this lot?" } }
            @if pour.finished.is_some() && pour.product.is_some() { " " a href={ "/label/where?lot=" (pour.id) } { "Where may it go?" } }
        }
    }
}

fn weights_section(
    workshop: &Workshop,
    pour: &Pour,
    weights: Option<&LotWeights>,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    html! {
        h2 id="weights" { "What does a unit weigh?" }
        @match weights {
            None => p.empty { "No unit was weighed yet. Weigh a few, bare, without wrap." },
            Some(weights) => {
                (mean_line(workshop, pour, weights))
                (weights_picture(workshop, pour, weights))
                (parts::working("weights-working", &weights.working))
                @for odd in &weights.odd {
                    p.note { (parts::capital(odd)) ". Strike what was wrong below; until then these weights are not learned from." }
                }
                (every_weight(pour))
            }
        }
        @if pour.poured.is_some() {
            form.sheet method="post" action={ "/rack/" (pour.id) "/units" } data-keep={ "rack-units-" (pour.id) } {
                (once::field())
                (weights_fields("Add unit weights", workshop, filled, problems))
                p.next { button type="submit" { "Add weights" } }
            }
        }
    }
}

/// The boxes for unit weights: the weights and, where they do not fit what went
/// in, why they are right all the same.
pub(crate) fn weights_fields(
    label: &str,
    workshop: &Workshop,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let unit = workshop.system().mass_unit().symbol();
    let asked = filled.has("weights_reason") || problems.of("weights_reason").is_some();
    html! {
        div.fields.wide {
            (Field::text("weights", label, filled.get("weights"))
                .hint(&forms::example(workshop, &format!("several at once: 1.5, 1.6, 1.55; in {unit} unless you say otherwise"))).draw(problems))
            @if asked {
                (Field::text("weights_reason", "Why they are right all the same", filled.get("weights_reason"))
                    .hint("kept with these weights").draw(problems))
            }
        }
    }
}

fn mean_line(workshop: &Workshop, pour: &Pour, weights: &LotWeights) -> Markup {
    let system = workshop.system();
    let show = |mass: Mass| in_system(mass, system).to_string();
    html! {
        p {
            "On average " strong { (fig(show(weights.mean))) }
            span.soft { " (" (in_system(weights.mean, system.other()).to_string()) ")" }
            @if let Some(spread) = weights.spread { ", give or take " (fig(show(spread))) " from unit to unit" }
            "."
        }
        p.doubt {
            @if let Some((low, high)) = weights.next_unit {
                "The next unit of this lot weighs " (show(low)) " to " (show(high)) ", nine times in ten. "
            }
            "Rests on " (counted(weights.grams.len(), "unit")) " of this lot alone."
            @match weights.no_range {
                None => {}
                Some(NoRange::TooFew) => { " Weigh two or more that differ and the doubt is known too." }
                Some(NoRange::TooFarApart) => { " They are too few, or too far apart, to say what the next one weighs." }
            }
            @if let Some(mould) = pour.mould {
                " What a unit of the next pour weighs rests on every pour of the mould: "
                a href={ "/bench/mould/" (mould) } { "what they taught" } "."
            }
        }
    }
}

fn counted(n: usize, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
    }
}

fn weights_picture(workshop: &Workshop, pour: &Pour, weights: &LotWeights) -> Markup {
    let system = workshop.system();
    let unit = system.mass_unit();
    let mould = pour.mould.and_then(|mould| workshop.mould(mould));
    let one = mould.map_or("unit", |mould| mould.format.word());
    let many = format!("{one}s");
    let shown: Vec<f64> = pour
        .weights()
        .map(|weight| weight.value().to_f64(unit))
        .collect();
    let places = match system {
        System::Metric => 1,
        System::Us | System::Imperial => 2,
    };
    let write = |value: f64| format!("{} {}", figure(value, places), unit.symbol());
    let picture = press::unit_weights(&press::UnitWeights {
        noun: press::Noun { one, many: &many },
        weights: &shown,
        nominal: mould
            .and_then(|mould| mould.nominal.as_ref())
            .map(|nominal| press::Nominal {
                word: "nominal",
                weight: nominal.value().to_f64(unit),
            }),
        next: weights
            .next_unit
            .map(|(low, high)| (low.to_f64(unit), high.to_f64(unit))),
        write: &write,
    });
    html! { @if let Some(picture) = picture { (parts::picture(&picture)) } }
}

fn every_weight(pour: &Pour) -> Markup {
    html! {
        details {
            summary { "Every weight, and how to strike a wrong one" }
            ul.rows {
                @for (nth, (weight, struck)) in pour.unit_weights.iter().enumerate() {
                    li {
                        @if *struck {
                            span { del { (fig(weight.to_string())) } span.soft { " struck, counts no more" } }
                        } @else {
                            span {
                                (fig(weight.to_string()))
                                @if let Some(reason) = u32::try_from(nth).ok().and_then(|nth| pour.weights_kept.get(&nth)) {
                                    span.soft { " kept, because: " (reason) }
                                }
                            }
                            a href={ "/rack/" (pour.id) "/strike?nth=" (nth) } { "strike" }
                        }
                    }
                }
            }
        }
    }
}

fn balance_section(workshop: &Workshop, pour: &Pour, balance: &LotBalance) -> Markup {
    let show = |mass: Mass| workshop::balance_mass(workshop, mass);
    html! {
        h2 { "Where did the melt go?" }
        dl.facts {
            dt { "Put in" } dd { (show(balance.put_in)) }
            dt { "In goods" } dd { (show(balance.in_goods)) }
            @if pour.count.as_ref().is_some_and(|count| count.left.is_some()) {
                dt { "Poured back" } dd { (show(balance.poured_back)) }
            }
            dt { "Not accounted for" } dd { strong { (show(balance.unaccounted)) } ", " (balance.unaccounted_share) }
        }
        @if balance.ask {
            p.note {
                "That is well above the " (percent(balance.expected, 1)) " you expect. Drips, or jug not scraped? "
                "If a weight or the count is wrong, " a href={ "/pour/" (pour.id) } { "put it right" } "."
            }
        } @else if balance.is_too_much {
            p.note { "More came out than went in. A weight or the count is wrong, or the few units weighed are the heavy ones." }
        }
        (parts::working("balance-working", &balance.working))
    }
}

fn hold_form(pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    let field = |label, hint| {
        Field {
            required: true,
            ..Field::text("reason", label, filled.get("reason"))
        }
        .hint(hint)
        .draw(problems)
    };
    html! {
        @if pour.held.is_some() {
            h2 { "Release it" }
            form.sheet method="post" action={ "/rack/" (pour.id) "/release" } {
                div.fields.wide { (field("Why it may be sold after all", "kept with the lot for good")) }
                p.next { button type="submit" { "Release" } }
            }
        } @else {
            h2 { "Hold it" }
            form.sheet method="post" action={ "/rack/" (pour.id) "/hold" } {
                div.fields.wide { (field("Why it must not be sold", "sweating, frosting, wrong oil; kept with the lot for good")) }
                p.next { button type="submit" { "Hold" } }
            }
        }
    }
}

fn about(workshop: &Workshop, pour: &Pour) -> Markup {
    let formula = workshop
        .formula(pour.formula)
        .map(|formula| formula.name.as_str());
    let mould = pour.mould.and_then(|mould| workshop.mould(mould));
    let product = pour.product.and_then(|product| workshop.product(product));
    html! {
        h2 { "Where it came from" }
        dl.facts {
            dt { "Pour" } dd {
                a href={ "/pour/" (pour.id) } { "Everything weighed and counted" }
                @if let Some(day) = pour.poured { ", poured " (parts::day(day)) }
            }
            @if let Some(name) = formula {
                dt { "Formula" } dd { a href={ "/bench/formula/" (pour.formula) } { (name) } ", revision " (pour.revision) }
            }
            @if let Some(mould) = mould {
                dt { "Mould or vessel" } dd { a href={ "/bench/mould/" (mould.id) } { (mould.name) } }
            }
            @if let Some(product) = product {
                dt { "Good" } dd { a href={ "/stall/good/" (product.id) } { (product.name) } }
            }
            @if pour.finished.is_some() {
                dt { "Cost" } dd { a href={ "/books/lot/" (pour.id) } { "What this lot cost" } }
            }
        }
    }
}

async fn weigh_units(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::weigh_units(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/{id}")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}

async fn hold(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::hold(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/{id}")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}

async fn release(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::release(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/{id}")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}

async fn strike(
    State(site): State<Site>,
    At(id): At<PourId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| strike_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn strike_weight(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::strike_unit_weight(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/{id}")),
        move |app, filled, problems| strike_page(app, id, filled, problems),
    )
    .await
}

fn strike_page(app: &App, id: PourId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    const QUESTION: &str = "Was this weight wrong?";
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("lot"))?;
        let nth = filled.get("nth");
        let weight = nth
            .parse()
            .ok()
            .and_then(|nth: usize| pour.unit_weights.get(nth))
            .filter(|(_, struck)| !struck)
            .map(|(weight, _)| weight)
            .ok_or(Fault::Nothing("unit weight"))?;
        Ok(Page {
            title: QUESTION.to_owned(),
            place: Place::Rack,
            back: Some((format!("/rack/{id}"), format!("Lot {}", pour.lot))),
            body: html! {
                (parts::question(QUESTION))
                (parts::answer(&weight.to_string(), "", "It stays on record as struck and counts no more."))
                (parts::problems(problems))
                form.sheet method="post" action={ "/rack/" (id) "/strike" } {
                    input type="hidden" name="nth" value=(nth);
                    div.fields.wide {
                        (Field { required: true, ..Field::text("reason", "What had gone wrong", filled.get("reason")) }
                            .hint("two units on the scale, a slip of the pen").draw(problems))
                    }
                    p.next {
                        button.do type="submit" { "Strike it" }
                        a.button.quiet href={ "/rack/" (id) } { "Leave it" }
                    }
                }
            },
        })
    })?
}
