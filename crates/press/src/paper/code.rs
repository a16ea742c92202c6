//! Bar codes and squares, drawn in millimetres from their modules.

use kurbo::{BezPath, Rect, Shape as _};
use label::symbol::{BarSize, BarSymbol, Bars, QUIET_MODULES, Square, SquareSize};

use super::drawing::{Colour, Drawing, Paint, Pen, Tag};
use super::font::{Face, Fonts};
use super::text::TextStyle;

/// How far guard bars reach down beyond the others, in modules (GS1 General
/// Specifications, 5.2: five modules).
const GUARD_MODULES: f64 = 5.0;
/// A digit's cell below the bars is as wide as its bars: seven modules.
const DIGIT_MODULES: f64 = 7.0;

/// Draws a bar code with its quiet zones and the digits below.
///
/// Guard bars reach down between the digits. Where a quiet zone holds no digit,
/// an arrowhead marks its end, so that nobody cuts into it.
pub fn bars(fonts: &Fonts, bars: &Bars, size: &BarSize) -> Drawing {
    let mut drawing = Drawing::new(size.width_mm, size.height_mm);
    let ground = Paint::fill(Colour::WHITE);
    drawing.rect(0.0, 0.0, size.width_mm, size.height_mm, 0.0, ground);
    let mut path = BezPath::new();
    for (module, wide) in bars.dark_runs() {
        let left = size.quiet_left_mm + f64::from(module) * size.x_mm;
        let guard = if bars.is_guard(module) {
            GUARD_MODULES * size.x_mm
        } else {
            0.0
        };
        let bar = Rect::new(
            left,
            0.0,
            left + f64::from(wide) * size.x_mm,
            (size.bar_height_mm + guard).min(size.height_mm),
        );
        path.extend(bar.path_elements(0.1));
    }
    drawing.path(path, Paint::fill(Colour::BLACK));
    digits(fonts, bars, size, &mut drawing);
    drawing
}

/// What a bar code shows, in words: `EAN-13 bar code 6291041500213`.
pub fn bars_in_words(bars: &Bars) -> String {
    let digits: String = bars.printed().iter().map(|part| written(part)).collect();
    format!("{} bar code {digits}", bars.symbol())
}

fn digits(fonts: &Fonts, bars: &Bars, size: &BarSize, drawing: &mut Drawing) {
    let x = size.x_mm;
    let symbol = bars.symbol();
    let n_modules = f64::from(symbol.n_modules());
    let [before, left, right, behind] = bars.printed();
    let em = fonts.size_for_digit_height(Face::Sans, size.digit_mm);
    // In UPC-A the outer digits stand free of the bars and a little smaller.
    let outer = if symbol == BarSymbol::UpcA { 0.75 } else { 1.0 };
    let first_left = if symbol == BarSymbol::UpcA { 10.0 } else { 3.0 };
    let centre = (n_modules - 1.0) / 2.0;
    let groups = [
        (before, -2.0 - DIGIT_MODULES * outer, outer),
        (left, first_left, 1.0),
        (right, centre + 3.0, 1.0),
        (behind, n_modules + 2.0, outer),
    ];
    for (group, from, share) in groups {
        if group.is_empty() {
            continue;
        }
        let cell = DIGIT_MODULES * x * share;
        let mut style = TextStyle {
            tabular: true,
            ..TextStyle::new(Face::Sans, em * share).leaded(1.0)
        };
        let advance = fonts.width("0", &style);
        style.spacing = (cell - advance) / style.size_mm;
        let set = fonts.set_line(&written(group), &style);
        let at = size.quiet_left_mm + from * x + (cell - advance) / 2.0;
        drawing.text_on(at, size.height_mm, set, Tag::Paragraph);
    }
    let (left_free, right_free) = (before.is_empty(), behind.is_empty());
    let middle = size.height_mm - size.digit_mm / 2.0;
    let (deep, half) = (2.5 * x, size.digit_mm * 0.3);
    let pen = Pen::new(x * 0.7);
    let mut arrow = |tip: f64, back: f64| {
        let mut path = BezPath::new();
        path.move_to((back, middle - half));
        path.line_to((tip, middle));
        path.line_to((back, middle + half));
        drawing.path(path, Paint::pen(pen));
    };
    if right_free {
        arrow(size.width_mm - x * 0.5, size.width_mm - x * 0.5 - deep);
    }
    if left_free {
        arrow(x * 0.5, x * 0.5 + deep);
    }
}

fn written(digits: &[u8]) -> String {
    digits
        .iter()
        .filter_map(|digit| char::from_digit(u32::from(*digit), 10))
        .collect()
}

/// Draws a QR square with its quiet zone.
pub fn square(square: &Square, size: &SquareSize) -> Drawing {
    let mut drawing = Drawing::new(size.whole_mm, size.whole_mm);
    let ground = Paint::fill(Colour::WHITE);
    drawing.rect(0.0, 0.0, size.whole_mm, size.whole_mm, 0.0, ground);
    let (module, quiet) = (size.module_mm, f64::from(QUIET_MODULES) * size.module_mm);
    let mut path = BezPath::new();
    for (column, row, wide) in square.dark_runs() {
        let (left, top) = (
            quiet + f64::from(column) * module,
            quiet + f64::from(row) * module,
        );
        let run = Rect::new(left, top, left + f64::from(wide) * module, top + module);
        path.extend(run.path_elements(0.1));
    }
    drawing.path(path, Paint::fill(Colour::BLACK));
    drawing
}
