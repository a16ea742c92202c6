//! Wraps laid flat, labels that fit, pieces cut from sheets and rolls.

use std::f64::consts::PI;

use label::fit::{Closes, Label, Room, fit, room};
use label::nest::{Piece, nest_roll, nest_sheet};
use label::sheet::Outline;
use label::unit::{Shape, ShapeInput, Solid};
use label::wrap::{Allowance, Cover, FoldKind, PanelName, Plan, label_sizes};
use proptest::prelude::*;

use crate::units::any_solid;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6 * (1.0 + a.abs())
}

const BAR: Solid = Shape::TaperedBar {
    bottom_length: 96.0,
    bottom_width: 42.0,
    top_length: 100.0,
    top_width: 46.0,
    height: 14.0,
};

fn label(width_mm: f64, height_mm: f64) -> Label {
    Label {
        width_mm,
        height_mm,
        outline: Outline::Rectangle { corner_mm: 0.0 },
    }
}

#[test]
fn a_box_is_wrapped_as_worked_by_hand() {
    // Once round a bar of 98 × 44 × 14: 2 × (44 + 14) = 116, 10 overlap.
    // Past each end half of 14 and 5 tuck: 98 + 2 × 12 = 122.
    let solid = Shape::Box {
        length: 98.0,
        width: 44.0,
        height: 14.0,
    };
    let plan = Plan::of(&solid, Cover::Full, &Allowance::default());
    assert!(
        near(plan.width_mm, 122.0) && near(plan.height_mm, 126.0),
        "{plan:?}"
    );
    assert!(near(plan.round_mm, 116.0) && near(plan.end_fold_mm, 12.0));
    // The front lies 22 + 14 down and 12 in.
    let front = plan
        .panels
        .iter()
        .find(|panel| panel.name == PanelName::Front)
        .unwrap();
    assert_eq!(front.bounds(), (12.0, 36.0, 98.0, 44.0));
    // Eight creases at 45°, each as long as the flap is deep.
    let creases: Vec<_> = plan
        .folds
        .iter()
        .filter(|fold| fold.kind == FoldKind::Crease)
        .collect();
    assert_eq!(creases.len(), 8);
    for crease in creases {
        assert!(near((crease.from.0 - crease.to.0).abs(), 12.0));
        assert!(near((crease.from.1 - crease.to.1).abs(), 12.0));
    }
    let band = Plan::of(&solid, Cover::Band, &Allowance::default());
    assert!(near(band.width_mm, 49.0) && near(band.height_mm, 126.0));
    let front = Plan::of(&solid, Cover::Front, &Allowance::default());
    assert!(near(front.width_mm, 94.0) && near(front.height_mm, 40.0));
}

#[test]
fn a_tapered_bar_is_wrapped_as_worked_by_hand() {
    // Both leans are 2 over 14, so every slant is √200 = 14.142. Once round
    // 46 + 42 + 28.284 = 116.284; past the end 7.071 + 5; 100 + 24.142.
    let plan = Plan::of(&BAR, Cover::Full, &Allowance::default());
    let slant = 200.0_f64.sqrt();
    assert!(near(plan.round_mm, 88.0 + 2.0 * slant));
    assert!(near(plan.height_mm, 98.0 + 2.0 * slant));
    assert!(near(plan.width_mm, 110.0 + slant));
    let slope = plan.slope.unwrap();
    // The tangent of the lean is 1/7: 8.13°. Round the sides the upper edge is
    // 2 × (146 − 138) = 16 mm longer than the lower.
    assert!((slope.side_degrees - 8.130).abs() < 0.001 && near(slope.gape_mm, 16.0));
    assert!(slope.lies_flat);
    let band = |band_mm| {
        let allowance = Allowance {
            band_mm: Some(band_mm),
            ..Allowance::default()
        };
        Plan::of(&BAR, Cover::Band, &allowance)
            .slope
            .unwrap()
            .lies_flat
    };
    assert!(band(96.0) && !band(98.0));
}

#[test]
fn a_tumbler_takes_a_piece_of_a_ring() {
    // Diameters 80 and 60 over 75: slant √(75² + 10²) = 75.664; the ring goes
    // through π·20/75.664 rad, with radii 302.65 and 226.99 (80 and 60 over
    // twice 10/75.664).
    let tumbler = Shape::Tumbler {
        bottom_diameter: 60.0,
        top_diameter: 80.0,
        height: 75.0,
    };
    let none = Allowance {
        overlap_mm: 0.0,
        ..Allowance::default()
    };
    let plan = Plan::of(&tumbler, Cover::Full, &none);
    let arc = plan.arc.unwrap();
    let slant = 5725.0_f64.sqrt();
    assert!(near(arc.radians, PI * 20.0 / slant));
    assert!(near(arc.outer_mm, 4.0 * slant) && near(arc.inner_mm, 3.0 * slant));
    // A straight strip would be short or long by π × 20.
    assert!(near(plan.slope.unwrap().gape_mm, 20.0 * PI));
    assert!(!plan.slope.unwrap().lies_flat);
}

#[test]
fn a_jar_and_a_clamshell_are_gone_round() {
    let jar = Shape::Jar {
        diameter: 70.0,
        height: 60.0,
    };
    let plan = Plan::of(&jar, Cover::Full, &Allowance::default());
    assert!(near(plan.width_mm, PI * 70.0 + 10.0) && near(plan.height_mm, 60.0));
    let shell = Shape::Clamshell {
        width: 70.0,
        height: 95.0,
        depth: 25.0,
        header: Some(13.0),
    };
    let plan = Plan::of(&shell, Cover::Band, &Allowance::default());
    assert!(near(plan.width_mm, 200.0) && near(plan.height_mm, 47.5));
    let [_, _, front] = label_sizes(&shell, &Allowance::default());
    assert!(near(front.width_mm, 66.0) && near(front.height_mm, 104.0));
}

#[test]
fn a_label_bought_by_eye_is_told_by_how_much_it_is_over() {
    // A 4 by 2 in label for the front of the bar: 101.6 against 100, 50.8
    // against 46.
    let front = room(&BAR, Cover::Front);
    let found = fit(&label(101.6, 50.8), &front);
    assert!(!found.fits && near(found.spare_across_mm, -1.6) && near(found.spare_down_mm, -4.8));
    assert_eq!(
        found.sentence(front.closes),
        "It does not fit: 1.6 mm over across, 4.8 mm over down."
    );
    let found = fit(&label(40.0, 90.0), &front);
    assert!(found.fits && found.is_turned);
    assert_eq!(
        found.sentence(front.closes),
        "It fits on its side: 10 mm to spare across, 6 mm to spare down."
    );
    // Round the bar, 116.28: a strip of 130 laps over by 13.7, one of 100 gapes.
    let round = room(&BAR, Cover::Band);
    let found = fit(&label(50.0, 130.0), &round);
    assert!(found.fits && (found.overlap_mm.unwrap() - 13.716).abs() < 0.001);
    let found = fit(&label(50.0, 100.0), &round);
    assert!(!found.fits && found.overlap_mm.is_none());
    assert_eq!(
        found.sentence(round.closes),
        "It does not fit: leaves a gap of 16.3 mm, 46 mm to spare along."
    );
}

#[test]
fn the_calculations_report_every_problem() {
    let fields = |problems: measure::Problems| -> Vec<String> {
        problems
            .iter()
            .map(|problem| problem.field.clone())
            .collect()
    };
    let some = |text: &str| Some(text.to_owned());
    let wrap = label::wrap::Input {
        shape: Some(ShapeInput {
            kind: some("tin"),
            height: some("tall"),
            ..ShapeInput::default()
        }),
        cover: some("half"),
        overlap: some("-3 mm"),
        ..label::wrap::Input::default()
    };
    assert_eq!(
        fields(label::wrap::calculate(&wrap).unwrap_err()),
        ["shape.diameter", "shape.height", "cover", "overlap"]
    );
    assert_eq!(
        fields(label::wrap::calculate(&label::wrap::Input::default()).unwrap_err()),
        ["shape"]
    );
    let fit = label::fit::Input {
        on: some("lid"),
        ..label::fit::Input::default()
    };
    assert_eq!(
        fields(label::fit::calculate(&fit).unwrap_err()),
        ["label_width", "on", "shape"]
    );
}

#[test]
fn known_patterns_are_found() {
    // 1000 × 1000 and pieces of 205 × 159: 24 one way, 24 the other; a cut
    // from edge to edge allows 28 or more of at most 30 by area.
    let cutting = nest_sheet(1000.0, 1000.0, 205.0, 159.0);
    assert_eq!((cutting.n_upright, cutting.n_turned), (24, 24));
    assert!(
        cutting.pieces.len() >= 28 && cutting.pieces.len() <= 30,
        "{}",
        cutting.pieces.len()
    );
    // Exactly full: 210 × 297 of 105 × 99 upright gives six and no waste.
    let full = nest_sheet(210.0, 297.0, 105.0, 99.0);
    assert_eq!(full.n(), 6);
    assert!(full.waste() < 1e-9);
    assert_eq!(nest_sheet(50.0, 50.0, 60.0, 10.0).n(), 0);
}

#[test]
fn a_roll_may_carry_columns_of_both_ways() {
    // 500 wide, pieces of 122 × 126: four columns of 122 would leave 12, but
    // one of 122 and three of 126 fill it: 1/0.126 + 3/0.122 a metre.
    let roll = nest_roll(500.0, 122.0, 126.0).unwrap();
    assert_eq!((roll.n_upright, roll.n_turned), (1, 3));
    assert!((roll.per_metre - 32.527).abs() < 0.001 && roll.waste < 1e-9);
    // A metre holds 7 and three times 8.
    assert_eq!(roll.n_in(1000.0), 31);
    assert!(near(roll.length_for_mm(28), 882.0));
    // 300 wide, pieces of 120 × 90: one of 120 and two of 90 fill it.
    let roll = nest_roll(300.0, 120.0, 90.0).unwrap();
    assert_eq!((roll.n_upright, roll.n_turned), (1, 2));
    assert!(roll.waste < 1e-9);
    assert!(nest_roll(80.0, 120.0, 90.0).is_none());
}

/// Whether a point lies within a polygon, by counting crossings.
fn inside(corners: &[(f64, f64)], x: f64, y: f64) -> bool {
    let mut within = false;
    for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        if (a.1 > y) != (b.1 > y) && x < (b.0 - a.0) * (y - a.1) / (b.1 - a.1) + a.0 {
            within = !within;
        }
    }
    within
}

fn apart(a: &Piece, b: &Piece) -> bool {
    a.x_mm + a.width_mm <= b.x_mm + 1e-6
        || b.x_mm + b.width_mm <= a.x_mm + 1e-6
        || a.y_mm + a.height_mm <= b.y_mm + 1e-6
        || b.y_mm + b.height_mm <= a.y_mm + 1e-6
}

fn any_cover() -> impl Strategy<Value = Cover> {
    prop::sample::select(Cover::ALL.to_vec())
}

prop_compose! {
    fn any_allowance()(
        overlap_mm in 0.0..20.0_f64, tuck_mm in 0.0..15.0_f64,
        end_fold_mm in prop::option::of(0.0..60.0_f64),
        band_mm in prop::option::of(5.0..150.0_f64),
    ) -> Allowance {
        Allowance { overlap_mm, tuck_mm, end_fold_mm, band_mm }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_spot_of_a_sheet_belongs_to_one_panel(
        solid in any_solid(), cover in any_cover(), allowance in any_allowance(),
        u in 0.001..0.999_f64, v in 0.001..0.999_f64,
    ) {
        let plan = Plan::of(&solid, cover, &allowance);
        let panels: f64 = plan.panels.iter().map(label::wrap::Panel::area_mm2).sum();
        // A curve is drawn in pieces, which cuts a little off.
        prop_assert!((panels - plan.area_mm2()).abs() <= 1e-3 * plan.area_mm2());
        if plan.arc.is_none() {
            prop_assert!(near(plan.area_mm2(), plan.width_mm * plan.height_mm));
            let (x, y) = (u * plan.width_mm, v * plan.height_mm);
            let n = plan.panels.iter().filter(|panel| inside(&panel.corners, x, y)).count();
            prop_assert_eq!(n, 1);
        }
    }

    #[test]
    fn folds_panels_and_label_lie_within_the_sheet(
        solid in any_solid(), cover in any_cover(), allowance in any_allowance(),
    ) {
        let plan = Plan::of(&solid, cover, &allowance);
        let within = |x: f64, y: f64| {
            (-1e-6..=plan.width_mm + 1e-6).contains(&x) && (-1e-6..=plan.height_mm + 1e-6).contains(&y)
        };
        for fold in &plan.folds {
            prop_assert!(within(fold.from.0, fold.from.1) && within(fold.to.0, fold.to.1));
        }
        for (x, y) in plan.panels.iter().flat_map(|panel| &panel.corners).chain(&plan.outline) {
            prop_assert!(within(*x, *y), "{} {} of {:?}", x, y, plan);
        }
        let (x, y, width, height) = plan.front_label;
        prop_assert!(width > 0.0 && height > 0.0);
        prop_assert!(within(x, y) && within(x + width, y + height));
    }

    #[test]
    fn the_faces_on_the_sheet_are_those_of_the_unit(solid in any_solid(), allowance in any_allowance()) {
        let plan = Plan::of(&solid, Cover::Full, &allowance);
        let on_sheet = plan.face_mm2(PanelName::Front)
            + plan.face_mm2(PanelName::Back)
            + plan.face_mm2(PanelName::Side);
        let skip = ["end", "top", "bottom", "lid"];
        let mut on_unit: f64 = solid
            .faces()
            .iter()
            .filter(|face| !skip.contains(&face.name))
            .map(|face| f64::from(face.n) * face.area_mm2)
            .sum();
        // A sleeve goes round the shell, not over the header.
        if let Shape::Clamshell { width, header, .. } = solid {
            on_unit -= 2.0 * width * header.unwrap_or(0.0);
        }
        prop_assert!((on_sheet - on_unit).abs() <= 2e-3 * on_unit, "{} {}", on_sheet, on_unit);
    }

    #[test]
    fn both_flaps_of_an_end_cover_it(solid in any_solid(), tuck_mm in 0.0..15.0_f64) {
        // What reaches past the front and past the back is at least the end.
        let allowance = Allowance { tuck_mm, ..Allowance::default() };
        let plan = Plan::of(&solid, Cover::Full, &allowance);
        let end = solid.faces().iter().find(|face| face.name == "end").map(|face| face.area_mm2);
        if let (Some(_), Shape::Box { length, width, height }) = (end, solid) {
            let mut sides = [length, width, height];
            sides.sort_by(f64::total_cmp);
            prop_assert!(near(2.0 * plan.end_fold_mm, sides[0] + 2.0 * tuck_mm));
        }
    }

    #[test]
    fn the_ring_closes_on_both_edges_of_the_tumbler(
        bottom in 20.0..120.0_f64, top in 20.0..120.0_f64, height in 20.0..150.0_f64,
    ) {
        prop_assume!((bottom - top).abs() > 0.5);
        let tumbler = Shape::Tumbler { bottom_diameter: bottom, top_diameter: top, height };
        let none = Allowance { overlap_mm: 0.0, ..Allowance::default() };
        let plan = Plan::of(&tumbler, Cover::Full, &none);
        let arc = plan.arc.unwrap();
        prop_assert!(near(arc.radians * arc.outer_mm, PI * bottom.max(top)));
        prop_assert!(near(arc.radians * arc.inner_mm, PI * bottom.min(top)));
        // ... and is as large as the side of the cone's frustum.
        let side = solid_side(&tumbler);
        let ring = arc.radians / 2.0 * (arc.outer_mm.powi(2) - arc.inner_mm.powi(2));
        prop_assert!(near(ring, side));
    }

    #[test]
    fn a_label_of_the_size_advised_fits(solid in any_solid()) {
        let sizes = label_sizes(&solid, &Allowance { overlap_mm: 5.0, ..Allowance::default() });
        for size in sizes {
            // Round a tumbler a straight strip is no ring.
            if matches!(solid, Shape::Tumbler { .. }) && size.cover != Cover::Front {
                continue;
            }
            let room = room(&solid, size.cover);
            let found = fit(&label(size.width_mm, size.height_mm), &room);
            prop_assert!(found.fits && !found.is_turned, "{:?} {:?} {:?}", size, room, found);
        }
    }

    #[test]
    fn turning_the_label_turns_the_answer(
        w in 3.0..200.0_f64, h in 3.0..200.0_f64, rw in 3.0..200.0_f64, rh in 3.0..200.0_f64,
    ) {
        for closes in [Closes::Nowhere, Closes::Across, Closes::Down] {
            let room = Room { width_mm: rw, height_mm: rh, closes };
            let one = fit(&label(w, h), &room);
            let other = fit(&label(h, w), &room);
            prop_assert_eq!(one.fits, other.fits);
            if closes == Closes::Nowhere && one.fits {
                prop_assert!(w * h <= (rw + 0.06) * (rh + 0.06));
            }
        }
    }

    #[test]
    fn pieces_lie_on_the_sheet_and_never_on_each_other(
        width in 10.0..700.0_f64, height in 10.0..700.0_f64, w in 15.0..200.0_f64, h in 15.0..200.0_f64,
    ) {
        let cutting = nest_sheet(width, height, w, h);
        for (idx, piece) in cutting.pieces.iter().enumerate() {
            prop_assert!(piece.x_mm >= 0.0 && piece.x_mm + piece.width_mm <= width + 1e-6);
            prop_assert!(piece.y_mm >= 0.0 && piece.y_mm + piece.height_mm <= height + 1e-6);
            let long = if piece.is_turned { h } else { w };
            prop_assert!((piece.width_mm - long).abs() <= 0.0011);
            for other in &cutting.pieces[..idx] {
                prop_assert!(apart(piece, other), "{:?} {:?}", piece, other);
            }
        }
        let n = cutting.n();
        prop_assert_eq!(n, cutting.pieces.len() as u64);
        prop_assert!(n as f64 * w * h <= width * height + 1e-6);
        prop_assert!(n >= cutting.n_upright && n >= cutting.n_turned);
        // A larger sheet never gives fewer, and either way of holding it the same.
        prop_assert!(nest_sheet(width + 7.0, height, w, h).n() >= n);
        prop_assert_eq!(nest_sheet(height, width, w, h).n(), n);
    }

    #[test]
    fn a_roll_gives_what_its_area_allows_and_no_more(
        width in 10.0..700.0_f64, w in 15.0..200.0_f64, h in 15.0..200.0_f64,
        length in 10.0..5_000.0_f64, n in 1_u64..500,
    ) {
        if let Some(roll) = nest_roll(width, w, h) {
            prop_assert!(f64::from(roll.n_upright) * w + f64::from(roll.n_turned) * h <= width + 1e-5);
            prop_assert!(roll.n_in(length) as f64 * w * h <= width * length * (1.0 + 1e-6));
            let needed = roll.length_for_mm(n);
            prop_assert!(roll.n_in(needed) >= n);
            // A shorter roll would not do.
            prop_assert!(roll.n_in(needed - 0.01) < n);
        } else {
            prop_assert!(width < w.min(h));
        }
    }
}

fn solid_side(solid: &Solid) -> f64 {
    solid
        .faces()
        .iter()
        .find(|face| face.name == "side")
        .unwrap()
        .area_mm2
}
