//! Writes `server/trunnion/usual-code.ld`: what of the program runs when a server starts, opens documents and follows
//! what is typed. The linker puts that side by side. Scattered over the program, it makes the system map most of it:
//! half as much memory again for a small document, and a twentieth more time for a keystroke (when the list was new).
//!
//! A list that is old breaks nothing: what it does not know lies where it lay. A few commits' worth of that costs some
//! hundred kilobytes.
//!
//! Needs valgrind, `nm`, and the program as `cargo build --release` makes it when the pages have been built: without them
//! the compiler leaves out what shows them, and puts other things together.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::{env, fs};

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::desk::{BRAM, corpus, position};
use acceptance::yard::Yard;
use acceptance::{generate, outside, program};
use serde_json::{Value, json};

/// Bytes: a document of a few pairs, and one so large that what works on all cores does.
const FEW: usize = 10_000;
const MANY: usize = 300_000;

/// Patterns of the names of functions.
type Group = BTreeSet<String>;

/// What runs only if a keystroke takes no time to speak of, which none does under valgrind.
const WHEN_QUICK: [&str; 3] = ["*14send_text_soon", "*9work_once", "*9has_whole"];

/// So many changes are made: something is typed, and taken away.
const KEYS: usize = 36;

/// What editors ask of a document that they show, the most usual first: what one takes lies together, as not all editors
/// ask everything.
const ASKED: [&str; 13] = [
    "diagnostic",
    "documentSymbol",
    "completion",
    "hover",
    "documentHighlight",
    "definition",
    "codeAction",
    "semanticTokens/full",
    "foldingRange",
    "documentLink",
    "inlayHint",
    "codeLens",
    "documentColor",
];

/// What an editor may say that it can ask, besides.
const REQUESTS: [&str; 17] = [
    "callHierarchy",
    "declaration",
    "definition",
    "documentHighlight",
    "documentLink",
    "foldingRange",
    "formatting",
    "implementation",
    "inlineValue",
    "linkedEditingRange",
    "moniker",
    "onTypeFormatting",
    "rangeFormatting",
    "references",
    "selectionRange",
    "typeDefinition",
    "typeHierarchy",
];

/// Before a name in the list.
const PATTERN: &str = ".text*.";

fn main() {
    let [few, many] = [FEW, MANY].map(|bytes| {
        let machine = generate::machine(bytes, 1);
        let scene = generate::scene(&machine);
        let yard = Yard::with(&[("big.machine.xml", machine), ("big.gltf", scene)]);
        (yard.join("big.machine.xml"), yard)
    });
    let small = [corpus().join(BRAM), few.0];
    let large = many.0;
    let yard = Yard::empty();
    let profile = yard.join("profile");
    let neovim = include_str!("../capabilities/neovim-0.11.json");
    let neovim = serde_json::from_str(neovim).expect("it is JSON");
    let told: Diagnostics = |client, uri, version| client.pushed_diagnostics(uri, version);
    let asking: Diagnostics = |client, uri, _| client.pulled_diagnostics(uri).expect("an answer");
    let symbols = symbols();
    let run = |capabilities: &Value, session: &dyn Fn(&mut Client)| {
        let mut client = Client::spawn(
            Command::new("valgrind")
                .args([
                    "--quiet",
                    "--tool=callgrind",
                    "--dump-instr=yes",
                    "--demangle=no",
                ])
                .arg(format!("--callgrind-out-file={}", profile.display()))
                .arg(program::path())
                .arg("serve"),
        );
        let folder = json!({"uri": format!("file://{}", corpus().display()), "name": "corpus"});
        client.initialize_as(json!({
            "processId": std::process::id(),
            "clientInfo": {"name": "editor", "version": "1"},
            "rootUri": folder["uri"],
            "workspaceFolders": [folder],
            "capabilities": capabilities,
            "initializationOptions": {},
            "trace": "off",
        }));
        session(&mut client);
        assert_eq!(client.finish(), 0);
        functions(&profile, &symbols)
    };
    let mut all = all_capabilities();
    all["general"]["staleRequestSupport"] = json!({"cancel": true, "retryOnContentModified": []});
    // What none of the editors says whose capabilities are known here.
    let document = &mut all["textDocument"];
    document["documentSymbol"]["tagSupport"] = json!({"valueSet": [1]});
    document["completion"]["insertTextMode"] = json!(1);
    document["completion"]["completionItem"]["insertTextModeSupport"] = json!({"valueSet": [1, 2]});
    for request in REQUESTS {
        document[request]["dynamicRegistration"] = json!(true);
    }
    document["documentLink"]["tooltipSupport"] = json!(true);
    for answers in ["codeLens", "inlayHint", "inlineValue", "semanticTokens"] {
        all["workspace"][answers] = json!({"refreshSupport": true});
    }
    let clients = [
        (push_capabilities(), told),
        (all.clone(), asking),
        (neovim, asking),
    ];
    // What runs with a keystroke, and what runs besides while somebody works with a small document, or with a large one.
    // A keystroke comes after a pause in which others have had the processor: what it needs lies on as few pages as
    // possible.
    let mut key = Group::from(WHEN_QUICK.map(str::to_owned));
    let [mut with_small, mut with_large] = <[Group; 2]>::default();
    for (capabilities, diagnostics) in clients {
        for path in small.iter().chain([&large]) {
            let opening = run(&capabilities, &|client| {
                type_in(client, path, diagnostics, 0)
            });
            let typing = run(&capabilities, &|client| {
                type_in(client, path, diagnostics, KEYS)
            });
            let with_keys = typing.iter().filter(|(name, cost)| {
                opening.get(*name).copied().unwrap_or_default() + KEYS as u64 <= **cost
            });
            key.extend(with_keys.map(|(name, _)| name.clone()));
            let group = match *path == large {
                true => &mut with_large,
                false => &mut with_small,
            };
            group.extend(opening.into_keys());
        }
    }
    let mut groups = vec![key, with_small];
    for asked in ASKED {
        let with_it = small
            .iter()
            .map(|path| run(&all, &|client| look_at(client, path, &[asked])));
        groups.push(with_it.flat_map(BTreeMap::into_keys).collect());
    }
    let all_asked = run(&all, &|client| look_at(client, &large, &ASKED));
    with_large.extend(all_asked.into_keys());
    groups.push(with_large);
    // Each comes with the first that it runs with.
    let mut listed = Group::new();
    for group in &mut groups {
        group.retain(|name| listed.insert(name.clone()));
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/trunnion/usual-code.ld");
    fs::write(&script, text(&groups)).expect("it can be written");
    let count = listed.len();
    outside::say(&format!("{count} functions in {}", script.display()));
}

/// How a client gets what is wrong with a version of a document.
type Diagnostics = fn(&mut Client, &str, i64) -> Vec<Value>;

/// Opens a document and types so many keys into a tag, a value, and between elements, and takes each away again.
fn type_in(client: &mut Client, path: &Path, diagnostics: Diagnostics, keys: usize) {
    let uri = format!("file://{}", path.display());
    let text = fs::read_to_string(path).expect("it is there");
    client.open(&uri, 1, &text);
    diagnostics(client, &uri, 1);
    let typed = ["<", "7", "x", "\"", "words", "no<"];
    let places = places(&text);
    let all = places
        .iter()
        .flat_map(|start| typed.map(|typed| (start, typed)));
    let mut version = 1;
    for (start, typed) in all.take(keys / 2) {
        let behind = start["character"]
            .as_u64()
            .map(|at| at + typed.len() as u64);
        let after = json!({"line": start["line"], "character": behind});
        let insert = json!({"range": {"start": start, "end": start}, "text": typed});
        let remove = json!({"range": {"start": start, "end": after}, "text": ""});
        for change in [insert, remove] {
            version += 1;
            client.change(&uri, version, json!([change]));
            diagnostics(client, &uri, version);
        }
    }
    client.close(&uri);
}

/// Opens a document, asks for all this, and again after keys that come faster than it can be asked: some in a tag, some
/// that break it, and new lines at the top.
fn look_at(client: &mut Client, path: &Path, asked: &[&str]) {
    let uri = format!("file://{}", path.display());
    let text = fs::read_to_string(path).expect("it is there");
    client.open(&uri, 1, &text);
    let places = places(&text);
    let ask = |client: &mut Client| {
        for (at, method) in places
            .iter()
            .flat_map(|at| asked.iter().map(move |one| (at, one)))
        {
            let range = json!({"start": at, "end": at});
            let found =
                json!({"range": range, "severity": 1, "code": "wrong-type", "message": "?"});
            // Each takes of it what it knows.
            let params = json!({
                "textDocument": {"uri": uri},
                "position": at,
                "range": range,
                "context": {"diagnostics": [found], "triggerKind": 1},
            });
            let answer = client.request(&format!("textDocument/{method}"), params);
            answer.expect("an answer");
        }
    };
    let top = json!({"line": 0, "character": 0});
    let [tag, ..] = &places;
    ask(client);
    let mut version = 1;
    for (place, typed) in [(tag, " "), (tag, "<"), (&top, "\n")] {
        let insert = json!({"range": {"start": place, "end": place}, "text": typed});
        for _ in 0..2 {
            version += 1;
            client.change(&uri, version, json!([insert]));
        }
        ask(client);
    }
    client.close(&uri);
}

/// Where something is typed and asked: in a tag, in a value, between elements, in a name, and at a node.
fn places(text: &str) -> [Value; 5] {
    let places = [
        ("<channel ", 9),
        ("to=\"", 4),
        ("</aliases>", 0),
        ("<channel ", 3),
        ("node=\"", 6),
    ];
    places.map(|(needle, within)| position(text, text.find(needle).expect(needle) + within))
}

/// The functions that a profile of callgrind was in, as patterns of their names for the linker, and how many instructions
/// of each were run. Callgrind takes what the linker has put side by side before for a part of no object, with the
/// addresses that it has in memory.
fn functions(profile: &Path, symbols: &BTreeMap<u64, String>) -> BTreeMap<String, u64> {
    let profile = fs::read_to_string(profile).expect("valgrind has written it");
    let program = program::path().canonicalize().expect("it is there");
    // A number stands for an object: its path comes with it the first time.
    let mut objects: HashMap<&str, &str> = HashMap::new();
    let loaded_at = loaded_at(&profile, symbols);
    let (mut begin, mut is_call, mut address) = (None, false, 0);
    let mut run = BTreeMap::new();
    for line in profile.lines() {
        if let Some((key, value)) = line.split_once('=') {
            let (number, path) = value.split_once(' ').unwrap_or((value, ""));
            if matches!(key, "ob" | "cob") && !path.is_empty() {
                objects.insert(number, path);
            }
            if key == "ob" {
                begin = match objects.get(number) {
                    Some(&"???") => Some(loaded_at),
                    Some(path) => (Path::new(path) == program).then_some(0),
                    None => None,
                };
            }
            is_call |= key == "calls";
        } else if let Some((position, cost)) = position_and_cost(line, address) {
            address = position;
            // What is called has its cost with its own lines, too.
            if !std::mem::take(&mut is_call)
                && let Some(place) = begin.and_then(|begin| address.checked_sub(begin))
                && let Some((_, name)) = symbols.range(..=place).next_back()
            {
                *run.entry(pattern(name)).or_default() += cost;
            }
        }
    }
    run
}

/// Where in memory the program began: some function is called by its name and its address there. 0 if the linker has put
/// nothing side by side.
fn loaded_at(profile: &str, symbols: &BTreeMap<u64, String>) -> u64 {
    let named: HashMap<&str, u64> = symbols.iter().map(|(at, name)| (&**name, *at)).collect();
    let lines = profile.lines().zip(profile.lines().skip(1));
    let found = lines.filter_map(|(function, call)| {
        let (_, name) = function.strip_prefix("cfn=")?.split_once(' ')?;
        let address = call.strip_prefix("calls=")?.split(' ').nth(1)?;
        let address = u64::from_str_radix(address.strip_prefix("0x")?, 16).ok()?;
        address
            .checked_sub(*named.get(name)?)
            .filter(|begin| *begin > 0)
    });
    found.max().unwrap_or_default()
}

/// The address of a line of costs, which may be told by how far it is from the one before, and the cost.
/// (Callgrind's format, "Subposition Compression".)
fn position_and_cost(line: &str, before: u64) -> Option<(u64, u64)> {
    let (address, rest) = line.split_once(' ')?;
    let far = |digits: &str| digits.parse::<u64>().ok();
    let address = match address.split_at_checked(1)? {
        ("+", digits) => before + far(digits)?,
        ("-", digits) => before - far(digits)?,
        ("*", "") => before,
        _ => u64::from_str_radix(address.strip_prefix("0x")?, 16).ok()?,
    };
    Some((address, far(rest.rsplit(' ').next()?)?))
}

/// The program's functions by their addresses, as `nm` tells them.
fn symbols() -> BTreeMap<u64, String> {
    let told = Command::new("nm").arg(program::path()).output();
    let told = String::from_utf8(told.expect("nm is there").stdout).expect("it tells text");
    let functions = told.lines().filter_map(|line| {
        let (address, name) = line.split_once(" t ").or_else(|| line.split_once(" T "))?;
        Some((u64::from_str_radix(address, 16).ok()?, name.to_owned()))
    });
    functions.collect()
}

/// A name without what is different with another compiler or program: the hashes of crates in it, as `Cs1a2b3c_`, the
/// crate that a generic function was made for, which is at the end (several make the same), and the number behind a dot
/// that tells functions of one name apart. Calls that call themselves are told apart by a number.
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
    without_maker(pattern)
}

fn without_maker(mut pattern: String) -> String {
    const CRATE: &str = "Cs*_";
    let maker = pattern.rfind(CRATE).filter(|at| {
        let name = &pattern[at + CRATE.len()..];
        let begin = name.find(|c: char| !c.is_ascii_digit()).unwrap_or_default();
        name[..begin].parse() == Ok(name.len() - begin)
    });
    if let Some(at) = maker {
        pattern.truncate(at + CRATE.len() - 1);
    }
    pattern
}

fn text(groups: &[Group]) -> String {
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
    // The files that it carries along, behind the constants (`build.rs` has given them a name).
    text.push_str(
        "SECTIONS\n{\n  .rodata.files : { *(.rodata*4FILE) }\n}\nINSERT AFTER .rodata;\n",
    );
    text
}
