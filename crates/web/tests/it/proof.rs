//! A label before it is printed, its sheet, and where the goods go.

use axum::http::{StatusCode, header};

use crate::made;
use crate::site::Site;

async fn with_a_sheet_on_hand() -> Site {
    let site = made::bars(true).await;
    let stock = [
        ("stock_name", "10 strips, letter"),
        ("page", "letter"),
        ("label_width", "4 in"),
        ("label_height", "2 in"),
        ("columns", "2"),
        ("rows", "5"),
        ("outline", "rectangle"),
    ];
    site.post("/label/stocks", &stock)
        .await
        .went("/label/stocks");
    site
}

#[tokio::test]
async fn a_proof_names_what_is_missing_beside_the_checklist() {
    let site = with_a_sheet_on_hand().await;
    site.get("/label/good/1/proof")
        .await
        .is(StatusCode::OK)
        .says("is its label right?")
        .says("proof, not for sale")
        .says("Nobody has said where the goods are sold")
        .says("The checklist")
        .says("10 strips, letter");
    site.get("/label/good/1/proof?layout=ribbon&part=front&stock=typed&width=3+in&height=2+in")
        .await
        .is(StatusCode::OK)
        .says("As it will be printed");
    let picture = site.get("/label/good/1/proof/svg?layout=plate").await;
    assert_eq!(picture.headers[header::CONTENT_TYPE], "image/svg+xml");
    assert!(picture.html.starts_with("<svg"));
    // A size that cannot be read keeps what was typed and says what is wrong.
    site.get("/label/good/1/proof?shape=round&width=wide")
        .await
        .is(StatusCode::OK)
        .says("The figures follow as soon as this can be read");
    site.get("/label/good/9/proof")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_sheet_is_a_pdf_and_says_which_place_comes_next() {
    let site = with_a_sheet_on_hand().await;
    site.get("/label/sheet")
        .await
        .is(StatusCode::OK)
        .says("How many");
    let query = "run%5B0%5D.product=1&run%5B0%5D.count=4&start=3";
    site.get(&format!("/label/sheet?{query}"))
        .await
        .is(StatusCode::OK)
        .says("4 labels on 1 sheet.")
        .says("places from 7 on stay free");
    let shown = site.get(&format!("/label/sheet/pdf?{query}")).await;
    assert_eq!(shown.status, StatusCode::OK);
    assert_eq!(shown.headers[header::CONTENT_TYPE], "application/pdf");
    assert!(shown.html.starts_with("%PDF-"));
    site.get("/label/sheet/pdf?run%5B0%5D.product=1&run%5B0%5D.count=none")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("That is no number of labels");
    let page = site.get("/label/calibration?stock=1").await;
    assert_eq!(page.headers[header::CONTENT_TYPE], "application/pdf");
    site.get("/label/calibration?stock=7")
        .await
        .is(StatusCode::NOT_FOUND);
    // What is not ready is printed, and not counted.
    let printed = [("run[0].product", "1"), ("run[0].count", "4")];
    site.post("/label/sheet/printed", &printed)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("is a proof, not for sale");
}

#[tokio::test]
async fn a_destination_is_kept_and_asked_about() {
    let site = with_a_sheet_on_hand().await;
    site.post("/label/destination/1", &[("destination_name", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nowhere is chosen");
    let details = [
        ("destination_name", "Hollin Abbey shop"),
        ("market", "US"),
        ("language", "en"),
        ("supplier_name", "Quillfen Wax Works"),
        ("address", "3 Quarry Lane, Port Averin"),
        ("marks", "Made in Port Averin\n"),
    ];
    site.post("/label/destination/1", &details)
        .await
        .went("/label/destination/1");
    site.get("/label/destinations")
        .await
        .says("Hollin Abbey shop");
    site.get("/label/destination/1")
        .await
        .says("Hollin Abbey shop: what does a label for there say?")
        .says("Made in Port Averin")
        .says("not asked for");
    site.get("/label/good/1/proof?to=1")
        .await
        .says("Goes to: Hollin Abbey shop")
        .says("The net weight is not declared by the rules of the United States");
    site.get("/label/destination/9")
        .await
        .is(StatusCode::NOT_FOUND);
    site.get("/label/where").await.is(StatusCode::OK);
}
