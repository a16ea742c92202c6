//! Questions to the books.

use std::collections::BTreeMap;

use jiff::civil::Date;
use ledger::Value;
use measure::{Cost, Decimal, Money, Quantity, Ratio};

use super::{Books, Costs, Good, Loss, Pocket, Valued};
use crate::facts::{
    ChannelId, ChannelTerms, ExpenseKind, Format, FormulaId, InvoiceId, MarketDayId, OrderId,
    Payment, PourId, ReturnTo, SaleFrom,
};
use crate::market::tin_of;
use crate::payouts::kept_beyond_terms;
use crate::selling::fees_of;
use crate::state::Workshop;
use crate::trade::{MarketDay, Sale};

/// A stretch of days; an end that is missing is open.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Days {
    /// The first.
    pub from: Option<Date>,
    /// The last.
    pub to: Option<Date>,
}

impl Days {
    /// All there are.
    pub const ALL: Self = Self {
        from: None,
        to: None,
    };

    /// From one day to another, both among them.
    pub const fn between(from: Date, to: Date) -> Self {
        Self {
            from: Some(from),
            to: Some(to),
        }
    }

    /// Whether a day is among them.
    pub fn hold(self, day: Date) -> bool {
        !self.come_after(day) && self.to.is_none_or(|to| day <= to)
    }

    /// Whether a day is before all of them.
    pub fn come_after(self, day: Date) -> bool {
        self.from.is_some_and(|from| day < from)
    }
}

/// What went through the books in a stretch of days. Opening + bought + worked
/// = sold + lost + differences + closing, exactly.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Period {
    /// Stock before the first day: supplies, what was in pots, goods.
    pub opening: Standing,
    /// Deliveries, with their freight.
    pub bought: Costs,
    /// The maker's own time, and overhead.
    pub worked: Costs,
    /// Cost of the goods sold, less of those that came back.
    pub sold: Costs,
    /// What went without being sold.
    pub lost: BTreeMap<Loss, Costs>,
    /// What things that left before they came turned out to cost more.
    pub differences: Costs,
    /// Stock after the last day.
    pub closing: Standing,
}

/// Where value stands.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Standing {
    /// On the shelf.
    pub supplies: Costs,
    /// In pots and moulds.
    pub pots: Costs,
    /// In goods, wherever they stand.
    pub goods: Costs,
}

impl Standing {
    /// All of it.
    pub fn all(self) -> Costs {
        self.supplies + self.pots + self.goods
    }

    fn pocket(&mut self, pocket: Pocket) -> Option<&mut Costs> {
        match pocket {
            Pocket::Supply(_) => Some(&mut self.supplies),
            Pocket::Pot(_) => Some(&mut self.pots),
            Pocket::Goods(_) => Some(&mut self.goods),
            Pocket::Paid(_)
            | Pocket::Worked
            | Pocket::Sold(_)
            | Pocket::Lost(_)
            | Pocket::Difference => None,
        }
    }
}

impl Period {
    /// What was lost in all.
    pub fn all_lost(&self) -> Costs {
        self.lost.values().copied().sum()
    }

    /// What left the stock: of goods sold, of what was lost, and differences.
    pub fn cost_of_goods(&self) -> Costs {
        self.sold + self.all_lost() + self.differences
    }
}

impl Valued {
    /// What went through in a stretch of days.
    pub fn period(&self, days: Days) -> Period {
        let mut period = Period::default();
        for flow in &self.flows {
            if days.to.is_some_and(|to| flow.day > to) {
                continue;
            }
            let before = days.come_after(flow.day);
            for (pocket, costs) in [(flow.from, -flow.costs), (flow.to, flow.costs)] {
                if before && let Some(stands) = period.opening.pocket(pocket) {
                    *stands += costs;
                }
                if let Some(stands) = period.closing.pocket(pocket) {
                    *stands += costs;
                }
                if before {
                    continue;
                }
                match pocket {
                    Pocket::Paid(_) => period.bought += -costs,
                    Pocket::Worked => period.worked += -costs,
                    Pocket::Sold(_) => period.sold += costs,
                    Pocket::Lost(how) => *period.lost.entry(how).or_default() += costs,
                    Pocket::Difference => period.differences += costs,
                    Pocket::Supply(_) | Pocket::Pot(_) | Pocket::Goods(_) => {}
                }
            }
        }
        period
    }
}

/// By what earnings are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum By {
    /// Each good.
    #[default]
    Product,
    /// Each formula.
    Scent,
    /// What comes out of the mould.
    Format,
    /// Each way of selling.
    Channel,
    /// Each day at a market.
    MarketDay,
    /// Each month.
    Month,
}

impl By {
    /// Every one.
    pub const ALL: [Self; 6] = [
        Self::Product,
        Self::Scent,
        Self::Format,
        Self::Channel,
        Self::MarketDay,
        Self::Month,
    ];

    /// The word for one of them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Product => "product",
            Self::Scent => "scent",
            Self::Format => "format",
            Self::Channel => "channel",
            Self::MarketDay => "market day",
            Self::Month => "month",
        }
    }
}

/// Whose earnings they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Key {
    /// A good's.
    Good(Good),
    /// A scent's.
    Scent(FormulaId),
    /// A format's, by its place in [`Format::ALL`].
    Format(usize),
    /// A channel's.
    Channel(ChannelId),
    /// A market day's.
    MarketDay(MarketDayId),
    /// A month's: the year, and 1 to 12.
    Month(i16, i8),
    /// What belongs to none of them alone.
    Rest,
}

/// What something earned. Money in whole minor units.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Earned {
    /// Units sold, less those that came back.
    pub units: i64,
    /// What buyers paid, postage and tax in it, less what they got back.
    pub takings: i64,
    /// The tax in it.
    pub tax: i64,
    /// What channels and payments cost, by their terms and what a payout was
    /// short of beside.
    pub fees: i64,
    /// What sending it cost.
    pub postage: i64,
    /// What market days cost, whatever was sold.
    pub day_costs: i64,
    /// What was missing from cash tins; below zero where more was in them.
    pub tins: i64,
    /// What the goods sold cost.
    pub cost: Costs,
    /// What went without being sold.
    pub lost: Costs,
    /// What something that left before it came turned out to cost more than
    /// was assumed; below zero where it cost less.
    pub differences: Costs,
    /// Hours of selling, in milliseconds.
    pub selling_ms: i64,
    /// Hands-on time of making what was sold, in milliseconds, as far as it is
    /// known.
    pub making_ms: i64,
}

impl Earned {
    /// Takings less tax.
    pub const fn net(&self) -> i64 {
        self.takings - self.tax
    }

    /// What left the stock: sold, lost, and differences.
    pub fn all_costs(&self) -> Costs {
        self.cost + self.lost + self.differences
    }

    /// What is left for the maker's time: net less fees, postage, day costs, what
    /// was missing from tins and the materials of what left the stock.
    pub fn left(&self) -> Value {
        let minor = self.net() - self.fees - self.postage - self.day_costs - self.tins;
        in_minor(minor) - self.all_costs().materials
    }

    /// What is left when the maker's time and overhead are paid too.
    pub fn left_after_work(&self) -> Value {
        self.left() - self.all_costs().work
    }

    /// Where the price of one unit went, on average; none where none was sold.
    pub fn of_one(&self) -> Option<OfOne> {
        if self.units <= 0 {
            return None;
        }
        let each = |value: Value| value.share(1, self.units);
        Some(OfOne {
            price: each(in_minor(self.takings)),
            tax: each(in_minor(self.tax)),
            fees: each(in_minor(self.fees + self.postage)),
            day_costs: each(in_minor(self.day_costs)),
            materials: each(self.cost.materials),
            lost: each(self.lost.materials + self.differences.materials),
            work: each(self.all_costs().work),
        })
    }

    /// What is left for an hour of making and selling; none without any.
    pub fn per_hour(&self) -> Option<Value> {
        const HOUR: i64 = 3_600_000;
        let ms = self.selling_ms.saturating_add(self.making_ms);
        (ms > 0).then(|| self.left().share(HOUR, ms))
    }

    /// Adds another to it.
    pub fn add(&mut self, other: &Self) {
        self.units += other.units;
        self.takings += other.takings;
        self.tax += other.tax;
        self.fees += other.fees;
        self.postage += other.postage;
        self.day_costs += other.day_costs;
        self.tins += other.tins;
        self.cost += other.cost;
        self.lost += other.lost;
        self.differences += other.differences;
        self.selling_ms += other.selling_ms;
        self.making_ms += other.making_ms;
    }
}

fn in_minor(minor: i64) -> Value {
    Value::from_millionths(i128::from(minor) * 1_000_000)
}

/// Where what a buyer paid for one unit went, on average. What is left of the
/// price after all of it is the maker's.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct OfOne {
    /// What the buyer paid, tax in it.
    pub price: Value,
    /// Tax.
    pub tax: Value,
    /// Fees of channels and payments, and postage.
    pub fees: Value,
    /// What market days cost, where they belong to it.
    pub day_costs: Value,
    /// Materials and packing.
    pub materials: Value,
    /// Materials of units that went without being sold, and differences.
    pub lost: Value,
    /// Hands-on time at its wage, and overhead.
    pub work: Value,
}

/// Finds the key of anything.
struct Keys<'a> {
    workshop: &'a Workshop,
    by: By,
}

impl Keys<'_> {
    fn of(&self, good: Option<Good>, sale: Option<&Sale>, day: Date) -> Key {
        match self.by {
            By::Product => good.map_or(Key::Rest, Key::Good),
            By::Scent => good
                .and_then(|good| scent_of(self.workshop, good))
                .map_or(Key::Rest, Key::Scent),
            By::Format => good
                .and_then(|good| format_of(self.workshop, good))
                .map_or(Key::Rest, Key::Format),
            By::Channel => sale.map_or(Key::Rest, |sale| Key::Channel(sale.channel)),
            By::MarketDay => sale
                .and_then(|sale| sale.market_day)
                .map_or(Key::Rest, Key::MarketDay),
            By::Month => Key::Month(day.year(), day.month()),
        }
    }
}

/// The formula of a good.
fn scent_of(workshop: &Workshop, good: Good) -> Option<FormulaId> {
    match good {
        Good::Product(product) => Some(workshop.product(product)?.formula),
        Good::Trial(pour) => Some(workshop.pour(pour)?.formula),
    }
}

/// The format a [`Key`] stands for.
pub fn format_at(nth: usize) -> Option<Format> {
    Format::ALL.get(nth).copied()
}

fn format_of(workshop: &Workshop, good: Good) -> Option<usize> {
    let mould = match good {
        Good::Product(product) => workshop.product(product)?.mould,
        Good::Trial(pour) => workshop.pour(pour)?.mould?,
    };
    let format = workshop.mould(mould)?.format;
    Format::ALL.iter().position(|known| *known == format)
}

/// What was earned in a stretch of days, by the chosen method. The rows add up
/// to the same whatever they are told apart by.
pub fn earned_by(workshop: &Workshop, books: &Books, by: By, days: Days) -> BTreeMap<Key, Earned> {
    let trade = workshop.trade();
    let keys = Keys { workshop, by };
    let mut rows: BTreeMap<Key, Earned> = BTreeMap::new();
    let fees = books.fees();
    let making = making_times(workshop, books);
    for sale in trade.sales().iter().filter(|sale| sale.voided.is_none()) {
        let nth = usize::try_from(sale.id.0.saturating_sub(1)).unwrap_or(usize::MAX);
        if days.hold(sale.day) {
            let terms = trade.channel(sale.channel).map(|channel| &channel.terms);
            let whole = [
                sale.postage.map_or(0, Money::minor),
                sale.tax.minor(),
                fees.get(nth).copied().unwrap_or(0),
                postage_by_terms(sale, terms),
                time_by_terms(terms),
            ];
            over_lines(sale, whole, |good, paid, parts, units| {
                let [postage_in, tax, fees, postage, selling_ms] = parts;
                let row = rows.entry(keys.of(good, Some(sale), sale.day)).or_default();
                row.units += units;
                row.takings += paid + postage_in;
                row.tax += tax;
                row.fees += fees;
                row.postage += postage;
                row.selling_ms += selling_ms;
                row.making_ms += good
                    .and_then(|good| making.get(&good))
                    .map_or(0, |(ms, of)| time_of(*ms, units, *of));
            });
        }
        for back in sale.returns.iter().filter(|back| days.hold(back.day)) {
            let money = [back.refund.minor(), back.tax.minor()];
            let kept = back.to == ReturnTo::Kept;
            let units: Vec<(Option<Good>, i64)> = back
                .units
                .iter()
                .map(|units| (Some(Good::Product(units.product)), i64::from(units.count)))
                .collect();
            let lines = sale.lines.iter().map(|line| {
                let first = line.units.first();
                let good = first.map(|units| Good::Product(units.product));
                (good, line.paid.minor().max(0))
            });
            let came_back = units.iter().any(|(_, count)| *count > 0);
            let mut weights = if came_back { units } else { lines.collect() };
            if weights.is_empty() {
                weights.push((None, 0));
            }
            share_out(&weights, money, |good, [refund, tax], weight| {
                let row = rows.entry(keys.of(good, Some(sale), back.day)).or_default();
                row.takings -= refund;
                row.tax -= tax;
                row.units -= if came_back && !kept { weight } else { 0 };
            });
        }
    }
    for flow in books
        .own()
        .flows()
        .iter()
        .filter(|flow| days.hold(flow.day))
    {
        let out_of = |pocket| match pocket {
            Pocket::Goods(good) => Some(good),
            _ => None,
        };
        let (good, sale, costs) = match (flow.from, flow.to) {
            (from, Pocket::Sold(sale)) => (out_of(from), trade.sale(sale), flow.costs),
            (Pocket::Sold(sale), to) => (out_of(to), trade.sale(sale), -flow.costs),
            (from, Pocket::Lost(_) | Pocket::Difference) => (out_of(from), None, flow.costs),
            (Pocket::Lost(_), to) => (out_of(to), None, -flow.costs),
            _ => continue,
        };
        let key = match (by, flow.at.and_then(|at| trade.market_day(at))) {
            (By::Channel, Some(at)) => Key::Channel(at.channel),
            (By::MarketDay, Some(at)) => Key::MarketDay(at.id),
            _ => keys.of(good, sale, flow.day),
        };
        let row = rows.entry(key).or_default();
        match (flow.from, flow.to) {
            (Pocket::Sold(_), _) | (_, Pocket::Sold(_)) => row.cost += costs,
            (_, Pocket::Difference) => row.differences += costs,
            _ => row.lost += costs,
        }
    }
    for part in credits(workshop, days) {
        let row = keys.of(part.good, Some(part.sale), part.day);
        let row = rows.entry(row).or_default();
        row.takings -= part.total;
        row.tax -= part.tax;
    }
    for day in trade.market_days() {
        if !day.called_off && days.hold(day.on) {
            let key = match by {
                By::Channel => Key::Channel(day.channel),
                By::MarketDay => Key::MarketDay(day.id),
                _ => keys.of(None, None, day.on),
            };
            let row = rows.entry(key).or_default();
            row.day_costs += cost_of_day(day);
            row.tins -= tin_of(workshop, day).map_or(0, |tin| tin.difference.minor());
            row.selling_ms += day
                .hours
                .as_ref()
                .map_or(0, |hours| hours.value().smallest());
        }
    }
    for payout in trade.payouts().filter(|payout| days.hold(payout.day)) {
        let kept = kept_beyond_terms(workshop, payout);
        let key = match by {
            By::Channel => Key::Channel(payout.channel),
            _ => keys.of(None, None, payout.day),
        };
        if let Some(kept) = kept.filter(|kept| kept.minor() != 0) {
            rows.entry(key).or_default().fees += kept.minor();
        }
    }
    // The first sale of each order, whose goods the parcel brought.
    let mut sent_with: BTreeMap<OrderId, &Sale> = BTreeMap::new();
    for sale in trade.sales().iter().filter(|sale| sale.voided.is_none()) {
        if let Some(order) = sale.order {
            sent_with.entry(order).or_insert(sale);
        }
    }
    for order in trade.orders() {
        let (Some(sent), Some(postage)) = (order.sent, order.postage) else {
            continue;
        };
        if !days.hold(sent) {
            continue;
        }
        if let Some(sale) = sent_with.get(&order.id) {
            over_lines(sale, [postage.minor()], |good, _, [postage], _| {
                let key = keys.of(good, Some(sale), sent);
                rows.entry(key).or_default().postage += postage;
            });
            continue;
        }
        let key = match by {
            By::Channel => Key::Channel(order.channel),
            _ => keys.of(None, None, sent),
        };
        rows.entry(key).or_default().postage += postage.minor();
    }
    rows.retain(|_, row| *row != Earned::default());
    rows
}

fn cost_of_day(day: &MarketDay) -> i64 {
    let costs = [day.costs.pitch, day.costs.travel, day.costs.other];
    costs.iter().flatten().map(|cost| cost.minor()).sum()
}

fn time_of(ms: i64, units: i64, of: i64) -> i64 {
    let ms = i128::from(ms) * i128::from(units) / i128::from(of.max(1));
    i64::try_from(ms).unwrap_or(0)
}

/// Hands-on time of all timed lots of a good, in milliseconds, and their units.
fn making_times(workshop: &Workshop, books: &Books) -> BTreeMap<Good, (i64, i64)> {
    let mut times: BTreeMap<Good, (i64, i64)> = BTreeMap::new();
    for pour in workshop.pours() {
        let lot = pour.finished.as_ref();
        let time = lot.and_then(|lot| lot.minutes.as_ref());
        if let (Some(lot), Some(time), Some(good)) = (lot, time, books.good_of(pour.id)) {
            let units = i64::from(lot.good.saturating_add(lot.seconds));
            let of = times.entry(good).or_default();
            of.0 = of.0.saturating_add(time.value().smallest());
            of.1 = of.1.saturating_add(units);
        }
    }
    times.retain(|_, (_, units)| *units > 0);
    times
}

/// What sending a sale costs by its channel's terms, in minor units; nothing
/// where an order says it. What a shop sold out of its own shelf came there
/// with an order.
pub fn postage_by_terms(sale: &Sale, terms: Option<&ChannelTerms>) -> i64 {
    if sale.order.is_some() || sale.from == SaleFrom::Shop {
        return 0;
    }
    let paid = terms.and_then(|terms| terms.postage_paid);
    paid.map_or(0, Money::minor)
}

fn time_by_terms(terms: Option<&ChannelTerms>) -> i64 {
    let time = terms.and_then(|terms| terms.time_a_sale.as_ref());
    time.map_or(0, |time| time.value().smallest())
}

/// Shares what belongs to a whole sale over its lines by what each cost the
/// buyer; the parts add up to the whole.
fn over_lines<const N: usize>(
    sale: &Sale,
    whole: [i64; N],
    mut each: impl FnMut(Option<Good>, i64, [i64; N], i64),
) {
    let weight = |line: &crate::facts::SaleLine| line.paid.minor().max(0);
    let sum: i64 = sale.lines.iter().map(weight).sum();
    let n = i64::try_from(sale.lines.len()).unwrap_or(i64::MAX);
    if n == 0 {
        each(None, 0, whole, 0);
    }
    let (mut so_far, mut given) = (0, [0; N]);
    for (nth, line) in (1..).zip(&sale.lines) {
        so_far += weight(line);
        let (part, of) = if sum > 0 { (so_far, sum) } else { (nth, n) };
        let parts = up_to(whole, &mut given, part, of);
        let units = line.units.iter().map(|units| i64::from(units.count)).sum();
        let good = line.units.first();
        let good = good.map(|units| Good::Product(units.product));
        each(good, line.paid.minor(), parts, units);
    }
}

/// Shares a whole by weights; the parts add up to it.
fn share_out<K: Copy, const N: usize>(
    weights: &[(K, i64)],
    whole: [i64; N],
    mut each: impl FnMut(K, [i64; N], i64),
) {
    let sum: i64 = weights.iter().map(|(_, weight)| weight).sum();
    let n = i64::try_from(weights.len()).unwrap_or(i64::MAX);
    let (mut so_far, mut given) = (0, [0; N]);
    for (nth, (key, weight)) in (1..).zip(weights) {
        so_far += weight;
        let (part, of) = if sum > 0 { (so_far, sum) } else { (nth, n) };
        each(*key, up_to(whole, &mut given, part, of), *weight);
    }
}

/// What a credit note took off of one line of a sale, in whole minor units.
#[derive(Debug, Clone, Copy)]
pub struct CreditPart<'a> {
    /// The day of the credit note.
    pub day: Date,
    /// The credit note.
    pub note: InvoiceId,
    /// The sale.
    pub sale: &'a Sale,
    /// What the line is of; none for a line without units.
    pub good: Option<Good>,
    /// What was taken off, tax in it.
    pub total: i64,
    /// The tax in it.
    pub tax: i64,
}

/// What credit notes took off in a stretch of days, shared over the lines of
/// their invoices by what each cost the buyer; the parts of a note add up to it.
pub fn credits(workshop: &Workshop, days: Days) -> Vec<CreditPart<'_>> {
    let trade = workshop.trade();
    let mut parts = Vec::new();
    let notes = trade.invoices().iter().filter(|note| days.hold(note.day));
    for note in notes {
        let of = note.credits.as_ref().and_then(|(of, _)| trade.invoice(*of));
        let sales = of.map_or(&[][..], |of| of.sales.as_slice());
        let lines: Vec<((&Sale, Option<Good>), i64)> = sales
            .iter()
            .filter_map(|sale| trade.sale(*sale))
            .flat_map(|sale| sale.lines.iter().map(move |line| (sale, line)))
            .map(|(sale, line)| {
                let good = line.units.first();
                let good = good.map(|units| Good::Product(units.product));
                ((sale, good), line.paid.minor().max(0))
            })
            .collect();
        let whole = [note.total.minor(), note.tax.minor()];
        share_out(&lines, whole, |(sale, good), [total, tax], _| {
            parts.push(CreditPart {
                day: note.day,
                note: note.id,
                sale,
                good,
                total,
                tax,
            });
        });
    }
    parts
}

/// The next parts, so that those given so far are `part ÷ of` of the whole.
fn up_to<const N: usize>(whole: [i64; N], given: &mut [i64; N], part: i64, of: i64) -> [i64; N] {
    let mut parts = [0; N];
    for ((next, given), whole) in parts.iter_mut().zip(given).zip(whole) {
        let due = i128::from(whole) * i128::from(part) / i128::from(of.max(1));
        let due = i64::try_from(due).unwrap_or(whole);
        *next = due - *given;
        *given = due;
    }
    parts
}

/// What each sale cost in fees, in minor units, by its place among the sales.
/// Where a market day has a card report, its fees come from there, rounded once
/// for the day; what the payments cost is borne by the sales paid by card, where
/// any are known to be.
pub fn fees_of_sales(workshop: &Workshop) -> Vec<i64> {
    let trade = workshop.trade();
    let mut fees: Vec<i64> = trade
        .sales()
        .iter()
        .map(|sale| fees_of(workshop, sale).minor())
        .collect();
    for day in trade.market_days() {
        let Some((cards, n)) = day
            .till
            .and_then(|till| Some((till.cards?, till.card_payments.unwrap_or(0))))
        else {
            continue;
        };
        let Some(channel) = trade.channel(day.channel) else {
            continue;
        };
        let sales: Vec<&Sale> = day
            .sales
            .iter()
            .filter_map(|sale| trade.sale(*sale))
            .filter(|sale| sale.voided.is_none())
            .collect();
        let terms = &channel.terms;
        let mut exact = Fee::default();
        exact.add(cards.cost(), terms.payment_percent.map(Ratio::decimal));
        exact.add_fixed(terms.payment_fixed.map(Money::major), n);
        let of_cards = exact.minor(cards.currency());
        for sale in &sales {
            exact.add(sale.paid().cost(), terms.percent_fee.map(Ratio::decimal));
            exact.add_fixed(terms.fixed_fee.map(Money::major), 1);
        }
        let whole = exact.minor(cards.currency());
        let by_card = |sale: &&Sale| sale.payment == Payment::Card;
        let any_card = sales.iter().any(by_card);
        let at = |sale: &Sale| usize::try_from(sale.id.0.saturating_sub(1)).unwrap_or(usize::MAX);
        let weights = |of_cards: bool| -> Vec<(usize, i64)> {
            let bears = |sale: &&&Sale| !of_cards || !any_card || by_card(sale);
            let paid = |sale: &&Sale| (at(sale), sale.paid().minor().max(0));
            sales.iter().filter(bears).map(paid).collect()
        };
        for sale in &sales {
            if let Some(fee) = fees.get_mut(at(sale)) {
                *fee = 0;
            }
        }
        for (weights, part) in [
            (weights(true), of_cards),
            (weights(false), whole - of_cards),
        ] {
            share_out(&weights, [part], |at, [share], _| {
                if let Some(fee) = fees.get_mut(at) {
                    *fee += share;
                }
            });
        }
    }
    fees
}

/// A fee before it is rounded, in major units.
#[derive(Default)]
struct Fee(Decimal);

impl Fee {
    fn add(&mut self, of: Cost, share: Option<Decimal>) {
        if let Some(part) = share.and_then(|share| of.major().checked_mul(share)) {
            self.0 = self.0.checked_add(part).unwrap_or(self.0);
        }
    }

    fn add_fixed(&mut self, fee: Option<Decimal>, times: u32) {
        if let Some(fee) = fee.and_then(|fee| fee.checked_mul(Decimal::from(times))) {
            self.0 = self.0.checked_add(fee).unwrap_or(self.0);
        }
    }

    fn minor(&self, currency: measure::Currency) -> i64 {
        Cost::new(self.0, currency)
            .rounded()
            .map_or(0, Money::minor)
    }
}

/// A stretch of days from takings to profit, and where the goods went.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Summary {
    /// Everything earned.
    pub earned: Earned,
    /// Other things paid for, by kind, in minor units.
    pub expenses: BTreeMap<ExpenseKind, i64>,
    /// What went through the stock, by the method the maker chose.
    pub own: Period,
    /// By the other.
    pub other: Period,
}

impl Summary {
    /// Everything paid for other things, in minor units.
    pub fn spent(&self) -> i64 {
        self.expenses.values().sum()
    }

    /// What is left before the maker's own time.
    pub fn profit(&self) -> Value {
        self.earned.left() - in_minor(self.spent())
    }

    /// What is left when the maker's time and overhead are paid too.
    pub fn profit_after_work(&self) -> Value {
        self.earned.left_after_work() - in_minor(self.spent())
    }
}

/// Sums up a stretch of days.
pub fn summary(workshop: &Workshop, books: &Books, days: Days) -> Summary {
    let mut earned = Earned::default();
    for row in earned_by(workshop, books, By::Month, days).values() {
        earned.add(row);
    }
    Summary {
        earned,
        expenses: expenses_by_kind(workshop, books, days),
        own: books.own().period(days),
        other: books.other().period(days),
    }
}

/// What was paid for other things than supplies in a stretch of days, in minor
/// units. What was paid in another currency is left out.
pub fn expenses_by_kind(
    workshop: &Workshop,
    books: &Books,
    days: Days,
) -> BTreeMap<ExpenseKind, i64> {
    let mut sums: BTreeMap<ExpenseKind, i64> = BTreeMap::new();
    for (day, paid) in workshop.trade().expenses() {
        if days.hold(*day) && paid.amount.currency() == books.currency() {
            *sums.entry(paid.kind).or_default() += paid.cost().minor();
        }
    }
    sums.retain(|_, sum| *sum != 0);
    sums
}

/// Units that went through in a stretch of days. Opening + made + found =
/// sold + gone + closing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moved {
    /// On hand before.
    pub opening: i64,
    /// Finished.
    pub made: i64,
    /// Sold, less those that came back.
    pub sold: i64,
    /// Gone without being sold, less those found again.
    pub gone: i64,
    /// On hand after.
    pub closing: i64,
}

impl Moved {
    /// Of what there was to sell, the share sold, 0 to 1; none where there was
    /// nothing.
    pub fn sell_through(&self) -> Option<f64> {
        let there = self.opening + self.made;
        (there > 0).then(|| self.sold as f64 / there as f64)
    }

    /// Adds another to it.
    pub fn add(&mut self, other: &Self) {
        self.opening += other.opening;
        self.made += other.made;
        self.sold += other.sold;
        self.gone += other.gone;
        self.closing += other.closing;
    }
}

/// The units of each good that went through in a stretch of days.
pub fn moved(books: &Books, days: Days) -> BTreeMap<Good, Moved> {
    let mut all: BTreeMap<Good, Moved> = BTreeMap::new();
    for flow in books.own().flows() {
        if days.to.is_some_and(|to| flow.day > to) {
            continue;
        }
        let (good, into) = match (flow.from, flow.to) {
            (Pocket::Goods(_), Pocket::Difference) => continue,
            (Pocket::Goods(good), _) => (good, -1),
            (_, Pocket::Goods(good)) => (good, 1),
            _ => continue,
        };
        let row = all.entry(good).or_default();
        let units = into * flow.quantity;
        row.closing += units;
        if days.come_after(flow.day) {
            row.opening += units;
            continue;
        }
        match (flow.from, flow.to) {
            (Pocket::Pot(_), _) => row.made += units,
            (Pocket::Sold(_), _) | (_, Pocket::Sold(_)) => row.sold -= units,
            _ => row.gone -= units,
        }
    }
    all
}

/// A good on hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnHand {
    /// Which.
    pub good: Good,
    /// How many; below zero when more left than was made.
    pub units: i64,
    /// What they carry by the chosen method.
    pub costs: Costs,
    /// By the other.
    pub other: Costs,
    /// What making them anew would cost at the last prices paid; none where a
    /// supply was never received.
    pub anew: Option<Costs>,
    /// Units sold in the days looked back on.
    pub sold: i64,
    /// Days looked back on: those since it could first be sold, the last
    /// [`LOOK_BACK`] at most.
    pub of_days: i64,
}

/// Days of selling that days left are reckoned from: a quarter, so that one
/// good market day does not stand for all. Common practice, no source.
pub const LOOK_BACK: i64 = 91;
/// Fewer units sold than this tell too little: the chance error of a count of
/// five is nearly half of it.
const TOO_FEW: i64 = 5;

impl OnHand {
    /// Days until it is sold out at the pace of the days looked back on; none
    /// where too few were sold to tell, or nothing is there.
    pub fn days_left(&self) -> Option<i64> {
        (self.units > 0 && self.sold >= TOO_FEW)
            .then(|| self.units.saturating_mul(self.of_days) / self.sold)
    }
}

/// Goods on hand with their value and how long they last, as the books stand.
pub fn on_hand(workshop: &Workshop, books: &Books, today: Date) -> Vec<OnHand> {
    let day = books.at().map_or(today, |at| at.min(today));
    let back = day.saturating_sub(jiff::Span::new().days(LOOK_BACK - 1));
    let lately = moved(books, Days::between(back, day));
    books
        .own()
        .goods()
        .filter(|(_, stock)| stock.units() != 0 || !stock.costs().is_zero())
        .map(|(good, stock)| {
            let first = books.moves.first_lot.get(&good);
            let since = first
                .and_then(|pour| workshop.ready_on(workshop.pour(*pour)?))
                .unwrap_or(back)
                .max(back);
            let other = books.other().good(good).map(super::GoodsStock::costs);
            OnHand {
                good,
                units: stock.units(),
                costs: stock.costs(),
                other: other.unwrap_or_default(),
                anew: cost_anew(books, good).map(|(costs, of)| costs.share(stock.units(), of)),
                sold: lately.get(&good).map_or(0, |moved| moved.sold),
                of_days: i64::from((day - since).get_days()).max(0) + 1,
            }
        })
        .collect()
}

/// What the latest lot of a good would cost at the last prices paid, and its
/// units.
fn cost_anew(books: &Books, good: Good) -> Option<(Costs, i64)> {
    let pour: PourId = *books.moves.last_lot.get(&good)?;
    let made = books.moves.made_of(pour);
    let mut materials = Value::ZERO;
    for (supply, used) in books.uses_of(pour) {
        let (brought, paid) = books.moves.last_cost.get(&supply)?;
        materials += paid.share(used, *brought);
    }
    let work = books.own().lot(pour)?.work;
    (made > 0).then_some((Costs { materials, work }, made))
}

impl Books {
    /// What a supply on hand would cost at the last price paid; none before the
    /// first delivery.
    pub fn supply_anew(&self, supply: crate::facts::SupplyId) -> Option<Value> {
        let (brought, paid) = self.moves.last_cost.get(&supply)?;
        let there = self.own().supply(supply)?.quantity();
        Some(paid.share(there, *brought))
    }
}

/// The sales tax of one month, in whole minor units.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TaxMonth {
    /// What buyers paid in sales with tax in them, the tax in it.
    pub taxed: i64,
    /// The tax in it.
    pub tax: i64,
    /// What buyers paid in sales without tax.
    pub untaxed: i64,
    /// What buyers got back, tax in it.
    pub refunds: i64,
    /// The tax in that.
    pub tax_back: i64,
}

impl TaxMonth {
    /// What is due.
    pub const fn due(&self) -> i64 {
        self.tax - self.tax_back
    }

    /// Adds another to it.
    pub const fn add(&mut self, other: &Self) {
        self.taxed += other.taxed;
        self.tax += other.tax;
        self.untaxed += other.untaxed;
        self.refunds += other.refunds;
        self.tax_back += other.tax_back;
    }
}

/// The sales tax of each month in a stretch of days, by the day of each sale,
/// each refund and each credit note. A voided sale never was.
pub fn tax_report(workshop: &Workshop, days: Days) -> BTreeMap<(i16, i8), TaxMonth> {
    let mut months: BTreeMap<(i16, i8), TaxMonth> = BTreeMap::new();
    let sales = workshop.trade().sales().iter();
    for sale in sales.filter(|sale| sale.voided.is_none()) {
        if days.hold(sale.day) {
            let month = months.entry((sale.day.year(), sale.day.month()));
            let month = month.or_default();
            let paid = sale.paid().minor();
            if sale.tax.minor() == 0 {
                month.untaxed += paid;
            } else {
                month.taxed += paid;
                month.tax += sale.tax.minor();
            }
        }
        for back in sale.returns.iter().filter(|back| days.hold(back.day)) {
            let month = months.entry((back.day.year(), back.day.month()));
            let month = month.or_default();
            month.refunds += back.refund.minor();
            month.tax_back += back.tax.minor();
        }
    }
    for part in credits(workshop, days) {
        let month = months.entry((part.day.year(), part.day.month()));
        let month = month.or_default();
        month.refunds += part.total;
        month.tax_back += part.tax;
    }
    months
}
