//! What the addresses of a page give. Only `GET`, only to who knows the token, only under the name of this computer.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use http_body_util::Full;
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use serde::Serialize;
use tokio::sync::watch;
use tokio::task;

use super::Subject;
use super::host::Pages;
use super::{facts, files, page, poses};

/// So long a page waits for a change; then it asks again.
const WAIT: Duration = Duration::from_secs(25);

/// Nothing from elsewhere, nowhere else to. Data URIs are buffers inside a scene file.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self' data:; img-src 'self' data:; \
     base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

type Answer = Response<Full<Bytes>>;

/// The answer to any request.
pub(super) async fn to(request: Request<Incoming>, own: SocketAddr, pages: Arc<Pages>) -> Answer {
    if !is_for(&request, own) {
        return refused(StatusCode::FORBIDDEN);
    }
    if request.method() != Method::GET {
        return refused(StatusCode::METHOD_NOT_ALLOWED);
    }
    let path = request.uri().path();
    let Some((token, asked)) = path.trim_start_matches('/').split_once('/') else {
        return refused(StatusCode::NOT_FOUND);
    };
    let Some(subject) = pages.subject(token) else {
        return refused(StatusCode::NOT_FOUND);
    };
    let query = request.uri().query().unwrap_or_default().to_owned();
    match asked {
        "" => plain("text/html; charset=utf-8", page::HTML),
        "page.css" => plain("text/css; charset=utf-8", page::STYLE),
        "page.js" => plain("text/javascript; charset=utf-8", page::SCRIPT),
        "machine" => {
            let mut revision = pages.revision();
            if !has_news(&mut revision, &query).await {
                return refused(StatusCode::NO_CONTENT);
            }
            let now = *revision.borrow();
            json(subject, move |subject| facts::of(subject, now)).await
        }
        "pose" => {
            let now = *pages.revision().borrow();
            json(subject, move |subject| poses::of(subject, now, &query)).await
        }
        "scene" => bytes(subject, files::scene).await,
        _ => match asked.strip_prefix("buffer/").map(str::parse) {
            Some(Ok(place)) => bytes(subject, move |subject| files::buffer(subject, place)).await,
            _ => refused(StatusCode::NOT_FOUND),
        },
    }
}

/// Whether a request means this server: a page from elsewhere that had its name point here would say that name.
fn is_for(request: &Request<Incoming>, own: SocketAddr) -> bool {
    let names = [own.to_string(), format!("localhost:{}", own.port())];
    let says = |name: header::HeaderName| request.headers().get(name).map(HeaderValue::to_str);
    let host = says(header::HOST).and_then(Result::ok);
    let origin_is_own = match says(header::ORIGIN) {
        None => true,
        Some(Ok(origin)) => names.iter().any(|name| origin == format!("http://{name}")),
        Some(Err(_)) => false,
    };
    host.is_some_and(|host| names.iter().any(|name| host == name)) && origin_is_own
}

/// Waits for a revision other than the one that the page knows.
async fn has_news(revision: &mut watch::Receiver<u64>, query: &str) -> bool {
    let known = query.strip_prefix("after=").and_then(|it| it.parse().ok());
    let news = revision.wait_for(|now| Some(*now) != known);
    matches!(tokio::time::timeout(WAIT, news).await, Ok(Ok(_)))
}

async fn json<T: Serialize>(
    subject: Arc<dyn Subject>,
    say: impl FnOnce(&dyn Subject) -> T + Send + 'static,
) -> Answer {
    let written = task::spawn_blocking(move || serde_json::to_vec(&say(&*subject)));
    match written.await {
        Ok(Ok(text)) => answer("application/json", text.into()),
        _ => refused(StatusCode::INTERNAL_SERVER_ERROR),
    }
}

async fn bytes(
    subject: Arc<dyn Subject>,
    read: impl FnOnce(&dyn Subject) -> Option<Vec<u8>> + Send + 'static,
) -> Answer {
    match task::spawn_blocking(move || read(&*subject)).await {
        Ok(Some(read)) => answer("application/octet-stream", read.into()),
        Ok(None) => refused(StatusCode::NOT_FOUND),
        Err(_) => refused(StatusCode::INTERNAL_SERVER_ERROR),
    }
}

fn plain(kind: &'static str, text: &'static str) -> Answer {
    answer(kind, Bytes::from_static(text.as_bytes()))
}

fn answer(kind: &'static str, body: Bytes) -> Answer {
    let mut answer = Response::new(Full::new(body));
    let headers = answer.headers_mut();
    let said = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "no-store"),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // The address is a secret.
        (header::REFERRER_POLICY, "no-referrer"),
    ];
    for (name, value) in said {
        headers.insert(name, HeaderValue::from_static(value));
    }
    answer
}

fn refused(status: StatusCode) -> Answer {
    let mut refused = answer("text/plain; charset=utf-8", Bytes::new());
    *refused.status_mut() = status;
    refused
}
