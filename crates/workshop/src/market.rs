//! What a market day came to: where its takings went, and its goods.

use std::collections::BTreeMap;

use measure::{Cost, Currency, Decimal, Money, Quantity, TimeSpan, Working};

use crate::decide::sales_of;
use crate::facts::{Payment, Place, PourId, ProductId, Units};
use crate::money::lot_cost;
use crate::selling::{fees_of, price_in, sales_tax, standing_at};
use crate::state::Workshop;
use crate::trade::{MarketDay, Sale};

/// One good of a market day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayGood {
    /// Which.
    pub product: ProductId,
    /// What one costs there, tax in it where the prices have it in them.
    pub price: Option<Money>,
    /// Units taken.
    pub taken: u64,
    /// Units sold, less what came back to the maker since.
    pub sold: u64,
    /// Units brought home.
    pub back: u64,
    /// Units given away.
    pub given: u64,
    /// Units spoilt.
    pub spoilt: u64,
    /// Units missing.
    pub missing: u64,
    /// Units at the stall now; below zero where more was sold than taken.
    pub left: i64,
    /// What was paid for it, tax in it, less what was given back.
    pub takings: Money,
}

/// The cash tin against the sales.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TinAccount {
    /// What should be in it: the float and everything not paid by card, into the
    /// account or later.
    pub expected: Money,
    /// What was counted.
    pub counted: Money,
    /// Counted less expected.
    pub difference: Money,
}

/// Where the takings of a market day went. Tax, fees, materials, lost, day
/// costs and what is left add up to the takings.
#[derive(Debug, Clone, PartialEq)]
pub struct DayAccount {
    /// The goods, in the order they were entered.
    pub goods: Vec<DayGood>,
    /// Sales that stand: none that never was.
    pub n_sales: u32,
    /// Units sold.
    pub sold: u64,
    /// What buyers paid, tax in it, less what was given back.
    pub takings: Money,
    /// The tax in it.
    pub tax: Money,
    /// Takings less tax.
    pub net: Money,
    /// The part paid by card.
    pub cards: Money,
    /// In how many payments.
    pub card_payments: u32,
    /// Whether the cards are those of the card report.
    pub cards_reported: bool,
    /// What the channel and the cards cost.
    pub fees: Money,
    /// What the units sold cost in materials, as far as it is known.
    pub materials: Money,
    /// The same of the units given away, spoilt or missing.
    pub lost: Money,
    /// What the day costs, whatever is sold.
    pub costs: Money,
    /// What is left.
    pub left: Money,
    /// Hours from leaving to being home.
    pub selling: Option<TimeSpan>,
    /// Hands-on time of making what was sold, as far as it is known.
    pub making: TimeSpan,
    /// What is left for each hour of both; none where the hours of the day are
    /// not known.
    pub per_hour: Option<Cost>,
    /// Units sold whose material cost nobody knows.
    pub no_cost: u64,
    /// Units sold whose hands-on time nobody knows.
    pub no_time: u64,
    /// The cash tin, once it was counted.
    pub tin: Option<TinAccount>,
    /// How it was found.
    pub working: Working,
}

impl DayAccount {
    /// Units taken.
    pub fn taken(&self) -> u64 {
        self.goods.iter().map(|good| good.taken).sum()
    }

    /// Of what was taken, the share sold; none before anything was taken.
    pub fn sell_through(&self) -> Option<Decimal> {
        let taken = Decimal::from(self.taken());
        Decimal::from(self.sold).checked_div(taken)
    }

    /// The same in whole percent: `60 %`.
    pub fn sell_through_percent(&self) -> Option<String> {
        let percent = self.sell_through()?.checked_mul(Decimal::ONE_HUNDRED)?;
        Some(format!("{} %", percent.round()))
    }
}

/// What a unit of a lot cost in materials, and in milliseconds of hands-on
/// time.
#[derive(Debug, Clone, Copy, Default)]
struct UnitOf {
    material: Option<Cost>,
    time: Option<Decimal>,
}

/// What a unit of each lot costs, looked up once.
pub struct LotCosts<'a> {
    workshop: &'a Workshop,
    known: BTreeMap<PourId, UnitOf>,
}

impl<'a> LotCosts<'a> {
    /// Of a workshop; nothing is looked up yet.
    pub const fn of_all(workshop: &'a Workshop) -> Self {
        Self {
            workshop,
            known: BTreeMap::new(),
        }
    }

    fn of(&mut self, lot: PourId) -> UnitOf {
        let workshop = self.workshop;
        *self.known.entry(lot).or_insert_with(|| {
            let found = workshop.pour(lot).and_then(|pour| {
                let units = pour.finished.as_ref()?;
                let cost = lot_cost(workshop, pour)?;
                let made = Decimal::from(units.good.saturating_add(units.seconds));
                let time = cost
                    .minutes
                    .and_then(|time| Decimal::from(time.value().smallest()).checked_div(made));
                Some(UnitOf {
                    material: cost.cost.map(|cost| cost.material()),
                    time,
                })
            });
            found.unwrap_or_default()
        })
    }

    /// What units cost in materials, how long they took, and of how many the
    /// one and the other is not known.
    fn sum(&mut self, units: &[Units], currency: Currency) -> (Cost, Decimal, u64, u64) {
        let mut sum = (Cost::zero(currency), Decimal::ZERO, 0, 0);
        for units in units {
            let of = units.lot.map(|lot| self.of(lot)).unwrap_or_default();
            let count = u64::from(units.count);
            let cost = of
                .material
                .map(|each| each.times(Decimal::from(units.count)))
                .and_then(|cost| sum.0.plus(cost).ok());
            match cost {
                Some(more) => sum.0 = more,
                None => sum.2 += count,
            }
            match of.time {
                Some(each) => sum.1 += each * Decimal::from(units.count),
                None => sum.3 += count,
            }
        }
        sum
    }
}

/// What should be in the cash tin of a market day and what was found in it; none
/// before it was counted.
pub fn tin_of(workshop: &Workshop, day: &MarketDay) -> Option<TinAccount> {
    let till = day.till?;
    let (mut in_hand, mut cards) = (0_i64, 0_i64);
    for sale in sales_of(workshop, day) {
        let back: i64 = sale.returns.iter().map(|it| it.refund.minor()).sum();
        match sale.payment {
            Payment::Cash | Payment::Unknown => in_hand += sale.paid().minor() - back,
            // Money goes back the way it came, so the tin knows nothing of it; a
            // card report counts what was paid.
            Payment::Card => {
                in_hand += sale.paid().minor();
                cards += sale.paid().minor();
            }
            Payment::Transfer | Payment::Payout | Payment::Owed => {}
        }
    }
    let cards = till.cards.map_or(cards, Money::minor);
    let money = |minor: i64| Money::from_minor(minor, till.float.currency());
    let expected = money(till.float.minor() + in_hand - cards);
    Some(TinAccount {
        expected,
        counted: till.counted,
        difference: money(till.counted.minor() - expected.minor()),
    })
}

/// What a market day came to so far; none in a workshop without a currency.
pub fn day_account(workshop: &Workshop, day: &MarketDay) -> Option<DayAccount> {
    day_account_by(&mut LotCosts::of_all(workshop), day)
}

/// As [`day_account`], for many days whose lots are looked up once.
pub fn day_account_by(costs_of: &mut LotCosts<'_>, day: &MarketDay) -> Option<DayAccount> {
    let workshop = costs_of.workshop;
    let currency = workshop.money_kept_in()?;
    let money = |minor: i64| Money::from_minor(minor, currency);
    let sales: Vec<&Sale> = sales_of(workshop, day).collect();
    let sum = |of: &dyn Fn(&Sale) -> i64| money(sales.iter().map(|sale| of(sale)).sum());
    let given_back = |sale: &Sale| -> i64 { sale.returns.iter().map(|it| it.refund.minor()).sum() };
    let tax_back = |sale: &Sale| -> i64 { sale.returns.iter().map(|it| it.tax.minor()).sum() };
    let takings = sum(&|sale| sale.paid().minor() - given_back(sale));
    let tax = sum(&|sale| sale.tax.minor() - tax_back(sale));
    let by_card = |sale: &&&Sale| sale.payment == Payment::Card;
    let (cards, card_payments, cards_reported) = if let Some((cards, n)) =
        day.till.and_then(|till| {
            let cards = till.cards?;
            Some((cards, till.card_payments.unwrap_or(0)))
        }) {
        (cards, n, true)
    } else {
        let paid = sales.iter().filter(by_card).map(|sale| sale.paid().minor());
        let n = sales.iter().filter(by_card).count();
        (
            money(paid.sum()),
            u32::try_from(n).unwrap_or(u32::MAX),
            false,
        )
    };
    let fees = day_fees(workshop, day, &sales, cards, card_payments, cards_reported);
    let sold_units: Vec<Units> = sales.iter().flat_map(|sale| sale.left()).collect();
    let lost_units: Vec<Units> = day
        .counted
        .iter()
        .flat_map(|it| {
            let lists = [&it.given, &it.spoilt, &it.missing];
            lists.into_iter().flatten().copied().collect::<Vec<_>>()
        })
        .collect();
    let (material, time, no_cost, no_time) = costs_of.sum(&sold_units, currency);
    let (lost, ..) = costs_of.sum(&lost_units, currency);
    let materials = material.rounded().unwrap_or(money(0));
    let lost = lost.rounded().unwrap_or(money(0));
    let of_day = [day.costs.pitch, day.costs.travel, day.costs.other];
    let costs = money(of_day.iter().flatten().map(|cost| cost.minor()).sum());
    let net = money(takings.minor() - tax.minor());
    let off = [fees, materials, lost, costs];
    let left = money(net.minor() - off.iter().map(|off| off.minor()).sum::<i64>());
    let sold = sold_units.iter().map(|units| u64::from(units.count)).sum();
    let selling = day.hours.as_ref().map(measure::Typed::value);
    let making = TimeSpan::from_smallest(i64::try_from(time.round()).unwrap_or(0));
    let per_hour = selling.and_then(|selling| per_hour(left, selling, making));
    let tin = tin_of(workshop, day);
    let mut account = DayAccount {
        goods: goods_of(workshop, day, &sales, currency),
        n_sales: u32::try_from(sales.len()).unwrap_or(u32::MAX),
        sold,
        takings,
        tax,
        net,
        cards,
        card_payments,
        cards_reported,
        fees,
        materials,
        lost,
        costs,
        left,
        selling,
        making,
        per_hour,
        no_cost,
        no_time,
        tin,
        working: Working::new(),
    };
    account.working = working(workshop, day, &account);
    Some(account)
}

fn per_hour(left: Money, selling: TimeSpan, making: TimeSpan) -> Option<Cost> {
    let hours = selling.hours().checked_add(making.hours())?;
    left.cost().over(hours)
}

/// What the channel takes of every sale, and what the cards cost: by the card
/// report where there is one, since each payment has its fixed fee; rounded
/// once for the day then, or else once a sale.
fn day_fees(
    workshop: &Workshop,
    day: &MarketDay,
    sales: &[&Sale],
    cards: Money,
    n: u32,
    reported: bool,
) -> Money {
    let currency = cards.currency();
    let channel = workshop.trade().channel(day.channel);
    let (true, Some(channel)) = (reported, channel) else {
        let minor = sales.iter().map(|sale| fees_of(workshop, sale).minor());
        return Money::from_minor(minor.sum(), currency);
    };
    let terms = &channel.terms;
    let mut exact = Cost::zero(currency);
    let mut add = |cost: Option<Cost>| {
        if let Some(cost) = cost {
            exact = exact.plus(cost).unwrap_or(exact);
        }
    };
    add(terms
        .payment_percent
        .map(|share| cards.cost().times(share.decimal())));
    add(terms
        .payment_fixed
        .map(|fee| fee.cost().times(Decimal::from(n))));
    for sale in sales {
        add(terms
            .percent_fee
            .map(|share| sale.paid().cost().times(share.decimal())));
        add(terms.fixed_fee.map(Money::cost));
    }
    exact.rounded().unwrap_or(Money::from_minor(0, currency))
}

fn goods_of(
    workshop: &Workshop,
    day: &MarketDay,
    sales: &[&Sale],
    currency: Currency,
) -> Vec<DayGood> {
    let channel = workshop.trade().channel(day.channel);
    let mut goods: BTreeMap<ProductId, DayGood> = BTreeMap::new();
    let mut at = |product: ProductId, change: &dyn Fn(&mut DayGood)| {
        let good = goods.entry(product).or_insert_with(|| DayGood {
            product,
            price: channel.and_then(|channel| price_in(workshop, channel, product)),
            taken: 0,
            sold: 0,
            back: 0,
            given: 0,
            spoilt: 0,
            missing: 0,
            left: 0,
            takings: Money::from_minor(0, currency),
        });
        change(good);
    };
    for units in &day.taken {
        at(units.product, &|good| good.taken += u64::from(units.count));
    }
    for sale in sales {
        for units in sale.left() {
            at(units.product, &|good| good.sold += u64::from(units.count));
        }
        // Money given back is taken off its lines in proportion.
        let paid: Vec<u64> = sale
            .lines
            .iter()
            .map(|line| line.paid.minor().unsigned_abs())
            .collect();
        let refunds = sale.returns.iter().map(|back| back.refund.minor()).sum();
        let back = price::spread(Money::from_minor(refunds, currency), &paid);
        let back = back.unwrap_or_default();
        for (nth, line) in sale.lines.iter().enumerate() {
            let less = back.get(nth).map_or(0, |share| share.minor());
            if let Some(units) = line.units.first() {
                let more = line.paid.minor() - less;
                at(units.product, &|good| {
                    let minor = good.takings.minor() + more;
                    good.takings = Money::from_minor(minor, currency);
                });
            }
        }
    }
    if let Some(counted) = &day.counted {
        for units in &counted.back {
            at(units.product, &|good| good.back += u64::from(units.count));
        }
        for units in &counted.given {
            at(units.product, &|good| good.given += u64::from(units.count));
        }
        for units in &counted.spoilt {
            at(units.product, &|good| good.spoilt += u64::from(units.count));
        }
        for units in &counted.missing {
            at(units.product, &|good| {
                good.missing += u64::from(units.count);
            });
        }
    }
    for (product, list) in standing_at(workshop, Place::Stall(day.id), day.on) {
        let left: i64 = list.iter().map(|one| one.count).sum();
        at(product, &|good| good.left = left);
    }
    goods.into_values().collect()
}

fn working(workshop: &Workshop, day: &MarketDay, account: &DayAccount) -> Working {
    let mut working = Working::new();
    let taken: Vec<String> = account
        .goods
        .iter()
        .filter(|good| good.sold > 0)
        .map(|good| format!("{} for {}", good.sold, good.takings))
        .collect();
    working.step(
        "Takings",
        "what buyers paid, less what they got back",
        taken.join(" + "),
        account.takings.to_string(),
        "",
    );
    if let Some(tax) = sales_tax(workshop) {
        working.step(
            format!("{} inside", tax.name),
            "of each sale: paid × rate ÷ (1 + rate), rounded half-even once",
            format!("at {}", tax.rate),
            account.tax.to_string(),
            "arithmetic",
        );
    }
    working.step(
        "Net",
        "takings − tax",
        format!("{} − {}", account.takings, account.tax),
        account.net.to_string(),
        "",
    );
    let terms = workshop.trade().channel(day.channel).map(|it| &it.terms);
    let percent = terms.and_then(|terms| terms.payment_percent);
    let fixed = terms.and_then(|terms| terms.payment_fixed);
    working.step(
        "Fees",
        "paid by card × its percentage + payments × its fixed fee, and what the channel takes",
        format!(
            "{} × {} + {} × {}",
            account.cards,
            percent.unwrap_or_default(),
            account.card_payments,
            fixed.map_or_else(|| "0".to_owned(), |fee| fee.to_string()),
        ),
        account.fees.to_string(),
        if account.cards_reported {
            "the card report of the day, rounded once"
        } else {
            "the sales noted as paid by card, rounded once each"
        },
    );
    working.step(
        "Materials",
        "each unit sold at the material cost of its lot",
        match account.no_cost {
            0 => format!("{} units", account.sold),
            n => format!("{} units; of {n} it is not known", account.sold),
        },
        account.materials.to_string(),
        "",
    );
    if account.lost.minor() != 0 {
        let lost = "the same for what was given away, spoilt or missing";
        working.step("Lost", lost, "", account.lost.to_string(), "");
    }
    let costs = [day.costs.pitch, day.costs.travel, day.costs.other];
    let costs: Vec<String> = costs.iter().flatten().map(ToString::to_string).collect();
    working.step(
        "The day",
        "pitch + travel + other",
        costs.join(" + "),
        account.costs.to_string(),
        "",
    );
    working.step(
        "Left",
        "net − fees − materials − lost − the day",
        format!(
            "{} − {} − {} − {} − {}",
            account.net, account.fees, account.materials, account.lost, account.costs
        ),
        account.left.to_string(),
        "",
    );
    if let (Some(each), Some(selling)) = (account.per_hour, account.selling) {
        let hours = |span: TimeSpan| span.hours().round_dp(2).normalize();
        working.step(
            "An hour",
            "left ÷ (hours of the day + hands-on time of making what was sold)",
            format!(
                "{} ÷ ({} h + {} h)",
                account.left,
                hours(selling),
                hours(account.making)
            ),
            each.to_string(),
            "",
        );
    }
    working
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_hour_is_what_is_left_over_both_times() {
        let usd = |minor| Money::from_minor(minor, Currency::USD);
        let span = TimeSpan::from_smallest;
        // 79.54 over 9.5 h of the day and 31 units of 2.4 min.
        let each =
            per_hour(usd(7954), span(570 * 60_000), span(31 * 144_000)).expect("there is time");
        assert_eq!(each.rounded(), Some(usd(741)));
    }
}
