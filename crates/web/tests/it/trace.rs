//! Who has a lot, and calling it back.

use axum::http::StatusCode;
use measure::{Currency, Money};
use workshop::Fact;
use workshop::facts::{
    BuyerId, BuyerSettled, BuyerTerms, ChannelId, ChannelKind, ChannelSettled, ChannelTerms,
    GoodsReturned, Grade, Payment, PourId, ProductId, ReturnTo, SaleFrom, SaleId, SaleLine, Sold,
    Units,
};

use crate::made::bars;
use crate::site::Site;

/// Eleven bars: seven with a shop that sells on, one posted, one sold without
/// its lot, three on the rack.
async fn sold() -> Site {
    let site = bars(true).await;
    let usd = |minor| Money::from_minor(minor, Currency::USD);
    let (shops, web) = (ChannelId(1), ChannelId(2));
    let mut facts: Vec<Fact> = Vec::new();
    for (channel, kind, name) in [
        (shops, ChannelKind::Wholesale, "Shops"),
        (web, ChannelKind::Web, "the own page"),
    ] {
        facts.push(
            ChannelSettled {
                channel,
                name: name.to_owned(),
                kind,
                terms: ChannelTerms::default(),
                closed: false,
            }
            .into(),
        );
    }
    let terms = BuyerTerms {
        channel: shops,
        // A shop sells on, whether or not anyone ticked it.
        resells: false,
        country: "US".to_owned(),
        discount: None,
        days_to_pay: None,
        untaxed: false,
    };
    facts.push(
        BuyerSettled {
            buyer: BuyerId(1),
            terms,
        }
        .into(),
    );
    for (sale, channel, buyer, lot, count) in [
        (1, shops, Some(BuyerId(1)), Some(PourId(1)), 7),
        (2, web, None, Some(PourId(1)), 1),
        (3, web, None, None, 1),
    ] {
        let units = vec![Units {
            product: ProductId(1),
            lot,
            grade: Grade::Good,
            count,
        }];
        facts.push(
            Sold {
                sale: SaleId(sale),
                token: String::new(),
                from: SaleFrom::Written,
                channel,
                market_day: None,
                buyer,
                order: None,
                lines: vec![SaleLine {
                    units,
                    paid: usd(700),
                }],
                postage: None,
                tax: usd(0),
                fees: None,
                payment: Payment::Card,
                row: None,
            }
            .into(),
        );
    }
    site.app.act("test", |_, _| Ok(facts.clone())).unwrap();
    site
}

#[tokio::test]
async fn a_lot_page_says_who_has_it_and_what_nobody_knows() {
    let site = sold().await;
    assert!(site.get("/rack/1").await.html.contains("/rack/1/where"));
    let page = site.get("/rack/1/where").await;
    page.is(StatusCode::OK);
    page.says("Who has this lot?");
    page.says("Of 11 made: 3 on hand, 7 with 1 account, 1 with web customers.");
    page.says("They add up to the 11 made.");
    page.says(
        "7 are with buyers that sell on: which of these were sold on, and to whom, is not known.",
    );
    page.says("1 was handed out with its lot unknown since");
    page.says("it may be of it. Of what is counted as on hand, up to 1 may be among them");
    page.says("Perhaps of it too: lot not known");
    page.says("Customers of the own page");
    page.says("soy wax");
    assert!(page.html.contains("/shelf/delivery/1/line/0/where"));
    site.get("/rack/9/where").await.is(StatusCode::NOT_FOUND);
    site.get("/shelf/delivery/1/line/9/where")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_supply_lot_page_names_every_lot_made_of_it() {
    let site = sold().await;
    let page = site.get("/shelf/delivery/1/line/0/where").await;
    page.is(StatusCode::OK);
    page.says("What was made of it");
    page.says("Of 11 made");
    assert!(page.html.contains("/rack/1/where"));
    let shelf = site.get("/shelf/supply/1").await;
    assert!(shelf.html.contains("/shelf/delivery/1/line/0/where"));
    // Its sheet opens from the page, and says the same.
    let sheet = site
        .get("/print/trace-sheet?supply=1&delivery=1.0&as=svg")
        .await;
    sheet.is(StatusCode::OK);
    site.get("/print/trace-sheet?lot=1")
        .await
        .is(StatusCode::OK);
    site.get("/print/trace-sheet?supply=1&delivery=7.7")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No delivery of it is that one; name the delivery: 1.0");
}

#[tokio::test]
async fn a_drill_runs_from_its_beginning_to_its_record() {
    let site = sold().await;
    site.get("/recall").await.says("Choose a lot");
    let wanting = [("lot", "1"), ("kind", "drill"), ("reason", "")];
    site.post("/recall", &wanting)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Who has this lot?");
    let drill = [("lot", "1"), ("kind", "drill"), ("reason", "yearly drill")];
    site.post("/recall", &drill).await.went("/recall/1");
    let page = site.get("/recall/1").await;
    page.says("0 of 2 told; 0 of 8 units that were out are found again, 0.0 %.");
    page.says("I have the list: stop the clock");
    site.post("/recall/1/listed", &[]).await.went("/recall/1");
    site.get("/recall/1")
        .await
        .says("Every holder was known after");
    site.post(
        "/recall/1",
        &[("back[buyer-1]", ""), ("note[buyer-1]", " ")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("Nobody is ticked");
    let too_many = [("told[buyer-1]", "yes"), ("back[buyer-1]", "8")];
    let refused = site.post("/recall/1", &too_many).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Only 7 of it can be there; write at most 7");
    assert!(refused.html.contains("href=\"#f-back-buyer-1-\""));
    assert!(refused.html.contains("id=\"f-back-buyer-1-\""));
    let answers = [
        ("told[buyer-1]", "yes"),
        ("back[buyer-1]", "4"),
        ("note[buyer-1]", "the rest is sold"),
        ("told[channel-2]", "yes"),
        ("back[channel-2]", ""),
    ];
    site.post("/recall/1", &answers).await.went("/recall/1");
    site.get("/recall/1")
        .await
        .says("2 of 2 told; 4 of 8 units that were out are found again, 50.0 %.");
    site.post("/recall/1/end", &[("note", "ring the shops first")])
        .await
        .went("/recall/1");
    let record = site.get("/recall/1").await;
    record.says("The record");
    record.says("10 of 11, 90.9 %");
    record.says("ring the shops first");
    assert!(!record.html.contains("Write down who was told"));
    site.get("/recall").await.says("The last drill, on");
    // Nothing was stopped.
    site.get("/rack/1").await.says("May this lot be sold?");
    assert!(
        site.app
            .look(|workshop| workshop.pour(PourId(1)).unwrap().held.is_none())
            .unwrap()
    );
}

#[tokio::test]
async fn what_was_found_again_counts_as_told_without_the_tick() {
    let site = sold().await;
    let drill = [("lot", "1"), ("kind", "drill"), ("reason", "yearly drill")];
    site.post("/recall", &drill).await.went("/recall/1");
    let unticked = [
        ("back[buyer-1]", "5"),
        ("note[buyer-1]", ""),
        ("back[channel-2]", ""),
        ("note[channel-2]", "nobody wrote back"),
    ];
    site.post("/recall/1", &unticked).await.went("/recall/1");
    let page = site.get("/recall/1").await;
    page.says("2 of 2 told; 5 of 8 units that were out are found again, 62.5 %.");
    assert!(page.html.contains("value=\"nobody wrote back\""));
    // What is found beyond the known lot was out there too.
    let both = [("told[channel-2]", "yes"), ("back[channel-2]", "2")];
    site.post("/recall/1", &both).await.went("/recall/1");
    site.get("/recall/1")
        .await
        .says("2 of 2 told; 7 of 9 units that were out are found again, 77.8 %.");
    // The tick and the boxes of one line are one answer.
    let wrong = [("told[buyer-1]", "yes"), ("back[buyer-1]", "some")];
    site.post("/recall/1", &wrong)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("It is not a whole number");
}

#[tokio::test]
async fn units_read_in_with_an_earlier_day_are_not_left_out() {
    let site = sold().await;
    let early = jiff::civil::date(2020, 1, 2);
    let usd = |minor| Money::from_minor(minor, Currency::USD);
    let read = Sold {
        sale: SaleId(4),
        token: String::new(),
        from: SaleFrom::File,
        channel: ChannelId(2),
        market_day: None,
        buyer: None,
        order: None,
        lines: vec![SaleLine {
            units: vec![Units {
                product: ProductId(1),
                lot: None,
                grade: Grade::Good,
                count: 2,
            }],
            paid: usd(1400),
        }],
        postage: None,
        tax: usd(0),
        fees: None,
        payment: Payment::Card,
        row: None,
    };
    site.app
        .act_on(early, "test", |_, _| Ok(vec![read.clone().into()]))
        .unwrap();
    let page = site.get("/rack/1/where").await;
    page.says("Of 11 made: 3 on hand");
    page.says(
        "3 were handed out with their lot unknown: they may be of it. 2 of them were sold before",
    );
    page.says("up to 3 may be among them");
    page.says("2 Jan 2020 to");
}

#[tokio::test]
async fn an_ended_drill_does_not_change_with_what_is_sold_later() {
    let site = sold().await;
    let drill = [("lot", "1"), ("kind", "drill"), ("reason", "yearly drill")];
    site.post("/recall", &drill).await.went("/recall/1");
    let answers = [("told[buyer-1]", "yes"), ("back[buyer-1]", "4")];
    site.post("/recall/1", &answers).await.went("/recall/1");
    site.post("/recall/1/end", &[]).await.went("/recall/1");
    let usd = |minor| Money::from_minor(minor, Currency::USD);
    let later = Sold {
        sale: SaleId(4),
        token: String::new(),
        from: SaleFrom::Written,
        channel: ChannelId(1),
        market_day: None,
        buyer: Some(BuyerId(1)),
        order: None,
        lines: vec![SaleLine {
            units: vec![Units {
                product: ProductId(1),
                lot: Some(PourId(1)),
                grade: Grade::Good,
                count: 2,
            }],
            paid: usd(1400),
        }],
        postage: None,
        tax: usd(0),
        fees: None,
        payment: Payment::Owed,
        row: None,
    };
    site.app
        .act("test", |_, _| Ok(vec![later.clone().into()]))
        .unwrap();
    let page = site.get("/recall/1").await;
    page.says("1 of 2 told; 4 of 8 units that were out are found again, 50.0 %.");
    page.says("Of 11 made: 3 on hand, 7 with 1 account, 1 with web customers.");
    page.says("all of this is as it stood then");
    page.says("4 of 8, 50.0 %");
    site.get("/rack/1/where")
        .await
        .says("Of 11 made: 1 on hand, 9 with 1 account, 1 with web customers.");
}

#[tokio::test]
async fn what_came_back_before_a_drill_is_not_looked_for() {
    let site = sold().await;
    let back = GoodsReturned {
        sale: SaleId(1),
        units: vec![Units {
            product: ProductId(1),
            lot: Some(PourId(1)),
            grade: Grade::Good,
            count: 2,
        }],
        refund: Money::from_minor(0, Currency::USD),
        tax: Money::from_minor(0, Currency::USD),
        to: ReturnTo::Rack,
        reason: "not wanted".to_owned(),
    };
    site.app
        .act("test", |_, _| Ok(vec![back.clone().into()]))
        .unwrap();
    let drill = [("lot", "1"), ("kind", "drill"), ("reason", "yearly drill")];
    site.post("/recall", &drill).await.went("/recall/1");
    site.get("/recall/1")
        .await
        .says("0 of 6 units that were out are found again")
        .says("7 went there, 2 came back or were lost before");
    let too_many = [("told[buyer-1]", "yes"), ("back[buyer-1]", "6")];
    site.post("/recall/1", &too_many)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Only 5 of it can be there; write at most 5");
}

#[tokio::test]
async fn a_recall_in_earnest_holds_the_lot() {
    let site = sold().await;
    let recall = [
        ("delivery", "1"),
        ("line", "0"),
        ("kind", "recall"),
        ("reason", "soot"),
    ];
    site.post("/recall", &recall).await.went("/recall/1");
    site.get("/recall/1")
        .await
        .says("Every lot of it was stopped as this was begun.");
    site.get("/rack/1").await.says("It is on hold.");
    site.post("/recall", &recall)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Recall 1 about it is under way");
    site.get("/recall/2").await.is(StatusCode::NOT_FOUND);
}
