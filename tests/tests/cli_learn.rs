//! `trunnion learn`: kinds of documents, choices, documents of several namespaces; and learning again.

use acceptance::yard::{Yard, said};

/// A sheet that lists masts: each with a rope or a chain.
fn masts(number: usize) -> String {
    let held = |at: usize| ["rope", "chain"][(number + at) % 2];
    let mast = |at: usize| {
        let (height, held) = (3 + at + number % 3, held(at));
        format!("    <mast height=\"{height}\">\n      <{held} long=\"{number}\"/>\n    </mast>\n")
    };
    format!(
        "<sheet>\n  <masts>\n{}{}  </masts>\n  <note>n{number}</note>\n</sheet>\n",
        mast(0),
        mast(1)
    )
}

/// A sheet of another kind, with the same root.
fn fares(number: usize) -> String {
    format!(
        "<sheet>\n  <fares>\n    <fare coins=\"2\" to=\"a{number}\"/>\n    <fare coins=\"3\" to=\"b{number}\"/>\n  </fares>\n  \
         <hours from=\"{}\" until=\"18\"/>\n</sheet>\n",
        5 + number % 4
    )
}

/// Learns `library` into `t.dialect.toml`. What was said, and the file.
fn learn(yard: &Yard) -> (String, String) {
    let mut command = yard.command(&["learn", "library", "-o", "t.dialect.toml"]);
    let said = said(&command.output().unwrap());
    (
        said,
        String::from_utf8(yard.read("t.dialect.toml")).unwrap(),
    )
}

fn edit(yard: &Yard, edits: &[(&str, &str)]) {
    let mut text = String::from_utf8(yard.read("t.dialect.toml")).unwrap();
    for (from, to) in edits {
        assert!(text.contains(from), "{from}: {text}");
        text = text.replacen(from, to, 1);
    }
    yard.write("t.dialect.toml", &text);
}

/// What `check` says of a sheet.
fn checked(yard: &Yard, text: &str) -> String {
    yard.write("trunnion.toml", "dialects = [\"t.dialect.toml\"]\n");
    yard.write("own.xml", text);
    said(&yard.command(&["check", "own.xml"]).output().unwrap())
}

#[test]
fn what_a_person_wrote_stays_when_a_library_turns_out_to_have_two_kinds() {
    let yard = Yard::empty();
    for at in 0..8 {
        yard.write(&format!("library/m{at}.xml"), masts(at));
    }
    let (_, first) = learn(&yard);
    assert!(first.contains("children = [\"rope | chain\"]"), "{first}");
    edit(
        &yard,
        &[
            (
                "[element.sheet]\n",
                "# by hand\n[element.sheet]\ndoc = \"A book of masts.\"\n",
            ),
            ("[\"masts\", \"note\"]", "[\"masts\", \"note*\"]"),
            (
                "children = [\"rope | chain\"]\nstrict = false\n",
                "children = [\"rope | chain | wire\"]\n",
            ),
            ("[element.chain]", "[element.wire]\n\n[element.chain]"),
        ],
    );
    // Another kind comes into the library, in more files than the first.
    for at in 0..12 {
        yard.write(&format!("library/f{at}.xml"), fares(at));
    }
    let (said, second) = learn(&yard);
    assert!(said.contains("2 kinds of documents"), "{said}");
    for kept in [
        "# by hand\n[element.sheet]\ndoc = \"A book of masts.\"\nchildren = [\"masts\", \"note*\"]\n",
        "children = [\"rope | chain | wire\"]\n",
        "[element.wire]\n",
        "[element.\"sheet-fares:/sheet\"]\n",
    ] {
        assert!(second.contains(kept), "{kept}{second}");
    }
    // Both kinds are understood, and the choice is the person's.
    for text in [
        masts(3).replace("<note>n3</note>", "<note>a</note><note>b</note>"),
        masts(4).replace("<rope long=\"4\"/>", "<wire/>"),
        fares(3),
    ] {
        let said = checked(&yard, &text);
        assert!(said.contains("nothing to complain about"), "{said}{text}");
    }
    let both = masts(4).replace("<rope long=\"4\"/>", "<rope long=\"4\"/><wire/>");
    let said = checked(&yard, &both);
    assert!(
        said.contains("error") && said.contains("too-many"),
        "{said}"
    );
    // The same once more changes nothing.
    assert_eq!(learn(&yard).1, second);
}

/// A letter whose content is in a namespace of its own, with its prefix: `plan:` or the like, or none.
fn letter(number: usize, prefix: &str) -> String {
    let (declared, mark) = match prefix {
        "" => ("xmlns".to_owned(), String::new()),
        prefix => (format!("xmlns:{prefix}"), format!("{prefix}:")),
    };
    let hands = (0..3).map(|at| {
        format!(
            "    <{mark}hand name=\"h{number}{at}x\" age=\"{}\"/>\n",
            20 + number + at
        )
    });
    let tasks = (0..3).map(|at| {
        let by = (number + at) % 3;
        format!(
            "    <{mark}task hours=\"{}\" by=\"h{number}{by}x\"/>\n",
            1 + at
        )
    });
    let (hands, tasks): (String, String) = (hands.collect(), tasks.collect());
    format!(
        "<c:letter xmlns:c=\"urn:cover\">\n  <{mark}plan {declared}=\"urn:plan\">\n{hands}{tasks}  </{mark}plan>\n  \
         <n:note xmlns:n=\"urn:note\" by=\"nobody\"/>\n</c:letter>\n"
    )
}

#[test]
fn what_a_cover_holds_is_learnt_and_checked_whatever_its_prefix() {
    let yard = Yard::empty();
    for at in 0..9 {
        yard.write(
            &format!("library/l{at}.xml"),
            letter(at, ["p", "plan", ""][at % 3]),
        );
    }
    let (_, text) = learn(&yard);
    for line in [
        "namespace = \"urn:cover\"\ninner-namespaces = [\"urn:plan\"]\n",
        "[element.letter]\nchildren = [\"plan\"]",
        "by = { type = \"reference\", of = \"hand\", required = true",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    for prefix in ["", "x"] {
        let right = letter(20, prefix);
        let told = checked(&yard, &right);
        assert!(told.contains("nothing to complain about"), "{told}");
        let told = checked(&yard, &right.replace("by=\"h201x\"", "by=\"h999x\""));
        assert!(told.contains("hint[unknown-name]"), "{prefix}: {told}");
        let told = checked(&yard, &right.replace("task hours", "tusk hours"));
        assert!(told.contains("hint[unknown-element]"), "{prefix}: {told}");
    }
    // What is in the same words but in a namespace that means nothing here is left alone.
    let strange = letter(20, "x")
        .replace("urn:plan", "urn:plan:2")
        .replace("task hours", "tusk hours");
    let told = checked(&yard, &strange);
    assert!(!told.contains("tusk"), "{told}");
    let exported = yard
        .command(&["dialect", "export", "t.dialect.toml", "--xsd"])
        .output()
        .unwrap();
    assert_eq!(exported.status.code(), Some(2), "{}", said(&exported));
    assert!(
        said(&exported).contains("several namespaces"),
        "{}",
        said(&exported)
    );
}

const REPORTED: [&str; 6] = [
    "learn",
    "library",
    "-o",
    "t.dialect.toml",
    "--report",
    "own.json",
];

#[test]
fn what_is_no_dialect_and_no_report_is_left_as_it_is() {
    let yard = Yard::with(&[
        ("library/a.xml", masts(1).as_str()),
        ("trunnion.toml", "heavy-file = 3\n"),
        ("own.json", "{}"),
    ]);
    for (arguments, file, reason) in [
        (
            &["learn", "library", "-o", "trunnion.toml"][..],
            "trunnion.toml",
            "is no dialect",
        ),
        (&REPORTED, "own.json", "is no report"),
    ] {
        let before = yard.read(file);
        let output = yard.command(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{output:?}");
        assert!(
            String::from_utf8_lossy(&output.stderr).contains(reason),
            "{output:?}"
        );
        assert_eq!(yard.read(file), before);
    }
    // What is empty, and what was learnt or reported before, is renewed.
    yard.write("own.json", "");
    for _ in 0..2 {
        let output = yard.command(&REPORTED).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{output:?}");
    }
}
