//! Invented workshops: truths drawn from the stated priors, days sold from
//! those truths with another library's random draws.

use demand::{Priors, Range, Sale, learn};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, Normal, Poisson};

/// How often a range held the truth, and how often the truth lay below it.
#[derive(Debug, Default, Clone, Copy)]
pub(crate) struct Tally {
    pub(crate) asked: u32,
    pub(crate) held: u32,
    pub(crate) below: u32,
}

impl Tally {
    fn count(&mut self, range: Option<Range>, truth: f64) {
        let range = range.expect("the product is known");
        self.asked += 1;
        self.held += u32::from((range.low..=range.high).contains(&truth));
        self.below += u32::from(truth < range.low);
    }

    fn add(&mut self, other: Self) {
        self.asked += other.asked;
        self.held += other.held;
        self.below += other.below;
    }
}

/// What is asked of each workshop.
pub(crate) const ASKED: [&str; 6] = [
    "elasticity",
    "sales at a price tried",
    "sales at a price between or a tenth beyond",
    "count of the next day",
    "spread of days",
    "dispersion",
];

pub(crate) fn normal(rng: &mut ChaCha8Rng, mean: f64, sd: f64) -> f64 {
    Normal::new(mean, sd)
        .expect("a spread is finite")
        .sample(rng)
}

pub(crate) fn count(rng: &mut ChaCha8Rng, mean: f64, dispersion: f64) -> f64 {
    let size = 1.0 / dispersion;
    let mean = if size < 1e9 {
        mean / size
            * Gamma::new(size, 1.0)
                .expect("a size is above zero")
                .sample(rng)
    } else {
        mean
    };
    if mean < 1e-12 {
        return 0.0;
    }
    Poisson::new(mean.min(1e11))
        .expect("a mean is above zero")
        .sample(rng)
}

/// One workshop, and the least number of draws its answer was worth.
fn one_workshop(number: u64) -> ([Tally; 6], f64) {
    let mut rng = ChaCha8Rng::seed_from_u64(number);
    let priors = Priors::default();
    let n_products = [1, 1, 1, 2, 3, 5, 8][rng.random_range(0..7)];
    let n_days = rng.random_range(4..=if n_products == 1 { 40 } else { 20 });
    let mut half = |scale: f64| normal(&mut rng, 0.0, scale).abs();
    let (level_spread, slope_spread) = (half(priors.level_spread), half(priors.elasticity_spread));
    let (day_spread, root) = (half(priors.day_spread), half(priors.dispersion_root));
    let usual = normal(&mut rng, libm::log(priors.usual_sales), priors.level_doubt);
    let elasticity = normal(&mut rng, priors.elasticity, priors.elasticity_doubt);
    let products: Vec<(f64, f64, Vec<f64>)> = (0..n_products)
        .map(|_| {
            let step = 1.0 + rng.random_range(0.08..0.2);
            let n_prices = rng.random_range(1..=4);
            let base = rng.random_range(1.0..12.0);
            let mut prices = vec![base];
            for _ in 1..n_prices {
                prices.push(prices[prices.len() - 1] * step);
            }
            let level = normal(&mut rng, usual, level_spread);
            (level, normal(&mut rng, elasticity, slope_spread), prices)
        })
        .collect();
    let with_exposure = rng.random_range(0..3) == 0;
    let sells_out = rng.random_range(0..3) == 0;
    let mut planned = Vec::new();
    for day in 0..n_days {
        let exposure = if with_exposure {
            rng.random_range(2.0..9.0)
        } else {
            1.0
        };
        for (product, (.., prices)) in products.iter().enumerate() {
            if product == 0 || rng.random_range(0..5) != 0 || day < 2 {
                let price = prices[rng.random_range(0..prices.len())];
                planned.push((day, product, price, exposure));
            }
        }
    }
    let geometric = |values: Vec<f64>| {
        let n = values.len() as f64;
        libm::exp(values.into_iter().map(libm::log).sum::<f64>() / n)
    };
    let reference: Vec<f64> = (0..n_products)
        .map(|p| {
            geometric(
                planned
                    .iter()
                    .filter(|at| at.1 == p)
                    .map(|at| at.2)
                    .collect(),
            )
        })
        .collect();
    let typical = geometric(planned.iter().map(|at| at.3).collect());
    let days: Vec<f64> = (0..=n_days)
        .map(|_| normal(&mut rng, 0.0, day_spread))
        .collect();
    let mean_at = |product: usize, price: f64, exposure: f64| {
        let (level, slope, _) = &products[product];
        libm::exp(level + slope * libm::log(price / reference[product])) * exposure / typical
    };
    let sales: Vec<Sale> = planned
        .iter()
        .map(|&(day, product, price, exposure)| {
            let mean = mean_at(product, price, exposure) * libm::exp(days[day]);
            let wanted = count(&mut rng, mean, root * root);
            let brought = if sells_out {
                // What is brought hangs on nothing that is to be learned.
                libm::exp(normal(&mut rng, 3.5, 1.0)).ceil()
            } else {
                f64::INFINITY
            };
            Sale {
                day,
                product,
                price,
                sold: wanted.min(brought).min(1e12),
                sold_out: wanted >= brought,
                exposure,
            }
        })
        .collect();
    let learned = learn(&sales, &priors).expect("the sales are sound");

    let mut tallies = [Tally::default(); 6];
    let over_days = libm::exp(0.5 * day_spread * day_spread);
    let tried = &products[0].2;
    let at = tried[rng.random_range(0..tried.len())];
    let beyond = rng.random_range(tried[0] / 1.1..tried[tried.len() - 1] * 1.1);
    tallies[0].count(learned.elasticity(0), products[0].1);
    for (tally, price) in [(1, at), (2, beyond)] {
        let day = learned.day_at(0, price, 1.5).expect("the product is known");
        tallies[tally].count(Some(day.mean), mean_at(0, price, 1.5) * over_days);
        // Of small counts no range holds nine in ten exactly.
        if tally == 2 && day.count.low >= 20.0 {
            let mean = mean_at(0, price, 1.5) * libm::exp(days[n_days]);
            tallies[3].count(Some(day.count), count(&mut rng, mean, root * root));
        }
    }
    tallies[4].count(learned.day_spread(), day_spread);
    tallies[5].count(learned.dispersion(), root * root);
    (tallies, learned.effective_draws())
}

/// Asks workshops by number, on every core.
pub(crate) fn ask(numbers: std::ops::Range<u64>) -> ([Tally; 6], f64) {
    let hands = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
    let workers: Vec<_> = (0..hands)
        .map(|hand| {
            let numbers = numbers.clone();
            std::thread::spawn(move || {
                let mut sums = [Tally::default(); 6];
                let mut least = f64::INFINITY;
                for number in numbers.skip(hand).step_by(hands) {
                    let (tallies, effective) = one_workshop(number);
                    if effective < 30.0 {
                        println!("workshop {number}: worth {effective:.0} draws");
                    }
                    least = least.min(effective);
                    for (sum, tally) in sums.iter_mut().zip(tallies) {
                        sum.add(tally);
                    }
                }
                (sums, least)
            })
        })
        .collect();
    let mut sums = [Tally::default(); 6];
    let mut least = f64::INFINITY;
    for worker in workers {
        let (tallies, effective) = worker.join().expect("no workshop fails");
        least = least.min(effective);
        for (sum, tally) in sums.iter_mut().zip(tallies) {
            sum.add(tally);
        }
    }
    (sums, least)
}
