//! Reading lengths.

use measure::{Checker, Length, LengthUnit, Reading, Typed, Unclear, figure, parse_in};

/// How a length is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ruler {
    /// How its number is read.
    pub reading: Reading,
    /// The unit of a number that stands alone; with none it is refused.
    pub bare: Option<LengthUnit>,
}

impl Ruler {
    /// A decimal point and a unit with every number: the reading of files and
    /// of the programming interface.
    pub const PLAIN: Self = Self {
        reading: Reading::PLAIN,
        bare: None,
    };

    /// Reads a length.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a text that is not a length.
    pub fn read(self, text: &str) -> Result<Typed<Length>, Unclear> {
        match self.bare {
            Some(unit) if !text.trim().is_empty() => parse_in(text, unit, self.reading),
            _ => Typed::parse_with(text, self.reading),
        }
    }

    /// Reads a length in a range of millimetres, both ends allowed.
    ///
    /// # Errors
    ///
    /// [`Unclear`] for a text that is not a length, or not in the range.
    pub fn between(
        self,
        text: &str,
        least_mm: f64,
        most_mm: f64,
    ) -> Result<Typed<Length>, Unclear> {
        let typed = self.read(text)?;
        let mm = mm(&typed);
        if mm < least_mm {
            return Err(Unclear::new(
                text,
                if least_mm > 0.0 {
                    "that is too small"
                } else {
                    "a length cannot be negative"
                },
                format!("write a length of at least {}", show(least_mm)),
            ));
        }
        if mm > most_mm {
            return Err(Unclear::new(
                text,
                "that is too large",
                format!("write a length of at most {}", show(most_mm)),
            ));
        }
        Ok(typed)
    }

    /// Reads a field that must be there.
    pub(crate) fn required(
        self,
        check: &mut Checker,
        field: &str,
        text: Option<&str>,
        least_mm: f64,
        most_mm: f64,
    ) -> Option<Typed<Length>> {
        check.required(field, text, |text| self.between(text, least_mm, most_mm))
    }

    /// Reads a field that may be missing or empty.
    pub(crate) fn optional(
        self,
        check: &mut Checker,
        field: &str,
        text: Option<&str>,
        least_mm: f64,
        most_mm: f64,
    ) -> Option<Typed<Length>> {
        check.optional(field, text, |text| self.between(text, least_mm, most_mm))
    }
}

/// A length in millimetres.
pub fn mm(typed: &Typed<Length>) -> f64 {
    typed.value().to_f64(LengthUnit::Millimetre)
}

/// Millimetres as a length typed to the thousandth.
pub fn typed_mm(mm: f64) -> Option<Typed<Length>> {
    Some(Length::from_f64(mm, LengthUnit::Millimetre)?.typed(LengthUnit::Millimetre, 3))
}

/// Shows millimetres to a tenth, without a tenth that is nought.
pub fn show(mm: f64) -> String {
    let shown = figure(mm, 1);
    format!("{} mm", shown.strip_suffix(".0").unwrap_or(&shown))
}

/// Shows a width and a height.
pub fn show_size(width_mm: f64, height_mm: f64) -> String {
    let width = show(width_mm);
    format!(
        "{} × {}",
        width.strip_suffix(" mm").unwrap_or(&width),
        show(height_mm)
    )
}
