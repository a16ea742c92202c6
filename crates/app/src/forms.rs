//! Forms as they were filled in: texts read by the workshop's habits, then
//! put to the decisions.
//!
//! A field's name in the form is its name in a problem, so that a page can put
//! every message beside the box it is about.

use fill::PartSeen;
use formula::FragranceLoad;
use jiff::civil::Date;
use measure::{
    Checker, Currency, Decimal, DecimalMark, Mass, Money, Problem, Problems, Quantity, Ratio,
    Reading, System, Temperature, TemperatureUnit, TimeSpan, Typed, Unclear, Volume, parse_decimal,
    parse_in,
};
use workshop::facts::{
    Amount, BlendPart, DyeDose, Format, FormulaId, FreightSpread, MouldId, PartFill, PourCount,
    PourId, ProductId, ReceiptId, ReceiptLine, Recipe, Settings, SupplyDateNoted, SupplyId,
    SupplyKind, SupplyLot,
};
use workshop::{Charges, Refusal, Workshop, decide};

use crate::steps::{Steps, Wrong};
use crate::{ActError, App, Done};
use crate::{pouring, supply_lots};

/// A form as it was sent: names and texts, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filled(Vec<(String, String)>);

impl Filled {
    /// Takes the pairs of a form.
    pub const fn new(pairs: Vec<(String, String)>) -> Self {
        Self(pairs)
    }

    /// Makes a form from fixed pairs.
    pub fn of<const N: usize>(pairs: [(&str, &str); N]) -> Self {
        Self(
            pairs
                .map(|(name, text)| (name.to_owned(), text.to_owned()))
                .into(),
        )
    }

    /// The text of a field; empty when it is not there. The last one counts.
    pub fn get(&self, name: &str) -> &str {
        self.0
            .iter()
            .rev()
            .find(|(known, _)| known == name)
            .map_or("", |(_, text)| text.trim())
    }

    /// Whether the form has the field at all.
    pub fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(known, _)| known == name)
    }

    /// The text, or none when it is empty.
    pub fn some(&self, name: &str) -> Option<&str> {
        Some(self.get(name)).filter(|text| !text.is_empty())
    }

    /// Sets a field that is not there yet.
    #[must_use]
    pub fn or(mut self, name: &str, text: impl Into<String>) -> Self {
        if !self.has(name) {
            self.0.push((name.to_owned(), text.into()));
        }
        self
    }

    /// Sets a field, whatever stood in it.
    #[must_use]
    pub fn with(mut self, name: &str, text: impl Into<String>) -> Self {
        self.0.retain(|(known, _)| known != name);
        self.0.push((name.to_owned(), text.into()));
        self
    }

    /// How many lines `stem[0]`, `stem[1]` ... the form has.
    pub fn lines(&self, stem: &str) -> usize {
        let nth = |name: &str| -> Option<usize> {
            let (index, _) = name
                .strip_prefix(stem)?
                .strip_prefix('[')?
                .split_once(']')?;
            index.parse().ok()
        };
        // A form is typed by a person; a number past this is not a line.
        self.0
            .iter()
            .filter_map(|(name, _)| nth(name))
            .filter(|n| *n < 200)
            .max()
            .map_or(0, |n| n + 1)
    }

    /// The pairs.
    pub fn pairs(&self) -> &[(String, String)] {
        &self.0
    }
}

/// Reads a weight in which a bare figure is in the workshop's everyday unit.
fn weight(reading: Reading, system: System) -> impl Fn(&str) -> Result<Typed<Mass>, Unclear> {
    move |text| parse_in(text, system.mass_unit(), reading)
}

fn quantity<Q: Quantity>(reading: Reading) -> impl Fn(&str) -> Result<Typed<Q>, Unclear> {
    move |text| Typed::parse_with(text, reading)
}

pub(crate) fn money(
    own: Option<Currency>,
    reading: Reading,
) -> impl Fn(&str) -> Result<Money, Unclear> {
    move |text| Money::parse(text, own, reading).map_err(|unclear| in_own_money(unclear, own))
}

/// Writes the example of what would be accepted in the workshop's own money.
fn in_own_money(unclear: Unclear, own: Option<Currency>) -> Unclear {
    let Some(own) = own else {
        return unclear;
    };
    let figure = if own.exponent() == Some(0) {
        "450"
    } else {
        "4.50"
    };
    let example = format!("{figure} {}", own.code());
    Unclear {
        accepted: unclear.accepted.replace("4.50 USD", &example).into(),
        ..unclear
    }
}

pub(crate) fn whole(text: &str) -> Result<u32, Unclear> {
    const ACCEPTED: &str = "write a whole number such as 12";
    let text = text.trim();
    if text.is_empty() {
        return Err(Unclear::new(text, "a number is missing", ACCEPTED));
    }
    text.parse()
        .map_err(|_| Unclear::new(text, "it is not a whole number", ACCEPTED))
}

pub(crate) fn one_of<T: Copy>(
    options: &[(&'static str, T)],
) -> impl Fn(&str) -> Result<T, Unclear> {
    move |text| {
        options
            .iter()
            .find(|(word, _)| *word == text)
            .map(|(_, value)| *value)
            .ok_or_else(|| {
                let words: Vec<_> = options.iter().map(|(word, _)| *word).collect();
                Unclear::new(
                    text,
                    "it is not one of the choices",
                    format!("choose {}", words.join(", ")),
                )
            })
    }
}

/// The words a form uses for the kinds of supply.
pub const KINDS: [(&str, SupplyKind); 8] = [
    ("wax", SupplyKind::Wax),
    ("fragrance_oil", SupplyKind::FragranceOil),
    ("dye", SupplyKind::Dye),
    ("additive", SupplyKind::Additive),
    ("wick", SupplyKind::Wick),
    ("vessel", SupplyKind::Vessel),
    ("wrap", SupplyKind::Wrap),
    ("label", SupplyKind::Label),
];

/// The words a form uses for the formats of goods.
pub const FORMATS: [(&str, Format); 5] = [
    ("snap_bar", Format::SnapBar),
    ("clamshell", Format::Clamshell),
    ("shapes", Format::Shapes),
    ("filled_candle", Format::FilledCandle),
    ("free_standing_candle", Format::FreeStandingCandle),
];

/// The words a form uses for the systems of units.
pub const SYSTEMS: [(&str, System); 3] = [
    ("metric", System::Metric),
    ("us", System::Us),
    ("imperial", System::Imperial),
];

/// The word of a value in one of the lists above.
pub fn word_of<T: PartialEq>(options: &[(&'static str, T)], value: &T) -> &'static str {
    options
        .iter()
        .find(|(_, known)| known == value)
        .map_or("", |(word, _)| word)
}

/// Writes a figure as the workshop would type it, so that a box it stands in
/// can be sent back as it is: with a comma where the workshop's mark is one.
pub fn as_typed(workshop: &Workshop, figure: impl std::fmt::Display) -> String {
    let text = figure.to_string();
    match workshop.reading().decimal_mark {
        DecimalMark::Point => text,
        DecimalMark::Comma => text.replace('.', ","),
    }
}

/// Writes the examples in a sentence as the workshop would type them: a point
/// between digits becomes its decimal mark, and figures in a row are then kept
/// apart by semicolons.
pub fn example(workshop: &Workshop, sentence: &str) -> String {
    match workshop.reading().decimal_mark {
        DecimalMark::Point => sentence.to_owned(),
        DecimalMark::Comma => with_commas(sentence),
    }
}

/// Writes the examples of what would be accepted as the workshop types.
#[must_use]
pub fn in_own_marks(workshop: &Workshop, problems: Problems) -> Problems {
    Problems(
        problems
            .0
            .into_iter()
            .map(|problem| Problem {
                accepted: example(workshop, &problem.accepted),
                ..problem
            })
            .collect(),
    )
}

fn with_commas(sentence: &str) -> String {
    let mut written = String::with_capacity(sentence.len());
    let mut before = None;
    let mut rest = sentence.chars();
    while let Some(sign) = rest.next() {
        let next = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
        let after = rest.as_str();
        let in_a_figure = before.is_some_and(|c: char| c.is_ascii_digit());
        written.push(match sign {
            '.' if in_a_figure && next(after) => ',',
            ',' if in_a_figure && after.strip_prefix(' ').is_some_and(next) => ';',
            other => other,
        });
        before = Some(sign);
    }
    written
}

/// Reads a currency by the three letters of ISO 4217, or by a sign that only one
/// of them is usually written with.
pub(crate) fn currency(text: &str) -> Result<Currency, Unclear> {
    let code = match text.trim() {
        "£" => "GBP".to_owned(),
        "€" => "EUR".to_owned(),
        "$" => {
            return Err(Unclear::new(
                text,
                "the sign does not say which dollar",
                "write USD, CAD, AUD or NZD",
            ));
        }
        letters => letters.to_uppercase(),
    };
    Currency::from_code(&code).ok_or_else(|| {
        let wrong = if text.trim().is_empty() {
            "the currency is missing"
        } else {
            "that is no currency known here"
        };
        Unclear::new(
            text,
            wrong,
            "write its three letters, such as USD, GBP or EUR",
        )
    })
}

/// Reads the days something cures.
pub(crate) fn cure_days(text: &str) -> Result<u16, Unclear> {
    u16::try_from(whole(text)?)
        .ok()
        .filter(|days| *days <= 730)
        .ok_or_else(|| {
            Unclear::new(
                text,
                "that is longer than two years",
                "write a number of days such as 10",
            )
        })
}

/// Reads a temperature; a bare figure is in the workshop's everyday unit.
fn temperature(
    workshop: &Workshop,
) -> impl Fn(&str) -> Result<Typed<Temperature>, Unclear> + use<> {
    let (reading, unit) = (workshop.reading(), temperature_unit(workshop.system()));
    move |text| parse_in(text, unit, reading)
}

const fn temperature_unit(system: System) -> TemperatureUnit {
    match system {
        System::Metric => TemperatureUnit::Celsius,
        System::Us | System::Imperial => TemperatureUnit::Fahrenheit,
    }
}

/// What a box for a temperature takes, with an example near `celsius`.
pub fn temperature_hint(workshop: &Workshop, celsius: i32) -> String {
    let fahrenheit = celsius * 9 / 5 + 32;
    match workshop.system() {
        System::Metric => {
            format!("{celsius} C or {fahrenheit} F; a bare number is read as C")
        }
        System::Us | System::Imperial => {
            format!("{fahrenheit} F or {celsius} C; a bare number is read as F")
        }
    }
}

/// Sets the workshop's units, currency and habits.
///
/// A figure that the form was filled with stands there in the mark that the
/// workshop had until now, so where the mark changes each is read with either.
/// No text can be read with both: each mark refuses the other.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn set_up(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let marks = [("point", DecimalMark::Point), ("comma", DecimalMark::Comma)];
        let system = check.required("system", Some(filled.get("system")), one_of(&SYSTEMS));
        let mark = check.required(
            "decimal_mark",
            Some(filled.get("decimal_mark")),
            one_of(&marks),
        );
        let currency = check.required("currency", Some(filled.get("currency")), currency);
        let (Some(system), Some(decimal_mark), Some(currency)) = (system, mark, currency) else {
            return Err(check.into_problems().into());
        };
        let reading = Reading {
            decimal_mark,
            customary: None,
        };
        let readings = [reading, workshop.reading()];
        let weighed =
            |text: &str| by_either(text, readings, |text, mark| weight(mark, system)(text));
        let paid = |text: &str| {
            by_either(text, readings, |text, mark| {
                money(Some(currency), mark)(text)
            })
        };
        let readability = check.required("readability", filled.some("readability"), weighed);
        if let Some(step) = &readability {
            check.keep("readability", measure::Readability::try_new(step));
        }
        let expected_loss = check.optional("expected_loss", filled.some("expected_loss"), |text| {
            by_either(text, readings, Ratio::parse).and_then(|loss| {
                if loss.decimal() < Decimal::new(5, 1) {
                    Ok(loss)
                } else {
                    Err(Unclear::new(
                        text,
                        "that is half of the melt or more",
                        "write a share such as 3 %",
                    ))
                }
            })
        });
        let melter = check.optional("melter", filled.some("melter"), weighed);
        let wage = check.optional("wage", filled.some("wage"), paid);
        let overhead_per_hour =
            check.optional("overhead_per_hour", filled.some("overhead_per_hour"), paid);
        let (true, Some(readability)) = (check.is_clean(), readability) else {
            return Err(check.into_problems().into());
        };
        let settings = Settings {
            name: filled.get("name").to_owned(),
            system,
            currency,
            decimal_mark,
            readability,
            expected_loss,
            melter,
            wage,
            overhead_per_hour,
        };
        decide::set_up(workshop, settings)
    })
}

/// Reads a text with the first reading that can.
fn by_either<T>(
    text: &str,
    [own, other]: [Reading; 2],
    read: impl Fn(&str, Reading) -> Result<T, Unclear>,
) -> Result<T, Unclear> {
    read(text, own).or_else(|unclear| read(text, other).map_err(|_| unclear))
}

/// Enters a supply.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn define_supply(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let kind = check.required("kind", Some(filled.get("kind")), one_of(&KINDS));
        let (max_load, flash_point) = sheet(&mut check, filled, workshop);
        let (true, Some(kind)) = (check.is_clean(), kind) else {
            return Err(check.into_problems().into());
        };
        decide::define_supply(workshop, kind, filled.get("name"), max_load, flash_point)
    })
}

/// Puts right or completes what the sheet says of a supply.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn amend_supply(
    app: &App,
    who: &str,
    supply: SupplyId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let (max_load, flash_point) = sheet(&mut check, filled, workshop);
        check.finish()?;
        decide::amend_supply(workshop, supply, filled.get("name"), max_load, flash_point)
    })
}

fn sheet(
    check: &mut Checker,
    filled: &Filled,
    workshop: &Workshop,
) -> (Option<FragranceLoad>, Option<Typed<Temperature>>) {
    let reading = workshop.reading();
    let max_load = check.optional("max_load", filled.some("max_load"), |text| {
        FragranceLoad::parse(text, reading)
    });
    let flash_point = check.optional(
        "flash_point",
        filled.some("flash_point"),
        temperature(workshop),
    );
    (max_load, flash_point)
}

/// The furthest back that a delivery may be written down, in days: older ones
/// are slips of the hand.
const LONGEST_AGO: i32 = 3_660;

/// Reads the day something happened, `2026-10-04`; `today` when nothing is said.
pub(crate) fn past_day(text: Option<&str>, today: Date) -> Result<Date, Unclear> {
    let Some(text) = text else {
        return Ok(today);
    };
    let accepted = format!("write a day such as {today}");
    let day: Date = text
        .parse()
        .map_err(|_| Unclear::new(text, "it is not a day", accepted.clone()))?;
    if day > today {
        return Err(Unclear::new(text, "that day is still to come", accepted));
    }
    if workshop::days_from(day, today) > LONGEST_AGO {
        return Err(Unclear::new(
            text,
            "that is more than ten years ago",
            accepted,
        ));
    }
    Ok(day)
}

/// Takes in a delivery of `lines[0]`, `lines[1]` ...; lines left empty are
/// passed over. It came on `came_on`, or today.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn receive(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    let came_on = past_day(filled.some("came_on"), app.today());
    let day = came_on.as_ref().copied().unwrap_or_else(|_| app.today());
    app.act_on(day, who, |workshop, _| {
        let reading = workshop.reading();
        let mut check = Checker::default();
        check.required("came_on", Some(filled.get("came_on")), |_| came_on.clone());
        let mut lines = Vec::new();
        let mut dates = Vec::new();
        for i in 0..filled.lines("lines") {
            let field = |part: &str| format!("lines[{i}].{part}");
            let parts = ["supply", "amount", "paid"].map(&field);
            if parts[1..].iter().all(|part| filled.some(part).is_none()) {
                continue;
            }
            if let Some(line) = receipt_line(&mut check, workshop, filled, &field, reading) {
                lines.push(line);
            }
            let date = field("best_before");
            dates.push(check.optional(&date, filled.some(&date), supply_lots::best_before));
        }
        let spreads = [
            ("by_value", FreightSpread::ByValue),
            ("by_weight", FreightSpread::ByWeight),
            ("by_volume", FreightSpread::ByVolume),
        ];
        let freight = check.optional(
            "freight",
            filled.some("freight"),
            money(workshop.currency(), reading),
        );
        let duty = check.optional(
            "duty",
            filled.some("duty"),
            money(workshop.currency(), reading),
        );
        let spread = check.optional("spread", filled.some("spread"), one_of(&spreads));
        check.finish()?;
        let charges = Charges {
            freight,
            duty,
            spread: spread.unwrap_or_default(),
        };
        let mut facts = decide::take_in(workshop, filled.get("supplier"), lines, charges)?;
        let receipt = workshop.next_receipt();
        for (date, line) in dates.into_iter().zip(0..) {
            let lot = SupplyLot { receipt, line };
            if date.is_some() {
                let best_before = date;
                facts.push(SupplyDateNoted { lot, best_before }.into());
            }
        }
        Ok(facts)
    })
}

fn receipt_line(
    check: &mut Checker,
    workshop: &Workshop,
    filled: &Filled,
    field: &impl Fn(&str) -> String,
    reading: Reading,
) -> Option<ReceiptLine> {
    let supply = check.required(
        &field("supply"),
        Some(filled.get(&field("supply"))),
        |text| known(text, "a supply", |id| workshop.supply(SupplyId(id))),
    );
    let amount = supply.and_then(|supply| {
        check.required(
            &field("amount"),
            Some(filled.get(&field("amount"))),
            |text| amount(text, supply.kind, reading, workshop.system()),
        )
    });
    let paid = check.required(
        &field("paid"),
        Some(filled.get(&field("paid"))),
        money(workshop.currency(), reading),
    );
    let volume = check.optional(
        &field("volume"),
        filled.some(&field("volume")),
        quantity::<Volume>(reading),
    );
    Some(ReceiptLine {
        volume,
        supply: supply?.id,
        supplier_lot: filled
            .get(&field("supplier_lot"))
            .chars()
            .take(40)
            .collect(),
        amount: amount?,
        paid: paid?,
    })
}

pub(crate) fn amount(
    text: &str,
    kind: SupplyKind,
    reading: Reading,
    system: System,
) -> Result<Amount, Unclear> {
    if kind.is_weighed() {
        weight(reading, system)(text).map(Amount::Weight)
    } else {
        whole(text).map(Amount::Count)
    }
}

fn known<T>(text: &str, what: &str, find: impl FnOnce(u32) -> Option<T>) -> Result<T, Unclear> {
    text.trim()
        .parse()
        .ok()
        .and_then(find)
        .ok_or_else(|| Unclear::new(text, "it is not on the list", format!("choose {what}")))
}

/// Puts right a line of a delivery.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn correct_receipt(
    app: &App,
    who: &str,
    receipt: ReceiptId,
    line: u32,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let reading = workshop.reading();
        let kind = workshop
            .receipt(receipt)
            .and_then(|receipt| receipt.lines.get(line as usize))
            .and_then(|line| workshop.supply(line.supply))
            .map(|supply| supply.kind)
            .ok_or_else(|| Refusal::Unknown {
                what: "delivery line",
                id: format!("{receipt}/{line}"),
            })?;
        let mut check = Checker::default();
        let amount = check.required("amount", Some(filled.get("amount")), |text| {
            amount(text, kind, reading, workshop.system())
        });
        let paid = check.required(
            "paid",
            Some(filled.get("paid")),
            money(workshop.currency(), reading),
        );
        let (Some(amount), Some(paid)) = (amount, paid) else {
            return Err(check.into_problems().into());
        };
        decide::correct_receipt(workshop, receipt, line, amount, paid, filled.get("reason"))
    })
}

/// Enters a mould or vessel.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn define_mould(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let (reading, system) = (workshop.reading(), workshop.system());
        let mut check = Checker::default();
        let format = check.required("format", Some(filled.get("format")), one_of(&FORMATS));
        let cavities = check.required("cavities", Some(filled.get("cavities")), whole);
        let line_volume = check.optional(
            "line_volume",
            filled.some("line_volume"),
            line_volume(reading),
        );
        let nominal = check.optional("nominal", filled.some("nominal"), weight(reading, system));
        let (true, Some(format), Some(cavities)) = (check.is_clean(), format, cavities) else {
            return Err(check.into_problems().into());
        };
        decide::define_mould(
            workshop,
            filled.get("name"),
            format,
            cavities,
            line_volume,
            nominal,
        )
    })
}

/// Reads the volume to the fill line, by volume or by the weight of the water
/// it takes: a gram of water counts as a millilitre, 0.2 % little at 20 °C.
fn line_volume(reading: Reading) -> impl Fn(&str) -> Result<Typed<Volume>, Unclear> {
    move |text| {
        quantity::<Volume>(reading)(text).or_else(|unclear| {
            let water: Typed<Mass> =
                Typed::parse_with(text, reading).map_err(|_| unclear.clone())?;
            let millilitres = water
                .value()
                .to_decimal(measure::MassUnit::Gram)
                .round_dp(2);
            Typed::from_decimal(millilitres, measure::VolumeUnit::Millilitre).ok_or(unclear)
        })
    }
}

/// Writes down a formula.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn define_formula(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let recipe = recipe(workshop, filled)?;
        decide::define_formula(workshop, filled.get("name"), recipe)
    })
}

/// Changes a formula.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn revise_formula(
    app: &App,
    who: &str,
    formula: FormulaId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let recipe = recipe(workshop, filled)?;
        decide::revise_formula(workshop, formula, recipe, filled.get("reason"))
    })
}

/// Reads a recipe: `blend[0].supply`, `blend[0].parts` ..., `oil`, `load`,
/// `dye`, `dye_dose`, `add_at`, `pour_at`, `cure_days`, `set_density`. Blend
/// lines without parts are passed over.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn recipe(workshop: &Workshop, filled: &Filled) -> Result<Recipe, Problems> {
    let reading = workshop.reading();
    let mut check = Checker::default();
    let supply = |text: &str| {
        known(text, "a supply", |id| {
            workshop.supply(SupplyId(id)).map(|supply| supply.id)
        })
    };
    let mut blend = Vec::new();
    for i in 0..filled.lines("blend") {
        let (which, parts) = (format!("blend[{i}].supply"), format!("blend[{i}].parts"));
        if filled.some(&parts).is_none() {
            continue;
        }
        let which = check.required(&which, filled.some(&which), supply);
        let parts = check.required(&parts, filled.some(&parts), |text| {
            parse_decimal(text.trim_end_matches('%'), reading)
        });
        if let (Some(supply), Some(parts)) = (which, parts) {
            blend.push(BlendPart { supply, parts });
        }
    }
    let oil = check.optional("oil", filled.some("oil"), supply);
    let load = check.required("load", Some(filled.get("load")), |text| {
        FragranceLoad::parse(text, reading)
    });
    let dye = check.optional("dye", filled.some("dye"), supply);
    let dose = dye.and_then(|_| {
        check.required("dye_dose", Some(filled.get("dye_dose")), |text| {
            dye_dose(text, reading)
        })
    });
    let add_at = check.optional("add_at", filled.some("add_at"), temperature(workshop));
    let pour_at = check.optional("pour_at", filled.some("pour_at"), temperature(workshop));
    let cure = check.required(
        "cure_days",
        filled.some("cure_days").or(Some("0")),
        cure_days,
    );
    let set_density = check.optional("set_density", filled.some("set_density"), |text| {
        let density = parse_decimal(text.trim_end_matches("g/ml"), reading)?;
        if density > Decimal::new(5, 1) && density < Decimal::new(15, 1) {
            Ok(density)
        } else {
            Err(Unclear::new(
                text,
                "no wax is that light or heavy",
                "write grams per millilitre, such as 0.90",
            ))
        }
    });
    let (true, Some(load), Some(cure_days)) = (check.is_clean(), load, cure) else {
        return Err(check.into_problems());
    };
    Ok(Recipe {
        blend,
        oil,
        load,
        dye: dye.zip(dose),
        add_at,
        pour_at,
        cure_days,
        set_density,
    })
}

fn dye_dose(text: &str, reading: Reading) -> Result<DyeDose, Unclear> {
    const ACCEPTED: &str = "write a share such as 0.1 %, or drops for a pound such as 3 drops";
    let words = text.trim().to_lowercase();
    if let Some(drops) = words
        .split("drop")
        .next()
        .filter(|_| words.contains("drop"))
    {
        return whole(drops)
            .map(DyeDose::DropsPerPound)
            .map_err(|_| Unclear::new(text, "the drops are not a whole number", ACCEPTED));
    }
    Ratio::parse(text, reading)
        .map(DyeDose::OfWax)
        .map_err(|unclear| Unclear::new(text, unclear.wrong, ACCEPTED))
}

/// Fills in what was left open of another size or load: a pound, as the formula says.
pub fn first_what_if(workshop: &Workshop, recipe: &Recipe, filled: &Filled) -> Filled {
    let pound = Typed::from_decimal(Decimal::ONE, measure::MassUnit::Pound)
        .map_or(Mass::ZERO, |pound: Typed<Mass>| pound.value());
    let total = measure::in_system(pound, workshop.system());
    filled
        .clone()
        .or("load", as_typed(workshop, recipe.load))
        .or("total", as_typed(workshop, total))
}

/// Plans a recipe at another size or load: `total` and `load`.
///
/// # Errors
///
/// A problem for every field that cannot be read, or why it cannot be planned.
pub fn what_if(
    workshop: &Workshop,
    recipe: &Recipe,
    filled: &Filled,
) -> Result<workshop::Planned, Problems> {
    let (reading, system) = (workshop.reading(), workshop.system());
    let mut check = Checker::default();
    let total = check.required("total", Some(filled.get("total")), weight(reading, system));
    let load = check.required("load", Some(filled.get("load")), |text| {
        FragranceLoad::parse(text, reading)
    });
    let (Some(total), Some(load)) = (total, load) else {
        return Err(in_own_marks(workshop, check.into_problems()));
    };
    let recipe = Recipe {
        load,
        ..recipe.clone()
    };
    workshop::plan_pour(workshop, &recipe, formula::Target::Total(total.value()))
        .map_err(|refusal| in_own_marks(workshop, problems_of(refusal)))
}

/// A refusal as problems of a form.
fn problems_of(refusal: Refusal) -> Problems {
    match refusal {
        Refusal::Input(problems) => problems,
        other => Problem::new("", "", other.to_string(), "look at how it stands now").into(),
    }
}

/// Defines a good; its packing comes as `packing[0].supply`, `packing[0].each` ...
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn define_product(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let formula = check.required("formula", Some(filled.get("formula")), |text| {
            known(text, "a formula", |id| {
                workshop.formula(FormulaId(id)).map(|formula| formula.id)
            })
        });
        let mould = check.required("mould", Some(filled.get("mould")), |text| {
            known(text, "a mould", |id| {
                workshop.mould(MouldId(id)).map(|mould| mould.id)
            })
        });
        let mut packing = Vec::new();
        for i in 0..filled.lines("packing") {
            let (which, each) = (format!("packing[{i}].supply"), format!("packing[{i}].each"));
            if filled.some(&which).is_none() {
                continue;
            }
            let which = check.required(&which, filled.some(&which), |text| {
                known(text, "a supply", |id| {
                    workshop.supply(SupplyId(id)).map(|supply| supply.id)
                })
            });
            let each = check.required(&each, filled.some(&each).or(Some("1")), whole);
            if let (Some(which), Some(each)) = (which, each) {
                packing.push((which, each));
            }
        }
        let (true, Some(formula), Some(mould)) = (check.is_clean(), formula, mould) else {
            return Err(check.into_problems().into());
        };
        decide::define_product(workshop, filled.get("name"), formula, mould, packing)
    })
}

/// Sets the prices of a good.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn set_prices(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let read = money(workshop.currency(), workshop.reading());
        let [low, typical, high] = ["low", "typical", "high"]
            .map(|field| check.required(field, Some(filled.get(field)), &read));
        let (Some(low), Some(typical), Some(high)) = (low, typical, high) else {
            return Err(check.into_problems().into());
        };
        decide::set_prices(workshop, product, low, typical, high)
    })
}

/// Reads one weight off the scale, `weight`.
///
/// # Errors
///
/// The problem with it.
pub fn scale_weight(workshop: &Workshop, filled: &Filled) -> Result<Typed<Mass>, Problems> {
    off_the_scale(workshop, "weight", filled)
}

fn off_the_scale(
    workshop: &Workshop,
    field: &str,
    filled: &Filled,
) -> Result<Typed<Mass>, Problems> {
    let mut check = Checker::default();
    let unit = workshop
        .settings()
        .map_or(workshop.system().mass_unit(), |settings| {
            settings.readability.unit()
        });
    check
        .required(field, Some(filled.get(field)), |text| {
            parse_in(text, unit, workshop.reading())
        })
        .ok_or_else(|| check.into_problems())
}

/// Asks what is doubtful about `field`, unless the form says that it is so: its
/// field `sure_` then holds the very text that was asked about.
///
/// # Errors
///
/// The question.
pub fn ask_about(
    filled: &Filled,
    field: &str,
    doubt: impl FnOnce() -> Option<Problem>,
) -> Result<(), Problems> {
    let is_sure =
        filled.some(field).is_some() && filled.some(&format!("sure_{field}")) == filled.some(field);
    match doubt().filter(|_| !is_sure) {
        Some(question) => Err(question.into()),
        None => Ok(()),
    }
}

/// Asks about a weight far beyond what was to go in.
fn ask_about_weight(
    workshop: &Workshop,
    pour: PourId,
    portion: u32,
    weight: &Typed<Mass>,
    filled: &Filled,
) -> Result<(), Problems> {
    ask_about(filled, "weight", || {
        let target = workshop.pour(pour)?.targets.get(portion as usize)?;
        decide::doubt_of_weight(workshop, weight, target)
    })
}

/// Notes what went into the pot: `portion` and `weight`; `sure_weight` says it
/// again where it is far more than planned. What was typed for the empty pot,
/// `pot`, is taken with it, or alone where no weight was typed.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn weigh(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut before = None;
        if filled.some("pot").is_some() {
            let pot = off_the_scale(workshop, "pot", filled)?;
            let decided = decide::weigh_pot(workshop, pour, pot)?;
            if filled.some("weight").is_none() {
                return Ok(decided);
            }
            let mut steps = Steps::new(workshop, day);
            steps.fold(decided);
            before = Some(steps);
        }
        let workshop = before.as_ref().map_or(workshop, |steps| &steps.workshop);
        let weight = scale_weight(workshop, filled)?;
        let portion = portion(filled)?;
        let decided = decide::weigh(workshop, pour, portion, weight.clone())?;
        ask_about(filled, "weight", || {
            let found = workshop.pour(pour)?;
            let target = found.targets.get(portion as usize)?;
            pouring::meant(workshop, found, portion as usize, &weight)
                .map(|meant| meant.question(&weight))
                .or_else(|| decide::doubt_of_weight(workshop, &weight, target))
        })?;
        let pot = before.map_or_else(Vec::new, |steps| steps.facts);
        Ok(pot.into_iter().chain(decided).collect())
    })
}

/// Notes what the empty pot weighs: `pot`.
///
/// # Errors
///
/// [`ActError`], with a problem when it cannot be read.
pub fn weigh_pot(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::weigh_pot(workshop, pour, off_the_scale(workshop, "pot", filled)?)
    })
}

/// Puts right a weight: `portion`, `weight` and `reason`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn correct_weight(
    app: &App,
    who: &str,
    pour: PourId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let weight = scale_weight(workshop, filled)?;
        let portion = portion(filled)?;
        let reason = filled.get("reason");
        let decided = decide::correct_weight(workshop, pour, portion, weight.clone(), reason)?;
        ask_about_weight(workshop, pour, portion, &weight, filled)?;
        Ok(decided)
    })
}

fn portion(filled: &Filled) -> Result<u32, Problems> {
    whole(filled.get("portion")).map_err(|unclear| Problem::at("portion", unclear).into())
}

/// Notes that the melt went into the mould: `wax_at` and `room_at`, where they
/// were read.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn pour_out(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let wax_at = check.optional("wax_at", filled.some("wax_at"), temperature(workshop));
        let room_at = check.optional("room_at", filled.some("room_at"), temperature(workshop));
        check.finish()?;
        decide::pour_out(workshop, pour, wax_at, room_at)
    })
}

/// Notes what came out: `full`, `part` (a weight, a share, `none` or empty for
/// unknown), `left`, `topped_up`; with `reason` when an earlier count is put right,
/// and `sure_full` saying `full` again where it is more than one fill gives.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn count(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let counted = read_count(workshop, filled, &mut check);
        let Some(counted) = counted.filter(|_| check.is_clean()) else {
            return Err(check.into_problems().into());
        };
        let decided = decide::count(workshop, pour, counted.clone(), filled.some("reason"))?;
        ask_about_count(workshop, pour, &counted, filled)?;
        Ok(decided)
    })
}

fn ask_about_count(
    workshop: &Workshop,
    pour: PourId,
    counted: &PourCount,
    filled: &Filled,
) -> Result<(), Problems> {
    ask_about(filled, "full", || {
        decide::doubt_of_count(workshop, workshop.pour(pour)?, counted)
    })
}

fn read_count(workshop: &Workshop, filled: &Filled, check: &mut Checker) -> Option<PourCount> {
    let (reading, system) = (workshop.reading(), workshop.system());
    let full = check.required("full", Some(filled.get("full")), whole);
    let part = check.required("part", Some(filled.get("part")), |text| {
        part_fill(text, reading, system)
    });
    let left = check.optional("left", filled.some("left"), weight(reading, system));
    let topped_up = check.optional(
        "topped_up",
        filled.some("topped_up"),
        weight(reading, system),
    );
    Some(PourCount {
        full: full?,
        part: part?,
        left,
        topped_up,
    })
}

/// What a lot came to: good, seconds, rejects, and hands-on time.
type LotParts = ((u32, u32, u32), Option<Typed<TimeSpan>>);

fn read_lot(workshop: &Workshop, filled: &Filled, check: &mut Checker) -> Option<LotParts> {
    let reading = workshop.reading();
    let good = check.required("good", Some(filled.get("good")), whole);
    let seconds = check.required("seconds", filled.some("seconds").or(Some("0")), whole);
    let rejects = check.required("rejects", filled.some("rejects").or(Some("0")), whole);
    let minutes = check.optional("minutes", filled.some("minutes"), |text| {
        parse_in::<TimeSpan>(text, measure::TimeUnit::Minute, reading)
    });
    Some(((good?, seconds?, rejects?), minutes))
}

/// Puts right what was written of a finished lot: the fields of [`count`] and
/// of [`finish`], and `reason`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn correct_lot(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let counted = read_count(workshop, filled, &mut check);
        let lot = read_lot(workshop, filled, &mut check);
        let (true, Some(counted), Some((units, minutes))) = (check.is_clean(), counted, lot) else {
            return Err(check.into_problems().into());
        };
        let reason = filled.get("reason");
        let decided = decide::correct_lot(workshop, pour, counted.clone(), units, minutes, reason)?;
        ask_about_count(workshop, pour, &counted, filled)?;
        Ok(decided)
    })
}

/// Gives a pour up: `why`.
///
/// # Errors
///
/// [`ActError`] when it is finished, or `why` is missing.
pub fn abandon(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::abandon(workshop, pour, filled.get("why"))
    })
}

fn part_fill(text: &str, reading: Reading, system: System) -> Result<PartFill, Unclear> {
    let seen = PartSeen::parse(text, Some(system.mass_unit()), reading)?;
    Ok(match seen {
        PartSeen::Unknown => PartFill::Unknown,
        PartSeen::None => PartFill::None,
        PartSeen::Share(share) => PartFill::Share(share),
        PartSeen::Weighed(weight) => PartFill::Weighed(weight),
    })
}

/// Notes that the units are out of the mould.
///
/// # Errors
///
/// [`ActError`] when they are not in it.
pub fn demould(app: &App, who: &str, pour: PourId) -> Result<Done, ActError> {
    app.act(who, |workshop, _| decide::demould(workshop, pour))
}

/// Notes unit weights: `weights`, several apart by spaces, semicolons, commas with a space
/// behind them, or lines; a bare figure is in the workshop's everyday unit. With
/// `weights_reason` where some do not fit what went in.
///
/// # Errors
///
/// [`ActError`], with a problem for every weight that cannot be read.
pub fn weigh_units(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let weights = unit_weights(workshop, filled.get("weights"))?;
        decide::weigh_units_because(workshop, pour, weights, filled.get("weights_reason"))
    })
}

/// Reads several weights from one box.
///
/// # Errors
///
/// A problem for every weight that cannot be read.
pub fn unit_weights(workshop: &Workshop, text: &str) -> Result<Vec<Typed<Mass>>, Problems> {
    let (reading, system) = (workshop.reading(), workshop.system());
    let mut check = Checker::default();
    let mut weights = Vec::new();
    // A comma keeps weights apart only with a space behind it: `1,5` is one
    // weight typed with a decimal comma, to be read or refused, never two.
    let spaced = text.replace(", ", ";");
    for chunk in spaced
        .split([';', '\n'])
        .map(str::trim)
        .filter(|chunk| !chunk.is_empty())
    {
        let words: Vec<_> = chunk.split_whitespace().collect();
        let bare = words
            .iter()
            .all(|word| word.starts_with(|c: char| c.is_ascii_digit()));
        if bare && words.len() > 1 && !chunk.contains('/') {
            for word in words {
                weights.extend(check.required("weights", Some(word), weight(reading, system)));
            }
        } else {
            weights.extend(check.required("weights", Some(chunk), weight(reading, system)));
        }
    }
    check.finish()?;
    Ok(weights)
}

/// Strikes a unit weight: `nth` and `reason`.
///
/// # Errors
///
/// [`ActError`] when there is no such weight or no reason.
pub fn strike_unit_weight(
    app: &App,
    who: &str,
    pour: PourId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let nth = whole(filled.get("nth"))
            .map_err(|unclear| Problems::from(Problem::at("nth", unclear)))?;
        decide::strike_unit_weight(workshop, pour, nth, filled.get("reason"))
    })
}

/// The boxes of the count that stand closed beside those of the lot.
const OF_COUNT: [&str; 5] = ["full", "part", "left", "topped_up", "reason"];

/// Finishes a pour: `good`, `seconds`, `rejects`, `minutes`; with the unit
/// weights and the count put right that stand typed on the same page. All of it
/// is written down, or nothing.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn finish(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut wrong = Wrong::default();
        let mut check = Checker::default();
        let lot = read_lot(workshop, filled, &mut check);
        let recounts = OF_COUNT.iter().any(|field| filled.some(field).is_some());
        let counted = if recounts {
            read_count(workshop, filled, &mut check)
        } else {
            None
        };
        wrong.gather(check.finish().map_err(Refusal::from))?;
        let weights = match filled.some("weights") {
            Some(text) => wrong.gather(unit_weights(workshop, text).map_err(Refusal::from))?,
            None => None,
        };
        wrong.finish()?;
        let ((good, seconds, rejects), minutes) = lot.ok_or_else(Problems::default)?;
        let mut steps = Steps::new(workshop, day);
        if let Some(counted) = counted {
            let decided = decide::count(workshop, pour, counted.clone(), filled.some("reason"))?;
            ask_about_count(workshop, pour, &counted, filled)?;
            steps.fold(decided);
        }
        if let Some(weights) = weights {
            let reason = filled.get("weights_reason");
            let decided = decide::weigh_units_because(&steps.workshop, pour, weights, reason)?;
            steps.fold(decided);
        }
        let decided = decide::finish(&steps.workshop, pour, good, seconds, rejects, minutes)?;
        steps.fold(decided);
        Ok(steps.facts)
    })
}

/// Holds a lot: `reason`.
///
/// # Errors
///
/// [`ActError`] when it cannot be held or the reason is missing.
pub fn hold(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::hold(workshop, pour, filled.get("reason"))
    })
}

/// Frees a lot: `reason`.
///
/// # Errors
///
/// [`ActError`] when it is not held or the reason is missing.
pub fn release(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::release(workshop, pour, filled.get("reason"))
    })
}
