//! The United States: the inspection of NIST Handbook 133, 2026 edition.
//!
//! Chapter 2 was read; the tables of its appendix A are from memory, checked
//! where chapter 2 prints one of their rows and where they can be computed.

use measure::{Mass, MassUnit};

use crate::chance::t_at;
use crate::rule::{Inspected, Rule};
use crate::sample::Sample;
use crate::tare::Tare;

/// One line of the sampling plans of category A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Packages weighed.
    pub sample: u32,
    /// Sample correction factor; none for a single package, of which only the
    /// allowed variation is asked.
    pub factor: Option<f64>,
    /// Packages that may be short by more than the allowed variation.
    pub beyond_allowed: u32,
    /// Packages opened first for their tare; where two or three could apply,
    /// three.
    pub tare_first: u32,
}

const fn row(sample: u32, factor: f64, beyond_allowed: u32, tare_first: u32) -> Plan {
    Plan {
        sample,
        factor: Some(factor),
        beyond_allowed,
        tare_first,
    }
}

/// Category A, for all goods but meat and poultry at an inspected plant: the
/// largest lot a line is for, and the line. Category B, which allows no error
/// of the average, is for those two alone and never for wax, so it is not here.
///
/// # Source
///
/// NIST Handbook 133, appendix A, table 2-1, from memory.
pub const CATEGORY_A: [(u32, Plan); 14] = [
    (
        1,
        Plan {
            sample: 1,
            factor: None,
            beyond_allowed: 0,
            tare_first: 1,
        },
    ),
    (2, row(2, 8.984, 0, 2)),
    (3, row(3, 2.484, 0, 2)),
    (4, row(4, 1.591, 0, 2)),
    (5, row(5, 1.241, 0, 2)),
    (6, row(6, 1.050, 0, 2)),
    (7, row(7, 0.925, 0, 2)),
    (8, row(8, 0.836, 0, 2)),
    (9, row(9, 0.769, 0, 2)),
    (10, row(10, 0.715, 0, 2)),
    (11, row(11, 0.672, 0, 2)),
    (250, row(12, 0.635, 0, 2)),
    (3_200, row(24, 0.422, 0, 3)),
    (u32::MAX, row(48, 0.291, 1, 3)),
];

/// The sampling plan for a lot of this many packages.
pub fn plan(lot: u32) -> Plan {
    CATEGORY_A
        .iter()
        .find(|(most, _)| lot <= *most)
        .map(|(_, plan)| *plan)
        .expect("the last line is for any lot")
}

/// The sample correction factor for this many packages: as printed where the
/// table has it, otherwise by the rule behind the table, t(0.975; n − 1)/√n.
///
/// None for fewer than two.
pub fn factor(packages: u32) -> Option<f64> {
    if packages < 2 {
        return None;
    }
    CATEGORY_A
        .iter()
        .find(|(_, plan)| plan.sample == packages)
        .and_then(|(_, plan)| plan.factor)
        .or_else(|| {
            let n = f64::from(packages);
            Some(t_at(0.975, n - 1.0) / n.sqrt())
        })
}

/// Which figures of the table of variations a declaration is held against:
/// those in the unit of the declaration under test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// Pounds, also for ounces.
    Pound,
    /// Grams and kilograms.
    Gram,
}

impl From<MassUnit> for Column {
    fn from(unit: MassUnit) -> Self {
        match unit {
            MassUnit::Ounce | MassUnit::Pound => Self::Pound,
            MassUnit::Gram | MassUnit::Kilogram | MassUnit::Milligram => Self::Gram,
        }
    }
}

/// A line of the table of variations: the labelled quantity up to which it
/// holds and the variation, in pounds and in grams.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VariationRow {
    /// Up to so many hundredths of a pound.
    pub to_hundredths_lb: i64,
    /// Up to so many grams.
    pub to_g: i64,
    /// Variation in thousandths of a pound.
    pub thousandths_lb: i64,
    /// Variation in tenths of a gram.
    pub tenths_g: i64,
}

const fn allowed(
    to_hundredths_lb: i64,
    to_g: i64,
    thousandths_lb: i64,
    tenths_g: i64,
) -> VariationRow {
    VariationRow {
        to_hundredths_lb,
        to_g,
        thousandths_lb,
        tenths_g,
    }
}

/// Up to here the variation is a tenth of the label.
pub const TENTH_TO: (i64, i64) = (8, 36);

/// The variations between a tenth of a small label and a fiftieth of a large
/// one.
///
/// # Source
///
/// NIST Handbook 133, appendix A, table 2-5, from memory. Its rows of 113 g
/// (0.25 lb) and of 907 g (2 lb) are printed in chapter 2, and every gram
/// figure is the pound figure cut down.
pub const VARIATIONS: [VariationRow; 32] = [
    allowed(12, 54, 8, 36),
    allowed(18, 81, 12, 54),
    allowed(26, 117, 16, 72),
    allowed(34, 154, 20, 90),
    allowed(46, 208, 24, 108),
    allowed(58, 263, 28, 127),
    allowed(70, 317, 32, 145),
    allowed(84, 381, 36, 163),
    allowed(94, 426, 40, 181),
    allowed(108, 489, 44, 199),
    allowed(126, 571, 48, 217),
    allowed(140, 635, 52, 235),
    allowed(154, 698, 56, 254),
    allowed(170, 771, 60, 272),
    allowed(188, 852, 64, 290),
    allowed(214, 970, 70, 317),
    allowed(248, 1_120, 78, 353),
    allowed(276, 1_250, 86, 390),
    allowed(320, 1_450, 94, 426),
    allowed(390, 1_760, 110, 490),
    allowed(470, 2_130, 120, 540),
    allowed(580, 2_630, 140, 630),
    allowed(680, 3_080, 150, 680),
    allowed(790, 3_580, 170, 770),
    allowed(940, 4_260, 190, 860),
    allowed(1_170, 5_300, 220, 990),
    allowed(1_430, 6_480, 250, 1_130),
    allowed(1_770, 8_020, 280, 1_270),
    allowed(2_320, 10_520, 310, 1_400),
    allowed(3_160, 14_330, 370, 1_670),
    allowed(4_240, 19_230, 440, 1_990),
    allowed(5_440, 24_670, 500, 2_260),
];

/// One pound in micrograms.
const POUND: i64 = 453_592_370;

/// The maximum allowable variation of packages labelled by weight.
///
/// Rounded half-even to the microgram, as a typed weight is.
///
/// # Source
///
/// NIST Handbook 133, appendix A, table 2-5, from memory.
pub fn allowed_variation(declared: Mass, column: Column) -> Mass {
    let declared = declared.micrograms().max(0);
    // A declaration in ounces is held to half a microgram; hundredths of a
    // pound are compared with that much room.
    let up_to = |hundredths_lb: i64, grams: i64| match column {
        Column::Pound => {
            i128::from(declared) * 100 <= i128::from(hundredths_lb) * i128::from(POUND) + 100
        }
        Column::Gram => declared <= grams * 1_000_000,
    };
    if up_to(TENTH_TO.0, TENTH_TO.1) {
        return Mass::from_micrograms(part_of(declared, 10));
    }
    let found = VARIATIONS
        .iter()
        .find(|row| up_to(row.to_hundredths_lb, row.to_g));
    Mass::from_micrograms(match (found, column) {
        (Some(row), Column::Pound) => part_of(row.thousandths_lb * POUND, 1_000),
        (Some(row), Column::Gram) => row.tenths_g * 100_000,
        (None, _) => part_of(declared, 50),
    })
}

/// So many micrograms ÷ `by`, rounded half-even; neither below zero.
fn part_of(micrograms: i64, by: i64) -> i64 {
    let (whole, rest) = (micrograms / by, micrograms % by);
    match (rest * 2).cmp(&by) {
        std::cmp::Ordering::Less => whole,
        std::cmp::Ordering::Equal => whole + whole % 2,
        std::cmp::Ordering::Greater => whole + 1,
    }
}

/// Tests a lot against its declaration.
///
/// All packages weighed count. Where more were weighed than the plan asks,
/// the factor for so many is used, which allows less. An average error of
/// just the error limit passes.
///
/// # Source
///
/// NIST Handbook 133 (2026), 2.3.7; equality is not mentioned there.
pub fn inspect(sample: &Sample, declared: Mass, column: Column, lot: u32) -> Inspected {
    let weighed = u32::try_from(sample.len()).unwrap_or(u32::MAX);
    let plan = plan(lot);
    let limits = Rule::Us.limits(declared, column);
    let factor = factor(weighed);
    let error_limit_g = factor.unwrap_or(0.0) * sample.sd();
    let short_g = declared.grams() - sample.mean();
    Inspected {
        rule: Rule::Us,
        declared,
        required: plan.sample,
        weighed,
        average_g: sample.mean(),
        sd_g: sample.sd(),
        factor: factor.unwrap_or(0.0),
        error_limit_g,
        average_meets: plan.factor.is_none() || short_g <= error_limit_g + ROUNDING_G,
        limits,
        beyond: sample.below(limits.floor),
        beyond_allowed: plan.beyond_allowed,
        beyond_twice: 0,
    }
}

/// What whole micrograms and binary grams may differ by, g.
pub(crate) const ROUNDING_G: f64 = 2e-6;

/// How many wrappings are to be weighed in all, should they go on like those
/// that were, until the average tare is known as well as a tenth of the
/// coarsest step a scale may show: t(0.95; n − 1) · s / √n is no more than a
/// tenth of a sixth of the variation. None where two or more were not weighed.
///
/// Stands in for appendix A, table 2-3 of the handbook, which says how many
/// packages to open and could not be read: own rule.
pub fn tares_enough(tare: &Tare, variation: Mass) -> Option<u32> {
    if tare.weighed < 2 {
        return None;
    }
    let room = variation.grams() / 6.0 * 0.1;
    let open = |n: u32| tare.sd_g * t_at(0.95, f64::from(n) - 1.0) / f64::from(n).sqrt();
    let most = 10_000;
    (tare.weighed..=most)
        .find(|n| open(*n) <= room)
        .or(Some(most))
}

/// The larger of two declarations on one label is the one tested.
///
/// # Source
///
/// NIST Handbook 133 (2026), 2.3.3.1.
pub fn tested(declared: Mass, other: Mass) -> Mass {
    declared.max(other)
}
