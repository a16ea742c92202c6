//! How long a maker waits for the classes of one wax: an oil of sixty
//! substances at 10 % of the wax, beside a straightforward rendering of the
//! same rules in Python, whose answers are compared on many more.

use std::hint::black_box;
use std::io::Write;
use std::process::{Command, Stdio};

use criterion::{Criterion, criterion_group, criterion_main};
use hazard::{
    AcuteEstimate, Band, EstimateKind, Form, Hazard, Ingredient, Jurisdiction, Mixture, Part,
    Rules, Share, Unlisted, classify,
};
use measure::Decimal;
use serde_json::{Value, json};

const SUBSTANCES: usize = 60;
const COMPARED: u64 = 500;

/// Classifications as fragrance materials have them.
const KINDS: &[&[&str]] = &[
    &["Skin Irrit. 2", "Skin Sens. 1B", "Aquatic Chronic 2"],
    &["Acute Tox. 4 H302", "Eye Irrit. 2", "Skin Sens. 1B"],
    &[
        "Flam. Liq. 3",
        "Skin Irrit. 2",
        "Skin Sens. 1B",
        "Asp. Tox. 1",
        "Aquatic Acute 1",
        "Aquatic Chronic 1",
    ],
    &["Skin Sens. 1", "Eye Dam. 1", "Skin Irrit. 2"],
    &["Skin Sens. 1A", "Acute Tox. 4 H312", "Aquatic Chronic 3"],
    &["Repr. 2 H361", "Acute Tox. 3 H301", "Aquatic Chronic 3"],
    &["Aquatic Acute 1", "Aquatic Chronic 1"],
    &["STOT SE 3 H336", "Eye Irrit. 2"],
    &["Skin Corr. 1B", "Acute Tox. 3 H331", "STOT RE 2"],
    &["Carc. 2", "Asp. Tox. 1", "Aquatic Chronic 4"],
    &["Resp. Sens. 1", "ED HH 2", "vPvB"],
    &[],
];

/// A named generator, so that each run asks the same: Marsaglia, "Xorshift
/// RNGs" (2003), 64 bits, triple 13, 7, 17.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % sides
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        let sides = u64::try_from(of.len()).expect("a short list");
        of[usize::try_from(self.roll(sides)).expect("a place in it")]
    }
}

/// The oil, and the same for Python.
fn oil(seed: u64) -> (Vec<Ingredient>, Value) {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut ingredients = Vec::new();
    let mut plain = Vec::new();
    for nth in 0..SUBSTANCES {
        // Tenths of a percent; sixty times 1.6 % leaves room.
        let high = i64::try_from(1 + dice.roll(16)).expect("small") * dice.one(&[1, 1, 1, 10]);
        let low = if dice.roll(2) == 0 { high / 2 } else { high };
        let low = low.min(16);
        let kind = dice.one(KINDS);
        let hazards: Vec<Hazard> = kind
            .iter()
            .map(|class| class.parse().expect("a class"))
            .collect();
        let factors = (dice.one(&[1_u32, 1, 10]), dice.one(&[1_u32, 1, 10]));
        let estimate = (dice.roll(3) == 0).then(|| dice.one(&[200_u32, 500, 1600, 2500]));
        let own =
            (kind.contains(&"Skin Irrit. 2") && dice.roll(3) == 0).then(|| dice.one(&[5_u32, 20]));
        plain.push(json!({
            "name": format!("x{nth:02}"),
            "low": low as f64 / 10.0,
            "high": high as f64 / 10.0,
            "classes": hazards.iter().map(ToString::to_string).collect::<Vec<_>>(),
            "m_acute": factors.0,
            "m_chronic": factors.1,
            "oral": estimate,
            "irritant_limit": own,
        }));
        ingredients.push(Ingredient {
            name: format!("x{nth:02}"),
            cas: None,
            share: Share::within(
                Decimal::new(low, 1),
                Some(Decimal::new(high.max(low), 1)),
                false,
                false,
            )
            .expect("a share"),
            hazards: Some(hazards),
            m_acute: Some(factors.0),
            m_chronic: Some(factors.1),
            estimates: estimate
                .map(|value| AcuteEstimate {
                    kind: EstimateKind::Oral,
                    value: value.into(),
                    above: false,
                })
                .into_iter()
                .collect(),
            bands: own
                .map(|from| Band {
                    class: hazard::Class::SkinIrrit2,
                    from: from.into(),
                    below: None,
                })
                .into_iter()
                .collect(),
        });
    }
    (ingredients, plain.into())
}

fn parts(ingredients: Vec<Ingredient>) -> [Part; 2] {
    [
        Part {
            name: "wax".to_owned(),
            weight: Decimal::ONE_HUNDRED,
            ingredients: Vec::new(),
            unlisted: Unlisted::NotHazardous,
        },
        Part {
            name: "oil".to_owned(),
            weight: Decimal::TEN,
            ingredients,
            unlisted: Unlisted::NotHazardous,
        },
    ]
}

fn law() -> Rules {
    Rules::of(Jurisdiction::Eu, jiff::civil::date(2026, 12, 1))
}

/// The classes and, behind a bar, the sensitisers to be named.
fn answer(parts: &[Part]) -> String {
    let mixture = Mixture::of(parts).expect("a mixture");
    let answer = classify(&mixture, &law(), &Form::Solid);
    let classes: Vec<String> = answer.hazards().map(|hazard| hazard.to_string()).collect();
    let names: Vec<&str> = answer
        .contains
        .iter()
        .map(|place| mixture.name(*place))
        .collect();
    format!("{} | {}", classes.join(", "), names.join(", "))
}

fn classes(c: &mut Criterion) {
    let (ingredients, _) = oil(1);
    let parts = parts(ingredients);
    let mixture = Mixture::of(&parts).expect("a mixture");
    c.bench_function("classes of a mixture of 60 substances", |b| {
        b.iter(|| classify(black_box(&mixture), &law(), &Form::Solid));
    });
    c.bench_function("the same, from the oil's lines on", |b| {
        b.iter(|| {
            let mixture = Mixture::of(black_box(&parts)).expect("a mixture");
            classify(&mixture, &law(), &Form::Solid)
        });
    });
    beside_python();
}

/// Runs the Python rendering, where there is a Python.
fn beside_python() {
    let oils: Vec<(Vec<Ingredient>, Value)> = (1..=COMPARED).map(oil).collect();
    let input = Value::Array(oils.iter().map(|(_, plain)| plain.clone()).collect());
    let started = Command::new("python3")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/benches/reference.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn();
    let Ok(mut python) = started else {
        println!("no python3 here, nothing to compare with");
        return;
    };
    python
        .stdin
        .take()
        .expect("it was piped")
        .write_all(input.to_string().as_bytes())
        .expect("python reads its input");
    let output = python.wait_with_output().expect("python ends");
    let told: Value = serde_json::from_slice(&output.stdout).expect("python answers in JSON");
    let theirs = told["answers"].as_array().expect("a list of answers");
    let began = std::time::Instant::now();
    let ours: Vec<String> = oils
        .iter()
        .map(|(ingredients, _)| answer(&parts(ingredients.clone())))
        .collect();
    let micros = began.elapsed().as_secs_f64() * 1e6 / ours.len() as f64;
    for (nth, (own, other)) in ours.iter().zip(theirs).enumerate() {
        assert_eq!(Some(own.as_str()), other.as_str(), "oil {nth}");
    }
    assert_eq!(ours.len(), theirs.len());
    let python = told["microseconds"].as_f64().expect("a time");
    println!(
        "{} oils answered alike; Python {python:.0} us each, here {micros:.0} us each from the \
         lines to the words",
        ours.len()
    );
}

criterion_group!(benches, classes);
criterion_main!(benches);
