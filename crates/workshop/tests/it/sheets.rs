//! Sheets as they are filed, superseded and confirmed line by line.

use hazard::{Cas, Class, Language, Share};
use jiff::civil::date;
use measure::{Decimal, System};
use workshop::Refusal;
use workshop::decide::{self, Filing};
use workshop::facts::{LabelSettings, LineBasis, Market, Rest, SheetLine, SupplyId, SupplyKind};

use crate::book::{Book, Mould, WAX, percent};

const OIL: SupplyId = SupplyId(2);
const BAG: SupplyId = SupplyId(3);

fn workshop() -> Book {
    let mut book = Book::new(System::Us, "0.1 oz", None, Mould::bare(12));
    for (kind, name) in [
        (SupplyKind::FragranceOil, "Harbour Fig oil"),
        (SupplyKind::Wrap, "bag"),
    ] {
        let decided = decide::define_supply(&book.workshop, kind, name, None, None);
        book.fact(decided);
    }
    book
}

fn line(name: &str, cas: Option<&str>, share: &str) -> SheetLine {
    SheetLine {
        name: name.to_owned(),
        cas: cas.map(|cas| Cas::parse(cas).unwrap()),
        share: share.parse::<Share>().unwrap(),
        classes: Some(vec![Class::SkinSens1B.into()]),
        m_acute: None,
        m_chronic: None,
        estimates: vec![],
        limits: vec![],
        basis: LineBasis::OwnSheet,
        confirmed: false,
    }
}

fn filing(lines: Vec<SheetLine>) -> Filing {
    Filing {
        supplier: "Saltmarsh Scents".to_owned(),
        dated: Some(date(2026, 3, 14)),
        version: "2.1".to_owned(),
        lines,
        rest: Rest::NotHazardous,
        older_is_meant: false,
    }
}

fn file(book: &Book, supply: SupplyId, filing: Filing) -> decide::Decision {
    decide::file_sheet(&book.workshop, supply, filing, book.day)
}

#[track_caller]
fn refused(decided: decide::Decision, expected: &[(&str, &str)]) {
    match decided {
        Err(Refusal::Input(problems)) => {
            let said: Vec<_> = problems
                .iter()
                .map(|problem| (problem.field.as_str(), problem.wrong.as_str()))
                .collect();
            assert_eq!(said, expected);
        }
        other => panic!("not refused for what was put in: {other:?}"),
    }
}

#[test]
fn the_sheet_filed_last_is_in_force_and_the_ones_before_stay_readable() {
    let mut book = workshop();
    book.fact(file(
        &book,
        OIL,
        filing(vec![line("linalool", Some("78-70-6"), "5 - 10 %")]),
    ));
    let newer = Filing {
        dated: Some(date(2026, 8, 1)),
        version: "3.0".to_owned(),
        ..filing(vec![line("linalool", Some("78-70-6"), "12 %")])
    };
    book.fact(file(&book, OIL, newer));
    let sheet = book.workshop.sheet(OIL).unwrap();
    assert_eq!((sheet.number, sheet.version.as_str()), (2, "3.0"));
    assert_eq!(sheet.lines[0].share.to_string(), "12 %");
    assert_eq!(
        book.workshop.sheets(OIL)[0].lines[0].share.to_string(),
        "5 - 10 %"
    );
    assert_eq!(book.workshop.sheet(WAX), None);
}

#[test]
fn every_line_is_confirmed_by_itself() {
    let mut book = workshop();
    let lines = vec![
        line("linalool", Some("78-70-6"), "5 %"),
        line("fig accord", None, "1 %"),
    ];
    book.fact(file(&book, OIL, filing(lines)));
    let open = |book: &Book| book.workshop.sheet(OIL).unwrap().unconfirmed().count();
    assert_eq!(open(&book), 2);
    book.fact(decide::confirm_sheet_line(&book.workshop, OIL, 1, 1));
    assert_eq!(open(&book), 1);
    let sheet = book.workshop.sheet(OIL).unwrap();
    assert!(!sheet.lines[0].confirmed && sheet.lines[1].confirmed);
    // Said twice, it is written down once.
    assert_eq!(
        decide::confirm_sheet_line(&book.workshop, OIL, 1, 1),
        Ok(vec![])
    );
    assert_eq!(
        decide::confirm_sheet_line(&book.workshop, OIL, 1, 2),
        Err(Refusal::Unknown {
            what: "line",
            id: "3".to_owned()
        })
    );
    assert_eq!(
        decide::confirm_sheet_line(&book.workshop, WAX, 1, 0),
        Err(Refusal::Unknown {
            what: "sheet",
            id: "1".to_owned()
        })
    );
    book.fact(file(
        &book,
        OIL,
        filing(vec![line("linalool", None, "5 %")]),
    ));
    assert_eq!(open(&book), 1);
    refused(
        decide::confirm_sheet_line(&book.workshop, OIL, 1, 0),
        &[("sheet", "a newer sheet was filed meanwhile")],
    );
}

#[test]
fn a_sheet_that_cannot_be_right_is_refused_with_everything_wrong_at_once() {
    let book = workshop();
    let mut odd = line("", Some("78-70-6"), "60 %");
    odd.m_acute = Some(3);
    odd.m_chronic = Some(0);
    let wrong = Filing {
        supplier: " ".to_owned(),
        dated: Some(date(2026, 9, 2)),
        ..filing(vec![odd, line("linalool", Some("78-70-6"), "50 - 70 %")])
    };
    refused(
        file(&book, OIL, wrong),
        &[
            ("sheet_supplier", "it is missing"),
            ("dated", "that day is still to come"),
            ("lines[0].name", "it is missing"),
            (
                "lines[0].m_acute",
                "a multiplying factor is 1, 10, 100 and so on",
            ),
            (
                "lines[0].m_chronic",
                "a multiplying factor is 1, 10, 100 and so on",
            ),
            ("lines[1].cas", "line 1 has the same CAS number"),
            ("lines", "the lines together are more than the whole"),
        ],
    );
    refused(
        file(&book, BAG, filing(vec![])),
        &[("", "it goes by count and is no part of the melt")],
    );
    let whole = (0..10).map(|n| line(&format!("part {n}"), None, "10 %"));
    assert!(file(&book, OIL, filing(whole.collect())).is_ok());
    // Ranges whose upper ends pass the whole are usual.
    let ranges = (0..3).map(|n| line(&format!("part {n}"), None, "25 - 50 %"));
    assert!(file(&book, OIL, filing(ranges.collect())).is_ok());
}

#[test]
fn an_older_sheet_is_asked_about() {
    let mut book = workshop();
    book.fact(file(&book, OIL, filing(vec![])));
    let older = Filing {
        dated: Some(date(2025, 3, 14)),
        ..filing(vec![])
    };
    refused(
        file(&book, OIL, older.clone()),
        &[("dated", "the sheet on file is newer, of 2026-03-14")],
    );
    let meant = Filing {
        older_is_meant: true,
        ..older
    };
    assert!(file(&book, OIL, meant).is_ok());
}

#[test]
fn a_certificate_is_of_an_oil_and_within_the_whole() {
    let mut book = workshop();
    let day = book.day;
    refused(
        decide::file_certificate(
            &book.workshop,
            WAX,
            "",
            percent("101 %"),
            Some(date(2027, 1, 1)),
            day,
        ),
        &[
            ("", "it is not a fragrance oil"),
            ("category", "it is missing"),
            ("maximum", "that is more than the whole article"),
            ("certificate_dated", "that day is still to come"),
        ],
    );
    let decided = decide::file_certificate(&book.workshop, OIL, "12", percent("35 %"), None, day);
    book.fact(decided);
    let certificate = book.workshop.certificate(OIL).unwrap();
    assert_eq!(certificate.maximum.percent(), Decimal::from(35));
}

#[test]
fn a_label_needs_a_market_a_language_and_who_sells_it() {
    let mut book = workshop();
    let blank = LabelSettings {
        markets: vec![],
        languages: vec![],
        name: String::new(),
        address: String::new(),
        phone: String::new(),
        vat: String::new(),
    };
    let settle = |book: &Book, settings| decide::settle_labels(&book.workshop, settings);
    refused(
        settle(&book, blank.clone()),
        &[
            ("markets", "nowhere is chosen"),
            ("languages", "no language is chosen"),
        ],
    );
    let sold = LabelSettings {
        markets: vec![Market::Gb, Market::Eu, Market::Gb],
        languages: vec![Language::De, Language::En, Language::De],
        ..blank.clone()
    };
    refused(
        settle(&book, sold.clone()),
        &[
            ("supplier_name", "it is missing"),
            ("address", "it is missing"),
            ("phone", "it is missing"),
        ],
    );
    let named = LabelSettings {
        name: "Quillfen Wax Works".to_owned(),
        address: "3 Quarry Lane, Port Averin".to_owned(),
        phone: "01 555 0147".to_owned(),
        ..sold
    };
    book.fact(settle(&book, named));
    let kept = book.workshop.label_settings().unwrap();
    assert_eq!(kept.markets, [Market::Eu, Market::Gb]);
    assert_eq!(kept.languages, [Language::De, Language::En]);
    assert_eq!(kept.jurisdiction(), Some(hazard::Jurisdiction::Eu));
    // Where only United States goods are sold, no such law asks for a supplier.
    let overseas = LabelSettings {
        markets: vec![Market::Us],
        languages: vec![Language::En],
        ..blank
    };
    assert!(settle(&book, overseas).is_ok());
}
