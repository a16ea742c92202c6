//! What a label says of its good: weight, wrapping, maker, date, number.

use measure::System;
use netweight::Rule;
use workshop::decide::{self, Decision};
use workshop::facts::{MakerDetails, PourId, ProductId, SupplyId, SupplyKind, TareOf};
use workshop::{Refusal, ground_of_weight, size_of_lot, tare_of, weights_of_lot};

use crate::book::{Book, MOULD, Mould, WAX, filled, mass};

const GOOD: ProductId = ProductId(1);
const OTHER: ProductId = ProductId(2);
const FOIL: SupplyId = SupplyId(2);
const LABEL: SupplyId = SupplyId(3);

/// Two goods of one formula, packed in foil with two labels.
fn book() -> Book {
    let mut book = Book::new(System::Us, "0.05 oz", None, Mould::bare(12));
    for (kind, name) in [(SupplyKind::Wrap, "foil"), (SupplyKind::Label, "label")] {
        book.fact(decide::define_supply(
            &book.workshop,
            kind,
            name,
            None,
            None,
        ));
    }
    for name in ["Harbour Fig bar", "Rainy Loft bar"] {
        let packing = vec![(FOIL, 1), (LABEL, 2)];
        let formula = workshop::facts::FormulaId(1);
        book.fact(decide::define_product(
            &book.workshop,
            name,
            formula,
            MOULD,
            packing,
        ));
    }
    book
}

/// A finished lot of the first good.
fn lot(book: &mut Book, weights: &[&str]) -> PourId {
    let pour = book.workshop.next_pour();
    let portion = workshop::facts::Portion {
        supply: WAX,
        weight: mass("19.5 oz"),
    };
    let (formula, day) = (workshop::facts::FormulaId(1), book.day);
    book.fact(decide::start_pour(
        &book.workshop,
        formula,
        Some(MOULD),
        Some(GOOD),
        12,
        vec![portion],
        day,
    ));
    book.fact(decide::weigh(&book.workshop, pour, 0, mass("19.5 oz")));
    book.fact(decide::pour_out(&book.workshop, pour, None, None));
    book.fact(decide::count(
        &book.workshop,
        pour,
        filled(12, "0.6 oz"),
        None,
    ));
    book.fact(decide::demould(&book.workshop, pour));
    if !weights.is_empty() {
        book.weigh_units(pour, weights);
    }
    book.finish(pour, 12);
    pour
}

#[track_caller]
fn refused(decided: Decision, field: &str, wrong: &str) {
    let Err(Refusal::Input(problems)) = decided else {
        panic!("not refused: {decided:?}");
    };
    let found = problems.of(field).map(|problem| problem.wrong.as_str());
    assert_eq!(found, Some(wrong), "{problems}");
}

#[test]
fn a_declared_weight_keeps_what_was_known() {
    let mut book = book();
    lot(&mut book, &["1.5 oz", "1.6 oz"]);
    book.fact(decide::declare_weight(
        &book.workshop,
        GOOD,
        Rule::Us,
        mass("1.4 oz"),
        "",
    ));
    let stands = book.workshop.declared_weight(GOOD, Rule::Us).unwrap();
    assert_eq!(stands.declared.to_string(), "1.4 oz");
    assert_eq!((stands.ground.weighed, stands.ground.lots.len()), (2, 1));
    assert_eq!(
        stands.ground.average.as_ref().unwrap().to_string(),
        "1.550 oz"
    );
    assert_eq!(book.workshop.declared_weight(GOOD, Rule::Eu), None);
    // Said again, nothing is added.
    let again = decide::declare_weight(&book.workshop, GOOD, Rule::Us, mass("1.4 oz"), "");
    assert_eq!(again, Ok(vec![]));
    book.fact(decide::withdraw_weight(
        &book.workshop,
        GOOD,
        Rule::Us,
        "new mould",
    ));
    assert_eq!(book.workshop.declared_weights(GOOD).count(), 0);
    refused(
        decide::withdraw_weight(&book.workshop, GOOD, Rule::Us, "again"),
        "rule",
        "no weight is declared under these rules",
    );
}

#[test]
fn twice_the_truth_is_declared_only_with_a_reason() {
    let mut book = book();
    lot(&mut book, &["1.5 oz", "1.6 oz"]);
    let say = |weight, reason| {
        decide::declare_weight(&book.workshop, GOOD, Rule::Us, mass(weight), reason)
    };
    refused(
        say("3 oz", " "),
        "declare_reason",
        "no unit weighed so far holds 3 oz: the heaviest weighs 1.60 oz",
    );
    assert!(say("3 oz", "labels printed already").is_ok());
    assert!(say("1.6 oz", "").is_ok());
    refused(say("0 oz", ""), "declared", "that weighs nothing");
    let metric = decide::declare_weight(&book.workshop, GOOD, Rule::Eu, mass("1.4 oz"), "");
    refused(
        metric,
        "declared",
        "in the European Union a weight is declared in grams or kilograms",
    );
    let unknown = decide::declare_weight(&book.workshop, ProductId(9), Rule::Us, mass("1 oz"), "");
    assert_eq!(unknown.unwrap_err().to_string(), "there is no good 9");
}

/// By hand: foil 1.0 g, two labels of 0.3 g, 1.6 g together. Standard errors:
/// foil 0.1414/√2 = 0.1 g; labels nothing.
#[test]
fn wrappings_add_up() {
    let mut book = book();
    assert_eq!(tare_of(&book.workshop, GOOD), None);
    let weigh = |book: &mut Book, of, texts: &[&str]| {
        let weights = texts.iter().map(|text| mass(text)).collect();
        book.fact(decide::weigh_tares(&book.workshop, of, weights));
    };
    weigh(&mut book, TareOf::Supply(FOIL), &["0.9 g", "1.1 g"]);
    // A label is still missing.
    assert_eq!(tare_of(&book.workshop, GOOD), None);
    weigh(&mut book, TareOf::Supply(LABEL), &["0.3 g", "0.3 g"]);
    let tare = tare_of(&book.workshop, GOOD).unwrap();
    assert_eq!(tare.average, mass("1.6 g").value());
    assert!((tare.standard_error() - 0.1).abs() < 1e-9);
    // One label says nothing of how labels differ, and hides not how foil does.
    weigh(&mut book, TareOf::Supply(LABEL), &["0.3 g"]);
    let tare = tare_of(&book.workshop, GOOD).unwrap();
    assert_eq!(tare.weighed, 2);
    assert!((tare.standard_error() - 0.1).abs() < 1e-9);
    // Weighed together, that counts.
    weigh(&mut book, TareOf::Product(GOOD), &["1.7 g"]);
    assert_eq!(
        tare_of(&book.workshop, GOOD).unwrap().average,
        mass("1.7 g").value()
    );
    let wax = decide::weigh_tares(&book.workshop, TareOf::Supply(WAX), vec![mass("1 g")]);
    refused(wax, "tares", "wax goes into the pot, not around a unit");
    let none = decide::weigh_tares(&book.workshop, TareOf::Supply(FOIL), vec![]);
    refused(none, "tares", "no wrapping was weighed");
}

#[test]
fn wrapped_units_count_where_bare_ones_are_missing() {
    let mut book = book();
    let pour = lot(&mut book, &[]);
    let wrapped = vec![mass("45 g"), mass("46 g"), mass("47 g")];
    book.fact(decide::weigh_wrapped(&book.workshop, pour, wrapped));
    let of = |book: &Book| {
        let pour = book.workshop.pour(pour).unwrap();
        weights_of_lot(&book.workshop, pour).map(|lot| (lot.weights.len(), lot.wrapped))
    };
    // What the wrapping weighs is not known yet.
    assert_eq!(of(&book), None);
    let tares = vec![mass("1.6 g")];
    book.fact(decide::weigh_tares(
        &book.workshop,
        TareOf::Product(GOOD),
        tares,
    ));
    assert_eq!(of(&book), Some((3, true)));
    // 46 g less 1.6 g are 44.4 g, 1.566 oz.
    let ground = ground_of_weight(&book.workshop, GOOD);
    assert_eq!(ground.average.unwrap().to_string(), "1.566 oz");
    let light = decide::weigh_wrapped(&book.workshop, pour, vec![mass("1.5 g")]);
    refused(light, "wrapped", "the wrapping alone weighs as much");
    book.weigh_units(pour, &["1.55 oz", "1.6 oz"]);
    assert_eq!(of(&book), Some((2, false)));
    assert_eq!(size_of_lot(book.workshop.pour(pour).unwrap()), Some(12));
    book.fact(decide::weigh_wrapped(&book.workshop, pour, vec![]));
    assert!(book.workshop.pour(pour).unwrap().wrapped.is_empty());
}

/// The GTIN is the worked example of GS1's check digit calculator, 629104150021
/// with 3.
#[test]
fn a_good_has_its_date_and_its_number() {
    let mut book = book();
    let pour = lot(&mut book, &[]);
    let best = |book: &Book| {
        book.workshop
            .best_scent_by(book.workshop.pour(pour).unwrap())
    };
    assert_eq!(best(&book), None);
    book.fact(decide::set_shelf_life(&book.workshop, GOOD, Some(12)));
    assert_eq!(best(&book).unwrap().to_string(), "2027-09-01");
    let ever = decide::set_shelf_life(&book.workshop, GOOD, Some(0));
    refused(ever, "months", "a scent keeps from one month to ten years");
    book.fact(decide::assign_gtin(
        &book.workshop,
        GOOD,
        "629 1041-50021 3",
    ));
    assert_eq!(book.workshop.gtin(GOOD), Some("6291041500213"));
    for (text, wrong) in [
        (
            "6291041500214",
            "the check digit 4 does not belong to the digits before it",
        ),
        (
            "62910415002",
            "a trade item number has 8, 12, 13 or 14 digits",
        ),
        ("62910415O0213", "“O” is not a digit"),
        ("6291041500213", "that number stands for Harbour Fig bar"),
    ] {
        refused(
            decide::assign_gtin(&book.workshop, OTHER, text),
            "gtin",
            wrong,
        );
    }
    book.fact(decide::assign_gtin(&book.workshop, GOOD, ""));
    assert_eq!(book.workshop.gtin(GOOD), None);
}

#[test]
fn the_maker_has_a_name_and_an_address() {
    let mut book = book();
    let maker = MakerDetails {
        name: " Quillfen Wax Works ".to_owned(),
        lines: ["3 Quarry Lane", "", "Port Averin"]
            .map(str::to_owned)
            .into(),
        contact: "hello@quillfen.example".to_owned(),
        country: "ie".to_owned(),
    };
    book.fact(decide::settle_maker(&book.workshop, maker.clone()));
    let kept = book.workshop.maker().unwrap();
    assert_eq!(
        (kept.name.as_str(), kept.country.as_str()),
        ("Quillfen Wax Works", "IE")
    );
    assert_eq!(kept.lines, ["3 Quarry Lane", "Port Averin"]);
    assert_eq!(
        decide::settle_maker(&book.workshop, maker.clone()),
        Ok(vec![])
    );
    let wrong = |change: &dyn Fn(&mut MakerDetails)| {
        let mut maker = maker.clone();
        change(&mut maker);
        decide::settle_maker(&book.workshop, maker)
    };
    refused(
        wrong(&|maker| maker.name.clear()),
        "maker_name",
        "it is missing",
    );
    refused(
        wrong(&|maker| maker.lines.clear()),
        "maker_address",
        "the address is missing",
    );
    refused(
        wrong(&|maker| maker.contact = "call us".to_owned()),
        "maker_contact",
        "it is neither an e-mail nor a web address",
    );
    refused(
        wrong(&|maker| maker.country = "Ireland".to_owned()),
        "maker_country",
        "a country has two letters here",
    );
}
