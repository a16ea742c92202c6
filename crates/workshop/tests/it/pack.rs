//! Shapes, wraps, label sheets and printers.

use ::label::ruler::Ruler;
use ::label::sheet::{Drift, DriftInput, SheetGeometry, SheetInput};
use ::label::unit::{ShapeGiven, ShapeInput};
use jiff::civil::date;
use workshop::facts::{Dated, ProductId, StockId};
use workshop::{Refusal, Workshop, decide};

fn some(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

fn geometry(columns: &str) -> SheetGeometry {
    let input = SheetInput {
        page: some("letter"),
        label_width: some("4 in"),
        label_height: some("2 in"),
        columns: some(columns),
        rows: some("5"),
        ..SheetInput::default()
    };
    input.read(Ruler::PLAIN).unwrap().0
}

fn jar() -> ShapeGiven {
    let input = ShapeInput {
        kind: some("jar"),
        diameter: some("2 3/4 in"),
        height: some("3 in"),
        ..ShapeInput::default()
    };
    input.read(Ruler::PLAIN).unwrap()
}

fn apply(workshop: &mut Workshop, decision: decide::Decision) -> usize {
    let facts = decision.unwrap();
    let n = facts.len();
    for fact in facts {
        workshop.apply(&Dated {
            day: date(2026, 11, 25),
            fact,
        });
    }
    n
}

fn refused(decision: decide::Decision) -> String {
    decision.unwrap_err().to_string()
}

#[test]
fn a_label_sheet_is_kept_until_it_is_used_up() {
    let mut workshop = Workshop::default();
    let add = |workshop: &Workshop, name: &str| decide::add_stock(workshop, name, geometry("2"));
    let decision = add(&workshop, " ten on letter ");
    assert_eq!(apply(&mut workshop, decision), 1);
    let stock = workshop.label_stock(StockId(1)).unwrap();
    assert_eq!(stock.name, "ten on letter");
    // What was typed in inches is kept in inches.
    assert_eq!(stock.geometry.label_width.to_string(), "4 in");
    assert!(
        refused(add(&workshop, "Ten on letter")).contains("there is a label sheet of that name")
    );
    let decision = decide::retire_stock(&workshop, StockId(1));
    assert_eq!(apply(&mut workshop, decision), 1);
    assert_eq!(
        apply(
            &mut workshop.clone(),
            decide::retire_stock(&workshop, StockId(1))
        ),
        0
    );
    let decision = add(&workshop, "Ten on letter");
    assert_eq!(apply(&mut workshop, decision), 1);
    assert!(workshop.label_stock(StockId(2)).unwrap().retired.is_none());
    assert!(matches!(
        decide::retire_stock(&workshop, StockId(9)),
        Err(Refusal::Unknown { .. })
    ));
}

#[test]
fn a_sheet_that_runs_off_its_page_is_refused() {
    let wide = SheetGeometry {
        columns: 3,
        ..geometry("2")
    };
    let said = refused(decide::add_stock(&Workshop::default(), "fifteen", wide));
    assert!(said.contains("the last column runs"), "{said}");
}

#[test]
fn a_printer_is_measured_anew() {
    let mut workshop = Workshop::default();
    let measured = |left: &str| {
        let page = geometry("2");
        let input = DriftInput {
            left: some(left),
            right: some("195.9 mm"),
            top: some("20 mm"),
            bottom: some("259.4 mm"),
        };
        input
            .read(&page.page_width, &page.page_height, Ruler::PLAIN)
            .unwrap()
            .0
    };
    let decision = decide::measure_printer(&workshop, "tray 2", measured("20 mm"));
    assert_eq!(apply(&mut workshop, decision), 1);
    assert_eq!(
        apply(
            &mut workshop.clone(),
            decide::measure_printer(&workshop, "tray 2", measured("20 mm"))
        ),
        0
    );
    let drift = |workshop: &Workshop| {
        workshop
            .printer("tray 2")
            .unwrap()
            .measured
            .drift()
            .unwrap()
    };
    let Drift { dx_mm, scale_x, .. } = drift(&workshop);
    assert!(dx_mm.abs() < 1e-9 && (scale_x - 1.0).abs() < 1e-9);
    let decision = decide::measure_printer(&workshop, "tray 2", measured("21 mm"));
    assert_eq!(apply(&mut workshop, decision), 1);
    assert!(drift(&workshop).dx_mm > 1.0);
}

#[test]
fn a_shape_belongs_to_a_good() {
    let decision = decide::set_pack(&Workshop::default(), ProductId(1), jar(), None);
    assert!(matches!(
        decision,
        Err(Refusal::Unknown { what: "good", .. })
    ));
}
