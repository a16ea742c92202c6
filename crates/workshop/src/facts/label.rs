//! What a supplier's safety data sheet says, and what a label said of it.

use formula::FragranceLoad;
use hazard::{
    AcuteEstimate, Band, Cas, EstimateKind, Hazard, Ingredient, Jurisdiction, Language, Share,
};
use jiff::civil::Date;
use measure::Decimal;
use serde::{Deserialize, Serialize};

use super::SupplyId;

/// Where the figures of a line first came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LineBasis {
    /// From the maker's own sheet: typed, pasted or read from its file.
    OwnSheet,
    /// Filled in from the table of substances, as a first guess.
    Table,
}

/// Which part of a good's label a printed one is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LabelPart {
    /// Everything on one label.
    Whole,
    /// The front of two, without a lot code.
    Front,
    /// The back of two, with the lot code.
    Back,
}

/// One line of section 3 of a safety data sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetLine {
    /// The name for the label.
    pub name: String,
    /// Its CAS number, where it has one.
    pub cas: Option<Cas>,
    /// How much of the supply it makes up, with open and closed ends.
    pub share: Share,
    /// Its classes; none where the sheet says nothing of them. An empty list
    /// says that it is not classified.
    #[serde(with = "classes")]
    pub classes: Option<Vec<Hazard>>,
    /// Its multiplying factor for Aquatic Acute 1.
    pub m_acute: Option<u32>,
    /// The same for Aquatic Chronic 1.
    pub m_chronic: Option<u32>,
    /// Acute toxicity estimates.
    pub estimates: Vec<Estimate>,
    /// Specific concentration limits.
    pub limits: Vec<SpecificLimit>,
    /// Where the figures first came from.
    pub basis: LineBasis,
    /// Whether the maker has compared the line with the supplier's own sheet.
    pub confirmed: bool,
}

impl SheetLine {
    /// The line as the rules of classification take it.
    pub fn ingredient(&self) -> Ingredient {
        Ingredient {
            name: self.name.clone(),
            cas: self.cas,
            share: self.share,
            hazards: self.classes.clone(),
            m_acute: self.m_acute,
            m_chronic: self.m_chronic,
            estimates: self.estimates.iter().map(Estimate::estimate).collect(),
            bands: self.limits.iter().map(SpecificLimit::band).collect(),
        }
    }

    /// A line that says of an ingredient what the rules of classification take,
    /// not confirmed.
    pub fn of(ingredient: &Ingredient, basis: LineBasis) -> Self {
        Self {
            name: ingredient.name.clone(),
            cas: ingredient.cas,
            share: ingredient.share,
            classes: ingredient.hazards.clone(),
            m_acute: ingredient.m_acute,
            m_chronic: ingredient.m_chronic,
            estimates: ingredient.estimates.iter().map(Estimate::of).collect(),
            limits: ingredient.bands.iter().map(SpecificLimit::of).collect(),
            basis,
            confirmed: false,
        }
    }
}

/// How something poisonous enters, and the scale its estimate is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Swallowed, mg/kg.
    Oral,
    /// Through the skin, mg/kg.
    Dermal,
    /// Breathed in as gas, ppm.
    Gas,
    /// Breathed in as vapour, mg/l.
    Vapour,
    /// Breathed in as dust or mist, mg/l.
    Mist,
}

/// An acute toxicity estimate of a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Estimate {
    /// The way and the scale.
    pub way: Way,
    /// The figure on that scale.
    #[serde(with = "super::rust_decimal_text")]
    pub value: Decimal,
    /// Whether it is only a bound that was not reached.
    #[serde(default)]
    pub above: bool,
}

impl Estimate {
    fn estimate(&self) -> AcuteEstimate {
        AcuteEstimate {
            kind: match self.way {
                Way::Oral => EstimateKind::Oral,
                Way::Dermal => EstimateKind::Dermal,
                Way::Gas => EstimateKind::Gas,
                Way::Vapour => EstimateKind::Vapour,
                Way::Mist => EstimateKind::Mist,
            },
            value: self.value,
            above: self.above,
        }
    }

    fn of(estimate: &AcuteEstimate) -> Self {
        Self {
            way: match estimate.kind {
                EstimateKind::Oral => Way::Oral,
                EstimateKind::Dermal => Way::Dermal,
                EstimateKind::Gas => Way::Gas,
                EstimateKind::Vapour => Way::Vapour,
                EstimateKind::Mist => Way::Mist,
            },
            value: estimate.value,
            above: estimate.above,
        }
    }
}

/// A specific concentration limit of a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpecificLimit {
    /// The class it leads to.
    pub class: Hazard,
    /// From this many percent, that figure included.
    #[serde(with = "super::rust_decimal_text")]
    pub from: Decimal,
    /// Up to this many percent, that figure left out.
    #[serde(with = "super::optional_decimal_text", default)]
    pub below: Option<Decimal>,
}

impl SpecificLimit {
    fn band(&self) -> Band {
        Band {
            class: self.class.class,
            from: self.from,
            below: self.below,
        }
    }

    fn of(band: &Band) -> Self {
        Self {
            class: band.class.into(),
            from: band.from,
            below: band.below,
        }
    }
}

/// What is left of a supply when a sheet's lines do not reach the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rest {
    /// The supplier knows the whole and names what is hazardous: the rest is
    /// not classified, or below the share at which it has to be named.
    NotHazardous,
    /// Nobody has said.
    Unknown,
}

/// Where goods are sold, as far as the law of labels differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Market {
    /// The European Union, the EEA and Northern Ireland.
    #[serde(rename = "EU")]
    Eu,
    /// Great Britain.
    #[serde(rename = "GB")]
    Gb,
    /// The United States.
    #[serde(rename = "US")]
    Us,
}

impl Market {
    /// Every market.
    pub const ALL: [Self; 3] = [Self::Eu, Self::Gb, Self::Us];

    /// Its name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Eu => "European Union and Northern Ireland",
            Self::Gb => "Great Britain",
            Self::Us => "United States",
        }
    }
}

/// Where a workshop's labels are read, and who stands on them.
///
/// The name and address are the workshop's own, printed on everything it
/// sells; people's addresses are kept elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelSettings {
    /// Where the goods are sold.
    pub markets: Vec<Market>,
    /// The languages of the label, in their order on it.
    pub languages: Vec<Language>,
    /// The supplier named on the label.
    pub name: String,
    /// Its address.
    pub address: String,
    /// Its telephone number.
    pub phone: String,
    /// The VAT number or company key that formula identifiers are made from;
    /// may be empty.
    pub vat: String,
}

impl LabelSettings {
    /// The law a label answers to: where the same label goes to the European
    /// Union too, its rules decide. None where no classification law of this
    /// kind applies.
    pub fn jurisdiction(&self) -> Option<Jurisdiction> {
        if self.markets.contains(&Market::Eu) {
            Some(Jurisdiction::Eu)
        } else if self.markets.contains(&Market::Gb) {
            Some(Jurisdiction::Gb)
        } else {
            None
        }
    }
}

/// Supplemental information on a label, with the substances it names.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Supplemental {
    /// Its code, such as EUH208.
    pub code: String,
    /// The substances it names.
    pub names: Vec<String>,
}

/// The lines of a label in one language, as they were printed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelText {
    /// The language.
    pub language: Language,
    /// Its lines: signal word, statements, precautions, further information.
    pub lines: Vec<String>,
}

/// A label's elements as they were when it was marked ready.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelElements {
    /// Pictograms, such as GHS07.
    pub pictograms: Vec<String>,
    /// The signal word in English: Danger, Warning or none.
    pub signal_word: Option<String>,
    /// Hazard statements.
    pub statements: Vec<String>,
    /// Precautionary statements.
    pub precautions: Vec<String>,
    /// Supplemental information.
    pub supplemental: Vec<Supplemental>,
    /// Substances named because of what they do.
    pub names: Vec<String>,
    /// The texts.
    pub texts: Vec<LabelText>,
}

/// A unique formula identifier with the number it was made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Identifier {
    /// The formulation number.
    pub number: u32,
    /// The identifier.
    pub ufi: String,
}

/// What a label rested on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelGround {
    /// The revision of the good's formula.
    pub revision: u32,
    /// The load of that revision.
    pub load: FragranceLoad,
    /// Each sheet used: the supply, and the number of its sheet, from 1.
    pub sheets: Vec<(SupplyId, u32)>,
    /// Whose law.
    pub jurisdiction: Jurisdiction,
    /// The day it was read on.
    pub read_on: Date,
}

mod classes {
    use hazard::Hazard;
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

    /// An asterisk of the harmonised list ("at least this") is kept.
    #[expect(clippy::ref_option, reason = "the signature serde asks for")]
    pub(super) fn serialize<S: Serializer>(
        value: &Option<Vec<Hazard>>,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        let texts = value.as_ref().map(|hazards| {
            let text = |hazard: &Hazard| {
                if hazard.minimum {
                    format!("{hazard} *")
                } else {
                    hazard.to_string()
                }
            };
            hazards.iter().map(text).collect::<Vec<_>>()
        });
        texts.serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Option<Vec<Hazard>>, D::Error> {
        Option::<Vec<String>>::deserialize(from)?
            .map(|texts| {
                let read = |text: &String| Hazard::parse(text).map_err(de::Error::custom);
                texts.iter().map(read).collect()
            })
            .transpose()
    }
}
