//! The three files a page asks for, built in.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Changes with the program's version, so that a new one is asked for at once.
pub(crate) const STAMP: &str = env!("CARGO_PKG_VERSION");

const STYLE: &str = include_str!("../assets/style.css");
const SCRIPT: &str = include_str!("../assets/pourwright.js");
const ICON: &str = include_str!("../assets/icon.svg");

/// Hands out a file by name.
pub(crate) async fn serve(name: axum::extract::Path<String>) -> Response {
    let (kind, body) = match name.as_str() {
        "style.css" => (
            "text/css; charset=utf-8",
            format!("{STYLE}\n{}", press::STYLE),
        ),
        "pourwright.js" => ("text/javascript; charset=utf-8", SCRIPT.to_owned()),
        "icon.svg" => ("image/svg+xml", ICON.to_owned()),
        _ => return StatusCode::NOT_FOUND.into_response(),
    };
    (
        [
            (header::CONTENT_TYPE, kind),
            (header::CACHE_CONTROL, "no-cache"),
        ],
        body,
    )
        .into_response()
}
