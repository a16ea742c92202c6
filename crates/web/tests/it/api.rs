//! Every calculation by name, as another program asks.

use app::registry;
use axum::http::StatusCode;
use serde_json::Value;

use crate::site::{Shown, Site};

fn json(shown: &Shown) -> Value {
    serde_json::from_str(&shown.html).unwrap()
}

#[tokio::test]
async fn every_example_is_answered_as_the_registry_answers_it() {
    let site = Site::empty();
    for calculation in registry::all() {
        let path = format!("/api/v1/work/{}", calculation.name);
        let shown = site.work(&path, calculation.example).await;
        assert_eq!(shown.status, StatusCode::OK, "{path}: {}", shown.html);
        let example = serde_json::from_str(calculation.example).unwrap();
        // The texts, since reading a number back may move its last digit.
        let answer = calculation.run(example).unwrap().to_string();
        assert_eq!(shown.html, answer, "{path}");
        assert!(!json(&shown)["working"].as_array().unwrap().is_empty());
        let page = site.get(&format!("/work/{}", calculation.name)).await;
        page.is(StatusCode::OK);
    }
}

#[tokio::test]
async fn problems_come_back_together_with_their_fields() {
    let site = Site::empty();
    let input =
        r#"{"blend":[{"name":"soy","parts":"many"}],"load":"8 %","target":{"wax":"12 parsecs"}}"#;
    let shown = site.work("/api/v1/work/weigh-out", input).await;
    assert_eq!(shown.status, StatusCode::UNPROCESSABLE_ENTITY);
    let fields: Vec<_> = json(&shown)["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|problem| problem["field"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(fields, ["blend[0].parts", "load", "target.wax"]);
}

#[tokio::test]
async fn what_is_not_json_and_what_is_not_there_are_told_apart() {
    let site = Site::empty();
    for (path, body, status) in [
        ("/api/v1/work/load", "{", StatusCode::BAD_REQUEST),
        (
            "/api/v1/work/load",
            "[1,2]",
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "/api/v1/work/load",
            r#"{"lod":"8 % of wax"}"#,
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        ("/api/v1/work/nothing", "{}", StatusCode::NOT_FOUND),
    ] {
        let shown = site.work(path, body).await;
        assert_eq!(shown.status, status, "{path} {body}");
        assert!(!json(&shown)["problems"].as_array().unwrap().is_empty());
    }
    let huge = vec![b' '; 3 * 1024 * 1024];
    let shown = site.work("/api/v1/work/load", huge).await;
    assert_eq!(shown.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn the_description_names_every_calculation() {
    let site = Site::empty();
    let described = json(&site.get("/api/v1/openapi.json").await);
    assert_eq!(described["openapi"], "3.1.0");
    for calculation in registry::all() {
        let path = format!("/api/v1/work/{}", calculation.name);
        let post = &described["paths"][&path]["post"];
        assert_eq!(post["summary"], calculation.question);
        let input = &post["requestBody"]["content"]["application/json"]["schema"];
        assert_eq!(input["type"], "object", "{path}");
    }
}
