//! A session with the whole server through pipes in memory: documents opened, changed, asked about and closed in any
//! order, with garbage in between. Every request is answered, nothing panics, and the server ends when it is told to.
#![no_main]

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Read, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use fuzz::Bytes;
use libfuzzer_sys::fuzz_target;
use serde_json::{Value, json};

/// Longer than any small document takes, even on a loaded machine.
const LONG: Duration = Duration::from_secs(15);

/// In bytes. The text of a document in a larger message is read while it arrives.
const LARGE: usize = 64 << 10;

const AT_A_PLACE: [&str; 9] = [
    "hover",
    "completion",
    "definition",
    "implementation",
    "references",
    "documentHighlight",
    "prepareRename",
    "linkedEditingRange",
    "rename",
];
const OF_A_DOCUMENT: [&str; 4] = [
    "documentSymbol",
    "foldingRange",
    "documentLink",
    "diagnostic",
];

fuzz_target!(|data: &[u8]| {
    let (server_input, input) = std::io::pipe().expect("a pipe");
    let (output, server_output) = std::io::pipe().expect("a pipe");
    let (ended, end) = channel();
    let server = std::thread::spawn(move || {
        trunnion::serve(server_input, server_output).expect("a server");
        let _ = ended.send(());
    });
    session(Bytes::new(data), Wire::new(input, output));
    end.recv_timeout(LONG).expect("the server ends");
    server.join().expect("the server does not panic");
});

/// The client's end of the wire.
struct Wire {
    input: PipeWriter,
    messages: Receiver<Vec<u8>>,
    asked: i64,
    open: BTreeSet<i64>,
    /// The server has closed its end.
    over: bool,
}

fn session(mut bytes: Bytes<'_>, mut wire: Wire) {
    let setup = bytes.byte();
    let encoding = ["utf-8", "utf-16", "utf-32"][usize::from(setup % 3)];
    let mut capabilities = acceptance::client::push_capabilities();
    if setup & 0x80 != 0 {
        capabilities = acceptance::client::all_capabilities();
    }
    capabilities["general"]["positionEncodings"] = json!([encoding]);
    let initialize = json!({"processId": null, "rootUri": null, "capabilities": capabilities});
    wire.ask("initialize", initialize);
    wire.tell("initialized", json!({}));
    let mut version = 0;
    while !bytes.is_empty() && !wire.over {
        version += 1;
        step(&mut wire, &mut bytes, version);
    }
    wire.settle();
    wire.ask("shutdown", Value::Null);
    wire.settle();
    wire.tell("exit", Value::Null);
}

fn step(wire: &mut Wire, bytes: &mut Bytes<'_>, version: i32) {
    let (what, which) = (bytes.byte(), bytes.byte());
    let uri = uri(which);
    let document = json!({"uri": uri});
    match what % 16 {
        0 if what & 0x80 != 0 => open_large(wire, bytes, &uri, version),
        0 | 1 => {
            let opened =
                json!({"uri": uri, "languageId": "xml", "version": version, "text": bytes.text()});
            wire.tell("textDocument/didOpen", json!({"textDocument": opened}));
        }
        2..=5 => {
            let mut changes = Vec::new();
            for _ in 0..=what / 64 {
                let start = position(bytes);
                let end = json!({
                    "line": start["line"].as_u64().unwrap_or_default() + u64::from(bytes.byte() / 86),
                    "character": start["character"].as_u64().unwrap_or_default() + u64::from(bytes.byte() % 16),
                });
                changes.push(json!({"range": {"start": start, "end": end}, "text": bytes.text()}));
            }
            change(wire, &uri, version, &changes);
        }
        6 => change(wire, &uri, version, &[json!({"text": bytes.text()})]),
        7 => wire.tell("textDocument/didClose", json!({"textDocument": document})),
        8 | 9 => {
            let method = AT_A_PLACE[usize::from(which / 8) % AT_A_PLACE.len()];
            let mut params = json!({"textDocument": document, "position": position(bytes)});
            params["context"] = json!({"includeDeclaration": what & 0x80 != 0, "triggerKind": 1});
            params["newName"] = json!("a <new> name");
            wire.ask(&format!("textDocument/{method}"), params);
        }
        10 => {
            let method = OF_A_DOCUMENT[usize::from(which / 8) % OF_A_DOCUMENT.len()];
            wire.ask(
                &format!("textDocument/{method}"),
                json!({"textDocument": document}),
            );
        }
        11 => assists(wire, bytes, &uri),
        12 => {
            let at = json!({"textDocument": document, "position": position(bytes)});
            let method = ["onTypeFormatting", "selectionRange"][usize::from(which / 8) % 2];
            let mut params = at.clone();
            params["ch"] = json!([">", "/", "\""][usize::from(what / 16) % 3]);
            params["options"] = json!({"tabSize": 2, "insertSpaces": true});
            params["positions"] = json!([at["position"], position(bytes)]);
            wire.ask(&format!("textDocument/{method}"), params);
        }
        13 => wire.tell(
            "$/cancelRequest",
            json!({"id": wire.asked - i64::from(which % 4)}),
        ),
        14 => wire.send(bytes.text().as_bytes()),
        _ if which & 1 == 0 => {
            wire.tell("textDocument/didSave", json!({"textDocument": document}));
        }
        _ => {
            // What pretends to be a header would take the next messages with it.
            let garbage = bytes.text();
            if !garbage.to_ascii_lowercase().contains("content-length") {
                wire.raw(garbage.as_bytes());
            }
        }
    }
    // Now and then the answers are waited for.
    if what & 0x30 == 0x30 {
        wire.settle();
    }
}

/// Opens a document so large that its text is read while it arrives, which it does in two pieces. How the text is written in
/// JSON, wrong or right, is the fuzzer's.
fn open_large(wire: &mut Wire, bytes: &mut Bytes<'_>, uri: &str, version: i32) {
    let (cut, begin, end) = (bytes.number(), bytes.text(), bytes.text());
    let blanks = " ".repeat(LARGE);
    let body = format!(
        r#"{{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{{"textDocument":{{"uri":"{uri}","languageId":"xml","version":{version},"text":"{begin}{blanks}{end}"}}}}}}"#
    );
    // Counted from either end: what is of interest stands there.
    let cut = match cut & 1 {
        0 => cut.min(body.len()),
        _ => body.len().saturating_sub(cut),
    };
    wire.header(body.len());
    wire.raw(&body.as_bytes()[..cut]);
    std::thread::yield_now();
    wire.raw(&body.as_bytes()[cut..]);
}

fn change(wire: &mut Wire, uri: &str, version: i32, changes: &[Value]) {
    let document = json!({"uri": uri, "version": version});
    let params = json!({"textDocument": document, "contentChanges": changes});
    wire.tell("textDocument/didChange", params);
}

/// Asks for the assists of a range and has each of them made.
fn assists(wire: &mut Wire, bytes: &mut Bytes<'_>, uri: &str) {
    wire.settle();
    let range = json!({"start": position(bytes), "end": position(bytes)});
    let params =
        json!({"textDocument": {"uri": uri}, "range": range, "context": {"diagnostics": []}});
    let id = wire.ask("textDocument/codeAction", params);
    let offered = wire.answer(id);
    for action in offered["result"].as_array().into_iter().flatten().take(20) {
        wire.ask("codeAction/resolve", action.clone());
    }
}

/// Documents of the corpus, so that their scenes and sounds are found, and one that lies nowhere.
fn uri(which: u8) -> String {
    let corpus = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../corpus");
    match which % 4 {
        0 => format!(
            "file://{}/ternholt/machines/bram-6.machine.xml",
            corpus.display()
        ),
        1 => format!(
            "file://{}/dialects/yard/rigs/dorrik-9.rig.xml",
            corpus.display()
        ),
        2 => format!("file://{}/ternholt/mod.xml", corpus.display()),
        _ => "untitled:x.machine.xml".to_owned(),
    }
}

fn position(bytes: &mut Bytes<'_>) -> Value {
    json!({"line": bytes.byte(), "character": bytes.byte()})
}

impl Wire {
    fn new(input: PipeWriter, output: PipeReader) -> Self {
        let (sender, messages) = channel();
        // Reads all the time, as the protocol wants it of clients.
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(body) = body(&mut output) {
                if sender.send(body).is_err() {
                    return;
                }
            }
        });
        Self {
            input,
            messages,
            asked: 0,
            open: BTreeSet::new(),
            over: false,
        }
    }

    fn raw(&mut self, bytes: &[u8]) {
        self.over |= self.input.write_all(bytes).is_err();
    }

    fn header(&mut self, length: usize) {
        let header = format!("\r\nContent-Length: {length}\r\n\r\n");
        self.raw(header.as_bytes());
    }

    fn send(&mut self, body: &[u8]) {
        self.header(body.len());
        self.raw(body);
    }

    fn tell(&mut self, method: &str, params: Value) {
        let message = json!({"jsonrpc": "2.0", "method": method, "params": params});
        self.send(message.to_string().as_bytes());
    }

    fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.asked += 1;
        self.open.insert(self.asked);
        let message =
            json!({"jsonrpc": "2.0", "id": self.asked, "method": method, "params": params});
        self.send(message.to_string().as_bytes());
        self.asked
    }

    /// Waits until everything is answered.
    fn settle(&mut self) {
        while !self.open.is_empty() && !self.over {
            self.next();
        }
    }

    /// Waits for one answer.
    fn answer(&mut self, id: i64) -> Value {
        while self.open.contains(&id) && !self.over {
            let message = self.next();
            if message["id"] == json!(id) && message.get("method").is_none() {
                return message;
            }
        }
        Value::Null
    }

    /// The next message of the server.
    fn next(&mut self) -> Value {
        let body = match self.messages.recv_timeout(LONG) {
            Ok(body) => body,
            Err(RecvTimeoutError::Timeout) => panic!("no answer to {:?}", self.open),
            Err(RecvTimeoutError::Disconnected) => {
                self.over = true;
                return Value::Null;
            }
        };
        let text = String::from_utf8(body).expect("messages are UTF-8");
        let message: Value = serde_json::from_str(&text).expect("messages are JSON");
        // Where the server says so, and not a document, nor what came in place of a header, which is told as it came.
        let is_told_back = message.pointer("/error/code") == Some(&json!(-32700));
        let logged = ["/error/message", "/params/message"].map(|at| message.pointer(at));
        let is_failure = |said: &&Value| said.to_string().contains("failed inside Trunnion");
        let has_failed = !is_told_back && logged.iter().flatten().any(is_failure);
        assert!(!has_failed, "{text}");
        if message.get("method").is_none() {
            if let Some(id) = message["id"].as_i64() {
                self.open.remove(&id);
            }
        } else if let Some(id) = message.get("id") {
            let answer = json!({"jsonrpc": "2.0", "id": id, "result": null});
            self.send(answer.to_string().as_bytes());
        }
        message
    }
}

fn body(output: &mut BufReader<PipeReader>) -> Option<Vec<u8>> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().strip_prefix("Content-Length: ") {
            Some(number) => length = number.parse().ok()?,
            None if line.trim().is_empty() => break,
            None => {}
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).ok()?;
    Some(body)
}
