//! Supply lots: opened, thrown away, counted, dated, and drawn on.

use jiff::civil::Date;
use measure::{Checker, Unclear};
use workshop::facts::{PourId, ReceiptId, SupplyId, SupplyLot, WasteWhy};
use workshop::{Refusal, Workshop, decide};

use crate::forms::{self, Filled};
use crate::{ActError, App, Done};

/// The words a form uses for why a supply was thrown away.
pub const WHY: [(&str, WasteWhy); 4] = [
    ("expired", WasteWhy::Expired),
    ("spoilt", WasteWhy::Spoilt),
    ("spilt", WasteWhy::Spilt),
    ("tried", WasteWhy::Tried),
];

/// How a form names a lot: its delivery and its line, `3.0`.
pub fn lot_key(lot: SupplyLot) -> String {
    format!("{}.{}", lot.receipt, lot.line)
}

fn read_lot(text: &str) -> Result<SupplyLot, Unclear> {
    let both = text.split_once('.').and_then(|(receipt, line)| {
        Some(SupplyLot {
            receipt: ReceiptId(receipt.parse().ok()?),
            line: line.parse().ok()?,
        })
    });
    both.ok_or_else(|| Unclear::new(text, "it is not a lot", "choose one of the list"))
}

/// Opens a lot: field `lot`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn open(app: &App, who: &str, supply: SupplyId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let lot = check.required("lot", Some(filled.get("lot")), read_lot);
        let lot = lot.ok_or_else(|| check.into_problems())?;
        decide::open_supply(workshop, supply, lot)
    })
}

fn kind_of(workshop: &Workshop, supply: SupplyId) -> Result<workshop::facts::SupplyKind, Refusal> {
    let known = workshop.supply(supply).ok_or_else(|| Refusal::Unknown {
        what: "supply",
        id: supply.to_string(),
    })?;
    Ok(known.kind)
}

/// Takes something off the shelf that went into no pour: fields `lot` (empty
/// for whichever is open), `wasted`, `why` and `waste_note`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn waste(app: &App, who: &str, supply: SupplyId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let kind = kind_of(workshop, supply)?;
        let mut check = Checker::default();
        let lot = check.optional("lot", filled.some("lot"), read_lot);
        let amount = check.required("wasted", Some(filled.get("wasted")), |text| {
            forms::amount(text, kind, workshop.reading(), workshop.system())
        });
        let why = check.required("why", Some(filled.get("why")), |text| {
            if text.is_empty() {
                let instead = "choose why it is gone";
                return Err(Unclear::new(text, "the reason is missing", instead));
            }
            forms::one_of(&WHY)(text)
        });
        let (Some(amount), Some(why)) = (amount, why) else {
            return Err(check.into_problems().into());
        };
        check.finish()?;
        decide::waste_supply(workshop, supply, lot, amount, why, filled.get("waste_note"))
    })
}

/// Writes down what was counted: fields `lot` (empty for all of it together),
/// `counted` and `count_note`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn count(app: &App, who: &str, supply: SupplyId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let kind = kind_of(workshop, supply)?;
        let mut check = Checker::default();
        let lot = check.optional("lot", filled.some("lot"), read_lot);
        let amount = check.required("counted", Some(filled.get("counted")), |text| {
            forms::amount(text, kind, workshop.reading(), workshop.system())
        });
        let Some(amount) = amount else {
            return Err(check.into_problems().into());
        };
        check.finish()?;
        decide::count_supply(workshop, supply, lot, amount, filled.get("count_note"))
    })
}

/// Reads a day on a package, which may lie ahead.
pub(crate) fn best_before(text: &str) -> Result<Date, Unclear> {
    text.parse()
        .map_err(|_| Unclear::new(text, "it is not a day", "write a day such as 2027-05-31"))
}

/// Notes the date on a lot: fields `lot` and `best_before`, empty where it
/// carries none.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn date(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let lot = check.required("lot", Some(filled.get("lot")), read_lot);
        let day = check.optional("best_before", filled.some("best_before"), best_before);
        let Some(lot) = lot else {
            return Err(check.into_problems().into());
        };
        check.finish()?;
        decide::note_supply_date(workshop, lot, day)
    })
}

/// Says which lot a pour draws a supply from: fields `supply` and `lot`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn draw(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let supply = check.required("supply", Some(filled.get("supply")), |text| {
            text.parse::<SupplyId>()
                .map_err(|_| Unclear::new(text, "it is not a supply", "choose one of the pour"))
        });
        let lot = check.required("drawn", Some(filled.get("drawn")), read_lot);
        let (Some(supply), Some(lot)) = (supply, lot) else {
            return Err(check.into_problems().into());
        };
        decide::draw_from(workshop, pour, supply, &[lot])
    })
}
