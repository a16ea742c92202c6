//! The working companion of someone who pours scented wax for a living.
fn main() {}
