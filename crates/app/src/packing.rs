//! What a good wraps in, the label sheets on hand, and the printers.

use label::fit::{Fit, Label, Room, fit, room};
use label::ruler::{Ruler, mm};
use label::sheet::{Drift, DriftInput, PageSize, Sheet, SheetInput};
use label::unit::{PanelRule, PrincipalPanel, ShapeGiven, ShapeInput, Solid};
use label::wrap::{Allowance, Cover, LabelSize, OVERLAP_MM, Plan, TUCK_MM, cut_words, label_sizes};
use measure::{Checker, Length, LengthUnit, Problems, System, Typed, figure};
use netweight::panel::{Panel, us_height};
use workshop::facts::{ProductId, StockId, WrapChoice};
use workshop::{LabelStock, Refusal, Workshop, decide};

use crate::forms::{Filled, as_typed};
use crate::{ActError, App, Done};

/// The words of the sizes of a shape, by field: the label of its box.
pub const SIZES: [(&str, &[(&str, &str)]); 7] = [
    (
        "box",
        &[
            ("length", "Length"),
            ("width", "Width"),
            ("height", "Thickness"),
        ],
    ),
    (
        "tapered bar",
        &[
            ("bottom_length", "Lower face, length"),
            ("bottom_width", "Lower face, width"),
            ("top_length", "Upper face, length"),
            ("top_width", "Upper face, width"),
            ("height", "Thickness"),
        ],
    ),
    (
        "cylinder",
        &[("diameter", "Diameter"), ("height", "Height")],
    ),
    (
        "jar",
        &[
            ("diameter", "Diameter"),
            ("height", "Height of the straight side"),
        ],
    ),
    (
        "tin",
        &[("diameter", "Diameter"), ("height", "Height of the side")],
    ),
    (
        "tumbler",
        &[
            ("bottom_diameter", "Diameter at the bottom"),
            ("top_diameter", "Diameter at the top"),
            ("height", "Height"),
        ],
    ),
    (
        "clamshell",
        &[
            ("width", "Width of the face"),
            ("height", "Height of the face"),
            ("depth", "Depth"),
            ("header", "Header it hangs by"),
        ],
    ),
];

/// How a length is read here: a bare figure is in millimetres or inches, as
/// the workshop's other figures are.
pub fn ruler(workshop: &Workshop) -> Ruler {
    Ruler {
        reading: workshop.reading(),
        bare: Some(match workshop.system() {
            System::Metric => LengthUnit::Millimetre,
            System::Us | System::Imperial => LengthUnit::Inch,
        }),
    }
}

/// Shows millimetres by the workshop's habits, with inches beside them where
/// it thinks in them.
pub fn show_mm(workshop: &Workshop, mm: f64) -> String {
    let metric = label::ruler::show(mm);
    as_typed(
        workshop,
        match workshop.system() {
            System::Metric => metric,
            System::Us | System::Imperial => format!("{} in ({metric})", figure(mm / 25.4, 2)),
        },
    )
}

fn shape_input(filled: &Filled) -> ShapeInput {
    let text = |name: &str| filled.some(name).map(str::to_owned);
    ShapeInput {
        kind: text("kind"),
        length: text("length"),
        width: text("width"),
        height: text("height"),
        bottom_length: text("bottom_length"),
        bottom_width: text("bottom_width"),
        top_length: text("top_length"),
        top_width: text("top_width"),
        diameter: text("diameter"),
        bottom_diameter: text("bottom_diameter"),
        top_diameter: text("top_diameter"),
        depth: text("depth"),
        header: text("header"),
    }
}

fn read_wrap(filled: &Filled, ruler: Ruler) -> Result<WrapChoice, Problems> {
    let mut check = Checker::default();
    let cover = check.optional("cover", filled.some("cover"), Cover::parse);
    let mut side = |field: &str, least: f64, most: f64| {
        check.optional(field, filled.some(field), |text| {
            ruler.between(text, least, most)
        })
    };
    let overlap = side("overlap", 0.0, 200.0);
    let tuck = side("tuck", 0.0, 200.0);
    let band = side("band", 3.0, 1_000.0);
    let stock_width = side("stock_width", 3.0, 2_000.0);
    let stock_length = side("stock_length", 3.0, 2_000_000.0);
    if stock_length.is_some() && filled.some("stock_width").is_none() {
        check.refuse(measure::Problem::new(
            "stock_width",
            "",
            "the width of the roll or sheet is missing",
            "give its width too",
        ));
    }
    check.finish()?;
    Ok(WrapChoice {
        cover: cover.unwrap_or(Cover::Full),
        overlap,
        tuck,
        band,
        stock_width,
        stock_length,
    })
}

/// Reads a shape and a wrap, with the problems of both.
fn read_pack(filled: &Filled, ruler: Ruler) -> Result<(ShapeGiven, WrapChoice), Problems> {
    match (shape_input(filled).read(ruler), read_wrap(filled, ruler)) {
        (Ok(shape), Ok(wrap)) => Ok((shape, wrap)),
        (shape, wrap) => {
            let mut problems = shape.err().unwrap_or_default();
            problems.0.extend(wrap.err().unwrap_or_default().0);
            Err(problems)
        }
    }
}

/// Writes down the shape of a good and how it is wrapped.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn set_pack(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let (shape, wrap) = read_pack(filled, ruler(workshop))?;
        decide::set_pack(workshop, product, shape, Some(wrap))
    })
}

/// Fills the form with what is known of the good.
#[must_use]
pub fn filled_with_known(workshop: &Workshop, product: ProductId, filled: Filled) -> Filled {
    let mut filled = filled;
    let known = workshop.shape(product);
    let kind = filled.get("kind").to_owned();
    if let Some(shape) = known.filter(|shape| kind.is_empty() || shape.name() == kind) {
        let input = ShapeInput::from(shape);
        let texts = [
            ("kind", &input.kind),
            ("length", &input.length),
            ("width", &input.width),
            ("height", &input.height),
            ("bottom_length", &input.bottom_length),
            ("bottom_width", &input.bottom_width),
            ("top_length", &input.top_length),
            ("top_width", &input.top_width),
            ("diameter", &input.diameter),
            ("bottom_diameter", &input.bottom_diameter),
            ("top_diameter", &input.top_diameter),
            ("depth", &input.depth),
            ("header", &input.header),
        ];
        for (name, text) in texts {
            if let Some(text) = text {
                filled = filled.or(name, as_typed(workshop, text));
            }
        }
    }
    if let Some(wrap) = workshop.wrap(product) {
        filled = filled.or("cover", wrap.cover.name());
        let texts = [
            ("overlap", &wrap.overlap),
            ("tuck", &wrap.tuck),
            ("band", &wrap.band),
            ("stock_width", &wrap.stock_width),
            ("stock_length", &wrap.stock_length),
        ];
        for (name, typed) in texts {
            if let Some(typed) = typed {
                filled = filled.or(name, as_typed(workshop, typed));
            }
        }
    }
    filled
}

/// What a good wraps in, with everything that follows.
#[derive(Debug, Clone)]
pub struct WrapAnswer {
    /// The unit in millimetres.
    pub solid: Solid,
    /// The sheet laid flat.
    pub plan: Plan,
    /// What was added to the bare faces.
    pub allowance: Allowance,
    /// The panel a buyer sees.
    pub principal: PrincipalPanel,
    /// The least height of letters on it in the United States.
    pub least_letter: Length,
    /// The lid, should it bear the statement, and the least height there.
    pub lid: Option<(PrincipalPanel, Length)>,
    /// The largest label for each cover.
    pub labels: [LabelSize; 3],
    /// The label sheets on hand and how their label lies on the front, and
    /// round the unit.
    pub stocks: Vec<StockFit>,
    /// What the roll or sheet gives, when one was named.
    pub cut: Option<String>,
    /// What to mind, and how it was found.
    pub told: label::wrap::Output,
}

/// How the label of a sheet on hand lies on a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct StockFit {
    /// Which sheet.
    pub id: StockId,
    /// What it is called.
    pub name: String,
    /// Its label.
    pub label: Label,
    /// On the front.
    pub front: Fit,
    /// The answer for the front in a sentence.
    pub on_front: String,
    /// Round the unit.
    pub round: Fit,
    /// The answer for the way round in a sentence.
    pub on_round: String,
}

/// Works out what a form describes; what was written down stands in where
/// nothing was typed.
///
/// # Errors
///
/// Every field that cannot be read.
pub fn wrap_answer(workshop: &Workshop, filled: &Filled) -> Result<WrapAnswer, Problems> {
    let (shape, wrap) = read_pack(filled, ruler(workshop))?;
    let solid = shape.solid();
    let length = |typed: &Option<Typed<Length>>| typed.as_ref().map(mm);
    let allowance = Allowance {
        overlap_mm: length(&wrap.overlap).unwrap_or(OVERLAP_MM),
        tuck_mm: length(&wrap.tuck).unwrap_or(TUCK_MM),
        end_fold_mm: None,
        band_mm: length(&wrap.band),
    };
    let plan = Plan::of(&solid, wrap.cover, &allowance);
    let text = |typed: &Option<Typed<Length>>| typed.as_ref().map(ToString::to_string);
    let told = label::wrap::calculate(&label::wrap::Input {
        shape: Some(ShapeInput::from(&shape)),
        cover: Some(wrap.cover.name().to_owned()),
        overlap: text(&wrap.overlap),
        tuck: text(&wrap.tuck),
        end_fold: None,
        band: text(&wrap.band),
        stock_width: text(&wrap.stock_width),
        stock_length: text(&wrap.stock_length),
    })?;
    let principal = solid.principal_panel();
    let cut =
        length(&wrap.stock_width).map(|width| cut_words(&plan, width, length(&wrap.stock_length)));
    Ok(WrapAnswer {
        least_letter: us_height(panel_of(principal), false),
        lid: solid
            .lid_panel()
            .map(|lid| (lid, us_height(panel_of(lid), false))),
        labels: label_sizes(&solid, &allowance),
        stocks: stocks_on_hand(workshop)
            .filter_map(|stock| stock_fit(stock, &solid))
            .collect(),
        principal,
        cut,
        solid,
        plan,
        allowance,
        told,
    })
}

/// The panel as the weight rules take it.
pub fn panel_of(principal: PrincipalPanel) -> Panel {
    match principal.rule {
        PanelRule::Side {
            width_mm,
            height_mm,
        } => Panel::Rectangle {
            height_mm,
            width_mm,
        },
        PanelRule::Round {
            diameter_mm,
            height_mm,
        } => Panel::Cylinder {
            height_mm,
            diameter_mm,
        },
        PanelRule::Lid { diameter_mm } => Panel::Disc { diameter_mm },
    }
}

/// The label sheets that are not used up.
pub fn stocks_on_hand(workshop: &Workshop) -> impl Iterator<Item = &LabelStock> {
    workshop
        .label_stocks()
        .filter(|stock| stock.retired.is_none())
}

fn stock_fit(stock: &LabelStock, solid: &Solid) -> Option<StockFit> {
    let sheet = stock.geometry.sheet().ok()?;
    let label = Label {
        width_mm: sheet.label_width_mm,
        height_mm: sheet.label_height_mm,
        outline: sheet.outline,
    };
    let on = |cover: Cover| -> (Fit, String) {
        let room: Room = room(solid, cover);
        let found = fit(&label, &room);
        (found, found.sentence(room.closes))
    };
    let (front, on_front) = on(Cover::Front);
    let (round, on_round) = on(Cover::Band);
    Some(StockFit {
        id: stock.id,
        name: stock.name.clone(),
        label,
        front,
        on_front,
        round,
        on_round,
    })
}

/// A sheet as the form describes it.
fn sheet_input(filled: &Filled) -> SheetInput {
    let text = |name: &str| filled.some(name).map(str::to_owned);
    SheetInput {
        page: text("page"),
        page_width: text("page_width"),
        page_height: text("page_height"),
        margin_left: text("margin_left"),
        margin_top: text("margin_top"),
        label_width: text("label_width"),
        label_height: text("label_height"),
        pitch_x: text("pitch_x"),
        pitch_y: text("pitch_y"),
        columns: text("columns"),
        rows: text("rows"),
        outline: text("outline"),
        corner: text("corner"),
    }
}

/// The sheet a form describes, to be looked at before it is kept.
///
/// # Errors
///
/// Every field that cannot be read and every rule that is broken.
pub fn sheet_of(workshop: &Workshop, filled: &Filled) -> Result<Sheet, Problems> {
    sheet_input(filled)
        .read(ruler(workshop))
        .map(|(_, sheet)| sheet)
}

/// Adds a kind of label sheet.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn add_stock(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        match sheet_input(filled).read(ruler(workshop)) {
            Ok((geometry, _)) => decide::add_stock(workshop, filled.get("stock_name"), geometry),
            Err(mut problems) => {
                if filled.get("stock_name").is_empty() {
                    let missing = measure::Problem::new(
                        "stock_name",
                        "",
                        "it is missing",
                        "write a word or two",
                    );
                    problems.0.insert(0, missing);
                }
                Err(Refusal::Input(problems))
            }
        }
    })
}

/// Takes a kind of label sheet off the list.
///
/// # Errors
///
/// [`ActError`] for one that is not there.
pub fn retire_stock(app: &App, who: &str, stock: StockId) -> Result<Done, ActError> {
    app.act(who, |workshop, _| decide::retire_stock(workshop, stock))
}

/// Writes down what was measured on a printer's calibration page. The form
/// names the page it was printed on.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn measure_printer(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let page = check.required("printed_on", Some(filled.get("printed_on")), PageSize::read);
        let side = |mm: f64| label::ruler::typed_mm(mm);
        let page = page.and_then(|(width, height)| side(width).zip(side(height)));
        let Some((width, height)) = page else {
            return Err(check.into_problems().into());
        };
        let text = |name: &str| filled.some(name).map(str::to_owned);
        let input = DriftInput {
            left: text("left"),
            right: text("right"),
            top: text("top"),
            bottom: text("bottom"),
        };
        // The page to measure by says its distances in millimetres.
        let in_mm = Ruler {
            bare: Some(LengthUnit::Millimetre),
            ..ruler(workshop)
        };
        let (measured, _) = input.read(&width, &height, in_mm)?;
        decide::measure_printer(workshop, filled.get("printer"), measured)
    })
}

/// What a printer does, in a sentence.
pub fn drift_words(workshop: &Workshop, drift: &Drift) -> String {
    let shift = |mm: f64, more: &str, less: &str| {
        if mm.abs() < 0.05 {
            String::new()
        } else {
            let way = if mm > 0.0 { more } else { less };
            format!("{} {way}", label::ruler::show(mm.abs()))
        }
    };
    // At the middle of the page a shift is what the eye sees.
    let shifts: Vec<String> = [
        shift(drift.dx_mm, "to the right", "to the left"),
        shift(drift.dy_mm, "down", "up"),
    ]
    .into_iter()
    .filter(|words| !words.is_empty())
    .collect();
    let stretch = |scale: f64| figure(scale * 100.0, 1);
    let moved = if shifts.is_empty() {
        "prints where it should".to_owned()
    } else {
        format!("prints {}", shifts.join(" and "))
    };
    as_typed(
        workshop,
        format!(
            "{moved}, at {} % across and {} % down",
            stretch(drift.scale_x),
            stretch(drift.scale_y)
        ),
    )
}
