//! The calculation `label-fit`.

use measure::{Checker, Problem, Problems, Unclear, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Closes, Fit, Label, Room, SAME_MM, WISHED_OVERLAP_MM, fit, room};
use crate::ruler::{Ruler, mm, show, show_size};
use crate::sheet::Outline;
use crate::unit::{ShapeInput, Solid};
use crate::wrap::Cover;

const LEAST_MM: f64 = 3.0;
const MOST_MM: f64 = 2_000.0;

/// A label and where it is to go: a unit, or a panel by its size.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Width of the label, or its diameter.
    #[serde(default)]
    pub label_width: Option<String>,
    /// Height of the label; left out, it is round.
    #[serde(default)]
    pub label_height: Option<String>,
    /// The unit.
    #[serde(default)]
    pub shape: Option<ShapeInput>,
    /// On a unit: `front`, `band` or `full`, the last two round it; left out,
    /// the front.
    #[serde(default)]
    pub on: Option<String>,
    /// Without a unit: width of the panel.
    #[serde(default)]
    pub panel_width: Option<String>,
    /// Without a unit: height of the panel.
    #[serde(default)]
    pub panel_height: Option<String>,
}

/// How the label lies.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Whether it fits.
    pub fits: bool,
    /// The answer in a sentence.
    pub answer: String,
    /// Whether it has to lie on its side.
    pub turned: bool,
    /// The room it goes to.
    pub room: String,
    /// Width of that room in millimetres; round a unit, once round.
    pub room_width_mm: f64,
    /// Its height in millimetres.
    pub room_height_mm: f64,
    /// Room less label across, in millimetres; below zero when it is over.
    pub spare_across_mm: f64,
    /// The same down.
    pub spare_down_mm: f64,
    /// Round a unit: how far it laps over itself, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overlap_mm: Option<f64>,
    /// What to mind.
    pub notes: Vec<String>,
    /// How it was found.
    pub working: Working,
}

/// Answers `label-fit`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Ruler::PLAIN)
}

/// Answers `label-fit` for lengths typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, ruler: Ruler) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let given = [
        ("label_width", &input.label_width),
        ("label_height", &input.label_height),
    ];
    let [width, height] = given.map(|(field, text)| {
        let text = text.as_deref();
        // A round label has no height of its own.
        if field == "label_width" {
            ruler.required(&mut check, field, text, LEAST_MM, MOST_MM)
        } else {
            ruler.optional(&mut check, field, text, LEAST_MM, MOST_MM)
        }
        .map(|typed| mm(&typed))
    });
    let cover = check
        .optional("on", input.on.as_deref(), Cover::parse)
        .unwrap_or(Cover::Front);
    let place = place(input, cover, ruler, &mut check);
    let (Some(width), Some((room, solid)), true) = (width, place, check.is_clean()) else {
        return Err(check.into_problems());
    };
    let label = Label {
        width_mm: width,
        height_mm: height.unwrap_or(width),
        outline: if height.is_some() {
            Outline::Rectangle { corner_mm: 0.0 }
        } else {
            Outline::Round
        },
    };
    Ok(answer(&label, &room, cover, solid.as_ref()))
}

/// Where the label is to go, and the unit when there is one.
fn place(
    input: &Input,
    cover: Cover,
    ruler: Ruler,
    check: &mut Checker,
) -> Option<(Room, Option<Solid>)> {
    let has_panel = [&input.panel_width, &input.panel_height]
        .into_iter()
        .any(|text| text.as_deref().is_some_and(|text| !text.trim().is_empty()));
    match &input.shape {
        Some(_) if has_panel => {
            check.refuse(Problem::new(
                "panel_width",
                input.panel_width.clone().unwrap_or_default(),
                "there is also a unit",
                "give either the unit or the size of a panel",
            ));
            None
        }
        Some(shape) => match shape.read(ruler) {
            Ok(shape) => {
                let solid = shape.solid();
                Some((room(&solid, cover), Some(solid)))
            }
            Err(problems) => {
                for problem in problems.0 {
                    check.refuse(Problem {
                        field: format!("shape.{}", problem.field),
                        ..problem
                    });
                }
                None
            }
        },
        None if has_panel => {
            let mut side = |field: &str, text: &Option<String>| {
                ruler.required(check, field, text.as_deref(), LEAST_MM, MOST_MM)
            };
            let width = side("panel_width", &input.panel_width);
            let height = side("panel_height", &input.panel_height);
            let room = Room {
                width_mm: mm(&width?),
                height_mm: mm(&height?),
                closes: Closes::Nowhere,
            };
            Some((room, None))
        }
        None => check.keep(
            "shape",
            Err(Unclear::new(
                "",
                "there is nothing to put the label on",
                "give the unit's shape, or the width and height of a panel",
            )),
        ),
    }
}

fn answer(label: &Label, room: &Room, cover: Cover, solid: Option<&Solid>) -> Output {
    let found = fit(label, room);
    let mut working = Working::new();
    let (width, height) = if found.is_turned {
        (label.height_mm, label.width_mm)
    } else {
        (label.width_mm, label.height_mm)
    };
    let source = "geometry; the label is taken as measured";
    for (way, room, label, spare) in [
        ("Across", room.width_mm, width, found.spare_across_mm),
        ("Down", room.height_mm, height, found.spare_down_mm),
    ] {
        working.step(
            way,
            "room − label",
            format!("{} − {}", show(room), show(label)),
            show(spare),
            source,
        );
    }
    Output {
        fits: found.fits,
        answer: found.sentence(room.closes),
        turned: found.is_turned,
        room: show_size(room.width_mm, room.height_mm),
        room_width_mm: room.width_mm,
        room_height_mm: room.height_mm,
        spare_across_mm: found.spare_across_mm,
        spare_down_mm: found.spare_down_mm,
        overlap_mm: found.overlap_mm,
        notes: notes(&found, cover, solid),
        working,
    }
}

fn notes(found: &Fit, cover: Cover, solid: Option<&Solid>) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(slope) = solid
        .filter(|solid| solid.is_upright() && cover != Cover::Front)
        .and_then(Solid::slope)
        && !slope.lies_flat
    {
        notes.push(format!(
            "The side leans by {}°, so a straight strip as high as it gapes by {} at one edge.",
            measure::figure(slope.side_degrees, 1),
            show(slope.gape_mm)
        ));
    }
    let short = found
        .overlap_mm
        .filter(|overlap| *overlap < WISHED_OVERLAP_MM - SAME_MM);
    if let Some(overlap) = short {
        notes.push(format!(
            "It laps over itself by {}; {} or so holds better (common practice, no source).",
            show(overlap),
            show(WISHED_OVERLAP_MM)
        ));
    }
    notes
}

impl Fit {
    /// The answer in a sentence, for a room that closes like that.
    pub fn sentence(&self, closes: Closes) -> String {
        let (across, down) = (self.spare_across_mm, self.spare_down_mm);
        let said = match closes {
            Closes::Nowhere if (across - down).abs() < SAME_MM => {
                format!("{} each way", spare(across))
            }
            Closes::Nowhere => format!("{} across, {} down", spare(across), spare(down)),
            Closes::Across => format!("{}, {} up the side", round(across), spare(down)),
            Closes::Down => format!("{}, {} along", round(down), spare(across)),
        };
        let way = if self.is_turned { " on its side" } else { "" };
        if self.fits {
            format!("It fits{way}: {said}.")
        } else if self.is_turned {
            format!("It does not fit; at best, on its side: {said}.")
        } else {
            format!("It does not fit: {said}.")
        }
    }
}

fn spare(mm: f64) -> String {
    if mm >= -SAME_MM {
        format!("{} to spare", show(mm.max(0.0)))
    } else {
        format!("{} over", show(-mm))
    }
}

fn round(mm: f64) -> String {
    if mm <= SAME_MM {
        format!("laps over itself by {}", show((-mm).max(0.0)))
    } else {
        format!("leaves a gap of {}", show(mm))
    }
}
