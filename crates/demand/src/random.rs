//! Random draws from one portable library, so that a seed gives the same
//! digits on every machine.

use rand::{Rng, RngExt};

/// Draws from the standard normal.
///
/// # Source
///
/// Marsaglia and Bray, A Convenient Method for Generating Normal Variables,
/// SIAM Review 6 (1964). The second of the two values is thrown away, which
/// keeps the generator free of state.
pub(crate) fn normal(rng: &mut impl Rng) -> f64 {
    loop {
        let u = 2.0 * rng.random::<f64>() - 1.0;
        let v = 2.0 * rng.random::<f64>() - 1.0;
        let square = u * u + v * v;
        if square > 0.0 && square < 1.0 {
            return u * (-2.0 * libm::log(square) / square).sqrt();
        }
    }
}

/// Draws from the gamma distribution of that shape with scale one.
///
/// # Source
///
/// Marsaglia and Tsang, A Simple Method for Generating Gamma Variables, ACM
/// Transactions on Mathematical Software 26 (2000).
#[expect(clippy::many_single_char_names, reason = "the letters of the source")]
pub(crate) fn gamma(rng: &mut impl Rng, shape: f64) -> f64 {
    if shape < 1.0 {
        // `random` is never one, so the base is above nothing.
        let u = 1.0 - rng.random::<f64>();
        return gamma(rng, shape + 1.0) * libm::pow(u, 1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let z = normal(rng);
        let v = 1.0 + c * z;
        if v <= 0.0 {
            continue;
        }
        let v = v * v * v;
        let u = 1.0 - rng.random::<f64>();
        if libm::log(u) < 0.5 * z * z + d - d * v + d * libm::log(v) {
            return d * v;
        }
    }
}

/// Draws from the Poisson distribution, as a float that is whole.
///
/// # Source
///
/// Below a mean of 12 by multiplying uniforms; from there the rejection PTRS
/// of Hörmann, The transformed rejection method for generating Poisson random
/// variables, Insurance: Mathematics and Economics 12 (1993).
#[expect(clippy::many_single_char_names, reason = "the letters of the source")]
pub(crate) fn poisson(rng: &mut impl Rng, mean: f64) -> f64 {
    if mean <= 0.0 {
        return 0.0;
    }
    if mean < 12.0 {
        let stop = libm::exp(-mean);
        let mut product = rng.random::<f64>();
        let mut n = 0.0;
        while product > stop {
            product *= rng.random::<f64>();
            n += 1.0;
        }
        return n;
    }
    if mean > 1e14 {
        // No count that large is told from its mean.
        return mean.floor();
    }
    let ln_mean = libm::log(mean);
    let b = 0.931 + 2.53 * mean.sqrt();
    let a = -0.059 + 0.02483 * b;
    let ln_scale = libm::log(1.1239 + 1.1328 / (b - 3.4));
    let inner = 0.9277 - 3.6224 / (b - 2.0);
    loop {
        let u = rng.random::<f64>() - 0.5;
        let v = rng.random::<f64>();
        let us = 0.5 - u.abs();
        let k = ((2.0 * a / us + b) * u + mean + 0.43).floor();
        if us >= 0.07 && v <= inner {
            return k;
        }
        if k < 0.0 || (us < 0.013 && v > us) {
            continue;
        }
        let ln_v = libm::log(v) + ln_scale - libm::log(a / (us * us) + b);
        if ln_v <= k * ln_mean - mean - libm::lgamma(k + 1.0) {
            return k;
        }
    }
}

/// Draws a count of that mean and dispersion.
pub(crate) fn count(rng: &mut impl Rng, mean: f64, dispersion: f64) -> f64 {
    let mean = if dispersion > 1e-9 {
        let shape = 1.0 / dispersion;
        mean * gamma(rng, shape) * dispersion
    } else {
        mean
    };
    poisson(rng, mean)
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use statrs::distribution::{DiscreteCDF, NegativeBinomial};

    use super::*;

    /// Shares of the draws at or below some counts, against another library.
    #[test]
    fn counts_fall_as_often_as_they_should() {
        const DRAWS: u32 = 40_000;
        let mut rng = ChaCha8Rng::seed_from_u64(1);
        for (mean, phi) in [(0.8, 0.5), (6.0, 2.5), (30.0, 0.04), (400.0, 0.2)] {
            let theirs = NegativeBinomial::new(1.0 / phi, 1.0 / (1.0 + phi * mean)).unwrap();
            let draws: Vec<f64> = (0..DRAWS).map(|_| count(&mut rng, mean, phi)).collect();
            for at in [0_u32, 1, 5, 7, 24, 30, 40, 300, 410] {
                let ours = draws.iter().filter(|&&draw| draw <= f64::from(at)).count() as f64
                    / f64::from(DRAWS);
                // Four standard errors of a share are 0.01 at most.
                assert!(
                    (ours - theirs.cdf(u64::from(at))).abs() < 0.01,
                    "{mean} {phi} {at}"
                );
            }
        }
    }
}
