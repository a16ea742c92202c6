use axum::http::StatusCode;

use crate::made;
use crate::site::{Site, query};

/// From about a pound of wax, seven clamshells at 5 to 8 or eleven bars at 4 to
/// 6. Common practice, no source.
const SAME_WAX: [(&str, &str); 16] = [
    ("wax", "16 oz"),
    ("currency", "USD"),
    ("formats[0].name", "clamshell"),
    ("formats[0].units", "7"),
    ("formats[0].price.low", "5"),
    ("formats[0].price.typical", "6"),
    ("formats[0].price.high", "8"),
    ("formats[0].unit_cost", "1.40"),
    ("formats[0].minutes", "30 min"),
    ("formats[1].name", "bar"),
    ("formats[1].units", "11"),
    ("formats[1].price.low", "4"),
    ("formats[1].price.typical", "5"),
    ("formats[1].price.high", "6"),
    ("formats[1].unit_cost", "1.10"),
    ("formats[1].minutes", "40 min"),
];

fn with(changes: &[(&'static str, &'static str)]) -> String {
    let changed = SAME_WAX.map(|(name, text)| {
        let change = changes.iter().find(|(known, _)| *known == name);
        change.copied().unwrap_or((name, text))
    });
    format!("/books/compare?{}", query(&changed))
}

#[tokio::test]
async fn two_formats_of_the_same_wax_are_compared_on_an_empty_journal() {
    let site = Site::empty();
    let page = site.get(&with(&[])).await;
    page.is(StatusCode::OK)
        .says("Does the new format earn more?")
        // Seven at 5 to 8 are 35 to 56, eleven at 4 to 6 are 44 to 66.
        .says("42.00 USD 35.00 USD to 56.00 USD")
        .says("55.00 USD 44.00 USD to 66.00 USD")
        // 55 - 11 × 1.10 against 42 - 7 × 1.40, and (32.20 + 12.10) ÷ 11.
        .says("42.90 USD 31.90 USD to 53.90 USD")
        .says("32.20 USD 25.20 USD to 46.20 USD")
        .says("4.03 USD")
        .says("Working");
    assert!(page.html.contains("<svg"));
}

#[tokio::test]
async fn bars_at_three_take_thirty_three() {
    let site = Site::empty();
    let page = site.get(&with(&[("formats[1].price.low", "3")])).await;
    page.is(StatusCode::OK)
        .says("55.00 USD 33.00 USD to 66.00 USD");
}

#[tokio::test]
async fn the_page_and_the_interface_say_the_same() {
    let input: price::CompareFormatsInput = serde_json::from_value(serde_json::json!({
        "wax": "16 oz",
        "formats": [
            { "name": "clamshell", "units": 7, "unit_cost": "1.40 USD", "minutes": "30 min",
              "price": { "low": "5 USD", "typical": "6 USD", "high": "8 USD" } },
            { "name": "bar", "units": 11, "unit_cost": "1.10 USD", "minutes": "40 min",
              "price": { "low": "4 USD", "typical": "5 USD", "high": "6 USD" } },
        ],
    }))
    .unwrap();
    let output = price::compare_formats(&input).unwrap();
    let page = Site::empty().get(&with(&[])).await;
    let (first, rest) = output.verdict.split_once(". ").unwrap();
    page.says(first).says(rest);
    for step in output.working.steps() {
        page.says(&step.result).says(&step.numbers);
    }
}

#[tokio::test]
async fn an_empty_comparison_asks_and_does_not_complain() {
    let site = Site::empty();
    let page = site.get("/books/compare").await;
    page.is(StatusCode::OK)
        .says("Write down both formats")
        .does_not_say("cannot be compared");
    assert_eq!(page.stands_in("wax"), "16 oz");
    assert!(page.wrong_boxes().is_empty());
}

#[tokio::test]
async fn what_cannot_be_compared_is_said_beside_its_box() {
    let site = Site::empty();
    let path = with(&[
        ("formats[1].units", "eleven"),
        ("formats[0].price.low", "9"),
        ("wax", "16 parsecs"),
        ("formats[1].unit_cost", ""),
    ]);
    let page = site.get(&path).await;
    page.is(StatusCode::OK)
        .says("That cannot be compared yet")
        .says("You wrote \"9\"")
        .says("One box marked \"needed\" is still empty.");
    assert_eq!(
        page.wrong_boxes(),
        ["wax", "formats[0].price.low", "formats[1].units"]
    );
    assert_eq!(page.stands_in("formats[1].units"), "eleven");
}

#[tokio::test]
async fn a_good_brings_its_own_figures_to_the_comparison() {
    let site = made::bars(true).await;
    site.post(
        "/stall/good/1",
        &[("low", "4"), ("typical", "5"), ("high", "6")],
    )
    .await
    .went("/stall/good/1");
    let page = site.get("/books/compare?a=1").await;
    page.is(StatusCode::OK)
        .says("Harbour Fig bar: 11 units from 16.0 oz of wax in its one costed lot.");
    let names = [
        "wax",
        "wage",
        "formats[0].units",
        "formats[0].price.low",
        "formats[0].minutes",
    ];
    assert_eq!(
        names.map(|name| page.stands_in(name)),
        ["16.0 oz", "18.00 USD", "11", "4.00 USD", "40 min"]
    );
    // 21.238 less 12.00 of time, over 11: time is charged at the wage instead.
    assert_eq!(page.stands_in("formats[0].unit_cost"), "0.84 USD");
}

#[tokio::test]
async fn a_lot_has_its_cost_in_layers_with_working() {
    let site = made::bars(true).await;
    // As reckoned by hand in the test of what a price leaves.
    let page = site.get("/books/lot/1").await;
    page.is(StatusCode::OK)
        .says("What did it cost me?")
        .says("1.93 USD a unit, for each of 11")
        .says("Material cost 0.66 USD a unit, 7.24 USD the lot")
        .says("Making cost 1.75 USD a unit, 19.24 USD the lot")
        .says("Full cost 1.93 USD a unit, 21.24 USD the lot")
        .says("soy wax materials 0.26 USD 2.86 USD")
        .says("16 oz × 28.60 USD ÷ 160 oz")
        .says("21.24 USD ÷ 11");
    site.get("/books")
        .await
        .says("Lot 261004-1 Harbour Fig bar 11 0.66 USD 1.75 USD 1.93 USD");
}

#[tokio::test]
async fn a_lot_of_unpriced_supplies_says_which_and_leads_to_their_delivery() {
    let site = made::bars(false).await;
    let page = site.get("/books/lot/1").await;
    page.is(StatusCode::OK)
        .says("not everything in it has a price")
        .says("soy wax write down its delivery")
        .says("film bag write down its delivery")
        .does_not_say("Material cost");
    assert!(
        page.html
            .contains("/shelf/receive?supply=1&amp;supply=2&amp;supply=3&amp;lot=1")
    );
    made::buy(&site).await;
    site.get("/books/lot/1").await.says("1.93 USD a unit");
}

#[tokio::test]
async fn the_books_lead_with_what_pays_an_hour_best() {
    let site = made::bars(true).await;
    site.get("/books")
        .await
        .says("nothing you sell has both a price and a lot whose cost is known");
    site.post(
        "/stall/good/1",
        &[("low", "4"), ("typical", "5"), ("high", "6")],
    )
    .await
    .went("/stall/good/1");
    // 55 less 21.238, and the 12.00 of wage back, for two thirds of an hour.
    site.get("/books")
        .await
        .says("68.64 USD for an hour of Harbour Fig bar");
}

#[tokio::test]
async fn empty_books_offer_the_comparison() {
    let site = Site::empty();
    let page = site.get("/books").await;
    page.is(StatusCode::OK)
        .says("None is finished yet.")
        .says("Compare two formats");
    site.get("/books/lot/1").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_keeps_the_own_time_out_of_a_cost_is_named() {
    let site = made::counted(true).await;
    site.post("/pour/1/demould", &[]).await;
    let done = site.post("/pour/1/finish", &[("good", "11")]).await;
    assert!(done.status.is_redirection(), "{}", done.text());
    // The workshop has a wage; the lot has no hands-on time.
    site.get("/books/lot/1")
        .await
        .is(StatusCode::OK)
        .says("its hands-on time is not written down")
        .says("Hands-on time of this lot")
        .does_not_say("An hour of your work is worth");
    let taken = site.post("/books/lot/1/time", &[("minutes", "soon")]).await;
    taken.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(taken.wrong_boxes(), ["minutes"]);
    assert_eq!(taken.stands_in("minutes"), "soon");
    site.post("/books/lot/1/time", &[("minutes", "40")])
        .await
        .went("/books/lot/1");
    site.get("/books/lot/1")
        .await
        .says("1.93 USD a unit, for each of 11")
        .does_not_say("Put my time in");
}

#[tokio::test]
async fn a_good_just_made_is_taken_for_the_new_format() {
    let site = made::bars(true).await;
    let young = [
        ("name", "Harbour Fig block"),
        ("formula", "1"),
        ("mould", "1"),
    ];
    site.post("/stall/new", &young).await.went("/stall/good/2");
    // Asked from either good, the one poured first is the one sold now.
    for path in ["/books/compare?good=2", "/books/compare?good=1"] {
        let page = site.get(path).await;
        page.is(StatusCode::OK).says(
            "Harbour Fig bar stands as what you sell now, Harbour Fig block as the new format.",
        );
    }
    site.get("/books/compare?a=2&b=1")
        .await
        .says("Harbour Fig block stands as what you sell now");
    let page = site.get("/stall/good/2").await;
    assert!(page.html.contains("/books/compare?good=2"));
}

/// Every box of the new format.
const NEW: [&str; 7] = [
    "formats[1].name",
    "formats[1].units",
    "formats[1].price.low",
    "formats[1].price.typical",
    "formats[1].price.high",
    "formats[1].unit_cost",
    "formats[1].minutes",
];

#[tokio::test]
async fn a_finished_lot_fills_the_new_side_of_the_comparison() {
    let site = made::bars(true).await;
    for path in ["/books/lot/1", "/books"] {
        let page = site.get(path).await;
        page.says("with what you sell now");
        assert!(page.html.contains("/books/compare?lot=1"), "{path}");
    }
    let page = site.get("/books/compare?lot=1").await;
    page.is(StatusCode::OK)
        .says("Lot 261004-1: 11 units from 16.0 oz of wax, 40 min of your time. It stands as the new format.")
        .says("5 boxes marked \"needed\" are still empty");
    assert_eq!(page.stands_in("wax"), "16.0 oz");
    // 21.238 less 12.00 of time, over 11.
    assert_eq!(
        NEW.map(|name| page.stands_in(name)),
        ["snap bar", "11", "", "", "", "0.84 USD", "40 min"]
    );
    assert_eq!(page.stands_in("formats[0].unit_cost"), "");
    let prices = [("low", "4"), ("typical", "5"), ("high", "6")];
    site.post("/stall/good/1", &prices)
        .await
        .went("/stall/good/1");
    let page = site.get("/books/compare?lot=1").await;
    assert_eq!(
        [NEW[2], NEW[3], NEW[4]].map(|name| page.stands_in(name)),
        ["4.00 USD", "5.00 USD", "6.00 USD"]
    );
}

#[tokio::test]
async fn a_cost_with_the_time_in_it_is_not_taken_for_one_without() {
    let site = made::bars(true).await;
    let page = site.get(&with(&[("formats[1].unit_cost", "1.93")])).await;
    page.says(
        "1.93 USD is what a unit of lot 261004-1 cost with your time in it; without it, it is 0.84 USD",
    )
    .says("Take 0.84 USD");
    assert!(page.html.contains("formats%5B1%5D.unit_cost=0.84%20USD"));
    site.get(&with(&[("formats[1].unit_cost", "0.84")]))
        .await
        .does_not_say("with your time in it; without it");
}

#[tokio::test]
async fn the_boxes_that_are_counted_are_those_marked() {
    let site = Site::empty();
    let page = site.get("/books/compare").await;
    page.says("8 boxes marked \"needed\" are still empty");
    let needed = page.html.matches("aria-required=\"true\"").count();
    assert_eq!(needed, 8);
    assert_eq!(page.html.matches("label class=\"needed\"").count(), 8);
    page.says("A unit costs, without your time");
}

#[tokio::test]
async fn the_wage_is_asked_for_where_it_is_missed() {
    let site = made::unpaid().await;
    site.get("/books")
        .await
        .says("0.66 USD 0.66 USD 0.66 USD without your time")
        .says("making cost is that and your hands-on time");
    let page = site.get("/books/lot/1").await;
    page.says("0.66 USD a unit, for each of 11, without your time")
        .says("An hour of your work is worth")
        .does_not_say("Hands-on time of this lot");
    let refused = site.post("/books/lot/1/time", &[("wage", "")]).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.wrong_boxes(), ["wage"]);
    site.post("/books/lot/1/time", &[("wage", "18")])
        .await
        .went("/books/lot/1");
    // 7.238 and forty minutes at 18 an hour, 12.00, over eleven.
    site.get("/books/lot/1")
        .await
        .says("1.75 USD a unit, for each of 11")
        .does_not_say("without your time");
    let page = site.get("/settings").await;
    assert_eq!(page.stands_in("wage"), "18.00 USD");
    assert_eq!(page.stands_in("name"), "Quillfen Wax Works");
}

#[tokio::test]
async fn a_good_alone_is_the_new_format() {
    let site = made::bars(true).await;
    let page = site.get("/books/compare?good=1").await;
    assert_eq!(page.stands_in("formats[1].units"), "11");
    assert_eq!(page.stands_in("formats[0].units"), "");
}

#[tokio::test]
async fn the_sides_are_swapped_with_all_that_stands_in_them() {
    let site = Site::empty();
    let swapped = site.get(&format!("{}&swap=yes", with(&[]))).await;
    swapped.is(StatusCode::SEE_OTHER);
    assert!(!swapped.to.contains("swap"), "{}", swapped.to);
    let page = site.get(&swapped.to).await;
    let names = ["formats[0].name", "formats[1].name", "formats[0].minutes"];
    assert_eq!(
        names.map(|name| page.stands_in(name)),
        ["bar", "clamshell", "40 min"]
    );
    // What a lot put there goes over as well.
    let site = made::bars(true).await;
    let swapped = site.get("/books/compare?lot=1&swap=yes").await;
    let page = site.get(&swapped.to).await;
    assert_eq!(page.stands_in("formats[0].units"), "11");
    assert_eq!(page.stands_in("formats[1].units"), "");
}

#[tokio::test]
async fn one_side_takes_a_goods_figures_and_the_other_stays() {
    let site = made::bars(true).await;
    let path = format!("{}&a=1&b=&take=a", with(&[("wage", "18")]));
    let taken = site.get(&path).await;
    taken.is(StatusCode::SEE_OTHER);
    let page = site.get(&taken.to).await;
    assert_eq!(page.stands_in("formats[0].unit_cost"), "0.84 USD");
    assert_eq!(page.stands_in("formats[1].unit_cost"), "1.10");
    // There is one list of goods a side, and none below.
    assert_eq!(page.html.matches("<select").count(), 2);
}

#[tokio::test]
async fn what_is_not_proven_says_what_decides() {
    let site = Site::empty();
    let page = site.get(&with(&[("formats[1].price.low", "3")])).await;
    // 3 × 11 less 12.10 is 20.90; 8 × 7 less 9.80 is 46.20.
    page.says("not proven : at the bar's lowest price and the clamshell's highest price it would not earn more.")
        .does_not_say("Profit an hour")
        .says("An hour of your work pays")
        .says("bookmark it");
    assert!(page.html.contains("hatched: cost without your time"));
    assert!(page.html.contains("data-remember=\"compare\""));
}

#[tokio::test]
async fn the_ladder_rests_on_the_cost_that_the_equal_price_rests_on() {
    let site = made::bars(true).await;
    let path = format!("{}&wage=18", with(&[]));
    let page = site.get(&path).await;
    assert!(page.html.contains("hatched: cost with your time"));
    // 1.10 and 12.00 over eleven; 1.40 and 9.00 over seven.
    page.says("2.19 USD").says("2.69 USD");
}

#[tokio::test]
async fn costs_of_one_column_have_one_number_of_decimals() {
    let site = made::bars(true).await;
    // 2.86, 3.168 and 1.21 over eleven; 0.288 stood beside 0.26.
    site.get("/books/lot/1")
        .await
        .says("materials 0.26 USD")
        .says("materials 0.29 USD")
        .says("packing 0.11 USD");
    site.get("/books")
        .await
        .says("What a unit of each lot cost");
}
