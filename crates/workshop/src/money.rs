//! What deliveries and lots cost.

use measure::{Cost, Currency, Decimal, Money, Quantity, TimeSpan, Typed, Working};
use price::{Batch, CostLine, Labour, Layer, Overhead, UnitCost};

use crate::facts::{Amount, FreightSpread, ProductId, ReceiptLine, SupplyId, SupplyReceived};
use crate::shelf::{WEIGHTED_AVERAGE, plain_amount_of};
use crate::state::{Lot, Pour, Supply, Workshop};

/// What a delivery cost beside its lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Charges {
    /// Freight and other charges on the whole.
    pub freight: Option<Money>,
    /// Duty on the whole; it goes by what each line cost, as it is levied.
    pub duty: Option<Money>,
    /// How the freight is shared.
    pub spread: FreightSpread,
}

/// By what a charge on a whole delivery came to be shared over its lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SharedBy {
    /// What each line weighs.
    Weight,
    /// The room each line takes.
    Volume,
    /// What each line cost.
    Value,
    /// All alike, as nothing was paid for any.
    Evenly,
}

impl SharedBy {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Weight => "by what each line weighs",
            Self::Volume => "by the room each line takes",
            Self::Value => "by what each line cost",
            Self::Evenly => "evenly, as nothing was paid for the lines",
        }
    }

    /// What a line counts for.
    pub(crate) fn of(self, line: &ReceiptLine) -> u64 {
        let smallest = match self {
            Self::Weight => match &line.amount {
                Amount::Weight(weight) => weight.value().smallest(),
                Amount::Count(_) => 0,
            },
            Self::Volume => line.volume.as_ref().map_or(0, |it| it.value().smallest()),
            Self::Value => line.paid.minor(),
            Self::Evenly => 1,
        };
        u64::try_from(smallest).unwrap_or(0)
    }
}

impl Charges {
    pub(crate) const fn of(fact: &SupplyReceived) -> Self {
        Self {
            freight: fact.freight,
            duty: fact.duty,
            spread: fact.spread,
        }
    }

    /// The share of the freight that each line bears, in whole minor units that
    /// add up to it; none without freight, or in another currency than the lines.
    ///
    /// It goes by value where the wish to go by weight or by volume cannot be
    /// met, and evenly where every line was free.
    pub fn freight_shares(&self, lines: &[ReceiptLine]) -> Option<(SharedBy, Vec<Money>)> {
        let wish = match self.spread {
            FreightSpread::ByWeight => Some(SharedBy::Weight),
            FreightSpread::ByVolume => Some(SharedBy::Volume),
            FreightSpread::ByValue => None,
        };
        shares(lines, self.freight?, wish)
    }

    /// The share of the duty that each line bears, likewise, by value.
    pub fn duty_shares(&self, lines: &[ReceiptLine]) -> Option<(SharedBy, Vec<Money>)> {
        shares(lines, self.duty?, None)
    }

    /// What each line cost with its share of freight and duty.
    pub(crate) fn landed(&self, lines: &[ReceiptLine]) -> Vec<Money> {
        let mut landed: Vec<Money> = lines.iter().map(|line| line.paid).collect();
        let both = [self.freight_shares(lines), self.duty_shares(lines)];
        for (_, shares) in both.into_iter().flatten() {
            for (cost, share) in landed.iter_mut().zip(shares) {
                let minor = cost.minor().saturating_add(share.minor());
                *cost = Money::from_minor(minor, cost.currency());
            }
        }
        landed
    }
}

fn shares(
    lines: &[ReceiptLine],
    charge: Money,
    wish: Option<SharedBy>,
) -> Option<(SharedBy, Vec<Money>)> {
    let is_own = |line: &ReceiptLine| line.paid.currency() == charge.currency();
    if !lines.iter().all(is_own) {
        return None;
    }
    let ways = wish.into_iter().chain([SharedBy::Value, SharedBy::Evenly]);
    ways.into_iter().find_map(|by| {
        let weights: Vec<u64> = lines.iter().map(|line| by.of(line)).collect();
        Some((by, price::spread(charge, &weights)?))
    })
}

/// What a lot cost, as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct LotCost {
    /// The cost in its layers; none while a supply has no price or no unit is
    /// good.
    pub cost: Option<UnitCost>,
    /// Supplies that went in and were never received, so that nothing knows
    /// what they cost.
    pub unpriced: Vec<SupplyId>,
    /// Whether hands-on time and a wage are both known; without them making
    /// cost is material cost.
    pub has_time: bool,
    /// Whether a wage is known.
    pub has_wage: bool,
    /// The hands-on time.
    pub minutes: Option<Typed<TimeSpan>>,
    /// Melt that was added later to level sunken tops: it was weighed into no
    /// pot of this lot, so the cost leaves it out.
    pub left_out: Option<Typed<measure::Mass>>,
}

impl LotCost {
    /// What keeps the maker's own time out of the cost: whether the hands-on
    /// time is missing, and whether the wage is.
    pub const fn missing(&self) -> [bool; 2] {
        [self.minutes.is_none(), !self.has_wage]
    }
}

/// What a finished pour cost: what was really weighed at the average landed
/// cost of each supply, what its units are packed with, hands-on time at the
/// workshop's wage and its overhead for that time. Rejects are borne by the
/// units that can be sold.
///
/// Everything is taken as it stood when the lot was finished, so that dearer
/// wax or a better wage does not change what an old lot cost. What was not
/// known then, a supply never received or no wage set, is taken from when it
/// first became known. A correction of an earlier delivery counts, since it
/// says what had been true all along.
///
/// None before the pour is finished, or in a workshop without a currency.
pub fn lot_cost(workshop: &Workshop, pour: &Pour) -> Option<LotCost> {
    lot_cost_as(workshop, pour, pour.product)
}

/// As [`lot_cost`], with the units packed as those of `product`: what a trial
/// lot would have cost as that good.
pub(crate) fn lot_cost_as(
    workshop: &Workshop,
    pour: &Pour,
    product: Option<ProductId>,
) -> Option<LotCost> {
    let lot = pour.finished.as_ref()?;
    let settings = workshop.settings()?;
    let currency = settings.currency;
    let mut unpriced = Vec::new();
    let mut materials = Vec::new();
    for used in used_in(workshop, pour, lot, product, currency) {
        match used.cost {
            Some(batch) => materials.push(CostLine {
                name: used.supply.name.clone(),
                layer: used.layer,
                batch,
            }),
            None if !unpriced.contains(&used.supply.id) => unpriced.push(used.supply.id),
            None => {}
        }
    }
    let units = lot.good.saturating_add(lot.seconds);
    let time = lot.minutes.as_ref().map(Typed::value);
    let hourly = workshop.hourly_at(lot.known);
    let labour = time.zip(hourly.wage).map(|(time, wage)| Labour {
        time,
        wage: wage.cost(),
    });
    let overhead = time.zip(hourly.overhead).and_then(|(time, hourly)| {
        Labour {
            time,
            wage: hourly.cost(),
        }
        .cost()
        .ok()
    });
    let batch = Batch {
        currency,
        made: units.saturating_add(lot.rejects),
        rejects: lot.rejects,
        materials,
        labour,
        overhead: Overhead {
            per_batch: overhead,
            ..Overhead::default()
        },
    };
    let cost = if unpriced.is_empty() {
        batch.cost().ok().flatten()
    } else {
        None
    };
    Some(LotCost {
        cost,
        unpriced,
        has_time: labour.is_some(),
        has_wage: hourly.wage.is_some(),
        minutes: lot.minutes.clone(),
        left_out: pour
            .count
            .as_ref()
            .and_then(|count| count.topped_up.clone()),
    })
}

/// One supply that a lot used up.
struct Used<'a> {
    supply: &'a Supply,
    /// How much, in smallest units.
    smallest: i64,
    layer: Layer,
    /// What all deliveries known at the time had cost and brought.
    landed: Option<(Cost, i64)>,
    /// At the average landed cost; none while that is not known.
    cost: Option<Cost>,
}

/// What went into the pot, then what the units are packed with.
fn used_in<'a>(
    workshop: &'a Workshop,
    pour: &Pour,
    lot: &Lot,
    product: Option<ProductId>,
    currency: Currency,
) -> Vec<Used<'a>> {
    let weighed = pour
        .portions
        .iter()
        .zip(&pour.weighed)
        .map(|(portion, weighed)| {
            let used = weighed
                .as_ref()
                .map_or(0, |weight| weight.value().smallest());
            (portion.supply, used, Layer::Material)
        });
    let units = i64::from(lot.good.saturating_add(lot.seconds));
    let packing = product.and_then(|product| workshop.product(product));
    let packed = packing
        .iter()
        .flat_map(|product| &product.packing)
        .map(|(supply, each)| {
            let used = i64::from(*each).saturating_mul(units);
            (*supply, used, Layer::Wrap)
        });
    weighed
        .chain(packed)
        .filter(|(_, used, _)| *used > 0)
        .filter_map(|(id, smallest, layer)| {
            let supply = workshop.supply(id)?;
            let landed = workshop
                .landed_at(id, lot.known)
                .filter(|(landed, _)| landed.currency() == currency);
            let cost = landed.and_then(|(landed, received)| {
                price::cost_used(landed, Decimal::from(received), Decimal::from(smallest)).ok()
            });
            Some(Used {
                supply,
                smallest,
                layer,
                landed,
                cost,
            })
        })
        .collect()
}

/// Shows how the cost of a lot was found; none while it is not known.
pub fn lot_working(workshop: &Workshop, pour: &Pour) -> Option<Working> {
    const BORNE: &str = "spoilage common to all lots is borne by the good units \
        (Horngren's Cost Accounting, 2018, p. 751)";
    let lot = pour.finished.as_ref()?;
    let cost = lot_cost(workshop, pour)?.cost?;
    let hourly = workshop.hourly_at(lot.known);
    let system = workshop.system();
    let mut working = Working::new();
    for used in used_in(workshop, pour, lot, pour.product, cost.currency()) {
        let (Some(batch), Some((landed, received))) = (used.cost, used.landed) else {
            continue;
        };
        let say = |smallest| plain_amount_of(used.supply.kind, smallest, system);
        working.step(
            used.supply.name.as_str(),
            "used × cost with delivery of everything received so far ÷ received so far",
            format!("{} × {landed} ÷ {}", say(used.smallest), say(received)),
            batch.to_string(),
            WEIGHTED_AVERAGE,
        );
    }
    working.step(
        "Material cost of the lot",
        "the sum of the lines above",
        "",
        cost.material_of_batch().to_string(),
        "",
    );
    let minutes = lot.minutes.as_ref();
    for (label, layer, hourly) in [
        ("Hands-on time", Layer::Time, hourly.wage),
        ("Overhead share", Layer::Overhead, hourly.overhead),
    ] {
        let line = cost.lines().iter().find(|line| line.layer == layer);
        if let (Some(minutes), Some(hourly), Some(line)) = (minutes, hourly, line) {
            working.step(
                label,
                "hands-on time × rate for an hour",
                format!("{minutes} × {hourly} an hour"),
                line.batch.to_string(),
                "arithmetic",
            );
        }
    }
    working.step(
        "Full cost of the lot",
        "material cost + hands-on time + overhead share",
        "",
        cost.full_of_batch().to_string(),
        "",
    );
    working.step(
        "Full cost of a unit",
        "full cost ÷ units that can be sold, seconds among them",
        format!("{} ÷ {}", cost.full_of_batch(), cost.good()),
        cost.full().to_string(),
        BORNE,
    );
    Some(working)
}
