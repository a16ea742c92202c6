//! Who is let in, and what is sent with every page.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};

use crate::site::Site;

fn request(method: &str, path: &str, headers: &[(&str, &str)]) -> Request<Body> {
    let mut request = Request::builder().method(method).uri(path);
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    request.body(Body::empty()).unwrap()
}

#[tokio::test]
async fn another_name_for_this_machine_is_refused() {
    let site = Site::empty();
    for host in [
        "evil.example",
        "localhost.evil.example",
        "localhost:81",
        "127.0.0.1.nip.example",
    ] {
        let shown = site
            .ask(request("GET", "/", &[(header::HOST.as_str(), host)]))
            .await;
        assert_eq!(shown.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
    for host in ["localhost", "127.0.0.1", "[::1]", "LOCALHOST:80"] {
        let shown = site
            .ask(request("GET", "/", &[(header::HOST.as_str(), host)]))
            .await;
        assert_eq!(shown.status, StatusCode::OK, "{host}");
    }
}

#[tokio::test]
async fn a_post_from_another_site_is_refused() {
    let site = Site::empty();
    for headers in [
        [
            ("sec-fetch-site", "cross-site"),
            ("origin", "https://evil.example"),
        ],
        [("origin", "https://evil.example"), ("accept", "*/*")],
        [("origin", "null"), ("accept", "*/*")],
    ] {
        let shown = site.ask(request("POST", "/settings", &headers)).await;
        assert_eq!(shown.status, StatusCode::FORBIDDEN, "{headers:?}");
    }
    assert_eq!(site.app.look(workshop::Workshop::facts).unwrap(), 0);
}

#[tokio::test]
async fn nothing_at_an_address_is_a_page_too() {
    let site = Site::empty();
    for path in [
        "/nowhere",
        "/pour/99",
        "/pour/abc",
        "/rack/99999999999",
        "/work/nothing",
    ] {
        site.get(path)
            .await
            .is(StatusCode::NOT_FOUND)
            .says("There is no such");
    }
}

#[tokio::test]
async fn where_a_form_is_sent_a_look_leads_to_its_page() {
    let site = Site::empty();
    for (sent_to, page) in [
        ("/stall/day/1/till", "/stall/day/1"),
        ("/pour/2/finish", "/pour/2"),
        ("/rack/count/aside", "/rack/count"),
        ("/quick/keep", "/quick"),
        ("/shelf/supply/3/waste", "/shelf/supply/3/lots"),
        ("/rack/good/1/tares", "/rack/good/1/weight"),
        ("/label/stocks/4/retire", "/label/stocks"),
        ("/label/destination/2/good/1/ready", "/label/destination/2"),
    ] {
        site.get(sent_to).await.went(page);
        let head = site.ask(request("HEAD", sent_to, &[])).await;
        head.went(page);
        let other = site.ask(request("DELETE", sent_to, &[])).await;
        other
            .is(StatusCode::METHOD_NOT_ALLOWED)
            .says("That cannot be asked here");
    }
    let shown = site.post("/stall/day/1", &[]).await;
    shown.is(StatusCode::METHOD_NOT_ALLOWED);
}

#[tokio::test]
async fn every_answer_says_what_a_browser_may_do_with_it() {
    let site = Site::empty();
    for path in ["/", "/nowhere", "/api/v1/openapi.json", "/assets/style.css"] {
        let shown = site.get(path).await;
        let policy = shown.headers[header::CONTENT_SECURITY_POLICY]
            .to_str()
            .unwrap();
        for part in [
            "default-src 'self'",
            "frame-ancestors 'none'",
            "object-src 'none'",
        ] {
            assert!(policy.contains(part), "{path}: {policy}");
        }
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(shown.headers[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
        assert_eq!(shown.headers[header::REFERRER_POLICY], "same-origin");
    }
    let page = site.get("/").await;
    assert_eq!(page.headers[header::CACHE_CONTROL], "no-store");
    // What the policy forbids, no page asks for.
    assert!(!page.html.contains("style=\"") && !page.html.contains("<style"));
    assert!(!page.html.contains(" onclick="));
}

#[tokio::test]
async fn a_form_beyond_the_limit_is_not_read() {
    let site = Site::empty();
    let huge = "x".repeat(2 * 1024 * 1024);
    let shown = site.post("/settings", &[("name", &huge)]).await;
    assert_eq!(shown.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(site.app.look(workshop::Workshop::facts).unwrap(), 0);
}
