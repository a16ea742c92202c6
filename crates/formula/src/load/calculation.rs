//! The calculation `load`: one load on both bases, and a look at what was
//! weighed.

use measure::{
    Checker, Decimal, Mass, MassUnit, Problem, Problems, Ratio, Reading, Typed, Unclear, Working,
    percent,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::FragranceLoad;
use crate::diagnosis::{diagnose, tell};
use crate::weigh_out::Contents;

/// A load, or wax and oil as weighed, or both.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The load meant, with its base: `8 % of wax`, `7.4 % of total`.
    #[serde(default)]
    pub load: Option<String>,
    /// Wax on hand or weighed.
    #[serde(default)]
    pub wax: Option<String>,
    /// Fragrance oil weighed into it.
    #[serde(default)]
    pub oil: Option<String>,
    /// The most the wax's sheet allows, with its base.
    #[serde(default)]
    pub limit: Option<String>,
    /// Dye and other additions, as a percentage of the wax.
    #[serde(default)]
    pub dye: Option<String>,
}

/// A load on both bases.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The load on both bases, the stated one first.
    pub both: String,
    /// Oil ÷ wax.
    pub load_of_wax: String,
    /// The same in percent.
    pub load_of_wax_percent: f64,
    /// Oil ÷ everything.
    pub load_of_total: String,
    /// The same in percent.
    pub load_of_total_percent: f64,
    /// Oil in ounces for a pound of wax.
    pub oil_per_lb: String,
    /// The same in grams.
    pub oil_per_lb_g: f64,
    /// Oil for the wax given, when no oil was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oil: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oil_g: Option<f64>,
    /// What was weighed, when both wax and oil were given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weighed: Option<Weighed>,
    /// Sentences that belong beside the figures, the weightiest first.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// Wax and oil as weighed, held against what was meant and allowed.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Weighed {
    /// Oil ÷ wax.
    pub load_of_wax: String,
    /// The same in percent.
    pub load_of_wax_percent: f64,
    /// Oil ÷ everything.
    pub load_of_total: String,
    /// The same in percent.
    pub load_of_total_percent: f64,
    /// Oil beyond the limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_limit: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_limit_g: Option<f64>,
    /// The load that seems to have been weighed instead of the one meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mistaken_for: Option<String>,
}

/// Answers `load`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `load` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let meant = check.optional("load", input.load.as_deref(), |text| {
        FragranceLoad::parse(text, reading)
    });
    let wax = check.optional("wax", input.wax.as_deref(), |text| {
        let typed = Typed::<Mass>::parse_with(text, reading)?;
        if typed.value().is_zero() {
            return Err(Unclear::new(
                text,
                "the wax weighs nothing",
                "write a weight above zero",
            ));
        }
        Ok(typed)
    });
    let oil = check.optional("oil", input.oil.as_deref(), |text| {
        Typed::<Mass>::parse_with(text, reading)
    });
    let limit = check.optional("limit", input.limit.as_deref(), |text| {
        FragranceLoad::parse(text, reading)
    });
    let dye = check
        .optional("dye", input.dye.as_deref(), |text| {
            let share = Ratio::parse(text.trim().trim_end_matches("of wax"), reading)?;
            if share > Ratio::ONE {
                return Err(Unclear::new(
                    text,
                    "that is more dye than wax",
                    "write a percentage of the wax such as 0.2 %",
                ));
            }
            Ok(share)
        })
        .unwrap_or_default();
    let given = |text: &Option<String>| text.as_deref().is_some_and(|text| !text.trim().is_empty());
    if given(&input.oil) && !given(&input.wax) {
        check.refuse(Problem::new(
            "wax",
            "",
            "oil was given without the wax it went into",
            "give the weight of the wax too",
        ));
    } else if !given(&input.load) && !given(&input.oil) {
        check.refuse(Problem::new(
            "load",
            "",
            "there is neither a load nor a weight of oil",
            "give a load such as 8 % of wax, or wax and oil as weighed",
        ));
    }
    let weighed = wax
        .as_ref()
        .zip(oil.as_ref())
        .map(|(wax, oil)| Contents::with_dye(wax.value(), oil.value(), dye));
    let unit = wax.as_ref().map_or(MassUnit::Gram, Typed::unit);
    let diagnosis = weighed.and_then(|contents| {
        let found = contents.and_then(|contents| diagnose(contents, meant, limit, unit));
        if found.is_none() {
            check.refuse(Problem::new(
                "oil",
                input.oil.clone().unwrap_or_default(),
                "that is more than this can reckon with",
                "give the weights of one pot",
            ));
        }
        found
    });
    check.finish()?;

    let mut working = Working::new();
    let mut notes = Vec::new();
    let (of_wax, of_total, both) = match (meant, &diagnosis) {
        (Some(load), _) => {
            convert_steps(load, dye, &mut working);
            (load.as_of_wax(dye), load.as_of_total(dye), load.both(dye))
        }
        (None, Some(found)) => (
            found.of_wax,
            found.of_total,
            format!(
                "{} of wax ({} of the melt)",
                percent(found.of_wax, 2),
                percent(found.of_total, 2)
            ),
        ),
        (None, None) => {
            return Err(Problem::new("load", "", "the load is missing", "give a load").into());
        }
    };
    let beyond = || -> Problems {
        Problem::new(
            "wax",
            input.wax.clone().unwrap_or_default(),
            "that is more than this can reckon with",
            "give the weights of one pot",
        )
        .into()
    };
    let pound = Typed::<Mass>::from_decimal(Decimal::ONE, MassUnit::Pound)
        .expect("one pound is a mass")
        .value();
    let per_lb = pound
        .share(of_wax.decimal(), Decimal::ONE)
        .ok_or_else(beyond)?;
    let per_lb_text = per_lb.typed(MassUnit::Ounce, 2).to_string();
    working.step(
        "Oil for a pound of wax",
        "load of wax × 16 oz",
        format!("{} × 16 oz", of_wax.decimal().round_dp(6).normalize()),
        per_lb_text.clone(),
        "16 ounces make a pound: NIST SP 811 (2008), B.8",
    );
    let wanted = match (&wax, &oil) {
        (Some(wax), None) => Some(
            wax.value()
                .share(of_wax.decimal(), Decimal::ONE)
                .ok_or_else(beyond)?,
        ),
        _ => None,
    };
    if let Some((wanted, wax)) = wanted.zip(wax.as_ref()) {
        working.step(
            "Oil for this wax",
            "load of wax × wax",
            format!("{} × {wax}", of_wax.decimal().round_dp(6).normalize()),
            tell(wanted, unit).to_string(),
            "the definition",
        );
    }
    if let (Some(load), Some(limit), None) = (meant, limit, &diagnosis) {
        let (asked, most) = (load.as_of_wax(dye), limit.as_of_wax(dye));
        notes.push(if asked > most {
            format!(
                "{load} is over the limit of {limit}, which is {} of wax.",
                percent(most, 2)
            )
        } else {
            format!("{load} is within the limit of {limit}.")
        });
    }
    let weighed = diagnosis.map(|found| {
        notes.extend(found.findings);
        working.append(found.working);
        Weighed {
            load_of_wax: percent(found.of_wax, 2),
            load_of_wax_percent: figure(found.of_wax),
            load_of_total: percent(found.of_total, 2),
            load_of_total_percent: figure(found.of_total),
            over_limit: found.over_limit.map(|oil| tell(oil, unit).to_string()),
            over_limit_g: found.over_limit.map(Mass::grams),
            mistaken_for: found.mistaken_for.map(|load| load.to_string()),
        }
    });
    Ok(Output {
        both,
        load_of_wax: percent(of_wax, 2),
        load_of_wax_percent: figure(of_wax),
        load_of_total: percent(of_total, 2),
        load_of_total_percent: figure(of_total),
        oil_per_lb: per_lb_text,
        oil_per_lb_g: per_lb.grams(),
        oil: wanted.map(|oil| tell(oil, unit).to_string()),
        oil_g: wanted.map(Mass::grams),
        weighed,
        notes,
        working,
    })
}

/// A percentage as a number, to a ten-thousandth of a percent.
fn figure(ratio: Ratio) -> f64 {
    crate::weigh_out::percent_figure(ratio)
}

fn convert_steps(load: FragranceLoad, dye: Ratio, working: &mut Working) {
    let ratio = load.ratio().decimal().normalize();
    let dye_figure = dye.decimal().normalize();
    let dyed = !dye_figure.is_zero();
    match load {
        FragranceLoad::OfWax(_) => working.step(
            "Load of total",
            if dyed {
                "of wax ÷ (1 + of wax + dye)"
            } else {
                "of wax ÷ (1 + of wax)"
            },
            if dyed {
                format!("{ratio} ÷ (1 + {ratio} + {dye_figure})")
            } else {
                format!("{ratio} ÷ (1 + {ratio})")
            },
            percent(load.as_of_total(dye), 2),
            "the definitions: of wax = oil ÷ wax, of total = oil ÷ everything",
        ),
        FragranceLoad::OfTotal(_) => working.step(
            "Load of wax",
            if dyed {
                "of total × (1 + dye) ÷ (1 − of total)"
            } else {
                "of total ÷ (1 − of total)"
            },
            if dyed {
                format!("{ratio} × (1 + {dye_figure}) ÷ (1 − {ratio})")
            } else {
                format!("{ratio} ÷ (1 − {ratio})")
            },
            percent(load.as_of_wax(dye), 2),
            "the definitions: of wax = oil ÷ wax, of total = oil ÷ everything",
        ),
    }
}
