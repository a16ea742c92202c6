//! How much sells at which price, with honest doubt, and the price that earns
//! most.
//!
//! Sales on days at different prices teach an elasticity; days are better or
//! worse as a whole, counts scatter, products lean on each other. What comes
//! out is a range with a stated chance, and "not enough to tell" where the
//! sales do not tell. The model stands in `MODEL.md`.
//!
//! This crate refuses to know where sales are kept, what day it is, and what a
//! unit costs other than as an argument. It is a crate of its own beside
//! `price` because its statistics are drawn by the thousand and would make
//! every build and test of plain price arithmetic wait for them.
//!
//! Start with [`demand_at_price()`], the calculation as data in and data out;
//! then [`learn()`], [`Line`], the plain line a maker can check by hand, and
//! [`regression`], what the figures say without any prior.

mod chances;
mod counts;
mod demand_at_price;
mod given;
mod learn;
mod line;
mod matrix;
mod model;
mod price_test;
mod random;
pub mod regression;

pub use counts::ln_chance;
pub use demand_at_price::{
    Alone, Apart, AtPrice, AverageOutput, BetweenPrices, Contender, CurvePoint, DEMAND_AT_PRICE,
    DemandAtPriceInput, DemandAtPriceOutput, Estimate, LineOutput, ModelOutput, SaleInput,
    TestOutput, Verdict, demand_at_price,
};
pub use learn::{Belief, DayAt, LearnError, Learned, Priors, Range, Sale, learn};
pub use line::{Average, Line, Top};
pub use price_test::{PriceTest, Question};
