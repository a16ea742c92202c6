//! `print`: papers as files, and their text read back by poppler where it is.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::{Said, ask, keep_a_quick_pour, on, run};
use crate::server::{Server, pourwright};

/// A folder with a journal of one quick pour.
struct Kept {
    folder: tempfile::TempDir,
    journal: PathBuf,
    lot: String,
}

#[track_caller]
fn kept() -> Kept {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    let server = Server::start("serve", &journal);
    let pour = keep_a_quick_pour(&server);
    let page = ask(&server, "GET", &pour, "");
    let lot = page.split("Lot <strong>").nth(1).unwrap();
    let lot = lot.split('<').next().unwrap().to_owned();
    Kept {
        folder,
        journal,
        lot,
    }
}

impl Kept {
    fn print(&self, document: &str, output: &str, more: &[&str]) -> (Said, PathBuf) {
        let file = self.folder.path().join(output);
        let mut args = vec!["print", document, "-o", file.to_str().unwrap()];
        args.extend(more);
        (on(&self.journal, &args), file)
    }
}

/// The text of a PDF in reading order, where poppler is installed.
fn text_of(pdf: &Path) -> Option<String> {
    let read = Command::new("pdftotext").arg(pdf).arg("-").output();
    if read.is_err() {
        assert!(
            std::env::var("POURWRIGHT_PAPER").as_deref() != Ok("required"),
            "pdftotext is not installed"
        );
        eprintln!("left out: pdftotext is not installed");
    }
    let read = read.ok()?;
    assert!(read.status.success());
    Some(String::from_utf8(read.stdout).unwrap())
}

#[track_caller]
fn follow(text: &str, words: &[&str]) {
    let mut rest = text;
    for word in words {
        match rest.find(word) {
            Some(at) => rest = &rest[at + word.len()..],
            None => panic!("{word:?} does not follow in\n{text}"),
        }
    }
}

#[test]
fn every_document_is_named_with_what_it_wants() {
    let said = run(&["print", "--list"], "");
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let names: Vec<&str> = said
        .out
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(
        names,
        app::paper::all()
            .iter()
            .map(|paper| paper.name)
            .chain(app::proof::DOCUMENTS.map(|(name, ..)| name))
            .collect::<Vec<_>>()
    );
    assert!(said.out.contains("a lot or a supply"), "{}", said.out);
}

#[test]
fn a_pour_sheet_reads_in_its_order() {
    let kept = kept();
    let (said, file) = kept.print(
        "pour-sheet",
        "sheet.pdf",
        &["--lot", &kept.lot, "--page", "a4"],
    );
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(said.err, "Pour sheet, 1 page.\n");
    assert!(fs::read(&file).unwrap().starts_with(b"%PDF-"));
    if let Some(text) = text_of(&file) {
        follow(
            &text,
            &[
                "Harbour Fig",
                &kept.lot,
                "12 units hoped for",
                "Weigh, in this order",
                "soy wax",
                "16.7 oz",
                "Harbour Fig oil",
                "2.0 oz",
                "At the pot",
                "Unit weights, bare",
                "never put water on burning wax",
                "page 1 of 1",
            ],
        );
    }
}

#[test]
fn a_paper_goes_to_standard_output_or_becomes_a_picture() {
    let kept = kept();
    let output = pourwright()
        .args(["print", "packing-slip", "-o", "-", "--journal"])
        .arg(&kept.journal)
        .output()
        .unwrap();
    assert!(output.status.success());
    assert!(output.stdout.starts_with(b"%PDF-"));
    let (said, file) = kept.print("price-list", "list.svg", &[]);
    assert_eq!(
        (said.code, said.err.as_str()),
        (0, "Price list, page 1 of 1.\n")
    );
    assert!(fs::read_to_string(file).unwrap().contains("<svg"));
    let (said, _) = kept.print("price-list", "list.svg", &["--number", "2"]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert!(
        said.err.contains("there is no such page; it has 1"),
        "{}",
        said.err
    );
}

#[test]
fn what_is_wrong_is_answered_with_what_would_be_right() {
    let kept = kept();
    for (document, output, more, wanted) in [
        ("pour-shet", "a.pdf", vec![], "ask for pour-sheet,"),
        (
            "pour-sheet",
            "a.pdf",
            vec![],
            "--lot: which lot is missing; the latest are ",
        ),
        (
            "pour-sheet",
            "a.pdf",
            vec!["--lot", "1-1"],
            kept.lot.as_str(),
        ),
        ("pour-sheet", "a.sqlite", vec![], "end it in .pdf or .svg"),
        (
            "care-card",
            "a.pdf",
            vec!["--product", "Harbor Fig"],
            "there is no such good; add something you sell first",
        ),
        (
            "packing-slip",
            "a.pdf",
            vec!["--to", "Tide Shop 🐚"],
            "“🐚” (U+1F41A)",
        ),
        (
            "packing-slip",
            "a.pdf",
            vec!["--size", "a6"],
            "it takes to, order, line or page",
        ),
        (
            "scent-list",
            "a.pdf",
            vec!["--destination", "1"],
            "--destination: \"1\": scent-list takes no such option",
        ),
        (
            "labels",
            "a.pdf",
            vec!["--page", "a4"],
            "--page: \"a4\": labels takes no such option",
        ),
    ] {
        let (said, file) = kept.print(document, output, &more);
        assert_eq!(
            (said.code, said.out.as_str()),
            (2, ""),
            "{document}: {}",
            said.err
        );
        assert!(said.err.contains(wanted), "{document}: {}", said.err);
        assert!(!file.exists(), "{document}");
    }
}

/// A journal is never written over by a slip of the hand.
#[test]
fn a_journal_is_not_written_over() {
    let kept = kept();
    let before = fs::read(&kept.journal).unwrap();
    let journal = kept.journal.to_str().unwrap();
    let said = on(&kept.journal, &["print", "packing-slip", "-o", journal]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert_eq!(fs::read(&kept.journal).unwrap(), before);
}

#[test]
fn labels_are_printed_on_a_sheet_on_hand_from_any_place() {
    let folder = tempfile::tempdir().unwrap();
    let journal = folder.path().join("workshop.sqlite");
    drop(Server::start("demo", &journal));
    let kept = Kept {
        folder,
        journal,
        lot: String::new(),
    };
    let asked = [
        "--product",
        "Harbour Fig bar",
        "--stock",
        "14 strips, letter",
        "--count",
        "12",
        "--start",
        "5",
        "--destination",
        "By post to the United States",
    ];
    let (said, file) = kept.print("labels", "labels.pdf", &asked);
    assert_eq!(
        (said.code, said.err.as_str()),
        (
            0,
            "2 pages. Places from 3 on stay free on the last sheet.\n"
        )
    );
    assert!(fs::read(&file).unwrap().starts_with(b"%PDF-"));
    if let Some(text) = text_of(&file) {
        let text = text.replace('\u{a0}', " ");
        assert_eq!(text.matches("NET WT 1.4 OZ (39 g)").count(), 12, "{text}");
        assert!(!text.contains("PROOF"), "{text}");
    }
    // At home a newer sheet stands in the way: a proof, and the reason.
    let (said, _) = kept.print("labels", "proof.pdf", &asked[..6]);
    assert_eq!(said.code, 0);
    assert!(
        said.err.contains("Proof, not for sale: Harbour Fig bar."),
        "{}",
        said.err
    );
    let (said, _) = kept.print("calibration", "calibration.pdf", &["--stock", "1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let (said, _) = kept.print(
        "labels",
        "none.pdf",
        &["--product", "Nobody", "--stock", "none"],
    );
    assert_eq!(said.code, 2);
    for words in ["--product", "--stock", "--count"] {
        assert!(said.err.contains(words), "{words}: {}", said.err);
    }
}
