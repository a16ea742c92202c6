//! Which price earns most, from the workshop's own market days.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use demand::{
    BetweenPrices, Contender, DemandAtPriceInput, DemandAtPriceOutput, SaleInput, TestOutput,
};
use jiff::civil::Date;
use measure::{
    Checker, Cost, Currency, Money, Problem, Problems, Ratio, TimeSpan, figure, parse_decimal,
};
use workshop::facts::{ChannelId, MarketDayId, ProductId};
use workshop::selling::price_in;
use workshop::tried::{DaySold, cost_of_one, days_sold, format_of_good, goods_alike, share_off};
use workshop::{Channel, Workshop};

use crate::forms::{Filled, money, whole};
use crate::{App, OpenError};

/// Market days that are looked back on at most.
const MOST_DAYS: usize = 150;
/// Goods of the same format that a good leans on at most.
const MOST_ALIKE: usize = 11;
/// Days at each price of a test unless the maker says otherwise. Common
/// practice, no source.
const TEST_DAYS: u32 = 3;
/// Days at each price of a test at most.
const MOST_TEST_DAYS: u32 = 1_000;

/// Prices a form asks about beside the tidy ones.
pub const TRIES: [&str; 2] = ["try", "try_too"];

/// What a day at one price brings, in words.
#[derive(Debug, Clone, PartialEq)]
pub struct AtPrice {
    /// The price.
    pub price: String,
    /// Days it was asked on; none, one, or more.
    pub days: u32,
    /// Expected sales of a day.
    pub sold: String,
    /// Between what the average of many days lies, nine times in ten.
    pub sold_between: String,
    /// What a day leaves.
    pub leaves: String,
    /// Between what the average of many days lies, nine times in ten.
    pub leaves_between: String,
    /// The chance that it earns most of the prices compared: `41 %`.
    pub chance: String,
    /// Whether it is asked now.
    pub is_now: bool,
    /// Whether it is the one that is named.
    pub is_best: bool,
    /// Whether it was asked about.
    pub is_tried: bool,
}

impl AtPrice {
    /// Whether it stands in the short table: asked on a day or now, asked
    /// about, or named.
    pub const fn is_told_first(&self) -> bool {
        self.days > 0 || self.is_now || self.is_best || self.is_tried
    }
}

/// A market day of a price test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TestDay {
    /// The market day that is planned.
    pub market_day: MarketDayId,
    /// Its date.
    pub on: Date,
    /// Its market.
    pub market: String,
    /// What to ask on it.
    pub price: String,
}

/// Which price earns most.
#[derive(Debug, Clone, PartialEq)]
pub struct BestPrice {
    /// Of what: the good, or every good of its format.
    pub name: String,
    /// The word for every good of the format, where there are others.
    pub alike: Option<String>,
    /// Whose price it is.
    pub goods: Vec<ProductId>,
    /// The channel it was sold in last, and what that is called.
    pub channel: Option<(ChannelId, String)>,
    /// What is asked there now.
    pub now: Option<Money>,
    /// On what it rests, in a sentence.
    pub rests_on: String,
    /// The markets it was sold at.
    pub markets: Vec<String>,
    /// What days may be compared by: the form's words for what is noted of
    /// every day.
    pub compared_by: Vec<&'static str>,
    /// What is reckoned for the cost of a unit.
    pub cost: Option<Cost>,
    /// The prices that were asked about.
    pub tried: Vec<String>,
    /// The answer; none as long as no market day tells anything.
    pub answer: Option<Arc<DemandAtPriceOutput>>,
    /// What a day at each price brings, the lowest first.
    pub prices: Vec<AtPrice>,
    /// The price named, where it is another than is asked now.
    pub change_to: Option<Money>,
    /// Days that were: the price, and what the day left, in the currency.
    pub days: Vec<(f64, f64)>,
    /// The market days that are planned, with what to ask on each.
    pub plan: Vec<TestDay>,
    /// How many days of the test are not planned yet.
    pub to_plan: u32,
    /// What to keep in mind.
    pub notes: Vec<String>,
}

impl BestPrice {
    /// The test to plan: of the prices asked about the one that tells soonest;
    /// or else the one that asks the very prices to be told apart; or else the
    /// soonest of all.
    pub fn test(&self) -> Option<&TestOutput> {
        let tests = &self.answer.as_ref()?.tests;
        let is_asked = |test: &&TestOutput| self.tried.contains(&test.price);
        // Asking the very prices to be told apart is what a maker understands.
        let is_plain = |test: &&TestOutput| {
            test.tells.contains(&test.price) && test.tells.contains(&test.against)
        };
        let found = tests.iter().find(is_asked);
        found.or(tests.iter().find(is_plain)).or(tests.first())
    }

    /// Whether a test is as good as none: it tells less than half the time.
    /// Common practice, no source.
    pub fn hardly_tells(&self) -> bool {
        self.test().is_some_and(|test| test.chance_told < 0.5)
    }

    /// The prices between which a day leaves within 2 % of the most, and the
    /// words for it: to be drawn.
    pub fn alike_in_picture(&self) -> Option<((f64, f64), &'static str)> {
        let between = self.answer.as_ref()?.within_2_percent.as_ref()?;
        let currency = self.now.map(Money::currency);
        let read = |text: &str| Money::parse(text, currency, measure::Reading::PLAIN).ok();
        let ends = (read(&between.low)?, read(&between.high)?);
        let ends = (ends.0.cost().to_f64(), ends.1.cost().to_f64());
        Some((ends, "within 2 % of the most"))
    }

    /// The ranges in which it makes little difference: the words for each, by
    /// the model, and by the plain line.
    pub fn ranges(&self) -> Vec<(&'static str, String, String)> {
        let Some(answer) = &self.answer else {
            return Vec::new();
        };
        let words = |between: Option<&BetweenPrices>| {
            between.map_or_else(String::new, |between| {
                let on = if between.may_go_on {
                    ", perhaps beyond"
                } else {
                    ""
                };
                if between.low == between.high {
                    format!("{} only{on}", between.low)
                } else {
                    format!("{} to {}{on}", between.low, between.high)
                }
            })
        };
        let line = answer.line.as_ref();
        let (two, five) = (
            line.and_then(|line| line.within_2_percent.as_ref()),
            line.and_then(|line| line.within_5_percent.as_ref()),
        );
        let rows = [
            (
                "within 2 %",
                words(answer.within_2_percent.as_ref()),
                words(two),
            ),
            (
                "within 5 %",
                words(answer.within_5_percent.as_ref()),
                words(five),
            ),
        ];
        let said = |row: &(&str, String, String)| !row.1.is_empty() || !row.2.is_empty();
        rows.into_iter().filter(said).collect()
    }
}

/// What the form asks, gathered from the state: nothing is learned yet.
struct Gathered {
    found: BestPrice,
    input: Option<DemandAtPriceInput>,
    off: Ratio,
    days: Vec<DaySold>,
    /// Planned market days of the channel.
    ahead: Vec<(MarketDayId, Date, String)>,
}

/// Learns from the market days which price of a good earns most: of the good
/// alone, leaning on those of its format, or where `of` is `format` of all of
/// them taken together; at one `market`, or at all; days compared as they are,
/// or `by` `footfall` or `hours`. `cost` stands for what a unit costs, `ending`
/// says which prices are tidy, `try` and `try_too` are prices asked about,
/// `days` those at each price of a test. None for a good that is not there.
///
/// # Errors
///
/// [`OpenError`] when what others wrote cannot be read; inside, a problem for
/// every field that cannot be read.
pub fn best_price(
    app: &App,
    product: ProductId,
    filled: &Filled,
) -> Result<Option<Result<BestPrice, Problems>>, OpenError> {
    let today = app.today();
    let gathered = app.look(|workshop| {
        workshop.product(product)?;
        Some(gather(workshop, product, filled, today))
    })?;
    // The workshop is not held while the sales are learned from.
    Ok(gathered.map(|gathered| {
        let gathered = gathered?;
        let answer = match &gathered.input {
            Some(input) => Some(app.demand_at_price(input).map_err(own_fields)?),
            None => None,
        };
        Ok(told(gathered, answer))
    }))
}

/// Problems of the calculation, under the names of the form's boxes.
fn own_fields(problems: Problems) -> Problems {
    let own = |field: String| match field.as_str() {
        "unit_cost" => "cost".to_owned(),
        "test_days" => "days".to_owned(),
        "prices[0]" => TRIES[0].to_owned(),
        "prices[1]" => TRIES[1].to_owned(),
        _ => field,
    };
    let renamed = problems.0.into_iter().map(|problem| Problem {
        field: own(problem.field),
        ..problem
    });
    Problems(renamed.collect())
}

fn gather(
    workshop: &Workshop,
    product: ProductId,
    filled: &Filled,
    today: Date,
) -> Result<Gathered, Problems> {
    let reading = workshop.reading();
    let mut check = Checker::default();
    let amount = money(workshop.currency(), reading);
    let cost = check.optional("cost", filled.some("cost"), &amount);
    let tries: Vec<Money> = TRIES
        .iter()
        .filter_map(|field| check.optional(field, filled.some(field), &amount))
        .collect();
    let ending = check.optional("ending", filled.some("ending"), |text| {
        parse_decimal(text, reading)
    });
    let test_days = check.optional("days", filled.some("days"), whole);
    check.finish()?;
    let test_days = test_days.unwrap_or(TEST_DAYS).clamp(1, MOST_TEST_DAYS);

    let alike = goods_alike(workshop, product);
    let word = format_of_good(workshop, product).map(|format| format!("every {}", format.word()));
    let together = filled.get("of") == "format" && alike.len() > 1;
    let goods = if together {
        alike.clone()
    } else {
        vec![product]
    };
    let own: BTreeSet<ProductId> = goods.iter().copied().collect();
    let known = days_sold(workshop);
    let is_own = |day: &&DaySold| own.contains(&day.product);
    let markets: BTreeSet<String> = known
        .iter()
        .filter(is_own)
        .map(|day| day.market.clone())
        .collect();
    let market = filled.some("market").filter(|text| markets.contains(*text));
    let alike: BTreeSet<ProductId> = alike.into_iter().collect();
    let mut days: Vec<DaySold> = known
        .into_iter()
        .filter(|day| alike.contains(&day.product))
        .filter(|day| market.is_none_or(|market| day.market == market))
        .collect();
    latest(&mut days, &own);

    let last = days.iter().rev().find(is_own);
    let channel = last.and_then(|day| workshop.trade().channel(day.channel));
    let now = channel
        .and_then(|channel| price_in(workshop, channel, product))
        .or_else(|| last.map(|day| day.price));
    let compared_by = compared_by(&days);
    let by = compared_by.iter().find(|word| **word == filled.get("by"));
    let unit_cost = cost
        .map(Money::cost)
        .or_else(|| cost_of_one(workshop, product));
    let off = channel.map_or_else(Ratio::default, |channel| share_off(workshop, channel));
    let sales = sales_of(&days, &own, together, by.copied());
    let written = |cost: Cost| format!("{} {}", cost.major(), cost.currency().code());
    let input = last.map(|last| DemandAtPriceInput {
        currency: Some(last.price.currency().code().to_owned()),
        product: Some(name_in_sales(product, together)),
        sales,
        unit_cost: unit_cost.map(written),
        card: Some(off.to_string()),
        prices: tries.iter().map(|price| written(price.cost())).collect(),
        now: now.map(|now| written(now.cost())),
        ending: ending.map(|ending| ending.to_string()),
        exposure: None,
        chance: None,
        test_days: Some(test_days.into()),
    });
    let ahead = workshop
        .trade()
        .market_days()
        .filter(|day| day.on >= today && day.counted.is_none() && !day.called_off)
        // A day on which something was sold has its price.
        .filter(|day| day.sales.is_empty())
        .filter(|day| channel.is_none_or(|channel| channel.id == day.channel))
        .filter(|day| market.is_none_or(|market| day.market == market));
    let mut ahead: Vec<_> = ahead
        .map(|day| (day.id, day.on, day.market.clone()))
        .collect();
    ahead.sort_by_key(|(id, on, _)| (*on, *id));
    let own_days: Vec<DaySold> = days.into_iter().filter(|day| is_own(&day)).collect();
    let name = workshop.product(product).map(|good| good.name.clone());
    let found = BestPrice {
        name: match &word {
            Some(word) if together => word.clone(),
            _ => name.unwrap_or_default(),
        },
        alike: word.filter(|_| alike.len() > 1),
        goods,
        channel: channel.map(|channel| (channel.id, channel.name.clone())),
        now,
        rests_on: rests_on(&own_days),
        markets: markets.into_iter().collect(),
        compared_by,
        cost: unit_cost,
        tried: tries.iter().map(ToString::to_string).collect(),
        answer: None,
        prices: Vec::new(),
        change_to: None,
        days: Vec::new(),
        plan: Vec::new(),
        to_plan: 0,
        notes: notes(channel, &own_days),
    };
    Ok(Gathered {
        found,
        input,
        off,
        days: own_days,
        ahead,
    })
}

/// Keeps the latest market days, and of the goods beside the own ones those
/// that were sold on most of them.
fn latest(days: &mut Vec<DaySold>, own: &BTreeSet<ProductId>) {
    let mut all: Vec<(Date, MarketDayId)> =
        days.iter().map(|day| (day.on, day.market_day)).collect();
    all.dedup();
    if let Some(first) = all
        .len()
        .checked_sub(MOST_DAYS)
        .and_then(|nth| all.get(nth))
    {
        days.retain(|day| (day.on, day.market_day) >= *first);
    }
    let mut times: BTreeMap<ProductId, usize> = BTreeMap::new();
    for day in days.iter().filter(|day| !own.contains(&day.product)) {
        *times.entry(day.product).or_default() += 1;
    }
    let mut others: Vec<(usize, ProductId)> =
        times.into_iter().map(|(id, times)| (times, id)).collect();
    others.sort_by_key(|(times, id)| (std::cmp::Reverse(*times), *id));
    let kept: BTreeSet<ProductId> = others
        .into_iter()
        .take(MOST_ALIKE)
        .map(|(_, id)| id)
        .collect();
    days.retain(|day| own.contains(&day.product) || kept.contains(&day.product));
}

/// What is noted of every day, so that days can be compared by it.
fn compared_by(days: &[DaySold]) -> Vec<&'static str> {
    let mut words = Vec::new();
    if days.is_empty() {
        return words;
    }
    if days.iter().all(|day| day.footfall.is_some_and(|n| n > 0)) {
        words.push("footfall");
    }
    let is_some = |day: &DaySold| day.hours.is_some_and(|hours| hours > TimeSpan::ZERO);
    if days.iter().all(is_some) {
        words.push("hours");
    }
    words
}

fn name_in_sales(product: ProductId, together: bool) -> String {
    if together {
        "all".to_owned()
    } else {
        product.to_string()
    }
}

/// What makes a line of sales: the day, the market day, the product, the price
/// in minor units.
type LineKey = (Date, MarketDayId, String, i64);

/// The lines of sales of the calculation. Goods taken together are one line for
/// each day and price, which sold out when each of them did.
fn sales_of(
    days: &[DaySold],
    own: &BTreeSet<ProductId>,
    together: bool,
    by: Option<&str>,
) -> Vec<SaleInput> {
    let mut lines: BTreeMap<LineKey, (u64, bool, &DaySold)> = BTreeMap::new();
    for day in days {
        if together && !own.contains(&day.product) {
            continue;
        }
        let key = (
            day.on,
            day.market_day,
            name_in_sales(day.product, together),
            day.price.minor(),
        );
        let line = lines.entry(key).or_insert((0, true, day));
        line.0 = line.0.saturating_add(day.sold);
        line.1 &= day.sold_out;
    }
    lines
        .into_iter()
        .map(
            |((_, market_day, product, _), (sold, sold_out, day))| SaleInput {
                day: Some(market_day.to_string()),
                product: Some(product),
                price: Some(format!(
                    "{} {}",
                    day.price.major(),
                    day.price.currency().code()
                )),
                sold: Some(sold.into()),
                exposure: match by {
                    Some("footfall") => day.footfall.map(|n| n.to_string()),
                    Some("hours") => day.hours.map(|hours| format!("{} h", hours.hours())),
                    _ => None,
                },
                sold_out,
            },
        )
        .collect()
}

fn rests_on(days: &[DaySold]) -> String {
    let all: BTreeSet<(Date, MarketDayId)> =
        days.iter().map(|day| (day.on, day.market_day)).collect();
    let (Some((first, _)), Some((last, _))) = (all.first(), all.last()) else {
        return String::new();
    };
    let prices: BTreeMap<i64, Money> = days
        .iter()
        .map(|day| (day.price.minor(), day.price))
        .collect();
    let prices: Vec<String> = prices.values().map(ToString::to_string).collect();
    let prices = match &prices[..] {
        [few @ .., last] if !few.is_empty() && few.len() < 6 => {
            format!("{} and {last}", few.join(", "))
        }
        [one] => one.clone(),
        _ => format!("{} prices", prices.len()),
    };
    let said = |day: &Date| day.strftime("%-d %b %Y").to_string();
    match all.len() {
        1 => format!("Rests on one market day, {}, at {prices}.", said(first)),
        n => format!(
            "Rests on {n} market days, {} to {}, at {prices}.",
            said(first),
            said(last)
        ),
    }
}

fn notes(channel: Option<&Channel>, days: &[DaySold]) -> Vec<String> {
    let mut notes = Vec::new();
    let for_less: u64 = days.iter().map(|day| day.for_less).sum();
    if for_less > 0 {
        notes.push(format!(
            "{for_less} units went for less than one alone, several together or haggled: a day counts \
             at what one alone cost, and leaves that much less than it says."
        ));
    }
    let fixed = channel.map(|channel| [channel.terms.fixed_fee, channel.terms.payment_fixed]);
    for fee in fixed.into_iter().flatten().flatten() {
        notes.push(format!(
            "The fixed {fee} of a payment is not taken off: how many units share it is not known."
        ));
    }
    let mut there: BTreeMap<MarketDayId, BTreeSet<ProductId>> = BTreeMap::new();
    for day in days {
        there.entry(day.market_day).or_default().insert(day.product);
    }
    let mut tables = there.values();
    let first = tables.next();
    if tables.any(|goods| Some(goods) != first) {
        notes.push(
            "Not the same goods were on the table on every day, and days are compared as if they \
             were."
                .to_owned(),
        );
    }
    let mut at: BTreeMap<&str, BTreeSet<i64>> = BTreeMap::new();
    for day in days {
        at.entry(&day.market).or_default().insert(day.price.minor());
    }
    let all: BTreeSet<i64> = at.values().flatten().copied().collect();
    if all.len() > 1 && at.values().all(|prices| prices.len() == 1) {
        notes.push(
            "No market saw two prices, so what looks like the price may be the market. Ask two \
             prices at one market to tell them apart."
                .to_owned(),
        );
    }
    notes
}

/// Puts what was learned into words.
fn told(gathered: Gathered, answer: Option<Arc<DemandAtPriceOutput>>) -> BestPrice {
    let Gathered {
        mut found,
        input,
        off,
        days,
        ahead,
    } = gathered;
    let Some(answer) = answer else {
        return found;
    };
    let currency = found.now.map(Money::currency);
    let write = left_writer(currency.unwrap_or(Currency::USD));
    found.prices = answer
        .contest
        .iter()
        .map(|at| AtPrice {
            price: at.price.clone(),
            days: at.days,
            sold: units(at.sold),
            sold_between: format!("{} to {}", units(at.sold_low), units(at.sold_high)),
            leaves: write(at.contribution_in_currency),
            leaves_between: format!(
                "{} to {}",
                write(at.contribution_low_in_currency),
                write(at.contribution_high_in_currency)
            ),
            chance: chance(at.chance_best),
            is_now: at.price == answer.now,
            is_best: is_named(&answer, at),
            is_tried: found.tried.contains(&at.price),
        })
        .collect();
    let best = answer.best.as_ref().filter(|best| best.price != answer.now);
    found.change_to = best.and_then(|best| {
        let own = measure::Reading::PLAIN;
        Money::parse(&best.price, currency, own).ok()
    });
    let kept = 1.0 - off.to_f64();
    let cost = found.cost.map_or(0.0, Cost::to_f64);
    let mut of_day: BTreeMap<(MarketDayId, i64), (f64, f64)> = BTreeMap::new();
    for day in &days {
        let price = day.price.cost().to_f64();
        let key = (day.market_day, day.price.minor());
        let left = (kept * price - cost) * day.sold as f64;
        of_day.entry(key).or_insert((price, 0.0)).1 += left;
    }
    found.days = of_day.into_values().collect();
    found.notes.extend(answer.notes.iter().cloned());
    found.answer = Some(answer);
    if let Some(test) = found.test() {
        let asked = input.and_then(|input| input.test_days);
        let each = asked.and_then(|n| n.as_u64()).unwrap_or(TEST_DAYS.into());
        let wanted = usize::try_from(each.saturating_mul(2)).unwrap_or(usize::MAX);
        let turns = [test.price.clone(), test.against.clone()];
        found.plan = ahead
            .into_iter()
            .take(wanted)
            .zip(turns.iter().cycle())
            .map(|((market_day, on, market), price)| TestDay {
                market_day,
                on,
                market,
                price: price.clone(),
            })
            .collect();
        let left = wanted.saturating_sub(found.plan.len());
        found.to_plan = u32::try_from(left).unwrap_or(u32::MAX);
    }
    found
}

/// Writes what a day leaves, to a sensible digit: whole from a hundred up.
pub fn left_writer(currency: Currency) -> impl Fn(f64) -> String {
    let places = u32::from(currency.exponent().unwrap_or(0));
    move |amount| {
        let places = if amount.abs() >= 100.0 { 0 } else { places };
        format!("{} {}", figure(amount, places), currency.code())
    }
}

fn is_named(answer: &DemandAtPriceOutput, at: &Contender) -> bool {
    let best = answer.best.as_ref();
    best.is_some_and(|best| best.price == at.price)
}

/// A count of units to a sensible digit.
fn units(count: f64) -> String {
    figure(count, u32::from(count < 10.0))
}

/// A chance in whole percent, never nothing and never certain.
pub fn chance(chance: f64) -> String {
    match chance {
        few if few < 0.005 => "under 1 %".to_owned(),
        most if most > 0.995 => "over 99 %".to_owned(),
        other => format!("{} %", figure(other * 100.0, 0)),
    }
}
