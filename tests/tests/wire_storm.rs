//! Many messages at once, and large ones.

use std::io::{self, Read};
use std::process::{Command, Stdio};
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::numbers::Numbers;
use acceptance::program;
use serde_json::json;

const URI: &str = "file:///quay/a.xml";
const CANCELLED: i64 = -32800;

#[test]
fn changes_requests_and_cancels_in_any_order() {
    for seed in [1, 0x5EED, 0xD0C5] {
        let mut numbers = Numbers::from(seed);
        let mut client = Client::with(&all_capabilities());
        let mut lines = 3;
        client.open(URI, 0, "<a>\n & \n</a>");
        let mut asked = Vec::new();
        for version in 1..=600 {
            match numbers.below(4) {
                0 | 1 => {
                    // A line more, with a finding, or the first of them less.
                    let at = |line, character| json!({"line": line, "character": character});
                    let (end, text) = if lines > 3 && numbers.below(2) == 0 {
                        lines -= 1;
                        (at(2, 0), "")
                    } else {
                        lines += 1;
                        (at(1, 0), " & \n")
                    };
                    client.change(
                        URI,
                        version,
                        json!([{"range": {"start": at(1, 0), "end": end}, "text": text}]),
                    );
                }
                2 => {
                    let id = client.ask(
                        "textDocument/diagnostic",
                        json!({"textDocument": {"uri": URI}}),
                    );
                    asked.push((id, lines - 2));
                }
                _ if asked.is_empty() => {}
                _ => {
                    let (id, _) = asked[numbers.below(asked.len())];
                    client.cancel(id);
                }
            }
        }
        for (id, findings) in asked {
            match client.answer(id) {
                Ok(report) => assert_eq!(
                    report["items"].as_array().unwrap().len(),
                    findings,
                    "seed {seed}"
                ),
                Err(error) => assert_eq!(error.code, CANCELLED, "seed {seed}: {error:?}"),
            }
        }
        assert_eq!(
            client.pulled_diagnostics(URI).unwrap().len(),
            lines - 2,
            "seed {seed}"
        );
        assert_eq!(client.finish(), 0);
    }
}

#[test]
fn many_documents_are_all_told_about() {
    let mut client = Client::with(&push_capabilities());
    let uris: Vec<String> = (0..100)
        .map(|number| format!("file:///quay/{number}.xml"))
        .collect();
    for uri in &uris {
        client.open(uri, 1, "<a> & </a>");
        client.change(uri, 2, json!([{"text": "<a> & & </a>"}]));
    }
    for uri in &uris {
        assert_eq!(client.pushed_diagnostics(uri, 2).len(), 2);
    }
    assert_eq!(client.finish(), 0);
}

#[test]
fn a_document_of_10_megabytes() {
    let line = "  <wheel id=\"front.left\" node=\"0/0/0/0\" radius=\"0.62\" width=\"0.35\"/>\n";
    let count = 10_000_000 / line.len();
    let text = format!("<wheels>\n{} & \n</wheels>\n", line.repeat(count));
    let mut client = Client::with(&all_capabilities());
    client.open(URI, 1, &text);
    let diagnostics = client.pulled_diagnostics(URI).unwrap();
    assert_eq!(diagnostics.len(), 1);
    assert_eq!(
        diagnostics[0]["range"]["start"],
        json!({"line": count + 1, "character": 1})
    );
    let start = json!({"line": 1, "character": 0});
    client.change(
        URI,
        2,
        json!([{"range": {"start": start, "end": start}, "text": " & \n"}]),
    );
    assert_eq!(client.pulled_diagnostics(URI).unwrap().len(), 2);
    assert_eq!(client.finish(), 0);
}

/// What the server says, for a client that listens no more once the gate is locked, until it is open again.
struct Gated<R>(R, Arc<Mutex<()>>);

impl<R: Read> Read for Gated<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        drop(self.1.lock());
        self.0.read(buffer)
    }
}

/// It writes until the server has read all, however much the server has to say meanwhile. Asking or told.
#[test]
fn a_client_that_writes_before_it_reads() {
    for asks in [false, true] {
        let mut server = Command::new(program::path())
            .arg("serve")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let input = server.stdin.take().expect("its input is a pipe");
        let output = server.stdout.take().expect("its output is a pipe");
        let gate = Arc::new(Mutex::new(()));
        let mut client = Client::over(server, input, Gated(output, gate.clone()));
        client.initialize(&match asks {
            true => all_capabilities(),
            false => push_capabilities(),
        });
        client.open(URI, 0, "<a>\n</a>");
        let (done, is_done) = channel();
        let writing = thread::spawn(move || {
            let type_key = |client: &mut Client, version: i64| {
                // One finding more or less.
                let (end, text) = if version % 2 == 1 { (1, "<") } else { (2, " ") };
                let range = json!({"start": {"line": 0, "character": 1}, "end": {"line": 0, "character": end}});
                client.change(URI, version, json!([{"range": range, "text": text}]));
                let document = json!({"textDocument": {"uri": URI}});
                asks.then(|| client.ask("textDocument/diagnostic", document))
            };
            // Once it was seen that a look takes no time.
            for version in 1..=10 {
                match type_key(&mut client, version) {
                    Some(asked) => drop(client.answer(asked)),
                    None => drop(client.pushed_diagnostics(URI, version)),
                }
            }
            let deaf = gate.lock().expect("the client listens");
            let asked: Vec<_> = (11..=5_000)
                .map(|version| type_key(&mut client, version))
                .collect();
            drop(deaf);
            match asked[asked.len() - 1] {
                Some(asked) => drop(client.answer(asked).expect("an answer")),
                None => drop(client.pushed_diagnostics(URI, 5_000)),
            }
            assert_eq!(client.finish(), 0);
            done.send(()).expect("somebody waits");
        });
        let is_done = is_done.recv_timeout(Duration::from_secs(60));
        assert!(is_done.is_ok(), "asks: {asks}");
        writing.join().expect("it is done");
    }
}
