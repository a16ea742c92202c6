//! Cases made up from the paragraph they cite, where nobody has published one
//! that can be read. They pin how the paragraph is read here.

use hazard::{EstimateKind, Form, Jurisdiction, Mixture, Rules, classify};

use crate::mixing::{More, answer, answer_by, law, liquid, part, some, told};

/// CLP Annex I, 3.4 and Tables 3.4.5, 3.4.6; Annex II, 2.8.
#[test]
fn sensitisers() {
    for (class, share, expected) in [
        ("Skin Sens. 1B", "1.0", "Skin Sens. 1B H317"),
        ("Skin Sens. 1B", "0.999", "none (EUH208 a)"),
        ("Skin Sens. 1B", "0.1", "none (EUH208 a)"),
        ("Skin Sens. 1B", "0.0999", "none"),
        ("Skin Sens. 1A", "0.1", "Skin Sens. 1A H317"),
        ("Skin Sens. 1A", "0.05", "none (EUH208 a)"),
        ("Skin Sens. 1A", "0.01", "none (EUH208 a)"),
        ("Skin Sens. 1A", "0.009", "none"),
    ] {
        assert_eq!(answer(vec![some("a", share, &[class])]), expected);
    }
    assert_eq!(
        answer(vec![
            some("a", "1.5", &["Skin Sens. 1B"]),
            some("b", "0.3", &["Skin Sens. 1B"]),
        ]),
        "Skin Sens. 1B H317 (also names b)"
    );
    // Which sub-category the result has: our choice; the label is the same.
    assert_eq!(
        answer(vec![
            some("a", "1.5", &["Skin Sens. 1B"]),
            some("b", "0.3", &["Skin Sens. 1A"]),
        ]),
        "Skin Sens. 1 H317"
    );
    // A limit of its own is also ten times that of elicitation.
    let own = |share: &str| {
        answer(vec![
            some("a", share, &["Skin Sens. 1A"]).limit("Skin Sens. 1", ">= 0.01 %"),
        ])
    };
    assert_eq!(own("0.01"), "Skin Sens. 1A H317");
    assert_eq!(own("0.001"), "none (EUH208 a)");
    assert_eq!(own("0.000999"), "none");
}

/// CLP Annex I, Table 3.2.3 with its cut-off and its cascade of sub-categories.
#[test]
fn skin() {
    let two = |corrosive: &str, irritant: &str| {
        answer(vec![
            some("c", corrosive, &["Skin Corr. 1B"]),
            some("i", irritant, &["Skin Irrit. 2"]),
        ])
    };
    assert_eq!(two("0.8", "9.5"), "none");
    assert_eq!(two("1.0", "9.5"), "Skin Irrit. 2 H315, Eye Irrit. 2 H319");
    assert_eq!(
        answer(vec![
            some("a", "2", &["Skin Corr. 1A"]),
            some("b", "2", &["Skin Corr. 1B"]),
            some("c", "1", &["Skin Corr. 1C"]),
        ]),
        "Skin Corr. 1C H314, Eye Dam. 1 H318"
    );
    assert_eq!(
        answer(vec![
            some("a", "2", &["Skin Corr. 1A"]),
            some("b", "3", &["Skin Corr. 1B"]),
        ]),
        "Skin Corr. 1B H314, Eye Dam. 1 H318"
    );
    assert_eq!(
        answer(vec![
            some("a", "5", &["Skin Corr. 1A"]),
            some("b", "1", &["Skin Corr. 1"]),
        ]),
        "Skin Corr. 1 H314, Eye Dam. 1 H318"
    );
    assert_eq!(
        answer(vec![
            some("c", "2.0", &["Skin Corr. 1C"]),
            some("d", "1.0", &["Eye Dam. 1"]),
        ]),
        "Skin Irrit. 2 H315, Eye Dam. 1 H318"
    );
    assert_eq!(answer(vec![some("e", "9.9", &["Eye Irrit. 2"])]), "none");
    // What is corrosive and eye damaging counts once (note a to Table 3.3.3).
    assert_eq!(
        answer(vec![some("b", "2.9", &["Skin Corr. 1B", "Eye Dam. 1"])]),
        "Skin Irrit. 2 H315, Eye Irrit. 2 H319"
    );
}

/// Quotients of shares and own limits add up (ECHA, Guidance on the
/// application of the CLP criteria, 1.6.3.3.3; from memory).
#[test]
fn own_limits_in_a_sum() {
    let both = |own: &str| {
        answer(vec![
            some("a", own, &["Skin Irrit. 2"]).limit("Skin Irrit. 2", ">= 5 %"),
            some("b", "4", &["Skin Irrit. 2"]),
        ])
    };
    assert_eq!(both("2.5"), "none");
    assert_eq!(both("3.0"), "Skin Irrit. 2 H315");
    assert_eq!(both("2.999999"), "none");
}

/// Bands that lead to a milder class below a severer one, as the harmonised
/// list has them for sodium hydroxide (CLP Annex VI, 011-002-00-6; from
/// memory): the severer begins where the milder ends.
#[test]
fn bands_of_one_substance() {
    let lye = |share: &str| {
        answer(vec![
            some("lye", share, &["Skin Corr. 1A"])
                .limit("Skin Corr. 1A", ">= 5 %")
                .limit("Skin Corr. 1B", ">= 2 % < 5 %")
                .limit("Skin Irrit. 2", ">= 0.5 % < 2 %")
                .limit("Eye Irrit. 2", ">= 0.5 % < 2 %"),
        ])
    };
    assert_eq!(lye("5"), "Skin Corr. 1A H314, Eye Dam. 1 H318");
    assert_eq!(lye("4.99"), "Skin Corr. 1B H314, Eye Dam. 1 H318");
    assert_eq!(lye("2"), "Skin Corr. 1B H314, Eye Dam. 1 H318");
    assert_eq!(lye("1.99"), "Skin Irrit. 2 H315, Eye Irrit. 2 H319");
    assert_eq!(lye("0.5"), "Skin Irrit. 2 H315, Eye Irrit. 2 H319");
    assert_eq!(lye("0.49"), "none");
    // Hydrogen chloride in the list: irritant to the eyes from 10 to 25 %, so
    // damaging from 25 %, not from the generic 3 %.
    let acid = |share: &str| {
        answer(vec![
            some("acid", share, &["Skin Corr. 1B"])
                .limit("Skin Corr. 1B", ">= 25 %")
                .limit("Skin Irrit. 2", ">= 10 % < 25 %")
                .limit("Eye Irrit. 2", ">= 10 % < 25 %")
                .limit("STOT SE 3 H335", ">= 10 %"),
        ])
    };
    assert_eq!(acid("9.9"), "none");
    assert_eq!(
        acid("10"),
        "Skin Irrit. 2 H315, Eye Irrit. 2 H319, STOT SE 3 H335"
    );
    assert_eq!(
        acid("25"),
        "Skin Corr. 1B H314, Eye Dam. 1 H318, STOT SE 3 H335"
    );
}

/// CLP Annex I, 3.8.3.4.5 and Table 3.9.4.
#[test]
fn organs() {
    let drowsy = &["STOT SE 3 H336"];
    let airways = &["STOT SE 3 H335"];
    assert_eq!(
        answer(vec![some("a", "12", drowsy), some("b", "8", drowsy)]),
        "STOT SE 3 H336"
    );
    // The two effects are not added to each other.
    assert_eq!(
        answer(vec![some("a", "12", drowsy), some("b", "8", airways)]),
        "none"
    );
    assert_eq!(
        answer(vec![some("a", "9.9", &["STOT RE 1"])]),
        "STOT RE 2 H373"
    );
    assert_eq!(answer(vec![some("a", "9.9", &["STOT RE 2"])]), "none");
}

/// CLP Annex I, 3.10.3.3.1: in the oil, in the melt of it, and in a blend that
/// is molten at 40 °C.
#[test]
fn aspiration_asks_for_something_thin() {
    let terpene = |share: &str| vec![some("terpene", share, &["Asp. Tox. 1"])];
    let eu = Jurisdiction::Eu;
    assert_eq!(
        answer_by(eu, &liquid("5"), terpene("12")),
        "Asp. Tox. 1 H304"
    );
    assert_eq!(answer(terpene("1.2")), "none");
    assert_eq!(answer(terpene("12")), "none");
    let molten = |viscosity: Option<&str>| Form::MoltenAt40C {
        viscosity_mm2_s: viscosity.map(|figure| figure.parse().unwrap()),
    };
    assert_eq!(answer_by(eu, &molten(Some("25")), terpene("12")), "none");
    assert_eq!(
        answer_by(eu, &molten(Some("20.5")), terpene("12")),
        "Asp. Tox. 1 H304"
    );
    // Not knowing is taken as the stricter case, and said.
    assert_eq!(
        answer_by(eu, &molten(None), terpene("12")),
        "Asp. Tox. 1 H304"
    );
    let mixture = crate::mixing::whole(terpene("12"));
    let said = |form: Form| classify(&mixture, &law(eu), &form).notes.join(" ");
    assert!(said(molten(None)).contains("The viscosity at 40 °C is not known"));
    assert!(said(Form::Solid).contains("this is solid there"));
}

/// CLP Annex I, Table 4.1.2.
#[test]
fn water() {
    let both = |first: &str| {
        answer(vec![
            some("1", first, &["Aquatic Acute 1", "Aquatic Chronic 1"]).factors(1, 1),
            some("2", "3.0", &["Aquatic Chronic 2"]),
        ])
    };
    assert_eq!(both("2.0"), "Aquatic Chronic 3 H412");
    assert_eq!(both("2.2"), "Aquatic Chronic 2 H411");
    let one = |share: &str| answer(vec![some("1", share, &["Aquatic Chronic 1"]).factors(1, 1)]);
    assert_eq!(one("0.25"), "Aquatic Chronic 3 H412");
    assert_eq!(one("2.5"), "Aquatic Chronic 2 H411");
    let second = |name: &str| some(name, "0.9", &["Aquatic Chronic 2"]);
    assert_eq!(answer(vec![second("a"), second("b"), second("c")]), "none");
    assert_eq!(
        answer(vec![
            some("a", "0.009", &["Aquatic Chronic 1"]).factors(10, 10),
            some("b", "0.24", &["Aquatic Chronic 1"]).factors(1, 1),
        ]),
        "none"
    );
}

/// A missing M-factor is computed with 1 and said to be missing, with the
/// factor from which the answer would be another. Our choice.
#[test]
fn a_missing_factor_is_said() {
    let mixture = crate::mixing::whole(vec![some(
        "musk",
        "0.03",
        &["Aquatic Acute 1", "Aquatic Chronic 1"],
    )]);
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    assert_eq!(told(&mixture, &answer), "none");
    let changes: Vec<String> = answer
        .provisional
        .iter()
        .map(|missing| match missing.changes {
            Some((factor, class)) => format!("{} from {factor}: {class}", missing.class),
            None => format!("{}: nothing", missing.class),
        })
        .collect();
    // 0.03 × 1000 = 30; 100 × 0.03 × 10 = 30.
    assert_eq!(
        changes,
        [
            "Aquatic Acute 1 from 1000: Aquatic Acute 1",
            "Aquatic Chronic 1 from 10: Aquatic Chronic 3",
        ]
    );
}

/// Which end of a band belongs to it decides at a limit (our reading of "< 10
/// %": never at or above 10).
#[test]
fn open_and_closed_ends() {
    let oil = |share: &str| {
        let mixture = Mixture::of(&[
            part("96", Vec::new()),
            part("4", vec![some("a", share, &["Skin Sens. 1B"])]),
        ])
        .unwrap();
        told(
            &mixture,
            &classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid),
        )
    };
    assert_eq!(oil(">= 10 - < 25"), "none (EUH208 a)");
    assert_eq!(oil("10 - 25"), "Skin Sens. 1B H317");
    // In a sum one open end leaves the whole below.
    let pair = |first: &str| {
        answer(vec![
            some("a", first, &["Skin Irrit. 2"]),
            some("b", "5", &["Skin Irrit. 2"]),
        ])
    };
    assert_eq!(pair("1 - 5"), "Skin Irrit. 2 H315");
    assert_eq!(pair("1 - < 5"), "none");
    // Without an upper end it is what the others leave, 100 - 91 here.
    let rest = |other: &str| {
        answer(vec![
            some("a", ">= 5", &["Skin Irrit. 2"]),
            some("b", other, &[]),
        ])
    };
    assert_eq!(rest("90"), "Skin Irrit. 2 H315");
    assert_eq!(rest("91"), "none");
}

/// CLP Annex I, Tables 3.11.2 and 4.2.2; Delegated Regulation (EU) 2023/707
/// for the day; not law in Great Britain.
#[test]
fn endocrine_classes_by_place_and_day() {
    let lines = |share: &str| vec![some("a", share, &["ED HH 2"])];
    assert_eq!(answer(lines("1.0")), "ED HH 2 EUH381");
    assert_eq!(answer(lines("0.5")), "none");
    for share in ["1.0", "0.5"] {
        assert_eq!(
            answer_by(Jurisdiction::Gb, &Form::Solid, lines(share)),
            "none"
        );
    }
    let mixture = crate::mixing::whole(lines("1.0"));
    let before = Rules::of(Jurisdiction::Eu, jiff::civil::date(2026, 4, 30));
    assert_eq!(
        told(&mixture, &classify(&mixture, &before, &Form::Solid)),
        "none"
    );
}

/// The letters of H360 and H361 (CLP Annex VI, 1.1.2.1.2; from memory).
#[test]
fn letters_of_harm_to_reproduction() {
    let pair = |a: &str, b: &str| answer(vec![some("a", "4", &[a]), some("b", "4", &[b])]);
    assert_eq!(pair("Repr. 1B H360D", "Repr. 1B H360F"), "Repr. 1B H360FD");
    assert_eq!(pair("Repr. 1B H360D", "Repr. 2 H361f"), "Repr. 1B H360Df");
    assert_eq!(pair("Repr. 2 H361d", "Repr. 2 H361d"), "Repr. 2 H361d");
    assert_eq!(pair("Repr. 2 H361d", "Repr. 2 H361"), "Repr. 2 H361");
    assert_eq!(pair("Carc. 1B H350i", "Carc. 1B H350"), "Carc. 1B H350");
    assert_eq!(
        pair("Carc. 1B H350i", "Muta. 2"),
        "Muta. 2 H341, Carc. 1B H350i"
    );
}

/// REACH Annex XVII, entries 28 to 30.
#[test]
fn category_1_is_not_for_the_public() {
    let forbidden = |class: &str, share: &str| {
        let mixture = crate::mixing::whole(vec![some("a", share, &[class])]);
        classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid).forbidden_to_the_public
    };
    assert!(forbidden("Repr. 1B", "0.3"));
    assert!(forbidden("Carc. 1A", "0.1"));
    assert!(forbidden("Muta. 1B", "0.1"));
    assert!(!forbidden("Repr. 1B", "0.29"));
    assert!(!forbidden("Repr. 2", "50"));
}

/// The same substance from two materials is added up before any limit is asked
/// of it; where their sheets differ the stricter word counts and it is said.
#[test]
fn one_substance_from_two_materials() {
    let cas = |mut line: hazard::Ingredient| {
        line.cas = Some("5989-27-5".parse().unwrap());
        line
    };
    let mixture = Mixture::of(&[
        part("50", vec![cas(some("limonene", "1", &["Skin Sens. 1B"]))]),
        part(
            "50",
            vec![cas(some(
                "d-limonene",
                "1",
                &["Skin Sens. 1B", "Skin Irrit. 2"],
            ))],
        ),
    ])
    .unwrap();
    assert_eq!(mixture.substances.len(), 1);
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    assert_eq!(told(&mixture, &answer), "Skin Sens. 1B H317");
    assert!(
        answer
            .notes
            .iter()
            .any(|note| note.contains("Two sheets do not say the same of limonene"))
    );
}

/// Breathed in on different scales, each is held against its own bounds. Our
/// choice.
#[test]
fn vapour_and_mist_in_one_mixture() {
    let lines = vec![
        some("a", "30", &[]).estimate(EstimateKind::Vapour, "11 mg/l"),
        some("b", "30", &[]).estimate(EstimateKind::Mist, "1.5 mg/l"),
    ];
    // 30 × 20/11 + 30 × 5/1.5 = 154.5 ≥ 100; 30 × 10/11 + 30 × 1/1.5 < 100.
    assert_eq!(answer(lines), "Acute Tox. 4 H332");
}

/// Of a long list a note names a few and counts the rest.
#[test]
fn unknown_substances_beyond_a_few_are_counted() {
    let lines = (1..=10).map(|nth| some(&format!("u{nth}"), "1", &[]).unknown());
    let mixture = crate::mixing::whole(lines.collect());
    let notes = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid).notes;
    let note = notes.iter().find(|note| note.contains("u8 (1 %)")).unwrap();
    assert!(
        note.contains("and 2 more") && !note.contains("u9"),
        "{note}"
    );
}
