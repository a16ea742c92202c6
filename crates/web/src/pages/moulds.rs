//! Moulds and vessels: how much to melt for them, and what their pours taught.

use app::App;
use app::forms::{self, FORMATS, Filled, as_typed};
use app::melting::{self, Asked, Fills};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::get;
use fill::fill_advice::Answer;
use maud::{Markup, html};
use measure::{Mass, Problems, System, figure, in_system};
use workshop::facts::{Fact, MouldId};
use workshop::{Advice, History, Mould, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/bench/moulds", get(moulds))
        .route("/bench/mould/new", get(new).post(define))
        .route("/bench/mould/{id}", get(mould))
}

async fn moulds(State(site): State<Site>) -> Response {
    site.run(|app| Ok(app.look(moulds_page)?)).await
}

fn moulds_page(workshop: &Workshop) -> Page {
    const QUESTION: &str = "What do I pour into?";
    Page {
        title: QUESTION.to_owned(),
        place: Place::Bench,
        back: Some(("/bench".to_owned(), "Bench".to_owned())),
        body: html! {
            (parts::question(QUESTION))
            @if workshop.moulds().next().is_none() {
                (parts::empty(
                    "Moulds and vessels live here: how many cavities, how much each takes. Every pour teaches how much to melt for the next.",
                    "/bench/mould/new", "Enter a mould"))
            } @else {
                p.doubt { "Each one knows how much to melt for it, and knows it better with every pour." }
                p.next { a.button.do href="/bench/mould/new" { "Enter a mould" } }
                ul.rows {
                    @for mould in workshop.moulds() {
                        li {
                            span {
                                a href={ "/bench/mould/" (mould.id) } { (mould.name) }
                                br;
                                span.soft.small { (size_of(mould)) }
                            }
                            span.soft { (pours_of(workshop, mould.id)) }
                        }
                    }
                }
            }
        },
    }
}

/// `snap bar · 12 cavities · nominal 1.5 oz`
fn size_of(mould: &Mould) -> String {
    let mut words = vec![mould.format.word().to_owned()];
    if mould.cavities > 1 {
        words.push(format!("{} cavities", mould.cavities));
    }
    if let Some(line) = &mould.line_volume {
        words.push(format!("{line} to the line"));
    }
    if let Some(nominal) = &mould.nominal {
        words.push(format!("nominal {nominal}"));
    }
    words.join(" · ")
}

fn pours_of(workshop: &Workshop, mould: MouldId) -> String {
    match workshop.n_pours_of_mould(mould) {
        0 => "not poured into yet".to_owned(),
        1 => "1 pour".to_owned(),
        n => format!("{n} pours"),
    }
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn define(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| forms::define_mould(app, WHO, filled),
        |_, done| {
            let defined = done.facts.iter().find_map(|fact| match fact {
                Fact::MouldDefined(fact) => Some(format!("/bench/mould/{}", fact.mould)),
                _ => None,
            });
            Ok(defined.unwrap_or_else(|| "/bench/moulds".to_owned()))
        },
        new_page,
    )
    .await
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    const QUESTION: &str = "What does the mould take?";
    let unit = app.look(|workshop| workshop.system().mass_unit().symbol())?;
    let formats = FORMATS.map(|(word, format)| (word.to_owned(), format.word().to_owned()));
    Ok(Page {
        title: QUESTION.to_owned(),
        place: Place::Bench,
        back: Some(("/bench/moulds".to_owned(), "Moulds and vessels".to_owned())),
        body: html! {
            (parts::question(QUESTION))
            p.doubt { "A name, what comes out and how many at a time are enough. The rest makes the first pour surer." }
            (parts::problems(problems))
            form.sheet method="post" action="/bench/mould/new" data-keep="mould-new" {
                (once::field())
                div.fields {
                    (Field { required: true, ..Field::text("name", "What you call it", filled.get("name")) }
                        .hint("by size and count: twelve small bars").draw(problems))
                    (parts::select("format", "What comes out of it", filled.get("format"), &formats, "", problems))
                    (Field { required: true, ..Field::text("cavities", "Cavities", filled.get("cavities")) }
                        .keys("numeric").hint("units that come out of one fill; 1 for a jar, tin or single shell").draw(problems))
                    (Field::text("line_volume", "Water to the fill line, each", filled.get("line_volume"))
                        .hint("such as 84 ml; or weigh the water: 84 g").draw(problems))
                    (Field::text("nominal", "Unit weight it is sold as", filled.get("nominal"))
                        .hint(&format!("a name, not a measurement; in {unit} unless you say otherwise")).draw(problems))
                }
                p.next { button.do type="submit" { "Enter it" } }
            }
        },
    })
}

async fn mould(
    State(site): State<Site>,
    At(id): At<MouldId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| mould_page(app, id, &Filled::new(pairs)))
        .await
}

fn mould_page(app: &App, id: MouldId, asked: &Filled) -> Result<Page, Fault> {
    const QUESTION: &str = "How much do I melt?";
    let advice = app.advice(id)?.ok_or(Fault::Nothing("mould"))?;
    app.look(|workshop| {
        let mould = workshop.mould(id).ok_or(Fault::Nothing("mould"))?;
        let filled = melting::with_usual(workshop, id, asked);
        let (asked, problems) = match melting::read(workshop, &filled) {
            Ok(asked) => (Some(asked), Problems::default()),
            Err(problems) => (None, problems),
        };
        let answer = asked.as_ref().and_then(|asked| advice.melt_for(asked.wanted, asked.chance));
        let fills = asked.as_ref().and_then(|asked| melting::fills(&advice, asked));
        Ok(Page {
            title: format!("{QUESTION} · {}", mould.name),
            place: Place::Bench,
            back: Some(("/bench/moulds".to_owned(), "Moulds and vessels".to_owned())),
            body: html! {
                (parts::question(QUESTION))
                p.soft { strong { (mould.name) } " · " (size_of(mould)) }
                div data-part="answer" {
                    (answered(&advice, asked.as_ref(), answer.as_ref(), fills.as_ref(), &problems))
                    @if let Some(asked) = &asked {
                        p.next {
                            a.button.do href=(weigh_out_path(workshop, id, asked, fills.as_ref())) { "Weigh this out" }
                        }
                    }
                }
                form.sheet method="get" action={ "/bench/mould/" (id) } data-live={ "/bench/mould/" (id) } {
                    div.fields {
                        (Field::text("wanted", "Units wanted", filled.get("wanted")).keys("numeric").draw(&problems))
                        (Field::text("chance", "How sure", filled.get("chance")).hint("90 %: enough nine times in ten").draw(&problems))
                        (Field::text("melt", "What does this fill?", filled.get("melt")).hint("a melt of your own; may stay empty").draw(&problems))
                    }
                    p.next { button type="submit" { "Work it out" } }
                }
                div data-part="picture" {
                    @if let (Some(asked), Some(answer)) = (&asked, &answer) {
                        (range_picture(&advice.history, mould, asked, answer))
                    }
                    @if let Some(fills) = &fills { (chances_picture(mould, fills)) }
                }
                (learned(&advice))
                div data-part="working" {
                    @if let Some(answer) = &answer { (parts::working("working", &answer.working)) }
                }
                (history(&advice))
            },
        })
    })?
}

/// The pour page with everything asked here filled in, and the melt that stands
/// here as the answer.
fn weigh_out_path(
    workshop: &Workshop,
    id: MouldId,
    asked: &Asked,
    fills: Option<&Fills>,
) -> String {
    let escaped = |figure: &dyn std::fmt::Display| {
        as_typed(workshop, figure)
            .replace('%', "%25")
            .replace(' ', "+")
    };
    let mut path = format!(
        "/pour/new?mould={id}&wanted={}&chance={}",
        asked.wanted,
        escaped(&asked.chance)
    );
    if let Some(fills) = fills {
        path.push_str("&melt=");
        path.push_str(&escaped(&fills.melt));
    }
    path
}

fn answered(
    advice: &Advice,
    asked: Option<&Asked>,
    answer: Option<&Answer>,
    fills: Option<&Fills>,
    problems: &Problems,
) -> Markup {
    html! {
        @match (asked, answer) {
            (None, _) => div.problems role="alert" { h2 { "Nothing was worked out yet" } (parts::problem_list(problems)) },
            (Some(_), None) => {
                (parts::answer_words("Not known yet.", "Nothing says what a unit weighs."))
                p { "Melt a trial for a guess, count what it fills and weigh a few. After that one pour this page knows. Or write down the water to the fill line or a nominal weight when you enter the mould." }
            }
            (Some(asked), Some(answer)) => {
                @let also = in_system(answer.melt.value(), advice.history.system.other()).to_string();
                (parts::answer(&answer.melt.to_string(), &also, &answer.doubt))
                @if let (Some(own), Some(fills)) = (&asked.melt, fills) {
                    p.note { (fig(own.to_string())) " is enough for " (asked.wanted) " " (fills.enough) "." }
                }
            }
        }
        @for one in &advice.odd {
            p.note {
                "Lot " a href={ "/rack/" (one.pour) "#weights" } { (one.lot) } ": "
                (one.words.join("; ")) ". "
                @if one.kept.is_empty() {
                    "Its unit weights are left out here. Strike the wrong one and the rest count again."
                } @else {
                    "It counts here all the same, because: " (one.kept.join("; ")) "."
                }
            }
        }
        @for one in &advice.left_out {
            p.note {
                "Lot " a href={ "/pour/" (one.pour) } { (one.lot) } " is left out: " (one.why)
                ". Put its count or its weights right and it counts again."
            }
        }
    }
}

/// The words of the mould for what it gives.
fn noun(mould: &Mould) -> (&'static str, String) {
    let one = mould.format.word();
    (one, format!("{one}s"))
}

/// Writes a figure in the workshop's everyday unit.
fn write_in(system: System, places_metric: u32, places_ounce: u32) -> impl Fn(f64) -> String {
    let places = match system {
        System::Metric => places_metric,
        System::Us | System::Imperial => places_ounce,
    };
    move |value| format!("{} {}", figure(value, places), system.mass_unit().symbol())
}

fn range_picture(history: &History, mould: &Mould, asked: &Asked, answer: &Answer) -> Markup {
    let (one, many) = noun(mould);
    let system = history.system;
    let unit = system.mass_unit();
    let grams = |grams: f64| Mass::from_grams(grams).map_or(f64::NAN, |mass| mass.to_f64(unit));
    let pours: Vec<_> = history
        .pours
        .iter()
        .filter(|past| past.of() == asked.wanted)
        .map(|past| press::EarlierPour {
            melted: grams(past.made.put_in()),
            full: past.made.filled as usize,
            of: past.of() as usize,
        })
        .collect();
    let write = write_in(system, 0, 1);
    let picture = press::fill_range(&press::FillRange {
        noun: press::Noun { one, many: &many },
        want: asked.wanted as usize,
        // One answer a page: the title names the amount that is advised.
        middle: answer.melt.value().to_f64(unit),
        advised: answer.melt.value().to_f64(unit),
        low: answer.low.value().to_f64(unit),
        high: answer.high.value().to_f64(unit),
        pours: &pours,
        write: &write,
    });
    html! { @if let Some(picture) = picture { (parts::picture(&picture)) } }
}

fn chances_picture(mould: &Mould, fills: &Fills) -> Markup {
    let (one, many) = noun(mould);
    let chances: Vec<_> = fills
        .chances
        .iter()
        .enumerate()
        .map(|(count, chance)| press::CountChance {
            count,
            chance: *chance,
        })
        .collect();
    let picture = press::count_chances(&press::CountChances {
        noun: press::Noun { one, many: &many },
        amount: &fills.melt.to_string(),
        chances: &chances,
    });
    html! { @if let Some(picture) = picture { (parts::picture(&picture)) } }
}

/// What the pours taught, before and after.
fn learned(advice: &Advice) -> Markup {
    let Some(words) = advice.words() else {
        return html! {};
    };
    html! {
        h2 { "What the pours taught" }
        dl.facts {
            dt { "Unit weight" } dd { (fig(&words.unit_weight)) " " span.soft { "(" (words.unit_range) ")" } }
            dt { "A unit of the next pour" } dd { (words.next_unit) " " span.soft { "nine times in ten, by all these pours; a lot's own page goes by its own units alone" } }
            dt { "Spread" } dd {
                (fig(&words.spread_within)) " " span.soft { "within a pour, " } (fig(&words.spread_between)) span.soft { " from pour to pour" }
            }
            dt { "Lost in pot and jug" } dd {
                @if advice.n_used() > 0 && words.loss_before != words.loss { (fig(&words.loss_before)) " → " }
                (fig(&words.loss)) " " span.soft { "of the melt (" (words.loss_range) ")" }
            }
            @if !words.nominal.is_empty() { dt { "Said to weigh" } dd { (words.nominal) } }
        }
    }
}

fn history(advice: &Advice) -> Markup {
    let history = &advice.history;
    let rows = history.rows();
    html! {
        @if !rows.is_empty() {
            h2 { "Pours so far" }
            table.stack {
                thead { tr {
                    th { "Lot" } th { "Poured" } th.n { "Put in" } th.n { "Filled" } th.n { "Left over" } th.n { "Unit, mean" } th.n { "Not accounted for" }
                } }
                tbody {
                    @for row in &rows {
                        tr {
                            td { a href={ "/rack/" (row.pour) } { (row.lot) } }
                            td data-label="Poured" { (parts::day(row.day)) }
                            td.n data-label="Put in" { (fig(&row.put_in)) }
                            td.n data-label="Filled" { (row.filled) }
                            td.n data-label="Left over" { (cell(&row.left)) }
                            td.n data-label="Unit, mean" { (cell(&row.unit)) }
                            td.n data-label="Not accounted for" { (cell(&row.lost)) }
                        }
                    }
                }
            }
            @if history.counted > rows.len() {
                p.soft.small { "The last " (rows.len()) " of " (history.counted) " counted pours; older ones tell of other hands and are not learned from." }
            }
        }
    }
}

fn cell(text: &str) -> Markup {
    html! { @if text.is_empty() { "–" } @else { (fig(text)) } }
}
