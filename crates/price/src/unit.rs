//! What a unit costs: the lines of a batch, borne by its good units.

use measure::{Cost, Currency, Decimal, Mass, MassUnit, Quantity, Ratio, TimeSpan, Typed, Volume};
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::arithmetic::{TooLarge, scaled, scaled_cost, total};

/// How much of a supply: weighed, measured or counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stuff {
    /// By weight.
    Weighed(Typed<Mass>),
    /// By volume.
    Measured(Typed<Volume>),
    /// By the piece.
    Counted(Decimal),
}

impl Stuff {
    /// The amount in the smallest unit of its kind.
    pub fn smallest(&self) -> Decimal {
        match self {
            Self::Weighed(mass) => mass.value().smallest().into(),
            Self::Measured(volume) => volume.value().smallest().into(),
            Self::Counted(count) => *count,
        }
    }

    /// Whether both are weights, volumes or counts.
    pub const fn is_like(&self, other: &Self) -> bool {
        matches!(
            (self, other),
            (Self::Weighed(_), Self::Weighed(_))
                | (Self::Measured(_), Self::Measured(_))
                | (Self::Counted(_), Self::Counted(_))
        )
    }

    /// How it was given, for a message: a weight, a volume, a count.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Weighed(_) => "a weight",
            Self::Measured(_) => "a volume",
            Self::Counted(_) => "a count",
        }
    }

    /// The amount in the unit it was typed in, with that unit's symbol.
    pub(crate) fn in_own_unit(&self) -> (Decimal, &'static str) {
        match self {
            Self::Weighed(mass) => (mass.value().to_decimal(mass.unit()), mass.unit().symbol()),
            Self::Measured(volume) => (
                volume.value().to_decimal(volume.unit()),
                volume.unit().symbol(),
            ),
            Self::Counted(count) => (*count, "piece"),
        }
    }

    /// `smallest` units of this kind in grams; none of what is not weighed.
    pub(crate) fn grams(&self, smallest: Decimal) -> Option<f64> {
        match self {
            Self::Weighed(_) => smallest.checked_div(MassUnit::Gram.factor())?.to_f64(),
            Self::Measured(_) | Self::Counted(_) => None,
        }
    }

    /// Prints `smallest` units of this kind in the unit this was typed in.
    pub(crate) fn show(&self, smallest: Decimal) -> String {
        let (figure, symbol) = match self {
            Self::Counted(_) => return smallest.round_dp(3).normalize().to_string(),
            Self::Weighed(mass) => (
                smallest.checked_div(mass.unit().factor()),
                mass.unit().symbol(),
            ),
            Self::Measured(volume) => (
                smallest.checked_div(volume.unit().factor()),
                volume.unit().symbol(),
            ),
        };
        let figure = figure.unwrap_or(Decimal::MAX);
        let figure = figure.round_sf(5).unwrap_or(figure).normalize();
        format!("{figure} {symbol}")
    }
}

impl std::fmt::Display for Stuff {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Weighed(mass) => mass.fmt(f),
            Self::Measured(volume) => volume.fmt(f),
            Self::Counted(count) => count.fmt(f),
        }
    }
}

/// What `used` smallest units cost when `bought` of them cost `paid`.
///
/// Exact as far as 28 digits go; not rounded to coins.
///
/// # Errors
///
/// [`TooLarge`] when the result cannot be held, as it never can when nothing
/// was bought.
pub fn cost_used(paid: Cost, bought: Decimal, used: Decimal) -> Result<Cost, TooLarge> {
    scaled_cost(paid, used, bought)
}

/// Which layer of the cost a line belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Layer {
    /// What goes into the unit: material cost.
    Material,
    /// What goes around it, wrap and label: material cost.
    Wrap,
    /// Hands-on time at a wage: making cost.
    Time,
    /// The share of what costs money whether or not anything is poured: full
    /// cost.
    Overhead,
}

/// One line of a batch's cost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostLine {
    /// What it is, in the maker's words.
    pub name: String,
    /// The layer it belongs to.
    pub layer: Layer,
    /// What it comes to for the whole batch.
    pub batch: Cost,
}

/// The hands-on time of a batch, and the wage it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Labour {
    /// Hands-on time for the whole batch.
    pub time: TimeSpan,
    /// Wage per hour.
    pub wage: Cost,
}

impl Labour {
    /// What the time is worth: time × wage.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn cost(self) -> Result<Cost, TooLarge> {
        scaled_cost(
            self.wage,
            self.time.smallest().into(),
            Decimal::from(3_600_000),
        )
    }
}

/// The share of the overhead a batch bears; the parts given add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Overhead {
    /// An amount on every unit made.
    pub per_unit: Option<Cost>,
    /// An amount on the batch.
    pub per_batch: Option<Cost>,
    /// A percentage of what the hands-on time is worth.
    pub of_labour: Option<Ratio>,
}

/// A batch as it is costed. Every amount is in `currency`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch {
    /// The currency of every amount in it.
    pub currency: Currency,
    /// Units made, rejects among them.
    pub made: u32,
    /// Units made that will not be sold; their cost falls on the good ones.
    pub rejects: u32,
    /// What went in and around, each with its cost for the whole batch.
    pub materials: Vec<CostLine>,
    /// Hands-on time, where a wage is put on it.
    pub labour: Option<Labour>,
    /// The overhead share.
    pub overhead: Overhead,
}

/// What a batch costs, line by line, and how many good units bear it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitCost {
    currency: Currency,
    good: u32,
    lines: Vec<CostLine>,
    layers: [Cost; 3],
}

impl Batch {
    /// Costs the batch; none when no good unit is left to bear the cost.
    ///
    /// Nothing is left out and nothing counted twice: the lines add up to the
    /// full cost of the batch, and the units to the batch.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    ///
    /// # Source
    ///
    /// Rejects borne by the good units: the treatment of normal spoilage in
    /// cost accounting, where spoilage common to all jobs is spread over the
    /// good units (Horngren's Cost Accounting, 2018, p. 751).
    pub fn cost(&self) -> Result<Option<UnitCost>, TooLarge> {
        let good = self.made.saturating_sub(self.rejects);
        if good == 0 {
            return Ok(None);
        }
        let mut lines = self.materials.clone();
        let labour = self.labour.map(Labour::cost).transpose()?;
        if let Some(batch) = labour {
            lines.push(CostLine {
                name: "hands-on time".to_owned(),
                layer: Layer::Time,
                batch,
            });
        }
        let of_units = self
            .overhead
            .per_unit
            .map(|each| scaled_cost(each, self.made.into(), Decimal::ONE))
            .transpose()?;
        let of_labour = match (self.overhead.of_labour, labour) {
            (Some(share), Some(labour)) => {
                Some(scaled_cost(labour, share.decimal(), Decimal::ONE)?)
            }
            _ => None,
        };
        let shares: Vec<Cost> = [of_units, self.overhead.per_batch, of_labour]
            .into_iter()
            .flatten()
            .collect();
        if !shares.is_empty() {
            lines.push(CostLine {
                name: "overhead share".to_owned(),
                layer: Layer::Overhead,
                batch: total(shares, self.currency)?,
            });
        }
        let up_to = |layer: Layer| {
            let within = lines.iter().filter(|line| line.layer <= layer);
            total(within.map(|line| line.batch), self.currency)
        };
        let layers = [
            up_to(Layer::Wrap)?,
            up_to(Layer::Time)?,
            up_to(Layer::Overhead)?,
        ];
        Ok(Some(UnitCost {
            currency: self.currency,
            good,
            lines,
            layers,
        }))
    }
}

impl UnitCost {
    /// The currency of every amount.
    pub const fn currency(&self) -> Currency {
        self.currency
    }

    /// The good units that bear the cost; at least one.
    pub const fn good(&self) -> u32 {
        self.good
    }

    /// The lines, each for the whole batch.
    pub fn lines(&self) -> &[CostLine] {
        &self.lines
    }

    /// Material cost of the batch: what goes in and around.
    pub const fn material_of_batch(&self) -> Cost {
        self.layers[0]
    }

    /// Making cost of the batch: material cost and hands-on time.
    pub const fn making_of_batch(&self) -> Cost {
        self.layers[1]
    }

    /// Full cost of the batch: making cost and overhead share.
    pub const fn full_of_batch(&self) -> Cost {
        self.layers[2]
    }

    /// The part of a batch amount that falls on one good unit.
    pub fn on_a_unit(&self, batch: Cost) -> Cost {
        batch
            .over(self.good.into())
            .expect("a unit cost has at least one good unit")
    }

    /// Material cost of a good unit.
    pub fn material(&self) -> Cost {
        self.on_a_unit(self.layers[0])
    }

    /// Making cost of a good unit.
    pub fn making(&self) -> Cost {
        self.on_a_unit(self.layers[1])
    }

    /// Full cost of a good unit.
    pub fn full(&self) -> Cost {
        self.on_a_unit(self.layers[2])
    }
}

/// How much to put in for `per_unit` in each of `made` units when `loss` of
/// what is put in stays behind: per unit × made ÷ (1 - loss).
///
/// In smallest units; `loss` is less than the whole.
pub(crate) fn put_in(per_unit: Decimal, made: u32, loss: Ratio) -> Result<Decimal, TooLarge> {
    let kept = Decimal::ONE
        .checked_sub(loss.decimal())
        .filter(|kept| !kept.is_zero())
        .ok_or(TooLarge)?;
    scaled(per_unit, made.into(), kept)
}
