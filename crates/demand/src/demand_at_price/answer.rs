//! Working out the answer: which prices take part, what each leaves, what is
//! proven, and which test would tell.

use measure::{Cost, Decimal, Working};

use super::read::Read;
use super::{
    Alone, Apart, AtPrice, BetweenPrices, Contender, CurvePoint, DemandAtPriceOutput, ModelOutput,
    TestOutput, Verdict,
};
use crate::given::{chance, float, money};
use crate::learn::{Learned, Range, range};
use crate::line::Line;
use crate::price_test::{PriceTest, Question};
use crate::regression::{Counts, negative_binomial};

/// Tidy prices in the contest at most.
const MOST_TIDY: u32 = 40;
/// How far beyond the prices tried an answer still means something, as a
/// factor. Common practice, no source.
const REACH: f64 = 1.25;
/// The part of the doubt in the elasticity that the sales must have taken away
/// or moved it by, before they tell anything. Common practice, no source.
const ENOUGH: f64 = 0.1;
/// A price is worth changing to when it is expected to leave so many times what
/// the price charged now leaves. Common practice, no source.
const WORTH: f64 = 1.02;
/// A test is worth its days when it tells so often. Common practice, no source.
const TELLS: f64 = 0.8;

/// A price that was computed for, with what a day leaves in each draw.
pub(super) struct Priced {
    pub(super) price: Decimal,
    pub(super) at: f64,
    /// What is kept of a unit.
    pub(super) kept: f64,
    /// What a day leaves, in each draw.
    pub(super) leaves: Vec<f64>,
    pub(super) expected: f64,
    /// Whether it takes part in the contest.
    pub(super) takes_part: bool,
    pub(super) chance_best: f64,
}

/// What is asked, beside what was learned.
pub(super) struct Asked<'a> {
    pub(super) read: &'a Read,
    pub(super) learned: &'a Learned,
    /// The exposure of the day asked about.
    pub(super) exposure: f64,
    pub(super) low: Decimal,
    pub(super) high: Decimal,
    pub(super) enough: bool,
    pub(super) evidence: f64,
    /// Every price computed for, the lowest first.
    pub(super) priced: Vec<Priced>,
}

impl<'a> Asked<'a> {
    pub(super) fn new(read: &'a Read, learned: &'a Learned) -> Option<Self> {
        let exposure = read.exposure.unwrap_or(learned.typical_exposure());
        let low = *read.tried.first_key_value()?.0;
        let high = *read.tried.last_key_value()?.0;
        let evidence = learned.evidence(read.product)?;
        let own = || {
            read.sales
                .iter()
                .filter(|sale| sale.product == read.product)
        };
        let enough = evidence >= ENOUGH && own().count() >= 3 && own().any(|sale| sale.sold > 0.0);
        let mut asked = Self {
            read,
            learned,
            exposure,
            low,
            high,
            enough,
            evidence,
            priced: Vec::new(),
        };
        let mut prices = asked.tidy_prices();
        prices.extend(&read.asked);
        prices.push(read.now);
        prices.sort_unstable();
        prices.dedup();
        for price in prices {
            let priced = asked.price(price)?;
            asked.priced.push(priced);
        }
        asked.hold_contest();
        Some(asked)
    }

    /// The tidy prices from the lowest to the highest price tried.
    fn tidy_prices(&self) -> Vec<Decimal> {
        let reference = float(self.low).max(1e-9).sqrt() * float(self.high).sqrt();
        let (mut step, rest) = match self.read.ending {
            Some(end) => tidy_by(end),
            None => (quarter_step(0.1 * reference), Decimal::ZERO),
        };
        let coins = u32::from(self.read.currency.exponent().unwrap_or(0));
        step = step.max(Decimal::new(1, coins.min(9)));
        let most = Decimal::from(MOST_TIDY);
        while (self.high - self.low) / step > most {
            step *= Decimal::TWO;
        }
        let mut at = ((self.low - rest) / step).ceil() * step + rest;
        let mut tidy = Vec::new();
        while at <= self.high {
            if at > Decimal::ZERO {
                tidy.push(at.normalize());
            }
            at += step;
        }
        tidy
    }

    fn within_reach(&self, price: Decimal) -> bool {
        let at = float(price);
        at >= float(self.low) / REACH && at <= float(self.high) * REACH
    }

    fn leaves(&self, at: f64) -> Option<(Vec<f64>, f64)> {
        let kept = self.read.keep * at - self.read.unit_cost;
        let mut leaves = self
            .learned
            .mean_sales(self.read.product, at, self.exposure)?;
        for leaf in &mut leaves {
            *leaf *= kept;
        }
        let weighed = self
            .learned
            .weights()
            .zip(&leaves)
            .map(|(weight, leaf)| weight * leaf);
        let expected: f64 = weighed.sum();
        expected.is_finite().then_some((leaves, expected))
    }

    fn price(&self, price: Decimal) -> Option<Priced> {
        let at = float(price);
        let (leaves, expected) = self.leaves(at)?;
        Some(Priced {
            price,
            at,
            kept: self.read.keep * at - self.read.unit_cost,
            leaves,
            expected,
            takes_part: self.within_reach(price),
            chance_best: 0.0,
        })
    }

    /// Counts in how many draws each price is the best.
    fn hold_contest(&mut self) {
        let weights: Vec<f64> = self.learned.weights().collect();
        let mut won = vec![0.0; self.priced.len()];
        for (idx, weight) in weights.iter().enumerate() {
            let leaf = |priced: &Priced| priced.leaves.get(idx).copied().unwrap_or(f64::MIN);
            let contest = self
                .priced
                .iter()
                .enumerate()
                .filter(|(_, priced)| priced.takes_part);
            let best = contest.max_by(|(_, a), (_, b)| leaf(a).total_cmp(&leaf(b)));
            if let Some(won) = best.and_then(|(winner, _)| won.get_mut(winner)) {
                *won += weight;
            }
        }
        for (priced, won) in self.priced.iter_mut().zip(won) {
            priced.chance_best = won;
        }
    }

    pub(super) fn of(&self, price: Decimal) -> Option<&Priced> {
        self.priced.iter().find(|priced| priced.price == price)
    }

    /// The price of the contest that is expected to leave most.
    fn most(&self) -> Option<&Priced> {
        self.priced
            .iter()
            .filter(|priced| priced.takes_part)
            .max_by(|a, b| a.expected.total_cmp(&b.expected))
    }

    /// The price to name: the one charged now, unless another is expected to
    /// leave a fiftieth more.
    fn best(&self) -> Option<&Priced> {
        let most = self.most()?;
        let stays = |now: &&Priced| now.takes_part && most.expected < WORTH * now.expected;
        Some(self.of(self.read.now).filter(stays).unwrap_or(most))
    }

    /// The chance of something about each draw.
    fn chance_that(&self, holds: impl Fn(usize) -> bool) -> f64 {
        self.learned
            .weights()
            .enumerate()
            .filter(|(idx, _)| holds(*idx))
            .map(|(_, weight)| weight)
            .sum()
    }

    /// The chance that one price earns more than another.
    pub(super) fn chance_beats(&self, one: &Priced, other: &Priced) -> f64 {
        self.chance_that(|idx| one.leaves.get(idx) > other.leaves.get(idx))
    }

    /// The chance that no price of the contest earns a twentieth more.
    pub(super) fn chance_as_good(&self, now: &Priced) -> f64 {
        self.chance_that(|idx| {
            let leaf = |priced: &Priced| priced.leaves.get(idx).copied().unwrap_or(f64::MIN);
            let contest = self.priced.iter().filter(|priced| priced.takes_part);
            let most = contest.map(leaf).fold(f64::MIN, f64::max);
            leaf(now) > 0.0 && most <= 1.05 * leaf(now)
        })
    }

    pub(super) fn money(&self, major: f64) -> String {
        money(major, self.read.currency)
    }

    pub(super) fn say(&self, price: Decimal) -> String {
        Cost::new(price, self.read.currency).to_string()
    }

    fn show(&self, priced: &Priced) -> Option<AtPrice> {
        let day = self
            .learned
            .day_at(self.read.product, priced.at, self.exposure)?;
        let known = self.enough && priced.takes_part;
        let now = self.of(self.read.now)?;
        let ends = if priced.kept < 0.0 {
            (day.mean.high, day.mean.low)
        } else {
            (day.mean.low, day.mean.high)
        };
        Some(AtPrice {
            price: self.say(priced.price),
            price_in_currency: priced.at,
            sold: day.expected,
            sold_low: day.count.low,
            sold_high: day.count.high,
            average_low: day.mean.low,
            average_high: day.mean.high,
            contribution: self.money(priced.expected),
            contribution_in_currency: priced.expected,
            contribution_low: self.money(priced.kept * ends.0),
            contribution_high: self.money(priced.kept * ends.1),
            chance_best: known.then_some(priced.chance_best),
            chance_beats_now: (known && priced.price != now.price)
                .then(|| self.chance_beats(priced, now)),
            days: self.days_at(priced.price),
        })
    }

    /// The prices tried and between that are expected to leave at least
    /// 1 − `part` of the most.
    fn within(&self, part: f64) -> Option<BetweenPrices> {
        const MOST: u32 = 120;
        let coins = u32::from(self.read.currency.exponent().unwrap_or(0)).min(9);
        let mut step = Decimal::new(1, coins);
        while (self.high - self.low) / step > Decimal::from(MOST) {
            step *= Decimal::TWO;
        }
        let mut curve: Vec<(Decimal, f64)> = Vec::new();
        let mut at = self.low;
        while at < self.high {
            curve.push((at, self.leaves(float(at))?.1));
            at += step;
        }
        curve.push((self.high, self.leaves(float(self.high))?.1));
        let (top, most) = curve
            .iter()
            .enumerate()
            .max_by(|(_, a), (_, b)| a.1.total_cmp(&b.1))
            .map(|(idx, (_, most))| (idx, *most))?;
        if most <= 0.0 {
            return None;
        }
        let good = |point: &&(Decimal, f64)| point.1 >= (1.0 - part) * most;
        let low = curve.iter().take(top + 1).rev().take_while(good).last()?.0;
        let high = curve.iter().skip(top).take_while(good).last()?.0;
        Some(BetweenPrices {
            low: self.say(low),
            high: self.say(high),
            may_go_on: low == self.low || high == self.high,
        })
    }

    /// What many days average at a price: sold, and what they leave of it.
    fn averages(&self, at: f64, kept: f64) -> Option<(Range, Range)> {
        let means = self
            .learned
            .mean_sales(self.read.product, at, self.exposure)?;
        let sold = range(means.into_iter().zip(self.learned.weights()).collect());
        let leaves = |sold: f64| kept * sold;
        let (low, high) = if kept < 0.0 {
            (sold.high, sold.low)
        } else {
            (sold.low, sold.high)
        };
        let left = Range {
            low: leaves(low),
            middle: leaves(sold.middle),
            high: leaves(high),
        };
        Some((sold, left))
    }

    fn contend(&self, priced: &Priced) -> Option<Contender> {
        let (sold, left) = self.averages(priced.at, priced.kept)?;
        let expected = self
            .learned
            .mean_sales(self.read.product, priced.at, self.exposure)?;
        let weighed = self.learned.weights().zip(expected);
        Some(Contender {
            price: self.say(priced.price),
            chance_best: priced.chance_best,
            contribution_in_currency: priced.expected,
            contribution_low_in_currency: left.low,
            contribution_high_in_currency: left.high,
            price_in_currency: priced.at,
            sold: weighed.map(|(weight, sold)| weight * sold).sum(),
            sold_low: sold.low,
            sold_high: sold.high,
            days: self.days_at(priced.price),
        })
    }

    fn days_at(&self, price: Decimal) -> u32 {
        let tried = &self.read.tried;
        tried.get(&price.normalize()).copied().unwrap_or(0)
    }

    /// What a day leaves over the prices tried, in even steps.
    fn curve(&self) -> Option<Vec<CurvePoint>> {
        const STEPS: u32 = 32;
        if !self.enough || self.low == self.high {
            return Some(Vec::new());
        }
        let (low, high) = (float(self.low), float(self.high));
        (0..=STEPS)
            .map(|step| {
                let price = low + (high - low) * f64::from(step) / f64::from(STEPS);
                let (_, contribution) = self.leaves(price)?;
                let kept = self.read.keep * price - self.read.unit_cost;
                let (_, left) = self.averages(price, kept)?;
                Some(CurvePoint {
                    price,
                    contribution,
                    low: left.low,
                    high: left.high,
                })
            })
            .collect()
    }

    fn verdict(&self) -> Verdict {
        let (Some(best), Some(now)) = (self.best(), self.of(self.read.now)) else {
            return Verdict::NotProven;
        };
        if !self.enough || best.expected <= 0.0 {
            return Verdict::NotProven;
        }
        if best.price != now.price && self.chance_beats(best, now) >= self.read.proven {
            return Verdict::Yes;
        }
        if now.takes_part && self.chance_as_good(now) >= self.read.proven {
            return Verdict::No;
        }
        Verdict::NotProven
    }

    fn apart(&self) -> Vec<Apart> {
        if !self.enough {
            return Vec::new();
        }
        let asked: Vec<&Priced> = self
            .priced
            .iter()
            .filter(|priced| priced.takes_part && self.read.asked.contains(&priced.price))
            .collect();
        let mut pairs = Vec::new();
        for (idx, low) in asked.iter().enumerate() {
            for high in asked.iter().skip(idx + 1) {
                let chance = self.chance_beats(high, low);
                pairs.push(Apart {
                    low: self.say(low.price),
                    high: self.say(high.price),
                    chance_high_earns_more: chance,
                    told: chance.max(1.0 - chance) >= self.read.proven,
                });
            }
        }
        pairs
    }

    /// The two prices a test should tell apart.
    fn to_tell(&self) -> Option<[&Priced; 2]> {
        let earns = |priced: &&Priced| priced.takes_part && priced.kept > 0.0;
        let asked: Vec<&Priced> = self
            .priced
            .iter()
            .filter(earns)
            .filter(|priced| self.read.asked.contains(&priced.price))
            .collect();
        if let [low, .., high] = asked[..] {
            return Some([low, high]);
        }
        let best = self.best().filter(earns)?;
        let other = asked
            .into_iter()
            .chain(self.of(self.read.now).filter(earns))
            .find(|other| other.price != best.price)
            .or_else(|| {
                self.priced
                    .iter()
                    .filter(earns)
                    .filter(|other| other.price != best.price)
                    .max_by(|a, b| a.expected.total_cmp(&b.expected))
            })?;
        Some(if other.price < best.price {
            [other, best]
        } else {
            [best, other]
        })
    }

    fn tests(&self) -> Option<Vec<TestOutput>> {
        let reference = self.learned.reference(self.read.product)?;
        let belief = self.learned.belief(self.read.product)?;
        let x = |at: f64| libm::log(at / reference);
        let now = self.of(self.read.now).filter(|now| now.kept > 0.0);
        // With one price tried there is nothing to compare it with but a step
        // up.
        let beside = match (self.to_tell(), now) {
            (None, Some(now)) => self.price(now.price + quarter_step(0.2 * now.at)),
            _ => None,
        };
        let pair = match (&beside, now) {
            (Some(beside), Some(now)) if beside.kept > 0.0 => Some([now, beside]),
            _ => self.to_tell(),
        };
        let Some([low, high]) = pair else {
            return Some(Vec::new());
        };
        let question = Question {
            x: [x(low.at), x(high.at)],
            kept: [low.kept, high.kept],
        };
        let against = now.filter(|now| now.takes_part).unwrap_or(low);
        let most = self
            .best()
            .filter(|_| self.enough)
            .map(|best| best.expected);
        let arms = self
            .priced
            .iter()
            .chain(&beside)
            .filter(|arm| arm.takes_part && arm.kept > 0.0 && arm.price != against.price);
        let mut tests: Vec<TestOutput> = Vec::new();
        for arm in arms {
            let prices = [x(against.at), x(arm.at)];
            let plan = PriceTest {
                x: prices,
                days: self.read.test_days,
            };
            let Some(told) = question.chance_told(&belief, &plan) else {
                continue;
            };
            let needed = question.days_needed(&belief, prices, TELLS);
            let tells = [self.say(low.price), self.say(high.price)];
            let days = |n: u32| {
                if n == 1 {
                    "1 day".to_owned()
                } else {
                    format!("{n} days")
                }
            };
            let needed_in_words = match needed {
                Some(needed) if needed <= plan.days => String::new(),
                Some(needed) => format!("; for 8 times in 10 it takes {} at each", days(needed)),
                None => "; no number of days tells them apart".to_owned(),
            };
            let sentence = format!(
                "{} at {}, turn about with as many at {}, would tell {} from {} with a chance of {}{needed_in_words}.",
                days(plan.days),
                self.say(arm.price),
                self.say(against.price),
                tells[0],
                tells[1],
                chance(told),
            );
            let arm_most = most.unwrap_or(arm.expected);
            tests.push(TestOutput {
                price: self.say(arm.price),
                against: self.say(against.price),
                tells,
                days: plan.days,
                chance_told: told,
                days_needed: needed,
                costs_a_day_in_currency: (arm_most - arm.expected).max(0.0),
                sentence,
            });
        }
        tests.sort_by_key(|test| test.days_needed.unwrap_or(u32::MAX));
        // The quickest, and those at prices asked about.
        let asked: Vec<String> = self
            .read
            .asked
            .iter()
            .map(|price| self.say(*price))
            .collect();
        let mut kept = 0;
        tests.retain(|test| {
            kept += 1;
            kept == 1 || asked.contains(&test.price)
        });
        Some(tests)
    }

    /// The product's days that did not sell out, as days like the one asked
    /// about.
    fn plain_days(&self) -> Vec<(f64, f64)> {
        self.read
            .sales
            .iter()
            .filter(|sale| sale.product == self.read.product && !sale.sold_out)
            .map(|sale| (sale.price, sale.sold * self.exposure / sale.exposure))
            .collect()
    }

    fn alone(&self) -> Option<Alone> {
        let reference = self.learned.reference(self.read.product)?;
        let own = || {
            let all = self.read.sales.iter();
            all.filter(|sale| sale.product == self.read.product && !sale.sold_out)
        };
        let rows: Vec<Vec<f64>> = own()
            .map(|sale| vec![1.0, libm::log(sale.price / reference)])
            .collect();
        let counts: Vec<f64> = own().map(|sale| sale.sold).collect();
        let offsets: Vec<f64> = own().map(|sale| libm::log(sale.exposure)).collect();
        let data = Counts {
            rows: &rows,
            counts: &counts,
            offsets: &offsets,
        };
        // Three days leave one to judge by.
        if rows.len() < 3 {
            return None;
        }
        let fit = negative_binomial(data).ok()?;
        match (&fit.coefficients[..], &fit.standard_errors[..]) {
            ([_, elasticity], [_, error]) if error.is_finite() && *error < 1e3 => Some(Alone {
                elasticity: *elasticity,
                standard_error: *error,
                dispersion: fit.dispersion,
            }),
            _ => None,
        }
    }

    fn model(&self) -> Option<ModelOutput> {
        let belief = self.learned.belief(self.read.product)?;
        let now = self
            .learned
            .day_at(self.read.product, float(self.read.now), self.exposure)?;
        let m = now.expected;
        let relative = (1.0 + belief.dispersion) * libm::exp(belief.day_variance) - 1.0;
        Some(ModelOutput {
            elasticity: self.learned.elasticity(self.read.product)?.into(),
            day_spread: self.learned.day_spread()?.into(),
            dispersion: self.learned.dispersion()?.into(),
            day_sd: (m + m * m * relative).sqrt(),
            evidence: self.evidence,
            days: self.read.tried.values().sum(),
            products: self.read.n_products,
            alone: self.alone(),
            effective_draws: self.learned.effective_draws().round(),
            seed: self.learned.priors().seed,
        })
    }

    pub(super) fn answer(&self) -> Option<DemandAtPriceOutput> {
        let model = self.model()?;
        let verdict = self.verdict();
        let best = self.best().filter(|_| self.enough);
        let (within_2, within_5) = if self.enough {
            (self.within(0.02), self.within(0.05))
        } else {
            (None, None)
        };
        let prices: Option<Vec<AtPrice>> = self
            .priced
            .iter()
            .filter(|at| at.price == self.read.now || self.read.asked.contains(&at.price))
            .map(|priced| self.show(priced))
            .collect();
        let apart = self.apart();
        let tests = self.tests()?;
        let line = Line::fit(&self.plain_days());
        let mut working = Working::new();
        let line = line.map(|line| self.show_line(&line, &mut working));
        self.explain(&model, best, &tests, &mut working);
        let sentence = self.sentence(verdict, best, within_2.as_ref(), &apart, tests.first());
        Some(DemandAtPriceOutput {
            product: self.read.name.clone(),
            currency: self.read.currency.code().to_owned(),
            verdict,
            enough: self.enough,
            sentence,
            now: self.say(self.read.now),
            best: match best {
                Some(best) => Some(self.show(best)?),
                None => None,
            },
            within_2_percent: within_2,
            within_5_percent: within_5,
            prices: prices?,
            contest: self
                .priced
                .iter()
                .filter(|priced| self.enough && priced.takes_part)
                .map(|priced| self.contend(priced))
                .collect::<Option<_>>()?,
            curve: self.curve()?,
            apart,
            tests,
            notes: self.notes(&model, line.as_ref()),
            model,
            line,
            working,
        })
    }
}

/// Of what tidy prices are multiples, and what they have above one. A whole
/// number, or one that goes into 1 without remainder, is taken by its
/// multiples; any other is what prices end in.
fn tidy_by(end: Decimal) -> (Decimal, Decimal) {
    let goes_into_one = Decimal::ONE
        .checked_div(end)
        .is_some_and(|parts| parts.is_integer());
    if end.is_integer() || goes_into_one {
        return (end, Decimal::ZERO);
    }
    let mut every = Decimal::ONE;
    while every < end {
        every *= Decimal::TEN;
    }
    (every, end)
}

/// The largest of … 0.05, 0.10, 0.25, 0.50, 1 … that is no more than `most`.
fn quarter_step(most: f64) -> Decimal {
    let mut step = Decimal::new(1, 9);
    let by = [Decimal::new(25, 1), Decimal::TWO, Decimal::TWO];
    let mut steps = by.iter().cycle();
    // Up to the largest price there is.
    for _ in 0..60 {
        let Some(next) = steps.next().map(|by| step * by) else {
            break;
        };
        if float(next) > most * (1.0 + 1e-9) {
            break;
        }
        step = next;
    }
    step.normalize()
}
