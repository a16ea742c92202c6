//! The shape of one unit with its real sizes: faces, surface, and the panel a
//! buyer sees.

use std::f64::consts::PI;
use std::fmt;

use measure::{Checker, Length, Problem, Problems, Typed, Unclear};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::ruler::{Ruler, mm, show, show_size};
use crate::wrap::{Allowance, Cover, Plan, Slope};

/// The smallest side of a unit that is wrapped, mm.
const LEAST_MM: f64 = 2.0;
/// The largest, mm.
const MOST_MM: f64 = 1_000.0;
/// Square millimetres in a square inch.
const SQUARE_INCH: f64 = 25.4 * 25.4;

/// The shape of a unit, with lengths of any kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Shape<L> {
    /// Six rectangles.
    Box {
        /// Its longest side.
        length: L,
        /// Across its front.
        width: L,
        /// Its thickness.
        height: L,
    },
    /// A bar that a mould let go of: its lower and upper faces differ.
    TaperedBar {
        /// Length of the lower face.
        bottom_length: L,
        /// Width of the lower face.
        bottom_width: L,
        /// Length of the upper face.
        top_length: L,
        /// Width of the upper face.
        top_width: L,
        /// From face to face.
        height: L,
    },
    /// A round candle or melt.
    Cylinder {
        /// Its diameter.
        diameter: L,
        /// Its height.
        height: L,
    },
    /// A jar with an upright side.
    Jar {
        /// Its diameter.
        diameter: L,
        /// Height of the straight side, without shoulder and neck.
        height: L,
    },
    /// A tin with a lid.
    Tin {
        /// Its diameter.
        diameter: L,
        /// Height of the side.
        height: L,
    },
    /// A tumbler that widens upwards or downwards.
    Tumbler {
        /// Diameter at the bottom.
        bottom_diameter: L,
        /// Diameter at the top.
        top_diameter: L,
        /// Its height, upright.
        height: L,
    },
    /// A clamshell.
    Clamshell {
        /// Width of its face.
        width: L,
        /// Height of its face without the header.
        height: L,
        /// From front to back.
        depth: L,
        /// Height of the header with the hole it hangs by.
        header: Option<L>,
    },
}

/// A shape as it was measured and written down.
pub type ShapeGiven = Shape<Typed<Length>>;

/// A shape in millimetres.
pub type Solid = Shape<f64>;

/// The kinds of shape, by name.
pub const KINDS: [&str; 7] = [
    "box",
    "tapered bar",
    "cylinder",
    "jar",
    "tin",
    "tumbler",
    "clamshell",
];

/// A shape as texts. Which fields are read depends on the kind.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShapeInput {
    /// `box`, `tapered bar`, `cylinder`, `jar`, `tin`, `tumbler` or `clamshell`.
    #[serde(default)]
    pub kind: Option<String>,
    /// Longest side of a box.
    #[serde(default)]
    pub length: Option<String>,
    /// Width of a box's front or of a clamshell's face.
    #[serde(default)]
    pub width: Option<String>,
    /// Thickness of a box or bar; height of everything else.
    #[serde(default)]
    pub height: Option<String>,
    /// Lower face of a tapered bar.
    #[serde(default)]
    pub bottom_length: Option<String>,
    /// Lower face of a tapered bar.
    #[serde(default)]
    pub bottom_width: Option<String>,
    /// Upper face of a tapered bar.
    #[serde(default)]
    pub top_length: Option<String>,
    /// Upper face of a tapered bar.
    #[serde(default)]
    pub top_width: Option<String>,
    /// Diameter of a cylinder, jar or tin.
    #[serde(default)]
    pub diameter: Option<String>,
    /// Diameter of a tumbler at the bottom.
    #[serde(default)]
    pub bottom_diameter: Option<String>,
    /// Diameter of a tumbler at the top.
    #[serde(default)]
    pub top_diameter: Option<String>,
    /// Clamshell, from front to back.
    #[serde(default)]
    pub depth: Option<String>,
    /// Clamshell, height of the header it hangs by.
    #[serde(default)]
    pub header: Option<String>,
}

/// The part of a unit a buyer sees, as the law measures it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrincipalPanel {
    /// Its area, mm².
    pub area_mm2: f64,
    /// How it was measured.
    pub rule: PanelRule,
}

/// The ways of 16 CFR 500.21(a) to measure the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PanelRule {
    /// One whole side, width by height.
    Side {
        /// Its width.
        width_mm: f64,
        /// Its height.
        height_mm: f64,
    },
    /// Two fifths of height × way round.
    Round {
        /// The larger diameter.
        diameter_mm: f64,
        /// Height of the side.
        height_mm: f64,
    },
    /// A round lid that is the obvious panel.
    Lid {
        /// Its diameter.
        diameter_mm: f64,
    },
}

impl PrincipalPanel {
    /// Its area in square inches.
    pub fn area_in2(&self) -> f64 {
        self.area_mm2 / SQUARE_INCH
    }
}

impl fmt::Display for PanelRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Side {
                width_mm,
                height_mm,
            } => write!(f, "the whole front, {}", show_size(width_mm, height_mm)),
            Self::Round {
                diameter_mm,
                height_mm,
            } => write!(
                f,
                "two fifths of the side, {} high and {} round",
                show(height_mm),
                show(PI * diameter_mm)
            ),
            Self::Lid { diameter_mm } => {
                write!(f, "the whole lid, {} across", show(diameter_mm))
            }
        }
    }
}

/// One face of a unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Which one.
    pub name: &'static str,
    /// How many of them there are.
    pub n: u32,
    /// Area of one, mm².
    pub area_mm2: f64,
}

impl<L> Shape<L> {
    /// The same shape with its lengths turned into something else.
    pub fn map<M>(&self, mut to: impl FnMut(&L) -> M) -> Shape<M> {
        match self {
            Self::Box {
                length,
                width,
                height,
            } => Shape::Box {
                length: to(length),
                width: to(width),
                height: to(height),
            },
            Self::TaperedBar {
                bottom_length,
                bottom_width,
                top_length,
                top_width,
                height,
            } => Shape::TaperedBar {
                bottom_length: to(bottom_length),
                bottom_width: to(bottom_width),
                top_length: to(top_length),
                top_width: to(top_width),
                height: to(height),
            },
            Self::Cylinder { diameter, height } => Shape::Cylinder {
                diameter: to(diameter),
                height: to(height),
            },
            Self::Jar { diameter, height } => Shape::Jar {
                diameter: to(diameter),
                height: to(height),
            },
            Self::Tin { diameter, height } => Shape::Tin {
                diameter: to(diameter),
                height: to(height),
            },
            Self::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => Shape::Tumbler {
                bottom_diameter: to(bottom_diameter),
                top_diameter: to(top_diameter),
                height: to(height),
            },
            Self::Clamshell {
                width,
                height,
                depth,
                header,
            } => Shape::Clamshell {
                width: to(width),
                height: to(height),
                depth: to(depth),
                header: header.as_ref().map(to),
            },
        }
    }

    /// What it is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Box { .. } => "box",
            Self::TaperedBar { .. } => "tapered bar",
            Self::Cylinder { .. } => "cylinder",
            Self::Jar { .. } => "jar",
            Self::Tin { .. } => "tin",
            Self::Tumbler { .. } => "tumbler",
            Self::Clamshell { .. } => "clamshell",
        }
    }
}

impl ShapeGiven {
    /// The shape in millimetres.
    pub fn solid(&self) -> Solid {
        self.map(mm)
    }
}

/// Two rectangles one above the other: what a box and a tapered bar share.
///
/// The front is the larger face, lengths run along its longer side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Frustum {
    pub(crate) front_length: f64,
    pub(crate) front_width: f64,
    pub(crate) back_length: f64,
    pub(crate) back_width: f64,
    pub(crate) height: f64,
}

impl Frustum {
    /// From front edge to back edge down a long side.
    pub(crate) fn side_slant(&self) -> f64 {
        libm::hypot(self.height, (self.front_width - self.back_width) / 2.0)
    }

    /// From front edge to back edge down an end.
    pub(crate) fn end_slant(&self) -> f64 {
        libm::hypot(self.height, (self.front_length - self.back_length) / 2.0)
    }
}

impl Solid {
    pub(crate) fn frustum(&self) -> Option<Frustum> {
        match *self {
            Self::Box {
                length,
                width,
                height,
            } => {
                let mut sides = [length, width, height];
                sides.sort_by(|a, b| b.total_cmp(a));
                let [length, width, height] = sides;
                Some(Frustum {
                    front_length: length,
                    front_width: width,
                    back_length: length,
                    back_width: width,
                    height,
                })
            }
            Self::TaperedBar {
                bottom_length,
                bottom_width,
                top_length,
                top_width,
                height,
            } => {
                let bottom = (bottom_length, bottom_width);
                let top = (top_length, top_width);
                let is_bottom = bottom_length * bottom_width >= top_length * top_width;
                let (front, back) = if is_bottom {
                    (bottom, top)
                } else {
                    (top, bottom)
                };
                let turned = front.0 < front.1;
                let lay = |face: (f64, f64)| if turned { (face.1, face.0) } else { face };
                let ((front_length, front_width), (back_length, back_width)) =
                    (lay(front), lay(back));
                Some(Frustum {
                    front_length,
                    front_width,
                    back_length,
                    back_width,
                    height,
                })
            }
            _ => None,
        }
    }

    /// Every face.
    pub fn faces(&self) -> Vec<Face> {
        let face = |name, n, area_mm2| Face { name, n, area_mm2 };
        let round = |diameter: f64, height: f64, top: &'static str| {
            vec![
                face("side", 1, PI * diameter * height),
                face(top, 1, PI * diameter * diameter / 4.0),
                face("bottom", 1, PI * diameter * diameter / 4.0),
            ]
        };
        match *self {
            Self::Cylinder { diameter, height } => round(diameter, height, "top"),
            Self::Jar { diameter, height } | Self::Tin { diameter, height } => {
                round(diameter, height, "lid")
            }
            Self::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => {
                let slant = libm::hypot(height, (bottom_diameter - top_diameter) / 2.0);
                vec![
                    face(
                        "side",
                        1,
                        PI * (bottom_diameter + top_diameter) / 2.0 * slant,
                    ),
                    face("top", 1, PI * top_diameter * top_diameter / 4.0),
                    face("bottom", 1, PI * bottom_diameter * bottom_diameter / 4.0),
                ]
            }
            Self::Clamshell {
                width,
                height,
                depth,
                header,
            } => {
                let tall = height + header.unwrap_or(0.0);
                vec![
                    face("front", 1, width * tall),
                    face("back", 1, width * tall),
                    face("side", 2, depth * height),
                    face("end", 2, depth * width),
                ]
            }
            Self::Box { .. } | Self::TaperedBar { .. } => {
                let Some(bar) = self.frustum() else {
                    return Vec::new();
                };
                vec![
                    face("front", 1, bar.front_length * bar.front_width),
                    face("back", 1, bar.back_length * bar.back_width),
                    face(
                        "side",
                        2,
                        f64::midpoint(bar.front_length, bar.back_length) * bar.side_slant(),
                    ),
                    face(
                        "end",
                        2,
                        f64::midpoint(bar.front_width, bar.back_width) * bar.end_slant(),
                    ),
                ]
            }
        }
    }

    /// All faces together, mm².
    pub fn surface_mm2(&self) -> f64 {
        self.faces()
            .iter()
            .map(|face| f64::from(face.n) * face.area_mm2)
            .sum()
    }

    /// The panel a buyer sees, as the United States measure it.
    ///
    /// A clamshell's header counts: it is part of the front. Of a tumbler the
    /// larger diameter counts, which asks for the larger letters.
    ///
    /// # Source
    ///
    /// 16 CFR 500.21(a).
    pub fn principal_panel(&self) -> PrincipalPanel {
        let side = |width_mm: f64, height_mm: f64| PrincipalPanel {
            area_mm2: width_mm * height_mm,
            rule: PanelRule::Side {
                width_mm,
                height_mm,
            },
        };
        let round = |diameter_mm: f64, height_mm: f64| PrincipalPanel {
            area_mm2: 0.4 * PI * diameter_mm * height_mm,
            rule: PanelRule::Round {
                diameter_mm,
                height_mm,
            },
        };
        match *self {
            Self::Box { .. } | Self::TaperedBar { .. } => self.frustum().map_or_else(
                || side(0.0, 0.0),
                |bar| side(bar.front_length, bar.front_width),
            ),
            Self::Cylinder { diameter, height }
            | Self::Jar { diameter, height }
            | Self::Tin { diameter, height } => round(diameter, height),
            Self::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => round(bottom_diameter.max(top_diameter), height),
            Self::Clamshell {
                width,
                height,
                header,
                ..
            } => side(width, height + header.unwrap_or(0.0)),
        }
    }

    /// The lid, where a buyer sees it first and it bears the statement.
    ///
    /// # Source
    ///
    /// 16 CFR 500.21(a): where there is an obvious panel, its whole area.
    pub fn lid_panel(&self) -> Option<PrincipalPanel> {
        match *self {
            Self::Tin { diameter, .. } | Self::Jar { diameter, .. } => Some(PrincipalPanel {
                area_mm2: PI * diameter * diameter / 4.0,
                rule: PanelRule::Lid {
                    diameter_mm: diameter,
                },
            }),
            _ => None,
        }
    }
}

impl Solid {
    /// Whether it stands, so that a strip round it runs across and not down.
    pub const fn is_upright(&self) -> bool {
        !matches!(self, Self::Box { .. } | Self::TaperedBar { .. })
    }

    /// Width and height of the flat front, or of the two fifths of a round
    /// side that are read at a glance.
    pub fn front_face(&self) -> (f64, f64) {
        match *self {
            Self::Box { .. } | Self::TaperedBar { .. } => self
                .frustum()
                .map_or((0.0, 0.0), |bar| (bar.front_length, bar.front_width)),
            Self::Cylinder { diameter, height }
            | Self::Jar { diameter, height }
            | Self::Tin { diameter, height } => (0.4 * PI * diameter, height),
            Self::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => (
                0.4 * PI * bottom_diameter.min(top_diameter),
                libm::hypot(height, (bottom_diameter - top_diameter) / 2.0),
            ),
            Self::Clamshell {
                width,
                height,
                header,
                ..
            } => (width, height + header.unwrap_or(0.0)),
        }
    }

    /// From edge to edge up the side of something that stands.
    pub(crate) fn side_mm(&self) -> f64 {
        match *self {
            Self::Box { height, .. }
            | Self::TaperedBar { height, .. }
            | Self::Cylinder { height, .. }
            | Self::Jar { height, .. }
            | Self::Tin { height, .. }
            | Self::Clamshell { height, .. } => height,
            Self::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => libm::hypot(height, (bottom_diameter - top_diameter) / 2.0),
        }
    }

    /// How its sides lean, when they do, under a strip as high as they are.
    pub fn slope(&self) -> Option<Slope> {
        let allowance = Allowance {
            band_mm: Some(f64::MAX),
            ..Allowance::default()
        };
        Plan::of(self, Cover::Band, &allowance).slope
    }
}

impl ShapeInput {
    /// Reads the texts.
    ///
    /// # Errors
    ///
    /// Every field that is missing, cannot be read or cannot be.
    pub fn read(&self, ruler: Ruler) -> Result<ShapeGiven, Problems> {
        let mut check = Checker::default();
        let shape = self.read_into(ruler, &mut check);
        match shape {
            Some(shape) if check.is_clean() => Ok(shape),
            _ => Err(check.into_problems()),
        }
    }

    pub(crate) fn read_into(&self, ruler: Ruler, check: &mut Checker) -> Option<ShapeGiven> {
        let kind = check.required("kind", self.kind.as_deref(), read_kind)?;
        let mut side = |field: &str, text: &Option<String>| {
            ruler.required(check, field, text.as_deref(), LEAST_MM, MOST_MM)
        };
        // Every field is read before the first missing one ends it.
        match kind {
            "box" => {
                let length = side("length", &self.length);
                let width = side("width", &self.width);
                let height = side("height", &self.height);
                Some(Shape::Box {
                    length: length?,
                    width: width?,
                    height: height?,
                })
            }
            "tapered bar" => {
                let bottom_length = side("bottom_length", &self.bottom_length);
                let bottom_width = side("bottom_width", &self.bottom_width);
                let top_length = side("top_length", &self.top_length);
                let top_width = side("top_width", &self.top_width);
                let height = side("height", &self.height);
                let shape = Shape::TaperedBar {
                    bottom_length: bottom_length?,
                    bottom_width: bottom_width?,
                    top_length: top_length?,
                    top_width: top_width?,
                    height: height?,
                };
                refuse_twist(&shape.map(mm), check);
                Some(shape)
            }
            "cylinder" | "jar" | "tin" => {
                let diameter = side("diameter", &self.diameter);
                let height = side("height", &self.height);
                let (diameter, height) = (diameter?, height?);
                Some(match kind {
                    "cylinder" => Shape::Cylinder { diameter, height },
                    "jar" => Shape::Jar { diameter, height },
                    _ => Shape::Tin { diameter, height },
                })
            }
            "tumbler" => {
                let bottom_diameter = side("bottom_diameter", &self.bottom_diameter);
                let top_diameter = side("top_diameter", &self.top_diameter);
                let height = side("height", &self.height);
                Some(Shape::Tumbler {
                    bottom_diameter: bottom_diameter?,
                    top_diameter: top_diameter?,
                    height: height?,
                })
            }
            _ => {
                let width = side("width", &self.width);
                let height = side("height", &self.height);
                let depth = side("depth", &self.depth);
                let header = ruler.optional(check, "header", self.header.as_deref(), 0.0, MOST_MM);
                Some(Shape::Clamshell {
                    width: width?,
                    height: height?,
                    depth: depth?,
                    header: header.filter(|header| !header.value().is_zero()),
                })
            }
        }
    }
}

impl From<&ShapeGiven> for ShapeInput {
    fn from(shape: &ShapeGiven) -> Self {
        let text = |typed: &Typed<Length>| Some(typed.to_string());
        let named = Self {
            kind: Some(shape.name().to_owned()),
            ..Self::default()
        };
        match shape {
            Shape::Box {
                length,
                width,
                height,
            } => Self {
                length: text(length),
                width: text(width),
                height: text(height),
                ..named
            },
            Shape::TaperedBar {
                bottom_length,
                bottom_width,
                top_length,
                top_width,
                height,
            } => Self {
                bottom_length: text(bottom_length),
                bottom_width: text(bottom_width),
                top_length: text(top_length),
                top_width: text(top_width),
                height: text(height),
                ..named
            },
            Shape::Cylinder { diameter, height }
            | Shape::Jar { diameter, height }
            | Shape::Tin { diameter, height } => Self {
                diameter: text(diameter),
                height: text(height),
                ..named
            },
            Shape::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            } => Self {
                bottom_diameter: text(bottom_diameter),
                top_diameter: text(top_diameter),
                height: text(height),
                ..named
            },
            Shape::Clamshell {
                width,
                height,
                depth,
                header,
            } => Self {
                width: text(width),
                height: text(height),
                depth: text(depth),
                header: header.as_ref().and_then(text),
                ..named
            },
        }
    }
}

fn read_kind(text: &str) -> Result<&'static str, Unclear> {
    let plain = text.trim().to_lowercase().replace(['_', '-'], " ");
    KINDS
        .into_iter()
        .find(|kind| *kind == plain)
        .ok_or_else(|| {
            Unclear::new(
                text,
                if plain.is_empty() {
                    "the shape is missing"
                } else {
                    "that is not a shape known here"
                },
                format!("write one of {}", KINDS.join(", ")),
            )
        })
}

/// Refuses a bar whose one face is longer and the other wider.
fn refuse_twist(shape: &Solid, check: &mut Checker) {
    let Shape::TaperedBar {
        bottom_length,
        bottom_width,
        top_length,
        top_width,
        ..
    } = *shape
    else {
        return;
    };
    if (bottom_length - top_length) * (bottom_width - top_width) < 0.0 {
        check.refuse(Problem::new(
            "top_width",
            show(top_width),
            "one face is longer and the other one wider, so no mould lets it go",
            "check which figure belongs to which face",
        ));
    }
}
