//! The router, the doors it opens to, and the one place where errors become
//! pages.

use std::sync::Arc;
use std::time::Duration;

use app::forms::Filled;
use app::{ActError, App, Done, OpenError};
use axum::Router;
use axum::extract::{FromRequestParts, Path, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::html;
use measure::{Problem, Problems};
use serde::de::DeserializeOwned;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::{RequestBodyTimeoutLayer, TimeoutLayer};
use workshop::Refusal;

use crate::layout::{DoorPlate, Page, Place, frame};
use crate::once::{self, Sent};
use crate::pages::Opened;
use crate::{api, assets, pages, parts};

/// Who writes facts until the workshop has people who sign in.
pub(crate) const WHO: &str = "bench";

/// The largest form or calculation taken in, in bytes.
const LARGEST_BODY: usize = 2 * 1024 * 1024;
/// How long a look or a calculation may take before it is given up, and how
/// long a form may stop on its way here. What writes is never given up: it
/// would be written down all the same.
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
    sent: Arc<Sent>,
    opened: Arc<Opened>,
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
    /// The journal could not be read.
    Unread(OpenError),
    /// It could not be written down.
    Unwritten(ActError),
}

impl From<OpenError> for Fault {
    fn from(error: OpenError) -> Self {
        Self::Unread(error)
    }
}

impl From<ActError> for Fault {
    fn from(error: ActError) -> Self {
        match error {
            ActError::Refused(refusal) => Self::Refused(refusal),
            ActError::Crowded => Self::Crowded,
            other => Self::Unwritten(other),
        }
    }
}

/// Builds the whole site over an open workshop.
pub fn router(app: Arc<App>, doors: Doors) -> Router {
    let policy = "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'; object-src 'none'";
    let header = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
    };
    let longest = TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST);
    let site = Site {
        app,
        sent: Arc::default(),
        opened: Arc::default(),
    };
    Router::new()
        .merge(pages::routes())
        .route("/assets/{name}", get(assets::serve))
        .method_not_allowed_fallback(not_so)
        .fallback(nowhere)
        .layer(middleware::from_fn(give_up_looking))
        .merge(api::writing_routes())
        .merge(api::routes().layer(longest))
        .with_state(site)
        .layer(middleware::from_fn_with_state(doors, only_known_hosts))
        .layer(CsrfLayer::new())
        .layer(RequestBodyLimitLayer::new(LARGEST_BODY))
        .layer(RequestBodyTimeoutLayer::new(LONGEST))
        .layer(header(header::CONTENT_SECURITY_POLICY, policy))
        .layer(header(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(header(header::REFERRER_POLICY, "same-origin"))
        .layer(header(header::CACHE_CONTROL, "no-store"))
        .layer(CompressionLayer::new())
        .layer(CatchPanicLayer::new())
}

/// Gives up a page that takes too long, but never a form that is being taken.
async fn give_up_looking(request: Request, next: Next) -> Response {
    if !request.method().is_safe() {
        return next.run(request).await;
    }
    tokio::time::timeout(LONGEST, next.run(request))
        .await
        .unwrap_or_else(|_| StatusCode::SERVICE_UNAVAILABLE.into_response())
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

/// An address that is there, but not for what was asked of it. A browser that
/// is told to load a refused form's page again asks for the address the form
/// was sent to, and is led to the page the form stands on.
async fn not_so(State(site): State<Site>, request: Request) -> Response {
    let is_look = [Method::GET, Method::HEAD].contains(request.method());
    if is_look {
        return Redirect::to(&page_of_form(request.uri().path())).into_response();
    }
    site.run(|_| {
        let title = "That cannot be asked here";
        let page = Page {
            title: title.to_owned(),
            place: Place::Today,
            back: Some(("/".to_owned(), "Today".to_owned())),
            body: html! { (parts::question(title)) p { "Nothing was written down." } },
        };
        Ok(Reply::Page(StatusCode::METHOD_NOT_ALLOWED, page))
    })
    .await
}

/// The page on which a form stands, from where it is sent: the address without
/// its last part, but for the few that stand elsewhere.
fn page_of_form(path: &str) -> String {
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    let (above, page) = match parts.as_slice() {
        ["label", "destination", _, "good", _, "ready"] => (3, ""),
        ["label", "stocks", _, "retire"] => (2, ""),
        ["rack", .., "declare" | "wrapped" | "withdraw" | "tares"] => (1, "/weight"),
        ["shelf", "supply", _, "open" | "waste" | "count" | "date"] => (1, "/lots"),
        _ => (1, ""),
    };
    let kept = parts.len().saturating_sub(above);
    let kept = parts.get(..kept).unwrap_or_default().join("/");
    format!("/{kept}{page}")
}

/// What an address names, such as the number of a pour. An address that names
/// nothing gets the page that says so.
pub(crate) struct At<T>(pub(crate) T);

impl<T: DeserializeOwned + Send> FromRequestParts<Site> for At<T> {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, site: &Site) -> Result<Self, Response> {
        match Path::from_request_parts(parts, site).await {
            Ok(Path(named)) => Ok(Self(named)),
            Err(_) => Err(site.run(|_| Err::<Page, _>(Fault::Nothing("page"))).await),
        }
    }
}

/// A page with the status it is sent with, somewhere else to go, or a file.
pub(crate) enum Reply {
    Page(StatusCode, Page),
    Goto(String),
    /// Not a page of ours: a paper as a file.
    File(Response),
}

impl From<Page> for Reply {
    fn from(page: Page) -> Self {
        Self::Page(StatusCode::OK, page)
    }
}

impl Site {
    /// The workshop, to be taken along to another thread.
    pub(crate) fn app(&self) -> Arc<App> {
        Arc::clone(&self.app)
    }

    /// The files that are being read in.
    pub(crate) fn opened(&self) -> Arc<Opened> {
        Arc::clone(&self.opened)
    }

    /// Runs a use case away from the threads that serve connections, and turns
    /// what comes of it into a response.
    pub(crate) async fn run<R: Into<Reply>>(
        &self,
        work: impl FnOnce(&App) -> Result<R, Fault> + Send + 'static,
    ) -> Response {
        let app = Arc::clone(&self.app);
        let done = tokio::task::spawn_blocking(move || {
            // What cannot be read is not worked on: the frame stays nameless.
            let (of, worked) = match door_plate(&app) {
                Ok(of) => (of, work(&app).map(Into::into)),
                Err(error) => (DoorPlate::default(), Err(error.into())),
            };
            match worked {
                Ok(reply) => respond(&of, reply),
                Err(fault) => respond_to_fault(&of, fault),
            }
        });
        done.await.unwrap_or_else(|error| {
            tracing::error!(%error, "a request ended in a panic");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        })
    }

    /// Takes a filled form: acts on it and goes on, or shows `again` with the
    /// problems beside their boxes. The same form sent again goes on where the
    /// first one went.
    pub(crate) async fn post(
        &self,
        pairs: Vec<(String, String)>,
        act: impl FnOnce(&App, &Filled) -> Result<Done, ActError> + Send + 'static,
        to: impl FnOnce(&App, &Done) -> Result<String, Fault> + Send + 'static,
        again: impl FnOnce(&App, &Filled, &Problems) -> Result<Page, Fault> + Send + 'static,
    ) -> Response {
        let sent = self.sent.of(&pairs);
        self.run(move |app| {
            let mut led = sent.as_ref().map(once::wait);
            if let Some(path) = led.as_deref().and_then(Option::as_ref) {
                return Ok(Reply::Goto(path.clone()));
            }
            let filled = Filled::new(pairs);
            match act(app, &filled) {
                Ok(done) => {
                    let path = to(app, &done)?;
                    if let Some(led) = led.as_deref_mut() {
                        *led = Some(path.clone());
                    }
                    Ok(Reply::Goto(path))
                }
                Err(ActError::Refused(refusal)) => {
                    let (status, problems) = match refusal {
                        Refusal::Input(problems) => (StatusCode::UNPROCESSABLE_ENTITY, problems),
                        other @ (Refusal::WrongStage { .. } | Refusal::OutOfTurn { .. }) => {
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

fn door_plate(app: &App) -> Result<DoorPlate, OpenError> {
    let name = app.look(|workshop| workshop.settings().map(|settings| settings.name.clone()))?;
    Ok(DoorPlate {
        name: name.unwrap_or_else(|| DoorPlate::default().name),
        journal: app.mark()?,
    })
}

fn respond(of: &DoorPlate, reply: Reply) -> Response {
    match reply {
        Reply::Page(status, page) => (status, Html(frame(of, &page).into_string())).into_response(),
        Reply::Goto(path) => Redirect::to(&path).into_response(),
        Reply::File(file) => file,
    }
}

/// The one place where an error becomes a page.
fn respond_to_fault(of: &DoorPlate, fault: Fault) -> Response {
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
        Fault::Unread(error) => (
            StatusCode::INTERNAL_SERVER_ERROR,
            "The journal cannot be read".to_owned(),
            format!(
                "{}. Nothing is shown or written down until it can be.",
                told(&error)
            ),
        ),
        Fault::Unwritten(error) => (
            StatusCode::INTERNAL_SERVER_ERROR,
            "It was not written down".to_owned(),
            format!("{}. What was written before is safe.", told(&error)),
        ),
    };
    let page = Page {
        title: title.clone(),
        place: Place::Today,
        back: Some(("/".to_owned(), "Today".to_owned())),
        body: html! { (parts::question(&title)) p { (words) } },
    };
    (status, Html(frame(of, &page).into_string())).into_response()
}

/// Logs an error with its causes, and returns them as a sentence begins.
fn told(error: &(dyn std::error::Error + 'static)) -> String {
    let chain = chain(error);
    tracing::error!(error = chain, "the journal did not do what was asked");
    parts::capital(&chain)
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
