//! Labels of every form: nothing over anything else, nothing outside, nothing
//! below the height its rule gives.

use std::fmt::Write as _;

use label::check::Verdict;
use label::wording::{Care, Due, Language, Reach, Role, Wording};
use press::paper::label::{FittedLabel, LabelError, Layout, Request, Shape, Side, fit, fit_pair};
use press::paper::{Document, Fonts, Made};
use proptest::prelude::*;

#[path = "../../examples/labels/specimen.rs"]
mod specimen;

/// Less than this is the rounding of widths added up word by word.
const HAIR_MM: f64 = 0.03;

fn rectangle(width_mm: f64, height_mm: f64, corner_mm: f64) -> Shape {
    Shape::Rectangle {
        width_mm,
        height_mm,
        corner_mm,
    }
}

fn inside(shape: Shape, safe: f64, ink: press::paper::kurbo::Rect) -> bool {
    let (width, height) = shape.size_mm();
    let safe = safe - HAIR_MM;
    let straight =
        ink.x0 >= safe && ink.y0 >= safe && ink.x1 <= width - safe && ink.y1 <= height - safe;
    let corners = [
        (ink.x0, ink.y0),
        (ink.x1, ink.y0),
        (ink.x0, ink.y1),
        (ink.x1, ink.y1),
    ];
    let round = match shape {
        Shape::Round { diameter_mm } => corners.iter().all(|(x, y)| {
            (x - diameter_mm / 2.0).hypot(y - diameter_mm / 2.0) <= diameter_mm / 2.0 - safe
        }),
        _ => true,
    };
    straight && round
}

/// Says what is wrong with where things stand.
fn misplaced(label: &FittedLabel, safe: f64) -> Option<String> {
    for (nth, one) in label.boxes.iter().enumerate() {
        let ribbon_of_a_circle = one.behind && matches!(label.shape, Shape::Round { .. });
        if !ribbon_of_a_circle && !inside(label.shape, safe, one.ink) {
            return Some(format!("outside: {one:?}"));
        }
        for other in &label.boxes[nth + 1..] {
            // The name lies on its ribbon; the lines of one text are set by
            // their leading.
            if (one.behind || other.behind) && one.role == other.role {
                continue;
            }
            let both = one.ink.intersect(other.ink);
            if both.width() > HAIR_MM && both.height() > HAIR_MM {
                return Some(format!("over each other: {one:?} {other:?}"));
            }
        }
    }
    None
}

fn failing(label: &FittedLabel) -> Vec<String> {
    label
        .checks
        .iter()
        .filter(|check| check.verdict == Verdict::Fail)
        .map(ToString::to_string)
        .collect()
}

/// All text of a label without spaces, hyphens and the breaks in words.
fn bare(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '\u{2011}'))
        .collect()
}

fn printed(label: &FittedLabel) -> String {
    bare(&label.drawing.texts().concat())
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        // Markup-like, accented, long-worded and short texts.
        Just("<b>Fig</b> & {{lot}} \\n %s $x^2$".to_owned()),
        Just("Ångström & Çédille Ñandú".to_owned()),
        Just("Kaminfeuerabenddämmerungsduft".to_owned()),
        "[A-Z][a-z]{1,9}( [A-Za-z&]{1,12}){0,7}",
        "[a-zäöüßéèñ]{1,34}",
    ]
}

fn any_shape() -> impl Strategy<Value = Shape> {
    prop_oneof![
        (20.0..160.0, 15.0..160.0, 0.0..12.0).prop_map(|(w, h, c)| rectangle(w, h, c)),
        (18.0..120.0).prop_map(|diameter_mm| Shape::Round { diameter_mm }),
        (80.0..260.0, 15.0..60.0, 0.2..0.6).prop_map(|(width_mm, height_mm, part)| {
            Shape::Band {
                width_mm,
                height_mm,
                front_mm: width_mm * part,
            }
        }),
    ]
}

fn any_wording() -> impl Strategy<Value = Wording> {
    (
        any_text(),
        any_text(),
        0..5_usize,
        proptest::sample::subsequence(Language::ALL.to_vec(), 1..=4),
        proptest::sample::subsequence(Care::ALL.to_vec(), 0..=6),
        proptest::sample::subsequence(Role::ALL.to_vec(), 0..=15),
        any::<bool>(),
    )
        .prop_map(|(name, maker, kind, languages, care, due, codes)| {
            let mut wording = match kind {
                0 => specimen::us_melt(&name, 1.0, None),
                1 => specimen::us_melt(&name, 2.0, Some(0.3)),
                2 => specimen::us_candle(&name, 2.0, Some(0.3)),
                3 => specimen::eu_melt(&name, &languages),
                _ => specimen::eu_candle(&name, &languages),
            };
            wording.maker = maker;
            wording.care = care;
            if !codes {
                wording.gtin = None;
                wording.qr = None;
            }
            wording.due = due
                .into_iter()
                .filter(|role| wording.has(*role))
                .map(|role| Due {
                    role,
                    why: "asked for".to_owned(),
                })
                .collect();
            wording
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_printed_over_anything_else_or_outside(
        wording in any_wording(),
        shape in any_shape(),
        layout in proptest::sample::select(Layout::ALL.to_vec()),
        side in proptest::sample::select(vec![Side::Whole, Side::Front, Side::Back]),
        safe_mm in 0.5..3.0,
    ) {
        let request = Request { safe_mm, ..Request::new(shape, side, layout) };
        let fonts = Fonts::new();
        match fit(&fonts, &wording, &request) {
            Ok(label) => {
                prop_assert_eq!(misplaced(&label, safe_mm), None);
                prop_assert_eq!(failing(&label), Vec::<String>::new());
                if side != Side::Back {
                    prop_assert!(printed(&label).contains(&bare(&wording.name)));
                }
                for out in &label.left_out {
                    prop_assert!(
                        wording.why_due(out.role).is_none() || out.role == Role::Cautions
                    );
                }
                let again = fit(&fonts, &wording, &request).expect("as before");
                prop_assert_eq!(again.boxes, label.boxes);
            }
            Err(LabelError::NoFit(no)) => {
                if let Some(best) = &no.best {
                    prop_assert_eq!(misplaced(best, safe_mm), None);
                }
                if let Some(larger) = no.smallest {
                    let request = Request { shape: larger, ..request };
                    prop_assert!(fit(&fonts, &wording, &request).is_ok());
                }
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}

/// The longest and the shortest name, in one language and in four, on sizes
/// from a round of 25 mm to a postcard: fitted, or told what would.
#[test]
fn names_of_any_length_are_fitted_or_told_what_would_carry_them() {
    let fonts = Fonts::new();
    for name in specimen::NAMES {
        for languages in [&Language::ALL[..1], &Language::ALL[..]] {
            for shape in [
                Shape::Round { diameter_mm: 25.0 },
                rectangle(63.5, 38.1, 2.5),
                rectangle(105.0, 148.0, 0.0),
            ] {
                let wording = specimen::eu_melt(name, languages);
                let request = Request::new(shape, Side::Whole, Layout::Plate);
                match fit(&fonts, &wording, &request) {
                    Ok(label) => {
                        assert_eq!(misplaced(&label, 1.5), None);
                        assert_eq!(failing(&label), Vec::<String>::new());
                    }
                    Err(error) => {
                        assert!(error.to_string().starts_with("no room for"), "{error}");
                    }
                }
            }
        }
    }
}

#[test]
fn text_that_looks_like_markup_prints_as_itself() {
    let name = "<b>Fig</b> & {{lot}} \\n";
    let wording = specimen::us_melt(name, 1.0, None);
    let request = Request::new(rectangle(63.5, 38.1, 2.0), Side::Whole, Layout::Plate);
    let label = fit(&Fonts::new(), &wording, &request).expect("fits");
    assert!(printed(&label).contains(&bare(name)), "{}", printed(&label));
    let svg = label.drawing.svg("Label", "en").expect("drawn");
    assert!(!svg.contains("<b>"), "{svg}");
}

#[test]
fn a_character_no_typeface_has_is_named() {
    let wording = specimen::us_melt("灯 Fig", 1.0, None);
    let request = Request::new(rectangle(63.5, 38.1, 2.0), Side::Whole, Layout::Plate);
    let error = fit(&Fonts::new(), &wording, &request).expect_err("no such letter");
    assert_eq!(
        error.to_string(),
        "no typeface here has “灯” (U+706F), which stands in the product's name"
    );
}

#[test]
fn what_cannot_be_drawn_is_missed_in_the_checklist() {
    let mut wording = specimen::eu_melt("Fig", &[Language::En]);
    wording.gtin = Some("9521234543214".to_owned());
    if let Some(hazard) = &mut wording.hazard {
        hazard.pictograms.push("GHS77".to_owned());
    }
    let request = Request::new(rectangle(105.0, 148.0, 0.0), Side::Whole, Layout::Plate);
    let label = fit(&Fonts::new(), &wording, &request).expect("fits");
    let failing = failing(&label).join("\n");
    assert!(failing.contains("the bar code: does not meet"), "{failing}");
    assert!(failing.contains("pictogram GHS77"), "{failing}");
}

/// The writer refuses a file that would not keep to PDF/UA-1 and PDF/A-2a.
#[test]
fn a_label_makes_a_tagged_file_and_the_same_one_twice() {
    let wording = specimen::eu_candle("Regenspeicher", &[Language::De, Language::En]);
    for layout in Layout::ALL {
        let request = Request::new(rectangle(105.0, 148.0, 0.0), Side::Whole, layout);
        let label = fit(&Fonts::new(), &wording, &request).expect("fits");
        let made = Made {
            year: 2026,
            month: 11,
            day: 25,
        };
        let mut document = Document::new("Regenspeicher", "de", made);
        document.pages.push(label.drawing.clone());
        let file = document.pdf().expect("written");
        assert!(file.starts_with(b"%PDF"));
        assert_eq!(document.pdf().expect("written"), file);
        // Read in this order: what it is called, then what it is, then the rest.
        let read = label.drawing.texts();
        let at = |words: &str| read.iter().position(|text| text.contains(words));
        assert!(at("Regenspeicher") < at("Duftkerze"), "{read:?}");
        assert!(at("Duftkerze") < at("Achtung"), "{read:?}");
    }
}

#[test]
fn a_form_that_is_none_is_refused() {
    let wording = specimen::us_melt("Fig", 1.0, None);
    for shape in [
        rectangle(f64::NAN, 20.0, 0.0),
        rectangle(0.0, 20.0, 0.0),
        rectangle(20.0, 20.0, -1.0),
        rectangle(3.0, 20.0, 0.0),
        Shape::Band {
            width_mm: 100.0,
            height_mm: 20.0,
            front_mm: 120.0,
        },
    ] {
        let request = Request::new(shape, Side::Whole, Layout::Ledger);
        let error = fit(&Fonts::new(), &wording, &request).expect_err("no form");
        assert!(matches!(error, LabelError::Shape), "{shape:?}: {error}");
    }
    let nothing = Request::new(rectangle(50.0, 30.0, 0.0), Side::Whole, Layout::Ledger);
    let error = fit(&Fonts::new(), &Wording::default(), &nothing).expect_err("empty");
    assert!(matches!(error, LabelError::Empty));
}

/// 16 CFR 500.21(b): a capital of 1/8 in on a panel over 5 square inches, and
/// no letter under 1/16 in; the height is read off the drawing's own outlines.
#[test]
fn the_net_weight_is_as_high_as_its_rule_on_the_outlines() {
    for layout in Layout::ALL {
        let wording = specimen::us_melt("Harbour Fig", 2.0, Some(0.3));
        let request = Request::new(rectangle(101.6, 61.0, 3.0), Side::Front, layout);
        let label = fit(&Fonts::new(), &wording, &request).expect("fits");
        let (text, _) = label
            .drawing
            .text_boxes()
            .into_iter()
            .find(|(text, _)| text.starts_with("NET"))
            .expect("printed");
        // Figures are held to their units.
        assert_eq!(text, "NET WT 2.5\u{a0}OZ (70\u{a0}g)", "on one line");
        let used = label
            .used_sizes
            .iter()
            .find(|size| size.role == Role::NetWeight)
            .expect("used");
        assert!(used.cap_height_mm >= 25.4 / 8.0, "{used:?}");
        assert!(used.x_height_mm >= 25.4 / 16.0, "{used:?}");
        assert_eq!(failing(&label), Vec::<String>::new());
        let net = wording.net_weight.expect("stated");
        assert_eq!(net.heights[0].reach, Reach::Capital);
    }
}

#[test]
fn a_round_of_25_mm_says_what_finds_no_room_and_that_a_pair_would_do() {
    let wording = Wording {
        net_weight: Some(specimen::us_net("NET WT 1 OZ (28 g)", 1.0, None)),
        ..specimen::us_melt("Harbour Fig", 1.0, None)
    };
    let request = Request::new(
        Shape::Round { diameter_mm: 25.0 },
        Side::Whole,
        Layout::Ribbon,
    );
    let error = fit(&Fonts::new(), &wording, &request).expect_err("too much");
    let LabelError::NoFit(no) = &error else {
        panic!("{error}");
    };
    assert!(no.pair_fits);
    assert!(no.smallest.is_some());
    insta::assert_snapshot!(error.to_string());
    let pair = fit_pair(&Fonts::new(), &wording, &request, &request).expect("a pair");
    assert_eq!(misplaced(&pair.front, 1.5), None);
    assert_eq!(misplaced(&pair.back, 1.5), None);
}

/// What is read, and where it stands to a tenth of a millimetre.
fn account(label: &FittedLabel) -> String {
    let mut text = format!("{} {}\n", label.layout.name(), label.arrangement);
    for (words, ink) in label.drawing.text_boxes() {
        let _ = writeln!(
            text,
            "{:6.1} {:6.1} {:6.1} {:6.1}  {}",
            ink.x0,
            ink.y0,
            ink.x1,
            ink.y1,
            words.replace('\n', " / ")
        );
    }
    for out in &label.left_out {
        let _ = writeln!(text, "left out: {}, {}", out.role, out.what);
    }
    for check in &label.checks {
        let _ = writeln!(text, "{check}");
    }
    text
}

#[test]
fn each_layout_reads_and_measures_as_it_did() {
    let fonts = Fonts::new();
    for layout in Layout::ALL {
        let mut text = String::new();
        for (wording, shape) in [
            (
                specimen::us_melt("Harbour Fig", 1.0, None),
                rectangle(63.5, 38.1, 2.5),
            ),
            (
                specimen::eu_candle("Regenspeicher", &[Language::De, Language::En]),
                rectangle(105.0, 148.0, 0.0),
            ),
        ] {
            let request = Request {
                other_layouts: false,
                ..Request::new(shape, Side::Whole, layout)
            };
            let label = fit(&fonts, &wording, &request).expect("fits");
            text.push_str(&account(&label));
            text.push('\n');
        }
        insta::assert_snapshot!(format!("label_{}", layout.name()), text);
    }
}
