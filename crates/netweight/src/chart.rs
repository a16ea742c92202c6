//! The control chart of unit weight by lot.
//!
//! Two questions, two charts. Are the units of a lot alike, and does a lot
//! differ from the others by more than its units' own scatter: averages with
//! their standard deviations, or ranges for small equal lots. Lots of wax
//! always differ a little, so a third chart holds each lot's average against
//! how lots usually differ: single values with moving ranges.

use std::cmp::Ordering;

use crate::chance::normal_below;

/// The constants of a control chart for samples of one size.
///
/// # Source
///
/// ISO 7870-2:2013, annex, and ASTM MNL7, table of control chart constants:
/// named for the symbols; the figures are computed from their definitions by
/// the normal distribution and compared with the printed ones (from memory) in
/// the tests.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// Limits of the average about the mean, in average ranges.
    pub a2: f64,
    /// Limits of the average, in average standard deviations.
    pub a3: f64,
    /// Expected standard deviation of a sample ÷ true one.
    pub c4: f64,
    /// Lower limit of the standard deviation, in its average.
    pub b3: f64,
    /// Upper limit of the standard deviation.
    pub b4: f64,
    /// Expected range ÷ true standard deviation.
    pub d2: f64,
    /// Lower limit of the range, in the average range.
    pub d3: f64,
    /// Upper limit of the range.
    pub d4: f64,
}

/// The constants for samples of `n`, from 2 to 25.
pub fn constants(n: u32) -> Option<Constants> {
    if !(2..=25).contains(&n) {
        return None;
    }
    let k = f64::from(n);
    let c4 = c4(k);
    let (d2, range_sd) = range_moments(n);
    let spread = 3.0 * (1.0 - c4 * c4).sqrt() / c4;
    Some(Constants {
        a2: 3.0 / (d2 * k.sqrt()),
        a3: 3.0 / (c4 * k.sqrt()),
        c4,
        b3: (1.0 - spread).max(0.0),
        b4: 1.0 + spread,
        d2,
        d3: (1.0 - 3.0 * range_sd / d2).max(0.0),
        d4: 1.0 + 3.0 * range_sd / d2,
    })
}

/// c4 = √(2/(n − 1)) Γ(n/2) / Γ((n − 1)/2).
fn c4(n: f64) -> f64 {
    (2.0 / (n - 1.0)).sqrt() * libm::exp(libm::lgamma(n / 2.0) - libm::lgamma((n - 1.0) / 2.0))
}

/// Mean and standard deviation of the range of `n` standard normals, by
/// integrating over where the least and the greatest lie.
///
/// Source: Tippett, On the Extreme Individuals and the Range of Samples Taken
/// from a Normal Population, Biometrika 17 (1925), from memory.
fn range_moments(n: u32) -> (f64, f64) {
    const CELLS: usize = 320;
    const REACH: f64 = 8.0;
    let width = 2.0 * REACH / CELLS as f64;
    let n = n.cast_signed();
    let below: Vec<f64> = (0..CELLS)
        .map(|idx| normal_below(-REACH + (idx as f64 + 0.5) * width))
        .collect();
    let mean: f64 = below
        .iter()
        .map(|p| 1.0 - (1.0 - p).powi(n) - p.powi(n))
        .sum::<f64>()
        * width;
    // E R² = 2 ∫∫ over x < y of the chance that the least is below x and the
    // greatest above y.
    let mut square = 0.0;
    for (idx, low) in below.iter().enumerate() {
        let beyond =
            |high: f64| 1.0 - high.powi(n) - (1.0 - low).powi(n) + (high - low).max(0.0).powi(n);
        let above: f64 = below.iter().skip(idx + 1).map(|high| beyond(*high)).sum();
        square += above + 0.5 * beyond(*low);
    }
    let square = 2.0 * square * width * width;
    (mean, (square - mean * mean).max(0.0).sqrt())
}

/// A figure with its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// What was found, g.
    pub value: f64,
    /// Lower limit, g.
    pub low: f64,
    /// Upper limit, g.
    pub high: f64,
}

impl Point {
    /// Whether it lies outside its limits.
    pub fn is_out(&self) -> bool {
        self.value < self.low || self.value > self.high
    }
}

/// One lot on the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LotPoint {
    /// Units weighed.
    pub weighed: u32,
    /// Its average against the scatter of units.
    pub average: Point,
    /// Its standard deviation.
    pub spread: Point,
    /// Its range, where all lots have the same 2 to 10 units.
    pub range: Option<Point>,
    /// Its average against how lots usually differ.
    pub among_lots: Point,
    /// Whether this is at least the ninth average in a row on one side of the
    /// centre.
    pub in_a_run: bool,
}

/// The control chart of unit weight by lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Average of all units, g.
    pub centre: f64,
    /// Standard deviation of the units of a lot, g.
    pub within: f64,
    /// Average range, where all lots have the same 2 to 10 units, g.
    pub average_range: Option<f64>,
    /// Average difference between one lot's average and the next, g.
    pub moving_range: f64,
    /// The lots in the order given.
    pub lots: Vec<LotPoint>,
}

/// As many averages in a row on one side are a signal.
///
/// Source: ISO 7870-2:2013, test 2 (from memory).
const RUN: u32 = 9;

/// Draws up the chart of two lots or more with two units or more each, weights
/// in grams; none for fewer or for a weight that is not finite.
///
/// The spread of units is the mean of each lot's standard deviation ÷ its c4,
/// which for lots of one size is the textbook's s̄/c4.
///
/// # Source
///
/// ISO 7870-2:2013; ASTM MNL7, Manual on Presentation of Data and Control
/// Chart Analysis, part 3 (both from memory).
pub fn chart(lots: &[Vec<f64>]) -> Option<Chart> {
    let fit = |lot: &Vec<f64>| lot.len() >= 2 && lot.iter().all(|w| w.is_finite());
    if lots.len() < 2 || !lots.iter().all(fit) {
        return None;
    }
    let n_lots = lots.len() as f64;
    let seen: Vec<Seen> = lots.iter().map(|lot| Seen::of(lot)).collect();
    let n_units: f64 = seen.iter().map(|lot| lot.n).sum();
    let centre = seen.iter().map(|lot| lot.mean * lot.n).sum::<f64>() / n_units;
    let within = seen.iter().map(|lot| lot.sd / c4(lot.n)).sum::<f64>() / n_lots;
    let moving_range = seen
        .iter()
        .zip(seen.iter().skip(1))
        .map(|(before, after)| (after.mean - before.mean).abs())
        .sum::<f64>()
        / (n_lots - 1.0);
    let lot_centre = seen.iter().map(|lot| lot.mean).sum::<f64>() / n_lots;
    // Single values: three moving ranges ÷ d2 of two.
    let reach = 3.0 * moving_range / range_moments(2).0;

    let size = lots.first().map_or(0, Vec::len);
    let range_constants = u32::try_from(size)
        .ok()
        .filter(|size| {
            (2..=10).contains(size) && lots.iter().all(|lot| lot.len() == *size as usize)
        })
        .and_then(constants);
    let average_range =
        range_constants.map(|_| seen.iter().map(|lot| lot.range).sum::<f64>() / n_lots);

    let mut run = 0_u32;
    let mut side = Ordering::Equal;
    let lots = seen
        .iter()
        .map(|lot| {
            let here = lot.mean.total_cmp(&lot_centre);
            run = match here {
                Ordering::Equal => 0,
                _ if here == side => run + 1,
                _ => 1,
            };
            side = here;
            let own = c4(lot.n);
            let sway = 3.0 * (1.0 - own * own).sqrt() * within;
            LotPoint {
                weighed: lot.weighed,
                average: Point {
                    value: lot.mean,
                    low: centre - 3.0 * within / lot.n.sqrt(),
                    high: centre + 3.0 * within / lot.n.sqrt(),
                },
                spread: Point {
                    value: lot.sd,
                    low: (own * within - sway).max(0.0),
                    high: own * within + sway,
                },
                range: range_constants
                    .zip(average_range)
                    .map(|(constants, average)| Point {
                        value: lot.range,
                        low: constants.d3 * average,
                        high: constants.d4 * average,
                    }),
                among_lots: Point {
                    value: lot.mean,
                    low: lot_centre - reach,
                    high: lot_centre + reach,
                },
                in_a_run: run >= RUN,
            }
        })
        .collect();
    Some(Chart {
        centre,
        within,
        average_range,
        moving_range,
        lots,
    })
}

/// The figures of one lot.
struct Seen {
    weighed: u32,
    n: f64,
    mean: f64,
    sd: f64,
    range: f64,
}

impl Seen {
    fn of(lot: &[f64]) -> Self {
        let n = lot.len() as f64;
        let mean = lot.iter().sum::<f64>() / n;
        let squares: f64 = lot.iter().map(|w| (w - mean) * (w - mean)).sum();
        let high = lot.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let low = lot.iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            weighed: u32::try_from(lot.len()).unwrap_or(u32::MAX),
            n,
            mean,
            sd: (squares / (n - 1.0)).sqrt(),
            range: high - low,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 7870-2:2013 and ASTM MNL7 print these constants; from memory. Some
    /// editions differ by one in the last digit, by when they rounded.
    #[test]
    fn the_constants_are_those_printed() {
        #[rustfmt::skip]
        let printed: [(u32, [f64; 8]); 24] = [
            (2, [1.880, 2.659, 0.7979, 0.0, 3.267, 1.128, 0.0, 3.267]),
            (3, [1.023, 1.954, 0.8862, 0.0, 2.568, 1.693, 0.0, 2.575]),
            (4, [0.729, 1.628, 0.9213, 0.0, 2.266, 2.059, 0.0, 2.282]),
            (5, [0.577, 1.427, 0.9400, 0.0, 2.089, 2.326, 0.0, 2.114]),
            (6, [0.483, 1.287, 0.9515, 0.030, 1.970, 2.534, 0.0, 2.004]),
            (7, [0.419, 1.182, 0.9594, 0.118, 1.882, 2.704, 0.076, 1.924]),
            (8, [0.373, 1.099, 0.9650, 0.185, 1.815, 2.847, 0.136, 1.864]),
            (9, [0.337, 1.032, 0.9693, 0.239, 1.761, 2.970, 0.184, 1.816]),
            (10, [0.308, 0.975, 0.9727, 0.284, 1.716, 3.078, 0.223, 1.777]),
            (11, [0.285, 0.927, 0.9754, 0.321, 1.679, 3.173, 0.256, 1.744]),
            (12, [0.266, 0.886, 0.9776, 0.354, 1.646, 3.258, 0.283, 1.717]),
            (13, [0.249, 0.850, 0.9794, 0.382, 1.618, 3.336, 0.307, 1.693]),
            (14, [0.235, 0.817, 0.9810, 0.406, 1.594, 3.407, 0.328, 1.672]),
            (15, [0.223, 0.789, 0.9823, 0.428, 1.572, 3.472, 0.347, 1.653]),
            (16, [0.212, 0.763, 0.9835, 0.448, 1.552, 3.532, 0.363, 1.637]),
            (17, [0.203, 0.739, 0.9845, 0.466, 1.534, 3.588, 0.378, 1.622]),
            (18, [0.194, 0.718, 0.9854, 0.482, 1.518, 3.640, 0.391, 1.609]),
            (19, [0.187, 0.698, 0.9862, 0.497, 1.503, 3.689, 0.403, 1.597]),
            (20, [0.180, 0.680, 0.9869, 0.510, 1.490, 3.735, 0.415, 1.585]),
            (21, [0.173, 0.663, 0.9876, 0.523, 1.477, 3.778, 0.425, 1.575]),
            (22, [0.167, 0.647, 0.9882, 0.534, 1.466, 3.819, 0.434, 1.566]),
            (23, [0.162, 0.633, 0.9887, 0.545, 1.455, 3.858, 0.443, 1.557]),
            (24, [0.157, 0.619, 0.9892, 0.555, 1.445, 3.895, 0.451, 1.549]),
            (25, [0.153, 0.606, 0.9896, 0.565, 1.435, 3.931, 0.459, 1.541]),
        ];
        for (n, expected) in printed {
            let c = constants(n).unwrap();
            let found = [c.a2, c.a3, c.c4, c.b3, c.b4, c.d2, c.d3, c.d4];
            for (idx, (found, expected)) in found.iter().zip(expected).enumerate() {
                let near = if idx == 2 { 6e-5 } else { 1.1e-3 };
                assert!(
                    (found - expected).abs() <= near,
                    "n {n}, column {idx}: {found} is not {expected}"
                );
            }
        }
        assert_eq!(constants(1), None);
        assert_eq!(constants(26), None);
    }

    /// Own arithmetic: three lots of two.
    #[test]
    fn three_small_lots_by_hand() {
        let chart = chart(&[vec![70.0, 72.0], vec![71.0, 73.0], vec![69.0, 71.0]]).unwrap();
        assert!((chart.centre - 71.0).abs() < 1e-12);
        assert!((chart.average_range.unwrap() - 2.0).abs() < 1e-12);
        // Averages 71, 72, 70: moving ranges 1 and 2.
        assert!((chart.moving_range - 1.5).abs() < 1e-12);
        // 2.660 moving ranges either side.
        assert!((chart.lots[0].among_lots.high - (71.0 + 2.660 * 1.5)).abs() < 2e-3);
        // The same limit by ranges (A2) as by spreads, for samples of two.
        assert!((chart.lots[0].average.high - (71.0 + 1.880 * 2.0)).abs() < 3e-3);
        assert!((chart.lots[0].range.unwrap().high - 3.267 * 2.0).abs() < 3e-3);
        assert!(
            !chart
                .lots
                .iter()
                .any(|lot| lot.average.is_out() || lot.in_a_run)
        );
    }

    #[test]
    fn a_lot_apart_and_a_run_are_seen() {
        let mut lots: Vec<Vec<f64>> = (0..10).map(|_| vec![70.0, 70.2, 69.8]).collect();
        lots.push(vec![80.0, 80.2, 79.8]);
        let chart = chart(&lots).unwrap();
        assert!(chart.lots[10].average.is_out());
        assert!(chart.lots[10].among_lots.is_out());
        assert!(chart.lots[9].in_a_run && !chart.lots[7].in_a_run);
        assert!(!chart.lots[10].in_a_run);
        assert!(!chart.lots[0].spread.is_out());
    }

    #[test]
    fn too_little_for_a_chart() {
        assert_eq!(chart(&[]), None);
        assert_eq!(chart(&[vec![1.0, 2.0]]), None);
        assert_eq!(chart(&[vec![1.0, 2.0], vec![1.0]]), None);
        assert_eq!(chart(&[vec![1.0, f64::NAN], vec![1.0, 2.0]]), None);
    }
}
