//! The sheet a unit is wrapped in, laid flat: its size, where it folds, and
//! which part comes to lie where.
//!
//! Lengths run *along* a bar and *round* it. On the flat sheet of a bar x is
//! along and y is round; of anything upright (round things and clamshells) x
//! is round and y is up the side. The seam lies in the middle of the back.

mod calculation;
mod plan;

use std::f64::consts::PI;
use std::fmt;

use measure::Unclear;
use serde::{Deserialize, Serialize};

pub use calculation::{
    CutOutput, FoldOutput, Input, LabelOutput, Output, PanelOutput, PrincipalOutput, calculate,
    calculate_with, cut_words,
};

use crate::unit::{Shape, Solid};

/// How far the sheet laps over itself at the seam, mm.
///
/// Common practice, no source.
pub const OVERLAP_MM: f64 = 10.0;
/// How far each end flap goes past the middle of the end, mm.
///
/// Common practice, no source.
pub const TUCK_MM: f64 = 5.0;
/// What a front label keeps from the edges of its panel, mm.
///
/// Common practice, no source.
pub const INSET_MM: f64 = 2.0;
/// A straight band that gapes by more than this does not lie flat, mm.
///
/// Common practice, no source.
pub const GAPE_MM: f64 = 1.0;

/// A point on the flat sheet.
pub type Point = (f64, f64);

/// How much of the unit is covered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cover {
    /// All of it, ends folded in.
    Full,
    /// A strip round the middle, ends open.
    Band,
    /// A label on the front alone.
    Front,
}

impl Cover {
    /// Every way, the most first.
    pub const ALL: [Self; 3] = [Self::Full, Self::Band, Self::Front];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Band => "band",
            Self::Front => "front",
        }
    }

    /// Reads its name.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for anything else.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        Self::ALL
            .into_iter()
            .find(|cover| text.trim().eq_ignore_ascii_case(cover.name()))
            .ok_or_else(|| {
                Unclear::new(
                    text,
                    "that is not a way to cover a unit",
                    "write full, band or front",
                )
            })
    }
}

/// What is added to the bare faces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// How far the sheet laps over itself at the seam.
    pub overlap_mm: f64,
    /// How far an end flap goes past the middle of the end.
    pub tuck_mm: f64,
    /// How far the sheet reaches past each end, when not half the end and the
    /// tuck.
    pub end_fold_mm: Option<f64>,
    /// Width of a band, when not half the unit.
    pub band_mm: Option<f64>,
}

impl Default for Allowance {
    fn default() -> Self {
        Self {
            overlap_mm: OVERLAP_MM,
            tuck_mm: TUCK_MM,
            end_fold_mm: None,
            band_mm: None,
        }
    }
}

/// A part of the sheet by where it comes to lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PanelName {
    /// The face a buyer sees.
    Front,
    /// The face opposite.
    Back,
    /// Between them.
    Side,
    /// Folded over an end.
    EndFlap,
    /// Under or over the other edge at the seam.
    Overlap,
}

impl fmt::Display for PanelName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Side => "side",
            Self::EndFlap => "end flap",
            Self::Overlap => "overlap",
        })
    }
}

/// A piece of the flat sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Where it comes to lie.
    pub name: PanelName,
    /// Its corners in order.
    pub corners: Vec<Point>,
}

impl Panel {
    /// Its area, mm².
    pub fn area_mm2(&self) -> f64 {
        area(&self.corners)
    }

    /// The rectangle round it: left, top, width, height.
    pub fn bounds(&self) -> (f64, f64, f64, f64) {
        bounds(&self.corners)
    }
}

/// What a line on the sheet is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoldKind {
    /// Folded round an edge of the unit.
    Edge,
    /// Pushed in or folded under at an end.
    Crease,
    /// Where the other edge of the sheet comes to lie.
    Seam,
}

impl fmt::Display for FoldKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Edge => "edge",
            Self::Crease => "crease",
            Self::Seam => "seam",
        })
    }
}

/// A line the sheet is folded along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    /// What it is for.
    pub kind: FoldKind,
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
}

/// The curved strip that lies flat on a tapered side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Radius of the longer edge.
    pub outer_mm: f64,
    /// Radius of the shorter edge.
    pub inner_mm: f64,
    /// How far round it goes, radians, overlap counted.
    pub radians: f64,
}

/// How a side leans, and what that does to a straight strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// From upright, degrees: of the long sides, or of a round side.
    pub side_degrees: f64,
    /// Of the ends of a bar.
    pub end_degrees: f64,
    /// By how much a straight strip round the sloping sides, as high as they
    /// are, is longer at one edge than at the other.
    pub gape_mm: f64,
    /// Whether the cover that was asked for lies flat nonetheless.
    pub lies_flat: bool,
}

/// A wrap laid flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What is covered.
    pub cover: Cover,
    /// Width of the sheet to cut.
    pub width_mm: f64,
    /// Height of the sheet to cut.
    pub height_mm: f64,
    /// Once round the unit, without the overlap.
    pub round_mm: f64,
    /// How far the sheet reaches past each end.
    pub end_fold_mm: f64,
    /// The overlap at the seam.
    pub overlap_mm: f64,
    /// The cut edge, closed; a rectangle unless the side is tapered and round.
    pub outline: Vec<Point>,
    /// The curve of a tapered round side.
    pub arc: Option<Arc>,
    /// Every piece of the sheet.
    pub panels: Vec<Panel>,
    /// Every line it is folded along.
    pub folds: Vec<Fold>,
    /// Where the largest front label lies: left, top, width, height.
    pub front_label: (f64, f64, f64, f64),
    /// How sides lean, when they do.
    pub slope: Option<Slope>,
}

impl Plan {
    /// Lays the cover of a unit flat.
    ///
    /// A sheet for the front alone is the label itself. A jar, a tin, a
    /// tumbler and a clamshell have no ends to fold; covered in full they
    /// bear a strip as high as their side.
    pub fn of(solid: &Solid, cover: Cover, allowance: &Allowance) -> Self {
        plan::lay(solid, cover, allowance)
    }

    /// The area of the cut sheet, mm².
    pub fn area_mm2(&self) -> f64 {
        area(&self.outline)
    }

    /// The panels of one name, as one: how large the whole face is.
    ///
    /// The back is cut in two by the seam, so its halves are added up.
    pub fn face_mm2(&self, name: PanelName) -> f64 {
        self.panels
            .iter()
            .filter(|panel| panel.name == name)
            .map(Panel::area_mm2)
            .sum()
    }
}

/// A size of label that goes with a cover.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelSize {
    /// What it covers.
    pub cover: Cover,
    /// Its width, as on the flat sheet.
    pub width_mm: f64,
    /// Its height.
    pub height_mm: f64,
}

/// The largest label for each cover.
///
/// Round a unit it is as long as once round and the overlap; on the front it
/// keeps [`INSET_MM`] from every edge.
pub fn label_sizes(solid: &Solid, allowance: &Allowance) -> [LabelSize; 3] {
    Cover::ALL.map(|cover| {
        let without_ends = Allowance {
            end_fold_mm: Some(0.0),
            ..*allowance
        };
        let plan = Plan::of(solid, cover, &without_ends);
        // A strip across a tapered bar lies flat as far as its smaller face goes.
        let flat = match (solid.frustum(), cover) {
            (Some(bar), Cover::Full | Cover::Band) => bar.front_length.min(bar.back_length),
            _ => f64::INFINITY,
        };
        LabelSize {
            cover,
            width_mm: plan.width_mm.min(flat),
            height_mm: plan.height_mm,
        }
    })
}

/// Once round a unit where a band goes, mm.
pub fn round_mm(solid: &Solid) -> f64 {
    match *solid {
        Shape::Box { .. } | Shape::TaperedBar { .. } => solid.frustum().map_or(0.0, |bar| {
            bar.front_width + bar.back_width + 2.0 * bar.side_slant()
        }),
        Shape::Cylinder { diameter, .. }
        | Shape::Jar { diameter, .. }
        | Shape::Tin { diameter, .. } => PI * diameter,
        Shape::Tumbler {
            bottom_diameter,
            top_diameter,
            ..
        } => PI * bottom_diameter.max(top_diameter),
        Shape::Clamshell { width, depth, .. } => 2.0 * (width + depth),
    }
}

/// Half the cross sums of the corners.
fn area(corners: &[Point]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - b.0 * a.1)
        .sum();
    twice.abs() / 2.0
}

fn bounds(corners: &[Point]) -> (f64, f64, f64, f64) {
    let (mut left, mut top) = (f64::INFINITY, f64::INFINITY);
    let (mut right, mut bottom) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    for &(x, y) in corners {
        left = left.min(x);
        right = right.max(x);
        top = top.min(y);
        bottom = bottom.max(y);
    }
    if corners.is_empty() {
        return (0.0, 0.0, 0.0, 0.0);
    }
    (left, top, right - left, bottom - top)
}
