//! Every class asked of a mixture.

mod calculation;
mod working;

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use crate::class::{Class, Hazard, Route};
use crate::label::Declared;
use crate::mixture::{Form, Mixture};
use crate::regime::{Jurisdiction, Rules};
use crate::rule::{self, AcuteSum, Level, Sum, Test, Then};

pub(crate) use calculation::CAUTION;
pub use calculation::{
    FoundClass, Input, MissingFactor, NearLimit, Output, Supplemental, UnknownShares, calculate,
    calculate_with,
};
pub use working::working;

/// From which part of a limit on a sum is called near it. Our choice.
const NEAR: f64 = 0.8;

/// A class the mixture has.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The class with its statement.
    pub hazard: Hazard,
    /// The paragraph or table that says so.
    pub law: &'static str,
    /// What was added up, percent (for acute toxicity the sum of percent ×
    /// bound ÷ estimate, for a flammable liquid the flash point in °C).
    pub sum: f64,
    /// What it had to reach; for a flammable liquid, not to exceed.
    pub limit: f64,
    /// The substances that decide, the weightiest first.
    pub deciding: Vec<usize>,
    /// Whether the upper ends of the ranges alone lead here, and their middles
    /// would not.
    pub only_by_worst_case: bool,
}

/// A class the mixture is close to.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    /// The class.
    pub class: Class,
    /// Whether only a name is due from there on, not the class.
    pub then: Then,
    /// What was added up.
    pub sum: f64,
    /// What it would have to reach.
    pub limit: f64,
    /// The substances in the sum, the weightiest first.
    pub deciding: Vec<usize>,
    /// The paragraph or table.
    pub law: &'static str,
}

/// How much of the mixture nobody knows anything of, percent.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unknown {
    /// If swallowed.
    pub oral: f64,
    /// On the skin.
    pub dermal: f64,
    /// Breathed in.
    pub inhalation: f64,
    /// In water.
    pub aquatic: f64,
    /// The substances without any classification.
    pub substances: Vec<usize>,
}

/// An M-factor that is due and was not given. The answer holds with 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provisional {
    /// The substance.
    pub substance: usize,
    /// Aquatic Acute 1 or Aquatic Chronic 1, whose factor is missing.
    pub class: Class,
    /// The smallest factor that changes the answer, up to a million, and the
    /// class it leads to.
    pub changes: Option<(u32, Class)>,
}

/// All that the law says of a mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Classification {
    /// Its classes, in the order of the law.
    pub found: Vec<Found>,
    /// Sensitisers that must be named although they do not classify: in EUH208
    /// where [`Classification::is_sensitising`] is false, as further names
    /// where it is true.
    pub contains: Vec<usize>,
    /// Limits the mixture is close to.
    pub near: Vec<Near>,
    /// What is not known.
    pub unknown: Unknown,
    /// Factors that are missing.
    pub provisional: Vec<Provisional>,
    /// The acute toxicity estimates, by the routes that were asked.
    pub acute: Vec<AcuteSum>,
    /// Whether REACH forbids its sale to the public.
    pub forbidden_to_the_public: bool,
    /// Sentences that belong beside the answer.
    pub notes: Vec<String>,
    /// Every test with its answer, for the working.
    pub asked: Vec<(Test, Sum)>,
}

impl Classification {
    /// The classes alone.
    pub fn hazards(&self) -> impl Iterator<Item = Hazard> {
        self.found.iter().map(|found| found.hazard)
    }

    /// Whether the mixture is a sensitiser of the skin or the airways.
    pub fn is_sensitising(&self) -> bool {
        self.found.iter().any(|found| {
            matches!(
                Family::of(found.hazard.class),
                Family::Allergy | Family::Airways
            )
        })
    }
}

impl Classification {
    /// What the label must know of it.
    ///
    /// # Source
    ///
    /// CLP Article 18(3) (b): substances behind acute toxicity, skin corrosion,
    /// eye damage, mutagenicity, carcinogenicity, harm to reproduction,
    /// sensitisation, damage to organs and aspiration are named; the classes of
    /// Delegated Regulation (EU) 2023/707 from memory. As a rule four names
    /// do; of a sum those that weigh most are taken, of what is never added up
    /// all (ECHA, answers on naming more than four substances).
    pub fn declared(&self, mixture: &Mixture) -> Declared {
        const NAMES: usize = 4;
        let mut named: Vec<usize> = Vec::new();
        for found in &self.found {
            let class = found.hazard.class;
            if !is_named(class) {
                continue;
            }
            let is_sum = matches!(
                Family::of(class),
                Family::Acute(_) | Family::Skin | Family::Eyes | Family::Alone(_)
            );
            let most = if is_sum { NAMES } else { usize::MAX };
            for place in found.deciding.iter().take(most) {
                if !named.contains(place) {
                    named.push(*place);
                }
            }
        }
        let list = |places: &[usize]| {
            places
                .iter()
                .map(|place| mixture.name(*place).to_owned())
                .collect()
        };
        let percent = |share: f64| measure::decimal_from_f64(share, 4).unwrap_or_default();
        let acute = [
            self.unknown.oral,
            self.unknown.dermal,
            self.unknown.inhalation,
        ];
        Declared {
            hazards: self.hazards().collect(),
            named: list(&named),
            sensitisers_below: list(&self.contains),
            unknown_acute: percent(acute.into_iter().fold(0.0, f64::max)),
            unknown_aquatic: percent(self.unknown.aquatic),
            sheet_on_request: self.found.is_empty() && self.asks_for_a_sheet(mixture),
            dries_skin: false,
        }
    }

    /// Whether a professional may ask for a sheet though nothing classifies.
    ///
    /// # Source
    ///
    /// CLP Annex II, 2.10; exposure limits are not known here.
    fn asks_for_a_sheet(&self, mixture: &Mixture) -> bool {
        !self.contains.is_empty()
            || mixture.substances.iter().any(|substance| {
                let most = substance.concentration.most();
                substance.hazards.iter().flatten().any(|hazard| {
                    let class = hazard.class;
                    let from = match class {
                        Class::Carc2
                        | Class::Repr1A
                        | Class::Repr1B
                        | Class::Repr2
                        | Class::Lact
                        | Class::EdHh2
                        | Class::EdEnv2 => 0.1,
                        _ if class.is_physical() => return false,
                        _ => 1.0,
                    };
                    most >= from
                })
            })
    }
}

/// Whether substances behind the class are named on the label.
fn is_named(class: Class) -> bool {
    match Family::of(class) {
        Family::Skin => class < Class::SkinIrrit2,
        Family::Eyes => class == Class::EyeDam1,
        Family::Acute(_)
        | Family::Airways
        | Family::Allergy
        | Family::Muta
        | Family::Carc
        | Family::Repr
        | Family::OrganOnce
        | Family::OrganRepeated
        | Family::Hormones
        | Family::HormonesOfOthers => true,
        Family::Flammable | Family::Water => false,
        Family::Alone(class) => {
            !matches!(class, Class::AquaticAcute1 | Class::Ozone1) && !class.is_physical()
        }
    }
}

/// Classes of which a mixture has one at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Family {
    Flammable,
    Acute(Route),
    Skin,
    Eyes,
    Airways,
    Allergy,
    Muta,
    Carc,
    Repr,
    OrganOnce,
    OrganRepeated,
    /// Endocrine disruptors for human health.
    Hormones,
    Water,
    /// Endocrine disruptors for the environment.
    HormonesOfOthers,
    /// A class that stands alone.
    Alone(Class),
}

impl Family {
    pub(crate) fn of(class: Class) -> Self {
        if let Some((route, _)) = class.acute() {
            return Self::Acute(route);
        }
        match class {
            Class::FlamLiq1 | Class::FlamLiq2 | Class::FlamLiq3 => Self::Flammable,
            Class::SkinCorr1
            | Class::SkinCorr1A
            | Class::SkinCorr1B
            | Class::SkinCorr1C
            | Class::SkinIrrit2 => Self::Skin,
            Class::EyeDam1 | Class::EyeIrrit2 => Self::Eyes,
            Class::RespSens1 | Class::RespSens1A | Class::RespSens1B => Self::Airways,
            Class::SkinSens1 | Class::SkinSens1A | Class::SkinSens1B => Self::Allergy,
            Class::Muta1A | Class::Muta1B | Class::Muta2 => Self::Muta,
            Class::Carc1A | Class::Carc1B | Class::Carc2 => Self::Carc,
            Class::Repr1A | Class::Repr1B | Class::Repr2 => Self::Repr,
            Class::StotSe1 | Class::StotSe2 => Self::OrganOnce,
            Class::StotRe1 | Class::StotRe2 => Self::OrganRepeated,
            Class::AquaticChronic1
            | Class::AquaticChronic2
            | Class::AquaticChronic3
            | Class::AquaticChronic4 => Self::Water,
            Class::EdHh1 | Class::EdHh2 => Self::Hormones,
            Class::EdEnv1 | Class::EdEnv2 => Self::HormonesOfOthers,
            alone => Self::Alone(alone),
        }
    }
}

/// Asks every class of a mixture, at the upper ends of its ranges.
///
/// # Source
///
/// CLP Annex I, Parts 3 to 5, by calculation from the ingredients; the tables
/// are in [`rule`], each with its own. For the United Nations revision 7 with
/// the stricter figure where it leaves a choice (from memory).
pub fn classify(mixture: &Mixture, rules: &Rules, form: &Form) -> Classification {
    let tests = rule::tests(&mixture.substances, rules, form);
    let worst: Vec<Sum> = tests
        .iter()
        .map(|test| test.of(mixture, Level::Worst))
        .collect();
    let mut found = settle(mixture, &tests, &worst, Level::Worst);
    if mixture.has_ranges() {
        let middle: Vec<Sum> = tests
            .iter()
            .map(|test| test.of(mixture, Level::Middle))
            .collect();
        let at_middle = settle(mixture, &tests, &middle, Level::Middle);
        for found in &mut found {
            let class = found.hazard.class;
            let family = Family::of(class);
            found.only_by_worst_case = !at_middle.iter().any(|other| {
                let other = other.hazard.class;
                Family::of(other) == family && (other <= class || is_allergy(family))
            });
        }
    }
    let mut notes = Vec::new();
    if let Some(flammable) = flammability(mixture, *rules, form, &mut notes) {
        found.insert(0, flammable);
    }
    let contains = contains(&tests, &worst, &found);
    let near = near(mixture, &tests, &worst, &found, &contains);
    let unknown = unknown(mixture, *rules);
    let provisional = provisional(mixture, &tests, &worst, &found);
    let acute = [Route::Oral, Route::Dermal, Route::Inhalation]
        .into_iter()
        .filter(|route| rule::acute_is_asked(&mixture.substances, *route, *rules))
        .map(|route| rule::acute_estimate(mixture, route, *rules))
        .collect();
    let forbidden_to_the_public = rules.jurisdiction != Jurisdiction::Un
        && found.iter().any(|found| {
            matches!(
                found.hazard.class,
                Class::Muta1A
                    | Class::Muta1B
                    | Class::Carc1A
                    | Class::Carc1B
                    | Class::Repr1A
                    | Class::Repr1B
            )
        });
    let asked: Vec<(Test, Sum)> = tests.into_iter().zip(worst).collect();
    let mut classification = Classification {
        found,
        contains,
        near,
        unknown,
        provisional,
        acute,
        forbidden_to_the_public,
        notes,
        asked,
    };
    remarks(mixture, *rules, form, &mut classification);
    classification
}

fn is_allergy(family: Family) -> bool {
    matches!(family, Family::Airways | Family::Allergy)
}

/// One class a family, from the tests whose limit is reached.
fn settle(mixture: &Mixture, tests: &[Test], sums: &[Sum], level: Level) -> Vec<Found> {
    let mut reached: Vec<(Family, usize)> = tests
        .iter()
        .zip(sums)
        .enumerate()
        .filter(|(_, (test, sum))| sum.reached && test.then == Then::Classify)
        .map(|(place, (test, _))| (Family::of(test.class), place))
        .collect();
    // Within a family in the order of the tests, which for skin is the order
    // of the cascade.
    reached.sort_unstable();
    let mut found: Vec<Found> = reached
        .chunk_by(|a, b| a.0 == b.0)
        .map(|family| {
            let places: Vec<usize> = family.iter().map(|(_, place)| *place).collect();
            settle_family(mixture, tests, sums, family[0].0, &places, level)
        })
        .collect();
    found.sort_by_key(|found| found.hazard.class);
    found
}

fn settle_family(
    mixture: &Mixture,
    tests: &[Test],
    sums: &[Sum],
    family: Family,
    reached: &[usize],
    level: Level,
) -> Found {
    let class_of = |place: &usize| tests[*place].class;
    let class = match family {
        Family::Skin => skin_class(mixture, tests, reached, level),
        Family::Allergy => sensitiser_class(
            reached.iter().map(class_of),
            [Class::SkinSens1, Class::SkinSens1A, Class::SkinSens1B],
        ),
        Family::Airways => sensitiser_class(
            reached.iter().map(class_of),
            [Class::RespSens1, Class::RespSens1A, Class::RespSens1B],
        ),
        _ => reached
            .iter()
            .map(class_of)
            .min()
            .expect("a family is there because a test of it was reached"),
    };
    // The plain category 1 of the skin has a test of its own.
    let decisive: Vec<usize> = if is_allergy(family) {
        reached.to_vec()
    } else {
        reached
            .iter()
            .copied()
            .filter(|place| tests[*place].class == class)
            .collect()
    };
    let ratio = |place: &usize| sums[*place].sum / tests[*place].limit.to_f64();
    let mut by_weight = decisive;
    by_weight.sort_by(|a, b| ratio(b).total_cmp(&ratio(a)));
    let main = by_weight.first().copied().unwrap_or(reached[0]);
    let deciding: Vec<usize> = if by_weight.len() > 1 {
        by_weight
            .iter()
            .flat_map(|place| tests[*place].terms.iter().map(|term| term.substance))
            .collect()
    } else {
        tests[main].counted(mixture, level)
    };
    let hazard = statement(mixture, tests, reached, class, &deciding);
    Found {
        hazard,
        law: tests[main].law,
        sum: sums[main].sum,
        limit: tests[main].limit.to_f64(),
        deciding,
        only_by_worst_case: false,
    }
}

/// The sub-category of corrosion: 1A, 1A with 1B, all three, and plain
/// category 1 as soon as something of no sub-category counts.
///
/// # Source
///
/// CLP Annex I, 3.2.3.3.2 and the note below Table 3.2.3 (the last clause from
/// memory).
fn skin_class(mixture: &Mixture, tests: &[Test], reached: &[usize], level: Level) -> Class {
    let Some(corrosive) = reached
        .iter()
        .find(|place| tests[**place].class == Class::SkinCorr1)
    else {
        return Class::SkinIrrit2;
    };
    let is_plain = tests[*corrosive]
        .counted(mixture, level)
        .into_iter()
        .any(|place| {
            let substance = &mixture.substances[place];
            substance.is(Class::SkinCorr1)
                && ![Class::SkinCorr1A, Class::SkinCorr1B, Class::SkinCorr1C]
                    .iter()
                    .any(|class| substance.is(*class))
        });
    if is_plain {
        return Class::SkinCorr1;
    }
    [Class::SkinCorr1A, Class::SkinCorr1B, Class::SkinCorr1C]
        .into_iter()
        .find(|class| reached.iter().any(|place| tests[*place].class == *class))
        .unwrap_or(Class::SkinCorr1)
}

/// All that trigger it 1A: 1A; all 1B: 1B; otherwise plain 1. The label is the
/// same. Our choice.
fn sensitiser_class(triggers: impl Iterator<Item = Class>, classes: [Class; 3]) -> Class {
    let triggers: BTreeSet<Class> = triggers.collect();
    match (triggers.first(), triggers.len()) {
        (Some(only), 1) => *only,
        _ => classes[0],
    }
}

/// The class with the letters of the substances that lead to it: H360D and
/// H360F give H360FD, H360D with a substance suspected of the other H360Df.
fn statement(
    mixture: &Mixture,
    tests: &[Test],
    reached: &[usize],
    class: Class,
    deciding: &[usize],
) -> Hazard {
    let of = |place: &usize, class: Class| {
        mixture
            .substances
            .get(*place)?
            .hazards
            .as_ref()?
            .iter()
            .find(|hazard| hazard.class == class)
            .copied()
    };
    let mut hazard: Option<Hazard> = None;
    for place in deciding {
        let own = of(place, class).unwrap_or_else(|| class.into());
        hazard = Some(hazard.map_or(own, |hazard| hazard.together_with(own)));
    }
    let mut hazard = hazard.unwrap_or_else(|| class.into());
    if matches!(class, Class::Repr1A | Class::Repr1B) {
        for place in reached {
            let test = &tests[*place];
            if test.class != class {
                let others = test.terms.iter().map(|term| term.substance);
                for other in others.filter_map(|substance| of(&substance, test.class)) {
                    hazard = hazard.together_with(other);
                }
            }
        }
    }
    hazard.minimum = false;
    hazard
}

/// The liquid's own flash point decides, never its ingredients'.
///
/// # Source
///
/// CLP Annex I, Table 2.6.1.
fn flammability(
    mixture: &Mixture,
    rules: Rules,
    form: &Form,
    notes: &mut Vec<String>,
) -> Option<Found> {
    let liquids = [Class::FlamLiq1, Class::FlamLiq2, Class::FlamLiq3];
    let is_flammable = |place: &usize| liquids.iter().any(|c| mixture.substances[*place].is(*c));
    let flammable: Vec<usize> = (0..mixture.substances.len()).filter(is_flammable).collect();
    let Form::Liquid {
        flash_point_c,
        boiling_point_c,
        ..
    } = form
    else {
        if !flammable.is_empty() {
            notes.push(format!(
                "Flammable liquid does not apply to a solid (CLP Annex I, 1.0 and 2.6); it does to \
                 the oil in its bottle. Classified so: {}.",
                names(mixture, &flammable)
            ));
        }
        return None;
    };
    let Some(flash) = flash_point_c else {
        if !flammable.is_empty() {
            notes.push(format!(
                "Whether the liquid is flammable was not judged: its flash point is missing. \
                 Classified so: {}.",
                names(mixture, &flammable)
            ));
        }
        return None;
    };
    let (class, limit) = if *flash < Decimal::from(23) {
        match boiling_point_c {
            Some(boiling) if *boiling > Decimal::from(35) => (Class::FlamLiq2, 23.0),
            Some(_) => (Class::FlamLiq1, 23.0),
            None => {
                notes.push(
                    "The initial boiling point is missing; it was taken as 35 °C or below, the \
                     stricter case."
                        .to_owned(),
                );
                (Class::FlamLiq1, 23.0)
            }
        }
    } else if *flash <= Decimal::from(60) {
        (Class::FlamLiq3, 60.0)
    } else {
        if rules.jurisdiction == Jurisdiction::Un && *flash <= Decimal::from(93) {
            notes.push(
                "By the UN's category 4 (flash point above 60 °C up to 93 °C, H227) it would be a \
                 combustible liquid; that category is not shown here."
                    .to_owned(),
            );
        }
        return None;
    };
    Some(Found {
        hazard: class.into(),
        law: match rules.jurisdiction {
            Jurisdiction::Eu | Jurisdiction::Gb => "CLP Annex I, Table 2.6.1",
            Jurisdiction::Un => "UN GHS Rev. 7, Table 2.6.1",
        },
        sum: rust_decimal::prelude::ToPrimitive::to_f64(flash).unwrap_or_default(),
        limit,
        deciding: flammable,
        only_by_worst_case: class == Class::FlamLiq1 && boiling_point_c.is_none(),
    })
}

/// Sensitisers to be named although another, or none, classifies the mixture.
fn contains(tests: &[Test], sums: &[Sum], found: &[Found]) -> Vec<usize> {
    let mut contains: Vec<usize> = tests
        .iter()
        .zip(sums)
        .filter(|(test, sum)| test.then == Then::Name && sum.reached)
        .flat_map(|(test, _)| test.terms.iter().map(|term| term.substance))
        .filter(|substance| {
            !found.iter().any(|found| {
                is_allergy(Family::of(found.hazard.class)) && found.deciding.contains(substance)
            })
        })
        .collect();
    contains.sort_unstable();
    contains.dedup();
    contains
}

fn near(
    mixture: &Mixture,
    tests: &[Test],
    sums: &[Sum],
    found: &[Found],
    contains: &[usize],
) -> Vec<Near> {
    let mut near = Vec::new();
    for (test, sum) in tests.iter().zip(sums) {
        let limit = test.limit.to_f64();
        if sum.reached || sum.sum < limit * NEAR || test.then == Then::Warn {
            continue;
        }
        let family = Family::of(test.class);
        let settled = found.iter().any(|found| {
            let class = found.hazard.class;
            Family::of(class) == family && (class <= test.class || is_allergy(family))
        });
        let named = test.then == Then::Name
            && test
                .terms
                .iter()
                .any(|term| contains.contains(&term.substance));
        if settled || named {
            continue;
        }
        near.push(Near {
            class: test.class,
            then: test.then,
            sum: sum.sum,
            limit,
            deciding: test.counted(mixture, Level::Worst),
            law: test.law,
        });
    }
    // Of the sub-categories of corrosion the general test speaks for all.
    if near.iter().any(|near| near.class == Class::SkinCorr1) {
        near.retain(|near| {
            !matches!(
                near.class,
                Class::SkinCorr1A | Class::SkinCorr1B | Class::SkinCorr1C
            )
        });
    }
    near
}

fn unknown(mixture: &Mixture, rules: Rules) -> Unknown {
    let substances: Vec<usize> = mixture
        .substances
        .iter()
        .enumerate()
        .filter(|(_, substance)| substance.is_unknown() && substance.concentration.high > 0)
        .map(|(place, _)| place)
        .collect();
    if substances.is_empty() {
        return Unknown::default();
    }
    let acute = |route| {
        if rule::acute_is_asked(&mixture.substances, route, rules) {
            rule::relevant_unknown(mixture, route, rules)
        } else {
            0.0
        }
    };
    Unknown {
        oral: acute(Route::Oral),
        dermal: acute(Route::Dermal),
        inhalation: acute(Route::Inhalation),
        // Whatever could be Acute 1 or Chronic 1 counts from 0.1 %.
        aquatic: substances
            .iter()
            .map(|place| mixture.substances[*place].concentration.most())
            .filter(|percent| *percent >= 0.1)
            .sum(),
        substances,
    }
}

/// Which missing M-factors could change the answer, and from which size on.
fn provisional(
    mixture: &Mixture,
    tests: &[Test],
    sums: &[Sum],
    found: &[Found],
) -> Vec<Provisional> {
    let aquatic: Vec<(&Test, &Sum)> = tests
        .iter()
        .zip(sums)
        .filter(|(test, _)| test.class.is_environmental() && test.then == Then::Classify)
        .collect();
    let mut missing = Vec::new();
    for (place, substance) in mixture.substances.iter().enumerate() {
        if substance.concentration.high == 0 {
            continue;
        }
        for (class, factor) in [
            (Class::AquaticAcute1, substance.m_acute),
            (Class::AquaticChronic1, substance.m_chronic),
        ] {
            if factor.is_some() || !substance.is(class) {
                continue;
            }
            let family = Family::of(class);
            let now = found
                .iter()
                .map(|found| found.hazard.class)
                .find(|found| Family::of(*found) == family);
            let changes = (1..=6).map(|power| 10_u32.pow(power)).find_map(|factor| {
                aquatic
                    .iter()
                    .filter(|(test, sum)| {
                        Family::of(test.class) == family
                            && !sum.reached
                            && now.is_none_or(|now| test.class < now)
                            && test.class != Class::AquaticChronic4
                            && would_reach(mixture, test, sum, place, factor)
                    })
                    .map(|(test, _)| (factor, test.class))
                    .min_by_key(|(_, class)| *class)
            });
            missing.push(Provisional {
                substance: place,
                class,
                changes,
            });
        }
    }
    missing
}

/// Whether a sum reaches its limit once a substance's factor of 1 is another.
fn would_reach(mixture: &Mixture, test: &Test, sum: &Sum, place: usize, factor: u32) -> bool {
    const SLACK: f64 = 1.0 - 1e-12;
    let Some(term) = test.terms.iter().find(|term| term.substance == place) else {
        return false;
    };
    let share = mixture.substances[place].concentration.most();
    let own = share * term.weight.to_f64();
    let counted = share >= term.cut_off.to_f64() * SLACK;
    let others = if counted { sum.sum - own } else { sum.sum };
    let factor = f64::from(factor);
    share * factor >= 0.1 * SLACK && others + own * factor >= test.limit.to_f64() * SLACK
}

/// Names in a row, a few of them.
fn names(mixture: &Mixture, substances: &[usize]) -> String {
    a_few(substances, |place| mixture.name(place).to_owned())
}

/// The first few in a row, and how many more there are.
fn a_few(substances: &[usize], shown: impl Fn(usize) -> String) -> String {
    const SHOWN: usize = 8;
    let text = substances
        .iter()
        .take(SHOWN)
        .map(|place| shown(*place))
        .collect::<Vec<_>>()
        .join(", ");
    match substances.len().saturating_sub(SHOWN) {
        0 => text,
        more => format!("{text} and {more} more"),
    }
}

/// The sentences that belong beside the answer.
fn remarks(mixture: &Mixture, rules: Rules, form: &Form, answer: &mut Classification) {
    let mut notes = Vec::new();
    if answer.forbidden_to_the_public {
        notes.push(
            "This may not be sold to the public: it is carcinogenic, mutagenic or toxic for \
             reproduction in category 1 (REACH Annex XVII, entries 28 to 30). No label makes up \
             for that."
                .to_owned(),
        );
    }
    aspiration_remark(mixture, form, answer, &mut notes);
    let warned = warned(mixture, answer);
    if !warned.is_empty() {
        notes.push(format!(
            "If one of these is an acid, base, aldehyde, phenol, surfactant or the like whose \
             effect cannot be added up, it may classify by itself, skin and eyes from 1 % \
             (corrosive, damaging) or 3 % (irritant) on (CLP Annex I, Tables 3.2.4 and 3.3.4): {}.",
            names(mixture, &warned)
        ));
    }
    for missing in &answer.provisional {
        notes.push(m_factor_remark(mixture, missing));
    }
    let by_range: Vec<usize> = answer
        .found
        .iter()
        .filter(|found| found.only_by_worst_case)
        .flat_map(|found| found.deciding.iter().copied())
        .filter(|place| !mixture.substances[*place].concentration.is_point())
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    if !by_range.is_empty() {
        notes.push(format!(
            "The upper ends of the ranges decide; the middles would not. Ask the supplier for \
             the exact share of {}.",
            names(mixture, &by_range)
        ));
    }
    unknown_remarks(mixture, answer, &mut notes);
    if !mixture.disagreeing.is_empty() {
        notes.push(format!(
            "Two sheets do not say the same of {}; the stricter word was taken.",
            names(mixture, &mixture.disagreeing)
        ));
    }
    if answer.found.iter().any(|found| {
        matches!(
            Family::of(found.hazard.class),
            Family::OrganOnce | Family::OrganRepeated
        )
    }) {
        notes.push(
            "Name the organ and, where the sheet gives one, the route beside the statement on \
             damage to organs."
                .to_owned(),
        );
    }
    let minimum: Vec<usize> = places(mixture, |hazard| hazard.minimum);
    if !minimum.is_empty() {
        notes.push(format!(
            "The harmonised list marks a class as the least it can be; better data may make it \
             stricter: {}.",
            names(mixture, &minimum)
        ));
    }
    let physical = places(mixture, |hazard| {
        hazard.class.is_physical() && Family::of(hazard.class) != Family::Flammable
    });
    if !physical.is_empty() {
        notes.push(format!(
            "Physical hazards are found by testing the mixture, never by adding up. Ask the \
             supplier about {}.",
            names(mixture, &physical)
        ));
    }
    if rules.jurisdiction == Jurisdiction::Un {
        un_remarks(answer, &mut notes);
    }
    answer.notes.append(&mut notes);
}

fn places(mixture: &Mixture, is: impl Fn(&Hazard) -> bool) -> Vec<usize> {
    mixture
        .substances
        .iter()
        .enumerate()
        .filter(|(_, substance)| substance.hazards.iter().flatten().any(&is))
        .map(|(place, _)| place)
        .collect()
}

fn aspiration_remark(
    mixture: &Mixture,
    form: &Form,
    answer: &Classification,
    notes: &mut Vec<String>,
) {
    let Some((test, sum)) = answer
        .asked
        .iter()
        .find(|(test, sum)| test.class == Class::AspTox1 && sum.reached)
    else {
        return;
    };
    let listed = names(mixture, &test.counted(mixture, Level::Worst));
    let sum = crate::mixture::percent_figure(sum.sum);
    match form {
        Form::Solid => notes.push(format!(
            "Aspiration: {listed} make up {sum} %, 10 % or more, but the class asks for something \
             thin at 40 °C (CLP Annex I, 3.10.3.3.1), and this is solid there. It does apply to \
             the oil in its bottle."
        )),
        Form::MoltenAt40C { viscosity_mm2_s }
        | Form::Liquid {
            viscosity_mm2_s, ..
        } => match viscosity_mm2_s {
            None => notes.push(format!(
                "Aspiration: {listed} make up {sum} %. The viscosity at 40 °C is not known, so \
                     it was taken as 20.5 mm²/s or less, the stricter case."
            )),
            Some(viscosity) if test.then == Then::Warn => notes.push(format!(
                "Aspiration: {listed} make up {sum} %, but at {viscosity} mm²/s it is thicker \
                     than 20.5 mm²/s at 40 °C (CLP Annex I, 3.10.3.3.1)."
            )),
            Some(_) => {}
        },
    }
}

/// Substances that would classify the mixture by the tables for what cannot be
/// added up, and do not by the others.
fn warned(mixture: &Mixture, answer: &Classification) -> Vec<usize> {
    let warned: BTreeSet<usize> = answer
        .asked
        .iter()
        .filter(|(test, sum)| {
            sum.reached
                && test.then == Then::Warn
                && test.class != Class::AspTox1
                && !answer.found.iter().any(|found| {
                    let class = found.hazard.class;
                    let family = Family::of(class);
                    // Every sub-category of corrosion is as severe as plain 1.
                    family == Family::of(test.class)
                        && (class <= test.class || class < Class::SkinIrrit2)
                })
        })
        .flat_map(|(test, _)| test.terms.iter().map(|term| term.substance))
        .filter(|place| !mixture.substances[*place].is_unlisted)
        .collect();
    warned.into_iter().collect()
}

fn m_factor_remark(mixture: &Mixture, missing: &Provisional) -> String {
    let name = mixture.name(missing.substance);
    let class = missing.class;
    match missing.changes {
        Some((factor, changed)) => format!(
            "Provisional: the M-factor of {name} for {class} is missing and was taken as 1. From \
             an M-factor of {factor} on the answer would be {changed}. Ask the supplier."
        ),
        None => format!(
            "Provisional: the M-factor of {name} for {class} is missing and was taken as 1. No \
             M-factor up to 1000000 would change the answer."
        ),
    }
}

fn unknown_remarks(mixture: &Mixture, answer: &Classification, notes: &mut Vec<String>) {
    let unknown = &answer.unknown;
    if unknown.substances.is_empty() {
        return;
    }
    let figure = crate::mixture::percent_figure;
    notes.push(format!(
        "Nothing is known of the hazards of {}. What they would add is not in the answer.",
        a_few(&unknown.substances, |place| {
            let substance = &mixture.substances[place];
            format!("{} ({})", substance.name, substance.concentration)
        })
    ));
    for (route, percent) in [
        ("swallowed", unknown.oral),
        ("on the skin", unknown.dermal),
        ("breathed in", unknown.inhalation),
    ] {
        if percent > 0.0 {
            notes.push(format!(
                "Acute toxicity, {route}: {} percent of the mixture is of unknown acute toxicity \
                 (CLP Annex I, 3.1.3.6.2.2; its label says so where there is one).",
                figure(percent)
            ));
        }
    }
    if unknown.aquatic > 0.0 {
        notes.push(format!(
            "Water: {} % of the mixture is of unknown hazard to the aquatic environment (CLP Annex \
             I, 4.1.3.6.1; its label says so where there is one).",
            figure(unknown.aquatic)
        ));
    }
}

fn un_remarks(answer: &Classification, notes: &mut Vec<String>) {
    notes.push(
        "UN GHS Rev. 7 is a yardstick, not the law of a country. Where it leaves a choice the \
         stricter figure was taken (from memory): sensitisers of category 1, Carc. 2, Repr. and \
         Lact. from 0.1 %, STOT 1 and 2 from 1 %. Its Skin Irrit. 3, Eye Irrit. 2B, Asp. Tox. 2, \
         Flam. Liq. 4 and Aquatic Acute 2 and 3 are not shown."
            .to_owned(),
    );
    for acute in &answer.acute {
        if let Some(estimate) = acute.estimate
            && acute.route != Route::Inhalation
            && estimate > 2000.0
            && estimate <= 5000.0
        {
            notes.push(format!(
                "Acute toxicity, {}: an estimate of {:.0} mg/kg is the UN's category 5, which is \
                 not shown here.",
                acute.route, estimate
            ));
        }
    }
}
