//! What is in a supply: a sheet pasted, looked up, filed and confirmed.

use axum::http::StatusCode;

use crate::made;
use crate::site::{Shown, Site};

const TABLE: &str = "\
SECTION 3: Composition/information on ingredients
Name\tCAS No\tConcentration\tClassification
Linalool\t78-70-6\t10 - 20 %\tSkin Sens. 1B H317, Skin Irrit. 2 H315, Eye Irrit. 2 H319
Citral\t5392-40-5\t1.6 %\tSkin Irrit. 2 H315, Skin Sens. 1 H317
Keep this oil away from the harbour cat
";

/// The boxes of a page's form for a sheet, as a browser would send them, with
/// these changed.
fn form<'a>(
    page: &'a Shown,
    lines: usize,
    changed: &[(&'a str, &'a str)],
) -> Vec<(String, String)> {
    let mut pairs: Vec<(String, String)> = Vec::new();
    for field in ["sheet_supplier", "dated", "version"] {
        pairs.push((field.to_owned(), page.stands_in(field)));
    }
    for i in 0..lines {
        for part in [
            "name",
            "cas",
            "share",
            "classes",
            "m_acute",
            "m_chronic",
            "limits",
            "ate",
            "basis",
        ] {
            let field = format!("lines[{i}].{part}");
            pairs.push((field.clone(), page.stands_in(&field)));
        }
    }
    for (field, text) in changed {
        pairs.retain(|(known, _)| known != field);
        pairs.push(((*field).to_owned(), (*text).to_owned()));
    }
    pairs
}

async fn send(site: &Site, path: &str, pairs: &[(String, String)]) -> Shown {
    let borrowed: Vec<_> = pairs
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect();
    site.post(path, &borrowed).await
}

/// Bars at 10 % of wax, their oil's sheet filed from the table, nothing confirmed.
async fn filed() -> Site {
    let site = made::bars(true).await;
    let read = site
        .post(
            "/shelf/supply/2/sheet/new",
            &[("do", "read"), ("text", TABLE)],
        )
        .await;
    read.is(StatusCode::OK);
    let pairs = form(
        &read,
        2,
        &[
            ("sheet_supplier", "Saltmarsh Scents"),
            ("dated", "2026-09-01"),
            ("rest", "not_hazardous"),
            ("do", "file"),
        ],
    );
    send(&site, "/shelf/supply/2/sheet/new", &pairs)
        .await
        .went("/shelf/supply/2/sheet");
    site
}

#[tokio::test]
async fn a_supply_without_a_sheet_says_what_belongs_there() {
    let site = made::bars(true).await;
    site.get("/shelf/supply/2/sheet")
        .await
        .is(StatusCode::OK)
        .says("Harbour Fig oil: what is in this oil?")
        .says("No sheet is on file, so no label can rest on this oil.")
        .says("This informs; it does not certify");
    site.get("/shelf/supply/1/sheet")
        .await
        .says("it is taken as not hazardous, on trust");
    // What goes by count is no part of the melt.
    site.get("/shelf/supply/3/sheet")
        .await
        .is(StatusCode::NOT_FOUND);
    site.get("/shelf/supply/2").await.says("What is in it");
}

#[tokio::test]
async fn a_pasted_table_is_proposed_and_nothing_is_written_down() {
    let site = made::bars(true).await;
    let page = site
        .post(
            "/shelf/supply/2/sheet/new",
            &[("do", "read"), ("text", TABLE)],
        )
        .await;
    page.is(StatusCode::OK)
        .says("Not understood, so look at these yourself:")
        .says("Keep this oil away from the harbour cat")
        .says("Read from:");
    assert_eq!(page.stands_in("lines[0].name"), "Linalool");
    assert_eq!(page.stands_in("lines[0].cas"), "78-70-6");
    assert_eq!(page.stands_in("lines[0].share"), "10 - 20 %");
    assert_eq!(page.stands_in("lines[1].cas"), "5392-40-5");
    assert!(
        !page.html.contains(" checked"),
        "something is confirmed by itself"
    );
    // Where the sheet and the table differ, both are shown.
    page.says("the table says otherwise")
        .says("Eye Irrit. 2 not given Eye Irrit. 2 H319");
    site.get("/shelf/supply/2/sheet")
        .await
        .says("No sheet is on file");
    // Read again, no line comes twice.
    let pairs = form(&page, 2, &[("text", TABLE), ("do", "read")]);
    let again = send(&site, "/shelf/supply/2/sheet/new", &pairs).await;
    assert_eq!(again.stands_in("lines[2].name"), "");
}

#[tokio::test]
async fn an_empty_paste_is_a_problem_at_its_box() {
    let site = made::bars(true).await;
    let page = site
        .post("/shelf/supply/2/sheet/new", &[("do", "read"), ("text", "")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("There is no text");
}

#[tokio::test]
async fn a_substance_is_looked_up_and_put_in_as_a_first_fill() {
    let site = made::bars(true).await;
    let page = site
        .post(
            "/shelf/supply/2/sheet/new",
            &[("do", "look"), ("look", "linal")],
        )
        .await;
    page.is(StatusCode::OK)
        .says("CAS 78-70-6")
        .says("Skin Sens. 1B H317 (harmonised list)");
    let page = site
        .post(
            "/shelf/supply/2/sheet/new",
            &[("do", "add:78-70-6"), ("look", "linal")],
        )
        .await;
    assert_eq!(page.stands_in("lines[0].name"), "Linalool");
    assert_eq!(page.stands_in("lines[0].share"), "");
    assert_eq!(page.stands_in("lines[0].basis"), "table");
    site.post(
        "/shelf/supply/2/sheet/new",
        &[("do", "look"), ("look", "moonlight")],
    )
    .await
    .says("The table has nothing of that name");
    let pairs = form(
        &page,
        1,
        &[
            ("lines[0].share", "12"),
            ("sheet_supplier", "Saltmarsh Scents"),
            ("rest", "unknown"),
            ("do", "file"),
        ],
    );
    send(&site, "/shelf/supply/2/sheet/new", &pairs)
        .await
        .went("/shelf/supply/2/sheet");
    site.get("/shelf/supply/2/sheet")
        .await
        .says("1 substance on a sheet without a date, by Saltmarsh Scents.")
        .says("first fill from the table, not confirmed; the harmonised list has it too")
        .says("What its lines leave open is unknown.");
}

#[tokio::test]
async fn lines_are_confirmed_one_by_one() {
    let site = filed().await;
    site.get("/shelf/supply/2/sheet")
        .await
        .says("2 substances on the sheet of 1 Sep 2026, by Saltmarsh Scents.")
        .says("2 lines were not compared with your sheet yet.")
        .says("as read from your sheet, not confirmed");
    let path = "/shelf/supply/2/sheet/confirm";
    let none = site.post(path, &[("sheet", "1")]).await;
    none.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No line is ticked");
    site.post(path, &[("sheet", "1"), ("line", "1")])
        .await
        .went("/shelf/supply/2/sheet");
    site.get("/shelf/supply/2/sheet")
        .await
        .says("1 line was not compared with your sheet yet.")
        .says("your sheet; the harmonised list has it too");
    site.post(path, &[("sheet", "1"), ("line", "0")])
        .await
        .went("/shelf/supply/2/sheet");
    site.get("/shelf/supply/2/sheet")
        .await
        .says("Every line was compared with your sheet.");
    site.post(path, &[("sheet", "1"), ("line", "7")])
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_sheet_filled_in_wrongly_comes_back_with_everything_at_its_box() {
    let site = made::bars(true).await;
    let wrong = [
        ("do", "file"),
        ("dated", "soon"),
        ("lines[0].name", ""),
        ("lines[0].cas", "78-70-5"),
        ("lines[0].share", "lots"),
        ("lines[2].name", "fig accord"),
        ("lines[2].share", "5"),
        ("lines[2].classes", "harmless"),
        ("lines[2].m_acute", "3"),
    ];
    let page = site.post("/shelf/supply/2/sheet/new", &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    let boxes = page.wrong_boxes();
    for field in [
        "sheet_supplier",
        "dated",
        "lines[0].name",
        "lines[0].cas",
        "lines[0].share",
        "lines[2].classes",
        "lines[2].m_acute",
    ] {
        assert!(
            boxes.iter().any(|known| known == field),
            "{field} in {boxes:?}"
        );
    }
    assert_eq!(page.stands_in("lines[2].classes"), "harmless");
    page.says(
        "The rest of the oil is left open; choose under \"The rest\": not hazardous, or unknown.",
    );
}

#[tokio::test]
async fn a_certificate_is_filed_beside_the_sheet() {
    let site = filed().await;
    let path = "/shelf/supply/2/sheet/certificate";
    let page = site
        .post(path, &[("category", ""), ("maximum", "much")])
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    site.post(path, &[("category", "12"), ("maximum", "31.5")])
        .await
        .went("/shelf/supply/2/sheet");
    site.get("/shelf/supply/2/sheet").await.says(
        "At most 31.5 % of the finished article, category 12, by a certificate without a date.",
    );
}

#[tokio::test]
async fn a_newer_sheet_begins_with_what_is_on_file_and_nothing_confirmed() {
    let site = filed().await;
    let page = site.get("/shelf/supply/2/sheet/new").await;
    assert_eq!(page.stands_in("lines[1].name"), "Citral");
    assert_eq!(page.stands_in("lines[1].share"), "1.6 %");
    assert!(!page.html.contains(" checked"));
}

#[tokio::test]
async fn a_file_is_read_into_lines_and_not_kept() {
    let site = made::bars(true).await;
    let path = "/shelf/supply/2/sheet/pdf";
    let sheet = include_bytes!("../../../app/tests/it/sheets/stacked-cells.en.pdf");
    let page = site.send_file(path, "pdf", sheet).await;
    page.is(StatusCode::OK);
    assert_eq!(page.stands_in("lines[0].cas"), "5989-27-5");
    assert_eq!(page.stands_in("lines[0].share"), "10 - &lt; 25 %");
    assert_eq!(page.stands_in("lines[3].name"), "Isobornyl acetate");
    assert!(!page.html.contains(" checked"));
    let picture = include_bytes!("../../../app/tests/it/sheets/only-a-picture.pdf");
    for (file, what) in [
        (&picture[..], "scan"),
        (b"%PDF-1.7 torn", "torn"),
        (b"", "empty"),
    ] {
        let page = site.send_file(path, "pdf", file).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{what}");
    }
    site.get("/shelf/supply/2/sheet")
        .await
        .says("No sheet is on file");
}
