//! Who has a lot, on paper.

use measure::Problem;
use press::paper::document::{CallLine, Draw, TraceSheet};
use workshop::facts::{ReceiptId, SupplyLot, Suspect};
use workshop::lots::lots_of;
use workshop::trace::{Trace, receipt_of, trace};
use workshop::{Workshop, amount_of};

use super::{Asked, LISTED, NoPaper, and, long_day, what_of};
use crate::recalls::{self, holder_name, suspect_name, told_name};

pub(super) fn trace_sheet(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let suspect = suspect(asked)?;
    let workshop = asked.workshop;
    let traced = trace(workshop, suspect)
        .ok_or_else(|| Problem::new("lot", "", "there is no such lot", "name another"))?;
    let people = asked.app.everyone()?;
    let calls = traced
        .calls()
        .into_iter()
        .map(|call| CallLine {
            who: {
                let name = told_name(&people, workshop, call.told);
                if call.resells {
                    format!("{name}, sells on")
                } else {
                    name
                }
            },
            units: call.units.to_string(),
            maybe: match call.maybe {
                0 => String::new(),
                maybe => maybe.to_string(),
            },
        })
        .collect();
    let elsewhere = traced
        .holdings
        .iter()
        .filter(|holding| holding.holder.told().is_none())
        .map(|holding| {
            (
                holder_name(&people, workshop, holding.holder),
                holding.units.to_string(),
            )
        })
        .collect();
    let lots = traced
        .lots
        .iter()
        .filter_map(|lot| {
            let pour = workshop.pour(lot.pour)?;
            Some([
                pour.lot.clone(),
                what_of(workshop, pour),
                lot.made.to_string(),
                lot.here.to_string(),
            ])
        })
        .collect();
    Ok(Box::new(TraceSheet {
        maker: asked.maker(),
        day: long_day(asked.today),
        about: recalls::capital(&suspect_name(workshop, suspect)),
        sum: recalls::sum_words(workshop, &traced),
        unknown: recalls::unknown_words(workshop, &traced),
        calls,
        elsewhere,
        total: traced.sums.made.to_string(),
        lots,
        sources: sources(workshop, &traced),
    }))
}

fn sources(workshop: &Workshop, traced: &Trace) -> Vec<[String; 4]> {
    traced
        .sources
        .iter()
        .filter_map(|source| {
            let supply = workshop.supply(source.supply)?;
            let used = amount_of(supply.kind, source.used, workshop.system());
            let name = supply.name.clone();
            let from = source.lot.and_then(|lot| receipt_of(workshop, lot));
            Some(match from {
                Some((receipt, line)) => {
                    let parts = [receipt.supplier.as_str(), line.supplier_lot.as_str()];
                    let known: Vec<&str> =
                        parts.into_iter().filter(|part| !part.is_empty()).collect();
                    let day = receipt.day.strftime("%-d %b %Y").to_string();
                    [name, known.join(", "), day, used]
                }
                None => [name, "no delivery holds it".to_owned(), String::new(), used],
            })
        })
        .collect()
}

/// The lot that was named, or one lot of the supply.
fn suspect(asked: &Asked) -> Result<Suspect, NoPaper> {
    let filled = asked.filled;
    if filled.some("supply").is_none() {
        for field in ["supplier-lot", "delivery"] {
            if let Some(text) = filled.some(field) {
                let wrong = "it is of a supply, and none is named";
                return Err(Problem::new(field, text, wrong, "name the supply with it").into());
            }
        }
        return Ok(Suspect::Lot(asked.lot()?.id));
    }
    if let Some(lot) = filled.some("lot") {
        let accepted = "name the lot or the supply, not both";
        return Err(Problem::new("lot", lot, "a supply is named too", accepted).into());
    }
    let supply = asked.supply()?;
    let known = lots_of(asked.workshop, supply.id).lots;
    let all: Vec<SupplyLot> = known.into_iter().map(|(lot, _)| lot).collect();
    let name = |lot: &SupplyLot| format!("{}.{}", lot.receipt, lot.line);
    let number = |lot: &SupplyLot| {
        receipt_of(asked.workshop, *lot).map_or("", |(_, line)| line.supplier_lot.trim())
    };
    let mut found = all.clone();
    if let Some(text) = filled.some("supplier-lot") {
        found.retain(|lot| number(lot).eq_ignore_ascii_case(text));
    }
    if let Some(text) = filled.some("delivery") {
        let wanted = delivery(text)?;
        found.retain(|lot| *lot == wanted);
    }
    if let [one] = found.as_slice() {
        return Ok(Suspect::SupplyLot(*one));
    }
    let wrong = if found.is_empty() {
        "no delivery of it is that one"
    } else {
        "it came more than once"
    };
    let listed = if found.is_empty() { all } else { found };
    let words: Vec<String> = listed
        .iter()
        .rev()
        .take(LISTED)
        .map(|lot| match number(lot) {
            "" => name(lot),
            number => format!("{} ({number})", name(lot)),
        })
        .collect();
    let accepted = if words.is_empty() {
        "write down its delivery first".to_owned()
    } else {
        format!("name the delivery: {}", and(&words))
    };
    Err(Problem::new("delivery", filled.get("delivery"), wrong, accepted).into())
}

fn delivery(text: &str) -> Result<SupplyLot, Problem> {
    let both = text.split_once('.').and_then(|(receipt, line)| {
        Some(SupplyLot {
            receipt: ReceiptId(receipt.parse().ok()?),
            line: line.parse().ok()?,
        })
    });
    both.ok_or_else(|| {
        Problem::new(
            "delivery",
            text,
            "it is not a delivery and its line",
            "write both with a point between, such as 3.0",
        )
    })
}
