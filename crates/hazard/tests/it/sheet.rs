//! Reading section 3 of a safety data sheet, on sheets of invented oils.
//!
//! Each `.expected` beside a sheet was written by hand from it: CAS number,
//! share, classes, name, and factors, limits and estimates. The shares and the
//! makers are invented, the substances are not.

use std::collections::BTreeSet;

use hazard::sheet::{self, Proposal, calculation::Input};

macro_rules! sheet {
    ($text:literal, $expected:literal) => {
        (
            $text,
            include_str!(concat!("sheets/", $text)),
            include_str!(concat!("sheets/", $expected)),
        )
    };
}
const SHEETS: &[(&str, &str, &str)] = &[
    sheet!("tabs.en.txt", "tabs.en.expected"),
    sheet!("spaces-wrapped.de.txt", "spaces-wrapped.de.expected"),
    sheet!("one-cell-a-line.fr.txt", "one-cell-a-line.fr.expected"),
    sheet!("bars.es.txt", "bars.es.expected"),
    sheet!("any-order.csv", "any-order.expected"),
    sheet!("blocks.en.txt", "blocks.en.expected"),
    sheet!("single-spaces.en.txt", "single-spaces.en.expected"),
    sheet!("codes-apart.de.txt", "codes-apart.de.expected"),
    sheet!("share-first.en.txt", "share-first.en.expected"),
    sheet!("stacked.en.txt", "stacked.en.expected"),
];

/// What a sheet says in single statements, so that they can be counted.
fn expected_items(expected: &str) -> BTreeSet<String> {
    let mut items = BTreeSet::new();
    for line in expected.lines() {
        let parts: Vec<&str> = line.split('|').map(str::trim).collect();
        let [cas, share, classes, name, more] = parts.as_slice() else {
            panic!("five parts: {line}");
        };
        items.insert(format!("{cas} is there"));
        items.insert(format!("{cas} share {share}"));
        items.insert(format!("{cas} name {name}"));
        for class in classes.split(", ") {
            items.insert(format!("{cas} class {class}"));
        }
        for fact in more.split(", ").filter(|fact| !fact.is_empty()) {
            items.insert(format!("{cas} {fact}"));
        }
    }
    items
}

fn read_items(proposals: &[Proposal]) -> BTreeSet<String> {
    let mut items = BTreeSet::new();
    for proposal in proposals {
        let line = sheet::calculation::Proposed::from(proposal).ingredient;
        let cas = line.cas.unwrap_or_else(|| format!("[{}]", line.name));
        items.insert(format!("{cas} is there"));
        items.insert(format!("{cas} name {}", line.name));
        if !line.share.is_empty() {
            items.insert(format!("{cas} share {}", line.share));
        }
        match line.classification.as_deref() {
            Some([]) => {
                items.insert(format!("{cas} class not classified"));
            }
            Some(classes) => {
                items.extend(classes.iter().map(|class| format!("{cas} class {class}")));
            }
            None => {}
        }
        items.extend(
            proposal
                .m_acute
                .map(|factor| format!("{cas} m_acute {factor}")),
        );
        items.extend(
            proposal
                .m_chronic
                .map(|factor| format!("{cas} m_chronic {factor}")),
        );
        items.extend(line.ate_oral.map(|value| format!("{cas} ate_oral {value}")));
        items.extend(
            line.ate_dermal
                .map(|value| format!("{cas} ate_dermal {value}")),
        );
        items.extend(
            line.ate_inhal_vapour
                .map(|value| format!("{cas} ate_inhal_vapour {value}")),
        );
        items.extend(
            line.ate_inhal_mist
                .map(|value| format!("{cas} ate_inhal_mist {value}")),
        );
        items.extend(
            line.scl
                .iter()
                .map(|limit| format!("{cas} scl {} {}", limit.class, limit.limit)),
        );
    }
    items
}

/// Every heading of section 3 used to be held against every line.
#[test]
fn many_headings_are_gone_through_once() {
    let table = "78-70-6  Linalool  5 - 10 %  Skin Sens. 1B H317";
    let near = format!("SECTION 3: Composition\n{table}\nSECTION 4\n");
    let read = sheet::read(&format!("SECTION 3: see below\nSECTION 16\n{near}")).unwrap();
    assert_eq!(read.proposals.len(), 1);
    assert_eq!(read.proposals[0].lines[0].number, 4);
    let many = "SECTION 3: Composition\n".repeat(80_000);
    assert!(sheet::read(&many).is_err());
}

#[test]
fn precision_and_recall_over_ten_layouts() {
    let (mut right, mut read, mut due) = (0, 0, 0);
    let mut wrong = Vec::new();
    for (name, text, expected) in SHEETS {
        let found = sheet::read(text).unwrap();
        let (expected, found_items) = (expected_items(expected), read_items(&found.proposals));
        right += expected.intersection(&found_items).count();
        read += found_items.len();
        due += expected.len();
        for missed in expected.difference(&found_items) {
            wrong.push(format!("{name}: missed {missed}"));
        }
        for invented in found_items.difference(&expected) {
            wrong.push(format!("{name}: invented {invented}"));
        }
    }
    assert_eq!((right, read), (due, due), "{wrong:#?}");
}

fn only(text: &str) -> Proposal {
    let mut sheet = sheet::read(text).expect("there is text, and not too much");
    assert_eq!(sheet.proposals.len(), 1, "{:?}", sheet.proposals);
    sheet.proposals.remove(0)
}

#[track_caller]
fn doubtful(text: &str, field: &str, wrong: &str) -> Proposal {
    let proposal = only(text);
    assert!(
        proposal
            .doubts
            .iter()
            .any(|doubt| doubt.field == field && doubt.wrong.contains(wrong)),
        "{:?}",
        proposal.doubts
    );
    proposal
}

#[test]
fn what_is_doubtful_is_said() {
    let proposal = doubtful(
        "Linalool\t78-70-5\t5 - 10 %\tSkin Irrit. 2 H315",
        "cas",
        "check digit",
    );
    assert_eq!(
        (proposal.cas, proposal.share.map(|share| share.to_string())),
        (None, Some("5 - 10 %".to_owned()))
    );
    let proposal = doubtful(
        "Linalool\t78-70-6\t5 - 10\tH315, H317",
        "classification",
        "only the statement",
    );
    assert_eq!(proposal.hazards.unwrap().len(), 2);
    doubtful(
        "Linalool\t78-70-6\t5 - 10\tH315",
        "share",
        "no percent sign",
    );
    doubtful(
        "Linalool\t78-70-6\t\tSkin Irrit. 2 H315",
        "share",
        "no share",
    );
    doubtful(
        "Linalool\t78-70-6\t5 - 10 %\t",
        "classification",
        "no class",
    );
    doubtful(
        "Linalool\t78-70-6\tca. 5 %\tSkin Irrit. 2 H315",
        "share",
        "about",
    );
    doubtful(
        "Linalool\t78-70-6\t10 - 5 %\tSkin Irrit. 2 H315",
        "share",
        "not a share",
    );
    doubtful(
        "Linalool\t78-70-6\t5 %\tAcute Tox. 4",
        "classification",
        "several hazards",
    );
    doubtful(
        "Linalool\t78-70-6\t5 %\tAquatic Acute 1 H400 (M=3)",
        "m_acute",
        "an M-factor is 1, 10, 100",
    );
    doubtful(
        "Linalool\t78-70-6\t5 %\tAquatic Acute 1 H400 Aquatic Chronic 1 H410 M=10",
        "m_acute",
        "acute or chronic",
    );
    doubtful(
        "Linalool\t78-70-6\t201-134-5\t5 %\tSkin Irrit. 2 H315",
        "ec",
        "last digit",
    );
    doubtful(
        "Linalool\t78-70-6\t5 %\tAcute Tox. 4 H302 ATE = 500 mg/kg",
        "ate",
        "by which way",
    );
    doubtful(
        "Linalool\t78-70-6\t5 %\tSkin sensitisation, category 1B (H317)",
        "classification",
        "taken for Skin Sens. 1B",
    );
    doubtful(
        "Musk blend\t\t5 %\tSkin Irrit. 2 H315",
        "cas",
        "no CAS number",
    );
    let proposal = only("Linalool\t78-70-6\t5 %\tNot classified");
    assert_eq!(
        (proposal.hazards, proposal.doubts),
        (Some(Vec::new()), Vec::new())
    );
}

#[test]
fn what_is_not_understood_is_listed() {
    let sheet = sheet::read(
        "Linalool\t78-70-6\t5 %\tSTOT RE 2 H373 (liver)\tNote C\nOdd things happen here",
    )
    .unwrap();
    let left: Vec<(usize, &str)> = sheet
        .not_understood
        .iter()
        .map(|line| (line.number, line.text.as_str()))
        .collect();
    assert_eq!(left.len(), 3, "{left:?}");
    assert!(sheet.proposals[0].lines.iter().any(|line| line.number == 1));
}

#[test]
fn shares_are_read_in_every_dress() {
    for (text, share) in [
        ("\u{2265} 10 \u{2013} < 25 %", "10 - < 25 %"),
        (">=1-<2.5%", "1 - < 2.5 %"),
        ("50 - 100", "50 - 100 %"),
        ("2,5 bis < 10 Gew.-%", "2.5 - < 10 %"),
        ("1 \u{e0} 5 %", "1 - 5 %"),
        (">= 1 and < 5 %", "1 - < 5 %"),
        ("\u{2264} 0,1 % (w/w)", "<= 0.1 %"),
        ("< 1", "< 1 %"),
        ("> 90%", "> 90 %"),
        ("max. 5 %", "<= 5 %"),
        ("10% - 25%", "10 - 25 %"),
        ("3.2 % w/w", "3.2 %"),
        ("7", "7 %"),
    ] {
        let proposal = only(&format!(
            "Name\tCAS\tConc. [%]\tClass\nLinalool\t78-70-6\t{text}\tSkin Irrit. 2 H315"
        ));
        assert_eq!(
            proposal.share.map(|share| share.to_string()).as_deref(),
            Some(share),
            "{text}"
        );
        assert_eq!(proposal.name, "Linalool");
    }
}

#[test]
fn factors_limits_and_estimates_are_read_in_every_dress() {
    let read = |text: &str| {
        let proposal = only(&format!(
            "Linalool\t78-70-6\t5 %\tAcute Tox. 4 H302 Skin Sens. 1 H317 Aquatic Acute 1 H400 Aquatic Chronic 1 H410\t{text}"
        ));
        read_items(&[proposal])
            .into_iter()
            .filter(|item| item.contains("m_") || item.contains("scl") || item.contains("ate_"))
            .map(|item| item["78-70-6 ".len()..].to_owned())
            .collect::<Vec<_>>()
            .join("; ")
    };
    for (text, items) in [
        ("M (Acute)=1; M (Chronic)=10", "m_acute 1; m_chronic 10"),
        (
            "M-Faktor (akut): 1, M-Faktor (chronisch): 1",
            "m_acute 1; m_chronic 1",
        ),
        ("Facteur M (aigu) = 100", "m_acute 100"),
        ("M=10 (chronic)", "m_chronic 10"),
        ("M acute = 1 000", "m_acute 1000"),
        (
            "Skin Sens. 1; H317: C \u{2265} 0,01 %",
            "scl Skin Sens. 1 >= 0.01 %",
        ),
        ("H317: C >= 0.5 %", "scl Skin Sens. 1 >= 0.5 %"),
        (
            "C \u{2265} 2 %: Skin Sens. 1 H317",
            "scl Skin Sens. 1 >= 2 %",
        ),
        (
            "Skin Irrit. 2; H315: 5 % \u{2264} C < 25 %",
            "scl Skin Irrit. 2 >= 5 % < 25 %",
        ),
        (
            "Eye Irrit. 2; H319: C >= 10 % - < 25 %",
            "scl Eye Irrit. 2 >= 10 % < 25 %",
        ),
        ("ATE (oral) = 500 mg/kg", "ate_oral 500 mg/kg"),
        ("dermal: ATE = 1100 mg/kg bw", "ate_dermal 1100 mg/kg"),
        (
            "ATE Inhalation (Dampf): 11 mg/l",
            "ate_inhal_vapour 11 mg/l",
        ),
        (
            "ATE (inhalation) = 1.5 mg/l (dust/mist)",
            "ate_inhal_mist 1.5 mg/l",
        ),
        ("LD50 oral > 2000 mg/kg", "ate_oral > 2000 mg/kg"),
    ] {
        assert_eq!(read(text), items, "{text}");
    }
}

#[test]
fn numbers_of_substances_are_told_apart() {
    let proposal = only(
        "Eugenol\t97-53-0\t202-589-1\t604-094-00-X\t01-2119971802-33-0001\t1 - 5 %\tSkin Sens. 1B H317",
    );
    assert_eq!(proposal.cas.unwrap().to_string(), "97-53-0");
    assert_eq!(proposal.ec.as_deref(), Some("202-589-1"));
    assert_eq!(proposal.index.as_deref(), Some("604-094-00-X"));
    assert_eq!(proposal.reach.as_deref(), Some("01-2119971802-33-0001"));
    assert!(proposal.doubts.is_empty(), "{:?}", proposal.doubts);
}

/// What was read goes into a classification as it is.
#[test]
fn proposals_are_taken_by_classify() {
    for (name, text, _) in SHEETS {
        let input = Input {
            text: Some((*text).to_owned()),
        };
        let read = serde_json::to_value(sheet::calculate(&input).unwrap()).unwrap();
        let proposals = read["proposals"].as_array().unwrap();
        // The upper ends of the ranges of one oil may pass 100 %; one at a time.
        for proposal in proposals {
            let classify = serde_json::json!({
                "jurisdiction": "EU", "date": "2026-12-01", "unlisted": "not hazardous",
                "mixture": [proposal["ingredient"]],
            });
            let input = serde_json::from_value(classify).unwrap();
            let answer = hazard::classify::calculate(&input);
            assert!(answer.is_ok(), "{name}: {answer:?}");
        }
    }
}

#[test]
fn a_proposal_is_an_ingredient_only_with_a_share() {
    assert!(
        only("Linalool\t78-70-6\t5 %\tNot classified")
            .ingredient()
            .is_some()
    );
    assert!(
        only("Linalool\t78-70-6\t\tNot classified")
            .ingredient()
            .is_none()
    );
}

#[test]
fn no_text_and_far_too_much_text_are_problems() {
    for text in [
        String::new(),
        " \n\t".to_owned(),
        "x".repeat(sheet::LONGEST + 1),
        "\n1".repeat(6_000),
    ] {
        let input = Input { text: Some(text) };
        assert!(sheet::calculate(&input).unwrap_err().of("text").is_some());
    }
    assert!(sheet::calculate(&Input::default()).is_err());
}

#[test]
fn a_quote_that_is_never_closed_hides_no_line() {
    let text = "ATE (oral) = 500 mg/kg;5 - 10 %;\"ATE (oral) = 500 mg/kg\nZebra oil";
    let sheet = sheet::read(text).unwrap();
    let left = sheet.not_understood.iter().map(|left| left.number);
    let read = sheet.proposals.iter().flat_map(|proposal| &proposal.lines);
    let told: Vec<usize> = left.chain(read.map(|line| line.number)).collect();
    assert!(told.contains(&2), "{sheet:?}");
}

proptest::proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,200}") {
        let _ = sheet::read(&text);
    }

    #[test]
    fn no_mixture_of_its_words_panics(words in proptest::collection::vec(proptest::sample::select(WORDS), 0..40)) {
        let text: String = words.concat();
        if let Ok(sheet) = sheet::read(&text) {
            // Every line with a word in it is somewhere.
            for (line, number) in text.split('\n').zip(1..) {
                // A quoted cell may run over several lines, told by the first.
                let spans = |first: usize, text: &str| (first..=first + text.matches('\n').count()).contains(&number);
                let told = sheet.not_understood.iter().any(|left| spans(left.number, &left.text))
                    || sheet.proposals.iter().any(|proposal| proposal.lines.iter().any(|line| spans(line.number, &line.text)));
                let told = told || sheet.headings.iter().any(|head| head.number == number);
                let odd = line.contains("Zebra");
                proptest::prop_assert!(told || !odd, "{line:?} in {text:?}");
            }
        }
    }
}

const WORDS: &[&str] = &[
    "\n",
    "\n",
    "\t",
    "   ",
    " ",
    "|",
    ";",
    "\n\n",
    "Zebra oil",
    "78-70-6",
    "5989-27-5",
    "201-134-4",
    "5 - 10 %",
    "< 1",
    "Skin Sens.",
    "1B",
    "H317",
    "Skin Irrit. 2 H315",
    "C >= 0,1 %",
    "M=10",
    "M",
    "ATE (oral) = 500 mg/kg",
    "Not classified",
    "CAS",
    "Name:",
    "Conc. [%]",
    "Classification",
    ":",
    "(",
    ")",
    "-",
    "%",
    "\u{2265}",
    "\"",
];
