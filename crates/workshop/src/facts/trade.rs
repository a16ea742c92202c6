//! What is said of goods on their way out: channels, market days, sales,
//! buyers, orders, and how the books are kept.

use jiff::civil::Date;
use measure::{Money, Ratio, TimeSpan, Typed};
use serde::{Deserialize, Serialize};

use super::{BuyerId, ChannelId, MarketDayId, OrderId, PourId, ProductId, ReceiptId, SupplyId};

/// How good a unit came out.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// Fit for sale.
    #[default]
    Good,
    /// Sold cheaper.
    Second,
}

/// So many units of a good, with the lot they are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Units {
    /// Which good.
    pub product: ProductId,
    /// Their lot; none where nobody knows, which the maker is asked about.
    pub lot: Option<PourId>,
    /// How good they are.
    #[serde(default, skip_serializing_if = "is_good")]
    pub grade: Grade,
    /// How many.
    pub count: u32,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the signature serde asks for"
)]
fn is_good(grade: &Grade) -> bool {
    *grade == Grade::Good
}

/// Where goods stand that are still the maker's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// In the workshop, for anyone.
    Rack,
    /// On the way to a market day, at it, or not yet brought back.
    Stall(MarketDayId),
    /// Picked for an order and not yet sent.
    Packed(OrderId),
    /// At a shop that pays for what it sells.
    Shop(BuyerId),
}

/// How goods leave without being sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lost {
    /// Given away, or put out for noses to try.
    Given,
    /// Used up in a test.
    Tested,
    /// Damaged or past its best, and thrown away.
    Spoilt,
    /// Not there when counted.
    Missing,
}

impl Lost {
    /// Every way.
    pub const ALL: [Self; 4] = [Self::Given, Self::Tested, Self::Spoilt, Self::Missing];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Given => "given away",
            Self::Tested => "tested",
            Self::Spoilt => "spoilt",
            Self::Missing => "missing",
        }
    }
}

/// What a channel is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChannelKind {
    /// A stall on market days.
    Stall,
    /// Sales by post, from a page of the maker's own or of others.
    Web,
    /// Shops that buy.
    Wholesale,
    /// Shops that pay for what they have sold.
    SaleOrReturn,
}

impl ChannelKind {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Stall, Self::Web, Self::Wholesale, Self::SaleOrReturn];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stall => "stall",
            Self::Web => "web shop",
            Self::Wholesale => "wholesale",
            Self::SaleOrReturn => "sale or return",
        }
    }
}

/// What a channel takes and asks. What is not said is nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChannelTerms {
    /// Fee on what the buyer pays.
    pub percent_fee: Option<Ratio>,
    /// Fee on every sale.
    pub fixed_fee: Option<Money>,
    /// Fee for taking the payment, on what the buyer pays by card.
    pub payment_percent: Option<Ratio>,
    /// Fee for every payment by card.
    pub payment_fixed: Option<Money>,
    /// What posting a sale costs the maker.
    pub postage_paid: Option<Money>,
    /// What the buyer is charged for it.
    pub postage_charged: Option<Money>,
    /// What a shop pays less than the price on the shelf.
    pub discount: Option<Ratio>,
    /// What the maker keeps of what a shop sold.
    pub share: Option<Ratio>,
    /// The least a shop orders.
    pub minimum: Option<Money>,
    /// Days a buyer has to pay.
    pub days_to_pay: Option<u16>,
    /// Selling and packing time of a sale.
    pub time_a_sale: Option<Typed<TimeSpan>>,
}

/// So many for a price together, in any mix of some goods.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bundle {
    /// The goods it holds for.
    pub products: Vec<ProductId>,
    /// How many.
    pub count: u32,
    /// For how much together.
    pub price: Money,
}

/// What a market day costs, whatever is sold.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DayCosts {
    /// The pitch.
    pub pitch: Option<Money>,
    /// The way there and back.
    pub travel: Option<Money>,
    /// Help, parking, food and what else.
    pub other: Option<Money>,
}

/// How a sale came to be written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SaleFrom {
    /// Tapped as it was made.
    Tapped,
    /// What was taken and not brought back.
    CountedBack,
    /// Written down afterwards.
    Written,
    /// An order was sent.
    Order,
    /// A shop said what it had sold.
    Shop,
    /// A file was read in.
    File,
}

/// How a buyer paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Payment {
    /// In coins and notes.
    Cash,
    /// By card or phone.
    Card,
    /// Into the account.
    Transfer,
    /// Through the channel, which pays out later.
    Payout,
    /// Not yet.
    Owed,
    /// Nobody noted it.
    Unknown,
}

impl Payment {
    /// Every way.
    pub const ALL: [Self; 6] = [
        Self::Cash,
        Self::Card,
        Self::Transfer,
        Self::Payout,
        Self::Owed,
        Self::Unknown,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cash => "cash",
            Self::Card => "card",
            Self::Transfer => "transfer",
            Self::Payout => "through the channel",
            Self::Owed => "owed",
            Self::Unknown => "not noted",
        }
    }
}

/// One good of a sale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SaleLine {
    /// Which units; all of one good.
    pub units: Vec<Units>,
    /// What the buyer paid for them together, tax in it.
    pub paid: Money,
}

/// A row of a file that was read in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct RowKey {
    /// The layout it was read by.
    pub layout: String,
    /// What tells the row from every other of that layout.
    pub key: String,
}

/// Where goods go that a buyer gave back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReturnTo {
    /// Back for sale.
    Rack,
    /// Thrown away.
    Spoilt,
    /// The buyer kept them.
    Kept,
}

/// What a buyer is. Who it is, with name and address, is kept apart from the
/// journal, so that it can be forgotten.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BuyerTerms {
    /// The channel it buys through.
    pub channel: ChannelId,
    /// Whether it sells on what it buys.
    pub resells: bool,
    /// The country by the two letters of ISO 3166-1; may be empty.
    pub country: String,
    /// Its own discount, where it is not the channel's.
    pub discount: Option<Ratio>,
    /// Its own days to pay, where they are not the channel's.
    pub days_to_pay: Option<u16>,
    /// Whether no sales tax is taken from it: a shop that sells on where the law
    /// leaves that untaxed, or a buyer abroad.
    #[serde(default, skip_serializing_if = "is_false")]
    pub untaxed: bool,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the signature serde asks for"
)]
const fn is_false(flag: &bool) -> bool {
    !*flag
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderLine {
    /// Which good.
    pub product: ProductId,
    /// How many.
    pub count: u32,
    /// What each costs the buyer, before tax on top.
    pub each: Money,
}

/// How the worth of stock is told.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CostMethod {
    /// First in, first out.
    #[default]
    Fifo,
    /// The average of all there is, anew with each delivery.
    Average,
}

impl CostMethod {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Fifo, Self::Average];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fifo => "first in, first out",
            Self::Average => "moving average",
        }
    }
}

/// Sales tax or value added tax.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SalesTax {
    /// What it is called where the workshop is.
    pub name: String,
    /// Its rate.
    pub rate: Ratio,
    /// Whether the prices on the table have it in them.
    pub inside: bool,
    /// The number under which the workshop pays it; may be empty.
    pub number: String,
}

/// How the books are kept.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BookSettings {
    /// How stock is valued.
    pub method: CostMethod,
    /// The tax on sales; none where the workshop takes none.
    pub tax: Option<SalesTax>,
    /// The month in which its year begins, 1 to 12.
    pub year_month: u8,
    /// The day of that month.
    pub year_day: u8,
}

/// What money was paid for, other than supplies and market days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ExpenseKind {
    /// Rent, power, insurance.
    Running,
    /// Moulds, pots, scales.
    Equipment,
    /// Posting parcels.
    Postage,
    /// Fees of channels and banks.
    Fees,
    /// Wages paid.
    Wages,
    /// Signs, samples, photographs.
    Showing,
    /// Anything else.
    Other,
}

impl ExpenseKind {
    /// Every kind.
    pub const ALL: [Self; 7] = [
        Self::Running,
        Self::Equipment,
        Self::Postage,
        Self::Fees,
        Self::Wages,
        Self::Showing,
        Self::Other,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Running => "rent, power, insurance",
            Self::Equipment => "equipment",
            Self::Postage => "postage",
            Self::Fees => "fees",
            Self::Wages => "wages",
            Self::Showing => "showing the goods",
            Self::Other => "other",
        }
    }
}

/// What came in of one supply in one delivery: a supply lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct SupplyLot {
    /// The delivery.
    pub receipt: ReceiptId,
    /// Its line, from 0.
    pub line: u32,
}

/// Why a supply was thrown away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WasteWhy {
    /// Past its date.
    Expired,
    /// Spoilt, dirty or burnt.
    Spoilt,
    /// Spilt.
    Spilt,
    /// Used for a trial that is no pour, or for testers.
    Tried,
}

impl WasteWhy {
    /// Every reason.
    pub const ALL: [Self; 4] = [Self::Expired, Self::Spoilt, Self::Spilt, Self::Tried];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Expired => "past its date",
            Self::Spoilt => "spoilt",
            Self::Spilt => "spilt",
            Self::Tried => "used for trying",
        }
    }
}

/// What a recall or a drill is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Suspect {
    /// What came in a delivery.
    SupplyLot(SupplyLot),
    /// A pour and everything made of it.
    Lot(PourId),
}

/// Whom a recall speaks to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// A buyer with a name.
    Buyer(BuyerId),
    /// Those who bought at a market day, by a notice.
    MarketDay(MarketDayId),
    /// Those who bought through a channel and left no name.
    Channel(ChannelId),
}

/// What the rows of a file are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RowKind {
    /// Sales.
    Sales,
    /// Deliveries of supplies.
    Purchases,
    /// Money that came into the account.
    Payouts,
}

/// What a column of a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// The day.
    Day,
    /// What tells one sale, delivery or payout from the next.
    Reference,
    /// The good or the supply, by the name the file gives it.
    Name,
    /// How many or how much.
    Amount,
    /// What each cost.
    Each,
    /// What was paid for the row.
    Paid,
    /// The tax in it.
    Tax,
    /// Postage the buyer paid, or freight.
    Postage,
    /// Fees the channel kept.
    Fees,
    /// How it was paid.
    Payment,
    /// The supplier.
    Supplier,
    /// The supplier's lot number.
    SupplierLot,
}

/// How the days of a file are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DayOrder {
    /// 2026-12-31.
    YearMonthDay,
    /// 31/12/2026.
    DayMonthYear,
    /// 12/31/2026.
    MonthDayYear,
}

/// How a kind of file is read, settled once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileLayout {
    /// What its rows are.
    pub kind: RowKind,
    /// The heading of each column that is read.
    pub columns: Vec<(Column, String)>,
    /// How its days are written.
    pub days: DayOrder,
    /// Whether the decimal mark is a comma.
    pub comma: bool,
    /// The channel its sales were made through.
    pub channel: Option<ChannelId>,
    /// Every heading of such a file, by which the next one is known again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub headings: Vec<String>,
}

impl RowKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Sales, Self::Purchases, Self::Payouts];

    /// The word for its rows.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sales => "sales",
            Self::Purchases => "deliveries",
            Self::Payouts => "payouts",
        }
    }
}

impl FileLayout {
    /// The heading of a column, where it is read.
    pub fn heading(&self, column: Column) -> Option<&str> {
        let found = self.columns.iter().find(|(known, _)| *known == column);
        found.map(|(_, heading)| heading.as_str())
    }
}

/// What a name in a file stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meant {
    /// A good.
    Product(ProductId),
    /// A supply.
    Supply(SupplyId),
    /// Nothing of the workshop's; rows that name it are left out.
    Nothing,
}

/// A stretch of days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Days {
    /// The first.
    pub from: Date,
    /// The last.
    pub to: Date,
}
