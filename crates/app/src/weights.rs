//! What a good may be said to weigh: what is asked, put to the calculations,
//! and what is settled, written down.

use jiff::civil::Date;
use measure::{
    Checker, Decimal, Mass, MassUnit, Problem, Problems, Ratio, Readability, Typed, Unclear,
};
use netweight::{Rule, Sample, chart, declare, net_weight, overfill};
use serde_json::Number;
use workshop::facts::{MakerDetails, Market, PourId, ProductId, SupplyId, TareOf};
use workshop::{
    Pour, Weighed, Workshop, cost_of_melt, decide, lots_beside, made_in_a_year, size_of_lot,
    tare_of, weighed_lots, weights_of_lot,
};

use crate::forms::{Filled, as_typed, unit_weights, word_of};
use crate::{ActError, App, Done};

/// The words a form uses for whose rules are asked.
pub const RULES: [(&str, Rule); 4] = [
    ("US", Rule::Us),
    ("EU", Rule::Eu),
    ("UK", Rule::Uk),
    ("UK every", Rule::UkEvery),
];

/// The rules a workshop is asked by first: those of where it sells, or else
/// those of its units.
pub fn rule_of(workshop: &Workshop) -> Rule {
    let markets = workshop
        .label_settings()
        .map(|settings| settings.markets.as_slice())
        .unwrap_or_default();
    let metric = workshop.system().mass_unit() == MassUnit::Gram;
    match markets {
        [] if metric => Rule::Eu,
        [] => Rule::Us,
        sold if sold.contains(&Market::Us) && !metric => Rule::Us,
        sold if sold.contains(&Market::Eu) => Rule::Eu,
        sold if sold.contains(&Market::Gb) => Rule::Uk,
        _ => Rule::Us,
    }
}

/// A declared weight held against the units of a lot.
#[derive(Debug, Clone)]
pub struct Tested {
    /// Whose rules.
    pub rule: Rule,
    /// What was tested.
    pub declared: Typed<Mass>,
    /// Whether the good's label says it under these very rules.
    pub is_declared: bool,
    /// What was found, or why nothing could be.
    pub found: Result<net_weight::Output, Problems>,
}

/// A lot on the control chart.
#[derive(Debug, Clone)]
pub struct Charted {
    /// Its code.
    pub lot: String,
    /// The lot.
    pub pour: PourId,
}

/// Everything a page says of the weight of a good's units.
#[derive(Debug, Clone)]
pub struct Said {
    /// The lot whose units were asked of.
    pub pour: PourId,
    /// Whose rules.
    pub rule: Rule,
    /// Units weighed of the lot.
    pub weighed: usize,
    /// Units weighed of other lots of the mould, and how many lots.
    pub beside: (usize, usize),
    /// Whether they were weighed in their wrapping.
    pub wrapped: bool,
    /// The net weights of the lot, g.
    pub nets: Vec<f64>,
    /// The form with what stands in its boxes.
    pub filled: Filled,
    /// What could not be read of it.
    pub problems: Problems,
    /// What may be declared.
    pub declare: Result<declare::Output, Problems>,
    /// The weight on the label, or the one that is tried, by each rule.
    pub tests: Vec<Tested>,
    /// What is given away.
    pub overfill: Option<Result<overfill::Output, Problems>>,
    /// The control chart, with its lots in the same order.
    pub chart: Option<(chart::Chart, Vec<Charted>)>,
}

/// What the units of a lot say; none before one was weighed.
pub fn of_lot(workshop: &Workshop, pour: &Pour, filled: &Filled, today: Date) -> Option<Said> {
    let lot = weights_of_lot(workshop, pour)?;
    Some(said(workshop, &lot, filled, today))
}

/// What the units of a good say over its lots: of the latest lot with two units
/// or more, beside the others of its mould; none before one was weighed.
pub fn of_good(
    workshop: &Workshop,
    product: ProductId,
    filled: &Filled,
    today: Date,
) -> Option<Said> {
    let lots = weighed_lots(workshop, product);
    let lot = lots
        .iter()
        .find(|lot| lot.weights.len() >= 2)
        .or_else(|| lots.first())?;
    Some(said(workshop, lot, filled, today))
}

fn said(workshop: &Workshop, lot: &Weighed<'_>, filled: &Filled, today: Date) -> Said {
    let pour = lot.pour;
    let beside = lots_beside(workshop, lot);
    let filled = filled_out(workshop, lot, filled, today);
    let asked = read(workshop, &filled);
    let (problems, asked) = match asked {
        Ok(asked) => (Problems::default(), asked),
        Err(problems) => {
            let stands = filled_out(workshop, lot, &Filled::default(), today);
            (problems, read(workshop, &stands).unwrap_or_default())
        }
    };
    let rule = asked.rule.unwrap_or_else(|| rule_of(workshop));
    let texts = |lot: &Weighed<'_>| -> Vec<String> {
        lot.weights.iter().map(ToString::to_string).collect()
    };
    let tares = if lot.wrapped {
        tare_texts(workshop, pour)
    } else {
        Vec::new()
    };
    let weights = texts(lot);
    let lots: Vec<Vec<String>> = beside.iter().map(texts).collect();
    let text = |typed: &Option<Typed<Mass>>| typed.as_ref().map(ToString::to_string);
    let declare = declare::calculate(&declare::Input {
        rule: Some(rule.to_string()),
        weights: weights.clone(),
        lots: lots.clone(),
        chance: asked.chance.clone(),
        steps: text(&asked.steps),
        lot_size: asked.lot_size.map(Number::from),
        tares: tares.clone(),
        scale: text(&asked.scale),
        scale_error: text(&asked.scale_error),
        ..declare::Input::default()
    });
    let labelled = labelled(workshop, pour, &asked, rule);
    let test = |(rule, declared, is_declared): (Rule, Typed<Mass>, bool)| Tested {
        found: held(workshop, lot, &asked, rule, &declared),
        rule,
        declared,
        is_declared,
    };
    let overfill = labelled
        .iter()
        .find(|(own, _, _)| *own == rule)
        .map(|(_, declared, _)| {
            overfill::calculate(&overfill::Input {
                rule: Some(rule.to_string()),
                declared: Some(declared.to_string()),
                weights: weights.clone(),
                lots: lots.clone(),
                lot_size: asked.lot_size.map(Number::from),
                a_year: asked.a_year.map(Number::from),
                cost: cost_of_melt(workshop, pour)
                    .map(|cost| format!("{} {}", cost.major().round_dp(6), cost.currency().code())),
                chance: asked.chance.clone(),
                tares: tares.clone(),
                scale: text(&asked.scale),
                scale_error: text(&asked.scale_error),
                ..overfill::Input::default()
            })
        });
    let tests = labelled.into_iter().map(test).collect();
    let tare = tare_g(workshop, lot);
    Said {
        pour: pour.id,
        rule,
        weighed: lot.weights.len(),
        beside: (
            beside.iter().map(|lot| lot.weights.len()).sum(),
            beside.len(),
        ),
        wrapped: lot.wrapped,
        nets: nets(lot, tare),
        filled,
        problems,
        declare,
        tests,
        overfill,
        chart: charted(lot, &beside, tare),
    }
}

/// A declared weight held against the units of a lot by one body of rules, with
/// the lot's own size and the scale it was weighed on.
pub(crate) fn holds(
    workshop: &Workshop,
    lot: &Weighed<'_>,
    rule: Rule,
    declared: &Typed<Mass>,
    today: Date,
) -> Result<net_weight::Output, Problems> {
    let stands = filled_out(workshop, lot, &Filled::default(), today);
    held(workshop, lot, &read(workshop, &stands)?, rule, declared)
}

fn held(
    workshop: &Workshop,
    lot: &Weighed<'_>,
    asked: &Asked,
    rule: Rule,
    declared: &Typed<Mass>,
) -> Result<net_weight::Output, Problems> {
    let text = |typed: &Option<Typed<Mass>>| typed.as_ref().map(ToString::to_string);
    net_weight::calculate(&net_weight::Input {
        rule: Some(rule.to_string()),
        declared: Some(declared.to_string()),
        lot_size: asked.lot_size.map(Number::from),
        weights: lot.weights.iter().map(ToString::to_string).collect(),
        tares: if lot.wrapped {
            tare_texts(workshop, lot.pour)
        } else {
            Vec::new()
        },
        scale: text(&asked.scale),
        scale_error: text(&asked.scale_error),
        ..net_weight::Input::default()
    })
}

/// What the wrapping weighs where it is in the weights, g.
fn tare_g(workshop: &Workshop, lot: &Weighed<'_>) -> f64 {
    if !lot.wrapped {
        return 0.0;
    }
    lot.pour
        .product
        .and_then(|product| tare_of(workshop, product))
        .map_or(0.0, |tare| tare.average.grams())
}

fn nets(lot: &Weighed<'_>, tare_g: f64) -> Vec<f64> {
    let net = |weight: &&Typed<Mass>| weight.value().grams() - tare_g;
    lot.weights.iter().map(net).collect()
}

fn charted(
    lot: &Weighed<'_>,
    beside: &[Weighed<'_>],
    tare_g: f64,
) -> Option<(chart::Chart, Vec<Charted>)> {
    let mut lots: Vec<&Weighed<'_>> = beside
        .iter()
        .chain(std::iter::once(lot))
        .filter(|lot| lot.weights.len() >= 2)
        .collect();
    lots.sort_by_key(|lot| lot.pour.id);
    let grams: Vec<Vec<f64>> = lots.iter().map(|lot| nets(lot, tare_g)).collect();
    let names = lots
        .iter()
        .map(|lot| Charted {
            lot: lot.pour.lot.clone(),
            pour: lot.pour.id,
        })
        .collect();
    Some((chart::chart(&grams)?, names))
}

/// Tares as a list whose average and spread are those known.
fn tare_texts(workshop: &Workshop, pour: &Pour) -> Vec<String> {
    let Some(tare) = pour.product.and_then(|product| tare_of(workshop, product)) else {
        return Vec::new();
    };
    let one = tare.average.typed(MassUnit::Gram, 3).to_string();
    Sample::alike(tare.weighed, tare.average.grams(), tare.sd_g).map_or_else(
        || vec![one],
        |sample| {
            let text = |mass: &Mass| mass.typed(MassUnit::Gram, 3).to_string();
            sample.nets().iter().map(text).collect()
        },
    )
}

/// What the label says under each rule, or what is tried instead: the weight
/// typed, the weight declared under these rules, the one declared under others,
/// the mould's nominal weight. Ounces are cut to whole grams where grams are
/// declared.
fn labelled(
    workshop: &Workshop,
    pour: &Pour,
    asked: &Asked,
    first: Rule,
) -> Vec<(Rule, Typed<Mass>, bool)> {
    let declared = |rule| {
        let declared = workshop.declared_weight(pour.product?, rule)?;
        Some(declared.declared.clone())
    };
    let nominal = || {
        let mould = workshop.mould(pour.mould?)?;
        mould.nominal.clone()
    };
    let other = || Rule::ALL.into_iter().find_map(declared);
    let Some(tried) = asked
        .declared
        .clone()
        .or_else(|| declared(first))
        .or_else(other)
        .or_else(nominal)
    else {
        return Vec::new();
    };
    let mut rules: Vec<Rule> = vec![first];
    rules.extend(
        [Rule::Us, Rule::Eu, Rule::Uk]
            .into_iter()
            .filter(|rule| *rule != first),
    );
    rules
        .into_iter()
        .map(|rule| {
            let own = declared(rule).filter(|_| asked.declared.is_none());
            let is_declared = own.is_some();
            let weight = own.unwrap_or_else(|| tried.clone());
            let in_ounces = matches!(weight.unit(), MassUnit::Ounce | MassUnit::Pound);
            let weight = if rule.is_metric() && in_ounces {
                Readability::usual(MassUnit::Gram).down(weight.value())
            } else {
                weight
            };
            (rule, weight, is_declared)
        })
        .filter(|(_, weight, _)| weight.value() > Mass::ZERO)
        .collect()
}

/// What a page is asked, read.
#[derive(Debug, Clone, Default)]
struct Asked {
    rule: Option<Rule>,
    declared: Option<Typed<Mass>>,
    chance: Option<String>,
    steps: Option<Typed<Mass>>,
    scale: Option<Typed<Mass>>,
    scale_error: Option<Typed<Mass>>,
    lot_size: Option<u32>,
    a_year: Option<u32>,
}

/// The boxes with what is known put where nothing was typed.
fn filled_out(workshop: &Workshop, lot: &Weighed<'_>, filled: &Filled, today: Date) -> Filled {
    let number = |known: Option<u32>| known.map_or_else(String::new, |n| n.to_string());
    let a_year = lot
        .pour
        .product
        .map(|product| made_in_a_year(workshop, product, today))
        .filter(|units| *units > 0);
    filled
        .clone()
        .or("sold_in", word_of(&RULES, &rule_of(workshop)))
        .or("chance", "99 %")
        .or("scale", scale_of(workshop, lot))
        .or("lot_size", number(size_of_lot(lot.pour)))
        .or("a_year", number(a_year))
}

/// The step the weights were read to: that of the workshop's scale where every
/// one is a whole number of its steps, or else the finest place they show.
fn scale_of(workshop: &Workshop, lot: &Weighed<'_>) -> String {
    let own = workshop.settings().map(|settings| &settings.readability);
    // Ounces are held to half a microgram.
    let is_whole = |own: &Typed<Mass>| {
        let step = own.value().micrograms().max(1);
        lot.weights.iter().all(|weight| {
            let rest = weight.value().micrograms().rem_euclid(step);
            rest.min(step - rest) <= 100
        })
    };
    if let Some(own) = own.filter(|own| is_whole(own)) {
        return as_typed(workshop, own);
    }
    let shown = lot
        .weights
        .iter()
        .filter_map(|typed| {
            let one = Decimal::new(1, typed.places()?.min(6));
            Typed::<Mass>::from_decimal(one, typed.unit())
        })
        .min_by_key(Typed::value);
    shown.map_or_else(String::new, |step| as_typed(workshop, step))
}

fn read(workshop: &Workshop, filled: &Filled) -> Result<Asked, Problems> {
    let (reading, unit) = (workshop.reading(), workshop.system().mass_unit());
    let mut check = Checker::default();
    let mass = |text: &str| measure::parse_in::<Mass>(text, unit, reading);
    let asked = Asked {
        rule: check.optional("sold_in", filled.some("sold_in"), Rule::parse),
        declared: check.optional("tried", filled.some("tried"), mass),
        chance: check.optional("chance", filled.some("chance"), |text| {
            Ratio::parse(text, reading).map(|ratio| measure::percent(ratio, 3))
        }),
        steps: check.optional("steps", filled.some("steps"), mass),
        scale: check.optional("scale", filled.some("scale"), mass),
        scale_error: check.optional("scale_error", filled.some("scale_error"), mass),
        lot_size: check.optional("lot_size", filled.some("lot_size"), count),
        a_year: check.optional("a_year", filled.some("a_year"), count),
    };
    check.finish()?;
    Ok(asked)
}

fn count(text: &str) -> Result<u32, Unclear> {
    text.trim()
        .parse()
        .ok()
        .filter(|n| *n > 0)
        .ok_or_else(|| Unclear::new(text, "it is not a whole number", "write one such as 240"))
}

/// Settles what a good's label says: `rule`, `declared`, and `declare_reason`
/// where that is more than any unit weighs.
///
/// # Errors
///
/// [`ActError`] with everything that hinders it.
pub fn declare(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let (reading, unit) = (workshop.reading(), workshop.system().mass_unit());
        let mut check = Checker::default();
        let rule = check.required("rule", Some(filled.get("rule")), Rule::parse);
        let unit = if rule.is_some_and(Rule::is_metric) {
            MassUnit::Gram
        } else {
            unit
        };
        let declared = check.required("declared", Some(filled.get("declared")), |text| {
            measure::parse_in::<Mass>(text, unit, reading)
        });
        let Some((rule, declared)) = rule.zip(declared) else {
            return Err(check.into_problems().into());
        };
        decide::declare_weight(
            workshop,
            product,
            rule,
            declared,
            filled.get("declare_reason"),
        )
    })
}

/// Takes a declared weight back: `rule`, `withdraw_reason`.
///
/// # Errors
///
/// [`ActError`] where none stands, or without a reason.
pub fn withdraw(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let rule = check.required("rule", Some(filled.get("rule")), Rule::parse);
        let Some(rule) = rule else {
            return Err(check.into_problems().into());
        };
        decide::withdraw_weight(workshop, product, rule, filled.get("withdraw_reason"))
    })
}

/// Writes down what wrappings weigh: `tares`, several in one box, and `of`, the
/// number of a supply, or nothing for all that is around a unit of the good.
///
/// # Errors
///
/// [`ActError`], with a problem for every weight that cannot be read.
pub fn weigh_tares(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let of = match filled.some("of") {
            None => TareOf::Product(product),
            Some(text) => TareOf::Supply(text.parse::<SupplyId>().map_err(|_| {
                Problem::new("of", text, "it is no supply", "choose one of the list")
            })?),
        };
        let weights = unit_weights(workshop, filled.get("tares"))
            .map_err(|problems| renamed(problems, "tares"))?;
        decide::weigh_tares(workshop, of, weights)
    })
}

/// Writes down what finished units weigh in their wrapping: `wrapped`; an empty
/// box takes back what stood.
///
/// # Errors
///
/// [`ActError`], with a problem for every weight that cannot be read.
pub fn weigh_wrapped(
    app: &App,
    who: &str,
    pour: PourId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let weights = unit_weights(workshop, filled.get("wrapped"))
            .map_err(|problems| renamed(problems, "wrapped"))?;
        decide::weigh_wrapped(workshop, pour, weights)
    })
}

fn renamed(problems: Problems, field: &str) -> Problems {
    let under = |problem: Problem| Problem {
        field: field.to_owned(),
        ..problem
    };
    Problems(problems.0.into_iter().map(under).collect())
}

/// Sets the maker's name and address as goods and papers give them:
/// `maker_name`, `maker_address` with a line each, `maker_contact`,
/// `maker_country`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_maker(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let maker = MakerDetails {
            name: filled.get("maker_name").to_owned(),
            lines: filled
                .get("maker_address")
                .lines()
                .map(str::to_owned)
                .collect(),
            contact: filled.get("maker_contact").to_owned(),
            country: filled.get("maker_country").to_owned(),
        };
        decide::settle_maker(workshop, maker)
    })
}

/// Settles what else a good's label names: `months` from pouring that the scent
/// keeps, `gtin`; an empty box takes back what stood.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn name_good(
    app: &App,
    who: &str,
    product: ProductId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let months = check.optional("months", filled.some("months"), |text| {
            text.parse::<u16>().map_err(|_| {
                Unclear::new(
                    text,
                    "it is not a whole number of months",
                    "write a number such as 12",
                )
            })
        });
        let mut facts = Vec::new();
        let mut keep = |decided: Result<Vec<workshop::Fact>, workshop::Refusal>| match decided {
            Ok(added) => {
                facts.extend(added);
                Ok(None)
            }
            Err(workshop::Refusal::Input(problems)) => Ok(Some(problems)),
            Err(other) => Err(other),
        };
        let wrong = [
            keep(decide::set_shelf_life(workshop, product, months))?,
            keep(decide::assign_gtin(workshop, product, filled.get("gtin")))?,
        ];
        let mut problems = check.into_problems();
        problems
            .0
            .extend(wrong.into_iter().flatten().flat_map(|found| found.0));
        if !problems.is_empty() {
            return Err(problems.into());
        }
        Ok(facts)
    })
}
