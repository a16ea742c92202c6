//! What a format earns from the same wax, and the price at which two agree.

use measure::{Cost, Decimal, Mass, MassUnit, Quantity, TimeSpan};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::arithmetic::{TooLarge, less, scaled_cost, total};
use crate::range::{Prices, per_hour};
use crate::unit::Labour;

/// One way of selling a batch of wax: so many units of a kind. All amounts
/// are in one currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Format {
    /// What it is called: bar, clamshell.
    pub name: String,
    /// Units the wax makes.
    pub units: u32,
    /// What a unit sells for.
    pub prices: Prices<Cost>,
    /// What a unit costs, without time that `wage` pays for.
    pub unit_cost: Cost,
    /// Hands-on time for the batch; none when it is not known.
    pub time: Option<TimeSpan>,
    /// Wage per hour, where the time is to be paid for.
    pub wage: Option<Cost>,
}

/// What a batch in one format earns at one price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Earnings {
    /// Units × price.
    pub revenue: Cost,
    /// Revenue less cost and labour; below zero for a loss.
    pub profit: Cost,
    /// Profit for each pound of wax; none when there is none.
    pub per_pound: Option<Cost>,
    /// Profit for each kilogram of wax; none when there is none.
    pub per_kilogram: Option<Cost>,
    /// Profit for each hands-on hour; none when no time is known.
    pub per_hour: Option<Cost>,
    /// Profit and wage together for each hands-on hour.
    pub pays_per_hour: Option<Cost>,
}

impl Format {
    /// What the units cost together.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn cost(&self) -> Result<Cost, TooLarge> {
        scaled_cost(self.unit_cost, self.units.into(), Decimal::ONE)
    }

    /// What the hands-on time is worth; nothing without a wage or a time.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn labour(&self) -> Result<Cost, TooLarge> {
        match (self.time, self.wage) {
            (Some(time), Some(wage)) => Labour { time, wage }.cost(),
            _ => Ok(Cost::zero(self.unit_cost.currency())),
        }
    }

    /// Hands-on time that can be divided by.
    pub(crate) fn some_time(&self) -> Option<TimeSpan> {
        self.time.filter(|time| !time.is_zero())
    }

    /// What the batch earns when a unit sells for `price`.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn at(&self, price: Cost, wax: Option<Mass>) -> Result<Earnings, TooLarge> {
        let revenue = scaled_cost(price, self.units.into(), Decimal::ONE)?;
        let before_wage = less(revenue, self.cost()?)?;
        let profit = less(before_wage, self.labour()?)?;
        let wax = wax.filter(|wax| !wax.is_zero());
        let per = |unit: MassUnit| {
            wax.map(|wax| scaled_cost(profit, unit.factor(), wax.smallest().into()))
                .transpose()
        };
        let hourly = |amount| {
            self.some_time()
                .map(|time| per_hour(amount, time))
                .transpose()
        };
        Ok(Earnings {
            revenue,
            profit,
            per_pound: per(MassUnit::Pound)?,
            per_kilogram: per(MassUnit::Kilogram)?,
            per_hour: hourly(profit)?,
            pays_per_hour: hourly(before_wage)?,
        })
    }

    /// The price at which the batch earns `profit`: (profit + cost + labour)
    /// ÷ units. None when there are no units to sell.
    ///
    /// May be below zero, when even giving the units away earns more.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn price_for_profit(&self, profit: Cost) -> Result<Option<Cost>, TooLarge> {
        if self.units == 0 {
            return Ok(None);
        }
        let revenue = total([profit, self.cost()?, self.labour()?], profit.currency())?;
        scaled_cost(revenue, Decimal::ONE, self.units.into()).map(Some)
    }

    /// The price at which a hands-on hour earns `hourly`; none when there are
    /// no units or no time is known.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn price_for_hourly(&self, hourly: Cost) -> Result<Option<Cost>, TooLarge> {
        let Some(time) = self.some_time() else {
            return Ok(None);
        };
        let profit = scaled_cost(hourly, time.smallest().into(), Decimal::from(3_600_000))?;
        self.price_for_profit(profit)
    }
}

/// Whether one format earns more than another, over the whole of both price
/// ranges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EarnsMore {
    /// Even at its low price against the other's high one.
    Yes,
    /// Not even at its high price against the other's low one.
    No,
    /// It depends on the prices within their ranges.
    NotProven,
}

impl EarnsMore {
    /// Compares what the new format earns with what the old one does.
    pub fn of(new: Prices<Cost>, old: Prices<Cost>) -> Self {
        if new.least().major() > old.most().major() {
            Self::Yes
        } else if new.most().major() <= old.least().major() {
            Self::No
        } else {
            Self::NotProven
        }
    }
}

impl std::fmt::Display for EarnsMore {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::NotProven => "not proven",
        })
    }
}
