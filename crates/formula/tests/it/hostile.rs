use serde_json::{Value, json};

use crate::try_weigh;

/// Every problem as `field: what is wrong`.
#[track_caller]
fn refused(input: Value, expected: &[&str]) {
    let problems = try_weigh(input).unwrap_err();
    let found: Vec<String> = problems
        .iter()
        .map(|problem| format!("{}: {}", problem.field, problem.wrong))
        .collect();
    assert_eq!(found, expected);
    assert!(problems.iter().all(|problem| !problem.accepted.is_empty()));
}

fn with(field: &str, value: Value) -> Value {
    let mut input = json!({
        "blend": [{ "name": "soy", "parts": "90" }, { "name": "palm", "parts": "10" }],
        "load": "8 % of wax",
        "target": { "wax": "500 g" },
    });
    input[field] = value;
    input
}

#[test]
fn nothing_at_all() {
    refused(
        json!({}),
        &[
            "blend: a blend needs at least one wax",
            "load: a fragrance load is missing",
            "target: the target is missing",
        ],
    );
}

#[test]
fn everything_wrong_comes_back_together() {
    refused(
        json!({
            "blend": [{ "parts": "ninety" }, { "name": "palm", "parts": "-10", "max_load": "10 %", "kind": "oil" }],
            "load": "8 %",
            "target": { "units": "2.5", "unit_weight": "-3 g", "loss": "100 %" },
            "readability": "0 g",
            "dyes": [{ "amount": "some" }],
            "tare": "1.2.3 oz",
            "melter": "12 parsecs",
            "flash_point": "hot",
            "add_at": "-400 C",
            "in_pot": ["NaN"],
        }),
        &[
            "blend[0].name: the ingredient has no name",
            "blend[0].parts: there is no number at the start",
            "blend[1].parts: parts cannot be negative",
            "blend[1].max_load: the load does not say of what: of wax or of total",
            "blend[1].kind: an ingredient is one or the other",
            "load: the load does not say of what: of wax or of total",
            "target.units: that is not a whole number",
            "target.unit_weight: a weight cannot be negative",
            "target.loss: everything melted would be lost",
            "readability: a scale cannot read to nothing",
            "dyes[0].amount: there is no percent sign",
            "tare: the number has more than one decimal mark",
            "melter: \"parsecs\" is not a unit of weight",
            "in_pot[0]: there is no number at the start",
            "flash_point: there is no number at the start",
            "add_at: nothing is colder than -273.15 °C",
        ],
    );
}

#[test]
fn targets() {
    refused(
        with("target", json!({})),
        &["target: the target is missing"],
    );
    refused(
        with("target", json!({ "wax": "1 g", "total": "2 g" })),
        &["target: there is more than one target"],
    );
    refused(
        with("target", json!({ "wax": "0 g" })),
        &["target.wax: the weight is nothing"],
    );
    refused(
        with("target", json!({ "wax": "1 kg", "loss": "1 %" })),
        &["target.loss: it does not go with a target in wax"],
    );
    refused(
        with("target", json!({ "units": 3 })),
        &["target.unit_weight: a weight is missing"],
    );
    refused(
        with("target", json!({ "fills": 0, "unit_weight": "1 g" })),
        &[
            "target.fills: the number has to be at least one",
            "target.cavities: the number is missing",
        ],
    );
    refused(
        with("target", json!({ "units": 1e300, "unit_weight": "1 g" })),
        &["target.units: the number is too large or too fine"],
    );
    refused(
        with(
            "target",
            json!({ "units": 10_000, "unit_weight": "9000000000 kg" }),
        ),
        &["target: that is more than this can reckon with"],
    );
    refused(
        with("target", json!({ "units": 10_001, "unit_weight": "1 g" })),
        &["target.units: nobody pours so many at once"],
    );
    refused(
        with(
            "target",
            json!({ "fills": 1e9, "cavities": 1e9, "unit_weight": "9000 kg" }),
        ),
        &[
            "target.fills: nobody pours so many at once",
            "target.cavities: nobody pours so many at once",
        ],
    );
    refused(
        with(
            "target",
            json!({ "fills": 101, "cavities": 100, "unit_weight": "1 oz" }),
        ),
        &["target.fills: that makes 10100 units"],
    );
    refused(
        with("target", json!({ "total": "9000000000000000000 g" })),
        &["target.total: the weight is too large"],
    );
    refused(
        with("target", json!({ "wax": "1000001 kg" })),
        &["target: that is more than this can reckon with"],
    );
}

#[test]
fn blends() {
    refused(
        with(
            "blend",
            json!([{ "name": "soy", "parts": 0 }, { "name": "palm", "parts": "0" }]),
        ),
        &["blend: every ingredient has zero parts"],
    );
    refused(
        with(
            "blend",
            json!([{ "name": "soy", "parts": "90 %" }, { "name": "palm", "parts": "5 %" }]),
        ),
        &["blend: the percentages add up to 95 %"],
    );
    refused(
        with(
            "blend",
            json!([{ "name": "soy", "parts": "90 %" }, { "name": "palm", "parts": "10" }]),
        ),
        &["blend: some ingredients are in percent and some in parts"],
    );
    let most = "79228162514264337593543950335";
    refused(
        with(
            "blend",
            json!([{ "name": "soy", "parts": most }, { "name": "palm", "parts": most }]),
        ),
        &["blend: the parts are too large to add up"],
    );
    // One alone is a share of one, however it is written.
    assert!(try_weigh(with("blend", json!([{ "name": "soy", "parts": most }]))).is_ok());
    let least = "0.0000000000000000000000000001";
    assert!(try_weigh(with("blend", json!([{ "name": "soy", "parts": least }]))).is_ok());
}

#[test]
fn scales_and_dyes() {
    refused(
        with("readability", json!("5 kg")),
        &["readability: the scale is too coarse: the wax rounds to nothing"],
    );
    refused(
        with("dyes", json!([{ "amount": "60 %" }, { "amount": "60 %" }])),
        &["dyes: dye and fragrance leave no room for wax"],
    );
    let mut drowned = with(
        "dyes",
        json!([{ "amount": "10 drops", "drop_weight": "1 kg" }]),
    );
    drowned["target"] = json!({ "total": "500 g" });
    refused(drowned, &["dyes: dye and fragrance leave no room for wax"]);
}

#[test]
fn a_field_that_does_not_exist_is_named() {
    let problems = try_weigh(with("laod", json!("8 % of wax"))).unwrap_err();
    assert!(problems.0[0].wrong.contains("unknown field `laod`"));
}

#[test]
fn more_lines_than_a_pot_holds_are_refused() {
    let blend: Vec<Value> = (1..=51)
        .map(|i| json!({ "name": format!("wax {i}"), "parts": i }))
        .collect();
    refused(
        with("blend", json!(blend)),
        &["blend: there are more lines than one pot holds"],
    );
    let dyes = vec![json!({ "name": "blue", "amount": "0.1 % of wax" }); 51];
    refused(
        with("dyes", json!(dyes)),
        &["dyes: there are more lines than one pot holds"],
    );
}

#[test]
fn fifty_ingredients_still_add_up() {
    let blend: Vec<Value> = (1..=50)
        .map(|i| json!({ "name": format!("wax {i}"), "parts": i, "max_load": "10 % of wax" }))
        .collect();
    let mut input = with("blend", json!(blend));
    input["target"] = json!({ "wax": "1000 kg" });
    input["readability"] = json!("0.000001 g");
    let out = try_weigh(input).unwrap();
    assert_eq!(out.portions.len(), 51);
    assert_eq!(out.wax_g, 1e6);
    assert_eq!(out.max_load.as_deref(), Some("10.00 % of wax"));
}
