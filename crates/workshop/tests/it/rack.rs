//! What stands on the rack, and what a lot's weights say.

use measure::System;
use workshop::facts::{GoodsSetAside, Grade, Lost, Place, PourId, ProductId, Units};
use workshop::{Fact, NoRange, Standing, decide, left_of, lot_weights, rack_on};

use crate::book::{Book, Mould, filled, mass};

fn bars() -> Book {
    Book::new(System::Us, "0.1 oz", None, Mould::bare(12))
}

fn ids(lots: &[workshop::OnRack]) -> Vec<u32> {
    lots.iter().map(|lot| lot.pour.id.0).collect()
}

#[test]
fn what_needs_hands_and_what_is_held_stand_first() {
    let mut book = bars();
    let ready = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    book.finish(ready, 12);
    let held = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    book.finish(held, 12);
    book.fact(decide::hold(&book.workshop, held, "it sweats"));
    book.wait(10);
    let curing = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    book.finish(curing, 12);
    let open = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    let rack = rack_on(&book.workshop, book.day, None);
    assert_eq!(ids(&rack.first), [open.0, held.0]);
    assert_eq!(
        rack.first[1].standing,
        Standing::Held("it sweats".to_owned())
    );
    assert_eq!(ids(&rack.curing), [curing.0]);
    assert_eq!(ids(&rack.ready), [ready.0]);
    assert_eq!(rack.older, None);
}

#[test]
fn a_lot_of_which_nothing_is_left_stands_apart() {
    let mut book = bars();
    let [sold, kept] = [0, 1].map(|_| {
        let pour = book.pour("19.5 oz", 12, filled(12, "0 oz"));
        book.finish(pour, 12);
        pour
    });
    book.wait(10);
    let aside = |count| {
        Fact::GoodsSetAside(GoodsSetAside {
            place: Place::Rack,
            units: vec![Units {
                product: ProductId(1),
                lot: Some(sold),
                grade: Grade::Good,
                count,
            }],
            how: Lost::Given,
            note: String::new(),
        })
    };
    let left = |book: &Book, lot| left_of(&book.workshop, lot).map(|left| left.good);
    book.fact(Ok(vec![aside(7)]));
    assert_eq!((left(&book, sold), left(&book, kept)), (Some(5), Some(12)));
    assert!(rack_on(&book.workshop, book.day, None).gone.is_empty());
    book.fact(Ok(vec![aside(5)]));
    assert_eq!((left(&book, sold), left(&book, kept)), (None, Some(12)));
    let rack = rack_on(&book.workshop, book.day, None);
    assert_eq!(ids(&rack.gone), [sold.0]);
    assert_eq!(ids(&rack.ready), [kept.0]);
    assert_eq!(rack.all().count(), 2);
}

#[test]
fn a_long_journal_is_turned_page_by_page_and_no_lot_is_lost() {
    let mut book = bars();
    for _ in 0..150 {
        let pour = book.pour("19.5 oz", 12, filled(12, "0 oz"));
        book.finish(pour, 12);
        book.wait(1);
    }
    let mut seen = Vec::new();
    let mut before = None;
    loop {
        let rack = rack_on(&book.workshop, book.day, before);
        assert!(rack.all().count() <= workshop::LOTS_A_PAGE);
        seen.extend(rack.all().map(|lot| lot.pour.id.0));
        let Some(older) = rack.older else { break };
        before = Some(older);
    }
    seen.sort_unstable();
    assert_eq!(seen, (1..=150).collect::<Vec<_>>());
}

#[test]
fn a_held_lot_stays_on_the_first_page_however_old() {
    let mut book = bars();
    let held = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    book.finish(held, 12);
    book.fact(decide::hold(&book.workshop, held, "it sweats"));
    book.wait(400);
    assert_eq!(
        ids(&rack_on(&book.workshop, book.day, None).first),
        [held.0]
    );
}

/// Invented weights; mean and standard deviation were computed with SciPy 1.17,
/// the one-sided 95 % prediction with the t quantile 2.015 for six.
#[test]
fn six_melts_give_the_textbook_intervals() {
    let mut book = Book::new(System::Metric, "0.1 g", None, Mould::bare(6));
    let pour = book.pour("160 g", 6, filled(6, "5 g"));
    book.weigh_units(
        pour,
        &["24.6 g", "24.2 g", "24.9 g", "24.4 g", "24.7 g", "24.3 g"],
    );
    let found = lot_weights(&book.workshop, book.workshop.pour(PourId(1)).unwrap()).unwrap();
    let near = |found: f64, expected: f64| {
        assert!((found - expected).abs() < 0.0005, "{found} {expected}");
    };
    near(found.mean.grams(), 24.5167);
    near(found.spread.unwrap().grams(), 0.2639);
    // exp of the mean of the logarithms less 2.015 × their s × √(7/6).
    near(found.next_unit.unwrap().0.grams(), 23.9483);
}

#[test]
fn the_next_unit_is_never_below_nothing() {
    let mut book = bars();
    let pour = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    book.weigh_units(pour, &["1.3 oz", "1.8 oz"]);
    let found = |book: &Book| lot_weights(&book.workshop, book.workshop.pour(pour).unwrap());
    // By the plain t interval 1.55 less 6.31 × 0.354 × √1.5, below zero.
    let two = found(&book).unwrap();
    assert_eq!(
        (two.next_unit, two.no_range),
        (None, Some(NoRange::TooFarApart))
    );
    assert_eq!(two.mean_range, None);
    book.weigh_units(pour, &["1.6 oz", "1.5 oz", "1.6 oz"]);
    let (low, high) = found(&book).unwrap().next_unit.unwrap();
    assert!(low > mass("1 oz").value() && high < mass("2.5 oz").value());
}

#[test]
fn one_weight_has_a_mean_and_no_spread() {
    let mut book = bars();
    let pour = book.pour("19.5 oz", 12, filled(12, "0 oz"));
    assert!(lot_weights(&book.workshop, book.workshop.pour(pour).unwrap()).is_none());
    book.weigh_units(pour, &["1.6 oz"]);
    let found = lot_weights(&book.workshop, book.workshop.pour(pour).unwrap()).unwrap();
    assert_eq!(found.mean, mass("1.6 oz").value());
    assert_eq!((found.spread, found.next_unit), (None, None));
}

#[test]
fn days_are_counted_across_months_and_years() {
    use jiff::civil::date;
    assert_eq!(workshop::days_from(date(2026, 12, 30), date(2027, 1, 2)), 3);
    assert_eq!(
        workshop::days_from(date(2027, 1, 2), date(2026, 12, 30)),
        -3
    );
    assert_eq!(workshop::day_after(date(2026, 2, 27), 2), date(2026, 3, 1));
    assert_eq!(
        workshop::day_after(date(9999, 12, 31), 1),
        date(9999, 12, 31)
    );
}
