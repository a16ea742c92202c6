//! A good's label as it will be printed, its checklist, the sheets it goes on,
//! and where the goods may go with it.

use app::App;
use app::forms::{Filled, as_typed};
use app::labels::MARKETS;
use app::packing::{show_mm, stocks_on_hand};
use app::proof::{self, Ground, Job, PARTS, Proof};
use app::wording::{Gap, PutRight};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use hazard::Language;
use label::check::Verdict;
use label::sheet::{Outline, Sheet};
use maud::{Markup, PreEscaped, html};
use measure::{Problem, Problems};
use press::paper::label::{LabelError, Layout, Shape, Side};
use workshop::facts::{DestinationId, HOME, LabelPart, ProductId};
use workshop::label::{LabelState, label_case_for};
use workshop::{Workshop, decide, destination_name, may_go};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{At, Fault, Reply, Site, WHO};

/// Lots to choose from.
const LISTED: usize = 40;
/// The boxes of a proof.
const BOXES: [&str; 15] = [
    "to", "lot", "stock", "shape", "width", "height", "corner", "front", "part", "layout", "ink",
    "e_mark", "apart", "link", "cut",
];
/// Whether the mark ℮ is set.
const E_MARK: [(&str, &str); 2] = [("", "none"), ("yes", "beside the net weight")];
const SHEET_QUESTION: &str = "What do I print on which sheet?";
const GO_QUESTION: &str = "Where do the goods go?";
const LOT_QUESTION: &str = "Where may this lot go?";
/// Empty lines for labels to come on a sheet's form.
const SPARE_LINES: usize = 2;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/label/good/{id}/proof", get(proof_of))
        .route("/label/good/{id}/proof/svg", get(proof_svg))
        .route("/label/sheet", get(sheet))
        .route("/label/sheet/pdf", get(sheet_pdf))
        .route("/label/sheet/printed", post(printed))
        .route("/label/calibration", get(calibration))
        .route("/label/destinations", get(destinations))
        .route("/label/destination/new", get(new_destination))
        .route("/label/destination/{id}", get(destination).post(settle))
        .route("/label/destination/{id}/good/{good}/ready", post(ready))
        .route("/label/where", get(whereto))
}

async fn proof_of(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs).with("product", id.to_string());
        let day = app.today();
        let (name, plan) = app.look(|workshop| {
            let name = workshop.product(id).map(|good| good.name.clone());
            (name, proof::plan(workshop, &filled, day))
        })?;
        let name = name.ok_or(Fault::Nothing("good"))?;
        let (found, problems) = match plan {
            Ok(plan) => (Some(plan.fit()), Problems::default()),
            Err(problems) => (None, problems),
        };
        let question = format!("{name}: is its label right?");
        Ok(app.look(|workshop| Page {
            title: question.clone(),
            place: Place::Label,
            back: Some((format!("/label/good/{id}"), name.clone())),
            body: html! {
                (parts::question(&question))
                div data-part="proof" {
                    @match &found {
                        Some(found) => (proof_body(workshop, id, found, &filled)),
                        None => (parts::still_open(&problems)),
                    }
                }
                (proof_form(workshop, id, &filled, found.as_ref(), &problems))
                (other_destinations(workshop, id, day, &filled))
                @if let Some(found) = &found { (united_states(workshop, found)) }
                (parts::hazard_caution())
            },
        })?)
    })
    .await
}

/// The label as a picture of its true size.
async fn proof_svg(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs).with("product", id.to_string());
        let day = app.today();
        let plan = app.look(|workshop| proof::plan(workshop, &filled, day))?;
        let svg = plan.ok().and_then(|plan| plan.fit().svg().ok().flatten());
        let svg = svg.ok_or(Fault::Nothing("picture"))?;
        Ok(Reply::File(
            ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response(),
        ))
    })
    .await
}

/// What was typed, without some of it, as the end of an address.
fn query_with(filled: &Filled, changed: &[(&str, &str)]) -> String {
    let mut pairs: Vec<(String, String)> = BOXES
        .iter()
        .filter(|name| changed.iter().all(|(known, _)| known != *name))
        .filter_map(|name| Some(((*name).to_owned(), filled.some(name)?.to_owned())))
        .collect();
    for (name, text) in changed.iter().filter(|(_, text)| !text.is_empty()) {
        pairs.push(((*name).to_owned(), (*text).to_owned()));
    }
    parts::query(&pairs)
}

fn proof_body(workshop: &Workshop, id: ProductId, found: &Proof, filled: &Filled) -> Markup {
    let why = found.why_not();
    let fits = found.fitted.is_ok();
    let answer = match (found.is_ready(), fits, why.len()) {
        (true, ..) => "Ready to print.".to_owned(),
        (false, false, _) => "It does not fit.".to_owned(),
        (false, true, 1) => "Not yet: one thing stands in its way.".to_owned(),
        (false, true, n) => format!("Not yet: {n} things stand in its way."),
    };
    let size = size_words(workshop, found.plan.request.shape);
    let on = match &found.plan.ground {
        Ground::Stock { name, .. } => format!("{name}, {size}"),
        Ground::Wrap => format!("a band round the unit, {size}"),
        Ground::Typed => size,
    };
    html! {
        (parts::answer_words(&answer, ""))
        p.doubt {
            @if found.is_ready() { (parts::verdict("yes", "ready")) } @else { (parts::verdict("no", "proof, not for sale")) }
            " Goes to: " (found.plan.place) ". " (found.version()) ". On " (on) "."
        }
        (stands_in_its_way(id, found))
        (next_of(found, filled))
        (layouts(id, filled, found))
        div.proof {
            (preview(id, found, filled))
            (checklist(found))
        }
        (sizes_used(found))
    }
}

fn stands_in_its_way(id: ProductId, found: &Proof) -> Markup {
    let gaps = &found.plan.composed.gaps;
    let (stops, notes): (Vec<&Gap>, Vec<&Gap>) = gaps.iter().partition(|gap| gap.stops);
    html! {
        @if let Err(error) = &found.fitted { (no_fit(error)) }
        @if !stops.is_empty() {
            div.note {
                p { "What is missing is left out, never made up:" }
                ul { @for gap in &stops { li { (parts::capital(&gap.what)) ". " (lead(id, gap.at)) } } }
            }
        }
        @if !notes.is_empty() {
            ul.notes { @for gap in &notes { li { (parts::capital(&gap.what)) ". " (lead(id, gap.at)) } } }
        }
    }
}

fn no_fit(error: &LabelError) -> Markup {
    html! {
        div.note {
            @match error {
                LabelError::NoFit(no) => {
                    p { (parts::verdict("no", "does not fit")) }
                    ul {
                        @for short in &no.short {
                            li { (parts::capital(short.role.name())) ": at the least size it takes "
                                (short.needs_mm2.ceil()) " mm², " (parts::counted(u32::try_from(short.lines).unwrap_or(u32::MAX), "line")) "." }
                        }
                        @if no.short.is_empty() { li { "Each part fits by itself; together they do not." } }
                    }
                    @if no.pair_fits { p { "A front and a back label of this size carry all of it: choose the part below." } }
                    @if let Some(shape) = no.smallest { p { "The smallest of this form that carries all of it: " strong { (metric(shape)) } "." } }
                    @if !no.pair_fits && no.smallest.is_none() { p { "Nothing up to four times this size carries all of it: fewer languages, or a front and a back." } }
                }
                other => p { (parts::capital(&other.to_string())) "." }
            }
        }
    }
}

fn metric(shape: Shape) -> String {
    let (width, height) = shape.size_mm();
    match shape {
        Shape::Round { .. } => format!("{:.0} mm across", width.ceil()),
        _ => format!("{:.0} × {:.0} mm", width.ceil(), height.ceil()),
    }
}

fn size_words(workshop: &Workshop, shape: Shape) -> String {
    let (width, height) = shape.size_mm();
    match shape {
        Shape::Round { .. } => format!("{} across", show_mm(workshop, width)),
        _ => format!(
            "{} × {}",
            show_mm(workshop, width),
            show_mm(workshop, height)
        ),
    }
}

/// Where to go to put something right.
fn lead(id: ProductId, at: PutRight) -> Markup {
    html! {
        @match at {
            PutRight::Settings => a href="/label/settings" { "Set it" },
            PutRight::Destination(to) => a href={ "/label/destination/" (to) } { "Set it" },
            PutRight::Weight(rule) => {
                @let asked = rule.map_or_else(String::new, |rule| format!("?{}", parts::query(&[("sold_in", rule.to_string())])));
                a href={ "/rack/good/" (id) "/weight" (asked) } { "Settle the weight" }
            },
            PutRight::Good => a href={ "/stall/good/" (id) } { "Settle it" },
            PutRight::Shape => a href={ "/label/good/" (id) "/wrap" } { "Measure it" },
            PutRight::Label => a href={ "/label/good/" (id) } { "Look at the warning label" },
            PutRight::Here => a href="#f-lot" { "Choose it below" },
        }
    }
}

fn next_of(found: &Proof, filled: &Filled) -> Markup {
    let mut pairs = vec![("run[0].product", found.plan.asked.product.to_string())];
    if let Some(lot) = found.plan.asked.lot {
        pairs.push(("run[0].lot", lot.to_string()));
    }
    if found.plan.asked.destination != HOME {
        pairs.push(("run[0].to", found.plan.asked.destination.to_string()));
    }
    for (name, to) in [
        ("part", "run[0].part"),
        ("layout", "layout"),
        ("ink", "ink"),
        ("e_mark", "e_mark"),
    ] {
        if let Some(text) = filled.some(name) {
            pairs.push((to, text.to_owned()));
        }
    }
    for name in ["apart", "link"] {
        if let Some(text) = filled.some(name) {
            pairs.push((name, text.to_owned()));
        }
    }
    if let Ground::Stock { id, .. } = &found.plan.ground {
        pairs.push(("stock", id.to_string()));
    }
    html! {
        p.next {
            a.button.do[found.is_ready()].quiet[!found.is_ready()] href={ "/label/sheet?" (parts::query(&pairs)) } {
                @if found.is_ready() { "Print a sheet" } @else { "Print a proof" }
            }
        }
    }
}

fn layouts(id: ProductId, filled: &Filled, found: &Proof) -> Markup {
    let shown = found
        .label()
        .map_or(found.plan.request.layout, |label| label.layout);
    html! {
        p.layouts {
            span.soft { "Layout: " }
            @for layout in Layout::ALL {
                a href={ "/label/good/" (id) "/proof?" (query_with(filled, &[("layout", layout.name())])) }
                    aria-current=[(layout == shown).then_some("true")] { (parts::capital(layout.name())) }
                " "
            }
        }
    }
}

fn preview(id: ProductId, found: &Proof, filled: &Filled) -> Markup {
    html! {
        section.preview {
            h2 { "As it will be printed" }
            @match found.svg() {
                Ok(Some(svg)) => {
                    div.enlarged { (PreEscaped(&svg)) }
                    h3 { "True size" }
                    div.scroll { img.true-size alt="" src={ "/label/good/" (id) "/proof/svg?" (query_with(filled, &[])) }; }
                    p.small.soft { "True on paper; a screen comes near it." }
                    @if let Some(label) = found.label() {
                        @if !label.left_out.is_empty() {
                            p { "Left out to make room, since no market here asks for it: "
                                @for (nth, out) in label.left_out.iter().enumerate() { @if nth > 0 { "; " } (out.role.name()) @if out.what != "all of it" { ", " (out.what) } }
                                "." }
                        }
                    }
                }
                Ok(None) => p { "Nothing of it can be drawn in this size." },
                Err(error) => p.problem { (error) },
            }
        }
    }
}

fn checklist(found: &Proof) -> Markup {
    let mut checks: Vec<_> = found.checks().iter().collect();
    checks.sort_by_key(|check| check.verdict);
    let of = |verdict| {
        checks
            .iter()
            .filter(|check| check.verdict == verdict)
            .count()
    };
    html! {
        section.checklist {
            h2 { "The checklist" }
            @if checks.is_empty() { p.soft { "There is nothing to check yet." } } @else {
                p.doubt {
                    (of(Verdict::Pass)) " of " (checks.len()) " met"
                    @if of(Verdict::Fail) > 0 { ", " (of(Verdict::Fail)) " not met" }
                    @if of(Verdict::NotChecked) > 0 { ", " (of(Verdict::NotChecked)) " not checked" }
                    ". Measured on the letters' own outlines."
                }
                ul.checks {
                    @for check in checks {
                        li {
                            span.rule { (check.rule) }
                            (verdict_of(check.verdict))
                            span.figures { (parts::capital(&check.measured)) "; required: " (check.required) }
                            span.source { (check.source) }
                        }
                    }
                }
            }
        }
    }
}

fn verdict_of(verdict: Verdict) -> Markup {
    match verdict {
        Verdict::Pass => parts::verdict("yes", verdict.words()),
        Verdict::Fail => parts::verdict("no", verdict.words()),
        Verdict::NotChecked => parts::verdict("unproven", verdict.words()),
    }
}

fn sizes_used(found: &Proof) -> Markup {
    html! {
        @if let Some(label) = found.label() {
            details {
                summary { "Sizes of type used" }
                p.soft { "Arranged as: " (label.arrangement) "." }
                table {
                    thead { tr { th { "Part" } th.n { "Small letters" } th.n { "Capitals" } } }
                    tbody {
                        @for size in &label.used_sizes {
                            tr {
                                td { (parts::capital(size.role.name())) }
                                td.n { (format!("{:.2} mm", size.x_height_mm)) }
                                td.n { (format!("{:.2} mm", size.cap_height_mm)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

type Options = Vec<(String, String)>;

fn destination_options(workshop: &Workshop) -> Options {
    std::iter::once(HOME)
        .chain(workshop.destinations().map(|(id, _)| id))
        .map(|id| (id.to_string(), destination_name(workshop, id)))
        .collect()
}

fn lot_options(workshop: &Workshop, good: Option<ProductId>) -> Options {
    let lots = workshop
        .pours()
        .rev()
        .filter(|pour| pour.abandoned.is_none())
        .filter(|pour| good.is_none_or(|good| pour.product == Some(good)))
        .filter(|pour| pour.product.is_some())
        .take(LISTED)
        .map(|pour| {
            let day = pour.poured.unwrap_or(pour.started);
            let words = if good.is_some() {
                format!("{}, poured {}", pour.lot, parts::day(day))
            } else {
                let name = pour.product.and_then(|id| workshop.product(id));
                let name = name.map_or("", |good| good.name.as_str());
                format!("{} {name}", pour.lot)
            };
            (pour.id.to_string(), words)
        });
    std::iter::once((String::new(), "no lot".to_owned()))
        .chain(lots)
        .collect()
}

fn stock_options(workshop: &Workshop, sizes: bool, wrap: bool) -> Options {
    let label = |sheet: &Sheet| match sheet.outline {
        Outline::Round => format!("{} across", label::ruler::show(sheet.label_width_mm)),
        _ => format!(
            "{} × {}",
            label::ruler::show(sheet.label_width_mm),
            label::ruler::show(sheet.label_height_mm)
        ),
    };
    let mut options: Options = stocks_on_hand(workshop)
        .filter_map(|stock| {
            let sheet = stock.geometry.sheet().ok()?;
            Some((
                stock.id.to_string(),
                format!("{} ({})", stock.name, label(&sheet)),
            ))
        })
        .collect();
    if wrap {
        options.push((
            "wrap".to_owned(),
            "a band round the unit, by its wrap".to_owned(),
        ));
    }
    if sizes {
        options.push(("typed".to_owned(), "a size typed below".to_owned()));
    }
    options
}

fn word_options(words: &[(&str, &str)]) -> Options {
    words
        .iter()
        .map(|(value, words)| ((*value).to_owned(), (*words).to_owned()))
        .collect()
}

const PART_WORDS: [(&str, &str); 3] = [
    ("whole", "everything on one label"),
    ("front", "the front of two"),
    ("back", "the back of two"),
];

fn part_word(side: Side) -> &'static str {
    PARTS
        .iter()
        .find(|(_, known)| *known == side)
        .map_or("whole", |(word, _)| word)
}

fn layout_options() -> Options {
    let mut options = vec![(String::new(), "whichever fits".to_owned())];
    options.extend(Layout::ALL.map(|layout| (layout.name().to_owned(), layout.name().to_owned())));
    options
}

fn proof_form(
    workshop: &Workshop,
    id: ProductId,
    filled: &Filled,
    found: Option<&Proof>,
    problems: &Problems,
) -> Markup {
    let path = format!("/label/good/{id}/proof");
    let has_wick = workshop
        .product(id)
        .and_then(|good| workshop.mould(good.mould))
        .is_some_and(|mould| mould.format.has_wick());
    let stock = match found.map(|found| &found.plan.ground) {
        Some(Ground::Stock { id, .. }) => id.to_string(),
        Some(Ground::Wrap) => "wrap".to_owned(),
        Some(Ground::Typed) => "typed".to_owned(),
        None => filled.get("stock").to_owned(),
    };
    let shape = workshop.shape(id);
    let text = |name: &str, label: &'static str, hint: &str| {
        Field::text(name, label, filled.get(name))
            .hint(&app::forms::example(workshop, hint))
            .draw(problems)
    };
    html! {
        h2 { "What goes on it, and on what" }
        form.sheet method="get" action=(path) data-live=(path) {
            div.fields {
                (parts::select("lot", "Lot", filled.get("lot"), &lot_options(workshop, Some(id)), "", problems))
                @if workshop.destinations().next().is_some() {
                    (parts::select("to", "Goes to", filled.get("to"), &destination_options(workshop), "", problems))
                }
                (parts::select("stock", "Label", &stock, &stock_options(workshop, true, shape.is_some()), "", problems))
                (parts::select("part", "Part", filled.get("part"), &word_options(&PART_WORDS), "a small good takes a front and a back", problems))
                (parts::select("layout", "Layout", filled.get("layout"), &layout_options(), "", problems))
                (parts::select("ink", "Ink", filled.get("ink"), &word_options(&[("", "black"), ("amber", "black and amber")]), "", problems))
                (parts::select("e_mark", "Mark ℮", filled.get("e_mark"), &word_options(&E_MARK), "in the European Union and Great Britain; with it you vouch for the average system", problems))
                @if has_wick { (text("apart", "Keep candles apart", "your own figure from test burns, such as 10 cm")) }
                (text("link", "Web address for a square code", "such as quillfen.example; may stay empty"))
            }
            details open[stock == "typed"] {
                summary { "A size of your own" }
                div.fields {
                    (parts::select("shape", "Form", filled.get("shape"), &word_options(&[("", "rectangle"), ("round", "round"), ("band", "band, the front in its middle")]), "", problems))
                    (text("width", "Width", "or diameter, such as 2.5 in or 64 mm"))
                    (text("height", "Height", "such as 1.5 in or 38 mm; a round one needs none"))
                    (text("corner", "Radius of the corners", "such as 2 mm; square when empty"))
                    (text("front", "Width of a band's front", "a third of it when empty"))
                }
            }
            p.next { button.quiet type="submit" { "Look again" } a.button.quiet href="/label/stocks" { "Label sheets on hand" } }
        }
    }
}

/// The same label for everywhere it goes.
fn other_destinations(
    workshop: &Workshop,
    id: ProductId,
    day: jiff::civil::Date,
    filled: &Filled,
) -> Markup {
    let all: Vec<_> = std::iter::once(HOME)
        .chain(workshop.destinations().map(|(id, _)| id))
        .collect();
    html! {
        h2 { "Where else it goes" }
        @if all.len() < 2 {
            p.soft { "One formula can go to several places, each with its own law, language and address on the label." }
        } @else {
            ul.rows {
                @for to in &all {
                    @if let Some(case) = label_case_for(workshop, id, *to, day) {
                        li {
                            span {
                                a href={ "/label/good/" (id) "/proof?" (query_with(filled, &[("to", &to.to_string())])) } { (destination_name(workshop, *to)) }
                                br; span.soft.small { (version_words(workshop, id, *to)) }
                            }
                            (state_of(case.state()))
                        }
                    }
                }
            }
        }
        p.next { a.button.quiet href="/label/destinations" { "Destinations" } a.button.quiet href="/label/where" { "Where may a lot go?" } }
    }
}

fn version_words(workshop: &Workshop, good: ProductId, to: DestinationId) -> String {
    match (
        workshop.label_version(good, to),
        workshop.label_for(good, to),
    ) {
        (n, Some(label)) => format!("Version {n}, of {}", parts::day(label.day)),
        _ => "No version yet".to_owned(),
    }
}

/// What is to be said where a label goes to the United States.
fn united_states(workshop: &Workshop, found: &Proof) -> Markup {
    let settings = workshop.settings_for(found.plan.asked.destination);
    html! {
        @if settings.is_some_and(|settings| settings.markets.contains(&workshop::facts::Market::Us)) {
            h2 { "In the United States" }
            p { (hazard::label::UNITED_STATES) }
        }
    }
}

fn state_of(state: LabelState) -> Markup {
    super::label::state_of(state)
}

async fn sheet(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        sheet_page(app, &filled, None)
    })
    .await
}

/// Fits a job, where enough is known for one.
fn job_of(app: &App, filled: &Filled) -> Result<Result<Job, Problems>, Fault> {
    let day = app.today();
    let plan = app.look(|workshop| proof::job(workshop, filled, day))?;
    Ok(plan.map(proof::JobPlan::fit))
}

fn is_asked(filled: &Filled) -> bool {
    filled
        .pairs()
        .iter()
        .any(|(name, text)| name.ends_with("product") && !text.is_empty())
}

fn sheet_page(app: &App, filled: &Filled, refused: Option<&Problems>) -> Result<Page, Fault> {
    let job = if is_asked(filled) {
        job_of(app, filled)?
    } else {
        Err(Problems::default())
    };
    let open = Problems::default();
    let problems = refused.unwrap_or(match &job {
        Ok(_) => &open,
        Err(problems) => problems,
    });
    Ok(app.look(|workshop| Page {
        title: SHEET_QUESTION.to_owned(),
        place: Place::Label,
        back: Some(("/label".to_owned(), "Label".to_owned())),
        body: html! {
            (parts::question(SHEET_QUESTION))
            @if let Some(refused) = refused { (parts::problems(refused)) }
            @if stocks_on_hand(workshop).next().is_none() {
                (parts::empty("Labels are printed on sheets you have: their measures are written down once, and none is yet.", "/label/stocks", "Write down a label sheet"))
            } @else if workshop.products().next().is_none() {
                (parts::empty("A label belongs to something you sell, and nothing is written down yet.", "/stall/new", "Add something you sell"))
            } @else {
                div data-part="job" {
                    @match &job {
                        Ok(job) => (job_body(job, filled)),
                        Err(problems) if refused.is_none() => (parts::still_open(problems)),
                        Err(_) => {},
                    }
                }
                (sheet_form(workshop, filled, job.as_ref().ok(), problems))
            }
        },
    })?)
}

fn job_body(job: &Job, filled: &Filled) -> Markup {
    let sheets = job.sheets();
    let answer = if sheets == 1 {
        format!("{} on 1 sheet.", labels_word(job.labels()))
    } else {
        format!("{} on {sheets} sheets.", labels_word(job.labels()))
    };
    let left = match job.next_place() {
        Some(place) => format!("On the last sheet, places from {place} on stay free."),
        None => "The last sheet is used up.".to_owned(),
    };
    let query = parts::query(filled.pairs());
    let proofs: Vec<_> = job
        .runs
        .iter()
        .filter(|(proof, _)| !proof.is_ready())
        .collect();
    html! {
        (parts::answer_words(&answer, &left))
        @for (proof, _) in &proofs {
            div.note {
                p { (parts::verdict("no", "proof, not for sale")) " " (proof.plan.name) " (goes to: " (proof.plan.place) ") comes out with a mark across." }
                ul { @for why in proof.why_not().iter().take(4) { li { (parts::capital(why)) "." } } }
                p { a href={ "/label/good/" (proof.plan.asked.product) "/proof?" (proof_query(proof)) } { "Look at it" } }
            }
        }
        div.next {
            a.button.do href={ "/label/sheet/pdf?" (query) } { "Open the PDF" }
            @if job.is_ready() {
                form method="post" action="/label/sheet/printed" {
                    (once::field())
                    @for (name, text) in filled.pairs() { input type="hidden" name=(name) value=(text); }
                    button.quiet type="submit" { "They are printed: write it down" }
                }
            }
        }
        p.small.soft { "Print at actual size, 100 %, never fitted to the page. " a href={ "/label/calibration?stock=" (job.stock) } { "Calibration page for this sheet" } }
    }
}

fn labels_word(n: u64) -> String {
    if n == 1 {
        "1 label".to_owned()
    } else {
        format!("{n} labels")
    }
}

fn proof_query(proof: &Proof) -> String {
    let asked = &proof.plan.asked;
    let mut pairs = vec![("part", part_word(proof.plan.request.side).to_owned())];
    if let Some(lot) = asked.lot {
        pairs.push(("lot", lot.to_string()));
    }
    pairs.push(("to", asked.destination.to_string()));
    if let Ground::Stock { id, .. } = &proof.plan.ground {
        pairs.push(("stock", id.to_string()));
    }
    parts::query(&pairs)
}

fn sheet_form(
    workshop: &Workshop,
    filled: &Filled,
    job: Option<&Job>,
    problems: &Problems,
) -> Markup {
    let chosen = filled.get("stock");
    let stock = stocks_on_hand(workshop)
        .find(|stock| stock.id.to_string() == chosen || stock.name == chosen)
        .or_else(|| stocks_on_hand(workshop).next());
    let sheet = stock.and_then(|stock| stock.geometry.sheet().ok());
    let start: u32 = filled.get("start").parse().unwrap_or(1);
    let lines = filled
        .lines("run")
        .max(usize::from(filled.some("product").is_some()));
    let goods: Options = std::iter::once((String::new(), "nothing".to_owned()))
        .chain(
            workshop
                .products()
                .map(|good| (good.id.to_string(), good.name.clone())),
        )
        .collect();
    let lots = lot_options(workshop, None);
    let several = workshop.destinations().next().is_some();
    let printers: Options = std::iter::once((String::new(), "prints true".to_owned()))
        .chain(
            workshop
                .printers()
                .map(|printer| (printer.name.clone(), printer.name.clone())),
        )
        .collect();
    let has_wick = workshop.moulds().any(|mould| mould.format.has_wick());
    html! {
        form.sheet method="get" action="/label/sheet" data-live="/label/sheet" {
            // What Enter presses, before the places.
            button.skip type="submit" tabindex="-1" { "Work it out" }
            div.fields {
                (parts::select("stock", "Label sheet", &stock.map_or_else(String::new, |stock| stock.id.to_string()), &stock_options(workshop, false, false), "", problems))
                (Field::text("start", "First place to print on", filled.get("start")).keys("numeric").hint("counted along the rows from the top left; 1 on a whole sheet").draw(problems))
                @if printers.len() > 1 { (parts::select("printer", "Printer", filled.get("printer"), &printers, "puts right what its calibration page showed", problems)) }
            }
            @if let Some(sheet) = &sheet { div data-part="places" { (places(sheet, start, job)) } }
            h2 { "Labels" }
            @let first_to = if filled.has("run[0].to") { filled.get("run[0].to") } else { filled.get("to") }.to_owned();
            @for nth in 0..(lines + SPARE_LINES) {
                @let own = |name: &str| { let field = format!("run[{nth}].{name}"); let text = if nth == 0 && !filled.has(&field) { filled.get(name) } else { filled.get(&field) }; (field, text.to_owned()) };
                @let (product, product_text) = own("product");
                @let (lot, lot_text) = own("lot");
                @let (to, to_text) = own("to");
                @let to_text = if to_text.is_empty() && product_text.is_empty() { first_to.clone() } else { to_text };
                @let (part, part_text) = own("part");
                @let (count, count_text) = own("count");
                fieldset.run {
                    legend.small.soft { "Label " (nth + 1) }
                    div.fields {
                        (parts::select(&product, "Good", &product_text, &goods, "", problems))
                        (parts::select(&lot, "Lot", &lot_text, &lots, "", problems))
                        @if several { (parts::select(&to, "Goes to", &to_text, &destination_options(workshop), "", problems)) }
                        (parts::select(&part, "Part", &part_text, &word_options(&PART_WORDS), "", problems))
                        (Field::text(&count, "How many", &count_text).keys("numeric").draw(problems))
                    }
                }
            }
            div.fields {
                (parts::select("layout", "Layout", filled.get("layout"), &layout_options(), "", problems))
                (parts::select("ink", "Ink", filled.get("ink"), &word_options(&[("", "black"), ("amber", "black and amber")]), "", problems))
                (parts::select("e_mark", "Mark ℮", filled.get("e_mark"), &word_options(&E_MARK), "in the European Union and Great Britain; with it you vouch for the average system", problems))
                @if has_wick { (Field::text("apart", "Keep candles apart", filled.get("apart")).hint("for candles, such as 10 cm").draw(problems)) }
                (Field::text("link", "Web address for a square code", filled.get("link")).draw(problems))
                div.field { label.choice for="f-cut" { input type="checkbox" id="f-cut" name="cut" value="yes" checked[!filled.get("cut").is_empty()]; "Short lines where to cut" } }
            }
            p.next { button.quiet type="submit" { "Work it out" } }
        }
    }
}

/// The first sheet, small: what is used, what this job takes, what stays free.
/// Each place is a button that begins there.
/// As many places of a sheet are drawn to be tapped; more are too small anyway.
const MOST_PLACES: u32 = 600;

fn places(sheet: &Sheet, start: u32, job: Option<&Job>) -> Markup {
    let per_page = sheet.per_page();
    let columns = sheet.columns.max(1);
    let start = start.clamp(1, per_page.max(1));
    let end = u64::from(start) + job.map_or(0, Job::labels);
    let is_round = !matches!(sheet.outline, Outline::Rectangle { .. });
    let state = |place: u32| {
        if place < start {
            ("used", "used")
        } else if u64::from(place) < end {
            ("taken", "to be printed")
        } else {
            ("free", "free")
        }
    };
    html! {
        @if per_page > MOST_PLACES {
            p.small.soft { "This sheet has " (per_page) " places, too many to tap: write the number of the first one." }
        } @else { table.cells.round[is_round] {
            caption { "Tap the first place that still has a label" }
            tbody {
                @for row in 0..sheet.rows {
                    tr {
                        @for column in 0..columns {
                            @let place = row * columns + column + 1;
                            @let (class, word) = state(place);
                            td { button class=(class) type="submit" name="start" value=(place) aria-label={ "Place " (place) ", " (word) } { (place) } }
                        }
                    }
                }
            }
        } }
        p.small.soft { "Struck through: used. Filled: this job on the first sheet. Empty: stays free." }
    }
}

async fn sheet_pdf(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let made = match job_of(app, &filled)? {
            Ok(job) => job.document(),
            Err(problems) => Err(problems),
        };
        match made.and_then(|document| pdf(&document)) {
            Ok(bytes) => Ok(file("labels.pdf", bytes)),
            Err(problems) => {
                let page = sheet_page(app, &filled, Some(&problems))?;
                Ok(Reply::Page(StatusCode::UNPROCESSABLE_ENTITY, page))
            }
        }
    })
    .await
}

fn pdf(document: &press::paper::Document) -> Result<Vec<u8>, Problems> {
    document.pdf().map_err(|error| {
        let accepted = "look at the label first";
        Problem::new("product", "", error.to_string(), accepted).into()
    })
}

fn file(name: &str, bytes: Vec<u8>) -> Reply {
    // What shows a PDF inside a browser is the browser's own, with its own
    // styles; nothing in the file runs or fetches.
    let policy =
        "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'none'";
    let response = (
        [
            (header::CONTENT_TYPE, "application/pdf"),
            (header::CONTENT_SECURITY_POLICY, policy),
        ],
        [(
            header::CONTENT_DISPOSITION,
            format!("inline; filename=\"{name}\""),
        )],
        bytes,
    );
    Reply::File(response.into_response())
}

async fn calibration(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let day = app.today();
        let made = app.look(|workshop| proof::calibration_page(workshop, &filled, day))?;
        match made.and_then(|document| pdf(&document)) {
            Ok(bytes) => Ok(file("calibration.pdf", bytes)),
            Err(_) => Err(Fault::Nothing("label sheet")),
        }
    })
    .await
}

async fn printed(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| proof::note_printed(app, WHO, filled),
        |_, _| Ok("/label/where".to_owned()),
        |app, filled, problems| sheet_page(app, filled, Some(problems)),
    )
    .await
}

async fn destinations(State(site): State<Site>) -> Response {
    site.run(|app| {
        let day = app.today();
        Ok(app.look(|workshop| {
            let goods = workshop.products().count();
            let ready = |to| {
                workshop
                    .products()
                    .filter_map(|good| label_case_for(workshop, good.id, to, day))
                    .filter(|case| matches!(case.state(), LabelState::Ready | LabelState::NotAsked))
                    .count()
            };
            let home = "Law, language and address as the label settings say";
            Page {
                title: GO_QUESTION.to_owned(),
                place: Place::Label,
                back: Some(("/label".to_owned(), "Label".to_owned())),
                body: html! {
                    (parts::question(GO_QUESTION))
                    p.doubt { "One formula, several labels: each destination has its law, its languages, its address, and its own ready marks." }
                    ul.rows {
                        li {
                            span { a href="/label/settings" { (destination_name(workshop, HOME)) } br; span.soft.small { (home) } }
                            span { (ready(HOME)) " of " (goods) " labels ready" }
                        }
                        @for (id, details) in workshop.destinations() {
                            li {
                                span {
                                    a href={ "/label/destination/" (id) } { (details.name) }
                                    br; span.soft.small { (details.settings.markets.iter().map(|market| market.word()).collect::<Vec<_>>().join(", ")) "; in " (details.settings.languages.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")) }
                                }
                                span { (ready(id)) " of " (goods) " labels ready" }
                            }
                        }
                    }
                    p.next { a.button.do href="/label/destination/new" { "Add a destination" } a.button.quiet href="/label/where" { "Where may a lot go?" } }
                },
            }
        })?)
    })
    .await
}

async fn new_destination(State(site): State<Site>) -> Response {
    site.run(|app| {
        let id = app.look(Workshop::next_destination)?;
        destination_page(app, id, None, &Problems::default())
    })
    .await
}

async fn destination(State(site): State<Site>, At(id): At<DestinationId>) -> Response {
    site.run(move |app| {
        let known = app.look(|workshop| workshop.destination(id).is_some())?;
        if !known {
            return Err(Fault::Nothing("destination"));
        }
        destination_page(app, id, None, &Problems::default())
    })
    .await
}

async fn settle(
    State(site): State<Site>,
    At(id): At<DestinationId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| proof::settle_destination(app, WHO, id, filled),
        move |_, _| Ok(format!("/label/destination/{id}")),
        move |app, filled, problems| destination_page(app, id, Some(filled), problems),
    )
    .await
}

async fn ready(
    State(site): State<Site>,
    At((id, good)): At<(DestinationId, ProductId)>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, _| {
            app.act(WHO, |workshop, day| {
                decide::mark_label_ready_for(workshop, good, id, None, day)
            })
        },
        move |_, _| Ok(format!("/label/destination/{id}")),
        move |app, _, problems| destination_page(app, id, None, problems),
    )
    .await
}

fn destination_page(
    app: &App,
    id: DestinationId,
    typed: Option<&Filled>,
    problems: &Problems,
) -> Result<Page, Fault> {
    let day = app.today();
    Ok(app.look(|workshop| {
        let kept = workshop.destination(id);
        let is_ticked = |name: &str, word: &str, kept: bool| {
            typed.map_or(kept, |typed| {
                typed
                    .pairs()
                    .iter()
                    .any(|(known, text)| known == name && text == word)
            })
        };
        let text = |field: &str, kept: String| {
            typed.map_or(kept, |typed| typed.get(field).to_owned())
        };
        let home = workshop.label_settings();
        let own = kept.map(|kept| &kept.settings).or(home);
        let of = |pick: fn(&workshop::facts::LabelSettings) -> &String| {
            own.map(|own| pick(own).clone()).unwrap_or_default()
        };
        let name = kept.map(|kept| kept.name.clone()).unwrap_or_default();
        let responsible = kept.map(|kept| kept.responsible.clone()).unwrap_or_default();
        let emergency = kept.map(|kept| kept.emergency.clone()).unwrap_or_default();
        let marks = kept.map(|kept| kept.marks.join("\n")).unwrap_or_default();
        let link = kept.map(|kept| kept.link.clone()).unwrap_or_default();
        let question = if name.is_empty() {
            "Where else do the goods go?".to_owned()
        } else {
            format!("{name}: what does a label for there say?")
        };
        let marks_now = text("marks", marks);
        Page {
            title: question.clone(),
            place: Place::Label,
            back: Some(("/label/destinations".to_owned(), "Destinations".to_owned())),
            body: html! {
                (parts::question(&question))
                (parts::problems(problems))
                @if kept.is_some() { (goods_for(workshop, id, day)) h2 { "What stands on it" } }
                form.sheet method="post" action={ "/label/destination/" (id) } {
                    div.fields.wide { (Field::text("destination_name", "Name", &text("destination_name", name)).hint("as you say it, such as Hollin Abbey shop").draw(problems)) }
                    fieldset id=(parts::id_of("markets")) {
                        legend { "By the law of" }
                        @if let Some(problem) = problems.of("markets") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                        @for (word, market) in MARKETS {
                            (choice("market", word, market.word(), is_ticked("market", word, kept.is_some_and(|kept| kept.settings.markets.contains(&market)))))
                        }
                    }
                    fieldset id=(parts::id_of("languages")) {
                        legend { "In these languages" }
                        @if let Some(problem) = problems.of("languages") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                        @for language in Language::ALL {
                            (choice("language", language.code(), &language.to_string(), is_ticked("language", language.code(), kept.is_some_and(|kept| kept.settings.languages.contains(&language)))))
                        }
                    }
                    fieldset {
                        legend { "Who stands on it" }
                        div.fields.wide {
                            (Field::text("supplier_name", "Name", &text("supplier_name", of(|own| &own.name))).draw(problems))
                            (Field::text("address", "Address", &text("address", of(|own| &own.address))).draw(problems))
                            (Field::text("phone", "Telephone", &text("phone", of(|own| &own.phone))).draw(problems))
                            (Field::text("vat", "VAT number or company key", &text("vat", of(|own| &own.vat))).hint("for formula identifiers, may stay empty").draw(problems))
                            (Field::text("responsible", "Who answers for the goods there", &text("responsible", responsible)).hint("name and address of an importer, where one is asked for").draw(problems))
                            (Field::text("emergency", "Line for emergencies", &text("emergency", emergency)).hint("may stay empty").draw(problems))
                            (Field::text("link", "Web address for a square code", &text("link", link)).hint("may stay empty").draw(problems))
                            div.field.wrong[problems.of("marks").is_some()] {
                                label for="f-marks" { "What else stands on it, a line each" }
                                textarea id="f-marks" name="marks" rows="2" { (marks_now) }
                                (parts::beneath("f-marks", "such as where it was made", problems.of("marks")))
                            }
                        }
                    }
                    p.next { button.do type="submit" { "Keep it" } }
                }
            },
        }
    })?)
}

fn goods_for(workshop: &Workshop, id: DestinationId, day: jiff::civil::Date) -> Markup {
    html! {
        ul.rows {
            @for good in workshop.products() {
                @if let Some(case) = label_case_for(workshop, good.id, id, day) {
                    li {
                        span {
                            a href={ "/label/good/" (good.id) "/proof?to=" (id) } { (good.name) }
                            br; span.soft.small {
                                (version_words(workshop, good.id, id))
                                @if case.state() == LabelState::NotReady { @if let Some(found) = case.hindrances.first() { ". " (parts::capital(&found.words(workshop))) } }
                                @if case.state() == LabelState::Renew { @if let Some(found) = case.renewals.first() { ". " (parts::capital(&found.words(workshop))) } }
                            }
                        }
                        span {
                            (state_of(case.state()))
                            @if case.hindrances.is_empty() && case.state() != LabelState::Ready {
                                " " form.inline method="post" action={ "/label/destination/" (id) "/good/" (good.id) "/ready" } {
                                    (once::field())
                                    button.quiet type="submit" { "I have looked it over: mark it ready" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn choice(name: &str, word: &str, words: &str, ticked: bool) -> Markup {
    let id = parts::id_of(&format!("{name}.{word}"));
    html! {
        label.choice for=(id) {
            input type="checkbox" id=(id) name=(name) value=(word) checked[ticked];
            (words)
        }
    }
}

async fn whereto(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let day = app.today();
        Ok(app.look(|workshop| {
            let mut lots = workshop
                .pours()
                .rev()
                .filter(|pour| pour.product.is_some() && pour.finished.is_some());
            let chosen = filled.get("lot").parse().ok().and_then(|id| workshop.pour(id));
            let chosen = chosen.or_else(|| {
                // What was labelled last is what is being packed.
                let latest = workshop
                    .products()
                    .flat_map(|good| workshop.printed(good.id))
                    .filter(|printed| printed.lot.is_some())
                    .max_by_key(|printed| printed.day);
                latest.and_then(|printed| workshop.pour(printed.lot?))
            });
            let chosen = chosen.or_else(|| lots.next());
            Page {
                title: LOT_QUESTION.to_owned(),
                place: Place::Label,
                back: Some(("/label".to_owned(), "Label".to_owned())),
                body: html! {
                    (parts::question(LOT_QUESTION))
                    @if let Some(pour) = chosen {
                        (passage(workshop, pour, day))
                        form.sheet method="get" action="/label/where" {
                            div.fields { (parts::select("lot", "Lot", &pour.id.to_string(), &finished_lots(workshop), "", &Problems::default())) }
                            p.next { button.quiet type="submit" { "Look" } a.button.quiet href="/label/sheet" { "Print labels" } }
                        }
                        (print_log(workshop, pour))
                    } @else {
                        (parts::empty("A lot may go where a label was made and printed for it. No lot is finished yet.", "/pour", "Look at the pours"))
                    }
                },
            }
        })?)
    })
    .await
}

fn finished_lots(workshop: &Workshop) -> Options {
    workshop
        .pours()
        .rev()
        .filter(|pour| pour.finished.is_some())
        .filter_map(|pour| {
            let good = workshop.product(pour.product?)?;
            Some((pour.id.to_string(), format!("{} {}", pour.lot, good.name)))
        })
        .take(LISTED)
        .collect()
}

fn passage(workshop: &Workshop, pour: &workshop::Pour, day: jiff::civil::Date) -> Markup {
    let good = pour.product.and_then(|id| workshop.product(id));
    let all: Vec<_> = std::iter::once(HOME)
        .chain(workshop.destinations().map(|(id, _)| id))
        .map(|id| (id, may_go(workshop, pour, id, day)))
        .collect();
    let open = all.iter().filter(|(_, passage)| passage.may_go > 0).count();
    let answer = match open {
        0 => "Nowhere yet.".to_owned(),
        n if n == all.len() && n > 1 => "Everywhere.".to_owned(),
        1 => all
            .iter()
            .find(|(_, passage)| passage.may_go > 0)
            .map_or_else(String::new, |(id, _)| {
                format!("To {}.", destination_name(workshop, *id))
            }),
        n => format!("To {n} of {} places.", all.len()),
    };
    html! {
        (parts::answer_words(&answer, ""))
        p.doubt {
            "Lot " strong { (pour.lot) } @if let Some(good) = good { ", " a href={ "/label/good/" (good.id) } { (good.name) } }
            ". Labels printed are counted; whether they are on the goods, only your eyes can tell."
        }
        ul.rows {
            @for (id, passage) in &all {
                li {
                    span {
                        strong { (destination_name(workshop, *id)) }
                        @for why in &passage.why { br; span.small { (parts::capital(why)) "." } }
                    }
                    @if passage.may_go == 0 { (parts::verdict("no", "may not go")) }
                    @else if passage.may_go < passage.units { (parts::verdict("unproven", &format!("{} of {} may go", passage.may_go, passage.units))) }
                    @else { (parts::verdict("yes", &format!("all {} may go", passage.units))) }
                }
            }
        }
    }
}

fn print_log(workshop: &Workshop, pour: &workshop::Pour) -> Markup {
    let printed: Vec<_> = pour
        .product
        .map(|id| workshop.printed(id))
        .unwrap_or_default()
        .iter()
        .filter(|printed| printed.lot == Some(pour.id))
        .collect();
    html! {
        @if !printed.is_empty() {
            h2 { "Labels printed with its code" }
            table {
                thead { tr { th { "Day" } th { "For" } th.n { "Version" } th.n { "Labels" } } }
                tbody {
                    @for one in printed {
                        tr {
                            td { (parts::day(one.day)) }
                            td {
                                (destination_name(workshop, one.destination))
                                @match one.part { LabelPart::Whole => {}, LabelPart::Front => ", front", LabelPart::Back => ", back" }
                            }
                            td.n { @if one.version == 0 { "–" } @else { (one.version) } }
                            td.n { (as_typed(workshop, one.count)) }
                        }
                    }
                }
            }
        }
    }
}
