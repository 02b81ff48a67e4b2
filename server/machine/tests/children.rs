//! What is read of many children at once is what each of them says.

use dialect::{Dialect, Path};
use machine::{Found, Reader};
use std::fmt::Write as _;

const PIECES: [&str; 9] = [
    " target='mast'",
    " target=' mast '",
    " target='a&amp;b'",
    " target=''",
    " begin='1'",
    " odd='2'",
    " xmlns='urn:other'",
    " xmlns='urn:trunnion:machine:1'",
    " xmlns:c='urn:trunnion:machine:1'",
];

/// Every way to write up to three of these, in children of four names.
#[test]
fn leaves_of_children_are_those_that_steps_lead_to() {
    let dialect = Dialect::house();
    let root = Some((Some("urn:trunnion:machine:1"), "machine"));
    let (kind, _) = dialect.fit(root, None, "a.machine.xml").expect("fits");
    let (mut seen, mut declared) = (0, 0);
    let choices = PIECES.len() + 1;
    for number in 0..choices.pow(3) {
        let pieces = (0..3).filter_map(|place| PIECES.get(number / choices.pow(place) % choices));
        let pieces: String = pieces.copied().collect();
        let mut text = String::from("<machine xmlns='urn:trunnion:machine:1'>");
        for name in ["channel", "c:channel", "carry", "c:carry"] {
            write!(text, "<{name}{pieces}>words</{name}><{name}{pieces}/>").unwrap();
        }
        text.push_str("</machine>");
        let tree = syntax::parse(&text);
        let reader = Reader::new(&tree, &dialect, kind);
        let chain = vec![reader.root().expect("a root")];
        for leaf in ["@target", "@odd", "text()"] {
            let path = Path::parse(&format!("channel/{leaf}")).unwrap();
            let steps = Path::parse("channel").unwrap();
            let all = reader.elements(&chain, &steps);
            let leaf = Path::parse(leaf).unwrap();
            let all = all.iter().filter_map(|child| reader.value(child, &leaf));
            let all: Vec<String> = all.map(|found| shown(&found)).collect();
            let found = reader.values(&chain, &path);
            declared += found.iter().filter(|one| one.declared.is_some()).count();
            let found: Vec<String> = found.iter().map(shown).collect();
            assert_eq!(found, all, "{path} in {text}");
            seen += found.len();
        }
    }
    assert!(seen > 1000 && declared > 1000, "{seen}, {declared}");
}

fn shown(found: &Found<'_>) -> String {
    let declared = found.declared.map(|declared| &declared.name);
    format!("{:?} {:?} {declared:?}", found.text, found.range)
}
