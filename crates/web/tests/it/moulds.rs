use app::forms::{self, Filled};
use axum::http::StatusCode;

use crate::made;
use crate::site::{Site, query};

#[tokio::test]
async fn a_place_without_moulds_names_the_first_verb() {
    let site = Site::set_up().await;
    site.get("/bench/moulds")
        .await
        .is(StatusCode::OK)
        .says("Moulds and vessels live here")
        .says("Enter a mould");
    site.get("/bench/mould/7")
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no such mould");
}

#[tokio::test]
async fn a_mould_is_entered_and_says_what_it_does_not_know() {
    let site = Site::set_up().await;
    let mould = [
        ("name", "twelve small bars"),
        ("format", "snap_bar"),
        ("cavities", "12"),
    ];
    site.post("/bench/mould/new", &mould)
        .await
        .went("/bench/mould/1");
    site.get("/bench/mould/1")
        .await
        .is(StatusCode::OK)
        .says("How much do I melt?")
        .says("Not known yet.");
    site.get("/bench/moulds")
        .await
        .says("twelve small bars snap bar · 12 cavities not poured into yet");
}

#[tokio::test]
async fn problems_stand_beside_their_boxes_and_what_was_typed_is_kept() {
    let site = Site::set_up().await;
    let mould = [
        ("name", "twelve small bars"),
        ("format", "snap_bar"),
        ("cavities", "a dozen"),
        ("line_volume", "84 parsecs"),
        ("nominal", "1.5"),
    ];
    let page = site.post("/bench/mould/new", &mould).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["cavities", "line_volume"]);
    assert_eq!(page.stands_in("name"), "twelve small bars");
    assert_eq!(page.stands_in("line_volume"), "84 parsecs");
    assert_eq!(page.stands_in("nominal"), "1.5");
}

#[tokio::test]
async fn a_nominal_weight_alone_gives_a_first_answer_with_its_doubt() {
    let site = Site::set_up().await;
    let mould = [
        ("name", "twelve small bars"),
        ("format", "snap_bar"),
        ("cavities", "12"),
        ("nominal", "1.5 oz"),
    ];
    site.post("/bench/mould/new", &mould)
        .await
        .went("/bench/mould/1");
    site.get("/bench/mould/1")
        .await
        .says("Nine times in ten between")
        .says("Rests on no pour yet, only on what was assumed.")
        .says("1.50 oz, as the mould is named")
        .says("Working");
}

#[tokio::test]
async fn a_pour_moves_the_answer_and_stands_in_the_history() {
    let site = made::bars(true).await;
    let page = site.get("/bench/mould/1").await;
    page.is(StatusCode::OK)
        .says("Rests on 1 pour.")
        .says("17.9 oz")
        .says("11 of 12")
        .does_not_say("Not known yet.");
    assert_eq!(page.stands_in("wanted"), "12");
    assert_eq!(page.stands_in("chance"), "90 %");
    let next = "href=\"/pour/new?mould=1&amp;wanted=12&amp;chance=90+%25&amp;melt=";
    let melt = page.html.split(next).nth(1).unwrap();
    let melt = melt.split('"').next().unwrap().replace('+', " ");
    page.says(&melt);
    let pour = site
        .get(&format!(
            "/pour/new?{}",
            query(&[("mould", "1"), ("wanted", "12"), ("melt", &melt)])
        ))
        .await;
    assert_eq!(pour.stands_in("melt"), melt);
    pour.says(&melt)
        .says("12-bar mould")
        .says("Enough for 12 with a chance of 90 %.");
    site.get("/pour/new?mould=1&wanted=12&chance=90+%25")
        .await
        .is(StatusCode::OK)
        .says("Rests on 1 pour.");
    page.says("11 of 12 filled; 12 needs about");

    let weights = [("weights", "1.5 oz, 1.6 oz")];
    forms::weigh_units(
        &site.app,
        "test",
        workshop::facts::PourId(1),
        &Filled::of(weights),
    )
    .unwrap();
    site.get("/bench/mould/1").await.says("1.55 oz");
}

#[tokio::test]
async fn a_melt_of_ones_own_says_what_it_fills() {
    let site = made::bars(true).await;
    let asked = query(&[("wanted", "12"), ("chance", "95 %"), ("melt", "40 oz")]);
    site.get(&format!("/bench/mould/1?{asked}"))
        .await
        .is(StatusCode::OK)
        .says("40 oz is enough for 12 more than 99 times in 100.")
        .says("40 oz most likely fills 12 snap bars");
}

#[tokio::test]
async fn a_question_that_cannot_be_read_is_said_beside_its_box() {
    let site = made::bars(true).await;
    let asked = query(&[("wanted", "-3"), ("chance", "100 %"), ("melt", "heavy")]);
    let page = site.get(&format!("/bench/mould/1?{asked}")).await;
    page.is(StatusCode::OK);
    assert_eq!(page.wrong_boxes(), ["wanted", "chance", "melt"]);
    assert_eq!(page.stands_in("melt"), "heavy");
}
