//! The port on this computer. None is open until somebody asks for a preview.

use std::collections::HashMap;
use std::convert::Infallible;
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::sync::{Semaphore, watch};

use super::Subject;
use super::answers;

/// A browser keeps six connections to a server.
const MOST_CONNECTIONS: usize = 64;
/// A connection that says nothing is closed after this.
const PATIENCE: Duration = Duration::from_secs(60);

/// Serves pages until the process ends.
#[derive(Debug)]
pub(crate) struct Host {
    port: u16,
    pages: Arc<Pages>,
}

/// What is served.
pub(super) struct Pages {
    /// By token.
    subjects: Mutex<HashMap<String, Arc<dyn Subject>>>,
    /// Counts up whenever a definition may have changed.
    revision: watch::Sender<u64>,
}

impl Host {
    /// Opens a free port on the loopback interface.
    ///
    /// # Errors
    /// There is no port or no thread to be had.
    pub(crate) fn start() -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        let pages = Arc::new(Pages {
            subjects: Mutex::default(),
            revision: watch::Sender::new(1),
        });
        let served = pages.clone();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_io()
            .enable_time()
            .max_blocking_threads(8)
            .build()?;
        thread::Builder::new()
            .name("preview".to_owned())
            .spawn(move || runtime.block_on(serve(listener, address, served)))?;
        Ok(Self {
            port: address.port(),
            pages,
        })
    }

    /// Serves a page about `subject`. Its address holds 128 random bits: who was not told it cannot ask.
    ///
    /// # Errors
    /// The system has no random numbers.
    pub(crate) fn show(&self, subject: Arc<dyn Subject>) -> io::Result<String> {
        let mut random = [0; 16];
        getrandom::fill(&mut random).map_err(|error| io::Error::other(error.to_string()))?;
        let token: String = random.iter().map(|byte| format!("{byte:02x}")).collect();
        let address = format!("http://127.0.0.1:{}/{token}/", self.port);
        self.pages.subjects().insert(token, subject);
        Ok(address)
    }

    /// Something may have changed: pages look again.
    pub(crate) fn changed(&self) {
        self.pages.revision.send_modify(|revision| *revision += 1);
    }
}

impl Pages {
    fn subjects(&self) -> std::sync::MutexGuard<'_, HashMap<String, Arc<dyn Subject>>> {
        self.subjects.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn subject(&self, token: &str) -> Option<Arc<dyn Subject>> {
        self.subjects().get(token).cloned()
    }

    pub(super) fn revision(&self) -> watch::Receiver<u64> {
        self.revision.subscribe()
    }
}

impl std::fmt::Debug for Pages {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Tokens stay secret.
        f.debug_struct("Pages").finish_non_exhaustive()
    }
}

async fn serve(listener: TcpListener, address: SocketAddr, pages: Arc<Pages>) {
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
        let pages = pages.clone();
        tokio::spawn(async move {
            let _room = room;
            // Small answers go out at once.
            let _ = stream.set_nodelay(true);
            let service = service_fn(move |request| {
                let pages = pages.clone();
                async move { Ok::<_, Infallible>(answers::to(request, address, pages).await) }
            });
            // A connection that breaks off concerns nobody else.
            let _ = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(PATIENCE)
                .serve_connection(TokioIo::new(stream), service)
                .await;
        });
    }
}
