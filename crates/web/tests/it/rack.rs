use app::forms::{self, Filled};
use axum::http::StatusCode;
use workshop::facts::PourId;

use crate::made;
use crate::site::Site;

const LOT: PourId = PourId(1);

#[tokio::test]
async fn an_empty_rack_names_the_first_verb() {
    let site = Site::set_up().await;
    site.get("/rack")
        .await
        .is(StatusCode::OK)
        .says("Nothing has been poured yet.")
        .says("Start a pour");
    site.get("/rack/7")
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no such lot");
}

#[tokio::test]
async fn a_curing_lot_may_not_be_sold_yet() {
    let site = made::bars(true).await;
    site.get("/rack")
        .await
        .is(StatusCode::OK)
        .says("No lot may be sold yet.")
        .says("1 curing, the next ready on 7 Oct 2026.")
        .says("Lot 261004-1 Harbour Fig bar · 11 good curing 3 days more, 7 Oct 2026");
    site.get("/rack/1")
        .await
        .is(StatusCode::OK)
        .says("May this lot be sold? Lot 261004-1 · Harbour Fig bar Not yet. Curing until 7 Oct 2026. 3 days more.")
        .says("11 good");
}

#[tokio::test]
async fn the_rack_says_how_many_of_a_lot_are_left() {
    let site = made::bars(true).await;
    let given = [("place", "rack"), ("units[1]", "4"), ("how", "given")];
    site.post("/rack/count/aside", &given)
        .await
        .went("/rack/count?place=rack");
    site.get("/rack")
        .await
        .says("Harbour Fig bar · 7 of 11 good left curing");
    site.get("/rack/1")
        .await
        .says("11 good")
        .says("7 good left on the rack");
}

#[tokio::test]
async fn unit_weights_are_added_shown_and_struck_with_a_reason() {
    let site = made::bars(true).await;
    site.get("/rack/1").await.says("No unit was weighed yet.");
    site.post("/rack/1/units", &[("weights", "1.5, 1.6 oz; 1.9")])
        .await
        .went("/rack/1");
    site.get("/rack/1")
        .await
        .says("3 snap bars weigh 1.67 oz on average")
        .says("Rests on 3 units of this lot alone.")
        .says("The next unit of this lot weighs");

    let page = site.get("/rack/1/strike?nth=2").await;
    page.is(StatusCode::OK)
        .says("Was this weight wrong? 1.9 oz");
    let page = site
        .post("/rack/1/strike", &[("nth", "2"), ("reason", "")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["reason"]);
    let struck = [("nth", "2"), ("reason", "two on the scale")];
    site.post("/rack/1/strike", &struck).await.went("/rack/1");
    site.get("/rack/1")
        .await
        .says("Rests on 2 units of this lot alone.")
        .says("1.9 oz struck, counts no more");
    site.get("/rack/1/strike?nth=2")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_weight_that_cannot_be_read_is_said_beside_its_box() {
    let site = made::bars(true).await;
    let page = site
        .post("/rack/1/units", &[("weights", "1.5, 1.6.2 oz")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["weights"]);
    assert_eq!(page.stands_in("weights"), "1.5, 1.6.2 oz");
    page.says("No unit was weighed yet.");
}

#[tokio::test]
async fn a_lot_is_held_and_released_each_with_its_reason() {
    let site = made::bars(true).await;
    let page = site.post("/rack/1/hold", &[("reason", " ")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["reason"]);
    site.post("/rack/1/hold", &[("reason", "it sweats")])
        .await
        .went("/rack/1");
    site.get("/rack/1")
        .await
        .says("No. It is on hold. Why: it sweats")
        .says("Release it");
    site.get("/rack")
        .await
        .says("hold it sweats")
        .says("1 on hold.");
    site.post("/rack/1/hold", &[("reason", "again")])
        .await
        .is(StatusCode::CONFLICT)
        .says("it is held already");
    site.post("/rack/1/release", &[("reason", "it was only dew")])
        .await
        .went("/rack/1");
    site.get("/rack/1").await.says("Not yet. Curing");
}

#[tokio::test]
async fn what_is_missing_is_asked_about() {
    let site = made::bars(true).await;
    // 17.92 oz in, 11 bars of 1.5 oz: 1.42 oz or 7.9 % is in neither.
    let weights = Filled::of([("weights", "1.5 oz, 1.5 oz")]);
    forms::weigh_units(&site.app, "test", LOT, &weights).unwrap();
    site.get("/rack/1")
        .await
        .says("Not accounted for 1.42 oz , 7.9 %")
        .says("Drips, or jug not scraped?");
}

#[tokio::test]
async fn a_lot_leads_to_its_pour_cost_formula_mould_and_good() {
    let site = made::bars(true).await;
    let page = site.get("/rack/1").await;
    for path in [
        "/pour/1",
        "/books/lot/1",
        "/bench/formula/1",
        "/bench/mould/1",
        "/stall/good/1",
    ] {
        assert!(page.html.contains(&format!("href=\"{path}\"")), "{path}");
        site.get(path).await.is(StatusCode::OK);
    }
}

#[tokio::test]
async fn a_page_before_a_lot_shows_older_ones() {
    let site = made::bars(true).await;
    site.get("/rack?before=1")
        .await
        .is(StatusCode::OK)
        .says("What stood on the rack before?")
        .does_not_say("261004-1");
    site.get("/rack?before=2").await.says("261004-1");
    site.get("/rack?before=soon")
        .await
        .is(StatusCode::OK)
        .says("What may be sold?");
}

/// Conservation of mass: 11 bars of 90 oz are 990 oz, and 17.92 oz went in; as
/// many of 15 oz are 165 oz.
#[tokio::test]
async fn a_weight_that_does_not_fit_is_kept_only_with_a_reason() {
    let site = made::bars(true).await;
    site.get("/rack/1")
        .await
        .does_not_say("Why they are right all the same");
    let typed = [("weights", "1.6, 15")];
    for path in ["/rack/1/units", "/pour/1/units"] {
        let page = site.post(path, &typed).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("15.00 oz a unit does not fit: 11 of them are 165.00 oz, and 17.92 oz went in");
    }
    let page = site.post("/rack/1/units", &typed).await;
    assert_eq!(page.wrong_boxes(), ["weights_reason"]);
    assert_eq!(page.stands_in("weights"), "1.6, 15");
    let with_reason = [
        ("weights", "1.6, 15"),
        ("weights_reason", "ten bars melted together"),
    ];
    site.post("/rack/1/units", &with_reason)
        .await
        .went("/rack/1");
    site.get("/rack/1")
        .await
        .says("15 oz kept, because: ten bars melted together");
    site.get("/bench/mould/1")
        .await
        .says("15.00 oz a unit does not fit")
        .says("It counts here all the same, because: ten bars melted together.");
}

#[tokio::test]
async fn the_range_for_the_next_unit_is_never_below_nothing_and_says_what_it_rests_on() {
    let site = made::bars(true).await;
    let weights = Filled::of([("weights", "1.3 oz, 1.8 oz")]);
    forms::weigh_units(&site.app, "test", LOT, &weights).unwrap();
    site.get("/rack/1")
        .await
        .says("too far apart, to say what the next one weighs")
        .does_not_say("The next unit of this lot weighs")
        .says("rests on every pour of the mould");
    site.get("/bench/mould/1")
        .await
        .says("a lot's own page goes by its own units alone");
}

#[tokio::test]
async fn a_weight_shown_with_its_pour_can_be_struck_from_there() {
    let site = made::counted(true).await;
    site.post("/pour/1/units", &[("weights", "1.6 oz")])
        .await
        .went("/pour/1");
    let page = site.get("/pour/1").await;
    page.says("strike a wrong one");
    assert!(page.html.contains("href=\"/rack/1#weights\""));
    let page = site.get("/rack/1").await;
    page.is(StatusCode::OK);
    assert!(page.html.contains("id=\"weights\""));
}

#[tokio::test]
async fn an_empty_box_is_not_claimed_to_be_filled() {
    let site = Site::empty();
    let typed = [
        ("wax", "soy wax"),
        ("oil", "Harbour Fig oil"),
        ("load", "12 % of wax"),
        ("by", "wax"),
        ("amount", "16.7 oz"),
        ("readability", "0.1 oz"),
        ("mould", "12-bar mould"),
        ("cavities", "12"),
        ("currency", "USD"),
    ];
    site.post("/quick/keep", &typed).await.went("/pour/1");
    for (path, fields) in [
        ("weigh", vec![("portion", "0"), ("weight", "16.7")]),
        ("weigh", vec![("portion", "1"), ("weight", "2.0")]),
        ("poured", vec![]),
        ("count", vec![("full", "11")]),
        ("finish", vec![("good", "11"), ("weights", "1.5, 1.6")]),
    ] {
        site.post(&format!("/pour/1/{path}"), &fields)
            .await
            .went("/pour/1");
    }
    let page = site.get("/rack/1").await;
    page.says("No cure time was given.")
        .does_not_say("the cure is over")
        .does_not_say("Ready since")
        .says("Where did the melt go?")
        .does_not_say("Poured back");
    // Once some are weighed, weighing more is no longer the first thing to do.
    assert!(
        page.html
            .contains("<a class=\"button do\" href=\"/books/lot/1\">")
    );
    page.says("Weigh more units");
    let page = site.get("/bench/mould/1").await;
    page.does_not_say("3.0 % → 3.0 %");
}
