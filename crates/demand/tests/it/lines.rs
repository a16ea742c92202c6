//! The plain line, by hand.

use demand::Line;
use proptest::prelude::*;

/// Eleven days: 96 on average at 2.50, 78 at 3.00, 61 at 3.50; days about 20
/// apart. Own arithmetic, shown beside the checks.
pub(crate) const DAYS: [(f64, f64); 11] = [
    (2.5, 71.0),
    (2.5, 88.0),
    (2.5, 105.0),
    (2.5, 120.0),
    (3.0, 55.0),
    (3.0, 69.0),
    (3.0, 86.0),
    (3.0, 102.0),
    (3.5, 42.0),
    (3.5, 60.0),
    (3.5, 81.0),
];

fn shown(v: f64) -> String {
    format!("{v:.2}")
}

#[test]
fn eleven_days_give_the_line_they_give_on_paper() {
    let line = Line::fit(&DAYS).unwrap();
    let averages: Vec<(f64, u32, f64)> = line
        .averages
        .iter()
        .map(|at| (at.price, at.days, at.sold))
        .collect();
    assert_eq!(averages, [(2.5, 4, 96.0), (3.0, 4, 78.0), (3.5, 3, 61.0)]);
    // Squares about the averages: 1346 + 1250 + 762 over 8.
    assert_eq!(shown(line.day_sd.unwrap()), "20.49");
    // Weighted sums by hand: mean price 32.5/11, mean sold 879/11,
    // spread 19/11 of price², together −666/11.
    assert_eq!(shown(line.slope), shown(-666.0 / 19.0));
    assert_eq!(
        shown(line.intercept),
        shown(879.0 / 11.0 + 666.0 / 19.0 * 32.5 / 11.0)
    );
    let paper = line.on_paper();
    assert_eq!((paper.intercept, paper.slope), (183.5, -35.0));
    // Card fee 1.75 %, unit cost 0.74.
    let top = paper.top(0.9825, 0.74).unwrap();
    assert_eq!(shown(top.price), "3.00");
    assert_eq!(format!("{:.0}", top.contribution), "173");
    let (low, high) = top.within(0.02);
    assert_eq!(
        (
            shown((low * 100.0).ceil() / 100.0),
            shown((high * 100.0).floor() / 100.0)
        ),
        ("2.69".into(), "3.31".into())
    );
    let (low, high) = top.within(0.05);
    assert_eq!(
        (
            shown((low * 100.0).ceil() / 100.0),
            shown((high * 100.0).floor() / 100.0)
        ),
        ("2.50".into(), "3.49".into())
    );
}

#[test]
fn what_gives_no_line_gives_none() {
    assert_eq!(Line::fit(&[]), None);
    assert_eq!(Line::fit(&[(3.0, 4.0), (3.0, 5.0)]), None);
    assert_eq!(Line::fit(&[(f64::NAN, 4.0), (3.0, 5.0)]), None);
    // A line that rises has no top.
    let rising = Line::fit(&[(2.0, 4.0), (3.0, 5.0)]).unwrap();
    assert_eq!(rising.top(1.0, 0.5), None);
    assert_eq!(rising.slope_range(), None);
    // A unit that costs more than anybody pays has none either.
    let falling = Line::fit(&[(2.0, 5.0), (3.0, 1.0)]).unwrap();
    assert_eq!(falling.top(1.0, 50.0), None);
}

proptest! {
    /// Nothing earns more on the line than its top, and at the ends of the
    /// range it earns just that part less.
    #[test]
    fn the_top_is_the_top(
        intercept in 20.0_f64..500.0,
        slope in -80.0_f64..-1.0,
        keep in 0.5_f64..1.0,
        cost in 0.0_f64..3.0,
        part in 0.001_f64..0.5,
    ) {
        let days = [1.0, 2.0].map(|price| (price, intercept + slope * price));
        let line = Line::fit(&days).unwrap();
        let Some(top) = line.top(keep, cost) else { return Ok(()) };
        let earns = |price: f64| (keep * price - cost) * (line.intercept + line.slope * price);
        prop_assert!((earns(top.price) - top.contribution).abs() < 1e-6 * (1.0 + top.contribution.abs()));
        for beside in [0.9, 0.99, 1.01, 1.1] {
            prop_assert!(earns(beside * top.price) <= top.contribution * (1.0 + 1e-9));
        }
        let (low, high) = top.within(part);
        for end in [low, high] {
            prop_assert!((earns(end) / top.contribution - (1.0 - part)).abs() < 1e-6);
        }
    }
}
