//! How many units will this much fill?

use crate::canvas::{Anchor, Canvas};
use crate::scale::share;
use crate::words::{fit, percent};
use crate::{Noun, Picture, Table};

/// The chance that exactly so many come out full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountChance {
    /// Units filled.
    pub count: usize,
    /// The chance of it, from 0 to 1.
    pub chance: f64,
}

/// The chances of what one amount fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountChances<'a> {
    /// What is filled.
    pub noun: Noun<'a>,
    /// The amount, as written: `18.7 oz`.
    pub amount: &'a str,
    /// The chance of each count, in any order; together 1 at most.
    pub chances: &'a [CountChance],
}

/// Counts on either side of the likeliest that get a bar of their own.
const BESIDE: usize = 3;

/// Draws the chance of each count as a bar from zero, the likeliest marked.
///
/// Counts far from the likeliest stand together as "or fewer" and "or more".
/// `None` when no count has a chance.
pub fn count_chances(input: &CountChances) -> Option<Picture> {
    let mut chances: Vec<CountChance> = input
        .chances
        .iter()
        .copied()
        .filter(|one| one.chance.is_finite() && one.chance > 0.0)
        .map(|one| CountChance {
            chance: one.chance.min(1.0),
            ..one
        })
        .collect();
    chances.sort_by_key(|one| one.count);
    let likeliest = chances
        .iter()
        .copied()
        .reduce(|best, one| if one.chance > best.chance { one } else { best })?;
    let noun = input.noun;

    let title = format!(
        "{} most likely fill{} {}",
        input.amount,
        if input.amount.ends_with('s') { "" } else { "s" },
        noun.counted(likeliest.count)
    );
    let said: Vec<String> = chances
        .iter()
        .map(|one| format!("{} {}", one.count, percent(one.chance)))
        .collect();
    let text = format!(
        "Chance of each number of full {} from {}: {}.",
        noun.many,
        input.amount,
        said.join(", ")
    );
    let mut table = Table::new(["filled", "chance"]);
    for one in &chances {
        table.row([noun.counted(one.count), percent(one.chance)]);
    }

    let mut canvas = Canvas::new("count-chances", title, text, table);
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, 1.0),
        format!("{} filled", fit(noun.many, 13.0)),
    );
    let rows = rows(&chances, likeliest.count);
    let longest = rows.iter().map(|row| row.chance).fold(0.0, f64::max);
    let mut y = 1.6;
    for row in &rows {
        let best = row.counts == likeliest.count.to_string();
        let end = START + ROOM * share(row.chance, longest);
        let base = y + 1.15;
        canvas.text(
            if best { "word first" } else { "word" },
            Anchor::End,
            (START - 0.025, base),
            row.counts.as_str(),
        );
        canvas.filled(
            usize::from(!best),
            (START, y),
            (end.max(START + 0.004), y + 1.5),
        );
        canvas.text(
            if best { "word first" } else { "word" },
            Anchor::Start,
            (end + 0.02, base),
            percent(row.chance),
        );
        y += 2.0;
    }
    canvas.line("axis", (START, 1.4), (START, y - 0.2));
    Some(canvas.finish(y + 0.1))
}

/// Where the bars begin and how far the longest runs, leaving room for words.
const START: f64 = 0.3;
const ROOM: f64 = 0.48;

struct Row {
    counts: String,
    chance: f64,
}

fn rows(sorted: &[CountChance], likeliest: usize) -> Vec<Row> {
    let (from, to) = (
        likeliest.saturating_sub(BESIDE),
        likeliest.saturating_add(BESIDE),
    );
    let mut rows = Vec::new();
    let (fewer, rest) = sorted.split_at(sorted.partition_point(|one| one.count < from));
    let (near, more) = rest.split_at(rest.partition_point(|one| one.count <= to));
    // Counts without any chance are not in the list, so the words for the rest
    // go by where the bars begin and end, not by what is in it.
    if !fewer.is_empty() {
        rows.push(Row {
            counts: format!("{} or fewer", from.saturating_sub(1)),
            chance: sum(fewer),
        });
    }
    rows.extend(near.iter().map(|one| Row {
        counts: one.count.to_string(),
        chance: one.chance,
    }));
    if !more.is_empty() {
        rows.push(Row {
            counts: format!("{} or more", to.saturating_add(1)),
            chance: sum(more),
        });
    }
    rows
}

fn sum(chances: &[CountChance]) -> f64 {
    chances.iter().map(|one| one.chance).sum()
}
