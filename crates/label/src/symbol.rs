//! Bar symbols and QR squares as data: modules, sizes, quiet zones.
//!
//! Nothing is drawn here. A symbol is a row or a square of modules, dark or
//! light; its size follows from the width X of one module, which a printer can
//! only make of whole dots.
//!
//! # Source
//!
//! Codes of the digits: ISO/IEC 15420, from memory, held in the tests against
//! an independent library. X, bar heights and quiet zones: the size guide of
//! GS1 Sweden. QR: ISO/IEC 18004 by way of `docs/sources.md`, "Symbols".

mod bars;
mod square;

pub use bars::{
    BarSize, BarSymbol, Bars, NoRoom, X_LEAST_MM, X_MOST_MM, X_NOMINAL_MM, wants_ladder,
};
pub use square::{
    Level, MODULE_LEAST_MM, MODULE_USUAL_MM, QUIET_MODULES, Square, SquareError, SquareSize,
};

/// Millimetres of one dot of a printer.
pub fn dot_mm(dots_per_inch: f64) -> f64 {
    25.4 / dots_per_inch
}

/// The largest whole number of dots that is no wider than `most_mm`; none when
/// a single dot is wider.
fn dots_within(most_mm: f64, dot_mm: f64) -> Option<f64> {
    let dots = (most_mm / dot_mm + 1e-9).floor();
    (dots >= 1.0 && dots.is_finite()).then_some(dots)
}
