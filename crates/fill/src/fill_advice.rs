//! The calculation `fill-advice`: how much to melt, from the pours so far.
//!
//! [`calculate`] takes texts as a person types them; [`answer`] is the same
//! question put by a program that has learned already. Both show one working.

use measure::{
    Checker, Mass, MassUnit, Problem, Problems, Ratio, Readability, Reading, System, Typed,
    Unclear, Working, figure, in_system,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::learn::{Assumptions, Learned, Range, learn};
use crate::part_seen::PartSeen;
use crate::pours::{Balance, Fault, MOST_GRAMS, Part, Pour, Weighing};

/// More units than anyone pours at once.
const MOST_UNITS: u32 = 10_000;
/// More pours than teach anything new of a mould. A minute of reckoning stands
/// behind thousands of them, and a handful says nearly as much.
const MOST_POURS: usize = 200;
/// The share of a melt that nobody expects to lose, or more.
const MOST_LOSS: f64 = 0.5;
/// The chances that can be asked for. Closer to certainty the answer would rest
/// on a handful of the drawn ways.
const CHANCES: std::ops::RangeInclusive<f64> = 0.01..=0.995;
const ACCEPTED_COUNT: &str = "write a whole number such as 12";
const ACCEPTED_LOSS: &str = "write a share such as 3 %";

/// Where the model of unit weight and loss comes from.
const MODEL: &str = "normal model with pours as groups: Gelman and others, Bayesian Data Analysis, \
                     3rd edition (2013), chapter 5; drawn as in Neal, Slice Sampling (2003)";

/// A mould, the pours made in it and what is wanted of the next one.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Cavities of the mould.
    #[serde(default)]
    pub cavities: Option<Number>,
    /// What a unit is said to weigh, if anything says so.
    #[serde(default)]
    pub nominal_unit: Option<String>,
    /// The pours made so far, in any order; at most 200.
    #[serde(default)]
    pub pours: Vec<PourInput>,
    /// Units wanted of the next pour; all cavities unless it is given.
    #[serde(default)]
    pub want: Option<Number>,
    /// The chance that the melt is enough, from `1 %` to `99.5 %`; `90 %` unless
    /// it is given.
    #[serde(default)]
    pub chance: Option<String>,
    /// A melt of one's own, to see how many it fills.
    #[serde(default)]
    pub melt: Option<String>,
    /// The smallest step of the scale; 0.1 oz or 1 g unless it is given.
    #[serde(default)]
    pub readability: Option<String>,
    /// The share of a melt expected to be lost before any pour says otherwise;
    /// less than half; `3 %` (common practice, no source) unless it is given.
    #[serde(default)]
    pub expected_loss: Option<String>,
}

/// One pour as it was made.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PourInput {
    /// Melt in the pitcher when pouring began.
    #[serde(default)]
    pub poured: Option<String>,
    /// Melt added later to level the tops.
    #[serde(default)]
    pub topped_up: Option<String>,
    /// Melt left over and kept.
    #[serde(default)]
    pub left: Option<String>,
    /// Cavities that stood ready, if not those of the mould.
    #[serde(default)]
    pub cavities: Option<Number>,
    /// Units filled to the line.
    #[serde(default)]
    pub filled: Option<Number>,
    /// The unit that was not filled: its weight, its share such as `60 %`,
    /// `none`, or nothing when nobody looked.
    #[serde(default)]
    pub part: Option<String>,
    /// Weights of single full units, bare.
    #[serde(default)]
    pub unit_weights: Vec<String>,
}

/// How much to melt, with its doubt and what it rests on.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// What to melt, rounded up to the scale.
    pub melt: String,
    /// The same in grams, unrounded.
    pub melt_g: f64,
    /// One chance in twenty that this is enough.
    pub melt_low: String,
    /// The same in grams.
    pub melt_low_g: f64,
    /// One chance in twenty that even this is too little.
    pub melt_high: String,
    /// The same in grams.
    pub melt_high_g: f64,
    /// Mean weight of a unit of this mould.
    pub unit_weight: String,
    /// The same in grams.
    pub unit_weight_g: f64,
    /// One chance in twenty that the mean is below this.
    pub unit_weight_low: String,
    /// The same in grams.
    pub unit_weight_low_g: f64,
    /// One chance in twenty that the mean is above this.
    pub unit_weight_high: String,
    /// The same in grams.
    pub unit_weight_high_g: f64,
    /// Standard deviation of the units of one pour.
    pub unit_spread: String,
    /// The same in grams.
    pub unit_spread_g: f64,
    /// What the next pour is likely to lose of this melt.
    pub loss: String,
    /// The same in grams.
    pub loss_g: f64,
    /// The share usually lost, as believed after these pours.
    pub loss_share: String,
    /// The same in percent.
    pub loss_share_percent: f64,
    /// The share usually lost, as assumed before them.
    pub loss_share_before: String,
    /// The same in percent.
    pub loss_share_before_percent: f64,
    /// The chance of each number of full units from this melt, none first.
    pub count_chances: Vec<CountChance>,
    /// What the melt of one's own fills, when one was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_melt: Option<OwnMelt>,
    /// The doubt in a sentence.
    pub doubt: String,
    /// How the figures were found.
    pub working: Working,
}

/// What a melt that was not asked for but is there fills.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OwnMelt {
    /// The melt, as given.
    pub melt: String,
    /// The same in grams.
    pub melt_g: f64,
    /// The chance that it fills all that are wanted, in percent.
    pub enough_percent: f64,
    /// The chance of each number of full units from it, none first.
    pub count_chances: Vec<CountChance>,
}

/// The chance of one count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CountChance {
    /// Full units.
    pub units: u32,
    /// The chance that there are exactly so many, in percent.
    pub chance_percent: f64,
}

/// What is asked of the next pour.
#[derive(Debug, Clone)]
pub struct Question {
    /// Units wanted.
    pub want: u32,
    /// The chance, 0 to 1, that the melt is enough.
    pub chance: f64,
    /// The units to answer in.
    pub system: System,
    /// The scale the melt is weighed on.
    pub scale: Readability,
}

/// The answer, in masses and in words.
#[derive(Debug, Clone)]
pub struct Answer {
    /// What to melt, rounded up to the scale.
    pub melt: Typed<Mass>,
    /// What to melt, unrounded, g.
    pub melt_g: f64,
    /// One chance in twenty that this is enough.
    pub low: Typed<Mass>,
    /// As likely enough as not.
    pub middle: Typed<Mass>,
    /// One chance in twenty that even this is too little.
    pub high: Typed<Mass>,
    /// The range in grams.
    pub range: Range,
    /// What the next pour is likely to lose of this melt, g.
    pub loss_g: f64,
    /// The doubt in a sentence: `Nine times in ten between 18.9 oz and 20.2 oz.
    /// Rests on 2 pours.`
    pub doubt: String,
    /// How it was found.
    pub working: Working,
}

/// Answers how much to melt, from what was learned of `pours`.
///
/// The melt is rounded up to a step of the scale, since it has to be enough;
/// the ends of its range to the nearest step. None when that would be more than
/// ten tonnes: no sound pour comes near, and the figures before it are slips.
pub fn answer(
    learned: &Learned,
    pours: &[Pour],
    assumed: &Assumptions,
    question: &Question,
) -> Option<Answer> {
    let Question {
        want,
        chance,
        system,
        ..
    } = *question;
    let need = learned.need(want);
    let (range, melt_g) = (need.range(), need.at(chance));
    let held = |grams: f64| Mass::from_grams(grams).filter(|_| grams <= MOST_GRAMS);
    let scaled = |grams: f64| Some(on_scale(held(grams)?, question, Readability::nearest));
    let melt = on_scale(held(melt_g)?, question, Readability::up);
    let (low, middle, high) = (
        scaled(range.low)?,
        scaled(range.median)?,
        scaled(range.high)?,
    );
    let doubt = format!(
        "Nine times in ten between {low} and {high}. {}",
        rests_on(learned.pours)
    );

    let mut working = Working::new();
    for (idx, pour) in pours.iter().enumerate().skip(pours.len().saturating_sub(3)) {
        balance_step(pour, idx, pours.len(), system, &mut working);
    }
    learned_steps(learned, pours, assumed, system, &mut working);
    let unit = show(learned.unit_weight.median, system);
    working.step(
        format!("Melt for {want}, in the middle"),
        "units × unit weight ÷ (1 − loss)",
        format!(
            "{want} × {unit} ÷ (1 − {})",
            percent(learned.next_loss.median)
        ),
        middle.to_string(),
        "conservation of mass; the middle of all ways the next pour may go",
    );
    working.step(
        format!("Melt that is enough {}", times_in(chance)),
        "the melt that so many of the ways the next pour may go do not exceed",
        format!(
            "{} of the ways, rounded up to the scale's {}",
            percent(chance),
            question.scale
        ),
        melt.to_string(),
        format!(
            "drawn with seed {}; the same pours give the same answer",
            learned.seed
        ),
    );
    working.step(
        "Its range",
        "one in twenty of those ways need less than the first, one in twenty more than the second",
        "",
        format!("{low} to {high}"),
        "",
    );
    let loss_g = learned.next_loss.median * melt_g;
    Some(Answer {
        melt,
        melt_g,
        low,
        middle,
        high,
        range,
        loss_g,
        doubt,
        working,
    })
}

/// Says what an answer rests on.
pub fn rests_on(pours: usize) -> String {
    match pours {
        0 => "Rests on no pour yet, only on what was assumed.".to_owned(),
        1 => "Rests on 1 pour.".to_owned(),
        n => format!("Rests on {n} pours."),
    }
}

fn learned_steps(
    learned: &Learned,
    pours: &[Pour],
    assumed: &Assumptions,
    system: System,
    working: &mut Working,
) {
    let between = |range: &Range| {
        format!(
            "{} ({} to {})",
            show(range.median, system),
            show(range.low, system),
            show(range.high, system)
        )
    };
    let weighed: u64 = pours.iter().map(Pour::weighed_units).sum();
    let start = assumed.nominal_unit.map_or_else(
        || "no nominal weight".to_owned(),
        |nominal| {
            format!(
                "nominal {} give or take {}",
                show(nominal, system),
                percent(assumed.nominal_doubt)
            )
        },
    );
    working.step(
        "Mean weight of a unit",
        "what was assumed, moved by the units weighed and by how many fitted into each charge",
        format!("{start}; {} weighed; {}", units(weighed), counts_of(pours)),
        between(&learned.unit_weight),
        MODEL,
    );
    working.step(
        "Spread of the units of one pour",
        "standard deviation within a pour; between pours beside it",
        format!(
            "between the means of pours {}",
            show(learned.spread_between.median, system)
        ),
        between(&learned.spread_within),
        "the spreads assumed before are common practice, no source",
    );
    working.step(
        "Share of a melt that is lost",
        "what was assumed, moved by what each pour cannot account for",
        format!(
            "before {} ({} to {})",
            percent(learned.loss_before.median),
            percent(learned.loss_before.low),
            percent(learned.loss_before.high)
        ),
        format!(
            "{} ({} to {})",
            percent(learned.loss.median),
            percent(learned.loss.low),
            percent(learned.loss.high)
        ),
        "the share assumed before is the workshop's own, or common practice, no source",
    );
}

fn counts_of(pours: &[Pour]) -> String {
    let mut told: Vec<String> = pours
        .iter()
        .rev()
        .take(4)
        .map(|pour| format!("{} of {}", pour.filled, pour.cavities))
        .collect();
    told.reverse();
    match (told.is_empty(), pours.len() > told.len()) {
        (true, _) => "no pours".to_owned(),
        (false, false) => format!("filled {}", told.join(", ")),
        (false, true) => format!("filled ..., {}", told.join(", ")),
    }
}

/// Adds the account of one pour by mass, where its units were weighed.
fn balance_step(pour: &Pour, idx: usize, of: usize, system: System, working: &mut Working) {
    let Some(balance) = Balance::of(pour) else {
        return;
    };
    // All terms to the same place, so that they add up on paper too.
    let places = if system == System::Metric { 1 } else { 2 };
    let show = |grams: f64| mass(grams).typed(system.mass_unit(), places);
    working.step(
        format!("Pour {} of {of}: not accounted for", idx + 1),
        "put in − in goods − poured back",
        format!(
            "{} − {} − {}",
            show(balance.put_in),
            show(balance.in_goods),
            show(balance.poured_back)
        ),
        format!(
            "{} ({})",
            show(balance.unaccounted),
            percent(balance.unaccounted_share)
        ),
        if balance.part_unknown {
            "conservation of mass; a part-filled unit nobody weighed is still in it"
        } else if balance.all_weighed {
            "conservation of mass; every unit weighed"
        } else {
            "conservation of mass; the average of the units weighed stands for the rest"
        },
    );
}

fn units(n: u64) -> String {
    if n == 1 {
        "1 unit".to_owned()
    } else {
        format!("{n} units")
    }
}

/// A chance in words: `9 times in 10`, `99 times in 100`.
pub fn times_in(chance: f64) -> String {
    for of in [10_u32, 20, 100, 1_000] {
        let times = chance * f64::from(of);
        if (times - times.round()).abs() < 1e-9 {
            return format!("{} times in {of}", figure(times, 0));
        }
    }
    format!("{} of the time", percent(chance))
}

fn percent(share: f64) -> String {
    // Small losses need their second figure; chances do not.
    let places = if share.abs() < 0.2 {
        1
    } else {
        u32::from((share * 100.0).fract() > 0.05)
    };
    format!("{} %", figure(share * 100.0, places))
}

/// A mass in grams as a mass, for the working. Every figure there comes from
/// masses of at most ten tonnes; one that could not be held would stand as the
/// most that can, never as nothing.
fn mass(grams: f64) -> Mass {
    Mass::from_grams(grams).unwrap_or(Mass::from_micrograms(i64::MAX))
}

fn show(grams: f64, system: System) -> Typed<Mass> {
    in_system(mass(grams), system)
}

/// Rounds to the scale; to sensible digits when the scale shows other units
/// than the workshop thinks in.
fn on_scale(
    weight: Mass,
    question: &Question,
    round: impl Fn(&Readability, Mass) -> Typed<Mass>,
) -> Typed<Mass> {
    if is_metric(question.scale.unit()) == (question.system == System::Metric) {
        round(&question.scale, weight)
    } else {
        in_system(round(&question.scale, weight).value(), question.system)
    }
}

const fn is_metric(unit: MassUnit) -> bool {
    !matches!(unit, MassUnit::Ounce | MassUnit::Pound)
}

/// Answers `fill-advice`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `fill-advice` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let mut check = Checker::default();
    let weight = |text: &str| Typed::<Mass>::parse_with(text, reading);
    let cavities = count(&mut check, "cavities", input.cavities.as_ref(), 1);
    let nominal = check.optional("nominal_unit", input.nominal_unit.as_deref(), weight);
    let chance = check.optional("chance", input.chance.as_deref(), |text| {
        sure_enough(text, reading)
    });
    let own_melt = check.optional("melt", input.melt.as_deref(), |text| {
        some_melt(text, reading)
    });
    let loss = check.optional("expected_loss", input.expected_loss.as_deref(), |text| {
        usual_loss(text, reading)
    });
    let scale = check.optional("readability", input.readability.as_deref(), |text| {
        Readability::try_new(&weight(text)?)
    });
    let want = match &input.want {
        None => cavities,
        want => count(&mut check, "want", want.as_ref(), 1),
    };
    let first = input
        .pours
        .iter()
        .find_map(|pour| weight(pour.poured.as_deref()?).ok());
    let unit = scale
        .as_ref()
        .map(Readability::unit)
        .or_else(|| first.as_ref().or(nominal.as_ref()).map(Typed::unit))
        .unwrap_or(MassUnit::Gram);
    let system = if is_metric(unit) {
        System::Metric
    } else {
        System::Us
    };
    let scale = scale.unwrap_or_else(|| Readability::usual(system.mass_unit()));
    if input.pours.len() > MOST_POURS {
        check.refuse(Problem::new(
            "pours",
            input.pours.len().to_string(),
            "there are more pours than teach anything new",
            format!("give the latest {MOST_POURS} at most"),
        ));
        return Err(check.into_problems());
    }
    let read: Vec<Option<Pour>> = input
        .pours
        .iter()
        .enumerate()
        .map(|(idx, pour)| read_pour(&mut check, pour, idx, cavities, &scale, reading))
        .collect();
    for (idx, pour) in read.iter().enumerate() {
        for fault in pour.iter().flat_map(|pour| pour.faults(idx)) {
            check.refuse(told(&fault, input));
        }
    }
    if nominal.is_none() && input.pours.is_empty() {
        check.refuse(Problem::new(
            "nominal_unit",
            "",
            "there is neither a pour nor a nominal unit weight to go on",
            "give the weight a unit is said to have, or at least one pour",
        ));
    }
    let (true, Some(cavities), Some(want)) = (check.is_clean(), cavities, want) else {
        return Err(check.into_problems());
    };
    let pours: Vec<Pour> = read.into_iter().flatten().collect();
    let mut assumed = Assumptions {
        nominal_unit: nominal.map(|nominal| nominal.value().grams()),
        ..Assumptions::default()
    };
    if let Some(loss) = loss {
        assumed.expected_loss = loss;
    }
    let learned = learn(&pours, &assumed)
        .map_err(|faults| Problems(faults.iter().map(|fault| told(fault, input)).collect()))?;
    let question = Question {
        want,
        chance: chance.map_or(0.9, Ratio::to_f64),
        system,
        scale,
    };
    let Some(answer) = answer(&learned, &pours, &assumed, &question) else {
        return Err(Problem::new(
            "want",
            want.to_string(),
            "so many of these units would take more than ten tonnes",
            "ask for fewer, or put the weight of a unit right",
        )
        .into());
    };
    let most = cavities.max(want);
    let mut output = output(&learned, answer, system, most);
    output.own_melt = own_melt.map(|melt| {
        let grams = melt.value().grams();
        OwnMelt {
            melt: melt.to_string(),
            melt_g: grams,
            enough_percent: learned.chance(grams, want) * 100.0,
            count_chances: count_chances(&learned, grams, most),
        }
    });
    Ok(output)
}

fn count_chances(learned: &Learned, grams: f64, most: u32) -> Vec<CountChance> {
    (0..)
        .zip(learned.units_from(grams, most))
        .map(|(units, chance)| CountChance {
            units,
            chance_percent: chance * 100.0,
        })
        .collect()
}

fn output(learned: &Learned, answer: Answer, system: System, most: u32) -> Output {
    let text = |grams: f64| show(grams, system).to_string();
    let unit = learned.unit_weight;
    Output {
        melt: answer.melt.to_string(),
        melt_g: answer.melt_g,
        melt_low: answer.low.to_string(),
        melt_low_g: answer.range.low,
        melt_high: answer.high.to_string(),
        melt_high_g: answer.range.high,
        unit_weight: text(unit.median),
        unit_weight_g: unit.median,
        unit_weight_low: text(unit.low),
        unit_weight_low_g: unit.low,
        unit_weight_high: text(unit.high),
        unit_weight_high_g: unit.high,
        unit_spread: text(learned.spread_within.median),
        unit_spread_g: learned.spread_within.median,
        loss: text(answer.loss_g),
        loss_g: answer.loss_g,
        loss_share: percent(learned.loss.median),
        loss_share_percent: learned.loss.median * 100.0,
        loss_share_before: percent(learned.loss_before.median),
        loss_share_before_percent: learned.loss_before.median * 100.0,
        count_chances: count_chances(learned, answer.melt.value().grams(), most),
        own_melt: None,
        doubt: answer.doubt,
        working: answer.working,
    }
}

/// Reads how sure the melt is to be enough, from 1 % to 99.5 %.
///
/// # Errors
///
/// [`Unclear`] when it is no percentage, or outside of that.
pub fn sure_enough(text: &str, reading: Reading) -> Result<Ratio, Unclear> {
    let chance = Ratio::parse(text, reading)?;
    if CHANCES.contains(&chance.to_f64()) {
        Ok(chance)
    } else {
        Err(Unclear::new(
            text,
            "nothing is that sure",
            "write a chance from 1 % to 99.5 %",
        ))
    }
}

fn usual_loss(text: &str, reading: Reading) -> Result<f64, Unclear> {
    let loss = Ratio::parse(text, reading)?.to_f64();
    let wrong = if loss <= 0.0 {
        "no melt is poured without any loss"
    } else if loss >= MOST_LOSS {
        "that is half of the melt or more"
    } else {
        return Ok(loss);
    };
    Err(Unclear::new(text, wrong, ACCEPTED_LOSS))
}

fn some_melt(text: &str, reading: Reading) -> Result<Typed<Mass>, Unclear> {
    let melt = Typed::<Mass>::parse_with(text, reading)?;
    if melt.value().is_zero() {
        return Err(Unclear::new(
            text,
            "nothing fills nothing",
            "write a weight above zero, or leave it out",
        ));
    }
    Ok(melt)
}

fn count(check: &mut Checker, field: &str, given: Option<&Number>, least: u32) -> Option<u32> {
    let Some(given) = given else {
        check.refuse(Problem::new(
            field,
            "",
            "a number is missing",
            ACCEPTED_COUNT,
        ));
        return None;
    };
    let whole = given.as_u64().or_else(|| {
        // JSON of other programs writes 12 as 12.0.
        let figure = measure::decimal_from_f64(given.as_f64()?, 9)?;
        figure.is_integer().then(|| u64::try_from(figure).ok())?
    });
    let wrong = match whole.map(u32::try_from) {
        Some(Ok(count)) if (least..=MOST_UNITS).contains(&count) => return Some(count),
        Some(Ok(count)) if count < least => format!("there must be at least {least}"),
        Some(_) => format!("there cannot be more than {MOST_UNITS}"),
        None => "this is not a whole number of units".to_owned(),
    };
    check.refuse(Problem::new(
        field,
        given.to_string(),
        wrong,
        ACCEPTED_COUNT,
    ));
    None
}

fn read_pour(
    check: &mut Checker,
    input: &PourInput,
    idx: usize,
    mould: Option<u32>,
    scale: &Readability,
    reading: Reading,
) -> Option<Pour> {
    let at = |part: &str| format!("pours[{idx}].{part}");
    let weight =
        |text: &str| Typed::<Mass>::parse_with(text, reading).map(|typed| typed.value().grams());
    let poured = check.required(&at("poured"), input.poured.as_deref(), weight);
    let topped_up = check.optional(&at("topped_up"), input.topped_up.as_deref(), weight);
    let left = check.optional(&at("left"), input.left.as_deref(), weight);
    let filled = count(check, &at("filled"), input.filled.as_ref(), 0);
    let cavities = match &input.cavities {
        None => mould,
        own => count(check, &at("cavities"), own.as_ref(), 1),
    };
    let part = check
        .optional(&at("part"), input.part.as_deref(), |text| {
            PartSeen::parse(text, None, reading)
        })
        .map_or(Part::NotSaid, |seen| Part::from(&seen));
    let weighings: Vec<Weighing> = input
        .unit_weights
        .iter()
        .enumerate()
        .filter_map(|(nth, text)| {
            check
                .required(&at(&format!("unit_weights[{nth}]")), Some(text), weight)
                .map(Weighing::one)
        })
        .collect();
    Some(Pour {
        poured: poured?,
        top_ups: topped_up.into_iter().collect(),
        left,
        cavities: cavities?,
        filled: filled?,
        part,
        weighings,
        readability: scale.mass().grams(),
    })
}

/// A fault of the model's input as a problem of this one, under its own names.
fn told(fault: &Fault, input: &Input) -> Problem {
    let own = match fault.field.as_str() {
        field if field.starts_with("top_ups") => "topped_up".to_owned(),
        "weighings" => "unit_weights".to_owned(),
        field => field.replace("weighings[", "unit_weights["),
    };
    let (field, given) = match fault.pour {
        None => (own, String::new()),
        Some(idx) => {
            let given = input.pours.get(idx).and_then(|pour| match own.as_str() {
                "poured" => pour.poured.clone(),
                "left" => pour.left.clone(),
                "part" => pour.part.clone(),
                "filled" => pour.filled.as_ref().map(ToString::to_string),
                _ => None,
            });
            (format!("pours[{idx}].{own}"), given.unwrap_or_default())
        }
    };
    Problem::new(
        field,
        given,
        fault.trouble.to_string(),
        "put right what was weighed or counted",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input(text: &str) -> Input {
        serde_json::from_str(text).unwrap()
    }

    /// Common practice, no source: a first pour of 16.7 oz of wax and 2 oz of
    /// oil filled 11 of 12 cavities; 17.5 oz and 2 oz filled all 12.
    const FIRST: &str =
        r#"{"poured":"18.7 oz","filled":11,"left":"0 oz","unit_weights":["1.5 oz","1.6 oz"]}"#;
    const SECOND: &str = r#"{"poured":"19.5 oz","filled":12,"left":"0 oz"}"#;

    fn advice(pours: &str) -> Output {
        let text = format!(
            r#"{{"cavities":12,"nominal_unit":null,"pours":[{pours}],"want":12,"chance":"90 %","readability":"0.1 oz"}}"#
        );
        calculate(&input(&text)).unwrap()
    }

    #[test]
    fn the_range_after_one_pour_holds_what_the_second_took_and_then_narrows() {
        let ounce = 28.349_523_125;
        let (one, two) = (advice(FIRST), advice(&format!("{FIRST},{SECOND}")));
        assert!(
            one.melt_low_g < 19.5 * ounce && 19.5 * ounce < one.melt_high_g,
            "{one:?}"
        );
        assert!(two.melt_high_g - two.melt_low_g < one.melt_high_g - one.melt_low_g);
        assert!(one.melt_g > one.melt_low_g && one.melt_g < one.melt_high_g);
        assert!(
            (42.5..46.0).contains(&two.unit_weight_g),
            "{}",
            two.unit_weight
        );
        let all: f64 = two
            .count_chances
            .iter()
            .map(|count| count.chance_percent)
            .sum();
        assert!((all - 100.0).abs() < 1e-9);
        assert_eq!(two.count_chances.len(), 13);
        assert!(two.melt.ends_with(" oz"));
        assert!(two.doubt.ends_with("Rests on 2 pours."));
    }

    #[test]
    fn the_melt_is_rounded_up_to_the_scale() {
        let found = advice(FIRST);
        let melt = Typed::<Mass>::parse(&found.melt).unwrap().value().grams();
        assert!(
            melt >= found.melt_g && melt - found.melt_g < 2.835,
            "{melt} {}",
            found.melt_g
        );
    }

    #[test]
    fn every_problem_is_named_at_once() {
        let bad = input(
            r#"{"cavities":12.5,"chance":"120 %","pours":[
                {"poured":"12 parsecs","filled":-1},
                {"poured":"10 oz","filled":3,"unit_weights":["5 oz","6 oz"]}]}"#,
        );
        let problems = calculate(&bad).unwrap_err();
        let fields: Vec<_> = problems
            .iter()
            .map(|problem| problem.field.as_str())
            .collect();
        assert_eq!(
            fields,
            ["cavities", "chance", "pours[0].poured", "pours[0].filled"]
        );
        let heavy = input(
            r#"{"cavities":12,"pours":[{"poured":"10 oz","filled":3,"unit_weights":["5 oz","6 oz"]}]}"#,
        );
        let problems = calculate(&heavy).unwrap_err();
        assert_eq!(
            problems.of("pours[0].unit_weights").unwrap().wrong,
            "the units weigh 28.3 g more than went into them"
        );
    }

    #[test]
    fn a_mould_never_poured_into_needs_a_nominal_weight() {
        let problems = calculate(&input(r#"{"cavities":12}"#)).unwrap_err();
        assert!(problems.of("nominal_unit").is_some());
        let found = calculate(&input(r#"{"cavities":12,"nominal_unit":"1.5 oz"}"#)).unwrap();
        assert!(found.melt_g > 12.0 * 42.5);
        assert!(
            found
                .doubt
                .ends_with("Rests on no pour yet, only on what was assumed.")
        );
    }

    #[track_caller]
    fn refused(text: &str, field: &str, wrong: &str) {
        let problems = calculate(&input(text)).unwrap_err();
        let found: Vec<_> = problems
            .iter()
            .map(|problem| (problem.field.as_str(), problem.wrong.as_str()))
            .collect();
        assert_eq!(found, [(field, wrong)]);
    }

    #[test]
    fn what_no_scale_could_hold_is_refused_and_not_told_as_nothing() {
        refused(
            r#"{"cavities":12,"nominal_unit":"9999 kg","want":10000}"#,
            "want",
            "so many of these units would take more than ten tonnes",
        );
        refused(
            r#"{"cavities":12,"nominal_unit":"1 oz","want":10001}"#,
            "want",
            "there cannot be more than 10000",
        );
    }

    #[test]
    fn a_loss_of_half_the_melt_is_not_expected() {
        for loss in ["50 %", "99.999999 %"] {
            refused(
                &format!(r#"{{"cavities":12,"nominal_unit":"1 oz","expected_loss":"{loss}"}}"#),
                "expected_loss",
                "that is half of the melt or more",
            );
        }
        let most = r#"{"cavities":12,"nominal_unit":"1 oz","expected_loss":"49.9 %"}"#;
        assert!(calculate(&input(most)).is_ok());
    }

    #[test]
    fn a_chance_finer_than_what_was_drawn_is_refused() {
        for chance in ["99.9999 %", "99.6 %", "0.9 %", "0 %"] {
            refused(
                &format!(r#"{{"cavities":12,"nominal_unit":"1 oz","chance":"{chance}"}}"#),
                "chance",
                "nothing is that sure",
            );
        }
        let sure = r#"{"cavities":12,"nominal_unit":"1 oz","chance":"99.5 %"}"#;
        assert!(calculate(&input(sure)).is_ok());
    }

    #[test]
    fn more_pours_than_teach_anything_are_refused_before_they_are_learned_from() {
        let pours = vec![FIRST; MOST_POURS + 1].join(",");
        refused(
            &format!(r#"{{"cavities":12,"pours":[{pours}]}}"#),
            "pours",
            "there are more pours than teach anything new",
        );
    }

    #[test]
    fn a_melt_of_ones_own_says_how_many_it_fills() {
        let asked = |melt: &str| {
            let text = format!(
                r#"{{"cavities":12,"pours":[{FIRST},{SECOND}],"want":12,"melt":"{melt}"}}"#
            );
            calculate(&input(&text)).unwrap()
        };
        let advised = asked("1 g").melt;
        let found = asked(&advised);
        let own = found.own_melt.unwrap();
        assert_eq!(own.melt, advised);
        // The same melt, the same chances.
        assert_eq!(own.count_chances, found.count_chances);
        // What is advised is enough nine times in ten, and a step of the scale.
        assert!(
            (90.0..95.0).contains(&own.enough_percent),
            "{}",
            own.enough_percent
        );
        let all = own.count_chances.last().unwrap();
        assert!((all.chance_percent - own.enough_percent).abs() < 1e-9);
        let little = asked("3 oz").own_melt.unwrap();
        assert!(little.count_chances[1].chance_percent > 90.0);
        refused(
            r#"{"cavities":12,"nominal_unit":"1 oz","melt":"0 oz"}"#,
            "melt",
            "nothing fills nothing",
        );
    }

    #[test]
    fn chances_are_said_as_people_say_them() {
        assert_eq!(times_in(0.9), "9 times in 10");
        assert_eq!(times_in(0.95), "19 times in 20");
        assert_eq!(times_in(0.99), "99 times in 100");
        assert_eq!(times_in(0.123_45), "12.3 % of the time");
    }
}
