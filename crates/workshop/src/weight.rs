//! What is known of the weight of a good's units, lot by lot.

use jiff::civil::Date;
use measure::{Cost, Decimal, Mass, Typed};
use netweight::Tare;

use crate::facts::{PourId, ProductId, TareOf, WeightGround};
use crate::state::{Pour, Workshop};

/// As many lots are looked at beside one; enough to see how lots differ.
const LOTS_BESIDE: usize = 24;

/// The weighed units of one lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed<'a> {
    /// The lot.
    pub pour: &'a Pour,
    /// What each unit weighs, bare or in its wrapping.
    pub weights: Vec<&'a Typed<Mass>>,
    /// Whether the wrapping is in the weights.
    pub wrapped: bool,
}

/// The weighed units of a lot; none before one was weighed.
///
/// Bare ones count; those in their wrapping do where fewer than two were
/// weighed bare and the wrapping's own weight is known.
pub fn weights_of_lot<'a>(workshop: &Workshop, pour: &'a Pour) -> Option<Weighed<'a>> {
    let bare: Vec<_> = pour.weights().collect();
    let wrapped = bare.len() < 2
        && pour.wrapped.len() >= 2
        && pour
            .product
            .is_some_and(|product| tare_of(workshop, product).is_some());
    let weights = if wrapped {
        pour.wrapped.iter().collect()
    } else {
        bare
    };
    (!weights.is_empty()).then_some(Weighed {
        pour,
        weights,
        wrapped,
    })
}

/// The lots of a good of which units were weighed, the latest first.
pub fn weighed_lots(workshop: &Workshop, product: ProductId) -> Vec<Weighed<'_>> {
    workshop
        .pours_before(None)
        .filter(|pour| pour.product == Some(product) && pour.abandoned.is_none())
        .filter_map(|pour| weights_of_lot(workshop, pour))
        .take(LOTS_BESIDE)
        .collect()
}

/// The lots beside one that came out of the same mould and were weighed alike,
/// two units or more of each, the latest first: what they differ by is what the
/// next one may.
pub fn lots_beside<'a>(workshop: &'a Workshop, lot: &Weighed<'_>) -> Vec<Weighed<'a>> {
    let Some(mould) = lot.pour.mould else {
        return Vec::new();
    };
    workshop
        .pours_of_mould(mould)
        .rev()
        .filter(|pour| pour.id != lot.pour.id && pour.abandoned.is_none())
        .filter_map(|pour| weights_of_lot(workshop, pour))
        .filter(|other| other.weights.len() >= 2 && other.wrapped == lot.wrapped)
        .take(LOTS_BESIDE)
        .collect()
}

/// What the wrapping of one unit of a good weighs: as it was weighed in one
/// piece, or else as the sum of what it is packed with, where every part of
/// that was weighed. Spreads of several parts add as variances.
pub fn tare_of(workshop: &Workshop, product: ProductId) -> Option<Tare> {
    let of = |of: TareOf| {
        let weights = &workshop.tares(of)?.weights;
        let masses: Vec<Mass> = weights.iter().map(Typed::value).collect();
        Tare::of(&masses)
    };
    if let Some(whole) = of(TareOf::Product(product)) {
        return Some(whole);
    }
    let packing = &workshop.product(product)?.packing;
    let parts: Option<Vec<(Tare, u32)>> = packing
        .iter()
        .map(|(supply, each)| Some((of(TareOf::Supply(*supply))?, *each)))
        .collect();
    let parts = parts.filter(|parts| !parts.is_empty())?;
    // A part weighed once says nothing of its own error and hides no other's.
    let several = parts
        .iter()
        .map(|(tare, _)| tare.weighed)
        .filter(|n| *n > 1);
    let weighed = several.min().unwrap_or(1);
    let mut average = Mass::ZERO;
    let mut variance = 0.0;
    for (tare, each) in &parts {
        let each_f = f64::from(*each);
        let all = tare.average.micrograms().saturating_mul(i64::from(*each));
        average = average + Mass::from_micrograms(all);
        let error = each_f * tare.standard_error();
        variance += error * error;
    }
    Some(Tare {
        average,
        // The error of the sum, told as a spread of the fewest weighed.
        sd_g: (variance * f64::from(weighed)).sqrt(),
        weighed,
    })
}

/// What is known of a good's units: its lots, how many were weighed, what they
/// weigh bare.
pub fn ground_of_weight(workshop: &Workshop, product: ProductId) -> WeightGround {
    let tare = tare_of(workshop, product).map_or(Mass::ZERO, |tare| tare.average);
    let lots = weighed_lots(workshop, product);
    let nets: Vec<Mass> = lots
        .iter()
        .flat_map(|lot| {
            let tare = if lot.wrapped { tare } else { Mass::ZERO };
            lot.weights.iter().map(move |weight| weight.value() - tare)
        })
        .collect();
    let sample = netweight::Sample::try_new(&nets, Mass::ZERO).ok();
    let unit = workshop.system().mass_unit();
    let places = if unit == measure::MassUnit::Gram {
        2
    } else {
        3
    };
    let typed = |grams: f64| Mass::from_grams(grams).map(|mass| mass.typed(unit, places));
    WeightGround {
        lots: lots.iter().map(|lot| lot.pour.id).collect::<Vec<PourId>>(),
        weighed: u32::try_from(nets.len()).unwrap_or(u32::MAX),
        average: sample.as_ref().and_then(|sample| typed(sample.mean())),
        spread: sample
            .as_ref()
            .filter(|sample| sample.len() >= 2)
            .and_then(|sample| typed(sample.sd())),
    }
}

/// What a kilogram of what was melted for a lot cost, by what its parts cost
/// landed when it was finished; none before that, or while a part has no price.
pub fn cost_of_melt(workshop: &Workshop, pour: &Pour) -> Option<Cost> {
    const KILOGRAM: i64 = 1_000_000_000;
    let known = pour.finished.as_ref()?.known;
    let mut sum: Option<Cost> = None;
    for (portion, weighed) in pour.portions.iter().zip(&pour.weighed) {
        let Some(weighed) = weighed else { continue };
        let (landed, received) = workshop.landed_at(portion.supply, known)?;
        let part = landed
            .times(Decimal::from(weighed.value().micrograms()))
            .over(Decimal::from(received))?;
        sum = Some(match sum {
            None => part,
            Some(before) => before.plus(part).ok()?,
        });
    }
    sum?.times(Decimal::from(KILOGRAM))
        .over(Decimal::from(pour.put_in().micrograms()))
}

/// Units of a good fit for sale, seconds with them, that were finished in the
/// year up to a day.
pub fn made_in_a_year(workshop: &Workshop, product: ProductId, today: Date) -> u32 {
    let from = crate::day_after(today, -365);
    workshop
        .pours()
        .filter(|pour| pour.product == Some(product))
        .filter_map(|pour| pour.finished.as_ref())
        .filter(|lot| lot.day > from && lot.day <= today)
        .fold(0, |sum: u32, lot| {
            sum.saturating_add(lot.good).saturating_add(lot.seconds)
        })
}

/// Units of a lot that an inspection would find: those fit for sale, or those
/// counted where it is not finished; never fewer than were weighed.
pub fn size_of_lot(pour: &Pour) -> Option<u32> {
    let finished = pour.finished.as_ref();
    let size = finished
        .map(|lot| lot.good.saturating_add(lot.seconds))
        .or_else(|| pour.count.as_ref().map(|count| count.full))?;
    let weighed = pour.weights().count().max(pour.wrapped.len());
    Some(size.max(u32::try_from(weighed).unwrap_or(u32::MAX))).filter(|size| *size > 0)
}
