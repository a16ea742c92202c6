//! What a price leaves, and which format earns more: from texts as typed.

use measure::{
    Checker, Cost, Currency, Mass, Money, Problem, Problems, TimeSpan, TimeUnit, Unclear, parse_in,
};
use price::{CompareFormatsInput, CompareFormatsOutput, FormatInput, PricesInput};
use workshop::facts::ProductId;
use workshop::{Prices, Product, Workshop};

use crate::forms::{Filled, as_typed};

/// Formats that stand side by side at most: more do not fit a page.
const MOST_FORMATS: usize = 4;

/// The currency and the wax of a first visit.
const FIRST_CURRENCY: Currency = Currency::USD;
const FIRST_WAX: &str = "16 oz";

/// Reads the prices typed for a good, `low`, `typical` and `high`, without
/// setting them; the ones it has where nothing was typed.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn tried_prices(
    workshop: &Workshop,
    product: &Product,
    filled: &Filled,
) -> Result<Option<Prices>, Problems> {
    let fields = ["low", "typical", "high"];
    if fields.iter().all(|field| filled.some(field).is_none()) {
        return Ok(product.prices);
    }
    let mut check = Checker::default();
    let read = |text: &str| Money::parse(text, workshop.currency(), workshop.reading());
    let [low, typical, high] =
        fields.map(|field| check.required(field, Some(filled.get(field)), read));
    let (Some(low), Some(typical), Some(high)) = (low, typical, high) else {
        return Err(check.into_problems());
    };
    // The same decision that would set them, so that what may be tried may be kept.
    if let Err(workshop::Refusal::Input(problems)) =
        workshop::decide::set_prices(workshop, product.id, low, typical, high)
    {
        return Err(problems);
    }
    let since = product
        .prices
        .map(|prices| prices.since)
        .or(workshop.last_day());
    Ok(since.map(|since| Prices {
        low,
        typical,
        high,
        since,
    }))
}

/// The goods that a comparison was asked for, what is sold now and the new
/// format: `a` and `b`. Of one good alone, `good`, which of the two it is has
/// to be asked; until then the one poured first counts as sold now.
pub fn goods_asked<'a>(workshop: &'a Workshop, filled: &Filled) -> [Option<&'a Product>; 2] {
    let named = |field| {
        let id: ProductId = filled.get(field).parse().ok()?;
        workshop.product(id)
    };
    let asked = ["a", "b"].map(named);
    let Some(good) = named("good").filter(|_| asked == [None, None]) else {
        return asked;
    };
    let age = |product: &&Product| (first_poured(workshop, product), product.id);
    let others = || workshop.products().filter(|other| other.id != good.id);
    match others().min_by_key(age) {
        Some(oldest) if age(&oldest) < age(&good) => [Some(oldest), Some(good)],
        Some(_) => [Some(good), others().max_by_key(age)],
        None => [Some(good), None],
    }
}

/// The day a good first came out of a mould; one never poured is younger than
/// any that was.
fn first_poured(workshop: &Workshop, product: &Product) -> (bool, Option<jiff::civil::Date>) {
    let day = workshop
        .pours()
        .filter(|pour| pour.product == Some(product.id))
        .find_map(|pour| pour.poured);
    (day.is_none(), day)
}

/// Fills the boxes of a comparison: from the goods asked for, and with the
/// workshop's own habits.
pub fn first_comparison(workshop: &Workshop, filled: Filled) -> Filled {
    let goods = goods_asked(workshop, &filled);
    let wax = goods
        .into_iter()
        .flatten()
        .find_map(|product| workshop::latest_wax(workshop, product.id));
    let wax_text = wax.map_or_else(
        || FIRST_WAX.to_owned(),
        |wax| as_typed(workshop, measure::in_system(wax, workshop.system())),
    );
    let own = workshop.currency().unwrap_or(FIRST_CURRENCY);
    let wage = workshop.settings().and_then(|settings| settings.wage);
    let mut filled = filled.or("wax", wax_text).or("currency", own.code()).or(
        "wage",
        wage.map_or_else(String::new, |wage| as_typed(workshop, wage)),
    );
    let wax = parse_in(
        filled.get("wax"),
        workshop.system().mass_unit(),
        workshop.reading(),
    );
    let wax = wax.ok().map(|wax| wax.value());
    let shape = |product: &Product| workshop.mould(product.mould).map(|mould| mould.format);
    let shapes = goods.map(|product| product.and_then(shape));
    for (i, product) in goods.into_iter().enumerate() {
        let Some(product) = product else {
            continue;
        };
        let mut format = workshop::format_of(workshop, product, wax);
        // What tells the two apart is enough of a name, and the shorter one.
        if let Some(shape) = shapes[i].filter(|_| shapes[0] != shapes[1]) {
            format.name = Some(shape.word().to_owned());
        }
        let units = format.units.map(|units| units.to_string());
        for (part, text) in [
            ("name", format.name),
            ("units", units),
            ("price.low", format.price.low),
            ("price.typical", format.price.typical),
            ("price.high", format.price.high),
            ("unit_cost", format.unit_cost),
            ("minutes", format.minutes),
        ] {
            let text = match part {
                "name" => text.unwrap_or_default(),
                _ => as_typed(workshop, text.unwrap_or_default()),
            };
            filled = filled.or(&format!("formats[{i}].{part}"), text);
        }
    }
    filled
}

/// What came of asking for a comparison.
#[derive(Debug, Clone, PartialEq)]
pub enum Comparison {
    /// Boxes are still empty, and nothing that stands in one is wrong: how many.
    StillEmpty(usize),
    /// Something that was typed cannot be read, or does not fit together; and
    /// how many boxes are still empty.
    Unclear(Problems, usize),
    /// The answer of the calculation `compare-formats`.
    Answer(Box<CompareFormatsOutput>),
}

/// How many formats a form compares: two, unless it has boxes for more.
pub fn formats_in(filled: &Filled) -> usize {
    filled.lines("formats").clamp(2, MOST_FORMATS)
}

/// Compares formats by the calculation `compare-formats`, whose field names are
/// those of the form. Texts are read by the workshop's habits.
pub fn compare(workshop: &Workshop, filled: &Filled) -> Comparison {
    let mut plain = Plain {
        workshop,
        filled,
        check: Checker::default(),
    };
    let formats = (0..formats_in(filled))
        .map(|i| plain.format(&format!("formats[{i}]")))
        .collect();
    let input = CompareFormatsInput {
        wax: plain.weight("wax"),
        currency: workshop
            .currency()
            .map(|own| own.code().to_owned())
            .or_else(|| filled.some("currency").map(str::to_owned)),
        wage: plain.amount("wage"),
        formats,
    };
    let unread = plain.check.into_problems();
    match price::compare_formats(&input) {
        Ok(output) if unread.is_empty() => Comparison::Answer(Box::new(output)),
        outcome => {
            // What could not be read here was handed on as missing; it is said once.
            let more = outcome.err().unwrap_or_default();
            let more = more
                .0
                .into_iter()
                .filter(|problem| unread.of(&problem.field).is_none());
            let (typed, empty): (Vec<_>, Vec<_>) = unread
                .0
                .iter()
                .cloned()
                .chain(more)
                .partition(|problem| filled.some(&problem.field).is_some());
            // The calculation saw a plain text; the maker knows what was typed.
            let typed: Vec<_> = typed
                .into_iter()
                .map(|problem| Problem {
                    given: filled.get(&problem.field).to_owned(),
                    ..problem
                })
                .collect();
            if typed.is_empty() {
                Comparison::StillEmpty(empty.len())
            } else {
                Comparison::Unclear(Problems(typed), empty.len())
            }
        }
    }
}

/// Reads texts by the workshop's habits and writes them plainly, as the
/// calculation takes them.
struct Plain<'a> {
    workshop: &'a Workshop,
    filled: &'a Filled,
    check: Checker,
}

impl Plain<'_> {
    fn format(&mut self, at: &str) -> FormatInput {
        let field = |part: &str| format!("{at}.{part}");
        let units =
            self.check
                .optional(&field("units"), self.filled.some(&field("units")), |text| {
                    text.parse::<u32>().map_err(|_| {
                        Unclear::new(
                            text,
                            "it is not a whole number",
                            "write a whole number such as 11",
                        )
                    })
                });
        FormatInput {
            name: self.filled.some(&field("name")).map(str::to_owned),
            units: units.map(Into::into),
            price: PricesInput {
                low: self.amount(&field("price.low")),
                typical: self.amount(&field("price.typical")),
                high: self.amount(&field("price.high")),
            },
            unit_cost: self.amount(&field("unit_cost")),
            minutes: self.time(&field("minutes")),
        }
    }

    fn amount(&mut self, field: &str) -> Option<String> {
        let own = self
            .workshop
            .currency()
            .or_else(|| Currency::from_code(&self.filled.get("currency").to_uppercase()));
        let reading = self.workshop.reading();
        self.check
            .optional(field, self.filled.some(field), |text| {
                Cost::parse(text, own, reading)
            })
            .map(|cost| format!("{} {}", cost.major(), cost.currency().code()))
    }

    fn weight(&mut self, field: &str) -> Option<String> {
        let (unit, reading) = (self.workshop.system().mass_unit(), self.workshop.reading());
        self.check
            .optional(field, self.filled.some(field), |text| {
                parse_in::<Mass>(text, unit, reading)
            })
            .map(|weight| weight.to_string())
    }

    fn time(&mut self, field: &str) -> Option<String> {
        let reading = self.workshop.reading();
        self.check
            .optional(field, self.filled.some(field), |text| {
                parse_in::<TimeSpan>(text, TimeUnit::Minute, reading)
            })
            .map(|time| time.to_string())
    }
}
