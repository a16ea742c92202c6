//! The mark across a drawing that is only to be looked at.

use std::sync::Arc;

use kurbo::Affine;

use super::drawing::{Colour, Drawing, Pen, Tag};
use super::font::{Face, Fonts};
use super::text::TextStyle;

/// How much of the diagonal the words take.
const SHARE: f64 = 0.86;

/// Lays words across a drawing, in grey under what stands on it, and a hair
/// line over it, so that everything is still read and nobody takes it for the
/// real thing.
pub fn across(fonts: &Fonts, drawing: Arc<Drawing>, words: &str) -> Drawing {
    let (width, height) = (drawing.width_mm, drawing.height_mm);
    let diagonal = width.hypot(height);
    let mut marked = Drawing::new(width, height);
    let style = TextStyle::new(Face::SansBold, 10.0).inked(Colour::grey(0xc4));
    let set = fonts.set_line(words, &style);
    let (wide, high) = (set.width_mm(), set.height_mm());
    if wide > 0.0 && high > 0.0 && diagonal.is_finite() {
        let scale = (diagonal * SHARE / wide).min(width.min(height) * 0.6 / high);
        let mut piece = Drawing::new(wide, high);
        piece.text(0.0, 0.0, set, Tag::Furniture);
        let to = Affine::translate((width / 2.0, height / 2.0))
            * Affine::rotate(-height.atan2(width))
            * Affine::scale(scale)
            * Affine::translate((-wide / 2.0, -high / 2.0));
        marked.transformed(to, piece);
    }
    marked.transformed(Affine::IDENTITY, drawing);
    let pen = Pen::new(0.2).inked(Colour::grey(0x70));
    let mut line = Drawing::new(width, height);
    line.line(
        (width * 0.04, height * 0.96),
        (width * 0.96, height * 0.04),
        pen,
    );
    marked.group(0.0, 0.0, super::Structure::Furniture, line);
    marked
}
