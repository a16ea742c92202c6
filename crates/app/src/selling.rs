//! What a price leaves, and which format earns more: from texts as typed.

use measure::{
    Checker, Cost, Currency, Mass, Problem, Problems, TimeSpan, TimeUnit, Unclear, parse_in,
};
use price::{CompareFormatsInput, CompareFormatsOutput, FormatInput, FormatOutput, PricesInput};
use workshop::facts::{PourId, ProductId, Settings};
use workshop::{Pour, Prices, Product, Refusal, TimeInCost, Workshop, decide};

use crate::forms::{Filled, as_typed, money};
use crate::{ActError, App, Done};

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
    let read = money(workshop.currency(), workshop.reading());
    let [low, typical, high] =
        fields.map(|field| check.required(field, Some(filled.get(field)), &read));
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
/// to be asked; until then it is the new format, unless another was poured
/// after it.
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
        None => [None, Some(good)],
    }
}

/// The lot that a comparison was asked for, `lot`: it is the new format.
pub fn lot_asked<'a>(workshop: &'a Workshop, filled: &Filled) -> Option<&'a Pour> {
    let id: PourId = filled.get("lot").parse().ok()?;
    workshop.pour(id)
}

/// The day a good first came out of a mould, as itself or as a trial; one never
/// poured is younger than any that was.
fn first_poured(workshop: &Workshop, product: &Product) -> (bool, Option<jiff::civil::Date>) {
    let day = workshop
        .pours()
        .filter(|pour| workshop::is_of(pour, product))
        .find_map(|pour| pour.poured);
    (day.is_none(), day)
}

/// Fills the boxes of a comparison: from the lot and the goods asked for, and
/// with the workshop's own habits.
pub fn first_comparison(workshop: &Workshop, filled: Filled) -> Filled {
    let goods = goods_asked(workshop, &filled);
    let lot = lot_asked(workshop, &filled)
        .filter(|_| goods[1].is_none())
        .and_then(|pour| workshop::format_of_lot(workshop, pour));
    let wax = match &lot {
        Some((_, wax)) => Some(*wax).filter(|wax| !wax.is_zero()),
        None => goods
            .into_iter()
            .flatten()
            .find_map(|product| workshop::latest_wax(workshop, product.id)),
    };
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
    let shape = |product: &Product| {
        workshop
            .mould(product.mould)
            .map(|mould| mould.format.word())
    };
    let [now, new] = goods.map(|product| {
        product.map(|product| (workshop::format_of(workshop, product, wax), shape(product)))
    });
    let new = new.or_else(|| {
        lot.map(|(format, _)| {
            let shape = lot_asked(workshop, &filled)
                .and_then(|pour| workshop.mould(pour.mould?))
                .map(|mould| mould.format.word());
            (format, shape)
        })
    });
    let shapes = [&now, &new].map(|side| side.as_ref().and_then(|(_, shape)| *shape));
    for (i, side) in [now, new].into_iter().enumerate() {
        let Some((mut format, _)) = side else {
            continue;
        };
        // What tells the two apart is enough of a name, and the shorter one.
        if let Some(shape) = shapes[i].filter(|_| shapes[0] != shapes[1]) {
            format.name = Some(shape.to_owned());
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

/// What a comparison's form asks for besides comparing: to exchange its first
/// two sides, `swap`, or to fill one of them from the good chosen beside it,
/// `take`. None when neither is asked.
pub fn rearranged(workshop: &Workshop, filled: &Filled) -> Option<Filled> {
    let (swap, take) = (filled.some("swap"), filled.some("take"));
    if swap.is_none() && take.is_none() {
        return None;
    }
    let taken = take.map(|side| format!("formats[{}].", u8::from(side != "a")));
    let pairs = filled
        .pairs()
        .iter()
        .filter(|(name, _)| !["swap", "take"].contains(&name.as_str()))
        .filter(|(name, _)| !taken.as_ref().is_some_and(|side| name.starts_with(side)))
        .cloned()
        .collect();
    let kept = Filled::new(pairs);
    if swap.is_none() {
        return Some(kept);
    }
    // Whatever stood in the boxes goes over, what a lot or a good put there too.
    let stood = first_comparison(workshop, kept);
    let other = |name: &str| {
        let swapped = [
            ("formats[0].", "formats[1]."),
            ("formats[1].", "formats[0]."),
        ];
        swapped
            .into_iter()
            .find_map(|(from, to)| Some(format!("{to}{}", name.strip_prefix(from)?)))
    };
    let over = |(name, text): &(String, String)| {
        let name = match name.as_str() {
            "a" => "b".to_owned(),
            "b" => "a".to_owned(),
            name => other(name).unwrap_or_else(|| name.to_owned()),
        };
        (name, text.clone())
    };
    let pairs = stood.pairs().iter();
    let pairs = pairs.filter(|(name, _)| !["good", "lot"].contains(&name.as_str()));
    Some(Filled::new(pairs.map(over).collect()))
}

/// The costs typed into a comparison that are a lot's or a good's with the
/// maker's time in it: there the time would count twice.
pub fn time_twice(workshop: &Workshop, filled: &Filled) -> Vec<(String, TimeInCost)> {
    (0..formats_in(filled))
        .map(|i| format!("formats[{i}].unit_cost"))
        .filter_map(|field| {
            let own = workshop.currency()?;
            let cost = Cost::parse(filled.some(&field)?, Some(own), workshop.reading()).ok()?;
            let found = workshop::time_in_cost(workshop, cost)?;
            Some((field, found))
        })
        .collect()
}

/// What one unit of a format costs with the maker's time in it, where that is
/// paid: the cost that its profit, and the price that earns the same, rest on.
pub fn cost_with_time(format: &FormatOutput) -> f64 {
    let time = format.labour_in_currency.unwrap_or(0.0);
    if format.units == 0 {
        format.unit_cost_in_currency
    } else {
        format.unit_cost_in_currency + time / f64::from(format.units)
    }
}

/// Writes down what keeps the maker's own time out of a lot's cost: `wage` for
/// the workshop, and the lot's `minutes`, each where it is missing.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn put_time_in(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let unknown = || Refusal::Unknown {
            what: "lot",
            id: pour.to_string(),
        };
        let found = workshop.pour(pour).ok_or_else(unknown)?;
        let lot = found.finished.as_ref().ok_or_else(unknown)?;
        let settings = workshop.settings().ok_or_else(unknown)?;
        let cost = workshop::lot_cost(workshop, found).ok_or_else(unknown)?;
        let [no_minutes, no_wage] = cost.missing();
        let reading = workshop.reading();
        let mut check = Checker::default();
        let mut facts = Vec::new();
        if no_wage {
            let read = money(workshop.currency(), reading);
            let wage = check.required("wage", Some(filled.get("wage")), read);
            if wage.is_some() {
                let settings = Settings {
                    wage,
                    ..settings.clone()
                };
                facts.extend(decide::set_up(workshop, settings)?);
            }
        }
        if no_minutes {
            let minutes = check.required("minutes", Some(filled.get("minutes")), |text| {
                parse_in::<TimeSpan>(text, TimeUnit::Minute, reading)
            });
            if let (Some(minutes), Some(count)) = (minutes, &found.count) {
                facts.extend(decide::correct_lot(
                    workshop,
                    pour,
                    count.clone(),
                    (lot.good, lot.seconds, lot.rejects),
                    Some(minutes),
                    "its hands-on time was not written down",
                )?);
            }
        }
        if check.is_clean() {
            Ok(facts)
        } else {
            Err(check.into_problems().into())
        }
    })
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
