//! Two questions about an order: firm or on return, and what to pack it in.
//! Filled from the order where its figures are known, from the form elsewhere.

use measure::{
    Checker, Cost, Decimal, Mass, Money, Problem, Problems, Quantity, Ratio, TimeSpan, TimeUnit,
    Unclear, in_system, parse_in, percent,
};
use price::{
    BandInput, FirmInput, ItemInput, PackingInput, ParcelInput, ParcelOutput, ReturnInput,
    SaleOrReturnInput, SaleOrReturnOutput,
};
use workshop::facts::{ChannelKind, Place, ProductId, SaleFrom};
use workshop::{Order, Spot, Workshop, recent_cost, tare_of};

use crate::forms::{Filled, as_typed, whole};

/// Packings and steps of the post's price list that the form has boxes for.
pub const PACKINGS: usize = 3;
/// Steps of the post's price list.
pub const BANDS: usize = 4;

/// What came of asking.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked<T> {
    /// Boxes are still empty, and nothing that stands in one is wrong: how many.
    StillEmpty(usize),
    /// Something that was typed cannot be read; and how many boxes are empty.
    Unclear(Problems, usize),
    /// The answer.
    Answer(Box<T>),
}

fn told<T>(filled: &Filled, unread: &Problems, outcome: Result<T, Problems>) -> Asked<T> {
    let more = match outcome {
        Ok(output) if unread.is_empty() => return Asked::Answer(Box::new(output)),
        Ok(_) => Problems::default(),
        Err(more) => more,
    };
    // What could not be read here was handed on as missing; it is said once.
    let more = more.0.into_iter();
    let more = more.filter(|problem| unread.of(&problem.field).is_none());
    let (typed, empty): (Vec<_>, Vec<_>) = unread
        .0
        .iter()
        .cloned()
        .chain(more)
        .partition(|problem| filled.some(&problem.field).is_some());
    // The calculation saw a plain text; the maker knows what was typed.
    let typed: Vec<_> = typed
        .into_iter()
        .map(|problem| Problem {
            given: filled.get(&problem.field).to_owned(),
            ..problem
        })
        .collect();
    if typed.is_empty() {
        Asked::StillEmpty(empty.len())
    } else {
        Asked::Unclear(Problems(typed), empty.len())
    }
}

/// Reads texts by the workshop's habits and writes them plainly, as a
/// calculation takes them.
struct Plain<'a> {
    workshop: &'a Workshop,
    filled: &'a Filled,
    check: Checker,
}

impl<'a> Plain<'a> {
    fn new(workshop: &'a Workshop, filled: &'a Filled) -> Self {
        Self {
            workshop,
            filled,
            check: Checker::default(),
        }
    }

    fn read<T>(&mut self, field: &str, read: impl FnOnce(&str) -> Result<T, Unclear>) -> Option<T> {
        self.check.optional(field, self.filled.some(field), read)
    }

    fn amount(&mut self, field: &str) -> Option<String> {
        let (own, reading) = (self.workshop.currency(), self.workshop.reading());
        self.read(field, |text| Cost::parse(text, own, reading))
            .map(|cost| format!("{} {}", cost.major(), cost.currency().code()))
    }

    fn share(&mut self, field: &str) -> Option<String> {
        let reading = self.workshop.reading();
        self.read(field, |text| Ratio::parse(text, reading))
            .map(|ratio| format!("{} %", ratio.percent()))
    }

    fn count(&mut self, field: &str) -> Option<serde_json::Number> {
        self.read(field, whole).map(Into::into)
    }

    fn days(&mut self, field: &str) -> Option<String> {
        let reading = self.workshop.reading();
        self.read(field, |text| {
            parse_in::<TimeSpan>(text, TimeUnit::Day, reading)
        })
        .map(|time| time.to_string())
    }

    fn weight(&mut self, field: &str) -> Option<String> {
        let (unit, reading) = (self.workshop.system().mass_unit(), self.workshop.reading());
        self.read(field, |text| parse_in::<Mass>(text, unit, reading))
            .map(|weight| weight.to_string())
    }

    fn currency(&self) -> Option<String> {
        self.workshop.currency().map(|own| own.code().to_owned())
    }
}

/// The average over an order's units of what is known of every good of it.
fn average(order: &Order, of: impl Fn(ProductId) -> Option<Cost>) -> Option<Cost> {
    let mut sum: Option<Cost> = None;
    let mut units = Decimal::ZERO;
    for line in &order.lines {
        let count = Decimal::from(line.count);
        let part = of(line.product)?.times(count);
        sum = Some(match sum {
            Some(sum) => sum.plus(part).ok()?,
            None => part,
        });
        units = units.checked_add(count)?;
    }
    sum?.over(units)
}

/// Of what shops were done with, the part they sold; none before any was.
pub fn sell_through(workshop: &Workshop) -> Option<Ratio> {
    let mut sold = 0_u64;
    let mut gone = 0_u64;
    for movement in workshop.goods().movements() {
        if !matches!(movement.from, Spot::At(Place::Shop(_))) {
            continue;
        }
        gone += u64::from(movement.count);
        if let Spot::Sold(id) = movement.to {
            let sale = workshop.trade().sale(id);
            let counts =
                sale.is_some_and(|sale| sale.from == SaleFrom::Shop && sale.voided.is_none());
            sold += if counts { u64::from(movement.count) } else { 0 };
        }
    }
    let part = Decimal::from(sold).checked_div(Decimal::from(gone))?;
    Ratio::from_decimal(part.round_dp(3))
}

/// Fills the form of "firm or on return?" from an order, where nothing was
/// typed.
pub fn first_offer(workshop: &Workshop, order: &Order, filled: Filled) -> Filled {
    let trade = workshop.trade();
    let channel = trade.channel(order.channel);
    let kind_of = |kind: ChannelKind| {
        let own = channel.filter(|channel| channel.kind == kind);
        let mut open = trade.channels().filter(|channel| !channel.closed);
        own.or_else(|| open.find(|channel| channel.kind == kind))
    };
    let (firm, lent) = (
        kind_of(ChannelKind::Wholesale),
        kind_of(ChannelKind::SaleOrReturn),
    );
    let retail = average(order, |product| {
        // What other channels ask is no price on a shop's shelf.
        let on_return = channel.filter(|channel| channel.kind == ChannelKind::SaleOrReturn);
        let own = on_return.and_then(|channel| channel.prices.get(&product).copied());
        let usual = || Some(workshop.product(product)?.prices?.typical);
        Some(own.or_else(usual)?.cost())
    });
    let each = average(order, |product| Some(order.each(product)?.cost()));
    // Nothing is what a lot cost whose pour was never weighed: not a cost.
    let unit_cost = average(order, |product| {
        let cost = recent_cost(workshop, product)?.cost.full();
        (!cost.major().is_zero()).then_some(cost)
    });
    let part_of_retail = |part: Decimal| retail.map(|retail| retail.times(part));
    let discount = firm.and_then(|channel| channel.terms.discount);
    let firm_price = if order.on_return {
        discount.and_then(|discount| part_of_retail(Decimal::ONE - discount.decimal()))
    } else {
        each
    };
    let share = if order.on_return {
        let part = each.zip(retail);
        part.and_then(|(each, retail)| each.major().checked_div(retail.major()))
            .and_then(|part| Ratio::from_decimal(part.round_dp(4)))
    } else {
        lent.and_then(|channel| channel.terms.share)
    };
    let cost = |cost: Option<Cost>| {
        cost.map_or_else(String::new, |cost| {
            let major = cost.major().round_dp(4).normalize();
            as_typed(workshop, format!("{major} {}", cost.currency().code()))
        })
    };
    let money =
        |money: Option<Money>| money.map_or_else(String::new, |money| as_typed(workshop, money));
    let ratio = |ratio: Option<Ratio>| {
        ratio.map_or_else(String::new, |ratio| as_typed(workshop, percent(ratio, 1)))
    };
    let units: u32 = order
        .lines
        .iter()
        .fold(0, |sum, line| sum.saturating_add(line.count));
    let paid = |channel: Option<&workshop::Channel>| {
        let usual = channel.and_then(|channel| channel.terms.postage_paid);
        money(order.postage.or(usual))
    };
    filled
        .or("retail", cost(retail))
        .or("unit_cost", cost(unit_cost))
        .or("units", units.to_string())
        .or("firm.price", cost(firm_price))
        .or("firm.delivery", paid(firm))
        .or("firm.deliveries", "1")
        .or("sale_or_return.share", ratio(share))
        .or("sale_or_return.delivery", paid(lent))
        .or("sale_or_return.deliveries", "2")
        .or("sale_or_return.sold", ratio(sell_through(workshop)))
        .or("sale_or_return.spoiled", "0")
}

/// Sets a firm order beside sale or return by the calculation
/// `sale-or-return`, whose field names are those of the form.
pub fn offer(workshop: &Workshop, filled: &Filled) -> Asked<SaleOrReturnOutput> {
    let mut plain = Plain::new(workshop, filled);
    let input = SaleOrReturnInput {
        currency: plain.currency(),
        retail: plain.amount("retail"),
        unit_cost: plain.amount("unit_cost"),
        units: plain.count("units"),
        firm: FirmInput {
            price: plain.amount("firm.price"),
            discount: None,
            deliveries: plain.count("firm.deliveries"),
            delivery: plain.amount("firm.delivery"),
            paid_after: plain.days("firm.paid_after"),
        },
        sale_or_return: ReturnInput {
            share: plain.share("sale_or_return.share"),
            deliveries: plain.count("sale_or_return.deliveries"),
            delivery: plain.amount("sale_or_return.delivery"),
            sold: plain.share("sale_or_return.sold"),
            sold_low: plain.share("sale_or_return.sold_low"),
            sold_high: plain.share("sale_or_return.sold_high"),
            spoiled: plain.count("sale_or_return.spoiled"),
            days: plain.days("sale_or_return.days"),
            count_every: None,
            paid_after: None,
        },
    };
    let unread = plain.check.into_problems();
    told(filled, &unread, price::sale_or_return(&input))
}

/// What a unit of a good weighs in its wrapping, by the lots picked for an order
/// or else the last weighed one; the average. None where no unit was weighed.
fn unit_weight(workshop: &Workshop, order: &Order, product: ProductId) -> Option<Mass> {
    let picked = order
        .picked
        .iter()
        .filter(|units| units.product == product)
        .filter_map(|units| workshop.pour(units.lot?));
    let good = workshop.product(product)?;
    let of_good = workshop
        .pours()
        .rev()
        .filter(|pour| workshop::is_of(pour, good));
    let pour = picked
        .chain(of_good)
        .find(|pour| pour.weights().next().is_some())?;
    let weights: Vec<i64> = pour
        .weights()
        .map(|weight| weight.value().smallest())
        .collect();
    let n = i64::try_from(weights.len()).ok()?;
    let mean = weights.iter().sum::<i64>().checked_div(n)?;
    let tare = tare_of(workshop, product).map_or(0, |tare| tare.average.smallest());
    Some(Mass::from_smallest(mean.saturating_add(tare)))
}

/// Fills the form of "what do I pack it in?" from an order, where nothing was
/// typed.
pub fn first_parcel(workshop: &Workshop, order: &Order, filled: Filled) -> Filled {
    let mut filled = filled;
    for (i, line) in order.lines.iter().enumerate() {
        let weight = unit_weight(workshop, order, line.product);
        let text = weight.map_or_else(String::new, |weight| {
            as_typed(workshop, in_system(weight, workshop.system()))
        });
        filled = filled
            .or(&format!("items[{i}].count"), line.count.to_string())
            .or(&format!("items[{i}].each"), text);
    }
    filled
        .or("packings[0].name", "the box")
        .or("packings[1].name", "the mailer")
}

/// Finds the cheapest packing by the calculation `parcel`, whose field names
/// are those of the form. A packing without a weight and a step without
/// anything in it are left out.
pub fn pack_in(workshop: &Workshop, order: &Order, filled: &Filled) -> Asked<ParcelOutput> {
    let mut plain = Plain::new(workshop, filled);
    let items = (0..order.lines.len())
        .map(|i| ItemInput {
            name: None,
            count: plain.count(&format!("items[{i}].count")),
            each: plain.weight(&format!("items[{i}].each")),
        })
        .collect();
    let is_there = |stem: &str, i: usize, parts: &[&str]| {
        let mut parts = parts.iter();
        parts.any(|part| filled.some(&format!("{stem}[{i}].{part}")).is_some())
    };
    // The calculation counts what it is given, so gaps would shift its names.
    let packings = (0..PACKINGS)
        .take_while(|i| *i == 0 || is_there("packings", *i, &["weight", "price"]))
        .map(|i| PackingInput {
            name: Some(filled.get(&format!("packings[{i}].name")))
                .filter(|name| !name.is_empty())
                .map_or_else(
                    || Some(format!("packing {}", i + 1)),
                    |name| Some(name.to_owned()),
                ),
            weight: plain.weight(&format!("packings[{i}].weight")),
            holds: None,
            price: plain.amount(&format!("packings[{i}].price")),
        })
        .collect();
    let bands = (0..BANDS)
        .take_while(|i| *i == 0 || is_there("bands", *i, &["up_to", "price"]))
        .map(|i| BandInput {
            up_to: plain.weight(&format!("bands[{i}].up_to")),
            price: plain.amount(&format!("bands[{i}].price")),
        })
        .collect();
    let input = ParcelInput {
        currency: plain.currency(),
        items,
        extra: None,
        packings,
        bands,
    };
    let unread = plain.check.into_problems();
    told(filled, &unread, price::parcel(&input))
}
