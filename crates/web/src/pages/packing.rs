//! What a good wraps in, and the label sheets on hand.

use app::App;
use app::forms::{Filled, as_typed, example};
use app::packing::{self, SIZES, WrapAnswer, show_mm};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use label::fit::Label;
use label::sheet::{Outline, PageSize, Sheet};
use label::wrap::{Cover, FoldKind, PanelName};
use maud::{Markup, html};
use measure::{LengthUnit, Problems, System, figure};
use workshop::facts::{ProductId, StockId};
use workshop::{LabelStock, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::Pairs;
use crate::parts::{self, Field};
use crate::site::{At, Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/label/good/{id}/wrap", get(wrap).post(keep))
        .route("/label/stocks", get(stocks).post(add))
        .route("/label/stocks/{id}/retire", post(retire))
        .route("/label/printers", get(printers).post(measure))
}

async fn wrap(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| wrap_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn keep(
    State(site): State<Site>,
    At(id): At<ProductId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| packing::set_pack(app, WHO, id, filled),
        move |_, _| Ok(format!("/label/good/{id}/wrap")),
        move |app, filled, problems| wrap_page(app, id, filled, problems),
    )
    .await
}

fn wrap_page(app: &App, id: ProductId, asked: &Filled, refused: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let product = workshop.product(id).ok_or(Fault::Nothing("good"))?;
        let filled = packing::filled_with_known(workshop, id, asked.clone());
        let kind = SIZES.iter().find(|(kind, _)| *kind == filled.get("kind"));
        let answer = kind.map(|_| packing::wrap_answer(workshop, &filled));
        let typed = !asked.pairs().is_empty() || workshop.shape(id).is_some();
        let title = format!("{}: what does it wrap in?", product.name);
        Ok(Page {
            title: title.clone(),
            place: Place::Label,
            back: Some((format!("/label/good/{id}"), product.name.clone())),
            body: html! {
                (parts::question(&title))
                (parts::problems(refused))
                div data-part="answer" {
                    @match &answer {
                        Some(Ok(answer)) => (answered(workshop, answer)),
                        Some(Err(open)) if typed && refused.is_empty() && asked.pairs().len() > 1 => (parts::still_open(open)),
                        Some(Err(_)) | None => {}
                    }
                }
                @match kind {
                    None => (kinds(id)),
                    Some((kind, sizes)) => (shape_form(workshop, id, kind, sizes, &filled, refused)),
                }
                div data-part="picture" {
                    @if let Some(Ok(answer)) = &answer {
                        (picture(workshop, answer))
                        (panels(workshop, answer))
                        (labels(workshop, answer))
                        (parts::working("working", &answer.told.working))
                    }
                }
            },
        })
    })?
}

/// The shapes to choose from.
fn kinds(id: ProductId) -> Markup {
    let words = |kind: &str| match kind {
        "box" => "a bar or carton with upright sides",
        "tapered bar" => "a bar whose mould lets it go: one face is larger",
        "cylinder" => "a round candle or melt, wrapped as it is",
        "jar" => "a straight glass",
        "tin" => "a round tin with a lid",
        "tumbler" => "a glass that widens",
        _ => "a clear pack that opens like a shell",
    };
    html! {
        p.doubt { "Choose what it looks like, then measure it: the sheet to cut, the panels and the labels that fit follow from its sizes." }
        ul.rows {
            @for (kind, _) in SIZES {
                li {
                    span {
                        a href={ "/label/good/" (id) "/wrap?kind=" (kind.replace(' ', "+")) } { (parts::capital(kind)) }
                        br; span.soft.small { (words(kind)) }
                    }
                }
            }
        }
    }
}

fn unit_word(workshop: &Workshop) -> &'static str {
    match packing::ruler(workshop).bare {
        Some(LengthUnit::Inch) => "a bare figure is in inches",
        _ => "a bare figure is in millimetres",
    }
}

fn shape_form(
    workshop: &Workshop,
    id: ProductId,
    kind: &str,
    sizes: &[(&str, &str)],
    filled: &Filled,
    problems: &Problems,
) -> Markup {
    let covers = Cover::ALL.map(|cover| {
        let words = match cover {
            Cover::Full => "all of it",
            Cover::Band => "a band round it",
            Cover::Front => "a label on the front",
        };
        (cover.name().to_owned(), words.to_owned())
    });
    let path = format!("/label/good/{id}/wrap");
    let has_ends = matches!(kind, "box" | "tapered bar" | "cylinder");
    html! {
        form.sheet method="post" action=(path) data-live=(path) {
            (once::field())
            input type="hidden" name="kind" value=(kind);
            h2 { "Its sizes: " (kind) }
            p.soft.small { "Measured on the unit itself; " (unit_word(workshop)) ". " a href={ (path) "?kind=" } { "Another shape" } }
            div.fields {
                @for (name, label) in sizes {
                    (Field::text(name, label, filled.get(name))
                        .hint(if *name == "header" { "above the shell, with its hole; may stay empty" } else { "" }).draw(problems))
                }
            }
            h2 { "How it is wrapped" }
            div.fields {
                (parts::select("cover", "What is covered", filled.get("cover"), &covers, "", problems))
                (Field::text("overlap", "Overlap at the seam", filled.get("overlap")).hint(&example(workshop, "10 mm when empty")).draw(problems))
                @if has_ends {
                    (Field::text("tuck", "Tuck at the ends", filled.get("tuck")).hint("past the middle of the end; 5 mm when empty").draw(problems))
                }
                (Field::text("band", "Width of a band", filled.get("band")).hint("half the unit when empty").draw(problems))
                (Field::text("stock_width", "Cut from: width", filled.get("stock_width")).hint("of the roll or sheet; may stay empty").draw(problems))
                (Field::text("stock_length", "Cut from: length", filled.get("stock_length")).hint("empty for a roll").draw(problems))
            }
            p.next { button.do type="submit" { "Keep this" } }
        }
    }
}

fn answered(workshop: &Workshop, answer: &WrapAnswer) -> Markup {
    let plan = &answer.plan;
    let what = match plan.cover {
        Cover::Full if plan.end_fold_mm > 0.0 => "a sheet",
        Cover::Full | Cover::Band => "a strip",
        Cover::Front => "a label",
    };
    let size = as_typed(
        workshop,
        label::ruler::show_size(plan.width_mm, plan.height_mm),
    );
    let curved = if plan.arc.is_some() {
        ", cut to a curve"
    } else {
        ""
    };
    html! {
        (parts::answer_words(&format!("Cut {what} of {size}{curved}."), ""))
        p.doubt {
            @if plan.cover == Cover::Front {
                "It keeps " (show_mm(workshop, label::wrap::INSET_MM)) " from every edge of the front."
            } @else {
                "Once round is " (show_mm(workshop, plan.round_mm)) "; "
                (show_mm(workshop, plan.overlap_mm)) " laps over at the seam"
                @if plan.end_fold_mm > 0.0 { " and " (show_mm(workshop, plan.end_fold_mm)) " folds over each end" }
                "."
            }
        }
        @if let Some(arc) = plan.arc {
            p { "The curve: radius " (show_mm(workshop, arc.outer_mm)) " outside, " (show_mm(workshop, arc.inner_mm)) " inside, through " (as_typed(workshop, figure(arc.radians.to_degrees(), 1))) "°." }
        }
        @if let Some(cut) = &answer.cut { p { (as_typed(workshop, cut)) } }
        @for note in &answer.told.notes { p.note { (as_typed(workshop, note)) } }
    }
}

/// The sheet laid flat.
fn picture(workshop: &Workshop, answer: &WrapAnswer) -> Markup {
    let plan = &answer.plan;
    let names: Vec<String> = plan
        .panels
        .iter()
        .map(|panel| panel.name.to_string())
        .collect();
    let drawn: Vec<press::WrapPanel<'_>> = plan
        .panels
        .iter()
        .zip(&names)
        .map(|(panel, name)| press::WrapPanel {
            name,
            is_front: panel.name == PanelName::Front,
            is_named: panel.name != PanelName::EndFlap,
            corners: &panel.corners,
        })
        .collect();
    let folds: Vec<_> = plan
        .folds
        .iter()
        .map(|fold| {
            let kind = match fold.kind {
                FoldKind::Edge => press::WrapLine::Edge,
                FoldKind::Crease => press::WrapLine::Crease,
                FoldKind::Seam => press::WrapLine::Seam,
            };
            (kind, fold.from, fold.to)
        })
        .collect();
    let (x, y, width, height) = plan.front_label;
    let size = label::ruler::show_size(plan.width_mm, plan.height_mm);
    let title = as_typed(workshop, format!("Laid flat: {size}"));
    let write = |mm: f64| as_typed(workshop, label::ruler::show(mm));
    let picture = press::wrap_plan(&press::WrapPlan {
        title: &title,
        width_mm: plan.width_mm,
        height_mm: plan.height_mm,
        outline: &plan.outline,
        panels: &drawn,
        folds: &folds,
        label: (plan.cover != Cover::Front)
            .then_some(("largest front label", [x, y, width, height])),
        write: &write,
    });
    html! {
        @if let Some(picture) = picture {
            (parts::picture(&picture))
            @if plan.cover != Cover::Front {
                p.soft.small {
                    "Broken lines are folded round edges"
                    @if folds.iter().any(|fold| fold.0 == press::WrapLine::Crease) { ", short dots are pushed in at the ends" }
                    @if folds.iter().any(|fold| fold.0 == press::WrapLine::Seam) { "; at the dash and dots the other edge comes to lie" }
                    ". The frame on the front is the largest label for it."
                }
            }
        }
    }
}

fn panels(workshop: &Workshop, answer: &WrapAnswer) -> Markup {
    let area = |panel: &label::unit::PrincipalPanel| {
        as_typed(
            workshop,
            format!(
                "{} square inches ({} cm²)",
                figure(panel.area_in2(), 2),
                figure(panel.area_mm2 / 100.0, 1)
            ),
        )
    };
    let height = |length: measure::Length| {
        // Cut up: the millimetres shown never fall short of the inches asked for.
        let tenths = (length.to_f64(LengthUnit::Millimetre) * 10.0 - 1e-6).ceil();
        let inches = fraction_of_inch(length);
        as_typed(
            workshop,
            format!("{} mm ({inches} in)", figure(tenths / 10.0, 1)),
        )
    };
    html! {
        h2 { "Panels" }
        dl.facts {
            dt { "Seen first" }
            dd { (as_typed(workshop, answer.principal.rule)) ": " (area(&answer.principal)) }
            dt { "Smallest letters of the weight" }
            dd { (height(answer.least_letter)) " " span.soft { "in the United States, 16 CFR 500.21" } }
            @if let Some((lid, least)) = &answer.lid {
                dt { "Should the lid bear it" }
                dd { (as_typed(workshop, lid.rule)) ": " (area(lid)) ", " (height(*least)) }
            }
        }
        table.stack {
            thead { tr { th { "Label" } th.n { "Largest size" } } }
            tbody {
                @for size in &answer.labels {
                    tr {
                        td { (match size.cover { Cover::Full => "round it, as high as it goes", Cover::Band => "a band round it", Cover::Front => "on the front alone" }) }
                        td.n data-label="Largest size" { (as_typed(workshop, label::ruler::show_size(size.width_mm, size.height_mm))) }
                    }
                }
            }
        }
    }
}

/// Inches as the rule writes them, in halves down to sixteenths: `3/16`.
fn fraction_of_inch(length: measure::Length) -> String {
    let inches = length.to_f64(LengthUnit::Inch);
    let below = [2.0_f64, 4.0, 8.0]
        .into_iter()
        .find(|below| (inches * below - (inches * below).round()).abs() < 1e-6)
        .unwrap_or(16.0);
    format!("{}/{}", figure(inches * below, 0), figure(below, 0))
}

/// Which of the label sheets on hand fit.
fn labels(workshop: &Workshop, answer: &WrapAnswer) -> Markup {
    let fitting = answer
        .stocks
        .iter()
        .filter(|stock| stock.front.fits || stock.round.fits)
        .count();
    html! {
        h2 { "Labels on hand" }
        @if answer.stocks.is_empty() {
            p.soft { "No label sheet is written down yet. " a href="/label/stocks" { "Add one" } " and this page says whether it fits, and by how much." }
        } @else {
            p { (fitting) " of " (answer.stocks.len()) " fit. " a href="/label/stocks" { "All label sheets" } }
            ul.rows {
                @for stock in &answer.stocks {
                    li {
                        span {
                            (stock.name) " " span.soft { (label_size(workshop, &stock.label)) }
                            br; span.small { "Front: " (as_typed(workshop, &stock.on_front)) }
                            br; span.small { "Round it: " (as_typed(workshop, &stock.on_round)) }
                        }
                        @if stock.front.fits { (parts::verdict("yes", "fits the front")) }
                        @else if stock.round.fits { (parts::verdict("yes", "goes round")) }
                        @else { (parts::verdict("no", "does not fit")) }
                    }
                }
            }
        }
    }
}

fn label_size(workshop: &Workshop, label: &Label) -> String {
    as_typed(
        workshop,
        match label.outline {
            Outline::Round => format!("{} across", label::ruler::show(label.width_mm)),
            Outline::Oval => format!(
                "{}, oval",
                label::ruler::show_size(label.width_mm, label.height_mm)
            ),
            Outline::Rectangle { .. } => label::ruler::show_size(label.width_mm, label.height_mm),
        },
    )
}

async fn stocks(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(move |app| stocks_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn add(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| packing::add_stock(app, WHO, filled),
        |_, _| Ok("/label/stocks".to_owned()),
        stocks_page,
    )
    .await
}

async fn retire(
    State(site): State<Site>,
    At(id): At<StockId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, _| packing::retire_stock(app, WHO, id),
        |_, _| Ok("/label/stocks".to_owned()),
        stocks_page,
    )
    .await
}

const STOCKS: &str = "Which label sheets are on hand?";

fn stocks_page(app: &App, filled: &Filled, refused: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let on_hand: Vec<_> = packing::stocks_on_hand(workshop).collect();
        let typed = !filled.pairs().is_empty();
        Ok(Page {
            title: STOCKS.to_owned(),
            place: Place::Label,
            back: Some(("/label".to_owned(), "Label".to_owned())),
            body: html! {
                (parts::question(STOCKS))
                (parts::problems(refused))
                @if on_hand.is_empty() {
                    p.empty { "Every kind of label sheet in the drawer belongs here, with its sizes; then each good says which of them fits, and labels print where they are meant to." }
                } @else {
                    (parts::answer_words(&parts::counted(u32::try_from(on_hand.len()).unwrap_or(u32::MAX), "kind"), ""))
                    ul.rows { @for stock in &on_hand { (stock_row(workshop, stock)) } }
                }
                p { a href="/label/printers" { "What does the printer do?" } }
                (stock_form(workshop, filled, refused))
                div data-part="validity" { @if typed { (validity(workshop, filled, refused)) } }
            },
        })
    })?
}

fn stock_row(workshop: &Workshop, stock: &LabelStock) -> Markup {
    html! {
        li {
            span {
                (stock.name)
                @if let Ok(sheet) = stock.geometry.sheet() {
                    br; span.soft.small { (sheet_words(workshop, &sheet)) }
                }
            }
            form method="post" action={ "/label/stocks/" (stock.id) "/retire" } {
                (once::field())
                button.quiet type="submit" aria-label={ "Used up: " (stock.name) } { "Used up" }
            }
        }
    }
}

/// `30 a page of letter, 3 across, 66.7 × 25.4 mm`
fn sheet_words(workshop: &Workshop, sheet: &Sheet) -> String {
    let page = PageSize::of_mm(sheet.page_width_mm, sheet.page_height_mm).map_or_else(
        || label::ruler::show_size(sheet.page_width_mm, sheet.page_height_mm),
        PageSize::name,
    );
    let label = Label {
        width_mm: sheet.label_width_mm,
        height_mm: sheet.label_height_mm,
        outline: sheet.outline,
    };
    as_typed(
        workshop,
        format!(
            "{} on {page}, {} across and {} down; each {}",
            sheet.per_page(),
            sheet.columns,
            sheet.rows,
            label_size(workshop, &label)
        ),
    )
}

/// What the sheet being typed comes to, before it is kept.
fn validity(workshop: &Workshop, filled: &Filled, refused: &Problems) -> Markup {
    match packing::sheet_of(workshop, filled) {
        Err(open) if refused.is_empty() => html! {
            div.open-questions role="status" {
                p { "This is no sheet yet:" }
                (parts::problem_list(&open))
            }
        },
        Err(_) => html! {},
        Ok(sheet) => html! {
            p { (parts::verdict("yes", "it closes")) " " (sheet_words(workshop, &sheet)) "." }
            p.soft.small {
                "Left " (show_mm(workshop, sheet.margin_left_mm)) ", right " (show_mm(workshop, sheet.margin_right_mm().max(0.0)))
                ", top " (show_mm(workshop, sheet.margin_top_mm)) ", bottom " (show_mm(workshop, sheet.margin_bottom_mm().max(0.0))) "."
                @if sheet.bleed_mm(1.5) > 0.0 { " Colour may run 1.5 mm over the edge." } @else { " No room for colour to run over the edge." }
            }
            @for remark in sheet.remarks() { p.note { (as_typed(workshop, remark)) } }
        },
    }
}

/// The page that was chosen, or else the one that lies in the printer where the
/// workshop is: measured against another, a true printer seems to stretch.
fn page_or_usual(workshop: &Workshop, chosen: &str) -> String {
    if !chosen.is_empty() {
        return chosen.to_owned();
    }
    match workshop.system() {
        System::Us => PageSize::Letter.name(),
        System::Metric | System::Imperial => PageSize::A(4).name(),
    }
}

fn stock_form(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let mut pages: Vec<(String, String)> = PageSize::ALL
        .into_iter()
        .map(|size| (size.name(), size.name()))
        .collect();
    pages.push(("own".to_owned(), "other: both sides below".to_owned()));
    let outlines = [
        ("rectangle", "rectangle"),
        ("round", "round"),
        ("oval", "oval"),
    ]
    .map(|(value, words)| (value.to_owned(), words.to_owned()));
    let text = |name: &'static str, label: &'static str, hint: &'static str| {
        html! { (Field::text(name, label, filled.get(name)).hint(&example(workshop, hint)).draw(problems)) }
    };
    html! {
        h2 { "Add a label sheet" }
        p.soft.small { "The figures stand on its packet or in its template; " (unit_word(workshop)) "." }
        form.sheet method="post" action="/label/stocks" data-live="/label/stocks" {
            (once::field())
            div.fields {
                (text("stock_name", "What you call it", "by size and count: thirty small on letter"))
                (parts::select("page", "Page", &page_or_usual(workshop, filled.get("page")), &pages, "", problems))
                (parts::select("outline", "Outline of a label", filled.get("outline"), &outlines, "", problems))
                (text("label_width", "Label, width", "or diameter; such as 66.7 mm"))
                (text("label_height", "Label, height", "may stay empty for a round one"))
                (text("columns", "Labels across", "a whole number such as 3"))
                (text("rows", "Labels down", "a whole number such as 10"))
                (text("pitch_x", "Left edge to left edge", "the width when empty: labels touch"))
                (text("pitch_y", "Top edge to top edge", "the height when empty: labels touch"))
                (text("margin_left", "Left margin", "in the middle when empty"))
                (text("margin_top", "Top margin", "in the middle when empty"))
                (text("corner", "Corner radius", "may stay empty"))
            }
            details open[filled.get("page") == "own" || problems.of("page_width").is_some() || problems.of("page_height").is_some()] {
                summary { "A page of another size" }
                div.fields {
                    (text("page_width", "Page, width", ""))
                    (text("page_height", "Page, height", ""))
                }
            }
            p.next {
                button.do type="submit" { "Keep it" }
                button.quiet type="submit" formmethod="get" { "Does it close?" }
            }
        }
    }
}

async fn printers(State(site): State<Site>) -> Response {
    site.run(|app| printers_page(app, &Filled::default(), &Problems::default()))
        .await
}

async fn measure(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| packing::measure_printer(app, WHO, filled),
        |_, _| Ok("/label/printers".to_owned()),
        printers_page,
    )
    .await
}

const PRINTERS: &str = "What does the printer do?";

fn printers_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let pages: Vec<(String, String)> = PageSize::ALL
            .into_iter()
            .map(|size| (size.name(), size.name()))
            .collect();
        let inset = show_mm(workshop, label::sheet::CALIBRATION_INSET_MM);
        let text = |name: &'static str, label: &'static str, hint: &'static str| {
            html! { (Field::text(name, label, filled.get(name)).hint(&example(workshop, hint)).draw(problems)) }
        };
        Ok(Page {
            title: PRINTERS.to_owned(),
            place: Place::Label,
            back: Some(("/label/stocks".to_owned(), "Label sheets".to_owned())),
            body: html! {
                (parts::question(PRINTERS))
                (parts::problems(problems))
                @if workshop.printers().next().is_none() {
                    p.empty { "Printers set a page down a little to one side, and some shrink it. Measured once, every label is moved back to where it belongs." }
                }
                ul.rows {
                    @for printer in workshop.printers() {
                        @let drift = printer.measured.drift().unwrap_or(label::sheet::Drift::NONE);
                        li {
                            span {
                                (parts::capital(&printer.name)) " " (packing::drift_words(workshop, &drift)) "."
                                br; span.soft.small { "Measured on " (parts::day(printer.day)) "." }
                                @if let Some(remark) = drift.remark() { p.note { (as_typed(workshop, remark)) } }
                            }
                        }
                    }
                }
                h2 { "Measure it" }
                p { "Print a page with a cross near each corner, " (inset) " from the edges, at full size. Lay a ruler on it and measure from the edge of the paper to the middle of the crosses; a bare figure is in millimetres." }
                @if packing::stocks_on_hand(workshop).next().is_some() {
                    p {
                        "That page, for: "
                        @for (nth, stock) in packing::stocks_on_hand(workshop).enumerate() {
                            @if nth > 0 { ", " }
                            a href={ "/label/calibration?stock=" (stock.id) } type="application/pdf" { (stock.name) }
                        }
                        "."
                    }
                } @else {
                    p { "It is drawn for a label sheet: " a href="/label/stocks" { "write one down first" } "." }
                }
                form.sheet method="post" action="/label/printers" {
                    (once::field())
                    div.fields {
                        (text("printer", "Which printer", "with its tray where that matters"))
                        (parts::select("printed_on", "Printed on", &page_or_usual(workshop, filled.get("printed_on")), &pages, "", problems))
                        (text("left", "Left edge to the left crosses", "about 20 mm"))
                        (text("right", "Left edge to the right crosses", "about 190 mm on A4"))
                        (text("top", "Top edge to the upper crosses", "about 20 mm"))
                        (text("bottom", "Top edge to the lower crosses", "about 277 mm on A4"))
                    }
                    p.next { button.do type="submit" { "Keep it" } }
                }
            },
        })
    })?
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 16 CFR 500.21(b): the least heights there are.
    #[test]
    fn the_least_heights_read_as_the_rule_writes_them() {
        for (inches, expected) in [
            (0.0625, "1/16"),
            (0.125, "1/8"),
            (0.1875, "3/16"),
            (0.25, "1/4"),
            (0.5, "1/2"),
        ] {
            let length = measure::Length::from_f64(inches, LengthUnit::Inch).unwrap();
            assert_eq!(fraction_of_inch(length), expected);
        }
    }
}
