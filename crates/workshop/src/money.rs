//! What deliveries and lots cost.

use measure::{Cost, Currency, Decimal, Money, Quantity, TimeSpan, Typed, Working};
use price::{Batch, CostLine, Labour, Layer, Overhead, UnitCost};

use crate::facts::{Amount, FreightSpread, ReceiptLine, SupplyId};
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
    for used in used_in(workshop, pour, lot, currency) {
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

/// One supply that a lot used up.
struct Used<'a> {
    supply: &'a Supply,
    /// How much, in smallest units.
    smallest: i64,
    layer: Layer,
    /// At the average landed cost; none while that is not known.
    cost: Option<Cost>,
}

/// What went into the pot, then what the units are packed with.
fn used_in<'a>(
    workshop: &'a Workshop,
    pour: &Pour,
    lot: &Lot,
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
    let packing = pour.product.and_then(|product| workshop.product(product));
    let packed = packing
        .iter()
        .flat_map(|product| &product.packing)
        .map(|(supply, each)| (*supply, i64::from(*each) * units, Layer::Wrap));
    weighed
        .chain(packed)
        .filter(|(_, used, _)| *used > 0)
        .filter_map(|(id, smallest, layer)| {
            let supply = workshop.supply(id)?;
            let landed = supply.stock.landed;
            let cost = landed
                .filter(|landed| landed.currency() == currency)
                .and_then(|landed| {
                    let received = Decimal::from(supply.stock.received);
                    price::cost_used(landed, received, Decimal::from(smallest)).ok()
                });
            Some(Used {
                supply,
                smallest,
                layer,
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
    let settings = workshop.settings()?;
    let cost = lot_cost(workshop, pour)?.cost?;
    let system = workshop.system();
    let mut working = Working::new();
    for used in used_in(workshop, pour, lot, cost.currency()) {
        let (Some(batch), Some(landed)) = (used.cost, used.supply.stock.landed) else {
            continue;
        };
        let say = |smallest| plain_amount_of(used.supply.kind, smallest, system);
        working.step(
            used.supply.name.as_str(),
            "used × landed cost of all deliveries ÷ received",
            format!(
                "{} × {landed} ÷ {}",
                say(used.smallest),
                say(used.supply.stock.received)
            ),
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
        ("Hands-on time", Layer::Time, settings.wage),
        (
            "Overhead share",
            Layer::Overhead,
            settings.overhead_per_hour,
        ),
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
