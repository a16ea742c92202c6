//! Decisions about declared weights, wrappings and what else a label names.

use label::gtin::{self, Gtin};
use measure::{Mass, MassUnit, Problem, Typed};
use netweight::Rule;

use super::{
    Decision, LONGEST_NAME, MOST_WEIGHTS, fact, known_pour, known_supply, line, not_too_heavy,
    not_too_many, note, refuse_if_any, wrong_stage,
};
use crate::Refusal;
use crate::facts::{
    GtinAssigned, MakerDetails, MakerDetailsSettled, PourId, ProductId, ShelfLifeSet, TareOf,
    TareWeighed, WeightDeclared, WeightWithdrawn, WrappedUnitsWeighed,
};
use crate::state::{Product, Workshop};
use crate::weight::{ground_of_weight, tare_of, weighed_lots};

/// The most lines of an address.
const MOST_ADDRESS_LINES: usize = 5;
/// The most months anyone promises of a scent.
const MOST_MONTHS: u16 = 120;

/// Settles what a good's label says it weighs under one body of rules.
///
/// Whether the units carry it is not asked here, since a label may be printed
/// already; only that it is no more than the heaviest of them, or that `reason`
/// says why it is.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there; [`Refusal::Input`] for a
/// weight of nothing, one in ounces where grams are declared, one that prints
/// as nothing, and one above every unit weighed without a reason.
pub fn declare_weight(
    workshop: &Workshop,
    product: ProductId,
    rule: Rule,
    declared: Typed<Mass>,
    reason: &str,
) -> Decision {
    known_product(workshop, product)?;
    not_too_heavy("declared", &declared)?;
    let problem = |wrong: String, accepted: &str| {
        Problem::new("declared", declared.to_string(), wrong, accepted)
    };
    if declared.value() <= Mass::ZERO {
        return Err(problem(
            "that weighs nothing".to_owned(),
            "write what stands on the label",
        )
        .into());
    }
    if rule.is_metric() && matches!(declared.unit(), MassUnit::Ounce | MassUnit::Pound) {
        return Err(problem(
            format!(
                "{} a weight is declared in grams or kilograms",
                rule.place()
            ),
            "write a weight such as 40 g",
        )
        .into());
    }
    netweight::statement::of(rule, &declared)
        .map_err(|error| problem(error.to_string(), "write a weight such as 1.5 oz or 40 g"))?;
    let tare = tare_of(workshop, product).map_or(Mass::ZERO, |tare| tare.average);
    let heaviest = weighed_lots(workshop, product)
        .iter()
        .flat_map(|lot| {
            let tare = if lot.wrapped { tare } else { Mass::ZERO };
            lot.weights.iter().map(move |weight| weight.value() - tare)
        })
        .max();
    let mut kept = String::new();
    if let Some(heaviest) = heaviest.filter(|heaviest| *heaviest < declared.value()) {
        let heaviest = measure::in_system(heaviest, workshop.system());
        if reason.trim().is_empty() {
            return Err(Problem::new(
                "declare_reason",
                "",
                format!("no unit weighed so far holds {declared}: the heaviest weighs {heaviest}"),
                "declare less, or say why it stands there, such as labels printed already",
            )
            .into());
        }
        kept = note("declare_reason", reason)?;
    }
    if workshop
        .declared_weight(product, rule)
        .is_some_and(|stands| stands.declared == declared && stands.reason == kept)
    {
        return Ok(Vec::new());
    }
    Ok(fact(WeightDeclared {
        product,
        rule,
        declared,
        ground: ground_of_weight(workshop, product),
        reason: kept,
    }))
}

/// Takes a declared weight back.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there; [`Refusal::Input`] where
/// none is declared under these rules, or without a reason.
pub fn withdraw_weight(
    workshop: &Workshop,
    product: ProductId,
    rule: Rule,
    reason: &str,
) -> Decision {
    known_product(workshop, product)?;
    if workshop.declared_weight(product, rule).is_none() {
        return Err(Problem::new(
            "rule",
            rule.to_string(),
            "no weight is declared under these rules",
            "choose the rules it stands under",
        )
        .into());
    }
    let reason = note("withdraw_reason", reason)?;
    Ok(fact(WeightWithdrawn {
        product,
        rule,
        reason,
    }))
}

/// Writes down what wrappings weigh, one by one.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good or supply that is not there;
/// [`Refusal::Input`] for none at all, a weight of nothing, or a supply that is
/// weighed and not counted.
pub fn weigh_tares(workshop: &Workshop, of: TareOf, weights: Vec<Typed<Mass>>) -> Decision {
    match of {
        TareOf::Product(product) => {
            known_product(workshop, product)?;
        }
        TareOf::Supply(supply) => {
            let supply = known_supply(workshop, supply)?;
            if supply.kind.is_weighed() {
                return Err(Problem::new(
                    "tares",
                    supply.name.clone(),
                    format!(
                        "{} goes into the pot, not around a unit",
                        supply.kind.word()
                    ),
                    "weigh a wrap, a label, a vessel or a wick",
                )
                .into());
            }
        }
    }
    check_weights("tares", &weights, "weigh five wrappings, or one")?;
    if weights.is_empty() {
        return Err(Problem::new(
            "tares",
            "",
            "no wrapping was weighed",
            "weigh five wrappings, or one",
        )
        .into());
    }
    if workshop
        .tares(of)
        .is_some_and(|stands| stands.weights == weights)
    {
        return Ok(Vec::new());
    }
    Ok(fact(TareWeighed { of, weights }))
}

/// Writes down what finished units weigh in their wrapping; an empty list takes
/// back what stood.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a pour that is not there, [`Refusal::WrongStage`]
/// before it is poured, [`Refusal::Input`] for a weight not above what the
/// wrapping weighs.
pub fn weigh_wrapped(workshop: &Workshop, pour: PourId, weights: Vec<Typed<Mass>>) -> Decision {
    let pour = known_pour(workshop, pour)?;
    if pour.poured.is_none() || pour.abandoned.is_some() {
        return Err(wrong_stage(
            pour,
            "weigh units once they are out of the mould",
        ));
    }
    check_weights("wrapped", &weights, "write what each unit weighs, wrapped")?;
    let tare = pour.product.and_then(|product| tare_of(workshop, product));
    if let Some(tare) = tare
        && let Some(light) = weights.iter().find(|weight| weight.value() <= tare.average)
    {
        return Err(Problem::new(
            "wrapped",
            light.to_string(),
            "the wrapping alone weighs as much",
            "write what the unit weighs together with its wrapping",
        )
        .into());
    }
    if pour.wrapped == weights {
        return Ok(Vec::new());
    }
    Ok(fact(WrappedUnitsWeighed {
        pour: pour.id,
        weights,
    }))
}

fn check_weights(field: &str, weights: &[Typed<Mass>], accepted: &str) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    problems.extend(not_too_many(field, weights.len(), MOST_WEIGHTS).err());
    for weight in weights {
        problems.extend(not_too_heavy(field, weight).err());
        if weight.value() <= Mass::ZERO {
            problems.push(Problem::new(
                field,
                weight.to_string(),
                "that weighs nothing",
                accepted,
            ));
        }
    }
    refuse_if_any(problems)
}

/// Sets the maker's name and address as goods and papers give them.
///
/// # Errors
///
/// [`Refusal::Input`] without a name or an address, with a contact that is no
/// e-mail or web address, or a country that is not two letters.
pub fn settle_maker(workshop: &Workshop, maker: MakerDetails) -> Decision {
    let MakerDetails {
        name,
        lines,
        contact,
        country,
    } = maker;
    let mut problems = Vec::new();
    let mut keep = |field: &str, text: &str| {
        line(field, text, LONGEST_NAME).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        })
    };
    let name = keep("maker_name", &name);
    let lines: Vec<String> = lines
        .into_iter()
        .filter(|text| !text.trim().is_empty())
        .map(|text| keep("maker_address", &text))
        .collect();
    let contact = match contact.trim() {
        "" => String::new(),
        text => keep("maker_contact", text),
    };
    let country = country.trim().to_ascii_uppercase();
    if lines.is_empty() {
        problems.push(Problem::new(
            "maker_address",
            "",
            "the address is missing",
            "write street and town, a line each",
        ));
    }
    problems.extend(not_too_many("maker_address", lines.len(), MOST_ADDRESS_LINES).err());
    let is_address = |text: &str| {
        let (_, host) = text.rsplit_once('@').unwrap_or(("", text));
        host.split('.').filter(|part| !part.is_empty()).count() >= 2 && !text.contains(' ')
    };
    if !contact.is_empty() && !is_address(&contact) {
        problems.push(Problem::new(
            "maker_contact",
            contact.clone(),
            "it is neither an e-mail nor a web address",
            "write one such as hello@quillfen.example",
        ));
    }
    let is_country = country.is_empty()
        || (country.len() == 2 && country.chars().all(|c| c.is_ascii_uppercase()));
    if !is_country {
        problems.push(Problem::new(
            "maker_country",
            country.clone(),
            "a country has two letters here",
            "write them as ISO 3166 does, such as IE, GB or US",
        ));
    }
    refuse_if_any(problems)?;
    let maker = MakerDetails {
        name,
        lines,
        contact,
        country,
    };
    if workshop.maker() == Some(&maker) {
        return Ok(Vec::new());
    }
    Ok(fact(MakerDetailsSettled { maker }))
}

/// Settles how many months a good keeps its scent; none prints no date.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there, [`Refusal::Input`] for
/// no month at all or more than ten years.
pub fn set_shelf_life(workshop: &Workshop, product: ProductId, months: Option<u16>) -> Decision {
    known_product(workshop, product)?;
    if let Some(months) = months.filter(|months| !(1..=MOST_MONTHS).contains(months)) {
        return Err(Problem::new(
            "months",
            months.to_string(),
            "a scent keeps from one month to ten years",
            "write a number of months such as 12",
        )
        .into());
    }
    if workshop.shelf_life(product) == months {
        return Ok(Vec::new());
    }
    Ok(fact(ShelfLifeSet { product, months }))
}

/// Gives a good its trade item number; an empty text takes it back.
///
/// The number is kept as digits alone, its check digit verified.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there; [`Refusal::Input`] for
/// anything but 8, 12, 13 or 14 digits, a check digit that does not fit, and a
/// number that another good has.
pub fn assign_gtin(workshop: &Workshop, product: ProductId, text: &str) -> Decision {
    known_product(workshop, product)?;
    let problem =
        |wrong: String, accepted: &str| Problem::new("gtin", text.trim(), wrong, accepted);
    if text.trim().is_empty() {
        return Ok(if workshop.gtin(product).is_none() {
            Vec::new()
        } else {
            fact(GtinAssigned {
                product,
                gtin: None,
            })
        });
    }
    // A number that was given out is whole, so the length alone says which it is.
    let n_digits = text.chars().filter(char::is_ascii_digit).count();
    let kind = gtin::Kind::ALL
        .into_iter()
        .find(|kind| kind.n_digits() == n_digits)
        .ok_or_else(|| {
            problem(
                "a trade item number has 8, 12, 13 or 14 digits".to_owned(),
                "write it with its check digit",
            )
        })?;
    let digits = Gtin::parse(text, Some(kind))
        .map_err(|unclear| Problem::at("gtin", unclear))?
        .gtin
        .to_string();
    if let Some(other) = workshop
        .good_of_gtin(&digits)
        .filter(|other| *other != product)
    {
        let name = workshop
            .product(other)
            .map_or_else(|| other.to_string(), |other| other.name.clone());
        return Err(problem(
            format!("that number stands for {name}"),
            "give every good a number of its own",
        )
        .into());
    }
    if workshop.gtin(product) == Some(digits.as_str()) {
        return Ok(Vec::new());
    }
    Ok(fact(GtinAssigned {
        product,
        gtin: Some(digits),
    }))
}

fn known_product(workshop: &Workshop, id: ProductId) -> Result<&Product, Refusal> {
    workshop.product(id).ok_or_else(|| Refusal::Unknown {
        what: "good",
        id: id.to_string(),
    })
}
