//! `holdground decide`: a server on this machine alone that shows the field file as six questions.

mod desk;
mod guard;
mod reply;
mod save;

use std::net::Ipv4Addr;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use axum::Router;
use axum::extract::{Request, State};
use axum::http::Method;
use axum::response::Response;
use tokio::net::TcpListener;
use tokio::sync::{Mutex, Notify, OwnedMutexGuard};
use tokio::time::Duration;

use super::Failure;
use super::console::Console;
use super::exit_code::ExitCode;
use desk::Desk;
use guard::{Refusal, Token};
use holdground::decide;
use holdground::diagnostic::{Code, Diagnostic, Place};

/// No server can be started.
pub(crate) static COULD_NOT_LISTEN: Code = Code {
    name: "could-not-listen",
    checks: "that `decide` can take a port of this machine and draw a secret address",
    why: "the page is shown by a small server on this machine alone",
    example: "`--port 8080` while another program holds port 8080",
    mend: "leave `--port` out, and the system picks a free one",
};
/// The field file is not as it was read.
pub(crate) static FIELD_FILE_CHANGED: Code = Code {
    name: "field-file-changed",
    checks: "that the field file is still what was read before answers are written into it",
    why: "what someone else wrote meanwhile would be lost",
    example: "the file was saved in an editor while the page was open",
    mend: "stop, and start `decide` again: it then shows the file as it is",
};
/// Messages of this command, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[&COULD_NOT_LISTEN, &FIELD_FILE_CHANGED];

/// How long open connections may take to end after Stop.
const LAST_WORDS: Duration = Duration::from_secs(2);

/// What every request sees.
struct Server {
    token: Token,
    port: u16,
    desk: Arc<Mutex<Desk>>,
    /// Number of the newest request for answers: older ones that still wait are let go.
    newest: AtomicU64,
    stop: Notify,
}

/// `holdground decide`
pub(crate) fn decide(field_file: &Path, port: u16, console: &Console) -> Result<ExitCode, Failure> {
    let progress = console.progress();
    progress.stage("reading");
    let desk = Desk::open(field_file, &|stage| progress.stage(stage)).map_err(Failure::refused)?;
    progress.finish();
    let token = Token::draw().map_err(|error| no_server(&format!("no random numbers: {error}")))?;
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(|error| no_server(&error.to_string()))?;
    let file = field_file.display().to_string();
    let times = runtime.block_on(async {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await;
        let listener = listener.map_err(|error| no_server(&format!("port {port}: {error}")))?;
        let port = listener.local_addr().map_err(|error| no_server(&error.to_string()))?.port();
        console.result(&format!(
            "Six questions about {file}, on this machine only:\n  http://127.0.0.1:{port}/{}/\n{file} is written only on a \
             press of the button there. Stop there, or here with Ctrl-C.\n",
            token.text()
        ));
        let desk = Arc::new(Mutex::new(desk));
        let server =
            Arc::new(Server { token, port, desk: desk.clone(), newest: AtomicU64::new(0), stop: Notify::new() });
        let stop = server.clone();
        let app = Router::new().fallback(handle).with_state(server.clone());
        let (told, ended) = tokio::sync::oneshot::channel();
        let served = axum::serve(listener, app).with_graceful_shutdown(async move {
            stop.stop.notified().await;
            let _ = told.send(());
        });
        tokio::select! {
            result = async { served.await } => result.map_err(|error| no_server(&error.to_string()))?,
            // A browser may hold a connection open that it does not use.
            () = async { let _ = ended.await; tokio::time::sleep(LAST_WORDS).await } => {}
        }
        let times = desk.lock().await.times_written();
        Ok::<_, Failure>(times)
    })?;
    console.result(&match times {
        0 => format!("Stopped. {file} was not written.\n"),
        1 => format!("Stopped. {file} was written.\n"),
        n => format!("Stopped. {file} was written {n} times.\n"),
    });
    Ok(ExitCode::Done)
}

fn no_server(reason: &str) -> Failure {
    let fault = Diagnostic::error(&COULD_NOT_LISTEN, format!("the page cannot be shown: {reason}"));
    let fault = fault.at(Place::Flag("--port")).with_help("leave `--port` out, and the system picks a free one");
    Failure { exit_code: ExitCode::CommandLine, diagnostics: vec![fault] }
}

async fn handle(State(server): State<Arc<Server>>, request: Request) -> Response {
    match answer(&server, request).await {
        Ok(response) => response,
        Err(refusal) => reply::refused(refusal),
    }
}

async fn answer(server: &Arc<Server>, request: Request) -> Result<Response, Refusal> {
    let (head, body) = request.into_parts();
    guard::host(&head.headers, server.port)?;
    let wanted = guard::below_token(head.uri.path(), &server.token)?.to_owned();
    if head.method == Method::GET {
        return match wanted.as_str() {
            "" => on_desk(server, |desk| reply::html(desk.page(None))).await,
            "decide.css" => Ok(reply::style(decide::STYLE)),
            "decide.js" => Ok(reply::script(decide::SCRIPT)),
            _ => Err(Refusal::NotFound),
        };
    }
    if head.method != Method::POST {
        return Err(Refusal::Method);
    }
    guard::origin(&head.headers, server.port)?;
    let text = guard::form_text(&head.headers, body).await?;
    match wanted.as_str() {
        "answers" => {
            let mine = server.newest.fetch_add(1, Ordering::SeqCst) + 1;
            let desk = server.desk.clone().lock_owned().await;
            if server.newest.load(Ordering::SeqCst) != mine {
                return Ok(reply::json(&serde_json::json!({ "superseded": true })));
            }
            blocking(desk, move |desk| Ok(reply::json(&desk.answer(&desk.form(&text)?)))).await?
        }
        "shown" => {
            on_desk(server, move |desk| {
                desk.answer(&desk.form(&text)?);
                Ok(reply::html(desk.page(None)))
            })
            .await?
        }
        "write" => {
            on_desk(server, move |desk| {
                let said = desk.write(&desk.form(&text)?);
                Ok(reply::html(desk.page(Some(&said))))
            })
            .await?
        }
        "leave" => {
            on_desk(server, |desk| {
                desk.leave();
                reply::html(desk.page(Some("Every answer is the file's again; nothing was written.")))
            })
            .await
        }
        "stop" => {
            let response = on_desk(server, |desk| reply::last_words(desk.last_page())).await;
            server.stop.notify_one();
            response
        }
        _ => Err(Refusal::NotFound),
    }
}

/// Works on the desk off the thread that listens.
async fn on_desk<T: Send + 'static>(
    server: &Arc<Server>,
    work: impl FnOnce(&mut Desk) -> T + Send + 'static,
) -> Result<T, Refusal> {
    blocking(server.desk.clone().lock_owned().await, work).await
}

async fn blocking<T: Send + 'static>(
    mut desk: OwnedMutexGuard<Desk>,
    work: impl FnOnce(&mut Desk) -> T + Send + 'static,
) -> Result<T, Refusal> {
    tokio::task::spawn_blocking(move || work(&mut desk)).await.map_err(|_| Refusal::Internal)
}
