//! What a label must carry: from a classification to pictograms, signal word,
//! statements and names.
//!
//! Nothing here is dropped in silence: what the law lets go, and what was
//! chosen among precautions, is listed with the reason.

use std::fmt;

use measure::Working;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::class::{Class, Hazard};
use crate::pack::{Closures, Due, Relief, Sizes};
use crate::phrase::{self, Language, Line, Missing, OwnWords};
use crate::precaution::{self, Choice};
use crate::regime::{Jurisdiction, Rules};

pub mod calculation;

pub use calculation::calculate;

/// What is said instead of a label for the United States.
pub const UNITED_STATES: &str = "In the United States consumer goods answer to the Federal \
Hazardous Substances Act (15 U.S.C. 1261, 16 CFR Part 1500), not to the GHS. It asks whether the \
article is toxic, corrosive, an irritant, a strong sensitizer, flammable or pressure-generating \
and may cause substantial injury in customary or foreseeable handling, with a child's in mind. \
There is no adding up of ingredients, so no class, pictogram or GHS statement follows from this \
calculation, and none is owed. If it is hazardous, the label must say so as 15 U.S.C. 1261(p)(1) \
lists. Strong sensitizers are named in 16 CFR 1500.13; among them products with 2 % or more of \
oil of bergamot. The laws of single states are not covered here.";

/// A pictogram of the Globally Harmonized System.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "UPPERCASE")]
pub enum Pictogram {
    /// Exploding bomb.
    Ghs01,
    /// Flame.
    Ghs02,
    /// Flame over circle.
    Ghs03,
    /// Gas cylinder.
    Ghs04,
    /// Corrosion.
    Ghs05,
    /// Skull and crossbones.
    Ghs06,
    /// Exclamation mark.
    Ghs07,
    /// Health hazard.
    Ghs08,
    /// Environment.
    Ghs09,
}

impl Pictogram {
    /// Every pictogram.
    pub const ALL: [Self; 9] = [
        Self::Ghs01,
        Self::Ghs02,
        Self::Ghs03,
        Self::Ghs04,
        Self::Ghs05,
        Self::Ghs06,
        Self::Ghs07,
        Self::Ghs08,
        Self::Ghs09,
    ];

    /// Its code: `GHS07`.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Ghs01 => "GHS01",
            Self::Ghs02 => "GHS02",
            Self::Ghs03 => "GHS03",
            Self::Ghs04 => "GHS04",
            Self::Ghs05 => "GHS05",
            Self::Ghs06 => "GHS06",
            Self::Ghs07 => "GHS07",
            Self::Ghs08 => "GHS08",
            Self::Ghs09 => "GHS09",
        }
    }

    /// What it shows.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ghs01 => "exploding bomb",
            Self::Ghs02 => "flame",
            Self::Ghs03 => "flame over circle",
            Self::Ghs04 => "gas cylinder",
            Self::Ghs05 => "corrosion",
            Self::Ghs06 => "skull and crossbones",
            Self::Ghs07 => "exclamation mark",
            Self::Ghs08 => "health hazard",
            Self::Ghs09 => "environment",
        }
    }
}

impl fmt::Display for Pictogram {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// The word above the statements.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
pub enum SignalWord {
    /// For the severer hazards.
    Danger,
    /// For the less severe ones.
    Warning,
}

impl SignalWord {
    /// The word in a language.
    ///
    /// # Source
    ///
    /// CLP Article 2(4) in the four language versions; `docs/sources.md`,
    /// "Hazard".
    pub const fn text(self, language: Language) -> &'static str {
        match (self, language) {
            (Self::Danger, Language::En | Language::Fr) => "Danger",
            (Self::Danger, Language::De) => "Gefahr",
            (Self::Danger, Language::Es) => "Peligro",
            (Self::Warning, Language::En) => "Warning",
            (Self::Warning, Language::De) => "Achtung",
            (Self::Warning, Language::Fr) => "Attention",
            (Self::Warning, Language::Es) => "Atención",
        }
    }
}

impl fmt::Display for SignalWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text(Language::En))
    }
}

/// Who it is sold to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Audience {
    /// Anyone.
    Public,
    /// People at work with it.
    Professional,
}

/// Whether it is sold solid or liquid at 20 °C.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// A melt, a candle.
    Solid,
    /// An oil in a bottle.
    Liquid,
}

/// What was found about a mixture, as far as the label needs it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Declared {
    /// Its classes.
    pub hazards: Vec<Hazard>,
    /// Substances that lead to a class for which they must be named.
    pub named: Vec<String>,
    /// Sensitisers at or above their elicitation limit that do not classify
    /// the mixture.
    pub sensitisers_below: Vec<String>,
    /// Share of ingredients of unknown acute toxicity, percent.
    pub unknown_acute: Decimal,
    /// Share of ingredients whose hazard to water is unknown, percent.
    pub unknown_aquatic: Decimal,
    /// Whether it holds what obliges to give a data sheet on request though
    /// unclassified (CLP Annex II, 2.10).
    pub sheet_on_request: bool,
    /// Whether there is a concern for dry skin without the class of an
    /// irritant (CLP Annex II, 1.2.4).
    pub dries_skin: bool,
}

/// Where, to whom and in what it is sold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// The law and the day.
    pub rules: Rules,
    /// Who buys it.
    pub audience: Audience,
    /// Solid or liquid.
    pub state: State,
    /// Whether it is warmed or burnt in use, so that vapour is breathed.
    pub warmed: bool,
    /// Whether instructions for use come with it.
    pub instructions: bool,
    /// What the package holds when full, where known.
    pub capacity_ml: Option<Decimal>,
    /// The languages of the label.
    pub languages: Vec<Language>,
    /// Whether what small packages may leave out is to be left out: the maker
    /// states that neither a fold-out, nor a tag, nor an outer packaging can
    /// carry the whole label.
    pub no_room: bool,
    /// The maker's words for gaps and for texts the tables lack.
    pub own: OwnWords,
    /// Names and claims on the pack, looked through for forbidden words.
    pub claims: Vec<String>,
}

impl Setting {
    /// A melt sold to anyone, warmed in use, with a label in `languages`.
    pub fn melt(rules: Rules, languages: &[Language]) -> Self {
        Self {
            rules,
            audience: Audience::Public,
            state: State::Solid,
            warmed: true,
            instructions: false,
            capacity_ml: None,
            languages: languages.to_vec(),
            no_room: false,
            own: OwnWords::new(),
            claims: Vec::new(),
        }
    }
}

/// Something the label need not carry, with the reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct LeftOut {
    /// The pictogram or statement.
    pub what: String,
    /// Why it goes.
    pub why: String,
    /// The paragraph.
    pub law: String,
}

/// A supplemental statement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Supplement {
    /// `EUH208`.
    pub code: String,
    /// The substances it names.
    pub substances: Vec<String>,
    /// Why it is due, with the paragraph.
    pub why: String,
}

/// The label in one language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Wording {
    /// The language.
    pub language: Language,
    /// The signal word.
    pub signal_word: Option<String>,
    /// Hazard statements.
    pub hazard: Vec<Line>,
    /// Precautionary statements.
    pub precautionary: Vec<Line>,
    /// Supplemental statements.
    pub supplemental: Vec<Line>,
    /// What has no text; one entry stops the label in this language.
    pub missing: Vec<Missing>,
}

impl Wording {
    /// Whether every statement has its text.
    pub fn is_complete(&self) -> bool {
        self.missing.is_empty()
    }
}

/// Everything the law asks of the label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Elements {
    /// Whether a label by this law is due at all.
    pub due: bool,
    /// Its pictograms.
    pub pictograms: Vec<Pictogram>,
    /// Its signal word.
    pub signal_word: Option<SignalWord>,
    /// Codes of its hazard statements, in the order of the classes.
    pub hazard_statements: Vec<String>,
    /// The precautions chosen, by code, each with its reason.
    pub precautionary: Vec<Choice>,
    /// Precautions that no law asks for here but a maker may add, apart from
    /// the rest.
    pub voluntary: Vec<String>,
    /// Supplemental statements.
    pub supplemental: Vec<Supplement>,
    /// Substances to name beside the product's name.
    pub named: Vec<String>,
    /// What was left out and why: pictograms, statements, precautions.
    pub left_out: Vec<LeftOut>,
    /// The words, one entry for each language asked for.
    pub wording: Vec<Wording>,
    /// Smallest label, pictogram and type, where the capacity is known.
    pub sizes: Option<Sizes>,
    /// Child-resistant closure and tactile mark.
    pub closures: Closures,
    /// What a small package may leave out, used or not.
    pub relief: Option<Relief>,
    /// Whether the unique formula identifier and the notice to poison centres
    /// are due.
    pub formula_identifier: Due,
    /// Why it may not be sold so, where it may not.
    pub blocked: Vec<String>,
    /// What else to know.
    pub notes: Vec<String>,
}

impl Elements {
    /// Codes of the precautions, in order.
    pub fn precaution_codes(&self) -> Vec<&'static str> {
        self.precautionary
            .iter()
            .map(|choice| choice.code)
            .collect()
    }

    /// How the elements were found, in reading order.
    pub fn working(&self) -> Working {
        let mut working = Working::new();
        let codes: Vec<&str> = self.pictograms.iter().map(|one| one.code()).collect();
        working.step(
            "Pictograms",
            "those of the classes, less what precedence takes",
            self.reasons(|what| what.starts_with("GHS")),
            shown(&codes),
            "CLP Annex I, label element tables; Article 26",
        );
        working.step(
            "Signal word",
            "Danger before Warning",
            self.reasons(|what| what == "Warning"),
            self.signal_word
                .map_or_else(|| "none".to_owned(), |word| word.to_string()),
            "CLP Annex I, label element tables; Article 20(3)",
        );
        working.step(
            "Hazard statements",
            "those of the classes, less what another says",
            self.reasons(|what| what.starts_with('H') || what.starts_with("EUH")),
            shown(&self.hazard_statements),
            "CLP Annex I, label element tables; Article 27",
        );
        working.step(
            "Precautions",
            "those of the classes that fit the thing sold, by rank, six unless more are needed",
            self.precautionary
                .iter()
                .map(|choice| format!("{}: {}", choice.code, choice.why))
                .collect::<Vec<_>>()
                .join("; "),
            shown(&self.precaution_codes()),
            "CLP Articles 22 and 28, Annex I; the ranking is our own",
        );
        for extra in &self.supplemental {
            working.step(
                &extra.code,
                "a statement beside the classes",
                extra.substances.join(", "),
                "due",
                &extra.why,
            );
        }
        working.step(
            "Formula identifier",
            "a physical or a health class, in the EU",
            &self.formula_identifier.why,
            if self.formula_identifier.due {
                "due"
            } else {
                "not due"
            },
            "CLP Article 45, Annex VIII",
        );
        working
    }

    /// What was left out of a kind, with the reasons.
    fn reasons(&self, of: impl Fn(&str) -> bool) -> String {
        self.left_out
            .iter()
            .filter(|left| of(&left.what))
            .map(|left| format!("no {}: {} ({})", left.what, left.why, left.law))
            .collect::<Vec<_>>()
            .join("; ")
    }

    /// Whether the label can be printed: every statement has its text in every
    /// language asked for, and nothing forbids selling it so.
    pub fn is_printable(&self) -> bool {
        self.blocked.is_empty() && self.wording.iter().all(Wording::is_complete)
    }
}

impl Class {
    /// The signal word of the class (label element tables of CLP Annex I).
    pub const fn signal_word(self) -> Option<SignalWord> {
        use Class as C;
        Some(match self {
            C::Explosive16
            | C::SelfReactG
            | C::OrgPeroxG
            | C::Lact
            | C::AquaticChronic2
            | C::AquaticChronic3
            | C::AquaticChronic4 => return None,
            C::Explosive14
            | C::FlamGas2
            | C::Aerosol2
            | C::Aerosol3
            | C::PressGasCompressed
            | C::PressGasLiquefied
            | C::PressGasRefrigerated
            | C::PressGasDissolved
            | C::FlamLiq3
            | C::FlamSol2
            | C::SelfReactEF
            | C::OrgPeroxEF
            | C::SelfHeat2
            | C::WaterReact3
            | C::OxLiq3
            | C::OxSol3
            | C::MetCorr1
            | C::DesenExpl3
            | C::DesenExpl4
            | C::AcuteOral4
            | C::AcuteDermal4
            | C::AcuteInhalation4
            | C::SkinIrrit2
            | C::EyeIrrit2
            | C::SkinSens1
            | C::SkinSens1A
            | C::SkinSens1B
            | C::Muta2
            | C::Carc2
            | C::Repr2
            | C::StotSe2
            | C::StotSe3Irritation
            | C::StotSe3Narcosis
            | C::StotRe2
            | C::EdHh2
            | C::AquaticAcute1
            | C::AquaticChronic1
            | C::EdEnv2
            | C::Ozone1 => SignalWord::Warning,
            _ => SignalWord::Danger,
        })
    }

    /// The pictograms of the class (label element tables of CLP Annex I).
    pub const fn pictograms(self) -> &'static [Pictogram] {
        use Class as C;
        use Pictogram as P;
        match self {
            C::UnstableExplosive
            | C::Explosive11
            | C::Explosive12
            | C::Explosive13
            | C::Explosive14
            | C::SelfReactA
            | C::OrgPeroxA => &[P::Ghs01],
            C::SelfReactB | C::OrgPeroxB => &[P::Ghs01, P::Ghs02],
            C::FlamGas1A
            | C::PyrophoricGas
            | C::UnstableGasA
            | C::UnstableGasB
            | C::FlamGas1B
            | C::Aerosol1
            | C::Aerosol2
            | C::FlamLiq1
            | C::FlamLiq2
            | C::FlamLiq3
            | C::FlamSol1
            | C::FlamSol2
            | C::SelfReactCD
            | C::SelfReactEF
            | C::OrgPeroxCD
            | C::OrgPeroxEF
            | C::PyrLiq1
            | C::PyrSol1
            | C::SelfHeat1
            | C::SelfHeat2
            | C::WaterReact1
            | C::WaterReact2
            | C::WaterReact3
            | C::DesenExpl1
            | C::DesenExpl2
            | C::DesenExpl3
            | C::DesenExpl4 => &[P::Ghs02],
            C::OxGas1 | C::OxLiq1 | C::OxLiq2 | C::OxLiq3 | C::OxSol1 | C::OxSol2 | C::OxSol3 => {
                &[P::Ghs03]
            }
            C::PressGasCompressed
            | C::PressGasLiquefied
            | C::PressGasRefrigerated
            | C::PressGasDissolved => &[P::Ghs04],
            C::MetCorr1
            | C::SkinCorr1
            | C::SkinCorr1A
            | C::SkinCorr1B
            | C::SkinCorr1C
            | C::EyeDam1 => &[P::Ghs05],
            C::AcuteOral1
            | C::AcuteOral2
            | C::AcuteOral3
            | C::AcuteDermal1
            | C::AcuteDermal2
            | C::AcuteDermal3
            | C::AcuteInhalation1
            | C::AcuteInhalation2
            | C::AcuteInhalation3 => &[P::Ghs06],
            C::AcuteOral4
            | C::AcuteDermal4
            | C::AcuteInhalation4
            | C::SkinIrrit2
            | C::EyeIrrit2
            | C::SkinSens1
            | C::SkinSens1A
            | C::SkinSens1B
            | C::StotSe3Irritation
            | C::StotSe3Narcosis
            | C::Ozone1 => &[P::Ghs07],
            C::RespSens1
            | C::RespSens1A
            | C::RespSens1B
            | C::Muta1A
            | C::Muta1B
            | C::Muta2
            | C::Carc1A
            | C::Carc1B
            | C::Carc2
            | C::Repr1A
            | C::Repr1B
            | C::Repr2
            | C::StotSe1
            | C::StotSe2
            | C::StotRe1
            | C::StotRe2
            | C::AspTox1 => &[P::Ghs08],
            C::AquaticAcute1 | C::AquaticChronic1 | C::AquaticChronic2 => &[P::Ghs09],
            C::Explosive15
            | C::Explosive16
            | C::FlamGas2
            | C::Aerosol3
            | C::SelfReactG
            | C::OrgPeroxG
            | C::Lact
            | C::EdHh1
            | C::EdHh2
            | C::AquaticChronic3
            | C::AquaticChronic4
            | C::EdEnv1
            | C::EdEnv2
            | C::Pbt
            | C::Vpvb
            | C::Pmt
            | C::Vpvm => &[],
        }
    }

    /// Whether substances that lead to it are named beside the product's name
    /// (CLP Article 18(3)(b); the classes of Regulation 2023/707 from memory).
    pub fn names_its_substances(self) -> bool {
        use Class as C;
        (self.is_health() && !matches!(self, C::SkinIrrit2 | C::EyeIrrit2))
            || matches!(
                self,
                C::EdEnv1 | C::EdEnv2 | C::Pbt | C::Vpvb | C::Pmt | C::Vpvm
            )
    }

    /// Whether it is a sensitiser's class, by skin or by breath.
    pub fn is_sensitiser(self) -> bool {
        (Self::RespSens1..=Self::SkinSens1B).contains(&self)
    }

    /// Whether it may not go to the public at all: mutagenic, carcinogenic or
    /// toxic for reproduction, category 1.
    pub fn is_kept_from_public(self) -> bool {
        use Class as C;
        matches!(
            self,
            C::Muta1A | C::Muta1B | C::Carc1A | C::Carc1B | C::Repr1A | C::Repr1B
        )
    }

    fn is_skin_or_eye_irritant(self) -> bool {
        matches!(self, Self::SkinIrrit2 | Self::EyeIrrit2)
    }
}

/// Words that must not stand on the label or the package of a classified
/// mixture, by language. English as CLP Article 25(4) lists them; the other
/// languages from memory.
const FORBIDDEN: &[(&str, bool)] = &[
    ("non-toxic", true),
    ("nontoxic", true),
    ("non-harmful", true),
    ("non-polluting", true),
    ("ecological", true),
    ("ungiftig", false),
    ("unschädlich", false),
    ("umweltfreundlich", false),
    ("ökologisch", false),
    ("non toxique", false),
    ("non nocif", false),
    ("non polluant", false),
    ("écologique", false),
    ("no tóxico", false),
    ("no nocivo", false),
    ("no contaminante", false),
    ("ecológico", false),
];

/// Words of the same kind by our own reading of "any other statements".
const DOUBTFUL: &[&str] = &[
    "harmless",
    "safe",
    "hazard-free",
    "chemical-free",
    "toxin-free",
    "eco-friendly",
    "environmentally friendly",
    "all natural",
];

/// Looks through a name or a claim for words that say it is not hazardous.
///
/// # Source
///
/// CLP Article 25(4).
pub fn forbidden_words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let says = |word: &str| {
        lower.match_indices(word).any(|(at, _)| {
            let free = |sign: Option<char>| !sign.is_some_and(char::is_alphanumeric);
            free(lower[..at].chars().next_back()) && free(lower[at + word.len()..].chars().next())
        })
    };
    let named = FORBIDDEN.iter().filter(|(word, _)| says(word)).map(|(word, quoted)| {
        if *quoted {
            format!("\"{word}\" must not stand on a hazardous mixture or its package (CLP Article 25(4))")
        } else {
            format!("\"{word}\" must not stand there (CLP Article 25(4); its wording in this language from memory)")
        }
    });
    let doubtful = DOUBTFUL.iter().filter(|word| says(word)).map(|word| {
        format!("\"{word}\" may be read as saying that it is not hazardous, which CLP Article 25(4) forbids; our reading")
    });
    named.chain(doubtful).collect()
}

/// What the label must carry.
pub fn elements(declared: &Declared, setting: &Setting) -> Elements {
    let rules = &setting.rules;
    let mut notes = Vec::new();
    let mut left_out = Vec::new();
    let hazards = in_force(&declared.hazards, *rules, &mut notes);
    let sensitising = hazards.iter().any(|hazard| hazard.class.is_sensitiser());
    let regional = rules.jurisdiction != Jurisdiction::Un;

    let mut supplemental = Vec::new();
    let mut named = declared.named.clone();
    if !hazards
        .iter()
        .any(|hazard| hazard.class.names_its_substances())
    {
        named.clear();
    }
    if regional && !declared.sensitisers_below.is_empty() {
        if sensitising {
            named.extend(declared.sensitisers_below.iter().cloned());
            left_out.push(LeftOut {
                what: "EUH208".to_owned(),
                why: "the mixture is itself classified as sensitising, so the further sensitisers \
                      are named instead"
                    .to_owned(),
                law: "CLP Annex II, 2.8".to_owned(),
            });
        } else {
            supplemental.push(Supplement {
                code: "EUH208".to_owned(),
                substances: declared.sensitisers_below.clone(),
                why: "at or above the elicitation limit without classifying the mixture \
                      (CLP Annex II, 2.8)"
                    .to_owned(),
            });
        }
    }
    dedup(&mut named);
    if regional && declared.dries_skin && !hazards.iter().any(|h| h.class == Class::SkinIrrit2) {
        supplemental.push(Supplement {
            code: "EUH066".to_owned(),
            substances: Vec::new(),
            why: "a concern for dry skin, as stated (CLP Annex II, 1.2.4)".to_owned(),
        });
    }
    if regional
        && hazards.is_empty()
        && setting.audience == Audience::Professional
        && declared.sheet_on_request
    {
        supplemental.push(Supplement {
            code: "EUH210".to_owned(),
            substances: Vec::new(),
            why: "unclassified, for professionals, and it holds what obliges to give a sheet on \
                  request (CLP Annex II, 2.10)"
                .to_owned(),
        });
    }
    let shown: Vec<Hazard> = hazards
        .iter()
        .copied()
        .filter(|hazard| hazard.h_code().is_some())
        .collect();
    let due = !shown.is_empty() || !supplemental.is_empty();
    unknowns(declared, !shown.is_empty(), &mut supplemental, &mut notes);
    if shown.is_empty() && supplemental.iter().any(|extra| extra.code == "EUH208") {
        notes.push(
            "A label with EUH208 alone also carries the product's name and the supplier's name, \
             address and telephone number, but no pictogram and no signal word (CLP Article 25(6))."
                .to_owned(),
        );
    }

    let relief = setting
        .capacity_ml
        .and_then(|ml| Relief::of(&hazards, setting.audience, ml, rules, setting.no_room));
    let relieved = relief.as_ref().is_some_and(|relief| relief.used);
    let pictograms = pictograms(&hazards, relieved, &mut left_out);
    let signal_word = hazards.iter().filter_map(|h| h.class.signal_word()).min();
    if signal_word == Some(SignalWord::Danger)
        && hazards
            .iter()
            .any(|h| h.class.signal_word() == Some(SignalWord::Warning))
    {
        left_out.push(LeftOut {
            what: "Warning".to_owned(),
            why: "Danger stands there already".to_owned(),
            law: "CLP Article 20(3)".to_owned(),
        });
    }
    let statements = statements(&shown, setting, relieved, &mut left_out);
    let mut selection = precaution::choose(&hazards, setting);
    if relieved {
        relieve_precautions(&mut selection, &hazards, setting.audience);
    }
    for class in &selection.unlisted {
        notes.push(format!(
            "The precautions of {class} are not in the table; take them from the supplier's sheet."
        ));
    }
    let unread: Vec<&str> = hazards
        .iter()
        .map(|hazard| hazard.class)
        .filter(|class| precaution::listed_for(*class).is_some_and(|listed| !listed.read))
        .map(Class::code)
        .collect();
    if !unread.is_empty() {
        notes.push(format!(
            "Which precautions the law lists for {} is from memory; hold them against the \
             supplier's sheet.",
            unread.join(", ")
        ));
    }
    left_out.extend(selection.left_out);
    let precautionary = selection.chosen;
    let voluntary = if shown.is_empty() && due && setting.audience == Audience::Public {
        vec!["P101".to_owned(), "P102".to_owned()]
    } else {
        Vec::new()
    };

    let wording = setting
        .languages
        .iter()
        .map(|language| {
            word(
                *language,
                signal_word,
                &statements,
                &precautionary,
                &supplemental,
                setting,
            )
        })
        .collect();
    let mut blocked = Vec::new();
    if regional && setting.audience == Audience::Public {
        for hazard in hazards.iter().filter(|h| h.class.is_kept_from_public()) {
            blocked.push(format!(
                "{hazard}: such a mixture may not be supplied to the general public (REACH Annex \
                 XVII, entries 28 to 30); a label does not help"
            ));
        }
    }
    combinable(&statements, &mut notes);
    for claim in &setting.claims {
        if due {
            notes.extend(
                forbidden_words(claim)
                    .into_iter()
                    .map(|found| format!("{claim}: {found}.")),
            );
        }
    }
    if named.len() > 4 {
        notes.push(
            "Four names suffice as a rule; every sensitiser at or above its limit is named all \
             the same (CLP Article 18(3), Annex II 2.8; ECHA's advice on the four)."
                .to_owned(),
        );
    }
    if regional && due && setting.audience == Audience::Public {
        notes.push(
            "The package must not look like food, a medicine or a cosmetic, nor arouse the \
             curiosity of children (CLP Article 35(2))."
                .to_owned(),
        );
    }
    if rules.jurisdiction == Jurisdiction::Gb
        && due
        && !setting.languages.is_empty()
        && !setting.languages.contains(&Language::En)
    {
        notes.push("A label for Great Britain is in English (GB CLP Article 17(2)).".to_owned());
    }
    let capacity = setting.capacity_ml.filter(|_| due);
    Elements {
        due,
        pictograms,
        signal_word,
        hazard_statements: statements.iter().map(|(code, _)| code.clone()).collect(),
        precautionary,
        voluntary,
        supplemental,
        named,
        left_out,
        wording,
        sizes: capacity.and_then(|ml| Sizes::of(ml, rules)),
        closures: Closures::of(&hazards, setting.audience, rules),
        relief,
        formula_identifier: crate::pack::formula_identifier(&hazards, rules),
        blocked,
        notes,
    }
}

/// The classes the law knows on the day, in its order and without repeats.
fn in_force(declared: &[Hazard], rules: Rules, notes: &mut Vec<String>) -> Vec<Hazard> {
    use Class as C;
    let mut hazards = declared.to_vec();
    hazards.sort_unstable();
    hazards.dedup();
    hazards.retain(|hazard| {
        let recent = matches!(
            hazard.class,
            C::EdHh1 | C::EdHh2 | C::EdEnv1 | C::EdEnv2 | C::Pbt | C::Vpvb | C::Pmt | C::Vpvm
        );
        let kept = !recent || rules.endocrine_and_persistent;
        if !kept {
            notes.push(format!(
                "{hazard} is not a class of {} on {}; it stays off the label.",
                rules.jurisdiction, rules.on
            ));
        }
        kept
    });
    hazards
}

/// The pictograms after precedence. A pictogram goes when no class is left
/// that asks for it.
///
/// # Source
///
/// CLP Article 26(1)(a) to (e).
fn pictograms(hazards: &[Hazard], relieved: bool, left_out: &mut Vec<LeftOut>) -> Vec<Pictogram> {
    use Pictogram as P;
    let classes: Vec<Class> = hazards
        .iter()
        .map(|hazard| hazard.class)
        .filter(|class| {
            !relieved
                || crate::pack::relieved(*class, Audience::Public)
                    != crate::pack::Relieved::Everything
        })
        .collect();
    let shows = |wanted: P| {
        classes
            .iter()
            .any(|class| class.pictograms().contains(&wanted))
    };
    let respiratory = classes
        .iter()
        .any(|class| (Class::RespSens1..=Class::RespSens1B).contains(class));
    let corrosive = classes
        .iter()
        .any(|class| class.pictograms().contains(&P::Ghs05) && *class != Class::MetCorr1);
    // Why a class loses its claim to a pictogram, if it does.
    let precedence = |class: Class, pictogram: P| -> Option<(&'static str, &'static str)> {
        match pictogram {
            P::Ghs07 if shows(P::Ghs06) => Some(("the skull stands there", "CLP Article 26(1)(b)")),
            P::Ghs07 if corrosive && class.is_skin_or_eye_irritant() => Some((
                "corrosion stands there for skin or eyes",
                "CLP Article 26(1)(c)",
            )),
            P::Ghs07
                if respiratory && (class.is_sensitiser() || class.is_skin_or_eye_irritant()) =>
            {
                Some((
                    "health hazard stands there for respiratory sensitisation",
                    "CLP Article 26(1)(d)",
                ))
            }
            // "Unless more than one of them is compulsory": a class that asks
            // for both keeps both.
            P::Ghs02 | P::Ghs03 if shows(P::Ghs01) && !class.pictograms().contains(&P::Ghs01) => {
                Some(("exploding bomb stands there", "CLP Article 26(1)(a)"))
            }
            P::Ghs04 if shows(P::Ghs02) || shows(P::Ghs06) => {
                Some(("flame or skull stands there", "CLP Article 26(1)(e)"))
            }
            _ => None,
        }
    };
    let mut shown = Vec::new();
    for pictogram in P::ALL {
        let mut stays = false;
        let mut lost = None;
        for class in &classes {
            if class.pictograms().contains(&pictogram) {
                match precedence(*class, pictogram) {
                    None => stays = true,
                    Some(reason) => lost = Some(reason),
                }
            }
        }
        if stays {
            shown.push(pictogram);
        } else if let Some((why, law)) = lost {
            left_out.push(LeftOut {
                what: pictogram.code().to_owned(),
                why: why.to_owned(),
                law: law.to_owned(),
            });
        }
    }
    shown
}

/// A statement that another makes unnecessary: the one left out, the one it
/// stands beside, and where the law says so.
///
/// # Source
///
/// CLP Article 27 as applied by the notes of Annex I.
const REDUNDANT: &[(&str, &str, &str)] = &[
    ("H400", "H410", "CLP Annex I, 4.1.4, by Article 27"),
    ("H318", "H314", "CLP Annex I, 3.3.4, by Article 27"),
    ("EUH440", "EUH441", "CLP Annex I, 4.3.4, by Article 27"),
    ("EUH450", "EUH451", "CLP Annex I, 4.4.4, by Article 27"),
];

/// The hazard statements with the classes behind them.
fn statements(
    hazards: &[Hazard],
    setting: &Setting,
    relieved: bool,
    left_out: &mut Vec<LeftOut>,
) -> Vec<(String, Vec<Class>)> {
    let mut all: Vec<(String, Vec<Class>)> = Vec::new();
    for hazard in hazards {
        let head = hazard.h_code().into_iter();
        let further = hazard
            .class
            .h_codes()
            .iter()
            .skip(1)
            .map(|code| (*code).to_owned());
        for code in head.chain(further) {
            match all.iter_mut().find(|(known, _)| *known == code) {
                Some((_, classes)) => classes.push(hazard.class),
                None => all.push((code, vec![hazard.class])),
            }
        }
    }
    for (weaker, stronger, law) in REDUNDANT {
        if all.iter().any(|(code, _)| code == stronger)
            && let Some(at) = all.iter().position(|(code, _)| code == weaker)
        {
            all.remove(at);
            left_out.push(LeftOut {
                what: (*weaker).to_owned(),
                why: format!("{stronger} says it already; the law permits leaving it out"),
                law: (*law).to_owned(),
            });
        }
    }
    if relieved {
        all.retain(|(code, classes)| {
            use crate::pack::Relieved as R;
            let goes = classes.iter().all(|class| {
                matches!(
                    crate::pack::relieved(*class, setting.audience),
                    R::Statements | R::Everything
                )
            });
            if goes {
                left_out.push(small_package(code));
            }
            !goes
        });
    }
    all
}

/// Says which statements of acute toxicity may be printed as one.
///
/// # Source
///
/// CLP Annex I, 3.1.4.1, and Annex III, Part 1.
fn combinable(statements: &[(String, Vec<Class>)], notes: &mut Vec<String>) {
    for family in [
        ["H300", "H310", "H330"],
        ["H301", "H311", "H331"],
        ["H302", "H312", "H332"],
    ] {
        let there: Vec<&str> = family
            .into_iter()
            .filter(|code| statements.iter().any(|(known, _)| known == code))
            .collect();
        if there.len() > 1 {
            notes.push(format!(
                "{} may be printed as one statement, {} (CLP Annex I, 3.1.4.1).",
                there.join(" and "),
                there.join("+")
            ));
        }
    }
}

fn small_package(code: &str) -> LeftOut {
    LeftOut {
        what: code.to_owned(),
        why: "a package of 125 ml or less that has no room for it in any way".to_owned(),
        law: "CLP Article 29(2), Annex I 1.5.2.1".to_owned(),
    }
}

fn relieve_precautions(
    selection: &mut precaution::Selection,
    hazards: &[Hazard],
    audience: Audience,
) {
    use crate::pack::{Relieved, relieved};
    let goes = |class: &Class| relieved(*class, audience) != Relieved::Nothing;
    let everything = hazards.iter().all(|hazard| goes(&hazard.class));
    let left_out = &mut selection.left_out;
    selection.chosen.retain(|choice| {
        let gone = if choice.classes.is_empty() {
            everything
        } else {
            choice.classes.iter().all(goes)
        };
        if gone {
            left_out.push(small_package(choice.code));
        }
        !gone
    });
}

/// Codes of our own for two statements the law words without one.
pub const UNKNOWN_ACUTE: &str = "unknown acute toxicity";
/// The same for the hazard to water.
pub const UNKNOWN_AQUATIC: &str = "unknown hazard to water";

fn unknowns(
    declared: &Declared,
    classified: bool,
    supplemental: &mut Vec<Supplement>,
    notes: &mut Vec<String>,
) {
    let cases = [
        (
            declared.unknown_acute,
            UNKNOWN_ACUTE,
            "acute toxicity",
            "CLP Annex I, 3.1.3.6.2.2",
        ),
        (
            declared.unknown_aquatic,
            UNKNOWN_AQUATIC,
            "hazard to water",
            "CLP Annex I, 4.1.3.6.1",
        ),
    ];
    for (share, code, what, law) in cases {
        if share.is_zero() {
            continue;
        }
        let share = share.normalize();
        if classified {
            supplemental.push(Supplement {
                code: code.to_owned(),
                substances: Vec::new(),
                why: format!("the {what} of {share} % of the mixture is unknown ({law})"),
            });
        } else {
            notes.push(format!(
                "The {what} of {share} % of the mixture is unknown; without a class this goes into \
                 the data sheet, not on the label ({law}; our reading)."
            ));
        }
    }
}

fn word(
    language: Language,
    signal_word: Option<SignalWord>,
    statements: &[(String, Vec<Class>)],
    precautionary: &[Choice],
    supplemental: &[Supplement],
    setting: &Setting,
) -> Wording {
    let mut missing = Vec::new();
    let mut keep = |line: Result<Line, Missing>| match line {
        Ok(line) => Some(line),
        Err(gap) => {
            missing.push(gap);
            None
        }
    };
    let own = &setting.own;
    let hazard = statements
        .iter()
        .filter_map(|(code, _)| keep(phrase::printed(code, language, own)))
        .collect();
    let precautionary = precautionary
        .iter()
        .filter_map(|choice| {
            keep(
                if choice.code == "P280" && precaution::eyes_too(&choice.classes) {
                    phrase::gloves_and_eyes(language, own)
                } else {
                    phrase::printed(choice.code, language, own)
                },
            )
        })
        .collect();
    let supplemental = supplemental
        .iter()
        .filter_map(|extra| {
            keep(match extra.code.as_str() {
                "EUH208" => phrase::euh208(&extra.substances, language, own),
                code => phrase::printed(code, language, own),
            })
        })
        .collect();
    Wording {
        language,
        signal_word: signal_word.map(|word| word.text(language).to_owned()),
        hazard,
        precautionary,
        supplemental,
        missing,
    }
}

fn shown<T: AsRef<str>>(codes: &[T]) -> String {
    if codes.is_empty() {
        return "none".to_owned();
    }
    let codes: Vec<&str> = codes.iter().map(AsRef::as_ref).collect();
    codes.join(", ")
}

/// Drops repeats and keeps the order.
fn dedup(names: &mut Vec<String>) {
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(name.to_lowercase()));
}
