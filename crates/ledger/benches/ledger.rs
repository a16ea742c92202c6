//! How long a year's stock and a trace take: 20,000 takes over 600 layers,
//! both methods, and a trace over 50,000 links. Prints the best of five rounds.

use std::hint::black_box;
use std::time::Instant;

use ledger::trace::{Index, Link};
use ledger::{Method, Stock, Value};

const LAYERS: u64 = 600;
const TAKES: u64 = 20_000;
const LINKS: u32 = 50_000;

fn milliseconds(name: &str, mut work: impl FnMut()) {
    let best = (0..5)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min);
    println!("{name:<44} {best:8.3} ms");
}

fn year(method: Method) -> Stock {
    let mut stock = Stock::new(method);
    // 600 pours of about 84 units; sales of 1 to 4, so that nearly all go.
    for take in 0..TAKES {
        if take * LAYERS % TAKES < LAYERS {
            let cost = i128::from(84 * 1_340_000 + take % 977);
            stock.receive(take, 84, Value::from_millionths(cost));
        }
        let wanted = i64::try_from(1 + take % 4).unwrap_or(1);
        black_box(stock.take(wanted));
    }
    stock
}

/// Pours of one lot of wax, each into a lot, each to many buyers.
fn links() -> Vec<Link<u32>> {
    let pours = LINKS / 50;
    (0..LINKS)
        .map(|at| {
            let pour = 1 + at / 50;
            match at % 50 {
                0 => Link {
                    from: 0,
                    to: pour,
                    quantity: None,
                },
                1 => Link {
                    from: pour,
                    to: pours + pour,
                    quantity: Some(96),
                },
                sale => Link {
                    from: pours + pour,
                    to: 10_000 + (at * 7 + sale) % 4_000,
                    quantity: Some(2),
                },
            }
        })
        .collect()
}

fn main() {
    for method in [Method::Fifo, Method::Average] {
        let name = format!("20,000 takes over 600 layers, {}", method.words());
        milliseconds(&name, || {
            black_box(year(method));
        });
    }
    let links = links();
    milliseconds("sorting 50,000 links", || {
        black_box(Index::new(black_box(&links)));
    });
    let index = Index::new(&links);
    milliseconds("tracing over 50,000 links, forward", || {
        let trace = index.forward(0);
        assert!(trace.balance(&std::collections::BTreeMap::new()).adds_up());
        black_box(trace);
    });
    let buyer = links.get(2).map_or(0, |link| link.to);
    assert!(index.back(buyer).reached.len() > 2);
    milliseconds("tracing a buyer back", || {
        black_box(index.back(buyer));
    });
}
