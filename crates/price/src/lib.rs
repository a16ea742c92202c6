//! Cost of a unit, price ranges and the comparison of formats.
//!
//! Cost comes in three layers, always named: *material cost* (what goes into
//! and around the unit, freight and losses included), *making cost* (with the
//! hands-on time at a wage) and *full cost* (with a share of the overhead).
//! Amounts are exact decimals in one currency ([`measure::Cost`]) and are
//! rounded, half-even, only where they are shown; money that was really paid
//! is split in whole minor units, so that the shares add up to it ([`spread()`]).
//!
//! This crate refuses to know where a price list, a supply or a batch is
//! kept, what day it is, and what a buyer will pay.
//!
//! Start with [`unit_cost()`] and [`compare_formats()`], the two calculations
//! as data in and data out; the arithmetic behind them is in [`Batch`],
//! [`Earning`] and [`Format`].

mod arithmetic;
mod compare;
mod compare_formats;
mod range;
mod reader;
mod shown;
mod spread;
mod unit;
mod unit_cost;

pub use arithmetic::TooLarge;
pub use compare::{Earnings, EarnsMore, Format};
pub use compare_formats::{
    COMPARE_FORMATS, CompareFormatsInput, CompareFormatsOutput, EqualAt, FormatInput, FormatOutput,
    compare_formats,
};
pub use range::{Earning, Prices, keystone};
pub use shown::{Amounts, PricesInput, fine, percent};
pub use spread::{FreightBy, FreightError, ReceiptLine, spread, spread_freight};
pub use unit::{Batch, CostLine, Labour, Layer, Overhead, Stuff, UnitCost, cost_used};
pub use unit_cost::{
    FreightInput, KeystoneOutput, LayersOutput, LineOutput, MaterialInput, OverheadInput,
    PriceOutput, PricesOutput, UNIT_COST, UnitCostInput, UnitCostOutput, WrapInput, WrapOn,
    unit_cost,
};
