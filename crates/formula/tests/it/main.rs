//! What the formula crate promises, feature by feature.
#![expect(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a helper of a test fails as its asserts do, and these floats are exact figures"
)]

mod blends;
mod hostile;
mod laws;
mod loads;
mod rescaling;
mod weighing;

use formula::{
    Bench, Blend, Dye, Formula, FragranceLoad, Part, PartKind, Plan, Target, plan, weigh_out,
};
use measure::{Decimal, Mass, Problems, Readability, Typed};
use serde_json::Value;

fn mass(text: &str) -> Mass {
    Typed::<Mass>::parse(text).unwrap().value()
}

fn load(text: &str) -> FragranceLoad {
    text.parse().unwrap()
}

fn bench(step: &str) -> Bench {
    Bench::new(Readability::try_new(&Typed::parse(step).unwrap()).unwrap())
}

fn part(name: &str, parts: i64, max_load: Option<&str>) -> Part {
    Part {
        name: name.to_owned(),
        parts: Decimal::from(parts),
        max_load: max_load.map(load),
        kind: PartKind::Wax,
    }
}

fn plain(load_text: &str) -> Formula {
    Formula {
        blend: Blend::try_new(vec![part("soy container wax", 1, None)]).unwrap(),
        load: load(load_text),
        dyes: Vec::<Dye>::new(),
    }
}

/// 90 parts soy with a limit, 10 parts paraffin without one.
fn nine_to_one(load_text: &str) -> Formula {
    Formula {
        blend: Blend::try_new(vec![
            part("soy container wax", 90, Some("10 % of wax")),
            part("paraffin melt wax", 10, None),
        ])
        .unwrap(),
        load: load(load_text),
        dyes: Vec::new(),
    }
}

fn planned(formula: &Formula, target: Target, step: &str) -> Plan {
    plan(formula, target, &bench(step)).unwrap()
}

/// Runs `weigh-out` on JSON as it arrives, and returns JSON as it leaves.
#[track_caller]
fn weigh(input: Value) -> Value {
    serde_json::to_value(try_weigh(input).expect("this input is right")).unwrap()
}

fn try_weigh(input: Value) -> Result<weigh_out::Output, Problems> {
    weigh_out::calculate(&measure::parse_input(input)?)
}

fn texts(value: &Value) -> Vec<&str> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|text| text.as_str().unwrap())
        .collect()
}
