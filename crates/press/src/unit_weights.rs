//! What do the units of a lot weigh?

use crate::canvas::{Canvas, NARROW};
use crate::scale::Scale;
use crate::words::width;
use crate::{Noun, Picture, Table, Write};

/// A weight the lot is held against, with what it is called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nominal<'a> {
    /// What it is called: `declared`, `nominal`.
    pub word: &'a str,
    /// The weight, in the unit of the weights.
    pub weight: f64,
}

/// The weighed units of one lot.
#[derive(Clone, Copy)]
pub struct UnitWeights<'a> {
    /// What was weighed.
    pub noun: Noun<'a>,
    /// One weight a unit, in any unit and order. What is not a finite figure is left out.
    pub weights: &'a [f64],
    /// The weight printed or planned, if there is one.
    pub nominal: Option<Nominal<'a>>,
    /// What the next unit weighs nine times in ten, from and to.
    pub next: Option<(f64, f64)>,
    /// Writes a weight.
    pub write: Write<'a>,
}

/// Radius of a dot and the tallest pile of dots, in ems.
const DOT: f64 = 0.36;
const TALLEST: f64 = 8.0;

/// Draws every weighed unit as a dot, piled where they weigh about the same,
/// with the mean, the nominal weight and the range of the next unit.
///
/// `None` when nothing was weighed.
///
/// # Source
///
/// Piling after L. Wilkinson, "Dot plots", *The American Statistician* 53
/// (1999), pages 276 to 281: from the lightest on, all that lie within one
/// dot's width of the first make one pile, which stands at the middle of what
/// it holds.
pub fn unit_weights(input: &UnitWeights) -> Option<Picture> {
    let mut weights: Vec<f64> = input
        .weights
        .iter()
        .copied()
        .filter(|weight| weight.is_finite())
        .collect();
    weights.sort_by(f64::total_cmp);
    let (lightest, heaviest) = (*weights.first()?, *weights.last()?);
    let nominal = input.nominal.filter(|nominal| nominal.weight.is_finite());
    let next = input
        .next
        .filter(|(low, high)| low.is_finite() && high.is_finite() && low <= high);
    let shown = weights
        .iter()
        .copied()
        .chain(nominal.map(|nominal| nominal.weight))
        .chain(next.into_iter().flat_map(|(low, high)| [low, high]));
    let scale = Scale::around(shown)?;
    let mean = mean(&weights);
    let write = input.write;

    let counted = input.noun.counted(weights.len());
    let title = match weights.len() {
        1 => format!("The one {} weighed is {}", input.noun.one, write(mean)),
        _ => format!("{counted} weigh {} on average", write(mean)),
    };
    let weighed = match weights.len() {
        1 => format!("One {} was weighed: {}.", input.noun.one, write(mean)),
        _ => format!(
            "{counted} were weighed, from {} to {}, on average {}.",
            write(lightest),
            write(heaviest),
            write(mean)
        ),
    };
    let mut said = vec![weighed];
    if let Some(Nominal { word, weight }) = nominal {
        let under = weights.iter().filter(|one| **one < weight).count();
        said.push(format!(
            "Below the {word} {}: {under} of {}.",
            write(weight),
            weights.len()
        ));
    }
    if let Some((low, high)) = next {
        said.push(format!(
            "The next {} weighs between {} and {}, nine times in ten.",
            input.noun.one,
            write(low),
            write(high)
        ));
    }

    let mut canvas = Canvas::new(
        "unit-weights",
        title,
        said.join(" "),
        table(&weights, write),
    );
    let piles = piles(&weights, scale.covered(2.0 * DOT / NARROW));
    let tallest = piles.iter().map(|pile| pile.count).max().unwrap_or(1);
    let rise = (2.0 * DOT).min(TALLEST / count(tallest));
    let top = 1.5 + if nominal.is_some() { 1.5 } else { 0.0 };
    let floor = top + 0.8 + (count(tallest) * rise).max(3.0);

    if let Some((low, high)) = next {
        canvas.area("band", (scale.at(low), top), (scale.at(high), floor));
    }
    if let Some(Nominal { word, weight }) = nominal {
        let x = scale.at(weight);
        canvas.line("mark second", (x, 1.2), (x, floor));
        canvas.label(
            "word second",
            (x, 0.95),
            format!("{word} {}", write(weight)),
        );
    }
    canvas.line(
        "mark first",
        (scale.at(mean), top - 0.3),
        (scale.at(mean), floor),
    );
    canvas.label(
        "word first over",
        (scale.at(mean), top - 0.55),
        format!("mean {}", write(mean)),
    );
    for pile in &piles {
        for n in 0..pile.count {
            canvas.dot(
                "dot",
                (scale.at(pile.at), floor - DOT - count(n) * rise - 0.08),
                DOT,
            );
        }
    }
    canvas.axis(scale, floor, write);
    let Some((low, high)) = next else {
        return Some(canvas.finish(floor + 2.0));
    };
    let (from, to) = (scale.at(low), scale.at(high));
    canvas.line("span", (from, floor + 2.2), (to, floor + 2.2));
    canvas.line("span", (from, floor + 1.95), (from, floor + 2.45));
    canvas.line("span", (to, floor + 1.95), (to, floor + 2.45));
    let one = if width(input.noun.one) <= 7.0 {
        input.noun.one
    } else {
        "one"
    };
    let lines = [
        format!("next {one}, 9 times in 10"),
        format!("{} to {}", write(low), write(high)),
    ];
    canvas.lines("word", (f64::midpoint(from, to), floor + 3.6), &lines);
    Some(canvas.finish(floor + 5.4))
}

/// Units that weigh about the same.
struct Pile {
    at: f64,
    count: usize,
}

fn piles(sorted: &[f64], dot: f64) -> Vec<Pile> {
    let mut piles = Vec::new();
    let mut rest = sorted;
    while let Some(first) = rest.first() {
        let n = rest.partition_point(|weight| *weight < first + dot).max(1);
        let (pile, others) = rest.split_at(n.min(rest.len()));
        let last = pile.last().unwrap_or(first);
        piles.push(Pile {
            at: f64::midpoint(*first, *last),
            count: pile.len(),
        });
        rest = others;
    }
    piles
}

/// The mean, taken step by step so that no sum grows beyond a float.
fn mean(weights: &[f64]) -> f64 {
    let mut mean = 0.0;
    for (n, weight) in weights.iter().enumerate() {
        mean += weight / count(n + 1) - mean / count(n + 1);
    }
    mean
}

fn count(n: usize) -> f64 {
    n as f64
}

/// Each weight as written with how often it was read.
fn table(sorted: &[f64], write: Write) -> Table {
    let mut table = Table::new(["weight", "count"]);
    let mut read: Vec<(String, usize)> = Vec::new();
    for weight in sorted {
        let written = write(*weight);
        match read.last_mut() {
            Some((last, n)) if *last == written => *n += 1,
            _ => read.push((written, 1)),
        }
    }
    for (weight, n) in read {
        table.row([weight, n.to_string()]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pile_stands_in_the_middle_of_what_it_holds() {
        let piles = piles(&[1.0, 1.1, 1.2, 1.3, 2.0], 0.25);
        let seen: Vec<(String, usize)> = piles
            .iter()
            .map(|pile| (format!("{:.2}", pile.at), pile.count))
            .collect();
        assert_eq!(
            seen,
            [
                ("1.10".to_owned(), 3),
                ("1.30".to_owned(), 1),
                ("2.00".to_owned(), 1)
            ]
        );
    }

    /// Anscombe, "Graphs in statistical analysis", *The American Statistician*
    /// 27 (1973): the x of the first set have the mean 9.0, the y 7.5 (7.50 to
    /// two places).
    #[test]
    fn the_mean_is_the_mean() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [
            8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68,
        ];
        assert!((mean(&x) - 9.0).abs() < 1e-12);
        assert!((mean(&y) - 7.5).abs() < 0.005);
        assert!(mean(&[f64::MAX, f64::MAX]).is_finite());
    }
}
