//! Bench: formulas, what goes into them, and what another load would weigh.

use app::App;
use app::forms::{self, Filled, as_typed, example, temperature_hint};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use measure::{Problems, in_system};
use workshop::Workshop;
use workshop::facts::{DyeDose, Fact, FormulaId, Recipe, SupplyKind};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Lines for waxes and additives that a formula form offers.
const BLEND_LINES: usize = 5;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/bench", get(bench))
        .route("/bench/formula/new", get(new).post(define))
        .route("/bench/formula/{id}", get(formula))
        .route("/bench/formula/{id}/revise", get(revision).post(revise))
}

async fn bench(State(site): State<Site>) -> Response {
    site.run(|app| {
        Ok(app.look(|workshop| Page {
            title: "Which formula is good enough to sell?".to_owned(),
            place: Place::Bench,
            back: None,
            body: html! {
                (parts::question("Which formula is good enough to sell?"))
                @if workshop.formulas().next().is_none() {
                    (parts::empty(
                        "Formulas live here: which waxes, how much oil of what, how hot. Nothing is written down yet.",
                        "/bench/formula/new", "Write down a formula"))
                    p { "Or start with a " a href="/quick" { "quick pour" } " and keep it." }
                } @else {
                    p.next {
                        a.button.do href="/bench/formula/new" { "Write down a formula" }
                        a.button.quiet href="/bench/moulds" { "Moulds and vessels" }
                    }
                    ul.rows {
                        @for formula in workshop.formulas() {
                            @let recipe = formula.current();
                            li {
                                span {
                                    a href={ "/bench/formula/" (formula.id) } { (formula.name) }
                                    @if formula.revision() > 1 { span.soft { " · revision " (formula.revision()) } }
                                    br;
                                    span.soft.small { (blend_line(workshop, recipe)) }
                                }
                                span { (load_line(recipe)) }
                                span.soft { (parts::counted(u32::from(recipe.cure_days), "day")) " cure" }
                            }
                        }
                    }
                }
            },
        })?)
    })
    .await
}

/// `90 parts soy container wax, 10 parts paraffin melt wax`
fn blend_line(workshop: &Workshop, recipe: &Recipe) -> String {
    let parts: Vec<_> = recipe
        .blend
        .iter()
        .map(|part| {
            let name = workshop
                .supply(part.supply)
                .map_or("?", |supply| supply.name.as_str());
            if recipe.blend.len() == 1 {
                name.to_owned()
            } else {
                format!("{} {name}", part.parts.normalize())
            }
        })
        .collect();
    parts.join(" · ")
}

fn load_line(recipe: &Recipe) -> String {
    if recipe.oil.is_some() {
        recipe.load.to_string()
    } else {
        "unscented".to_owned()
    }
}

async fn formula(
    State(site): State<Site>,
    At(id): At<FormulaId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| formula_page(app, id, &Filled::new(pairs)))
        .await
}

fn formula_page(app: &App, id: FormulaId, asked: &Filled) -> Result<Page, Fault> {
    app.look(|workshop| {
        let formula = workshop.formula(id).ok_or(Fault::Nothing("formula"))?;
        let recipe = formula.current();
        let asked = forms::first_what_if(workshop, recipe, asked);
        let tried = forms::what_if(workshop, recipe, &asked);
        // Where one good is made of it, it is the one meant: without one a pour
        // is a trial, and what it is packed with is left out of its cost.
        let mut goods = workshop.products().filter(|good| good.formula == id);
        let pour_it = match (goods.next(), goods.next()) {
            (Some(only), None) => format!("/pour/new?product={}", only.id),
            _ => format!("/pour/new?formula={id}"),
        };
        let (plan, problems) = match &tried {
            Ok(planned) => (Some(planned), Problems::default()),
            Err(problems) => (None, problems.clone()),
        };
        Ok(Page {
            title: formula.name.clone(),
            place: Place::Bench,
            back: Some(("/bench".to_owned(), "Bench".to_owned())),
            body: html! {
                (parts::question(&format!("{}: how much do I weigh out?", formula.name)))
                div data-part="answer" {
                    @if let Some(planned) = plan {
                        (weigh_out(workshop, planned, ""))
                    } @else { (parts::still_open(&problems)) }
                }
                form.sheet method="get" action={ "/bench/formula/" (id) } data-live={ "/bench/formula/" (id) } {
                    div.fields {
                        (Field::text("total", "For this much in the pot", asked.get("total")).hint(&format!("wax, dye and oil together; a bare number is {}", workshop.system().mass_unit().symbol())).draw(&problems))
                        (Field::text("load", "At a load of", asked.get("load")).hint(&example(workshop, "say of what: 8 % of wax, or 7.4 % of total")).draw(&problems))
                    }
                    p.next {
                        button type="submit" { "Work it out" }
                        a.button.do href=(pour_it) { "Pour this" }
                    }
                }
                h2 { "What is in it" }
                (recipe_facts(workshop, recipe))
                p.next {
                    a.button.quiet href={ "/bench/formula/" (id) "/revise" } { "Change the formula" }
                    a.button.quiet href={ "/bench/formula/" (id) "/label" } { "What must the label say?" }
                }
                @if formula.revision() > 1 {
                    h2 { "How it came to this" }
                    ul.rows {
                        @for (n, (day, reason, recipe)) in formula.revisions.iter().enumerate().rev() {
                            li {
                                span { "Revision " (n + 1) ": " @if reason.is_empty() { "first written down" } @else { (reason) } }
                                span { (load_line(recipe)) }
                                span.soft { (parts::day(*day)) }
                            }
                        }
                    }
                }
            },
        })
    })?
}

/// What to weigh, with the doubt about the amount under it.
pub(crate) fn weigh_out(workshop: &Workshop, planned: &workshop::Planned, doubt: &str) -> Markup {
    let plan = &planned.plan;
    let system = workshop.system();
    html! {
        (parts::answer(
            &planned.total().to_string(),
            &in_system(plan.weighed.total(), system.other()).to_string(),
            &format!("In all, at {} of wax ({} of the melt). {doubt}", measure::percent(plan.of_wax(), 1), measure::percent(plan.of_total(), 2))))
        (portions_table(plan, system))
        (notes(plan))
        (parts::working("working-weigh-out", &plan.working))
    }
}

/// The portions with their running readings.
pub(crate) fn portions_table(plan: &formula::Plan, system: measure::System) -> Markup {
    html! {
        table {
            thead { tr { th { "Weigh" } th.n { "This much" } th.n { "Pot then reads" } th.n.no-phone { (parts::in_words(system.other())) } } }
            tbody {
                @for portion in &plan.portions {
                    tr {
                        td { (portion.name) }
                        td.n { strong { (fig(portion.weight.to_string())) } }
                        td.n { (fig(portion.running.to_string())) }
                        td.n.soft.no-phone { (fig(in_system(portion.weight.value(), system.other()).to_string())) }
                    }
                }
                @for drops in &plan.drops {
                    tr { td { (drops.name) } td.n { strong { (drops.drops.normalize()) " drops" } } td.n { "–" } td.n.no-phone {} }
                }
            }
        }
    }
}

/// What belongs beside the figures: cautions first.
pub(crate) fn notes(plan: &formula::Plan) -> Markup {
    html! {
        @for note in &plan.notes {
            @if note.is_caution() {
                p.note { (parts::verdict("no", "Look first.")) " " (note.text) }
            } @else {
                p.soft { (note.text) }
            }
        }
    }
}

/// The recipe as a list.
pub(crate) fn recipe_facts(workshop: &Workshop, recipe: &Recipe) -> Markup {
    let name = |id| {
        workshop
            .supply(id)
            .map_or("?", |supply| supply.name.as_str())
    };
    html! {
        dl.facts {
            @for part in &recipe.blend {
                dt { (part.parts.normalize()) " parts" }
                dd {
                    a href={ "/shelf/supply/" (part.supply) } { (name(part.supply)) }
                    @if let Some(load) = workshop.supply(part.supply).and_then(|supply| supply.max_load) {
                        span.soft { " · carries at most " (load) }
                    }
                }
            }
            dt { "Fragrance" }
            dd {
                @if let Some(oil) = recipe.oil {
                    a href={ "/shelf/supply/" (oil) } { (name(oil)) } ", " (recipe.load.both(measure::Ratio::ZERO))
                } @else { "none" }
            }
            @if let Some((dye, dose)) = &recipe.dye {
                dt { "Dye" }
                dd { (name(*dye)) ", " (dose_words(dose)) }
            }
            @if let Some(at) = &recipe.add_at { dt { "Oil goes in at" } dd { (at) } }
            @if let Some(at) = &recipe.pour_at { dt { "Pour at" } dd { (at) } }
            dt { "Cure" } dd { (parts::counted(u32::from(recipe.cure_days), "day")) }
            @if let Some(density) = recipe.set_density { dt { "Density when set" } dd { (density) " g/ml" } }
        }
    }
}

fn dose_words(dose: &DyeDose) -> String {
    match dose {
        DyeDose::OfWax(share) => format!("{share} of wax"),
        DyeDose::DropsPerPound(drops) => format!("{drops} drops a pound of wax"),
    }
}

async fn new(State(site): State<Site>) -> Response {
    site.run(|app| new_page(app, &Filled::default(), &Problems::default()))
        .await
}

async fn define(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| forms::define_formula(app, WHO, filled),
        |_, done| Ok(formula_path(&done.facts)),
        new_page,
    )
    .await
}

fn formula_path(facts: &[Fact]) -> String {
    facts
        .iter()
        .find_map(|fact| match fact {
            Fact::FormulaDefined(fact) => Some(format!("/bench/formula/{}", fact.formula)),
            Fact::FormulaRevised(fact) => Some(format!("/bench/formula/{}", fact.formula)),
            _ => None,
        })
        .unwrap_or_else(|| "/bench".to_owned())
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let has_wax = workshop.supplies().any(|supply| supply.kind == SupplyKind::Wax);
        Ok(Page {
            title: "What goes in it?".to_owned(),
            place: Place::Bench,
            back: Some(("/bench".to_owned(), "Bench".to_owned())),
            body: html! {
                (parts::question("What goes in it?"))
                @if has_wax {
                    (parts::problems(problems))
                    form.sheet method="post" action="/bench/formula/new" {
                        (once::field())
                        div.fields.wide {
                            (Field::text("name", "Name", filled.get("name")).hint("the scent, such as Harbour Fig").draw(problems))
                        }
                        (recipe_form(workshop, filled, problems))
                        p.next { button.do type="submit" { "Write it down" } }
                    }
                } @else {
                    (parts::empty("A formula is made of supplies: at least one wax has to stand on the shelf first.", "/shelf/new?kind=wax", "Enter a wax"))
                }
            },
        })
    })?
}

async fn revision(
    State(site): State<Site>,
    At(id): At<FormulaId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| revise_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn revise(
    State(site): State<Site>,
    At(id): At<FormulaId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| forms::revise_formula(app, WHO, id, filled),
        |_, done| Ok(formula_path(&done.facts)),
        move |app, filled, problems| revise_page(app, id, filled, problems),
    )
    .await
}

fn revise_page(
    app: &App,
    id: FormulaId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let formula = workshop.formula(id).ok_or(Fault::Nothing("formula"))?;
        let filled = as_filled(workshop, formula.current(), filled);
        Ok(Page {
            title: format!("Change {}", formula.name),
            place: Place::Bench,
            back: Some((format!("/bench/formula/{id}"), formula.name.clone())),
            body: html! {
                (parts::question(&format!("{}: what changes?", formula.name)))
                p.soft { "Pours already made keep revision " (formula.revision()) "; the next ones use what you write here." }
                (parts::problems(problems))
                form.sheet method="post" action={ "/bench/formula/" (id) "/revise" } {
                    (recipe_form(workshop, &filled, problems))
                    div.fields.wide {
                        (Field::text("reason", "Why", filled.get("reason")).hint("what you hope it mends").draw(problems))
                    }
                    p.next { button.do type="submit" { "Write it down" } }
                }
            },
        })
    })?
}

/// A recipe as it would be filled in; what was typed stays.
fn as_filled(workshop: &Workshop, recipe: &Recipe, typed: &Filled) -> Filled {
    let own = |figure: &dyn std::fmt::Display| as_typed(workshop, figure);
    let mut filled = typed.clone();
    for (i, part) in recipe.blend.iter().enumerate() {
        filled = filled
            .or(&format!("blend[{i}].supply"), part.supply.to_string())
            .or(&format!("blend[{i}].parts"), own(&part.parts.normalize()));
    }
    let text = |value: Option<String>| value.unwrap_or_default();
    filled
        .or("oil", text(recipe.oil.map(|oil| oil.to_string())))
        .or("load", own(&recipe.load))
        .or(
            "dye",
            text(recipe.dye.as_ref().map(|(dye, _)| dye.to_string())),
        )
        .or(
            "dye_dose",
            text(recipe.dye.as_ref().map(|(_, dose)| match dose {
                DyeDose::OfWax(share) => own(share),
                DyeDose::DropsPerPound(drops) => format!("{drops} drops"),
            })),
        )
        .or("add_at", text(recipe.add_at.as_ref().map(|at| own(at))))
        .or("pour_at", text(recipe.pour_at.as_ref().map(|at| own(at))))
        .or("cure_days", recipe.cure_days.to_string())
        .or(
            "set_density",
            text(recipe.set_density.map(|density| own(&density))),
        )
}

fn recipe_form(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let of = |kinds: &[SupplyKind], none: &str| -> Vec<(String, String)> {
        std::iter::once((String::new(), none.to_owned()))
            .chain(
                workshop
                    .supplies()
                    .filter(|supply| kinds.contains(&supply.kind))
                    .map(|supply| (supply.id.to_string(), supply.name.clone())),
            )
            .collect()
    };
    let waxes = of(&[SupplyKind::Wax, SupplyKind::Additive], "–");
    let lines = filled
        .lines("blend")
        .clamp(3, BLEND_LINES.max(filled.lines("blend")));
    let temperature = temperature_hint(workshop, 75);
    html! {
        fieldset {
            legend { "The blend, in parts" }
            @if let Some(problem) = problems.of("blend") { p.problem { (problem.wrong) "; " (problem.accepted) } }
            @for i in 0..lines {
                @let supply = format!("blend[{i}].supply");
                @let part = format!("blend[{i}].parts");
                div.fields {
                    (parts::select(&supply, if i == 0 { "Wax" } else { "And" }, filled.get(&supply), &waxes, "", problems))
                    (Field::text(&part, "Parts", filled.get(&part)).keys("decimal").hint(if i == 0 { "100, or 90 of 100" } else { "" }).draw(problems))
                }
            }
        }
        fieldset {
            legend { "Fragrance and colour" }
            div.fields {
                (parts::select("oil", "Fragrance oil", filled.get("oil"), &of(&[SupplyKind::FragranceOil], "none"), "", problems))
                (Field::text("load", "Load", if filled.has("load") { filled.get("load") } else { "8 % of wax" }).hint(&example(workshop, "say of what: 8 % of wax, 7.4 % of total, 1 oz per lb")).draw(problems))
                (parts::select("dye", "Dye", filled.get("dye"), &of(&[SupplyKind::Dye], "none"), "", problems))
                (Field::text("dye_dose", "How much dye", filled.get("dye_dose")).hint(&example(workshop, "a share of the wax such as 0.1 %, or 3 drops a pound")).draw(problems))
            }
        }
        fieldset {
            legend { "Handling" }
            div.fields {
                (Field::text("add_at", "Oil goes in at", filled.get("add_at")).hint(&temperature).draw(problems))
                (Field::text("pour_at", "Pour at", filled.get("pour_at")).hint(&temperature).draw(problems))
                (Field::text("cure_days", "Days to cure", filled.get("cure_days")).keys("numeric").draw(problems))
                (Field::text("set_density", "Density when set", filled.get("set_density")).keys("decimal").hint(&example(workshop, "g/ml, if you know it; 0.90 is common")).draw(problems))
            }
        }
    }
}
