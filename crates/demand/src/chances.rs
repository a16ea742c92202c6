//! Draws from the belief: proposed near it, weighted to be of it.
//!
//! Spreads are drawn from a Student t fitted to their belief (one draw in ten
//! from the prior, so that no part of it is missed), levels and elasticities
//! from a Student t about the summit for those spreads, each draw with its
//! mirror image. The weight of a draw is the density wanted over the density
//! drawn from (importance sampling: Geweke, Econometrica 57, 1989).

use std::f64::consts::PI;

use rand::Rng;

use crate::matrix::Square;
use crate::model::{MIDDLE, Model, Point, Spreads, ln_prior, within};
use crate::random::{gamma, normal};

/// One weighted draw.
#[derive(Debug, Clone)]
pub(crate) struct Draw {
    pub(crate) weight: f64,
    pub(crate) dispersion: f64,
    pub(crate) day_spread: f64,
    theta: Vec<f64>,
}

impl Draw {
    /// ln sales at the reference price on a typical day.
    pub(crate) fn level(&self, product: usize) -> Option<f64> {
        self.theta.get(2 * product).copied()
    }

    /// The elasticity.
    pub(crate) fn slope(&self, product: usize) -> Option<f64> {
        self.theta.get(2 * product + 1).copied()
    }
}

/// How many spreads are tried and drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Effort {
    scouts: usize,
    draws: usize,
}

impl Effort {
    /// Fewer for more sales, which leave less doubt and take longer.
    pub(crate) fn of(sales: usize, products: usize) -> Self {
        let work = 600 + sales + products * products / 2;
        Self {
            scouts: 160 + 40 * 600 / work,
            draws: 200 + 600 * 600 / work,
        }
    }
}

/// Degrees of freedom of the t for spreads.
const SPREADS_DF: f64 = 5.0;
/// Part of the draws that is of the prior.
const FROM_PRIOR: usize = 10;

/// A Student t to propose spreads from.
struct Proposal {
    centre: Spreads,
    /// Of as many of the spreads as the sales say something about.
    factor: Square,
}

impl Proposal {
    fn draw(&self, rng: &mut impl Rng) -> Spreads {
        let z: Vec<f64> = (0..4).map(|_| normal(rng)).collect();
        let stretch = (SPREADS_DF / (2.0 * gamma(rng, 0.5 * SPREADS_DF))).sqrt();
        let mut spreads = self.centre;
        let n = self.factor.n();
        for (spread, step) in spreads.iter_mut().zip(self.factor.times(&z)) {
            *spread += stretch * step;
        }
        for (spread, z) in spreads.iter_mut().zip(&z).skip(n) {
            *spread = *z;
        }
        spreads
    }

    fn ln_density(&self, spreads: &Spreads) -> f64 {
        let n = self.factor.n();
        let mut off: Vec<f64> = spreads
            .iter()
            .zip(&self.centre)
            .take(n)
            .map(|(a, b)| a - b)
            .collect();
        self.factor.forward(&mut off);
        let square: f64 = off.iter().map(|v| v * v).sum();
        let rest: f64 = spreads
            .iter()
            .skip(n)
            .map(|z| z * z + libm::log(2.0 * PI))
            .sum();
        ln_student(square, n as f64, SPREADS_DF) - self.factor.half_ln_det() - 0.5 * rest
    }
}

/// The logarithm of the density of a standard t in `n` dimensions at a squared
/// distance.
fn ln_student(square: f64, n: f64, df: f64) -> f64 {
    libm::lgamma(0.5 * (df + n))
        - libm::lgamma(0.5 * df)
        - 0.5 * n * libm::log(df * PI)
        - 0.5 * (df + n) * libm::log1p(square / df)
}

/// Draws from the belief; returns with the draws how many equal ones they are
/// worth.
pub(crate) fn draw_belief(model: &Model, rng: &mut impl Rng, effort: Effort) -> (Vec<Draw>, f64) {
    let start = model.start();
    let (summit_at, from) = highest(model, &start);
    let proposal = scout(model, rng, effort.scouts, summit_at, &from);
    let mut draws: Vec<Draw> = Vec::with_capacity(2 * effort.draws);
    let n = from.theta.len();
    let df = 8.0 + n as f64;
    let ln_prior_part = libm::log(1.0 / FROM_PRIOR as f64);
    let ln_own_part = libm::log1p(-1.0 / FROM_PRIOR as f64);
    for turn in 0..effort.draws {
        let spreads = if turn % FROM_PRIOR == FROM_PRIOR - 1 {
            MIDDLE.map(|_| normal(rng))
        } else {
            proposal.draw(rng)
        };
        // Drawn whether or not they are used, so that one draw does not shift
        // the next.
        let z: Vec<f64> = (0..n).map(|_| normal(rng)).collect();
        let chi = 2.0 * gamma(rng, 0.5 * df);
        if !within(&spreads) {
            continue;
        }
        let Some(summit) = model.climb(&spreads, &from) else {
            continue;
        };
        let own = ln_own_part + proposal.ln_density(&spreads);
        let prior = ln_prior_part + ln_prior(&spreads);
        let top = own.max(prior);
        let ln_spreads = top + libm::log(libm::exp(own - top) + libm::exp(prior - top));
        let stretch = (df / chi).sqrt();
        let square: f64 = z.iter().map(|v| v * v).sum::<f64>() * stretch * stretch;
        let ln_theta = ln_student(square, n as f64, df) + summit.theta.half_ln_det();
        let mut step = z;
        summit.theta.backward(&mut step);
        for side in [stretch, -stretch] {
            let theta: Vec<f64> = summit
                .at
                .theta
                .iter()
                .zip(&step)
                .map(|(at, step)| at + side * step)
                .collect();
            let ln_weight = model.ln_belief(&spreads, &theta, &summit) - ln_spreads - ln_theta;
            let parts = model.parts(&spreads);
            draws.push(Draw {
                weight: ln_weight,
                dispersion: parts.root * parts.root,
                day_spread: parts.day,
                theta,
            });
        }
    }
    settle(draws)
}

/// Turns logarithms of weights into weights that add up to one.
fn settle(mut draws: Vec<Draw>) -> (Vec<Draw>, f64) {
    draws.retain(|draw| draw.weight.is_finite());
    let top = draws
        .iter()
        .map(|draw| draw.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for draw in &mut draws {
        draw.weight = libm::exp(draw.weight - top);
        sum += draw.weight;
    }
    let mut squares = 0.0;
    for draw in &mut draws {
        draw.weight /= sum;
        squares += draw.weight * draw.weight;
    }
    let effective = if squares > 0.0 { 1.0 / squares } else { 0.0 };
    (draws, effective)
}

/// The logarithm of the weight of spreads in the belief, by Laplace.
fn ln_weight(model: &Model, spreads: &Spreads, from: &Point) -> f64 {
    if !within(spreads) {
        return f64::NEG_INFINITY;
    }
    model
        .climb(spreads, from)
        .map_or(f64::NEG_INFINITY, |summit| {
            summit.ln_weight() + ln_prior(spreads)
        })
}

/// The spreads of most weight, by the simplex of Nelder and Mead (Computer
/// Journal 7, 1965), with the summit there.
fn highest(model: &Model, start: &Point) -> (Spreads, Point) {
    let first = MIDDLE;
    let from = model
        .climb(&first, start)
        .map_or_else(|| start.clone(), |summit| summit.at);
    let value = |spreads: &Spreads| ln_weight(model, spreads, &from);
    let mut corners: Vec<(f64, Spreads)> = (0..5)
        .map(|idx| {
            let mut corner = first;
            for (axis, spread) in corner.iter_mut().enumerate() {
                if axis + 1 == idx {
                    *spread -= 0.7;
                }
            }
            (value(&corner), corner)
        })
        .collect();
    for _ in 0..90 {
        corners.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        let [(best, _), _, _, (poor, _), (worst, worst_at)] = corners[..] else {
            break;
        };
        if best - worst < 0.05 {
            break;
        }
        let mut centre = [0.0; 4];
        for (_, corner) in &corners[..4] {
            for (sum, v) in centre.iter_mut().zip(corner) {
                *sum += 0.25 * v;
            }
        }
        let along = |part: f64| {
            let mut to = centre;
            for (v, away) in to.iter_mut().zip(&worst_at) {
                *v += part * (*v - away);
            }
            to
        };
        let turned = (value(&along(1.0)), along(1.0));
        let next = if turned.0 > best {
            let further = (value(&along(2.0)), along(2.0));
            if further.0 > turned.0 {
                further
            } else {
                turned
            }
        } else if turned.0 > poor {
            turned
        } else {
            let part = if turned.0 > worst { 0.5 } else { -0.5 };
            (value(&along(part)), along(part))
        };
        if next.0 > worst {
            corners[4] = next;
        } else {
            let (_, top) = corners[0];
            for (reached, corner) in corners.iter_mut().skip(1) {
                for (v, best) in corner.iter_mut().zip(&top) {
                    *v = 0.5 * (*v + best);
                }
                *reached = value(corner);
            }
        }
    }
    corners.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    let best = corners.first().map_or(first, |(_, corner)| *corner);
    let at = model.climb(&best, &from).map_or(from, |summit| summit.at);
    (best, at)
}

/// Feels out how the spreads lie around their summit.
fn scout(
    model: &Model,
    rng: &mut impl Rng,
    scouts: usize,
    summit: Spreads,
    from: &Point,
) -> Proposal {
    // Of one product there is nothing to pool, and its spreads stay believed.
    let n = if model.n_products() == 1 { 2 } else { 4 };
    let top = ln_weight(model, &summit, from);
    let mut factor = Square::zero(n);
    for axis in 0..n {
        let h = 0.3;
        let beside = |side: f64| {
            let mut at = summit;
            for (idx, v) in at.iter_mut().enumerate() {
                if idx == axis {
                    *v += side * h;
                }
            }
            ln_weight(model, &at, from)
        };
        let bend = (2.0 * top - beside(1.0) - beside(-1.0)) / (h * h);
        let sd = if bend > 0.0 { 1.2 / bend.sqrt() } else { 1.5 };
        factor.add(axis, axis, sd.clamp(0.03, 1.5));
    }
    let first = Proposal {
        centre: summit,
        factor,
    };
    let second = refine(model, rng, scouts / 2, first, 0.6, from);
    refine(model, rng, scouts / 2, second, 0.9, from)
}

/// Fits a proposal to what scouts sent out from another one saw. Their weights
/// are tempered, so that the few heaviest do not decide alone.
fn refine(
    model: &Model,
    rng: &mut impl Rng,
    scouts: usize,
    by: Proposal,
    tempered: f64,
    from: &Point,
) -> Proposal {
    let n = by.factor.n();
    let mut seen: Vec<(f64, Spreads)> = Vec::with_capacity(scouts);
    for _ in 0..scouts {
        let at = by.draw(rng);
        let ln = ln_weight(model, &at, from) - by.ln_density(&at);
        if ln.is_finite() {
            seen.push((ln, at));
        }
    }
    if seen.len() < 20 {
        return by;
    }
    let top = seen
        .iter()
        .map(|(ln, _)| *ln)
        .fold(f64::NEG_INFINITY, f64::max);
    let weight = |ln: f64| libm::exp(tempered * (ln - top));
    let total: f64 = seen.iter().map(|(ln, _)| weight(*ln)).sum();
    let mut centre = [0.0; 4];
    for (ln, at) in &seen {
        for (mean, v) in centre.iter_mut().zip(at) {
            *mean += weight(*ln) / total * v;
        }
    }
    let mut covariance = Square::zero(n);
    for (ln, at) in &seen {
        let off: Vec<f64> = at
            .iter()
            .zip(&centre)
            .take(n)
            .map(|(v, mean)| v - mean)
            .collect();
        for (i, a) in off.iter().enumerate() {
            for (j, b) in off[..=i].iter().enumerate() {
                covariance.add(i, j, weight(*ln) / total * a * b);
            }
        }
    }
    for axis in 0..n {
        let own = covariance.at(axis, axis);
        covariance.add(axis, axis, 0.1 * own + 1e-3);
    }
    if covariance.factor() {
        Proposal {
            centre,
            factor: covariance,
        }
    } else {
        by
    }
}
