//! Multiplying factors for what is very toxic to water, from test data.

use rust_decimal::Decimal;

/// How fast something goes in nature, which decides what a chronic value means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Degradation {
    /// Rapidly degradable.
    Rapid,
    /// Not rapidly degradable, or nobody knows.
    Slow,
}

/// The factor for Aquatic Acute 1 from the lowest L(E)C50, mg/l; none above
/// 1 mg/l, where the class does not apply, or for a value that is not above
/// zero.
///
/// # Source
///
/// CLP Annex I, Table 4.1.3: 0.1 < L(E)C50 ≤ 1 gives 1, each decade below ten
/// times more.
///
/// # Example
///
/// ```
/// use hazard::m_factor::acute;
///
/// assert_eq!(acute("0.705".parse().unwrap()), Some(1));
/// assert_eq!(acute("0.1".parse().unwrap()), Some(10));
/// ```
pub fn acute(lethal_mg_per_l: Decimal) -> Option<u32> {
    decades_below(lethal_mg_per_l, Decimal::ONE)
}

/// The factor for Aquatic Chronic 1 from the lowest NOEC or ECx, mg/l; none
/// where the value does not lead to that category.
///
/// Without chronic data, where the class came by the surrogate route, the
/// acute factor is taken over: give [`acute`] instead.
///
/// # Source
///
/// CLP Annex I, Table 4.1.3: not rapidly degradable, 0.01 < NOEC ≤ 0.1 gives 1;
/// rapidly degradable, 0.001 < NOEC ≤ 0.01 gives 1; each decade below ten times
/// more.
pub fn chronic(no_effect_mg_per_l: Decimal, degradation: Degradation) -> Option<u32> {
    let bound = match degradation {
        Degradation::Slow => Decimal::new(1, 1),
        Degradation::Rapid => Decimal::new(1, 2),
    };
    decades_below(no_effect_mg_per_l, bound)
}

/// Ten to the number of whole decades `value` lies below `bound`; the upper end
/// of each decade belongs to it.
fn decades_below(value: Decimal, bound: Decimal) -> Option<u32> {
    if value <= Decimal::ZERO || value > bound {
        return None;
    }
    let mut factor: u32 = 1;
    let mut floor = bound / Decimal::TEN;
    while value <= floor {
        factor = factor.checked_mul(10)?;
        floor /= Decimal::TEN;
    }
    Some(factor)
}

#[cfg(test)]
mod tests {
    use super::{Degradation, acute, chronic};

    fn read(text: &str) -> rust_decimal::Decimal {
        text.parse().unwrap()
    }

    // ECHA registration dossier 28394, section 6.1, which quotes the Guidance on
    // the Application of the CLP Criteria v5.0 (2017): lowest EC50 0.705 mg/l,
    // no chronic data, chronic by the surrogate route: both factors are 1.
    #[test]
    fn the_dossier_s_factors_come_out() {
        let both = acute(read("0.705"));
        assert_eq!(both, Some(1));
    }

    // CLP Annex I, Table 4.1.3, every decade it prints, at both ends.
    #[test]
    fn every_decade_of_the_table() {
        for (just_above, at, factor) in [
            ("0.1000001", "1", 1),
            ("0.0100001", "0.1", 10),
            ("0.0010001", "0.01", 100),
            ("0.0001001", "0.001", 1000),
            ("0.0000101", "0.0001", 10_000),
        ] {
            assert_eq!(acute(read(just_above)), Some(factor), "{just_above}");
            assert_eq!(acute(read(at)), Some(factor), "{at}");
            let tenth = |text: &str| read(text) / rust_decimal::Decimal::TEN;
            for end in [just_above, at] {
                assert_eq!(chronic(tenth(end), Degradation::Slow), Some(factor));
                let hundredth = tenth(end) / rust_decimal::Decimal::TEN;
                assert_eq!(chronic(hundredth, Degradation::Rapid), Some(factor));
            }
        }
        assert_eq!(acute(read("1.0000001")), None);
        assert_eq!(chronic(read("0.1000001"), Degradation::Slow), None);
        assert_eq!(chronic(read("0.0100001"), Degradation::Rapid), None);
        assert_eq!(acute(read("0")), None);
        assert_eq!(acute(read("-0.5")), None);
        assert_eq!(acute(read("0.0000000000000000000000000001")), None);
    }
}
