//! Routes, and the server's beginning and end.

use std::borrow::Cow;
use std::io;
use std::net::TcpListener;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router, middleware};
use serde::{Deserialize, Serialize};

use super::guard;
use super::keep::{Kept, Unsaved};
use crate::page::bench;
use crate::{interrupt, scenario};

/// How long answers on their way may take once the end was asked for.
const PATIENCE: Duration = Duration::from_secs(2);

/// One scenario file and the page about it.
pub struct Desk {
    pub(super) port: u16,
    pub(super) secret: String,
    /// What the browser's cookie holds.
    pub(super) pass: String,
    /// The key of the printed address, until it is used.
    key: Mutex<Option<String>>,
    file: Kept,
    /// The built page, which has the whole library in it.
    page: Cow<'static, str>,
}

impl Desk {
    /// The built page about `file`, at `port` of loopback.
    ///
    /// # Errors
    /// One sentence: the file cannot be read, or the system gives no random numbers.
    pub fn new(file: &Path, port: u16, page: Cow<'static, str>) -> Result<Self, String> {
        let file = Kept::new(file);
        file.load()?;
        let random = || guard::secret().map_err(|error| format!("the system gives no random numbers: {error}"));
        let (secret, pass, key) = (random()?, random()?, random()?);
        Ok(Self {
            port,
            secret,
            pass,
            key: Mutex::new(Some(key)),
            file,
            page,
        })
    }

    /// The address that lets one browser in, once.
    #[must_use]
    pub fn address(&self) -> String {
        let key = self.key.lock().ok().and_then(|key| key.clone()).unwrap_or_default();
        format!("http://127.0.0.1:{}/?key={key}", self.port)
    }

    /// Whether an address's query has the key, which is used up by that.
    pub(super) fn opens(&self, query: &str) -> bool {
        let Ok(mut key) = self.key.lock() else { return false };
        let given = query.strip_prefix("key=").unwrap_or("");
        let fits = key
            .as_ref()
            .is_some_and(|key| guard::same(given.as_bytes(), key.as_bytes()));
        if fits {
            *key = None;
        }
        fits
    }
}

/// All that is served.
pub fn router(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/", get(page))
        .route("/file", post(load))
        .route("/save", post(save))
        .fallback(|| async { (StatusCode::NOT_FOUND, "there is nothing of that name\n") })
        .layer(DefaultBodyLimit::max(guard::LONGEST_REQUEST))
        .layer(middleware::from_fn_with_state(Arc::clone(&desk), guard::guard))
        .with_state(desk)
}

/// Serves until the process is told to end (Ctrl-C, or a terminating signal), then lets answers on their way be finished.
///
/// # Errors
/// Where the system refuses the port.
pub fn until_told(listener: TcpListener, desk: Desk) -> io::Result<()> {
    interrupt::is_told_elsewhere();
    listener.set_nonblocking(true)?;
    // One thread for the network; what waits for the disk has threads of its own.
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let served = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let (tell, told) = tokio::sync::watch::channel(false);
        let mut ending = told.clone();
        let server = axum::serve(listener, router(Arc::new(desk))).with_graceful_shutdown(async move {
            let _gone = ending.wait_for(|over| *over).await;
        });
        let end_asked = interrupt::told()?;
        let patience = async {
            if end_asked.await.is_err() {
                std::future::pending::<()>().await;
            }
            let _nobody = tell.send(true);
            tokio::time::sleep(PATIENCE).await;
        };
        tokio::select! {
            served = server.into_future() => served,
            () = patience => Ok(()),
        }
    });
    runtime.shutdown_background();
    served
}

async fn page(State(desk): State<Arc<Desk>>) -> Response {
    let (page, policy) = bench::at_desk(&desk.page, &desk.secret, &escaped(&desk.file.name()));
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
        (header::CONTENT_SECURITY_POLICY, policy),
    ];
    (headers, page).into_response()
}

/// Text that stands in HTML, between tags or in a quoted attribute.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

// ---------------------------------------------------------------------------------------------------------------------
// Requests

/// A request's content, or the refusal.
fn read<'b, T: Deserialize<'b>>(body: &'b Bytes) -> Result<T, Box<Response>> {
    serde_json::from_slice(body)
        .map_err(|error| Box::new((StatusCode::BAD_REQUEST, format!("not understood: {error}\n")).into_response()))
}

/// Runs work that waits for the disk, away from the network's thread.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        (
            StatusCode::INTERNAL_SERVER_ERROR,
            "the program has a fault: this could not be done\n",
        )
            .into_response()
    })
}

/// What went wrong, in a sentence.
#[derive(Serialize)]
struct Said {
    said: String,
}

#[derive(Serialize)]
struct Loaded {
    text: String,
}

async fn load(State(desk): State<Arc<Desk>>) -> Response {
    match aside(move || desk.file.load()).await {
        Ok(Ok(text)) => Json(Loaded { text }).into_response(),
        Ok(Err(said)) => (StatusCode::CONFLICT, Json(Said { said })).into_response(),
        Err(response) => response,
    }
}

#[derive(Deserialize)]
struct ToSave {
    text: String,
    /// What the file holds as far as the page knows.
    saved: String,
}

/// Why nothing was saved.
#[derive(Serialize)]
struct NotSaved {
    said: String,
    /// The file is not what the page was loaded from: it can be loaded again.
    changed: bool,
}

async fn save(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let asked: ToSave = match read(&body) {
        Ok(asked) => asked,
        Err(refused) => return *refused,
    };
    match aside(move || saved(&desk, asked)).await {
        Ok(Ok(text)) => Json(Loaded { text }).into_response(),
        Ok(Err(not)) => (StatusCode::CONFLICT, Json(not)).into_response(),
        Err(response) => response,
    }
}

fn saved(desk: &Desk, asked: ToSave) -> Result<String, NotSaved> {
    let not = |changed, said| NotSaved { said, changed };
    let name = desk.file.name();
    if let Err(faults) = scenario::read(&name, &asked.text, &[]) {
        let faults = match faults.count() {
            1 => "one fault".to_owned(),
            n => format!("{n} faults"),
        };
        return Err(not(
            false,
            format!("Nothing was saved: the scenario has {faults}. Mend it first."),
        ));
    }
    match desk.file.save(&asked.saved, &asked.text) {
        Ok(()) => Ok(asked.text),
        Err(Unsaved::Changed) => Err(not(
            true,
            format!("Nothing was saved: {name} was changed by something else since it was read here."),
        )),
        Err(Unsaved::Refused(why)) => Err(not(false, format!("Nothing was saved: {why}."))),
    }
}
