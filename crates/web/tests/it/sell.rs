use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::made;
use crate::site::{Shown, Site};

/// Eleven bars at 7.00, three for 18.00 together, ten of them packed for a
/// market day.
async fn packed() -> Site {
    let site = made::bars(true).await;
    let prices = [("low", "6"), ("typical", "7"), ("high", "8")];
    site.post("/stall/good/1", &prices)
        .await
        .went("/stall/good/1");
    let stall = [("name", "the stall"), ("kind", "stall")];
    site.post("/stall/channel/new", &stall)
        .await
        .went("/stall/channel/1");
    let bundles = [
        ("bundles[0].count", "3"),
        ("bundles[0].price", "18"),
        ("bundles[0].goods", "1"),
    ];
    site.post("/stall/channel/1/bundles", &bundles)
        .await
        .went("/stall/channel/1");
    let day = [
        ("channel", "1"),
        ("market", "Quarry Lane"),
        ("on", "2026-10-10"),
    ];
    site.post("/stall/day/new", &day).await.went("/stall/day/1");
    site.post("/stall/day/1/take", &[("take[1]", "10")])
        .await
        .went("/stall/day/1");
    site
}

/// What the page tells its script.
fn told(page: &Shown) -> Value {
    let rest = page.html.split("data-sell=\"").nth(1).unwrap();
    let told = rest.split('"').next().unwrap().replace("&quot;", "\"");
    serde_json::from_str(&told).unwrap()
}

#[tokio::test]
async fn the_page_carries_what_a_sum_rests_on() {
    let site = packed().await;
    let page = site.get("/stall/day/1/sell").await;
    page.is(StatusCode::OK).says("10 left");
    let mut told = told(&page);
    told["goods"][0]["name"].take();
    let wanted = json!({
        "day": 1, "currency": "USD", "places": 2, "mark": ".", "sale": 0, "tax": null,
        "goods": [{ "id": 1, "name": null, "price": 700, "left": 10 }],
        "bundles": [{ "goods": [1], "count": 3, "price": 1800 }],
    });
    assert_eq!(told, wanted);
}

#[tokio::test]
async fn tax_on_top_travels_as_a_fraction() {
    let site = packed().await;
    let tax = [
        ("method", "fifo"),
        ("tax_name", "sales tax"),
        ("tax_rate", "6.25 %"),
        ("tax_inside", "on_top"),
        ("year_day", "1"),
        ("year_month", "1"),
    ];
    let filled = app::forms::Filled::new(
        tax.map(|(name, text)| (name.to_owned(), text.to_owned()))
            .into(),
    );
    app::stall::settle_books(&site.app, "bench", &filled).unwrap();
    let told = told(&site.get("/stall/day/1/sell").await);
    // 6.25 % is 625 of 10 000.
    assert_eq!(told["tax"], json!({ "part": "625", "of": "10000" }));
}

#[tokio::test]
async fn without_script_it_is_a_form_of_counts() {
    let site = packed().await;
    let sold = [("sold[1]", "3"), ("payment", "cash")];
    site.post("/stall/day/1/sell", &sold)
        .await
        .went("/stall/day/1/sell");
    let page = site.get("/stall/day/1/sell").await;
    page.says("7 left").says("18.00 USD");
    assert_eq!(told(&page)["sale"], 1);
    let nothing = [("sold[1]", ""), ("payment", "cash")];
    let page = site.post("/stall/day/1/sell", &nothing).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nothing was sold");
    let nowhere = site.get("/stall/day/7/sell").await;
    nowhere.is(StatusCode::NOT_FOUND);
    site.get("/stall/day/1").await.says("Sell");
}

#[tokio::test]
async fn nothing_packed_says_so() {
    let site = packed().await;
    site.post("/stall/day/1/take", &[("take[1]", "0")])
        .await
        .went("/stall/day/1");
    site.get("/stall/day/1/sell")
        .await
        .says("Write down what you take");
}

#[tokio::test]
async fn a_sale_meant_for_another_workshop_is_not_taken() {
    let site = packed().await;
    let sale = json!({
        "token": "phone-1", "market_day": 1, "payment": "cash",
        "lines": [{ "product": 1, "count": 3 }],
    })
    .to_string();
    let elsewhere = site
        .work("/api/v1/sale?journal=0123456789ab", sale.clone())
        .await;
    elsewhere.is(StatusCode::MISDIRECTED_REQUEST);
    assert!(elsewhere.html.contains("another workshop is open"));
    let back = json!({ "token": "phone-1" }).to_string();
    let path = "/api/v1/sale/take-back?journal=0123456789ab";
    let elsewhere = site.work(path, back).await;
    elsewhere.is(StatusCode::MISDIRECTED_REQUEST);
    let own = format!("/api/v1/sale?journal={}", site.app.mark().unwrap());
    site.work(&own, sale).await.is(StatusCode::OK);
}

#[tokio::test]
async fn the_worker_may_stand_before_market_days_only() {
    let site = packed().await;
    let worker = site.get("/assets/sell-worker.js").await;
    worker.is(StatusCode::OK);
    let header = |name: &str| worker.headers[name].to_str().unwrap().to_owned();
    assert_eq!(header("service-worker-allowed"), "/stall/day/");
    assert_eq!(header("content-type"), "text/javascript; charset=utf-8");
    let script = site.get("/assets/sell.js").await;
    assert!(!script.headers.contains_key("service-worker-allowed"));
}
