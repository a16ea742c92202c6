//! Splitting money so that the shares add up.

use measure::{Currency, Mass, Money};
use price::{FreightBy, FreightError, ReceiptLine, spread, spread_freight};
use proptest::prelude::*;

fn cents(minor: i64) -> Money {
    Money::from_minor(minor, Currency::USD)
}

fn line(paid: i64, grams: Option<f64>) -> ReceiptLine {
    ReceiptLine {
        paid: cents(paid),
        weight: grams.and_then(Mass::from_grams),
    }
}

fn minors(shares: &[Money]) -> Vec<i64> {
    shares.iter().map(|share| share.minor()).collect()
}

/// The largest remainder method on the figures it was first applied to: 60
/// seats of the United States House of Representatives over the 15 states by
/// the populations of the 1790 census. Table printed in the Electowiki
/// article "Hamilton method", https://electowiki.org/wiki/Hamilton_method
#[test]
fn the_apportionment_of_1792_comes_out_as_printed() {
    let populations = [
        630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236, 179_570, 141_822,
        85_533, 70_835, 68_705, 68_446, 55_540,
    ];
    let seats = [11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1];
    assert_eq!(minors(&spread(cents(60), &populations).unwrap()), seats);
}

/// A textbook passage on freight: 48 USD on materials of 600 USD adds 8 % to
/// each item; spread by weight instead, an item of 300 out of 1,700 lb bears
/// 8.47 USD. https://th4.ilovetranslation.com/OXrfGPDpA6v=d
#[test]
fn freight_by_value_and_by_weight_as_in_a_textbook() {
    let lines = [line(15_000, Some(300.0)), line(45_000, Some(1400.0))];
    let by_value = spread_freight(cents(4800), &lines, FreightBy::Value).unwrap();
    assert_eq!(minors(&by_value), [1200, 3600]);
    let by_weight = spread_freight(cents(4800), &lines, FreightBy::Weight).unwrap();
    assert_eq!(minors(&by_weight), [847, 3953]);
}

#[test]
fn equal_remainders_go_to_the_earlier_line() {
    assert_eq!(
        minors(&spread(cents(1000), &[1, 1, 1]).unwrap()),
        [334, 333, 333]
    );
    assert_eq!(minors(&spread(cents(1), &[0, 5, 5]).unwrap()), [0, 1, 0]);
}

#[test]
fn a_credit_is_spread_too() {
    assert_eq!(
        minors(&spread(cents(-1000), &[1, 1, 1]).unwrap()),
        [-333, -333, -334]
    );
}

#[test]
fn freight_that_has_nothing_to_go_by_is_refused() {
    let refuse = |freight, lines: &[ReceiptLine], by| {
        spread_freight(freight, lines, by).unwrap_err().to_string()
    };
    assert_eq!(
        spread_freight(cents(500), &[], FreightBy::Value),
        Err(FreightError::NothingToGoBy)
    );
    assert_eq!(
        refuse(cents(500), &[line(0, None)], FreightBy::Value),
        "the lines have nothing to spread the freight by"
    );
    assert_eq!(
        refuse(
            cents(500),
            &[line(100, Some(1.0)), line(100, None)],
            FreightBy::Weight
        ),
        "line 2 has no weight to spread the freight by"
    );
    let euros = Money::from_minor(500, Currency::EUR);
    assert_eq!(
        refuse(euros, &[line(100, None)], FreightBy::Value),
        "the freight and a line are in different currencies"
    );
}

proptest! {
    #[test]
    fn the_shares_add_up_to_the_whole(
        total in any::<i64>(),
        weights in proptest::collection::vec(any::<u64>(), 1..12),
    ) {
        prop_assume!(weights.iter().any(|weight| *weight > 0));
        let shares = spread(cents(total), &weights).unwrap();
        let sum: i128 = shares.iter().map(|share| i128::from(share.minor())).sum();
        prop_assert_eq!(sum, i128::from(total));
    }

    #[test]
    fn no_share_is_a_whole_unit_away_from_its_due(
        total in 0..1_000_000_i64,
        weights in proptest::collection::vec(0..1_000_000_u64, 1..12),
    ) {
        let sum: u64 = weights.iter().sum();
        prop_assume!(sum > 0);
        let shares = spread(cents(total), &weights).unwrap();
        for (share, weight) in shares.iter().zip(&weights) {
            let due = i128::from(total) * i128::from(*weight);
            let given = i128::from(share.minor()) * i128::from(sum);
            prop_assert!((given - due).abs() < i128::from(sum));
        }
    }
}
