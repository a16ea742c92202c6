//! The calculation `demand-at-price`: how much sells at which price, and which
//! price earns most.

mod answer;
mod read;
mod words;

use measure::{Problem, Problems, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use self::answer::Asked;
use self::read::read;
use crate::learn::{Priors, Range, learn};

/// The name of the calculation.
pub const DEMAND_AT_PRICE: &str = "demand-at-price";

/// Sales on days at different prices.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DemandAtPriceInput {
    /// The currency of amounts written without a code: `USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// The product asked about; may be left out when the sales are of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// What was sold, a line for each product and day. Days at other prices
    /// teach how price matters; other products help where their days or their
    /// buyers are the same.
    #[serde(default)]
    pub sales: Vec<SaleInput>,
    /// What a unit costs to make: `0.74 USD`. Left out, it costs nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<String>,
    /// The share of the price that card payment takes: `1.75 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<String>,
    /// Prices asked about: `["2.75 USD", "3.25 USD"]`.
    #[serde(default)]
    pub prices: Vec<String>,
    /// The price charged now; that of the last day when it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<String>,
    /// Which prices are tidy: `0.25` for multiples of a quarter, `0.99` for
    /// prices that end so, `1` for whole ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ending: Option<String>,
    /// How long or how well visited the day asked about is: `6.5 h`, `240`. A
    /// typical one when it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<String>,
    /// The chance from which something is proven, `60 %` to `99 %`; `90 %`
    /// unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance: Option<String>,
    /// Days of a price test at each of its two prices; 3 unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub test_days: Option<Number>,
}

/// One product on one day.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SaleInput {
    /// The day: a date or a name of its own. Lines of one day share its luck;
    /// without it a line is a day of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// The product.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// What a unit cost the buyer: `3.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// Units sold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub sold: Option<Number>,
    /// How long the day was or how many came by: `6.5 h`, `240`. On all lines
    /// or on none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<String>,
    /// Whether it sold out, so that more might have been sold.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sold_out: bool,
}

/// Whether a change of price pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Verdict {
    /// Another price earns more than the one charged now, with the chance
    /// asked for.
    #[serde(rename = "yes")]
    Yes,
    /// The price charged now earns within a twentieth of the best, with the
    /// chance asked for.
    #[serde(rename = "no")]
    No,
    /// The sales do not tell.
    #[serde(rename = "not proven")]
    NotProven,
}

/// How much sells at which price.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DemandAtPriceOutput {
    /// The product; empty when the sales name none.
    pub product: String,
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// Whether a change of price pays.
    pub verdict: Verdict,
    /// Whether the sales say anything about prices at all.
    pub enough: bool,
    /// The answer in sentences.
    pub sentence: String,
    /// The price charged now.
    pub now: String,
    /// The best of the tidy and the asked prices: the one charged now, unless
    /// another is expected to leave 2 % more. None when the sales say nothing.
    pub best: Option<AtPrice>,
    /// The prices between which a day earns within 2 % of the most.
    pub within_2_percent: Option<BetweenPrices>,
    /// The prices between which a day earns within 5 % of the most.
    pub within_5_percent: Option<BetweenPrices>,
    /// Every price asked about and the one charged now, the lowest first.
    pub prices: Vec<AtPrice>,
    /// The tidy and asked prices that were compared, the lowest first, each
    /// with the chance that it is the best of them.
    pub contest: Vec<Contender>,
    /// What a day leaves from the lowest to the highest price tried, to be
    /// drawn; empty when the sales say nothing.
    pub curve: Vec<CurvePoint>,
    /// Whether the sales tell the asked prices apart, two by two.
    pub apart: Vec<Apart>,
    /// Price tests that would tell, the quickest first.
    pub tests: Vec<TestOutput>,
    /// The figures of the model.
    pub model: ModelOutput,
    /// The plain line through the sales, to be checked by hand; none with one
    /// price.
    pub line: Option<LineOutput>,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// What one price brings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AtPrice {
    /// The price.
    pub price: String,
    /// The price, in the currency.
    pub price_in_currency: f64,
    /// Expected sales of a day.
    pub sold: f64,
    /// One day in twenty sells less.
    pub sold_low: f64,
    /// One day in twenty sells more.
    pub sold_high: f64,
    /// The average of many days lies above this nineteen times in twenty.
    pub average_low: f64,
    /// The average of many days lies below this nineteen times in twenty.
    pub average_high: f64,
    /// What a day leaves after card fees and unit costs.
    pub contribution: String,
    /// What a day leaves, in the currency.
    pub contribution_in_currency: f64,
    /// The average of many days leaves more than this nineteen times in twenty.
    pub contribution_low: String,
    /// The average of many days leaves less than this nineteen times in twenty.
    pub contribution_high: String,
    /// The chance that it is the best of the contest; none when it is too far
    /// from any price tried to take part, or when the sales say nothing.
    pub chance_best: Option<f64>,
    /// The chance that it earns more than the price charged now.
    pub chance_beats_now: Option<f64>,
    /// Days it was charged on.
    pub days: u32,
}

/// One price of the contest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Contender {
    /// The price.
    pub price: String,
    /// The chance that it earns most.
    pub chance_best: f64,
    /// What a day is expected to leave, in the currency.
    pub contribution_in_currency: f64,
    /// The average of many days leaves more than this nineteen times in twenty.
    pub contribution_low_in_currency: f64,
    /// The average of many days leaves less than this nineteen times in twenty.
    pub contribution_high_in_currency: f64,
    /// The price, in the currency.
    pub price_in_currency: f64,
    /// Expected sales of a day.
    pub sold: f64,
    /// The average of many days lies above this nineteen times in twenty.
    pub sold_low: f64,
    /// The average of many days lies below this nineteen times in twenty.
    pub sold_high: f64,
    /// Days it was charged on.
    pub days: u32,
}

/// What a day leaves at one price of the curve, in the currency.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CurvePoint {
    /// The price.
    pub price: f64,
    /// What a day is expected to leave.
    pub contribution: f64,
    /// The average of many days leaves more than this nineteen times in twenty.
    pub low: f64,
    /// The average of many days leaves less than this nineteen times in twenty.
    pub high: f64,
}

/// Two prices between which something holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BetweenPrices {
    /// The lower price.
    pub low: String,
    /// The higher price.
    pub high: String,
    /// Whether it may hold beyond, where no price was tried.
    pub may_go_on: bool,
}

/// Two prices held against each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Apart {
    /// The lower price.
    pub low: String,
    /// The higher price.
    pub high: String,
    /// The chance that the higher one earns more.
    pub chance_high_earns_more: f64,
    /// Whether the sales tell which earns more, with the chance asked for.
    pub told: bool,
}

/// A price test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TestOutput {
    /// The price to test.
    pub price: String,
    /// The price it takes turns with.
    pub against: String,
    /// The two prices it is to tell apart.
    pub tells: [String; 2],
    /// Days at each.
    pub days: u32,
    /// The chance that so many days tell.
    pub chance_told: f64,
    /// Days at each after which it tells eight times in ten; none when a
    /// hundred thousand do not.
    pub days_needed: Option<u32>,
    /// What a day of the test is expected to cost against the best price, in
    /// the currency; nothing where the sales say nothing.
    pub costs_a_day_in_currency: f64,
    /// The test in words.
    pub sentence: String,
}

/// A figure with the ends between which it lies nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Estimate {
    /// Half the time it is less.
    pub middle: f64,
    /// One time in twenty it is less.
    pub low: f64,
    /// One time in twenty it is more.
    pub high: f64,
}

impl From<Range> for Estimate {
    fn from(range: Range) -> Self {
        Self {
            middle: range.middle,
            low: range.low,
            high: range.high,
        }
    }
}

/// The figures of the model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ModelOutput {
    /// Percent that sales change by when the price rises by one percent.
    pub elasticity: Estimate,
    /// Spread of whole days, in logarithms: 0.2 is about a fifth.
    pub day_spread: Estimate,
    /// φ of the variance m + φ m² of counts within like days.
    pub dispersion: Estimate,
    /// Standard deviation of a day's sales at the price charged now.
    pub day_sd: f64,
    /// The part of the doubt in the elasticity that the sales took away, or how
    /// far they moved it, squared and in its own doubt; from none to one.
    pub evidence: f64,
    /// Days the product was sold on.
    pub days: u32,
    /// Products the estimate leans on, itself among them.
    pub products: u32,
    /// What the product's own days say without any prior; none when they say
    /// nothing alone.
    pub alone: Option<Alone>,
    /// How many independent draws the answer is worth.
    pub effective_draws: f64,
    /// Where the random draws started.
    pub seed: u64,
}

/// A negative binomial regression on the product's own days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Alone {
    /// The elasticity.
    pub elasticity: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// φ; nothing for a Poisson.
    pub dispersion: f64,
}

/// The plain line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LineOutput {
    /// `sold = 183.5 − 35 × price`.
    pub formula: String,
    /// What the line says at a price of nothing.
    pub intercept: f64,
    /// Units for each unit of the currency.
    pub slope: f64,
    /// The slope lies above this nineteen times in twenty.
    pub slope_low: Option<f64>,
    /// The slope lies below this nineteen times in twenty.
    pub slope_high: Option<f64>,
    /// Standard deviation of days at one price.
    pub day_sd: Option<f64>,
    /// The averages at each price.
    pub averages: Vec<AverageOutput>,
    /// The price at which the line earns most; none when it does not fall.
    pub best: Option<String>,
    /// What a day then leaves.
    pub contribution: Option<String>,
    /// What a day then leaves, in the currency.
    pub contribution_in_currency: Option<f64>,
    /// The prices between which a day leaves within 2 % of that.
    pub within_2_percent: Option<BetweenPrices>,
    /// The prices between which a day leaves within 5 % of that.
    pub within_5_percent: Option<BetweenPrices>,
}

/// The average at one price.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AverageOutput {
    /// The price.
    pub price: String,
    /// Days at it that did not sell out.
    pub days: u32,
    /// What they sold on average, of a day like the one asked about.
    pub sold: f64,
}

/// Finds how much sells at which price.
///
/// # Errors
///
/// Every problem of the input together.
pub fn demand_at_price(input: &DemandAtPriceInput) -> Result<DemandAtPriceOutput, Problems> {
    let read = read(input)?;
    let learned = learn(&read.sales, &Priors::default()).map_err(|error| {
        Problem::new(
            "sales",
            "",
            error.to_string(),
            "give days with a price and what was sold",
        )
    })?;
    // The reader saw to it that the product is among the sales.
    Asked::new(&read, &learned)
        .and_then(|asked| asked.answer())
        .ok_or_else(|| {
            Problem::new(
                "sales",
                "",
                "the figures are too far apart to be computed with",
                "check the prices and counts for slips of the pen",
            )
            .into()
        })
}
