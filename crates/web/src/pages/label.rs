//! Label: which goods have a label that fits, and what it must carry.

use app::App;
use app::forms::{Filled, as_typed, example};
use app::labels::{self, MARKETS};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use hazard::Language;
use hazard::label::Elements;
use hazard::phrase::Origin;
use maud::{Markup, PreEscaped, html};
use measure::Problems;
use workshop::Workshop;
use workshop::facts::{LabelSettings, ProductId};
use workshop::label::{
    LabelCase, LabelState, Outlook, Renewal, changes_between, gist_of, label_case, most_of_whole,
    sells_to_the_united_states,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{At, Fault, Site, WHO};

/// The side of a pictogram on the screen, mm.
const ON_SCREEN_MM: f64 = 13.0;
/// The side of one on a printed label where no capacity is known, mm: what CLP
/// Annex I, Table 1.3 wants of the smallest packages.
const ON_PAPER_MM: f64 = 16.0;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/label", get(list))
        .route("/label/settings", get(settings).post(settle))
        .route("/label/maker", post(settle_maker))
        .route("/label/good/{id}", get(good))
        .route("/label/good/{id}/ready", post(ready))
        .route("/label/good/{id}/print", get(print))
}

async fn list(State(site): State<Site>) -> Response {
    site.run(|app| {
        let day = app.today();
        Ok(app.look(|workshop| Page {
            title: "What can I put on the label?".to_owned(),
            place: Place::Label,
            back: None,
            body: html! {
                (parts::question("What can I put on the label?"))
                @if workshop.products().next().is_none() {
                    (parts::empty(
                        "Each good has its warning label here, from the safety data sheets of what is in it. Nothing you sell is written down yet; a label belongs to a good: a formula in a mould.",
                        "/stall/new", "Add something you sell"))
                } @else {
                    (goods(workshop, day))
                    p.next {
                        a.button href="/label/sheet" { "Print a sheet of labels" }
                        a.button.quiet href="/label/destinations" { "Destinations" }
                        a.button.quiet href="/label/where" { "Where may a lot go?" }
                    }
                }
                p { a href="/label/stocks" { "Label sheets on hand" } }
                (united_states(workshop))
                (parts::hazard_caution())
            },
        })?)
    })
    .await
}

fn goods(workshop: &Workshop, day: jiff::civil::Date) -> Markup {
    let cases: Vec<_> = workshop
        .products()
        .filter_map(|product| label_case(workshop, product.id, day))
        .collect();
    let of = |state| cases.iter().filter(|case| case.state() == state).count();
    let (ready, renew) = (of(LabelState::Ready), of(LabelState::Renew));
    let all = cases.len();
    html! {
        (parts::answer_words(&format!("{ready} of {all} {} a label that fits.", if all == 1 { "good has" } else { "goods have" }), ""))
        @if renew > 0 {
            p.doubt { (parts::verdict("no", "to be renewed")) " " (if renew == 1 { "1 label no longer fits".to_owned() } else { format!("{renew} labels no longer fit") }) " what is on file." }
        }
        @match workshop.label_settings() {
            None => {
                p.note { "Nobody has said where the goods are sold and who stands on the label." }
                p.next { a.button.do href="/label/settings" { "Say where they are sold" } }
            }
            Some(settings) => p.soft {
                "Sold in: " (sold_in(settings)) ". In " (languages(settings)) ". " a href="/label/settings" { "Change it" }
            }
        }
        ul.rows {
            @for case in &cases {
                li {
                    span {
                        a href={ "/label/good/" (case.product.id) } { (case.product.name) }
                        br; span.soft.small { (why(workshop, case)) }
                    }
                    (state_of(case.state()))
                }
            }
        }
    }
}

fn sold_in(settings: &LabelSettings) -> String {
    let markets: Vec<_> = settings
        .markets
        .iter()
        .map(|market| market.word())
        .collect();
    markets.join(", ")
}

fn languages(settings: &LabelSettings) -> String {
    let languages: Vec<_> = settings.languages.iter().map(ToString::to_string).collect();
    languages.join(", ")
}

pub(crate) fn state_of(state: LabelState) -> Markup {
    let (class, word) = match state {
        LabelState::Ready => ("yes", "ready"),
        LabelState::Renew => ("no", "to be renewed"),
        LabelState::Open => ("unproven", "look it over"),
        LabelState::NotReady => ("unproven", "not ready"),
        LabelState::NotAsked => ("unproven", "not asked for"),
    };
    parts::verdict(class, word)
}

/// One line on why a label stands as it does.
fn why(workshop: &Workshop, case: &LabelCase) -> String {
    let words = match case.state() {
        LabelState::Renew => case.renewals.first().map(|renewal| renewal.words(workshop)),
        LabelState::NotReady => case.hindrances.first().map(|found| found.words(workshop)),
        LabelState::NotAsked => {
            Some("sold only where no label of this kind is asked for".to_owned())
        }
        LabelState::Ready | LabelState::Open => case
            .outlook
            .as_ref()
            .map(|outlook| gist_of(&outlook.elements)),
    };
    parts::capital(&words.unwrap_or_default())
}

async fn good(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| good_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn ready(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| labels::mark_ready(app, WHO, id, filled),
        move |_, _| Ok(format!("/label/good/{id}")),
        move |app, filled, problems| good_page(app, id, filled, problems),
    )
    .await
}

fn good_page(
    app: &App,
    id: ProductId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let day = app.today();
    app.look(|workshop| {
        let case = label_case(workshop, id, day).ok_or(Fault::Nothing("good"))?;
        let name = &case.product.name;
        let question = format!("{name}: what must its label carry?");
        Ok(Page {
            title: question.clone(),
            place: Place::Label,
            back: Some(("/label".to_owned(), "Label".to_owned())),
            body: html! {
                (parts::question(&question))
                (parts::problems(problems))
                (verdict(workshop, &case))
                (next(workshop, &case, filled, problems))
                p.next { a.button href={ "/label/good/" (id) "/proof" } { "See the label and its checklist" } }
                (cut_over(workshop, &case, filled))
                @if let Some(outlook) = &case.outlook {
                    @if outlook.contents.without_sheet.is_none() {
                        (elements(&outlook.elements, true))
                        (rests_on(workshop, outlook))
                    }
                }
                (united_states(workshop))
                (parts::hazard_caution())
            },
        })
    })?
}

fn verdict(workshop: &Workshop, case: &LabelCase) -> Markup {
    let gist = case
        .outlook
        .as_ref()
        .filter(|outlook| outlook.contents.without_sheet.is_none())
        .map_or_else(
            || "Nobody can say yet.".to_owned(),
            |outlook| format!("{}.", gist_of(&outlook.elements)),
        );
    html! {
        (parts::answer_words(&gist, ""))
        p.doubt {
            (state_of(case.state())) " "
            @if let Some(outlook) = &case.outlook {
                "At " (as_typed(workshop, outlook.load)) ", by " (outlook.rules.jurisdiction) " as read on " (parts::day(outlook.rules.on)) "."
            }
        }
        @if let Some(label) = case.label {
            @if case.renewals.is_empty() {
                p { "Marked ready on " (parts::day(label.day)) ", at " (as_typed(workshop, label.ground.load)) "." }
            } @else {
                div.note {
                    p { "The label marked ready on " (parts::day(label.day)) " no longer fits:" }
                    ul {
                        @for renewal in &case.renewals {
                            li { (parts::capital(&renewal.words(workshop))) "." (sheet_changes(workshop, case, label, renewal)) }
                        }
                    }
                    @if !label.elements.statements.is_empty() || !label.elements.supplemental.is_empty() {
                        p.small.soft { "It carried: " (carried(label)) "." }
                    } @else {
                        p.small.soft { "It carried nothing on hazards." }
                    }
                }
            }
        }
        @if !case.hindrances.is_empty() && case.state() != LabelState::NotAsked {
            div.note {
                p { "It cannot be marked ready yet:" }
                ul { @for found in &case.hindrances { li { (parts::capital(&found.words(workshop))) "." (lead(found)) } } }
            }
        }
    }
}

/// How far old oil and old labels go, where a newer sheet changed the label.
fn cut_over(workshop: &Workshop, case: &LabelCase, filled: &Filled) -> Markup {
    let newer = case
        .renewals
        .iter()
        .any(|renewal| matches!(renewal, Renewal::Sheet(_)));
    let Some(label) = case.label.filter(|_| newer) else {
        return html! {};
    };
    let load = as_typed(workshop, label.ground.load);
    let asked = ["old_oil", "unit_takes", "old_labels"];
    let sent = asked.iter().any(|name| filled.some(name).is_some());
    let text = |name: &str| Some(filled.get(name).to_owned());
    let answer = sent.then(|| {
        let input = formula::cut_over::Input {
            oil: text("old_oil"),
            load: Some(load.clone()),
            unit_weight: text("unit_takes"),
            labels: text("old_labels"),
        };
        formula::cut_over::calculate_with(&input, workshop.reading())
    });
    let mut problems = Problems::default();
    if let Some(Err(found)) = &answer {
        problems = found.clone();
        for problem in &mut problems.0 {
            let own = match problem.field.as_str() {
                "oil" => "old_oil",
                "unit_weight" => "unit_takes",
                _ => "old_labels",
            };
            own.clone_into(&mut problem.field);
        }
    }
    let boxes = [
        ("old_oil", "Old oil on hand", "such as 2.1 kg"),
        (
            "unit_takes",
            "One unit takes",
            "such as 51.6 g, with what is lost on the way",
        ),
        ("old_labels", "Old labels left", "such as 412"),
    ];
    html! {
        details open[sent] {
            summary { "Use up the old oil under the old label?" }
            p.soft {
                "Oil that came under the older sheet, at " (load) ", still makes what the older label says. Ask the supplier first which sheet covers the bottle; where the newer one does, the new label is due at once."
            }
            @if let Some(Ok(found)) = &answer {
                p.answer.words { (found.answer) }
                p.doubt { "The old oil makes " (as_typed(workshop, &found.makes)) " or " (found.units) " units. New oil and new label from unit " (found.new_from) " on." }
                (parts::working("cut-over", &found.working))
            }
            form.sheet method="get" {
                (parts::still_open(&problems))
                div.fields {
                    @for (name, label, hint) in boxes {
                        (Field::text(name, label, filled.get(name)).hint(&example(workshop, hint)).draw(&problems))
                    }
                }
                p.next { button.quiet type="submit" { "Work it out" } }
            }
        }
    }
}

/// What a newer sheet says otherwise than the one the label rests on.
fn sheet_changes(
    workshop: &Workshop,
    case: &LabelCase,
    label: &workshop::Label,
    renewal: &Renewal,
) -> Markup {
    let Renewal::Sheet(supply) = renewal else {
        return html! {};
    };
    let used = label
        .ground
        .sheets
        .iter()
        .find(|(known, _)| known == supply)
        .and_then(|(_, number)| {
            let sheets = workshop.sheets(*supply).iter();
            sheets.into_iter().find(|sheet| sheet.number == *number)
        });
    let (Some(then), Some(now)) = (used, workshop.sheet(*supply)) else {
        return html! {};
    };
    let recipe = workshop.formula(case.product.formula);
    let oil = case
        .outlook
        .as_ref()
        .filter(|_| recipe.is_some_and(|formula| formula.current().oil == Some(*supply)))
        .map(|outlook| outlook.contents.oil_of_total());
    let of_oil = |share: Option<hazard::Share>| {
        share.map_or_else(|| "nothing".to_owned(), |share| as_typed(workshop, share))
    };
    let of_whole = |share: Option<hazard::Share>| {
        let most = share.zip(oil).map(|(share, oil)| most_of_whole(share, oil));
        most.map_or_else(
            || "–".to_owned(),
            |most| as_typed(workshop, format!("{} %", most.round_dp(3))),
        )
    };
    let changes = changes_between(then, now);
    html! {
        @if changes.is_empty() { p.small.soft { "Its lines are the same as before." } } @else {
            table.stack {
                thead { tr { th { "Substance" } th.n { "Was" } th.n { "Is" } th.n { "Of the whole was" } th.n { "Of the whole is" } } }
                tbody {
                    @for change in &changes {
                        tr {
                            td { (change.name) @if change.is_otherwise { span.soft.small { " and its classes or limits changed" } } }
                            td.n data-label="Was" { (of_oil(change.then)) }
                            td.n data-label="Is" { strong { (of_oil(change.now)) } }
                            td.n data-label="Of the whole was" { (of_whole(change.then)) }
                            td.n data-label="Of the whole is" { strong { (of_whole(change.now)) } }
                        }
                    }
                }
            }
        }
    }
}

fn carried(label: &workshop::Label) -> String {
    let elements = &label.elements;
    let mut words: Vec<String> = elements.signal_word.iter().cloned().collect();
    words.extend(elements.statements.iter().cloned());
    for extra in &elements.supplemental {
        words.push(format!("{} {}", extra.code, extra.names.join(", ")));
    }
    words.join(", ")
}

/// Where to go to do away with a hindrance.
fn lead(found: &workshop::label::Hindrance) -> Markup {
    use workshop::label::Hindrance;
    html! {
        @match found {
            Hindrance::NoSettings | Hindrance::MissingText { .. } | Hindrance::NoIdentifier(_) => { " " a href="/label/settings" { "Set it" } }
            Hindrance::NoSheet(id) => { " " a href={ "/shelf/supply/" (id) "/sheet/new" } { "Write it down" } }
            Hindrance::Unconfirmed(id, _) | Hindrance::NoClasses(id, _) => { " " a href={ "/shelf/supply/" (id) "/sheet" } { "Compare them" } }
            _ => {}
        }
    }
}

fn next(workshop: &Workshop, case: &LabelCase, filled: &Filled, problems: &Problems) -> Markup {
    let id = case.product.id;
    let can = case.hindrances.is_empty() && case.state() != LabelState::Ready;
    let number = filled
        .some("number")
        .map_or_else(|| case.number.to_string(), str::to_owned);
    html! {
        @if can {
            form.sheet method="post" action={ "/label/good/" (id) "/ready" } {
                (once::field())
                @if case.needs_identifier() {
                    div.fields {
                        (Field::text("number", "Formulation number", &number).keys("numeric")
                            .hint("makes the formula's identifier with your VAT number or company key; one number for one formula, for ever").draw(problems))
                    }
                }
                p.next {
                    button.do type="submit" { "I have looked it over: mark it ready" }
                    a.button.quiet href={ "/bench/formula/" (case.product.formula) "/label" } { "At which load does it change?" }
                }
            }
        } @else {
            p.next {
                @if case.state() == LabelState::Ready { a.button.do href={ "/label/good/" (id) "/print" } { "Print it" } }
                a.button.quiet href={ "/bench/formula/" (case.product.formula) "/label" } { "At which load does it change?" }
            }
        }
        p { a href={ "/label/good/" (id) "/wrap" } { "What does it wrap in?" } }
        @if let Some(label) = case.label.filter(|_| case.renewals.is_empty()) {
            @if let Some(identifier) = &label.identifier {
                p { "Its formula's identifier: " strong { "UFI: " (identifier.ufi) } ", from formulation number " (identifier.number)
                    ". Print it only when the notice to the poison centres is made." }
            }
        }
        @if workshop.label_settings().is_none() { p.soft { "Until it is set where goods are sold, this is read by EU CLP and in English." } }
    }
}

/// What a label must carry, in full.
pub(crate) fn elements(elements: &Elements, of_a_good: bool) -> Markup {
    html! {
        @if !elements.blocked.is_empty() {
            div.note {
                p { (parts::verdict("no", "Not for sale like this.")) }
                ul { @for why in &elements.blocked { li { (why) } } }
            }
        }
        @if elements.due {
            div.warning-label {
                (signs(elements, ON_SCREEN_MM))
                @for wording in &elements.wording { (wording_of(wording, elements.wording.len() > 1)) }
            }
            @if !elements.named.is_empty() {
                p { "Beside the product's name stand: " strong { (elements.named.join(", ")) } "." }
            }
        } @else {
            p { "No law of this kind asks for a label on hazards here. That does not make it harmless, and other labels may be due." }
        }
        (sizes(elements, of_a_good))
        dl.facts {
            dt { "Formula identifier (UFI)" }
            dd { (if elements.formula_identifier.due { "Due" } else { "Not due" }) ": " (elements.formula_identifier.why) }
            dt { "Child-resistant closure" }
            dd { (if elements.closures.child_resistant.due { "Due" } else { "Not due" }) ": " (elements.closures.child_resistant.why) }
            dt { "Mark to be felt" }
            dd { (if elements.closures.tactile.due { "Due" } else { "Not due" }) ": " (elements.closures.tactile.why) }
        }
        (reasons(elements))
        @for note in &elements.notes { p.soft { (note) } }
    }
}

fn signs(elements: &Elements, side_mm: f64) -> Markup {
    html! {
        @if !elements.pictograms.is_empty() {
            p.signs {
                @for sign in &elements.pictograms {
                    @if let Some(sign) = press::Pictogram::parse(sign.code()) { (PreEscaped(sign.svg(side_mm))) }
                }
            }
        }
    }
}

fn wording_of(wording: &hazard::label::Wording, several: bool) -> Markup {
    let ours = wording
        .hazard
        .iter()
        .chain(&wording.precautionary)
        .chain(&wording.supplemental)
        .any(|line| line.origin == Origin::OurWords);
    html! {
        div lang=(wording.language.code()) {
            @if several { p.soft.small { (wording.language) } }
            @if let Some(word) = &wording.signal_word { p.signal { (word) } }
            (lines(&wording.hazard))
            (lines(&wording.precautionary))
            (lines(&wording.supplemental))
            @for missing in &wording.missing { p.problem { (missing) } }
            @if ours { p.no-print-label.soft.small { "* The law leaves a gap here; the words in it are ours." } }
        }
    }
}

fn lines(lines: &[hazard::phrase::Line]) -> Markup {
    html! {
        @if !lines.is_empty() {
            ul.plain {
                @for line in lines {
                    li { (line.text) span.no-print-label.soft.small { @if line.origin == Origin::OurWords { " *" } " " (line.code) } }
                }
            }
        }
    }
}

fn sizes(elements: &Elements, of_a_good: bool) -> Markup {
    html! {
        @if let Some(sizes) = &elements.sizes {
            @if elements.due {
                p { "At least: label " (sizes.label_mm.0) " × " (sizes.label_mm.1) " mm" @if sizes.label_if_possible { " if possible" }
                    @if !elements.pictograms.is_empty() { "; pictograms " (sizes.pictogram_mm) " mm a side, " (sizes.pictogram_wanted_mm) " mm wanted" }
                    "; a lower-case x " (sizes.x_height_mm) " mm high" @if !sizes.x_height_is_law { " (advice today)" } "." }
            }
        } @else if elements.due && of_a_good {
            p.soft { "What the package holds is not known here, so the smallest label and type are not worked out: give the mould its line volume." }
        }
        @if let Some(relief) = elements.relief.as_ref().filter(|relief| !relief.statements.is_empty() || !relief.precautions.is_empty()) {
            details {
                summary { "What a small package may leave out" }
                @if !relief.statements.is_empty() { p { "Hazard and precautionary statements of " (relief.statements.join(", ")) "." } }
                @if !relief.precautions.is_empty() { p { "Precautionary statements of " (relief.precautions.join(", ")) "." } }
                p { (relief.condition) " Nothing is left out here." }
            }
        }
    }
}

fn reasons(elements: &Elements) -> Markup {
    html! {
        @if !elements.precautionary.is_empty() || !elements.left_out.is_empty() || !elements.supplemental.is_empty() {
            details.working id="working-label" {
                summary { "Why these, and what was left out" }
                ol {
                    @for extra in &elements.supplemental { li { span.what { (extra.code) } span.how { (extra.why) } } }
                    @for choice in &elements.precautionary { li { span.what { (choice.code) } span.how { (choice.why) } } }
                    @for left in &elements.left_out { li { span.what { "Left out: " (left.what) } span.how { (left.why) } @if !left.law.is_empty() { span.source { (left.law) } } } }
                }
            }
        }
    }
}

/// What an outlook rests on: sheets, trust, and what is unknown.
pub(crate) fn rests_on(workshop: &Workshop, outlook: &Outlook) -> Markup {
    let name = |id| {
        workshop
            .supply(id)
            .map_or("?", |supply| supply.name.as_str())
    };
    html! {
        h2 { "What it rests on" }
        ul.rows {
            @for (supply, _) in &outlook.contents.sheets {
                @if let Some(sheet) = workshop.sheet(*supply) {
                    li {
                        span { a href={ "/shelf/supply/" (supply) "/sheet" } { (name(*supply)) } br; span.soft.small { (parts::capital(&super::sheet::name_of(sheet))) } }
                        @let open = sheet.unconfirmed().count();
                        @if open == 0 { (parts::verdict("yes", "confirmed")) } @else { (parts::verdict("unproven", "not confirmed")) }
                    }
                }
            }
            @for supply in &outlook.contents.trusted {
                li {
                    span { a href={ "/shelf/supply/" (supply) "/sheet" } { (name(*supply)) } br; span.soft.small { "No sheet on file: not hazardous by its supplier, taken on trust" } }
                    (parts::verdict("unproven", "on trust"))
                }
            }
            @if let Some(dye) = outlook.contents.unweighed {
                li {
                    span { a href={ "/shelf/supply/" (dye) "/sheet" } { (name(dye)) } br; span.soft.small { "Goes in by drops, so its weight is not known and it is left out" } }
                    (parts::verdict("unproven", "left out"))
                }
            }
        }
        @if let Some(mixture) = &outlook.mixture { (shares(workshop, mixture)) }
        @if let Some(found) = &outlook.classification {
            @if !found.notes.is_empty() { ul.notes { @for note in &found.notes { li { (note) } } } }
            @if let Some(mixture) = &outlook.mixture {
                (parts::working("working-classify", &hazard::classify::working(mixture, outlook.rules, found)))
            }
        }
    }
}

/// Every substance with its share of the whole.
fn shares(workshop: &Workshop, mixture: &hazard::Mixture) -> Markup {
    html! {
        details {
            summary { "Every substance and its share of the whole" }
            table {
                thead { tr { th { "Substance" } th.n { "Of the whole" } } }
                tbody {
                    @for substance in &mixture.substances {
                        tr {
                            td { (substance.name) @if let Some(cas) = substance.cas { span.soft.small { " CAS " (cas) } } }
                            td.n { (as_typed(workshop, substance.concentration)) }
                        }
                    }
                }
            }
        }
    }
}

/// What is to be said of the United States, where goods go there.
fn united_states(workshop: &Workshop) -> Markup {
    html! {
        @if sells_to_the_united_states(workshop) {
            h2 { "In the United States" }
            p { (hazard::label::UNITED_STATES) }
        }
    }
}

async fn print(State(site): State<Site>, At(id): At<ProductId>) -> Response {
    site.run(move |app| {
        let day = app.today();
        app.look(|workshop| {
            let case = label_case(workshop, id, day).ok_or(Fault::Nothing("good"))?;
            Ok(Page {
                title: format!("{}: warning label", case.product.name),
                place: Place::Label,
                back: Some((format!("/label/good/{id}"), case.product.name.clone())),
                body: print_body(workshop, &case),
            })
        })?
    })
    .await
}

fn print_body(workshop: &Workshop, case: &LabelCase) -> Markup {
    // The weight declared, or else what the mould is named by.
    let rule = app::weights::rule_of(workshop);
    let weight = workshop
        .declared_weight(case.product.id, rule)
        .and_then(|one| netweight::statement::of(rule, &one.declared).ok())
        .map(|statement| statement.text)
        .or_else(|| {
            let mould = workshop.mould(case.product.mould)?;
            mould.nominal.as_ref().map(ToString::to_string)
        });
    html! {
        h1.no-paper { "The warning label, as it stands" }
        @if case.state() == LabelState::Ready {
            p.next { button.do type="button" data-print hidden { "Print" } }
        } @else {
            p { (state_of(case.state())) " Not to be put on goods like this." }
        }
        @if let Some(outlook) = case.outlook.as_ref().filter(|outlook| outlook.contents.without_sheet.is_none()) {
            @let elements = &outlook.elements;
            @let side = elements.sizes.as_ref().map_or(ON_PAPER_MM, |sizes| f64::from(sizes.pictogram_wanted_mm));
            section.warning-label.printed {
                p.signal { (case.product.name) }
                @if !elements.named.is_empty() { p { (elements.named.join(", ")) } }
                (signs(elements, side))
                @for wording in &elements.wording { (wording_of(wording, elements.wording.len() > 1)) }
                @if let Some(identifier) = case.label.filter(|_| case.renewals.is_empty()).and_then(|label| label.identifier.as_ref()) {
                    p { "UFI: " (identifier.ufi) }
                }
                @if let Some(weight) = weight { p { (weight) } }
                @if let Some(settings) = workshop.label_settings() {
                    p { (settings.name) br; (settings.address) br; (settings.phone) }
                }
            }
            p.small.soft {
                (case.product.name) ", at " (as_typed(workshop, outlook.load)) ", by " (outlook.rules.jurisdiction) " as read on " (parts::day(outlook.rules.on)) ". "
                "Sheets: "
                @for (i, (supply, _)) in outlook.contents.sheets.iter().enumerate() {
                    @if i > 0 { "; " }
                    @if let (Some(known), Some(sheet)) = (workshop.supply(*supply), workshop.sheet(*supply)) { (known.name) ", " (super::sheet::name_of(sheet)) }
                }
                "."
            }
        }
        (parts::hazard_caution())
    }
}

async fn settings(State(site): State<Site>) -> Response {
    site.run(|app| settings_page(app, None, &Problems::default()))
        .await
}

async fn settle(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| labels::settle(app, WHO, filled),
        |_, _| Ok("/label".to_owned()),
        |app, filled, problems| settings_page(app, Some(filled), problems),
    )
    .await
}

fn settings_page(app: &App, typed: Option<&Filled>, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        let kept = workshop.label_settings();
        // The page holds two forms; what was sent is one of them.
        let of_maker = typed;
        let typed = typed.filter(|typed| !typed.has("maker_name"));
        let is_ticked = |name: &str, word: &str, kept: bool| {
            typed.map_or(kept, |typed| {
                typed
                    .pairs()
                    .iter()
                    .any(|(known, text)| known == name && text == word)
            })
        };
        let text = |field: &str, kept: Option<&String>| {
            typed.map_or_else(
                || kept.cloned().unwrap_or_default(),
                |typed| typed.get(field).to_owned(),
            )
        };
        let name = typed.map_or_else(
            || {
                kept.map(|kept| kept.name.clone())
                    .or_else(|| workshop.settings().map(|own| own.name.clone()))
                    .unwrap_or_default()
            },
            |typed| typed.get("supplier_name").to_owned(),
        );
        let (address, phone, vat) = (
            text("address", kept.map(|kept| &kept.address)),
            text("phone", kept.map(|kept| &kept.phone)),
            text("vat", kept.map(|kept| &kept.vat)),
        );
        Page {
            title: "Where are the goods sold?".to_owned(),
            place: Place::Label,
            back: Some(("/label".to_owned(), "Label".to_owned())),
            body: html! {
                (parts::question("Where are the goods sold, and who stands on the label?"))
                p.doubt { "It decides whose law is read and in which languages. Where a label goes to the European Union and to Great Britain, the rules of the Union decide." }
                (parts::problems(problems))
                form.sheet method="post" action="/label/settings" {
                    fieldset id=(parts::id_of("markets")) {
                        legend { "Sold in" }
                        @if let Some(problem) = problems.of("markets") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                        @for (word, market) in MARKETS {
                            (choice("market", word, market.word(), is_ticked("market", word, kept.is_some_and(|kept| kept.markets.contains(&market)))))
                        }
                    }
                    fieldset id=(parts::id_of("languages")) {
                        legend { "Languages of the label" }
                        @if let Some(problem) = problems.of("languages") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                        @for language in Language::ALL {
                            (choice("language", language.code(), &language.to_string(), is_ticked("language", language.code(), kept.is_some_and(|kept| kept.languages.contains(&language)))))
                        }
                    }
                    fieldset {
                        legend { "The supplier on the label" }
                        div.fields.wide {
                            (Field::text("supplier_name", "Name", &name).draw(problems))
                            (Field::text("address", "Address", &address).hint("for the European Union one in the Union or Northern Ireland").draw(problems))
                            (Field::text("phone", "Telephone", &phone).draw(problems))
                            (Field::text("vat", "VAT number or company key", &vat).hint("with its country, such as IE9Z54321Y; for formula identifiers, may stay empty").draw(problems))
                        }
                    }
                    p.next { button.do type="submit" { "Keep it" } }
                }
                (maker_form(workshop, of_maker, problems))
            },
        }
    })?)
}

/// Who makes it, as labels and papers name the trade; beside the supplier that
/// the law of hazards asks for, which is mostly the same.
fn maker_form(workshop: &Workshop, typed: Option<&Filled>, problems: &Problems) -> Markup {
    let kept = workshop.maker();
    let supplier = workshop.label_settings();
    let text = |field: &str, kept: String| {
        typed
            .filter(|typed| typed.has(field))
            .map_or(kept, |typed| typed.get(field).to_owned())
    };
    let name = text(
        "maker_name",
        kept.map(|kept| kept.name.clone())
            .or_else(|| {
                supplier
                    .map(|supplier| supplier.name.clone())
                    .filter(|name| !name.is_empty())
            })
            .or_else(|| workshop.settings().map(|own| own.name.clone()))
            .unwrap_or_default(),
    );
    let address = text(
        "maker_address",
        kept.map(|kept| kept.lines.join("\n"))
            .or_else(|| supplier.map(|supplier| supplier.address.replace(", ", "\n")))
            .unwrap_or_default(),
    );
    let contact = text(
        "maker_contact",
        kept.map(|kept| kept.contact.clone()).unwrap_or_default(),
    );
    let country = text(
        "maker_country",
        kept.map(|kept| kept.country.clone()).unwrap_or_default(),
    );
    let wrong = problems.of("maker_address");
    let id = parts::id_of("maker_address");
    html! {
        h2 { "Who makes it?" }
        p.soft {
            @if kept.is_some() { "As front labels and papers name you." } @else { "As front labels and papers name you. Filled in from the supplier above; nothing is kept yet." }
        }
        form.sheet method="post" action="/label/maker" {
            div.fields {
                (Field::text("maker_name", "Trade name", &name).draw(problems))
                (Field::text("maker_contact", "E-mail or web address", &contact).hint("the European Union asks for one on goods sold to the public").draw(problems))
                (Field::text("maker_country", "Country", &country).hint("two letters, such as IE, GB or US").draw(problems))
            }
            div.fields.wide {
                div.field.wrong[wrong.is_some()] {
                    label for=(id) { "Address, a line each" }
                    textarea id=(id) name="maker_address" rows="4" autocomplete="off" aria-describedby={ (id) "-more" } { (address) }
                    (parts::beneath(&id, "street, town and code, up to five lines", wrong))
                }
            }
            p.next { button type="submit" { "Keep it" } }
        }
    }
}

async fn settle_maker(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| app::weights::settle_maker(app, WHO, filled),
        |_, _| Ok("/label/settings".to_owned()),
        |app, filled, problems| settings_page(app, Some(filled), problems),
    )
    .await
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
