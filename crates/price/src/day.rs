//! What a day at a stall really left: the calculation `market-day`.
//!
//! Takings come in whole coins, and so does where they go: tax, card fees,
//! materials and what was given away or lost are each rounded half-even once,
//! and what is left takes the rest, so that every coin of the takings is
//! somewhere.

use measure::{
    Cost, Currency, Decimal, Money, Problem, Problems, Quantity, Ratio, TimeSpan, Working,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, add, less, mul, scaled, total};
use crate::channel::Tax;
use crate::channel_price::TaxInput;
use crate::compare_formats::minutes_of;
use crate::reader::{Reader, filled};
use crate::shown::{fine, float, percent};

/// The name of the calculation.
pub const MARKET_DAY: &str = "market-day";

const ARITHMETIC: &str = "arithmetic";

/// More lines than any stall has.
const MOST_LINES: usize = 1000;

/// Milliseconds in an hour.
const HOUR_MS: Decimal = Decimal::from_parts(3_600_000, 0, 0, false, 0);

/// One good on the stall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StallLine {
    /// What a unit sells for.
    pub price: Cost,
    /// What a unit costs.
    pub unit_cost: Cost,
    /// Units sold.
    pub sold: u32,
    /// Units given away, spoilt or missing.
    pub lost: u32,
}

/// A day at a stall. All amounts are in one currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarketDay {
    /// The currency.
    pub currency: Currency,
    /// The goods.
    pub lines: Vec<StallLine>,
    /// What was really taken, tax in it; what the lines come to without it.
    pub taken: Option<Money>,
    /// The tax, where there is one.
    pub tax: Option<Tax>,
    /// The part of the takings paid by card.
    pub card_takings: Money,
    /// In how many payments.
    pub cards: u32,
    /// The card fee, a share of what is paid by card.
    pub card_percent: Ratio,
    /// The fixed fee of each payment by card.
    pub card_fixed: Cost,
    /// Pitch, travel and the like.
    pub costs: Money,
    /// Hours of selling.
    pub hours: TimeSpan,
    /// Hands-on time of making one unit.
    pub making: TimeSpan,
}

/// Where the takings of a day went, in whole coins. Tax, card fees, materials,
/// lost and costs and what is left add up to the takings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayLeft {
    /// Units sold.
    pub sold: u64,
    /// Units given away, spoilt or missing.
    pub gone: u64,
    /// What the lines come to, tax in it.
    pub expected: Money,
    /// The takings, tax in them.
    pub takings: Money,
    /// The tax in them.
    pub tax: Money,
    /// The takings after tax.
    pub net: Money,
    /// Card fees.
    pub card_fees: Money,
    /// What the units sold cost.
    pub materials: Money,
    /// What the units given away, spoilt or missing cost.
    pub lost: Money,
    /// Pitch, travel and the like.
    pub costs: Money,
    /// What is left; below zero for a loss.
    pub left: Money,
    /// The same for each hour of selling and of making what is gone; none
    /// when no time is known.
    pub per_hour: Option<Cost>,
    /// What one unit sold leaves before the costs of the day, on average;
    /// none when none was sold.
    pub contribution: Option<Cost>,
    /// Units that pay for the day at that; none when no number does.
    pub break_even: Option<Decimal>,
}

impl MarketDay {
    /// Finds where the takings went.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits or 64 bits of coins.
    pub fn left(&self) -> Result<DayLeft, TooLarge> {
        let currency = self.currency;
        let coins = |exact: Cost| exact.rounded().ok_or(TooLarge);
        let of_lines = |find: &dyn Fn(&StallLine) -> (Cost, u32)| -> Result<Cost, TooLarge> {
            let costs = self.lines.iter().map(|line| {
                let (each, units) = find(line);
                Ok(Cost::new(
                    mul(each.major(), Decimal::from(units))?,
                    currency,
                ))
            });
            total(costs.collect::<Result<Vec<_>, TooLarge>>()?, currency)
        };
        let asked = of_lines(&|line| (line.price, line.sold))?;
        let tax_on_top = match self.tax {
            Some(tax) if !tax.inside => coins(tax.of(asked)?)?,
            _ => Money::from_minor(0, currency),
        };
        let expected = plus(coins(asked)?, tax_on_top)?;
        let takings = self.taken.unwrap_or(expected);
        let tax = match self.tax {
            None => Money::from_minor(0, currency),
            // What was really taken has the tax in it, whoever added it.
            Some(tax) if tax.inside || self.taken.is_some() => {
                let inside = Tax {
                    inside: true,
                    ..tax
                };
                coins(inside.of(takings.cost())?)?
            }
            Some(_) => tax_on_top,
        };
        let card_fees = coins(self.card_fees()?)?;
        let materials = coins(of_lines(&|line| (line.unit_cost, line.sold))?)?;
        let lost = coins(of_lines(&|line| (line.unit_cost, line.lost))?)?;
        let net = minus(takings, tax)?;
        let before_costs = minus(minus(net, card_fees)?, materials)?;
        let left = minus(minus(before_costs, lost)?, self.costs)?;
        let sold: u64 = self.lines.iter().map(|line| u64::from(line.sold)).sum();
        let gone: u64 = self.lines.iter().map(|line| u64::from(line.lost)).sum();
        let contribution = before_costs.cost().over(Decimal::from(sold));
        let break_even = match contribution {
            Some(each) if each.major() > Decimal::ZERO => {
                let units = scaled(self.costs.major(), Decimal::ONE, each.major())?;
                Some(units.round_dp(12).ceil())
            }
            _ => None,
        };
        let time = self.time(sold.saturating_add(gone))?;
        let per_hour = if time.is_zero() {
            None
        } else {
            Some(Cost::new(scaled(left.major(), HOUR_MS, time)?, currency))
        };
        Ok(DayLeft {
            sold,
            gone,
            expected,
            takings,
            tax,
            net,
            card_fees,
            materials,
            lost,
            costs: self.costs,
            left,
            per_hour,
            contribution,
            break_even,
        })
    }

    /// Time of selling and of making `units`, in milliseconds.
    fn time(&self, units: u64) -> Result<Decimal, TooLarge> {
        add(
            Decimal::from(self.hours.smallest()),
            mul(Decimal::from(units), Decimal::from(self.making.smallest()))?,
        )
    }

    /// Card fees before they are rounded.
    fn card_fees(&self) -> Result<Cost, TooLarge> {
        let share = mul(self.card_takings.major(), self.card_percent.decimal())?;
        let fixed = mul(self.card_fixed.major(), Decimal::from(self.cards))?;
        Ok(Cost::new(add(share, fixed)?, self.currency))
    }
}

fn plus(a: Money, b: Money) -> Result<Money, TooLarge> {
    let minor = a.minor().checked_add(b.minor()).ok_or(TooLarge)?;
    Ok(Money::from_minor(minor, a.currency()))
}

fn minus(a: Money, b: Money) -> Result<Money, TooLarge> {
    let minor = a.minor().checked_sub(b.minor()).ok_or(TooLarge)?;
    Ok(Money::from_minor(minor, a.currency()))
}

/// A day at a stall, as it was counted.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MarketDayInput {
    /// The currency of amounts written without a code: `USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// The goods on the stall.
    #[serde(default)]
    pub lines: Vec<StallLineInput>,
    /// What was really taken, tax in it: `217.00 USD`. What the lines come to
    /// unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub takings: Option<String>,
    /// The part of it paid by card: `133.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card_takings: Option<String>,
    /// In how many payments.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub cards: Option<Number>,
    /// The card fee: `2.6 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card_percent: Option<String>,
    /// The fixed fee of each payment by card: `0.10 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card_fixed: Option<String>,
    /// The tax on what is sold; without it none is reckoned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax: Option<TaxInput>,
    /// What the place cost: `45 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_fee: Option<String>,
    /// Travel: `16 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub travel: Option<String>,
    /// What else the day cost: `20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other: Option<String>,
    /// Hours of selling, setting up and driving with them: `9.5 h`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<String>,
    /// Hands-on time of making one unit: `2.4 min`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes_per_unit: Option<String>,
    /// Coins and notes taken to the stall: `50 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub float: Option<String>,
    /// Cash paid out of the tin during the day: `6 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cash_out: Option<String>,
    /// Cash counted at the end: `134.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cash_counted: Option<String>,
}

/// One good on the stall, as counted.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StallLineInput {
    /// What it is: `Harbour Fig bar`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What a unit sells for: `7.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// What a unit costs: `1.27 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<String>,
    /// Units sold. Without it: taken, less back, given and spoilt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub sold: Option<Number>,
    /// Units taken to the stall.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub taken: Option<Number>,
    /// Units brought back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub back: Option<Number>,
    /// Units given away or used as testers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub given: Option<Number>,
    /// Units spoilt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub spoilt: Option<Number>,
}

/// What the day left.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MarketDayOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// Units sold.
    pub sold: u64,
    /// The takings, tax in them.
    pub takings: String,
    /// The takings, in the currency.
    pub takings_in_currency: f64,
    /// What was taken beyond what the lines come to; below zero for less.
    /// None unless the takings were given.
    pub takings_difference: Option<String>,
    /// The tax in the takings, to be set aside.
    pub tax: String,
    /// The tax, in the currency.
    pub tax_in_currency: f64,
    /// The takings after tax.
    pub net: String,
    /// Card fees.
    pub card_fees: String,
    /// What the units sold cost.
    pub materials: String,
    /// What the units given away, spoilt or missing cost.
    pub lost: String,
    /// What the day itself cost.
    pub day_costs: String,
    /// What is left; below zero for a loss. Takings less tax, card fees,
    /// materials, lost and day costs, exactly.
    pub left: String,
    /// What is left, in the currency.
    pub left_in_currency: f64,
    /// Hours of selling and making together; none when no time is known.
    pub hours: Option<f64>,
    /// What is left for each of them.
    pub per_hour: Option<String>,
    /// The same, in the currency.
    pub per_hour_in_currency: Option<f64>,
    /// What one unit leaves before the costs of the day, on average.
    pub contribution: Option<String>,
    /// Units that pay for the day at that; none when no number does.
    pub break_even_units: Option<String>,
    /// The tin; none when it was not counted.
    pub cash: Option<CashOutput>,
    /// The goods, in the order given.
    pub lines: Vec<StallLineOutput>,
    /// The share of what was taken to the stall that sold; none unless it is
    /// known of every good.
    pub sell_through_percent: Option<f64>,
    /// The answer in a sentence or two.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// The cash of a day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CashOutput {
    /// What should be in the tin: the float, what was not paid by card, less
    /// what was paid out.
    pub expected: String,
    /// What was counted.
    pub counted: String,
    /// Counted less expected; below zero when the tin is short.
    pub difference: String,
    /// The same, in the currency.
    pub difference_in_currency: f64,
    /// `as expected`, `short` or `over`.
    pub said: String,
}

/// One good of the day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StallLineOutput {
    /// What it is.
    pub name: String,
    /// Units sold.
    pub sold: u32,
    /// Units taken to the stall; none when it is not known.
    pub taken: Option<u32>,
    /// Units brought back; none when it is not known.
    pub back: Option<u32>,
    /// Units given away.
    pub given: u32,
    /// Units spoilt.
    pub spoilt: u32,
    /// Units nobody can account for; none unless both what was taken and what
    /// was sold are given.
    pub missing: Option<u32>,
    /// Count × price.
    pub takings: String,
    /// The same, in the currency.
    pub takings_in_currency: f64,
    /// What the units sold cost.
    pub materials: String,
    /// Takings after tax, less what the units sold cost; before card fees and
    /// the costs of the day.
    pub left: String,
    /// The same, in the currency.
    pub left_in_currency: f64,
    /// Sold of what was taken, in percent; none when it is not known.
    pub sell_through_percent: Option<f64>,
}

/// A good that was read.
struct Line {
    name: String,
    price: Cost,
    unit_cost: Cost,
    sold: u32,
    taken: Option<u32>,
    back: Option<u32>,
    given: u32,
    spoilt: u32,
    missing: Option<u32>,
}

impl Line {
    fn read(input: &StallLineInput, i: usize, reader: &mut Reader) -> Option<Self> {
        let at = |field: &str| format!("lines[{i}].{field}");
        let name = reader.name(&at("name"), input.name.as_deref());
        let price = reader.cost(&at("price"), input.price.as_deref());
        let unit_cost = reader.cost(&at("unit_cost"), input.unit_cost.as_deref());
        let counts = [
            ("sold", &input.sold),
            ("taken", &input.taken),
            ("back", &input.back),
            ("given", &input.given),
            ("spoilt", &input.spoilt),
        ]
        .map(|(field, count)| {
            let read = reader.optional_count(&at(field), count.as_ref(), 0);
            (read, read.is_none() && count.is_some())
        });
        // One that could not be read was refused, and nothing follows from it.
        if counts.iter().any(|(_, refused)| *refused) {
            return None;
        }
        let [sold, taken, back, given, spoilt] = counts.map(|(count, _)| count);
        let (given, spoilt) = (given.unwrap_or(0), spoilt.unwrap_or(0));
        // Each count is at most ten million, so the sums stay small.
        let away = given + spoilt;
        let known = back.unwrap_or(0) + away + sold.unwrap_or(0);
        if let Some(taken) = taken
            && known > taken
        {
            reader.check.refuse(Problem::new(
                at("taken"),
                taken.to_string(),
                format!("more came to something than was taken: {known}"),
                "count sold, back, given and spoilt again, or what was taken",
            ));
            return None;
        }
        let (sold, missing) = match (sold, taken) {
            // Without what came back nothing can be said of the rest.
            (Some(sold), Some(taken)) => (sold, back.map(|_| taken - known)),
            (Some(sold), None) => (sold, None),
            (None, Some(taken)) if back.is_some() => (taken - known, None),
            (None, Some(_)) => {
                reader.check.refuse(Problem::new(
                    at("back"),
                    "",
                    "what came back is missing, so what sold is not known",
                    "write what came back, 0 for nothing, or what sold",
                ));
                return None;
            }
            (None, None) => {
                reader.check.refuse(Problem::new(
                    at("sold"),
                    "",
                    "what sold is missing",
                    "write sold, or taken and back",
                ));
                return None;
            }
        };
        Some(Self {
            name: name?,
            price: price?,
            unit_cost: unit_cost?,
            sold,
            taken,
            back,
            given,
            spoilt,
            missing,
        })
    }

    fn lost(&self) -> u32 {
        self.given + self.spoilt + self.missing.unwrap_or(0)
    }

    fn show(&self, tax: Option<Tax>) -> Result<StallLineOutput, TooLarge> {
        let currency = self.price.currency();
        let units = Decimal::from(self.sold);
        let takings = Cost::new(mul(self.price.major(), units)?, currency);
        let materials = Cost::new(mul(self.unit_cost.major(), units)?, currency);
        let tax = match tax {
            Some(tax) if tax.inside => tax.of(takings)?,
            _ => Cost::zero(currency),
        };
        let left = less(less(takings, tax)?, materials)?;
        Ok(StallLineOutput {
            name: self.name.clone(),
            sold: self.sold,
            taken: self.taken,
            back: self.back,
            given: self.given,
            spoilt: self.spoilt,
            missing: self.missing,
            takings: takings.to_string(),
            takings_in_currency: takings.to_f64(),
            materials: materials.to_string(),
            left: left.to_string(),
            left_in_currency: left.to_f64(),
            sell_through_percent: self
                .taken
                .and_then(|taken| share(u64::from(self.sold), u64::from(taken))),
        })
    }
}

/// `part` of `whole` in percent; none of nothing.
fn share(part: u64, whole: u64) -> Option<f64> {
    let part = Decimal::from(part).checked_mul(Decimal::ONE_HUNDRED)?;
    part.checked_div(Decimal::from(whole)).map(float)
}

/// The tin.
struct Cash {
    float: Money,
    out: Money,
    counted: Option<Money>,
    float_was_given: bool,
}

struct Read {
    day: MarketDay,
    lines: Vec<Line>,
    cash: Cash,
    no_cards: bool,
}

fn read(input: &MarketDayInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency("currency", input.currency.as_deref());
    if input.lines.is_empty() || input.lines.len() > MOST_LINES {
        reader.check.refuse(Problem::new(
            "lines",
            input.lines.len().to_string(),
            if input.lines.is_empty() {
                "nothing was on the stall"
            } else {
                "there are too many lines"
            },
            format!("give from 1 to {MOST_LINES} goods"),
        ));
        return Err(reader.check.into_problems());
    }
    let read_lines: Vec<_> = input.lines.iter().enumerate().collect();
    let lines: Vec<Line> = read_lines
        .into_iter()
        .filter_map(|(i, line)| Line::read(line, i, &mut reader))
        .collect();
    let taken = reader.optional_money("takings", input.takings.as_deref());
    let card_takings = reader.optional_money("card_takings", input.card_takings.as_deref());
    let cards = reader.optional_count("cards", input.cards.as_ref(), 0);
    let card_percent = reader.ratio_up_to("card_percent", input.card_percent.as_deref(), 100);
    let card_fixed = reader.optional_cost("card_fixed", input.card_fixed.as_deref());
    let tax = input.tax.as_ref();
    let tax = tax.and_then(|tax| tax.read("tax", &mut reader));
    let costs = [
        reader.optional_money("pitch_fee", input.pitch_fee.as_deref()),
        reader.optional_money("travel", input.travel.as_deref()),
        reader.optional_money("other", input.other.as_deref()),
    ];
    let hours = reader.time("hours", input.hours.as_deref());
    let making = reader.time("minutes_per_unit", input.minutes_per_unit.as_deref());
    let float = reader.optional_money("float", input.float.as_deref());
    let out = reader.optional_money("cash_out", input.cash_out.as_deref());
    let counted = reader.optional_money("cash_counted", input.cash_counted.as_deref());
    if card_fixed.is_some() && card_takings.is_some() && cards.is_none() {
        reader.check.refuse(Problem::new(
            "cards",
            "",
            "the number of payments by card is missing, and each costs a fixed fee",
            "write a whole number such as 9",
        ));
    }
    let currency = reader.currency();
    reader.check.finish()?;
    let currency = currency.ok_or(TooLarge)?;
    let nothing = Money::from_minor(0, currency);
    let costs = costs.into_iter().flatten().try_fold(nothing, plus)?;
    let day = MarketDay {
        currency,
        lines: lines
            .iter()
            .map(|line| StallLine {
                price: line.price,
                unit_cost: line.unit_cost,
                sold: line.sold,
                lost: line.lost(),
            })
            .collect(),
        taken,
        tax,
        card_takings: card_takings.unwrap_or(nothing),
        cards: cards.unwrap_or(0),
        card_percent: card_percent.unwrap_or(Ratio::ZERO),
        card_fixed: card_fixed.unwrap_or(Cost::zero(currency)),
        costs,
        hours: hours.map_or(TimeSpan::ZERO, |hours| hours.value()),
        making: making.map_or(TimeSpan::ZERO, |making| making.value()),
    };
    Ok(Read {
        day,
        lines,
        no_cards: card_takings.is_none(),
        cash: Cash {
            float: float.unwrap_or(nothing),
            out: out.unwrap_or(nothing),
            counted,
            float_was_given: filled(input.float.as_deref()).is_some(),
        },
    })
}

/// Finds what a day at a stall left.
///
/// # Errors
///
/// Every problem of the input together.
pub fn market_day(input: &MarketDayInput) -> Result<MarketDayOutput, Problems> {
    let read = read(input)?;
    let Read { day, lines, .. } = &read;
    let found = day.left()?;
    if day.card_takings.minor() > found.takings.minor() {
        return Err(Problem::new(
            "card_takings",
            day.card_takings.to_string(),
            format!("more was paid by card than the {} taken", found.takings),
            "write the part of the takings that was paid by card, or the takings themselves",
        )
        .into());
    }
    let mut working = Working::new();
    explain(&read, &found, &mut working);
    let cash = read.cash.reconcile(day, &found, &mut working)?;
    let shown = lines
        .iter()
        .map(|line| line.show(day.tax))
        .collect::<Result<Vec<_>, _>>()?;
    let taken: Option<u64> = lines.iter().map(|line| line.taken.map(u64::from)).sum();
    let hours = day.time(found.sold.saturating_add(found.gone))?;
    let hours = (!hours.is_zero())
        .then(|| hours.checked_div(HOUR_MS))
        .flatten();
    let difference = match day.taken {
        Some(taken) => Some(minus(taken, found.expected)?),
        None => None,
    };
    Ok(MarketDayOutput {
        currency: day.currency.code().to_owned(),
        sold: found.sold,
        takings: found.takings.to_string(),
        takings_in_currency: float(found.takings.major()),
        takings_difference: difference.map(|difference| difference.to_string()),
        tax: found.tax.to_string(),
        tax_in_currency: float(found.tax.major()),
        net: found.net.to_string(),
        card_fees: found.card_fees.to_string(),
        materials: found.materials.to_string(),
        lost: found.lost.to_string(),
        day_costs: found.costs.to_string(),
        left: found.left.to_string(),
        left_in_currency: float(found.left.major()),
        hours: hours.map(float),
        per_hour: found.per_hour.map(|cost| cost.to_string()),
        per_hour_in_currency: found.per_hour.map(Cost::to_f64),
        contribution: found.contribution.map(|cost| cost.to_string()),
        break_even_units: found.break_even.map(|units| units.to_string()),
        verdict: verdict(&found, cash.as_ref()),
        notes: notes(&read, &found, difference),
        cash,
        lines: shown,
        sell_through_percent: taken.and_then(|taken| share(found.sold, taken)),
        working,
    })
}

impl Cash {
    fn reconcile(
        &self,
        day: &MarketDay,
        found: &DayLeft,
        working: &mut Working,
    ) -> Result<Option<CashOutput>, TooLarge> {
        let Some(counted) = self.counted else {
            return Ok(None);
        };
        let Self {
            float: start, out, ..
        } = *self;
        let by_hand = minus(found.takings, day.card_takings)?;
        let expected = minus(plus(start, by_hand)?, out)?;
        let difference = minus(counted, expected)?;
        working.step(
            "Cash that should be in the tin",
            "float + takings - paid by card - paid out",
            format!("{start} + {} - {} - {out}", found.takings, day.card_takings),
            expected.to_string(),
            ARITHMETIC,
        );
        working.step(
            "Difference of the tin",
            "counted - expected",
            format!("{counted} - {expected}"),
            difference.to_string(),
            ARITHMETIC,
        );
        let said = match difference.minor() {
            0 => "as expected",
            ..0 => "short",
            _ => "over",
        };
        Ok(Some(CashOutput {
            expected: expected.to_string(),
            counted: counted.to_string(),
            difference: difference.to_string(),
            difference_in_currency: float(difference.major()),
            said: said.to_owned(),
        }))
    }
}

/// The lines as `count × figure`, the first few of many.
fn products(lines: &[Line], find: impl Fn(&Line) -> (u32, Cost)) -> String {
    const SHOWN: usize = 8;
    let all: Vec<String> = lines
        .iter()
        .map(find)
        .filter(|(units, _)| *units > 0)
        .map(|(units, each)| format!("{units} × {}", fine(each)))
        .collect();
    match all.get(..SHOWN) {
        Some(first) if all.len() > SHOWN => {
            format!("{} + {} more", first.join(" + "), all.len() - SHOWN)
        }
        _ if all.is_empty() => "none".to_owned(),
        _ => all.join(" + "),
    }
}

fn explain(read: &Read, found: &DayLeft, working: &mut Working) {
    let Read { day, lines, .. } = read;
    let on_top = day.tax.is_some_and(|tax| !tax.inside);
    working.step(
        "What the goods sold come to",
        if on_top {
            "sum of count × price + tax on top"
        } else {
            "sum of count × price"
        },
        products(lines, |line| (line.sold, line.price)),
        found.expected.to_string(),
        ARITHMETIC,
    );
    if let Some(taken) = day.taken {
        working.step(
            "Takings",
            "as counted",
            taken.to_string(),
            found.takings.to_string(),
            "your own count",
        );
    }
    if let Some(tax) = day.tax {
        let (formula, numbers) = if tax.inside || day.taken.is_some() {
            (
                "takings × rate ÷ (1 + rate)",
                format!("{} × {} ÷ (1 + {})", found.takings, tax.rate, tax.rate),
            )
        } else {
            (
                "price of what sold × rate",
                format!("{} × {}", found.net, tax.rate),
            )
        };
        working.step(
            "Tax in the takings",
            formula,
            numbers,
            found.tax.to_string(),
            "HM Revenue & Customs, Calculating VAT for VAT-inclusive and VAT-exclusive prices",
        );
        working.step(
            "Net: takings after tax",
            "takings - tax",
            format!("{} - {}", found.takings, found.tax),
            found.net.to_string(),
            ARITHMETIC,
        );
    }
    if day.card_takings.minor() != 0 {
        working.step(
            "Card fees",
            "paid by card × share + payments × fixed fee",
            format!(
                "{} × {} + {} × {}",
                day.card_takings,
                day.card_percent,
                day.cards,
                fine(day.card_fixed)
            ),
            found.card_fees.to_string(),
            "taken on what is paid by card, tax in it",
        );
    }
    working.step(
        "Materials of what sold",
        "sum of count × unit cost",
        products(lines, |line| (line.sold, line.unit_cost)),
        found.materials.to_string(),
        ARITHMETIC,
    );
    if found.gone > 0 {
        working.step(
            "Given away, spoilt and missing",
            "sum of count × unit cost",
            products(lines, |line| (line.lost(), line.unit_cost)),
            found.lost.to_string(),
            ARITHMETIC,
        );
    }
    working.step(
        "Left of the day",
        "net - card fees - materials - given away, spoilt and missing - day costs",
        format!(
            "{} - {} - {} - {} - {}",
            found.net, found.card_fees, found.materials, found.lost, found.costs
        ),
        found.left.to_string(),
        "each part rounded once, so that they add up to the takings",
    );
    if let Some(per_hour) = found.per_hour {
        let units = found.sold.saturating_add(found.gone);
        working.step(
            "Left per hour",
            "left × 60 ÷ (minutes of selling + units sold or gone × minutes of making)",
            format!(
                "{} × 60 ÷ ({} + {units} × {})",
                found.left,
                minutes_of(day.hours),
                minutes_of(day.making)
            ),
            per_hour.to_string(),
            ARITHMETIC,
        );
    }
    if let Some(each) = found.contribution {
        working.step(
            "What a unit leaves before the costs of the day",
            "(net - card fees - materials) ÷ units sold",
            format!(
                "({} - {} - {}) ÷ {}",
                found.net, found.card_fees, found.materials, found.sold
            ),
            fine(each),
            ARITHMETIC,
        );
        if let Some(units) = found.break_even {
            working.step(
                "Units that pay for the day",
                "day costs ÷ what a unit leaves, up to a whole one",
                format!("{} ÷ {}", found.costs, fine(each)),
                units.to_string(),
                "break-even point: fixed costs ÷ contribution of a unit",
            );
        }
    }
}

fn verdict(found: &DayLeft, cash: Option<&CashOutput>) -> String {
    let size = |cost: Cost| Cost::new(cost.major().abs(), cost.currency());
    let per_hour = found.per_hour.map_or_else(String::new, |per_hour| {
        format!(", {} an hour", size(per_hour))
    });
    let word = if found.left.minor() < 0 {
        "lost"
    } else {
        "left"
    };
    let mut said = vec![format!(
        "The day {word} {}{per_hour}.",
        size(found.left.cost())
    )];
    if found.tax.minor() > 0 {
        said.push(format!("Set {} aside for tax.", found.tax));
    }
    match cash {
        Some(cash) if cash.said == "as expected" => said.push("The tin is as expected.".to_owned()),
        Some(cash) => {
            let amount = cash.difference.trim_start_matches('-');
            said.push(format!("The tin is {amount} {}.", cash.said));
        }
        None => {}
    }
    said.join(" ")
}

fn notes(read: &Read, found: &DayLeft, difference: Option<Money>) -> Vec<String> {
    let mut notes = Vec::new();
    let Read {
        day, lines, cash, ..
    } = read;
    if let Some(difference) = difference.filter(|difference| difference.minor() != 0) {
        let amount = difference.cost().major().abs();
        let amount = Cost::new(amount, day.currency);
        notes.push(if difference.minor() < 0 {
            format!(
                "The takings are {amount} under what the goods come to: bundles, discounts, or a count that is off."
            )
        } else {
            format!(
                "The takings are {amount} over what the goods come to: a sale not counted, or a price that is off."
            )
        });
    }
    for line in lines {
        match line.missing {
            Some(missing) if missing > 0 => notes.push(format!(
                "{missing} of {} cannot be accounted for; their cost is taken off.",
                line.name
            )),
            _ => {}
        }
    }
    if read.no_cards {
        notes.push("No payments by card were given, so no card fees are taken off.".to_owned());
    }
    if day.tax.is_none() {
        notes.push("No tax was given, so none is set aside.".to_owned());
    }
    if cash.counted.is_some() && !cash.float_was_given {
        notes.push("No float was given; the tin is taken to have started empty.".to_owned());
    }
    if found.per_hour.is_none() {
        notes.push("No time was given, so what an hour earned is not known.".to_owned());
    }
    if found.break_even.is_none() && found.costs.minor() > 0 {
        notes.push(format!(
            "No number of units pays for the {} of the day at what they leave.",
            found.costs
        ));
    }
    if let (Some(units), Some(contribution)) = (found.break_even, found.contribution)
        && found.costs.minor() > 0
    {
        notes.push(format!(
            "{units} units pay for the day, each leaving {contribution} before its costs{}.",
            if Decimal::from(found.sold) < units {
                format!("; {} sold", found.sold)
            } else {
                String::new()
            }
        ));
    }
    if let Some(through) = lines
        .iter()
        .filter_map(|line| {
            let taken = line.taken.filter(|taken| *taken > 0)?;
            Some((Decimal::from(line.sold) / Decimal::from(taken), line))
        })
        .max_by_key(|(through, _)| *through)
        .filter(|_| lines.len() > 1)
    {
        notes.push(format!(
            "{} sold through best: {} of what was taken.",
            through.1.name,
            percent(through.0.saturating_mul(Decimal::ONE_HUNDRED))
        ));
    }
    notes
}
