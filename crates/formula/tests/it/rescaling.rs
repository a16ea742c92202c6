use formula::rescale::{RescaleError, rescale};
use formula::{Loss, Target};
use measure::Mass;
use serde_json::json;

use crate::{bench, mass, nine_to_one, plain, planned, texts, weigh};

/// 15.6 of 15.0 oz is 1.04: 1.7 becomes 1.768 and 2.0 becomes 2.08.
#[test]
fn both_ways_on_after_too_much_soy() {
    let out = weigh(json!({
        "blend": [
            { "name": "soy container wax", "parts": "90", "max_load": "15 % of wax" },
            { "name": "paraffin melt wax", "parts": "10" },
        ],
        "load": "12 % of wax",
        "target": { "wax": "16.7 oz" },
        "readability": "0.1 oz",
        "in_pot": ["15.6 oz"],
    }));
    let ways = &out["rescale"];
    assert_eq!(texts(&ways["over"]), ["soy container wax"]);
    let keep = &ways["keep_formula"];
    assert_eq!(keep["factor"], json!(1.04));
    let rows: Vec<String> = keep["portions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|portion| {
            format!(
                "{} add {}",
                portion["target"].as_str().unwrap(),
                portion["add"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        rows,
        [
            "15.6 oz add 0.0 oz",
            "1.8 oz add 1.8 oz",
            "2.1 oz add 2.1 oz"
        ]
    );
    assert_eq!(
        texts(&keep["consequences"]),
        [
            "The formula holds: everything is made 4.0 % larger and the pour grows from 18.7 oz to 19.5 oz (0.8 oz more).",
            "The load is 12.1 % of wax (10.8 % of the melt).",
        ]
    );
    assert_eq!(
        texts(&ways["keep_going"]["consequences"]),
        [
            "The load becomes 11.6 % of wax (10.4 % of the melt) instead of 12.0 % of wax (10.7 % of the melt), and the pour 19.3 oz instead of 18.7 oz.",
            "The blend shifts: soy container wax from 89.8 % to 90.2 %, paraffin melt wax from 10.2 % to 9.8 % of the wax.",
            "Within the stated maximum of 13.50 % of wax, 2.34 oz of oil. No limit is known for paraffin melt wax, which counts as carrying none.",
        ]
    );
}

#[test]
fn too_much_oil_at_the_end_tops_up_the_wax_already_in() {
    // 50 g of 40 g is 1.25: the wax goes from 500 to 625 g.
    let plan = planned(
        &nine_to_one("8 % of wax"),
        Target::Wax(mass("500 g")),
        "1 g",
    );
    let in_pot = [Some(mass("450 g")), Some(mass("50 g")), Some(mass("50 g"))];
    let ways = rescale(&plan, &in_pot, &bench("1 g")).unwrap();
    assert_eq!(ways.over, [2]);
    let keep = ways.keep_formula.unwrap();
    // 562.5 rounds half-even to 562.
    let adds: Vec<Mass> = keep.portions.iter().map(|portion| portion.add).collect();
    assert_eq!(adds, [mass("112 g"), mass("12 g"), mass("0 g")]);
    let going = ways.keep_going;
    assert_eq!(going.of_wax.to_string(), "10 %");
    assert_eq!(going.over_limit, Some(mass("5 g")));
    assert!(going.consequences.iter().any(formula::Note::is_caution));
}

#[test]
fn a_larger_pour_says_how_many_more_units() {
    let target = Target::Units {
        count: 24,
        each: mass("75 g"),
        loss: Loss::NONE,
    };
    let plan = planned(&plain("8 % of wax"), target, "1 g");
    // 1667 g of wax planned; a tenth more.
    let ways = rescale(&plan, &[Some(mass("1834 g"))], &bench("1 g")).unwrap();
    let keep = ways.keep_formula.unwrap();
    assert_eq!(keep.more_units, Some(2));
    assert!(
        keep.consequences[0]
            .text
            .ends_with("(180 g more, enough for 2 units more).")
    );
}

#[test]
fn a_pot_that_is_short_is_topped_up_or_left() {
    let plan = planned(&plain("10 % of wax"), Target::Wax(mass("500 g")), "1 g");
    let ways = rescale(&plan, &[Some(mass("480 g"))], &bench("1 g")).unwrap();
    assert!(ways.over.is_empty());
    let keep = ways.keep_formula.unwrap();
    assert_eq!(keep.portions[0].add, mass("20 g"));
    assert_eq!(keep.more, Mass::ZERO);
    // 50/480
    assert_eq!(measure::percent(ways.keep_going.of_wax, 2), "10.42 %");
}

#[test]
fn weights_that_are_not_of_this_plan_are_refused() {
    let plan = planned(&plain("10 % of wax"), Target::Wax(mass("500 g")), "1 g");
    let on = bench("1 g");
    assert_eq!(
        rescale(&plan, &[None, None, None], &on),
        Err(RescaleError::TooMany {
            portions: 2,
            weighed: 3
        })
    );
    assert_eq!(
        rescale(&plan, &[Some(mass("2000000 kg"))], &on),
        Err(RescaleError::TooLarge)
    );
    assert_eq!(
        rescale(&plan, &[Some(Mass::ZERO)], &on),
        Err(RescaleError::NoWax)
    );
}
