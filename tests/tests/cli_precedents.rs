//! How others did it, on the command line: `trunnion precedents`, and controls written as others write theirs.

use std::process::Output;

use acceptance::desk::{BRAM, corpus};
use acceptance::program::{stderr, stdout};
use acceptance::yard::Yard;

/// A folder with the demo's carrier, and a library beside it: levers of others in a folder and in an archive.
struct Quay(Yard);

const HEAD: &str =
    "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\">\n  <controls>\n";
const TAIL: &str = "  </controls>\n</machine>\n";

impl Quay {
    fn new() -> Self {
        let quay = Self(Yard::empty());
        for file in ["bram-6.machine.xml", "bram-6.gltf"] {
            quay.0.copy(&corpus().join(BRAM).with_file_name(file), file);
        }
        quay.other("a", "    <lever animation=\"a\" input=\"stick.2.x\" gain=\"1.5\" rate=\"2\" text=\"Fold\"/>\n");
        quay.other("b", "    <lever animation=\"b\" input=\"stick.2.x\" gain=\"1.5\" rate=\"2\" text=\"Turn\">\n      <cue sound=\"s\"/>\n    </lever>\n");
        quay
    }

    fn other(&self, name: &str, controls: &str) {
        let file = format!("others/{name}.machine.xml");
        self.0.write(&file, format!("{HEAD}{controls}{TAIL}"));
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.0
            .command(arguments)
            .env("XDG_CACHE_HOME", self.0.join("caches"))
            .output()
            .unwrap()
    }

    fn line_of(&self, needle: &str) -> usize {
        let text = self.0.text("bram-6.machine.xml");
        1 + text.lines().position(|line| line.contains(needle)).unwrap()
    }
}

/// The carrier with a lever of its own.
fn with_lever(quay: &Quay) {
    let text = quay.0.text("bram-6.machine.xml");
    let lever = "  <controls>\n    <lever animation=\"mast.raise\" input=\"pointer.x\"/>\n";
    let text = text.replace("  <controls>\n", lever);
    quay.0.write("bram-6.machine.xml", text);
}

#[test]
fn the_places_of_others_are_shown() {
    let quay = Quay::new();
    with_lever(&quay);
    let line = quay.line_of("<lever");
    let place = format!("bram-6.machine.xml:{line}");
    let output = quay.run(&["precedents", &place, "--library", "others"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    assert!(
        text.starts_with("<lever> stands in 2 machines of the library.\n"),
        "{text}"
    );
    assert!(
        text.contains("gain       2 of 2 machines: 1.5 in 2\n"),
        "{text}"
    );
    let example = format!(
        "{}:3\n    <lever animation=\"b\" input=\"stick.2.x\" gain=\"1.5\" rate=\"2\" text=\"Turn\">\n      <cue sound=\"s\"/>\n    </lever>\n",
        quay.0.join("others/b.machine.xml").display()
    );
    assert!(text.contains(&example), "{text}");
    let one = stdout(&quay.run(&["precedents", &place, "--library", "others", "--most", "1"]));
    assert_eq!(one.matches("<lever animation").count(), 1, "{one}");
}

#[test]
fn a_line_with_a_comment_is_about_the_element_beside_or_around_it() {
    let quay = Quay::new();
    let text = quay.0.text("bram-6.machine.xml");
    let lever = "  <controls>\n    <!-- once -->\n    <!-- twice --> <lever animation=\"mast.raise\" input=\"pointer.x\"/>\n";
    let text = text.replace("  <controls>\n", lever);
    quay.0.write("bram-6.machine.xml", text);
    for (line, element, children) in [("once", "controls", "<lever>"), ("twice", "lever", "<cue>")]
    {
        let place = format!("bram-6.machine.xml:{}", quay.line_of(line));
        let output = quay.run(&["precedents", &place, "--library", "others"]);
        let text = stdout(&output);
        assert!(
            text.starts_with(&format!(
                "<{element}> stands in 2 machines of the library.\n"
            )),
            "{text}{}",
            stderr(&output)
        );
        // What others have in it is told with its count.
        assert!(text.contains(&format!("  {children} ")), "{text}");
    }
}

#[test]
fn the_library_of_the_settings_is_looked_into_and_archives_too() {
    let quay = Quay::new();
    with_lever(&quay);
    let lever = "    <lever animation=\"c\" input=\"stick.1.x\" sense=\"reversed\"/>\n";
    let member = ("in/c.machine.xml", format!("{HEAD}{lever}{TAIL}"));
    quay.0.archive("others/more.zip", &[member]);
    let settings = "library = [\"others\"]\ncache-folder = \"kept\"\n";
    quay.0.write("trunnion.toml", settings);
    let place = format!("./bram-6.machine.xml:{}", quay.line_of("<lever"));
    let text = stdout(&quay.run(&["precedents", &place]));
    assert!(text.contains("3 machines of the library"), "{text}");
    assert!(
        text.contains("more.zip!/in/c.machine.xml:3\n    <lever animation=\"c\""),
        "{text}"
    );
    assert!(!quay.0.names("kept").is_empty() && !quay.0.join("caches").exists());
}

#[test]
fn several_processes_at_once_see_the_same() {
    let quay = Quay::new();
    with_lever(&quay);
    for at in 0..200 {
        let lever = format!("    <lever animation=\"a{at}\" input=\"stick.1.x\"/>\n");
        quay.other(&format!("more-{at}"), &lever);
    }
    let place = format!("bram-6.machine.xml:{}", quay.line_of("<lever"));
    let texts: Vec<String> = std::thread::scope(|scope| {
        let run = || stdout(&quay.run(&["precedents", &place, "--library", "others"]));
        let running: Vec<_> = (0..4).map(|_| scope.spawn(run)).collect();
        running.into_iter().map(|one| one.join().unwrap()).collect()
    });
    assert!(texts[0].contains("202 machines"), "{}", texts[0]);
    assert!(texts.iter().all(|text| *text == texts[0]));
    let mut kept = quay.0.names("caches/trunnion");
    kept.retain(|file| !file.ends_with(".locked"));
    assert_eq!(kept.len(), 1, "one index, nothing half-written: {kept:?}");
}

#[test]
fn a_control_is_written_as_others_write_theirs() {
    let quay = Quay::new();
    let own = stdout(&quay.run(&["adjust", "bram-6.machine.xml", "leg.left", "leg.right"]));
    let arguments = [
        "adjust",
        "bram-6.machine.xml",
        "leg.left",
        "leg.right",
        "--library",
        "others",
    ];
    let output = quay.run(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let theirs = stdout(&output);
    let lever = |text: &str| {
        let line = text
            .lines()
            .find(|line| line.starts_with('+') && line.contains("<lever"));
        line.unwrap().trim_start_matches('+').trim().to_owned()
    };
    assert_ne!(lever(&own), lever(&theirs));
    assert!(
        lever(&theirs).contains("input=\"stick.2.x\" gain=\"1.5\" rate=\"2\" text="),
        "{theirs}"
    );
    assert!(theirs.contains("Proven by calculation"), "{theirs}");
}

#[test]
fn what_cannot_be_done_is_said() {
    let quay = Quay::new();
    let refused = |arguments: &[&str], code: i32, reason: &str| {
        let output = quay.run(arguments);
        assert_eq!(
            output.status.code(),
            Some(code),
            "{arguments:?}: {}",
            stderr(&output)
        );
        assert!(stderr(&output).contains(reason), "{}", stderr(&output));
        assert_eq!(stdout(&output), "");
    };
    let place = |line: usize| format!("bram-6.machine.xml:{line}");
    refused(&["precedents", &place(5)], 2, "no library is named");
    refused(
        &["precedents", &place(5), "--library", "nowhere"],
        2,
        "no such folder",
    );
    refused(
        &["precedents", "bram-6.machine.xml", "--library", "others"],
        2,
        "lines count from 1",
    );
    refused(
        &["precedents", &place(9999), "--library", "others"],
        2,
        "has no line 9999",
    );
    let wheel = quay.line_of("<wheel ");
    refused(
        &["precedents", &place(wheel), "--library", "others"],
        1,
        "has <wheel>, and the library has nothing like it",
    );
    assert!(quay.0.join("bram-6.machine.xml").exists());
}

#[test]
fn lines_are_counted_however_they_end() {
    let quay = Quay::new();
    with_lever(&quay);
    let place = format!("bram-6.machine.xml:{}", quay.line_of("<lever"));
    let text = quay.0.text("bram-6.machine.xml");
    let shown = |end: &str| {
        quay.0.write("bram-6.machine.xml", text.replace('\n', end));
        let output = quay.run(&["precedents", &place, "--library", "others"]);
        (output.status.code(), stdout(&output))
    };
    let usual = shown("\n");
    assert_eq!(usual.0, Some(0));
    assert_eq!(shown("\r"), usual);
    assert_eq!(shown("\r\n"), usual);
    let beyond = quay.run(&[
        "precedents",
        "bram-6.machine.xml:9999",
        "--library",
        "others",
    ]);
    assert_eq!(beyond.status.code(), Some(2));
}
