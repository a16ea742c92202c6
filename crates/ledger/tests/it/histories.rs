//! A hundred thousand random histories of a stock, reckoned a second time in
//! another way.

use std::collections::VecDeque;

use jiff::civil::{Date, date};
use ledger::period::{Change, Movement, period};
use ledger::{Layer, Method, Stock, Value};
use num_bigint::BigInt;

use crate::Chance;

/// How many histories each method is held against.
const HISTORIES: u64 = 100_000;
const LONGEST: i64 = 40;

/// One movement of a history: in, with a cost, or out.
#[derive(Debug, Clone, Copy)]
enum Move {
    In(i64, i128),
    Out(i64),
}

/// A history of 1 to 40 movements. Rather more comes in than goes out, so that
/// most stay above zero and some do not. With `even`, a receipt's cost is a
/// whole number for each unit.
fn history(seed: u64, even: bool) -> Vec<Move> {
    let mut chance = Chance(seed);
    let most = chance.between(1, 30);
    (0..chance.between(1, LONGEST))
        .map(|_| {
            if chance.between(0, 9) < 5 {
                let quantity = chance.between(1, most);
                let cost = i128::from(chance.between(0, 5_000_000_000));
                let value = if even {
                    cost * i128::from(quantity)
                } else {
                    cost
                };
                Move::In(quantity, value)
            } else {
                Move::Out(chance.between(1, most))
            }
        })
        .collect()
}

/// Received = taken + on hand + variance; layers add up to what is there.
#[track_caller]
fn balanced(stock: &Stock) {
    let (received, paid) = stock.received();
    let (taken, cost) = stock.taken();
    assert_eq!(received, taken + i128::from(stock.quantity()));
    assert_eq!(paid, cost + stock.value() + stock.variance());
    let layers = stock.layers();
    let (owed, owed_at) = stock.owed();
    let there: i64 = layers.iter().map(|layer| layer.quantity).sum();
    let worth: Value = layers.iter().map(|layer| layer.value).sum();
    assert_eq!(there, stock.quantity() + owed);
    assert_eq!(worth, stock.value() + owed_at);
    assert!(owed == 0 || there == 0);
    if there == 0 {
        assert_eq!(
            worth,
            Value::ZERO,
            "an emptied stock leaves exactly nothing"
        );
    }
    if owed == 0 {
        assert_eq!(owed_at, Value::ZERO);
    }
}

/// Every single unit stands in a queue with what it cost and where it came
/// from; units that are missing wait in a second queue for theirs.
#[derive(Default)]
struct Queue {
    units: VecDeque<(u64, i128)>,
    missing: VecDeque<i128>,
    last: i128,
    variance: i128,
}

impl Queue {
    fn receive(&mut self, key: u64, quantity: i64, each: i128) {
        for _ in 0..quantity {
            match self.missing.pop_front() {
                Some(assumed) => self.variance += each - assumed,
                None => self.units.push_back((key, each)),
            }
        }
        self.last = each;
    }

    fn take(&mut self, quantity: i64) -> (i128, Vec<(u64, i64)>) {
        let (mut cost, mut from) = (0, Vec::<(u64, i64)>::new());
        for _ in 0..quantity {
            let Some((key, each)) = self.units.pop_front() else {
                self.missing.push_back(self.last);
                cost += self.last;
                continue;
            };
            cost += each;
            match from.last_mut() {
                Some((last, many)) if *last == key => *many += 1,
                _ => from.push((key, 1)),
            }
        }
        (cost, from)
    }
}

#[test]
fn first_in_first_out_is_what_a_queue_of_single_units_gives() {
    let (mut moves, mut short) = (0_u64, 0_u64);
    for seed in 0..HISTORIES {
        let mut stock = Stock::new(Method::Fifo);
        let mut queue = Queue::default();
        for (movement, key) in history(seed, true).into_iter().zip(0..) {
            moves += 1;
            match movement {
                Move::In(quantity, value) => {
                    stock.receive(key, quantity, Value::from_millionths(value));
                    queue.receive(key, quantity, value / i128::from(quantity));
                }
                Move::Out(quantity) => {
                    let taken = stock.take(quantity);
                    let (cost, from) = queue.take(quantity);
                    assert_eq!(taken.value.millionths(), cost, "history {seed}");
                    let parts: Vec<(u64, i64)> = taken
                        .parts
                        .iter()
                        .map(|part| (part.key, part.quantity))
                        .collect();
                    assert_eq!(parts, from, "history {seed}");
                    short += u64::from(taken.short.is_some());
                }
            }
            let there = i64::try_from(queue.units.len()).unwrap();
            let missing = i64::try_from(queue.missing.len()).unwrap();
            assert_eq!(stock.quantity(), there - missing);
            let worth: i128 = queue.units.iter().map(|(_, each)| each).sum();
            let owed: i128 = queue.missing.iter().sum();
            assert_eq!(stock.value().millionths(), worth - owed, "history {seed}");
            assert_eq!(stock.variance().millionths(), queue.variance);
            balanced(&stock);
        }
    }
    assert!(
        moves > 20 * HISTORIES && short > HISTORIES,
        "{moves} {short}"
    );
}

/// A fraction, never reduced.
#[derive(Clone)]
struct Exact(BigInt, BigInt);

impl Exact {
    fn nothing() -> Self {
        Self(BigInt::from(0), BigInt::from(1))
    }

    fn plus(&self, other: &Self) -> Self {
        Self(&self.0 * &other.1 + &other.0 * &self.1, &self.1 * &other.1)
    }

    fn times(&self, over: i64, under: i64) -> Self {
        Self(&self.0 * over, &self.1 * under)
    }

    fn minus(&self, other: &Self) -> Self {
        self.plus(&other.times(-1, 1))
    }

    /// Whether it lies within `bound` of a whole number.
    fn is_near(&self, whole: i128, bound: i128) -> bool {
        let off = &self.0 - BigInt::from(whole) * &self.1;
        let most = BigInt::from(bound) * &self.1;
        off <= most && -off <= most
    }
}

/// The moving average in exact fractions, with how far rounding to the
/// millionth can have gone from it.
struct Average {
    there: i64,
    worth: Exact,
    off: i128,
    /// What is missing, oldest first: how much, at what, how far off.
    missing: VecDeque<(i64, Exact, i128)>,
    last: Option<(Exact, i128, i64)>,
}

impl Average {
    fn receive(&mut self, quantity: i64, value: i128) {
        let value = Exact(BigInt::from(value), BigInt::from(1));
        let mut rest = quantity;
        while let (1.., Some((owed, at, off))) = (rest, self.missing.front_mut()) {
            let settled = rest.min(*owed);
            rest -= settled;
            *at = at.times(*owed - settled, *owed);
            *owed -= settled;
            *off += 1;
            if *owed == 0 {
                self.missing.pop_front();
            }
        }
        self.last = Some((value.clone(), 0, quantity));
        if rest > 0 {
            self.worth = self.worth.plus(&value.times(rest, quantity));
            self.off += 1;
            self.there += rest;
            self.last = Some((self.worth.clone(), self.off, self.there));
        }
    }

    fn take(&mut self, quantity: i64) -> (Exact, i128) {
        let from_stock = quantity.min(self.there);
        let (mut cost, mut off) = (Exact::nothing(), 0);
        if from_stock > 0 {
            cost = self.worth.times(from_stock, self.there);
            // Not by taking the cost away: the denominators would multiply.
            self.worth = self.worth.times(self.there - from_stock, self.there);
            self.there -= from_stock;
            self.off += 1;
            off = self.off;
            if self.there == 0 {
                (self.worth, self.off) = (Exact::nothing(), 0);
            }
        }
        let missing = quantity - from_stock;
        if let (1.., Some((worth, worth_off, of))) = (missing, &self.last) {
            let assumed = worth.times(missing, *of);
            let assumed_off = worth_off * i128::from(missing) / i128::from(*of) + 2;
            cost = cost.plus(&assumed);
            off += assumed_off;
            self.missing.push_back((missing, assumed, assumed_off));
        } else if missing > 0 {
            self.missing.push_back((missing, Exact::nothing(), 0));
        }
        (cost, off)
    }
}

#[test]
fn the_moving_average_is_what_exact_fractions_give() {
    let mut farthest = 0;
    for seed in 0..HISTORIES {
        let mut stock = Stock::new(Method::Average);
        let mut exact = Average {
            there: 0,
            worth: Exact::nothing(),
            off: 0,
            missing: VecDeque::new(),
            last: None,
        };
        for (movement, key) in history(seed, false).into_iter().zip(0..) {
            match movement {
                Move::In(quantity, value) => {
                    stock.receive(key, quantity, Value::from_millionths(value));
                    exact.receive(quantity, value);
                }
                Move::Out(quantity) => {
                    let taken = stock.take(quantity);
                    let (cost, off) = exact.take(quantity);
                    assert!(
                        cost.is_near(taken.value.millionths(), off),
                        "history {seed}"
                    );
                    let parts: Value = taken.parts.iter().map(|part| part.value).sum();
                    let short = taken.short.map_or(Value::ZERO, |short| short.value);
                    assert_eq!(parts + short, taken.value);
                    farthest = farthest.max(off);
                }
            }
            let (mut there, mut on_hand, mut off) = (exact.there, exact.worth.clone(), exact.off);
            for (owed, at, owed_off) in &exact.missing {
                there -= owed;
                on_hand = on_hand.minus(at);
                off += owed_off;
            }
            assert_eq!(stock.quantity(), there);
            assert!(
                on_hand.is_near(stock.value().millionths(), off),
                "history {seed}"
            );
            balanced(&stock);
        }
    }
    // Rounding is worth nothing: less than a thousandth of a minor unit.
    assert!(farthest < 1_000, "{farthest} millionths");
}

#[test]
fn no_money_is_lost_where_costs_do_not_divide() {
    for seed in 0..HISTORIES {
        let mut stock = Stock::new(Method::Fifo);
        let mut taken = Value::ZERO;
        for (movement, key) in history(seed, false).into_iter().zip(0..) {
            match movement {
                Move::In(quantity, value) => {
                    stock.receive(key, quantity, Value::from_millionths(value));
                }
                Move::Out(quantity) => {
                    let out = stock.take(quantity);
                    let parts: Value = out.parts.iter().map(|part| part.value).sum();
                    let short = out.short.map_or(Value::ZERO, |short| short.value);
                    assert_eq!(parts + short, out.value);
                    taken += out.value;
                }
            }
            balanced(&stock);
        }
        assert_eq!(stock.taken().1, taken);
    }
}

fn day(number: i64) -> Date {
    date(2026, 1, 1) + jiff::Span::new().days(number)
}

fn dated(seed: u64) -> Vec<Movement> {
    let mut chance = Chance(seed ^ 0xDA7E);
    let mut at = 0;
    history(seed, false)
        .into_iter()
        .zip(0..)
        .map(|(movement, key)| {
            at += chance.between(0, 3);
            let change = match movement {
                Move::In(quantity, value) => Change::In {
                    key,
                    quantity,
                    value: Value::from_millionths(value),
                },
                Move::Out(quantity) => Change::Out { quantity },
            };
            Movement {
                day: day(at),
                change,
            }
        })
        .collect()
}

#[test]
fn periods_join_without_a_gap() {
    for seed in 0..HISTORIES / 10 {
        let movements = dated(seed);
        for method in [Method::Fifo, Method::Average] {
            let whole = period(method, &movements, None, None);
            let cut = day(Chance(seed).between(0, 60));
            let first = period(method, &movements, None, Some(cut));
            let then = period(method, &movements, Some(cut.tomorrow().unwrap()), None);
            assert_eq!(first.closing, then.opening);
            assert_eq!(then.closing, whole.closing);
            assert_eq!(then.layers, whole.layers);
            assert_eq!(
                first.cost_of_goods() + then.cost_of_goods(),
                whole.cost_of_goods()
            );
            for period in [&first, &then, &whole] {
                assert_eq!(
                    period.opening.value + period.received.value,
                    period.cost_of_goods() + period.closing.value
                );
                assert_eq!(
                    period.opening.quantity + period.received.quantity,
                    period.taken.quantity + period.closing.quantity
                );
            }
        }
    }
}

#[test]
fn the_order_in_which_days_are_written_down_changes_nothing() {
    for seed in 0..HISTORIES / 10 {
        let movements = dated(seed);
        let mut mixed = movements.clone();
        let mut chance = Chance(seed);
        for _ in 0..40 {
            // Neighbours of different days change places; a day keeps its order.
            let at = usize::try_from(chance.next() % mixed.len() as u64).unwrap();
            if mixed
                .get(at + 1)
                .is_some_and(|next| next.day != mixed[at].day)
            {
                mixed.swap(at, at + 1);
            }
        }
        let (straight, mixed) = (
            period(Method::Fifo, &movements, None, None),
            period(Method::Fifo, &mixed, None, None),
        );
        assert_eq!(straight.closing, mixed.closing);
        assert_eq!(straight.cost_of_goods(), mixed.cost_of_goods());
        assert_eq!(straight.layers, mixed.layers);
        assert_eq!(straight.out_of_order, 0);
    }
}

#[test]
fn more_than_there_is_waits_for_its_cost() {
    let mut stock = Stock::new(Method::Fifo);
    let early = stock.take(5);
    assert_eq!(early.value, Value::ZERO);
    assert!(!early.short.unwrap().cost_known);
    // Five of the eight settle what went before, at what they really cost.
    let settled = stock.receive(1, 8, Value::from_millionths(800));
    assert_eq!((settled.quantity, settled.variance.millionths()), (5, 500));
    let left = Layer {
        key: 1,
        quantity: 3,
        value: Value::from_millionths(300),
    };
    assert_eq!(stock.layers(), [left]);
    let taken = stock.take(4);
    assert_eq!(taken.parts, [left]);
    let short = taken.short.unwrap();
    assert_eq!((short.quantity, short.value.millionths()), (1, 100));
    assert!(short.cost_known);
    assert_eq!((stock.quantity(), stock.value().millionths()), (-1, -100));
    stock.receive(2, 1, Value::from_millionths(130));
    assert_eq!((stock.quantity(), stock.value().millionths()), (0, 0));
    assert_eq!(stock.variance().millionths(), 530);
    balanced(&stock);
}

#[test]
fn nothing_and_less_than_nothing_move_nothing() {
    let mut stock = Stock::new(Method::Average);
    assert_eq!(stock.take(0).value, Value::ZERO);
    assert_eq!(stock.take(-3).parts, []);
    let settled = stock.receive(1, 0, Value::from_millionths(70));
    assert_eq!(settled.variance.millionths(), 70);
    stock.receive(1, -4, Value::from_millionths(30));
    assert_eq!((stock.quantity(), stock.value()), (0, Value::ZERO));
    balanced(&stock);
    stock.receive(2, i64::MAX, Value::from_millionths(i128::MAX / 4));
    stock.receive(3, i64::MAX, Value::from_millionths(i128::MAX / 4));
    balanced(&stock);
    stock.take(i64::MAX);
    stock.take(i64::MAX);
    stock.take(i64::MAX);
    assert_eq!(stock.quantity(), -i64::MAX);
}
