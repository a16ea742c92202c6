//! Worked examples others have published, each with its source.

use hazard::{EstimateKind, Form, Ingredient, Jurisdiction, Mixture, Route, classify};

use crate::mixing::{More, answer, answer_by, law, part, some, told, whole};

/// The estimate a route comes to, in figures of the source.
#[track_caller]
fn estimate(
    jurisdiction: Jurisdiction,
    route: Route,
    lines: Vec<Ingredient>,
    figure: f64,
    expected: &str,
) {
    let mixture = whole(lines);
    let answer = classify(&mixture, &law(jurisdiction), &Form::Solid);
    let own = answer
        .acute
        .iter()
        .find(|acute| acute.route == route)
        .and_then(|acute| acute.estimate);
    let own = own.expect("an estimate");
    assert!((own - figure).abs() < figure * 1e-5, "{own}, not {figure}");
    assert_eq!(told(&mixture, &answer), expected);
}

/// UNECE, guidance on the GHS, example 3-1a (ST/SG/AC.10/C.4/2008/23): 1880
/// mg/kg, category 4. Under CLP the ingredient of 3450 mg/kg is in no category
/// (Annex I, 3.1.3.6.1 (a), Table 3.1.1) and the sum comes to 3333.
#[test]
fn one_ingredient_known_as_a_range() {
    let lines = || {
        vec![
            some("1", "16", &[]).estimate(EstimateKind::Oral, "1600 mg/kg"),
            some("2", "4", &[]).estimate(EstimateKind::Oral, "200 - 2000 mg/kg"),
            some("3", "80", &[]).estimate(EstimateKind::Oral, "3450 mg/kg"),
        ]
    };
    let un = "Acute Tox. 4 H302";
    estimate(Jurisdiction::Un, Route::Oral, lines(), 1880.1, un);
    for law in [Jurisdiction::Eu, Jurisdiction::Gb] {
        estimate(law, Route::Oral, lines(), 3333.3333, "none");
    }
}

/// UNECE, guidance on the GHS, example 3-1c: 43 425 mg/kg, not classified. What
/// is beyond 5000 mg/kg, or passed a limit test at 2000, is left out.
#[test]
fn ingredients_that_are_left_out() {
    let lines = || {
        vec![
            some("1", "4", &[]).estimate(EstimateKind::Oral, "1737 mg/kg"),
            some("2", "5", &[]).estimate(EstimateKind::Oral, "> 5000 mg/kg"),
            some("3", "5", &[]).estimate(EstimateKind::Oral, "5400 mg/kg"),
            some("4", "86", &[]).estimate(EstimateKind::Oral, "> 2000 mg/kg"),
        ]
    };
    for law in [Jurisdiction::Un, Jurisdiction::Eu] {
        estimate(law, Route::Oral, lines(), 43_425.0, "none");
    }
}

/// UNECE, guidance on the GHS, example 3-1d: oral 873 mg/kg, category 4 (872.5
/// unrounded); breathed in, with 11 % unknown, 6.6 mg/l, category 3 and the
/// statement on the unknown part. Under CLP oral comes to 1000, category 4 too.
#[test]
fn more_than_a_tenth_unknown() {
    let lines = || {
        vec![
            some("1", "26", &[])
                .estimate(EstimateKind::Oral, "2737 mg/kg")
                .estimate(EstimateKind::Dermal, "6480 mg/kg")
                .estimate(EstimateKind::Vapour, "11 mg/l"),
            some("2", "23", &[])
                .estimate(EstimateKind::Oral, "4500 mg/kg")
                .estimate(EstimateKind::Dermal, "> 6000 mg/kg")
                .estimate(EstimateKind::Vapour, "19 mg/l"),
            some("3", "11", &[])
                .unknown()
                .estimate(EstimateKind::Oral, "> 5000 mg/kg"),
            some("4", "40", &[])
                .estimate(EstimateKind::Oral, "400 mg/kg")
                .estimate(EstimateKind::Dermal, "> 2000 mg/kg")
                .estimate(EstimateKind::Vapour, "4 mg/l"),
        ]
    };
    let both = "Acute Tox. 4 H302, Acute Tox. 3 H331";
    estimate(Jurisdiction::Un, Route::Oral, lines(), 872.52, both);
    estimate(Jurisdiction::Eu, Route::Oral, lines(), 1000.0, both);
    estimate(Jurisdiction::Eu, Route::Inhalation, lines(), 6.556_57, both);
    let mixture = whole(lines());
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    assert!((answer.unknown.inhalation - 11.0).abs() < 1e-9);
    assert!(answer.unknown.oral.abs() < 1e-9, "oral is known of all");
    assert!(
        answer.notes.iter().any(|note| note
            .contains("breathed in: 11 percent of the mixture is of unknown acute toxicity")),
        "{:?}",
        answer.notes
    );
    // Skin: no estimate enters.
    assert_eq!(answer.acute[1].estimate, None);
}

/// thecompliancecenter.com, "ATE calculations": 60 % at 4000 and 40 % at 1870
/// mg/kg. The page rounds 0.03639 to 0.0361 on its way and prints 2770.08; it
/// should have carried 0.0364. Unrounded it is 2747.98 (UN category 5, which
/// has no place here). Under CLP the first is left out: 4675.
#[test]
fn a_published_rounding_slip() {
    let lines = || {
        vec![
            some("A", "60", &[]).estimate(EstimateKind::Oral, "4000 mg/kg"),
            some("B", "40", &[]).estimate(EstimateKind::Oral, "1870 mg/kg"),
        ]
    };
    estimate(Jurisdiction::Un, Route::Oral, lines(), 2747.979, "none");
    estimate(Jurisdiction::Eu, Route::Oral, lines(), 4675.0, "none");
}

/// UNECE, guidance on the GHS, example 4-1a (2012/25): acute 0.1 below 25, not
/// classified; chronic 0.1, 2.0, 20, then 26.01: Chronic 4. Acute 2 and 3 are
/// categories of the UN's alone.
#[test]
fn water_by_the_safety_net() {
    let lines = || {
        vec![
            some("1", "0.01", &["Aquatic Acute 1", "Aquatic Chronic 1"]).factors(10, 10),
            some("2", "1.0", &["Aquatic Chronic 2"]),
            some("3", "25.0", &["Aquatic Chronic 4"]),
            some("4", "73.99", &[]),
        ]
    };
    let mixture = whole(lines());
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    assert_eq!(told(&mixture, &answer), "Aquatic Chronic 4 H413");
    let sums: Vec<String> = answer
        .asked
        .iter()
        .filter(|(test, _)| test.class.code().starts_with("Aquatic"))
        .map(|(test, sum)| format!("{} {:.2}", test.class, sum.sum))
        .collect();
    assert_eq!(
        sums,
        [
            "Aquatic Acute 1 0.10",
            "Aquatic Chronic 1 0.10",
            "Aquatic Chronic 2 2.00",
            "Aquatic Chronic 3 20.00",
            "Aquatic Chronic 4 26.01",
        ]
    );
}

/// ECHA Helpdesk, "Mixture classification – exercises", seminar for the Baltic
/// States, March 2012, examples 1 and 2: a thickener of Skin Irrit. 2 at 0.8 %
/// is below the cut-off; at 1.8 % it counts and "might" classify. By Table
/// 3.2.3 (1.8 below 10) it does not, nor by Table 3.2.4 (below 3).
#[test]
fn an_irritant_about_its_cut_off() {
    for (surfactant, thickener, counted) in [("9.2", "0.8", 0), ("8.2", "1.8", 1)] {
        let mixture = whole(vec![
            some("surfactant", surfactant, &[]),
            some("thickener", thickener, &["Skin Irrit. 2"]),
            some("water", "90", &[]),
        ]);
        let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
        assert_eq!(told(&mixture, &answer), "none");
        let (test, _) = answer
            .asked
            .iter()
            .find(|(test, _)| test.class.code() == "Skin Irrit. 2")
            .unwrap();
        let counting = test.counted(&mixture, hazard::rule::Level::Worst);
        assert_eq!(counting.len(), counted);
        assert!(!answer.notes.iter().any(|note| note.contains("3.2.4")));
    }
}

/// H. Krejsová, "Klasifikace žíravosti a dráždivosti", enviprofi.cz, 26.11.2014,
/// 4.8.6.2: a corrosive ingredient is 4 %, its sheet says 3 to 7 %. By the band
/// the mixture is corrosive, by the true share only irritant (to the skin; to
/// the eyes it damages either way). The band hides just that, and the tool says
/// so: the middle would not be corrosive.
#[test]
fn a_band_that_hides_the_category() {
    let corrosive = |share: &str| vec![some("corrosive", share, &["Skin Corr. 1"])];
    assert_eq!(
        answer(corrosive("3-7")),
        "Skin Corr. 1 H314, Eye Dam. 1 H318"
    );
    assert_eq!(
        answer(corrosive("4")),
        "Skin Irrit. 2 H315, Eye Dam. 1 H318"
    );
    assert_eq!(
        answer(corrosive("3")),
        "Skin Irrit. 2 H315, Eye Dam. 1 H318"
    );
    // A band of 3 to 6.8 % has its middle at 4.9 %.
    let mixture = whole(corrosive("3-6.8"));
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    let by_range: Vec<bool> = answer.found.iter().map(|f| f.only_by_worst_case).collect();
    assert_eq!(by_range, [true, false]);
    assert!(
        answer
            .notes
            .iter()
            .any(|note| note.contains("Ask the supplier for the exact share of corrosive"))
    );
}

/// det-net.eu, "Classification by calculation": from 3 % of a surfactant of Eye
/// Dam. 1 the mixture is Eye Dam. 1. The page also writes "more than 3 %"; the
/// regulation (Annex I, Table 3.3.3) says at or above.
#[test]
fn surfactants_and_eyes() {
    for (share, expected) in [
        ("3.0", "Eye Dam. 1 H318"),
        ("2.9", "Eye Irrit. 2 H319"),
        ("0.9", "none"),
    ] {
        assert_eq!(
            answer(vec![some("surfactant", share, &["Eye Dam. 1"])]),
            expected
        );
    }
}

/// gesi.de, 20 February 2017: corrosives of 3 to below 5 % damage the eyes
/// without being corrosive to the skin.
#[test]
fn corrosive_to_the_eyes_alone() {
    assert_eq!(
        answer(vec![some("acid", "4.0", &["Skin Corr. 1B"])]),
        "Skin Irrit. 2 H315, Eye Dam. 1 H318"
    );
}

/// gesi.de, 24 March 2021: an ingredient of extreme pH from 1 % on makes the
/// mixture corrosive where adding up does not hold (Tables 3.2.4, 3.3.4). A
/// sheet's classes do not tell which ingredients are of that kind, so this
/// warns, by name, and leaves the choice to a person.
#[test]
fn what_cannot_be_added_up_warns() {
    let warned = |share: &str| {
        let mixture = whole(vec![some("base", share, &["Skin Corr. 1A"])]);
        let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
        answer.notes.iter().any(|note| {
            note.contains("Tables 3.2.4 and 3.3.4") && note.trim_end_matches('.').ends_with("base")
        })
    };
    assert!(warned("1.0"));
    assert!(!warned("0.99"));
}

/// chem-consulting.si, "Candles & wax melts UFI code": a sensitising ingredient
/// from 0.1 % and below 1 % gives EUH208 with its name (1 and 1B; for 1A from
/// 0.01 % and below 0.1 %).
#[test]
fn a_sensitiser_in_a_candle() {
    for (class, share, expected) in [
        ("Skin Sens. 1", "0.09", "none"),
        ("Skin Sens. 1", "0.1", "none (EUH208 fragrance)"),
        ("Skin Sens. 1B", "0.1", "none (EUH208 fragrance)"),
        ("Skin Sens. 1B", "0.99", "none (EUH208 fragrance)"),
        ("Skin Sens. 1A", "0.009", "none"),
        ("Skin Sens. 1A", "0.01", "none (EUH208 fragrance)"),
        ("Skin Sens. 1A", "0.099", "none (EUH208 fragrance)"),
    ] {
        assert_eq!(
            answer(vec![some("fragrance", share, &[class])]),
            expected,
            "{class} {share}"
        );
    }
}

/// The same page says that more than 1 % of sensitisers in total gives H317.
/// That overstates: CLP Annex I, 3.4.3.3.1 asks for "at least one ingredient"
/// at or above the limit and never adds them up.
#[test]
fn sensitisers_are_never_added_up() {
    assert_eq!(
        answer(vec![
            some("one", "0.6", &["Skin Sens. 1B"]),
            some("two", "0.6", &["Skin Sens. 1B"]),
        ]),
        "none (EUH208 one, two)"
    );
}

/// Belgian public-health institute, workshop "How to classify mixtures under
/// CLP", 2014; Western Australia, Work Health and Safety Regulations 2022,
/// Schedule 6: 1.0 %, 0.1 % and 1.0 %.
#[test]
fn limits_of_sensitisers() {
    for (class, share, expected) in [
        ("Skin Sens. 1", "0.5", "none (EUH208 x)"),
        ("Skin Sens. 1", "1.0", "Skin Sens. 1 H317"),
        ("Skin Sens. 1A", "0.1", "Skin Sens. 1A H317"),
        ("Skin Sens. 1B", "0.9", "none (EUH208 x)"),
        ("Skin Sens. 1B", "1.0", "Skin Sens. 1B H317"),
    ] {
        assert_eq!(answer(vec![some("x", share, &[class])]), expected);
        assert_eq!(
            answer_by(
                Jurisdiction::Gb,
                &Form::Solid,
                vec![some("x", share, &[class])]
            ),
            expected
        );
    }
    // Canada (Hazardous Products Regulations, 8.4) and the UN's stricter
    // option take 0.1 % for category 1.
    assert_eq!(
        answer_by(
            Jurisdiction::Un,
            &Form::Solid,
            vec![some("x", "0.5", &["Skin Sens. 1"])]
        ),
        "Skin Sens. 1 H317"
    );
}

/// Of 100 parts of wax and 10 of oil every limit is asked of the 110: with
/// binary floats 11 % of the oil falls short of 1 %, which it is exactly.
/// (CLP Annex I, 3.1.3.3 (a): limits are shares of the finished thing.)
#[test]
fn a_load_of_wax_is_a_share_of_everything() {
    let mixture = Mixture::of(&[
        part("100", Vec::new()),
        part("10", vec![some("fragrance", "11", &["Skin Sens. 1B"])]),
    ])
    .unwrap();
    let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
    assert_eq!(told(&mixture, &answer), "Skin Sens. 1B H317");
    assert_eq!(mixture.substances[0].concentration.to_string(), "1 %");
}
