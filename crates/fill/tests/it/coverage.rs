//! A range that holds nine times in ten must do so: two thousand invented
//! workshops are asked whether it did.

use fill::{Assumptions, learn};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::workshop::{TruePour, Truth};

const WORKSHOPS: u64 = 2_000;

/// How often a range held the truth, and how often the truth lay below it.
#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    held: u32,
    below: u32,
}

impl Tally {
    fn count(&mut self, range: fill::Range, truth: f64) {
        self.held += u32::from((range.low..=range.high).contains(&truth));
        self.below += u32::from(truth < range.low);
    }

    fn add(&mut self, other: Self) {
        self.held += other.held;
        self.below += other.below;
    }

    #[track_caller]
    fn holds_nine_times_in_ten(self, of: &str) {
        let share = |n: u32| f64::from(n) / WORKSHOPS as f64;
        let (held, below) = (share(self.held), share(self.below));
        println!("{of}: held {held:.4}, below {below:.4}");
        assert!((held - 0.90).abs() <= 0.02, "{of}: held {held}");
        assert!((below - 0.05).abs() <= 0.015, "{of}: below {below}");
    }
}

/// Need of the next pour, mean unit weight, one unit of the next pour, usual
/// loss, and loss of the next pour.
fn one_workshop(number: u64) -> [Tally; 5] {
    let mut rng = ChaCha8Rng::seed_from_u64(number);
    let cavities = [6, 8, 12, 20, 24, 30][rng.random_range(0..6)];
    let nominal = rng.random_range(20.0..90.0);
    let truth = Truth::draw(&mut rng, nominal);
    let n_pours = rng.random_range(1..=6);
    let pours: Vec<_> = (0..n_pours)
        .map(|_| {
            let readability = [0.1, 1.0, 2.834_952_3][rng.random_range(0..3)];
            let charge = nominal * f64::from(cavities) * rng.random_range(0.8..1.3);
            TruePour::draw(&mut rng, &truth, cavities).record(&mut rng, charge, readability)
        })
        .collect();
    let assumptions = Assumptions {
        // Every third mould has no figure on it.
        nominal_unit: (!number.is_multiple_of(3)).then_some(nominal),
        ..Assumptions::default()
    };
    let learned = learn(&pours, &assumptions).expect("the pours are sound");
    let next = TruePour::draw(&mut rng, &truth, cavities);
    let odds = libm::exp(truth.loss);
    let mut tallies = [Tally::default(); 5];
    tallies[0].count(learned.need(cavities).range(), next.need());
    tallies[1].count(learned.unit_weight, truth.mu);
    tallies[2].count(learned.next_unit, next.units[0]);
    tallies[3].count(learned.loss, odds / (1.0 + odds));
    tallies[4].count(learned.next_loss, next.loss_share);
    tallies
}

#[test]
fn ninety_percent_ranges_hold_nine_times_in_ten() {
    let hands = std::thread::available_parallelism().map_or(2, |n| n.get() as u64);
    let workers: Vec<_> = (0..hands)
        .map(|hand| {
            std::thread::spawn(move || {
                let mut sums = [Tally::default(); 5];
                for number in (hand..WORKSHOPS).step_by(usize::try_from(hands).unwrap_or(1)) {
                    for (sum, tally) in sums.iter_mut().zip(one_workshop(number)) {
                        sum.add(tally);
                    }
                }
                sums
            })
        })
        .collect();
    let mut sums = [Tally::default(); 5];
    for worker in workers {
        for (sum, tally) in sums
            .iter_mut()
            .zip(worker.join().expect("no workshop fails"))
        {
            sum.add(tally);
        }
    }
    let names = [
        "need of the next pour",
        "mean unit weight",
        "one unit of the next pour",
        "usual loss",
        "loss of the next pour",
    ];
    for (sum, name) in sums.iter().zip(names) {
        sum.holds_nine_times_in_ten(name);
    }
}
