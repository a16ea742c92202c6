//! The quick pour: an answer first, and keeping it.

use axum::http::StatusCode;
use workshop::Workshop;

use crate::site::{Site, query};

const TYPED: [(&str, &str); 8] = [
    ("wax", "soy wax"),
    ("oil", "Harbour Fig oil"),
    ("load", "12 % of wax"),
    ("by", "wax"),
    ("amount", "16.7 oz"),
    ("readability", "0.1 oz"),
    ("workshop", "Quillfen Wax Works"),
    ("currency", "USD"),
];

/// What is usually typed, with some of it typed otherwise.
fn typed<'a>(more: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = TYPED
        .iter()
        .filter(|(name, _)| more.iter().all(|(other, _)| other != name));
    kept.chain(more).copied().collect()
}

fn facts(site: &Site) -> u64 {
    site.app.look(Workshop::facts).unwrap()
}

#[tokio::test]
async fn the_front_page_of_an_empty_journal_answers_already() {
    let page = Site::empty().get("/").await;
    page.is(StatusCode::OK)
        .says("How much do I weigh out?")
        .says("nothing has to be set up first")
        .says("Working");
}

/// 2 of 16.7 is 12.0 %, and of 18.7 it is 10.7 % (common practice, no source).
#[tokio::test]
async fn an_answer_names_the_load_on_both_bases() {
    let site = Site::empty();
    site.get(&format!("/quick?{}", query(&TYPED)))
        .await
        .is(StatusCode::OK)
        .says("16.7 oz + 2.0 oz")
        .says("18.7 oz in all, 12.0 % of wax (10.7 % of the melt)");
    assert_eq!(facts(&site), 0, "asking writes nothing down");
}

#[tokio::test]
async fn every_box_that_cannot_be_read_is_named_and_keeps_its_text() {
    let site = Site::empty();
    let wrong = typed(&[
        ("load", "8 %"),
        ("amount", "１６ oz"),
        ("readability", "1.2.3 oz"),
    ]);
    for page in [
        site.get(&format!("/quick?{}", query(&wrong))).await,
        site.post("/quick/keep", &wrong).await,
    ] {
        assert_eq!(page.wrong_boxes(), ["load", "amount", "readability"]);
        assert_eq!(page.stands_in("amount"), "１６ oz");
        assert_eq!(page.stands_in("wax"), "soy wax");
    }
    assert_eq!(facts(&site), 0);
}

#[tokio::test]
async fn keeping_is_all_or_nothing() {
    let site = Site::empty();
    for (name, text) in [
        ("currency", "shillings"),
        ("cavities", "a dozen"),
        ("cavities", "0"),
        ("max_load", "plenty"),
        ("amount", "9200000000 kg"),
    ] {
        let mould = [("mould", "12-bar mould"), ("cavities", "12")];
        let wrong = typed(&[mould[0], mould[1], (name, text)]);
        let page = site.post("/quick/keep", &wrong).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.wrong_boxes(), [name], "{name} {text}");
        assert_eq!(facts(&site), 0, "{name} {text}");
    }
}

#[tokio::test]
async fn a_second_keep_finds_the_supplies_the_formula_and_the_mould() {
    let site = Site::empty();
    let typed = typed(&[("mould", "12-bar mould"), ("cavities", "12")]);
    site.post("/quick/keep", &typed).await.went("/pour/1");
    let first = facts(&site);
    site.post("/quick/keep", &typed).await.went("/pour/2");
    assert_eq!(facts(&site), first + 1, "only the pour is new");
    let counts = |workshop: &Workshop| {
        let supplies = workshop.supplies().count();
        (
            supplies,
            workshop.formulas().count(),
            workshop.moulds().count(),
        )
    };
    assert_eq!(site.app.look(counts).unwrap(), (2, 1, 1));
}

#[tokio::test]
async fn what_may_be_left_out_is_folded_away() {
    let page = Site::empty().get("/").await;
    let (mut depth, mut in_sight) = (0_i32, Vec::new());
    for tag in page.html.split('<') {
        if tag.starts_with("details") {
            depth += 1;
        } else if tag.starts_with("/details") {
            depth -= 1;
        } else if depth == 0
            && let Some(rest) = tag.split("id=\"f-").nth(1)
        {
            let id = rest.split('"').next();
            in_sight.extend(id.filter(|id| !id.ends_with("-more")));
        }
    }
    // The two of a number of units are hidden by the style sheet.
    assert_eq!(
        in_sight,
        [
            "wax",
            "oil",
            "load",
            "by",
            "amount",
            "unit_weight",
            "loss",
            "currency",
            "mould",
            "cavities",
            "format"
        ]
    );
    page.says("how many bars or cups in one fill");
    assert_eq!(page.text().matches("once rounded to the scale").count(), 1);
}

#[tokio::test]
async fn a_folded_box_that_is_wrong_is_unfolded() {
    let site = Site::empty();
    let page = site
        .post("/quick/keep", &typed(&[("cure_days", "soon")]))
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.wrong_boxes(), ["cure_days"]);
    let fold = page
        .html
        .split("<details")
        .find(|fold| fold.contains("id=\"f-cure_days\""));
    assert!(fold.is_some_and(|fold| fold.starts_with(" open")));
}

/// £ is the pound sterling's and € the euro's; many currencies are written $:
/// the symbols of Unicode CLDR, root.
#[tokio::test]
async fn a_sign_names_a_currency_where_only_one_bears_it() {
    for (sign, code) in [("£", "GBP"), ("€", "EUR")] {
        let site = Site::empty();
        site.post("/quick/keep", &typed(&[("currency", sign)]))
            .await
            .went("/pour/1");
        let currency = |workshop: &Workshop| {
            workshop
                .currency()
                .map(|currency| currency.code().to_owned())
        };
        assert_eq!(site.app.look(currency).unwrap().as_deref(), Some(code));
    }
    let site = Site::empty();
    site.post("/quick/keep", &typed(&[("currency", "$")]))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The sign does not say which dollar; write USD, CAD, AUD or NZD.");
}

#[tokio::test]
async fn a_mould_without_its_cavities_names_the_box() {
    let site = Site::empty();
    for (cavities, said) in [
        ("", "The number of cavities is missing"),
        ("a dozen", "The number of cavities is not a whole number"),
    ] {
        let wrong = typed(&[("mould", "12-bar mould"), ("cavities", cavities)]);
        site.post("/quick/keep", &wrong)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(said);
    }
}
