//! A pour from the quick pour to the rack, and what a tired hand types.

use axum::http::StatusCode;

use crate::site::{Shown, Site};

/// 16.7 oz of wax at 12 % of wax into a new mould of twelve.
async fn kept(site: &Site) -> Shown {
    site.post(
        "/quick/keep",
        &[
            ("wax", "soy wax"),
            ("oil", "Harbour Fig oil"),
            ("load", "12 % of wax"),
            ("by", "wax"),
            ("amount", "16.7 oz"),
            ("readability", "0.1 oz"),
            ("mould", "12-bar mould"),
            ("cavities", "12"),
            ("format", "snap_bar"),
            ("workshop", "Quillfen Wax Works"),
            ("currency", "USD"),
        ],
    )
    .await
}

async fn begun() -> Site {
    let site = Site::empty();
    kept(&site).await.went("/pour/1");
    site
}

fn facts(site: &Site) -> u64 {
    site.app.look(workshop::Workshop::facts).unwrap()
}

#[tokio::test]
async fn too_much_wax_shows_both_ways_on() {
    let site = begun().await;
    site.get("/pour/1")
        .await
        .is(StatusCode::OK)
        .says("soy wax")
        .says("16.7 oz");
    site.post("/pour/1/weigh", &[("portion", "0"), ("weight", "17.7")])
        .await
        .went("/pour/1");
    site.get("/pour/1")
        .await
        .says("1.0 oz too much soy wax went in.")
        .says("Scale the rest")
        .says("Keep going as planned");
    site.post("/pour/1/slip", &[("choice", "scale_the_rest")])
        .await
        .went("/pour/1");
    // 2.0 × 17.7 ÷ 16.7, to the tenth.
    site.get("/pour/1")
        .await
        .says("Harbour Fig oil")
        .says("2.1 oz");
}

#[tokio::test]
async fn keeping_going_leaves_the_rest_as_planned() {
    let site = begun().await;
    site.post("/pour/1/weigh", &[("portion", "0"), ("weight", "17.7")])
        .await
        .went("/pour/1");
    site.post("/pour/1/slip", &[("choice", "keep_going")])
        .await
        .went("/pour/1");
    site.get("/pour/1")
        .await
        .says("Harbour Fig oil")
        .says("2.0 oz");
}

#[tokio::test]
async fn oil_over_the_plan_asks_for_more_wax() {
    let site = begun().await;
    site.post("/pour/1/weigh", &[("portion", "0"), ("weight", "16.7")])
        .await
        .went("/pour/1");
    site.post("/pour/1/weigh", &[("portion", "1"), ("weight", "2.2")])
        .await
        .went("/pour/1");
    site.post("/pour/1/slip", &[("choice", "scale_the_rest")])
        .await
        .went("/pour/1");
    // 16.7 × 2.2 ÷ 2.0 is 18.4: 1.7 more.
    site.get("/pour/1")
        .await
        .says("More soy wax")
        .says("1.7 oz");
    site.post("/pour/1/add", &[("portion", "0"), ("weight", "1.7")])
        .await
        .went("/pour/1");
    site.get("/pour/1").await.says("Everything is in. Pour.");
}

#[tokio::test]
async fn what_cannot_be_read_is_kept_and_named() {
    let site = begun().await;
    let before = facts(&site);
    for (typed, said) in [
        ("", "A weight is missing"),
        ("1.2.3 oz", "The number has more than one decimal mark"),
        ("12 parsecs", "\"parsecs\" is not a unit of weight"),
        ("１６ oz", "Some digits are not plain 0 to 9"),
        ("16,7", "A comma is not a decimal mark here"),
        ("-3 oz", "A weight cannot be negative"),
        ("NaN", "There is no number at the start"),
        ("99999999999999999999999999999999 oz", "too large"),
        (
            "<script>alert(1)</script>",
            "There is no number at the start",
        ),
        ("🕯 oz", "There is no number at the start"),
    ] {
        let shown = site
            .post("/pour/1/weigh", &[("portion", "0"), ("weight", typed)])
            .await;
        shown.is(StatusCode::UNPROCESSABLE_ENTITY).says(said);
        assert!(!shown.html.contains("<script>alert"), "{typed}");
    }
    assert_eq!(facts(&site), before);
}

#[tokio::test]
async fn names_that_look_like_markup_print_as_themselves() {
    let site = Site::empty();
    let name = "<b>Peat & \"Plum\"</b>";
    let shown = site
        .post(
            "/quick/keep",
            &[
                ("wax", name),
                ("oil", "Rainy Loft oil"),
                ("load", "8 % of wax"),
                ("by", "wax"),
                ("amount", "500 g"),
                ("readability", "1 g"),
                ("currency", "GBP"),
            ],
        )
        .await;
    shown.went("/pour/1");
    let page = site.get("/pour/1").await;
    page.is(StatusCode::OK);
    assert!(
        page.html
            .contains("&lt;b&gt;Peat &amp; &quot;Plum&quot;&lt;/b&gt;")
    );
    assert!(!page.html.contains("<b>Peat"));
}

#[tokio::test]
async fn a_lot_is_put_right_and_a_pour_given_up() {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.0")]),
        ("poured", vec![("wax_at", "155 F")]),
        ("count", vec![("full", "11"), ("part", ""), ("left", "0")]),
        ("units", vec![("weights", "1.5, 1.6")]),
        ("finish", vec![("good", "11"), ("minutes", "40")]),
    ] {
        site.post(&format!("/pour/1/{path}"), &fields)
            .await
            .went("/pour/1");
    }
    site.get("/pour/1").await.says("11 good units on the rack");
    let wrong = [
        ("full", "10"),
        ("part", "none"),
        ("good", "9"),
        ("reason", "miscounted"),
    ];
    let shown = site.post("/pour/1/lot", &wrong).await;
    shown
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("9 together; 10 were counted full");
    let right = [
        ("full", "10"),
        ("part", "none"),
        ("good", "10"),
        ("reason", "miscounted"),
    ];
    site.post("/pour/1/lot", &right).await.went("/pour/1");
    site.get("/pour/1").await.says("10 good units on the rack");
    kept(&site).await.went("/pour/2");
    site.post("/pour/2/give-up", &[("reason", "begun twice")])
        .await
        .went("/pour/2");
    site.get("/pour/2")
        .await
        .says("Nothing: it was given up.")
        .says("begun twice");
    assert!(!site.get("/").await.text().contains("being weighed out"));
}

/// A pour of which eleven bars came out.
async fn counted() -> Site {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.0")]),
        ("poured", vec![("wax_at", "155 F")]),
        ("count", vec![("full", "11"), ("part", ""), ("left", "0")]),
    ] {
        site.post(&format!("/pour/1/{path}"), &fields)
            .await
            .went("/pour/1");
    }
    site
}

#[tokio::test]
async fn a_decimal_comma_is_refused_and_never_two_weights() {
    let site = counted().await;
    let before = facts(&site);
    for typed in ["1,5; 1,6", "1,5", "1.5, 1,6", "1.5,1.6"] {
        site.post("/pour/1/units", &[("weights", typed)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("A comma is not a decimal mark here");
    }
    assert_eq!(facts(&site), before);
    for typed in [
        "1.5, 1.6",
        "1.5 1.6",
        "1.5; 1.6",
        "1.5 oz, 45 g",
        "1.5\n1.6",
    ] {
        let before = facts(&site);
        site.post("/pour/1/units", &[("weights", typed)])
            .await
            .went("/pour/1");
        assert_eq!(facts(&site), before + 2, "{typed}");
    }
}

#[tokio::test]
async fn a_weight_is_put_right_with_a_reason() {
    let site = begun().await;
    let weighed = [("portion", "0"), ("weight", "17.6")];
    site.post("/pour/1/weigh", &weighed).await.went("/pour/1");
    site.get("/pour/1/correct")
        .await
        .says("soy wax, written down as 17.6 oz");
    let page = site
        .post("/pour/1/correct", &[("portion", "0"), ("weight", "16.7")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["reason"]);
    assert_eq!(page.stands_in("weight"), "16.7");
    let right = [
        ("portion", "0"),
        ("weight", "16.7"),
        ("reason", "read upside down"),
    ];
    site.post("/pour/1/correct", &right).await.went("/pour/1");
    site.get("/pour/1")
        .await
        .does_not_say("too much")
        .says("soy wax 16.7 oz 16.7 oz");
}

#[tokio::test]
async fn a_count_is_changed_only_with_a_reason() {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.0")]),
        ("poured", vec![]),
        ("count", vec![("full", "11"), ("left", "0")]),
        // The same again, as after a page that was slow to answer.
        ("count", vec![("full", "11"), ("left", "0")]),
    ] {
        let done = site.post(&format!("/pour/1/{path}"), &fields).await;
        done.went("/pour/1");
    }
    let before = facts(&site);
    let page = site
        .post("/pour/1/count", &[("full", "10"), ("left", "0")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    // The box of giving the pour up is another one.
    assert_eq!(page.wrong_boxes(), ["reason"]);
    assert_eq!(page.stands_in("full"), "10");
    assert_eq!(facts(&site), before);
    let right = [("full", "10"), ("left", "0"), ("reason", "one was chipped")];
    site.post("/pour/1/count", &right).await.went("/pour/1");
    site.get("/pour/1").await.says("10 of 12 filled");
}

#[tokio::test]
async fn what_is_out_of_turn_says_how_it_stands() {
    let site = begun().await;
    let lot = vec![("full", "11"), ("good", "11"), ("reason", "miscounted")];
    for (path, fields, said) in [
        (
            "poured",
            vec![],
            "being weighed out; weigh everything first",
        ),
        ("count", vec![("full", "11")], "pour first, then count"),
        ("demould", vec![], "pour first"),
        (
            "units",
            vec![("weights", "1.5")],
            "pour first, then weigh units",
        ),
        ("finish", vec![("good", "11")], "count the units first"),
        ("lot", lot, "finish the lot first"),
    ] {
        let before = facts(&site);
        site.post(&format!("/pour/1/{path}"), &fields)
            .await
            .is(StatusCode::CONFLICT)
            .says(said);
        assert_eq!(facts(&site), before, "{path}");
    }
    site.post("/pour/9/demould", &[])
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no such pour");
}
