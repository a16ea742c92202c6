//! The books: what everything cost and where that value is now.
//!
//! Money comes in with deliveries, and with the maker's own time and overhead.
//! From there value is handed on and never made: from a supply into the pot,
//! with the pot to the good, with the good to a buyer or away. Each hand-over
//! is a [`Flow`], so that for any stretch of days
//!
//! > opening + bought + worked = cost of goods + lost + differences + closing.
//!
//! Supplies and goods leave by first in, first out or by moving average; both
//! are reckoned. Everything stands on its day, as it should have been: a
//! delivery or a weight that was put right counts as if it had been right from
//! the beginning, a voided sale as if it had never been made, a market day as it
//! was counted last. Of one day, what was written down first goes first.
//!
//! Rejects bear nothing: what a lot cost is borne by the units fit for sale
//! and its seconds, each alike, since a second took the same wax and the same
//! hands. A second is cheaper to its buyer, not to the maker.
//!
//! This differs from [`crate::lot_cost`], which takes the average of all that
//! was received of a supply until the lot was finished: steadier to set a
//! price by, but no figure that adds up over a year.

mod ask;
mod moves;

use std::collections::{BTreeMap, BTreeSet};
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};
use std::sync::OnceLock;

use jiff::civil::Date;
use ledger::{Layer, Method, Stock, Value};
use measure::{Cost, Currency, Money};

use crate::facts::{
    CostMethod, Lost, MarketDayId, PourId, ProductId, ReceiptId, SaleId, SupplyId, SupplyLot,
};
use crate::state::Workshop;

pub use ask::{
    By, CreditPart, Days, Earned, Key, LOOK_BACK, Moved, OfOne, OnHand, Period, Summary, TaxMonth,
    credits, earned_by, expenses_by_kind, fees_of_sales, format_at, moved, on_hand,
    postage_by_terms, summary, tax_report,
};
use moves::{GoodsMove, Moves, ShelfMove};

/// What something carries: what was paid for it, and the maker's own hands-on
/// time and overhead in it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Costs {
    /// Materials and packing, at what was paid for them.
    pub materials: Value,
    /// Hands-on time at its wage, and overhead.
    pub work: Value,
}

impl Costs {
    /// Nothing.
    pub const ZERO: Self = Self {
        materials: Value::ZERO,
        work: Value::ZERO,
    };

    /// Materials alone.
    pub const fn of_materials(materials: Value) -> Self {
        Self {
            materials,
            work: Value::ZERO,
        }
    }

    /// Both together.
    pub fn full(self) -> Value {
        self.materials + self.work
    }

    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.materials.is_zero() && self.work.is_zero()
    }

    /// The share `part ÷ whole`, each rounded half-even to the millionth of a
    /// minor unit; nothing when `whole` is not above zero.
    #[must_use]
    pub fn share(self, part: i64, whole: i64) -> Self {
        Self {
            materials: self.materials.share(part, whole),
            work: self.work.share(part, whole),
        }
    }
}

impl Add for Costs {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            materials: self.materials + other.materials,
            work: self.work + other.work,
        }
    }
}

impl Sub for Costs {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Neg for Costs {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            materials: -self.materials,
            work: -self.work,
        }
    }
}

impl AddAssign for Costs {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sum for Costs {
    fn sum<I: Iterator<Item = Self>>(costs: I) -> Self {
        costs.fold(Self::ZERO, Add::add)
    }
}

/// What a unit on hand is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Good {
    /// A good.
    Product(ProductId),
    /// A lot that was poured to try something and became no good.
    Trial(PourId),
}

/// How value was lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Loss {
    /// A supply was thrown away or used for trying.
    Wasted,
    /// A supply was not there when counted.
    Uncounted,
    /// A pour gave nothing that can be sold.
    Scrapped,
    /// Goods went without being sold.
    Goods(Lost),
}

impl Loss {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Wasted => "supplies thrown away",
            Self::Uncounted => "supplies not there when counted",
            Self::Scrapped => "pours that gave nothing",
            Self::Goods(Lost::Given) => "goods given away",
            Self::Goods(Lost::Tested) => "goods tested",
            Self::Goods(Lost::Spoilt) => "goods spoilt",
            Self::Goods(Lost::Missing) => "goods missing",
        }
    }
}

/// Where value is, comes from or goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pocket {
    /// Paid for a delivery.
    Paid(ReceiptId),
    /// The maker's own time and overhead.
    Worked,
    /// On the shelf.
    Supply(SupplyId),
    /// In a pot or a mould.
    Pot(PourId),
    /// In goods on hand, wherever they stand.
    Goods(Good),
    /// In goods sold.
    Sold(SaleId),
    /// Gone.
    Lost(Loss),
    /// What something that left before it came turned out to cost more than
    /// was assumed; belongs to the cost of goods.
    Difference,
}

/// Value that went from one pocket to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flow {
    /// The day.
    pub day: Date,
    /// Out of where.
    pub from: Pocket,
    /// Into where.
    pub to: Pocket,
    /// How much went with it, in smallest units of a supply or in units of a
    /// good.
    pub quantity: i64,
    /// Its value.
    pub costs: Costs,
    /// The market day at which it was lost or found; none for anything else.
    pub at: Option<MarketDayId>,
}

/// What a layer of stock is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LayerOf {
    /// A delivery.
    Delivery(SupplyLot),
    /// A lot.
    Lot(PourId),
    /// Goods that came back from a sale.
    Back(SaleId),
    /// Found when counted.
    Found,
}

/// What is left of one delivery or lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LayerLeft {
    /// Of what.
    pub of: LayerOf,
    /// How much, in smallest units or units.
    pub quantity: i64,
    /// Its value.
    pub costs: Costs,
}

const BACK: u64 = 1 << 40;
const FOUND: u64 = 1 << 41;

fn key_of_lot(lot: SupplyLot) -> u64 {
    (u64::from(lot.receipt.0) << 32) | u64::from(lot.line)
}

fn lot_of_key(key: u64) -> LayerOf {
    let low = |key: u64| u32::try_from(key & u64::from(u32::MAX)).unwrap_or(0);
    if key == u64::MAX {
        return LayerOf::Found;
    }
    LayerOf::Delivery(SupplyLot {
        receipt: ReceiptId(low(key >> 32)),
        line: low(key),
    })
}

fn goods_of_key(key: u64) -> LayerOf {
    let low = u32::try_from(key & u64::from(u32::MAX)).unwrap_or(0);
    if key >= FOUND {
        LayerOf::Found
    } else if key >= BACK {
        LayerOf::Back(SaleId(low))
    } else {
        LayerOf::Lot(PourId(low))
    }
}

/// The stock of one good: the same units with what was paid for them, and with
/// the work in them.
#[derive(Debug, Clone)]
pub struct GoodsStock {
    materials: Stock,
    work: Stock,
}

impl GoodsStock {
    fn new(method: Method, first: Option<(i64, Costs)>) -> Self {
        let (quantity, costs) = first.unwrap_or_default();
        Self {
            materials: stock_knowing(method, quantity, costs.materials),
            work: stock_knowing(method, quantity, costs.work),
        }
    }

    /// Units on hand; below zero when more left than was made.
    pub const fn units(&self) -> i64 {
        self.materials.quantity()
    }

    /// What they carry.
    pub fn costs(&self) -> Costs {
        Costs {
            materials: self.materials.value(),
            work: self.work.value(),
        }
    }

    /// What is left of each lot, oldest first.
    pub fn layers(&self) -> Vec<LayerLeft> {
        let both = self.materials.layers().into_iter().zip(self.work.layers());
        both.map(|(materials, work)| LayerLeft {
            of: goods_of_key(materials.key),
            quantity: materials.quantity,
            costs: Costs {
                materials: materials.value,
                work: work.value,
            },
        })
        .collect()
    }

    fn receive(&mut self, key: u64, units: i64, costs: Costs) -> Costs {
        Costs {
            materials: self.materials.receive(key, units, costs.materials).variance,
            work: self.work.receive(key, units, costs.work).variance,
        }
    }

    fn take(&mut self, units: i64) -> Costs {
        Costs {
            materials: self.materials.take(units).value,
            work: self.work.take(units).value,
        }
    }

    fn at_last_cost(&self, units: i64) -> Costs {
        Costs {
            materials: at_last_cost(&self.materials, units),
            work: at_last_cost(&self.work, units),
        }
    }
}

/// A stock in which nothing is, and which knows what a unit will cost: what
/// leaves before it came is taken at that.
fn stock_knowing(method: Method, quantity: i64, value: Value) -> Stock {
    let mut stock = Stock::new(method);
    if quantity > 0 {
        stock.receive(0, quantity, value);
        stock.take(quantity);
    }
    stock
}

fn at_last_cost(stock: &Stock, units: i64) -> Value {
    stock
        .unit_cost()
        .map_or(Value::ZERO, |(value, of)| value.share(units, of))
}

/// Everything valued by one method.
#[derive(Debug, Clone)]
pub struct Valued {
    method: Method,
    flows: Vec<Flow>,
    supplies: BTreeMap<SupplyId, Stock>,
    goods: BTreeMap<Good, GoodsStock>,
    lots: BTreeMap<PourId, Costs>,
}

impl Valued {
    /// The method.
    pub const fn method(&self) -> Method {
        self.method
    }

    /// Every hand-over of value: of supplies first, then of pots, then of
    /// goods, each by day.
    pub fn flows(&self) -> &[Flow] {
        &self.flows
    }

    /// A supply in smallest units, at the end of the day asked about.
    pub fn supply(&self, supply: SupplyId) -> Option<&Stock> {
        self.supplies.get(&supply)
    }

    /// What is left of each delivery of a supply, oldest first.
    pub fn supply_layers(&self, supply: SupplyId) -> Vec<LayerLeft> {
        let layers = self.supplies.get(&supply).map(Stock::layers);
        let left = |layer: Layer| LayerLeft {
            of: lot_of_key(layer.key),
            quantity: layer.quantity,
            costs: Costs::of_materials(layer.value),
        };
        layers.unwrap_or_default().into_iter().map(left).collect()
    }

    /// Every good with its stock at the end of the day asked about.
    pub fn goods(&self) -> impl Iterator<Item = (Good, &GoodsStock)> {
        self.goods.iter().map(|(good, stock)| (*good, stock))
    }

    /// A good.
    pub fn good(&self, good: Good) -> Option<&GoodsStock> {
        self.goods.get(&good)
    }

    /// What a finished lot carries in all.
    pub fn lot(&self, pour: PourId) -> Option<Costs> {
        self.lots.get(&pour).copied()
    }

    fn flow(&mut self, day: Date, from: Pocket, to: Pocket, quantity: i64, costs: Costs) {
        self.flow_at(None, day, (from, to), quantity, costs);
    }

    fn flow_at(
        &mut self,
        at: Option<MarketDayId>,
        day: Date,
        (from, to): (Pocket, Pocket),
        quantity: i64,
        costs: Costs,
    ) {
        if quantity != 0 || !costs.is_zero() {
            self.flows.push(Flow {
                day,
                from,
                to,
                quantity,
                costs,
                at,
            });
        }
    }
}

/// The books of a workshop, by both methods.
#[derive(Debug, Clone)]
pub struct Books {
    currency: Currency,
    chosen: CostMethod,
    at: Option<Date>,
    /// Each reckoned when it is first asked for.
    fifo: OnceLock<Valued>,
    average: OnceLock<Valued>,
    fees: Vec<i64>,
    moves: Moves,
}

impl Books {
    /// Reckons the books with everything written down; none in a workshop that
    /// has no currency yet.
    pub fn of(workshop: &Workshop) -> Option<Self> {
        Self::reckon(workshop, None)
    }

    /// Reckons the books with stocks as they stood at the end of a day. What
    /// was put right since counts as if it had been right.
    pub fn as_of(workshop: &Workshop, day: Date) -> Option<Self> {
        Self::reckon(workshop, Some(day))
    }

    fn reckon(workshop: &Workshop, at: Option<Date>) -> Option<Self> {
        let currency = workshop.money_kept_in()?;
        let moves = Moves::of(workshop, currency);
        Some(Self {
            currency,
            chosen: workshop
                .trade()
                .books()
                .map(|books| books.method)
                .unwrap_or_default(),
            at,
            fifo: OnceLock::new(),
            average: OnceLock::new(),
            fees: fees_of_sales(workshop),
            moves,
        })
    }

    /// The currency of every figure.
    pub const fn currency(&self) -> Currency {
        self.currency
    }

    /// The day at whose end the stocks stand; none for now.
    pub const fn at(&self) -> Option<Date> {
        self.at
    }

    /// The method the maker chose.
    pub const fn chosen(&self) -> CostMethod {
        self.chosen
    }

    /// Everything by one method.
    pub fn by(&self, method: CostMethod) -> &Valued {
        let (kept, method) = match method {
            CostMethod::Fifo => (&self.fifo, Method::Fifo),
            CostMethod::Average => (&self.average, Method::Average),
        };
        kept.get_or_init(|| valued(method, &self.moves, self.at))
    }

    /// What each sale cost in fees, as [`fees_of_sales`] says.
    pub fn fees(&self) -> &[i64] {
        &self.fees
    }

    /// Everything by the method the maker chose.
    pub fn own(&self) -> &Valued {
        self.by(self.chosen)
    }

    /// Everything by the other method.
    pub fn other(&self) -> &Valued {
        match self.chosen {
            CostMethod::Fifo => self.by(CostMethod::Average),
            CostMethod::Average => self.by(CostMethod::Fifo),
        }
    }

    /// A value in whole minor units, rounded half-even.
    pub fn money(&self, value: Value) -> Money {
        let most = Money::from_minor(i64::MAX, self.currency);
        value.to_money(self.currency).unwrap_or(most)
    }

    /// A value in major units, for a picture to draw.
    pub fn drawn(&self, value: Value) -> f64 {
        value.to_cost(self.currency).map_or(0.0, Cost::to_f64)
    }

    /// The good that a lot is of.
    pub fn good_of(&self, pour: PourId) -> Option<Good> {
        self.moves.good_of.get(&pour).copied()
    }

    /// Lots into which something went that was never received, so that part
    /// of their cost is not known.
    pub fn partly_costed(&self) -> &BTreeMap<PourId, BTreeSet<SupplyId>> {
        &self.moves.unpriced
    }

    /// Lots without their hands-on time or a wage, so that no work is in their
    /// cost.
    pub fn without_work(&self) -> &BTreeSet<PourId> {
        &self.moves.without_work
    }

    /// Supplies of which something was paid in another currency; it counts as
    /// free.
    pub fn foreign(&self) -> &BTreeSet<SupplyId> {
        &self.moves.foreign
    }

    /// Goods that left and of which no lot was ever finished: nothing knows
    /// what they cost.
    pub fn never_made(&self) -> impl Iterator<Item = Good> + '_ {
        let made = &self.moves.first_lot;
        self.own()
            .goods
            .keys()
            .copied()
            .filter(|good| !made.contains_key(good))
    }

    /// What went into a finished lot, net, in smallest units.
    pub fn uses_of(&self, pour: PourId) -> impl Iterator<Item = (SupplyId, i64)> + '_ {
        let uses = self.moves.uses.get(&pour);
        uses.into_iter().flatten().copied()
    }
}

fn valued(method: Method, moves: &Moves, at: Option<Date>) -> Valued {
    let mut valued = Valued {
        method,
        flows: Vec::with_capacity(moves.count()),
        supplies: BTreeMap::new(),
        goods: BTreeMap::new(),
        lots: BTreeMap::new(),
    };
    let mut pots: BTreeMap<PourId, Value> = BTreeMap::new();
    for (supply, events) in &moves.shelf {
        shelf(&mut valued, &mut pots, *supply, events, moves, at);
    }
    let after = |day: Date| at.is_some_and(|at| day > at);
    for lot in &moves.lots {
        let costs = Costs {
            materials: pots.get(&lot.pour).copied().unwrap_or_default(),
            work: lot.work,
        };
        let work = Costs {
            materials: Value::ZERO,
            work: lot.work,
        };
        let pot = Pocket::Pot(lot.pour);
        valued.flow(lot.day, Pocket::Worked, pot, 0, work);
        match lot.good.filter(|_| lot.made > 0) {
            Some(good) => valued.flow(lot.day, pot, Pocket::Goods(good), lot.made, costs),
            None => valued.flow(lot.day, pot, Pocket::Lost(Loss::Scrapped), 0, costs),
        }
        valued.lots.insert(lot.pour, costs);
    }
    let mut stocks: BTreeMap<Good, GoodsStock> = BTreeMap::new();
    let mut with_buyers: BTreeMap<(SaleId, Good), (i64, Costs)> = BTreeMap::new();
    let mut snapshot = None;
    for event in &moves.goods {
        if snapshot.is_none() && after(event.day) {
            snapshot = Some(stocks.clone());
        }
        let good = event.good;
        let stock = stocks.entry(good).or_insert_with(|| {
            let first = moves.first_lot.get(&good).map(|lot| {
                let costs = valued.lots.get(lot).copied().unwrap_or_default();
                (moves.made_of(*lot), costs)
            });
            GoodsStock::new(method, first)
        });
        let (day, at) = (event.day, Pocket::Goods(good));
        match event.what {
            GoodsMove::Made(pour, units) => {
                let costs = valued.lots.get(&pour).copied().unwrap_or_default();
                let more = stock.receive(u64::from(pour.0), units, costs);
                valued.flow(day, at, Pocket::Difference, 0, more);
            }
            GoodsMove::Sold(sale, units) => {
                let costs = stock.take(units);
                if moves.comes_back.contains(&sale) {
                    let with = with_buyers.entry((sale, good)).or_default();
                    *with = (with.0.saturating_add(units), with.1 + costs);
                }
                valued.flow(day, at, Pocket::Sold(sale), units, costs);
            }
            GoodsMove::Back(sale, units) => {
                let costs = given_back(&mut with_buyers, stock, sale, good, units);
                let more = stock.receive(BACK | u64::from(sale.0), units, costs);
                valued.flow(day, Pocket::Sold(sale), at, units, costs);
                valued.flow(day, at, Pocket::Difference, 0, more);
            }
            GoodsMove::BackAndGone(sale, how, units) => {
                let costs = given_back(&mut with_buyers, stock, sale, good, units);
                valued.flow(day, Pocket::Sold(sale), at, units, costs);
                let lost = Pocket::Lost(Loss::Goods(how));
                valued.flow(day, at, lost, units, costs);
            }
            GoodsMove::Gone(how, units) => {
                let costs = stock.take(units);
                let lost = Pocket::Lost(Loss::Goods(how));
                valued.flow_at(event.at, day, (at, lost), units, costs);
            }
            GoodsMove::Found(how, units) => {
                let costs = stock.at_last_cost(units);
                let more = stock.receive(FOUND, units, costs);
                let lost = Pocket::Lost(Loss::Goods(how));
                valued.flow_at(event.at, day, (lost, at), units, costs);
                valued.flow(day, at, Pocket::Difference, 0, more);
            }
        }
    }
    valued.goods = snapshot.unwrap_or(stocks);
    valued
}

/// What units carry that come back from a sale: what they carried when they
/// went, those first that went with it.
fn given_back(
    with_buyers: &mut BTreeMap<(SaleId, Good), (i64, Costs)>,
    stock: &GoodsStock,
    sale: SaleId,
    good: Good,
    units: i64,
) -> Costs {
    let with = with_buyers.entry((sale, good)).or_default();
    let part = units.min(with.0.max(0));
    let costs = with.1.share(part, with.0);
    *with = (with.0 - part, with.1 - costs);
    costs + stock.at_last_cost(units - part)
}

/// Values one supply from its first delivery on.
fn shelf(
    valued: &mut Valued,
    pots: &mut BTreeMap<PourId, Value>,
    supply: SupplyId,
    events: &[(Date, ShelfMove)],
    moves: &Moves,
    at: Option<Date>,
) {
    let (quantity, value) = moves.first_cost.get(&supply).copied().unwrap_or_default();
    let mut stock = stock_knowing(valued.method, quantity, value);
    let mut snapshot = None;
    let here = Pocket::Supply(supply);
    for (day, what) in events {
        if snapshot.is_none() && at.is_some_and(|at| *day > at) {
            snapshot = Some(stock.clone());
        }
        match *what {
            ShelfMove::Came {
                lot,
                quantity,
                value,
            } => {
                let more = stock.receive(key_of_lot(lot), quantity, value).variance;
                let paid = Pocket::Paid(lot.receipt);
                valued.flow(*day, paid, here, quantity, Costs::of_materials(value));
                let more = Costs::of_materials(more);
                valued.flow(*day, here, Pocket::Difference, 0, more);
            }
            ShelfMove::Used(pour, quantity) if quantity >= 0 => {
                let value = stock.take(quantity).value;
                *pots.entry(pour).or_default() += value;
                let costs = Costs::of_materials(value);
                valued.flow(*day, here, Pocket::Pot(pour), quantity, costs);
            }
            ShelfMove::Used(pour, quantity) => {
                let quantity = quantity.saturating_neg();
                let value = at_last_cost(&stock, quantity);
                *pots.entry(pour).or_default() += -value;
                let costs = Costs::of_materials(value);
                valued.flow(*day, Pocket::Pot(pour), here, quantity, costs);
                let more = stock.receive(u64::MAX, quantity, value).variance;
                let more = Costs::of_materials(more);
                valued.flow(*day, here, Pocket::Difference, 0, more);
            }
            ShelfMove::Lost(how, quantity) if quantity >= 0 => {
                let value = Costs::of_materials(stock.take(quantity).value);
                valued.flow(*day, here, Pocket::Lost(how), quantity, value);
            }
            ShelfMove::Lost(how, quantity) => {
                let quantity = quantity.saturating_neg();
                let value = at_last_cost(&stock, quantity);
                let costs = Costs::of_materials(value);
                valued.flow(*day, Pocket::Lost(how), here, quantity, costs);
                let more = stock.receive(u64::MAX, quantity, value).variance;
                let more = Costs::of_materials(more);
                valued.flow(*day, here, Pocket::Difference, 0, more);
            }
        }
    }
    valued.supplies.insert(supply, snapshot.unwrap_or(stock));
}
