//! Forms that arrive twice, addresses that name nothing, journals that fail.

use axum::http::StatusCode;

use crate::made;
use crate::site::Site;

/// The word that a page put into the form sent to `action`.
fn word(html: &str, action: &str) -> String {
    let form = html
        .split("<form ")
        .find(|form| form.contains(&format!("action=\"{action}\"")))
        .unwrap_or_else(|| panic!("no form for {action} in {html}"));
    let value = form.split("name=\"once\" value=\"").nth(1).unwrap();
    value.split('"').next().unwrap().to_owned()
}

fn facts(site: &Site) -> u64 {
    site.app.look(workshop::Workshop::facts).unwrap()
}

/// Sends the form of a page twice, then once more from a page asked for anew.
async fn check(site: &Site, page: &str, fields: &[(&str, &str)], firsts: &str, seconds: &str) {
    let html = site.get(page).await.html;
    let once = word(&html, page);
    let with = |once| [fields, &[("once", once)]].concat();
    let before = facts(site);
    site.post(page, &with(&once)).await.went(firsts);
    let after = facts(site);
    assert!(after > before);
    site.post(page, &with(&once)).await.went(firsts);
    assert_eq!(facts(site), after, "nothing is written down again");
    let again = word(&site.get(page).await.html, page);
    site.post(page, &with(&again)).await.went(seconds);
    assert_eq!(facts(site), after + (after - before));
}

#[tokio::test]
async fn a_delivery_sent_twice_is_received_once() {
    let site = made::bars(false).await;
    let lines = [
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
    ];
    let (first, second) = ("/shelf/delivery/1", "/shelf/delivery/2");
    check(&site, "/shelf/receive", &lines, first, second).await;
}

#[tokio::test]
async fn a_formula_sent_twice_is_written_down_once() {
    let site = made::bars(false).await;
    let formula = [
        ("name", "Rainy Loft"),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "100"),
        ("oil", "2"),
        ("load", "8 % of wax"),
    ];
    let (first, second) = ("/bench/formula/2", "/bench/formula/3");
    check(&site, "/bench/formula/new", &formula, first, second).await;
}

#[tokio::test]
async fn a_pour_is_begun_once() {
    let site = made::bars(false).await;
    let pour = [("product", "1"), ("wanted", "12"), ("melt", "18 oz")];
    check(&site, "/pour/new", &pour, "/pour/2", "/pour/3").await;
}

#[tokio::test]
async fn a_page_one_came_back_to_takes_another_delivery() {
    let site = made::bars(false).await;
    let once = word(&site.get("/shelf/receive").await.html, "/shelf/receive");
    for (amount, to) in [
        ("10 lb", "/shelf/delivery/1"),
        ("5 lb", "/shelf/delivery/2"),
    ] {
        let lines = [
            ("once", once.as_str()),
            ("lines[0].supply", "1"),
            ("lines[0].amount", amount),
            ("lines[0].paid", "26.00"),
        ];
        site.post("/shelf/receive", &lines).await.went(to);
    }
}

#[tokio::test]
async fn a_refused_form_may_be_sent_again() {
    let site = Site::set_up().await;
    let once = word(&site.get("/shelf/new").await.html, "/shelf/new");
    let nameless = [("once", once.as_str()), ("kind", "wax"), ("name", "")];
    for _ in 0..2 {
        site.post("/shelf/new", &nameless)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY);
    }
    let named = [("once", once.as_str()), ("kind", "wax"), ("name", "soy")];
    site.post("/shelf/new", &named)
        .await
        .went("/shelf/supply/1");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_button_pressed_twice_at_once_counts_once() {
    let site = made::bars(false).await;
    let html = site.get("/shelf/receive").await.html;
    let once = word(&html, "/shelf/receive");
    let lines = [
        ("once", once.as_str()),
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
    ];
    let press = || site.post("/shelf/receive", &lines);
    let (a, b, c) = tokio::join!(press(), press(), press());
    for shown in [a, b, c] {
        shown.went("/shelf/delivery/1");
    }
    assert_eq!(
        site.app
            .look(|workshop| workshop.receipts().count())
            .unwrap(),
        1
    );
}

#[tokio::test]
async fn an_address_without_a_number_is_a_page_that_says_so() {
    let site = Site::set_up().await;
    for path in [
        "/pour/abc",
        "/pour/99999999999",
        "/pour/-1/sheet",
        "/rack/abc",
        "/shelf/supply/x",
        "/shelf/delivery/1/line/x",
        "/bench/formula/1.5",
        "/bench/mould/%FF",
        "/stall/good/abc",
        "/books/lot/abc",
    ] {
        let shown = site.get(path).await;
        shown
            .is(StatusCode::NOT_FOUND)
            .says("There is no such page");
    }
    site.post("/pour/abc/weigh", &[("weight", "1 oz")])
        .await
        .is(StatusCode::NOT_FOUND)
        .says("There is no such page");
}

#[tokio::test]
async fn every_page_says_whose_journal_it_is() {
    let site = Site::set_up().await;
    let mark = site.app.mark().unwrap();
    assert_eq!(mark.len(), 12);
    for path in ["/", "/shelf", "/nowhere"] {
        let html = site.get(path).await.html;
        assert!(html.contains(&format!("data-journal=\"{mark}\"")), "{path}");
    }
}

#[tokio::test]
async fn a_journal_that_cannot_be_read_is_said_to_be_that() {
    let site = Site::empty();
    site.write_raw("SupplyTransmuted", "{}");
    for path in ["/", "/shelf", "/pour/1", "/nowhere"] {
        site.get(path)
            .await
            .is(StatusCode::INTERNAL_SERVER_ERROR)
            .says("The journal cannot be read")
            .says("Record 1 of the journal cannot be understood");
    }
    site.post("/shelf/new", &[("kind", "wax"), ("name", "soy")])
        .await
        .is(StatusCode::INTERNAL_SERVER_ERROR)
        .says("The journal cannot be read");
}

#[tokio::test]
async fn every_step_of_a_pour_pressed_twice_is_taken_once() {
    let site = made::bars(false).await;
    let pour = [("product", "1"), ("wanted", "12"), ("melt", "17.92 oz")];
    site.post("/pour/new", &pour).await.went("/pour/2");
    for (step, fields) in [
        ("pot", vec![("pot", "12 oz")]),
        ("weigh", vec![("portion", "0"), ("weight", "16.5 oz")]),
        ("slip", vec![("choice", "scale_the_rest")]),
        ("weigh", vec![("portion", "1"), ("weight", "2 oz")]),
        ("poured", vec![("wax_at", "155 F")]),
        ("count", vec![("full", "11"), ("part", "none")]),
        ("demould", vec![]),
        ("units", vec![("weights", "1.5")]),
        ("finish", vec![("good", "11")]),
    ] {
        let action = format!("/pour/2/{step}");
        let once = word(&site.get("/pour/2").await.html, &action);
        let fields = [fields.as_slice(), &[("once", &once)]].concat();
        site.post(&action, &fields).await.went("/pour/2");
        let after = facts(&site);
        site.post(&action, &fields).await.went("/pour/2");
        assert_eq!(facts(&site), after, "{step}");
    }
}

#[tokio::test]
async fn another_button_of_the_same_form_is_another_form() {
    let site = made::bars(false).await;
    let pour = [("product", "1"), ("wanted", "12"), ("melt", "17.92 oz")];
    site.post("/pour/new", &pour).await.went("/pour/2");
    let html = site.get("/pour/2").await.html;
    let pot = html
        .split("<button ")
        .find(|tag| tag.contains("formaction=\"/pour/2/pot\""));
    assert!(pot.unwrap().contains("name=\"button\" value=\"pot\""));
    // The same boxes sent by the button of the pot, then by that of the weight.
    let once = word(&html, "/pour/2/weigh");
    let fields = [
        ("once", once.as_str()),
        ("portion", "0"),
        ("weight", "16.5 oz"),
        ("pot", "12 oz"),
    ];
    let by_pot = [fields.as_slice(), &[("button", "pot")]].concat();
    site.post("/pour/2/pot", &by_pot)
        .await
        .went("/pour/2?weight=16.5%20oz");
    let before = facts(&site);
    site.post("/pour/2/weigh", &fields).await.went("/pour/2");
    assert!(facts(&site) > before);
}
