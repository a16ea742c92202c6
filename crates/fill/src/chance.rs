//! The normal and logistic functions the model is written in, from one
//! portable library so that the last digit is the same on every machine.

use std::f64::consts::{LN_2, PI, SQRT_2};

use rand::{Rng, RngExt};

/// Returns the chance that a standard normal stays below `z`.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Returns the logarithm of [`normal_below`], also where that underflows.
pub(crate) fn ln_normal_below(z: f64) -> f64 {
    if z > -30.0 {
        return libm::log(normal_below(z));
    }
    // Two terms of the asymptotic series, NIST DLMF 7.12.1; the rest is under
    // one part in a hundred thousand here.
    -0.5 * z * z - libm::log(-z) - 0.5 * libm::log(2.0 * PI) - 1.0 / (z * z)
}

/// Returns the logarithm of the chance that a standard normal lies below
/// `high` and not below `low`.
///
/// `low` may exceed `high` by the approximations of the caller; the result is
/// then very small but finite, so that a search can walk back out.
pub(crate) fn ln_normal_between(low: f64, high: f64) -> f64 {
    // In the upper tail both chances are near one; the mirrored ones are not.
    let (low, high) = if low > 0.0 {
        (-high, -low)
    } else {
        (low, high)
    };
    if high > -30.0 {
        let between = normal_below(high) - normal_below(low);
        if between > 1e-300 {
            return libm::log(between);
        }
    }
    let (ln_high, ln_low) = (ln_normal_below(high), ln_normal_below(low));
    if ln_high - ln_low > 1e-9 {
        ln_high + libm::log1p(-libm::exp(ln_low - ln_high))
    } else {
        ln_high.min(ln_low) - 50.0 * LN_2
    }
}

/// Returns the share whose log odds are `x`.
pub(crate) fn share_of_log_odds(x: f64) -> f64 {
    if x > 0.0 {
        1.0 / (1.0 + libm::exp(-x))
    } else {
        let odds = libm::exp(x);
        odds / (1.0 + odds)
    }
}

/// Returns the log odds of a share between 0 and 1.
pub(crate) fn log_odds(share: f64) -> f64 {
    libm::log(share) - libm::log1p(-share)
}

/// Draws from the standard normal.
///
/// The polar method: Marsaglia and Bray, A Convenient Method for Generating
/// Normal Variables, SIAM Review 6 (1964). One of the two values it yields is
/// thrown away, which keeps the generator free of state.
pub(crate) fn draw_normal(rng: &mut impl Rng) -> f64 {
    loop {
        let u = 2.0 * rng.random::<f64>() - 1.0;
        let v = 2.0 * rng.random::<f64>() - 1.0;
        let square = u * u + v * v;
        if square > 0.0 && square < 1.0 {
            return u * (-2.0 * libm::log(square) / square).sqrt();
        }
    }
}

/// Draws from the exponential distribution with mean one.
pub(crate) fn draw_exponential(rng: &mut impl Rng) -> f64 {
    // `random` is never one, so the logarithm is finite.
    -libm::log1p(-rng.random::<f64>())
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use statrs::distribution::{ContinuousCDF, Normal};

    use super::*;

    #[test]
    fn the_normal_agrees_with_an_independent_library() {
        let normal = Normal::new(0.0, 1.0).unwrap();
        for step in -70..=70 {
            let z = f64::from(step) / 10.0;
            let expected = normal.cdf(z);
            assert!((normal_below(z) - expected).abs() < 1e-10, "at {z}");
        }
    }

    #[test]
    fn the_logarithm_has_no_step_where_the_series_takes_over() {
        let (direct, series) = (ln_normal_below(-29.999_999), ln_normal_below(-30.000_001));
        // The slope there is about 30, so the two points differ by 6e-5.
        assert!((direct - series - 6e-5).abs() < 1e-5, "{direct} {series}");
    }

    #[test]
    fn far_tails_stay_finite_and_ordered() {
        assert!(ln_normal_between(40.0, 41.0) > ln_normal_between(50.0, 51.0));
        assert!(ln_normal_between(-51.0, -50.0) > ln_normal_between(-61.0, -60.0));
        assert!(ln_normal_between(-50.0, -50.5).is_finite());
        let narrow = ln_normal_between(-1.0, 1.0);
        assert!((libm::exp(narrow) - 0.682_689_492).abs() < 1e-9);
    }

    #[test]
    fn log_odds_and_share_undo_each_other() {
        for share in [1e-9, 0.015, 0.03, 0.5, 0.97, 1.0 - 1e-9] {
            assert!((share_of_log_odds(log_odds(share)) - share).abs() < 1e-12);
        }
    }

    #[test]
    fn drawn_normals_have_the_moments_of_the_normal() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let n = 200_000;
        let drawn: Vec<f64> = (0..n).map(|_| draw_normal(&mut rng)).collect();
        let moment = |k: i32| drawn.iter().map(|z| z.powi(k)).sum::<f64>() / f64::from(n);
        // Four standard errors of each moment.
        assert!(moment(1).abs() < 0.009);
        assert!((moment(2) - 1.0).abs() < 0.013);
        assert!(moment(3).abs() < 0.035);
        assert!((moment(4) - 3.0).abs() < 0.09);
    }
}
