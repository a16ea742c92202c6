use axum::http::StatusCode;

use crate::site::Site;

#[tokio::test]
async fn a_first_visit_finds_sensible_choices() {
    let site = Site::empty();
    let page = site.get("/settings").await;
    page.is(StatusCode::OK)
        .says("How does this workshop count?")
        .says("Decimals are written with");
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

/// The form of the settings page as a browser sends it, the mark changed.
async fn switch(site: &Site, mark: &str) -> Vec<String> {
    let names = [
        "name",
        "currency",
        "readability",
        "expected_loss",
        "melter",
        "wage",
        "overhead_per_hour",
    ];
    let page = site.get("/settings").await;
    let stand = names.map(|name| page.stands_in(name));
    let mut typed: Vec<_> = names
        .into_iter()
        .zip(stand.iter().map(String::as_str))
        .collect();
    typed.extend([("system", "us"), ("decimal_mark", mark)]);
    site.post("/settings", &typed)
        .await
        .went("/settings?kept=yes");
    let page = site.get("/settings").await;
    ["readability", "wage", "overhead_per_hour"]
        .map(|name| page.stands_in(name))
        .into()
}

#[tokio::test]
async fn the_decimal_mark_can_be_changed_with_the_boxes_as_they_stand() {
    let site = Site::set_up().await;
    assert_eq!(
        switch(&site, "comma").await,
        ["0,1 oz", "18,00 USD", "3,00 USD"]
    );
    assert_eq!(
        switch(&site, "point").await,
        ["0.1 oz", "18.00 USD", "3.00 USD"]
    );
}

#[tokio::test]
async fn a_first_visit_may_choose_the_comma_beside_the_step_that_stands_there() {
    let site = Site::empty();
    let step = site.get("/settings").await.stands_in("readability");
    let typed = [
        ("name", "Quillfen Wax Works"),
        ("system", "us"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", step.as_str()),
        ("wage", "18,50"),
    ];
    site.post("/settings", &typed)
        .await
        .went("/settings?kept=yes");
    let page = site.get("/settings").await;
    assert_eq!(page.stands_in("readability"), "0,1 oz");
    assert_eq!(page.stands_in("wage"), "18,50 EUR");
}

#[tokio::test]
async fn where_the_mark_stays_the_other_one_is_still_refused() {
    let site = Site::set_up().await;
    let typed = [
        ("name", "Quillfen Wax Works"),
        ("system", "us"),
        ("currency", "USD"),
        ("decimal_mark", "point"),
        ("readability", "0,1 oz"),
        ("wage", "18,00"),
    ];
    let page = site.post("/settings", &typed).await;
    assert_eq!(page.wrong_boxes(), ["readability", "wage"]);
}
