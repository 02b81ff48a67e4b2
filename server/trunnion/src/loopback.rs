//! A port on this computer, for pages that nobody else may see.
//!
//! Addresses hold 128 random bits: who was not told one gets nothing. Requests that name another server, as a page from
//! elsewhere would that had its name lead here, are none of ours ([`is_for`]).

use std::convert::Infallible;
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

use futures::future::BoxFuture;
use http_body_util::Full;
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderName, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::sync::Semaphore;

/// A browser keeps six connections to a server; others on this computer may keep some open and say nothing.
const MOST_CONNECTIONS: usize = 256;
/// A connection that says nothing is closed after this: others wait for its place. A browser opens another one.
const PATIENCE: Duration = Duration::from_secs(5);

pub(crate) type Answer = Response<Full<Bytes>>;

/// Answers a request; the address is the server's own.
pub(crate) type Handler =
    Arc<dyn Fn(Request<Incoming>, SocketAddr) -> BoxFuture<'static, Answer> + Send + Sync>;

/// Opens a free port on the loopback interface and answers until the process ends.
///
/// # Errors
/// There is no port or no thread to be had.
pub(crate) fn open(name: &str, handler: Handler) -> io::Result<SocketAddr> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_io()
        .enable_time()
        .max_blocking_threads(8)
        .build()?;
    thread::Builder::new()
        .name(name.to_owned())
        .spawn(move || runtime.block_on(serve(listener, address, handler)))?;
    Ok(address)
}

/// 128 random bits in hexadecimal.
///
/// # Errors
/// The system has no random numbers.
pub(crate) fn token() -> io::Result<String> {
    let mut random = [0; 16];
    getrandom::fill(&mut random).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(random.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Whether a request means this server: a page from elsewhere that had its name point here would say that name.
pub(crate) fn is_for(request: &Request<Incoming>, own: SocketAddr) -> bool {
    let names = [own.to_string(), format!("localhost:{}", own.port())];
    let says = |name: HeaderName| request.headers().get(name).map(HeaderValue::to_str);
    let host = says(header::HOST).and_then(Result::ok);
    let origin_is_own = match says(header::ORIGIN) {
        None => true,
        Some(Ok(origin)) => names.iter().any(|name| origin == format!("http://{name}")),
        Some(Err(_)) => false,
    };
    host.is_some_and(|host| names.iter().any(|name| host == name)) && origin_is_own
}

/// `policy`: what the browser may load for the page.
pub(crate) fn answer(kind: &'static str, body: Bytes, policy: &str) -> Answer {
    let mut answer = Response::new(Full::new(body));
    let headers = answer.headers_mut();
    if let Ok(policy) = HeaderValue::from_str(policy) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    let said = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // The address is a secret.
        (header::REFERRER_POLICY, "no-referrer"),
    ];
    for (name, value) in said {
        headers.insert(name, HeaderValue::from_static(value));
    }
    answer
}

/// An answer without content.
pub(crate) fn refused(status: StatusCode) -> Answer {
    let mut refused = answer(
        "text/plain; charset=utf-8",
        Bytes::new(),
        "default-src 'none'",
    );
    *refused.status_mut() = status;
    refused
}

async fn serve(listener: TcpListener, address: SocketAddr, handler: Handler) {
    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
        return;
    };
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    while let Ok(room) = room.clone().acquire_owned().await {
        let stream = match listener.accept().await {
            Ok((stream, _)) => stream,
            // The other side is gone already, or there are too many open files: neither is the end.
            Err(_) => {
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        let handler = handler.clone();
        tokio::spawn(async move {
            let _room = room;
            // Small answers go out at once.
            let _ = stream.set_nodelay(true);
            let service = service_fn(move |request| {
                let answer = handler(request, address);
                async move { Ok::<_, Infallible>(answer.await) }
            });
            // A connection that breaks off concerns nobody else.
            let _ = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(PATIENCE)
                .serve_connection(TokioIo::new(stream), service)
                .with_upgrades()
                .await;
        });
    }
}
