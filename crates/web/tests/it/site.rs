//! A whole site over a journal in memory, asked as a browser asks.

use std::sync::Arc;

use app::{App, FixedClock};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode, header};
use jiff::civil::date;
use journal::{Entry, MemoryStore, Store, WorkshopId};
use tower::ServiceExt;
use web::{Doors, router};

/// The day it is in every test.
pub(crate) const TODAY: jiff::civil::Date = date(2026, 10, 4);

/// A site that can be asked.
pub(crate) struct Site {
    /// The workshop behind it, for what a test's pages rest on.
    pub(crate) app: Arc<App>,
    store: Arc<MemoryStore>,
    router: Router,
}

/// What came back.
pub(crate) struct Shown {
    pub(crate) status: StatusCode,
    /// Where a redirect leads.
    pub(crate) to: String,
    pub(crate) headers: HeaderMap,
    pub(crate) html: String,
}

impl Site {
    /// A workshop in which nothing has happened.
    pub(crate) fn empty() -> Self {
        let id = WorkshopId::try_new("test").unwrap();
        let store = Arc::new(MemoryStore::new());
        let clock = Arc::new(FixedClock(TODAY));
        let app = Arc::new(App::open(store.clone(), clock, id).unwrap());
        let router = router(Arc::clone(&app), Doors::loopback(80));
        Self { app, store, router }
    }

    /// Writes a record past the workshop, as a newer program would.
    pub(crate) fn write_raw(&self, name: &str, payload: &str) {
        let id = WorkshopId::try_new("test").unwrap();
        let entry = Entry::try_new(TODAY, "test", name, 1, payload).unwrap();
        let head = self.store.head(&id).unwrap();
        let now = jiff::Timestamp::UNIX_EPOCH;
        self.store.append(&id, head, now, &[entry]).unwrap();
    }

    /// A workshop that weighs in ounces and counts in dollars, an hour worth 18.
    pub(crate) async fn set_up() -> Self {
        let site = Self::empty();
        let kept = site
            .post(
                "/settings",
                &[
                    ("name", "Quillfen Wax Works"),
                    ("system", "us"),
                    ("currency", "USD"),
                    ("decimal_mark", "point"),
                    ("readability", "0.1 oz"),
                    ("wage", "18"),
                    ("overhead_per_hour", "3"),
                ],
            )
            .await;
        kept.went("/settings?kept=yes");
        site
    }

    pub(crate) async fn get(&self, path: &str) -> Shown {
        self.ask(Request::get(path).body(Body::empty()).unwrap())
            .await
    }

    pub(crate) async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Shown {
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(query(fields)))
            .unwrap();
        self.ask(request).await
    }

    /// Sends a file as a form does.
    pub(crate) async fn send_file(&self, path: &str, field: &str, file: &[u8]) -> Shown {
        let head = format!(
            "--cut\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"sheet.pdf\"\r\n\
             Content-Type: application/pdf\r\n\r\n"
        );
        let body = [head.as_bytes(), file, b"\r\n--cut--\r\n"].concat();
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=cut")
            .body(Body::from(body))
            .unwrap();
        self.ask(request).await
    }

    /// Sends a body of JSON.
    pub(crate) async fn work(&self, path: &str, body: impl Into<Body>) -> Shown {
        self.ask(Request::post(path).body(body.into()).unwrap())
            .await
    }

    /// Asks as it is, under `localhost` unless the request names a host.
    pub(crate) async fn ask(&self, mut request: Request<Body>) -> Shown {
        request
            .headers_mut()
            .entry(header::HOST)
            .or_insert("localhost".parse().unwrap());
        let response = self.router.clone().oneshot(request).await.unwrap();
        let to = response.headers().get(header::LOCATION);
        let to = to.map_or_else(String::new, |to| to.to_str().unwrap().to_owned());
        let (status, headers) = (response.status(), response.headers().clone());
        let body = to_bytes(response.into_body(), usize::MAX).await.unwrap();
        Shown {
            status,
            to,
            headers,
            html: String::from_utf8_lossy(&body).into_owned(),
        }
    }
}

/// Fields as a form or an address carries them.
pub(crate) fn query(fields: &[(&str, &str)]) -> String {
    let escape = |text: &str| -> String {
        text.bytes()
            .map(|byte| match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(byte).to_string(),
                other => format!("%{other:02X}"),
            })
            .collect()
    };
    let pairs: Vec<_> = fields
        .iter()
        .map(|(name, text)| format!("{}={}", escape(name), escape(text)))
        .collect();
    pairs.join("&")
}

impl Shown {
    /// What a person reads: the main part without marks, with plain spaces.
    pub(crate) fn text(&self) -> String {
        let main = self.html.split("<main").nth(1).unwrap_or(&self.html);
        let main = main.split("<footer").next().unwrap_or(main);
        let mut text = String::new();
        let mut within = true;
        for letter in format!("<main{main}").chars() {
            match letter {
                '<' => within = true,
                '>' if within => {
                    within = false;
                    text.push(' ');
                }
                _ if within => {}
                '\u{a0}' => text.push(' '),
                other => text.push(other),
            }
        }
        let text = text.replace("&quot;", "\"").replace("&amp;", "&");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[track_caller]
    pub(crate) fn says(&self, words: &str) -> &Self {
        assert!(
            self.text().contains(words),
            "\"{words}\" is not in: {}",
            self.text()
        );
        self
    }

    #[track_caller]
    pub(crate) fn does_not_say(&self, words: &str) -> &Self {
        assert!(
            !self.text().contains(words),
            "\"{words}\" is in: {}",
            self.text()
        );
        self
    }

    #[track_caller]
    pub(crate) fn is(&self, status: StatusCode) -> &Self {
        assert_eq!(self.status, status, "{}", self.text());
        self
    }

    #[track_caller]
    pub(crate) fn went(&self, to: &str) -> &Self {
        self.is(StatusCode::SEE_OTHER);
        assert_eq!(self.to, to);
        self
    }

    /// Every box that a problem stands beneath, in the page's order.
    pub(crate) fn wrong_boxes(&self) -> Vec<String> {
        self.html
            .split("<input ")
            .skip(1)
            .map(|rest| rest.split('>').next().unwrap_or_default())
            .filter(|tag| tag.contains("aria-invalid=\"true\""))
            .map(|tag| attribute(tag, "name"))
            .collect()
    }

    /// What stands in a box.
    #[track_caller]
    pub(crate) fn stands_in(&self, name: &str) -> String {
        let wanted = format!("name=\"{name}\"");
        let tag = self
            .html
            .split("<input ")
            .skip(1)
            .map(|rest| rest.split('>').next().unwrap_or_default())
            .find(|tag| tag.contains(&wanted))
            .unwrap_or_else(|| panic!("no box {name} in {}", self.html));
        attribute(tag, "value")
    }
}

fn attribute(tag: &str, name: &str) -> String {
    let rest = tag.split(&format!("{name}=\"")).nth(1).unwrap_or_default();
    rest.split('"').next().unwrap_or_default().to_owned()
}
