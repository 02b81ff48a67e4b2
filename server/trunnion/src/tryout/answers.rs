//! What the addresses of the page give.

use std::net::SocketAddr;
use std::sync::Arc;

use http_body_util::{BodyExt, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderValue};
use hyper::{Method, Request, StatusCode};
use hyper_util::rt::TokioIo;
use serde::{Deserialize, Serialize};
use tokio::task;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;
use tokio_tungstenite::tungstenite::protocol::Role;

use super::folder::{Entry, Folder, LARGEST};
use super::session;
use crate::loopback::{self, Answer, is_for, refused};

const HTML: &str = include_str!("../../../../editor-clients/try-page/page.html");
const STYLE: &str = include_str!("../../../../editor-clients/try-page/page.css");
pub(super) const SCRIPT: &[u8] = include!(concat!(env!("OUT_DIR"), "/try-page.rs"));

/// Where the page looks for the word with which it may add styles of its own.
const NONCE: &str = "{{nonce}}";

/// What is served.
#[derive(Debug)]
pub(super) struct Page {
    pub(super) token: String,
    pub(super) folder: Folder,
}

/// The mod, for the page.
#[derive(Debug, Serialize)]
struct Mod {
    name: String,
    root: String,
    files: Vec<Entry>,
    /// Which to show first.
    first: Option<usize>,
}

/// A file to be saved.
#[derive(Debug, Deserialize)]
struct Saved {
    path: String,
    /// What it held when the page last read or wrote it.
    known: String,
    text: String,
}

/// The answer to any request.
pub(super) async fn to(request: Request<Incoming>, own: SocketAddr, page: Arc<Page>) -> Answer {
    if !is_for(&request, own) {
        return refused(StatusCode::FORBIDDEN);
    }
    let path = request.uri().path();
    let asked = path.trim_start_matches('/').split_once('/');
    let Some((_, asked)) = asked.filter(|(token, _)| *token == page.token) else {
        return refused(StatusCode::NOT_FOUND);
    };
    let is_get = request.method() == Method::GET;
    match asked {
        "" if is_get => html(),
        "page.css" if is_get => plain("text/css; charset=utf-8", STYLE),
        "page.js" if is_get => plain("text/javascript; charset=utf-8", SCRIPT),
        "mod" if is_get => json(task::spawn_blocking(move || Ok(about(&page.folder))).await),
        "file" if is_get => {
            let name = url::form_urlencoded::parse(request.uri().query().unwrap_or("").as_bytes())
                .find(|(key, _)| key == "path")
                .map(|(_, name)| name.into_owned())
                .unwrap_or_default();
            json(task::spawn_blocking(move || page.folder.text(&name)).await)
        }
        "file" if request.method() == Method::PUT => save(request, page).await,
        "session" if is_get => start_session(request),
        "" | "page.css" | "page.js" | "mod" | "file" | "session" => {
            refused(StatusCode::METHOD_NOT_ALLOWED)
        }
        _ => refused(StatusCode::NOT_FOUND),
    }
}

fn about(folder: &Folder) -> Mod {
    let (files, first) = folder.entries();
    let name = folder.root().file_name();
    Mod {
        name: name.unwrap_or_default().to_string_lossy().into_owned(),
        root: url::Url::from_directory_path(folder.root())
            .map_or_else(|()| String::new(), String::from),
        files,
        first,
    }
}

async fn save(request: Request<Incoming>, page: Arc<Page>) -> Answer {
    // Both texts, and room for how JSON writes them.
    let most = usize::try_from(4 * LARGEST).unwrap_or(usize::MAX);
    let Ok(body) = Limited::new(request.into_body(), most).collect().await else {
        return refused(StatusCode::PAYLOAD_TOO_LARGE);
    };
    let Ok(saved) = serde_json::from_slice::<Saved>(&body.to_bytes()) else {
        return refused(StatusCode::BAD_REQUEST);
    };
    let Saved { path, known, text } = saved;
    json(task::spawn_blocking(move || page.folder.save(&path, &known, &text)).await)
}

/// Turns the connection into a web socket (RFC 6455, section 4.2) with a language server behind it.
fn start_session(request: Request<Incoming>) -> Answer {
    let says = |name| request.headers().get(name).and_then(|it| it.to_str().ok());
    let is_socket = says(header::UPGRADE).is_some_and(|it| it.eq_ignore_ascii_case("websocket"))
        && says(header::SEC_WEBSOCKET_VERSION) == Some("13");
    let key = says(header::SEC_WEBSOCKET_KEY).filter(|_| is_socket);
    let Some(accepted) = key.map(|key| derive_accept_key(key.as_bytes())) else {
        return refused(StatusCode::UPGRADE_REQUIRED);
    };
    let Ok(accepted) = HeaderValue::from_str(&accepted) else {
        return refused(StatusCode::BAD_REQUEST);
    };
    tokio::spawn(async move {
        if let Ok(upgraded) = hyper::upgrade::on(request).await {
            let stream = TokioIo::new(upgraded);
            session::run(WebSocketStream::from_raw_socket(stream, Role::Server, None).await).await;
        }
    });
    let mut answer = refused(StatusCode::SWITCHING_PROTOCOLS);
    let headers = answer.headers_mut();
    headers.insert(header::CONNECTION, HeaderValue::from_static("Upgrade"));
    headers.insert(header::UPGRADE, HeaderValue::from_static("websocket"));
    headers.insert(header::SEC_WEBSOCKET_ACCEPT, accepted);
    answer
}

/// The page, which may add styles: the editor in it does.
fn html() -> Answer {
    let Ok(nonce) = loopback::token() else {
        return refused(StatusCode::INTERNAL_SERVER_ERROR);
    };
    let policy = format!(
        "default-src 'none'; script-src 'self'; style-src 'self' 'nonce-{nonce}'; img-src 'self' data:; \
         connect-src 'self' ws://127.0.0.1:* ws://localhost:*; frame-src http://127.0.0.1:*; base-uri 'none'; form-action 'none'"
    );
    let page = HTML.replace(NONCE, &nonce);
    loopback::answer("text/html; charset=utf-8", page.into(), &policy)
}

fn plain(kind: &'static str, content: &'static (impl AsRef<[u8]> + ?Sized)) -> Answer {
    loopback::answer(
        kind,
        Bytes::from_static(content.as_ref()),
        "default-src 'none'",
    )
}

/// What was found, or why not; either in words that the page can show.
fn json<T: Serialize>(done: Result<Result<T, String>, task::JoinError>) -> Answer {
    let (status, body) = match done {
        Ok(Ok(found)) => (StatusCode::OK, serde_json::to_vec(&found)),
        Ok(Err(reason)) => (StatusCode::CONFLICT, serde_json::to_vec(&reason)),
        Err(_) => return refused(StatusCode::INTERNAL_SERVER_ERROR),
    };
    let Ok(body) = body else {
        return refused(StatusCode::INTERNAL_SERVER_ERROR);
    };
    let mut answer = loopback::answer("application/json", body.into(), "default-src 'none'");
    *answer.status_mut() = status;
    answer
}
