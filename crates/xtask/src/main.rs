//! Checks and generated files; not shipped.
fn main() {}
