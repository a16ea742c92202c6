use formula::{Formula, Loss, NoteKind, Target, plan};
use measure::{Ratio, Typed};
use serde_json::json;

use crate::{bench, mass, nine_to_one, plain, planned, texts, weigh};

/// Common practice, no source: 16.7 oz of wax with 2 oz of oil is about
/// 12.0 % of wax and 10.7 % of total.
#[test]
fn the_kitchen_scale_pour() {
    let out = weigh(json!({
        "blend": [
            { "name": "soy container wax", "parts": "90", "max_load": "10 % of wax" },
            { "name": "paraffin melt wax", "parts": "10" },
        ],
        "load": "12 % of wax",
        "target": { "wax": "16.7 oz" },
        "readability": "0.1 oz",
    }));
    let rows: Vec<(&str, &str, &str)> = out["portions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|portion| {
            (
                portion["name"].as_str().unwrap(),
                portion["weight"].as_str().unwrap(),
                portion["running"].as_str().unwrap(),
            )
        })
        .collect();
    assert_eq!(
        rows,
        [
            ("soy container wax", "15.0 oz", "15.0 oz"),
            ("paraffin melt wax", "1.7 oz", "16.7 oz"),
            ("fragrance oil", "2.0 oz", "18.7 oz"),
        ]
    );
    assert_eq!(out["portions"][0]["grams"], json!(425.242_847));
    assert_eq!(out["total"], "18.7 oz");
    assert_eq!(out["load_of_wax"], "12.0 %");
    assert_eq!(out["load_of_total"], "10.7 %");
    assert_eq!(out["load"], "12 % of wax (10.71 % of the melt)");
    assert_eq!(out["over_max"], "0.50 oz");
    assert_eq!(
        texts(&out["notes"]),
        [
            "Over the blend's stated maximum by 0.50 oz of oil: the maximum is 9.00 % of wax, 1.50 oz of oil. No limit is known for paraffin melt wax, which counts as carrying none.",
            "12 % of wax is 2.0 oz of oil here; 12 % of the melt would be 2.3 oz, 0.27 oz more.",
        ]
    );
    assert_eq!(out["cautions"], 1);
}

/// 24 shells of 84.0 ml water line at 0.90 g/ml are 75.6 g each. By the mass
/// balance: 24 × 75.6 = 1814.4; ÷ 0.985 = 1842.03; ÷ 1.08 = 1705.58.
#[test]
fn twenty_four_shells_with_loss() {
    let out = weigh(json!({
        "blend": [{ "name": "soy container wax", "parts": "100 %", "max_load": "10 % of wax" }],
        "load": "8 % of wax",
        "target": { "units": 24, "unit_weight": "75.6 g", "loss": "1.5 %" },
        "readability": "1 g",
        "melter": "2722 g",
    }));
    assert_eq!(out["goods"], "1814 g");
    assert_eq!(out["total"], "1842 g");
    assert_eq!(out["wax"], "1706 g");
    assert_eq!(out["oil"], "136 g");
    assert_eq!(out["load"], "8 % of wax (7.41 % of the melt)");
    assert_eq!(
        texts(&out["notes"]),
        [
            "1842 g fits the melter (2722 g).",
            "8 % of wax is 136 g of oil here; 8 % of the melt would be 147 g, 10.9 g more.",
        ]
    );
    let steps: Vec<String> = out["working"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| {
            format!(
                "{}: {} = {}",
                step["label"].as_str().unwrap(),
                step["numbers"].as_str().unwrap(),
                step["result"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        steps,
        [
            "Goods: 24 × 75.60 g = 1814.40 g",
            "To melt: 1814.40 g ÷ (1 − 0.015) = 1842.03 g",
            "Wax: 1842.03 g ÷ (1 + 0.08) = 1705.58 g",
            "Weigh soy container wax: 100 ÷ 100 × 1705.58 g = 1705.58 g = 1706 g",
            "Weigh fragrance oil: 8 % × 1705.58 g = 136.45 g = 136 g",
            "Load as weighed, of wax: 136 g ÷ 1706 g = 7.97 %",
            "Load as weighed, of total: 136 g ÷ 1842 g = 7.38 %",
            "Most oil the sheets allow: 100.0 % × 10.00 % = 10.00 % of wax",
            "That limit in oil: 10.00 % × 1706 g = 170.6 g",
        ]
    );
}

#[test]
fn fills_of_a_mould_are_its_cavities_each_time() {
    let ask = |target| {
        weigh(json!({
            "blend": [{ "name": "soy", "parts": 1 }],
            "load": "8 % of wax",
            "target": target,
        }))
    };
    let fills =
        ask(json!({ "fills": "4", "cavities": 6, "unit_weight": "75.6 g", "loss": "12 g" }));
    let units = ask(json!({ "units": "24", "unit_weight": "75.6 g", "loss": "12 g" }));
    assert_eq!(fills["portions"], units["portions"]);
    // 1814.4 + 12, rounded portion by portion: 1691.1 and 135.3.
    assert_eq!(fills["total"], "1826 g");
    assert!(
        texts(&fills["notes"])
            .contains(&"No readability was given; rounded to 1 g, a usual kitchen scale.")
    );
}

#[test]
fn a_load_of_total_is_taken_out_of_the_pour() {
    // 10 % of a total of 500 g is 50 g, whatever else.
    let plan = planned(
        &plain("10 % of total"),
        Target::Total(mass("500 g")),
        "0.1 g",
    );
    assert_eq!(plan.exact.oil, mass("50 g"));
    assert_eq!(plan.exact.wax, mass("450 g"));
    // 450 g of wax at 10 % of total want those same 50 g.
    let plan = planned(&plain("10 % of total"), Target::Wax(mass("450 g")), "0.1 g");
    assert_eq!(plan.exact.oil, mass("50 g"));
}

#[test]
fn the_pot_stays_on_the_scale() {
    let mut on_scale = bench("1 g");
    on_scale.tare = Some(mass("412 g"));
    let plan = plan(
        &nine_to_one("8 % of wax"),
        Target::Wax(mass("500 g")),
        &on_scale,
    )
    .unwrap();
    let rows: Vec<String> = plan
        .portions
        .iter()
        .map(|portion| {
            format!(
                "{} / {} / {}",
                portion.weight, portion.running, portion.reading
            )
        })
        .collect();
    assert_eq!(
        rows,
        [
            "450 g / 450 g / 862 g",
            "50 g / 500 g / 912 g",
            "40 g / 540 g / 952 g",
        ]
    );
}

#[track_caller]
fn noted(load: &str, adjust: impl FnOnce(&mut formula::Bench), kind: NoteKind) -> Option<String> {
    let mut bench = bench("1 g");
    adjust(&mut bench);
    let formula: Formula = nine_to_one(load);
    plan(&formula, Target::Wax(mass("500 g")), &bench)
        .unwrap()
        .notes
        .into_iter()
        .find(|note| note.kind == kind)
        .map(|note| note.text)
}

#[test]
fn a_flash_point_below_the_add_temperature_is_a_caution() {
    let at = |flash: &str, add: &str| {
        noted(
            "8 % of wax",
            |bench| {
                bench.flash_point = Some(Typed::parse(flash).unwrap());
                bench.add_at = Some(Typed::parse(add).unwrap());
            },
            NoteKind::FlashPoint,
        )
    };
    assert_eq!(
        at("80 C", "185 F").unwrap(),
        "The oil goes in at 185 °F, not below its flash point of 80 °C: keep flames and sparks away, or let the wax cool first."
    );
    assert!(at("80 C", "80 C").is_some());
    assert!(at("93 C", "185 F").is_none());
}

#[test]
fn a_melter_that_is_too_small_says_by_how_much() {
    let note = noted(
        "8 % of wax",
        |bench| bench.melter = Some(mass("500 g")),
        NoteKind::MelterTooSmall,
    );
    assert_eq!(
        note.unwrap(),
        "540 g does not fit the melter (500 g): 40 g too much for one melt."
    );
}

#[test]
fn a_load_at_the_limit_is_not_called_over_for_the_rounding() {
    // The blend carries 9 %: 45 g on 500 g.
    assert!(noted("9 % of wax", |_| (), NoteKind::OverLimit).is_none());
    assert!(noted("9.5 % of wax", |_| (), NoteKind::OverLimit).is_some());
    assert_eq!(
        noted("8 % of wax", |_| (), NoteKind::LimitUnknown).unwrap(),
        "Within the stated maximum of 9.00 % of wax, 45.0 g of oil. No limit is known for paraffin melt wax, which counts as carrying none."
    );
}

#[test]
fn a_scale_too_coarse_for_an_ingredient_is_named() {
    let plan = planned(&nine_to_one("2 % of wax"), Target::Wax(mass("60 g")), "1 g");
    let note = plan.notes.iter().find(|note| note.kind == NoteKind::Coarse);
    assert_eq!(
        note.unwrap().text,
        "fragrance oil should be 1.20 g and the scale shows 1 g: use a finer scale for it."
    );
}

#[test]
fn no_fragrance_is_no_portion() {
    let plan = planned(&plain("0 % of wax"), Target::Wax(mass("100 g")), "1 g");
    assert_eq!(plan.portions.len(), 1);
    assert_eq!(plan.of_wax(), Ratio::ZERO);
}

#[test]
fn a_loss_by_weight_is_added_and_by_percent_is_of_what_is_melted() {
    let units = |loss| Target::Units {
        count: 10,
        each: mass("100 g"),
        loss,
    };
    let total = |loss| {
        planned(&plain("10 % of wax"), units(loss), "1 g")
            .exact
            .total()
    };
    assert_eq!(total(Loss::NONE), mass("1000 g"));
    assert_eq!(total(Loss::Weight(mass("50 g"))), mass("1050 g"));
    // 1000 ÷ 0.8
    assert_eq!(
        total(Loss::OfMelted("20 %".parse().unwrap())),
        mass("1250 g")
    );
}
