//! Shapes: faces, surfaces, principal panels.

use std::f64::consts::PI;

use label::ruler::{Ruler, typed_mm};
use label::unit::{PrincipalPanel, Shape, ShapeGiven, ShapeInput, Solid};
use proptest::prelude::*;

const INCH: f64 = 25.4;

#[track_caller]
fn panel(panel: PrincipalPanel, square_inches: f64) {
    assert!(
        (panel.area_in2() - square_inches).abs() < 0.005,
        "{panel:?}"
    );
}

fn clamshell(width: f64, height: f64) -> Solid {
    Shape::Clamshell {
        width: width * INCH,
        height: height * INCH,
        depth: INCH,
        header: None,
    }
}

fn jar(diameter: f64, height: f64) -> Solid {
    Shape::Jar {
        diameter: diameter * INCH,
        height: height * INCH,
    }
}

#[test]
fn principal_panels_are_those_of_the_rule() {
    // 16 CFR 500.21(a), worked by hand in inches: a whole side; 40 % of
    // height × circumference; an obvious panel whole.
    panel(clamshell(2.75, 4.25).principal_panel(), 11.69);
    panel(clamshell(2.0, 2.5).principal_panel(), 5.00);
    panel(jar(3.0, 3.5).principal_panel(), 13.19);
    panel(jar(4.0, 4.5).principal_panel(), 22.62);
    let tin = Shape::Tin {
        diameter: 2.5 * INCH,
        height: 1.75 * INCH,
    };
    panel(tin.principal_panel(), 5.50);
    panel(tin.lid_panel().unwrap(), 4.91);
}

#[test]
fn the_front_of_a_tapered_bar_is_its_larger_face() {
    let bar = Shape::TaperedBar {
        bottom_length: 96.0,
        bottom_width: 42.0,
        top_length: 100.0,
        top_width: 46.0,
        height: 14.0,
    };
    panel(bar.principal_panel(), 100.0 * 46.0 / (INCH * INCH));
    // By hand: the sides lean 2 mm over 14, so both slants are √(14² + 2²).
    let slant = 200.0_f64.sqrt();
    let surface = 4600.0 + 4032.0 + 2.0 * 98.0 * slant + 2.0 * 44.0 * slant;
    assert!((bar.surface_mm2() - surface).abs() < 1e-9);
}

#[test]
fn what_is_missing_or_wrong_is_told_together() {
    let wrong = |input: ShapeInput| -> Vec<String> {
        let problems = input.read(Ruler::PLAIN).unwrap_err();
        problems
            .iter()
            .map(|problem| problem.field.clone())
            .collect()
    };
    let some = |text: &str| Some(text.to_owned());
    assert_eq!(wrong(ShapeInput::default()), ["kind"]);
    assert_eq!(
        wrong(ShapeInput {
            kind: some("egg"),
            ..ShapeInput::default()
        }),
        ["kind"]
    );
    assert_eq!(
        wrong(ShapeInput {
            kind: some("box"),
            length: some("98"),
            width: some("-4 mm"),
            ..ShapeInput::default()
        }),
        ["length", "width", "height"]
    );
    assert_eq!(
        wrong(ShapeInput {
            kind: some("tapered bar"),
            bottom_length: some("98 mm"),
            bottom_width: some("40 mm"),
            top_length: some("94 mm"),
            top_width: some("44 mm"),
            height: some("14 mm"),
            ..ShapeInput::default()
        }),
        ["top_width"]
    );
}

pub(crate) fn any_solid() -> impl Strategy<Value = Solid> {
    let side = || 5.0..200.0_f64;
    prop_oneof![
        (side(), side(), side()).prop_map(|(length, width, height)| Shape::Box {
            length,
            width,
            height
        }),
        (side(), side(), 0.6..1.0_f64, 0.6..1.0_f64, 5.0..60.0_f64).prop_map(
            |(length, width, shorter, narrower, height)| Shape::TaperedBar {
                bottom_length: length,
                bottom_width: width,
                top_length: length * shorter,
                top_width: width * narrower,
                height,
            }
        ),
        (side(), side()).prop_map(|(diameter, height)| Shape::Cylinder { diameter, height }),
        (side(), side()).prop_map(|(diameter, height)| Shape::Jar { diameter, height }),
        (side(), side()).prop_map(|(diameter, height)| Shape::Tin { diameter, height }),
        (side(), side(), side()).prop_map(|(bottom_diameter, top_diameter, height)| {
            Shape::Tumbler {
                bottom_diameter,
                top_diameter,
                height,
            }
        }),
        (side(), side(), side(), prop::option::of(side())).prop_map(
            |(width, height, depth, header)| Shape::Clamshell {
                width,
                height,
                depth,
                header
            }
        ),
    ]
}

proptest! {
    #[test]
    fn a_principal_panel_is_no_more_than_the_surface(solid in any_solid()) {
        let panel = solid.principal_panel().area_mm2;
        prop_assert!(panel > 0.0 && panel <= solid.surface_mm2());
    }

    #[test]
    fn a_tapered_bar_of_equal_faces_is_a_box(
        length in 5.0..200.0_f64, width in 5.0..200.0_f64, height in 5.0..50.0_f64,
    ) {
        let bar = Shape::TaperedBar {
            bottom_length: length, bottom_width: width,
            top_length: length, top_width: width, height,
        };
        let box_ = Shape::Box { length, width, height };
        prop_assert!((bar.surface_mm2() - box_.surface_mm2()).abs() < 1e-6);
    }

    #[test]
    fn a_tumbler_of_equal_ends_is_a_jar(diameter in 5.0..200.0_f64, height in 5.0..200.0_f64) {
        let tumbler = Shape::Tumbler { bottom_diameter: diameter, top_diameter: diameter, height };
        let expected = PI * diameter * height + PI * diameter * diameter / 2.0;
        prop_assert!((tumbler.surface_mm2() - expected).abs() < 1e-6);
    }

    #[test]
    fn a_shape_written_out_reads_back(solid in any_solid()) {
        let given: ShapeGiven = solid.map(|side| typed_mm(*side).unwrap());
        let again = ShapeInput::from(&given).read(Ruler::PLAIN).unwrap();
        prop_assert_eq!(&again, &given);
        let json = serde_json::to_string(&given).unwrap();
        prop_assert_eq!(serde_json::from_str::<ShapeGiven>(&json).unwrap(), given);
    }
}
