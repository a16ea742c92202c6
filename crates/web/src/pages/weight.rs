//! Rack: what a good may be said to weigh, by the units of a lot and of the
//! others of its mould.

use app::App;
use app::forms::{Filled, as_typed, example};
use app::weights::{self, RULES, Said, Tested};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use measure::{Mass, Problems, System, figure, in_system};
use netweight::{Rule, declare, net_weight, statement};
use workshop::facts::{PourId, ProductId, TareOf};
use workshop::{Pour, Product, Workshop, tare_of};

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::pages::today::what_of;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

const QUESTION: &str = "What may I say it weighs?";

/// What stands on every page about the law of packages.
const CAUTION: &str = "This informs; it does not certify, and it is not legal advice. Your weights and measures office decides, and what it says comes first.";

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/rack/{id}/weight", get(lot))
        .route("/rack/{id}/declare", post(declare_at_lot))
        .route("/rack/{id}/wrapped", post(weigh_wrapped))
        .route("/rack/good/{id}/weight", get(good))
        .route("/rack/good/{id}/declare", post(declare_at_good))
        .route("/rack/good/{id}/withdraw", post(withdraw))
        .route("/rack/good/{id}/tares", post(weigh_tares))
}

/// From which page it is asked.
#[derive(Clone, Copy)]
enum From<'a> {
    Lot(&'a Pour),
    Good(&'a Product),
}

impl From<'_> {
    fn path(self) -> String {
        match self {
            Self::Lot(pour) => format!("/rack/{}/weight", pour.id),
            Self::Good(product) => format!("/rack/good/{}/weight", product.id),
        }
    }

    fn declare_path(self) -> String {
        match self {
            Self::Lot(pour) => format!("/rack/{}/declare", pour.id),
            Self::Good(product) => format!("/rack/good/{}/declare", product.id),
        }
    }
}

async fn lot(State(site): State<Site>, At(id): At<PourId>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| lot_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

fn lot_page(app: &App, id: PourId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let today = app.today();
    app.look(|workshop| {
        let pour = workshop.pour(id).ok_or(Fault::Nothing("lot"))?;
        let said = weights::of_lot(workshop, pour, filled, today);
        let product = pour.product.and_then(|product| workshop.product(product));
        Ok(Page {
            title: format!("{QUESTION} · Lot {}", pour.lot),
            place: Place::Rack,
            back: Some((format!("/rack/{id}"), format!("Lot {}", pour.lot))),
            body: html! {
                (parts::question(QUESTION))
                p.soft { "Lot " a href={ "/rack/" (id) } { (pour.lot) } " · " (what_of(workshop, pour)) }
                (parts::problems(problems))
                @match &said {
                    None => (parts::empty(
                        "The answer comes from units on the scale, and none of this lot was weighed yet. Twelve are enough for most lots.",
                        &format!("/rack/{id}#weights"), "Weigh some units")),
                    Some(said) => (body(workshop, From::Lot(pour), product, said, filled, problems)),
                }
                (wrapped_section(workshop, pour, filled, problems))
                @if let Some(product) = product {
                    p { "Over all its lots: " a href={ "/rack/good/" (product.id) "/weight" } { (product.name) } "." }
                }
                p.note.caution { (CAUTION) }
            },
        })
    })?
}

async fn good(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| good_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

fn good_page(
    app: &App,
    id: ProductId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let today = app.today();
    app.look(|workshop| {
        let product = workshop.product(id).ok_or(Fault::Nothing("good"))?;
        let said = weights::of_good(workshop, id, filled, today);
        Ok(Page {
            title: format!("{QUESTION} · {}", product.name),
            place: Place::Rack,
            back: Some((format!("/stall/good/{id}"), product.name.clone())),
            body: html! {
                (parts::question(QUESTION))
                p.soft { (product.name) }
                (parts::problems(problems))
                @match &said {
                    None => {
                        p.empty { "The answer comes from units on the scale, and none of this good was weighed yet. Weigh twelve of its next lot, bare." }
                        (plain_declare_form(workshop, product, filled, problems))
                    }
                    Some(said) => {
                        (rests_on_lot(workshop, said))
                        (body(workshop, From::Good(product), Some(product), said, filled, problems))
                    }
                }
                (standing(workshop, product, problems))
                (tares_section(workshop, product, filled, problems))
                p.note.caution { (CAUTION) }
            },
        })
    })?
}

fn rests_on_lot(workshop: &Workshop, said: &Said) -> Markup {
    html! {
        @if let Some(pour) = workshop.pour(said.pour) {
            p.soft { "By its latest weighed lot, " a href={ "/rack/" (pour.id) "/weight" } { (pour.lot) } "." }
        }
    }
}

fn body(
    workshop: &Workshop,
    from: From<'_>,
    product: Option<&Product>,
    said: &Said,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    html! {
        div data-part="answer" {
            (answer(workshop, said))
        }
        (next_steps(workshop, from, product, said, filled, problems))
        (asked(workshop, from, said))
        div data-part="more" {
            (tests_section(workshop, said))
            (pictures(workshop, said))
            (overfill_section(said))
            @if let Ok(found) = &said.declare {
                h2 { "How it was found" }
                @for note in &found.notes { p.note { (note) } }
                (parts::working("working-declare", &found.working))
            }
        }
    }
}

fn answer(workshop: &Workshop, said: &Said) -> Markup {
    let units = |n: usize| parts::counted(u32::try_from(n).unwrap_or(u32::MAX), "unit");
    let rests = match said.beside {
        (_, 0) => format!("Rests on {} of this lot alone.", units(said.weighed)),
        (n, lots) => format!(
            "Rests on {} of this lot and {} of {} of the same mould.",
            units(said.weighed),
            units(n),
            parts::counted(u32::try_from(lots).unwrap_or(u32::MAX), "other lot"),
        ),
    };
    html! {
        (parts::still_open(&said.problems))
        @match &said.declare {
            Err(problems) => {
                (parts::answer_words("Nothing yet.", &rests))
                @for problem in problems { p { (parts::capital(&problem.wrong)) ": " (problem.accepted) "." } }
            }
            Ok(found) => {
                (parts::answer(&as_typed(workshop, &found.declare), &other_system(found, said.rule), ""))
                p { "On the label: " strong { (found.statement) } }
                @for test in said.tests.iter().filter(|test| test.is_declared) {
                    @if let Ok(tried) = test.found.as_ref().map_err(|_| ()).and_then(|tried| if tried.verdict == "does not meet" { Ok(tried) } else { Err(()) }) {
                        p.note { (verdict_of(tried)) " Its label says " strong { (as_typed(workshop, &test.declared)) } " " (test.rule.place()) ". " (tried.reason.first().map_or("", String::as_str)) }
                    }
                }
                p.doubt {
                    "This lot's own average holds it with a chance of " (found.chance_this_lot)
                    ", the next lot's with " (found.chance_average) "; an inspection of that passes with " (found.chance_pass) ". "
                    (rests)
                    @if said.wrapped { " Weighed in the wrapping, whose own weight is taken off." }
                }
                @for sentence in found.reason.iter().skip(1) { p { (sentence) } }
            }
        }
    }
}

/// The answer in the system it is not declared in, as the label has it.
fn other_system(found: &declare::Output, rule: Rule) -> String {
    if rule.is_metric() {
        return Mass::from_grams(found.declare_g)
            .map_or_else(String::new, |mass| in_system(mass, System::Us).to_string());
    }
    let inside = found.statement.split_once('(');
    inside
        .and_then(|(_, rest)| rest.split_once(')'))
        .map_or_else(String::new, |(metric, _)| metric.to_owned())
}

/// Declare it, weigh more, or hold the lot.
fn next_steps(
    workshop: &Workshop,
    from: From<'_>,
    product: Option<&Product>,
    said: &Said,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let fails = said.tests.iter().any(|test| {
        test.is_declared
            && test
                .found
                .as_ref()
                .is_ok_and(|found| found.verdict == "does not meet")
    });
    let more = said.declare.as_ref().ok().map_or(0, |found| {
        found
            .weigh
            .saturating_sub(u32::try_from(said.weighed).unwrap_or(u32::MAX))
    });
    html! {
        @if let (Some(product), Ok(found)) = (product, &said.declare) {
            @let stands = workshop.declared_weight(product.id, said.rule);
            @if stands.is_some_and(|stands| stands.declared.to_string() == found.declare) {
                p { (parts::verdict("yes", "declared")) " It is what " (product.name) "'s label says." }
            } @else {
                form method="post" action=(from.declare_path()) {
                    input type="hidden" name="rule" value=(said.rule.to_string());
                    input type="hidden" name="declared" value=(as_typed(workshop, &found.declare));
                    p.next {
                        button.do type="submit" { "Declare " (as_typed(workshop, &found.declare)) }
                        @if more > 0 { a.button href={ "/rack/" (said.pour) "#weights" } { "Weigh " (more) " more" } }
                        @if fails { a.button href={ "/rack/" (said.pour) "#f-reason" } { "Hold the lot" } }
                    }
                }
            }
        } @else {
            p.next { a.button.do href={ "/rack/" (said.pour) "#weights" } { "Weigh more units" } }
        }
        @if let Some(product) = product {
            details open[problems.of("declared").is_some() || problems.of("declare_reason").is_some()] {
                summary { "Declare another weight" }
                (plain_declare_form_at(workshop, product, &from.declare_path(), filled, problems))
            }
        }
    }
}

fn plain_declare_form(
    workshop: &Workshop,
    product: &Product,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let path = format!("/rack/good/{}/declare", product.id);
    html! {
        h2 { "What does its label say?" }
        (plain_declare_form_at(workshop, product, &path, filled, problems))
    }
}

fn plain_declare_form_at(
    workshop: &Workshop,
    product: &Product,
    path: &str,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let rule = filled
        .some("rule")
        .map_or_else(|| weights::rule_of(workshop).to_string(), str::to_owned);
    let asks_why = problems.of("declare_reason").is_some() || filled.has("declare_reason");
    html! {
        form.sheet method="post" action=(path) {
            p.soft.small { "What the label of " (product.name) " says, also where it is printed already." }
            div.fields {
                (parts::select("rule", "Sold in", &rule, &rules(), "", problems))
                (Field::text("declared", "Weight on the label", filled.get("declared"))
                    .hint(&example(workshop, "1.4 oz in the United States, 40 g elsewhere")).draw(problems))
                @if asks_why {
                    (Field::text("declare_reason", "Why it stands there all the same", filled.get("declare_reason"))
                        .hint("labels printed already; kept with it").draw(problems))
                }
            }
            p.next { button type="submit" { "Write it down" } }
        }
    }
}

fn rules() -> Vec<(String, String)> {
    RULES
        .iter()
        .map(|(word, rule)| ((*word).to_owned(), rule.words().to_owned()))
        .collect()
}

/// The inputs; the answer follows as they change.
fn asked(workshop: &Workshop, from: From<'_>, said: &Said) -> Markup {
    let filled = &said.filled;
    let problems = &said.problems;
    let own = |sentence: &str| example(workshop, sentence);
    html! {
        h2 { "What moves it" }
        form.sheet method="get" action=(from.path()) data-live=(from.path()) {
            div.fields.three {
                (parts::select("sold_in", "Sold in", filled.get("sold_in"), &rules(), "", problems))
                (Field::text("chance", "With a chance of", filled.get("chance")).keys("decimal").hint("50 % to 99.9 %").draw(problems))
                (Field::text("steps", "Declared in steps of", filled.get("steps")).keys("decimal")
                    .hint(&own("0.1 oz in the United States and 1 g elsewhere unless you say otherwise")).draw(problems))
                (Field::text("scale", "The scale shows steps of", filled.get("scale")).keys("decimal").draw(problems))
                (Field::text("scale_error", "It may be off by", filled.get("scale_error")).keys("decimal")
                    .hint("by checking it with a known weight; empty takes what an accepted scale may be off").draw(problems))
                (Field::text("lot_size", "Units in a lot", filled.get("lot_size")).keys("numeric").draw(problems))
                (Field::text("tried", "A weight to try on this lot", filled.get("tried")).keys("decimal")
                    .hint("empty takes what the label says").draw(problems))
                (Field::text("a_year", "Made in a year", filled.get("a_year")).keys("numeric")
                    .hint("as finished in the last 365 days").draw(problems))
            }
            p.next { button type="submit" { "Ask again" } }
        }
    }
}

fn tests_section(workshop: &Workshop, said: &Said) -> Markup {
    html! {
        @if !said.tests.is_empty() {
            h2 { "Does this lot hold what is printed?" }
            @for (nth, test) in said.tests.iter().enumerate() { (tested(workshop, test, nth)) }
        }
    }
}

fn tested(workshop: &Workshop, test: &Tested, nth: usize) -> Markup {
    let weight = as_typed(workshop, &test.declared);
    html! {
        h3 { (test.rule.words()) ": " (weight) @if !test.is_declared { span.soft.small { " tried, not declared there" } } }
        @match &test.found {
            Err(problems) => { @for problem in problems { p { (parts::capital(&problem.wrong)) "; " (problem.accepted) "." } } }
            Ok(found) => {
                p { (verdict_of(found)) " " (found.reason.first().map_or("", String::as_str)) }
                @for sentence in found.reason.iter().skip(1) { p { (sentence) } }
                p.soft.small {
                    "An inspection weighs " (found.sample_size_required) ", " (found.weighed) " were weighed. "
                    @if found.error_limit_g > 0.0 { "The average may lie " (found.error_limit) " below by chance, a single unit " (found.allowed_variation) "." }
                    @else if test.rule == Rule::UkEvery { "No unit may lie below; nothing is asked of the average." }
                    @else { "The average may not lie below, a single unit by " (found.allowed_variation) "." }
                    @if let Some(chance) = &found.chance_pass { " One of the next lot passes with a chance of " (chance) "." }
                }
                (parts::working(&format!("working-test-{nth}"), &found.working))
            }
        }
    }
}

fn verdict_of(found: &net_weight::Output) -> Markup {
    let class = match found.verdict.as_str() {
        "meets" => "yes",
        "does not meet" => "no",
        _ => "unproven",
    };
    let word = match found.verdict.as_str() {
        "meets" => "meets",
        "does not meet" => "does not meet",
        _ => "not proven",
    };
    parts::verdict(class, word)
}

fn pictures(workshop: &Workshop, said: &Said) -> Markup {
    let system = workshop.system();
    let unit = system.mass_unit();
    let places = match system {
        System::Metric => 1,
        System::Us | System::Imperial => 2,
    };
    let write = |value: f64| format!("{} {}", figure(value, places), unit.symbol());
    let fine = |value: f64| format!("{} {}", figure(value, places + 1), unit.symbol());
    let of = |grams: f64| Mass::from_grams(grams).map_or(f64::NAN, |mass| mass.to_f64(unit));
    let mould = workshop
        .pour(said.pour)
        .and_then(|pour| workshop.mould(pour.mould?));
    let one = mould.map_or("unit", |mould| mould.format.word());
    let many = format!("{one}s");
    let noun = press::Noun { one, many: &many };
    let shown: Vec<f64> = said.nets.iter().map(|grams| of(*grams)).collect();
    let declared = said.tests.first();
    let units = press::unit_weights(&press::UnitWeights {
        noun,
        weights: &shown,
        nominal: declared.map(|test| press::Nominal {
            word: if test.is_declared {
                "declared"
            } else {
                "tried"
            },
            weight: test.declared.value().to_f64(unit),
        }),
        next: None,
        write: &write,
    });
    let lots = said.chart.as_ref().and_then(|(chart, names)| {
        let in_unit = |point: netweight::chart::Point| press::Limited {
            value: of(point.value),
            low: of(point.low),
            high: of(point.high),
        };
        let lots: Vec<press::ControlLot> = chart
            .lots
            .iter()
            .zip(names)
            .map(|(lot, name)| press::ControlLot {
                name: &name.lot,
                units: usize::try_from(lot.weighed).unwrap_or(usize::MAX),
                average: in_unit(lot.average),
                spread: in_unit(lot.range.unwrap_or(lot.spread)),
                in_a_run: lot.in_a_run,
            })
            .collect();
        let ranged = chart.lots.iter().all(|lot| lot.range.is_some());
        // Fewer lots than four do not say how lots usually differ.
        let usual = chart.lots.first().filter(|_| chart.lots.len() >= 4);
        press::control_chart(&press::ControlChart {
            noun,
            lots: &lots,
            centre: of(chart.centre),
            usual: usual.map(|lot| (of(lot.among_lots.low), of(lot.among_lots.high))),
            spread_word: if ranged {
                "range"
            } else {
                "standard deviation"
            },
            write: &fine,
        })
    });
    html! {
        @if let Some(units) = units { (parts::picture(&units)) }
        @if let Some(lots) = lots {
            h2 { "Do the lots come out alike?" }
            (parts::picture(&lots))
        }
    }
}

fn overfill_section(said: &Said) -> Markup {
    html! {
        @if let Some(found) = &said.overfill {
            h2 { "Am I giving wax away?" }
            @match found {
                Err(problems) => { @for problem in problems { p { (parts::capital(&problem.wrong)) ": " (problem.accepted) "." } } }
                Ok(found) => {
                    @for sentence in &found.reason { p { (sentence) } }
                    @if found.cost_each.is_none() && found.over_g > 0.0 {
                        p.soft { "What it costs shows once everything in a finished lot has a price." }
                    }
                    (parts::working("working-overfill", &found.working))
                }
            }
        }
    }
}

/// What the good's label says, under each body of rules.
fn standing(workshop: &Workshop, product: &Product, problems: &Problems) -> Markup {
    let declared: Vec<_> = workshop.declared_weights(product.id).collect();
    html! {
        h2 { "What its label says" }
        @if declared.is_empty() { p.empty { "No weight is declared yet." } }
        @for one in declared {
            p {
                strong { (fig(as_typed(workshop, &one.declared))) } " " (one.rule.place()) ", since " (parts::day(one.since))
                @if let Ok(statement) = statement::of(one.rule, &one.declared) { ": " (statement.text) }
                @if !one.reason.is_empty() { span.soft { " More than any unit weighed then, because: " (one.reason) } }
                br;
                span.soft.small {
                    @match &one.ground.average {
                        Some(average) => {
                            "Settled on " (parts::counted(one.ground.weighed, "unit")) " of " (parts::counted(u32::try_from(one.ground.lots.len()).unwrap_or(u32::MAX), "lot")) ", on average " (as_typed(workshop, average)) "."
                        }
                        None => "Settled before any unit was weighed.",
                    }
                }
            }
            details open[problems.of("withdraw_reason").is_some()] {
                summary { "Take it back" }
                form.sheet method="post" action={ "/rack/good/" (product.id) "/withdraw" } {
                    input type="hidden" name="rule" value=(one.rule.to_string());
                    div.fields.wide { (Field::text("withdraw_reason", "Why it stands there no more", "").draw(problems)) }
                    p.next { button type="submit" { "Take it back" } }
                }
            }
        }
    }
}

fn tares_section(
    workshop: &Workshop,
    product: &Product,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let show = |mass: Mass| in_system(mass, workshop.system()).to_string();
    let tare = tare_of(workshop, product.id);
    let known = |of: TareOf| {
        workshop.tares(of).map(|tares| {
            let texts: Vec<String> = tares
                .weights
                .iter()
                .map(|weight| as_typed(workshop, weight))
                .collect();
            format!("{}, weighed {}", texts.join("; "), parts::day(tares.day))
        })
    };
    let mut choices = vec![(String::new(), "all of it together".to_owned())];
    choices.extend(product.packing.iter().filter_map(|(supply, _)| {
        let supply = workshop.supply(*supply)?;
        Some((supply.id.to_string(), supply.name.clone()))
    }));
    html! {
        h2 id="tares" { "What does the wrapping weigh?" }
        @match tare {
            None => p { "Foil, label and clamshell are no part of the net weight. Weigh five of each, or five wrappings together, and wrapped units can be checked too." },
            Some(tare) => {
                p {
                    "On average " strong { (fig(show(tare.average))) } " around a unit"
                    @if let Some(spread) = Mass::from_grams(tare.standard_error()).filter(|error| *error > Mass::ZERO) { ", known to " (fig(finely(workshop, spread))) }
                    "."
                }
                @for one in workshop.declared_weights(product.id) {
                    p.soft { "A wrapped unit that just holds " (as_typed(workshop, &one.declared)) " shows " strong { (show(one.declared.value() + tare.average)) } " on the scale." }
                }
            }
        }
        dl.facts {
            @if let Some(text) = known(TareOf::Product(product.id)) { dt { "Together" } dd { (text) } }
            @for (supply, each) in &product.packing {
                @if let Some(supply) = workshop.supply(*supply) {
                    dt { (supply.name) @if *each > 1 { " × " (each) } }
                    dd { @match known(TareOf::Supply(supply.id)) { Some(text) => (text), None => span.soft { "not weighed" } } }
                }
            }
        }
        form.sheet method="post" action={ "/rack/good/" (product.id) "/tares" } {
            div.fields {
                (parts::select("of", "What was weighed", filled.get("of"), &choices, "", problems))
                (Field::text("tares", "Weights, one by one", filled.get("tares"))
                    .hint(&example(workshop, "several at once: 0.05, 0.06, 0.05; they take the place of those before")).draw(problems))
            }
            p.next { button type="submit" { "Write them down" } }
        }
    }
}

/// A small mass, one place finer than others.
fn finely(workshop: &Workshop, mass: Mass) -> String {
    let system = workshop.system();
    let places = if system == System::Metric { 2 } else { 3 };
    mass.typed(system.mass_unit(), places).to_string()
}

fn wrapped_section(
    workshop: &Workshop,
    pour: &Pour,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let Some(product) = pour.product.filter(|_| pour.poured.is_some()) else {
        return html! {};
    };
    let stands: Vec<String> = pour
        .wrapped
        .iter()
        .map(|weight| as_typed(workshop, weight))
        .collect();
    let stands = stands.join("; ");
    let typed = if filled.has("wrapped") {
        filled.get("wrapped")
    } else {
        &stands
    };
    html! {
        details open[problems.of("wrapped").is_some()] {
            summary { "Weighed in their wrapping" }
            p {
                "Units weighed bare count first. Where none were, write what they weigh wrapped; the wrapping's own weight is taken off, with how well it is known. "
                @if tare_of(workshop, product).is_none() {
                    "It is not known yet: " a href={ "/rack/good/" (product) "/weight#tares" } { "weigh the wrapping" } "."
                }
            }
            form.sheet method="post" action={ "/rack/" (pour.id) "/wrapped" } {
                div.fields.wide {
                    (Field::text("wrapped", "Weights with the wrapping", typed)
                        .hint("they take the place of those before; an empty box takes them back").draw(problems))
                }
                p.next { button type="submit" { "Write them down" } }
            }
        }
    }
}

async fn declare_at_lot(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| {
            let product = app.look(|workshop| workshop.pour(id).and_then(|pour| pour.product))?;
            let unknown = || workshop::Refusal::Unknown {
                what: "good of lot",
                id: id.to_string(),
            };
            weights::declare(app, WHO, product.ok_or_else(unknown)?, filled)
        },
        move |_, _| Ok(format!("/rack/{id}/weight")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}

async fn declare_at_good(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| weights::declare(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/good/{id}/weight")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

async fn withdraw(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| weights::withdraw(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/good/{id}/weight")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

async fn weigh_tares(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| weights::weigh_tares(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/good/{id}/weight#tares")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

async fn weigh_wrapped(
    State(site): State<Site>,
    At(id): At<PourId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| weights::weigh_wrapped(app, WHO, id, filled),
        move |_, _| Ok(format!("/rack/{id}/weight")),
        move |app, filled, problems| lot_page(app, id, filled, problems),
    )
    .await
}
