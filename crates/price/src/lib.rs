//! Cost of a unit, price ranges and the comparison of formats.
