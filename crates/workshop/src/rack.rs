//! The lots on the rack: what may be sold, what still needs hands, and what
//! the weights of a lot say.

use fill::Balance;
use jiff::Span;
use jiff::civil::Date;
use measure::{Decimal, Mass, Ratio, System, Typed, Working, figure, in_system, percent};

use crate::facts::{Grade, Place, PourId};
use crate::goods::Item;
use crate::learn::{made_of, scale_of};
use crate::odd::odd_weights;
use crate::state::{LotVerdict, Pour, Stage, Workshop};

/// Days a lot stays on the first page of the rack after it was poured.
pub const RECENT_DAYS: i32 = 60;
/// Lots on one page of the rack, held and unfinished ones apart.
pub const LOTS_A_PAGE: usize = 60;

/// How a lot stands on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// Poured and not finished: setting, or waiting to be counted.
    NeedsHands(Stage),
    /// Stopped, and why.
    Held(String),
    /// Cures until that day.
    Curing(Date),
    /// Fit for sale since that day.
    Ready(Date),
}

/// A lot with how it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct OnRack<'a> {
    /// The lot.
    pub pour: &'a Pour,
    /// How it stands.
    pub standing: Standing,
}

/// One page of the rack.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rack<'a> {
    /// Lots that need hands and lots on hold, oldest first; on the first page only.
    pub first: Vec<OnRack<'a>>,
    /// Lots that cure, the next to be ready first.
    pub curing: Vec<OnRack<'a>>,
    /// Lots that may be sold, the latest ready first.
    pub ready: Vec<OnRack<'a>>,
    /// Lots that might be sold and of which nothing is left, the latest ready
    /// first.
    pub gone: Vec<OnRack<'a>>,
    /// The lot before which the next page begins; none on the last.
    pub older: Option<PourId>,
}

impl<'a> Rack<'a> {
    /// Every lot of the page in its order.
    pub fn all(&self) -> impl Iterator<Item = &OnRack<'a>> {
        let standing = self.first.iter().chain(&self.curing).chain(&self.ready);
        standing.chain(&self.gone)
    }

    /// Whether there is nothing on the page.
    pub fn is_empty(&self) -> bool {
        self.all().next().is_none()
    }
}

/// How a poured lot stands on a day; none before it is poured.
pub fn standing(workshop: &Workshop, pour: &Pour, day: Date) -> Option<Standing> {
    pour.poured.filter(|_| pour.abandoned.is_none())?;
    Some(match workshop.verdict(pour, day) {
        None => Standing::NeedsHands(pour.stage()),
        Some(LotVerdict::Hold(reason)) => Standing::Held(reason),
        Some(LotVerdict::Curing(until)) => Standing::Curing(until),
        Some(LotVerdict::Ready(since)) => Standing::Ready(since),
    })
}

/// One page of the rack on a day: on the first page everything that needs
/// hands or is held and the lots poured in the last [`RECENT_DAYS`], up to
/// [`LOTS_A_PAGE`]; on later pages as many lots begun before `before`.
pub fn rack_on(workshop: &Workshop, day: Date, before: Option<PourId>) -> Rack<'_> {
    let mut rack = Rack::default();
    if before.is_none() {
        let waits = |pour: &&Pour| pour.poured.is_some() && pour.finished.is_none();
        let held = |pour: &&Pour| pour.held.is_some();
        let first = workshop
            .open_pours()
            .filter(waits)
            .chain(workshop.pours().filter(held));
        rack.first = first
            .filter_map(|pour| on_rack(workshop, pour, day))
            .collect();
    }
    let finished = workshop
        .pours_before(before)
        .filter(|pour| pour.finished.is_some() && pour.held.is_none());
    for (nth, pour) in finished.enumerate() {
        let Some(lot) = on_rack(workshop, pour, day) else {
            continue;
        };
        let age = pour.poured.map_or(0, |poured| days_from(poured, day));
        let is_old = age > RECENT_DAYS && matches!(lot.standing, Standing::Ready(_));
        if nth >= LOTS_A_PAGE || (before.is_none() && is_old) {
            // The page before this lot begins with it.
            rack.older = Some(PourId(pour.id.0.saturating_add(1)));
            break;
        }
        match lot.standing {
            Standing::Ready(_) if !is_on_rack(workshop, pour.id) => rack.gone.push(lot),
            Standing::Ready(_) => rack.ready.push(lot),
            _ => rack.curing.push(lot),
        }
    }
    rack.curing.sort_by_key(|lot| until(&lot.standing));
    for lots in [&mut rack.ready, &mut rack.gone] {
        lots.sort_by_key(|lot| std::cmp::Reverse(until(&lot.standing)));
    }
    rack
}

/// What the maker still has of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOfLot {
    /// Good units on the rack; below zero where more left than came.
    pub good: i64,
    /// Seconds on the rack.
    pub seconds: i64,
    /// Units of both packed, at a stall, or at a shop that pays for what it
    /// sells.
    pub elsewhere: i64,
}

/// What the maker still has of a lot; none where nothing of it is left
/// anywhere.
pub fn left_of(workshop: &Workshop, lot: PourId) -> Option<LeftOfLot> {
    let mut left = None;
    for grade in [Grade::Good, Grade::Second] {
        for (place, count) in workshop.goods().places_of(Item::Lot(lot, grade)) {
            let left = left.get_or_insert_with(LeftOfLot::default);
            match (place, grade) {
                (Place::Rack, Grade::Good) => left.good += count,
                (Place::Rack, Grade::Second) => left.seconds += count,
                _ => left.elsewhere += count,
            }
        }
    }
    left
}

/// Whether any of a lot stands on the rack.
pub(crate) fn is_on_rack(workshop: &Workshop, lot: PourId) -> bool {
    left_of(workshop, lot).is_some_and(|left| left.good > 0 || left.seconds > 0)
}

fn on_rack<'a>(workshop: &Workshop, pour: &'a Pour, day: Date) -> Option<OnRack<'a>> {
    let standing = standing(workshop, pour, day)?;
    Some(OnRack { pour, standing })
}

const fn until(standing: &Standing) -> Option<Date> {
    match standing {
        Standing::Curing(day) | Standing::Ready(day) => Some(*day),
        Standing::NeedsHands(_) | Standing::Held(_) => None,
    }
}

/// Days from one day to another, below zero when the other is earlier.
pub fn days_from(from: Date, to: Date) -> i32 {
    let hours = to.duration_since(from).as_hours();
    i32::try_from(hours / 24).unwrap_or(if hours < 0 { i32::MIN } else { i32::MAX })
}

/// The day so many days after another; the same day where the calendar ends.
pub fn day_after(day: Date, days: i32) -> Date {
    // A span refuses what the calendar could not hold anyway.
    Span::new()
        .try_days(days)
        .ok()
        .and_then(|span| day.checked_add(span).ok())
        .unwrap_or(day)
}

/// Why the units of a lot do not say what the next one weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRange {
    /// Fewer than two, or all alike.
    TooFew,
    /// The range would tell nothing.
    TooFarApart,
}

/// How many times its lower end the upper end of a range may be and still tell
/// a maker something. Common practice, no source.
const WIDEST: f64 = 4.0;

/// What the unit weights of one lot say, by the exact normal model; the next
/// unit by that of their logarithms, since no unit weighs less than nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct LotWeights {
    /// Weights that count, in grams, in the order they were written.
    pub grams: Vec<f64>,
    /// Their mean.
    pub mean: Mass,
    /// Their standard deviation; none for fewer than two or all alike.
    pub spread: Option<Mass>,
    /// Where the next unit of the lot lies nine times in ten; none without a spread.
    pub next_unit: Option<(Mass, Mass)>,
    /// Why there is no such range; none when there is one.
    pub no_range: Option<NoRange>,
    /// What does not fit what went in, as a sentence each.
    pub odd: Vec<String>,
    /// Where the mean of the lot lies nine times in ten.
    pub mean_range: Option<(Mass, Mass)>,
    /// How they were found.
    pub working: Working,
}

/// Looks at the unit weights of a lot; none before one was weighed.
///
/// Nothing is assumed beforehand, so the intervals are the textbook's t
/// intervals.
pub fn lot_weights(workshop: &Workshop, pour: &Pour) -> Option<LotWeights> {
    let grams: Vec<f64> = pour
        .weights()
        .map(|weight| weight.value().grams())
        .collect();
    let sum: Mass = pour.weights().map(Typed::value).sum();
    let mean = sum.share(Decimal::ONE, Decimal::from(grams.len()))?;
    let belief = fill::NormalBelief::NOTHING.after(&grams).ok()?;
    let system = workshop.system();
    let show = |mass: Mass| in_system(mass, system).to_string();
    let pair = |low: Result<f64, _>, high: Result<f64, fill::BeliefError>| {
        Some((Mass::from_grams(low.ok()?)?, Mass::from_grams(high.ok()?)?))
    };
    let of_logs = fill::WeightBelief::of(&grams).ok()?;
    let next = pair(of_logs.next_unit_at(0.05), of_logs.next_unit_at(0.95));
    let next_unit = next.filter(|(low, high)| high.grams() <= WIDEST * low.grams());
    let no_range = match (next, next_unit) {
        (_, Some(_)) => None,
        (Some(_), None) => Some(NoRange::TooFarApart),
        (None, None) => Some(NoRange::TooFew),
    };
    let mean_range =
        pair(belief.mean_at(0.05), belief.mean_at(0.95)).filter(|_| next_unit.is_some());
    let spread = next.and_then(|_| Mass::from_grams(belief.sd()));
    let n = grams.len();
    let mut working = Working::new();
    working.step(
        "Mean of the units weighed",
        "sum of the weights ÷ how many",
        format!("{} ÷ {n}", show(sum)),
        show(mean),
        "",
    );
    if let Some(spread) = spread {
        working.step(
            "Standard deviation",
            "√(sum of (weight − mean)² ÷ (n − 1))",
            format!("n = {n}"),
            show(spread),
            "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6",
        );
    }
    if let (Some(spread), Some(next), Some(of_mean)) = (spread, next_unit, mean_range) {
        working.step(
            "The next unit, nine times in ten",
            "mean ± t(95 %, n − 1) × standard deviation × √(1 + 1/n), of the logarithms and turned back",
            format!("n = {n}"),
            format!("{} to {}", show(next.0), show(next.1)),
            "Hoff, A First Course in Bayesian Statistical Methods (2009), chapter 5, with nothing assumed before; \
             logarithms, since no unit weighs less than nothing",
        );
        working.step(
            "The mean of the lot, nine times in ten",
            "mean ± t(95 %, n − 1) × standard deviation ÷ √n",
            format!("{} ± t × {} ÷ √{n}", show(mean), show(spread)),
            format!("{} to {}", show(of_mean.0), show(of_mean.1)),
            "the same chapter, on the weights themselves",
        );
    }
    Some(LotWeights {
        grams,
        mean,
        spread,
        next_unit,
        no_range,
        odd: odd_weights(workshop, pour)
            .into_iter()
            .map(|odd| odd.words)
            .collect(),
        mean_range,
        working,
    })
}

/// The account of a pour by mass.
#[derive(Debug, Clone, PartialEq)]
pub struct LotBalance {
    /// What went in.
    pub put_in: Mass,
    /// What came out as units.
    pub in_goods: Mass,
    /// What was left over and kept.
    pub poured_back: Mass,
    /// What is in neither; below zero when the average of a few units stands
    /// for too many.
    pub unaccounted: Mass,
    /// The same as a share of what went in, signed: `3.5 %`.
    pub unaccounted_share: String,
    /// What the workshop expects to lose, for comparison.
    pub expected: Ratio,
    /// Whether the loss is so far above the expected one that it wants an answer.
    pub ask: bool,
    /// Whether more came out than went in, beyond what the scale explains.
    pub is_too_much: bool,
    /// How they were found.
    pub working: Working,
}

/// How many times the expected loss a loss has to be before it is asked about.
/// Common practice, no source.
const WELL_ABOVE: f64 = 2.0;

/// A mass of a balance in words: all its terms to the same place, so that they
/// add up on paper too.
pub fn balance_mass(workshop: &Workshop, mass: Mass) -> String {
    let places = match workshop.system() {
        System::Metric => 1,
        System::Us | System::Imperial => 2,
    };
    mass.typed(workshop.system().mass_unit(), places)
        .to_string()
}

/// The account of a counted pour whose units were weighed; none before that.
pub fn lot_balance(workshop: &Workshop, pour: &Pour) -> Option<LotBalance> {
    let scale = scale_of(workshop);
    let cavities = pour
        .mould
        .and_then(|mould| workshop.mould(mould))
        .map_or(1, |mould| mould.cavities);
    let made = made_of(cavities, pour, &scale)?;
    let balance = Balance::of(&made)?;
    let mass = |grams: f64| Mass::from_grams(grams);
    let show = |mass: Mass| balance_mass(workshop, mass);
    let expected = workshop
        .settings()
        .and_then(|settings| settings.expected_loss)
        .or_else(|| Ratio::from_decimal(Decimal::new(3, 2)))?;
    let (put_in, in_goods) = (mass(balance.put_in)?, mass(balance.in_goods)?);
    let (poured_back, unaccounted) = (mass(balance.poured_back)?, mass(balance.unaccounted)?);
    let share = format!("{} %", figure(balance.unaccounted_share * 100.0, 1));
    let mut working = Working::new();
    if !balance.all_weighed {
        working.step(
            "In goods",
            "full units × mean of those weighed, and the part-filled one",
            format!("{} full, {} weighed", made.filled, made.weighed_units()),
            show(in_goods),
            "the average of the units weighed stands for the rest",
        );
    }
    working.step(
        "Not accounted for",
        "put in − in goods − poured back",
        format!(
            "{} − {} − {}",
            show(put_in),
            show(in_goods),
            show(poured_back)
        ),
        show(unaccounted),
        if balance.part_unknown {
            "conservation of mass; a part-filled unit nobody weighed is still in it"
        } else {
            "conservation of mass"
        },
    );
    working.step(
        "As a share of what went in",
        "not accounted for ÷ put in",
        format!("{} ÷ {}", show(unaccounted), show(put_in)),
        share.clone(),
        format!("expected {}", percent(expected, 1)),
    );
    let spare = in_grams_of_one_unit(&made);
    let ask = balance.unaccounted_share > WELL_ABOVE * expected.to_f64()
        && !(balance.part_unknown && balance.unaccounted < spare);
    Some(LotBalance {
        put_in,
        in_goods,
        poured_back,
        unaccounted,
        unaccounted_share: share,
        expected,
        ask,
        is_too_much: -balance.unaccounted > made.readability,
        working,
    })
}

/// What a part-filled unit nobody weighed may hold at most.
fn in_grams_of_one_unit(made: &fill::Pour) -> f64 {
    match made.weighed_units() {
        0 => 0.0,
        n => made.weighed_grams() / n as f64,
    }
}
