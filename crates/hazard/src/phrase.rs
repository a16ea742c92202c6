//! The statements' words in the languages of a label.
//!
//! Official languages bind, so a text is printed only where something else
//! than memory gives it, and a blank stops that language's label by the
//! statement's name; it never falls back to another language.

use std::collections::BTreeMap;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::table;

/// A language of a label.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
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
    /// Every language of the tables.
    pub const ALL: [Self; 4] = [Self::En, Self::De, Self::Fr, Self::Es];

    /// Its two letters by ISO 639: `en`.
    pub const fn code(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
            Self::Fr => "fr",
            Self::Es => "es",
        }
    }

    /// The language with these two letters.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|language| language.code().eq_ignore_ascii_case(code.trim()))
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::En => "English",
            Self::De => "German",
            Self::Fr => "French",
            Self::Es => "Spanish",
        })
    }
}

/// Why a statement cannot be printed in a language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Missing {
    /// The statement: `P302+P352`.
    pub code: String,
    /// The language it is missing in.
    pub language: Language,
    /// Why, in words, with what to do.
    pub why: String,
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} in {}: {}", self.code, self.language, self.why)
    }
}

impl std::error::Error for Missing {}

/// Where the words of a printed statement come from.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// The official text as it stands.
    Official,
    /// The official text, with some of the words it offers for choice.
    OfficialChoice,
    /// The official text with its gap filled by words of ours.
    OurWords,
    /// The official text with its gap filled by the maker.
    MakersWords,
    /// The whole text as the maker entered it from the official one.
    MakersText,
}

/// A statement ready to print.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Line {
    /// The statement: `H317`.
    pub code: String,
    /// Its words.
    pub text: String,
    /// Where the words come from.
    pub origin: Origin,
}

/// What the maker gives a statement in one language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Own {
    /// Words for its gap: what `…` stands for.
    Gap(String),
    /// The whole official text, which the maker has looked up.
    Text(String),
}

/// The maker's words by statement and language.
pub type OwnWords = BTreeMap<(String, Language), Own>;

/// The official text of a statement, its gaps and choices as they stand.
///
/// # Errors
///
/// [`Missing`] when the table has no text in that language, or has it only
/// from memory, or the law no longer has the statement.
pub fn text(code: &str, language: Language) -> Result<&'static str, Missing> {
    let missing = |why: String| Missing {
        code: code.to_owned(),
        language,
        why,
    };
    let row =
        table::phrase(code).ok_or_else(|| missing("the table has no such statement".to_owned()))?;
    if !row.current {
        return Err(missing("the law no longer has this statement".to_owned()));
    }
    let worded = row.texts[language as usize];
    if worded.text.is_empty() {
        return Err(missing(
            "the table has no text; enter it from the official one".to_owned(),
        ));
    }
    if !worded.confirmed {
        return Err(missing(
            "its text is known from memory only; enter it from the official one".to_owned(),
        ));
    }
    Ok(worded.text)
}

/// The text of a statement as memory has it, for the maker to hold against the
/// official one; never to be printed as it is.
pub fn unconfirmed_text(code: &str, language: Language) -> Option<&'static str> {
    let worded = table::phrase(code)?.texts[language as usize];
    (!worded.text.is_empty() && !worded.confirmed).then_some(worded.text)
}

/// What a text rests on, and a caution about it where there is one.
pub fn source(code: &str, language: Language) -> Option<(&'static str, &'static str)> {
    let row = table::phrase(code)?;
    Some((row.texts[language as usize].source, row.note))
}

/// The statement as it is printed: its choices made, its gaps filled.
///
/// Where the law offers a choice, the table of choices in this module makes
/// it; `<…>` and `[…]` are left out, since the law asks for them only where
/// something further is proven or known.
///
/// # Errors
///
/// [`Missing`] as [`text`], and when a gap is left without words.
pub fn printed(code: &str, language: Language, own: &OwnWords) -> Result<Line, Missing> {
    let given = own.get(&(code.to_owned(), language));
    let line = |text: String, origin| Line {
        code: code.to_owned(),
        text,
        origin,
    };
    if let Some(Own::Text(text)) = given
        && !text.trim().is_empty()
    {
        return Ok(line(text.trim().to_owned(), Origin::MakersText));
    }
    let official = text(code, language)?;
    let plain = without_conditions(official);
    let gap = match given {
        Some(Own::Gap(words)) if !words.trim().is_empty() => {
            Some((words.trim().to_owned(), Origin::MakersWords))
        }
        _ => None,
    };
    let choice = CHOICES
        .iter()
        .find(|choice| choice.code == code && choice.language == language);
    if let Some((words, origin)) = &gap
        && plain.contains('…')
    {
        // "Arzt/…/anrufen": the stroke behind the gap belongs to the choice.
        let mut filled = plain
            .replacen("…/ ", "… ", 1)
            .replacen("…/", "… ", 1)
            .replacen('…', words, 1);
        if !filled.ends_with('.') {
            filled.push('.');
        }
        return Ok(line(filled, *origin));
    }
    if let Some(choice) = choice {
        let origin = if choice.ours.is_empty() {
            Origin::OfficialChoice
        } else {
            Origin::OurWords
        };
        return Ok(line(choice.printed.to_owned(), origin));
    }
    if plain.contains('…') {
        return Err(Missing {
            code: code.to_owned(),
            language,
            why: "it leaves a gap for your words".to_owned(),
        });
    }
    let origin = if plain == official {
        Origin::Official
    } else {
        Origin::OfficialChoice
    };
    Ok(line(plain, origin))
}

/// P280 for eyes as well as hands.
///
/// # Errors
///
/// [`Missing`] as [`text`].
pub fn gloves_and_eyes(language: Language, own: &OwnWords) -> Result<Line, Missing> {
    let hands = printed("P280", language, own)?;
    if hands.origin != Origin::OfficialChoice {
        return Ok(hands);
    }
    let choice = EYES.iter().find(|choice| choice.language == language);
    Ok(Line {
        text: choice.map_or(hands.text, |choice| choice.printed.to_owned()),
        ..hands
    })
}

/// EUH208 with the substances it names.
///
/// # Errors
///
/// [`Missing`] as [`text`].
pub fn euh208(names: &[String], language: Language, own: &OwnWords) -> Result<Line, Missing> {
    let names = names.join(", ");
    let code = "EUH208";
    if let Some(Own::Text(text)) = own.get(&(code.to_owned(), language))
        && !text.trim().is_empty()
    {
        return Ok(Line {
            code: code.to_owned(),
            // The maker's text may name the gap as the law does.
            text: match gap_of(text) {
                Some((before, after)) => format!("{before}{names}{after}"),
                None => text.trim().to_owned(),
            },
            origin: Origin::MakersText,
        });
    }
    let official = text(code, language)?;
    let (before, after) = gap_of(official).ok_or_else(|| Missing {
        code: code.to_owned(),
        language,
        why: "its text has no place for the names".to_owned(),
    })?;
    Ok(Line {
        code: code.to_owned(),
        text: format!("{before}{names}{after}"),
        origin: Origin::Official,
    })
}

fn gap_of(text: &str) -> Option<(&str, &str)> {
    let (before, rest) = text.split_once('<')?;
    let (_, after) = rest.split_once('>')?;
    Some((before, after))
}

/// Takes out what the law asks for only under a condition: `<…>` and `[…]`.
fn without_conditions(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut depth = 0_u32;
    for sign in text.chars() {
        match sign {
            '<' | '[' => depth += 1,
            '>' | ']' => depth = depth.saturating_sub(1),
            _ if depth > 0 => {}
            ' ' if plain.is_empty() || plain.ends_with(' ') => {}
            '.' | ',' if plain.ends_with(' ') => {
                plain.pop();
                plain.push(sign);
            }
            other => plain.push(other),
        }
    }
    let plain = plain.trim();
    let mut signs = plain.chars();
    match signs.next() {
        Some(first) => first.to_uppercase().chain(signs).collect(),
        None => String::new(),
    }
}

/// How a statement that offers a choice or leaves a gap is printed on a melt.
/// Our choice, to be defended by what the thing is: wax, warmed, in a home.
struct Choice {
    code: &'static str,
    language: Language,
    printed: &'static str,
    /// The words in it that are not the law's.
    ours: &'static str,
}

const fn pick(code: &'static str, language: Language, printed: &'static str) -> Choice {
    Choice {
        code,
        language,
        printed,
        ours: "",
    }
}

const fn fill(
    code: &'static str,
    language: Language,
    printed: &'static str,
    ours: &'static str,
) -> Choice {
    Choice {
        code,
        language,
        printed,
        ours,
    }
}

use Language::{De, En, Es, Fr};

/// Warm wax gives off vapour, not dust; skin is washed with water; gloves keep
/// hands from a sensitiser. In each language only words its official text
/// offers, and fillers where it leaves a gap.
#[rustfmt::skip]
static CHOICES: &[Choice] = &[
    pick("P260", En, "Do not breathe vapours."),
    pick("P260", De, "Dampf nicht einatmen."),
    pick("P260", Fr, "Ne pas respirer les vapeurs."),
    pick("P260", Es, "No respirar los vapores."),
    pick("P261", En, "Avoid breathing vapours."),
    pick("P261", De, "Einatmen von Dampf vermeiden."),
    pick("P261", Fr, "Éviter de respirer les vapeurs."),
    pick("P261", Es, "Evitar respirar los vapores."),
    fill("P264", En, "Wash hands thoroughly after handling.", "hands"),
    fill("P264", De, "Nach Gebrauch Hände gründlich waschen.", "Hände"),
    fill("P264", Fr, "Se laver les mains soigneusement après manipulation.", "les mains"),
    fill("P264", Es, "Lavarse las manos concienzudamente tras la manipulación.", "las manos"),
    pick("P280", En, "Wear protective gloves."),
    pick("P280", De, "Schutzhandschuhe tragen."),
    pick("P280", Fr, "Porter des gants de protection."),
    pick("P280", Es, "Llevar guantes de protección."),
    pick("P301+P310", En, "IF SWALLOWED: Immediately call a POISON CENTER/doctor."),
    pick("P301+P310", De, "BEI VERSCHLUCKEN: Sofort GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P301+P310", Fr, "EN CAS D'INGESTION: Appeler immédiatement un CENTRE ANTIPOISON/un médecin."),
    pick("P301+P310", Es, "EN CASO DE INGESTIÓN: Llamar inmediatamente a un CENTRO DE TOXICOLOGÍA/médico."),
    pick("P301+P312", En, "IF SWALLOWED: Call a POISON CENTRE/doctor if you feel unwell."),
    pick("P301+P312", De, "BEI VERSCHLUCKEN: Bei Unwohlsein GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P301+P312", Fr, "EN CAS D'INGESTION: Appeler un CENTRE ANTIPOISON/un médecin en cas de malaise."),
    pick("P301+P312", Es, "EN CASO DE INGESTIÓN: Llamar a un CENTRO DE TOXICOLOGÍA/médico si la persona se encuentra mal."),
    pick("P302+P352", En, "IF ON SKIN: Wash with plenty of water."),
    pick("P302+P352", De, "BEI BERÜHRUNG MIT DER HAUT: Mit viel Wasser waschen."),
    pick("P302+P352", Fr, "EN CAS DE CONTACT AVEC LA PEAU: Laver abondamment à l'eau."),
    pick("P302+P352", Es, "EN CASO DE CONTACTO CON LA PIEL: Lavar con abundante agua."),
    pick("P308+P311", En, "IF exposed or concerned: Call a POISON CENTER/doctor."),
    pick("P308+P311", De, "BEI Exposition oder falls betroffen: GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P308+P311", Fr, "EN CAS d'exposition prouvée ou suspectée: Appeler un CENTRE ANTIPOISON/un médecin."),
    pick("P308+P311", Es, "EN CASO DE exposición manifiesta o presunta: Llamar a un CENTRO DE TOXICOLOGÍA/médico."),
    pick("P310", En, "Immediately call a POISON CENTER/doctor."),
    pick("P310", De, "Sofort GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P310", Fr, "Appeler immédiatement un CENTRE ANTIPOISON/un médecin."),
    pick("P310", Es, "Llamar inmediatamente a un CENTRO DE TOXICOLOGÍA/médico."),
    pick("P311", En, "Call a POISON CENTER/doctor."),
    pick("P311", De, "GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P311", Fr, "Appeler un CENTRE ANTIPOISON/un médecin."),
    pick("P311", Es, "Llamar a un CENTRO DE TOXICOLOGÍA/médico."),
    pick("P312", En, "Call a POISON CENTRE/doctor if you feel unwell."),
    pick("P312", De, "Bei Unwohlsein GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P312", Fr, "Appeler un CENTRE ANTIPOISON/un médecin en cas de malaise."),
    pick("P312", Es, "Llamar a un CENTRO DE TOXICOLOGÍA/médico si la persona se encuentra mal."),
    pick("P342+P311", En, "If experiencing respiratory symptoms: Call a POISON CENTER/doctor."),
    pick("P342+P311", De, "Bei Symptomen der Atemwege: GIFTINFORMATIONSZENTRUM/Arzt anrufen."),
    pick("P342+P311", Fr, "En cas de symptômes respiratoires: Appeler un CENTRE ANTIPOISON/un médecin."),
    pick("P342+P311", Es, "En caso de síntomas respiratorios: Llamar a un CENTRO DE TOXICOLOGÍA/médico."),
    fill("P501", En, "Dispose of contents/container to waste collection in accordance with local rules.", "waste collection in accordance with local rules"),
    fill("P501", De, "Inhalt/Behälter einer Entsorgung nach den örtlichen Vorschriften zuführen.", "einer Entsorgung nach den örtlichen Vorschriften"),
    fill("P501", Fr, "Éliminer le contenu/récipient dans le respect des règles locales.", "le respect des règles locales"),
    fill("P501", Es, "Eliminar el contenido/el recipiente en conformidad con las normas locales.", "conformidad con las normas locales"),
];

/// P280 where the eyes need it too.
#[rustfmt::skip]
static EYES: [Choice; 4] = [
    pick("P280", En, "Wear protective gloves/eye protection."),
    pick("P280", De, "Schutzhandschuhe/Augenschutz tragen."),
    pick("P280", Fr, "Porter des gants de protection/un équipement de protection des yeux."),
    pick("P280", Es, "Llevar guantes/gafas de protección."),
];

#[cfg(test)]
mod tests {
    use super::{
        CHOICES, EYES, Language, Own, OwnWords, euh208, printed, text, without_conditions,
    };
    use crate::table;

    /// The words of a text, without what joins them.
    fn words(text: &str) -> Vec<String> {
        text.split(|sign: char| !sign.is_alphanumeric() && sign != '\'')
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect()
    }

    // CLP Annex IV, Part 2: a slash is a choice, "…" a gap to fill. What is
    // printed may use the words offered and must invent none.
    #[test]
    fn a_printed_choice_uses_only_the_words_the_law_offers() {
        for choice in CHOICES.iter().chain(&EYES) {
            let row = table::phrase(choice.code).unwrap();
            let official = row.texts[choice.language as usize].text;
            assert!(
                official.contains('/') || official.contains('…'),
                "{} offers no choice",
                choice.code
            );
            let law =
                choice
                    .printed
                    .replacen(choice.ours, " ", usize::from(!choice.ours.is_empty()));
            assert!(choice.printed.contains(choice.ours));
            let offered = words(official);
            let mut from = 0;
            for word in words(&law) {
                // In the order of the law, so that nothing is turned round.
                let at = offered[from..].iter().position(|other| *other == word);
                let at = at.unwrap_or_else(|| {
                    panic!("{} in {}: \"{word}\"", choice.code, choice.language)
                });
                from += at + 1;
            }
            if !choice.ours.is_empty() {
                assert!(official.contains('…'), "{} leaves no gap", choice.code);
            }
        }
    }

    // Regulation (EC) No 1272/2008, consolidated text of 1 September 2025, as
    // published in four languages: Annex III, Part 1, and Annex IV, Part 2.
    #[test]
    fn the_commonest_statements_stand_in_their_official_words() {
        let own = OwnWords::new();
        for (code, words) in [
            (
                "H314",
                [
                    "Causes severe skin burns and eye damage.",
                    "Verursacht schwere Verätzungen der Haut und schwere Augenschäden.",
                    "Provoque de graves brûlures de la peau et de graves lésions des yeux.",
                    "Provoca quemaduras graves en la piel y lesiones oculares graves.",
                ],
            ),
            (
                "H317",
                [
                    "May cause an allergic skin reaction.",
                    "Kann allergische Hautreaktionen verursachen.",
                    "Peut provoquer une allergie cutanée.",
                    "Puede provocar una reacción alérgica en la piel.",
                ],
            ),
            (
                "H361",
                [
                    "Suspected of damaging fertility or the unborn child.",
                    "Kann vermutlich die Fruchtbarkeit beeinträchtigen oder das Kind im Mutterleib schädigen.",
                    "Susceptible de nuire à la fertilité ou au fœtus.",
                    "Se sospecha que puede perjudicar la fertilidad o dañar el feto.",
                ],
            ),
            (
                "P102",
                [
                    "Keep out of reach of children.",
                    "Darf nicht in die Hände von Kindern gelangen.",
                    "Tenir hors de portée des enfants.",
                    "Mantener fuera del alcance de los niños.",
                ],
            ),
            (
                "P302+P352",
                [
                    "IF ON SKIN: Wash with plenty of water.",
                    "BEI BERÜHRUNG MIT DER HAUT: Mit viel Wasser waschen.",
                    "EN CAS DE CONTACT AVEC LA PEAU: Laver abondamment à l'eau.",
                    "EN CASO DE CONTACTO CON LA PIEL: Lavar con abundante agua.",
                ],
            ),
        ] {
            for (language, expected) in Language::ALL.into_iter().zip(words) {
                assert_eq!(printed(code, language, &own).unwrap().text, expected);
            }
        }
        let names = ["linalool".to_owned()];
        let said = euh208(&names, Language::Fr, &own).unwrap();
        assert_eq!(
            said.text,
            "Contient linalool. Peut produire une réaction allergique."
        );
    }

    #[test]
    fn what_only_a_proof_would_add_is_left_out() {
        for (whole, plain) in [
            (
                "May cause damage to organs <or state all organs affected, if known> through prolonged or repeated exposure <state route>.",
                "May cause damage to organs through prolonged or repeated exposure.",
            ),
            (
                "Se sospecha que provoca cáncer. [vía de exposición]",
                "Se sospecha que provoca cáncer.",
            ),
            (
                "[In case of inadequate ventilation] wear respiratory protection.",
                "Wear respiratory protection.",
            ),
            (
                "Rinse skin with water [or shower].",
                "Rinse skin with water.",
            ),
            ("Rinse mouth.", "Rinse mouth."),
        ] {
            assert_eq!(without_conditions(whole), plain);
        }
    }

    #[test]
    fn a_gap_takes_the_makers_words() {
        let own: OwnWords = [(
            ("P501".to_owned(), Language::En),
            Own::Gap("a household waste bin".to_owned()),
        )]
        .into();
        let line = printed("P501", Language::En, &own).unwrap();
        assert_eq!(
            line.text,
            "Dispose of contents/container to a household waste bin."
        );
        let doctor: OwnWords = [(
            ("P310".to_owned(), Language::De),
            Own::Gap("Notruf".to_owned()),
        )]
        .into();
        let line = printed("P310", Language::De, &doctor).unwrap();
        assert_eq!(
            line.text,
            "Sofort GIFTINFORMATIONSZENTRUM/Arzt/Notruf anrufen."
        );
        let unfilled = printed("P370+P378", Language::En, &OwnWords::new()).unwrap_err();
        assert!(unfilled.why.contains("gap"), "{unfilled}");
    }

    #[test]
    fn a_text_from_memory_is_never_printed() {
        for row in table::phrases() {
            for language in Language::ALL {
                let worded = row.texts[language as usize];
                let found = text(row.code, language);
                assert_eq!(
                    found.is_ok(),
                    row.current && !worded.text.is_empty() && worded.source != "memory",
                    "{} {language}",
                    row.code
                );
                assert_eq!(
                    worded.confirmed,
                    !worded.text.is_empty() && worded.source != "memory"
                );
            }
        }
        assert!(text("H999", Language::En).is_err());
        // In Annex IV, Part 1, alone; its French and Spanish are from memory.
        assert!(text("P503", Language::En).is_ok());
        assert!(text("P503", Language::Fr).is_err());
    }
}
