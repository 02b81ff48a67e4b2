//! The way out: everything that goes to the client, in the order in which it is sent.
//!
//! The queue is never full: a client that does not read must not stop its own changes from being read. A thread that
//! may wait for the client writes by itself, so that its message takes no detour over another thread; one that may not
//! does so if the client takes the message at once.

use std::collections::VecDeque;
use std::fmt;
use std::io::Write;
#[cfg(unix)]
use std::os::fd::AsFd;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

#[cfg(unix)]
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use serde::Serialize;
use tokio::sync::mpsc::UnboundedSender;
use tower_lsp::lsp_types::notification::Notification;

use super::chunks::{Chunks, SHORT};
use super::frames;

/// The client's end of the wire.
pub trait Output: Write + Send {
    /// Whether a short write would be over at once, as far as the system tells.
    fn has_room(&self) -> bool;
}

#[cfg(unix)]
impl<T: Write + Send + AsFd> Output for T {
    fn has_room(&self) -> bool {
        let mut ends = [PollFd::new(self, PollFlags::OUT)];
        poll(&mut ends, Some(&Timespec::default())).is_ok() && ends[0].revents() == PollFlags::OUT
    }
}

#[cfg(not(unix))]
impl<T: Write + Send> Output for T {
    fn has_room(&self) -> bool {
        false
    }
}

#[derive(Clone)]
pub(crate) struct Outgoing(Arc<Shared>);

struct Shared {
    queue: Mutex<Queue>,
    /// Told of what is left to the writing thread. Others say nothing: to wake it takes time, and it finds nothing.
    added: Condvar,
    /// Told when all is written, if somebody waits for that.
    written: Condvar,
    output: Mutex<Box<dyn Output>>,
    /// Told the exit code when the client cannot be written to any more.
    ended: UnboundedSender<u8>,
}

#[derive(Default)]
struct Queue {
    frames: VecDeque<Chunks>,
    /// Some thread takes frames out, until there are none.
    writing: bool,
    /// Somebody waits until all is written.
    finishing: bool,
    broken: bool,
}

#[derive(Serialize)]
struct Message<'a, P> {
    jsonrpc: &'a str,
    method: &'a str,
    params: P,
}

impl Outgoing {
    /// Writes to `output` from a thread of its own, and from those that call [`Outgoing::send_text_now`].
    pub(crate) fn new(output: impl Output + 'static, ended: UnboundedSender<u8>) -> Self {
        let outgoing = Self(Arc::new(Shared {
            queue: Mutex::default(),
            added: Condvar::new(),
            written: Condvar::new(),
            output: Mutex::new(Box::new(output)),
            ended,
        }));
        let writer = outgoing.clone();
        thread::spawn(move || writer.write_to_the_end());
        outgoing
    }

    /// Sends without waiting.
    pub(crate) fn send(&self, message: &impl Serialize) {
        self.send_text(Chunks::json(message));
    }

    /// Sends what is written already, without waiting.
    pub(crate) fn send_text(&self, text: Chunks) {
        if self.add(text).is_some() {
            self.0.added.notify_all();
        }
    }

    /// Sends a notification without waiting.
    pub(crate) fn notify<N: Notification>(&self, params: &N::Params) {
        self.send_text(notification(N::METHOD, params));
    }

    /// Sends what is written already, from this very thread; waits for the client if it must.
    pub(crate) fn send_text_now(&self, text: Chunks) {
        if let Some(mut queue) = self.add(text)
            && !queue.writing
        {
            queue.writing = true;
            drop(queue);
            self.write_queued();
        }
    }

    /// Sends what is written already, without waiting: from this very thread if the client takes it at once.
    pub(crate) fn send_text_soon(&self, text: Chunks) {
        let Some(mut queue) = self.add(text) else {
            return;
        };
        // Who writes all that is queued may have to wait.
        let is_alone = !queue.writing && queue.frames.len() == 1;
        if is_alone
            && queue.frames[0].len() <= SHORT
            && lock(&self.0.output).has_room()
            && let Some(frame) = queue.frames.pop_front()
        {
            queue.writing = true;
            drop(queue);
            self.write(frame, &mut **lock(&self.0.output));
            queue = lock(&self.0.queue);
            queue.writing = false;
            self.tell_of_end(&queue);
        }
        if !queue.frames.is_empty() && !queue.writing {
            self.0.added.notify_all();
        }
    }

    /// Waits until all is written, but not longer than `patience`: perhaps the client no longer reads. Nothing is sent
    /// after that, and the writing thread ends: a process may serve many clients, one after the other.
    pub(crate) fn finish(&self, patience: Duration) {
        let until = Instant::now() + patience;
        let mut queue = lock(&self.0.queue);
        queue.finishing = true;
        while !queue.broken && (queue.writing || !queue.frames.is_empty()) {
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                break;
            }
            let waited = self.0.written.wait_timeout(queue, left);
            queue = waited.unwrap_or_else(PoisonError::into_inner).0;
        }
        queue.broken = true;
        queue.frames.clear();
        drop(queue);
        self.0.added.notify_all();
    }

    /// None: nothing can be sent any more.
    fn add(&self, text: Chunks) -> Option<MutexGuard<'_, Queue>> {
        let mut frame = Chunks::from(frames::header(text.len()));
        frame.append(text);
        let mut queue = lock(&self.0.queue);
        if queue.broken {
            return None;
        }
        queue.frames.push_back(frame);
        Some(queue)
    }

    fn write_to_the_end(&self) {
        loop {
            let mut queue = lock(&self.0.queue);
            while queue.writing || queue.frames.is_empty() {
                if queue.broken {
                    return;
                }
                let waited = self.0.added.wait(queue);
                queue = waited.unwrap_or_else(PoisonError::into_inner);
            }
            queue.writing = true;
            drop(queue);
            self.write_queued();
        }
    }

    /// For the thread that has set `writing`.
    fn write_queued(&self) {
        let mut output = lock(&self.0.output);
        loop {
            let mut queue = lock(&self.0.queue);
            let Some(frame) = queue.frames.pop_front() else {
                queue.writing = false;
                self.tell_of_end(&queue);
                return;
            };
            drop(queue);
            self.write(frame, &mut **output);
        }
    }

    fn write(&self, frame: Chunks, output: &mut dyn Output) {
        let written = frame.write_to(output);
        if written.and_then(|()| output.flush()).is_err() {
            let mut queue = lock(&self.0.queue);
            queue.broken = true;
            queue.frames.clear();
            let _ = self.0.ended.send(1);
        }
    }

    fn tell_of_end(&self, queue: &Queue) {
        if queue.finishing && queue.frames.is_empty() {
            self.0.written.notify_all();
        }
    }
}

/// A notification as the text that goes out.
pub(crate) fn notification(method: &str, params: &impl Serialize) -> Chunks {
    Chunks::json(&Message {
        jsonrpc: "2.0",
        method,
        params,
    })
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl fmt::Debug for Outgoing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Outgoing").finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use std::io::{self, Read};
    use std::sync::mpsc::channel;

    use tokio::sync::mpsc::unbounded_channel;

    use super::super::frames::{Frame, FrameReader};
    use super::*;

    #[test]
    fn what_was_sent_is_written_and_then_the_output_is_closed() {
        let (mut client, output) = io::pipe().unwrap();
        let outgoing = Outgoing::new(output, unbounded_channel().0);
        outgoing.send(&1);
        outgoing.send_text_now(Chunks::json(&2));
        outgoing.finish(Duration::from_secs(60));
        outgoing.send(&3);
        drop(outgoing);
        let (told, heard) = channel();
        thread::spawn(move || {
            let mut all = String::new();
            client.read_to_string(&mut all).unwrap();
            told.send(all).unwrap();
        });
        let all = heard.recv_timeout(Duration::from_secs(60));
        let expected = "Content-Length: 1\r\n\r\n1Content-Length: 1\r\n\r\n2";
        assert_eq!(all.as_deref(), Ok(expected));
    }

    #[test]
    fn nobody_waits_for_a_client_that_does_not_read_yet() {
        let (client, output) = io::pipe().unwrap();
        let outgoing = Outgoing::new(output, unbounded_channel().0);
        let (told, heard) = channel();
        let sending = outgoing.clone();
        thread::spawn(move || {
            for number in 1_000..2_000 {
                sending.send_text_soon(Chunks::json(&format!("{number}{}", "x".repeat(994))));
            }
            told.send(()).unwrap();
        });
        // That is more than a pipe takes.
        heard.recv_timeout(Duration::from_secs(60)).unwrap();
        let mut frames = FrameReader::new(client);
        for number in 1_000..2_000 {
            let Some(Frame::Body(body)) = frames.next(&|_| ()).unwrap() else {
                panic!("{number} is a frame");
            };
            let body = body.into_whole();
            assert_eq!(body.len(), 1_000);
            assert!(body.starts_with(format!("\"{number}x").as_bytes()));
        }
    }
}
