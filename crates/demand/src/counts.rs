//! Chances of a count: negative binomial, with the Poisson as its limit.
//!
//! A count with mean m and dispersion φ has variance m + φ m² (Hilbe, Negative
//! Binomial Regression, 2nd edition, 2011, "NB2"); at φ = 0 it is Poisson. All
//! functions are written in η = ln m and come from one portable library, so
//! that the last digit is the same on every machine.

/// The least dispersion told from none.
const NONE: f64 = 1e-12;
/// No logarithm of a mean goes beyond this, so that none overflows.
const FAR: f64 = 60.0;

/// A logarithm of a density with its slope and how much it bends down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bend {
    pub(crate) value: f64,
    pub(crate) slope: f64,
    /// Minus the second derivative; never below zero.
    pub(crate) bend: f64,
}

/// Returns `(1/φ) ln(1 + φ m)`, which is m where φ is nothing.
fn spent(m: f64, phi: f64) -> f64 {
    if phi < NONE {
        m
    } else if phi < 1e-5 {
        libm::log1p(phi * m) / phi
    } else {
        // Quicker, and good to a hundred thousand millionth of a log chance.
        libm::log(1.0 + phi * m) / phi
    }
}

/// Returns what does not hang on the mean in the logarithm of the chance of
/// `y`: `ln Γ(y + 1/φ) − ln Γ(1/φ) + y ln φ − ln y!`.
pub(crate) fn constant(y: f64, phi: f64) -> f64 {
    rising(y, phi) - libm::lgamma(y + 1.0)
}

/// Returns `Σ ln(1 + kφ)` over k = 0 … y − 1 without losing digits to a small φ.
fn rising(y: f64, phi: f64) -> f64 {
    if phi < NONE || y < 2.0 {
        return 0.0;
    }
    if y <= 12.0 {
        let mut product = 1.0;
        let mut k = 1.0;
        while k < y {
            product *= 1.0 + k * phi;
            k += 1.0;
        }
        return libm::log(product);
    }
    let r = 1.0 / phi;
    if r < 1e4 {
        return libm::lgamma(y + r) - libm::lgamma(r) - y * libm::log(r);
    }
    // Stirling's series of both, their leading parts taken together.
    let x = y * phi;
    let less = if x < 1e-3 {
        // ln(1 + x) − x
        x * x * (-0.5 + x * (1.0 / 3.0 - x * (0.25 - x * 0.2)))
    } else {
        libm::log1p(x) - x
    };
    r * less + (y - 0.5) * libm::log1p(x) + (1.0 / (r + y) - 1.0 / r) / 12.0
}

/// Returns the logarithm of the chance of exactly `y`, but for [`constant`].
pub(crate) fn ln_kernel(y: f64, eta: f64, phi: f64) -> f64 {
    let eta = eta.clamp(-FAR, FAR);
    ln_kernel_of(y, eta, libm::exp(eta), phi)
}

/// Returns [`ln_kernel`] where the mean is at hand beside its logarithm.
pub(crate) fn ln_kernel_of(y: f64, eta: f64, m: f64, phi: f64) -> f64 {
    let spent = spent(m, phi);
    y * (eta - phi * spent) - spent
}

/// Returns [`ln_kernel`] with its slope and bend in η.
pub(crate) fn kernel(y: f64, eta: f64, phi: f64) -> Bend {
    let eta = eta.clamp(-FAR, FAR);
    let m = libm::exp(eta);
    let spent = spent(m, phi);
    let over = 1.0 / (1.0 + phi * m);
    Bend {
        value: y * (eta - phi * spent) - spent,
        slope: (y - m) * over,
        bend: m * (1.0 + phi * y) * over * over,
    }
}

/// Returns the logarithm of the chance of exactly `y`.
pub fn ln_chance(y: f64, mean: f64, dispersion: f64) -> f64 {
    if mean <= 0.0 {
        return if y > 0.0 { f64::NEG_INFINITY } else { 0.0 };
    }
    ln_kernel(y, libm::log(mean), dispersion) + constant(y, dispersion)
}

/// Returns the logarithm of the chance of `y` or more, with slope and bend in
/// η: what a day that sold out says.
///
/// `constant` is [`constant`] of the same `y` and φ, which callers keep.
pub(crate) fn at_least(y: f64, eta: f64, phi: f64, constant: f64) -> Bend {
    if y < 0.5 {
        return Bend {
            value: 0.0,
            slope: 0.0,
            bend: 0.0,
        };
    }
    // The Poisson to nine digits.
    let phi = phi.max(1e-10);
    let eta = eta.clamp(-FAR, FAR);
    let m = libm::exp(eta);
    let ln_exact = ln_kernel_of(y, eta, m, phi) + constant;
    if y > 3_000.0 {
        return many_at_least(y, m, phi);
    }
    // P(Y ≥ y) = I_p(y, 1/φ) with p = φm/(1 + φm): NIST DLMF 8.17.24.
    let p = phi * m / (1.0 + phi * m);
    let value = if phi < 1e-4 && m > y {
        // The fraction of the other side would lose its digits here.
        libm::log1p(-below(y, m, phi, ln_exact).min(1.0 - 1e-16))
    } else {
        ln_beta_share(y, 1.0 / phi, p, 1.0 / (1.0 + phi * m), ln_exact)
    };
    // d P(Y ≥ y)/dη = y P(Y = y), by differentiating the same integral.
    let slope = y * libm::exp((ln_exact - value).min(FAR));
    let own = (y - m) / (1.0 + phi * m);
    Bend {
        value,
        slope,
        bend: (slope * (slope - own)).max(0.0),
    }
}

/// Returns [`at_least`] of counts so large that they are as good as a gamma of
/// the same mean and variance, and that as its cube root, which is normal
/// (Wilson and Hilferty, PNAS 17, 1931).
fn many_at_least(y: f64, m: f64, phi: f64) -> Bend {
    let ninth = (1.0 + phi * m) / (9.0 * m);
    let root = libm::cbrt((y - 0.5) / m);
    let at = |z: f64| {
        let tail = normal_below(-z);
        if tail > 1e-280 {
            libm::log(tail)
        } else {
            // The first term of the asymptotic series, NIST DLMF 7.12.1.
            -0.5 * z * z - libm::log(z.max(1.0)) - 0.5 * libm::log(2.0 * std::f64::consts::PI)
        }
    };
    let z = (root - 1.0 + ninth) / ninth.sqrt();
    let value = at(z);
    // Density over tail, and how z falls as η rises; ninth hardly changes.
    let hazard =
        libm::exp((-0.5 * z * z - 0.5 * libm::log(2.0 * std::f64::consts::PI) - value).min(FAR));
    let fall = root / (3.0 * ninth.sqrt());
    Bend {
        value,
        slope: hazard * fall,
        bend: (hazard * (hazard - z) * fall * fall).max(0.0),
    }
}

/// Returns the chance of less than `y` where the mean `m` lies above it, term by
/// term downwards from the chance of `y` itself.
fn below(y: f64, m: f64, phi: f64, ln_exact: f64) -> f64 {
    let mut term = libm::exp(ln_exact);
    let mut sum = 0.0;
    let mut k = y;
    while k > 0.5 {
        term *= k * (1.0 + phi * m) / ((1.0 + (k - 1.0) * phi) * m);
        sum += term;
        if term < sum * 1e-17 {
            break;
        }
        k -= 1.0;
    }
    sum
}

/// Returns `ln I_x(a, b)` for `x` and `rest = 1 − x`, `ln_front` being
/// `ln(x^a (1 − x)^b / (a B(a, b)))`.
fn ln_beta_share(a: f64, b: f64, x: f64, rest: f64, ln_front: f64) -> f64 {
    if x <= (a + 1.0) / (a + b + 2.0) {
        (ln_front + libm::log(fraction(a, b, x))).min(0.0)
    } else {
        let other = libm::exp(ln_front) * (a / b) * fraction(b, a, rest);
        libm::log1p(-other.min(1.0 - 1e-16))
    }
}

/// The continued fraction of the incomplete beta function: NIST DLMF 8.17.22,
/// by the method of Lentz.
#[expect(clippy::many_single_char_names, reason = "the letters of the source")]
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let solid = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / solid(1.0 - (a + b) * x / (a + 1.0));
    let mut f = d;
    for i in 1..3_000 {
        let m = f64::from(i);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / solid(1.0 + even * d);
        c = solid(1.0 + even / c);
        f *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / solid(1.0 + odd * d);
        c = solid(1.0 + odd / c);
        f *= d * c;
        if (d * c - 1.0).abs() < 1e-14 {
            break;
        }
    }
    f
}

/// Returns the chance that Student's t with `df` degrees of freedom stays
/// below `t`.
pub(crate) fn t_below(t: f64, df: f64) -> f64 {
    let square = t * t;
    let (x, rest) = (df / (df + square), square / (df + square));
    if rest <= 0.0 {
        return 0.5;
    }
    let (a, b) = (0.5 * df, 0.5);
    let ln_front = a * libm::log(x) + b * libm::log(rest) - libm::log(a) + libm::lgamma(a + b)
        - libm::lgamma(a)
        - libm::lgamma(b);
    let tail = 0.5 * libm::exp(ln_beta_share(a, b, x, rest, ln_front));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// Returns the value below which Student's t stays with chance `chance`.
pub(crate) fn t_quantile(chance: f64, df: f64) -> f64 {
    let (mut low, mut high) = (-1e4, 1e4);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if t_below(middle, df) < chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Returns the chance that a standard normal stays below `z`.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use statrs::distribution::{
        ContinuousCDF, Discrete, DiscreteCDF, NegativeBinomial, Poisson, StudentsT,
    };

    use super::*;

    #[track_caller]
    fn near(ours: f64, theirs: f64, within: f64) {
        assert!(
            (ours - theirs).abs() <= within * (1.0 + theirs.abs()),
            "{ours} against {theirs}"
        );
    }

    fn sold_out(y: f64, eta: f64, phi: f64) -> Bend {
        at_least(y, eta, phi, constant(y, phi))
    }

    #[test]
    fn chances_agree_with_an_independent_library() {
        for mean in [0.3, 2.0, 17.0, 240.0] {
            for y in [0_u64, 1, 2, 5, 13, 40, 200] {
                for phi in [1e-3, 0.05, 0.7, 3.0] {
                    let theirs =
                        NegativeBinomial::new(1.0 / phi, 1.0 / (1.0 + phi * mean)).unwrap();
                    near(ln_chance(y as f64, mean, phi), theirs.ln_pmf(y), 1e-9);
                    if y > 0 {
                        let more = 1.0 - theirs.cdf(y - 1);
                        let ours = libm::exp(sold_out(y as f64, libm::log(mean), phi).value);
                        near(ours, more, 1e-9);
                    }
                }
                let theirs = Poisson::new(mean).unwrap();
                near(ln_chance(y as f64, mean, 0.0), theirs.ln_pmf(y), 1e-9);
                if y > 0 {
                    let ours = libm::exp(sold_out(y as f64, libm::log(mean), 0.0).value);
                    near(ours, 1.0 - theirs.cdf(y - 1), 1e-7);
                }
            }
        }
    }

    #[test]
    fn a_small_dispersion_joins_the_poisson() {
        for n in [3_u32, 30, 3_000] {
            let y = f64::from(n);
            let poisson = ln_chance(y, 0.9 * y, 0.0);
            near(ln_chance(y, 0.9 * y, 1e-11), poisson, 1e-6);
            // Both branches of the gamma functions meet.
            near(rising(y, 0.999e-4), rising(y, 1.001e-4), 3e-3);
            let direct: f64 = (0..n).map(|k| libm::log1p(f64::from(k) * 3e-5)).sum();
            near(rising(y, 3e-5), direct, 1e-9);
        }
    }

    #[test]
    fn quantiles_of_students_t_agree_with_an_independent_library() {
        for df in [1.0, 2.0, 8.0, 30.0, 400.0] {
            let theirs = StudentsT::new(0.0, 1.0, df).unwrap();
            for chance in [0.01, 0.05, 0.4, 0.5, 0.9, 0.95, 0.999] {
                near(t_quantile(chance, df), theirs.inverse_cdf(chance), 1e-6);
            }
        }
    }

    #[test]
    fn large_counts_join_the_others() {
        for (mean, phi) in [
            (2_900.0, 0.0),
            (3_050.0, 0.002),
            (2_500.0, 0.05),
            (4_000.0, 0.3),
        ] {
            let eta = libm::log(mean);
            let (exact, large) = (
                sold_out(2_999.0, eta, phi),
                many_at_least(2_999.0, mean, phi),
            );
            near(large.value, exact.value, 0.02);
            near(large.slope, exact.slope, 0.05);
        }
    }

    proptest! {
        #[test]
        fn slopes_are_those_of_the_values(
            y in 0_u32..60,
            eta in -3.0_f64..5.0,
            phi in prop_oneof![Just(0.0), 1e-4_f64..2.0],
            out in any::<bool>(),
        ) {
            let of = |eta| if out {
                sold_out(f64::from(y), eta, phi)
            } else {
                kernel(f64::from(y), eta, phi)
            };
            let h = 1e-5;
            let (low, at, high) = (of(eta - h), of(eta), of(eta + h));
            // Where a value is as good as nothing its difference is noise.
            let slope = (high.value - low.value) / (2.0 * h);
            prop_assert!((slope - at.slope).abs() <= 1e-4 * (1.0 + at.slope.abs()), "{slope} {at:?}");
            let bend = (low.slope - high.slope) / (2.0 * h);
            prop_assert!((bend - at.bend).abs() <= 1e-3 * (1.0 + at.bend.abs()), "{bend} {at:?}");
        }
    }
}
