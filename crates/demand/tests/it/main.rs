//! What the crate promises, feature by feature.

mod asking;
mod coverage;
mod fitting;
mod lines;
mod testing;
mod workshop;
