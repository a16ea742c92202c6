//! What can have happened in a workshop.
//!
//! Each fact is a struct of its own, named in the past tense, and is today
//! also the form in which it is stored: version 1 of every fact is the shape
//! you read here. When a shape has to change, its present form moves to a
//! frozen struct with `From` into the new one and [`Fact::read`] learns both;
//! the specimens under `tests/specimens/` keep every released version honest.

use ::label::sheet::{Calibration, SheetGeometry};
use ::label::unit::ShapeGiven;
use formula::FragranceLoad;
use jiff::civil::Date;
use measure::{
    Currency, Decimal, DecimalMark, Mass, Money, Ratio, System, Temperature, TimeSpan, Typed,
    Volume,
};
use serde::{Deserialize, Serialize};

pub use label::{
    Estimate, Identifier, LabelElements, LabelGround, LabelPart, LabelSettings, LabelText,
    LineBasis, Market, Rest, SheetLine, SpecificLimit, Supplemental, Way,
};

pub use destination::{Destination, HOME};
pub use pack::WrapChoice;
pub use trade::{
    BookSettings, Bundle, BuyerTerms, ChannelKind, ChannelTerms, Column, CostMethod, DayCosts,
    DayOrder, Days, ExpenseKind, FileLayout, Grade, Lost, Meant, OrderLine, Payment, Place,
    ReturnTo, RowKey, RowKind, SaleFrom, SaleLine, SalesTax, SupplyLot, Suspect, Told, Units,
    WasteWhy,
};
pub use weight::{MakerDetails, TareOf, WeightGround};

mod destination;
mod label;
mod pack;
mod trade;
mod weight;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub u32);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = std::num::ParseIntError;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                text.parse().map(Self)
            }
        }
    )* };
}

ids! {
    /// A thing bought: a wax, an oil, a wrap.
    SupplyId;
    /// One delivery.
    ReceiptId;
    /// A mould, or a vessel poured into and sold in.
    MouldId;
    /// A formula, across its revisions.
    FormulaId;
    /// A good: a formula in a mould or vessel, packed one way.
    ProductId;
    /// One making; its goods go under one lot code.
    PourId;
    /// Somewhere goods go under a label of its own; 0 is where the label
    /// settings say.
    DestinationId;
    /// A kind of label sheet on hand.
    StockId;
    /// A way goods are sold.
    ChannelId;
    /// A day at a market.
    MarketDayId;
    /// A sale: what one buyer took at once.
    SaleId;
    /// A shop or a person that buys.
    BuyerId;
    /// An order.
    OrderId;
    /// An invoice or a credit note; numbered without gaps.
    InvoiceId;
    /// Money that a channel or a bank paid out.
    PayoutId;
    /// A recall or a drill of one.
    RecallId;
}

/// What kind of thing a supply is; decides whether it is weighed or counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SupplyKind {
    /// Wax, bare.
    Wax,
    /// A solid addition that belongs to the blend, such as stearic acid.
    Additive,
    /// Fragrance oil.
    FragranceOil,
    /// Dye or mica.
    Dye,
    /// Wick.
    Wick,
    /// A jar, tin or clamshell that the goods are poured into and sold in.
    Vessel,
    /// Foil, film, bag or carton.
    Wrap,
    /// Labels and stickers.
    Label,
}

impl SupplyKind {
    /// Every kind, in the order of the shelf.
    pub const ALL: [Self; 8] = [
        Self::Wax,
        Self::Additive,
        Self::FragranceOil,
        Self::Dye,
        Self::Wick,
        Self::Vessel,
        Self::Wrap,
        Self::Label,
    ];

    /// Whether it is bought and used by weight; otherwise by count.
    pub const fn is_weighed(self) -> bool {
        matches!(
            self,
            Self::Wax | Self::Additive | Self::FragranceOil | Self::Dye
        )
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wax => "wax",
            Self::Additive => "additive",
            Self::FragranceOil => "fragrance oil",
            Self::Dye => "dye",
            Self::Wick => "wick",
            Self::Vessel => "vessel",
            Self::Wrap => "wrap",
            Self::Label => "label",
        }
    }
}

/// How much of a supply: by weight or by count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// Weighed.
    Weight(Typed<Mass>),
    /// Counted.
    Count(u32),
}

impl Amount {
    /// In smallest units: micrograms, or pieces.
    pub fn smallest(&self) -> i64 {
        match self {
            Self::Weight(weight) => weight.value().micrograms(),
            Self::Count(count) => i64::from(*count),
        }
    }
}

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Weight(weight) => weight.fmt(f),
            Self::Count(count) => count.fmt(f),
        }
    }
}

/// How the freight of a delivery is shared over its lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FreightSpread {
    /// By what each line cost.
    #[default]
    ByValue,
    /// By what each line weighs; lines that are counted take no share.
    ByWeight,
    /// By the room each line takes.
    ByVolume,
}

/// One line of a delivery.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReceiptLine {
    /// What came.
    pub supply: SupplyId,
    /// The supplier's own lot number; empty when there is none.
    pub supplier_lot: String,
    /// How much came.
    pub amount: Amount,
    /// What was paid for the line, freight apart.
    pub paid: Money,
    /// The room the line took in the delivery.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume: Option<Typed<Volume>>,
}

/// What goods look like when they leave the mould.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Format {
    /// Thin bar scored to break.
    SnapBar,
    /// Hinged clear pack that is mould and pack in one.
    Clamshell,
    /// Single cubes or shapes.
    Shapes,
    /// Wick candle made and used in its vessel.
    FilledCandle,
    /// Wick candle that stands by itself.
    FreeStandingCandle,
}

impl Format {
    /// Every format.
    pub const ALL: [Self; 5] = [
        Self::SnapBar,
        Self::Clamshell,
        Self::Shapes,
        Self::FilledCandle,
        Self::FreeStandingCandle,
    ];

    /// The word for one of them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::SnapBar => "snap bar",
            Self::Clamshell => "clamshell",
            Self::Shapes => "wax shape",
            Self::FilledCandle => "filled candle",
            Self::FreeStandingCandle => "free-standing candle",
        }
    }

    /// Whether it burns on a wick.
    pub const fn has_wick(self) -> bool {
        matches!(self, Self::FilledCandle | Self::FreeStandingCandle)
    }
}

/// A wax or additive of a blend, in parts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlendPart {
    /// Which supply.
    pub supply: SupplyId,
    /// Its parts; the blend is the sum of all.
    #[serde(with = "rust_decimal_text")]
    pub parts: Decimal,
}

/// Colour added to the melt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DyeDose {
    /// As a share of the wax.
    OfWax(Ratio),
    /// In drops for every pound of wax, as dye bottles put it.
    DropsPerPound(u32),
}

/// What goes in, and how it is handled: one revision of a formula.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Recipe {
    /// Waxes and additives.
    pub blend: Vec<BlendPart>,
    /// The fragrance oil; none for an unscented good.
    pub oil: Option<SupplyId>,
    /// How much oil, always with its base.
    pub load: FragranceLoad,
    /// The dye and its dose.
    pub dye: Option<(SupplyId, DyeDose)>,
    /// Wax temperature when the oil goes in.
    pub add_at: Option<Typed<Temperature>>,
    /// Wax temperature when it is poured.
    pub pour_at: Option<Typed<Temperature>>,
    /// Days between pouring and fit for sale.
    pub cure_days: u16,
    /// Density when set, in grams per millilitre, where it is known.
    #[serde(with = "optional_decimal_text", default)]
    pub set_density: Option<Decimal>,
}

/// One thing to weigh for a pour.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Portion {
    /// What to weigh.
    pub supply: SupplyId,
    /// How much, rounded to the scale.
    pub weight: Typed<Mass>,
}

/// A cavity that was filled only in part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartFill {
    /// It was weighed.
    Weighed(Typed<Mass>),
    /// Its share of a full one was judged by eye.
    Share(Ratio),
    /// There may have been one; nobody looked.
    Unknown,
    /// There was none.
    None,
}

/// What came out of a pour, counted before anything left the bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PourCount {
    /// Units filled to the line.
    pub full: u32,
    /// The last cavity, if it was not.
    pub part: PartFill,
    /// Melt poured back or left in the pitcher.
    pub left: Option<Typed<Mass>>,
    /// Melt added later to level sunken tops, over and above what was weighed in.
    pub topped_up: Option<Typed<Mass>>,
}

/// How a slip of the hand was met.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AfterSlip {
    /// Everything else was raised so that the formula holds.
    ScaleTheRest,
    /// The rest stayed as planned and the load came out different.
    KeepGoing,
}

/// How a workshop reads and shows its figures, and what its time costs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// What the workshop is called.
    pub name: String,
    /// Its units.
    pub system: System,
    /// Its currency.
    #[serde(with = "currency_code")]
    pub currency: Currency,
    /// Its decimal mark, for reading what is typed.
    #[serde(with = "mark_word")]
    pub decimal_mark: DecimalMark,
    /// The smallest step its scale shows.
    pub readability: Typed<Mass>,
    /// The share of a melt expected to stay behind, until pours say otherwise.
    pub expected_loss: Option<Ratio>,
    /// What the melter holds.
    pub melter: Option<Typed<Mass>>,
    /// What an hour of hands-on work costs.
    pub wage: Option<Money>,
    /// Rent, power, insurance and the like, for every hands-on hour.
    pub overhead_per_hour: Option<Money>,
}

macro_rules! facts {
    ($($(#[$doc:meta])* $name:ident $version:literal {
        $($(#[$fmeta:meta])* $field:ident: $type:ty,)*
    })*) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
            pub struct $name {
                $($(#[$fmeta])* pub $field: $type,)*
            }

            impl From<$name> for Fact {
                fn from(fact: $name) -> Self {
                    Self::$name(fact)
                }
            }
        )*

        /// Something that happened. Never edited: a correction is another fact.
        #[derive(Debug, Clone, PartialEq, Eq)]
        pub enum Fact {
            $($(#[$doc])* $name($name),)*
        }

        impl Fact {
            /// Every fact's name with the version written today.
            pub const NAMES: &'static [(&'static str, u16)] = &[$((stringify!($name), $version)),*];

            /// The name it is stored under.
            pub const fn name(&self) -> &'static str {
                match self { $(Self::$name(_) => stringify!($name)),* }
            }

            /// The version of its stored form.
            pub const fn version(&self) -> u16 {
                match self { $(Self::$name(_) => $version),* }
            }

            /// Its stored form as JSON.
            pub fn write(&self) -> String {
                match self { $(Self::$name(fact) => serde_json::to_string(fact)),* }
                    .expect("a fact has only text keys and finite numbers")
            }

            /// Reads a stored fact.
            ///
            /// # Errors
            ///
            /// [`UnreadableFact`] for a name or version this program does not
            /// know, or a payload that does not fit.
            pub fn read(name: &str, version: u16, payload: &str) -> Result<Self, UnreadableFact> {
                let unreadable = |why: String| UnreadableFact { name: name.to_owned(), version, why };
                match (name, version) {
                    $((stringify!($name), $version) => serde_json::from_str::<$name>(payload)
                        .map(Self::$name)
                        .map_err(|error| unreadable(error.to_string())),)*
                    _ => Err(unreadable("this program does not know it; it may be older than the journal".to_owned())),
                }
            }
        }
    };
}

facts! {
    /// The workshop's units, currency and habits were set.
    WorkshopSetUp 1 {
        /// All of them, as they stand from now on.
        settings: Settings,
    }
    /// A supply was entered in the list of things bought.
    SupplyDefined 1 {
        /// Which.
        supply: SupplyId,
        /// What kind of thing.
        kind: SupplyKind,
        /// What it is called.
        name: String,
        /// For a wax: the most oil its sheet allows, with its base.
        max_load: Option<FragranceLoad>,
        /// For an oil: the flash point on its sheet.
        flash_point: Option<Typed<Temperature>>,
    }
    /// What the sheet says of a supply was put right or completed.
    SupplyAmended 1 {
        /// Which.
        supply: SupplyId,
        /// What it is called.
        name: String,
        /// The most oil its sheet allows.
        max_load: Option<FragranceLoad>,
        /// The flash point on its sheet.
        flash_point: Option<Typed<Temperature>>,
    }
    /// A delivery came in.
    SupplyReceived 1 {
        /// Which delivery.
        receipt: ReceiptId,
        /// Who sent it; may be empty.
        supplier: String,
        /// What came.
        lines: Vec<ReceiptLine>,
        /// Freight and other charges on the whole.
        freight: Option<Money>,
        /// How the freight is shared.
        spread: FreightSpread,
        /// Duty on the whole; shared by what each line cost.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        duty: Option<Money>,
    }
    /// A line of a delivery had been written down wrongly.
    ReceiptCorrected 1 {
        /// Which delivery.
        receipt: ReceiptId,
        /// Which line, from 0.
        line: u32,
        /// How much really came.
        amount: Amount,
        /// What was really paid.
        paid: Money,
        /// What had gone wrong.
        reason: String,
    }
    /// A mould or vessel was entered.
    MouldDefined 1 {
        /// Which.
        mould: MouldId,
        /// What it is called: by size and count, not by a seller's name.
        name: String,
        /// What comes out of it.
        format: Format,
        /// How many at a time.
        cavities: u32,
        /// Water to the fill line of one cavity.
        line_volume: Option<Typed<Volume>>,
        /// The unit weight it is sold as; a name, not a measurement.
        nominal: Option<Typed<Mass>>,
    }
    /// A formula was written down for the first time.
    FormulaDefined 1 {
        /// Which.
        formula: FormulaId,
        /// The scent or the good it is for.
        name: String,
        /// What goes in; revision 1.
        recipe: Recipe,
    }
    /// A formula was changed; pours made before keep the revision they used.
    FormulaRevised 1 {
        /// Which.
        formula: FormulaId,
        /// The new revision: one more than the last.
        revision: u32,
        /// What goes in from now on.
        recipe: Recipe,
        /// Why.
        reason: String,
    }
    /// A good was defined.
    ProductDefined 1 {
        /// Which.
        product: ProductId,
        /// What it is sold as.
        name: String,
        /// What is in it.
        formula: FormulaId,
        /// What it is poured in.
        mould: MouldId,
        /// What each unit is packed with and how many of it: wick, wrap, label.
        packing: Vec<(SupplyId, u32)>,
    }
    /// A good was given its prices.
    PriceSet 1 {
        /// Which.
        product: ProductId,
        /// The least asked.
        low: Money,
        /// What is usually asked.
        typical: Money,
        /// The most asked.
        high: Money,
    }
    /// A pour was begun, with what to weigh for it.
    PourStarted 1 {
        /// Which.
        pour: PourId,
        /// The code its goods carry.
        lot: String,
        /// The formula.
        formula: FormulaId,
        /// The revision of the formula.
        revision: u32,
        /// The mould.
        mould: Option<MouldId>,
        /// The good it becomes.
        product: Option<ProductId>,
        /// How many units are hoped for.
        wanted: u32,
        /// What to weigh, in order.
        portions: Vec<Portion>,
    }
    /// The empty pot was weighed: it stays on the scale untared, so that every
    /// reading has it in.
    PotWeighed 1 {
        /// Which pour.
        pour: PourId,
        /// What the empty pot weighs.
        weight: Typed<Mass>,
    }
    /// An ingredient went into the pot, and the scale said this much.
    IngredientWeighed 1 {
        /// Which pour.
        pour: PourId,
        /// Which portion, from 0.
        portion: u32,
        /// What the scale said it added.
        weight: Typed<Mass>,
    }
    /// More of an ingredient went in, to keep the formula after a slip.
    IngredientAdded 1 {
        /// Which pour.
        pour: PourId,
        /// Which portion, from 0.
        portion: u32,
        /// What was added to what is in the pot.
        added: Typed<Mass>,
    }
    /// A weight had been written down wrongly.
    IngredientCorrected 1 {
        /// Which pour.
        pour: PourId,
        /// Which portion, from 0.
        portion: u32,
        /// What really went in.
        weight: Typed<Mass>,
        /// What had gone wrong.
        reason: String,
    }
    /// A slip of the hand was met, and these are the portions to aim at now.
    PourRescaled 1 {
        /// Which pour.
        pour: PourId,
        /// How it was met.
        choice: AfterSlip,
        /// What each portion is to weigh in all, in the order of the portions.
        targets: Vec<Typed<Mass>>,
    }
    /// The melt went into the mould.
    Poured 1 {
        /// Which pour.
        pour: PourId,
        /// Temperature of the wax as it was poured.
        wax_at: Option<Typed<Temperature>>,
        /// Temperature of the room.
        room_at: Option<Typed<Temperature>>,
    }
    /// What the pour filled was counted.
    UnitsCounted 1 {
        /// Which pour.
        pour: PourId,
        /// What came out.
        count: PourCount,
    }
    /// The count had been written down wrongly.
    CountCorrected 1 {
        /// Which pour.
        pour: PourId,
        /// What really came out.
        count: PourCount,
        /// What had gone wrong.
        reason: String,
    }
    /// The units were taken out of the mould.
    Demoulded 1 {
        /// Which pour.
        pour: PourId,
    }
    /// A finished unit was weighed by itself.
    UnitWeighed 1 {
        /// Which pour.
        pour: PourId,
        /// Its weight, bare.
        weight: Typed<Mass>,
    }
    /// A unit weight had been written down wrongly and counts no more.
    UnitWeightStruck 1 {
        /// Which pour.
        pour: PourId,
        /// Which of its weights, from 0, in the order they were written.
        nth: u32,
        /// What had gone wrong.
        reason: String,
    }
    /// A unit weight that did not fit what went in was questioned, and is
    /// right all the same.
    UnitWeightKept 1 {
        /// Which pour.
        pour: PourId,
        /// Which of its weights, from 0, in the order they were written.
        nth: u32,
        /// Why it is right.
        reason: String,
    }
    /// A pour was finished: its goods are on the rack.
    PourFinished 1 {
        /// Which pour.
        pour: PourId,
        /// Units fit for sale.
        good: u32,
        /// Units sound but not pretty, sold cheaper.
        seconds: u32,
        /// Units not sold.
        rejects: u32,
        /// Hands-on time, waiting apart.
        minutes: Option<Typed<TimeSpan>>,
    }
    /// What was written of a finished lot had been wrong; its count goes with it.
    LotCorrected 1 {
        /// Which pour.
        pour: PourId,
        /// What really came out.
        count: PourCount,
        /// Units fit for sale.
        good: u32,
        /// Units sound but not pretty, sold cheaper.
        seconds: u32,
        /// Units not sold.
        rejects: u32,
        /// Hands-on time, waiting apart.
        minutes: Option<Typed<TimeSpan>>,
        /// What had gone wrong.
        reason: String,
    }
    /// A pour was given up; what went into the pot stays used.
    PourAbandoned 1 {
        /// Which pour.
        pour: PourId,
        /// Why.
        reason: String,
    }
    /// A lot was stopped from sale.
    LotHeld 1 {
        /// Which.
        pour: PourId,
        /// Why.
        reason: String,
    }
    /// A held lot was freed.
    LotReleased 1 {
        /// Which.
        pour: PourId,
        /// Why.
        reason: String,
    }
    /// A supplier's safety data sheet was filed with what it says is in a
    /// supply; it stands in for any sheet of that supply filed before.
    SheetFiled 1 {
        /// Which supply.
        supply: SupplyId,
        /// Who wrote the sheet.
        supplier: String,
        /// The date on it.
        dated: Option<Date>,
        /// The version on it; may be empty.
        version: String,
        /// What its section 3 lists; empty where it lists nothing hazardous.
        lines: Vec<SheetLine>,
        /// What the lines leave open.
        rest: Rest,
    }
    /// A line of a sheet was compared with the supplier's own sheet and agrees.
    SheetLineConfirmed 1 {
        /// Which supply.
        supply: SupplyId,
        /// Which of its sheets, from 1, in the order they were filed.
        sheet: u32,
        /// Which line, from 0.
        line: u32,
    }
    /// A certificate that limits an oil's share in a kind of article was filed.
    CertificateFiled 1 {
        /// Which oil.
        supply: SupplyId,
        /// The category of article on it.
        category: String,
        /// The most of the oil in the finished article, as a share of total.
        maximum: Ratio,
        /// The date on it.
        dated: Option<Date>,
    }
    /// Where labels are read, in which languages, and who stands on them was set.
    LabelSettled 1 {
        /// All of it, as it stands from now on.
        settings: LabelSettings,
    }
    /// The warning label of a good was looked over and marked ready to print.
    LabelMarkedReady 1 {
        /// Which good.
        product: ProductId,
        /// What it rested on.
        ground: LabelGround,
        /// What it said.
        elements: LabelElements,
        /// Its unique formula identifier, where one is due.
        identifier: Option<Identifier>,
    }
    /// The weight on a good's label was settled under one body of rules; it
    /// stands in for any settled before under the same rules.
    WeightDeclared 1 {
        /// Which good.
        product: ProductId,
        /// Whose rules.
        rule: netweight::Rule,
        /// What the label says.
        declared: Typed<Mass>,
        /// What was known of its units.
        ground: WeightGround,
        /// Why it is more than any unit weighed; empty where it is not.
        reason: String,
    }
    /// No weight stands on a good's label any more under one body of rules.
    WeightWithdrawn 1 {
        /// Which good.
        product: ProductId,
        /// Whose rules.
        rule: netweight::Rule,
        /// Why.
        reason: String,
    }
    /// Wrappings were weighed one by one; they stand in for any of the same
    /// weighed before.
    TareWeighed 1 {
        /// Whose wrapping.
        of: TareOf,
        /// What each weighs.
        weights: Vec<Typed<Mass>>,
    }
    /// Finished units of a pour were weighed in their wrapping; they stand in
    /// for any of it weighed so before.
    WrappedUnitsWeighed 1 {
        /// Which pour.
        pour: PourId,
        /// What each weighs with its wrapping; none takes back what stood.
        weights: Vec<Typed<Mass>>,
    }
    /// The maker's name and address, as goods and papers give them, were set.
    MakerDetailsSettled 1 {
        /// All of it, as it stands from now on.
        maker: MakerDetails,
    }
    /// How long a good keeps its scent was settled.
    ShelfLifeSet 1 {
        /// Which good.
        product: ProductId,
        /// Months from the day of pouring; none where no date is printed.
        months: Option<u16>,
    }
    /// A good was given its trade item number.
    GtinAssigned 1 {
        /// Which good.
        product: ProductId,
        /// The digits with their check digit; none takes the number back.
        gtin: Option<String>,
    }
    /// What a label carries that goes somewhere else than where the label
    /// settings say was set.
    DestinationSettled 1 {
        /// Where.
        destination: DestinationId,
        /// All of it, as it stands from now on.
        details: Destination,
    }
    /// The warning label of a good for a destination was looked over and marked
    /// ready to print.
    DestinationLabelMarkedReady 1 {
        /// Which good.
        product: ProductId,
        /// Where it goes.
        destination: DestinationId,
        /// What it rested on.
        ground: LabelGround,
        /// What it said.
        elements: LabelElements,
        /// Its unique formula identifier, where one is due.
        identifier: Option<Identifier>,
    }
    /// Labels of a good were printed.
    LabelsPrinted 1 {
        /// Which good.
        product: ProductId,
        /// The lot whose code they carry; none where they carry no code.
        lot: Option<PourId>,
        /// Where they go.
        destination: DestinationId,
        /// How many times the label had been marked ready for there.
        version: u32,
        /// Which part of the label they are.
        part: LabelPart,
        /// How many.
        count: u32,
    }
    /// The shape of a good's unit was measured; it stands in for any measured
    /// before.
    UnitShapeSet 1 {
        /// Which good.
        product: ProductId,
        /// Its shape with its sizes.
        shape: ShapeGiven,
    }
    /// How a good is wrapped was settled.
    WrapChosen 1 {
        /// Which good.
        product: ProductId,
        /// How, from now on.
        wrap: WrapChoice,
    }
    /// A kind of label sheet came to hand.
    LabelStockAdded 1 {
        /// Which.
        stock: StockId,
        /// What it is called: by size and count, not by a seller's name.
        name: String,
        /// Its geometry.
        geometry: SheetGeometry,
    }
    /// A kind of label sheet is used up and not bought again.
    LabelStockRetired 1 {
        /// Which.
        stock: StockId,
    }
    /// A printer's calibration page was measured; it stands in for any of that
    /// printer measured before.
    PrinterOffsetMeasured 1 {
        /// What the printer is called, with its tray where that matters.
        printer: String,
        /// What was measured.
        measured: Calibration,
    }
    /// A supply lot was opened: what is used from now on comes out of it, until
    /// another is opened.
    SupplyOpened 1 {
        /// Which supply.
        supply: SupplyId,
        /// Which lot of it.
        lot: SupplyLot,
    }
    /// What went into a pour came out of other supply lots than those open.
    LotsDrawn 1 {
        /// Which pour.
        pour: PourId,
        /// Which supply.
        supply: SupplyId,
        /// Every lot it came out of.
        lots: Vec<SupplyLot>,
    }
    /// A supply was thrown away or used outside a pour.
    SupplyWasted 1 {
        /// Which supply.
        supply: SupplyId,
        /// Which lot of it; none for whichever is open.
        lot: Option<SupplyLot>,
        /// How much.
        amount: Amount,
        /// Why.
        why: WasteWhy,
        /// In words; may be empty.
        note: String,
    }
    /// A supply was counted or weighed, and that is what there is.
    SupplyCounted 1 {
        /// Which supply.
        supply: SupplyId,
        /// Which lot of it; none for all of it together.
        lot: Option<SupplyLot>,
        /// How much there is.
        counted: Amount,
        /// What explains a difference; may be empty.
        note: String,
    }
    /// The date on a supply lot was noted.
    SupplyDateNoted 1 {
        /// Which lot.
        lot: SupplyLot,
        /// Best before; none where it carries no date.
        best_before: Option<Date>,
    }
    /// A way of selling was opened or changed.
    ChannelSettled 1 {
        /// Which.
        channel: ChannelId,
        /// What it is called.
        name: String,
        /// What it is.
        kind: ChannelKind,
        /// What it takes and asks.
        terms: ChannelTerms,
        /// Whether it is given up.
        closed: bool,
    }
    /// What a good costs through a channel was set.
    ChannelPriceSet 1 {
        /// Which channel.
        channel: ChannelId,
        /// Which good.
        product: ProductId,
        /// What the buyer pays for one, by the channel's way with tax; none
        /// where the usual price holds.
        price: Option<Money>,
    }
    /// What several cost together through a channel was set; an empty list
    /// takes back what stood.
    BundlesSet 1 {
        /// Which channel.
        channel: ChannelId,
        /// All of them, as they stand from now on.
        bundles: Vec<Bundle>,
    }
    /// A market day was planned, or its plan changed.
    MarketDaySettled 1 {
        /// Which.
        market_day: MarketDayId,
        /// The channel.
        channel: ChannelId,
        /// The market.
        market: String,
        /// The day it is held.
        on: Date,
        /// What it costs, whatever is sold.
        costs: DayCosts,
        /// Hours from leaving to being home.
        hours: Option<Typed<TimeSpan>>,
        /// Whether it was called off.
        called_off: bool,
    }
    /// Goods were packed for a market day.
    GoodsTaken 1 {
        /// Which day.
        market_day: MarketDayId,
        /// What was packed.
        units: Vec<Units>,
        /// What had been packed and was put back on the rack.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        back: Vec<Units>,
    }
    /// What came home from a market day was counted, and the day is over. A
    /// later count of the same day stands in the place of this one.
    MarketDayCounted 1 {
        /// Which day.
        market_day: MarketDayId,
        /// Brought back.
        back: Vec<Units>,
        /// Given away or put out to smell.
        given: Vec<Units>,
        /// Damaged.
        spoilt: Vec<Units>,
        /// Neither sold nor there.
        missing: Vec<Units>,
    }
    /// The cash tin was counted.
    TillCounted 1 {
        /// Which day.
        market_day: MarketDayId,
        /// What was in it in the morning.
        float: Money,
        /// What was in it in the evening.
        counted: Money,
        /// What the card report says; none where there is none.
        cards: Option<Money>,
        /// How many payments it lists.
        card_payments: Option<u32>,
    }
    /// What a market day was like was noted.
    MarketDayNoted 1 {
        /// Which day.
        market_day: MarketDayId,
        /// The weather; may be empty.
        weather: String,
        /// How many came by.
        footfall: Option<u32>,
        /// Anything else; may be empty.
        note: String,
        /// What was in the cash tin in the morning, until the tin is counted.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        float: Option<Money>,
    }
    /// Goods were sold.
    Sold 1 {
        /// Which sale.
        sale: SaleId,
        /// A word the seller's device made up for it, so that the same sale
        /// sent twice counts once; empty where none did.
        token: String,
        /// How it came to be written down.
        from: SaleFrom,
        /// The channel.
        channel: ChannelId,
        /// The market day, for a sale at a stall.
        market_day: Option<MarketDayId>,
        /// The buyer, where it has a name.
        buyer: Option<BuyerId>,
        /// The order it fulfils.
        order: Option<OrderId>,
        /// What was sold.
        lines: Vec<SaleLine>,
        /// What the buyer paid for postage, tax in it.
        postage: Option<Money>,
        /// The tax in everything the buyer paid.
        tax: Money,
        /// What the channel and the payment cost; none where the terms say it.
        fees: Option<Money>,
        /// How it was paid.
        payment: Payment,
        /// The row of a file it was read from.
        row: Option<RowKey>,
    }
    /// A sale had been written down wrongly and never was.
    SaleVoided 1 {
        /// Which.
        sale: SaleId,
        /// Why.
        reason: String,
    }
    /// A buyer gave goods back, or was given money back.
    GoodsReturned 1 {
        /// Of which sale.
        sale: SaleId,
        /// What came back.
        units: Vec<Units>,
        /// Money given back, tax in it.
        refund: Money,
        /// The tax in it.
        tax: Money,
        /// Where the goods went.
        to: ReturnTo,
        /// Why.
        reason: String,
    }
    /// Goods left a place without being sold.
    GoodsSetAside 1 {
        /// Where they stood.
        place: Place,
        /// Which.
        units: Vec<Units>,
        /// How they went.
        how: Lost,
        /// In words; may be empty.
        note: String,
    }
    /// Goods were counted at a place, and that is how many of these there are.
    GoodsCounted 1 {
        /// Where.
        place: Place,
        /// What was counted.
        units: Vec<Units>,
        /// What explains a difference; may be empty.
        note: String,
    }
    /// A buyer was entered or what is agreed with it changed.
    BuyerSettled 1 {
        /// Which.
        buyer: BuyerId,
        /// What it is.
        terms: BuyerTerms,
    }
    /// Who a buyer is was forgotten for good.
    BuyerForgotten 1 {
        /// Which.
        buyer: BuyerId,
    }
    /// An order was taken, or changed before anything was picked.
    OrderTaken 1 {
        /// Which.
        order: OrderId,
        /// Whose.
        buyer: BuyerId,
        /// The channel.
        channel: ChannelId,
        /// What is wanted.
        lines: Vec<OrderLine>,
        /// The day it is wanted.
        due: Option<Date>,
        /// Whether the shop pays only for what it sells.
        on_return: bool,
        /// Anything else; may be empty.
        note: String,
    }
    /// An order was confirmed to the buyer.
    OrderConfirmed 1 {
        /// Which.
        order: OrderId,
    }
    /// Goods were picked for an order, lot by lot.
    OrderPicked 1 {
        /// Which.
        order: OrderId,
        /// Everything picked for it from now on counts with what was before.
        units: Vec<Units>,
    }
    /// A picked order was packed.
    OrderPacked 1 {
        /// Which.
        order: OrderId,
        /// In how many parcels.
        parcels: u32,
        /// What they weigh together.
        weight: Option<Typed<Mass>>,
    }
    /// A packed order left the workshop.
    OrderSent 1 {
        /// Which.
        order: OrderId,
        /// What sending it cost.
        postage: Option<Money>,
    }
    /// An order was called off; what was picked went back.
    OrderCancelled 1 {
        /// Which.
        order: OrderId,
        /// Why.
        reason: String,
    }
    /// A shop that pays for what it sells was counted.
    ShopCounted 1 {
        /// Which shop.
        buyer: BuyerId,
        /// Given back, fit for sale.
        back: Vec<Units>,
        /// Damaged there.
        spoilt: Vec<Units>,
        /// Neither sold nor there.
        missing: Vec<Units>,
    }
    /// An invoice was written.
    Invoiced 1 {
        /// Its number: one more than the last of invoices and credit notes.
        invoice: InvoiceId,
        /// For which sales.
        sales: Vec<SaleId>,
        /// Whom it is for.
        buyer: BuyerId,
        /// What it comes to, tax in it.
        total: Money,
        /// The tax in it.
        tax: Money,
        /// The day it is to be paid by.
        due: Option<Date>,
    }
    /// A credit note was written for an invoice.
    Credited 1 {
        /// Its number, of the same sequence.
        invoice: InvoiceId,
        /// The invoice it takes from.
        of: InvoiceId,
        /// What it takes off, tax in it.
        total: Money,
        /// The tax in it.
        tax: Money,
        /// Why.
        reason: String,
        /// What of it was paid already and was given back.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        refund: Option<Money>,
        /// How that was given back.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        given_back: Option<Payment>,
    }
    /// Money came in for an invoice.
    InvoicePaid 1 {
        /// Which.
        invoice: InvoiceId,
        /// How much.
        amount: Money,
        /// How.
        payment: Payment,
    }
    /// Money was paid for something other than supplies and market days.
    ExpensePaid 1 {
        /// For what.
        kind: ExpenseKind,
        /// How much.
        amount: Money,
        /// In words.
        note: String,
        /// Whether it came back instead of being paid.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        back: bool,
    }
    /// A channel or a bank paid out.
    PaidOut 1 {
        /// Which.
        payout: PayoutId,
        /// The channel.
        channel: ChannelId,
        /// How much came in.
        amount: Money,
        /// Its number on the statement; may be empty.
        reference: String,
        /// The row of a file it was read from.
        row: Option<RowKey>,
    }
    /// It was found which sales a payout pays for.
    PayoutMatched 1 {
        /// Which.
        payout: PayoutId,
        /// The sales.
        sales: Vec<SaleId>,
        /// What explains a difference; may be empty.
        note: String,
    }
    /// How the books are kept was settled.
    BooksSettled 1 {
        /// All of it, as it stands from now on.
        settings: BookSettings,
    }
    /// How a kind of file is read was settled.
    FileLayoutKept 1 {
        /// What the layout is called.
        name: String,
        /// All of it, as it stands from now on.
        layout: FileLayout,
    }
    /// What a name in files of a layout stands for was settled.
    NameMatched 1 {
        /// The layout.
        layout: String,
        /// The name as the file gives it.
        name: String,
        /// What it stands for.
        meant: Meant,
        /// How much one of it is: the units in a pack that is sold under the
        /// name, or what a bottle holds. None where one is one, or where the
        /// file says how much.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        each: Option<Amount>,
    }
    /// A file was read in.
    FileRead 1 {
        /// The layout it was read by.
        layout: String,
        /// Its name.
        file: String,
        /// Its SHA-256 in hexadecimal.
        digest: String,
        /// How many rows it had.
        rows: u32,
        /// How many were added.
        added: u32,
    }
    /// A sale was read from more rows of a file than the one it names itself.
    SaleRead 1 {
        /// Which sale.
        sale: SaleId,
        /// The other rows.
        rows: Vec<RowKey>,
    }
    /// A delivery was read from a row of a file.
    DeliveryRead 1 {
        /// Which delivery.
        receipt: ReceiptId,
        /// The row.
        row: RowKey,
    }
    /// A recall or a drill of one was begun.
    RecallBegun 1 {
        /// Which.
        recall: RecallId,
        /// What it is about.
        suspect: Suspect,
        /// Whether it is a drill.
        drill: bool,
        /// Why.
        reason: String,
    }
    /// Someone was told of a recall, and gave units back or did not.
    RecallAnswered 1 {
        /// Which.
        recall: RecallId,
        /// Who.
        told: Told,
        /// Units found again there.
        back: u32,
        /// In words; may be empty.
        note: String,
    }
    /// Every holder was known, and who has the units could be told.
    RecallListed 1 {
        /// Which recall.
        recall: RecallId,
        /// How long it took from its beginning, in seconds.
        seconds: u32,
    }
    /// A recall or a drill was ended.
    RecallEnded 1 {
        /// Which.
        recall: RecallId,
        /// How long it took until every holder was known, in seconds.
        seconds: u32,
        /// Units the trace found made.
        made: u32,
        /// Units it found still in the maker's hands.
        on_hand: u32,
        /// Units it found with buyers whose names are known.
        named: u32,
        /// What was learned; may be empty.
        note: String,
    }
}

/// A fact in a journal that this program cannot read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cannot read the fact {name} version {version}: {why}")]
pub struct UnreadableFact {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: u16,
    /// What is wrong.
    pub why: String,
}

/// A fact with the day it concerns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dated {
    /// The day it happened, by the workshop's own calendar.
    pub day: Date,
    /// What happened.
    pub fact: Fact,
}

mod rust_decimal_text {
    use measure::{Decimal, Reading, parse_decimal};
    use serde::{Deserialize, Deserializer, Serializer, de};

    pub(super) fn serialize<S: Serializer>(value: &Decimal, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(value)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Decimal, D::Error> {
        let text = String::deserialize(from)?;
        parse_decimal(&text, Reading::PLAIN).map_err(de::Error::custom)
    }
}

mod optional_decimal_text {
    use measure::{Decimal, Reading, parse_decimal};
    use serde::{Deserialize, Deserializer, Serializer, de};

    #[expect(clippy::ref_option, reason = "the signature serde asks for")]
    pub(super) fn serialize<S: Serializer>(
        value: &Option<Decimal>,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => to.collect_str(value),
            None => to.serialize_none(),
        }
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Option<Decimal>, D::Error> {
        Option::<String>::deserialize(from)?
            .map(|text| parse_decimal(&text, Reading::PLAIN).map_err(de::Error::custom))
            .transpose()
    }
}

mod currency_code {
    use measure::Currency;
    use serde::{Deserialize, Deserializer, Serializer, de};

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "the signature serde asks for"
    )]
    pub(super) fn serialize<S: Serializer>(value: &Currency, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(value.code())
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Currency, D::Error> {
        let code = String::deserialize(from)?;
        Currency::from_code(&code).ok_or_else(|| de::Error::custom("not an ISO 4217 currency"))
    }
}

mod mark_word {
    use measure::DecimalMark;
    use serde::{Deserialize, Deserializer, Serializer, de};

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "the signature serde asks for"
    )]
    pub(super) fn serialize<S: Serializer>(value: &DecimalMark, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(match value {
            DecimalMark::Point => "point",
            DecimalMark::Comma => "comma",
        })
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<DecimalMark, D::Error> {
        match String::deserialize(from)?.as_str() {
            "point" => Ok(DecimalMark::Point),
            "comma" => Ok(DecimalMark::Comma),
            other => Err(de::Error::custom(format!(
                "\"{other}\" is not a decimal mark"
            ))),
        }
    }
}
