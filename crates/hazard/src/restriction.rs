//! Substances that are forbidden or held down whatever the label says, and the
//! oil's maximum by its own certificate.
//!
//! The list is short and not the law: it holds what an oil for wax has been
//! met with. That a substance is not on it means nothing.

use std::fmt;

use jiff::civil::{Date, date};
use measure::Working;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::cas::Cas;
use crate::class::{Class, Hazard};
use crate::ingredient::Ingredient;
use crate::regime::Jurisdiction;

/// How hard a flag is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Not to be used: send the oil back.
    Prohibited,
    /// Not to be sold to the public from a share of the product on.
    NotForThePublic,
    /// A duty or a question begins at a share of the product.
    Restricted,
    /// Announced or proposed; not law yet on the day.
    Announced,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Prohibited => "prohibited",
            Self::NotForThePublic => "not for the public",
            Self::Restricted => "restricted",
            Self::Announced => "announced",
        })
    }
}

/// Where a flag holds: one of the jurisdictions, or the United States, whose
/// law knows no classes.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
pub enum Place {
    /// European Union, EEA and Northern Ireland.
    #[serde(rename = "EU")]
    Eu,
    /// Great Britain.
    #[serde(rename = "GB")]
    Gb,
    /// United States.
    #[serde(rename = "US")]
    Us,
}

impl Place {
    /// The place of a jurisdiction; none for the UN's model rules.
    pub const fn of(jurisdiction: Jurisdiction) -> Option<Self> {
        match jurisdiction {
            Jurisdiction::Eu => Some(Self::Eu),
            Jurisdiction::Gb => Some(Self::Gb),
            Jurisdiction::Un => None,
        }
    }
}

/// A row of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flag {
    cas: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Where it holds.
    pub place: Place,
    /// How hard it is.
    pub kind: Kind,
    /// From this share of the product on, percent, that figure included; none
    /// for any share.
    from: Option<&'static str>,
    /// What is so, in words.
    pub says: &'static str,
    /// The law or notice.
    pub law: &'static str,
    /// From when it holds or was announced; none where it has for long.
    pub since: Option<Date>,
    /// Where it was read, and when.
    pub source: &'static str,
}

const READ: &str = "read November 2026";

/// The list.
#[rustfmt::skip]
static FLAGS: &[Flag] = &[
    Flag { cas: "81-15-2", name: "Musk xylene", place: Place::Eu, kind: Kind::Prohibited, from: None,
        says: "Not to be used without an authorisation, and none is known for scent.",
        law: "REACH Annex XIV (very persistent, very bioaccumulative)", since: None,
        source: "REACH Annex XIV; the entry from memory" },
    Flag { cas: "81-15-2", name: "Musk xylene", place: Place::Gb, kind: Kind::Prohibited, from: None,
        says: "Not to be used without an authorisation, and none is known for scent.",
        law: "UK REACH Annex XIV (very persistent, very bioaccumulative)", since: None,
        source: "from memory, as retained from the EU's annex" },
    Flag { cas: "5146-66-7", name: "Geranyl nitrile", place: Place::Gb, kind: Kind::NotForThePublic, from: Some("0.1"),
        says: "Mutagenic, category 1B, in the list as it stood when Great Britain took it over; an oil that declares it goes back.",
        law: "UK REACH Annex XVII, entry 29; GB mandatory classification list", since: None,
        source: "ECHA's table of Annex VI (9th adaptation), read November 2026; that the British list keeps it from memory" },
    Flag { cas: "94-59-7", name: "Safrole", place: Place::Gb, kind: Kind::NotForThePublic, from: Some("0.1"),
        says: "Carcinogenic, category 1B, in the list as it stood when Great Britain took it over; only as a trace that comes with a natural oil.",
        law: "UK REACH Annex XVII, entry 28; GB mandatory classification list", since: None,
        source: "ECHA's table of Annex VI, read November 2026; that the British list keeps it from memory" },
    Flag { cas: "5146-66-7", name: "Geranyl nitrile", place: Place::Eu, kind: Kind::NotForThePublic, from: Some("0.1"),
        says: "Mutagenic, category 1B, by the harmonised list; an oil that declares it goes back.",
        law: "REACH Annex XVII, entry 29; CLP Annex VI (9th adaptation)", since: None,
        source: "ECHA's table of Annex VI, read November 2026; entry 29 by ECHA Q&A 1523" },
    Flag { cas: "94-59-7", name: "Safrole", place: Place::Eu, kind: Kind::NotForThePublic, from: Some("0.1"),
        says: "Carcinogenic, category 1B; only as a trace that comes with a natural oil.",
        law: "REACH Annex XVII, entry 28; CLP Annex VI", since: None,
        source: "ECHA's table of Annex VI, read November 2026; entry 28 by ECHA Q&A 1523" },
    Flag { cas: "119-61-9", name: "Benzophenone", place: Place::Eu, kind: Kind::NotForThePublic, from: Some("0.1"),
        says: "Carcinogenic, category 1B, by the harmonised list (18th adaptation).",
        law: "REACH Annex XVII, entry 28; CLP Annex VI", since: None,
        source: "ECHA's table of Annex VI, read November 2026; whether Appendix 2 lists it already was not read" },
    Flag { cas: "80-54-6", name: "Butylphenyl methylpropional", place: Place::Eu, kind: Kind::NotForThePublic, from: Some("0.3"),
        says: "Toxic for reproduction, category 1B, by the harmonised list (15th adaptation).",
        law: "REACH Annex XVII, entry 30; CLP Annex VI", since: None,
        source: "ECHA's table of Annex VI, read November 2026; entry 30 by ECHA Q&A 1523" },
    Flag { cas: "8007-75-8", name: "Oil of bergamot", place: Place::Us, kind: Kind::Restricted, from: Some("2"),
        says: "A strong sensitizer from 2 % of the product on: the label may have to say so.",
        law: "16 CFR 1500.13", since: None,
        source: "law.cornell.edu, 2015 edition, read November 2026" },
    Flag { cas: "50-00-0", name: "Formaldehyde", place: Place::Us, kind: Kind::Restricted, from: Some("1"),
        says: "A strong sensitizer from 1 % of the product on: the label may have to say so.",
        law: "16 CFR 1500.13", since: None,
        source: "law.cornell.edu, 2015 edition, read November 2026" },
    Flag { cas: "111-12-6", name: "Methyl 2-octynoate", place: Place::Eu, kind: Kind::Announced, from: None,
        says: "A harmonised entry as a sensitiser comes in; its limits were not read. Ask for a sheet after that day.",
        law: "Delegated Regulation (EU) 2025/1222, 23rd adaptation", since: Some(date(2027, 2, 1)),
        source: READ },
    Flag { cas: "6259-76-3", name: "Hexyl salicylate", place: Place::Eu, kind: Kind::Restricted, from: None,
        says: "Toxic for reproduction, category 2, and a sensitiser by the harmonised list. Sheets older than that day lack it.",
        law: "Delegated Regulation (EU) 2024/2564, 22nd adaptation", since: Some(date(2026, 5, 1)),
        source: "two reports of the trade press that agree, read November 2026" },
    Flag { cas: "120-57-0", name: "Piperonal", place: Place::Eu, kind: Kind::Announced, from: None,
        says: "Proposed as toxic for reproduction, category 1B; whether adopted is not known here.",
        law: "draft of the 24th adaptation, notified 27 November 2025", since: None,
        source: READ },
    Flag { cas: "68647-73-4", name: "Tea tree oil", place: Place::Eu, kind: Kind::Announced, from: None,
        says: "Proposed as toxic for reproduction, category 1B; whether adopted is not known here.",
        law: "draft of the 24th adaptation, notified 27 November 2025", since: None,
        source: READ },
    Flag { cas: "18127-01-0", name: "3-(4-tert-Butylphenyl)propanal", place: Place::Eu, kind: Kind::Announced, from: None,
        says: "ECHA's committee proposed it as toxic for reproduction, category 1B; not law when read.",
        law: "opinion of ECHA's Committee for Risk Assessment", since: None,
        source: READ },
    Flag { cas: "103-95-7", name: "Cyclamen aldehyde", place: Place::Eu, kind: Kind::Announced, from: None,
        says: "ECHA's committee proposed it as toxic for reproduction, category 1B; not law when read.",
        law: "opinion of ECHA's Committee for Risk Assessment", since: None,
        source: READ },
];

impl Flag {
    /// Its CAS number.
    pub fn cas(&self) -> Cas {
        Cas::parse(self.cas).expect("a test verifies the check digit of every flag")
    }

    /// From this share of the product on, percent; none for any share.
    pub fn from(&self) -> Option<Decimal> {
        Decimal::from_str_exact(self.from?).ok()
    }

    /// How hard it is on a day: what has not come into force is announced.
    pub fn kind_on(&self, day: Date) -> Kind {
        if self.since.is_some_and(|since| since > day) {
            return Kind::Announced;
        }
        // An announcement whose day has come is a question to the sheet.
        match (self.kind, self.since) {
            (Kind::Announced, Some(_)) => Kind::Restricted,
            (kind, _) => kind,
        }
    }

    /// Whether that share of the product, percent, is reached.
    pub fn is_reached(&self, most: Decimal) -> bool {
        self.from().is_none_or(|from| most >= from)
    }
}

/// Every flag.
pub fn flags() -> &'static [Flag] {
    FLAGS
}

/// The flags of a substance in a place.
pub fn of(cas: Cas, place: Place) -> Vec<&'static Flag> {
    FLAGS
        .iter()
        .filter(|flag| flag.place == place && flag.cas() == cas)
        .collect()
}

/// What to hold against an ingredient, whose share of the product is `most`
/// percent at its highest: its flags, and the general rule that what the sheet
/// itself gives as mutagenic, carcinogenic or toxic for reproduction in
/// category 1 is not for the public from a limit on.
pub fn look(ingredient: &Ingredient, most: Decimal, place: Place, day: Date) -> Vec<String> {
    let mut found = Vec::new();
    if let Some(cas) = ingredient.cas {
        for flag in of(cas, place) {
            let reach = match flag.from() {
                Some(from) if flag.is_reached(most) => {
                    format!(" {} % is at or above {from} %.", most.normalize())
                }
                Some(from) => format!(" {} % is below {from} %.", most.normalize()),
                None => String::new(),
            };
            let since = flag
                .since
                .map_or_else(String::new, |since| format!(", from {since}"));
            found.push(format!(
                "{} ({}): {}. {}{reach} {}{since}.",
                ingredient.name,
                flag.cas,
                flag.kind_on(day),
                flag.says,
                flag.law
            ));
        }
    }
    if matches!(place, Place::Eu | Place::Gb) {
        for hazard in ingredient.hazards.iter().flatten() {
            if let Some(limit) = public_limit(*hazard)
                && most >= limit
            {
                found.push(format!(
                    "{}: {hazard} at {} % of the product is at or above {limit} %: not to be sold \
                     to the public (REACH Annex XVII, entries 28 to 30, where its appendices list \
                     the substance; a specific limit comes first).",
                    ingredient.name,
                    most.normalize()
                ));
            }
        }
    }
    found
}

/// The generic limit from which the public may not get it.
///
/// # Source
///
/// CLP Annex I, Tables 3.5.2, 3.6.2 and 3.7.2.
fn public_limit(hazard: Hazard) -> Option<Decimal> {
    match hazard.class {
        Class::Muta1A | Class::Muta1B | Class::Carc1A | Class::Carc1B => Some(Decimal::new(1, 1)),
        Class::Repr1A | Class::Repr1B => Some(Decimal::new(3, 1)),
        _ => None,
    }
}

/// Whether a product keeps within the maximum of the oil's certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Whether it does.
    pub within: bool,
    /// How far it is over, in percent of the product; zero when within.
    pub over: Decimal,
    /// The highest load of wax that still keeps it, rounded down to 0.01 %;
    /// none where the maximum is the whole.
    pub highest_load_of_wax: Option<Decimal>,
    /// In words.
    pub says: String,
    /// How it was found.
    pub working: Working,
}

/// Holds the oil's share of the finished product, percent, against the maximum
/// its certificate gives for the article's category. The maximum itself is
/// allowed.
///
/// Both are shares of the whole product, as such certificates give them.
pub fn check(oil_of_total: Decimal, maximum: Decimal, category: &str) -> Verdict {
    let within = oil_of_total <= maximum;
    let over = (oil_of_total - maximum).max(Decimal::ZERO).normalize();
    let hundred = Decimal::ONE_HUNDRED;
    let highest_load_of_wax = (maximum >= Decimal::ZERO && maximum < hundred).then(|| {
        (hundred * maximum / (hundred - maximum))
            .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::ToZero)
            .normalize()
    });
    let (share, most) = (oil_of_total.normalize(), maximum.normalize());
    let says = if within {
        format!(
            "{share} % of the product keeps within the certificate's {most} % for {category}. \
             The certificate speaks of this use only; it replaces neither label nor sheet."
        )
    } else {
        format!(
            "{share} % of the product is {over} % over the certificate's {most} % for {category}."
        )
    };
    let mut working = Working::new();
    working.step(
        "Oil against the certificate's maximum",
        "oil of total ≤ maximum",
        format!("{share} % {} {most} %", if within { "≤" } else { ">" }),
        if within { "within" } else { "over" },
        format!("the certificate of the oil, {category}"),
    );
    if let Some(load) = highest_load_of_wax {
        working.step(
            "Highest load of wax that keeps it",
            "maximum ÷ (100 % − maximum)",
            format!("{most} % ÷ (100 % − {most} %)"),
            format!("{load} % of wax, rounded down; without dye"),
            "the definitions: of wax = oil ÷ wax, of total = oil ÷ everything",
        );
    }
    Verdict {
        within,
        over,
        highest_load_of_wax,
        says,
        working,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use rust_decimal::Decimal;

    use super::{Kind, Place, check, flags, look, of};
    use crate::table;
    use crate::{Cas, Share};

    fn percent(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn every_flag_stands_on_a_cas_number_and_a_law() {
        for flag in flags() {
            let cas = flag.cas();
            assert!(!flag.law.is_empty() && !flag.source.is_empty() && !flag.says.is_empty());
            assert_eq!(flag.from().is_some(), flag.from.is_some());
            if let Some(row) = table::substance(cas) {
                let kin = |name: &str| name.to_lowercase().contains(&flag.name.to_lowercase());
                assert!(
                    kin(row.name)
                        || row.synonyms.iter().any(|name| kin(name))
                        || flag.name.starts_with("Oil of"),
                    "{} is {} in the table",
                    flag.name,
                    row.name
                );
            }
        }
    }

    // REACH Annex XIV; in Great Britain from memory.
    #[test]
    fn musk_xylene_is_refused_at_any_share() {
        let cas = Cas::parse("81-15-2").unwrap();
        for place in [Place::Eu, Place::Gb] {
            let flag = of(cas, place)[0];
            assert_eq!(flag.kind_on(date(2026, 11, 25)), Kind::Prohibited);
            assert!(flag.is_reached(Decimal::ZERO));
        }
    }

    #[test]
    fn an_announcement_becomes_a_duty_on_its_day() {
        let cas = Cas::parse("6259-76-3").unwrap();
        let flag = of(cas, Place::Eu)[0];
        assert_eq!(flag.kind_on(date(2026, 4, 30)), Kind::Announced);
        assert_eq!(flag.kind_on(date(2026, 5, 1)), Kind::Restricted);
        assert!(of(cas, Place::Us).is_empty());
    }

    // 16 CFR 1500.13: oil of bergamot and products with 2 percent or more.
    #[test]
    fn bergamot_is_flagged_from_two_percent_on() {
        let cas = Cas::parse("8007-75-8").unwrap();
        let flag = of(cas, Place::Us)[0];
        assert!(flag.is_reached(percent("2")));
        assert!(!flag.is_reached(percent("1.999999")));
    }

    // REACH Annex XVII, entry 30, with CLP Annex I, Table 3.7.2: from 0.3 %.
    #[test]
    fn what_harms_the_unborn_is_not_for_the_public_from_its_limit_on() {
        let row = table::substance(Cas::parse("80-54-6").unwrap()).unwrap();
        let line = row
            .ingredient(Share::exactly(percent("3")).unwrap())
            .ingredient;
        let day = date(2026, 11, 25);
        let at = look(&line, percent("0.3"), Place::Eu, day);
        assert!(
            at.iter().any(|found| found.contains("at or above 0.3 %")),
            "{at:?}"
        );
        let below = look(&line, percent("0.299999"), Place::Eu, day);
        assert!(
            below.iter().all(|found| !found.contains("at or above")),
            "{below:?}"
        );
    }

    #[test]
    fn the_certificates_maximum_itself_is_allowed() {
        for (oil, maximum, within, load) in [
            ("9.090909", "10", true, "11.11"),
            ("10", "10", true, "11.11"),
            ("10.000001", "10", false, "11.11"),
            ("0", "0", true, "0"),
        ] {
            let verdict = check(percent(oil), percent(maximum), "category 12");
            assert_eq!(verdict.within, within, "{oil}");
            assert_eq!(verdict.highest_load_of_wax, Some(percent(load)));
            assert_eq!(verdict.over.is_zero(), within);
        }
        assert_eq!(
            check(percent("5"), percent("100"), "category 12").highest_load_of_wax,
            None
        );
    }
}
