//! What pours teach about a mould and the hands that use it.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::chance::{draw_normal, log_odds, share_of_log_odds};
use crate::pours::{Fault, Pour, Trouble};
use crate::sampler::{Draw, Evidence, Length, sample};

/// The seed used unless another is given. Any number would do; it is written
/// with the answer so that the answer can be had again.
pub const DEFAULT_SEED: u64 = 20_250_301;

/// What is believed about a spread before anything was weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Half of a normal about zero whose standard deviation is this share of
    /// the mean unit weight (for the loss: this much, in log odds).
    HalfNormal(f64),
    /// The conjugate prior: a standard deviation worth so many units.
    InverseChiSquare {
        /// What it is worth (degrees of freedom).
        units: f64,
        /// The standard deviation, g (for the loss: in log odds).
        sd: f64,
    },
    /// Known, g (for the loss: in log odds).
    Known(f64),
}

impl Spread {
    /// Returns a value in the midst of this belief for something of this mean.
    pub(crate) fn typical(self, mean: f64) -> f64 {
        match self {
            Self::HalfNormal(share) => 0.67 * share * mean,
            Self::InverseChiSquare { sd, .. } | Self::Known(sd) => sd,
        }
    }

    fn is_sound(self) -> bool {
        let above_zero = |x: f64| x.is_finite() && x > 0.0;
        match self {
            Self::HalfNormal(x) | Self::Known(x) => above_zero(x),
            Self::InverseChiSquare { units, sd } => above_zero(units) && above_zero(sd),
        }
    }
}

/// What is assumed before the first pour.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumptions {
    /// What the mould is said to give, g, if it says anything.
    pub nominal_unit: Option<f64>,
    /// Doubt in that figure, as a share of it (one standard deviation of its
    /// logarithm).
    pub nominal_doubt: f64,
    /// The share of a charge that is usually lost.
    pub expected_loss: f64,
    /// Doubt in that share (one standard deviation of its log odds; 0.65 is
    /// "half or double").
    pub loss_doubt: f64,
    /// Spread of the units of one pour.
    pub spread_within: Spread,
    /// Spread of the means of pours.
    pub spread_between: Spread,
    /// Spread of the log odds of the loss from pour to pour.
    pub spread_of_loss: Spread,
    /// How far off an eye is that says "about half full" (one standard
    /// deviation, as a share of a full unit).
    pub share_doubt: f64,
    /// Seed of the generator.
    pub seed: u64,
}

impl Default for Assumptions {
    /// Common practice, no source: a nominal weight is a name and may be off by
    /// a sixth, 3 % is lost, units of a pour differ by some 4 % and pours by
    /// some 3 %. A few pours outweigh every one of these figures.
    fn default() -> Self {
        Self {
            nominal_unit: None,
            nominal_doubt: 0.17,
            expected_loss: 0.03,
            loss_doubt: 0.65,
            spread_within: Spread::HalfNormal(0.04),
            spread_between: Spread::HalfNormal(0.03),
            spread_of_loss: Spread::HalfNormal(0.4),
            share_doubt: 0.05,
            seed: DEFAULT_SEED,
        }
    }
}

/// Doubt in the unit weight where no nominal one is given, as one standard
/// deviation of its logarithm: the balance of the pours gives the middle, and
/// a factor of two either way stays open.
const DOUBT_WITHOUT_NOMINAL: f64 = 0.5;

impl Assumptions {
    fn faults(&self) -> Vec<Fault> {
        let above_zero = |x: f64| x.is_finite() && x > 0.0 && x < 1e7;
        let share = |x: f64| x > 0.0 && x < 1.0;
        [
            ("nominal_unit", self.nominal_unit.is_none_or(above_zero)),
            ("nominal_doubt", above_zero(self.nominal_doubt)),
            ("expected_loss", share(self.expected_loss)),
            ("loss_doubt", above_zero(self.loss_doubt)),
            ("spread_within", self.spread_within.is_sound()),
            ("spread_between", self.spread_between.is_sound()),
            ("spread_of_loss", self.spread_of_loss.is_sound()),
            ("share_doubt", (0.0..1.0).contains(&self.share_doubt)),
        ]
        .into_iter()
        .filter(|(_, sound)| !sound)
        .map(|(field, _)| Fault {
            pour: None,
            field: field.to_owned(),
            trouble: Trouble::Assumption,
        })
        .collect()
    }

    /// Returns the logarithm of the unit weight to be expected and the doubt
    /// in it, or none when nothing says.
    fn centre(&self, pours: &[Evidence]) -> Option<(f64, f64)> {
        if let Some(nominal) = self.nominal_unit {
            return Some((libm::log(nominal), self.nominal_doubt));
        }
        let guesses: Vec<(f64, bool)> = pours.iter().map(Evidence::unit_guess).collect();
        let any_weighed = guesses.iter().any(|(_, weighed)| *weighed);
        let logs: Vec<f64> = guesses
            .iter()
            .filter(|(guess, weighed)| *guess > 0.0 && *weighed == any_weighed)
            .map(|(guess, _)| libm::log(*guess))
            .collect();
        (!logs.is_empty()).then(|| {
            let middle = logs.iter().sum::<f64>() / logs.len() as f64;
            (middle, DOUBT_WITHOUT_NOMINAL)
        })
    }
}

/// A figure with its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// One chance in twenty that it is below this.
    pub low: f64,
    /// As likely above as below.
    pub median: f64,
    /// One chance in twenty that it is above this.
    pub high: f64,
}

impl Range {
    fn of(mut values: Vec<f64>) -> Self {
        values.sort_unstable_by(f64::total_cmp);
        Self {
            low: quantile(&values, 0.05),
            median: quantile(&values, 0.5),
            high: quantile(&values, 0.95),
        }
    }

    /// Returns how far the two ends lie apart.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// Returns the smallest of the sorted values that at least this share of them
/// does not exceed. Zero without values.
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let n = sorted.len() as f64;
    // The product may come out a last digit above a whole number.
    let rank = (share * n - 1e-9).ceil().clamp(1.0, n.max(1.0));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the indices"
    )]
    let idx = rank as usize - 1;
    sorted.get(idx).copied().unwrap_or(0.0)
}

/// One way the next pour may go.
#[derive(Debug, Clone, Copy)]
struct Ahead {
    /// Mean unit weight, g.
    theta: f64,
    /// Standard deviation of a unit, g.
    within: f64,
    /// Share of the charge lost.
    loss: f64,
    /// How the units together deviate, in standard deviations.
    luck: f64,
}

impl Ahead {
    fn of(draw: &Draw, rng: &mut ChaCha8Rng) -> Self {
        let theta = draw.mu + draw.between * draw_normal(rng);
        Self {
            // A unit weighs something; the spread is a few hundredths, so this
            // floor is met once in a million.
            theta: theta.max(0.05 * draw.mu),
            within: draw.within,
            loss: share_of_log_odds(draw.loss + draw.loss_spread * draw_normal(rng)),
            luck: draw_normal(rng),
        }
    }

    /// Returns the charge that just fills `units` cavities, g.
    fn need(&self, units: u32) -> f64 {
        let n = f64::from(units);
        let goods = n * self.theta + n.sqrt() * self.within * self.luck;
        // The sum of n normals by one normal could dip for very uneven units;
        // units have no negative weight.
        goods.max(0.05 * n * self.theta) / (1.0 - self.loss)
    }
}

/// Ways the next pour may go for each state of belief.
const AHEAD_PER_DRAW: usize = 4;

/// What the pours of one mould teach.
#[derive(Debug, Clone)]
pub struct Learned {
    /// The mean unit weight of the mould over all pours, g.
    pub unit_weight: Range,
    /// The weight of one unit of the next pour, g.
    pub next_unit: Range,
    /// Standard deviation of the units of one pour, g.
    pub spread_within: Range,
    /// Standard deviation of the means of pours, g.
    pub spread_between: Range,
    /// The usual share lost, as assumed before these pours.
    pub loss_before: Range,
    /// The usual share lost, as believed after them.
    pub loss: Range,
    /// The share the next pour will lose.
    pub next_loss: Range,
    /// The seed the draws came from.
    pub seed: u64,
    /// How many pours it rests on.
    pub pours: usize,
    ahead: Vec<Ahead>,
}

impl Learned {
    /// Returns the melt needed to fill this many cavities in the next pour.
    pub fn need(&self, units: u32) -> Need {
        let mut needs: Vec<f64> = self.ahead.iter().map(|way| way.need(units)).collect();
        needs.sort_unstable_by(f64::total_cmp);
        Need { needs }
    }

    /// Returns the chance that a charge of `grams` fills this many cavities.
    pub fn chance(&self, grams: f64, units: u32) -> f64 {
        let enough = |way: &&Ahead| way.need(units) <= grams;
        self.ahead.iter().filter(enough).count() as f64 / self.ahead.len() as f64
    }

    /// Returns the chance of each count of full units, from none to all
    /// cavities, from a charge of `grams`. The chances add up to one.
    pub fn units_from(&self, grams: f64, cavities: u32) -> Vec<f64> {
        let mut counts = vec![0_u32; cavities as usize + 1];
        for way in &self.ahead {
            // The need grows with the count: find the last that fits.
            let (mut fits, mut too_many) = (0, cavities + 1);
            while too_many - fits > 1 {
                let middle = fits + (too_many - fits) / 2;
                if way.need(middle) <= grams {
                    fits = middle;
                } else {
                    too_many = middle;
                }
            }
            if let Some(count) = counts.get_mut(fits as usize) {
                *count += 1;
            }
        }
        let all = self.ahead.len() as f64;
        counts.into_iter().map(|n| f64::from(n) / all).collect()
    }
}

/// How much melt a number of units takes, with its doubt.
#[derive(Debug, Clone)]
pub struct Need {
    /// Sorted, g.
    needs: Vec<f64>,
}

impl Need {
    /// Returns the melt, g, that is enough with this chance. A chance of 0 or
    /// less gives the least, of 1 or more the most that was drawn.
    pub fn at(&self, chance: f64) -> f64 {
        quantile(&self.needs, chance)
    }

    /// Returns the range that holds it nine times in ten, g.
    pub fn range(&self) -> Range {
        Range {
            low: self.at(0.05),
            median: self.at(0.5),
            high: self.at(0.95),
        }
    }
}

/// Learns from the pours of one mould.
///
/// # Model
///
/// The units of pour p weigh `N(θp, σw²)`, the means of pours `N(μ, σb²)`, and
/// the share of its charge that a pour loses has log odds `N(m, s²)`, so that
/// it lies between none and all. What went in and did not come back is the
/// full units, the part-filled one and the loss. Where the last unit was not
/// weighed, the count itself is the evidence: n units fitted into what was
/// left of the charge and one more did not. The order of the pours says
/// nothing. Priors are in [`Assumptions`].
///
/// # Errors
///
/// Every [`Fault`] of the pours and the assumptions.
pub fn learn(pours: &[Pour], assumptions: &Assumptions) -> Result<Learned, Vec<Fault>> {
    let mut faults = assumptions.faults();
    for (idx, pour) in pours.iter().enumerate() {
        faults.extend(pour.faults(idx));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut evidence: Vec<Evidence> = pours
        .iter()
        .map(|pour| Evidence::of(pour, assumptions.share_doubt))
        .collect();
    // The order of pours says nothing, and so must not change a digit.
    evidence.sort_by(Evidence::order);
    let Some(centre) = assumptions.centre(&evidence) else {
        return Err(vec![Fault {
            pour: None,
            field: "nominal_unit".to_owned(),
            trouble: Trouble::NothingToGoOn,
        }]);
    };

    let draws = sample(&evidence, assumptions, centre, length_for(pours.len()));
    let mut rng = ChaCha8Rng::seed_from_u64(assumptions.seed);
    rng.set_stream(1);
    let ahead: Vec<Ahead> = draws
        .iter()
        .flat_map(|draw| std::iter::repeat_n(draw, AHEAD_PER_DRAW))
        .map(|draw| Ahead::of(draw, &mut rng))
        .collect();
    let next_units = ahead
        .iter()
        .map(|way| way.theta + way.within * draw_normal(&mut rng))
        .collect();
    let each = |value: fn(&Draw) -> f64| Range::of(draws.iter().map(value).collect());
    let before = |z: f64| {
        share_of_log_odds(log_odds(assumptions.expected_loss) + z * assumptions.loss_doubt)
    };
    Ok(Learned {
        unit_weight: each(|draw| draw.mu),
        next_unit: Range::of(next_units),
        spread_within: each(|draw| draw.within),
        spread_between: each(|draw| draw.between),
        loss_before: Range {
            low: before(-Z_95),
            median: before(0.0),
            high: before(Z_95),
        },
        loss: each(|draw| share_of_log_odds(draw.loss)),
        next_loss: Range::of(ahead.iter().map(|way| way.loss).collect()),
        seed: assumptions.seed,
        pours: pours.len(),
        ahead,
    })
}

/// The 95 % point of the standard normal (NIST/SEMATECH e-Handbook, 1.3.6.7.1).
const Z_95: f64 = 1.644_854;

/// Returns how long to draw: the more pours, the dearer a sweep and the less
/// there is to explore.
fn length_for(pours: usize) -> Length {
    let draws = 10_000 / u32::try_from(pours.max(1)).unwrap_or(u32::MAX);
    let draws = draws.clamp(800, 2_000);
    Length {
        warm_up: 200 + draws / 10,
        draws,
    }
}
