//! A client that never waits: changes, questions of every kind and cancellations in any order. Each answer must be the
//! one that a fresh server gives for the text as it was when the question was asked.

use std::collections::BTreeMap;
use std::fs;

use acceptance::client::{Client, ResponseError, all_capabilities, push_capabilities};
use acceptance::desk::corpus;
use acceptance::numbers::Numbers;
use serde_json::{Value, json};

const CANCELLED: i64 = -32800;
const CONTENT_MODIFIED: i64 = -32801;

/// What is typed: parts of machines, marks that upset them, characters of all lengths, all kinds of line ends.
const TYPED: [&str; 24] = [
    "<",
    ">",
    "/",
    "\"",
    " ",
    "\n",
    "\r\n",
    "\r",
    "&",
    "&amp;",
    "é",
    "😀",
    "e\u{301}",
    "]]>",
    "<!--",
    "-->",
    "leg.left",
    "mast",
    "<cue sound=\"pump\"/>",
    "<alias name=\"x\" path=\"0/1\"/>",
    "</animations>",
    "path=\"0/0/9\"",
    "1.5",
    "",
];

/// A text and how far it is.
#[derive(Clone)]
struct Version {
    number: i64,
    text: String,
}

/// The documents as the client has them, with all that was asked.
struct Storm {
    client: Client,
    encoding: &'static str,
    numbers: Numbers,
    files: BTreeMap<String, Version>,
    first: BTreeMap<String, String>,
    asked: Vec<Asked>,
    cancelled: usize,
}

struct Asked {
    id: i64,
    method: &'static str,
    params: Value,
    /// All documents as they were then.
    then: BTreeMap<String, Version>,
}

const FILES: [&str; 2] = [
    "ternholt/machines/bram-6.machine.xml",
    "dialects/yard/rigs/dorrik-9.rig.xml",
];

fn capabilities(encoding: &str, base: Value) -> Value {
    let mut capabilities = base;
    capabilities["general"]["positionEncodings"] = json!([encoding]);
    capabilities
}

impl Storm {
    fn over(seed: u64, encoding: &'static str, base: Value) -> Self {
        let mut client = Client::with(&capabilities(encoding, base));
        let mut files = BTreeMap::new();
        for file in FILES {
            let path = corpus().join(file);
            let text = fs::read_to_string(&path).unwrap();
            let uri = format!("file://{}", path.display());
            client.open(&uri, 0, &text);
            files.insert(uri, Version { number: 0, text });
        }
        let texts = files.iter();
        let first = texts
            .map(|(uri, version)| (uri.clone(), version.text.clone()))
            .collect();
        Self {
            client,
            encoding,
            numbers: Numbers::from(seed),
            files,
            first,
            asked: Vec::new(),
            cancelled: 0,
        }
    }

    fn blow(&mut self, messages: usize) {
        for _ in 0..messages {
            let (first, second) = (self.numbers.below(2), self.numbers.below(10));
            let uri = self.files.keys().nth(first).unwrap().clone();
            match second {
                0..5 => self.change(&uri),
                5..9 => self.ask(&uri),
                _ if self.asked.is_empty() => {}
                _ => {
                    // One of the last, which may not have been answered yet.
                    let back = self.numbers.below(self.asked.len().min(6));
                    let asked = &self.asked[self.asked.len() - 1 - back];
                    self.client.cancel(asked.id);
                    self.cancelled += 1;
                }
            }
        }
    }

    fn change(&mut self, uri: &str) {
        let first = &self.first[uri];
        let version = self.files.get_mut(uri).unwrap();
        let mut changes = Vec::new();
        for _ in 0..1 + self.numbers.below(3) {
            // Now and then the first text again, so that there is something to understand.
            if self.numbers.below(12) == 0 {
                version.text.clone_from(first);
                changes.push(json!({"text": version.text}));
                continue;
            }
            let start = boundary(&version.text, self.numbers.below(version.text.len() + 1));
            let length = [0, 0, 1, 8, 60][self.numbers.below(5)];
            let end = boundary(&version.text, (start + length).min(version.text.len()));
            let typed = TYPED[self.numbers.below(TYPED.len())];
            changes.push(json!({
                "range": {
                    "start": position(&version.text, start, self.encoding),
                    "end": position(&version.text, end, self.encoding),
                },
                "text": typed,
            }));
            version.text.replace_range(start..end, typed);
        }
        version.number += 1;
        self.client.change(uri, version.number, json!(changes));
    }

    fn ask(&mut self, uri: &str) {
        let text = &self.files[uri].text;
        let [from, to] = [0, 1].map(|_| boundary(text, self.numbers.below(text.len() + 1)));
        let (from, to) = (from.min(to), from.max(to));
        let at = position(text, from, self.encoding);
        let range = json!({"start": at, "end": position(text, to, self.encoding)});
        let document = json!({"uri": uri});
        let here = || json!({"textDocument": document, "position": at});
        let whole = || json!({"textDocument": document});
        let more = |name: &str, value: Value| {
            let mut params = here();
            params[name] = value;
            params
        };
        let (method, params) = match self.numbers.below(17) {
            0 => ("textDocument/hover", here()),
            1 => ("textDocument/completion", here()),
            2 => ("textDocument/definition", here()),
            3 => ("textDocument/implementation", here()),
            4 => (
                "textDocument/references",
                more("context", json!({"includeDeclaration": true})),
            ),
            5 => ("textDocument/documentHighlight", here()),
            6 => ("textDocument/linkedEditingRange", here()),
            7 => ("textDocument/prepareRename", here()),
            8 => ("textDocument/rename", more("newName", json!("other"))),
            9 => ("textDocument/documentSymbol", whole()),
            10 => ("textDocument/foldingRange", whole()),
            11 => ("textDocument/documentLink", whole()),
            12 => (
                "textDocument/selectionRange",
                json!({"textDocument": document, "positions": [at, range["end"]]}),
            ),
            13 => (
                "textDocument/codeAction",
                json!({"textDocument": document, "range": range, "context": {"diagnostics": []}}),
            ),
            14 => {
                let mut params = more("ch", json!(">"));
                params["options"] = json!({"tabSize": 2, "insertSpaces": true});
                ("textDocument/onTypeFormatting", params)
            }
            15 => {
                let query = ["", "leg", "a"][self.numbers.below(3)];
                ("workspace/symbol", json!({"query": query}))
            }
            _ => ("textDocument/diagnostic", whole()),
        };
        let id = self.client.ask(method, params.clone());
        let then = self.files.clone();
        self.asked.push(Asked {
            id,
            method,
            params,
            then,
        });
    }
}

/// A server that is asked one thing after the other.
struct Calm {
    client: Client,
    open: BTreeMap<String, i64>,
}

impl Calm {
    fn with(encoding: &str, base: Value) -> Self {
        Self {
            client: Client::with(&capabilities(encoding, base)),
            open: BTreeMap::new(),
        }
    }

    /// Opens the documents afresh in these versions, if they are not open so.
    fn set(&mut self, files: &BTreeMap<String, Version>) {
        for (uri, version) in files {
            if self.open.get(uri) != Some(&version.number) {
                self.client.close(uri);
                self.client.open(uri, version.number, &version.text);
                self.open.insert(uri.clone(), version.number);
            }
        }
    }
}

#[test]
fn each_answer_fits_the_text_that_was_asked_about() {
    let (mut answered, mut refused, mut cancelled, mut methods) = (0, 0, 0, BTreeMap::new());
    for (seed, encoding) in [(1, "utf-8"), (0x5EED, "utf-16"), (0xD0C5, "utf-32")] {
        let mut storm = Storm::over(seed, encoding, all_capabilities());
        storm.blow(1_500);
        let mut calm = Calm::with(encoding, all_capabilities());
        for asked in &storm.asked {
            let answer = storm.client.answer(asked.id);
            if let Err(ResponseError {
                code: CANCELLED | CONTENT_MODIFIED,
                ..
            }) = answer
            {
                cancelled += 1;
                continue;
            }
            calm.set(&asked.then);
            let expected = calm.client.request(asked.method, asked.params.clone());
            assert_eq!(
                answer,
                expected,
                "seed {seed}, {} {}\n{}",
                asked.method,
                asked.params,
                storm.first.len()
            );
            *methods.entry(asked.method).or_insert(0) += 1;
            match answer {
                Ok(_) => answered += 1,
                Err(_) => refused += 1,
            }
        }
        assert!(storm.cancelled > 100);
        assert_eq!((storm.client.finish(), calm.client.finish()), (0, 0));
    }
    acceptance::outside::say(&format!(
        "a storm of 4500 messages: {answered} answers as a fresh server gives them, {refused} refusals likewise, \
         {cancelled} cancelled"
    ));
    assert!(answered > 1_000 && methods.len() == 17, "{methods:?}");
}

#[test]
fn pushed_diagnostics_fit_their_versions() {
    let mut compared = 0;
    for (seed, encoding) in [(7, "utf-16"), (77, "utf-8")] {
        let mut storm = Storm::over(seed, encoding, push_capabilities());
        let mut texts: BTreeMap<(String, i64), Version> = BTreeMap::new();
        for message in 0..=1_000 {
            // Not before the first: the versions that were opened count as well.
            storm.blow(usize::from(message > 0));
            for (uri, version) in &storm.files {
                texts
                    .entry((uri.clone(), version.number))
                    .or_insert_with(|| version.clone());
            }
        }
        for asked in &storm.asked {
            let _ = storm.client.answer(asked.id);
        }
        for (uri, version) in &storm.files {
            storm.client.wait_for("the last diagnostics", |message| {
                message["method"] == "textDocument/publishDiagnostics"
                    && message["params"]["uri"] == *uri
                    && message["params"]["version"] == version.number
            });
        }
        let pushed: Vec<Value> = storm
            .client
            .messages
            .iter()
            .filter(|message| message["method"] == "textDocument/publishDiagnostics")
            .map(|message| message["params"].clone())
            .collect();
        let mut calm = Calm::with(encoding, push_capabilities());
        for params in pushed {
            let uri = params["uri"].as_str().unwrap();
            let version = params["version"].as_i64().unwrap();
            let then = texts[&(uri.to_owned(), version)].clone();
            calm.client.open(uri, version, &then.text);
            let expected = calm.client.pushed_diagnostics(uri, version);
            assert_eq!(
                params["diagnostics"],
                json!(expected),
                "seed {seed}, version {version}"
            );
            calm.client.close(uri);
            compared += 1;
        }
        assert_eq!((storm.client.finish(), calm.client.finish()), (0, 0));
    }
    acceptance::outside::say(&format!(
        "{compared} pushed sets of diagnostics as a fresh server has them"
    ));
    assert!(compared > 20);
}

/// The last place up to `at` that is between two characters and not inside a `\r\n`, where no position leads.
fn boundary(text: &str, at: usize) -> usize {
    let mut places = (0..=at).rev();
    let is_place = |at: &usize| {
        text.is_char_boundary(*at)
            && !(text[..*at].ends_with('\r') && text[*at..].starts_with('\n'))
    };
    places.find(is_place).unwrap()
}

/// Line and column of an offset, by the rules of the protocol: lines end with `\n`, `\r\n` or `\r`.
fn position(text: &str, offset: usize, encoding: &str) -> Value {
    let (mut line, mut start) = (0, 0);
    let bytes = text.as_bytes();
    for at in 0..offset {
        let ends = bytes[at] == b'\n' || (bytes[at] == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
        if ends {
            line += 1;
            start = at + 1;
        }
    }
    let before = &text[start..offset];
    let column: usize = match encoding {
        "utf-8" => before.len(),
        "utf-16" => before.chars().map(char::len_utf16).sum(),
        _ => before.chars().count(),
    };
    json!({"line": line, "character": column})
}
