//! An editor with a stopwatch. A thread reads the server's messages and notes when the last byte of each has arrived;
//! messages are put together before the clock starts and read after it has stopped.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use acceptance::client;
use serde_json::{Value, json};

const PATIENCE: Duration = Duration::from_secs(120);

pub(crate) struct Editor {
    server: Child,
    input: ChildStdin,
    incoming: Receiver<(Instant, Vec<u8>)>,
    started: Instant,
    ids: u64,
    version: i64,
    uri: String,
    language: &'static str,
}

/// An edit of the open document.
pub(crate) struct Edit {
    pub(crate) line: usize,
    pub(crate) column: usize,
    /// How many characters of the line go.
    pub(crate) removed: usize,
    pub(crate) insert: &'static str,
}

/// How long an answer took, and what it was.
pub(crate) struct Answer {
    pub(crate) wait: Duration,
    pub(crate) bytes: usize,
    pub(crate) result: Value,
}

impl Editor {
    /// Starts a server.
    pub(crate) fn start(command: &[String], language: &'static str, uri: &str) -> Self {
        let started = Instant::now();
        let mut server = Command::new(&command[0])
            .args(&command[1..])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the server starts");
        let mut output = BufReader::with_capacity(64 << 10, server.stdout.take().expect("a pipe"));
        let (sender, incoming) = channel();
        thread::spawn(move || {
            while let Some(body) = read_frame(&mut output) {
                if sender.send((Instant::now(), body)).is_err() {
                    break;
                }
            }
        });
        Self {
            input: server.stdin.take().expect("a pipe"),
            server,
            incoming,
            started,
            ids: 0,
            version: 0,
            uri: uri.to_owned(),
            language,
        }
    }

    /// The handshake: from the start of the process to the answer.
    pub(crate) fn initialize(&mut self) -> Duration {
        let mut capabilities = client::push_capabilities();
        capabilities["workspace"]["didChangeWatchedFiles"] = Value::Null;
        let params =
            json!({"processId": std::process::id(), "rootUri": null, "capabilities": capabilities});
        let (id, request) = self.request_bytes("initialize", params);
        self.write(&request);
        let answered = self.wait_for_answer(id).0;
        let initialized = notification("initialized", json!({}));
        self.write(&initialized);
        answered.duration_since(self.started)
    }

    /// Opens the document: the wait for its first diagnostics.
    pub(crate) fn open(&mut self, text: &str) -> Answer {
        self.version += 1;
        let document = json!({"uri": self.uri, "languageId": self.language, "version": self.version, "text": text});
        let message = notification("textDocument/didOpen", json!({"textDocument": document}));
        let sent = self.write(&message);
        self.wait_for_diagnostics(sent)
    }

    /// Makes an edit: the wait for its diagnostics.
    pub(crate) fn edit(&mut self, edit: &Edit) -> Answer {
        let sent = self.edit_without_waiting(edit);
        self.wait_for_diagnostics(sent)
    }

    pub(crate) fn edit_without_waiting(&mut self, edit: &Edit) -> Instant {
        let message = self.edit_bytes(edit);
        self.write(&message)
    }

    /// Makes an edit and asks in the same breath: the wait for the answer.
    pub(crate) fn edit_and_ask(
        &mut self,
        edit: &Edit,
        method: &str,
        position: (usize, usize),
    ) -> Answer {
        let mut message = self.edit_bytes(edit);
        let mut params = json!({"textDocument": {"uri": self.uri}});
        if method != "textDocument/documentSymbol" {
            params["position"] = json!({"line": position.0, "character": position.1});
        }
        let (id, request) = self.request_bytes(method, params);
        message.extend(request);
        let sent = self.write(&message);
        let (arrived, bytes, message) = self.wait_for_answer(id);
        Answer {
            wait: arrived.duration_since(sent),
            bytes,
            result: message["result"].clone(),
        }
    }

    /// Waits for the diagnostics of the newest version.
    pub(crate) fn wait_for_diagnostics(&mut self, sent: Instant) -> Answer {
        loop {
            let (arrived, bytes, message) = self.receive();
            let params = &message["params"];
            // A server that sends no version has told of the newest one, as long as it is asked about one at a time.
            if message["method"] == "textDocument/publishDiagnostics"
                && params["version"]
                    .as_i64()
                    .is_none_or(|version| version == self.version)
            {
                return Answer {
                    wait: arrived.duration_since(sent),
                    bytes,
                    result: params["diagnostics"].clone(),
                };
            }
        }
    }

    /// The most memory that the server has had so far, in bytes; None where the system does not tell.
    pub(crate) fn peak_memory(&self) -> Option<u64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.server.id())).ok()?;
        let line = status
            .lines()
            .find_map(|line| line.strip_prefix("VmHWM:"))?;
        let kilobytes: u64 = line.split_ascii_whitespace().next()?.parse().ok()?;
        Some(kilobytes << 10)
    }

    fn edit_bytes(&mut self, edit: &Edit) -> Vec<u8> {
        self.version += 1;
        let at = |column| json!({"line": edit.line, "character": column});
        let change = json!({
            "range": {"start": at(edit.column), "end": at(edit.column + edit.removed)},
            "text": edit.insert,
        });
        let document = json!({"uri": self.uri, "version": self.version});
        let params = json!({"textDocument": document, "contentChanges": [change]});
        notification("textDocument/didChange", params)
    }

    fn request_bytes(&mut self, method: &str, params: Value) -> (u64, Vec<u8>) {
        self.ids += 1;
        (
            self.ids,
            frame(&json!({"jsonrpc": "2.0", "id": self.ids, "method": method, "params": params})),
        )
    }

    fn write(&mut self, bytes: &[u8]) -> Instant {
        let sent = Instant::now();
        self.input.write_all(bytes).expect("the server reads");
        sent
    }

    fn wait_for_answer(&mut self, id: u64) -> (Instant, usize, Value) {
        loop {
            let received = self.receive();
            if received.2["id"] == id && received.2["method"].is_null() {
                return received;
            }
        }
    }

    fn receive(&mut self) -> (Instant, usize, Value) {
        let received = self.incoming.recv_timeout(PATIENCE);
        let (arrived, body) = received.expect("the server answers in time");
        let message: Value = serde_json::from_slice(&body).expect("the server sends JSON");
        if message["id"] != Value::Null && message["method"] != Value::Null {
            let asked = message["params"]["items"].as_array().map_or(0, Vec::len);
            let result = match message["method"].as_str() {
                Some("workspace/configuration") => json!(vec![Value::Null; asked]),
                _ => Value::Null,
            };
            let answer = frame(&json!({"jsonrpc": "2.0", "id": message["id"], "result": result}));
            self.write(&answer);
        }
        (arrived, body.len(), message)
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

fn notification(method: &str, params: Value) -> Vec<u8> {
    frame(&json!({"jsonrpc": "2.0", "method": method, "params": params}))
}

fn frame(message: &Value) -> Vec<u8> {
    let body = message.to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
}

fn read_frame(output: &mut impl BufRead) -> Option<Vec<u8>> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            header => {
                let (name, value) = header.split_once(':')?;
                if name.eq_ignore_ascii_case("content-length") {
                    length = value.trim().parse().ok();
                }
            }
        }
    }
    let mut body = vec![0; length?];
    output.read_exact(&mut body).ok()?;
    Some(body)
}
