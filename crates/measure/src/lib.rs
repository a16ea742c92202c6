//! Quantities as typed, exact money, SI values, parsing, rounding and working.
