//! The calculation `inventory-value`: what stock is worth and what the goods
//! that went out cost.

use jiff::civil::Date;
use measure::{Checker, Cost, Currency, Decimal, Problem, Problems, Reading, Unclear, Working};
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::layers::Method;
use crate::period::{Change, Done, Holding, Movement, Period, period};
use crate::units::{PER_UNIT, in_units, parse_units, units};
use crate::value::Value;

/// The name of the calculation.
pub const INVENTORY_VALUE: &str = "inventory-value";

/// The most a unit may cost, in major units, and the finest, in decimal
/// places: with them every product fits.
const MOST_COST: i64 = 1_000_000_000;
const FINEST_COST: u32 = 14;
/// Movements whose working is written out; the rest go the same way.
const MOST_STEPS: usize = 60;

const ACCEPTED_DAY: &str = "write a day such as 2026-01-31";
const ACCEPTED_COST: &str = "write what one unit cost, with its currency, such as 4.50 USD";
const ARITHMETIC: &str = "arithmetic";

/// What came in and went out of the stock of one item.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `fifo` (first in, first out) or `average` (moving average).
    #[serde(default)]
    pub method: Option<String>,
    /// What happened. It is reckoned in the order of the days, on one day in
    /// the order given.
    #[serde(default)]
    pub movements: Vec<MovementInput>,
    /// The first day of the period; from the beginning when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The last day of the period; to the end when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// What one unit would cost today: `11.20 USD`, shown beside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replacement: Option<String>,
}

/// One movement: `in` with `cost`, or `out`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MovementInput {
    /// The day: `2026-01-31`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// Units that came in: `100`.
    #[serde(default, rename = "in", skip_serializing_if = "Option::is_none")]
    pub units_in: Option<String>,
    /// Units that went out: `60`.
    #[serde(default, rename = "out", skip_serializing_if = "Option::is_none")]
    pub units_out: Option<String>,
    /// What one unit that came in cost: `10.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<String>,
}

/// What the stock is worth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The method of the figures below.
    pub method: Method,
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// Units on hand before the period.
    pub opening_units: String,
    /// What they were worth.
    pub opening_value: String,
    /// What they were worth, in the currency.
    pub opening_value_in_currency: f64,
    /// Units that came in.
    pub received_units: String,
    /// What they cost.
    pub received_value: String,
    /// What they cost, in the currency.
    pub received_value_in_currency: f64,
    /// Units that went out.
    pub units_out: String,
    /// What the units that went out cost.
    pub cost_of_goods: String,
    /// What the units that went out cost, in the currency.
    pub cost_of_goods_in_currency: f64,
    /// Of that, what units taken before they were there cost more, when they
    /// came, than had been assumed; not given where there were none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub settled_difference: Option<String>,
    /// Units on hand after the period; below zero when more went out than was
    /// there.
    pub closing_units: String,
    /// What they are worth.
    pub closing_value: String,
    /// What they are worth, in the currency.
    pub closing_value_in_currency: f64,
    /// What a unit on hand is worth on average; none of nothing.
    pub average_unit_cost: Option<String>,
    /// What a unit on hand is worth on average, in the currency.
    pub average_unit_cost_in_currency: Option<f64>,
    /// What is left of each receipt, oldest first. They add up to what is on
    /// hand unless more went out than was there.
    pub layers: Vec<LayerOutput>,
    /// The movements of the period, each with what it cost.
    pub movements: Vec<MovementOutput>,
    /// Where more went out than was there, to be explained.
    pub discrepancies: Vec<DiscrepancyOutput>,
    /// What the stock would cost today; none without a replacement cost.
    pub replacement: Option<ReplacementOutput>,
    /// The same figures by the other method.
    pub other_method: OtherOutput,
    /// What it comes to, in words.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// What is left of one receipt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LayerOutput {
    /// Which of the movements given brought it, from 1.
    pub movement: u64,
    /// The day it came.
    pub day: String,
    /// Units left of it.
    pub units: String,
    /// What one of them is worth.
    pub unit_cost: String,
    /// What they are worth.
    pub value: String,
    /// What they are worth, in the currency.
    pub value_in_currency: f64,
}

/// What one movement did.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MovementOutput {
    /// Which of the movements given, from 1.
    pub movement: usize,
    /// Its day.
    pub day: String,
    /// `in` or `out`.
    pub way: Way,
    /// Units that came in or went out.
    pub units: String,
    /// What one of them cost, on average.
    pub unit_cost: String,
    /// What they cost.
    pub value: String,
    /// What they cost, in the currency.
    pub value_in_currency: f64,
    /// Units on hand afterwards.
    pub units_after: String,
    /// What they are worth.
    pub value_after: String,
}

/// Whether goods came or went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// They came in.
    In,
    /// They went out.
    Out,
}

/// A movement that took more than was there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DiscrepancyOutput {
    /// Which of the movements given, from 1.
    pub movement: usize,
    /// Its day.
    pub day: String,
    /// Units that were not there.
    pub units_short: String,
    /// What they were taken to cost.
    pub assumed_cost: String,
    /// Whether an earlier receipt said what a unit costs; if not, they were
    /// taken to cost nothing.
    pub cost_known: bool,
    /// The same in words.
    pub words: String,
}

/// The stock at what it would cost today.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReplacementOutput {
    /// What one unit would cost.
    pub unit_cost: String,
    /// What the units on hand would cost.
    pub value: String,
    /// What the units on hand would cost, in the currency.
    pub value_in_currency: f64,
    /// That less what they are worth by the method; below zero when they cost
    /// less today.
    pub difference: String,
}

/// The main figures by the other method.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OtherOutput {
    /// The method.
    pub method: Method,
    /// What the stock was worth before the period.
    pub opening_value: String,
    /// What the units that went out cost.
    pub cost_of_goods: String,
    /// What the units that went out cost, in the currency.
    pub cost_of_goods_in_currency: f64,
    /// What the units on hand are worth.
    pub closing_value: String,
    /// What the units on hand are worth, in the currency.
    pub closing_value_in_currency: f64,
    /// What a unit on hand is worth on average; none of nothing.
    pub average_unit_cost: Option<String>,
    /// Its closing value less that of the method asked for.
    pub closing_difference: String,
}

/// Answers `inventory-value`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `inventory-value` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let read = read(input, reading)?;
    let main = period(read.method, &read.movements, read.from, read.to);
    let other = period(read.method.other(), &read.movements, read.from, read.to);
    answer(&read, &main, &other).map_err(Problems::from)
}

struct Read {
    method: Method,
    currency: Currency,
    movements: Vec<Movement>,
    from: Option<Date>,
    to: Option<Date>,
    replacement: Option<Cost>,
}

/// Reads fields and sees that all money is in one currency.
struct Reader {
    check: Checker,
    reading: Reading,
    currency: Option<(Currency, String)>,
}

impl Reader {
    fn cost(&mut self, field: &str, text: Option<&str>) -> Option<Cost> {
        let reading = self.reading;
        let cost = self
            .check
            .required(field, text, |text| parse_cost(text, reading))?;
        let currency = cost.currency();
        match &self.currency {
            Some((seen, first)) if *seen != currency => {
                self.check.refuse(Problem::new(
                    field,
                    text.unwrap_or_default().trim(),
                    format!(
                        "this is in {}, but {first} is in {}",
                        currency.code(),
                        seen.code()
                    ),
                    format!("write every cost in one currency, such as {}", seen.code()),
                ));
                return None;
            }
            Some(_) => {}
            None => self.currency = Some((currency, field.to_owned())),
        }
        Some(cost)
    }

    fn movement(&mut self, at: &str, key: u64, given: &MovementInput) -> Option<Movement> {
        let day = self
            .check
            .required(&format!("{at}.day"), given.day.as_deref(), parse_day);
        let filled = |text: &Option<String>| {
            let text = text.clone()?;
            (!text.trim().is_empty()).then_some(text)
        };
        let cost_at = format!("{at}.cost");
        let reading = self.reading;
        let change = match (filled(&given.units_in), filled(&given.units_out)) {
            (Some(_), Some(out)) => {
                self.check.refuse(Problem::new(
                    format!("{at}.out"),
                    out,
                    "a movement goes in or out, not both",
                    "write two movements",
                ));
                None
            }
            (None, None) => {
                self.check.refuse(Problem::new(
                    at,
                    "",
                    "nothing comes in or goes out",
                    "give in with a cost, or out",
                ));
                None
            }
            (Some(text), None) => {
                let quantity = self
                    .check
                    .required(&format!("{at}.in"), Some(&text), |text| {
                        parse_units(text, reading)
                    });
                let cost = self.cost(&cost_at, given.cost.as_deref());
                quantity.zip(cost).and_then(|(quantity, cost)| {
                    let value = Value::at(cost, quantity, PER_UNIT);
                    if value.is_none() {
                        self.check.refuse(Problem::new(
                            at,
                            "",
                            "the units and their cost together are too large to reckon with",
                            "check both for a figure with too many digits",
                        ));
                    }
                    Some(Change::In {
                        key,
                        quantity,
                        value: value?,
                    })
                })
            }
            (None, Some(text)) => {
                if let Some(cost) = filled(&given.cost) {
                    self.check.refuse(Problem::new(
                        &cost_at,
                        cost,
                        "what goes out costs what came in, which is what is asked here",
                        "leave the cost of what goes out away",
                    ));
                }
                let quantity = self
                    .check
                    .required(&format!("{at}.out"), Some(&text), |text| {
                        parse_units(text, reading)
                    });
                quantity.map(|quantity| Change::Out { quantity })
            }
        };
        Some(Movement {
            day: day?,
            change: change?,
        })
    }
}

fn parse_cost(text: &str, reading: Reading) -> Result<Cost, Unclear> {
    if text.trim().is_empty() {
        return Err(Unclear::new(text, "the cost is missing", ACCEPTED_COST));
    }
    let cost = Cost::parse(text, None, reading)?;
    if cost.major() > Decimal::from(MOST_COST) {
        return Err(Unclear::new(
            text.trim(),
            format!("one unit cannot cost more than {MOST_COST}"),
            ACCEPTED_COST,
        ));
    }
    if cost.major().normalize().scale() > FINEST_COST {
        return Err(Unclear::new(
            text.trim(),
            format!("the cost has more than {FINEST_COST} decimal places"),
            ACCEPTED_COST,
        ));
    }
    Ok(cost)
}

fn parse_day(text: &str) -> Result<Date, Unclear> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(Unclear::new(text, "the day is missing", ACCEPTED_DAY));
    }
    trimmed
        .parse()
        .map_err(|_| Unclear::new(trimmed, "it is not a day", ACCEPTED_DAY))
}

fn parse_method(text: &str) -> Result<Method, Unclear> {
    const ACCEPTED: &str = "write fifo (first in, first out) or average (moving average)";
    match text.trim().to_lowercase().as_str() {
        "fifo" => Ok(Method::Fifo),
        "average" => Ok(Method::Average),
        "" => Err(Unclear::new(text, "the method is missing", ACCEPTED)),
        _ => Err(Unclear::new(
            text.trim(),
            "it is not a method known here",
            ACCEPTED,
        )),
    }
}

fn read(input: &Input, reading: Reading) -> Result<Read, Problems> {
    let mut reader = Reader {
        check: Checker::default(),
        reading,
        currency: None,
    };
    let method = reader
        .check
        .required("method", input.method.as_deref(), parse_method);
    if input.movements.is_empty() {
        reader.check.refuse(Problem::new(
            "movements",
            "",
            "nothing came in or went out",
            "give at least one movement that comes in, with its cost",
        ));
    }
    let mut movements = Vec::with_capacity(input.movements.len());
    for ((idx, given), key) in input.movements.iter().enumerate().zip(1_u64..) {
        let read = reader.movement(&format!("movements[{idx}]"), key, given);
        movements.extend(read);
    }
    let from = reader
        .check
        .optional("from", input.from.as_deref(), parse_day);
    let to = reader.check.optional("to", input.to.as_deref(), parse_day);
    if let (Some(from), Some(to)) = (from, to)
        && from > to
    {
        reader.check.refuse(Problem::new(
            "to",
            to.to_string(),
            format!("the period would end before it begins, on {from}"),
            "write a last day that is not before the first",
        ));
    }
    let given = input.replacement.as_deref();
    let replacement = given
        .filter(|text| !text.trim().is_empty())
        .and_then(|text| reader.cost("replacement", Some(text)));
    if reader.check.is_clean() && reader.currency.is_none() {
        reader.check.refuse(Problem::new(
            "movements",
            "",
            "nothing that came in says what it cost",
            "give at least one movement that comes in, with its cost",
        ));
    }
    let found = method.zip(reader.currency);
    reader.check.finish()?;
    let (method, (currency, _)) = found.expect("a clean check read both");
    Ok(Read {
        method,
        currency,
        movements,
        from,
        to,
        replacement,
    })
}

/// The sums are larger than 28 digits can show.
struct TooLarge;

impl From<TooLarge> for Problems {
    fn from(_: TooLarge) -> Self {
        Problem::new(
            "movements",
            "",
            "the figures together are too large to reckon with",
            "check units and costs for a figure with too many digits",
        )
        .into()
    }
}

/// Amounts in one currency, as text and as number.
#[derive(Clone, Copy)]
struct Show(Currency);

impl Show {
    fn cost(self, value: Value) -> Result<Cost, TooLarge> {
        value.to_cost(self.0).ok_or(TooLarge)
    }

    fn text(self, value: Value) -> Result<String, TooLarge> {
        Ok(self.cost(value)?.to_string())
    }

    fn number(self, value: Value) -> Result<f64, TooLarge> {
        let cost = self.cost(value)?;
        Ok(cost.major().to_f64().unwrap_or(f64::MAX))
    }

    /// What one unit is worth, in text and number; none of nothing.
    fn each(self, holding: Holding) -> Result<Option<(String, f64)>, TooLarge> {
        if holding.quantity == 0 {
            return Ok(None);
        }
        let major = self
            .cost(holding.value)?
            .major()
            .checked_div(units(holding.quantity))
            .ok_or(TooLarge)?;
        // To a hundredth of the minor unit, as unit costs are written.
        let shown = Cost::new(major, self.0);
        let places = crate::value::minor_places(self.0);
        let finer = major.round_dp(places + 2).normalize();
        let text = if finer.scale() <= places {
            shown.to_string()
        } else {
            format!("{finer} {}", self.0.code())
        };
        Ok(Some((text, major.to_f64().unwrap_or(f64::MAX))))
    }
}

fn answer(read: &Read, main: &Period, other: &Period) -> Result<Output, TooLarge> {
    let show = Show(read.currency);
    let cost_of_goods = main.cost_of_goods();
    let closing_each = show.each(main.closing)?;
    let mut movements = Vec::with_capacity(main.done.len());
    let mut discrepancies = Vec::new();
    for done in &main.done {
        let day = day_of(read, done.movement);
        let each = show.each(done.moved)?;
        movements.push(MovementOutput {
            movement: done.movement + 1,
            day: day.clone(),
            way: if done.taken.is_some() {
                Way::Out
            } else {
                Way::In
            },
            units: units(done.moved.quantity).to_string(),
            unit_cost: each.map(|(text, _)| text).unwrap_or_default(),
            value: show.text(done.moved.value)?,
            value_in_currency: show.number(done.moved.value)?,
            units_after: units(done.after.quantity).to_string(),
            value_after: show.text(done.after.value)?,
        });
        discrepancies.extend(discrepancy(done, &day, show)?);
    }
    let layers = main
        .layers
        .iter()
        .map(|layer| {
            let holding = Holding {
                quantity: layer.quantity,
                value: layer.value,
            };
            let came = usize::try_from(layer.key).unwrap_or(usize::MAX);
            Ok(LayerOutput {
                movement: layer.key,
                day: day_of(read, came.saturating_sub(1)),
                units: units(layer.quantity).to_string(),
                unit_cost: show
                    .each(holding)?
                    .map(|(text, _)| text)
                    .unwrap_or_default(),
                value: show.text(layer.value)?,
                value_in_currency: show.number(layer.value)?,
            })
        })
        .collect::<Result<Vec<_>, TooLarge>>()?;
    let replacement = match read.replacement {
        Some(cost) => {
            let value = Value::at(cost, main.closing.quantity, PER_UNIT).ok_or(TooLarge)?;
            Some(ReplacementOutput {
                unit_cost: cost.to_string(),
                value: show.text(value)?,
                value_in_currency: show.number(value)?,
                difference: show.text(value - main.closing.value)?,
            })
        }
        None => None,
    };
    Ok(Output {
        method: read.method,
        currency: read.currency.code().to_owned(),
        opening_units: units(main.opening.quantity).to_string(),
        opening_value: show.text(main.opening.value)?,
        opening_value_in_currency: show.number(main.opening.value)?,
        received_units: units(main.received.quantity).to_string(),
        received_value: show.text(main.received.value)?,
        received_value_in_currency: show.number(main.received.value)?,
        units_out: units(main.taken.quantity).to_string(),
        cost_of_goods: show.text(cost_of_goods)?,
        cost_of_goods_in_currency: show.number(cost_of_goods)?,
        settled_difference: if main.variance.is_zero() {
            None
        } else {
            Some(show.text(main.variance)?)
        },
        closing_units: units(main.closing.quantity).to_string(),
        closing_value: show.text(main.closing.value)?,
        closing_value_in_currency: show.number(main.closing.value)?,
        average_unit_cost: closing_each.clone().map(|(text, _)| text),
        average_unit_cost_in_currency: closing_each.map(|(_, number)| number),
        layers,
        movements,
        verdict: verdict(read, main, &discrepancies, show)?,
        notes: notes(read, main, &discrepancies),
        discrepancies,
        replacement,
        other_method: OtherOutput {
            method: read.method.other(),
            opening_value: show.text(other.opening.value)?,
            cost_of_goods: show.text(other.cost_of_goods())?,
            cost_of_goods_in_currency: show.number(other.cost_of_goods())?,
            closing_value: show.text(other.closing.value)?,
            closing_value_in_currency: show.number(other.closing.value)?,
            average_unit_cost: show.each(other.closing)?.map(|(text, _)| text),
            closing_difference: show.text(other.closing.value - main.closing.value)?,
        },
        working: working(read, main, show)?,
    })
}

fn day_of(read: &Read, movement: usize) -> String {
    let movement = read.movements.get(movement);
    movement.map(|it| it.day.to_string()).unwrap_or_default()
}

fn discrepancy(done: &Done, day: &str, show: Show) -> Result<Option<DiscrepancyOutput>, TooLarge> {
    let Some(short) = done.taken.as_ref().and_then(|taken| taken.short) else {
        return Ok(None);
    };
    let assumed = show.text(short.value)?;
    let many = in_units(short.quantity);
    let words = if short.cost_known {
        format!(
            "On {day} {many} went out that were not there; they are taken to cost {assumed} until more comes in."
        )
    } else {
        format!(
            "On {day} {many} went out before anything came in; they are taken to cost nothing until something does."
        )
    };
    Ok(Some(DiscrepancyOutput {
        movement: done.movement + 1,
        day: day.to_owned(),
        units_short: units(short.quantity).to_string(),
        assumed_cost: assumed,
        cost_known: short.cost_known,
        words,
    }))
}

fn verdict(
    read: &Read,
    main: &Period,
    discrepancies: &[DiscrepancyOutput],
    show: Show,
) -> Result<String, TooLarge> {
    let mut said = vec![format!(
        "By {}, what went out cost {}; {} on hand are worth {}.",
        read.method.words(),
        show.text(main.cost_of_goods())?,
        in_units(main.closing.quantity),
        show.text(main.closing.value)?
    )];
    if main.closing.quantity < 0 {
        said.push("More went out than ever came in: find out why before you rely on it.".into());
    } else if !discrepancies.is_empty() {
        said.push("At times more went out than was there: find out why.".into());
    }
    Ok(said.join(" "))
}

fn notes(read: &Read, main: &Period, discrepancies: &[DiscrepancyOutput]) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    match main.out_of_order {
        0 => {}
        1 => notes.push(
            "One movement was not in the order of the days; it was put where its day belongs."
                .into(),
        ),
        many => notes.push(format!(
            "{many} movements were not in the order of the days; they were put where their days belong."
        )),
    }
    if let (Some(to), 1..) = (read.to, main.later) {
        let were = if main.later == 1 {
            "1 movement after it is".to_owned()
        } else {
            format!("{} movements after it are", main.later)
        };
        notes.push(format!("The period ends with {to}; {were} left out."));
    }
    if !discrepancies.is_empty() {
        notes.push(
            "A stock below zero is mostly a receipt written down late or a count that is off. Nothing was made up to fill it."
                .into(),
        );
    }
    if read.replacement.is_some() {
        notes.push(
            "The replacement cost is what the stock would cost today. It does not enter the other figures."
                .into(),
        );
    }
    notes
}

fn working(read: &Read, main: &Period, show: Show) -> Result<Working, TooLarge> {
    let mut working = Working::new();
    let source = match read.method {
        Method::Fifo => "first in, first out, kept with every movement",
        Method::Average => "moving average, made anew with every receipt",
    };
    if read.from.is_some() {
        working.step(
            "On hand before the period",
            "what the movements before the first day leave",
            format!("{} units", units(main.opening.quantity)),
            show.text(main.opening.value)?,
            source,
        );
    }
    for done in main.done.iter().take(MOST_STEPS) {
        let day = day_of(read, done.movement);
        match &done.taken {
            None => {
                let each = show.each(done.moved)?;
                working.step(
                    format!("{day}, in"),
                    "units × cost of a unit",
                    format!(
                        "{} × {}",
                        units(done.moved.quantity),
                        each.map(|(text, _)| text).unwrap_or_default()
                    ),
                    format!(
                        "{}; on hand {} worth {}",
                        show.text(done.moved.value)?,
                        units(done.after.quantity),
                        show.text(done.after.value)?
                    ),
                    ARITHMETIC,
                );
            }
            Some(taken) => {
                let mut parts = Vec::new();
                let (formula, pieces) = match read.method {
                    Method::Fifo => {
                        let pieces = taken.parts.iter().map(|part| Holding {
                            quantity: part.quantity,
                            value: part.value,
                        });
                        ("oldest units first, each at its own cost", pieces.collect())
                    }
                    Method::Average => {
                        let short = taken.short.map(|short| (short.quantity, short.value));
                        let (missing, assumed) = short.unwrap_or_default();
                        let there = Holding {
                            quantity: done.moved.quantity - missing,
                            value: taken.value - assumed,
                        };
                        let pieces = if there.quantity == 0 {
                            Vec::new()
                        } else {
                            vec![there]
                        };
                        ("units × value on hand ÷ units on hand", pieces)
                    }
                };
                for piece in pieces {
                    if let Some((each, _)) = show.each(piece)? {
                        parts.push(format!("{} × {each}", units(piece.quantity)));
                    }
                }
                if let Some(short) = taken.short {
                    let text = show.text(short.value)?;
                    parts.push(format!("{} not there, {text}", units(short.quantity)));
                }
                working.step(
                    format!("{day}, out"),
                    formula,
                    parts.join(" + "),
                    format!(
                        "{}; on hand {} worth {}",
                        show.text(taken.value)?,
                        units(done.after.quantity),
                        show.text(done.after.value)?
                    ),
                    source,
                );
            }
        }
    }
    if main.done.len() > MOST_STEPS {
        working.step(
            format!("{} more movements", main.done.len() - MOST_STEPS),
            "as above",
            "",
            "listed under movements",
            source,
        );
    }
    if !main.variance.is_zero() {
        working.step(
            "What was taken before it was there",
            "what it cost when it came − what it was taken to cost",
            "",
            show.text(main.variance)?,
            ARITHMETIC,
        );
    }
    working.step(
        "Cost of goods",
        "opening + received − closing",
        format!(
            "{} + {} − {}",
            show.text(main.opening.value)?,
            show.text(main.received.value)?,
            show.text(main.closing.value)?
        ),
        show.text(main.cost_of_goods())?,
        ARITHMETIC,
    );
    Ok(working)
}
