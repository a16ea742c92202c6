//! The step a scale can show, and rounding to it.

use std::fmt;

use rust_decimal::{Decimal, RoundingStrategy};

use crate::problem::Unclear;
use crate::quantity::{Mass, Typed};
use crate::units::MassUnit;

/// The most decimal places of a step; no scale shows as many.
const MOST_PLACES: u32 = 9;

/// The smallest step a scale shows: `0.1 oz`, `1 g`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Readability {
    step: Decimal,
    unit: MassUnit,
}

impl Readability {
    /// Makes a readability from its step.
    ///
    /// # Errors
    ///
    /// [`Unclear`] when the step is nothing at all, or has no end when written
    /// in decimals: a third of an ounce cannot stand on a display, and what is
    /// rounded to it would not add up on paper.
    pub fn try_new(step: &Typed<Mass>) -> Result<Self, Unclear> {
        let unit = step.unit();
        // As typed, not as held: a tenth of an ounce is no whole number of
        // micrograms, and its multiples have to print as tenths.
        let step_in_unit = step
            .figure()
            .unwrap_or_else(|| step.value().to_decimal(unit))
            .normalize();
        if step_in_unit.is_zero() || step.value().is_zero() {
            return Err(Unclear::new(
                &step.to_string(),
                "a scale cannot read to nothing",
                "write the smallest step your scale shows, such as 1 g or 0.1 oz",
            ));
        }
        if step_in_unit.scale() > MOST_PLACES {
            return Err(Unclear::new(
                &step.to_string(),
                "no scale shows such a step in decimals",
                "write the smallest step your scale shows, such as 1 g, 0.1 oz or 1/8 oz",
            ));
        }
        Ok(Self {
            step: step_in_unit,
            unit,
        })
    }

    /// The step of a usual kitchen scale: 0.1 oz for who weighs in ounces and
    /// pounds, 1 g for everyone else.
    ///
    /// # Source
    ///
    /// Common practice, no source.
    pub fn usual(unit: MassUnit) -> Self {
        let (step, unit) = match unit {
            MassUnit::Ounce | MassUnit::Pound => (Decimal::new(1, 1), MassUnit::Ounce),
            MassUnit::Gram | MassUnit::Kilogram | MassUnit::Milligram => {
                (Decimal::ONE, MassUnit::Gram)
            }
        };
        Self { step, unit }
    }

    /// The unit the scale shows.
    pub const fn unit(&self) -> MassUnit {
        self.unit
    }

    /// The step as a mass, rounded to the microgram.
    pub fn mass(&self) -> Mass {
        Typed::<Mass>::from_decimal(self.step, self.unit)
            .expect("the step was a mass before")
            .value()
    }

    /// Rounds to the nearest step, half-even: what to weigh.
    pub fn nearest(&self, mass: Mass) -> Typed<Mass> {
        self.round(mass, RoundingStrategy::MidpointNearestEven)
    }

    /// Rounds down to a step: what may be declared.
    pub fn down(&self, mass: Mass) -> Typed<Mass> {
        self.round(mass, RoundingStrategy::ToZero)
    }

    /// Rounds up to a step: what suffices.
    pub fn up(&self, mass: Mass) -> Typed<Mass> {
        self.round(mass, RoundingStrategy::AwayFromZero)
    }

    fn round(&self, mass: Mass, strategy: RoundingStrategy) -> Typed<Mass> {
        // The held value is whole micrograms; a figure that is a step exactly
        // must not fall to the next one for a millionth of a gram.
        let steps = (mass.to_decimal(self.unit) / self.step).round_dp(4);
        let figure = steps.round_dp_with_strategy(0, strategy) * self.step;
        let mut figure = figure;
        figure.rescale(self.step.scale());
        Typed::from_decimal(figure, self.unit).unwrap_or_else(|| mass.typed(self.unit, 0))
    }
}

impl fmt::Display for Readability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.step, self.unit.symbol())
    }
}
