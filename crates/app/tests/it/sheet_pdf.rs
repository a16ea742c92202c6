//! Sheets as PDF, printed by a browser from the pages beside them.
//!
//! Makers, oils and shares are invented; what each sheet says was written by
//! hand in its `.expected`: CAS number, share, classes, name, and the rest.

use std::collections::BTreeSet;

use app::sheet_pdf;
use hazard::sheet::{Proposal, calculation::Proposed};

macro_rules! sheet {
    ($name:literal) => {
        (
            $name,
            include_bytes!(concat!("sheets/", $name, ".pdf")).as_slice(),
            include_str!(concat!("sheets/", $name, ".expected")),
        )
    };
}

const SHEETS: &[(&str, &[u8], &str)] = &[
    sheet!("ruled.de"),
    sheet!("tight.fr"),
    sheet!("stacked-cells.en"),
    sheet!("pairs.es"),
];
const PICTURE: &[u8] = include_bytes!("sheets/only-a-picture.pdf");

fn expected_items(expected: &str) -> BTreeSet<String> {
    let mut items = BTreeSet::new();
    for line in expected.lines() {
        let mut parts = line.split('|').map(str::trim);
        let cas = parts.next().unwrap_or_default();
        for (kind, part) in ["share", "class", "name", "fact"].into_iter().zip(parts) {
            let split = if kind == "class" || kind == "fact" {
                ", "
            } else {
                "|"
            };
            for item in part
                .split(split)
                .filter(|item| !item.is_empty() && *item != "not classified")
            {
                items.insert(format!("{cas} {kind} {item}"));
            }
        }
    }
    items
}

fn read_items(proposals: &[Proposal]) -> BTreeSet<String> {
    let mut items = BTreeSet::new();
    for proposal in proposals {
        let line = Proposed::from(proposal).ingredient;
        let cas = line.cas.unwrap_or_default();
        items.insert(format!("{cas} name {}", line.name));
        items.insert(format!("{cas} share {}", line.share));
        for class in line.classification.unwrap_or_default() {
            items.insert(format!("{cas} class {class}"));
        }
        for (field, value) in [
            ("m_acute", proposal.m_acute.map(|factor| factor.to_string())),
            (
                "m_chronic",
                proposal.m_chronic.map(|factor| factor.to_string()),
            ),
            ("ate_oral", line.ate_oral),
            ("ate_dermal", line.ate_dermal),
            ("ate_inhal_vapour", line.ate_inhal_vapour),
            ("ate_inhal_mist", line.ate_inhal_mist),
        ] {
            items.extend(value.map(|value| format!("{cas} fact {field} {value}")));
        }
        for limit in &line.scl {
            items.insert(format!("{cas} fact scl {} {}", limit.class, limit.limit));
        }
    }
    items
}

#[test]
fn precision_and_recall_over_four_printed_sheets() {
    let (mut right, mut read, mut due) = (0, 0, 0);
    let mut wrong = Vec::new();
    for (name, pdf, expected) in SHEETS {
        let sheet = sheet_pdf::read(pdf.to_vec()).unwrap();
        assert!(sheet.has_heading && sheet.head.supplier.is_some(), "{name}");
        assert!(
            sheet.head.dated.is_some() && sheet.head.version.is_some(),
            "{name}"
        );
        let (expected, found) = (expected_items(expected), read_items(&sheet.proposals));
        right += expected.intersection(&found).count();
        (read, due) = (read + found.len(), due + expected.len());
        wrong.extend(
            expected
                .symmetric_difference(&found)
                .map(|item| format!("{name}: {item}")),
        );
    }
    assert_eq!((right, read), (due, due), "{wrong:#?}");
}

#[track_caller]
fn refused(pdf: Vec<u8>, wrong: &str) {
    let problems = sheet_pdf::text(pdf).unwrap_err();
    assert_eq!(problems.of("pdf").unwrap().wrong, wrong);
}

#[test]
fn what_cannot_be_read_is_a_problem() {
    refused(Vec::new(), "there is no file");
    refused(b"a letter, not a sheet".to_vec(), "that is not a PDF");
    refused(b"%PDF-1.7 and nothing more".to_vec(), "that PDF is broken");
    refused(
        vec![b' '; sheet_pdf::LARGEST + 1],
        "that file is larger than 10 MB",
    );
    refused(
        PICTURE.to_vec(),
        "there is no text in that PDF, only pictures",
    );
}

/// Without its table from glyphs to letters a subset font says nothing.
#[test]
fn glyphs_that_cannot_be_told_are_not_guessed() {
    let (_, pdf, _) = SHEETS[3];
    let mut blind = pdf.to_vec();
    let table = b"/ToUnicode";
    let places: Vec<usize> = (0..pdf.len() - table.len())
        .filter(|at| pdf[*at..].starts_with(table))
        .collect();
    assert!(!places.is_empty());
    for at in places {
        blind[at + 1] = b'X';
    }
    refused(
        blind,
        "the letters of that PDF cannot be told from its glyphs",
    );
}

#[test]
fn a_damaged_file_never_panics() {
    for (_, pdf, _) in SHEETS {
        for end in (0..pdf.len()).step_by(pdf.len() / 12) {
            let _ = sheet_pdf::text(pdf[..end].to_vec());
        }
        for at in (7..pdf.len()).step_by(pdf.len() / 25) {
            let mut hurt = pdf.to_vec();
            hurt[at] ^= 0x55;
            let _ = sheet_pdf::text(hurt);
        }
    }
}
