//! What deliveries and lots cost.

use measure::{Cost, Currency, Decimal, Money, Quantity, TimeSpan, Typed};
use price::{Batch, CostLine, Labour, Layer, Overhead, UnitCost};

use crate::facts::{Amount, FreightSpread, ReceiptLine, SupplyId};
use crate::state::{Pour, Workshop};

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
    let weights: Vec<u64> = lines
        .iter()
        .map(|line| match (&line.amount, spread) {
            (Amount::Weight(weight), FreightSpread::ByWeight) => {
                unsigned(weight.value().smallest())
            }
            (Amount::Count(_), FreightSpread::ByWeight) => 0,
            (_, FreightSpread::ByValue) => unsigned(line.paid.minor()),
        })
        .collect();
    let even = || vec![1; lines.len()];
    price::spread(freight, &weights)
        .or_else(|| price::spread(freight, &even()))
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
    /// The hands-on time.
    pub minutes: Option<Typed<TimeSpan>>,
}

/// What a finished pour cost: what was really weighed at the average landed
/// cost of each supply, what its units are packed with, hands-on time at the
/// workshop's wage and its overhead for that time. Rejects are borne by the
/// units that can be sold.
///
/// None before the pour is finished, or in a workshop without a currency.
pub fn lot_cost(workshop: &Workshop, pour: &Pour) -> Option<LotCost> {
    let lot = pour.finished.as_ref()?;
    let settings = workshop.settings()?;
    let currency = settings.currency;
    let mut unpriced = Vec::new();
    let mut materials = Vec::new();
    for (portion, weighed) in pour.portions.iter().zip(&pour.weighed) {
        let used = weighed
            .as_ref()
            .map_or(0, |weight| weight.value().smallest());
        add(
            workshop,
            portion.supply,
            used,
            Layer::Material,
            currency,
            &mut materials,
            &mut unpriced,
        );
    }
    let units = lot.good.saturating_add(lot.seconds);
    let packing = pour.product.and_then(|product| workshop.product(product));
    for (supply, each) in packing.iter().flat_map(|product| &product.packing) {
        let used = i64::from(*each) * i64::from(units);
        add(
            workshop,
            *supply,
            used,
            Layer::Wrap,
            currency,
            &mut materials,
            &mut unpriced,
        );
    }
    let time = lot.minutes.as_ref().map(Typed::value);
    let labour = time.zip(settings.wage).map(|(time, wage)| Labour {
        time,
        wage: wage.cost(),
    });
    let overhead = time
        .zip(settings.overhead_per_hour)
        .and_then(|(time, hourly)| {
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
        minutes: lot.minutes.clone(),
    })
}

fn add(
    workshop: &Workshop,
    id: SupplyId,
    used: i64,
    layer: Layer,
    currency: Currency,
    lines: &mut Vec<CostLine>,
    unpriced: &mut Vec<SupplyId>,
) {
    if used <= 0 {
        return;
    }
    let Some(supply) = workshop.supply(id) else {
        return;
    };
    let landed = supply
        .stock
        .landed
        .filter(|landed| landed.currency() == currency);
    let cost = landed.and_then(|landed| {
        price::cost_used(
            landed,
            Decimal::from(supply.stock.received),
            Decimal::from(used),
        )
        .ok()
    });
    match cost {
        Some(batch) => lines.push(CostLine {
            name: supply.name.clone(),
            layer,
            batch,
        }),
        None if !unpriced.contains(&id) => unpriced.push(id),
        None => {}
    }
}

/// What one unit of a good has cost on average over its last few costed lots.
pub fn recent_unit_cost(
    workshop: &Workshop,
    product: crate::facts::ProductId,
) -> Option<(Cost, u32)> {
    const LOTS: usize = 6;
    let mut full: Option<Cost> = None;
    let (mut units, mut lots) = (0_u32, 0_u32);
    let recent = workshop
        .pours()
        .rev()
        .filter(|pour| pour.product == Some(product))
        .filter_map(|pour| lot_cost(workshop, pour)?.cost)
        .take(LOTS);
    for cost in recent {
        let sum = full.map_or(Ok(cost.full_of_batch()), |full| {
            full.plus(cost.full_of_batch())
        });
        full = Some(sum.ok()?);
        units = units.saturating_add(cost.good());
        lots += 1;
    }
    Some((full?.over(Decimal::from(units))?, lots))
}
