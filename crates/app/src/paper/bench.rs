//! Papers of the bench: the pour sheet and the batch record.

use jiff::civil::Date;
use measure::{Typed, in_system};
use press::paper::document::{
    BatchRecord, Blank, Draw, PourSheet, ToWeigh, Told, UnitWeights, Used, Weighed,
};
use workshop::facts::{AfterSlip, Fact, PartFill, PourCount, PourId, SupplyId};
use workshop::{LotVerdict, Pour, Workshop, amount_of, uses_of};

use super::{Asked, NoPaper, long_day, what_of};
use crate::pouring::{self, name_of};

/// What to mind where wax is hot. Common practice, no source.
const CAUTIONS: [&str; 3] = [
    "Hot wax burns skin and can catch fire. Never leave melting wax; use a thermostat or a double boiler.",
    "Keep a lid and an extinguisher for burning liquids (class B) or a dry-powder one at hand; never put water on burning wax.",
    "Ventilate, wear gloves and eye protection. The oil's current safety data sheet and local codes come first.",
];

/// Boxes for unit weights: two rows of six.
const UNIT_BOXES: usize = 12;

#[expect(
    clippy::unnecessary_wraps,
    reason = "every paper is composed by a function of this form"
)]
fn done(paper: impl Draw + 'static) -> Result<Box<dyn Draw>, NoPaper> {
    Ok(Box::new(paper))
}

pub(super) fn pour_sheet(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let (workshop, pour) = (asked.workshop, asked.lot()?);
    let sheet = pouring::sheet(workshop, pour);
    let formula = workshop.formula(pour.formula);
    let formula = formula.map_or("?", |formula| formula.name.as_str());
    let mould = pour.mould.and_then(|mould| workshop.mould(mould));
    let mut first = vec![format!("{formula}, revision {}", pour.revision)];
    if let Some(mould) = mould {
        first.push(mould.name.clone());
    }
    first.push(format!("begun {}", long_day(pour.started)));
    let mut second = Vec::new();
    if pour.wanted > 0 {
        second.push(format!("{} hoped for", counted(pour.wanted, "unit")));
    }
    if !sheet.load.is_empty() {
        second.push(sheet.load.clone());
    }
    let weigh = sheet
        .rows
        .into_iter()
        .map(|row| ToWeigh {
            name: row.name,
            plan: row.plan,
            target: row.target,
            running: row.running,
            weighed: row.weighed,
        })
        .collect();
    let planned = |name: &str, plan: &str| match plan {
        "" => name.to_owned(),
        plan => format!("{name}, plan {plan}"),
    };
    let or_empty = |value: Option<String>| value.unwrap_or_default();
    let at_the_pot = vec![
        Blank::new(planned("Oil in at", &sheet.add_at), ""),
        Blank::new(
            planned("Poured at", &sheet.pour_at),
            or_empty(pour.wax_at.as_ref().map(ToString::to_string)),
        ),
        Blank::new(
            "Room",
            or_empty(pour.room_at.as_ref().map(ToString::to_string)),
        ),
        Blank::new("Day and time poured", or_empty(pour.poured.map(short_day))),
    ];
    let count = pour.count.as_ref();
    let lot = pour.finished.as_ref();
    let filled = match pour.wanted {
        0 => "Filled to the line".to_owned(),
        wanted => format!("Filled to the line, of {wanted}"),
    };
    let came_out = vec![
        Blank::new(filled, or_empty(count.map(|count| count.full.to_string()))),
        Blank::new(
            "Part-filled one, its weight",
            or_empty(count.map(|count| part_word(&count.part))),
        ),
        Blank::new(
            "Left in the pitcher",
            or_empty(count.and_then(|count| count.left.as_ref().map(ToString::to_string))),
        ),
        Blank::new(
            "Topped up with",
            or_empty(count.and_then(|count| count.topped_up.as_ref().map(ToString::to_string))),
        ),
        Blank::new("Good", or_empty(lot.map(|lot| lot.good.to_string()))),
        Blank::new(
            "Seconds, rejects",
            or_empty(lot.map(|lot| format!("{}, {}", lot.seconds, lot.rejects))),
        ),
        Blank::new(
            "Hands-on minutes",
            or_empty(lot.and_then(|lot| lot.minutes.as_ref().map(ToString::to_string))),
        ),
        Blank::new("Poured by", ""),
    ];
    let mut units: Vec<Blank> = pour
        .weights()
        .take(UNIT_BOXES)
        .enumerate()
        .map(|(idx, weight)| Blank::new((idx + 1).to_string(), weight.to_string()))
        .collect();
    for nth in units.len()..UNIT_BOXES {
        units.push(Blank::new((nth + 1).to_string(), ""));
    }
    let cure = workshop
        .recipe_of(pour)
        .map_or(0, |recipe| recipe.cure_days);
    let ready = match workshop.ready_on(pour) {
        Some(ready) => format!("Ready on {}.", long_day(ready)),
        None if cure == 0 => "Ready when it has set.".to_owned(),
        None => format!(
            "Ready {} after pouring, on ______________________",
            counted(u32::from(cure), "day")
        ),
    };
    done(PourSheet {
        what: what_of(workshop, pour),
        lot: pour.lot.clone(),
        about: [first.join(" · "), second.join(" · ")]
            .into_iter()
            .filter(|line| !line.is_empty())
            .collect(),
        weigh,
        notes: sheet.notes,
        at_the_pot,
        came_out,
        units,
        ready,
        cautions: CAUTIONS.map(str::to_owned).into(),
    })
}

pub(super) fn batch_record(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let (workshop, pour) = (asked.workshop, asked.lot()?);
    let written = asked.app.written(|fact| pour_of(fact) == Some(pour.id))?;
    let sheet = pouring::sheet(workshop, pour);
    let lot = pour.finished.as_ref();
    let day_of = |day: Option<Date>| day.map(long_day).unwrap_or_default();
    let formula = workshop.formula(pour.formula);
    let formula = formula.map_or("?", |formula| formula.name.as_str());
    let mould = pour.mould.and_then(|mould| workshop.mould(mould));
    let mut who: Vec<&str> = Vec::new();
    for line in &written {
        if !who.contains(&line.who.as_str()) {
            who.push(&line.who);
        }
    }
    let declared = pour.product.and_then(|product| workshop.product(product));
    let declared = declared.map(|product| asked.declared(product));
    let about = vec![
        Blank::new("Formula", format!("{formula}, revision {}", pour.revision)),
        Blank::new(
            "Mould or vessel",
            mould.map_or_else(String::new, |mould| mould.name.clone()),
        ),
        Blank::new("Begun", long_day(pour.started)),
        Blank::new("Poured", day_of(pour.poured)),
        Blank::new("Finished", day_of(lot.map(|lot| lot.day))),
        Blank::new("Ready", day_of(workshop.ready_on(pour))),
        Blank::new(
            "Scent at its best until",
            day_of(workshop.best_scent_by(pour)),
        ),
        Blank::new("Written down by", who.join(", ")),
        Blank::new(
            "Load",
            pouring::load_words(workshop, pour).unwrap_or(sheet.load),
        ),
        Blank::new("Label says net", declared.unwrap_or_default()),
    ];
    let weighed = sheet
        .rows
        .into_iter()
        .map(|row| Weighed {
            name: row.name,
            plan: row.plan,
            target: row.target,
            weighed: row.weighed,
            difference: row.difference,
        })
        .collect();
    let total = if pour.put_in().is_zero() {
        String::new()
    } else {
        workshop::balance_mass(workshop, pour.put_in())
    };
    done(BatchRecord {
        what: what_of(workshop, pour),
        lot: pour.lot.clone(),
        verdict: verdict(workshop, pour, asked.today),
        about,
        weighed,
        total,
        supplies: supplies(workshop, pour),
        supplies_note: "Which delivery went into the pot is not written down: the supplier lots \
                        are those that had come in by the day it was begun, the latest first."
            .to_owned(),
        came_out: came_out(workshop, pour),
        units: units(workshop, pour),
        corrections: corrections(workshop, pour, &written),
        told: in_order(workshop, pour, &written),
    })
}

/// Temperatures, time and counts; what is not written down is empty.
fn came_out(workshop: &Workshop, pour: &Pour) -> Vec<Blank> {
    let text = |typed: Option<String>| typed.unwrap_or_default();
    let count = pour.count.as_ref();
    let lot = pour.finished.as_ref();
    let share = |balance: &workshop::LotBalance| {
        format!(
            "{} put in, {} in goods, {} poured back, {} not accounted for ({})",
            workshop::balance_mass(workshop, balance.put_in),
            workshop::balance_mass(workshop, balance.in_goods),
            workshop::balance_mass(workshop, balance.poured_back),
            workshop::balance_mass(workshop, balance.unaccounted),
            balance.unaccounted_share,
        )
    };
    vec![
        Blank::new(
            "Wax as it was poured",
            text(pour.wax_at.as_ref().map(ToString::to_string)),
        ),
        Blank::new("Room", text(pour.room_at.as_ref().map(ToString::to_string))),
        Blank::new("Counted", text(count.map(count_words))),
        Blank::new(
            "Goods",
            text(lot.map(|lot| {
                format!(
                    "{} good, {}, {}",
                    lot.good,
                    counted(lot.seconds, "second"),
                    counted(lot.rejects, "reject")
                )
            })),
        ),
        Blank::new(
            "Hands-on time",
            text(lot.and_then(|lot| lot.minutes.as_ref().map(ToString::to_string))),
        ),
        Blank::new(
            "By weight",
            text(workshop::lot_balance(workshop, pour).as_ref().map(share)),
        ),
    ]
}

fn units(workshop: &Workshop, pour: &Pour) -> Option<UnitWeights> {
    let weights = workshop::lot_weights(workshop, pour)?;
    let show = |mass| in_system(mass, workshop.system()).to_string();
    let n = weights.grams.len();
    let mut words = vec![match weights.spread {
        Some(spread) => format!(
            "{n} weighed: mean {}, standard deviation {}.",
            show(weights.mean),
            show(spread)
        ),
        None => format!("{n} weighed: mean {}.", show(weights.mean)),
    }];
    if let Some((low, high)) = weights.next_unit {
        words.push(format!(
            "Nine units in ten lie between {} and {}, by what these say.",
            show(low),
            show(high)
        ));
    }
    words.extend(weights.odd);
    Some(UnitWeights {
        weights: pour.weights().map(ToString::to_string).collect(),
        words,
    })
}

/// What the pour took from the shelf, with the supplier lots in by then.
fn supplies(workshop: &Workshop, pour: &Pour) -> Vec<Used> {
    let mut ids: Vec<SupplyId> = pour.portions.iter().map(|portion| portion.supply).collect();
    let product = pour.product.and_then(|product| workshop.product(product));
    let packing = product.into_iter().flat_map(|product| &product.packing);
    ids.extend(packing.map(|(supply, _)| *supply));
    let mut seen = Vec::new();
    ids.retain(|id| {
        !seen.contains(id) && {
            seen.push(*id);
            true
        }
    });
    ids.into_iter()
        .filter_map(|id| {
            let supply = workshop.supply(id)?;
            let used = uses_of(workshop, id).find(|used| used.pour == pour.id)?;
            Some(Used {
                name: supply.name.clone(),
                amount: amount_of(supply.kind, used.smallest, workshop.system()),
                came_as: came_as(workshop, id, pour.started),
            })
        })
        .collect()
}

/// The supplier lots of a supply that had come in by a day, the latest first.
fn came_as(workshop: &Workshop, id: SupplyId, day: Date) -> String {
    const NAMED: usize = 3;
    let mut lots = Vec::new();
    // They may be written down out of order.
    let mut receipts: Vec<_> = workshop.receipts().rev().collect();
    receipts.retain(|receipt| receipt.day <= day);
    receipts.sort_by_key(|receipt| std::cmp::Reverse(receipt.day));
    for receipt in receipts {
        for line in receipt.lines.iter().filter(|line| line.supply == id) {
            let code = line.supplier_lot.trim();
            lots.push(match (code.is_empty(), receipt.supplier.trim()) {
                (true, "") => format!("no code, {}", short_day(receipt.day)),
                (true, supplier) => {
                    format!("no code, {supplier}, {}", short_day(receipt.day))
                }
                (false, _) => format!("{code}, {}", short_day(receipt.day)),
            });
        }
    }
    let more = lots.len().saturating_sub(NAMED);
    lots.truncate(NAMED);
    if more > 0 {
        lots.push(format!("and {more} before"));
    }
    if lots.is_empty() {
        "none written down".to_owned()
    } else {
        lots.join("; ")
    }
}

fn verdict(workshop: &Workshop, pour: &Pour, today: Date) -> String {
    let day = long_day(today);
    match workshop.verdict(pour, today) {
        Some(LotVerdict::Hold(reason)) => format!("On hold on {day}: {reason}"),
        Some(LotVerdict::Curing(until)) => {
            format!("Curing until {}; not for sale on {day}.", long_day(until))
        }
        Some(LotVerdict::Ready(since)) => format!(
            "Ready since {}: the cure is over and nobody holds it. That is no check of weight, label or law.",
            long_day(since)
        ),
        None => format!("On {day} it is {}.", pour.stage().word()),
    }
}

/// The pour a fact is about.
fn pour_of(fact: &Fact) -> Option<PourId> {
    match fact {
        Fact::PourStarted(fact) => Some(fact.pour),
        Fact::PotWeighed(fact) => Some(fact.pour),
        Fact::IngredientWeighed(fact) => Some(fact.pour),
        Fact::IngredientAdded(fact) => Some(fact.pour),
        Fact::IngredientCorrected(fact) => Some(fact.pour),
        Fact::PourRescaled(fact) => Some(fact.pour),
        Fact::Poured(fact) => Some(fact.pour),
        Fact::UnitsCounted(fact) => Some(fact.pour),
        Fact::CountCorrected(fact) => Some(fact.pour),
        Fact::Demoulded(fact) => Some(fact.pour),
        Fact::UnitWeighed(fact) => Some(fact.pour),
        Fact::UnitWeightStruck(fact) => Some(fact.pour),
        Fact::UnitWeightKept(fact) => Some(fact.pour),
        Fact::PourFinished(fact) => Some(fact.pour),
        Fact::LotCorrected(fact) => Some(fact.pour),
        Fact::PourAbandoned(fact) => Some(fact.pour),
        Fact::LotHeld(fact) => Some(fact.pour),
        Fact::LotReleased(fact) => Some(fact.pour),
        Fact::WrappedUnitsWeighed(fact) => Some(fact.pour),
        _ => None,
    }
}

/// What a fact about a pour says, in a sentence.
fn told(workshop: &Workshop, pour: &Pour, fact: &Fact) -> Option<String> {
    let name = |portion: u32| name_of(workshop, pour, portion as usize);
    let at = |what: &str, at: Option<&Typed<measure::Temperature>>| {
        at.map(|at| format!("{what} at {at}"))
    };
    Some(match fact {
        Fact::PourStarted(_) => "Pour begun.".to_owned(),
        Fact::PotWeighed(fact) => format!("The empty pot weighs {}.", fact.weight),
        Fact::IngredientWeighed(fact) => format!("{}: {} in.", name(fact.portion), fact.weight),
        Fact::IngredientAdded(fact) => format!("{}: {} more in.", name(fact.portion), fact.added),
        Fact::IngredientCorrected(fact) => format!(
            "{} put right: {} went in. {}",
            name(fact.portion),
            fact.weight,
            because(&fact.reason)
        ),
        Fact::PourRescaled(fact) => slip_words(fact.choice).to_owned(),
        Fact::Poured(fact) => {
            let temperatures: Vec<String> = [
                at("wax", fact.wax_at.as_ref()),
                at("room", fact.room_at.as_ref()),
            ]
            .into_iter()
            .flatten()
            .collect();
            if temperatures.is_empty() {
                "Poured.".to_owned()
            } else {
                format!("Poured, {}.", temperatures.join(", "))
            }
        }
        Fact::UnitsCounted(fact) => format!("Counted: {}.", count_words(&fact.count)),
        Fact::CountCorrected(fact) => format!(
            "Count put right: {}. {}",
            count_words(&fact.count),
            because(&fact.reason)
        ),
        Fact::Demoulded(_) => "Out of the mould.".to_owned(),
        Fact::UnitWeighed(fact) => format!("A unit weighs {}.", fact.weight),
        Fact::UnitWeightStruck(fact) => format!(
            "{} struck. {}",
            unit_words(pour, fact.nth),
            because(&fact.reason)
        ),
        Fact::UnitWeightKept(fact) => format!(
            "{} questioned and kept. {}",
            unit_words(pour, fact.nth),
            because(&fact.reason)
        ),
        Fact::PourFinished(fact) => format!(
            "Finished: {} good, {}, {}.",
            fact.good,
            counted(fact.seconds, "second"),
            counted(fact.rejects, "reject")
        ),
        Fact::LotCorrected(fact) => format!(
            "Lot put right: {} good, {}, {}; {}. {}",
            fact.good,
            counted(fact.seconds, "second"),
            counted(fact.rejects, "reject"),
            count_words(&fact.count),
            because(&fact.reason)
        ),
        Fact::PourAbandoned(fact) => format!("Given up. {}", because(&fact.reason)),
        Fact::LotHeld(fact) => format!("Put on hold. {}", because(&fact.reason)),
        Fact::LotReleased(fact) => format!("Released. {}", because(&fact.reason)),
        Fact::WrappedUnitsWeighed(fact) => format!(
            "{} weighed in their wrapping.",
            counted(
                u32::try_from(fact.weights.len()).unwrap_or(u32::MAX),
                "unit"
            )
        ),
        _ => return None,
    })
}

/// Everything written down, unit weights of one sitting in one line.
fn in_order(workshop: &Workshop, pour: &Pour, written: &[crate::Written]) -> Vec<Told> {
    let mut lines = Vec::new();
    let mut rest = written;
    while let Some(first) = rest.first() {
        let weights: Vec<String> = rest
            .iter()
            .take_while(|line| line.day == first.day && line.who == first.who)
            .map_while(|line| match &line.fact {
                Fact::UnitWeighed(fact) => Some(fact.weight.to_string()),
                _ => None,
            })
            .collect();
        let (what, taken) = match weights.len() {
            0 | 1 => (told(workshop, pour, &first.fact), 1),
            n => (Some(format!("{n} units weigh {}.", weights.join(", "))), n),
        };
        lines.extend(what.map(|what| Told {
            day: short_day(first.day),
            who: first.who.clone(),
            what,
        }));
        rest = rest.get(taken..).unwrap_or_default();
    }
    lines
}

/// Slips, corrections, strikes and holds among what was written down.
fn corrections(workshop: &Workshop, pour: &Pour, written: &[crate::Written]) -> Vec<String> {
    written
        .iter()
        .filter(|line| {
            matches!(
                line.fact,
                Fact::IngredientCorrected(_)
                    | Fact::IngredientAdded(_)
                    | Fact::PourRescaled(_)
                    | Fact::CountCorrected(_)
                    | Fact::UnitWeightStruck(_)
                    | Fact::UnitWeightKept(_)
                    | Fact::LotCorrected(_)
                    | Fact::PourAbandoned(_)
                    | Fact::LotHeld(_)
                    | Fact::LotReleased(_)
            )
        })
        .filter_map(|line| {
            let words = told(workshop, pour, &line.fact)?;
            Some(format!("{}, {}: {words}", short_day(line.day), line.who))
        })
        .collect()
}

fn slip_words(choice: AfterSlip) -> &'static str {
    match choice {
        AfterSlip::ScaleTheRest => {
            "Too much went in; everything else was raised so that the formula holds."
        }
        AfterSlip::KeepGoing => {
            "Too much went in; the rest stayed as planned, and the load came out different."
        }
    }
}

fn unit_words(pour: &Pour, nth: u32) -> String {
    match pour.unit_weights.get(nth as usize) {
        Some((weight, _)) => format!("Unit weight {}, {weight},", nth.saturating_add(1)),
        None => format!("Unit weight {}", nth.saturating_add(1)),
    }
}

fn because(reason: &str) -> String {
    let reason = reason.trim();
    if reason.is_empty() {
        "No reason is written down.".to_owned()
    } else {
        format!("Why: {reason}")
    }
}

fn count_words(count: &PourCount) -> String {
    let mut words = vec![format!("{} full", count.full)];
    words.push(match &count.part {
        PartFill::Weighed(weight) => format!("a part-filled one of {weight}"),
        PartFill::Share(share) => format!("a part-filled one, about {share} of a full one"),
        PartFill::Unknown => "nobody looked for a part-filled one".to_owned(),
        PartFill::None => "none part-filled".to_owned(),
    });
    words.extend(count.left.as_ref().map(|left| format!("{left} left")));
    let topped = count.topped_up.as_ref();
    words.extend(topped.map(|topped| format!("{topped} topped up")));
    words.join(", ")
}

fn part_word(part: &PartFill) -> String {
    match part {
        PartFill::Weighed(weight) => weight.to_string(),
        PartFill::Share(share) => format!("about {share} of a full one"),
        PartFill::Unknown => "not looked for".to_owned(),
        PartFill::None => "none".to_owned(),
    }
}

fn short_day(day: Date) -> String {
    day.strftime("%-d %b %Y").to_string()
}

fn counted(n: u32, word: &str) -> String {
    match n {
        1 => format!("1 {word}"),
        n => format!("{n} {word}s"),
    }
}
