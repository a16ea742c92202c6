//! What is melted: waxes and additives, in parts.

use std::cmp::Reverse;

use measure::{Decimal, Mass, Ratio};

use crate::load::FragranceLoad;

/// Whether a part of the blend is a wax or something melted into it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PartKind {
    /// A wax.
    Wax,
    /// Stearic acid, micro-wax and the like.
    Additive,
}

/// One ingredient of a blend.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// What the maker calls it.
    pub name: String,
    /// How many parts of the blend it makes; a percentage is parts of 100.
    pub parts: Decimal,
    /// The most fragrance its sheet allows, on the sheet's own base.
    pub max_load: Option<FragranceLoad>,
    /// Wax or additive.
    pub kind: PartKind,
}

/// Why ingredients do not make a blend.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BlendError {
    /// No ingredient at all.
    #[error("a blend needs at least one wax")]
    Empty,
    /// The part at this index is below zero.
    #[error("ingredient {} has a negative number of parts", .0 + 1)]
    Negative(usize),
    /// All parts are zero.
    #[error("every ingredient has zero parts")]
    AllZero,
    /// The parts add up to more than a decimal holds.
    #[error("the parts are too large to add up")]
    TooLarge,
}

/// Waxes and additives that together are the *wax* of a formula.
///
/// An additive given as parts belongs to the blend: with 98 parts wax and 2
/// parts stearic acid, a load of 8 % of wax is 8 g on those 100 g.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blend {
    parts: Vec<Part>,
    shares: Vec<Decimal>,
    sum: Decimal,
}

impl Blend {
    /// Puts ingredients together.
    ///
    /// # Errors
    ///
    /// [`BlendError`] without ingredients, with a negative part, or when all
    /// parts are zero.
    pub fn try_new(parts: Vec<Part>) -> Result<Self, BlendError> {
        if parts.is_empty() {
            return Err(BlendError::Empty);
        }
        let mut sum = Decimal::ZERO;
        for (i, part) in parts.iter().enumerate() {
            if part.parts < Decimal::ZERO {
                return Err(BlendError::Negative(i));
            }
            sum = sum.checked_add(part.parts).ok_or(BlendError::TooLarge)?;
        }
        if sum.is_zero() {
            return Err(BlendError::AllZero);
        }
        let shares = parts
            .iter()
            .map(|part| part.parts.checked_div(sum).unwrap_or_default())
            .collect();
        Ok(Self { parts, shares, sum })
    }

    /// The ingredients in the order given.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// All parts together.
    pub const fn sum(&self) -> Decimal {
        self.sum
    }

    /// Each ingredient with its share of the blend.
    pub fn shares(&self) -> impl Iterator<Item = (&Part, Ratio)> {
        self.parts.iter().zip(&self.shares).map(|(part, share)| {
            (
                part,
                Ratio::from_decimal(*share).expect("no part is below zero"),
            )
        })
    }

    /// Splits a weight of blend into its ingredients.
    ///
    /// Each is rounded down to the microgram, and the micrograms left over go
    /// one each to the largest remainders, the earlier ingredient first where
    /// two are alike. They add up to `wax` exactly and none is below zero.
    ///
    /// # Source
    ///
    /// The largest remainder method, with the exact quota.
    pub fn split(&self, wax: Mass) -> Vec<Mass> {
        let whole = Decimal::from(wax.micrograms());
        let quotas: Vec<Decimal> = self.shares.iter().map(|share| whole * share).collect();
        let mut portions: Vec<Mass> = quotas
            .iter()
            .map(|quota| {
                let down = i64::try_from(quota.floor()).expect("a share never exceeds its whole");
                Mass::from_micrograms(down)
            })
            .collect();
        let mut left = wax - portions.iter().copied().sum();
        let mut order: Vec<usize> = (0..portions.len()).collect();
        // Stable: among equal remainders the earlier ingredient keeps its place.
        order.sort_by_key(|i| Reverse(quotas.get(*i).map(|quota| quota - quota.floor())));
        let one = Mass::from_micrograms(1);
        for i in order {
            if left <= Mass::ZERO {
                break;
            }
            if let Some(portion) = portions.get_mut(i) {
                *portion = *portion + one;
                left = left - one;
            }
        }
        portions
    }

    /// How much fragrance the blend may carry by the sheets of its parts.
    ///
    /// Each part with a stated limit adds its own oil capacity by its share;
    /// a part without one carries none, and is named in the result.
    ///
    /// # Source
    ///
    /// Common practice, no source: that limits add up by share is an
    /// assumption of proportional mixing, not a measurement.
    pub fn limit(&self) -> Limit {
        let mut of_wax = Decimal::ZERO;
        let mut unknown = Vec::new();
        let mut stated = 0;
        for (part, share) in self.shares() {
            match part.max_load {
                Some(load) => {
                    stated += 1;
                    of_wax += share.decimal() * load.as_of_wax(Ratio::ZERO).decimal();
                }
                None if part.parts.is_zero() => {}
                None => unknown.push(part.name.clone()),
            }
        }
        Limit {
            of_wax: (stated > 0)
                .then(|| Ratio::from_decimal(of_wax.round_dp(12).normalize()))
                .flatten(),
            unknown,
        }
    }
}

/// The most fragrance a blend may carry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limit {
    /// As a share of the whole blend; none when no part states a limit.
    pub of_wax: Option<Ratio>,
    /// Ingredients whose limit is not known; they count as carrying none.
    pub unknown: Vec<String>,
}

impl Limit {
    /// The oil that `wax` of the blend may carry; none when nothing is known.
    pub fn oil(&self, wax: Mass) -> Option<Mass> {
        wax.share(self.of_wax?.decimal(), Decimal::ONE)
    }
}
