//! The calculation `classify` as it is asked and answered.

use hazard::classify::{Input, Output, calculate};
use serde_json::{Value, json};

fn ask(input: Value) -> Result<Output, measure::Problems> {
    calculate(&serde_json::from_value::<Input>(input).unwrap())
}

fn limonene(share: &str) -> Value {
    json!({
        "name": "limonene", "cas": "5989-27-5", "share": share,
        "classification": ["Flam. Liq. 3 H226", "Skin Irrit. 2 H315", "Skin Sens. 1B H317",
            "Asp. Tox. 1 H304", "Aquatic Acute 1 H400", "Aquatic Chronic 3 H412"],
        "m_acute": 1, "m_chronic": null,
        "ate_oral": null, "ate_dermal": null, "ate_inhal_vapour": null, "ate_inhal_mist": null,
        "scl": [{"class": "Skin Sens. 1", "limit": ">= 0.1 %"}],
    })
}

/// One substance in a solid; CLP Annex I, Tables 3.4.5 and 4.1.2.
#[test]
fn a_mixture_by_its_substances() {
    let output = ask(json!({
        "jurisdiction": "EU", "date": "2026-12-01", "form": "solid",
        "mixture": [limonene("3.2 %"),
            {"name": "musk", "share": "0.3 %", "classification": ["Aquatic Chronic 1 H410"], "m_chronic": "10"}],
        "unlisted": "not hazardous",
    }))
    .unwrap();
    // 10 × 0.3 × 10 + 3.2 (Chronic 3 counts once): 100 × 3 + 3.2 ≥ 25; 30 ≥ 25.
    assert_eq!(
        output.classification,
        ["Skin Sens. 1B H317", "Aquatic Chronic 2 H411"]
    );
    assert_eq!(output.hazard_statements, ["H317", "H411"]);
    assert_eq!(output.signal_word.unwrap().to_string(), "Warning");
    let pictograms: Vec<&str> = output.pictograms.iter().map(|one| one.code()).collect();
    assert_eq!(pictograms, ["GHS07", "GHS09"]);
    assert!(output.precautionary.contains(&"P273".to_owned()));
    assert!(
        output.precautionary.len() <= 6,
        "{:?}",
        output.precautionary
    );
    assert_eq!(output.named, ["limonene"]);
    assert_eq!(output.unknown.acute_oral, "0 %");
    assert_eq!(output.law, "EU CLP, 2026-12-01");
    let shown: Vec<String> = output
        .working
        .steps()
        .iter()
        .map(|step| {
            format!(
                "{} | {} | {} | {}",
                step.label, step.numbers, step.result, step.source
            )
        })
        .collect();
    assert_eq!(
        shown,
        [
            "Skin Irrit. 2 | 3.2 % (limonene) | 3.2 %, below 10 %: not Skin Irrit. 2 | CLP Annex I, \
             Table 3.2.3",
            "Skin Sens. 1B H317 | 3.2 % (limonene) | 3.2 %, at or above 0.1 %: Skin Sens. 1B H317 | \
             CLP Annex I, Table 3.4.5",
            "Aquatic Chronic 2 H411 | 100 × 0.3 % (musk) | 30 %, at or above 25 %: Aquatic Chronic 2 \
             H411 | CLP Annex I, Table 4.1.2",
            "Aquatic Acute 1 | 3.2 % (limonene) | 3.2 %, below 25 %: not Aquatic Acute 1 | CLP Annex \
             I, Table 4.1.1",
        ]
    );
}

#[test]
fn an_oil_at_a_load() {
    let with = |load: &str| {
        ask(json!({
            "jurisdiction": "GB", "date": "2026-12-01",
            "oil": [{"name": "citral", "cas": "5392-40-5", "share": "11 %",
                "classification": ["Skin Sens. 1 H317"]}],
            "load": load, "unlisted": "not hazardous",
        }))
        .unwrap()
    };
    // 11 % of 10 in 110 is exactly 1 %; of 9.09 in 100 it is less.
    assert_eq!(with("10 % of wax").classification, ["Skin Sens. 1 H317"]);
    let less = with("9.09 % of total");
    assert!(less.classification.is_empty());
    assert_eq!(less.supplemental[0].code, "EUH208");
    assert_eq!(less.supplemental[0].substances, ["citral"]);
    assert_eq!(less.near[0].value, "0.9999 %");
    assert_eq!(less.near[0].limit, "1 %");
    assert_eq!(with("1.6 oz per lb").classification, ["Skin Sens. 1 H317"]);
}

#[test]
fn what_is_unknown_is_shown() {
    let output = ask(json!({
        "jurisdiction": "EU", "date": "2026-12-01",
        "mixture": [
            {"name": "a", "share": "10 %", "classification": ["Acute Tox. 3 H301"]},
            {"name": "b", "share": "5 %"},
        ],
    }))
    .unwrap();
    // The 85 % that are not listed, and b.
    assert_eq!(output.unknown.acute_oral, "90 %");
    assert_eq!(output.unknown.aquatic, "90 %");
    assert_eq!(
        output.unknown.substances,
        ["b", "what the sheets do not list"]
    );
    // (100 − 90) ÷ (10 ÷ 100)
    assert_eq!(output.acute_estimates, ["oral: 100 mg/kg"]);
    assert_eq!(output.classification, ["Acute Tox. 3 H301"]);
}

#[test]
fn every_problem_at_once() {
    let problems = ask(json!({
        "jurisdiction": "XX", "date": "2026-13-01", "form": "jelly", "unlisted": "perhaps",
        "mixture": [
            {"name": "a", "share": "-3 %", "cas": "5989-27-6", "classification": ["Banana 1"],
                "m_acute": 3, "m_chronic": -10, "ate_oral": "5 mg/l",
                "scl": [{"class": "STOT SE 3", "limit": "5"}]},
            {"name": "b", "share": "60 %"},
            {"name": "", "share": "70 %"},
        ],
    }))
    .unwrap_err();
    let fields: Vec<&str> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "jurisdiction",
            "date",
            "form",
            "unlisted",
            "mixture[0].cas",
            "mixture[0].share",
            "mixture[0].classification[0]",
            "mixture[0].m_acute",
            "mixture[0].m_chronic",
            "mixture[0].ate_oral",
            "mixture[0].scl[0].class",
            "mixture[0].scl[0].limit",
            "mixture[2].name",
            "mixture",
        ]
    );
    assert_eq!(
        problems.of("mixture[0].m_acute").unwrap().wrong,
        "an M-factor is a power of ten"
    );
    assert_eq!(
        problems.of("mixture").unwrap().wrong,
        "the shares add up to more than 100 %"
    );
    for (input, field) in [
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01", "mixture": []}),
            "mixture",
        ),
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01"}),
            "mixture",
        ),
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01", "oil": []}),
            "load",
        ),
        (
            json!({"jurisdiction": "EU", "mixture": [limonene("1 %")]}),
            "date",
        ),
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01", "oil": [limonene("1 %")], "load": "8 %"}),
            "load",
        ),
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01", "oil": [limonene("101 %")],
                "load": "8 % of wax"}),
            "oil[0].share",
        ),
        (
            json!({"jurisdiction": "EU", "date": "2026-12-01", "mixture": [limonene("1 %")],
                "load": "8 % of wax"}),
            "load",
        ),
    ] {
        let problems = ask(input.clone()).unwrap_err();
        assert!(problems.of(field).is_some(), "{input}: {problems}");
    }
}

/// 15 U.S.C. 1261; 16 CFR 1500.13.
#[test]
fn the_united_states_have_no_such_duty() {
    let output = ask(json!({"jurisdiction": "US", "mixture": [limonene("50 %")]})).unwrap();
    assert!(output.classification.is_empty() && output.pictograms.is_empty());
    assert!(output.signal_word.is_none() && output.precautionary.is_empty());
    let said = output.notes.join(" ");
    assert!(said.contains("Federal Hazardous Substances Act"), "{said}");
    assert!(said.contains("bergamot"), "{said}");
}

#[test]
fn no_answer_calls_anything_safe() {
    for (jurisdiction, share) in [("EU", "0.01 %"), ("UN", "3 %"), ("US", "3 %")] {
        let output = ask(json!({
            "jurisdiction": jurisdiction, "date": "2026-12-01", "mixture": [limonene(share)],
        }))
        .unwrap();
        let text = serde_json::to_string(&output)
            .unwrap()
            .replace("safety data sheet", "");
        assert!(!text.to_lowercase().contains("safe"), "{text}");
        assert!(!output.caution.is_empty());
    }
}
