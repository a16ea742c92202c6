//! The calculation `wrap`.

use measure::{Checker, Problem, Problems, Working, figure};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    Allowance, Cover, GAPE_MM, INSET_MM, OVERLAP_MM, PanelName, Plan, TUCK_MM, label_sizes,
};
use crate::nest::{nest_roll, nest_sheet};
use crate::ruler::{Ruler, mm, show, show_size};
use crate::unit::{Shape, ShapeInput, Solid};

const MOST_MM: f64 = 2_000.0;
/// The longest roll anyone buys, mm.
const MOST_ROLL_MM: f64 = 2_000_000.0;

const GEOMETRY: &str = "the unit laid flat, face by face";
const PRACTICE: &str = "common practice, no source";

/// A unit and how it is to be covered.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The unit.
    #[serde(default)]
    pub shape: Option<ShapeInput>,
    /// `full`, `band` or `front`; left out, full.
    #[serde(default)]
    pub cover: Option<String>,
    /// Overlap at the seam; left out, 10 mm.
    #[serde(default)]
    pub overlap: Option<String>,
    /// How far end flaps go past the middle of the end; left out, 5 mm.
    #[serde(default)]
    pub tuck: Option<String>,
    /// How far the sheet reaches past each end; left out, half the end and
    /// the tuck.
    #[serde(default)]
    pub end_fold: Option<String>,
    /// Width of a band; left out, half the unit.
    #[serde(default)]
    pub band: Option<String>,
    /// Width of the roll or sheet it is cut from.
    #[serde(default)]
    pub stock_width: Option<String>,
    /// Length of the roll or height of the sheet; left out, an endless roll.
    #[serde(default)]
    pub stock_length: Option<String>,
}

/// The sheet to cut, and what it does.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Width and height of the sheet to cut.
    pub sheet: String,
    /// Its width in millimetres.
    pub sheet_width_mm: f64,
    /// Its height in millimetres.
    pub sheet_height_mm: f64,
    /// Once round the unit in millimetres, without the overlap.
    pub round_mm: f64,
    /// The overlap at the seam in millimetres.
    pub overlap_mm: f64,
    /// How far it reaches past each end, in millimetres.
    pub end_fold_mm: f64,
    /// The faces that result, with their sizes.
    pub panels: Vec<PanelOutput>,
    /// Every line it is folded along, from and to, in millimetres.
    pub folds: Vec<FoldOutput>,
    /// The curve to cut, for a tapered round side: radius of both edges in
    /// millimetres and the angle in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arc: Option<[f64; 3]>,
    /// The panel a buyer sees.
    pub principal_panel: PrincipalOutput,
    /// The lid, should it bear the statement instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lid_panel: Option<PrincipalOutput>,
    /// The largest label for each cover.
    pub labels: Vec<LabelOutput>,
    /// What the roll or sheet gives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<CutOutput>,
    /// What to mind.
    pub notes: Vec<String>,
    /// How it was found.
    pub working: Working,
}

/// One face as it lies on the sheet.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct PanelOutput {
    /// `front`, `back`, `side`, `end flap` or `overlap`.
    pub name: String,
    /// How many of them there are.
    pub n: usize,
    /// Width and height of the rectangle round one.
    pub size: String,
    /// Width in millimetres.
    pub width_mm: f64,
    /// Height in millimetres.
    pub height_mm: f64,
    /// Its corners on the sheet, in millimetres, each one's.
    pub corners: Vec<Vec<(f64, f64)>>,
}

/// One fold.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct FoldOutput {
    /// `edge`, `crease` or `seam`.
    pub kind: String,
    /// One end, in millimetres.
    pub from: (f64, f64),
    /// The other end, in millimetres.
    pub to: (f64, f64),
}

/// The panel a buyer sees.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct PrincipalOutput {
    /// Its area in square millimetres.
    pub area_mm2: f64,
    /// The same in square inches.
    pub area_in2: f64,
    /// Which part it is and how it was measured.
    pub what: String,
}

/// A size of label.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct LabelOutput {
    /// `full`, `band` or `front`.
    pub cover: String,
    /// Width and height.
    pub size: String,
    /// Width in millimetres.
    pub width_mm: f64,
    /// Height in millimetres.
    pub height_mm: f64,
}

/// What a roll or a sheet gives.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct CutOutput {
    /// Wraps, when the stock has an end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
    /// Wraps in a metre of a roll.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_metre: Option<f64>,
    /// What is left over, in percent.
    pub waste_percent: f64,
    /// The answer in a sentence.
    pub answer: String,
}

/// Answers `wrap`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Ruler::PLAIN)
}

/// Answers `wrap` for lengths typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, ruler: Ruler) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let shape = if let Some(shape) = &input.shape {
        match shape.read(ruler) {
            Ok(shape) => Some(shape.solid()),
            Err(problems) => {
                for problem in problems.0 {
                    check.refuse(Problem {
                        field: format!("shape.{}", problem.field),
                        ..problem
                    });
                }
                None
            }
        }
    } else {
        check.refuse(Problem::new(
            "shape",
            "",
            "the unit is missing",
            "give its kind and sizes",
        ));
        None
    };
    let cover = check.optional("cover", input.cover.as_deref(), Cover::parse);
    let mut side = |field: &str, text: &Option<String>, least: f64, most: f64| {
        ruler
            .optional(&mut check, field, text.as_deref(), least, most)
            .map(|typed| mm(&typed))
    };
    let overlap = side("overlap", &input.overlap, 0.0, 200.0);
    let tuck = side("tuck", &input.tuck, 0.0, 200.0);
    let end_fold = side("end_fold", &input.end_fold, 0.0, 500.0);
    let band = side("band", &input.band, 3.0, MOST_MM);
    let stock_width = side("stock_width", &input.stock_width, 3.0, MOST_MM);
    let stock_length = side("stock_length", &input.stock_length, 3.0, MOST_ROLL_MM);
    if stock_length.is_some() && stock_width.is_none() && check.is_clean() {
        check.refuse(Problem::new(
            "stock_width",
            "",
            "the width of the roll or sheet is missing",
            "give its width too, such as 500 mm",
        ));
    }
    let (Some(solid), true) = (shape, check.is_clean()) else {
        return Err(check.into_problems());
    };
    let allowance = Allowance {
        overlap_mm: overlap.unwrap_or(OVERLAP_MM),
        tuck_mm: tuck.unwrap_or(TUCK_MM),
        end_fold_mm: end_fold,
        band_mm: band,
    };
    let plan = Plan::of(&solid, cover.unwrap_or(Cover::Full), &allowance);
    let stock = stock_width.map(|width| (width, stock_length));
    Ok(answer(&solid, &plan, &allowance, stock))
}

fn answer(
    solid: &Solid,
    plan: &Plan,
    allowance: &Allowance,
    stock: Option<(f64, Option<f64>)>,
) -> Output {
    let principal = |panel: crate::unit::PrincipalPanel| PrincipalOutput {
        area_mm2: panel.area_mm2,
        area_in2: panel.area_in2(),
        what: panel.rule.to_string(),
    };
    Output {
        sheet: show_size(plan.width_mm, plan.height_mm),
        sheet_width_mm: plan.width_mm,
        sheet_height_mm: plan.height_mm,
        round_mm: plan.round_mm,
        overlap_mm: plan.overlap_mm,
        end_fold_mm: plan.end_fold_mm,
        panels: panels(plan),
        folds: plan
            .folds
            .iter()
            .map(|fold| FoldOutput {
                kind: fold.kind.to_string(),
                from: fold.from,
                to: fold.to,
            })
            .collect(),
        arc: plan
            .arc
            .map(|arc| [arc.outer_mm, arc.inner_mm, arc.radians.to_degrees()]),
        principal_panel: principal(solid.principal_panel()),
        lid_panel: solid.lid_panel().map(principal),
        labels: label_sizes(solid, allowance)
            .into_iter()
            .map(|label| LabelOutput {
                cover: label.cover.name().to_owned(),
                size: show_size(label.width_mm, label.height_mm),
                width_mm: label.width_mm,
                height_mm: label.height_mm,
            })
            .collect(),
        cut: stock.map(|(width, length)| cut(plan, width, length)),
        notes: notes(plan),
        working: working(solid, plan, allowance),
    }
}

fn panels(plan: &Plan) -> Vec<PanelOutput> {
    [
        PanelName::Front,
        PanelName::Back,
        PanelName::Side,
        PanelName::EndFlap,
        PanelName::Overlap,
    ]
    .into_iter()
    .filter_map(|name| {
        let all: Vec<_> = plan
            .panels
            .iter()
            .filter(|panel| panel.name == name)
            .collect();
        let largest = all
            .iter()
            .map(|panel| panel.bounds())
            .max_by(|a, b| (a.2 * a.3).total_cmp(&(b.2 * b.3)))?;
        Some(PanelOutput {
            name: name.to_string(),
            n: all.len(),
            size: show_size(largest.2, largest.3),
            width_mm: largest.2,
            height_mm: largest.3,
            corners: all.iter().map(|panel| panel.corners.clone()).collect(),
        })
    })
    .collect()
}

fn notes(plan: &Plan) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(slope) = plan.slope {
        let leans = if slope.end_degrees > 0.0 {
            format!(
                "The long sides lean by {}° and the ends by {}°.",
                figure(slope.side_degrees, 1),
                figure(slope.end_degrees, 1)
            )
        } else {
            format!("The side leans by {}°.", figure(slope.side_degrees, 1))
        };
        let straight = match (plan.arc.is_some(), slope.lies_flat) {
            (true, true) => format!(
                "A straight strip would gape by {} only, which film gives way to.",
                show(slope.gape_mm)
            ),
            (true, false) => format!(
                "A straight strip would gape by {} at one edge and buckle (more than {} shows: common practice, no source): cut the curve.",
                show(slope.gape_mm),
                show(GAPE_MM)
            ),
            (false, true) => format!(
                "Across the bar a straight sheet lies flat. Round its four sloping sides a strip as high as they are would gape by {} at one edge.",
                show(slope.gape_mm)
            ),
            (false, false) => format!(
                "The band is wider than the smaller face is long, so its edges ride over the sloping ends and buckle; round the four sides it would gape by {}.",
                show(slope.gape_mm)
            ),
        };
        notes.push(format!("{leans} {straight}"));
    }
    notes
}

fn working(solid: &Solid, plan: &Plan, allowance: &Allowance) -> Working {
    let mut working = Working::new();
    if let Some(bar) = solid.frustum() {
        working.step(
            "Once round",
            "front + back + twice the side",
            format!(
                "{} + {} + 2 × {}",
                show(bar.front_width),
                show(bar.back_width),
                show(bar.side_slant())
            ),
            show(plan.round_mm),
            GEOMETRY,
        );
        if plan.end_fold_mm > 0.0 && allowance.end_fold_mm.is_none() {
            working.step(
                "Past each end",
                "half the end + tuck, so that two flaps meet in the middle of the end and lap by twice the tuck",
                format!("{} / 2 + {}", show(bar.end_slant()), show(allowance.tuck_mm)),
                show(plan.end_fold_mm),
                PRACTICE,
            );
        }
    } else if let Some(arc) = plan.arc {
        working.step(
            "Radius of the longer edge",
            "distance to the point where the sides would meet",
            format!(
                "{} long, bent through {}°",
                show(plan.round_mm),
                figure(arc.radians.to_degrees(), 1)
            ),
            show(arc.outer_mm),
            "a cone laid flat is a piece of a ring",
        );
    } else {
        let what = match *solid {
            Shape::Clamshell { width, depth, .. } => (
                "twice width and depth",
                format!("2 × ({} + {})", show(width), show(depth)),
            ),
            Shape::Cylinder { diameter, .. }
            | Shape::Jar { diameter, .. }
            | Shape::Tin { diameter, .. } => ("π × diameter", format!("π × {}", show(diameter))),
            _ => ("way round", show(plan.round_mm)),
        };
        working.step("Once round", what.0, what.1, show(plan.round_mm), GEOMETRY);
        if plan.end_fold_mm > 0.0 && allowance.end_fold_mm.is_none() {
            working.step(
                "Past each end",
                "half the diameter + tuck, pleated to the middle of the end",
                format!("− / 2 + {}", show(allowance.tuck_mm))
                    .replace('−', &show((plan.end_fold_mm - allowance.tuck_mm) * 2.0)),
                show(plan.end_fold_mm),
                PRACTICE,
            );
        }
    }
    if plan.cover != Cover::Front && plan.arc.is_none() {
        let (round_side, along_side) = if solid.is_upright() {
            (plan.width_mm, plan.height_mm)
        } else {
            (plan.height_mm, plan.width_mm)
        };
        working.step(
            "Sheet round the unit",
            "once round + overlap",
            format!("{} + {}", show(plan.round_mm), show(plan.overlap_mm)),
            show(round_side),
            format!(
                "{GEOMETRY}; an overlap of {} is {PRACTICE}",
                show(OVERLAP_MM)
            ),
        );
        working.step(
            "Sheet the other way",
            if plan.end_fold_mm > 0.0 {
                "unit + twice past the end"
            } else {
                "as wide as the strip"
            },
            if plan.end_fold_mm > 0.0 {
                format!(
                    "{} + 2 × {}",
                    show(along_side - 2.0 * plan.end_fold_mm),
                    show(plan.end_fold_mm)
                )
            } else {
                show(along_side)
            },
            show(along_side),
            GEOMETRY,
        );
    } else if plan.cover == Cover::Front {
        working.step(
            "Label on the front",
            "face − an edge left free all round",
            format!("{} free", show(INSET_MM)),
            show_size(plan.width_mm, plan.height_mm),
            PRACTICE,
        );
    }
    let panel = solid.principal_panel();
    working.step(
        "Principal display panel",
        panel.rule.to_string(),
        format!("{} cm²", figure(panel.area_mm2 / 100.0, 1)),
        format!("{} square inches", figure(panel.area_in2(), 2)),
        "16 CFR 500.21(a)",
    );
    working
}

fn cut(plan: &Plan, width: f64, length: Option<f64>) -> CutOutput {
    let said = cut_words(plan, width, length);
    let round = |share: f64| (share * 1000.0).round() / 10.0;
    match length {
        None => {
            let roll = nest_roll(width, plan.width_mm, plan.height_mm);
            CutOutput {
                n: None,
                per_metre: Some(roll.map_or(0.0, |roll| roll.per_metre)),
                waste_percent: round(roll.map_or(1.0, |roll| roll.waste)),
                answer: said,
            }
        }
        Some(length) => {
            let (n, waste) = from_stock(plan, width, length);
            CutOutput {
                n: Some(n),
                per_metre: None,
                waste_percent: round(waste),
                answer: said,
            }
        }
    }
}

/// Wraps from a stock with an end, and the share left over. A long roll is cut
/// in columns, a sheet by the best pattern.
fn from_stock(plan: &Plan, width: f64, length: f64) -> (u64, f64) {
    let piece = plan.width_mm * plan.height_mm;
    let share = |n: u64| (1.0 - n as f64 * piece / (width * length)).clamp(0.0, 1.0);
    let sheet = nest_sheet(width, length, plan.width_mm, plan.height_mm);
    let n_sheet = sheet.n();
    let n_roll =
        nest_roll(width, plan.width_mm, plan.height_mm).map_or(0, |roll| roll.n_in(length));
    let n = n_sheet.max(n_roll);
    (n, share(n))
}

/// What a roll or a sheet gives, in a sentence.
pub fn cut_words(plan: &Plan, width: f64, length: Option<f64>) -> String {
    let percent = |share: f64| format!("{} %", figure(share * 100.0, 0));
    match length {
        None => match nest_roll(width, plan.width_mm, plan.height_mm) {
            None => format!(
                "No wrap of {} goes across a roll of {}.",
                show_size(plan.width_mm, plan.height_mm),
                show(width)
            ),
            Some(roll) => format!(
                "{} wraps to the metre from a roll {} wide; {} is left over.",
                figure(roll.per_metre, 1),
                show(width),
                percent(roll.waste)
            ),
        },
        Some(length) => {
            let (n, waste) = from_stock(plan, width, length);
            format!(
                "{n} {} from {}; {} is left over.",
                if n == 1 { "wrap" } else { "wraps" },
                show_size(width, length),
                percent(waste)
            )
        }
    }
}
