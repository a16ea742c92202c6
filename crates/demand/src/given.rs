//! Reading what was typed, and saying figures.

use measure::{
    Checker, Cost, Currency, Decimal, Problem, Ratio, Reading, TimeSpan, TimeUnit, Unclear,
    decimal_from_f64, figure, parse_decimal, parse_in,
};
use serde_json::Number;

/// More money than any unit costs, in major units.
const MOST_MONEY: Decimal = Decimal::from_parts(1_000_000_000, 0, 0, false, 0);
/// More units than any day sells.
const MOST_SOLD: u64 = 1_000_000_000;

const ACCEPTED_COUNT: &str = "write a whole number such as 24";
const ACCEPTED_EXPOSURE: &str =
    "write hours such as 6.5 h, or a number such as 240 people who came by";

/// Reads fields and sees that all money is in one currency.
#[derive(Debug, Default)]
pub(crate) struct Reader {
    pub(crate) check: Checker,
    own: Option<Currency>,
    /// The currency of the input, and the field that set it.
    seen: Option<(Currency, String)>,
}

impl Reader {
    /// Reads the currency that amounts without a code are in.
    pub(crate) fn own_currency(&mut self, text: Option<&str>) {
        self.own = self.check.optional("currency", text, |text| {
            Currency::from_code(&text.to_uppercase()).ok_or_else(|| {
                Unclear::new(
                    text,
                    format!("\"{text}\" is not the three letters of a currency"),
                    "write a code such as USD",
                )
            })
        });
        self.seen = self.own.map(|own| (own, "currency".to_owned()));
    }

    pub(crate) fn currency(&self) -> Option<Currency> {
        self.seen.as_ref().map(|(currency, _)| *currency)
    }

    /// Reads an amount that must be there.
    pub(crate) fn cost(&mut self, field: &str, text: Option<&str>) -> Option<Cost> {
        let own = self.own;
        let cost = self.check.required(field, text, |text| {
            let cost = Cost::parse(text, own, Reading::PLAIN)?;
            if cost.major() > MOST_MONEY {
                return Err(Unclear::new(
                    text.trim(),
                    "the amount is too large",
                    "write an amount up to 1000000000",
                ));
            }
            Ok(cost)
        })?;
        match &self.seen {
            None => self.seen = Some((cost.currency(), field.to_owned())),
            Some((seen, first)) if *seen != cost.currency() => {
                let problem = Problem::new(
                    field,
                    text.unwrap_or_default().trim(),
                    format!(
                        "this is in {}, but {first} is in {}",
                        cost.currency().code(),
                        seen.code()
                    ),
                    format!(
                        "write every amount in one currency, such as {}",
                        seen.code()
                    ),
                );
                self.check.refuse(problem);
                return None;
            }
            Some(_) => {}
        }
        Some(cost)
    }

    /// Reads an amount above nothing.
    pub(crate) fn price(&mut self, field: &str, text: Option<&str>) -> Option<Cost> {
        let price = self.cost(field, text)?;
        if price.major() > Decimal::ZERO {
            return Some(price);
        }
        self.check.refuse(Problem::new(
            field,
            text.unwrap_or_default().trim(),
            "what is given away says nothing about a price",
            "write a price above nothing, such as 3.00 USD",
        ));
        None
    }

    /// Reads a whole number of at least `least`.
    pub(crate) fn count(&mut self, field: &str, given: Option<&Number>, least: u64) -> Option<u64> {
        let Some(given) = given else {
            let problem = Problem::new(field, "", "a number is missing", ACCEPTED_COUNT);
            self.check.refuse(problem);
            return None;
        };
        let whole = given.as_u64().or_else(|| {
            // JSON of other programs writes 24 as 24.0.
            let figure = decimal_from_f64(given.as_f64()?, 9)?;
            figure.is_integer().then(|| u64::try_from(figure).ok())?
        });
        let wrong = match whole {
            Some(count) if count < least => format!("there must be at least {least}"),
            Some(count) if count <= MOST_SOLD => return Some(count),
            Some(_) => format!("there cannot be more than {MOST_SOLD}"),
            None if given.as_f64().is_some_and(|given| given < 0.0) => {
                "a number of units cannot be negative".to_owned()
            }
            None => "this is not a whole number of units".to_owned(),
        };
        let problem = Problem::new(field, given.to_string(), wrong, ACCEPTED_COUNT);
        self.check.refuse(problem);
        None
    }

    /// Reads a percentage that may be missing.
    pub(crate) fn ratio(&mut self, field: &str, text: Option<&str>) -> Option<Ratio> {
        self.check
            .optional(field, text, |text| Ratio::parse(text, Reading::PLAIN))
    }

    /// Reads hours, or a number of whatever the days are compared by.
    pub(crate) fn exposure(&mut self, field: &str, text: Option<&str>) -> Option<f64> {
        self.check.optional(field, text, |text| {
            let number = if text.chars().any(char::is_alphabetic) {
                let time = parse_in::<TimeSpan>(text, TimeUnit::Hour, Reading::PLAIN)?;
                float(time.value().hours())
            } else {
                float(parse_decimal(text, Reading::PLAIN)?)
            };
            if number > 0.0 && number < 1e12 {
                Ok(number)
            } else {
                Err(Unclear::new(
                    text,
                    "nothing can be sold where nothing was open and nobody came",
                    ACCEPTED_EXPOSURE,
                ))
            }
        })
    }
}

pub(crate) fn float(figure: Decimal) -> f64 {
    use rust_decimal::prelude::ToPrimitive;
    figure.to_f64().unwrap_or(f64::MAX)
}

/// Money computed in floats, to the minor unit.
pub(crate) fn money(major: f64, currency: Currency) -> String {
    match decimal_from_f64(major, 6) {
        Some(major) => Cost::new(major, currency).to_string(),
        None => "too much to say".to_owned(),
    }
}

/// A chance in whole percent; what rounds to certain or to never is said as a
/// bound.
pub(crate) fn chance(chance: f64) -> String {
    if chance >= 0.995 {
        "over 99 %".to_owned()
    } else if chance < 0.005 {
        "under 1 %".to_owned()
    } else {
        format!("{} %", figure(chance * 100.0, 0))
    }
}

/// Units sold, to three figures or the whole unit.
pub(crate) fn units(sold: f64) -> String {
    if sold < 9.95 {
        figure(sold, 1)
    } else {
        figure(sold, 0)
    }
}
