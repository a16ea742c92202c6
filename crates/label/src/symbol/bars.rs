//! EAN-13, UPC-A and EAN-8.

use std::fmt;

use super::{dot_mm, dots_within};
use crate::gtin::{Gtin, Kind};

/// The narrowest module a shop's till is asked to read, mm.
pub const X_LEAST_MM: f64 = 0.264;
/// The nominal module, mm.
pub const X_NOMINAL_MM: f64 = 0.330;
/// The widest module, mm.
pub const X_MOST_MM: f64 = 0.660;
/// What the line of digits adds below the bars at the nominal size, mm:
/// 25.93 − 22.85.
const DIGITS_MM: f64 = 3.08;
/// Digits are this high at the nominal size, mm.
const DIGIT_HEIGHT_MM: f64 = 2.75;

/// A symbol a till reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BarSymbol {
    /// Thirteen digits.
    Ean13,
    /// Twelve digits.
    UpcA,
    /// Eight digits.
    Ean8,
}

impl BarSymbol {
    /// Modules of its bars.
    pub const fn n_modules(self) -> u32 {
        match self {
            Self::Ean13 | Self::UpcA => 95,
            Self::Ean8 => 67,
        }
    }

    /// Modules that stay light on the left and on the right.
    pub const fn quiet_modules(self) -> (u32, u32) {
        match self {
            Self::Ean13 => (11, 7),
            Self::UpcA => (9, 9),
            Self::Ean8 => (7, 7),
        }
    }

    /// Height of its bars at the nominal size, mm.
    pub const fn bar_height_mm(self) -> f64 {
        match self {
            Self::Ean13 | Self::UpcA => 22.85,
            Self::Ean8 => 18.23,
        }
    }

    fn n_across(self) -> f64 {
        let (left, right) = self.quiet_modules();
        f64::from(self.n_modules() + left + right)
    }
}

impl fmt::Display for BarSymbol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ean13 => "EAN-13",
            Self::UpcA => "UPC-A",
            Self::Ean8 => "EAN-8",
        })
    }
}

/// The bars of a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bars {
    symbol: BarSymbol,
    modules: Vec<bool>,
    digits: Vec<u8>,
}

/// Left-hand codes of odd parity, seven modules from the left, dark 1.
const ODD: [u8; 10] = [
    0b000_1101, 0b001_1001, 0b001_0011, 0b011_1101, 0b010_0011, 0b011_0001, 0b010_1111, 0b011_1011,
    0b011_0111, 0b000_1011,
];
/// Which of the six left-hand digits take even parity, by the first digit.
const EVEN_AT: [u8; 10] = [
    0b00_0000, 0b00_1011, 0b00_1101, 0b00_1110, 0b01_0011, 0b01_1001, 0b01_1100, 0b01_0101,
    0b01_0110, 0b01_1010,
];

impl Bars {
    /// The bars of a number; none for fourteen digits, which no till reads
    /// from these symbols.
    pub fn of(gtin: &Gtin) -> Option<Self> {
        let digits = gtin.digits().to_vec();
        let (symbol, first, rest): (_, u8, &[u8]) = match (gtin.kind(), digits.as_slice()) {
            (Kind::Gtin13, [first, rest @ ..]) => (BarSymbol::Ean13, *first, rest),
            (Kind::Gtin12, all) => (BarSymbol::UpcA, 0, all),
            (Kind::Gtin8, all) => (BarSymbol::Ean8, 0, all),
            _ => return None,
        };
        let (left, right) = rest.split_at(rest.len() / 2);
        let even = EVEN_AT.get(usize::from(first)).copied().unwrap_or(0);
        let mut modules = Vec::with_capacity(95);
        modules.extend([true, false, true]);
        for (idx, digit) in left.iter().enumerate() {
            let odd = ODD.get(usize::from(*digit)).copied().unwrap_or(0);
            let is_even = even >> (left.len() - 1 - idx) & 1 == 1;
            // Even parity is the right-hand code, the complement, read backwards.
            let code = if is_even {
                (!odd & 0x7f).reverse_bits() >> 1
            } else {
                odd
            };
            push(&mut modules, code);
        }
        modules.extend([false, true, false, true, false]);
        for digit in right {
            let odd = ODD.get(usize::from(*digit)).copied().unwrap_or(0);
            push(&mut modules, !odd & 0x7f);
        }
        modules.extend([true, false, true]);
        Some(Self {
            symbol,
            modules,
            digits,
        })
    }

    /// Which symbol this is.
    pub const fn symbol(&self) -> BarSymbol {
        self.symbol
    }

    /// Its modules from the left, dark ones true, quiet zones left out.
    pub fn modules(&self) -> &[bool] {
        &self.modules
    }

    /// Runs of dark modules: where each begins and how many it is wide.
    pub fn dark_runs(&self) -> Vec<(u32, u32)> {
        let mut runs: Vec<(u32, u32)> = Vec::new();
        for (at, dark) in (0_u32..).zip(&self.modules) {
            match runs.last_mut() {
                Some((begin, wide)) if *dark && *begin + *wide == at => *wide += 1,
                _ if *dark => runs.push((at, 1)),
                _ => {}
            }
        }
        runs
    }

    /// Whether the module belongs to a guard bar, which reaches down between
    /// the digits. In UPC-A the first and last digit's bars do, too.
    pub const fn is_guard(&self, module: u32) -> bool {
        let n = self.symbol.n_modules();
        let edge = match self.symbol {
            BarSymbol::UpcA => 10,
            BarSymbol::Ean13 | BarSymbol::Ean8 => 3,
        };
        let middle = n / 2;
        module < edge || module + edge >= n || (module + 2 >= middle && module <= middle + 2)
    }

    /// The digits that are printed below: before the bars, under the left
    /// half, under the right half, behind the bars.
    pub fn printed(&self) -> [&[u8]; 4] {
        let all = self.digits.as_slice();
        let n = all.len();
        let part = |from: usize, to: usize| all.get(from..to).unwrap_or(&[]);
        match self.symbol {
            BarSymbol::Ean13 => [part(0, 1), part(1, 7), part(7, 13), &[]],
            BarSymbol::UpcA => [part(0, 1), part(1, 6), part(6, 11), part(11, 12)],
            BarSymbol::Ean8 => [&[], part(0, n / 2), part(n / 2, n), &[]],
        }
    }
}

fn push(modules: &mut Vec<bool>, code: u8) {
    modules.extend((0..7).rev().map(|bit| code >> bit & 1 == 1));
}

/// A bar symbol's sizes in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarSize {
    /// Width of one module.
    pub x_mm: f64,
    /// Share of the nominal size.
    pub magnification: f64,
    /// From quiet zone to quiet zone, both counted.
    pub width_mm: f64,
    /// The bars alone across.
    pub bars_mm: f64,
    /// Quiet zone on the left.
    pub quiet_left_mm: f64,
    /// Quiet zone on the right.
    pub quiet_right_mm: f64,
    /// Height of the bars.
    pub bar_height_mm: f64,
    /// Bars and digits together.
    pub height_mm: f64,
    /// Height of a digit.
    pub digit_mm: f64,
    /// Dots of the printer in one module, when its resolution was given.
    pub dots: Option<u32>,
}

/// Why no allowed size fits.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("the smallest allowed symbol is {width_mm:.1} by {height_mm:.1} mm")]
pub struct NoRoom {
    /// The least width.
    pub width_mm: f64,
    /// The least height.
    pub height_mm: f64,
    /// How far the room is too narrow; nothing when it is wide enough.
    pub short_across_mm: f64,
    /// How far the room is too low.
    pub short_down_mm: f64,
}

impl BarSize {
    /// The sizes that go with a module of `x_mm`.
    pub fn at(symbol: BarSymbol, x_mm: f64) -> Self {
        let magnification = x_mm / X_NOMINAL_MM;
        let (left, right) = symbol.quiet_modules();
        let bar_height_mm = symbol.bar_height_mm() * magnification;
        Self {
            x_mm,
            magnification,
            width_mm: symbol.n_across() * x_mm,
            bars_mm: f64::from(symbol.n_modules()) * x_mm,
            quiet_left_mm: f64::from(left) * x_mm,
            quiet_right_mm: f64::from(right) * x_mm,
            bar_height_mm,
            height_mm: bar_height_mm + DIGITS_MM * magnification,
            digit_mm: DIGIT_HEIGHT_MM * magnification,
            dots: None,
        }
    }

    /// The size nearest to `wished_x_mm` that fits the room and is allowed;
    /// with a printer's resolution, of whole dots.
    ///
    /// # Errors
    ///
    /// [`NoRoom`] when even the smallest one does not fit.
    pub fn fitting(
        symbol: BarSymbol,
        room_width_mm: f64,
        room_height_mm: f64,
        wished_x_mm: f64,
        dots_per_inch: Option<f64>,
    ) -> Result<Self, NoRoom> {
        let nominal = Self::at(symbol, X_NOMINAL_MM);
        let by_width = room_width_mm / symbol.n_across();
        let by_height = room_height_mm / nominal.height_mm * X_NOMINAL_MM;
        let most = by_width.min(by_height).min(X_MOST_MM) + 1e-9;
        let least = dots_per_inch.map_or(X_LEAST_MM, |dpi| {
            let dot = dot_mm(dpi);
            (X_LEAST_MM / dot - 1e-9).ceil() * dot
        });
        if most < least || !most.is_finite() {
            let smallest = Self::at(symbol, least);
            return Err(NoRoom {
                width_mm: smallest.width_mm,
                height_mm: smallest.height_mm,
                short_across_mm: (smallest.width_mm - room_width_mm).max(0.0),
                short_down_mm: (smallest.height_mm - room_height_mm).max(0.0),
            });
        }
        let wished = wished_x_mm.clamp(least, most);
        let Some(dpi) = dots_per_inch else {
            return Ok(Self::at(symbol, wished));
        };
        let dot = dot_mm(dpi);
        let below = dots_within(wished, dot).unwrap_or(1.0);
        let above = below + 1.0;
        let dots = if above * dot <= most && above * dot - wished < wished - below * dot {
            above
        } else {
            below
        };
        Ok(Self {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a whole number of dots in two thirds of a millimetre"
            )]
            dots: Some(dots as u32),
            ..Self::at(symbol, dots * dot)
        })
    }
}

/// Whether the bars had better lie like the rungs of a ladder on a round pack:
/// upright, the symbol would reach over more than a sixth of the way round.
///
/// From memory.
pub fn wants_ladder(width_mm: f64, diameter_mm: f64) -> bool {
    width_mm > std::f64::consts::PI * diameter_mm / 6.0
}
