//! What a price leaves.

use measure::{Cost, Decimal, Quantity, TimeSpan};

use crate::arithmetic::{TooLarge, less, percent_of, scaled_cost, total};
use crate::unit::UnitCost;

/// Something at a low, a typical and a high price; low and high may be open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Prices<T> {
    /// At the low price.
    pub low: Option<T>,
    /// At the typical price.
    pub typical: T,
    /// At the high price.
    pub high: Option<T>,
}

impl<T: Copy> Prices<T> {
    /// Finds something for each price there is.
    ///
    /// # Errors
    ///
    /// The first one `find` returns.
    pub fn each<U, E>(self, mut find: impl FnMut(T) -> Result<U, E>) -> Result<Prices<U>, E> {
        Ok(Prices {
            low: self.low.map(&mut find).transpose()?,
            typical: find(self.typical)?,
            high: self.high.map(&mut find).transpose()?,
        })
    }

    /// The least there is: the low one, or else the typical one.
    pub fn least(self) -> T {
        self.low.unwrap_or(self.typical)
    }

    /// The most there is: the high one, or else the typical one.
    pub fn most(self) -> T {
        self.high.unwrap_or(self.typical)
    }
}

/// What one unit earns at one price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Earning {
    /// The price.
    pub price: Cost,
    /// What is left of it after the full cost; below zero for a loss.
    pub left: Cost,
    /// What is left in percent of the price; none of a price of nothing.
    pub margin: Option<Decimal>,
    /// What is left in percent of the full cost; none of a cost of nothing.
    pub markup: Option<Decimal>,
    /// What is left for each hands-on hour; none when no time is known.
    pub left_per_hour: Option<Cost>,
    /// What a hands-on hour earns with its wage in it: left and wage together.
    pub pays_per_hour: Option<Cost>,
}

impl Earning {
    /// Finds what a unit of `cost` earns at `price`, given the hands-on time
    /// of the whole batch. Both are in one currency.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn at(price: Cost, cost: &UnitCost, time: Option<TimeSpan>) -> Result<Self, TooLarge> {
        let full = cost.full();
        let left = less(price, full)?;
        let time = time.filter(|time| !time.is_zero());
        let per_hour = |unit: Cost| {
            let good = Decimal::from(cost.good());
            time.map(|time| per_hour(scaled_cost(unit, good, Decimal::ONE)?, time))
                .transpose()
        };
        let wage = less(cost.making_of_batch(), cost.material_of_batch())?;
        let before_wage = total([left, cost.on_a_unit(wage)], cost.currency())?;
        Ok(Self {
            price,
            left,
            margin: percent_of(left, price)?,
            markup: percent_of(left, full)?,
            left_per_hour: per_hour(left)?,
            pays_per_hour: per_hour(before_wage)?,
        })
    }
}

/// Twice the cost: the price an old rule of thumb asks for.
///
/// # Errors
///
/// [`TooLarge`] when it cannot be held.
///
/// # Source
///
/// Common practice, no source.
pub fn keystone(cost: Cost) -> Result<Cost, TooLarge> {
    scaled_cost(cost, Decimal::TWO, Decimal::ONE)
}

/// An amount earned in `time`, for one hour of it; `time` is not zero.
pub(crate) fn per_hour(amount: Cost, time: TimeSpan) -> Result<Cost, TooLarge> {
    scaled_cost(
        amount,
        Decimal::from(3_600_000),
        Decimal::from(time.smallest()),
    )
}
