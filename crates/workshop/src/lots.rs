//! Supply lots: what each brought, and which pours used it.
//!
//! A pour is written down with what it weighed, not with the lot it came out
//! of. What it used is taken out of the lot that was open; where none was said
//! to be, or it did not hold enough, out of the oldest that still holds some.
//! What the maker said of a pour stands before both.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::facts::{PourId, SupplyId, SupplyLot};
use crate::state::{ShelfChange, ShelfEvent, Workshop};

/// What a supply lot brought and where it went, in smallest units.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LotUse {
    /// The day it came.
    pub received_on: Option<Date>,
    /// The day it was first opened, where that was said.
    pub opened_on: Option<Date>,
    /// What it brought.
    pub received: i64,
    /// What pours used of it; never zero.
    pub used: BTreeMap<PourId, i64>,
    /// What was thrown away or not there when counted; below zero where a
    /// count found more.
    pub lost: i64,
}

impl LotUse {
    /// What is left of it.
    pub fn left(&self) -> i64 {
        self.received - self.used.values().sum::<i64>() - self.lost
    }
}

/// The lots of a supply, and what no lot accounts for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SupplyLots {
    /// Each lot, in the order they came.
    pub lots: Vec<(SupplyLot, LotUse)>,
    /// What pours used that no lot held: more was used than came.
    pub unaccounted: BTreeMap<PourId, i64>,
    /// What was lost or found that no lot held.
    pub lost: i64,
    /// The lot that is open, where that was said.
    pub open: Option<SupplyLot>,
}

impl SupplyLots {
    /// A lot.
    pub fn lot(&self, lot: SupplyLot) -> Option<&LotUse> {
        self.lots
            .iter()
            .find(|(which, _)| *which == lot)
            .map(|(_, of)| of)
    }

    /// Everything left, over all lots, less what none of them held.
    pub fn on_hand(&self) -> i64 {
        let left: i64 = self.lots.iter().map(|(_, of)| of.left()).sum();
        left - self.unaccounted.values().sum::<i64>() - self.lost
    }
}

/// The lots of a supply, from everything that happened to it.
pub fn lots_of(workshop: &Workshop, supply: SupplyId) -> SupplyLots {
    let events = workshop.shelf_events(supply);
    // What the maker said of a pour may have been said after it was poured.
    let mut said: BTreeMap<PourId, &[SupplyLot]> = BTreeMap::new();
    for event in events {
        if let ShelfChange::Drawn(pour, lots) = &event.what {
            said.insert(*pour, lots);
        }
    }
    let mut all = SupplyLots::default();
    for event in events {
        all.happened(event, &said);
    }
    all
}

/// What is left in one lot, as the lots are told apart.
pub(crate) fn left_in(workshop: &Workshop, supply: SupplyId, lot: SupplyLot) -> i64 {
    lots_of(workshop, supply).lot(lot).map_or(0, LotUse::left)
}

impl SupplyLots {
    fn find(&mut self, lot: SupplyLot) -> Option<&mut LotUse> {
        self.lots
            .iter_mut()
            .find(|(which, _)| *which == lot)
            .map(|(_, of)| of)
    }

    fn happened(&mut self, event: &ShelfEvent, said: &BTreeMap<PourId, &[SupplyLot]>) {
        match &event.what {
            ShelfChange::Received(lot, amount) => {
                let of = LotUse {
                    received_on: Some(event.day),
                    received: *amount,
                    ..LotUse::default()
                };
                self.lots.push((*lot, of));
            }
            ShelfChange::Corrected(lot, more) => {
                if let Some(of) = self.find(*lot) {
                    of.received += more;
                }
            }
            ShelfChange::Opened(lot) => {
                self.open = Some(*lot);
                if let Some(of) = self.find(*lot) {
                    of.opened_on = of.opened_on.or(Some(event.day));
                }
            }
            ShelfChange::Used(pour, amount) => {
                let named = said.get(pour).copied().unwrap_or_default();
                if *amount >= 0 {
                    self.draw(*pour, *amount, named);
                } else {
                    self.give_back(*pour, -amount);
                }
            }
            // Heard before the rest.
            ShelfChange::Drawn(..) => {}
            ShelfChange::Wasted(lot, amount) => self.lose(*lot, *amount),
            ShelfChange::Counted(lot, counted) => match lot {
                Some(lot) => {
                    if let Some(of) = self.find(*lot) {
                        of.lost += of.left() - counted;
                    }
                }
                None => self.lose(None, self.on_hand() - counted),
            },
        }
    }

    /// The lots in the order they are drawn on: those named, then the one that
    /// is open, then the oldest.
    fn order(&self, named: &[SupplyLot]) -> Vec<usize> {
        let at = |lot: &SupplyLot| self.lots.iter().position(|(which, _)| which == lot);
        let mut order: Vec<usize> = named.iter().chain(&self.open).filter_map(at).collect();
        order.extend(0..self.lots.len());
        order
    }

    fn draw(&mut self, pour: PourId, amount: i64, named: &[SupplyLot]) {
        let mut amount = amount;
        for at in self.order(named) {
            let of = &mut self.lots[at].1;
            let some = amount.min(of.left().max(0));
            if some > 0 {
                *of.used.entry(pour).or_default() += some;
                amount -= some;
            }
            if amount == 0 {
                return;
            }
        }
        *self.unaccounted.entry(pour).or_default() += amount;
    }

    /// What a pour gives back goes where it was drawn last.
    fn give_back(&mut self, pour: PourId, amount: i64) {
        let mut amount = amount;
        if let Some(owed) = self.unaccounted.get_mut(&pour) {
            let some = amount.min(*owed);
            *owed -= some;
            amount -= some;
            if *owed == 0 {
                self.unaccounted.remove(&pour);
            }
        }
        for (_, of) in self.lots.iter_mut().rev() {
            let Some(used) = of.used.get_mut(&pour) else {
                continue;
            };
            let some = amount.min(*used);
            *used -= some;
            amount -= some;
            if *used == 0 {
                of.used.remove(&pour);
            }
        }
        if amount > 0 {
            self.lost -= amount;
        }
    }

    fn lose(&mut self, lot: Option<SupplyLot>, amount: i64) {
        let mut amount = amount;
        let named: Vec<SupplyLot> = lot.into_iter().collect();
        for at in self.order(&named) {
            let of = &mut self.lots[at].1;
            // A count that found more puts it where it looked first.
            let some = if amount < 0 {
                amount
            } else {
                amount.min(of.left().max(0))
            };
            of.lost += some;
            amount -= some;
            if amount == 0 {
                return;
            }
        }
        self.lost += amount;
    }
}
