//! The calculation `channel-price`: what to ask in a channel, and what a price
//! keeps after tax, fees and postage.

use std::collections::BTreeMap;

use measure::{Cost, Currency, Decimal, Money, Problem, Problems, TimeSpan, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, less, percent_of, scaled_cost, total};
use crate::channel::{FeeBase, InCoins, Kept, NoPrice, PitchDay, Target, Tax, Terms};
use crate::channel_bundle::{Bundle, BundleInput, BundleOutput};
use crate::channel_ending::Ending;
use crate::channel_range::{Ends, EndsInput, RangeOutput};
use crate::compare_formats::minutes_of;
use crate::reader::{Reader, filled};
use crate::shown::{fine, float, percent};

/// The name of the calculation.
pub const CHANNEL_PRICE: &str = "channel-price";

const ARITHMETIC: &str = "arithmetic";
/// The most a fee, discount or share is.
const WHOLE: u32 = 100;
/// The most a tax or a markup is.
const MOST_PERCENT: u32 = 10_000;

/// What a unit costs, where it is sold, and what is wanted of it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChannelPriceInput {
    /// The currency of amounts written without a code: `USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What a unit costs: `1.34 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<String>,
    /// What the channel takes. What is left out costs nothing.
    #[serde(default)]
    pub channel: ChannelInput,
    /// What a unit is to reach. Either this or `price`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<TargetInput>,
    /// A price to judge: `6.00 USD`. Either this or `target`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// The tax on what is sold; without it none is reckoned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax: Option<TaxInput>,
    /// How a tidy price ends: `0.05` for multiples of it, `0.99` for prices
    /// that end so, `1` for whole ones. The smallest coin unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ending: Option<String>,
    /// Several sold together for one price.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bundle: Option<BundleInput>,
    /// Hours of selling in a day: `7 h`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<String>,
    /// Hands-on time of making one unit: `2.4 min`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes_per_unit: Option<String>,
    /// Units sold in a day, as a guess.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub units_a_day: Option<Number>,
    /// What a day costs beside the channel's own `pitch_fee`, `travel` and
    /// `other`: `20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixed_costs: Option<String>,
    /// What is not known for sure, by the name of its field, from low to
    /// high: `unit_cost`, a field of `channel`, `tax_rate`, the field of
    /// `target`, `hours`, `minutes_per_unit`, `units_a_day`, `fixed_costs`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub range: BTreeMap<String, EndsInput>,
}

/// What a channel takes, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChannelInput {
    /// What it is called: `web shop`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The channel's fee: `6.5 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub percent_fee: Option<String>,
    /// What `percent_fee` is a share of; what the buyer pays unless it is
    /// given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fees_on: Option<FeeBase>,
    /// A fixed fee for each unit sold: `0.20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixed_fee: Option<String>,
    /// The fee for taking the payment: `3 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub payment_percent: Option<String>,
    /// What `payment_percent` is a share of; what the buyer pays unless it is
    /// given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub payment_on: Option<FeeBase>,
    /// A fixed sum for each payment, one an order: `0.25 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub payment_fixed: Option<String>,
    /// Postage you pay for an order: `3.39 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postage_paid: Option<String>,
    /// Postage you ask of the buyer for an order: `2.50 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postage_charged: Option<String>,
    /// Units in an order, over which `payment_fixed` and postage are shared: of
    /// a shop, the least it may order. 1 unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub units_per_order: Option<Number>,
    /// Trade discount: what a shop that buys takes off the price: `50 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub discount: Option<String>,
    /// What you get of the price of a consigned unit when it sells: `65 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<String>,
    /// What the place costs a day: `45 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_fee: Option<String>,
    /// Travel a day: `16 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub travel: Option<String>,
    /// What else a day costs: `20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other: Option<String>,
}

/// A tax, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TaxInput {
    /// The rate, of the amount before tax: `8 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate: Option<String>,
    /// Whether the price has the tax in it; on top of it unless this is true.
    #[serde(default)]
    pub inside: bool,
    /// Whether charged postage is taxed alike.
    #[serde(default)]
    pub on_postage: bool,
}

impl TaxInput {
    pub(crate) fn read(&self, at: &str, reader: &mut Reader) -> Option<Tax> {
        let field = format!("{at}.rate");
        let Some(text) = filled(self.rate.as_deref()) else {
            reader.check.refuse(Problem::new(
                field,
                "",
                "the rate is missing",
                "write a percentage such as 8 %, or leave the tax out",
            ));
            return None;
        };
        let rate = reader.ratio_up_to(&field, Some(text), MOST_PERCENT)?;
        Some(Tax {
            rate,
            inside: self.inside,
            on_postage: self.on_postage,
        })
    }
}

/// What a unit is to reach; exactly one of them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TargetInput {
    /// Profit as a share of the net price: `60 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<String>,
    /// Profit as a share of the unit cost: `150 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub markup: Option<String>,
    /// Profit of a unit: `2.50 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profit: Option<String>,
    /// Profit of an hour of selling and making, day costs paid: `18 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_hour: Option<String>,
}

/// The price, and where it goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ChannelPriceOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// The price to ask: the exact one moved up to its ending, or the one
    /// given.
    pub price: String,
    /// The price to ask, in the currency.
    pub price_in_currency: f64,
    /// The price the target needs, before it is made tidy, to ten decimals;
    /// none when a price was given.
    pub exact: Option<String>,
    /// The same, in the currency.
    pub exact_in_currency: Option<f64>,
    /// What the goods are sold at: the price after trade discount or share.
    pub sold_at: String,
    /// What the buyer pays for a unit: goods, tax and charged postage.
    pub buyer_pays: String,
    /// The tax in that.
    pub tax: String,
    /// The tax, in the currency.
    pub tax_in_currency: f64,
    /// What the goods bring after tax.
    pub net: String,
    /// What the goods bring after tax, in the currency.
    pub net_in_currency: f64,
    /// The channel's fee and the fee for taking the payment together.
    pub fees: String,
    /// The fees, in the currency.
    pub fees_in_currency: f64,
    /// The channel's fee.
    pub channel_fee: String,
    /// The fee for taking the payment.
    pub payment_fee: String,
    /// What the fees in percent are taken on.
    pub fees_on: String,
    /// The postage paid.
    pub postage_paid: String,
    /// The postage charged, after tax.
    pub postage_charged: String,
    /// What is left after tax, fees and postage.
    pub kept: String,
    /// What is left after tax, fees and postage, in the currency.
    pub kept_in_currency: f64,
    /// What the unit cost.
    pub unit_cost: String,
    /// Kept less the unit cost; below zero for a loss.
    pub profit: String,
    /// The profit, in the currency.
    pub profit_in_currency: f64,
    /// Profit as a share of the net price; none of nothing.
    pub margin: Option<String>,
    /// The same in percent.
    pub margin_percent: Option<f64>,
    /// Profit as a share of the unit cost; none of nothing.
    pub markup: Option<String>,
    /// The same in percent.
    pub markup_percent: Option<f64>,
    /// What an order of `units_per_order` leaves; none for an order of one.
    pub order_profit: Option<String>,
    /// The same, in the currency.
    pub order_profit_in_currency: Option<f64>,
    /// What an hour of selling and making earns, day costs paid; none when
    /// the time or the number sold is not known.
    pub per_hour: Option<String>,
    /// The same, in the currency.
    pub per_hour_in_currency: Option<f64>,
    /// What a day costs.
    pub day_costs: Option<String>,
    /// Units that pay for the day; none when nothing is paid by the day, or
    /// when no number does.
    pub break_even_units: Option<String>,
    /// What the day leaves when `units_a_day` are sold.
    pub day_left: Option<String>,
    /// The same, in the currency.
    pub day_left_in_currency: Option<f64>,
    /// Where what the buyer pays goes, adding up to it.
    pub goes_to: Vec<PartOutput>,
    /// What a bundle does.
    pub bundle: Option<BundleOutput>,
    /// What the answer hangs on.
    pub range: Option<RangeOutput>,
    /// The answer in a sentence or two.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// One part of what the buyer pays.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PartOutput {
    /// What it is: `tax`, `channel fee`, `payment fee`, `postage`,
    /// `unit cost` or `profit`.
    pub name: String,
    /// How much, in whole coins.
    pub amount: String,
    /// How much, in the currency.
    pub amount_in_currency: f64,
    /// Its share of what the buyer pays; none of nothing.
    pub share_percent: Option<f64>,
}

/// What is wanted, with an hourly target still as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// A price is to be found.
    Unit(Target),
    /// A price is to be found for what an hour earns.
    Hourly(Cost),
    /// A price is to be judged.
    Judge(Cost),
}

/// Everything an answer hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Case {
    pub(crate) unit_cost: Cost,
    pub(crate) terms: Terms,
    pub(crate) day: PitchDay,
    /// The part of the day's costs that the channel asks.
    pub(crate) channel_day: Cost,
    pub(crate) wanted: Wanted,
}

impl Case {
    /// The profit an hourly target asks of a unit, or the target itself.
    pub(crate) fn target(&self) -> Result<Option<Target>, NoAnswer> {
        match self.wanted {
            Wanted::Unit(target) => Ok(Some(target)),
            Wanted::Judge(_) => Ok(None),
            Wanted::Hourly(hourly) => match self.day.profit_for(hourly)? {
                Some(profit) => Ok(Some(Target::Profit(profit))),
                None => Err(NoAnswer::HoursNotKnown),
            },
        }
    }

    /// The price asked for, before it is made tidy.
    pub(crate) fn price(&self) -> Result<Cost, NoAnswer> {
        match (self.target()?, self.wanted) {
            (Some(target), _) => Ok(self.terms.price_for(target, self.unit_cost)?),
            (None, Wanted::Judge(price)) => Ok(price),
            (None, _) => Err(NoAnswer::HoursNotKnown),
        }
    }
}

/// Why there is no price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NoAnswer {
    HoursNotKnown,
    NoPrice(NoPrice),
}

impl From<NoPrice> for NoAnswer {
    fn from(no_price: NoPrice) -> Self {
        Self::NoPrice(no_price)
    }
}

impl From<TooLarge> for NoAnswer {
    fn from(too_large: TooLarge) -> Self {
        Self::NoPrice(too_large.into())
    }
}

impl NoAnswer {
    /// The problem, with the field that could be changed.
    pub(crate) fn problem(self, target_at: &str) -> Problem {
        let as_percent = |part: Decimal| percent(part.saturating_mul(Decimal::ONE_HUNDRED));
        match self {
            Self::HoursNotKnown => Problem::new(
                target_at,
                "",
                "what an hour earns cannot be reckoned without its time",
                "give minutes_per_unit, and for a day at a stall also hours and units_a_day of at least 1",
            ),
            Self::NoPrice(NoPrice::FeesTakeAll { fees }) => Problem::new(
                "channel.percent_fee",
                "",
                format!(
                    "the fees in percent come to {} of the net price and leave nothing at any price",
                    as_percent(fees)
                ),
                "write fees that together take less than 100 % of the net price",
            ),
            Self::NoPrice(NoPrice::MarginOutOfReach { fees, below }) => Problem::new(
                target_at,
                "",
                format!(
                    "no price reaches this margin: the fees in percent take {} of the net price",
                    as_percent(fees)
                ),
                // The largest tenth of a percent that can be reached.
                format!(
                    "write a margin of at most {}",
                    percent(
                        (below.saturating_mul(Decimal::ONE_THOUSAND).ceil() - Decimal::ONE)
                            / Decimal::TEN
                    )
                ),
            ),
            Self::NoPrice(NoPrice::NothingPaid) => Problem::new(
                "channel",
                "",
                "discount and share leave you nothing of any price",
                "write a discount below 100 % and a share above 0 %",
            ),
            Self::NoPrice(NoPrice::TooLarge(too_large)) => Problem::new(
                "",
                "",
                too_large.to_string(),
                "check the amounts, percentages and times for a figure with too many digits",
            ),
        }
    }
}

impl TargetInput {
    /// The name of the field that is given.
    fn named(&self) -> Option<&'static str> {
        [
            ("margin", &self.margin),
            ("markup", &self.markup),
            ("profit", &self.profit),
            ("per_hour", &self.per_hour),
        ]
        .into_iter()
        .find_map(|(name, text)| filled(text.as_deref()).map(|_| name))
    }

    fn read(&self, reader: &mut Reader) -> Option<Wanted> {
        let margin = reader.ratio_up_to("target.margin", self.margin.as_deref(), WHOLE);
        let markup = reader.ratio_up_to("target.markup", self.markup.as_deref(), MOST_PERCENT);
        let profit = reader.optional_cost("target.profit", self.profit.as_deref());
        let hourly = reader.optional_cost("target.per_hour", self.per_hour.as_deref());
        let given = [&self.margin, &self.markup, &self.profit, &self.per_hour]
            .into_iter()
            .filter(|text| filled(text.as_deref()).is_some())
            .count();
        if given != 1 {
            reader.check.refuse(Problem::new(
                "target",
                "",
                if given == 0 {
                    "nothing is wanted"
                } else {
                    "more than one thing is wanted"
                },
                "write one of margin, markup, profit or per_hour",
            ));
            return None;
        }
        let target = margin.map(Target::Margin);
        let target = target.or(markup.map(Target::Markup));
        let target = target.or(profit.map(Target::Profit));
        target.map(Wanted::Unit).or(hourly.map(Wanted::Hourly))
    }
}

/// An input that was read.
struct Read {
    case: Case,
    ending: Ending,
    has_ending: bool,
    target_at: String,
    name: Option<String>,
    bundle: Option<Bundle>,
    ends: Vec<Ends>,
    ends_were_given: bool,
}

fn read(input: &ChannelPriceInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency("currency", input.currency.as_deref());
    let unit_cost = reader.cost("unit_cost", input.unit_cost.as_deref());
    let channel = ChannelRead::of(&input.channel, &mut reader);
    let price = reader.optional_cost("price", input.price.as_deref());
    let target = input
        .target
        .as_ref()
        .and_then(|target| target.read(&mut reader));
    let given_price = filled(input.price.as_deref());
    if input.target.is_some() == given_price.is_some() {
        let (at, wrong) = if input.target.is_some() {
            ("price", "a price and a target are both given")
        } else {
            ("target", "there is nothing to find")
        };
        reader.check.refuse(Problem::new(
            at,
            given_price.unwrap_or_default(),
            wrong,
            "write either a target, such as a margin of 60 %, or a price to judge",
        ));
    }
    let tax = input.tax.as_ref();
    let tax = tax.and_then(|tax| tax.read("tax", &mut reader));
    let hours = reader.time("hours", input.hours.as_deref());
    let making = reader.time("minutes_per_unit", input.minutes_per_unit.as_deref());
    let units = reader.optional_count("units_a_day", input.units_a_day.as_ref(), 0);
    let fixed_costs = reader.optional_cost("fixed_costs", input.fixed_costs.as_deref());
    let bundle = input.bundle.as_ref();
    let bundle = bundle.and_then(|bundle| bundle.read(&mut reader));
    let ends = Ends::read_all(
        &input.range,
        input.target.as_ref().and_then(TargetInput::named),
        &mut reader,
    );
    let currency = reader.currency();
    let ending = currency.and_then(|currency| {
        let text = input.ending.as_deref().unwrap_or_default();
        reader.check.keep("ending", Ending::parse(text, currency))
    });
    reader.check.finish()?;
    let (Some(currency), Some(unit_cost), Some(ending)) = (currency, unit_cost, ending) else {
        return Err(Problems::from(TooLarge));
    };
    let nothing = Cost::zero(currency);
    let day_costs = [channel.day_costs, fixed_costs]
        .into_iter()
        .flatten()
        .try_fold(nothing, |sum, cost| total([sum, cost], currency))?;
    let case = Case {
        unit_cost,
        channel_day: channel.day_costs.unwrap_or(nothing),
        terms: channel.terms(currency, tax),
        day: PitchDay {
            costs: day_costs,
            hours: hours.map_or(TimeSpan::ZERO, |hours| hours.value()),
            units,
            making: making.map_or(TimeSpan::ZERO, |making| making.value()),
        },
        wanted: target
            .or(price.map(Wanted::Judge))
            .unwrap_or(Wanted::Judge(nothing)),
    };
    let target_at = input.target.as_ref().and_then(TargetInput::named);
    Ok(Read {
        case,
        ending,
        has_ending: filled(input.ending.as_deref()).is_some(),
        target_at: target_at.map_or_else(|| "price".to_owned(), |name| format!("target.{name}")),
        name: input
            .channel
            .name
            .clone()
            .filter(|name| !name.trim().is_empty()),
        bundle,
        ends_were_given: !input.range.is_empty(),
        ends,
    })
}

/// A channel that was read, before its currency is known.
#[derive(Debug, Default)]
struct ChannelRead {
    ratios: [Option<measure::Ratio>; 4],
    costs: [Option<Cost>; 4],
    bases: [Option<FeeBase>; 2],
    units_per_order: Option<u32>,
    day_costs: Option<Cost>,
}

impl ChannelRead {
    fn of(input: &ChannelInput, reader: &mut Reader) -> Self {
        let percent_fee =
            reader.ratio_up_to("channel.percent_fee", input.percent_fee.as_deref(), WHOLE);
        let fixed_fee = reader.optional_cost("channel.fixed_fee", input.fixed_fee.as_deref());
        let payment_percent = reader.ratio_up_to(
            "channel.payment_percent",
            input.payment_percent.as_deref(),
            WHOLE,
        );
        let payment_fixed =
            reader.optional_cost("channel.payment_fixed", input.payment_fixed.as_deref());
        let postage_paid =
            reader.optional_cost("channel.postage_paid", input.postage_paid.as_deref());
        let postage_charged =
            reader.optional_cost("channel.postage_charged", input.postage_charged.as_deref());
        let units_per_order =
            reader.optional_count("channel.units_per_order", input.units_per_order.as_ref(), 1);
        let discount = reader.ratio_up_to("channel.discount", input.discount.as_deref(), WHOLE);
        let share = reader.ratio_up_to("channel.share", input.share.as_deref(), WHOLE);
        let day = [
            reader.optional_cost("channel.pitch_fee", input.pitch_fee.as_deref()),
            reader.optional_cost("channel.travel", input.travel.as_deref()),
            reader.optional_cost("channel.other", input.other.as_deref()),
        ];
        let day_costs = day
            .into_iter()
            .flatten()
            .reduce(|sum, cost| sum.plus(cost).unwrap_or(sum));
        Self {
            ratios: [percent_fee, payment_percent, discount, share],
            costs: [fixed_fee, payment_fixed, postage_paid, postage_charged],
            bases: [input.fees_on, input.payment_on],
            units_per_order,
            day_costs,
        }
    }

    fn terms(&self, currency: Currency, tax: Option<Tax>) -> Terms {
        let free = Terms::free(currency);
        let [percent_fee, payment_percent, discount, share] = self.ratios;
        let [fixed_fee, payment_fixed, postage_paid, postage_charged] = self.costs;
        let [fees_on, payment_on] = self.bases;
        Terms {
            percent_fee: percent_fee.unwrap_or(free.percent_fee),
            fees_on: fees_on.unwrap_or_default(),
            fixed_fee: fixed_fee.unwrap_or(free.fixed_fee),
            payment_percent: payment_percent.unwrap_or(free.payment_percent),
            payment_on: payment_on.unwrap_or_default(),
            payment_fixed: payment_fixed.unwrap_or(free.payment_fixed),
            postage_paid: postage_paid.unwrap_or(free.postage_paid),
            postage_charged: postage_charged.unwrap_or(free.postage_charged),
            units_per_order: self.units_per_order.unwrap_or(1),
            discount: discount.unwrap_or(free.discount),
            share: share.unwrap_or(free.share),
            tax,
        }
    }
}

/// Finds the price a target needs in a channel, or judges a price.
///
/// # Errors
///
/// Every problem of the input together; a target no price reaches is one, and
/// says what would be reached.
pub fn channel_price(input: &ChannelPriceInput) -> Result<ChannelPriceOutput, Problems> {
    let read = read(input)?;
    let Read { case, ending, .. } = &read;
    let currency = case.unit_cost.currency();
    let no_answer = |why: NoAnswer| Problems::from(why.problem(&read.target_at));
    let target = case.target().map_err(no_answer)?;
    let asked = case.price().map_err(no_answer)?;
    let price = match target {
        Some(_) => ending.up(asked)?,
        None => asked,
    };
    let kept = case.terms.judge(price, case.unit_cost)?;
    let coins = kept.in_coins()?;

    let mut working = Working::new();
    explain_day_target(case, &mut working)?;
    if let Some(target) = target {
        explain_price(case, target, asked, &mut working)?;
        working.step(
            "Tidy price",
            ending.words(currency),
            fine_price(asked),
            price.to_string(),
            "never below what the target needs",
        );
    }
    explain_kept(case, &kept, &mut working)?;
    explain_coins(&coins, &mut working);
    let order = order_profit(case, &kept, &mut working)?;
    let day = DayFound::find(&case.day, &kept, &mut working)?;
    let bundle = match &read.bundle {
        Some(bundle) => Some(bundle.judge(case, &kept, target, &mut working)?),
        None => None,
    };
    let range = if read.ends_were_given {
        Some(RangeOutput::find(case, &read.ends, *ending, &mut working)?)
    } else {
        None
    };
    let verdict = verdict(&read, &kept, &coins, &day, bundle.as_ref(), range.as_ref());
    let exact = target.map(|_| asked);
    let found = Found {
        kept: &kept,
        coins: &coins,
        exact,
    };
    Ok(ChannelPriceOutput {
        notes: notes(&read, bundle.is_some()),
        fees_on: fees_on(&case.terms),
        order_profit: order.map(|cost| cost.to_string()),
        order_profit_in_currency: order.map(Cost::to_f64),
        per_hour: day.per_hour.map(|cost| cost.to_string()),
        per_hour_in_currency: day.per_hour.map(Cost::to_f64),
        day_costs: day.costs.map(|cost| cost.to_string()),
        break_even_units: day.break_even.map(|units| units.to_string()),
        day_left: day.left.map(|cost| cost.to_string()),
        day_left_in_currency: day.left.map(Cost::to_f64),
        bundle,
        range,
        verdict,
        working,
        ..found.show(currency)?
    })
}

/// What is shown of a price.
struct Found<'a> {
    kept: &'a Kept,
    coins: &'a InCoins,
    exact: Option<Cost>,
}

impl Found<'_> {
    /// The output without what is put in afterwards.
    fn show(&self, currency: Currency) -> Result<ChannelPriceOutput, TooLarge> {
        let Self { kept, coins, exact } = *self;
        let fees = sum(&[coins.channel_fee, coins.payment_fee])?;
        let postage_charged = kept.postage_charged.rounded().ok_or(TooLarge)?;
        let out = sum(&[coins.tax, postage_charged])?;
        let net = minus(coins.buyer_pays, out)?;
        let after = sum(&[coins.tax, fees, coins.postage_paid])?;
        Ok(ChannelPriceOutput {
            currency: currency.code().to_owned(),
            price: kept.price.to_string(),
            price_in_currency: kept.price.to_f64(),
            exact: exact.map(fine_price),
            exact_in_currency: exact.map(Cost::to_f64),
            sold_at: kept.sold_at.to_string(),
            buyer_pays: coins.buyer_pays.to_string(),
            tax: coins.tax.to_string(),
            tax_in_currency: kept.tax.to_f64(),
            net: net.to_string(),
            net_in_currency: kept.net.to_f64(),
            fees: fees.to_string(),
            fees_in_currency: kept.fees.to_f64(),
            channel_fee: coins.channel_fee.to_string(),
            payment_fee: coins.payment_fee.to_string(),
            fees_on: String::new(),
            postage_paid: coins.postage_paid.to_string(),
            postage_charged: postage_charged.to_string(),
            kept: minus(coins.buyer_pays, after)?.to_string(),
            kept_in_currency: kept.kept.to_f64(),
            unit_cost: coins.unit_cost.to_string(),
            profit: coins.profit.to_string(),
            profit_in_currency: kept.profit.to_f64(),
            margin: kept.margin.map(|margin| of_net(margin, kept)),
            margin_percent: kept.margin.map(float),
            markup: kept
                .markup
                .map(|markup| format!("{} of cost", percent(markup))),
            markup_percent: kept.markup.map(float),
            order_profit: None,
            order_profit_in_currency: None,
            per_hour: None,
            per_hour_in_currency: None,
            day_costs: None,
            break_even_units: None,
            day_left: None,
            day_left_in_currency: None,
            goes_to: goes_to(kept, coins)?,
            bundle: None,
            range: None,
            verdict: String::new(),
            notes: Vec::new(),
            working: Working::new(),
        })
    }
}

/// A margin with what it is a share of.
pub(crate) fn of_net(margin: Decimal, kept: &Kept) -> String {
    let of = if kept.tax.major().is_zero() {
        "price"
    } else {
        "net price"
    };
    let of = if kept.sold_at == kept.price {
        of
    } else {
        "what you are paid"
    };
    format!("{} of {of}", percent(margin))
}

/// A price that need not be payable, to ten decimals.
pub(crate) fn fine_price(price: Cost) -> String {
    let shown = price.major().round_dp(10).normalize();
    let coins = u32::from(price.currency().exponent().unwrap_or(0));
    if shown.scale() <= coins {
        return price.to_string();
    }
    format!("{shown} {}", price.currency().code())
}

fn sum(parts: &[Money]) -> Result<Money, TooLarge> {
    let mut sum = 0_i64;
    for part in parts {
        sum = sum.checked_add(part.minor()).ok_or(TooLarge)?;
    }
    let currency = parts.first().map(|part| part.currency()).ok_or(TooLarge)?;
    Ok(Money::from_minor(sum, currency))
}

fn minus(from: Money, take: Money) -> Result<Money, TooLarge> {
    let left = from.minor().checked_sub(take.minor()).ok_or(TooLarge)?;
    Ok(Money::from_minor(left, from.currency()))
}

fn named_parts(coins: &InCoins) -> [(&'static str, Money); 6] {
    [
        ("tax", coins.tax),
        ("channel fee", coins.channel_fee),
        ("payment fee", coins.payment_fee),
        ("postage", coins.postage_paid),
        ("unit cost", coins.unit_cost),
        ("profit", coins.profit),
    ]
}

fn goes_to(kept: &Kept, coins: &InCoins) -> Result<Vec<PartOutput>, TooLarge> {
    let exact = [
        kept.tax,
        kept.channel_fee,
        kept.payment_fee,
        kept.postage_paid,
        kept.unit_cost,
        kept.profit,
    ];
    named_parts(coins)
        .into_iter()
        .zip(exact)
        .map(|((name, amount), exact)| {
            Ok(PartOutput {
                name: name.to_owned(),
                amount: amount.to_string(),
                amount_in_currency: float(amount.major()),
                share_percent: percent_of(exact, kept.buyer_pays)?.map(float),
            })
        })
        .collect()
}

/// What the fees in percent are taken on, in words.
fn fees_on(terms: &Terms) -> String {
    if terms.fees_on == terms.payment_on {
        return terms.fees_on.words().to_owned();
    }
    format!(
        "channel fee: {}; payment fee: {}",
        terms.fees_on.words(),
        terms.payment_on.words()
    )
}

fn explain_day_target(case: &Case, working: &mut Working) -> Result<(), Problems> {
    let Wanted::Hourly(hourly) = case.wanted else {
        return Ok(());
    };
    let Some(profit) = case.day.profit_for(hourly)? else {
        return Ok(());
    };
    let day = &case.day;
    let making = minutes_of(day.making);
    let (formula, numbers) = match day.units {
        Some(units) => (
            "(day costs + per hour × (hours + units × minutes ÷ 60)) ÷ units",
            format!(
                "({} + {hourly} × ({} + {units} × {making} ÷ 60)) ÷ {units}",
                fine(day.costs),
                minutes_of(day.hours)
            ),
        ),
        None => (
            "per hour × minutes ÷ 60",
            format!("{hourly} × {making} ÷ 60"),
        ),
    };
    working.step(
        "Profit a unit has to leave",
        formula,
        numbers,
        fine(profit),
        ARITHMETIC,
    );
    Ok(())
}

fn explain_price(
    case: &Case,
    target: Target,
    exact: Cost,
    working: &mut Working,
) -> Result<(), Problems> {
    let Case {
        unit_cost, terms, ..
    } = case;
    let currency = unit_cost.currency();
    let of_net = terms.fees_of_net()?;
    let as_percent = |part: Decimal| {
        format!(
            "{} %",
            (part.saturating_mul(Decimal::ONE_HUNDRED))
                .round_dp(4)
                .normalize()
        )
    };
    let with_tax = match terms.tax {
        Some(tax)
            if !(terms.fees_on == FeeBase::BeforeTax && terms.payment_on == FeeBase::BeforeTax) =>
        {
            format!(" with {} tax on it", tax.rate)
        }
        _ => String::new(),
    };
    working.step(
        "Fees as a share of the net price",
        "(channel fee + payment fee) × what they are taken on ÷ net",
        format!(
            "{} + {}{with_tax}",
            terms.percent_fee, terms.payment_percent
        ),
        as_percent(of_net),
        format!("taken on {}", fees_on(terms)),
    );
    let nothing = Cost::zero(currency);
    let before = terms.judge(nothing, nothing)?;
    let fixed = less(nothing, before.kept)?;
    working.step(
        "What a unit pays whatever its price",
        "fixed fees + fees on postage + postage paid - postage charged",
        format!(
            "{} + {} - {}",
            fine(before.fees),
            fine(before.postage_paid),
            fine(before.postage_charged)
        ),
        fine(fixed),
        if terms.units_per_order > 1 {
            "payment and postage shared over the units of an order"
        } else {
            ARITHMETIC
        },
    );
    let inside = terms.tax.filter(|tax| tax.inside);
    let (over, over_words) = match inside {
        Some(tax) => (format!(" × (1 + {})", tax.rate), " × (1 + tax)"),
        None => (String::new(), ""),
    };
    let (part, part_words) = if exact_part(terms).is_some() {
        (
            format!(" ÷ {}", as_percent(exact_part(terms).unwrap_or_default())),
            " ÷ the part that you are paid",
        )
    } else {
        (String::new(), "")
    };
    let cost = fine(*unit_cost);
    let (formula, numbers) = match target {
        Target::Margin(margin) => (
            "(unit cost + fixed) ÷ (1 - fees - margin)",
            format!(
                "({cost} + {}) ÷ (1 - {} - {margin})",
                fine(fixed),
                as_percent(of_net)
            ),
        ),
        Target::Markup(markup) => (
            "(unit cost × (1 + markup) + fixed) ÷ (1 - fees)",
            format!(
                "({cost} × (1 + {markup}) + {}) ÷ (1 - {})",
                fine(fixed),
                as_percent(of_net)
            ),
        ),
        Target::Profit(profit) => (
            "(unit cost + profit + fixed) ÷ (1 - fees)",
            format!(
                "({cost} + {} + {}) ÷ (1 - {})",
                fine(profit),
                fine(fixed),
                as_percent(of_net)
            ),
        ),
    };
    working.step(
        "Price the target needs",
        format!("{formula}{over_words}{part_words}"),
        format!("{numbers}{over}{part}"),
        fine_price(exact),
        "profit = net × (1 - fees) - fixed - unit cost, set to the target and solved for the price",
    );
    Ok(())
}

/// The part of the price the maker is paid, where it is not the whole.
fn exact_part(terms: &Terms) -> Option<Decimal> {
    let part = Decimal::ONE
        .saturating_sub(terms.discount.decimal())
        .saturating_mul(terms.share.decimal());
    (part != Decimal::ONE).then_some(part)
}

fn explain_kept(case: &Case, kept: &Kept, working: &mut Working) -> Result<(), Problems> {
    let Terms {
        percent_fee,
        fees_on,
        fixed_fee,
        payment_percent,
        payment_on,
        ..
    } = case.terms;
    if kept.sold_at != kept.price {
        working.step(
            "Sold at",
            "price × (1 - discount) × share",
            format!(
                "{} × (1 - {}) × {}",
                kept.price, case.terms.discount, case.terms.share
            ),
            fine(kept.sold_at),
            "a trade discount is taken off the price; a consigned unit brings its share",
        );
    }
    if let Some(tax) = case.terms.tax {
        let goods = tax.of(kept.sold_at)?;
        let (formula, numbers) = if tax.inside {
            (
                "sold at × rate ÷ (1 + rate)",
                format!("{} × {} ÷ (1 + {})", fine(kept.sold_at), tax.rate, tax.rate),
            )
        } else {
            (
                "sold at × rate",
                format!("{} × {}", fine(kept.sold_at), tax.rate),
            )
        };
        working.step(
            if tax.inside {
                "Tax inside the price"
            } else {
                "Tax on top"
            },
            formula,
            numbers,
            fine(goods),
            "HM Revenue & Customs, Calculating VAT for VAT-inclusive and VAT-exclusive prices",
        );
        working.step(
            "Net: what the goods bring after tax",
            if tax.inside {
                "sold at - tax"
            } else {
                "sold at"
            },
            if tax.inside {
                format!("{} - {}", fine(kept.sold_at), fine(goods))
            } else {
                fine(kept.sold_at)
            },
            fine(kept.net),
            ARITHMETIC,
        );
    }
    let fixed = less(
        kept.payment_fee,
        share_of(case, kept, payment_percent, payment_on)?,
    )?;
    for (label, rate, on, fixed, fee) in [
        (
            "Channel fee",
            percent_fee,
            fees_on,
            fixed_fee,
            kept.channel_fee,
        ),
        (
            "Payment fee",
            payment_percent,
            payment_on,
            fixed,
            kept.payment_fee,
        ),
    ] {
        if fee.major().is_zero() {
            continue;
        }
        let base = base_of(case, kept, on)?;
        working.step(
            label,
            "share × what it is taken on + fixed",
            format!("{rate} × {} + {}", fine(base), fine(fixed)),
            fine(fee),
            format!("taken on {}", on.words()),
        );
    }
    let postage = kept.postage_charged.major().is_zero() && kept.postage_paid.major().is_zero();
    working.step(
        "Kept",
        if postage {
            "net - fees"
        } else {
            "net + postage charged - fees - postage paid"
        },
        if postage {
            format!("{} - {}", fine(kept.net), fine(kept.fees))
        } else {
            format!(
                "{} + {} - {} - {}",
                fine(kept.net),
                fine(kept.postage_charged),
                fine(kept.fees),
                fine(kept.postage_paid)
            )
        },
        fine(kept.kept),
        ARITHMETIC,
    );
    working.step(
        "Profit of a unit",
        "kept - unit cost",
        format!("{} - {}", fine(kept.kept), fine(kept.unit_cost)),
        fine(kept.profit),
        ARITHMETIC,
    );
    if let Some(margin) = kept.margin {
        working.step(
            "Margin",
            "profit ÷ net",
            format!("{} ÷ {}", fine(kept.profit), fine(kept.net)),
            of_net(margin, kept),
            "definition: margin is a share of the price, here after tax",
        );
    }
    if let Some(markup) = kept.markup {
        working.step(
            "Markup",
            "profit ÷ unit cost",
            format!("{} ÷ {}", fine(kept.profit), fine(kept.unit_cost)),
            format!("{} of cost", percent(markup)),
            "definition: markup is a share of the cost",
        );
    }
    Ok(())
}

/// What a fee in percent is taken on.
fn base_of(case: &Case, kept: &Kept, on: FeeBase) -> Result<Cost, TooLarge> {
    let currency = kept.price.currency();
    match on {
        FeeBase::BuyerPays => Ok(kept.buyer_pays),
        FeeBase::BeforeTax => total([kept.net, kept.postage_charged], currency),
        FeeBase::WithoutPostage => match case.terms.tax {
            Some(tax) => total([kept.net, tax.of(kept.sold_at)?], currency),
            None => Ok(kept.net),
        },
    }
}

fn share_of(case: &Case, kept: &Kept, rate: measure::Ratio, on: FeeBase) -> Result<Cost, TooLarge> {
    let base = base_of(case, kept, on)?;
    scaled_cost(base, rate.decimal(), Decimal::ONE)
}

fn explain_coins(coins: &InCoins, working: &mut Working) {
    let parts: Vec<_> = named_parts(coins)
        .into_iter()
        .filter(|(_, amount)| amount.minor() != 0)
        .collect();
    let names: Vec<_> = parts.iter().map(|(name, _)| *name).collect();
    let figures: Vec<_> = parts.iter().map(|(_, part)| part.to_string()).collect();
    working.step(
        "In whole coins: what the buyer pays",
        names.join(" + "),
        figures.join(" + "),
        coins.buyer_pays.to_string(),
        "each part rounded up or down so that they add up",
    );
}

/// What an order of several units leaves.
fn order_profit(case: &Case, kept: &Kept, working: &mut Working) -> Result<Option<Cost>, TooLarge> {
    let units = case.terms.units_per_order;
    if units < 2 {
        return Ok(None);
    }
    let profit = scaled_cost(kept.profit, Decimal::from(units), Decimal::ONE)?;
    working.step(
        "Profit of an order",
        "units of an order × profit of a unit",
        format!("{units} × {}", fine(kept.profit)),
        profit.to_string(),
        ARITHMETIC,
    );
    Ok(Some(profit))
}

/// What a price makes of a day.
struct DayFound {
    costs: Option<Cost>,
    break_even: Option<Decimal>,
    left: Option<Cost>,
    per_hour: Option<Cost>,
}

impl DayFound {
    fn find(day: &PitchDay, kept: &Kept, working: &mut Working) -> Result<Self, Problems> {
        let profit = kept.profit;
        let costs = (!day.costs.major().is_zero()).then_some(day.costs);
        let break_even = match costs {
            Some(_) => day.break_even(profit)?,
            None => None,
        };
        if let Some(units) = break_even {
            working.step(
                "Units that pay for the day",
                "day costs ÷ profit of a unit, up to a whole one",
                format!("{} ÷ {}", fine(day.costs), fine(profit)),
                units.to_string(),
                "break-even point: fixed costs ÷ contribution of a unit",
            );
        }
        let left = day.left(profit)?;
        if let (Some(left), Some(units)) = (left, day.units) {
            working.step(
                "Left of the day",
                "units × profit of a unit - day costs",
                format!("{units} × {} - {}", fine(profit), fine(day.costs)),
                left.to_string(),
                ARITHMETIC,
            );
        }
        let per_hour = day.per_hour(profit)?;
        if let Some(per_hour) = per_hour {
            let making = minutes_of(day.making);
            let (formula, numbers) = match (left, day.units) {
                (Some(left), Some(units)) => (
                    "left × 60 ÷ (minutes of selling + units × minutes of making)",
                    format!(
                        "{} × 60 ÷ ({} + {units} × {making})",
                        fine(left),
                        minutes_of(day.hours)
                    ),
                ),
                _ => (
                    "profit × 60 ÷ minutes of making",
                    format!("{} × 60 ÷ {making}", fine(profit)),
                ),
            };
            working.step(
                "Left per hour",
                formula,
                numbers,
                per_hour.to_string(),
                ARITHMETIC,
            );
        }
        Ok(Self {
            costs,
            break_even,
            left,
            per_hour,
        })
    }
}

fn verdict(
    read: &Read,
    kept: &Kept,
    coins: &InCoins,
    day: &DayFound,
    bundle: Option<&BundleOutput>,
    range: Option<&RangeOutput>,
) -> String {
    let at = match &read.name {
        Some(name) => format!("{} ({name})", kept.price),
        None => kept.price.to_string(),
    };
    let fees = coins
        .channel_fee
        .minor()
        .saturating_add(coins.payment_fee.minor());
    let fees = Money::from_minor(fees, coins.profit.currency());
    let taken = if fees.minor() == 0 {
        String::new()
    } else {
        format!(" after {fees} of fees")
    };
    let found = !matches!(read.case.wanted, Wanted::Judge(_));
    let mut said = vec![if kept.profit.major() < Decimal::ZERO {
        let loss = Money::from_minor(
            coins.profit.minor().saturating_neg(),
            coins.profit.currency(),
        );
        format!("At {at} it loses {loss} a unit{taken}.")
    } else {
        let margin = kept
            .margin
            .map_or_else(String::new, |margin| format!(", {}", of_net(margin, kept)));
        let start = if found { "Ask" } else { "At" };
        let join = if found { ":" } else { "" };
        format!(
            "{start} {at}{join} it leaves {} a unit{taken}{margin}.",
            coins.profit
        )
    }];
    match (day.costs, day.break_even) {
        (Some(costs), Some(units)) => {
            let word = if units == Decimal::ONE {
                "unit pays"
            } else {
                "units pay"
            };
            said.push(format!("{units} {word} for the {costs} of the day."));
        }
        (Some(costs), None) => {
            said.push(format!(
                "No number of units pays for the {costs} of the day."
            ));
        }
        _ => {}
    }
    if let (Some(left), Some(units)) = (day.left, read.case.day.units) {
        let per_hour = day
            .per_hour
            .map_or_else(String::new, |per_hour| format!(", {per_hour} an hour"));
        said.push(format!("{units} sold leave {left} of the day{per_hour}."));
    }
    said.extend(bundle.map(|bundle| bundle.sentence.clone()));
    said.extend(range.map(|range| range.sentence.clone()));
    said.join(" ")
}

fn notes(read: &Read, has_bundle: bool) -> Vec<String> {
    let Terms {
        tax,
        postage_charged,
        percent_fee,
        payment_percent,
        units_per_order,
        ..
    } = read.case.terms;
    let mut notes = Vec::new();
    if percent_fee.decimal() + payment_percent.decimal() > Decimal::ZERO {
        notes.push(format!(
            "Fees in percent are taken on {}.",
            fees_on(&read.case.terms)
        ));
    }
    if let Some(tax) = tax {
        notes.push(
            if tax.inside {
                "The price has the tax in it."
            } else {
                "The tax goes on top of the price; the tidy price is the one on the tag."
            }
            .to_owned(),
        );
        if !tax.on_postage && !postage_charged.major().is_zero() {
            notes.push(
                "Charged postage is reckoned without tax; set tax.on_postage where it is taxed."
                    .to_owned(),
            );
        }
    }
    if exact_part(&read.case.terms).is_some() {
        notes.push(
            "The price is what the shop asks; what you are paid is after discount or share."
                .to_owned(),
        );
    }
    if units_per_order > 1 {
        notes.push(format!(
            "Payment and postage are shared over the {units_per_order} units of an order."
        ));
    }
    if has_bundle {
        notes.push(
            "A bundle is taken for one order: one payment, one postage; the fixed fee is paid for each unit in it."
                .to_owned(),
        );
    }
    let judged = matches!(read.case.wanted, Wanted::Judge(_));
    if judged && read.has_ending {
        notes.push("A price was given, so it was not moved to the ending.".to_owned());
    }
    notes
}
