//! What the addresses of a page give. Only `GET`, only to who knows the token, only under the name of this computer.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use hyper::body::{Bytes, Incoming};
use hyper::{Method, Request, StatusCode};
use serde::Serialize;
use tokio::sync::watch;
use tokio::task;

use super::Subject;
use super::host::Pages;
use super::{facts, files, page, poses, tracks};
use crate::loopback::{self, Answer, is_for, refused};

/// So long a page waits for a change; then it asks again.
const WAIT: Duration = Duration::from_secs(25);

/// Nothing from elsewhere, nowhere else to. Data URIs are buffers inside a scene file. The page may stand in a frame, as
/// editors show it: whoever makes one has to know the secret address.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self' data:; img-src 'self' data:; \
     base-uri 'none'; form-action 'none'";

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
            let tell =
                move |subject: &dyn Subject| facts::of(subject, now, pages.referred(), &query);
            json(subject, tell).await
        }
        "pose" => {
            let now = *pages.revision().borrow();
            json(subject, move |subject| poses::of(subject, now, &query)).await
        }
        "tracks" => {
            let now = *pages.revision().borrow();
            json(subject, move |subject| tracks::of(subject, now)).await
        }
        "scene" => bytes(subject, files::scene).await,
        _ => match asked.strip_prefix("buffer/").map(str::parse) {
            Some(Ok(place)) => bytes(subject, move |subject| files::buffer(subject, place)).await,
            _ => refused(StatusCode::NOT_FOUND),
        },
    }
}

/// Waits for a revision other than the one that the page knows.
async fn has_news(revision: &mut watch::Receiver<u64>, query: &str) -> bool {
    let mut words = query.split('&');
    let known = words.find_map(|word| word.strip_prefix("after=")?.parse().ok());
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

fn plain(kind: &'static str, content: &'static (impl AsRef<[u8]> + ?Sized)) -> Answer {
    answer(kind, Bytes::from_static(content.as_ref()))
}

fn answer(kind: &'static str, body: Bytes) -> Answer {
    loopback::answer(kind, body, POLICY)
}
