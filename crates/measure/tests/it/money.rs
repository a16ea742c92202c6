use iso_currency::IntoEnumIterator;
use measure::{Cost, Currency, CurrencyMismatch, Decimal, Money, Reading};
use proptest::prelude::*;

#[track_caller]
fn wrong(text: &str) -> String {
    Money::parse(text, None, Reading::PLAIN)
        .unwrap_err()
        .wrong
        .into_owned()
}

#[test]
fn every_currency_reads_as_it_prints() {
    let mut n_currencies = 0;
    for currency in Currency::iter() {
        for minor in [0, 1, 9, 10, 99, 100, 123_456, i64::MAX] {
            let money = Money::from_minor(minor, currency);
            assert_eq!(money.to_string().parse::<Money>().unwrap(), money);
            let json = serde_json::to_string(&money).unwrap();
            assert_eq!(serde_json::from_str::<Money>(&json).unwrap(), money);
        }
        n_currencies += 1;
    }
    assert!(n_currencies > 150, "only {n_currencies} currencies");
}

/// Minor units by ISO 4217: yen none, dollar two, Kuwaiti dinar three, unidad
/// de fomento four.
#[test]
fn minor_units_are_the_currencys_own() {
    let prints = |minor, currency| Money::from_minor(minor, currency).to_string();
    assert_eq!(prints(1234, Currency::JPY), "1234 JPY");
    assert_eq!(prints(1234, Currency::USD), "12.34 USD");
    assert_eq!(prints(1234, Currency::KWD), "1.234 KWD");
    assert_eq!(prints(12_345, Currency::CLF), "1.2345 CLF");
    assert_eq!(prints(450, Currency::USD), "4.50 USD");
}

#[test]
fn amounts_as_they_are_typed() {
    let read = |text: &str, own| Money::parse(text, own, Reading::PLAIN).unwrap().to_string();
    assert_eq!(read("4 USD", None), "4.00 USD");
    assert_eq!(read("EUR 4.5", None), "4.50 EUR");
    assert_eq!(read("usd4", None), "4.00 USD");
    assert_eq!(read(" 4.50 ", Some(Currency::GBP)), "4.50 GBP");
    assert_eq!(read("4.50 USD", Some(Currency::GBP)), "4.50 USD");
    assert_eq!(read("1/2 USD", None), "0.50 USD");
    assert_eq!(wrong(""), "an amount is missing");
    assert_eq!(wrong("4.50"), "the amount has no currency");
    assert_eq!(wrong("USD"), "a number is missing");
    assert_eq!(
        wrong("4 XYZ"),
        "\"XYZ\" is not the three letters of a currency"
    );
    assert_eq!(wrong("4.505 USD"), "USD has 2 decimal places");
    assert_eq!(wrong("4.5 JPY"), "JPY has 0 decimal places");
    assert_eq!(wrong("-4 USD"), "the amount cannot be negative");
    assert_eq!(
        wrong("4,50 USD"),
        "a comma is not a decimal mark here; write a point"
    );
    assert_eq!(wrong("99999999999999999999 USD"), "the amount is too large");
    assert_eq!(
        wrong("1.2.3 USD"),
        "the number has more than one decimal mark"
    );
    assert_eq!(
        wrong("4 ＵＳＤ"),
        "\"ＵＳＤ\" is not the three letters of a currency"
    );
}

/// Ties go to the even digit: IEEE 754-2019, 4.3.1, roundTiesToEven.
#[test]
fn money_rounds_half_even() {
    let rows = [
        ("0.125", 12),
        ("0.135", 14),
        ("0.1350001", 14),
        ("0.1249999", 12),
        ("2.505", 250),
        ("2.515", 252),
        ("-0.125", -12),
    ];
    for (major, minor) in rows {
        let cost = Cost::new(major.parse().unwrap(), Currency::USD);
        assert_eq!(cost.rounded().unwrap().minor(), minor, "{major}");
        assert_eq!(
            cost.to_string(),
            Money::from_minor(minor, Currency::USD).to_string()
        );
    }
    assert_eq!(Cost::new(Decimal::MAX, Currency::USD).rounded(), None);
    assert_eq!(
        Cost::new(Decimal::new(-1, 3), Currency::USD).to_string(),
        "0.00 USD"
    );
}

#[test]
fn currencies_do_not_mix() {
    let (dollar, euro) = (Cost::zero(Currency::USD), Cost::zero(Currency::EUR));
    let mismatch = CurrencyMismatch(Currency::USD, Currency::EUR);
    assert_eq!(dollar.plus(euro), Err(mismatch));
    assert_eq!(dollar.minus(euro), Err(mismatch));
    assert_eq!(mismatch.to_string(), "USD and EUR are different currencies");
    assert_eq!(dollar.over(Decimal::ZERO), None);
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,16}", amount in "[A-Z]{0,4}[-0-9., /]{0,12}[A-Za-z]{0,4}") {
        let _ = Money::parse(&text, None, Reading::PLAIN);
        let _ = Money::parse(&amount, Some(Currency::USD), Reading::PLAIN);
        let _ = Cost::parse(&amount, None, Reading::PLAIN);
    }
}
