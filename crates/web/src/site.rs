//! The router, the doors it opens to, and the one place where errors become
//! pages.

use std::sync::Arc;
use std::time::Duration;

use app::forms::Filled;
use app::{ActError, App, Done, OpenError};
use axum::Router;
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::html;
use measure::{Problem, Problems};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;
use workshop::Refusal;

use crate::layout::{Page, Place, frame};
use crate::{api, assets, pages, parts};

/// Who writes facts until the workshop has people who sign in.
pub(crate) const WHO: &str = "bench";

/// The largest form or calculation taken in, in bytes.
const LARGEST_BODY: usize = 2 * 1024 * 1024;
/// How long a request may take before it is given up.
const LONGEST: Duration = Duration::from_secs(30);

/// The names under which the program lets itself be addressed.
///
/// A page opened under another name is refused: a name that someone else
/// controls and points at this machine must not reach the workshop.
#[derive(Debug, Clone)]
pub struct Doors {
    hosts: Vec<String>,
}

impl Doors {
    /// Loopback only, on the given port.
    pub fn loopback(port: u16) -> Self {
        let names = ["localhost", "127.0.0.1", "[::1]"];
        Self {
            hosts: names.map(|name| format!("{name}:{port}")).into(),
        }
    }

    fn open_to(&self, host: &str) -> bool {
        let host = host.to_ascii_lowercase();
        self.hosts
            .iter()
            .any(|known| *known == host || known.strip_suffix(":80") == Some(&host))
    }
}

/// What every handler has at hand.
#[derive(Clone)]
pub(crate) struct Site {
    app: Arc<App>,
}

/// Why there is no page.
#[derive(Debug)]
pub(crate) enum Fault {
    /// There is nothing at this address.
    Nothing(&'static str),
    /// The maker can act on it.
    Refused(Refusal),
    /// Others are writing.
    Crowded,
    /// It could not be written down, or the journal could not be read.
    Broken(Box<dyn std::error::Error + Send + Sync>),
}

impl From<OpenError> for Fault {
    fn from(error: OpenError) -> Self {
        Self::Broken(error.into())
    }
}

impl From<ActError> for Fault {
    fn from(error: ActError) -> Self {
        match error {
            ActError::Refused(refusal) => Self::Refused(refusal),
            ActError::Crowded => Self::Crowded,
            other => Self::Broken(other.into()),
        }
    }
}

/// Builds the whole site over an open workshop.
pub fn router(app: Arc<App>, doors: Doors) -> Router {
    let policy = "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'; object-src 'none'";
    let header = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
    };
    Router::new()
        .merge(pages::routes())
        .merge(api::routes())
        .route("/assets/{name}", get(assets::serve))
        .fallback(nowhere)
        .with_state(Site { app })
        .layer(middleware::from_fn_with_state(doors, only_known_hosts))
        .layer(CsrfLayer::new())
        .layer(RequestBodyLimitLayer::new(LARGEST_BODY))
        .layer(TimeoutLayer::with_status_code(
            StatusCode::SERVICE_UNAVAILABLE,
            LONGEST,
        ))
        .layer(header(header::CONTENT_SECURITY_POLICY, policy))
        .layer(header(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(header(header::REFERRER_POLICY, "same-origin"))
        .layer(header(header::CACHE_CONTROL, "no-store"))
        .layer(CompressionLayer::new())
        .layer(CatchPanicLayer::new())
}

async fn only_known_hosts(State(doors): State<Doors>, request: Request, next: Next) -> Response {
    let host = request
        .headers()
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .or_else(|| {
            request
                .uri()
                .authority()
                .map(axum::http::uri::Authority::as_str)
        })
        .unwrap_or_default();
    if doors.open_to(host) {
        next.run(request).await
    } else {
        (
            StatusCode::MISDIRECTED_REQUEST,
            "This address is not one of the workshop's.\n",
        )
            .into_response()
    }
}

async fn nowhere(State(site): State<Site>) -> Response {
    site.run(|_| Err::<Page, _>(Fault::Nothing("page"))).await
}

/// A page with the status it is sent with, or somewhere else to go.
pub(crate) enum Reply {
    Page(StatusCode, Page),
    Goto(String),
}

impl From<Page> for Reply {
    fn from(page: Page) -> Self {
        Self::Page(StatusCode::OK, page)
    }
}

impl Site {
    /// Runs a use case away from the threads that serve connections, and turns
    /// what comes of it into a response.
    pub(crate) async fn run<R: Into<Reply>>(
        &self,
        work: impl FnOnce(&App) -> Result<R, Fault> + Send + 'static,
    ) -> Response {
        let app = Arc::clone(&self.app);
        let done = tokio::task::spawn_blocking(move || {
            let name = app
                .look(|workshop| workshop.settings().map(|settings| settings.name.clone()))
                .ok()
                .flatten()
                .unwrap_or_else(|| "Pourwright".to_owned());
            match work(&app) {
                Ok(reply) => respond(&name, reply.into()),
                Err(fault) => respond_to_fault(&name, fault),
            }
        });
        done.await.unwrap_or_else(|error| {
            tracing::error!(%error, "a request ended in a panic");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        })
    }

    /// Takes a filled form: acts on it and goes on, or shows `again` with the
    /// problems beside their boxes.
    pub(crate) async fn post(
        &self,
        pairs: Vec<(String, String)>,
        act: impl FnOnce(&App, &Filled) -> Result<Done, ActError> + Send + 'static,
        to: impl FnOnce(&App, &Done) -> Result<String, Fault> + Send + 'static,
        again: impl FnOnce(&App, &Filled, &Problems) -> Result<Page, Fault> + Send + 'static,
    ) -> Response {
        self.run(move |app| {
            let filled = Filled::new(pairs);
            match act(app, &filled) {
                Ok(done) => to(app, &done).map(Reply::Goto),
                Err(ActError::Refused(refusal)) => {
                    let (status, problems) = match refusal {
                        Refusal::Input(problems) => (StatusCode::UNPROCESSABLE_ENTITY, problems),
                        other @ Refusal::WrongStage { .. } => {
                            let problem = Problem::new(
                                "",
                                "",
                                other.to_string(),
                                "look at how it stands now",
                            );
                            (StatusCode::CONFLICT, problem.into())
                        }
                        other @ Refusal::Unknown { .. } => return Err(Fault::Refused(other)),
                    };
                    again(app, &filled, &problems).map(|page| Reply::Page(status, page))
                }
                Err(error) => Err(error.into()),
            }
        })
        .await
    }
}

fn respond(name: &str, reply: Reply) -> Response {
    match reply {
        Reply::Page(status, page) => {
            (status, Html(frame(name, &page).into_string())).into_response()
        }
        Reply::Goto(path) => Redirect::to(&path).into_response(),
    }
}

/// The one place where an error becomes a page.
fn respond_to_fault(name: &str, fault: Fault) -> Response {
    let (status, title, words) = match fault {
        Fault::Nothing(what) => (
            StatusCode::NOT_FOUND,
            format!("There is no such {what}"),
            "The address may be mistyped, or it belongs to another workshop.".to_owned(),
        ),
        Fault::Refused(Refusal::Unknown { what, id }) => (
            StatusCode::NOT_FOUND,
            format!("There is no such {what}"),
            format!("Nothing here goes by the number {id}."),
        ),
        Fault::Refused(refusal) => (
            StatusCode::CONFLICT,
            "That cannot be done now".to_owned(),
            refusal.to_string(),
        ),
        Fault::Crowded => (
            StatusCode::CONFLICT,
            "Someone else was writing at the same moment".to_owned(),
            "Nothing of yours was written down. Look at what changed and try again.".to_owned(),
        ),
        Fault::Broken(error) => {
            let chain = chain(&*error);
            tracing::error!(error = chain, "the journal did not do what was asked");
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                "It was not written down".to_owned(),
                format!("{chain}. What was written before is safe."),
            )
        }
    };
    let page = Page {
        title: title.clone(),
        place: Place::Today,
        back: Some(("/".to_owned(), "Today".to_owned())),
        body: html! { (parts::question(&title)) p { (words) } },
    };
    (status, Html(frame(name, &page).into_string())).into_response()
}

fn chain(error: &(dyn std::error::Error + 'static)) -> String {
    let mut words = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        words = format!("{words}: {error}");
        cause = error.source();
    }
    words
}
