//! What the hazard crate promises, one module a feature.

mod ladder;
mod ufi;
