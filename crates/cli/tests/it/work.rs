//! `work`: calculations as JSON in and JSON out.

use serde_json::{Value, json};

use crate::run::{Said, run};

#[track_caller]
fn work(name: &str, input: &Value) -> Value {
    let said = run(&["work", name], &input.to_string());
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    serde_json::from_str(&said.out).unwrap()
}

#[track_caller]
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// The avoirdupois ounce in grams: NIST SP 811 (2008), Appendix B.8.
const OUNCE: f64 = 28.349_523_125;

/// 16.7 oz of wax with 2 oz of oil is about 12.0 % of wax and 10.7 % of the
/// melt (common practice, no source); 2 ÷ 18.7 by hand.
#[test]
fn a_weigh_out_is_answered() {
    let output = work(
        "weigh-out",
        &json!({
            "blend": [
                { "name": "soy container wax", "parts": "90", "max_load": "10 % of wax" },
                { "name": "paraffin melt wax", "parts": "10" },
            ],
            "load": "12 % of wax",
            "target": { "wax": "16.7 oz" },
            "readability": "0.1 oz",
        }),
    );
    let portions = output["portions"].as_array().unwrap();
    let of = |key: &str| -> Vec<&str> {
        let texts = portions.iter().map(|portion| portion[key].as_str());
        texts.map(Option::unwrap).collect()
    };
    assert_eq!(
        of("name"),
        ["soy container wax", "paraffin melt wax", "fragrance oil"]
    );
    assert_eq!(of("weight"), ["15.0 oz", "1.7 oz", "2.0 oz"]);
    assert_eq!(of("running"), ["15.0 oz", "16.7 oz", "18.7 oz"]);
    assert!((number(&portions[0]["grams"]) - 15.0 * OUNCE).abs() < 1e-5);
    assert_eq!(output["total"], "18.7 oz");
    assert_eq!(output["load_of_wax"], "12.0 %");
    assert_eq!(output["load_of_total"], "10.7 %");
    let notes = output["notes"].to_string();
    assert!(notes.contains("Over the blend's stated maximum"), "{notes}");
    check_working(&output);
}

#[track_caller]
fn check_working(output: &Value) {
    let steps = output["working"].as_array().unwrap();
    assert!(!steps.is_empty());
    for step in steps {
        for key in ["label", "formula", "numbers", "result", "source"] {
            assert!(step[key].is_string(), "{key} in {step}");
        }
    }
}

#[test]
fn a_weigh_out_takes_each_of_its_targets() {
    let of = |target: Value| {
        let input = json!({
            "blend": [{ "name": "soy wax", "parts": "100" }],
            "load": "10 % of wax", "target": target, "readability": "0.1 oz",
        });
        let output = work("weigh-out", &input);
        output["total"].as_str().unwrap().to_owned()
    };
    assert_eq!(of(json!({ "wax": "10 oz" })), "11.0 oz");
    assert_eq!(of(json!({ "total": "11 oz" })), "11.0 oz");
    let units = json!({ "units": 10, "unit_weight": "1 oz", "loss": "1 oz" });
    assert_eq!(of(units), "11.0 oz");
}

/// A second pour of 19.5 oz filled all twelve (common practice, no source).
#[test]
fn advice_on_a_melt_is_answered_and_holds_what_the_next_pour_took() {
    let mut input = json!({
        "cavities": 12,
        "nominal_unit": null,
        "pours": [{ "poured": "18.7 oz", "filled": 11, "left": "0 oz", "unit_weights": ["1.5 oz", "1.6 oz"] }],
        "want": 12,
        "chance": "90 %",
    });
    let first = work("fill-advice", &input);
    for key in [
        "melt",
        "melt_low",
        "melt_high",
        "unit_weight",
        "unit_spread",
        "loss",
    ] {
        let text = first[key].as_str().unwrap();
        let ounces: f64 = text.strip_suffix(" oz").unwrap().parse().unwrap();
        let grams = number(&first[format!("{key}_g")]);
        assert!(
            (ounces * OUNCE - grams).abs() < 0.1 * OUNCE,
            "{key}: {text}, {grams} g"
        );
    }
    check_working(&first);
    let range = |output: &Value| {
        (
            number(&output["melt_low_g"]) / OUNCE,
            number(&output["melt_high_g"]) / OUNCE,
        )
    };
    let (low, high) = range(&first);
    assert!(low < 19.5 && 19.5 < high, "{low} to {high}");
    let second = json!({ "poured": "19.5 oz", "filled": 12, "left": "0 oz", "unit_weights": ["1.5 oz", "1.6 oz"] });
    input["pours"].as_array_mut().unwrap().push(second);
    let (next_low, next_high) = range(&work("fill-advice", &input));
    assert!(
        next_high - next_low < high - low,
        "{next_low} to {next_high}"
    );
}

/// Seven clamshells at 5 to 8 take 35 to 56, eleven bars at 4 to 6 take 44 to
/// 66 (common practice, no source); the rest by hand.
#[test]
fn formats_are_compared() {
    let output = work(
        "compare-formats",
        &json!({
            "wax": "16 oz",
            "formats": [
                { "name": "bar", "units": 11, "price": { "low": "4 USD", "typical": "5 USD", "high": "6 USD" }, "unit_cost": "1.10 USD", "minutes": "40 min" },
                { "name": "clamshell", "units": 7, "price": { "low": "5 USD", "typical": "6.50 USD", "high": "8 USD" }, "unit_cost": "1.40 USD", "minutes": "60 min" },
            ],
        }),
    );
    let revenue = |at: usize, key: &str| output["formats"][at]["revenue"][key].clone();
    assert_eq!(revenue(0, "low"), "44.00 USD");
    assert_eq!(revenue(0, "high"), "66.00 USD");
    assert_eq!(revenue(1, "low"), "35.00 USD");
    assert_eq!(revenue(1, "high"), "56.00 USD");
    let bar = &output["formats"][0];
    assert_eq!(bar["cost"], "12.10 USD");
    assert_eq!(bar["profit"]["typical"], "42.90 USD");
    // 16 oz are a pound, and forty minutes two thirds of an hour.
    assert_eq!(bar["profit_per_lb"]["typical"], "42.90 USD");
    assert_eq!(bar["profit_per_hour"]["typical"], "64.35 USD");
    // (42.90 + 7 × 1.40) ÷ 7
    assert_eq!(output["equal_at"][0]["format"], "clamshell");
    assert_eq!(output["equal_at"][0]["per_batch"]["typical"], "7.53 USD");
    check_working(&output);
}

const BAD: &str = r#"{"blend":[{"name":"soy wax","parts":"-3"}],"load":"12","target":{"wax":"12 parsecs"},"readability":"1.2.3 oz"}"#;
const BAD_FIELDS: [&str; 4] = ["blend[0].parts", "load", "target.wax", "readability"];

#[test]
fn every_problem_is_named_with_its_field() {
    let said = run(&["work", "weigh-out"], BAD);
    assert_eq!((said.code, said.out.as_str()), (2, ""));
    let lines: Vec<_> = said.err.lines().collect();
    assert_eq!(lines.len(), BAD_FIELDS.len(), "{}", said.err);
    for (line, field) in lines.iter().zip(BAD_FIELDS) {
        assert!(line.starts_with(&format!("{field}: ")), "{line}");
    }
    assert!(
        lines[2].contains("\"parsecs\" is not a unit of weight"),
        "{}",
        lines[2]
    );
}

#[test]
fn every_problem_is_named_as_json_when_asked() {
    let said = run(&["work", "weigh-out", "--json"], BAD);
    assert_eq!((said.code, said.out.as_str()), (2, ""));
    let problems: Value = serde_json::from_str(&said.err).unwrap();
    let problems = problems["problems"].as_array().unwrap();
    let fields: Vec<_> = problems.iter().map(|problem| &problem["field"]).collect();
    assert_eq!(fields, BAD_FIELDS);
    for problem in problems {
        for key in ["given", "wrong", "accepted"] {
            assert!(
                problem[key].as_str().is_some_and(|text| !text.is_empty()),
                "{problem}"
            );
        }
    }
}

/// The names of the calculations, as the command lists them.
fn listed() -> Vec<String> {
    let list = run(&["work", "--list"], "");
    assert_eq!(list.code, 0);
    let names = list
        .out
        .lines()
        .filter_map(|line| line.split_whitespace().next());
    names.map(str::to_owned).collect()
}

#[test]
fn what_is_not_an_input_is_refused() {
    let names = listed();
    let refused = |input: &str| {
        for name in &names {
            let Said { code, out, err } = run(&["work", name], input);
            assert_eq!((code, out.as_str()), (2, ""), "{name} given {input}");
            assert!(!err.contains("panicked"), "{name}: {err}");
        }
    };
    refused("");
    refused("[1");
    refused("null");
    refused("[]");
    refused("\"16.7 oz\"");
    refused("{\"no such field\": 1}");
    refused("{\"load\": {\"load\": [[[]]]}}");
    refused(&"[".repeat(100_000));
}

#[test]
fn calculations_are_listed_and_have_schemas() {
    let names = listed();
    for name in [
        "load",
        "weigh-out",
        "fill-advice",
        "net-weight",
        "declare",
        "overfill",
        "unit-cost",
        "compare-formats",
        "channel-price",
        "market-day",
        "sale-or-return",
        "parcel",
        "inventory-value",
        "trace",
        "classify",
        "ufi",
        "label-elements",
    ] {
        assert!(names.iter().any(|listed| listed == name), "{name}");
    }
    for name in names {
        let said = run(&["work", &name, "--schema"], "");
        assert_eq!(said.code, 0);
        let schemas: Value = serde_json::from_str(&said.out).unwrap();
        for side in ["input", "output"] {
            let properties = schemas[side]["properties"].as_object().unwrap();
            assert!(!properties.is_empty(), "{name}, {side}");
        }
    }
    let unknown = run(&["work", "nonsense"], "{}");
    assert_eq!(unknown.code, 2);
    assert!(
        unknown.err.contains("pourwright work --list"),
        "{}",
        unknown.err
    );
    assert_eq!(run(&["work"], "{}").code, 2);
}

/// A reader that has seen enough is no failure worth words.
#[cfg(unix)]
#[test]
fn a_closed_pipe_ends_it_quietly() {
    use std::process::Stdio;
    for args in [
        &["work", "--list"][..],
        &["work", "load", "--schema"],
        &["config"],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut command = crate::server::pourwright();
        let output = command
            .args(args)
            .stdout(writer)
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{args:?}");
        assert_eq!(output.status.code(), Some(141), "{args:?}");
    }
}
