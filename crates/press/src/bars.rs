//! How long is each of several things beside the others?

use crate::canvas::{Anchor, Canvas, NARROW};
use crate::words::{fit, list, width};
use crate::{Picture, Table};

/// One bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar<'a> {
    /// What it stands for.
    pub name: &'a str,
    /// How long it is; below zero it goes the other way.
    pub amount: f64,
    /// What it says, with its unit and what it rests on: `12.40 USD an hour`.
    pub words: &'a str,
}

/// Bars from one line, each with its name and figure over it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bars<'a> {
    /// The answer the picture gives.
    pub title: &'a str,
    /// What the names are: `channel`.
    pub name_word: &'a str,
    /// What the figures are: `left for an hour`.
    pub amount_word: &'a str,
    /// The bars, in the order they are drawn.
    pub bars: &'a [Bar<'a>],
    /// The least that the scale reaches to: 1 for shares of a whole.
    pub at_least: f64,
}

const ROW: f64 = 3.0;

/// Draws bars from a common zero, each named above it.
///
/// `None` without a bar, or when none has a length.
pub fn bars(input: &Bars) -> Option<Picture> {
    let bars: Vec<Bar> = input
        .bars
        .iter()
        .copied()
        .filter(|bar| bar.amount.is_finite())
        .collect();
    let low = bars.iter().map(|bar| bar.amount).fold(0.0, f64::min);
    let high = bars
        .iter()
        .map(|bar| bar.amount)
        .fold(input.at_least.max(0.0), f64::max);
    let range = high - low;
    if bars.iter().all(|bar| bar.amount == 0.0) || range <= 0.0 || !range.is_finite() {
        return None;
    }
    let at = |amount: f64| (amount - low) / range;
    let each: Vec<String> = bars
        .iter()
        .map(|bar| format!("{} {}", bar.name, bar.words))
        .collect();
    let text = format!("{}: {}.", input.amount_word, list(&each));
    let mut table = Table::new([input.name_word, input.amount_word]);
    for bar in &bars {
        table.row([bar.name.to_owned(), bar.words.to_owned()]);
    }
    let mut canvas = Canvas::new("bars", input.title.to_owned(), text, table);
    let mut y = 0.4;
    // Where a name and its words do not fit side by side, each has a line.
    let fits = |bar: &Bar| width(bar.name) + width(bar.words) + 0.8 <= NARROW;
    let down = if bars.iter().all(fits) { 0.0 } else { 1.1 };
    for bar in &bars {
        let name = fit(bar.name, NARROW);
        canvas.text("word", Anchor::Start, (0.0, y + 1.0), name);
        y += down;
        canvas.text("word strong", Anchor::End, (1.0, y + 1.0), bar.words);
        let (from, to) = (at(bar.amount.min(0.0)), at(bar.amount.max(0.0)));
        // Moss and hatched either way: brick stripes where it goes below zero.
        let fill = if bar.amount < 0.0 { 5 } else { 0 };
        if to > from {
            canvas.filled(fill, (from, y + 1.4), (to, y + 2.3));
        }
        y += ROW;
    }
    canvas.line("axis", (at(0.0), 1.2), (at(0.0), y - 0.4));
    Some(canvas.finish(y))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_named_and_say_their_figures() {
        let bars_of = [
            Bar {
                name: "markets",
                amount: 12.4,
                words: "12.40 USD",
            },
            Bar {
                name: "<shop>",
                amount: -3.0,
                words: "−3.00 USD",
            },
        ];
        let mut input = Bars {
            title: "An hour at markets leaves the most: 12.40 USD",
            name_word: "channel",
            amount_word: "left for an hour",
            bars: &bars_of,
            at_least: 0.0,
        };
        let picture = bars(&input).unwrap();
        assert!(picture.svg.contains("&lt;shop&gt;"));
        assert_eq!(picture.table.rows.len(), 2);
        assert!(picture.text.contains("markets 12.40 USD"));
        input.bars = &[];
        assert!(bars(&input).is_none());
    }
}
