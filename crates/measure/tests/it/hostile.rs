use measure::{
    Customary, DecimalMark, Length, Mass, Ratio, Readability, Reading, Typed, Unclear, Volume,
    parse_decimal, parse_in,
};

use crate::{mass, wrong};

const COMMA: Reading = Reading {
    decimal_mark: DecimalMark::Comma,
    customary: Some(Customary::Uk),
};

#[test]
fn weights_that_are_none() {
    let rows = [
        ("", "a weight is missing"),
        ("   \t\u{a0}", "a weight is missing"),
        ("oz", "there is no number at the start"),
        ("NaN g", "there is no number at the start"),
        ("inf g", "there is no number at the start"),
        ("+5 g", "there is no number at the start"),
        ("-5 g", "a weight cannot be negative"),
        ("\u{2212}5 g", "a weight cannot be negative"),
        ("5", "the weight has no unit"),
        ("1 lb 2", "the weight has no unit"),
        ("1 000 g", "the weight has no unit"),
        ("1.2.3 oz", "the number has more than one decimal mark"),
        (".5 oz", "a digit is missing beside the decimal mark"),
        ("5. oz", "a digit is missing beside the decimal mark"),
        (
            "1,5 oz",
            "a comma is not a decimal mark here; write a point",
        ),
        (
            "1,000.5 g",
            "a comma is not a decimal mark here; write a point",
        ),
        ("12 parsecs", "\"parsecs\" is not a unit of weight"),
        ("12 fl oz", "\"fl oz\" is not a unit of weight"),
        ("12 ml", "\"ml\" is not a unit of weight"),
        ("1e3 g", "\"e\" is not a unit of weight"),
        ("5 g g", "\"g g\" is not a unit of weight"),
        ("5 oz.", "\"oz.\" is not a unit of weight"),
        ("\u{ff11}\u{ff12} oz", "some digits are not plain 0 to 9"),
        ("\u{0661}\u{0662} oz", "some digits are not plain 0 to 9"),
        ("5\u{b2} g", "some digits are not plain 0 to 9"),
        ("1 oz 2 lb", "the units do not go from large to small"),
        ("1 oz 2 oz", "the units do not go from large to small"),
        ("1/0 lb", "the fraction divides by nothing"),
        ("0/0 lb", "the fraction divides by nothing"),
        ("1/ lb", "the fraction is not made of whole numbers"),
        ("1.5/2 lb", "the fraction is not made of whole numbers"),
        ("1.5½ lb", "the fraction is not made of whole numbers"),
        (
            "99999999999/2 lb",
            "the fraction is not made of whole numbers",
        ),
        (
            "3 5/4 lb",
            "the fraction after the whole number is not less than one",
        ),
        ("9223372036854.775808 g", "the weight is too large"),
        ("9999999999999999999 g", "the weight is too large"),
        (
            "79228162514264337593543950335 kg",
            "the weight is too large",
        ),
        (
            "99999999999999999999999999999999 g",
            "the number is too large or too fine",
        ),
        (
            "0.00000000000000000000000000001 g",
            "the number is too large or too fine",
        ),
    ];
    for (text, expected) in rows {
        assert_eq!(wrong::<Mass>(text), expected, "{text:?}");
    }
}

#[test]
fn what_is_odd_but_clear_is_read() {
    let rows = [
        ("½ lb", 226_796_185),
        ("1½ lb", 680_388_555),
        ("1 ½ lb", 680_388_555),
        ("1 lb ½ oz", 467_767_132),
        ("1\u{a0}lb\u{202f}2.5\toz", 524_466_178),
        ("  16OZ ", 453_592_370),
        ("5/4 lb", 566_990_462),
        ("0 g", 0),
        ("0/5 lb", 0),
        ("9223372036854.775807 g", i64::MAX),
        (
            "4294967295 4294967294/4294967295 kg",
            4_294_967_296_000_000_000,
        ),
        ("0.0000005 g", 0),
        ("0.0000015 g", 2),
    ];
    for (text, micrograms) in rows {
        assert_eq!(mass(text).micrograms(), micrograms, "{text:?}");
    }
}

#[test]
fn whose_fluid_ounce_is_never_guessed() {
    for text in ["3 fl oz", "2 cups", "1 tsp"] {
        assert!(
            wrong::<Volume>(text)
                .ends_with("is one size in the United States and another in Britain"),
            "{text}"
        );
    }
    let read = |customary, text| {
        let reading = Reading {
            customary: Some(customary),
            ..Reading::PLAIN
        };
        Typed::<Volume>::parse_with(text, reading)
            .unwrap()
            .to_string()
    };
    assert_eq!(read(Customary::Us, "3 fl oz"), "3 US fl oz");
    assert_eq!(read(Customary::Uk, "3 FL OZ"), "3 UK fl oz");
    assert_eq!(read(Customary::Uk, "3 US fl oz"), "3 US fl oz");
    assert_eq!(read(Customary::Us, "½ cup"), "1/2 US cup");
    assert_eq!(
        wrong::<Volume>("1 l 5 ml"),
        "the units do not go from large to small"
    );
    assert_eq!(wrong::<Volume>("5 g"), "\"g\" is not a unit of volume");
}

#[test]
fn a_comma_is_read_where_it_is_the_decimal_mark() {
    let read = |text| Typed::<Mass>::parse_with(text, COMMA);
    let typed = read("1,5 kg").unwrap();
    assert_eq!(typed.to_string(), "1.5 kg");
    assert_eq!(typed.value(), mass("1500 g"));
    let refused = |text| read(text).unwrap_err().wrong.into_owned();
    assert_eq!(
        refused("1.5 kg"),
        "a point is not a decimal mark here; write a comma"
    );
    assert_eq!(
        refused("1.234,5 g"),
        "a point is not a decimal mark here; write a comma"
    );
    assert_eq!(
        refused("1,2,3 g"),
        "the number has more than one decimal mark"
    );
    assert_eq!(parse_decimal("-0,75", COMMA).unwrap().to_string(), "-0.75");
    assert_eq!(Ratio::parse("7,41 %", COMMA).unwrap().to_string(), "7.41 %");
}

#[test]
fn lengths_as_they_are_typed() {
    let read = |text| Typed::<Length>::parse(text).unwrap();
    assert_eq!(read("3 1/2 in").to_string(), "3 1/2 in");
    assert_eq!(read("3 1/2\"").value(), read("88.9 mm").value());
    assert_eq!(read("1 ft 2 in").value(), read("355.6 mm").value());
    assert_eq!(wrong::<Length>("3 g"), "\"g\" is not a unit of length");
}

#[test]
fn percentages() {
    let wrong = |text| {
        Ratio::parse(text, Reading::PLAIN)
            .unwrap_err()
            .wrong
            .into_owned()
    };
    assert_eq!(wrong(""), "a percentage is missing");
    assert_eq!(wrong("0.08"), "there is no percent sign");
    assert_eq!(wrong("%"), "a number is missing");
    assert_eq!(wrong("-8 %"), "a percentage cannot be negative");
    assert_eq!(wrong("8 8 %"), "there is more here than a number");
    assert_eq!(wrong("８ %"), "some digits are not plain 0 to 9");
    assert_eq!("150 %".parse::<Ratio>().unwrap().to_string(), "150 %");
    assert_eq!("1/4 %".parse::<Ratio>().unwrap().to_string(), "0.25 %");
    assert_eq!("-0 %".parse::<Ratio>().unwrap().to_string(), "0 %");
    let most = "79228162514264337593543950335 %".parse::<Ratio>().unwrap();
    assert_eq!(most.to_string().parse::<Ratio>().unwrap(), most);
}

#[test]
fn a_box_with_its_unit_beside_it_takes_a_bare_figure() {
    use measure::MassUnit::Ounce;
    let read = |text| parse_in::<Mass>(text, Ounce, Reading::PLAIN).map(|typed| typed.to_string());
    assert_eq!(read("16.7").unwrap(), "16.7 oz");
    assert_eq!(read("3 ⅞").unwrap(), "3 7/8 oz");
    assert_eq!(read("1 lb").unwrap(), "1 lb");
    assert_eq!(read("").unwrap_err().wrong, "a weight is missing");
    assert_eq!(read("-1").unwrap_err().wrong, "a weight cannot be negative");
}

#[test]
fn a_pasted_page_does_not_come_back_whole() {
    let page = "é".repeat(10_000);
    let unclear = Typed::<Mass>::parse(&page).unwrap_err();
    assert_eq!(unclear.given.chars().count(), 61);
    assert_eq!(
        Unclear::new("5", "wrong", "right").to_string(),
        "\"5\": wrong; right"
    );
}

#[test]
fn a_scale_that_reads_to_nothing() {
    for text in ["0 g", "0.0000001 g"] {
        let step = Typed::parse(text).unwrap();
        assert_eq!(
            Readability::try_new(&step).unwrap_err().wrong,
            "a scale cannot read to nothing"
        );
    }
}
