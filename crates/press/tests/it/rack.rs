//! The picture of what is curing.

use press::{
    ControlChart, ControlLot, CureLot, CureRack, CureState, Limited, Picture, control_chart,
    cure_rack,
};

use crate::pours::BAR;
use crate::{oz, shown};

fn lot(name: &str, poured: i32, ready: i32, state: CureState) -> CureLot<'_> {
    CureLot {
        name,
        poured,
        ready,
        state,
    }
}

pub(crate) fn lots() -> Vec<CureLot<'static>> {
    vec![
        lot("Harbour Fig bars", 1, 15, CureState::Ready),
        lot("Rainy Loft clamshells", 6, 20, CureState::Curing),
        lot("Peat & Plum bars", 10, 24, CureState::Held),
        lot("Tin Roof Mint bars", 14, 28, CureState::Curing),
    ]
}

pub(crate) fn rack(lots: &[CureLot], today: i32) -> Option<Picture> {
    cure_rack(&CureRack {
        lots,
        today,
        write_day: &|day| format!("{day} Oct"),
    })
}

#[test]
fn lots_cure_from_poured_to_ready() {
    insta::assert_snapshot!(shown(&rack(&lots(), 17).unwrap()));
}

#[test]
fn the_title_names_the_next_to_be_ready() {
    assert_eq!(
        rack(&lots(), 17).unwrap().title,
        "1 of 4 lots ready; next Rainy Loft clamshells on 20 Oct"
    );
    assert_eq!(rack(&lots()[..1], 17).unwrap().title, "1 of 1 lot ready");
}

#[test]
fn the_days_left_are_counted() {
    let states = |today| -> Vec<String> {
        rack(&lots(), today)
            .unwrap()
            .table
            .rows
            .into_iter()
            .filter_map(|mut row| row.pop())
            .collect()
    };
    assert_eq!(
        states(17),
        ["ready", "3 days to go", "hold", "11 days to go"]
    );
    assert_eq!(states(19), ["ready", "1 day to go", "hold", "9 days to go"]);
    assert_eq!(states(20), ["ready", "due", "hold", "8 days to go"]);
}

#[test]
fn a_long_rack_draws_forty_and_tables_all() {
    let many: Vec<CureLot> = (0..100)
        .map(|n| lot("Harbour Fig", n, n + 14, CureState::Curing))
        .collect();
    let picture = rack(&many, 50).unwrap();
    assert_eq!(picture.svg.matches(">Harbour Fig<").count(), 40);
    assert!(picture.svg.contains("and 60 more in the table"));
    assert_eq!(picture.table.rows.len(), 100);
}

#[test]
fn an_empty_rack_is_no_picture() {
    assert_eq!(rack(&[], 3), None);
}

/// Twelve bars a lot: averages within 1.52 and 1.58 oz by their units' scatter.
pub(crate) const LOTS: [(&str, f64, f64); 4] = [
    ("260901-1", 1.55, 0.03),
    ("260908-1", 1.53, 0.03),
    ("260915-1", 1.59, 0.08),
    ("260922-1", 1.56, 0.02),
];

pub(crate) fn chart(lots: &[(&str, f64, f64)]) -> Option<Picture> {
    let lots: Vec<ControlLot> = lots
        .iter()
        .map(|(name, average, spread)| ControlLot {
            name,
            units: 12,
            average: Limited {
                value: *average,
                low: 1.52,
                high: 1.58,
            },
            spread: Limited {
                value: *spread,
                low: 0.01,
                high: 0.06,
            },
            in_a_run: false,
        })
        .collect();
    control_chart(&ControlChart {
        noun: BAR,
        lots: &lots,
        centre: 1.5575,
        usual: Some((1.5, 1.62)),
        spread_word: "standard deviation",
        write: &oz,
    })
}

#[test]
fn lots_stand_within_their_limits() {
    insta::assert_snapshot!(shown(&chart(&LOTS).unwrap()));
    assert_eq!(chart(&LOTS[..1]), None);
    let all = [("a", 1.55, 0.03), ("b", 1.56, 0.03)];
    assert_eq!(chart(&all).unwrap().title, "2 lots, each within its limits");
    let light = [("a", 1.55, 0.03), ("b", 1.49, 0.03)];
    assert!(
        chart(&light)
            .unwrap()
            .text
            .contains("Lot b: lighter than lots usually are.")
    );
}
