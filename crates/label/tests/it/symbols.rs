//! Bars and squares.

use barcoders::sym::ean8::EAN8;
use barcoders::sym::ean13::{EAN13, UPCA};
use label::gtin::{Gtin, Kind};
use label::symbol::{
    BarSize, BarSymbol, Bars, Level, Square, SquareError, X_NOMINAL_MM, wants_ladder,
};
use proptest::prelude::*;

fn bars(digits: &str, kind: Kind) -> Bars {
    Bars::of(&Gtin::parse(digits, Some(kind)).unwrap().gtin).unwrap()
}

fn ones(bars: &Bars) -> Vec<u8> {
    bars.modules().iter().map(|dark| u8::from(*dark)).collect()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.006
}

#[test]
fn sizes_are_those_of_the_size_guide() {
    // GS1 Sweden, "Storleksguide EAN-13", and the widths and heights that
    // follow from it; 37.29 × 25.93 mm at the nominal size is published.
    for (x, total, left, right, upc_quiet, bar, whole) in [
        (0.264, 29.83, 2.90, 1.85, 2.38, 18.28, 20.74),
        (0.330, 37.29, 3.63, 2.31, 2.97, 22.85, 25.93),
        (0.396, 44.75, 4.36, 2.77, 3.56, 27.42, 31.12),
        (0.495, 55.94, 5.45, 3.47, 4.46, 34.28, 38.90),
        (0.660, 74.58, 7.26, 4.62, 5.94, 45.70, 51.86),
    ] {
        let ean = BarSize::at(BarSymbol::Ean13, x);
        assert!(
            near(ean.width_mm, total) && near(ean.height_mm, whole),
            "{x}: {ean:?}"
        );
        assert!(
            near(ean.quiet_left_mm, left) && near(ean.quiet_right_mm, right),
            "{x}"
        );
        assert!(
            near(ean.bar_height_mm, bar) && near(ean.bars_mm, 95.0 * x),
            "{x}"
        );
        let upc = BarSize::at(BarSymbol::UpcA, x);
        assert!(
            near(upc.width_mm, total) && near(upc.quiet_left_mm, upc_quiet),
            "{x}"
        );
    }
    for (x, height) in [(0.264, 14.58), (0.330, 18.23), (0.660, 36.46)] {
        let size = BarSize::at(BarSymbol::Ean8, x);
        assert!(near(size.bar_height_mm, height), "{x}: {size:?}");
        assert!(near(size.quiet_left_mm, 7.0 * x));
    }
}

#[test]
fn a_printer_makes_modules_of_whole_dots() {
    // 300 dots to the inch: 4 dots are 0.339 mm, 103 %; 203: 3 dots, 114 %;
    // 600: 8 dots, 103 %.
    for (dpi, dots, x, share) in [
        (300.0, 4, 0.339, 1.03),
        (203.0, 3, 0.375, 1.14),
        (600.0, 8, 0.339, 1.03),
    ] {
        let size = BarSize::fitting(BarSymbol::Ean13, 60.0, 60.0, X_NOMINAL_MM, Some(dpi)).unwrap();
        assert_eq!(size.dots, Some(dots), "{dpi}");
        assert!((size.x_mm - x).abs() < 0.001 && (size.magnification - share).abs() < 0.005);
    }
    // Two dots of a 203 dpi printer are 0.250 mm, too narrow for a till, so a
    // room that holds 0.264 mm but not 0.375 mm has none.
    let none =
        BarSize::fitting(BarSymbol::Ean13, 35.0, 40.0, X_NOMINAL_MM, Some(203.0)).unwrap_err();
    assert!(near(none.width_mm, 113.0 * 3.0 * 25.4 / 203.0), "{none:?}");
    assert!(BarSize::fitting(BarSymbol::Ean13, 35.0, 40.0, X_NOMINAL_MM, None).is_ok());
}

#[test]
fn a_symbol_that_does_not_fit_says_by_how_much() {
    let short = BarSize::fitting(BarSymbol::Ean13, 25.0, 20.0, X_NOMINAL_MM, None).unwrap_err();
    assert!(
        near(short.short_across_mm, 4.83) && near(short.short_down_mm, 0.74),
        "{short:?}"
    );
    assert_eq!(
        short.to_string(),
        "the smallest allowed symbol is 29.8 by 20.7 mm"
    );
}

#[test]
fn bars_on_a_narrow_jar_lie_like_rungs() {
    // A sixth of the way round a jar of 70 mm is 36.65 mm.
    assert!(wants_ladder(37.29, 70.0));
    assert!(!wants_ladder(37.29, 72.0));
}

#[test]
fn a_square_has_17_and_4_modules_a_version() {
    // A 32-character address fits version 2 at level M: 25 modules, 13.07 mm
    // with its margin at 0.396 mm (printing guidelines of a code printer, see
    // docs/sources.md, "Symbols").
    let square = Square::of("https://quillfen.example/l/PA07", Level::M).unwrap();
    assert!(square.version() <= 3);
    assert_eq!(square.n_modules(), 17 + 4 * square.version());
    assert_eq!(
        square.modules().len(),
        (square.n_modules() * square.n_modules()) as usize
    );
    let two = Square::of("ABCDEFGHIJKLMNOPQRSTUVWXYZ012", Level::M).unwrap();
    assert_eq!(two.n_modules(), 25);
    assert!(near(two.size_at(0.396).whole_mm, 13.07));
    // The finder pattern of ISO/IEC 18004: a dark frame of seven modules.
    let row: Vec<bool> = two.modules()[..8].to_vec();
    assert_eq!(row, [true, true, true, true, true, true, true, false]);
    assert_eq!(Square::of("", Level::M), Err(SquareError::Empty));
    // 40-L holds 2,953 bytes and no more.
    assert!(Square::of(&"a".repeat(2953), Level::L).is_ok());
    assert_eq!(
        Square::of(&"a".repeat(2954), Level::L),
        Err(SquareError::TooLong)
    );
}

#[test]
fn a_square_keeps_within_its_room() {
    let square = Square::of("ABCDEFGHIJKLMNOPQRSTUVWXYZ012", Level::M).unwrap();
    let at_300 = square.fitting(14.0, 0.4, Some(300.0)).unwrap();
    // 33 modules in 14 mm: at most 0.424 mm; 4 dots are 0.339 mm.
    assert_eq!(at_300.dots, Some(4));
    assert!(at_300.whole_mm <= 14.0);
    assert!(square.fitting(8.0, 0.4, None).is_none());
    assert!(square.fitting(8.25, 0.4, None).is_some());
}

proptest! {
    #[test]
    fn bars_are_those_of_an_independent_library(n in 0_u64..1_000_000_000_000, short in 0_u64..10_000_000) {
        prop_assume!(n > 0 && short > 0);
        let ean = bars(&format!("{n:012}"), Kind::Gtin13);
        let theirs = EAN13::new(format!("{n:012}")).unwrap().encode();
        prop_assert_eq!(ones(&ean), theirs);
        let eight = bars(&format!("{short:07}"), Kind::Gtin8);
        let theirs = EAN8::new(format!("{short:07}")).unwrap().encode();
        prop_assert_eq!(ones(&eight), theirs);
    }

    #[test]
    fn twelve_digits_are_the_bars_of_thirteen_with_a_nought(n in 1_u64..100_000_000_000) {
        let upc = bars(&format!("{n:011}"), Kind::Gtin12);
        let theirs = UPCA::new(format!("0{n:011}")).unwrap().encode();
        prop_assert_eq!(ones(&upc), theirs);
        prop_assert_eq!(ones(&upc), ones(&bars(&format!("0{n:011}"), Kind::Gtin13)));
    }

    #[test]
    fn runs_of_bars_say_what_modules_say(n in 1_u64..1_000_000_000_000) {
        let bars = bars(&format!("{n:012}"), Kind::Gtin13);
        let mut modules = vec![false; 95];
        for (begin, wide) in bars.dark_runs() {
            for at in begin..begin + wide {
                modules[at as usize] = true;
            }
        }
        prop_assert_eq!(modules, bars.modules());
        // Thirty bars: two in each digit, six in the guards.
        prop_assert_eq!(bars.dark_runs().len(), 30);
    }

    #[test]
    fn a_fitting_symbol_fits_and_is_allowed(
        width in 0.0..120.0_f64, height in 0.0..80.0_f64, wished in 0.0..1.0_f64,
        dpi in prop::option::of(prop::sample::select(vec![203.0, 300.0, 600.0, 1200.0])),
    ) {
        for symbol in [BarSymbol::Ean13, BarSymbol::UpcA, BarSymbol::Ean8] {
            match BarSize::fitting(symbol, width, height, wished, dpi) {
                Ok(size) => {
                    prop_assert!(size.width_mm <= width + 1e-6 && size.height_mm <= height + 1e-6);
                    prop_assert!(size.x_mm >= 0.264 - 1e-9 && size.x_mm <= 0.66 + 1e-6);
                    if let Some((dots, dpi)) = size.dots.zip(dpi) {
                        prop_assert!((f64::from(dots) * 25.4 / dpi - size.x_mm).abs() < 1e-9);
                    }
                }
                Err(none) => prop_assert!(none.short_across_mm > 0.0 || none.short_down_mm > 0.0),
            }
        }
    }

    #[test]
    fn a_fitting_square_fits_and_reads(
        text in "[A-Za-z0-9:/.]{1,120}", room in 0.0..80.0_f64, wished in 0.0..1.0_f64,
        dpi in prop::option::of(prop::sample::select(vec![203.0, 300.0, 600.0])),
    ) {
        let square = Square::of(&text, Level::M).unwrap();
        if let Some(size) = square.fitting(room, wished.max(0.25), dpi) {
            prop_assert!(size.whole_mm <= room + 1e-6);
            prop_assert!(size.module_mm >= 0.25 - 1e-9);
        } else if dpi.is_none() {
            prop_assert!(square.least_mm() > room);
        }
    }
}
