//! Draws from what a maker may believe after these pours: Gibbs sampling with
//! slice steps.
//!
//! # Source
//!
//! Slice sampling by stepping out and shrinkage: Neal, Slice Sampling, Annals
//! of Statistics 31 (2003), sections 4.1 and 4.2. Moving a level together with
//! what stands on it, beside moving it alone: Yu and Meng, To Center or Not to
//! Center, Journal of Computational and Graphical Statistics 20 (2011).

use std::cmp::Ordering;
use std::f64::consts::PI;

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::chance::{
    draw_exponential, draw_normal, ln_normal_below, ln_normal_between, log_odds, share_of_log_odds,
};
use crate::learn::{Assumptions, Spread};
use crate::pours::{Part, Pour};

/// Weighings of one size, boiled down to what the likelihood needs.
#[derive(Debug, Clone)]
struct Alike {
    /// Units on the pan each time.
    units: f64,
    /// How many such weighings.
    times: f64,
    /// Their average, g.
    average: f64,
    /// Sum of squares about it, g².
    squares: f64,
}

/// What is known about the melt that did not become a full unit.
#[derive(Debug, Clone, Copy)]
enum Ending {
    /// All of it is accounted for but the loss.
    Exact,
    /// About this share of the next unit.
    Share(f64),
    /// This much in the next unit, g.
    Weighed(f64),
    /// Not enough for the next unit.
    Short,
    /// Anything from nothing upward.
    Enough,
}

/// One pour as the likelihood sees it.
#[derive(Debug, Clone)]
pub(crate) struct Evidence {
    /// What went in, g. The loss is a share of this.
    put_in: f64,
    /// What went in and did not come back, g.
    used: f64,
    /// Full units not weighed.
    unweighed: f64,
    weighings: Vec<Alike>,
    ending: Ending,
    /// Variance of one reading of the scale, g².
    reading_variance: f64,
    /// Variance of `used`, g².
    used_variance: f64,
    /// Standard deviation of an eye's guess of a share.
    share_doubt: f64,
}

impl Evidence {
    /// Takes a pour without faults.
    pub(crate) fn of(pour: &Pour, share_doubt: f64) -> Self {
        let mut sizes: Vec<u32> = pour.weighings.iter().map(|w| w.units).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let weighings = sizes
            .into_iter()
            .map(|units| {
                let mut grams: Vec<f64> = pour
                    .weighings
                    .iter()
                    .filter(|w| w.units == units)
                    .map(|w| w.grams)
                    .collect();
                // Summed in one order, so that the order of weighing is no matter.
                grams.sort_unstable_by(f64::total_cmp);
                let times = grams.len() as f64;
                let average = grams.iter().sum::<f64>() / times;
                Alike {
                    units: f64::from(units),
                    times,
                    average,
                    squares: grams.iter().map(|g| (g - average) * (g - average)).sum(),
                }
            })
            .collect();
        let ending = match pour.part_meant() {
            Part::Share(share) if share > 0.0 => Ending::Share(share),
            Part::Weighed(grams) => Ending::Weighed(grams),
            Part::Unknown => Ending::Short,
            _ if pour.left.is_none() && pour.filled == pour.cavities => Ending::Enough,
            _ => Ending::Exact,
        };
        // Reading to a step d is rectangular, variance d²/12: JCGM 100:2008,
        // F.2.2.1. The floor keeps a perfect scale from dividing by zero.
        let floor = 1e-5 * pour.put_in();
        let reading_variance = pour.readability * pour.readability / 12.0;
        Self {
            put_in: pour.put_in(),
            used: pour.used(),
            unweighed: f64::from(pour.filled) - pour.weighed_units() as f64,
            weighings,
            ending,
            reading_variance,
            used_variance: pour.balance_readings() * reading_variance + floor * floor,
            share_doubt,
        }
    }

    /// Compares two pours by what they hold, so that they can be put into one
    /// order whichever way they came.
    pub(crate) fn order(&self, other: &Self) -> Ordering {
        let key = |of: &Self| {
            let (kind, part) = match of.ending {
                Ending::Exact => (0.0, 0.0),
                Ending::Share(share) => (1.0, share),
                Ending::Weighed(grams) => (2.0, grams),
                Ending::Short => (3.0, 0.0),
                Ending::Enough => (4.0, 0.0),
            };
            let variances = [of.reading_variance, of.used_variance];
            let mut key = vec![of.put_in, of.used, of.unweighed, kind, part];
            key.extend(variances);
            for alike in &of.weighings {
                key.extend([alike.units, alike.times, alike.average, alike.squares]);
            }
            key
        };
        let (mine, theirs) = (key(self), key(other));
        let first = mine.iter().zip(&theirs).map(|(a, b)| a.total_cmp(b));
        first
            .chain([mine.len().cmp(&theirs.len())])
            .find(|order| order.is_ne())
            .unwrap_or(Ordering::Equal)
    }

    /// Returns the pour as it looks when its units have this standard deviation.
    fn given(&self, sigma: f64) -> Given {
        let variance = sigma * sigma;
        let mut given = Given {
            known: self.used,
            put_in: self.put_in,
            slope: self.unweighed,
            precision: 0.0,
            middle: 0.0,
            constant: 0.0,
            goods_variance: self.unweighed * variance + self.used_variance,
            variance,
            share_doubt: self.share_doubt,
            ending: self.ending,
        };
        for alike in &self.weighings {
            let units = alike.units;
            let own = units * variance;
            let common = common_rounding(own, self.reading_variance);
            // The last term keeps a perfect scale and no spread from dividing by zero.
            let floor = 1e-12 * alike.average * alike.average;
            let seen = own + self.reading_variance - common + floor;
            let of_average = seen / alike.times + common;
            given.constant -= 0.5
                * ((alike.times - 1.0) * libm::log(seen)
                    + libm::log(of_average)
                    + alike.squares / seen);
            given.precision += units * units / of_average;
            given.middle += units * alike.average / of_average;
            // What truly lay on the pan, given the readings, is partly the
            // readings and partly what such units weigh.
            let trust = own / of_average;
            given.known -= trust * alike.average;
            given.slope += units * (alike.times - trust);
            given.goods_variance += own * (alike.times - trust).max(0.0);
        }
        if given.precision > 0.0 {
            given.middle /= given.precision;
        }
        if self.weighings.len() > 1 {
            for alike in &self.weighings {
                let own = alike.units * variance;
                let common = common_rounding(own, self.reading_variance);
                let seen = own + self.reading_variance - common;
                let off = alike.average - alike.units * given.middle;
                given.constant -= 0.5 * off * off / (seen / alike.times + common + 1e-300);
            }
        }
        match self.ending {
            Ending::Exact | Ending::Short | Ending::Enough => {}
            Ending::Share(share) => {
                given.slope += share;
                given.goods_variance += share * share * variance;
            }
            Ending::Weighed(grams) => {
                given.known -= grams;
                given.goods_variance += self.reading_variance;
            }
        }
        if matches!(self.ending, Ending::Exact | Ending::Weighed(_)) {
            given.constant -= 0.5 * libm::log(given.goods_variance);
        }
        given
    }

    /// Returns a first guess of the unit weight, g, and whether it was weighed.
    pub(crate) fn unit_guess(&self) -> (f64, bool) {
        let units: f64 = self.weighings.iter().map(|a| a.units * a.times).sum();
        if units > 0.0 {
            let grams: f64 = self.weighings.iter().map(|a| a.average * a.times).sum();
            return (grams / units, true);
        }
        (self.used / (self.unweighed + 0.5), false)
    }

    /// Returns a first guess of the log odds of the loss.
    fn loss_guess(&self, theta: f64, sigma: f64, expected: f64) -> f64 {
        if self.given(sigma).slope > 0.5
            || !matches!(self.ending, Ending::Exact | Ending::Weighed(_))
        {
            return expected;
        }
        let goods: f64 = self.weighings.iter().map(|a| a.average * a.times).sum();
        let part = match self.ending {
            Ending::Weighed(grams) => grams,
            _ => 0.0,
        };
        let share = (self.used - goods - part - self.unweighed * theta) / self.put_in;
        log_odds(share.clamp(1e-4, 0.5))
    }
}

/// A pour for one standard deviation of its units: what is left to vary is
/// their mean and the share lost.
#[derive(Debug, Clone, Copy)]
struct Given {
    /// What was used, less the goods whose weight is known, g.
    known: f64,
    put_in: f64,
    /// By how much the other goods grow when every unit grows by one gram.
    slope: f64,
    /// How sharply the weighings point at a mean, 1/g², and at which, g.
    precision: f64,
    middle: f64,
    /// The part of the log likelihood that neither mean nor loss moves.
    constant: f64,
    /// Variance of the goods, the scale's included, g².
    goods_variance: f64,
    /// Variance of one unit, g².
    variance: f64,
    share_doubt: f64,
    ending: Ending,
}

impl Given {
    /// Returns the log likelihood when the units weigh `theta` on average and
    /// this share of the charge is lost.
    ///
    /// The count of full units is treated as what it is, the place where the
    /// melt ran out: the chance that n units fit and n + 1 do not.
    fn ln_likelihood(&self, theta: f64, lost: f64) -> f64 {
        if theta <= 0.0 {
            return f64::NEG_INFINITY;
        }
        let off = theta - self.middle;
        let ln = self.constant - 0.5 * self.precision * off * off;
        let over = self.known - self.put_in * lost - self.slope * theta;
        match self.ending {
            Ending::Enough => ln + ln_normal_below(over / self.goods_variance.sqrt()),
            Ending::Short => {
                let next = (over - theta) / (self.goods_variance + self.variance).sqrt();
                ln + ln_normal_between(next, over / self.goods_variance.sqrt())
            }
            Ending::Exact => ln - 0.5 * over * over / self.goods_variance,
            Ending::Share(_) => {
                let doubt = self.share_doubt * theta;
                let variance = self.goods_variance + doubt * doubt;
                ln - 0.5 * (libm::log(variance) + over * over / variance)
            }
            Ending::Weighed(grams) => {
                let heavier = ln_normal_below((theta - grams) / self.variance.sqrt());
                ln + heavier - 0.5 * over * over / self.goods_variance
            }
        }
    }

    /// Draws the mean unit weight outright where its distribution is normal:
    /// when nothing but the loss is open. `mu` and `between` say what pours of
    /// this mould are like.
    fn draw_theta(&self, rng: &mut impl Rng, mu: f64, between: f64, lost: f64) -> Option<f64> {
        if !matches!(self.ending, Ending::Exact) {
            return None;
        }
        let prior = 1.0 / (between * between);
        let balance = self.slope / self.goods_variance;
        let precision = self.precision + self.slope * balance + prior;
        let pull =
            self.precision * self.middle + balance * (self.known - self.put_in * lost) + prior * mu;
        let theta = pull / precision + draw_normal(rng) / precision.sqrt();
        (theta > 0.0).then_some(theta)
    }
}

/// Returns the part of the rounding error, as a variance, that like units
/// share because the scale is too coarse to tell them apart.
///
/// `own` is the true variance of what is weighed, `reading` that of rounding
/// to a step d, d²/12. Units that all read alike are all rounded alike: their
/// average is then no better known than one of them. The rounding error is a
/// sawtooth of the weight; averaging its harmonics over the normal spread of
/// the weights leaves the k-th with amplitude d/(πk) exp(-2π²k²σ²/d²), by the
/// normal's characteristic function. Without spread they add up to d²/12.
fn common_rounding(own: f64, reading: f64) -> f64 {
    if own > 3.0 * reading {
        return 0.0;
    }
    // In units of d: d² is twelve times the variance of rounding.
    let spread = own / (12.0 * reading);
    let harmonic = |k: f64| libm::exp(-4.0 * PI * PI * k * k * spread) / (k * k);
    let first: f64 = (1..=3).map(|k| harmonic(f64::from(k))).sum();
    // Those beyond the third matter only where hardly any has died away: the
    // fourth stands in for them. Together all are π²/6.
    let rest = PI * PI / 6.0 - 1.0 - 0.25 - 1.0 / 9.0;
    let share = (first + rest * 16.0 * harmonic(4.0)) * 6.0 / (PI * PI);
    share * reading
}

/// One state of belief: what one mould and one pair of hands may be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Draw {
    /// Mean unit weight of the mould, g.
    pub mu: f64,
    /// Standard deviation of units within a pour, g.
    pub within: f64,
    /// Standard deviation of the means of pours, g.
    pub between: f64,
    /// Mean of the log odds of the loss.
    pub loss: f64,
    /// Standard deviation of the log odds of the loss.
    pub loss_spread: f64,
}

/// A slice step for one number, with a width that settles while warming up.
#[derive(Debug, Clone)]
struct Step {
    width: f64,
    moved: f64,
    moves: f64,
}

impl Step {
    const fn new(width: f64) -> Self {
        Self {
            width,
            moved: 0.0,
            moves: 0.0,
        }
    }

    /// Draws the next value after `from` from the density with logarithm `ln`.
    fn draw(
        &mut self,
        rng: &mut impl Rng,
        from: f64,
        settling: bool,
        ln: impl Fn(f64) -> f64,
    ) -> f64 {
        let level = ln(from) - draw_exponential(rng);
        let mut low = from - self.width * rng.random::<f64>();
        let mut high = low + self.width;
        for _ in 0..30 {
            if ln(low) <= level {
                break;
            }
            low -= self.width;
        }
        for _ in 0..30 {
            if ln(high) <= level {
                break;
            }
            high += self.width;
        }
        let mut to = from;
        for _ in 0..80 {
            let tried = low + (high - low) * rng.random::<f64>();
            if ln(tried) > level {
                to = tried;
                break;
            }
            if tried < from {
                low = tried;
            } else {
                high = tried;
            }
        }
        if settling {
            self.moved += (to - from).abs();
            self.moves += 1.0;
            // A uniform step within a slice moves a third of its length on
            // average; the first few tell too little.
            let settled = 3.0 * self.moved / self.moves;
            if self.moves >= 10.0 && settled > 0.0 {
                self.width = settled;
            }
        }
        to
    }
}

/// Returns the log density of ln σ for a spread σ of something of size `mean`.
fn ln_spread(prior: Spread, sigma: f64, mean: f64) -> f64 {
    match prior {
        Spread::HalfNormal(share) => {
            let z = sigma / (share * mean);
            libm::log(z) - 0.5 * z * z
        }
        Spread::InverseChiSquare { units, sd } => {
            -units * libm::log(sigma) - 0.5 * units * sd * sd / (sigma * sigma)
        }
        Spread::Known(_) => 0.0,
    }
}

/// Numbers boiled down to what a normal needs to know of them.
#[derive(Debug, Clone, Copy)]
struct Sums {
    n: f64,
    average: f64,
    /// Sum of squares about the average.
    squares: f64,
}

impl Sums {
    fn of(values: &[f64]) -> Self {
        let n = values.len() as f64;
        let average = values.iter().sum::<f64>() / n.max(1.0);
        let squares = values.iter().map(|v| (v - average) * (v - average)).sum();
        Self {
            n,
            average,
            squares,
        }
    }

    /// Returns the log density of the numbers, without constants.
    fn ln_normal(&self, mean: f64, sd: f64) -> f64 {
        let off = self.average - mean;
        let squares = self.squares + self.n * off * off;
        -self.n * libm::log(sd) - 0.5 * squares / (sd * sd)
    }
}

/// Where the chain stands.
struct Chain<'a> {
    pours: &'a [Evidence],
    priors: &'a Assumptions,
    /// Logarithm of the unit weight to be expected, and the doubt in it.
    centre: (f64, f64),
    at: Draw,
    /// The pours at the present spread within.
    given: Vec<Given>,
    /// Mean unit weight of each pour, g.
    theta: Vec<f64>,
    /// Log odds of the loss of each pour.
    x: Vec<f64>,
    /// The share that is.
    lost: Vec<f64>,
    /// Steps of the unit weight and the loss of each pour.
    pour_steps: Vec<[Step; 2]>,
    unit_steps: [Step; 5],
    loss_steps: [Step; 3],
}

impl Chain<'_> {
    /// Moves everything once. The moves of whole levels are the dear ones and
    /// take turns.
    fn sweep(&mut self, rng: &mut impl Rng, turn: u32, settling: bool) {
        self.sweep_pours(rng, settling);
        self.sweep_units(rng, turn, settling);
        self.sweep_losses(rng, turn, settling);
    }

    /// Moves the mean unit weight and the loss of each pour.
    fn sweep_pours(&mut self, rng: &mut impl Rng, settling: bool) {
        let Draw {
            mu,
            between,
            loss,
            loss_spread,
            ..
        } = self.at;
        let states = self.theta.iter_mut().zip(&mut self.x).zip(&mut self.lost);
        for ((given, state), steps) in self.given.iter().zip(states).zip(&mut self.pour_steps) {
            let ((theta, x), lost) = state;
            let [on_theta, on_x] = steps;
            let ln_theta = |theta: f64| {
                let z = (theta - mu) / between;
                -0.5 * z * z
            };
            let ln_x = |x: f64| {
                let z = (x - loss) / loss_spread;
                -0.5 * z * z
            };
            *theta = given
                .draw_theta(rng, mu, between, *lost)
                .unwrap_or_else(|| {
                    on_theta.draw(rng, *theta, settling, |theta| {
                        ln_theta(theta) + given.ln_likelihood(theta, *lost)
                    })
                });
            if given.slope < 0.5 {
                // The weights of the goods are known: the loss moves alone.
                *x = on_x.draw(rng, *x, settling, |x| {
                    ln_x(x) + given.ln_likelihood(*theta, share_of_log_odds(x))
                });
                *lost = share_of_log_odds(*x);
                continue;
            }
            // A heavier unit and a smaller loss explain the same balance: walk
            // along that ridge. It is a shear, which changes no volume.
            let exchange = given.put_in / given.slope;
            let level = *theta + exchange * *lost;
            *x = on_x.draw(rng, *x, settling, |x| {
                let lost = share_of_log_odds(x);
                let theta = level - exchange * lost;
                ln_theta(theta) + ln_x(x) + given.ln_likelihood(theta, lost)
            });
            *lost = share_of_log_odds(*x);
            *theta = level - exchange * *lost;
        }
    }

    /// Moves the mean and the spreads of unit weights.
    fn sweep_units(&mut self, rng: &mut impl Rng, turn: u32, settling: bool) {
        let Self {
            pours,
            priors,
            centre,
            at,
            given,
            theta,
            lost,
            unit_steps: [mean, all, spread, stretch, inner],
            ..
        } = self;
        let ln_mean = |ln_mu: f64| {
            let z = (ln_mu - centre.0) / centre.1;
            -0.5 * z * z
        };
        let ln_within = |within: f64, mu: f64| ln_spread(priors.spread_within, within, mu);
        let ln_between = |between: f64, mu: f64| ln_spread(priors.spread_between, between, mu);
        let likelihood = |theta: &[f64], given: &[Given], moved: &dyn Fn(f64) -> f64| -> f64 {
            let states = theta.iter().zip(lost.iter());
            given
                .iter()
                .zip(states)
                .map(|(given, (theta, lost))| given.ln_likelihood(moved(*theta), *lost))
                .sum()
        };

        let sums = Sums::of(theta);
        at.mu = libm::exp(mean.draw(rng, libm::log(at.mu), settling, |ln_mu| {
            let mu = libm::exp(ln_mu);
            ln_mean(ln_mu)
                + ln_within(at.within, mu)
                + ln_between(at.between, mu)
                + sums.ln_normal(mu, at.between)
        }));

        let known = matches!(priors.spread_between, Spread::Known(_));
        if !known {
            at.between = libm::exp(spread.draw(rng, libm::log(at.between), settling, |ln_s| {
                let s = libm::exp(ln_s);
                ln_between(s, at.mu) + sums.ln_normal(at.mu, s)
            }));
        }

        if turn.is_multiple_of(2) {
            // The mean, the means of the pours and the spread between them, all
            // by one factor: how they stand to each other does not change. A
            // spread that is known stays, and the pours move in or out in it.
            let (mu, between) = (at.mu, at.between);
            let factor = libm::exp(all.draw(rng, 0.0, settling, |t| {
                let factor = libm::exp(t);
                let stand = if known {
                    let wide = between / factor;
                    sums.ln_normal(mu, wide)
                } else {
                    ln_between(between * factor, mu * factor)
                };
                stand
                    + ln_mean(libm::log(mu) + t)
                    + ln_within(at.within, mu * factor)
                    + likelihood(theta, given, &|theta| theta * factor)
            }));
            at.mu *= factor;
            for theta in theta.iter_mut() {
                *theta *= factor;
            }
            if !known {
                // The spread, with each pour keeping its place in it.
                at.between *= factor;
                let mu = at.mu;
                let factor = libm::exp(stretch.draw(rng, 0.0, settling, |t| {
                    let factor = libm::exp(t);
                    ln_between(at.between * factor, mu)
                        + likelihood(theta, given, &|theta| mu + (theta - mu) * factor)
                }));
                at.between *= factor;
                for theta in theta.iter_mut() {
                    *theta = mu + (*theta - mu) * factor;
                }
            }
        }

        if !matches!(priors.spread_within, Spread::Known(_)) {
            at.within = libm::exp(inner.draw(rng, libm::log(at.within), settling, |ln_s| {
                let s = libm::exp(ln_s);
                let states = theta.iter().zip(lost.iter());
                let likelihood: f64 = pours
                    .iter()
                    .zip(states)
                    .map(|(pour, (theta, lost))| pour.given(s).ln_likelihood(*theta, *lost))
                    .sum();
                ln_within(s, at.mu) + likelihood
            }));
            for (given, pour) in given.iter_mut().zip(pours.iter()) {
                *given = pour.given(at.within);
            }
        }
    }

    /// Moves the mean and the spread of the loss.
    fn sweep_losses(&mut self, rng: &mut impl Rng, turn: u32, settling: bool) {
        let Self {
            priors,
            at,
            given,
            theta,
            x,
            lost,
            loss_steps: [all, spread, stretch],
            ..
        } = self;
        let expected = log_odds(priors.expected_loss);
        let likelihood = |x: &[f64], moved: &dyn Fn(f64) -> f64| -> f64 {
            let states = theta.iter().zip(x);
            given
                .iter()
                .zip(states)
                .map(|(given, (theta, x))| {
                    given.ln_likelihood(*theta, share_of_log_odds(moved(*x)))
                })
                .sum()
        };

        // Alone it is normal.
        let sums = Sums::of(x);
        let (prior, own) = (
            1.0 / (priors.loss_doubt * priors.loss_doubt),
            sums.n / (at.loss_spread * at.loss_spread),
        );
        let mut loss = (prior * expected + own * sums.average) / (prior + own)
            + draw_normal(rng) / (prior + own).sqrt();
        let mut s = at.loss_spread;
        let known = matches!(priors.spread_of_loss, Spread::Known(_));
        let ln_s_prior = |s: f64| ln_spread(priors.spread_of_loss, s, 1.0);
        if !known {
            s = libm::exp(spread.draw(rng, libm::log(s), settling, |ln_s| {
                let s = libm::exp(ln_s);
                ln_s_prior(s) + sums.ln_normal(loss, s)
            }));
        }

        if !turn.is_multiple_of(2) {
            // The mean together with the losses of the pours.
            let shift = all.draw(rng, 0.0, settling, |t| {
                let z = (loss + t - expected) / priors.loss_doubt;
                likelihood(x, &|x| x + t) - 0.5 * z * z
            });
            loss += shift;
            for x in x.iter_mut() {
                *x += shift;
            }
            if !known {
                let factor = libm::exp(stretch.draw(rng, 0.0, settling, |t| {
                    let factor = libm::exp(t);
                    ln_s_prior(s * factor) + likelihood(x, &|x| loss + (x - loss) * factor)
                }));
                s *= factor;
                for x in x.iter_mut() {
                    *x = loss + (*x - loss) * factor;
                }
            }
        }
        for (lost, x) in lost.iter_mut().zip(x.iter()) {
            *lost = share_of_log_odds(*x);
        }
        at.loss = loss;
        at.loss_spread = s;
    }
}

/// How long to draw.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Length {
    /// Sweeps thrown away at the start, in which the steps settle.
    pub warm_up: u32,
    /// Draws kept.
    pub draws: u32,
}

/// Draws from the belief after `pours`. `centre` is the logarithm of the unit
/// weight, g, to be expected, and the doubt in it.
pub(crate) fn sample(
    pours: &[Evidence],
    priors: &Assumptions,
    centre: (f64, f64),
    length: Length,
) -> Vec<Draw> {
    let mut rng = ChaCha8Rng::seed_from_u64(priors.seed);
    let mut mu = libm::exp(centre.0);
    if let Some((weighed, _)) = pours.iter().map(Evidence::unit_guess).find(|(_, w)| *w) {
        mu = weighed;
    }
    let within = priors.spread_within.typical(mu);
    let loss = log_odds(priors.expected_loss);
    let theta: Vec<f64> = pours
        .iter()
        .map(|pour| match pour.unit_guess() {
            (weighed, true) => weighed,
            _ => mu,
        })
        .collect();
    let x: Vec<f64> = pours
        .iter()
        .zip(&theta)
        .map(|(pour, theta)| pour.loss_guess(*theta, within, loss))
        .collect();
    let mut chain = Chain {
        pours,
        priors,
        centre,
        at: Draw {
            mu,
            within,
            between: priors.spread_between.typical(mu),
            loss,
            loss_spread: priors.spread_of_loss.typical(1.0),
        },
        pour_steps: theta
            .iter()
            .map(|theta| {
                let width = 0.03 * theta;
                [width, 0.5].map(Step::new)
            })
            .collect(),
        given: pours.iter().map(|pour| pour.given(within)).collect(),
        theta,
        lost: x.iter().map(|x| share_of_log_odds(*x)).collect(),
        x,
        unit_steps: [0.05, 0.05, 1.0, 1.0, 0.5].map(Step::new),
        loss_steps: [0.7, 1.0, 1.0].map(Step::new),
    };
    for turn in 0..length.warm_up {
        chain.sweep(&mut rng, turn, true);
    }
    let mut draws = Vec::new();
    for turn in 0..length.draws {
        chain.sweep(&mut rng, turn, false);
        draws.push(chain.at);
    }
    draws
}
