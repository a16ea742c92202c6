use axum::http::StatusCode;

use crate::made;
use crate::site::Site;

const PAGES: [(&str, &str); 8] = [
    ("/books/year", "How was the year?"),
    ("/books/stock", "What is the stock worth?"),
    ("/books/stock?on=2026-01-01", "What is the stock worth?"),
    ("/books/earns", "Who earns it?"),
    ("/books/earns?by=channel", "Who earns it?"),
    ("/books/tax", "What tax is due?"),
    ("/books/expenses", "What else did I pay for?"),
    ("/books/take", "Take it all away"),
];

#[tokio::test]
async fn the_books_stand_with_a_lot_and_without_anything() {
    for site in [Site::empty(), made::bars(true).await] {
        for (path, title) in PAGES {
            site.get(path).await.is(StatusCode::OK).says(title);
        }
    }
}

#[tokio::test]
async fn a_day_that_is_none_is_told_beside_its_box() {
    let site = made::bars(true).await;
    site.get("/books/year?from=soon")
        .await
        .says("It is not a day; write it as 2026-12-31.");
    site.get("/books/earns?from=2026-02-01&to=2026-01-01")
        .await
        .says("It is before the first day");
    let file = site.get("/books/take/sales.csv?from=soon").await;
    file.is(StatusCode::UNPROCESSABLE_ENTITY);
    site.get("/books/take/nothing.csv")
        .await
        .is(StatusCode::NOT_FOUND);
    site.get("/books/take/sales.pdf")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_was_paid_for_stands_in_the_books_and_in_the_double_entry() {
    let site = made::bars(true).await;
    let told = site
        .post(
            "/books/expenses",
            &[
                ("kind", "equipment"),
                ("amount", "64.00"),
                ("note", "=a second pot"),
            ],
        )
        .await;
    told.is(StatusCode::SEE_OTHER);
    site.get("/books/expenses")
        .await
        .says("=a second pot")
        .says("64.00 USD");
    let csv = site.get("/books/take/expenses.csv").await;
    assert!(
        csv.html.contains("equipment,64.00,USD,'=a second pot"),
        "{}",
        csv.html
    );
    let journal = site.get("/books/take/entries.txt").await;
    assert!(
        journal.html.contains("Expenses:Equipment"),
        "{}",
        journal.html
    );
    let refused = site
        .post(
            "/books/expenses",
            &[("kind", "equipment"), ("amount", "0"), ("note", "x")],
        )
        .await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nothing was paid");
}

#[tokio::test]
async fn every_table_is_there_as_csv() {
    let site = made::bars(true).await;
    for kind in app::books::KINDS {
        let table = site.get(&format!("/books/take/{}.csv", kind.name)).await;
        table.is(StatusCode::OK);
        assert!(table.html.contains("\r\n"), "{}", kind.name);
    }
}

#[tokio::test]
async fn the_method_the_maker_chose_is_the_answer() {
    let site = made::bars(true).await;
    let stock = site.get("/books/stock").await;
    stock.says("By first in, first out; by moving average it is");
    let kept = site
        .post(
            "/books/kept",
            &[
                ("method", "average"),
                ("tax_name", "sales tax"),
                ("tax_rate", "6.25 %"),
                ("tax_inside", "inside"),
                ("year_day", "6"),
                ("year_month", "4"),
            ],
        )
        .await;
    kept.went("/books/kept");
    let stock = site.get("/books/stock").await;
    stock.says("By moving average; by first in, first out it is");
    // It is the fourth of October.
    site.get("/books/year")
        .await
        .says("profit so far, 6 Apr 2026 to 5 Apr 2027");
}
