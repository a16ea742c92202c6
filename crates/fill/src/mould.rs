//! From the volume of a cavity and the density of the wax to masses.
//!
//! Molten wax fills a cavity to the brim and shrinks as it sets; what the
//! surface does with the missing volume (a sink, a hollow, a smaller block) is
//! not a matter of mass. Fill height is therefore no proof of weight.

/// A wax, or a mix, as it matters to a mould.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Densities {
    /// Density at the pour temperature, g/ml.
    pub liquid: f64,
    /// Density when set, g/ml.
    pub solid: f64,
}

/// What one cavity takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CavityFill {
    /// Mass of one pour to the brim, g.
    pub first_pour: f64,
    /// Volume of that mass when set, ml.
    pub set_volume: f64,
    /// Volume the set mass leaves empty, ml.
    pub void: f64,
    /// The void as a share of the cavity.
    pub void_share: f64,
    /// Mass of a second pour that fills the void to the brim, g.
    pub second_pour: f64,
    /// Volume still empty once the second pour has set, ml.
    pub void_after_second: f64,
    /// Mass that ever more top-up pours come to, g.
    pub limit: f64,
}

impl CavityFill {
    /// Returns both pours together, g.
    pub fn two_pours(&self) -> f64 {
        self.first_pour + self.second_pour
    }
}

/// Why a mass was not worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MouldError {
    /// A volume, density or mass is not a number above zero.
    #[error("volumes, densities and masses must be numbers above zero")]
    NotPositive,
    /// The wax would grow as it sets, which wax does not.
    #[error("the set density is below the liquid density")]
    GrowsOnSetting,
    /// There is nothing in the blend, or a part is below zero.
    #[error("a blend needs at least one part above zero and none below")]
    EmptyBlend,
}

fn positive(value: f64) -> Result<f64, MouldError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(MouldError::NotPositive)
    }
}

/// Returns what a cavity of `volume` ml takes of a wax.
///
/// # Errors
///
/// [`MouldError::NotPositive`] and [`MouldError::GrowsOnSetting`].
///
/// # Source
///
/// Conservation of mass: mass is volume times density, before and after.
pub fn cavity_fill(volume: f64, wax: Densities) -> Result<CavityFill, MouldError> {
    let volume = positive(volume)?;
    let (liquid, solid) = (positive(wax.liquid)?, positive(wax.solid)?);
    if solid < liquid {
        return Err(MouldError::GrowsOnSetting);
    }
    let first_pour = volume * liquid;
    let set_volume = first_pour / solid;
    let void = volume - set_volume;
    let second_pour = void * liquid;
    Ok(CavityFill {
        first_pour,
        set_volume,
        void,
        void_share: void / volume,
        second_pour,
        void_after_second: volume - (first_pour + second_pour) / solid,
        limit: volume * solid,
    })
}

/// Returns the cavity, ml, that one pour to the brim turns into a unit of
/// `mass` g.
///
/// # Errors
///
/// [`MouldError::NotPositive`].
pub fn cavity_for(mass: f64, liquid_density: f64) -> Result<f64, MouldError> {
    Ok(positive(mass)? / positive(liquid_density)?)
}

/// Returns the unit weight, g, of a vessel that holds `line_volume` ml to its
/// line and is topped up until it is set level there.
///
/// # Errors
///
/// [`MouldError::NotPositive`].
pub fn unit_weight(line_volume: f64, set_density: f64) -> Result<f64, MouldError> {
    Ok(positive(line_volume)? * positive(set_density)?)
}

/// Returns the density of a blend whose volumes add up: 1/ρ = Σ (w/ρ).
///
/// Each part is (mass in any one unit, density in g/ml); parts of mass zero
/// are left out.
///
/// # Errors
///
/// [`MouldError::EmptyBlend`] and [`MouldError::NotPositive`].
///
/// # Source
///
/// Ideal mixing: no volume of mixing. Waxes and oils are alike enough for it.
pub fn blend_density(parts: &[(f64, f64)]) -> Result<f64, MouldError> {
    let (mut mass, mut volume) = (0.0, 0.0);
    for &(part, density) in parts {
        if !part.is_finite() || part < 0.0 {
            return Err(MouldError::EmptyBlend);
        }
        if part > 0.0 {
            mass += part;
            volume += part / positive(density)?;
        }
    }
    if mass > 0.0 {
        positive(mass / volume)
    } else {
        Err(MouldError::EmptyBlend)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, expected: f64, half_digit: f64) {
        assert!(
            (found - expected).abs() <= half_digit,
            "{found} is not {expected}"
        );
    }

    /// A cavity of 20.0 ml and a wax of 0.765 g/ml at 75 C, 0.880 set. The
    /// figures are exact arithmetic on the definition of density (ISO 80000-4),
    /// worked by hand to the printed digits.
    #[test]
    fn a_cavity_of_twenty_millilitres() {
        let wax = Densities {
            liquid: 0.765,
            solid: 0.880,
        };
        let fill = cavity_fill(20.0, wax).unwrap();
        near(fill.first_pour, 15.30, 0.005);
        near(fill.set_volume, 17.39, 0.005);
        near(fill.void, 2.61, 0.005);
        near(fill.void_share, 0.131, 0.0005);
        near(fill.second_pour, 2.00, 0.005);
        near(fill.two_pours(), 17.30, 0.005);
        near(fill.void_after_second, 0.34, 0.005);
        near(fill.limit, 17.60, 0.005);
        near(cavity_for(25.0, 0.765).unwrap(), 32.7, 0.05);
    }

    #[test]
    fn ten_kelvin_hotter_pours_less() {
        // About -0.65 kg/m3 per kelvin near 75 C: 0.85 % less at the same brim.
        let cold = cavity_fill(
            20.0,
            Densities {
                liquid: 0.765,
                solid: 0.880,
            },
        )
        .unwrap();
        let hot = cavity_fill(
            20.0,
            Densities {
                liquid: 0.7585,
                solid: 0.880,
            },
        )
        .unwrap();
        near(1.0 - hot.first_pour / cold.first_pour, 0.0085, 0.00005);
        near(hot.limit, cold.limit, 1e-12);
    }

    #[test]
    fn a_shell_of_84_ml_weighs_75_6_g() {
        near(unit_weight(84.0, 0.90).unwrap(), 75.6, 1e-9);
    }

    #[test]
    fn oil_makes_a_mix_a_little_denser() {
        // 8 % of the melt at 1.00 g/ml in wax of 0.765: 1/(0.92/0.765 + 0.08).
        let mix = blend_density(&[(92.0, 0.765), (8.0, 1.0)]).unwrap();
        near(mix, 0.7797, 0.00005);
        near(mix / 0.765 - 1.0, 0.019, 0.0005);
        // One wax alone, and in two halves.
        near(
            blend_density(&[(3.0, 0.9), (4.0, 0.9)]).unwrap(),
            0.9,
            1e-12,
        );
    }

    #[test]
    fn nonsense_is_refused() {
        let wax = Densities {
            liquid: 0.9,
            solid: 0.8,
        };
        assert_eq!(cavity_fill(20.0, wax), Err(MouldError::GrowsOnSetting));
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(unit_weight(bad, 0.9), Err(MouldError::NotPositive));
            assert_eq!(cavity_for(20.0, bad), Err(MouldError::NotPositive));
        }
        assert_eq!(blend_density(&[]), Err(MouldError::EmptyBlend));
        assert_eq!(blend_density(&[(-1.0, 0.9)]), Err(MouldError::EmptyBlend));
        assert_eq!(
            blend_density(&[(1.0, f64::NAN)]),
            Err(MouldError::NotPositive)
        );
    }
}
