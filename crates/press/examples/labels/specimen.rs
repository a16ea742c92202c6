//! Wordings of an invented workshop, from the shortest to the longest.

use label::caution::{Cautions, Kind, Market, cautions};
use label::wording::{
    Care, Due, Hazard, HazardSizes, HazardText, HeightRule, Language, NetWeight, Placement, Reach,
    Role, Said, Wording,
};

/// A short name, a middling one, the longest a maker would print.
pub(crate) const NAMES: [&str; 3] = [
    "Fig",
    "Harbour Fig",
    "Peat & Plum with Smoked Driftwood, Tin Roof Mint and a Rainy Loft",
];

fn identity(language: Language, candle: bool) -> &'static str {
    match (language, candle) {
        (Language::En, false) => "scented wax melt",
        (Language::De, false) => "Duftwachs",
        (Language::Fr, false) => "fondant parfumé",
        (Language::Es, false) => "cera aromática",
        (Language::En, true) => "scented candle",
        (Language::De, true) => "Duftkerze",
        (Language::Fr, true) => "bougie parfumée",
        (Language::Es, true) => "vela aromática",
    }
}

fn due(roles: &[Role], why: &str) -> Vec<Due> {
    roles
        .iter()
        .map(|role| Due {
            role: *role,
            why: why.to_owned(),
        })
        .collect()
}

/// The statement in both systems, for a panel of so many square inches.
pub(crate) fn us_net(text: &str, sixteenths: f64, lowest_share: Option<f64>) -> NetWeight {
    NetWeight {
        text: text.to_owned(),
        heights: vec![
            HeightRule {
                reach: Reach::Capital,
                least_mm: sixteenths * 25.4 / 16.0,
                source: "16 CFR 500.21(b)".to_owned(),
            },
            HeightRule {
                reach: Reach::SmallLetter,
                least_mm: 25.4 / 16.0,
                source: "16 CFR 500.21(b), symbols of SI units".to_owned(),
            },
        ],
        placement: Some(Placement {
            lowest_share,
            clear_heights: 1.0,
            clear_n_widths: 2.0,
            source: "16 CFR 500.6(b)".to_owned(),
        }),
        e_mark_mm: None,
    }
}

fn eu_net(text: &str, least_mm: f64, e_mark: bool) -> NetWeight {
    NetWeight {
        text: text.to_owned(),
        heights: vec![HeightRule {
            reach: Reach::Digit,
            least_mm,
            source: "Directive 76/211/EEC, Annex I, 3.1".to_owned(),
        }],
        placement: None,
        e_mark_mm: e_mark.then_some(3.0),
    }
}

fn base(name: &str, languages: &[Language], candle: bool) -> Wording {
    Wording {
        languages: languages.to_vec(),
        maker: "Quillfen Wax Works".to_owned(),
        name: name.to_owned(),
        identity: languages
            .iter()
            .map(|language| Said {
                language: *language,
                text: identity(*language, candle).to_owned(),
            })
            .collect(),
        lot: Some("QF-0612".to_owned()),
        best_by: Some("June 2028".to_owned()),
        ..Wording::default()
    }
}

fn melt_cautions(market: Market, languages: &[Language]) -> Vec<Cautions> {
    languages
        .iter()
        .map(|language| cautions(market, Kind::Melt, *language))
        .collect()
}

/// A melt sold in the United States.
pub(crate) fn us_melt(name: &str, sixteenths: f64, lowest_share: Option<f64>) -> Wording {
    let languages = [Language::En];
    Wording {
        net_weight: Some(us_net("NET WT 2.5 OZ (70 g)", sixteenths, lowest_share)),
        cautions: melt_cautions(Market::UnitedStates, &languages),
        address: vec!["12 Ropewalk".to_owned(), "Port Averin, ME 04999".to_owned()],
        contact: vec!["hello@quillfen.example".to_owned()],
        care: vec![
            Care::WarmerOnly,
            Care::WithinSight,
            Care::ChildrenAndPets,
            Care::DoNotEat,
            Care::HotWax,
            Care::BinNotDrain,
        ],
        due: due(
            &[
                Role::Name,
                Role::Identity,
                Role::NetWeight,
                Role::Maker,
                Role::Address,
            ],
            "16 CFR 500.3 to 500.6",
        ),
        ..base(name, &languages, false)
    }
}

/// A candle sold in the United States.
pub(crate) fn us_candle(name: &str, sixteenths: f64, lowest_share: Option<f64>) -> Wording {
    let kind = Kind::Candle {
        apart_cm: None,
        floating: false,
    };
    let melt = us_melt(name, sixteenths, lowest_share);
    let mut due_here = melt.due.clone();
    due_here.extend(due(&[Role::Cautions], "ASTM F2058, voluntary"));
    Wording {
        cautions: vec![cautions(Market::UnitedStates, kind, Language::En)],
        due: due_here,
        care: vec![
            Care::WithinSight,
            Care::AwayFromWhatBurns,
            Care::ChildrenAndPets,
        ],
        ..Wording {
            identity: base(name, &[Language::En], true).identity,
            ..melt
        }
    }
}

struct Said4([&'static str; 4]);

impl Said4 {
    fn say(&self, language: Language) -> String {
        let [en, de, fr, es] = self.0;
        match language {
            Language::En => en,
            Language::De => de,
            Language::Fr => fr,
            Language::Es => es,
        }
        .to_owned()
    }
}

const WARNING: Said4 = Said4(["Warning", "Achtung", "Attention", "Atención"]);
const H317: Said4 = Said4([
    "May cause an allergic skin reaction.",
    "Kann allergische Hautreaktionen verursachen.",
    "Peut provoquer une allergie cutanée.",
    "Puede provocar una reacción alérgica en la piel.",
]);
const H412: Said4 = Said4([
    "Harmful to aquatic life with long lasting effects.",
    "Schädlich für Wasserorganismen, mit langfristiger Wirkung.",
    "Nocif pour les organismes aquatiques, entraîne des effets néfastes à long terme.",
    "Nocivo para los organismos acuáticos, con efectos nocivos duraderos.",
]);
const P102: Said4 = Said4([
    "Keep out of reach of children.",
    "Darf nicht in die Hände von Kindern gelangen.",
    "Tenir hors de portée des enfants.",
    "Mantener fuera del alcance de los niños.",
]);
const P302: Said4 = Said4([
    "IF ON SKIN: Wash with plenty of water.",
    "BEI BERÜHRUNG MIT DER HAUT: Mit viel Wasser waschen.",
    "EN CAS DE CONTACT AVEC LA PEAU : Laver abondamment à l’eau.",
    "EN CASO DE CONTACTO CON LA PIEL: Lavar con abundante agua.",
]);
const P501: Said4 = Said4([
    "Dispose of contents in accordance with local rules.",
    "Inhalt nach den örtlichen Vorschriften entsorgen.",
    "Éliminer le contenu conformément à la réglementation locale.",
    "Eliminar el contenido conforme a la normativa local.",
]);

/// A hazard label as a melt of a common sensitiser has it.
pub(crate) fn hazard(languages: &[Language]) -> Hazard {
    Hazard {
        pictograms: vec!["GHS07".to_owned()],
        texts: languages
            .iter()
            .map(|language| HazardText {
                language: *language,
                substances: vec!["linalool".to_owned(), "limonene".to_owned()],
                signal: Some(WARNING.say(*language)),
                statements: vec![H317.say(*language), H412.say(*language)],
                precautions: vec![
                    P102.say(*language),
                    P302.say(*language),
                    P501.say(*language),
                ],
                supplemental: Vec::new(),
            })
            .collect(),
        sizes: HazardSizes {
            x_height_mm: 1.2,
            format_is_law: false,
            pictogram_mm: 10.0,
            pictogram_wanted_mm: 16.0,
            leading: 1.2,
        },
    }
}

/// A melt sold in the Union with a hazard label in these languages.
pub(crate) fn eu_melt(name: &str, languages: &[Language]) -> Wording {
    Wording {
        net_weight: Some(eu_net("70 g", 3.0, true)),
        cautions: melt_cautions(Market::EuropeanUnion, languages),
        hazard: Some(hazard(languages)),
        formula_identifier: Some("H7SP-M7AX-K30D-6WVY".to_owned()),
        address: vec!["Seilergasse 12".to_owned(), "2468 Port Averin".to_owned()],
        contact: vec!["quillfen.example".to_owned(), "+00 555 0142".to_owned()],
        gtin: Some("9521234543213".to_owned()),
        qr: Some("HTTPS://QUILLFEN.EXAMPLE/L/QF0612".to_owned()),
        due: due(
            &[
                Role::Name,
                Role::NetWeight,
                Role::Hazard,
                Role::FormulaIdentifier,
                Role::Maker,
                Role::Address,
                Role::Contact,
                Role::Lot,
            ],
            "Regulation (EU) 2023/988, Article 9; CLP Article 17",
        ),
        ..base(name, languages, false)
    }
}

/// A candle sold in the Union.
pub(crate) fn eu_candle(name: &str, languages: &[Language]) -> Wording {
    let kind = Kind::Candle {
        apart_cm: Some(10),
        floating: false,
    };
    let melt = eu_melt(name, languages);
    let mut due_here = melt.due.clone();
    due_here.extend(due(&[Role::Cautions], "EN 15494:2019, voluntary"));
    Wording {
        cautions: languages
            .iter()
            .map(|language| cautions(Market::EuropeanUnion, kind, *language))
            .collect(),
        identity: base(name, languages, true).identity,
        net_weight: Some(eu_net("180 g", 3.0, false)),
        due: due_here,
        ..melt
    }
}
