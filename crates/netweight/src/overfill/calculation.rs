//! The calculation `overfill`: what is given away, and the average to aim at.

use measure::{
    Checker, Cost, Decimal, Mass, MassUnit, Problem, Problems, Readability, Reading, Typed,
    Unclear, Working, figure,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use super::{Aim, Rate, aim};
use crate::given::{self, Fields, Weighings, show, tell_chance};
use crate::outlook::{DEFAULT_SEED, History, Outlook};
use crate::rule::Rule;
use crate::sample::Sample;
use crate::tare::Tare;
use crate::us::Column;

/// What units weigh, what they are said to weigh, and what their wax costs.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `US`, `EU`, `UK` or `UK every`.
    #[serde(default)]
    pub rule: Option<String>,
    /// The weight on the label.
    #[serde(default)]
    pub declared: Option<String>,
    /// What single units of one lot weigh: wrapped when a tare is given, bare
    /// without. Or else `average`, `spread` and `weighed`.
    #[serde(default)]
    pub weights: Vec<String>,
    /// The same of earlier lots of the mould, a list for each.
    #[serde(default)]
    pub lots: Vec<Vec<String>>,
    /// The average of the units weighed, bare, where their weights are not
    /// given.
    #[serde(default)]
    pub average: Option<String>,
    /// Their standard deviation.
    #[serde(default)]
    pub spread: Option<String>,
    /// How many were weighed.
    #[serde(default)]
    pub weighed: Option<Number>,
    /// Packages in a lot.
    #[serde(default)]
    pub lot_size: Option<Number>,
    /// Units made in a year.
    #[serde(default)]
    pub a_year: Option<Number>,
    /// What the wax of the units costs: `6.05 EUR`, for so much of it as
    /// `cost_per` says.
    #[serde(default)]
    pub cost: Option<String>,
    /// `1 kg` unless it is given.
    #[serde(default)]
    pub cost_per: Option<String>,
    /// The chance with which the next lot is to hold the declaration, from
    /// `50 %` to `99.9 %`; `99 %` unless it is given.
    #[serde(default)]
    pub chance: Option<String>,
    /// The aim is a whole number of these; `0.01 oz` in the United States and
    /// `0.1 g` elsewhere unless it is given.
    #[serde(default)]
    pub steps: Option<String>,
    /// What the wrapping of one unit weighs.
    #[serde(default)]
    pub tare: Option<String>,
    /// The wrappings weighed one by one, instead of `tare`.
    #[serde(default)]
    pub tares: Vec<String>,
    /// The smallest step the scale shows.
    #[serde(default)]
    pub scale: Option<String>,
    /// How far off the scale may be.
    #[serde(default)]
    pub scale_error: Option<String>,
}

/// What is given away, and what to aim at.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Average less declaration: what a unit holds for nothing; below zero
    /// when units are short.
    pub over: String,
    /// The same in grams.
    pub over_g: f64,
    /// What that costs for each unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_each: Option<String>,
    /// For a lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_lot: Option<String>,
    /// For a year.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_year: Option<String>,
    /// The average to aim at: the least at which the next lot holds the
    /// declaration with the chance asked for.
    pub aim: String,
    /// The same in grams.
    pub aim_g: f64,
    /// The chance that the next lot's own average then holds it.
    pub chance_average: String,
    /// The chance that an inspection of it then passes.
    pub chance_pass: String,
    /// What the aim saves in a year; not given where it is no less than what
    /// units weigh now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub saves_year: Option<String>,
    /// Below this a single package is too light.
    pub floor: String,
    /// The same in grams.
    pub floor_g: f64,
    /// How many standard deviations below the present average that is.
    pub floor_now: f64,
    /// How many below the aim.
    pub floor_at_aim: f64,
    /// The answer in sentences, the weightiest first.
    pub reason: Vec<String>,
    /// What the answer rests on that is not certain.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// Answers `overfill`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `overfill` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let rule = check.required("rule", input.rule.as_deref(), Rule::parse);
    let declared = check.required("declared", input.declared.as_deref(), |text| {
        given::mass(text, reading)
    });
    given::only_metric(
        rule,
        "declared",
        declared.as_ref().map(|typed| (typed as _, typed.unit())),
        "write a weight such as 90 g",
        &mut check,
    );
    let chance = check.optional("chance", input.chance.as_deref(), |text| {
        given::chance(text, reading)
    });
    let steps = check.optional("steps", input.steps.as_deref(), |text| {
        Readability::try_new(&given::mass(text, reading)?)
    });
    let cost = check.optional("cost", input.cost.as_deref(), |text| {
        Cost::parse(text, None, reading)
    });
    let per = check.optional("cost_per", input.cost_per.as_deref(), |text| {
        given::mass(text, reading)
    });
    let a_year = input
        .a_year
        .as_ref()
        .and_then(|given| check.keep("a_year", given::lot_size(given)));
    let weighings = weighings(input, reading, &mut check);
    let found = rule.zip(declared).zip(weighings);
    let Some(((rule, declared), weighings)) = found else {
        return Err(check.into_problems());
    };
    check.finish()?;
    let asked = Asked {
        rule,
        declared,
        chance: chance.unwrap_or(0.99),
        steps: steps.unwrap_or_else(|| usual_steps(rule)),
        rate: cost.map(|cost| Rate {
            cost,
            per: per.map_or(Mass::from_micrograms(1_000_000_000), |per| per.value()),
        }),
        a_year,
    };
    answer(&asked, &weighings).map_err(Problems::from)
}

/// A tenth of a gram or a hundredth of an ounce: what an aim is written to.
fn usual_steps(rule: Rule) -> Readability {
    let text = if rule.is_metric() { "0.1 g" } else { "0.01 oz" };
    let typed = Typed::<Mass>::parse(text).expect("a literal weight reads");
    Readability::try_new(&typed).expect("a literal step is a step")
}

fn weighings(input: &Input, reading: Reading, check: &mut Checker) -> Option<Weighings> {
    if input.average.is_none() && input.spread.is_none() {
        return given::read(
            &Fields {
                weights: &input.weights,
                earlier: &input.lots,
                tare: input.tare.as_deref(),
                tares: &input.tares,
                scale: input.scale.as_deref(),
                scale_error: input.scale_error.as_deref(),
                lot_size: input.lot_size.as_ref(),
            },
            reading,
            check,
        );
    }
    if !input.weights.is_empty() {
        check.refuse(Problem::new(
            "average",
            input.average.clone().unwrap_or_default(),
            "there are also single weights, which say the same",
            "give either the weights or average, spread and how many",
        ));
    }
    refuse_beside_average(input, check);
    let average = check.required("average", input.average.as_deref(), |text| {
        given::mass(text, reading)
    });
    let spread = check.required("spread", input.spread.as_deref(), |text| {
        given::mass(text, reading)
    });
    let weighed = input.weighed.as_ref().map_or_else(
        || {
            Err(Unclear::new(
                "",
                "how many were weighed is missing",
                "write a whole number from 2 on, such as 50",
            ))
        },
        given::lot_size,
    );
    let weighed = check.keep("weighed", weighed);
    let lot_size = input
        .lot_size
        .as_ref()
        .and_then(|given| check.keep("lot_size", given::lot_size(given)));
    let ((average, spread), weighed) = average.zip(spread).zip(weighed)?;
    let sample = Sample::alike(
        weighed.min(given::MOST_ALIKE),
        average.value().grams(),
        spread.value().grams(),
    );
    let Some(sample) = sample else {
        check.refuse(Problem::new(
            "spread",
            spread.to_string(),
            "units that spread so would weigh nothing, or only one was weighed",
            "compare average, spread and how many were weighed",
        ));
        return None;
    };
    Some(Weighings {
        sample,
        earlier: Vec::new(),
        tare: Tare::NONE,
        unit: average.unit(),
        scale: None,
        step_g: 0.0,
        scale_off_g: 0.0,
        lot_size,
    })
}

/// Refuses what is said of single weights and would be passed over beside an
/// average.
fn refuse_beside_average(input: &Input, check: &mut Checker) {
    let single = [
        ("tare", &input.tare),
        ("scale", &input.scale),
        ("scale_error", &input.scale_error),
    ];
    let mut beside: Vec<(&str, String)> = single
        .into_iter()
        .filter_map(|(field, text)| Some((field, text.clone()?)))
        .filter(|(_, text)| !text.trim().is_empty())
        .collect();
    beside.extend(input.tares.first().map(|text| ("tares", text.clone())));
    let lots = input.lots.iter().flatten().next();
    beside.extend(lots.map(|text| ("lots", text.clone())));
    for (field, text) in beside {
        check.refuse(Problem::new(
            field,
            text,
            "that belongs to single weights, and an average is given",
            "give the average of bare units alone, or the single weights",
        ));
    }
}

struct Asked {
    rule: Rule,
    declared: Typed<Mass>,
    chance: f64,
    steps: Readability,
    rate: Option<Rate>,
    a_year: Option<u32>,
}

fn answer(asked: &Asked, weighings: &Weighings) -> Result<Output, Problem> {
    let declared = &asked.declared;
    let column = Column::from(declared.unit());
    let history = History {
        lot: &weighings.sample,
        earlier: &weighings.earlier,
        lot_size: weighings.lot_size,
        tare: weighings.tare,
        step_g: weighings.step_g,
        scale_off_g: weighings.scale_off_g,
    };
    let outlook = Outlook::try_new(asked.rule, column, &history, DEFAULT_SEED)
        .map_err(|error| given::too_few(error, &weighings.sample))?;
    let unit = declared.unit();
    let found = aim(&outlook, declared.value(), &asked.steps, asked.chance).ok_or_else(|| {
        Problem::new(
            "spread",
            show(outlook.sd(), unit),
            "the units differ so much that no aim up to twice the declaration holds it",
            "pour more evenly, weigh more units, or ask for a smaller chance",
        )
    })?;
    let average = Mass::from_grams(outlook.mean()).unwrap_or(Mass::ZERO);
    let over = average - declared.value();
    let saved = average - found.weight.value();
    let limits = asked.rule.limits(declared.value(), column);
    let deviations = |from: f64| (from - limits.floor.grams()) / outlook.sd();
    let money = |mass: Mass, units: u32| {
        let each = asked.rate?.of(mass)?;
        (mass > Mass::ZERO).then(|| each.times(Decimal::from(units)))
    };
    let mut output = Output {
        over: show(over.grams(), unit),
        over_g: over.grams(),
        cost_each: money(over, 1).map(four_places),
        cost_lot: weighings
            .lot_size
            .and_then(|lot| money(over, lot))
            .map(|cost| cost.to_string()),
        cost_year: asked
            .a_year
            .and_then(|units| money(over, units))
            .map(|cost| cost.to_string()),
        aim: found.weight.to_string(),
        aim_g: found.weight.value().grams(),
        chance_average: tell_chance(found.average_holds),
        chance_pass: tell_chance(found.passes),
        saves_year: asked
            .a_year
            .and_then(|units| money(saved, units))
            .map(|cost| cost.to_string()),
        floor: show(limits.floor.grams(), unit),
        floor_g: limits.floor.grams(),
        floor_now: deviations(outlook.mean()),
        floor_at_aim: deviations(found.weight.value().grams()),
        reason: Vec::new(),
        notes: given::notes(asked.rule),
        working: working(asked, weighings, &outlook, &found, average),
    };
    output.reason = reasons(asked, &outlook, &output, saved);
    Ok(output)
}

/// Money of a single unit, finer than the minor unit.
fn four_places(cost: Cost) -> String {
    format!("{} {}", cost.major().round_dp(4), cost.currency().code())
}

fn reasons(asked: &Asked, outlook: &Outlook, output: &Output, saved: Mass) -> Vec<String> {
    let Output {
        over,
        cost_each,
        cost_lot,
        cost_year,
        aim,
        ..
    } = output;
    let declared = &asked.declared;
    let mut reason = Vec::new();
    // In the minimum system the floor is the declaration: some are too light, not each.
    if asked.rule != Rule::UkEvery
        && asked.declared.value().grams() + output.over_g < output.floor_g
    {
        // Nobody fills a third more into a mould.
        return vec![format!(
            "Units weigh {} less than {declared}, so that each is too light: declare less.",
            show(-output.over_g, declared.unit())
        )];
    }
    if output.over_g < 0.0 {
        reason.push(format!(
            "Units weigh {} less than {declared}: nothing is given away, and the label is not held.",
            show(-output.over_g, declared.unit())
        ));
    } else {
        let mut costs: Vec<String> = Vec::new();
        costs.extend(cost_each.iter().map(|cost| format!("{cost} each")));
        costs.extend(cost_lot.iter().map(|cost| format!("{cost} a lot")));
        if let Some((cost, units)) = cost_year.as_ref().zip(asked.a_year) {
            costs.push(format!("{cost} on {units} a year"));
        }
        let costs = if costs.is_empty() {
            String::new()
        } else {
            format!(" That costs {}.", costs.join(", "))
        };
        reason.push(format!("A unit holds {over} more than {declared}.{costs}"));
    }
    let then = format!(
        "the next lot's average then holds {declared} with a chance of {}, and an inspection \
         passes with a chance of {}",
        output.chance_average, output.chance_pass
    );
    if saved > Mass::ZERO {
        let saves = output
            .saves_year
            .as_ref()
            .map_or_else(String::new, |saves| format!(" and save {saves} a year"));
        reason.push(format!("Aim at {aim}{saves}: {then}."));
    } else if saved.is_zero() {
        reason.push(format!("Go on at {aim}: {then}."));
    } else {
        reason.push(format!("Aim at {aim}, which is more than now: {then}."));
    }
    reason.push(format!(
        "A single unit is too light below {}: {} standard deviations below what they weigh now, \
         {} below the aim.",
        output.floor,
        figure(output.floor_now, 1),
        figure(output.floor_at_aim, 1)
    ));
    if !outlook.knows_lots() {
        reason.push(
            "The aim takes lots to come out alike. Where they do not, aim fuller until the control \
             chart says so."
                .to_owned(),
        );
    }
    reason
}

fn working(
    asked: &Asked,
    weighings: &Weighings,
    outlook: &Outlook,
    found: &Aim,
    average: Mass,
) -> Working {
    let declared = &asked.declared;
    let unit = declared.unit();
    let say = |grams: f64| show(grams, unit);
    let over = average - declared.value();
    let mut working = Working::new();
    working.step(
        "Filled over the label",
        "average − declared",
        format!("{} − {declared}", say(average.grams())),
        say(over.grams()),
        "",
    );
    if let Some(rate) = asked.rate.filter(|_| over > Mass::ZERO) {
        let each = rate.of(over);
        let per = rate.per.typed(MassUnit::Gram, 0);
        working.step(
            "What that costs for each unit",
            "overfill × cost ÷ how much it is for",
            format!("{} × {} ÷ {per}", say(over.grams()), four_places(rate.cost)),
            each.map(four_places).unwrap_or_default(),
            "",
        );
        let times = [("a lot", weighings.lot_size), ("a year", asked.a_year)];
        for (what, units) in times {
            if let Some((each, units)) = each.zip(units) {
                working.step(
                    format!("For {what}"),
                    "cost each × units",
                    format!("{} × {units}", four_places(each)),
                    each.times(Decimal::from(units)).to_string(),
                    "",
                );
            }
        }
    }
    working.step(
        "Average to aim at",
        "the least average in whole steps at which the next lot's own average, its single units \
         and an inspection each hold with the chance asked for",
        format!(
            "{} weighed, spread {}, chance {}, steps of {}",
            weighings.sample.len(),
            say(outlook.sd()),
            tell_chance(asked.chance),
            asked.steps
        ),
        found.weight.to_string(),
        "own derivation from the predictive t interval: Gelman and others, Bayesian Data Analysis, \
         3rd edition (2013), 3.2",
    );
    working.step(
        "Chance that the next lot's average then holds",
        "the same interval about the aim",
        found.weight.to_string(),
        tell_chance(found.average_holds),
        asked.rule.source(),
    );
    working.step(
        "Chance that an inspection then passes",
        "share of the lots drawn about the aim whose sample passes",
        format!(
            "{} lots, {} units weighed of each, seed {DEFAULT_SEED}",
            outlook.n_ways(),
            outlook.plan().sample
        ),
        tell_chance(found.passes),
        format!(
            "{}; {}",
            asked.rule.plan_source(),
            asked.rule.variation_source()
        ),
    );
    working
}
