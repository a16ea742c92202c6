//! The ladder of an oil of sixty substances, beside the same loads solved by a
//! straightforward Python script in the same run, where Python is there.

use std::hint::black_box;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::Instant;

use criterion::{Criterion, criterion_group, criterion_main};
use hazard::rule::{Fraction, Term, Then, tests};
use hazard::{
    Form, Hazard, Ingredient, Jurisdiction, Mixture, Part, Pot, Rules, Share, Unlisted, ladder,
};
use jiff::civil::date;
use measure::Reading;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::{Value, json};

const SUBSTANCES: usize = 60;

/// What fragrance materials are classified as, in turn.
const CLASSES: [&[&str]; 9] = [
    &["Skin Sens. 1B H317", "Aquatic Chronic 3 H412"],
    &[
        "Skin Irrit. 2 H315",
        "Skin Sens. 1 H317",
        "Aquatic Acute 1 H400",
        "Aquatic Chronic 1 H410",
    ],
    &["Acute Tox. 4 H302", "Eye Dam. 1 H318"],
    &["Skin Irrit. 2 H315", "Eye Irrit. 2 H319"],
    &["Aquatic Chronic 2 H411"],
    &["Acute Tox. 3 H301", "STOT SE 3 H335"],
    &["Skin Sens. 1A H317"],
    &["Asp. Tox. 1 H304", "Skin Corr. 1B H314"],
    &["Repr. 2 H361f", "Aquatic Chronic 1 H410"],
];

fn oil() -> Part {
    let ingredients = (0..SUBSTANCES)
        .map(|n| Ingredient {
            name: format!("substance {n}"),
            cas: None,
            share: Share::parse(
                &match n % 3 {
                    0 => format!("{}.{} %", 1 + n % 4, n % 10),
                    1 => format!("0.{} - {} %", 1 + n % 9, 1 + n % 3),
                    _ => format!("{} - < {} %", n % 3 / 2, 2 + n % 3),
                },
                Reading::PLAIN,
            )
            .expect("a share"),
            hazards: (n % 20 != 19).then(|| {
                CLASSES[n % CLASSES.len()]
                    .iter()
                    .map(|class| Hazard::parse(class).expect("a class"))
                    .collect()
            }),
            m_acute: Some(if n % 5 == 0 { 10 } else { 1 }),
            m_chronic: Some(if n % 7 == 0 { 10 } else { 1 }),
            estimates: Vec::new(),
            bands: Vec::new(),
        })
        .collect();
    Part {
        name: "oil".to_owned(),
        weight: Decimal::from(12),
        ingredients,
        unlisted: Unlisted::NotHazardous,
    }
}

fn climbing(c: &mut Criterion) {
    let rules = Rules::of(Jurisdiction::Eu, date(2026, 11, 25));
    let base = [Part {
        name: "wax".to_owned(),
        weight: Decimal::ONE_HUNDRED,
        ingredients: Vec::new(),
        unlisted: Unlisted::NotHazardous,
    }];
    let oil = oil();
    let pot = Pot {
        base: &base,
        wax: Decimal::ONE_HUNDRED,
        oil: &oil,
    };
    let climb = || ladder(black_box(&pot), &rules, &Form::Solid).expect("a ladder");
    let found = climb();
    println!("{} rungs from {SUBSTANCES} substances", found.rungs.len());
    c.bench_function("ladder of 60 substances", |b| b.iter(climb));

    // On a machine that does other work the fastest says what the code takes.
    let fastest = (0..300)
        .map(|_| {
            let started = Instant::now();
            black_box(climb());
            started.elapsed()
        })
        .min()
        .expect("it was climbed");
    println!("the fastest of 300: {:.2} ms", fastest.as_secs_f64() * 1e3);

    let mixture = Mixture::of(std::slice::from_ref(&oil)).expect("an oil");
    let Some(python) = python(&mixture, rules) else {
        println!("no python3: the ladder is not compared");
        return;
    };
    let loads: Vec<f64> = python["loads"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(Value::as_f64)
        .collect();
    for rung in found.rungs.iter().filter(|rung| !rung.then.is_empty()) {
        let at = rung.to.of_total.to_f64().expect("a figure");
        assert!(
            loads.iter().any(|load| (load - at).abs() < 1e-6),
            "{at} % is not among the loads that Python found"
        );
    }
    println!(
        "Python solves {} loads in {:.1} ms (the fastest of 5), the labels between them not asked; every rung ends at \
         one of them",
        loads.len(),
        python["seconds"].as_f64().unwrap_or(f64::NAN) * 1e3
    );
}

/// The script's answer for an oil at up to 12 parts in 100 of plain wax.
fn python(oil: &Mixture, rules: Rules) -> Option<Value> {
    let fraction = |fraction: Fraction| json!([fraction.over(), fraction.under()]);
    let terms = |terms: &[Term]| -> Vec<Value> {
        terms
            .iter()
            .map(|term| {
                json!([
                    term.substance,
                    fraction(term.cut_off),
                    fraction(term.weight)
                ])
            })
            .collect()
    };
    let substances: Vec<Value> = oil
        .substances
        .iter()
        .map(|substance| {
            let share = substance.concentration;
            let pair = [share.high.to_string(), share.whole.to_string()];
            json!([pair, share.high_open])
        })
        .collect();
    let asked: Vec<Value> = tests(&oil.substances, &rules, &Form::Solid)
        .iter()
        .filter(|test| test.then != Then::Warn)
        .map(|test| {
            json!({
                "terms": terms(&test.terms),
                "unknown": terms(&test.unknown),
                "limit": fraction(test.limit),
            })
        })
        .collect();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/ladder.py");
    let mut child = Command::new("python3")
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .ok()?;
    let given = json!({"most": [12, 112], "substances": substances, "tests": asked});
    let mut stdin = child.stdin.take()?;
    stdin.write_all(given.to_string().as_bytes()).ok()?;
    drop(stdin);
    let output = child.wait_with_output().ok()?;
    serde_json::from_slice(&output.stdout).ok()
}

criterion_group!(benches, climbing);
criterion_main!(benches);
