//! A supply's safety data sheet: what is in it, line by line, and how sure.

use app::App;
use app::forms::{Filled, as_typed};
use app::sheets::{self, TICKED};
use axum::Router;
use axum::extract::{Form, Multipart, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use hazard::table::Basis;
use hazard::{Hazard, Ingredient};
use maud::{Markup, html};
use measure::{Problem, Problems};
use workshop::facts::{LineBasis, Rest, SheetLine, SupplyId, SupplyKind};
use workshop::{Sheet, Supply, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{At, Fault, Reply, Site, WHO};

/// Lines that an empty sheet offers.
const LINES: usize = 3;
/// Substances that a look-up lists.
const FOUND: usize = 8;
/// Lines that are added when more are asked for.
const MORE: usize = 5;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/shelf/supply/{id}/sheet", get(sheet))
        .route("/shelf/supply/{id}/sheet/confirm", post(confirm))
        .route("/shelf/supply/{id}/sheet/certificate", post(certificate))
        .route("/shelf/supply/{id}/sheet/new", get(new).post(take))
        .route("/shelf/supply/{id}/sheet/pdf", post(pdf))
}

fn path(id: SupplyId) -> String {
    format!("/shelf/supply/{id}/sheet")
}

/// What a supply is called in a question: this oil, this wax.
const fn this(kind: SupplyKind) -> &'static str {
    match kind {
        SupplyKind::FragranceOil => "this oil",
        SupplyKind::Wax => "this wax",
        SupplyKind::Dye => "this dye",
        _ => "this supply",
    }
}

/// The supply of an address, when it is one that goes into the melt.
fn melted(workshop: &Workshop, id: SupplyId) -> Result<&Supply, Fault> {
    workshop
        .supply(id)
        .filter(|supply| supply.kind.is_weighed())
        .ok_or(Fault::Nothing("supply with a sheet"))
}

async fn sheet(State(site): State<Site>, At(id): At<SupplyId>) -> Response {
    site.run(move |app| sheet_page(app, id, &Filled::default(), &Problems::default()))
        .await
}

async fn confirm(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| sheets::confirm_lines(app, WHO, id, filled),
        move |_, _| Ok(path(id)),
        move |app, filled, problems| sheet_page(app, id, filled, problems),
    )
    .await
}

async fn certificate(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| sheets::file_certificate(app, WHO, id, filled),
        move |_, _| Ok(path(id)),
        move |app, filled, problems| sheet_page(app, id, filled, problems),
    )
    .await
}

fn sheet_page(
    app: &App,
    id: SupplyId,
    filled: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let supply = melted(workshop, id)?;
        let question = format!("{}: what is in {}?", supply.name, this(supply.kind));
        Ok(Page {
            title: question.clone(),
            place: Place::Shelf,
            back: Some((format!("/shelf/supply/{id}"), supply.name.clone())),
            body: html! {
                (parts::question(&question))
                (parts::problems(problems))
                @match workshop.sheet(id) {
                    None => (no_sheet(supply)),
                    Some(sheet) => (on_file(workshop, supply, sheet, problems)),
                }
                @if supply.kind == SupplyKind::FragranceOil {
                    (certificate_part(workshop, supply, filled, problems))
                }
                (older(workshop, id))
                (parts::hazard_caution())
            },
        })
    })?
}

fn no_sheet(supply: &Supply) -> Markup {
    let what = match supply.kind {
        SupplyKind::FragranceOil => {
            "What its safety data sheet lists in section 3 belongs here: each substance, its share and what it does. No sheet is on file, so no label can rest on this oil."
        }
        _ => {
            "What its safety data sheet lists belongs here. No sheet is on file: it is taken as not hazardous, on trust, and every page that rests on it says so."
        }
    };
    html! { (parts::empty(what, &format!("{}/new", path(supply.id)), "Write down its sheet")) }
}

fn on_file(workshop: &Workshop, supply: &Supply, sheet: &Sheet, problems: &Problems) -> Markup {
    let open = sheet.unconfirmed().count();
    let substances = match sheet.lines.len() {
        0 => "Nothing hazardous is listed".to_owned(),
        1 => "1 substance".to_owned(),
        many => format!("{many} substances"),
    };
    html! {
        (parts::answer_words(&format!("{substances} on {}.", name_of(sheet)), ""))
        p.doubt {
            @if sheet.lines.is_empty() {
                "Nothing to compare."
            } @else if open == 0 {
                (parts::verdict("yes", "confirmed")) " Every line was compared with your sheet."
            } @else {
                (parts::verdict("unproven", "not confirmed")) " "
                (if open == 1 { "1 line was".to_owned() } else { format!("{open} lines were") })
                " not compared with your sheet yet. No label can be marked ready before."
            }
            " " (rest_words(sheet))
        }
        @if !sheet.lines.is_empty() {
            form.sheet method="post" action={ (path(supply.id)) "/confirm" } {
                input type="hidden" name="sheet" value=(sheet.number);
                div.substances id=(parts::id_of("line")) {
                    @for (nth, line) in sheet.lines.iter().enumerate() { (substance(workshop, nth, line)) }
                }
                @if let Some(problem) = problems.of("line") { p.problem { (problem.wrong) "; " (problem.accepted) } }
                @if open > 0 {
                    p.next { button.do type="submit" { "I have compared the ticked lines with my sheet" } }
                }
            }
        }
        p.next {
            a.button.quiet href={ (path(supply.id)) "/new" } { "File a newer sheet, or put this one right" }
        }
        @if supply.kind == SupplyKind::FragranceOil {
            @let mut using = workshop.formulas().filter(|formula| formula.current().oil == Some(supply.id)).peekable();
            @if using.peek().is_some() {
                h2 { "What the label says of it" }
                ul.rows {
                    @for formula in using {
                        li { a href={ "/bench/formula/" (formula.id) "/label" } { (formula.name) ": at which load does the label change?" } }
                    }
                }
            }
        }
    }
}

/// `the sheet of 14 Mar 2026, version 2.1, by Saltmarsh Scents`
pub(crate) fn name_of(sheet: &Sheet) -> String {
    let dated = sheet.dated.map_or_else(
        || "a sheet without a date".to_owned(),
        |dated| format!("the sheet of {}", parts::day(dated)),
    );
    let version = if sheet.version.is_empty() {
        String::new()
    } else {
        format!(", version {}", sheet.version)
    };
    format!("{dated}{version}, by {}", sheet.supplier)
}

fn rest_words(sheet: &Sheet) -> &'static str {
    match sheet.rest {
        Rest::NotHazardous => {
            "What its lines leave open counts as not hazardous, because its supplier classified the whole."
        }
        Rest::Unknown => "What its lines leave open is unknown.",
    }
}

fn substance(workshop: &Workshop, nth: usize, line: &SheetLine) -> Markup {
    let id = format!("line-{nth}");
    html! {
        section.substance {
            h3 { (line.name) " " span.soft.small { @if let Some(cas) = line.cas { "CAS " (cas) } @else { "no CAS number" } } }
            dl.facts {
                dt { "Share" } dd { (as_typed(workshop, line.share)) }
                dt { "Classes" }
                dd {
                    @match &line.classes {
                        None => "unknown: the sheet says nothing of them",
                        Some(classes) if classes.is_empty() => "not classified",
                        Some(classes) => {
                            ul.plain { @for class in classes { li { (class) " " span.soft.small { (resting(line, *class)) } } } }
                        }
                    }
                }
                @if let Some(factor) = line.m_acute { dt { "M-factor, acute" } dd { (factor) } }
                @if let Some(factor) = line.m_chronic { dt { "M-factor, chronic" } dd { (factor) } }
                @if !line.limits.is_empty() { dt { "Limits of its own" } dd { (sheets::limits_text(workshop, &line.ingredient().bands)) } }
                @if !line.estimates.is_empty() { dt { "Acute toxicity" } dd { (sheets::estimates_text(workshop, &line.ingredient().estimates)) } }
            }
            (beside(&line.ingredient()))
            @if line.confirmed {
                p.soft.small { (parts::verdict("yes", "compared with your sheet")) }
            } @else {
                label.choice for=(id) {
                    input type="checkbox" id=(id) name="line" value=(nth);
                    "I have compared this line with my sheet, and it agrees"
                }
            }
        }
    }
}

/// Where a class of a line comes from, and what the table has of it.
fn resting(line: &SheetLine, class: Hazard) -> String {
    let from = match (line.confirmed, line.basis) {
        (true, _) => "your sheet",
        (false, LineBasis::OwnSheet) => "as read from your sheet, not confirmed",
        (false, LineBasis::Table) => "first fill from the table, not confirmed",
    };
    let Some(row) = line.cas.and_then(hazard::table::substance) else {
        return from.to_owned();
    };
    let known = row.classes.iter().find(|known| {
        let listed = known.hazard();
        listed.class == class.class && listed.h_code() == class.h_code()
    });
    let table = match known.map(|known| known.basis) {
        None => "the table has it not",
        Some(Basis::Harmonised) => "the harmonised list has it too",
        Some(Basis::Corroborated) => "a public list has it too",
        Some(Basis::Sheet | Basis::Unconfirmed) => "the table has it from memory only",
    };
    format!("{from}; {table}")
}

fn certificate_part(
    workshop: &Workshop,
    supply: &Supply,
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let known = workshop.certificate(supply.id);
    html! {
        h2 { "How much of it may a melt carry?" }
        @match known {
            Some(certificate) => p {
                "At most " strong { (as_typed(workshop, certificate.maximum)) } " of the finished article, category " (certificate.category)
                @if let Some(dated) = certificate.dated { ", by the certificate of " (parts::day(dated)) } @else { ", by a certificate without a date" }
                "."
            },
            None => p.soft { "Its maker's certificate of conformity gives a maximum for each category of article. None is on file: not checked." },
        }
        details open[!problems.is_empty() && filled.has("maximum")] {
            summary { @if known.is_some() { "File a newer certificate" } @else { "Write down its certificate" } }
            form.sheet method="post" action={ (path(supply.id)) "/certificate" } {
                (once::field())
                div.fields {
                    (Field::text("category", "Category of article", filled.get("category")).hint("as the certificate numbers it; candles and melts have one of their own").draw(problems))
                    (Field::text("maximum", "At most", filled.get("maximum")).keys("decimal").hint("percent of the finished article").draw(problems))
                    (Field::text("certificate_dated", "Its date", filled.get("certificate_dated")).hint("2026-03-14; may stay empty").draw(problems))
                }
                p.next { button type="submit" { "Write it down" } }
            }
        }
    }
}

fn older(workshop: &Workshop, id: SupplyId) -> Markup {
    let sheets = workshop.sheets(id);
    html! {
        @if sheets.len() > 1 {
            h2 { "Sheets before this one" }
            ul.rows {
                @for sheet in sheets.iter().rev().skip(1) {
                    li {
                        span { (parts::capital(&name_of(sheet))) }
                        span.soft { "filed " (parts::day(sheet.filed)) ", " (sheet.lines.len()) " lines" }
                    }
                }
            }
        }
    }
}

async fn new(State(site): State<Site>, At(id): At<SupplyId>) -> Response {
    site.run(move |app| {
        let filled = app.look(|workshop| match workshop.sheet(id) {
            Some(sheet) => sheets::of_sheet(workshop, sheet, Filled::default()),
            None => Filled::default(),
        })?;
        new_page(app, id, &filled, &Problems::default())
    })
    .await
}

/// Takes the form: files the sheet, or does what a button of it asks and shows
/// it again. Nothing is written down before it is filed.
async fn take(
    State(site): State<Site>,
    At(id): At<SupplyId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let wish = Filled::new(pairs.clone()).get("do").to_owned();
    if wish == "file" {
        return site
            .post(
                pairs,
                move |app, filled| sheets::file_sheet(app, WHO, id, filled),
                move |_, _| Ok(path(id)),
                move |app, filled, problems| new_page(app, id, filled, problems),
            )
            .await;
    }
    site.run(move |app| {
        let filled = Filled::new(pairs);
        let (filled, problems) = app.look(|workshop| granted(workshop, filled, &wish))?;
        let status = if problems.is_empty() {
            StatusCode::OK
        } else {
            StatusCode::UNPROCESSABLE_ENTITY
        };
        new_page(app, id, &filled, &problems).map(|page| Reply::Page(status, page))
    })
    .await
}

/// Does what a button of the form asks, and returns the form as it then stands.
fn granted(workshop: &Workshop, filled: Filled, wish: &str) -> (Filled, Problems) {
    let none = Problems::default();
    match wish {
        "more" => {
            let wanted = filled.lines("lines") + MORE;
            (filled.with("lines_wanted", wanted.to_string()), none)
        }
        "read" => match hazard::sheet::read(filled.get("text")) {
            Ok(read) => (sheets::with_read(workshop, filled, &read), none),
            Err(problems) => (filled, problems),
        },
        wish => {
            let row = wish
                .strip_prefix("add:")
                .and_then(|cas| hazard::table::substance(cas.parse().ok()?));
            match row {
                Some(row) => (sheets::with_first_fill(workshop, filled, row), none),
                None => (filled, none),
            }
        }
    }
}

/// Takes in a sheet's file and shows what it seems to say. Nothing is written
/// down, and the file is not kept.
async fn pdf(State(site): State<Site>, At(id): At<SupplyId>, mut parts: Multipart) -> Response {
    let mut file = Vec::new();
    let mut fault = None;
    loop {
        match parts.next_field().await {
            Ok(Some(field)) if field.name() == Some("pdf") => match field.bytes().await {
                Ok(bytes) => file = bytes.to_vec(),
                Err(error) => fault = Some(error.body_text()),
            },
            Ok(Some(_)) => {}
            Ok(None) => break,
            Err(error) => {
                fault = Some(error.body_text());
                break;
            }
        }
    }
    site.run(move |app| {
        let read = match fault {
            Some(_) => Err(Problem::new(
                "pdf",
                "",
                "the file did not arrive whole, or is larger than 2 MB",
                "choose the file again, or paste the text of section 3",
            )
            .into()),
            None => {
                app::sheet_pdf::text(file).and_then(|text| Ok((hazard::sheet::read(&text)?, text)))
            }
        };
        let (filled, problems, status) = match read {
            Ok((read, text)) => {
                let filled =
                    app.look(|workshop| sheets::with_read(workshop, Filled::default(), &read))?;
                (
                    filled.with("text", text),
                    Problems::default(),
                    StatusCode::OK,
                )
            }
            Err(problems) => (
                Filled::default(),
                problems,
                StatusCode::UNPROCESSABLE_ENTITY,
            ),
        };
        new_page(app, id, &filled, &problems).map(|page| Reply::Page(status, page))
    })
    .await
}

fn new_page(app: &App, id: SupplyId, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let supply = melted(workshop, id)?;
        let question = format!("{}: what does its sheet say?", supply.name);
        Ok(Page {
            title: question.clone(),
            place: Place::Shelf,
            back: Some((path(id), "What is in it".to_owned())),
            body: html! {
                (parts::question(&question))
                p.doubt { "Section 3 of the supplier's safety data sheet lists the substances. Nothing is written down until you file it, and each line counts as confirmed only when you have ticked it." }
                (parts::problems(problems))
                (file_form(supply, problems))
                (new_form(workshop, supply, filled, problems))
                (parts::hazard_caution())
            },
        })
    })?
}

fn file_form(supply: &Supply, problems: &Problems) -> Markup {
    html! {
        form.sheet method="post" enctype="multipart/form-data" action={ (path(supply.id)) "/pdf" } {
            div.field.wrong[problems.of("pdf").is_some()] {
                label for="f-pdf" { "Begin from its PDF" }
                input type="file" id="f-pdf" name="pdf" accept="application/pdf,.pdf" required;
                span.hint { "Its text is read and proposed below; the file is not kept. A scanned sheet has no text and must be typed. At most 2 MB." }
            }
            p.next { button.quiet type="submit" { "Read the file" } }
        }
    }
}

/// The box for a pasted table, and what of it was not understood.
fn paste(filled: &Filled, problems: &Problems) -> Markup {
    let text = filled.get("text");
    let read = Some(text)
        .filter(|text| !text.is_empty())
        .and_then(|text| hazard::sheet::read(text).ok());
    html! {
        fieldset {
            legend { "Paste it" }
            div.field.wrong[problems.of("text").is_some()] {
                label for="f-text" { "Section 3 as text" }
                textarea id="f-text" name="text" rows="6" spellcheck="false" { (text) }
                @if let Some(problem) = problems.of("text") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                @else { span.hint { "copied from the sheet, or as CSV with a line of headings; English, German, French or Spanish" } }
            }
            p.next { button.quiet type="submit" name="do" value="read" formnovalidate { "Read it into lines" } }
            @if let Some(read) = read {
                @for doubt in &read.head.doubts { p.note { (parts::capital(&doubt.wrong)) "; " (doubt.accepted) "." } }
                @if read.not_understood.is_empty() {
                    p.soft { "Every line of it was understood, or so it seems: compare each all the same." }
                } @else {
                    div.note {
                        p { "Not understood, so look at these yourself:" }
                        ul { @for line in &read.not_understood { li { code { (line.text) } } } }
                    }
                }
            }
        }
    }
}

/// Looking a substance up by name or CAS number.
fn look_up(filled: &Filled) -> Markup {
    let wanted = filled.get("look");
    let found = hazard::table::search(wanted, FOUND);
    html! {
        fieldset {
            legend { "Or look a substance up" }
            div.fields {
                (Field::text("look", "Name or CAS number", wanted).hint("a first fill from our table; your sheet comes first").draw(&Problems::default()))
            }
            p.next { button.quiet type="submit" name="do" value="look" formnovalidate { "Look it up" } }
            @if !wanted.is_empty() {
                @if found.is_empty() {
                    p { "The table has nothing of that name. Write the line by hand." }
                } @else {
                    ul.rows {
                        @for row in found {
                            li {
                                span { (row.name) " " span.soft.small { "CAS " (row.cas()) } br;
                                    span.soft.small { @if row.classes.is_empty() { "no class commonly given" } @for (i, class) in row.classes.iter().enumerate() { @if i > 0 { "; " } (class.hazard()) " (" (class.basis) ")" } } }
                                button.quiet type="submit" name="do" value={ "add:" (row.cas()) } formnovalidate { "Put it in" }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Where a line and the table differ; both are shown, neither is settled.
fn beside(ingredient: &Ingredient) -> Markup {
    let row = ingredient.cas.and_then(hazard::table::substance);
    let found = row.map_or_else(Vec::new, |row| hazard::table::compare(ingredient, row));
    html! {
        @if !found.is_empty() {
            div.beside {
                p.small { (parts::verdict("unproven", "the table says otherwise")) " Your sheet counts; ask its supplier where they differ." }
                table.stack {
                    thead { tr { th { "About" } th { "Your sheet" } th { "The table" } } }
                    tbody {
                        @for one in &found {
                            tr { td { (one.about) } td data-label="Your sheet" { (one.sheet) } td data-label="The table" { (one.table) " " span.soft.small { "(" (one.basis) ")" } } }
                        }
                    }
                }
            }
        }
    }
}

fn new_form(workshop: &Workshop, supply: &Supply, filled: &Filled, problems: &Problems) -> Markup {
    let wanted = filled.get("lines_wanted").parse().unwrap_or(0);
    let lines = filled
        .lines("lines")
        .max(wanted)
        .clamp(LINES, workshop::decide::MOST_SHEET_LINES);
    let rests = [
        (String::new(), "–".to_owned()),
        (
            "not_hazardous".to_owned(),
            "not hazardous: the supplier classified the whole".to_owned(),
        ),
        ("unknown".to_owned(), "unknown".to_owned()),
    ];
    let has_older = workshop.sheet(supply.id).is_some();
    html! {
        form.sheet method="post" action={ (path(supply.id)) "/new" } {
            (once::field())
            fieldset {
                legend { "The sheet" }
                div.fields {
                    (Field::text("sheet_supplier", "Whose sheet", filled.get("sheet_supplier")).hint("the supplier named in its section 1").draw(problems))
                    (Field::text("dated", "Its date", filled.get("dated")).hint("of its last revision: 2026-03-14").draw(problems))
                    (Field::text("version", "Its version", filled.get("version")).hint("may stay empty").draw(problems))
                }
                @if has_older {
                    label.choice for="f-older_is_meant" {
                        input type="checkbox" id="f-older_is_meant" name="older_is_meant" value=(TICKED) checked[filled.get("older_is_meant") == TICKED];
                        "It counts even if its date is before that of the sheet on file"
                    }
                }
            }
            (paste(filled, problems))
            (look_up(filled))
            fieldset id=(parts::id_of("lines")) {
                legend { "Its section 3, line by line" }
                @if let Some(problem) = problems.of("lines") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) } }
                @for i in 0..lines { (line_fields(workshop, i, filled, problems)) }
                p.next { button.quiet type="submit" name="do" value="more" formnovalidate { "More lines" } }
            }
            fieldset {
                legend { "The rest" }
                div.fields.wide {
                    (parts::select("rest", "What the lines leave open is", filled.get("rest"), &rests,
                        "look at section 2 of the sheet: where the supplier classified the whole oil there, what section 3 leaves out is not hazardous, or below the share at which it must be listed; without a section 2, choose unknown", problems))
                }
            }
            p.next { button.do type="submit" name="do" value="file" { "File this sheet" } }
        }
    }
}

fn line_fields(workshop: &Workshop, i: usize, filled: &Filled, problems: &Problems) -> Markup {
    let field = |part: &str| format!("lines[{i}].{part}");
    let [
        name,
        cas,
        share,
        classes,
        m_acute,
        m_chronic,
        ate,
        limits,
        confirmed,
    ] = [
        "name",
        "cas",
        "share",
        "classes",
        "m_acute",
        "m_chronic",
        "ate",
        "limits",
        "confirmed",
    ]
    .map(field);
    let more = [&m_acute, &m_chronic, &ate, &limits];
    let is_more = more
        .iter()
        .any(|name| filled.some(name).is_some() || problems.of(name).is_some());
    let first = i == 0;
    let tick = parts::id_of(&confirmed);
    html! {
        fieldset.substance {
            legend { "Line " (i + 1) }
            @for part in ["basis", "source", "doubts"] {
                input type="hidden" name=(field(part)) value=(filled.get(&field(part)));
            }
            @if let Some(source) = filled.some(&field("source")) { p.soft.small { "Read from: " code { (source) } } }
            @for doubt in filled.get(&field("doubts")).lines() { p.note.small { (parts::capital(doubt)) } }
            div.fields.line {
                (Field::text(&name, "Substance", filled.get(&name)).draw(problems))
                (Field::text(&cas, "CAS number", filled.get(&cas)).hint(if first { "such as 78-70-6; may stay empty" } else { "" }).draw(problems))
                (Field::text(&share, "Share, %", filled.get(&share)).hint(if first { "3.2, 5-10 or < 1" } else { "" }).draw(problems))
            }
            div.fields.wide {
                (Field::text(&classes, "Classes", filled.get(&classes)).hint(if first { "as on the sheet: Skin Sens. 1B H317; or: not classified. Empty means unknown." } else { "" }).draw(problems))
            }
            details open[is_more] {
                summary { "M-factors, limits and toxicity of its own" }
                div.fields {
                    (Field::text(&m_acute, "M-factor, acute", filled.get(&m_acute)).keys("numeric").draw(problems))
                    (Field::text(&m_chronic, "M-factor, chronic", filled.get(&m_chronic)).keys("numeric").draw(problems))
                    (Field::text(&limits, "Specific limits", filled.get(&limits)).hint("Skin Sens. 1: >= 0.1 %").draw(problems))
                    (Field::text(&ate, "Acute toxicity (ATE)", filled.get(&ate)).hint("oral 500 mg/kg; vapour 11 mg/l").draw(problems))
                }
            }
            @if let Some(ingredient) = sheets::tried_line(workshop, filled, i) { (beside(&ingredient)) }
            label.choice for=(tick) {
                input type="checkbox" id=(tick) name=(confirmed) value=(TICKED) checked[filled.get(&confirmed) == TICKED];
                "I have compared this line with my sheet"
            }
        }
    }
}
