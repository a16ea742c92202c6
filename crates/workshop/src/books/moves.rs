//! What moved, as it should have been, before anything is valued.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use ledger::Value;
use measure::{Currency, Typed};
use price::Labour;

use super::{Good, Loss};
use crate::facts::{Lost, MarketDayId, Place, PourId, SaleId, SupplyId, SupplyLot};
use crate::goods::{Item, Spot};
use crate::lots::thought_when_counted;
use crate::state::{Lot, ShelfChange, Workshop};
use crate::worth::good_of;

/// What happened to a supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ShelfMove {
    /// A delivery brought it, at what it cost landed.
    Came {
        lot: SupplyLot,
        quantity: i64,
        value: Value,
    },
    /// A pour used it, all in all.
    Used(PourId, i64),
    /// It was lost; below zero where a count found more.
    Lost(Loss, i64),
}

/// What happened to units of a good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum GoodsMove {
    Made(PourId, i64),
    Sold(SaleId, i64),
    Back(SaleId, i64),
    BackAndGone(SaleId, Lost, i64),
    Gone(Lost, i64),
    Found(Lost, i64),
}

/// Something that happened to units of a good on a day.
#[derive(Debug, Clone, Copy)]
pub(super) struct OnGoods {
    pub(super) day: Date,
    pub(super) good: Good,
    pub(super) what: GoodsMove,
    /// The market day at which it was lost or found.
    pub(super) at: Option<MarketDayId>,
}

/// A lot as it came out of the pot, or a pot that gave nothing.
#[derive(Debug, Clone, Copy)]
pub(super) struct LotIn {
    pub(super) pour: PourId,
    /// None where nothing came out.
    pub(super) good: Option<Good>,
    /// Units, seconds among them.
    pub(super) made: i64,
    pub(super) day: Date,
    /// Hands-on time and overhead.
    pub(super) work: Value,
}

/// Everything that moved, by day.
#[derive(Debug, Clone, Default)]
pub(super) struct Moves {
    pub(super) shelf: BTreeMap<SupplyId, Vec<(Date, ShelfMove)>>,
    pub(super) lots: Vec<LotIn>,
    pub(super) goods: Vec<OnGoods>,
    /// What the first delivery of a supply cost, and how much it brought.
    pub(super) first_cost: BTreeMap<SupplyId, (i64, Value)>,
    /// What the last delivery of a supply cost, and how much it brought.
    pub(super) last_cost: BTreeMap<SupplyId, (i64, Value)>,
    /// The latest lot of a good.
    pub(super) last_lot: BTreeMap<Good, PourId>,
    /// The first lot of a good.
    pub(super) first_lot: BTreeMap<Good, PourId>,
    pub(super) good_of: BTreeMap<PourId, Good>,
    /// What each pour used, net.
    pub(super) uses: BTreeMap<PourId, Vec<(SupplyId, i64)>>,
    /// Sales of which something came back.
    pub(super) comes_back: BTreeSet<SaleId>,
    pub(super) unpriced: BTreeMap<PourId, BTreeSet<SupplyId>>,
    pub(super) without_work: BTreeSet<PourId>,
    pub(super) foreign: BTreeSet<SupplyId>,
    made: BTreeMap<PourId, i64>,
}

impl Moves {
    pub(super) fn of(workshop: &Workshop, currency: Currency) -> Self {
        let mut moves = Self::default();
        for supply in workshop.supplies() {
            moves.on_shelf(workshop, supply.id, currency);
        }
        moves.out_of_pots(workshop, currency);
        moves.through_goods(workshop);
        moves
    }

    /// About how many flows they make.
    pub(super) fn count(&self) -> usize {
        let shelf: usize = self.shelf.values().map(Vec::len).sum();
        shelf + 2 * self.lots.len() + self.goods.len()
    }

    /// How many units a lot gave.
    pub(super) fn made_of(&self, pour: PourId) -> i64 {
        self.made.get(&pour).copied().unwrap_or(0)
    }

    /// The moves of one supply. A delivery comes with what it turned out to
    /// have brought and cost, a pour draws at once what it used in all.
    fn on_shelf(&mut self, workshop: &Workshop, supply: SupplyId, currency: Currency) {
        let events = workshop.shelf_events(supply);
        let mut brought: BTreeMap<SupplyLot, i64> = BTreeMap::new();
        let mut used: BTreeMap<PourId, i64> = BTreeMap::new();
        for event in events {
            match event.what {
                ShelfChange::Received(lot, amount) | ShelfChange::Corrected(lot, amount) => {
                    *brought.entry(lot).or_default() += amount;
                }
                ShelfChange::Used(pour, amount) => *used.entry(pour).or_default() += amount,
                _ => {}
            }
        }
        for (pour, amount) in &used {
            if *amount != 0 {
                self.uses.entry(*pour).or_default().push((supply, *amount));
            }
        }
        let mut of_pours = used.clone();
        let mut thought = thought_when_counted(events).into_iter();
        let mut list: Vec<(Date, ShelfMove)> = Vec::with_capacity(events.len());
        for event in events {
            let what = match &event.what {
                ShelfChange::Received(lot, _) => {
                    let quantity = brought.remove(lot).unwrap_or(0);
                    let value = self.landed(workshop, supply, *lot, currency);
                    ShelfMove::Came {
                        lot: *lot,
                        quantity,
                        value,
                    }
                }
                ShelfChange::Used(pour, _) => match of_pours.remove(pour) {
                    Some(net) if net != 0 => ShelfMove::Used(*pour, net),
                    _ => continue,
                },
                ShelfChange::Wasted(_, amount) => ShelfMove::Lost(Loss::Wasted, *amount),
                ShelfChange::Counted(_, counted) => {
                    let gone = thought.next().unwrap_or(*counted) - counted;
                    ShelfMove::Lost(Loss::Uncounted, gone)
                }
                ShelfChange::Corrected(..) | ShelfChange::Opened(_) | ShelfChange::Drawn(..) => {
                    continue;
                }
            };
            list.push((event.day, what));
        }
        list.sort_by_key(|(day, _)| *day);
        let mut came = list.iter().filter_map(|(_, what)| match what {
            ShelfMove::Came {
                quantity, value, ..
            } if *quantity > 0 => Some((*quantity, *value)),
            _ => None,
        });
        match came.next() {
            Some(first) => {
                self.first_cost.insert(supply, first);
                let last = came.next_back().unwrap_or(first);
                self.last_cost.insert(supply, last);
            }
            None => {
                for (pour, _) in used.iter().filter(|(_, amount)| **amount > 0) {
                    self.unpriced.entry(*pour).or_default().insert(supply);
                }
            }
        }
        if !list.is_empty() {
            self.shelf.insert(supply, list);
        }
    }

    /// What a line of a delivery cost with its share of the freight, as it
    /// stands after corrections.
    fn landed(
        &mut self,
        workshop: &Workshop,
        supply: SupplyId,
        lot: SupplyLot,
        currency: Currency,
    ) -> Value {
        let line = usize::try_from(lot.line).unwrap_or(usize::MAX);
        let receipt = workshop.receipt(lot.receipt);
        let landed = receipt.and_then(|receipt| receipt.landed.get(line));
        match landed {
            Some(paid) if paid.currency() == currency => Value::from_money(*paid),
            Some(_) => {
                self.foreign.insert(supply);
                Value::ZERO
            }
            None => Value::ZERO,
        }
    }

    fn out_of_pots(&mut self, workshop: &Workshop, currency: Currency) {
        let mut first_made: BTreeMap<PourId, Date> = BTreeMap::new();
        for movement in workshop.goods().movements() {
            let sign = match (movement.from, movement.to) {
                (Spot::Made, _) => 1,
                (_, Spot::Made) => -1,
                _ => continue,
            };
            if let Some(lot) = movement.item.lot() {
                *self.made.entry(lot).or_default() += sign * i64::from(movement.count);
                first_made.entry(lot).or_insert(movement.day);
            }
        }
        let mut last_used: BTreeMap<PourId, Date> = BTreeMap::new();
        for (day, what) in self.shelf.values().flatten() {
            if let ShelfMove::Used(pour, _) = what {
                let last = last_used.entry(*pour).or_insert(*day);
                *last = (*last).max(*day);
            }
        }
        for pour in workshop.pours() {
            let Some(lot) = &pour.finished else {
                if pour.abandoned.is_some() {
                    self.lots.push(LotIn {
                        pour: pour.id,
                        good: None,
                        made: 0,
                        day: last_used.get(&pour.id).copied().unwrap_or(pour.started),
                        work: Value::ZERO,
                    });
                }
                continue;
            };
            let good = match pour.product {
                Some(product) => Good::Product(product),
                None => good_of(workshop, pour)
                    .map_or(Good::Trial(pour.id), |good| Good::Product(good.id)),
            };
            self.good_of.insert(pour.id, good);
            let (work, has_wage) = work_in(workshop, lot, currency);
            if !has_wage {
                self.without_work.insert(pour.id);
            }
            if lot.good.saturating_add(lot.seconds) > 0 {
                self.last_lot.insert(good, pour.id);
            }
            self.lots.push(LotIn {
                pour: pour.id,
                good: Some(good),
                made: self.made_of(pour.id),
                day: first_made.get(&pour.id).copied().unwrap_or(lot.day),
                work,
            });
        }
        self.lots.sort_by_key(|lot| lot.day);
        for lot in &self.lots {
            if let Some(good) = lot.good.filter(|_| lot.made > 0) {
                self.first_lot.entry(good).or_insert(lot.pour);
            }
        }
    }

    fn through_goods(&mut self, workshop: &Workshop) {
        let trade = workshop.trade();
        let movements = workshop.goods().movements();
        // A voided sale counts with what of it never came back.
        let mut voided: BTreeMap<(SaleId, Good), i64> = BTreeMap::new();
        // What was lost at a stall counts as it was counted last; on one day at
        // any other place, what one lot had too few of and another too many was
        // not lost.
        let mut lost: BTreeMap<LostAt, i64> = BTreeMap::new();
        let is_voided = |sale: SaleId| trade.sale(sale).is_some_and(|sale| sale.voided.is_some());
        for movement in movements {
            let good = self.good_of_item(movement.item);
            let units = i64::from(movement.count);
            match (movement.from, movement.to) {
                (Spot::At(_), Spot::Sold(sale)) if is_voided(sale) => {
                    *voided.entry((sale, good)).or_default() += units;
                }
                (Spot::At(place), Spot::Gone(how)) => {
                    let at = lost_at(place, movement.day, how, good);
                    *lost.entry(at).or_default() += units;
                }
                (Spot::Gone(how), Spot::At(place)) => {
                    let at = lost_at(place, movement.day, how, good);
                    *lost.entry(at).or_default() -= units;
                }
                (Spot::Sold(sale), to) => {
                    self.comes_back.insert(sale);
                    if matches!(to, Spot::At(_)) && is_voided(sale) {
                        *voided.entry((sale, good)).or_default() -= units;
                    }
                }
                _ => {}
            }
        }
        let mut made = self.made.clone();
        for movement in movements {
            let good = self.good_of_item(movement.item);
            let units = i64::from(movement.count);
            let mut once = |sale: SaleId| match voided.entry((sale, good)) {
                Entry::Occupied(mut of) => match std::mem::take(of.get_mut()) {
                    0 => None,
                    net if net > 0 => Some(GoodsMove::Sold(sale, net)),
                    net => Some(GoodsMove::Back(sale, net.saturating_neg())),
                },
                Entry::Vacant(_) => None,
            };
            let what = match (movement.from, movement.to) {
                (Spot::Made, _) | (_, Spot::Made) => {
                    // A lot comes at once with what it turned out to have given.
                    movement.item.lot().and_then(|lot| {
                        let units = made.remove(&lot).filter(|units| *units > 0)?;
                        Some(GoodsMove::Made(lot, units))
                    })
                }
                (Spot::At(_), Spot::Sold(sale)) | (Spot::Sold(sale), Spot::At(_))
                    if is_voided(sale) =>
                {
                    once(sale)
                }
                (Spot::At(_), Spot::Sold(sale)) => Some(GoodsMove::Sold(sale, units)),
                (Spot::Sold(sale), Spot::At(_)) => Some(GoodsMove::Back(sale, units)),
                (Spot::Sold(sale), Spot::Gone(how)) => {
                    Some(GoodsMove::BackAndGone(sale, how, units))
                }
                (Spot::At(place), Spot::Gone(how)) | (Spot::Gone(how), Spot::At(place)) => {
                    let at = lost_at(place, movement.day, how, good);
                    match lost.remove(&at).unwrap_or(0) {
                        0 => None,
                        net if net > 0 => Some(GoodsMove::Gone(how, net)),
                        net => Some(GoodsMove::Found(how, net.saturating_neg())),
                    }
                }
                _ => None,
            };
            let at = match (movement.from, movement.to) {
                (Spot::At(Place::Stall(at)), Spot::Gone(_))
                | (Spot::Gone(_), Spot::At(Place::Stall(at))) => Some(at),
                _ => None,
            };
            if let Some(what) = what {
                self.goods.push(OnGoods {
                    day: movement.day,
                    good,
                    what,
                    at,
                });
            }
        }
        self.goods.sort_by_key(|event| event.day);
    }

    fn good_of_item(&self, item: Item) -> Good {
        match item {
            Item::Unknown(product) => Good::Product(product),
            Item::Lot(lot, _) => self.good_of.get(&lot).copied().unwrap_or(Good::Trial(lot)),
        }
    }
}

/// Where, how and of what units were lost; the day where it matters.
type LostAt = (Place, Option<Date>, Lost, Good);

fn lost_at(place: Place, day: Date, how: Lost, good: Good) -> LostAt {
    let day = match place {
        Place::Stall(_) => None,
        Place::Rack | Place::Packed(_) | Place::Shop(_) => Some(day),
    };
    (place, day, how, good)
}

/// Hands-on time at its wage and overhead, as [`crate::lot_cost`] takes them,
/// and whether time and wage are both known.
fn work_in(workshop: &Workshop, lot: &Lot, currency: Currency) -> (Value, bool) {
    let Some(time) = lot.minutes.as_ref().map(Typed::value) else {
        return (Value::ZERO, false);
    };
    let hourly = workshop.hourly_at(lot.known);
    let of = |rate: measure::Money| {
        let cost = Labour {
            time,
            wage: rate.cost(),
        }
        .cost()
        .ok()?;
        (cost.currency() == currency)
            .then(|| Value::at(cost, 1, 1))
            .flatten()
    };
    let wage = hourly.wage.and_then(of);
    let overhead = hourly.overhead.and_then(of);
    let work = wage.unwrap_or_default() + overhead.unwrap_or_default();
    (work, wage.is_some())
}
