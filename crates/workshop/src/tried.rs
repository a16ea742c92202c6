//! Prices that were tried: what goods cost on each market day that is over, and
//! how many were sold.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::{Cost, Decimal, Money, Ratio, TimeSpan};

use crate::decide::sales_of;
use crate::facts::{ChannelId, Format, Grade, MarketDayId, ProductId, ReturnTo};
use crate::selling::{price_in, sales_tax};
use crate::state::Workshop;
use crate::trade::{Channel, MarketDay, Sale};

/// The part of a day's units that must have gone at a price, before it is taken
/// for the price of one alone: a slip of the pen is rarer. Common practice, no
/// source.
const ONE_IN: u64 = 10;

/// One good on one market day that is over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DaySold {
    /// The market day.
    pub market_day: MarketDayId,
    /// Its date.
    pub on: Date,
    /// The market.
    pub market: String,
    /// The channel it was sold in.
    pub channel: ChannelId,
    /// The good.
    pub product: ProductId,
    /// What one cost alone, as it stood on the table: the dearest price that at
    /// least a tenth of the day's units went at.
    pub price: Money,
    /// Units sold, less what came back since; seconds are not counted.
    pub sold: u64,
    /// Units of those that went for less: several together, or haggled.
    pub for_less: u64,
    /// Whether none was left, so that more might have been sold.
    pub sold_out: bool,
    /// Hours from leaving to being home.
    pub hours: Option<TimeSpan>,
    /// How many came by.
    pub footfall: Option<u32>,
}

/// What goods cost on each market day that is over, and how many were sold, the
/// oldest day first. A day is over once it is counted back; one to which
/// nothing was taken is over when it has sales. On a day on which a good was on
/// the table and none was sold it costs what it did the day before, or else
/// what it does now; without either the day is left out.
pub fn days_sold(workshop: &Workshop) -> Vec<DaySold> {
    let trade = workshop.trade();
    let Some(currency) = workshop.money_kept_in() else {
        return Vec::new();
    };
    let mut days: Vec<&MarketDay> = trade
        .market_days()
        .filter(|day| !day.called_off)
        .filter(|day| day.counted.is_some() || (day.taken.is_empty() && !day.sales.is_empty()))
        .collect();
    days.sort_by_key(|day| (day.on, day.id));
    let mut found = Vec::new();
    let mut before: BTreeMap<(ChannelId, ProductId), Money> = BTreeMap::new();
    for day in days {
        let mut sold: BTreeMap<ProductId, BTreeMap<i64, u64>> = BTreeMap::new();
        for sale in sales_of(workshop, day) {
            for (product, price, count) in lines_of(workshop, sale) {
                let at = sold.entry(product).or_default();
                *at.entry(price.minor()).or_default() += count;
            }
        }
        let mut back: BTreeMap<ProductId, u64> = BTreeMap::new();
        for sale in sales_of(workshop, day) {
            let came = sale.returns.iter().filter(|it| it.to != ReturnTo::Kept);
            let units = came.flat_map(|it| &it.units);
            for units in units.filter(|units| units.grade == Grade::Good) {
                *back.entry(units.product).or_default() += u64::from(units.count);
            }
        }
        let taken: BTreeSet<ProductId> = day
            .taken
            .iter()
            .filter(|units| units.grade == Grade::Good)
            .map(|units| units.product)
            .collect();
        let products: BTreeSet<ProductId> = sold.keys().chain(&taken).copied().collect();
        for product in products {
            let at = sold.remove(&product).unwrap_or_default();
            let all: u64 = at.values().sum();
            let key = (day.channel, product);
            let alone = price_of_one(&at).map(|minor| Money::from_minor(minor, currency));
            let Some(price) = alone
                .or_else(|| before.get(&key).copied())
                .or_else(|| price_in(workshop, trade.channel(day.channel)?, product))
                .filter(|price| price.minor() > 0 && price.currency() == currency)
            else {
                continue;
            };
            before.insert(key, price);
            let returned = back.get(&product).copied().unwrap_or(0);
            let for_less = at.range(..price.minor()).map(|(_, count)| count).sum();
            found.push(DaySold {
                market_day: day.id,
                on: day.on,
                market: day.market.clone(),
                channel: day.channel,
                product,
                price,
                sold: all.saturating_sub(returned),
                for_less,
                sold_out: is_sold_out(day, product, all),
                hours: day.hours.as_ref().map(measure::Typed::value),
                footfall: day.footfall,
            });
        }
    }
    found
}

/// The lines of a sale: the good, what one of it cost as on the table, and how
/// many.
fn lines_of(workshop: &Workshop, sale: &Sale) -> Vec<(ProductId, Money, u64)> {
    // Where the tax came on top, the table said less than was paid.
    let on_top = sales_tax(workshop).is_some_and(|tax| !tax.inside);
    let (paid, tax) = (Decimal::from(sale.paid().minor()), sale.tax.minor());
    let off = if on_top { tax } else { 0 };
    let asked = (paid - Decimal::from(off)).checked_div(paid);
    sale.lines
        .iter()
        .filter_map(|line| {
            let first = line.units.first()?;
            if first.grade == Grade::Second {
                return None;
            }
            let count: u64 = line.units.iter().map(|it| u64::from(it.count)).sum();
            let together = line.paid.cost().times(asked?).rounded()?;
            let each = together.cost().over(Decimal::from(count))?.rounded()?;
            Some((first.product, each, count))
        })
        .collect()
}

/// The dearest price that at least a tenth of the units went at; of fewer than
/// that at each, the dearest of all.
fn price_of_one(at: &BTreeMap<i64, u64>) -> Option<i64> {
    let all: u64 = at.values().sum();
    let often = |(_, count): &(&i64, &u64)| **count * ONE_IN >= all && **count > 0;
    let dearest = at.iter().rev().find(often).or(at.last_key_value());
    dearest.map(|(price, _)| *price)
}

/// Whether all that was taken of a good went, and something of it was sold.
fn is_sold_out(day: &MarketDay, product: ProductId, sold: u64) -> bool {
    let Some(counted) = &day.counted else {
        return false;
    };
    let is_there = |units: &crate::facts::Units| units.product == product && units.count > 0;
    sold > 0 && day.taken.iter().any(is_there) && !counted.back.iter().any(is_there)
}

/// The part of the price on the table that never reaches the maker: tax inside
/// it, and what the channel and a card payment take in percent, as if everyone
/// paid by card. What is fixed a payment is not in it.
pub fn share_off(workshop: &Workshop, channel: &Channel) -> Ratio {
    let terms = &channel.terms;
    let fees = [terms.percent_fee, terms.payment_percent];
    let fees: Decimal = fees.into_iter().flatten().map(Ratio::decimal).sum();
    let off = match sales_tax(workshop) {
        // Fees are taken on what the buyer pays.
        Some(tax) if tax.inside => {
            let rate = tax.rate.decimal();
            let inside = rate.checked_div(Decimal::ONE + rate);
            inside.unwrap_or_default() + fees
        }
        Some(tax) => fees * (Decimal::ONE + tax.rate.decimal()),
        None => fees,
    };
    Ratio::from_decimal(off.round_dp(8).normalize()).unwrap_or_default()
}

/// The goods of the same format as one, itself among them.
pub fn goods_alike(workshop: &Workshop, product: ProductId) -> Vec<ProductId> {
    let format = |id: ProductId| format_of_good(workshop, id);
    let own = format(product);
    workshop
        .products()
        .map(|good| good.id)
        .filter(|id| *id == product || (own.is_some() && format(*id) == own))
        .collect()
}

/// The format a good is sold in.
pub fn format_of_good(workshop: &Workshop, product: ProductId) -> Option<Format> {
    let good = workshop.product(product)?;
    workshop.mould(good.mould).map(|mould| mould.format)
}

/// What a unit of a good costs by its last lots, the maker's time in it.
pub fn cost_of_one(workshop: &Workshop, product: ProductId) -> Option<Cost> {
    crate::worth::recent_cost(workshop, product).map(|recent| recent.cost.full())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_alone_costs_the_dearest_that_a_tenth_went_at() {
        // Twelve in bundles, four alone, one typed with a slip.
        let at = BTreeMap::from([(600, 12), (700, 4), (7000, 1)]);
        assert_eq!(price_of_one(&at), Some(700));
        let at = BTreeMap::from([(600, 1)]);
        assert_eq!(price_of_one(&at), Some(600));
        assert_eq!(price_of_one(&BTreeMap::new()), None);
    }
}
