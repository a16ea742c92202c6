//! Supply lots: what each brought, and which pours used it.
//!
//! A pour is written down with what it weighed, not with the lot it came out
//! of. What it used is taken out of the lot that was open; where none was said
//! to be, or it did not hold enough, out of the oldest that still holds some.
//! What the maker said of a pour stands before both. A delivery that was put
//! right counts as if it had been right from the beginning, so that what was
//! counted after it is still what there was.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::facts::{PourId, SupplyId, SupplyLot};
use crate::rack::days_from;
use crate::state::{ShelfChange, ShelfEvent, Workshop};
use crate::trace::receipt_of;

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
    /// The sum of `used`, so that what is left is not summed up at every step.
    drawn: i64,
}

impl LotUse {
    /// What is left of it.
    pub const fn left(&self) -> i64 {
        self.received - self.drawn - self.lost
    }

    /// Everything pours used of it.
    pub const fn drawn(&self) -> i64 {
        self.drawn
    }

    fn take(&mut self, pour: PourId, amount: i64) {
        *self.used.entry(pour).or_default() += amount;
        self.drawn += amount;
    }

    /// Gives back what a pour used, as far as it used any; returns how much.
    fn put_back(&mut self, pour: PourId, most: i64) -> i64 {
        let Some(used) = self.used.get_mut(&pour) else {
            return 0;
        };
        let some = most.min(*used);
        *used -= some;
        self.drawn -= some;
        if *used == 0 {
            self.used.remove(&pour);
        }
        some
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
    /// Every lot before this one holds nothing more, so that drawing on the
    /// sixtieth does not look at the fifty-nine that are empty.
    first: usize,
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
    let said = Said::of(events);
    let mut all = SupplyLots::default();
    for event in events {
        all.happened(event, &said);
    }
    all
}

/// What was thought to be there at each count of a supply, count by count: of
/// the lot that was counted, or of all of them.
pub(crate) fn thought_when_counted(events: &[ShelfEvent]) -> Vec<i64> {
    let is_count = |event: &ShelfEvent| matches!(event.what, ShelfChange::Counted(..));
    let mut thought = Vec::new();
    if !events.iter().any(is_count) {
        return thought;
    }
    let said = Said::of(events);
    let mut all = SupplyLots::default();
    for event in events {
        if let ShelfChange::Counted(lot, _) = &event.what {
            thought.push(match lot {
                Some(lot) => all.lot(*lot).map_or(0, LotUse::left),
                None => all.on_hand(),
            });
        }
        all.happened(event, &said);
    }
    thought
}

/// What was said of a supply after it had happened.
struct Said<'a> {
    /// Out of which lots a pour drew.
    drawn: BTreeMap<PourId, &'a [SupplyLot]>,
    /// How much more a lot brought than was written down at first, or less.
    more: BTreeMap<SupplyLot, i64>,
}

impl<'a> Said<'a> {
    fn of(events: &'a [ShelfEvent]) -> Self {
        let mut said = Self {
            drawn: BTreeMap::new(),
            more: BTreeMap::new(),
        };
        for event in events {
            match &event.what {
                ShelfChange::Drawn(pour, lots) => {
                    said.drawn.insert(*pour, lots);
                }
                ShelfChange::Corrected(lot, more) => {
                    *said.more.entry(*lot).or_default() += more;
                }
                _ => {}
            }
        }
        said
    }
}

/// Days over which the use of a supply is averaged to say how long it lasts.
/// Common practice, no source.
pub const USE_DAYS: i32 = 60;

/// What pours used of a supply in the [`USE_DAYS`] up to a day, in smallest
/// units, what they gave back taken off.
pub fn used_lately(workshop: &Workshop, supply: SupplyId, day: Date) -> i64 {
    let events = workshop.shelf_events(supply).iter();
    let lately = events.filter(|event| (0..USE_DAYS).contains(&days_from(event.day, day)));
    lately
        .map(|event| match &event.what {
            ShelfChange::Used(_, amount) => *amount,
            _ => 0,
        })
        .sum::<i64>()
        .max(0)
}

/// Days that so much of a supply lasts at the rate of the last [`USE_DAYS`];
/// none where none of it was used.
pub fn days_of_use(workshop: &Workshop, supply: SupplyId, on_hand: i64, day: Date) -> Option<i64> {
    let used = i128::from(used_lately(workshop, supply, day));
    let days = i128::from(on_hand.max(0)) * i128::from(USE_DAYS);
    i64::try_from(days.checked_div(used)?).ok()
}

/// The supply lots that are past their date on a day and hold some still, each
/// with its supply and its date.
pub fn past_their_date(workshop: &Workshop, day: Date) -> Vec<(SupplyId, SupplyLot, Date)> {
    let mut dated: BTreeMap<SupplyId, Vec<(SupplyLot, Date)>> = BTreeMap::new();
    for (lot, date) in workshop.supply_dates().filter(|(_, date)| *date < day) {
        if let Some((_, line)) = receipt_of(workshop, lot) {
            dated.entry(line.supply).or_default().push((lot, date));
        }
    }
    let mut past = Vec::new();
    for (supply, dated) in dated {
        let lots = lots_of(workshop, supply);
        let held = |lot: SupplyLot| lots.lot(lot).is_some_and(|of| of.left() > 0);
        let still = dated.into_iter().filter(|(lot, _)| held(*lot));
        past.extend(still.map(|(lot, date)| (supply, lot, date)));
    }
    past
}

/// The lot that a pour draws a supply from next: the one said of the pour, then
/// the one that is open, then the oldest that holds some; none where no lot
/// holds any.
pub fn next_lot(workshop: &Workshop, supply: SupplyId, pour: PourId) -> Option<SupplyLot> {
    let lots = lots_of(workshop, supply);
    let events = workshop.shelf_events(supply).iter();
    let said = events
        .rev()
        .find_map(|event| match &event.what {
            ShelfChange::Drawn(of, lots) if *of == pour => Some(lots.as_slice()),
            _ => None,
        })
        .unwrap_or_default();
    let held = |at: &usize| lots.lots.get(*at).is_some_and(|(_, of)| of.left() > 0);
    let at = lots.order(said).find(held)?;
    lots.lots.get(at).map(|(lot, _)| *lot)
}

/// What is left in one lot, as the lots are told apart; none where there is no
/// such lot.
pub(crate) fn left_in(workshop: &Workshop, supply: SupplyId, lot: SupplyLot) -> Option<i64> {
    lots_of(workshop, supply).lot(lot).map(LotUse::left)
}

impl SupplyLots {
    fn place_of(&self, lot: SupplyLot) -> Option<usize> {
        self.lots.iter().position(|(which, _)| *which == lot)
    }

    /// Changes a lot, which may hold more afterwards than before.
    fn change(&mut self, at: usize, change: impl FnOnce(&mut LotUse)) {
        if let Some((_, of)) = self.lots.get_mut(at) {
            change(of);
            if of.left() > 0 {
                self.first = self.first.min(at);
            }
        }
    }

    fn happened(&mut self, event: &ShelfEvent, said: &Said) {
        match &event.what {
            ShelfChange::Received(lot, amount) => {
                let of = LotUse {
                    received_on: Some(event.day),
                    received: amount + said.more.get(lot).copied().unwrap_or(0),
                    ..LotUse::default()
                };
                self.lots.push((*lot, of));
            }
            ShelfChange::Opened(lot) => {
                self.open = Some(*lot);
                if let Some(at) = self.place_of(*lot) {
                    self.change(at, |of| of.opened_on = of.opened_on.or(Some(event.day)));
                }
            }
            ShelfChange::Used(pour, amount) => {
                let named = said.drawn.get(pour).copied().unwrap_or_default();
                if *amount >= 0 {
                    self.draw(*pour, *amount, named);
                } else {
                    self.give_back(*pour, -amount);
                }
            }
            // Heard before the rest.
            ShelfChange::Drawn(..) | ShelfChange::Corrected(..) => {}
            ShelfChange::Wasted(lot, amount) => self.lose(*lot, *amount),
            ShelfChange::Counted(lot, counted) => match lot {
                Some(lot) => {
                    if let Some(at) = self.place_of(*lot) {
                        self.change(at, |of| of.lost += of.left() - counted);
                    }
                }
                None => self.lose(None, self.on_hand() - counted),
            },
        }
    }

    /// The lots in the order they are drawn on: those named, then the one that
    /// is open, then the oldest that may still hold some.
    fn order(&self, named: &[SupplyLot]) -> impl Iterator<Item = usize> + use<> {
        let first = named.iter().chain(&self.open);
        let first: Vec<usize> = first.filter_map(|lot| self.place_of(*lot)).collect();
        first.into_iter().chain(self.first..self.lots.len())
    }

    /// Passes over the lots at the front that are empty by now.
    fn pass_over(&mut self) {
        let held = |(_, of): &(SupplyLot, LotUse)| of.left() > 0;
        let rest = self.lots.get(self.first..).unwrap_or_default();
        self.first += rest.iter().position(held).unwrap_or(rest.len());
    }

    fn draw(&mut self, pour: PourId, amount: i64, named: &[SupplyLot]) {
        let mut amount = amount;
        for at in self.order(named) {
            if amount == 0 {
                break;
            }
            let Some((_, of)) = self.lots.get_mut(at) else {
                continue;
            };
            let some = amount.min(of.left().max(0));
            if some > 0 {
                of.take(pour, some);
                amount -= some;
            }
        }
        self.pass_over();
        if amount > 0 {
            *self.unaccounted.entry(pour).or_default() += amount;
        }
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
        for at in (0..self.lots.len()).rev() {
            if amount == 0 {
                return;
            }
            self.change(at, |of| amount -= of.put_back(pour, amount));
        }
        self.lost -= amount;
    }

    fn lose(&mut self, lot: Option<SupplyLot>, amount: i64) {
        let mut amount = amount;
        if amount < 0 {
            // A count that found more puts it where it would have drawn first;
            // where every lot is empty, into the youngest.
            let found = lot.and_then(|lot| self.place_of(lot));
            let found = found.or_else(|| self.order(&[]).next());
            match found.or_else(|| self.lots.len().checked_sub(1)) {
                Some(at) => self.change(at, |of| of.lost += amount),
                None => self.lost += amount,
            }
            return;
        }
        let named: Vec<SupplyLot> = lot.into_iter().collect();
        for at in self.order(&named) {
            if amount == 0 {
                break;
            }
            if let Some((_, of)) = self.lots.get_mut(at) {
                let some = amount.min(of.left().max(0));
                of.lost += some;
                amount -= some;
            }
        }
        self.pass_over();
        self.lost += amount;
    }
}
