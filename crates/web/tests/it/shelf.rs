use axum::http::StatusCode;

use crate::made;
use crate::site::{Site, query};

#[tokio::test]
async fn an_empty_shelf_names_the_first_verb() {
    let site = Site::empty();
    site.get("/shelf")
        .await
        .is(StatusCode::OK)
        .says("Enter a supply")
        .does_not_say("On hand");
    site.get("/shelf/receive")
        .await
        .is(StatusCode::OK)
        .says("Enter a supply");
}

#[tokio::test]
async fn a_supply_is_entered_and_amended() {
    let site = Site::set_up().await;
    let wax = [
        ("kind", "wax"),
        ("name", "soy wax"),
        ("max_load", "10 % of wax"),
    ];
    site.post("/shelf/new", &wax).await.went("/shelf/supply/1");
    let page = site.get("/shelf/supply/1").await;
    page.is(StatusCode::OK)
        .says("soy wax: how much is on hand?");
    assert_eq!(page.stands_in("max_load"), "10 % of wax");
    let better = [("name", "soy container wax"), ("max_load", "9 % of total")];
    site.post("/shelf/supply/1", &better)
        .await
        .went("/shelf/supply/1");
    site.get("/shelf").await.says("soy container wax");
}

#[tokio::test]
async fn a_load_without_its_base_is_refused_beside_its_box() {
    let site = Site::set_up().await;
    let wax = [("kind", "wax"), ("name", "soy wax"), ("max_load", "10 %")];
    let page = site.post("/shelf/new", &wax).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["max_load"]);
    assert_eq!(page.stands_in("name"), "soy wax");
    assert_eq!(page.stands_in("max_load"), "10 %");
    site.get("/shelf/supply/1").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn freight_is_in_the_landed_cost() {
    let site = made::bars(true).await;
    // 6 of freight over 60 paid is a tenth on every line.
    let page = site.get("/shelf/delivery/1").await;
    page.is(StatusCode::OK)
        .says("66.00 USD")
        .says("6.00 USD of it is freight, shared by what each line cost.")
        .says("26.00 USD 28.60 USD")
        .says("24.00 USD 26.40 USD")
        .says("10.00 USD 11.00 USD")
        .says("6.00 USD × 26.00 USD ÷ 60.00 USD");
    // 28.60 for 10 lb; a pound of it went into the pot.
    let page = site.get("/shelf").await;
    page.says("soy wax 144.0 oz 2.86 USD per lb 25.74 USD")
        .says("film bag 89 0.11 USD each 9.79 USD");
    let page = site.get("/shelf/supply/1").await;
    page.says("144.0 oz 4082 g")
        .says("160 oz came in, 16 oz was used.")
        .says("Lot 261004-1");
}

#[tokio::test]
async fn what_was_thrown_away_needs_its_reason() {
    let site = made::bars(true).await;
    site.get("/shelf").await.says("at average cost");
    let gone = |why: &'static str| [("lot", ""), ("wasted", "2 oz"), ("why", why)];
    let page = site.post("/shelf/supply/1/waste", &gone("")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The reason is missing; choose why it is gone.");
    assert!(page.html.contains("<option value=\"\" selected>choose"));
    site.post("/shelf/supply/1/waste", &gone("spilt"))
        .await
        .went("/shelf/supply/1/lots");
}

#[tokio::test]
async fn opening_another_lot_does_not_use_up_the_open_one() {
    let site = made::bars(true).await;
    let more = [
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
    ];
    site.post("/shelf/receive", &more)
        .await
        .went("/shelf/delivery/2");
    let page = site.get("/shelf/supply/1/lots").await;
    page.does_not_say("Opening another");
    site.post("/shelf/supply/1/open", &[("lot", "1.0")])
        .await
        .went("/shelf/supply/1/lots");
    site.get("/shelf/supply/1/lots")
        .await
        .says("Opening another does not use up the lot of 4 Oct 2026: the 144.0 oz in it stay on the shelf.");
}

#[tokio::test]
async fn several_lines_are_refused_together_and_kept() {
    let site = made::bars(false).await;
    let typed = [
        ("lines[0].supply", "1"),
        ("lines[0].amount", "ten pounds"),
        ("lines[0].paid", "26.00"),
        ("lines[1].supply", "3"),
        ("lines[1].amount", "100"),
        ("lines[1].paid", ""),
        ("freight", "6"),
    ];
    let page = site.post("/shelf/receive", &typed).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["lines[0].amount", "lines[1].paid"]);
    assert_eq!(page.stands_in("lines[0].amount"), "ten pounds");
    assert_eq!(page.stands_in("lines[0].paid"), "26.00");
    assert_eq!(page.stands_in("freight"), "6");
}

#[tokio::test]
async fn more_lines_keep_what_was_typed() {
    let site = made::bars(false).await;
    let page = site
        .get("/shelf/receive?lines%5B0%5D.supply=1&lines%5B0%5D.amount=10+lb&lines_wanted=8")
        .await;
    page.is(StatusCode::OK)
        .says("Line 8")
        .does_not_say("Line 9");
    assert_eq!(page.stands_in("lines[0].amount"), "10 lb");
}

#[tokio::test]
async fn what_was_used_and_never_received_is_asked_for_all_at_once() {
    let site = made::bars(false).await;
    let page = site.get("/shelf").await;
    page.says("no price yet 16.0 oz used")
        .says("3 of them were used and have no price yet");
    assert!(
        page.html
            .contains("/shelf/receive?supply=1&amp;supply=2&amp;supply=3")
    );
    let page = site.get("/shelf/receive?supply=1&supply=2&supply=3").await;
    for supply in 1..=3 {
        let chosen = format!("<option value=\"{supply}\" selected>");
        assert!(page.html.contains(&chosen), "{chosen}");
    }
}

#[tokio::test]
async fn more_used_than_received_does_not_add_up() {
    let site = made::bars(true).await;
    let fields = [("amount", "0.5 lb"), ("paid", "1.50"), ("reason", "")];
    let page = site.post("/shelf/delivery/1/line/0", &fields).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["reason"]);
    assert_eq!(page.stands_in("amount"), "0.5 lb");
    let fields = [
        ("amount", "0.5 lb"),
        ("paid", "1.50"),
        ("reason", "read the wrong line"),
    ];
    site.post("/shelf/delivery/1/line/0", &fields)
        .await
        .went("/shelf/delivery/1");
    site.get("/shelf").await.says("does not add up -8.00 oz");
    site.get("/shelf/supply/1")
        .await
        .says("More was used than ever came in");
}

#[tokio::test]
async fn a_name_is_text_and_never_markup() {
    let site = Site::set_up().await;
    let wax = [("kind", "wax"), ("name", "<script>alert(1)</script>")];
    site.post("/shelf/new", &wax).await.went("/shelf/supply/1");
    for path in ["/shelf", "/shelf/supply/1", "/shelf/receive"] {
        let page = site.get(path).await;
        assert!(!page.html.contains("<script>alert"), "{path}");
        assert!(page.html.contains("&lt;script&gt;alert"), "{path}");
    }
}

#[tokio::test]
async fn nothing_at_an_address_is_said_so() {
    let site = Site::set_up().await;
    for path in [
        "/shelf/supply/9",
        "/shelf/delivery/9",
        "/shelf/delivery/9/line/0",
    ] {
        site.get(path).await.is(StatusCode::NOT_FOUND);
    }
    let fields = [("amount", "1 lb"), ("paid", "1"), ("reason", "a slip")];
    site.post("/shelf/delivery/9/line/0", &fields)
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_new_supply_on_a_delivery_keeps_what_was_typed() {
    let site = made::bars(false).await;
    let page = site.get("/shelf/receive").await;
    assert!(
        page.html.contains("formaction=\"/shelf/new\""),
        "the way to a new supply takes the form along"
    );
    let typed = [
        ("for", "delivery"),
        ("supplier", "a merchant + sons, 100 %"),
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
        ("lines[1].supply", ""),
        ("lines[1].amount", "2 lb"),
        ("lines[1].paid", "9.00"),
        ("freight", "6"),
        ("spread", "by_weight"),
    ];
    let page = site.get(&format!("/shelf/new?{}", query(&typed))).await;
    page.is(StatusCode::OK)
        .says("The delivery you were writing down is kept");
    for (name, text) in typed.into_iter().filter(|(_, text)| !text.is_empty()) {
        assert_eq!(page.stands_in(name), text, "{name}");
    }
    let mut sent = typed.to_vec();
    sent.extend([("kind", "wax"), ("name", "beeswax")]);
    let done = site.post("/shelf/new", &sent).await;
    assert!(done.status.is_redirection(), "{}", done.text());
    let page = site.get(&done.to).await;
    page.is(StatusCode::OK).says("What came in");
    assert_eq!(page.stands_in("supplier"), "a merchant + sons, 100 %");
    assert_eq!(page.stands_in("lines[0].amount"), "10 lb");
    assert_eq!(page.stands_in("lines[1].amount"), "2 lb");
    assert_eq!(page.stands_in("freight"), "6");
    // The line that named none names the new one, which is supply 4.
    for chosen in [
        "<option value=\"4\" selected>beeswax (wax)",
        "value=\"by_weight\" selected",
    ] {
        assert!(page.html.contains(chosen), "{chosen}");
    }
}

#[tokio::test]
async fn a_delivery_carries_the_day_it_came() {
    let site = made::bars(false).await;
    let delivery = |day: &'static str| {
        [
            ("came_on", day),
            ("lines[0].supply", "1"),
            ("lines[0].amount", "10 lb"),
            ("lines[0].paid", "26.00"),
        ]
    };
    let page = site.get("/shelf/receive").await;
    assert_eq!(page.stands_in("came_on"), "2026-10-04");
    for wrong in ["2026-10-05", "last week", "1926-10-04"] {
        let page = site.post("/shelf/receive", &delivery(wrong)).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.wrong_boxes(), ["came_on"], "{wrong}");
        assert_eq!(page.stands_in("lines[0].amount"), "10 lb");
    }
    site.post("/shelf/receive", &delivery("2026-09-20"))
        .await
        .went("/shelf/delivery/1");
    site.get("/shelf/delivery/1").await.says("20 Sep 2026");
    site.post("/shelf/receive", &delivery(""))
        .await
        .went("/shelf/delivery/2");
    site.get("/shelf/delivery/2").await.says("4 Oct 2026");
}

#[tokio::test]
async fn the_shelf_speaks_in_plain_words() {
    let site = made::bars(true).await;
    for path in [
        "/shelf",
        "/shelf/supply/1",
        "/shelf/delivery/1",
        "/books/lot/1",
    ] {
        let page = site.get(path).await;
        let text = page.text().to_lowercase();
        for word in ["landed", "from memory"] {
            assert!(!text.contains(word), "{path}: {word}");
        }
    }
    site.get("/shelf").await.says("Cost with delivery");
}

#[tokio::test]
async fn a_delivery_begun_from_a_lots_cost_leads_back_to_it() {
    let site = made::bars(false).await;
    let asked = "/shelf/receive?supply=1&amp;supply=2&amp;supply=3&amp;lot=1";
    let page = site.get("/books/lot/1").await;
    page.says("have no price yet")
        .does_not_say("never received");
    assert!(page.html.contains(asked));
    let page = site.get(&asked.replace("&amp;", "&")).await;
    page.says("← What lot 261004-1 cost");
    assert_eq!(page.stands_in("lot"), "1");
    let lines = [
        ("lot", "1"),
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
    ];
    // A new supply that is entered on the way does not lose it either.
    let page = site
        .get(&format!("/shelf/new?for=delivery&{}", query(&lines)))
        .await;
    assert_eq!(page.stands_in("lot"), "1");
    let there = "/shelf/delivery/1?lot=1";
    site.post("/shelf/receive", &lines).await.went(there);
    let page = site.get(there).await;
    page.says("← What lot 261004-1 cost")
        .says("Back to what lot 261004-1 cost");
    assert!(page.html.contains("href=\"/books/lot/1\""));
    site.get("/shelf/delivery/1")
        .await
        .does_not_say("Back to what lot");
}
