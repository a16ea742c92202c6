//! The quick pour as a first visitor meets it.

use axum::http::StatusCode;

use crate::site::{Shown, Site, query};

/// A pound of soy wax with 1.5 oz of oil, before anything is set up.
const FIRST: [(&str, &str); 6] = [
    ("wax", "soy wax"),
    ("oil", "Harbour Fig oil"),
    ("load", "8 % of wax"),
    ("by", "wax"),
    ("amount", "16 oz"),
    ("readability", "0.1 oz"),
];

fn with<'a>(changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut fields: Vec<_> = FIRST
        .into_iter()
        .filter(|(name, _)| changed.iter().all(|(other, _)| other != name))
        .collect();
    fields.extend(changed);
    fields
}

async fn ask(site: &Site, changed: &[(&str, &str)]) -> Shown {
    site.get(&format!("/quick?{}", query(&with(changed)))).await
}

/// 16 oz is 453.6 g and 1.3 oz 36.85 g by the avoirdupois ounce of
/// 28.349 523 125 g: NIST SP 811 (2008), Appendix B.8.
#[tokio::test]
async fn the_answer_names_the_oil_and_reads_in_both_systems() {
    let site = Site::empty();
    let page = ask(&site, &[]).await;
    page.is(StatusCode::OK)
        .says("soy wax, Harbour Fig oil. 17.3 oz in all")
        .says("454 g + 36.9 g = 490 g")
        .says("For 16 oz of wax, with oil at 8 % of wax.")
        .says("In grams");
    let page = ask(&site, &[("amount", "454 g"), ("readability", "1 g")]).await;
    page.says("16.0 oz + 1.27 oz").says("In ounces");
}

#[tokio::test]
async fn trying_figures_is_no_refusal() {
    let site = Site::empty();
    for changed in [
        ("amount", ""),
        ("amount", "16"),
        ("load", "8 %"),
        ("readability", "0,1 oz"),
    ] {
        let page = ask(&site, &[changed]).await;
        page.is(StatusCode::OK)
            .says("The figures follow as soon as this can be read");
        assert_eq!(page.wrong_boxes(), [changed.0]);
        assert!(!page.text().contains("Nothing was written down"));
    }
}

#[tokio::test]
async fn a_bare_number_for_the_load_is_asked_about_with_both_readings() {
    let site = Site::empty();
    for text in ["16", "16 %"] {
        ask(&site, &[("load", text)]).await.says(
            "write 16 % of wax (16 to every 100 of wax), or 16 % of total (16 in every 100 of everything)",
        );
    }
}

#[tokio::test]
async fn what_is_missing_is_said_without_the_names_of_fields() {
    let site = Site::empty();
    for by in ["wax", "total", "units"] {
        let page = ask(&site, &[("by", by), ("amount", "")]).await;
        assert!(page.wrong_boxes().contains(&"amount".to_owned()), "{by}");
        assert!(!page.text().contains("unit_weight"), "{}", page.text());
    }
    ask(
        &site,
        &[
            ("by", "units"),
            ("amount", "24 units"),
            ("unit_weight", "1.5 oz"),
        ],
    )
    .await
    .says("For 24 units of 1.5 oz");
}

#[tokio::test]
async fn everything_wrong_is_said_at_once_each_at_its_box() {
    let site = Site::empty();
    let typed = with(&[
        ("load", "16"),
        ("amount", ""),
        ("mould", "12-bar mould"),
        ("cavities", "a dozen"),
        ("cure_days", "soon"),
    ]);
    let page = site.post("/quick/keep", &typed).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nothing was written down yet");
    let mut wrong = page.wrong_boxes();
    wrong.sort();
    assert_eq!(
        wrong,
        ["amount", "cavities", "cure_days", "currency", "load"]
    );
    assert_eq!(page.html.matches("role=\"alert\"").count(), 1);
}

#[tokio::test]
async fn a_kept_quick_pour_knows_how_long_it_cures() {
    let site = Site::empty();
    let typed = with(&[("currency", "usd"), ("cure_days", "10")]);
    site.post("/quick/keep", &typed).await.went("/pour/1");
    site.get("/bench").await.says("10 days cure");
    // The same again without the days is the same formula, not another.
    site.post("/quick/keep", &with(&[])).await.went("/pour/2");
    site.app
        .look(|workshop| assert_eq!(workshop.formulas().count(), 1))
        .unwrap();
}
