//! Whether the stated chances are the ones that come true.
//!
//! Chances that hang on single light units are right over many workshops of all
//! spreads; for one workshop of steady spread they err on the careful side.
//!
//! Each test simulates workshops that weigh some units, declare, and have
//! later lots inspected. The simulation draws plain units and applies the
//! rule; it shares no code with the outlook but the rule itself.

use measure::{Mass, Readability, Typed};
use netweight::declare::{Declaration, declare};
use netweight::us::{self, Column};
use netweight::{History, Outlook, Rule, Sample, Tare, eu};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::{bare, grams, mass};

/// A standard normal by Box and Muller, A Note on the Generation of Random
/// Normal Deviates, Annals of Mathematical Statistics 29 (1958).
fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let u: f64 = 1.0 - rng.random::<f64>();
    let v: f64 = rng.random();
    (-2.0 * libm::log(u)).sqrt() * libm::cos(std::f64::consts::TAU * v)
}

fn units(n: usize, mean: f64, sd: f64, rng: &mut ChaCha8Rng) -> Vec<f64> {
    (0..n).map(|_| mean + sd * normal(rng)).collect()
}

fn step(text: &str) -> Readability {
    Readability::try_new(&Typed::parse(text).unwrap()).unwrap()
}

fn history(lot: &Sample) -> History<'_> {
    History {
        lot,
        earlier: &[],
        lot_size: None,
        tare: Tare::NONE,
        step_g: 0.0,
        scale_off_g: 0.0,
    }
}

/// Counts how often what was promised came true.
#[derive(Default)]
struct Tally {
    workshops: f64,
    promised: [f64; 3],
    came: [f64; 3],
}

impl Tally {
    /// Average, single units, inspection.
    fn add(&mut self, found: &Declaration, came: [f64; 3]) {
        self.workshops += 1.0;
        let promised = [found.average_holds, found.units_hold, found.passes];
        for idx in 0..3 {
            self.promised[idx] += promised[idx];
            self.came[idx] += came[idx];
        }
    }

    /// Holds what was promised against what came, on average.
    #[track_caller]
    fn within(&self, most: f64, what: &str) {
        for (idx, name) in ["average", "units", "inspection"].into_iter().enumerate() {
            let promised = self.promised[idx] / self.workshops;
            let came = self.came[idx] / self.workshops;
            println!(
                "{what}, {name}: promised {promised:.4}, came {came:.4}, {} workshops",
                self.workshops
            );
            assert!(
                (promised - came).abs() <= most,
                "{what}, {name}: {promised} {came}"
            );
        }
    }
}

/// A spread of any size: what the outlook believes before the first weight.
fn log_uniform(low: f64, high: f64, rng: &mut ChaCha8Rng) -> f64 {
    low * libm::exp(libm::log(high / low) * rng.random::<f64>())
}

fn truth(yes: bool) -> f64 {
    f64::from(u8::from(yes))
}

/// Shells of 74.9 g give or take 1.3 g, twelve weighed, as in the United
/// States, declared to a milligram so that nothing is left of the chance asked
/// for: later lots keep it as often as was said. The average decides here, and
/// its chance is right for any one workshop, not only over many.
#[test]
fn twelve_weighed_at_three_chances() {
    const WORKSHOPS: u64 = 6_000;
    let (mu, sigma) = (74.9, 1.3);
    let mut rng = ChaCha8Rng::seed_from_u64(12);
    let fine = step("1 mg");
    let chances = [0.90, 0.95, 0.99];
    let mut tallies: [Tally; 3] = Default::default();
    for seed in 0..WORKSHOPS {
        let weighed = bare(&units(12, mu, sigma, &mut rng));
        let outlook =
            Outlook::with_ways(Rule::Us, Column::Gram, &history(&weighed), seed, 1_000).unwrap();
        let inspected = bare(&units(12, mu, sigma, &mut rng));
        for (chance, tally) in chances.iter().zip(&mut tallies) {
            let found = declare(&outlook, &fine, *chance).unwrap();
            let declared = found.declared.value();
            let passes = us::inspect(&inspected, declared, Column::Gram, 240).meets();
            tally.add(&found, [truth(mu >= declared.grams()), 1.0, truth(passes)]);
        }
    }
    for (chance, tally) in chances.iter().zip(&tallies) {
        assert!((tally.promised[0] / tally.workshops - chance).abs() < 0.002);
        tally.within(0.01, &format!("chance {chance}"));
    }
}

/// Workshops of all sizes of unit and spread, ten weighed, small lots, tidy
/// declarations to a tenth of an ounce: the chances printed beside them hold.
#[test]
fn tidy_declarations_of_small_lots() {
    const WORKSHOPS: u64 = 4_000;
    let mut rng = ChaCha8Rng::seed_from_u64(10);
    let tenth = step("0.1 oz");
    let mut tally = Tally::default();
    for seed in 0..WORKSHOPS {
        let mu = 40.0 + 60.0 * rng.random::<f64>();
        let sigma = log_uniform(0.1, 8.0, &mut rng);
        let weighed = bare(&units(10, mu, sigma, &mut rng));
        let asked = History {
            lot_size: Some(40),
            ..history(&weighed)
        };
        let outlook = Outlook::with_ways(Rule::Us, Column::Pound, &asked, seed, 1_000).unwrap();
        let Some(found) = declare(&outlook, &tenth, 0.8) else {
            continue;
        };
        let declared = found.declared.value();
        let lot = units(40, mu, sigma, &mut rng);
        let holds = lot.iter().sum::<f64>() / 40.0 >= declared.grams();
        let drawn = bare(&lot[..12]);
        let passes = us::inspect(&drawn, declared, Column::Pound, 40).meets();
        tally.add(&found, [truth(holds), 1.0, truth(passes)]);
    }
    tally.within(0.01, "tidy");
}

/// Batches of sixty in the EU, where all are weighed and nothing is left to
/// chance, of units that scatter so widely that single ones matter: twenty
/// weighed of an earlier batch.
#[test]
fn small_european_batches() {
    const WORKSHOPS: u64 = 4_000;
    let mut rng = ChaCha8Rng::seed_from_u64(60);
    let fine = step("1 mg");
    let mut tally = Tally::default();
    for seed in 0..WORKSHOPS {
        let mu = 40.0 + 40.0 * rng.random::<f64>();
        let sigma = log_uniform(0.2, 8.0, &mut rng);
        let weighed = bare(&units(20, mu, sigma, &mut rng));
        let asked = History {
            lot_size: Some(60),
            ..history(&weighed)
        };
        let outlook = Outlook::with_ways(Rule::Eu, Column::Gram, &asked, seed, 500).unwrap();
        let Some(found) = declare(&outlook, &fine, 0.9) else {
            continue;
        };
        let declared = found.declared.value();
        let lot = bare(&units(60, mu, sigma, &mut rng));
        let seen = eu::inspect(Rule::Eu, &lot, declared, 60);
        let few = mu - 1.959_964 * sigma >= seen.limits.floor.grams();
        tally.add(
            &found,
            [
                truth(lot.mean() >= declared.grams()),
                truth(few && seen.beyond_twice == 0),
                truth(seen.average_meets && seen.beyond <= seen.beyond_allowed),
            ],
        );
    }
    tally.within(0.01, "EU");
}

/// Lots that differ from each other, five of them weighed six units each: the
/// next lot, with an average of its own, keeps the promise.
#[test]
fn lots_that_differ() {
    const WORKSHOPS: u64 = 1_500;
    const LATER: u32 = 15;
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let fine = step("1 mg");
    let mut tally = Tally::default();
    for seed in 0..WORKSHOPS {
        let mu = 60.0 + 30.0 * rng.random::<f64>();
        // As the model assumes: half-normal with 3 % of the mean.
        let tau = (0.03 * mu * normal(&mut rng)).abs();
        let sigma = log_uniform(0.2, 6.0, &mut rng);
        let lots: Vec<Sample> = (0..5)
            .map(|_| {
                let theta = mu + tau * normal(&mut rng);
                bare(&units(6, theta, sigma, &mut rng))
            })
            .collect();
        let (lot, earlier) = lots.split_last().unwrap();
        let asked = History {
            earlier,
            ..history(lot)
        };
        let outlook = Outlook::with_ways(Rule::Us, Column::Gram, &asked, seed, 500).unwrap();
        assert!(outlook.knows_lots());
        let Some(found) = declare(&outlook, &fine, 0.9) else {
            continue;
        };
        let declared = found.declared.value();
        let (mut holds, mut passed) = (0.0, 0.0);
        for _ in 0..LATER {
            let theta = mu + tau * normal(&mut rng);
            let drawn = bare(&units(12, theta, sigma, &mut rng));
            let passes = us::inspect(&drawn, declared, Column::Gram, 240).meets();
            passed += truth(passes) / f64::from(LATER);
            holds += truth(theta >= declared.grams()) / f64::from(LATER);
        }
        tally.add(&found, [holds, 1.0, passed]);
    }
    tally.within(0.01, "lots that differ");
}

/// Five tares weighed of a clamshell that varies, and a scale off by up to
/// 0.3 g: the promise takes both into account.
#[test]
fn tare_and_scale_are_doubted() {
    const WORKSHOPS: u64 = 1_500;
    let mu = 71.0;
    let mut rng = ChaCha8Rng::seed_from_u64(8);
    let fine = step("1 mg");
    let mut tally = Tally::default();
    for seed in 0..WORKSHOPS {
        let sigma = log_uniform(0.1, 10.0, &mut rng);
        let shell = log_uniform(0.01, 2.0, &mut rng);
        let off = 0.3 * (2.0 * rng.random::<f64>() - 1.0);
        let shells: Vec<Mass> = units(5, 8.2, shell, &mut rng)
            .iter()
            .map(|w| grams(*w))
            .collect();
        let tare = Tare::of(&shells).unwrap();
        // What the scale is off by shows in the wrapped unit; the tare is
        // weighed elsewhere.
        let gross: Vec<Mass> = units(12, mu, sigma, &mut rng)
            .iter()
            .map(|w| grams(w + 8.2 + off))
            .collect();
        let weighed = Sample::try_new(&gross, tare.average).unwrap();
        let asked = History {
            tare,
            scale_off_g: 0.3,
            ..history(&weighed)
        };
        let outlook = Outlook::with_ways(Rule::Us, Column::Gram, &asked, seed, 400).unwrap();
        let found = declare(&outlook, &fine, 0.95).unwrap();
        let declared = found.declared.value();
        let drawn = bare(&units(12, mu, sigma, &mut rng));
        let passes = us::inspect(&drawn, declared, Column::Gram, 240).meets();
        tally.add(&found, [truth(mu >= declared.grams()), 1.0, truth(passes)]);
    }
    tally.within(0.01, "tare and scale");
}

/// The bound is the textbook's t bound; t(0.995; 11) = 3.106 (tables, from
/// memory): 74.9 − 3.106 × 1.3/√12 = 73.73 g.
#[test]
fn the_bound_of_twelve_shells() {
    let shells = bare(&crate::spread(12, 74.9, 1.3));
    let outlook = Outlook::try_new(Rule::Us, Column::Pound, &history(&shells), 1).unwrap();
    assert!((outlook.average_bound(0.995) - 73.734).abs() < 1e-3);
    let found = declare(&outlook, &step("0.1 oz"), 0.995).unwrap();
    assert_eq!(found.declared.to_string(), "2.6 oz");
    assert!(!found.singles_decide);
    // Twelve are just enough: own arithmetic, 3.106/√12 = 0.8966 and
    // 3.169/√11 = 0.9556 on either side of (74.9 − 73.709)/1.3 = 0.9164.
    assert_eq!(outlook.units_for(mass("2.6 oz"), 0.995), Some(12));
    assert_eq!(outlook.units_for(mass("2.7 oz"), 0.995), None);
}

/// Where units scatter widely, single light ones decide.
#[test]
fn scattered_units_are_limited_singly() {
    let wild = bare(&crate::spread(12, 40.0, 6.0));
    let outlook = Outlook::try_new(Rule::Us, Column::Gram, &history(&wild), 1).unwrap();
    let found = declare(&outlook, &step("1 g"), 0.9).unwrap();
    assert!(found.singles_decide);
    assert!(found.declared.value().grams() + 1.0 < found.bound_g);
}

/// What is known of the lot weighed: all of it, when all was weighed.
#[test]
fn a_lot_weighed_whole_is_known() {
    let all = bare(&crate::spread(12, 70.0, 1.0));
    let asked = History {
        lot_size: Some(12),
        ..history(&all)
    };
    let outlook = Outlook::try_new(Rule::Us, Column::Gram, &asked, 1).unwrap();
    assert_eq!(outlook.this_lot_holds(mass("70 g")), 1.0);
    assert_eq!(outlook.this_lot_holds(mass("70.1 g")), 0.0);
    assert!(outlook.average_holds(mass("70 g")) < 0.6);
}
