//! What the pours of a mould say about the next one.

use std::fmt::Write as _;

use fill::fill_advice::{Answer, Question, answer};
use fill::{Assumptions, Balance, Learned, Part, Weighing};
use jiff::civil::Date;
use measure::{
    Decimal, Mass, MassUnit, Ratio, Readability, System, VolumeUnit, Working, figure, in_system,
    percent,
};

use crate::facts::{MouldId, PartFill, PourId};
use crate::plan::default_readability;
use crate::state::{Mould, Pour, Workshop};

/// Pours looked back on, the latest first to count. A mould's unit weight
/// stands to well under a percent after so many, and older pours tell of
/// other hands and another pitcher.
pub const PAST_POURS: usize = 24;

/// Doubt in a nominal weight worked out from the water to the line and the set
/// density: both were measured, neither exactly. Common practice, no source.
const DOUBT_OF_LINE: f64 = 0.05;

/// The least loss that can be assumed: a workshop that enters none is held to
/// a thousandth, since no pitcher pours out dry.
const LEAST_LOSS: f64 = 0.001;

/// What the pours of one mould say, ready to be learned from.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// The mould.
    pub mould: MouldId,
    /// Its cavities.
    pub cavities: u32,
    /// The last [`PAST_POURS`] that were poured and counted, oldest first.
    pub pours: Vec<PastPour>,
    /// How many were poured and counted in all.
    pub counted: usize,
    /// What a unit is said to weigh, in grams, and where that comes from.
    pub nominal: Option<Nominal>,
    /// The share of a melt the workshop expects to lose; none if it never said.
    pub expected_loss: Option<Ratio>,
    /// The units to answer in.
    pub system: System,
    /// The scale of the workshop.
    pub scale: Readability,
}

/// Where a nominal unit weight comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nominal {
    /// The mould is sold as giving this, g.
    Name(f64),
    /// Water to the line times the set density of its latest formula, g.
    Line(f64),
}

impl Nominal {
    /// The weight in grams.
    pub const fn grams(self) -> f64 {
        match self {
            Self::Name(grams) | Self::Line(grams) => grams,
        }
    }
}

/// One pour looked back on.
#[derive(Debug, Clone, PartialEq)]
pub struct PastPour {
    /// Which.
    pub pour: PourId,
    /// The code its goods carry.
    pub lot: String,
    /// The day it went into the mould.
    pub day: Date,
    /// What went in, came out and was left.
    pub made: fill::Pour,
}

/// Gathers what the pours of a mould say; none for a mould that is not there.
pub fn history_of(workshop: &Workshop, mould: MouldId) -> Option<History> {
    let found = workshop.mould(mould)?;
    let scale = workshop
        .settings()
        .and_then(|settings| Readability::try_new(&settings.readability).ok())
        .unwrap_or_else(|| default_readability(workshop));
    let past = |pour| past_pour(found, pour, &scale);
    let mut pours: Vec<_> = workshop
        .pours_of_mould(mould)
        .rev()
        .filter_map(past)
        .take(PAST_POURS)
        .collect();
    pours.reverse();
    let counted = workshop
        .pours_of_mould(mould)
        .filter(|pour| pour.poured.is_some() && pour.count.is_some())
        .count();
    Some(History {
        mould,
        cavities: found.cavities,
        pours,
        counted,
        nominal: nominal_of(workshop, found),
        expected_loss: workshop.settings().and_then(|settings| settings.expected_loss),
        system: workshop.system(),
        scale,
    })
}

fn past_pour(mould: &Mould, pour: &Pour, scale: &Readability) -> Option<PastPour> {
    let (day, made) = (pour.poured?, made_of(mould.cavities, pour, scale)?);
    Some(PastPour { pour: pour.id, lot: pour.lot.clone(), day, made })
}

/// A counted pour in the terms of the fill crate; none before it is counted.
fn made_of(cavities: u32, pour: &Pour, scale: &Readability) -> Option<fill::Pour> {
    let count = pour.count.as_ref()?;
    let part = match &count.part {
        PartFill::Weighed(weight) => Part::Weighed(weight.value().grams()),
        PartFill::Share(share) => Part::Share(share.to_f64()),
        PartFill::Unknown => Part::NotSaid,
        PartFill::None => Part::Absent,
    };
    let begun = u32::from(matches!(part, Part::Weighed(_) | Part::Share(_)));
    Some(fill::Pour {
        poured: pour.put_in().grams(),
        top_ups: count.topped_up.iter().map(|more| more.value().grams()).collect(),
        left: count.left.as_ref().map(|left| left.value().grams()),
        cavities: cavities_ready(cavities, pour.wanted.max(count.full.saturating_add(begun))),
        filled: count.full,
        part,
        weighings: pour.weights().map(|weight| Weighing::one(weight.value().grams())).collect(),
        readability: scale.mass().grams(),
    })
}

/// Cavities that stood ready for so many units: whole moulds.
fn cavities_ready(of_mould: u32, units: u32) -> u32 {
    let of_mould = of_mould.max(1);
    units.max(1).div_ceil(of_mould).saturating_mul(of_mould)
}

/// What a unit of the mould is said to weigh: its nominal weight, or the water
/// to its line times the set density of the formula it was last used with.
fn nominal_of(workshop: &Workshop, mould: &Mould) -> Option<Nominal> {
    let from_line = mould.line_volume.as_ref().and_then(|volume| {
        let of_pours = workshop
            .pours_of_mould(mould.id)
            .rev()
            .filter_map(|pour| workshop.recipe_of(pour)?.set_density)
            .next();
        let of_goods = || {
            workshop
                .products()
                .filter(|product| product.mould == mould.id)
                .filter_map(|product| workshop.formula(product.formula)?.current().set_density)
                .last()
        };
        let density = of_pours.or_else(of_goods)?;
        let density: f64 = density.to_string().parse().ok()?;
        let millilitres = volume.value().to_f64(VolumeUnit::Millilitre);
        fill::mould::unit_weight(millilitres, density).ok()
    });
    // The line was measured in this workshop; the name came with the mould.
    from_line.map(Nominal::Line).or_else(|| {
        let grams = mould.nominal.as_ref()?.value().grams();
        (grams > 0.0).then_some(Nominal::Name(grams))
    })
}

impl History {
    /// A number that changes whenever what is learned or shown could change.
    ///
    /// # Source
    ///
    /// Fowler, Noll and Vo's hash with 64 bits: RFC 9923, section 2.
    pub fn fingerprint(&self) -> u64 {
        const PRIME: u64 = 0x0000_0100_0000_01b3;
        let mut text = String::new();
        // Writing to a text cannot fail, and `Debug` shows every field exactly.
        let _ = write!(text, "{self:?}");
        text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(PRIME)
        })
    }

    /// What is assumed before the first pour.
    fn assumptions(&self) -> Assumptions {
        let usual = Assumptions::default();
        Assumptions {
            nominal_unit: self.nominal.map(Nominal::grams),
            nominal_doubt: match self.nominal {
                Some(Nominal::Line(_)) => DOUBT_OF_LINE,
                Some(Nominal::Name(_)) | None => usual.nominal_doubt,
            },
            expected_loss: self
                .expected_loss
                .map_or(usual.expected_loss, |loss| loss.to_f64().max(LEAST_LOSS)),
            ..usual
        }
    }
}

/// A pour that could not be learned from, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Which.
    pub pour: PourId,
    /// The code its goods carry.
    pub lot: String,
    /// What does not fit together, for the maker to put right.
    pub why: String,
}

/// What the pours of a mould teach about the next one.
#[derive(Debug, Clone)]
pub struct Advice {
    /// What was looked at.
    pub history: History,
    /// What was learned; none while there is neither a pour nor a nominal
    /// weight to go on.
    pub learned: Option<Learned>,
    /// Pours whose weights and counts contradict each other.
    pub left_out: Vec<LeftOut>,
    used: Vec<fill::Pour>,
    assumed: Assumptions,
}

/// Learns from a mould's pours. Pours that contradict themselves are left out
/// and named, so that one slip does not silence the rest.
pub fn advice_for(history: &History) -> Advice {
    let assumed = history.assumptions();
    let mut left_out = Vec::new();
    let mut used = Vec::new();
    for past in &history.pours {
        let faults = past.made.faults(0);
        if faults.is_empty() {
            used.push(past.made.clone());
            continue;
        }
        let why: Vec<String> = faults.iter().map(|fault| fault.trouble.to_string()).collect();
        left_out.push(LeftOut {
            pour: past.pour,
            lot: past.lot.clone(),
            why: why.join("; "),
        });
    }
    let learned = fill::learn(&used, &assumed).ok();
    Advice { history: history.clone(), learned, left_out, used, assumed }
}

impl Advice {
    /// How much to melt for `want` units so that it is enough with `chance`
    /// (held between one in a thousand and all but one in a thousand); none
    /// without anything to go on or for no units.
    pub fn melt_for(&self, want: u32, chance: Ratio) -> Option<Answer> {
        let learned = self.learned.as_ref().filter(|_| want > 0)?;
        let question = Question {
            want,
            chance: chance.to_f64().clamp(0.001, 0.999),
            system: self.history.system,
            scale: self.history.scale.clone(),
        };
        Some(answer(learned, &self.used, &self.assumed, &question))
    }

    /// The chance of each number of full units, none first, from this much
    /// melt in as many cavities.
    pub fn count_chances(&self, melt: Mass, cavities: u32) -> Vec<f64> {
        self.learned
            .as_ref()
            .map(|learned| learned.units_from(melt.grams(), cavities))
            .unwrap_or_default()
    }

    /// The chance that this much melt fills `units`.
    pub fn chance(&self, melt: Mass, units: u32) -> Option<f64> {
        Some(self.learned.as_ref()?.chance(melt.grams(), units))
    }

    /// How many pours were learned from.
    pub const fn n_used(&self) -> usize {
        self.used.len()
    }

    /// The share of a melt that is likely to be lost, to plan a pour with.
    pub fn loss(&self) -> Option<Ratio> {
        let share = self.learned.as_ref()?.next_loss.median;
        Ratio::from_decimal(measure::decimal_from_f64(share, 6)?)
    }

    /// The mean unit weight, to plan a pour with.
    pub fn unit_weight(&self) -> Option<Mass> {
        Mass::from_grams(self.learned.as_ref()?.unit_weight.median)
    }
}

/// What the unit weights of one lot say, by the exact normal model.
#[derive(Debug, Clone, PartialEq)]
pub struct LotWeights {
    /// Weights that count, in grams, in the order they were written.
    pub grams: Vec<f64>,
    /// Their mean.
    pub mean: Mass,
    /// Their standard deviation; none for fewer than two or all alike.
    pub spread: Option<Mass>,
    /// Where the next unit of the lot lies nine times in ten; none without a spread.
    pub next_unit: Option<(Mass, Mass)>,
    /// Where the mean of the lot lies nine times in ten.
    pub mean_range: Option<(Mass, Mass)>,
    /// How they were found.
    pub working: Working,
}

/// Looks at the unit weights of a lot; none before one was weighed.
///
/// Nothing is assumed beforehand, so the intervals are the textbook's t
/// intervals.
pub fn lot_weights(workshop: &Workshop, pour: &Pour) -> Option<LotWeights> {
    let grams: Vec<f64> = pour.weights().map(|weight| weight.value().grams()).collect();
    let sum: Mass = pour.weights().map(|weight| weight.value()).sum();
    let mean = sum.share(Decimal::ONE, Decimal::from(grams.len()))?;
    let belief = fill::NormalBelief::NOTHING.after(&grams).ok()?;
    let system = workshop.system();
    let show = |mass: Mass| in_system(mass, system).to_string();
    let pair = |low: Result<f64, _>, high: Result<f64, fill::BeliefError>| {
        Some((Mass::from_grams(low.ok()?)?, Mass::from_grams(high.ok()?)?))
    };
    let next_unit = pair(belief.next_unit_at(0.05), belief.next_unit_at(0.95));
    let mean_range = pair(belief.mean_at(0.05), belief.mean_at(0.95));
    let spread = next_unit.and_then(|_| Mass::from_grams(belief.sd()));
    let n = grams.len();
    let mut working = Working::new();
    working.step(
        "Mean of the units weighed",
        "sum of the weights ÷ how many",
        format!("{} ÷ {n}", show(sum)),
        show(mean),
        "",
    );
    if let (Some(spread), Some(next), Some(of_mean)) = (spread, next_unit, mean_range) {
        working.step(
            "Standard deviation",
            "√(sum of (weight − mean)² ÷ (n − 1))",
            format!("n = {n}"),
            show(spread),
            "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6",
        );
        working.step(
            "The next unit, nine times in ten",
            "mean ± t(95 %, n − 1) × standard deviation × √(1 + 1/n)",
            format!("{} ± t × {} × √(1 + 1/{n})", show(mean), show(spread)),
            format!("{} to {}", show(next.0), show(next.1)),
            "Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5, with nothing assumed before",
        );
        working.step(
            "The mean of the lot, nine times in ten",
            "mean ± t(95 %, n − 1) × standard deviation ÷ √n",
            format!("{} ± t × {} ÷ √{n}", show(mean), show(spread)),
            format!("{} to {}", show(of_mean.0), show(of_mean.1)),
            "the same",
        );
    }
    Some(LotWeights { grams, mean, spread, next_unit, mean_range, working })
}

/// The account of a pour by mass.
#[derive(Debug, Clone, PartialEq)]
pub struct LotBalance {
    /// What went in.
    pub put_in: Mass,
    /// What came out as units.
    pub in_goods: Mass,
    /// What was left over and kept.
    pub poured_back: Mass,
    /// What is in neither; below zero when the average of a few units stands
    /// for too many.
    pub unaccounted: Mass,
    /// The same as a share of what went in, signed: `3.5 %`.
    pub unaccounted_share: String,
    /// What the workshop expects to lose, for comparison.
    pub expected: Ratio,
    /// Whether the loss is so far above the expected one that it wants an answer.
    pub ask: bool,
    /// How they were found.
    pub working: Working,
}

/// How many times the expected loss a loss has to be before it is asked about.
/// Common practice, no source.
const WELL_ABOVE: f64 = 2.0;

/// The account of a counted pour whose units were weighed; none before that.
pub fn lot_balance(workshop: &Workshop, pour: &Pour) -> Option<LotBalance> {
    let scale = workshop
        .settings()
        .and_then(|settings| Readability::try_new(&settings.readability).ok())
        .unwrap_or_else(|| default_readability(workshop));
    let cavities = pour.mould.and_then(|mould| workshop.mould(mould)).map_or(1, |mould| mould.cavities);
    let made = made_of(cavities, pour, &scale)?;
    let balance = Balance::of(&made)?;
    let system = workshop.system();
    let mass = |grams: f64| Mass::from_grams(grams);
    let show = |mass: Mass| in_system(mass, system).to_string();
    let expected = workshop
        .settings()
        .and_then(|settings| settings.expected_loss)
        .or_else(|| Ratio::from_decimal(Decimal::new(3, 2)))?;
    let (put_in, in_goods) = (mass(balance.put_in)?, mass(balance.in_goods)?);
    let (poured_back, unaccounted) = (mass(balance.poured_back)?, mass(balance.unaccounted)?);
    let share = format!("{} %", figure(balance.unaccounted_share * 100.0, 1));
    let mut working = Working::new();
    if !balance.all_weighed {
        working.step(
            "In goods",
            "full units × mean of those weighed, and the part-filled one",
            format!("{} full, {} weighed", made.filled, made.weighed_units()),
            show(in_goods),
            "the average of the units weighed stands for the rest",
        );
    }
    working.step(
        "Not accounted for",
        "put in − in goods − poured back",
        format!("{} − {} − {}", show(put_in), show(in_goods), show(poured_back)),
        show(unaccounted),
        if balance.part_unknown {
            "conservation of mass; a part-filled unit nobody weighed is still in it"
        } else {
            "conservation of mass"
        },
    );
    working.step(
        "As a share of what went in",
        "not accounted for ÷ put in",
        format!("{} ÷ {}", show(unaccounted), show(put_in)),
        share.clone(),
        format!("expected {}", percent(expected, 1)),
    );
    let spare = in_grams_of_one_unit(&made);
    let ask = balance.unaccounted_share > WELL_ABOVE * expected.to_f64()
        && !(balance.part_unknown && balance.unaccounted < spare);
    Some(LotBalance {
        put_in,
        in_goods,
        poured_back,
        unaccounted,
        unaccounted_share: share,
        expected,
        ask,
        working,
    })
}

/// What a part-filled unit nobody weighed may hold at most.
fn in_grams_of_one_unit(made: &fill::Pour) -> f64 {
    match made.weighed_units() {
        0 => 0.0,
        n => made.weighed_grams() / n as f64,
    }
}

/// The unit the maker's scale shows a mass in, for boxes to write in.
pub fn scale_unit(workshop: &Workshop) -> MassUnit {
    workshop
        .settings()
        .map_or(workshop.system().mass_unit(), |settings| settings.readability.unit())
}
