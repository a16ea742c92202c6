//! The files a page asks for, built in.

use axum::http::{HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Changes with the program's version, so that a new one is asked for at once.
pub(crate) const STAMP: &str = env!("CARGO_PKG_VERSION");

const STYLE: &str = include_str!("../assets/style.css");
const SCRIPT: &str = include_str!("../assets/pourwright.js");
const SELL: &str = include_str!("../assets/sell.js");
const SELL_WORKER: &str = include_str!("../assets/sell-worker.js");
const ICON: &str = include_str!("../assets/icon.svg");

/// Hands out a file by name.
pub(crate) async fn serve(name: axum::extract::Path<String>) -> Response {
    let (kind, body) = match name.as_str() {
        "style.css" => (
            "text/css; charset=utf-8",
            format!("{STYLE}\n{}", press::STYLE),
        ),
        "pourwright.js" => ("text/javascript; charset=utf-8", SCRIPT.to_owned()),
        "sell.js" => ("text/javascript; charset=utf-8", SELL.to_owned()),
        "sell-worker.js" => return worker(),
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

/// The worker that keeps the selling page. It may stand before the pages of
/// market days though it lies elsewhere: Service Workers, W3C Candidate
/// Recommendation Draft, "Service-Worker-Allowed".
fn worker() -> Response {
    (
        [
            (header::CONTENT_TYPE, "text/javascript; charset=utf-8"),
            (header::CACHE_CONTROL, "no-cache"),
            (
                HeaderName::from_static("service-worker-allowed"),
                "/stall/day/",
            ),
        ],
        SELL_WORKER,
    )
        .into_response()
}
