//! Papers for those who buy many: the line sheet and the packing slip.

use std::collections::BTreeMap;

use measure::{Money, Problem, Ratio};
use press::paper::document::{Draw, LineSheet, PackingSlip, SlipLine, Ware};
use workshop::facts::{ProductId, Units};
use workshop::{OrderStage, Product};

use super::stall::{price, ware};
use super::{Asked, NoPaper, long_day, what_of};

/// What a shop pays: a share of the usual price, or an amount.
#[derive(Clone, Copy)]
enum Trade {
    Share(Ratio),
    Amount(Money),
}

pub(super) fn line_sheet(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let (of_all, of_some) = trade_prices(asked)?;
    let goods = asked
        .workshop
        .products()
        .map(|good| {
            let trade = of_some.get(&good.id).copied().or(of_all);
            let trade = trade.and_then(|trade| trade_price(good, trade));
            Ware {
                price: trade.map_or_else(String::new, |money| asked.price(money)),
                suggested: price(asked, good),
                ..ware(asked, good)
            }
        })
        .collect();
    Ok(Box::new(LineSheet {
        maker: asked.maker(),
        day: long_day(asked.today),
        goods,
        minimum: asked.filled.get("minimum").to_owned(),
        terms: asked.filled.get("terms").to_owned(),
        notes: asked.lines("note").into_iter().map(str::to_owned).collect(),
    }))
}

fn trade_price(good: &Product, trade: Trade) -> Option<Money> {
    match trade {
        Trade::Amount(money) => Some(money),
        // Rounded once, half-even to the minor unit, as money is shown.
        Trade::Share(share) => {
            let usual = good.prices?.typical;
            usual.cost().times(share.decimal()).rounded()
        }
    }
}

/// The trade prices given: one share of every usual price, and amounts or
/// shares of single goods.
fn trade_prices(asked: &Asked) -> Result<(Option<Trade>, BTreeMap<ProductId, Trade>), NoPaper> {
    const ACCEPTED: &str = "write a share of the usual price such as 50 %, or an amount";
    let read = |text: &str| -> Result<Trade, Problem> {
        let reading = asked.workshop.reading();
        if text.contains('%') {
            return Ratio::parse(text, reading)
                .map(Trade::Share)
                .map_err(|unclear| Problem::at("trade", unclear));
        }
        let own = asked.workshop.currency();
        Money::parse(text, own, reading)
            .map(Trade::Amount)
            .map_err(|unclear| Problem::at("trade", unclear))
    };
    let (mut of_all, mut of_some) = (None, BTreeMap::new());
    for line in asked.lines("trade") {
        match line.rsplit_once('=') {
            Some((name, amount)) => {
                let good = asked.good_called("trade", name.trim())?;
                of_some.insert(good.id, read(amount.trim())?);
            }
            None if line.contains('%') => of_all = Some(read(line)?),
            None => {
                return Err(Problem::new(
                    "trade",
                    line,
                    "which good that is for is missing",
                    ACCEPTED,
                )
                .into());
            }
        }
    }
    Ok((of_all, of_some))
}

pub(super) fn packing_slip(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    if let Some(slip) = slip_of_order(asked)? {
        return Ok(Box::new(slip));
    }
    let mut lines = Vec::new();
    let mut sum: Option<u64> = Some(0);
    for text in asked.lines("line") {
        let (line, count) = slip_line(asked, text)?;
        sum = sum
            .zip(count)
            .and_then(|(sum, count)| sum.checked_add(u64::from(count)));
        lines.push(line);
    }
    let total = match (lines.len(), sum) {
        (2.., Some(sum)) => sum.to_string(),
        _ => String::new(),
    };
    Ok(Box::new(PackingSlip {
        maker: asked.maker(),
        day: long_day(asked.today),
        to: asked.lines("to").into_iter().map(str::to_owned).collect(),
        order: asked.filled.get("order").to_owned(),
        lines,
        total,
        ..PackingSlip::default()
    }))
}

/// The slip of one of the workshop's own orders, where nothing else was given
/// that stands on a slip.
fn slip_of_order(asked: &Asked) -> Result<Option<PackingSlip>, NoPaper> {
    let is_alone = ["to", "line"]
        .iter()
        .all(|field| asked.lines(field).is_empty());
    let trade = asked.workshop.trade();
    let order = asked.filled.get("order").parse().ok();
    let Some(order) = order.and_then(|id| trade.order(id)).filter(|_| is_alone) else {
        return Ok(None);
    };
    let name = |product: ProductId| {
        let good = asked.workshop.product(product);
        good.map_or_else(String::new, |good| good.name.clone())
    };
    let lot = |units: &Units| {
        let pour = units.lot.and_then(|lot| asked.workshop.pour(lot));
        pour.map_or_else(String::new, |pour| pour.lot.clone())
    };
    let line = |good, lot, count: u32| SlipLine {
        good,
        lot,
        quantity: count.to_string(),
    };
    let picked = order
        .picked
        .iter()
        .map(|units| line(name(units.product), lot(units), units.count));
    // Before anything is picked the lots are left to be written in.
    let wanted = order.still_wanted().into_iter();
    let wanted = wanted
        .filter(|_| order.stage < OrderStage::Packed)
        .map(|(product, count)| line(name(product), String::new(), count));
    let lines: Vec<SlipLine> = picked.chain(wanted).collect();
    let total: u32 = lines
        .iter()
        .filter_map(|line| line.quantity.parse::<u32>().ok())
        .fold(0, u32::saturating_add);
    Ok(Some(PackingSlip {
        maker: asked.maker(),
        day: long_day(order.sent.unwrap_or(asked.today)),
        to: asked.to(order.buyer)?,
        order: order.id.to_string(),
        sent: order.sent.map_or_else(String::new, long_day),
        parcels: order.parcels.map_or_else(String::new, |n| n.to_string()),
        total: if lines.len() > 1 {
            total.to_string()
        } else {
            String::new()
        },
        lines,
    }))
}

/// One line: a good or a lot, or both as `good, lot`, and how many.
fn slip_line(asked: &Asked, text: &str) -> Result<(SlipLine, Option<u32>), Problem> {
    let (what, quantity) = match text.rsplit_once('=') {
        Some((what, quantity)) => (what.trim(), quantity.trim()),
        None => (text, ""),
    };
    let count = match quantity {
        "" => None,
        quantity => Some(quantity.parse::<u32>().map_err(|_| {
            Problem::new(
                "line",
                text,
                "the quantity is not a whole number",
                "write a good or a lot's code, = and how many: Harbour Fig bar = 12",
            )
        })?),
    };
    let (good, lot) = what_is_sent(asked, what)?;
    let line = SlipLine {
        good,
        lot,
        quantity: quantity.to_owned(),
    };
    Ok((line, count))
}

/// The good and the lot's code of a line; the code is empty where only the good
/// is named.
fn what_is_sent(asked: &Asked, what: &str) -> Result<(String, String), Problem> {
    let workshop = asked.workshop;
    let lot_of = |code: &str| workshop.pours().find(|pour| pour.lot == code);
    if let Some(pour) = lot_of(what) {
        return Ok((what_of(workshop, pour), pour.lot.clone()));
    }
    // A good's own name may hold a comma, so the whole is tried first.
    let whole = asked.good_called("line", what);
    match (whole, what.rsplit_once(',')) {
        (Ok(good), _) => Ok((good.name.clone(), String::new())),
        (Err(_), Some((name, code))) => {
            let good = asked.good_called("line", name.trim())?;
            let pour = asked.lot_called("line", code.trim())?;
            if pour.product != Some(good.id) {
                return Err(Problem::new(
                    "line",
                    what,
                    format!("lot {} is {}", pour.lot, what_of(workshop, pour)),
                    "name the lot alone, or one of that good",
                ));
            }
            Ok((good.name.clone(), pour.lot.clone()))
        }
        (Err(problem), None) => Err(problem),
    }
}
