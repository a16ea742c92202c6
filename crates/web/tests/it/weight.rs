//! What a good may be said to weigh.

use axum::http::StatusCode;

use crate::made;
use crate::site::Site;

/// Bars of 1.5 to 1.6 oz: common practice, no source.
const WEIGHTS: &str = "1.50, 1.52, 1.53, 1.54, 1.55, 1.55, 1.56, 1.57, 1.58, 1.59, 1.60";

async fn weighed() -> Site {
    let site = made::bars(true).await;
    site.post("/rack/1/units", &[("weights", WEIGHTS)])
        .await
        .went("/rack/1");
    site
}

#[tokio::test]
async fn a_lot_not_weighed_is_sent_to_the_scale() {
    let site = made::bars(true).await;
    site.get("/rack/1/weight")
        .await
        .is(StatusCode::OK)
        .says("none of this lot was weighed yet")
        .says("Weigh some units");
    site.get("/rack/good/1/weight")
        .await
        .is(StatusCode::OK)
        .says("Weigh twelve of its next lot, bare.");
    site.get("/rack/7/weight").await.is(StatusCode::NOT_FOUND);
    site.get("/rack/good/7/weight")
        .await
        .is(StatusCode::NOT_FOUND);
}

/// Own arithmetic: the mean of the eleven is 1.5536 oz, their spread 0.0301 oz;
/// with t(0.99; 10) = 2.764 and 11 in a lot 1.5536 − 2.764 × 0.0301 ×
/// √(1/11 + 1/11) is 1.518, less what the scale of 0.1 oz may be off.
#[tokio::test]
async fn the_bars_carry_one_and_a_half() {
    let site = weighed().await;
    let page = site.get("/rack/1/weight").await;
    page.is(StatusCode::OK)
        .says("What may I say it weighs? Lot 261004-1 · Harbour Fig bar 1.5 oz 42 g")
        .says("On the label: NET WT 1.5 OZ (42 g)")
        .says("Rests on 11 units of this lot alone.")
        .says("Declare 1.5 oz")
        .says("11 snap bars weigh 1.55 oz on average");
    assert_eq!(page.stands_in("scale"), "0.01 oz");
    assert_eq!(page.stands_in("lot_size"), "11");
    site.get("/rack/1").await.says("What may I say it weighs?");
    let declared = [("rule", "US"), ("declared", "1.5 oz")];
    site.post("/rack/1/declare", &declared)
        .await
        .went("/rack/1/weight");
    site.get("/rack/1/weight")
        .await
        .says("declared It is what Harbour Fig bar's label says.")
        .says("United States: 1.5 oz meets Yes: the average is 1.554 oz, 0.054 oz over 1.5 oz, and none of 11 is too light.")
        .says("European Union: 42 g tried, not declared there meets")
        .says("A unit holds 0.054 oz more than 1.5 oz.")
        .says("Aim at 1.5");
    site.get("/stall/good/1")
        .await
        .says("Says it weighs 1.5 oz in the United States");
}

#[tokio::test]
async fn twice_the_truth_asks_for_a_reason_and_fails_at_once() {
    let site = weighed().await;
    let three = [("rule", "US"), ("declared", "3 oz")];
    let asked = site.post("/rack/1/declare", &three).await;
    asked
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No unit weighed so far holds 3 oz: the heaviest weighs 1.60 oz");
    assert_eq!(asked.wrong_boxes(), ["declare_reason"]);
    let kept = [
        ("rule", "US"),
        ("declared", "3 oz"),
        ("declare_reason", "labels printed already"),
    ];
    site.post("/rack/good/1/declare", &kept)
        .await
        .went("/rack/good/1/weight");
    site.get("/rack/good/1/weight")
        .await
        .says("does not meet Its label says 3 oz in the United States. No: even the heaviest unit weighs only 1.600 oz, 1.400 oz short of 3 oz.")
        .says("1.5 oz 42 g")
        .says("Hold the lot")
        .says("so that each is too light: declare less.")
        .says("because: labels printed already");
    let back = [("rule", "US"), ("withdraw_reason", "labels thrown away")];
    site.post("/rack/good/1/withdraw", &back)
        .await
        .went("/rack/good/1/weight");
    site.get("/rack/good/1/weight")
        .await
        .says("No weight is declared yet.");
}

#[tokio::test]
async fn what_is_typed_moves_the_answer() {
    let site = weighed().await;
    site.get("/rack/1/weight?sold_in=EU&chance=90+%25&steps=1+g&scale=0.1+g")
        .await
        .is(StatusCode::OK)
        .says("43 g")
        .says("On the label: 43 g");
    site.get("/rack/1/weight?tried=3+oz")
        .await
        .says("United States: 3 oz tried, not declared there does not meet");
    site.get("/rack/1/weight?sold_in=UK+every&tried=40+g")
        .await
        .says("Great Britain, every unit at least: ");
    let page = site
        .get("/rack/1/weight?chance=12+%25&scale=x&lot_size=-3")
        .await;
    page.is(StatusCode::OK)
        .says("The figures follow as soon as this can be read:");
    assert_eq!(page.wrong_boxes(), ["scale", "lot_size"]);
}

#[tokio::test]
async fn wrappings_are_weighed_and_taken_off() {
    let site = made::bars(true).await;
    let tares = [("of", "3"), ("tares", "1.0 g; 1.1 g; 0.9 g")];
    site.post("/rack/good/1/tares", &tares)
        .await
        .went("/rack/good/1/weight#tares");
    let wrapped = [("wrapped", "45 g; 46 g; 45.5 g; 44.8 g; 45.2 g")];
    site.post("/rack/1/wrapped", &wrapped)
        .await
        .went("/rack/1/weight");
    site.get("/rack/1/weight")
        .await
        .says("Rests on 5 units of this lot alone. Weighed in the wrapping, whose own weight is taken off.")
        .says("5 snap bars weigh 1.56 oz on average");
    let wrong = site
        .post("/rack/good/1/tares", &[("of", ""), ("tares", "x")])
        .await;
    wrong.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.wrong_boxes(), ["tares"]);
}

#[tokio::test]
async fn the_maker_the_date_and_the_number() {
    let site = made::bars(true).await;
    site.get("/label/settings")
        .await
        .says("Who makes it?")
        .says("nothing is kept yet");
    let maker = [
        ("maker_name", "Quillfen Wax Works"),
        ("maker_address", "3 Quarry Lane\r\nPort Averin"),
        ("maker_contact", "call us"),
        ("maker_country", "IE"),
    ];
    let wrong = site.post("/label/maker", &maker).await;
    wrong.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.wrong_boxes(), ["maker_contact"]);
    let mut right = maker;
    right[2].1 = "hello@quillfen.example";
    site.post("/label/maker", &right)
        .await
        .went("/label/settings");
    site.get("/label/settings")
        .await
        .says("As front labels and papers name you.")
        .does_not_say("nothing is kept yet");
    let names = [("months", "12"), ("gtin", "6291041500214")];
    let wrong = site.post("/stall/good/1/names", &names).await;
    wrong
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("the last digit is 3");
    let names = [("months", "12"), ("gtin", "629 1041 500213")];
    site.post("/stall/good/1/names", &names)
        .await
        .went("/stall/good/1");
    site.get("/stall/good/1")
        .await
        .says("12 months from pouring")
        .says("6291041500213");
}
