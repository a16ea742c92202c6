//! The calculation `compare-formats`: what the same wax earns, format beside
//! format.

use measure::{
    Cost, Decimal, Mass, MassUnit, Money, Problem, Problems, TimeSpan, TimeUnit, Typed, Working,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::compare::{Earnings, EarnsMore, Format};
use crate::range::Prices;
use crate::reader::Reader;
use crate::shown::{Amounts, PricesInput, fine, known};

/// The name of the calculation.
pub const COMPARE_FORMATS: &str = "compare-formats";

/// More formats than anyone reads side by side.
const MOST_FORMATS: usize = 20;

const ARITHMETIC: &str = "arithmetic";
const UNKNOWN: &str = "not known";

/// Formats to compare, each made from the same wax.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CompareFormatsInput {
    /// The wax each batch is made from: `16 oz`. Without it nothing is said
    /// per pound.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wax: Option<String>,
    /// The currency of amounts written without a code: `USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// Wage per hands-on hour: `18 USD`. Without it time is not charged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wage: Option<String>,
    /// The formats. The first is the one the others are compared with: the
    /// one already sold.
    #[serde(default)]
    pub formats: Vec<FormatInput>,
}

/// One format.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FormatInput {
    /// What it is called: `bar`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Units the wax makes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub units: Option<Number>,
    /// What a unit sells for.
    #[serde(default)]
    pub price: PricesInput,
    /// What a unit costs: `1.10 USD`. With a wage given, the material cost;
    /// time is then added to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<String>,
    /// Hands-on time for the batch: `40 min`. Without it nothing is said per
    /// hour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<String>,
}

/// The formats side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CompareFormatsOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// The wax each batch is made from.
    pub wax: Option<String>,
    /// The wax in grams.
    pub wax_grams: Option<f64>,
    /// What each format earns, in the order given.
    pub formats: Vec<FormatOutput>,
    /// For each format after the first, the prices at which it earns what the
    /// first one does.
    pub equal_at: Vec<EqualAt>,
    /// Whether the other formats earn more, in a sentence or two each.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// What one format earns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FormatOutput {
    /// What it is called.
    pub name: String,
    /// Units the wax makes.
    pub units: u32,
    /// What a unit sells for.
    pub price: Amounts,
    /// What a unit costs.
    pub unit_cost: String,
    /// What a unit costs, in the currency.
    pub unit_cost_in_currency: f64,
    /// Takings of the batch: units × price.
    pub revenue: Amounts,
    /// Cost of the batch: units × unit cost.
    pub cost: String,
    /// Cost of the batch, in the currency.
    pub cost_in_currency: f64,
    /// Hands-on time for the batch; none when it was not given.
    pub time: Option<String>,
    /// Hands-on time in minutes.
    pub time_minutes: Option<f64>,
    /// What the time is worth at the wage; none without a wage or a time.
    pub labour: Option<String>,
    /// What the time is worth, in the currency.
    pub labour_in_currency: Option<f64>,
    /// Revenue less cost and labour; below zero for a loss.
    pub profit: Amounts,
    /// Profit per pound of wax; none when there is none.
    pub profit_per_lb: Option<Amounts>,
    /// Profit per kilogram of wax; none when there is none.
    pub profit_per_kg: Option<Amounts>,
    /// Profit per hands-on hour; none when no time is known.
    pub profit_per_hour: Option<Amounts>,
    /// What an hour pays: profit and wage together, per hands-on hour.
    pub pays_per_hour: Option<Amounts>,
}

/// The prices at which a format earns what the first one does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EqualAt {
    /// The format whose price this is.
    pub format: String,
    /// The first format, at whose low, typical and high price they agree.
    pub against: String,
    /// The price at which a batch earns the same; none without units to sell.
    pub per_batch: Option<Amounts>,
    /// The price at which a hands-on hour earns the same; none without units
    /// or time.
    pub per_hour: Option<Amounts>,
    /// Whether a batch of it earns more, whatever both sell for within their
    /// ranges.
    pub more_per_batch: EarnsMore,
    /// Whether an hour of it earns more; none when that is not known.
    pub more_per_hour: Option<EarnsMore>,
}

/// Compares formats made from the same wax.
///
/// # Errors
///
/// Every problem of the input together.
pub fn compare_formats(input: &CompareFormatsInput) -> Result<CompareFormatsOutput, Problems> {
    let Read { wax, wage, formats } = read(input)?;
    let currency = formats
        .first()
        .map(|format| format.unit_cost.currency())
        .expect("the reader asked for two formats");
    let wax_value = wax.as_ref().map(Typed::value);

    let mut working = Working::new();
    let mut earned = Vec::with_capacity(formats.len());
    let mut shown = Vec::with_capacity(formats.len());
    for format in &formats {
        let earnings = format.prices.each(|price| format.at(price, wax_value))?;
        shown.push(show(format, &earnings)?);
        explain(format, &earnings.typical, wax.as_ref(), &mut working)?;
        earned.push(earnings);
    }

    let mut equal_at = Vec::new();
    let mut verdicts = Vec::new();
    let pairs: Vec<_> = formats.iter().zip(&earned).collect();
    if let Some(((old, old_earned), others)) = pairs.split_first() {
        for (new, new_earned) in others {
            let agreement = Agreement::find(old_earned, new, new_earned)?;
            agreement.explain(old, old_earned, new, &mut working)?;
            verdicts.push(agreement.verdict(old, new));
            equal_at.push(agreement.show(old, new));
        }
    }

    let mut notes = Vec::new();
    if wage.is_some() {
        notes.push(
            "The wage is charged on top of the unit cost, so the unit cost should hold no time."
                .to_owned(),
        );
    } else if formats.iter().any(|format| format.some_time().is_some()) {
        notes.push("No wage was given, so the profit is before your own time is paid.".to_owned());
    }
    for format in &formats {
        if format.some_time().is_none() {
            notes.push(format!(
                "What an hour earns is not known for {}: no hands-on time is given for it.",
                format.name
            ));
        }
        if format.units == 0 {
            notes.push(format!(
                "{} makes no units from this wax, so no price can make up for it.",
                format.name
            ));
        }
    }
    Ok(CompareFormatsOutput {
        currency: currency.code().to_owned(),
        wax_grams: wax_value.map(Mass::grams),
        wax: wax.map(|wax| wax.to_string()),
        formats: shown,
        equal_at,
        verdict: verdicts.join(" "),
        notes,
        working,
    })
}

struct Read {
    wax: Option<Typed<Mass>>,
    wage: Option<Cost>,
    formats: Vec<Format>,
}

fn read(input: &CompareFormatsInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    let wax = reader
        .check
        .optional("wax", input.wax.as_deref(), Typed::<Mass>::parse);
    reader.own_currency("currency", input.currency.as_deref());
    let wage = reader.optional_cost("wage", input.wage.as_deref());
    if input.formats.len() < 2 {
        reader.check.refuse(Problem::new(
            "formats",
            input.formats.len().to_string(),
            "there is nothing to compare",
            "give two formats or more",
        ));
    }
    if input.formats.len() > MOST_FORMATS {
        reader.check.refuse(Problem::new(
            "formats",
            input.formats.len().to_string(),
            "there are too many to read side by side",
            format!("give at most {MOST_FORMATS} formats"),
        ));
        return Err(reader.check.into_problems());
    }
    let mut formats = Vec::with_capacity(input.formats.len());
    for (i, format) in input.formats.iter().enumerate() {
        let at = |field: &str| format!("formats[{i}].{field}");
        let name = reader.name(&at("name"), format.name.as_deref());
        let units = reader.count(&at("units"), format.units.as_ref(), 0);
        let prices = format.price.read(&at("price"), &mut reader);
        let unit_cost = reader.cost(&at("unit_cost"), format.unit_cost.as_deref());
        let time = reader.time(&at("minutes"), format.minutes.as_deref());
        if let (Some(name), Some(units), Some(prices), Some(unit_cost)) =
            (name, units, prices, unit_cost)
        {
            formats.push(Format {
                name,
                units,
                prices,
                unit_cost,
                time: time.map(|time| time.value()),
                wage,
            });
        }
    }
    reader.check.finish()?;
    Ok(Read { wax, wage, formats })
}

fn of(earnings: &Prices<Earnings>, find: impl Fn(&Earnings) -> Cost) -> Prices<Cost> {
    Prices {
        low: earnings.low.as_ref().map(&find),
        typical: find(&earnings.typical),
        high: earnings.high.as_ref().map(&find),
    }
}

fn maybe_of(
    earnings: &Prices<Earnings>,
    find: impl Fn(&Earnings) -> Option<Cost>,
) -> Option<Prices<Cost>> {
    known(Prices {
        low: earnings.low.as_ref().map(&find),
        typical: find(&earnings.typical),
        high: earnings.high.as_ref().map(&find),
    })
}

fn show(format: &Format, earnings: &Prices<Earnings>) -> Result<FormatOutput, Problems> {
    let cost = format.cost()?;
    let labour = match (format.time, format.wage) {
        (Some(_), Some(_)) => Some(format.labour()?),
        _ => None,
    };
    Ok(FormatOutput {
        name: format.name.clone(),
        units: format.units,
        price: format.prices.into(),
        unit_cost: format.unit_cost.to_string(),
        unit_cost_in_currency: format.unit_cost.to_f64(),
        revenue: of(earnings, |at| at.revenue).into(),
        cost: cost.to_string(),
        cost_in_currency: cost.to_f64(),
        time: format.time.map(minutes_of),
        time_minutes: format.time.map(TimeSpan::minutes),
        labour: labour.map(|labour| labour.to_string()),
        labour_in_currency: labour.map(Cost::to_f64),
        profit: of(earnings, |at| at.profit).into(),
        profit_per_lb: maybe_of(earnings, |at| at.per_pound).map(Amounts::from),
        profit_per_kg: maybe_of(earnings, |at| at.per_kilogram).map(Amounts::from),
        profit_per_hour: maybe_of(earnings, |at| at.per_hour).map(Amounts::from),
        pays_per_hour: maybe_of(earnings, |at| at.pays_per_hour).map(Amounts::from),
    })
}

/// A time in minutes, to the tenth: `40 min`.
pub(crate) fn minutes_of(time: TimeSpan) -> String {
    let minutes = time.to_decimal(TimeUnit::Minute).round_dp(1);
    format!("{} min", minutes.normalize())
}

fn explain(
    format: &Format,
    typical: &Earnings,
    wax: Option<&Typed<Mass>>,
    working: &mut Working,
) -> Result<(), Problems> {
    let Format { name, units, .. } = format;
    let price = format.prices.typical;
    working.step(
        format!("Takings of a batch: {name}"),
        "units × typical price",
        format!("{units} × {price}"),
        typical.revenue.to_string(),
        ARITHMETIC,
    );
    let cost = format.cost()?;
    working.step(
        format!("Cost of a batch: {name}"),
        "units × unit cost",
        format!("{units} × {}", fine(format.unit_cost)),
        cost.to_string(),
        ARITHMETIC,
    );
    let labour = match (format.time, format.wage) {
        (Some(time), Some(wage)) => {
            let labour = format.labour()?;
            working.step(
                format!("Hands-on time of a batch: {name}"),
                "minutes × wage ÷ 60",
                format!("{} × {wage} ÷ 60", minutes_of(time)),
                labour.to_string(),
                ARITHMETIC,
            );
            Some(labour)
        }
        _ => None,
    };
    let (formula, numbers) = match labour {
        Some(labour) => (
            "takings - cost - hands-on time",
            format!("{} - {cost} - {labour}", typical.revenue),
        ),
        None => ("takings - cost", format!("{} - {cost}", typical.revenue)),
    };
    working.step(
        format!("Profit of a batch: {name}"),
        formula,
        numbers,
        typical.profit.to_string(),
        ARITHMETIC,
    );
    if let (Some(per_pound), Some(wax)) = (typical.per_pound, wax) {
        let pounds = wax.value().typed(MassUnit::Pound, 3);
        working.step(
            format!("Profit per pound of wax: {name}"),
            "profit ÷ wax",
            format!("{} ÷ {pounds}", typical.profit),
            per_pound.to_string(),
            "1 lb = 0.453 592 37 kg, NIST SP 811 (2008), Appendix B",
        );
    }
    if let (Some(per_hour), Some(time)) = (typical.per_hour, format.time) {
        working.step(
            format!("Profit per hands-on hour: {name}"),
            "profit × 60 ÷ minutes",
            format!("{} × 60 ÷ {}", typical.profit, minutes_of(time)),
            per_hour.to_string(),
            ARITHMETIC,
        );
    }
    Ok(())
}

/// Where a format stands against the first one.
struct Agreement {
    per_batch: Option<Prices<Cost>>,
    per_hour: Option<Prices<Cost>>,
    more_per_batch: EarnsMore,
    more_per_hour: Option<EarnsMore>,
    /// What a batch earns more at the typical prices, in whole minor units.
    batch_gain: Cost,
    /// What an hour earns more.
    hour_gain: Option<Cost>,
}

impl Agreement {
    fn find(
        old_earned: &Prices<Earnings>,
        new: &Format,
        new_earned: &Prices<Earnings>,
    ) -> Result<Self, Problems> {
        let old_profit = of(old_earned, |at| at.profit);
        let new_profit = of(new_earned, |at| at.profit);
        let old_hourly = maybe_of(old_earned, |at| at.per_hour);
        let new_hourly = maybe_of(new_earned, |at| at.per_hour);
        let per_hour = match old_hourly {
            Some(hourly) => known(hourly.each(|hourly| new.price_for_hourly(hourly))?),
            None => None,
        };
        let gain = |new: Cost, old: Cost| crate::arithmetic::less(new, old);
        let hourly = new_hourly.zip(old_hourly);
        Ok(Self {
            per_batch: known(old_profit.each(|profit| new.price_for_profit(profit))?),
            per_hour,
            more_per_batch: EarnsMore::of(new_profit, old_profit),
            more_per_hour: hourly.map(|(new, old)| EarnsMore::of(new, old)),
            batch_gain: gain(new_profit.typical, old_profit.typical)?,
            hour_gain: hourly
                .map(|(new, old)| gain(new.typical, old.typical))
                .transpose()?,
        })
    }

    fn explain(
        &self,
        old: &Format,
        old_earned: &Prices<Earnings>,
        new: &Format,
        working: &mut Working,
    ) -> Result<(), Problems> {
        let cost = new.cost()?;
        let labour = new.labour()?;
        let profit = old_earned.typical.profit;
        let result = |prices: Option<Prices<Cost>>| {
            prices.map_or_else(|| UNKNOWN.to_owned(), |prices| prices.typical.to_string())
        };
        working.step(
            format!(
                "Price at which a batch of {} earns what {} does",
                new.name, old.name
            ),
            "(profit of the first + cost + hands-on time) ÷ units",
            format!(
                "({} + {} + {}) ÷ {}",
                fine(profit),
                fine(cost),
                fine(labour),
                new.units
            ),
            result(self.per_batch),
            "equal profit: units × price - cost - time, set equal for both and solved for the price",
        );
        if let (Some(hourly), Some(time)) = (old_earned.typical.per_hour, new.some_time()) {
            working.step(
                format!(
                    "Price at which an hour of {} earns what {} does",
                    new.name, old.name
                ),
                "(profit per hour of the first × minutes ÷ 60 + cost + hands-on time) ÷ units",
                format!(
                    "({} × {} ÷ 60 + {} + {}) ÷ {}",
                    fine(hourly),
                    minutes_of(time),
                    fine(cost),
                    fine(labour),
                    new.units
                ),
                result(self.per_hour),
                "equal profit per hour, solved for the price",
            );
        }
        Ok(())
    }

    fn show(&self, old: &Format, new: &Format) -> EqualAt {
        EqualAt {
            format: new.name.clone(),
            against: old.name.clone(),
            per_batch: self.per_batch.map(Amounts::from),
            per_hour: self.per_hour.map(Amounts::from),
            more_per_batch: self.more_per_batch,
            more_per_hour: self.more_per_hour,
        }
    }

    fn verdict(&self, old: &Format, new: &Format) -> String {
        let batch = Gain::of(self.batch_gain);
        let hour = match self.hour_gain.map(Gain::of) {
            None => "; what an hour earns is not known".to_owned(),
            Some(hour) if hour.is_with(&batch) => format!(" and {} an hour", hour.say()),
            Some(hour) => format!(", but {} an hour", hour.say()),
        };
        let than = if batch == Gain::Same { "as" } else { "than" };
        let mut said = format!(
            "At their typical prices the {} earns {} a batch {than} the {}{hour}.",
            new.name,
            batch.say(),
            old.name
        );
        let price = |at: Cost| {
            if at.major() < Decimal::ZERO {
                "any price".to_owned()
            } else {
                at.to_string()
            }
        };
        if let Some(batch_at) = self.per_batch.map(|prices| prices.typical) {
            let hour_at = self.per_hour.map_or_else(String::new, |prices| {
                format!(" and as much an hour at {}", price(prices.typical))
            });
            said = format!(
                "{said} It would earn as much a batch at {}{hour_at}.",
                price(batch_at)
            );
        }
        said
    }
}

/// What is earned more, as it is said.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Gain {
    More(Cost),
    Less(Cost),
    Same,
}

impl Gain {
    /// Judges by what is shown, so that "0.00 more" is never said.
    fn of(gain: Cost) -> Self {
        let minor = gain.rounded().map_or(0, Money::minor);
        match minor {
            0 if gain.rounded().is_some() => Self::Same,
            _ if gain.major() > Decimal::ZERO => Self::More(gain),
            _ => Self::Less(gain.times(Decimal::NEGATIVE_ONE)),
        }
    }

    fn say(&self) -> String {
        match self {
            Self::More(gain) => format!("{gain} more"),
            Self::Less(gain) => format!("{gain} less"),
            Self::Same => "the same".to_owned(),
        }
    }

    const fn is_with(&self, other: &Self) -> bool {
        matches!(
            (self, other),
            (Self::More(_), Self::More(_))
                | (Self::Less(_), Self::Less(_))
                | (Self::Same, Self::Same)
        )
    }
}
