//! The calculation `weigh-out`: text in, text out.

use measure::{
    Checker, Decimal, Mass, MassUnit, Problem, Problems, Ratio, Readability, Reading, Temperature,
    Typed, Unclear, Working, parse_decimal, percent,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Bench, Contents, Formula, Loss, Note, Plan, PlanError, Target, plan};
use crate::blend::{Blend, BlendError, Part, PartKind};
use crate::dye::{Dye, DyeAmount};
use crate::given::Given;
use crate::load::FragranceLoad;
use crate::rescale::{Rescale, RescaleError, rescale};

/// More ingredients, or dyes, than anyone melts together.
const MOST_LINES: usize = 50;

/// More units than anyone pours at once.
const MOST_UNITS: u64 = 10_000;
const ACCEPTED_UNITS: &str = "ask for at most 10,000 units";

/// What to weigh for a pour.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The waxes and additives; their parts may be any numbers or all
    /// percentages.
    #[serde(default)]
    pub blend: Vec<BlendPart>,
    /// The fragrance load with its base: `8 % of wax`, `7.4 % of total`.
    #[serde(default)]
    pub load: Option<String>,
    /// How much is to be made.
    #[serde(default)]
    pub target: Option<TargetInput>,
    /// The smallest step the scale shows; without it 0.1 oz or 1 g.
    #[serde(default)]
    pub readability: Option<String>,
    /// Colour.
    #[serde(default)]
    pub dyes: Vec<DyeInput>,
    /// What the empty pot weighs, when it stands on the scale untared.
    #[serde(default)]
    pub tare: Option<String>,
    /// What the melter holds.
    #[serde(default)]
    pub melter: Option<String>,
    /// Flash point of the fragrance oil.
    #[serde(default)]
    pub flash_point: Option<String>,
    /// Temperature at which the oil goes in.
    #[serde(default)]
    pub add_at: Option<String>,
    /// What was really weighed so far, in the order of the portions; asks for
    /// both ways on.
    #[serde(default)]
    pub in_pot: Vec<Option<String>>,
}

/// One ingredient of the blend.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BlendPart {
    /// What it is called.
    #[serde(default)]
    pub name: Option<String>,
    /// How many parts, or a percentage.
    #[serde(default)]
    pub parts: Option<Given>,
    /// The most fragrance its sheet allows, with the sheet's base.
    #[serde(default)]
    pub max_load: Option<String>,
    /// `wax` (when missing) or `additive`.
    #[serde(default)]
    pub kind: Option<String>,
}

/// One dye.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DyeInput {
    /// What it is called.
    #[serde(default)]
    pub name: Option<String>,
    /// `0.2 % of wax`, `4 drops` or `2 drops per lb`.
    #[serde(default)]
    pub amount: Option<String>,
    /// What one drop weighs; without it drops are counted, not weighed.
    #[serde(default)]
    pub drop_weight: Option<String>,
}

/// How much is to be made: one of `wax`, `total`, `units` or `fills`.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TargetInput {
    /// Wax on hand.
    #[serde(default)]
    pub wax: Option<String>,
    /// Everything together.
    #[serde(default)]
    pub total: Option<String>,
    /// A number of units; needs `unit_weight`.
    #[serde(default)]
    pub units: Option<Given>,
    /// A number of fills of a mould; needs `cavities` and `unit_weight`.
    #[serde(default)]
    pub fills: Option<Given>,
    /// Cavities of the mould.
    #[serde(default)]
    pub cavities: Option<Given>,
    /// What one unit weighs.
    #[serde(default)]
    pub unit_weight: Option<String>,
    /// What is lost: a weight, or a percentage of what is melted.
    #[serde(default)]
    pub loss: Option<String>,
}

/// What to weigh. Every quantity stands as text in the scale's unit, with its
/// grams beside it.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// What to weigh, in this order, into one pot.
    pub portions: Vec<PortionOut>,
    /// Dye to count in drops.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drops: Vec<DropsOut>,
    /// Everything weighed.
    pub total: String,
    /// The same in grams.
    pub total_g: f64,
    /// The blend, as weighed.
    pub wax: String,
    /// The same in grams.
    pub wax_g: f64,
    /// The fragrance oil, as weighed.
    pub oil: String,
    /// The same in grams.
    pub oil_g: f64,
    /// What ends in goods, when units were asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub goods: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub goods_g: Option<f64>,
    /// How many units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub units: Option<u64>,
    /// The load asked for, on both bases.
    pub load: String,
    /// The load that results from the scale's rounding, of wax.
    pub load_of_wax: String,
    /// The same in percent.
    pub load_of_wax_percent: f64,
    /// The load that results from the scale's rounding, of total.
    pub load_of_total: String,
    /// The same in percent.
    pub load_of_total_percent: f64,
    /// The most the sheets of the waxes allow, of the whole blend.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_load: Option<String>,
    /// The oil that maximum stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_oil: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_oil_g: Option<f64>,
    /// Oil above that maximum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_max: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_max_g: Option<f64>,
    /// Whether any of the notes is a caution; those stand first.
    pub cautions: usize,
    /// Sentences that belong beside the figures.
    pub notes: Vec<String>,
    /// Which of the notes says what the same percentage would be on the other
    /// base, for a page that sets it apart.
    #[serde(skip)]
    pub other_base: Option<usize>,
    /// Both ways on, when `in_pot` was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rescale: Option<RescaleOut>,
    /// How the figures were found.
    pub working: Working,
}

/// One ingredient to weigh.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct PortionOut {
    /// What it is called.
    pub name: String,
    /// `wax`, `additive`, `dye` or `fragrance`.
    pub kind: String,
    /// What to weigh.
    pub weight: String,
    /// The same in grams.
    pub grams: f64,
    /// Before rounding to the scale, in grams.
    pub exact_g: f64,
    /// The scale after it, the pot not counted.
    pub running: String,
    /// The same in grams.
    pub running_g: f64,
    /// The scale after it with the pot on it, when its weight was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_g: Option<f64>,
}

/// Dye to count.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct DropsOut {
    /// What it is called.
    pub name: String,
    /// How many drops.
    pub drops: String,
}

/// Both ways on from a pot that does not follow its plan.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct RescaleOut {
    /// Names of the portions that went over.
    pub over: Vec<String>,
    /// Scale the rest to keep the formula; missing when the pot holds
    /// something the plan has none of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep_formula: Option<KeepFormulaOut>,
    /// Keep going by the plan.
    pub keep_going: KeepGoingOut,
}

/// The larger plan.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct KeepFormulaOut {
    /// What every portion is multiplied by.
    pub factor: f64,
    /// Every portion of it.
    pub portions: Vec<ScaledOut>,
    /// What the pot will hold.
    pub total: String,
    /// The same in grams.
    pub total_g: f64,
    /// How much more that is than planned.
    pub more: String,
    /// The same in grams.
    pub more_g: f64,
    /// Whole units more, when units were asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub more_units: Option<u64>,
    /// What follows from it.
    pub consequences: Vec<String>,
}

/// A portion of the larger plan.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct ScaledOut {
    /// What it is called.
    pub name: String,
    /// Its new weight.
    pub target: String,
    /// The same in grams.
    pub target_g: f64,
    /// What to add now.
    pub add: String,
    /// The same in grams.
    pub add_g: f64,
}

/// The plan as it is, with what went wrong left in.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct KeepGoingOut {
    /// What the pot will hold.
    pub total: String,
    /// The same in grams.
    pub total_g: f64,
    /// The load that results, of wax.
    pub load_of_wax: String,
    /// The same in percent.
    pub load_of_wax_percent: f64,
    /// The load that results, of total.
    pub load_of_total: String,
    /// The same in percent.
    pub load_of_total_percent: f64,
    /// Oil above what the sheets allow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_max: Option<String>,
    /// The same in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_max_g: Option<f64>,
    /// What follows from it.
    pub consequences: Vec<String>,
}

/// Answers `weigh-out`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `weigh-out` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let blend = read_blend(&mut check, &input.blend, reading);
    let load = check.required("load", input.load.as_deref(), |text| {
        FragranceLoad::parse(text, reading)
    });
    let target = read_target(&mut check, input.target.as_ref(), reading);
    let scale = check.optional("readability", input.readability.as_deref(), |text| {
        Readability::try_new(&Typed::<Mass>::parse_with(text, reading)?)
    });
    let dyes = read_dyes(&mut check, &input.dyes, reading);
    let mut mass = |field: &str, text: Option<&str>| {
        check
            .optional(field, text, |text| Typed::<Mass>::parse_with(text, reading))
            .map(|typed| typed.value())
    };
    let tare = mass("tare", input.tare.as_deref());
    let melter = mass("melter", input.melter.as_deref());
    let in_pot: Vec<Option<Mass>> = input
        .in_pot
        .iter()
        .enumerate()
        .map(|(i, text)| mass(&format!("in_pot[{i}]"), text.as_deref()))
        .collect();
    let mut temperature = |field: &str, text: Option<&str>| {
        check.optional(field, text, |text| {
            Typed::<Temperature>::parse_with(text, reading)
        })
    };
    let flash_point = temperature("flash_point", input.flash_point.as_deref());
    let add_at = temperature("add_at", input.add_at.as_deref());
    check.finish()?;
    let (Some(blend), Some(load), Some((target, unit))) = (blend, load, target) else {
        return Err(Problem::new("", "", "the input is incomplete", "see the schema").into());
    };

    let assumed = scale.is_none();
    let bench = Bench {
        readability: scale.unwrap_or_else(|| Readability::usual(unit)),
        tare,
        melter,
        flash_point,
        add_at,
    };
    let formula = Formula { blend, load, dyes };
    let plan = plan(&formula, target, &bench).map_err(|error| place(error, input))?;
    let ways = if input.in_pot.is_empty() {
        None
    } else {
        Some(rescale(&plan, &in_pot, &bench).map_err(|error| {
            Problem::new(
                "in_pot",
                "",
                error.to_string(),
                match error {
                    RescaleError::TooMany { .. } => {
                        "give one weight for each portion, in their order"
                    }
                    RescaleError::TooLarge | RescaleError::NoWax => {
                        "give what the scale showed for each portion alone"
                    }
                },
            )
        })?)
    };
    let mut output = show(plan, &bench);
    if assumed {
        output.notes.push(format!(
            "No readability was given; rounded to {}, a usual kitchen scale.",
            bench.readability
        ));
    }
    output.rescale = ways.map(|ways| show_ways(&ways, &output.portions, &bench));
    Ok(output)
}

/// Refuses a list longer than any pot holds, before it is read.
fn few_enough(check: &mut Checker, field: &str, lines: usize) -> bool {
    if lines > MOST_LINES {
        check.refuse(Problem::new(
            field,
            lines.to_string(),
            "there are more lines than one pot holds",
            format!("give at most {MOST_LINES}"),
        ));
    }
    lines <= MOST_LINES
}

fn read_blend(check: &mut Checker, given: &[BlendPart], reading: Reading) -> Option<Blend> {
    const ACCEPTED: &str = "write parts such as 90 and 10, or percentages that make 100 %";
    if !few_enough(check, "blend", given.len()) {
        return None;
    }
    let mut parts = Vec::with_capacity(given.len());
    let mut percentages = 0;
    let mut sum = Decimal::ZERO;
    for (i, part) in given.iter().enumerate() {
        let name = part.name.as_deref().unwrap_or_default().trim();
        if name.is_empty() {
            check.refuse(Problem::new(
                format!("blend[{i}].name"),
                "",
                "the ingredient has no name",
                "write what you call it, such as soy container wax",
            ));
        }
        let text = part.parts.as_ref().map(Given::as_str);
        if text.is_some_and(|text| text.contains('%')) {
            percentages += 1;
        }
        let figure = check.required(&format!("blend[{i}].parts"), text, |text| {
            let figure = text.trim();
            if figure.is_empty() {
                return Err(Unclear::new(text, "the parts are missing", ACCEPTED));
            }
            let bare = figure.strip_suffix('%').unwrap_or(figure);
            let parts = parse_decimal(bare, reading)
                .map_err(|unclear| Unclear::new(figure, unclear.wrong, ACCEPTED))?;
            if parts < Decimal::ZERO {
                return Err(Unclear::new(figure, "parts cannot be negative", ACCEPTED));
            }
            Ok(parts)
        });
        let max_load = check.optional(
            &format!("blend[{i}].max_load"),
            part.max_load.as_deref(),
            |text| FragranceLoad::parse(text, reading),
        );
        let kind = check
            .optional(
                &format!("blend[{i}].kind"),
                part.kind.as_deref(),
                |text| match text {
                    "wax" => Ok(PartKind::Wax),
                    "additive" => Ok(PartKind::Additive),
                    _ => Err(Unclear::new(
                        text,
                        "an ingredient is one or the other",
                        "write wax or additive",
                    )),
                },
            )
            .unwrap_or(PartKind::Wax);
        if let Some(figure) = figure {
            sum = sum.saturating_add(figure);
            parts.push(Part {
                name: name.to_owned(),
                parts: figure,
                max_load,
                kind,
            });
        }
    }
    if parts.len() < given.len() {
        return None;
    }
    if percentages > 0 && percentages < given.len() {
        check.refuse(Problem::new(
            "blend",
            "",
            "some ingredients are in percent and some in parts",
            ACCEPTED,
        ));
        return None;
    }
    if percentages > 0 && sum != Decimal::ONE_HUNDRED {
        check.refuse(Problem::new(
            "blend",
            "",
            format!("the percentages add up to {} %", sum.normalize()),
            ACCEPTED,
        ));
        return None;
    }
    match Blend::try_new(parts) {
        Ok(blend) => Some(blend),
        Err(error) => {
            check.refuse(Problem::new(
                "blend",
                "",
                error.to_string(),
                match error {
                    BlendError::Empty => "give at least one wax with its name and parts",
                    _ => ACCEPTED,
                },
            ));
            None
        }
    }
}

fn read_target(
    check: &mut Checker,
    given: Option<&TargetInput>,
    reading: Reading,
) -> Option<(Target, MassUnit)> {
    const ACCEPTED: &str =
        "give one of wax, total, units with unit_weight, or fills with cavities and unit_weight";
    let none = TargetInput::default();
    let given = given.unwrap_or(&none);
    let kinds = [
        ("wax", given.wax.is_some()),
        ("total", given.total.is_some()),
        ("units", given.units.is_some()),
        ("fills", given.fills.is_some()),
    ];
    let named: Vec<&str> = kinds
        .iter()
        .filter(|(_, there)| *there)
        .map(|(name, _)| *name)
        .collect();
    let kind = match named.as_slice() {
        [] => {
            check.refuse(Problem::new(
                "target",
                "",
                "the target is missing",
                ACCEPTED,
            ));
            return None;
        }
        [one] => *one,
        many => {
            check.refuse(Problem::new(
                "target",
                many.join(", "),
                "there is more than one target",
                ACCEPTED,
            ));
            return None;
        }
    };
    let weigh = |text: &str| some_weight(text, reading);
    if matches!(kind, "wax" | "total") {
        for (field, there) in [
            ("cavities", given.cavities.is_some()),
            ("unit_weight", given.unit_weight.is_some()),
            ("loss", given.loss.is_some()),
        ] {
            if there {
                check.refuse(Problem::new(
                    format!("target.{field}"),
                    "",
                    format!("it does not go with a target in {kind}"),
                    "leave it out, or ask for units or fills",
                ));
            }
        }
        let typed = if kind == "wax" {
            check.required("target.wax", given.wax.as_deref(), weigh)
        } else {
            check.required("target.total", given.total.as_deref(), weigh)
        }?;
        let (mass, unit) = (typed.value(), typed.unit());
        return Some(if kind == "wax" {
            (Target::Wax(mass), unit)
        } else {
            (Target::Total(mass), unit)
        });
    }
    let mut count = |field: &str, given: Option<&Given>| {
        check.required(field, given.map(Given::as_str), |text| whole(text, reading))
    };
    let units = if kind == "units" {
        count("target.units", given.units.as_ref())
    } else {
        let fills = count("target.fills", given.fills.as_ref());
        let cavities = count("target.cavities", given.cavities.as_ref());
        // Both are at most ten thousand.
        fills.zip(cavities).map(|(fills, each)| fills * each)
    };
    if let (Some(units), Some(fills)) = (units, given.fills.as_ref())
        && units > MOST_UNITS
    {
        check.refuse(Problem::new(
            "target.fills",
            fills.as_str(),
            format!("that makes {units} units"),
            ACCEPTED_UNITS,
        ));
    }
    if kind == "units" && given.cavities.is_some() {
        check.refuse(Problem::new(
            "target.cavities",
            "",
            "it goes with fills, not with units",
            ACCEPTED,
        ));
    }
    let each = check.required("target.unit_weight", given.unit_weight.as_deref(), weigh);
    let loss = match given.loss.as_deref().map(str::trim) {
        None | Some("") => Some(Loss::NONE),
        Some(text) => check.keep("target.loss", read_loss(text, reading)),
    };
    let (count, each, loss) = (units?, each?, loss?);
    Some((
        Target::Units {
            count,
            each: each.value(),
            loss,
        },
        each.unit(),
    ))
}

fn read_loss(text: &str, reading: Reading) -> Result<Loss, Unclear> {
    if !text.contains('%') {
        return Typed::<Mass>::parse_with(text, reading)
            .map(|typed| Loss::Weight(typed.value()))
            .map_err(|unclear| {
                Unclear::new(
                    text,
                    unclear.wrong,
                    "write a weight such as 10 g, or a percentage of what is melted such as 1.5 %",
                )
            });
    }
    let ratio = Ratio::parse(text, reading)?;
    if ratio >= Ratio::ONE {
        return Err(Unclear::new(
            text,
            "everything melted would be lost",
            "write less than 100 %",
        ));
    }
    Ok(Loss::OfMelted(ratio))
}

fn some_weight(text: &str, reading: Reading) -> Result<Typed<Mass>, Unclear> {
    let typed = Typed::<Mass>::parse_with(text, reading)?;
    if typed.value().is_zero() {
        return Err(Unclear::new(
            text.trim(),
            "the weight is nothing",
            "write a weight above zero",
        ));
    }
    Ok(typed)
}

/// A whole number from 1 to [`MOST_UNITS`].
fn whole(text: &str, reading: Reading) -> Result<u64, Unclear> {
    const ACCEPTED: &str = "write a whole number such as 24";
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(Unclear::new(text, "the number is missing", ACCEPTED));
    }
    let number = parse_decimal(trimmed, reading)
        .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED))?;
    if number.fract() != Decimal::ZERO {
        return Err(Unclear::new(
            trimmed,
            "that is not a whole number",
            ACCEPTED,
        ));
    }
    if number < Decimal::ONE {
        return Err(Unclear::new(
            trimmed,
            "the number has to be at least one",
            ACCEPTED,
        ));
    }
    u64::try_from(number)
        .ok()
        .filter(|number| *number <= MOST_UNITS)
        .ok_or_else(|| Unclear::new(trimmed, "nobody pours so many at once", ACCEPTED_UNITS))
}

fn read_dyes(check: &mut Checker, given: &[DyeInput], reading: Reading) -> Vec<Dye> {
    if !few_enough(check, "dyes", given.len()) {
        return Vec::new();
    }
    let mut dyes = Vec::with_capacity(given.len());
    for (i, dye) in given.iter().enumerate() {
        let name = dye.name.as_deref().map_or("", str::trim);
        let amount = check.required(
            &format!("dyes[{i}].amount"),
            dye.amount.as_deref(),
            |text| DyeAmount::parse(text, reading),
        );
        let drop_weight = check.optional(
            &format!("dyes[{i}].drop_weight"),
            dye.drop_weight.as_deref(),
            |text| some_weight(text, reading),
        );
        if let Some(amount) = amount {
            dyes.push(Dye {
                name: if name.is_empty() { "dye" } else { name }.to_owned(),
                amount,
                drop_weight: drop_weight.map(|typed| typed.value()),
            });
        }
    }
    dyes
}

/// Puts a refusal of the plan beside the field that has to change.
fn place(error: PlanError, input: &Input) -> Problem {
    let target = input.target.clone().unwrap_or_default();
    let text = [&target.wax, &target.total, &target.unit_weight]
        .into_iter()
        .flatten()
        .next()
        .cloned()
        .unwrap_or_default();
    match error {
        PlanError::Nothing => Problem::new(
            "target",
            text,
            error.to_string(),
            "ask for more than nothing",
        ),
        PlanError::TooLarge => Problem::new(
            "target",
            text,
            error.to_string(),
            "ask for at most a thousand tonnes",
        ),
        PlanError::AllLost => Problem::new(
            "target.loss",
            target.loss.unwrap_or_default(),
            error.to_string(),
            "write less than 100 %",
        ),
        PlanError::NoWax => Problem::new(
            "dyes",
            "",
            error.to_string(),
            "use less dye, less fragrance, or a larger target",
        ),
        PlanError::TooCoarse => Problem::new(
            "readability",
            input.readability.clone().unwrap_or_default(),
            error.to_string(),
            "use a finer scale or a larger target",
        ),
    }
}

/// A percentage as a number, to a ten-thousandth of a percent.
pub(crate) fn percent_figure(ratio: Ratio) -> f64 {
    Ratio::from_decimal(ratio.percent().round_dp(4)).map_or(0.0, Ratio::to_f64)
}

fn texts(notes: &[Note]) -> Vec<String> {
    notes.iter().map(|note| note.text.clone()).collect()
}

fn show(plan: Plan, bench: &Bench) -> Output {
    let shown = |mass: Mass| bench.readability.nearest(mass).to_string();
    let Contents { wax, oil, .. } = plan.weighed;
    let total = plan.weighed.total();
    let max_oil = plan.limit.oil(wax);
    let over_max = plan.over_limit();
    Output {
        portions: plan
            .portions
            .iter()
            .map(|portion| PortionOut {
                name: portion.name.clone(),
                kind: portion.role.word().to_owned(),
                weight: portion.weight.to_string(),
                grams: portion.weight.value().grams(),
                exact_g: portion.exact.grams(),
                running: portion.running.to_string(),
                running_g: portion.running.value().grams(),
                reading: bench.tare.map(|_| portion.reading.to_string()),
                reading_g: bench.tare.map(|_| portion.reading.value().grams()),
            })
            .collect(),
        drops: plan
            .drops
            .iter()
            .map(|drops| DropsOut {
                name: drops.name.clone(),
                drops: drops.drops.normalize().to_string(),
            })
            .collect(),
        total: shown(total),
        total_g: total.grams(),
        wax: shown(wax),
        wax_g: wax.grams(),
        oil: shown(oil),
        oil_g: oil.grams(),
        goods: plan.goods.map(&shown),
        goods_g: plan.goods.map(Mass::grams),
        units: plan.units,
        load: plan.load.both(plan.dye_share),
        load_of_wax: percent(plan.of_wax(), 1),
        load_of_wax_percent: percent_figure(plan.of_wax()),
        load_of_total: percent(plan.of_total(), 1),
        load_of_total_percent: percent_figure(plan.of_total()),
        max_load: plan
            .limit
            .of_wax
            .map(|limit| format!("{} of wax", percent(limit, 2))),
        max_oil: max_oil.map(|oil| bench.tell(oil).to_string()),
        max_oil_g: max_oil.map(Mass::grams),
        over_max: over_max.map(|oil| bench.tell(oil).to_string()),
        over_max_g: over_max.map(Mass::grams),
        cautions: plan.notes.iter().filter(|note| note.is_caution()).count(),
        notes: texts(&plan.notes),
        other_base: plan
            .notes
            .iter()
            .position(|note| note.kind == crate::NoteKind::OtherBase),
        rescale: None,
        working: plan.working,
    }
}

fn show_ways(ways: &Rescale, portions: &[PortionOut], bench: &Bench) -> RescaleOut {
    let shown = |mass: Mass| bench.readability.nearest(mass).to_string();
    let going = &ways.keep_going;
    RescaleOut {
        over: ways
            .over
            .iter()
            .filter_map(|i| Some(portions.get(*i)?.name.clone()))
            .collect(),
        keep_formula: ways.keep_formula.as_ref().map(|keep| KeepFormulaOut {
            factor: Ratio::from_decimal(keep.factor.round_dp(6)).map_or(1.0, Ratio::to_f64),
            portions: keep
                .portions
                .iter()
                .map(|portion| ScaledOut {
                    name: portion.name.clone(),
                    target: shown(portion.target),
                    target_g: portion.target.grams(),
                    add: shown(portion.add),
                    add_g: portion.add.grams(),
                })
                .collect(),
            total: shown(keep.contents.total()),
            total_g: keep.contents.total().grams(),
            more: shown(keep.more),
            more_g: keep.more.grams(),
            more_units: keep.more_units,
            consequences: texts(&keep.consequences),
        }),
        keep_going: KeepGoingOut {
            total: shown(going.contents.total()),
            total_g: going.contents.total().grams(),
            load_of_wax: percent(going.of_wax, 1),
            load_of_wax_percent: percent_figure(going.of_wax),
            load_of_total: percent(going.of_total, 1),
            load_of_total_percent: percent_figure(going.of_total),
            over_max: going.over_limit.map(|oil| bench.tell(oil).to_string()),
            over_max_g: going.over_limit.map(Mass::grams),
            consequences: texts(&going.consequences),
        },
    }
}
