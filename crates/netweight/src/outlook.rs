//! What the next lot is likely to weigh, and the chance that it carries a
//! declaration.

use measure::Mass;
use rand::RngExt;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::chance::{draw_chi_square, draw_normal, normal_at, normal_below, t_at, t_below};
use crate::rule::{Plan, Rule};
use crate::sample::Sample;
use crate::tare::Tare;
use crate::us::Column;

/// The seed of the drawn lots unless another is given.
pub const DEFAULT_SEED: u64 = 0x6E65_7420_7774;

/// Drawn lots. The chance of an event of one in a hundred is then known to
/// seven in ten thousand.
const WAYS: usize = 20_000;

/// Points at which what tare and scale leave open is looked at.
const OFFSETS: usize = 200;

/// The spread between lots before lots were compared, as a share of the mean:
/// the scale of a half-normal. Common practice, no source.
const BETWEEN: f64 = 0.03;

/// 2.5 % of a normal lie below this many standard deviations: the share the
/// packers' second rule works with.
const SHARE_Z: f64 = -1.959_964;

/// What was weighed, and how well.
#[derive(Debug, Clone)]
pub struct History<'a> {
    /// The lot in question.
    pub lot: &'a Sample,
    /// Earlier lots of the same mould; with none, lots to come are taken to be
    /// poured like this one.
    pub earlier: &'a [Sample],
    /// Packages in a lot; none when lots are large or not known.
    pub lot_size: Option<u32>,
    /// The wrapping.
    pub tare: Tare,
    /// The scale's step, g: a reading is uncertain by its twelfth root.
    pub step_g: f64,
    /// How far off the scale may be, either way, g.
    pub scale_off_g: f64,
}

/// The unit weights of the next lot as believed after weighing.
///
/// # Model
///
/// The units of a lot weigh `N(θ, σ²)`. From one lot: the reference prior
/// `1/σ²`, so that `σ² = (m − 1) s² / χ²(m − 1)` and `θ = N(x̄, σ²/m)`, and lots
/// to come share θ. With earlier lots: `θ = N(μ, τ²)` for each, μ flat, σ as
/// before from all lots together, and τ half-normal with 3 % of the mean
/// (common practice, no source). What tare and scale leave open moves all
/// weights together: the average tare by Student's t, the scale evenly within
/// its tolerance. A lot's own units and an inspection's sample are then drawn
/// (posterior predictive).
///
/// # Source
///
/// Gelman and others, Bayesian Data Analysis, 3rd edition (2013), 3.2 and 5.4
/// (from memory); JCGM 100:2008, F.2.2.1 for the scale's step.
#[derive(Debug, Clone)]
pub struct Outlook {
    rule: Rule,
    column: Column,
    plan: Plan,
    mean_g: f64,
    sd_g: f64,
    weighed: f64,
    lot_size: Option<f64>,
    offsets: Vec<f64>,
    beliefs: Option<Vec<Belief>>,
    ways: Vec<Way>,
}

/// Why there is no outlook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TooFew {
    /// A spread needs two units of one lot.
    #[error("two units or more of one lot have to be weighed")]
    OneUnit,
    /// All weights are equal and the scale's step is not known.
    #[error("all weights are equal and the scale's step is not known")]
    NoSpread,
}

/// A lot's mean as believed for one pair of spreads.
#[derive(Debug, Clone, Copy)]
struct Belief {
    centre: f64,
    /// Of the next lot's θ about the centre.
    variance: f64,
    within: f64,
}

/// One drawn lot and the sample an inspection drew from it.
#[derive(Debug, Clone, Copy)]
struct Way {
    lot_lightest: f64,
    /// The weight below which 2.5 % of the pour lie.
    light_share: f64,
    /// Average of the sample and the factor times its spread.
    lifted: f64,
    /// The first unit of the sample that is not forgiven.
    counted: f64,
}

impl Outlook {
    /// Forms the belief and draws the lots.
    ///
    /// # Errors
    ///
    /// [`TooFew`] when the weights say nothing about their spread.
    pub fn try_new(
        rule: Rule,
        column: Column,
        history: &History<'_>,
        seed: u64,
    ) -> Result<Self, TooFew> {
        Self::with_ways(rule, column, history, seed, WAYS)
    }

    /// The same with more or fewer drawn lots than the usual 20,000; at least
    /// one.
    ///
    /// # Errors
    ///
    /// As [`Outlook::try_new`].
    pub fn with_ways(
        rule: Rule,
        column: Column,
        history: &History<'_>,
        seed: u64,
        n_ways: usize,
    ) -> Result<Self, TooFew> {
        let lot = history.lot;
        if lot.len() < 2 {
            return Err(TooFew::OneUnit);
        }
        let least = history.step_g / 12.0_f64.sqrt();
        let sd_g = lot.sd().max(least);
        if sd_g <= 0.0 {
            return Err(TooFew::NoSpread);
        }
        let n_ways = n_ways.max(1);
        let plan = rule.plan(history.lot_size.unwrap_or(rule.usual_lot()));
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let weighed = lot.len() as f64;
        let mut outlook = Self {
            rule,
            column,
            plan,
            mean_g: lot.mean(),
            sd_g,
            weighed,
            lot_size: history.lot_size.map(f64::from),
            offsets: offsets(history),
            beliefs: None,
            ways: Vec::with_capacity(n_ways),
        };
        if history.earlier.is_empty() {
            for idx in 0..n_ways {
                let degrees = weighed - 1.0;
                let variance = degrees * sd_g * sd_g / draw_chi_square(degrees, &mut rng);
                let belief = Belief {
                    centre: outlook.mean_g,
                    variance: variance / weighed,
                    within: variance.sqrt(),
                };
                let way = outlook.way(belief, idx, &mut rng);
                outlook.ways.push(way);
            }
        } else {
            let beliefs = between_lots(history, least, n_ways, &mut rng);
            for (idx, belief) in beliefs.iter().enumerate() {
                let way = outlook.way(*belief, idx, &mut rng);
                outlook.ways.push(way);
            }
            outlook.beliefs = Some(beliefs);
        }
        Ok(outlook)
    }

    /// What tare and scale are off by in the drawn lot of this number.
    fn offset(&self, idx: usize) -> f64 {
        let point = idx % self.offsets.len().max(1);
        self.offsets.get(point).copied().unwrap_or(0.0)
    }

    /// Draws one lot and an inspection's sample of it.
    fn way(&self, belief: Belief, idx: usize, rng: &mut ChaCha8Rng) -> Way {
        let offset = self.offset(idx);
        let theta = belief.centre + offset + belief.variance.sqrt() * draw_normal(rng);
        let sd = belief.within;
        // Where every package is weighed nothing is drawn: the lightest decides.
        let n = if self.rule == Rule::UkEvery {
            1
        } else {
            self.plan.sample as usize
        };
        let averaged = self.plan.average_sample as usize;
        let mut units: Vec<f64> = (0..n).map(|_| theta + sd * draw_normal(rng)).collect();
        let k = averaged as f64;
        let mean = units.iter().take(averaged).sum::<f64>() / k;
        let squares: f64 = units
            .iter()
            .take(averaged)
            .map(|unit| (unit - mean) * (unit - mean))
            .sum();
        let spread = if averaged > 1 {
            (squares / (k - 1.0)).sqrt()
        } else {
            0.0
        };
        let lot = self
            .lot_size
            .unwrap_or(f64::from(self.rule.usual_lot()))
            .max(n as f64);
        let others = lot - n as f64;
        let mut lightest = units.iter().copied().fold(f64::INFINITY, f64::min);
        if others > 0.0 {
            // The least of so many draws is where their joint chance is even.
            let none_below: f64 = 1.0 - rng.random::<f64>();
            let share = -libm::expm1(libm::log(none_below) / others);
            lightest = lightest.min(theta + sd * normal_at(share.clamp(1e-300, 1.0 - 1e-16)));
        }
        let counted = self.plan.beyond_allowed as usize;
        let counted = if self.rule == Rule::UkEvery {
            lightest
        } else if counted < n {
            *units.select_nth_unstable_by(counted, f64::total_cmp).1
        } else {
            f64::INFINITY
        };
        Way {
            lot_lightest: lightest,
            light_share: theta + SHARE_Z * sd,
            lifted: if self.plan.average_tested {
                mean + self.plan.factor * spread
            } else {
                f64::INFINITY
            },
            counted,
        }
    }

    /// What an inspection weighs and allows.
    pub const fn plan(&self) -> Plan {
        self.plan
    }

    /// Whose rules.
    pub const fn rule(&self) -> Rule {
        self.rule
    }

    /// Drawn lots the chances are counted over.
    pub fn n_ways(&self) -> usize {
        self.ways.len()
    }

    /// Whether earlier lots were taken in.
    pub const fn knows_lots(&self) -> bool {
        self.beliefs.is_some()
    }

    /// The chance that the next lot's own average is not below `declared`.
    pub fn average_holds(&self, declared: Mass) -> f64 {
        self.average_at_least(declared.grams())
    }

    fn average_at_least(&self, grams: f64) -> f64 {
        let lot = self.lot_size.map_or(0.0, f64::recip);
        match &self.beliefs {
            None => self.t_above(grams, self.sd_g * (1.0 / self.weighed + lot).sqrt()),
            Some(beliefs) => {
                let chances = beliefs.iter().enumerate().map(|(idx, belief)| {
                    let offset = self.offset(idx);
                    let sd = (belief.variance + belief.within * belief.within * lot).sqrt();
                    normal_below((belief.centre + offset - grams) / sd)
                });
                chances.sum::<f64>() / beliefs.len() as f64
            }
        }
    }

    fn t_above(&self, grams: f64, scale: f64) -> f64 {
        let degrees = self.weighed - 1.0;
        let chances = self
            .offsets
            .iter()
            .map(|offset| t_below((self.mean_g + offset - grams) / scale, degrees));
        chances.sum::<f64>() / self.offsets.len() as f64
    }

    /// The chance that the average of the very lot weighed is not below
    /// `declared`: what is left to weigh of it is all that is open.
    pub fn this_lot_holds(&self, declared: Mass) -> f64 {
        let grams = declared.grams();
        let left = self.lot_size.map_or(1.0, |lot| 1.0 - self.weighed / lot);
        if left <= 0.0 {
            let holds = |offset: &&f64| self.mean_g + **offset >= grams - 2e-6;
            return self.offsets.iter().filter(holds).count() as f64 / self.offsets.len() as f64;
        }
        self.t_above(grams, self.sd_g * (left / self.weighed).sqrt())
    }

    /// The chance that an inspection of the next lot passes.
    pub fn inspection_passes(&self, declared: Mass) -> f64 {
        let limits = self.rule.limits(declared, self.column);
        let floor = limits.floor.grams();
        let declared = declared.grams();
        let passed = self
            .ways
            .iter()
            .filter(|way| way.lifted >= declared && way.counted >= floor)
            .count();
        passed as f64 / self.ways.len() as f64
    }

    /// The chance that the units of the next lot are heavy enough by themselves,
    /// inspected or not: in the EU and UK that no more than 2.5 % of what is
    /// poured lies below the tolerable error and no unit of the lot below twice
    /// that, in the minimum system that no unit is below the declaration. The
    /// United States ask nothing of units that are not inspected.
    pub fn units_hold(&self, declared: Mass) -> f64 {
        let limits = self.rule.limits(declared, self.column);
        if self.rule == Rule::UkEvery {
            return self.inspection_passes(declared);
        }
        let Some(hard) = limits.hard_floor.map(Mass::grams) else {
            return 1.0;
        };
        let floor = limits.floor.grams();
        let held = self
            .ways
            .iter()
            .filter(|way| way.light_share >= floor && way.lot_lightest >= hard)
            .count();
        held as f64 / self.ways.len() as f64
    }

    /// The least of the three chances that `declared` has with the next lot:
    /// its average holds, its units hold, an inspection passes.
    pub fn carries(&self, declared: Mass) -> f64 {
        self.average_holds(declared)
            .min(self.units_hold(declared))
            .min(self.inspection_passes(declared))
    }

    /// The weight the next lot's average is not below with this chance, g.
    pub fn average_bound(&self, chance: f64) -> f64 {
        let lot = self.lot_size.map_or(0.0, f64::recip);
        let scale = self.sd_g * (1.0 / self.weighed + lot).sqrt();
        if self.beliefs.is_none() && self.offsets.len() == 1 {
            return self.mean_g - t_at(chance, self.weighed - 1.0) * scale;
        }
        let widest = self.offsets.iter().fold(0.0_f64, |w, o| w.max(o.abs()));
        let reach = 1_000.0 * scale + widest + self.mean_g;
        let (mut low, mut high) = (self.mean_g - reach, self.mean_g + reach);
        // To a hundredth of a milligram of any package.
        for _ in 0..36 {
            let middle = f64::midpoint(low, high);
            if self.average_at_least(middle) >= chance {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// How many units have to be weighed so that the average of a lot is not
    /// below `declared` with this chance, should they weigh on average what
    /// was found and spread alike; none when no number suffices.
    pub fn units_for(&self, declared: Mass, chance: f64) -> Option<u32> {
        let room = (self.mean_g - declared.grams()) / self.sd_g;
        let lot = self.lot_size.map_or(0.0, f64::recip);
        let enough = |m: u32| {
            let m = f64::from(m);
            room >= t_at(chance, m - 1.0) * (1.0 / m + lot).sqrt()
        };
        let most = 10_000;
        if !enough(most) {
            return None;
        }
        let (mut short, mut found) = (1, most);
        while found - short > 1 {
            let middle = u32::midpoint(short, found);
            if enough(middle) {
                found = middle;
            } else {
                short = middle;
            }
        }
        Some(found)
    }

    /// The same belief with every lot to come heavier by so many grams: what
    /// filling by so much more would bring.
    #[must_use]
    pub fn moved(&self, by_g: f64) -> Self {
        let mut moved = self.clone();
        moved.mean_g += by_g;
        for belief in moved.beliefs.iter_mut().flatten() {
            belief.centre += by_g;
        }
        for way in &mut moved.ways {
            way.lot_lightest += by_g;
            way.light_share += by_g;
            way.lifted += by_g;
            way.counted += by_g;
        }
        moved
    }

    /// Average of the units weighed, g.
    pub const fn mean(&self) -> f64 {
        self.mean_g
    }

    /// Their spread, no smaller than the scale's step allows to see, g.
    pub const fn sd(&self) -> f64 {
        self.sd_g
    }
}

/// Points of what tare and scale leave open: the tare in order of its own
/// distribution, the scale evenly spread over its tolerance in the order of
/// the golden ratio, which pairs the two without a pattern.
fn offsets(history: &History<'_>) -> Vec<f64> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    if history.tare.standard_error() == 0.0 && history.scale_off_g == 0.0 {
        return vec![0.0];
    }
    (0..OFFSETS)
        .map(|idx| {
            let chance = (idx as f64 + 0.5) / OFFSETS as f64;
            let scale = 2.0 * ((idx as f64 + 0.5) * GOLDEN).fract() - 1.0;
            history.tare.off_at(chance) + history.scale_off_g * scale
        })
        .collect()
}

/// Draws what is believed about the next lot when several were weighed.
fn between_lots(
    history: &History<'_>,
    least: f64,
    n_ways: usize,
    rng: &mut ChaCha8Rng,
) -> Vec<Belief> {
    const SPREADS: usize = 500;
    const GRID: usize = 60;
    let lots: Vec<&Sample> = history
        .earlier
        .iter()
        .chain(std::iter::once(history.lot))
        .collect();
    let means: Vec<f64> = lots.iter().map(|lot| lot.mean()).collect();
    let counts: Vec<f64> = lots.iter().map(|lot| lot.len() as f64).collect();
    let degrees: f64 = counts.iter().map(|n| n - 1.0).sum();
    let squares: f64 = lots
        .iter()
        .zip(&counts)
        .map(|(lot, n)| (n - 1.0) * lot.sd().max(least) * lot.sd().max(least))
        .sum();
    let grand = means.iter().sum::<f64>() / means.len() as f64;
    let apart = means
        .iter()
        .map(|mean| (mean - grand).abs())
        .fold(0.0, f64::max);
    let scale = BETWEEN * grand;
    let widest = (4.0 * scale).max(4.0 * apart);
    // One pair of spreads: its weight, the centre and the variance of θ.
    let mut pairs = Vec::with_capacity(SPREADS * GRID);
    for _ in 0..SPREADS {
        let within = squares / draw_chi_square(degrees, rng);
        for step in 0..GRID {
            let tau = widest * (step as f64 + 0.5) / GRID as f64;
            let mut precision = 0.0;
            let mut weighted = 0.0;
            let mut logs = -0.5 * (tau / scale) * (tau / scale);
            for (mean, n) in means.iter().zip(&counts) {
                let variance = tau * tau + within / n;
                precision += 1.0 / variance;
                weighted += mean / variance;
                logs -= 0.5 * libm::log(variance);
            }
            let centre = weighted / precision;
            for (mean, n) in means.iter().zip(&counts) {
                let variance = tau * tau + within / n;
                logs -= 0.5 * (mean - centre) * (mean - centre) / variance;
            }
            logs -= 0.5 * libm::log(precision);
            let belief = Belief {
                centre,
                variance: 1.0 / precision + tau * tau,
                within: within.sqrt(),
            };
            pairs.push((logs, belief));
        }
    }
    let top = pairs
        .iter()
        .map(|(logs, _)| *logs)
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = pairs.iter().map(|(logs, _)| libm::exp(logs - top)).sum();
    // Systematic resampling: every pair as often as its weight asks.
    let mut chosen = Vec::with_capacity(n_ways);
    let mut reached = 0.0;
    let start = rng.random::<f64>();
    for (logs, belief) in &pairs {
        reached += libm::exp(logs - top) / total * n_ways as f64;
        while chosen.len() < n_ways && start + chosen.len() as f64 <= reached {
            chosen.push(*belief);
        }
    }
    // The last may be missed by rounding of the sum.
    while chosen.len() < n_ways {
        chosen.push(pairs.last().expect("the grid has points").1);
    }
    chosen
}
