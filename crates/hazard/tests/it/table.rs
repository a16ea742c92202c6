//! The compiled tables against the types, and what a first fill says.

use std::collections::BTreeSet;

use hazard::table::{self, Basis, compare};
use hazard::{Cas, Class, Hazard, Share};

fn row(cas: &str) -> &'static table::Substance {
    table::substance(Cas::parse(cas).expect("a CAS number")).expect("a row")
}

fn share() -> Share {
    "5 - 10 %".parse().expect("a range")
}

#[test]
fn every_row_of_substances_can_be_read() {
    assert_eq!(table::all().len(), 391);
    let mut seen = BTreeSet::new();
    for row in table::all() {
        let cas = row.cas();
        assert_eq!(Cas::parse(&cas.to_string()).unwrap(), cas);
        assert!(seen.insert(cas), "{cas} twice");
        assert_eq!(table::substance(cas), Some(row));
        let first = row.ingredient(share());
        let hazards = first.ingredient.hazards.unwrap();
        assert_eq!(hazards.len(), first.basis.len());
        let classes: BTreeSet<_> = hazards.iter().map(|hazard| hazard.class).collect();
        assert_eq!(classes.len(), hazards.len(), "{cas}: a class twice");
        let harmonised = first.basis.contains(&Basis::Harmonised);
        assert_eq!(harmonised, !row.edition.is_empty(), "{cas}");
        assert!(!row.source.is_empty(), "{cas}");
    }
}

// The counts the list was made with: classes of the harmonised list, classes
// that a public list gives too, classes from memory.
#[test]
fn what_each_class_rests_on_is_kept() {
    let count = |basis| {
        table::all()
            .iter()
            .flat_map(|row| row.classes)
            .filter(|class| class.basis == basis)
            .count()
    };
    let rows = table::all()
        .iter()
        .filter(|row| !row.edition.is_empty())
        .count();
    assert_eq!(rows, 49);
    assert_eq!(
        (count(Basis::Corroborated), count(Basis::Unconfirmed)),
        (202, 677)
    );
    assert_eq!(count(Basis::Sheet), 0);
    let none = table::all().iter().filter(|row| row.classes.is_empty());
    assert_eq!(none.count(), 45);
}

// CLP Annex VI, Table 3, index 601-096-00-2 (17th adaptation), d-limonene:
// Flam. Liq. 3, Asp. Tox. 1, Skin Irrit. 2, Skin Sens. 1B, Aquatic Acute 1 with
// M = 1, Aquatic Chronic 3.
#[test]
fn limonene_is_filled_from_the_harmonised_list() {
    let first = row("5989-27-5").ingredient(share());
    let codes: Vec<String> = first
        .ingredient
        .hazards
        .unwrap()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        codes,
        [
            "Flam. Liq. 3 H226",
            "Asp. Tox. 1 H304",
            "Skin Irrit. 2 H315",
            "Skin Sens. 1B H317",
            "Aquatic Acute 1 H400",
            "Aquatic Chronic 3 H412"
        ]
    );
    assert!(first.basis.iter().all(|basis| *basis == Basis::Harmonised));
    assert_eq!(first.ingredient.m_acute, Some(1));
}

#[test]
fn a_factor_from_memory_is_asked_for_and_never_filled_in() {
    let amber = row("54464-57-2");
    assert_eq!(amber.m_chronic, Some((1, Basis::Unconfirmed)));
    let first = amber.ingredient(share());
    assert_eq!(first.ingredient.m_chronic, None);
    assert!(
        first
            .questions
            .iter()
            .any(|asked| asked.contains("chronic M-factor")),
        "{:?}",
        first.questions
    );
}

// CLP Annex VI, Table 3: isoeugenol, Skin Sens. 1A; H317: C >= 0.01 %; methyl
// salicylate, ATE oral 890 mg/kg; p-cymene, ATE 3 mg/l (vapours).
#[test]
fn harmonised_limits_and_estimates_come_along() {
    let isoeugenol = row("97-54-1").ingredient(share()).ingredient;
    assert_eq!(isoeugenol.bands.len(), 1);
    assert_eq!(isoeugenol.bands[0].class, Class::SkinSens1A);
    assert_eq!(isoeugenol.bands[0].from.to_string(), "0.01");
    let oral = row("119-36-8").ingredient(share()).ingredient.estimates;
    assert_eq!(oral[0].value.to_string(), "890");
    let vapour = row("99-87-6").ingredient(share()).ingredient.estimates;
    assert_eq!(
        (vapour.len(), vapour[0].value.to_string().as_str()),
        (1, "3")
    );
}

#[test]
fn a_name_or_the_head_of_a_number_finds_it() {
    let names =
        |text: &str| -> Vec<&str> { table::search(text, 5).iter().map(|row| row.name).collect() };
    assert_eq!(names("linalool")[0], "Linalool");
    assert_eq!(names("78-70-6"), ["Linalool"]);
    assert!(names("PHENYLMETHANOL").contains(&"Benzyl alcohol"));
    assert_eq!(names("  "), Vec::<&str>::new());
    assert_eq!(names("no such thing"), Vec::<&str>::new());
    assert!(table::search("a", 3).len() == 3);
}

#[test]
fn where_sheet_and_table_differ_both_are_shown() {
    let limonene = row("5989-27-5");
    let mut sheet = limonene.ingredient(share()).ingredient;
    assert_eq!(compare(&sheet, limonene), []);
    // A sheet that gives Aquatic Chronic 1 and no skin irritation, with M = 10.
    sheet.hazards = Some(
        [
            "Flam. Liq. 3 H226",
            "Asp. Tox. 1 H304",
            "Skin Sens. 1B H317",
            "Aquatic Acute 1 H400",
            "Aquatic Chronic 1 H410",
            "Eye Irrit. 2 H319",
        ]
        .map(|text| Hazard::parse(text).unwrap())
        .to_vec(),
    );
    sheet.m_acute = Some(10);
    let told: Vec<String> = compare(&sheet, limonene)
        .iter()
        .map(|found| format!("{}: {} / {}", found.about, found.sheet, found.table))
        .collect();
    assert_eq!(
        told,
        [
            "Skin Irrit. 2: not given / Skin Irrit. 2 H315",
            "Aquatic Chronic 3: Aquatic Chronic 1 H410 / Aquatic Chronic 3 H412",
            "Eye Irrit. 2: Eye Irrit. 2 H319 / not given",
            "M-factor, acute: 10 / 1",
        ]
    );
    sheet.hazards = None;
    sheet.m_acute = None;
    assert_eq!(compare(&sheet, limonene), []);
}

#[test]
fn the_table_of_classes_is_what_the_classes_say() {
    let mut left: BTreeSet<Class> = Class::ALL.iter().copied().collect();
    for row in table::classes() {
        // A pyrophoric or unstable gas is listed with the gas it is.
        let codes: Vec<&str> = row.code.split(", ").collect();
        let mut h_codes: Vec<&str> = Vec::new();
        let mut signal = None;
        let mut pictograms = BTreeSet::new();
        for code in codes {
            let class = Class::ALL
                .iter()
                .copied()
                .find(|class| {
                    class.code() == code && class.h_codes().iter().all(|h| row.h_codes.contains(h))
                })
                .unwrap_or_else(|| panic!("{code} is no class"));
            left.remove(&class);
            h_codes.extend(class.h_codes());
            signal = signal.or(class.signal_word());
            pictograms.extend(class.pictograms().iter().map(|one| one.code()));
        }
        assert_eq!(h_codes, row.h_codes, "{}", row.code);
        let word = signal.map_or(String::new(), |word| word.to_string());
        assert_eq!(word, row.signal, "{}", row.code);
        let listed: BTreeSet<&str> = row.pictograms.iter().copied().collect();
        assert_eq!(pictograms, listed, "{}", row.code);
    }
    assert!(left.is_empty(), "{left:?}");
}
