//! The calculation `net-weight`: a lot against a declared weight.

use measure::{Checker, Mass, Problem, Problems, Reading, Typed, Unclear, Working, figure};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::eu;
use crate::given::{self, Fields, Weighings, show, tell_chance};
use crate::outlook::{DEFAULT_SEED, History, Outlook};
use crate::rule::{Inspected, Rule};
use crate::scale::coarsest_step;
use crate::us::{self, Column};

/// A chance from which a sample that is still too small is taken to pass.
///
/// Common practice, no source.
const SURE: f64 = 0.99;

/// A lot's unit weights and the declaration they are held against.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `US`, `EU` or `UK`.
    #[serde(default)]
    pub rule: Option<String>,
    /// The weight on the label: `1.5 oz`, `1 lb (454 g)`, `40 g`.
    #[serde(default)]
    pub declared: Option<String>,
    /// Packages in the lot.
    #[serde(default)]
    pub lot_size: Option<Number>,
    /// What single units weigh: wrapped when a tare is given, bare without.
    #[serde(default)]
    pub weights: Vec<String>,
    /// What the wrapping of one unit weighs.
    #[serde(default)]
    pub tare: Option<String>,
    /// The wrappings weighed one by one, instead of `tare`.
    #[serde(default)]
    pub tares: Vec<String>,
    /// EU and UK: `single`, or `double` for the reference test in two steps;
    /// `single` unless it is given.
    #[serde(default)]
    pub sampling: Option<String>,
    /// The smallest step the scale shows.
    #[serde(default)]
    pub scale: Option<String>,
    /// How far off the scale may be, from checking it with a weight; with
    /// `scale` and without this, the tolerance of an accepted scale.
    #[serde(default)]
    pub scale_error: Option<String>,
}

/// Whether the lot may bear its declaration.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Whether it passes.
    pub pass: bool,
    /// `meets`, `does not meet` or `not proven`.
    pub verdict: String,
    /// Whether as many were weighed as an inspection weighs.
    pub full_sample: bool,
    /// The declaration that is tested: the larger one of two.
    pub tested: String,
    /// The same in grams.
    pub tested_g: f64,
    /// Average net weight.
    pub average: String,
    /// The same in grams.
    pub average_g: f64,
    /// Average less the declaration in grams; below zero when short.
    pub over_g: f64,
    /// Standard deviation of the units.
    pub spread: String,
    /// The same in grams.
    pub spread_g: f64,
    /// Units an inspection of this lot weighs.
    pub sample_size_required: u32,
    /// Units weighed.
    pub weighed: u32,
    /// How far the average of a sample may lie below the declaration.
    pub error_limit: String,
    /// The same in grams.
    pub error_limit_g: f64,
    /// How far a single package may lie below it: maximum allowable variation
    /// or tolerable negative error.
    pub allowed_variation: String,
    /// The same in grams.
    pub allowed_variation_g: f64,
    /// Units that lie further below.
    pub beyond: u32,
    /// How many of these are allowed.
    pub beyond_allowed: u32,
    /// EU and UK: units below the declaration by more than twice the error,
    /// which may not be sold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beyond_twice: Option<u32>,
    /// The chance that an inspection of the next lot poured like this passes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_pass: Option<String>,
    /// The same in percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_pass_percent: Option<f64>,
    /// What units should weigh on average.
    pub aim: String,
    /// The same in grams.
    pub aim_g: f64,
    /// What tare and scale leave open in the average, one standard deviation,
    /// in grams.
    pub uncertainty_g: f64,
    /// The answer in sentences, the weightiest first.
    pub reason: Vec<String>,
    /// What the answer rests on that is not certain.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// Answers `net-weight`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `net-weight` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let rule = check.required("rule", input.rule.as_deref(), Rule::parse);
    let declared = check.required("declared", input.declared.as_deref(), |text| {
        label_weight(text, reading)
    });
    given::only_metric(
        rule,
        "declared",
        declared.as_ref().map(|typed| (typed as _, typed.unit())),
        "write a weight such as 40 g",
        &mut check,
    );
    let two_steps = check
        .optional("sampling", input.sampling.as_deref(), sampling)
        .unwrap_or_default();
    if input.lot_size.is_none() {
        check.refuse(Problem::new(
            "lot_size",
            "",
            "the size of the lot is missing",
            "write how many units the lot holds, such as 240",
        ));
    }
    let weighings = given::read(
        &Fields {
            weights: &input.weights,
            earlier: &[],
            tare: input.tare.as_deref(),
            tares: &input.tares,
            scale: input.scale.as_deref(),
            scale_error: input.scale_error.as_deref(),
            lot_size: input.lot_size.as_ref(),
        },
        reading,
        &mut check,
    );
    let found = rule.zip(declared).zip(weighings);
    let Some(((rule, declared), weighings)) = found else {
        return Err(check.into_problems());
    };
    check.finish()?;
    Ok(answer(rule, &declared, &weighings, two_steps))
}

/// The steps in which a reference test weighs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Sampling {
    #[default]
    Single,
    Double,
}

fn sampling(text: &str) -> Result<Sampling, Unclear> {
    match text.trim().to_ascii_lowercase().as_str() {
        "single" => Ok(Sampling::Single),
        "double" => Ok(Sampling::Double),
        _ => Err(Unclear::new(
            text,
            "a reference test weighs in one step or in two",
            "write single or double",
        )),
    }
}

/// Reads a declaration in one unit or in two: the larger one is tested.
fn label_weight(text: &str, reading: Reading) -> Result<Typed<Mass>, Unclear> {
    let Some((one, rest)) = text.split_once('(') else {
        return given::mass(text, reading);
    };
    let other = rest.trim_end().strip_suffix(')').ok_or_else(|| {
        Unclear::new(
            text,
            "the second weight has no closing bracket",
            "write it as on the label: 1 lb (454 g)",
        )
    })?;
    let one = given::mass(one, reading)?;
    let other = given::mass(other, reading)?;
    Ok(if us::tested(one.value(), other.value()) == one.value() {
        one
    } else {
        other
    })
}

fn answer(rule: Rule, declared: &Typed<Mass>, weighings: &Weighings, sampling: Sampling) -> Output {
    let unit = declared.unit();
    let column = Column::from(unit);
    let lot = weighings.lot_size.unwrap_or(rule.usual_lot());
    let sample = &weighings.sample;
    let found = match (rule, sampling) {
        (Rule::Eu | Rule::Uk, Sampling::Double) => {
            eu::inspect_in_two(rule, sample, declared.value(), lot)
        }
        _ => rule.inspect(sample, declared.value(), column, lot),
    };
    let history = History {
        lot: sample,
        earlier: &[],
        lot_size: weighings.lot_size,
        tare: weighings.tare,
        step_g: weighings.step_g,
        scale_off_g: weighings.scale_off_g,
    };
    let outlook = Outlook::try_new(rule, column, &history, DEFAULT_SEED).ok();
    let chance = outlook
        .as_ref()
        .map(|outlook| outlook.inspection_passes(declared.value()));
    let sure = chance.is_some_and(|chance| chance >= SURE);
    let (pass, verdict) = match (found.has_failed(), found.is_full()) {
        (true, _) => (false, "does not meet"),
        (false, true) => (true, "meets"),
        // What was weighed has to hold, too: a forecast is no excuse.
        (false, false) if sure && found.meets() => (true, "meets"),
        (false, false) => (false, "not proven"),
    };
    let standard_scale = weighings.scale_off_g / 3.0_f64.sqrt();
    let standard_tare = weighings.tare.standard_error();
    let uncertainty_g = libm::hypot(standard_scale, standard_tare);
    let guard = rule.guard(lot);
    let aim_g = declared.value().grams() + guard * found.sd_g;
    let reason = reasons(declared, &found, weighings, pass, chance, uncertainty_g);
    let mut working = steps(declared, &found, weighings, lot, sampling);
    if let Some((outlook, chance)) = outlook.as_ref().zip(chance) {
        working.step(
            "Chance that an inspection of the next lot passes",
            "share of the lots drawn from what is believed whose sample passes",
            format!(
                "{} lots, {} units weighed of each",
                outlook.n_ways(),
                outlook.plan().sample
            ),
            tell_chance(chance),
            format!(
                "posterior predictive of a normal model, Gelman and others, Bayesian Data Analysis, \
                 3rd edition (2013), 3.2; seed {DEFAULT_SEED}"
            ),
        );
    }
    working.step(
        "Average to aim at",
        "declared + factor × spread",
        format!(
            "{declared} + {} × {}",
            figure(guard, 3),
            show(found.sd_g, unit)
        ),
        show(aim_g, unit),
        match rule {
            Rule::UkEvery => {
                "own derivation: no unit of the lot below it 975 times in 1,000, for weights that \
                 spread as a normal distribution does"
            }
            _ => "own derivation: the error limit, kept above the declaration instead of below",
        },
    );
    Output {
        pass,
        verdict: verdict.to_owned(),
        full_sample: found.is_full(),
        tested: declared.to_string(),
        tested_g: declared.value().grams(),
        average: show(found.average_g, unit),
        average_g: found.average_g,
        over_g: found.over_g(),
        spread: show(found.sd_g, unit),
        spread_g: found.sd_g,
        sample_size_required: found.required,
        weighed: found.weighed,
        error_limit: show(found.error_limit_g, unit),
        error_limit_g: found.error_limit_g,
        allowed_variation: show(found.limits.variation.grams(), unit),
        allowed_variation_g: found.limits.variation.grams(),
        beyond: found.beyond,
        beyond_allowed: found.beyond_allowed,
        beyond_twice: found.limits.hard_floor.map(|_| found.beyond_twice),
        chance_pass: chance.map(tell_chance),
        chance_pass_percent: chance.map(|chance| chance * 100.0),
        aim: show(aim_g, unit),
        aim_g,
        uncertainty_g,
        reason,
        notes: notes(rule, sampling, lot),
        working,
    }
}

fn reasons(
    declared: &Typed<Mass>,
    found: &Inspected,
    weighings: &Weighings,
    pass: bool,
    chance: Option<f64>,
    uncertainty_g: f64,
) -> Vec<String> {
    if found.rule == Rule::UkEvery {
        return every_reasons(declared, found, weighings);
    }
    let unit = declared.unit();
    let say = |grams: f64| show(grams, unit);
    let mut reason = Vec::new();
    let heaviest = weighings.sample.heaviest();
    let over = found.over_g();
    let allowed = match found.beyond_allowed {
        0 => "none may be".to_owned(),
        1 => "one may be".to_owned(),
        n => format!("{n} may be"),
    };
    if found.has_failed() && heaviest < declared.value() {
        reason.push(format!(
            "No: even the heaviest unit weighs only {}, {} short of {declared}.",
            say(heaviest.grams()),
            say((declared.value() - heaviest).grams()),
        ));
    }
    if found.beyond > found.beyond_allowed {
        reason.push(format!(
            "{}{} of {} weighed are more than {} under {declared}; {allowed}.",
            no(&reason),
            found.beyond,
            found.weighed,
            say(found.limits.variation.grams()),
        ));
    }
    if found.beyond_twice > 0 {
        reason.push(format!(
            "{}{} of {} weighed are more than {} under {declared}, twice what a single package \
             may be short; such a package may not be sold.",
            no(&reason),
            found.beyond_twice,
            found.weighed,
            say(2.0 * found.limits.variation.grams()),
        ));
    }
    if found.is_full() && !found.average_meets {
        reason.push(if found.error_limit_g > 0.0 {
            format!(
                "{}the average is {}, which is {} under {declared}; by chance a sample may be {} under.",
                no(&reason),
                say(found.average_g),
                say(-over),
                say(found.error_limit_g),
            )
        } else {
            format!(
                "{}the average is {}, which is {} under {declared}.",
                no(&reason),
                say(found.average_g),
                say(-over),
            )
        });
    }
    if !found.is_full() && !found.has_failed() {
        let told = chance.map_or_else(String::new, |chance| {
            format!(
                " From these, an inspection would pass with a chance of {}.",
                tell_chance(chance)
            )
        });
        reason.push(format!(
            "{} An inspection of this lot weighs {}; {} were weighed.{told}",
            if pass {
                format!(
                    "Yes: the average is {}, {} over {declared}.",
                    say(found.average_g),
                    say(over)
                )
            } else {
                "Not proven.".to_owned()
            },
            found.required,
            found.weighed,
        ));
    } else if pass && over >= 0.0 {
        reason.push(format!(
            "Yes: the average is {}, {} over {declared}, and {} too light.",
            say(found.average_g),
            say(over),
            match found.beyond {
                0 => format!("none of {} is", found.weighed),
                1 => format!("1 of {} is", found.weighed),
                n => format!("{n} of {} are", found.weighed),
            },
        ));
    } else if pass {
        reason.push(format!(
            "It passes, though the average of {} is {} under {declared}: the limit of {} makes \
             up for an unlucky sample and is no room to fill less. Declare less or pour more.",
            say(found.average_g),
            say(-over),
            say(found.error_limit_g),
        ));
    }
    if uncertainty_g > 0.0 && (over + found.error_limit_g).abs() < 2.0 * uncertainty_g {
        reason.push(format!(
            "Tare and scale leave about {} open either way, which is more than the margin.",
            say(2.0 * uncertainty_g)
        ));
    }
    let opened = weighings.tare.weighed;
    if found.rule == Rule::Us
        && let Some(enough) = us::tares_enough(&weighings.tare, found.limits.variation)
        && enough > opened
    {
        reason.push(format!(
            "The wrappings differ: weigh {enough} in all, or those of every unit weighed; {opened} \
             were.",
        ));
    }
    if let Some(scale) = &weighings.scale
        && found.rule == Rule::Us
        && scale.mass() > coarsest_step(found.limits.variation)
    {
        reason.push(format!(
            "The scale's step of {scale} is too coarse: an inspection asks for {} or finer.",
            say(coarsest_step(found.limits.variation).grams()),
        ));
    }
    reason
}

/// The sentences of the minimum system.
fn every_reasons(declared: &Typed<Mass>, found: &Inspected, weighings: &Weighings) -> Vec<String> {
    let lightest = show(weighings.sample.lightest().grams(), declared.unit());
    let mut reason = vec![match found.beyond {
        0 if found.is_full() => {
            format!("Yes: every unit was weighed, and the lightest holds {lightest}.")
        }
        0 => format!(
            "Not proven: all {} weighed hold {declared}, the lightest {lightest}; every unit of \
             the {} has to be weighed.",
            found.weighed, found.required
        ),
        1 => format!(
            "No: 1 of {} weighed holds less than {declared}, the lightest {lightest}; none may.",
            found.weighed
        ),
        n => format!(
            "No: {n} of {} weighed hold less than {declared}, the lightest {lightest}; none may.",
            found.weighed
        ),
    }];
    if found.beyond > 0 {
        reason.push(
            "Set the light ones aside and sell them as something else, and the rest holds it."
                .to_owned(),
        );
    }
    reason
}

/// Whether the batch is tested in two steps.
fn is_in_two(rule: Rule, sampling: Sampling, lot: u32) -> bool {
    matches!(rule, Rule::Eu | Rule::Uk)
        && sampling == Sampling::Double
        && eu::two_steps(lot).is_some()
}

/// What has to stand beside the answer.
fn notes(rule: Rule, sampling: Sampling, lot: u32) -> Vec<String> {
    let mut notes = given::notes(rule);
    if is_in_two(rule, sampling, lot) {
        notes.push(
            "The plans that weigh in two steps are from memory here, and the chance that an \
             inspection passes is that of one in a single step."
                .to_owned(),
        );
    }
    notes
}

/// The first sentence of a refusal says so.
fn no(before: &[String]) -> &'static str {
    if before.is_empty() { "No: " } else { "" }
}

fn steps(
    declared: &Typed<Mass>,
    found: &Inspected,
    weighings: &Weighings,
    lot: u32,
    sampling: Sampling,
) -> Working {
    let unit = declared.unit();
    let say = |grams: f64| show(grams, unit);
    let mut working = Working::new();
    let tare = weighings.tare;
    working.step(
        "Average net weight",
        if tare.weighed == 0 {
            "sum of the weights ÷ units"
        } else {
            "sum of (weight − average tare) ÷ units"
        },
        if tare.weighed == 0 {
            format!("{} units, bare", found.weighed)
        } else {
            format!(
                "{} units, tare {} {}",
                found.weighed,
                say(tare.average.grams()),
                match tare.weighed {
                    1 => "as given".to_owned(),
                    n => format!("on average of {n}"),
                }
            )
        },
        say(found.average_g),
        match found.rule {
            Rule::Us => "NIST Handbook 133 (2026), 2.3.6",
            Rule::Eu | Rule::Uk | Rule::UkEvery => "Directive 76/211/EEC, Annex I, 2",
        },
    );
    if found.rule == Rule::Us
        && let Some(enough) = us::tares_enough(&tare, found.limits.variation)
    {
        working.step(
            "Wrappings to weigh",
            "until t(0.95; n − 1) × spread ÷ √n is no more than a tenth of a sixth of what a single \
             package may be short by",
            format!(
                "spread {} of {}, what is allowed {}",
                say(tare.sd_g),
                tare.weighed,
                say(found.limits.variation.grams())
            ),
            enough.to_string(),
            "own rule, in place of NIST Handbook 133, appendix A, table 2-3, which could not be read",
        );
    }
    working.step(
        "A single package may be short by",
        match found.rule {
            Rule::Us => "maximum allowable variation of the declared weight",
            Rule::Eu | Rule::Uk => "tolerable negative error of the nominal quantity",
            Rule::UkEvery => "nothing: every unit holds what it says",
        },
        declared.to_string(),
        say(found.limits.variation.grams()),
        found.rule.variation_source(),
    );
    working.step(
        "Units short by more",
        "units below declared − what is allowed",
        format!("below {declared} − {}", say(found.limits.variation.grams())),
        format!("{}, allowed {}", found.beyond, found.beyond_allowed),
        found.rule.source(),
    );
    if found.limits.hard_floor.is_some() {
        working.step(
            "Units short by more than twice that",
            "units below declared − 2 × what is allowed",
            format!(
                "below {declared} − {}",
                say(2.0 * found.limits.variation.grams())
            ),
            format!("{}, allowed 0", found.beyond_twice),
            found.rule.source(),
        );
    }
    working.step(
        "Units an inspection weighs",
        "sampling plan for the lot",
        format!("a lot of {lot}"),
        found.required.to_string(),
        if is_in_two(found.rule, sampling, lot) {
            "Directive 76/211/EEC, Annex II, 2.1.1 (from memory)"
        } else {
            found.rule.plan_source()
        },
    );
    // Where every unit has to hold it nothing is asked of the average.
    if found.rule != Rule::UkEvery {
        steps_of_average(declared, found, &mut working);
    }
    working
}

fn steps_of_average(declared: &Typed<Mass>, found: &Inspected, working: &mut Working) {
    let unit = declared.unit();
    let say = |grams: f64| show(grams, unit);
    working.step(
        "Error limit of the average",
        "factor × spread of the units",
        format!("{} × {}", figure(found.factor, 3), say(found.sd_g)),
        say(found.error_limit_g),
        found.rule.plan_source(),
    );
    working.step(
        "Average against the declaration",
        "average − declared, not below −(error limit)",
        format!(
            "{} − {}",
            say(found.average_g),
            say(declared.value().grams())
        ),
        say(found.over_g()),
        found.rule.source(),
    );
}
