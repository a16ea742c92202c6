//! NIST SP 811 (2008), B.8: t/°C = (t/°F - 32)/1.8 and T/K = t/°C + 273.15.

use measure::{Quantity, Temperature, TemperatureUnit, Typed};

use crate::wrong;

#[track_caller]
fn check(text: &str, millikelvin: i64, celsius: &str, fahrenheit: &str) {
    let read = Typed::<Temperature>::parse(text).unwrap().value();
    assert_eq!(read.smallest(), millikelvin * 1_000, "{text}");
    assert_eq!(read.typed(TemperatureUnit::Celsius, 1).to_string(), celsius);
    assert_eq!(
        read.typed(TemperatureUnit::Fahrenheit, 1).to_string(),
        fahrenheit
    );
}

#[test]
fn both_scales_agree() {
    check("0 C", 273_150, "0.0 °C", "32.0 °F");
    check("32 F", 273_150, "0.0 °C", "32.0 °F");
    check("212 °F", 373_150, "100.0 °C", "212.0 °F");
    check("-40 °C", 233_150, "-40.0 °C", "-40.0 °F");
    check("\u{2212}40 f", 233_150, "-40.0 °C", "-40.0 °F");
    check("185 F", 358_150, "85.0 °C", "185.0 °F");
    check("-459.67 F", 0, "-273.2 °C", "-459.7 °F");
}

#[test]
fn nothing_is_colder_than_absolute_zero() {
    assert_eq!(
        wrong::<Temperature>("-273.16 C"),
        "nothing is colder than -273.15 °C"
    );
    assert_eq!(
        wrong::<Temperature>("-460 F"),
        "nothing is colder than -273.15 °C"
    );
    assert_eq!(wrong::<Temperature>("75"), "the temperature has no unit");
    assert_eq!(
        wrong::<Temperature>("1 C 30 F"),
        "the units do not go from large to small"
    );
    assert_eq!(
        wrong::<Temperature>("-1/2 C"),
        "a negative figure cannot be a fraction"
    );
    assert_eq!(
        wrong::<Temperature>("9999999999999999 C"),
        "the temperature is too large"
    );
    assert_eq!(
        wrong::<Temperature>("79228162514264337593543950335 F"),
        "the temperature is too large"
    );
}
