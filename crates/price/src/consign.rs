//! A firm order beside sale or return: the calculation `sale-or-return`.
//!
//! A shop that orders firmly pays the trade price for every unit at once. On
//! sale or return it pays the maker's share of the price for what sells; what
//! does not comes back, fit to be sold again, except for what is spoiled.

use measure::{Cost, Decimal, Problem, Problems, Quantity, Ratio, TimeSpan, TimeUnit, Working};
use measure::{Reading, parse_in};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, add, less, mul, scaled, sub};
use crate::compare::EarnsMore;
use crate::reader::{Reader, filled};
use crate::shown::{fine, float, percent};

/// The name of the calculation.
pub const SALE_OR_RETURN: &str = "sale-or-return";

const ARITHMETIC: &str = "arithmetic";

/// A firm order. All amounts are in one currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Firm {
    /// Units ordered.
    pub units: u32,
    /// What a unit is paid at.
    pub paid: Cost,
    /// What the deliveries cost together.
    pub deliveries: Cost,
}

impl Firm {
    /// What the order leaves: units × (paid - unit cost) - deliveries.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn left(&self, unit_cost: Cost) -> Result<Cost, TooLarge> {
        let each = less(self.paid, unit_cost)?;
        let units = mul(each.major(), Decimal::from(self.units))?;
        less(Cost::new(units, each.currency()), self.deliveries)
    }
}

/// Units left with a shop on sale or return.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SaleOrReturn {
    /// Units left with the shop.
    pub units: u32,
    /// What a unit is paid at when it sells.
    pub paid: Cost,
    /// What deliveries and collections cost together.
    pub deliveries: Cost,
    /// Units that come back unfit to be sold.
    pub spoiled: u32,
}

impl SaleOrReturn {
    /// What is left when `sold` units sell: sold × (paid - unit cost) -
    /// deliveries - spoiled × unit cost. What comes back keeps its worth.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn left(&self, unit_cost: Cost, sold: Decimal) -> Result<Cost, TooLarge> {
        let each = less(self.paid, unit_cost)?;
        let earned = Cost::new(mul(each.major(), sold)?, each.currency());
        less(less(earned, self.deliveries)?, self.lost(unit_cost)?)
    }

    /// What the spoiled units cost.
    fn lost(&self, unit_cost: Cost) -> Result<Cost, TooLarge> {
        let lost = mul(unit_cost.major(), Decimal::from(self.spoiled))?;
        Ok(Cost::new(lost, unit_cost.currency()))
    }

    /// The least number of units that have to sell to leave `wanted`; none
    /// when it is more than can sell.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn sold_for(&self, unit_cost: Cost, wanted: Cost) -> Result<Option<u32>, TooLarge> {
        use rust_decimal::prelude::ToPrimitive;
        let each = sub(self.paid.major(), unit_cost.major())?;
        let out = add(self.deliveries.major(), self.lost(unit_cost)?.major())?;
        let needed = add(wanted.major(), out)?;
        if needed <= Decimal::ZERO {
            return Ok(Some(0));
        }
        if each <= Decimal::ZERO {
            return Ok(None);
        }
        let sold = scaled(needed, Decimal::ONE, each)?.round_dp(12).ceil();
        let most = self.units.saturating_sub(self.spoiled);
        Ok(sold.to_u32().filter(|sold| *sold <= most))
    }
}

/// How long money takes to come, on average over what sells, when units sell
/// evenly over `days` and each count is paid `paid_after` later. Counts are
/// `every` so long, and one on the last day; one alone without it.
///
/// # Errors
///
/// [`TooLarge`] when it cannot be held.
pub fn days_to_money(
    days: TimeSpan,
    every: Option<TimeSpan>,
    paid_after: TimeSpan,
) -> Result<Decimal, TooLarge> {
    let whole = Decimal::from(days.smallest());
    let after = Decimal::from(paid_after.smallest());
    let every = every
        .filter(|every| !every.is_zero() && *every < days)
        .map_or(whole, |every| Decimal::from(every.smallest()));
    let waited = if whole.is_zero() {
        Decimal::ZERO
    } else {
        // Full spells end at 1, 2 … n times `every`, the last one at the end.
        let full = scaled(whole, Decimal::ONE, every)?.floor();
        let spells = mul(mul(full, add(full, Decimal::ONE)?)?, mul(every, every)?)? / Decimal::TWO;
        let rest = sub(whole, mul(full, every)?)?;
        scaled(add(spells, mul(rest, whole)?)?, Decimal::ONE, whole)?
    };
    let day = TimeUnit::Day.factor();
    scaled(add(waited, after)?, Decimal::ONE, day)
}

/// Two offers of one shop.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SaleOrReturnInput {
    /// The currency of amounts written without a code: `GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What the shop asks for a unit: `12.00 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retail: Option<String>,
    /// What a unit costs, time in it: `4.45 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<String>,
    /// Units ordered, or left with the shop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub units: Option<Number>,
    /// The firm order.
    #[serde(default)]
    pub firm: FirmInput,
    /// The sale or return.
    #[serde(default)]
    pub sale_or_return: ReturnInput,
}

/// A firm order, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FirmInput {
    /// What the shop pays for a unit: `6.00 GBP`. Either this or `discount`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// Trade discount off the retail price: `50 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub discount: Option<String>,
    /// How often it is delivered; once unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub deliveries: Option<Number>,
    /// What one delivery costs: `4.50 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delivery: Option<String>,
    /// How long after it the shop pays: `30 d`; at once unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid_after: Option<String>,
}

/// A sale or return, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReturnInput {
    /// Your share of the retail price when a unit sells: `65 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<String>,
    /// How often it is delivered and collected; once unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub deliveries: Option<Number>,
    /// What one delivery costs: `4.50 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delivery: Option<String>,
    /// How much of it sells: `70 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sold: Option<String>,
    /// How little of it may sell. May be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sold_low: Option<String>,
    /// How much of it may sell. May be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sold_high: Option<String>,
    /// Units that come back unfit to be sold; none unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub spoiled: Option<Number>,
    /// How long the units stay: `90 d`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<String>,
    /// How often what sold is counted and asked for: `30 d`; once, at the end,
    /// unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count_every: Option<String>,
    /// How long after a count the shop pays: `7 d`; at once unless it is
    /// given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid_after: Option<String>,
}

/// The two offers side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SaleOrReturnOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// The firm order.
    pub firm: OfferOutput,
    /// The sale or return, at `sold`.
    pub sale_or_return: OfferOutput,
    /// What sale or return leaves when as little sells as `sold_low` says.
    pub left_low: Option<String>,
    /// What it leaves when as much sells as `sold_high` says.
    pub left_high: Option<String>,
    /// What sale or return leaves more; below zero for less.
    pub more: String,
    /// The same, in the currency.
    pub more_in_currency: f64,
    /// Units that have to sell for sale or return to leave as much; none when
    /// even all would not.
    pub equal_at: Option<u32>,
    /// The same as a share of the units.
    pub equal_at_percent: Option<f64>,
    /// Whether sale or return leaves more, however much of the range sells;
    /// `not_proven` too when no range was given.
    pub leaves_more: EarnsMore,
    /// The answer in a sentence or two.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// What one offer comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OfferOutput {
    /// What a unit is paid at.
    pub paid: String,
    /// What a unit is paid at, in the currency.
    pub paid_in_currency: f64,
    /// Units paid for.
    pub units: f64,
    /// What the deliveries cost.
    pub deliveries: String,
    /// What is left.
    pub left: String,
    /// What is left, in the currency.
    pub left_in_currency: f64,
    /// Days until the money comes, on average over what is paid for.
    pub days_to_money: f64,
}

struct Read {
    retail: Cost,
    unit_cost: Cost,
    firm: Firm,
    firm_after: TimeSpan,
    discount: Option<Ratio>,
    consigned: SaleOrReturn,
    share: Ratio,
    sold: Ratio,
    sold_low: Option<Ratio>,
    sold_high: Option<Ratio>,
    days: TimeSpan,
    count_every: Option<TimeSpan>,
    paid_after: TimeSpan,
}

fn days(reader: &mut Reader, field: &str, text: Option<&str>) -> Option<TimeSpan> {
    let time = reader.check.optional(field, text, |text| {
        parse_in::<TimeSpan>(text, TimeUnit::Day, Reading::PLAIN)
    });
    time.map(|time| time.value())
}

fn deliveries(
    reader: &mut Reader,
    at: &str,
    count: Option<&Number>,
    each: Option<&str>,
) -> Option<Decimal> {
    let count = reader.optional_count(&format!("{at}.deliveries"), count, 0);
    let each = reader.optional_cost(&format!("{at}.delivery"), each)?;
    each.major().checked_mul(Decimal::from(count.unwrap_or(1)))
}

/// A share that must be there.
fn share(reader: &mut Reader, field: &str, text: Option<&str>, example: &str) -> Option<Ratio> {
    if filled(text).is_none() {
        reader.check.refuse(Problem::new(
            field,
            "",
            "a percentage is missing",
            format!("write a percentage such as {example}"),
        ));
    }
    reader.ratio_up_to(field, text, 100)
}

fn read(input: &SaleOrReturnInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency("currency", input.currency.as_deref());
    let retail = reader.cost("retail", input.retail.as_deref());
    let unit_cost = reader.cost("unit_cost", input.unit_cost.as_deref());
    let units = reader.count("units", input.units.as_ref(), 1);

    let firm = &input.firm;
    let price = reader.optional_cost("firm.price", firm.price.as_deref());
    let discount = reader.ratio_up_to("firm.discount", firm.discount.as_deref(), 100);
    let given = [&firm.price, &firm.discount];
    let given = given.map(|text| filled(text.as_deref()).is_some());
    if given[0] == given[1] {
        reader.check.refuse(Problem::new(
            "firm.price",
            firm.price.as_deref().unwrap_or_default(),
            if given[0] {
                "the price is given twice, as an amount and as a discount"
            } else {
                "what the shop pays is missing"
            },
            "write either price, such as 6.00 GBP, or discount, such as 50 %",
        ));
    }
    let firm_delivery = deliveries(
        &mut reader,
        "firm",
        firm.deliveries.as_ref(),
        firm.delivery.as_deref(),
    );
    let firm_after = days(&mut reader, "firm.paid_after", firm.paid_after.as_deref());

    let back = &input.sale_or_return;
    let at = |field: &str| format!("sale_or_return.{field}");
    let maker = share(&mut reader, &at("share"), back.share.as_deref(), "65 %");
    let delivery = deliveries(
        &mut reader,
        "sale_or_return",
        back.deliveries.as_ref(),
        back.delivery.as_deref(),
    );
    let sold = share(&mut reader, &at("sold"), back.sold.as_deref(), "70 %");
    let sold_low = reader.ratio_up_to(&at("sold_low"), back.sold_low.as_deref(), 100);
    let sold_high = reader.ratio_up_to(&at("sold_high"), back.sold_high.as_deref(), 100);
    let spoiled = reader.optional_count(&at("spoiled"), back.spoiled.as_ref(), 0);
    let spoiled = spoiled.unwrap_or(0);
    let stay = days(&mut reader, &at("days"), back.days.as_deref());
    let count_every = days(&mut reader, &at("count_every"), back.count_every.as_deref());
    let paid_after = days(&mut reader, &at("paid_after"), back.paid_after.as_deref());
    if let (Some(sold), Some(low)) = (sold, sold_low)
        && low > sold
    {
        reader.check.refuse(Problem::new(
            at("sold_low"),
            back.sold_low.as_deref().unwrap_or_default(),
            "this is more than what is said to sell",
            "write a share no higher than sold",
        ));
    }
    if let (Some(sold), Some(high)) = (sold, sold_high)
        && high < sold
    {
        reader.check.refuse(Problem::new(
            at("sold_high"),
            back.sold_high.as_deref().unwrap_or_default(),
            "this is less than what is said to sell",
            "write a share no lower than sold",
        ));
    }
    if let (Some(units), Some(sold)) = (units, sold_high.or(sold)) {
        let gone = sold.decimal() * Decimal::from(units) + Decimal::from(spoiled);
        if gone > Decimal::from(units) {
            reader.check.refuse(Problem::new(
                at("spoiled"),
                spoiled.to_string(),
                format!("more is sold and spoiled than the {units} units there are"),
                "write fewer spoiled units or a smaller share sold",
            ));
        }
    }
    reader.check.finish()?;
    let (Some(retail), Some(unit_cost), Some(units), Some(maker), Some(sold)) =
        (retail, unit_cost, units, maker, sold)
    else {
        return Err(Problems::from(TooLarge));
    };
    let currency = retail.currency();
    let cost = |major: Decimal| Cost::new(major, currency);
    let paid = match (price, discount) {
        (Some(price), _) => price,
        (None, discount) => {
            let off = discount.unwrap_or_default().decimal();
            cost(mul(retail.major(), sub(Decimal::ONE, off)?)?)
        }
    };
    Ok(Read {
        retail,
        unit_cost,
        firm: Firm {
            units,
            paid,
            deliveries: cost(firm_delivery.unwrap_or_default()),
        },
        firm_after: firm_after.unwrap_or_default(),
        discount,
        consigned: SaleOrReturn {
            units,
            paid: cost(mul(retail.major(), maker.decimal())?),
            deliveries: cost(delivery.unwrap_or_default()),
            spoiled,
        },
        share: maker,
        sold,
        sold_low,
        sold_high,
        days: stay.unwrap_or_default(),
        count_every,
        paid_after: paid_after.unwrap_or_default(),
    })
}

/// Sets a firm order beside sale or return.
///
/// # Errors
///
/// Every problem of the input together.
pub fn sale_or_return(input: &SaleOrReturnInput) -> Result<SaleOrReturnOutput, Problems> {
    let read = read(input)?;
    let Read {
        unit_cost,
        firm,
        consigned,
        ..
    } = &read;
    let units = Decimal::from(firm.units);
    let sold = mul(read.sold.decimal(), units)?;
    let left_at = |share: Option<Ratio>| -> Result<Option<Cost>, TooLarge> {
        let Some(share) = share else { return Ok(None) };
        consigned
            .left(*unit_cost, mul(share.decimal(), units)?)
            .map(Some)
    };
    let firm_left = firm.left(*unit_cost)?;
    let left = consigned.left(*unit_cost, sold)?;
    let (left_low, left_high) = (left_at(read.sold_low)?, left_at(read.sold_high)?);
    let more = less(left, firm_left)?;
    let equal_at = consigned.sold_for(*unit_cost, firm_left)?;
    let leaves_more = match (left_low, left_high) {
        (Some(low), _) if low.major() > firm_left.major() => EarnsMore::Yes,
        (_, Some(high)) if high.major() < firm_left.major() => EarnsMore::No,
        _ => EarnsMore::NotProven,
    };
    let firm_days = days_to_money(TimeSpan::ZERO, None, read.firm_after)?;
    let sold_days = days_to_money(read.days, read.count_every, read.paid_after)?;

    let mut working = Working::new();
    explain(&read, sold, firm_left, left, equal_at, &mut working)?;
    explain_days(&read, firm_days, sold_days, &mut working);
    let offer =
        |paid: Cost, units: Decimal, deliveries: Cost, left: Cost, days: Decimal| OfferOutput {
            paid: paid.to_string(),
            paid_in_currency: paid.to_f64(),
            units: float(units),
            deliveries: deliveries.to_string(),
            left: left.to_string(),
            left_in_currency: left.to_f64(),
            days_to_money: float(days.round_dp(1)),
        };
    let equal_share = match equal_at {
        Some(at) => Some(scaled(Decimal::from(at), Decimal::ONE_HUNDRED, units)?),
        None => None,
    };
    Ok(SaleOrReturnOutput {
        currency: unit_cost.currency().code().to_owned(),
        firm: offer(firm.paid, units, firm.deliveries, firm_left, firm_days),
        sale_or_return: offer(consigned.paid, sold, consigned.deliveries, left, sold_days),
        left_low: left_low.map(|left| left.to_string()),
        left_high: left_high.map(|left| left.to_string()),
        more: more.to_string(),
        more_in_currency: more.to_f64(),
        equal_at,
        equal_at_percent: equal_share.map(float),
        leaves_more,
        verdict: verdict(&read, more, equal_at, sub(sold_days, firm_days)?),
        notes: notes(&read, leaves_more),
        working,
    })
}

fn explain(
    read: &Read,
    sold: Decimal,
    firm_left: Cost,
    left: Cost,
    equal_at: Option<u32>,
    working: &mut Working,
) -> Result<(), TooLarge> {
    let Read {
        retail,
        unit_cost,
        firm,
        consigned,
        ..
    } = read;
    if let Some(discount) = read.discount {
        working.step(
            "Paid for a unit, firm",
            "retail price × (1 - discount)",
            format!("{retail} × (1 - {discount})"),
            fine(firm.paid),
            "a trade discount is taken off the price",
        );
    }
    working.step(
        "Paid for a unit that sells, on sale or return",
        "retail price × your share",
        format!("{retail} × {}", read.share),
        fine(consigned.paid),
        ARITHMETIC,
    );
    let cost = fine(*unit_cost);
    working.step(
        "Left of the firm order",
        "units × (paid - unit cost) - deliveries",
        format!(
            "{} × ({} - {cost}) - {}",
            firm.units,
            fine(firm.paid),
            fine(firm.deliveries)
        ),
        firm_left.to_string(),
        ARITHMETIC,
    );
    let sold = sold.normalize();
    working.step(
        "Units that sell",
        "units × share that sells",
        format!("{} × {}", consigned.units, read.sold),
        sold.to_string(),
        ARITHMETIC,
    );
    working.step(
        "Left on sale or return",
        "sold × (paid - unit cost) - deliveries - spoiled × unit cost",
        format!(
            "{sold} × ({} - {cost}) - {} - {} × {cost}",
            fine(consigned.paid),
            fine(consigned.deliveries),
            consigned.spoiled
        ),
        left.to_string(),
        "what comes back fit keeps its worth",
    );
    let lost = consigned.lost(*unit_cost)?;
    working.step(
        "Equal when so many sell",
        "(left of the firm order + deliveries + spoiled) ÷ (paid - unit cost), up to a whole one",
        format!(
            "({} + {} + {}) ÷ ({} - {cost})",
            fine(firm_left),
            fine(consigned.deliveries),
            fine(lost),
            fine(consigned.paid)
        ),
        equal_at.map_or_else(
            || "more than can sell".to_owned(),
            |at| format!("{at} of {}", consigned.units),
        ),
        "both set equal and solved for the units sold",
    );
    Ok(())
}

fn explain_days(read: &Read, firm: Decimal, consigned: Decimal, working: &mut Working) {
    let shown = |days: TimeSpan| {
        let days = days.to_decimal(TimeUnit::Day).round_dp(1).normalize();
        format!("{days} d")
    };
    let in_days = |days: Decimal| format!("{} d", days.round_dp(1).normalize());
    working.step(
        "Days to the money, firm",
        "days after the delivery",
        shown(read.firm_after),
        in_days(firm),
        ARITHMETIC,
    );
    let every = read.count_every.unwrap_or(read.days);
    working.step(
        "Days to the money, on sale or return",
        "mean over what sells of the day of the count it is in + days after the count",
        format!(
            "{} with a count every {}, paid {} after it",
            shown(read.days),
            shown(every),
            shown(read.paid_after)
        ),
        in_days(consigned),
        "units taken to sell evenly over the time: a simplification",
    );
}

fn verdict(read: &Read, more: Cost, equal_at: Option<u32>, later: Decimal) -> String {
    let Read { consigned, .. } = read;
    let units = consigned.units;
    let amount = Cost::new(more.major().abs(), more.currency());
    let than = if more.rounded().is_some_and(|more| more.minor() == 0) {
        "leaves as much as the firm order".to_owned()
    } else if more.major() > Decimal::ZERO {
        format!("leaves {amount} more than the firm order")
    } else {
        format!("leaves {amount} less than the firm order")
    };
    let mut said = vec![format!("If {} sell, sale or return {than}.", read.sold)];
    said.push(match equal_at {
        Some(at) => format!("The two are equal at {at} of {units} sold."),
        None => "Even if all that can sell did, it would leave less.".to_owned(),
    });
    let later = later.round_dp(0).normalize();
    if later > Decimal::ZERO {
        said.push(format!("The firm money comes {later} days sooner."));
    } else if later < Decimal::ZERO {
        said.push(format!("The firm money comes {} days later.", -later));
    }
    said.join(" ")
}

fn notes(read: &Read, leaves_more: EarnsMore) -> Vec<String> {
    let mut notes = Vec::new();
    let has_range = read.sold_low.is_some() || read.sold_high.is_some();
    if !has_range {
        notes.push(
            "How much sells is one figure here; give sold_low and sold_high to see whether the answer holds."
                .to_owned(),
        );
    }
    if leaves_more == EarnsMore::NotProven {
        notes.push(
            "Where nothing is known of the shop, a firm first order or a short time to the first count shows how it sells."
                .to_owned(),
        );
    }
    notes.push(
        "What does not sell comes back fit and keeps its worth; tax is not reckoned.".to_owned(),
    );
    if read.share.decimal() * read.retail.major() <= read.unit_cost.major() {
        notes.push(format!(
            "{} of the price does not pay for the unit: every sale loses money.",
            percent(read.share.percent())
        ));
    }
    notes
}
