//! `trunnion learn`, learning again: kinds of documents and choices.

use std::process::Output;

use acceptance::yard::Yard;

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

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&[&output.stdout[..], &output.stderr[..]].concat()).into_owned()
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
    let yard = Yard::new("learn-kinds");
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
