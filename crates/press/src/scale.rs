//! From figures to places across the width, and the ticks between.

/// The part of the width marks keep to, so that none is cut at the edge.
const LEFT: f64 = 0.03;
const RIGHT: f64 = 0.97;

/// A straight scale from one finite figure to a greater one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Scale {
    /// A scale that shows every finite figure of `values` with some air on both
    /// sides, or `None` when there is none.
    pub(crate) fn around(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        let (low, high) = values
            .into_iter()
            .filter(|value| value.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        if low > high {
            return None;
        }
        let width = high - low;
        let air = if width > 0.0 {
            width * 0.06
        } else {
            (low.abs() * 0.1).max(1e-9)
        };
        let scale = Self {
            low: low - air,
            high: high + air,
        };
        (scale.low.is_finite() && scale.high.is_finite() && (scale.high - scale.low).is_finite())
            .then_some(scale)
    }

    /// Where a figure stands, as a share of the picture's width. A figure beyond
    /// the scale stands at its end.
    pub(crate) fn at(self, value: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * share(value - self.low, self.high - self.low)
    }

    /// How much of the scale a share of the picture's width covers.
    pub(crate) fn covered(self, width: f64) -> f64 {
        width / (RIGHT - LEFT) * (self.high - self.low)
    }
}

/// `part` of `whole`, from nothing to all; nothing where that has no meaning.
pub(crate) fn share(part: f64, whole: f64) -> f64 {
    let share = part / whole;
    if share.is_finite() {
        share.clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// Returns the smallest step of 1, 2 or 5 times a power of ten that needs at
/// most `most` steps to cross `range`, or `None` where there is no such step
/// (nothing to cross, or a figure without meaning).
///
/// # Source
///
/// The 1-2-5 rule as in P. S. Heckbert, "Nice numbers for graph labels",
/// *Graphics Gems* (1990), pages 61 to 63.
///
/// # Example
///
/// ```
/// assert_eq!(press::nice_step(438.0, 5), Some(100.0));
/// assert_eq!(press::nice_step(0.3, 6), Some(0.05));
/// ```
pub fn nice_step(range: f64, most: u32) -> Option<f64> {
    let rough = range / f64::from(most);
    if !rough.is_normal() || rough < 0.0 {
        return None;
    }
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    // A hair of tolerance: 0.3 / 6 is a little more than 0.05.
    let step = [1.0, 2.0, 5.0, 10.0]
        .map(|digit| digit * power)
        .into_iter()
        .find(|step| rough <= step * (1.0 + 1e-9))?;
    step.is_normal().then_some(step)
}

/// Returns the multiples of a [`nice_step`] from `low` to `high`, ends
/// included, about `most` of them at most and never more than `most` + 1.
///
/// # Example
///
/// ```
/// assert_eq!(press::ticks(105.0, 543.0, 5), [200.0, 300.0, 400.0, 500.0]);
/// ```
pub fn ticks(low: f64, high: f64, most: u32) -> Vec<f64> {
    let Some(step) = nice_step(high - low, most) else {
        return Vec::new();
    };
    let first = libm::ceil(low / step - 1e-9);
    let last = libm::floor(high / step + 1e-9);
    // Far from zero the steps fall below what a float tells apart.
    if !first.is_finite() || first.abs() > 1e15 || last.abs() > 1e15 {
        return Vec::new();
    }
    (0..=most)
        .map(|n| first + f64::from(n))
        .take_while(|n| *n <= last)
        // Divide where the step is a fraction: 3 * 0.1 is not 0.3, 3 / 10 is.
        .map(|n| {
            if step < 1.0 {
                n / libm::round(1.0 / step)
            } else {
                n * step
            }
        })
        .map(|tick| if tick == 0.0 { 0.0 } else { tick })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Heckbert's own example: 105 to 543 with about five ticks is stepped by 100.
    #[test]
    fn steps_are_one_two_or_five() {
        assert_eq!(nice_step(543.0 - 105.0, 5), Some(100.0));
        assert_eq!(nice_step(1.0, 5), Some(0.2));
        assert_eq!(nice_step(1.1, 5), Some(0.5));
        assert_eq!(nice_step(6.0, 5), Some(2.0));
        assert_eq!(nice_step(0.0, 5), None);
        assert_eq!(nice_step(f64::NAN, 5), None);
        assert_eq!(nice_step(f64::INFINITY, 5), None);
        assert_eq!(nice_step(1.0, 0), None);
    }

    #[test]
    fn ticks_are_clean_figures() {
        assert_eq!(ticks(1.44, 1.71, 6), [1.45, 1.5, 1.55, 1.6, 1.65, 1.7]);
        assert_eq!(ticks(-0.2, 0.2, 4), [-0.2, -0.1, 0.0, 0.1, 0.2]);
        assert_eq!(
            ticks(0.0, 5e300, 5),
            [0.0, 1e300, 2e300, 3e300, 4e300, 5e300]
        );
        assert!(ticks(3.0, 3.0, 5).is_empty());
        assert!(ticks(1e300, 1e300 + 1e285, 5).len() <= 6);
    }

    #[test]
    fn a_scale_holds_what_it_shows() {
        let scale = Scale::around([1.5, f64::NAN, 1.6]).unwrap();
        assert!(scale.low < 1.5 && scale.high > 1.6);
        assert!(scale.at(1.5) > LEFT && scale.at(1.6) < RIGHT);
        assert!(scale.at(1.5) < scale.at(1.6));
        assert_eq!(scale.at(f64::NAN).to_bits(), LEFT.to_bits());
        assert_eq!(Scale::around([f64::NAN]), None);
        assert_eq!(Scale::around([]), None);
        assert_eq!(Scale::around([-f64::MAX, f64::MAX]), None);
    }
}
