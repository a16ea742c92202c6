//! The unique formula identifier against the vectors that go with its manual.

use hazard::ufi::{Country, FORMULATION_MAX, Owner, Ufi, calculate, calculation::Input};
use proptest::prelude::*;
use serde_json::{Value, json};

/// ECHA, UFI Developers Manual, version 1.4, November 2021, second hand: as
/// reproduced by two open implementations of it.
const VECTORS: [(&str, u32, &str); 54] = [
    ("ATU12345678", 178_956_970, "C23S-PQ2V-AMH9-VVRF"),
    ("BE0987654321", 89_478_485, "U1JV-SUMH-N988-U751"),
    ("BG987654321", 89_478_485, "A1JV-EUD3-498W-U23R"),
    ("BG9987654321", 252_644_556, "80SW-N2UD-FGRY-F6DA"),
    ("CZ978563421", 0, "F000-T0KH-V002-T4SM"),
    ("CZ81726354", 156_920_229, "HKC1-Q7N0-DKF6-7N3E"),
    ("CZ978563421", 15_790_899, "24VQ-VGV0-WF16-7WC9"),
    ("CZ9785634210", 268_435_455, "W3NN-SKC4-JXSS-V4WG"),
    ("CY12345678C", 87_654_321, "7EHW-3KC7-748V-S1RH"),
    ("CY12345678Y", 87_654_321, "FEHW-3KH5-X487-SNRD"),
    ("DE112358132", 134_217_728, "KMTT-DSP3-7FD7-6RWY"),
    ("DK31415926", 524_544, "3FQU-5GP0-Y105-J64N"),
    ("EE271828182", 230_087_533, "QY3Q-327C-QDPR-EE11"),
    ("ESA1234567B", 5, "EF00-E0R3-M00S-4CX8"),
    ("ES81234567C", 500, "6XC1-Y0C0-N004-JXWK"),
    ("ESD12345678", 5000, "Q9UE-K0GC-V00M-8ND0"),
    ("FRRF987654321", 134_217_728, "6KTT-PSK1-AFDM-KEFU"),
    ("FRZY999999999", 230_087_533, "NX3Q-2263-2DP5-UQ4T"),
    ("FR01012345678", 268_435_455, "F3NN-3K1J-EXSK-7PHY"),
    ("FR10012345678", 268_435_455, "23NN-5KKE-GXSF-7MD3"),
    ("GB987654321", 156_920_229, "GJC1-S7TH-AKFK-TR8P"),
    ("GB999987654321", 156_920_229, "CJC1-47ES-AKFS-WTFW"),
    ("GB999999999999", 156_920_229, "3JC1-47ET-6KFH-WMV8"),
    ("GBZY123", 268_435_455, "53NN-7KTT-1XS1-DDPH"),
    ("GBAB987", 268_435_455, "M3NN-7KTS-YXSK-D8UW"),
    ("GR567438921", 66_260_700, "QNWM-9X6E-E46N-G4GJ"),
    ("FI18273645", 29_979_245, "VWF9-CDT4-2S2N-PDTV"),
    ("HR16021765654", 268_435_455, "53NN-KKPX-SXSD-QJY7"),
    ("HU22334455", 238_219_293, "AU06-7HHD-64QN-8RHF"),
    ("IE9Z54321Y", 134_217_728, "GMTT-2SQN-6FDD-6TV1"),
    ("IE9+54321Y", 134_217_728, "KMTT-2SQQ-0FDQ-6A5D"),
    ("IE9*54321Y", 134_217_728, "GMTT-2SQR-UFD0-6TFR"),
    ("IE9876543Z", 230_087_533, "JY3Q-R2M8-GDP2-DQRS"),
    ("IE9876543ZW", 230_087_533, "XY3Q-S215-2DPF-DA4U"),
    ("IE9876543AB", 182_319_099, "TUG4-PE6C-4XHP-RSAM"),
    ("ISAB3D5F", 182_319_099, "XUG4-WE32-RXHD-RHWU"),
    ("IS1ZY2BA", 268_435_455, "53NN-1KDC-JXSH-W6WV"),
    ("IT14286244833", 214_783_315, "WK3F-PYSX-TXM0-K9AV"),
    ("LI99999", 182_319_099, "CUG4-FEHP-HXHW-SC4E"),
    ("LT987654321", 15_790_899, "W3VQ-HGW8-UF12-W7QP"),
    ("LT987654321098", 156_920_229, "SJC1-P7FR-DKF3-Y2YC"),
    ("LU16726218", 214_783_315, "FK3F-8YC6-1XMK-SAQ5"),
    ("LV39903127176", 182_319_099, "WUG4-5E2S-UXHN-M5C7"),
    ("MT99887766", 83_144_621, "7KW0-SMM5-2Q7N-4K8D"),
    ("NL999999999B77", 96_485_337, "QJ0V-J1JU-9Y8W-37TG"),
    ("NO958473621", 268_435_455, "63NN-7KPT-WXS8-WGYA"),
    ("PL4835978701", 19_621_109, "XRMW-9HU2-PT1U-7JNN"),
    ("PT998776554", 30_051_977, "K9WS-JKK3-WS2E-1WSC"),
    ("RO98", 252_644_556, "E0SW-U2CF-KGR6-FRKW"),
    ("RO9081726354", 214_783_315, "2K3F-QYHK-YXMU-RTN5"),
    ("SE987654321098", 156_920_229, "1KC1-87DH-0KFR-2WGE"),
    ("SI12345678", 178_956_970, "U23S-WQK5-AMH7-V03N"),
    ("SK9987654321", 252_644_556, "N0SW-W2AP-FGRV-F9RH"),
    ("1828639338661", 156_920_229, "NJC1-671A-UKF3-J0M8"),
];

fn owner(text: &str) -> Owner {
    let read = if text.bytes().all(|byte| byte.is_ascii_digit()) {
        Owner::key(text)
    } else {
        Owner::vat(text, None)
    };
    read.expect("the vectors and the strategy write what a country writes")
}

#[test]
fn every_vector_comes_out_and_reads_back() {
    for (vat, formulation, printed) in VECTORS {
        let owner = owner(vat);
        let ufi = Ufi::of(owner, formulation).unwrap();
        assert_eq!(ufi.to_string(), printed, "{vat}");
        let again = Ufi::parse(printed).unwrap();
        assert_eq!((again.decoded(), again.formulation()), (owner, formulation));
        match owner.country() {
            Some(_) => assert_eq!(again.decoded().vat_text().as_deref(), Some(vat)),
            None => assert_eq!(again.decoded().number().to_string(), vat),
        }
    }
}

#[test]
fn every_country_of_the_tables_has_a_vector_or_is_named() {
    let without: Vec<&str> = Country::all()
        .map(Country::letters)
        .filter(|letters| !VECTORS.iter().any(|(vat, ..)| vat.starts_with(letters)))
        .collect();
    assert_eq!(without, [""; 0]);
}

#[test]
fn reads_what_people_copy() {
    for text in [
        "GMTT-2SQN-6FDD-6TV1",
        "gmtt-2sqn-6fdd-6tv1",
        " UFI: GMTT-2SQN-6FDD-6TV1 ",
        "GMTT2SQN6FDD6TV1",
        "GMTT 2SQN 6FDD 6TV1",
        "GMTT\u{2011}2SQN\u{2011}6FDD\u{2011}6TV1",
    ] {
        let ufi = Ufi::parse(text).unwrap();
        assert_eq!(ufi.to_string(), "GMTT-2SQN-6FDD-6TV1", "{text}");
    }
    for (text, wrong) in [
        ("", "the UFI is missing"),
        ("GMTT-2SQN-6FDD-6TV", "a UFI has 16 signs, this has 15"),
        (
            "GMT-T2SQN-6FDD-6TV1",
            "hyphens stand after every fourth sign",
        ),
        (
            "-GMTT-2SQN-6FDD-6TV1",
            "hyphens stand after every fourth sign",
        ),
        (
            "GMTT--2SQN-6FDD-6TV1",
            "hyphens stand after every fourth sign",
        ),
        ("GMTT-2SQN-6FDD-6TVI", "I never stands in a UFI"),
        (
            "GMTT-2SQN-6FDD-6TV2",
            "the check sign does not fit the others",
        ),
        ("0000-0000-0000-000Ä", "Ä never stands in a UFI"),
    ] {
        assert_eq!(Ufi::parse(text).unwrap_err().wrong, wrong, "{text}");
    }
}

#[test]
fn forgives_how_a_vat_number_is_written_and_refuses_the_impossible() {
    let of = |text: &str, country: Option<&str>| {
        Owner::vat(
            text,
            country.map(|letters| Country::parse(letters).unwrap()),
        )
    };
    let plain = of("DE112358132", None).unwrap();
    for (text, country) in [
        ("de 112 358 132", None),
        ("112358132", Some("DE")),
        ("DE 112.358.132", Some("de")),
    ] {
        assert_eq!(of(text, country).unwrap(), plain, "{text}");
    }
    assert_eq!(of("EL567438921", None), of("567438921", Some("GR")));
    // The number itself begins with the letters of its country.
    assert_eq!(of("FRFR987654321", None), of("FR987654321", Some("FR")));
    for (text, country) in [
        ("", None),
        ("112358132", None),
        ("DE11235813", None),
        ("DE11235813X", None),
        ("DE1123581320", None),
        ("US123456789", None),
        ("XI123456789", None),
        ("ATU12345678", Some("DE")),
        ("BE2987654321", None),
        ("NL999999999X77", None),
        ("IE98Z4321Y", None),
        ("IE9é54321Y", None),
        ("D", None),
        ("DE１１２３５８１３２", None),
    ] {
        assert!(of(text, country).is_err(), "{text}");
    }
    assert!(Country::parse("XI").is_err() && Country::parse("US").is_err());
    assert!(Owner::key("2199023255551").is_ok());
    for wrong in [
        "",
        "2199023255552",
        "-1",
        "1.5",
        "abc",
        "99999999999999999999999",
    ] {
        assert!(Owner::key(wrong).is_err(), "{wrong}");
    }
    assert!(Ufi::of(plain, FORMULATION_MAX + 1).is_err());
}

fn asked(input: Value) -> Value {
    let input: Input = serde_json::from_value(input).expect("it has the shape of an input");
    match calculate(&input) {
        Ok(output) => serde_json::to_value(output).expect("an output is JSON"),
        Err(problems) => {
            let fields: Vec<&str> = problems
                .iter()
                .map(|problem| problem.field.as_str())
                .collect();
            json!({ "problems": fields })
        }
    }
}

#[test]
fn the_calculation_makes_and_checks() {
    let made = asked(json!({"vat": "112358132", "country": "DE", "formulation": 134_217_728}));
    assert_eq!(made["ufi"], "KMTT-DSP3-7FD7-6RWY");
    let made = asked(json!({"company_key": "1828639338661", "formulation": "156920229"}));
    assert_eq!(made["ufi"], "NJC1-671A-UKF3-J0M8");
    assert_eq!(made["vat"], Value::Null);

    let read = asked(json!({"check": "KMTT-DSP3-7FD7-6RWY"}));
    assert_eq!(read["valid"], true);
    assert_eq!(read["vat"], "DE112358132");
    assert_eq!(read["formulation"], 134_217_728);
    let wrong = asked(json!({"check": "KMTT-DSP3-7FD7-6RWX"}));
    assert_eq!(wrong["valid"], false);
    assert_eq!(wrong["wrong"], "the check sign does not fit the others");
}

#[test]
fn the_calculation_reports_every_problem_with_its_field() {
    for (input, fields) in [
        (json!({}), json!(["vat", "formulation"])),
        (
            json!({"vat": "DE1", "formulation": -1}),
            json!(["vat", "formulation"]),
        ),
        (
            json!({"vat": "112358132", "country": "US", "formulation": 1.5}),
            json!(["country", "formulation"]),
        ),
        (
            json!({"vat": "DE112358132", "company_key": 7, "formulation": 268_435_456}),
            json!(["company_key", "formulation"]),
        ),
        (
            json!({"check": "KMTT-DSP3-7FD7-6RWY", "formulation": 1}),
            json!(["formulation"]),
        ),
        (
            json!({"vat": "ATU12345678", "country": "DE", "formulation": 1}),
            json!(["vat"]),
        ),
    ] {
        assert_eq!(asked(input.clone())["problems"], fields, "{input}");
    }
}

#[test]
fn it_says_when_one_is_due_and_when_not() {
    let made = asked(json!({"vat": "DE112358132", "formulation": 1}));
    let notes: Vec<&str> = made["notes"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert!(notes[0].starts_with("Due in the EU"), "{notes:?}");
    assert!(notes[1].starts_with("Not due") && notes[1].contains("Great Britain"));
    assert!(notes[3].contains("VAT number"));
}

/// A VAT number of any country, by filling its form with random signs.
fn any_owner() -> impl Strategy<Value = Owner> {
    let vats = proptest::sample::select(VECTORS.to_vec()).prop_flat_map(|(vat, ..)| {
        if vat.bytes().all(|byte| byte.is_ascii_digit()) {
            return (0..1_u64 << 41).prop_map(|key| key.to_string()).boxed();
        }
        // The first digit of a Belgian number is 0 or 1, so it stays.
        let kept = if vat.starts_with("BE") { 3 } else { 2 };
        let signs: Vec<BoxedStrategy<char>> = vat
            .chars()
            .enumerate()
            .map(|(place, sign)| {
                if place >= kept && sign.is_ascii_digit() {
                    proptest::char::range('0', '9').boxed()
                } else if place >= kept && sign.is_ascii_alphabetic() && !matches!(sign, 'B' | 'U')
                {
                    proptest::char::range('A', 'Z').boxed()
                } else {
                    Just(sign).boxed()
                }
            })
            .collect();
        signs.prop_map(String::from_iter).boxed()
    });
    vats.prop_map(|text| owner(&text))
}

proptest! {
    #[test]
    fn what_was_made_reads_back(owner in any_owner(), formulation in 0..=FORMULATION_MAX) {
        let ufi = Ufi::of(owner, formulation).unwrap();
        let again = Ufi::parse(&ufi.to_string()).unwrap();
        prop_assert_eq!(again, ufi);
        prop_assert_eq!(again.decoded(), owner);
        prop_assert_eq!(again.formulation(), formulation);
        if owner.country().is_some() {
            let text = owner.vat_text().unwrap();
            prop_assert_eq!(Owner::vat(&text, None).unwrap(), owner);
        }
    }

    #[test]
    fn no_text_panics(text in ".{0,40}", vat in ".{0,20}") {
        let _ = Ufi::parse(&text);
        let _ = Owner::vat(&vat, None);
        let _ = Owner::key(&vat);
        for country in Country::all() {
            let _ = Owner::vat(&vat, Some(country));
        }
    }

    #[test]
    fn sixteen_right_signs_do_not_panic(text in "[0-9ACDEFGHJKMNPQRSTUVWXY]{16}") {
        if let Ok(ufi) = Ufi::parse(&text) {
            let _ = ufi.decoded().vat_text();
        }
    }
}

/// Every single wrong sign and every swap of two neighbours, of every vector.
#[test]
fn no_wrong_sign_and_no_swap_goes_unnoticed() {
    const SIGNS: &[u8; 31] = b"0123456789ACDEFGHJKMNPQRSTUVWXY";
    let mut tried = 0;
    for (.., printed) in VECTORS {
        let right: Vec<u8> = printed.bytes().filter(|sign| *sign != b'-').collect();
        let refused = |signs: Vec<u8>| {
            let text = String::from_utf8(signs).unwrap();
            assert!(Ufi::parse(&text).is_err(), "{text} for {printed}");
        };
        for place in 0..16 {
            for sign in SIGNS.iter().filter(|sign| **sign != right[place]) {
                let mut wrong = right.clone();
                wrong[place] = *sign;
                refused(wrong);
                tried += 1;
            }
        }
        for place in 0..15 {
            if right[place] != right[place + 1] {
                let mut wrong = right.clone();
                wrong.swap(place, place + 1);
                refused(wrong);
                tried += 1;
            }
        }
    }
    assert!(tried > 25_000, "{tried}");
}
