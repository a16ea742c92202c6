//! What deliveries and lots cost.

use measure::{Cost, Currency, Decimal, Money, Quantity, TimeSpan, Typed, Working};
use price::{Batch, CostLine, Labour, Layer, Overhead, UnitCost};

use crate::facts::{Amount, FreightSpread, ProductId, ReceiptLine, SupplyId};
use crate::shelf::{WEIGHTED_AVERAGE, plain_amount_of};
use crate::state::{Lot, Pour, Supply, Workshop};

/// What each line of a delivery cost with its share of the freight, in whole
/// minor units that add up to what was paid.
///
/// Freight goes by value where the wish to go by weight cannot be met, since a
/// counted line has no weight, and evenly where every line was free.
pub(crate) fn landed(
    lines: &[ReceiptLine],
    freight: Option<Money>,
    spread: FreightSpread,
) -> Vec<Money> {
    let plain = || lines.iter().map(|line| line.paid).collect::<Vec<_>>();
    let Some(freight) = freight else {
        return plain();
    };
    if lines
        .iter()
        .any(|line| line.paid.currency() != freight.currency())
    {
        return plain();
    }
    let unsigned = |smallest: i64| u64::try_from(smallest).unwrap_or(0);
    let by = |weigh: &dyn Fn(&ReceiptLine) -> u64| {
        price::spread(freight, &lines.iter().map(weigh).collect::<Vec<_>>())
    };
    let by_weight = || {
        by(&|line| match &line.amount {
            Amount::Weight(weight) => unsigned(weight.value().smallest()),
            Amount::Count(_) => 0,
        })
    };
    match spread {
        FreightSpread::ByWeight => by_weight(),
        FreightSpread::ByValue => None,
    }
    .or_else(|| by(&|line| unsigned(line.paid.minor())))
    .or_else(|| by(&|_| 1))
    .map_or_else(plain, |shares| {
        lines
            .iter()
            .zip(shares)
            .map(|(line, share)| {
                let minor = line.paid.minor().saturating_add(share.minor());
                Money::from_minor(minor, freight.currency())
            })
            .collect()
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
