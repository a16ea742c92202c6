//! Every calculation by name.

use std::collections::BTreeSet;

use app::registry;
use serde_json::{Value, json};

/// The fields of an object, or those its schema names.
fn fields(of: &Value) -> BTreeSet<&str> {
    let object = of.as_object().unwrap();
    object.keys().map(String::as_str).collect()
}

#[test]
fn every_example_is_answered_with_its_working() {
    for calculation in registry::all() {
        let example: Value = serde_json::from_str(calculation.example).unwrap();
        let answer = calculation.run(example.clone()).unwrap();
        assert!(!answer["working"].as_array().unwrap().is_empty());
        let (input, output) = (calculation.input_schema(), calculation.output_schema());
        for (said, schema) in [(&example, input), (&answer, output)] {
            let schema = schema.to_value();
            let known = fields(&schema["properties"]);
            let unknown: Vec<_> = fields(said).difference(&known).copied().collect();
            assert!(unknown.is_empty(), "{}: {unknown:?}", calculation.name);
        }
        assert_eq!(
            calculation.run(example).unwrap(),
            answer,
            "it is the same again"
        );
    }
}

#[test]
fn a_calculation_is_found_by_its_name_alone() {
    let names: Vec<_> = registry::all().iter().map(|each| each.name).collect();
    let distinct: BTreeSet<_> = names.iter().collect();
    assert_eq!(distinct.len(), names.len());
    for name in names {
        assert_eq!(registry::find(name).unwrap().name, name);
        assert!(registry::find(&name.to_uppercase()).is_none());
    }
    assert!(registry::find("").is_none());
}

#[test]
fn what_is_no_input_is_refused_by_every_calculation() {
    for calculation in registry::all() {
        for input in [
            json!(null),
            json!([1, 2]),
            json!("8 % of wax"),
            json!({}),
            json!({ "lode": "8 % of wax" }),
        ] {
            let refused = calculation.run(input.clone());
            assert!(refused.is_err(), "{} took {input}", calculation.name);
        }
    }
}
