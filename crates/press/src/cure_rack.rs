//! What is curing, and when is it ready?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::scale::Scale;
use crate::words::{fit, width};
use crate::{Picture, Table};

/// How a lot stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CureState {
    /// Not ready yet.
    Curing,
    /// Its cure is over.
    Ready,
    /// Stopped; not to be sold.
    Held,
}

/// A lot on the rack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CureLot<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The day it was poured, counted from any day.
    pub poured: i32,
    /// The day it is ready.
    pub ready: i32,
    /// How it stands today.
    pub state: CureState,
}

/// The rack on one day.
#[derive(Clone, Copy)]
pub struct CureRack<'a> {
    /// The lots, in the order they are drawn from above.
    pub lots: &'a [CureLot<'a>],
    /// Today, counted as the lots' days are.
    pub today: i32,
    /// Writes a day shortly: `9 Oct`.
    pub write_day: &'a dyn Fn(i32) -> String,
}

/// Rows drawn; the table holds every lot.
const MOST: usize = 40;
const ROW: f64 = 2.9;

/// Draws each lot as a line along the days from poured to ready, with today
/// across them all and the state in a word and a shape.
///
/// `None` when the rack is empty.
pub fn cure_rack(input: &CureRack) -> Option<Picture> {
    let CureRack {
        lots,
        today,
        write_day: write,
    } = *input;
    let days = lots
        .iter()
        .flat_map(|lot| [lot.poured, lot.ready])
        .chain([today])
        .map(f64::from);
    let scale = Scale::around(days)?;
    if lots.is_empty() {
        return None;
    }

    let count = |state: CureState| lots.iter().filter(|lot| lot.state == state).count();
    let next = lots
        .iter()
        .filter(|lot| lot.state == CureState::Curing)
        .min_by_key(|lot| lot.ready);
    let n_ready = count(CureState::Ready);
    let noun = if lots.len() == 1 { "lot" } else { "lots" };
    let mut title = vec![format!("{n_ready} of {} {noun} ready", lots.len())];
    if let Some(next) = next {
        title.push(format!("next {} on {}", next.name, write(next.ready)));
    }
    let held = match count(CureState::Held) {
        0 => String::new(),
        held => format!(", {held} on hold"),
    };
    let mut said = vec![format!(
        "{n_ready} ready, {} curing{held}.",
        count(CureState::Curing)
    )];
    if let Some(next) = next {
        said.push(format!(
            "The next to be ready is {}, on {}.",
            next.name,
            write(next.ready)
        ));
    }
    let mut table = Table::new(["lot", "poured", "ready", "state"]);
    for lot in lots {
        table.row([
            lot.name.to_owned(),
            write(lot.poured),
            write(lot.ready),
            word(lot, today),
        ]);
    }

    let mut canvas = Canvas::new("cure-rack", title.join("; "), said.join(" "), table);
    let now = scale.at(f64::from(today));
    let shown = lots.len().min(MOST);
    let floor = 1.6 + ROW * shown as f64;
    canvas.line("mark now", (now, 1.3), (now, floor));
    canvas.label(
        "word first",
        (now, 0.95),
        format!("today, {}", write(today)),
    );
    for (n, lot) in lots.iter().take(MOST).enumerate() {
        row(&mut canvas, scale, 1.6 + ROW * n as f64, lot, now, today);
    }
    canvas.axis(scale, floor, &|day| write(whole(day)));
    if lots.len() > shown {
        let more = format!("and {} more in the table", lots.len() - shown);
        canvas.text("tick", Anchor::Start, (0.0, floor + 3.0), more);
        return Some(canvas.finish(floor + 3.5));
    }
    Some(canvas.finish(floor + 2.0))
}

/// Name and state above, the days below.
fn row(canvas: &mut Canvas, scale: Scale, top: f64, lot: &CureLot, now: f64, today: i32) {
    let state = word(lot, today);
    let class = match lot.state {
        CureState::Curing => "word curing",
        CureState::Ready => "word ready",
        CureState::Held => "word held",
    };
    canvas.text(
        "word over",
        Anchor::Start,
        (0.0, top + 1.25),
        fit(lot.name, NARROW - width(&state) - 1.2),
    );
    canvas.text(class, Anchor::End, (1.0, top + 1.25), state);
    let y = top + 2.1;
    let (poured, ready) = (
        scale.at(f64::from(lot.poured.min(lot.ready))),
        scale.at(f64::from(lot.ready)),
    );
    canvas.line("rule", (0.0, y), (1.0, y));
    match lot.state {
        CureState::Curing => {
            canvas.filled(1, (poured, y - 0.28), (ready, y + 0.28));
            canvas.filled(0, (poured, y - 0.28), (now.clamp(poured, ready), y + 0.28));
            canvas.dot("ring curing", (ready, y), 0.36);
        }
        CureState::Ready => {
            canvas.area("whole ready", (poured, y - 0.28), (ready, y + 0.28));
            canvas.dot("dot ready", (ready, y), 0.4);
        }
        CureState::Held => {
            canvas.filled(5, (poured, y - 0.28), (ready, y + 0.28));
            canvas.shape("held", Shape::Square, (ready, y));
        }
    }
}

fn word(lot: &CureLot, today: i32) -> String {
    match lot.state {
        CureState::Ready => "ready".to_owned(),
        CureState::Held => "hold".to_owned(),
        CureState::Curing => match i64::from(lot.ready) - i64::from(today) {
            ..=0 => "due".to_owned(),
            1 => "1 day to go".to_owned(),
            days => format!("{days} days to go"),
        },
    }
}

/// The day nearest to a place on the scale.
fn whole(day: f64) -> i32 {
    let day = libm::round(day).clamp(f64::from(i32::MIN), f64::from(i32::MAX));
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a whole number between the ends of i32"
    )]
    let day = day as i32;
    day
}
