//! What the hazard crate promises, one module a feature.

mod label;
mod ladder;
mod table;
mod ufi;
