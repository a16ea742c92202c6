//! Statements, sizes and places.

use measure::{Length, LengthUnit, Typed};
use netweight::panel::{self, Misplaced, Panel, Set};
use netweight::statement::{self, StatementError};

use crate::{grams, mass, typed};

/// Grams are cut to two figures below 100 g and three above, 16 CFR 500.19(b);
/// 1 oz = 28.3495 g, 500.19(a). Own arithmetic: 2.75 oz is 77.961 g.
#[test]
fn ounces_first() {
    for (declared, text) in [
        ("1 oz", "NET WT 1 OZ (28 g)"),
        ("1.4 oz", "NET WT 1.4 OZ (39 g)"),
        ("1.5 oz", "NET WT 1.5 OZ (42 g)"),
        ("2 oz", "NET WT 2 OZ (56 g)"),
        ("2.25 oz", "NET WT 2.25 OZ (63 g)"),
        ("2 1/2 oz", "NET WT 2.5 OZ (70 g)"),
        ("2.6 oz", "NET WT 2.6 OZ (73 g)"),
        ("2.75 oz", "NET WT 2.75 OZ (77 g)"),
        ("3 oz", "NET WT 3 OZ (85 g)"),
        ("3.5 oz", "NET WT 3.5 OZ (99 g)"),
        ("4 oz", "NET WT 4 OZ (113 g)"),
        ("5 oz", "NET WT 5 OZ (141 g)"),
        ("6 oz", "NET WT 6 OZ (170 g)"),
        ("8 oz", "NET WT 8 OZ (226 g)"),
        ("10 oz", "NET WT 10 OZ (283 g)"),
        ("12 oz", "NET WT 12 OZ (340 g)"),
        ("16 oz", "NET WT 1 LB (453 g)"),
        ("1 lb 4 oz", "NET WT 1 LB 4 OZ (566 g)"),
        ("24 oz", "NET WT 1 LB 8 OZ (680 g)"),
        ("2 lb", "NET WT 2 LB (907 g)"),
        ("3 lb", "NET WT 3 LB (1.36 kg)"),
        ("2.489 oz", "NET WT 2.48 OZ (70 g)"),
        ("0.2 oz", "NET WT 0.2 OZ (5.6 g)"),
    ] {
        let found = statement::us(&typed(declared)).unwrap();
        assert_eq!(found.text, text);
    }
}

/// From grams, ounces cut to two places; 400 g is 14.1096 oz, so 14.11 would
/// say too much. 1 g = 0.0352740 oz: 16 CFR 500.19(a).
#[test]
fn grams_first() {
    for (declared, ounces) in [
        ("50 g", "1.76"),
        ("60 g", "2.11"),
        ("65 g", "2.29"),
        ("70 g", "2.46"),
        ("75 g", "2.64"),
        ("80 g", "2.82"),
        ("85 g", "2.99"),
        ("90 g", "3.17"),
        ("100 g", "3.52"),
        ("120 g", "4.23"),
        ("150 g", "5.29"),
        ("170 g", "5.99"),
        ("200 g", "7.05"),
        ("220 g", "7.76"),
        ("250 g", "8.81"),
        ("300 g", "10.58"),
        ("400 g", "14.1"),
    ] {
        let found = statement::us(&typed(declared)).unwrap();
        assert_eq!(found.text, format!("NET WT {ounces} OZ ({declared})"));
        assert_eq!(found.tested, mass(declared));
    }
}

#[test]
fn the_larger_figure_is_tested() {
    assert_eq!(
        statement::us(&typed("2.5 oz")).unwrap().tested,
        mass("2.5 oz")
    );
    assert_eq!(statement::us(&typed("70 g")).unwrap().tested, grams(70.0));
}

/// 16 CFR 500.27 (from memory).
#[test]
fn several_pieces() {
    let six = statement::us_pack(6, "bars", &typed("1 oz")).unwrap();
    assert_eq!(six.text, "6 BARS, 1 OZ (28 g) EACH, NET WT 6 OZ (170 g)");
    let many = statement::us_pack(20, "melts", &typed("1 oz")).unwrap();
    assert_eq!(
        many.text,
        "20 MELTS, 1 OZ (28 g) EACH, NET WT 1 LB 4 OZ (566 g)"
    );
    assert_eq!(
        statement::us_pack(1, "bars", &typed("1 oz")),
        Err(StatementError::NotSeveral)
    );
}

/// Directive 76/211/EEC, Annex I, 3.1: grams or kilograms.
#[test]
fn the_metric_statement() {
    assert_eq!(statement::eu(&typed("40 g")).unwrap().text, "40 g");
    assert_eq!(statement::eu(&typed("1200 g")).unwrap().text, "1.2 kg");
    assert_eq!(statement::eu(&typed("1 kg")).unwrap().text, "1 kg");
    assert_eq!(
        statement::uk(&typed("70 g"), true).unwrap().text,
        "70 g (2.46 oz)"
    );
    assert_eq!(statement::uk(&typed("70 g"), false).unwrap().text, "70 g");
    assert_eq!(statement::eu(&typed("1 mg")), Err(StatementError::TooSmall));
    assert_eq!(
        statement::us(&typed("100 mg")),
        Err(StatementError::TooSmall)
    );
}

const IN: f64 = 25.4;

fn sixteenths(panel: Panel) -> f64 {
    panel::us_height(panel, false).to_f64(LengthUnit::Inch) * 16.0
}

/// 16 CFR 500.21(b), every row at its limit and just above.
#[test]
fn least_heights_by_the_panel() {
    for (area_in2, expected) in [
        (1.0, 1.0),
        (5.0, 1.0),
        (5.01, 2.0),
        (25.0, 2.0),
        (25.1, 3.0),
        (100.0, 3.0),
        (100.1, 4.0),
        (400.0, 4.0),
        (401.0, 8.0),
    ] {
        let panel = Panel::Rectangle {
            height_mm: area_in2 * IN,
            width_mm: IN,
        };
        assert!(
            (sixteenths(panel) - expected).abs() < 1e-9,
            "{area_in2} sq in"
        );
        let more = panel::us_height(panel, true).to_f64(LengthUnit::Inch) * 16.0;
        assert!((more - expected - 1.0).abs() < 1e-9);
    }
}

/// 16 CFR 500.21(a); own arithmetic on usual packs.
#[test]
fn areas_of_usual_packs() {
    for (panel, area_in2, expected) in [
        (
            Panel::Rectangle {
                height_mm: 2.75 * IN,
                width_mm: 4.25 * IN,
            },
            11.69,
            2.0,
        ),
        (
            Panel::Rectangle {
                height_mm: 2.0 * IN,
                width_mm: 2.5 * IN,
            },
            5.00,
            1.0,
        ),
        (
            Panel::Cylinder {
                height_mm: 3.5 * IN,
                diameter_mm: 3.0 * IN,
            },
            13.19,
            2.0,
        ),
        (
            Panel::Cylinder {
                height_mm: 1.75 * IN,
                diameter_mm: 2.5 * IN,
            },
            5.50,
            2.0,
        ),
        (
            Panel::Disc {
                diameter_mm: 2.5 * IN,
            },
            4.91,
            1.0,
        ),
        (
            Panel::Cylinder {
                height_mm: 4.5 * IN,
                diameter_mm: 4.0 * IN,
            },
            22.62,
            2.0,
        ),
        (
            Panel::Other {
                surface_mm2: 20.0 * IN * IN,
            },
            8.0,
            2.0,
        ),
        (
            Panel::Disc {
                diameter_mm: f64::NAN,
            },
            0.0,
            1.0,
        ),
    ] {
        assert!((panel.area_in2() - area_in2).abs() < 5.1e-3, "{panel:?}");
        assert!((sixteenths(panel) - expected).abs() < 1e-9, "{panel:?}");
    }
}

/// Directive 76/211/EEC, Annex I, 3.1, every row at its limit.
#[test]
fn least_digits_by_the_quantity() {
    for (nominal, height_mm) in [
        ("40 g", 2.0),
        ("50 g", 2.0),
        ("51 g", 3.0),
        ("200 g", 3.0),
        ("201 g", 4.0),
        ("1 kg", 4.0),
        ("1.001 kg", 6.0),
    ] {
        let height = panel::eu_height(mass(nominal));
        assert_eq!(
            height.to_f64(LengthUnit::Millimetre),
            height_mm,
            "{nominal}"
        );
    }
}

/// Directive 76/211/EEC, article 1 (from memory) and Annex I, 3.3.
#[test]
fn the_e_mark() {
    let three: Length = Typed::parse("3 mm").unwrap().value();
    assert_eq!(panel::e_mark(mass("40 g")).unwrap().least_height, three);
    for (nominal, allowed) in [
        ("4.9 g", false),
        ("5 g", true),
        ("10 kg", true),
        ("10.1 kg", false),
    ] {
        assert_eq!(panel::e_mark(mass(nominal)).is_some(), allowed);
    }
}

/// 16 CFR 500.6(b).
#[test]
fn the_place_on_the_panel() {
    let face = Panel::Rectangle {
        height_mm: 70.0,
        width_mm: 108.0,
    };
    let good = Set {
        panel_height_mm: 70.0,
        top_mm: 60.0,
        clear_above_below_mm: 3.2,
        clear_sides_mm: 5.0,
        letter_height_mm: 3.2,
        n_width_mm: 2.4,
    };
    assert_eq!(panel::check(face, &good), []);
    let bad = Set {
        top_mm: 40.0,
        clear_above_below_mm: 1.0,
        clear_sides_mm: 4.0,
        letter_height_mm: 3.1,
        ..good
    };
    assert_eq!(
        panel::check(face, &bad),
        [
            Misplaced::TooHigh,
            Misplaced::CrowdedAboveBelow,
            Misplaced::CrowdedSides,
            Misplaced::TooSmall
        ]
    );
    let lid = Panel::Disc { diameter_mm: 60.0 };
    let high = Set {
        top_mm: 10.0,
        ..good
    };
    assert_eq!(panel::check(lid, &high), []);
    assert_eq!(panel::placement(lid).lowest_share, None);
    assert_eq!(panel::placement(face).lowest_share, Some(0.3));
}
