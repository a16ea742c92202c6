//! Unit weights that do not fit what went into their pour.

use fill::{Assumptions, Odd, Part, Side, Weighing};
use measure::{Mass, System, Typed};

use crate::learn::{assumed_loss, made_of, scale_of};
use crate::state::{Pour, Workshop};

/// A unit weight that does not fit, or several whose mean does not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OddWeight {
    /// Which of the weights that were asked about, from 0.
    pub which: Vec<usize>,
    /// What does not fit, as a sentence without its full stop.
    pub words: String,
}

/// The unit weights of a pour that do not fit what went in and that nobody
/// has explained, or the mean of all where no single one stands out.
pub fn odd_weights(workshop: &Workshop, pour: &Pour) -> Vec<OddWeight> {
    found(workshop, pour, &weighings(pour))
}

/// The new unit weights of a pour that do not fit what went in.
pub(crate) fn odd_among(
    workshop: &Workshop,
    pour: &Pour,
    weights: &[Typed<Mass>],
) -> Vec<OddWeight> {
    let mut all = weighings(pour);
    let before = all.len();
    all.extend(weights.iter().map(weighing));
    let mut odd = found(workshop, pour, &all);
    for one in &mut odd {
        one.which.retain(|nth| *nth >= before);
        for nth in &mut one.which {
            *nth -= before;
        }
    }
    // What was odd before was asked about before.
    odd.retain(|one| !one.which.is_empty());
    odd
}

/// Weights that count and that nobody said are right against the balance.
fn weighings(pour: &Pour) -> Vec<Weighing> {
    let explained =
        |nth: usize| u32::try_from(nth).is_ok_and(|nth| pour.weights_kept.contains_key(&nth));
    pour.unit_weights
        .iter()
        .enumerate()
        .filter(|(nth, (_, struck))| !struck && !explained(*nth))
        .map(|(_, (weight, _))| weighing(weight))
        .collect()
}

fn weighing(weight: &Typed<Mass>) -> Weighing {
    Weighing::one(weight.value().grams())
}

fn found(workshop: &Workshop, pour: &Pour, weighings: &[Weighing]) -> Vec<OddWeight> {
    let settings = workshop.settings();
    let assumed = assumed_loss(settings.and_then(|settings| settings.expected_loss));
    let odd = match made(workshop, pour, weighings) {
        Made::Counted(made) => odd_of(&made, &assumed),
        // Before the count the pour may have filled half as many as hoped for,
        // or twice as many.
        Made::Hoped { fewest, most } => {
            let side = |made: &fill::Pour, side| {
                let of_side = move |odd: &(Odd, f64)| odd.0.side == side;
                odd_of(made, &assumed)
                    .into_iter()
                    .filter(of_side)
                    .collect::<Vec<_>>()
            };
            let heavy = side(&fewest, Side::Heavy);
            let light = most.map_or_else(Vec::new, |most| side(&most, Side::Light));
            heavy.into_iter().chain(light).collect()
        }
    };
    let system = workshop.system();
    odd.into_iter()
        .map(|(odd, put_in)| OddWeight {
            which: odd
                .which
                .map_or_else(|| (0..weighings.len()).collect(), |nth| vec![nth]),
            words: words(&odd, put_in, system),
        })
        .collect()
}

enum Made {
    Counted(fill::Pour),
    Hoped {
        fewest: fill::Pour,
        most: Option<fill::Pour>,
    },
}

fn made(workshop: &Workshop, pour: &Pour, weighings: &[Weighing]) -> Made {
    let scale = scale_of(workshop);
    let cavities = pour
        .mould
        .and_then(|mould| workshop.mould(mould))
        .map_or(1, |mould| mould.cavities);
    if let Some(made) = made_of(cavities, pour, &scale) {
        return Made::Counted(fill::Pour {
            weighings: weighings.to_vec(),
            ..made
        });
    }
    let filling = |units: u32| fill::Pour {
        poured: pour.put_in().grams(),
        top_ups: Vec::new(),
        left: None,
        cavities: units,
        filled: units,
        part: Part::Absent,
        weighings: weighings.to_vec(),
        readability: scale.mass().grams(),
    };
    let weighed = u32::try_from(weighings.len()).unwrap_or(u32::MAX).max(1);
    Made::Hoped {
        fewest: filling(pour.wanted.div_ceil(2).max(weighed)),
        most: (pour.wanted > 0).then(|| filling(pour.wanted.saturating_mul(2).max(weighed))),
    }
}

fn odd_of(made: &fill::Pour, assumed: &Assumptions) -> Vec<(Odd, f64)> {
    let odd = made.odd_weighings(assumed);
    odd.into_iter().map(|odd| (odd, made.put_in())).collect()
}

/// What does not fit in a counted pour, as a sentence each.
pub(crate) fn odd_words(made: &fill::Pour, assumed: &Assumptions, system: System) -> Vec<String> {
    odd_of(made, assumed)
        .iter()
        .map(|(odd, put_in)| words(odd, *put_in, system))
        .collect()
}

/// Why the maker says the weights that still count are right.
pub(crate) fn kept_because(pour: &Pour) -> Vec<String> {
    let counts = |nth: u32| {
        let weight = pour.unit_weights.get(nth as usize);
        weight.is_some_and(|(_, struck)| !struck)
    };
    pour.weights_kept
        .iter()
        .filter(|(nth, _)| counts(**nth))
        .map(|(_, reason)| reason.clone())
        .collect()
}

/// `90.00 oz a unit does not fit: 11 of them are 990.00 oz, and 17.92 oz went in`
fn words(odd: &Odd, put_in: f64, system: System) -> String {
    // All in one unit and to one place, so that they can be held side by side.
    let places = match system {
        System::Metric => 1,
        System::Us | System::Imperial => 2,
    };
    let show = |grams: f64| {
        Mass::from_grams(grams).map_or_else(String::new, |mass| {
            mass.typed(system.mass_unit(), places).to_string()
        })
    };
    let mean = if odd.which.is_none() {
        " on average"
    } else {
        ""
    };
    format!(
        "{} a unit{mean} does not fit: {:.0} of them are {}, and {} went in",
        show(odd.unit),
        odd.all / odd.unit,
        show(odd.all),
        show(put_in),
    )
}
