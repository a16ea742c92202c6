//! A workshop with one lot behind it, made through its own pages.

use app::forms::{self, Filled};

use crate::site::Site;

/// One pour of eleven bars, finished; its supplies are bought when `priced`.
///
/// The wax and the oil are supplies 1 and 2, the film is 3; the good is 1, the
/// pour is 1.
pub(crate) async fn bars(priced: bool) -> Site {
    finished(counted(priced).await).await
}

/// As [`bars`], priced, in a workshop that has no wage and no overhead.
pub(crate) async fn unpaid() -> Site {
    let site = Site::empty();
    let kept = [
        ("name", "Quillfen Wax Works"),
        ("system", "us"),
        ("currency", "USD"),
        ("decimal_mark", "point"),
        ("readability", "0.1 oz"),
    ];
    site.post("/settings", &kept)
        .await
        .went("/settings?kept=yes");
    finished(counted_in(site, true).await).await
}

async fn finished(site: Site) -> Site {
    for (step, fields) in [
        ("demould", vec![]),
        ("finish", vec![("good", "11"), ("minutes", "40 min")]),
    ] {
        let done = site.post(&format!("/pour/1/{step}"), &fields).await;
        assert!(done.status.is_redirection(), "{step}: {}", done.text());
    }
    site
}

/// As [`bars`], counted and still on the bench.
pub(crate) async fn counted(priced: bool) -> Site {
    counted_in(Site::set_up().await, priced).await
}

async fn counted_in(site: Site, priced: bool) -> Site {
    supply(&site, "wax", "soy wax").await;
    supply(&site, "fragrance_oil", "Harbour Fig oil").await;
    supply(&site, "wrap", "film bag").await;
    if priced {
        buy(&site).await;
    }
    let formula = [
        ("name", "Harbour Fig"),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "100"),
        ("oil", "2"),
        ("load", "12 % of wax"),
        ("cure_days", "3"),
    ];
    site.post("/bench/formula/new", &formula)
        .await
        .went("/bench/formula/1");
    let mould = [
        ("name", "12-bar mould"),
        ("format", "snap_bar"),
        ("cavities", "12"),
    ];
    forms::define_mould(&site.app, "test", &Filled::of(mould)).unwrap();
    let good = [
        ("name", "Harbour Fig bar"),
        ("formula", "1"),
        ("mould", "1"),
        ("packing[0].supply", "3"),
        ("packing[0].each", "1"),
    ];
    site.post("/stall/new", &good).await.went("/stall/good/1");
    let pour = [("product", "1"), ("wanted", "12"), ("melt", "17.92 oz")];
    site.post("/pour/new", &pour).await.went("/pour/1");
    for (portion, weight) in [("0", "16 oz"), ("1", "1.92 oz")] {
        let weighed = [("portion", portion), ("weight", weight)];
        let done = site.post("/pour/1/weigh", &weighed).await;
        assert!(done.status.is_redirection(), "{}", done.text());
    }
    for (step, fields) in [
        ("poured", vec![]),
        ("count", vec![("full", "11"), ("part", "none")]),
    ] {
        let done = site.post(&format!("/pour/1/{step}"), &fields).await;
        assert!(done.status.is_redirection(), "{step}: {}", done.text());
    }
    site
}

async fn supply(site: &Site, kind: &str, name: &str) {
    let entered = site
        .post("/shelf/new", &[("kind", kind), ("name", name)])
        .await;
    assert!(entered.status.is_redirection(), "{}", entered.text());
}

/// One delivery of all three: 10 lb of wax, 1 lb of oil, 100 bags.
pub(crate) async fn buy(site: &Site) {
    let lines = [
        ("supplier", "a merchant"),
        ("lines[0].supply", "1"),
        ("lines[0].amount", "10 lb"),
        ("lines[0].paid", "26.00"),
        ("lines[1].supply", "2"),
        ("lines[1].amount", "1 lb"),
        ("lines[1].paid", "24"),
        ("lines[2].supply", "3"),
        ("lines[2].amount", "100"),
        ("lines[2].paid", "10"),
        ("lines[3].supply", ""),
        ("freight", "6"),
        ("spread", "by_value"),
    ];
    site.post("/shelf/receive", &lines)
        .await
        .went("/shelf/delivery/1");
}
