//! What stands on one label, as typed roles.
//!
//! Every text here is data that is printed as it is. Which elements are due in
//! a market is data too ([`Wording::due`]): whoever knows the market hands it
//! in, and a layout only asks.

use std::fmt;

use crate::caution;

/// A language a label is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Language {
    /// English.
    En,
    /// German.
    De,
    /// French.
    Fr,
    /// Spanish.
    Es,
}

impl Language {
    /// Every language.
    pub const ALL: [Self; 4] = [Self::En, Self::De, Self::Fr, Self::Es];

    /// Its code (ISO 639-1): `en`.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
            Self::Fr => "fr",
            Self::Es => "es",
        }
    }

    /// Reads a code; there is no language for another text.
    pub fn parse(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.tag() == tag)
    }

    /// Its name in English.
    pub const fn name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::De => "German",
            Self::Fr => "French",
            Self::Es => "Spanish",
        }
    }

    /// The word before a lot code.
    pub const fn lot(self) -> &'static str {
        match self {
            Self::En | Self::Fr => "Lot",
            Self::De => "Los",
            Self::Es => "Lote",
        }
    }

    /// The words before the day up to which the scent is at its best.
    pub const fn best_by(self) -> &'static str {
        match self {
            Self::En => "Best scent by",
            Self::De => "Bester Duft bis",
            Self::Fr => "Meilleur parfum avant",
            Self::Es => "Mejor aroma antes de",
        }
    }

    /// The word before the names of what is in it.
    pub const fn contains(self) -> &'static str {
        match self {
            Self::En => "Contains",
            Self::De => "Enthält",
            Self::Fr => "Contient",
            Self::Es => "Contiene",
        }
    }

    /// A colon as this language sets it.
    pub const fn colon(self) -> &'static str {
        match self {
            // A narrow no-break space before it.
            Self::Fr => "\u{202f}:",
            Self::En | Self::De | Self::Es => ":",
        }
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A part of a label.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// The maker's name.
    Maker,
    /// The name of the product or scent.
    Name,
    /// What the thing is: "scented wax melt".
    Identity,
    /// How much is in it.
    NetWeight,
    /// Fire safety or use.
    Cautions,
    /// The hazard label.
    Hazard,
    /// The unique formula identifier.
    FormulaIdentifier,
    /// Names of allergens outside the hazard label.
    Allergens,
    /// Where the maker is.
    Address,
    /// Where to write or ring.
    Contact,
    /// The lot code.
    Lot,
    /// The day up to which the scent is at its best.
    BestBy,
    /// Care symbols.
    Care,
    /// The bar code.
    Barcode,
    /// The square code.
    Qr,
}

impl Role {
    /// Every role, as read from the top of the front to the foot of the back.
    pub const ALL: [Self; 15] = [
        Self::Maker,
        Self::Name,
        Self::Identity,
        Self::NetWeight,
        Self::Cautions,
        Self::Hazard,
        Self::FormulaIdentifier,
        Self::Allergens,
        Self::Address,
        Self::Contact,
        Self::Lot,
        Self::BestBy,
        Self::Care,
        Self::Barcode,
        Self::Qr,
    ];

    /// Its name in a sentence: "the net weight".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Maker => "the maker's name",
            Self::Name => "the product's name",
            Self::Identity => "what it is",
            Self::NetWeight => "the net weight",
            Self::Cautions => "the cautions",
            Self::Hazard => "the hazard label",
            Self::FormulaIdentifier => "the formula identifier",
            Self::Allergens => "the allergen names",
            Self::Address => "the address",
            Self::Contact => "the contact",
            Self::Lot => "the lot code",
            Self::BestBy => "the best-scent-by date",
            Self::Care => "the care symbols",
            Self::Barcode => "the bar code",
            Self::Qr => "the QR code",
        }
    }

    /// Whether it belongs to the front of a label in two parts.
    pub const fn is_front(self) -> bool {
        matches!(
            self,
            Self::Maker | Self::Name | Self::Identity | Self::NetWeight
        )
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A text in a language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The language.
    pub language: Language,
    /// The text, printed as it is.
    pub text: String,
}

/// Which part of the letters has to reach a height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// The capital, in a statement all in capitals but for the symbols of SI
    /// units. The digits reach it too.
    Capital,
    /// The small letter `o`, in a statement of capitals and small letters.
    SmallO,
    /// The digits.
    Digit,
    /// The small letters, however few they are.
    SmallLetter,
}

impl Reach {
    /// What is measured: "capitals".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Capital => "capitals and digits",
            Self::SmallO => "the small letter o",
            Self::Digit => "digits",
            Self::SmallLetter => "small letters",
        }
    }
}

/// A least height of letters.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightRule {
    /// What has to reach it.
    pub reach: Reach,
    /// The height, mm.
    pub least_mm: f64,
    /// Where that is written.
    pub source: String,
}

/// Where the statement of the net weight has to stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Placement {
    /// It lies within this lowest share of the panel, where that is asked.
    pub lowest_share: Option<f64>,
    /// Free above and below, in heights of its own letters.
    pub clear_heights: f64,
    /// Free at its sides, in widths of its own letter N.
    pub clear_n_widths: f64,
    /// Where that is written.
    pub source: String,
}

/// The statement of the net weight.
#[derive(Debug, Clone, PartialEq)]
pub struct NetWeight {
    /// The words: `NET WT 1.4 OZ (39 g)`.
    pub text: String,
    /// How high its letters have to be; all of them hold.
    pub heights: Vec<HeightRule>,
    /// Where it has to stand, where a rule says so.
    pub placement: Option<Placement>,
    /// Least height of the mark ℮ beside it, mm; none without the mark.
    pub e_mark_mm: Option<f64>,
}

/// How small a hazard label may be set.
#[derive(Debug, Clone, PartialEq)]
pub struct HazardSizes {
    /// Height of a lower-case x, mm.
    pub x_height_mm: f64,
    /// Whether that height, black on white and a face without serifs are law on
    /// the day of the label.
    pub format_is_law: bool,
    /// Side of a pictogram's frame, mm, never less.
    pub pictogram_mm: f64,
    /// The side wanted where there is room, mm.
    pub pictogram_wanted_mm: f64,
    /// Distance of two lines in sizes of the type.
    pub leading: f64,
}

/// The hazard label in one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HazardText {
    /// The language.
    pub language: Language,
    /// Substances named beside the product.
    pub substances: Vec<String>,
    /// "Warning", "Danger".
    pub signal: Option<String>,
    /// Hazard statements.
    pub statements: Vec<String>,
    /// Precautionary statements.
    pub precautions: Vec<String>,
    /// Supplemental statements.
    pub supplemental: Vec<String>,
}

/// The hazard label.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazard {
    /// Codes of the pictograms: `GHS07`.
    pub pictograms: Vec<String>,
    /// The words, one entry a language.
    pub texts: Vec<HazardText>,
    /// How small it may be set.
    pub sizes: HazardSizes,
}

/// A drawing of what to mind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Care {
    /// Mind: a triangle with an exclamation mark.
    Warning,
    /// Burn within sight.
    WithinSight,
    /// Keep away from what burns.
    AwayFromWhatBurns,
    /// Keep from children and pets.
    ChildrenAndPets,
    /// Keep candles apart.
    Apart,
    /// Trim the wick.
    TrimWick,
    /// No longer than four hours.
    FourHours,
    /// On a surface that bears heat.
    HeatProof,
    /// For a warmer only.
    WarmerOnly,
    /// Not to be eaten.
    DoNotEat,
    /// The wax is hot.
    HotWax,
    /// Out of the sun.
    OutOfSun,
    /// Into the bin, not the drain.
    BinNotDrain,
}

impl Care {
    /// Every drawing.
    pub const ALL: [Self; 13] = [
        Self::Warning,
        Self::WithinSight,
        Self::AwayFromWhatBurns,
        Self::ChildrenAndPets,
        Self::Apart,
        Self::TrimWick,
        Self::FourHours,
        Self::HeatProof,
        Self::WarmerOnly,
        Self::DoNotEat,
        Self::HotWax,
        Self::OutOfSun,
        Self::BinNotDrain,
    ];

    /// What it says, in English.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Warning => "warning",
            Self::WithinSight => "keep it within sight",
            Self::AwayFromWhatBurns => "keep away from what can catch fire",
            Self::ChildrenAndPets => "keep from children and pets",
            Self::Apart => "keep candles apart",
            Self::TrimWick => "trim the wick",
            Self::FourHours => "no longer than four hours",
            Self::HeatProof => "on a surface that bears heat",
            Self::WarmerOnly => "for a warmer only",
            Self::DoNotEat => "do not eat",
            Self::HotWax => "the wax gets hot",
            Self::OutOfSun => "keep out of the sun",
            Self::BinNotDrain => "into the bin, not the drain",
        }
    }
}

/// An element a market asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// Which.
    pub role: Role,
    /// Why, with the place in the rule.
    pub why: String,
}

/// Everything that may stand on one label. What is empty does not stand on it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wording {
    /// The languages, the leading one first.
    pub languages: Vec<Language>,
    /// The maker's name.
    pub maker: String,
    /// The name of the product or scent.
    pub name: String,
    /// What the thing is, in each language.
    pub identity: Vec<Said>,
    /// The net weight.
    pub net_weight: Option<NetWeight>,
    /// The address, a line each.
    pub address: Vec<String>,
    /// Electronic address or telephone.
    pub contact: Vec<String>,
    /// The lot code.
    pub lot: Option<String>,
    /// The day up to which the scent is at its best, written out.
    pub best_by: Option<String>,
    /// Fire safety or use, one entry a language.
    pub cautions: Vec<caution::Cautions>,
    /// The hazard label.
    pub hazard: Option<Hazard>,
    /// The unique formula identifier, without the letters UFI.
    pub formula_identifier: Option<String>,
    /// Names of allergens outside the hazard label.
    pub allergens: Vec<String>,
    /// Care symbols.
    pub care: Vec<Care>,
    /// The digits of the bar code, check digit included.
    pub gtin: Option<String>,
    /// What the square code holds.
    pub qr: Option<String>,
    /// Which elements the market asks for.
    pub due: Vec<Due>,
}

impl Wording {
    /// The leading language; English where none is named.
    pub fn lead(&self) -> Language {
        self.languages.first().copied().unwrap_or(Language::En)
    }

    /// Whether there is something to print in a role.
    pub fn has(&self, role: Role) -> bool {
        match role {
            Role::Maker => !blank(&self.maker),
            Role::Name => !blank(&self.name),
            Role::Identity => self.identity.iter().any(|one| !blank(&one.text)),
            Role::NetWeight => self
                .net_weight
                .as_ref()
                .is_some_and(|net| !blank(&net.text)),
            Role::Cautions => self.cautions.iter().any(|one| !one.lines.is_empty()),
            Role::Hazard => self.hazard.is_some(),
            Role::FormulaIdentifier => self.formula_identifier.as_deref().is_some_and(some),
            Role::Allergens => self.allergens.iter().any(|one| !blank(one)),
            Role::Address => self.address.iter().any(|one| !blank(one)),
            Role::Contact => self.contact.iter().any(|one| !blank(one)),
            Role::Lot => self.lot.as_deref().is_some_and(some),
            Role::BestBy => self.best_by.as_deref().is_some_and(some),
            Role::Care => !self.care.is_empty(),
            Role::Barcode => self.gtin.as_deref().is_some_and(some),
            Role::Qr => self.qr.as_deref().is_some_and(some),
        }
    }

    /// Why the market asks for a role; none where it does not.
    pub fn why_due(&self, role: Role) -> Option<&str> {
        self.due
            .iter()
            .find(|due| due.role == role)
            .map(|due| due.why.as_str())
    }

    /// What is due and not there.
    pub fn missing(&self) -> Vec<&Due> {
        self.due.iter().filter(|due| !self.has(due.role)).collect()
    }
}

fn blank(text: &str) -> bool {
    text.trim().is_empty()
}

fn some(text: &str) -> bool {
    !blank(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_due_and_empty_is_missing() {
        let wording = Wording {
            name: "Harbour Fig".to_owned(),
            lot: Some("  ".to_owned()),
            due: [Role::Name, Role::Lot, Role::NetWeight]
                .map(|role| Due {
                    role,
                    why: String::new(),
                })
                .to_vec(),
            ..Wording::default()
        };
        let missing: Vec<Role> = wording.missing().iter().map(|due| due.role).collect();
        assert_eq!(missing, [Role::Lot, Role::NetWeight]);
        assert_eq!(wording.lead(), Language::En);
    }

    #[test]
    fn a_language_is_found_again_by_its_code() {
        for one in Language::ALL {
            assert_eq!(Language::parse(one.tag()), Some(one));
        }
        assert_eq!(Language::parse("nl"), None);
    }
}
