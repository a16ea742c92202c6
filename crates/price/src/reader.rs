//! Reading the fields of an input, with one currency throughout.

use measure::{
    Checker, Cost, Currency, Decimal, Mass, Money, Problem, Ratio, Reading, TimeSpan, TimeUnit,
    Typed, Unclear, Volume, parse_decimal, parse_in,
};
use serde_json::Number;

use crate::unit::Stuff;

/// More money than any batch is worth, in major units: keeps every product of
/// a sensible input within 28 digits.
const MOST_MONEY: Decimal = Decimal::from_parts(3_567_587_328, 232, 0, false, 0);
/// More units than any batch has.
const MOST_UNITS: u32 = 10_000_000;

const ACCEPTED_STUFF: &str =
    "write a weight such as 10 lb or 4.5 kg, a volume such as 250 ml, or a number of pieces";
const ACCEPTED_COUNT: &str = "write a whole number such as 24";

/// Reads fields and sees that all money is in one currency.
#[derive(Debug, Default)]
pub(crate) struct Reader {
    pub(crate) check: Checker,
    /// What a bare figure is in.
    own: Option<Currency>,
    /// The currency of the input, and the field that set it.
    seen: Option<(Currency, String)>,
}

impl Reader {
    /// Reads the currency that amounts without a code are in.
    pub(crate) fn own_currency(&mut self, field: &str, text: Option<&str>) {
        self.own = self.check.optional(field, text, |text| {
            Currency::from_code(&text.to_uppercase()).ok_or_else(|| {
                Unclear::new(
                    text,
                    format!("\"{text}\" is not the three letters of a currency"),
                    "write a code such as USD",
                )
            })
        });
        if let Some(own) = self.own {
            self.seen = Some((own, field.to_owned()));
        }
    }

    /// The currency of the amounts read so far.
    pub(crate) fn currency(&self) -> Option<Currency> {
        self.seen.as_ref().map(|(currency, _)| *currency)
    }

    fn one_currency(&mut self, field: &str, text: &str, currency: Currency) -> bool {
        match &self.seen {
            None => {
                self.seen = Some((currency, field.to_owned()));
                true
            }
            Some((seen, _)) if *seen == currency => true,
            Some((seen, first)) => {
                let problem = Problem::new(
                    field,
                    text.trim(),
                    format!(
                        "this is in {}, but {first} is in {}",
                        currency.code(),
                        seen.code()
                    ),
                    format!(
                        "write every amount in one currency, such as {}",
                        seen.code()
                    ),
                );
                self.check.refuse(problem);
                false
            }
        }
    }

    /// Reads an amount that must be there, of any fineness.
    pub(crate) fn cost(&mut self, field: &str, text: Option<&str>) -> Option<Cost> {
        let own = self.own;
        let cost = self.check.required(field, text, |text| {
            let cost = Cost::parse(text, own, Reading::PLAIN)?;
            within(text, cost.major())?;
            Ok(cost)
        })?;
        self.one_currency(field, text.unwrap_or_default(), cost.currency())
            .then_some(cost)
    }

    /// Reads an amount that may be missing.
    pub(crate) fn optional_cost(&mut self, field: &str, text: Option<&str>) -> Option<Cost> {
        self.cost(field, Some(filled(text)?))
    }

    /// Reads money that was paid, in whole minor units.
    pub(crate) fn money(&mut self, field: &str, text: Option<&str>) -> Option<Money> {
        let own = self.own;
        let money = self.check.required(field, text, |text| {
            let money = Money::parse(text, own, Reading::PLAIN)?;
            within(text, money.major())?;
            Ok(money)
        })?;
        self.one_currency(field, text.unwrap_or_default(), money.currency())
            .then_some(money)
    }

    /// Reads money that may not have been paid at all.
    pub(crate) fn optional_money(&mut self, field: &str, text: Option<&str>) -> Option<Money> {
        self.money(field, Some(filled(text)?))
    }

    /// Reads a whole number of units, at least `least`.
    pub(crate) fn count(&mut self, field: &str, given: Option<&Number>, least: u32) -> Option<u32> {
        let Some(given) = given else {
            let problem = Problem::new(field, "", "a number is missing", ACCEPTED_COUNT);
            self.check.refuse(problem);
            return None;
        };
        let whole = given.as_u64().or_else(|| {
            // JSON of other programs writes 24 as 24.0.
            let figure = measure::decimal_from_f64(given.as_f64()?, 9)?;
            figure.is_integer().then(|| u64::try_from(figure).ok())?
        });
        let wrong = match whole.map(u32::try_from) {
            Some(Ok(count)) if count < least => {
                format!("there must be at least {least}")
            }
            Some(Ok(count)) if count <= MOST_UNITS => return Some(count),
            Some(_) => format!("there cannot be more than {MOST_UNITS}"),
            None if given.as_f64().is_some_and(|given| given < 0.0) => {
                "a number of units cannot be negative".to_owned()
            }
            None => "this is not a whole number of units".to_owned(),
        };
        let problem = Problem::new(field, given.to_string(), wrong, ACCEPTED_COUNT);
        self.check.refuse(problem);
        None
    }

    /// Reads a time that may be missing; a bare figure is in minutes.
    pub(crate) fn time(&mut self, field: &str, text: Option<&str>) -> Option<Typed<TimeSpan>> {
        self.check.optional(field, text, |text| {
            parse_in::<TimeSpan>(text, TimeUnit::Minute, Reading::PLAIN)
        })
    }

    /// Reads a percentage that may be missing.
    pub(crate) fn ratio(&mut self, field: &str, text: Option<&str>) -> Option<Ratio> {
        self.check
            .optional(field, text, |text| Ratio::parse(text, Reading::PLAIN))
    }

    /// Reads a percentage of at most `most_percent` that may be missing.
    pub(crate) fn ratio_up_to(
        &mut self,
        field: &str,
        text: Option<&str>,
        most_percent: u32,
    ) -> Option<Ratio> {
        self.check.optional(field, text, |text| {
            let ratio = Ratio::parse(text, Reading::PLAIN)?;
            if ratio.percent() > Decimal::from(most_percent) {
                return Err(Unclear::new(
                    text.trim(),
                    format!("this is more than {most_percent} %"),
                    format!("write a percentage up to {most_percent} %"),
                ));
            }
            Ok(ratio)
        })
    }

    /// Reads a whole number of units that may be missing.
    pub(crate) fn optional_count(
        &mut self,
        field: &str,
        given: Option<&Number>,
        least: u32,
    ) -> Option<u32> {
        given.and_then(|given| self.count(field, Some(given), least))
    }

    /// Reads how much of a supply was bought or used.
    pub(crate) fn stuff(&mut self, field: &str, text: Option<&str>) -> Option<Stuff> {
        self.check.required(field, text, parse_stuff)
    }

    /// Reads a name that must not be empty.
    pub(crate) fn name(&mut self, field: &str, text: Option<&str>) -> Option<String> {
        self.check.required(field, text, |text| {
            let name = text.trim();
            if name.is_empty() {
                return Err(Unclear::new(
                    text,
                    "a name is missing",
                    "write what it is, such as soy wax",
                ));
            }
            Ok(name.to_owned())
        })
    }
}

/// The text, if there is anything in it.
pub(crate) fn filled(text: Option<&str>) -> Option<&str> {
    text.filter(|text| !text.trim().is_empty())
}

fn within(text: &str, major: Decimal) -> Result<(), Unclear> {
    if major > MOST_MONEY {
        return Err(Unclear::new(
            text.trim(),
            "the amount is too large",
            "write an amount up to 1000000000000",
        ));
    }
    Ok(())
}

fn parse_stuff(text: &str) -> Result<Stuff, Unclear> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(Unclear::new(text, "an amount is missing", ACCEPTED_STUFF));
    }
    let bare = ["pieces", "piece", "pcs"]
        .iter()
        .find_map(|word| trimmed.strip_suffix(word))
        .unwrap_or(trimmed);
    let has_unit = bare.chars().any(char::is_alphabetic);
    if !has_unit {
        let count = parse_decimal(bare, Reading::PLAIN)
            .map_err(|unclear| Unclear::new(trimmed, unclear.wrong, ACCEPTED_STUFF))?;
        if count.is_sign_negative() && !count.is_zero() {
            return Err(Unclear::new(
                trimmed,
                "a number of pieces cannot be negative",
                ACCEPTED_STUFF,
            ));
        }
        if count > Decimal::from(MOST_UNITS) {
            return Err(Unclear::new(
                trimmed,
                format!("there cannot be more than {MOST_UNITS} pieces"),
                ACCEPTED_STUFF,
            ));
        }
        return Ok(Stuff::Counted(count));
    }
    let by_weight = match Typed::<Mass>::parse(trimmed) {
        Ok(mass) => return Ok(Stuff::Weighed(mass)),
        Err(unclear) => unclear,
    };
    match Typed::<Volume>::parse(trimmed) {
        Ok(volume) => Ok(Stuff::Measured(volume)),
        // A fluid ounce of one country or the other.
        Err(by_volume) if !by_volume.wrong.ends_with("is not a unit of volume") => {
            // What stops both readings alike is put in the words of weight.
            let both = by_weight.wrong.ends_with("is not a unit of weight");
            Err(if both { by_volume } else { by_weight })
        }
        Err(_) => {
            let wrong = match by_weight.wrong.strip_suffix("is not a unit of weight") {
                Some(unit) => format!("{unit}is not a unit of weight or volume"),
                None => by_weight.wrong.into_owned(),
            };
            Err(Unclear::new(trimmed, wrong, ACCEPTED_STUFF))
        }
    }
}

/// Whether nothing is there of something that is divided by.
pub(crate) fn refuse_nothing(reader: &mut Reader, field: &str, text: Option<&str>) {
    let problem = Problem::new(
        field,
        text.unwrap_or_default().trim(),
        "nothing was bought for this money",
        "write the quantity the price was paid for, such as 10 lb",
    );
    reader.check.refuse(problem);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_money_is_a_million_million() {
        assert_eq!(MOST_MONEY, Decimal::from(1_000_000_000_000_u64));
    }
}
