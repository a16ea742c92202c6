use axum::http::StatusCode;

use crate::site::Site;

#[tokio::test]
async fn a_first_visit_finds_sensible_choices() {
    let site = Site::empty();
    let page = site.get("/settings").await;
    page.is(StatusCode::OK)
        .says("How does this workshop count?");
    assert_eq!(page.stands_in("currency"), "USD");
    assert_eq!(page.stands_in("readability"), "0.1 oz");
}

#[tokio::test]
async fn settings_are_kept_and_shown_again() {
    let site = Site::set_up().await;
    let page = site.get("/settings?kept=yes").await;
    page.is(StatusCode::OK).says("Kept.");
    assert_eq!(page.stands_in("name"), "Quillfen Wax Works");
    assert_eq!(page.stands_in("wage"), "18.00 USD");
    assert!(page.html.contains("<option value=\"us\" selected>"));
}

#[tokio::test]
async fn problems_stand_beside_their_boxes_and_what_was_typed_stays() {
    let site = Site::empty();
    let typed = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "GBP"),
        ("decimal_mark", "point"),
        ("readability", "1 parsec"),
        ("expected_loss", "80 %"),
        ("wage", "-4"),
    ];
    let page = site.post("/settings", &typed).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["readability", "expected_loss", "wage"]);
    assert_eq!(page.stands_in("readability"), "1 parsec");
    assert_eq!(page.stands_in("name"), "Quillfen Wax Works");
    assert!(page.html.contains("<option value=\"metric\" selected>"));
    // Nothing was written down.
    site.get("/settings")
        .await
        .says("Three choices to begin with");
}

#[tokio::test]
async fn a_comma_workshop_can_send_its_settings_back_as_they_stand() {
    let site = Site::empty();
    let typed = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "0,5 g"),
        ("expected_loss", "1,5 %"),
        ("melter", "2,7 kg"),
        ("wage", "18,50"),
        ("overhead_per_hour", ""),
    ];
    site.post("/settings", &typed)
        .await
        .went("/settings?kept=yes");
    let page = site.get("/settings").await;
    let names = ["readability", "expected_loss", "melter", "wage"];
    let stand = names.map(|name| page.stands_in(name));
    assert_eq!(stand, ["0,5 g", "1,5 %", "2,7 kg", "18,50 EUR"]);
    let again: Vec<_> = typed
        .iter()
        .map(|(name, text)| {
            let stands = names.iter().position(|known| known == name);
            (*name, stands.map_or(*text, |at| stand[at].as_str()))
        })
        .collect();
    site.post("/settings", &again)
        .await
        .went("/settings?kept=yes");
}
