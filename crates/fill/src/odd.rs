//! Unit weights that do not fit what went in.

use crate::chance::{log_odds, share_of_log_odds};
use crate::learn::{Assumptions, Spread};
use crate::pours::{Part, Pour};

/// How many standard deviations off a weight has to be before it is asked
/// about: by chance alone that happens to one unit in ten thousand.
const FAR_OFF: f64 = 4.0;

/// On which side a weight does not fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// So many of it would outweigh what went in.
    Heavy,
    /// So many of it would leave more unaccounted for than is ever lost.
    Light,
}

/// A weight that does not fit the balance of its pour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Odd {
    /// Which weighing, from 0; none for the mean of them all.
    pub which: Option<usize>,
    /// On which side.
    pub side: Side,
    /// The weight of a unit, g.
    pub unit: f64,
    /// What the full units of the pour would weigh at that, g.
    pub all: f64,
}

impl Pour {
    /// Returns the weighings that cannot be those of units of this pour, and
    /// last the mean of all when no single one stands out.
    ///
    /// Mass is conserved, so the mean of the full units is what went in and did
    /// not come back over their number, less what is lost. The mean of `k` of
    /// `n` units lies about that with the spread of units × √(1/k − 1/n), which
    /// is nothing when all are weighed. What is assumed of spread and loss
    /// before the first pour says how far is far; half a step of the scale is
    /// granted to every reading.
    ///
    /// # Source
    ///
    /// Cochran, Sampling Techniques (1977), theorem 2.2: the variance of the
    /// mean of a sample from few units.
    pub fn odd_weighings(&self, assumed: &Assumptions) -> Vec<Odd> {
        let used = self.used();
        if self.filled == 0 || !used.is_finite() || used <= 0.0 {
            return Vec::new();
        }
        let n = f64::from(self.filled);
        let half_step = self.readability / 2.0;
        // At most the goods hold all that was used, at least what a bad pour leaves.
        let most = (used + half_step * self.balance_readings() - self.part_grams()) / n;
        let with_part = n + self.part_units();
        let least = (used - self.part_grams()) * (1.0 - worst_loss(assumed)) / with_part;
        let spread = share_of_mean(assumed.spread_within, used / n);
        let odd = |which: Option<usize>, units: f64, unit: f64| {
            let far = FAR_OFF * spread * (1.0 / units - 1.0 / n).max(0.0).sqrt();
            let side = if unit > most * (1.0 + far) + half_step {
                Side::Heavy
            } else if unit < least * (1.0 - far).max(0.0) - half_step {
                Side::Light
            } else {
                return None;
            };
            let all = unit * n;
            Some(Odd {
                which,
                side,
                unit,
                all,
            })
        };
        let sound = self.weighings.iter().enumerate();
        let mut found: Vec<Odd> = sound
            .filter(|(_, weighing)| weighing.units > 0)
            .filter_map(|(idx, weighing)| {
                let units = f64::from(weighing.units);
                odd(Some(idx), units, weighing.grams / units)
            })
            .collect();
        let weighed = self.weighed_units() as f64;
        if found.is_empty() && weighed > 0.0 {
            found.extend(odd(None, weighed, self.weighed_grams() / weighed));
        }
        found
    }

    /// What the part-filled unit holds where it was weighed, g.
    const fn part_grams(&self) -> f64 {
        match self.part {
            Part::Weighed(grams) => grams,
            _ => 0.0,
        }
    }

    /// How much of a full unit the part-filled one may be.
    fn part_units(&self) -> f64 {
        match self.part_meant() {
            Part::Share(share) => share,
            Part::Unknown | Part::NotSaid => 1.0,
            Part::Absent | Part::Weighed(_) => 0.0,
        }
    }
}

/// The share of a charge that is lost on a day as bad as one in thirty thousand.
fn worst_loss(assumed: &Assumptions) -> f64 {
    let day = match assumed.spread_of_loss {
        Spread::HalfNormal(sd) | Spread::Known(sd) | Spread::InverseChiSquare { sd, .. } => sd,
    };
    let sd = assumed.loss_doubt.hypot(day);
    share_of_log_odds(log_odds(assumed.expected_loss) + FAR_OFF * sd)
}

/// The spread of units as a share of their mean.
fn share_of_mean(spread: Spread, mean: f64) -> f64 {
    match spread {
        Spread::HalfNormal(share) => share,
        Spread::InverseChiSquare { sd, .. } | Spread::Known(sd) => sd / mean,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pours::Weighing;

    /// 17.92 oz of melt, eleven of twelve bars, nothing said of what was left.
    fn bars(weights_oz: &[f64]) -> Vec<(Option<usize>, Side)> {
        let ounce = 28.349_523_125;
        let pour = Pour {
            poured: 17.92 * ounce,
            top_ups: Vec::new(),
            left: None,
            cavities: 12,
            filled: 11,
            part: Part::Absent,
            weighings: weights_oz
                .iter()
                .map(|oz| Weighing::one(oz * ounce))
                .collect(),
            readability: 0.1 * ounce,
        };
        let odd = pour.odd_weighings(&Assumptions::default());
        odd.iter().map(|odd| (odd.which, odd.side)).collect()
    }

    #[test]
    fn plain_weights_are_not_asked_about() {
        assert_eq!(bars(&[1.5, 1.6, 1.55]), []);
        // A heavy one of eleven, while the rest may be light.
        assert_eq!(bars(&[1.5, 1.6, 1.8]), []);
        assert_eq!(bars(&[]), []);
    }

    #[test]
    fn a_weight_past_what_went_in_or_of_nothing_is() {
        assert_eq!(bars(&[1.5, 15.0]), [(Some(1), Side::Heavy)]);
        assert_eq!(bars(&[0.01, 1.6]), [(Some(0), Side::Light)]);
        // Twice what mass allows: 11 × 3.0 oz are 33 oz out of 17.92 oz.
        assert_eq!(bars(&[3.0]), [(Some(0), Side::Heavy)]);
    }

    #[test]
    fn all_units_together_cannot_outweigh_the_melt() {
        // 11 × 1.63 oz are 17.93 oz, within the scale; 11 × 1.75 oz are 19.25 oz.
        assert_eq!(bars(&[1.63; 11]), []);
        assert_eq!(bars(&[1.75; 11]), [(None, Side::Heavy)]);
    }

    /// Conservation of mass: 23 shells of 75.9 g and 31 g left of 1,842 g.
    #[test]
    fn an_honest_balance_is_not_asked_about() {
        let pour = Pour {
            poured: 1842.0,
            top_ups: Vec::new(),
            left: Some(31.0),
            cavities: 24,
            filled: 23,
            part: Part::NotSaid,
            weighings: vec![Weighing::one(75.9); 23],
            readability: 1.0,
        };
        assert_eq!(pour.odd_weighings(&Assumptions::default()), []);
    }
}
