//! Where the statement stands and how large its letters are.

use std::f64::consts::PI;

use measure::{Length, Mass};

/// Square millimetres in a square inch.
const SQUARE_INCH: f64 = 25.4 * 25.4;

/// Two sizes that are the same but for rounding in binary.
const HAIR: f64 = 1e-9;

/// The part of a package that a buyer sees, of which the size of letters
/// depends in the United States.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Panel {
    /// One whole side.
    Rectangle {
        /// Its height, mm.
        height_mm: f64,
        /// Its width, mm.
        width_mm: f64,
    },
    /// A cylinder or nearly one: two fifths of its side.
    Cylinder {
        /// Height of the side without shoulder and rim, mm.
        height_mm: f64,
        /// Its diameter, mm.
        diameter_mm: f64,
    },
    /// An obvious panel such as a round lid.
    Disc {
        /// Its diameter, mm.
        diameter_mm: f64,
    },
    /// Any other shape: two fifths of the whole surface.
    Other {
        /// The whole surface, mm².
        surface_mm2: f64,
    },
}

impl Panel {
    /// The area of the principal display panel, mm²; nothing for a size that
    /// is not a number above zero.
    ///
    /// # Source
    ///
    /// 16 CFR 500.21(a).
    pub fn area_mm2(self) -> f64 {
        let area = match self {
            Self::Rectangle {
                height_mm,
                width_mm,
            } => height_mm * width_mm,
            Self::Cylinder {
                height_mm,
                diameter_mm,
            } => 0.4 * PI * diameter_mm * height_mm,
            Self::Disc { diameter_mm } => PI * diameter_mm * diameter_mm / 4.0,
            Self::Other { surface_mm2 } => 0.4 * surface_mm2,
        };
        if area.is_finite() && area > 0.0 {
            area
        } else {
            0.0
        }
    }

    /// The same in square inches.
    pub fn area_in2(self) -> f64 {
        self.area_mm2() / SQUARE_INCH
    }
}

/// Which letter has to reach the height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// All capitals: the capital.
    Capital,
    /// Capitals and small letters: the small `o`.
    SmallO,
    /// Digits, in the EU and UK.
    Digit,
}

/// Largest panel in square inches, least height in sixteenths of an inch.
///
/// # Source
///
/// 16 CFR 500.21(b). The metric figures printed beside them are cut (1.5 mm
/// for 1/16 in), so the inches are used.
pub const US_HEIGHTS: [(f64, i64); 5] = [
    (5.0, 1),
    (25.0, 2),
    (100.0, 3),
    (400.0, 4),
    (f64::INFINITY, 8),
];

/// A sixteenth of an inch in nanometres.
const SIXTEENTH_NM: i64 = 1_587_500;

/// The least height of letters in the United States. Blown, embossed or
/// moulded letters on glass or plastic are a sixteenth of an inch higher.
///
/// # Source
///
/// 16 CFR 500.21(b), (c).
pub fn us_height(panel: Panel, embossed: bool) -> Length {
    let area = panel.area_in2();
    let sixteenths = US_HEIGHTS
        .iter()
        .find(|(most, _)| area <= most * (1.0 + HAIR))
        .map_or(8, |(_, sixteenths)| *sixteenths);
    length(SIXTEENTH_NM * (sixteenths + i64::from(embossed)))
}

/// Largest nominal quantity in grams, least height of its digits in
/// millimetres; above, 6 mm.
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 3.1, second hand.
pub const EU_HEIGHTS: [(i64, i64); 3] = [(50, 2), (200, 3), (1_000, 4)];

/// The least height of the digits in the EU and UK, by the nominal quantity.
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 3.1, second hand.
pub fn eu_height(nominal: Mass) -> Length {
    let mm = EU_HEIGHTS
        .iter()
        .find(|(most_g, _)| nominal.micrograms() <= most_g * 1_000_000)
        .map_or(6, |(_, mm)| *mm);
    length(mm * 1_000_000)
}

fn length(nanometres: i64) -> Length {
    use measure::Quantity as _;
    Length::from_smallest(nanometres)
}

/// Where the statement has to stand in the United States.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// It lies within this lowest share of the panel; none on a panel of five
    /// square inches or less.
    pub lowest_share: Option<f64>,
    /// Free above and below, in heights of its own letters.
    pub clear_heights: f64,
    /// Free to the left and right, in widths of its own letter N.
    pub clear_n_widths: f64,
    /// A letter is at most so many times as high as wide.
    pub most_height_to_width: f64,
}

/// The placement rule for a panel; the lines run along the base.
///
/// # Source
///
/// 16 CFR 500.6(b), 500.21(b).
pub fn placement(panel: Panel) -> Placement {
    let small = panel.area_in2() <= 5.0 * (1.0 + HAIR);
    Placement {
        lowest_share: (!small).then_some(0.3),
        clear_heights: 1.0,
        clear_n_widths: 2.0,
        most_height_to_width: 3.0,
    }
}

/// A statement set on a panel, measured from the panel's top left corner, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set {
    /// Height of the panel.
    pub panel_height_mm: f64,
    /// Top of the statement.
    pub top_mm: f64,
    /// Least free space above and below it.
    pub clear_above_below_mm: f64,
    /// Least free space at its sides.
    pub clear_sides_mm: f64,
    /// Height of its letters.
    pub letter_height_mm: f64,
    /// Width of its letter N.
    pub n_width_mm: f64,
}

/// What is wrong with where a statement is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Misplaced {
    /// It reaches above the lowest part of the panel.
    TooHigh,
    /// Something stands too close above or below.
    CrowdedAboveBelow,
    /// Something stands too close at a side.
    CrowdedSides,
    /// The letters are too small.
    TooSmall,
}

/// Holds a set statement against the rules of its panel.
///
/// # Source
///
/// 16 CFR 500.6(b), 500.21(b).
pub fn check(panel: Panel, set: &Set) -> Vec<Misplaced> {
    use measure::LengthUnit;
    let rule = placement(panel);
    let mut wrong = Vec::new();
    if let Some(share) = rule.lowest_share
        && set.top_mm < set.panel_height_mm * (1.0 - share) - HAIR
    {
        wrong.push(Misplaced::TooHigh);
    }
    if set.clear_above_below_mm < rule.clear_heights * set.letter_height_mm - HAIR {
        wrong.push(Misplaced::CrowdedAboveBelow);
    }
    if set.clear_sides_mm < rule.clear_n_widths * set.n_width_mm - HAIR {
        wrong.push(Misplaced::CrowdedSides);
    }
    let least = us_height(panel, false).to_f64(LengthUnit::Millimetre);
    if set.letter_height_mm < least - HAIR {
        wrong.push(Misplaced::TooSmall);
    }
    wrong
}

/// What the mark ℮ needs: with it the packer vouches for the average system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EMark {
    /// Its least height. It stands beside the quantity, in the same field of
    /// vision, in the form of Directive 2009/34/EC, Annex II.
    pub least_height: Length,
}

/// Whether the mark ℮ may stand beside this nominal quantity: from 5 g to
/// 10 kg.
///
/// # Source
///
/// Directive 76/211/EEC, article 1 (range, from memory) and Annex I, 3.3 (the
/// 3 mm second hand); 16 CFR 500.6(b) allows it in the United States.
pub fn e_mark(nominal: Mass) -> Option<EMark> {
    (5_000_000..=10_000_000_000)
        .contains(&nominal.micrograms())
        .then(|| EMark {
            least_height: length(3_000_000),
        })
}
