//! What sales at different prices teach: the model, its priors and the draws
//! from the belief. The whole of it is written out in `MODEL.md`.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::chances::{Draw, Effort, draw_belief};
use crate::model::{Model, Row};

/// One product on one day at one price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sale {
    /// The day, numbered from zero; days are alike, their order says nothing.
    pub day: usize,
    /// The product, numbered from zero.
    pub product: usize,
    /// What a unit cost the buyer, in major units of the currency.
    pub price: f64,
    /// Units sold.
    pub sold: f64,
    /// Whether it sold out: then more might have been sold.
    pub sold_out: bool,
    /// How long or how well visited the day was, in any unit that is the same
    /// throughout; one where nothing is known.
    pub exposure: f64,
}

/// What is believed before any sale was seen. Every default is common
/// practice, no source, and weak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// The middle of what a product sells on a typical day at its usual price.
    pub usual_sales: f64,
    /// The doubt in the logarithm of that.
    pub level_doubt: f64,
    /// The middle of the elasticities.
    pub elasticity: f64,
    /// The doubt in that.
    pub elasticity_doubt: f64,
    /// Scale of the half-normal spread of levels between products (logarithms).
    pub level_spread: f64,
    /// Scale of the half-normal spread of elasticities between products.
    pub elasticity_spread: f64,
    /// Scale of the half-normal spread of days (logarithms).
    pub day_spread: f64,
    /// Scale of the half-normal root of the dispersion, which is the relative
    /// spread of a product's large counts within like days.
    pub dispersion_root: f64,
    /// Where the random draws start.
    pub seed: u64,
}

impl Default for Priors {
    fn default() -> Self {
        Self {
            usual_sales: 20.0,
            level_doubt: 2.0,
            elasticity: -1.5,
            elasticity_doubt: 1.5,
            level_spread: 1.0,
            elasticity_spread: 0.5,
            day_spread: 0.4,
            dispersion_root: 0.4,
            seed: 0x0071_5EED,
        }
    }
}

impl Priors {
    /// The variance of one product's elasticity before any sale was seen.
    pub fn elasticity_variance(&self) -> f64 {
        self.elasticity_doubt * self.elasticity_doubt
            + self.elasticity_spread * self.elasticity_spread
    }
}

/// Why nothing can be learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LearnError {
    /// There are no sales.
    #[error("there are no sales")]
    NoSales,
    /// A price or an exposure is not above zero, or not finite; the sale's
    /// place in the list.
    #[error("the price or the exposure of sale {0} is not above zero")]
    NotAboveZero(usize),
    /// A count is below zero, not whole or beyond a million million; the
    /// sale's place in the list.
    #[error("sale {0} is not of a number of units")]
    NotACount(usize),
    /// Products or days are numbered with gaps.
    #[error("products or days are numbered with gaps")]
    Gaps,
}

/// More than anyone sells on a day.
const MOST_SOLD: f64 = 1e12;

/// A middle value with the ends between which it lies nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// One time in twenty it is lower.
    pub low: f64,
    /// Half the time it is lower.
    pub middle: f64,
    /// One time in twenty it is higher.
    pub high: f64,
}

/// What is believed after the sales.
#[derive(Debug, Clone)]
pub struct Learned {
    draws: Vec<Draw>,
    reference: Vec<f64>,
    typical_exposure: f64,
    priors: Priors,
    effective: f64,
}

/// Learns how much sells at which price.
///
/// # Errors
///
/// [`LearnError`] for sales that cannot be.
pub fn learn(sales: &[Sale], priors: &Priors) -> Result<Learned, LearnError> {
    let n_products = check(sales)?;
    let reference: Vec<f64> = (0..n_products)
        .map(|product| {
            let own = sales.iter().filter(|sale| sale.product == product);
            geometric_mean(own.map(|sale| sale.price))
        })
        .collect();
    let typical_exposure = geometric_mean(sales.iter().map(|sale| sale.exposure));
    let mut rows: Vec<(usize, Row)> = sales
        .iter()
        .map(|sale| {
            let row = Row {
                product: sale.product,
                x: reference
                    .get(sale.product)
                    .map_or(0.0, |reference| libm::log(sale.price / reference)),
                offset: libm::log(sale.exposure / typical_exposure),
                sold: sale.sold,
                sold_out: sale.sold_out,
            };
            (sale.day, row)
        })
        .collect();
    // Sums are taken in one order, whatever order the sales came in.
    rows.sort_by(|(day, a), (other, b)| day.cmp(other).then_with(|| a.order(b)));
    let model = Model::new(&rows, n_products, *priors);
    let mut rng = ChaCha8Rng::seed_from_u64(priors.seed);
    let (draws, effective) = draw_belief(&model, &mut rng, Effort::of(sales.len(), n_products));
    Ok(Learned {
        draws,
        reference,
        typical_exposure,
        priors: *priors,
        effective,
    })
}

fn check(sales: &[Sale]) -> Result<usize, LearnError> {
    if sales.is_empty() {
        return Err(LearnError::NoSales);
    }
    for (idx, sale) in sales.iter().enumerate() {
        let sound = |v: f64| v.is_finite() && v > 0.0;
        if !sound(sale.price) || !sound(sale.exposure) {
            return Err(LearnError::NotAboveZero(idx));
        }
        if !(0.0..=MOST_SOLD).contains(&sale.sold) || sale.sold.fract() != 0.0 {
            return Err(LearnError::NotACount(idx));
        }
    }
    let without_gaps = |of: fn(&Sale) -> usize| {
        let mut numbers: Vec<usize> = sales.iter().map(of).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let n = numbers.len();
        (numbers.last().map(|last| last + 1) == Some(n)).then_some(n)
    };
    without_gaps(|sale| sale.day).ok_or(LearnError::Gaps)?;
    without_gaps(|sale| sale.product).ok_or(LearnError::Gaps)
}

fn geometric_mean(values: impl Iterator<Item = f64>) -> f64 {
    let mut logs: Vec<f64> = values.map(libm::log).collect();
    logs.sort_by(f64::total_cmp);
    let n = logs.len().max(1) as f64;
    libm::exp(logs.iter().sum::<f64>() / n)
}

impl Learned {
    /// The products it knows of.
    pub fn n_products(&self) -> usize {
        self.reference.len()
    }

    /// The geometric mean of a product's prices, about which its level and its
    /// elasticity are told.
    pub fn reference(&self, product: usize) -> Option<f64> {
        self.reference.get(product).copied()
    }

    /// The geometric mean of the exposures: a typical day.
    pub fn typical_exposure(&self) -> f64 {
        self.typical_exposure
    }

    /// What was believed before.
    pub fn priors(&self) -> &Priors {
        &self.priors
    }

    /// How many independent draws the weighted ones are worth.
    pub fn effective_draws(&self) -> f64 {
        self.effective
    }

    /// The elasticity of a product: sales change by so many percent when the
    /// price changes by one.
    pub fn elasticity(&self, product: usize) -> Option<Range> {
        self.range_of(|draw| draw.slope(product))
    }

    /// The dispersion φ of counts within like days.
    pub fn dispersion(&self) -> Option<Range> {
        self.range_of(|draw| Some(draw.dispersion))
    }

    /// The spread of days, in logarithms: 0.2 is about a fifth.
    pub fn day_spread(&self) -> Option<Range> {
        self.range_of(|draw| Some(draw.day_spread))
    }

    /// How much the sales say about a product's elasticity, from none to one:
    /// the part of its variance that they took away, or the square of how far
    /// they moved its mean over that variance, whichever is more.
    pub fn evidence(&self, product: usize) -> Option<f64> {
        let belief = self.belief(product)?;
        let before = self.priors.elasticity_variance();
        let moved = belief.mean[1] - self.priors.elasticity;
        let taken = 1.0 - belief.covariance[2] / before;
        Some(taken.max(moved * moved / before).clamp(0.0, 1.0))
    }

    /// The weights of the draws; they add up to one.
    pub fn weights(&self) -> impl Iterator<Item = f64> + '_ {
        self.draws.iter().map(|draw| draw.weight)
    }

    /// What a product sells at a price on the average of many days of an
    /// exposure, in each draw.
    pub fn mean_sales(&self, product: usize, price: f64, exposure: f64) -> Option<Vec<f64>> {
        let x = libm::log(price / self.reference(product)?);
        let offset = libm::log(exposure / self.typical_exposure);
        self.draws
            .iter()
            .map(|draw| {
                let (level, slope) = (draw.level(product)?, draw.slope(product)?);
                let days = 0.5 * draw.day_spread * draw.day_spread;
                Some(libm::exp((level + slope * x + offset + days).min(60.0)))
            })
            .collect()
    }

    /// What a product sells at a price on one day of an exposure: its average
    /// and the range of the count of one day.
    pub fn day_at(&self, product: usize, price: f64, exposure: f64) -> Option<DayAt> {
        /// Days invented for each draw.
        const DAYS: usize = 4;
        let means = self.mean_sales(product, price, exposure)?;
        let expected = self
            .draws
            .iter()
            .zip(&means)
            .map(|(draw, m)| draw.weight * m);
        let expected = expected.sum();
        // The same days at every price, so that prices differ by price alone.
        let mut rng = ChaCha8Rng::seed_from_u64(self.priors.seed ^ 0xDA75);
        let mut counts = Vec::with_capacity(means.len() * DAYS);
        for (draw, mean) in self.draws.iter().zip(&means) {
            for _ in 0..DAYS {
                let s = draw.day_spread;
                let day = libm::exp(s * crate::random::normal(&mut rng) - 0.5 * s * s);
                let count = crate::random::count(&mut rng, mean * day, draw.dispersion);
                counts.push((count, draw.weight));
            }
        }
        Some(DayAt {
            expected,
            mean: range(means.into_iter().zip(self.weights()).collect()),
            count: range(counts),
        })
    }

    /// Mean and covariance of a product's level and elasticity, with the means
    /// of dispersion and day spread squared.
    pub fn belief(&self, product: usize) -> Option<Belief> {
        let mut mean = [0.0; 2];
        let (mut dispersion, mut days) = (0.0, 0.0);
        for draw in &self.draws {
            mean[0] += draw.weight * draw.level(product)?;
            mean[1] += draw.weight * draw.slope(product)?;
            dispersion += draw.weight * draw.dispersion;
            days += draw.weight * draw.day_spread * draw.day_spread;
        }
        let mut covariance = [0.0; 3];
        for draw in &self.draws {
            let level = draw.level(product)? - mean[0];
            let slope = draw.slope(product)? - mean[1];
            covariance[0] += draw.weight * level * level;
            covariance[1] += draw.weight * level * slope;
            covariance[2] += draw.weight * slope * slope;
        }
        Some(Belief {
            mean,
            covariance,
            dispersion,
            day_variance: days,
        })
    }

    fn range_of(&self, of: impl Fn(&Draw) -> Option<f64>) -> Option<Range> {
        let values: Option<Vec<_>> = self
            .draws
            .iter()
            .map(|draw| Some((of(draw)?, draw.weight)))
            .collect();
        Some(range(values?))
    }
}

/// One day at a price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayAt {
    /// The expected sales.
    pub expected: f64,
    /// The average of many days, with its doubt.
    pub mean: Range,
    /// The count of one day.
    pub count: Range,
}

/// The belief about one product, as far as a normal tells it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Level (ln sales at the reference price) and elasticity.
    pub mean: [f64; 2],
    /// Variance of the level, covariance, variance of the elasticity.
    pub covariance: [f64; 3],
    /// Mean of φ.
    pub dispersion: f64,
    /// Mean of the variance of days.
    pub day_variance: f64,
}

/// The range of weighted values.
pub(crate) fn range(mut values: Vec<(f64, f64)>) -> Range {
    values.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    let total: f64 = values.iter().map(|(_, weight)| weight).sum();
    let at = |chance: f64| {
        let mut sum = 0.0;
        for (value, weight) in &values {
            sum += weight;
            if sum >= chance * total {
                return *value;
            }
        }
        values.last().map_or(0.0, |(value, _)| *value)
    };
    Range {
        low: at(0.05),
        middle: at(0.5),
        high: at(0.95),
    }
}
