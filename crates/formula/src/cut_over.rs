//! The calculation `cut-over`: when an oil's new lot needs a new label, how
//! far the old oil and the old labels go together.

use measure::{
    Checker, Decimal, Mass, MassUnit, Problem, Problems, Reading, Typed, Unclear, Working,
};
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::load::FragranceLoad;

/// What is left of the old.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The old oil on hand.
    pub oil: Option<String>,
    /// The load it goes in at, with its base.
    pub load: Option<String>,
    /// What one unit takes of the melt, with what is lost on the way.
    pub unit_weight: Option<String>,
    /// Old labels left, a whole number.
    pub labels: Option<String>,
}

/// Where the old stops and the new begins.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The melt that the old oil makes.
    pub makes: String,
    /// The same in grams.
    pub makes_g: f64,
    /// Whole units out of it.
    pub units: u64,
    /// The last unit with old oil and the old label.
    pub stop_at: u64,
    /// The first unit with the new oil and the new label.
    pub new_from: u64,
    /// Old oil left when it stops.
    pub oil_left: String,
    /// The same in grams.
    pub oil_left_g: f64,
    /// Old labels left when it stops.
    pub labels_left: u64,
    /// What to do, in a sentence.
    pub answer: String,
    /// How the figures were found.
    pub working: Working,
}

/// Answers `cut-over`.
///
/// # Errors
///
/// Every problem of the input, with its field.
///
/// # Example
///
/// ```
/// let input = formula::cut_over::Input {
///     oil: Some("2.1 kg".into()),
///     load: Some("10 % of wax".into()),
///     unit_weight: Some("51.56 g".into()),
///     labels: Some("412".into()),
/// };
/// let output = formula::cut_over::calculate(&input).unwrap();
/// assert_eq!((output.units, output.stop_at), (448, 412));
/// ```
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `cut-over` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let oil = check.required("oil", input.oil.as_deref(), |text| some(text, reading));
    let load = check.required("load", input.load.as_deref(), |text| {
        FragranceLoad::parse(text, reading)
    });
    let unit = check.required("unit_weight", input.unit_weight.as_deref(), |text| {
        some(text, reading)
    });
    let labels = check.required("labels", input.labels.as_deref(), |text| {
        text.trim().parse::<u32>().map_err(|_| {
            Unclear::new(
                text,
                "that is not a whole number of labels",
                "write a whole number such as 412",
            )
        })
    });
    let of_total = load.and_then(|load| {
        let part = load.ratio().decimal();
        let found = match load {
            FragranceLoad::OfWax(_) => part.checked_div(Decimal::ONE.checked_add(part)?),
            FragranceLoad::OfTotal(_) => Some(part),
        };
        found.filter(|part| !part.is_zero())
    });
    if load.is_some() && of_total.is_none() {
        check.refuse(Problem::new(
            "load",
            input.load.clone().unwrap_or_default(),
            "without oil in it nothing has to be used up",
            "write a load above zero",
        ));
    }
    check.finish()?;
    let beyond = || -> Problems {
        Problem::new(
            "oil",
            input.oil.clone().unwrap_or_default(),
            "that is more than this can reckon with",
            "write the oil that stands on the shelf",
        )
        .into()
    };
    let read = (oil, of_total, unit, labels);
    let (Some(oil), Some(of_total), Some(unit), Some(labels)) = read else {
        return Err(beyond());
    };
    let labels = u64::from(labels);
    let grams = |mass: &Typed<Mass>| mass.value().to_decimal(MassUnit::Gram);
    let (oil_g, unit_g) = (grams(&oil), grams(&unit));
    let makes_g = oil_g.checked_div(of_total).ok_or_else(beyond)?;
    let units = makes_g
        .checked_div(unit_g)
        .map(|units| units.round_dp(9).floor())
        .and_then(|units| units.to_u64())
        .ok_or_else(beyond)?;
    let stop_at = units.min(labels);
    let used_g = Decimal::from(stop_at)
        .checked_mul(unit_g)
        .and_then(|melt| melt.checked_mul(of_total))
        .ok_or_else(beyond)?;
    let left_g = (oil_g - used_g).max(Decimal::ZERO);
    let shown = |grams: Decimal, places| format!("{} g", grams.round_dp(places).normalize());
    let makes = Typed::from_decimal(makes_g.round_dp(6), MassUnit::Gram)
        .map(|typed: Typed<Mass>| typed.value().typed(oil.unit(), 2).to_string())
        .ok_or_else(beyond)?;
    let mut working = Working::new();
    let definition = "the definition of the load";
    working.step(
        "Melt from the old oil",
        "oil ÷ load of total",
        format!("{oil} ÷ {}", of_total.round_dp(6).normalize()),
        makes.clone(),
        definition,
    );
    working.step(
        "Whole units out of it",
        "melt ÷ what a unit takes, rounded down",
        format!("{makes} ÷ {unit}"),
        units.to_string(),
        "rounded down: part of a unit is not sold",
    );
    working.step(
        "The last old unit",
        "the smaller of units and labels",
        format!("{units}, {labels}"),
        stop_at.to_string(),
        "each old unit needs old oil and an old label",
    );
    working.step(
        "Old oil left",
        "oil − last old unit × what a unit takes × load of total",
        format!(
            "{oil} − {stop_at} × {unit} × {}",
            of_total.round_dp(6).normalize()
        ),
        shown(left_g, 0),
        definition,
    );
    let answer = if labels < units {
        format!(
            "Stop the old lot at {stop_at}: the labels run out first, and {} of old oil is left, for testers or to be used under the new label if the new sheet covers it.",
            shown(left_g, 0)
        )
    } else {
        format!(
            "Stop the old lot at {stop_at}: the oil runs out first, and {} old labels are left over; destroy them.",
            labels - stop_at
        )
    };
    Ok(Output {
        makes,
        makes_g: makes_g.to_f64().unwrap_or_default(),
        units,
        stop_at,
        new_from: stop_at + 1,
        oil_left: shown(left_g, 0),
        oil_left_g: left_g.to_f64().unwrap_or_default(),
        labels_left: labels - stop_at,
        answer,
        working,
    })
}

/// Reads a weight above zero.
fn some(text: &str, reading: Reading) -> Result<Typed<Mass>, Unclear> {
    let typed = Typed::<Mass>::parse_with(text, reading)?;
    if typed.value().is_zero() {
        return Err(Unclear::new(
            text,
            "that weighs nothing",
            "write a weight above zero",
        ));
    }
    Ok(typed)
}

#[cfg(test)]
mod tests {
    use super::{Input, calculate};

    fn asked(oil: &str, load: &str, unit: &str, labels: &str) -> Input {
        Input {
            oil: Some(oil.into()),
            load: Some(load.into()),
            unit_weight: Some(unit.into()),
            labels: Some(labels.into()),
        }
    }

    // Worked by hand: 2.1 kg at 10 in 110 makes 23.1 kg; at 51.56 g a bar that
    // is 448; 412 bars take 412 x 51.56 / 11 = 1931.2 g of oil.
    #[test]
    fn the_labels_run_out_first() {
        let output = calculate(&asked("2.1 kg", "10 % of wax", "51.56 g", "412")).unwrap();
        assert_eq!(output.makes, "23.10 kg");
        assert_eq!(
            (output.units, output.stop_at, output.new_from),
            (448, 412, 413)
        );
        assert_eq!(output.oil_left, "169 g");
        assert!(output.answer.starts_with("Stop the old lot at 412"));
    }

    #[test]
    fn the_oil_runs_out_first() {
        let output = calculate(&asked("100 g", "10 % of total", "50 g", "25")).unwrap();
        assert_eq!(
            (output.units, output.stop_at, output.labels_left),
            (20, 20, 5)
        );
        assert_eq!(output.oil_left, "0 g");
    }

    #[test]
    fn every_problem_is_named() {
        let problems = calculate(&asked("0 g", "0 % of wax", "", "3.5")).unwrap_err();
        for field in ["oil", "load", "unit_weight", "labels"] {
            assert!(problems.of(field).is_some(), "{field}");
        }
        let huge = calculate(&asked("9000 kg", "0.0000001 % of wax", "1 mg", "1"));
        assert!(huge.is_err(), "{huge:?}");
    }
}
