use super::*;
use expect_test::expect;

const LEARNT: &str = r#"[dialect]
name = "quay"
doc = "Learnt from 3 files."
format = 1

[[document]]
name = "raft"
root = "raft"

[element.raft]
children = ["log*", "oar?"]
strict = false
learnt = { seen = 3 }
attributes.beam = { type = "number", strict = false, learnt = { seen = 3 } }

[element.log]
strict = false
learnt = { seen = 9 }

[element.log.attributes]
wood = { type = "word", words = ["fir", "oak"], strict = false, learnt = { seen = 9 } }
wet = { type = "boolean", strict = false, learnt = { seen = 2 } }

[element.oar]
strict = false
learnt = { seen = 1 }
"#;

fn after(edit: &[(&str, &str)], again_learnt: &str) -> String {
    let mut there = first(LEARNT).unwrap();
    for (from, to) in edit {
        assert!(there.contains(from), "{from} is in the file");
        there = there.replacen(from, to, 1);
    }
    let (text, _) = again(&there, again_learnt).unwrap();
    // Whatever happened, the same again changes nothing.
    assert_eq!(again(&text, again_learnt).unwrap().0, text);
    let at = text.find("\n# Fingerprints").unwrap();
    text[..at].to_owned()
}

#[test]
fn what_nobody_changed_is_renewed() {
    let new = LEARNT
        .replace("[\"fir\", \"oak\"]", "[\"fir\", \"oak\", \"ash\"]")
        .replace("seen = 9", "seen = 12")
        .replace("wet =", "dry =");
    assert_eq!(after(&[], &new), new);
    assert_eq!(after(&[], LEARNT), LEARNT);
}

#[test]
fn what_was_changed_stays_but_for_its_record() {
    let edits = [
        (
            "{ type = \"word\", words = [\"fir\", \"oak\"], strict = false,",
            "{ type = \"text\", strict = false,",
        ),
        (
            "[element.log]",
            "# Logs are measured wet.\n[element.log]\ndoc = \"A log.\"",
        ),
        (
            "attributes.beam = { type = \"number\", strict = false,",
            "attributes.beam = { type = \"number\", unit = \"cm\",",
        ),
        ("name = \"quay\"", "name = \"Ternholt\" # ours"),
    ];
    let new = LEARNT
        .replace("\"oak\"]", "\"ash\"]")
        .replace("seen = 3", "seen = 5")
        .replace("seen = 9", "seen = 12")
        .replace("from 3", "from 5");
    expect![[r#"
        [dialect]
        name = "Ternholt" # ours
        doc = "Learnt from 5 files."
        format = 1

        [[document]]
        name = "raft"
        root = "raft"

        [element.raft]
        children = ["log*", "oar?"]
        strict = false
        learnt = { seen = 5 }
        attributes.beam = { type = "number", unit = "cm", learnt = { seen = 5 } }

        # Logs are measured wet.
        [element.log]
        doc = "A log."
        strict = false
        learnt = { seen = 12 }

        [element.log.attributes]
        wood = { type = "text", strict = false, learnt = { seen = 12 } }
        wet = { type = "boolean", strict = false, learnt = { seen = 2 } }

        [element.oar]
        strict = false
        learnt = { seen = 1 }
    "#]]
    .assert_eq(&after(&edits, &new));
}

#[test]
fn what_was_removed_stays_away_and_what_was_promoted_stays_as_it_is() {
    let edits = [
        (
            "wet = { type = \"boolean\", strict = false, learnt = { seen = 2 } }\n",
            "",
        ),
        (
            "[\"log*\", \"oar?\"]\nstrict = false\n",
            "[\"log*\", \"oar?\"]\n",
        ),
        (
            "wood = { type = \"word\", words = [\"fir\", \"oak\"], strict = false, ",
            "wood = { type = \"word\", words = [\"fir\", \"oak\"], ",
        ),
    ];
    let new = LEARNT
        .replace("\"oak\"]", "\"ash\"]")
        .replace("\"oar?\"]", "\"sail*\"]")
        .replace("element.oar", "element.sail");
    expect![[r#"
        [dialect]
        name = "quay"
        doc = "Learnt from 3 files."
        format = 1

        [[document]]
        name = "raft"
        root = "raft"

        [element.raft]
        children = ["log*", "oar?"]
        learnt = { seen = 3 }
        attributes.beam = { type = "number", strict = false, learnt = { seen = 3 } }

        [element.log]
        strict = false
        learnt = { seen = 9 }

        [element.log.attributes]
        wood = { type = "word", words = ["fir", "oak"], learnt = { seen = 9 } }

        [element.oar]
        strict = false
        learnt = { seen = 1 }
    "#]]
    .assert_eq(&after(&edits, &new));
}

#[test]
fn a_file_that_was_written_by_hand_is_added_to() {
    let by_hand =
        "[dialect]\nname = \"quay\"\nformat = 1\n\n[element.raft]\nchildren = [\"log\"]\n";
    let (text, kept) = again(by_hand, LEARNT).unwrap();
    assert!(text.starts_with(by_hand));
    assert!(
        text.contains("[element.log.attributes]")
            && text.contains("root = \"raft\"")
            && !text.contains("element.oar")
    );
    assert_eq!(kept.removed, 0);
}

#[test]
fn what_was_seen_no_more_comes_back_when_it_is_seen_again() {
    let without = LEARNT[..LEARNT.find("\n[element.oar]").unwrap()].replace(", \"oar?\"", "");
    let there = first(LEARNT).unwrap();
    let (gone, kept) = again(&there, &without).unwrap();
    assert!(!gone.contains("oar") && kept == Kept::default());
    let (back, kept) = again(&gone, LEARNT).unwrap();
    assert!(back.contains("[element.oar]") && back.contains("\"oar?\""));
    assert_eq!(kept, Kept::default());
}

/// Of two kinds of documents with one root, learning gave the short key to the rafts first, and then to the ferries.
#[test]
fn a_short_key_goes_on_meaning_the_kind_that_it_meant() {
    let kind = |name: &str, holds: &str| {
        format!("[[document]]\nname = \"{name}\"\nroot = \"raft\"\nholds = [\"{holds}\"]\n\n")
    };
    let element = |key: &str, child: &str| {
        format!(
            "[element.{key}]\nchildren = [{child}]\nstrict = false\nlearnt = {{ seen = 3 }}\n\n"
        )
    };
    let rest = &LEARNT[LEARNT.find("[element.log]").unwrap()..];
    let head = "[dialect]\nname = \"quay\"\nformat = 1\n\n";
    let split = format!(
        "{head}{}{}{}{}[element.fare]\nstrict = false\n\n{rest}",
        kind("raft-fares", "fare"),
        kind("raft-logs", "log"),
        element("raft", "\"fare+\""),
        element("\"raft-logs:/raft\"", "\"log*\", \"oar?\""),
    );
    let text = after(&[("\"oar?\"]", "\"oar*\"]")], &split);
    assert!(
        text.contains("[element.raft]\nchildren = [\"log*\", \"oar*\"]"),
        "{text}"
    );
    assert!(
        text.contains("[element.\"raft-fares:/raft\"]\nchildren = [\"fare+\"]")
            && text.contains("[element.fare]")
            && !text.contains("raft-logs:/"),
        "{text}"
    );
}

/// What tells a document from others with its root changes when these come or go.
#[test]
fn documents_of_one_root_come_and_go_together() {
    let document = |name: &str| format!("[[document]]\nname = \"{name}\"\nroot = \"raft\"\n\n");
    let raft = document("raft");
    let more = LEARNT.replace(
        &raft,
        &format!("{raft}{}{}", document("ferry"), document("barge")),
    );
    let kept = Kept::default();
    let (grown, _) = again(&first(LEARNT).unwrap(), &more).unwrap();
    for (from, to) in [(&grown, LEARNT), (&first(&more).unwrap(), LEARNT)] {
        let (text, now) = again(from, to).unwrap();
        assert_eq!(now, kept);
        assert_eq!(text, first(to).unwrap());
    }
    assert_eq!(grown.matches("root = \"raft\"").count(), 3);
}

/// A dialect in which rafts and oars hold knots, which have these keys.
fn knots(keys: &[&str]) -> String {
    let held = LEARNT.replace("\"oar?\"]", "\"oar?\", \"knot\"]");
    let oar = "[element.oar]\nchildren = [\"knot\"]";
    let keys = keys.iter();
    let knots = keys.map(|key| {
        format!("\n[element.\"{key}\"]\ntext = {{ type = \"text\" }}\nstrict = false\n")
    });
    held.replace("[element.oar]", oar) + &knots.collect::<String>()
}

#[test]
fn a_key_goes_when_others_declare_what_it_did() {
    let (apart, together) = (knots(&["raft/knot", "oar/knot"]), knots(&["knot"]));
    let renewed = |there: &str, new: &str| {
        let (text, kept) = again(&first(there).unwrap(), new).unwrap();
        assert_eq!(kept, Kept::default());
        text[..text.find("\n# Fingerprints").unwrap()]
            .replace("[element.knot]", "[element.\"knot\"]")
    };
    assert_eq!(renewed(&apart, &together), together);
    assert_eq!(renewed(&together, &apart), apart);
}

#[test]
fn a_key_stays_where_only_it_declares_what_a_person_lists() {
    let only_rafts = knots(&["raft/knot"]).replace("children = [\"knot\"]\n", "");
    let there = first(&knots(&["knot"])).unwrap();
    let by_hand = there.replace("children = [\"knot\"]", "children = [\"knot+\"]");
    let (text, _) = again(&by_hand, &only_rafts).unwrap();
    assert!(text.contains("[element.\"knot\"]") && text.contains("[element.\"raft/knot\"]"));
}
