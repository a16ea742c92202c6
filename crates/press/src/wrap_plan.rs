//! What does it wrap in, and where does it fold?

use std::fmt::Write as _;

use crate::svg::El;
use crate::words::width;
use crate::{Picture, Table};

/// What a line of the sheet is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WrapLine {
    /// Folded round an edge.
    Edge,
    /// Pushed in at an end.
    Crease,
    /// Where the other edge comes to lie.
    Seam,
}

/// A piece of the sheet with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapPanel<'a> {
    /// Where it comes to lie; the front is drawn stronger.
    pub name: &'a str,
    /// Whether it is the front.
    pub is_front: bool,
    /// Whether its name is written on it; small pieces go without.
    pub is_named: bool,
    /// Its corners, mm.
    pub corners: &'a [(f64, f64)],
}

/// A fold: its kind of line and its two ends.
pub type WrapFold = (WrapLine, (f64, f64), (f64, f64));

/// A sheet laid flat, in millimetres, x right and y down.
#[derive(Clone, Copy)]
pub struct WrapPlan<'a> {
    /// The answer the picture gives.
    pub title: &'a str,
    /// Width of the sheet.
    pub width_mm: f64,
    /// Height of the sheet.
    pub height_mm: f64,
    /// Its cut edge.
    pub outline: &'a [(f64, f64)],
    /// Its pieces.
    pub panels: &'a [WrapPanel<'a>],
    /// Its folds.
    pub folds: &'a [WrapFold],
    /// The label on it: its name, left, top, width, height.
    pub label: Option<(&'a str, [f64; 4])>,
    /// Writes a length: `124 mm`.
    pub write: &'a dyn Fn(f64) -> String,
}

/// A picture 280 pixels wide with text of 14 shows so many ems across.
const ACROSS_EMS: f64 = 20.0;
/// Room round the sheet for its measures, in ems.
const MARGIN: f64 = 2.2;

/// Draws the sheet to scale: cut edge, folds by kind of line, panels by name,
/// the label on the front, and both measures.
///
/// Unlike the charts this one has a `viewBox`, since it must stay in
/// proportion; its text is sized so that it reads at 280 pixels.
///
/// `None` when the sheet has no size.
pub fn wrap_plan(input: &WrapPlan) -> Option<Picture> {
    let WrapPlan {
        title,
        width_mm,
        height_mm,
        outline,
        panels,
        folds,
        label,
        write,
    } = *input;
    let sized = [width_mm, height_mm]
        .into_iter()
        .all(|side| side.is_finite() && side > 0.0);
    if !sized || outline.len() < 3 {
        return None;
    }
    // One em of the picture's text in millimetres of the sheet.
    let em = width_mm.max(height_mm * 0.7) / (ACROSS_EMS - 2.0 * MARGIN);
    let shift = MARGIN * em;

    let mut table = Table::new(["part", "width", "height", "from the left", "from the top"]);
    for panel in panels {
        let (left, top, wide, high) = bounds(panel.corners);
        table.row([
            panel.name.to_owned(),
            write(wide),
            write(high),
            write(left),
            write(top),
        ]);
    }
    if let Some((name, [left, top, wide, high])) = label {
        table.row([
            name.to_owned(),
            write(wide),
            write(high),
            write(left),
            write(top),
        ]);
    }
    let count = |kind: WrapLine| folds.iter().filter(|fold| fold.0 == kind).count();
    let mut said = format!(
        "A sheet {} wide and {} high, laid flat.",
        write(width_mm),
        write(height_mm)
    );
    if let Some(front) = panels.iter().find(|panel| panel.is_front) {
        let (left, top, wide, high) = bounds(front.corners);
        let _ = write!(
            said,
            " The front, {} by {}, lies {} from the left and {} from the top.",
            write(wide),
            write(high),
            write(left),
            write(top)
        );
    }
    let lines = [
        (
            WrapLine::Edge,
            "line to fold round an edge",
            "lines to fold round edges",
        ),
        (WrapLine::Crease, "crease at an end", "creases at the ends"),
        (WrapLine::Seam, "seam", "seams"),
    ];
    for (kind, one, many) in lines {
        match count(kind) {
            0 => {}
            1 => {
                let _ = write!(said, " 1 {one}.");
            }
            n => {
                let _ = write!(said, " {n} {many}.");
            }
        }
    }

    let place = |(x, y): (f64, f64)| (x + shift, y + shift);
    let mut body = vec![
        El::new("path")
            .class("sheet")
            .attr("d", path(outline, &place)),
    ];
    for panel in panels.iter().filter(|panel| panel.is_front) {
        body.push(
            El::new("path")
                .class("front")
                .attr("d", path(panel.corners, &place)),
        );
    }
    for (kind, from, to) in folds {
        let class = match kind {
            WrapLine::Edge => "fold",
            WrapLine::Crease => "fold crease",
            WrapLine::Seam => "fold seam",
        };
        body.push(line(class, place(*from), place(*to)));
    }
    if let Some((_, [left, top, wide, high])) = label {
        let (x, y) = place((left, top));
        body.push(
            El::new("rect")
                .class("on-front")
                .attr("x", digits(x))
                .attr("y", digits(y))
                .attr("width", digits(wide))
                .attr("height", digits(high)),
        );
    }
    for panel in panels.iter().filter(|panel| panel.is_named) {
        let (left, top, wide, high) = bounds(panel.corners);
        let long = width(panel.name) * em;
        let (x, y) = place((left + wide / 2.0, top + high / 2.0));
        if wide >= long + 0.4 * em && high >= 1.1 * em {
            body.push(words("middle", (x, y + 0.35 * em), panel.name));
        } else if high >= long + 0.4 * em && wide >= 1.1 * em {
            body.push(words("middle", (x + 0.35 * em, y), panel.name).attr(
                "transform",
                format!("rotate(-90 {} {})", digits(x + 0.35 * em), digits(y)),
            ));
        }
    }
    // Both measures, outside, each with its line.
    let below = height_mm + shift + 0.7 * em;
    body.push(line("measure", (shift, below), (shift + width_mm, below)));
    body.push(words(
        "middle",
        (shift + width_mm / 2.0, below + 1.25 * em),
        &write(width_mm),
    ));
    let beside = shift - 0.7 * em;
    body.push(line(
        "measure",
        (beside, shift),
        (beside, shift + height_mm),
    ));
    let middle = (beside - 0.5 * em, shift + height_mm / 2.0);
    body.push(words("middle", middle, &write(height_mm)).attr(
        "transform",
        format!("rotate(-90 {} {})", digits(middle.0), digits(middle.1)),
    ));

    let id = identifier(title, &said, &table);
    let whole = (width_mm + 2.0 * shift, height_mm + 2.0 * shift);
    let mut inside = vec![
        El::new("title").attr("id", format!("{id}-t")).text(title),
        El::new("desc")
            .attr("id", format!("{id}-d"))
            .text(said.as_str()),
    ];
    // The size of the text is the sheet's own: an em of the drawing.
    inside.push(El::new("g").attr("font-size", digits(em)).holding(body));
    let svg = El::new("svg")
        .attr("xmlns", "http://www.w3.org/2000/svg")
        .class("pic wrap-plan")
        .attr("role", "img")
        .attr("aria-labelledby", format!("{id}-t {id}-d"))
        .attr(
            "viewBox",
            format!("0 0 {} {}", digits(whole.0), digits(whole.1)),
        )
        .holding(inside);
    Some(Picture {
        svg: svg.to_string(),
        title: title.to_owned(),
        text: said,
        table,
    })
}

fn words(anchor: &'static str, at: (f64, f64), text: &str) -> El {
    El::new("text")
        .attr("x", digits(at.0))
        .attr("y", digits(at.1))
        .attr("text-anchor", anchor)
        .text(text)
}

fn line(class: &str, from: (f64, f64), to: (f64, f64)) -> El {
    El::new("line")
        .class(class)
        .attr("x1", digits(from.0))
        .attr("y1", digits(from.1))
        .attr("x2", digits(to.0))
        .attr("y2", digits(to.1))
}

fn path(corners: &[(f64, f64)], place: &dyn Fn((f64, f64)) -> (f64, f64)) -> String {
    let mut d = String::new();
    for (idx, corner) in corners.iter().enumerate() {
        let (x, y) = place(*corner);
        let _ = write!(
            d,
            "{}{} {}",
            if idx == 0 { 'M' } else { 'L' },
            digits(x),
            digits(y)
        );
    }
    d.push('z');
    d
}

fn bounds(corners: &[(f64, f64)]) -> (f64, f64, f64, f64) {
    let least = |of: fn(&(f64, f64)) -> f64| corners.iter().map(of).fold(f64::INFINITY, f64::min);
    let most =
        |of: fn(&(f64, f64)) -> f64| corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    if corners.is_empty() {
        return (0.0, 0.0, 0.0, 0.0);
    }
    let (left, top) = (least(|p| p.0), least(|p| p.1));
    (left, top, most(|p| p.0) - left, most(|p| p.1) - top)
}

/// Hundredths of a millimetre at most.
fn digits(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

/// As the charts name theirs: the FNV-1a hash of what it says.
fn identifier(title: &str, text: &str, table: &Table) -> String {
    let cells = table.rows.iter().flatten().map(String::as_str);
    let hash = ["wrap-plan", title, text]
        .into_iter()
        .chain(cells)
        .flat_map(str::bytes)
        .fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        });
    format!("p{hash:08x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square<'a>(name: &'a str, corners: &'a [(f64, f64)]) -> WrapPanel<'a> {
        WrapPanel {
            name,
            is_front: true,
            is_named: true,
            corners,
        }
    }

    #[test]
    fn a_sheet_is_drawn_to_scale_and_said_in_words() {
        let outline = [(0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0)];
        let front = [(10.0, 20.0), (110.0, 20.0), (110.0, 60.0), (10.0, 60.0)];
        let panels = [square("front <b>", &front)];
        let folds = [(WrapLine::Edge, (0.0, 20.0), (120.0, 20.0))];
        let picture = wrap_plan(&WrapPlan {
            title: "Cut 120 × 80 mm",
            width_mm: 120.0,
            height_mm: 80.0,
            outline: &outline,
            panels: &panels,
            folds: &folds,
            label: Some(("label", [12.0, 22.0, 96.0, 36.0])),
            write: &|mm| format!("{mm:.0} mm"),
        })
        .unwrap();
        assert_eq!(
            picture.text,
            "A sheet 120 mm wide and 80 mm high, laid flat. The front, 100 mm by 40 mm, lies 10 mm from the left and 20 mm from the top. 1 line to fold round an edge."
        );
        assert_eq!(picture.table.rows.len(), 2);
        assert!(picture.svg.contains("front &lt;b&gt;"));
        // The drawing keeps the sheet's own proportions: 120 by 80 in it.
        assert!(picture.svg.contains(r#"width="96" height="36""#));
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        let plan = WrapPlan {
            title: "",
            width_mm: 0.0,
            height_mm: f64::NAN,
            outline: &[],
            panels: &[],
            folds: &[],
            label: None,
            write: &|_| String::new(),
        };
        assert!(wrap_plan(&plan).is_none());
    }
}
