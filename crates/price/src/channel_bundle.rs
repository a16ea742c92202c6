//! Several sold together: what a bundle leaves, and what it does to the
//! average price.

use measure::{Cost, Decimal, Problem, Problems, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, add, mul, percent_of, scaled, sub};
use crate::channel::{Kept, Target};
use crate::channel_price::{Case, of_net};
use crate::reader::Reader;
use crate::shown::{fine, float, percent};

/// Shares of buyers the average is shown at, in percent.
const SHARES: [u32; 5] = [10, 25, 50, 75, 100];

/// Several sold together, as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BundleInput {
    /// How many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub count: Option<Number>,
    /// For what together: `10 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// An average price of a unit, to find how many buyers take the bundle:
    /// `2.68 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub average: Option<String>,
}

/// What a bundle does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BundleOutput {
    /// Units in it.
    pub count: u32,
    /// The price of the bundle.
    pub price: String,
    /// What a unit of it comes to.
    pub each: String,
    /// What a unit of it comes to, in the currency.
    pub each_in_currency: f64,
    /// What the bundle leaves.
    pub profit: String,
    /// What the bundle leaves, in the currency.
    pub profit_in_currency: f64,
    /// What a unit of it leaves.
    pub profit_each: String,
    /// Profit as a share of the net price; none of nothing.
    pub margin: Option<String>,
    /// The same in percent.
    pub margin_percent: Option<f64>,
    /// The same of a unit sold alone.
    pub margin_alone_percent: Option<f64>,
    /// What the average unit brings when so many buyers take the bundle and
    /// the others one unit.
    pub averages: Vec<AverageOutput>,
    /// The share of buyers up to which the target still holds on average;
    /// none without a target. 100 % when it holds throughout.
    pub holds_up_to: Option<String>,
    /// The same in percent.
    pub holds_up_to_percent: Option<f64>,
    /// The share of buyers at which the price averages what was asked about;
    /// none when it never does.
    pub average_at: Option<String>,
    /// The same in percent.
    pub average_at_percent: Option<f64>,
    /// What it comes to, in a sentence.
    pub sentence: String,
}

/// The average unit when a share of the buyers take the bundle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AverageOutput {
    /// Buyers who take the bundle, in percent.
    pub buyers_percent: u32,
    /// Units sold in bundles, in percent.
    pub units_percent: f64,
    /// What a unit sells for on average.
    pub price: String,
    /// The same, in the currency.
    pub price_in_currency: f64,
    /// What a unit leaves on average.
    pub profit: String,
    /// The same, in the currency.
    pub profit_in_currency: f64,
    /// Profit as a share of the net price, in percent; none of nothing.
    pub margin_percent: Option<f64>,
}

/// A bundle that was read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bundle {
    count: u32,
    price: Cost,
    average: Option<Cost>,
}

impl BundleInput {
    pub(crate) fn read(&self, reader: &mut Reader) -> Option<Bundle> {
        let count = reader.count("bundle.count", self.count.as_ref(), 2);
        let price = reader.cost("bundle.price", self.price.as_deref());
        let average = reader.optional_cost("bundle.average", self.average.as_deref());
        Some(Bundle {
            count: count?,
            price: price?,
            average,
        })
    }
}

/// A unit alone beside the whole bundle, of one figure.
#[derive(Clone, Copy)]
struct Pair {
    alone: Decimal,
    bundle: Decimal,
}

impl Pair {
    /// The figure of the average unit, `part` of the buyers taking the bundle.
    fn average(self, part: Decimal, count: Decimal) -> Result<Decimal, TooLarge> {
        let single = sub(Decimal::ONE, part)?;
        let sum = add(mul(single, self.alone)?, mul(part, self.bundle)?)?;
        let units = add(single, mul(part, count)?)?;
        scaled(sum, Decimal::ONE, units)
    }

    /// The part of buyers at which what is over for a unit alone makes up for
    /// what is short for a bundle; none when nothing is over.
    fn evens_out(over: Decimal, short: Decimal) -> Result<Option<Decimal>, TooLarge> {
        if over < Decimal::ZERO {
            return Ok(None);
        }
        if short <= Decimal::ZERO {
            return Ok(Some(Decimal::ONE));
        }
        scaled(over, Decimal::ONE, add(over, short)?).map(Some)
    }
}

impl Bundle {
    /// Sets the bundle beside one unit alone.
    pub(crate) fn judge(
        &self,
        case: &Case,
        alone: &Kept,
        target: Option<Target>,
        working: &mut Working,
    ) -> Result<BundleOutput, Problems> {
        let Self { count, price, .. } = *self;
        let currency = alone.price.currency();
        if price.currency() != currency {
            return Err(Problem::new("bundle.price", "", "this is in another currency", "").into());
        }
        let n = Decimal::from(count);
        let cost = |major: Decimal| Cost::new(major, currency);
        let each = price.over(n).ok_or(TooLarge)?;
        let unit = case
            .terms
            .for_orders_of(count)
            .judge(each, case.unit_cost)?;
        let whole = |of_unit: Cost| mul(of_unit.major(), n);
        let profit = cost(whole(unit.profit)?);
        let prices = Pair {
            alone: alone.price.major(),
            bundle: price.major(),
        };
        let profits = Pair {
            alone: alone.profit.major(),
            bundle: profit.major(),
        };
        let nets = Pair {
            alone: alone.net.major(),
            bundle: whole(unit.net)?,
        };
        working.step(
            "Profit of a bundle",
            "units × (kept of a unit - unit cost)",
            format!("{count} × ({} - {})", fine(unit.kept), fine(unit.unit_cost)),
            profit.to_string(),
            "one payment and one postage for the bundle",
        );
        let averages = SHARES
            .into_iter()
            .map(|share| -> Result<AverageOutput, TooLarge> {
                let part = Decimal::from(share) / Decimal::ONE_HUNDRED;
                let price = cost(prices.average(part, n)?);
                let profit = cost(profits.average(part, n)?);
                let net = cost(nets.average(part, n)?);
                let units = Pair {
                    alone: Decimal::ZERO,
                    bundle: n,
                };
                Ok(AverageOutput {
                    buyers_percent: share,
                    units_percent: float(units.average(part, n)? * Decimal::ONE_HUNDRED),
                    price: price.to_string(),
                    price_in_currency: price.to_f64(),
                    profit: profit.to_string(),
                    profit_in_currency: profit.to_f64(),
                    margin_percent: percent_of(profit, net)?.map(float),
                })
            })
            .collect::<Result<Vec<_>, _>>()?;
        working.step(
            "Average price when half the buyers take the bundle",
            "(price + price of the bundle) ÷ (1 + units in it)",
            format!("({} + {price}) ÷ (1 + {count})", alone.price),
            cost(prices.average(Decimal::new(5, 1), n)?).to_string(),
            "the others buy one unit each",
        );
        let holds = match target {
            Some(target) => {
                let Gap { over, short } = gap(target, profits, nets, case.unit_cost, n)?;
                let holds = Pair::evens_out(over, short)?;
                if let Some(part) = holds {
                    let (over, short) = (cost(over), cost(short.max(Decimal::ZERO)));
                    working.step(
                        "Buyers who may take the bundle while the target holds on average",
                        "what one alone leaves above the target ÷ (that + what a bundle falls short)",
                        format!("{} ÷ ({} + {})", fine(over), fine(over), fine(short)),
                        as_percent(part),
                        "the average of the two set to the target and solved for the share",
                    );
                }
                holds
            }
            None => None,
        };
        let average_at = match self.average {
            Some(average) => {
                let over = sub(prices.alone, average.major())?;
                let short = sub(mul(average.major(), n)?, prices.bundle)?;
                if short.is_sign_negative() && !short.is_zero() {
                    None
                } else {
                    Pair::evens_out(over, short)?
                }
            }
            None => None,
        };
        if let (Some(part), Some(average)) = (average_at, self.average) {
            working.step(
                format!("Buyers who take the bundle when the price averages {average}"),
                "(price - average) ÷ ((price - average) + (units × average - price of the bundle))",
                format!(
                    "({} - {average}) ÷ (({} - {average}) + ({count} × {average} - {price}))",
                    alone.price, alone.price
                ),
                as_percent(part),
                "the average of the two set to the figure and solved for the share",
            );
        }
        let sentence = sentence(self, &unit, profit, alone, holds);
        Ok(BundleOutput {
            count,
            price: price.to_string(),
            each: each.to_string(),
            each_in_currency: each.to_f64(),
            profit: profit.to_string(),
            profit_in_currency: profit.to_f64(),
            profit_each: unit.profit.to_string(),
            margin: unit.margin.map(|margin| of_net(margin, &unit)),
            margin_percent: unit.margin.map(float),
            margin_alone_percent: alone.margin.map(float),
            averages,
            holds_up_to: holds.map(as_percent),
            holds_up_to_percent: holds.map(|part| float(part * Decimal::ONE_HUNDRED)),
            average_at: average_at.map(as_percent),
            average_at_percent: average_at.map(|part| float(part * Decimal::ONE_HUNDRED)),
            sentence,
        })
    }
}

/// A part of at most the whole, in percent.
fn as_percent(part: Decimal) -> String {
    percent(part.saturating_mul(Decimal::ONE_HUNDRED))
}

/// What one unit alone leaves above a target, and what a bundle falls short.
struct Gap {
    over: Decimal,
    short: Decimal,
}

fn gap(
    target: Target,
    profits: Pair,
    nets: Pair,
    unit_cost: Cost,
    count: Decimal,
) -> Result<Gap, TooLarge> {
    let wanted = match target {
        Target::Margin(margin) => Pair {
            alone: mul(nets.alone, margin.decimal())?,
            bundle: mul(nets.bundle, margin.decimal())?,
        },
        Target::Markup(markup) => {
            let alone = mul(unit_cost.major(), markup.decimal())?;
            Pair {
                alone,
                bundle: mul(alone, count)?,
            }
        }
        Target::Profit(profit) => Pair {
            alone: profit.major(),
            bundle: mul(profit.major(), count)?,
        },
    };
    Ok(Gap {
        // The exact price was rounded in the 28th digit: that is no shortfall.
        over: sub(profits.alone, wanted.alone)?.round_dp(15),
        short: sub(wanted.bundle, profits.bundle)?,
    })
}

fn sentence(
    bundle: &Bundle,
    unit: &Kept,
    profit: Cost,
    alone: &Kept,
    holds: Option<Decimal>,
) -> String {
    let Bundle { count, price, .. } = bundle;
    let margin = unit
        .margin
        .map_or_else(String::new, |margin| format!(", {}", of_net(margin, unit)));
    let start = if profit.major() < Decimal::ZERO {
        format!(
            "{count} for {price} lose {} together",
            profit.times(Decimal::NEGATIVE_ONE)
        )
    } else {
        format!("{count} for {price} leave {profit} together{margin}")
    };
    let instead = format!(", where one alone leaves {}", alone.profit);
    let up_to = match holds {
        Some(part) if part == Decimal::ONE => "; the target holds however many take it".to_owned(),
        Some(part) => format!(
            "; the target holds on average while no more than {} of the buyers take it",
            percent((part * Decimal::ONE_THOUSAND).floor() / Decimal::TEN)
        ),
        None => String::new(),
    };
    format!("{start}{instead}{up_to}.")
}
