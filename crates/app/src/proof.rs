//! Proofs of labels and the sheets they are printed on.
//!
//! A form is read into a [`Plan`] while the workshop is looked at; fitting,
//! which takes longer, comes after ([`Plan::fit`]), and needs the workshop no
//! more.

use std::sync::Arc;

use hazard::Language;
use jiff::civil::Date;
use label::check::{Check, Verdict};
use label::ruler::{Ruler, mm};
use label::sheet::{Drift, Outline, Sheet};
use label::wrap::{Allowance, Cover, OVERLAP_MM, TUCK_MM, label_sizes};
use measure::{Checker, LengthUnit, Problem, Problems, Unclear};
use netweight::panel::Panel;
use press::paper::kurbo::{Circle, Rect, Shape as _};
use press::paper::label::{
    FittedLabel, LabelError, Layout, Request, Shape, Side, fit as fit_label,
};
use press::paper::sheet::{Marks, calibration, labels};
use press::paper::{
    Colour, Document, Drawing, Face, Fonts, Made, Paint, PaperError, Pen, Tag, TextStyle, proof,
};
use workshop::facts::{DestinationId, HOME, LabelPart, PourId, ProductId, StockId};
use workshop::label::LabelState;
use workshop::{Workshop, decide, destination_name};

use crate::forms::Filled;
use crate::packing::{panel_of, ruler, stocks_on_hand};
use crate::wording::{Asked, Composed, Gap, PutRight, compose};
use crate::{ActError, App, Done, OpenError};

/// The words a form uses for what a label carries.
pub const PARTS: [(&str, Side); 3] = [
    ("whole", Side::Whole),
    ("front", Side::Front),
    ("back", Side::Back),
];

/// The words a form uses for the form of a label.
pub const SHAPES: [&str; 3] = ["rectangle", "round", "band"];

/// The second ink: the house's molten amber, dark enough for white letters.
const AMBER: Colour = Colour::new(0x8a, 0x46, 0x0c);
/// Nothing is printed nearer to the cut edge, mm: common practice, no source.
const SAFE_MM: f64 = 1.5;
/// Where no label sheet is on hand and no size was typed, mm: two and a half by
/// one and a half inches.
const USUAL_MM: (f64, f64) = (63.5, 38.1);
/// What is laid across a label that is not to be used.
const MARK: &str = "PROOF, NOT FOR SALE";
/// The most labels in one go.
const MOST_LABELS: u32 = 10_000;
/// The most different labels in one go.
const MOST_RUNS: usize = 20;

/// What a label is put on.
#[derive(Debug, Clone, PartialEq)]
pub enum Ground {
    /// A label sheet on hand.
    Stock {
        /// Which.
        id: StockId,
        /// What it is called.
        name: String,
        /// Its geometry.
        sheet: Sheet,
    },
    /// A size that was typed.
    Typed,
    /// Round the unit, by its wrap.
    Wrap,
}

/// A label to be fitted.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Whose, where to and which lot.
    pub asked: Asked,
    /// The good's name.
    pub name: String,
    /// What the destination is called.
    pub place: String,
    /// What stands on it.
    pub composed: Composed,
    /// What it is put on.
    pub ground: Ground,
    /// Size, side and layout.
    pub request: Request,
}

/// A label as fitted, with what is known of it.
#[derive(Debug, Clone)]
pub struct Proof {
    /// What was asked for.
    pub plan: Plan,
    /// What came of it.
    pub fitted: Result<Box<FittedLabel>, LabelError>,
}

/// Reads which label is meant, composes it and says what it is put on.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn plan(workshop: &Workshop, filled: &Filled, day: Date) -> Result<Plan, Problems> {
    let mut check = Checker::default();
    let product = check.required("product", Some(filled.get("product")), |text| {
        good_called(workshop, text)
    });
    let destination = check
        .optional("to", filled.some("to"), |text| {
            destination_called(workshop, text)
        })
        .unwrap_or(HOME);
    let lot = check.optional("lot", filled.some("lot"), |text| {
        let lot = lot_called(workshop, text)?;
        let is_of = |product| workshop.pour(lot).and_then(|pour| pour.product) == Some(product);
        if product.is_some_and(|product| !is_of(product)) {
            let wrong = "that lot is another good's";
            return Err(Unclear::new(text, wrong, "choose a lot of this good"));
        }
        Ok(lot)
    });
    let apart_cm = check.optional("apart", filled.some("apart"), |text| {
        // A bare figure is in centimetres, as on a care card and in the sentence.
        let in_cm = Ruler {
            bare: Some(LengthUnit::Centimetre),
            ..ruler(workshop)
        };
        let length = in_cm.between(text, 0.0, 2_000.0)?;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most two metres"
        )]
        Ok((mm(&length) / 10.0).ceil() as u16)
    });
    let side = check
        .optional("part", filled.some("part"), part)
        .unwrap_or(Side::Whole);
    let layout = check
        .optional("layout", filled.some("layout"), |text| {
            Layout::parse(text).ok_or_else(|| {
                let wrong = "there is no such layout";
                Unclear::new(text, wrong, "choose ledger, plate or ribbon")
            })
        })
        .unwrap_or(Layout::Ledger);
    let found = ground(workshop, product, side, filled, &mut check);
    let link = filled.get("link");
    if link.chars().count() > 300 {
        check.refuse(Problem::new(
            "link",
            "",
            "it is too long for a square that is still read",
            "use at most 300 letters",
        ));
    }
    let (Some(product), Some((ground, shape))) = (product, found) else {
        return Err(check.into_problems());
    };
    check.finish()?;
    let asked = Asked {
        product,
        destination,
        lot,
        apart_cm,
        e_mark: !filled.get("e_mark").is_empty(),
        link: link.to_owned(),
    };
    let own = workshop.shape(product).map(label::unit::ShapeGiven::solid);
    let panel = own.map_or_else(
        || panel_of_label(shape),
        |solid| panel_of(solid.principal_panel()),
    );
    let unknown = || Problem::new("product", "", "there is no such good", "choose one");
    let mut composed = compose(workshop, &asked, panel, day).ok_or_else(unknown)?;
    if own.is_none() && composed.wording.net_weight.is_some() {
        composed.gaps.push(Gap {
            what:
                "the good's shape is not measured, so the panel that the net weight's letters go \
                   by is taken to be the label"
                    .to_owned(),
            at: PutRight::Shape,
            stops: false,
        });
    }
    let good = workshop.product(product).ok_or_else(unknown)?;
    Ok(Plan {
        name: good.name.clone(),
        place: destination_name(workshop, destination),
        asked,
        composed,
        ground,
        request: Request {
            safe_mm: SAFE_MM,
            accent: (filled.get("ink") == "amber").then_some(AMBER),
            // The layout was chosen: another is offered, not put in its place.
            other_layouts: filled.get("layout").is_empty(),
            ..Request::new(shape, side, layout)
        },
    })
}

fn part(text: &str) -> Result<Side, Unclear> {
    let known = PARTS.iter().find(|(word, _)| *word == text);
    known.map(|(_, side)| *side).ok_or_else(|| {
        let wrong = "a label has no such part";
        Unclear::new(text, wrong, "choose whole, front or back")
    })
}

/// A good by its number or its name.
fn good_called(workshop: &Workshop, text: &str) -> Result<ProductId, Unclear> {
    let wanted = text.trim().to_lowercase();
    let by_number = wanted.parse().ok().and_then(|id| workshop.product(id));
    let by_name = || {
        let mut goods = workshop.products();
        goods.find(|good| good.name.to_lowercase() == wanted)
    };
    by_number
        .or_else(by_name)
        .map(|good| good.id)
        .ok_or_else(|| {
            let names: Vec<_> = workshop.products().map(|good| good.name.as_str()).collect();
            Unclear::new(text, "there is no such good", among(&names))
        })
}

fn among(names: &[&str]) -> String {
    match names {
        [] => "write one down first".to_owned(),
        few if few.len() <= 8 => format!("there are {}", few.join(", ")),
        [few @ .., _] => format!(
            "there are {} and more",
            few.get(..8).unwrap_or(few).join(", ")
        ),
    }
}

/// A lot by its code or its number.
fn lot_called(workshop: &Workshop, text: &str) -> Result<PourId, Unclear> {
    let wanted = text.trim();
    workshop
        .pours()
        .find(|pour| pour.lot == wanted)
        .or_else(|| workshop.pour(wanted.parse().ok()?))
        .map(|pour| pour.id)
        .ok_or_else(|| {
            let latest = workshop.pours().rev().take(8);
            let latest: Vec<_> = latest.map(|pour| pour.lot.as_str()).collect();
            Unclear::new(text, "there is no such lot", among(&latest))
        })
}

/// A destination by its number or its name.
fn destination_called(workshop: &Workshop, text: &str) -> Result<DestinationId, Unclear> {
    let wanted = text.trim().to_lowercase();
    if wanted == "0" {
        return Ok(HOME);
    }
    let mut known = workshop.destinations();
    known
        .find(|(id, details)| id.to_string() == wanted || details.name.to_lowercase() == wanted)
        .map(|(id, _)| id)
        .ok_or_else(|| {
            let known = workshop.destinations();
            let names: Vec<_> = known.map(|(_, details)| details.name.as_str()).collect();
            Unclear::new(text, "there is no such destination", among(&names))
        })
}

/// A label sheet by its number or its name.
fn stock_called(workshop: &Workshop, text: &str) -> Result<(StockId, String, Sheet), Unclear> {
    let wanted = text.trim().to_lowercase();
    let found = stocks_on_hand(workshop)
        .find(|stock| stock.id.to_string() == wanted || stock.name.to_lowercase() == wanted);
    let unknown = || {
        let names: Vec<_> = stocks_on_hand(workshop)
            .map(|stock| stock.name.as_str())
            .collect();
        Unclear::new(text, "there is no such label sheet on hand", among(&names))
    };
    let stock = found.ok_or_else(unknown)?;
    let sheet = stock.geometry.sheet().map_err(|_| unknown())?;
    Ok((stock.id, stock.name.clone(), sheet))
}

/// What a label is put on, and its form.
fn ground(
    workshop: &Workshop,
    product: Option<ProductId>,
    side: Side,
    filled: &Filled,
    check: &mut Checker,
) -> Option<(Ground, Shape)> {
    let front = |check: &mut Checker, width_mm: f64| {
        let typed = check.optional("front", filled.some("front"), |text| {
            ruler(workshop).between(text, 5.0, width_mm)
        });
        typed.as_ref().map_or(width_mm / 3.0, mm)
    };
    let stock = filled.some("stock").filter(|text| *text != "typed");
    if let Some(text) = stock.filter(|text| *text != "wrap") {
        let (id, name, sheet) = check.keep("stock", stock_called(workshop, text))?;
        return Some((Ground::Stock { id, name, sheet }, shape_on(&sheet, side)));
    }
    if stock == Some("wrap") {
        let solid = product
            .and_then(|product| workshop.shape(product))
            .map(label::unit::ShapeGiven::solid);
        let Some(solid) = solid else {
            check.refuse(Problem::new(
                "stock",
                "wrap",
                "the good's shape is not measured",
                "measure it first, or choose a size",
            ));
            return None;
        };
        let allowance = Allowance {
            overlap_mm: OVERLAP_MM,
            tuck_mm: TUCK_MM,
            end_fold_mm: None,
            band_mm: None,
        };
        let sizes = label_sizes(&solid, &allowance);
        let band = sizes.iter().find(|size| size.cover == Cover::Band)?;
        let principal = panel_of(solid.principal_panel());
        let width = match principal {
            Panel::Rectangle { width_mm, .. } => width_mm,
            _ => band.width_mm / 3.0,
        };
        // Bands lie along their length.
        let (long, high) = (
            band.width_mm.max(band.height_mm),
            band.width_mm.min(band.height_mm),
        );
        let shape = Shape::Band {
            width_mm: long,
            height_mm: high,
            front_mm: width.min(long),
        };
        return Some((Ground::Wrap, shape));
    }
    let is_typed = ["width", "height", "shape"]
        .iter()
        .any(|field| filled.some(field).is_some());
    if !is_typed && stock.is_none() && filled.get("stock") != "typed" {
        if let Some(first) = stocks_on_hand(workshop).next()
            && let Ok(sheet) = first.geometry.sheet()
        {
            let ground = Ground::Stock {
                id: first.id,
                name: first.name.clone(),
                sheet,
            };
            return Some((ground, shape_on(&sheet, side)));
        }
        let (width_mm, height_mm) = USUAL_MM;
        let shape = Shape::Rectangle {
            width_mm,
            height_mm,
            corner_mm: 2.0,
        };
        return Some((Ground::Typed, shape));
    }
    let length = |text: &str| ruler(workshop).between(text, 10.0, 600.0);
    let width = check.required("width", Some(filled.get("width")), length);
    let shape = filled.get("shape");
    if !shape.is_empty() && !SHAPES.contains(&shape) {
        check.refuse(Problem::new(
            "shape",
            shape,
            "no label has that form here",
            "choose rectangle, round or band",
        ));
        return None;
    }
    if shape == "round" {
        let diameter_mm = mm(&width?);
        return Some((Ground::Typed, Shape::Round { diameter_mm }));
    }
    let height = check.required("height", Some(filled.get("height")), length);
    let (width_mm, height_mm) = (mm(&width?), mm(&height?));
    if shape == "band" {
        let front_mm = front(check, width_mm);
        let shape = Shape::Band {
            width_mm,
            height_mm,
            front_mm,
        };
        return Some((Ground::Typed, shape));
    }
    let corner = check.optional("corner", filled.some("corner"), |text| {
        ruler(workshop).between(text, 0.0, width_mm.min(height_mm) / 2.0)
    });
    let shape = Shape::Rectangle {
        width_mm,
        height_mm,
        corner_mm: corner.as_ref().map_or(0.0, mm),
    };
    Some((Ground::Typed, shape))
}

/// The form of a label that lies on a sheet.
fn shape_on(sheet: &Sheet, side: Side) -> Shape {
    let (width_mm, height_mm) = (sheet.label_width_mm, sheet.label_height_mm);
    match sheet.outline {
        Outline::Round => Shape::Round {
            diameter_mm: width_mm,
        },
        // What stands on an oval keeps within a rectangle in its middle.
        Outline::Oval => {
            let (_, _, width_mm, height_mm) = sheet.text_box_mm(0.0);
            Shape::Rectangle {
                width_mm,
                height_mm,
                corner_mm: 0.0,
            }
        }
        Outline::Rectangle { .. } if side == Side::Whole && width_mm >= 4.5 * height_mm => {
            Shape::Band {
                width_mm,
                height_mm,
                front_mm: width_mm / 3.0,
            }
        }
        Outline::Rectangle { corner_mm } => Shape::Rectangle {
            width_mm,
            height_mm,
            corner_mm,
        },
    }
}

const fn panel_of_label(shape: Shape) -> Panel {
    match shape {
        Shape::Rectangle {
            width_mm,
            height_mm,
            ..
        } => Panel::Rectangle {
            height_mm,
            width_mm,
        },
        Shape::Round { diameter_mm } => Panel::Disc { diameter_mm },
        Shape::Band {
            height_mm,
            front_mm,
            ..
        } => Panel::Rectangle {
            height_mm,
            width_mm: front_mm,
        },
    }
}

impl Plan {
    /// Fits the label.
    pub fn fit(self) -> Proof {
        let fitted = fit_label(&Fonts::new(), &self.composed.wording, &self.request);
        Proof {
            fitted: fitted.map(Box::new),
            plan: self,
        }
    }
}

impl Proof {
    /// Why it is not to be put on goods, in plain words; empty when it may be.
    pub fn why_not(&self) -> Vec<String> {
        let gaps = self.plan.composed.gaps.iter();
        let mut why: Vec<String> = gaps
            .filter(|gap| gap.stops)
            .map(|gap| gap.what.clone())
            .collect();
        match &self.fitted {
            Err(error) => why.push(error.to_string()),
            Ok(fitted) => why.extend(
                fitted
                    .checks
                    .iter()
                    .filter(|check| check.verdict == Verdict::Fail)
                    .filter(|check| !self.is_named(check))
                    .map(|check| format!("{}: {}, {}", check.rule, check.measured, check.required)),
            ),
        }
        why
    }

    /// Whether what a line of the checklist misses stands among the gaps already.
    fn is_named(&self, check: &Check) -> bool {
        let missed = check.rule.strip_prefix("On the label: ");
        let mut gaps = self.plan.composed.gaps.iter().filter(|gap| gap.stops);
        missed.is_some_and(|missed| gaps.any(|gap| gap.what.contains(missed)))
    }

    /// Whether it may be put on goods.
    pub fn is_ready(&self) -> bool {
        let state = self.plan.composed.state;
        matches!(state, LabelState::Ready | LabelState::NotAsked) && self.why_not().is_empty()
    }

    /// The label as it can be drawn: whole, or what of it fits.
    pub fn label(&self) -> Option<&FittedLabel> {
        match &self.fitted {
            Ok(fitted) => Some(fitted),
            Err(LabelError::NoFit(no)) => no.best.as_deref(),
            Err(_) => None,
        }
    }

    /// The checklist; empty where nothing can be drawn.
    pub fn checks(&self) -> &[Check] {
        self.label().map_or(&[], |label| label.checks.as_slice())
    }

    /// The label as it is printed, marked across where it is not to be used.
    pub fn printed(&self) -> Option<Drawing> {
        let label = self.label()?;
        Some(if self.is_ready() {
            label.drawing.clone()
        } else {
            proof::across(&Fonts::new(), Arc::new(label.drawing.clone()), MARK)
        })
    }

    /// A picture of the label on its outline.
    ///
    /// # Errors
    ///
    /// [`PaperError::Missing`] for a character no typeface has.
    pub fn svg(&self) -> Result<Option<String>, PaperError> {
        let Some(label) = self.printed() else {
            return Ok(None);
        };
        let mut drawing = Drawing::new(label.width_mm, label.height_mm);
        // What the mark across it draws past the edge falls off with the knife.
        let (knife, edge) = match self.plan.request.shape {
            Shape::Round { diameter_mm } => {
                let middle = diameter_mm / 2.0;
                let round = |radius| Circle::new((middle, middle), radius).to_path(0.001);
                (round(middle), round(middle - 0.1))
            }
            shape => {
                let (wide, high) = shape.size_mm();
                let corner_mm = match shape {
                    Shape::Rectangle { corner_mm, .. } => corner_mm,
                    _ => 0.0,
                };
                let inside = |by| {
                    Rect::new(by, by, wide - by, high - by)
                        .to_rounded_rect(corner_mm)
                        .to_path(0.001)
                };
                (inside(0.0), inside(0.1))
            }
        };
        drawing.clipped(0.0, 0.0, knife, label);
        let grey = Pen::new(0.15).inked(Colour::grey(0xb4));
        drawing.path(edge, Paint::pen(grey));
        let title = format!("{}, label for {}", self.plan.name, self.plan.place);
        let language = self.plan.composed.wording.lead().tag();
        drawing.svg(&title, language).map(Some)
    }

    /// Its version in words.
    pub fn version(&self) -> String {
        let composed = &self.plan.composed;
        let day = |day: Date| day.strftime("%-d %b %Y").to_string();
        match (composed.state, composed.since) {
            (LabelState::Ready, Some(since)) => {
                format!(
                    "Version {}, marked ready on {}",
                    composed.version,
                    day(since)
                )
            }
            (LabelState::NotAsked, _) => {
                "No label by CLP is asked for there; other rules on hazards may be".to_owned()
            }
            (_, Some(since)) => format!(
                "Will be version {}; version {} of {} no longer fits",
                composed.version.saturating_add(1),
                composed.version,
                day(since)
            ),
            (_, None) => format!(
                "Will be version {}; not marked ready yet",
                composed.version.saturating_add(1)
            ),
        }
    }
}

/// Labels to be put on sheets.
#[derive(Debug, Clone)]
pub struct JobPlan {
    /// The label sheet.
    pub stock: StockId,
    /// What it is called.
    pub stock_name: String,
    /// Its geometry.
    pub sheet: Sheet,
    /// The first place that is still on the first sheet, from 1.
    pub start: u32,
    /// What the printer does.
    pub drift: Drift,
    /// Whether short lines show where to cut.
    pub cut: bool,
    /// Each label with how many of it.
    pub runs: Vec<(Plan, u32)>,
    made: Made,
}

/// Fitted labels on their sheets.
#[derive(Debug, Clone)]
pub struct Job {
    /// The label sheet.
    pub stock: StockId,
    /// What it is called.
    pub stock_name: String,
    /// Its geometry.
    pub sheet: Sheet,
    /// The first place that is still on the first sheet, from 1.
    pub start: u32,
    /// Each label with how many of it.
    pub runs: Vec<(Proof, u32)>,
    drift: Drift,
    cut: bool,
    made: Made,
}

/// Reads which labels go on which sheets. A run is `run[0].product`,
/// `run[0].lot`, `run[0].to`, `run[0].part` and `run[0].count`; without any,
/// the same names without the brackets are one run.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn job(workshop: &Workshop, filled: &Filled, day: Date) -> Result<JobPlan, Problems> {
    let mut check = Checker::default();
    let stock = if let Some(text) = filled.some("stock") {
        check.keep("stock", stock_called(workshop, text))
    } else {
        let first = stocks_on_hand(workshop).next();
        let first = first.and_then(|stock| {
            let sheet = stock.geometry.sheet().ok()?;
            Some((stock.id, stock.name.clone(), sheet))
        });
        if first.is_none() {
            let wrong = "no label sheet is on hand";
            check.refuse(Problem::new("stock", "", wrong, "write one down first"));
        }
        first
    };
    // Without a sheet nobody knows its places; that problem is told already.
    let most = stock
        .as_ref()
        .map_or(u32::MAX, |(_, _, sheet)| sheet.per_page());
    let start = check
        .optional("start", filled.some("start"), |text| {
            let place = text.parse().ok().filter(|n| (1..=most).contains(n));
            place.ok_or_else(|| {
                let wrong = "there is no such place on the sheet";
                Unclear::new(
                    text,
                    wrong,
                    format!("write a whole number from 1 to {most}"),
                )
            })
        })
        .unwrap_or(1);
    let drift = check
        .optional("printer", filled.some("printer"), |text| {
            let known = workshop.printer(text);
            known
                .and_then(|printer| printer.measured.drift().ok())
                .ok_or_else(|| {
                    let names: Vec<_> = workshop
                        .printers()
                        .map(|printer| printer.name.as_str())
                        .collect();
                    Unclear::new(text, "that printer was not measured", among(&names))
                })
        })
        .unwrap_or(Drift::NONE);
    let lines = filled.lines("run");
    let stems: Vec<String> = if lines == 0 {
        vec![String::new()]
    } else {
        (0..lines.min(MOST_RUNS))
            .map(|nth| format!("run[{nth}]."))
            .collect()
    };
    let mut runs = Vec::new();
    let mut sum = 0_u32;
    for stem in &stems {
        let field = |name: &str| format!("{stem}{name}");
        // A line without a good, or with none of it, is not filled in.
        if !stem.is_empty()
            && (filled.some(&field("product")).is_none() || filled.get(&field("count")) == "0")
        {
            continue;
        }
        let count = check.required(&field("count"), Some(filled.get(&field("count"))), |text| {
            let count = text.parse().ok().filter(|n| (1..=MOST_LABELS).contains(n));
            count.ok_or_else(|| {
                let wrong = "that is no number of labels";
                let accepted = format!("write a whole number from 1 to {MOST_LABELS}");
                Unclear::new(text, wrong, accepted)
            })
        });
        let mut own = Filled::default();
        for name in ["product", "lot", "to", "part"] {
            own = own.with(name, filled.get(&field(name)));
        }
        for name in ["layout", "ink", "e_mark", "apart", "link"] {
            own = own.with(name, filled.get(name));
        }
        if let Some((id, ..)) = &stock {
            own = own.with("stock", id.to_string());
        }
        match plan(workshop, &own, day) {
            Ok(plan) => runs.extend(count.map(|count| (plan, count))),
            Err(problems) => {
                for problem in problems.0 {
                    let shared = ["layout", "ink", "e_mark", "apart", "link", "stock"];
                    let name = if shared.contains(&problem.field.as_str()) {
                        problem.field.clone()
                    } else {
                        field(&problem.field)
                    };
                    check.refuse(Problem {
                        field: name,
                        ..problem
                    });
                }
            }
        }
        sum = sum.saturating_add(count.unwrap_or(0));
    }
    if sum > MOST_LABELS {
        check.refuse(Problem::new(
            "count",
            sum.to_string(),
            "that is more than anyone prints in one go",
            format!("print at most {MOST_LABELS} at a time"),
        ));
    }
    check.finish()?;
    let (Some((id, name, sheet)), false) = (stock, runs.is_empty()) else {
        let wrong = "nothing is chosen to print";
        return Err(Problem::new("product", "", wrong, "choose a good and how many").into());
    };
    Ok(JobPlan {
        stock: id,
        stock_name: name,
        sheet,
        start,
        drift,
        cut: !filled.get("cut").is_empty(),
        runs,
        made: made(day),
    })
}

impl JobPlan {
    /// Fits every label, each different one once.
    pub fn fit(self) -> Job {
        let mut runs: Vec<(Proof, u32)> = Vec::new();
        for (plan, count) in self.runs {
            let same = |(proof, _): &&(Proof, u32)| {
                proof.plan.asked == plan.asked && proof.plan.request == plan.request
            };
            let known = runs.iter().find(same).map(|(proof, _)| proof.clone());
            runs.push((known.unwrap_or_else(|| plan.fit()), count));
        }
        Job {
            stock: self.stock,
            stock_name: self.stock_name,
            sheet: self.sheet,
            start: self.start,
            runs,
            drift: self.drift,
            cut: self.cut,
            made: self.made,
        }
    }
}

impl Job {
    /// How many labels in all.
    pub fn labels(&self) -> u64 {
        self.runs.iter().map(|(_, count)| u64::from(*count)).sum()
    }

    /// How many sheets they take.
    pub fn sheets(&self) -> u64 {
        self.sheet.pages_for(self.labels(), self.start)
    }

    /// The first place that is left on the last sheet, from 1; none where it is
    /// used up.
    pub fn next_place(&self) -> Option<u32> {
        let per_page = u64::from(self.sheet.per_page().max(1));
        let used = (u64::from(self.start) - 1 + self.labels()) % per_page;
        (used > 0).then(|| u32::try_from(used + 1).unwrap_or(1))
    }

    /// Whether every label may be put on goods.
    pub fn is_ready(&self) -> bool {
        self.runs.iter().all(|(proof, _)| proof.is_ready())
    }

    /// The sheets, ready to be written as a file.
    ///
    /// # Errors
    ///
    /// What cannot be printed, in words: a label of which nothing fits, or more
    /// sheets than anyone prints.
    pub fn document(&self) -> Result<Document, Problems> {
        let mut drawings = Vec::new();
        for (proof, count) in &self.runs {
            let Some(drawing) = proof.printed() else {
                let why = proof.why_not().join("; ");
                let accepted = "look at the label first";
                return Err(Problem::new("product", &proof.plan.name, why, accepted).into());
            };
            drawings.push((Arc::new(drawing), *count));
        }
        let marks = Marks {
            cut: self.cut,
            ..Marks::default()
        };
        let mut pages = labels(&self.sheet, &drawings, self.start, self.drift, marks)
            .map_err(|error| unprintable(&error))?;
        let words = self.words();
        if !words.is_empty() {
            for page in &mut pages {
                note(&self.sheet, &words, page);
            }
        }
        let names: Vec<_> = self
            .runs
            .iter()
            .map(|(proof, _)| proof.plan.name.as_str())
            .collect();
        let language = self
            .runs
            .first()
            .map_or("en", |(proof, _)| proof.plan.composed.wording.lead().tag());
        let mut document =
            Document::new(format!("Labels: {}", names.join(", ")), language, self.made);
        document.pages = pages;
        Ok(document)
    }

    /// What stands on the paper beside labels that are not to be used.
    fn words(&self) -> String {
        let mut names: Vec<&str> = Vec::new();
        for (proof, _) in self.runs.iter().filter(|(proof, _)| !proof.is_ready()) {
            if !names.contains(&proof.plan.name.as_str()) {
                names.push(&proof.plan.name);
            }
        }
        if names.is_empty() {
            String::new()
        } else {
            format!("Proof only, not for sale: {}", names.join(", "))
        }
    }
}

/// Writes words where the paper has room beside the labels; on paper that is
/// all labels there is none, and the mark across them has to do.
fn note(sheet: &Sheet, words: &str, page: &mut Drawing) {
    const NEED_MM: f64 = 7.0;
    let below = sheet.margin_bottom_mm();
    let (top, room) = if below >= NEED_MM {
        (sheet.page_height_mm - below, below)
    } else if sheet.margin_top_mm >= NEED_MM {
        (0.0, sheet.margin_top_mm)
    } else {
        return;
    };
    let wide = sheet.page_width_mm - 2.0 * 12.0;
    if wide < 20.0 {
        return;
    }
    let style = TextStyle::new(Face::SansBold, 2.8);
    let set = Fonts::new().set(words, &style, wide);
    let high = set.height_mm();
    if high > room - 2.0 {
        return;
    }
    page.text(12.0, top + (room - high) / 2.0, set, Tag::Paragraph);
}

/// What is printed on label sheets: a name, what it wants, what it is for.
pub const DOCUMENTS: [(&str, &str, &str); 2] = [
    (
        "labels",
        "a product, a label sheet",
        "Labels of a good on a label sheet, from any place on.",
    ),
    (
        "calibration",
        "a label sheet",
        "What does this printer do to a label sheet? To measure once.",
    ),
];

/// A document with what is to be said of it, or why there is none.
pub type Drawn = Result<(Document, String), Problems>;

/// Draws one of [`DOCUMENTS`] by its name, with what is to be said of it; none
/// for another name.
///
/// # Errors
///
/// The journal could not be read; inside, a problem for every field that
/// cannot be, and what cannot be printed.
pub fn document(app: &App, name: &str, filled: &Filled) -> Result<Option<Drawn>, OpenError> {
    let day = app.today();
    Ok(match name {
        "labels" => {
            let plan = app.look(|workshop| job(workshop, filled, day))?;
            Some(plan.map(JobPlan::fit).and_then(|job| {
                let mut words = match job.next_place() {
                    Some(place) => {
                        format!("Places from {place} on stay free on the last sheet.")
                    }
                    None => "The last sheet is used up.".to_owned(),
                };
                for (proof, _) in job.runs.iter().filter(|(proof, _)| !proof.is_ready()) {
                    words = format!("{words}\nProof, not for sale: {}.", proof.plan.name);
                    for why in proof.why_not() {
                        words = format!("{words}\n  {why}");
                    }
                }
                Ok((job.document()?, words))
            }))
        }
        "calibration" => {
            let made = app.look(|workshop| calibration_page(workshop, filled, day))?;
            let words = "Print it at actual size and measure from the edges of the paper.";
            Some(made.map(|document| (document, words.to_owned())))
        }
        _ => None,
    })
}

/// The page that shows what a printer does to a label sheet.
///
/// # Errors
///
/// A problem where there is no such sheet.
pub fn calibration_page(
    workshop: &Workshop,
    filled: &Filled,
    day: Date,
) -> Result<Document, Problems> {
    let mut check = Checker::default();
    let stock = check.required("stock", Some(filled.get("stock")), |text| {
        stock_called(workshop, text)
    });
    let Some((_, name, sheet)) = stock else {
        return Err(check.into_problems());
    };
    let mut document = Document::new(format!("Calibration page: {name}"), "en", made(day));
    document.pages = vec![calibration(&Fonts::new(), &sheet)];
    Ok(document)
}

/// Turns what cannot be printed into a problem.
fn unprintable(error: &PaperError) -> Problems {
    let given = match error {
        PaperError::Missing { text, .. } => text.clone(),
        _ => String::new(),
    };
    Problem::new(
        "product",
        given,
        error.to_string(),
        "look at the label first",
    )
    .into()
}

/// Writes down that the labels of a form were printed.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read, and for
/// labels that are not to be used.
pub fn note_printed(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    let day = app.today();
    let job = app
        .look(|workshop| job(workshop, filled, day))?
        .map_err(workshop::Refusal::Input)?
        .fit();
    let proofs: Vec<_> = job
        .runs
        .iter()
        .filter(|(proof, _)| !proof.is_ready())
        .map(|(proof, _)| {
            Problem::new(
                "",
                &proof.plan.name,
                format!("the label of {} is a proof, not for sale", proof.plan.name),
                "see to what stands in its way first",
            )
        })
        .collect();
    if !proofs.is_empty() {
        return Err(workshop::Refusal::Input(Problems(proofs)).into());
    }
    app.act(who, |workshop, _| {
        let mut facts = Vec::new();
        for (proof, count) in &job.runs {
            let part = match proof.plan.request.side {
                Side::Whole => LabelPart::Whole,
                Side::Front => LabelPart::Front,
                Side::Back => LabelPart::Back,
            };
            let asked = &proof.plan.asked;
            facts.extend(decide::note_printed(
                workshop,
                asked.product,
                asked.lot,
                asked.destination,
                part,
                *count,
            )?);
        }
        Ok(facts)
    })
}

/// The day a file says it was made on.
fn made(day: Date) -> Made {
    Made {
        year: u16::try_from(day.year()).unwrap_or(0),
        month: u8::try_from(day.month()).unwrap_or(1),
        day: u8::try_from(day.day()).unwrap_or(1),
    }
}

/// Reads what a label carries that goes to a destination of its own.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_destination(
    app: &App,
    who: &str,
    destination: DestinationId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let ticked = |name: &'static str| {
            filled
                .pairs()
                .iter()
                .filter(move |(known, _)| known == name)
                .map(|(_, text)| text.as_str())
        };
        let details = workshop::facts::Destination {
            name: filled.get("destination_name").to_owned(),
            settings: workshop::facts::LabelSettings {
                markets: ticked("market")
                    .filter_map(|text| {
                        let known = crate::labels::MARKETS;
                        let known = known.iter().find(|(word, _)| *word == text);
                        known.map(|(_, market)| *market)
                    })
                    .collect(),
                languages: ticked("language").filter_map(Language::of_code).collect(),
                name: filled.get("supplier_name").to_owned(),
                address: filled.get("address").to_owned(),
                phone: filled.get("phone").to_owned(),
                vat: filled.get("vat").to_owned(),
            },
            responsible: filled.get("responsible").to_owned(),
            emergency: filled.get("emergency").to_owned(),
            marks: filled.get("marks").lines().map(str::to_owned).collect(),
            link: filled.get("link").to_owned(),
        };
        decide::settle_destination(workshop, destination, details)
    })
}
