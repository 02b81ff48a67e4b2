//! The server keeps to itself: it opens no socket unless told to listen, starts no process and writes no file. Seen in
//! its system calls.
#![cfg(target_os = "linux")]

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::Path;
use std::process::Stdio;

use acceptance::client::{Client, all_capabilities, push_capabilities};
use acceptance::desk::{BRAM, corpus};
use acceptance::outside;
use acceptance::system_calls::{Call, Traced};
use acceptance::tour::{PLACES, Tour};
use acceptance::yard::Yard;
use serde_json::json;

/// The first call is the start of the program itself.
fn after_the_start(calls: &[Call]) -> &[Call] {
    let (start, rest) = calls.split_first().expect("there are calls");
    assert_eq!(start.name, "execve");
    assert!(rest.len() > 100, "too few calls: {rest:?}");
    rest
}

fn texts(calls: &[Call], of_kind: impl Fn(&Call) -> bool) -> Vec<&str> {
    let found = calls.iter().filter(|call| of_kind(call));
    found.map(|call| call.text.as_str()).collect()
}

fn keeps_to_itself(calls: &[Call]) {
    let none: [&str; 0] = [];
    assert_eq!(texts(calls, Call::is_process), none);
    assert_eq!(texts(calls, Call::is_writing), none);
}

/// Whole files are put into this folder; nothing else is written, and nobody asked.
fn writes_only_below(calls: &[Call], folder: &Path) {
    let written = texts(calls, Call::is_writing);
    let own = folder.to_str().unwrap();
    assert!(written.iter().all(|call| call.contains(own)), "{written:?}");
    assert!(
        written.iter().any(|call| call.starts_with("rename")),
        "{written:?}"
    );
    assert_eq!(texts(calls, Call::is_process), [""; 0]);
    assert_eq!(texts(calls, Call::is_network), [""; 0]);
}

fn has_read(calls: &[Call], file: &Path) -> bool {
    let mut opened = calls.iter().filter(|call| call.name.starts_with("open"));
    opened.any(|call| call.paths().any(|path| path == file))
}

#[test]
fn a_whole_session() {
    let Some(traced) = Traced::new("a session's system calls") else {
        return;
    };
    for capabilities in [all_capabilities(), push_capabilities()] {
        let client = Client::spawn(&mut traced.command(&["serve"]));
        let answered = Tour::with(client, PLACES.len(), &capabilities);
        for method in [
            "textDocument/hover",
            "codeAction/resolve",
            "textDocument/rename",
        ] {
            assert!(answered.iter().any(|it| it == method), "{method}");
        }
        let calls = traced.calls();
        let calls = after_the_start(&calls);
        keeps_to_itself(calls);
        assert_eq!(texts(calls, Call::is_network), [""; 0]);
        let scene = corpus().join(BRAM).with_file_name("bram-6.gltf");
        assert!(has_read(calls, &scene), "the scene belongs to the session");
    }
}

#[test]
fn settings_dialects_and_other_scenes_are_only_read() {
    let Some(traced) = Traced::new("the system calls for settings and dialects") else {
        return;
    };
    let mut client = Client::spawn(&mut traced.command(&["serve"]));
    client.initialize(&all_capabilities());
    let mut uris = Vec::new();
    for file in [
        "dialects/yard/rigs/dorrik-9.rig.xml",
        "ternholt/mod.xml",
        "ternholt/machines/ostrel-12.machine.xml",
    ] {
        let path = corpus().join(file);
        let uri = format!("file://{}", path.display());
        client.open(&uri, 1, &fs::read_to_string(path).unwrap());
        client.pulled_diagnostics(&uri).unwrap();
        uris.push(uri);
    }
    for uri in &uris {
        client.close(uri);
    }
    assert_eq!(client.finish(), 0);
    let calls = traced.calls();
    let calls = after_the_start(&calls);
    keeps_to_itself(calls);
    assert_eq!(texts(calls, Call::is_network), [""; 0]);
    assert!(has_read(
        calls,
        &corpus().join("dialects/yard/trunnion.toml")
    ));
}

/// Such files may be large, and are no text.
#[test]
fn a_file_that_a_finding_is_about_as_a_whole_is_not_read_for_its_place() {
    let Some(traced) = Traced::new("the system calls for a manifest") else {
        return;
    };
    let yard = Yard::empty();
    let manifest = "<mod xmlns='urn:trunnion:mod:1' title='t' version='1' author='a'/>";
    yard.write("mod.xml", manifest);
    yard.write("spare.ogg", "OggS");
    let uri = yard.uri("mod.xml");
    let mut client = Client::spawn(&mut traced.command(&["serve"]));
    client.initialize(&all_capabilities());
    client.open(&uri, 1, manifest);
    for version in 2..=5 {
        let found = client.pulled_diagnostics(&uri).unwrap();
        let unused = found.iter().find(|it| it["code"] == "unused-file").unwrap();
        let place = &unused["relatedInformation"][0]["location"];
        assert_eq!(place["uri"], yard.uri("spare.ogg"));
        assert_eq!(place["range"]["end"], json!({"line": 0, "character": 0}));
        client.change(&uri, version, json!([{"text": manifest}]));
    }
    assert_eq!(client.finish(), 0);
    let spare = yard.join("spare.ogg");
    let calls = traced.calls();
    let opened = calls.iter().filter(|call| call.name.starts_with("open"));
    let opened = opened.filter(|call| call.paths().any(|path| path == spare));
    assert_eq!(opened.count(), 1, "for what it is and what it names");
}

/// What is known of a library is kept in the cache folder; nothing else is written.
#[test]
fn with_a_library_it_writes_into_the_cache_folder_and_nowhere_else() {
    let Some(traced) = Traced::new("the system calls with a library") else {
        return;
    };
    let yard = Yard::empty();
    let (machine, caches) = (yard.join("own/bram-6.machine.xml"), yard.join("caches"));
    yard.copy(&corpus().join(BRAM), "own/bram-6.machine.xml");
    let library = corpus().join("ternholt/machines");
    let settings = format!("library = [\"{}\"]\n", library.display());
    yard.write("own/trunnion.toml", settings);
    let machine = machine.to_str().unwrap();

    let mut command = traced.command(&["check", machine]);
    command.env("XDG_CACHE_HOME", &caches).output().unwrap();
    let calls = traced.calls();
    keeps_to_itself(after_the_start(&calls));
    assert!(!caches.exists(), "a check needs no library");

    let mut command = traced.command(&["precedents", &format!("{machine}:5")]);
    let output = command.env("XDG_CACHE_HOME", &caches).output().unwrap();
    assert!(!output.stdout.is_empty(), "{output:?}");
    let calls = traced.calls();
    let calls = after_the_start(&calls);
    writes_only_below(calls, &caches);
}

#[test]
fn told_to_listen_it_opens_that_port_of_this_computer_and_nothing_else() {
    let Some(traced) = Traced::new("the system calls of a server that listens") else {
        return;
    };
    let mut server = traced
        .command(&["serve", "--tcp", "0"])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(server.stderr.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    let address = line.trim().rsplit(' ').next().unwrap();
    let stream = TcpStream::connect(address).unwrap();
    let client = Client::over(server, stream.try_clone().unwrap(), stream);
    Tour::with(client, 1, &all_capabilities());

    let calls = traced.calls();
    let calls = after_the_start(&calls);
    keeps_to_itself(calls);
    let of = |name: &str| texts(calls, |call| call.name == name);
    assert!(
        matches!(of("socket")[..], [one] if one.contains("AF_INET,")),
        "{:?}",
        of("socket")
    );
    assert!(
        matches!(of("bind")[..], [one] if one.contains("inet_addr(\"127.0.0.1\")")),
        "{:?}",
        of("bind")
    );
    assert_eq!((of("listen").len(), of("connect").len()), (1, 0));
    let taken = [of("accept"), of("accept4")].concat();
    let taken = taken.iter().filter(|call| !call.contains("= -1"));
    assert_eq!(taken.count(), 1, "one client and no more");
    assert_eq!(of("socketpair"), [""; 0]);
}

#[test]
fn asked_for_a_preview_it_opens_one_port_of_this_computer_and_connects_to_nothing() {
    let Some(traced) = Traced::new("the system calls of a server with a preview") else {
        return;
    };
    let mut client = Client::spawn(&mut traced.command(&["serve"]));
    client.initialize(&all_capabilities());
    let path = corpus().join(BRAM);
    let uri = format!("file://{}", path.display());
    client.open(&uri, 1, &fs::read_to_string(path).unwrap());
    let params = json!({"command": "trunnion.preview", "arguments": [{"uri": uri}]});
    let first = client.request("workspace/executeCommand", params.clone());
    let second = client.request("workspace/executeCommand", params);
    assert_eq!(client.finish(), 0);
    let calls = traced.calls();
    let calls = after_the_start(&calls);
    keeps_to_itself(calls);
    if first.is_err() {
        assert_eq!(texts(calls, Call::is_network), [""; 0]);
        return outside::skipped("a preview's system calls", "its page has not been built");
    }
    assert_eq!(first, second);
    let of = |name: &str| texts(calls, |call| call.name == name);
    assert!(
        matches!(of("bind")[..], [one] if one.contains("inet_addr(\"127.0.0.1\")")),
        "{:?}",
        of("bind")
    );
    assert_eq!((of("socket").len(), of("listen").len()), (1, 1));
    assert_eq!((of("connect").len(), of("socketpair").len()), (0, 0));
}

#[test]
fn the_command_line_only_reads_unless_told_to_write() {
    let Some(traced) = Traced::new("the system calls of the command line") else {
        return;
    };
    let machine = corpus().join(BRAM);
    let machine = machine.to_str().unwrap();
    for arguments in [
        &["check", machine][..],
        &["adjust", machine, "leg.left", "leg.right"],
    ] {
        let output = traced.command(arguments).output().unwrap();
        assert!(!output.stdout.is_empty(), "{output:?}");
        let calls = traced.calls();
        let calls = after_the_start(&calls);
        keeps_to_itself(calls);
        assert_eq!(texts(calls, Call::is_network), [""; 0]);
    }
}

#[test]
fn told_to_write_it_replaces_that_file_and_touches_no_other() {
    let Some(traced) = Traced::new("the system calls of a change on disk") else {
        return;
    };
    let yard = Yard::empty();
    let machine = corpus().join(BRAM);
    for file in ["bram-6.machine.xml", "bram-6.gltf"] {
        yard.copy(&machine.with_file_name(file), file);
    }
    let copy = yard.join("bram-6.machine.xml");
    let arguments = [
        "adjust",
        "--write",
        copy.to_str().unwrap(),
        "leg.left",
        "leg.right",
    ];
    let output = traced.command(&arguments).output().unwrap();
    assert!(output.status.success(), "{output:?}");
    let calls = traced.calls();
    let calls = after_the_start(&calls);
    writes_only_below(calls, &yard);
    assert_ne!(fs::read(&copy).unwrap(), fs::read(&machine).unwrap());
}
