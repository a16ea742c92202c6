//! Decisions about supply lots: which is open, what was thrown away, what was
//! counted, their dates, and what a pour really drew on.

use jiff::civil::Date;
use measure::Problem;

use super::{Decision, MOST_LINES, fact, known_pour, not_too_heavy, not_too_many, note};
use crate::Refusal;
use crate::facts::{
    Amount, LotsDrawn, PourId, SupplyCounted, SupplyDateNoted, SupplyId, SupplyLot, SupplyOpened,
    SupplyWasted, WasteWhy,
};
use crate::lots::{LotUse, SupplyLots, lots_of};
use crate::shelf::amount_of;
use crate::state::{ShelfChange, Supply, Workshop};
use crate::trace::receipt_of;

fn known_supply(workshop: &Workshop, supply: SupplyId) -> Result<&Supply, Refusal> {
    workshop.supply(supply).ok_or_else(|| Refusal::Unknown {
        what: "supply",
        id: supply.to_string(),
    })
}

fn known_lot(lots: &SupplyLots, lot: SupplyLot) -> Result<&LotUse, Refusal> {
    lots.lot(lot).ok_or_else(|| Refusal::Unknown {
        what: "lot of that supply",
        id: format!("{}.{}", lot.receipt, lot.line),
    })
}

/// Refuses an amount of the wrong kind: a count of what is weighed, or the
/// reverse.
fn fits(supply: &Supply, field: &str, amount: &Amount) -> Result<(), Problem> {
    match (amount, supply.kind.is_weighed()) {
        (Amount::Weight(weight), true) => not_too_heavy(field, weight),
        (Amount::Count(_), false) => Ok(()),
        (Amount::Count(n), true) => Err(Problem::new(
            field,
            n.to_string(),
            "it is weighed",
            "write a weight with its unit",
        )),
        (Amount::Weight(weight), false) => Err(Problem::new(
            field,
            weight.to_string(),
            "it is counted",
            "write a whole number",
        )),
    }
}

/// Opens a lot of a supply: what is used from now on comes out of it first.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a lot that is none of that supply;
/// [`Refusal::Input`] for one of which nothing is left.
pub fn open_supply(workshop: &Workshop, supply: SupplyId, lot: SupplyLot) -> Decision {
    known_supply(workshop, supply)?;
    let lots = lots_of(workshop, supply);
    let of = known_lot(&lots, lot)?;
    if lots.open == Some(lot) {
        return Ok(Vec::new());
    }
    if of.left() <= 0 {
        return Err(Problem::new(
            "lot",
            "",
            "nothing is left of it",
            "open another, or count what there is of it",
        )
        .into());
    }
    Ok(fact(SupplyOpened { supply, lot }))
}

/// Takes what was thrown away or tried off the shelf.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply or a lot that is not there;
/// [`Refusal::Input`] for nothing, an amount of the wrong kind, and more than
/// there is of it.
pub fn waste_supply(
    workshop: &Workshop,
    id: SupplyId,
    lot: Option<SupplyLot>,
    amount: Amount,
    why: WasteWhy,
    said: &str,
) -> Decision {
    let supply = known_supply(workshop, id)?;
    fits(supply, "wasted", &amount)?;
    let lots = lots_of(workshop, id);
    let there = match lot {
        Some(lot) => known_lot(&lots, lot)?.left(),
        None => supply.stock.on_hand(),
    };
    if amount.smallest() <= 0 {
        let accepted = "write how much is gone";
        return Err(Problem::new("wasted", amount.to_string(), "that is nothing", accepted).into());
    }
    if amount.smallest() > there {
        let left = amount_of(supply.kind, there, workshop.system());
        return Err(Problem::new(
            "wasted",
            amount.to_string(),
            format!("only {left} of it is written down"),
            "count what is left instead",
        )
        .into());
    }
    Ok(fact(SupplyWasted {
        supply: id,
        lot,
        amount,
        why,
        note: said_or_nothing("waste_note", said)?,
    }))
}

/// Writes down what was counted or weighed: that is what there is. A count
/// that finds what was thought adds nothing.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply or a lot that is not there;
/// [`Refusal::Input`] for an amount of the wrong kind.
pub fn count_supply(
    workshop: &Workshop,
    id: SupplyId,
    lot: Option<SupplyLot>,
    counted: Amount,
    said: &str,
) -> Decision {
    let supply = known_supply(workshop, id)?;
    fits(supply, "counted", &counted)?;
    let lots = lots_of(workshop, id);
    let thought = match lot {
        Some(lot) => known_lot(&lots, lot)?.left(),
        None => supply.stock.on_hand(),
    };
    if counted.smallest() == thought {
        return Ok(Vec::new());
    }
    Ok(fact(SupplyCounted {
        supply: id,
        lot,
        counted,
        note: said_or_nothing("count_note", said)?,
    }))
}

/// Notes the date on a lot, or that it carries none.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a lot that is not there.
pub fn note_supply_date(
    workshop: &Workshop,
    lot: SupplyLot,
    best_before: Option<Date>,
) -> Decision {
    receipt_of(workshop, lot).ok_or_else(|| Refusal::Unknown {
        what: "supply lot",
        id: format!("{}.{}", lot.receipt, lot.line),
    })?;
    if workshop.supply_date(lot) == best_before {
        return Ok(Vec::new());
    }
    Ok(fact(SupplyDateNoted { lot, best_before }))
}

/// Says out of which lots a pour drew a supply, in the order they were drawn
/// on; what they do not hold comes out of the others as always.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a pour, a supply or a lot that is not there;
/// [`Refusal::Input`] for a supply that is not in the pour, and for no lot.
pub fn draw_from(
    workshop: &Workshop,
    pour: PourId,
    supply: SupplyId,
    lots: &[SupplyLot],
) -> Decision {
    let found = known_pour(workshop, pour)?;
    let named = &known_supply(workshop, supply)?.name;
    let weighed = found
        .portions
        .iter()
        .any(|portion| portion.supply == supply);
    let product = found.product.and_then(|product| workshop.product(product));
    let packed = product.is_some_and(|product| {
        product
            .packing
            .iter()
            .any(|(packing, _)| *packing == supply)
    });
    if !weighed && !packed {
        return Err(Problem::new(
            "supply",
            named,
            format!("it is not in lot {}", found.lot),
            "choose something that went in",
        )
        .into());
    }
    not_too_many("lot", lots.len(), MOST_LINES)?;
    let known = lots_of(workshop, supply);
    let mut drawn: Vec<SupplyLot> = Vec::new();
    for lot in lots {
        known_lot(&known, *lot)?;
        if !drawn.contains(lot) {
            drawn.push(*lot);
        }
    }
    if drawn.is_empty() {
        let accepted = "choose a lot of it";
        return Err(Problem::new("lot", "", "no lot is named", accepted).into());
    }
    let said = workshop
        .shelf_events(supply)
        .iter()
        .rev()
        .find_map(|event| match &event.what {
            ShelfChange::Drawn(of, lots) if *of == pour => Some(lots),
            _ => None,
        });
    if said == Some(&drawn) {
        return Ok(Vec::new());
    }
    Ok(fact(LotsDrawn {
        pour,
        supply,
        lots: drawn,
    }))
}

fn said_or_nothing(field: &str, said: &str) -> Result<String, Problem> {
    match said.trim() {
        "" => Ok(String::new()),
        said => note(field, said),
    }
}
