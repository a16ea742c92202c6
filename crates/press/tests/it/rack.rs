//! The picture of what is curing.

use press::{CureLot, CureRack, CureState, Picture, cure_rack};

use crate::shown;

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
