//! What do two formats of the same wax sell for, and when do they earn the same?

use crate::canvas::{Anchor, Canvas, NARROW, Shape, spread};
use crate::scale::share;
use crate::words::{fit, list, width, wrap};
use crate::{Picture, Table, Write};

/// One format with its prices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LadderFormat<'a> {
    /// What it is called: `bar`, `clamshell`.
    pub name: &'a str,
    /// The low, the typical and the high price.
    pub low: f64,
    /// See `low`.
    pub typical: f64,
    /// See `low`.
    pub high: f64,
    /// What one costs to make, if known.
    pub cost: Option<f64>,
}

/// The price at which one format earns what another does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EqualAt {
    /// Which format has this price, counted from 0.
    pub format: usize,
    /// Which format it then equals, counted from 0.
    pub other: usize,
    /// The price.
    pub price: f64,
}

/// Formats side by side.
#[derive(Clone, Copy)]
pub struct PriceLadder<'a> {
    /// Up to four; more are left out of the drawing.
    pub formats: &'a [LadderFormat<'a>],
    /// Where one earns what another does, if that was worked out.
    pub equal: Option<EqualAt>,
    /// What the cost filled in below is: `cost of one`, and what is in it.
    pub cost_word: &'a str,
    /// Writes an amount of money.
    pub write: Write<'a>,
}

/// Most formats that fit side by side on a phone.
const MOST: usize = 4;
/// How high a ladder is and what stands above and below it, in ems.
const HEIGHT: f64 = 14.5;
const ABOVE: f64 = 1.2;
const BELOW: f64 = 2.3;
/// A ladder's posts and the start of its figures, as shares of its column.
const POSTS: (f64, f64) = (0.03, 0.28);
const FIGURES: f64 = 0.32;

/// Draws a ladder a format: rungs at the low, typical and high price, from zero
/// up, the cost filled in below, and the price that earns the same marked.
///
/// `None` when no format has prices.
pub fn price_ladder(input: &PriceLadder) -> Option<Picture> {
    let write = input.write;
    // A format keeps its number, since the break-even price speaks of it.
    let formats: Vec<(usize, LadderFormat)> = input
        .formats
        .iter()
        .copied()
        .enumerate()
        .filter(|(_, one)| {
            [one.low, one.typical, one.high]
                .iter()
                .all(|price| price.is_finite() && *price >= 0.0)
        })
        .map(|(n, one)| {
            (
                n,
                LadderFormat {
                    cost: one.cost.filter(|cost| cost.is_finite() && *cost >= 0.0),
                    ..one
                },
            )
        })
        .take(MOST)
        .collect();
    if formats.is_empty() {
        return None;
    }
    let named = |n: usize| {
        formats
            .iter()
            .find(|(own, _)| *own == n)
            .map(|(_, one)| one.name)
    };
    let equal = input
        .equal
        .filter(|equal| equal.price.is_finite() && equal.price >= 0.0);
    let equal = equal.and_then(|equal| Some((equal, named(equal.format)?, named(equal.other)?)));
    let top = formats
        .iter()
        .flat_map(|(_, one)| [one.low, one.typical, one.high, one.cost.unwrap_or(0.0)])
        .chain(equal.map(|(equal, ..)| equal.price))
        .fold(0.0, f64::max);

    let title = if let Some((equal, name, other)) = equal {
        let (a, another) = (article(name), article(other));
        format!(
            "At {} {a} {name} earns what {another} {other} does",
            write(equal.price)
        )
    } else {
        let typical = formats
            .iter()
            .map(|(_, one)| format!("{} {}", one.name, write(one.typical)));
        format!("Typical price: {}", list(&typical.collect::<Vec<_>>()))
    };
    let mut said: Vec<String> = Vec::new();
    let mut table = Table::new(["format", "low", "typical", "high", "cost"]);
    for (_, one) in &formats {
        let cost = one.cost.map_or("not known".to_owned(), write);
        said.push(format!(
            "{}: {} low, {} typical, {} high, cost {cost}.",
            one.name,
            write(one.low),
            write(one.typical),
            write(one.high)
        ));
        table.row([
            one.name.to_owned(),
            write(one.low),
            write(one.typical),
            write(one.high),
            cost,
        ]);
    }
    if equal.is_some() {
        said.push(format!("{title}."));
    }

    let mut canvas = Canvas::new("price-ladder", title, said.join(" "), table);
    let n_across = across(&formats, equal.map(|(equal, ..)| equal.price), write);
    let column = 1.0 / n_across as f64;
    let mut floor = 0.0;
    for row in formats.chunks(n_across) {
        // Two rows share the room of one and a half, and neither stands higher
        // than its highest price, or the words of one ladder, ask for.
        let high = if n_across == formats.len() {
            HEIGHT
        } else {
            HEIGHT * 0.75
        };
        let here = |own: usize| {
            equal
                .filter(|(equal, ..)| equal.format == own)
                .map(|(equal, ..)| equal.price)
        };
        let highest = row
            .iter()
            .flat_map(|(own, one)| {
                [
                    one.low,
                    one.typical,
                    one.high,
                    one.cost.unwrap_or(0.0),
                    here(*own).unwrap_or(0.0),
                ]
            })
            .fold(0.0, f64::max);
        let rise = (high * share(highest, top)).max(5.0 * LINE);
        floor += rise + ABOVE;
        for (n, (own, one)) in row.iter().enumerate() {
            let place = Place {
                left: n as f64 * column,
                column,
                floor,
                high,
                rise,
                top,
            };
            ladder(&mut canvas, &place, one, here(*own), write);
        }
        canvas.line("axis", (0.0, floor), (1.0, floor));
        let lines = row
            .iter()
            .map(|(_, one)| name_lines(one.name, column).len())
            .max();
        floor += BELOW + LINE * lines.unwrap_or(1).saturating_sub(1) as f64;
    }
    let mut y = floor + 0.7;
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, y),
        "rungs: low, typical, high price",
    );
    if formats.iter().any(|(_, one)| one.cost.is_some()) {
        y += 1.4;
        canvas.text(
            "tick",
            Anchor::Start,
            (0.0, y),
            format!("hatched: {}", fit(input.cost_word, NARROW - 4.5)),
        );
    }
    if let Some((_, name, other)) = equal {
        y += 1.4;
        canvas.shape("first", Shape::Diamond, (0.025, y - 0.35));
        let earns = format!("{} earns the same as {}", fit(name, 5.0), fit(other, 5.5));
        canvas.text("word", Anchor::Start, (0.065, y), earns);
    }
    Some(canvas.finish(y + 0.5))
}

/// How many ladders stand in one row: as many as leave room for every name and
/// figure in the narrow picture, two at least.
fn across(formats: &[(usize, LadderFormat)], equal: Option<f64>, write: Write) -> usize {
    let money = formats
        .iter()
        .flat_map(|(_, one)| [Some(one.low), Some(one.typical), Some(one.high), one.cost]);
    let figures = money
        .chain([equal])
        .flatten()
        .map(|price| width(&write(price)))
        .fold(0.0, f64::max)
        * BOLD;
    let names = formats
        .iter()
        .map(|(_, one)| width(one.name))
        .fold(0.0, f64::max)
        * BOLD;
    let fits = |n: &usize| {
        let column = NARROW / *n as f64;
        names <= column * 0.95 && figures <= column * (1.0 - FIGURES)
    };
    let n = formats.len().max(1);
    (2..=n).rev().find(fits).unwrap_or(n.min(2))
}

/// How much wider bold letters run.
const BOLD: f64 = 1.1;

/// A line of figures, in ems.
const LINE: f64 = 1.25;

/// Where one ladder stands: its column across, its floor down and the room above
/// it, and the height at which `top` of money stands.
struct Place {
    left: f64,
    column: f64,
    floor: f64,
    high: f64,
    rise: f64,
    top: f64,
}

fn ladder(
    canvas: &mut Canvas,
    place: &Place,
    one: &LadderFormat,
    equal: Option<f64>,
    write: Write,
) {
    let Place {
        left,
        column,
        floor,
        high,
        rise,
        top,
    } = *place;
    let height = |money: f64| floor - high * share(money, top);
    let (post, rail) = (left + column * POSTS.0, left + column * POSTS.1);
    let figures = left + column * FIGURES;
    if let Some(cost) = one.cost {
        canvas.filled(1, (post, height(cost)), (rail, floor));
    }
    for x in [post, rail] {
        canvas.line(
            "post",
            (x, height(one.low.max(one.typical).max(one.high))),
            (x, floor),
        );
    }
    let mut words: Vec<(f64, &str, String)> = Vec::new();
    for (price, line, class) in [
        (one.high, "rung", "word"),
        (one.typical, "rung strong", "word strong"),
        (one.low, "rung", "word"),
    ] {
        canvas.line(line, (post, height(price)), (rail, height(price)));
        words.push((height(price), class, write(price)));
    }
    if let Some(price) = equal {
        canvas.shape(
            "first",
            Shape::Diamond,
            (f64::midpoint(post, rail), height(price)),
        );
        words.push((height(price), "word first", write(price)));
    }
    if let Some(cost) = one.cost {
        words.push((height(cost), "word second", write(cost)));
    }
    words.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut places: Vec<f64> = words.iter().map(|(y, ..)| y + 0.35).collect();
    spread(&mut places, LINE, floor - rise - 0.5, floor - 0.3);
    for ((y, class, text), place) in words.iter().zip(places) {
        if (place - y - 0.35).abs() > 0.2 {
            canvas.line("lead", (rail, *y), (figures - 0.004, place - 0.35));
        }
        canvas.text(class, Anchor::Start, (figures, place), text.as_str());
    }
    for (n, line) in name_lines(one.name, column).into_iter().enumerate() {
        let y = floor + 1.4 + LINE * n as f64;
        canvas.text("word strong", Anchor::Start, (post, y), line);
    }
}

/// A name in as many lines as its column asks for; the whole stands in the table.
fn name_lines(name: &str, column: f64) -> Vec<String> {
    wrap(name, column * NARROW * 0.95 / BOLD)
}

/// `a` or `an`, by the first letter.
fn article(name: &str) -> &'static str {
    match name.chars().next() {
        Some('a' | 'e' | 'i' | 'o' | 'A' | 'E' | 'I' | 'O') => "an",
        _ => "a",
    }
}
