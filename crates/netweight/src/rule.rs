//! The bodies of rules, and what an inspection under one of them found.

use std::fmt;

use measure::Mass;
use serde::{Deserialize, Serialize};

use crate::chance::normal_at;
use crate::sample::Sample;
use crate::{eu, us};

/// Where the minimum system is told of.
const EVERY_SOURCE: &str = "minimum system: guidance to SI 2006/659 at \
    https://www.gov.uk/weights-measures-and-packaging-the-law/packaged-goods";

/// Whose rules a declaration has to meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Rule {
    /// The United States: NIST Handbook 133, category A.
    #[serde(rename = "US")]
    Us,
    /// The European Union: Directive 76/211/EEC.
    #[serde(rename = "EU")]
    Eu,
    /// Great Britain: The Weights and Measures (Packaged Goods) Regulations
    /// 2006, which keep the Directive's system.
    #[serde(rename = "UK")]
    Uk,
    /// Great Britain, the minimum system: every single package holds at least
    /// what it says, which a packer may promise instead of the average.
    #[serde(rename = "UK every")]
    UkEvery,
}

impl Rule {
    /// Every rule.
    pub const ALL: [Self; 4] = [Self::Us, Self::Eu, Self::Uk, Self::UkEvery];

    /// Its name for a person.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Us => "United States",
            Self::Eu => "European Union",
            Self::Uk => "Great Britain",
            Self::UkEvery => "Great Britain, every unit at least",
        }
    }

    /// Where it holds, in a sentence: "in Great Britain".
    pub const fn place(self) -> &'static str {
        match self {
            Self::Us => "in the United States",
            Self::Eu => "in the European Union",
            Self::Uk => "in Great Britain",
            Self::UkEvery => "in Great Britain (every unit at least)",
        }
    }

    /// Whether a weight is declared in grams or kilograms, with ounces after it
    /// at most.
    pub const fn is_metric(self) -> bool {
        !matches!(self, Self::Us)
    }

    /// Reads `US`, `EU`, `UK` or `UK every`.
    ///
    /// # Errors
    ///
    /// [`measure::Unclear`] for anything else.
    pub fn parse(text: &str) -> Result<Self, measure::Unclear> {
        match text.trim().to_ascii_uppercase().as_str() {
            "US" => Ok(Self::Us),
            "EU" => Ok(Self::Eu),
            "UK" | "GB" => Ok(Self::Uk),
            "UK EVERY" | "GB EVERY" => Ok(Self::UkEvery),
            "" => Err(measure::Unclear::new(
                text,
                "the rule is missing",
                "write US, EU, UK or UK every",
            )),
            _ => Err(measure::Unclear::new(
                text,
                "there are rules for the United States, the European Union and Britain",
                "write US, EU, UK or UK every",
            )),
        }
    }

    /// The floors under single packages that carry this declaration.
    pub fn limits(self, declared: Mass, column: us::Column) -> Limits {
        match self {
            Self::Us => {
                let variation = us::allowed_variation(declared, column);
                Limits {
                    variation,
                    floor: declared - variation,
                    hard_floor: None,
                }
            }
            Self::Eu | Self::Uk => {
                let variation = eu::tolerable_error(declared);
                Limits {
                    variation,
                    floor: declared - variation,
                    hard_floor: Some(declared - variation - variation),
                }
            }
            Self::UkEvery => Limits {
                variation: Mass::ZERO,
                floor: declared,
                hard_floor: None,
            },
        }
    }

    /// How many an inspection of a lot weighs, and what it allows.
    pub fn plan(self, lot: u32) -> Plan {
        match self {
            Self::Us => {
                let plan = us::plan(lot);
                Plan {
                    sample: plan.sample,
                    average_sample: plan.sample,
                    factor: plan.factor.unwrap_or(0.0),
                    average_tested: plan.factor.is_some(),
                    beyond_allowed: plan.beyond_allowed,
                }
            }
            Self::Eu | Self::Uk => {
                let plan = eu::plan(lot);
                Plan {
                    sample: plan.sample,
                    average_sample: plan.average_sample,
                    factor: plan.factor,
                    average_tested: true,
                    beyond_allowed: plan.beyond_allowed,
                }
            }
            // Nothing is drawn: the packer weighs them all.
            Self::UkEvery => Plan {
                sample: lot,
                average_sample: lot,
                factor: 0.0,
                average_tested: false,
                beyond_allowed: 0,
            },
        }
    }

    /// How many standard deviations above the declaration units should weigh on
    /// average, so that the average of an inspection's sample still reaches the
    /// declaration nearly always: 975 times in 1,000 in the United States, 995
    /// in the EU and UK. In the minimum system: so that no unit of the lot is
    /// below it 975 times in 1,000, for weights that spread as a normal
    /// distribution does.
    ///
    /// Elsewhere the error limit of the test, kept on the other side of the
    /// declaration: our own derivation, not law.
    pub fn guard(self, lot: u32) -> f64 {
        let sample = self.plan(lot).average_sample;
        match self {
            Self::Us => us::factor(sample),
            Self::Eu | Self::Uk => eu::factor(sample),
            Self::UkEvery => Some(none_of(lot)),
        }
        .unwrap_or(0.0)
    }

    /// The lot taken when no size was given: the largest of the smallest plan
    /// that draws a sample.
    pub const fn usual_lot(self) -> u32 {
        match self {
            Self::Us => 250,
            Self::Eu | Self::Uk | Self::UkEvery => 500,
        }
    }

    /// Tests a lot against a declaration.
    pub fn inspect(
        self,
        sample: &Sample,
        declared: Mass,
        column: us::Column,
        lot: u32,
    ) -> Inspected {
        match self {
            Self::Us => us::inspect(sample, declared, column, lot),
            Self::Eu | Self::Uk => eu::inspect(self, sample, declared, lot),
            Self::UkEvery => eu::every(sample, declared, lot),
        }
    }

    /// The source of its tests, for the working.
    pub const fn source(self) -> &'static str {
        match self {
            Self::Us => "NIST Handbook 133 (2026), chapter 2",
            Self::Eu => "Directive 76/211/EEC, Annexes I and II",
            Self::Uk => {
                "The Weights and Measures (Packaged Goods) Regulations 2006, SI 2006/659, schedule 2"
            }
            Self::UkEvery => EVERY_SOURCE,
        }
    }

    /// The source of the variation allowed to single packages.
    pub const fn variation_source(self) -> &'static str {
        match self {
            Self::Us => "NIST Handbook 133, appendix A, table 2-5 (from memory)",
            Self::Eu | Self::Uk => "Directive 76/211/EEC, Annex I, 2.4",
            Self::UkEvery => EVERY_SOURCE,
        }
    }

    /// The source of the sampling plan.
    pub const fn plan_source(self) -> &'static str {
        match self {
            Self::Us => "NIST Handbook 133, appendix A, table 2-1 (from memory)",
            Self::Eu | Self::Uk => "SI 2006/659, schedule 2, 3 and 4",
            Self::UkEvery => EVERY_SOURCE,
        }
    }
}

/// How many standard deviations below the average none of so many lies 975
/// times in 1,000.
fn none_of(lot: u32) -> f64 {
    let each = libm::exp(libm::log(0.975) / f64::from(lot.max(1)));
    normal_at(each)
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Us => "US",
            Self::Eu => "EU",
            Self::Uk => "UK",
            Self::UkEvery => "UK every",
        })
    }
}

/// The floors under single packages of one declaration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Maximum allowable variation, or tolerable negative error.
    pub variation: Mass,
    /// A package lighter than this counts as beyond.
    pub floor: Mass,
    /// EU and UK: a package lighter than this may not be sold at all.
    pub hard_floor: Option<Mass>,
}

/// How many an inspection weighs and what it allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Packages drawn.
    pub sample: u32,
    /// Of these, the packages whose average is tested.
    pub average_sample: u32,
    /// The error limit of the average is this many standard deviations.
    pub factor: f64,
    /// Whether the average of the sample is tested at all.
    pub average_tested: bool,
    /// Packages of the sample that may be beyond the variation.
    pub beyond_allowed: u32,
}

/// What the test of a lot against a declaration found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inspected {
    /// Whose rules.
    pub rule: Rule,
    /// The declaration tested.
    pub declared: Mass,
    /// Packages an inspection of this lot weighs.
    pub required: u32,
    /// Packages weighed here.
    pub weighed: u32,
    /// Their average, g.
    pub average_g: f64,
    /// Their standard deviation, g.
    pub sd_g: f64,
    /// The error limit is this many standard deviations.
    pub factor: f64,
    /// How far the average may lie below the declaration, g.
    pub error_limit_g: f64,
    /// Whether the average meets its requirement.
    pub average_meets: bool,
    /// The floors under single packages.
    pub limits: Limits,
    /// Packages beyond the variation.
    pub beyond: u32,
    /// How many of these are allowed.
    pub beyond_allowed: u32,
    /// Packages below the hard floor of the EU and UK.
    pub beyond_twice: u32,
}

impl Inspected {
    /// Whether as many were weighed as an inspection weighs.
    pub const fn is_full(&self) -> bool {
        self.weighed >= self.required
    }

    /// Whether everything asked is met by what was weighed.
    pub const fn meets(&self) -> bool {
        self.average_meets && self.beyond <= self.beyond_allowed && self.beyond_twice == 0
    }

    /// Whether the lot has failed, however many more are weighed.
    pub const fn has_failed(&self) -> bool {
        self.beyond > self.beyond_allowed
            || self.beyond_twice > 0
            || (self.is_full() && !self.average_meets)
    }

    /// Average less declaration, g; below nothing when short.
    pub fn over_g(&self) -> f64 {
        self.average_g - self.declared.grams()
    }
}
