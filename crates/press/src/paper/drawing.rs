//! A drawing in millimetres: x to the right, y down, from the upper left corner.

use std::num::NonZeroU16;
use std::sync::Arc;

use kurbo::{Affine, BezPath, Circle, Rect, RoundedRect, Shape as _};

use super::text::Set;

/// How far a curve made of a circle or a rounded corner may stand off, in millimetres.
const TOLERANCE_MM: f64 = 0.001;

/// An ink on white paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Colour {
    /// Red, green and blue of sRGB.
    pub rgb: [u8; 3],
}

impl Colour {
    /// Black ink.
    pub const BLACK: Self = Self::new(0, 0, 0);
    /// No ink: the paper.
    pub const WHITE: Self = Self::new(255, 255, 255);
    /// The red of a hazard pictogram's frame.
    pub const HAZARD_RED: Self = Self::new(0xe2, 0x00, 0x1a);

    /// A colour of sRGB.
    pub const fn new(red: u8, green: u8, blue: u8) -> Self {
        Self {
            rgb: [red, green, blue],
        }
    }

    /// A grey: 0 is black, 255 is white.
    pub const fn grey(light: u8) -> Self {
        Self::new(light, light, light)
    }

    pub(crate) fn hex(self) -> String {
        let [red, green, blue] = self.rgb;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }
}

/// A line's width, ink and dashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// How wide it draws, half of it on each side.
    pub width_mm: f64,
    /// The ink.
    pub colour: Colour,
    /// Length of a dash and of the gap after it.
    pub dash_mm: Option<(f64, f64)>,
    /// Whether ends and corners are round.
    pub round: bool,
}

impl Pen {
    /// A plain black pen.
    pub const fn new(width_mm: f64) -> Self {
        Self {
            width_mm,
            colour: Colour::BLACK,
            dash_mm: None,
            round: false,
        }
    }

    /// The same in another ink.
    #[must_use]
    pub const fn inked(self, colour: Colour) -> Self {
        Self { colour, ..self }
    }

    /// The same, dashed.
    #[must_use]
    pub const fn dashed(self, dash_mm: f64, gap_mm: f64) -> Self {
        Self {
            dash_mm: Some((dash_mm, gap_mm)),
            ..self
        }
    }

    /// The same with round ends and corners.
    #[must_use]
    pub const fn rounded(self) -> Self {
        Self {
            round: true,
            ..self
        }
    }
}

/// What a shape is filled with and drawn around with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Paint {
    /// The ink inside.
    pub fill: Option<Colour>,
    /// The line around.
    pub pen: Option<Pen>,
}

impl Paint {
    /// Filled.
    pub const fn fill(colour: Colour) -> Self {
        Self {
            fill: Some(colour),
            pen: None,
        }
    }

    /// Drawn around.
    pub const fn pen(pen: Pen) -> Self {
        Self {
            fill: None,
            pen: Some(pen),
        }
    }
}

/// What a text is, for those who have the page read to them and for the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tag {
    /// A heading of level 1 to 6, which the outline lists.
    Heading(u8),
    /// A paragraph.
    #[default]
    Paragraph,
    /// Words under or beside a figure.
    Caption,
    /// What stands on every page: left out of what is read.
    Furniture,
}

/// What a part of a drawing is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Structure {
    /// Things that belong together: one label of a sheet, one section of a page.
    Group,
    /// A picture, with what it shows in words.
    Figure(String),
    /// A table; holds rows. The parts of one table on several pages carry the
    /// same number.
    Table(u32),
    /// A row of headings; holds heading cells.
    HeadRow,
    /// A row; holds cells.
    Row,
    /// A heading cell of a column.
    HeadCell,
    /// A cell.
    Cell,
    /// Drawn, and not read: cut marks, a repeated heading.
    Furniture,
}

/// Quarter turns, clockwise as one looks at the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// Upright.
    #[default]
    None,
    /// A quarter to the right: read from the top down.
    Right,
    /// Upside down.
    Half,
    /// A quarter to the left: read from the bottom up.
    Left,
}

/// Shapes, texts and other drawings on a piece of paper.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// How wide the piece is.
    pub width_mm: f64,
    /// How high it is.
    pub height_mm: f64,
    pub(crate) items: Vec<Item>,
}

#[derive(Debug, Clone)]
pub(crate) enum Item {
    Text {
        x_mm: f64,
        y_mm: f64,
        set: Arc<Set>,
        tag: Tag,
    },
    Shape {
        path: BezPath,
        even_odd: bool,
        paint: Paint,
    },
    Part {
        affine: Affine,
        drawing: Arc<Drawing>,
        structure: Option<Structure>,
        /// In the measure of the part itself.
        clip: Option<BezPath>,
    },
}

impl Drawing {
    /// An empty piece of paper.
    pub fn new(width_mm: f64, height_mm: f64) -> Self {
        Self {
            width_mm,
            height_mm,
            items: Vec::new(),
        }
    }

    /// Whether nothing was drawn.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Puts a text with the upper left corner of its box at a place.
    pub fn text(&mut self, x_mm: f64, y_mm: f64, set: impl Into<Arc<Set>>, tag: Tag) {
        self.items.push(Item::Text {
            x_mm,
            y_mm,
            set: set.into(),
            tag,
        });
    }

    /// Puts a text with its first baseline at `baseline_mm`.
    pub fn text_on(&mut self, x_mm: f64, baseline_mm: f64, set: impl Into<Arc<Set>>, tag: Tag) {
        let set = set.into();
        let y_mm = baseline_mm - set.first_baseline_mm();
        self.text(x_mm, y_mm, set, tag);
    }

    /// Draws a straight line.
    pub fn line(&mut self, from_mm: (f64, f64), to_mm: (f64, f64), pen: Pen) {
        let mut path = BezPath::new();
        path.move_to(from_mm);
        path.line_to(to_mm);
        self.path(path, Paint::pen(pen));
    }

    /// Draws a rectangle, its corners rounded by `corner_mm`.
    pub fn rect(
        &mut self,
        x_mm: f64,
        y_mm: f64,
        width_mm: f64,
        height_mm: f64,
        corner_mm: f64,
        paint: Paint,
    ) {
        self.path(rectangle(x_mm, y_mm, width_mm, height_mm, corner_mm), paint);
    }

    /// Draws a circle.
    pub fn circle(&mut self, x_mm: f64, y_mm: f64, radius_mm: f64, paint: Paint) {
        self.path(
            Circle::new((x_mm, y_mm), radius_mm).to_path(TOLERANCE_MM),
            paint,
        );
    }

    /// Draws any path; what it goes around more than once is filled all the same.
    pub fn path(&mut self, path: BezPath, paint: Paint) {
        self.items.push(Item::Shape {
            path,
            even_odd: false,
            paint,
        });
    }

    /// Draws any path; what it goes around an even number of times is left free.
    pub fn path_with_holes(&mut self, path: BezPath, paint: Paint) {
        self.items.push(Item::Shape {
            path,
            even_odd: true,
            paint,
        });
    }

    /// Puts a drawing, turned, with the upper left corner of what it then covers
    /// at a place.
    pub fn place(&mut self, x_mm: f64, y_mm: f64, turn: Turn, drawing: impl Into<Arc<Drawing>>) {
        let drawing = drawing.into();
        let affine = turned(x_mm, y_mm, turn, &drawing);
        self.part(affine, drawing, None, None);
    }

    /// Puts a drawing by any movement of the plane: turned, drawn to another scale.
    pub fn transformed(&mut self, affine: Affine, drawing: impl Into<Arc<Drawing>>) {
        self.part(affine, drawing.into(), None, None);
    }

    /// Puts a drawing and shows only what lies inside a path of its own measure.
    pub fn clipped(
        &mut self,
        x_mm: f64,
        y_mm: f64,
        inside: BezPath,
        drawing: impl Into<Arc<Drawing>>,
    ) {
        self.part(
            Affine::translate((x_mm, y_mm)),
            drawing.into(),
            None,
            Some(inside),
        );
    }

    /// Puts a drawing that is one figure, with what it shows in words.
    pub fn figure(&mut self, x_mm: f64, y_mm: f64, alt: &str, drawing: impl Into<Arc<Drawing>>) {
        self.group(x_mm, y_mm, Structure::Figure(alt.to_owned()), drawing);
    }

    /// Puts a drawing and says what it is.
    pub fn group(
        &mut self,
        x_mm: f64,
        y_mm: f64,
        structure: Structure,
        drawing: impl Into<Arc<Drawing>>,
    ) {
        self.part(
            Affine::translate((x_mm, y_mm)),
            drawing.into(),
            Some(structure),
            None,
        );
    }

    pub(crate) fn part(
        &mut self,
        affine: Affine,
        drawing: Arc<Drawing>,
        structure: Option<Structure>,
        clip: Option<BezPath>,
    ) {
        self.items.push(Item::Part {
            affine,
            drawing,
            structure,
            clip,
        });
    }

    /// The texts in the order they are read, what stands on every page left out.
    pub fn texts(&self) -> Vec<String> {
        let mut texts = Vec::new();
        self.each_set(&mut |set, tag| {
            if tag != Tag::Furniture {
                texts.push(set.text().to_owned());
            }
        });
        texts
    }

    /// The box of what each text prints, with the text, in the drawing's measure.
    pub fn text_boxes(&self) -> Vec<(String, Rect)> {
        let mut boxes = Vec::new();
        self.collect_boxes(Affine::IDENTITY, &mut boxes);
        boxes
    }

    fn collect_boxes(&self, to: Affine, boxes: &mut Vec<(String, Rect)>) {
        for item in &self.items {
            match item {
                Item::Text {
                    x_mm, y_mm, set, ..
                } => {
                    if let Some(ink) = set.ink() {
                        let ink = ink + kurbo::Vec2::new(*x_mm, *y_mm);
                        boxes.push((set.text().to_owned(), to.transform_rect_bbox(ink)));
                    }
                }
                Item::Shape { .. } => {}
                Item::Part {
                    affine, drawing, ..
                } => drawing.collect_boxes(to * *affine, boxes),
            }
        }
    }

    /// Whether every place is a number that paper could have.
    pub(crate) fn measurable(&self) -> bool {
        let sane = |number: f64| number.is_finite() && number.abs() < 1e6;
        self.items.iter().all(|item| match item {
            Item::Text { x_mm, y_mm, .. } => sane(*x_mm) && sane(*y_mm),
            Item::Shape { path, paint, .. } => {
                let bounds = path.control_box();
                let lines = paint.pen.is_none_or(|pen| {
                    sane(pen.width_mm)
                        && pen.width_mm >= 0.0
                        && pen
                            .dash_mm
                            .is_none_or(|(dash, gap)| sane(dash) && sane(gap) && dash + gap > 0.0)
                });
                path.is_finite()
                    && lines
                    && (path.is_empty()
                        || [bounds.x0, bounds.y0, bounds.x1, bounds.y1]
                            .into_iter()
                            .all(sane))
            }
            Item::Part {
                affine,
                drawing,
                clip,
                ..
            } => {
                affine.as_coeffs().into_iter().all(sane)
                    && clip.as_ref().is_none_or(BezPath::is_finite)
                    && drawing.measurable()
            }
        })
    }

    pub(crate) fn each_set(&self, visit: &mut dyn FnMut(&Set, Tag)) {
        for item in &self.items {
            match item {
                Item::Text { set, tag, .. } => visit(set, *tag),
                Item::Shape { .. } => {}
                Item::Part {
                    drawing, structure, ..
                } => {
                    if *structure == Some(Structure::Furniture) {
                        drawing.each_set(&mut |set, _| visit(set, Tag::Furniture));
                    } else {
                        drawing.each_set(visit);
                    }
                }
            }
        }
    }
}

/// A rectangle as a path, its corners rounded as far as they can be.
pub fn rectangle(x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, corner_mm: f64) -> BezPath {
    let rect = Rect::new(x_mm, y_mm, x_mm + width_mm, y_mm + height_mm);
    let most = width_mm.abs().min(height_mm.abs()) / 2.0;
    let corner = if corner_mm.is_finite() {
        corner_mm.clamp(0.0, most.max(0.0))
    } else {
        0.0
    };
    if corner > 0.0 {
        RoundedRect::from_rect(rect, corner).to_path(TOLERANCE_MM)
    } else {
        rect.to_path(TOLERANCE_MM)
    }
}

fn turned(x_mm: f64, y_mm: f64, turn: Turn, drawing: &Drawing) -> Affine {
    let Drawing {
        width_mm,
        height_mm,
        ..
    } = *drawing;
    // Whole quarters, so that no sine leaves a rest.
    let quarter = match turn {
        Turn::None => Affine::IDENTITY,
        Turn::Right => Affine::new([0.0, 1.0, -1.0, 0.0, height_mm, 0.0]),
        Turn::Half => Affine::new([-1.0, 0.0, 0.0, -1.0, width_mm, height_mm]),
        Turn::Left => Affine::new([0.0, -1.0, 1.0, 0.0, 0.0, width_mm]),
    };
    Affine::translate((x_mm, y_mm)) * quarter
}

impl Tag {
    pub(crate) fn level(self) -> Option<NonZeroU16> {
        match self {
            Self::Heading(level) => NonZeroU16::new(u16::from(level.clamp(1, 6))),
            _ => None,
        }
    }
}
