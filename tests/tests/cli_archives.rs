//! Mods in archives, read where they are by `check`, `motion`, `plot`, `preview` and `precedents`.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Output, Stdio};

use acceptance::desk::{BRAM, corpus};
use acceptance::program::{stderr, stdout};
use acceptance::yard::Yard;
use acceptance::{outside, sarif};
use serde_json::Value;

/// Names and contents.
type Members<'m> = &'m [(&'m str, &'m [u8])];

/// All that is below a folder of the corpus, as an archive.
fn packed(yard: &Yard, from: &str, archive: &str) {
    yard.archive_of(&corpus().join(from), archive);
}

/// By file: the findings, without what is around the file's name.
fn findings(output: &Output, root: &str) -> BTreeMap<String, Vec<String>> {
    let found: Vec<Value> = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {}", stderr(output)));
    let mut by_file: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for mut finding in found {
        let file = finding["file"].as_str().unwrap().to_owned();
        let file = file
            .strip_prefix(root)
            .unwrap_or_else(|| panic!("{file} is not in {root}"));
        let (file, related) = (file.to_owned(), finding["related"].take());
        let related = related.to_string().replace(root, "");
        finding["file"].take();
        by_file
            .entry(file)
            .or_default()
            .push(format!("{finding} {related}"));
    }
    by_file
}

/// In an archive the same is found as in the folder: scenes, sounds, manifests and dialects are found in it.
#[test]
fn what_is_found_in_an_archive_is_what_is_found_in_the_folder() {
    let yard = Yard::empty();
    for from in [
        "ternholt",
        "dialects/yard",
        "dialects/slip",
        "faults/names",
        "faults/files",
        "faults/mod/unlisted-machine",
    ] {
        let source = corpus().join(from);
        let name = source.file_name().unwrap().to_str().unwrap();
        yard.copy(&source, name);
        let unpacked = yard.run(&["check", "--format", "json", name]);
        fs::remove_dir_all(yard.join(name)).unwrap();
        let zip = format!("{name}.zip");
        packed(&yard, from, &zip);
        let read = yard.run(&["check", "--format", "json", &zip]);
        assert_eq!(read.status.code(), unpacked.status.code(), "{name}");
        let (inside, beside) = (
            findings(&read, &format!("{zip}!/")),
            findings(&unpacked, &format!("{name}/")),
        );
        assert_eq!(inside, beside, "{name}");
        fs::remove_file(yard.join(zip)).unwrap();
    }
}

#[test]
fn archives_in_a_folder_and_files_in_archives_can_be_asked_for() {
    let yard = Yard::empty();
    fs::create_dir(yard.join("mods")).unwrap();
    packed(&yard, "faults/names", "mods/names.zip");
    // An archive that is no mod, by its name, and a file that is no archive.
    packed(&yard, "faults/names", "mods/names.backup");
    yard.write("mods/other.zip", "no archive");
    let all = yard.run(&["check", "--format", "json", "mods"]);
    let all = findings(&all, "mods/names.zip!/");
    assert!(all.len() > 5, "{all:?}");
    let file = "unknown-name.machine.xml";
    let one = yard.run(&[
        "check",
        "--format",
        "json",
        &format!("mods/names.zip!/{file}"),
    ]);
    let one = findings(&one, "mods/names.zip!/");
    assert_eq!(one.get(file), all.get(file));
    assert_eq!(one.len(), 1);
    let odd = yard.run(&["check", "--format", "json", "mods/names.backup"]);
    assert_eq!(findings(&odd, "mods/names.backup!/").len(), all.len());
    let gone = yard.run(&["check", "mods/names.zip!/gone.xml"]);
    assert_eq!(gone.status.code(), Some(2));
}

#[test]
fn a_mod_in_an_archive_does_not_lead_out_of_it() {
    let yard = Yard::empty();
    yard.copy(&corpus().join("faults/shared/rig.gltf"), "rig.gltf");
    yard.write(
        "mod.xml",
        "<mod xmlns=\"urn:trunnion:mod:1\" title=\"x\" version=\"1\" author=\"x\"/>",
    );
    let machine = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"a\" scene=\"../rig.gltf\"/>";
    let settings = "library = [\"/\"]\ndialects = [\"../x.dialect.toml\", \"gone.toml\"]\n";
    let members = [("a.machine.xml", machine), ("trunnion.toml", settings)];
    yard.archive("mod.zip", &members);
    let output = yard.run(&["check", "--format", "json", "mod.zip"]);
    let found = findings(&output, "mod.zip!/");
    let codes = format!("{found:?}");
    assert!(codes.contains("file-missing"), "{codes}");
    assert_eq!(found.len(), 1);
}

#[test]
fn hostile_and_damaged_archives_are_refused_with_a_finding() {
    let yard = Yard::empty();
    let deep = "x/".repeat(100) + "a.xml";
    let cases: [(&str, Members<'_>); 4] = [
        ("slip", &[("../../a.xml", b"<a/>"), ("b.xml", b"<a/>")]),
        ("absolute", &[("/etc/a.xml", b"<a/>")]),
        ("case", &[("a.xml", b"<a/>"), ("A.xml", b"<a/>")]),
        ("deep", &[(&deep, b"<a/>")]),
    ];
    for (name, members) in cases {
        yard.archive(&format!("{name}.zip"), members);
    }
    let bomb = vec![0; 110 << 20];
    yard.archive("bomb.zip", &[("bomb.xml", &bomb)]);
    drop(bomb);
    yard.write("cut.zip", b"PK\x03\x04 and nothing else");
    for name in ["slip", "absolute", "case", "deep", "bomb", "cut"] {
        let zip = format!("{name}.zip");
        let output = yard.run(&["check", "--format", "json", &zip]);
        let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1), "{name}");
        assert!(
            !found.is_empty() && found.iter().all(|one| one["code"] == "archive-refused"),
            "{name}: {found:?}"
        );
        assert_eq!(found[0]["file"], zip.as_str());
        let told = yard.ends_with(1, &["check", &zip]);
        assert!(!told.contains("no dialect"), "it got no checks: {told}");
    }
    // The library of odd archives that others made: none makes it fall over.
    let Some(odd) = outside::references("zip-cases") else {
        return outside::skipped("odd archives", "the archives are not here");
    };
    for file in outside::files_below(&odd, &[".zip"]) {
        let output = yard.run(&["check", file.to_str().unwrap()]);
        let said = stderr(&output);
        assert!(
            !said.contains("stumble") && output.status.code().is_some_and(|code| code <= 2),
            "{}: {said}",
            file.display()
        );
    }
}

#[test]
fn nothing_is_written_into_an_archive() {
    let yard = Yard::empty();
    packed(&yard, "faults/names", "mod.zip");
    let before = yard.read("mod.zip");
    let output = yard.run(&["check", "--fix", "mod.zip"]);
    assert!(
        stdout(&output).contains("nothing is written into archives"),
        "{}",
        stdout(&output)
    );
    let output = yard.run(&["check", "--diff", "mod.zip"]);
    assert_eq!((output.status.code(), output.stdout.len()), (Some(0), 0));
    packed(&yard, "ternholt", "quay.zip");
    let machine = "quay.zip!/machines/bram-6.machine.xml";
    let output = yard.run(&["adjust", machine, "leg.left", "leg.right", "--write"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("Unpack it first"),
        "{}",
        stderr(&output)
    );
    assert_eq!(yard.read("mod.zip"), before);
    assert_eq!(yard.names("").len(), 2);
}

#[test]
fn sarif_names_the_archive_and_the_place_in_it() {
    let yard = Yard::empty();
    packed(&yard, "faults/names", "mod.zip");
    let output = yard.run(&["check", "--format", "sarif", "mod.zip"]);
    sarif::assert_valid(&stdout(&output));
    let log: Value = serde_json::from_slice(&output.stdout).unwrap();
    let run = &log["runs"][0];
    for result in run["results"].as_array().unwrap() {
        let location = &result["locations"][0]["physicalLocation"]["artifactLocation"];
        let artifact = &run["artifacts"][location["index"].as_u64().unwrap() as usize];
        assert_eq!(artifact["location"]["uri"], location["uri"]);
        let archive = &run["artifacts"][artifact["parentIndex"].as_u64().unwrap() as usize];
        assert!(
            archive["location"]["uri"]
                .as_str()
                .unwrap()
                .ends_with("mod.zip")
        );
    }
}

#[test]
fn machines_in_archives_are_measured_and_drawn() {
    let yard = Yard::empty();
    packed(&yard, "ternholt", "quay.zip");
    let real = corpus().join(BRAM);
    let inside = "quay.zip!/machines/bram-6.machine.xml";
    let figures = |file: &str| stdout(&yard.run(&["motion", file, "--json"]));
    let (there, here) = (figures(real.to_str().unwrap()), figures(inside));
    assert!(here.len() > 100, "{here}");
    assert_eq!(
        here.replace(inside, ""),
        there.replace(real.to_str().unwrap(), "")
    );
    let plot = yard.run(&["plot", inside, "-o", "out.svg"]);
    assert_eq!(plot.status.code(), Some(0), "{}", stderr(&plot));
    assert!(fs::metadata(yard.join("out.svg")).unwrap().len() > 1000);
    let library = corpus().join("ternholt");
    let place = format!("{inside}:33");
    let found = yard.run(&["precedents", &place, "--library", library.to_str().unwrap()]);
    assert_eq!(found.status.code(), Some(0), "{}", stderr(&found));
}

#[test]
fn an_archive_is_no_definition_but_holds_some() {
    let yard = Yard::empty();
    packed(&yard, "ternholt", "mods.zip");
    for command in [["motion", "mods.zip"], ["plot", "mods.zip"]] {
        let output = yard.run(&command);
        assert_eq!(output.status.code(), Some(2), "{output:?}");
        let told = "it is an archive. Name the definition in it, as in mods.zip!/FILE.";
        assert!(stderr(&output).contains(told), "{output:?}");
    }
}

#[test]
fn a_machine_in_an_archive_has_a_preview() {
    let yard = Yard::empty();
    packed(&yard, "ternholt", "quay.zip");
    let mut child = yard
        .command(&["preview", "quay.zip!/machines/bram-6.machine.xml"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut address = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut address)
        .unwrap();
    if address.is_empty() {
        child.wait().unwrap();
        return outside::skipped(
            "the preview of a machine in an archive",
            "the page was not built",
        );
    }
    let address = address.trim();
    let (host, path) = address
        .strip_prefix("http://")
        .unwrap()
        .split_once('/')
        .unwrap();
    let get = |asked: &str| {
        let mut stream = TcpStream::connect(host).unwrap();
        write!(
            stream,
            "GET /{}{asked} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n",
            path
        )
        .unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        String::from_utf8_lossy(&answer).into_owned()
    };
    let (machine, scene) = (get("machine"), get("scene"));
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(
        machine.starts_with("HTTP/1.1 200") && machine.contains("mast.raise"),
        "{machine}"
    );
    assert!(
        scene.starts_with("HTTP/1.1 200") && scene.contains("\"asset\""),
        "{scene}"
    );
}
