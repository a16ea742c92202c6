//! What to mind with a candle and with a wax melt, by market and language.
//!
//! The wording is our own and carries the substance. Where a standard fixes
//! the words, the text says so and has to be held against the standard before
//! it is printed: the standards are sold and were not read.

use crate::wording::{Care, Language};

/// Where a label is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Market {
    /// The United States.
    UnitedStates,
    /// The European Union and Northern Ireland.
    EuropeanUnion,
    /// Great Britain.
    GreatBritain,
}

impl Market {
    /// Every market.
    pub const ALL: [Self; 3] = [Self::UnitedStates, Self::EuropeanUnion, Self::GreatBritain];

    /// Its name in a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Self::UnitedStates => "the United States",
            Self::EuropeanUnion => "the European Union",
            Self::GreatBritain => "Great Britain",
        }
    }
}

/// What is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Something with a wick, burnt indoors.
    Candle {
        /// The maker's figure for the distance between burning candles, cm.
        apart_cm: Option<u16>,
        /// Whether it floats on water: then no distance is asked.
        floating: bool,
    },
    /// Scented wax without a wick, warmed in a warmer.
    Melt,
}

/// How well a text or a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Someone else describes the standard; the standard was not read.
    SecondHand,
    /// From memory, unverified.
    FromMemory,
    /// What makers commonly say; no standard covers it.
    CommonPractice,
}

impl Status {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::SecondHand => "second hand",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// One thing to mind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// The sentence.
    pub text: String,
    /// Whether a standard names it for every such label. What it does not name
    /// may go where there is no room.
    pub named_by_standard: bool,
    /// How well it is known.
    pub status: Status,
    /// Where it comes from.
    pub source: &'static str,
    /// The drawing that says the same.
    pub care: Care,
}

/// Everything to mind, in one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cautions {
    /// The language.
    pub language: Language,
    /// The word above, in capitals, where the standard asks for one.
    pub signal: Option<&'static str>,
    /// Whether the general warning sign stands before it.
    pub sign: bool,
    /// Least height of that sign, mm, where a standard gives one.
    pub least_sign_mm: Option<u8>,
    /// What to mind, the most important first.
    pub lines: Vec<Caution>,
    /// Least height of small letters, hundredths of a millimetre, where there
    /// is a figure to go by.
    pub least_x_height_hundredths: Option<u16>,
    /// What has to be seen to before this is printed.
    pub to_check: Vec<&'static str>,
    /// Whether a figure of the maker's is wanting, so that a sentence is left
    /// out: what is wanted.
    pub missing: Option<&'static str>,
}

const F2058: &str = "ASTM F2058-07(2021); the statements from memory, form second hand";
const EN_15494: &str = "EN 15494:2019, second hand";
const TRADE: &str = "makers' and suppliers' burning advice, second hand";
const WARMER: &str = "makers' advice for warmers";
/// Said of every text that stands for one a standard fixes.
const WORDS: &str = "the standard fixes the words: hold them against ASTM F2058 before printing";
/// Said of the size, which no public source gives.
const SIZE: &str = "size to be checked against F2058: no public source gives it; 1.6 mm is taken";

/// A sentence in four languages, and what is known of it.
struct Row {
    care: Care,
    named: bool,
    status: Status,
    source: &'static str,
    /// English, German, French, Spanish; `{}` is the maker's figure.
    text: [&'static str; 4],
}

const CANDLE_US: [Row; 3] = [
    Row {
        care: Care::WithinSight,
        named: true,
        status: Status::FromMemory,
        source: F2058,
        text: [
            "Burn within sight.",
            "Nur unter Aufsicht brennen lassen.",
            "Ne faire brûler qu’à portée de vue.",
            "Encender solo a la vista.",
        ],
    },
    Row {
        care: Care::AwayFromWhatBurns,
        named: true,
        status: Status::FromMemory,
        source: F2058,
        text: [
            "Keep away from things that catch fire.",
            "Von allem fernhalten, was Feuer fangen kann.",
            "Tenir à l’écart de tout ce qui peut prendre feu.",
            "Mantener lejos de todo lo que pueda arder.",
        ],
    },
    Row {
        care: Care::ChildrenAndPets,
        named: true,
        status: Status::FromMemory,
        source: F2058,
        text: [
            "Keep away from children and pets.",
            "Von Kindern und Haustieren fernhalten.",
            "Tenir hors de portée des enfants et des animaux.",
            "Mantener lejos de niños y mascotas.",
        ],
    },
];

const CANDLE_EN: [Row; 4] = [
    Row {
        care: Care::WithinSight,
        named: true,
        status: Status::SecondHand,
        source: EN_15494,
        text: [
            "Never leave a burning candle unattended.",
            "Brennende Kerze nie unbeaufsichtigt lassen.",
            "Ne jamais laisser une bougie allumée sans surveillance.",
            "No dejar nunca una vela encendida sin vigilancia.",
        ],
    },
    Row {
        care: Care::ChildrenAndPets,
        named: true,
        status: Status::SecondHand,
        source: EN_15494,
        text: [
            "Burn out of reach of children and pets.",
            "Außer Reichweite von Kindern und Haustieren abbrennen.",
            "Faire brûler hors de portée des enfants et des animaux.",
            "Encender fuera del alcance de niños y animales.",
        ],
    },
    Row {
        care: Care::Apart,
        named: true,
        status: Status::SecondHand,
        source: EN_15494,
        text: [
            "Leave at least {} cm between burning candles.",
            "Zwischen brennenden Kerzen mindestens {} cm Abstand lassen.",
            "Laisser au moins {} cm entre deux bougies allumées.",
            "Dejar al menos {} cm entre velas encendidas.",
        ],
    },
    Row {
        care: Care::AwayFromWhatBurns,
        named: true,
        status: Status::SecondHand,
        source: EN_15494,
        text: [
            "Do not burn on or near anything that can catch fire.",
            "Nicht auf oder bei Dingen abbrennen, die Feuer fangen können.",
            "Ne pas faire brûler sur ou près de ce qui peut prendre feu.",
            "No encender sobre nada que pueda arder, ni cerca.",
        ],
    },
];

/// Beside what the standards name, for any candle.
const CANDLE_CARE: [Row; 3] = [
    Row {
        care: Care::TrimWick,
        named: false,
        status: Status::SecondHand,
        source: TRADE,
        text: [
            "Trim the wick to 6 mm (1/4 in) before each burn.",
            "Docht vor jedem Anzünden auf 6 mm kürzen.",
            "Couper la mèche à 6 mm avant chaque usage.",
            "Recortar la mecha a 6 mm antes de cada uso.",
        ],
    },
    Row {
        care: Care::FourHours,
        named: false,
        status: Status::SecondHand,
        source: TRADE,
        text: [
            "Burn for no longer than 4 hours at a time.",
            "Nicht länger als 4 Stunden am Stück brennen lassen.",
            "Ne pas faire brûler plus de 4 heures de suite.",
            "No encender más de 4 horas seguidas.",
        ],
    },
    Row {
        care: Care::HeatProof,
        named: false,
        status: Status::SecondHand,
        source: TRADE,
        text: [
            "Burn on a level, heat-proof surface.",
            "Auf ebener, hitzefester Unterlage abbrennen.",
            "Faire brûler sur une surface plane, à l’épreuve de la chaleur.",
            "Encender sobre una superficie plana y resistente al calor.",
        ],
    },
];

const MELT: [Row; 8] = [
    Row {
        care: Care::WarmerOnly,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "For wax warmers only: it has no wick, do not light it.",
            "Nur für Duftlampen: ohne Docht, nicht anzünden.",
            "Pour brûle-parfum uniquement\u{202f}: sans mèche, ne pas allumer.",
            "Solo para quemadores: sin mecha, no encender.",
        ],
    },
    Row {
        care: Care::WithinSight,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Never leave a warmer unattended.",
            "Duftlampe nie unbeaufsichtigt lassen.",
            "Ne jamais laisser un brûle-parfum sans surveillance.",
            "No dejar nunca el quemador sin vigilancia.",
        ],
    },
    Row {
        care: Care::ChildrenAndPets,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Keep from children and pets.",
            "Von Kindern und Haustieren fernhalten.",
            "Tenir loin des enfants et des animaux.",
            "Mantener lejos de niños y mascotas.",
        ],
    },
    Row {
        care: Care::DoNotEat,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: ["Do not eat.", "Nicht essen.", "Ne pas manger.", "No comer."],
    },
    Row {
        care: Care::HotWax,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Melted wax is hot: do not touch or move it.",
            "Flüssiges Wachs ist heiß: nicht berühren oder bewegen.",
            "Cire fondue brûlante\u{202f}: ne pas toucher ni déplacer.",
            "La cera fundida quema: no tocarla ni moverla.",
        ],
    },
    Row {
        care: Care::HotWax,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Do not add water.",
            "Kein Wasser zugeben.",
            "Ne pas ajouter d’eau.",
            "No añadir agua.",
        ],
    },
    Row {
        care: Care::BinNotDrain,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Let it set, then put it in the bin, not down the drain.",
            "Erstarrt in den Restmüll geben, nicht in den Abfluss.",
            "Laisser figer et jeter à la poubelle, pas à l’évier.",
            "Dejar endurecer y tirar a la basura, no al desagüe.",
        ],
    },
    Row {
        care: Care::OutOfSun,
        named: false,
        status: Status::CommonPractice,
        source: WARMER,
        text: [
            "Keep out of the sun.",
            "Vor Sonne schützen.",
            "Protéger du soleil.",
            "Proteger del sol.",
        ],
    },
];

/// What to mind with a thing sold in a market, in one language.
///
/// # Source
///
/// Candles in the United States: ASTM F2058-07(2021), the three statements
/// from memory, signal word and sign second hand; in the EU and Great Britain:
/// EN 15494:2019, second hand. Both are voluntary. No standard covers a melt
/// without a wick: its sentences are common practice, no source.
pub fn cautions(market: Market, kind: Kind, language: Language) -> Cautions {
    let mut said = Cautions {
        language,
        signal: None,
        sign: false,
        least_sign_mm: None,
        lines: Vec::new(),
        least_x_height_hundredths: None,
        to_check: Vec::new(),
        missing: None,
    };
    match kind {
        Kind::Melt => said
            .lines
            .extend(MELT.iter().map(|row| said_as(row, language, None))),
        Kind::Candle { apart_cm, floating } => {
            said.sign = true;
            let named: &[Row] = match market {
                Market::UnitedStates => {
                    said.signal = Some(match language {
                        Language::En => "WARNING",
                        Language::De => "WARNUNG",
                        Language::Fr => "AVERTISSEMENT",
                        Language::Es => "ADVERTENCIA",
                    });
                    said.least_x_height_hundredths = Some(160);
                    said.to_check = vec![WORDS, SIZE];
                    &CANDLE_US
                }
                Market::EuropeanUnion | Market::GreatBritain => {
                    said.least_sign_mm = Some(5);
                    said.to_check = vec![
                        "which of these the standard asks for goes by the candle's type: see EN \
                         15494",
                    ];
                    &CANDLE_EN
                }
            };
            for row in named.iter().chain(&CANDLE_CARE) {
                match row.care {
                    Care::Apart if floating => {}
                    Care::Apart if apart_cm.is_none_or(|cm| cm == 0) => {
                        said.missing = Some("the distance to keep between burning candles, in cm");
                    }
                    _ => said.lines.push(said_as(row, language, apart_cm)),
                }
            }
        }
    }
    said
}

fn said_as(row: &Row, language: Language, figure: Option<u16>) -> Caution {
    let [en, de, fr, es] = row.text;
    let text = match language {
        Language::En => en,
        Language::De => de,
        Language::Fr => fr,
        Language::Es => es,
    };
    Caution {
        text: figure.map_or_else(
            || text.to_owned(),
            |figure| text.replace("{}", &figure.to_string()),
        ),
        named_by_standard: row.named,
        status: row.status,
        source: row.source,
        care: row.care,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CANDLE: Kind = Kind::Candle {
        apart_cm: Some(10),
        floating: false,
    };

    #[test]
    fn no_sentence_is_left_empty_or_with_a_gap() {
        for market in Market::ALL {
            for language in Language::ALL {
                for kind in [CANDLE, Kind::Melt] {
                    let said = cautions(market, kind, language);
                    assert_eq!(said.missing, None);
                    for line in said.lines {
                        assert!(line.text.ends_with('.'), "{}", line.text);
                        assert!(!line.text.contains('{'), "{}", line.text);
                    }
                }
            }
        }
    }

    /// The four messages a supplier's page on EN 15494 names: unattended,
    /// children and pets, distance, what can catch fire.
    #[test]
    fn a_european_candle_carries_the_four_messages() {
        let said = cautions(Market::EuropeanUnion, CANDLE, Language::En);
        let named: Vec<Care> = said
            .lines
            .iter()
            .filter(|line| line.named_by_standard)
            .map(|line| line.care)
            .collect();
        assert_eq!(
            named,
            [
                Care::WithinSight,
                Care::ChildrenAndPets,
                Care::Apart,
                Care::AwayFromWhatBurns
            ]
        );
        assert!(said.lines[2].text.contains("10 cm"));
        assert_eq!(said.least_sign_mm, Some(5));
    }

    #[test]
    fn a_distance_the_maker_did_not_give_is_asked_for_and_not_printed() {
        for apart_cm in [None, Some(0)] {
            let kind = Kind::Candle {
                apart_cm,
                floating: false,
            };
            let said = cautions(Market::EuropeanUnion, kind, Language::De);
            assert!(said.missing.is_some());
            assert!(said.lines.iter().all(|line| line.care != Care::Apart));
        }
        let floating = Kind::Candle {
            apart_cm: None,
            floating: true,
        };
        assert_eq!(
            cautions(Market::EuropeanUnion, floating, Language::De).missing,
            None
        );
    }

    /// Candle standards define a candle by its wick, so none covers a melt.
    #[test]
    fn a_melt_claims_no_standard() {
        for market in Market::ALL {
            let said = cautions(market, Kind::Melt, Language::Es);
            assert!(!said.sign && said.signal.is_none());
            assert!(
                said.lines.iter().all(|line| {
                    line.status == Status::CommonPractice && !line.named_by_standard
                })
            );
        }
    }
}
