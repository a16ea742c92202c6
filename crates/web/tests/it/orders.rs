//! Buyers, orders, shops and invoices, as a browser asks for them.

use axum::http::StatusCode;
use measure::{Currency, Money};
use workshop::facts::{
    BookSettings, BooksSettled, BuyerId, ChannelId, ChannelKind, ChannelSettled, ChannelTerms,
    CostMethod, Grade, OrderId, OrderPicked, OrderSent, Payment, PourId, ProductId, SaleFrom,
    SaleId, SaleLine, SalesTax, Sold, Units,
};

use crate::made;
use crate::site::Site;

/// Eleven ready bars, a wholesale channel at half price and one on return.
async fn shop() -> Site {
    let site = made::bars(true).await;
    let prices = [("low", "11"), ("typical", "12"), ("high", "13")];
    site.post("/stall/good/1", &prices).await;
    let channel = |id, name: &str, kind, terms| ChannelSettled {
        channel: ChannelId(id),
        name: name.to_owned(),
        kind,
        terms,
        closed: false,
    };
    let part = |text: &str| measure::Ratio::parse(text, measure::Reading::PLAIN).ok();
    let trade = ChannelTerms {
        discount: part("50 %"),
        days_to_pay: Some(30),
        ..ChannelTerms::default()
    };
    let lent = ChannelTerms {
        share: part("65 %"),
        ..ChannelTerms::default()
    };
    site.app
        .act("test", |_, _| {
            Ok(vec![
                channel(1, "trade", ChannelKind::Wholesale, trade.clone()).into(),
                channel(2, "on return", ChannelKind::SaleOrReturn, lent.clone()).into(),
            ])
        })
        .unwrap();
    let tide = [
        ("name", "The <Tide> Shop"),
        ("channel", "1"),
        ("address", "3 Quay Street\nPort Averin"),
        ("resells", "yes"),
    ];
    site.post("/stall/buyers/new", &tide)
        .await
        .went("/stall/buyer/1");
    let lane = [("name", "Lane Gifts"), ("channel", "2")];
    site.post("/stall/buyers/new", &lane)
        .await
        .went("/stall/buyer/2");
    site
}

#[tokio::test]
async fn empty_places_say_what_belongs_there() {
    let site = Site::set_up().await;
    for (path, words) in [
        ("/stall/buyers", "names and addresses are kept apart"),
        ("/stall/buyers/new", "none is open yet"),
        ("/stall/orders", "Take an order"),
        ("/stall/orders/new", "none is entered yet"),
        ("/stall/shops", "Nothing."),
        ("/stall/invoices", "Nobody owes anything."),
    ] {
        site.get(path).await.is(StatusCode::OK).says(words);
    }
    for path in [
        "/stall/buyer/1",
        "/stall/buyer/1/forget",
        "/stall/shop/1",
        "/stall/order/1",
        "/stall/order/1/change",
        "/stall/order/1/offer",
        "/stall/order/1/parcel",
        "/stall/invoice/1",
        "/stall/order/x",
    ] {
        site.get(path).await.is(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn the_price_of_a_channel_is_the_one_the_last_buyer_sees() {
    let site = shop().await;
    // Half of 12.00, half of 10.00, and 65 % of 12.00.
    for (path, shelf, gets) in [
        ("1/good/1", "12.00 USD on the shop's shelf", "6.00 USD"),
        (
            "1/good/1?price=10",
            "10.00 USD on the shop's shelf",
            "5.00 USD",
        ),
        ("2/good/1", "12.00 USD on the shop's shelf", "7.80 USD"),
    ] {
        site.get(&format!("/stall/channel/{path}"))
            .await
            .is(StatusCode::OK)
            .says(shelf)
            .says(&format!("shop pays you {gets}"));
    }
}

#[tokio::test]
async fn what_a_shop_gets_is_asked_in_the_open() {
    let site = Site::set_up().await;
    let page = site.get("/stall/channel/new").await;
    let (open, folded) = page.html.split_once("By post").unwrap();
    for field in ["discount", "share", "minimum", "days_to_pay"] {
        assert!(open.contains(&format!("name=\"{field}\"")), "{field}");
    }
    assert!(folded.contains("name=\"postage_paid\""));
}

#[tokio::test]
async fn an_order_is_led_from_step_to_step() {
    let site = shop().await;
    site.get("/stall/buyers")
        .await
        .says("The &lt;Tide&gt; Shop");
    site.get("/stall/orders/new")
        .await
        .says("Whose order is it?");
    site.get("/stall/orders/new?buyer=1")
        .await
        .says("empty: 6.00 USD");
    let order = [("buyer", "1"), ("count-1", "6"), ("each-1", "")];
    site.post("/stall/orders/new", &order)
        .await
        .went("/stall/order/1");
    let page = site.get("/stall/order/1").await;
    page.says("36.00 USD").says("It is confirmed");
    site.post("/stall/order/1/confirm", &[])
        .await
        .went("/stall/order/1");
    // The bars still cure: nothing may be picked.
    site.get("/stall/order/1")
        .await
        .says("short by 6")
        .says("Nothing of it may be sold now");
    let refused = site.post("/stall/order/1/pick", &[]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("0 of Harbour Fig bar may be sold now");
    let early = site.post("/stall/order/1/send", &[]).await;
    early.is(StatusCode::CONFLICT).says("pick it first");
    site.get("/stall/orders").await.says("short by 6");
    site.get("/stall/order/1/offer").await.is(StatusCode::OK);
    site.get("/stall/order/1/parcel").await.is(StatusCode::OK);
    let why = [("reason", "too slow")];
    site.post("/stall/order/1/cancel", &why)
        .await
        .went("/stall/order/1");
    site.get("/stall/order/1")
        .await
        .says("Called off: too slow");
}

#[tokio::test]
async fn who_orders_from_the_own_page_has_paid_there() {
    let site = shop().await;
    let page = ChannelSettled {
        channel: ChannelId(3),
        name: "the own page".to_owned(),
        kind: ChannelKind::Web,
        terms: ChannelTerms::default(),
        closed: false,
    };
    site.app
        .act("test", |_, _| Ok(vec![page.clone().into()]))
        .unwrap();
    let jo = [("name", "Jo Webb"), ("channel", "3")];
    site.post("/stall/buyers/new", &jo)
        .await
        .went("/stall/buyer/3");
    for (order, buyer, paid) in [(1, "1", "owed"), (2, "3", "payout")] {
        let here = format!("/stall/order/{order}");
        let wish = [("buyer", buyer), ("count-1", "1"), ("each-1", "")];
        site.post("/stall/orders/new", &wish).await.went(&here);
        let order = OrderId(order);
        let units = vec![Units {
            product: ProductId(1),
            lot: Some(PourId(1)),
            grade: Grade::Good,
            count: 1,
        }];
        let picked = OrderPicked { order, units };
        site.app
            .act("test", |_, _| Ok(vec![picked.clone().into()]))
            .unwrap();
        site.get(&here).await.says("a bare figure is in ounces");
        let packed = [("parcels", "1"), ("weight", "")];
        site.post(&format!("{here}/pack"), &packed)
            .await
            .went(&here);
        let page = site.get(&here).await;
        let chosen = format!("<option value=\"{paid}\" selected>");
        assert!(page.html.contains(&chosen), "{}", page.html);
    }
}

#[tokio::test]
async fn a_wrong_pick_is_put_back_and_picked_anew() {
    let site = shop().await;
    let order = [("buyer", "1"), ("count-1", "6"), ("each-1", "")];
    site.post("/stall/orders/new", &order)
        .await
        .went("/stall/order/1");
    // Nothing is picked that could be put back.
    site.post("/stall/order/1/anew", &[])
        .await
        .is(StatusCode::CONFLICT);
    let units = vec![Units {
        product: ProductId(1),
        lot: Some(PourId(1)),
        grade: Grade::Good,
        count: 6,
    }];
    let order = OrderId(1);
    let picked = OrderPicked { order, units };
    site.app
        .act("test", |_, _| Ok(vec![picked.clone().into()]))
        .unwrap();
    site.get("/stall/order/1").await.says("Pick it anew");
    site.post("/stall/order/1/anew", &[])
        .await
        .went("/stall/order/2");
    site.get("/stall/order/1")
        .await
        .says("Called off: picked anew as order 2");
    site.get("/stall/order/2")
        .await
        .says("36.00 USD for 6 units")
        .does_not_say("Pick it anew");
    let on_rack = site
        .app
        .look(|workshop| {
            let item = workshop::Item::Lot(PourId(1), Grade::Good);
            workshop.goods().held(workshop::facts::Place::Rack, item)
        })
        .unwrap();
    assert_eq!(on_rack, 11);
}

/// Six bars of the first order on their way to the first buyer, for 36.00 and
/// 3.60 for postage, a VAT of 20 % inside both: 39.60 × 0.2 ÷ 1.2 is 6.60.
/// Own arithmetic.
async fn sent(payment: Payment) -> Site {
    let site = shop().await;
    let usd = |minor| Money::from_minor(minor, Currency::USD);
    let order = [("buyer", "1"), ("count-1", "6"), ("each-1", "")];
    site.post("/stall/orders/new", &order)
        .await
        .went("/stall/order/1");
    let tax = SalesTax {
        name: "VAT".to_owned(),
        rate: measure::Ratio::parse("20 %", measure::Reading::PLAIN).unwrap(),
        inside: true,
        number: String::new(),
    };
    let settings = BookSettings {
        method: CostMethod::Fifo,
        tax: Some(tax),
        year_month: 1,
        year_day: 1,
    };
    let sold = Sold {
        sale: SaleId(1),
        token: String::new(),
        from: SaleFrom::Order,
        channel: ChannelId(1),
        market_day: None,
        buyer: Some(BuyerId(1)),
        order: Some(OrderId(1)),
        lines: vec![SaleLine {
            units: vec![Units {
                product: ProductId(1),
                lot: Some(PourId(1)),
                grade: Grade::Good,
                count: 6,
            }],
            paid: usd(3600),
        }],
        postage: Some(usd(360)),
        tax: usd(660),
        fees: None,
        payment,
        row: None,
    };
    let sent = OrderSent {
        order: OrderId(1),
        postage: None,
    };
    site.app
        .act("test", |_, _| {
            let settings = settings.clone();
            Ok(vec![
                BooksSettled { settings }.into(),
                sold.clone().into(),
                sent.clone().into(),
            ])
        })
        .unwrap();
    site
}

#[tokio::test]
async fn what_is_sold_and_not_invoiced_is_owed_too() {
    let site = sent(Payment::Owed).await;
    site.get("/stall/order/1")
        .await
        .says("39.60 USD for 6 units")
        .says("36.00 USD for the goods and 3.60 USD for postage. Owed, and on no invoice yet.");
    site.get("/stall/invoices")
        .await
        .does_not_say("Nobody owes anything.")
        .says("39.60 USD sold and not invoiced yet");
    site.get("/stall/buyer/1")
        .await
        .says("39.60 USD sold and not invoiced yet");
    site.get("/stall")
        .await
        .says("39.60 USD sold and not invoiced yet");
    site.post("/stall/buyer/1/invoice", &[])
        .await
        .went("/stall/invoice/1");
    site.get("/stall/invoices").await.says("39.60 USD owed");
    site.get("/stall/invoice/1")
        .await
        .says("Price, VAT in it")
        .says("of which VAT 6.60 USD")
        .does_not_say("Paid, tax in it");
    site.get("/stall/order/1")
        .await
        .says("It stands on invoice 1.");
}

#[tokio::test]
async fn a_credit_note_knows_what_came_back_and_where_it_went() {
    let site = sent(Payment::Owed).await;
    site.post("/stall/buyer/1/invoice", &[])
        .await
        .went("/stall/invoice/1");
    let paid = [("amount", ""), ("payment", "cash")];
    site.post("/stall/invoice/1/pay", &paid)
        .await
        .went("/stall/invoice/1");
    let page = site.get("/stall/invoice/1").await;
    page.says("of 6, 6.00 USD each");
    let back_by = "<option value=\"cash\" selected>";
    assert!(page.html.contains(back_by), "{}", page.html);
    let credit = [
        ("total", ""),
        ("given_back", "cash"),
        ("reason", "cracked"),
        ("back-1-0", "1"),
        ("to", "spoilt"),
    ];
    site.post("/stall/invoice/1/credit", &credit)
        .await
        .went("/stall/invoice/2");
    site.get("/stall/invoice/2")
        .await
        .says("6.00 USD taken off")
        .says("of which VAT 1.00 USD")
        .says("6.00 USD of it was given back in cash.")
        .says("1 Harbour Fig bar, lot ")
        .says("thrown away");
}

#[tokio::test]
async fn a_buyer_is_changed_and_forgotten() {
    let site = shop().await;
    let change = [
        ("name", "Tide & Sons"),
        ("channel", "1"),
        ("discount", "40 %"),
    ];
    site.post("/stall/buyer/1", &change)
        .await
        .went("/stall/buyer/1");
    site.get("/stall/buyer/1").await.says("Tide & Sons");
    let wrong = [("name", ""), ("channel", "1"), ("country", "Britain")];
    let refused = site.post("/stall/buyer/1", &wrong).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("two letters");
    assert_eq!(refused.wrong_boxes(), ["name", "country"]);
    let order = [("buyer", "1"), ("count-1", "6")];
    site.post("/stall/orders/new", &order)
        .await
        .went("/stall/order/1");
    site.get("/stall/buyer/1/forget")
        .await
        .says("Order 1 is open");
    site.post("/stall/buyer/1/forget", &[])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    site.get("/stall/buyer/1").await.says("Tide & Sons");
    site.post("/stall/order/1/cancel", &[("reason", "gone")])
        .await;
    site.post("/stall/buyer/1/forget", &[])
        .await
        .went("/stall/buyer/1");
    let page = site.get("/stall/buyer/1").await;
    page.says("buyer 1, forgotten").does_not_say("Tide");
    site.get("/stall/buyers").await.does_not_say("Tide");
    site.get("/stall/order/1").await.does_not_say("Tide");
}
