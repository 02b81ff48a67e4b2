//! How the time of each request grows with the document: machines with one sort of thing, many and four times as many.
//! What takes time with the square of that takes sixteen times as long, and minutes in a document that somebody has.
//!
//! `cargo bench -p acceptance --bench growth` prints the slowest requests of each shape and all that grow too fast, then
//! the same of commands.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::time::{Duration, Instant};

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::position;
use acceptance::outside;
use acceptance::yard::Yard;
use serde_json::{Value, json};

const MANY: usize = 2_000;
const TIMES: usize = 4;
/// More than this many times as long is too fast, if it is this long at all: busy machines are not that busy.
const TOO_FAST: (f64, Duration) = (7.0, Duration::from_millis(60));
/// Nodes of the scene.
const NODES: usize = 60;

/// Before the places that are asked about, each in the middle of the document.
const PLACES: [&str; 6] = [
    "name=\"",
    "target=\"",
    "animation=\"",
    "path=\"",
    "wheel=\"",
    "<",
];

const AT_A_PLACE: [&str; 10] = [
    "hover",
    "completion",
    "definition",
    "references",
    "documentHighlight",
    "rename",
    "linkedEditingRange",
    "selectionRange",
    "onTypeFormatting",
    "codeAction",
];

const OF_A_DOCUMENT: [&str; 7] = [
    "documentSymbol",
    "foldingRange",
    "documentLink",
    "semanticTokens/full",
    "codeLens",
    "inlayHint",
    "codeAction",
];

type Shape = (&'static str, fn(usize) -> String);

const SHAPES: [Shape; 9] = [
    ("channels of one part", |count| {
        sections(
            &aliases(1),
            &animation("x", &channels(count, |_| 0)),
            &lever("x"),
        )
    }),
    ("channels of many parts", |count| {
        sections(
            &aliases(count),
            &animation("x", &channels(count, |n| n)),
            &lever("x"),
        )
    }),
    ("all in one line", |count| {
        let text = sections(
            &aliases(count),
            &animation("x", &channels(count, |n| n)),
            &lever("x"),
        );
        text.replace('\n', "")
    }),
    ("animations", |count| {
        let names = || (0..count).map(|n| format!("x{n}"));
        let animations: String = names()
            .map(|name| animation(&name, &channels(1, |_| 0)))
            .collect();
        sections(
            &aliases(1),
            &animations,
            &names().map(|name| lever(&name)).collect::<String>(),
        )
    }),
    ("controls of one animation", |count| {
        sections(
            &aliases(1),
            &animation("x", &channels(1, |_| 0)),
            &lever("x").repeat(count),
        )
    }),
    ("unused names", |count| sections(&aliases(count), "", "")),
    ("one name, given and used", |count| {
        sections(
            &aliases(1).repeat(count),
            &animation("x", &channels(count, |_| 0)),
            "",
        )
    }),
    ("mistakes", |count| {
        let wrong = "<alias nam=\"a\" path=\"0/x\"/><unknown/> &none;\n".repeat(count);
        sections(&wrong, "", "")
    }),
    ("prefixes", |count| {
        let declared = |n| format!(" xmlns:p{n}=\"urn:trunnion:machine:1\"");
        let declared: String = (0..count / 4).map(declared).collect();
        let used = |n| format!("<p{}:alias name=\"a{n}\" path=\"0/1\"/>\n", n % (count / 4));
        let used: String = (0..count).map(used).collect();
        sections(&used, "", "").replacen(" id=", &format!("{declared} id="), 1)
    }),
];

/// What a command is about: the files of a folder.
type Files = Vec<(String, String)>;

/// A command, with what it is about, many of a sort.
type Job = (&'static str, &'static [&'static str], fn(usize) -> Files);

/// The scene and a machine.
fn a_machine(text: String) -> Files {
    vec![
        ("s.gltf".to_owned(), scene()),
        ("m.machine.xml".to_owned(), text),
    ]
}

fn a_patch(operation: fn(usize) -> String, count: usize) -> Files {
    let operations: String = (0..count).map(operation).collect();
    let patch = format!("<diff xmlns:m=\"urn:trunnion:machine:1\">{operations}</diff>");
    let mut files = a_machine(sections(&aliases(count), "", ""));
    files.push(("p.xml".to_owned(), patch));
    files
}

const JOBS: [Job; 7] = [
    (
        "aliases that are missing",
        &["check", "--diff", "m.machine.xml"],
        |count| {
            let channel = |n| {
                format!(
                    "<channel target=\"n{n}\" property=\"translation\" begin=\"0\" end=\"1\" from=\"0 0 0\" to=\"1 0 0\"/>\n"
                )
            };
            let channels: String = (0..count).map(channel).collect();
            let mut files = a_machine(sections("", &animation("x", &channels), ""));
            let nodes: String = (0..count)
                .map(|n| format!(",{{\"name\":\"n{n}\"}}"))
                .collect();
            let roots: Vec<String> = (1..=count).map(|n| n.to_string()).collect();
            files[0].1 = format!(
                "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[{}]}}],\"nodes\":[{{}}{nodes}]}}",
                roots.join(",")
            );
            files
        },
    ),
    (
        "paths that lead nowhere",
        &["check", "--diff", "m.machine.xml"],
        |count| {
            let alias = |n| format!("<alias name=\"a{n}\" path=\"1/{n}\"/>\n");
            let aliases: String = (0..count).map(alias).collect();
            a_machine(sections(&aliases, "", ""))
        },
    ),
    (
        "moments of one control",
        &["fit", "--between", "2m", "m.machine.xml"],
        |count| {
            let channels = channels(count, |_| 0);
            a_machine(sections(
                &aliases(1),
                &animation("x", &channels),
                &lever("x"),
            ))
        },
    ),
    (
        "operations by place",
        &["patch", "m.machine.xml", "p.xml"],
        |count| {
            a_patch(
                |n| {
                    format!(
                        "<replace sel=\"m:machine/m:aliases/m:alias[{}]/@path\">0/7</replace>\n",
                        n + 1
                    )
                },
                count,
            )
        },
    ),
    (
        "operations by name",
        &["patch", "m.machine.xml", "p.xml"],
        |count| {
            a_patch(
                |n| {
                    format!(
                        "<replace sel=\"m:machine/m:aliases/m:alias[@name='a{n}']/@path\">0/7</replace>\n"
                    )
                },
                count,
            )
        },
    ),
    (
        "kinds of documents",
        &["learn", "mods", "-o", "new.toml"],
        |count| {
            let file = |n| {
                (
                    format!("mods/{n}.xml"),
                    format!("<root{n}><a name=\"x\"/></root{n}>"),
                )
            };
            (0..count / 10).map(file).collect()
        },
    ),
    ("files that differ", &["diff", "old", "new"], |count| {
        let file = |at: usize| {
            let (n, side) = (at / 2, ["old", "new"][at % 2]);
            let text = sections(&format!("<alias name=\"{side}\" path=\"0\"/>"), "", "");
            (format!("{side}/{n}.machine.xml"), text)
        };
        (0..2 * (count / 10)).map(file).collect()
    }),
];

fn sections(aliases: &str, animations: &str, controls: &str) -> String {
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" title=\"M\" scene=\"s.gltf\">\n<aliases>\n{aliases}\
         </aliases>\n<animations>\n{animations}</animations>\n<controls>\n{controls}</controls>\n</machine>\n"
    )
}

fn aliases(count: usize) -> String {
    let alias = |n| format!("<alias name=\"a{n}\" path=\"0/{}\"/>\n", n % NODES);
    (0..count).map(alias).collect()
}

fn animation(name: &str, channels: &str) -> String {
    format!("<animation id=\"{name}\">\n{channels}</animation>\n")
}

fn channels(count: usize, part: fn(usize) -> usize) -> String {
    (0..count).fold(String::new(), |mut channels, n| {
        let _ = writeln!(
            channels,
            "<channel target=\"a{}\" property=\"translation\" begin=\"{n}\" end=\"{}\" from=\"0 0 0\" to=\"1 0 0\"/>",
            part(n),
            n + 1
        );
        channels
    })
}

fn lever(animation: &str) -> String {
    format!("<lever animation=\"{animation}\" input=\"stick.1.x\"/>\n")
}

fn scene() -> String {
    let children: Vec<String> = (1..=NODES).map(|n| n.to_string()).collect();
    let children = children.join(",");
    let nodes = ",{}".repeat(NODES);
    format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[0]}}],\"nodes\":[{{\"children\":[{children}]}}{nodes}]}}"
    )
}

/// By request: the longest that it took.
type Times = BTreeMap<String, Duration>;

fn main() {
    for (name, make) in SHAPES {
        let (few, many) = (times_of(&make(MANY)), times_of(&make(TIMES * MANY)));
        let mut slowest: Vec<_> = many.iter().collect();
        slowest.sort_by_key(|(_, time)| std::cmp::Reverse(**time));
        for (at, (request, time)) in slowest.into_iter().enumerate() {
            let factor = time.as_secs_f64() / few[request].as_secs_f64();
            let is_too_fast = factor > TOO_FAST.0 && *time > TOO_FAST.1;
            if at < 3 || is_too_fast {
                outside::say(&format!(
                    "{name:<26} {request:<20} {:>8.1} ms -> {:>8.1} ms, {factor:>4.1} times{}",
                    few[request].as_secs_f64() * 1e3,
                    time.as_secs_f64() * 1e3,
                    if is_too_fast { "  grows too fast" } else { "" }
                ));
            }
        }
    }
    for (name, arguments, make) in JOBS {
        let (few, many) = (
            time_of(arguments, &make(MANY)),
            time_of(arguments, &make(TIMES * MANY)),
        );
        let factor = many.as_secs_f64() / few.as_secs_f64();
        let is_too_fast = factor > TOO_FAST.0 && many > TOO_FAST.1;
        outside::say(&format!(
            "{name:<26} {:<20} {:>8.1} ms -> {:>8.1} ms, {factor:>4.1} times{}",
            arguments[0],
            few.as_secs_f64() * 1e3,
            many.as_secs_f64() * 1e3,
            if is_too_fast { "  grows too fast" } else { "" }
        ));
    }
}

fn time_of(arguments: &[&str], files: &Files) -> Duration {
    let yard = Yard::empty();
    for (name, text) in files {
        yard.write(name, text);
    }
    let start = Instant::now();
    let done = yard.run(arguments);
    let time = start.elapsed();
    assert_ne!(done.status.code(), Some(2), "{arguments:?} was not done");
    time
}

fn times_of(text: &str) -> Times {
    let yard = Yard::with(&[("s.gltf", scene().as_str()), ("m.machine.xml", text)]);
    let uri = yard.uri("m.machine.xml");
    let mut client = Client::with(&all_capabilities());
    let mut times = Times::new();
    client.open(&uri, 1, text);
    let mut ask = |client: &mut Client, method: &str, params: Value| {
        let asked = Instant::now();
        let answer = client.request(&format!("textDocument/{method}"), params);
        let time = times.entry(method.to_owned()).or_default();
        *time = (*time).max(client.arrived - asked);
        answer.unwrap_or_default()
    };
    let document = json!({"uri": uri});
    ask(&mut client, "diagnostic", json!({"textDocument": document}));
    let middle = text.len() / 2;
    let found = PLACES.iter().filter_map(|place| {
        let at = text.get(middle..)?.find(place)? + middle + place.len();
        Some(position(text, at))
    });
    for place in found {
        for method in AT_A_PLACE {
            let params = json!({
                "textDocument": document, "position": place, "positions": [place], "newName": "other", "ch": ">",
                "range": {"start": place, "end": place},
                "context": {"includeDeclaration": true, "triggerKind": 1, "diagnostics": []},
                "options": {"tabSize": 2, "insertSpaces": true},
            });
            ask(&mut client, method, params);
        }
    }
    let start = json!({"line": 0, "character": 0});
    let whole = json!({"start": start, "end": position(text, text.len())});
    for method in OF_A_DOCUMENT {
        let context = json!({"diagnostics": []});
        ask(
            &mut client,
            method,
            json!({"textDocument": document, "range": whole, "context": context}),
        );
    }
    client.finish();
    times
}
