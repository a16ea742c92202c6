//! How long a maker waits for the answer.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use demand::{Priors, Sale, learn};

fn sales(n_days: usize, n_products: usize) -> Vec<Sale> {
    let mut sales = Vec::new();
    for day in 0..n_days {
        for product in 0..n_products {
            let price = [2.5, 3.0, 3.5][(day + product) % 3];
            let base = 30.0 + 3.0 * product as f64 + ((day * 7 + product * 5) % 23) as f64;
            sales.push(Sale {
                day,
                product,
                price,
                sold: (base * 3.0 / price).floor(),
                sold_out: false,
                exposure: 1.0,
            });
        }
    }
    sales
}

fn learning(c: &mut Criterion) {
    let mut group = c.benchmark_group("learn");
    group.sample_size(10);
    for (days, products) in [(11, 1), (60, 1), (60, 10), (60, 40)] {
        let sales = sales(days, products);
        group.bench_function(format!("{days} days of {products} products"), |b| {
            b.iter(|| learn(black_box(&sales), &Priors::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, learning);
criterion_main!(benches);
