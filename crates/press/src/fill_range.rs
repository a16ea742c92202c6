//! How much must be melted to fill what is wanted?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::scale::Scale;
use crate::words::{fit, width};
use crate::{Noun, Picture, Table, Write};

/// A pour that was made: what went in and how many units came out full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarlierPour {
    /// What was melted for it.
    pub melted: f64,
    /// Units that came out full.
    pub full: usize,
    /// Units it was meant to fill.
    pub of: usize,
}

/// What is advised for the next pour, and what earlier pours did.
#[derive(Clone, Copy)]
pub struct FillRange<'a> {
    /// What is filled.
    pub noun: Noun<'a>,
    /// How many are to be filled.
    pub want: usize,
    /// The amount that is as likely enough as not: what they take.
    pub middle: f64,
    /// The amount advised, which is enough with some chance.
    pub advised: f64,
    /// The amount that fills them nineteen times in twenty is below `high`,
    /// and above `low` as often: the 5 % and 95 % points.
    pub low: f64,
    /// See `low`.
    pub high: f64,
    /// Earlier pours of the mould, the latest last.
    pub pours: &'a [EarlierPour],
    /// Writes an amount.
    pub write: Write<'a>,
}

/// Draws what must be melted as a band with the advised amount on it, over the
/// pours made so far: those that filled everything and those that came short.
///
/// `None` when the advice or its range is not a figure.
pub fn fill_range(input: &FillRange) -> Option<Picture> {
    let FillRange {
        noun,
        want,
        middle,
        advised,
        low,
        high,
        write,
        ..
    } = *input;
    if ![middle, advised, low, high]
        .iter()
        .all(|figure| figure.is_finite())
        || low > high
    {
        return None;
    }
    let pours: Vec<EarlierPour> = input
        .pours
        .iter()
        .copied()
        .filter(|pour| pour.melted.is_finite())
        .collect();
    let scale = Scale::around(
        [advised, low, high]
            .into_iter()
            .chain(pours.iter().map(|pour| pour.melted)),
    )?;
    let (short, filled): (Vec<&EarlierPour>, Vec<&EarlierPour>) =
        pours.iter().partition(|pour| pour.full < pour.of);

    let needs = if want == 1 { "needs" } else { "need" };
    let title = match pours.last() {
        Some(last) if last.full < last.of => {
            format!(
                "{} of {} filled; {want} needs about {}",
                last.full,
                last.of,
                write(middle)
            )
        }
        _ => format!("{} {needs} about {}", noun.counted(want), write(middle)),
    };
    let mut said = vec![format!(
        "Melt {} for {}. What is needed lies between {} and {}, nine times in ten.",
        write(advised),
        noun.counted(want),
        write(low),
        write(high)
    )];
    match pours.len() {
        0 => said.push("No pour of this mould is on record yet.".to_owned()),
        n => said.push(format!(
            "Of {n} earlier pour{}, {} filled everything and {} came short.",
            if n == 1 { "" } else { "s" },
            filled.len(),
            short.len()
        )),
    }
    let mut table = Table::new(["what", "amount", "filled"]);
    table.row([
        "advised".to_owned(),
        write(advised),
        format!("{want} wanted"),
    ]);
    table.row(["from".to_owned(), write(low), String::new()]);
    table.row(["to".to_owned(), write(high), String::new()]);
    for pour in &pours {
        table.row([
            "poured".to_owned(),
            write(pour.melted),
            format!("{} of {}", pour.full, pour.of),
        ]);
    }

    let mut canvas = Canvas::new("fill-range", title, said.join(" "), table);
    let (from, to, at) = (scale.at(low), scale.at(high), scale.at(advised));
    canvas.label("word first", (at, 1.0), format!("melt {}", write(advised)));
    let rows = [("came short", &short, false), ("filled all", &filled, true)];
    let n_rows = rows
        .iter()
        .filter(|(_, pours, _)| !pours.is_empty())
        .count();
    let floor = if n_rows == 0 {
        3.3
    } else {
        3.9 + 2.5 * n_rows as f64
    };
    // The band runs faintly down over the earlier pours, to be compared with them.
    canvas.area("band faint", (from, 2.9), (to, floor));
    canvas.area("band strong", (from, 1.9), (to, 2.9));
    canvas.line("mark first", (at, 1.9), (at, floor));
    canvas.shape("first", Shape::Down, (at, 1.9));
    let mut y = 3.2;
    for (word, pours, full) in rows.into_iter().filter(|(_, pours, _)| !pours.is_empty()) {
        y += 2.5;
        row(&mut canvas, scale, y, word, pours, full);
    }
    canvas.axis(scale, floor, write);
    let (class, what) = (
        "word",
        format!("{} to {}, 9 times in 10", write(low), write(high)),
    );
    canvas.label(
        class,
        (f64::midpoint(from, to), floor + 3.0),
        fit(&what, NARROW),
    );
    Some(canvas.finish(floor + 3.5))
}

/// Earlier pours of one kind: the word above, the dots on a line below.
fn row(canvas: &mut Canvas, scale: Scale, y: f64, word: &str, pours: &[&EarlierPour], full: bool) {
    canvas.text("tick", Anchor::Start, (0.0, y - 0.85), word);
    canvas.line("rule", (0.0, y), (1.0, y));
    let mut sorted = pours.to_vec();
    sorted.sort_by(|a, b| a.melted.total_cmp(&b.melted));
    for pour in &sorted {
        canvas.dot(
            if full { "dot" } else { "ring" },
            (scale.at(pour.melted), y),
            0.38,
        );
    }
    if full {
        return;
    }
    // How far a pour came, beside it where the next one leaves room.
    for (n, pour) in sorted.iter().enumerate() {
        let label = format!("{} of {}", pour.full, pour.of);
        let from = scale.at(pour.melted) + 0.65 / NARROW;
        let next = sorted
            .get(n + 1)
            .map_or(1.0, |next| scale.at(next.melted) - 0.5 / NARROW);
        if from + width(&label) / NARROW <= next {
            canvas.text("word over", Anchor::Start, (from, y + 0.35), label);
        }
    }
}
