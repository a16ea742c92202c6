//! Decisions about shapes, wraps, label sheets and printers.

use label::sheet::{Calibration, SheetGeometry};
use label::unit::ShapeGiven;
use measure::Problem;

use super::{Decision, fact, name};
use crate::Refusal;
use crate::facts::{
    LabelStockAdded, LabelStockRetired, PrinterOffsetMeasured, ProductId, StockId, UnitShapeSet,
    WrapChoice, WrapChosen,
};
use crate::state::Workshop;

/// More kinds of label sheet than anyone keeps in a drawer.
const MOST_STOCKS: usize = 200;

/// Writes down the shape of a good's unit and how it is wrapped.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there.
pub fn set_pack(
    workshop: &Workshop,
    product: ProductId,
    shape: ShapeGiven,
    wrap: Option<WrapChoice>,
) -> Decision {
    if workshop.product(product).is_none() {
        return Err(Refusal::Unknown {
            what: "good",
            id: product.to_string(),
        });
    }
    let mut facts = Vec::new();
    if workshop.shape(product) != Some(&shape) {
        facts.extend(fact(UnitShapeSet { product, shape }));
    }
    if let Some(wrap) = wrap.filter(|wrap| workshop.wrap(product) != Some(wrap)) {
        facts.extend(fact(WrapChosen { product, wrap }));
    }
    Ok(facts)
}

/// Adds a kind of label sheet to those on hand.
///
/// # Errors
///
/// [`Refusal::Input`] for a name that is taken or cannot be printed, and for
/// every rule of a sheet that the geometry breaks.
pub fn add_stock(workshop: &Workshop, called: &str, geometry: SheetGeometry) -> Decision {
    let called = name("stock_name", called)?;
    geometry.sheet()?;
    let mut kept = workshop
        .label_stocks()
        .filter(|stock| stock.retired.is_none());
    if kept.any(|stock| stock.name.eq_ignore_ascii_case(&called)) {
        return Err(Problem::new(
            "stock_name",
            called,
            "there is a label sheet of that name",
            "choose another name, or use the one there is",
        )
        .into());
    }
    if workshop.label_stocks().count() >= MOST_STOCKS {
        return Err(Problem::new(
            "stock_name",
            called,
            format!("{MOST_STOCKS} kinds of label sheet are written down already"),
            "use one of those there are",
        )
        .into());
    }
    let last = workshop.label_stocks().map(|stock| stock.id.0).max();
    let stock = StockId(last.unwrap_or(0).saturating_add(1));
    Ok(fact(LabelStockAdded {
        stock,
        name: called,
        geometry,
    }))
}

/// Takes a kind of label sheet off the list of those on hand.
///
/// # Errors
///
/// [`Refusal::Unknown`] for one that is not there.
pub fn retire_stock(workshop: &Workshop, stock: StockId) -> Decision {
    let known = workshop
        .label_stock(stock)
        .ok_or_else(|| Refusal::Unknown {
            what: "label sheet",
            id: stock.to_string(),
        })?;
    if known.retired.is_some() {
        return Ok(Vec::new());
    }
    Ok(fact(LabelStockRetired { stock }))
}

/// Writes down what was measured on a printer's calibration page.
///
/// # Errors
///
/// [`Refusal::Input`] for a name that cannot be printed, and for figures that
/// cannot have been measured.
pub fn measure_printer(workshop: &Workshop, called: &str, measured: Calibration) -> Decision {
    let printer = name("printer", called)?;
    measured.drift()?;
    if workshop
        .printer(&printer)
        .is_some_and(|known| known.measured == measured)
    {
        return Ok(Vec::new());
    }
    Ok(fact(PrinterOffsetMeasured { printer, measured }))
}
