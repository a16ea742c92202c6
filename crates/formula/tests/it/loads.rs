use formula::load::{Input, Output, calculate};
use formula::{FragranceLoad, load};
use measure::{Ratio, percent};

use crate::load as parsed;

fn output(load: &str, wax: &str, oil: &str, limit: &str, dye: &str) -> Output {
    let given = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    calculate(&Input {
        load: given(load),
        wax: given(wax),
        oil: given(oil),
        limit: given(limit),
        dye: given(dye),
    })
    .unwrap()
}

/// 10 % of wax is 1/11 of the total and 10 % of the total is 1/9 of the wax:
/// plain arithmetic on the definitions.
#[test]
fn a_load_converts_both_ways() {
    let rows = [
        ("8 % of wax", "8 % of wax (7.41 % of the melt)"),
        ("10 % of wax", "10 % of wax (9.09 % of the melt)"),
        ("10 % of total", "10 % of the melt (11.11 % of wax)"),
        ("10 % of the melt", "10 % of the melt (11.11 % of wax)"),
        ("1 oz per lb", "6.25 % of wax (5.88 % of the melt)"),
        ("0 % of wax", "0 % of wax (0.00 % of the melt)"),
    ];
    for (text, both) in rows {
        assert_eq!(parsed(text).both(Ratio::ZERO), both);
        assert_eq!(output(text, "", "", "", "").both, both);
    }
}

#[test]
fn dye_makes_the_share_of_the_total_smaller() {
    // 8 ÷ (100 + 8 + 2) = 7.2727 %
    let out = output("8 % of wax", "", "", "", "2 %");
    assert_eq!(out.load_of_total, "7.27 %");
    // c (1 + a)/(1 − c) = 0.1 × 1.02/0.9 = 11.3333 %
    let out = output("10 % of total", "", "", "", "2 % of wax");
    assert_eq!(out.load_of_wax, "11.33 %");
}

#[test]
fn a_load_that_leaves_its_base_open_is_refused() {
    let wrong = |text: &str| {
        text.parse::<FragranceLoad>()
            .unwrap_err()
            .wrong
            .into_owned()
    };
    assert_eq!(
        wrong("8 %"),
        "the load does not say of what: of wax or of total"
    );
    assert_eq!(
        wrong("8 % of soap"),
        "the load is neither of wax nor of total"
    );
    assert_eq!(wrong("8 of wax"), "there is no percent sign");
    assert_eq!(
        wrong("101 % of wax"),
        "that much oil leaves no room for wax"
    );
    assert_eq!(
        wrong("51 % of total"),
        "that much oil leaves no room for wax"
    );
    assert_eq!(wrong("-1 % of wax"), "a percentage cannot be negative");
    assert_eq!(wrong("1 oz per 0 lb"), "the wax weighs nothing");
    assert_eq!(wrong(""), "a fragrance load is missing");
}

/// Common practice, no source: 2 oz of oil on 16.7 oz of wax is about 12.0 %
/// of wax and 10.7 % of total. By the definitions 2/16.7 and 2/18.7.
#[test]
fn two_ounces_on_sixteen_point_seven() {
    let out = output("", "16.7 oz", "2 oz", "", "");
    assert_eq!(out.load_of_wax, "11.98 %");
    assert_eq!(out.load_of_total, "10.70 %");
    assert_eq!(out.weighed.unwrap().load_of_wax_percent, 11.976);
}

#[test]
fn oil_for_a_pound_and_for_the_wax_on_hand() {
    let out = output("8 % of wax", "500 g", "", "10 % of wax", "");
    assert_eq!(out.oil_per_lb, "1.28 oz");
    assert_eq!(out.oil.as_deref(), Some("40 g"));
    assert_eq!(out.oil_g, Some(40.0));
    assert_eq!(
        out.notes,
        ["8 % of wax is within the limit of 10 % of wax."]
    );
    let out = output("12 % of total", "", "", "10 % of wax", "");
    assert_eq!(
        out.notes,
        ["12 % of total is over the limit of 10 % of wax, which is 10.00 % of wax."]
    );
}

/// A pour that sweats: 184/1658 by the definition, 10 % of 1658 g is 165.8 g.
#[test]
fn ten_percent_of_the_melt_weighed_for_ten_percent_of_wax() {
    let out = output("", "1658 g", "184 g", "10 % of wax", "");
    assert_eq!(
        out.notes,
        [
            "184 g of oil on 1658 g of wax is 11.1 % of wax (9.99 % of the melt), over the limit of 10 % of wax by 18.2 g of oil.",
            "It matches 10 % of the melt: 10 % of the melt was weighed by mistake for 10 % of wax.",
        ]
    );
    let weighed = out.weighed.unwrap();
    assert_eq!(weighed.over_limit.as_deref(), Some("18.2 g"));
    assert_eq!(weighed.over_limit_g, Some(18.2));
    assert_eq!(weighed.mistaken_for.as_deref(), Some("10 % of total"));
}

#[test]
fn the_slip_the_other_way_is_seen_too() {
    // Meant 10 % of the melt: 111.1 g on 1000 g. Weighed 10 % of wax.
    let out = output("10 % of total", "1000 g", "100 g", "", "");
    assert_eq!(
        out.notes[1],
        "It matches 10 % of wax: 10 % of wax was weighed by mistake for 10 % of the melt."
    );
}

#[test]
fn an_ordinary_weighing_is_accused_of_nothing() {
    let out = output("8 % of wax", "1000 g", "80.4 g", "10 % of wax", "");
    assert_eq!(
        out.notes,
        [
            "80.4 g of oil on 1000 g of wax is 8.0 % of wax (7.44 % of the melt), within the limit of 10 % of wax."
        ]
    );
    let out = output("8 % of wax", "1000 g", "95 g", "", "");
    assert_eq!(out.notes[1], "That is 15 g more oil than 8 % of wax.");
    // Below 1 % both bases give the same oil to a hundredth: no slip to name.
    let out = output("0.5 % of wax", "1000 g", "5 g", "", "");
    assert_eq!(out.notes.len(), 1);
}

#[test]
fn every_problem_of_the_input_comes_back() {
    let problems = calculate(&Input {
        load: Some("8 %".to_owned()),
        wax: Some("0 g".to_owned()),
        oil: Some("lots".to_owned()),
        limit: Some("ten".to_owned()),
        dye: Some("-1 %".to_owned()),
    })
    .unwrap_err();
    let fields: Vec<&str> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(fields, ["load", "wax", "oil", "limit", "dye"]);

    let problems = calculate(&Input::default()).unwrap_err();
    assert_eq!(
        problems.of("load").unwrap().wrong,
        "there is neither a load nor a weight of oil"
    );
    let problems = calculate(&Input {
        oil: Some("2 oz".to_owned()),
        ..Input::default()
    })
    .unwrap_err();
    assert_eq!(
        problems.of("wax").unwrap().wrong,
        "oil was given without the wax it went into"
    );
}

#[test]
fn the_working_has_the_numbers_in_it() {
    let out = output("8 % of wax", "500 g", "", "", "");
    let steps: Vec<String> = out
        .working
        .steps()
        .iter()
        .map(|step| format!("{}: {} = {}", step.label, step.numbers, step.result))
        .collect();
    assert_eq!(
        steps,
        [
            "Load of total: 0.08 ÷ (1 + 0.08) = 7.41 %",
            "Oil for a pound of wax: 0.08 × 16 oz = 1.28 oz",
            "Oil for this wax: 0.08 × 500 g = 40 g",
        ]
    );
    assert!(
        out.working
            .steps()
            .iter()
            .all(|step| !step.source.is_empty())
    );
}

#[test]
fn an_unknown_field_is_refused() {
    let error = measure::parse_input::<load::Input>(serde_json::json!({ "laod": "8 % of wax" }));
    assert!(
        error.unwrap_err().0[0]
            .wrong
            .contains("unknown field `laod`")
    );
    assert_eq!(percent(parsed("8 % of wax").ratio(), 1), "8.0 %");
}
