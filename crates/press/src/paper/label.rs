//! The label on a good: three layouts of our own, fitted to any size.
//!
//! - **Ledger**: a notebook page. Everything stands at the left behind a margin
//!   rule, ruled lines fill what is left free.
//! - **Plate**: a plate screwed to a bench. Everything stands in the middle of
//!   a double frame.
//! - **Ribbon**: the name in white on a ribbon across.
//!
//! Fitting shrinks text only to the least height a rule gives, measured on the
//! outlines of the letters, or to [`LEGIBLE_X_HEIGHT_MM`] where none does; then
//! it changes the arrangement, then the layout; then it leaves out what the
//! market does not ask for; then it says what does not fit, by how much, and
//! what would. Nothing is drawn over anything else or outside the safe area.

mod blocks;
mod compose;
mod draw;
mod line;
mod place;

use std::collections::BTreeMap;

use ::label::check::{self, Check, LEGIBLE_X_HEIGHT_MM};
use ::label::wording::{Role, Wording};
use kurbo::Rect;

use super::{Colour, Drawing, Face, Fonts};
use compose::{Candidate, Look, compose};
use line::Ruler;

/// The form of a label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A rectangle.
    Rectangle {
        /// From left to right.
        width_mm: f64,
        /// From top to bottom.
        height_mm: f64,
        /// Radius of its corners.
        corner_mm: f64,
    },
    /// A circle.
    Round {
        /// Across.
        diameter_mm: f64,
    },
    /// A band around something: the front in its middle, small print on both
    /// sides.
    Band {
        /// All around.
        width_mm: f64,
        /// From top to bottom.
        height_mm: f64,
        /// Width of the front.
        front_mm: f64,
    },
}

impl Shape {
    /// Its box.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::Rectangle {
                width_mm,
                height_mm,
                ..
            }
            | Self::Band {
                width_mm,
                height_mm,
                ..
            } => (width_mm, height_mm),
            Self::Round { diameter_mm } => (diameter_mm, diameter_mm),
        }
    }

    /// Its surface.
    pub fn area_mm2(self) -> f64 {
        let (width, height) = self.size_mm();
        match self {
            Self::Round { .. } => std::f64::consts::PI * width * height / 4.0,
            Self::Rectangle { corner_mm, .. } => {
                let corner = corner_mm.clamp(0.0, width.min(height).max(0.0) / 2.0);
                width * height - (4.0 - std::f64::consts::PI) * corner * corner
            }
            Self::Band { .. } => width * height,
        }
    }

    /// The same form, larger.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        match self {
            Self::Rectangle {
                width_mm,
                height_mm,
                corner_mm,
            } => Self::Rectangle {
                width_mm: width_mm * factor,
                height_mm: height_mm * factor,
                corner_mm,
            },
            Self::Round { diameter_mm } => Self::Round {
                diameter_mm: diameter_mm * factor,
            },
            Self::Band {
                width_mm,
                height_mm,
                front_mm,
            } => Self::Band {
                width_mm: width_mm * factor,
                height_mm: height_mm * factor,
                front_mm: front_mm * factor,
            },
        }
    }

    fn is_sound(self) -> bool {
        let length = |mm: f64| mm.is_finite() && (1.0..=2000.0).contains(&mm);
        let (width, height) = self.size_mm();
        length(width)
            && length(height)
            && match self {
                Self::Rectangle { corner_mm, .. } => corner_mm.is_finite() && corner_mm >= 0.0,
                Self::Round { .. } => true,
                Self::Band { front_mm, .. } => length(front_mm) && front_mm <= width,
            }
    }
}

/// Which part of the wording a label carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// All of it.
    Whole,
    /// Maker, name, what it is and the net weight.
    Front,
    /// Everything else.
    Back,
}

/// A layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layout {
    /// A notebook page.
    Ledger,
    /// A bench plate.
    Plate,
    /// A name on a ribbon.
    Ribbon,
}

impl Layout {
    /// All three, in the order they are tried.
    pub const ALL: [Self; 3] = [Self::Ledger, Self::Plate, Self::Ribbon];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ledger => "ledger",
            Self::Plate => "plate",
            Self::Ribbon => "ribbon",
        }
    }

    /// Reads a name.
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.name() == name)
    }

    /// Itself, then the others.
    fn and_others(self) -> [Self; 3] {
        match self {
            Self::Ledger => [Self::Ledger, Self::Plate, Self::Ribbon],
            Self::Plate => [Self::Plate, Self::Ribbon, Self::Ledger],
            Self::Ribbon => [Self::Ribbon, Self::Plate, Self::Ledger],
        }
    }
}

/// The label that is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Its form.
    pub shape: Shape,
    /// What it carries.
    pub side: Side,
    /// The layout tried first.
    pub layout: Layout,
    /// Whether another layout may be taken where that one does not fit.
    pub other_layouts: bool,
    /// Nothing is printed nearer to the cut edge.
    pub safe_mm: f64,
    /// A second ink for ribbon, ornament and margin; black without one. One
    /// too light for white letters is not taken for the ribbon.
    pub accent: Option<Colour>,
}

impl Request {
    /// A label with a safe area of 1.5 mm in black.
    pub fn new(shape: Shape, side: Side, layout: Layout) -> Self {
        Self {
            shape,
            side,
            layout,
            other_layouts: true,
            safe_mm: 1.5,
            accent: None,
        }
    }
}

/// The size a part was set in.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedSize {
    /// The part.
    pub role: Role,
    /// The face.
    pub face: Face,
    /// The em, mm.
    pub em_mm: f64,
    /// Height of the small letters on the outlines, mm.
    pub x_height_mm: f64,
    /// Height of the capitals on the outlines, mm.
    pub cap_height_mm: f64,
}

/// Something that was left out, since no market asks for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The part.
    pub role: Role,
    /// What of it.
    pub what: String,
}

/// What stands where.
#[derive(Debug, Clone, PartialEq)]
pub struct InkBox {
    /// The part; none for a rule or an ornament.
    pub role: Option<Role>,
    /// The box of its ink, mm.
    pub ink: Rect,
    /// Whether it is the ribbon behind the name, which its letters lie on.
    pub behind: bool,
}

/// A label as it is printed.
#[derive(Debug, Clone)]
pub struct FittedLabel {
    /// The drawing, in the size of the label.
    pub drawing: Drawing,
    /// Its form.
    pub shape: Shape,
    /// What it carries.
    pub side: Side,
    /// The layout taken.
    pub layout: Layout,
    /// How it is arranged: "front beside two columns".
    pub arrangement: String,
    /// The sizes the parts were set in, smallest of each.
    pub used_sizes: Vec<UsedSize>,
    /// The checklist.
    pub checks: Vec<Check>,
    /// What was left out.
    pub left_out: Vec<LeftOut>,
    /// What stands where, measured on the outlines.
    pub boxes: Vec<InkBox>,
}

impl FittedLabel {
    /// Whether no line of the checklist fails.
    pub fn meets(&self) -> bool {
        self.checks
            .iter()
            .all(|check| check.verdict != check::Verdict::Fail)
    }
}

/// A part that found no room.
#[derive(Debug, Clone, PartialEq)]
pub struct Short {
    /// The part.
    pub role: Role,
    /// The paper it needs at its least size, mm².
    pub needs_mm2: f64,
    /// The lines it makes at that size across the label.
    pub lines: usize,
}

/// Why no label came of it.
#[derive(Debug, Clone, thiserror::Error)]
pub enum LabelError {
    /// A form that is none.
    #[error("a label is between 1 mm and 2,000 mm wide and high, its front within it")]
    Shape,
    /// A character no typeface here has.
    #[error("no typeface here has {} (U+{:04X}), which stands in {role}", super::shown(*character), u32::from(*character))]
    Missing {
        /// The part.
        role: Role,
        /// The character.
        character: char,
    },
    /// There is nothing to print on this side.
    #[error("there is nothing to print on it")]
    Empty,
    /// It does not fit.
    #[error("{0}")]
    NoFit(Box<NoFit>),
}

/// What does not fit, and what would.
#[derive(Debug, Clone)]
pub struct NoFit {
    /// What finds no room, in the order it was tried.
    pub short: Vec<Short>,
    /// The label with the rest, for a preview.
    pub best: Option<Box<FittedLabel>>,
    /// Whether a front and a back of this form carry it all.
    pub pair_fits: bool,
    /// The smallest of this form, in steps of a twentieth, that carries it.
    pub smallest: Option<Shape>,
}

impl std::fmt::Display for NoFit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.short.is_empty() {
            write!(f, "together the parts do not fit")?;
        } else {
            for (nth, short) in self.short.iter().enumerate() {
                let lines = if short.lines == 1 { "line" } else { "lines" };
                write!(
                    f,
                    "{}no room for {}: it takes {:.0} mm², {} {lines} at the least size",
                    if nth == 0 { "" } else { "; " },
                    short.role,
                    short.needs_mm2.ceil(),
                    short.lines,
                )?;
            }
        }
        if self.pair_fits {
            write!(f, "; a front and a back label of this size carry all of it")?;
        }
        if let Some(shape) = self.smallest {
            let (width, height) = shape.size_mm();
            match shape {
                Shape::Round { .. } => {
                    write!(f, "; one of {:.0} mm across would carry it", width.ceil())?;
                }
                _ => write!(
                    f,
                    "; one of {:.0} by {:.0} mm would carry it",
                    width.ceil(),
                    height.ceil()
                )?,
            }
        }
        Ok(())
    }
}

/// A front and a back.
#[derive(Debug, Clone)]
pub struct Pair {
    /// The front.
    pub front: FittedLabel,
    /// The back.
    pub back: FittedLabel,
}

/// Fits a wording to a label.
///
/// The same wording and request give the same label on every machine.
///
/// # Errors
///
/// [`LabelError`].
pub fn fit(fonts: &Fonts, wording: &Wording, request: &Request) -> Result<FittedLabel, LabelError> {
    let ruler = Ruler::new(fonts);
    let carried = prepare(fonts, wording, request)?;
    if let Some(fitted) = try_all(&ruler, &carried, request) {
        return Ok(fitted);
    }
    Err(LabelError::NoFit(Box::new(no_fit(
        &ruler, wording, &carried, request,
    ))))
}

/// Fits a front and a back of two forms.
///
/// # Errors
///
/// [`LabelError`], of the front first.
pub fn fit_pair(
    fonts: &Fonts,
    wording: &Wording,
    front: &Request,
    back: &Request,
) -> Result<Pair, LabelError> {
    let front = fit(
        fonts,
        wording,
        &Request {
            side: Side::Front,
            ..*front
        },
    )?;
    let back = fit(
        fonts,
        wording,
        &Request {
            side: Side::Back,
            layout: front.layout,
            ..*back
        },
    )?;
    Ok(Pair { front, back })
}

/// Checks form and characters, and takes what belongs on this side.
fn prepare(fonts: &Fonts, wording: &Wording, request: &Request) -> Result<Wording, LabelError> {
    let (width, height) = request.shape.size_mm();
    let safe = request.safe_mm;
    if !request.shape.is_sound()
        || !safe.is_finite()
        || safe < 0.0
        || 2.0 * safe + 1.0 > width.min(height)
    {
        return Err(LabelError::Shape);
    }
    let carried = blocks::on_side(wording, request.side);
    if !Role::ALL.iter().any(|role| carried.has(*role)) {
        return Err(LabelError::Empty);
    }
    for (role, text) in blocks::texts(&carried) {
        if let Some(character) = fonts.missing(&text).first() {
            return Err(LabelError::Missing {
                role,
                character: *character,
            });
        }
    }
    Ok(carried)
}

/// Everything at first, then ever less of what no market asks for; each in
/// the layout wanted, then in the others. Words are cut last.
fn try_all(ruler: &Ruler<'_>, wording: &Wording, request: &Request) -> Option<FittedLabel> {
    let ever_less = blocks::ever_less(wording);
    for cut in [false, true] {
        for (left, left_out) in &ever_less {
            if let Some(layout) = where_it_fits(ruler, left, request, cut) {
                let found = compose(ruler, left, request, layout, cut, Look::Best)?;
                return Some(finish(ruler, left, left_out, request, layout, &found));
            }
        }
    }
    None
}

/// The first layout that holds it at the least sizes.
fn where_it_fits(
    ruler: &Ruler<'_>,
    wording: &Wording,
    request: &Request,
    cut: bool,
) -> Option<Layout> {
    if compose::is_hopeless(ruler, wording, request) {
        return None;
    }
    let all = request.layout.and_others();
    let layouts = if request.other_layouts {
        &all[..]
    } else {
        &all[..1]
    };
    layouts
        .iter()
        .find(|layout| compose(ruler, wording, request, **layout, cut, Look::Whether).is_some())
        .copied()
}

/// Whether it fits somehow, words cut or not.
fn fits(ruler: &Ruler<'_>, wording: &Wording, request: &Request) -> bool {
    [false, true]
        .into_iter()
        .any(|cut| where_it_fits(ruler, wording, request, cut).is_some())
}

/// Draws what was found and holds it against the rules.
fn finish(
    ruler: &Ruler<'_>,
    wording: &Wording,
    left_out: &[LeftOut],
    request: &Request,
    layout: Layout,
    found: &Candidate,
) -> FittedLabel {
    let drawn = draw::draw(ruler.fonts, request, layout, found);
    let checks = draw::checks(ruler, wording, request, found, &drawn);
    let mut sizes: BTreeMap<Role, UsedSize> = BTreeMap::new();
    for placed in &found.placed {
        if let (Some(role), place::Thing::Text { para, .. }) = (placed.role, &placed.what) {
            let size = UsedSize {
                role,
                face: para.of.face,
                em_mm: para.em,
                x_height_mm: ruler.x_height(para.of) * para.em,
                cap_height_mm: ruler.fonts.cap_height(para.of.face, para.em),
            };
            let kept = sizes.entry(role).or_insert_with(|| size.clone());
            if size.x_height_mm < kept.x_height_mm {
                *kept = size;
            }
        }
    }
    FittedLabel {
        drawing: drawn.drawing,
        shape: request.shape,
        side: request.side,
        layout,
        arrangement: found.arrangement.clone(),
        used_sizes: sizes.into_values().collect(),
        checks,
        left_out: left_out.to_vec(),
        boxes: drawn.boxes,
    }
}

/// What can be carried, by taking the parts one after the other, and what
/// would carry all of it.
fn no_fit(ruler: &Ruler<'_>, wording: &Wording, carried: &Wording, request: &Request) -> NoFit {
    let least = blocks::ever_less(carried)
        .pop()
        .map_or_else(|| carried.clone(), |(least, _)| least);
    let single = Request {
        other_layouts: false,
        ..*request
    };
    let mut kept = blocks::without_all(&least);
    let mut short = Vec::new();
    for role in blocks::BY_WEIGHT {
        if !least.has(role) {
            continue;
        }
        let mut tried = kept.clone();
        blocks::take(&mut tried, &least, role);
        // Only a name is worth cutting a word for.
        let cut = role == Role::Name;
        if where_it_fits(ruler, &tried, &single, false).is_some()
            || (cut && fits(ruler, &tried, &single))
        {
            kept = tried;
        } else {
            let (needs_mm2, lines) = compose::least_area(ruler, &least, role, request);
            short.push(Short {
                role,
                needs_mm2,
                lines,
            });
        }
    }
    let best = [false, true].into_iter().find_map(|cut| {
        let found = compose(ruler, &kept, &single, single.layout, cut, Look::Best)?;
        Some(Box::new(finish(
            ruler,
            &kept,
            &[],
            &single,
            single.layout,
            &found,
        )))
    });
    let pair_fits = request.side == Side::Whole
        && [Side::Front, Side::Back].iter().all(|side| {
            let of_side = blocks::on_side(wording, *side);
            let of_side = blocks::ever_less(&of_side)
                .pop()
                .map_or(of_side, |(least, _)| least);
            fits(
                ruler,
                &of_side,
                &Request {
                    side: *side,
                    ..*request
                },
            )
        });
    NoFit {
        short,
        best,
        pair_fits,
        smallest: smallest(ruler, &least, request),
    }
}

/// The smallest of the form that carries it, up to four times as large.
fn smallest(ruler: &Ruler<'_>, least: &Wording, request: &Request) -> Option<Shape> {
    let at = |twentieths: u32| request.shape.times(f64::from(twentieths) / 20.0);
    let carries = |twentieths: u32| {
        let larger = Request {
            shape: at(twentieths),
            ..*request
        };
        fits(ruler, least, &larger)
    };
    let (mut fails, mut enough) = (20, 80);
    if !carries(enough) {
        return None;
    }
    while enough - fails > 1 {
        let tried = u32::midpoint(fails, enough);
        if carries(tried) {
            enough = tried;
        } else {
            fails = tried;
        }
    }
    Some(at(enough))
}

/// The least em for a height of small letters.
fn em_for(ruler: &Ruler<'_>, of: line::Type, x_height_mm: f64) -> f64 {
    x_height_mm / ruler.x_height(of)
}

/// The least em of text no rule gives a size for.
fn legible_em(ruler: &Ruler<'_>, of: line::Type) -> f64 {
    // A hair more, so that rounding does not put it below.
    em_for(ruler, of, LEGIBLE_X_HEIGHT_MM * 1.0005)
}
