//! Hazard classes and categories, as sheets abbreviate them.

use std::fmt;
use std::str::FromStr;

use measure::Unclear;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

const ACCEPTED: &str = "write a class as the sheet does, such as Skin Sens. 1B H317";

/// The way something poisonous enters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Route {
    /// Swallowed.
    Oral,
    /// Through the skin.
    Dermal,
    /// Breathed in.
    Inhalation,
}

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Oral => "oral",
            Self::Dermal => "dermal",
            Self::Inhalation => "inhalation",
        })
    }
}

macro_rules! classes {
    ($($(#[$doc:meta])* $name:ident = $code:literal, [$($h:literal),*];)*) => {
        /// A hazard class with its category, by the abbreviations of CLP
        /// Annex VI, Table 1.1. In the order of Annex I, the severer category
        /// of a class first.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Class { $($(#[$doc])* $name,)* }

        impl Class {
            /// Every class, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// The abbreviation: `Skin Sens. 1B`.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }

            /// Its hazard statements, those with a suffix (H360D) left out.
            pub const fn h_codes(self) -> &'static [&'static str] {
                match self { $(Self::$name => &[$($h),*],)* }
            }
        }
    };
}

classes! {
    /// Unstable explosive.
    UnstableExplosive = "Unst. Expl.", ["H200"];
    /// Explosive, division 1.1.
    Explosive11 = "Expl. 1.1", ["H201"];
    /// Explosive, division 1.2.
    Explosive12 = "Expl. 1.2", ["H202"];
    /// Explosive, division 1.3.
    Explosive13 = "Expl. 1.3", ["H203"];
    /// Explosive, division 1.4.
    Explosive14 = "Expl. 1.4", ["H204"];
    /// Explosive, division 1.5.
    Explosive15 = "Expl. 1.5", ["H205"];
    /// Explosive, division 1.6.
    Explosive16 = "Expl. 1.6", [];
    /// Flammable gas, category 1A.
    FlamGas1A = "Flam. Gas 1A", ["H220"];
    /// Pyrophoric gas.
    PyrophoricGas = "Pyr. Gas", ["H232"];
    /// Chemically unstable gas A.
    UnstableGasA = "Chem. Unst. Gas A", ["H230"];
    /// Chemically unstable gas B.
    UnstableGasB = "Chem. Unst. Gas B", ["H231"];
    /// Flammable gas, category 1B.
    FlamGas1B = "Flam. Gas 1B", ["H221"];
    /// Flammable gas, category 2.
    FlamGas2 = "Flam. Gas 2", ["H221"];
    /// Aerosol, category 1.
    Aerosol1 = "Aerosol 1", ["H222", "H229"];
    /// Aerosol, category 2.
    Aerosol2 = "Aerosol 2", ["H223", "H229"];
    /// Aerosol, category 3.
    Aerosol3 = "Aerosol 3", ["H229"];
    /// Oxidising gas.
    OxGas1 = "Ox. Gas 1", ["H270"];
    /// Compressed gas.
    PressGasCompressed = "Press. Gas (Comp.)", ["H280"];
    /// Liquefied gas.
    PressGasLiquefied = "Press. Gas (Liq.)", ["H280"];
    /// Refrigerated liquefied gas.
    PressGasRefrigerated = "Press. Gas (Ref. Liq.)", ["H281"];
    /// Dissolved gas.
    PressGasDissolved = "Press. Gas (Diss.)", ["H280"];
    /// Flammable liquid, category 1.
    FlamLiq1 = "Flam. Liq. 1", ["H224"];
    /// Flammable liquid, category 2.
    FlamLiq2 = "Flam. Liq. 2", ["H225"];
    /// Flammable liquid, category 3.
    FlamLiq3 = "Flam. Liq. 3", ["H226"];
    /// Flammable solid, category 1.
    FlamSol1 = "Flam. Sol. 1", ["H228"];
    /// Flammable solid, category 2.
    FlamSol2 = "Flam. Sol. 2", ["H228"];
    /// Self-reactive, type A.
    SelfReactA = "Self-react. A", ["H240"];
    /// Self-reactive, type B.
    SelfReactB = "Self-react. B", ["H241"];
    /// Self-reactive, types C and D.
    SelfReactCD = "Self-react. CD", ["H242"];
    /// Self-reactive, types E and F.
    SelfReactEF = "Self-react. EF", ["H242"];
    /// Self-reactive, type G.
    SelfReactG = "Self-react. G", [];
    /// Organic peroxide, type A.
    OrgPeroxA = "Org. Perox. A", ["H240"];
    /// Organic peroxide, type B.
    OrgPeroxB = "Org. Perox. B", ["H241"];
    /// Organic peroxide, types C and D.
    OrgPeroxCD = "Org. Perox. CD", ["H242"];
    /// Organic peroxide, types E and F.
    OrgPeroxEF = "Org. Perox. EF", ["H242"];
    /// Organic peroxide, type G.
    OrgPeroxG = "Org. Perox. G", [];
    /// Pyrophoric liquid.
    PyrLiq1 = "Pyr. Liq. 1", ["H250"];
    /// Pyrophoric solid.
    PyrSol1 = "Pyr. Sol. 1", ["H250"];
    /// Self-heating, category 1.
    SelfHeat1 = "Self-heat. 1", ["H251"];
    /// Self-heating, category 2.
    SelfHeat2 = "Self-heat. 2", ["H252"];
    /// Emits flammable gas in contact with water, category 1.
    WaterReact1 = "Water-react. 1", ["H260"];
    /// Emits flammable gas in contact with water, category 2.
    WaterReact2 = "Water-react. 2", ["H261"];
    /// Emits flammable gas in contact with water, category 3.
    WaterReact3 = "Water-react. 3", ["H261"];
    /// Oxidising liquid, category 1.
    OxLiq1 = "Ox. Liq. 1", ["H271"];
    /// Oxidising liquid, category 2.
    OxLiq2 = "Ox. Liq. 2", ["H272"];
    /// Oxidising liquid, category 3.
    OxLiq3 = "Ox. Liq. 3", ["H272"];
    /// Oxidising solid, category 1.
    OxSol1 = "Ox. Sol. 1", ["H271"];
    /// Oxidising solid, category 2.
    OxSol2 = "Ox. Sol. 2", ["H272"];
    /// Oxidising solid, category 3.
    OxSol3 = "Ox. Sol. 3", ["H272"];
    /// Corrosive to metals.
    MetCorr1 = "Met. Corr. 1", ["H290"];
    /// Desensitised explosive, category 1.
    DesenExpl1 = "Desen. Expl. 1", ["H206"];
    /// Desensitised explosive, category 2.
    DesenExpl2 = "Desen. Expl. 2", ["H207"];
    /// Desensitised explosive, category 3.
    DesenExpl3 = "Desen. Expl. 3", ["H207"];
    /// Desensitised explosive, category 4.
    DesenExpl4 = "Desen. Expl. 4", ["H208"];
    /// Acute toxicity, swallowed, category 1.
    AcuteOral1 = "Acute Tox. 1", ["H300"];
    /// Acute toxicity, swallowed, category 2.
    AcuteOral2 = "Acute Tox. 2", ["H300"];
    /// Acute toxicity, swallowed, category 3.
    AcuteOral3 = "Acute Tox. 3", ["H301"];
    /// Acute toxicity, swallowed, category 4.
    AcuteOral4 = "Acute Tox. 4", ["H302"];
    /// Acute toxicity, skin, category 1.
    AcuteDermal1 = "Acute Tox. 1", ["H310"];
    /// Acute toxicity, skin, category 2.
    AcuteDermal2 = "Acute Tox. 2", ["H310"];
    /// Acute toxicity, skin, category 3.
    AcuteDermal3 = "Acute Tox. 3", ["H311"];
    /// Acute toxicity, skin, category 4.
    AcuteDermal4 = "Acute Tox. 4", ["H312"];
    /// Acute toxicity, breathed in, category 1.
    AcuteInhalation1 = "Acute Tox. 1", ["H330"];
    /// Acute toxicity, breathed in, category 2.
    AcuteInhalation2 = "Acute Tox. 2", ["H330"];
    /// Acute toxicity, breathed in, category 3.
    AcuteInhalation3 = "Acute Tox. 3", ["H331"];
    /// Acute toxicity, breathed in, category 4.
    AcuteInhalation4 = "Acute Tox. 4", ["H332"];
    /// Skin corrosion, category 1 without a sub-category.
    SkinCorr1 = "Skin Corr. 1", ["H314"];
    /// Skin corrosion, sub-category 1A.
    SkinCorr1A = "Skin Corr. 1A", ["H314"];
    /// Skin corrosion, sub-category 1B.
    SkinCorr1B = "Skin Corr. 1B", ["H314"];
    /// Skin corrosion, sub-category 1C.
    SkinCorr1C = "Skin Corr. 1C", ["H314"];
    /// Skin irritation.
    SkinIrrit2 = "Skin Irrit. 2", ["H315"];
    /// Serious eye damage.
    EyeDam1 = "Eye Dam. 1", ["H318"];
    /// Eye irritation.
    EyeIrrit2 = "Eye Irrit. 2", ["H319"];
    /// Respiratory sensitisation, category 1 without a sub-category.
    RespSens1 = "Resp. Sens. 1", ["H334"];
    /// Respiratory sensitisation, sub-category 1A.
    RespSens1A = "Resp. Sens. 1A", ["H334"];
    /// Respiratory sensitisation, sub-category 1B.
    RespSens1B = "Resp. Sens. 1B", ["H334"];
    /// Skin sensitisation, category 1 without a sub-category.
    SkinSens1 = "Skin Sens. 1", ["H317"];
    /// Skin sensitisation, sub-category 1A.
    SkinSens1A = "Skin Sens. 1A", ["H317"];
    /// Skin sensitisation, sub-category 1B.
    SkinSens1B = "Skin Sens. 1B", ["H317"];
    /// Germ cell mutagen, category 1A.
    Muta1A = "Muta. 1A", ["H340"];
    /// Germ cell mutagen, category 1B.
    Muta1B = "Muta. 1B", ["H340"];
    /// Germ cell mutagen, category 2.
    Muta2 = "Muta. 2", ["H341"];
    /// Carcinogen, category 1A.
    Carc1A = "Carc. 1A", ["H350"];
    /// Carcinogen, category 1B.
    Carc1B = "Carc. 1B", ["H350"];
    /// Carcinogen, category 2.
    Carc2 = "Carc. 2", ["H351"];
    /// Toxic for reproduction, category 1A.
    Repr1A = "Repr. 1A", ["H360"];
    /// Toxic for reproduction, category 1B.
    Repr1B = "Repr. 1B", ["H360"];
    /// Toxic for reproduction, category 2.
    Repr2 = "Repr. 2", ["H361"];
    /// Effects on or via lactation.
    Lact = "Lact.", ["H362"];
    /// Harm to organs by a single exposure, category 1.
    StotSe1 = "STOT SE 1", ["H370"];
    /// Harm to organs by a single exposure, category 2.
    StotSe2 = "STOT SE 2", ["H371"];
    /// Irritation of the airways by a single exposure.
    StotSe3Irritation = "STOT SE 3", ["H335"];
    /// Drowsiness or dizziness by a single exposure.
    StotSe3Narcosis = "STOT SE 3", ["H336"];
    /// Harm to organs by repeated exposure, category 1.
    StotRe1 = "STOT RE 1", ["H372"];
    /// Harm to organs by repeated exposure, category 2.
    StotRe2 = "STOT RE 2", ["H373"];
    /// Aspiration hazard.
    AspTox1 = "Asp. Tox. 1", ["H304"];
    /// Endocrine disruptor for human health, category 1.
    EdHh1 = "ED HH 1", ["EUH380"];
    /// Endocrine disruptor for human health, category 2.
    EdHh2 = "ED HH 2", ["EUH381"];
    /// Hazardous to water at once.
    AquaticAcute1 = "Aquatic Acute 1", ["H400"];
    /// Hazardous to water for long, category 1.
    AquaticChronic1 = "Aquatic Chronic 1", ["H410"];
    /// Hazardous to water for long, category 2.
    AquaticChronic2 = "Aquatic Chronic 2", ["H411"];
    /// Hazardous to water for long, category 3.
    AquaticChronic3 = "Aquatic Chronic 3", ["H412"];
    /// Hazardous to water for long, category 4.
    AquaticChronic4 = "Aquatic Chronic 4", ["H413"];
    /// Endocrine disruptor for the environment, category 1.
    EdEnv1 = "ED ENV 1", ["EUH430"];
    /// Endocrine disruptor for the environment, category 2.
    EdEnv2 = "ED ENV 2", ["EUH431"];
    /// Persistent, bioaccumulative and toxic.
    Pbt = "PBT", ["EUH440"];
    /// Very persistent and very bioaccumulative.
    Vpvb = "vPvB", ["EUH441"];
    /// Persistent, mobile and toxic.
    Pmt = "PMT", ["EUH450"];
    /// Very persistent and very mobile.
    Vpvm = "vPvM", ["EUH451"];
    /// Harms the ozone layer.
    Ozone1 = "Ozone 1", ["H420"];
}

impl Class {
    /// The route and the category, 1 to 4, of a class of acute toxicity.
    pub const fn acute(self) -> Option<(Route, u8)> {
        Some(match self {
            Self::AcuteOral1 => (Route::Oral, 1),
            Self::AcuteOral2 => (Route::Oral, 2),
            Self::AcuteOral3 => (Route::Oral, 3),
            Self::AcuteOral4 => (Route::Oral, 4),
            Self::AcuteDermal1 => (Route::Dermal, 1),
            Self::AcuteDermal2 => (Route::Dermal, 2),
            Self::AcuteDermal3 => (Route::Dermal, 3),
            Self::AcuteDermal4 => (Route::Dermal, 4),
            Self::AcuteInhalation1 => (Route::Inhalation, 1),
            Self::AcuteInhalation2 => (Route::Inhalation, 2),
            Self::AcuteInhalation3 => (Route::Inhalation, 3),
            Self::AcuteInhalation4 => (Route::Inhalation, 4),
            _ => return None,
        })
    }

    /// Whether it is a physical hazard (CLP Annex I, Part 2): found by testing
    /// the thing itself, never by adding up what is in it.
    pub fn is_physical(self) -> bool {
        self < Self::AcuteOral1
    }

    /// Whether it is a hazard to the environment (CLP Annex I, Parts 4 and 5).
    pub fn is_environmental(self) -> bool {
        self >= Self::AquaticAcute1
    }

    /// Whether it is a hazard to health (CLP Annex I, Part 3).
    pub fn is_health(self) -> bool {
        !self.is_physical() && !self.is_environmental()
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// A class with its statement as a sheet gives them: `Repr. 2 H361fd`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hazard {
    /// The class and category.
    pub class: Class,
    /// The letters behind the statement's number: `fd`, `D`, `i`.
    suffix: Suffix,
    /// Marked by an asterisk in the harmonised list: at least this.
    pub minimum: bool,
}

/// The letters H350, H360 and H361 may carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
enum Suffix {
    #[default]
    None,
    I,
    F,
    D,
    FD,
    Fd,
    Df,
    LowF,
    LowD,
    LowFd,
}

impl Suffix {
    const ALL: [(Self, &'static str); 10] = [
        (Self::None, ""),
        (Self::I, "i"),
        (Self::F, "F"),
        (Self::D, "D"),
        (Self::FD, "FD"),
        (Self::Fd, "Fd"),
        (Self::Df, "Df"),
        (Self::LowF, "f"),
        (Self::LowD, "d"),
        (Self::LowFd, "fd"),
    ];

    fn letters(self) -> &'static str {
        Self::ALL
            .iter()
            .find_map(|(suffix, letters)| (*suffix == self).then_some(*letters))
            .unwrap_or_default()
    }

    /// How sure harm to fertility and to the unborn child is: 2 shown, 1
    /// suspected, 0 not said.
    const fn effects(self) -> (u8, u8) {
        match self {
            Self::None | Self::I => (0, 0),
            Self::F => (2, 0),
            Self::D => (0, 2),
            Self::FD => (2, 2),
            Self::Fd => (2, 1),
            Self::Df => (1, 2),
            Self::LowF => (1, 0),
            Self::LowD => (0, 1),
            Self::LowFd => (1, 1),
        }
    }

    fn with_effects(effects: (u8, u8)) -> Self {
        Self::ALL
            .iter()
            .map(|(suffix, _)| *suffix)
            .find(|suffix| suffix.effects() == effects)
            .unwrap_or_default()
    }

    fn of(class: Class, letters: &str) -> Option<Self> {
        let fits = match class {
            Class::Carc1A | Class::Carc1B => matches!(letters, "" | "i"),
            Class::Repr1A | Class::Repr1B => matches!(letters, "" | "F" | "D" | "FD" | "Fd" | "Df"),
            Class::Repr2 => matches!(letters, "" | "f" | "d" | "fd"),
            _ => letters.is_empty(),
        };
        fits.then(|| {
            Self::ALL
                .iter()
                .find_map(|(suffix, text)| (*text == letters).then_some(*suffix))
        })
        .flatten()
    }
}

impl From<Class> for Hazard {
    fn from(class: Class) -> Self {
        Self {
            class,
            suffix: Suffix::None,
            minimum: false,
        }
    }
}

impl Hazard {
    /// This hazard where a second substance brings `other`, of the same class
    /// or of the milder category of it: H360D and H360F make H360FD, H360D and
    /// H361f make H360Df. Where one of them does not say which effect, neither
    /// does the result; nor does H350 with H350i.
    ///
    /// # Source
    ///
    /// CLP Annex VI, 1.1.2.1.2: what the letters mean (from memory).
    #[must_use]
    pub fn together_with(self, other: Self) -> Self {
        if self.suffix == other.suffix {
            return self;
        }
        let suffix = match self.class {
            Class::Repr1A | Class::Repr1B | Class::Repr2 => {
                let (own, others) = (self.suffix.effects(), other.suffix.effects());
                if own == (0, 0) || (others == (0, 0) && other.class == self.class) {
                    Suffix::None
                } else {
                    Suffix::with_effects((own.0.max(others.0), own.1.max(others.1)))
                }
            }
            _ => Suffix::None,
        };
        Self { suffix, ..self }
    }

    /// Its hazard statement: `H317`, `H361d`; none where the class has none.
    pub fn h_code(self) -> Option<String> {
        let code = self.class.h_codes().first()?;
        Some(format!("{code}{}", self.suffix.letters()))
    }

    /// Reads `Skin Sens. 1B H317`, `Skin Sens. 1B, H317`, `Acute Tox. 4 * H302
    /// (oral)` or a class alone. Spaces, full stops and letter case are
    /// forgiven; a class that could be several (acute toxicity, STOT SE 3)
    /// needs its statement or its route.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for an unknown class, a statement that does not belong to
    /// the class, or a class left open.
    pub fn parse(text: &str) -> Result<Self, Unclear> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(Unclear::new(text, "a hazard class is missing", ACCEPTED));
        }
        let minimum = trimmed.contains('*');
        let mut name = String::new();
        let mut statement = None;
        let mut route = None;
        for word in trimmed.split(|sign: char| {
            sign.is_whitespace() || matches!(sign, ',' | ';' | ':' | '*' | '(' | ')' | '-' | '/')
        }) {
            if let Some(code) = statement_code(word) {
                if statement.replace(code).is_some() {
                    return Err(Unclear::new(
                        trimmed,
                        "there are two hazard statements",
                        "write one class with its statement at a time",
                    ));
                }
                continue;
            }
            match word.to_ascii_lowercase().as_str() {
                "oral" => route = Some(Route::Oral),
                "dermal" | "skin" if name.starts_with("acutetox") => route = Some(Route::Dermal),
                "inhalation" | "inhal" | "inhal." => route = Some(Route::Inhalation),
                "category" | "cat" | "cat." => {}
                word => name.extend(word.chars().filter(|sign| *sign != '.')),
            }
        }
        let named: Vec<Class> = Class::ALL
            .iter()
            .copied()
            .filter(|class| squeezed(class.code()) == name)
            .collect();
        if named.is_empty() {
            return Err(if name.is_empty() {
                Unclear::new(
                    trimmed,
                    "the class before the statement is missing",
                    ACCEPTED,
                )
            } else {
                Unclear::new(trimmed, "that is not a hazard class", ACCEPTED)
            });
        }
        let fitting = |class: &Class| {
            route.is_none_or(|route| class.acute().is_none_or(|(own, _)| own == route))
        };
        if let Some(statement) = statement {
            return named
                .into_iter()
                .filter(fitting)
                .find_map(|class| {
                    class.h_codes().iter().find_map(|code| {
                        let letters = statement.strip_prefix(code)?;
                        let suffix = Suffix::of(class, letters)?;
                        Some(Self {
                            class,
                            suffix,
                            minimum,
                        })
                    })
                })
                .ok_or_else(|| {
                    Unclear::new(
                        trimmed,
                        format!("{statement} is not the statement of that class"),
                        ACCEPTED,
                    )
                });
        }
        let mut left = named.into_iter().filter(fitting);
        match (left.next(), left.next()) {
            (Some(class), None) => Ok(Self {
                minimum,
                ..class.into()
            }),
            _ => Err(Unclear::new(
                trimmed,
                "that class could mean several hazards",
                "add its statement, such as Acute Tox. 4 H302",
            )),
        }
    }
}

/// The code, if the word is one: `H317`, `h361FD`, `EUH380`.
fn statement_code(word: &str) -> Option<String> {
    let letters = word.trim_end_matches('.');
    let upper_head = letters
        .find(|sign: char| sign.is_ascii_digit())
        .map(|at| letters[..at].to_ascii_uppercase())?;
    if upper_head != "H" && upper_head != "EUH" {
        return None;
    }
    let tail = &letters[upper_head.len()..];
    let digits = tail.bytes().take_while(u8::is_ascii_digit).count();
    (digits == 3).then(|| format!("{upper_head}{tail}"))
}

fn squeezed(code: &str) -> String {
    code.chars()
        .filter(|sign| !matches!(sign, ' ' | '.' | '-' | '(' | ')'))
        .flat_map(char::to_lowercase)
        .collect()
}

impl fmt::Display for Hazard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.class.code())?;
        match self.h_code() {
            Some(code) => write!(f, " {code}"),
            None => Ok(()),
        }
    }
}

impl FromStr for Hazard {
    type Err = Unclear;

    fn from_str(text: &str) -> Result<Self, Unclear> {
        Self::parse(text)
    }
}

impl Serialize for Hazard {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hazard {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::{Class, Hazard};

    #[test]
    fn reads_a_class_as_sheets_write_it() {
        for (text, meant) in [
            ("Skin Sens. 1B H317", "Skin Sens. 1B H317"),
            ("Skin Sens. 1B, H317", "Skin Sens. 1B H317"),
            ("skin sens 1b; h317", "Skin Sens. 1B H317"),
            ("Skin Sens. 1B", "Skin Sens. 1B H317"),
            ("Acute Tox. 4 * H302 (oral)", "Acute Tox. 4 H302"),
            ("Acute Tox. 4 (dermal)", "Acute Tox. 4 H312"),
            ("STOT SE 3 H336", "STOT SE 3 H336"),
            ("Repr. 2 H361fd", "Repr. 2 H361fd"),
            ("Repr. 1B H360Df", "Repr. 1B H360Df"),
            ("Carc. 1B H350i", "Carc. 1B H350i"),
            ("Aquatic Chronic 3 (H412)", "Aquatic Chronic 3 H412"),
            ("ED HH 2 EUH381", "ED HH 2 EUH381"),
            ("vPvB", "vPvB EUH441"),
            ("Self-react. CD H242", "Self-react. CD H242"),
            ("Press. Gas (Liq.) H280", "Press. Gas (Liq.) H280"),
        ] {
            assert_eq!(Hazard::parse(text).unwrap().to_string(), meant, "{text}");
        }
        for wrong in [
            "",
            "H317",
            "Skin Sens. 4",
            "Acute Tox. 4",
            "STOT SE 3",
            "Skin Sens. 1B H319",
            "Skin Sens. 1B H317 H319",
            "Repr. 2 H361D",
            "Banana 1",
        ] {
            assert!(Hazard::parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn every_class_reads_back() {
        for class in Class::ALL {
            let hazard = Hazard::from(*class);
            assert_eq!(Hazard::parse(&hazard.to_string()).unwrap(), hazard);
        }
    }
}
