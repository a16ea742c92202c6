//! Trade item numbers.

use label::gtin::{Gtin, Input, Kind, Prefix, calculate, check_digit};
use proptest::prelude::*;

fn digits(text: &str) -> Vec<u8> {
    text.bytes().map(|byte| byte - b'0').collect()
}

#[track_caller]
fn whole(given: &str, expected: &str) {
    assert_eq!(Gtin::parse(given, None).unwrap().gtin.to_string(), expected);
}

#[test]
fn check_digits_are_those_that_were_published() {
    // GS1 Hong Kong, "Check digit calculator": 629104150021 has check digit 3.
    // GS1 India, "How to calculate check digit": 890400021003 has 7.
    // GS1 Digital Link samples use the whole number 09521234543213.
    for (before, check) in [
        ("629104150021", 3),
        ("890400021003", 7),
        ("952123454321", 3),
    ] {
        assert_eq!(check_digit(&digits(before)), check, "{before}");
    }
    // By hand: 3·(0+6+0+2+1+5) + (3+0+0+9+4) = 58, and 58 + 2 = 60.
    assert_eq!(check_digit(&digits("03600029145")), 2);
    // A help page on the web works this one to 4 by adding the check digit in.
    // By hand: 3·(0+6+0+2+1+5) + (3+0+0+4+4) = 53.
    assert_eq!(check_digit(&digits("03600024145")), 7);
}

#[test]
fn a_number_may_come_with_or_without_its_check_digit() {
    whole("629104150021", "6291041500213");
    whole("6291041500213", "6291041500213");
    whole("6 291041-500213", "6291041500213");
    whole("03600029145", "036000291452");
    whole("09521234543213", "09521234543213");
    whole("9638507", "96385074");
    whole("96385074", "96385074");
    let case = Gtin::parse("1 629104150021", Some(Kind::Gtin14)).unwrap();
    assert!(case.is_made);
    // By hand: 57 + 3·1 = 60.
    assert_eq!(case.gtin.to_string(), "16291041500210");
}

#[test]
fn twelve_digits_lack_their_thirteenth_unless_told_otherwise() {
    let read = Gtin::parse("036000291452", None).unwrap();
    assert_eq!(read.gtin.kind(), Kind::Gtin13);
    assert!(read.is_made);
    assert_eq!(read.is_also, Some(Kind::Gtin12));
    let read = Gtin::parse("036000291452", Some(Kind::Gtin12)).unwrap();
    assert_eq!(read.gtin.kind(), Kind::Gtin12);
    assert!(!read.is_made);
    assert_eq!(read.gtin.in_fourteen(), "00036000291452");
    assert_eq!(Gtin::parse("629104150021", None).unwrap().is_also, None);
}

#[test]
fn a_slip_is_told_with_what_would_be_right() {
    let wrong = |text: &str| Gtin::parse(text, None).unwrap_err().to_string();
    assert_eq!(
        wrong("6291041500219"),
        "\"6291041500219\": the check digit 9 does not belong to the digits before it; if the others are right the last digit is 3; one wrong digit anywhere does this too, so compare them all; with two neighbours exchanged it would be 6921041500219 or 6291014500219 or 6291041502019"
    );
    let exchanged = wrong("6291401500213");
    assert!(
        exchanged
            .ends_with("with two neighbours exchanged it would be 2691401500213 or 6291041500213"),
        "{exchanged}"
    );
    assert_eq!(
        wrong("62910A"),
        "\"62910A\": “A” is not a digit; write digits alone, such as 629104150021"
    );
    assert!(wrong("123456789").contains("there are 9 digits"));
    assert!(wrong("").contains("the number is missing"));
    assert!(wrong("0000000000000").contains("nobody's number"));
    assert!(wrong("६२९१०४१५००२१३").contains("is not a digit"));
}

#[test]
fn prefixes_that_are_not_for_trade_are_remarked_upon() {
    for (before, prefix) in [
        ("629104150021", Prefix::Ordinary),
        ("952123454321", Prefix::Demonstration),
        ("200000000001", Prefix::Region),
        ("020000000001", Prefix::Region),
        ("040000000001", Prefix::Company),
        ("950000000001", Prefix::Office),
        ("977000000001", Prefix::Serials),
        ("978000000001", Prefix::Books),
        ("980000000001", Prefix::Refunds),
        ("991000000001", Prefix::Coupons),
    ] {
        let gtin = Gtin::parse(before, None).unwrap().gtin;
        assert_eq!(gtin.prefix(), prefix, "{before}");
        assert_eq!(prefix.remark().is_none(), prefix.is_for_trade());
    }
    // Number system 4 of a UPC-A is 04 in thirteen digits.
    let upc = Gtin::parse("41234567890", None).unwrap().gtin;
    assert_eq!((upc.kind(), upc.prefix()), (Kind::Gtin12, Prefix::Company));
}

#[test]
fn the_calculation_says_all_it_knows() {
    let out = calculate(&Input {
        digits: Some("629104150021".to_owned()),
        kind: None,
    })
    .unwrap();
    assert_eq!(out.gtin, "6291041500213");
    assert!(out.made && out.for_trade && out.notes.is_empty());
    assert_eq!(
        out.symbol_size.as_deref(),
        Some("37.3 × 25.9 mm, a module of 0.33 mm")
    );
    // The published sum is 57.
    assert_eq!(out.working.steps()[0].result, "57");
    let problems = calculate(&Input {
        digits: Some("12".to_owned()),
        kind: Some("GTIN-15".to_owned()),
    })
    .unwrap_err();
    let fields: Vec<_> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(fields, ["kind", "digits"]);
}

fn any_number() -> impl Strategy<Value = Vec<u8>> {
    prop::sample::select(vec![7_usize, 11, 12, 13])
        .prop_flat_map(|n| prop::collection::vec(0_u8..10, n))
}

fn text(digits: &[u8]) -> String {
    digits
        .iter()
        .map(|digit| char::from(b'0' + digit))
        .collect()
}

proptest! {
    #[test]
    fn every_single_wrong_digit_is_caught(
        before in any_number(), at in any::<prop::sample::Index>(), by in 1_u8..10,
    ) {
        let mut number = before.clone();
        number.push(check_digit(&before));
        let at = at.index(number.len());
        number[at] = (number[at] + by) % 10;
        let (last, rest) = number.split_last().unwrap();
        prop_assert_ne!(check_digit(rest), *last);
    }

    #[test]
    fn neighbours_exchanged_are_caught_unless_they_differ_by_five(
        before in any_number(), at in any::<prop::sample::Index>(),
    ) {
        let mut number = before.clone();
        number.push(check_digit(&before));
        let at = at.index(number.len() - 1);
        let apart = number[at].abs_diff(number[at + 1]);
        number.swap(at, at + 1);
        let (last, rest) = number.split_last().unwrap();
        let passes = check_digit(rest) == *last;
        prop_assert_eq!(passes, apart == 0 || apart == 5);
    }

    #[test]
    fn what_was_made_reads_back_as_itself(before in any_number()) {
        prop_assume!(before.iter().any(|digit| *digit != 0));
        let kind = Kind::ALL.into_iter().find(|kind| kind.n_digits() == before.len() + 1);
        let made = Gtin::parse(&text(&before), kind).unwrap();
        prop_assert!(made.is_made);
        let again = Gtin::parse(&made.gtin.to_string(), kind).unwrap();
        prop_assert_eq!(again.gtin, made.gtin);
        prop_assert!(!again.is_made);
        // Noughts in front change nothing, so fourteen digits hold as well.
        prop_assert!(Gtin::parse(&made.gtin.in_fourteen(), None).is_ok());
    }

    #[test]
    fn no_text_makes_a_number_panic(given in "\\PC{0,30}") {
        if let Ok(read) = Gtin::parse(&given, None) {
            prop_assert!(read.gtin.digits().len() >= 8);
        }
    }
}
