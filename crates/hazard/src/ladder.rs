//! How the classification changes as the load goes from nothing to the most
//! the wax takes.
//!
//! Nothing is sampled. Every share is a straight line over one common bottom,
//! so each limit of the law is reached at one load that can be solved for in
//! whole numbers, once it is known which substances count there. What the law
//! says between two such loads is then asked of [`classify`] once.

mod calculation;
mod solve;
mod words;

use std::collections::BTreeMap;

use measure::{Problem, Problems};
use num_bigint::{BigInt, Sign};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::class::Hazard;
use crate::classify::{Classification, Family, Found, classify};
use crate::label::Declared;
use crate::mixture::{Concentration, Form, Mixture, Part};
use crate::regime::Rules;
use crate::rule::{self, Then};
pub use calculation::{Input, Output, RungOut, calculate, calculate_with};
pub use words::Base;

use solve::{Flip, Point, Share, Side, flips};

/// What is in the pot, and the oil that goes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pot<'a> {
    /// Wax, additives and dye by weight, without the oil.
    pub base: &'a [Part],
    /// The weight of the wax among them, which a load "of wax" is a share of.
    pub wax: Decimal,
    /// The oil; its weight is the most that goes in.
    pub oil: &'a Part,
}

/// The rungs, from no oil to the most.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// At least one, from the lowest load up, each beginning where the one
    /// below it ends.
    pub rungs: Vec<Rung>,
    /// The substances of the mixture, in the order that the places in a
    /// [`Classification`] speak of.
    pub substances: Vec<String>,
    scale: Scale,
}

/// A load on both bases, percent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Load {
    /// Oil ÷ wax.
    pub of_wax: Decimal,
    /// Oil ÷ everything.
    pub of_total: Decimal,
}

/// A stretch of loads over which the label stays the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Where it begins, to a millionth of a percent.
    pub from: Load,
    /// Where it ends, to a millionth of a percent.
    pub to: Load,
    /// The highest load that keeps it, on each base rounded down to a hundredth
    /// of a percent. None where it is too short to hold such a figure.
    pub keeps: Option<Load>,
    /// What the law says there, at the highest load that keeps it.
    pub classification: Classification,
    /// The same as the label needs it.
    pub declared: Declared,
    /// The classes.
    pub hazards: Vec<Hazard>,
    /// The sensitisers the label names.
    pub named: Vec<String>,
    /// What changes at its upper end; nothing for the last.
    pub then: Vec<Change>,
    end: End,
}

/// Where a rung ends, exactly, and whether that very load belongs to it.
#[derive(Debug, Clone, PartialEq)]
struct End {
    at: Point,
    is_included: bool,
}

/// One thing that changes where a rung ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What.
    pub what: What,
    /// The substances that decide it, the weightiest first; for a name, the one
    /// that is named.
    pub deciding: Vec<String>,
    /// How much of the whole each of them makes up where the rung ends, percent.
    pub shares: Vec<f64>,
    /// What they reach there, percent: their sum by the weights of the law.
    pub limit: f64,
    /// The paragraph or table.
    pub law: &'static str,
}

/// The kinds of change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A class is there from here on.
    Begins(Hazard),
    /// A class ends here.
    Ends(Hazard),
    /// One category gives way to another of the same class.
    Becomes(Hazard, Hazard),
    /// A sensitiser is named from here on.
    Names,
    /// A sensitiser is no longer named.
    NamesNoMore,
}

impl Rung {
    /// Whether the names stand in EUH208 rather than beside H317 or H334.
    pub fn is_euh208(&self) -> bool {
        !self.named.is_empty() && !self.classification.is_sensitising()
    }

    /// Whether the load at which it ends still belongs to it.
    pub fn holds_its_end(&self) -> bool {
        self.end.is_included
    }

    /// Whether nothing at all is due for a hazard.
    pub fn is_bare(&self) -> bool {
        self.hazards.is_empty() && self.named.is_empty()
    }
}

impl Ladder {
    /// The rung that a load stands on, given as weights of oil and of what is in
    /// the pot before it; the last one for more than the most.
    pub fn at(&self, oil: Decimal, base: Decimal) -> &Rung {
        &self.rungs[self.place(oil, base)]
    }

    /// The place of that rung.
    pub fn place(&self, oil: Decimal, base: Decimal) -> usize {
        let last = self.rungs.len() - 1;
        let (over, under) = ratio(oil.max(Decimal::ZERO), base);
        if under.sign() != Sign::Plus {
            return last;
        }
        let at = Point::of(over, under);
        self.rungs
            .iter()
            .position(|rung| at < rung.end.at || (at == rung.end.at && rung.end.is_included))
            .unwrap_or(last)
    }

    /// The rung that a load of wax in percent stands on.
    pub fn at_load_of_wax(&self, percent: Decimal) -> &Rung {
        &self.rungs[self.place_of_wax(percent)]
    }

    /// The place of the rung that a load of total in percent stands on.
    pub fn place_of_total(&self, percent: Decimal) -> usize {
        self.place(percent, (Decimal::ONE_HUNDRED - percent).max(Decimal::ZERO))
    }

    /// The place of the rung that a load of wax in percent stands on.
    pub fn place_of_wax(&self, percent: Decimal) -> usize {
        let hundred = Decimal::ONE_HUNDRED;
        match (
            percent.checked_mul(self.scale.wax),
            hundred.checked_mul(self.scale.base),
        ) {
            (Some(oil), Some(base)) => self.place(oil, base),
            _ => self.rungs.len() - 1,
        }
    }
}

/// Finds every load at which the label changes.
///
/// The label is what [`classify`] finds: the classes with their statements, and
/// the sensitisers that must be named.
///
/// # Errors
///
/// Those of [`Mixture::of`] with the oil as the last of the parts; a base, a wax
/// or an oil that weighs nothing; weights with more digits than can be reckoned
/// with.
pub fn ladder(pot: &Pot, rules: &Rules, form: &Form) -> Result<Ladder, Problems> {
    let scale = Scale::of(pot)?;
    let pots = Pots::of(pot)?;
    let tests = rule::tests(&pots.mixture.substances, rules, form);
    let top = scale.top();
    let flips = flips(&tests, &pots.shares(), &BigInt::from(pots.whole), &top);
    let mut climb = Climb {
        scale,
        pots,
        rules: *rules,
        form,
        pieces: Vec::new(),
    };
    climb
        .up(&flips, &top)
        .map(|()| climb.finish())
        .ok_or_else(|| out_of_reach(pot))
}

fn out_of_reach(pot: &Pot) -> Problems {
    Problem::new(
        "wax",
        pot.wax.to_string(),
        "these weights have more digits than this can reckon with",
        "give the parts by weight, such as 100 and 10",
    )
    .into()
}

/// What makes two loads carry the same label.
#[derive(PartialEq)]
struct Key {
    hazards: Vec<Hazard>,
    named: Vec<usize>,
}

impl Key {
    fn of(found: &Classification) -> Self {
        let mut named = found.contains.clone();
        for found in &found.found {
            if is_allergy(Family::of(found.hazard.class)) {
                named.extend(&found.deciding);
            }
        }
        named.sort_unstable();
        named.dedup();
        Self {
            hazards: found.hazards().collect(),
            named,
        }
    }
}

fn is_allergy(family: Family) -> bool {
    matches!(family, Family::Airways | Family::Allergy)
}

/// A rung while it is put together.
struct Piece {
    key: Key,
    /// The law's word just above its start.
    first: Classification,
    /// The same behind the last load on it at which any test changes its answer
    /// without changing the label.
    later: Option<Classification>,
    end: End,
}

impl Piece {
    fn last(&self) -> &Classification {
        self.later.as_ref().unwrap_or(&self.first)
    }
}

/// How far above a boundary the law is asked, as a part of the way to the next:
/// near it, so that those substances count that count there.
const ABOVE: f64 = 1e-4;

struct Climb<'a> {
    scale: Scale,
    pots: Pots,
    rules: Rules,
    form: &'a Form,
    pieces: Vec<Piece>,
}

impl Climb<'_> {
    /// Asks the law once between each two flips, and where two tests flip to
    /// different sides of one load, of that load too.
    fn up(&mut self, flips: &[Flip], top: &Point) -> Option<()> {
        let mut from = Point::zero();
        for Flip { at, side } in flips {
            let is_top = at == top;
            self.piece(&from, at, *side == Side::Below)?;
            if *side == Side::Neither || (is_top && *side == Side::Above) {
                self.point(at)?;
            }
            from = at.clone();
        }
        if from != *top {
            self.piece(&from, top, true)?;
        }
        (!self.pieces.is_empty()).then_some(())
    }

    fn ask(&mut self, (oil, base): (u128, u128)) -> Option<Classification> {
        self.pots.fill(oil, base)?;
        Some(classify(&self.pots.mixture, &self.rules, self.form))
    }

    fn piece(&mut self, low: &Point, high: &Point, is_end_included: bool) -> Option<()> {
        // What is too short for twelve decimals is nobody's load.
        let inside = low.between(high, ABOVE).or_else(|| low.between(high, 0.5));
        if let Some(inside) = inside {
            let found = self.ask(inside)?;
            self.push(found, high.clone(), is_end_included);
        }
        Some(())
    }

    fn point(&mut self, at: &Point) -> Option<()> {
        if let Some(exactly) = at.exactly() {
            let found = self.ask(exactly)?;
            self.push(found, at.clone(), true);
        }
        Some(())
    }

    fn push(&mut self, found: Classification, end: Point, is_end_included: bool) {
        let end = End {
            at: end,
            is_included: is_end_included,
        };
        let key = Key::of(&found);
        match self.pieces.last_mut() {
            Some(last) if last.key == key => {
                last.later = Some(found);
                last.end = end;
            }
            _ => self.pieces.push(Piece {
                key,
                first: found,
                later: None,
                end,
            }),
        }
    }

    fn finish(mut self) -> Ladder {
        let substances: Vec<String> = self
            .pots
            .mixture
            .substances
            .iter()
            .map(|substance| substance.name.clone())
            .collect();
        let pieces = std::mem::take(&mut self.pieces);
        let mut rungs: Vec<Rung> = Vec::new();
        for (place, own) in pieces.iter().enumerate() {
            let mut then = pieces.get(place + 1).map_or_else(Vec::new, |above| {
                changes((&own.key, own.last()), (&above.key, &above.first))
            });
            for (change, places) in &mut then {
                change.deciding = names(places, &substances);
                change.shares = self.pots.percents(places, own.end.at.near());
            }
            let then = then.into_iter().map(|(change, _)| change).collect();
            let from = rungs.last().map(|rung| &rung.end);
            let start = from.map_or_else(Point::zero, |from| from.at.clone());
            let keeps = self.scale.keeps(from, &own.end);
            let classification = keeps
                .and_then(|keeps| self.ask(self.scale.weights(keeps)?))
                .unwrap_or_else(|| own.last().clone());
            let declared = classification.declared(&self.pots.mixture);
            rungs.push(Rung {
                from: self.scale.load(&start),
                to: self.scale.load(&own.end.at),
                keeps,
                classification,
                declared,
                hazards: own.key.hazards.clone(),
                named: names(&own.key.named, &substances),
                then,
                end: own.end.clone(),
            });
        }
        Ladder {
            rungs,
            substances,
            scale: self.scale,
        }
    }
}

/// The mixture at any load.
struct Pots {
    mixture: Mixture,
    /// Per substance: the least and most of the base, over `base_whole`, and of
    /// the oil, over `oil_whole`.
    base: Vec<(u128, u128)>,
    oil: Vec<(u128, u128)>,
    base_whole: u128,
    oil_whole: u128,
    /// The product of both.
    whole: u128,
}

impl Pots {
    fn of(pot: &Pot) -> Result<Self, Problems> {
        let with = |is_base: bool, is_oil: bool| {
            let weighed = |part: &Part, is_in: bool| Part {
                weight: if is_in { part.weight } else { Decimal::ZERO },
                ..part.clone()
            };
            let base = pot.base.iter().map(|part| weighed(part, is_base));
            let parts: Vec<Part> = base.chain([weighed(pot.oil, is_oil)]).collect();
            Mixture::of(&parts)
        };
        let mixture = with(true, true)?;
        let (base, oil) = (with(true, false)?, with(false, true)?);
        let side = |side: &Mixture| -> Vec<(u128, u128)> {
            mixture
                .substances
                .iter()
                .enumerate()
                .map(|(place, substance)| {
                    // Only what is unlisted can be missing, and it comes last.
                    side.substances
                        .get(place)
                        .filter(|own| own.is_unlisted == substance.is_unlisted)
                        .map_or((0, 0), |own| {
                            (own.concentration.low, own.concentration.high)
                        })
                })
                .collect()
        };
        let whole_of = |mixture: &Mixture| mixture.unlisted_not_hazardous.whole;
        let (base_whole, oil_whole) = (whole_of(&base), whole_of(&oil));
        Ok(Self {
            base: side(&base),
            oil: side(&oil),
            base_whole,
            oil_whole,
            whole: base_whole
                .checked_mul(oil_whole)
                .ok_or_else(|| out_of_reach(pot))?,
            mixture,
        })
    }

    fn shares(&self) -> Vec<Share> {
        let (base_whole, oil_whole) = (BigInt::from(self.base_whole), BigInt::from(self.oil_whole));
        let sides = self.base.iter().zip(&self.oil);
        sides
            .zip(&self.mixture.substances)
            .map(|(((_, base), (_, oil)), substance)| Share {
                base: &oil_whole * *base,
                oil: &base_whole * *oil,
                is_open: substance.concentration.high_open,
            })
            .collect()
    }

    /// How much of the whole these make up at so much oil to one of the rest.
    fn percents(&self, places: &[usize], oil: f64) -> Vec<f64> {
        let share = |side: &[(u128, u128)], whole: u128, place: usize| {
            side.get(place)
                .map_or(0.0, |(_, most)| *most as f64 / whole as f64)
        };
        places
            .iter()
            .map(|place| {
                let own = share(&self.base, self.base_whole, *place);
                let other = share(&self.oil, self.oil_whole, *place);
                (own + oil * other) / (1.0 + oil)
            })
            .collect()
    }

    /// Makes the mixture that of a load; nothing where its figures do not fit.
    fn fill(&mut self, oil: u128, base: u128) -> Option<()> {
        let whole = self.whole.checked_mul(oil.checked_add(base)?)?;
        let of_base = self.oil_whole.checked_mul(base)?;
        let of_oil = self.base_whole.checked_mul(oil)?;
        let mixed = |own: u128, other: u128| {
            own.checked_mul(of_base)?
                .checked_add(other.checked_mul(of_oil)?)
        };
        let sides = self.base.iter().zip(&self.oil);
        for (substance, (own, other)) in self.mixture.substances.iter_mut().zip(sides) {
            substance.concentration = Concentration {
                low: mixed(own.0, other.0)?,
                high: mixed(own.1, other.1)?,
                whole,
                ..substance.concentration
            };
        }
        Some(())
    }
}

/// Weights, and how a point between oil and base reads as a load.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    oil: Decimal,
    base: Decimal,
    wax: Decimal,
}

impl Scale {
    fn of(pot: &Pot) -> Result<Self, Problems> {
        let mut problems = Vec::new();
        let mut above_zero = |field: &str, weight: Decimal| {
            if weight <= Decimal::ZERO {
                problems.push(Problem::new(
                    field,
                    weight.to_string(),
                    "that weighs nothing",
                    "give a weight above zero",
                ));
            }
        };
        let base: Decimal = pot.base.iter().map(|part| part.weight).sum();
        above_zero("base", base);
        above_zero("wax", pot.wax);
        above_zero("oil", pot.oil.weight);
        if problems.is_empty() {
            Ok(Self {
                oil: pot.oil.weight,
                base,
                wax: pot.wax,
            })
        } else {
            Err(Problems(problems))
        }
    }

    fn top(&self) -> Point {
        let (over, under) = ratio(self.oil, self.base);
        Point::of(over, under)
    }

    /// Oil ÷ wax and oil ÷ everything, as fractions of whole numbers.
    fn bases(&self, at: &Point) -> [(BigInt, BigInt); 2] {
        let (over, under) = ratio(self.base, self.wax);
        [
            (at.over() * over, at.under() * under),
            (at.over().clone(), at.over() + at.under()),
        ]
    }

    /// A point to a millionth of a percent.
    fn load(&self, at: &Point) -> Load {
        let [of_wax, of_total] = self.bases(at).map(|(over, under)| {
            // Half a step up, then down.
            let steps: BigInt = (over * 200_000_000_u64 + &under) / (under * 2_u8);
            decimal(&steps, 6)
        });
        Load { of_wax, of_total }
    }

    /// The highest hundredth of a percent below a rung's end, above its start.
    fn keeps(&self, from: Option<&End>, end: &End) -> Option<Load> {
        let ends = self.bases(&end.at);
        let starts = from.map(|from| self.bases(&from.at));
        let is_from_included = from.is_none_or(|from| !from.is_included);
        let mut loads = [None, None];
        for (place, (over, under)) in ends.iter().enumerate() {
            let mut steps = over * 10_000_u32 / under;
            if !end.is_included && &steps * under == over * 10_000_u32 {
                steps -= 1_u8;
            }
            let above = starts.as_ref().is_none_or(|starts| {
                let (over, under) = &starts[place];
                match (&steps * under).cmp(&(over * 10_000_u32)) {
                    std::cmp::Ordering::Greater => true,
                    std::cmp::Ordering::Equal => is_from_included,
                    std::cmp::Ordering::Less => false,
                }
            });
            loads[place] = (above && steps.sign() != Sign::Minus).then(|| decimal(&steps, 2));
        }
        let [of_wax, of_total] = loads;
        Some(Load {
            of_wax: of_wax?,
            of_total: of_total?,
        })
    }

    /// Oil and base in whole numbers at a load of wax.
    fn weights(&self, load: Load) -> Option<(u128, u128)> {
        let (oil, base) = ratio(
            load.of_wax.checked_mul(self.wax)?,
            self.base.checked_mul(Decimal::ONE_HUNDRED)?,
        );
        Some((oil.to_u128()?, base.to_u128()?))
    }
}

fn names(places: &[usize], substances: &[String]) -> Vec<String> {
    places
        .iter()
        .filter_map(|place| substances.get(*place).cloned())
        .collect()
}

/// What is different on the rung above, with the places of those that decide.
fn changes(
    (own, below): (&Key, &Classification),
    (above, above_it): (&Key, &Classification),
) -> Vec<(Change, Vec<usize>)> {
    let change = |what, limit, law, places| {
        let change = Change {
            what,
            deciding: Vec::new(),
            shares: Vec::new(),
            limit,
            law,
        };
        (change, places)
    };
    let (old, new) = (by_family(below), by_family(above_it));
    let mut changes = Vec::new();
    for (family, found) in &new {
        let what = match old.get(family) {
            None => What::Begins(found.hazard),
            Some(old) if old.hazard != found.hazard => What::Becomes(old.hazard, found.hazard),
            Some(_) => continue,
        };
        changes.push(change(what, found.limit, found.law, found.deciding.clone()));
    }
    for (family, found) in &old {
        if !new.contains_key(family) {
            let what = What::Ends(found.hazard);
            changes.push(change(what, found.limit, found.law, found.deciding.clone()));
        }
    }
    for (what, from, to, asked) in [
        (What::Names, own, above, above_it),
        (What::NamesNoMore, above, own, below),
    ] {
        for place in &to.named {
            // Where the law knows no statement of names, those that classify are
            // the ones named.
            let test = [Then::Name, Then::Classify].into_iter().find_map(|then| {
                asked.asked.iter().map(|(test, _)| test).find(|test| {
                    test.then == then
                        && is_allergy(Family::of(test.class))
                        && test.terms.iter().any(|term| term.substance == *place)
                })
            });
            if let Some(test) = test.filter(|_| !from.named.contains(place)) {
                changes.push(change(what, test.limit.to_f64(), test.law, vec![*place]));
            }
        }
    }
    changes
}

fn by_family(found: &Classification) -> BTreeMap<Family, &Found> {
    found
        .found
        .iter()
        .map(|found| (Family::of(found.hazard.class), found))
        .collect()
}

/// A quotient in whole numbers.
fn ratio(over: Decimal, under: Decimal) -> (BigInt, BigInt) {
    let (over, under) = (over.normalize(), under.normalize());
    let ten = BigInt::from(10_u8);
    (
        BigInt::from(over.mantissa()) * ten.pow(under.scale()),
        BigInt::from(under.mantissa()) * ten.pow(over.scale()),
    )
}

/// So many units of the last decimal.
fn decimal(steps: &BigInt, places: u32) -> Decimal {
    steps
        .to_i128()
        .and_then(|steps| Decimal::try_from_i128_with_scale(steps, places).ok())
        .map_or(Decimal::MAX, |decimal| decimal.normalize())
}
