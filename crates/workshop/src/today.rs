//! What needs hands now.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::facts::{MarketDayId, Place, PourId, ProductId, SupplyId, SupplyLot};
use crate::label::{LabelState, label_case};
use crate::lots::past_their_date;
use crate::state::{LotVerdict, Stage, Workshop};

/// One thing that needs hands, most pressing first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Errand {
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

/// Returns what needs hands on `day`.
pub fn errands(workshop: &Workshop, day: Date) -> Vec<Errand> {
    let mut errands: Vec<_> = workshop
        .open_pours()
        .map(|pour| Errand::GoOnWith(pour.id, pour.stage()))
        .collect();
    for supply in workshop.supplies() {
        if supply.stock.received > 0 && supply.stock.on_hand() < 0 {
            errands.push(Errand::Explain(supply.id));
        }
    }
    let mut days: Vec<_> = workshop
        .trade()
        .market_days()
        .filter(|at| !at.called_off && at.counted.is_none())
        .collect();
    days.sort_by_key(|at| (at.on, at.id));
    for at in days {
        if at.on < day {
            errands.push(Errand::CountBack(at.id));
        } else if at.taken.is_empty() && days_between(day, at.on) <= 1 {
            errands.push(Errand::PackFor(at.id));
        }
    }
    let short: BTreeSet<Place> = workshop.goods().gaps().map(|gap| gap.place).collect();
    errands.extend(short.into_iter().map(Errand::CountGoods));
    let past = past_their_date(workshop, day).into_iter();
    errands.extend(past.map(|(supply, lot, date)| Errand::PastDate(supply, lot, date)));
    let mut ready = Vec::new();
    let mut curing = Vec::new();
    for pour in workshop.pours() {
        match workshop.verdict(pour, day) {
            Some(LotVerdict::Hold(_)) => errands.push(Errand::Held(pour.id)),
            Some(LotVerdict::Ready(since)) if days_between(since, day) < DAYS => {
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

fn days_between(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}
