//! The bar that fills to the target.

use press::{BarToTarget, Picture, bar_to_target};

use crate::{oz, shown};

pub(crate) fn bar(target: f64, tolerance: f64, weighed: f64) -> Picture {
    bar_to_target(&BarToTarget {
        target,
        tolerance,
        weighed,
        write: &oz,
    })
}

#[test]
fn the_bar_fills_to_the_target() {
    insta::assert_snapshot!(shown(&bar(2.0, 0.05, 1.25)));
}

#[test]
fn the_state_is_a_word_and_a_class() {
    #[track_caller]
    fn check(weighed: f64, class: &str, title: &str) {
        let picture = bar(2.0, 0.05, weighed);
        assert!(
            picture
                .svg
                .contains(&format!("class=\"pic bar-to-target {class}\""))
        );
        assert_eq!(picture.title, title);
    }
    check(0.0, "under", "0.00 oz of 2.00 oz in: 2.00 oz to go");
    check(1.95, "within", "1.95 oz of 2.00 oz in: on target");
    check(2.05, "within", "2.05 oz of 2.00 oz in: on target");
    check(2.3, "over", "2.30 oz of 2.00 oz in: 0.30 oz over");
    check(90.0, "over", "90.00 oz of 2.00 oz in: 88.00 oz over");
}

#[test]
fn a_script_finds_what_it_moves() {
    let svg = bar(2.0, 0.05, 1.2).svg;
    for part in [
        "id=\"bar-to-target\"",
        "data-target=\"2\"",
        "data-tolerance=\"0.05\"",
        "data-full=\"1.2\"",
        "class=\"bar-track\" x=\"0\" width=\"1000\"",
        // 1.2 of 2 on a track of 1.2 targets: half of it.
        "class=\"bar-fill\" x=\"0\" width=\"500\"",
    ] {
        assert!(svg.contains(part), "{part}");
    }
}

#[test]
fn no_target_is_an_empty_track() {
    let svg = bar(f64::NAN, 0.0, 1.0).svg;
    assert!(svg.contains("class=\"bar-fill\" x=\"0\" width=\"0\""));
}
