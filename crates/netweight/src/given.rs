//! Reading what both calculations are given: weights, tare, scale, lot.

use measure::{
    Checker, Mass, MassUnit, Problem, Quantity, Ratio, Readability, Reading, Typed, Unclear, figure,
};
use serde_json::Number;

use crate::outlook::TooFew;
use crate::rule::Rule;
use crate::sample::{Sample, SampleError};
use crate::scale::{ScaleClass, tolerance};
use crate::tare::Tare;
use crate::us::Column;

/// More weights than anyone takes of one lot.
const MOST_WEIGHTS: usize = 10_000;
/// As many units as a summary is taken to stand for.
pub(crate) const MOST_ALIKE: u32 = 10_000;
/// More than any package.
const MOST: Mass = Mass::from_micrograms(100_000_000_000);
/// More packages than anyone calls one lot.
const MOST_LOT: u32 = 10_000_000;

/// The fields both calculations share, as texts.
pub(crate) struct Fields<'a> {
    pub(crate) weights: &'a [String],
    pub(crate) earlier: &'a [Vec<String>],
    pub(crate) tare: Option<&'a str>,
    pub(crate) tares: &'a [String],
    pub(crate) scale: Option<&'a str>,
    pub(crate) scale_error: Option<&'a str>,
    pub(crate) lot_size: Option<&'a Number>,
}

/// What was weighed, read.
pub(crate) struct Weighings {
    pub(crate) sample: Sample,
    pub(crate) earlier: Vec<Sample>,
    pub(crate) tare: Tare,
    /// The unit and the places the first weight was typed in.
    pub(crate) unit: MassUnit,
    /// The scale's step, when it was given.
    pub(crate) scale: Option<Readability>,
    /// The scale's step as given, or as the weights show it, g.
    pub(crate) step_g: f64,
    /// How far off the scale may be, g.
    pub(crate) scale_off_g: f64,
    pub(crate) lot_size: Option<u32>,
}

/// Reads the shared fields; none when one of them is wrong.
pub(crate) fn read(
    fields: &Fields<'_>,
    reading: Reading,
    check: &mut Checker,
) -> Option<Weighings> {
    let weights = masses("weights", fields.weights, reading, check);
    if fields.weights.is_empty() {
        check.refuse(Problem::new(
            "weights",
            "",
            "no unit was weighed",
            "give the weight of each unit, such as 1.52 oz",
        ));
    }
    let n_earlier: usize = fields.earlier.iter().map(Vec::len).sum();
    if fields.weights.len() + n_earlier > MOST_WEIGHTS {
        check.refuse(Problem::new(
            "weights",
            format!("{} weights", fields.weights.len() + n_earlier),
            "that is more than this can take in",
            format!("give at most {MOST_WEIGHTS} weights"),
        ));
    }
    let earlier: Vec<Option<Vec<Typed<Mass>>>> = fields
        .earlier
        .iter()
        .enumerate()
        .map(|(idx, lot)| {
            if lot.is_empty() {
                check.refuse(Problem::new(
                    format!("lots[{idx}]"),
                    "",
                    "the lot has no weights",
                    "leave the lot out",
                ));
            }
            masses(&format!("lots[{idx}]"), lot, reading, check)
        })
        .collect();
    let one = check.optional("tare", fields.tare, |text| mass(text, reading));
    let several = masses("tares", fields.tares, reading, check);
    if fields.tare.is_some_and(|text| !text.trim().is_empty()) && !fields.tares.is_empty() {
        check.refuse(Problem::new(
            "tare",
            fields.tare.unwrap_or_default(),
            "there are also tares weighed one by one",
            "give either their list or one figure",
        ));
    }
    let scale = check.optional("scale", fields.scale, |text| {
        Readability::try_new(&mass(text, reading)?)
    });
    let scale_error = check.optional("scale_error", fields.scale_error, |text| {
        mass(text, reading)
    });
    let lot_size = fields
        .lot_size
        .and_then(|given| check.keep("lot_size", lot_size(given)));
    if let Some(lot) = lot_size
        && fields.weights.len() > lot as usize
    {
        check.refuse(Problem::new(
            "lot_size",
            lot.to_string(),
            "more units were weighed than the lot holds",
            "give the size of the whole lot",
        ));
    }
    if !check.is_clean() {
        return None;
    }
    let weights = weights?;
    let several: Vec<Mass> = several?.iter().map(Typed::value).collect();
    let tare = Tare::of(&several)
        .or_else(|| one.map(|tare| Tare::of_one(tare.value())))
        .unwrap_or(Tare::NONE);
    let sample = check.keep("weights", sample("weights", &weights, tare))?;
    let mut lots = Vec::with_capacity(earlier.len());
    for (idx, lot) in earlier.into_iter().enumerate() {
        let field = format!("lots[{idx}]");
        lots.push(check.keep(&field, self::sample(&field, &lot?, tare))?);
    }
    let unit = weights.first()?.unit();
    let step_g = scale
        .as_ref()
        .map_or_else(|| shown_step(&weights), Readability::mass)
        .grams();
    let average = Mass::from_grams(sample.mean() + tare.average.grams()).unwrap_or(MOST);
    let scale_off_g = match (&scale_error, &scale) {
        (Some(off), _) => off.value().grams(),
        // A step of 0.1 g or more belongs to a kitchen or shop scale.
        (None, Some(scale)) if scale.mass() >= Mass::from_micrograms(100_000) => {
            tolerance(ScaleClass::Three, scale.mass(), average).grams()
        }
        (None, Some(scale)) => tolerance(ScaleClass::Two, scale.mass(), average).grams(),
        (None, None) => 0.0,
    };
    Some(Weighings {
        sample,
        earlier: lots,
        tare,
        unit,
        scale,
        step_g,
        scale_off_g,
        lot_size,
    })
}

/// Refuses a weight in ounces or pounds where it is declared in grams.
pub(crate) fn only_metric(
    rule: Option<Rule>,
    field: &str,
    given: Option<(&dyn std::fmt::Display, MassUnit)>,
    accepted: &str,
    check: &mut Checker,
) {
    if let Some((rule, (given, unit))) = rule.zip(given)
        && rule.is_metric()
        && Column::from(unit) == Column::Pound
    {
        check.refuse(Problem::new(
            field,
            given.to_string(),
            "in the EU and Britain a weight is declared in grams or kilograms",
            accepted,
        ));
    }
}

fn sample(field: &str, gross: &[Typed<Mass>], tare: Tare) -> Result<Sample, Unclear> {
    let masses: Vec<Mass> = gross.iter().map(Typed::value).collect();
    Sample::try_new(&masses, tare.average).map_err(|error| match error {
        SampleError::Empty => Unclear::new("", "no unit was weighed", "give a weight"),
        SampleError::NotAboveTare(idx) => Unclear::new(
            &gross.get(idx).map_or_else(String::new, Typed::to_string),
            format!("{field}[{idx}] is not above the tare"),
            "with a tare, give the weights wrapped; without one, bare",
        ),
    })
}

/// The step the weights were typed to: the finest place of any of them.
fn shown_step(weights: &[Typed<Mass>]) -> Mass {
    weights
        .iter()
        .filter_map(|typed| {
            let one = measure::Decimal::new(1, typed.places()?.min(6));
            Some(Typed::<Mass>::from_decimal(one, typed.unit())?.value())
        })
        .min()
        .unwrap_or(Mass::ZERO)
}

/// Why weights give no outlook, as a problem of the list.
pub(crate) fn too_few(error: TooFew, sample: &Sample) -> Problem {
    match error {
        TooFew::OneUnit => Problem::new(
            "weights",
            format!("{} weight", sample.len()),
            "one unit says nothing of how units differ",
            "weigh two units or more, better twelve",
        ),
        TooFew::NoSpread => Problem::new(
            "weights",
            format!("{} equal weights", sample.len()),
            "nothing is known of how units differ",
            "give the step of the scale, or weigh on a finer one",
        ),
    }
}

/// Reads one weight above zero.
pub(crate) fn mass(text: &str, reading: Reading) -> Result<Typed<Mass>, Unclear> {
    let typed = Typed::<Mass>::parse_with(text, reading)?;
    if typed.value().is_zero() {
        return Err(Unclear::new(
            text,
            "that weighs nothing",
            "write a weight above zero",
        ));
    }
    if typed.value() > MOST {
        return Err(Unclear::new(
            text,
            "no package weighs so much",
            "write the weight of one unit",
        ));
    }
    Ok(typed)
}

fn masses(
    field: &str,
    texts: &[String],
    reading: Reading,
    check: &mut Checker,
) -> Option<Vec<Typed<Mass>>> {
    let read: Vec<Option<Typed<Mass>>> = texts
        .iter()
        .take(MOST_WEIGHTS)
        .enumerate()
        .map(|(idx, text)| {
            check.required(&format!("{field}[{idx}]"), Some(text), |text| {
                mass(text, reading)
            })
        })
        .collect();
    read.into_iter().collect()
}

pub(crate) fn lot_size(given: &Number) -> Result<u32, Unclear> {
    // JSON of other programs writes 240 as 240.0.
    let whole = given.as_u64().or_else(|| {
        let figure = measure::decimal_from_f64(given.as_f64()?, 9)?;
        figure.is_integer().then(|| u64::try_from(figure).ok())?
    });
    whole
        .and_then(|n| u32::try_from(n).ok())
        .filter(|n| (1..=MOST_LOT).contains(n))
        .ok_or_else(|| {
            Unclear::new(
                &given.to_string(),
                "that is not the size of a lot",
                format!("write a whole number from 1 to {MOST_LOT}"),
            )
        })
}

/// Reads the chance asked for.
pub(crate) fn chance(text: &str, reading: Reading) -> Result<f64, Unclear> {
    let chance = Ratio::parse(text, reading)?.to_f64();
    if (0.5..=0.999).contains(&chance) {
        Ok(chance)
    } else {
        Err(Unclear::new(
            text,
            "that chance cannot be answered for",
            "write a chance from 50 % to 99.9 %, such as 99 %",
        ))
    }
}

/// Shows grams in a unit: ounces and pounds to three places, grams to two.
pub(crate) fn show(grams: f64, unit: MassUnit) -> String {
    let places = match unit {
        MassUnit::Ounce | MassUnit::Pound | MassUnit::Kilogram => 3,
        MassUnit::Gram => 2,
        MassUnit::Milligram => 0,
    };
    Mass::from_grams(grams).map_or_else(
        || format!("{} g", figure(grams, 2)),
        |mass| mass.typed(unit, places).to_string(),
    )
}

/// Shows a chance; what rounds to certain or to never is said as a bound.
pub(crate) fn tell_chance(chance: f64) -> String {
    if chance >= 0.9995 {
        "over 99.9 %".to_owned()
    } else if chance < 0.0005 {
        "under 0.1 %".to_owned()
    } else {
        format!("{} %", figure(chance * 100.0, 1))
    }
}

/// What an answer under the American rules rests on.
const FROM_MEMORY: &str = "The handbook's sampling plan and allowed variations are from \
    memory here and could not be compared with the print: ask your weights and measures office \
    before you rely on them.";

/// What has to stand beside an answer.
pub(crate) fn notes(rule: Rule) -> Vec<String> {
    match rule {
        Rule::Us => vec![FROM_MEMORY.to_owned()],
        Rule::Eu | Rule::Uk | Rule::UkEvery => Vec::new(),
    }
}

/// A quantity rounded up to whole steps.
pub(crate) fn up_to(grams: f64, step: Mass) -> Mass {
    let step = step.smallest().max(1);
    let held = Mass::from_grams(grams).unwrap_or(MOST).smallest();
    Mass::from_micrograms((held + step - 1) / step * step)
}
