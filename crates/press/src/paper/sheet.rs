//! Sheets of labels, and the page that shows what a printer does to where
//! things land.

use std::sync::Arc;

use kurbo::{Affine, BezPath, Ellipse, Shape as _};
use label::sheet::{CALIBRATION_INSET_MM, Drift, Outline, Sheet};

use super::PaperError;
use super::drawing::{Colour, Drawing, Paint, Pen, Structure, Tag, Turn, rectangle};
use super::font::{Face, Fonts};
use super::text::{Align, TextStyle};

/// More pages than this are a slip of the finger.
const MOST_PAGES: u64 = 500;
/// More labels than this on however few pages, too.
const MOST_LABELS: u64 = 100_000;
const HAIR: Pen = Pen::new(0.1);

/// What is printed beside the labels of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Marks {
    /// Short lines at the edges of the page where it is to be cut.
    pub cut: bool,
    /// The outline of every label, also of those left free: for a proof.
    pub outlines: bool,
    /// How far a label's drawing may run over its edge; see `Sheet::bleed_mm`.
    pub bleed_mm: f64,
}

/// Puts runs of labels on sheets, beginning at place `start` (from 1, along the
/// rows) of the first, each drawn so that it lands true on a printer with this drift.
///
/// A drawing of another size than the label stands in its middle; what would
/// reach beyond the label and its bleed is not drawn.
///
/// # Errors
///
/// [`PaperError::TooMany`] for more than 500 sheets or 100,000 labels,
/// [`PaperError::NoPage`] for no label.
pub fn labels(
    sheet: &Sheet,
    runs: &[(Arc<Drawing>, u32)],
    start: u32,
    drift: Drift,
    marks: Marks,
) -> Result<Vec<Drawing>, PaperError> {
    let counts: Vec<u32> = runs.iter().map(|(_, count)| *count).collect();
    let n = counts.iter().map(|count| u64::from(*count)).sum();
    let n_pages = sheet.pages_for(n, start);
    if n_pages == 0 {
        return Err(PaperError::NoPage);
    }
    if n_pages > MOST_PAGES || n > MOST_LABELS {
        return Err(PaperError::TooMany { pages: n_pages });
    }
    let mut pages = Vec::new();
    for _ in 0..n_pages {
        let mut page = Drawing::new(sheet.page_width_mm, sheet.page_height_mm);
        furniture(sheet, drift, marks, &mut page);
        pages.push(page);
    }
    let (half_x, half_y) = (sheet.label_width_mm / 2.0, sheet.label_height_mm / 2.0);
    // One piece for all copies of a run: the label, cut at its edge.
    let pieces: Vec<Arc<Drawing>> = runs
        .iter()
        .map(|(drawing, _)| Arc::new(piece(sheet, Arc::clone(drawing), marks.bleed_mm)))
        .collect();
    for at in sheet.place(&counts, start, drift) {
        let page = usize::try_from(at.page)
            .ok()
            .and_then(|idx| pages.get_mut(idx));
        let (Some(page), Some(piece)) = (page, pieces.get(at.run)) else {
            continue;
        };
        let to = Affine::translate((at.x_mm + half_x, at.y_mm + half_y))
            * Affine::scale_non_uniform(1.0 / drift.scale_x, 1.0 / drift.scale_y)
            * Affine::translate((-half_x, -half_y));
        page.part(to, Arc::clone(piece), Some(Structure::Group), None);
    }
    Ok(pages)
}

/// A label in its own measure, cut at its outline and bleed.
fn piece(sheet: &Sheet, drawing: Arc<Drawing>, bleed_mm: f64) -> Drawing {
    let (width, height) = (sheet.label_width_mm, sheet.label_height_mm);
    let over_x = (width - drawing.width_mm) / 2.0;
    let over_y = (height - drawing.height_mm) / 2.0;
    let mut piece = Drawing::new(width, height);
    let bleed = if bleed_mm.is_finite() {
        bleed_mm.max(0.0)
    } else {
        0.0
    };
    let edge = outline(sheet, bleed);
    // In the drawing's own measure.
    let edge = Affine::translate((-over_x, -over_y)) * edge;
    piece.clipped(over_x, over_y, edge, drawing);
    piece
}

/// The outline of a label from its own corner, grown by `grow_mm`.
pub fn outline(sheet: &Sheet, grow_mm: f64) -> BezPath {
    let (width, height) = (sheet.label_width_mm, sheet.label_height_mm);
    match sheet.outline {
        Outline::Rectangle { corner_mm } => rectangle(
            -grow_mm,
            -grow_mm,
            width + 2.0 * grow_mm,
            height + 2.0 * grow_mm,
            // A bleed is cut off, so its corner need not be round.
            if grow_mm > 0.0 { 0.0 } else { corner_mm },
        ),
        Outline::Round | Outline::Oval => Ellipse::new(
            (width / 2.0, height / 2.0),
            (width / 2.0 + grow_mm, height / 2.0 + grow_mm),
            0.0,
        )
        .to_path(0.001),
    }
}

fn furniture(sheet: &Sheet, drift: Drift, marks: Marks, page: &mut Drawing) {
    let mut lines = Drawing::new(page.width_mm, page.height_mm);
    if marks.outlines {
        outlines(sheet, drift, HAIR.inked(Colour::grey(120)), &mut lines);
    }
    if marks.cut {
        cut_marks(sheet, drift, marks.bleed_mm.max(0.0), &mut lines);
    }
    if !lines.is_empty() {
        page.group(0.0, 0.0, Structure::Furniture, lines);
    }
}

fn outlines(sheet: &Sheet, drift: Drift, pen: Pen, into: &mut Drawing) {
    for row in 0..sheet.rows {
        for column in 0..sheet.columns {
            let (x, y) = sheet.cell_mm(column, row);
            let (left, top) = drift.aim(x, y);
            let to = Affine::translate((left, top))
                * Affine::scale_non_uniform(1.0 / drift.scale_x, 1.0 / drift.scale_y);
            into.path(to * outline(sheet, 0.0), Paint::pen(pen));
        }
    }
}

/// Lines where each column and row begins and ends, outside all labels.
fn cut_marks(sheet: &Sheet, drift: Drift, bleed_mm: f64, into: &mut Drawing) {
    let free = bleed_mm + 1.0;
    let (first_x, first_y) = sheet.cell_mm(0, 0);
    let (last_x, last_y) = sheet.cell_mm(
        sheet.columns.saturating_sub(1),
        sheet.rows.saturating_sub(1),
    );
    let (end_x, end_y) = (
        last_x + sheet.label_width_mm,
        last_y + sheet.label_height_mm,
    );
    // From where to where a mark may lie, before and after the labels.
    let before = |edge: f64| ((edge - free - 5.0).max(1.0), edge - free);
    let after = |edge: f64, page: f64| (edge + free, (edge + free + 5.0).min(page - 1.0));
    let mut mark = |from: (f64, f64), to: (f64, f64)| {
        into.line(drift.aim(from.0, from.1), drift.aim(to.0, to.1), HAIR);
    };
    for column in 0..sheet.columns {
        let left = sheet.cell_mm(column, 0).0;
        for x in [left, left + sheet.label_width_mm] {
            for (from, to) in [before(first_y), after(end_y, sheet.page_height_mm)] {
                if to - from > 0.8 {
                    mark((x, from), (x, to));
                }
            }
        }
    }
    for row in 0..sheet.rows {
        let top = sheet.cell_mm(0, row).1;
        for y in [top, top + sheet.label_height_mm] {
            for (from, to) in [before(first_x), after(end_x, sheet.page_width_mm)] {
                if to - from > 0.8 {
                    mark((from, y), (to, y));
                }
            }
        }
    }
}

/// A page to print once on plain paper: crosses and rulers that say what the
/// printer does, the outline of every label to hold against the sheet, and four
/// boxes for what was measured.
pub fn calibration(fonts: &Fonts, sheet: &Sheet) -> Drawing {
    let (width, height) = (sheet.page_width_mm, sheet.page_height_mm);
    let mut page = Drawing::new(width, height);
    let mut lines = Drawing::new(width, height);
    outlines(
        sheet,
        Drift::NONE,
        HAIR.inked(Colour::grey(150)),
        &mut lines,
    );
    let inset = CALIBRATION_INSET_MM;
    if width > 2.0 * inset + 15.0 && height > 2.0 * inset + 15.0 {
        for x in [inset, width - inset] {
            for y in [inset, height - inset] {
                cross(&mut lines, x, y);
            }
        }
        rulers(fonts, &mut lines);
    }
    // What the lines are for is said in the words between them.
    page.group(0.0, 0.0, Structure::Furniture, lines);
    instructions(fonts, sheet, &mut page);
    page
}

fn cross(into: &mut Drawing, x: f64, y: f64) {
    let pen = Pen::new(0.15);
    into.line((x - 6.0, y), (x + 6.0, y), pen);
    into.line((x, y - 6.0), (x, y + 6.0), pen);
    into.circle(x, y, 3.0, Paint::pen(pen));
}

/// Rulers between the crosses, counted from the edge of the paper: millimetres
/// along the top and the left, inches along the bottom and the right.
fn rulers(fonts: &Fonts, into: &mut Drawing) {
    let (width, height) = (into.width_mm, into.height_mm);
    let inset = CALIBRATION_INSET_MM;
    let style = TextStyle::new(Face::Sans, 2.2);
    let mut ruler = |along_x: bool, apart: f64, step: f64, long: i32, every: i32| {
        let side = if along_x { width } else { height };
        let unit = if step > 1.2 { "in" } else { "mm" };
        let mut first = true;
        let mut idx = 0;
        loop {
            let at = f64::from(idx) * step;
            if at > side - inset - 7.0 {
                break;
            }
            if at >= inset + 7.0 {
                let tick = if idx % every == 0 {
                    3.0
                } else if idx % long == 0 {
                    2.2
                } else {
                    1.3
                };
                let (from, to) = if along_x {
                    ((at, apart), (at, apart + tick))
                } else {
                    ((apart, at), (apart + tick, at))
                };
                into.line(from, to, HAIR);
                if idx % every == 0 {
                    let figure = if step > 1.2 { idx / every } else { idx };
                    let text = if first {
                        format!("{figure} {unit}")
                    } else {
                        figure.to_string()
                    };
                    first = false;
                    let set = fonts.set_line(&text, &style);
                    let (wide, high) = (set.width_mm(), set.height_mm());
                    if along_x {
                        into.text(at - wide / 2.0, apart + tick + 0.2, set, Tag::Paragraph);
                    } else {
                        into.text(apart + tick + 0.5, at - high / 2.0, set, Tag::Paragraph);
                    }
                }
            }
            idx += 1;
        }
    };
    ruler(true, inset, 1.0, 5, 10);
    ruler(false, inset, 1.0, 5, 10);
    // Sixteenths of an inch.
    ruler(true, height - inset, 25.4 / 16.0, 8, 16);
    ruler(false, width - inset, 25.4 / 16.0, 8, 16);
}

fn instructions(fonts: &Fonts, sheet: &Sheet, page: &mut Drawing) {
    let (width, height) = (page.width_mm, page.height_mm);
    let inset = CALIBRATION_INSET_MM;
    let room = (width - 2.0 * inset - 30.0)
        .clamp(20.0, 130.0)
        .min(width - 4.0);
    let em = (room / 36.0).clamp(1.6, 3.4);
    let title = fonts.set(
        "Where this printer puts things",
        &TextStyle {
            balanced: true,
            ..TextStyle::new(Face::SerifBold, em * 1.6)
        },
        room,
    );
    let how = fonts.set(
        &format!(
            "Print this page on plain paper at actual size, 100 %, with no fitting to the page. \
             Hold it behind a sheet of labels against the light: each outline should lie on a label. \
             If not, measure with a ruler, from the edge of the paper to the middle of the crosses, \
             and write the four figures where the label sheet is kept ({} labels of {} by {} mm).",
            sheet.per_page(),
            plain(sheet.label_width_mm),
            plain(sheet.label_height_mm)
        ),
        &TextStyle::new(Face::Sans, em).leaded(1.4),
        room,
    );
    let rows = [
        ("Left edge to the left crosses", inset),
        ("Left edge to the right crosses", width - inset),
        ("Top edge to the upper crosses", inset),
        ("Top edge to the lower crosses", height - inset),
    ];
    let row_high = em * 2.6;
    let box_wide = em * 7.0;
    let high = title.height_mm() + how.height_mm() + 2.0 * em + 4.0 * row_high;
    let pad = em * 1.5;
    if high + 2.0 * pad > height - 4.0 {
        return;
    }
    let mut words = Drawing::new(room + 2.0 * pad, high + 2.0 * pad);
    words.rect(
        0.0,
        0.0,
        words.width_mm,
        words.height_mm,
        0.0,
        Paint::fill(Colour::WHITE),
    );
    let mut y = pad;
    let title_high = title.height_mm();
    words.text(pad, y, title, Tag::Heading(1));
    y += title_high + em;
    let how_high = how.height_mm();
    words.text(pad, y, how, Tag::Paragraph);
    y += how_high + em;
    for (name, meant) in rows {
        let middle = y + row_high / 2.0;
        let text = format!("{name}: meant {} mm", plain(meant));
        let set = fonts.set(&text, &TextStyle::new(Face::Sans, em), room - box_wide - em);
        let set_y = middle - set.height_mm() / 2.0;
        words.text(pad, set_y, set, Tag::Paragraph);
        words.rect(
            pad + room - box_wide,
            y + em * 0.2,
            box_wide,
            row_high - em * 0.4,
            0.0,
            Paint::pen(Pen::new(0.25)),
        );
        let unit = fonts.set(
            "mm",
            &TextStyle::new(Face::Sans, em * 0.8).aligned(Align::End),
            box_wide - em * 0.5,
        );
        let unit_y = middle - unit.height_mm() / 2.0;
        words.text(pad + room - box_wide, unit_y, unit, Tag::Paragraph);
        y += row_high;
    }
    let (x, y) = (
        (width - words.width_mm) / 2.0,
        (height - words.height_mm) / 2.0,
    );
    page.place(x, y, Turn::None, words);
}

fn plain(mm: f64) -> String {
    let text = format!("{mm:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
