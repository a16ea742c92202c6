//! Which price test would tell two prices apart, and how likely.
//!
//! With elasticity b, price 2 earns more than price 1 just when
//! b ln(p₂/p₁) > ln(k₁/k₂), k what is kept of a unit: one threshold for b. The
//! belief about level and elasticity is taken as normal; a day at a price adds
//! the information 1/(φ + σ² + 1/m) on the logarithm of what it sells. Where
//! the mean of the belief will lie after the test is then normal too
//! (preposterior analysis: Raiffa and Schlaifer, Applied Statistical Decision
//! Theory, 1961), so that the chance that the test tells is in closed form.

use crate::counts::normal_below;
use crate::learn::Belief;

/// Two prices to be told apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question {
    /// The prices, over the reference price, in logarithms.
    pub x: [f64; 2],
    /// What is kept of a unit at each, after fees and cost; above zero.
    pub kept: [f64; 2],
}

/// Days at one price turn about with days at another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PriceTest {
    /// The two prices, over the reference price, in logarithms.
    pub x: [f64; 2],
    /// Days at each.
    pub days: u32,
}

/// A difference is told when one price earns more nine times in ten.
const TOLD: f64 = 1.281_551_565_544_600_4;
/// No test runs longer.
const MOST_DAYS: u32 = 100_000;

impl Question {
    /// The elasticity above which the dearer price earns more; none when the
    /// prices are alike or one keeps nothing.
    pub fn threshold(&self) -> Option<f64> {
        let [first, second] = self.kept;
        let apart = self.x[1] - self.x[0];
        (first > 0.0 && second > 0.0 && apart != 0.0)
            .then(|| libm::log(first / second) / apart)
            .filter(|threshold| threshold.is_finite())
    }

    /// The chance that the test leaves no more than one chance in ten of being
    /// wrong about which of the two earns more.
    pub fn chance_told(&self, belief: &Belief, test: &PriceTest) -> Option<f64> {
        let off = belief.mean[1] - self.threshold()?;
        let before = belief.covariance[2];
        let after = variance_after(belief, test)?;
        let edge = TOLD * after.sqrt();
        let moves = (before - after).max(0.0).sqrt();
        if moves < 1e-9 {
            return Some(if off.abs() >= edge { 1.0 } else { 0.0 });
        }
        Some(normal_below((off - edge) / moves) + normal_below((-off - edge) / moves))
    }

    /// The days at each of the two prices of a test after which it tells with
    /// at least `chance`; none when no test of any length does.
    pub fn days_needed(&self, belief: &Belief, x: [f64; 2], chance: f64) -> Option<u32> {
        let told = |days: u32| {
            self.chance_told(belief, &PriceTest { x, days })
                .is_some_and(|told| told >= chance)
        };
        let mut high = 1;
        while !told(high) {
            if high >= MOST_DAYS {
                return None;
            }
            high = (high * 2).min(MOST_DAYS);
        }
        let mut low = 0;
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if told(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(high)
    }
}

/// The variance of the elasticity once the test is done.
fn variance_after(belief: &Belief, test: &PriceTest) -> Option<f64> {
    let [level, both, slope] = belief.covariance;
    let determinant = level * slope - both * both;
    if determinant <= 0.0 || !determinant.is_finite() {
        return None;
    }
    // The information before, with that of each day added.
    let mut information = [
        slope / determinant,
        -both / determinant,
        level / determinant,
    ];
    for x in test.x {
        let mean = libm::exp((belief.mean[0] + belief.mean[1] * x).clamp(-30.0, 30.0));
        let day = f64::from(test.days) / (belief.dispersion + belief.day_variance + 1.0 / mean);
        information[0] += day;
        information[1] += day * x;
        information[2] += day * x * x;
    }
    let [level, both, slope] = information;
    Some(level / (level * slope - both * both)).filter(|v| v.is_finite() && *v > 0.0)
}
