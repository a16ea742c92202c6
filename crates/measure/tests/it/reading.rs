use measure::{
    Customary, DecimalMark, Length, LengthUnit, Mass, MassUnit, Quantity, Reading, Temperature,
    TemperatureUnit, TimeSpan, TimeUnit, Typed, UnitOf, Volume, VolumeUnit, parse_decimal,
    parse_in,
};
use proptest::prelude::*;

#[track_caller]
fn reads_as_it_prints<Q: Quantity>(units: &[Q::Unit]) {
    for unit in units {
        for figure in ["0", "1", "16.7", "15.0", "0.001", "1/2", "3 7/8"] {
            let text = format!("{figure} {}", unit.symbol());
            let read = Typed::<Q>::parse(&text).unwrap();
            assert_eq!(read.to_string(), text);
            assert_eq!(read.unit(), *unit);
            let json = serde_json::to_string(&read).unwrap();
            assert_eq!(serde_json::from_str::<Typed<Q>>(&json).unwrap(), read);
        }
    }
}

#[test]
fn every_unit_reads_as_it_prints() {
    reads_as_it_prints::<Mass>(MassUnit::ALL);
    reads_as_it_prints::<Volume>(VolumeUnit::ALL);
    reads_as_it_prints::<Length>(LengthUnit::ALL);
    reads_as_it_prints::<TimeSpan>(TimeUnit::ALL);
    reads_as_it_prints::<Temperature>(TemperatureUnit::ALL);
}

#[test]
fn trailing_zeros_are_kept() {
    let read = Typed::<Mass>::parse("15.00 oz").unwrap();
    assert_eq!(read.to_string(), "15.00 oz");
    assert_eq!(read.places(), Some(2));
}

/// Any spelling a person may use, with any figure.
fn any_mass_text() -> impl Strategy<Value = String> {
    let figure = prop_oneof![
        (0_u32..100_000, 0_u32..1000)
            .prop_map(|(whole, thousandths)| format!("{whole}.{thousandths:03}")),
        (0_u32..10_000).prop_map(|whole| whole.to_string()),
        (0_u32..100, 1_u32..100, 1_u32..100)
            .prop_map(|(whole, over, more)| format!("{whole} {over}/{}", over + more)),
    ];
    let unit = prop::sample::select(MassUnit::ALL);
    (figure, unit).prop_map(|(figure, unit)| format!("{figure} {}", unit.symbol()))
}

proptest! {
    #[test]
    fn parsing_what_was_printed_gives_it_back(text in any_mass_text()) {
        let once = Typed::<Mass>::parse(&text).unwrap();
        let twice = Typed::<Mass>::parse(&once.to_string()).unwrap();
        prop_assert_eq!(once.to_string(), twice.to_string());
        prop_assert_eq!(once.value(), twice.value());
    }

    #[test]
    fn pounds_and_ounces_add(pounds in 0_i64..100_000, tenths in 0_i64..160) {
        let text = format!("{pounds} lb {}.{} oz", tenths / 10, tenths % 10);
        let read = Typed::<Mass>::parse(&text).unwrap();
        prop_assert_eq!(read.to_string(), &*text);
        let ounces = Typed::<Mass>::parse(&format!("{}.{} oz", pounds * 16 + tenths / 10, tenths % 10)).unwrap();
        prop_assert_eq!(read.value(), ounces.value());
    }

    #[test]
    fn a_shown_mass_reads_back_to_its_places(micrograms in any::<i64>(), places in 0_u32..8) {
        let mass = Mass::from_micrograms(micrograms);
        for unit in MassUnit::ALL {
            let shown = mass.typed(*unit, places);
            if micrograms >= 0 && shown.value().micrograms() < i64::MAX / 2 {
                let back = Typed::<Mass>::parse(&shown.to_string()).unwrap();
                prop_assert_eq!(back.value(), shown.value());
            }
        }
    }

    #[test]
    fn no_text_panics(
        text in "\\PC{0,24}",
        near in "[-−]?[0-9０-９.,/ ½⅞\u{a0}]{0,12}[a-zA-Z°\" ]{0,6}[0-9.½]{0,4} ?(oz|lb|g|F|C|ml)?",
    ) {
        for text in [&text, &near] {
            for mark in [DecimalMark::Point, DecimalMark::Comma] {
                for customary in [None, Some(Customary::Us), Some(Customary::Uk)] {
                    let reading = Reading { decimal_mark: mark, customary };
                    let _ = Typed::<Mass>::parse_with(text, reading);
                    let _ = Typed::<Volume>::parse_with(text, reading);
                    let _ = Typed::<Length>::parse_with(text, reading);
                    let _ = Typed::<TimeSpan>::parse_with(text, reading);
                    let _ = Typed::<Temperature>::parse_with(text, reading);
                    let _ = parse_in::<Mass>(text, MassUnit::Ounce, reading);
                    let _ = parse_decimal(text, reading);
                    let _ = measure::Ratio::parse(text, reading);
                }
            }
        }
    }

    #[test]
    fn no_float_panics(figure in any::<f64>()) {
        for unit in MassUnit::ALL {
            let _ = Mass::from_f64(figure, *unit);
        }
        for unit in TemperatureUnit::ALL {
            if let Some(read) = Temperature::from_f64(figure, *unit) {
                let _ = read.to_f64(*unit);
            }
        }
        let _ = measure::figure(figure, 3);
    }
}
