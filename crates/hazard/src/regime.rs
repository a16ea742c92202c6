//! Whose law, and on which day.

use std::fmt;

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The law a label answers to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
pub enum Jurisdiction {
    /// Regulation (EC) No 1272/2008 in the European Union, the EEA and
    /// Northern Ireland.
    #[serde(rename = "EU")]
    Eu,
    /// The same regulation as retained in Great Britain.
    #[serde(rename = "GB")]
    Gb,
    /// The United Nations' Globally Harmonized System, revision 7, with its
    /// stricter options; a yardstick, not the law of a country.
    #[serde(rename = "UN")]
    Un,
}

impl fmt::Display for Jurisdiction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Eu => "EU CLP",
            Self::Gb => "GB CLP",
            Self::Un => "UN GHS Rev. 7",
        })
    }
}

/// The switches in which the laws differ, as they stand on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// Whose law.
    pub jurisdiction: Jurisdiction,
    /// The day it is read on.
    pub on: Date,
    /// Whether the endocrine, PBT and PMT classes apply to a mixture first sold
    /// on that day.
    pub endocrine_and_persistent: bool,
    /// Whether acute estimates between 2000 and 5000 mg/kg enter the sum.
    pub acute_category_5: bool,
    /// Whether the label's type sizes are law already rather than advice.
    pub label_format: bool,
}

impl Rules {
    /// The law of a place on a day, for a mixture first sold that day.
    ///
    /// # Source
    ///
    /// Delegated Regulation (EU) 2023/707: new mixtures carry the endocrine,
    /// PBT and PMT classes from 1 May 2026. Regulation (EU) 2025/2439: the
    /// label's format is postponed to 1 January 2028. Neither is law in Great
    /// Britain (HSE). The 2000 to 5000 mg/kg range enters under the UN's
    /// category 5 only; CLP Annex I 3.1.3.6.1 (a) and Table 3.1.1 stop at 2000.
    pub fn of(jurisdiction: Jurisdiction, on: Date) -> Self {
        let eu = jurisdiction == Jurisdiction::Eu;
        Self {
            jurisdiction,
            on,
            endocrine_and_persistent: eu && on >= jiff::civil::date(2026, 5, 1),
            acute_category_5: jurisdiction == Jurisdiction::Un,
            label_format: eu && on >= jiff::civil::date(2028, 1, 1),
        }
    }
}
