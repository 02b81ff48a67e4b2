//! The port on this computer. None is open until somebody asks for a preview.

use std::collections::HashMap;
use std::io;
use std::sync::{Arc, Mutex, PoisonError};

use futures::future::FutureExt;
use tokio::sync::watch;

use super::Subject;
use super::answers;
use super::files::Referred;
use crate::loopback;

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
    referred: Referred,
}

impl Host {
    /// Opens a free port on the loopback interface.
    ///
    /// # Errors
    /// There is no port or no thread to be had.
    pub(crate) fn start() -> io::Result<Self> {
        let pages = Arc::new(Pages {
            subjects: Mutex::default(),
            revision: watch::Sender::new(1),
            referred: Referred::default(),
        });
        let served = pages.clone();
        let answer = move |request, own| answers::to(request, own, served.clone()).boxed();
        let address = loopback::open("preview", Arc::new(answer))?;
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
        let token = loopback::token()?;
        let address = format!("http://127.0.0.1:{}/{token}/", self.port);
        self.pages.subjects().insert(token, subject);
        Ok(address)
    }

    /// The files that scenes refer to.
    pub(crate) fn referred(&self) -> &Referred {
        self.pages.referred()
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

    pub(super) fn referred(&self) -> &Referred {
        &self.referred
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
