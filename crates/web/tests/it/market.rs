use axum::http::StatusCode;
use serde_json::json;

use crate::made;
use crate::site::Site;

/// Eleven bars with a price of 7.00, a stall with a card fee, tax inside, and
/// a market day after the bars are ready.
async fn planned() -> Site {
    let site = made::bars(true).await;
    let prices = [("low", "6"), ("typical", "7"), ("high", "8")];
    site.post("/stall/good/1", &prices)
        .await
        .went("/stall/good/1");
    let stall = [
        ("name", "the stall"),
        ("kind", "stall"),
        ("payment_percent", "2.6 %"),
        ("payment_fixed", "0.10"),
    ];
    site.post("/stall/channel/new", &stall)
        .await
        .went("/stall/channel/1");
    let day = [
        ("channel", "1"),
        ("market", "Quarry Lane"),
        ("on", "2026-10-10"),
        ("pitch", "10"),
        ("travel", "5"),
        ("hours", "6"),
    ];
    site.post("/stall/day/new", &day).await.went("/stall/day/1");
    site
}

async fn packed() -> Site {
    let site = planned().await;
    site.post("/stall/day/1/take", &[("take[1]", "10")])
        .await
        .went("/stall/day/1");
    site
}

/// As [`packed`], the market being today.
async fn packed_today() -> Site {
    let site = packed().await;
    let day = [
        ("channel", "1"),
        ("market", "Quarry Lane"),
        ("on", "2026-10-04"),
        ("pitch", "10"),
    ];
    site.post("/stall/day/1/plan", &day)
        .await
        .went("/stall/day/1");
    site
}

#[tokio::test]
async fn a_stall_without_channels_asks_for_one() {
    let site = made::bars(true).await;
    site.get("/stall")
        .await
        .says("What should I charge?")
        .says("Open a stall or another channel");
    site.get("/stall/day/new").await.says("Open a stall");
    site.get("/stall/days").await.says("Plan a market day");
}

#[tokio::test]
async fn a_day_is_planned_packed_sold_and_counted() {
    let site = packed().await;
    site.get("/stall")
        .await
        .says("Where do I sell next?")
        .says("at Quarry Lane")
        .says("10 units are packed.");
    let page = site.get("/stall/day/1").await;
    page.is(StatusCode::OK)
        .says("What do I take to Quarry Lane?")
        .says("10 units packed.");
    assert_eq!(page.stands_in("take[1]"), "10");
    let back = [("back[1]", "3"), ("given[1]", "1"), ("spoilt[1]", "")];
    site.post("/stall/day/1/back", &back)
        .await
        .went("/stall/day/1");
    let till = [
        ("float", "40"),
        ("counted", "61"),
        ("cards", "21"),
        ("card_payments", "2"),
    ];
    site.post("/stall/day/1/till", &till)
        .await
        .went("/stall/day/1");
    // 6 × 7.00; cards 21.00 × 2.6 % + 0.20 = 0.746; a bar's materials are
    // 7.238 ÷ 11 = 0.658, 3.948 for six and 0.658 for the one given away:
    // 42.00 − 0.75 − 3.95 − 0.66 − 15.00 = 21.64.
    site.get("/stall/day/1")
        .await
        .says("What did Quarry Lane leave?")
        .says("21.64 USD")
        .says("Takings 6 sold 42.00 USD")
        .says("Fees 21.00 USD by card in 2 payments 0.75 USD")
        .says("Materials 3.95 USD")
        .says("The books take the lots in the order they came, and may differ a little.")
        .says("an hour of selling and of making")
        .says("61.00 USD counted, 61.00 USD expected. it is right");
    site.get("/stall/days").await.says("6 sold for 42.00 USD");
    site.get("/stall/sale/1").await.says("6 42.00 USD");
}

#[tokio::test]
async fn a_good_that_was_not_counted_is_asked_about() {
    let site = packed().await;
    let page = site.post("/stall/day/1/back", &[("back[1]", "")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("It is not counted; write how many came home, 0 where none did.");
    let page = site.post("/stall/day/1/back", &[("back[1]", "12")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("only 10 were taken");
    let page = site.post("/stall/day/1/take", &[("take[1]", "30")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There are only 11 of Harbour Fig bar");
}

#[tokio::test]
async fn a_sale_is_written_down_taken_back_and_returned() {
    let site = packed().await;
    let sold = [("sold[1]", "2"), ("payment", "card"), ("paid", "12")];
    site.post("/stall/day/1/sold", &sold)
        .await
        .went("/stall/day/1/sold");
    site.get("/stall/sale/1")
        .await
        .says("12.00 USD card")
        .says("fees 0.41 USD");
    let sold = [("sold[1]", "1"), ("payment", "cash")];
    site.post("/stall/day/1/sold", &sold)
        .await
        .went("/stall/day/1/sold");
    site.post("/stall/sale/1/void", &[("reason", "rung up twice")])
        .await
        .went("/stall/sale/1");
    site.get("/stall/sale/1")
        .await
        .says("It never was.")
        .says("rung up twice");
    let back = [
        ("units[1]", "1"),
        ("refund", "7"),
        ("to", "rack"),
        ("reason", "dented"),
    ];
    site.post("/stall/sale/2/return", &back)
        .await
        .went("/stall/sale/2");
    site.get("/stall/sale/2")
        .await
        .says("1 came back, 7.00 USD");
    let page = site.post("/stall/sale/2/return", &back).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("has only 0 of them");
}

#[tokio::test]
async fn the_first_thing_to_do_follows_the_day() {
    let site = made::bars(true).await;
    let stall = [("name", "the stall"), ("kind", "stall")];
    site.post("/stall/channel/new", &stall)
        .await
        .went("/stall/channel/1");
    let day = [
        ("channel", "1"),
        ("market", "Quarry Lane"),
        ("on", "2026-10-04"),
    ];
    site.post("/stall/day/new", &day).await.went("/stall/day/1");
    let first = |page: &crate::site::Shown| {
        let next = page.html.split("<p class=\"next").nth(1).unwrap();
        let button = next.split("</a>").next().unwrap();
        button.rsplit('>').next().unwrap().to_owned()
    };
    let page = site.get("/stall/day/1").await;
    assert_eq!(first(&page), "Write down what you took");
    // Packed, sold on the day, and then all gone.
    let site = packed_today().await;
    let page = site.get("/stall/day/1").await;
    assert_eq!(first(&page), "Sell");
    let today = site.get("/").await;
    today.says("What needs hands now? 4 Oct 2026 Sell at Quarry Lane");
    assert!(today.html.contains("href=\"/stall/day/1/sell\""));
    let sold = [("sold[1]", "10"), ("payment", "cash")];
    site.post("/stall/day/1/sold", &sold)
        .await
        .went("/stall/day/1/sold");
    let page = site.get("/stall/day/1").await;
    page.says("10 sold so far.").says("taken in 1 sale;");
    assert_eq!(first(&page), "Count it back");
}

#[tokio::test]
async fn the_float_is_kept_in_the_morning() {
    let site = packed().await;
    let page = site.post("/stall/day/1/till", &[("float", "")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    let float = [("float", "40"), ("counted", ""), ("cards", "")];
    site.post("/stall/day/1/till", &float)
        .await
        .went("/stall/day/1");
    let kept = || {
        let of = |workshop: &workshop::Workshop| {
            let day = workshop.trade().market_days().next().unwrap();
            (day.float.map(measure::Money::minor), day.till.is_some())
        };
        site.app.look(of).unwrap()
    };
    assert_eq!(kept(), (Some(4_000), false));
    // What the day was like says nothing against it.
    site.post("/stall/day/1/note", &[("weather", "bright, windy")])
        .await
        .went("/stall/day/1");
    assert_eq!(kept(), (Some(4_000), false));
    site.post("/stall/day/1/back", &[("back[1]", "9")])
        .await
        .went("/stall/day/1");
    let page = site.get("/stall/day/1").await;
    assert_eq!(page.stands_in("float"), "40.00 USD");
    let cards = [("float", "40"), ("cards", "7"), ("card_payments", "1")];
    let page = site.post("/stall/day/1/till", &cards).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["counted"]);
    let till = [("float", "40"), ("counted", "47")];
    site.post("/stall/day/1/till", &till)
        .await
        .went("/stall/day/1");
    site.get("/stall/day/1")
        .await
        .says("47.00 USD counted, 47.00 USD expected. it is right");
}

#[tokio::test]
async fn an_example_of_money_is_in_the_workshops_own() {
    let site = Site::empty();
    let kept = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "GBP"),
        ("decimal_mark", "point"),
        ("readability", "1 g"),
    ];
    site.post("/settings", &kept)
        .await
        .went("/settings?kept=yes");
    let stall = [
        ("name", "the stall"),
        ("kind", "stall"),
        ("fixed_fee", "dear"),
    ];
    site.post("/stall/channel/new", &stall)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("such as 4.50 GBP")
        .does_not_say("USD");
}

#[tokio::test]
async fn a_sale_that_never_was_is_listed_and_not_counted() {
    let site = packed().await;
    for (count, payment) in [("2", "card"), ("1", "cash")] {
        let sold = [("sold[1]", count), ("payment", payment)];
        site.post("/stall/day/1/sold", &sold)
            .await
            .went("/stall/day/1/sold");
    }
    site.post("/stall/sale/1/void", &[("reason", "rung up twice")])
        .await
        .went("/stall/sale/1");
    site.post("/stall/day/1/back", &[("back[1]", "9")])
        .await
        .went("/stall/day/1");
    site.get("/stall/day/1")
        .await
        .says("1 sale , and 1 taken back")
        .says("Takings 1 sold 7.00 USD");
}

#[tokio::test]
async fn a_device_sends_a_sale_as_often_as_it_likes() {
    let site = packed().await;
    let sale = json!({
        "token": "phone-1", "market_day": 1, "payment": "cash",
        "lines": [{ "product": 1, "count": 3 }],
    });
    let first = site.work("/api/v1/sale", sale.to_string()).await;
    first.is(StatusCode::OK);
    let told: serde_json::Value = serde_json::from_str(&first.html).unwrap();
    assert_eq!(told["already"], false);
    assert_eq!(told["paid"], "21.00 USD");
    assert_eq!(told["left"], json!({ "1": 7 }));
    let again = site.work("/api/v1/sale", sale.to_string()).await;
    let told: serde_json::Value = serde_json::from_str(&again.html).unwrap();
    assert_eq!((&told["already"], &told["sale"]), (&json!(true), &json!(1)));
    let back = json!({ "token": "phone-1" });
    for already in [false, true] {
        let told = site.work("/api/v1/sale/take-back", back.to_string()).await;
        let told: serde_json::Value = serde_json::from_str(&told.html).unwrap();
        assert_eq!(
            (&told["voided"], &told["already"]),
            (&json!(true), &json!(already))
        );
        assert_eq!(told["left"], json!({ "1": 10 }));
    }
}

#[tokio::test]
async fn a_device_is_told_what_is_wrong() {
    let site = packed().await;
    for (sale, status) in [
        (json!({}), StatusCode::BAD_REQUEST),
        (json!([]), StatusCode::BAD_REQUEST),
        (
            json!({ "token": "", "market_day": 1, "payment": "shells", "lines": [] }),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            json!({ "token": "a", "market_day": 1, "payment": "cash", "lines": [{ "product": 9, "count": 1 }] }),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            json!({ "token": "a", "market_day": 7, "payment": "cash", "lines": [{ "product": 1, "count": 1 }] }),
            StatusCode::NOT_FOUND,
        ),
    ] {
        let answer = site.work("/api/v1/sale", sale.to_string()).await;
        answer.is(status);
        assert!(answer.html.contains("problems"), "{}", answer.html);
    }
    let never = json!({ "token": "never seen" });
    let answer = site.work("/api/v1/sale/take-back", never.to_string()).await;
    answer.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_channel_says_what_a_price_keeps() {
    let site = planned().await;
    site.get("/stall/channel/1")
        .await
        .is(StatusCode::OK)
        .says("What does the stall keep of a price?")
        .says("2.6 % + 0.10 USD a card payment");
    let prices = [("price[1]", "6.50")];
    site.post("/stall/channel/1/prices", &prices)
        .await
        .went("/stall/channel/1");
    assert_eq!(
        site.get("/stall/channel/1").await.stands_in("price[1]"),
        "6.50 USD"
    );
    let bundles = [
        ("bundles[0].count", "3"),
        ("bundles[0].price", "18"),
        ("bundles[0].goods", "1"),
    ];
    site.post("/stall/channel/1/bundles", &bundles)
        .await
        .went("/stall/channel/1");
    let dear = [
        ("bundles[0].count", "3"),
        ("bundles[0].price", "19.50"),
        ("bundles[0].goods", "1"),
    ];
    site.post("/stall/channel/1/bundles", &dear)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("They cost no more one by one");
    let page = site
        .get("/stall/channel/1/good/1?margin=60+%25&ending=0.05")
        .await;
    page.is(StatusCode::OK).says("Where the price goes");
    site.get("/stall/channel/1/good/1?margin=99+%25")
        .await
        .is(StatusCode::OK);
}

#[tokio::test]
async fn what_is_on_the_rack_can_be_counted() {
    let site = packed().await;
    let page = site.get("/rack/count").await;
    page.is(StatusCode::OK).says("1 unit.");
    let counted = [("place", "rack"), ("count[1].1", "0"), ("note", "")];
    site.post("/rack/count", &counted)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    let counted = [
        ("place", "rack"),
        ("count[1].1", "0"),
        ("note", "one was used as a tester"),
    ];
    site.post("/rack/count", &counted)
        .await
        .went("/rack/count?place=rack");
    let given = [("place", "stall 1"), ("units[1]", "2"), ("how", "given")];
    site.post("/rack/count/aside", &given)
        .await
        .went("/rack/count?place=stall+1");
    site.get("/rack/count?place=stall+1").await.says("8 units.");
    site.get("/rack/count?place=stall+9")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_tax_on_sales_is_settled_once() {
    let site = packed().await;
    site.get("/books/kept")
        .await
        .says("That is not settled yet.");
    let wrong = [
        ("method", "fifo"),
        ("tax_rate", "6.25 %"),
        ("tax_inside", "inside"),
    ];
    site.post("/books/kept", &wrong)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    let kept = [
        ("method", "average"),
        ("tax_rate", "6.25 %"),
        ("tax_inside", "inside"),
        ("tax_name", "sales tax"),
    ];
    site.post("/books/kept", &kept).await.went("/books/kept");
    site.get("/books/kept")
        .await
        .says("Sales tax of 6.25 %, in the prices.")
        .says("moving average");
    site.post("/stall/day/1/back", &[("back[1]", "4")])
        .await
        .went("/stall/day/1");
    // 42.00 × 0.0625 ÷ 1.0625 = 2.4705….
    site.get("/stall/day/1")
        .await
        .says("Sales tax to set aside 2.47 USD")
        .says("Net 39.53 USD");
}
