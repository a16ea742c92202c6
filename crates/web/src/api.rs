//! The programming interface: every calculation by name, with its schemas.

use app::registry::{self, Calculation};
use app::stall::{self, SaleInput, SaleOutput, TakeBackInput};
use app::{ActError, App};
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use maud::html;
use measure::{Problem, Problems};
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use workshop::Refusal;

use crate::layout::{Page, Place};
use crate::parts;
use crate::site::{Fault, Site, WHO};

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/api", get(read_me))
        .route("/api/v1/openapi.json", get(openapi))
        .route("/api/v1/work", get(names))
        .route("/api/v1/work/{name}", post(work))
        .route("/work", get(every))
        .route("/work/{name}", get(one))
}

/// What writes something down; never given up half-way.
pub(crate) fn writing_routes() -> Router<Site> {
    Router::new()
        .route(SALE, post(sell))
        .route(TAKE_BACK, post(take_back))
}

/// Where a device sends a sale.
const SALE: &str = "/api/v1/sale";
/// Where a device takes one back.
const TAKE_BACK: &str = "/api/v1/sale/take-back";

async fn sell(State(site): State<Site>, Query(of): Query<Meant>, body: Bytes) -> Response {
    site.write(of, body, |app, input: SaleInput| {
        stall::sell_tapped(app, WHO, &input)
    })
    .await
}

async fn take_back(State(site): State<Site>, Query(of): Query<Meant>, body: Bytes) -> Response {
    site.write(of, body, |app, input: TakeBackInput| {
        stall::take_back(app, WHO, &input)
    })
    .await
}

/// Whose journal a device means, where it says so. What waited on it until
/// another workshop was opened at the same address is not that one's.
#[derive(Debug, Deserialize)]
struct Meant {
    journal: Option<String>,
}

/// Why nothing was written down.
enum Unwritten {
    /// Another journal was meant.
    Elsewhere,
    Act(ActError),
}

impl Site {
    /// Takes one JSON object that adds to the journal, and answers with what
    /// was written down. A wish that is refused is answered with its problems,
    /// 422 for what was sent and 409 for how things stand.
    async fn write<I, O: Serialize + Send + 'static>(
        &self,
        of: Meant,
        body: Bytes,
        act: impl FnOnce(&App, I) -> Result<O, ActError> + Send + 'static,
    ) -> Response
    where
        I: DeserializeOwned + Send + 'static,
    {
        let input: I = match serde_json::from_slice(&body) {
            Ok(input) => input,
            Err(error) => return refuse(StatusCode::BAD_REQUEST, &not_json(&error).into()),
        };
        let app = self.app();
        let done = tokio::task::spawn_blocking(move || {
            if let Some(meant) = of.journal {
                let own = app.mark().map_err(|error| Unwritten::Act(error.into()))?;
                if own != meant {
                    return Err(Unwritten::Elsewhere);
                }
            }
            act(&app, input).map_err(Unwritten::Act)
        });
        match done.await {
            Ok(Ok(output)) => Json(output).into_response(),
            Ok(Err(Unwritten::Elsewhere)) => {
                let wrong = "another workshop is open at this address";
                let said = Problem::new("journal", "", wrong, "open the workshop it belongs to");
                refuse(StatusCode::MISDIRECTED_REQUEST, &said.into())
            }
            Ok(Err(Unwritten::Act(ActError::Refused(Refusal::Input(problems))))) => {
                refuse(StatusCode::UNPROCESSABLE_ENTITY, &problems)
            }
            Ok(Err(Unwritten::Act(ActError::Refused(refusal)))) => {
                let status = match refusal {
                    Refusal::Unknown { .. } => StatusCode::NOT_FOUND,
                    _ => StatusCode::CONFLICT,
                };
                let said = Problem::new("", "", refusal.to_string(), "look at how it stands now");
                refuse(status, &said.into())
            }
            Ok(Err(Unwritten::Act(error))) => {
                tracing::error!(%error, "something sent was not written down");
                StatusCode::SERVICE_UNAVAILABLE.into_response()
            }
            Err(error) => {
                tracing::error!(%error, "a request ended in a panic");
                StatusCode::INTERNAL_SERVER_ERROR.into_response()
            }
        }
    }
}

fn not_json(error: &serde_json::Error) -> Problem {
    let wrong = format!("it is not what is asked for: {error}");
    Problem::new("", "", wrong, "send one JSON object")
}

async fn work(Path(name): Path<String>, body: Bytes) -> Response {
    let Some(calculation) = registry::find(&name) else {
        let problem = Problem::new(
            "name",
            name,
            "there is no such calculation",
            "see /api/v1/work for their names",
        );
        return refuse(StatusCode::NOT_FOUND, &problem.into());
    };
    let input: Value = match serde_json::from_slice(&body) {
        Ok(input) => input,
        Err(error) => {
            let problem = Problem::new(
                "",
                "",
                format!("it is not JSON: {error}"),
                "send one JSON object",
            );
            return refuse(StatusCode::BAD_REQUEST, &problem.into());
        }
    };
    // A calculation may learn from many pours; it does not hold up the others.
    match tokio::task::spawn_blocking(move || calculation.run(input)).await {
        Ok(Ok(output)) => Json(output).into_response(),
        Ok(Err(problems)) => refuse(StatusCode::UNPROCESSABLE_ENTITY, &problems),
        Err(error) => {
            tracing::error!(%error, calculation = name, "a calculation ended in a panic");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

fn refuse(status: StatusCode, problems: &Problems) -> Response {
    (status, Json(json!({ "problems": problems }))).into_response()
}

async fn names() -> Response {
    let all: Vec<_> = registry::all()
        .iter()
        .map(|calculation| json!({ "name": calculation.name, "question": calculation.question }))
        .collect();
    Json(json!({ "calculations": all })).into_response()
}

/// The interface described in OpenAPI 3.1, whose schemas are JSON Schema
/// 2020-12 as the calculations give them.
async fn openapi() -> Response {
    let problem = schema(serde_json::to_value(schemars::schema_for!(Problems)).unwrap_or_default());
    let mut paths: serde_json::Map<_, _> = registry::all()
        .iter()
        .map(|calculation| {
            (
                format!("/api/v1/work/{}", calculation.name),
                path(calculation),
            )
        })
        .collect();
    let sale = "Writes down a sale at a market day; sent again with the same token it counts once.";
    paths.extend([
        (SALE.to_owned(), writing::<SaleInput>("sale", sale)),
        (
            TAKE_BACK.to_owned(),
            writing::<TakeBackInput>("take-back", "Takes back a sale that was tapped wrongly."),
        ),
    ]);
    let body = json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Pourwright",
            "version": "1",
            "description": "Quantities are texts as a person would type them, in and out; beside each stands a number with its unit in the field's name. Every answer carries its working.",
            "license": { "name": "MIT OR Apache-2.0" },
        },
        "paths": paths,
        "components": { "schemas": { "Problems": {
            "type": "object", "required": ["problems"], "properties": { "problems": problem },
        } } },
    });
    (
        [(header::CONTENT_TYPE, "application/json")],
        body.to_string(),
    )
        .into_response()
}

/// A schema without the dialect line, which the document states once.
fn schema(mut schema: Value) -> Value {
    if let Some(fields) = schema.as_object_mut() {
        fields.remove("$schema");
    }
    schema
}

fn path(calculation: &Calculation) -> Value {
    let json_of = |schema: Value| json!({ "application/json": { "schema": schema } });
    let input = schema(calculation.input_schema().to_value());
    let output = schema(calculation.output_schema().to_value());
    let problems = json!({ "$ref": "#/components/schemas/Problems" });
    json!({ "post": {
        "operationId": calculation.name,
        "summary": calculation.question,
        "requestBody": { "required": true, "content": json_of(input) },
        "responses": {
            "200": { "description": "The answer with its working.", "content": json_of(output) },
            "400": { "description": "Not JSON.", "content": json_of(problems.clone()) },
            "422": { "description": "Every problem with its field.", "content": json_of(problems) },
        },
    } })
}

/// An address that writes something down about a sale.
fn writing<I: JsonSchema>(id: &str, summary: &str) -> Value {
    let json_of = |schema: Value| json!({ "application/json": { "schema": schema } });
    let of = |found: schemars::Schema| schema(found.to_value());
    let problems = json!({ "$ref": "#/components/schemas/Problems" });
    let (input, output) = (schemars::schema_for!(I), schemars::schema_for!(SaleOutput));
    json!({ "post": {
        "operationId": id,
        "summary": summary,
        "parameters": [{
            "name": "journal", "in": "query", "schema": { "type": "string" },
            "description": "The mark of the journal that is meant, as pages carry it; any where it is left out.",
        }],
        "requestBody": { "required": true, "content": json_of(of(input)) },
        "responses": {
            "200": { "description": "What stands of the sale.", "content": json_of(of(output)) },
            "400": { "description": "Not JSON, or not these fields.", "content": json_of(problems.clone()) },
            "404": { "description": "There is no such market day or sale.", "content": json_of(problems.clone()) },
            "421": { "description": "Another workshop is open here than the one meant.", "content": json_of(problems.clone()) },
            "422": { "description": "Every problem with its field.", "content": json_of(problems) },
        },
    } })
}

async fn read_me(State(site): State<Site>) -> Response {
    site.run(|_| {
        Ok(Page {
            title: "For programs".to_owned(),
            place: Place::Today,
            back: Some(("/".to_owned(), "Today".to_owned())),
            body: html! {
                (parts::question("How does another program ask?"))
                p { "Send a JSON object to the calculation's address. Quantities are texts as you would type them, in and out; beside each stands a number with its unit in the field's name. Problems come back all together, each with its field." }
                p { "The whole interface is described in " a href="/api/v1/openapi.json" { "openapi.json" } " (OpenAPI 3.1). The same calculations run on the command line: " code { "pourwright work --list" } "." }
                ul.rows {
                    @for calculation in registry::all() {
                        li {
                            span { code { "POST /api/v1/work/" (calculation.name) } br; span.soft { (calculation.question) } }
                            span { a href={ "/work/" (calculation.name) } { "fields" } }
                        }
                    }
                }
            },
        })
    })
    .await
}

async fn every(State(site): State<Site>) -> Response {
    site.run(|_| {
        Ok(Page {
            title: "Every calculation".to_owned(),
            place: Place::Today,
            back: Some(("/".to_owned(), "Today".to_owned())),
            body: html! {
                (parts::question("What can be worked out?"))
                p.soft { "Each one shows its working wherever its answer stands." }
                ul.rows {
                    @for calculation in registry::all() {
                        li { span { a href={ "/work/" (calculation.name) } { (calculation.question) } } span.soft { (calculation.name) } }
                    }
                }
            },
        })
    })
    .await
}

async fn one(State(site): State<Site>, Path(name): Path<String>) -> Response {
    site.run(move |_| {
        let calculation = registry::find(&name).ok_or(Fault::Nothing("calculation"))?;
        let pretty = |value: Value| serde_json::to_string_pretty(&value).unwrap_or_default();
        let example: Value = serde_json::from_str(calculation.example).unwrap_or_default();
        let answer = calculation.run(example.clone()).map_or_else(|problems| problems.to_string(), pretty);
        Ok(Page {
            title: calculation.question.to_owned(),
            place: Place::Today,
            back: Some(("/work".to_owned(), "Every calculation".to_owned())),
            body: html! {
                (parts::question(calculation.question))
                p { code { "POST /api/v1/work/" (calculation.name) } " or " code { "pourwright work " (calculation.name) } }
                h2 { "For example" }
                pre { (pretty(example)) }
                details id="answer" { summary { "Its answer" } pre { (answer) } }
                details id="in" { summary { "Schema of the input" } pre { (pretty(calculation.input_schema().to_value())) } }
                details id="out" { summary { "Schema of the output" } pre { (pretty(calculation.output_schema().to_value())) } }
            },
        })
    })
    .await
}
