//! What is known of selling: channels, market days, sales, buyers, orders,
//! invoices, payouts, and how files are read.

use std::collections::BTreeMap;

use jiff::civil::Date;
use measure::{Mass, Money, TimeSpan, Typed};

use crate::facts::{
    Amount, BookSettings, Bundle, BundlesSet, BuyerId, BuyerSettled, BuyerTerms, ChannelId,
    ChannelKind, ChannelPriceSet, ChannelSettled, ChannelTerms, Credited, DayCosts, ExpensePaid,
    FileLayout, FileRead, GoodsReturned, Grade, InvoiceId, InvoicePaid, Invoiced, MarketDayId,
    MarketDaySettled, Meant, OrderId, OrderLine, OrderTaken, PaidOut, Payment, PayoutId,
    PayoutMatched, Place, PourId, ProductId, RecallBegun, RecallEnded, RecallId, ReceiptId,
    ReturnTo, RowKey, SaleFrom, SaleId, SaleLine, Sold, Suspect, Told, Units,
};
use crate::goods::sold_from;
use crate::trace::AtEnd;

/// A way goods are sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Which.
    pub id: ChannelId,
    /// What it is called.
    pub name: String,
    /// What it is.
    pub kind: ChannelKind,
    /// What it takes and asks.
    pub terms: ChannelTerms,
    /// Whether it is given up.
    pub closed: bool,
    /// What goods cost there, where it is not the usual price.
    pub prices: BTreeMap<ProductId, Money>,
    /// So many for a price together.
    pub bundles: Vec<Bundle>,
}

/// A day at a market, from its plan to its count.
#[derive(Debug, Clone, PartialEq)]
pub struct MarketDay {
    /// Which.
    pub id: MarketDayId,
    /// The channel.
    pub channel: ChannelId,
    /// The market.
    pub market: String,
    /// The day it is held.
    pub on: Date,
    /// What it costs, whatever is sold.
    pub costs: DayCosts,
    /// Hours from leaving to being home.
    pub hours: Option<Typed<TimeSpan>>,
    /// Whether it was called off.
    pub called_off: bool,
    /// What was packed for it.
    pub taken: Vec<Units>,
    /// What came home, once it is over.
    pub counted: Option<CountedBack>,
    /// What was in the cash tin in the morning, where it was written down
    /// before the tin was counted.
    pub float: Option<Money>,
    /// The cash tin.
    pub till: Option<Till>,
    /// The weather; may be empty.
    pub weather: String,
    /// How many came by.
    pub footfall: Option<u32>,
    /// Anything else; may be empty.
    pub note: String,
    /// Its sales, in the order they were written down.
    pub sales: Vec<SaleId>,
}

impl MarketDay {
    /// Units taken, of every good and lot together.
    pub fn n_taken(&self) -> u64 {
        self.taken.iter().map(|units| u64::from(units.count)).sum()
    }

    /// Adds to what was taken, one entry a good, lot and grade.
    pub(crate) fn take(&mut self, more: &[Units]) {
        for units in more {
            match self.taken.iter_mut().find(|known| is_alike(known, units)) {
                Some(known) => known.count = known.count.saturating_add(units.count),
                None => self.taken.push(*units),
            }
        }
    }

    /// Takes off what was put back.
    pub(crate) fn put_back(&mut self, less: &[Units]) {
        for units in less {
            if let Some(known) = self.taken.iter_mut().find(|known| is_alike(known, units)) {
                known.count = known.count.saturating_sub(units.count);
            }
        }
        self.taken.retain(|units| units.count > 0);
    }
}

/// Whether two are of one good, lot and grade.
fn is_alike(one: &Units, other: &Units) -> bool {
    (one.product, one.lot, one.grade) == (other.product, other.lot, other.grade)
}

/// What came home from a market day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountedBack {
    /// The day it was counted.
    pub day: Date,
    /// Brought back.
    pub back: Vec<Units>,
    /// Given away or put out to smell.
    pub given: Vec<Units>,
    /// Damaged.
    pub spoilt: Vec<Units>,
    /// Neither sold nor there.
    pub missing: Vec<Units>,
}

/// What was in the cash tin of a market day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Till {
    /// In the morning.
    pub float: Money,
    /// In the evening.
    pub counted: Money,
    /// What the card report says.
    pub cards: Option<Money>,
    /// How many payments it lists.
    pub card_payments: Option<u32>,
}

impl ExpensePaid {
    /// What it cost; below zero for money that came back.
    pub fn cost(&self) -> Money {
        let sign = if self.back { -1 } else { 1 };
        Money::from_minor(
            self.amount.minor().saturating_mul(sign),
            self.amount.currency(),
        )
    }
}

/// What one buyer took at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Sale {
    /// Which.
    pub id: SaleId,
    /// The day.
    pub day: Date,
    /// How it came to be written down.
    pub from: SaleFrom,
    /// The channel.
    pub channel: ChannelId,
    /// The market day, for a sale at a stall.
    pub market_day: Option<MarketDayId>,
    /// The buyer, where it has a name.
    pub buyer: Option<BuyerId>,
    /// The order it fulfils.
    pub order: Option<OrderId>,
    /// The place the goods came out of.
    pub place: Place,
    /// What was sold.
    pub lines: Vec<SaleLine>,
    /// What the buyer paid for postage, tax in it.
    pub postage: Option<Money>,
    /// The tax in everything the buyer paid.
    pub tax: Money,
    /// What the channel and the payment cost, where it was said.
    pub fees: Option<Money>,
    /// How it was paid.
    pub payment: Payment,
    /// Why it never was, if it was not.
    pub voided: Option<String>,
    /// What came back.
    pub returns: Vec<Returned>,
    /// The invoice it stands on.
    pub invoice: Option<InvoiceId>,
    /// The payout that paid for it.
    pub payout: Option<PayoutId>,
}

/// Goods or money that a buyer got back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Returned {
    /// The day.
    pub day: Date,
    /// What came back.
    pub units: Vec<Units>,
    /// Money given back, tax in it.
    pub refund: Money,
    /// The tax in it.
    pub tax: Money,
    /// Where the goods went.
    pub to: ReturnTo,
    /// Why.
    pub reason: String,
}

impl Sale {
    /// What the buyer paid for goods and postage, tax in it, before anything
    /// came back; none of it for a sale that never was.
    pub fn paid(&self) -> Money {
        let nothing = Money::from_minor(0, self.tax.currency());
        if self.voided.is_some() {
            return nothing;
        }
        let lines = self.lines.iter().map(|line| line.paid);
        let minor = lines
            .chain(self.postage)
            .fold(0_i64, |sum, money| sum.saturating_add(money.minor()));
        Money::from_minor(minor, self.tax.currency())
    }

    /// Units sold, before anything came back.
    pub fn n_units(&self) -> u64 {
        let units = self.lines.iter().flat_map(|line| &line.units);
        units.map(|units| u64::from(units.count)).sum()
    }

    /// What of it is still with the buyer.
    pub fn left(&self) -> Vec<Units> {
        let mut left: BTreeMap<(ProductId, Option<PourId>, Grade), i64> = BTreeMap::new();
        for units in self.lines.iter().flat_map(|line| &line.units) {
            let key = (units.product, units.lot, units.grade);
            *left.entry(key).or_default() += i64::from(units.count);
        }
        let came_back = self.returns.iter().filter(|it| it.to != ReturnTo::Kept);
        for units in came_back.flat_map(|back| &back.units) {
            let key = (units.product, units.lot, units.grade);
            *left.entry(key).or_default() -= i64::from(units.count);
        }
        left.into_iter()
            .filter_map(|((product, lot, grade), count)| {
                let count = u32::try_from(count).ok().filter(|count| *count > 0)?;
                Some(Units {
                    product,
                    lot,
                    grade,
                    count,
                })
            })
            .collect()
    }
}

/// A shop or a person that buys. Who it is, is kept apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Buyer {
    /// Which.
    pub id: BuyerId,
    /// What is agreed with it.
    pub terms: BuyerTerms,
    /// The day it was first written down.
    pub since: Date,
    /// Whether who it is was forgotten for good.
    pub forgotten: bool,
}

/// How far an order has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OrderStage {
    /// Written down.
    Taken,
    /// Confirmed to the buyer.
    Confirmed,
    /// Something is picked for it.
    Picked,
    /// Packed.
    Packed,
    /// On its way, or there.
    Sent,
    /// Called off.
    Cancelled,
}

impl OrderStage {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Taken => "taken",
            Self::Confirmed => "confirmed",
            Self::Picked => "picked",
            Self::Packed => "packed",
            Self::Sent => "sent",
            Self::Cancelled => "cancelled",
        }
    }
}

/// An order.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Which.
    pub id: OrderId,
    /// The day it was taken.
    pub day: Date,
    /// Whose.
    pub buyer: BuyerId,
    /// The channel.
    pub channel: ChannelId,
    /// What is wanted.
    pub lines: Vec<OrderLine>,
    /// The day it is wanted.
    pub due: Option<Date>,
    /// Whether the shop pays only for what it sells.
    pub on_return: bool,
    /// Anything else; may be empty.
    pub note: String,
    /// How far it has come.
    pub stage: OrderStage,
    /// What was picked.
    pub picked: Vec<Units>,
    /// In how many parcels it goes.
    pub parcels: Option<u32>,
    /// What they weigh.
    pub weight: Option<Typed<Mass>>,
    /// The day it left.
    pub sent: Option<Date>,
    /// What sending it cost.
    pub postage: Option<Money>,
    /// Why it was called off.
    pub cancelled: Option<String>,
}

/// An invoice, or a credit note that takes from one.
#[derive(Debug, Clone, PartialEq)]
pub struct Invoice {
    /// Its number.
    pub id: InvoiceId,
    /// The day it was written.
    pub day: Date,
    /// Whom it is for.
    pub buyer: BuyerId,
    /// The sales on it; none for a credit note.
    pub sales: Vec<SaleId>,
    /// For a credit note: the invoice it takes from, and why.
    pub credits: Option<(InvoiceId, String)>,
    /// What it comes to, tax in it.
    pub total: Money,
    /// The tax in it.
    pub tax: Money,
    /// The day it is to be paid by.
    pub due: Option<Date>,
    /// What came in for it; below zero what was given back of that.
    pub paid: Vec<(Date, Money, Payment)>,
    /// For a credit note: what of it was paid already and was given back, and
    /// how.
    pub given_back: Option<(Money, Payment)>,
}

/// Money that a channel or a bank paid out.
#[derive(Debug, Clone, PartialEq)]
pub struct Payout {
    /// Which.
    pub id: PayoutId,
    /// The day it came in.
    pub day: Date,
    /// The channel.
    pub channel: ChannelId,
    /// How much.
    pub amount: Money,
    /// Its number on the statement.
    pub reference: String,
    /// The sales it pays for, and what explains a difference.
    pub matched: Option<(Vec<SaleId>, String)>,
}

/// A recall, or a drill of one.
#[derive(Debug, Clone, PartialEq)]
pub struct Recall {
    /// Which.
    pub id: RecallId,
    /// The day it was begun.
    pub day: Date,
    /// How many movements of goods had been written down when it was begun.
    pub moved: usize,
    /// What it is about.
    pub suspect: Suspect,
    /// Whether it is a drill.
    pub drill: bool,
    /// Why.
    pub reason: String,
    /// Who was told, what came back from there, and a note.
    pub answers: BTreeMap<Told, (Date, u32, String)>,
    /// How long it took until every holder was known, in seconds.
    pub listed: Option<u32>,
    /// How it ended.
    pub ended: Option<RecallEnded>,
    /// Who had it as it ended: what is sold, taken back or poured later is no
    /// part of its record.
    pub at_end: Option<AtEnd>,
}

/// A file that was read in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileKept {
    /// The day.
    pub day: Date,
    /// The layout.
    pub layout: String,
    /// Its name.
    pub file: String,
    /// Its SHA-256 in hexadecimal.
    pub digest: String,
    /// How many rows it had.
    pub rows: u32,
    /// How many were added.
    pub added: u32,
}

/// What a row of a file was read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowOf {
    /// A line of a sale.
    Sale(SaleId),
    /// A line of a delivery.
    Delivery(ReceiptId),
    /// A payout.
    Payout(PayoutId),
}

/// Everything about selling.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trade {
    pub(crate) channels: BTreeMap<ChannelId, Channel>,
    pub(crate) market_days: BTreeMap<MarketDayId, MarketDay>,
    pub(crate) sales: Vec<Sale>,
    pub(crate) tokens: BTreeMap<String, SaleId>,
    pub(crate) buyers: BTreeMap<BuyerId, Buyer>,
    pub(crate) orders: BTreeMap<OrderId, Order>,
    pub(crate) invoices: Vec<Invoice>,
    pub(crate) payouts: BTreeMap<PayoutId, Payout>,
    pub(crate) expenses: Vec<(Date, ExpensePaid)>,
    pub(crate) books: Option<BookSettings>,
    pub(crate) layouts: BTreeMap<String, FileLayout>,
    pub(crate) names: BTreeMap<(String, String), (Meant, Option<Amount>)>,
    pub(crate) rows: BTreeMap<RowKey, RowOf>,
    pub(crate) files: Vec<FileKept>,
    pub(crate) recalls: BTreeMap<RecallId, Recall>,
}

/// Questions to it.
impl Trade {
    /// A channel.
    pub fn channel(&self, id: ChannelId) -> Option<&Channel> {
        self.channels.get(&id)
    }

    /// Every channel.
    pub fn channels(&self) -> impl DoubleEndedIterator<Item = &Channel> {
        self.channels.values()
    }

    /// A market day.
    pub fn market_day(&self, id: MarketDayId) -> Option<&MarketDay> {
        self.market_days.get(&id)
    }

    /// Every market day, as they were written down.
    pub fn market_days(&self) -> impl DoubleEndedIterator<Item = &MarketDay> {
        self.market_days.values()
    }

    /// A sale.
    pub fn sale(&self, id: SaleId) -> Option<&Sale> {
        let nth = usize::try_from(id.0.checked_sub(1)?).ok()?;
        self.sales.get(nth)
    }

    /// Every sale, as they were written down; those that never were too.
    pub fn sales(&self) -> &[Sale] {
        &self.sales
    }

    /// Whether a sale that a device sent under this word is written down.
    pub fn has_token(&self, token: &str) -> bool {
        self.tokens.contains_key(token)
    }

    /// The sale that a device sent under this word.
    pub fn sale_of_token(&self, token: &str) -> Option<&Sale> {
        self.sale(*self.tokens.get(token)?)
    }

    /// A buyer.
    pub fn buyer(&self, id: BuyerId) -> Option<&Buyer> {
        self.buyers.get(&id)
    }

    /// Every buyer.
    pub fn buyers(&self) -> impl DoubleEndedIterator<Item = &Buyer> {
        self.buyers.values()
    }

    /// An order.
    pub fn order(&self, id: OrderId) -> Option<&Order> {
        self.orders.get(&id)
    }

    /// Every order.
    pub fn orders(&self) -> impl DoubleEndedIterator<Item = &Order> {
        self.orders.values()
    }

    /// An invoice or a credit note.
    pub fn invoice(&self, id: InvoiceId) -> Option<&Invoice> {
        let nth = usize::try_from(id.0.checked_sub(1)?).ok()?;
        self.invoices.get(nth)
    }

    /// Every invoice and credit note, by number.
    pub fn invoices(&self) -> &[Invoice] {
        &self.invoices
    }

    /// A payout.
    pub fn payout(&self, id: PayoutId) -> Option<&Payout> {
        self.payouts.get(&id)
    }

    /// Every payout.
    pub fn payouts(&self) -> impl DoubleEndedIterator<Item = &Payout> {
        self.payouts.values()
    }

    /// What was paid for other things, with the day.
    pub fn expenses(&self) -> &[(Date, ExpensePaid)] {
        &self.expenses
    }

    /// How the books are kept, once it is settled.
    pub const fn books(&self) -> Option<&BookSettings> {
        self.books.as_ref()
    }

    /// How a kind of file is read.
    pub fn layout(&self, name: &str) -> Option<&FileLayout> {
        self.layouts.get(name)
    }

    /// Every way a file is read, by its name.
    pub fn layouts(&self) -> impl Iterator<Item = (&str, &FileLayout)> {
        self.layouts
            .iter()
            .map(|(name, layout)| (name.as_str(), layout))
    }

    /// What a name in the files of a layout stands for.
    pub fn meant(&self, layout: &str, name: &str) -> Option<Meant> {
        let key = (layout.to_owned(), name.to_owned());
        self.names.get(&key).map(|(meant, _)| *meant)
    }

    /// How much one of what a name in the files of a layout stands for is,
    /// where it was said.
    pub fn one_of_name(&self, layout: &str, name: &str) -> Option<&Amount> {
        let key = (layout.to_owned(), name.to_owned());
        self.names.get(&key)?.1.as_ref()
    }

    /// What every name in the files of a layout stands for, with how much one of
    /// it is where it was said.
    pub fn names<'a>(
        &'a self,
        layout: &'a str,
    ) -> impl Iterator<Item = (&'a str, Meant, Option<&'a Amount>)> + 'a {
        self.names
            .range((layout.to_owned(), String::new())..)
            .take_while(move |((of, _), _)| of == layout)
            .map(|((_, name), (meant, each))| (name.as_str(), *meant, each.as_ref()))
    }

    /// Whether a row of a file was read in before.
    pub fn has_row(&self, row: &RowKey) -> bool {
        self.rows.contains_key(row)
    }

    /// What the rows of a layout were read as whose keys begin so.
    pub fn rows_beginning<'a>(
        &'a self,
        layout: &'a str,
        key: &'a str,
    ) -> impl Iterator<Item = RowOf> + 'a {
        let from = RowKey {
            layout: layout.to_owned(),
            key: key.to_owned(),
        };
        self.rows
            .range(from..)
            .take_while(move |(row, _)| row.layout == layout && row.key.starts_with(key))
            .map(|(_, of)| *of)
    }

    /// Every file that was read in.
    pub fn files(&self) -> &[FileKept] {
        &self.files
    }

    /// A recall.
    pub fn recall(&self, id: RecallId) -> Option<&Recall> {
        self.recalls.get(&id)
    }

    /// Every recall and drill.
    pub fn recalls(&self) -> impl DoubleEndedIterator<Item = &Recall> {
        self.recalls.values()
    }

    pub(crate) fn sale_mut(&mut self, id: SaleId) -> Option<&mut Sale> {
        let nth = usize::try_from(id.0.checked_sub(1)?).ok()?;
        self.sales.get_mut(nth)
    }
}

/// What facts do to it; what they do to the goods is the ledger's.
impl Trade {
    pub(crate) fn channel_settled(&mut self, fact: &ChannelSettled) {
        let before = self.channels.remove(&fact.channel);
        let (prices, bundles) =
            before.map_or_else(Default::default, |before| (before.prices, before.bundles));
        let channel = Channel {
            id: fact.channel,
            name: fact.name.clone(),
            kind: fact.kind,
            terms: fact.terms.clone(),
            closed: fact.closed,
            prices,
            bundles,
        };
        self.channels.insert(fact.channel, channel);
    }

    pub(crate) fn channel_price_set(&mut self, fact: &ChannelPriceSet) {
        if let Some(channel) = self.channels.get_mut(&fact.channel) {
            match fact.price {
                Some(price) => channel.prices.insert(fact.product, price),
                None => channel.prices.remove(&fact.product),
            };
        }
    }

    pub(crate) fn bundles_set(&mut self, fact: &BundlesSet) {
        if let Some(channel) = self.channels.get_mut(&fact.channel) {
            channel.bundles.clone_from(&fact.bundles);
        }
    }

    pub(crate) fn market_day_settled(&mut self, fact: &MarketDaySettled) {
        let day = self
            .market_days
            .entry(fact.market_day)
            .or_insert_with(|| MarketDay {
                id: fact.market_day,
                channel: fact.channel,
                market: String::new(),
                on: fact.on,
                costs: DayCosts::default(),
                hours: None,
                called_off: false,
                taken: Vec::new(),
                counted: None,
                float: None,
                till: None,
                weather: String::new(),
                footfall: None,
                note: String::new(),
                sales: Vec::new(),
            });
        day.channel = fact.channel;
        day.market.clone_from(&fact.market);
        day.on = fact.on;
        day.costs = fact.costs.clone();
        day.hours.clone_from(&fact.hours);
        day.called_off = fact.called_off;
    }

    /// What a fact says of a market day; nothing where there is no such day.
    pub(crate) fn on_market_day(&mut self, id: MarketDayId, note: impl FnOnce(&mut MarketDay)) {
        if let Some(day) = self.market_days.get_mut(&id) {
            note(day);
        }
    }

    /// Whether it was the next sale: they are numbered from one without gaps,
    /// which is how one is found again.
    pub(crate) fn sold(&mut self, day: Date, fact: &Sold) -> bool {
        if fact.sale != self.next_sale() {
            return false;
        }
        if !fact.token.is_empty() {
            self.tokens.insert(fact.token.clone(), fact.sale);
        }
        if let Some(row) = &fact.row {
            self.rows.insert(row.clone(), RowOf::Sale(fact.sale));
        }
        if let Some(id) = fact.market_day {
            self.on_market_day(id, |day| day.sales.push(fact.sale));
        }
        self.sales.push(Sale {
            id: fact.sale,
            day,
            from: fact.from,
            channel: fact.channel,
            market_day: fact.market_day,
            buyer: fact.buyer,
            order: fact.order,
            place: sold_from(fact),
            lines: fact.lines.clone(),
            postage: fact.postage,
            tax: fact.tax,
            fees: fact.fees,
            payment: fact.payment,
            voided: None,
            returns: Vec::new(),
            invoice: None,
            payout: None,
        });
        true
    }

    /// Whether there was such a sale.
    pub(crate) fn returned(&mut self, day: Date, fact: &GoodsReturned) -> bool {
        let Some(sale) = self.sale_mut(fact.sale) else {
            return false;
        };
        sale.returns.push(Returned {
            day,
            units: fact.units.clone(),
            refund: fact.refund,
            tax: fact.tax,
            to: fact.to,
            reason: fact.reason.clone(),
        });
        true
    }

    pub(crate) fn buyer_settled(&mut self, day: Date, fact: &BuyerSettled) {
        let before = self.buyers.get(&fact.buyer);
        let buyer = Buyer {
            id: fact.buyer,
            terms: fact.terms.clone(),
            since: before.map_or(day, |before| before.since),
            forgotten: before.is_some_and(|before| before.forgotten),
        };
        self.buyers.insert(fact.buyer, buyer);
    }

    pub(crate) fn order_taken(&mut self, day: Date, fact: &OrderTaken) {
        let before = self.orders.get(&fact.order);
        let order = Order {
            id: fact.order,
            day: before.map_or(day, |before| before.day),
            buyer: fact.buyer,
            channel: fact.channel,
            lines: fact.lines.clone(),
            due: fact.due,
            on_return: fact.on_return,
            note: fact.note.clone(),
            stage: before.map_or(OrderStage::Taken, |before| before.stage),
            picked: before.map_or_else(Vec::new, |before| before.picked.clone()),
            parcels: None,
            weight: None,
            sent: None,
            postage: None,
            cancelled: None,
        };
        self.orders.insert(fact.order, order);
    }

    /// What a fact says of an order; nothing where there is no such order.
    pub(crate) fn on_order(&mut self, id: OrderId, note: impl FnOnce(&mut Order)) {
        if let Some(order) = self.orders.get_mut(&id) {
            note(order);
        }
    }

    pub(crate) fn invoiced(&mut self, day: Date, fact: &Invoiced) {
        for sale in &fact.sales {
            if let Some(sale) = self.sale_mut(*sale) {
                sale.invoice = Some(fact.invoice);
            }
        }
        self.invoices.push(Invoice {
            id: fact.invoice,
            day,
            buyer: fact.buyer,
            sales: fact.sales.clone(),
            credits: None,
            total: fact.total,
            tax: fact.tax,
            due: fact.due,
            paid: Vec::new(),
            given_back: None,
        });
    }

    pub(crate) fn credited(&mut self, day: Date, fact: &Credited) {
        let Some(of) = self.invoice(fact.of) else {
            return;
        };
        let buyer = of.buyer;
        if let (Some(refund), Some(how)) = (fact.refund, fact.given_back) {
            let back = Money::from_minor(refund.minor().saturating_neg(), refund.currency());
            let invoice = self.invoice_mut(fact.of);
            if let Some(invoice) = invoice {
                invoice.paid.push((day, back, how));
            }
        }
        self.invoices.push(Invoice {
            id: fact.invoice,
            day,
            buyer,
            sales: Vec::new(),
            credits: Some((fact.of, fact.reason.clone())),
            total: fact.total,
            tax: fact.tax,
            due: None,
            paid: Vec::new(),
            given_back: fact.refund.zip(fact.given_back),
        });
    }

    pub(crate) fn invoice_paid(&mut self, day: Date, fact: &InvoicePaid) {
        if let Some(invoice) = self.invoice_mut(fact.invoice) {
            invoice.paid.push((day, fact.amount, fact.payment));
        }
    }

    fn invoice_mut(&mut self, id: InvoiceId) -> Option<&mut Invoice> {
        let nth = usize::try_from(id.0.checked_sub(1)?).ok()?;
        self.invoices.get_mut(nth)
    }

    pub(crate) fn paid_out(&mut self, day: Date, fact: &PaidOut) {
        if let Some(row) = &fact.row {
            self.rows.insert(row.clone(), RowOf::Payout(fact.payout));
        }
        let payout = Payout {
            id: fact.payout,
            day,
            channel: fact.channel,
            amount: fact.amount,
            reference: fact.reference.clone(),
            matched: None,
        };
        self.payouts.insert(fact.payout, payout);
    }

    pub(crate) fn payout_matched(&mut self, fact: &PayoutMatched) {
        let Some(payout) = self.payouts.get_mut(&fact.payout) else {
            return;
        };
        let before = payout
            .matched
            .replace((fact.sales.clone(), fact.note.clone()));
        for sale in before.iter().flat_map(|(sales, _)| sales) {
            if let Some(sale) = self.sale_mut(*sale) {
                sale.payout = None;
            }
        }
        for sale in &fact.sales {
            if let Some(sale) = self.sale_mut(*sale) {
                sale.payout = Some(fact.payout);
            }
        }
    }

    pub(crate) fn file_read(&mut self, day: Date, fact: &FileRead) {
        self.files.push(FileKept {
            day,
            layout: fact.layout.clone(),
            file: fact.file.clone(),
            digest: fact.digest.clone(),
            rows: fact.rows,
            added: fact.added,
        });
    }

    pub(crate) fn recall_begun(&mut self, day: Date, fact: &RecallBegun, moved: usize) {
        let recall = Recall {
            id: fact.recall,
            day,
            moved,
            suspect: fact.suspect,
            drill: fact.drill,
            reason: fact.reason.clone(),
            answers: BTreeMap::new(),
            listed: None,
            ended: None,
            at_end: None,
        };
        self.recalls.insert(fact.recall, recall);
    }

    pub(crate) fn on_recall(&mut self, id: RecallId, note: impl FnOnce(&mut Recall)) {
        if let Some(recall) = self.recalls.get_mut(&id) {
            note(recall);
        }
    }
}

/// What the next thing of each kind is numbered.
impl Trade {
    /// The identifier the next channel gets.
    pub fn next_channel(&self) -> ChannelId {
        ChannelId(after(self.channels.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next market day gets.
    pub fn next_market_day(&self) -> MarketDayId {
        MarketDayId(after(self.market_days.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next sale gets.
    pub fn next_sale(&self) -> SaleId {
        SaleId(after(u32::try_from(self.sales.len()).ok()))
    }

    /// The identifier the next buyer gets.
    pub fn next_buyer(&self) -> BuyerId {
        BuyerId(after(self.buyers.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next order gets.
    pub fn next_order(&self) -> OrderId {
        OrderId(after(self.orders.keys().next_back().map(|id| id.0)))
    }

    /// The number the next invoice or credit note gets.
    pub fn next_invoice(&self) -> InvoiceId {
        InvoiceId(after(u32::try_from(self.invoices.len()).ok()))
    }

    /// The identifier the next payout gets.
    pub fn next_payout(&self) -> PayoutId {
        PayoutId(after(self.payouts.keys().next_back().map(|id| id.0)))
    }

    /// The identifier the next recall gets.
    pub fn next_recall(&self) -> RecallId {
        RecallId(after(self.recalls.keys().next_back().map(|id| id.0)))
    }
}

fn after(last: Option<u32>) -> u32 {
    last.map_or(1, |last| last.saturating_add(1))
}
