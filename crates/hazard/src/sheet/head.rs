//! Who wrote the sheet, for what, when, and in which version.

use jiff::civil::Date;
use measure::Problem;

/// What the text around section 3 says of the sheet itself.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Head {
    /// The trade name of what the sheet is for.
    pub product: Option<String>,
    /// The company that wrote it.
    pub supplier: Option<String>,
    /// The day it was revised, or first issued where it names no revision.
    pub dated: Option<Date>,
    /// Its version, as written.
    pub version: Option<String>,
    /// What is doubtful about these.
    pub doubts: Vec<Problem>,
}

const PRODUCT: &[&str] = &[
    "trade name",
    "product name",
    "name of product",
    "handelsname",
    "produktname",
    "nom commercial",
    "nom du produit",
    "nombre comercial",
    "nombre del producto",
    "product identifier",
    "identificateur de produit",
    "produktidentifikator",
    "identificador del producto",
];
const SUPPLIER: &[&str] = &[
    "supplier name",
    "name of supplier",
    "company name",
    "supplier",
    "manufacturer/supplier",
    "manufacturer",
    "company",
    "hersteller/lieferant",
    "lieferant",
    "hersteller",
    "firma",
    "firmenname",
    "unternehmen",
    "fournisseur",
    "fabricant",
    "producteur",
    "société",
    "proveedor",
    "fabricante",
    "empresa",
    "compañía",
];
const REVISED: &[&str] = &[
    "revision date",
    "date of revision",
    "revised on",
    "revised",
    "date of last revision",
    "last revised",
    "überarbeitet am",
    "überarbeitungsdatum",
    "datum der überarbeitung",
    "bearbeitungsdatum",
    "date de révision",
    "révision",
    "révisée le",
    "révisé le",
    "date de la révision",
    "fecha de revisión",
    "revisado el",
    "revisión",
];
const ISSUED: &[&str] = &[
    "date of issue",
    "issue date",
    "issued on",
    "issued",
    "date of preparation",
    "creation date",
    "erstellt am",
    "ausstellungsdatum",
    "ausgabedatum",
    "erstellungsdatum",
    "date d'émission",
    "date d’émission",
    "émis le",
    "date d'édition",
    "date de création",
    "fecha de emisión",
    "fecha de edición",
    "fecha de creación",
    "emitido el",
    "date",
    "datum",
    "fecha",
];
const VERSION: &[&str] = &[
    "version number",
    "version no.",
    "version no",
    "version",
    "versionsnummer",
    "versions-nr.",
    "version nr.",
    "versión número",
    "versión",
    "numéro de version",
    "revision number",
    "revision no.",
    "rev. no.",
];

/// Reads them off the whole text.
pub(super) fn head(lines: &[(usize, String)]) -> Head {
    let mut head = Head {
        product: labelled(lines, PRODUCT).filter(|text| text.chars().any(char::is_alphabetic)),
        supplier: labelled(lines, SUPPLIER)
            .filter(|text| text.chars().any(char::is_alphabetic) && !is_prose(text)),
        version: labelled(lines, VERSION).and_then(|text| version(&text)),
        ..Head::default()
    };
    let dated = [REVISED, ISSUED].into_iter().find_map(|labels| {
        all_labelled(lines, labels)
            .into_iter()
            .find_map(|text| Some((date_in(&text)?, text)))
    });
    if let Some(((date, doubtful), text)) = dated {
        if doubtful {
            head.doubts.push(Problem::new(
                "dated",
                text,
                "day and month could be the other way round",
                "compare the date with the sheet",
            ));
        }
        head.dated = Some(date);
    }
    head
}

fn labelled(lines: &[(usize, String)], labels: &[&str]) -> Option<String> {
    all_labelled(lines, labels).into_iter().next()
}

/// What stands behind a label: after its colon, in the next cell, or alone on
/// the next line. The longest label of a line counts.
fn all_labelled(lines: &[(usize, String)], labels: &[&str]) -> Vec<String> {
    let mut found: Vec<(usize, String)> = Vec::new();
    for (at, (_, line)) in lines.iter().enumerate() {
        for part in line.split(['\t', '|']).flat_map(|part| part.split("   ")) {
            let part = part.trim();
            let plain = part.trim_start_matches(|sign: char| {
                sign.is_ascii_digit() || matches!(sign, '.' | ' ' | '#' | '*' | '-' | '•')
            });
            let lower = plain.to_lowercase();
            let label = labels
                .iter()
                .enumerate()
                .filter(|(_, label)| lower.starts_with(**label) && lower.len() == plain.len())
                .max_by_key(|(_, label)| label.len());
            let Some((rank, label)) = label else { continue };
            let Some(rest) = plain.get(label.len()..) else {
                continue;
            };
            let value = rest.trim_start_matches(|sign: char| {
                sign.is_whitespace() || matches!(sign, ':' | '.' | '*' | '-' | '=')
            });
            if value.is_empty() {
                if let Some(next) = next_value(lines, at, part) {
                    found.push((rank, next));
                }
            } else if rest
                .starts_with(|sign: char| !sign.is_alphabetic() && sign != '\'' && sign != '/')
            {
                let joined = rest.starts_with(' ') && !rest.trim_start().starts_with([':', '=']);
                let meant = !joined || value.starts_with(|sign: char| sign.is_ascii_digit());
                // "Supplier of the sheet" is a heading, "Version 3.1" is not.
                if meant {
                    found.push((rank, value.trim().to_owned()));
                }
            }
        }
    }
    found.sort_by_key(|(rank, _)| *rank);
    found.into_iter().map(|(_, text)| text).collect()
}

/// The cell behind the label, or the next line that holds anything.
fn next_value(lines: &[(usize, String)], at: usize, label: &str) -> Option<String> {
    let (_, line) = lines.get(at)?;
    let behind = line
        .split(['\t', '|'])
        .flat_map(|part| part.split("   "))
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .skip_while(|part| *part != label)
        .nth(1)
        .map(|part| part.trim_start_matches([':', ' ']).to_owned())
        .filter(|part| !part.is_empty());
    behind.or_else(|| {
        lines
            .iter()
            .skip(at + 1)
            .take(2)
            .map(|(_, text)| text.trim())
            .find(|text| !text.is_empty())
            .filter(|text| !text.ends_with(':'))
            .map(str::to_owned)
    })
}

fn is_prose(text: &str) -> bool {
    text.split_whitespace().count() > 12
}

fn version(text: &str) -> Option<String> {
    let word = text
        .split(|sign: char| sign.is_whitespace() || matches!(sign, ';' | '(' | ')' | '/'))
        .find(|word| word.bytes().any(|byte| byte.is_ascii_digit()))?;
    let word = word.trim_matches(|sign: char| !sign.is_alphanumeric());
    let parts = word.split('.').count();
    // A date is not a version.
    (word.len() <= 10 && (parts < 3 || word.len() < 8) && !word.contains('-'))
        .then(|| word.to_owned())
}

/// The first date in a text, and whether day and month might be swapped.
pub(super) fn date_in(text: &str) -> Option<(Date, bool)> {
    let words: Vec<&str> = text
        .split(|sign: char| sign.is_whitespace() || matches!(sign, '.' | '/' | '-' | ','))
        .filter(|word| !word.is_empty())
        .collect();
    words
        .windows(3)
        .find_map(|three| {
            let [first, second, third] = three else {
                return None;
            };
            // With full stops the day always comes first.
            numbered(
                first,
                second,
                third,
                text.contains(&format!("{first}.{second}.{third}")),
            )
        })
        .or_else(|| {
            let words: Vec<&str> = words
                .into_iter()
                .filter(|word| !matches!(word.to_lowercase().as_str(), "de" | "del" | "of"))
                .collect();
            words.windows(3).find_map(|three| {
                let [first, second, third] = three else {
                    return None;
                };
                let year = third
                    .parse::<i16>()
                    .ok()
                    .filter(|year| (1990..2100).contains(year))?;
                // 12 March 2025, or March 12, 2025
                let (day, month) = match (first.parse::<i8>(), second.parse::<i8>()) {
                    (Ok(day), Err(_)) => (day, month_of(second)?),
                    (Err(_), Ok(day)) => (day, month_of(first)?),
                    _ => return None,
                };
                Some((Date::new(year, month, day).ok()?, false))
            })
        })
}

fn numbered(first: &str, second: &str, third: &str, dotted: bool) -> Option<(Date, bool)> {
    let year = |text: &str| {
        let year: i16 = text.parse().ok()?;
        (text.len() == 4 && (1990..2100).contains(&year)).then_some(year)
    };
    let small = |text: &str| text.parse::<i8>().ok().filter(|_| text.len() <= 2);
    if let Some(year) = year(first) {
        return Some((Date::new(year, small(second)?, small(third)?).ok()?, false));
    }
    let year = year(third)?;
    let (first, second) = (small(first)?, small(second)?);
    match (
        Date::new(year, second, first),
        Date::new(year, first, second),
    ) {
        (Ok(date), Ok(other)) => Some((date, other != date && !dotted)),
        (Ok(date), Err(_)) | (Err(_), Ok(date)) => Some((date, false)),
        (Err(_), Err(_)) => None,
    }
}

fn month_of(word: &str) -> Option<i8> {
    let lower = word.to_lowercase();
    let starts = |stems: &[&str]| stems.iter().any(|stem| lower.starts_with(stem));
    let months: [&[&str]; 12] = [
        &["jan", "jän", "ene"],
        &["feb", "fév", "fev"],
        &["mar", "mär", "mrz"],
        &["apr", "avr", "abr"],
        &["may", "mai", "mayo"],
        &["jun", "juin"],
        &["jul", "juil"],
        &["aug", "aoû", "aou", "ago"],
        &["sep"],
        &["oct", "okt"],
        &["nov"],
        &["dec", "dez", "déc", "dic"],
    ];
    months
        .iter()
        .zip(1..)
        .find(|(stems, _)| starts(stems))
        .map(|(_, month)| month)
}
