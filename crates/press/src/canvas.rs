//! The sheet a picture is drawn on: shapes placed in shares of the width and
//! ems of height, labels that stay inside, patterns, and the finished element.

use crate::pictogram::Pictogram;
use crate::scale::{Scale, ticks};
use crate::svg::El;
use crate::words::width;
use crate::{Picture, Table, Write};

/// The width, in ems of its text, of the narrowest place a picture must be read
/// in: 280 pixels with text of 14.
pub(crate) const NARROW: f64 = 19.5;

/// How a label stands to its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn name(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// A shape that tells a mark apart without its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Diamond,
    Square,
    Down,
}

/// How an area is filled: a colour and a pattern each, told apart by either.
pub(crate) const FILLS: usize = 6;

/// The drawing while it is made. What it says is settled before.
#[derive(Debug)]
pub(crate) struct Canvas {
    id: String,
    class: &'static str,
    title: String,
    text: String,
    table: Table,
    extra: Vec<(&'static str, String)>,
    body: Vec<El>,
    /// Which of the fills were used; only those are defined.
    fills: [bool; FILLS],
}

impl Canvas {
    pub(crate) fn new(class: &'static str, title: String, text: String, table: Table) -> Self {
        Self {
            id: identifier(class, &title, &text, &table),
            class,
            title,
            text,
            table,
            extra: Vec::new(),
            body: Vec::new(),
            fills: [false; FILLS],
        }
    }

    /// Gives the whole picture an attribute.
    pub(crate) fn attr(&mut self, key: &'static str, value: impl Into<String>) {
        self.extra.push((key, value.into()));
    }

    pub(crate) fn add(&mut self, element: El) {
        self.body.push(element);
    }

    pub(crate) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        self.add(
            El::new("line")
                .class(class)
                .attr("x1", percent(from.0))
                .attr("y1", em(from.1))
                .attr("x2", percent(to.0))
                .attr("y2", em(to.1)),
        );
    }

    /// A box from its upper left corner to its lower right.
    pub(crate) fn area(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        self.add(area(from, to).class(class));
    }

    /// A box in one of the [`FILLS`], counted round.
    pub(crate) fn filled(&mut self, fill: usize, from: (f64, f64), to: (f64, f64)) {
        let fill = fill % FILLS;
        if let Some(used) = self.fills.get_mut(fill) {
            *used = true;
        }
        let pattern = format!("url(#{}-{fill})", self.id);
        self.add(
            area(from, to)
                .class(&format!("fill-{fill}"))
                .attr("fill", pattern),
        );
    }

    pub(crate) fn dot(&mut self, class: &str, at: (f64, f64), radius: f64) {
        self.add(
            El::new("circle")
                .class(class)
                .attr("cx", percent(at.0))
                .attr("cy", em(at.1))
                .attr("r", em(radius)),
        );
    }

    /// A shape about its middle; [`Shape::Down`] points at its place from above.
    pub(crate) fn shape(&mut self, class: &str, shape: Shape, at: (f64, f64)) {
        let path = match shape {
            Shape::Diamond => "M0-.46L.46 0 0 .46-.46 0z",
            Shape::Square => "M-.36-.36H.36V.36H-.36z",
            Shape::Down => "M0 0L-.42-.66H.42z",
        };
        // The path is in ems because the box it stands in is one em of one unit.
        self.add(
            El::new("svg")
                .attr("x", percent(at.0))
                .attr("y", em(at.1))
                .attr("width", "1em")
                .attr("height", "1em")
                .attr("viewBox", "0 0 1 1")
                .attr("overflow", "visible")
                .holding(vec![El::new("path").class(class).attr("d", path)]),
        );
    }

    /// Pictograms in a row, each `size` ems wide, and a word behind them. The row
    /// keeps together however wide the picture is.
    pub(crate) fn signs(
        &mut self,
        at: (f64, f64),
        size: f64,
        pictograms: &[Pictogram],
        word: Option<&str>,
    ) {
        let mut x = 0.0;
        let mut row = Vec::new();
        for one in pictograms {
            row.push(
                El::new("svg")
                    .attr("x", em(x))
                    .attr("width", em(size))
                    .attr("height", em(size))
                    .attr("viewBox", "0 0 1000 1000")
                    .holding(one.paths()),
            );
            x += size + 0.2;
        }
        row.extend(word.map(|word| {
            El::new("text")
                .class("word strong")
                .attr("x", em(x + 0.3))
                .attr("y", em(size / 2.0 + 0.35))
                .text(word)
        }));
        self.add(
            El::new("svg")
                .attr("x", percent(at.0))
                .attr("y", em(at.1))
                .attr("width", "1em")
                .attr("height", "1em")
                .attr("overflow", "visible")
                .holding(row),
        );
    }

    /// Text on a base line.
    pub(crate) fn text(
        &mut self,
        class: &str,
        anchor: Anchor,
        at: (f64, f64),
        text: impl Into<String>,
    ) {
        self.add(
            El::new("text")
                .class(class)
                .attr("x", percent(at.0))
                .attr("y", em(at.1))
                .attr("text-anchor", anchor.name())
                .text(text),
        );
    }

    /// Text about a mark: in its middle where that fits the narrow picture,
    /// otherwise to the side that has room, and never over the edge.
    pub(crate) fn label(&mut self, class: &str, at: (f64, f64), text: impl Into<String>) {
        let text = text.into();
        let (anchor, x) = beside(at.0, width(&text) / NARROW);
        self.text(class, anchor, (x, at.1), text);
    }

    /// Lines of text about a mark, placed together as [`Canvas::label`] places one.
    pub(crate) fn lines(&mut self, class: &str, at: (f64, f64), lines: &[String]) {
        let widest = lines.iter().map(|line| width(line)).fold(0.0, f64::max);
        let (anchor, x) = beside(at.0, widest / NARROW);
        let mut y = at.1;
        for line in lines {
            self.text(class, anchor, (x, y), line.as_str());
            y += 1.3;
        }
    }

    /// A ruled line with ticks and their figures; takes 1.8 em below `y`.
    ///
    /// As many ticks as stay apart in the narrow picture and read differently:
    /// where figures are written to 0.1, a step of 0.05 would show one twice.
    pub(crate) fn axis(&mut self, scale: Scale, y: f64, write: Write) {
        self.line("axis", (0.0, y), (1.0, y));
        for (tick, label) in labelled_ticks(scale, write) {
            let x = scale.at(tick);
            self.line("axis", (x, y), (x, y + 0.3));
            self.label("tick", (x, y + 1.45), label);
        }
    }

    /// Ends the drawing. `height` is in ems.
    pub(crate) fn finish(self, height: f64) -> Picture {
        let Self {
            id,
            class,
            title,
            text,
            table,
            extra,
            body,
            fills,
        } = self;
        let mut inside = vec![
            El::new("title")
                .attr("id", format!("{id}-t"))
                .text(title.as_str()),
            El::new("desc")
                .attr("id", format!("{id}-d"))
                .text(text.as_str()),
        ];
        let patterns: Vec<El> = (0..)
            .zip(fills)
            .filter(|(_, used)| *used)
            .map(|(fill, _)| pattern(&id, fill))
            .collect();
        if !patterns.is_empty() {
            inside.push(El::new("defs").holding(patterns));
        }
        inside.extend(body);
        let mut svg = El::new("svg")
            .attr("xmlns", "http://www.w3.org/2000/svg")
            .class(&format!("pic {class}"))
            .attr("role", "img")
            .attr("aria-labelledby", format!("{id}-t {id}-d"))
            .attr("width", "100%")
            .attr("height", em(height));
        for (key, value) in extra {
            svg = svg.attr(key, value);
        }
        Picture {
            svg: svg.holding(inside).to_string(),
            title,
            text,
            table,
        }
    }
}

fn area(from: (f64, f64), to: (f64, f64)) -> El {
    El::new("rect")
        .attr("x", percent(from.0))
        .attr("y", em(from.1))
        .attr("width", percent((to.0 - from.0).max(0.0)))
        .attr("height", em((to.1 - from.1).max(0.0)))
}

/// The side of a place on which text of this width (a share) fits.
fn beside(x: f64, width: f64) -> (Anchor, f64) {
    if x - width / 2.0 >= 0.0 && x + width / 2.0 <= 1.0 {
        (Anchor::Middle, x)
    } else if x < 0.5 {
        (Anchor::Start, x.min((1.0 - width).max(0.0)))
    } else {
        (Anchor::End, x.max(width.min(1.0)))
    }
}

fn labelled_ticks(scale: Scale, write: Write) -> Vec<(f64, String)> {
    for most in (1..=8).rev() {
        let labelled: Vec<(f64, String)> = ticks(scale.low, scale.high, most)
            .into_iter()
            .map(|tick| (tick, write(tick)))
            .collect();
        let apart = labelled.windows(2).all(|pair| match pair {
            [(a, left), (b, right)] => {
                let (end, start) = (extent(scale.at(*a), left).1, extent(scale.at(*b), right).0);
                left != right && start - end > 0.5 / NARROW
            }
            _ => true,
        });
        if apart && !labelled.is_empty() {
            return labelled;
        }
    }
    Vec::new()
}

/// From where to where a label about a place runs in the narrow picture.
fn extent(x: f64, text: &str) -> (f64, f64) {
    let width = width(text) / NARROW;
    match beside(x, width) {
        (Anchor::Start, at) => (at, at + width),
        (Anchor::Middle, at) => (at - width / 2.0, at + width / 2.0),
        (Anchor::End, at) => (at - width, at),
    }
}

/// One tile a fill: a ground of raised paper under lines or points of a colour,
/// which the style sheet gives.
fn pattern(id: &str, fill: usize) -> El {
    let tile = El::new("pattern")
        .attr("id", format!("{id}-{fill}"))
        .class(&format!("tile-{fill}"))
        .attr("patternUnits", "userSpaceOnUse")
        .attr("width", "8")
        .attr("height", "8");
    let ground = || {
        El::new("rect")
            .class("ground")
            .attr("width", "8")
            .attr("height", "8")
    };
    let path = |d: &str| El::new("path").attr("d", d);
    tile.holding(match fill {
        0 => vec![
            El::new("rect")
                .class("whole")
                .attr("width", "8")
                .attr("height", "8"),
        ],
        1 => vec![ground(), path("M-2 2L2-2M0 8L8 0M6 10L10 6")],
        2 => vec![
            ground(),
            El::new("circle")
                .attr("cx", "2")
                .attr("cy", "2")
                .attr("r", "1.5"),
            El::new("circle")
                .attr("cx", "6")
                .attr("cy", "6")
                .attr("r", "1.5"),
        ],
        3 => vec![ground(), path("M0 2H8M0 6H8")],
        4 => vec![
            ground(),
            path("M-2 6L2 10M0 0L8 8M6-2L10 2M-2 2L2-2M0 8L8 0M6 10L10 6"),
        ],
        _ => vec![ground(), path("M2 0V8M6 0V8")],
    })
}

/// A name no other picture of the page has, and the same picture always has:
/// the FNV-1a hash of what it says (Fowler, Noll and Vo, 32 bit).
fn identifier(class: &str, title: &str, text: &str, table: &Table) -> String {
    let cells = table.rows.iter().flatten().map(String::as_str);
    let hash = [class, title, text]
        .into_iter()
        .chain(cells)
        .flat_map(str::bytes)
        .fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        });
    format!("p{hash:08x}")
}

/// A share of the width, to a hundredth of a percent.
fn percent(share: f64) -> String {
    format!("{}%", digits(share * 100.0))
}

/// A height in ems, to a hundredth.
fn em(height: f64) -> String {
    format!("{}em", digits(height))
}

/// Two decimals at most; what has no meaning is drawn at nothing.
fn digits(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Moves places (sorted, downwards) apart so that none is nearer to the one
/// before than `gap` and all stay between `top` and `bottom` where they fit.
pub(crate) fn spread(places: &mut [f64], gap: f64, top: f64, bottom: f64) {
    let mut least = top;
    for place in places.iter_mut() {
        *place = place.max(least);
        least = *place + gap;
    }
    let mut most = bottom;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - gap;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_never_leaves_the_picture() {
        for x in [0.0, 0.02, 0.2, 0.49, 0.5, 0.8, 1.0] {
            for width in [1, 8, 20, 30] {
                let (from, to) = extent(x, &"0".repeat(width));
                assert!(
                    from > -1e-9 && to < 1.0 + 1e-9,
                    "{x} {width}: {from} to {to}"
                );
            }
        }
    }

    #[test]
    fn a_tick_is_not_written_twice() {
        let scale = Scale {
            low: 1.44,
            high: 1.66,
        };
        let labels: Vec<String> = labelled_ticks(scale, &|oz| format!("{oz:.1} oz"))
            .into_iter()
            .map(|(_, label)| label)
            .collect();
        assert_eq!(labels, ["1.5 oz", "1.6 oz"]);
    }

    #[test]
    fn places_are_moved_apart() {
        let mut places = [1.0, 1.2, 5.0, 9.9];
        spread(&mut places, 1.0, 0.0, 9.0);
        assert_eq!(places.map(digits), ["1", "2", "5", "9"]);
    }

    #[test]
    fn figures_are_short_and_always_figures() {
        assert_eq!(digits(12.300_4), "12.3");
        assert_eq!(digits(-0.001), "0");
        assert_eq!(digits(100.0), "100");
        assert_eq!(digits(f64::NAN), "0");
    }
}
