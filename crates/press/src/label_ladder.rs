//! What must the label carry as the load goes up?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::pictogram::Pictogram;
use crate::scale::share;
use crate::words::{fit, list, width, wrap};
use crate::{Picture, Table};

/// A piece of the load over which the label stays the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelRung<'a> {
    /// Where it begins, in percent.
    pub from: f64,
    /// Where it ends, in percent.
    pub to: f64,
    /// The same in words: `up to 7.41 %`, `from 7.42 %`.
    pub span: &'a str,
    /// What the label must carry, shortly: `Warning, and names two allergens`.
    pub title: &'a str,
    /// The signal word, if one is due.
    pub signal: Option<&'a str>,
    /// The pictograms, in the order of the label.
    pub pictograms: &'a [Pictogram],
    /// The codes of its statements: `H317`, `EUH208`.
    pub codes: &'a [&'a str],
}

/// A load worth marking, with its words: `8 % of wax`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedLoad<'a> {
    /// The load in percent.
    pub load: f64,
    /// The same in words.
    pub text: &'a str,
}

/// The label of one oil in one wax, from no oil to the most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelLadder<'a> {
    /// From the lowest load up.
    pub rungs: &'a [LabelRung<'a>],
    /// The most the wax takes.
    pub limit: Option<MarkedLoad<'a>>,
    /// The load looked at.
    pub now: Option<MarkedLoad<'a>>,
    /// The rung that load stands on, counted from 0. Told apart from the load,
    /// for only who solved for a boundary knows to which side of it a load on it
    /// falls.
    pub at: Option<usize>,
    /// What the percentages are of: `of wax`.
    pub of: &'a str,
}

/// Most rungs drawn; the table holds all.
const MOST: usize = 10;
/// Most lines of one kind beside a rung; the table has the whole text.
const MOST_LINES: usize = 3;
/// The least height of the ladder, in ems.
const HEIGHT: f64 = 13.0;
/// The ladder's posts and the start of the words, as shares of the width.
const POSTS: (f64, f64) = (0.01, 0.12);
const WORDS: f64 = 0.18;
/// A line of words, and a pictogram on its point, in ems.
const LINE: f64 = 1.35;
const SIGN: f64 = 3.2;

/// Draws a ladder to scale, load upwards, and beside each rung what the label
/// carries there.
///
/// `None` without a rung, or where the last ends at no load at all.
pub fn label_ladder(input: &LabelLadder) -> Option<Picture> {
    let mut rungs: Vec<(usize, LabelRung)> = input
        .rungs
        .iter()
        .copied()
        .enumerate()
        .filter(|(_, rung)| rung.from.is_finite() && rung.to.is_finite())
        .filter(|(_, rung)| rung.from >= 0.0 && rung.to >= rung.from)
        .collect();
    rungs.sort_by(|(_, a), (_, b)| a.from.total_cmp(&b.from));
    let own = input
        .at
        .and_then(|at| rungs.iter().position(|(n, _)| *n == at));
    let mut rungs: Vec<LabelRung> = rungs.into_iter().map(|(_, rung)| rung).collect();
    let top = rungs.last().map(|rung| rung.to).filter(|top| *top > 0.0)?;
    let meant = |mark: &MarkedLoad| mark.load.is_finite() && mark.load >= 0.0;
    let now = input.now.filter(meant);
    let limit = input.limit.filter(meant);
    let here = own.zip(now);

    let mut table = Table::new(["load", "label", "signal word", "pictograms", "statements"]);
    let mut said: Vec<String> = Vec::new();
    for rung in &rungs {
        said.push(capital(&sentence(rung)));
        table.row([
            rung.span.to_owned(),
            rung.title.to_owned(),
            rung.signal.unwrap_or("none").to_owned(),
            or_none(rung.pictograms.iter().map(|one| one.name().to_owned())),
            or_none(rung.codes.iter().map(|&code| code.to_owned())),
        ]);
    }
    if let Some(now) = now {
        said.push(format!("The load looked at is {}.", now.text));
    }
    if let Some(limit) = limit {
        said.push(format!("The wax takes at most {}.", limit.text));
    }
    let mut canvas = Canvas::new("label-ladder", title(&rungs, here), said.join(" "), table);

    let left_out = rungs.len().saturating_sub(MOST);
    rungs.truncate(MOST);
    let blocks: Vec<Block> = (0..)
        .zip(&rungs)
        .map(|(n, rung)| {
            let held = |mark: MarkedLoad| {
                mark.load <= rung.to.min(top) && (n == 0 || mark.load > rung.from)
            };
            Block::of(
                rung,
                now.filter(|_| own == Some(n)),
                limit.filter(|limit| held(*limit)),
            )
        })
        .collect();
    let high = blocks
        .iter()
        .map(|block| block.height)
        .sum::<f64>()
        .max(HEIGHT);
    let top = rungs.last().map_or(top, |rung| rung.to);
    let ceiling = 0.6;
    let floor = ceiling + high;
    let height = |load: f64| floor - high * share(load, top);
    let places = stacked(&rungs, &blocks, height, floor);

    for ((n, rung), (block, place)) in rungs.iter().enumerate().zip(blocks.iter().zip(&places)) {
        let class = if here.is_some_and(|(own, _)| own == n) {
            "band strong"
        } else if n == 0 {
            "band faint"
        } else {
            "band"
        };
        canvas.area(
            class,
            (POSTS.0, height(rung.to)),
            (POSTS.1, height(rung.from)),
        );
        block.draw(&mut canvas, *place);
        // The upper end, carried over to the top of its words.
        let (y, over) = (height(rung.to), place - 0.15);
        canvas.line("rung", (POSTS.0, y), (POSTS.1, y));
        canvas.line("lead", (POSTS.1, y), (WORDS - 0.015, over));
        canvas.line("rule", (WORDS - 0.015, over), (1.0, over));
    }
    for x in [POSTS.0, POSTS.1] {
        canvas.line("post", (x, ceiling), (x, floor));
    }
    canvas.line("axis", (0.0, floor), (1.0, floor));
    let middle = f64::midpoint(POSTS.0, POSTS.1);
    if let Some(limit) = limit.filter(|limit| limit.load <= top) {
        canvas.shape("limit", Shape::Square, (middle, height(limit.load)));
    }
    if let Some(now) = now.filter(|now| now.load <= top) {
        canvas.shape("first", Shape::Diamond, (middle, height(now.load)));
    }
    let mut y = floor + LINE;
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, y),
        format!("higher: more oil, in % {}", input.of),
    );
    if left_out > 0 {
        y += LINE;
        let more = format!("{left_out} more above; the table has them");
        canvas.text("tick", Anchor::Start, (0.0, y), more);
    }
    Some(canvas.finish(y + 0.5))
}

/// The answer: what the load looked at asks for, and how far below it less would
/// do; without one, how far the lightest label goes.
fn title(rungs: &[LabelRung], here: Option<(usize, MarkedLoad)>) -> String {
    let spoken = |rung: &LabelRung| format!("{}: {}", rung.span, rung.title);
    match (here, rungs) {
        (Some((n, now)), _) => {
            let own = rungs.get(n).map_or("", |rung| rung.title);
            let below = n.checked_sub(1).and_then(|n| rungs.get(n));
            let below = below.map(|rung| format!("; {}", spoken(rung)));
            format!("At {}: {own}{}", now.text, below.unwrap_or_default())
        }
        (None, [only]) => format!("At every load: {}", only.title),
        (None, _) => {
            let all: Vec<String> = rungs.iter().take(2).map(spoken).collect();
            capital(&all.join("; "))
        }
    }
}

fn sentence(rung: &LabelRung) -> String {
    let mut carried: Vec<String> = rung
        .pictograms
        .iter()
        .map(|one| format!("the pictogram {}", one.name()))
        .collect();
    carried.extend(rung.signal.map(|word| format!("the signal word {word}")));
    carried.extend(rung.codes.iter().map(|&code| code.to_owned()));
    if carried.is_empty() {
        format!("{}: {}.", rung.span, rung.title)
    } else {
        format!("{}: {}: {}.", rung.span, rung.title, list(&carried))
    }
}

/// The text with its first letter large.
fn capital(text: &str) -> String {
    let mut rest = text.chars();
    let first = rest.next().into_iter().flat_map(char::to_uppercase);
    first.chain(rest).collect()
}

fn or_none(names: impl Iterator<Item = String>) -> String {
    let names: Vec<String> = names.collect();
    if names.is_empty() {
        "none".to_owned()
    } else {
        names.join(", ")
    }
}

/// The words and signs beside one rung.
struct Block<'a> {
    lines: Vec<(&'static str, String)>,
    pictograms: &'a [Pictogram],
    signal: Option<&'a str>,
    height: f64,
}

impl<'a> Block<'a> {
    fn of(
        rung: &LabelRung<'a>,
        now: Option<MarkedLoad<'a>>,
        limit: Option<MarkedLoad<'a>>,
    ) -> Self {
        let room = NARROW * (1.0 - WORDS);
        // Bold letters run a tenth wider.
        let bold = room / 1.1;
        let mut lines: Vec<(&str, String)> = Vec::new();
        let mut add = |class: &'static str, text: &str, room: f64| {
            let mut wrapped = wrap(text, room);
            if wrapped.len() > MOST_LINES {
                wrapped.truncate(MOST_LINES);
                if let Some(last) = wrapped.last_mut() {
                    *last = format!("{} …", fit(last, room - 1.0));
                }
            }
            lines.extend(wrapped.into_iter().map(|line| (class, line)));
        };
        if let Some(limit) = limit {
            add("limit", &format!("■ limit: {}", limit.text), room);
        }
        add("word strong", rung.span, bold);
        add("word", rung.title, room);
        if !rung.codes.is_empty() {
            add("tick", &rung.codes.join(" · "), room);
        }
        if let Some(now) = now {
            add("first", &format!("◆ looked at: {}", now.text), bold);
        }
        let signs = if rung.pictograms.is_empty() {
            LINE * f64::from(u8::from(rung.signal.is_some()))
        } else {
            SIGN + 0.4
        };
        let height = lines.len() as f64 * LINE + signs + 0.7;
        Self {
            lines,
            pictograms: rung.pictograms,
            signal: rung.signal,
            height,
        }
    }

    fn draw(&self, canvas: &mut Canvas, top: f64) {
        let mut y = top;
        for (class, line) in &self.lines {
            y += LINE;
            canvas.text(class, Anchor::Start, (WORDS, y - 0.2), line.as_str());
        }
        if self.pictograms.is_empty() {
            if let Some(word) = self.signal {
                let word = fit(word, NARROW * (1.0 - WORDS) / 1.1);
                canvas.text("word strong", Anchor::Start, (WORDS, y + LINE - 0.2), word);
            }
            return;
        }
        let room = NARROW * (1.0 - WORDS);
        let word = self.signal.map(|word| fit(word, room / 2.0 / 1.1));
        let left = room - word.as_deref().map_or(0.0, |word| width(word) * 1.1 + 0.5);
        let size = (left / self.pictograms.len() as f64 - 0.2).clamp(0.5, SIGN);
        canvas.signs((WORDS, y + 0.2), size, self.pictograms, word.as_deref());
    }
}

/// Where each block's top stands: beside its rung where it can, and never over
/// another. From the lowest rung up, as the rungs are.
fn stacked(
    rungs: &[LabelRung],
    blocks: &[Block],
    height: impl Fn(f64) -> f64,
    floor: f64,
) -> Vec<f64> {
    let mut places: Vec<f64> = rungs.iter().map(|rung| height(rung.to)).collect();
    // Downwards from the top, each at its rung or below the one above it.
    let mut least = f64::NEG_INFINITY;
    for (place, block) in places.iter_mut().zip(blocks).rev() {
        *place = place.max(least);
        least = *place + block.height;
    }
    // Upwards from the floor, each ending above the one below it.
    let mut most = floor;
    for (place, block) in places.iter_mut().zip(blocks) {
        *place = place.min(most - block.height);
        most = *place;
    }
    places
}
