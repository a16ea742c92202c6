//! The likelihood with its priors, and the normal that lies closest to the
//! belief for given spreads.
//!
//! For given spreads the levels, elasticities and days have a belief with one
//! summit. It is climbed by Newton's steps; days are eliminated one by one, so
//! that what is factored has two rows a product, however many days there are.

use std::cmp::Ordering;
use std::f64::consts::{PI, SQRT_2};
use std::ops::Range;

use crate::counts::{Bend, at_least, constant, kernel, ln_kernel_of, normal_below};
use crate::learn::Priors;
use crate::matrix::Square;

/// A count with what it hangs on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    pub(crate) product: usize,
    /// ln(price ÷ reference).
    pub(crate) x: f64,
    /// ln(exposure ÷ typical).
    pub(crate) offset: f64,
    pub(crate) sold: f64,
    pub(crate) sold_out: bool,
}

/// No spread is taken to be less: it would divide by nothing.
const LEAST: f64 = 1e-9;
/// A day that sold out bends the belief at its summit and hardly beyond. What
/// is drawn from must not be the narrower for it.
const EASE: f64 = 0.25;

impl Row {
    fn eased(&self, bend: f64, ease: f64) -> f64 {
        if self.sold_out { ease * bend } else { bend }
    }

    pub(crate) fn order(&self, other: &Self) -> Ordering {
        self.product
            .cmp(&other.product)
            .then(self.x.total_cmp(&other.x))
            .then(self.offset.total_cmp(&other.offset))
            .then(self.sold.total_cmp(&other.sold))
            .then(self.sold_out.cmp(&other.sold_out))
    }

    fn bend(&self, eta: f64, phi: f64, constant: f64) -> Bend {
        if self.sold_out {
            at_least(self.sold, eta, phi, constant)
        } else {
            kernel(self.sold, eta, phi)
        }
    }
}

/// The spreads as they are drawn, each standard normal before any sale: how
/// much a product's counts are spread in all, what part of that is of days, and
/// the spreads of levels and elasticities.
///
/// Where a day holds one product, sales tell the whole but not its parts. As
/// root of the dispersion and spread of days are half-normal, the whole (on the
/// scales of both) is Rayleigh, and the angle between them even.
pub(crate) type Spreads = [f64; 4];

/// Spreads beyond these are as good as none or all.
pub(crate) fn within(spreads: &Spreads) -> bool {
    spreads.iter().all(|z| z.abs() <= 8.0)
}

/// What the spreads are.
pub(crate) struct Parts {
    pub(crate) root: f64,
    pub(crate) day: f64,
    level: f64,
    slope: f64,
}

/// The logarithm of the prior density of the spreads.
pub(crate) fn ln_prior(spreads: &Spreads) -> f64 {
    let squares: f64 = spreads.iter().map(|z| z * z).sum();
    -0.5 * squares - 2.0 * libm::log(2.0 * PI)
}

/// Where all spreads are at the middle of what is believed of them.
pub(crate) const MIDDLE: Spreads = [0.0; 4];

/// Levels and elasticities in turn, and days.
#[derive(Debug, Clone)]
pub(crate) struct Point {
    pub(crate) theta: Vec<f64>,
    pub(crate) days: Vec<f64>,
}

/// The normal about a summit.
#[derive(Debug, Clone)]
pub(crate) struct Summit {
    pub(crate) at: Point,
    /// Logarithm of the density at the summit, constants and all.
    pub(crate) ln_density: f64,
    /// Factor of the information on `theta`, days eliminated.
    pub(crate) theta: Square,
    /// Information on each day.
    pub(crate) days: Vec<f64>,
    /// What each row bends.
    bends: Vec<f64>,
}

impl Summit {
    /// The logarithm of the belief's weight at these spreads, by Laplace.
    pub(crate) fn ln_weight(&self) -> f64 {
        let n = (self.at.theta.len() + self.at.days.len()) as f64;
        let days: f64 = self.days.iter().map(|d| libm::log(*d)).sum();
        self.ln_density + 0.5 * n * libm::log(2.0 * PI) - self.theta.half_ln_det() - 0.5 * days
    }
}

/// Nodes and weights of Gauss and Hermite: Abramowitz and Stegun, Handbook of
/// Mathematical Functions (1964), Table 25.10, computed anew. Each is used on
/// both sides of nothing.
const NODES_3: [(f64, f64); 2] = [
    (0.0, 1.181_635_900_603_677_4),
    (1.224_744_871_391_589, 0.295_408_975_150_919_5),
];
const NODES_5: [(f64, f64); 3] = [
    (0.0, 0.945_308_720_482_941_9),
    (0.958_572_464_613_819, 0.393_619_323_152_241_2),
    (2.020_182_870_456_085, 0.019_953_242_059_046),
];
pub(crate) struct Model {
    rows: Vec<Row>,
    /// The rows of each day.
    by_day: Vec<Range<usize>>,
    n_products: usize,
    pub(crate) priors: Priors,
    /// Different counts that did not sell out, with how many there are.
    counts: Vec<(f64, f64)>,
    /// Whether any row sold out.
    sold_out: bool,
}

/// Values around a shared mean that is itself in doubt, that mean averaged
/// out: their precision is (I − k 11ᵀ)/τ².
struct Pool {
    mean: f64,
    /// 1/τ².
    own: f64,
    k: f64,
    /// Logarithm of the density at the mean.
    ln_top: f64,
}

impl Pool {
    fn new(mean: f64, doubt: f64, tau: f64, n: usize) -> Self {
        let n = n as f64;
        let (shared, variance) = (doubt * doubt, tau * tau);
        Self {
            mean,
            own: 1.0 / variance,
            k: shared / (variance + n * shared),
            ln_top: -0.5 * n * libm::log(2.0 * PI * variance)
                - 0.5 * libm::log1p(n * shared / variance),
        }
    }

    fn ln_density(&self, values: impl Iterator<Item = f64>) -> f64 {
        let (mut sum, mut squares) = (0.0, 0.0);
        for value in values {
            let off = value - self.mean;
            sum += off;
            squares += off * off;
        }
        self.ln_top - 0.5 * self.own * (squares - self.k * sum * sum)
    }
}

/// The spreads as they are used.
struct Given {
    phi: f64,
    day: f64,
    pools: [Pool; 2],
    /// What hangs on the dispersion alone in the chance of each row that sold
    /// out; empty when none did.
    constants: Vec<f64>,
}

impl Given {
    fn ln_prior_theta(&self, theta: &[f64]) -> f64 {
        let [levels, slopes] = &self.pools;
        levels.ln_density(theta.iter().step_by(2).copied())
            + slopes.ln_density(theta.iter().skip(1).step_by(2).copied())
    }

    fn constant(&self, idx: usize) -> f64 {
        self.constants.get(idx).copied().unwrap_or(0.0)
    }
}

impl Model {
    pub(crate) fn new(rows: &[(usize, Row)], n_products: usize, priors: Priors) -> Self {
        let mut by_day: Vec<Range<usize>> = Vec::new();
        let mut last = None;
        for (idx, (day, _)) in rows.iter().enumerate() {
            match by_day.last_mut() {
                Some(range) if last == Some(*day) => range.end = idx + 1,
                _ => by_day.push(idx..idx + 1),
            }
            last = Some(*day);
        }
        let rows: Vec<Row> = rows.iter().map(|(_, row)| *row).collect();
        let mut sold: Vec<f64> = rows
            .iter()
            .filter(|row| !row.sold_out)
            .map(|row| row.sold)
            .collect();
        sold.sort_by(f64::total_cmp);
        let mut counts: Vec<(f64, f64)> = Vec::new();
        for y in sold {
            match counts.last_mut() {
                Some((seen, times)) if seen.total_cmp(&y).is_eq() => *times += 1.0,
                _ => counts.push((y, 1.0)),
            }
        }
        Self {
            sold_out: rows.iter().any(|row| row.sold_out),
            rows,
            by_day,
            n_products,
            priors,
            counts,
        }
    }

    fn given(&self, spreads: &Spreads) -> Given {
        let Parts {
            root,
            day,
            level,
            slope,
        } = self.parts(spreads);
        let priors = &self.priors;
        let phi = root * root;
        let constants = if self.sold_out {
            let own = |row: &Row| {
                if row.sold_out {
                    constant(row.sold, phi)
                } else {
                    0.0
                }
            };
            self.rows.iter().map(own).collect()
        } else {
            Vec::new()
        };
        Given {
            phi,
            day,
            constants,
            pools: [
                Pool::new(
                    libm::log(priors.usual_sales),
                    priors.level_doubt,
                    level,
                    self.n_products,
                ),
                Pool::new(
                    priors.elasticity,
                    priors.elasticity_doubt,
                    slope,
                    self.n_products,
                ),
            ],
        }
    }

    /// What the spreads are.
    pub(crate) fn parts(&self, spreads: &Spreads) -> Parts {
        let [whole, part, level, slope] = *spreads;
        let priors = &self.priors;
        let whole = (-2.0 * libm::log(normal_below(-whole))).sqrt();
        let angle = 0.5 * PI * normal_below(part);
        Parts {
            root: priors.dispersion_root * whole * libm::cos(angle),
            day: (priors.day_spread * whole * libm::sin(angle)).max(LEAST),
            level: (priors.level_spread * half_normal(level)).max(LEAST),
            slope: (priors.elasticity_spread * half_normal(slope)).max(LEAST),
        }
    }

    pub(crate) fn n_products(&self) -> usize {
        self.n_products
    }

    /// The logarithms of chances that hang on the dispersion alone.
    fn ln_constants(&self, phi: f64) -> f64 {
        self.counts
            .iter()
            .map(|(y, times)| times * constant(*y, phi))
            .sum()
    }

    /// Where to start climbing: each product at the average of its sales.
    pub(crate) fn start(&self) -> Point {
        let mut sums = vec![(1.0, 1.0 / self.priors.usual_sales); self.n_products];
        for row in &self.rows {
            if let Some((sold, days)) = sums.get_mut(row.product) {
                *sold += row.sold;
                *days += libm::exp(row.offset);
            }
        }
        let theta = sums
            .iter()
            .flat_map(|(sold, days)| [libm::log(sold / days), self.priors.elasticity])
            .collect();
        Point {
            theta,
            days: vec![0.0; self.by_day.len()],
        }
    }

    /// The logarithm of the density at a point and what each row says there.
    fn look(&self, point: &Point, given: &Given, said: &mut Vec<Bend>) -> f64 {
        said.clear();
        let mut sum = 0.0;
        for (range, day) in self.by_day.iter().zip(&point.days) {
            let rows = self.rows.get(range.clone()).unwrap_or_default();
            for (idx, row) in range.clone().zip(rows) {
                let (level, slope) = pair(&point.theta, row.product);
                let eta = level + slope * row.x + row.offset + day;
                let bend = row.bend(eta, given.phi, given.constant(idx));
                sum += bend.value;
                said.push(bend);
            }
        }
        let n = point.days.len() as f64;
        let squares: f64 = point.days.iter().map(|u| u * u).sum();
        sum += -0.5 * squares / (given.day * given.day)
            - 0.5 * n * libm::log(2.0 * PI * given.day * given.day);
        sum + given.ln_prior_theta(&point.theta)
    }

    /// Climbs to the summit of the belief at given spreads.
    pub(crate) fn climb(&self, spreads: &Spreads, from: &Point) -> Option<Summit> {
        let given = self.given(spreads);
        let n = 2 * self.n_products;
        let mut at = from.clone();
        let (mut said, mut next_said) = (Vec::new(), Vec::new());
        let mut value = self.look(&at, &given, &mut said);
        let mut square = Square::zero(n);
        let mut days = vec![0.0; self.by_day.len()];
        let mut slope = vec![0.0; n];
        let mut day_slope = vec![0.0; self.by_day.len()];
        for turn in 0..60 {
            self.system(
                &at,
                &given,
                &said,
                1.0,
                &mut square,
                &mut days,
                &mut slope,
                &mut day_slope,
            );
            if !square.factor() {
                return None;
            }
            // A step for what is shared, then for each day what follows.
            let mut step = slope.clone();
            square.forward(&mut step);
            let mut promise: f64 = step.iter().map(|v| v * v).sum();
            square.backward(&mut step);
            let mut day_step = Vec::with_capacity(days.len());
            for ((rows, information), own) in self.by_day.iter().zip(&days).zip(&day_slope) {
                let follows = self.follows(rows, &said, &step);
                promise += own * own / information;
                day_step.push((own - follows) / information);
            }
            if promise < 1e-6 || turn == 59 {
                break;
            }
            let mut part = 1.0;
            loop {
                let next = Point {
                    theta: ahead(&at.theta, &step, part),
                    days: ahead(&at.days, &day_step, part),
                };
                let reached = self.look(&next, &given, &mut next_said);
                if reached >= value - 1e-9 * (1.0 + value.abs()) {
                    at = next;
                    value = reached;
                    std::mem::swap(&mut said, &mut next_said);
                    break;
                }
                part *= 0.5;
                if part < 1e-6 {
                    break;
                }
            }
            if part < 1e-6 {
                break;
            }
        }
        if self.sold_out {
            self.system(
                &at,
                &given,
                &said,
                EASE,
                &mut square,
                &mut days,
                &mut slope,
                &mut day_slope,
            );
            if !square.factor() {
                return None;
            }
        }
        value.is_finite().then(|| Summit {
            at,
            ln_density: value + self.ln_constants(given.phi),
            theta: square,
            days,
            bends: said.iter().map(|bend| bend.bend).collect(),
        })
    }

    /// What a step of the shared values asks of a day.
    fn follows(&self, rows: &Range<usize>, said: &[Bend], step: &[f64]) -> f64 {
        let own = self.rows.get(rows.clone()).unwrap_or_default();
        let said = said.get(rows.clone()).unwrap_or_default();
        own.iter()
            .zip(said)
            .map(|(row, bend)| {
                let (level, slope) = pair(step, row.product);
                bend.bend * (level + slope * row.x)
            })
            .sum()
    }

    /// Fills in the information on the shared values with days eliminated, the
    /// information on each day, and both slopes, the shared one reduced.
    #[expect(
        clippy::too_many_arguments,
        reason = "the buffers of one loop, kept between turns"
    )]
    fn system(
        &self,
        at: &Point,
        given: &Given,
        said: &[Bend],
        ease: f64,
        square: &mut Square,
        days: &mut [f64],
        slope: &mut [f64],
        day_slope: &mut [f64],
    ) {
        square.clear();
        for (kind, pool) in given.pools.iter().enumerate() {
            let offs = at.theta.iter().skip(kind).step_by(2).map(|v| v - pool.mean);
            let sum: f64 = offs.clone().sum();
            for (p, off) in offs.enumerate() {
                let i = 2 * p + kind;
                slope[i] = -pool.own * (off - pool.k * sum);
                square.add(i, i, pool.own);
                for q in 0..=p {
                    square.add(i, 2 * q + kind, -pool.own * pool.k);
                }
            }
        }
        let own_day = 1.0 / (given.day * given.day);
        let each = self.by_day.iter().zip(&at.days).zip(days).zip(day_slope);
        for (((range, u), information), day_slope) in each {
            let rows = self.rows.get(range.clone()).unwrap_or_default();
            let said = said.get(range.clone()).unwrap_or_default();
            let bends = || {
                rows.iter()
                    .zip(said)
                    .map(|(row, bend)| row.eased(bend.bend, ease))
            };
            *information = own_day + bends().sum::<f64>();
            *day_slope = -own_day * u + said.iter().map(|bend| bend.slope).sum::<f64>();
            for ((row, bend), w) in rows.iter().zip(said).zip(bends()) {
                let i = 2 * row.product;
                let reduced = bend.slope - w * *day_slope / *information;
                slope[i] += reduced;
                slope[i + 1] += reduced * row.x;
                square.add(i, i, w);
                square.add(i + 1, i, w * row.x);
                square.add(i + 1, i + 1, w * row.x * row.x);
                let share = w / *information;
                for (other, theirs) in rows.iter().zip(bends()) {
                    let j = 2 * other.product;
                    if j > i {
                        break; // rows of a day are in the order of products
                    }
                    let f = share * theirs;
                    square.add(i, j, -f);
                    square.add(i + 1, j, -f * row.x);
                    if j < i {
                        square.add(i, j + 1, -f * other.x);
                    }
                    square.add(i + 1, j + 1, -f * row.x * other.x);
                }
            }
        }
    }

    /// The logarithm of the belief at these spreads and shared values, the days
    /// averaged out: by Gauss and Hermite about each day's own summit, the
    /// more finely the fewer products a day has.
    pub(crate) fn ln_belief(&self, spreads: &Spreads, theta: &[f64], summit: &Summit) -> f64 {
        let given = self.given(spreads);
        let mut sum =
            ln_prior(spreads) + given.ln_prior_theta(theta) + self.ln_constants(given.phi);
        let moved: Vec<f64> = theta
            .iter()
            .zip(&summit.at.theta)
            .map(|(a, b)| a - b)
            .collect();
        let own = 1.0 / (given.day * given.day);
        let (mut etas, mut means) = (Vec::new(), Vec::new());
        for (idx, range) in self.by_day.iter().enumerate() {
            let rows = self.rows.get(range.clone()).unwrap_or_default();
            let bends = summit.bends.get(range.clone()).unwrap_or_default();
            let (Some(u), Some(information)) = (summit.at.days.get(idx), summit.days.get(idx))
            else {
                continue;
            };
            let follows: f64 = rows
                .iter()
                .zip(bends)
                .map(|(row, bend)| {
                    let (level, slope) = pair(&moved, row.product);
                    bend * (level + slope * row.x)
                })
                .sum();
            let guess = u - follows / information;
            etas.clear();
            etas.extend(rows.iter().map(|row| {
                let (level, slope) = pair(theta, row.product);
                level + slope * row.x + row.offset
            }));
            let (mut slope, mut bend) = (-own * guess, own);
            for ((at, row), eta) in range.clone().zip(rows).zip(&etas) {
                let said = row.bend(eta + guess, given.phi, given.constant(at));
                slope += said.slope;
                bend += said.bend;
            }
            let centre = guess + (slope / bend).clamp(-2.0, 2.0);
            let scale = (2.0 / bend).sqrt();
            means.clear();
            means.extend(etas.iter().map(|eta| libm::exp(eta.clamp(-60.0, 60.0))));
            let ln_at = |u: f64| {
                let day = libm::exp(u);
                let mut said = -0.5 * own * u * u;
                let each = range.clone().zip(rows).zip(&etas).zip(&means);
                for (((at, row), eta), mean) in each {
                    said += if row.sold_out {
                        at_least(row.sold, eta + u, given.phi, given.constant(at)).value
                    } else {
                        ln_kernel_of(row.sold, eta + u, mean * day, given.phi)
                    };
                }
                said
            };
            let nodes: &[(f64, f64)] = match rows.len() {
                0..=2 => &NODES_5,
                _ => &NODES_3,
            };
            let top = ln_at(centre);
            let mut average = 0.0;
            for (node, weight) in nodes {
                let side = |z: f64| libm::exp((ln_at(centre + scale * z) - top + z * z).min(600.0));
                average += if *node == 0.0 {
                    *weight
                } else {
                    weight * (side(*node) + side(-node))
                };
            }
            sum +=
                top + libm::log(average * scale) - 0.5 * libm::log(2.0 * PI) - libm::log(given.day);
        }
        sum
    }
}

/// The half-normal value that stands where `z` stands among standard normals.
fn half_normal(z: f64) -> f64 {
    // erfc(t/√2) = P(Z > z) and erf(t/√2) = P(Z < z) are one equation; the side
    // that is small keeps its digits.
    let off = |t: f64| {
        if z > 0.0 {
            libm::erfc(t / SQRT_2) - normal_below(-z)
        } else {
            normal_below(z) - libm::erf(t / SQRT_2)
        }
    };
    // Newton's steps, from below where it rises no steeper.
    let mut t = normal_below(z) * (0.5 * PI).sqrt();
    for _ in 0..60 {
        let step = off(t) / ((2.0 / PI).sqrt() * libm::exp(-0.5 * t * t));
        t += step;
        if step.abs() <= 1e-13 * t {
            break;
        }
    }
    t
}

/// A product's level and elasticity.
fn pair(theta: &[f64], product: usize) -> (f64, f64) {
    match theta.get(2 * product..2 * product + 2) {
        Some([level, slope]) => (*level, *slope),
        _ => (0.0, 0.0),
    }
}

fn ahead(from: &[f64], step: &[f64], part: f64) -> Vec<f64> {
    from.iter().zip(step).map(|(v, s)| v + part * s).collect()
}

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, Normal};

    use super::*;

    #[test]
    fn a_half_normal_stands_where_its_normal_stands() {
        let normal = Normal::new(0.0, 1.0).unwrap();
        for z in [-8.0, -3.0, -0.5, 0.0, 0.7, 2.0, 5.0] {
            let t = half_normal(z);
            let share = if t < 1e-3 {
                t * (2.0 / PI).sqrt()
            } else {
                2.0 * normal.cdf(t) - 1.0
            };
            assert!((share / normal.cdf(z) - 1.0).abs() < 1e-6, "{z}: {t}");
        }
        assert!(half_normal(8.0) > 7.9);
    }
}
