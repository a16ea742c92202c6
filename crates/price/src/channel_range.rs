//! What the price needed hangs on: each doubtful input from its low to its
//! high, the others as given.

use std::collections::BTreeMap;

use measure::{Cost, Decimal, Problem, Problems, Quantity, Ratio, TimeSpan, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, sub};
use crate::channel::Target;
use crate::channel_ending::Ending;
use crate::channel_price::{Case, Wanted, fine_price};
use crate::reader::{Reader, filled};
use crate::shown::fine;

/// The low and the high end of an input.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EndsInput {
    /// The lowest it may be, typed as the field itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// The highest it may be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
}

/// What the answer hangs on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RangeOutput {
    /// What is followed: `price`, the one the target needs, or `profit` of a
    /// unit where a price was given.
    pub of: String,
    /// The least it comes to, every input at the end that makes it less.
    pub low: String,
    /// The same, in the currency.
    pub low_in_currency: f64,
    /// The most it comes to.
    pub high: String,
    /// The same, in the currency.
    pub high_in_currency: f64,
    /// The tidy prices of the two; none for a profit.
    pub tidy_low: Option<String>,
    /// See `tidy_low`.
    pub tidy_high: Option<String>,
    /// The inputs, the one that moves it most first.
    pub inputs: Vec<MovedOutput>,
    /// What it comes to, in a sentence.
    pub sentence: String,
}

/// How far one input moves the answer, the others as given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MovedOutput {
    /// The field.
    pub input: String,
    /// Its low end, as typed.
    pub low: String,
    /// Its high end, as typed.
    pub high: String,
    /// What the answer is at the low end.
    pub at_low: String,
    /// The same, in the currency.
    pub at_low_in_currency: f64,
    /// What the answer is at the high end.
    pub at_high: String,
    /// The same, in the currency.
    pub at_high_in_currency: f64,
    /// How far apart the two are.
    pub moves: String,
    /// The same, in the currency.
    pub moves_in_currency: f64,
}

const INPUTS: &str = "write one of unit_cost, percent_fee, fixed_fee, payment_percent, \
    payment_fixed, postage_paid, postage_charged, discount, share, tax_rate, the field of the \
    target, hours, minutes_per_unit, units_a_day, fixed_costs";

/// What an input is.
#[derive(Debug, Clone, Copy)]
enum Value {
    Money(Cost),
    Share(Ratio),
    Time(TimeSpan),
    Units(u32),
}

impl Value {
    fn figure(self) -> Decimal {
        match self {
            Self::Money(cost) => cost.major(),
            Self::Share(ratio) => ratio.decimal(),
            Self::Time(time) => Decimal::from(time.smallest()),
            Self::Units(units) => Decimal::from(units),
        }
    }

    fn read(name: &str, field: &str, text: Option<&str>, reader: &mut Reader) -> Option<Self> {
        let Some(text) = filled(text) else {
            reader.check.refuse(Problem::new(
                field,
                "",
                "one end is missing",
                "write the lowest and the highest it may be",
            ));
            return None;
        };
        match name {
            "percent_fee" | "payment_percent" | "discount" | "share" | "margin" => {
                reader.ratio_up_to(field, Some(text), 100).map(Self::Share)
            }
            "tax_rate" | "markup" => reader
                .ratio_up_to(field, Some(text), 10_000)
                .map(Self::Share),
            "hours" | "minutes_per_unit" => reader
                .time(field, Some(text))
                .map(|time| Self::Time(time.value())),
            "units_a_day" => {
                // A text that is no number is refused as the count it is not.
                let number = serde_json::from_str::<Number>(text.trim());
                let Ok(number) = number else {
                    reader.check.refuse(Problem::new(
                        field,
                        text.trim(),
                        "this is not a whole number of units",
                        "write a whole number such as 24",
                    ));
                    return None;
                };
                reader.count(field, Some(&number), 1).map(Self::Units)
            }
            _ => reader.cost(field, Some(text)).map(Self::Money),
        }
    }
}

/// An input with its two ends.
#[derive(Debug, Clone)]
pub(crate) struct Ends {
    name: String,
    typed: [String; 2],
    low: Value,
    high: Value,
}

impl Ends {
    /// Reads every input of the range; `target` is the field of the target.
    pub(crate) fn read_all(
        given: &BTreeMap<String, EndsInput>,
        target: Option<&str>,
        reader: &mut Reader,
    ) -> Vec<Self> {
        let mut all = Vec::new();
        for (name, ends) in given {
            let at = format!("range.{name}");
            let wrong = match name.as_str() {
                "margin" | "markup" | "profit" | "per_hour" if target != Some(name) => {
                    Some("the target is not this")
                }
                "margin" | "markup" | "profit" | "per_hour" | "unit_cost" | "percent_fee"
                | "fixed_fee" | "payment_percent" | "payment_fixed" | "postage_paid"
                | "postage_charged" | "discount" | "share" | "tax_rate" | "hours"
                | "minutes_per_unit" | "units_a_day" | "fixed_costs" => None,
                _ => Some("there is no such input"),
            };
            if let Some(wrong) = wrong {
                reader.check.refuse(Problem::new(at, "", wrong, INPUTS));
                continue;
            }
            let low = Value::read(name, &format!("{at}.low"), ends.low.as_deref(), reader);
            let high = Value::read(name, &format!("{at}.high"), ends.high.as_deref(), reader);
            let (Some(low), Some(high)) = (low, high) else {
                continue;
            };
            if low.figure() > high.figure() {
                reader.check.refuse(Problem::new(
                    format!("{at}.low"),
                    ends.low.clone().unwrap_or_default(),
                    "the low end is above the high one",
                    "write the lowest it may be here and the highest in high",
                ));
                continue;
            }
            let typed = [&ends.low, &ends.high]
                .map(|text| text.as_deref().unwrap_or_default().trim().to_owned());
            all.push(Self {
                name: name.clone(),
                typed,
                low,
                high,
            });
        }
        all
    }

    /// The case with this input at one of its ends; none when the case has no
    /// such input.
    fn put(&self, case: &Case, value: Value) -> Option<Case> {
        let mut case = *case;
        match (self.name.as_str(), value) {
            ("unit_cost", Value::Money(cost)) => case.unit_cost = cost,
            ("percent_fee", Value::Share(ratio)) => case.terms.percent_fee = ratio,
            ("fixed_fee", Value::Money(cost)) => case.terms.fixed_fee = cost,
            ("payment_percent", Value::Share(ratio)) => case.terms.payment_percent = ratio,
            ("payment_fixed", Value::Money(cost)) => case.terms.payment_fixed = cost,
            ("postage_paid", Value::Money(cost)) => case.terms.postage_paid = cost,
            ("postage_charged", Value::Money(cost)) => case.terms.postage_charged = cost,
            ("discount", Value::Share(ratio)) => case.terms.discount = ratio,
            ("share", Value::Share(ratio)) => case.terms.share = ratio,
            ("tax_rate", Value::Share(ratio)) => case.terms.tax.as_mut()?.rate = ratio,
            ("margin", Value::Share(ratio)) => {
                case.wanted = Wanted::Unit(Target::Margin(ratio));
            }
            ("markup", Value::Share(ratio)) => {
                case.wanted = Wanted::Unit(Target::Markup(ratio));
            }
            ("profit", Value::Money(cost)) => case.wanted = Wanted::Unit(Target::Profit(cost)),
            ("per_hour", Value::Money(cost)) => case.wanted = Wanted::Hourly(cost),
            ("hours", Value::Time(time)) => case.day.hours = time,
            ("minutes_per_unit", Value::Time(time)) => case.day.making = time,
            ("units_a_day", Value::Units(units)) => case.day.units = Some(units),
            ("fixed_costs", Value::Money(cost)) => {
                case.day.costs = case.channel_day.plus(cost).ok()?;
            }
            _ => return None,
        }
        Some(case)
    }
}

/// What is followed: the price needed, or the profit of the price given.
fn answer(case: &Case, at: &str) -> Result<Cost, Problems> {
    match case.wanted {
        Wanted::Judge(price) => Ok(case.terms.judge(price, case.unit_cost)?.profit),
        _ => case.price().map_err(|why| why.problem(at).into()),
    }
}

struct Moved<'a> {
    ends: &'a Ends,
    at_low: Cost,
    at_high: Cost,
    moves: Decimal,
}

impl RangeOutput {
    /// Moves each input from end to end, then all together.
    pub(crate) fn find(
        case: &Case,
        ends: &[Ends],
        ending: Ending,
        working: &mut Working,
    ) -> Result<Self, Problems> {
        let judged = matches!(case.wanted, Wanted::Judge(_));
        let mut moved = Vec::with_capacity(ends.len());
        let mut least = *case;
        let mut most = *case;
        for each in ends {
            let at = format!("range.{}", each.name);
            let absent = || {
                Problems::from(Problem::new(
                    at.clone(),
                    "",
                    "there is no such input here",
                    "give the field itself too, such as tax",
                ))
            };
            let low_case = each.put(case, each.low).ok_or_else(absent)?;
            let high_case = each.put(case, each.high).ok_or_else(absent)?;
            let at_low = answer(&low_case, &format!("{at}.low"))?;
            let at_high = answer(&high_case, &format!("{at}.high"))?;
            let (lesser, greater) = if at_low.major() <= at_high.major() {
                (each.low, each.high)
            } else {
                (each.high, each.low)
            };
            least = each.put(&least, lesser).ok_or_else(absent)?;
            most = each.put(&most, greater).ok_or_else(absent)?;
            let moves = sub(at_high.major(), at_low.major())?.abs();
            moved.push(Moved {
                ends: each,
                at_low,
                at_high,
                moves,
            });
        }
        moved.sort_by_key(|moved| std::cmp::Reverse(moved.moves));
        let low = answer(&least, "range")?;
        let high = answer(&most, "range")?;
        let what = if judged { "profit" } else { "price" };
        for each in &moved {
            let Moved { ends, .. } = each;
            working.step(
                format!("What {} does to the {what}", said(&ends.name)),
                "the answer at its low and at its high end, the others as given",
                format!("{} and {}", ends.typed[0], ends.typed[1]),
                format!("{} and {}", fine(each.at_low), fine(each.at_high)),
                "one input at a time",
            );
        }
        working.step(
            format!("Range of the {what}"),
            "every input at the end that makes it less, and at the one that makes it more",
            format!("{} inputs", moved.len()),
            format!("{} and {}", fine(low), fine(high)),
            "the ends together are less likely than each alone",
        );
        let tidy = |price: Cost| -> Result<Option<Cost>, TooLarge> {
            if judged {
                Ok(None)
            } else {
                ending.up(price).map(Some)
            }
        };
        let (tidy_low, tidy_high) = (tidy(low)?, tidy(high)?);
        let (from, to) = (tidy_low.unwrap_or(low), tidy_high.unwrap_or(high));
        let most = moved.first().map_or_else(String::new, |first| {
            format!(", mostly on {}", said(&first.ends.name))
        });
        let sentence = if judged {
            format!("The profit hangs between {from} and {to}{most}.")
        } else {
            format!("The price needed hangs between {from} and {to}{most}.")
        };
        let shown = |cost: Cost| {
            if judged {
                cost.to_string()
            } else {
                fine_price(cost)
            }
        };
        let currency = case.unit_cost.currency();
        Ok(Self {
            of: what.to_owned(),
            low: shown(low),
            low_in_currency: low.to_f64(),
            high: shown(high),
            high_in_currency: high.to_f64(),
            tidy_low: tidy_low.map(|price| price.to_string()),
            tidy_high: tidy_high.map(|price| price.to_string()),
            inputs: moved
                .iter()
                .map(|moved| {
                    let moves = Cost::new(moved.moves, currency);
                    let [low, high] = moved.ends.typed.clone();
                    MovedOutput {
                        input: moved.ends.name.clone(),
                        low,
                        high,
                        at_low: shown(moved.at_low),
                        at_low_in_currency: moved.at_low.to_f64(),
                        at_high: shown(moved.at_high),
                        at_high_in_currency: moved.at_high.to_f64(),
                        moves: moves.to_string(),
                        moves_in_currency: moves.to_f64(),
                    }
                })
                .collect(),
            sentence,
        })
    }
}

/// The name of a field as it is said.
fn said(name: &str) -> String {
    match name {
        "percent_fee" => "the channel's fee".to_owned(),
        "tax_rate" => "the tax".to_owned(),
        "minutes_per_unit" => "the minutes a unit takes".to_owned(),
        "per_hour" => "what an hour is to earn".to_owned(),
        "units_a_day" => "the units sold a day".to_owned(),
        name => format!("the {}", name.replace('_', " ")),
    }
}
