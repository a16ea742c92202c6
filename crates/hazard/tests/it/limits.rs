//! Every limit of every table: at it, a millionth of a percent below it, and as
//! much above it.

use hazard::{EstimateKind, Form, Ingredient, Jurisdiction, Mixture, classify};
use measure::Decimal;

use crate::mixing::{More, answer_by, law, liquid, part, some, told, whole};

/// Whether a list of classes as one text has a class.
fn has(answer: &str, class: &str) -> bool {
    let with_statement = format!("{class} ");
    answer
        .split(", ")
        .any(|own| own.starts_with(&with_statement))
}

/// Class of the only ingredient, its limit in percent, the class from there on,
/// the class of the same kind below (empty: none).
type Row = (&'static str, &'static str, &'static str, &'static str);

/// CLP Annex I, Tables 3.2.3, 3.3.3, 3.4.5, 3.5.2, 3.6.2, 3.7.2, 3.8.3, 3.9.4,
/// 3.11.2, 4.1.1, 4.1.2, 4.2.2, 5.1; 3.8.3.4.5, 3.10.3.3.1, 4.3.3.1, 4.4.3.1.
const CLP: &[Row] = &[
    ("Skin Corr. 1", "5", "Skin Corr. 1", "Skin Irrit. 2"),
    ("Skin Corr. 1A", "5", "Skin Corr. 1A", "Skin Irrit. 2"),
    ("Skin Corr. 1B", "5", "Skin Corr. 1B", "Skin Irrit. 2"),
    ("Skin Corr. 1C", "5", "Skin Corr. 1C", "Skin Irrit. 2"),
    ("Skin Corr. 1", "1", "Skin Irrit. 2", ""),
    ("Skin Corr. 1A", "1", "Skin Irrit. 2", ""),
    ("Skin Corr. 1B", "1", "Skin Irrit. 2", ""),
    ("Skin Corr. 1C", "1", "Skin Irrit. 2", ""),
    ("Skin Irrit. 2", "10", "Skin Irrit. 2", ""),
    ("Skin Corr. 1", "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Skin Corr. 1A", "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Skin Corr. 1B", "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Skin Corr. 1C", "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Skin Corr. 1C", "1", "Eye Irrit. 2", ""),
    ("Eye Dam. 1", "3", "Eye Dam. 1", "Eye Irrit. 2"),
    ("Eye Dam. 1", "1", "Eye Irrit. 2", ""),
    ("Eye Irrit. 2", "10", "Eye Irrit. 2", ""),
    ("Resp. Sens. 1", "1", "Resp. Sens. 1", ""),
    ("Resp. Sens. 1A", "0.1", "Resp. Sens. 1A", ""),
    ("Resp. Sens. 1B", "1", "Resp. Sens. 1B", ""),
    ("Skin Sens. 1", "1", "Skin Sens. 1", ""),
    ("Skin Sens. 1A", "0.1", "Skin Sens. 1A", ""),
    ("Skin Sens. 1B", "1", "Skin Sens. 1B", ""),
    ("Muta. 1A", "0.1", "Muta. 1A", ""),
    ("Muta. 1B", "0.1", "Muta. 1B", ""),
    ("Muta. 2", "1", "Muta. 2", ""),
    ("Carc. 1A", "0.1", "Carc. 1A", ""),
    ("Carc. 1B", "0.1", "Carc. 1B", ""),
    ("Carc. 2", "1", "Carc. 2", ""),
    ("Repr. 1A", "0.3", "Repr. 1A", ""),
    ("Repr. 1B", "0.3", "Repr. 1B", ""),
    ("Repr. 2", "3", "Repr. 2", ""),
    ("Lact.", "0.3", "Lact.", ""),
    ("STOT SE 1", "10", "STOT SE 1", "STOT SE 2"),
    ("STOT SE 1", "1", "STOT SE 2", ""),
    ("STOT SE 2", "10", "STOT SE 2", ""),
    ("STOT SE 3 H335", "20", "STOT SE 3", ""),
    ("STOT SE 3 H336", "20", "STOT SE 3", ""),
    ("STOT RE 1", "10", "STOT RE 1", "STOT RE 2"),
    ("STOT RE 1", "1", "STOT RE 2", ""),
    ("STOT RE 2", "10", "STOT RE 2", ""),
    ("ED HH 1", "0.1", "ED HH 1", ""),
    ("ED HH 2", "1", "ED HH 2", ""),
    ("ED ENV 1", "0.1", "ED ENV 1", ""),
    ("ED ENV 2", "1", "ED ENV 2", ""),
    ("PBT", "0.1", "PBT", ""),
    ("vPvB", "0.1", "vPvB", ""),
    ("PMT", "0.1", "PMT", ""),
    ("vPvM", "0.1", "vPvM", ""),
    ("Ozone 1", "0.1", "Ozone 1", ""),
    ("Asp. Tox. 1", "10", "Asp. Tox. 1", ""),
    ("Aquatic Acute 1", "25", "Aquatic Acute 1", ""),
    (
        "Aquatic Chronic 1",
        "25",
        "Aquatic Chronic 1",
        "Aquatic Chronic 2",
    ),
    (
        "Aquatic Chronic 1",
        "2.5",
        "Aquatic Chronic 2",
        "Aquatic Chronic 3",
    ),
    ("Aquatic Chronic 1", "0.25", "Aquatic Chronic 3", ""),
    (
        "Aquatic Chronic 2",
        "25",
        "Aquatic Chronic 2",
        "Aquatic Chronic 3",
    ),
    ("Aquatic Chronic 2", "2.5", "Aquatic Chronic 3", ""),
    ("Aquatic Chronic 3", "25", "Aquatic Chronic 3", ""),
    ("Aquatic Chronic 4", "25", "Aquatic Chronic 4", ""),
];

/// UN GHS Rev. 7 where it leaves a choice, the stricter figure (from memory).
const UN: &[Row] = &[
    ("Resp. Sens. 1", "0.1", "Resp. Sens. 1", ""),
    ("Skin Sens. 1", "0.1", "Skin Sens. 1", ""),
    ("Skin Sens. 1B", "1", "Skin Sens. 1B", ""),
    ("Carc. 2", "0.1", "Carc. 2", ""),
    ("Repr. 1A", "0.1", "Repr. 1A", ""),
    ("Repr. 1B", "0.1", "Repr. 1B", ""),
    ("Repr. 2", "0.1", "Repr. 2", ""),
    ("Lact.", "0.1", "Lact.", ""),
    ("STOT SE 1", "1", "STOT SE 1", ""),
    ("STOT SE 2", "1", "STOT SE 2", ""),
    ("STOT RE 1", "1", "STOT RE 1", ""),
    ("STOT RE 2", "1", "STOT RE 2", ""),
];

const MILLIONTH: Decimal = Decimal::from_parts(1, 0, 0, false, 6);

fn about(limit: &str) -> [(Decimal, bool); 3] {
    let limit: Decimal = limit.parse().unwrap();
    [
        (limit - MILLIONTH, false),
        (limit, true),
        (limit + MILLIONTH, true),
    ]
}

#[track_caller]
fn check(jurisdiction: Jurisdiction, (class, limit, at, below): Row) {
    for (share, reached) in about(limit) {
        let line = some("a", &share.to_string(), &[class]).factors(1, 1);
        let answer = answer_by(jurisdiction, &liquid("20.5"), vec![line]);
        let say = format!("{class} at {share} by {jurisdiction}: {answer}");
        assert_eq!(has(&answer, at), reached, "{say}");
        if !below.is_empty() {
            assert_eq!(has(&answer, below), !reached, "{say}");
        }
        // The same through an oil of which there is one part in eleven.
        let in_oil = share * Decimal::from(11);
        if in_oil <= Decimal::ONE_HUNDRED {
            let mixture = Mixture::of(&[
                part("100", Vec::new()),
                part(
                    "10",
                    vec![some("a", &in_oil.to_string(), &[class]).factors(1, 1)],
                ),
            ])
            .unwrap();
            let again = classify(&mixture, &law(jurisdiction), &liquid("20.5"));
            assert_eq!(told(&mixture, &again), answer, "{say}, in the oil");
        }
    }
}

#[test]
fn of_one_ingredient() {
    for row in CLP {
        check(Jurisdiction::Eu, *row);
        let of_2023 = ["ED ", "PBT", "vPv", "PMT"];
        if !of_2023.iter().any(|start| row.0.starts_with(start)) {
            check(Jurisdiction::Gb, *row);
        }
    }
    for row in UN {
        check(Jurisdiction::Un, *row);
    }
}

#[test]
fn of_a_table_in_every_class() {
    // No class of substances with a limit is without a row.
    for class in hazard::Class::ALL {
        let physical = class.is_physical();
        let acute = class.acute().is_some();
        if !physical && !acute {
            assert!(
                CLP.iter().any(|row| row.0.starts_with(class.code())),
                "{class} has no row"
            );
        }
    }
}

/// CLP Annex I, Table 3.4.6: what must be named.
#[test]
fn of_elicitation() {
    for (class, own, limit) in [
        ("Skin Sens. 1", None, "0.1"),
        ("Skin Sens. 1B", None, "0.1"),
        ("Skin Sens. 1A", None, "0.01"),
        ("Resp. Sens. 1", None, "0.1"),
        ("Resp. Sens. 1B", None, "0.1"),
        ("Resp. Sens. 1A", None, "0.01"),
        ("Skin Sens. 1", Some(">= 0.5 %"), "0.05"),
        ("Skin Sens. 1A", Some(">= 0.001 %"), "0.0001"),
        ("Resp. Sens. 1", Some(">= 5 %"), "0.5"),
    ] {
        for (share, reached) in about(limit) {
            let line = some("a", &share.to_string(), &[class]);
            let line = match own {
                Some(own) => line.limit(class, own),
                None => line,
            };
            let expected = if reached { "none (EUH208 a)" } else { "none" };
            assert_eq!(
                answer_by(Jurisdiction::Eu, &Form::Solid, vec![line]),
                expected,
                "{class} {own:?} at {share}"
            );
        }
    }
}

/// Two or three ingredients whose sum reaches a limit, the last share on either
/// side of it.
#[test]
fn of_sums() {
    type Sum = (
        &'static [(&'static str, &'static str)],
        &'static str,
        &'static str,
    );
    let rows: &[Sum] = &[
        (
            &[("Skin Corr. 1A", "2"), ("Skin Corr. 1B", "3")],
            "Skin Corr. 1B",
            "Skin Irrit. 2",
        ),
        (
            &[("Skin Corr. 1B", "2.5"), ("Skin Corr. 1C", "2.5")],
            "Skin Corr. 1C",
            "Skin Irrit. 2",
        ),
        (
            &[("Skin Irrit. 2", "4"), ("Skin Irrit. 2", "6")],
            "Skin Irrit. 2",
            "",
        ),
        (
            &[("Eye Dam. 1", "1"), ("Skin Corr. 1C", "2")],
            "Eye Dam. 1",
            "Eye Irrit. 2",
        ),
        (
            &[("Eye Irrit. 2", "7"), ("Eye Irrit. 2", "3")],
            "Eye Irrit. 2",
            "",
        ),
        (
            &[("STOT SE 3 H336", "12"), ("STOT SE 3 H336", "8")],
            "STOT SE 3",
            "",
        ),
        (
            &[("Asp. Tox. 1", "3"), ("Asp. Tox. 1", "7")],
            "Asp. Tox. 1",
            "",
        ),
        (
            &[("Aquatic Acute 1", "5"), ("Aquatic Acute 1", "20")],
            "Aquatic Acute 1",
            "",
        ),
        (
            &[("Aquatic Chronic 1", "2"), ("Aquatic Chronic 2", "5")],
            "Aquatic Chronic 2",
            "Aquatic Chronic 3",
        ),
        (
            &[
                ("Aquatic Chronic 1", "0.1"),
                ("Aquatic Chronic 2", "1"),
                ("Aquatic Chronic 3", "5"),
            ],
            "Aquatic Chronic 3",
            "",
        ),
        (
            &[("Aquatic Chronic 4", "12"), ("Aquatic Chronic 4", "13")],
            "Aquatic Chronic 4",
            "",
        ),
        (
            &[("Aquatic Chronic 3", "10"), ("Aquatic Chronic 4", "15")],
            "Aquatic Chronic 4",
            "",
        ),
    ];
    for (lines, at, below) in rows {
        let (last, first) = lines.split_last().unwrap();
        for (share, reached) in about(last.1) {
            let mut mixed: Vec<Ingredient> = first
                .iter()
                .enumerate()
                .map(|(nth, (class, share))| {
                    some(&format!("x{nth}"), share, &[class]).factors(1, 1)
                })
                .collect();
            mixed.push(some("last", &share.to_string(), &[last.0]).factors(1, 1));
            let answer = answer_by(Jurisdiction::Eu, &liquid("20.5"), mixed);
            assert_eq!(
                has(&answer, at),
                reached,
                "{lines:?} with {share}: {answer}"
            );
            if !below.is_empty() {
                assert_eq!(has(&answer, below), !reached, "{lines:?}: {answer}");
            }
        }
    }
}

/// From which share on an ingredient counts: CLP Annex I, Table 1.1 (from
/// memory), 3.2.3.3.1, 3.10.3.3.1.1, 4.1.3.1. Another ingredient brings the sum
/// to where this one decides.
#[test]
fn of_cut_offs() {
    for (class, other, cut_off, at) in [
        (
            "Skin Irrit. 2",
            ("Skin Irrit. 2", "9.5"),
            "1",
            "Skin Irrit. 2",
        ),
        (
            "Skin Corr. 1B",
            ("Skin Irrit. 2", "9.5"),
            "1",
            "Skin Irrit. 2",
        ),
        (
            "Skin Corr. 1B",
            ("Skin Corr. 1B", "4.5"),
            "1",
            "Skin Corr. 1B",
        ),
        ("Eye Irrit. 2", ("Eye Irrit. 2", "9.5"), "1", "Eye Irrit. 2"),
        ("Eye Dam. 1", ("Eye Dam. 1", "2.5"), "1", "Eye Dam. 1"),
        (
            "STOT SE 3 H335",
            ("STOT SE 3 H335", "19.5"),
            "1",
            "STOT SE 3",
        ),
        ("Asp. Tox. 1", ("Asp. Tox. 1", "9.5"), "1", "Asp. Tox. 1"),
        (
            "Aquatic Acute 1",
            ("Aquatic Acute 1", "24.95"),
            "0.1",
            "Aquatic Acute 1",
        ),
        (
            "Aquatic Chronic 1",
            ("Aquatic Chronic 1", "24.95"),
            "0.1",
            "Aquatic Chronic 1",
        ),
        (
            "Aquatic Chronic 2",
            ("Aquatic Chronic 2", "24.5"),
            "1",
            "Aquatic Chronic 2",
        ),
        (
            "Aquatic Chronic 3",
            ("Aquatic Chronic 3", "24.5"),
            "1",
            "Aquatic Chronic 3",
        ),
        (
            "Aquatic Chronic 4",
            ("Aquatic Chronic 4", "24.5"),
            "1",
            "Aquatic Chronic 4",
        ),
    ] {
        for (share, reached) in about(cut_off) {
            let answer = answer_by(
                Jurisdiction::Eu,
                &liquid("20.5"),
                vec![
                    some("a", &share.to_string(), &[class]).factors(1, 1),
                    some("b", other.1, &[other.0]).factors(1, 1),
                ],
            );
            assert_eq!(has(&answer, at), reached, "{class} at {share}: {answer}");
        }
    }
}

/// (0.1 ÷ M) % is the cut-off, 25 ÷ M the limit (CLP Annex I, 4.1.3.1 and Table
/// 4.1.1; 4.1.2).
#[test]
fn of_m_factors() {
    for (factor, cut_off, limit) in [
        (1, "0.1", "25"),
        (10, "0.01", "2.5"),
        (100, "0.001", "0.25"),
        (1000, "0.0001", "0.025"),
    ] {
        for class in ["Aquatic Acute 1", "Aquatic Chronic 1"] {
            for (share, reached) in about(limit) {
                let line = some("a", &share.to_string(), &[class]).factors(factor, factor);
                let answer = answer_by(Jurisdiction::Eu, &Form::Solid, vec![line]);
                assert_eq!(has(&answer, class), reached, "M {factor} at {share}");
            }
            for (share, reached) in about(cut_off) {
                let answer = answer_by(
                    Jurisdiction::Eu,
                    &Form::Solid,
                    vec![
                        some("a", &share.to_string(), &[class]).factors(factor, factor),
                        some("b", "24.9", &[class]).factors(1, 1),
                    ],
                );
                assert_eq!(has(&answer, class), reached, "M {factor} counts at {share}");
            }
        }
    }
}

/// The bounds of CLP Annex I, Table 3.1.1, on a pure substance, and the
/// estimates of Table 3.1.2 that stand for a category.
#[test]
fn of_acute_toxicity() {
    type Scale = (
        EstimateKind,
        &'static str,
        &'static str,
        [&'static str; 4],
        [&'static str; 4],
    );
    let rows: [Scale; 5] = [
        (
            EstimateKind::Oral,
            "mg/kg",
            "H30",
            ["5", "50", "300", "2000"],
            ["0.5", "5", "100", "500"],
        ),
        (
            EstimateKind::Dermal,
            "mg/kg",
            "H31",
            ["50", "200", "1000", "2000"],
            ["5", "50", "300", "1100"],
        ),
        (
            EstimateKind::Gas,
            "ppm",
            "H33",
            ["100", "500", "2500", "20000"],
            ["10", "100", "700", "4500"],
        ),
        (
            EstimateKind::Vapour,
            "mg/l",
            "H33",
            ["0.5", "2", "10", "20"],
            ["0.05", "0.5", "3", "11"],
        ),
        (
            EstimateKind::Mist,
            "mg/l",
            "H33",
            ["0.05", "0.5", "1", "5"],
            ["0.005", "0.05", "0.5", "1.5"],
        ),
    ];
    for (kind, unit, family, bounds, converted) in rows {
        for (nth, bound) in bounds.iter().enumerate() {
            for (value, reached) in about(bound) {
                // The other way round: at or below the bound.
                let within = !reached || value == bound.parse().unwrap();
                let category = if within { nth + 1 } else { nth + 2 };
                let answer = answer_by(
                    Jurisdiction::Eu,
                    &Form::Solid,
                    vec![some("a", "100", &[]).estimate(kind, &format!("{value} {unit}"))],
                );
                let expected = if category == 5 {
                    "none".to_owned()
                } else {
                    let statement = ["0", "0", "1", "2"][category - 1];
                    format!("Acute Tox. {category} {family}{statement}")
                };
                assert_eq!(answer, expected, "{kind:?} {value}");
            }
        }
        // A category alone has the converted value: half of it twice that.
        for (nth, value) in converted.iter().enumerate() {
            let statement = format!(
                "Acute Tox. {} {family}{}",
                nth + 1,
                ["0", "0", "1", "2"][nth]
            );
            if matches!(kind, EstimateKind::Gas | EstimateKind::Mist) {
                // A category alone is read as vapour.
                continue;
            }
            let mixture = whole(vec![some("a", "50", &[&statement])]);
            let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
            let estimate = answer
                .acute
                .iter()
                .find_map(|acute| (acute.kind == Some(kind)).then_some(acute.estimate)?)
                .unwrap();
            let due = 2.0 * value.parse::<f64>().unwrap();
            assert!((estimate - due).abs() < due * 1e-9, "{kind:?} {value}");
        }
    }
    // By share: 100 mg/kg at c % is 10 000/c mg/kg, category 4 from 5 % on.
    for (share, reached) in about("5") {
        let line = some("a", &share.to_string(), &["Acute Tox. 3 H301"]);
        let answer = answer_by(Jurisdiction::Eu, &Form::Solid, vec![line]);
        assert_eq!(has(&answer, "Acute Tox. 4"), reached, "{share}");
    }
    // The cut-offs: 0.1 % for categories 1 to 3, 1 % for category 4.
    for (class, cut_off) in [
        ("Acute Tox. 1 H300", "0.1"),
        ("Acute Tox. 2 H300", "0.1"),
        ("Acute Tox. 3 H301", "0.1"),
        ("Acute Tox. 4 H302", "1"),
    ] {
        for (share, reached) in about(cut_off) {
            let mixture = whole(vec![some("a", &share.to_string(), &[class])]);
            let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
            assert_eq!(
                answer.acute[0].estimate.is_some(),
                reached,
                "{class} {share}"
            );
        }
    }
}

/// More than 10 % unknown corrects the sum (CLP Annex I, 3.1.3.6.2.3): 3.6 % of
/// 80 mg/kg is 2222 mg/kg of all and, of the known 90 %, 2000.
#[test]
fn of_the_unknown_part() {
    for (share, above) in about("10") {
        let corrected = above && share > Decimal::TEN;
        let answer = answer_by(
            Jurisdiction::Eu,
            &Form::Solid,
            vec![
                some("a", "3.6", &[]).estimate(EstimateKind::Oral, "80 mg/kg"),
                some("b", &share.to_string(), &[]).unknown(),
            ],
        );
        assert_eq!(has(&answer, "Acute Tox. 4"), corrected, "{share}: {answer}");
    }
    // Below 1 % the unknown is not counted (3.1.3.3 (a)).
    let sum = |small: &str| {
        answer_by(
            Jurisdiction::Eu,
            &Form::Solid,
            vec![
                some("a", "3.6", &[]).estimate(EstimateKind::Oral, "80 mg/kg"),
                some("b", "9.5", &[]).unknown(),
                some("c", small, &[]).unknown(),
            ],
        )
    };
    assert_eq!(sum("0.999999"), "none");
    assert_eq!(sum("1"), "Acute Tox. 4 H302");
}

/// CLP Annex I, Table 2.6.1: flash point 23 and 60 °C, initial boiling point
/// 35 °C; and 20.5 mm²/s of 3.10.3.3.1.
#[test]
fn of_the_liquid() {
    for (flash, boiling, expected) in [
        ("22.999999", "35", "Flam. Liq. 1 H224"),
        ("22.999999", "35.000001", "Flam. Liq. 2 H225"),
        ("23", "35", "Flam. Liq. 3 H226"),
        ("60", "100", "Flam. Liq. 3 H226"),
        ("60.000001", "100", "none"),
    ] {
        let form = Form::Liquid {
            flash_point_c: Some(flash.parse().unwrap()),
            boiling_point_c: Some(boiling.parse().unwrap()),
            viscosity_mm2_s: None,
        };
        assert_eq!(
            answer_by(Jurisdiction::Eu, &form, vec![some("a", "1", &[])]),
            expected,
            "{flash} {boiling}"
        );
    }
    for (viscosity, expected) in [
        ("20.499999", "Asp. Tox. 1 H304"),
        ("20.5", "Asp. Tox. 1 H304"),
        ("20.500001", "none"),
    ] {
        let line = some("a", "10", &["Asp. Tox. 1"]);
        assert_eq!(
            answer_by(Jurisdiction::Eu, &liquid(viscosity), vec![line]),
            expected
        );
    }
}
