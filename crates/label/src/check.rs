//! The checklist: what a rule asks, what was measured, and whether it is met.
//!
//! Heights of letters are measured on their real outlines as they are set;
//! quiet zones and the margin kept to the cut edge are those the layout was
//! given. Nothing here looks at the drawing itself. A figure
//! that does not meet its rule is never shown as one that does.

use std::fmt;

use crate::symbol::{MODULE_LEAST_MM, QUIET_MODULES, X_LEAST_MM, X_MOST_MM, X_NOMINAL_MM};
use crate::wording::{HazardSizes, HeightRule, Placement};

/// Two lengths that are the same but for rounding in binary, mm.
const HAIR: f64 = 1e-6;

/// The smallest type that is still read with ease where no rule gives a size:
/// the height of a lower-case x, mm.
///
/// # Source
///
/// Common practice, no source.
pub const LEGIBLE_X_HEIGHT_MM: f64 = 0.9;

/// Whether a rule is met.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// It is not.
    Fail,
    /// Nobody could tell from the drawing.
    NotChecked,
    /// It is.
    Pass,
}

impl Verdict {
    /// In the words of the checklist.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fail => "does not meet",
            Self::NotChecked => "not checked",
            Self::Pass => "meets",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// One line of the checklist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// What is asked: "Net weight: capitals and digits".
    pub rule: String,
    /// What was measured, with its unit.
    pub measured: String,
    /// What is required, with its unit.
    pub required: String,
    /// Whether it is met.
    pub verdict: Verdict,
    /// Where the rule is written, and how well it is known.
    pub source: String,
}

impl Check {
    fn at_least(
        rule: impl Into<String>,
        measured: f64,
        required: f64,
        unit: &str,
        source: impl Into<String>,
    ) -> Self {
        let met = measured >= required - HAIR;
        // Both cut, a figure that just meets would read as one that does not.
        let close = met && measured - required < 0.01;
        let (measured, required) = if close {
            (
                shown(measured.max(required), unit, Cut::Up),
                shown(required, unit, Cut::Up),
            )
        } else {
            (
                shown(measured, unit, Cut::Down),
                shown(required, unit, Cut::Up),
            )
        };
        Self {
            rule: rule.into(),
            measured,
            required: format!("at least {required}"),
            verdict: verdict(met),
            source: source.into(),
        }
    }

    fn not_checked(
        rule: impl Into<String>,
        measured: impl Into<String>,
        required: impl Into<String>,
        source: impl Into<String>,
    ) -> Self {
        Self {
            rule: rule.into(),
            measured: measured.into(),
            required: required.into(),
            verdict: Verdict::NotChecked,
            source: source.into(),
        }
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {} ({}; {}) [{}]",
            self.rule, self.verdict, self.measured, self.required, self.source
        )
    }
}

/// Which way a figure is cut to two places.
#[derive(Clone, Copy)]
enum Cut {
    Down,
    Up,
}

/// A figure to two places, cut so that it never flatters.
fn shown(figure: f64, unit: &str, cut: Cut) -> String {
    if !figure.is_finite() {
        return "nothing near".to_owned();
    }
    let hundredths = match cut {
        Cut::Down => ((figure + HAIR) * 100.0).floor(),
        Cut::Up => ((figure - HAIR) * 100.0).ceil(),
    };
    let text = format!("{:.2}", hundredths / 100.0);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let text = if text == "-0" { "0" } else { text };
    if unit.is_empty() {
        text.to_owned()
    } else {
        format!("{text} {unit}")
    }
}

fn verdict(met: bool) -> Verdict {
    if met { Verdict::Pass } else { Verdict::Fail }
}

/// The height of the letters of the net weight, as measured.
pub fn net_height(rule: &HeightRule, measured_mm: f64) -> Check {
    Check::at_least(
        format!("Net weight: height of {}", rule.reach.name()),
        measured_mm,
        rule.least_mm,
        "mm",
        &rule.source,
    )
}

/// A net weight set on its panel: what is measured of it, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetPlace {
    /// Height of the panel.
    pub panel_height_mm: f64,
    /// From the panel's top to the top of the letters.
    pub top_mm: f64,
    /// Free above and below; without end where nothing stands there.
    pub clear_above_below_mm: f64,
    /// Free at the sides; without end where nothing stands there.
    pub clear_sides_mm: f64,
    /// Height of its capitals.
    pub letter_mm: f64,
    /// Width of its letter N.
    pub n_width_mm: f64,
}

/// Where the net weight stands.
///
/// # Source
///
/// 16 CFR 500.6(b), as far as `rule` asks for it.
pub fn net_place(rule: &Placement, set: &NetPlace) -> Vec<Check> {
    let mut checks = Vec::new();
    if let Some(share) = rule.lowest_share {
        let from_foot = 1.0 - set.top_mm / set.panel_height_mm;
        checks.push(Check {
            rule: "Net weight: within the lowest part of the panel".to_owned(),
            measured: format!("reaches {}", shown(from_foot * 100.0, "% up", Cut::Up)),
            required: format!("at most {}", shown(share * 100.0, "% up", Cut::Down)),
            verdict: verdict(from_foot <= share + HAIR),
            source: rule.source.clone(),
        });
    }
    checks.push(Check::at_least(
        "Net weight: free above and below",
        set.clear_above_below_mm,
        rule.clear_heights * set.letter_mm,
        "mm",
        format!("{}; the height of its letters", rule.source),
    ));
    checks.push(Check::at_least(
        "Net weight: free at its sides",
        set.clear_sides_mm,
        rule.clear_n_widths * set.n_width_mm,
        "mm",
        format!("{}; twice its letter N", rule.source),
    ));
    checks
}

/// The mark ℮: its height, and its form, which only an eye can judge.
///
/// # Source
///
/// Directive 76/211/EEC, Annex I, 3.3, second hand; form: Directive
/// 2009/34/EC, Annex II, from memory.
pub fn e_mark(measured_mm: f64, least_mm: f64) -> Vec<Check> {
    vec![
        Check::at_least(
            "Mark ℮: height",
            measured_mm,
            least_mm,
            "mm",
            "Directive 76/211/EEC, Annex I, 3.3, second hand",
        ),
        Check::not_checked(
            "Mark ℮: form",
            "the letter of the typeface",
            "the form the directive draws",
            "Directive 2009/34/EC, Annex II, from memory",
        ),
    ]
}

/// The height of the small letters of the hazard label.
///
/// # Source
///
/// CLP Annex I, Table 1.3 as amended by Regulation (EU) 2024/2865; until it
/// binds, 1.2 mm is what an office calls the lower limit of easily read
/// (German Federal Institute for Occupational Safety, second hand).
pub fn hazard_height(sizes: &HazardSizes, measured_mm: f64) -> Check {
    Check::at_least(
        "Hazard label: height of x",
        measured_mm,
        sizes.x_height_mm,
        "mm",
        if sizes.format_is_law {
            "CLP Annex I, Table 1.3, Regulation (EU) 2024/2865"
        } else {
            "CLP Article 31(3); the figure is law in the EU from 1 January 2028 (Regulations (EU) \
             2024/2865 and 2025/2439)"
        },
    )
}

/// The distance of two lines of the hazard label, in sizes of its type.
///
/// # Source
///
/// CLP Annex I, 1.2.1, Regulation (EU) 2024/2865: 120 % of the type size, the
/// stricter of two readings.
pub fn hazard_lines(sizes: &HazardSizes, measured: f64) -> Check {
    Check::at_least(
        "Hazard label: distance of lines",
        measured * 100.0,
        sizes.leading * 100.0,
        "% of the type size",
        if sizes.format_is_law {
            "CLP Annex I, 1.2.1, Regulation (EU) 2024/2865"
        } else {
            "CLP Annex I, 1.2.1, Regulation (EU) 2024/2865, law in the EU from 1 January 2028"
        },
    )
}

/// A colour as red, green and blue.
pub type Colour = [u8; 3];

/// Black type on white for the hazard label, in a face without serifs.
///
/// # Source
///
/// CLP Annex I, 1.2.1, Regulation (EU) 2024/2865.
pub fn hazard_colours(sizes: &HazardSizes, text: Colour, ground: Colour, serifs: bool) -> Check {
    let met = text == [0; 3] && ground == [255; 3] && !serifs;
    Check {
        rule: "Hazard label: black on white, without serifs".to_owned(),
        measured: format!(
            "{} on {}, {} serifs",
            hex(text),
            hex(ground),
            if serifs { "with" } else { "without" }
        ),
        required: "#000000 on #ffffff, without serifs".to_owned(),
        verdict: verdict(met),
        source: if sizes.format_is_law {
            "CLP Annex I, 1.2.1, Regulation (EU) 2024/2865"
        } else {
            "CLP Annex I, 1.2.1, Regulation (EU) 2024/2865, law in the EU from 1 January 2028"
        }
        .to_owned(),
    }
}

/// The side of a pictogram's frame: what it has to be, and what is wanted
/// where there is room.
///
/// # Source
///
/// CLP Annex I, Table 1.3.
pub fn pictogram(sizes: &HazardSizes, measured_mm: f64) -> Vec<Check> {
    let mut checks = vec![Check::at_least(
        "Pictogram: side of its frame",
        measured_mm,
        sizes.pictogram_mm,
        "mm",
        "CLP Annex I, 1.2.1 and Table 1.3",
    )];
    if sizes.pictogram_wanted_mm > sizes.pictogram_mm && measured_mm < sizes.pictogram_wanted_mm {
        checks.push(Check::not_checked(
            "Pictogram: larger where possible",
            shown(measured_mm, "mm", Cut::Down),
            format!(
                "if possible {}",
                shown(sizes.pictogram_wanted_mm, "mm", Cut::Up)
            ),
            "CLP Annex I, Table 1.3; whether it is possible is for the maker to say",
        ));
    }
    checks
}

/// The free space between a pictogram and whatever is nearest.
///
/// # Source
///
/// CLP Article 31(2): pictograms stand out. No figure is given; that nothing
/// touches them is what is judged.
pub fn pictograms_apart(nearest_mm: f64) -> Check {
    Check {
        rule: "Pictogram: nothing touches it".to_owned(),
        measured: shown(nearest_mm, "mm", Cut::Down),
        required: "more than 0 mm".to_owned(),
        verdict: verdict(nearest_mm > HAIR),
        source: "CLP Article 31(2), no figure given".to_owned(),
    }
}

/// The height of the general warning sign.
///
/// # Source
///
/// EN 15494:2019, second hand: 5 mm, where `least_mm` says so.
pub fn sign_height(measured_mm: f64, least_mm: f64) -> Check {
    Check::at_least(
        "Warning sign: height",
        measured_mm,
        least_mm,
        "mm",
        "EN 15494:2019, second hand",
    )
}

/// The height of the small letters of a candle's fire-safety text, held
/// against a figure that stands in for one nobody could read.
///
/// # Source
///
/// ASTM F2058 gives sizes by the size of the package; no public source has
/// them, so nothing is judged.
pub fn fire_text_height(measured_mm: f64, taken_mm: f64) -> Check {
    Check::not_checked(
        "Fire-safety text: height of small letters",
        shown(measured_mm, "mm", Cut::Down),
        format!(
            "taken as {}; size to be checked against F2058",
            shown(taken_mm, "mm", Cut::Up)
        ),
        "ASTM F2058, sizes not read",
    )
}

/// Something about a fire-safety text that only a reader of the standard can
/// tell.
pub fn fire_words(note: &str) -> Check {
    Check::not_checked(
        "Fire-safety text: against the standard",
        "our own words",
        note,
        "the standards are sold and were not read",
    )
}

/// The smallest type of all the rest.
///
/// # Source
///
/// Common practice, no source.
pub fn legible(what: &str, measured_mm: f64) -> Check {
    Check::at_least(
        format!("Smallest type: {what}, height of x"),
        measured_mm,
        LEGIBLE_X_HEIGHT_MM,
        "mm",
        "common practice, no source",
    )
}

/// The bar code's module, free zones and height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bars {
    /// Width of one module, mm.
    pub x_mm: f64,
    /// Height of the bars, mm.
    pub height_mm: f64,
    /// Free to the left, mm.
    pub quiet_left_mm: f64,
    /// Free to the right, mm.
    pub quiet_right_mm: f64,
    /// Modules that have to be free: left, right. EAN-13: 11 and 7.
    pub quiet_modules: (f64, f64),
    /// Height of the bars at the nominal module of 0.330 mm, mm.
    pub nominal_height_mm: f64,
}

/// Holds a bar code against the sizes for a shop's till.
///
/// # Source
///
/// GS1 Sweden's size guide: module from 0.264 to 0.660 mm, 0.330 nominal;
/// quiet zones EAN-13 11 and 7 modules, UPC-A 9 and 9.
pub fn barcode(bars: &Bars) -> Vec<Check> {
    const GUIDE: &str = "GS1 Sweden, size guide for EAN and UPC";
    let within = (X_LEAST_MM - HAIR..=X_MOST_MM + HAIR).contains(&bars.x_mm);
    vec![
        Check {
            rule: "Bar code: width of a module".to_owned(),
            measured: format!("{:.3} mm", bars.x_mm),
            required: format!("{X_LEAST_MM:.3} to {X_MOST_MM:.3} mm"),
            verdict: verdict(within),
            source: GUIDE.to_owned(),
        },
        Check::at_least(
            "Bar code: free to the left",
            bars.quiet_left_mm,
            bars.quiet_modules.0 * bars.x_mm,
            "mm",
            GUIDE,
        ),
        Check::at_least(
            "Bar code: free to the right",
            bars.quiet_right_mm,
            bars.quiet_modules.1 * bars.x_mm,
            "mm",
            GUIDE,
        ),
        Check::at_least(
            "Bar code: height of the bars",
            bars.height_mm,
            bars.nominal_height_mm * bars.x_mm / X_NOMINAL_MM,
            "mm",
            GUIDE,
        ),
    ]
}

/// The square code: its module and its free border.
///
/// # Source
///
/// Quiet zone of 4 modules: denso-wave.com on ISO/IEC 18004. A module of at
/// least 0.25 mm for a telephone at hand: from memory.
pub fn qr(module_mm: f64, quiet_mm: f64) -> Vec<Check> {
    vec![
        Check::at_least(
            "QR code: width of a module",
            module_mm,
            MODULE_LEAST_MM,
            "mm",
            "for a telephone at hand, from memory",
        ),
        Check::at_least(
            "QR code: free on every side",
            quiet_mm,
            f64::from(QUIET_MODULES) * module_mm,
            "mm",
            "ISO/IEC 18004, 4 modules, by denso-wave.com",
        ),
    ]
}

/// How far one colour stands out from another: 1 is not at all, 21 is black
/// on white.
///
/// # Source
///
/// Web Content Accessibility Guidelines 2.1, "contrast ratio" and "relative
/// luminance".
pub fn contrast_ratio(one: Colour, other: Colour) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn luminance(colour: Colour) -> f64 {
    let [red, green, blue] = colour.map(|channel| {
        let share = f64::from(channel) / 255.0;
        if share <= 0.03928 {
            share / 12.92
        } else {
            libm::pow((share + 0.055) / 1.055, 2.4)
        }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Whether a text stands out from its ground.
///
/// # Source
///
/// WCAG 2.1, 1.4.3: 4.5. It is written for screens; the label laws ask for
/// contrast and give no figure, so it stands in here.
pub fn contrast(what: &str, text: Colour, ground: Colour) -> Check {
    Check::at_least(
        format!("Contrast: {what}"),
        contrast_ratio(text, ground),
        4.5,
        "to 1",
        "WCAG 2.1, 1.4.3, standing in: label law gives no figure",
    )
}

/// The least distance of anything printed from the cut edge.
///
/// # Source
///
/// 1.5 to 3 mm, for printers that drift: common practice, no source.
pub fn safe_area(measured_mm: f64, required_mm: f64) -> Check {
    Check::at_least(
        "Safe area: nearest print to the cut edge",
        measured_mm,
        required_mm,
        "mm",
        "for printers that drift: common practice, no source",
    )
}

/// An element the market asks for, which is there or not.
pub fn element(name: &str, why: &str, there: bool) -> Check {
    Check {
        rule: format!("On the label: {name}"),
        measured: if there { "there" } else { "not there" }.to_owned(),
        required: "there".to_owned(),
        verdict: verdict(there),
        source: why.to_owned(),
    }
}

fn hex([red, green, blue]: Colour) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wording::Reach;

    fn sizes() -> HazardSizes {
        HazardSizes {
            x_height_mm: 1.2,
            format_is_law: false,
            pictogram_mm: 10.0,
            pictogram_wanted_mm: 16.0,
            leading: 1.2,
        }
    }

    fn sixteenth() -> HeightRule {
        HeightRule {
            reach: Reach::Capital,
            least_mm: 25.4 / 16.0,
            source: "16 CFR 500.21(b)".to_owned(),
        }
    }

    #[test]
    fn a_height_just_under_is_not_shown_as_one_that_meets() {
        let check = net_height(&sixteenth(), 1.5869);
        assert_eq!(check.verdict, Verdict::Fail);
        assert_eq!(
            (check.measured.as_str(), check.required.as_str()),
            ("1.58 mm", "at least 1.59 mm")
        );
        assert_eq!(net_height(&sixteenth(), 25.4 / 16.0).verdict, Verdict::Pass);
    }

    /// 16 CFR 500.6(b): bottom 30 %, a letter's height above and below, twice
    /// the N at the sides.
    #[test]
    fn a_net_weight_is_judged_where_it_stands() {
        let rule = Placement {
            lowest_share: Some(0.3),
            clear_heights: 1.0,
            clear_n_widths: 2.0,
            source: "16 CFR 500.6(b)".to_owned(),
        };
        let set = NetPlace {
            panel_height_mm: 100.0,
            top_mm: 70.0,
            clear_above_below_mm: 3.2,
            clear_sides_mm: 4.9,
            letter_mm: 3.2,
            n_width_mm: 2.5,
        };
        let verdicts: Vec<Verdict> = net_place(&rule, &set)
            .iter()
            .map(|check| check.verdict)
            .collect();
        assert_eq!(verdicts, [Verdict::Pass, Verdict::Pass, Verdict::Fail]);
        let high = NetPlace {
            top_mm: 69.9,
            ..set
        };
        assert_eq!(net_place(&rule, &high)[0].verdict, Verdict::Fail);
    }

    /// WCAG 2.1: black on white is 21 to 1; #767676 is the greyest that passes
    /// 4.5 on white, #777777 does not (W3C, Understanding 1.4.3).
    #[test]
    fn contrast_is_the_published_ratio() {
        let white = [255; 3];
        assert!((contrast_ratio([0; 3], white) - 21.0).abs() < 1e-9);
        assert_eq!(contrast("grey", [0x76; 3], white).verdict, Verdict::Pass);
        assert_eq!(contrast("grey", [0x77; 3], white).verdict, Verdict::Fail);
    }

    #[test]
    fn a_small_pictogram_meets_and_says_that_more_is_wanted() {
        let checks = pictogram(&sizes(), 10.0);
        assert_eq!(checks[0].verdict, Verdict::Pass);
        assert_eq!(checks[1].verdict, Verdict::NotChecked);
        assert_eq!(pictogram(&sizes(), 16.0).len(), 1);
        assert_eq!(pictogram(&sizes(), 9.99)[0].verdict, Verdict::Fail);
    }

    #[test]
    fn hazard_type_is_held_to_height_distance_and_ink() {
        assert_eq!(hazard_height(&sizes(), 1.199).verdict, Verdict::Fail);
        assert_eq!(hazard_lines(&sizes(), 1.2).verdict, Verdict::Pass);
        let black = [0; 3];
        let white = [255; 3];
        assert_eq!(
            hazard_colours(&sizes(), black, white, false).verdict,
            Verdict::Pass
        );
        assert_eq!(
            hazard_colours(&sizes(), black, [255, 255, 254], false).verdict,
            Verdict::Fail
        );
        assert_eq!(
            hazard_colours(&sizes(), black, white, true).verdict,
            Verdict::Fail
        );
    }

    /// GS1 Sweden's size guide, 100 %: 11 modules are 3.63 mm, 7 are 2.31 mm,
    /// bars 22.85 mm.
    #[test]
    fn a_nominal_bar_code_meets_and_a_narrow_zone_does_not() {
        let bars = Bars {
            x_mm: 0.330,
            height_mm: 22.85,
            quiet_left_mm: 3.63,
            quiet_right_mm: 2.31,
            quiet_modules: (11.0, 7.0),
            nominal_height_mm: 22.85,
        };
        assert!(
            barcode(&bars)
                .iter()
                .all(|check| check.verdict == Verdict::Pass)
        );
        let narrow = Bars {
            quiet_right_mm: 2.30,
            ..bars
        };
        assert_eq!(barcode(&narrow)[2].verdict, Verdict::Fail);
        let small = Bars {
            x_mm: 0.249,
            ..bars
        };
        assert_eq!(barcode(&small)[0].verdict, Verdict::Fail);
    }
}
