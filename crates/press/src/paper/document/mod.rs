//! The papers of a workshop, each drawn from a plain description whose texts
//! are finished: no figure is worked out here, and none is made up.
//!
//! What is not known is an empty text or nothing, and becomes a box or a ruled
//! line to write on. Black ink, one side, page x of y at the foot.

mod batch_record;
mod bill;
mod card;
mod list;
mod notice;
mod packing_slip;
mod pour_sheet;
mod trace_sheet;

pub use batch_record::{BatchRecord, Told, UnitWeights, Used, Weighed};
pub use bill::{Bill, BillLine};
pub use card::{CardSize, CareCard, CareCards, Mind, PriceSign, PriceSigns};
pub use list::{LineSheet, PriceList, ScentGroup, ScentList, Ware};
pub use notice::{Notice, NoticePart, RecallNotice, Says};
pub use packing_slip::{PackingSlip, SlipLine};
pub use pour_sheet::{PourSheet, ToWeigh};
pub use trace_sheet::{CallLine, TraceSheet};

use super::drawing::{Colour, Drawing, Paint, Pen, Tag};
use super::flow::{Flow, PageSize, Setup};
use super::font::{Face, Fonts};
use super::text::{Align, TextStyle};
use super::{Document, Made};

/// What a paper is printed on, and what stands at its foot.
#[derive(Debug, Clone)]
pub struct On {
    /// The sheet.
    pub size: PageSize,
    /// The day.
    pub made: Made,
    /// The same day in words; it stands at the foot.
    pub day: String,
    /// Whose paper it is; it stands at the foot.
    pub from: String,
}

/// A paper that can be drawn.
pub trait Draw {
    /// Draws it.
    fn draw(&self, fonts: &Fonts, on: &On) -> Document;
}

/// The maker as papers for others name them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Maker {
    /// The trade name.
    pub name: String,
    /// The address, line by line.
    pub lines: Vec<String>,
    /// How to reach them: telephone, mail, web.
    pub contacts: Vec<String>,
}

/// A name with what belongs to it; nothing where it is still to be written in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// What it is.
    pub name: String,
    /// What is known of it; may be empty.
    pub value: String,
}

impl Blank {
    /// A name with what is known of it.
    pub fn new(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            value: value.into(),
        }
    }
}

const BOX: Pen = Pen::new(0.25);
const RULE: Pen = Pen::new(0.2);
const SOFT: Colour = Colour::grey(70);

fn setup(on: &On, name: &str) -> Setup {
    let parts = [on.from.as_str(), name, on.day.as_str()];
    let named: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    Setup {
        name: named.join(" · "),
        ..Setup::new(on.size)
    }
}

/// Boxes to write in, so many to a row, each under its name; what is known
/// already stands in its box.
fn boxes(flow: &mut Flow, of: &[Blank], per_row: usize, height_mm: f64) {
    let body = flow.body();
    let (size, width) = (body.size_mm, flow.width_mm());
    let gap = size * 0.8;
    let per_row = per_row.max(1);
    let columns = u32::try_from(per_row).map_or(1.0, f64::from);
    let box_width = ((width - gap * (columns - 1.0)) / columns).max(5.0);
    let small = body.sized(size * 0.82).inked(SOFT).leaded(1.2);
    let inside = TextStyle {
        face: Face::SansBold,
        tabular: true,
        ..body.sized(size * 1.15).leaded(1.1)
    };
    for row in of.chunks(per_row) {
        let fonts = flow.fonts();
        let sets: Vec<_> = row
            .iter()
            .map(|blank| {
                let pad = size * 0.5;
                (
                    fonts.set(&blank.name, &small, box_width),
                    fonts.fit(
                        &blank.value,
                        &inside,
                        box_width - 2.0 * pad,
                        height_mm - 1.0,
                        size * 0.7,
                    ),
                )
            })
            .collect();
        let names = sets.iter().map(|(name, _)| name.height_mm());
        let names = names.fold(0.0, f64::max);
        let tall = sets
            .iter()
            .map(|(_, value)| value.height_mm() + 1.0)
            .fold(height_mm, f64::max);
        let mut drawing = Drawing::new(width, names + 0.6 + tall);
        let mut x = 0.0;
        for (name, value) in sets {
            drawing.text(x, names - name.height_mm(), name, Tag::Paragraph);
            let (top, paint) = (names + 0.6, Paint::pen(BOX));
            drawing.rect(x, top, box_width, tall, 0.0, paint);
            if !value.lines().is_empty() {
                let y = top + (tall - value.height_mm()) / 2.0;
                drawing.text(x + size * 0.5, y, value, Tag::Paragraph);
            }
            x += box_width + gap;
        }
        flow.drawing(drawing);
    }
}

/// What a paper is at the left, the maker at the right.
fn letterhead(flow: &mut Flow, title: &str, below: &str, maker: &Maker) {
    let body = flow.body();
    let (size, width) = (body.size_mm, flow.width_mm());
    let fonts = flow.fonts().clone();
    let half = (width - size * 2.0) / 2.0;
    let heading = TextStyle {
        face: Face::SerifBold,
        balanced: true,
        ..body.sized(size * 2.3).leaded(1.1)
    };
    let mut left = vec![(fonts.set(title, &heading, half), Tag::Heading(1))];
    if !below.is_empty() {
        left.push((fonts.set(below, &body.inked(SOFT), half), Tag::Paragraph));
    }
    let name = TextStyle {
        face: Face::SansBold,
        ..body.aligned(Align::End)
    };
    let mut right = Vec::new();
    if !maker.name.is_empty() {
        right.push((fonts.set(&maker.name, &name, half), Tag::Paragraph));
    }
    for line in maker.lines.iter().chain(&maker.contacts) {
        let style = body.aligned(Align::End);
        right.push((fonts.set(line, &style, half), Tag::Paragraph));
    }
    let high = |column: &[(super::Set, Tag)]| -> f64 {
        column.iter().map(|(set, _)| set.height_mm()).sum()
    };
    let height = high(&left).max(high(&right)) + size * 0.6;
    let mut drawing = Drawing::new(width, height);
    for (column, x) in [(left, 0.0), (right, width - half)] {
        let mut y = 0.0;
        for (set, tag) in column {
            let high = set.height_mm();
            drawing.text(x, y, set, tag);
            y += high;
        }
    }
    drawing.line((0.0, height), (width, height), RULE);
    flow.drawing(drawing);
}

/// Names with what belongs to them; what is not known is left out.
fn pairs(flow: &mut Flow, of: &[Blank]) {
    let known: Vec<(&str, &str)> = of
        .iter()
        .filter(|blank| !blank.value.is_empty())
        .map(|blank| (blank.name.as_str(), blank.value.as_str()))
        .collect();
    if !known.is_empty() {
        flow.pairs(&known);
    }
}
