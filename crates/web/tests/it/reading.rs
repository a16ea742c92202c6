use axum::http::StatusCode;

use crate::made;
use crate::site::{Shown, Site};

const FILE: &str = "Sold on,Order,Item,Qty,Total\n\
    2026-09-20,A-1,Harbour Fig bar,2,14.00\n\
    2026-09-21,A-2,Fig <b>tin</b>,1,9.00\n\
    2026-09-22,A-3,Harbour Fig bar,many,7.00\n";

async fn with_channel() -> Site {
    let site = made::bars(true).await;
    let opened = site
        .post(
            "/stall/channel/new",
            &[("name", "Web shop"), ("kind", "web")],
        )
        .await;
    opened.is(StatusCode::SEE_OTHER);
    site
}

async fn sent(site: &Site, file: &[u8]) -> Shown {
    site.send_file("/books/read", "file", file).await
}

#[tokio::test]
async fn a_file_is_looked_at_mapped_and_added_once() {
    let site = with_channel().await;
    site.get("/books").await.says("What does this file say?");
    let opened = sent(&site, FILE.as_bytes()).await;
    opened.is(StatusCode::SEE_OTHER);
    let path = opened.to.clone();
    let columns = site.get(&path).await;
    columns
        .is(StatusCode::OK)
        .says("what do its columns hold?")
        .says("holds 2026-09-20 · 2026-09-21 · 2026-09-22")
        .says(
            "Fig <b>tin</b>"
                .replace('<', "&lt;")
                .replace('>', "&gt;")
                .as_str(),
        );
    let form = [
        ("sheet", ""),
        ("kind", "sales"),
        ("channel", "1"),
        ("name", ""),
        ("days", ""),
        ("mark", "point"),
        ("column[0]", "day"),
        ("column[1]", "reference"),
        ("column[2]", "name"),
        ("column[3]", "amount"),
        ("column[4]", "paid"),
    ];
    let nameless = site.post(&format!("{path}/columns"), &form).await;
    nameless
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("It does not say what to call such files");
    let mut named = form;
    named[3].1 = "web orders";
    let kept = site.post(&format!("{path}/columns"), &named).await;
    let run = format!("{path}?layout=web%20orders");
    kept.went(&run);
    site.get(&run)
        .await
        .says("3 rows: 1 will be added, 1 waits, 1 cannot be read.")
        .says("Qty \"many\": it is not a figure")
        .says("What are these? You say it once.");
    let answers = [
        ("layout", "web orders"),
        ("name[0]", "Fig <b>tin</b>"),
        ("meant[0]", "nothing"),
    ];
    let answered = site.post(&format!("{path}/names"), &answers).await;
    answered.went(&run);
    site.get(&run)
        .await
        .says("1 sale for 14.00 USD")
        .says("1 left out")
        .does_not_say("You say it once");
    // What a name means is seen, and said anew.
    let known = "/books/read/names?layout=web%20orders";
    for page in ["/books/read", run.as_str()] {
        let page = site.get(page).await;
        page.says("What its names mean");
        assert!(page.html.contains(&format!("href=\"{known}\"")));
    }
    let names = site.get(known).await;
    names
        .is(StatusCode::OK)
        .says("holds for rows read in from now on");
    assert!(names.html.contains("value=\"nothing\" selected"));
    for (each, status) in [
        ("three", StatusCode::UNPROCESSABLE_ENTITY),
        ("3", StatusCode::SEE_OTHER),
    ] {
        let anew = [
            ("layout", "web orders"),
            ("name[0]", "Fig <b>tin</b>"),
            ("meant[0]", "product:1"),
            ("each[0]", each),
        ];
        site.post(known, &anew).await.is(status);
    }
    let names = site.get(known).await;
    assert!(names.html.contains("value=\"product:1\" selected"));
    assert_eq!(names.stands_in("each[0]"), "3");
    site.get("/books/read/names?layout=none")
        .await
        .is(StatusCode::NOT_FOUND);
    site.post(&format!("{path}/names"), &answers)
        .await
        .went(&run);
    let added = site
        .post(&format!("{path}/add"), &[("layout", "web orders")])
        .await;
    added.went(&run);
    site.get(&run)
        .await
        .says("Nothing new.")
        .says("1 already there")
        .says("This file was read in on 4 Oct 2026");
    site.post(&format!("{path}/add"), &[("layout", "web orders")])
        .await;
    let n = site
        .app
        .look(|workshop| workshop.trade().sales().len())
        .unwrap();
    assert_eq!(n, 1);
    // The same headings are known again.
    let more = FILE.replace("A-1", "B-1");
    let opened = sent(&site, more.as_bytes()).await;
    site.get(&opened.to).await.says("1 sale for 14.00 USD");
    site.get("/books/read")
        .await
        .says("web orders: sales through Web shop");
}

#[tokio::test]
async fn what_is_no_table_and_what_is_forgotten_is_told() {
    let site = with_channel().await;
    sent(&site, b"%PDF-1.7")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("That is a PDF; choose a CSV or an XLSX file.");
    sent(&site, b"").await.is(StatusCode::UNPROCESSABLE_ENTITY);
    let large = sent(
        &site,
        &[b"Date,Item\n".as_slice(), vec![0xff; 3_000_000].as_slice()].concat(),
    )
    .await;
    assert!(large.status.is_client_error(), "{}", large.status);
    site.get("/books/read/no-such-file")
        .await
        .went("/books/read?gone=yes");
    site.post("/books/read/x/add", &[("layout", "y")])
        .await
        .went("/books/read?gone=yes");
    site.get("/books/read?gone=yes")
        .await
        .says("Choose it again");
    let opened = sent(&site, FILE.as_bytes()).await;
    site.post(&format!("{}/add", opened.to), &[("layout", "none")])
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_payout_is_written_down_and_matched() {
    let site = with_channel().await;
    site.get("/books/payouts")
        .await
        .says("Nothing was paid out yet.");
    let noted = site
        .post(
            "/books/payouts",
            &[
                ("came_on", "2026-09-30"),
                ("channel", "1"),
                ("amount", "14.00"),
                ("reference", "P-1"),
            ],
        )
        .await;
    noted.went("/books/payouts/1");
    site.get("/books/payouts/1")
        .await
        .says("14.00 USD from Web shop: for which sales?")
        .says("No sale stands open that it could pay for.");
    let bare = site.post("/books/payouts/1", &[("note", "")]).await;
    bare.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The payout is 14.00 USD more than these sales come to");
    let explained = site
        .post("/books/payouts/1", &[("note", "sold before I kept books")])
        .await;
    explained.went("/books/payouts/1");
    site.get("/books/payouts")
        .await
        .says("Every payout is matched.");
    site.get("/books/payouts/9").await.is(StatusCode::NOT_FOUND);
}
