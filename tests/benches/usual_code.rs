//! Writes `server/trunnion/usual-code.ld`: what of the program runs when a server starts, opens documents and follows
//! what is typed. The linker puts that side by side. Scattered over the program, it makes the system map most of it:
//! half as much memory again for a small document (14 MB instead of 10), and a twentieth more time for a keystroke.
//!
//! A list that is old does no harm: what it does not know lies where it lay. What is in the list stays in it, since
//! valgrind knows no names of what the linker has put there; to make it anew, take out its names and build first.
//!
//! Needs valgrind, and the program as `cargo build --release` makes it.

use std::collections::{BTreeSet, HashMap};
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::{env, fs};

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::desk::{BRAM, corpus, position};
use acceptance::yard::Yard;
use acceptance::{generate, outside, program};
use serde_json::{Value, json};

/// So that what works on all cores does. Bytes.
const LARGE: usize = 300_000;

/// Patterns of the names of functions: of those that run while somebody types, and of those that run besides when an
/// editor asks what it usually asks.
type Groups = [BTreeSet<String>; 2];
const TYPING: usize = 0;
const ASKING: usize = 1;

/// Before a name in the list.
const PATTERN: &str = ".text*.";

fn main() {
    let large = generate::machine(LARGE, 1);
    let scene = generate::scene(&large);
    let yard = Yard::with(&[("big.machine.xml", large), ("big.gltf", scene)]);
    let documents = [corpus().join(BRAM), yard.join("big.machine.xml")];
    let profile = yard.join("profile");
    let neovim = include_str!("../capabilities/neovim-0.11.json");
    let neovim = serde_json::from_str(neovim).expect("it is JSON");
    let told: Diagnostics = |client, uri, version| client.pushed_diagnostics(uri, version);
    let asking: Diagnostics = |client, uri, _| client.pulled_diagnostics(uri).expect("an answer");
    let typed = |client: &mut Client, path: &Path, how| type_in(client, path, how);
    let looked_at = |client: &mut Client, path: &Path, _| look_at(client, path);
    let sessions: [(usize, Value, Session, Diagnostics); 4] = [
        (TYPING, push_capabilities(), typed, told),
        (TYPING, all_capabilities(), typed, asking),
        (TYPING, neovim, typed, asking),
        (ASKING, all_capabilities(), looked_at, asking),
    ];
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/trunnion/usual-code.ld");
    let mut groups = read(&fs::read_to_string(&script).expect("it is there"));
    for (group, capabilities, session, diagnostics) in sessions {
        let mut client = Client::spawn(
            Command::new("valgrind")
                .args(["--quiet", "--tool=callgrind", "--demangle=no"])
                .arg(format!("--callgrind-out-file={}", profile.display()))
                .arg(program::path())
                .arg("serve"),
        );
        client.initialize(&capabilities);
        for path in &documents {
            session(&mut client, path, diagnostics);
        }
        assert_eq!(client.finish(), 0);
        let profile = fs::read_to_string(&profile).expect("valgrind has written it");
        groups[group].extend(functions(&profile, program::path()));
    }
    groups[ASKING] = &groups[ASKING] - &groups[TYPING];
    fs::write(&script, text(&groups)).expect("it can be written");
    let count: usize = groups.iter().map(BTreeSet::len).sum();
    outside::say(&format!("{count} functions in {}", script.display()));
}

/// What a client does with a document.
type Session = fn(&mut Client, &Path, Diagnostics);

/// How a client gets what is wrong with a version of a document.
type Diagnostics = fn(&mut Client, &str, i64) -> Vec<Value>;

/// Opens a document and types into a tag, a value, and between elements, and takes it away again.
fn type_in(client: &mut Client, path: &Path, diagnostics: Diagnostics) {
    let uri = format!("file://{}", path.display());
    let text = fs::read_to_string(path).expect("it is there");
    client.open(&uri, 1, &text);
    diagnostics(client, &uri, 1);
    let mut version = 1;
    for (needle, inside) in [("<channel ", 9), ("to=\"", 4), ("</aliases>", 0)] {
        let at = text.find(needle).expect(needle) + inside;
        for typed in ["<", "7", "x", "\""] {
            let start = position(&text, at);
            let after = json!({"line": start["line"], "character": start["character"].as_u64().map(|at| at + 1)});
            let insert = json!({"range": {"start": start, "end": start}, "text": typed});
            let remove = json!({"range": {"start": start, "end": after}, "text": ""});
            for change in [insert, remove] {
                version += 1;
                client.change(&uri, version, json!([change]));
                diagnostics(client, &uri, version);
            }
        }
    }
    client.close(&uri);
}

/// Opens a document, asks what editors ask of one that they show, and again after a key.
fn look_at(client: &mut Client, path: &Path) {
    let uri = format!("file://{}", path.display());
    let text = fs::read_to_string(path).expect("it is there");
    client.open(&uri, 1, &text);
    let document = json!({"uri": uri});
    let at = position(&text, text.find("<channel ").expect("a channel") + 9);
    let range = json!({"start": at, "end": at});
    let of_document = json!({"textDocument": document});
    let at_place = json!({"textDocument": document, "position": at});
    let in_range =
        json!({"textDocument": document, "range": range, "context": {"diagnostics": []}});
    let asked = [
        ("diagnostic", &of_document),
        ("documentSymbol", &of_document),
        ("semanticTokens/full", &of_document),
        ("foldingRange", &of_document),
        ("documentLink", &of_document),
        ("documentColor", &of_document),
        ("codeLens", &of_document),
        ("inlayHint", &in_range),
        ("codeAction", &in_range),
        ("documentHighlight", &at_place),
        ("hover", &at_place),
        ("completion", &at_place),
    ];
    for version in 2..4 {
        for (method, params) in asked {
            let answer = client.request(&format!("textDocument/{method}"), params.clone());
            answer.expect("an answer");
        }
        let insert = json!({"range": range, "text": " "});
        client.change(&uri, version, json!([insert]));
    }
    client.close(&uri);
}

/// The functions of the program that a profile of callgrind knows of, as patterns of their names for the linker.
fn functions(profile: &str, program: &Path) -> BTreeSet<String> {
    let program = program.canonicalize().expect("it is there");
    // A number stands for a name: it comes with it the first time.
    let mut names: HashMap<(&str, &str), &str> = HashMap::new();
    let mut is_ours = false;
    let mut called = BTreeSet::new();
    for line in profile.lines() {
        let Some((key, value)) = line.split_once('=') else {
            continue;
        };
        let sort = match key {
            "ob" | "cob" => "object",
            "fn" | "cfn" => "function",
            _ => continue,
        };
        let (number, name) = value.split_once(' ').unwrap_or((value, ""));
        if !name.is_empty() {
            names.insert((sort, number), name);
        }
        let name = names.get(&(sort, number)).copied().unwrap_or_default();
        match key {
            "ob" => is_ours = Path::new(name) == program,
            "fn" if is_ours && is_symbol(name) => {
                called.insert(pattern(name));
            }
            _ => {}
        }
    }
    called
}

/// Not a number in place of a name, or words about it.
fn is_symbol(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_alphabetic() || c == '_')
}

/// A name without what is different with another compiler or program: the hashes of crates in it, as `Cs1a2b3c_`, and the
/// number behind a dot that tells functions of one name apart. Calls that call themselves are told apart by a number.
fn pattern(name: &str) -> String {
    let name = name.split('\'').next().unwrap_or(name);
    if let Some((name, number)) = name.rsplit_once('.')
        && number.bytes().all(|byte| byte.is_ascii_digit())
    {
        return pattern(name) + ".*";
    }
    let mut parts = name.split("Cs");
    let mut pattern = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let hash = part.find(|c: char| !c.is_ascii_alphanumeric());
        match hash.filter(|end| name.starts_with("_R") && part[*end..].starts_with('_')) {
            Some(end) => {
                pattern.push_str("Cs*");
                pattern.push_str(&part[end..]);
            }
            None => {
                pattern.push_str("Cs");
                pattern.push_str(part);
            }
        }
    }
    pattern
}

/// The groups of a list.
fn read(list: &str) -> Groups {
    let mut groups = Groups::default();
    let mut group = 0;
    for line in list.lines() {
        let line = line.trim();
        if let Some(name) = line.strip_prefix(PATTERN) {
            groups[group].insert(name.to_owned());
        }
        group += usize::from(line == ")");
    }
    groups
}

fn text(groups: &Groups) -> String {
    let mut text = String::from(
        "/* Made by `cargo bench -p acceptance --bench usual_code`; see there. */\n\
         SECTIONS\n{\n  .text.usual :\n  {\n",
    );
    for group in groups {
        text.push_str("    *(\n");
        for name in group {
            // Some are in `.text.unlikely`: they run seldom, but at least once.
            writeln!(text, "      {PATTERN}{name}").expect("a text takes text");
        }
        text.push_str("    )\n");
    }
    text.push_str("  }\n}\nINSERT BEFORE .text;\n");
    text
}
