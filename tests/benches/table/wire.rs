//! What an editor waits for.

use std::fmt::Write as _;
use std::thread;
use std::time::{Duration, Instant};

use acceptance::generate;
use serde_json::Value;

use crate::editor::{Edit, Editor};
use crate::servers::{self, Document, FLOOR, OURS, Server};
use crate::{head, median, milliseconds, row, title};

const SIZES: [usize; 4] = [10_000, 100_000, 1_000_000, 10_000_000];
const SIZE_NAMES: [&str; 4] = ["10 kB", "100 kB", "1 MB", "10 MB"];
/// Pairs of a mistake and its repair.
const EDITS: usize = 20;
/// The first edits warm the server up.
const WARM_UP: usize = 2;

pub(crate) fn initialize() {
    title("Start of the process to the answer of initialize (ms)");
    head(&["median"]);
    for server in servers::all() {
        let document = server.document(10_000);
        let times = (0..15).map(|_| server.start(&document).initialize());
        row(server.name, &[milliseconds(median(times.collect()))]);
    }
}

pub(crate) fn open() {
    title("Open to first diagnostics, scene included (ms)");
    head(&SIZE_NAMES);
    for server in servers::all() {
        let cells = per_size(server, |document, size| {
            let opened = (0..if size < 10_000_000 { 7 } else { 3 }).map(|_| {
                let (_editor, wait) = opened(server, document);
                wait
            });
            milliseconds(median(opened.collect()))
        });
        row(server.name, &cells);
    }
}

pub(crate) fn edit() {
    title("Edit to the diagnostics of that edit (ms); growth: exponent from 100 kB to 10 MB");
    head(&[&SIZE_NAMES[..], &["growth"]].concat());
    let mut floor = Vec::new();
    for server in servers::all() {
        let mut times = Vec::new();
        let mut cells = per_size(server, |document, _| {
            let (mut editor, _) = opened(server, document);
            let time = edits(server, &mut editor, document);
            times.push(time.as_secs_f64());
            milliseconds(time)
        });
        cells.push(match times[..] {
            [_, small, _, large] => format!("{:.2}", libm::log10(large / small) / 2.0),
            _ => "–".to_owned(),
        });
        row(server.name, &cells);
        match server.name {
            FLOOR => floor = times,
            OURS => {
                let ratios = times
                    .iter()
                    .zip(&floor)
                    .map(|(own, floor)| format!("{:.1}×", own / floor));
                row("  against the null server", &ratios.collect::<Vec<_>>());
            }
            _ => {}
        }
    }
}

pub(crate) fn burst() {
    title("20 keys, one each 40 ms: last key to its diagnostics (ms), and against a single edit");
    head(&SIZE_NAMES);
    for server in servers::all() {
        let mut ratios = Vec::new();
        let cells = per_size(server, |document, _| {
            let (mut editor, _) = opened(server, document);
            let single = edits(server, &mut editor, document);
            let last = median(
                (0..5)
                    .map(|n| one_burst(&mut editor, document, n))
                    .collect(),
            );
            ratios.push(format!("{:.1}×", last.as_secs_f64() / single.as_secs_f64()));
            milliseconds(last)
        });
        row(server.name, &cells);
        row("  against a single edit", &ratios);
    }
}

pub(crate) fn thousand() {
    title("One edit that makes 1,000 diagnostics come, and one that makes them go, 1 MB (ms)");
    head(&["come", "go", "how many"]);
    for server in servers::all().iter().filter(|server| server.name == OURS) {
        let document = much_used_alias(1_000_000, 1_000);
        let (mut editor, _) = opened(server, &document);
        let alias = "<alias name=\"shared";
        let before =
            &document.text[..document.text.find(alias).expect("it is there") + alias.len()];
        let line = before.matches('\n').count();
        let place = (
            line,
            before.len() - before.rfind('\n').map_or(0, |at| at + 1),
        );
        let (mut come, mut go, mut most) = (Vec::new(), Vec::new(), 0);
        for _ in 0..EDITS {
            let renamed = editor.edit(&Edit {
                line: place.0,
                column: place.1,
                removed: 0,
                insert: "x",
            });
            most = most.max(renamed.result.as_array().map_or(0, Vec::len));
            come.push(renamed.wait);
            let repaired = editor.edit(&document.repair(place, 1));
            assert_eq!(
                repaired.result,
                Value::Array(Vec::new()),
                "all names are known again"
            );
            go.push(repaired.wait);
        }
        row(
            server.name,
            &[
                milliseconds(median(come)),
                milliseconds(median(go)),
                most.to_string(),
            ],
        );
    }
}

pub(crate) fn ask() {
    title("Edit and request in one breath, 1 MB: to the answer (ms)");
    head(&["hover", "completion", "of a value", "symbols"]);
    for server in servers::all() {
        let document = server.document(1_000_000);
        let (mut editor, _) = opened(server, &document);
        let asked = [
            ("hover", false),
            ("completion", false),
            ("completion", true),
            ("documentSymbol", false),
        ];
        let cells = asked.map(|(name, in_value)| {
            let method = format!("textDocument/{name}");
            let mut times = Vec::new();
            for n in 0..EDITS {
                let place = document.place(n);
                let (mistake, repair) = (document.mistake(place), document.repair(place, 1));
                if in_value {
                    let Some(value) = document.value_behind(place) else {
                        return "–".to_owned();
                    };
                    editor.edit(&mistake);
                    times.push(editor.edit_and_ask(&repair, &method, value));
                    thread::sleep(Duration::from_millis(20));
                    continue;
                }
                for edit in [mistake, repair] {
                    times.push(editor.edit_and_ask(&edit, &method, place));
                    thread::sleep(Duration::from_millis(20));
                }
            }
            let empty = times.iter().all(|answer| match &answer.result {
                Value::Array(list) => list.is_empty(),
                result => result.is_null(),
            });
            let bytes = times
                .iter()
                .map(|answer| answer.bytes)
                .max()
                .unwrap_or_default();
            let time = milliseconds(median(
                times.into_iter().map(|answer| answer.wait).collect(),
            ));
            match (empty, bytes) {
                (true, _) => format!("({time})"),
                (false, bytes) if bytes > 100_000 => format!("{time} {}kB", bytes / 1000),
                (false, _) => time,
            }
        });
        row(server.name, &cells);
    }
    row("(in brackets: the answers are empty)", &[]);
}

pub(crate) fn memory() {
    title("Most memory after opening and 40 edits (MB), and bytes for each byte of the document");
    head(&SIZE_NAMES);
    for server in servers::all() {
        let mut shares = Vec::new();
        let cells = per_size(server, |document, _| {
            let (mut editor, _) = opened(server, document);
            edits(server, &mut editor, document);
            let Some(peak) = editor.peak_memory() else {
                return "–".to_owned();
            };
            shares.push(format!("{:.1}", peak as f64 / document.text.len() as f64));
            format!("{:.1}", peak as f64 / f64::from(1 << 20))
        });
        row(server.name, &cells);
        row("  bytes per byte", &shares);
    }
}

fn per_size(server: &Server, mut measure: impl FnMut(&Document, usize) -> String) -> Vec<String> {
    let cells = SIZES.map(|size| match server.takes(size) {
        true => measure(&server.document(size), size),
        false => "–".to_owned(),
    });
    cells.to_vec()
}

/// A server with the document open, and how long its first diagnostics took.
fn opened(server: &Server, document: &Document) -> (Editor, Duration) {
    let mut editor = server.start(document);
    editor.initialize();
    thread::sleep(Duration::from_millis(50));
    let answer = editor.open(&document.text);
    if server.is_machine() {
        assert_eq!(
            answer.result,
            Value::Array(Vec::new()),
            "there is nothing to report"
        );
    }
    (editor, answer.wait)
}

/// Makes mistakes all over the document and repairs each; the median of all waits.
fn edits(server: &Server, editor: &mut Editor, document: &Document) -> Duration {
    let mut times = Vec::new();
    for n in 0..EDITS {
        let place = document.place(n);
        for edit in [document.mistake(place), document.repair(place, 1)] {
            let answer = editor.edit(&edit);
            let broken = answer
                .result
                .as_array()
                .is_some_and(|found| !found.is_empty());
            assert!(
                server.name != OURS || broken == (edit.removed == 0),
                "the diagnostics are those of this edit"
            );
            times.push(answer.wait);
            thread::sleep(Duration::from_millis(10));
        }
    }
    median(times.split_off(WARM_UP))
}

fn one_burst(editor: &mut Editor, document: &Document, n: usize) -> Duration {
    const KEYS: usize = 20;
    const INTERVAL: Duration = Duration::from_millis(40);
    let place = document.place(n);
    let begun = Instant::now();
    let mut sent = begun;
    for key in 0..KEYS {
        let due = begun + INTERVAL * u32::try_from(key).unwrap_or_default();
        thread::sleep(due.saturating_duration_since(Instant::now()));
        let insert = if key + 1 < KEYS {
            "a"
        } else {
            document.mistake(place).insert
        };
        sent = editor.edit_without_waiting(&Edit {
            line: place.0,
            column: place.1 + key,
            removed: 0,
            insert,
        });
    }
    let wait = editor.wait_for_diagnostics(sent).wait;
    editor.edit(&document.repair(place, KEYS));
    wait
}

/// A machine in which so many lamps hang on one alias.
fn much_used_alias(size: usize, uses: usize) -> Document {
    let text = generate::machine(size, 1);
    let mut lamps = String::from("  <lamps>\n");
    for n in 0..uses {
        let _ = writeln!(
            lamps,
            "    <lamp id=\"lamp{n}\" node=\"shared\" kind=\"work\"/>"
        );
    }
    lamps.push_str("  </lamps>\n  <sounds>");
    let text = text
        .replacen(
            "<aliases>\n",
            "<aliases>\n    <alias name=\"shared\" path=\"0\"/>\n",
            1,
        )
        .replacen("  <sounds>", &lamps, 1);
    Document::machine(text)
}
