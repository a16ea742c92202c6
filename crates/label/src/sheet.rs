//! Sheets of labels by their geometry, and where each label of a run stands.
//!
//! A sheet is described as its seller prints it: page, margins, size of a
//! label, pitch (left edge to left edge, top to top), columns and rows.
//! [`SheetGeometry`] keeps the figures as they were written; [`Sheet`] is the
//! same in millimetres, checked, and is what everything else works from.
//! x runs right and y down, from the top left corner of the page.

mod drift;
mod page;
mod place;

use std::fmt;

use measure::{Checker, Length, Problem, Problems, Typed, Unclear};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use drift::{CALIBRATION_INSET_MM, Calibration, Drift, DriftInput};
pub use page::PageSize;
pub use place::{Place, Places};

use crate::ruler::{Ruler, mm, show, typed_mm};

/// What the rounding of a seller's figures may add up to on one page, mm.
///
/// Common practice, no source.
const SLACK_MM: f64 = 0.05;
/// A page of any printer, mm.
const MOST_PAGE_MM: f64 = 2_000.0;
/// The smallest label anyone peels off, mm.
const LEAST_LABEL_MM: f64 = 3.0;
/// Labels in a row or in a column, at most.
const MOST_CELLS: u32 = 200;
/// Margins that differ by more than this are remarked upon, mm.
///
/// Common practice, no source.
const UNEVEN_MM: f64 = 1.0;
/// Nearer to the edge of the page most office printers leave blank, mm.
///
/// Common practice, no source.
const UNPRINTED_MM: f64 = 4.0;

/// The outline of a label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outline {
    /// Four corners, rounded by a radius that may be nothing.
    Rectangle {
        /// Radius of the corners.
        corner_mm: f64,
    },
    /// A circle.
    Round,
    /// An ellipse.
    Oval,
}

/// The outline of a label as it was written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutlineGiven {
    /// Four corners and the radius that rounds them.
    Rectangle {
        /// Radius of the corners.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        corner: Option<Typed<Length>>,
    },
    /// A circle.
    Round,
    /// An ellipse.
    Oval,
}

/// A label sheet as it was written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetGeometry {
    /// Width of the page.
    pub page_width: Typed<Length>,
    /// Height of the page.
    pub page_height: Typed<Length>,
    /// From the page's left edge to the first label.
    pub margin_left: Typed<Length>,
    /// From the page's top edge to the first label.
    pub margin_top: Typed<Length>,
    /// Width of a label.
    pub label_width: Typed<Length>,
    /// Height of a label.
    pub label_height: Typed<Length>,
    /// From the left edge of a label to that of the next.
    pub pitch_x: Typed<Length>,
    /// From the top edge of a label to that of the one below.
    pub pitch_y: Typed<Length>,
    /// Labels in a row.
    pub columns: u32,
    /// Rows on a page.
    pub rows: u32,
    /// Outline of a label.
    pub outline: OutlineGiven,
}

/// A label sheet as texts.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetInput {
    /// `A4`, `letter`, `4x6`, with `landscape` behind it when it lies on its
    /// side; or nothing, with both sides below.
    #[serde(default)]
    pub page: Option<String>,
    /// Width of the page.
    #[serde(default)]
    pub page_width: Option<String>,
    /// Height of the page.
    #[serde(default)]
    pub page_height: Option<String>,
    /// Left margin; left out, the labels stand in the middle.
    #[serde(default)]
    pub margin_left: Option<String>,
    /// Top margin; left out, the labels stand in the middle.
    #[serde(default)]
    pub margin_top: Option<String>,
    /// Width of a label, or its diameter.
    #[serde(default)]
    pub label_width: Option<String>,
    /// Height of a label; for a round one it may be left out.
    #[serde(default)]
    pub label_height: Option<String>,
    /// Left edge to left edge; left out, labels touch.
    #[serde(default)]
    pub pitch_x: Option<String>,
    /// Top edge to top edge; left out, labels touch.
    #[serde(default)]
    pub pitch_y: Option<String>,
    /// Labels in a row.
    #[serde(default)]
    pub columns: Option<String>,
    /// Rows on a page.
    #[serde(default)]
    pub rows: Option<String>,
    /// `rectangle`, `round` or `oval`; left out, a rectangle.
    #[serde(default)]
    pub outline: Option<String>,
    /// Radius of a rectangle's corners.
    #[serde(default)]
    pub corner: Option<String>,
}

/// A label sheet in millimetres that can be printed on.
///
/// # Example
///
/// ```
/// use label::sheet::{Drift, Outline, Sheet};
///
/// // Three labels of 8 by 3.333 in on a letter page.
/// let sheet = Sheet {
///     page_width_mm: 215.9, page_height_mm: 279.4,
///     margin_left_mm: 6.35, margin_top_mm: 12.7,
///     label_width_mm: 203.2, label_height_mm: 84.66,
///     pitch_x_mm: 203.2, pitch_y_mm: 84.66,
///     columns: 1, rows: 3,
///     outline: Outline::Rectangle { corner_mm: 2.0 },
/// }.checked().unwrap();
/// assert_eq!(sheet.per_page(), 3);
/// // Two runs, begun at the second label of the first page.
/// let places: Vec<_> = sheet.place(&[1, 2], 2, Drift::NONE)
///     .map(|at| (at.page, at.row, at.run, at.nth)).collect();
/// assert_eq!(places, [(0, 1, 0, 0), (0, 2, 1, 0), (1, 0, 1, 1)]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Width of the page.
    pub page_width_mm: f64,
    /// Height of the page.
    pub page_height_mm: f64,
    /// From the page's left edge to the first label.
    pub margin_left_mm: f64,
    /// From the page's top edge to the first label.
    pub margin_top_mm: f64,
    /// Width of a label.
    pub label_width_mm: f64,
    /// Height of a label.
    pub label_height_mm: f64,
    /// From the left edge of a label to that of the next.
    pub pitch_x_mm: f64,
    /// From the top edge of a label to that of the one below.
    pub pitch_y_mm: f64,
    /// Labels in a row.
    pub columns: u32,
    /// Rows on a page.
    pub rows: u32,
    /// Outline of a label.
    pub outline: Outline,
}

/// What is odd about a sheet without being impossible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SheetRemark {
    /// The right margin is not the left one.
    UnevenAcross {
        /// Left margin.
        left_mm: f64,
        /// Right margin.
        right_mm: f64,
    },
    /// The bottom margin is not the top one.
    UnevenDown {
        /// Top margin.
        top_mm: f64,
        /// Bottom margin.
        bottom_mm: f64,
    },
    /// Labels reach where many printers do not print.
    NearEdge {
        /// The smallest margin.
        margin_mm: f64,
    },
}

impl fmt::Display for SheetRemark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::UnevenAcross { left_mm, right_mm } => write!(
                f,
                "The margin is {} on the left and {} on the right. Most sheets are even: check the left margin, the width and the pitch across.",
                show(left_mm),
                show(right_mm)
            ),
            Self::UnevenDown { top_mm, bottom_mm } => write!(
                f,
                "The margin is {} at the top and {} at the bottom. Most sheets are even: check the top margin, the height and the pitch down.",
                show(top_mm),
                show(bottom_mm)
            ),
            Self::NearEdge { margin_mm } => write!(
                f,
                "Labels begin {} from the edge of the page. Many printers leave about {} blank there.",
                show(margin_mm),
                show(UNPRINTED_MM)
            ),
        }
    }
}

impl Sheet {
    /// Checks every rule of a sheet.
    ///
    /// # Errors
    ///
    /// Every rule that is broken, at the field of [`SheetInput`] it concerns.
    pub fn checked(self) -> Result<Self, Problems> {
        let mut check = Checker::default();
        self.check(&mut check);
        check.finish()?;
        Ok(self)
    }

    fn check(&self, check: &mut Checker) {
        let mut side = |field: &str, mm: f64, least: f64| {
            if !mm.is_finite() || mm < least {
                check.refuse(Problem::new(
                    field,
                    show(mm),
                    "no sheet has that",
                    format!("write at least {}", show(least)),
                ));
            } else if mm > MOST_PAGE_MM {
                check.refuse(Problem::new(
                    field,
                    show(mm),
                    "no sheet is so large",
                    format!("write at most {}", show(MOST_PAGE_MM)),
                ));
            }
        };
        side("page_width", self.page_width_mm, LEAST_LABEL_MM);
        side("page_height", self.page_height_mm, LEAST_LABEL_MM);
        side("margin_left", self.margin_left_mm, 0.0);
        side("margin_top", self.margin_top_mm, 0.0);
        side("label_width", self.label_width_mm, LEAST_LABEL_MM);
        side("label_height", self.label_height_mm, LEAST_LABEL_MM);
        side("pitch_x", self.pitch_x_mm, LEAST_LABEL_MM);
        side("pitch_y", self.pitch_y_mm, LEAST_LABEL_MM);
        for (field, n) in [("columns", self.columns), ("rows", self.rows)] {
            if !(1..=MOST_CELLS).contains(&n) {
                check.refuse(cells_problem(field, &n.to_string()));
            }
        }
        if !check.is_clean() {
            return;
        }
        if self.label_width_mm > self.pitch_x_mm + SLACK_MM && self.columns > 1 {
            check.refuse(Problem::new(
                "pitch_x",
                show(self.pitch_x_mm),
                "labels side by side would overlap",
                format!(
                    "measure from left edge to left edge: at least {}",
                    show(self.label_width_mm)
                ),
            ));
        }
        if self.label_height_mm > self.pitch_y_mm + SLACK_MM && self.rows > 1 {
            check.refuse(Problem::new(
                "pitch_y",
                show(self.pitch_y_mm),
                "labels one above the other would overlap",
                format!(
                    "measure from top edge to top edge: at least {}",
                    show(self.label_height_mm)
                ),
            ));
        }
        let over_x = -self.margin_right_mm();
        if over_x > SLACK_MM {
            check.refuse(Problem::new(
                "columns",
                self.columns.to_string(),
                format!("the last column runs {} off the page", show(over_x)),
                "check the page's width, the left margin and the pitch across",
            ));
        }
        let over_y = -self.margin_bottom_mm();
        if over_y > SLACK_MM {
            check.refuse(Problem::new(
                "rows",
                self.rows.to_string(),
                format!("the last row runs {} off the page", show(over_y)),
                "check the page's height, the top margin and the pitch down",
            ));
        }
        match self.outline {
            Outline::Rectangle { corner_mm } => {
                let most = self.label_width_mm.min(self.label_height_mm) / 2.0;
                if !(0.0..=most + SLACK_MM).contains(&corner_mm) {
                    check.refuse(Problem::new(
                        "corner",
                        show(corner_mm),
                        "no corner of this label is so round",
                        format!("write a radius of at most {}", show(most)),
                    ));
                }
            }
            Outline::Round => {
                if (self.label_width_mm - self.label_height_mm).abs() > SLACK_MM {
                    check.refuse(Problem::new(
                        "label_height",
                        show(self.label_height_mm),
                        "a round label is as high as it is wide",
                        "leave the height out, or choose oval",
                    ));
                }
            }
            Outline::Oval => {}
        }
    }

    /// Labels on a page.
    pub const fn per_page(&self) -> u32 {
        self.columns.saturating_mul(self.rows)
    }

    /// Space between labels side by side; none with one column.
    pub fn gutter_x_mm(&self) -> Option<f64> {
        (self.columns > 1).then(|| (self.pitch_x_mm - self.label_width_mm).max(0.0))
    }

    /// Space between labels one above the other; none with one row.
    pub fn gutter_y_mm(&self) -> Option<f64> {
        (self.rows > 1).then(|| (self.pitch_y_mm - self.label_height_mm).max(0.0))
    }

    /// What is left to the right of the last column.
    pub fn margin_right_mm(&self) -> f64 {
        self.page_width_mm
            - self.margin_left_mm
            - f64::from(self.columns.saturating_sub(1)) * self.pitch_x_mm
            - self.label_width_mm
    }

    /// What is left below the last row.
    pub fn margin_bottom_mm(&self) -> f64 {
        self.page_height_mm
            - self.margin_top_mm
            - f64::from(self.rows.saturating_sub(1)) * self.pitch_y_mm
            - self.label_height_mm
    }

    /// The top left corner of a label on the paper.
    pub fn cell_mm(&self, column: u32, row: u32) -> (f64, f64) {
        (
            self.margin_left_mm + f64::from(column) * self.pitch_x_mm,
            self.margin_top_mm + f64::from(row) * self.pitch_y_mm,
        )
    }

    /// What is odd about this sheet.
    pub fn remarks(&self) -> Vec<SheetRemark> {
        let mut remarks = Vec::new();
        let (left, right) = (self.margin_left_mm, self.margin_right_mm().max(0.0));
        let (top, bottom) = (self.margin_top_mm, self.margin_bottom_mm().max(0.0));
        if (left - right).abs() > UNEVEN_MM {
            remarks.push(SheetRemark::UnevenAcross {
                left_mm: left,
                right_mm: right,
            });
        }
        if (top - bottom).abs() > UNEVEN_MM {
            remarks.push(SheetRemark::UnevenDown {
                top_mm: top,
                bottom_mm: bottom,
            });
        }
        let margin = left.min(right).min(top).min(bottom);
        // A page that is one label is a label printer's, which prints to the edge.
        if margin < UNPRINTED_MM && self.per_page() > 1 {
            remarks.push(SheetRemark::NearEdge { margin_mm: margin });
        }
        remarks
    }

    /// How far colour may run over the edge of a label: as far as wished where
    /// every gutter holds twice that and every margin once, otherwise nothing.
    pub fn bleed_mm(&self, wished_mm: f64) -> f64 {
        let gutters = [self.gutter_x_mm(), self.gutter_y_mm()];
        let margins = [
            self.margin_left_mm,
            self.margin_right_mm(),
            self.margin_top_mm,
            self.margin_bottom_mm(),
        ];
        let room = gutters
            .into_iter()
            .flatten()
            .all(|gutter| gutter >= 2.0 * wished_mm)
            && margins.into_iter().all(|margin| margin >= wished_mm);
        if room && wished_mm > 0.0 {
            wished_mm
        } else {
            0.0
        }
    }

    /// The largest upright box for text that keeps `inset_mm` from the edge:
    /// left, top, width, height from the label's own corner.
    ///
    /// In a circle or an oval it is the inscribed box with the outline's
    /// proportions, of 1/√2 its sides.
    pub fn text_box_mm(&self, inset_mm: f64) -> (f64, f64, f64, f64) {
        let width = (self.label_width_mm - 2.0 * inset_mm).max(0.0);
        let height = (self.label_height_mm - 2.0 * inset_mm).max(0.0);
        let share = match self.outline {
            Outline::Rectangle { .. } => 1.0,
            Outline::Round | Outline::Oval => std::f64::consts::FRAC_1_SQRT_2,
        };
        let (width, height) = (width * share, height * share);
        (
            (self.label_width_mm - width) / 2.0,
            (self.label_height_mm - height) / 2.0,
            width,
            height,
        )
    }

    /// Pages that `n` labels take when the first stands at place `start`,
    /// counted from 1 along the rows.
    pub fn pages_for(&self, n: u64, start: u32) -> u64 {
        if n == 0 {
            return 0;
        }
        let per_page = self.per_page().max(1);
        let taken = n.saturating_add(u64::from(start.clamp(1, per_page) - 1));
        taken.div_ceil(u64::from(per_page))
    }

    /// Where each label of several runs is to be drawn, one run after the
    /// other, along the rows.
    ///
    /// `runs` are the numbers of labels; `start` is the first place that is
    /// still on the first sheet, counted from 1; a place beyond the page is
    /// taken as the last one. `drift` is what the printer does.
    pub fn place<'a>(&self, runs: &'a [u32], start: u32, drift: Drift) -> Places<'a> {
        Places::new(*self, runs, start, drift)
    }
}

fn cells_problem(field: &str, given: &str) -> Problem {
    Problem::new(
        field,
        given,
        "that is not a number of labels",
        format!("write a whole number from 1 to {MOST_CELLS}"),
    )
}

impl SheetGeometry {
    /// The sheet in millimetres, checked.
    ///
    /// # Errors
    ///
    /// Every rule that is broken.
    pub fn sheet(&self) -> Result<Sheet, Problems> {
        Sheet {
            page_width_mm: mm(&self.page_width),
            page_height_mm: mm(&self.page_height),
            margin_left_mm: mm(&self.margin_left),
            margin_top_mm: mm(&self.margin_top),
            label_width_mm: mm(&self.label_width),
            label_height_mm: mm(&self.label_height),
            pitch_x_mm: mm(&self.pitch_x),
            pitch_y_mm: mm(&self.pitch_y),
            columns: self.columns,
            rows: self.rows,
            outline: match &self.outline {
                OutlineGiven::Rectangle { corner } => Outline::Rectangle {
                    corner_mm: corner.as_ref().map_or(0.0, mm),
                },
                OutlineGiven::Round => Outline::Round,
                OutlineGiven::Oval => Outline::Oval,
            },
        }
        .checked()
    }
}

impl SheetInput {
    /// Reads the texts and checks the sheet they describe.
    ///
    /// # Errors
    ///
    /// Every field that cannot be read, or every rule that is broken.
    pub fn read(&self, ruler: Ruler) -> Result<(SheetGeometry, Sheet), Problems> {
        let mut check = Checker::default();
        let page = self.page(ruler, &mut check);
        let outline = check.optional("outline", self.outline.as_deref(), read_outline);
        let outline = outline.unwrap_or(Some(OutlineGiven::Rectangle { corner: None }));
        let corner = ruler.optional(
            &mut check,
            "corner",
            self.corner.as_deref(),
            0.0,
            MOST_PAGE_MM,
        );
        let sides = |field: &'static str, text: &Option<String>, check: &mut Checker| {
            ruler.required(check, field, text.as_deref(), LEAST_LABEL_MM, MOST_PAGE_MM)
        };
        let width = sides("label_width", &self.label_width, &mut check);
        let is_round = matches!(outline, Some(OutlineGiven::Round));
        let height_left_out = self
            .label_height
            .as_deref()
            .is_none_or(|text| text.trim().is_empty());
        let height = if is_round && height_left_out {
            width.clone()
        } else {
            sides("label_height", &self.label_height, &mut check)
        };
        let columns = check.required("columns", self.columns.as_deref(), read_cells);
        let rows = check.required("rows", self.rows.as_deref(), read_cells);
        let pitch_x = ruler
            .optional(
                &mut check,
                "pitch_x",
                self.pitch_x.as_deref(),
                LEAST_LABEL_MM,
                MOST_PAGE_MM,
            )
            .or_else(|| width.clone());
        let pitch_y = ruler
            .optional(
                &mut check,
                "pitch_y",
                self.pitch_y.as_deref(),
                LEAST_LABEL_MM,
                MOST_PAGE_MM,
            )
            .or_else(|| height.clone());
        let margin_left = ruler.optional(
            &mut check,
            "margin_left",
            self.margin_left.as_deref(),
            0.0,
            MOST_PAGE_MM,
        );
        let margin_top = ruler.optional(
            &mut check,
            "margin_top",
            self.margin_top.as_deref(),
            0.0,
            MOST_PAGE_MM,
        );
        if !check.is_clean() {
            return Err(check.into_problems());
        }
        let found = page
            .zip(width.zip(height))
            .zip(pitch_x.zip(pitch_y))
            .zip(columns.zip(rows))
            .zip(outline);
        let Some(((((page, label), pitch), cells), outline)) = found else {
            return Err(check.into_problems());
        };
        let middle =
            |page: &Typed<Length>, n: u32, pitch: &Typed<Length>, label: &Typed<Length>| {
                let taken = f64::from(n - 1) * mm(pitch) + mm(label);
                typed_mm(((mm(page) - taken) / 2.0).max(0.0))
            };
        let margin_left = margin_left.or_else(|| middle(&page.0, cells.0, &pitch.0, &label.0));
        let margin_top = margin_top.or_else(|| middle(&page.1, cells.1, &pitch.1, &label.1));
        let Some((margin_left, margin_top)) = margin_left.zip(margin_top) else {
            return Err(check.into_problems());
        };
        let geometry = SheetGeometry {
            page_width: page.0,
            page_height: page.1,
            margin_left,
            margin_top,
            label_width: label.0,
            label_height: label.1,
            pitch_x: pitch.0,
            pitch_y: pitch.1,
            columns: cells.0,
            rows: cells.1,
            outline: match outline {
                OutlineGiven::Rectangle { .. } => OutlineGiven::Rectangle { corner },
                other => other,
            },
        };
        let sheet = geometry.sheet()?;
        Ok((geometry, sheet))
    }

    fn page(&self, ruler: Ruler, check: &mut Checker) -> Option<(Typed<Length>, Typed<Length>)> {
        if let Some(name) = self.page.as_deref().filter(|name| {
            let name = name.trim();
            !name.is_empty() && !name.eq_ignore_ascii_case("own")
        }) {
            let (width, height) = check.keep("page", PageSize::read(name))?;
            return typed_mm(width).zip(typed_mm(height));
        }
        let width = ruler.required(
            check,
            "page_width",
            self.page_width.as_deref(),
            LEAST_LABEL_MM,
            MOST_PAGE_MM,
        );
        let height = ruler.required(
            check,
            "page_height",
            self.page_height.as_deref(),
            LEAST_LABEL_MM,
            MOST_PAGE_MM,
        );
        width.zip(height)
    }
}

fn read_outline(text: &str) -> Result<Option<OutlineGiven>, Unclear> {
    match text.trim().to_lowercase().as_str() {
        "rectangle" | "square" => Ok(Some(OutlineGiven::Rectangle { corner: None })),
        "round" | "circle" => Ok(Some(OutlineGiven::Round)),
        "oval" => Ok(Some(OutlineGiven::Oval)),
        _ => Err(Unclear::new(
            text,
            "that is not an outline of a label",
            "write rectangle, round or oval",
        )),
    }
}

fn read_cells(text: &str) -> Result<u32, Unclear> {
    text.trim()
        .parse()
        .ok()
        .filter(|n| (1..=MOST_CELLS).contains(n))
        .ok_or_else(|| {
            let problem = cells_problem("", text);
            Unclear::new(text, problem.wrong, problem.accepted)
        })
}
