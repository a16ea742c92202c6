//! QR squares.

use qrcode::{EcLevel, QrCode, Version, types::QrError};

use super::{dot_mm, dots_within};

/// Modules that stay light on every side.
pub const QUIET_MODULES: u32 = 4;
/// A telephone at hand's distance reads modules from here on, mm.
///
/// From memory.
pub const MODULE_LEAST_MM: f64 = 0.25;
/// Modules that read well, mm.
///
/// From memory.
pub const MODULE_USUAL_MM: f64 = 0.4;

/// How much of a square may be spoilt and still be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Level {
    /// About 7 %.
    L,
    /// About 15 %.
    #[default]
    M,
    /// About 25 %, for curved or oily packs.
    Q,
    /// About 30 %.
    H,
}

/// Why there is no square.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SquareError {
    /// There was nothing to say.
    #[error("there is no text to put in the square")]
    Empty,
    /// No square holds so much.
    #[error("the text is too long for a square at this level")]
    TooLong,
}

/// A QR symbol: its modules row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Square {
    version: u32,
    side: u32,
    modules: Vec<bool>,
}

impl Square {
    /// The smallest square that holds a text.
    ///
    /// # Errors
    ///
    /// [`SquareError`] for no text or for too much of it.
    pub fn of(text: &str, level: Level) -> Result<Self, SquareError> {
        if text.is_empty() {
            return Err(SquareError::Empty);
        }
        let level = match level {
            Level::L => EcLevel::L,
            Level::M => EcLevel::M,
            Level::Q => EcLevel::Q,
            Level::H => EcLevel::H,
        };
        let code =
            QrCode::with_error_correction_level(text, level).map_err(|error| match error {
                QrError::DataTooLong
                | QrError::InvalidVersion
                | QrError::UnsupportedCharacterSet
                | QrError::InvalidEciDesignator
                | QrError::InvalidCharacter => SquareError::TooLong,
            })?;
        let version = match code.version() {
            Version::Normal(version) | Version::Micro(version) => {
                u32::try_from(version).unwrap_or(1)
            }
        };
        let side = u32::try_from(code.width()).unwrap_or(u32::MAX);
        Ok(Self {
            version,
            side,
            modules: code
                .into_colors()
                .into_iter()
                .map(|colour| colour == qrcode::Color::Dark)
                .collect(),
        })
    }

    /// Its version, 1 to 40.
    pub const fn version(&self) -> u32 {
        self.version
    }

    /// Modules along a side, quiet zone left out: 17 + 4 × version.
    pub const fn n_modules(&self) -> u32 {
        self.side
    }

    /// Its modules from the top left, row by row, dark ones true.
    pub fn modules(&self) -> &[bool] {
        &self.modules
    }

    /// Runs of dark modules in each row: column, row, how many wide.
    pub fn dark_runs(&self) -> Vec<(u32, u32, u32)> {
        let mut runs: Vec<(u32, u32, u32)> = Vec::new();
        let side = self.side.max(1);
        for (at, dark) in (0_u32..).zip(&self.modules) {
            let (column, row) = (at % side, at / side);
            match runs.last_mut() {
                Some((begin, line, wide)) if *dark && *line == row && *begin + *wide == column => {
                    *wide += 1;
                }
                _ if *dark => runs.push((column, row, 1)),
                _ => {}
            }
        }
        runs
    }

    /// Its sizes with modules of `module_mm`.
    pub fn size_at(&self, module_mm: f64) -> SquareSize {
        SquareSize {
            module_mm,
            side_mm: f64::from(self.side) * module_mm,
            whole_mm: f64::from(self.side + 2 * QUIET_MODULES) * module_mm,
            dots: None,
        }
    }

    /// The size nearest to `wished_module_mm` that fits a square room and
    /// still reads; with a printer's resolution, of whole dots.
    ///
    /// None when it does not fit; [`Self::least_mm`] says what would.
    pub fn fitting(
        &self,
        room_mm: f64,
        wished_module_mm: f64,
        dots_per_inch: Option<f64>,
    ) -> Option<SquareSize> {
        let most = room_mm / f64::from(self.side + 2 * QUIET_MODULES) + 1e-9;
        let module = wished_module_mm.min(most);
        let Some(dpi) = dots_per_inch else {
            return (module >= MODULE_LEAST_MM - 1e-9).then(|| self.size_at(module));
        };
        let dot = dot_mm(dpi);
        let least_dots = (MODULE_LEAST_MM / dot - 1e-9).ceil();
        let dots = dots_within(module, dot).unwrap_or(0.0).max(least_dots);
        (dots * dot <= most).then(|| SquareSize {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a whole number of dots in a module that was found to fit"
            )]
            dots: Some(dots as u32),
            ..self.size_at(dots * dot)
        })
    }

    /// The smallest room it can be read in.
    pub fn least_mm(&self) -> f64 {
        self.size_at(MODULE_LEAST_MM).whole_mm
    }
}

/// A square's sizes in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquareSize {
    /// Side of one module.
    pub module_mm: f64,
    /// Side of the square without its quiet zone.
    pub side_mm: f64,
    /// Side with the quiet zone.
    pub whole_mm: f64,
    /// Dots of the printer in one module, when its resolution was given.
    pub dots: Option<u32>,
}
