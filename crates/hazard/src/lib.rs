//! What a scented wax must say about its hazards, computed from what is in it.
//!
//! A fragrance oil's classification is not the wax's: limits are steps, not
//! slopes. So an oil is a list of [`Ingredient`]s, the wax and the oil at a
//! load become one mixture, and every class is asked of that mixture.
//!
//! This crate refuses to know where a composition is kept, who confirmed it
//! and what is printed with it. It has no clock: the day the law is read on is
//! an argument. It informs; only the official texts bind, and the supplier's
//! current safety data sheet comes first.

pub mod cas;
pub mod class;
pub mod classify;
mod given;
pub mod ingredient;
pub mod label;
pub mod ladder;
pub mod m_factor;
pub mod mixture;
pub mod pack;
pub mod phrase;
pub mod precaution;
pub mod regime;
pub mod restriction;
pub mod rule;
pub mod share;
pub mod sheet;
pub mod table;
pub mod ufi;

pub use cas::Cas;
pub use class::{Class, Hazard, Route};
pub use classify::{Classification, Found, Near, classify};
pub use given::{Figure, Limit, Line};
pub use ingredient::{AcuteEstimate, Band, EstimateKind, Ingredient};
pub use label::{Audience, Declared, Elements, Pictogram, Setting, SignalWord, State};
pub use ladder::{Ladder, Pot, ladder};
pub use mixture::{Concentration, Form, Mixture, Part, Substance, Unlisted};
pub use phrase::Language;
pub use regime::{Jurisdiction, Rules};
pub use rule::Test;
pub use share::Share;
pub use ufi::Ufi;
