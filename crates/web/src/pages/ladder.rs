//! A formula's label: what it must say, and at which load it changes.

use app::App;
use app::forms::{Filled, as_typed};
use app::labels::{self, Tried};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use formula::FragranceLoad;
use hazard::ladder::{Ladder, Load};
use hazard::restriction;
use maud::{Markup, html};
use measure::{Decimal, Ratio};
use workshop::Workshop;
use workshop::facts::{FormulaId, Recipe};
use workshop::label::{
    Outlook, Reader, dye_of_wax, elements_of_rung, gist_of, ladder_of, outlook_of, wax_limit_of,
};

use crate::layout::{Page, Place};
use crate::pages::Pairs;
use crate::pages::label;
use crate::parts::{self, Field};
use crate::site::{At, Fault, Site};

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/bench/formula/{id}/label", get(formula_label))
}

async fn formula_label(
    State(site): State<Site>,
    At(id): At<FormulaId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| page(app, id, Filled::new(pairs))).await
}

fn page(app: &App, id: FormulaId, asked: Filled) -> Result<Page, Fault> {
    let day = app.today();
    app.look(|workshop| {
        let formula = workshop.formula(id).ok_or(Fault::Nothing("formula"))?;
        let recipe = formula.current();
        let asked = labels::first_trial(workshop, recipe, asked);
        let tried = labels::trial(workshop, &asked, day);
        let problems = tried.as_ref().err().cloned().unwrap_or_default();
        let laws = labels::LAWS.map(|(word, law)| (word.to_owned(), law.to_string()));
        let question = format!(
            "{}: what must the label say, and at which load does it change?",
            formula.name
        );
        let path = format!("/bench/formula/{id}/label");
        Ok(Page {
            title: question.clone(),
            place: Place::Bench,
            back: Some((format!("/bench/formula/{id}"), formula.name.clone())),
            body: html! {
                (parts::question(&question))
                div data-part="answer" {
                    @match &tried {
                        Ok(tried) => (answer(workshop, id, recipe, tried)),
                        Err(problems) => (parts::problems(problems)),
                    }
                }
                form.sheet method="get" action=(path) data-live=(path) {
                    div.fields {
                        (Field::text("load", "At a load of", asked.get("load")).hint("say of what: 8 % of wax, or 7.4 % of total").draw(&problems))
                        (parts::select("law", "By the rules of", asked.get("law"), &laws, "", &problems))
                    }
                    p.next { button type="submit" { "Work it out" } }
                }
                div data-part="label" {
                    @if let Ok(tried) = &tried { (below(workshop, id, recipe, tried)) }
                }
                (parts::hazard_caution())
            },
        })
    })?
}

/// The answer on top; or what is missing before there can be one.
fn answer(workshop: &Workshop, id: FormulaId, recipe: &Recipe, tried: &Tried) -> Markup {
    let outlook = match outlook_of(workshop, recipe, tried.load, &tried.reader) {
        Ok(outlook) => outlook,
        Err(problems) => return parts::problems(&problems),
    };
    if let Some(oil) = outlook.contents.without_sheet {
        let name = workshop
            .supply(oil)
            .map_or("its oil", |supply| supply.name.as_str());
        return parts::empty(
            &format!(
                "Nobody can say yet: what the safety data sheet of {name} lists in section 3 is not written down."
            ),
            &format!("/shelf/supply/{oil}/sheet/new"),
            "Write down its sheet",
        );
    }
    html! {
        (parts::answer_words(&format!("{}.", gist_of(&outlook.elements)), ""))
        p.doubt {
            "At " (as_typed(workshop, tried.load)) ", by " (tried.reader.rules.jurisdiction) " as read on " (parts::day(tried.reader.rules.on)) ". "
            (doubts(&outlook))
        }
        @if tried.load != recipe.load {
            p.next { (take_button(workshop, id, tried.load, "Take this load into the formula")) }
        }
    }
}

fn doubts(outlook: &Outlook) -> Markup {
    let contents = &outlook.contents;
    let open: usize = contents.unconfirmed.iter().map(|(_, lines)| lines).sum();
    html! {
        @if open > 0 {
            (parts::verdict("unproven", "not confirmed")) " It rests on "
            (if open == 1 { "1 line".to_owned() } else { format!("{open} lines") })
            " not compared with the supplier's sheet. "
        }
        @if let Some(found) = &outlook.classification {
            @if found.found.iter().any(|found| found.only_by_worst_case) {
                "The sheet gives ranges, and their upper ends alone lead here. "
            }
            @if !found.unknown.substances.is_empty() {
                (parts::verdict("unproven", "partly unknown")) " Of part of it nobody has said what it does. "
            }
            @if !found.provisional.is_empty() { "An M-factor is missing, so it is provisional. " }
        }
        @if !contents.trusted.is_empty() { "Wax and colour without a sheet are taken as not hazardous, on trust." }
    }
}

/// A link to the formula's form with this load in it.
fn take_button(workshop: &Workshop, id: FormulaId, load: FragranceLoad, words: &str) -> Markup {
    html! { a.button.quiet href=(take(workshop, id, load)) { (words) } }
}

fn take(workshop: &Workshop, id: FormulaId, load: FragranceLoad) -> String {
    let load = as_typed(workshop, load)
        .replace('%', "%25")
        .replace(' ', "+")
        .replace(',', "%2C");
    format!("/bench/formula/{id}/revise?load={load}")
}

fn below(workshop: &Workshop, id: FormulaId, recipe: &Recipe, tried: &Tried) -> Markup {
    let Ok(outlook) = outlook_of(workshop, recipe, tried.load, &tried.reader) else {
        return html! {};
    };
    if outlook.contents.without_sheet.is_some() {
        return html! {};
    }
    html! {
        @match ladder_of(workshop, recipe, &tried.reader.rules) {
            Ok(Some((ladder, _))) => (rungs(workshop, id, recipe, tried, &ladder)),
            Ok(None) => {},
            Err(problems) => (parts::problem_list(&problems)),
        }
        h2 { "What the label carries at " (as_typed(workshop, tried.load)) }
        (label::elements(&outlook.elements, false))
        (held_down(workshop, recipe, &outlook))
        (near(&outlook))
        (label::rests_on(workshop, &outlook))
    }
}

/// The figure of a load on the base that the recipe speaks of.
fn on_base(load: Load, of_total: bool) -> Decimal {
    if of_total { load.of_total } else { load.of_wax }
}

/// The load in percent and in words, where it can be had.
fn as_load(percent: Decimal, of_total: bool) -> Option<FragranceLoad> {
    let ratio = Ratio::from_percent(percent)?;
    if of_total {
        FragranceLoad::of_total(ratio)
    } else {
        FragranceLoad::of_wax(ratio)
    }
}

struct Step {
    from: f64,
    to: f64,
    span: String,
    gist: String,
    signal: Option<String>,
    signs: Vec<press::Pictogram>,
    codes: Vec<String>,
    keeps: Option<FragranceLoad>,
    then: Vec<String>,
}

fn steps(workshop: &Workshop, ladder: &Ladder, reader: &Reader, of_total: bool) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let last = ladder.rungs.len().saturating_sub(1);
    let mut below: Option<String> = None;
    for (n, rung) in ladder.rungs.iter().enumerate() {
        let elements = elements_of_rung(rung, reader);
        let percent = rung.keeps.map(|keeps| on_base(keeps, of_total));
        let upper = percent.unwrap_or_else(|| on_base(rung.to, of_total));
        let top = as_typed(workshop, format!("{} %", upper.normalize()));
        let span = match (&below, n == last) {
            (None, _) => format!("up to {top}"),
            (Some(below), true) => format!("above {below}"),
            (Some(below), false) => format!("above {below}, up to {top}"),
        };
        below = Some(top);
        let mut codes = elements.hazard_statements.clone();
        codes.extend(elements.supplemental.iter().map(|extra| extra.code.clone()));
        steps.push(Step {
            from: float(on_base(rung.from, of_total)),
            to: float(on_base(rung.to, of_total)),
            span,
            gist: gist_of(&elements),
            signal: elements.signal_word.map(|word| word.to_string()),
            signs: elements
                .pictograms
                .iter()
                .filter_map(|sign| press::Pictogram::parse(sign.code()))
                .collect(),
            codes,
            keeps: percent.and_then(|percent| as_load(percent, of_total)),
            then: rung.then.iter().map(changes).collect(),
        });
    }
    steps
}

fn float(decimal: Decimal) -> f64 {
    Ratio::from_decimal(decimal).map_or(0.0, Ratio::to_f64)
}

fn changes(change: &hazard::ladder::Change) -> String {
    use hazard::ladder::What;
    let by = if change.deciding.is_empty() {
        String::new()
    } else {
        let names: Vec<_> = change.deciding.iter().take(3).map(String::as_str).collect();
        format!(", by {}", names.join(", "))
    };
    let what = match &change.what {
        What::Begins(hazard) => format!("{hazard} begins"),
        What::Ends(hazard) => format!("{hazard} ends"),
        What::Becomes(then, now) => format!("{then} becomes {now}"),
        What::Names => "sensitisers must be named".to_owned(),
        What::NamesNoMore => "sensitisers are named elsewhere".to_owned(),
    };
    format!("{what}{by} ({})", change.law)
}

fn rungs(
    workshop: &Workshop,
    id: FormulaId,
    recipe: &Recipe,
    tried: &Tried,
    ladder: &Ladder,
) -> Markup {
    let of_total = matches!(recipe.load, FragranceLoad::OfTotal(_));
    let dye = dye_of_wax(recipe);
    let base = if of_total { "of total" } else { "of wax" };
    let on = |load: FragranceLoad| {
        if of_total {
            load.as_of_total(dye)
        } else {
            load.as_of_wax(dye)
        }
    };
    let steps = steps(workshop, ladder, &tried.reader, of_total);
    let codes: Vec<Vec<&str>> = steps
        .iter()
        .map(|step| step.codes.iter().map(String::as_str).collect())
        .collect();
    let drawn: Vec<_> = steps
        .iter()
        .zip(&codes)
        .map(|(step, codes)| press::LabelRung {
            from: step.from,
            to: step.to,
            span: &step.span,
            title: &step.gist,
            signal: step.signal.as_deref(),
            pictograms: &step.signs,
            codes,
        })
        .collect();
    let limit = wax_limit_of(workshop, recipe).map(|limit| {
        let limit = FragranceLoad::OfWax(limit);
        (float(on(limit).percent()), as_typed(workshop, limit))
    });
    let now = (
        float(on(tried.load).percent()),
        as_typed(workshop, tried.load),
    );
    let picture = press::label_ladder(&press::LabelLadder {
        rungs: &drawn,
        limit: limit
            .as_ref()
            .map(|(load, text)| press::MarkedLoad { load: *load, text }),
        now: Some(press::MarkedLoad {
            load: now.0,
            text: &now.1,
        }),
        at: Some(match tried.load {
            FragranceLoad::OfWax(share) => ladder.place_of_wax(share.percent()),
            FragranceLoad::OfTotal(share) => ladder.place_of_total(share.percent()),
        }),
        of: base,
    });
    html! {
        @if let Some(picture) = &picture { (parts::picture(picture)) }
        ol.rungs {
            @for step in steps.iter().rev() {
                li {
                    p { strong { (parts::capital(&step.span)) " " (base) } ": " (step.gist) @if !step.codes.is_empty() { span.soft.small { " " (step.codes.join(", ")) } } }
                    @for then in &step.then { p.soft.small { "Above it " (then) "." } }
                    @if let Some(load) = step.keeps {
                        @if load != recipe.load {
                            p { a href=(take(workshop, id, load)) { "Take " (as_typed(workshop, load)) " into the formula" }
                                @if step.then.is_empty() { span.soft.small { ", the most here" } } @else { span.soft.small { ", the most that keeps this label" } } }
                        } @else { p.soft.small { "The formula stands here." } }
                    }
                }
            }
        }
    }
}

/// What holds the oil down whatever the label says.
fn held_down(workshop: &Workshop, recipe: &Recipe, outlook: &Outlook) -> Markup {
    let contents = &outlook.contents;
    let certificate = recipe.oil.and_then(|oil| workshop.certificate(oil));
    let share = contents.oil_of_total().percent().round_dp(4);
    let place = restriction::Place::of(outlook.rules.jurisdiction);
    let flags: Vec<String> = outlook
        .mixture
        .iter()
        .flat_map(|mixture| &mixture.substances)
        .zip(std::iter::repeat(place))
        .filter_map(|(substance, place)| Some((substance, place?)))
        .flat_map(|(substance, place)| {
            let ingredient = hazard::Ingredient {
                name: substance.name.clone(),
                cas: substance.cas,
                share: hazard::Share::NOTHING,
                hazards: substance.hazards.clone(),
                m_acute: None,
                m_chronic: None,
                estimates: Vec::new(),
                bands: Vec::new(),
            };
            let most = measure::decimal_from_f64(substance.concentration.most(), 6);
            restriction::look(
                &ingredient,
                most.unwrap_or_default(),
                place,
                outlook.rules.on,
            )
        })
        .collect();
    html! {
        h2 { "May it be in there at all?" }
        @match certificate {
            Some(certificate) => {
                @let category = format!("category {}", certificate.category);
                @let verdict = restriction::check(share, certificate.maximum.percent(), &category);
                p {
                    (parts::verdict(if verdict.within { "yes" } else { "no" }, if verdict.within { "within" } else { "over" }))
                    " " (as_typed(workshop, &verdict.says))
                }
                (parts::working("working-certificate", &verdict.working))
            }
            None => {
                @if let Some(oil) = recipe.oil {
                    p { (parts::verdict("unproven", "not checked")) " No certificate of the oil is on file. " a href={ "/shelf/supply/" (oil) "/sheet" } { "Write down its maximum" } "." }
                }
            }
        }
        @if !flags.is_empty() { ul.notes { @for flag in &flags { li { (flag) } } } }
        p.soft.small { "Only a short list of forbidden and restricted substances is looked through; that a substance is not on it means nothing." }
    }
}

fn near(outlook: &Outlook) -> Markup {
    let Some((found, mixture)) = outlook
        .classification
        .as_ref()
        .zip(outlook.mixture.as_ref())
    else {
        return html! {};
    };
    html! {
        @if !found.near.is_empty() {
            h2 { "What it is close to" }
            ul.rows {
                @for near in &found.near {
                    li {
                        span { (near.class) br; span.soft.small { (near.deciding.iter().take(3).map(|place| mixture.name(*place)).collect::<Vec<_>>().join(", ")) } }
                        span { (measure::figure(near.sum, 3)) " of " (measure::figure(near.limit, 3)) }
                        span.soft.small { (near.law) }
                    }
                }
            }
        }
    }
}
