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
        .says("Keep going with this much soy wax");
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
    site.post("/pour/2/give-up", &[("why", "begun twice")])
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

#[tokio::test]
async fn a_form_just_opened_holds_no_mistake_and_the_only_mould() {
    let site = begun().await;
    let page = site.get("/pour/new").await;
    page.is(StatusCode::OK)
        .says("Write how much to melt; after the first pour the mould knows.")
        .does_not_say("Nothing was written down yet");
    assert!(!page.html.contains("role=\"alert\""));
    assert!(page.wrong_boxes().is_empty());
    assert!(
        page.html
            .contains("<option value=\"1\" selected>12-bar mould</option>")
    );
    // No mould is a choice as well, and stands.
    let page = site.get("/pour/new?formula=1&mould=&melt=").await;
    assert!(page.html.contains("<option value=\"\" selected>no mould"));
    assert!(!page.html.contains("role=\"alert\""));
    // What was sent and cannot be weighed is refused beside its box.
    let page = site.post("/pour/new", &[("mould", "1")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nothing says yet how much these units take");
    assert_eq!(page.wrong_boxes(), ["melt"]);
    let page = site.get("/pour/new?melt=heavy").await;
    page.says("Nothing was worked out yet");
    assert_eq!(page.wrong_boxes(), ["melt"]);
}

#[tokio::test]
async fn the_sheet_of_a_kept_slip_says_plan_target_weight_and_difference() {
    let site = begun().await;
    site.get("/pour/1/sheet")
        .await
        .says("soy wax 16.7 oz 16.7 oz 16.7 oz ☐")
        .does_not_say("☑");
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "17.7")]),
        ("slip", vec![("choice", "keep_going")]),
    ] {
        let done = site.post(&format!("/pour/1/{path}"), &fields).await;
        done.went("/pour/1");
    }
    // Plan, target, pot, weighed, difference.
    site.get("/pour/1/sheet")
        .await
        .says("Plan Target Pot reads Really weighed Difference In")
        .says("soy wax 16.7 oz 16.7 oz 17.7 oz 17.7 oz +1.0 oz ☑")
        .says("Harbour Fig oil 2.0 oz 2.0 oz 19.7 oz ☐")
        .says("12 % of wax is 2.0 oz of oil here");
}

#[tokio::test]
async fn the_sheet_of_a_scaled_pour_says_what_was_aimed_at() {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.2")]),
        ("slip", vec![("choice", "scale_the_rest")]),
    ] {
        let done = site.post(&format!("/pour/1/{path}"), &fields).await;
        done.went("/pour/1");
    }
    // 16.7 × 2.2 ÷ 2.0 is 18.4.
    site.get("/pour/1/sheet")
        .await
        .says("soy wax 16.7 oz 18.4 oz 16.7 oz 16.7 oz −1.7 oz ☑")
        .says("Harbour Fig oil 2.0 oz 2.0 oz 18.9 oz 2.2 oz +0.2 oz ☑");
    let more = [("portion", "0"), ("weight", "1.7")];
    site.post("/pour/1/add", &more).await.went("/pour/1");
    site.get("/pour/1/sheet")
        .await
        .says("soy wax 16.7 oz 18.4 oz 18.4 oz 18.4 oz 0.0 oz ☑");
}

/// Weighed and poured, waiting for its count.
async fn poured() -> Site {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.0")]),
        ("poured", vec![]),
    ] {
        let done = site.post(&format!("/pour/1/{path}"), &fields).await;
        done.went("/pour/1");
    }
    site
}

#[tokio::test]
async fn more_than_the_mould_has_is_asked_about_and_then_taken() {
    let site = poured().await;
    let before = facts(&site);
    let count = |full, sure| [("full", full), ("left", "0.4"), ("sure_full", sure)];
    site.get("/pour/1")
        .await
        .says("the mould has 12 cavities")
        .does_not_say("more than one fill");
    // An answer to another number is no answer.
    for sure in ["", "14"] {
        let page = site.post("/pour/1/count", &count("13", sure)).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("One fill of 12-bar mould gives 12, and 13 were counted")
            .says("Yes, 13 of 12: poured more than one fill");
        assert_eq!(page.wrong_boxes(), ["sure_full"]);
        assert_eq!(page.stands_in("sure_full"), "13");
        assert_eq!(page.stands_in("full"), "13");
        assert_eq!(page.stands_in("left"), "0.4");
    }
    assert_eq!(facts(&site), before);
    site.post("/pour/1/count", &count("13", "13"))
        .await
        .went("/pour/1");
    site.get("/pour/1").await.says("13 of 12 filled");
    // Put right, and finished, it is asked again where it is more again.
    let more = [("full", "26"), ("reason", "two fills"), ("left", "0")];
    let page = site.post("/pour/1/count", &more).await;
    assert_eq!(page.wrong_boxes(), ["sure_full"]);
    let finish = [("good", "13")];
    site.post("/pour/1/finish", &finish).await.went("/pour/1");
    let lot = [more.as_slice(), &[("good", "26"), ("part", "none")]].concat();
    let page = site.post("/pour/1/lot", &lot).await;
    assert_eq!(page.wrong_boxes(), ["sure_full"]);
    let sure = [lot.as_slice(), &[("sure_full", "26")]].concat();
    site.post("/pour/1/lot", &sure).await.went("/pour/1");
}

#[tokio::test]
async fn a_pour_meant_for_two_fills_is_not_asked_about() {
    let site = poured().await;
    let pour = [("mould", "1"), ("wanted", "24"), ("melt", "37.4")];
    site.post("/pour/new", &pour).await.went("/pour/2");
    let portions = site
        .app
        .look(|workshop| {
            let pour = workshop.pour(workshop::facts::PourId(2)).unwrap();
            pour.targets.iter().map(ToString::to_string).collect()
        })
        .unwrap();
    let portions: Vec<String> = portions;
    for (nth, weight) in portions.iter().enumerate() {
        let nth = nth.to_string();
        let weighed = [("portion", nth.as_str()), ("weight", weight)];
        site.post("/pour/2/weigh", &weighed).await.went("/pour/2");
    }
    site.post("/pour/2/poured", &[]).await.went("/pour/2");
    let count = [("full", "23"), ("left", "0")];
    site.post("/pour/2/count", &count).await.went("/pour/2");
}

#[tokio::test]
async fn a_weight_beyond_twice_the_plan_is_asked_about() {
    let site = begun().await;
    let before = facts(&site);
    let weighed = [("portion", "0"), ("weight", "167")];
    let page = site.post("/pour/1/weigh", &weighed).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("That is more than twice the 16.7 oz that were to go in")
        .says("Yes, 167 oz went in");
    assert_eq!(page.wrong_boxes(), ["sure_weight"]);
    assert_eq!(page.stands_in("weight"), "167");
    assert_eq!(page.stands_in("sure_weight"), "167");
    assert_eq!(facts(&site), before);
    let sure = [weighed.as_slice(), &[("sure_weight", "167")]].concat();
    site.post("/pour/1/weigh", &sure).await.went("/pour/1");
    // And where it is put right to another absurdity.
    let right = [("portion", "0"), ("weight", "1670"), ("reason", "misread")];
    let page = site.post("/pour/1/correct", &right).await;
    assert_eq!(page.wrong_boxes(), ["sure_weight"]);
    assert_eq!(page.stands_in("reason"), "misread");
    let right = [("portion", "0"), ("weight", "16.7"), ("reason", "misread")];
    site.post("/pour/1/correct", &right).await.went("/pour/1");
    // More of something to keep the formula is asked about as well.
    for (path, fields) in [
        ("weigh", vec![("portion", "1"), ("weight", "2.2")]),
        ("slip", vec![("choice", "scale_the_rest")]),
    ] {
        let done = site.post(&format!("/pour/1/{path}"), &fields).await;
        done.went("/pour/1");
    }
    let more = [("portion", "0"), ("weight", "17")];
    let page = site.post("/pour/1/add", &more).await;
    page.says("more than twice the 1.7 oz");
    assert_eq!(page.wrong_boxes(), ["sure_weight"]);
}

#[tokio::test]
async fn a_pot_that_cannot_be_read_is_named_at_its_own_box() {
    let site = begun().await;
    let page = site.post("/pour/1/pot", &[("pot", "heavy")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["pot"]);
    assert_eq!(page.stands_in("pot"), "heavy");
    assert_eq!(page.stands_in("weight"), "");
    site.post("/pour/1/pot", &[("pot", "12.5")])
        .await
        .went("/pour/1");
    site.get("/pour/1").await.says("the pot itself is 12.5 oz");
}

#[tokio::test]
async fn giving_up_without_a_word_is_named_at_its_own_box() {
    let site = counted().await;
    let page = site.post("/pour/1/give-up", &[("why", "")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["why"]);
}

#[tokio::test]
async fn what_the_scale_cannot_show_is_said_to_be_rounded() {
    let site = Site::empty();
    let finer = [
        ("wax", "soy wax"),
        ("oil", "Harbour Fig oil"),
        ("load", "12 % of wax"),
        ("by", "wax"),
        ("amount", "16.68 oz"),
        ("readability", "0.01 oz"),
        ("workshop", "Quillfen Wax Works"),
        ("currency", "USD"),
    ];
    site.post("/quick/keep", &finer).await.went("/pour/1");
    // The pour was planned on a finer scale than the one used now.
    let settings = [
        ("name", "Quillfen Wax Works"),
        ("system", "us"),
        ("currency", "USD"),
        ("decimal_mark", "point"),
        ("readability", "0.1 oz"),
    ];
    let kept = site.post("/settings", &settings).await;
    kept.went("/settings?kept=yes");
    let weighed = [("portion", "0"), ("weight", "16.74")];
    site.post("/pour/1/weigh", &weighed).await.went("/pour/1");
    // 16.68 and 2.00 are 18.68, and 18.74 with 0.06 too much: both 18.7.
    site.get("/pour/1")
        .await
        .says("0.06 oz too much soy wax went in.")
        .says("the pour still comes to 18.7 oz, rounded")
        .does_not_say("from 18.7 oz to 18.7 oz")
        .does_not_say("18.7 oz instead of 18.7 oz");
}

#[tokio::test]
async fn finishing_takes_the_weights_typed_on_the_same_page() {
    let site = counted().await;
    let page = site.get("/pour/1").await;
    let forms = page
        .html
        .split("<form ")
        .filter(|form| form.contains("name=\"weights\""));
    for form in forms {
        assert!(form.contains("name=\"good\"") && form.contains("name=\"reason\""));
    }
    // What cannot be read finishes nothing and loses nothing.
    let before = facts(&site);
    let wrong = [
        ("weights", "1.5, parsecs"),
        ("good", "11"),
        ("minutes", "40"),
    ];
    let page = site.post("/pour/1/finish", &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["weights"]);
    assert_eq!(page.stands_in("weights"), "1.5, parsecs");
    assert_eq!(page.stands_in("minutes"), "40");
    assert_eq!(facts(&site), before);
    // What cannot be finished adds no weights either.
    let wrong = [("weights", "1.5, 1.6"), ("good", "14")];
    let page = site.post("/pour/1/finish", &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.stands_in("weights"), "1.5, 1.6");
    assert_eq!(facts(&site), before);
    let right = [("weights", "1.5, 1.6"), ("good", "11"), ("minutes", "40")];
    site.post("/pour/1/finish", &right).await.went("/pour/1");
    site.get("/rack/1")
        .await
        .says("Rests on 2 units of this lot alone.");
}

#[tokio::test]
async fn finishing_takes_the_count_put_right_on_the_same_page() {
    let site = counted().await;
    let typed = [
        ("full", "10"),
        ("reason", "one was chipped"),
        ("good", "10"),
    ];
    site.post("/pour/1/finish", &typed).await.went("/pour/1");
    site.get("/pour/1")
        .await
        .says("10 good units on the rack")
        .says("10 of 12 filled");
}

#[tokio::test]
async fn every_other_button_carries_what_is_typed_on() {
    let site = counted().await;
    let typed = [
        ("weights", "1.5, 1.6"),
        ("good", "10"),
        ("seconds", "1"),
        ("minutes", "40 min"),
    ];
    let page = site.post("/pour/1/units", &typed).await;
    page.went("/pour/1?good=10&seconds=1&minutes=40%20min");
    let page = site.get(&page.to).await;
    assert_eq!(page.stands_in("weights"), "");
    assert_eq!(page.stands_in("good"), "10");
    assert_eq!(page.stands_in("minutes"), "40 min");
    let page = site.post("/pour/1/demould", &typed).await;
    let page = site.get(&page.to).await;
    assert_eq!(page.stands_in("weights"), "1.5, 1.6");
    assert_eq!(page.stands_in("seconds"), "1");
    let typed = [
        ("full", "10"),
        ("reason", "one was chipped"),
        ("weights", "1.5"),
    ];
    site.post("/pour/1/count", &typed)
        .await
        .went("/pour/1?weights=1.5");
}

#[tokio::test]
async fn the_pot_and_the_weight_do_not_lose_each_other() {
    let site = begun().await;
    let typed = [("portion", "0"), ("weight", "16.7"), ("pot", "20")];
    let page = site.post("/pour/1/pot", &typed).await;
    page.went("/pour/1?weight=16.7");
    assert_eq!(site.get(&page.to).await.stands_in("weight"), "16.7");
    let typed = [("portion", "0"), ("weight", "16.7"), ("pot", "21")];
    site.post("/pour/1/weigh", &typed).await.went("/pour/1");
    site.get("/pour/1")
        .await
        .says("Pot reads 37.7 oz , then 39.7 oz");
    let before = facts(&site);
    let pot = [("portion", "1"), ("weight", ""), ("pot", "20")];
    site.post("/pour/1/weigh", &pot).await.went("/pour/1");
    assert_eq!(facts(&site), before + 1);
}

#[tokio::test]
async fn the_last_addition_is_taken_before_keeping_going() {
    let site = begun().await;
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.2")]),
        ("slip", vec![("choice", "scale_the_rest")]),
        (
            "slip",
            vec![
                ("choice", "keep_going"),
                ("portion", "0"),
                ("weight", "0.9"),
            ],
        ),
    ] {
        site.post(&format!("/pour/1/{path}"), &fields)
            .await
            .went("/pour/1");
    }
    site.get("/pour/1")
        .await
        .says("Everything is in. Pour.")
        .says("soy wax 16.7 oz 17.6 oz");
}

/// 16.7 oz of wax are in the pot, and it reads 18.8 oz with 2.1 oz of oil.
#[tokio::test]
async fn the_reading_of_the_whole_pot_is_asked_about() {
    let site = begun().await;
    site.post("/pour/1/weigh", &[("portion", "0"), ("weight", "16.7")])
        .await
        .went("/pour/1");
    site.get("/pour/1")
        .await
        .says("Harbour Fig oil alone, not the whole pot");
    let reading = [("portion", "1"), ("weight", "18.8")];
    let page = site.post("/pour/1/weigh", &reading).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Did you mean 2.1 oz of Harbour Fig oil?")
        .says("Take 2.1 oz");
    // The box to tick and its words share a line.
    assert!(
        page.html
            .contains("<label class=\"choice\" for=\"f-sure_weight\">")
    );
    assert!(page.html.contains("name=\"as_planned\" value=\"2.1 oz\""));
    let taken = [
        ("portion", "1"),
        ("weight", "18.8"),
        ("as_planned", "2.1 oz"),
    ];
    site.post("/pour/1/weigh", &taken).await.went("/pour/1");
    site.get("/pour/1")
        .await
        .says("0.1 oz too much Harbour Fig oil");
}

#[tokio::test]
async fn what_may_stay_empty_at_the_pour_says_so() {
    let site = begun().await;
    for (at, weight) in [("0", "16.7"), ("1", "2.0")] {
        site.post("/pour/1/weigh", &[("portion", at), ("weight", weight)])
            .await
            .went("/pour/1");
    }
    let page = site.get("/pour/1").await;
    page.says("an extinguisher for burning liquids (class B)")
        .says("It writes nothing down and may be left.");
    assert_eq!(page.text().matches("may stay empty").count(), 2);
}

/// 2.0 of 16.7 is 12.0 % (10.7 % of 18.7), 2.1 is 12.6 % (11.2 % of 18.8).
#[tokio::test]
async fn a_small_slip_is_calm_and_says_each_load_once() {
    let site = begun().await;
    for (at, weight) in [("0", "16.7"), ("1", "2.1")] {
        site.post("/pour/1/weigh", &[("portion", at), ("weight", weight)])
            .await
            .went("/pour/1");
    }
    let page = site.get("/pour/1").await;
    page.says("Pour it with this much Harbour Fig oil")
        .says("The load becomes 12.6 % of wax (11.2 % of the melt) instead of 12.0 % of wax (10.7 % of the melt)")
        .does_not_say("as weighed");
    assert!(page.html.contains("<h1 class=\"what calm\">"));
    let site = begun().await;
    site.post("/pour/1/weigh", &[("portion", "0"), ("weight", "17.7")])
        .await
        .went("/pour/1");
    assert!(
        site.get("/pour/1")
            .await
            .html
            .contains("<h1 class=\"what\">")
    );
}

#[tokio::test]
async fn the_bar_is_written_as_finely_as_the_scale_reads() {
    begun().await.get("/pour/1").await.does_not_say("16.70 oz");
}

#[tokio::test]
async fn a_finished_pour_of_which_none_was_weighed_offers_it() {
    let site = counted().await;
    site.post("/pour/1/finish", &[("good", "11")])
        .await
        .went("/pour/1");
    let offered = "<a class=\"button\" href=\"/rack/1#f-weights\">";
    assert!(site.get("/pour/1").await.html.contains(offered));
    site.post("/rack/1/units", &[("weights", "1.5, 1.6")])
        .await
        .went("/rack/1");
    assert!(!site.get("/pour/1").await.html.contains(offered));
}
