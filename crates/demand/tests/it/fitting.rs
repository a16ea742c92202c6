//! Regressions by maximum likelihood against published figures and another
//! program: statsmodels 0.15.0 for Python (`GLM` with the Poisson family,
//! `NegativeBinomial` with `nb2`), fitted to the same figures.

use demand::regression::{Counts, NoFit, negative_binomial, poisson};
use proptest::prelude::*;

#[track_caller]
fn near(ours: &[f64], theirs: &[f64], within: f64) {
    assert_eq!(ours.len(), theirs.len());
    for (ours, theirs) in ours.iter().zip(theirs) {
        // Two of the coefficients are nothing but rounding.
        let off = (ours - theirs).abs() / theirs.abs().max(1e-3);
        assert!(off < within, "{ours} against {theirs}");
    }
}

fn counts<'a>(rows: &'a [Vec<f64>], counts: &'a [f64]) -> Counts<'a> {
    Counts {
        rows,
        counts,
        offsets: &[],
    }
}

/// A randomised controlled trial: Dobson, An Introduction to Generalized Linear
/// Models (1990), page 93, as printed in the help of `glm` in R.
#[test]
fn a_poisson_regression_agrees_with_dobsons_trial() {
    let seen = [18.0, 17.0, 15.0, 20.0, 10.0, 20.0, 25.0, 13.0, 12.0];
    let is = |yes: bool| f64::from(u8::from(yes));
    let rows: Vec<Vec<f64>> = (0..9)
        .map(|i| {
            let (outcome, treatment) = (i % 3, i / 3);
            vec![
                1.0,
                is(outcome == 1),
                is(outcome == 2),
                is(treatment == 1),
                is(treatment == 2),
            ]
        })
        .collect();
    let fit = poisson(counts(&rows, &seen)).unwrap();
    let theirs = [3.044_522_44, -0.454_255_272, -0.292_987_125, 0.0, 0.0];
    near(&fit.coefficients, &theirs, 1e-6);
    let errors = [0.170_898_65, 0.202_170_76, 0.192_742_34, 0.2, 0.2];
    near(&fit.standard_errors, &errors, 1e-6);
    near(&[fit.ln_likelihood], &[-23.380_659_200_978_84], 1e-9);
    // Hardly spread at all: the negative binomial falls back on it.
    let wide = negative_binomial(counts(&rows, &seen)).unwrap();
    assert_eq!(
        (wide.dispersion, &wide.coefficients),
        (0.0, &fit.coefficients)
    );
}

/// Revertant colonies on three plates at each dose of quinoline, µg: Margolin,
/// Kaplan and Zeiger, PNAS 78 (1981), as given by Breslow, Applied Statistics
/// 33 (1984), Table 1.
#[test]
fn regressions_agree_on_breslows_colonies() {
    let doses = [0.0, 10.0, 33.0, 100.0, 333.0, 1000.0];
    let colonies = [
        15.0, 21.0, 29.0, 16.0, 18.0, 21.0, 16.0, 26.0, 33.0, 27.0, 41.0, 60.0, 33.0, 38.0, 41.0,
        20.0, 27.0, 42.0,
    ];
    let rows: Vec<Vec<f64>> = (0..18)
        .map(|i| {
            let dose: f64 = doses[i / 3];
            vec![1.0, libm::log(dose + 10.0), dose]
        })
        .collect();
    let fit = poisson(counts(&rows, &colonies)).unwrap();
    near(
        &fit.coefficients,
        &[2.172_773_01, 0.319_824_999, -1.013_031_88e-3],
        1e-6,
    );
    near(
        &fit.standard_errors,
        &[0.218_426_99, 0.057_001_45, 0.000_245_22],
        1e-3,
    );
    near(&[fit.ln_likelihood], &[-68.126_003_308_772_73], 1e-9);

    let fit = negative_binomial(counts(&rows, &colonies)).unwrap();
    near(
        &fit.coefficients,
        &[2.197_627_387, 0.312_509_750_1, -0.980_299_631_6e-3],
        1e-5,
    );
    near(
        &fit.standard_errors,
        &[0.321_319_342_8, 0.086_770_514_4, 0.381_054_591_9e-3],
        1e-3,
    );
    near(&[fit.dispersion], &[0.048_768_395_4], 1e-5);
    near(&[fit.dispersion_error.unwrap()], &[0.027_503_963_8], 1e-3);
    near(&[fit.ln_likelihood], &[-62.889_588_483_777_175], 1e-9);
}

/// European red mites on 150 apple leaves: Bliss and Fisher, Fitting the
/// Negative Binomial Distribution to Biological Data, Biometrics 9 (1953). The
/// paper's size k is 1.0246 (from memory), which is 1/φ.
#[test]
fn a_negative_binomial_agrees_with_bliss_and_fishers_mites() {
    let leaves = [70, 38, 17, 10, 9, 3, 2, 1];
    let seen: Vec<f64> = leaves
        .iter()
        .enumerate()
        .flat_map(|(mites, leaves)| vec![mites as f64; *leaves])
        .collect();
    let rows = vec![vec![1.0]; seen.len()];
    let fit = negative_binomial(counts(&rows, &seen)).unwrap();
    near(&fit.coefficients, &[0.136_859_18], 1e-6);
    near(&fit.standard_errors, &[0.110_998_23], 1e-4);
    near(&[1.0 / fit.dispersion], &[1.024_592_386_792_124_7], 1e-5);
    near(&[fit.dispersion_error.unwrap()], &[0.262_821_52], 1e-3);
    near(&[fit.ln_likelihood], &[-222.437_153_598_434_75], 1e-9);
}

#[track_caller]
fn check(rows: &[Vec<f64>], seen: &[f64], expected: NoFit) {
    assert_eq!(poisson(counts(rows, seen)), Err(expected));
    assert_eq!(negative_binomial(counts(rows, seen)), Err(expected));
}

#[test]
fn what_has_no_best_fit_says_so() {
    let line = |prices: &[f64]| -> Vec<Vec<f64>> {
        prices.iter().map(|price| vec![1.0, *price]).collect()
    };
    check(&[], &[], NoFit::Shape);
    check(&line(&[1.0, 2.0]), &[1.0], NoFit::Shape);
    check(&[vec![1.0], vec![]], &[1.0, 2.0], NoFit::Shape);
    check(&line(&[1.0, f64::NAN]), &[1.0, 2.0], NoFit::NotFinite);
    check(&line(&[1.0, 2.0]), &[1.0, -2.0], NoFit::NotFinite);
    check(&line(&[1.0, 2.0]), &[0.0, 0.0], NoFit::Infinite);
    check(&line(&[2.0, 2.0, 2.0]), &[5.0, 6.0, 7.0], NoFit::NotUnique);
    // All of it sold at one price, nothing at the other.
    check(
        &line(&[0.0, 0.0, 1.0, 1.0]),
        &[5.0, 6.0, 0.0, 0.0],
        NoFit::Infinite,
    );
}

proptest! {
    #[test]
    fn any_figures_end_in_a_fit_or_a_reason(
        data in proptest::collection::vec(
            (0.01_f64..100.0, prop_oneof![Just(0.0), (0_u32..50).prop_map(f64::from), Just(1e12)]),
            0..12,
        ),
    ) {
        let rows: Vec<Vec<f64>> = data.iter().map(|(x, _)| vec![1.0, libm::log(*x)]).collect();
        let seen: Vec<f64> = data.iter().map(|(_, y)| *y).collect();
        let fits = [poisson(counts(&rows, &seen)), negative_binomial(counts(&rows, &seen))];
        for fit in fits.into_iter().flatten() {
            prop_assert!(fit.coefficients.iter().all(|b| b.is_finite()));
            prop_assert!(fit.dispersion.is_finite() && fit.dispersion >= 0.0);
        }
    }
}
