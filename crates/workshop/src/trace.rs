//! Who has a lot, and what it came from.
//!
//! Forward from a supply lot to every pour that drew on it and from each pour
//! to every unit; back from a lot to every supply lot that went into it. The
//! way goes only from what came in to what went out, so it never turns round.
//! Every unit is in one place of the answer, since each movement takes it out
//! of one spot and puts it into another: the places add up to what was made.
//!
//! What cannot be known is said: units sold without a lot that may be of it,
//! pours that used more than any lot held, and buyers that sell on.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::Working;

use crate::facts::{
    BuyerId, ChannelId, ChannelKind, Lost, MarketDayId, Place, PourId, ProductId, ReceiptLine,
    SaleId, SupplyId, SupplyLot, Suspect, Told,
};
use crate::goods::{Movement, Spot};
use crate::lots::lots_of;
use crate::state::{Pour, Receipt, Stage, Workshop};
use crate::trade::Recall;

/// Who or what has units, or had them last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holder {
    /// Still in the maker's hands: the rack, a stall, a parcel not yet sent.
    Here(Place),
    /// A shop that pays for what it sells, and has not sold these yet.
    Shop(BuyerId),
    /// A buyer with a name.
    Buyer(BuyerId),
    /// Whoever bought at a market day.
    MarketDay(MarketDayId),
    /// Whoever bought through a channel and left no name.
    Channel(ChannelId),
    /// Nobody any more.
    Gone(Lost),
}

impl Holder {
    /// Whom a recall speaks to; nobody where the units are here or gone.
    pub const fn told(self) -> Option<Told> {
        match self {
            Self::Here(_) | Self::Gone(_) => None,
            Self::Shop(buyer) | Self::Buyer(buyer) => Some(Told::Buyer(buyer)),
            Self::MarketDay(day) => Some(Told::MarketDay(day)),
            Self::Channel(channel) => Some(Told::Channel(channel)),
        }
    }
}

/// What one holder has.
#[derive(Debug, Clone, PartialEq)]
pub struct Holding {
    /// Who.
    pub holder: Holder,
    /// Units there now. Below zero where more left a place than came, or where
    /// a count found more than was written down.
    pub units: i64,
    /// Units that went there, before anything came back; what a shop sold out
    /// of its own shelf counts once, where it came to the shop.
    pub went: i64,
    /// The sales by which they went, with what is left of each.
    pub sales: BTreeMap<SaleId, i64>,
    /// Of which lots they are.
    pub lots: BTreeMap<PourId, i64>,
    /// The first and the last day on which any went there.
    pub days: Option<(Date, Date)>,
    /// Whether they are with a buyer that sells on: which of them were sold
    /// there, and to whom, is not known.
    pub resells: bool,
}

/// Where the units are, by what a recall does about them. All of them together
/// are what was made.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sums {
    /// What was made.
    pub made: i64,
    /// In the maker's hands.
    pub here: i64,
    /// With shops and other buyers that have an account.
    pub accounts: i64,
    /// With customers of a web shop.
    pub web: i64,
    /// Sold at a stall, or through any other channel without a name.
    pub stall: i64,
    /// Given away.
    pub given: i64,
    /// Used up in a test.
    pub tested: i64,
    /// Damaged and thrown away.
    pub spoilt: i64,
    /// Not there when counted.
    pub missing: i64,
}

impl Sums {
    /// Everything that was found again.
    pub const fn found(&self) -> i64 {
        self.here
            + self.accounts
            + self.web
            + self.stall
            + self.given
            + self.tested
            + self.spoilt
            + self.missing
    }

    /// Units with somebody else.
    pub const fn out(&self) -> i64 {
        self.accounts + self.web + self.stall + self.given
    }

    /// Whether every unit made is in one of the places.
    pub const fn adds_up(&self) -> bool {
        self.found() == self.made
    }
}

/// A lot that is concerned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotTraced {
    /// Which.
    pub pour: PourId,
    /// Units made of it.
    pub made: i64,
    /// Units still here.
    pub here: i64,
    /// What it drew on the suspect supply lot, in smallest units of the supply.
    pub drew: Option<i64>,
}

/// What went into a lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Which supply.
    pub supply: SupplyId,
    /// Which lot of it; none for what no lot held.
    pub lot: Option<SupplyLot>,
    /// How much, in smallest units.
    pub used: i64,
}

/// Units of a good that were handed out without a lot since the first of the
/// lots concerned was made: they may be of it. They stand beside the sums, in
/// which every unit of the lots has its place already.
#[derive(Debug, Clone, PartialEq)]
pub struct Loose {
    /// Which good.
    pub product: ProductId,
    /// The day the first of the lots concerned was finished.
    pub since: Date,
    /// How many were handed out and did not come back.
    pub units: i64,
    /// How many of these were sold on a day before that. They count only where
    /// no other lot of the good was finished earlier and some of the lots
    /// concerned is not accounted for: the lots were then written down late, or
    /// what was sold was older than everything that is written down.
    pub before: i64,
    /// How many of the units on hand may in truth be among those handed out: no
    /// more than left the maker's places without a lot, until these are counted.
    pub here: i64,
    /// How many of the units missing may be among those handed out.
    pub missing: i64,
    /// Units of no known lot that were missing when counted.
    pub lost: i64,
    /// With whom.
    pub holdings: Vec<Holding>,
}

/// One whom a recall speaks to.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    /// Who.
    pub told: Told,
    /// Units there now.
    pub units: i64,
    /// Units that went there, before anything came back.
    pub went: i64,
    /// Units without a lot that went there and may be of it.
    pub maybe: i64,
    /// Whether it sells on: which of them were sold there, and to whom, is not
    /// known.
    pub resells: bool,
}

/// Everything about who has a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// What was asked about.
    pub suspect: Suspect,
    /// The lots concerned, oldest first.
    pub lots: Vec<LotTraced>,
    /// Pours that drew on it and stand on the bench: nothing was made yet.
    pub on_bench: Vec<PourId>,
    /// Pours that drew on it and were given up.
    pub given_up: Vec<PourId>,
    /// Pours that used more of the supply than any lot held: what they used may
    /// be of it.
    pub unsure: Vec<PourId>,
    /// What went into it.
    pub sources: Vec<Source>,
    /// Who has what, the most first.
    pub holdings: Vec<Holding>,
    /// What was sold through each channel and is still out.
    pub channels: BTreeMap<ChannelId, i64>,
    /// Where the units are.
    pub sums: Sums,
    /// Units without a lot that may be of it.
    pub loose: Vec<Loose>,
}

impl Trace {
    /// Whom a recall speaks to, those with the most first.
    pub fn calls(&self) -> Vec<Call> {
        let mut calls: BTreeMap<Told, Call> = BTreeMap::new();
        let loose = self.loose.iter().flat_map(|loose| &loose.holdings);
        let known = self.holdings.iter().map(|holding| (holding, true));
        for (holding, is_known) in known.chain(loose.map(|holding| (holding, false))) {
            let Some(told) = holding.holder.told() else {
                continue;
            };
            let call = calls.entry(told).or_insert(Call {
                told,
                units: 0,
                went: 0,
                maybe: 0,
                resells: false,
            });
            if is_known {
                call.units += holding.units;
                call.went += holding.went;
            } else {
                call.maybe += holding.units;
            }
            call.resells |= holding.resells;
        }
        let mut calls: Vec<Call> = calls.into_values().collect();
        calls.retain(|call| call.went > 0 || call.units != 0 || call.maybe > 0);
        calls.sort_by_key(|call| {
            let maybe = Reverse(call.maybe);
            (Reverse(call.units), Reverse(call.went), maybe, call.told)
        });
        calls
    }

    /// Units with buyers whose names are known.
    pub fn named(&self) -> i64 {
        let named = self
            .holdings
            .iter()
            .filter(|holding| matches!(holding.holder, Holder::Buyer(_) | Holder::Shop(_)));
        named.map(|holding| holding.units).sum()
    }

    /// How many buyers with an account have some.
    pub fn n_accounts(&self, workshop: &Workshop) -> usize {
        let buyers = self
            .holdings
            .iter()
            .filter(|holding| holding.units > 0)
            .filter_map(|holding| match holding.holder {
                Holder::Shop(buyer) => Some(buyer),
                Holder::Buyer(buyer) => Some(buyer).filter(|_| {
                    holding
                        .sales
                        .keys()
                        .any(|sale| !is_web(workshop, *sale).unwrap_or(false))
                }),
                _ => None,
            });
        buyers.collect::<BTreeSet<_>>().len()
    }

    /// Units handed out without a lot that may be of it.
    pub fn n_loose(&self) -> i64 {
        self.loose.iter().map(|loose| loose.units).sum()
    }
}

/// One whom a recall speaks to, with what there is to find again.
#[derive(Debug, Clone, PartialEq)]
pub struct Called {
    /// Who, with what went there and what is there now.
    pub call: Call,
    /// Units that were out there when the recall was begun, or went there
    /// since. What had come back or was lost there before is left out: nobody
    /// can find it again. What came back since is not.
    pub out: i64,
}

/// Whom a recall speaks to, those with the most first, each with what there is
/// to find again.
pub fn called(workshop: &Workshop, recall: &Recall, traced: &Trace) -> Vec<Called> {
    let mut before = Found::new(workshop, None);
    for lot in &traced.lots {
        for movement in workshop.goods().first_movements_of(lot.pour, recall.moved) {
            before.see(Some(lot.pour), movement);
        }
    }
    let mut came_back: BTreeMap<Told, i64> = BTreeMap::new();
    for holding in before.holdings() {
        if let Some(told) = holding.holder.told() {
            *came_back.entry(told).or_default() += holding.went - holding.units;
        }
    }
    let calls = traced.calls().into_iter();
    calls
        .map(|call| {
            let came_back = came_back.get(&call.told).copied().unwrap_or(0);
            let out = (call.went - came_back.max(0)).max(call.units).max(0);
            Called { call, out }
        })
        .collect()
}

/// What a recall found by the time it was ended, kept so that its record stays
/// what it was whatever is written down later.
#[derive(Debug, Clone, PartialEq)]
pub struct AtEnd {
    /// The day it was ended.
    pub day: Date,
    /// Who had what.
    pub traced: Trace,
    /// Whom it spoke to, those with the most first.
    pub calls: Vec<Called>,
}

impl AtEnd {
    /// What stands now, at the end of a recall; none where its lot is not
    /// there.
    pub(crate) fn of(workshop: &Workshop, recall: &Recall, day: Date) -> Option<Self> {
        let traced = trace(workshop, recall.suspect)?;
        let calls = called(workshop, recall, &traced);
        Some(Self { day, traced, calls })
    }
}

/// Whether a buyer sells on what it buys: it is said of it, it buys through a
/// channel of shops, or goods stand there until they are sold.
pub fn sells_on(workshop: &Workshop, buyer: BuyerId) -> bool {
    let trade = workshop.trade();
    let Some(known) = trade.buyer(buyer) else {
        return false;
    };
    let channel = trade.channel(known.terms.channel);
    let is_of_shops = channel.is_some_and(|channel| {
        matches!(
            channel.kind,
            ChannelKind::Wholesale | ChannelKind::SaleOrReturn
        )
    });
    let mut there = workshop.goods().at(Place::Shop(buyer));
    known.terms.resells || is_of_shops || there.any(|(_, count)| count > 0)
}

/// The delivery and the line by which a supply lot came.
pub fn receipt_of(workshop: &Workshop, lot: SupplyLot) -> Option<(&Receipt, &ReceiptLine)> {
    let receipt = workshop.receipt(lot.receipt)?;
    let nth = usize::try_from(lot.line).ok()?;
    receipt.lines.get(nth).map(|line| (receipt, line))
}

/// The pours that a suspect is about, each with what it drew on the supply
/// lot; none where there is no such thing.
fn concerned(workshop: &Workshop, suspect: Suspect) -> Option<Concerned> {
    match suspect {
        Suspect::Lot(pour) => {
            workshop.pour(pour)?;
            Some(Concerned {
                pours: vec![(pour, None)],
                unsure: Vec::new(),
            })
        }
        Suspect::SupplyLot(lot) => {
            let (_, line) = receipt_of(workshop, lot)?;
            let lots = lots_of(workshop, line.supply);
            let used = lots.lot(lot).map(|of| of.used.clone());
            let used = used.unwrap_or_default();
            let unsure = lots.unaccounted.keys();
            Some(Concerned {
                unsure: unsure
                    .filter(|pour| !used.contains_key(pour))
                    .copied()
                    .collect(),
                pours: used.into_iter().map(|(pour, n)| (pour, Some(n))).collect(),
            })
        }
    }
}

struct Concerned {
    pours: Vec<(PourId, Option<i64>)>,
    unsure: Vec<PourId>,
}

/// Returns who has what of a suspect, and where it came from; none where there
/// is no such lot.
///
/// It looks at the movements of the lots concerned, at those of units of the
/// same goods whose lot nobody knows, and at what happened to the supplies that
/// are in them, and at nothing else, so that it does not grow with the number of
/// sales.
pub fn trace(workshop: &Workshop, suspect: Suspect) -> Option<Trace> {
    let concerned = concerned(workshop, suspect)?;
    let mut traced = Trace {
        suspect,
        lots: Vec::new(),
        on_bench: Vec::new(),
        given_up: Vec::new(),
        unsure: concerned.unsure,
        sources: sources(workshop, suspect),
        holdings: Vec::new(),
        channels: BTreeMap::new(),
        sums: Sums::default(),
        loose: Vec::new(),
    };
    let mut found = Found::new(workshop, None);
    let mut goods: BTreeMap<ProductId, OfGood> = BTreeMap::new();
    for (id, drew) in concerned.pours {
        let Some(pour) = workshop.pour(id) else {
            continue;
        };
        match pour.stage() {
            Stage::Finished => {}
            Stage::Abandoned => {
                traced.given_up.push(id);
                continue;
            }
            _ => {
                traced.on_bench.push(id);
                continue;
            }
        }
        let before = (found.made, found.here, found.gone(Lost::Missing));
        for movement in workshop.goods().movements_of(id) {
            found.see(Some(id), movement);
        }
        traced.lots.push(LotTraced {
            pour: id,
            made: found.made - before.0,
            here: found.here - before.1,
            drew,
        });
        if let (Some(product), Some(lot)) = (pour.product, &pour.finished) {
            let of = goods.entry(product).or_insert(OfGood {
                since: lot.day,
                here: 0,
                missing: 0,
            });
            of.since = lot.day.min(of.since);
            of.here += found.here - before.1;
            of.missing += found.gone(Lost::Missing) - before.2;
        }
    }
    traced.sums = found.sums();
    traced.channels = std::mem::take(&mut found.channels);
    traced.channels.retain(|_, units| *units != 0);
    traced.holdings = found.holdings();
    let loose = goods.iter();
    traced.loose = loose
        .filter_map(|(product, of)| loose_of(workshop, *product, of))
        .collect();
    Some(traced)
}

/// What is known of the lots concerned that are of one good.
struct OfGood {
    /// The day the first of them was finished.
    since: Date,
    here: i64,
    missing: i64,
}

/// The units of a good that were handed out without a lot and may be of the
/// lots concerned; none where there are none.
fn loose_of(workshop: &Workshop, product: ProductId, of: &OfGood) -> Option<Loose> {
    workshop.goods().movements_without_lot(product).next()?;
    let mut looked = look_for_loose(workshop, product, of.since);
    // What may have gone out of the lots and is not written down as theirs.
    let open = of.here.min(looked.gap).max(0) + of.missing.max(0);
    if open > looked.units && !made_before(workshop, product, of.since) {
        looked = look_for_loose(workshop, product, Date::MIN);
    }
    let Looked {
        units, gap, lost, ..
    } = looked;
    let trade = workshop.trade();
    let is_before = |sale: SaleId| trade.sale(sale).is_some_and(|sale| sale.day < of.since);
    let sales = looked.holdings.iter().flat_map(|holding| &holding.sales);
    let before: i64 = sales
        .filter(|(sale, _)| is_before(**sale))
        .map(|(_, units)| *units)
        .sum();
    (units > 0 || lost > 0).then_some(Loose {
        product,
        since: of.since,
        units,
        before,
        here: of.here.min(gap).min(units).max(0),
        missing: of.missing.min(units).max(0),
        lost,
        holdings: looked.holdings,
    })
}

/// What the movements of units without a lot say.
struct Looked {
    units: i64,
    /// By how many more they left the maker's places than they came to them.
    gap: i64,
    lost: i64,
    holdings: Vec<Holding>,
}

fn look_for_loose(workshop: &Workshop, product: ProductId, since: Date) -> Looked {
    let mut found = Found::new(workshop, Some(since));
    for movement in workshop.goods().movements_without_lot(product) {
        found.see(None, movement);
    }
    let gap = -found.here;
    let lost = found.gone(Lost::Missing).max(0);
    let mut holdings = found.holdings();
    holdings.retain(|holding| holding.units > 0);
    Looked {
        units: holdings.iter().map(|holding| holding.units).sum(),
        gap,
        lost,
        holdings,
    }
}

/// Whether any of a good was finished before a day.
fn made_before(workshop: &Workshop, product: ProductId, day: Date) -> bool {
    let mut pours = workshop.pours();
    pours.any(|pour| {
        let lot = pour.finished.as_ref();
        pour.product == Some(product)
            && lot.is_some_and(|lot| lot.day < day && (lot.good > 0 || lot.seconds > 0))
    })
}

/// What went into a lot; for a supply lot, itself.
fn sources(workshop: &Workshop, suspect: Suspect) -> Vec<Source> {
    match suspect {
        Suspect::SupplyLot(lot) => receipt_of(workshop, lot)
            .map(|(_, line)| Source {
                supply: line.supply,
                lot: Some(lot),
                used: lots_of(workshop, line.supply)
                    .lot(lot)
                    .map_or(0, |of| of.used.values().sum()),
            })
            .into_iter()
            .collect(),
        Suspect::Lot(pour) => workshop
            .pour(pour)
            .map(|pour| sources_of(workshop, pour))
            .unwrap_or_default(),
    }
}

/// Every supply lot that went into a pour, and what of its supplies no lot
/// accounts for.
pub fn sources_of(workshop: &Workshop, pour: &Pour) -> Vec<Source> {
    let product = pour.product.and_then(|product| workshop.product(product));
    let packed = product.into_iter().flat_map(|product| &product.packing);
    let mut supplies: Vec<SupplyId> = Vec::new();
    let weighed = pour.portions.iter().map(|portion| portion.supply);
    for supply in weighed.chain(packed.map(|(supply, _)| *supply)) {
        if !supplies.contains(&supply) {
            supplies.push(supply);
        }
    }
    let mut sources = Vec::new();
    for supply in supplies {
        let lots = lots_of(workshop, supply);
        for (lot, of) in &lots.lots {
            if let Some(used) = of.used.get(&pour.id) {
                sources.push(Source {
                    supply,
                    lot: Some(*lot),
                    used: *used,
                });
            }
        }
        if let Some(used) = lots.unaccounted.get(&pour.id) {
            sources.push(Source {
                supply,
                lot: None,
                used: *used,
            });
        }
    }
    sources
}

/// What the movements looked at so far say.
struct Found<'a> {
    workshop: &'a Workshop,
    /// Look only at what happened from then on; only said for units of no known
    /// lot.
    since: Option<Date>,
    holdings: BTreeMap<Holder, Holding>,
    channels: BTreeMap<ChannelId, i64>,
    made: i64,
    here: i64,
    accounts: i64,
    web: i64,
    stall: i64,
}

impl<'a> Found<'a> {
    const fn new(workshop: &'a Workshop, since: Option<Date>) -> Self {
        Self {
            workshop,
            since,
            holdings: BTreeMap::new(),
            channels: BTreeMap::new(),
            made: 0,
            here: 0,
            accounts: 0,
            web: 0,
            stall: 0,
        }
    }

    fn see(&mut self, lot: Option<PourId>, movement: &Movement) {
        let count = i64::from(movement.count);
        self.shift(lot, movement, movement.from, -count);
        self.shift(lot, movement, movement.to, count);
    }

    fn shift(&mut self, lot: Option<PourId>, movement: &Movement, spot: Spot, by: i64) {
        let too_early = |day: Date| self.since.is_some_and(|since| day < since);
        let mut of_sale = None;
        let holder = match spot {
            Spot::Made => {
                self.made -= by;
                return;
            }
            Spot::At(Place::Shop(buyer)) => {
                self.accounts += by;
                Holder::Shop(buyer)
            }
            Spot::At(place) => {
                self.here += by;
                Holder::Here(place)
            }
            Spot::Gone(how) => Holder::Gone(how),
            Spot::Sold(id) => {
                let Some(sale) = self.workshop.trade().sale(id) else {
                    return;
                };
                if too_early(sale.day) {
                    return;
                }
                let is_web = is_web(self.workshop, id);
                match (is_web, sale.buyer) {
                    (Some(true), _) => self.web += by,
                    (Some(false), _) | (None, Some(_)) => self.accounts += by,
                    (None, None) => self.stall += by,
                }
                *self.channels.entry(sale.channel).or_default() += by;
                of_sale = Some(sale);
                match (sale.buyer, sale.market_day) {
                    (Some(buyer), _) => Holder::Buyer(buyer),
                    (None, Some(day)) => Holder::MarketDay(day),
                    (None, None) => Holder::Channel(sale.channel),
                }
            }
        };
        if of_sale.is_none() && too_early(movement.day) {
            return;
        }
        let workshop = self.workshop;
        let holding = self.holdings.entry(holder).or_insert_with(|| Holding {
            holder,
            units: 0,
            went: 0,
            sales: BTreeMap::new(),
            lots: BTreeMap::new(),
            days: None,
            resells: match holder {
                Holder::Shop(_) => true,
                Holder::Buyer(buyer) => sells_on(workshop, buyer),
                _ => false,
            },
        });
        holding.units += by;
        let counts = match of_sale {
            Some(sale) => {
                *holding.sales.entry(sale.id).or_default() += by;
                sale.voided.is_none() && !matches!(sale.place, Place::Shop(_))
            }
            // What comes back to a shop from its buyer was there before.
            None => !matches!(movement.from, Spot::Sold(_)),
        };
        if by > 0 {
            if counts {
                holding.went += by;
            }
            let day = movement.day;
            holding.days = Some(match holding.days {
                None => (day, day),
                Some((first, last)) => (first.min(day), last.max(day)),
            });
        }
        if let Some(lot) = lot {
            *holding.lots.entry(lot).or_default() += by;
        }
    }

    fn gone(&self, how: Lost) -> i64 {
        let holding = self.holdings.get(&Holder::Gone(how));
        holding.map_or(0, |holding| holding.units)
    }

    fn sums(&self) -> Sums {
        Sums {
            made: self.made,
            here: self.here,
            accounts: self.accounts,
            web: self.web,
            stall: self.stall,
            given: self.gone(Lost::Given),
            tested: self.gone(Lost::Tested),
            spoilt: self.gone(Lost::Spoilt),
            missing: self.gone(Lost::Missing),
        }
    }

    /// Who has what, the most first; what is not looked at for units without a
    /// lot is left out.
    fn holdings(self) -> Vec<Holding> {
        let of_no_lot = self.since.is_some();
        let mut holdings: Vec<Holding> = self
            .holdings
            .into_values()
            .filter(|holding| {
                let is_out =
                    holding.holder.told().is_some() || holding.holder == Holder::Gone(Lost::Given);
                is_out || !of_no_lot
            })
            .filter(|holding| {
                holding.units != 0 || (holding.went > 0 && holding.holder.told().is_some())
            })
            .map(|mut holding| {
                holding.sales.retain(|_, units| *units != 0);
                holding.lots.retain(|_, units| *units != 0);
                holding
            })
            .collect();
        holdings.sort_by_key(|holding| {
            (
                Reverse(holding.units),
                Reverse(holding.went),
                holding.holder,
            )
        });
        holdings
    }
}

/// Whether a sale went through a web shop; none for a stall, or where nobody
/// knows the channel.
fn is_web(workshop: &Workshop, sale: SaleId) -> Option<bool> {
    let sale = workshop.trade().sale(sale)?;
    match workshop.trade().channel(sale.channel)?.kind {
        ChannelKind::Web => Some(true),
        ChannelKind::Wholesale | ChannelKind::SaleOrReturn => Some(false),
        ChannelKind::Stall => None,
    }
}

/// How the units were found again, line by line.
pub fn trace_working(workshop: &Workshop, traced: &Trace) -> Working {
    let mut working = Working::new();
    let sums = &traced.sums;
    let of_lots: Vec<String> = traced
        .lots
        .iter()
        .filter_map(|lot| Some(format!("{} of {}", lot.made, workshop.pour(lot.pour)?.lot)))
        .collect();
    working.step(
        "Made",
        "units fit for sale, seconds with them, of every lot concerned",
        of_lots.join(" + "),
        sums.made.to_string(),
        "",
    );
    let parts = parts_of(sums);
    let named: Vec<String> = parts
        .iter()
        .map(|(word, units)| format!("{units} {word}"))
        .collect();
    working.step(
        "Found again",
        "every unit where its last movement put it",
        named.join(" + "),
        sums.found().to_string(),
        "each movement takes a unit out of one place and puts it into another",
    );
    working.step(
        "Difference",
        "made − found again",
        format!("{} − {}", sums.made, sums.found()),
        (sums.made - sums.found()).to_string(),
        "",
    );
    working
}

/// The parts of the sum that are not nothing, each with its words.
pub fn parts_of(sums: &Sums) -> Vec<(&'static str, i64)> {
    [
        ("on hand", sums.here),
        ("with accounts", sums.accounts),
        ("with web customers", sums.web),
        ("sold at stalls", sums.stall),
        ("given away", sums.given),
        ("tested", sums.tested),
        ("spoilt", sums.spoilt),
        ("missing", sums.missing),
    ]
    .into_iter()
    .filter(|(_, units)| *units != 0)
    .collect()
}
