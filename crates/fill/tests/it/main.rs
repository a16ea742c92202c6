//! What the crate promises, one module a feature.

mod coverage;
mod exact;
mod laws;
mod learning;
mod workshop;
