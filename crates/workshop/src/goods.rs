//! The ledger of goods: every unit from the mould to whoever has it now.
//!
//! A unit is always somewhere. Each movement takes it out of one spot and puts
//! it into another, so the sum over all spots never changes: what was made
//! equals what is held, sold and lost. Taking more from a place than it holds
//! is written down all the same, since it happened; the place then holds less
//! than nothing of it, and [`Goods::gaps`] names it until a count explains it.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::facts::{
    BuyerId, GoodsCounted, GoodsReturned, GoodsSetAside, GoodsTaken, Grade, Lost, MarketDayCounted,
    MarketDayId, OrderId, Place, PourId, ProductId, ReturnTo, SaleFrom, SaleId, ShopCounted, Sold,
    Units,
};
use crate::trade::CountedBack;

/// What is moved: units of one lot and grade, or of a good whose lot nobody
/// knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// Units of a lot.
    Lot(PourId, Grade),
    /// Units of a good, lot unknown.
    Unknown(ProductId),
}

impl Item {
    /// Its lot, where it is known.
    pub const fn lot(self) -> Option<PourId> {
        match self {
            Self::Lot(lot, _) => Some(lot),
            Self::Unknown(_) => None,
        }
    }
}

impl From<Units> for Item {
    fn from(units: Units) -> Self {
        match units.lot {
            Some(lot) => Self::Lot(lot, units.grade),
            None => Self::Unknown(units.product),
        }
    }
}

/// Where a movement begins or ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// The mould it came out of.
    Made,
    /// A place of the maker's own.
    At(Place),
    /// With whoever bought it.
    Sold(SaleId),
    /// Gone.
    Gone(Lost),
}

/// One movement of goods.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Movement {
    /// The day it happened.
    pub day: Date,
    /// What moved.
    pub item: Item,
    /// How many; never zero.
    pub count: u32,
    /// Out of where.
    pub from: Spot,
    /// Into where.
    pub to: Spot,
}

/// Less than nothing of something at a place: more left it than came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gap {
    /// Where.
    pub place: Place,
    /// Of what.
    pub item: Item,
    /// How many are missing.
    pub short: u64,
}

/// What is held where, and every movement that led there.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Goods {
    /// Units at each place; none of them zero.
    held: BTreeMap<(Place, Item), i64>,
    /// The same the other way round, so that a lot is found without looking
    /// at every place.
    places: BTreeMap<Item, BTreeMap<Place, i64>>,
    movements: Vec<Movement>,
    /// The movements of each lot, by their place in `movements`.
    of_lot: BTreeMap<PourId, Vec<usize>>,
    /// The movements of units whose lot nobody knows, by their good.
    of_no_lot: BTreeMap<ProductId, Vec<usize>>,
    made: i64,
    out: i64,
}

impl Goods {
    /// Units of something at a place; below zero where more left than came.
    pub fn held(&self, place: Place, item: Item) -> i64 {
        self.held.get(&(place, item)).copied().unwrap_or(0)
    }

    /// Everything at a place.
    pub fn at(&self, place: Place) -> impl Iterator<Item = (Item, i64)> + '_ {
        let first = (place, Item::Lot(PourId(0), Grade::Good));
        self.held
            .range(first..)
            .take_while(move |((at, _), _)| *at == place)
            .map(|((_, item), count)| (*item, *count))
    }

    /// Everywhere something is held.
    pub fn places_of(&self, item: Item) -> impl Iterator<Item = (Place, i64)> + '_ {
        self.places
            .get(&item)
            .into_iter()
            .flatten()
            .map(|(place, count)| (*place, *count))
    }

    /// Everything held anywhere.
    pub fn everywhere(&self) -> impl Iterator<Item = (Place, Item, i64)> + '_ {
        self.held
            .iter()
            .map(|((place, item), count)| (*place, *item, *count))
    }

    /// Every movement, oldest first as they were written down.
    pub fn movements(&self) -> &[Movement] {
        &self.movements
    }

    /// The movements of a lot, oldest first as they were written down.
    pub fn movements_of(&self, lot: PourId) -> impl Iterator<Item = &Movement> {
        let of_lot = self.of_lot.get(&lot).into_iter().flatten();
        of_lot.filter_map(|at| self.movements.get(*at))
    }

    /// The first of the movements of a lot: those among the first so many of
    /// all that were written down.
    pub fn first_movements_of(&self, lot: PourId, n: usize) -> impl Iterator<Item = &Movement> {
        let of_lot = self.of_lot.get(&lot).into_iter().flatten();
        let first = of_lot.take_while(move |at| **at < n);
        first.filter_map(|at| self.movements.get(*at))
    }

    /// The movements of a good's units whose lot nobody knows, oldest first as
    /// they were written down.
    pub fn movements_without_lot(&self, product: ProductId) -> impl Iterator<Item = &Movement> {
        let of_no_lot = self.of_no_lot.get(&product).into_iter().flatten();
        of_no_lot.filter_map(|at| self.movements.get(*at))
    }

    /// What has to be explained: places that hold less than nothing.
    pub fn gaps(&self) -> impl Iterator<Item = Gap> + '_ {
        self.everywhere()
            .filter(|(_, _, count)| *count < 0)
            .map(|(place, item, count)| Gap {
                place,
                item,
                short: count.unsigned_abs(),
            })
    }

    /// Units made, units held and units sold or gone: the first is always the
    /// sum of the others.
    pub fn totals(&self) -> (i64, i64, i64) {
        let held = self.held.values().sum();
        (self.made, held, self.out)
    }

    fn shift(&mut self, spot: Spot, item: Item, by: i64) {
        match spot {
            Spot::Made => self.made -= by,
            Spot::Sold(_) | Spot::Gone(_) => self.out += by,
            Spot::At(place) => {
                let count = self.held.entry((place, item)).or_default();
                *count += by;
                let now = *count;
                let places = self.places.entry(item).or_default();
                if now == 0 {
                    self.held.remove(&(place, item));
                    places.remove(&place);
                } else {
                    places.insert(place, now);
                }
            }
        }
    }

    fn put(&mut self, day: Date, item: Item, count: u32, from: Spot, to: Spot) {
        if count == 0 || from == to {
            return;
        }
        self.shift(from, item, -i64::from(count));
        self.shift(to, item, i64::from(count));
        let at = self.movements.len();
        match item {
            Item::Lot(lot, _) => self.of_lot.entry(lot).or_default().push(at),
            Item::Unknown(product) => self.of_no_lot.entry(product).or_default().push(at),
        }
        self.movements.push(Movement {
            day,
            item,
            count,
            from,
            to,
        });
    }

    fn put_all(&mut self, day: Date, units: &[Units], from: Spot, to: Spot) {
        for one in units {
            self.put(day, (*one).into(), one.count, from, to);
        }
    }
}

/// What facts do to it.
impl Goods {
    /// A lot stands on the rack with so many units where it had `before`.
    pub(crate) fn made(&mut self, day: Date, lot: PourId, before: [u32; 2], now: [u32; 2]) {
        let rack = Spot::At(Place::Rack);
        for (grade, (before, now)) in [Grade::Good, Grade::Second]
            .into_iter()
            .zip(before.into_iter().zip(now))
        {
            let item = Item::Lot(lot, grade);
            self.put(day, item, now.saturating_sub(before), Spot::Made, rack);
            self.put(day, item, before.saturating_sub(now), rack, Spot::Made);
        }
    }

    pub(crate) fn taken(&mut self, day: Date, fact: &GoodsTaken) {
        let stall = Spot::At(Place::Stall(fact.market_day));
        self.put_all(day, &fact.units, Spot::At(Place::Rack), stall);
        self.put_all(day, &fact.back, stall, Spot::At(Place::Rack));
    }

    /// A count of a market day that another stands in the place of.
    pub(crate) fn uncounted(&mut self, day: Date, market_day: MarketDayId, count: &CountedBack) {
        let stall = Spot::At(Place::Stall(market_day));
        self.put_all(day, &count.back, Spot::At(Place::Rack), stall);
        self.put_all(day, &count.given, Spot::Gone(Lost::Given), stall);
        self.put_all(day, &count.spoilt, Spot::Gone(Lost::Spoilt), stall);
        self.put_all(day, &count.missing, Spot::Gone(Lost::Missing), stall);
    }

    pub(crate) fn counted_back(&mut self, day: Date, fact: &MarketDayCounted) {
        let stall = Spot::At(Place::Stall(fact.market_day));
        self.put_all(day, &fact.back, stall, Spot::At(Place::Rack));
        self.put_all(day, &fact.given, stall, Spot::Gone(Lost::Given));
        self.put_all(day, &fact.spoilt, stall, Spot::Gone(Lost::Spoilt));
        self.put_all(day, &fact.missing, stall, Spot::Gone(Lost::Missing));
    }

    pub(crate) fn sold(&mut self, day: Date, fact: &Sold) {
        let from = Spot::At(sold_from(fact));
        for line in &fact.lines {
            self.put_all(day, &line.units, from, Spot::Sold(fact.sale));
        }
    }

    /// A sale that never was: what of it has not come back already is where it
    /// was before.
    pub(crate) fn unsold(&mut self, day: Date, sale: SaleId, from: Place, left: &[Units]) {
        self.put_all(day, left, Spot::Sold(sale), Spot::At(from));
    }

    pub(crate) fn returned(&mut self, day: Date, fact: &GoodsReturned) {
        let to = match fact.to {
            ReturnTo::Rack => Spot::At(Place::Rack),
            ReturnTo::Spoilt => Spot::Gone(Lost::Spoilt),
            ReturnTo::Kept => return,
        };
        self.put_all(day, &fact.units, Spot::Sold(fact.sale), to);
    }

    pub(crate) fn set_aside(&mut self, day: Date, fact: &GoodsSetAside) {
        let gone = Spot::Gone(fact.how);
        self.put_all(day, &fact.units, Spot::At(fact.place), gone);
    }

    /// What was counted is what there is. Units whose lot nobody knew are
    /// explained by the count of their good.
    pub(crate) fn counted(&mut self, day: Date, fact: &GoodsCounted) {
        let mut counted: BTreeMap<Item, i64> = BTreeMap::new();
        for units in &fact.units {
            counted.entry(Item::Unknown(units.product)).or_default();
            *counted.entry((*units).into()).or_default() += i64::from(units.count);
        }
        let at = Spot::At(fact.place);
        let missing = Spot::Gone(Lost::Missing);
        for (item, count) in counted {
            let more = count - self.held(fact.place, item);
            let by = u32::try_from(more.unsigned_abs()).unwrap_or(u32::MAX);
            if more < 0 {
                self.put(day, item, by, at, missing);
            } else {
                self.put(day, item, by, missing, at);
            }
        }
    }

    pub(crate) fn picked(&mut self, day: Date, order: OrderId, units: &[Units]) {
        let packed = Spot::At(Place::Packed(order));
        self.put_all(day, units, Spot::At(Place::Rack), packed);
    }

    /// Everything picked for an order goes elsewhere.
    pub(crate) fn unpack(&mut self, day: Date, order: OrderId, to: Place) {
        let packed = Place::Packed(order);
        let all: Vec<(Item, i64)> = self.at(packed).collect();
        for (item, count) in all {
            let count = u32::try_from(count).unwrap_or(0);
            self.put(day, item, count, Spot::At(packed), Spot::At(to));
        }
    }

    pub(crate) fn shop_counted(&mut self, day: Date, fact: &ShopCounted) {
        let shop = Spot::At(Place::Shop(fact.buyer));
        self.put_all(day, &fact.back, shop, Spot::At(Place::Rack));
        self.put_all(day, &fact.spoilt, shop, Spot::Gone(Lost::Spoilt));
        self.put_all(day, &fact.missing, shop, Spot::Gone(Lost::Missing));
    }
}

/// The place that the goods of a sale came out of.
pub(crate) fn sold_from(fact: &Sold) -> Place {
    let shop = |buyer: BuyerId| Place::Shop(buyer);
    let stall = |day: MarketDayId| Place::Stall(day);
    match (fact.from, fact.buyer, fact.order) {
        (SaleFrom::Shop, Some(buyer), _) => shop(buyer),
        (_, _, Some(order)) => Place::Packed(order),
        _ => fact.market_day.map_or(Place::Rack, stall),
    }
}
