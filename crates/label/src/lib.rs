//! The shape of a wrapped unit, the label on it, and the sheets labels come on.
//!
//! A unit has real sizes; from them come the sheet of foil or film it is
//! wrapped in, the panels that result, and whether a label on hand fits one of
//! them. A label sheet is described by its geometry alone. Trade item numbers
//! and the bars and squares that carry them are found here as data: widths in
//! modules, sizes in millimetres.
//!
//! Lengths are plain millimetres as `f64`, named `_mm`: they are measured with
//! a ruler and drawn on paper, and are never summed over a workshop's life.
//!
//! This crate refuses to know how anything is drawn, which product a label
//! belongs to and where label sheets are kept. It reads no clock. It informs;
//! the authority decides.
//!
//! Start with [`unit::Shape`] and [`wrap::Plan`] for a unit, with
//! [`sheet::Sheet`] for paper and with [`wording`] for words.

pub mod caution;
pub mod check;
pub mod fit;
pub mod gtin;
pub mod nest;
pub mod ruler;
pub mod sheet;
pub mod symbol;
pub mod unit;
pub mod wording;
pub mod wrap;
