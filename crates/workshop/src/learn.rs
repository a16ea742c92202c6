//! What the pours of a mould say about the next one.

use std::fmt::Write as _;

use fill::fill_advice::{Answer, Question, answer};
use fill::{Assumptions, Balance, Learned, Part, Range, Weighing};
use jiff::civil::Date;
use measure::{Mass, Ratio, Readability, System, VolumeUnit, figure, in_system};

use crate::facts::{MouldId, PartFill, PourId};
use crate::odd::{kept_because, odd_words};
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
    /// Water to the line times the set density of a formula, g.
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
    /// How many units were hoped for; none for a pour that named no number.
    pub wanted: u32,
    /// What went in, came out and was left.
    pub made: fill::Pour,
    /// Why weights that do not fit it are right all the same; empty without any.
    pub kept: Vec<String>,
}

/// One pour looked back on, in words for a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PastRow {
    /// Which.
    pub pour: PourId,
    /// The code its goods carry.
    pub lot: String,
    /// The day it went into the mould.
    pub day: Date,
    /// What went in, top-ups and all.
    pub put_in: String,
    /// Full units of how many cavities: `11 of 12`.
    pub filled: String,
    /// What was left over; empty if nobody looked.
    pub left: String,
    /// Mean of the units weighed; empty when none was.
    pub unit: String,
    /// The share of what went in that is not accounted for; empty when no
    /// unit was weighed or a part-filled one was not.
    pub lost: String,
}

/// Gathers what the pours of a mould say; none for a mould that is not there.
pub fn history_of(workshop: &Workshop, mould: MouldId) -> Option<History> {
    let found = workshop.mould(mould)?;
    let scale = scale_of(workshop);
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
        .filter(|pour| pour.poured.is_some() && pour.count.is_some() && pour.abandoned.is_none())
        .count();
    Some(History {
        mould,
        cavities: found.cavities,
        pours,
        counted,
        nominal: nominal_of(workshop, found),
        expected_loss: workshop
            .settings()
            .and_then(|settings| settings.expected_loss),
        system: workshop.system(),
        scale,
    })
}

fn past_pour(mould: &Mould, pour: &Pour, scale: &Readability) -> Option<PastPour> {
    if pour.abandoned.is_some() {
        return None;
    }
    let (day, made) = (pour.poured?, made_of(mould.cavities, pour, scale)?);
    Some(PastPour {
        pour: pour.id,
        lot: pour.lot.clone(),
        day,
        wanted: pour.wanted,
        made,
        kept: kept_because(pour),
    })
}

/// The scale of the workshop; a common kitchen scale until it says.
pub(crate) fn scale_of(workshop: &Workshop) -> Readability {
    workshop
        .settings()
        .and_then(|settings| Readability::try_new(&settings.readability).ok())
        .unwrap_or_else(|| default_readability(workshop))
}

/// A counted pour in the terms of the fill crate; none before it is counted.
pub(crate) fn made_of(cavities: u32, pour: &Pour, scale: &Readability) -> Option<fill::Pour> {
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
        top_ups: count
            .topped_up
            .iter()
            .map(|more| more.value().grams())
            .collect(),
        left: count.left.as_ref().map(|left| left.value().grams()),
        cavities: cavities_ready(cavities, pour.wanted.max(count.full.saturating_add(begun))),
        filled: count.full,
        part,
        weighings: pour
            .weights()
            .map(|weight| Weighing::one(weight.value().grams()))
            .collect(),
        readability: scale.mass().grams(),
    })
}

/// Cavities that stood ready for so many units: whole moulds.
fn cavities_ready(of_mould: u32, units: u32) -> u32 {
    let of_mould = of_mould.max(1);
    units.max(1).div_ceil(of_mould).saturating_mul(of_mould)
}

/// What a unit of the mould is said to weigh: its nominal weight, or the water
/// to its line times the set density of the formula it was last used with, of a
/// good made in it, or else of the latest formula that has one.
fn nominal_of(workshop: &Workshop, mould: &Mould) -> Option<Nominal> {
    let from_line = mould.line_volume.as_ref().and_then(|volume| {
        let of_pours = workshop
            .pours_of_mould(mould.id)
            .rev()
            .find_map(|pour| workshop.recipe_of(pour)?.set_density);
        let of_goods = || {
            workshop
                .products()
                .filter(|product| product.mould == mould.id)
                .filter_map(|product| workshop.formula(product.formula)?.current().set_density)
                .last()
        };
        let of_any = || {
            workshop
                .formulas()
                .filter_map(|formula| formula.current().set_density)
                .last()
        };
        let density = of_pours.or_else(of_goods).or_else(of_any)?;
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

impl PastPour {
    /// How many units it was to fill: those hoped for, or what stood ready.
    pub fn of(&self) -> u32 {
        if self.wanted > 0 {
            self.wanted.max(self.made.filled)
        } else {
            self.made.cavities
        }
    }
}

/// What was learned, in words: each figure with the range that holds it nine
/// times in ten.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LearnedWords {
    /// The mean unit weight.
    pub unit_weight: String,
    /// Its range.
    pub unit_range: String,
    /// What the next unit weighs.
    pub next_unit: String,
    /// Standard deviation of the units of one pour.
    pub spread_within: String,
    /// Standard deviation between the means of pours.
    pub spread_between: String,
    /// The usual share lost, as assumed before.
    pub loss_before: String,
    /// The usual share lost, as believed now.
    pub loss: String,
    /// Its range.
    pub loss_range: String,
    /// Where the nominal weight comes from, and what it is; empty without one.
    pub nominal: String,
}

fn grams_in(grams: f64, system: System) -> String {
    Mass::from_grams(grams).map_or_else(String::new, |mass| in_system(mass, system).to_string())
}

fn share_in_words(share: f64) -> String {
    format!("{} %", figure(share * 100.0, 1))
}

impl History {
    /// A number that changes whenever what is learned or shown could change.
    ///
    /// # Source
    ///
    /// The hash of Fowler, Noll and Vo (FNV-1a) with 64 bits; its two numbers
    /// are from memory, and any others would do.
    pub fn fingerprint(&self) -> u64 {
        const PRIME: u64 = 0x0000_0100_0000_01b3;
        let mut text = String::new();
        // Writing to a text cannot fail, and `Debug` shows every field exactly.
        let _ = write!(text, "{self:?}");
        text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(PRIME)
        })
    }

    /// Every pour looked back on, the latest first, in words.
    pub fn rows(&self) -> Vec<PastRow> {
        self.pours.iter().rev().map(|past| self.row(past)).collect()
    }

    fn row(&self, past: &PastPour) -> PastRow {
        let show = |grams: f64| grams_in(grams, self.system);
        let made = &past.made;
        let balance = Balance::of(made);
        PastRow {
            pour: past.pour,
            lot: past.lot.clone(),
            day: past.day,
            put_in: show(made.put_in()),
            filled: format!("{} of {}", made.filled, past.of()),
            left: match made.left {
                Some(left) if left > 0.0 => show(left),
                Some(_) => "none".to_owned(),
                None => String::new(),
            },
            unit: match made.weighed_units() {
                0 => String::new(),
                n => show(made.weighed_grams() / n as f64),
            },
            lost: balance
                .filter(|balance| !balance.part_unknown && made.weighed_units() > 0)
                .map(|balance| share_in_words(balance.unaccounted_share))
                .unwrap_or_default(),
        }
    }

    /// What is assumed before the first pour.
    fn assumptions(&self) -> Assumptions {
        let usual = assumed_loss(self.expected_loss);
        Assumptions {
            nominal_unit: self.nominal.map(Nominal::grams),
            nominal_doubt: match self.nominal {
                Some(Nominal::Line(_)) => DOUBT_OF_LINE,
                Some(Nominal::Name(_)) | None => usual.nominal_doubt,
            },
            ..usual
        }
    }
}

/// What is assumed of a workshop that expects to lose so much.
pub(crate) fn assumed_loss(expected: Option<Ratio>) -> Assumptions {
    let usual = Assumptions::default();
    Assumptions {
        expected_loss: expected.map_or(usual.expected_loss, |loss| loss.to_f64().max(LEAST_LOSS)),
        ..usual
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

/// A pour with unit weights that do not fit what went in.
#[derive(Debug, Clone, PartialEq)]
pub struct OddPour {
    /// Which.
    pub pour: PourId,
    /// The code its goods carry.
    pub lot: String,
    /// What does not fit, as a sentence each.
    pub words: Vec<String>,
    /// Why they are right all the same; without a reason the weights of the
    /// pour are not learned from.
    pub kept: Vec<String>,
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
    /// Pours with unit weights that do not fit what went in.
    pub odd: Vec<OddPour>,
    used: Vec<fill::Pour>,
    assumed: Assumptions,
}

/// Learns from a mould's pours. Pours that contradict themselves are left out
/// and named, so that one slip does not silence the rest. Unit weights that do
/// not fit what went in are named too, and left out unless someone said why
/// they are right.
pub fn advice_for(history: &History) -> Advice {
    let assumed = history.assumptions();
    let mut left_out = Vec::new();
    let mut odd = Vec::new();
    let mut used = Vec::new();
    for past in &history.pours {
        let faults = past.made.faults(0);
        if faults.is_empty() {
            let words = odd_words(&past.made, &assumed, history.system);
            let mut made = past.made.clone();
            if !words.is_empty() {
                if past.kept.is_empty() {
                    made.weighings.clear();
                }
                odd.push(OddPour {
                    pour: past.pour,
                    lot: past.lot.clone(),
                    words,
                    kept: past.kept.clone(),
                });
            }
            used.push(made);
            continue;
        }
        let why: Vec<String> = faults
            .iter()
            .map(|fault| fault.trouble.to_string())
            .collect();
        left_out.push(LeftOut {
            pour: past.pour,
            lot: past.lot.clone(),
            why: why.join("; "),
        });
    }
    let learned = fill::learn(&used, &assumed).ok();
    Advice {
        history: history.clone(),
        learned,
        left_out,
        odd,
        used,
        assumed,
    }
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
        answer(learned, &self.used, &self.assumed, &question)
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

    /// The same chance in words: `about 83 times in 100`.
    pub fn chance_in_words(&self, melt: Mass, units: u32) -> Option<String> {
        let times = 100.0 * self.chance(melt, units)?;
        // What is drawn a few thousand times is never quite certain.
        Some(if times > 99.5 {
            "more than 99 times in 100".to_owned()
        } else if times < 0.5 {
            "less than once in 100".to_owned()
        } else {
            match figure(times, 0).as_str() {
                "1" => "about once in 100".to_owned(),
                times => format!("about {times} times in 100"),
            }
        })
    }

    /// Cavities to reckon with for so many units: whole moulds; a vessel can
    /// always be followed by a few more.
    pub fn room_for(&self, units: u32) -> u32 {
        if self.history.cavities <= 1 {
            units.saturating_add((units / 4).max(3))
        } else {
            cavities_ready(self.history.cavities, units)
        }
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

    /// What was learned, in words; none without anything to go on.
    pub fn words(&self) -> Option<LearnedWords> {
        let learned = self.learned.as_ref()?;
        let system = self.history.system;
        let show = |grams: f64| grams_in(grams, system);
        let between = |range: &Range| format!("{} to {}", show(range.low), show(range.high));
        Some(LearnedWords {
            unit_weight: show(learned.unit_weight.median),
            unit_range: between(&learned.unit_weight),
            next_unit: between(&learned.next_unit),
            spread_within: show(learned.spread_within.median),
            spread_between: show(learned.spread_between.median),
            loss_before: share_in_words(learned.loss_before.median),
            loss: share_in_words(learned.loss.median),
            loss_range: format!(
                "{} to {}",
                share_in_words(learned.loss.low),
                share_in_words(learned.loss.high)
            ),
            nominal: match self.history.nominal {
                Some(Nominal::Name(grams)) => format!("{}, as the mould is named", show(grams)),
                Some(Nominal::Line(grams)) => {
                    format!("{}, water to the line × set density", show(grams))
                }
                None => String::new(),
            },
        })
    }
}
