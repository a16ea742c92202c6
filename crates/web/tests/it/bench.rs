//! Formulas: written down, asked what if, changed.

use axum::http::StatusCode;

use crate::made;
use crate::site::{Site, query};

#[tokio::test]
async fn a_formula_needs_a_wax_first() {
    let site = Site::set_up().await;
    site.get("/bench/formula/new")
        .await
        .is(StatusCode::OK)
        .says("at least one wax has to stand on the shelf first");
    site.get("/bench")
        .await
        .says("Nothing is written down yet.");
}

#[tokio::test]
async fn what_if_follows_what_is_asked_and_writes_nothing() {
    let site = made::bars(false).await;
    let before = site.app.look(workshop::Workshop::facts).unwrap();
    // 22 oz at 10 % of wax are 20 and 2.
    let asked = query(&[("total", "22 oz"), ("load", "10 % of wax")]);
    site.get(&format!("/bench/formula/1?{asked}"))
        .await
        .is(StatusCode::OK)
        .says("at 10.0 % of wax")
        .says("Harbour Fig oil 2.0 oz 22.0 oz");
    let asked = query(&[("total", "heavy"), ("load", "8 %")]);
    let page = site.get(&format!("/bench/formula/1?{asked}")).await;
    page.is(StatusCode::OK);
    assert_eq!(page.wrong_boxes(), ["total", "load"]);
    assert_eq!(page.stands_in("total"), "heavy");
    assert_eq!(site.app.look(workshop::Workshop::facts).unwrap(), before);
}

#[tokio::test]
async fn pouring_a_formula_is_for_its_good_where_there_is_one() {
    let site = made::bars(false).await;
    let leads_to = |page: &crate::site::Shown, to: &str| {
        assert!(page.html.contains(&format!("href=\"{to}\"")), "{to}");
    };
    let page = site.get("/bench/formula/1").await;
    leads_to(&page, "/pour/new?product=1");
    let chosen = "<option value=\"1\" selected>Harbour Fig bar";
    let page = site.get("/pour/new?product=1").await;
    assert!(page.html.contains(chosen));
    // Of two, the maker says which.
    let good = [
        ("name", "Harbour Fig tester"),
        ("formula", "1"),
        ("mould", "1"),
    ];
    site.post("/stall/new", &good).await.went("/stall/good/2");
    leads_to(&site.get("/bench/formula/1").await, "/pour/new?formula=1");
}

#[tokio::test]
async fn a_formula_that_cannot_be_weighed_keeps_what_was_typed() {
    let site = made::bars(false).await;
    let formula = [
        ("name", "Rainy Loft"),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "many"),
        ("oil", "2"),
        ("load", "8 %"),
        ("add_at", "hot"),
        ("cure_days", "-1"),
    ];
    let page = site.post("/bench/formula/new", &formula).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(
        page.wrong_boxes(),
        ["blend[0].parts", "load", "add_at", "cure_days"]
    );
    assert_eq!(page.stands_in("name"), "Rainy Loft");
    assert_eq!(page.stands_in("blend[0].parts"), "many");
}

#[tokio::test]
async fn a_changed_formula_says_how_it_came_to_this() {
    let site = made::bars(false).await;
    let page = site.get("/bench/formula/1/revise").await;
    page.says("Pours already made keep revision 1");
    assert_eq!(page.stands_in("load"), "12 % of wax");
    let filled = |load: &'static str, reason: &'static str| {
        [
            ("blend[0].supply", "1"),
            ("blend[0].parts", "100"),
            ("oil", "2"),
            ("load", load),
            ("cure_days", "3"),
            ("reason", reason),
        ]
    };
    let path = "/bench/formula/1/revise";
    site.post(path, &filled("12 % of wax", "none"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("othing has changed");
    let page = site.post(path, &filled("10 % of wax", "")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["reason"]);
    site.post(path, &filled("10 % of wax", "it sweated"))
        .await
        .went("/bench/formula/1");
    site.get("/bench/formula/1")
        .await
        .says("Revision 2: it sweated")
        .says("Revision 1: first written down");
    site.get("/pour/1/sheet").await.says("revision 1");
}
