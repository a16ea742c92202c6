//! Distribution functions and draws, from portable libraries so that equal
//! weights give equal answers.

use std::f64::consts::SQRT_2;

use rand::{Rng, RngExt};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Returns the chance that a standard normal stays below `z`.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Returns the standard normal's `chance` quantile, `chance` between 0 and 1.
pub(crate) fn normal_at(chance: f64) -> f64 {
    statrs::distribution::Normal::standard().inverse_cdf(chance)
}

/// Returns the chance that Student's t with `degrees` stays below `t`.
pub(crate) fn t_below(t: f64, degrees: f64) -> f64 {
    student(degrees).cdf(t)
}

/// Returns the `chance` quantile of Student's t with `degrees`.
pub(crate) fn t_at(chance: f64, degrees: f64) -> f64 {
    student(degrees).inverse_cdf(chance)
}

fn student(degrees: f64) -> StudentsT {
    StudentsT::new(0.0, 1.0, degrees.max(1.0)).expect("one degree of freedom or more is a t")
}

/// Draws from the standard normal.
///
/// The polar method: Marsaglia and Bray, A Convenient Method for Generating
/// Normal Variables, SIAM Review 6 (1964).
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

/// Draws from chi-square with `degrees`, one or more.
///
/// Marsaglia and Tsang, A Simple Method for Generating Gamma Variables, ACM
/// Transactions on Mathematical Software 26 (2000); one degree is a squared
/// normal.
pub(crate) fn draw_chi_square(degrees: f64, rng: &mut impl Rng) -> f64 {
    if degrees < 2.0 {
        let z = draw_normal(rng);
        return z * z;
    }
    let shape = degrees / 2.0 - 1.0 / 3.0;
    let width = 1.0 / (9.0 * shape).sqrt();
    loop {
        let z = draw_normal(rng);
        let root = 1.0 + width * z;
        if root <= 0.0 {
            continue;
        }
        let cube = root * root * root;
        let level = libm::log(1.0 - rng.random::<f64>());
        if level < 0.5 * z * z + shape * (1.0 - cube + libm::log(cube)) {
            return 2.0 * shape * cube;
        }
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    use super::*;

    /// Mean ν and variance 2ν: the definition. Bands of four standard errors.
    #[test]
    fn drawn_chi_squares_have_their_mean_and_variance() {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        for degrees in [1.0, 2.0, 5.0, 11.0, 47.0] {
            let n = 100_000;
            let drawn: Vec<f64> = (0..n).map(|_| draw_chi_square(degrees, &mut rng)).collect();
            let mean = drawn.iter().sum::<f64>() / f64::from(n);
            let variance =
                drawn.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / f64::from(n);
            let sd = (2.0 * degrees).sqrt();
            assert!(
                (mean - degrees).abs() < 4.0 * sd / 316.0,
                "{degrees} {mean}"
            );
            assert!(
                (variance / (sd * sd) - 1.0).abs() < 0.07,
                "{degrees} {variance}"
            );
        }
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2: upper
    /// critical values of t (from memory).
    #[test]
    fn t_quantiles_are_those_of_the_tables() {
        for (chance, degrees, expected) in [
            (0.975, 11.0, 2.201),
            (0.99, 10.0, 2.764),
            (0.995, 11.0, 3.106),
            (0.975, 1.0, 12.706),
            (0.995, 29.0, 2.756),
        ] {
            assert!((t_at(chance, degrees) - expected).abs() < 5.1e-4);
            assert!((t_below(expected, degrees) - chance).abs() < 1e-4);
        }
        assert!((normal_at(0.975) - 1.959_964).abs() < 1e-5);
    }
}
