//! The compiled tables: substances as a first fill and a cross-check, the
//! statements' words, the classes.
//!
//! The supplier's current safety data sheet overrides every row of a
//! substance. What a row rests on is kept class by class, and memory is called
//! memory.

use std::fmt;

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::cas::Cas;
use crate::class::Hazard;
use crate::ingredient::{AcuteEstimate, Band, EstimateKind, Ingredient};
use crate::share::Share;

mod classes;
mod phrases;
mod substances;

/// What a class, a factor or a text rests on, the firmest first.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The maker's own current sheet.
    Sheet,
    /// The harmonised list, CLP Annex VI, Part 3, Table 3.
    Harmonised,
    /// Commonly notified, and a public list gives it too.
    Corroborated,
    /// Commonly notified, from memory: a question to the supplier.
    Unconfirmed,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Sheet => "from your sheet",
            Self::Harmonised => "harmonised list",
            Self::Corroborated => "usual, and on a public list",
            Self::Unconfirmed => "unconfirmed",
        })
    }
}

/// A class of a substance with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Classed {
    text: &'static str,
    /// What it rests on.
    pub basis: Basis,
}

impl Classed {
    /// The class with its statement.
    pub fn hazard(&self) -> Hazard {
        Hazard::parse(self.text).expect("a test reads the classes of every row")
    }
}

/// A specific concentration limit of the harmonised list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    class: &'static str,
    from: &'static str,
}

impl Limit {
    /// The limit as an ingredient carries it.
    pub fn band(&self) -> Band {
        let hazard = Hazard::parse(self.class).expect("a test reads the limits of every row");
        Band {
            class: hazard.class,
            from: decimal(self.from).expect("a test reads the limits of every row"),
            below: None,
        }
    }
}

/// A row of the table of substances. An empty text means nothing is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Substance {
    number: u64,
    /// The name as labels and sheets show it.
    pub name: &'static str,
    /// Other names.
    pub synonyms: &'static [&'static str],
    /// EC or list number.
    pub ec: &'static str,
    /// Index number of CLP Annex VI, Table 3.
    pub index_no: &'static str,
    /// The edition that made or last changed the harmonised entry; `CLP00` is
    /// the regulation itself, `ATP17` its 17th adaptation.
    pub edition: &'static str,
    /// Its classes; none means that notifiers commonly give none, never that
    /// it is harmless.
    pub classes: &'static [Classed],
    /// Its M-factor for Aquatic Acute 1, with what it rests on.
    pub m_acute: Option<(u32, Basis)>,
    /// Its M-factor for Aquatic Chronic 1, with what it rests on.
    pub m_chronic: Option<(u32, Basis)>,
    /// Specific limits of the harmonised list.
    pub limits: &'static [Limit],
    /// Harmonised estimate, swallowed.
    pub ate_oral_mg_kg: &'static str,
    /// Harmonised estimate, vapour breathed in.
    pub ate_vapour_mg_l: &'static str,
    /// Letters of the notes to its harmonised entry.
    pub annex_vi_notes: &'static str,
    /// Statements that the Australian or the Japanese list gives and this row
    /// does not.
    pub seen_elsewhere: &'static [&'static str],
    /// What the Australian Hazardous Chemical Information System gives (2022).
    pub australia: &'static str,
    /// What the Japanese government's GHS results give.
    pub japan: &'static str,
    /// Flash point, closed cup; `>100` where only a bound is known.
    pub flash_point_c: &'static str,
    /// What the flash point rests on.
    pub flash_point_source: &'static str,
    /// The edition of the EU's list of fragrance allergens in cosmetics that
    /// names it.
    pub allergen: &'static str,
    /// Rough family.
    pub group: &'static str,
    /// Sources of the row.
    pub source: &'static str,
    /// Cautions.
    pub remark: &'static str,
}

/// A substance of the table put into a composition, nothing of it confirmed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstFill {
    /// The line, to be held against the sheet. Factors from memory are left
    /// out of it, so that what follows is not reckoned as if they were known.
    pub ingredient: Ingredient,
    /// What each of its classes rests on, in the order of the ingredient's.
    pub basis: Vec<Basis>,
    /// What to ask the supplier, in words.
    pub questions: Vec<String>,
}

/// A point in which the maker's sheet and the table differ. Both are shown and
/// neither is settled here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Disagreement {
    /// What it is about: a class, a factor, a limit.
    pub about: String,
    /// What the maker's sheet gives.
    pub sheet: String,
    /// What the table gives.
    pub table: String,
    /// What the table's side rests on.
    pub basis: Basis,
}

impl Substance {
    /// Its CAS number.
    pub fn cas(&self) -> Cas {
        Cas::of_digits(self.number).expect("a test verifies the check digit of every row")
    }

    /// Its line in a composition, as a first fill for the maker to hold
    /// against the sheet.
    pub fn ingredient(&self, share: Share) -> FirstFill {
        let firm = |factor: Option<(u32, Basis)>| {
            factor.and_then(|(m, basis)| (basis < Basis::Unconfirmed).then_some(m))
        };
        let mut questions = Vec::new();
        let open: Vec<String> = self
            .classes
            .iter()
            .filter(|class| class.basis == Basis::Unconfirmed)
            .map(|class| class.hazard().to_string())
            .collect();
        if !open.is_empty() {
            questions.push(format!(
                "Does your sheet give {} {}? No public list confirms it.",
                self.name,
                open.join(", ")
            ));
        }
        if self.classes.is_empty() {
            questions.push(format!(
                "Does your sheet give {} no class? Suppliers commonly give it none.",
                self.name
            ));
        }
        for (factor, kind) in [(self.m_acute, "acute"), (self.m_chronic, "chronic")] {
            if let Some((m, Basis::Unconfirmed)) = factor {
                questions.push(format!(
                    "Which {kind} M-factor does your sheet give {}? {m} is usual, but unconfirmed.",
                    self.name
                ));
            }
        }
        if !self.seen_elsewhere.is_empty() {
            questions.push(format!(
                "Other public lists give {} also {}.",
                self.name,
                self.seen_elsewhere.join(", ")
            ));
        }
        FirstFill {
            ingredient: Ingredient {
                name: self.name.to_owned(),
                cas: Some(self.cas()),
                share,
                hazards: Some(self.classes.iter().map(Classed::hazard).collect()),
                m_acute: firm(self.m_acute),
                m_chronic: firm(self.m_chronic),
                estimates: self.estimates(),
                bands: self.limits.iter().map(Limit::band).collect(),
            },
            basis: self.classes.iter().map(|class| class.basis).collect(),
            questions,
        }
    }

    /// The harmonised estimates of its acute toxicity.
    pub fn estimates(&self) -> Vec<AcuteEstimate> {
        [
            (EstimateKind::Oral, self.ate_oral_mg_kg),
            (EstimateKind::Vapour, self.ate_vapour_mg_l),
        ]
        .into_iter()
        .filter_map(|(kind, text)| {
            Some(AcuteEstimate {
                kind,
                value: decimal(text)?,
                above: false,
            })
        })
        .collect()
    }

    fn matches(&self, needle: &str) -> bool {
        std::iter::once(&self.name)
            .chain(self.synonyms)
            .any(|name| name.to_lowercase().starts_with(needle))
    }
}

/// The substance with that CAS number, if the table has it.
pub fn substance(cas: Cas) -> Option<&'static Substance> {
    substances::SUBSTANCES
        .binary_search_by_key(&cas.digits(), |row| row.number)
        .ok()
        .and_then(|idx| substances::SUBSTANCES.get(idx))
}

/// Every substance, by CAS number.
pub fn all() -> &'static [Substance] {
    substances::SUBSTANCES
}

/// The substances one of whose names begins so, or whose CAS number does; at
/// most `most`, by name. Letter case is forgiven.
pub fn search(text: &str, most: usize) -> Vec<&'static Substance> {
    let needle = text.trim().to_lowercase();
    if needle.is_empty() {
        return Vec::new();
    }
    let by_number = needle.starts_with(|sign: char| sign.is_ascii_digit());
    let mut found: Vec<&Substance> = all()
        .iter()
        .filter(|row| {
            row.matches(&needle) || (by_number && row.cas().to_string().starts_with(&needle))
        })
        .collect();
    found.sort_by_key(|row| (!row.name.to_lowercase().starts_with(&needle), row.name));
    found.truncate(most);
    found
}

/// Where a line of the maker's sheet and the table differ. A line without a
/// statement about its classes disagrees in nothing.
pub fn compare(sheet: &Ingredient, table: &Substance) -> Vec<Disagreement> {
    let mut found = Vec::new();
    if let Some(given) = &sheet.hazards {
        for classed in table.classes {
            let listed = classed.hazard();
            let same = |hazard: &Hazard| {
                hazard.class == listed.class && hazard.h_code() == listed.h_code()
            };
            if given.iter().any(same) {
                continue;
            }
            let kin: Vec<String> = given
                .iter()
                .filter(|hazard| family(**hazard) == family(listed))
                .map(ToString::to_string)
                .collect();
            found.push(Disagreement {
                about: listed.class.code().to_owned(),
                sheet: if kin.is_empty() {
                    "not given".to_owned()
                } else {
                    kin.join(", ")
                },
                table: classed.text.to_owned(),
                basis: classed.basis,
            });
        }
        for hazard in given {
            let known = table
                .classes
                .iter()
                .any(|classed| family(classed.hazard()) == family(*hazard));
            if !known {
                let elsewhere = hazard
                    .h_code()
                    .is_some_and(|code| table.seen_elsewhere.contains(&code.as_str()));
                found.push(Disagreement {
                    about: hazard.class.code().to_owned(),
                    sheet: hazard.to_string(),
                    table: if elsewhere {
                        "not usual; given by a public list outside Europe".to_owned()
                    } else {
                        "not given".to_owned()
                    },
                    // That the table says nothing is itself unconfirmed.
                    basis: Basis::Unconfirmed,
                });
            }
        }
    }
    let factors = [
        ("M-factor, acute", sheet.m_acute, table.m_acute),
        ("M-factor, chronic", sheet.m_chronic, table.m_chronic),
    ];
    for (about, given, listed) in factors {
        if let (Some(given), Some((listed, basis))) = (given, listed)
            && given != listed
        {
            found.push(Disagreement {
                about: about.to_owned(),
                sheet: given.to_string(),
                table: listed.to_string(),
                basis,
            });
        }
    }
    for limit in table.limits {
        let listed = limit.band();
        let own = sheet
            .bands
            .iter()
            .find(|band| family(band.class.into()) == family(listed.class.into()));
        if own.is_none_or(|own| own.from != listed.from) {
            found.push(Disagreement {
                about: format!("limit of {}", listed.class),
                sheet: own.map_or_else(
                    || "not given".to_owned(),
                    |own| format!(">= {} %", own.from),
                ),
                table: format!(">= {} %", listed.from),
                basis: Basis::Harmonised,
            });
        }
    }
    for listed in table.estimates() {
        let own = sheet
            .estimates
            .iter()
            .find(|estimate| estimate.kind == listed.kind);
        if let Some(own) = own
            && (own.value != listed.value || own.above)
        {
            found.push(Disagreement {
                about: format!("acute estimate, {}", listed.kind),
                sheet: format!("{}{}", if own.above { "> " } else { "" }, own.value),
                table: listed.value.to_string(),
                basis: Basis::Harmonised,
            });
        }
    }
    found
}

/// A class without its category: two classes of one family are two answers to
/// one question.
fn family(hazard: Hazard) -> String {
    let class = hazard.class;
    if let Some((route, _)) = class.acute() {
        return format!("acute {route}");
    }
    let code = class.code();
    match code.rsplit_once(' ').map_or(code, |(name, _)| name) {
        // Corrosion and irritation of the same place are one question.
        "Skin Corr." | "Skin Irrit." => "skin".to_owned(),
        "Eye Dam." | "Eye Irrit." => "eye".to_owned(),
        // Irritated airways and drowsiness are two questions more.
        "STOT SE" if code.ends_with('3') => class.h_codes().concat(),
        other => other.to_owned(),
    }
}

/// A statement's official words in the languages of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Phrase {
    pub(crate) code: &'static str,
    /// Whether the law still has it.
    pub(crate) current: bool,
    /// The texts in the order of [`crate::phrase::Language::ALL`].
    pub(crate) texts: [Worded; 4],
    pub(crate) note: &'static str,
}

/// A text with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Worded {
    /// Empty where there is none.
    pub(crate) text: &'static str,
    pub(crate) source: &'static str,
    /// Whether something else than memory gives it.
    pub(crate) confirmed: bool,
}

/// The row of a statement.
pub(crate) fn phrase(code: &str) -> Option<&'static Phrase> {
    phrases::PHRASES
        .binary_search_by_key(&code, |row| row.code)
        .ok()
        .and_then(|idx| phrases::PHRASES.get(idx))
}

/// Every statement, by code.
#[cfg(test)]
pub(crate) fn phrases() -> &'static [Phrase] {
    phrases::PHRASES
}

/// A hazard class with its label elements (CLP Annex I, Parts 2 to 5).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassRow {
    /// The class in words: `Skin sensitisation`.
    pub name: &'static str,
    /// The category: `1B`.
    pub category: &'static str,
    /// The abbreviation: `Skin Sens. 1B`.
    pub code: &'static str,
    /// Its statements.
    pub h_codes: &'static [&'static str],
    /// The signal word in English, empty for none.
    pub signal: &'static str,
    /// Its pictograms.
    pub pictograms: &'static [&'static str],
}

/// Every class in the order of Annex I.
pub fn classes() -> &'static [ClassRow] {
    classes::CLASSES
}

fn decimal(text: &str) -> Option<Decimal> {
    Decimal::from_str_exact(text).ok()
}
