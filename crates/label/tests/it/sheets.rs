//! Label sheets: geometry, what is refused, where labels stand.

use label::ruler::Ruler;
use label::sheet::{Drift, DriftInput, Outline, PageSize, Sheet, SheetInput};
use proptest::prelude::*;

fn side(mm: f64) -> measure::Typed<measure::Length> {
    label::ruler::typed_mm(mm).unwrap()
}

fn some(text: &str) -> Option<String> {
    Some(text.to_owned())
}

/// Thirty labels of 2 5/8 by 1 in on a letter page.
fn thirty() -> SheetInput {
    SheetInput {
        page: some("letter"),
        margin_left: some("0.1875 in"),
        margin_top: some("0.5 in"),
        label_width: some("2 5/8 in"),
        label_height: some("1 in"),
        pitch_x: some("2.75 in"),
        pitch_y: some("1 in"),
        columns: some("3"),
        rows: some("10"),
        corner: some("2 mm"),
        ..SheetInput::default()
    }
}

fn read(input: &SheetInput) -> Sheet {
    input.read(Ruler::PLAIN).unwrap().1
}

/// The fields complained about.
fn wrong(input: &SheetInput) -> Vec<String> {
    let problems = input.read(Ruler::PLAIN).unwrap_err();
    problems
        .iter()
        .map(|problem| problem.field.clone())
        .collect()
}

#[test]
fn the_a_series_is_that_of_iso_216() {
    // ISO 216:2007, table of the ISO-A series.
    let table = [
        (0, 841, 1189),
        (1, 594, 841),
        (2, 420, 594),
        (3, 297, 420),
        (4, 210, 297),
        (5, 148, 210),
        (6, 105, 148),
        (7, 74, 105),
        (8, 52, 74),
        (9, 37, 52),
        (10, 26, 37),
    ];
    for (n, width, height) in table {
        let size = (f64::from(width), f64::from(height));
        assert_eq!(PageSize::A(n).size_mm(), size, "A{n}");
    }
}

#[test]
fn american_pages_are_whole_and_half_inches() {
    for (name, width, height) in [
        ("letter", 215.9, 279.4),
        ("legal", 215.9, 355.6),
        ("tabloid", 279.4, 431.8),
        ("half letter", 139.7, 215.9),
        ("4 x 6 in", 101.6, 152.4),
        ("A4 landscape", 297.0, 210.0),
    ] {
        let (w, h) = PageSize::read(name).unwrap();
        assert!(
            (w - width).abs() < 1e-9 && (h - height).abs() < 1e-9,
            "{name}: {w} {h}"
        );
    }
    assert!(PageSize::read("A12").is_err());
    assert!(PageSize::read("foolscap").is_err());
    assert_eq!(PageSize::of_mm(297.0, 210.0), Some(PageSize::A(4)));
    for size in PageSize::ALL {
        assert_eq!(PageSize::read(&size.name()).unwrap(), size.size_mm());
    }
}

#[test]
fn a_sheet_of_thirty_closes_on_the_page() {
    let sheet = read(&thirty());
    assert_eq!(sheet.per_page(), 30);
    // 8.5 - 0.1875 - 2 × 2.75 - 2.625 = 0.1875 in, 11 - 0.5 - 9 - 1 = 0.5 in.
    assert!((sheet.margin_right_mm() - 4.7625).abs() < 1e-9);
    assert!((sheet.margin_bottom_mm() - 12.7).abs() < 1e-9);
    assert!((sheet.gutter_x_mm().unwrap() - 3.175).abs() < 1e-9);
    assert_eq!(sheet.remarks(), []);
    // The gutter down is nothing, so no colour can run over the edge.
    assert_eq!(sheet.bleed_mm(1.0).to_string(), "0");
}

#[test]
fn three_labels_of_eight_inches_fit_a_letter_page() {
    // 0.5 + 2 × 3.333 + 3.333 = 10.499 in, which leaves half an inch.
    let sheet = read(&SheetInput {
        page: some("letter"),
        margin_left: some("0.25 in"),
        margin_top: some("0.5 in"),
        label_width: some("8 in"),
        label_height: some("3.333 in"),
        columns: some("1"),
        rows: some("3"),
        ..SheetInput::default()
    });
    assert!((sheet.margin_bottom_mm() - 0.501 * 25.4).abs() < 1e-9);
}

#[test]
fn margins_left_out_put_the_labels_in_the_middle() {
    let sheet = read(&SheetInput {
        page: some("A4"),
        label_width: some("38 mm"),
        pitch_x: some("42 mm"),
        pitch_y: some("42 mm"),
        outline: some("round"),
        columns: some("4"),
        rows: some("6"),
        ..SheetInput::default()
    });
    assert_eq!(sheet.outline, Outline::Round);
    assert!((sheet.label_height_mm - 38.0).abs() < 1e-9);
    assert!((sheet.margin_left_mm - sheet.margin_right_mm()).abs() < 1e-9);
    assert!((sheet.margin_top_mm - sheet.margin_bottom_mm()).abs() < 1e-9);
    assert!((sheet.bleed_mm(1.5) - 1.5).abs() < 1e-9);
    assert_eq!(sheet.bleed_mm(2.5).to_string(), "0");
    // The box in a circle of 38 mm with 2 mm kept free: 34/√2.
    let (x, y, w, h) = sheet.text_box_mm(2.0);
    assert!((w - 34.0 / 2.0_f64.sqrt()).abs() < 1e-9 && (w - h).abs() < 1e-9);
    assert!((2.0 * x + w - 38.0).abs() < 1e-9 && (x - y).abs() < 1e-9);
}

#[test]
fn every_rule_that_is_broken_is_told() {
    assert_eq!(
        wrong(&SheetInput::default()),
        [
            "page_width",
            "page_height",
            "label_width",
            "label_height",
            "columns",
            "rows"
        ]
    );
    assert_eq!(
        wrong(&SheetInput {
            pitch_x: some("2.5 in"),
            rows: some("12"),
            corner: some("40 mm"),
            ..thirty()
        }),
        ["pitch_x", "rows", "corner"]
    );
    assert_eq!(
        wrong(&SheetInput {
            columns: some("4"),
            ..thirty()
        }),
        ["columns"]
    );
    assert_eq!(
        wrong(&SheetInput {
            columns: some("0"),
            rows: some("ten"),
            label_width: some("66"),
            page: some("foolscap"),
            outline: some("star"),
            ..thirty()
        }),
        ["page", "outline", "label_width", "columns", "rows"]
    );
    assert_eq!(
        wrong(&SheetInput {
            outline: some("round"),
            ..thirty()
        }),
        ["label_height"]
    );
}

#[test]
fn uneven_margins_are_remarked_upon_and_taken() {
    let sheet = read(&SheetInput {
        margin_left: some("2 mm"),
        ..thirty()
    });
    let remarks: Vec<String> = sheet.remarks().iter().map(ToString::to_string).collect();
    assert_eq!(remarks.len(), 2);
    assert!(remarks[0].starts_with("The margin is 2 mm on the left and 7.5 mm on the right."));
    assert!(remarks[1].starts_with("Labels begin 2 mm from the edge"));
}

#[test]
fn a_part_used_sheet_is_begun_where_it_is_free() {
    let sheet = read(&thirty());
    let places: Vec<_> = sheet.place(&[2, 0, 3], 29, Drift::NONE).collect();
    let told: Vec<_> = places
        .iter()
        .map(|at| (at.page, at.column, at.row, at.run, at.nth))
        .collect();
    assert_eq!(
        told,
        [
            (0, 1, 9, 0, 0),
            (0, 2, 9, 0, 1),
            (1, 0, 0, 2, 0),
            (1, 1, 0, 2, 1),
            (1, 2, 0, 2, 2)
        ]
    );
    assert!((places[0].x_mm - 2.9375 * 25.4).abs() < 1e-9);
    assert!((places[0].y_mm - 9.5 * 25.4).abs() < 1e-9);
    assert_eq!(sheet.pages_for(5, 29), 2);
    assert_eq!(sheet.pages_for(2, 29), 1);
    assert_eq!(sheet.pages_for(0, 29), 0);
    assert_eq!(sheet.pages_for(60, 1), 2);
}

#[test]
fn a_page_fitted_to_97_percent_is_told_and_met() {
    // The crosses of an A4 page stand 20 and 190 mm from the left and 20 and
    // 277 mm from the top; at 97 % about the middle they move to these.
    let measured = DriftInput {
        left: some("22.55 mm"),
        right: some("187.45 mm"),
        top: some("23.855 mm"),
        bottom: some("273.145 mm"),
    };
    let (_, drift) = measured
        .read(&side(210.0), &side(297.0), Ruler::PLAIN)
        .unwrap();
    assert!((drift.scale_x - 0.97).abs() < 1e-9 && (drift.scale_y - 0.97).abs() < 1e-9);
    assert!((drift.dx_mm - 3.15).abs() < 1e-9 && (drift.dy_mm - 4.455).abs() < 1e-9);
    let remark = drift.remark().unwrap();
    assert!(
        remark.starts_with("The page came out 3.0 % too small."),
        "{remark}"
    );
    // Ten rows of an inch: the last label would print 0.97 × 228.6 below the
    // first, 6.9 mm short.
    let short = 228.6 - 0.97 * 228.6;
    assert!((short - 6.858_f64).abs() < 1e-9);
}

#[test]
fn a_slip_of_the_ruler_is_told() {
    let measured = DriftInput {
        left: some("20 mm"),
        right: some("20 mm"),
        top: some("60 mm"),
        bottom: some("317 mm"),
    };
    let problems = measured
        .read(&side(210.0), &side(297.0), Ruler::PLAIN)
        .unwrap_err();
    let fields: Vec<_> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(fields, ["right", "top"]);
}

prop_compose! {
    /// A sheet that closes on its page.
    fn any_sheet()(
        columns in 1_u32..12, rows in 1_u32..20,
        width in 5.0..120.0_f64, height in 5.0..120.0_f64,
        gutter_x in 0.0..10.0_f64, gutter_y in 0.0..10.0_f64,
        left in 0.0..20.0_f64, top in 0.0..20.0_f64,
        right in 0.0..20.0_f64, bottom in 0.0..20.0_f64,
    ) -> Sheet {
        Sheet {
            page_width_mm: left + right + f64::from(columns) * (width + gutter_x) - gutter_x,
            page_height_mm: top + bottom + f64::from(rows) * (height + gutter_y) - gutter_y,
            margin_left_mm: left,
            margin_top_mm: top,
            label_width_mm: width,
            label_height_mm: height,
            pitch_x_mm: width + gutter_x,
            pitch_y_mm: height + gutter_y,
            columns,
            rows,
            outline: Outline::Oval,
        }
    }
}

prop_compose! {
    fn any_drift()(
        dx_mm in -5.0..5.0_f64, dy_mm in -5.0..5.0_f64,
        scale_x in 0.95..1.05_f64, scale_y in 0.95..1.05_f64,
    ) -> Drift {
        Drift { dx_mm, dy_mm, scale_x, scale_y }
    }
}

proptest! {
    #[test]
    fn labels_lie_on_their_page_and_never_on_each_other(sheet in any_sheet()) {
        let sheet = sheet.checked();
        prop_assume!(sheet.is_ok());
        let sheet = sheet.unwrap();
        let cells: Vec<_> = (0..sheet.columns)
            .flat_map(|column| (0..sheet.rows).map(move |row| sheet.cell_mm(column, row)))
            .collect();
        for (idx, &(x, y)) in cells.iter().enumerate() {
            prop_assert!(x >= 0.0 && x + sheet.label_width_mm <= sheet.page_width_mm + 0.05);
            prop_assert!(y >= 0.0 && y + sheet.label_height_mm <= sheet.page_height_mm + 0.05);
            for &(other_x, other_y) in &cells[..idx] {
                let apart = (x - other_x).abs() >= sheet.label_width_mm - 1e-9
                    || (y - other_y).abs() >= sheet.label_height_mm - 1e-9;
                prop_assert!(apart);
            }
        }
    }

    #[test]
    fn every_label_of_every_run_has_one_place(
        sheet in any_sheet(),
        runs in prop::collection::vec(0_u32..50, 0..5),
        start in 1_u32..300,
    ) {
        let places: Vec<_> = sheet.place(&runs, start, Drift::NONE).collect();
        let asked: u32 = runs.iter().sum();
        prop_assert_eq!(places.len(), asked as usize);
        for (idx, &n) in runs.iter().enumerate() {
            let nths: Vec<u32> =
                places.iter().filter(|at| at.run == idx).map(|at| at.nth).collect();
            prop_assert_eq!(nths, (0..n).collect::<Vec<_>>());
        }
        let mut taken: Vec<_> =
            places.iter().map(|at| (at.page, at.row, at.column)).collect();
        taken.dedup();
        prop_assert_eq!(taken.len(), places.len());
        prop_assert!(taken.is_sorted());
        let pages = places.last().map_or(0, |at| at.page + 1);
        prop_assert_eq!(pages, sheet.pages_for(u64::from(asked), start));
    }

    #[test]
    fn what_a_drifting_printer_puts_down_lands_in_the_middle_of_its_cell(
        sheet in any_sheet(), drift in any_drift(),
    ) {
        for at in sheet.place(&[30], 1, drift) {
            let (x, y) = sheet.cell_mm(at.column, at.row);
            let (landed_x, landed_y) = drift.lands(
                at.x_mm + sheet.label_width_mm / 2.0,
                at.y_mm + sheet.label_height_mm / 2.0,
            );
            prop_assert!((landed_x - x - sheet.label_width_mm / 2.0).abs() < 1e-9);
            prop_assert!((landed_y - y - sheet.label_height_mm / 2.0).abs() < 1e-9);
        }
    }

    #[test]
    fn what_a_printer_does_is_found_from_its_calibration_page(drift in any_drift()) {
        let at = |x: f64, y: f64| drift.lands(x, y);
        let (left, top) = at(20.0, 20.0);
        let (right, bottom) = at(190.0, 277.0);
        let text = |mm: f64| Some(format!("{mm:.6} mm"));
        let found = DriftInput {
            left: text(left), right: text(right), top: text(top), bottom: text(bottom),
        }
        .read(&side(210.0), &side(297.0), Ruler::PLAIN)
        .unwrap()
        .1;
        prop_assert!((found.dx_mm - drift.dx_mm).abs() < 1e-5);
        prop_assert!((found.dy_mm - drift.dy_mm).abs() < 1e-5);
        prop_assert!((found.scale_x - drift.scale_x).abs() < 1e-7);
        prop_assert!((found.scale_y - drift.scale_y).abs() < 1e-7);
    }

    #[test]
    fn no_text_makes_a_sheet_panic(
        page in "\\PC{0,12}", width in "\\PC{0,12}", n in "\\PC{0,6}", pitch in "\\PC{0,12}",
    ) {
        let input = SheetInput {
            page: Some(page),
            label_width: Some(width),
            columns: Some(n),
            pitch_x: Some(pitch),
            ..thirty()
        };
        // Either answer will do, as long as there is one.
        prop_assert!(input.read(Ruler::PLAIN).is_ok_and(|(_, sheet)| sheet.per_page() > 0)
            || input.read(Ruler::PLAIN).is_err_and(|problems| !problems.is_empty()));
    }
}
