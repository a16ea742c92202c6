//! Where a test changes its answer as oil goes into a pot.
//!
//! With `r` parts of oil to one of everything else, a substance that makes up
//! `p` of the pot and `o` of the oil makes up `(p + r·o) ÷ (1 + r)` of the
//! whole. "Weight × share, summed, reaches the limit" is then a straight line in
//! `r` that reaches zero, as long as the same substances count; and each begins
//! or ceases to count where a line of its own passes zero.

use std::cmp::Ordering;

use num_bigint::{BigInt, Sign};
use rust_decimal::prelude::ToPrimitive;

use crate::class::Class;
use crate::rule::{Fraction, Term, Test, Then};

/// Parts of oil to one of everything else, an exact fraction.
#[derive(Debug, Clone)]
pub(super) struct Point {
    over: BigInt,
    under: BigInt,
    /// The nearest float, to compare by where that is enough.
    near: f64,
}

impl Point {
    /// `over / under`, of which `under` is not zero.
    pub(super) fn of(over: BigInt, under: BigInt) -> Self {
        let (over, under) = if under.sign() == Sign::Minus {
            (-over, -under)
        } else {
            (over, under)
        };
        // A float holds figures of about a thousand binary digits.
        let spare = over.bits().max(under.bits()).saturating_sub(900);
        let float = |whole: &BigInt| (whole >> spare).to_f64().unwrap_or(f64::NAN);
        let near = float(&over) / float(&under);
        Self { over, under, near }
    }

    pub(super) fn zero() -> Self {
        Self::of(BigInt::ZERO, BigInt::from(1))
    }

    /// The nearest float.
    pub(super) fn near(&self) -> f64 {
        self.near
    }

    pub(super) fn over(&self) -> &BigInt {
        &self.over
    }

    pub(super) fn under(&self) -> &BigInt {
        &self.under
    }

    /// The very load, as oil and base in whole numbers where they fit.
    pub(super) fn exactly(&self) -> Option<(u128, u128)> {
        let (mut a, mut b) = (self.over.clone(), self.under.clone());
        while b.sign() != Sign::NoSign {
            let rest = &a % &b;
            (a, b) = (b, rest);
        }
        Some(((&self.over / &a).to_u128()?, (&self.under / &a).to_u128()?))
    }

    fn is_within(&self, low: &Self, high: &Self) -> bool {
        self > low && self < high
    }

    fn halfway(&self, other: &Self) -> Self {
        Self::of(
            &self.over * &other.under + &other.over * &self.under,
            &self.under * &other.under * 2,
        )
    }

    /// A load strictly between the two, about that part of the way, with as few
    /// decimals as it takes, as oil and base in whole numbers; none where twelve
    /// do not suffice.
    pub(super) fn between(&self, other: &Self, part: f64) -> Option<(u128, u128)> {
        let near = self.near + (other.near - self.near) * part;
        (1..=12).find_map(|places| {
            let base = 10_u128.pow(places);
            let oil = (near * base as f64).round().to_u128()?;
            Self::of(oil.into(), base.into())
                .is_within(self, other)
                .then_some((oil, base))
        })
    }
}

impl PartialEq for Point {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Point {}

impl PartialOrd for Point {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Point {
    fn cmp(&self, other: &Self) -> Ordering {
        let apart = (self.near - other.near).abs();
        if apart > 1e-9 * self.near.abs().max(other.near.abs()) {
            return self.near.total_cmp(&other.near);
        }
        (&self.over * &other.under).cmp(&(&other.over * &self.under))
    }
}

/// A substance's share of the pot without the oil and of the oil, both over
/// the same whole.
#[derive(Debug, Clone)]
pub(super) struct Share {
    pub(super) base: BigInt,
    pub(super) oil: BigInt,
    /// Whether its share is only neared (`< 10 %`).
    pub(super) is_open: bool,
}

impl Share {
    fn is_nothing(&self) -> bool {
        self.base.sign() == Sign::NoSign && self.oil.sign() == Sign::NoSign
    }
}

/// `at + r × slope`.
#[derive(Debug, Clone)]
struct Line {
    at: BigInt,
    slope: BigInt,
}

impl Line {
    /// What stays of the line of nothing once a limit is taken off, which is
    /// the same for any load: limit × (1 + r).
    fn below(limit: &BigInt) -> Self {
        Self {
            at: -limit,
            slope: -limit,
        }
    }

    fn add(&mut self, share: &Share, times: &BigInt) {
        self.at += &share.base * times;
        self.slope += &share.oil * times;
    }

    fn take(&mut self, share: &Share, times: &BigInt) {
        self.at -= &share.base * times;
        self.slope -= &share.oil * times;
    }

    fn sign(&self, at: &Point) -> Sign {
        (&self.at * &at.under + &self.slope * &at.over).sign()
    }

    fn zero(&self) -> Option<Point> {
        (self.slope.sign() != Sign::NoSign).then(|| Point::of(-&self.at, self.slope.clone()))
    }

    fn plus(&self, other: &Self) -> Self {
        Self {
            at: &self.at + &other.at,
            slope: &self.slope + &other.slope,
        }
    }
}

/// A load at which an answer changes.
#[derive(Debug, Clone)]
pub(super) struct Flip {
    pub(super) at: Point,
    /// Which answer that very load has.
    pub(super) side: Side,
}

/// Whose answer the load at a flip has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// That of the loads below.
    Below,
    /// That of the loads above.
    Above,
    /// Two tests flip there, one to each side.
    Neither,
}

impl Side {
    fn of(is_below: bool) -> Self {
        if is_below { Self::Below } else { Self::Above }
    }
}

/// Every load above nothing and up to `top` at which one of the tests changes
/// its answer, each once, in order.
pub(super) fn flips(tests: &[Test], shares: &[Share], whole: &BigInt, top: &Point) -> Vec<Flip> {
    let mut flips = Vec::new();
    for test in tests.iter().filter(|test| test.then != Then::Warn) {
        Sums::of(test, shares, whole).flips(top, &mut flips);
    }
    flips.sort_by(|a, b| a.at.cmp(&b.at));
    flips.dedup_by(|next, kept| {
        let same = next.at == kept.at;
        if same && kept.side != next.side {
            kept.side = Side::Neither;
        }
        same
    });
    flips
}

/// A substance's part in a test.
struct Summand<'a> {
    share: &'a Share,
    /// Its weight in whole numbers, with what the limit is multiplied by.
    times: BigInt,
    /// Passes zero where it begins or ceases to count.
    counts: Line,
    is_unknown: bool,
}

/// A test with its figures in whole numbers.
struct Sums<'a> {
    class: Class,
    summands: Vec<Summand<'a>>,
    /// The limit on the scale of the summands, and 10 % on it.
    limit: BigInt,
    ten: BigInt,
    has_unknown: bool,
}

/// The sums as lines while the same substances count.
struct Lines {
    known: Line,
    unknown: Line,
    /// How many of the known ones count, and how many of those are neared.
    counted: usize,
    open: usize,
    open_unknown: usize,
}

impl Lines {
    fn change(&mut self, summand: &Summand, counts: bool) {
        let line = if summand.is_unknown {
            &mut self.unknown
        } else {
            &mut self.known
        };
        let tally = |count: &mut usize| {
            *count = if counts {
                *count + 1
            } else {
                count.saturating_sub(1)
            };
        };
        if counts {
            line.add(summand.share, &summand.times);
        } else {
            line.take(summand.share, &summand.times);
        }
        if summand.is_unknown {
            if summand.share.is_open {
                tally(&mut self.open_unknown);
            }
        } else {
            tally(&mut self.counted);
            if summand.share.is_open {
                tally(&mut self.open);
            }
        }
    }
}

impl<'a> Sums<'a> {
    fn of(test: &Test, shares: &'a [Share], whole: &BigInt) -> Self {
        let has_unknown = !test.unknown.is_empty();
        let all = || {
            let known = test.terms.iter().map(|term| (term, false));
            known.chain(test.unknown.iter().map(|term| (term, true)))
        };
        let common = all().fold(BigInt::from(1), |common, (term, _)| {
            multiple(common, term.weight.under())
        });
        let limit_under = test.limit.under();
        let summands = all()
            .filter_map(|(term, is_unknown)| {
                let share = shares.get(term.substance)?;
                (!share.is_nothing()).then(|| Summand {
                    share,
                    times: scaled(term.weight, &common) * limit_under,
                    counts: counting(term, share, whole),
                    is_unknown,
                })
            })
            .collect();
        let scale = common * whole;
        Self {
            class: test.class,
            summands,
            limit: &scale * test.limit.over(),
            ten: scale * 10 * limit_under,
            has_unknown,
        }
    }

    fn nothing(&self) -> Lines {
        Lines {
            known: Line::below(&self.limit),
            unknown: Line {
                at: BigInt::ZERO,
                slope: BigInt::ZERO,
            },
            counted: 0,
            open: 0,
            open_unknown: 0,
        }
    }

    fn is_reached(&self, lines: &Lines, at: &Point) -> bool {
        let reaches = |line: &Line, open: usize| match line.sign(at) {
            Sign::Plus => true,
            Sign::NoSign => open == 0,
            Sign::Minus => false,
        };
        if lines.counted == 0 {
            return false;
        }
        if reaches(&lines.known, lines.open) {
            return true;
        }
        self.has_unknown
            && self.beyond_ten(lines).sign(at) == Sign::Plus
            && reaches(
                &lines.known.plus(&lines.unknown),
                lines.open + lines.open_unknown,
            )
    }

    fn beyond_ten(&self, lines: &Lines) -> Line {
        lines.unknown.plus(&Line::below(&self.ten))
    }

    fn flips(&self, top: &Point, flips: &mut Vec<Flip>) {
        // Who counts from the first drop of oil on, and where that changes.
        let first = Point::zero();
        let mut lines = self.nothing();
        let mut turns: Vec<(Point, &Summand, bool)> = Vec::new();
        for summand in &self.summands {
            let rising = summand.counts.slope.sign();
            let at_first = match summand.counts.at.sign() {
                Sign::NoSign if rising == Sign::NoSign => !summand.share.is_open,
                Sign::NoSign => rising == Sign::Plus,
                sign => sign == Sign::Plus,
            };
            if at_first {
                lines.change(summand, true);
            }
            if let Some(turn) = summand.counts.zero()
                && turn > first
                && turn <= *top
            {
                if self.class == Class::SkinCorr1 {
                    // Whether the sub-category is told hangs on who counts.
                    let counts_there = !summand.share.is_open;
                    flips.push(Flip {
                        at: turn.clone(),
                        side: Side::of(counts_there == at_first),
                    });
                }
                turns.push((turn, summand, !at_first));
            }
        }
        turns.sort_by(|a, b| a.0.cmp(&b.0));

        let mut answers = Answers {
            before: None,
            flips,
        };
        let mut low = first;
        let mut turns = turns.as_slice();
        loop {
            let high = turns.first().map_or(top, |turn| &turn.0);
            if low < *high {
                self.between(&lines, &low, high, &mut answers);
            }
            let (here, rest) = turns.split_at(turns.partition_point(|turn| turn.0 <= *high));
            // At its cut-off itself a substance counts unless its share is only
            // neared: those that go to that side first, then the others.
            let turn = |lines: &mut Lines, is_there: bool| {
                for (_, summand, counts) in here {
                    if (*counts != summand.share.is_open) == is_there {
                        lines.change(summand, *counts);
                    }
                }
            };
            turn(&mut lines, true);
            let at = self.is_reached(&lines, high);
            turn(&mut lines, false);
            answers.at(high.clone(), at);
            if rest.is_empty() && high == top {
                break;
            }
            low = high.clone();
            turns = rest;
        }
        // The most itself may be the load that first reaches a limit.
        answers.end();
    }

    /// The answers between two loads with the same substances counting.
    fn between(&self, lines: &Lines, low: &Point, high: &Point, answers: &mut Answers) {
        let mut zeros = vec![lines.known.zero()];
        if self.has_unknown {
            zeros.push(self.beyond_ten(lines).zero());
            zeros.push(lines.known.plus(&lines.unknown).zero());
        }
        let mut cuts: Vec<Point> = zeros
            .into_iter()
            .flatten()
            .filter(|zero| zero.is_within(low, high))
            .collect();
        cuts.sort();
        cuts.dedup();
        let mut from = low.clone();
        for cut in cuts {
            answers.then(self.is_reached(lines, &from.halfway(&cut)));
            answers.at(cut.clone(), self.is_reached(lines, &cut));
            from = cut;
        }
        answers.then(self.is_reached(lines, &from.halfway(high)));
    }
}

/// Answers as they come, from the lowest load up.
struct Answers<'a> {
    /// The last stretch's answer, and the one load's behind it.
    before: Option<(bool, Option<(Point, bool)>)>,
    flips: &'a mut Vec<Flip>,
}

impl Answers<'_> {
    /// The answer over the next stretch.
    fn then(&mut self, after: bool) {
        if let Some((before, Some((at, own)))) = self.before.take()
            && (before != after || own != before)
        {
            let side = match (own == before, own == after) {
                (true, _) => Side::Below,
                (false, true) => Side::Above,
                (false, false) => Side::Neither,
            };
            self.flips.push(Flip { at, side });
        }
        self.before = Some((after, None));
    }

    /// The answer at the load where that stretch ends.
    fn at(&mut self, at: Point, own: bool) {
        if let Some((_, end)) = &mut self.before {
            *end = Some((at, own));
        }
    }

    /// There is no load above.
    fn end(&mut self) {
        if let Some((before, Some((at, own)))) = self.before.take()
            && own != before
        {
            self.flips.push(Flip {
                at,
                side: Side::Above,
            });
        }
    }
}

/// Passes zero where the substance reaches its cut-off.
fn counting(term: &Term, share: &Share, whole: &BigInt) -> Line {
    let mut line = Line::below(&(whole * term.cut_off.over()));
    line.add(share, &BigInt::from(term.cut_off.under()));
    line
}

/// A weight in units of one over `common`.
fn scaled(weight: Fraction, common: &BigInt) -> BigInt {
    common / weight.under() * weight.over()
}

/// The least common multiple.
fn multiple(common: BigInt, by: u64) -> BigInt {
    let rest = (&common % by).to_u64().unwrap_or_default();
    let (mut a, mut b) = (by, rest);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    common * (by / a.max(1))
}
