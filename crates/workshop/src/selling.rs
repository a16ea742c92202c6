//! What a buyer pays, and which units leave first.
//!
//! A price is the channel's own, or else the usual one. Several together cost
//! what the maker's bundles make of them, the cheapest way for the buyer. Units
//! leave by lot, the earliest best-by first.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::{Cost, Currency, Decimal, Money, Ratio};

use crate::facts::{
    Bundle, ChannelId, ChannelKind, Grade, Payment, Place, PourId, ProductId, SalesTax, Units,
};
use crate::goods::Item;
use crate::orders::times;
use crate::state::{LotVerdict, Workshop};
use crate::trade::{Channel, Sale};
use crate::worth::good_of;

/// Groups of bundles over different goods that are tried in every order; past
/// that those for the fewest goods go first.
const ORDERS_TRIED: usize = 4;

/// What one unit of a good is asked for in a channel: the channel's own price,
/// or else the usual one, for shops that buy with their discount off. The tax
/// is in it where prices on the table have it in them. None for a good without
/// a price.
pub fn price_in(workshop: &Workshop, channel: &Channel, product: ProductId) -> Option<Money> {
    if let Some(own) = channel.prices.get(&product) {
        return Some(*own);
    }
    let usual = workshop.product(product)?.prices?.typical;
    match (channel.kind, channel.terms.discount) {
        (ChannelKind::Wholesale, Some(discount)) => {
            let kept = Decimal::ONE - discount.decimal().min(Decimal::ONE);
            usual.cost().times(kept).rounded()
        }
        _ => Some(usual),
    }
}

/// The tax in an amount that has it inside, rounded half-even to whole minor
/// units: amount × rate ÷ (1 + rate).
pub fn tax_inside(amount: Money, rate: Ratio) -> Money {
    let part = amount.cost().times(rate.decimal());
    part.over(Decimal::ONE + rate.decimal())
        .and_then(Cost::rounded)
        .unwrap_or(Money::from_minor(0, amount.currency()))
}

/// The tax that comes on top of an amount, rounded half-even to whole minor
/// units: amount × rate.
pub fn tax_on_top(amount: Money, rate: Ratio) -> Money {
    amount
        .cost()
        .times(rate.decimal())
        .rounded()
        .unwrap_or(Money::from_minor(0, amount.currency()))
}

/// So many of a good, at so much each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Priced {
    /// Which good.
    pub product: ProductId,
    /// How many.
    pub count: u32,
    /// What one costs alone.
    pub each: Money,
}

/// What several goods cost together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Together {
    /// What each line comes to, its share of the bundles in it.
    pub lines: Vec<Money>,
    /// How often each bundle was used, by its place in the list.
    pub used: Vec<u32>,
    /// What the bundles saved.
    pub saved: Money,
}

impl Together {
    /// All lines together.
    pub fn total(&self) -> Money {
        sum_of(&self.lines, self.saved.currency())
    }
}

/// One unit of a sale.
#[derive(Debug, Clone, Copy)]
struct Unit {
    line: usize,
    each: i64,
}

/// Bundles for the same goods of a sale.
struct Offer {
    lines: BTreeSet<usize>,
    /// Their place in the maker's list, how many units, for how much.
    bundles: Vec<(usize, usize, i64)>,
}

/// What goods cost together, the cheapest way for the buyer that the bundles
/// allow: of bundles for the same goods exactly, the dearest units in them;
/// where bundles for different goods overlap, in the best order of taking one
/// kind after the other. A bundle in another currency, for nothing or of fewer
/// than two is left alone. None where the lines are in several currencies.
///
/// What a bundle costs is shared over its lines by what their units cost alone,
/// in whole minor units by the largest remainder.
pub fn together(lines: &[Priced], bundles: &[Bundle]) -> Option<Together> {
    let currency = lines.first()?.each.currency();
    if lines.iter().any(|line| line.each.currency() != currency) {
        return None;
    }
    let offers = offers(lines, bundles);
    if offers.is_empty() {
        // Unit by unit only where that can change anything: a count of a market
        // day may be of millions.
        return Some(Together {
            lines: lines
                .iter()
                .map(|line| times(line.each, line.count))
                .collect(),
            used: vec![0; bundles.len()],
            saved: Money::from_minor(0, currency),
        });
    }
    let orders = match offers.len() {
        n if n <= ORDERS_TRIED => orders_of(n),
        n => {
            let mut by_width: Vec<usize> = (0..n).collect();
            by_width.sort_by_key(|nth| offers.get(*nth).map(|offer| offer.lines.len()));
            vec![by_width]
        }
    };
    orders
        .into_iter()
        .map(|order| in_order(lines, &offers, &order, bundles.len()))
        .min_by_key(|found| found.total().minor())
}

fn offers(lines: &[Priced], bundles: &[Bundle]) -> Vec<Offer> {
    let mut offers: Vec<Offer> = Vec::new();
    for (nth, bundle) in bundles.iter().enumerate() {
        let count = bundle.count as usize;
        let holds = |line: &Priced| {
            bundle.products.contains(&line.product)
                && line.each.currency() == bundle.price.currency()
        };
        let held: BTreeSet<usize> = lines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.count > 0 && holds(line))
            .map(|(nth, _)| nth)
            .collect();
        let units: u64 = held
            .iter()
            .filter_map(|nth| lines.get(*nth))
            .map(|line| u64::from(line.count))
            .sum();
        if count < 2 || bundle.price.minor() <= 0 || units < u64::from(bundle.count) {
            continue;
        }
        let one = (nth, count, bundle.price.minor());
        match offers.iter_mut().find(|offer| offer.lines == held) {
            Some(offer) => offer.bundles.push(one),
            None => offers.push(Offer {
                lines: held,
                bundles: vec![one],
            }),
        }
    }
    offers
}

/// Every order of so many things.
fn orders_of(n: usize) -> Vec<Vec<usize>> {
    let mut orders = vec![Vec::new()];
    for next in 0..n {
        orders = orders
            .iter()
            .flat_map(|order: &Vec<usize>| {
                (0..=order.len()).map(move |at| {
                    let mut longer = order.clone();
                    longer.insert(at, next);
                    longer
                })
            })
            .collect();
    }
    orders
}

fn in_order(lines: &[Priced], offers: &[Offer], order: &[usize], n_bundles: usize) -> Together {
    let currency = lines.first().map(|line| line.each.currency());
    let currency = currency.unwrap_or(measure::Currency::USD);
    let mut free: Vec<Unit> = lines
        .iter()
        .enumerate()
        .flat_map(|(nth, line)| {
            let unit = Unit {
                line: nth,
                each: line.each.minor(),
            };
            (0..line.count).map(move |_| unit)
        })
        .collect();
    let wanted_by = |line: usize| offers.iter().filter(|it| it.lines.contains(&line)).count();
    // Dearest first; among equals those that fewer bundles want.
    free.sort_by_key(|unit| {
        (
            std::cmp::Reverse(unit.each),
            wanted_by(unit.line),
            unit.line,
        )
    });
    let plain: i64 = free.iter().map(|unit| unit.each).sum();
    let mut sums = vec![0_i64; lines.len()];
    let mut used = vec![0_u32; n_bundles];
    for offer in order.iter().filter_map(|nth| offers.get(*nth)) {
        let (taken, kept): (Vec<Unit>, Vec<Unit>) = free
            .iter()
            .copied()
            .partition(|unit| offer.lines.contains(&unit.line));
        let (n, price, times) = best_of(&taken, &offer.bundles);
        if n == 0 {
            continue;
        }
        let (bundled, rest) = taken.split_at(n);
        let mut weights = vec![0_u64; lines.len()];
        for unit in bundled {
            if let Some(weight) = weights.get_mut(unit.line) {
                *weight += unit.each.unsigned_abs();
            }
        }
        let shares = price::spread(Money::from_minor(price, currency), &weights);
        for (sum, share) in sums.iter_mut().zip(shares.unwrap_or_default()) {
            *sum += share.minor();
        }
        for (nth, more) in times {
            if let Some(used) = used.get_mut(nth) {
                *used += more;
            }
        }
        let mut left = kept;
        left.extend(rest);
        left.sort_by_key(|unit| {
            (
                std::cmp::Reverse(unit.each),
                wanted_by(unit.line),
                unit.line,
            )
        });
        free = left;
    }
    for unit in free {
        if let Some(sum) = sums.get_mut(unit.line) {
            *sum += unit.each;
        }
    }
    let total: i64 = sums.iter().sum();
    Together {
        lines: sums
            .into_iter()
            .map(|minor| Money::from_minor(minor, currency))
            .collect(),
        used,
        saved: Money::from_minor(plain - total, currency),
    }
}

/// How many of some units, dearest first, to put into bundles; what those cost
/// together; and how often each bundle is used.
fn best_of(units: &[Unit], bundles: &[(usize, usize, i64)]) -> (usize, i64, Vec<(usize, u32)>) {
    // What bundles for exactly so many units cost at least, and the last of them.
    let mut cost: Vec<Option<(i64, usize)>> = vec![None; units.len() + 1];
    if let Some(none) = cost.first_mut() {
        *none = Some((0, usize::MAX));
    }
    for n in 1..=units.len() {
        let cheapest = bundles
            .iter()
            .enumerate()
            .filter_map(|(which, (_, count, price))| {
                let (before, _) = (*cost.get(n.checked_sub(*count)?)?)?;
                Some((before + price, which))
            })
            .min();
        if let Some(slot) = cost.get_mut(n) {
            *slot = cheapest;
        }
    }
    let mut alone: i64 = units.iter().map(|unit| unit.each).sum();
    let mut best = (alone, 0);
    for (unit, n) in units.iter().zip(1..) {
        alone -= unit.each;
        if let Some((bundled, _)) = cost.get(n).copied().flatten() {
            best = best.min((bundled + alone, n));
        }
    }
    let (_, n) = best;
    let price = cost.get(n).copied().flatten().map_or(0, |(price, _)| price);
    let mut times: BTreeMap<usize, u32> = BTreeMap::new();
    let mut left = n;
    while let Some((_, which)) = cost.get(left).copied().flatten() {
        let Some((nth, count, _)) = bundles.get(which) else {
            break;
        };
        *times.entry(*nth).or_default() += 1;
        left = left.saturating_sub(*count);
    }
    (n, price, times.into_iter().collect())
}

/// What a buyer pays for goods in a channel, with the tax that is in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bill {
    /// What is paid for each line, tax in it.
    pub lines: Vec<Money>,
    /// What is paid for all of them, tax in it.
    pub total: Money,
    /// The tax in it.
    pub tax: Money,
    /// What bundles saved, before any tax on top.
    pub saved: Money,
}

/// What a buyer pays for so many of each good in a channel.
///
/// # Errors
///
/// The first good that has no price there.
pub fn bill(
    workshop: &Workshop,
    channel: &Channel,
    wanted: &[(ProductId, u32)],
) -> Result<Bill, ProductId> {
    bill_with(workshop, channel, wanted, sales_tax(workshop))
}

/// As [`bill`], for a buyer of whom that tax is taken; none of one who pays
/// none.
pub(crate) fn bill_with(
    workshop: &Workshop,
    channel: &Channel,
    wanted: &[(ProductId, u32)],
    tax: Option<&SalesTax>,
) -> Result<Bill, ProductId> {
    let priced = wanted
        .iter()
        .map(|(product, count)| {
            let each = price_in(workshop, channel, *product).ok_or(*product)?;
            Ok(Priced {
                product: *product,
                count: *count,
                each,
            })
        })
        .collect::<Result<Vec<_>, ProductId>>()?;
    let currency = priced.first().map(|line| line.each.currency());
    let currency = currency
        .or_else(|| workshop.money_kept_in())
        .unwrap_or(measure::Currency::USD);
    let found = together(&priced, &channel.bundles).unwrap_or_else(|| Together {
        lines: Vec::new(),
        used: Vec::new(),
        saved: Money::from_minor(0, currency),
    });
    let asked = sum_of(&found.lines, currency);
    let (lines, tax) = with_tax(&found.lines, asked, tax);
    let total = sum_of(&lines, currency);
    Ok(Bill {
        lines,
        total,
        tax,
        saved: found.saved,
    })
}

fn sum_of(amounts: &[Money], currency: Currency) -> Money {
    let minors = amounts.iter().map(|money| money.minor());
    Money::from_minor(minors.fold(0, i64::saturating_add), currency)
}

/// What each line comes to with its tax, and the tax in all of them: rounded
/// once for the whole.
fn with_tax(lines: &[Money], asked: Money, tax: Option<&SalesTax>) -> (Vec<Money>, Money) {
    match tax {
        None => (lines.to_vec(), Money::from_minor(0, asked.currency())),
        Some(tax) if tax.inside => (lines.to_vec(), tax_inside(asked, tax.rate)),
        Some(tax) => {
            let on_top = tax_on_top(asked, tax.rate);
            let weights: Vec<u64> = lines
                .iter()
                .map(|line| line.minor().unsigned_abs())
                .collect();
            let shares = price::spread(on_top, &weights).unwrap_or_default();
            let lines = lines
                .iter()
                .enumerate()
                .map(|(nth, line)| {
                    let share = shares.get(nth).map_or(0, |share| share.minor());
                    Money::from_minor(line.minor().saturating_add(share), line.currency())
                })
                .collect();
            (lines, on_top)
        }
    }
}

/// The tax on sales, where the workshop takes one.
pub fn sales_tax(workshop: &Workshop) -> Option<&SalesTax> {
    workshop.trade().books()?.tax.as_ref()
}

/// What the channel and the payment of a sale cost: what was said of it, or
/// else what the channel's terms make of what the buyer paid, rounded once
/// half-even. Nothing for a sale that never was.
pub fn fees_of(workshop: &Workshop, sale: &Sale) -> Money {
    let paid = sale.paid();
    let nothing = Money::from_minor(0, paid.currency());
    if sale.voided.is_some() {
        return nothing;
    }
    if let Some(fees) = sale.fees {
        return fees;
    }
    let Some(channel) = workshop.trade().channel(sale.channel) else {
        return nothing;
    };
    let terms = &channel.terms;
    let by_card = matches!(sale.payment, Payment::Card | Payment::Payout);
    let shares = [terms.percent_fee, terms.payment_percent.filter(|_| by_card)];
    let fixed = [terms.fixed_fee, terms.payment_fixed.filter(|_| by_card)];
    let mut exact = Cost::zero(paid.currency());
    for share in shares.into_iter().flatten() {
        exact = exact
            .plus(paid.cost().times(share.decimal()))
            .unwrap_or(exact);
    }
    for fee in fixed.into_iter().flatten() {
        exact = exact.plus(fee.cost()).unwrap_or(exact);
    }
    exact.rounded().unwrap_or(nothing)
}

/// Units of one lot and grade at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Which.
    pub item: Item,
    /// How many are left there.
    pub count: i64,
    /// Whether they may be sold on the day asked about.
    pub fit: bool,
}

/// Hands out units at places, the earliest best-by first, then the oldest
/// poured, and remembers what it gave: several decisions of one moment never
/// give the same unit twice.
pub struct Picker<'a> {
    workshop: &'a Workshop,
    day: Date,
    places: BTreeMap<Place, BTreeMap<ProductId, Vec<Standing>>>,
}

impl<'a> Picker<'a> {
    /// Looks at the goods as they are; what may be sold is asked of `day`.
    pub const fn new(workshop: &'a Workshop, day: Date) -> Self {
        Self {
            workshop,
            day,
            places: BTreeMap::new(),
        }
    }

    /// What stands at a place of a good, in the order it leaves. Where more
    /// left than came, the count is below zero.
    pub fn standing(&mut self, place: Place, product: ProductId) -> &[Standing] {
        self.of(place).get(&product).map_or(&[], Vec::as_slice)
    }

    /// How many of a good at a place may be sold.
    pub fn fit(&mut self, place: Place, product: ProductId) -> u32 {
        let fit = |one: &&Standing| one.fit && one.count > 0;
        let count: i64 = self
            .standing(place, product)
            .iter()
            .filter(fit)
            .filter(|one| !matches!(one.item, Item::Lot(_, Grade::Second)))
            .map(|one| one.count)
            .sum();
        u32::try_from(count).unwrap_or(u32::MAX)
    }

    /// Takes units that are fit for sale and no seconds; fewer where there are
    /// not so many.
    pub fn take(&mut self, place: Place, product: ProductId, count: u32) -> Vec<Units> {
        self.take_where(place, product, count, |one| {
            one.fit && !matches!(one.item, Item::Lot(_, Grade::Second))
        })
    }

    /// Takes units as they must have been taken: those fit for sale first, then
    /// seconds and whatever else stands there, and for the rest units whose lot
    /// nobody knows.
    pub fn take_as_happened(&mut self, place: Place, product: ProductId, count: u32) -> Vec<Units> {
        let mut taken = self.take(place, product, count);
        let so_far = |taken: &[Units]| taken.iter().map(|units| units.count).sum::<u32>();
        for only_fit in [true, false] {
            let left = count.saturating_sub(so_far(&taken));
            taken.extend(self.take_where(place, product, left, |one| one.fit || !only_fit));
        }
        let left = count.saturating_sub(so_far(&taken));
        if left > 0 {
            self.note(place, product, Item::Unknown(product), left);
            taken.push(Units {
                product,
                lot: None,
                grade: Grade::Good,
                count: left,
            });
        }
        taken
    }

    /// Takes units of one lot and grade; fewer where there are not so many.
    pub fn take_of(
        &mut self,
        place: Place,
        product: ProductId,
        lot: PourId,
        grade: Grade,
        count: u32,
    ) -> Vec<Units> {
        self.take_where(place, product, count, |one| {
            one.item == Item::Lot(lot, grade)
        })
    }

    fn take_where(
        &mut self,
        place: Place,
        product: ProductId,
        count: u32,
        wanted: impl Fn(&Standing) -> bool,
    ) -> Vec<Units> {
        let mut left = count;
        let mut taken = Vec::new();
        let standing = self.of(place).entry(product).or_default();
        for one in standing.iter_mut().filter(|one| one.count > 0) {
            if left == 0 {
                break;
            }
            if !wanted(one) {
                continue;
            }
            let there = u32::try_from(one.count).unwrap_or(u32::MAX);
            let count = there.min(left);
            one.count -= i64::from(count);
            left -= count;
            taken.push(units_of(product, one.item, count));
        }
        taken
    }

    fn note(&mut self, place: Place, product: ProductId, item: Item, count: u32) {
        let standing = self.of(place).entry(product).or_default();
        match standing.iter_mut().find(|one| one.item == item) {
            Some(one) => one.count -= i64::from(count),
            None => standing.push(Standing {
                item,
                count: -i64::from(count),
                fit: false,
            }),
        }
    }

    fn of(&mut self, place: Place) -> &mut BTreeMap<ProductId, Vec<Standing>> {
        let (workshop, day) = (self.workshop, self.day);
        self.places
            .entry(place)
            .or_insert_with(|| standing_at(workshop, place, day))
    }
}

/// Everything at a place by its good, in the order it leaves.
pub fn standing_at(
    workshop: &Workshop,
    place: Place,
    day: Date,
) -> BTreeMap<ProductId, Vec<Standing>> {
    type Key = (bool, Date, Date, Item);
    let mut found: BTreeMap<ProductId, Vec<(Key, Standing)>> = BTreeMap::new();
    for (item, count) in workshop.goods().at(place) {
        let (product, fit, best_by, poured) = match item {
            Item::Unknown(product) => (Some(product), true, Date::MIN, Date::MIN),
            Item::Lot(lot, _) => {
                let Some(pour) = workshop.pour(lot) else {
                    continue;
                };
                let product = good_of(workshop, pour).map(|good| good.id);
                let verdict = workshop.verdict(pour, day);
                let fit = matches!(verdict, Some(LotVerdict::Ready(_)));
                let best_by = workshop.best_scent_by(pour).unwrap_or(Date::MAX);
                (product, fit, best_by, pour.poured.unwrap_or(Date::MAX))
            }
        };
        if let Some(product) = product {
            let key = (!fit, best_by, poured, item);
            let standing = Standing { item, count, fit };
            found.entry(product).or_default().push((key, standing));
        }
    }
    found
        .into_iter()
        .map(|(product, mut list)| {
            list.sort_by_key(|(key, _)| *key);
            (product, list.into_iter().map(|(_, one)| one).collect())
        })
        .collect()
}

/// Units of an item.
pub const fn units_of(product: ProductId, item: Item, count: u32) -> Units {
    let (lot, grade) = match item {
        Item::Lot(lot, grade) => (Some(lot), grade),
        Item::Unknown(_) => (None, Grade::Good),
    };
    Units {
        product,
        lot,
        grade,
        count,
    }
}

/// The channels of a kind that are not given up.
pub fn open_channels(workshop: &Workshop, kind: ChannelKind) -> impl Iterator<Item = &Channel> {
    workshop
        .trade()
        .channels()
        .filter(move |channel| channel.kind == kind && !channel.closed)
}

/// The channel of that name, letter case apart.
pub(crate) fn channel_named(workshop: &Workshop, name: &str) -> Option<ChannelId> {
    let wanted = name.trim().to_lowercase();
    let mut channels = workshop.trade().channels();
    channels
        .find(|channel| channel.name.to_lowercase() == wanted)
        .map(|channel| channel.id)
}
