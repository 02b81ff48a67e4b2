//! Memory stays flat over an hour of editing: as many edits, as fast as they go.
#![cfg(target_os = "linux")]

use acceptance::client::{Client, push_capabilities};
use acceptance::numbers::Numbers;
use acceptance::yard::Yard;
use acceptance::{generate, memory, outside};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::time::{Duration, Instant};
use std::{fs, thread};

/// An hour at five keys a second.
const EDITS: usize = 18_000;
const BYTES: usize = 100_000;
/// What is typed at a place and deleted again, key by key.
const WORDS: [&str; 6] = ["leg.left", "0/1/2", "<alias ", "\"", "&é", "\n<!-- 😀 -->"];
/// Later growth that is no leak: buffers and arenas of the allocator that more threads have come to use.
const SLACK: u64 = 12 * 1024;

struct Typist {
    client: Client,
    uri: String,
    version: i64,
    edits: usize,
}

impl Typist {
    fn edit(&mut self, from: [usize; 2], to: [usize; 2], text: &str) {
        self.version += 1;
        self.edits += 1;
        let position = |at: [usize; 2]| json!({"line": at[0], "character": at[1]});
        let range = json!({"start": position(from), "end": position(to)});
        let change = json!([{"range": range, "text": text}]);
        self.client.change(&self.uri, self.version, change);
    }

    /// Types a word at a place and deletes it.
    fn type_and_delete(&mut self, at: [usize; 2], word: &str) {
        let mut ends = vec![at];
        for key in word.chars() {
            let end = ends[ends.len() - 1];
            self.edit(end, end, &key.to_string());
            ends.push(match key {
                '\n' => [end[0] + 1, 0],
                key => [end[0], end[1] + key.len_utf8()],
            });
        }
        for pair in ends.windows(2).rev() {
            self.edit(pair[0], pair[1], "");
        }
    }

    /// What editors ask about a place, and what they ask for after each pause.
    fn ask(&mut self, at: [usize; 2]) {
        let position = json!({"line": at[0], "character": at[1]});
        let range = json!({"start": position, "end": position});
        let document = json!({"uri": self.uri});
        let params = json!({"textDocument": document, "position": position, "range": range});
        for method in [
            "hover",
            "completion",
            "definition",
            "documentSymbol",
            "foldingRange",
            "semanticTokens/full",
            "codeLens",
            "inlayHint",
            "documentLink",
        ] {
            let asked = self
                .client
                .request(&format!("textDocument/{method}"), params.clone());
            assert!(asked.is_ok(), "{method}: {asked:?}");
        }
    }

    fn diagnostics(&mut self) -> Vec<Value> {
        self.client.pushed_diagnostics(&self.uri, self.version)
    }
}

#[test]
fn an_hour_of_typing() {
    let yard = Yard::empty();
    let text = generate::machine(BYTES, 5);
    yard.write("big.gltf", generate::scene(&text));
    let lines: Vec<&str> = text.lines().collect();
    let mut typist = Typist {
        client: Client::with(&push_capabilities()),
        uri: yard.uri("big.machine.xml"),
        version: 0,
        edits: 0,
    };
    let process = typist.client.process_id();
    typist.client.open(&typist.uri, 0, &text);
    let before = typist.diagnostics();
    // With a program that is not optimised, not each of them is waited for.
    let pause = if std::env::var_os("TRUNNION_BIN").is_some() {
        20
    } else {
        300
    };
    let mut numbers = Numbers::from(18);
    let mut measured = Vec::new();
    let mut paused = 0;
    while typist.edits < EDITS {
        let line = numbers.below(lines.len());
        let at = [line, numbers.below(lines[line].len() + 1)];
        typist.type_and_delete(at, WORDS[numbers.below(WORDS.len())]);
        if typist.edits / pause > paused {
            paused = typist.edits / pause;
            assert_eq!(typist.diagnostics().len(), before.len());
            typist.ask(at);
            // This test keeps all it hears, which it need not.
            typist.client.messages.clear();
        }
        if typist.edits * 10 / EDITS > measured.len() {
            measured.push(memory::resident(process).expect("the server runs"));
        }
    }
    typist.edit([0, 0], [0, 0], "");
    assert_eq!(typist.diagnostics(), before, "nothing was lost");
    let peak = memory::peak(process).expect("the server runs");
    assert_eq!(typist.client.finish(), 0);
    outside::say(&format!(
        "resident KiB after each tenth of {EDITS} edits of {BYTES} bytes: {measured:?}, peak {peak}"
    ));
    let warm = measured[1];
    let late = measured[measured.len() - 3..].iter().min().unwrap();
    assert!(*late <= warm + SLACK, "memory grows: {measured:?} KiB");
}

#[test]
fn an_outline_asked_for_again_and_again() {
    const TIMES: usize = 64;
    let yard = Yard::empty();
    let text = generate::machine(1_000_000, 5);
    let uri = yard.uri("big.machine.xml");
    let mut client = Client::with(&push_capabilities());
    let process = client.process_id();
    client.open(&uri, 0, &text);
    let params = json!({"textDocument": {"uri": uri}});
    let mut measured = Vec::new();
    for time in 1..=TIMES {
        let outline = client.request("textDocument/documentSymbol", params.clone());
        assert!(outline.is_ok_and(|outline| outline.is_array()));
        client.messages.clear();
        if time % (TIMES / 8) == 0 {
            measured.push(memory::resident(process).expect("the server runs"));
        }
    }
    assert_eq!(client.finish(), 0);
    outside::say(&format!(
        "resident KiB after each eighth of {TIMES} outlines: {measured:?}"
    ));
    let late = measured[measured.len() - 3..].iter().min().unwrap();
    assert!(
        *late <= measured[1] + SLACK,
        "memory grows: {measured:?} KiB"
    );
}

/// It is longer than its document, and made while it goes out.
#[test]
fn the_outline_of_a_large_document_is_not_held() {
    let yard = Yard::empty();
    let text = generate::machine(8_000_000, 5);
    let uri = yard.uri("big.machine.xml");
    let mut capabilities = push_capabilities();
    capabilities["textDocument"]["documentSymbol"]["hierarchicalDocumentSymbolSupport"] =
        json!(true);
    let mut client = Client::with(&capabilities);
    let process = client.process_id();
    client.open(&uri, 0, &text);
    client.pushed_diagnostics(&uri, 0);
    let before = memory::peak(process).expect("the server runs");
    let params = json!({"textDocument": {"uri": uri}});
    let mut length = 0;
    for _ in 0..3 {
        let outline = client.request("textDocument/documentSymbol", params.clone());
        let outline = outline.expect("an answer");
        assert_eq!(outline[0]["name"], "machine");
        length = outline.to_string().len();
        client.messages.clear();
    }
    let grown = memory::peak(process).expect("the server runs") - before;
    // Framing is right: what follows is understood.
    let hover = json!({"textDocument": {"uri": uri}, "position": {"line": 0, "character": 0}});
    assert!(client.request("textDocument/hover", hover).is_ok());
    assert_eq!(client.finish(), 0);
    outside::say(&format!(
        "{grown} KiB more for an outline of {length} bytes"
    ));
    assert!(grown < length as u64 / 1024 / 2, "{grown} KiB");
}

/// It gives back what it took to read it.
#[test]
fn a_thread_that_has_read_a_large_text_makes_room_for_another() {
    let yard = Yard::empty();
    let uri = yard.uri("big.machine.xml");
    let mut client = Client::with(&push_capabilities());
    let process = client.process_id();
    let threads = || -> BTreeSet<OsString> {
        let all = fs::read_dir(format!("/proc/{process}/task")).expect("the server runs");
        all.map(|thread| thread.unwrap().file_name()).collect()
    };
    client.open(&uri, 0, "<a/>");
    client.pushed_diagnostics(&uri, 0);
    let mut before = threads();
    for version in 1..4 {
        let text = format!("<a>{}</a>", " ".repeat(5 << 20));
        client.change(&uri, version, json!([{ "text": text }]));
        client.pushed_diagnostics(&uri, version);
        let until = Instant::now() + Duration::from_secs(60);
        while before.is_subset(&threads()) {
            assert!(Instant::now() < until, "all of {before:?} stay");
            thread::sleep(Duration::from_millis(1));
        }
        before = threads();
    }
    assert_eq!(client.finish(), 0);
}
