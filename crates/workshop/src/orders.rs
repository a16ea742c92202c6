//! What is promised, what may be picked for it, what shops have, and who owes
//! what: questions about buyers and their orders.

use std::collections::BTreeMap;

use jiff::civil::Date;
use measure::{Decimal, Money, Ratio, Working};

use crate::facts::{
    BuyerId, ChannelKind, Grade, InvoiceId, OrderId, OrderLine, Payment, Place, PourId, ProductId,
    SaleId, SaleLine, SalesTax, Units,
};
use crate::goods::Item;
use crate::selling::price_in;
use crate::state::{LotVerdict, Workshop};
use crate::trade::{Buyer, Invoice, Order, OrderStage, Returned, Sale, Trade};
use crate::worth::{good_of, is_of};

/// Days after which a shop is counted again.
///
/// # Source
///
/// Monthly: common practice, no source.
pub const COUNTED_EVERY: i32 = 30;

/// Units of a lot on the rack that may be sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ForSale {
    /// The lot.
    pub lot: PourId,
    /// The day up to which it keeps its scent, where the good has one.
    pub best_by: Option<Date>,
    /// How many stand on the rack.
    pub count: u32,
}

/// The lots of a good on the rack that may be sold on a day, none of them held
/// or curing, the earliest best-by first; of lots without one the first poured.
/// Seconds are left out.
pub fn for_sale(workshop: &Workshop, product: ProductId, day: Date) -> Vec<ForSale> {
    let Some(good) = workshop.product(product) else {
        return Vec::new();
    };
    let months = workshop.shelf_life(product);
    let mut lots: Vec<(Option<Date>, ForSale)> = workshop
        .goods()
        .at(Place::Rack)
        .filter_map(|(item, count)| {
            let Item::Lot(lot, Grade::Good) = item else {
                return None;
            };
            let pour = workshop.pour(lot).filter(|pour| is_of(pour, good))?;
            let count = u32::try_from(count).ok().filter(|count| *count > 0)?;
            let ready = matches!(workshop.verdict(pour, day), Some(LotVerdict::Ready(_)));
            let best_by = months.zip(pour.poured).and_then(|(months, poured)| {
                let months = jiff::Span::new().months(i64::from(months));
                poured.checked_add(months).ok()
            });
            let found = ForSale {
                lot,
                best_by,
                count,
            };
            ready.then_some((pour.poured, found))
        })
        .collect();
    lots.sort_by_key(|(poured, found)| (found.best_by, *poured, found.lot));
    lots.into_iter().map(|(_, found)| found).collect()
}

/// How many of a good there are, and for whom. Seconds count apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StockState {
    /// The good.
    pub product: ProductId,
    /// In the workshop: on the rack, whatever their state, or packed.
    pub have: i64,
    /// Of these, what may be sold now or is packed already.
    pub ready: i64,
    /// Ordered and not yet sent.
    pub promised: i64,
    /// Ready and not promised; below zero where more is promised than is ready.
    pub free: i64,
    /// Packed for a market day and not yet back.
    pub at_stalls: i64,
    /// At shops that pay for what they sell.
    pub at_shops: i64,
    /// Seconds in the workshop.
    pub seconds: i64,
}

/// How many there are of every good on a day, in the order of the goods.
pub fn stock_states(workshop: &Workshop, day: Date) -> Vec<StockState> {
    let mut states: BTreeMap<ProductId, StockState> = workshop
        .products()
        .map(|good| {
            let nothing = StockState {
                product: good.id,
                have: 0,
                ready: 0,
                promised: 0,
                free: 0,
                at_stalls: 0,
                at_shops: 0,
                seconds: 0,
            };
            (good.id, nothing)
        })
        .collect();
    for (place, item, count) in workshop.goods().everywhere() {
        let (product, grade, is_ready) = match item {
            Item::Unknown(product) => (Some(product), Grade::Good, true),
            Item::Lot(lot, grade) => {
                let pour = workshop.pour(lot);
                let ready =
                    |pour| matches!(workshop.verdict(pour, day), Some(LotVerdict::Ready(_)));
                let product = pour.and_then(|pour| good_of(workshop, pour));
                (product.map(|good| good.id), grade, pour.is_some_and(ready))
            }
        };
        let Some(state) = product.and_then(|id| states.get_mut(&id)) else {
            continue;
        };
        match (place, grade) {
            (Place::Stall(_), _) => state.at_stalls += count,
            (Place::Shop(_), _) => state.at_shops += count,
            (Place::Rack | Place::Packed(_), Grade::Second) => state.seconds += count,
            (Place::Packed(_), Grade::Good) => {
                state.have += count;
                state.ready += count;
            }
            (Place::Rack, Grade::Good) => {
                state.have += count;
                state.ready += if is_ready { count } else { 0 };
            }
        }
    }
    for order in workshop.trade().orders().filter(|order| order.is_open()) {
        for line in &order.lines {
            if let Some(state) = states.get_mut(&line.product) {
                state.promised += i64::from(line.count);
            }
        }
    }
    for state in states.values_mut() {
        state.free = state.ready - state.promised;
    }
    states.into_values().collect()
}

/// How many there are of a good on a day; none where there is no such good.
pub fn stock_state(workshop: &Workshop, product: ProductId, day: Date) -> Option<StockState> {
    let mut states = stock_states(workshop, day).into_iter();
    states.find(|state| state.product == product)
}

impl Order {
    /// Whether it is neither sent nor called off.
    pub fn is_open(&self) -> bool {
        !matches!(self.stage, OrderStage::Sent | OrderStage::Cancelled)
    }

    /// What is ordered and not picked yet, good by good in its order.
    pub fn still_wanted(&self) -> Vec<(ProductId, u32)> {
        self.lines
            .iter()
            .filter_map(|line| {
                let picked = self.picked.iter();
                let picked: u32 = picked
                    .filter(|units| units.product == line.product)
                    .fold(0, |sum, units| sum.saturating_add(units.count));
                let wanted = line.count.saturating_sub(picked);
                (wanted > 0).then_some((line.product, wanted))
            })
            .collect()
    }

    /// What a good costs the buyer in it, before tax on top.
    pub fn each(&self, product: ProductId) -> Option<Money> {
        let line = self.lines.iter().find(|line| line.product == product)?;
        Some(line.each)
    }

    /// What everything ordered comes to, before tax on top; none for an order
    /// of nothing.
    pub fn total(&self) -> Option<Money> {
        total_of(&self.lines)
    }
}

/// What lines come to, before tax on top; none where there are none.
pub fn total_of(lines: &[OrderLine]) -> Option<Money> {
    let currency = lines.first()?.each.currency();
    let minor = lines.iter().fold(0_i64, |sum, line| {
        sum.saturating_add(times(line.each, line.count).minor())
    });
    Some(Money::from_minor(minor, currency))
}

pub(crate) fn times(each: Money, count: u32) -> Money {
    let minor = each.minor().saturating_mul(i64::from(count));
    Money::from_minor(minor, each.currency())
}

/// What to pick for an order, and what there is too little of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Pick {
    /// Lot by lot, the earliest best-by first.
    pub units: Vec<Units>,
    /// Which good, how many are wanted still, and how many there are.
    pub short: Vec<(ProductId, u32, u32)>,
}

/// What to pick for what an order still wants.
pub fn pick_for(workshop: &Workshop, order: &Order, day: Date) -> Pick {
    let mut pick = Pick::default();
    for (product, wanted) in order.still_wanted() {
        let (units, there) = take_earliest(workshop, product, wanted, day);
        pick.units.extend(units);
        if there < wanted {
            pick.short.push((product, wanted, there));
        }
    }
    pick
}

/// So many of a good from the lots on the rack, the earliest best-by first,
/// and how many there are in all.
pub fn take_earliest(
    workshop: &Workshop,
    product: ProductId,
    wanted: u32,
    day: Date,
) -> (Vec<Units>, u32) {
    let mut left = wanted;
    let mut there = 0_u32;
    let mut units = Vec::new();
    for lot in for_sale(workshop, product, day) {
        there = there.saturating_add(lot.count);
        let count = lot.count.min(left);
        left -= count;
        if count > 0 {
            units.push(Units {
                product,
                lot: Some(lot.lot),
                grade: Grade::Good,
                count,
            });
        }
    }
    (units, there)
}

/// Splits what a buyer pays into what it pays in all and the tax in that,
/// rounded half-even once.
pub fn with_tax(amount: Money, tax: Option<&SalesTax>) -> (Money, Money) {
    let currency = amount.currency();
    let nothing = Money::from_minor(0, currency);
    let Some(tax) = tax else {
        return (amount, nothing);
    };
    let rate = tax.rate.decimal();
    if tax.inside {
        let part = rate.checked_div(Decimal::ONE.saturating_add(rate));
        let inside = part.and_then(|part| {
            // The division first would lose a digit that decides a half.
            let whole = amount.cost().times(rate).over(Decimal::ONE + rate);
            whole.unwrap_or(amount.cost().times(part)).rounded()
        });
        return (amount, inside.unwrap_or(nothing));
    }
    let on_top = amount.cost().times(rate).rounded().unwrap_or(nothing);
    let paid = amount.minor().saturating_add(on_top.minor());
    (Money::from_minor(paid, currency), on_top)
}

/// The tax that a buyer is charged; none where the workshop takes none or the
/// buyer is not taxed.
pub fn tax_for<'a>(trade: &'a Trade, buyer: &Buyer) -> Option<&'a SalesTax> {
    let tax = trade.books()?.tax.as_ref()?;
    (!buyer.terms.untaxed).then_some(tax)
}

/// What a good usually costs a buyer, before tax on top: what its channel asks,
/// or less its own discount off the usual price; where a shop pays for what it
/// sells, the share of the price that the maker keeps. Rounded half-even to the
/// minor unit. None without a price.
pub fn price_for(workshop: &Workshop, buyer: &Buyer, product: ProductId) -> Option<Money> {
    let channel = workshop.trade().channel(buyer.terms.channel)?;
    let own = channel.prices.get(&product).copied();
    let usual = workshop.product(product).and_then(|good| good.prices);
    let usual = usual.map(|prices| prices.typical);
    let less = |discount: Ratio| Decimal::ONE - discount.decimal();
    let (price, part) = match (channel.kind, buyer.terms.discount) {
        // A shop's own discount is what it keeps of the price on its shelf.
        (ChannelKind::SaleOrReturn, Some(discount)) => (own.or(usual)?, less(discount)),
        (ChannelKind::SaleOrReturn, None) => {
            let share = channel.terms.share.map_or(Decimal::ONE, Ratio::decimal);
            (own.or(usual)?, share)
        }
        // What the channel asks has a discount off already.
        (_, Some(discount)) => (usual.or(own)?, less(discount)),
        (_, None) => return price_in(workshop, channel, product),
    };
    price.cost().times(part).rounded()
}

/// A good that stands at a shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtShop {
    /// The good; none for a lot whose good is not known any more.
    pub product: ProductId,
    /// Its units there, lot by lot, the first poured first.
    pub units: Vec<Units>,
    /// How many in all.
    pub count: u32,
    /// What the shop pays for each it sold, before tax on top.
    pub each: Option<Money>,
    /// The day the last of them left for the shop.
    pub since: Option<Date>,
}

/// What stands at a shop, good by good.
pub fn at_shop(workshop: &Workshop, shop: BuyerId) -> Vec<AtShop> {
    let mut goods: BTreeMap<ProductId, AtShop> = BTreeMap::new();
    for (item, count) in workshop.goods().at(Place::Shop(shop)) {
        let Item::Lot(lot, grade) = item else {
            continue;
        };
        let good = workshop.pour(lot).and_then(|pour| good_of(workshop, pour));
        let (Some(good), Ok(count)) = (good, u32::try_from(count)) else {
            continue;
        };
        let there = goods.entry(good.id).or_insert_with(|| {
            let (each, since) = agreed(workshop, shop, good.id);
            AtShop {
                product: good.id,
                units: Vec::new(),
                count: 0,
                each,
                since,
            }
        });
        there.count = there.count.saturating_add(count);
        there.units.push(Units {
            product: good.id,
            lot: Some(lot),
            grade,
            count,
        });
    }
    let mut goods: Vec<AtShop> = goods.into_values().collect();
    for good in &mut goods {
        let poured = |units: &Units| {
            let pour = units.lot.and_then(|lot| workshop.pour(lot));
            pour.and_then(|pour| pour.poured)
        };
        good.units.sort_by_key(|units| (poured(units), units.lot));
    }
    goods
}

/// What was agreed for a good in the last order on return that brought it to a
/// shop, and the day of it; without one, what it usually costs the shop.
pub(crate) fn agreed(
    workshop: &Workshop,
    shop: BuyerId,
    product: ProductId,
) -> (Option<Money>, Option<Date>) {
    let trade = workshop.trade();
    let lent = trade
        .orders()
        .rev()
        .filter(|order| order.buyer == shop && order.on_return)
        .find_map(|order| Some((order.each(product)?, order.sent?)));
    if let Some((each, sent)) = lent {
        (Some(each), Some(sent))
    } else {
        let buyer = trade.buyer(shop);
        let usual = buyer.and_then(|buyer| price_for(workshop, buyer, product));
        (usual, None)
    }
}

/// Sales of a buyer that are owed and stand on no invoice, oldest first.
pub fn to_invoice(trade: &Trade, buyer: BuyerId) -> Vec<&Sale> {
    trade
        .sales()
        .iter()
        .filter(|sale| sale.buyer == Some(buyer) && is_to_invoice(sale))
        .collect()
}

/// Buyers with sales that are owed and stand on no invoice, with what these
/// come to.
pub fn buyers_to_invoice(trade: &Trade) -> BTreeMap<BuyerId, Money> {
    let mut found: BTreeMap<BuyerId, Money> = BTreeMap::new();
    for sale in trade.sales().iter().filter(|sale| is_to_invoice(sale)) {
        let Some(buyer) = sale.buyer else { continue };
        let (owed, _) = kept_of(sale);
        found
            .entry(buyer)
            .and_modify(|sum| *sum = plus(*sum, owed))
            .or_insert(owed);
    }
    found
}

/// What all of these buyers have still to be invoiced for; none where that is
/// nothing.
pub fn to_invoice_in_all(open: &BTreeMap<BuyerId, Money>) -> Option<Money> {
    let sum = open.values().copied().reduce(plus);
    sum.filter(|sum| sum.minor() > 0)
}

fn is_to_invoice(sale: &Sale) -> bool {
    sale.payment == Payment::Owed && sale.invoice.is_none() && sale.voided.is_none()
}

/// What of a sale the buyer still has to pay after what came back, and the tax
/// in it.
pub(crate) fn kept_of(sale: &Sale) -> (Money, Money) {
    let less = |money: Money, of: i64| {
        Money::from_minor(money.minor().saturating_sub(of), money.currency())
    };
    let refunds = sale.returns.iter().map(|back| back.refund.minor());
    let taxes = sale.returns.iter().map(|back| back.tax.minor());
    (
        less(sale.paid(), refunds.sum()),
        less(sale.tax, taxes.sum()),
    )
}

pub(crate) fn plus(one: Money, other: Money) -> Money {
    let minor = one.minor().saturating_add(other.minor());
    Money::from_minor(minor, one.currency())
}

/// What a buyer was charged for goods of its sales, tax in it: of each line the
/// share of these units, rounded half-even. None where there are no goods.
pub fn charged_for(trade: &Trade, goods: &[(SaleId, Vec<Units>)]) -> Option<Money> {
    let alike =
        |one: &Units, other: &Units| Units { count: 0, ..*one } == Units { count: 0, ..*other };
    let mut of_line: BTreeMap<(SaleId, usize), u32> = BTreeMap::new();
    for (id, units) in goods {
        let lines = trade
            .sale(*id)
            .map_or(&[][..], |sale| sale.lines.as_slice());
        for one in units {
            let is_in = |line: &SaleLine| line.units.iter().any(|it| alike(it, one));
            if let Some(nth) = lines.iter().position(is_in) {
                let sum = of_line.entry((*id, nth)).or_default();
                *sum = sum.saturating_add(one.count);
            }
        }
    }
    let parts = of_line.into_iter().filter_map(|((id, nth), count)| {
        let line = trade.sale(id)?.lines.get(nth)?;
        let all = line
            .units
            .iter()
            .fold(0_u32, |sum, it| sum.saturating_add(it.count));
        let share = line.paid.cost().times(Decimal::from(count.min(all)));
        share.over(Decimal::from(all))?.rounded()
    });
    parts.reduce(plus)
}

/// What came back with a credit note.
pub fn came_back_with<'a>(trade: &'a Trade, note: &Invoice) -> Vec<&'a Returned> {
    let Some((of, reason)) = &note.credits else {
        return Vec::new();
    };
    let on_it = trade.invoice(*of);
    let sales = on_it.map_or(&[][..], |invoice| invoice.sales.as_slice());
    let sales = sales.iter().filter_map(|id| trade.sale(*id));
    // Its money is in the note, so that nothing is given back beside it.
    let is_with = |back: &&Returned| {
        back.day == note.day && back.refund.minor() == 0 && back.reason == *reason
    };
    sales
        .flat_map(|sale| &sale.returns)
        .filter(is_with)
        .collect()
}

/// How an invoice stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Account {
    /// What it comes to.
    pub invoiced: Money,
    /// What credit notes took off.
    pub credited: Money,
    /// What came in.
    pub paid: Money,
    /// What is left to pay; never below zero.
    pub owed: Money,
    /// The tax that credit notes took off.
    pub credited_tax: Money,
}

/// How every invoice stands, credit notes apart.
pub fn accounts(trade: &Trade) -> BTreeMap<InvoiceId, Account> {
    let mut accounts: BTreeMap<InvoiceId, Account> = BTreeMap::new();
    for invoice in trade.invoices() {
        match &invoice.credits {
            None => {
                let nothing = Money::from_minor(0, invoice.total.currency());
                let paid = invoice
                    .paid
                    .iter()
                    .fold(nothing, |sum, (_, amount, _)| plus(sum, *amount));
                let account = Account {
                    invoiced: invoice.total,
                    credited: nothing,
                    paid,
                    owed: nothing,
                    credited_tax: nothing,
                };
                accounts.insert(invoice.id, account);
            }
            Some((of, _)) => {
                if let Some(account) = accounts.get_mut(of) {
                    account.credited = plus(account.credited, invoice.total);
                    account.credited_tax = plus(account.credited_tax, invoice.tax);
                }
            }
        }
    }
    for account in accounts.values_mut() {
        let left = account.invoiced.minor() - account.credited.minor() - account.paid.minor();
        account.owed = Money::from_minor(left.max(0), account.invoiced.currency());
    }
    accounts
}

/// What a buyer owes on its invoices; none where it has none.
pub fn owed_by(trade: &Trade, buyer: BuyerId) -> Option<Money> {
    owed_by_all(trade).remove(&buyer)
}

/// What every buyer with an invoice owes.
pub fn owed_by_all(trade: &Trade) -> BTreeMap<BuyerId, Money> {
    let accounts = accounts(trade);
    let mut owed: BTreeMap<BuyerId, Money> = BTreeMap::new();
    for invoice in trade.invoices() {
        if let Some(account) = accounts.get(&invoice.id) {
            owed.entry(invoice.buyer)
                .and_modify(|sum| *sum = plus(*sum, account.owed))
                .or_insert(account.owed);
        }
    }
    owed
}

/// What all of some invoices are short of; none where there are none.
pub fn owed_in_all<'a>(accounts: impl IntoIterator<Item = &'a Account>) -> Option<Money> {
    let owed = accounts.into_iter().map(|account| account.owed);
    owed.reduce(plus)
}

/// What a shop would pay if everything that stands there sold; none where a
/// price is not agreed, or nothing stands there.
pub fn if_all_sells(there: &[AtShop]) -> Option<Money> {
    let each = there.iter().map(|good| Some(times(good.each?, good.count)));
    let amounts: Option<Vec<Money>> = each.collect();
    amounts?.into_iter().reduce(plus)
}

/// Whether an invoice is past its day and not paid.
pub fn is_overdue(invoice: &Invoice, account: &Account, day: Date) -> bool {
    account.owed.minor() > 0 && invoice.due.is_some_and(|due| due < day)
}

/// The sale that went with an order that was sold outright; none before it is
/// sent.
pub fn sale_of(trade: &Trade, order: OrderId) -> Option<SaleId> {
    let sales = trade.sales().iter().rev();
    let mut of = sales.filter(|sale| sale.order == Some(order));
    of.next().map(|sale| sale.id)
}

/// Shows how the total of lines was found, with its tax.
pub fn total_working(lines: &[(String, u32, Money)], tax: Option<&SalesTax>) -> Working {
    let mut working = Working::new();
    let mut sum: Option<Money> = None;
    for (name, count, each) in lines {
        let line = times(*each, *count);
        working.step(
            name.clone(),
            "count × each",
            format!("{count} × {each}"),
            line.to_string(),
            "arithmetic",
        );
        sum = Some(sum.map_or(line, |sum| plus(sum, line)));
    }
    let Some(sum) = sum else { return working };
    let (paid, tax_in) = with_tax(sum, tax);
    if let Some(tax) = tax {
        let rate = measure::percent(tax.rate, 2);
        let (formula, numbers) = if tax.inside {
            (
                "total × rate ÷ (1 + rate)",
                format!("{sum} × {rate} ÷ (1 + {rate})"),
            )
        } else {
            ("total × rate", format!("{sum} × {rate}"))
        };
        working.step(
            tax.name.clone(),
            formula,
            numbers,
            tax_in.to_string(),
            "rounded half-even once for the whole",
        );
    }
    working.step(
        "To pay",
        "the lines and the tax on top",
        "",
        paid.to_string(),
        "arithmetic",
    );
    working
}
