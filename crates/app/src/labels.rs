//! Labels: where they are read, and marking them ready.

use formula::FragranceLoad;
use hazard::{Jurisdiction, Language};
use measure::{Checker, Problems, Unclear};
use workshop::facts::{LabelSettings, Market, ProductId, Recipe};
use workshop::label::Reader;
use workshop::{Workshop, decide};

use crate::forms::{Filled, as_typed};
use crate::{ActError, App, Done};

/// The words a form uses for where goods are sold.
pub const MARKETS: [(&str, Market); 3] =
    [("EU", Market::Eu), ("GB", Market::Gb), ("US", Market::Us)];

/// The laws a label can be tried by.
pub const LAWS: [(&str, Jurisdiction); 3] = [
    ("EU", Jurisdiction::Eu),
    ("GB", Jurisdiction::Gb),
    ("UN", Jurisdiction::Un),
];

/// Sets where labels are read, in which languages, and who stands on them.
/// `market` and `language` come once for each box that is ticked.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let ticked = |name: &'static str| {
            filled
                .pairs()
                .iter()
                .filter(move |(known, _)| known == name)
                .map(|(_, text)| text.as_str())
        };
        let settings = LabelSettings {
            markets: ticked("market")
                .filter_map(|text| {
                    let known = MARKETS.iter().find(|(word, _)| *word == text);
                    known.map(|(_, market)| *market)
                })
                .collect(),
            languages: ticked("language").filter_map(Language::of_code).collect(),
            name: filled.get("supplier_name").to_owned(),
            address: filled.get("address").to_owned(),
            phone: filled.get("phone").to_owned(),
            vat: filled.get("vat").to_owned(),
        };
        if workshop.label_settings() == Some(&settings) {
            return Ok(Vec::new());
        }
        decide::settle_labels(workshop, settings)
    })
}

/// Marks a good's label ready to print.
///
/// # Errors
///
/// [`ActError`] with everything that hinders it.
pub fn mark_ready(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut check = Checker::default();
        let number = check.optional("number", filled.some("number"), |text| {
            text.parse::<u32>().map_err(|_| {
                Unclear::new(
                    text,
                    "it is not a whole number",
                    "write a formulation number such as 12",
                )
            })
        });
        check.finish()?;
        decide::mark_label_ready(workshop, product, number, day)
    })
}

/// A label that is being tried: a load and a law.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    /// The load.
    pub load: FragranceLoad,
    /// The law, the day and the languages.
    pub reader: Reader,
}

/// Fills a form that tries a recipe's label with its own load and the law of
/// where it is sold.
#[must_use]
pub fn first_trial(workshop: &Workshop, recipe: &Recipe, filled: Filled) -> Filled {
    let law = workshop
        .label_settings()
        .and_then(LabelSettings::jurisdiction)
        .unwrap_or(Jurisdiction::Eu);
    let word = crate::forms::word_of(&LAWS, &law);
    filled
        .or("load", as_typed(workshop, recipe.load))
        .or("law", word)
}

/// Reads a load and a law to try a label by.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn trial(
    workshop: &Workshop,
    filled: &Filled,
    day: jiff::civil::Date,
) -> Result<Tried, Problems> {
    let mut check = Checker::default();
    let load = check.required("load", Some(filled.get("load")), |text| {
        FragranceLoad::parse(text, workshop.reading())
    });
    let law = check.required("law", Some(filled.get("law")), |text| {
        let known = LAWS.iter().find(|(word, _)| *word == text);
        known.map(|(_, law)| *law).ok_or_else(|| {
            Unclear::new(text, "it is not one of the choices", "choose EU, GB or UN")
        })
    });
    let (Some(load), Some(law)) = (load, law) else {
        return Err(check.into_problems());
    };
    let mut reader = Reader::of(workshop, day);
    reader.rules = hazard::Rules::of(law, day);
    Ok(Tried { load, reader })
}
