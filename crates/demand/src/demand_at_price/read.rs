//! Reading what is asked: texts into numbers, lines into days and products.

use std::collections::{BTreeMap, BTreeSet};

use measure::{Cost, Currency, Decimal, Problem, Problems, Unclear, parse_decimal};

use super::{DemandAtPriceInput, SaleInput};
use crate::given::{Reader, float};
use crate::learn::Sale;

/// Rows of sales that are taken at most.
const MOST_ROWS: usize = 10_000;
/// Products that are compared at most.
const MOST_PRODUCTS: usize = 100;
/// Different lines of one day that are taken at most: each is held against
/// every other of its day, and no stall has more goods and prices.
const MOST_A_DAY: usize = 250;
/// Prices that may be asked for.
const MOST_ASKED: usize = 12;

/// The input, read.
pub(super) struct Read {
    pub(super) currency: Currency,
    /// The name of the product asked about.
    pub(super) name: String,
    pub(super) product: usize,
    pub(super) n_products: u32,
    pub(super) sales: Vec<Sale>,
    /// The prices of the product, exact, with the days each was charged on.
    pub(super) tried: BTreeMap<Decimal, u32>,
    pub(super) unit_cost: f64,
    /// The share of the price that is kept.
    pub(super) keep: f64,
    pub(super) asked: Vec<Decimal>,
    pub(super) now: Decimal,
    /// Whether that was found and not given.
    pub(super) now_found: bool,
    /// Whether the days are dates.
    pub(super) dated: bool,
    pub(super) ending: Option<Decimal>,
    pub(super) exposure: Option<f64>,
    pub(super) with_exposure: bool,
    pub(super) proven: f64,
    pub(super) test_days: u32,
}

/// One line of sales, read.
struct SoldLine {
    day: Option<String>,
    product: String,
    price: Decimal,
    sold: u64,
    sold_out: bool,
    exposure: Option<f64>,
}

pub(super) fn read(input: &DemandAtPriceInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency(input.currency.as_deref());
    let name = input
        .product
        .as_deref()
        .map(str::trim)
        .filter(|name| !name.is_empty());
    if input.sales.is_empty() || input.sales.len() > MOST_ROWS {
        reader.check.refuse(Problem::new(
            "sales",
            input.sales.len().to_string(),
            if input.sales.is_empty() {
                "there are no sales"
            } else {
                "there are too many lines"
            },
            format!("give 1 to {MOST_ROWS} lines, the sales of a day and product added up"),
        ));
        return Err(reader.check.into_problems());
    }
    let lines: Vec<Option<SoldLine>> = input
        .sales
        .iter()
        .enumerate()
        .map(|(idx, sale)| read_line(&mut reader, idx, sale, name))
        .collect();
    let unit_cost = match &input.unit_cost {
        Some(text) => reader
            .cost("unit_cost", Some(text))
            .map(|cost| float(cost.major())),
        None => Some(0.0),
    };
    let card = reader
        .ratio("card", input.card.as_deref())
        .map_or(0.0, measure::Ratio::to_f64);
    if card >= 1.0 {
        reader.check.refuse(Problem::new(
            "card",
            input.card.clone().unwrap_or_default(),
            "nothing of the price would be left",
            "write a share below 100 %, such as 1.75 %",
        ));
    }
    if input.prices.len() > MOST_ASKED {
        reader.check.refuse(Problem::new(
            "prices",
            input.prices.len().to_string(),
            "these are too many prices at once",
            format!("ask about up to {MOST_ASKED}"),
        ));
    }
    let mut asked: Vec<Decimal> = Vec::new();
    for (idx, price) in input.prices.iter().take(MOST_ASKED).enumerate() {
        if let Some(price) = reader.price(&format!("prices[{idx}]"), Some(price)) {
            asked.push(price.major());
        }
    }
    asked.sort_unstable();
    asked.dedup();
    let now = match input.now.as_deref().filter(|text| !text.trim().is_empty()) {
        Some(text) => reader.price("now", Some(text)).map(Cost::major),
        None => None,
    };
    let ending = reader
        .check
        .optional("ending", input.ending.as_deref(), |text| {
            let accepted =
                "write 0.25 for quarters, 0.99 for prices that end so, or 1 for whole ones";
            let ending = parse_decimal(text, measure::Reading::PLAIN)
                .map_err(|unclear| Unclear::new(text, unclear.wrong, accepted))?;
            if ending <= Decimal::ZERO || ending > Decimal::from(1_000_000) {
                return Err(Unclear::new(text, "no price ends so", accepted));
            }
            Ok(ending)
        });
    let exposure = reader.exposure("exposure", input.exposure.as_deref());
    let proven = reader
        .ratio("chance", input.chance.as_deref())
        .map_or(0.9, measure::Ratio::to_f64);
    if !(0.6..=0.99).contains(&proven) {
        reader.check.refuse(Problem::new(
            "chance",
            input.chance.clone().unwrap_or_default(),
            "with this chance nothing is proven, or nothing ever is",
            "write a chance from 60 % to 99 %, such as 90 %",
        ));
    }
    let test_days = match &input.test_days {
        Some(days) => reader.count("test_days", Some(days), 1),
        None => Some(3),
    };
    let currency = reader.currency();
    let lines: Vec<SoldLine> = lines.into_iter().flatten().collect();
    let whole = lines.len() == input.sales.len();
    if whole {
        check_together(&mut reader, &lines, name, exposure);
    }
    reader.check.finish()?;
    let (Some(currency), Some(unit_cost), Some(test_days)) = (currency, unit_cost, test_days)
    else {
        // Each that is missing was refused above.
        return Err(Problem::new("sales", "", "no price could be read", "write 3.00 USD").into());
    };
    Ok(number(Numbered {
        lines,
        name,
        currency,
        unit_cost,
        keep: 1.0 - card,
        asked,
        now,
        ending,
        exposure,
        proven,
        test_days: u32::try_from(test_days.min(1_000)).unwrap_or(1_000),
    }))
}

fn read_line(
    reader: &mut Reader,
    idx: usize,
    sale: &SaleInput,
    name: Option<&str>,
) -> Option<SoldLine> {
    let at = |field: &str| format!("sales[{idx}].{field}");
    let price = reader.price(&at("price"), sale.price.as_deref());
    let sold = reader.count(&at("sold"), sale.sold.as_ref(), 0);
    let before = reader.check.is_clean();
    let exposure = reader.exposure(&at("exposure"), sale.exposure.as_deref());
    if before && !reader.check.is_clean() {
        return None;
    }
    let named = |text: &Option<String>| {
        let text = text.as_deref().map(str::trim).unwrap_or_default();
        (!text.is_empty()).then(|| text.to_owned())
    };
    Some(SoldLine {
        day: named(&sale.day),
        product: named(&sale.product).unwrap_or_else(|| name.unwrap_or_default().to_owned()),
        price: price?.major().normalize(),
        sold: sold?,
        sold_out: sale.sold_out,
        exposure,
    })
}

/// A product, its price and the exposure in bits: what makes a line of a day
/// one of its own.
type OneLine<'a> = (&'a str, Decimal, Option<u64>);

/// What is wrong with the lines taken together.
fn check_together(
    reader: &mut Reader,
    lines: &[SoldLine],
    name: Option<&str>,
    exposure: Option<f64>,
) {
    let mut products: Vec<&str> = lines.iter().map(|line| line.product.as_str()).collect();
    products.sort_unstable();
    products.dedup();
    if products.len() > MOST_PRODUCTS {
        reader.check.refuse(Problem::new(
            "sales",
            products.len().to_string(),
            "these are too many products at once",
            format!("give the sales of up to {MOST_PRODUCTS} products that belong together"),
        ));
    }
    let mut of_day: BTreeMap<&str, BTreeSet<OneLine>> = BTreeMap::new();
    for line in lines {
        if let Some(day) = &line.day {
            let exposure = line.exposure.map(f64::to_bits);
            let lines = of_day.entry(day.as_str()).or_default();
            lines.insert((line.product.as_str(), line.price, exposure));
        }
    }
    if let Some((day, lines)) = of_day.iter().find(|(_, lines)| lines.len() > MOST_A_DAY) {
        reader.check.refuse(Problem::new(
            "sales",
            lines.len().to_string(),
            format!("there are too many different lines of one day, {day}"),
            format!("give up to {MOST_A_DAY} products and prices a day"),
        ));
    }
    match name {
        Some(name) if !products.contains(&name) => {
            let known: Vec<&str> = products.iter().take(5).copied().collect();
            reader.check.refuse(Problem::new(
                "product",
                name,
                "none of the sales is of it",
                format!("write one of the products sold: {}", known.join(", ")),
            ));
        }
        None if products.len() > 1 => {
            reader.check.refuse(Problem::new(
                "product",
                "",
                "the sales are of several products",
                format!(
                    "write which one is asked about, such as {}",
                    products.last().unwrap_or(&"")
                ),
            ));
        }
        _ => {}
    }
    let with = lines.iter().filter(|line| line.exposure.is_some()).count();
    if with > 0 && with < lines.len() {
        let idx = lines
            .iter()
            .position(|line| line.exposure.is_none())
            .unwrap_or(0);
        reader.check.refuse(Problem::new(
            format!("sales[{idx}].exposure"),
            "",
            "other lines say how long or how well visited the day was, this one does not",
            "give it on all lines or on none",
        ));
    }
    if with == 0 && exposure.is_some() {
        reader.check.refuse(Problem::new(
            "exposure",
            exposure.map(|v| v.to_string()).unwrap_or_default(),
            "the sales do not say how long or how well visited their days were",
            "give it with each line of sales, or leave it out here",
        ));
    }
}

/// The input with its texts read, before days and products are numbered.
struct Numbered<'a> {
    lines: Vec<SoldLine>,
    name: Option<&'a str>,
    currency: Currency,
    unit_cost: f64,
    keep: f64,
    asked: Vec<Decimal>,
    now: Option<Decimal>,
    ending: Option<Decimal>,
    exposure: Option<f64>,
    proven: f64,
    test_days: u32,
}

/// A day as an ISO date sorts by time.
fn is_date(day: &str) -> bool {
    let shape = "dddd-dd-dd";
    day.len() == shape.len()
        && day.bytes().zip(shape.bytes()).all(|(c, s)| match s {
            b'd' => c.is_ascii_digit(),
            _ => c == s,
        })
}

fn number(given: Numbered<'_>) -> Read {
    let mut days: Vec<&str> = given
        .lines
        .iter()
        .filter_map(|line| line.day.as_deref())
        .collect();
    days.sort_unstable();
    days.dedup();
    let mut products: Vec<&str> = given
        .lines
        .iter()
        .map(|line| line.product.as_str())
        .collect();
    products.sort_unstable();
    products.dedup();
    let name = given
        .name
        .unwrap_or_else(|| products.first().copied().unwrap_or_default());
    let product = products.binary_search(&name).unwrap_or(0);
    // Lines of one day, product, price and exposure are one count.
    let mut counts: BTreeMap<(usize, usize, Decimal, u64), (u64, bool)> = BTreeMap::new();
    let mut alone = days.len();
    for line in &given.lines {
        let day = if let Some(day) = &line.day {
            days.binary_search(&day.as_str()).unwrap_or(0)
        } else {
            alone += 1;
            alone - 1
        };
        let own = products.binary_search(&line.product.as_str()).unwrap_or(0);
        let exposure = line.exposure.unwrap_or(1.0).to_bits();
        let count = counts.entry((day, own, line.price, exposure)).or_default();
        count.0 = count.0.saturating_add(line.sold);
        count.1 |= line.sold_out;
    }
    let mut tried: BTreeMap<Decimal, u32> = BTreeMap::new();
    let mut last = None;
    for (day, own, price, _) in counts.keys() {
        if *own == product {
            *tried.entry(*price).or_default() += 1;
            last = Some((day, *price));
        }
    }
    let dated = alone == days.len() && days.iter().all(|day| is_date(day));
    let most = tried.iter().max_by_key(|(price, days)| (**days, **price));
    let found = if dated {
        last.map(|(_, price)| price)
    } else {
        most.map(|(price, _)| *price)
    };
    let sales = counts
        .into_iter()
        .map(|((day, product, price, exposure), (sold, sold_out))| Sale {
            day,
            product,
            price: float(price),
            sold: sold as f64,
            sold_out,
            exposure: f64::from_bits(exposure),
        })
        .collect();
    Read {
        currency: given.currency,
        name: name.to_owned(),
        product,
        n_products: u32::try_from(products.len()).unwrap_or(u32::MAX),
        sales,
        tried,
        unit_cost: given.unit_cost,
        keep: given.keep,
        asked: given.asked,
        now: given.now.or(found).unwrap_or(Decimal::ONE),
        now_found: given.now.is_none(),
        dated,
        ending: given.ending,
        exposure: given.exposure,
        with_exposure: given.lines.iter().any(|line| line.exposure.is_some()),
        proven: given.proven,
        test_days: given.test_days,
    }
}
