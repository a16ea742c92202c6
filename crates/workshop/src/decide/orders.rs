//! Decisions about buyers, their orders, the shops that sell for the maker,
//! and what is invoiced and paid.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Span;
use jiff::civil::Date;
use measure::{Currency, Mass, Money, Problem, Typed};

use super::{
    Decision, MOST_LINES, fact, line, not_too_dear, not_too_heavy, not_too_many, note,
    refuse_if_any,
};
use crate::Refusal;
use crate::facts::{
    BuyerForgotten, BuyerId, BuyerSettled, BuyerTerms, Credited, Fact, GoodsReturned, Grade,
    InvoiceId, InvoicePaid, Invoiced, OrderCancelled, OrderConfirmed, OrderId, OrderLine,
    OrderPacked, OrderPicked, OrderSent, OrderTaken, Payment, Place, ProductId, ReturnTo, SaleFrom,
    SaleId, SaleLine, SalesTax, ShopCounted, Sold, Units,
};
use crate::goods::Item;
use crate::orders::{
    accounts, agreed, charged_for, for_sale, kept_of, pick_for, plus, price_for, take_earliest,
    tax_for, times, to_invoice, total_of, with_tax,
};
use crate::state::Workshop;
use crate::trade::{Buyer, Order, OrderStage, Sale};
use crate::worth::{good_of, is_of};

/// The most of a good in one order.
const MOST_ORDERED: u32 = 100_000;
/// The most days anyone waits for money.
const MOST_DAYS: u16 = 366;
/// The most parcels of one order.
const MOST_PARCELS: u32 = 1_000;
/// The most sales on one invoice.
const MOST_SALES: usize = 1_000;

/// Enters a buyer, or changes what is agreed with one.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a buyer that is not there; [`Refusal::Input`] for a
/// channel that is not there or given up, a country that is not two letters, a
/// discount of more than everything, and for a buyer that was forgotten.
#[expect(
    clippy::needless_pass_by_value,
    reason = "a wish is handed over whole, as to every other decision"
)]
pub fn settle_buyer(workshop: &Workshop, buyer: Option<BuyerId>, terms: BuyerTerms) -> Decision {
    let trade = workshop.trade();
    let before = buyer.map(|id| known_buyer(workshop, id)).transpose()?;
    if let Some(before) = before {
        not_forgotten(before)?;
    }
    let mut problems = Vec::new();
    let kept_channel = before.is_some_and(|before| before.terms.channel == terms.channel);
    match trade.channel(terms.channel) {
        None => problems.push(Problem::new(
            "channel",
            terms.channel.to_string(),
            "there is no such channel",
            "choose one of those there are, or open one first",
        )),
        Some(channel) if channel.closed && !kept_channel => problems.push(Problem::new(
            "channel",
            channel.name.clone(),
            "it is given up",
            "choose one that is open",
        )),
        Some(_) => {}
    }
    let country = terms.country.trim().to_ascii_uppercase();
    let is_code = country.len() == 2 && country.bytes().all(|byte| byte.is_ascii_uppercase());
    if !country.is_empty() && !is_code {
        problems.push(Problem::new(
            "country",
            terms.country.chars().take(30).collect::<String>(),
            "it is not the two letters of a country",
            "write US, GB, DE and so on, or leave it empty",
        ));
    }
    if let Some(days) = terms.days_to_pay.filter(|days| *days > MOST_DAYS) {
        problems.push(Problem::new(
            "days_to_pay",
            days.to_string(),
            "that is more than a year",
            format!("write 0 to {MOST_DAYS} days"),
        ));
    }
    if let Some(discount) = terms
        .discount
        .filter(|part| part.decimal() > measure::Decimal::ONE)
    {
        problems.push(Problem::new(
            "discount",
            measure::percent(discount, 2),
            "that is more than the whole price",
            "write 0 % to 100 %",
        ));
    }
    refuse_if_any(problems)?;
    let terms = BuyerTerms { country, ..terms };
    if before.is_some_and(|before| before.terms == terms) {
        return Ok(Vec::new());
    }
    let buyer = buyer.unwrap_or_else(|| trade.next_buyer());
    Ok(fact(BuyerSettled { buyer, terms }))
}

/// Forgets who a buyer is. What it bought stays written down, under its number.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a buyer that is not there; [`Refusal::Input`] while
/// an order of it is open, goods stand with it or it owes money: its name and
/// address are needed for that.
pub fn forget_buyer(workshop: &Workshop, buyer: BuyerId) -> Decision {
    let known = known_buyer(workshop, buyer)?;
    if known.forgotten {
        return Ok(Vec::new());
    }
    let trade = workshop.trade();
    let mut problems = Vec::new();
    let mut keep = |wrong: String, accepted: &str| {
        problems.push(Problem::new("buyer", buyer.to_string(), wrong, accepted));
    };
    let mut open = trade
        .orders()
        .filter(|order| order.buyer == buyer && order.is_open());
    if let Some(order) = open.next() {
        keep(
            format!("order {} is open", order.id),
            "send it or call it off first",
        );
    }
    if workshop.goods().at(Place::Shop(buyer)).next().is_some() {
        keep("goods stand there".to_owned(), "count them first");
    }
    if !to_invoice(trade, buyer).is_empty() {
        keep(
            "something is sold and not invoiced".to_owned(),
            "write the invoice first",
        );
    }
    let accounts = accounts(trade);
    let owing = trade.invoices().iter().find(|invoice| {
        let account = accounts.get(&invoice.id);
        invoice.buyer == buyer && account.is_some_and(|account| account.owed.minor() > 0)
    });
    if let Some(invoice) = owing {
        keep(
            format!("invoice {} is not paid", invoice.id),
            "write down what came in, or a credit note",
        );
    }
    refuse_if_any(problems)?;
    Ok(fact(BuyerForgotten { buyer }))
}

/// An order as it is wished for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderWish {
    /// Whose.
    pub buyer: BuyerId,
    /// Which good, how many, and what each costs; where that is not said, what
    /// it usually costs the buyer.
    pub lines: Vec<(ProductId, u32, Option<Money>)>,
    /// The day it is wanted.
    pub due: Option<Date>,
    /// Whether the shop pays only for what it sells.
    pub on_return: bool,
    /// Anything else; may be empty.
    pub note: String,
}

/// Takes an order, or changes one of which nothing is picked.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a buyer or an order that is not there,
/// [`Refusal::OutOfTurn`] once something is picked, [`Refusal::Input`] for lines
/// without a good, a count or a price, and for a good that stands twice.
pub fn take_order(
    workshop: &Workshop,
    day: Date,
    order: Option<OrderId>,
    wish: OrderWish,
) -> Decision {
    let own = own_currency(workshop)?;
    let buyer = known_buyer(workshop, wish.buyer)?;
    not_forgotten(buyer)?;
    let before = order.map(|id| known_order(workshop, id)).transpose()?;
    if let Some(before) = before {
        let stages = [OrderStage::Taken, OrderStage::Confirmed];
        at_stage(before, &stages, "call it off and write a new one")?;
    }
    let mut problems = Vec::new();
    if wish.lines.is_empty() {
        problems.push(Problem::new(
            "lines",
            "",
            "nothing is ordered",
            "write how many of at least one good",
        ));
    }
    problems.extend(not_too_many("lines", wish.lines.len(), MOST_LINES).err());
    let mut seen = BTreeSet::new();
    let mut lines = Vec::new();
    for (product, count, each) in wish.lines {
        let found = order_line(workshop, own, buyer, product, count, each, &mut problems);
        if !seen.insert(product) {
            problems.push(Problem::new(
                format!("count-{product}"),
                count.to_string(),
                "this good stands twice",
                "write it once, with all of them",
            ));
        }
        lines.extend(found);
    }
    if let Some(total) = total_of(&lines) {
        problems.extend(not_too_dear("lines", total).err());
    }
    let is_new = before.is_none_or(|before| before.due != wish.due);
    if let Some(due) = wish.due.filter(|due| *due < day && is_new) {
        problems.push(Problem::new(
            "due",
            due.to_string(),
            "that day is over",
            "write a day from today on, or leave it empty",
        ));
    }
    let note = remark("note", &wish.note, &mut problems);
    refuse_if_any(problems)?;
    let taken = OrderTaken {
        order: order.unwrap_or_else(|| workshop.trade().next_order()),
        buyer: buyer.id,
        channel: buyer.terms.channel,
        lines,
        due: wish.due,
        on_return: wish.on_return,
        note,
    };
    let is_same = |before: &Order| {
        before.buyer == taken.buyer
            && before.channel == taken.channel
            && before.lines == taken.lines
            && before.due == taken.due
            && before.on_return == taken.on_return
            && before.note == taken.note
    };
    if before.is_some_and(is_same) {
        return Ok(Vec::new());
    }
    Ok(fact(taken))
}

fn order_line(
    workshop: &Workshop,
    own: Currency,
    buyer: &Buyer,
    product: ProductId,
    count: u32,
    each: Option<Money>,
    problems: &mut Vec<Problem>,
) -> Option<OrderLine> {
    let field = |part: &str| format!("{part}-{product}");
    let Some(good) = workshop.product(product) else {
        problems.push(Problem::new(
            field("count"),
            product.to_string(),
            "there is no such good",
            "choose one of those there are",
        ));
        return None;
    };
    if !(1..=MOST_ORDERED).contains(&count) {
        problems.push(Problem::new(
            field("count"),
            count.to_string(),
            "nobody orders that many",
            format!("write 1 to {MOST_ORDERED}"),
        ));
    }
    let Some(each) = each.or_else(|| price_for(workshop, buyer, product)) else {
        problems.push(Problem::new(
            field("each"),
            "",
            format!("{} has no price yet", good.name),
            "write what each costs the buyer",
        ));
        return None;
    };
    let in_own =
        in_own_currency(&field("each"), own, each).and(not_below_nothing(&field("each"), each));
    problems.extend(in_own.and(not_too_dear(&field("each"), each)).err());
    Some(OrderLine {
        product,
        count,
        each,
    })
}

/// Notes that an order was confirmed to the buyer.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] for one called off.
pub fn confirm_order(workshop: &Workshop, order: OrderId) -> Decision {
    let known = known_order(workshop, order)?;
    match known.stage {
        OrderStage::Taken => Ok(fact(OrderConfirmed { order })),
        OrderStage::Cancelled => at_stage(known, &[], "write a new one").map(|()| Vec::new()),
        _ => Ok(Vec::new()),
    }
}

/// What to pick of a good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PickWish {
    /// Which good.
    pub product: ProductId,
    /// Out of which lot; none for the earliest best-by first.
    pub lot: Option<crate::facts::PourId>,
    /// How many.
    pub count: u32,
}

/// Picks goods for an order: what is asked, or without that everything it
/// still wants. Lots that are held or still cure are left alone; where no lot
/// is said, the earliest best-by goes first and several lots make up the count.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] once it is packed,
/// [`Refusal::Input`] for more than there is, saying how many there are, for
/// more than is ordered, and for a lot that may not be sold.
pub fn pick_order(workshop: &Workshop, day: Date, order: OrderId, asked: &[PickWish]) -> Decision {
    let known = known_order(workshop, order)?;
    let stages = [OrderStage::Taken, OrderStage::Confirmed, OrderStage::Picked];
    at_stage(known, &stages, "what is packed cannot be added to")?;
    let wanted: BTreeMap<ProductId, u32> = known.still_wanted().into_iter().collect();
    if wanted.is_empty() {
        return Err(Problem::new(
            "order",
            order.to_string(),
            "everything is picked",
            "pack it",
        )
        .into());
    }
    let mut problems = Vec::new();
    let units = if asked.is_empty() {
        let pick = pick_for(workshop, known, day);
        for (product, wanted, there) in pick.short {
            problems.push(too_few(workshop, product, wanted, there));
        }
        pick.units
    } else {
        asked_units(workshop, day, asked, &wanted, &mut problems)
    };
    if units.is_empty() && problems.is_empty() {
        problems.push(Problem::new(
            "order",
            order.to_string(),
            "nothing is picked",
            "write how many of a lot",
        ));
    }
    refuse_if_any(problems)?;
    Ok(fact(OrderPicked { order, units }))
}

fn asked_units(
    workshop: &Workshop,
    day: Date,
    asked: &[PickWish],
    wanted: &BTreeMap<ProductId, u32>,
    problems: &mut Vec<Problem>,
) -> Vec<Units> {
    problems.extend(not_too_many("lines", asked.len(), 10 * MOST_LINES).err());
    let mut picked: BTreeMap<ProductId, u32> = BTreeMap::new();
    let mut of_lot: BTreeMap<Units, u32> = BTreeMap::new();
    let mut add = |units: Units| {
        let key = Units { count: 0, ..units };
        let sum = of_lot.entry(key).or_default();
        *sum = sum.saturating_add(units.count);
    };
    let mut open: BTreeMap<ProductId, u32> = BTreeMap::new();
    for ask in asked.iter().filter(|ask| ask.count > 0) {
        let sum = picked.entry(ask.product).or_default();
        *sum = sum.saturating_add(ask.count);
        match ask.lot {
            Some(lot) => add(Units {
                product: ask.product,
                lot: Some(lot),
                grade: Grade::Good,
                count: ask.count,
            }),
            None => *open.entry(ask.product).or_default() = sum_of(asked, ask.product),
        }
    }
    for (product, count) in &picked {
        let most = wanted.get(product).copied().unwrap_or(0);
        if *count > most {
            let name = good_name(workshop, *product);
            problems.push(Problem::new(
                format!("count-{product}"),
                count.to_string(),
                format!("{most} more of {name} are wanted"),
                "pick no more than is ordered",
            ));
        }
    }
    for (product, count) in open {
        let (units, there) = take_earliest(workshop, product, count, day);
        if there < count {
            problems.push(too_few(workshop, product, count, there));
        }
        units.into_iter().for_each(&mut add);
    }
    let mut on_rack: BTreeMap<ProductId, Vec<crate::orders::ForSale>> = BTreeMap::new();
    let mut units = Vec::new();
    for (key, count) in of_lot {
        let Some(lot) = key.lot else { continue };
        let lots = on_rack
            .entry(key.product)
            .or_insert_with(|| for_sale(workshop, key.product, day));
        let there = lots.iter().find(|there| there.lot == lot);
        match there {
            Some(there) if there.count >= count => units.push(Units { count, ..key }),
            Some(there) => problems.push(Problem::new(
                format!("lot-{lot}"),
                count.to_string(),
                format!(
                    "{} of lot {} are on the rack",
                    there.count,
                    lot_code(workshop, lot)
                ),
                "pick no more than there are",
            )),
            None => problems.push(Problem::new(
                format!("lot-{lot}"),
                count.to_string(),
                why_not(workshop, key.product, lot),
                "pick from a lot that may be sold",
            )),
        }
    }
    units
}

fn sum_of(asked: &[PickWish], product: ProductId) -> u32 {
    asked
        .iter()
        .filter(|ask| ask.product == product && ask.lot.is_none())
        .fold(0, |sum, ask| sum.saturating_add(ask.count))
}

fn too_few(workshop: &Workshop, product: ProductId, wanted: u32, there: u32) -> Problem {
    let name = good_name(workshop, product);
    let accepted = match there {
        0 => "pour more, or release a lot that is held".to_owned(),
        there => format!("pick the {there} there are, or wait for more"),
    };
    Problem::new(
        format!("count-{product}"),
        wanted.to_string(),
        format!("{there} of {name} may be sold now"),
        accepted,
    )
}

fn why_not(workshop: &Workshop, product: ProductId, lot: crate::facts::PourId) -> String {
    let code = lot_code(workshop, lot);
    let pour = workshop.pour(lot);
    let good = workshop.product(product);
    match pour.zip(good) {
        None => format!("there is no lot {code}"),
        Some((pour, good)) if !is_of(pour, good) => {
            format!("lot {code} is not of {}", good.name)
        }
        Some((pour, _)) if pour.held.is_some() => format!("lot {code} is held"),
        Some(_) => format!("lot {code} still cures, or none of it is left"),
    }
}

/// Notes that a picked order was packed, in so many parcels.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] before something is picked,
/// [`Refusal::Input`] for no parcels or more than anyone packs.
pub fn pack_order(
    workshop: &Workshop,
    order: OrderId,
    parcels: u32,
    weight: Option<Typed<Mass>>,
) -> Decision {
    let known = known_order(workshop, order)?;
    let stages = [OrderStage::Picked, OrderStage::Packed];
    at_stage(known, &stages, next_after(known.stage))?;
    let mut problems = Vec::new();
    if !(1..=MOST_PARCELS).contains(&parcels) {
        problems.push(Problem::new(
            "parcels",
            parcels.to_string(),
            "that many parcels cannot be",
            format!("write 1 to {MOST_PARCELS}"),
        ));
    }
    if let Some(weight) = &weight {
        problems.extend(not_too_heavy("weight", weight).err());
    }
    refuse_if_any(problems)?;
    if known.stage == OrderStage::Packed && known.parcels == Some(parcels) && known.weight == weight
    {
        return Ok(Vec::new());
    }
    Ok(fact(OrderPacked {
        order,
        parcels,
        weight,
    }))
}

/// What goes with an order as it is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SendWish {
    /// What sending it cost.
    pub postage: Option<Money>,
    /// What the buyer is charged for that, before tax on top.
    pub charged: Option<Money>,
    /// How it is paid.
    pub payment: Payment,
}

/// Sends a packed order. Sold outright, its goods are sold with it at the
/// agreed prices; on return, they stand at the shop from now on and are still
/// the maker's.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] unless it is packed,
/// [`Refusal::Input`] for amounts below nothing or in another currency.
pub fn send_order(workshop: &Workshop, order: OrderId, wish: SendWish) -> Decision {
    let own = own_currency(workshop)?;
    let known = known_order(workshop, order)?;
    at_stage(known, &[OrderStage::Packed], next_after(known.stage))?;
    let mut problems = Vec::new();
    for (field, money) in [("postage", wish.postage), ("charged", wish.charged)] {
        if let Some(money) = money {
            let checked = in_own_currency(field, own, money)
                .and(not_below_nothing(field, money))
                .and(not_too_dear(field, money));
            problems.extend(checked.err());
        }
    }
    let charged = wish.charged.filter(|money| money.minor() != 0);
    if known.on_return && charged.is_some() {
        problems.push(Problem::new(
            "charged",
            charged.map_or_else(String::new, |money| money.to_string()),
            "nothing is sold yet that postage could be charged with",
            "leave it empty",
        ));
    }
    refuse_if_any(problems)?;
    let sent = OrderSent {
        order,
        postage: wish.postage,
    };
    if known.on_return {
        return Ok(fact(sent));
    }
    let packed = units_at(workshop, Place::Packed(order), &known.picked);
    if packed.is_empty() {
        return Err(Problem::new(
            "order",
            order.to_string(),
            "nothing is in it any more",
            "call it off",
        )
        .into());
    }
    let nothing = Money::from_minor(0, own);
    let mut lines: Vec<(Vec<Units>, Money)> = Vec::new();
    for line in &known.lines {
        let units: Vec<Units> = packed
            .iter()
            .filter(|units| units.product == line.product)
            .copied()
            .collect();
        if !units.is_empty() {
            let amount = times(line.each, count_of(&units));
            lines.push((units, amount));
        }
    }
    let stray: Vec<Units> = packed
        .iter()
        .filter(|units| known.each(units.product).is_none())
        .copied()
        .collect();
    if !stray.is_empty() {
        lines.push((stray, nothing));
    }
    let buyer = known_buyer(workshop, known.buyer)?;
    let (lines, postage, tax) = taxed(lines, charged, tax_for(workshop.trade(), buyer), own);
    let sold = Sold {
        sale: workshop.trade().next_sale(),
        token: String::new(),
        from: SaleFrom::Order,
        channel: known.channel,
        market_day: None,
        buyer: Some(known.buyer),
        order: Some(order),
        lines,
        postage,
        tax,
        fees: None,
        payment: wish.payment,
        row: None,
    };
    Ok(vec![sold.into(), sent.into()])
}

/// Lines and postage with the tax in them, which is reckoned once for all and
/// shared out by the largest remainder, and that tax.
fn taxed(
    lines: Vec<(Vec<Units>, Money)>,
    postage: Option<Money>,
    tax: Option<&SalesTax>,
    own: Currency,
) -> (Vec<SaleLine>, Option<Money>, Money) {
    let nothing = Money::from_minor(0, own);
    let amounts = lines.iter().map(|(_, amount)| *amount).chain(postage);
    let total = amounts.clone().fold(nothing, plus);
    let (paid, tax_in) = with_tax(total, tax);
    let on_top = Money::from_minor(paid.minor().saturating_sub(total.minor()), own);
    let weights: Vec<u64> = amounts
        .map(|amount| u64::try_from(amount.minor()).unwrap_or(0))
        .collect();
    let shares = price::spread(on_top, &weights).unwrap_or_default();
    let mut shares = shares.into_iter();
    let mut with_share = |amount: Money| shares.next().map_or(amount, |share| plus(amount, share));
    let lines = lines
        .into_iter()
        .map(|(units, amount)| SaleLine {
            units,
            paid: with_share(amount),
        })
        .collect();
    let postage = postage.map(with_share);
    (lines, postage, tax_in)
}

/// Calls an order off. What was picked for it goes back to the rack.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] for one that is sent,
/// [`Refusal::Input`] without a reason.
pub fn cancel_order(workshop: &Workshop, order: OrderId, reason: &str) -> Decision {
    let known = known_order(workshop, order)?;
    match known.stage {
        OrderStage::Cancelled => Ok(Vec::new()),
        OrderStage::Sent => {
            let instead = "write a credit note, or count the shop";
            at_stage(known, &[], instead).map(|()| Vec::new())
        }
        _ => {
            let reason = note("reason", reason)?;
            Ok(fact(OrderCancelled { order, reason }))
        }
    }
}

/// Puts back on the rack what was picked for an order, to pick it anew. It is
/// called off, and one with the next number and the same lines takes its place.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::OutOfTurn`] before anything is picked and
/// once it is sent.
pub fn pick_anew(workshop: &Workshop, order: OrderId) -> Decision {
    let known = known_order(workshop, order)?;
    let stages = [OrderStage::Picked, OrderStage::Packed];
    at_stage(known, &stages, next_after(known.stage))?;
    let anew = workshop.trade().next_order();
    let cancelled = OrderCancelled {
        order,
        reason: format!("picked anew as order {anew}"),
    };
    let taken = OrderTaken {
        order: anew,
        buyer: known.buyer,
        channel: known.channel,
        lines: known.lines.clone(),
        due: known.due,
        on_return: known.on_return,
        note: known.note.clone(),
    };
    let confirmed = OrderConfirmed { order: anew };
    Ok(vec![cancelled.into(), taken.into(), confirmed.into()])
}

/// What was found of a good at a shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShopWish {
    /// Which good.
    pub product: ProductId,
    /// Still there; none where nobody looked, which leaves what the rest leaves.
    pub there: Option<u32>,
    /// Sold; none for whatever the others leave of what stood there.
    pub sold: Option<u32>,
    /// Given back, fit for sale.
    pub back: u32,
    /// Damaged there.
    pub spoilt: u32,
    /// Neither sold nor there.
    pub missing: u32,
    /// What the shop pays for each it sold, before tax on top; none for what
    /// was agreed.
    pub each: Option<Money>,
}

/// Counts what a shop has that pays for what it sells. What it sold is sold
/// with this, out of the lot that went there first.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::Input`] where the figures do not add up to
/// what stood there, and for a good without a price. More sold than stood
/// there is taken as it is, lot unknown, since it happened.
pub fn count_shop(workshop: &Workshop, buyer: BuyerId, found: &[ShopWish]) -> Decision {
    let own = own_currency(workshop)?;
    let known = known_buyer(workshop, buyer)?;
    let mut problems = Vec::new();
    problems.extend(not_too_many("lines", found.len(), MOST_LINES).err());
    let mut seen = BTreeSet::new();
    let mut counted = ShopCounted {
        buyer,
        back: Vec::new(),
        spoilt: Vec::new(),
        missing: Vec::new(),
    };
    let mut sold: Vec<(Vec<Units>, Money)> = Vec::new();
    for wish in found {
        let product = wish.product;
        if !seen.insert(product) {
            problems.push(Problem::new(
                format!("sold-{product}"),
                "",
                "this good stands twice",
                "write it once, with all of them",
            ));
            continue;
        }
        let mut there = shop_units(workshop, buyer, product);
        let n_sold = match n_sold(workshop, wish, count_of(&there)) {
            Ok(n_sold) => n_sold,
            Err(problem) => {
                problems.push(problem);
                continue;
            }
        };
        if n_sold > 0 {
            let each = wish.each.or_else(|| agreed(workshop, buyer, product).0);
            match each {
                None => problems.push(Problem::new(
                    format!("each-{product}"),
                    "",
                    format!("no price is agreed for {}", good_name(workshop, product)),
                    "write what the shop pays for each",
                )),
                Some(each) => {
                    let field = format!("each-{product}");
                    let checked = in_own_currency(&field, own, each)
                        .and(not_below_nothing(&field, each))
                        .and(not_too_dear(&field, times(each, n_sold)));
                    problems.extend(checked.err());
                    let units = take_units(&mut there, product, n_sold);
                    sold.push((units, times(each, n_sold)));
                }
            }
        }
        // What came back or was spoilt is more likely of the later delivery.
        counted
            .back
            .extend(take_units(&mut there, product, wish.back));
        counted
            .spoilt
            .extend(take_units(&mut there, product, wish.spoilt));
        counted
            .missing
            .extend(take_units(&mut there, product, wish.missing));
    }
    refuse_if_any(problems)?;
    let mut facts: Vec<Fact> = Vec::new();
    if !sold.is_empty() {
        let (lines, postage, tax) = taxed(sold, None, tax_for(workshop.trade(), known), own);
        let total = lines.iter().map(|line| line.paid.minor()).sum::<i64>();
        not_too_dear("lines", Money::from_minor(total, own))?;
        facts.push(
            Sold {
                sale: workshop.trade().next_sale(),
                token: String::new(),
                from: SaleFrom::Shop,
                channel: known.terms.channel,
                market_day: None,
                buyer: Some(buyer),
                order: None,
                lines,
                postage,
                tax,
                fees: None,
                payment: Payment::Owed,
                row: None,
            }
            .into(),
        );
    }
    facts.push(counted.into());
    Ok(facts)
}

/// How many were sold, where the figures of a good add up.
fn n_sold(workshop: &Workshop, wish: &ShopWish, stood: u32) -> Result<u32, Problem> {
    let product = wish.product;
    let name = good_name(workshop, product);
    let field = |part: &str| format!("{part}-{product}");
    for (part, count) in [
        ("there", wish.there.unwrap_or(0)),
        ("sold", wish.sold.unwrap_or(0)),
        ("back", wish.back),
        ("spoilt", wish.spoilt),
        ("missing", wish.missing),
    ] {
        if count > MOST_ORDERED {
            let accepted = format!("write 0 to {MOST_ORDERED}");
            let wrong = "nobody counts that many";
            return Err(Problem::new(
                field(part),
                count.to_string(),
                wrong,
                accepted,
            ));
        }
    }
    let gone = wish.back + wish.spoilt + wish.missing;
    if gone > stood {
        return Err(Problem::new(
            field("back"),
            gone.to_string(),
            format!("{stood} of {name} stood there"),
            "write no more than that together",
        ));
    }
    let Some(there) = wish.there else {
        return Ok(wish.sold.unwrap_or(0));
    };
    let accounted = there + gone;
    match (stood.checked_sub(accounted), wish.sold) {
        (None, _) => Err(Problem::new(
            field("there"),
            there.to_string(),
            format!("{stood} of {name} stood there, and with the rest that makes {accounted}"),
            "count again, or write down first what else was brought there",
        )),
        (Some(left), None) => Ok(left),
        (Some(left), Some(sold)) if sold == left => Ok(sold),
        (Some(left), Some(sold)) => Err(Problem::new(
            field("sold"),
            sold.to_string(),
            format!("{stood} of {name} stood there, so {left} are gone"),
            "leave one of the two empty, or write the difference as missing",
        )),
    }
}

/// Units of a good at a shop, those of the lot that was poured first in front.
fn shop_units(workshop: &Workshop, buyer: BuyerId, product: ProductId) -> Vec<Units> {
    let mut units = units_at(workshop, Place::Shop(buyer), &[]);
    units.retain(|units| units.product == product);
    let poured = |units: &Units| {
        let pour = units.lot.and_then(|lot| workshop.pour(lot));
        pour.and_then(|pour| pour.poured)
    };
    units.sort_by_key(|units| (poured(units), units.lot, units.grade));
    units
}

/// Takes so many from the front; what is not there has no lot.
fn take_units(from: &mut Vec<Units>, product: ProductId, count: u32) -> Vec<Units> {
    let mut taken = Vec::new();
    let mut left = count;
    for units in from.iter_mut() {
        let part = units.count.min(left);
        if part > 0 {
            taken.push(Units {
                count: part,
                ..*units
            });
            units.count -= part;
            left -= part;
        }
    }
    from.retain(|units| units.count > 0);
    if left > 0 {
        taken.push(Units {
            product,
            lot: None,
            grade: Grade::Good,
            count: left,
        });
    }
    taken
}

/// Everything of known lots at a place. The good of a lot is the one it was
/// picked as, where that is said.
fn units_at(workshop: &Workshop, place: Place, picked: &[Units]) -> Vec<Units> {
    workshop
        .goods()
        .at(place)
        .filter_map(|(item, count)| {
            let Item::Lot(lot, grade) = item else {
                return None;
            };
            let count = u32::try_from(count).ok().filter(|count| *count > 0)?;
            let as_picked = picked.iter().find(|units| units.lot == Some(lot));
            let product = match as_picked {
                Some(units) => units.product,
                None => good_of(workshop, workshop.pour(lot)?)?.id,
            };
            Some(Units {
                product,
                lot: Some(lot),
                grade,
                count,
            })
        })
        .collect()
}

fn count_of(units: &[Units]) -> u32 {
    units
        .iter()
        .fold(0, |sum, units| sum.saturating_add(units.count))
}

/// Writes an invoice for sales of one buyer that are owed: for those named, or
/// without that for all of them. Its number follows the last invoice or credit
/// note; it is due by the buyer's terms, or else its channel's.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::Input`] where there is nothing to invoice
/// and for a sale that is another buyer's, paid, or on an invoice already.
pub fn write_invoice(workshop: &Workshop, day: Date, buyer: BuyerId, of: &[SaleId]) -> Decision {
    let own = own_currency(workshop)?;
    let known = known_buyer(workshop, buyer)?;
    not_forgotten(known)?;
    let trade = workshop.trade();
    let open = to_invoice(trade, buyer);
    let mut problems = Vec::new();
    problems.extend(not_too_many("sales", of.len(), MOST_SALES).err());
    for id in of {
        if !open.iter().any(|sale| sale.id == *id) {
            problems.push(Problem::new(
                "sales",
                id.to_string(),
                "it is not an owed sale of this buyer without an invoice",
                "choose among those that are",
            ));
        }
    }
    let chosen: Vec<&Sale> = open
        .into_iter()
        .filter(|sale| of.is_empty() || of.contains(&sale.id))
        .take(MOST_SALES)
        .collect();
    if chosen.is_empty() && problems.is_empty() {
        problems.push(Problem::new(
            "sales",
            "",
            "there is nothing to invoice",
            "send an order or count a shop first",
        ));
    }
    refuse_if_any(problems)?;
    let nothing = Money::from_minor(0, own);
    let (total, tax) = chosen
        .iter()
        .fold((nothing, nothing), |(total, tax), sale| {
            let (owed, tax_in) = kept_of(sale);
            (plus(total, owed), plus(tax, tax_in))
        });
    not_too_dear("sales", total)?;
    if total.minor() < 0 {
        return Err(Problem::new(
            "sales",
            total.to_string(),
            "more was given back than was sold",
            "leave out the sale that came back",
        )
        .into());
    }
    let channel = trade.channel(known.terms.channel);
    let days = known
        .terms
        .days_to_pay
        .or_else(|| channel.and_then(|channel| channel.terms.days_to_pay));
    let due = days.and_then(|days| day.checked_add(Span::new().days(i64::from(days))).ok());
    Ok(fact(Invoiced {
        invoice: trade.next_invoice(),
        sales: chosen.iter().map(|sale| sale.id).collect(),
        buyer,
        total,
        tax,
        due,
    }))
}

/// What a credit note takes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CreditWish {
    /// What it takes off, tax in it; none for what the goods cost that came
    /// back, and without goods for everything that is still owed.
    pub total: Option<Money>,
    /// Goods that came back, by the sale they are of. Their money is in the credit
    /// note, so nothing is given back for them beside it.
    pub goods: Vec<(SaleId, Vec<Units>)>,
    /// Where these went.
    pub to: ReturnTo,
    /// How what was paid already was given back; none where the note takes off
    /// no more than is still owed.
    pub given_back: Option<Payment>,
    /// Why.
    pub reason: String,
}

/// Writes a credit note for an invoice: its number is the next of the same
/// sequence, its tax the same share of it as of the invoice. What it takes off
/// beyond what is owed was paid already and is given back.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::Input`] for more than the invoice came to,
/// for nothing, without a reason, for money given back in no way, and for goods
/// that are not with the buyer.
pub fn credit_invoice(workshop: &Workshop, of: InvoiceId, wish: &CreditWish) -> Decision {
    let own = own_currency(workshop)?;
    let trade = workshop.trade();
    let invoice = trade.invoice(of).ok_or_else(|| unknown("invoice", of))?;
    let account = accounts(trade).get(&of).copied();
    let Some(account) = account else {
        return Err(Problem::new(
            "invoice",
            of.to_string(),
            "it is a credit note itself",
            "take from the invoice it belongs to",
        )
        .into());
    };
    let mut problems = Vec::new();
    let left = invoice
        .total
        .minor()
        .saturating_sub(account.credited.minor());
    // What came back counts at what it cost, as far as that is not taken off yet.
    let worth = charged_for(trade, &wish.goods)
        .map(|worth| Money::from_minor(worth.minor().min(left.max(0)), own));
    let total = wish.total.or(worth).unwrap_or(account.owed);
    let checked = in_own_currency("total", own, total);
    let wrong = if left <= 0 {
        Some("all of it was taken off already")
    } else if wish.total.is_none() && worth.is_none() && account.owed.minor() == 0 {
        Some("nothing is owed on it any more")
    } else if total.minor() <= 0 {
        Some("a credit note takes something off")
    } else if total.minor() > left {
        Some("that is more than is left of it")
    } else {
        None
    };
    match (checked, wrong) {
        (Err(problem), _) => problems.push(problem),
        (Ok(()), Some(wrong)) => problems.push(Problem::new(
            "total",
            total.to_string(),
            wrong,
            format!("write at most {}", Money::from_minor(left.max(0), own)),
        )),
        (Ok(()), None) => {}
    }
    let over = total.minor().saturating_sub(account.owed.minor());
    let given_back = wish.given_back.filter(|how| *how != Payment::Owed);
    if over > 0 && wrong.is_none() && given_back.is_none() {
        let over = Money::from_minor(over, own);
        problems.push(Problem::new(
            "given_back",
            "",
            format!("{over} of it was paid already"),
            "say how that is given back",
        ));
    }
    let reason = line("reason", &wish.reason, super::LONGEST_NOTE);
    let reason = reason.map_err(|problem| problems.push(problem)).ok();
    let mut facts: Vec<Fact> = Vec::new();
    for (sale, units) in &wish.goods {
        let is_on_it = invoice.sales.contains(sale);
        let left = trade.sale(*sale).filter(|_| is_on_it).map(Sale::left);
        if !is_within(units, &left.unwrap_or_default()) {
            problems.push(Problem::new(
                "goods",
                count_of(units).to_string(),
                "that is not what the buyer has of this invoice",
                "write no more than was sold on it",
            ));
        }
        let nothing = Money::from_minor(0, own);
        let units: Vec<Units> = units.iter().filter(|one| one.count > 0).copied().collect();
        if let (Some(reason), false) = (&reason, units.is_empty()) {
            facts.push(
                GoodsReturned {
                    sale: *sale,
                    units,
                    refund: nothing,
                    tax: nothing,
                    to: wish.to,
                    reason: reason.clone(),
                }
                .into(),
            );
        }
    }
    refuse_if_any(problems)?;
    let Some(reason) = reason else {
        return Ok(Vec::new());
    };
    // The last credit takes what tax is left, so that the shares add up.
    let rest_is_taken =
        account.credited.minor().saturating_add(total.minor()) == invoice.total.minor();
    let tax_left = invoice
        .tax
        .minor()
        .saturating_sub(account.credited_tax.minor());
    let tax = if rest_is_taken {
        Money::from_minor(tax_left, own)
    } else {
        let share = measure::Decimal::from(total.minor())
            .checked_div(measure::Decimal::from(invoice.total.minor()));
        let part = share.and_then(|share| invoice.tax.cost().times(share).rounded());
        let part = part.map_or(0, Money::minor);
        Money::from_minor(part.min(tax_left), own)
    };
    facts.insert(
        0,
        Credited {
            invoice: trade.next_invoice(),
            of,
            total,
            tax,
            reason,
            refund: (over > 0).then(|| Money::from_minor(over, own)),
            given_back: given_back.filter(|_| over > 0),
        }
        .into(),
    );
    Ok(facts)
}

/// Whether there are at least so many of each in `left`.
fn is_within(units: &[Units], left: &[Units]) -> bool {
    let mut sums: BTreeMap<Units, u32> = BTreeMap::new();
    for one in units {
        let sum = sums.entry(Units { count: 0, ..*one }).or_default();
        *sum = sum.saturating_add(one.count);
    }
    sums.into_iter().all(|(key, count)| {
        let there = left.iter().filter(|one| Units { count: 0, ..**one } == key);
        there.map(|one| one.count).sum::<u32>() >= count
    })
}

/// Writes down money that came in for an invoice.
///
/// # Errors
///
/// [`Refusal::Unknown`], [`Refusal::Input`] for nothing and for more than is
/// owed on it.
pub fn pay_invoice(
    workshop: &Workshop,
    invoice: InvoiceId,
    amount: Option<Money>,
    payment: Payment,
) -> Decision {
    let own = own_currency(workshop)?;
    let trade = workshop.trade();
    if trade.invoice(invoice).is_none() {
        return Err(unknown("invoice", invoice));
    }
    let Some(account) = accounts(trade).get(&invoice).copied() else {
        return Err(Problem::new(
            "invoice",
            invoice.to_string(),
            "it is a credit note",
            "write the payment at the invoice it belongs to",
        )
        .into());
    };
    let amount = amount.unwrap_or(account.owed);
    in_own_currency("amount", own, amount)?;
    if account.owed.minor() == 0 || amount.minor() <= 0 || amount.minor() > account.owed.minor() {
        let wrong = if account.owed.minor() == 0 {
            "it is paid"
        } else if amount.minor() <= 0 {
            "nothing came in by that"
        } else {
            "that is more than is owed on it"
        };
        let accepted = format!("{} is owed", account.owed);
        return Err(Problem::new("amount", amount.to_string(), wrong, accepted).into());
    }
    if matches!(payment, Payment::Owed) {
        return Err(Problem::new(
            "payment",
            payment.word(),
            "money that came in is not owed",
            "say how it was paid",
        )
        .into());
    }
    Ok(fact(InvoicePaid {
        invoice,
        amount,
        payment,
    }))
}

fn known_buyer(workshop: &Workshop, id: BuyerId) -> Result<&Buyer, Refusal> {
    workshop
        .trade()
        .buyer(id)
        .ok_or_else(|| unknown("buyer", id))
}

fn known_order(workshop: &Workshop, id: OrderId) -> Result<&Order, Refusal> {
    workshop
        .trade()
        .order(id)
        .ok_or_else(|| unknown("order", id))
}

fn unknown(what: &'static str, id: impl std::fmt::Display + Copy) -> Refusal {
    Refusal::Unknown {
        what,
        id: id.to_string(),
    }
}

fn not_forgotten(buyer: &Buyer) -> Result<(), Problem> {
    if !buyer.forgotten {
        return Ok(());
    }
    Err(Problem::new(
        "buyer",
        buyer.id.to_string(),
        "who that is was forgotten for good",
        "enter a new buyer",
    ))
}

fn at_stage(order: &Order, stages: &[OrderStage], instead: &'static str) -> Result<(), Refusal> {
    if stages.contains(&order.stage) {
        return Ok(());
    }
    Err(Refusal::OutOfTurn {
        what: format!("order {}", order.id),
        stage: order.stage.word(),
        instead,
    })
}

/// What comes after a stage, for an order that was asked something else.
const fn next_after(stage: OrderStage) -> &'static str {
    match stage {
        OrderStage::Taken | OrderStage::Confirmed => "pick it first",
        OrderStage::Picked => "pack it first",
        OrderStage::Packed => "send it",
        OrderStage::Sent => "it is out of the house",
        OrderStage::Cancelled => "write a new one",
    }
}

fn own_currency(workshop: &Workshop) -> Result<Currency, Problem> {
    workshop.currency().ok_or_else(|| {
        Problem::new(
            "currency",
            "",
            "the workshop has no currency yet",
            "set up the workshop first",
        )
    })
}

fn in_own_currency(field: &str, own: Currency, money: Money) -> Result<(), Problem> {
    if money.currency() == own {
        return Ok(());
    }
    Err(Problem::new(
        field,
        money.to_string(),
        "it is in another currency",
        format!("write it in {}", own.code()),
    ))
}

fn not_below_nothing(field: &str, money: Money) -> Result<(), Problem> {
    if money.minor() >= 0 {
        return Ok(());
    }
    Err(Problem::new(
        field,
        money.to_string(),
        "it is below nothing",
        "write it without a minus",
    ))
}

/// A note that may be empty.
fn remark(field: &str, text: &str, problems: &mut Vec<Problem>) -> String {
    if text.trim().is_empty() {
        return String::new();
    }
    note(field, text)
        .map_err(|problem| problems.push(problem))
        .unwrap_or_default()
}

fn good_name(workshop: &Workshop, product: ProductId) -> String {
    let good = workshop.product(product);
    good.map_or_else(|| format!("good {product}"), |good| good.name.clone())
}

fn lot_code(workshop: &Workshop, lot: crate::facts::PourId) -> String {
    let pour = workshop.pour(lot);
    pour.map_or_else(|| lot.to_string(), |pour| pour.lot.clone())
}
