//! The facts of a workshop, the state folded from them, and the decisions
//! that allow a new fact.
//!
//! A [`Fact`] is something that happened. [`Workshop::apply`] folds facts into
//! state and cannot fail: what the journal holds has happened. The decisions
//! in [`decide`] look at the state and say which facts a wish adds, or refuse
//! ([`Refusal`]) in words the maker can act on. Queries are ordinary functions
//! over state.
//!
//! This crate refuses to know the time, the disk and the page. Days and
//! identifiers come in as values; the journal that keeps the facts is someone
//! else's.
//!
//! Start with [`facts`], then [`Workshop`].

pub mod decide;
pub mod facts;
mod learn;
mod money;
mod plan;
mod refusal;
mod state;
mod today;

pub use facts::Fact;
pub use learn::{Advice, advice_for, history_of};
pub use money::{LotCost, lot_cost, recent_unit_cost};
pub use plan::{Planned, bench_of, default_readability, formula_of, plan_of, plan_pour, ways_on};
pub use refusal::Refusal;
pub use state::{
    Formula, Lot, LotVerdict, Mould, Pour, Prices, Product, Receipt, Stage, Stock, Supply, Workshop,
};
pub use today::{Errand, errands};
