//! The two calculations, from text to text.

use measure::Problems;
use netweight::{declare, net_weight};
use serde_json::{Value, json};

fn try_test(input: Value) -> Result<net_weight::Output, Problems> {
    net_weight::calculate(&measure::parse_input(input)?)
}

fn test(input: Value) -> net_weight::Output {
    try_test(input).unwrap()
}

fn ask(input: Value) -> declare::Output {
    declare::calculate(&measure::parse_input(input).unwrap()).unwrap()
}

/// Bars between 1.5 and 1.6 oz: common practice, no source.
const BARS: [&str; 12] = [
    "1.50 oz", "1.52 oz", "1.53 oz", "1.54 oz", "1.55 oz", "1.55 oz", "1.56 oz", "1.56 oz",
    "1.57 oz", "1.58 oz", "1.59 oz", "1.60 oz",
];

fn grams_text(weights: &[f64]) -> Vec<String> {
    weights.iter().map(|w| format!("{w:.4} g")).collect()
}

/// Bars of 1.5 to 1.6 oz said to hold 3 oz: common practice, no source.
#[test]
fn twice_the_truth_fails_at_once() {
    let said = test(json!({
        "rule": "US", "declared": "3 oz", "lot_size": 240, "weights": ["1.5 oz", "1.6 oz"]
    }));
    assert!(!said.pass);
    assert_eq!(said.verdict, "does not meet");
    assert_eq!((said.beyond, said.sample_size_required), (2, 12));
    assert_eq!(
        said.reason,
        [
            "No: even the heaviest unit weighs only 1.600 oz, 1.400 oz short of 3 oz.",
            "2 of 2 weighed are more than 0.256 oz under 3 oz; none may be.",
        ]
    );
}

/// The same bars carry between 1.4 and 1.5 oz: common practice, no source.
#[test]
fn the_bars_carry_between_one_and_four_tenths_and_a_half() {
    for (chance, steps) in [
        ("90 %", "0.1 oz"),
        ("99 %", "0.1 oz"),
        ("99.9 %", "0.1 oz"),
        ("99 %", "0.5 oz"),
    ] {
        let said = ask(json!({"rule": "US", "weights": BARS, "chance": chance, "steps": steps}));
        let ounces = said.declare_g / 28.349_523_125;
        assert!(
            (1.4 - 1e-6..=1.5 + 1e-6).contains(&ounces),
            "{}",
            said.declare
        );
        assert_eq!(said.weigh, 12);
    }
    // Eight at the two ends leave more open.
    let said = ask(json!({
        "rule": "US",
        "weights": ["1.5 oz", "1.6 oz", "1.5 oz", "1.6 oz", "1.5 oz", "1.6 oz", "1.5 oz", "1.6 oz"],
    }));
    assert_eq!(said.declare, "1.4 oz");
    assert_eq!(said.statement, "NET WT 1.4 OZ (39 g)");
    assert_eq!(said.weigh, 12);
    assert!(said.chance_average_percent >= 99.0);
}

/// Two or three bars say too little, and what twelve alike would carry is said.
/// Two a tenth of an ounce apart have a standard deviation of 0.07 oz, wider
/// than twelve between 1.5 and 1.6 oz ever have.
#[test]
fn too_few_bars_are_sent_back_to_the_scale() {
    let two = json!({"rule": "US", "weights": ["1.5 oz", "1.6 oz"]});
    let problems = declare::calculate(&measure::parse_input(two).unwrap()).unwrap_err();
    assert_eq!(
        problems.of("weights").unwrap().accepted,
        "weigh 12 units; if they go on like these, they carry about 1.3 oz"
    );
    let said = ask(json!({"rule": "US", "weights": ["1.5 oz", "1.55 oz", "1.6 oz"]}));
    assert!(said.declare_g < 1.4 * 28.35);
    assert_eq!(
        said.reason[1],
        "3 weights say little of how units differ: weigh 12 before you print. If they go on like \
         these, they carry about 1.4 oz."
    );
}

/// Twelve shells, 74.9 g give or take 1.3 g (common practice, no source). The
/// cautious bound by the tables is 74.9 − 3.106 × 1.3/√12 = 73.73 g, 3.106
/// being t(0.995; 11), the lower end of a range that holds 99 of 100; with 99 %
/// on the one side that counts it is t(0.99; 11) = 2.718 and 73.88 g. 2.6 oz is
/// 73.709 g, 2.7 oz is 76.544 g: both lead to 2.6 oz.
#[test]
fn three_ounces_of_shells() {
    let shells = grams_text(&crate::spread(12, 74.9, 1.3));
    let said = test(json!({
        "rule": "US", "declared": "3 oz", "lot_size": 24, "weights": shells
    }));
    assert!(!said.pass);
    assert!(
        said.reason[0].starts_with("No: even the heaviest unit weighs only "),
        "{}",
        said.reason[0]
    );
    for chance in ["99 %", "99.5 %"] {
        let said =
            ask(json!({"rule": "US", "weights": shells, "chance": chance, "steps": "0.1 oz"}));
        assert_eq!(said.declare, "2.6 oz");
        assert_eq!(said.statement, "NET WT 2.6 OZ (73 g)");
    }
    let said = ask(json!({"rule": "US", "weights": shells, "chance": "99 %", "steps": "0.1 oz"}));
    assert_eq!(said.cautious, "73.73 g");
    assert_eq!(said.bound, "73.88 g");
    // 73.734 − 73.709.
    assert!((said.margin_g - 0.025).abs() < 1e-3, "{}", said.margin_g);
    assert_eq!(
        said.reason[1],
        "The margin is thin, 0.03 g: aim 0.5 g fuller or weigh 12 more."
    );
}

/// Fifty shells of a lot of 648, nominal 90 g; own arithmetic by the Directive.
#[test]
fn ninety_gram_shells_are_legal_and_overfull() {
    let said = test(json!({
        "rule": "EU", "declared": "90 g", "lot_size": 648,
        "weights": grams_text(&crate::spread(50, 91.9, 1.6)),
    }));
    assert!(said.pass && !said.full_sample);
    assert_eq!(said.sample_size_required, 80);
    assert_eq!((said.beyond, said.beyond_twice), (0, Some(0)));
    assert_eq!(said.allowed_variation, "4.50 g");
    assert!((90.0 - said.error_limit_g - 89.39).abs() < 5e-3);
    assert!((said.over_g - 1.9).abs() < 1e-3);
    assert_eq!(said.aim, "90.61 g");
    assert!(said.reason[0].starts_with("Yes: the average is 91.90 g, 1.90 g over 90 g."));
}

#[test]
fn the_tare_is_taken_off() {
    let said = test(json!({
        "rule": "US", "declared": "1.5 oz", "lot_size": 240, "weights": BARS, "tare": "0.06 oz"
    }));
    assert_eq!(said.average, "1.494 oz");
    assert!(said.pass && said.over_g < 0.0);
    assert!(said.reason[0].starts_with("It passes, though the average of 1.494 oz"));
    assert!(said.notes[0].contains("from memory"));
    let bare = test(json!({
        "rule": "US", "declared": "1.5 oz", "lot_size": 240, "weights": BARS
    }));
    assert!(bare.pass);
    assert_eq!(
        bare.reason,
        ["Yes: the average is 1.554 oz, 0.054 oz over 1.5 oz, and none of 12 is too light."]
    );
}

#[test]
fn two_weights_on_the_label() {
    let said = test(json!({
        "rule": "US", "declared": "1.5 oz (43 g)", "lot_size": 240, "weights": BARS
    }));
    assert_eq!(said.tested, "43 g");
    assert_eq!(said.allowed_variation, "3.60 g");
}

#[test]
fn too_few_are_not_proven() {
    let said = test(json!({
        "rule": "US", "declared": "1.5 oz", "lot_size": 240,
        "weights": ["1.49 oz", "1.52 oz", "1.55 oz"],
    }));
    assert_eq!((said.pass, said.verdict.as_str()), (false, "not proven"));
    assert!(said.reason[0].starts_with("Not proven. An inspection of this lot weighs 12; 3 were"));
    let one = test(json!({
        "rule": "US", "declared": "1.5 oz", "lot_size": 240, "weights": ["1.52 oz"]
    }));
    assert_eq!(one.verdict, "not proven");
    assert_eq!(one.chance_pass, None);
}

#[test]
fn a_coarse_scale_is_named() {
    let said = test(json!({
        "rule": "US", "declared": "1.5 oz", "lot_size": 240, "weights": BARS, "scale": "0.1 oz"
    }));
    assert!(said.reason.iter().any(|reason| reason
        == "The scale's step of 0.1 oz is too coarse: an inspection asks for 0.021 oz or finer."));
    assert!(said.uncertainty_g > 0.0);
}

/// What tare and scale leave open lowers the declaration.
#[test]
fn doubt_declares_less() {
    let sure = ask(
        json!({"rule": "EU", "weights": grams_text(&crate::spread(12, 78.0, 0.5)), "steps": "0.1 g"}),
    );
    let doubtful = ask(json!({
        "rule": "EU",
        "weights": grams_text(&crate::spread(12, 78.0 + 8.0, 0.5)),
        "tares": ["7.6 g", "8.4 g", "8.0 g", "8.0 g"],
        "scale": "0.1 g",
        "steps": "0.1 g",
    }));
    assert_eq!(sure.declare, "77.6 g");
    assert!(
        doubtful.declare_g < sure.declare_g - 0.3,
        "{}",
        doubtful.declare
    );
    assert_eq!(sure.statement, "77.6 g");
}

/// Lots that differ carry less than one lot alone seems to.
#[test]
fn other_lots_are_heard() {
    let lot = grams_text(&crate::spread(12, 74.9, 1.3));
    let one = ask(json!({"rule": "US", "weights": lot}));
    let several = ask(json!({
        "rule": "US", "weights": lot,
        "lots": [
            grams_text(&crate::spread(6, 73.0, 1.3)),
            grams_text(&crate::spread(6, 76.5, 1.3)),
            grams_text(&crate::spread(6, 72.2, 1.3)),
        ],
    }));
    assert!(several.declare_g < one.declare_g);
    assert!(
        one.reason
            .iter()
            .any(|reason| reason.starts_with("This rests on one lot"))
    );
    assert!(
        !several
            .reason
            .iter()
            .any(|reason| reason.starts_with("This rests on one lot"))
    );
}

/// Equal weights hide their spread in the scale's step: JCGM 100:2008, F.2.2.1.
#[test]
fn equal_weights_have_the_spread_of_the_step() {
    let said = ask(json!({"rule": "US", "weights": ["1.5 oz", "1.5 oz", "1.5 oz", "1.5 oz"]}));
    let step_g = 2.834_952_312_5 / 12.0_f64.sqrt();
    assert!((said.spread_g - step_g).abs() < 1e-5);
    assert!(said.declare_g < 1.5 * 28.35);
}

#[test]
fn the_same_weights_give_the_same_answer() {
    let input = json!({"rule": "UK", "weights": grams_text(&crate::spread(9, 52.0, 1.1))});
    let (one, two) = (ask(input.clone()), ask(input));
    assert_eq!(
        serde_json::to_value(&one).unwrap(),
        serde_json::to_value(&two).unwrap()
    );
    assert!(
        one.working
            .steps()
            .iter()
            .all(|step| !step.result.is_empty())
    );
}
