//! Counts on columns of figures by maximum likelihood: Poisson and negative
//! binomial regression with a logarithmic link.
//!
//! No prior and no pooling: what the figures say alone. The estimate of
//! [`crate::learn()`] uses the same chances of a count.

use crate::counts::{constant, kernel, ln_kernel};
use crate::matrix::Square;

/// Why a regression has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// There are no rows, or rows of different lengths.
    #[error("the rows are missing or of different lengths")]
    Shape,
    /// A figure is not finite, or a count is below zero.
    #[error("a figure is not finite or a count is below zero")]
    NotFinite,
    /// Several answers fit alike: a column says what others say.
    #[error("the columns do not tell each other apart")]
    NotUnique,
    /// The best fit lies at infinity: all counts are zero, or all are where a
    /// column is something.
    #[error("the best fit lies at infinity")]
    Infinite,
}

/// A fitted regression: ln mean = offset + Σ column × coefficient.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The coefficients, in the order of the columns.
    pub coefficients: Vec<f64>,
    /// Their standard errors, from the observed information (the dispersion's
    /// row with the others where there is one).
    pub standard_errors: Vec<f64>,
    /// φ of the variance m + φ m²; zero for a Poisson. Its inverse is the
    /// size θ of other programs.
    pub dispersion: f64,
    /// The standard error of the dispersion; none for a Poisson, and none at
    /// zero.
    pub dispersion_error: Option<f64>,
    /// The logarithm of the likelihood, constants and all.
    pub ln_likelihood: f64,
}

/// Counts with the columns they are fitted on.
#[derive(Debug, Clone, Copy)]
pub struct Counts<'a> {
    /// A row of columns for each count; a column of ones for the level.
    pub rows: &'a [Vec<f64>],
    /// The counts.
    pub counts: &'a [f64],
    /// Known parts of ln mean; empty for none.
    pub offsets: &'a [f64],
}

/// Fits a Poisson regression.
///
/// # Errors
///
/// [`NoFit`] when the figures have no single best answer.
///
/// # Source
///
/// Iteratively reweighted least squares: McCullagh and Nelder, Generalized
/// Linear Models, 2nd edition (1989), 2.5.
pub fn poisson(data: Counts<'_>) -> Result<Fit, NoFit> {
    data.check()?;
    data.finish(&data.climb(0.0, None)?, 0.0)
}

/// Fits a negative binomial regression with variance m + φ m², φ among what is
/// fitted; where the counts are no more spread than Poisson, φ is zero.
///
/// # Errors
///
/// [`NoFit`] when the figures have no single best answer.
///
/// # Source
///
/// Likelihood: Hilbe, Negative Binomial Regression, 2nd edition (2011), 8.2.
pub fn negative_binomial(data: Counts<'_>) -> Result<Fit, NoFit> {
    data.check()?;
    let start = data.climb(0.0, None)?;
    let level = |ln_phi: f64| -> Result<(f64, Vec<f64>), NoFit> {
        let phi = libm::exp(ln_phi);
        let beta = data.climb(phi, Some(&start))?;
        Ok((data.ln_likelihood(&beta, phi), beta))
    };
    // A look along the whole range first: the curve may be flat at its ends.
    let (first, step, n) = (-18.0, 0.5, 49_u32);
    let mut best = (f64::NEG_INFINITY, first);
    for idx in 0..n {
        let at = first + step * f64::from(idx);
        let (value, _) = level(at)?;
        if value > best.0 {
            best = (value, at);
        }
    }
    let poisson = data.ln_likelihood(&start, 0.0);
    if best.1 <= -15.0 || best.0 <= poisson {
        return data.finish(&start, 0.0);
    }
    // Golden section.
    let part = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (best.1 - step, best.1 + step);
    for _ in 0..60 {
        let (left, right) = (high - part * (high - low), low + part * (high - low));
        if level(left)?.0 < level(right)?.0 {
            low = left;
        } else {
            high = right;
        }
    }
    let ln_phi = 0.5 * (low + high);
    data.finish(&level(ln_phi)?.1, libm::exp(ln_phi))
}

impl Counts<'_> {
    fn check(&self) -> Result<(), NoFit> {
        let columns = self.rows.first().map_or(0, Vec::len);
        if columns == 0
            || self.rows.len() != self.counts.len()
            || self.rows.iter().any(|row| row.len() != columns)
            || !(self.offsets.is_empty() || self.offsets.len() == self.rows.len())
        {
            return Err(NoFit::Shape);
        }
        let figures = self.rows.iter().flatten().chain(self.offsets);
        if !figures.copied().all(f64::is_finite)
            || !self.counts.iter().all(|y| y.is_finite() && *y >= 0.0)
        {
            return Err(NoFit::NotFinite);
        }
        if self.counts.iter().all(|y| *y == 0.0) {
            return Err(NoFit::Infinite);
        }
        Ok(())
    }

    fn etas<'b>(&'b self, beta: &'b [f64]) -> impl Iterator<Item = f64> + 'b {
        self.rows.iter().enumerate().map(move |(i, row)| {
            let offset = self.offsets.get(i).copied().unwrap_or(0.0);
            offset + row.iter().zip(beta).map(|(x, b)| x * b).sum::<f64>()
        })
    }

    fn ln_likelihood(&self, beta: &[f64], phi: f64) -> f64 {
        self.etas(beta)
            .zip(self.counts)
            .map(|(eta, y)| ln_kernel(*y, eta, phi) + constant(*y, phi))
            .sum()
    }

    /// The slope of the likelihood and the information, factored.
    fn bend(&self, beta: &[f64], phi: f64) -> Result<(Vec<f64>, Square), NoFit> {
        let n = beta.len();
        let mut slope = vec![0.0; n];
        let mut information = Square::zero(n);
        for ((eta, y), row) in self.etas(beta).zip(self.counts).zip(self.rows) {
            let at = kernel(*y, eta, phi);
            for (i, x) in row.iter().enumerate() {
                slope[i] += at.slope * x;
                for (j, z) in row[..=i].iter().enumerate() {
                    information.add(i, j, at.bend * x * z);
                }
            }
        }
        if information.factor() {
            Ok((slope, information))
        } else {
            Err(NoFit::NotUnique)
        }
    }

    /// Climbs to the best coefficients at a dispersion.
    fn climb(&self, phi: f64, start: Option<&[f64]>) -> Result<Vec<f64>, NoFit> {
        let mut beta = match start {
            Some(start) => start.to_vec(),
            None => self.first_guess()?,
        };
        let mut value = self.ln_likelihood(&beta, phi);
        for _ in 0..200 {
            let (mut step, information) = self.bend(&beta, phi)?;
            information.forward(&mut step);
            let promise: f64 = step.iter().map(|v| v * v).sum();
            information.backward(&mut step);
            let mut part = 1.0;
            loop {
                let next: Vec<f64> = beta.iter().zip(&step).map(|(b, s)| b + part * s).collect();
                let reached = self.ln_likelihood(&next, phi);
                if reached >= value - 1e-9 * (1.0 + value.abs()) {
                    beta = next;
                    value = reached;
                    break;
                }
                part *= 0.5;
                if part < 1e-8 {
                    return Ok(beta);
                }
            }
            // A mean that runs off to nothing or to everything never settles.
            if self.etas(&beta).any(|eta| !(-25.0..=50.0).contains(&eta)) {
                return Err(NoFit::Infinite);
            }
            if promise < 1e-20 * (1.0 + value.abs()) {
                return Ok(beta);
            }
        }
        if self.bend(&beta, phi)?.0.iter().all(|s| s.abs() < 1e-6) {
            Ok(beta)
        } else {
            Err(NoFit::Infinite)
        }
    }

    /// Least squares on ln(count + ½), which is close enough to climb from.
    fn first_guess(&self) -> Result<Vec<f64>, NoFit> {
        let n = self.rows.first().map_or(0, Vec::len);
        let mut right = vec![0.0; n];
        let mut square = Square::zero(n);
        for (idx, (row, y)) in self.rows.iter().zip(self.counts).enumerate() {
            let offset = self.offsets.get(idx).copied().unwrap_or(0.0);
            let target = libm::log(y + 0.5) - offset;
            for (i, x) in row.iter().enumerate() {
                right[i] += (y + 0.5) * x * target;
                for (j, z) in row[..=i].iter().enumerate() {
                    square.add(i, j, (y + 0.5) * x * z);
                }
            }
        }
        if !square.factor() {
            return Err(NoFit::NotUnique);
        }
        square.forward(&mut right);
        square.backward(&mut right);
        Ok(right)
    }

    /// The standard errors at the best fit.
    fn finish(&self, beta: &[f64], phi: f64) -> Result<Fit, NoFit> {
        let ln_likelihood = self.ln_likelihood(beta, phi);
        let n = beta.len();
        let (errors, dispersion_error) = if phi > 0.0 {
            let mut information = Square::zero(n + 1);
            for ((eta, y), row) in self.etas(beta).zip(self.counts).zip(self.rows) {
                let at = kernel(*y, eta, phi);
                let m = libm::exp(eta);
                // −d/dφ of the slope (y − m)/(1 + φm).
                let cross = (y - m) * m / ((1.0 + phi * m) * (1.0 + phi * m));
                for (i, x) in row.iter().enumerate() {
                    information.add(n, i, cross * x);
                    for (j, z) in row[..=i].iter().enumerate() {
                        information.add(i, j, at.bend * x * z);
                    }
                }
            }
            // No closed form without the trigamma function; a difference of
            // five points is good to seven digits here.
            let h = 0.02 * phi;
            let at = |k: f64| self.ln_likelihood(beta, phi + k * h);
            let second = (16.0 * (at(1.0) + at(-1.0)) - at(2.0) - at(-2.0) - 30.0 * ln_likelihood)
                / (12.0 * h * h);
            information.add(n, n, -second);
            if !information.factor() {
                return Err(NoFit::NotUnique);
            }
            let mut variances = information.inverse_diagonal();
            let own = variances.pop().map(f64::sqrt);
            (variances, own)
        } else {
            (self.bend(beta, phi)?.1.inverse_diagonal(), None)
        };
        Ok(Fit {
            coefficients: beta.to_vec(),
            standard_errors: errors.into_iter().map(f64::sqrt).collect(),
            dispersion: phi,
            dispersion_error,
            ln_likelihood,
        })
    }
}
