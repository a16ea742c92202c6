//! Does a lot differ from the others by more than chance?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::scale::Scale;
use crate::words::{fit, list, width};
use crate::{Noun, Picture, Table, Write};

/// A figure of a lot and the limits it is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limited {
    /// What was found.
    pub value: f64,
    /// The lower limit.
    pub low: f64,
    /// The upper limit.
    pub high: f64,
}

impl Limited {
    fn is_finite(self) -> bool {
        self.value.is_finite() && self.low.is_finite() && self.high.is_finite()
    }

    fn is_out(self) -> bool {
        self.value < self.low || self.value > self.high
    }
}

/// One lot on the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlLot<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Units weighed of it.
    pub units: usize,
    /// Its average and the limits that its units' own scatter gives.
    pub average: Limited,
    /// Its spread, and the limits of that.
    pub spread: Limited,
    /// Whether it is one of many in a row on one side of the middle.
    pub in_a_run: bool,
}

/// Lots in the order they were poured.
#[derive(Clone, Copy)]
pub struct ControlChart<'a> {
    /// What was weighed.
    pub noun: Noun<'a>,
    /// The lots; two or more.
    pub lots: &'a [ControlLot<'a>],
    /// The average of all.
    pub centre: f64,
    /// Between which averages lots usually come out, from how far each lies
    /// from the one before.
    pub usual: Option<(f64, f64)>,
    /// What the spread is: `standard deviation`, `range`.
    pub spread_word: &'a str,
    /// Writes a weight.
    pub write: Write<'a>,
}

/// As many of the latest lots are drawn; the table holds them all.
const MOST: usize = 20;
/// The heights of the two panels in ems.
const TALL: f64 = 10.0;
const SHORT: f64 = 5.0;
/// How far to the right lots stand; behind it the limits are written.
const PLOT: f64 = 0.72;

/// Draws each lot's average within its limits, and below it each lot's spread.
///
/// `None` for fewer than two lots or a figure that is not finite.
///
/// # Source
///
/// The layout is that of ISO 7870-2, Shewhart control charts: averages above,
/// spreads below, lots in the order they came.
pub fn control_chart(input: &ControlChart) -> Option<Picture> {
    let finite = |lot: &ControlLot| lot.average.is_finite() && lot.spread.is_finite();
    if input.lots.len() < 2 || !input.lots.iter().all(finite) || !input.centre.is_finite() {
        return None;
    }
    let usual = input
        .usual
        .filter(|(low, high)| low.is_finite() && high.is_finite() && low <= high);
    let write = input.write;
    let verdicts: Vec<(&ControlLot, Vec<&str>)> = input
        .lots
        .iter()
        .map(|lot| (lot, verdict(lot, usual)))
        .collect();
    let apart: Vec<String> = verdicts
        .iter()
        .filter(|(_, said)| !said.is_empty())
        .map(|(lot, _)| lot.name.to_owned())
        .collect();
    let n = input.lots.len();
    let title = match apart.len() {
        0 => format!("{n} lots, each within its limits"),
        1 => format!("1 of {n} lots is not within its limits: {}", list(&apart)),
        few @ 2..=3 => format!(
            "{few} of {n} lots are not within their limits: {}",
            list(&apart)
        ),
        many => format!("{many} of {n} lots are not within their limits"),
    };
    let mut said = vec![format!(
        "On average a {} weighs {} over {n} lots.",
        input.noun.one,
        write(input.centre)
    )];
    if let Some((low, high)) = usual {
        said.push(format!(
            "Lots usually come out between {} and {}.",
            write(low),
            write(high)
        ));
    }
    for (lot, words) in &verdicts {
        if !words.is_empty() {
            said.push(format!("Lot {}: {}.", lot.name, words.join("; ")));
        }
    }
    let mut table = Table::new([
        "lot",
        "weighed",
        "average",
        "its limits",
        input.spread_word,
        "its limits",
        "what it says",
    ]);
    for (lot, words) in &verdicts {
        let limits = |of: Limited| format!("{} to {}", write(of.low), write(of.high));
        table.row([
            lot.name.to_owned(),
            lot.units.to_string(),
            write(lot.average.value),
            limits(lot.average),
            write(lot.spread.value),
            limits(lot.spread),
            if words.is_empty() {
                "within its limits".to_owned()
            } else {
                words.join("; ")
            },
        ]);
    }

    let shown = n.saturating_sub(MOST);
    let drawn = input.lots.get(shown..).unwrap_or(input.lots);
    let mut canvas = Canvas::new("control-chart", title, said.join(" "), table);
    let top = 1.8;
    canvas.text(
        "word strong",
        Anchor::Start,
        (0.0, 0.95),
        "average of each lot",
    );
    let averages = Panel {
        top,
        height: TALL,
        scale: Scale::around(
            drawn
                .iter()
                .flat_map(|lot| [lot.average.value, lot.average.low, lot.average.high])
                .chain([input.centre])
                .chain(usual.into_iter().flat_map(|(low, high)| [low, high])),
        )?,
    };
    if let Some((low, high)) = usual {
        for at in [low, high] {
            let y = averages.y(at);
            canvas.line("second", (0.0, y), (PLOT, y));
        }
    }
    let y = averages.y(input.centre);
    canvas.line("mark first", (0.0, y), (PLOT, y));
    averages.lots(&mut canvas, drawn, |lot| lot.average, usual);
    let last = drawn.last()?;
    let mut marks = vec![
        (averages.y(input.centre), write(input.centre), "word first"),
        (
            averages.y(last.average.high),
            write(last.average.high),
            "tick",
        ),
        (
            averages.y(last.average.low),
            write(last.average.low),
            "tick",
        ),
    ];
    if let Some((low, high)) = usual {
        marks.push((averages.y(high), write(high), "word second"));
        marks.push((averages.y(low), write(low), "word second"));
    }
    side(&mut canvas, &marks);

    let top = top + TALL + 2.2;
    canvas.text(
        "word strong",
        Anchor::Start,
        (0.0, top - 0.85),
        format!("{} within each lot", input.spread_word),
    );
    let spreads = Panel {
        top,
        height: SHORT,
        scale: Scale::around(
            drawn
                .iter()
                .flat_map(|lot| [lot.spread.value, lot.spread.low, lot.spread.high]),
        )?,
    };
    spreads.lots(&mut canvas, drawn, |lot| lot.spread, None);
    side(
        &mut canvas,
        &[
            (spreads.y(last.spread.high), write(last.spread.high), "tick"),
            (spreads.y(last.spread.low), write(last.spread.low), "tick"),
        ],
    );
    let foot = top + SHORT;
    canvas.line("axis", (0.0, foot + 0.3), (PLOT, foot + 0.3));
    let first = drawn.first()?;
    let room = NARROW * PLOT / 2.0 - 0.5;
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, foot + 1.6),
        fit(first.name, room),
    );
    canvas.text(
        "tick",
        Anchor::End,
        (PLOT, foot + 1.6),
        fit(last.name, room),
    );
    let key = [
        "band: where a lot lies by its units' scatter".to_owned(),
        "dashed: where lots usually come out".to_owned(),
    ];
    let lines = if usual.is_some() { 2 } else { 1 };
    for (line, y) in key.iter().take(lines).zip([foot + 3.2, foot + 4.5]) {
        canvas.text("tick", Anchor::Start, (0.0, y), line.as_str());
    }
    Some(canvas.finish(foot + 3.6 + 1.3 * (lines - 1) as f64))
}

/// What a lot's figures say of it; nothing for one like the others.
fn verdict(lot: &ControlLot, usual: Option<(f64, f64)>) -> Vec<&'static str> {
    let mut said = Vec::new();
    let Limited { value, low, high } = lot.average;
    match usual {
        Some((_, most)) if value > most => said.push("heavier than lots usually are"),
        Some((least, _)) if value < least => said.push("lighter than lots usually are"),
        _ if value > high => said.push("heavier than its units' scatter explains"),
        _ if value < low => said.push("lighter than its units' scatter explains"),
        _ => {}
    }
    if lot.spread.value > lot.spread.high {
        said.push("its units differ more than in other lots");
    } else if lot.spread.value < lot.spread.low {
        said.push("its units differ less than in other lots");
    }
    if lot.in_a_run {
        said.push("one of nine or more in a row on one side of the average");
    }
    said
}

struct Panel {
    top: f64,
    height: f64,
    scale: Scale,
}

impl Panel {
    fn y(&self, value: f64) -> f64 {
        self.top + self.height * (1.0 - self.scale.at(value))
    }

    /// The bands, the line from lot to lot, and a mark each.
    fn lots(
        &self,
        canvas: &mut Canvas,
        lots: &[ControlLot],
        of: impl Fn(&ControlLot) -> Limited,
        usual: Option<(f64, f64)>,
    ) {
        let wide = PLOT / lots.len().max(1) as f64;
        let x = |nth: usize| wide * (nth as f64 + 0.5);
        for (nth, lot) in lots.iter().enumerate() {
            let Limited { low, high, .. } = of(lot);
            let (from, to) = (x(nth) - wide * 0.5, x(nth) + wide * 0.5);
            canvas.area("band", (from, self.y(high)), (to, self.y(low)));
        }
        for (nth, pair) in lots.windows(2).enumerate() {
            if let [one, next] = pair {
                let (from, to) = (self.y(of(one).value), self.y(of(next).value));
                canvas.line("lead", (x(nth), from), (x(nth + 1), to));
            }
        }
        for (nth, lot) in lots.iter().enumerate() {
            let figure = of(lot);
            let at = (x(nth), self.y(figure.value));
            let is_unusual =
                usual.is_some_and(|(low, high)| figure.value < low || figure.value > high);
            if is_unusual {
                canvas.shape("held", Shape::Square, at);
            } else if figure.is_out() {
                canvas.dot("ring", at, 0.36);
            } else {
                canvas.dot("dot", at, 0.36);
            }
        }
    }
}

/// Figures to the right of the panel, the first ones kept where two would touch.
fn side(canvas: &mut Canvas, marks: &[(f64, String, &'static str)]) {
    let mut written: Vec<f64> = Vec::new();
    for (y, text, class) in marks {
        if written.iter().any(|other| (other - y).abs() < 1.15) {
            continue;
        }
        written.push(*y);
        let room = NARROW * (1.0 - PLOT) - 0.3;
        let text = if width(text) > room {
            fit(text, room)
        } else {
            text.clone()
        };
        canvas.text(class, Anchor::Start, (PLOT + 0.015, y + 0.35), text);
    }
}
