//! The unit weights of one lot: the normal model with its conjugate prior.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// Why a belief about unit weights was not formed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BeliefError {
    /// A weight or a figure of the prior is not a finite number.
    #[error("every weight must be a finite number")]
    NotFinite,
    /// The prior counts as fewer than no units, or its spread is not above zero.
    #[error("a prior must count as zero units or more and its spread must be above zero")]
    PriorOutOfRange,
    /// Neither the prior nor the weights say anything about the spread.
    #[error("the spread of the weights is not known: weigh two units or more that differ")]
    NoSpread,
    /// A chance outside 0 to 1.
    #[error("a chance must lie between 0 and 1")]
    ChanceOutOfRange,
}

/// What is believed about the mean and the spread of unit weights, as a normal
/// and an inverse chi-square distribution.
///
/// The same type holds the prior and what is believed after weighing, so lots
/// can be taken in one after the other.
///
/// # Source
///
/// Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalBelief {
    /// Centre of the belief about the mean, g.
    pub mean: f64,
    /// How many units that centre counts for.
    pub mean_units: f64,
    /// Centre of the belief about the variance, g².
    pub variance: f64,
    /// How many units that variance counts for (degrees of freedom).
    pub variance_units: f64,
}

impl NormalBelief {
    /// The belief of someone who has weighed nothing and assumes nothing: the
    /// answers after weighing are then those of the textbook t intervals.
    pub const NOTHING: Self = Self {
        mean: 0.0,
        mean_units: 0.0,
        variance: 0.0,
        // The reference prior 1/σ² is the conjugate one with these degrees.
        variance_units: -1.0,
    };

    /// Returns a prior: a mean worth so many units and a standard deviation
    /// worth so many.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NotFinite`] and [`BeliefError::PriorOutOfRange`].
    pub fn prior(
        mean: f64,
        mean_units: f64,
        sd: f64,
        variance_units: f64,
    ) -> Result<Self, BeliefError> {
        if ![mean, mean_units, sd, variance_units]
            .iter()
            .all(|x| x.is_finite())
        {
            return Err(BeliefError::NotFinite);
        }
        if mean_units < 0.0 || variance_units < 0.0 || sd <= 0.0 {
            return Err(BeliefError::PriorOutOfRange);
        }
        Ok(Self {
            mean,
            mean_units,
            variance: sd * sd,
            variance_units,
        })
    }

    /// Returns the belief after weighing these units.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NotFinite`].
    pub fn after(&self, weights: &[f64]) -> Result<Self, BeliefError> {
        if weights.iter().any(|w| !w.is_finite()) {
            return Err(BeliefError::NotFinite);
        }
        if weights.is_empty() {
            return Ok(*self);
        }
        let n = weights.len() as f64;
        let average = weights.iter().sum::<f64>() / n;
        let squares: f64 = weights.iter().map(|w| (w - average) * (w - average)).sum();
        let mean_units = self.mean_units + n;
        let variance_units = self.variance_units + n;
        let shift = average - self.mean;
        // Degrees times variance; without degrees the prior adds nothing.
        let prior_squares = self.variance_units.max(0.0) * self.variance;
        let sum = prior_squares + squares + self.mean_units * n / mean_units * shift * shift;
        Ok(Self {
            mean: (self.mean_units * self.mean + n * average) / mean_units,
            mean_units,
            variance: if variance_units > 0.0 {
                sum / variance_units
            } else {
                0.0
            },
            variance_units,
        })
    }

    fn t_quantile(&self, chance: f64, scale: f64) -> Result<f64, BeliefError> {
        if !(chance > 0.0 && chance < 1.0) {
            return Err(BeliefError::ChanceOutOfRange);
        }
        if !(self.variance > 0.0 && self.variance_units > 0.0 && self.mean_units > 0.0) {
            return Err(BeliefError::NoSpread);
        }
        let t = StudentsT::new(0.0, 1.0, self.variance_units).map_err(|_| BeliefError::NoSpread)?;
        let scale = (self.variance * scale).sqrt();
        Ok(self.mean + scale * t.inverse_cdf(chance))
    }

    /// Returns the mean unit weight that is not exceeded with this chance.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NoSpread`] and [`BeliefError::ChanceOutOfRange`].
    pub fn mean_at(&self, chance: f64) -> Result<f64, BeliefError> {
        self.t_quantile(chance, 1.0 / self.mean_units)
    }

    /// Returns the weight the next unit does not exceed with this chance.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NoSpread`] and [`BeliefError::ChanceOutOfRange`].
    pub fn next_unit_at(&self, chance: f64) -> Result<f64, BeliefError> {
        self.t_quantile(chance, 1.0 + 1.0 / self.mean_units)
    }

    /// Returns the weight the average of `units` more units does not exceed
    /// with this chance. No more units is the same as ever so many: the mean.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NoSpread`] and [`BeliefError::ChanceOutOfRange`].
    pub fn mean_of_more_at(&self, units: u32, chance: f64) -> Result<f64, BeliefError> {
        let own = if units == 0 {
            0.0
        } else {
            1.0 / f64::from(units)
        };
        self.t_quantile(chance, own + 1.0 / self.mean_units)
    }

    /// Returns the chance that the next unit weighs less than `weight`.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NoSpread`] and [`BeliefError::NotFinite`].
    pub fn next_unit_below(&self, weight: f64) -> Result<f64, BeliefError> {
        if !weight.is_finite() {
            return Err(BeliefError::NotFinite);
        }
        if !(self.variance > 0.0 && self.variance_units > 0.0 && self.mean_units > 0.0) {
            return Err(BeliefError::NoSpread);
        }
        let scale = (self.variance * (1.0 + 1.0 / self.mean_units)).sqrt();
        StudentsT::new(self.mean, scale, self.variance_units)
            .map(|t| t.cdf(weight))
            .map_err(|_| BeliefError::NoSpread)
    }

    /// Returns the standard deviation at the centre of the belief, g.
    pub fn sd(&self) -> f64 {
        self.variance.sqrt()
    }
}

/// What is believed about unit weights when their logarithms are normal: a
/// weight is never below nothing, and an interval is so many times either way.
/// For units that differ by a few percent it is the normal one to the last
/// digit shown.
///
/// # Source
///
/// Hahn and Meeker, Statistical Intervals (1991), section 4.12 (from memory):
/// intervals are found on the scale on which the values are normal, and turned
/// back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightBelief(NormalBelief);

impl WeightBelief {
    /// Returns what these weights say, with nothing assumed before.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NotFinite`], also for a weight that is not above zero.
    pub fn of(weights: &[f64]) -> Result<Self, BeliefError> {
        let logs: Vec<f64> = weights.iter().map(|weight| libm::log(*weight)).collect();
        NormalBelief::NOTHING.after(&logs).map(Self)
    }

    /// Returns the weight the next unit does not exceed with this chance.
    ///
    /// # Errors
    ///
    /// [`BeliefError::NoSpread`] and [`BeliefError::ChanceOutOfRange`].
    pub fn next_unit_at(&self, chance: f64) -> Result<f64, BeliefError> {
        self.0.next_unit_at(chance).map(libm::exp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MIDGE_WINGS_MM: [f64; 9] = [1.64, 1.70, 1.72, 1.74, 1.82, 1.82, 1.82, 1.90, 2.08];

    #[track_caller]
    fn near(found: Result<f64, BeliefError>, expected: f64, half_digit: f64) {
        let found = found.unwrap();
        assert!(
            (found - expected).abs() <= half_digit,
            "{found} is not {expected}"
        );
    }

    /// Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5:
    /// wing lengths of nine midges, prior mean 1.9 worth one, variance 0.01
    /// worth one. The book prints 1.814, 10 and 0.015 (from memory); the
    /// further digits and the intervals were computed with SciPy 1.17.
    #[test]
    fn midge_wings() {
        let after = NormalBelief::prior(1.9, 1.0, 0.1, 1.0)
            .unwrap()
            .after(&MIDGE_WINGS_MM)
            .unwrap();
        near(Ok(after.mean), 1.814, 0.000_05);
        near(Ok(after.mean_units), 10.0, 0.0);
        near(Ok(after.variance_units), 10.0, 0.0);
        near(Ok(after.variance), 0.015_324, 0.000_000_5);
        near(after.mean_at(0.025), 1.726_78, 0.000_005);
        near(after.mean_at(0.975), 1.901_22, 0.000_005);
        near(after.next_unit_at(0.025), 1.524_72, 0.000_005);
        near(after.next_unit_at(0.975), 2.103_28, 0.000_005);
    }

    /// Invented weights; the answers were computed with SciPy 1.17.
    #[test]
    fn six_melts_with_a_prior() {
        let after = NormalBelief::prior(24.5, 4.0, 0.30, 6.0)
            .unwrap()
            .after(&[24.6, 24.2, 24.9, 24.4, 24.7, 24.3])
            .unwrap();
        near(Ok(after.mean), 24.510, 0.0005);
        near(Ok(after.sd()), 0.2722, 0.000_05);
        near(after.next_unit_at(0.05), 24.001, 0.0005);
        near(after.next_unit_at(0.01), 23.745, 0.0005);
        near(after.next_unit_at(0.005), 23.638, 0.0005);
        near(after.next_unit_below(24.0), 0.0496, 0.000_05);
        near(after.mean_of_more_at(12, 0.025), 24.256, 0.0005);
        near(after.mean_of_more_at(12, 0.975), 24.764, 0.0005);
    }

    /// Without a prior the answers are the classical ones: one-sided 95 %
    /// prediction for one more of six is mean - 2.177 s (the factor of the
    /// prediction tables, computed with SciPy 1.17).
    #[test]
    fn six_melts_without_a_prior() {
        let after = NormalBelief::NOTHING
            .after(&[24.6, 24.2, 24.9, 24.4, 24.7, 24.3])
            .unwrap();
        near(Ok(after.mean), 24.517, 0.0005);
        near(Ok(after.sd()), 0.2639, 0.000_05);
        near(after.next_unit_at(0.05), 23.942, 0.0005);
        near(
            after
                .next_unit_at(0.05)
                .map(|low| (after.mean - low) / after.sd()),
            2.177,
            0.0005,
        );
    }

    #[test]
    fn taking_the_weights_in_two_lots_changes_nothing() {
        let prior = NormalBelief::prior(1.9, 1.0, 0.1, 1.0).unwrap();
        let whole = prior.after(&MIDGE_WINGS_MM).unwrap();
        let halves = prior
            .after(&MIDGE_WINGS_MM[..4])
            .unwrap()
            .after(&MIDGE_WINGS_MM[4..])
            .unwrap();
        near(Ok(halves.mean), whole.mean, 1e-12);
        near(Ok(halves.variance), whole.variance, 1e-12);
    }

    #[test]
    fn too_little_to_go_on_is_said() {
        let one = NormalBelief::NOTHING.after(&[24.6]).unwrap();
        assert_eq!(one.next_unit_at(0.05), Err(BeliefError::NoSpread));
        let alike = NormalBelief::NOTHING.after(&[24.6, 24.6]).unwrap();
        assert_eq!(alike.next_unit_at(0.05), Err(BeliefError::NoSpread));
        assert_eq!(
            NormalBelief::NOTHING.after(&[f64::NAN]),
            Err(BeliefError::NotFinite)
        );
        let known = NormalBelief::prior(24.5, 4.0, 0.3, 6.0).unwrap();
        for chance in [0.0, 1.0, -0.1, f64::NAN] {
            assert_eq!(known.mean_at(chance), Err(BeliefError::ChanceOutOfRange));
        }
        assert_eq!(
            NormalBelief::prior(24.5, -1.0, 0.3, 6.0),
            Err(BeliefError::PriorOutOfRange)
        );
    }

    /// Invented weights; the answers were computed with Python's own `log` and
    /// `exp` and the t quantiles 2.015 (5 degrees) and 6.3138 (1 degree).
    #[test]
    fn the_next_weight_is_never_below_nothing() {
        let melts = WeightBelief::of(&[24.6, 24.2, 24.9, 24.4, 24.7, 24.3]).unwrap();
        near(melts.next_unit_at(0.05), 23.9483, 0.0005);
        near(melts.next_unit_at(0.95), 25.0961, 0.0005);
        let apart = WeightBelief::of(&[14.0, 0.3]).unwrap();
        let low = apart.next_unit_at(0.05).unwrap();
        assert!(low > 0.0, "{low}");
        let plain = NormalBelief::NOTHING.after(&[14.0, 0.3]).unwrap();
        assert!(plain.next_unit_at(0.05).unwrap() < 0.0);
        assert_eq!(WeightBelief::of(&[0.0]), Err(BeliefError::NotFinite));
        assert_eq!(WeightBelief::of(&[-1.0]), Err(BeliefError::NotFinite));
    }
}
