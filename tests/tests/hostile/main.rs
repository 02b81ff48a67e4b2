//! Input made to bring the server down, over the wire: time to the answer and memory over the base for each.
//!
//! `cargo test --release -p acceptance --test hostile -- --nocapture` prints the table; `HOSTILE=word` keeps to the
//! cases whose names contain the word.
#![cfg(target_os = "linux")]

mod cases;
mod much;

use std::path::Path;
use std::time::{Duration, Instant};

use acceptance::client::{Client, push_capabilities};
use acceptance::yard::Yard;
use acceptance::{memory, outside};
use cases::Case;
use serde_json::{Value, json};

/// What is aimed at.
const GOAL: (Duration, u64) = (Duration::from_millis(200), 64 << 10);
/// What must never be passed, also on a machine that is busy.
const LIMIT: (Duration, u64) = (Duration::from_secs(20), 1 << 20);

struct Figures {
    open: Duration,
    edit: Duration,
    /// KiB.
    memory: u64,
}

#[test]
fn what_is_made_to_bring_the_server_down_is_answered() {
    if cfg!(debug_assertions) && std::env::var_os("TRUNNION_BIN").is_none() {
        outside::skipped(
            "hostile input",
            "it needs an optimised program: --release, or TRUNNION_BIN",
        );
        return;
    }
    let wanted = std::env::var("HOSTILE").unwrap_or_default();
    outside::say(&format!(
        "{:<48} {:>9} {:>10} {:>10} {:>10}  goal: {} ms, {} MiB",
        "hostile input",
        "size",
        "open",
        "edit",
        "memory",
        GOAL.0.as_millis(),
        GOAL.1 >> 10
    ));
    let mut passed_limits = Vec::new();
    for make in cases::ALL.iter().chain(much::ALL) {
        let case = make();
        if !case.name.contains(&wanted) {
            continue;
        }
        let figures = measure(&case);
        let misses = figures.open > GOAL.0 || figures.memory > GOAL.1;
        outside::say(&format!(
            "{:<48} {:>6.1} MB {:>7.1} ms {:>7.1} ms {:>6.1} MiB{}",
            case.name,
            case.size() as f64 / 1e6,
            figures.open.as_secs_f64() * 1e3,
            figures.edit.as_secs_f64() * 1e3,
            figures.memory as f64 / 1024.0,
            if misses { "  over the goal" } else { "" }
        ));
        if figures.open.max(figures.edit) > LIMIT.0 || figures.memory > LIMIT.1 {
            passed_limits.push(case.name);
        }
    }
    assert_eq!(passed_limits, [""; 0]);
}

fn measure(case: &Case) -> Figures {
    let yard = Yard::with(&case.files);
    (case.prepare)(&yard);
    let uri = yard.uri(case.document);
    let mut client = Client::with(&push_capabilities());
    let process = client.process_id();
    // The first document makes the server read its house dialect.
    client.open("file:///quay/first.machine.xml", 1, "<machine/>");
    client.pushed_diagnostics("file:///quay/first.machine.xml", 1);
    client.close("file:///quay/first.machine.xml");
    let base = memory::peak(process).unwrap();

    let document =
        json!({"uri": uri, "languageId": "xml", "version": 1, "text": case.text.as_str()});
    let opened = framed("textDocument/didOpen", json!({"textDocument": document}));
    let (open, found) = timed(&mut client, &uri, 1, &opened);
    let codes: Vec<&str> = found.iter().filter_map(|it| it["code"].as_str()).collect();
    assert!(
        case.expected.iter().any(|code| codes.contains(code)),
        "{}: none of {:?} in {:?}",
        case.name,
        case.expected,
        &codes[..codes.len().min(8)]
    );
    assert!(found.len() <= 10_001, "{}: {}", case.name, found.len());
    // A key at the end, where nothing before it has to be moved.
    let lines = case.text.matches('\n').count();
    let column = case.text.len() - case.text.rfind('\n').map_or(0, |at| at + 1);
    let at = json!({"line": lines, "character": column});
    let changed = json!({
        "textDocument": {"uri": uri, "version": 2},
        "contentChanges": [{"range": {"start": at, "end": at}, "text": "\n"}],
    });
    let changed = framed("textDocument/didChange", changed);
    let (edit, _) = timed(&mut client, &uri, 2, &changed);
    let memory = memory::peak(process).unwrap() - base;
    // It still lives, and knows what it is asked about.
    let middle = json!({"line": lines / 2, "character": 0});
    let asked = json!({"textDocument": {"uri": uri}, "position": middle});
    let answer = client.request("textDocument/hover", asked);
    // What is too large is not read, and features say so instead of guessing.
    let is_refused = case.expected == ["too-large"];
    assert_eq!(answer.is_err(), is_refused, "{}: {answer:?}", case.name);
    client.open("file:///quay/last.xml", 1, "<a> & </a>");
    assert_eq!(
        client.pushed_diagnostics("file:///quay/last.xml", 1).len(),
        1
    );
    assert_eq!(client.finish(), 0);
    Figures { open, edit, memory }
}

fn framed(method: &str, params: Value) -> Vec<u8> {
    let body = json!({"jsonrpc": "2.0", "method": method, "params": params}).to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
}

/// Sends what makes this version; how long until its diagnostics come, and they.
fn timed(client: &mut Client, uri: &str, version: i64, frame: &[u8]) -> (Duration, Vec<Value>) {
    let started = Instant::now();
    client.send_raw(frame);
    let found = client.pushed_diagnostics(uri, version);
    (client.arrived - started, found)
}

/// For cases that need no more than their files.
fn nothing(_: &Path) {}
