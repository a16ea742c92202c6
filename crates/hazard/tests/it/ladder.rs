//! The loads at which the label changes.

use hazard::ladder::{Change, What};
use hazard::{
    Classification, Form, Hazard, Ingredient, Jurisdiction, Ladder, Mixture, Part, Pot, Rules,
    Share, Unlisted, classify, ladder,
};
use jiff::civil::date;
use measure::Reading;
use proptest::prelude::*;
use rust_decimal::Decimal;

fn decimal(text: &str) -> Decimal {
    text.parse().expect("a decimal")
}

fn rules(jurisdiction: Jurisdiction) -> Rules {
    Rules::of(jurisdiction, date(2026, 11, 25))
}

fn ingredient(name: &str, share: &str, hazards: &[&str]) -> Ingredient {
    Ingredient {
        name: name.to_owned(),
        cas: None,
        share: Share::parse(share, Reading::PLAIN).expect("a share"),
        hazards: Some(
            hazards
                .iter()
                .map(|hazard| Hazard::parse(hazard).expect("a class"))
                .collect(),
        ),
        m_acute: None,
        m_chronic: None,
        estimates: Vec::new(),
        bands: Vec::new(),
    }
}

fn part(weight: &str, ingredients: Vec<Ingredient>) -> Part {
    Part {
        name: "part".to_owned(),
        weight: decimal(weight),
        ingredients,
        unlisted: Unlisted::NotHazardous,
    }
}

/// An oil up to so many parts in 100 of plain wax.
fn in_wax(most: &str, ingredients: Vec<Ingredient>) -> Ladder {
    let base = [part("100", Vec::new())];
    let oil = part(most, ingredients);
    let pot = Pot {
        base: &base,
        wax: Decimal::ONE_HUNDRED,
        oil: &oil,
    };
    ladder(&pot, &rules(Jurisdiction::Eu), &Form::Solid).expect("a ladder")
}

fn said(hazards: &[Hazard], named: &[String]) -> String {
    let mut said: Vec<String> = hazards.iter().map(Hazard::to_string).collect();
    said.extend(named.iter().map(|name| format!("names {name}")));
    if said.is_empty() {
        "nothing".to_owned()
    } else {
        said.join(", ")
    }
}

/// Each rung: what it keeps of wax and of total, then what the label says.
fn shown(ladder: &Ladder) -> Vec<String> {
    ladder
        .rungs
        .iter()
        .map(|rung| {
            let keeps = rung.keeps.map_or("too short".to_owned(), |keeps| {
                format!("{} of wax, {} of total", keeps.of_wax, keeps.of_total)
            });
            format!("{keeps}: {}", said(&rung.hazards, &rung.named))
        })
        .collect()
}

fn told(changes: &[Change]) -> Vec<String> {
    changes
        .iter()
        .map(|change| {
            let who = change.deciding.join(" + ");
            match change.what {
                What::Begins(hazard) => format!("{hazard} begins by {who}"),
                What::Ends(hazard) => format!("{hazard} ends by {who}"),
                What::Becomes(old, new) => format!("{old} becomes {new} by {who}"),
                What::Names => format!("names {who}"),
                What::NamesNoMore => format!("names {who} no more"),
            }
        })
        .collect()
}

/// The maker's case: the oil's new sheet doubles one sensitiser, at 10 % of wax.
/// 0.8 % × 10/110 = 0.0727 %, 1.6 % × 10/110 = 0.1455 %; from 0.1 % on (CLP Annex
/// II, 2.8, with Annex I, Table 3.4.6, category 1B) the label must name it.
#[test]
fn a_doubled_sensitiser_must_be_named_from_two_thirds_of_the_load_on() {
    let with = |share: &str| {
        let oil = vec![ingredient("the sensitiser", share, &["Skin Sens. 1B H317"])];
        let mixture = Mixture::of(&[part("100", Vec::new()), part("10", oil.clone())]).unwrap();
        let percent = mixture.substances[0].concentration.most();
        (in_wax("10", oil), format!("{percent:.3} %"))
    };
    let (old, share) = with("0.8 %");
    assert_eq!(share, "0.073 %");
    assert_eq!(shown(&old), ["10 of wax, 9.09 of total: nothing"]);
    let (new, share) = with("1.6 %");
    assert_eq!(share, "0.145 %");
    // 0.1 ÷ 1.6 = 6.25 % of the total exactly, which is 6.667 % of wax; at that
    // load the name is already due.
    assert_eq!(
        shown(&new),
        [
            "6.66 of wax, 6.24 of total: nothing",
            "10 of wax, 9.09 of total: names the sensitiser",
        ]
    );
    assert!(new.rungs[1].is_euh208());
    assert_eq!(new.rungs[0].to.of_total, decimal("6.25"));
    assert_eq!(told(&new.rungs[0].then), ["names the sensitiser"]);
}

/// CLP Annex I, Table 3.4.5 ("≥ 1,0 %"): 11 % of 10 parts oil in 110 is exactly 1 %.
#[test]
fn a_limit_reached_exactly_begins_there() {
    let eleven = || vec![ingredient("eleven", "11 %", &["Skin Sens. 1B H317"])];
    let ladder = in_wax("12", eleven());
    assert_eq!(
        shown(&ladder),
        [
            "0.91 of wax, 0.9 of total: nothing",
            "9.99 of wax, 9.09 of total: names eleven",
            "12 of wax, 10.71 of total: Skin Sens. 1B H317, names eleven",
        ]
    );
    assert_eq!(ladder.rungs[1].to.of_wax, decimal("10"));
    assert_eq!(
        told(&ladder.rungs[1].then),
        ["Skin Sens. 1B H317 begins by eleven"]
    );
    assert_eq!(ladder.rungs[1].then[0].law, "CLP Annex I, Table 3.4.5");
    let at = |percent: &str| said(&ladder.at_load_of_wax(decimal(percent)).hazards, &[]);
    assert_eq!(at("9.999999999999"), "nothing");
    assert_eq!(at("10"), "Skin Sens. 1B H317");
    // The most itself is the load that reaches it: a rung of one load.
    let ladder = in_wax("10", eleven());
    assert_eq!(
        shown(&ladder).last().unwrap(),
        "too short: Skin Sens. 1B H317, names eleven"
    );
}

/// An end that is left out never reaches a limit, so the label of "< 25 %" lasts up
/// to 4 % of the total and that load included; "25 %" gives it up there.
#[test]
fn an_open_end_of_a_range_keeps_the_load_itself() {
    let up_to = |share: &str| in_wax("12", vec![ingredient("it", share, &["Skin Sens. 1B H317"])]);
    let open = up_to("10 - < 25 %");
    let closed = up_to("10 - 25 %");
    assert_eq!(open.rungs[1].keeps.unwrap().of_total, decimal("4"));
    assert_eq!(closed.rungs[1].keeps.unwrap().of_total, decimal("3.99"));
    let at_four = |ladder: &Ladder| said(&ladder.at(decimal("4"), decimal("96")).hazards, &[]);
    assert_eq!(at_four(&open), "nothing");
    assert_eq!(open.place_of_total(decimal("4")), 1);
    assert_eq!(closed.place_of_total(decimal("4")), 2);
    assert_eq!(at_four(&closed), "Skin Sens. 1B H317");
}

/// CLP Annex I, 4.1.3.5.5 and Table 4.1.2: Chronic 3 from 100 C1 + 10 C2 ≥ 25 %, Chronic
/// 2 from 10 C1 + C2 ≥ 25 %, each counted from its cut-off on (0.1 % and 1 %). With 20 %
/// of C1 in the oil and 30 % of C2, C1 counts from 0.5 % of the total on and C2 from
/// 3.33 %: 100 × 20 x + … reaches 25 at x = 1.25 %; 10 × 20 x + 30 x = 25 at 10.87 %.
#[test]
fn a_sum_flips_where_those_that_count_reach_it() {
    let mut first = ingredient("first", "20 %", &["Aquatic Chronic 1 H410"]);
    first.m_chronic = Some(1);
    let second = ingredient("second", "30 %", &["Aquatic Chronic 2 H411"]);
    let ladder = in_wax("20", vec![first, second]);
    let totals: Vec<Decimal> = ladder.rungs.iter().map(|rung| rung.to.of_total).collect();
    assert_eq!(totals, ["1.25", "10.869565", "16.666667"].map(decimal));
    assert_eq!(
        told(&ladder.rungs[0].then),
        ["Aquatic Chronic 3 H412 begins by first"]
    );
    assert_eq!(
        told(&ladder.rungs[1].then),
        ["Aquatic Chronic 3 H412 becomes Aquatic Chronic 2 H411 by first + second"]
    );
}

/// A limit can be jumped over where a substance begins to count: CLP Annex I, 4.1.3.1
/// lets Chronic 2 count from 1 % on, and 29 % of it in the oil reaches 1 % at 3.45 %.
#[test]
fn a_cut_off_can_decide_by_itself() {
    let mut first = ingredient("first", "6.9 %", &["Aquatic Chronic 1 H410"]);
    first.m_chronic = Some(1);
    let second = ingredient("second", "29 %", &["Aquatic Chronic 2 H411"]);
    let ladder = in_wax("12", vec![first, second]);
    // 100 × 6.9 x alone would need 3.62 %; with 10 × 29 x it jumps at 1 ÷ 29.
    assert_eq!(ladder.rungs[0].to.of_total, decimal("3.448276"));
    assert_eq!(
        told(&ladder.rungs[0].then),
        ["Aquatic Chronic 3 H412 begins by first + second"]
    );
}

/// What is in the wax is thinned by the oil: 1.05 % falls below the 1 % of CLP Annex I,
/// Table 3.4.5 above 5 parts of oil in 100.
#[test]
fn oil_can_thin_a_hazard_of_the_wax_away() {
    let base = [part(
        "100",
        vec![ingredient("hardener", "1.05 %", &["Skin Sens. 1B H317"])],
    )];
    let oil = part("10", vec![ingredient("plain", "100 %", &[])]);
    let pot = Pot {
        base: &base,
        wax: Decimal::ONE_HUNDRED,
        oil: &oil,
    };
    let ladder = ladder(&pot, &rules(Jurisdiction::Eu), &Form::Solid).unwrap();
    assert_eq!(
        shown(&ladder),
        [
            "5 of wax, 4.76 of total: Skin Sens. 1B H317, names hardener",
            "10 of wax, 9.09 of total: names hardener",
        ]
    );
    assert_eq!(
        told(&ladder.rungs[0].then),
        ["Skin Sens. 1B H317 ends by hardener"]
    );
}

/// At 12.5 % of wax the oil is a ninth of everything: what makes up 9 % of it reaches 1 %
/// and counts, and with what stays under 2 % the sum stays under the 3 % of CLP Annex I,
/// Table 3.3.3, which any more oil reaches. So that one load has a label of its own.
#[test]
fn two_limits_at_one_load_give_it_a_rung_of_its_own() {
    let ladder = in_wax(
        "13",
        vec![
            ingredient("under", "9 - < 18 %", &["Skin Corr. 1 H314"]),
            ingredient("nine", "9 %", &["Skin Corr. 1 H314"]),
        ],
    );
    let at = |percent: &str| {
        let rung = ladder.at_load_of_wax(decimal(percent));
        said(&rung.hazards, &rung.named)
    };
    assert_eq!(at("12.499999"), "Skin Irrit. 2 H315, Eye Irrit. 2 H319");
    assert_eq!(at("12.5"), "Skin Irrit. 2 H315, Eye Irrit. 2 H319");
    assert_eq!(at("12.500001"), "Skin Irrit. 2 H315, Eye Dam. 1 H318");
}

/// The weight of the wax alone is what "of wax" is of.
#[test]
fn dye_and_additives_are_no_wax() {
    let base = [part("80", Vec::new()), part("20", Vec::new())];
    let oil = part(
        "10",
        vec![ingredient("eleven", "11 %", &["Skin Sens. 1B H317"])],
    );
    let pot = Pot {
        base: &base,
        wax: decimal("80"),
        oil: &oil,
    };
    let ladder = ladder(&pot, &rules(Jurisdiction::Eu), &Form::Solid).unwrap();
    let end = ladder.rungs[1].to;
    assert_eq!(
        (end.of_wax, end.of_total),
        (decimal("12.5"), decimal("9.090909"))
    );
}

fn asked(input: serde_json::Value) -> Result<hazard::ladder::Output, measure::Problems> {
    hazard::ladder::calculate(&serde_json::from_value(input).expect("the input's shape"))
}

#[test]
fn the_calculation_speaks_a_makers_words() {
    let output = asked(serde_json::json!({
        "jurisdiction": "EU", "date": "2026-12-01", "unlisted": "not hazardous",
        "max_load": "12 % of wax", "load": "8 % of wax",
        "oil": [
            {"name": "linalool", "share": "14 %", "classification": ["Skin Sens. 1B H317"]},
            {"name": "citral", "share": "1.6 %", "classification": ["Skin Sens. 1B H317"]},
            {"name": "cresol", "share": "20 %", "classification": ["Aquatic Chronic 2 H411"]},
        ],
    }))
    .unwrap();
    let rungs: Vec<String> = output
        .rungs
        .iter()
        .map(|rung| {
            format!(
                "{}: {} [{}]",
                rung.span,
                rung.title,
                rung.hazard_statements.join(" ")
            )
        })
        .collect();
    assert_eq!(
        rungs,
        [
            "up to 0.71 %: nothing for a hazard []",
            "up to 6.66 %: one line that names linalool []",
            "up to 7.69 %: one line that names linalool and citral []",
            "above 7.69 %: Warning: skin allergy; names linalool and citral [H317]",
        ]
    );
    assert_eq!(output.at, Some(3));
    assert_eq!(output.of, "of wax");
    let last = &output.rungs[3];
    assert_eq!(format!("{:?}", last.pictograms), "[Ghs07]");
    assert_eq!(output.rungs[1].supplemental[0].code, "EUH208");
    // 1 ÷ 14 = 7.142857 % of the total is 7.692308 % of wax.
    assert_eq!(
        output.rungs[2].then,
        ["From 7.6923 % of wax on Skin Sens. 1B H317 begins, by linalool."]
    );
    let step = output.working.steps().last().unwrap();
    assert_eq!(step.numbers, "linalool 1 %; the limit is 1 %");
    assert_eq!(step.result, "7.6923 % of wax (7.1429 % of total)");
}

#[test]
fn every_problem_is_told_with_its_field() {
    let problems = asked(serde_json::json!({
        "jurisdiction": "XX", "max_load": "12 %", "form": "liquid",
        "oil": [{"name": "", "share": "-1 %", "m_acute": 3}],
    }))
    .unwrap_err();
    let fields: Vec<&str> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "jurisdiction",
            "date",
            "form",
            "max_load",
            "oil[0].name",
            "oil[0].share",
            "oil[0].m_acute",
        ]
    );
    let us = asked(serde_json::json!({"jurisdiction": "US"})).unwrap();
    assert!(us.rungs.is_empty() && us.notes[0].contains("Hazardous Substances Act"));
}

#[test]
fn what_weighs_nothing_is_refused_with_its_field() {
    let base = [part("0", Vec::new())];
    let oil = part("0", vec![ingredient("it", "1 %", &[])]);
    let pot = Pot {
        base: &base,
        wax: Decimal::ZERO,
        oil: &oil,
    };
    let problems = ladder(&pot, &rules(Jurisdiction::Eu), &Form::Solid).unwrap_err();
    let fields: Vec<&str> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(fields, ["base", "wax", "oil"]);
}

/// What the label says by the law's word on one mixture.
fn label(mixture: &Mixture, found: &Classification) -> String {
    let mut named: Vec<usize> = found.contains.clone();
    for found in &found.found {
        let class = found.hazard.class.code();
        if class.starts_with("Skin Sens.") || class.starts_with("Resp. Sens.") {
            named.extend(&found.deciding);
        }
    }
    named.sort_unstable();
    named.dedup();
    let named: Vec<String> = named
        .iter()
        .map(|place| mixture.name(*place).to_owned())
        .collect();
    said(&found.hazards().collect::<Vec<_>>(), &named)
}

const CLASSES: [&str; 31] = [
    "Acute Tox. 1 H300",
    "Acute Tox. 2 H300",
    "Acute Tox. 3 H301",
    "Acute Tox. 4 H302",
    "Acute Tox. 3 H311",
    "Acute Tox. 4 H312",
    "Acute Tox. 2 H330",
    "Acute Tox. 4 H332",
    "Skin Corr. 1 H314",
    "Skin Corr. 1A H314",
    "Skin Corr. 1B H314",
    "Skin Corr. 1C H314",
    "Skin Irrit. 2 H315",
    "Eye Dam. 1 H318",
    "Eye Irrit. 2 H319",
    "Resp. Sens. 1 H334",
    "Skin Sens. 1 H317",
    "Skin Sens. 1A H317",
    "Skin Sens. 1B H317",
    "Muta. 2 H341",
    "Carc. 2 H351",
    "Repr. 1B H360D",
    "Repr. 1B H360F",
    "Repr. 2 H361f",
    "STOT SE 1 H370",
    "STOT SE 3 H335",
    "STOT RE 2 H373",
    "Asp. Tox. 1 H304",
    "Aquatic Acute 1 H400",
    "Aquatic Chronic 1 H410",
    "Aquatic Chronic 2 H411",
];

fn any_share() -> impl Strategy<Value = String> {
    prop_oneof![
        (1_u32..=90).prop_map(|tenths| format!("{}.{} %", tenths / 10, tenths % 10)),
        (1_u32..=40).prop_map(|percent| format!("{percent} %")),
        (1_u32..=9, 1_u32..=10).prop_map(|(low, more)| format!("{low} - {} %", low + more)),
        (1_u32..=9, 1_u32..=10).prop_map(|(low, more)| format!("{low} - < {} %", low + more)),
        (1_u32..=10).prop_map(|high| format!("< {high} %")),
    ]
}

prop_compose! {
    fn any_ingredient()(
        share in any_share(),
        classes in prop::collection::vec(0..CLASSES.len(), 0..4),
        is_known in prop::bool::weighted(0.93),
        powers in (0_u32..4, 0_u32..4),
        estimate in prop::option::weighted(0.3, (0_usize..5, 1_u32..4000, any::<bool>())),
        band in prop::option::weighted(0.2, (0..CLASSES.len(), 1_u32..200)),
    ) -> Ingredient {
        let mut texts: Vec<&str> = classes.iter().map(|place| CLASSES[*place]).collect();
        texts.sort_unstable();
        texts.dedup();
        let mut ingredient = ingredient("?", &share, &texts);
        if !is_known {
            ingredient.hazards = None;
        }
        ingredient.m_acute = Some(10_u32.pow(powers.0));
        ingredient.m_chronic = Some(10_u32.pow(powers.1));
        if let Some((kind, value, above)) = estimate {
            use hazard::EstimateKind::{Dermal, Gas, Mist, Oral, Vapour};
            let (kind, value) = match [Oral, Dermal, Gas, Vapour, Mist][kind] {
                kind @ (Vapour | Mist) => (kind, Decimal::new(i64::from(value), 2)),
                kind => (kind, Decimal::from(value)),
            };
            ingredient.estimates = vec![hazard::AcuteEstimate { kind, value, above }];
        }
        if let Some((class, tenths)) = band {
            ingredient.bands = vec![hazard::Band {
                class: Hazard::parse(CLASSES[class]).expect("a class").class,
                from: Decimal::new(i64::from(tenths), 1),
                below: None,
            }];
        }
        ingredient
    }
}

fn named(prefix: &str, mut ingredients: Vec<Ingredient>, most: u32) -> Vec<Ingredient> {
    let mut left = Decimal::from(most);
    ingredients.retain(|ingredient| {
        let low = ingredient.share.low();
        let fits = low <= left;
        if fits {
            left -= low;
        }
        fits
    });
    for (n, ingredient) in ingredients.iter_mut().enumerate() {
        ingredient.name = format!("{prefix}{n}");
    }
    ingredients
}

prop_compose! {
    fn any_pot()(
        oil in prop::collection::vec(any_ingredient(), 1..14),
        wax in prop::collection::vec(any_ingredient(), 0..3),
        shared in any::<bool>(),
        most in 1_u32..40,
        base in prop_oneof![Just("100"), Just("453.59237"), Just("16.7"), Just("3")],
        unknown in any::<bool>(),
    ) -> (Part, Part) {
        let oil = named("oil ", oil, 100);
        let mut wax = named("wax ", wax, 100);
        if shared && let (Some(own), Some(other)) = (wax.first_mut(), oil.first()) {
            own.name.clone_from(&other.name);
        }
        let mut oil = part("1", oil);
        oil.weight = decimal(base) * Decimal::new(i64::from(most), 2);
        if unknown {
            oil.unlisted = Unlisted::Unknown;
        }
        (part(base, wax), oil)
    }
}

/// Asks the law of the mixture made up at that load, and the ladder of its rung.
fn agree(
    ladder: &Ladder,
    base: &Part,
    oil: &Part,
    load: Decimal,
    rules: Rules,
    form: &Form,
) -> Result<(), TestCaseError> {
    let weight = base.weight * load / Decimal::ONE_HUNDRED;
    if weight <= Decimal::ZERO || weight > oil.weight {
        return Ok(());
    }
    let weighed = Part {
        weight,
        ..oil.clone()
    };
    let mixture = Mixture::of(&[base.clone(), weighed]).expect("the same parts made a ladder");
    let by_law = label(&mixture, &classify(&mixture, &rules, form));
    let rung = ladder.at(weight, base.weight);
    prop_assert_eq!(
        said(&rung.hazards, &rung.named),
        by_law,
        "at {} % of wax",
        load
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn ladder_and_law_agree_at_any_load_and_about_every_boundary(
        (base, oil) in any_pot(),
        jurisdiction in prop_oneof![Just(Jurisdiction::Eu), Just(Jurisdiction::Gb), Just(Jurisdiction::Un)],
        molten in any::<bool>(),
        loads in prop::collection::vec(1_u32..4_000_000, 24),
    ) {
        let rules = rules(jurisdiction);
        let form = if molten { Form::MoltenAt40C { viscosity_mm2_s: None } } else { Form::Solid };
        let parts = [base.clone()];
        let pot = Pot { base: &parts, wax: base.weight, oil: &oil };
        let ladder = ladder(&pot, &rules, &form).expect("a ladder");
        for load in loads {
            agree(&ladder, &base, &oil, Decimal::new(i64::from(load), 5), rules, &form)?;
        }
        for percent in 1..40 {
            agree(&ladder, &base, &oil, Decimal::from(percent), rules, &form)?;
        }
        let tiny = Decimal::new(1, 6);
        for rung in &ladder.rungs {
            for load in [rung.to.of_wax - tiny, rung.to.of_wax, rung.to.of_wax + tiny] {
                agree(&ladder, &base, &oil, load, rules, &form)?;
            }
            if let Some(keeps) = rung.keeps {
                agree(&ladder, &base, &oil, keeps.of_wax, rules, &form)?;
                let held = ladder.at_load_of_wax(keeps.of_wax);
                prop_assert_eq!(&held.hazards, &rung.hazards);
            }
        }
        for pair in ladder.rungs.windows(2) {
            prop_assert!(!pair[0].then.is_empty());
            prop_assert!(pair[0].to.of_wax == pair[1].from.of_wax);
            prop_assert!(said(&pair[0].hazards, &pair[0].named) != said(&pair[1].hazards, &pair[1].named));
        }
    }
}
