//! A range that holds nine times in ten must do so. The full figures, of more
//! workshops, come from `cargo run --release -p demand --example coverage`.

use crate::workshop::{ASKED, ask};

#[test]
fn ninety_percent_ranges_hold_nine_times_in_ten() {
    const WORKSHOPS: u64 = 300;
    let (tallies, _) = ask(0..WORKSHOPS);
    for (name, tally) in ASKED.iter().zip(tallies) {
        let share = |n: u32| f64::from(n) / f64::from(tally.asked);
        let (held, below) = (share(tally.held), share(tally.below));
        println!(
            "{name}: of {}, held {held:.4}, below {below:.4}",
            tally.asked
        );
        // Three standard errors of a share of 300; the full run asks for 2 %.
        let reach = 3.0 * (0.09 / f64::from(tally.asked)).sqrt();
        assert!((held - 0.90).abs() <= reach, "{name}: held {held}");
        assert!(
            (below - 0.05).abs() <= 0.75 * reach,
            "{name}: below {below}"
        );
    }
}
