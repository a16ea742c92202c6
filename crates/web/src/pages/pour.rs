//! Pour: the pour sheet, the guided weigh-out, and what came out.

use app::forms::{self, Filled, as_typed};
use app::pouring::{self, Ask};
use app::supply_lots::{self, lot_key};
use app::{ActError, App, Done};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::{Problems, Reading, Typed, in_system};
use workshop::facts::{AfterSlip, Fact, PartFill, PourId};
use workshop::lots::{lots_of, next_lot};
use workshop::{Pour, Stage, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::supply_lots::lot_words;
use crate::pages::{Pairs, bench, rack, today};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Finished pours listed below the open ones.
const LISTED: usize = 20;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/pour", get(list))
        .route("/pour/new", get(new).post(start))
        .route("/pour/{id}", get(show))
        .route("/pour/{id}/sheet", get(sheet))
        .route("/pour/{id}/stickers", get(stickers))
        .route("/pour/{id}/pot", post(pot))
        .route("/pour/{id}/weigh", post(weigh))
        .route("/pour/{id}/correct", get(correction).post(correct))
        .route("/pour/{id}/draw", post(draw))
        .route("/pour/{id}/slip", post(slip))
        .route("/pour/{id}/add", post(add))
        .route("/pour/{id}/poured", post(poured))
        .route("/pour/{id}/count", post(count))
        .route("/pour/{id}/demould", post(demould))
        .route("/pour/{id}/units", post(units))
        .route("/pour/{id}/finish", post(finish))
        .route("/pour/{id}/lot", post(correct_lot))
        .route("/pour/{id}/give-up", post(abandon))
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|app| {
        Ok(app.look(|workshop| Page {
            title: "What is being poured?".to_owned(),
            place: Place::Pour,
            back: None,
            body: html! {
                (parts::question("What is being poured?"))
                @if workshop.n_pours() == 0 {
                    (parts::empty("Every pour is written down here, from the first weight to the rack.", "/quick", "Start with a quick pour"))
                } @else {
                    p.next { a.button.do href="/pour/new" { "Start a pour" } a.button.quiet href="/quick" { "Quick pour" } }
                    ul.rows {
                        @for pour in workshop.open_pours() { (row(workshop, pour)) }
                    }
                    @if workshop.open_pours().next().is_none() { p.soft { "Nothing is on the bench." } }
                    h2 { "On the rack" }
                    ul.rows {
                        @for pour in workshop.pours().rev().filter(|pour| pour.finished.is_some()).take(LISTED) { (row(workshop, pour)) }
                    }
                }
            },
        })?)
    })
    .await
}

fn row(workshop: &Workshop, pour: &Pour) -> Markup {
    html! {
        li {
            span { a href={ "/pour/" (pour.id) } { "Lot " (pour.lot) } " " (today::what_of(workshop, pour)) }
            span { (fig(pouring::planned_weight(workshop, pour))) }
            span.soft { (pour.stage().word()) }
        }
    }
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn start(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| pouring::start(app, WHO, filled),
        |_, done| Ok(started(&done.facts)),
        new_page,
    )
    .await
}

fn started(facts: &[Fact]) -> String {
    facts
        .iter()
        .find_map(|fact| match fact {
            Fact::PourStarted(fact) => Some(format!("/pour/{}", fact.pour)),
            _ => None,
        })
        .unwrap_or_else(|| "/pour".to_owned())
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let ask = pouring::ask(app, filled)?;
    // Opening the page is no mistake: nothing is unclear before it was filled in.
    let unclear = match &ask.planned {
        Err(unclear) if problems.is_empty() && !filled.pairs().is_empty() => unclear.clone(),
        _ => Problems::default(),
    };
    let beside = if problems.is_empty() {
        &unclear
    } else {
        problems
    };
    Ok(app.look(|workshop| Page {
        title: "What do I pour?".to_owned(),
        place: Place::Pour,
        back: Some(("/pour".to_owned(), "Pour".to_owned())),
        body: html! {
            (parts::question("How much do I weigh out?"))
            @if workshop.formulas().next().is_none() {
                (parts::empty("A pour follows a formula, and none is written down yet.", "/quick", "Start with a quick pour"))
            } @else {
                (parts::problems(problems))
                div data-part="answer" {
                    @if problems.is_empty() { (asked(workshop, &ask, &unclear)) }
                }
                (start_form(workshop, &ask, beside))
            }
        },
    })?)
}

fn asked(workshop: &Workshop, ask: &Ask, unclear: &Problems) -> Markup {
    let of_mould = ["product", "mould"].map(|field| ask.filled.some(field).is_some());
    let has_goods = workshop.products().next().is_some();
    html! {
        @match &ask.planned {
            Ok(Some(planned)) => (bench::weigh_out(workshop, planned, &ask.rests_on)),
            Ok(None) | Err(_) if unclear.is_empty() => {
                p.doubt {
                    @if of_mould.contains(&true) {
                        "Nothing says yet what one unit takes. Write how much to melt; after the first pour the mould knows."
                    } @else if has_goods {
                        "Choose what it is for, or a mould and how many; or write how much to melt."
                    } @else {
                        "Choose a mould and how many, or write how much to melt."
                    }
                }
            }
            Ok(None) | Err(_) => {
                div.problems role="alert" { h2 { "Nothing was worked out yet" } (parts::problem_list(unclear)) }
            }
        }
    }
}

fn start_form(workshop: &Workshop, ask: &Ask, problems: &Problems) -> Markup {
    let filled = &ask.filled;
    let option = |id: String, name: &str| (id, name.to_owned());
    let none = |words: &str| std::iter::once((String::new(), words.to_owned()));
    let products: Vec<_> = none("a trial")
        .chain(
            workshop
                .products()
                .map(|product| option(product.id.to_string(), &product.name)),
        )
        .collect();
    let formulas: Vec<_> = workshop
        .formulas()
        .map(|formula| option(formula.id.to_string(), &formula.name))
        .collect();
    let moulds: Vec<_> = none("no mould")
        .chain(
            workshop
                .moulds()
                .map(|mould| option(mould.id.to_string(), &mould.name)),
        )
        .collect();
    html! {
        form.sheet method="get" action="/pour/new" data-live="/pour/new" {
            (once::field())
            div.fields {
                @if workshop.products().next().is_some() {
                    (parts::select("product", "For", filled.get("product"), &products, "a good brings its formula, mould and packing; the cost of a trial has no packing in it", problems))
                }
                div data-part="which" {
                    @if filled.some("product").is_some() {
                        p.soft { "Formula and mould come with the good." }
                    } @else {
                        (parts::select("formula", "Formula", filled.get("formula"), &formulas, "", problems))
                        (parts::select("mould", "Mould or vessel", filled.get("mould"), &moulds, "", problems))
                    }
                }
                (Field::text("wanted", "Units wanted", filled.get("wanted")).keys("numeric").draw(problems))
                (Field::text("chance", "How sure", filled.get("chance")).hint("90 %: enough nine times in ten").draw(problems))
                (Field::text("melt", "Or melt exactly this much", filled.get("melt")).hint("leave empty to follow the advice").draw(problems))
            }
            p.next {
                button type="submit" { "Work it out" }
                button.do type="submit" formaction="/pour/new" formmethod="post" { "Start weighing" }
            }
        }
    }
}

async fn show(
    State(site): State<Site>,
    At(id): At<PourId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| pour_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

/// One page for a pour, whatever it waits for.
fn pour_page(app: &App, id: PourId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("pour"))?;
        Ok(Page {
            title: format!("Lot {}", pour.lot),
            place: Place::Pour,
            back: Some(("/pour".to_owned(), "Pour".to_owned())),
            body: html! {
                p.soft { "Lot " strong { (pour.lot) } " · " (today::what_of(workshop, pour)) " · " a href={ "/pour/" (id) "/sheet" } { "pour sheet" } " · " a href={ "/print/pour-sheet?lot=" (id) } type="application/pdf" { "print it" } }
                (parts::problems(problems))
                @match pour.stage() {
                    Stage::Weighing | Stage::Ready => (weighing(workshop, pour, filled, problems)),
                    Stage::Setting | Stage::Demoulded => (after(workshop, pour, filled, problems)),
                    Stage::Finished => (finished(workshop, pour, filled, problems)),
                    Stage::Abandoned => (abandoned(pour)),
                }
                (weighed_so_far(workshop, pour))
                @if !matches!(pour.stage(), Stage::Finished | Stage::Abandoned) { (give_up(pour, filled, problems)) }
            },
        })
    })?
}

/// The guided weigh-out: one ingredient at a time, readable from two metres.
fn weighing(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    if let Some(ways) = workshop::ways_on(workshop, pour) {
        return slipped(workshop, pour, &ways);
    }
    if let Some(addition) = pouring::next_addition(workshop, pour) {
        return adding(workshop, pour, &addition, filled, problems);
    }
    let Some(at) = pour.next_portion() else {
        return ready_to_pour(workshop, pour, filled, problems);
    };
    let step = pouring::step(workshop, pour, at);
    html! {
        div.bench data-awake="" {
            (steps(workshop, pour, at))
            h1.what { (step.name) }
            p.target { (fig(&step.target)) " " span.also { (fig(&step.also)) } }
            p.running {
                "Pot reads " strong { (fig(&step.before)) } ", then " strong { (fig(&step.after)) }
                @if let Some(pot) = &step.pot { span.soft { " · the pot itself is " (fig(pot)) } }
            }
            (maud::PreEscaped(bar(&step).svg))
            form method="post" action={ "/pour/" (pour.id) "/weigh" } data-keep={ "weigh-" (pour.id) "-" (at) } {
                (once::field())
                input type="hidden" name="portion" value=(at);
                @let wrong = problems.of("weight");
                div.field.wrong[wrong.is_some()] {
                    label for="f-weight" { (alone(&step)) }
                    input #f-weight type="text" name="weight" inputmode="decimal" autocomplete="off"
                        value=(filled.get("weight")) data-bar="bar-to-target" autofocus
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby="f-weight-more";
                    (parts::beneath("f-weight", &format!("in {} unless you say otherwise", step.unit), wrong))
                }
                (did_you_mean(workshop, pour, at, problems))
                (sure_of_weight(filled, problems))
                p.next {
                    button.do type="submit" { "It is in" }
                    button type="submit" name="as_planned" value=(as_typed(workshop, &step.target)) { span { "Exactly " (fig(&step.target)) } }
                }
                @let of_pot = problems.of("pot");
                details open[of_pot.is_some() || filled.some("pot").is_some()] {
                    summary { @if step.pot.is_some() { "The pot weighs something else" } @else { "The pot is not tared away" } }
                    div.field.wrong[of_pot.is_some()] {
                        label for="f-pot" { "The empty pot weighs" }
                        input #f-pot type="text" name="pot" inputmode="decimal" autocomplete="off" value=(filled.get("pot"))
                            aria-invalid=[of_pot.map(|_| "true")] aria-describedby="f-pot-more";
                        (parts::beneath("f-pot", "it then stays in every reading; 0 if it is tared after all", of_pot))
                    }
                    p.next { button type="submit" name="button" value="pot" formaction={ "/pour/" (pour.id) "/pot" } { "Keep it in the readings" } }
                }
            }
            (out_of(workshop, pour, at, filled, problems))
        }
    }
}

/// The lot an ingredient comes out of, and the others to choose from.
fn out_of(
    workshop: &Workshop,
    pour: &Pour,
    at: usize,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let Some(portion) = pour.portions.get(at) else {
        return html! {};
    };
    let supply = portion.supply;
    let Some(next) = next_lot(workshop, supply, pour.id) else {
        return html! {};
    };
    let options: Vec<_> = lots_of(workshop, supply)
        .lots
        .iter()
        .filter(|(_, of)| of.left() > 0)
        .map(|(lot, _)| (lot_key(*lot), parts::capital(&lot_words(workshop, *lot))))
        .collect();
    let chosen = match filled.some("drawn") {
        Some(typed) => typed.to_owned(),
        None => lot_key(next),
    };
    html! {
        p.soft { "Out of " (lot_words(workshop, next)) "." }
        @if options.len() > 1 {
            details open[problems.of("drawn").is_some()] {
                summary { "It comes out of another" }
                form method="post" action={ "/pour/" (pour.id) "/draw" } {
                    input type="hidden" name="supply" value=(supply);
                    (parts::select("drawn", "Which lot", &chosen, &options, "", problems))
                    p.next { button type="submit" { "Draw from this one" } }
                }
            }
        }
    }
}

async fn draw(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        supply_lots::draw(app, WHO, id, filled)
    })
    .await
}

/// What the box for a weight is about, once there is more in the pot.
fn alone(step: &pouring::Step) -> String {
    if step.is_alone {
        "The scale says this went in".to_owned()
    } else {
        format!("{} alone, not the whole pot", parts::capital(&step.name))
    }
}

/// Where the pot's reading was typed: one press takes what was meant.
fn did_you_mean(workshop: &Workshop, pour: &Pour, at: usize, problems: &Problems) -> Markup {
    let meant = problems
        .of("sure_weight")
        .and_then(|problem| Typed::parse_with(&problem.given, Reading::default()).ok())
        .and_then(|typed| pouring::meant(workshop, pour, at, &typed));
    html! {
        @if let Some(meant) = meant {
            p.note { "Did you mean " (fig(&meant.weight)) " of " (meant.name) "? The pot then reads " (fig(&meant.reading)) "." }
            p.next {
                button type="submit" name="as_planned" value=(as_typed(workshop, &meant.weight)) { span { "Take " (fig(&meant.weight)) } }
            }
        }
    }
}

/// Asked where far more went in than was to.
fn sure_of_weight(filled: &Filled, problems: &Problems) -> Markup {
    let given = problems
        .of("sure_weight")
        .map_or("", |problem| problem.given.as_str());
    let yes = format!("Yes, {given} went in");
    parts::sure("weight", filled.get("weight"), &yes, problems)
}

fn bar(step: &pouring::Step) -> press::Picture {
    let write = |figure: f64| format!("{} {}", measure::figure(figure, step.bar.places), step.unit);
    press::bar_to_target(&press::BarToTarget {
        target: step.bar.target,
        tolerance: step.bar.tolerance,
        weighed: 0.0,
        write: &write,
    })
}

fn steps(workshop: &Workshop, pour: &Pour, now: usize) -> Markup {
    html! {
        ol.steps aria-label="What goes in" {
            @for (i, portion) in pour.portions.iter().enumerate() {
                @let name = workshop.supply(portion.supply).map_or("?", |supply| supply.name.as_str());
                li.done[pour.weighed.get(i).is_some_and(Option::is_some)].now[i == now] { (name) }
            }
            li { "pour" }
        }
    }
}

/// An over-pour, met calmly with both ways out and their consequence.
fn slipped(workshop: &Workshop, pour: &Pour, ways: &formula::Rescale) -> Markup {
    let slip = pouring::slip_words(workshop, pour, ways);
    let much = pouring::slipped_names(workshop, pour, ways);
    let kept_going = if pour.next_portion().is_none() {
        format!("Pour it with this much {much}")
    } else {
        format!("Keep going with this much {much}")
    };
    html! {
        div.bench data-awake="" {
            h1.what.calm[pouring::is_small_slip(workshop, pour, ways)] { (slip) }
            p.running { "There are two ways on. Choose what you would rather have." }
            div.ways {
                @if let Some(keep) = &ways.keep_formula {
                    form method="post" action={ "/pour/" (pour.id) "/slip" } {
                        (once::field())
                        h2 { "Keep the formula" }
                        @for note in &keep.consequences { p { (note.text) } }
                        table {
                            thead { tr { th { "Then in all" } th.n { "Weigh" } th.n { "Still to add" } } }
                            tbody {
                                @for (scaled, row) in keep.portions.iter().zip(pouring::scaled_rows(workshop, pour, keep)) {
                                    tr { td { (scaled.name) } td.n { (fig(&row.target)) } td.n { (fig(&row.add)) } }
                                }
                            }
                        }
                        button.do type="submit" name="choice" value="scale_the_rest" { "Scale the rest" }
                    }
                }
                form method="post" action={ "/pour/" (pour.id) "/slip" } {
                        (once::field())
                    h2 { "Keep going" }
                    @for note in &ways.keep_going.consequences {
                        p { @if note.is_caution() { (parts::verdict("no", "Look first.")) " " } (note.text) }
                    }
                    button type="submit" name="choice" value="keep_going" { (kept_going) }
                }
            }
            p.soft { "Was the weight only written down wrongly? " a href={ "/pour/" (pour.id) "/correct" } { "Put it right" } "." }
        }
    }
}

fn adding(
    workshop: &Workshop,
    pour: &Pour,
    addition: &pouring::Addition,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    html! {
        div.bench data-awake="" {
            (steps(workshop, pour, addition.portion))
            h1.what { "More " (addition.name) }
            p.target { (fig(&addition.add)) }
            p.running { "In the pot: " strong { (fig(&addition.in_pot)) } ", to make " strong { (fig(&addition.target)) } }
            form method="post" action={ "/pour/" (pour.id) "/add" } data-keep={ "add-" (pour.id) "-" (addition.portion) } {
                (once::field())
                input type="hidden" name="portion" value=(addition.portion);
                @let wrong = problems.of("weight");
                div.field.wrong[wrong.is_some()] {
                    label for="f-weight" { "The scale says this much more went in" }
                    input #f-weight type="text" name="weight" inputmode="decimal" autocomplete="off" value=(filled.get("weight")) autofocus
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "f-weight-more")];
                    (parts::beneath("f-weight", "", wrong))
                }
                (sure_of_weight(filled, problems))
                p.next {
                    button.do type="submit" { "It is in" }
                    button type="submit" name="as_planned" value=(as_typed(workshop, &addition.add)) { span { "Exactly " (fig(&addition.add)) } }
                }
                p.next {
                    button.quiet type="submit" name="choice" value="keep_going" formaction={ "/pour/" (pour.id) "/slip" } { "There is no more; keep going as it is" }
                }
            }
        }
    }
}

fn ready_to_pour(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    let recipe = workshop.recipe_of(pour);
    let at = recipe.and_then(|recipe| recipe.pour_at.as_ref());
    html! {
        div.bench data-awake="" {
            (steps(workshop, pour, pour.portions.len()))
            h1.what { "Everything is in. Pour." }
            @if let Some(at) = at { p.target { (fig(at.to_string())) } p.running { "is what the formula says to pour at" } }
            (cautions())
            div.no-paper data-timer={ "pour-" (pour.id) } hidden {
                p.soft { "A clock for how long it stands before you pour or top up. It writes nothing down and may be left." }
                p.timer role="timer" { "0:00" }
                button.quiet type="button" { "Start the clock" }
            }
            form method="post" action={ "/pour/" (pour.id) "/poured" } data-keep={ "poured-" (pour.id) } {
                (once::field())
                div.fields {
                    (Field::text("wax_at", "Wax, as it is poured", filled.get("wax_at")).hint(&format!("{}; may stay empty", forms::temperature_hint(workshop, 68))).draw(problems))
                    (Field::text("room_at", "The room", filled.get("room_at")).hint(&format!("{}; may stay empty", forms::temperature_hint(workshop, 20))).draw(problems))
                }
                p.next { button.do type="submit" { "It is in the mould" } }
            }
        }
    }
}

/// The usual cautions of melting wax.
pub(crate) fn cautions() -> Markup {
    html! {
        p.small.soft {
            "Hot wax burns skin and can catch fire. Never leave melting wax; use a thermostat or a double boiler. \
             Keep a lid and an extinguisher for burning liquids (class B) or a dry-powder one at hand; never put water on burning wax. \
             Ventilate, wear gloves and eye protection. The oil's current safety data sheet and local codes come first."
        }
    }
}

/// In the mould or out of it: count, weigh, finish.
fn after(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        @if pour.count.is_none() {
            (parts::question("How many did it fill?"))
            p.doubt { (fig(in_system(pour.put_in(), workshop.system()).to_string())) " went in." }
            (count_form(workshop, pour, filled, problems))
        } @else {
            (parts::question("What came out?"))
            (counted(workshop, pour))
            (came_out(workshop, pour, filled, problems))
        }
    }
}

/// The boxes that putting the count right takes.
const OF_COUNT: [&str; 6] = ["full", "part", "left", "topped_up", "reason", "sure_full"];
/// The boxes that adding weights takes.
const OF_WEIGHTS: [&str; 2] = ["weights", "weights_reason"];
/// The boxes of a counted pour that each of its buttons takes or carries on.
const CAME_OUT: [&str; 11] = [
    "weights",
    "weights_reason",
    "good",
    "seconds",
    "rejects",
    "minutes",
    "full",
    "part",
    "left",
    "topped_up",
    "reason",
];

/// One form for all that is typed of a counted pour, so that no button loses
/// what stands in the boxes of another. Each button has a name of its own: the
/// same boxes sent by another one are another form.
fn came_out(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    let full = pour.count.as_ref().map_or(0, |count| count.full);
    let recounts = OF_COUNT
        .iter()
        .any(|field| problems.of(field).is_some() || filled.some(field).is_some());
    html! {
        form.sheet method="post" action={ "/pour/" (pour.id) "/finish" } data-keep={ "out-" (pour.id) } {
            (once::field())
            input type="hidden" name="counted" value=(full);
            h2 { "Weigh a few finished units" }
            p.soft { "Bare, without wrap. Each one makes the next pour surer and the declared weight honest." }
            @if pour.weights().next().is_some() {
                p {
                    @for (i, weight) in pour.weights().enumerate() { @if i > 0 { ", " } (fig(weight.to_string())) }
                    " · " a href={ "/rack/" (pour.id) "#weights" } { "strike a wrong one" }
                }
            }
            (rack::weights_fields("Weights", workshop, filled, problems))
            p.next { button type="submit" name="button" value="units" formaction={ "/pour/" (pour.id) "/units" } { "Add weights" } }
            @if pour.stage() == Stage::Setting {
                p.next {
                    button.quiet type="submit" name="button" value="demould" formaction={ "/pour/" (pour.id) "/demould" } { "They are out of the mould" }
                    span.soft { "may be skipped; finishing says so too" }
                }
            }
            h2 { "Put them on the rack" }
            div.fields {
                (lot_fields(&filled.clone().or("good", full.to_string()), problems))
            }
            p.next { button.do type="submit" { "Finish the lot" } }
            details open[recounts] {
                summary { "The count was wrong" }
                div.fields {
                    (count_fields(workshop, pour, filled, problems))
                    (Field::text("reason", "What had gone wrong", filled.get("reason")).draw(problems))
                }
                p.next { button type="submit" name="button" value="count" formaction={ "/pour/" (pour.id) "/count" } { "Put the count right" } }
            }
        }
    }
}

fn count_form(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        form.sheet method="post" action={ "/pour/" (pour.id) "/count" } data-keep={ "count-" (pour.id) } {
            (once::field())
            div.fields { (count_fields(workshop, pour, filled, problems)) }
            p.next { button.do type="submit" { "That is the count" } }
        }
    }
}

/// What a pour filled and what was left of it.
fn count_fields(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    let unit = workshop.system().mass_unit().symbol();
    let cavities = pour
        .mould
        .and_then(|mould| workshop.mould(mould))
        .map(|mould| mould.cavities);
    let of = cavities.map_or_else(String::new, |n| match n {
        1 => "the mould has 1 cavity".to_owned(),
        n => format!("the mould has {n} cavities"),
    });
    let yes = format!(
        "Yes, {} of {}: poured more than one fill",
        filled.get("full"),
        cavities.unwrap_or_default()
    );
    html! {
        (Field::text("full", "Units filled to the line", filled.get("full")).keys("numeric").hint(&of).draw(problems))
        (parts::sure("full", filled.get("full"), &yes, problems))
        (Field::text("part", "A part-filled one", filled.get("part")).hint("its weight, a share such as 60 %, none – or leave it empty if you did not look").draw(problems))
        (Field::text("left", "Left in the pitcher", filled.get("left")).hint(&format!("poured back, in {unit}; 0 if nothing")).draw(problems))
        (Field::text("topped_up", "Topped up later with", filled.get("topped_up")).hint("melt added to level sunken tops").draw(problems))
    }
}

/// What the units of a lot are worth selling as, and the time they took.
fn lot_fields(filled: &Filled, problems: &Problems) -> Markup {
    html! {
        (Field::text("good", "Good", filled.get("good")).keys("numeric").hint("fit for sale").draw(problems))
        (Field::text("seconds", "Seconds", filled.get("seconds")).keys("numeric").hint("sound, not pretty").draw(problems))
        (Field::text("rejects", "Rejects", filled.get("rejects")).keys("numeric").hint("not sold").draw(problems))
        (Field::text("minutes", "Hands-on time", filled.get("minutes")).hint("waiting apart; minutes, or 1 h 20 min").draw(problems))
    }
}

fn counted(workshop: &Workshop, pour: &Pour) -> Markup {
    let Some(count) = &pour.count else {
        return html! {};
    };
    let cavities = pour
        .mould
        .and_then(|mould| workshop.mould(mould))
        .map(|mould| mould.cavities);
    let answer = match cavities {
        Some(cavities) => format!("{} of {cavities} filled", count.full),
        None => format!("{} filled", count.full),
    };
    html! {
        (parts::answer_words(&answer, ""))
        dl.facts {
            dt { "Put in" } dd { (fig(in_system(pour.put_in(), workshop.system()).to_string())) }
            @match &count.part {
                PartFill::Weighed(weight) => { dt { "Part-filled" } dd { (fig(weight.to_string())) } }
                PartFill::Share(share) => { dt { "Part-filled" } dd { (share) " full" } }
                PartFill::Unknown | PartFill::None => {}
            }
            @if let Some(left) = &count.left { dt { "Left over" } dd { (fig(left.to_string())) } }
            @if let Some(more) = &count.topped_up { dt { "Topped up with" } dd { (fig(more.to_string())) } }
        }
    }
}

fn finished(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    let Some(lot) = &pour.finished else {
        return html! {};
    };
    html! {
        (parts::question("What came of it?"))
        (parts::answer_words(
            &format!("{} on the rack", parts::counted(lot.good, "good unit")),
            &format!("finished {}", parts::day(lot.day))))
        p.next {
            a.button.do href={ "/rack/" (pour.id) } { "May it be sold?" }
            @if pour.weights().next().is_none() {
                a.button href={ "/rack/" (pour.id) "#f-weights" } { "Weigh some units" }
            }
            a.button href={ "/books/lot/" (pour.id) } { "What did it cost?" }
            @if let Some(mould) = pour.mould { a.button href={ "/bench/mould/" (mould) } { "How much next time?" } }
        }
        (counted(workshop, pour))
        details open[!problems.is_empty()] {
            summary { "Something was written down wrongly" }
            p.soft { "What was written first stays in the journal; what you write now counts from here on." }
            (lot_form(workshop, pour, &pouring::as_counted(workshop, pour, lot, filled), problems))
        }
    }
}

fn lot_form(workshop: &Workshop, pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        form.sheet method="post" action={ "/pour/" (pour.id) "/lot" } {
            (once::field())
            div.fields {
                (count_fields(workshop, pour, filled, problems))
                (lot_fields(filled, problems))
                (Field::text("reason", "What had gone wrong", filled.get("reason")).draw(problems))
            }
            p.next { button type="submit" { "Put the lot right" } }
        }
    }
}

fn abandoned(pour: &Pour) -> Markup {
    html! {
        (parts::question("What came of it?"))
        (parts::answer_words("Nothing: it was given up.", pour.abandoned.as_deref().unwrap_or_default()))
    }
}

/// A pour begun by mistake, or spilt.
fn give_up(pour: &Pour, filled: &Filled, problems: &Problems) -> Markup {
    html! {
        details.no-paper open[problems.of("why").is_some()] {
            summary { "This pour comes to nothing" }
            p.soft { "It leaves the bench. What went into the pot stays used." }
            form.sheet method="post" action={ "/pour/" (pour.id) "/give-up" } {
                (once::field())
                div.fields.wide { (Field::text("why", "Why", filled.get("why")).hint("begun by mistake, spilt, burnt ...").draw(problems)) }
                p.next { button type="submit" { "Give it up" } }
            }
        }
    }
}

/// What has gone in, with a way to put a weight right.
fn weighed_so_far(workshop: &Workshop, pour: &Pour) -> Markup {
    html! {
        @if pour.weighed.iter().any(Option::is_some) {
            h2 { "What went in" }
            table {
                thead { tr { th { "Ingredient" } th.n { "Planned" } th.n { "Weighed" } } }
                tbody {
                    @for (portion, weighed) in pour.portions.iter().zip(&pour.weighed) {
                        @let name = workshop.supply(portion.supply).map_or("?", |supply| supply.name.as_str());
                        tr {
                            td { (name) }
                            td.n { (fig(portion.weight.to_string())) }
                            td.n { @if let Some(weight) = weighed { strong { (fig(weight.to_string())) } } @else { "–" } }
                        }
                    }
                }
            }
            // The two ways on say it already, of each.
            @if workshop::ways_on(workshop, pour).is_none() && let Some(load) = pouring::load_words(workshop, pour) { p.soft { (load) } }
            p.soft.small.no-paper { a href={ "/pour/" (pour.id) "/correct" } { "A weight was written down wrongly" } }
        }
        @if let (Some(day), temperatures) = (pour.poured, pouring::temperatures(pour)) {
            p.soft { "Poured " (parts::day(day)) @if !temperatures.is_empty() { " · " (temperatures) } }
        }
    }
}

/// Takes what was written down about a pour and shows what it waits for next.
async fn go_on(
    site: &Site,
    id: PourId,
    pairs: Pairs,
    act: impl FnOnce(&App, &Filled) -> Result<Done, ActError> + Send + 'static,
) -> Response {
    go_on_with(site, id, pairs, &[], act).await
}

/// The same where the page has boxes that this button does not take: what is
/// typed in those named is carried on.
async fn go_on_with(
    site: &Site,
    id: PourId,
    pairs: Pairs,
    carried: &[&str],
    act: impl FnOnce(&App, &Filled) -> Result<Done, ActError> + Send + 'static,
) -> Response {
    let rest = parts::carried(&pairs, carried);
    site.post(
        pairs,
        act,
        move |_, _| Ok(format!("/pour/{id}{rest}")),
        move |app, filled, problems| pour_page(app, id, filled, problems),
    )
    .await
}

async fn pot(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    go_on_with(&site, id, pairs, &["weight"], move |app, filled| {
        forms::weigh_pot(app, WHO, id, filled)
    })
    .await
}

async fn weigh(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        forms::weigh(app, WHO, id, &as_planned(filled))
    })
    .await
}

/// The button "exactly as planned" sends the planned figure.
fn as_planned(filled: &Filled) -> Filled {
    match filled.some("as_planned") {
        Some(planned) => filled.clone().with("weight", planned),
        None => filled.clone(),
    }
}

async fn slip(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        let choice = match filled.get("choice") {
            "scale_the_rest" => AfterSlip::ScaleTheRest,
            _ if filled.some("weight").is_some() => {
                return pouring::add_the_last(app, WHO, id, filled);
            }
            _ => AfterSlip::KeepGoing,
        };
        pouring::meet_slip(app, WHO, id, choice)
    })
    .await
}

async fn add(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        pouring::add(app, WHO, id, &as_planned(filled))
    })
    .await
}

async fn poured(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        forms::pour_out(app, WHO, id, filled)
    })
    .await
}

async fn count(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    // As many good ones as were counted is no wish of its own: a new count
    // brings its own number.
    let of = |name: &str| {
        pairs
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, text)| text)
    };
    let follows = of("good") == of("counted");
    let carried: Vec<_> = CAME_OUT
        .into_iter()
        .filter(|name| !(OF_COUNT.contains(name) || follows && *name == "good"))
        .collect();
    go_on_with(&site, id, pairs, &carried, move |app, filled| {
        forms::count(app, WHO, id, filled)
    })
    .await
}

async fn demould(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    go_on_with(&site, id, pairs, &CAME_OUT, move |app, _| {
        forms::demould(app, WHO, id)
    })
    .await
}

async fn units(State(site): State<Site>, At(id): At<PourId>, Form(pairs): Form<Pairs>) -> Response {
    let carried: Vec<_> = CAME_OUT
        .into_iter()
        .filter(|name| !OF_WEIGHTS.contains(name))
        .collect();
    go_on_with(&site, id, pairs, &carried, move |app, filled| {
        forms::weigh_units(app, WHO, id, filled)
    })
    .await
}

async fn finish(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        forms::finish(app, WHO, id, filled)
    })
    .await
}

async fn correct_lot(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        forms::correct_lot(app, WHO, id, filled)
    })
    .await
}

async fn abandon(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    go_on(&site, id, pairs, move |app, filled| {
        forms::abandon(app, WHO, id, filled)
    })
    .await
}

async fn correction(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| correct_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn correct(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::correct_weight(app, WHO, id, filled),
        move |_, _| Ok(format!("/pour/{id}")),
        move |app, filled, problems| correct_page(app, id, filled, problems),
    )
    .await
}

fn correct_page(
    app: &App,
    id: PourId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("pour"))?;
        let weighed: Vec<_> = pour
            .portions
            .iter()
            .zip(&pour.weighed)
            .enumerate()
            .filter_map(|(i, (portion, weighed))| {
                let name = workshop.supply(portion.supply).map_or("?", |supply| supply.name.as_str());
                let weight = weighed.as_ref()?;
                Some((i.to_string(), format!("{name}, written down as {weight}")))
            })
            .collect();
        Ok(Page {
            title: format!("Lot {}: put a weight right", pour.lot),
            place: Place::Pour,
            back: Some((format!("/pour/{id}"), format!("Lot {}", pour.lot))),
            body: html! {
                (parts::question("Which weight was wrong?"))
                p.soft { "What was written first stays in the journal; what you write now counts from here on." }
                (parts::problems(problems))
                form.sheet method="post" action={ "/pour/" (id) "/correct" } {
                    (once::field())
                    div.fields.wide {
                        (parts::select("portion", "Ingredient", filled.get("portion"), &weighed, "", problems))
                        (Field::text("weight", "What really went in", filled.get("weight")).draw(problems))
                        (Field::text("reason", "What had gone wrong", filled.get("reason")).hint("misread, mistyped, wrong tare ...").draw(problems))
                        (sure_of_weight(filled, problems))
                    }
                    p.next { button.do type="submit" { "Put it right" } }
                }
            },
        })
    })?
}

/// The pour sheet: enough to finish the job without the screen.
async fn sheet(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| {
        app.look(|workshop| {
            let pour = workshop.pour(id).ok_or(Fault::Nothing("pour"))?;
            let sheet = pouring::sheet(workshop, pour);
            Ok(Page {
                title: format!("Pour sheet, lot {}", pour.lot),
                place: Place::Pour,
                back: Some((format!("/pour/{id}"), format!("Lot {}", pour.lot))),
                body: html! {
                    div.pour-sheet {
                        div.sheet-head {
                            div { h1 { (today::what_of(workshop, pour)) } p.soft { "Pour sheet · revision " (pour.revision) " · " (parts::day(pour.started)) } }
                            p.lot { span.soft.small { "lot" } br; (pour.lot) }
                        }
                        p { @if pour.wanted > 0 { strong { (parts::counted(pour.wanted, "unit")) } " hoped for · " } (sheet.load) }
                        div.scroll {
                            table.boxes.stack {
                                thead { tr { th { "Weigh, in this order" } th.n { "Plan" } th.n { "Target" } th.n { "Pot reads" } th.n { "Really weighed" } th.n { "Difference" } th { "In" } } }
                                tbody {
                                    @for row in &sheet.rows {
                                        tr {
                                            td { (row.name) }
                                            td.n data-label="Plan" { (fig(&row.plan)) }
                                            td.n.big data-label="Target" { (fig(&row.target)) }
                                            td.n data-label="Pot reads" { (fig(&row.running)) }
                                            td.box.n data-label="Really weighed" { (fig(&row.weighed)) }
                                            td.box.n data-label="Difference" { (fig(&row.difference)) }
                                            td.tick data-label="In" { @if row.weighed.is_empty() { "☐" } @else { "☑" } }
                                        }
                                    }
                                }
                            }
                        }
                        @for note in &sheet.notes { p.note { (note) } }
                        div.cols {
                            table.boxes {
                                tbody {
                                    tr { th { "Oil in at" } td { (sheet.add_at) } td.box {} }
                                    tr { th { "Poured at" } td { (sheet.pour_at) } td.box {} }
                                    tr { th { "Room" } td {} td.box {} }
                                    tr { th { "Time poured" } td {} td.box {} }
                                }
                            }
                            table.boxes {
                                tbody {
                                    tr { th { "Filled to the line" } td.box {} }
                                    tr { th { "Part-filled, its weight" } td.box {} }
                                    tr { th { "Left in the pitcher" } td.box {} }
                                    tr { th { "Topped up with" } td.box {} }
                                }
                            }
                        }
                        table.boxes.units {
                            thead { tr { th colspan="6" { "Unit weights, bare" } } }
                            tbody { @for _ in 0..2 { tr { @for _ in 0..6 { td.box {} } } } }
                        }
                        p { "Ready: " strong { (sheet.ready) } }
                        (cautions())
                    }
                    p.next {
                        a.button.do href={ "/print/pour-sheet?lot=" (id) } type="application/pdf" { "Print it (PDF)" }
                        button.quiet type="button" data-print="" hidden { "Print this page" }
                        a.button.quiet href={ "/pour/" (id) "/stickers" } { "Lot stickers" }
                    }
                },
            })
        })?
    })
    .await
}

/// Plain lot stickers, one for each unit hoped for or counted.
async fn stickers(State(site): State<Site>, At(id): At<PourId>) -> Response {
    site.run(move |app| {
        app.look(|workshop| {
            let pour = workshop.pour(id).ok_or(Fault::Nothing("pour"))?;
            let n = pouring::n_stickers(pour);
            Ok(Page {
                title: format!("Lot stickers, {}", pour.lot),
                place: Place::Pour,
                back: Some((format!("/pour/{id}/sheet"), "Pour sheet".to_owned())),
                body: html! {
                    h1.no-paper { (parts::counted(n, "lot sticker")) }
                    p.no-paper.soft { "On plain paper; cut along the lines. They carry the lot only: the product's label is another matter." }
                    p.next { button.do type="button" data-print="" hidden { "Print" } }
                    ul.stickers {
                        @for _ in 0..n {
                            li { span { (today::what_of(workshop, pour)) } strong { (pour.lot) } span { "poured " (parts::day(pour.poured.unwrap_or(pour.started))) } }
                        }
                    }
                },
            })
        })?
    })
    .await
}
