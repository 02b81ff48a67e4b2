//! Mods in archives, read where they are by `check`, `motion`, `plot`, `preview` and `precedents`.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufRead as _, BufReader, Read as _, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use acceptance::{outside, program, sarif};
use serde_json::Value;
use zip::write::{SimpleFileOptions, ZipWriter};

fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!(
        "trunnion-cli-archives-{}-{name}",
        std::process::id()
    ));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// Names and contents.
type Members<'m> = &'m [(&'m str, &'m [u8])];

fn archive(path: &Path, members: Members<'_>) {
    let mut archive = ZipWriter::new(File::create(path).unwrap());
    for (name, bytes) in members {
        archive
            .start_file(*name, SimpleFileOptions::default())
            .unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap();
}

/// All that is below a folder of the corpus, as an archive.
fn packed(from: &str, path: &Path) {
    let from = outside::project().join("corpus").join(from);
    let files = outside::files_below(&from, &[""]);
    let members: Vec<(String, Vec<u8>)> = files
        .iter()
        .map(|file| {
            let name = file.strip_prefix(&from).unwrap().to_str().unwrap();
            (name.replace('\\', "/"), fs::read(file).unwrap())
        })
        .collect();
    let members: Vec<(&str, &[u8])> = members
        .iter()
        .map(|(name, bytes)| (name.as_str(), bytes.as_slice()))
        .collect();
    archive(path, &members);
}

fn trunnion(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(program::path());
    command
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// By file: the findings, without what is around the file's name.
fn findings(output: &Output, root: &str) -> BTreeMap<String, Vec<String>> {
    let found: Vec<Value> = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {}", text(&output.stderr)));
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
    let folder = folder("same");
    for from in [
        "ternholt",
        "dialects/yard",
        "dialects/slip",
        "faults/names",
        "faults/files",
        "faults/mod/unlisted-machine",
    ] {
        let source = outside::project().join("corpus").join(from);
        let name = source.file_name().unwrap().to_str().unwrap();
        let target = folder.join(name);
        for file in outside::files_below(&source, &[""]) {
            let copy = target.join(file.strip_prefix(&source).unwrap());
            fs::create_dir_all(copy.parent().unwrap()).unwrap();
            fs::copy(&file, copy).unwrap();
        }
        let unpacked = trunnion(&folder, &["check", "--format", "json", name]);
        fs::remove_dir_all(&target).unwrap();
        packed(from, &folder.join(format!("{name}.zip")));
        let zip = format!("{name}.zip");
        let read = trunnion(&folder, &["check", "--format", "json", &zip]);
        assert_eq!(read.status.code(), unpacked.status.code(), "{name}");
        let (inside, beside) = (
            findings(&read, &format!("{zip}!/")),
            findings(&unpacked, &format!("{name}/")),
        );
        assert_eq!(inside, beside, "{name}");
        fs::remove_file(folder.join(zip)).unwrap();
    }
}

#[test]
fn archives_in_a_folder_and_files_in_archives_can_be_asked_for() {
    let folder = folder("asked");
    fs::create_dir(folder.join("mods")).unwrap();
    packed("faults/names", &folder.join("mods/names.zip"));
    // An archive that is no mod, by its name, and a file that is no archive.
    packed("faults/names", &folder.join("mods/names.backup"));
    fs::write(folder.join("mods/other.zip"), "no archive").unwrap();
    let all = trunnion(&folder, &["check", "--format", "json", "mods"]);
    let all = findings(&all, "mods/names.zip!/");
    assert!(all.len() > 5, "{all:?}");
    let file = "unknown-name.machine.xml";
    let one = trunnion(
        &folder,
        &[
            "check",
            "--format",
            "json",
            &format!("mods/names.zip!/{file}"),
        ],
    );
    let one = findings(&one, "mods/names.zip!/");
    assert_eq!(one.get(file), all.get(file));
    assert_eq!(one.len(), 1);
    let odd = trunnion(&folder, &["check", "--format", "json", "mods/names.backup"]);
    assert_eq!(findings(&odd, "mods/names.backup!/").len(), all.len());
    let gone = trunnion(&folder, &["check", "mods/names.zip!/gone.xml"]);
    assert_eq!(gone.status.code(), Some(2));
}

#[test]
fn a_mod_in_an_archive_does_not_lead_out_of_it() {
    let folder = folder("out");
    let faults = outside::project().join("corpus/faults");
    fs::copy(faults.join("shared/rig.gltf"), folder.join("rig.gltf")).unwrap();
    fs::write(
        folder.join("mod.xml"),
        "<mod xmlns=\"urn:trunnion:mod:1\" title=\"x\" version=\"1\" author=\"x\"/>",
    )
    .unwrap();
    let machine = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"a\" scene=\"../rig.gltf\"/>";
    let settings = "library = [\"/\"]\ndialects = [\"../x.dialect.toml\", \"gone.toml\"]\n";
    archive(
        &folder.join("mod.zip"),
        &[
            ("a.machine.xml", machine.as_bytes()),
            ("trunnion.toml", settings.as_bytes()),
        ],
    );
    let output = trunnion(&folder, &["check", "--format", "json", "mod.zip"]);
    let found = findings(&output, "mod.zip!/");
    let codes = format!("{found:?}");
    assert!(codes.contains("file-missing"), "{codes}");
    assert_eq!(found.len(), 1);
}

#[test]
fn hostile_and_damaged_archives_are_refused_with_a_finding() {
    let folder = folder("hostile");
    let deep = "x/".repeat(100) + "a.xml";
    let cases: [(&str, Members<'_>); 4] = [
        ("slip", &[("../../a.xml", b"<a/>"), ("b.xml", b"<a/>")]),
        ("absolute", &[("/etc/a.xml", b"<a/>")]),
        ("case", &[("a.xml", b"<a/>"), ("A.xml", b"<a/>")]),
        ("deep", &[(&deep, b"<a/>")]),
    ];
    for (name, members) in cases {
        archive(&folder.join(format!("{name}.zip")), members);
    }
    let bomb = vec![0; 110 << 20];
    archive(&folder.join("bomb.zip"), &[("bomb.xml", &bomb)]);
    drop(bomb);
    fs::write(folder.join("cut.zip"), b"PK\x03\x04 and nothing else").unwrap();
    for name in ["slip", "absolute", "case", "deep", "bomb", "cut"] {
        let zip = format!("{name}.zip");
        let output = trunnion(&folder, &["check", "--format", "json", &zip]);
        let found: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1), "{name}");
        assert!(
            !found.is_empty() && found.iter().all(|one| one["code"] == "archive-refused"),
            "{name}: {found:?}"
        );
        assert_eq!(found[0]["file"], zip.as_str());
    }
    // The library of odd archives that others made: none makes it fall over.
    let Some(odd) = outside::references("zip-cases") else {
        return outside::skipped("odd archives", "the archives are not here");
    };
    for file in outside::files_below(&odd, &[".zip"]) {
        let output = trunnion(&folder, &["check", file.to_str().unwrap()]);
        let said = text(&output.stderr);
        assert!(
            !said.contains("stumble") && output.status.code().is_some_and(|code| code <= 2),
            "{}: {said}",
            file.display()
        );
    }
}

#[test]
fn nothing_is_written_into_an_archive() {
    let folder = folder("written");
    packed("faults/names", &folder.join("mod.zip"));
    let before = fs::read(folder.join("mod.zip")).unwrap();
    let output = trunnion(&folder, &["check", "--fix", "mod.zip"]);
    assert!(
        text(&output.stdout).contains("nothing is written into archives"),
        "{}",
        text(&output.stdout)
    );
    let output = trunnion(&folder, &["check", "--diff", "mod.zip"]);
    assert_eq!((output.status.code(), output.stdout.len()), (Some(0), 0));
    packed("ternholt", &folder.join("quay.zip"));
    let machine = "quay.zip!/machines/bram-6.machine.xml";
    let output = trunnion(
        &folder,
        &["adjust", machine, "leg.left", "leg.right", "--write"],
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(
        text(&output.stderr).contains("Unpack it first"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(fs::read(folder.join("mod.zip")).unwrap(), before);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
}

#[test]
fn sarif_names_the_archive_and_the_place_in_it() {
    let folder = folder("sarif");
    packed("faults/names", &folder.join("mod.zip"));
    let output = trunnion(&folder, &["check", "--format", "sarif", "mod.zip"]);
    sarif::assert_valid(&text(&output.stdout));
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
    let folder = folder("measured");
    packed("ternholt", &folder.join("quay.zip"));
    let real = outside::project().join("corpus/ternholt/machines/bram-6.machine.xml");
    let inside = "quay.zip!/machines/bram-6.machine.xml";
    let figures = |file: &str| text(&trunnion(&folder, &["motion", file, "--json"]).stdout);
    let (there, here) = (figures(real.to_str().unwrap()), figures(inside));
    assert!(here.len() > 100, "{here}");
    assert_eq!(
        here.replace(inside, ""),
        there.replace(real.to_str().unwrap(), "")
    );
    let plot = trunnion(&folder, &["plot", inside, "-o", "out.svg"]);
    assert_eq!(plot.status.code(), Some(0), "{}", text(&plot.stderr));
    assert!(fs::metadata(folder.join("out.svg")).unwrap().len() > 1000);
    let library = outside::project().join("corpus/ternholt");
    let place = format!("{inside}:33");
    let found = trunnion(
        &folder,
        &["precedents", &place, "--library", library.to_str().unwrap()],
    );
    assert_eq!(found.status.code(), Some(0), "{}", text(&found.stderr));
}

#[test]
fn a_machine_in_an_archive_has_a_preview() {
    let folder = folder("preview");
    packed("ternholt", &folder.join("quay.zip"));
    let mut child = Command::new(program::path())
        .args(["preview", "quay.zip!/machines/bram-6.machine.xml"])
        .current_dir(&folder)
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
