//! The state of a workshop, folded from its facts.

use std::collections::{BTreeMap, BTreeSet};

use ::label::sheet::{Calibration, SheetGeometry};
use ::label::unit::ShapeGiven;
use formula::FragranceLoad;
use jiff::civil::Date;
use measure::{
    Cost, Currency, Decimal, Mass, Money, Ratio, Reading, System, Temperature, TimeSpan, Typed,
};
use netweight::Rule;

use crate::facts::{
    AfterSlip, Amount, Dated, Destination, DestinationId, Fact, Format, FormulaId, FreightSpread,
    HOME, Identifier, LabelElements, LabelGround, LabelPart, LabelSettings, MakerDetails,
    MouldDefined, MouldId, Place, Portion, PourCount, PourId, ProductId, ReceiptId, ReceiptLine,
    Recipe, Rest, Settings, SheetLine, StockId, SupplyCounted, SupplyId, SupplyKind, SupplyLot,
    TareOf, WeightGround, WrapChoice,
};
use crate::goods::Goods;
use crate::lots;
use crate::money::Charges;
use crate::trace::AtEnd;
use crate::trade::{CountedBack, OrderStage, RowOf, Till, Trade};

/// Everything known of a workshop. Equal journals fold to equal workshops.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Workshop {
    settings: Option<Settings>,
    supplies: BTreeMap<SupplyId, Supply>,
    receipts: BTreeMap<ReceiptId, Receipt>,
    moulds: BTreeMap<MouldId, Mould>,
    formulas: BTreeMap<FormulaId, Formula>,
    products: BTreeMap<ProductId, Product>,
    pours: BTreeMap<PourId, Pour>,
    open_pours: Vec<PourId>,
    pours_of_mould: BTreeMap<MouldId, Vec<PourId>>,
    lot_codes: BTreeSet<String>,
    sheets: BTreeMap<SupplyId, Vec<Sheet>>,
    certificates: BTreeMap<SupplyId, Certificate>,
    label_settings: Option<LabelSettings>,
    destinations: BTreeMap<DestinationId, Destination>,
    labels: BTreeMap<(ProductId, DestinationId), Vec<Label>>,
    printed: BTreeMap<ProductId, Vec<Printed>>,
    declared: BTreeMap<ProductId, BTreeMap<Rule, DeclaredWeight>>,
    tares: BTreeMap<TareOf, WeighedTares>,
    maker: Option<MakerDetails>,
    shelf_lives: BTreeMap<ProductId, u16>,
    gtins: BTreeMap<ProductId, String>,
    shapes: BTreeMap<ProductId, ShapeGiven>,
    wraps: BTreeMap<ProductId, WrapChoice>,
    label_stocks: BTreeMap<StockId, LabelStock>,
    printers: BTreeMap<String, PrinterMeasured>,
    /// The deliveries that brought each supply, each with the count of facts
    /// at which it came.
    deliveries: BTreeMap<SupplyId, Vec<(Known, ReceiptId)>>,
    /// What an hour cost, each with the count of facts from which it held.
    hourly: Vec<(Known, Hourly)>,
    shelf: BTreeMap<SupplyId, Vec<ShelfEvent>>,
    supply_dates: BTreeMap<SupplyLot, Date>,
    goods: Goods,
    trade: Trade,
    facts: u64,
    last_day: Option<Date>,
}

/// Something that happened to a supply, in the order it was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfEvent {
    /// The count of facts at which it became known.
    pub known: Known,
    /// The day it concerns.
    pub day: Date,
    /// What happened; amounts in smallest units.
    pub what: ShelfChange,
}

/// What can happen to a supply, in smallest units of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShelfChange {
    /// A lot came in.
    Received(SupplyLot, i64),
    /// A lot that had come in was so much more than written down, or less.
    Corrected(SupplyLot, i64),
    /// A lot was opened.
    Opened(SupplyLot),
    /// A pour used so much more, or gave so much back.
    Used(PourId, i64),
    /// What a pour used came out of these lots.
    Drawn(PourId, Vec<SupplyLot>),
    /// So much was thrown away, of a lot or of whichever was open.
    Wasted(Option<SupplyLot>, i64),
    /// So much was there when counted, of a lot or of all together.
    Counted(Option<SupplyLot>, i64),
}

/// A kind of label sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelStock {
    /// Which.
    pub id: StockId,
    /// What it is called.
    pub name: String,
    /// Its geometry.
    pub geometry: SheetGeometry,
    /// The day it came to hand.
    pub since: Date,
    /// The day it was used up; none while there is some.
    pub retired: Option<Date>,
}

/// What was measured of a printer.
#[derive(Debug, Clone, PartialEq)]
pub struct PrinterMeasured {
    /// What it is called.
    pub name: String,
    /// The day it was measured.
    pub day: Date,
    /// What was measured.
    pub measured: Calibration,
}

/// A point in the journal: the count of facts folded when something was known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Known(u64);

/// What an hour of hands-on work cost.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Hourly {
    /// The wage.
    pub wage: Option<Money>,
    /// The overhead.
    pub overhead: Option<Money>,
}

/// A thing bought, with what is known of its stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Which.
    pub id: SupplyId,
    /// What kind of thing.
    pub kind: SupplyKind,
    /// What it is called.
    pub name: String,
    /// The most oil its sheet allows, for a wax.
    pub max_load: Option<FragranceLoad>,
    /// The flash point on its sheet, for an oil.
    pub flash_point: Option<Typed<Temperature>>,
    /// What came in and what was used.
    pub stock: Stock,
}

/// What came in of a supply, what was used, and what it cost landed.
///
/// Weights in whole micrograms, counts in whole pieces: `received` and `used`
/// are in the same smallest unit, which [`Supply::kind`] names.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// Smallest units received.
    pub received: i64,
    /// Smallest units used by pours.
    pub used: i64,
    /// Smallest units thrown away or not there when counted; below zero where
    /// counts found more than was written down.
    pub lost: i64,
    /// What all receipts cost with their freight; none before the first.
    pub landed: Option<Cost>,
    /// Receipts in a currency other than the first, which no average can
    /// hold; shown, never added in.
    pub foreign: u32,
}

impl Stock {
    /// Smallest units on hand; below zero when more was used than received.
    pub const fn on_hand(&self) -> i64 {
        self.received
            .saturating_sub(self.used)
            .saturating_sub(self.lost)
    }

    /// Average landed cost of one smallest unit; none before the first receipt.
    pub fn cost_each(&self) -> Option<Cost> {
        self.landed?.over(Decimal::from(self.received))
    }
}

/// A delivery, as it stands after corrections.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// Which.
    pub id: ReceiptId,
    /// The day it came.
    pub day: Date,
    /// Who sent it.
    pub supplier: String,
    /// What came.
    pub lines: Vec<ReceiptLine>,
    /// Freight on the whole.
    pub freight: Option<Money>,
    /// How the freight is shared.
    pub spread: FreightSpread,
    /// Duty on the whole.
    pub duty: Option<Money>,
    /// What each line cost with its share of freight and duty.
    pub landed: Vec<Money>,
}

impl Receipt {
    /// What the delivery cost beside its lines.
    pub const fn charges(&self) -> Charges {
        Charges {
            freight: self.freight,
            duty: self.duty,
            spread: self.spread,
        }
    }
}

/// A mould or vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Mould {
    /// Which.
    pub id: MouldId,
    /// What it is called.
    pub name: String,
    /// What comes out of it.
    pub format: Format,
    /// How many at a time.
    pub cavities: u32,
    /// Water to the fill line of one cavity.
    pub line_volume: Option<Typed<measure::Volume>>,
    /// What it is sold as.
    pub nominal: Option<Typed<Mass>>,
}

/// A formula with all its revisions.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// Which.
    pub id: FormulaId,
    /// The scent or the good it is for.
    pub name: String,
    /// Revision 1 first; each with the day and the reason it was made.
    pub revisions: Vec<(Date, String, Recipe)>,
}

impl Formula {
    /// The recipe in force.
    pub fn current(&self) -> &Recipe {
        &self
            .revisions
            .last()
            .expect("a formula is defined with a recipe")
            .2
    }

    /// The number of the revision in force, from 1.
    pub fn revision(&self) -> u32 {
        u32::try_from(self.revisions.len()).unwrap_or(u32::MAX)
    }

    /// The recipe of a revision.
    pub fn at(&self, revision: u32) -> Option<&Recipe> {
        let nth = usize::try_from(revision.checked_sub(1)?).ok()?;
        self.revisions.get(nth).map(|(_, _, recipe)| recipe)
    }
}

/// A good.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Which.
    pub id: ProductId,
    /// What it is sold as.
    pub name: String,
    /// What is in it.
    pub formula: FormulaId,
    /// What it is poured in.
    pub mould: MouldId,
    /// What each unit is packed with.
    pub packing: Vec<(SupplyId, u32)>,
    /// Its prices, the latest set.
    pub prices: Option<Prices>,
}

/// A safety data sheet as it was filed, with the lines confirmed since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Its number among the sheets of its supply, from 1.
    pub number: u32,
    /// The day it was filed.
    pub filed: Date,
    /// Who wrote it.
    pub supplier: String,
    /// The date on it.
    pub dated: Option<Date>,
    /// The version on it; may be empty.
    pub version: String,
    /// What its section 3 lists.
    pub lines: Vec<SheetLine>,
    /// What the lines leave open.
    pub rest: Rest,
}

impl Sheet {
    /// Lines not yet compared with the supplier's own sheet, from 0.
    pub fn unconfirmed(&self) -> impl Iterator<Item = (usize, &SheetLine)> {
        self.lines
            .iter()
            .enumerate()
            .filter(|(_, line)| !line.confirmed)
    }
}

/// What a certificate allows of an oil.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certificate {
    /// The category of article on it.
    pub category: String,
    /// The most of the oil in the finished article, as a share of total.
    pub maximum: Ratio,
    /// The date on it.
    pub dated: Option<Date>,
    /// The day it was filed.
    pub filed: Date,
}

/// A label that was marked ready.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The day it was.
    pub day: Date,
    /// What it rested on.
    pub ground: LabelGround,
    /// What it said.
    pub elements: LabelElements,
    /// Its unique formula identifier, where one was due.
    pub identifier: Option<Identifier>,
    /// Where it was to be read, and who stood on it.
    pub settings: Option<LabelSettings>,
}

/// Labels that were printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Printed {
    /// The day they were.
    pub day: Date,
    /// The lot whose code they carry.
    pub lot: Option<PourId>,
    /// Where they go.
    pub destination: DestinationId,
    /// How many times the label had been marked ready for there.
    pub version: u32,
    /// Which part of the label they are.
    pub part: LabelPart,
    /// How many.
    pub count: u32,
}

/// What a good's label says it weighs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeclaredWeight {
    /// Whose rules.
    pub rule: Rule,
    /// The weight.
    pub declared: Typed<Mass>,
    /// What was known of its units then.
    pub ground: WeightGround,
    /// Why it is more than any unit weighed; empty where it is not.
    pub reason: String,
    /// The day it was settled.
    pub since: Date,
}

/// Wrappings weighed one by one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WeighedTares {
    /// The day they were.
    pub day: Date,
    /// What each weighs.
    pub weights: Vec<Typed<Mass>>,
}

/// The price range of a good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Prices {
    /// The least asked.
    pub low: Money,
    /// What is usually asked.
    pub typical: Money,
    /// The most asked.
    pub high: Money,
    /// The day they were set.
    pub since: Date,
}

/// How far a pour has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Being weighed out.
    Weighing,
    /// Everything is in the pot.
    Ready,
    /// In the mould, setting.
    Setting,
    /// Out of the mould, being counted, weighed and packed.
    Demoulded,
    /// On the rack.
    Finished,
    /// Given up.
    Abandoned,
}

impl Stage {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weighing => "being weighed out",
            Self::Ready => "weighed and ready to pour",
            Self::Setting => "setting in the mould",
            Self::Demoulded => "out of the mould",
            Self::Finished => "on the rack",
            Self::Abandoned => "given up",
        }
    }
}

/// One making, from the first weight to the rack.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// Which.
    pub id: PourId,
    /// The code its goods carry.
    pub lot: String,
    /// The day it was begun.
    pub started: Date,
    /// The formula.
    pub formula: FormulaId,
    /// The revision of the formula.
    pub revision: u32,
    /// The mould.
    pub mould: Option<MouldId>,
    /// The good it becomes.
    pub product: Option<ProductId>,
    /// How many units were hoped for.
    pub wanted: u32,
    /// What to weigh.
    pub portions: Vec<Portion>,
    /// What to aim at now, after any re-scaling; in the order of the portions.
    pub targets: Vec<Typed<Mass>>,
    /// What was aimed at when each portion went in; none for what is to come.
    /// Keeping going after a slip moves the targets, and leaves these alone.
    pub aimed: Vec<Option<Typed<Mass>>>,
    /// What the empty pot weighs, when it stays on the scale untared.
    pub tare: Option<Typed<Mass>>,
    /// What has gone into the pot of each portion.
    pub weighed: Vec<Option<Typed<Mass>>>,
    /// Slips of the hand and how they were met.
    pub slips: Vec<AfterSlip>,
    /// Temperature of the wax as it was poured.
    pub wax_at: Option<Typed<Temperature>>,
    /// Temperature of the room.
    pub room_at: Option<Typed<Temperature>>,
    /// The day it went into the mould.
    pub poured: Option<Date>,
    /// What came out.
    pub count: Option<PourCount>,
    /// Whether it is out of the mould.
    pub demoulded: bool,
    /// Weights of single units; struck ones are marked, so that the numbering holds.
    pub unit_weights: Vec<(Typed<Mass>, bool)>,
    /// Why a weight that did not fit what went in is right, by its place.
    pub weights_kept: BTreeMap<u32, String>,
    /// Weights of finished units in their wrapping.
    pub wrapped: Vec<Typed<Mass>>,
    /// The finished lot.
    pub finished: Option<Lot>,
    /// Why it is held, if it is.
    pub held: Option<String>,
    /// Why it was given up, if it was.
    pub abandoned: Option<String>,
}

/// What a finished pour put on the rack.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// The day it was finished.
    pub day: Date,
    /// Units fit for sale.
    pub good: u32,
    /// Units sold cheaper.
    pub seconds: u32,
    /// Units not sold.
    pub rejects: u32,
    /// Hands-on time.
    pub minutes: Option<Typed<TimeSpan>>,
    /// What was known when it was finished: its costs are taken from then.
    pub known: Known,
}

/// Whether a lot may be sold on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LotVerdict {
    /// It is stopped, and why.
    Hold(String),
    /// It cures until that day.
    Curing(Date),
    /// It may be sold.
    Ready(Date),
}

impl Pour {
    /// What is in the pot already is aimed at anew where more of it is to come.
    fn aim_higher(&mut self) {
        for ((aimed, weighed), target) in
            self.aimed.iter_mut().zip(&self.weighed).zip(&self.targets)
        {
            let is_short = weighed
                .as_ref()
                .is_some_and(|weighed| weighed.value() < target.value());
            if is_short && aimed.is_some() {
                *aimed = Some(target.clone());
            }
        }
    }

    /// How far it has come.
    pub fn stage(&self) -> Stage {
        if self.abandoned.is_some() {
            Stage::Abandoned
        } else if self.finished.is_some() {
            Stage::Finished
        } else if self.demoulded {
            Stage::Demoulded
        } else if self.poured.is_some() {
            Stage::Setting
        } else if self.weighed.iter().all(Option::is_some) {
            Stage::Ready
        } else {
            Stage::Weighing
        }
    }

    /// The first portion that is not in the pot yet.
    pub fn next_portion(&self) -> Option<usize> {
        self.weighed.iter().position(Option::is_none)
    }

    /// Everything weighed into the pot so far.
    pub fn put_in(&self) -> Mass {
        self.weighed.iter().flatten().map(Typed::value).sum()
    }

    /// Unit weights that still count.
    pub fn weights(&self) -> impl Iterator<Item = &Typed<Mass>> {
        self.unit_weights
            .iter()
            .filter(|(_, struck)| !struck)
            .map(|(weight, _)| weight)
    }
}

impl Workshop {
    /// Folds one fact into the state.
    ///
    /// What the journal holds has happened, so this cannot fail: a fact about
    /// something never defined, which no decision lets through, changes
    /// nothing but the count.
    pub fn apply(&mut self, dated: &Dated) {
        let day = dated.day;
        self.facts += 1;
        self.last_day = self.last_day.max(Some(day));
        match &dated.fact {
            Fact::WorkshopSetUp(fact) => {
                let Settings {
                    wage,
                    overhead_per_hour: overhead,
                    ..
                } = fact.settings;
                self.hourly
                    .push((Known(self.facts), Hourly { wage, overhead }));
                self.settings = Some(fact.settings.clone());
            }
            Fact::SupplyDefined(fact) => {
                self.supplies.insert(
                    fact.supply,
                    Supply {
                        id: fact.supply,
                        kind: fact.kind,
                        name: fact.name.clone(),
                        max_load: fact.max_load,
                        flash_point: fact.flash_point.clone(),
                        stock: Stock::default(),
                    },
                );
            }
            Fact::SupplyAmended(fact) => {
                if let Some(supply) = self.supplies.get_mut(&fact.supply) {
                    supply.name.clone_from(&fact.name);
                    supply.max_load = fact.max_load;
                    supply.flash_point.clone_from(&fact.flash_point);
                }
            }
            Fact::SupplyReceived(fact) => {
                let receipt = Receipt {
                    id: fact.receipt,
                    day,
                    supplier: fact.supplier.clone(),
                    lines: fact.lines.clone(),
                    freight: fact.freight,
                    spread: fact.spread,
                    duty: fact.duty,
                    landed: Charges::of(fact).landed(&fact.lines),
                };
                self.stock(&receipt, 1);
                for (line, nth) in receipt.lines.iter().zip(0..) {
                    let lot = SupplyLot {
                        receipt: receipt.id,
                        line: nth,
                    };
                    let received = ShelfChange::Received(lot, line.amount.smallest());
                    self.note(day, line.supply, received);
                }
                for line in &receipt.lines {
                    let known = (Known(self.facts), receipt.id);
                    let deliveries = self.deliveries.entry(line.supply).or_default();
                    if deliveries.last() != Some(&known) {
                        deliveries.push(known);
                    }
                }
                self.receipts.insert(fact.receipt, receipt);
            }
            Fact::ReceiptCorrected(fact) => {
                // Taken out whole and put back whole, since a line's share of
                // the freight hangs on every other line.
                if let Some(mut receipt) = self.receipts.remove(&fact.receipt) {
                    self.stock(&receipt, -1);
                    if let Some(line) = receipt.lines.get_mut(fact.line as usize) {
                        let more = fact.amount.smallest() - line.amount.smallest();
                        line.amount = fact.amount.clone();
                        line.paid = fact.paid;
                        let lot = SupplyLot {
                            receipt: fact.receipt,
                            line: fact.line,
                        };
                        let supply = line.supply;
                        self.note(day, supply, ShelfChange::Corrected(lot, more));
                    }
                    receipt.landed = receipt.charges().landed(&receipt.lines);
                    self.stock(&receipt, 1);
                    let line = receipt.lines.get(fact.line as usize);
                    let supply = line.map(|line| line.supply);
                    self.receipts.insert(fact.receipt, receipt);
                    if let Some(supply) = supply {
                        self.put_counts_right(supply);
                    }
                }
            }
            Fact::MouldDefined(fact) => {
                let MouldDefined {
                    mould,
                    name,
                    format,
                    cavities,
                    line_volume,
                    nominal,
                } = fact.clone();
                self.moulds.insert(
                    mould,
                    Mould {
                        id: mould,
                        name,
                        format,
                        cavities,
                        line_volume,
                        nominal,
                    },
                );
            }
            Fact::FormulaDefined(fact) => {
                self.formulas.insert(
                    fact.formula,
                    Formula {
                        id: fact.formula,
                        name: fact.name.clone(),
                        revisions: vec![(day, String::new(), fact.recipe.clone())],
                    },
                );
            }
            Fact::FormulaRevised(fact) => {
                if let Some(formula) = self.formulas.get_mut(&fact.formula) {
                    formula
                        .revisions
                        .push((day, fact.reason.clone(), fact.recipe.clone()));
                }
            }
            Fact::ProductDefined(fact) => {
                self.products.insert(
                    fact.product,
                    Product {
                        id: fact.product,
                        name: fact.name.clone(),
                        formula: fact.formula,
                        mould: fact.mould,
                        packing: fact.packing.clone(),
                        prices: None,
                    },
                );
            }
            Fact::PriceSet(fact) => {
                if let Some(product) = self.products.get_mut(&fact.product) {
                    let (low, typical, high) = (fact.low, fact.typical, fact.high);
                    product.prices = Some(Prices {
                        low,
                        typical,
                        high,
                        since: day,
                    });
                }
            }
            Fact::PourStarted(fact) => {
                let targets = fact
                    .portions
                    .iter()
                    .map(|portion| portion.weight.clone())
                    .collect();
                let pour = Pour {
                    id: fact.pour,
                    lot: fact.lot.clone(),
                    started: day,
                    formula: fact.formula,
                    revision: fact.revision,
                    mould: fact.mould,
                    product: fact.product,
                    wanted: fact.wanted,
                    weighed: vec![None; fact.portions.len()],
                    aimed: vec![None; fact.portions.len()],
                    portions: fact.portions.clone(),
                    targets,
                    tare: None,
                    slips: Vec::new(),
                    wax_at: None,
                    room_at: None,
                    poured: None,
                    count: None,
                    demoulded: false,
                    unit_weights: Vec::new(),
                    weights_kept: BTreeMap::new(),
                    wrapped: Vec::new(),
                    finished: None,
                    held: None,
                    abandoned: None,
                };
                if let Some(mould) = pour.mould {
                    self.pours_of_mould.entry(mould).or_default().push(pour.id);
                }
                self.open_pours.push(pour.id);
                self.lot_codes.insert(pour.lot.clone());
                self.pours.insert(fact.pour, pour);
            }
            Fact::PotWeighed(fact) => {
                self.with_pour(fact.pour, |pour| pour.tare = Some(fact.weight.clone()));
            }
            Fact::IngredientWeighed(fact) => {
                self.with_pour(fact.pour, |pour| {
                    let nth = fact.portion as usize;
                    if let Some(aimed) = pour.aimed.get_mut(nth) {
                        *aimed = pour.targets.get(nth).cloned();
                    }
                });
                self.weigh(day, fact.pour, fact.portion, &fact.weight);
            }
            Fact::IngredientAdded(fact) => {
                let before = self
                    .pours
                    .get(&fact.pour)
                    .and_then(|pour| pour.weighed.get(fact.portion as usize)?.clone());
                if let Some(before) = before {
                    self.weigh(
                        day,
                        fact.pour,
                        fact.portion,
                        &together(&before, &fact.added),
                    );
                }
            }
            Fact::IngredientCorrected(fact) => {
                self.weigh(day, fact.pour, fact.portion, &fact.weight);
            }
            Fact::PourRescaled(fact) => self.with_pour(fact.pour, |pour| {
                pour.targets.clone_from(&fact.targets);
                pour.slips.push(fact.choice);
                pour.aim_higher();
            }),
            Fact::Poured(fact) => self.with_pour(fact.pour, |pour| {
                pour.poured = Some(day);
                pour.wax_at.clone_from(&fact.wax_at);
                pour.room_at.clone_from(&fact.room_at);
            }),
            Fact::UnitsCounted(fact) => {
                self.with_pour(fact.pour, |pour| pour.count = Some(fact.count.clone()));
            }
            Fact::CountCorrected(fact) => {
                self.with_pour(fact.pour, |pour| pour.count = Some(fact.count.clone()));
            }
            Fact::Demoulded(fact) => self.with_pour(fact.pour, |pour| pour.demoulded = true),
            Fact::UnitWeighed(fact) => self.with_pour(fact.pour, |pour| {
                pour.unit_weights.push((fact.weight.clone(), false));
            }),
            Fact::UnitWeightStruck(fact) => self.with_pour(fact.pour, |pour| {
                if let Some((_, struck)) = pour.unit_weights.get_mut(fact.nth as usize) {
                    *struck = true;
                }
            }),
            Fact::UnitWeightKept(fact) => self.with_pour(fact.pour, |pour| {
                pour.weights_kept.insert(fact.nth, fact.reason.clone());
            }),
            Fact::PourFinished(fact) => {
                let known = Known(self.facts);
                self.with_pour(fact.pour, |pour| {
                    pour.finished = Some(Lot {
                        day,
                        good: fact.good,
                        seconds: fact.seconds,
                        rejects: fact.rejects,
                        minutes: fact.minutes.clone(),
                        known,
                    });
                });
                self.open_pours.retain(|pour| *pour != fact.pour);
                self.use_packing(
                    day,
                    fact.pour,
                    i64::from(fact.good) + i64::from(fact.seconds),
                );
                if self.pours.contains_key(&fact.pour) {
                    let made = [fact.good, fact.seconds];
                    self.goods.made(day, fact.pour, [0, 0], made);
                }
            }
            Fact::LotCorrected(fact) => {
                let known = Known(self.facts);
                let units = |lot: &Lot| i64::from(lot.good) + i64::from(lot.seconds);
                let mut packed = 0;
                let mut made = [0, 0];
                self.with_pour(fact.pour, |pour| {
                    pour.count = Some(fact.count.clone());
                    let before = pour.finished.as_ref();
                    made = before.map_or([0, 0], |lot| [lot.good, lot.seconds]);
                    let lot = Lot {
                        day: before.map_or(day, |lot| lot.day),
                        good: fact.good,
                        seconds: fact.seconds,
                        rejects: fact.rejects,
                        minutes: fact.minutes.clone(),
                        known: before.map_or(known, |lot| lot.known),
                    };
                    packed = units(&lot) - before.map_or(0, units);
                    pour.finished = Some(lot);
                });
                self.use_packing(day, fact.pour, packed);
                if self.pours.contains_key(&fact.pour) {
                    let now = [fact.good, fact.seconds];
                    self.goods.made(day, fact.pour, made, now);
                }
            }
            Fact::PourAbandoned(fact) => {
                self.with_pour(fact.pour, |pour| pour.abandoned = Some(fact.reason.clone()));
                self.open_pours.retain(|pour| *pour != fact.pour);
            }
            Fact::LotHeld(fact) => {
                self.with_pour(fact.pour, |pour| pour.held = Some(fact.reason.clone()));
            }
            Fact::LotReleased(fact) => self.with_pour(fact.pour, |pour| pour.held = None),
            Fact::SheetFiled(fact) => {
                if self.supplies.contains_key(&fact.supply) {
                    let sheets = self.sheets.entry(fact.supply).or_default();
                    sheets.push(Sheet {
                        number: u32::try_from(sheets.len() + 1).unwrap_or(u32::MAX),
                        filed: day,
                        supplier: fact.supplier.clone(),
                        dated: fact.dated,
                        version: fact.version.clone(),
                        lines: fact.lines.clone(),
                        rest: fact.rest,
                    });
                }
            }
            Fact::SheetLineConfirmed(fact) => {
                let sheets = self.sheets.get_mut(&fact.supply);
                let sheet =
                    sheets.and_then(|sheets| sheets.iter_mut().find(|s| s.number == fact.sheet));
                if let Some(line) = sheet.and_then(|sheet| sheet.lines.get_mut(fact.line as usize))
                {
                    line.confirmed = true;
                }
            }
            Fact::CertificateFiled(fact) => {
                if self.supplies.contains_key(&fact.supply) {
                    self.certificates.insert(
                        fact.supply,
                        Certificate {
                            category: fact.category.clone(),
                            maximum: fact.maximum,
                            dated: fact.dated,
                            filed: day,
                        },
                    );
                }
            }
            Fact::LabelSettled(fact) => self.label_settings = Some(fact.settings.clone()),
            Fact::LabelMarkedReady(fact) => {
                if self.products.contains_key(&fact.product) {
                    let label = Label {
                        day,
                        ground: fact.ground.clone(),
                        elements: fact.elements.clone(),
                        identifier: fact.identifier.clone(),
                        settings: self.label_settings.clone(),
                    };
                    let key = (fact.product, HOME);
                    self.labels.entry(key).or_default().push(label);
                }
            }
            Fact::DestinationSettled(fact) => {
                let details = fact.details.clone();
                self.destinations.insert(fact.destination, details);
            }
            Fact::DestinationLabelMarkedReady(fact) => {
                let details = self.destinations.get(&fact.destination);
                if let Some(details) = details.filter(|_| self.products.contains_key(&fact.product))
                {
                    let label = Label {
                        day,
                        ground: fact.ground.clone(),
                        elements: fact.elements.clone(),
                        identifier: fact.identifier.clone(),
                        settings: Some(details.settings.clone()),
                    };
                    let key = (fact.product, fact.destination);
                    self.labels.entry(key).or_default().push(label);
                }
            }
            Fact::LabelsPrinted(fact) => {
                let printed = Printed {
                    day,
                    lot: fact.lot,
                    destination: fact.destination,
                    version: fact.version,
                    part: fact.part,
                    count: fact.count,
                };
                self.printed.entry(fact.product).or_default().push(printed);
            }
            Fact::WeightDeclared(fact) => {
                if self.products.contains_key(&fact.product) {
                    let declared = DeclaredWeight {
                        rule: fact.rule,
                        declared: fact.declared.clone(),
                        ground: fact.ground.clone(),
                        reason: fact.reason.clone(),
                        since: day,
                    };
                    let of_good = self.declared.entry(fact.product).or_default();
                    of_good.insert(fact.rule, declared);
                }
            }
            Fact::WeightWithdrawn(fact) => {
                if let Some(of_good) = self.declared.get_mut(&fact.product) {
                    of_good.remove(&fact.rule);
                }
            }
            Fact::TareWeighed(fact) => {
                let weights = fact.weights.clone();
                self.tares.insert(fact.of, WeighedTares { day, weights });
            }
            Fact::WrappedUnitsWeighed(fact) => {
                self.with_pour(fact.pour, |pour| pour.wrapped.clone_from(&fact.weights));
            }
            Fact::MakerDetailsSettled(fact) => self.maker = Some(fact.maker.clone()),
            Fact::ShelfLifeSet(fact) => {
                match fact.months {
                    Some(months) => self.shelf_lives.insert(fact.product, months),
                    None => self.shelf_lives.remove(&fact.product),
                };
            }
            Fact::GtinAssigned(fact) => {
                match &fact.gtin {
                    Some(gtin) => self.gtins.insert(fact.product, gtin.clone()),
                    None => self.gtins.remove(&fact.product),
                };
            }
            Fact::UnitShapeSet(fact) => {
                self.shapes.insert(fact.product, fact.shape.clone());
            }
            Fact::WrapChosen(fact) => {
                self.wraps.insert(fact.product, fact.wrap.clone());
            }
            Fact::LabelStockAdded(fact) => {
                let stock = LabelStock {
                    id: fact.stock,
                    name: fact.name.clone(),
                    geometry: fact.geometry.clone(),
                    since: day,
                    retired: None,
                };
                self.label_stocks.insert(fact.stock, stock);
            }
            Fact::LabelStockRetired(fact) => {
                if let Some(stock) = self.label_stocks.get_mut(&fact.stock) {
                    stock.retired = Some(day);
                }
            }
            Fact::PrinterOffsetMeasured(fact) => {
                let measured = PrinterMeasured {
                    name: fact.printer.clone(),
                    day,
                    measured: fact.measured.clone(),
                };
                self.printers.insert(fact.printer.clone(), measured);
            }
            Fact::SupplyOpened(fact) => {
                self.note(day, fact.supply, ShelfChange::Opened(fact.lot));
            }
            Fact::LotsDrawn(fact) => {
                let drawn = ShelfChange::Drawn(fact.pour, fact.lots.clone());
                self.note(day, fact.supply, drawn);
                self.put_counts_right(fact.supply);
            }
            Fact::SupplyWasted(fact) => {
                let amount = fact.amount.smallest();
                if let Some(supply) = self.supplies.get_mut(&fact.supply) {
                    supply.stock.lost = supply.stock.lost.saturating_add(amount);
                    self.note(day, fact.supply, ShelfChange::Wasted(fact.lot, amount));
                }
            }
            Fact::SupplyCounted(fact) => self.supply_counted(day, fact),
            Fact::SupplyDateNoted(fact) => {
                match fact.best_before {
                    Some(date) => self.supply_dates.insert(fact.lot, date),
                    None => self.supply_dates.remove(&fact.lot),
                };
            }
            Fact::ChannelSettled(fact) => self.trade.channel_settled(fact),
            Fact::ChannelPriceSet(fact) => self.trade.channel_price_set(fact),
            Fact::BundlesSet(fact) => self.trade.bundles_set(fact),
            Fact::MarketDaySettled(fact) => self.trade.market_day_settled(fact),
            Fact::GoodsTaken(fact) => {
                self.goods.taken(day, fact);
                self.trade.on_market_day(fact.market_day, |day| {
                    day.take(&fact.units);
                    day.put_back(&fact.back);
                });
            }
            Fact::MarketDayCounted(fact) => {
                let id = fact.market_day;
                if let Some(before) = self.trade.market_day(id).and_then(|it| it.counted.as_ref()) {
                    self.goods.uncounted(day, id, before);
                }
                self.goods.counted_back(day, fact);
                let counted = CountedBack {
                    day,
                    back: fact.back.clone(),
                    given: fact.given.clone(),
                    spoilt: fact.spoilt.clone(),
                    missing: fact.missing.clone(),
                };
                self.trade
                    .on_market_day(fact.market_day, |day| day.counted = Some(counted));
            }
            Fact::TillCounted(fact) => {
                let till = Till {
                    float: fact.float,
                    counted: fact.counted,
                    cards: fact.cards,
                    card_payments: fact.card_payments,
                };
                self.trade
                    .on_market_day(fact.market_day, |day| day.till = Some(till));
            }
            Fact::MarketDayNoted(fact) => self.trade.on_market_day(fact.market_day, |day| {
                day.weather.clone_from(&fact.weather);
                day.footfall = fact.footfall;
                day.note.clone_from(&fact.note);
                day.float = fact.float;
            }),
            Fact::Sold(fact) => {
                if self.trade.sold(day, fact) {
                    self.goods.sold(day, fact);
                }
            }
            Fact::SaleVoided(fact) => {
                if let Some(sale) = self.trade.sale_mut(fact.sale)
                    && sale.voided.is_none()
                {
                    let (place, left) = (sale.place, sale.left());
                    sale.voided = Some(fact.reason.clone());
                    self.goods.unsold(day, fact.sale, place, &left);
                }
            }
            Fact::GoodsReturned(fact) => {
                if self.trade.returned(day, fact) {
                    self.goods.returned(day, fact);
                }
            }
            Fact::GoodsSetAside(fact) => self.goods.set_aside(day, fact),
            Fact::GoodsCounted(fact) => self.goods.counted(day, fact),
            Fact::BuyerSettled(fact) => self.trade.buyer_settled(day, fact),
            Fact::BuyerForgotten(fact) => {
                if let Some(buyer) = self.trade.buyers.get_mut(&fact.buyer) {
                    buyer.forgotten = true;
                }
            }
            Fact::OrderTaken(fact) => self.trade.order_taken(day, fact),
            Fact::OrderConfirmed(fact) => self.trade.on_order(fact.order, |order| {
                order.stage = order.stage.max(OrderStage::Confirmed);
            }),
            Fact::OrderPicked(fact) => {
                self.goods.picked(day, fact.order, &fact.units);
                self.trade.on_order(fact.order, |order| {
                    order.stage = order.stage.max(OrderStage::Picked);
                    order.picked.extend(&fact.units);
                });
            }
            Fact::OrderPacked(fact) => self.trade.on_order(fact.order, |order| {
                order.stage = order.stage.max(OrderStage::Packed);
                order.parcels = Some(fact.parcels);
                order.weight.clone_from(&fact.weight);
            }),
            Fact::OrderSent(fact) => {
                let mut lent_to = None;
                self.trade.on_order(fact.order, |order| {
                    order.stage = order.stage.max(OrderStage::Sent);
                    order.sent = Some(day);
                    order.postage = fact.postage;
                    lent_to = order.on_return.then_some(order.buyer);
                });
                // What is sold outright left with the sale that goes with this.
                if let Some(buyer) = lent_to {
                    self.goods.unpack(day, fact.order, Place::Shop(buyer));
                }
            }
            Fact::OrderCancelled(fact) => {
                self.goods.unpack(day, fact.order, Place::Rack);
                self.trade.on_order(fact.order, |order| {
                    order.stage = OrderStage::Cancelled;
                    order.cancelled = Some(fact.reason.clone());
                });
            }
            Fact::ShopCounted(fact) => self.goods.shop_counted(day, fact),
            Fact::Invoiced(fact) => self.trade.invoiced(day, fact),
            Fact::Credited(fact) => self.trade.credited(day, fact),
            Fact::InvoicePaid(fact) => self.trade.invoice_paid(day, fact),
            Fact::ExpensePaid(fact) => self.trade.expenses.push((day, fact.clone())),
            Fact::PaidOut(fact) => self.trade.paid_out(day, fact),
            Fact::PayoutMatched(fact) => self.trade.payout_matched(fact),
            Fact::BooksSettled(fact) => self.trade.books = Some(fact.settings.clone()),
            Fact::FileLayoutKept(fact) => {
                let layout = fact.layout.clone();
                self.trade.layouts.insert(fact.name.clone(), layout);
            }
            Fact::NameMatched(fact) => {
                let key = (fact.layout.clone(), fact.name.clone());
                let meant = (fact.meant, fact.each.clone());
                self.trade.names.insert(key, meant);
            }
            Fact::FileRead(fact) => self.trade.file_read(day, fact),
            Fact::SaleRead(fact) => {
                let rows = fact.rows.iter().cloned();
                let of = RowOf::Sale(fact.sale);
                self.trade.rows.extend(rows.map(|row| (row, of)));
            }
            Fact::DeliveryRead(fact) => {
                let of = RowOf::Delivery(fact.receipt);
                self.trade.rows.insert(fact.row.clone(), of);
            }
            Fact::RecallBegun(fact) => {
                let moved = self.goods.movements().len();
                self.trade.recall_begun(day, fact, moved);
            }
            Fact::RecallAnswered(fact) => self.trade.on_recall(fact.recall, |recall| {
                let answer = (day, fact.back, fact.note.clone());
                recall.answers.insert(fact.told, answer);
            }),
            Fact::RecallListed(fact) => self.trade.on_recall(fact.recall, |recall| {
                recall.listed = recall.listed.or(Some(fact.seconds));
            }),
            Fact::RecallEnded(fact) => {
                let recall = self.trade.recall(fact.recall);
                let at_end = recall.and_then(|recall| AtEnd::of(self, recall, day));
                self.trade.on_recall(fact.recall, |recall| {
                    recall.ended = Some(fact.clone());
                    recall.at_end = at_end;
                });
            }
        }
    }

    /// What was counted is what there is; of a single lot, only what that lot
    /// was thought to hold can be put right, which the ledger of lots does.
    fn supply_counted(&mut self, day: Date, fact: &SupplyCounted) {
        let counted = fact.counted.smallest();
        let thought = match fact.lot {
            None => self.supplies.get(&fact.supply).map(|it| it.stock.on_hand()),
            Some(lot) => lots::left_in(self, fact.supply, lot),
        };
        if let (Some(supply), Some(thought)) = (self.supplies.get_mut(&fact.supply), thought) {
            let gone = thought.saturating_sub(counted);
            supply.stock.lost = supply.stock.lost.saturating_add(gone);
            self.note(day, fact.supply, ShelfChange::Counted(fact.lot, counted));
        }
    }

    /// What was said afterwards, of the lots that a pour drew on or of what a
    /// delivery brought, changes what was thought to be there when it was
    /// counted, and with it what that count explained.
    fn put_counts_right(&mut self, id: SupplyId) {
        let counted = |event: &ShelfEvent| matches!(event.what, ShelfChange::Counted(..));
        if !self.shelf_events(id).iter().any(counted) {
            return;
        }
        let there = lots::lots_of(self, id).on_hand();
        if let Some(supply) = self.supplies.get_mut(&id) {
            let stock = &mut supply.stock;
            let gone = stock.on_hand().saturating_sub(there);
            stock.lost = stock.lost.saturating_add(gone);
        }
    }

    fn with_pour(&mut self, id: PourId, change: impl FnOnce(&mut Pour)) {
        if let Some(pour) = self.pours.get_mut(&id) {
            change(pour);
        }
    }

    /// Puts a weight into the pot and takes it off the shelf, giving back what
    /// an earlier weight of the same portion had taken.
    fn weigh(&mut self, day: Date, id: PourId, portion: u32, weight: &Typed<Mass>) {
        let Some(pour) = self.pours.get_mut(&id) else {
            return;
        };
        let at = portion as usize;
        let (Some(slot), Some(planned)) = (pour.weighed.get_mut(at), pour.portions.get(at)) else {
            return;
        };
        let before = slot
            .as_ref()
            .map_or(0, |weight| weight.value().micrograms());
        *slot = Some(weight.clone());
        if let Some(supply) = self.supplies.get_mut(&planned.supply) {
            let more = weight.value().micrograms().saturating_sub(before);
            supply.stock.used = supply.stock.used.saturating_add(more);
            let supply = supply.id;
            self.note(day, supply, ShelfChange::Used(id, more));
        }
    }

    /// Writes down what happened to a supply.
    fn note(&mut self, day: Date, supply: SupplyId, what: ShelfChange) {
        let known = Known(self.facts);
        self.shelf
            .entry(supply)
            .or_default()
            .push(ShelfEvent { known, day, what });
    }

    /// Takes what so many units are packed with off the shelf; fewer than none
    /// puts it back.
    fn use_packing(&mut self, day: Date, id: PourId, units: i64) {
        let Some(product) = self.pours.get(&id).and_then(|pour| pour.product) else {
            return;
        };
        let Some(product) = self.products.get(&product) else {
            return;
        };
        for (supply, each) in product.packing.clone() {
            if let Some(known) = self.supplies.get_mut(&supply) {
                let used = i64::from(each).saturating_mul(units);
                known.stock.used = known.stock.used.saturating_add(used);
                self.note(day, supply, ShelfChange::Used(id, used));
            }
        }
    }

    fn stock(&mut self, receipt: &Receipt, sign: i64) {
        for (line, landed) in receipt.lines.iter().zip(&receipt.landed) {
            let Some(supply) = self.supplies.get_mut(&line.supply) else {
                continue;
            };
            let amount = match &line.amount {
                Amount::Weight(weight) => weight.value().micrograms(),
                Amount::Count(count) => i64::from(*count),
            };
            let stock = &mut supply.stock;
            let cost = landed.cost().times(Decimal::from(sign));
            // What came in is on hand in whatever money it was paid; only the
            // average cannot hold two currencies.
            stock.received = stock.received.saturating_add(amount.saturating_mul(sign));
            match stock
                .landed
                .unwrap_or_else(|| Cost::zero(landed.currency()))
                .plus(cost)
            {
                Ok(sum) => stock.landed = Some(sum),
                Err(_) => stock.foreign = stock.foreign.saturating_add_signed(sign.signum() as i32),
            }
        }
    }
}

/// Questions to the state.
impl Workshop {
    /// The ledger of goods.
    pub const fn goods(&self) -> &Goods {
        &self.goods
    }

    /// Everything about selling.
    pub const fn trade(&self) -> &Trade {
        &self.trade
    }

    /// What happened to a supply, in the order it was written down.
    pub fn shelf_events(&self, supply: SupplyId) -> &[ShelfEvent] {
        self.shelf.get(&supply).map_or(&[], Vec::as_slice)
    }

    /// Best before, for a supply lot that carries a date.
    pub fn supply_date(&self, lot: SupplyLot) -> Option<Date> {
        self.supply_dates.get(&lot).copied()
    }

    /// Every supply lot that carries a date, with its date.
    pub fn supply_dates(&self) -> impl Iterator<Item = (SupplyLot, Date)> + '_ {
        self.supply_dates.iter().map(|(lot, date)| (*lot, *date))
    }

    /// The settings; a new workshop has none.
    pub const fn settings(&self) -> Option<&Settings> {
        self.settings.as_ref()
    }

    /// The units to show figures in.
    pub fn system(&self) -> System {
        self.settings
            .as_ref()
            .map_or_else(System::default, |settings| settings.system)
    }

    /// The workshop's currency.
    pub fn currency(&self) -> Option<Currency> {
        self.settings.as_ref().map(|settings| settings.currency)
    }

    /// How the workshop's typed texts are read.
    pub fn reading(&self) -> Reading {
        self.settings
            .as_ref()
            .map_or(Reading::PLAIN, |settings| Reading {
                decimal_mark: settings.decimal_mark,
                customary: match settings.system {
                    System::Metric => None,
                    System::Us => Some(measure::Customary::Us),
                    System::Imperial => Some(measure::Customary::Uk),
                },
            })
    }

    /// What an hour cost at a point of the journal: the latest figure set by
    /// then, or else the first one set afterwards; wage and overhead apart.
    /// Figures from before the workshop settled on its currency do not count.
    pub fn hourly_at(&self, known: Known) -> Hourly {
        let own = self.currency();
        let pick = |figure: fn(&Hourly) -> Option<Money>| {
            let set = || {
                self.hourly
                    .iter()
                    .filter_map(|(at, hourly)| Some((*at, figure(hourly)?)))
                    .filter(|(_, money)| own.is_none_or(|own| own == money.currency()))
            };
            let by_then = set().take_while(|(at, _)| *at <= known).last();
            by_then.or_else(|| set().next()).map(|(_, money)| money)
        };
        Hourly {
            wage: pick(|hourly| hourly.wage),
            overhead: pick(|hourly| hourly.overhead),
        }
    }

    /// What the deliveries of a supply had cost landed, and what they had
    /// brought in smallest units, at a point of the journal; the first delivery
    /// afterwards where there was none by then. Corrections count, whenever
    /// they were made. None without any delivery, or in mixed currencies.
    pub fn landed_at(&self, supply: SupplyId, known: Known) -> Option<(Cost, i64)> {
        let deliveries = self.deliveries.get(&supply)?;
        let by_then = deliveries.iter().take_while(|(at, _)| *at <= known).count();
        let mut sum: Option<(Cost, i64)> = None;
        for (_, receipt) in deliveries.iter().take(by_then.max(1)) {
            let receipt = self.receipts.get(receipt)?;
            let lines = receipt.lines.iter().zip(&receipt.landed);
            for (line, landed) in lines.filter(|(line, _)| line.supply == supply) {
                let (cost, received) = sum.unwrap_or((Cost::zero(landed.currency()), 0));
                let amount = received.saturating_add(line.amount.smallest());
                sum = Some((cost.plus(landed.cost()).ok()?, amount));
            }
        }
        sum.filter(|(_, received)| *received > 0)
    }

    /// The currency the workshop's money is in: the one set, or else that of
    /// its first delivery.
    pub fn money_kept_in(&self) -> Option<Currency> {
        let first = || {
            self.receipts
                .values()
                .flat_map(|receipt| &receipt.lines)
                .next()
        };
        self.currency()
            .or_else(|| first().map(|line| line.paid.currency()))
    }

    /// Whether any money is written down, so that its currency is settled.
    pub fn has_money(&self) -> bool {
        !self.receipts.is_empty()
            || self
                .products
                .values()
                .any(|product| product.prices.is_some())
    }

    /// How many facts have been folded.
    pub const fn facts(&self) -> u64 {
        self.facts
    }

    /// The latest day any fact concerns.
    pub const fn last_day(&self) -> Option<Date> {
        self.last_day
    }

    /// A supply.
    pub fn supply(&self, id: SupplyId) -> Option<&Supply> {
        self.supplies.get(&id)
    }

    /// Every supply, in the order they were entered.
    pub fn supplies(&self) -> impl Iterator<Item = &Supply> {
        self.supplies.values()
    }

    /// The supply of that kind called `name`, letter case apart.
    pub fn supply_named(&self, kind: SupplyKind, name: &str) -> Option<&Supply> {
        let wanted = name.trim().to_lowercase();
        self.supplies
            .values()
            .find(|supply| supply.kind == kind && supply.name.to_lowercase() == wanted)
    }

    /// The sheet of a supply in force: the one filed last.
    pub fn sheet(&self, supply: SupplyId) -> Option<&Sheet> {
        self.sheets.get(&supply)?.last()
    }

    /// Every sheet filed of a supply, oldest first.
    pub fn sheets(&self, supply: SupplyId) -> &[Sheet] {
        self.sheets.get(&supply).map_or(&[], Vec::as_slice)
    }

    /// The certificate of an oil in force: the one filed last.
    pub fn certificate(&self, supply: SupplyId) -> Option<&Certificate> {
        self.certificates.get(&supply)
    }

    /// Where labels are read, and who stands on them; none before it is set.
    pub const fn label_settings(&self) -> Option<&LabelSettings> {
        self.label_settings.as_ref()
    }

    /// Where goods go beside where the label settings say, in the order they
    /// were settled.
    pub fn destinations(&self) -> impl Iterator<Item = (DestinationId, &Destination)> {
        self.destinations.iter().map(|(id, details)| (*id, details))
    }

    /// A destination; none for the first, which the label settings describe.
    pub fn destination(&self, id: DestinationId) -> Option<&Destination> {
        self.destinations.get(&id)
    }

    /// Where labels of a destination are read, and who stands on them.
    pub fn settings_for(&self, id: DestinationId) -> Option<&LabelSettings> {
        if id == HOME {
            self.label_settings()
        } else {
            self.destinations.get(&id).map(|details| &details.settings)
        }
    }

    /// The identifier the next destination gets.
    pub fn next_destination(&self) -> DestinationId {
        DestinationId(next(self.destinations.keys().next_back().map(|id| id.0)))
    }

    /// The label of a good that was marked ready last, for where the label
    /// settings say.
    pub fn label(&self, product: ProductId) -> Option<&Label> {
        self.label_for(product, HOME)
    }

    /// The label of a good for a destination that was marked ready last.
    pub fn label_for(&self, product: ProductId, destination: DestinationId) -> Option<&Label> {
        self.labels.get(&(product, destination))?.last()
    }

    /// How many times a good's label was marked ready for a destination.
    pub fn label_version(&self, product: ProductId, destination: DestinationId) -> u32 {
        let labels = self.labels.get(&(product, destination));
        labels.map_or(0, |labels| u32::try_from(labels.len()).unwrap_or(u32::MAX))
    }

    /// Every label that was ever marked ready, with its good.
    pub fn labels(&self) -> impl Iterator<Item = (ProductId, &Label)> {
        self.labels
            .iter()
            .flat_map(|((product, _), labels)| labels.iter().map(|label| (*product, label)))
    }

    /// The labels of a good that were printed, oldest first.
    pub fn printed(&self, product: ProductId) -> &[Printed] {
        self.printed.get(&product).map_or(&[], Vec::as_slice)
    }

    /// What a good's label says it weighs, under each body of rules.
    pub fn declared_weights(&self, product: ProductId) -> impl Iterator<Item = &DeclaredWeight> {
        self.declared
            .get(&product)
            .into_iter()
            .flat_map(BTreeMap::values)
    }

    /// What a good's label says it weighs under one body of rules.
    pub fn declared_weight(&self, product: ProductId, rule: Rule) -> Option<&DeclaredWeight> {
        self.declared.get(&product)?.get(&rule)
    }

    /// Wrappings weighed one by one, the last time.
    pub fn tares(&self, of: TareOf) -> Option<&WeighedTares> {
        self.tares.get(&of)
    }

    /// The maker as goods and papers name them; none before it is set.
    pub const fn maker(&self) -> Option<&MakerDetails> {
        self.maker.as_ref()
    }

    /// The shape of a good's unit; none before it was measured.
    pub fn shape(&self, product: ProductId) -> Option<&ShapeGiven> {
        self.shapes.get(&product)
    }

    /// How a good is wrapped, where that is settled.
    pub fn wrap(&self, product: ProductId) -> Option<&WrapChoice> {
        self.wraps.get(&product)
    }

    /// Every kind of label sheet, those used up too, as they came to hand.
    pub fn label_stocks(&self) -> impl Iterator<Item = &LabelStock> {
        self.label_stocks.values()
    }

    /// A kind of label sheet.
    pub fn label_stock(&self, id: StockId) -> Option<&LabelStock> {
        self.label_stocks.get(&id)
    }

    /// The printers that were measured, by name.
    pub fn printers(&self) -> impl Iterator<Item = &PrinterMeasured> {
        self.printers.values()
    }

    /// What was measured of a printer.
    pub fn printer(&self, name: &str) -> Option<&PrinterMeasured> {
        self.printers.get(name)
    }

    /// The months from pouring that a good keeps its scent, where that is
    /// settled.
    pub fn shelf_life(&self, product: ProductId) -> Option<u16> {
        self.shelf_lives.get(&product).copied()
    }

    /// The last day a pour of a good keeps its scent: the pouring day plus the
    /// good's months.
    pub fn best_scent_by(&self, pour: &Pour) -> Option<Date> {
        let months = self.shelf_life(pour.product?)?;
        pour.poured?
            .checked_add(jiff::Span::new().months(i64::from(months)))
            .ok()
    }

    /// The trade item number of a good.
    pub fn gtin(&self, product: ProductId) -> Option<&str> {
        self.gtins.get(&product).map(String::as_str)
    }

    /// The good that has a trade item number.
    pub fn good_of_gtin(&self, gtin: &str) -> Option<ProductId> {
        let mut known = self.gtins.iter();
        known
            .find(|(_, own)| *own == gtin)
            .map(|(product, _)| *product)
    }

    /// A delivery.
    pub fn receipt(&self, id: ReceiptId) -> Option<&Receipt> {
        self.receipts.get(&id)
    }

    /// Every delivery, oldest first.
    pub fn receipts(&self) -> impl DoubleEndedIterator<Item = &Receipt> {
        self.receipts.values()
    }

    /// A mould.
    pub fn mould(&self, id: MouldId) -> Option<&Mould> {
        self.moulds.get(&id)
    }

    /// Every mould, in the order they were entered.
    pub fn moulds(&self) -> impl Iterator<Item = &Mould> {
        self.moulds.values()
    }

    /// A formula.
    pub fn formula(&self, id: FormulaId) -> Option<&Formula> {
        self.formulas.get(&id)
    }

    /// Every formula, in the order they were entered.
    pub fn formulas(&self) -> impl Iterator<Item = &Formula> {
        self.formulas.values()
    }

    /// A good.
    pub fn product(&self, id: ProductId) -> Option<&Product> {
        self.products.get(&id)
    }

    /// Every good, in the order they were defined.
    pub fn products(&self) -> impl Iterator<Item = &Product> {
        self.products.values()
    }

    /// A pour.
    pub fn pour(&self, id: PourId) -> Option<&Pour> {
        self.pours.get(&id)
    }

    /// Every pour, oldest first.
    pub fn pours(&self) -> impl DoubleEndedIterator<Item = &Pour> {
        self.pours.values()
    }

    /// Pours begun before one, or all of them, latest first.
    pub fn pours_before(&self, before: Option<PourId>) -> impl Iterator<Item = &Pour> {
        let end = before.map_or(std::ops::Bound::Unbounded, std::ops::Bound::Excluded);
        self.pours
            .range((std::ops::Bound::Unbounded, end))
            .rev()
            .map(|(_, pour)| pour)
    }

    /// How many pours there have been.
    pub fn n_pours(&self) -> usize {
        self.pours.len()
    }

    /// Pours begun and not finished, oldest first.
    pub fn open_pours(&self) -> impl Iterator<Item = &Pour> {
        self.open_pours.iter().filter_map(|id| self.pours.get(id))
    }

    /// Pours into one mould, oldest first.
    pub fn pours_of_mould(&self, mould: MouldId) -> impl DoubleEndedIterator<Item = &Pour> {
        self.pours_of_mould
            .get(&mould)
            .into_iter()
            .flatten()
            .filter_map(|id| self.pours.get(id))
    }

    /// How many pours have been begun for one mould.
    pub fn n_pours_of_mould(&self, mould: MouldId) -> usize {
        self.pours_of_mould.get(&mould).map_or(0, Vec::len)
    }

    /// The recipe a pour was made by.
    pub fn recipe_of(&self, pour: &Pour) -> Option<&Recipe> {
        self.formulas.get(&pour.formula)?.at(pour.revision)
    }

    /// The day a poured lot is fit for sale: pouring day plus cure.
    pub fn ready_on(&self, pour: &Pour) -> Option<Date> {
        let cure = self.recipe_of(pour)?.cure_days;
        pour.poured?
            .checked_add(jiff::Span::new().days(i64::from(cure)))
            .ok()
    }

    /// Whether a finished lot may be sold on `day`; none before it is finished.
    pub fn verdict(&self, pour: &Pour, day: Date) -> Option<LotVerdict> {
        pour.finished.as_ref()?;
        if let Some(reason) = &pour.held {
            return Some(LotVerdict::Hold(reason.clone()));
        }
        let ready = self.ready_on(pour)?;
        Some(if day < ready {
            LotVerdict::Curing(ready)
        } else {
            LotVerdict::Ready(ready)
        })
    }

    /// The code of the next lot begun on `day`: year, month, day and a number.
    pub fn next_lot_code(&self, day: Date) -> String {
        let stem = format!(
            "{:02}{:02}{:02}",
            day.year().rem_euclid(100),
            day.month(),
            day.day()
        );
        // One more code than there are lots, so at least one is free.
        (1..=self.lot_codes.len() + 1)
            .map(|n| format!("{stem}-{n}"))
            .find(|code| !self.lot_codes.contains(code))
            .expect("there are fewer lots than codes tried")
    }

    /// The identifier the next supply gets. Identifiers count up without gaps
    /// and two writers cannot take the same one, because an append states the
    /// position it expects.
    pub fn next_supply(&self) -> SupplyId {
        SupplyId(next(self.supplies.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next delivery gets.
    pub fn next_receipt(&self) -> ReceiptId {
        ReceiptId(next(self.receipts.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next mould gets.
    pub fn next_mould(&self) -> MouldId {
        MouldId(next(self.moulds.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next formula gets.
    pub fn next_formula(&self) -> FormulaId {
        FormulaId(next(self.formulas.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next good gets.
    pub fn next_product(&self) -> ProductId {
        ProductId(next(self.products.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next pour gets.
    pub fn next_pour(&self) -> PourId {
        PourId(next(self.pours.keys().next_back().map(|id| id.0)))
    }
}

/// Two weights of one portion together, as finely as either was read.
fn together(one: &Typed<Mass>, other: &Typed<Mass>) -> Typed<Mass> {
    let places = one.places().unwrap_or(3).max(other.places().unwrap_or(3));
    (one.value() + other.value()).typed(one.unit(), places)
}

fn next(last: Option<u32>) -> u32 {
    last.map_or(1, |last| last.saturating_add(1))
}
