//! Asks several thousand invented workshops whether the 90 % ranges held:
//! `cargo run --release -p demand --example coverage -- 4000`.

#[path = "../tests/it/workshop.rs"]
mod workshop;

fn main() {
    let workshops = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(2_000);
    let started = std::time::Instant::now();
    // Others than the ordinary test asks.
    let (tallies, least) = workshop::ask(1_000_000..1_000_000 + workshops);
    for (name, tally) in workshop::ASKED.iter().zip(tallies) {
        let share = |n: u32| 100.0 * f64::from(n) / f64::from(tally.asked);
        println!(
            "{name}: of {}, held {:.2} %, below {:.2} %",
            tally.asked,
            share(tally.held),
            share(tally.below)
        );
    }
    println!(
        "{workshops} workshops in {:.1} s, worth at least {least:.0} draws each",
        started.elapsed().as_secs_f64()
    );
}
