//! How long a maker waits for the answer after one, ten and a hundred pours.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fill::{Assumptions, Part, Pour, Weighing, learn};

/// Pours of a twelve-cavity mould of 44 g bars, two bars weighed of each.
fn pours(n: u32) -> Vec<Pour> {
    (0..n)
        .map(|idx| Pour {
            poured: 530.0 + f64::from(idx % 5) * 10.0,
            top_ups: Vec::new(),
            left: Some(if idx % 3 == 0 { 12.0 } else { 0.0 }),
            cavities: 12,
            filled: if idx % 5 == 0 { 11 } else { 12 },
            part: Part::NotSaid,
            weighings: vec![Weighing::one(44.0), Weighing::one(43.0)],
            readability: 1.0,
        })
        .collect()
}

fn learning(c: &mut Criterion) {
    let assumptions = Assumptions::default();
    for n in [1, 10, 100] {
        let pours = pours(n);
        c.bench_function(&format!("learn from {n} pours"), |b| {
            b.iter(|| learn(black_box(&pours), &assumptions));
        });
    }
    let learned = learn(&pours(10), &assumptions).expect("the pours are sound");
    c.bench_function("need of 12 after 10 pours", |b| {
        b.iter(|| learned.need(black_box(12)).range());
    });
    c.bench_function("units from 550 g after 10 pours", |b| {
        b.iter(|| learned.units_from(black_box(550.0), 12));
    });
}

criterion_group!(benches, learning);
criterion_main!(benches);
