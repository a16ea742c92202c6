//! The label of a formula and of a good.

use axum::http::StatusCode;

use crate::made;
use crate::site::Site;

/// The good of [`made::bars`], 12 % of wax, with a sheet of one sensitiser.
async fn with_sheet(share: &str, dated: &str, confirmed: &str) -> Site {
    let site = made::bars(true).await;
    file(&site, share, dated, confirmed).await;
    site
}

async fn file(site: &Site, share: &str, dated: &str, confirmed: &str) {
    let sheet = [
        ("do", "file"),
        ("sheet_supplier", "Saltmarsh Scents"),
        ("dated", dated),
        ("rest", "not_hazardous"),
        ("lines[0].name", "citral"),
        ("lines[0].cas", "5392-40-5"),
        ("lines[0].share", share),
        ("lines[0].classes", "Skin Sens. 1 H317"),
        ("lines[0].confirmed", confirmed),
    ];
    site.post("/shelf/supply/2/sheet/new", &sheet)
        .await
        .went("/shelf/supply/2/sheet");
}

async fn settle(site: &Site, market: &str) {
    let settings = [
        ("market", market),
        ("language", "en"),
        ("supplier_name", "Quillfen Wax Works"),
        ("address", "3 Quarry Lane, Port Averin"),
        ("phone", "01 555 0147"),
        ("vat", "IE9Z54321Y"),
    ];
    site.post("/label/settings", &settings).await.went("/label");
}

#[tokio::test]
async fn an_empty_place_names_the_first_verb() {
    let site = Site::set_up().await;
    site.get("/label")
        .await
        .is(StatusCode::OK)
        .says("Add something you sell");
    site.get("/label/good/1").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn without_a_sheet_nobody_can_say() {
    let site = made::bars(true).await;
    site.get("/bench/formula/1/label")
        .await
        .is(StatusCode::OK)
        .says("Nobody can say yet")
        .says("Write down its sheet");
    site.get("/label/good/1")
        .await
        .says("Nobody can say yet.")
        .says("No safety data sheet of Harbour Fig oil is on file")
        .says("Nobody has said where the goods are sold");
    site.get("/label").await.says("not ready");
}

// CLP Annex I, Tables 3.4.5 and 3.4.6: a sensitiser of category 1 is named from
// 0.1 % and classifies from 1 %. At 20 % of the oil these are 0.5 and 5 parts of
// oil in 100 parts in all: 0.5025 and 5.263 % of wax.
#[tokio::test]
async fn the_ladder_leads_back_to_the_formula() {
    let site = with_sheet("20", "2026-09-01", "yes").await;
    let page = site.get("/bench/formula/1/label").await;
    page.is(StatusCode::OK)
        .says("Warning, names citral.")
        .says("At 12 % of wax, by EU CLP as read on 4 Oct 2026.")
        .says("Up to 0.5 % of wax : No label for hazards")
        .says("Above 0.5 %, up to 5.26 % of wax : Names citral EUH208")
        .says("May cause an allergic skin reaction.")
        .says("taken as not hazardous, on trust")
        .says("not checked No certificate of the oil is on file.")
        .says("This informs; it does not certify");
    assert!(page.html.contains("<svg"));
    let back = "/bench/formula/1/revise?load=5.26+%25+of+wax";
    assert!(
        page.html.contains(&format!("href=\"{back}\"")),
        "{}",
        page.html
    );
    let form = site.get(back).await;
    assert_eq!(form.stands_in("load"), "5.26 % of wax");
    // The load is tried, not kept.
    site.get("/bench/formula/1/label?load=5+%25+of+wax&law=GB")
        .await
        .says("Names citral.")
        .says("At 5 % of wax, by GB CLP as read on 4 Oct 2026.")
        .says("Take this load into the formula");
    let page = site.get("/bench/formula/1/label?load=5+%25&law=XX").await;
    page.says("The load does not say of what");
    assert_eq!(page.wrong_boxes(), ["load"]);
}

#[tokio::test]
async fn a_label_is_marked_ready_and_asks_to_be_renewed() {
    // Of 12 parts in 112: 0.0857 % below the limit of a name, 0.171 % above it.
    let site = with_sheet("0.8", "2026-09-01", "").await;
    settle(&site, "EU").await;
    let refused = site.post("/label/good/1/ready", &[]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("A line of the sheet of Harbour Fig oil was not compared with the supplier's own; compare it.");
    site.post(
        "/shelf/supply/2/sheet/confirm",
        &[("sheet", "1"), ("line", "0")],
    )
    .await
    .went("/shelf/supply/2/sheet");
    site.get("/label")
        .await
        .says("0 of 1 good has a label that fits.")
        .says("look it over");
    site.post("/label/good/1/ready", &[])
        .await
        .went("/label/good/1");
    site.get("/label/good/1")
        .await
        .says("No label for hazards.")
        .says("ready At 12 % of wax")
        .says("Marked ready on 4 Oct 2026, at 12 % of wax.");
    site.get("/").await.does_not_say("Renew the label");
    file(&site, "1.6", "2026-10-01", "yes").await;
    site.get("/")
        .await
        .says("Renew the label of Harbour Fig bar")
        .says("another sheet of Harbour Fig oil is on file, dated 1 Oct 2026");
    site.get("/label").await.says("1 label no longer fits");
    site.get("/label/good/1")
        .await
        .says("Names citral.")
        .says("to be renewed")
        .says("citral 0.8 % 1.6 % 0.086 % 0.171 %")
        .says("It carried nothing on hazards.")
        .says("Contains citral. May produce an allergic reaction.");
    // At 12 in 112 what is left of 2.1 kg makes 19.6 kg, 380 units of 51.56 g.
    site.get("/label/good/1?old_oil=2.1+kg&unit_takes=51.56+g&old_labels=412")
        .await
        .says("Stop the old lot at 380: the oil runs out first, and 32 old labels are left over; destroy them.")
        .says("New oil and new label from unit 381 on.");
    site.get("/label/good/1?old_oil=2.1+kg&unit_takes=&old_labels=3.5")
        .await
        .does_not_say("Stop the old lot")
        .says("That is not a whole number of labels");
    site.post("/label/good/1/ready", &[])
        .await
        .went("/label/good/1");
    site.get("/").await.does_not_say("Renew the label");
}

#[tokio::test]
async fn a_changed_load_asks_for_a_new_label() {
    let site = with_sheet("20", "2026-09-01", "yes").await;
    settle(&site, "EU").await;
    let page = site.get("/label/good/1").await;
    assert_eq!(page.stands_in("number"), "1");
    site.post("/label/good/1/ready", &[("number", "7")])
        .await
        .went("/label/good/1");
    site.get("/label/good/1")
        .await
        .says("UFI: ")
        .says("from formulation number 7");
    site.get("/label/good/1/print")
        .await
        .is(StatusCode::OK)
        .says("UFI: ")
        .says("Quillfen Wax Works")
        .says("01 555 0147")
        .says("This informs; it does not certify");
    let change = [
        ("blend[0].supply", "1"),
        ("blend[0].parts", "100"),
        ("oil", "2"),
        ("load", "5 % of wax"),
        ("cure_days", "3"),
        ("reason", "no signal word"),
    ];
    site.post("/bench/formula/1/revise", &change)
        .await
        .went("/bench/formula/1");
    site.get("/label/good/1")
        .await
        .says("Names citral.")
        .says("It rests on 12 % of wax, and the load is now 5 % of wax.")
        .says("It carried: Warning, H317.");
    site.get("/label/good/1/print")
        .await
        .says("to be renewed Not to be put on goods like this.");
}

#[tokio::test]
async fn settings_are_asked_for_and_kept_as_typed() {
    let site = made::bars(true).await;
    let page = site.get("/label/settings").await;
    assert_eq!(page.stands_in("supplier_name"), "Quillfen Wax Works");
    let page = site
        .post(
            "/label/settings",
            &[("market", "EU"), ("phone", "01"), ("vat", "nonsense")],
        )
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No language is chosen")
        .says("It is missing");
    assert_eq!(page.stands_in("vat"), "nonsense");
    settle(&site, "US").await;
    site.get("/label")
        .await
        .says("not asked for")
        .says("In the United States")
        .says("Federal Hazardous Substances Act");
}
