//! Routes, and the server's beginning and end.

use std::collections::VecDeque;
use std::future::Future;
use std::io;
use std::net::TcpListener;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router, middleware};
use serde::{Deserialize, Serialize};
use tokio::sync::Semaphore;

use super::depth::{self, Depth};
use super::guard;
use super::keep::{Kept, Unsaved};
use crate::ask;
use crate::page::bench;
use crate::page::form::{Group, Wrong, groups, wrong};
use crate::questions::sweep::{self, Sweep};
use crate::render::question::Question;
use crate::render::text::Look;
use crate::render::web::{self, Letters, Place};
use crate::render::{Render, against};
use crate::scenario::doubts::doubts;
use crate::scenario::written::Address;
use crate::scenario::{self, Scenario, written};

/// Largest size that can be asked about.
const LARGEST_SIZE: u32 = 10_000;

/// Runs of a quick answer, where nothing is known yet of what they take.
const FIRST_RUNS: u64 = 1_000;

/// Fewest runs that say anything: as few as `--trials` takes.
const FEWEST_RUNS: u64 = 100;

/// A quick answer should be had in this time: half of what feels like at once, as the machine may have other things to do.
const BLINK: Duration = Duration::from_millis(25);

/// Sweeps of saved texts that are kept for comparing.
const KEPT_SWEEPS: usize = 12;

/// How long answers on their way may take once the end was asked for.
const PATIENCE: Duration = Duration::from_secs(2);

const PAGE: &str = include_str!("page/page.html");
const STYLE: &str = include_str!("page/desk.css");
const SCRIPT: &str = include_str!("page/desk.js");
const ICON: &str = include_str!("page/icon.svg");

/// One scenario file and the page about it.
pub struct Desk {
    pub(super) port: u16,
    pub(super) secret: String,
    /// What the browser's cookie holds.
    pub(super) pass: String,
    /// The key of the printed address, until it is used.
    key: Mutex<Option<String>>,
    file: Kept,
    /// One answer at a time of each kind: quick ones never wait for a full one.
    quick: Arc<Semaphore>,
    full: Arc<Semaphore>,
    /// Sweeps of texts as they were saved.
    saved: Mutex<VecDeque<(Figures, Arc<Sweep>)>>,
}

/// What a sweep of a saved text depends on.
#[derive(PartialEq)]
struct Figures {
    text: String,
    /// `None`: every size of the scenario.
    size: Option<u32>,
    trials: u64,
}

impl Desk {
    /// A page about `file`, at `port` of loopback.
    ///
    /// # Errors
    /// One sentence: the file cannot be read, or the system gives no random numbers.
    pub fn new(file: &Path, port: u16) -> Result<Self, String> {
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
            quick: Arc::new(Semaphore::new(1)),
            full: Arc::new(Semaphore::new(1)),
            saved: Mutex::new(VecDeque::new()),
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

    /// The sweep of a saved text, remembered.
    fn saved_sweep(&self, figures: Figures, scenario: &Scenario, depth: Depth) -> Arc<Sweep> {
        if let Ok(kept) = self.saved.lock()
            && let Some((_, sweep)) = kept.iter().find(|(known, _)| *known == figures)
        {
            return Arc::clone(sweep);
        }
        let sweep = Arc::new(sweep_at(scenario, figures.size, figures.trials, depth));
        if let Ok(mut kept) = self.saved.lock() {
            kept.truncate(KEPT_SWEEPS - 1);
            kept.push_front((figures, Arc::clone(&sweep)));
        }
        sweep
    }
}

fn sweep_at(scenario: &Scenario, size: Option<u32>, trials: u64, depth: Depth) -> Sweep {
    let settings = depth.settings(trials);
    match size {
        None => sweep::run(scenario, &settings, &|_| ()),
        Some(size) => {
            let mut alone = scenario.clone();
            alone.batch.sizes = vec![size];
            sweep::run(&alone, &settings, &|_| ())
        }
    }
}

/// All that is served.
pub fn router(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/", get(page))
        .route("/style.css", get(|| file("text/css; charset=utf-8", web::STYLE)))
        .route("/desk.css", get(|| file("text/css; charset=utf-8", STYLE)))
        .route("/desk.js", get(|| file("text/javascript; charset=utf-8", SCRIPT)))
        .route("/icon.svg", get(|| file("image/svg+xml", ICON)))
        .route("/file", post(load))
        .route("/answer", post(answer))
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
    crate::interrupt::is_told_elsewhere();
    listener.set_nonblocking(true)?;
    // One thread for the network; what computes has threads of its own.
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let served = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let (tell, told) = tokio::sync::watch::channel(false);
        let mut ending = told.clone();
        let server = axum::serve(listener, router(Arc::new(desk))).with_graceful_shutdown(async move {
            let _gone = ending.wait_for(|over| *over).await;
        });
        let patience = async {
            end_asked().await;
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

async fn end_asked() {
    let interrupted = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminated = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(_) => std::future::pending().await,
        }
    };
    #[cfg(not(unix))]
    let terminated = std::future::pending::<()>();
    tokio::select! {
        () = interrupted => {}
        () = terminated => {}
    }
}

fn file(kind: &'static str, content: &'static str) -> impl Future<Output = Response> + Send {
    std::future::ready(([(header::CONTENT_TYPE, kind)], content).into_response())
}

async fn page(State(desk): State<Arc<Desk>>) -> Response {
    let name = escaped(&desk.file.name());
    if let Some(built) = bench::PAGE {
        let (page, policy) = bench::at_desk(built, &desk.secret, &name);
        let headers = [
            (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
            (header::CONTENT_SECURITY_POLICY, policy),
        ];
        return (headers, page).into_response();
    }
    let page = PAGE.replace("{secret}", &desk.secret).replace("{file}", &name);
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page).into_response()
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

/// Runs work that computes or waits for the disk, away from the network's thread.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        (
            StatusCode::INTERNAL_SERVER_ERROR,
            "the program has a fault: this could not be computed\n",
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

/// A value and what was typed for it.
#[derive(Deserialize)]
struct Typed {
    at: Address,
    written: String,
}

/// The text as it was loaded or typed as a whole, and what was typed into its fields since.
#[derive(Deserialize)]
struct Draft {
    text: String,
    #[serde(default)]
    typed: Vec<Typed>,
}

impl Draft {
    fn text(self) -> Result<String, String> {
        let typed: Vec<_> = self.typed.into_iter().map(|t| (t.at, t.written)).collect();
        written::with_typed(&self.text, &typed)
    }
}

#[derive(Deserialize)]
struct Asked {
    /// Given back as it came, so that the page can drop what comes late.
    number: u64,
    #[serde(flatten)]
    draft: Draft,
    /// The text as saved, to compare with.
    saved: String,
    question: Question,
    /// The size asked about; absent: as the command chooses it.
    size: Option<u32>,
    /// Fewer runs, at once.
    #[serde(default)]
    quick: bool,
    /// How many, for a quick answer; a hand that moves a value asks for the same number all along.
    runs: Option<u64>,
    /// The answer as a program reads it, instead of words and pictures.
    #[serde(default)]
    json: bool,
}

#[derive(Serialize)]
struct Answered {
    number: u64,
    /// The text with everything typed in it.
    text: String,
    /// `None`: the text is not TOML.
    form: Option<Vec<Group>>,
    faults: Vec<Wrong>,
    doubts: Vec<String>,
    /// Whether the text is as saved.
    as_saved: bool,
    /// Questions that the scenario can be asked.
    questions: Vec<Question>,
    /// Why there is no answer although there are no faults.
    cannot: Option<String>,
    answer: Option<Face>,
    /// What the change does.
    against: Vec<String>,
}

/// An answer as it is shown.
#[derive(Serialize)]
struct Face {
    /// The answer in sentences, for those who hear the page.
    opening: String,
    html: String,
    /// The documented JSON of the command.
    #[serde(skip_serializing_if = "Option::is_none")]
    json: Option<String>,
    trials: u64,
    quick: bool,
    /// How many runs a quick answer to this question has time for, by what this one took.
    quick_runs: u64,
    /// What it took, in milliseconds.
    spent: f64,
    /// The size it is about, where it is about one.
    size: Option<u32>,
}

/// Whoever asked: work that is on its way when this is dropped is called off.
struct Asker(Arc<AtomicBool>);

impl Drop for Asker {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

async fn answer(State(desk): State<Arc<Desk>>, body: Bytes) -> Response {
    let asked: Asked = match read(&body) {
        Ok(asked) => asked,
        Err(refused) => return *refused,
    };
    if asked.size.is_some_and(|size| size == 0 || size > LARGEST_SIZE) {
        return (StatusCode::BAD_REQUEST, "a size is 1 to 10000\n").into_response();
    }
    if asked
        .runs
        .is_some_and(|runs| !(FEWEST_RUNS..=sweep::TRIALS).contains(&runs))
    {
        return (StatusCode::BAD_REQUEST, "runs are 100 to 50000\n").into_response();
    }
    let line = if asked.quick { &desk.quick } else { &desk.full };
    // Whoever has gone away in the meantime is never computed for: with the connection this future is dropped.
    let Ok(turn) = Arc::clone(line).acquire_owned().await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let gone = Arc::new(AtomicBool::new(false));
    let _asker = Asker(Arc::clone(&gone));
    let answered = aside(move || {
        let _turn = turn;
        answered(&desk, asked, &|_| {
            if gone.load(Ordering::Relaxed) {
                // Unwinds to where the work was begun, past every room that it has no business in; no message, as nothing is wrong.
                std::panic::resume_unwind(Box::new("called off"));
            }
        })
    })
    .await;
    match answered {
        Ok(Ok(answered)) => Json(answered).into_response(),
        Ok(Err(said)) => (StatusCode::BAD_REQUEST, Json(Said { said })).into_response(),
        Err(response) => response,
    }
}

fn answered(desk: &Desk, asked: Asked, progress: &(dyn Fn(f64) + Sync)) -> Result<Answered, String> {
    let since = Instant::now();
    let text = asked.draft.text()?;
    let name = desk.file.name();
    let sections = written::sections(&text);
    let mut out = Answered {
        number: asked.number,
        form: sections.as_deref().map(groups),
        faults: Vec::new(),
        doubts: Vec::new(),
        as_saved: text == asked.saved,
        questions: Vec::new(),
        cannot: None,
        answer: None,
        against: Vec::new(),
        text,
    };
    let scenario = match scenario::read(&name, &out.text, &[]) {
        Ok(scenario) => scenario,
        Err(faults) => {
            out.faults = wrong(&out.text, sections.as_deref(), &faults);
            return Ok(out);
        }
    };
    out.doubts = doubts(&scenario);
    out.questions = Question::of(&scenario).collect();
    let depth = if asked.quick {
        Depth::Quick(asked.runs.unwrap_or(FIRST_RUNS))
    } else {
        Depth::Full
    };
    let options = depth.options(asked.question, asked.size);
    let answer = match ask::answer(asked.question, &scenario, &options, progress) {
        Ok(answer) => answer,
        Err(why) => {
            out.cannot = Some(depth::told(why));
            return Ok(out);
        }
    };
    if !out.as_saved
        && let Ok(saved) = scenario::read(&name, &asked.saved, &[])
        && let Some(size) = asked
            .size
            .or(answer.size)
            .or_else(|| scenario.batch.sizes.last().copied())
    {
        // The sweep that was answered serves, if the size is in it and in the saved one.
        let whole = |of: &Scenario| of.batch.sizes.contains(&size);
        let now = match &answer.figures {
            ask::Figures::Sweep(sweep) if whole(&scenario) && whole(&saved) => Some(Arc::clone(sweep)),
            _ => None,
        };
        let alone = now.is_none().then_some(size);
        let now = now.unwrap_or_else(|| Arc::new(sweep_at(&scenario, alone, answer.trials, depth)));
        let figures = Figures {
            text: asked.saved,
            size: alone,
            trials: answer.trials,
        };
        let saved = desk.saved_sweep(figures, &saved, depth);
        out.against = against::sentences(&saved, &now, size);
    }
    let shown = answer.figures.render();
    let mut face = Face {
        opening: shown.page(&Look::page(false)).opening.join(" "),
        html: html(shown, &scenario.title),
        json: asked.json.then(|| shown.json()),
        trials: answer.trials,
        quick: asked.quick,
        quick_runs: 0,
        spent: 0.0,
        size: answer.size,
    };
    let spent = since.elapsed();
    face.spent = spent.as_secs_f64() * 1_000.0;
    face.quick_runs = runs_in_a_blink(answer.trials, spent).min(asked.question.usual_trials());
    out.answer = Some(face);
    Ok(out)
}

/// The answer as the report has it, with its chart's letters before it.
fn html(shown: &dyn Render, title: &str) -> String {
    let place = Place {
        id: "now",
        level: 2,
        heading: title,
        care: true,
    };
    let mut letters = Letters::default();
    let section = web::answer(shown, &place, &mut letters);
    letters.definitions() + &section
}

/// How many runs there is time for where `trials` took so long: a round number, that a little more or less time does not move.
fn runs_in_a_blink(trials: u64, spent: Duration) -> u64 {
    let fit = trials as f64 * BLINK.as_secs_f64() / spent.as_secs_f64().max(1e-6);
    let fit = fit.clamp(FEWEST_RUNS as f64, sweep::TRIALS as f64) as u64;
    let digit = 10u64.pow(fit.ilog10());
    fit / digit * digit
}

#[derive(Deserialize)]
struct ToSave {
    #[serde(flatten)]
    draft: Draft,
    /// What the file holds as far as the page knows.
    saved: String,
}

/// Why nothing was saved.
#[derive(Serialize)]
struct NotSaved {
    said: String,
    /// The file is not what the page was loaded from: it can be loaded again.
    changed: bool,
    faults: Vec<Wrong>,
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
    let not = |said: String| NotSaved {
        said,
        changed: false,
        faults: Vec::new(),
    };
    let name = desk.file.name();
    let text = asked.draft.text().map_err(not)?;
    if let Err(faults) = scenario::read(&name, &text, &[]) {
        return Err(NotSaved {
            faults: wrong(&text, written::sections(&text).as_deref(), &faults),
            ..not("Nothing was saved: the scenario has faults.".to_owned())
        });
    }
    match desk.file.save(&asked.saved, &text) {
        Ok(()) => Ok(text),
        Err(Unsaved::Changed) => Err(NotSaved {
            changed: true,
            ..not(format!(
                "Nothing was saved: {name} was changed by something else since it was read here."
            ))
        }),
        Err(Unsaved::Refused(why)) => Err(not(format!("Nothing was saved: {why}."))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_runs_as_there_is_time_for() {
        let runs = |trials, milliseconds| runs_in_a_blink(trials, Duration::from_millis(milliseconds));
        assert_eq!(runs(50_000, 110), 10_000);
        assert_eq!(runs(2_000, 60), 800);
        assert_eq!(runs(8_000, 100_000), FEWEST_RUNS);
        assert_eq!(runs(50_000, 0), sweep::TRIALS);
    }
}
