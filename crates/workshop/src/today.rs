//! What needs hands now.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::Money;

use crate::facts::{
    BuyerId, InvoiceId, MarketDayId, OrderId, Place, PourId, ProductId, SupplyId, SupplyLot,
};
use crate::goods::Spot;
use crate::label::{LabelState, label_case};
use crate::lots::past_their_date;
use crate::orders::{accounts, is_overdue};
use crate::rack::is_on_rack;
use crate::state::{LotVerdict, Stage, Workshop};
use crate::trade::MarketDay;

/// One thing that needs hands, most pressing first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Errand {
    /// A market day is today, and goods are packed for it.
    SellAt(MarketDayId),
    /// A pour was begun and waits for its next step.
    GoOnWith(PourId, Stage),
    /// A supply was used beyond what was received: a receipt or a weight is missing.
    Explain(SupplyId),
    /// More goods left a place than came to it: a count is missing, or a sale is
    /// wrong.
    CountGoods(Place),
    /// A market day is over and what came home is not counted.
    CountBack(MarketDayId),
    /// A market day is today or tomorrow and nothing is packed for it.
    PackFor(MarketDayId),
    /// An order is wanted by today, or late, and not sent.
    Send(OrderId),
    /// An invoice is past its day, and so much of it is owed.
    Overdue(InvoiceId, Money),
    /// Goods stand at a shop that pays for what it sells, and it was counted or
    /// brought something last on that day.
    CountShop(BuyerId, Date),
    /// A lot of a supply is past its date, and some of it is left.
    PastDate(SupplyId, SupplyLot, Date),
    /// A lot is stopped from sale.
    Held(PourId),
    /// The label of a good no longer fits what is on file.
    Relabel(ProductId),
    /// A lot has become fit for sale in the last few days.
    Ready(PourId, Date),
    /// A lot becomes fit for sale within the week.
    Curing(PourId, Date),
    /// A supply used in pours has never been received, so nothing knows its cost.
    NoPrice(SupplyId),
}

/// How long a ready lot counts as news, and how far ahead curing lots are named.
const DAYS: i64 = 7;
/// Days after which a shop with goods on return is named: a month, and half a
/// month of grace. Common practice, no source.
const SHOP_DAYS: i64 = 45;

/// Returns what needs hands on `day`.
pub fn errands(workshop: &Workshop, day: Date) -> Vec<Errand> {
    let mut days: Vec<_> = workshop
        .trade()
        .market_days()
        .filter(|at| !at.called_off && at.counted.is_none())
        .collect();
    days.sort_by_key(|at| (at.on, at.id));
    let is_held = |at: &&&MarketDay| at.on == day && !at.taken.is_empty();
    let held = days.iter().filter(is_held);
    let mut errands: Vec<_> = held.map(|at| Errand::SellAt(at.id)).collect();
    let open = workshop.open_pours();
    errands.extend(open.map(|pour| Errand::GoOnWith(pour.id, pour.stage())));
    for supply in workshop.supplies() {
        if supply.stock.received > 0 && supply.stock.on_hand() < 0 {
            errands.push(Errand::Explain(supply.id));
        }
    }
    for at in days {
        if at.on < day {
            errands.push(Errand::CountBack(at.id));
        } else if at.taken.is_empty() && days_between(day, at.on) <= 1 {
            errands.push(Errand::PackFor(at.id));
        }
    }
    errands.extend(of_buyers(workshop, day));
    let short: BTreeSet<Place> = workshop.goods().gaps().map(|gap| gap.place).collect();
    errands.extend(short.into_iter().map(Errand::CountGoods));
    let past = past_their_date(workshop, day).into_iter();
    errands.extend(past.map(|(supply, lot, date)| Errand::PastDate(supply, lot, date)));
    let mut ready = Vec::new();
    let mut curing = Vec::new();
    for pour in workshop.pours() {
        match workshop.verdict(pour, day) {
            Some(LotVerdict::Hold(_)) => errands.push(Errand::Held(pour.id)),
            Some(LotVerdict::Ready(since))
                if days_between(since, day) < DAYS && is_on_rack(workshop, pour.id) =>
            {
                ready.push(Errand::Ready(pour.id, since));
            }
            Some(LotVerdict::Curing(until)) if days_between(day, until) <= DAYS => {
                curing.push(Errand::Curing(pour.id, until));
            }
            _ => {}
        }
    }
    for product in workshop.products() {
        let is_due = workshop.label(product.id).is_some()
            && label_case(workshop, product.id, day)
                .is_some_and(|case| case.state() == LabelState::Renew);
        if is_due {
            errands.push(Errand::Relabel(product.id));
        }
    }
    errands.extend(ready);
    errands.extend(curing);
    for supply in workshop.supplies() {
        if supply.stock.received == 0 && supply.stock.used > 0 {
            errands.push(Errand::NoPrice(supply.id));
        }
    }
    errands
}

/// Orders to send, invoices to ask after and shops to count.
fn of_buyers(workshop: &Workshop, day: Date) -> Vec<Errand> {
    let trade = workshop.trade();
    let mut due: Vec<_> = trade
        .orders()
        .filter(|order| order.is_open())
        .filter_map(|order| Some((order.due.filter(|due| *due <= day)?, order.id)))
        .collect();
    due.sort_unstable();
    let mut errands: Vec<_> = due.into_iter().map(|(_, id)| Errand::Send(id)).collect();
    let accounts = accounts(trade);
    for invoice in trade.invoices() {
        let account = accounts.get(&invoice.id);
        if let Some(account) = account.filter(|account| is_overdue(invoice, account, day)) {
            errands.push(Errand::Overdue(invoice.id, account.owed));
        }
    }
    let shops = seen_at(workshop).into_iter();
    let long_ago = shops.filter(|(_, seen)| days_between(*seen, day) >= SHOP_DAYS);
    errands.extend(long_ago.map(|(shop, seen)| Errand::CountShop(shop, seen)));
    errands
}

/// The shops at which goods stand, with the day something last came there or
/// left.
fn seen_at(workshop: &Workshop) -> BTreeMap<BuyerId, Date> {
    let goods = workshop.goods();
    let mut seen: BTreeMap<BuyerId, Date> = goods
        .everywhere()
        .filter_map(|(place, _, count)| match place {
            Place::Shop(shop) if count > 0 => Some((shop, Date::MIN)),
            _ => None,
        })
        .collect();
    if seen.is_empty() {
        return seen;
    }
    for movement in goods.movements() {
        for spot in [movement.from, movement.to] {
            if let Spot::At(Place::Shop(shop)) = spot
                && let Some(last) = seen.get_mut(&shop)
            {
                *last = movement.day.max(*last);
            }
        }
    }
    seen
}

fn days_between(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}
