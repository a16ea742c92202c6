//! Papers over the web: as files, as pictures, and asked for in a form.

use app::paper::About;
use axum::http::{StatusCode, header};

use crate::made::bars;
use crate::site::{Shown, Site, query};

#[track_caller]
fn kind(shown: &Shown) -> &str {
    shown.headers[header::CONTENT_TYPE].to_str().unwrap()
}

#[track_caller]
fn is_pdf(shown: &Shown) {
    shown.is(StatusCode::OK);
    assert_eq!(kind(shown), "application/pdf");
    assert!(shown.html.starts_with("%PDF-"));
    let shown_inline = shown.headers[header::CONTENT_DISPOSITION].to_str().unwrap();
    assert!(shown_inline.starts_with("inline; "), "{shown_inline}");
    assert_eq!(shown.headers[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
}

#[tokio::test]
async fn every_paper_is_listed_and_asked_for_in_a_form() {
    let site = bars(true).await;
    let list = site.get("/print").await;
    for paper in app::paper::all() {
        list.says(paper.title);
        let ask = format!("/print/{}/ask", paper.name);
        assert!(list.html.contains(&format!("href=\"{ask}\"")), "{ask}");
        let form = site.get(&ask).await;
        form.is(StatusCode::OK);
        // Of what is not there yet, the page says what comes first.
        if matches!(paper.about, About::Order | About::Invoice) {
            form.says("yet").does_not_say("Open the PDF");
            continue;
        }
        form.says("Open the PDF");
        for field in paper.about.fields() {
            assert!(form.html.contains(&format!("name=\"{field}\"")), "{ask}");
        }
        for given in paper.takes {
            form.says(given.label);
        }
    }
}

#[tokio::test]
async fn a_paper_is_a_pdf_and_its_first_page_a_picture() {
    let site = bars(true).await;
    for path in [
        "/print/pour-sheet?lot=1",
        "/print/batch-record?lot=1",
        "/print/care-card?product=1",
        "/print/price-signs",
        "/print/scent-list",
        "/print/price-list",
        "/print/line-sheet?trade=50+%25",
        "/print/packing-slip?to=The+Tide+Shop&line=1%3D12",
        "/print/recall-notice?lot=1",
        // As a form sends it: every box, most of them empty.
        "/print/recall-notice?lot=&supply=2&supplier-lot=&reason=&sold=&remedy=&language=&page=a4",
    ] {
        is_pdf(&site.get(path).await);
    }
    let picture = site.get("/print/pour-sheet?lot=1&as=svg").await;
    assert_eq!(kind(picture.is(StatusCode::OK)), "image/svg+xml");
    assert!(picture.html.contains("<svg"));
    site.get("/print/pour-sheet?lot=1&as=svg&number=9")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There is no such page; it has 1");
}

#[tokio::test]
async fn what_is_missing_or_cannot_be_printed_is_said_on_a_page() {
    let site = bars(true).await;
    site.get("/print/poursheet")
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no such document")
        .says("pour-sheet");
    site.get("/print/pour-sheet?lot=99")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There is no such lot")
        .says("the latest are");
    let candle = query(&[("to", "Tide Shop \u{1f56f}")]);
    site.get(&format!("/print/packing-slip?{candle}"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("U+1F56F")
        .says("take it out");
    let marked = query(&[("to", "<b>&\"Tide\"</b>"), ("line", "nothing=1")]);
    let shown = site.get(&format!("/print/packing-slip?{marked}")).await;
    shown
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There is no such good");
    assert!(!shown.html.contains("<b>"), "{}", shown.html);
}

#[tokio::test]
async fn an_empty_workshop_says_what_is_needed_first() {
    let site = Site::empty();
    site.get("/print/pour-sheet/ask")
        .await
        .says("Nothing was poured yet");
    site.get("/print/care-card/ask")
        .await
        .says("Nothing that is sold is written down yet");
    is_pdf(&site.get("/print/scent-list").await);
    is_pdf(&site.get("/print/packing-slip").await);
}

#[tokio::test]
async fn the_buttons_stand_where_each_paper_belongs() {
    let site = bars(true).await;
    for (page, path) in [
        ("/pour/1", "/print/pour-sheet?lot=1"),
        ("/pour/1/sheet", "/print/pour-sheet?lot=1"),
        ("/rack/1", "/print/batch-record?lot=1"),
        ("/rack/1", "/print/recall-notice/ask?lot=1"),
        ("/stall", "/print/price-signs"),
        ("/stall", "/print/scent-list"),
        ("/stall/good/1", "/print/care-card?product=1"),
        ("/shelf/supply/2", "/print/recall-notice/ask?supply=2"),
        ("/", "/print"),
    ] {
        let shown = site.get(page).await;
        assert!(
            shown.html.contains(&format!("href=\"{path}\"")),
            "{path} on {page}"
        );
        site.get(path).await.is(StatusCode::OK);
    }
}
