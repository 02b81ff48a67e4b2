//! Computations away from the wire.
//!
//! A request takes its snapshot before its first await and computes here. So the wire never waits for a computation,
//! a computation that nobody waits for is told to stop, and not more of them run than the machine has room for.
//!
//! A short computation may be left to the thread that has read its request ([`Tasks::run_at_once`]), which begins it
//! once another thread reads on. To wake a thread for it would take as long as the computation.

use std::any::Any;
use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use tokio::sync::{Semaphore, oneshot};
use tokio::task;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};

use super::lifecycle::panic_message;
use super::log::Log;

/// Raised when nobody waits for a computation any more. Long ones look at it now and then.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cancelled(Arc<AtomicBool>);

impl Cancelled {
    pub(crate) fn is_raised(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    pub(crate) fn raise(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Tasks {
    slots: Arc<Semaphore>,
    log: Log,
}

impl Tasks {
    pub(crate) fn new(log: Log) -> Self {
        let cores = thread::available_parallelism().map_or(2, usize::from);
        // One more than the machine has, so that a long computation on a small machine leaves room for a short one.
        Self {
            slots: Arc::new(Semaphore::new(cores + 1)),
            log,
        }
    }

    /// Runs `work` on a thread of its own. If the returned future is dropped, `work` is not begun, or its flag is
    /// raised.
    ///
    /// # Errors
    /// `work` panicked, or stopped because of its flag.
    pub(crate) async fn run<T: Send + 'static>(
        &self,
        what: &'static str,
        work: impl FnOnce(&Cancelled) -> T + Send + 'static,
    ) -> Result<T> {
        let slot = self
            .slots
            .clone()
            .acquire_owned()
            .await
            .map_err(|_| Error::internal_error())?;
        let cancelled = Cancelled::default();
        let _raise = RaiseOnDrop(cancelled.clone());
        let result = task::spawn_blocking(move || {
            // The slot is taken until the work has stopped, whoever still waits for it.
            let _slot = slot;
            if cancelled.is_raised() {
                None
            } else {
                Some(work(&cancelled))
            }
        });
        match result.await {
            Ok(Some(value)) => Ok(value),
            Ok(None) => Err(Error::request_cancelled()),
            Err(error) => Err(self.failed(what, error.try_into_panic().ok())),
        }
    }

    /// The same for `work` that is short: it is left to the thread that has read the request, if that one may do it.
    ///
    /// # Errors
    /// `work` panicked.
    pub(crate) async fn run_at_once<T: Send + 'static>(
        &self,
        what: &'static str,
        is_quick: bool,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T> {
        if !MAY_BE_LEFT.take() {
            return self.run(what, |_| work()).await;
        }
        let (done, result) = oneshot::channel();
        let work = move || {
            // Fails if nobody waits any more.
            let _ = done.send(catch_unwind(AssertUnwindSafe(work)));
        };
        LEFT.set(Some(Left {
            work: Box::new(work),
            is_quick,
        }));
        match result.await {
            Ok(Ok(value)) => Ok(value),
            Ok(Err(panic)) => Err(self.failed(what, Some(panic))),
            Err(_) => Err(self.failed(what, None)),
        }
    }

    fn failed(&self, what: &str, panic: Option<Box<dyn Any + Send>>) -> Error {
        if let Some(panic) = panic {
            self.log.error(panic_message(what, panic.as_ref()));
        }
        Error {
            code: ErrorCode::InternalError,
            message: format!("{what} failed inside Trunnion; the server goes on.").into(),
            data: None,
        }
    }
}

/// Work that was left to a thread.
pub(crate) struct Left {
    pub(crate) work: Box<dyn FnOnce() + Send>,
    /// It will be over before another thread is awake.
    pub(crate) is_quick: bool,
}

thread_local! {
    static MAY_BE_LEFT: Cell<bool> = const { Cell::new(false) };
    static LEFT: RefCell<Option<Left>> = const { RefCell::new(None) };
}

/// Calls `begin`. If `may`, one short piece of work that it begins may be left to this thread, to be done before
/// `begin` is asked for its result again.
pub(crate) fn leaving_work<T>(may: bool, begin: impl FnOnce() -> T) -> (T, Option<Left>) {
    MAY_BE_LEFT.set(may);
    let begun = begin();
    MAY_BE_LEFT.set(false);
    (begun, LEFT.take())
}

struct RaiseOnDrop(Cancelled);

impl Drop for RaiseOnDrop {
    fn drop(&mut self) {
        self.0.raise();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc;
    use std::time::Duration;

    use futures::FutureExt;

    use super::*;

    fn tasks(slots: usize) -> Tasks {
        Tasks {
            slots: Arc::new(Semaphore::new(slots)),
            log: Log::unread(),
        }
    }

    const LONG: Duration = Duration::from_secs(60);

    #[tokio::test]
    async fn the_value_comes_back() {
        assert_eq!(tasks(1).run("sum", |_| 1 + 1).await, Ok(2));
    }

    #[tokio::test]
    async fn a_panic_is_an_error_and_frees_its_slot() {
        let tasks = tasks(1);
        let failed = tasks
            .run("sum", |_| -> u8 { panic!("no") })
            .await
            .unwrap_err();
        assert_eq!(failed.code, ErrorCode::InternalError);
        assert_eq!(tasks.run("sum", |_| 2).await, Ok(2));
    }

    #[tokio::test]
    async fn short_work_is_left_to_the_thread_that_may_do_it() {
        let tasks = tasks(0);
        let mut sum = Box::pin(tasks.run_at_once("sum", true, || 1 + 1));
        let (pending, left) = leaving_work(true, || sum.as_mut().now_or_never());
        assert_eq!(pending, None);
        (left.expect("the work is left").work)();
        assert_eq!(sum.await, Ok(2));
    }

    #[tokio::test]
    async fn short_work_goes_elsewhere_if_the_thread_may_not() {
        let tasks = tasks(1);
        let mut sum = Box::pin(tasks.run_at_once("sum", true, || 1 + 1));
        let (done, left) = leaving_work(false, || sum.as_mut().now_or_never());
        assert!(left.is_none());
        let sum = match done {
            Some(sum) => sum,
            None => sum.await,
        };
        assert_eq!(sum, Ok(2));
    }

    #[tokio::test]
    async fn a_panic_in_short_work_is_an_error() {
        let tasks = tasks(0);
        let mut sum = Box::pin(tasks.run_at_once("sum", true, || -> u8 { panic!("no") }));
        let (_, left) = leaving_work(true, || sum.as_mut().now_or_never());
        (left.expect("the work is left").work)();
        assert_eq!(sum.await.unwrap_err().code, ErrorCode::InternalError);
    }

    #[tokio::test]
    async fn dropping_the_future_raises_the_flag() {
        let (began, has_begun) = mpsc::channel();
        let (stopped, has_stopped) = mpsc::channel();
        let tasks = tasks(1);
        let work = tokio::spawn(async move {
            let work = tasks.run("loop", move |cancelled| {
                began.send(()).unwrap();
                while !cancelled.is_raised() {
                    std::thread::sleep(Duration::from_millis(1));
                }
                stopped.send(()).unwrap();
            });
            work.await
        });
        tokio::task::spawn_blocking(move || has_begun.recv_timeout(LONG))
            .await
            .unwrap()
            .unwrap();
        work.abort();
        tokio::task::spawn_blocking(move || has_stopped.recv_timeout(LONG))
            .await
            .unwrap()
            .unwrap();
    }

    #[tokio::test]
    async fn work_waits_for_a_slot_and_is_not_begun_when_nobody_waits_for_it() {
        let (release, released) = mpsc::channel::<()>();
        let (began, has_begun) = mpsc::channel();
        let tasks = tasks(1);
        let (first_tasks, second_tasks) = (tasks.clone(), tasks.clone());
        let first = tokio::spawn(async move {
            first_tasks
                .run("first", move |_| released.recv_timeout(LONG))
                .await
        });
        tokio::task::yield_now().await;
        let second =
            tokio::spawn(async move { second_tasks.run("second", move |_| began.send(())).await });
        tokio::task::yield_now().await;
        second.abort();
        release.send(()).unwrap();
        first.await.unwrap().unwrap().unwrap();
        tasks.run("third", |_| ()).await.unwrap();
        assert_eq!(has_begun.try_recv(), Err(mpsc::TryRecvError::Disconnected));
    }
}
