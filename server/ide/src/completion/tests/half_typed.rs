use super::*;

/// The same half-typed tag in three surroundings: at the end of the text, before
/// a sibling, before the end tag.
fn everywhere(typed: &str) -> [Fixture; 3] {
    let start = "<machine xmlns=\"urn:trunnion:machine:1\" scene=\"rig.gltf\">\n  <aliases>\n    ";
    [
        format!("{start}{typed}"),
        format!(
            "{start}{typed}\n    <alias name=\"mast\" path=\"0/2\"/>\n  </aliases>\n</machine>\n"
        ),
        format!("{start}{typed}\n  </aliases>\n</machine>\n"),
    ]
    .map(|text| Fixture::house(&text).scene(crate::fixture::RIG))
}

fn check_everywhere(typed: &str, first: &[&str]) {
    for fixture in everywhere(typed) {
        let labels = labels(&fixture);
        assert_eq!(
            labels.get(..first.len()),
            Some(&first.map_to_owned()[..]),
            "{fixture:?}"
        );
    }
}

trait MapToOwned {
    fn map_to_owned(&self) -> Vec<String>;
}

impl MapToOwned for [&str] {
    fn map_to_owned(&self) -> Vec<String> {
        self.iter().map(|item| (*item).to_owned()).collect()
    }
}

#[test]
fn elements() {
    check_everywhere("<$0", &["alias"]);
    check_everywhere("<al$0", &["alias"]);
}

#[test]
fn attributes() {
    check_everywhere("<alias $0", &["name", "path"]);
    check_everywhere("<alias na$0", &["name", "path"]);
    check_everywhere("<alias name=\"a\" $0", &["path"]);
}

#[test]
fn values() {
    check_everywhere("<alias path=$0", &["0", "0/0", "0/0/0"]);
    check_everywhere("<alias path=\"$0", &["0", "0/0", "0/0/0"]);
    check_everywhere("<alias path=\"$0\"", &["0", "0/0", "0/0/0"]);
    check_everywhere("<alias path=\"0/$0", &["0/0", "0/1", "0/2", "0/0/0"]);
    check_everywhere("<alias path=\"0/$0\"/>", &["0/0", "0/1", "0/2", "0/0/0"]);
}

#[test]
fn end_tags() {
    check_everywhere("</$0", &["aliases"]);
}

#[test]
fn missing_quotes_are_added() {
    for (typed, written) in [
        ("<alias path=$0", "<alias path=\"0/1\""),
        ("<alias path=\"$0", "<alias path=\"0/1\""),
        ("<alias path=\"0/$0", "<alias path=\"0/1\""),
        ("<alias path='0/$0", "<alias path='0/1'"),
        ("<alias path=\"0/$0\"/>", "<alias path=\"0/1\"/>"),
        ("<alias path=0/$0", "<alias path=\"0/1\""),
        (
            "<alias path=\"$0 name=\"x\"/>",
            "<alias path=\"0/1\" name=\"x\"/>",
        ),
    ] {
        for fixture in everywhere(typed) {
            let text = taken(&fixture, "0/1");
            let line = text.lines().nth(2).unwrap_or_default();
            assert_eq!(line.trim(), written, "{fixture:?}");
        }
    }
}
