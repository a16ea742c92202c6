//! What is on the shelf, what it really cost, and where it went.

use jiff::civil::Date;
use measure::{
    Cost, Decimal, Mass, MassUnit, Money, Quantity, System, Typed, Volume, VolumeUnit, Working,
    in_system,
};

use crate::facts::{PourId, ReceiptLine, SupplyId, SupplyKind};
use crate::money::SharedBy;
use crate::state::{Receipt, Supply, Workshop};

/// Where the rule for the cost of mixed deliveries comes from.
pub(crate) const WEIGHTED_AVERAGE: &str = "weighted average of everything received, as in IAS 2, paragraph 27 (not yet checked against the standard itself)";

/// Says an amount of a supply in the workshop's units: a weight, or pieces.
///
/// `smallest` is in the supply's smallest unit, as in [`crate::Stock`].
pub fn amount_of(kind: SupplyKind, smallest: i64, system: System) -> String {
    if kind.is_weighed() {
        in_system(Mass::from_smallest(smallest), system).to_string()
    } else {
        smallest.to_string()
    }
}

/// Says an amount in the everyday unit whatever its size, so that amounts that
/// stand in one line can be compared: 16 oz of 160 oz.
pub fn plain_amount_of(kind: SupplyKind, smallest: i64, system: System) -> String {
    if !kind.is_weighed() {
        return smallest.to_string();
    }
    let unit = system.mass_unit();
    let figure = Mass::from_smallest(smallest).to_decimal(unit);
    format!("{} {}", figure.round_dp(2).normalize(), unit.symbol())
}

/// What a supply cost, for the unit one buys it in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// The cost of one of them, exact.
    pub cost: Cost,
    /// The unit: `per lb`, `per kg` or `each`.
    pub per: &'static str,
}

impl std::fmt::Display for Rate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", small_cost(self.cost), self.per)
    }
}

/// Says what a small thing cost: to the minor unit, or to three figures where
/// that is finer, so that a label at an eighth of a cent does not cost nothing.
pub fn small_cost(cost: Cost) -> String {
    let coins = u32::from(cost.currency().exponent().unwrap_or(0));
    match cost.major().round_sf(3).map(|major| major.normalize()) {
        Some(major) if major.scale() > coins => format!("{major} {}", cost.currency().code()),
        _ => cost.to_string(),
    }
}

/// Returns what a supply cost landed, freight and all, on average over
/// everything received; none before the first receipt.
pub fn landed_rate(supply: &Supply, system: System) -> Option<Rate> {
    let landed = supply.stock.landed?;
    let (unit, per) = unit_of(supply.kind, system);
    let received = Decimal::from(supply.stock.received);
    let cost = price::cost_used(landed, received, unit).ok()?;
    Some(Rate { cost, per })
}

/// Smallest units in the unit that a supply is bought in, and its words.
fn unit_of(kind: SupplyKind, system: System) -> (Decimal, &'static str) {
    if !kind.is_weighed() {
        return (Decimal::ONE, "each");
    }
    let unit = bulk_unit(system);
    let per = match unit {
        MassUnit::Kilogram => "per kg",
        _ => "per lb",
    };
    (unit.factor(), per)
}

/// The unit that wax and oil are bought in.
const fn bulk_unit(system: System) -> MassUnit {
    match system {
        System::Metric => MassUnit::Kilogram,
        System::Us | System::Imperial => MassUnit::Pound,
    }
}

/// Returns what is on hand of a supply at its average landed cost; none while
/// that is not known, and nothing when more was used than came in.
pub fn worth_on_hand(supply: &Supply) -> Option<Cost> {
    let on_hand = supply.stock.on_hand().max(0);
    let received = Decimal::from(supply.stock.received);
    price::cost_used(supply.stock.landed?, received, Decimal::from(on_hand)).ok()
}

/// The whole shelf in three figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShelfWorth {
    /// What everything on hand cost landed; none in a workshop without a currency.
    pub cost: Option<Cost>,
    /// Supplies used and never received.
    pub unpriced: u32,
    /// Supplies received of which more was used than came in.
    pub short: u32,
}

/// Sums up the shelf.
pub fn worth_of_shelf(workshop: &Workshop) -> ShelfWorth {
    let mut sum = ShelfWorth {
        cost: workshop.currency().map(Cost::zero),
        unpriced: 0,
        short: 0,
    };
    for supply in workshop.supplies() {
        if is_unpriced(supply) {
            sum.unpriced += 1;
        } else if supply.stock.on_hand() < 0 {
            sum.short += 1;
        }
        // A supply in a foreign currency stays outside the sum, as in its cost.
        if let (Some(so_far), Some(worth)) = (sum.cost, worth_on_hand(supply))
            && let Ok(more) = so_far.plus(worth)
        {
            sum.cost = Some(more);
        }
    }
    sum
}

/// Whether a supply was used in pours and never received, so that nothing
/// knows what it cost.
pub const fn is_unpriced(supply: &Supply) -> bool {
    supply.stock.received == 0 && supply.stock.used > 0
}

/// One pour that used a supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    /// Which pour.
    pub pour: PourId,
    /// The day it was begun.
    pub day: Date,
    /// How much it used, in smallest units.
    pub smallest: i64,
}

/// Returns the pours that used a supply, the latest first: what was weighed
/// into the pot, and what the finished units were packed with.
pub fn uses_of(workshop: &Workshop, id: SupplyId) -> impl Iterator<Item = Use> + '_ {
    workshop.pours().rev().filter_map(move |pour| {
        let weighed: i64 = pour
            .portions
            .iter()
            .zip(&pour.weighed)
            .filter(|(portion, _)| portion.supply == id)
            .filter_map(|(_, weighed)| weighed.as_ref())
            .map(|weight| weight.value().smallest())
            .fold(0, i64::saturating_add);
        let units = pour
            .finished
            .as_ref()
            .map_or(0, |lot| lot.good.saturating_add(lot.seconds));
        let packed: i64 = pour
            .product
            .and_then(|product| workshop.product(product))
            .into_iter()
            .flat_map(|product| &product.packing)
            .filter(|(supply, _)| *supply == id)
            .map(|(_, each)| i64::from(*each).saturating_mul(i64::from(units)))
            .fold(0, i64::saturating_add);
        let smallest = weighed.saturating_add(packed);
        (smallest != 0).then_some(Use {
            pour: pour.id,
            day: pour.started,
            smallest,
        })
    })
}

/// Returns the delivery lines that brought a supply, the latest first: the
/// delivery and the line's number in it.
pub fn receipts_of(
    workshop: &Workshop,
    id: SupplyId,
) -> impl Iterator<Item = (&Receipt, usize)> + '_ {
    workshop.receipts().rev().flat_map(move |receipt| {
        let lines = receipt.lines.iter().enumerate();
        lines
            .filter(move |(_, line)| line.supply == id)
            .map(move |(nth, _)| (receipt, nth))
    })
}

/// Shows how a supply's stock and landed cost were found.
pub fn shelf_working(workshop: &Workshop, supply: &Supply) -> Working {
    let system = workshop.system();
    let say = |smallest| plain_amount_of(supply.kind, smallest, system);
    let stock = &supply.stock;
    let mut working = Working::new();
    working.step(
        "On hand",
        "received - used",
        format!("{} - {}", say(stock.received), say(stock.used)),
        say(stock.on_hand()),
        "every delivery and every weight in the journal",
    );
    if let (Some(landed), Some(rate)) = (stock.landed, landed_rate(supply, system)) {
        let (formula, over) = if supply.kind.is_weighed() {
            let received = Mass::from_smallest(stock.received).typed(bulk_unit(system), 3);
            (
                "cost with delivery of everything received ÷ its weight",
                received.to_string(),
            )
        } else {
            (
                "cost with delivery of everything received ÷ its pieces",
                stock.received.to_string(),
            )
        };
        working.step(
            "Cost with delivery",
            formula,
            format!("{landed} ÷ {over}"),
            rate.to_string(),
            WEIGHTED_AVERAGE,
        );
        if let Some(worth) = worth_on_hand(supply) {
            working.step(
                "Worth of what is on hand",
                "cost with delivery of everything received × on hand ÷ received",
                format!(
                    "{landed} × {} ÷ {}",
                    say(stock.on_hand().max(0)),
                    say(stock.received)
                ),
                worth.to_string(),
                WEIGHTED_AVERAGE,
            );
        }
    }
    working
}

/// What a delivery came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DeliveryCost {
    /// Everything, freight included; none for no lines or mixed currencies.
    pub total: Option<Cost>,
    /// By what the freight was shared; none without freight.
    pub freight_by: Option<SharedBy>,
}

/// Sums up a delivery.
pub fn delivery_cost(receipt: &Receipt) -> DeliveryCost {
    let mut total: Option<Cost> = None;
    let mut mixed = false;
    for landed in &receipt.landed {
        let cost = landed.cost();
        match total.map_or(Ok(cost), |sum| sum.plus(cost)) {
            Ok(sum) => total = Some(sum),
            Err(_) => mixed = true,
        }
    }
    DeliveryCost {
        total: total.filter(|_| !mixed),
        freight_by: receipt
            .charges()
            .freight_shares(&receipt.lines)
            .map(|(by, _)| by),
    }
}

/// Shows how freight and duty of a delivery were shared over its lines; no
/// steps where there was neither.
pub fn freight_working(workshop: &Workshop, receipt: &Receipt) -> Working {
    let mut working = Working::new();
    let charges = receipt.charges();
    let both = [
        (
            "Freight",
            charges.freight,
            charges.freight_shares(&receipt.lines),
        ),
        ("Duty", charges.duty, charges.duty_shares(&receipt.lines)),
    ];
    let both: Vec<_> = both
        .into_iter()
        .filter_map(|(what, charge, shares)| Some((what, charge?, shares?)))
        .collect();
    if both.is_empty() {
        return working;
    }
    for (nth, (line, landed)) in receipt.lines.iter().zip(&receipt.landed).enumerate() {
        let supply = workshop.supply(line.supply);
        let name = supply.map_or("?", |supply| supply.name.as_str());
        let mut numbers = line.paid.to_string();
        for (what, charge, (by, shares)) in &both {
            let share = shares.get(nth).map_or_else(String::new, Money::to_string);
            numbers = format!("{numbers} + {share}");
            working.step(
                format!("{what} on {name}"),
                format!("{} × {}", what.to_lowercase(), part_words(*by)),
                format!("{charge} × {}", part_numbers(workshop, receipt, line, *by)),
                share,
                "shares in whole minor units by the largest remainder, so that they add up",
            );
        }
        working.step(
            format!("Cost with delivery: {name}"),
            "paid for the line + its shares",
            numbers,
            landed.to_string(),
            "",
        );
    }
    working
}

const fn part_words(by: SharedBy) -> &'static str {
    match by {
        SharedBy::Weight => "weight of the line ÷ weight of all lines; a counted line bears none",
        SharedBy::Volume => "room of the line ÷ room of all lines",
        SharedBy::Value => "paid for the line ÷ paid for all lines",
        SharedBy::Evenly => "1 ÷ lines, as nothing was paid for them",
    }
}

fn part_numbers(
    workshop: &Workshop,
    receipt: &Receipt,
    line: &ReceiptLine,
    by: SharedBy,
) -> String {
    let all = receipt.lines.iter().map(|line| by.of(line));
    let all = i64::try_from(all.fold(0, u64::saturating_add)).unwrap_or(i64::MAX);
    match by {
        SharedBy::Weight => {
            let all = in_system(Mass::from_micrograms(all), workshop.system());
            format!("{} ÷ {all}", line.amount)
        }
        SharedBy::Volume => {
            let litres = Volume::from_smallest(all)
                .to_decimal(VolumeUnit::Litre)
                .normalize();
            let own = line
                .volume
                .as_ref()
                .map_or_else(String::new, ToString::to_string);
            format!("{own} ÷ {litres} l")
        }
        SharedBy::Value => format!(
            "{} ÷ {}",
            line.paid,
            Money::from_minor(all, line.paid.currency())
        ),
        SharedBy::Evenly => format!("1 ÷ {}", receipt.lines.len()),
    }
}

/// What went into the pot of wax and additives: the wax of a pour.
pub(crate) fn wax_in(workshop: &Workshop, pour: &crate::state::Pour) -> Mass {
    pour.portions
        .iter()
        .zip(&pour.weighed)
        .filter(|(portion, _)| {
            workshop
                .supply(portion.supply)
                .is_some_and(|supply| matches!(supply.kind, SupplyKind::Wax | SupplyKind::Additive))
        })
        .filter_map(|(_, weighed)| weighed.as_ref())
        .map(Typed::value)
        .sum()
}
