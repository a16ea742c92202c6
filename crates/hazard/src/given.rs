//! A composition as it is typed: the lines the calculations of this crate
//! share, and how they are read.

use measure::{Checker, Mass, Problem, Problems, Ratio, Reading, Temperature, Typed, Unclear};
use measure::{TemperatureUnit, parse_decimal};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::cas::Cas;
use crate::class::{Class, Hazard};
use crate::ingredient::{AcuteEstimate, Band, EstimateKind, Ingredient};
use crate::mixture::{Form, Mixture, Part, Unlisted, is_m_factor};
use crate::regime::{Jurisdiction, Rules};
use crate::share::Share;

/// One substance, as its line in a supplier's safety data sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Its name.
    #[serde(default)]
    pub name: String,
    /// Its CAS number: `5989-27-5`.
    #[serde(default)]
    pub cas: Option<String>,
    /// Its share of the raw material: `3.2 %`, `5-10 %`, `< 1 %`.
    #[serde(default)]
    pub share: String,
    /// Its classes: `Skin Sens. 1B H317`. An empty list says that it is not
    /// classified; leave it out where nobody has said.
    #[serde(default)]
    pub classification: Option<Vec<String>>,
    /// Its M-factor for Aquatic Acute 1.
    #[serde(default)]
    pub m_acute: Option<Figure>,
    /// Its M-factor for Aquatic Chronic 1.
    #[serde(default)]
    pub m_chronic: Option<Figure>,
    /// Its estimate when swallowed: `500 mg/kg`, `> 5000 mg/kg`.
    #[serde(default)]
    pub ate_oral: Option<String>,
    /// Its estimate through the skin: `1100 mg/kg`.
    #[serde(default)]
    pub ate_dermal: Option<String>,
    /// Its estimate breathed in as gas: `4500 ppm`.
    #[serde(default)]
    pub ate_inhal_gas: Option<String>,
    /// Its estimate breathed in as vapour, over four hours: `11 mg/l`.
    #[serde(default)]
    pub ate_inhal_vapour: Option<String>,
    /// Its estimate breathed in as dust or mist, over four hours: `1.5 mg/l`.
    #[serde(default)]
    pub ate_inhal_mist: Option<String>,
    /// Limits of its own.
    #[serde(default)]
    pub scl: Vec<Limit>,
}

/// A specific concentration limit.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// The class it leads to: `Skin Sens. 1`.
    #[serde(default)]
    pub class: String,
    /// From which share of the finished mixture: `>= 0.1 %`,
    /// `>= 0.5 % < 2 %`.
    #[serde(default)]
    pub limit: String,
}

/// A whole number, written as a number or as text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Figure {
    /// `10`
    Number(f64),
    /// `"10"`
    Text(String),
}

impl Eq for Figure {}

impl Figure {
    fn text(&self) -> String {
        match self {
            Self::Number(number) => number.to_string(),
            Self::Text(text) => text.trim().to_owned(),
        }
    }
}

impl From<u32> for Figure {
    fn from(number: u32) -> Self {
        Self::Number(f64::from(number))
    }
}

/// The law asked for, or the place without a duty of this kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Law(Jurisdiction),
    UnitedStates,
}

pub(crate) fn place(text: &str) -> Result<Place, Unclear> {
    const ACCEPTED: &str = "write EU, GB, UN or US";
    match text.trim().to_ascii_uppercase().as_str() {
        "EU" | "EEA" | "NI" => Ok(Place::Law(Jurisdiction::Eu)),
        "GB" => Ok(Place::Law(Jurisdiction::Gb)),
        "UN" => Ok(Place::Law(Jurisdiction::Un)),
        "US" => Ok(Place::UnitedStates),
        "" => Err(Unclear::new(
            text,
            "it is not said whose law is asked for",
            ACCEPTED,
        )),
        "UK" => Err(Unclear::new(
            text,
            "the United Kingdom has two laws",
            "write GB for Great Britain, EU for Northern Ireland",
        )),
        _ => Err(Unclear::new(text, "that law is not known here", ACCEPTED)),
    }
}

pub(crate) fn rules(jurisdiction: Jurisdiction, date: &str) -> Result<Rules, Unclear> {
    const ACCEPTED: &str = "write the day of first sale as 2026-12-01";
    let date = date.trim();
    if date.is_empty() {
        return Err(Unclear::new(date, "the day is missing", ACCEPTED));
    }
    date.parse()
        .map(|day| Rules::of(jurisdiction, day))
        .map_err(|_| Unclear::new(date, "that is not a day", ACCEPTED))
}

/// The form with what it needs, as typed.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct FormText<'a> {
    pub(crate) form: Option<&'a str>,
    pub(crate) flash_point: Option<&'a str>,
    pub(crate) boiling_point: Option<&'a str>,
    pub(crate) viscosity: Option<&'a str>,
}

pub(crate) fn form(check: &mut Checker, text: FormText<'_>, reading: Reading) -> Option<Form> {
    let celsius = |text: &str| {
        Typed::<Temperature>::parse_with(text, reading)
            .map(|typed| typed.value().to_decimal(TemperatureUnit::Celsius))
    };
    let flash_point_c = check.optional("flash_point", text.flash_point, celsius);
    let boiling_point_c = check.optional("boiling_point", text.boiling_point, celsius);
    let viscosity_mm2_s =
        check.optional("viscosity", text.viscosity, |text| viscosity(text, reading));
    let said = text.form.map(str::trim).unwrap_or_default().to_lowercase();
    check.keep(
        "form",
        match said.as_str() {
            "" | "solid" => Ok(Form::Solid),
            "molten" | "molten at 40 c" | "molten at 40 °c" => {
                Ok(Form::MoltenAt40C { viscosity_mm2_s })
            }
            "liquid" => Ok(Form::Liquid {
                flash_point_c,
                boiling_point_c,
                viscosity_mm2_s,
            }),
            _ => Err(Unclear::new(
                text.form.unwrap_or_default(),
                "that form is not known",
                "write solid, molten at 40 C, or liquid",
            )),
        },
    )
}

fn viscosity(text: &str, reading: Reading) -> Result<Decimal, Unclear> {
    const ACCEPTED: &str = "write a kinematic viscosity at 40 °C such as 18 mm2/s";
    let trimmed = text.trim();
    let figure = ["mm2/s", "mm²/s", "cSt"]
        .iter()
        .find_map(|unit| trimmed.strip_suffix(unit))
        .ok_or_else(|| Unclear::new(trimmed, "the unit mm2/s is missing", ACCEPTED))?;
    let value = parse_decimal(figure, reading)
        .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
    if value > Decimal::ZERO {
        Ok(value)
    } else {
        Err(Unclear::new(trimmed, "a viscosity is above zero", ACCEPTED))
    }
}

pub(crate) fn unlisted(check: &mut Checker, text: Option<&str>) -> Unlisted {
    let said = text.map(str::trim).unwrap_or_default().to_lowercase();
    check
        .keep(
            "unlisted",
            match said.as_str() {
                "" | "unknown" => Ok(Unlisted::Unknown),
                "not hazardous" | "not classified" => Ok(Unlisted::NotHazardous),
                _ => Err(Unclear::new(
                    text.unwrap_or_default(),
                    "that is not known of the part the sheet does not list",
                    "write not hazardous or unknown",
                )),
            },
        )
        .unwrap_or_default()
}

/// The parts of wax and of oil in a hundred of wax or of the whole.
pub(crate) fn load(text: &str, reading: Reading) -> Result<Load, Unclear> {
    const ACCEPTED: &str = "write a load with its base, such as 10 % of wax or 9.09 % of total";
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(Unclear::new(text, "the load is missing", ACCEPTED));
    }
    let lower = trimmed.to_lowercase();
    let hundred = Decimal::ONE_HUNDRED;
    if let Some((oil, wax)) = lower.split_once(" per ") {
        let counted = |words: &str| {
            let words = words.trim();
            let words = if words.starts_with(|sign: char| sign.is_ascii_digit()) {
                words.to_owned()
            } else {
                format!("1 {words}")
            };
            Typed::<Mass>::parse_with(&words, reading)
                .map(|typed| Decimal::from(typed.value().micrograms()))
                .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))
        };
        let (oil, wax) = (counted(oil)?, counted(wax)?);
        if wax.is_zero() || oil > wax {
            return Err(Unclear::new(
                trimmed,
                "that much oil leaves no room for wax",
                ACCEPTED,
            ));
        }
        return Ok(Load {
            wax,
            oil,
            of_total: false,
        });
    }
    let (share, base) = lower.split_once(" of ").ok_or_else(|| {
        Unclear::new(
            trimmed,
            "the load does not say of what: of wax or of total",
            ACCEPTED,
        )
    })?;
    let percent = Ratio::parse(share, reading)
        .map(|ratio| ratio.percent().normalize())
        .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
    if percent > hundred {
        return Err(Unclear::new(
            trimmed,
            "that is more oil than there is of everything",
            ACCEPTED,
        ));
    }
    match base.trim().trim_start_matches("the ") {
        "wax" => Ok(Load {
            wax: hundred,
            oil: percent,
            of_total: false,
        }),
        "total" | "melt" | "mix" | "blend" => Ok(Load {
            wax: hundred - percent,
            oil: percent,
            of_total: true,
        }),
        _ => Err(Unclear::new(
            trimmed,
            "the load is neither of wax nor of total",
            ACCEPTED,
        )),
    }
}

/// Wax and oil by weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Load {
    pub(crate) wax: Decimal,
    pub(crate) oil: Decimal,
    pub(crate) of_total: bool,
}

/// Reads the lines of one raw material; what cannot be read is a problem and
/// left out.
pub(crate) fn lines(
    check: &mut Checker,
    field: &str,
    lines: &[Line],
    reading: Reading,
) -> Vec<Ingredient> {
    lines
        .iter()
        .enumerate()
        .filter_map(|(idx, line)| ingredient(check, &format!("{field}[{idx}]"), line, reading))
        .collect()
}

/// Reads one line.
pub(crate) fn ingredient(
    check: &mut Checker,
    field: &str,
    line: &Line,
    reading: Reading,
) -> Option<Ingredient> {
    let at = |name: &str| format!("{field}.{name}");
    if line.name.trim().is_empty() {
        check.refuse(Problem::new(
            at("name"),
            "",
            "the name is missing",
            "write the substance's name by its sheet",
        ));
    }
    let cas = check.optional(&at("cas"), line.cas.as_deref(), Cas::parse);
    let share = check.required(&at("share"), Some(&line.share), |text| {
        Share::parse(text, reading)
    });
    let hazards = line.classification.as_ref().map(|classes| {
        classes
            .iter()
            .enumerate()
            .filter_map(|(nth, text)| {
                check.keep(&at(&format!("classification[{nth}]")), Hazard::parse(text))
            })
            .collect::<Vec<_>>()
    });
    let m_acute = factor(check, &at("m_acute"), line.m_acute.as_ref());
    let m_chronic = factor(check, &at("m_chronic"), line.m_chronic.as_ref());
    let estimates = [
        ("ate_oral", EstimateKind::Oral, &line.ate_oral),
        ("ate_dermal", EstimateKind::Dermal, &line.ate_dermal),
        ("ate_inhal_gas", EstimateKind::Gas, &line.ate_inhal_gas),
        (
            "ate_inhal_vapour",
            EstimateKind::Vapour,
            &line.ate_inhal_vapour,
        ),
        ("ate_inhal_mist", EstimateKind::Mist, &line.ate_inhal_mist),
    ]
    .into_iter()
    .filter_map(|(name, kind, text)| {
        check.optional(&at(name), text.as_deref(), |text| {
            AcuteEstimate::parse(kind, text, reading)
        })
    })
    .collect();
    let bands = line
        .scl
        .iter()
        .enumerate()
        .filter_map(|(nth, limit)| {
            let class = check.keep(
                &at(&format!("scl[{nth}].class")),
                limited_class(&limit.class, hazards.as_deref().unwrap_or_default()),
            );
            let bounds = check.required(
                &at(&format!("scl[{nth}].limit")),
                Some(&limit.limit),
                |text| Band::parse_limit(text, reading),
            );
            let (class, (from, below)) = class.zip(bounds)?;
            Some(Band { class, from, below })
        })
        .collect();
    Some(Ingredient {
        name: line.name.trim().to_owned(),
        cas,
        share: share?,
        hazards,
        m_acute,
        m_chronic,
        estimates,
        bands,
    })
}

/// The class of a specific limit; where its name alone could mean several, the
/// one the substance has.
fn limited_class(text: &str, hazards: &[Hazard]) -> Result<Class, Unclear> {
    Hazard::parse(text)
        .map(|hazard| hazard.class)
        .or_else(|unclear| {
            let own = hazards.iter().map(|hazard| hazard.class);
            own.into_iter()
                .find(|class| class.code().eq_ignore_ascii_case(text.trim()))
                .ok_or(unclear)
        })
}

fn factor(check: &mut Checker, field: &str, figure: Option<&Figure>) -> Option<u32> {
    let text = figure.map(Figure::text);
    check.optional(field, text.as_deref(), |text| {
        text.parse()
            .ok()
            .filter(|factor| is_m_factor(*factor))
            .ok_or_else(|| {
                Unclear::new(
                    text,
                    "an M-factor is a power of ten",
                    "write 1, 10, 100, 1000 and so on, up to 1000000",
                )
            })
    })
}

/// Puts the parts together, the problems named by the fields of the input.
pub(crate) fn mixture(check: &mut Checker, parts: &[Part], fields: &[&str]) -> Option<Mixture> {
    match Mixture::of(parts) {
        Ok(mixture) => Some(mixture),
        Err(Problems(problems)) => {
            for mut problem in problems {
                for (idx, field) in fields.iter().enumerate() {
                    let prefix = format!("parts[{idx}].ingredients");
                    if let Some(rest) = problem.field.strip_prefix(&prefix) {
                        problem.field = format!("{field}{rest}");
                    }
                }
                if problem.field == "parts" {
                    fields
                        .last()
                        .copied()
                        .unwrap_or_default()
                        .clone_into(&mut problem.field);
                }
                check.refuse(problem);
            }
            None
        }
    }
}

/// A part of a whole in percent.
pub(crate) fn percent_of(part: Decimal, whole: Decimal) -> f64 {
    part.checked_div(whole)
        .and_then(|ratio| ratio.to_f64())
        .map_or(0.0, |ratio| ratio * 100.0)
}
