//! What the wrapping weighs, and how well that is known.

use measure::Mass;

use crate::chance::t_at;

/// The average weight of foil, label, clamshell, jar: all that is not wax.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tare {
    /// Average, subtracted from every gross weight.
    pub average: Mass,
    /// Standard deviation of single tares, g; nothing when one figure was given.
    pub sd_g: f64,
    /// How many were weighed.
    pub weighed: u32,
}

impl Tare {
    /// Nothing: the units were weighed bare.
    pub const NONE: Self = Self {
        average: Mass::ZERO,
        sd_g: 0.0,
        weighed: 0,
    };

    /// Takes one figure as it stands.
    pub const fn of_one(average: Mass) -> Self {
        Self {
            average,
            sd_g: 0.0,
            weighed: 1,
        }
    }

    /// Takes tares weighed one by one; none when there is none.
    pub fn of(tares: &[Mass]) -> Option<Self> {
        let count = i64::try_from(tares.len()).ok().filter(|n| *n > 0)?;
        let total: Mass = tares.iter().copied().sum();
        let average = Mass::from_micrograms(total.micrograms() / count);
        let mean = total.grams() / count as f64;
        let squares: f64 = tares
            .iter()
            .map(|tare| (tare.grams() - mean) * (tare.grams() - mean))
            .sum();
        Some(Self {
            average,
            sd_g: if count > 1 {
                (squares / (count - 1) as f64).sqrt()
            } else {
                0.0
            },
            weighed: u32::try_from(count).ok()?,
        })
    }

    /// How far the true average tare may be off, at a point of its own
    /// distribution: Student's t about the average of those weighed, g.
    pub(crate) fn off_at(&self, chance: f64) -> f64 {
        if self.weighed < 2 || self.sd_g == 0.0 {
            return 0.0;
        }
        let n = f64::from(self.weighed);
        self.sd_g / n.sqrt() * t_at(chance, n - 1.0)
    }

    /// Standard error of the average, g.
    pub fn standard_error(&self) -> f64 {
        if self.weighed == 0 {
            0.0
        } else {
            self.sd_g / f64::from(self.weighed).sqrt()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_clamshells() {
        let grams = |g: f64| Mass::from_grams(g).unwrap();
        let tare = Tare::of(&[grams(8.1), grams(8.3)]).unwrap();
        assert_eq!(tare.average, grams(8.2));
        assert!((tare.sd_g - 0.141_421).abs() < 1e-6);
        assert!((tare.standard_error() - 0.1).abs() < 1e-9);
        // One degree of freedom: t(0.975) is 12.706.
        assert!((tare.off_at(0.975) - 1.2706).abs() < 1e-4);
        assert_eq!(Tare::of(&[]), None);
    }
}
