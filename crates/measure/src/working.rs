//! The steps by which a calculation came to its answer.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a figure rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The maker weighed, counted or timed it.
    Measured,
    /// It stands on a supplier's or data sheet.
    FromTheSheet,
    /// Common practice of the trade, with no source behind it.
    RuleOfThumb,
    /// A guess, to be replaced.
    Guess,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Measured => "measured",
            Self::FromTheSheet => "from the sheet",
            Self::RuleOfThumb => "rule of thumb",
            Self::Guess => "guess",
        })
    }
}

/// One line of the working.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// What this line finds, in the maker's words.
    pub label: String,
    /// The formula in names.
    pub formula: String,
    /// The formula again with the numbers put in.
    pub numbers: String,
    /// What comes out.
    pub result: String,
    /// Where the formula or a figure in it comes from.
    pub source: String,
}

/// How an answer was found, step by step, in reading order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Working(pub Vec<Step>);

impl Working {
    /// Starts with no steps.
    pub const fn new() -> Self {
        Self(Vec::new())
    }

    /// Adds a step.
    pub fn step(
        &mut self,
        label: impl Into<String>,
        formula: impl Into<String>,
        numbers: impl Into<String>,
        result: impl Into<String>,
        source: impl Into<String>,
    ) {
        self.0.push(Step {
            label: label.into(),
            formula: formula.into(),
            numbers: numbers.into(),
            result: result.into(),
            source: source.into(),
        });
    }

    /// Adds the steps of another working behind these.
    pub fn append(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// The steps in reading order.
    pub fn steps(&self) -> &[Step] {
        &self.0
    }
}
