//! Every factor against NIST Special Publication 811 (2008 edition),
//! Appendix B.8, which prints seven significant digits; a factor printed in
//! bold there is exact. Read on 25 November 2026 in a public copy of
//! the table, its mass rows compared with a second one.

use measure::{Decimal, LengthUnit, MassUnit, TimeUnit, VolumeUnit};

/// A factor as the table prints it: `2.834 952 E-02`.
fn printed(text: &str) -> Decimal {
    Decimal::from_scientific(&text.replace(' ', "")).unwrap()
}

/// Smallest units held → SI unit of the table, as a power of ten.
#[track_caller]
fn agrees(held: Decimal, power: u32, table: &str) {
    let si = held * Decimal::new(1, power);
    assert_eq!(si.round_sf(7).unwrap(), printed(table), "{table}");
}

/// As [`agrees`], to the last digit.
#[track_caller]
fn is_exactly(held: Decimal, power: u32, table: &str) {
    assert_eq!(held * Decimal::new(1, power), printed(table), "{table}");
}

#[test]
fn masses_in_kilograms() {
    for unit in MassUnit::ALL {
        match unit {
            // SI prefixes.
            MassUnit::Gram => is_exactly(unit.factor(), 9, "1 E-03"),
            MassUnit::Kilogram => is_exactly(unit.factor(), 9, "1 E+00"),
            MassUnit::Milligram => is_exactly(unit.factor(), 9, "1 E-06"),
            MassUnit::Ounce => agrees(unit.factor(), 9, "2.834 952 E-02"),
            MassUnit::Pound => agrees(unit.factor(), 9, "4.535 924 E-01"),
        }
    }
    // Footnote 22 to the pound: 4.535 923 7 E-01 exactly.
    is_exactly(MassUnit::Pound.factor(), 9, "4.535 923 7 E-01");
    assert_eq!(
        MassUnit::Ounce.factor() * Decimal::from(16),
        MassUnit::Pound.factor()
    );
}

#[test]
fn volumes_in_cubic_metres() {
    for unit in VolumeUnit::ALL {
        match unit {
            VolumeUnit::Millilitre => is_exactly(unit.factor(), 12, "1 E-06"),
            VolumeUnit::Litre => is_exactly(unit.factor(), 12, "1 E-03"),
            VolumeUnit::UsFluidOunce => agrees(unit.factor(), 12, "2.957 353 E-05"),
            VolumeUnit::UkFluidOunce => agrees(unit.factor(), 12, "2.841 306 E-05"),
            VolumeUnit::UsCup => agrees(unit.factor(), 12, "2.365 882 E-04"),
            VolumeUnit::UsTeaspoon => agrees(unit.factor(), 12, "4.928 922 E-06"),
            // Not in the table. The cup is half a pint, one sixteenth of the
            // imperial gallon of 4.546 09 E-03 that is; the 5 ml spoon is from
            // memory.
            VolumeUnit::UkCup => is_exactly(unit.factor() * Decimal::from(16), 12, "4.546 09 E-03"),
            VolumeUnit::UkTeaspoon => is_exactly(unit.factor(), 12, "5 E-06"),
        }
    }
    // 160 imperial fluid ounces make the gallon; 128 of the others make
    // 231 cubic inches, 3.785 412 E-03.
    is_exactly(
        VolumeUnit::UkFluidOunce.factor() * Decimal::from(160),
        12,
        "4.546 09 E-03",
    );
    agrees(
        VolumeUnit::UsFluidOunce.factor() * Decimal::from(128),
        12,
        "3.785 412 E-03",
    );
}

#[test]
fn lengths_in_metres() {
    for unit in LengthUnit::ALL {
        match unit {
            LengthUnit::Millimetre => is_exactly(unit.factor(), 9, "1 E-03"),
            LengthUnit::Centimetre => is_exactly(unit.factor(), 9, "1 E-02"),
            LengthUnit::Metre => is_exactly(unit.factor(), 9, "1 E+00"),
            LengthUnit::Inch => is_exactly(unit.factor(), 9, "2.54 E-02"),
            LengthUnit::Foot => is_exactly(unit.factor(), 9, "3.048 E-01"),
        }
    }
}

#[test]
fn times_in_seconds() {
    for unit in TimeUnit::ALL {
        match unit {
            TimeUnit::Second => is_exactly(unit.factor(), 3, "1 E+00"),
            TimeUnit::Minute => is_exactly(unit.factor(), 3, "6.0 E+01"),
            TimeUnit::Hour => is_exactly(unit.factor(), 3, "3.6 E+03"),
            TimeUnit::Day => is_exactly(unit.factor(), 3, "8.64 E+04"),
        }
    }
}
