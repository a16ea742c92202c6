//! What goods on hand are worth, where they came from and went, and the
//! entries of the books.
//!
//! * [`layers`]: the stock of one item by first in, first out or by moving
//!   average, in whole smallest units and millionths of a minor unit, so that
//!   no money is made or lost by rounding.
//! * [`period`]: opening, received, cost of goods and closing between two days.
//! * [`trace`]: forward and back through a graph of goods.
//! * [`entries`]: double entry that balances, as a plain-text journal or CSV.
//!
//! The calculations over them are [`inventory_value::calculate`] and
//! [`trace::calculate`].
//!
//! This crate refuses to know what an item is, where a movement was written
//! down, and what day it is. Start with [`layers::Stock`].

pub mod entries;
pub mod inventory_value;
pub mod layers;
pub mod period;
pub mod trace;
mod units;
mod value;

pub use layers::{Layer, Method, Part, Settled, Short, Stock, Taken};
pub use value::Value;
