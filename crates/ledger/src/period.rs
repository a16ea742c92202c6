//! What was there, what came, what went and what is left, between two days.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::layers::{Layer, Method, Stock, Taken};
use crate::value::Value;

/// Something that happened to the stock of one item on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Movement {
    /// The day.
    pub day: Date,
    /// What happened.
    pub change: Change,
}

/// What happened to a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// Goods came in, for what they cost.
    In {
        /// The receipt, as its caller knows it.
        key: u64,
        /// How much, in whole smallest units.
        quantity: i64,
        /// What it cost.
        value: Value,
    },
    /// Goods went out.
    Out {
        /// How much, in whole smallest units.
        quantity: i64,
    },
}

/// A quantity in whole smallest units, and its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Holding {
    /// How much; below zero when more went out than was there.
    pub quantity: i64,
    /// What it is worth.
    pub value: Value,
}

impl Holding {
    fn of(stock: &Stock) -> Self {
        Self {
            quantity: stock.quantity(),
            value: stock.value(),
        }
    }

    fn add(&mut self, quantity: i64, value: Value) {
        self.quantity = self.quantity.saturating_add(quantity);
        self.value += value;
    }
}

/// What one movement of the period did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// Which of the movements given, from nought.
    pub movement: usize,
    /// What came in or went out with it.
    pub moved: Holding,
    /// What went out, with the layers it came from; none for a receipt.
    pub taken: Option<Taken>,
    /// What a receipt's settling of an earlier shortage cost more than was
    /// assumed.
    pub variance: Value,
    /// On hand afterwards.
    pub after: Holding,
}

/// One stock over a period. Opening + received = cost of goods + closing, in
/// value; opening + received = taken + closing, in quantity.
#[derive(Debug, Clone)]
pub struct Period {
    /// On hand before the first day.
    pub opening: Holding,
    /// What came in.
    pub received: Holding,
    /// What went out, at what it was then taken to cost.
    pub taken: Holding,
    /// What settling shortages turned out to cost more than was assumed.
    pub variance: Value,
    /// On hand after the last day.
    pub closing: Holding,
    /// What is left of each receipt after the last day, oldest first.
    pub layers: Vec<Layer>,
    /// The movements of the period, in the order they were reckoned.
    pub done: Vec<Done>,
    /// Movements that were given out of the order of days, and sorted.
    pub out_of_order: usize,
    /// Movements after the last day, left out.
    pub later: usize,
}

impl Period {
    /// What the goods that went out cost: what they were taken to cost, and
    /// what settling added.
    pub fn cost_of_goods(&self) -> Value {
        self.taken.value + self.variance
    }
}

/// Reckons a stock over the days `from` to `to`, both included; a missing one
/// leaves that end open.
///
/// Movements are taken in the order of their days, those of one day in the
/// order given.
pub fn period(
    method: Method,
    movements: &[Movement],
    from: Option<Date>,
    to: Option<Date>,
) -> Period {
    let mut order: Vec<usize> = (0..movements.len()).collect();
    order.sort_by_key(|idx| movements.get(*idx).map(|movement| movement.day));
    let mut stock = Stock::new(method);
    let mut period = Period {
        opening: Holding::default(),
        received: Holding::default(),
        taken: Holding::default(),
        variance: Value::ZERO,
        closing: Holding::default(),
        layers: Vec::new(),
        done: Vec::new(),
        out_of_order: out_of_order(movements),
        later: 0,
    };
    let mut begun = false;
    for idx in order {
        let Some(movement) = movements.get(idx) else {
            continue;
        };
        if to.is_some_and(|to| movement.day > to) {
            period.later += 1;
            continue;
        }
        let before = from.is_some_and(|from| movement.day < from);
        if !before && !begun {
            begun = true;
            period.opening = Holding::of(&stock);
        }
        let mut done = Done {
            movement: idx,
            moved: Holding::default(),
            taken: None,
            variance: Value::ZERO,
            after: Holding::default(),
        };
        match movement.change {
            Change::In {
                key,
                quantity,
                value,
            } => {
                done.variance = stock.receive(key, quantity, value).variance;
                done.moved.add(quantity.max(0), value);
            }
            Change::Out { quantity } => {
                let taken = stock.take(quantity);
                done.moved.add(quantity.max(0), taken.value);
                done.taken = Some(taken);
            }
        }
        if before {
            continue;
        }
        done.after = Holding::of(&stock);
        let side = match done.taken {
            Some(_) => &mut period.taken,
            None => &mut period.received,
        };
        side.add(done.moved.quantity, done.moved.value);
        period.variance += done.variance;
        period.done.push(done);
    }
    if !begun {
        period.opening = Holding::of(&stock);
    }
    period.closing = Holding::of(&stock);
    period.layers = stock.layers();
    period
}

/// How many movements are of an earlier day than one given before them.
fn out_of_order(movements: &[Movement]) -> usize {
    let mut latest: Option<Date> = None;
    let mut late = 0;
    for movement in movements {
        if latest.is_some_and(|latest| movement.day < latest) {
            late += 1;
        }
        latest = latest.max(Some(movement.day));
    }
    late
}

/// The days on which a stock went below zero, with how much went short.
pub fn shortages(period: &Period, movements: &[Movement]) -> BTreeMap<Date, i64> {
    let mut short: BTreeMap<Date, i64> = BTreeMap::new();
    for done in &period.done {
        let missing = done.taken.as_ref().and_then(|taken| taken.short);
        if let (Some(missing), Some(movement)) = (missing, movements.get(done.movement)) {
            let so_far = short.entry(movement.day).or_default();
            *so_far = so_far.saturating_add(missing.quantity);
        }
    }
    short
}
