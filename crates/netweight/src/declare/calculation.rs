//! The calculation `declare`: what may be printed.

use measure::{
    Checker, Mass, MassUnit, Problem, Problems, Readability, Reading, Typed, Working, figure,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use super::{Declaration, declare};
use crate::given::{self, Fields, Weighings, show, tell_chance, up_to};
use crate::outlook::{DEFAULT_SEED, History, Outlook};
use crate::panel;
use crate::rule::Rule;
use crate::sample::Sample;
use crate::statement::{self, StatementError};
use crate::us::Column;

/// Unit weights, and the chance the declaration is to have.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `US`, `EU` or `UK`.
    #[serde(default)]
    pub rule: Option<String>,
    /// What single units of one lot weigh: wrapped when a tare is given, bare
    /// without.
    #[serde(default)]
    pub weights: Vec<String>,
    /// The same of earlier lots of the mould, a list for each, so that what
    /// lots differ by is known.
    #[serde(default)]
    pub lots: Vec<Vec<String>>,
    /// The chance that the declaration holds with the next lot, for its average,
    /// its single units and an inspection each, from `50 %` to `99.9 %`; `99 %`
    /// unless it is given.
    #[serde(default)]
    pub chance: Option<String>,
    /// The declaration is a whole number of these; `0.1 oz` in the United
    /// States and `1 g` elsewhere unless it is given.
    #[serde(default)]
    pub steps: Option<String>,
    /// Packages in a lot, if lots are small.
    #[serde(default)]
    pub lot_size: Option<Number>,
    /// What the wrapping of one unit weighs.
    #[serde(default)]
    pub tare: Option<String>,
    /// The wrappings weighed one by one, instead of `tare`.
    #[serde(default)]
    pub tares: Vec<String>,
    /// The smallest step the scale shows.
    #[serde(default)]
    pub scale: Option<String>,
    /// How far off the scale may be, from checking it with a weight; with
    /// `scale` and without this, the tolerance of an accepted scale.
    #[serde(default)]
    pub scale_error: Option<String>,
}

/// What may be printed, with its chances.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The weight to declare.
    pub declare: String,
    /// The same in grams.
    pub declare_g: f64,
    /// The words for the label.
    pub statement: String,
    /// The chance that an inspection of the next lot passes.
    pub chance_pass: String,
    /// The same in percent.
    pub chance_pass_percent: f64,
    /// The chance that the next lot's own average is not below it.
    pub chance_average: String,
    /// The same in percent.
    pub chance_average_percent: f64,
    /// EU and UK: the chance that no more than 2.5 % of the units are below it
    /// by more than the tolerable error, and none by more than twice that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_units: Option<String>,
    /// The same in percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_units_percent: Option<f64>,
    /// The chance that the average of the lot weighed is not below it.
    pub chance_this_lot: String,
    /// The same in percent.
    pub chance_this_lot_percent: f64,
    /// Units to weigh for this declaration: those of an inspection, or more
    /// where the chance asks for more.
    pub weigh: u32,
    /// Average of the units weighed.
    pub average: String,
    /// The same in grams.
    pub average_g: f64,
    /// Standard deviation of the units weighed.
    pub spread: String,
    /// The same in grams.
    pub spread_g: f64,
    /// The weight the next lot's average is not below with the chance asked
    /// for, before it was cut to a step.
    pub bound: String,
    /// The same in grams.
    pub bound_g: f64,
    /// The lower end of the range that holds the average of what is poured with
    /// the same chance and leaves as much above it as below: the cautious
    /// bound, of which the margin is reckoned.
    pub cautious: String,
    /// The same in grams.
    pub cautious_g: f64,
    /// What lies between the cautious bound and the declaration, in grams;
    /// below zero where only the other bound carries it.
    pub margin_g: f64,
    /// The answer in sentences, the weightiest first.
    pub reason: Vec<String>,
    /// What the answer rests on that is not certain.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// Answers `declare`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `declare` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let rule = check.required("rule", input.rule.as_deref(), Rule::parse);
    let chance = check.optional("chance", input.chance.as_deref(), |text| {
        given::chance(text, reading)
    });
    let steps = check.optional("steps", input.steps.as_deref(), |text| {
        Readability::try_new(&given::mass(text, reading)?)
    });
    given::only_metric(
        rule,
        "steps",
        steps.as_ref().map(|steps| (steps as _, steps.unit())),
        "write a step such as 1 g",
        &mut check,
    );
    let weighings = given::read(
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
        &mut check,
    );
    let Some((rule, weighings)) = rule.zip(weighings) else {
        return Err(check.into_problems());
    };
    check.finish()?;
    let steps = steps.unwrap_or_else(|| {
        Readability::usual(match rule {
            Rule::Us => MassUnit::Ounce,
            Rule::Eu | Rule::Uk | Rule::UkEvery => MassUnit::Gram,
        })
    });
    answer(rule, chance.unwrap_or(0.99), &steps, &weighings).map_err(Problems::from)
}

fn answer(
    rule: Rule,
    chance: f64,
    steps: &Readability,
    weighings: &Weighings,
) -> Result<Output, Problem> {
    let column = Column::from(steps.unit());
    let history = History {
        lot: &weighings.sample,
        earlier: &weighings.earlier,
        lot_size: weighings.lot_size,
        tare: weighings.tare,
        step_g: weighings.step_g,
        scale_off_g: weighings.scale_off_g,
    };
    let outlook = Outlook::try_new(rule, column, &history, DEFAULT_SEED)
        .map_err(|error| given::too_few(error, &weighings.sample))?;
    let likely = likely(
        rule,
        column,
        chance,
        steps,
        weighings,
        outlook.plan().sample,
    );
    let found = declare(&outlook, steps, chance).ok_or_else(|| {
        let accepted = match &likely {
            Some((units, declared)) => format!(
                "weigh {units} units; if they go on like these, they carry about {declared}"
            ),
            None => "weigh more units, twelve or more, or ask for smaller steps".to_owned(),
        };
        Problem::new(
            "weights",
            format!("{} weights", weighings.sample.len()),
            format!(
                "not even {steps} can be declared with a chance of {}",
                tell_chance(chance)
            ),
            accepted,
        )
    })?;
    let declared = &found.declared;
    let statement = statement::of(rule, declared).map_err(|error: StatementError| {
        Problem::new(
            "steps",
            declared.to_string(),
            error.to_string(),
            "declare several units together, or ask for larger steps",
        )
    })?;
    let plan = outlook.plan();
    let weigh = outlook
        .units_for(declared.value(), chance)
        .unwrap_or(plan.sample)
        .max(plan.sample)
        .min(weighings.lot_size.unwrap_or(u32::MAX));
    let metric = rule != Rule::Us;
    let this_lot = outlook.this_lot_holds(declared.value());
    let unit = weighings.unit;
    let say = |grams: f64| show(grams, unit);
    let cautious_g = outlook.average_bound(f64::midpoint(chance, 1.0));
    let margin_g = cautious_g - declared.value().grams();
    let mut reason = reasons(rule, chance, &outlook, &found, weighings, margin_g);
    if let Some((units, more)) = likely.filter(|(_, more)| more.value() > declared.value()) {
        reason.insert(
            1,
            format!(
                "{} weights say little of how units differ: weigh {units} before you print. If \
                 they go on like these, they carry about {more}.",
                weighings.sample.len()
            ),
        );
    }
    let working = working(
        rule,
        chance,
        &outlook,
        &found,
        weighings,
        &statement.text,
        steps,
    );
    Ok(Output {
        declare: declared.to_string(),
        declare_g: declared.value().grams(),
        statement: statement.text,
        chance_pass: tell_chance(found.passes),
        chance_pass_percent: found.passes * 100.0,
        chance_average: tell_chance(found.average_holds),
        chance_average_percent: found.average_holds * 100.0,
        chance_units: metric.then(|| tell_chance(found.units_hold)),
        chance_units_percent: metric.then_some(found.units_hold * 100.0),
        chance_this_lot: tell_chance(this_lot),
        chance_this_lot_percent: this_lot * 100.0,
        weigh,
        average: say(outlook.mean()),
        average_g: outlook.mean(),
        spread: say(outlook.sd()),
        spread_g: outlook.sd(),
        bound: say(found.bound_g),
        bound_g: found.bound_g,
        cautious: say(cautious_g),
        cautious_g,
        margin_g,
        reason,
        notes: given::notes(rule),
        working,
    })
}

/// What an inspection's number of units would carry, should they weigh on
/// average what was found and spread alike; none when as many were weighed.
fn likely(
    rule: Rule,
    column: Column,
    chance: f64,
    steps: &Readability,
    weighings: &Weighings,
    units: u32,
) -> Option<(u32, Typed<Mass>)> {
    let sample = &weighings.sample;
    if sample.len() < 2 || sample.len() >= units as usize {
        return None;
    }
    let alike = Sample::alike(units, sample.mean(), sample.sd())?;
    let history = History {
        lot: &alike,
        earlier: &weighings.earlier,
        lot_size: weighings.lot_size,
        tare: weighings.tare,
        step_g: weighings.step_g,
        scale_off_g: weighings.scale_off_g,
    };
    let outlook = Outlook::try_new(rule, column, &history, DEFAULT_SEED).ok()?;
    declare(&outlook, steps, chance).map(|found| (units, found.declared))
}

fn reasons(
    rule: Rule,
    chance: f64,
    outlook: &Outlook,
    found: &Declaration,
    weighings: &Weighings,
    margin_g: f64,
) -> Vec<String> {
    let unit = weighings.unit;
    let declared = &found.declared;
    let weighed = weighings.sample.len();
    let mut reason = vec![format!(
        "Declare {declared}: the average of the next lot holds it with a chance of {}, and an \
         inspection passes with a chance of {}.",
        tell_chance(found.average_holds),
        tell_chance(found.passes)
    )];
    if found.singles_decide {
        reason.push(format!(
            "Single light units decide, not the average of {}: pour more evenly to declare more.",
            show(outlook.mean(), unit)
        ));
    }
    let error = outlook.sd() / (weighed as f64).sqrt();
    if margin_g < 0.1 * error && !found.singles_decide {
        let (step, places) = match Column::from(unit) {
            Column::Pound => (Typed::<Mass>::parse("0.02 oz"), (MassUnit::Ounce, 2)),
            Column::Gram => (Typed::<Mass>::parse("0.5 g"), (MassUnit::Gram, 1)),
        };
        let step = step.expect("a literal weight reads").value();
        reason.push(format!(
            "The margin is thin, {}: aim {} fuller or weigh {weighed} more.",
            if margin_g < 0.0 {
                format!("the cautious bound lies {} below", show(-margin_g, unit))
            } else {
                show(margin_g, unit)
            },
            up_to(error, step).typed(places.0, places.1),
        ));
    } else if found.next.value().grams() < outlook.mean() && !outlook.knows_lots() {
        if let Some(units) = outlook
            .units_for(found.next.value(), chance)
            .filter(|units| *units as usize > weighed)
            .filter(|units| weighings.lot_size.is_none_or(|lot| *units <= lot))
        {
            reason.push(format!(
                "If the units go on like this, {units} weighed would carry {}.",
                found.next
            ));
        }
    } else if !found.singles_decide {
        let aim = outlook.mean() + found.next.value().grams() - found.bound_g;
        let (due, now) = (show(aim, unit), show(outlook.mean(), unit));
        reason.push(if due == now {
            format!(
                "They just miss {}: a little more in each and they carry it.",
                found.next
            )
        } else {
            format!(
                "For {} the units have to weigh {due} on average; they weigh {now}.",
                found.next
            )
        });
    }
    if rule == Rule::UkEvery {
        reason.push(
            "Whoever weighs every unit and sets the light ones aside may declare more: then the \
             lightest that is left decides."
                .to_owned(),
        );
        return reason;
    }
    if !outlook.knows_lots() {
        reason.push(
            "This rests on one lot: how much lots differ shows only when units of others are \
             weighed, too."
                .to_owned(),
        );
    }
    if weighed < outlook.plan().sample as usize {
        reason.push(format!(
            "An inspection weighs {}; {weighed} were weighed.",
            outlook.plan().sample
        ));
    }
    if rule != Rule::Us && panel::e_mark(declared.value()).is_some() {
        reason.push(
            "The mark ℮ may stand beside it if the lots are checked and the checks are kept."
                .to_owned(),
        );
    }
    reason
}

fn working(
    rule: Rule,
    chance: f64,
    outlook: &Outlook,
    found: &Declaration,
    weighings: &Weighings,
    statement: &str,
    steps: &Readability,
) -> Working {
    let unit = weighings.unit;
    let say = |grams: f64| show(grams, unit);
    let weighed = weighings.sample.len();
    let mut working = Working::new();
    working.step(
        "Average and spread of the units",
        if weighings.tare.weighed == 0 {
            "of the weights".to_owned()
        } else {
            format!(
                "of weight − tare of {}",
                say(weighings.tare.average.grams())
            )
        },
        format!("{weighed} units"),
        format!("{}, spread {}", say(outlook.mean()), say(outlook.sd())),
        "standard deviation with n − 1; no smaller than step ÷ √12: JCGM 100:2008, F.2.2.1",
    );
    let left_open = weighings.tare.standard_error() > 0.0 || weighings.scale_off_g > 0.0;
    if left_open {
        working.step(
            "What tare and scale leave open",
            "standard error of the average tare; most the scale may be off",
            match weighings.tare.weighed {
                0 => "no tare".to_owned(),
                1 => "one figure for the tare".to_owned(),
                n => format!("{n} tares weighed"),
            },
            format!(
                "{}; {}",
                say(weighings.tare.standard_error()),
                say(weighings.scale_off_g)
            ),
            "tolerance of a scale: NIST Handbook 133 (2026), chapter 2, table 2-2",
        );
    }
    let earlier = weighings.earlier.len();
    if outlook.knows_lots() {
        working.step(
            "What the next lot's average is not below",
            "lots N(μ, τ²), units N(lot, σ²); μ flat, 1/σ², τ half-normal with 3 % of the mean",
            format!("{} lots, chance {}", earlier + 1, tell_chance(chance)),
            say(found.bound_g),
            "Gelman and others, Bayesian Data Analysis, 3rd edition (2013), 5.4; the 3 %: common \
             practice, no source",
        );
    } else {
        let lot = weighings
            .lot_size
            .map_or_else(|| "√(1/n)".to_owned(), |lot| format!("√(1/n + 1/{lot})"));
        working.step(
            "What the next lot's average is not below",
            format!("average − t × spread × {lot}"),
            format!(
                "{} − {} × {} × {lot}, n = {weighed}{}",
                say(outlook.mean()),
                figure(crate::chance::t_at(chance, weighed as f64 - 1.0), 3),
                say(outlook.sd()),
                if left_open {
                    ", over all that tare and scale leave open"
                } else {
                    ""
                }
            ),
            say(found.bound_g),
            "predictive t interval of a normal model, Gelman and others, Bayesian Data Analysis, \
             3rd edition (2013), 3.2",
        );
    }
    let cautious = f64::midpoint(chance, 1.0);
    working.step(
        "The cautious bound, of which the margin is reckoned",
        "the same with what the chance leaves out halved: the lower end of a range with two ends",
        if outlook.knows_lots() || left_open {
            format!("chance {} on one side", tell_chance(cautious))
        } else {
            format!(
                "t = {}, n = {weighed}",
                figure(crate::chance::t_at(cautious, weighed as f64 - 1.0), 3)
            )
        },
        say(outlook.average_bound(cautious)),
        "the usual two-sided interval, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2",
    );
    working.step(
        "Cut to a step",
        "the largest whole number of steps that keeps the chance: average, single units, inspection",
        format!("steps of {steps}"),
        found.declared.to_string(),
        match rule {
            Rule::Us => "own choice: a declaration is cut, never rounded up",
            Rule::Eu | Rule::Uk | Rule::UkEvery => "own choice",
        },
    );
    working.step(
        "Chance that the next lot's average holds it",
        "the same interval, read at the declaration",
        found.declared.to_string(),
        tell_chance(found.average_holds),
        rule.source(),
    );
    let drawn = format!(
        "{} lots drawn, {} units weighed of each, seed {DEFAULT_SEED}",
        outlook.n_ways(),
        outlook.plan().sample
    );
    if matches!(rule, Rule::Eu | Rule::Uk) {
        working.step(
            "Chance that its single units hold it",
            "share of the drawn lots with at most 2.5 % below Q − T and none below Q − 2T",
            drawn.clone(),
            tell_chance(found.units_hold),
            format!(
                "{}; the 2.5 %: a working limit of packers, second hand",
                rule.variation_source()
            ),
        );
    }
    working.step(
        "Chance that an inspection of it passes",
        match rule {
            Rule::UkEvery => "share of the drawn lots in which no unit is below it",
            _ => "share of the drawn lots whose sample passes",
        },
        drawn,
        tell_chance(found.passes),
        match rule {
            Rule::UkEvery => rule.source().to_owned(),
            _ => format!("{}; {}", rule.plan_source(), rule.variation_source()),
        },
    );
    working.step(
        "Statement",
        match rule {
            Rule::Us => "ounces, and grams cut to two figures below 100 g and three above",
            Rule::Eu | Rule::Uk | Rule::UkEvery => "grams, kilograms from 1 kg",
        },
        found.declared.to_string(),
        statement,
        match rule {
            Rule::Us => "16 CFR 500.17 to 500.19",
            Rule::Eu | Rule::Uk | Rule::UkEvery => "Directive 76/211/EEC, Annex I, 3.1",
        },
    );
    working
}
