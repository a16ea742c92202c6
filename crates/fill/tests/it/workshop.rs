//! An invented workshop that pours, so that answers can be held against the
//! truth it was made from.

use fill::{Part, Pour, Weighing};
use rand::{Rng, RngExt};

/// Draws from the standard normal: Box and Muller, A Note on the Generation of
/// Random Normal Deviates, Annals of Mathematical Statistics 29 (1958). Not
/// the method of the crate under test.
pub(crate) fn normal(rng: &mut impl Rng) -> f64 {
    let radius = (-2.0 * libm::log(1.0 - rng.random::<f64>())).sqrt();
    radius * libm::cos(std::f64::consts::TAU * rng.random::<f64>())
}

/// What is true of a mould and the hands that use it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Truth {
    pub mu: f64,
    pub within: f64,
    pub between: f64,
    pub loss: f64,
    pub loss_spread: f64,
}

impl Truth {
    /// Draws a truth from the beliefs that `fill::Assumptions` has by default,
    /// for a mould that is said to give `nominal`.
    pub(crate) fn draw(rng: &mut impl Rng, nominal: f64) -> Self {
        let mu = nominal * libm::exp(0.17 * normal(rng));
        Self {
            mu,
            within: 0.04 * mu * normal(rng).abs(),
            between: 0.03 * mu * normal(rng).abs(),
            loss: libm::log(0.03 / 0.97) + 0.65 * normal(rng),
            loss_spread: 0.4 * normal(rng).abs(),
        }
    }
}

/// One pour as it truly was.
#[derive(Debug, Clone)]
pub(crate) struct TruePour {
    /// Weights of the units, g; never fewer than the cavities.
    pub units: Vec<f64>,
    /// Share of the charge that is lost.
    pub loss_share: f64,
}

impl TruePour {
    pub(crate) fn draw(rng: &mut impl Rng, truth: &Truth, cavities: u32) -> Self {
        let theta = truth.mu + truth.between * normal(rng);
        let odds = libm::exp(truth.loss + truth.loss_spread * normal(rng));
        Self {
            units: (0..cavities)
                .map(|_| theta + truth.within * normal(rng))
                .collect(),
            loss_share: odds / (1.0 + odds),
        }
    }

    /// Returns the charge that just fills every cavity, g.
    pub(crate) fn need(&self) -> f64 {
        self.units.iter().sum::<f64>() / (1.0 - self.loss_share)
    }

    /// Pours a charge: the count of full units and the melt that was too
    /// little for the next one or is left when all are full, g.
    pub(crate) fn pour(&self, charge: f64) -> (u32, f64) {
        let mut melt = charge * (1.0 - self.loss_share);
        let mut filled = 0;
        for unit in &self.units {
            if *unit > melt {
                break;
            }
            melt -= unit;
            filled += 1;
        }
        (filled, melt)
    }

    /// Pours a charge and writes down what a maker might.
    pub(crate) fn record(&self, rng: &mut impl Rng, charge: f64, readability: f64) -> Pour {
        let read = |grams: f64| (grams / readability).round() * readability;
        let charge = read(charge);
        let (filled, over) = self.pour(charge);
        let full = &self.units[..filled as usize];
        let cavities = u32::try_from(self.units.len()).expect("few cavities");
        let weighings: Vec<Weighing> = match rng.random_range(0..4) {
            0 => Vec::new(),
            1 => full
                .iter()
                .take(2)
                .map(|w| Weighing::one(read(*w)))
                .collect(),
            2 => full.iter().map(|w| Weighing::one(read(*w))).collect(),
            _ if filled > 0 => vec![Weighing {
                units: filled,
                grams: read(full.iter().sum()),
            }],
            _ => Vec::new(),
        };
        let (left, part) = if filled == cavities {
            match rng.random_range(0..3) {
                0 => (None, Part::NotSaid),
                _ => (Some(read(over)), Part::NotSaid),
            }
        } else {
            match rng.random_range(0..4) {
                0 => (Some(0.0), Part::Weighed(read(over))),
                1 => {
                    let share = over / self.units[filled as usize] + 0.05 * normal(rng);
                    (Some(0.0), Part::Share(share.clamp(0.0, 1.0)))
                }
                2 => (Some(0.0), Part::NotSaid),
                _ => (Some(read(over)), Part::Absent),
            }
        };
        Pour {
            poured: charge,
            top_ups: Vec::new(),
            left,
            cavities,
            filled,
            part,
            weighings,
            readability,
        }
    }
}
