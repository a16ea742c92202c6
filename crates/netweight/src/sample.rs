//! The units of a lot that were weighed.

use measure::Mass;

/// Why weights make no sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SampleError {
    /// There is not one weight.
    #[error("there is no weight")]
    Empty,
    /// A package weighs no more than its wrapping.
    #[error("weight {0} is not above the tare")]
    NotAboveTare(usize),
}

/// Net weights of units of one lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    nets: Vec<Mass>,
    mean_g: f64,
    sd_g: f64,
}

impl Sample {
    /// Takes the net weight of each gross one: gross less the average tare.
    ///
    /// One average tare serves all, also the packages it was taken from.
    ///
    /// # Errors
    ///
    /// [`SampleError`] when there is none, or one is not above the tare.
    ///
    /// # Source
    ///
    /// NIST Handbook 133 (2026), 2.3.6.
    pub fn try_new(gross: &[Mass], tare: Mass) -> Result<Self, SampleError> {
        if gross.is_empty() {
            return Err(SampleError::Empty);
        }
        let nets: Vec<Mass> = gross.iter().map(|mass| *mass - tare).collect();
        if let Some(idx) = nets.iter().position(|net| *net <= Mass::ZERO) {
            return Err(SampleError::NotAboveTare(idx));
        }
        let n = nets.len() as f64;
        let mean_g = nets.iter().map(|net| net.grams()).sum::<f64>() / n;
        let squares: f64 = nets
            .iter()
            .map(|net| (net.grams() - mean_g) * (net.grams() - mean_g))
            .sum();
        let sd_g = if nets.len() > 1 {
            (squares / (n - 1.0)).sqrt()
        } else {
            0.0
        };
        Ok(Self { nets, mean_g, sd_g })
    }

    /// Makes a sample of so many with this mean and spread, in grams: half of
    /// them as far above the mean as the other half below, and with an odd
    /// number one on it. None for a weight that is nothing or less, or for fewer
    /// than two.
    pub fn alike(n: u32, mean_g: f64, sd_g: f64) -> Option<Self> {
        if n < 2 {
            return None;
        }
        let apart = sd_g * (f64::from(n - 1) / f64::from(n - n % 2)).sqrt();
        let nets: Option<Vec<Mass>> = (0..n)
            .map(|idx| {
                let side = match idx {
                    _ if n % 2 == 1 && idx + 1 == n => 0.0,
                    _ if idx % 2 == 0 => apart,
                    _ => -apart,
                };
                Mass::from_grams(mean_g + side)
            })
            .collect();
        Self::try_new(&nets?, Mass::ZERO).ok()
    }

    /// The first `n` of them by themselves, or all where there are no more.
    #[must_use]
    pub fn first(&self, n: usize) -> Self {
        let nets: Vec<Mass> = self.nets.iter().copied().take(n.max(1)).collect();
        Self::try_new(&nets, Mass::ZERO).unwrap_or_else(|_| self.clone())
    }

    /// The net weights in the order they were taken.
    pub fn nets(&self) -> &[Mass] {
        &self.nets
    }

    /// How many were weighed.
    pub fn len(&self) -> usize {
        self.nets.len()
    }

    /// Whether none was weighed; never, by construction.
    pub fn is_empty(&self) -> bool {
        self.nets.is_empty()
    }

    /// Average net weight, g.
    pub fn mean(&self) -> f64 {
        self.mean_g
    }

    /// Standard deviation with n − 1, g; nothing for a single unit.
    pub fn sd(&self) -> f64 {
        self.sd_g
    }

    /// The lightest.
    pub fn lightest(&self) -> Mass {
        self.nets
            .iter()
            .copied()
            .min()
            .expect("a sample has a unit")
    }

    /// The heaviest.
    pub fn heaviest(&self) -> Mass {
        self.nets
            .iter()
            .copied()
            .max()
            .expect("a sample has a unit")
    }

    /// How many are lighter than `floor`; equal is not lighter.
    ///
    /// Ounces are held in whole micrograms, so a weight, a declaration and a
    /// variation carry half a microgram each; two are let pass, which no
    /// scale shows.
    pub fn below(&self, floor: Mass) -> u32 {
        let floor = floor - Mass::from_micrograms(2);
        let n = self.nets.iter().filter(|net| **net < floor).count();
        u32::try_from(n).unwrap_or(u32::MAX)
    }
}
