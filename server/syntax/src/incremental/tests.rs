//! Incremental = full: after any sequence of edits the tree, the errors and the notes are those of a fresh parse.

use proptest::prelude::*;
use rowan::{GreenNodeData, NodeOrToken, TextRange, TextSize};

use super::{ROOM, edited_with};
use crate::kind::Kind;
use crate::wide::Wide;
use crate::{TextEdit, Tree, parse};

/// What people and editors insert, and what breaks things.
pub(crate) const PIECES: &[&str] = &[
    "<",
    ">",
    "/",
    "=",
    "\"",
    "'",
    "&",
    ";",
    "!",
    "?",
    "-",
    "--",
    "[",
    "]",
    "]]>",
    " ",
    "\n",
    "\r\n",
    "\r",
    "\t",
    "    ",
    "x",
    "alias",
    "a",
    "x:",
    "é",
    "😀",
    "\u{FEFF}",
    "\u{1}",
    "\u{FFFE}",
    "<a",
    "</a",
    "</",
    "</a>",
    "<a>",
    "<b>",
    "</b>",
    "<b/>",
    "<alias name=\"n\" path=\"0\"/>",
    "<b>1</b>",
    ">t</b>",
    "<alias>",
    "</alias>",
    "</aliases>",
    "\n</alais>",
    "\n</Alias>\n",
    "\n<alias>\n",
    "</machine>",
    "<machine>",
    " x=\"1\"",
    " x='2'",
    " y=",
    " y",
    "<!--",
    "-->",
    "<!-- c -->",
    "<![CDATA[",
    "<![CDATA[t]]>",
    "<?",
    "<?p q?>",
    "<?xml version=\"1.0\"?>",
    "<!DOCTYPE a>",
    "&amp;",
    "&e;",
    "&#65;",
    " xmlns:x=\"u\"",
    "<x:a/>",
    "\n    <a>",
    "\n      <b>",
    "\n    </a>",
    "\n  </b>",
    "\n</c>",
    "\n    <alias name=\"k\"",
    "“",
    "text",
    "\n",
    "\n  ",
    "  ",
    "/a>",
    "/alias>\n",
    "\n  <aliases>\n",
    "\n    <a>\n",
    "<--",
    " x=1 2",
    " y=a b\"",
    "->",
];

pub(crate) const MACHINE: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<machine xmlns="urn:trunnion:machine:1" xmlns:x="urn:x" id="rig" title="Größe 😀">
  <!-- names -->
  <aliases>
    <alias name="leg.left" path="0/0"/>
    <alias name="leg.right" path="0/1"/>
    <alias name='mast' path='0/2' x:note="tall"/>
  </aliases>
  <texts>
    <text key="a">Some &amp; more <b>text</b> here.</text>
    <text key="b"><![CDATA[raw <text>]]></text>
    <x:group>
      <group><group><leaf/></group></group>
    </x:group>
  </texts>
  <lamps><lamp id="1"></lamp><lamp id="2"/></lamps>
  <mast>
    <mass>12.5</mass><gain unit="one">1.5 </gain>
    <text key="a">Some more text.</text >
    <note>  </note><note of="a>b">c</note>
    <pose>
      0 0 0
    </pose>
  </mast>
</machine>
"#;

/// All nodes and tokens with their depth, chunks left out.
fn flat(green: &GreenNodeData) -> Vec<(usize, Kind, String)> {
    let mut out = Vec::new();
    let mut open = vec![Wide::new(green, TextSize::new(0))];
    while let Some(level) = open.last_mut() {
        match level.next() {
            None => {
                open.pop();
            }
            Some((NodeOrToken::Token(token), _)) => {
                out.push((open.len(), Kind::of(token.kind()), token.text().to_owned()));
            }
            Some((NodeOrToken::Node(node), offset)) => {
                out.push((open.len(), Kind::of(node.kind()), String::new()));
                open.push(Wide::new(node, offset));
            }
        }
    }
    out
}

pub(crate) fn assert_same(incremental: &Tree, text: &str, what: &dyn Fn() -> String) {
    let full = parse(text);
    let only_in = |one: &Tree, other: &Tree| -> Vec<crate::FormError> {
        one.errors
            .iter()
            .filter(|error| !other.errors.contains(error))
            .cloned()
            .collect()
    };
    assert!(
        incremental.errors == full.errors,
        "errors {}\n{text}\nonly incremental: {:#?}\nonly full: {:#?}",
        what(),
        only_in(incremental, &full),
        only_in(&full, incremental),
    );
    assert_eq!(
        flat(&incremental.green),
        flat(&full.green),
        "trees {}\n{text}",
        what()
    );
    assert_eq!(incremental.notes, full.notes, "notes {}\n{text}", what());
}

/// A document under edit.
struct Session {
    text: String,
    tree: Tree,
    /// How many edits did not need a full parse.
    cheap: usize,
}

impl Session {
    fn new(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            tree: parse(text),
            cheap: 0,
        }
    }

    fn edit(&mut self, start: usize, len: usize, insert: &str) {
        let floor = |at: usize, text: &str| {
            (0..=at.min(text.len()))
                .rev()
                .find(|&at| text.is_char_boundary(at))
                .unwrap_or(0)
        };
        let start = floor(start, &self.text);
        let end = floor(start + len, &self.text).max(start);
        let before = self.text.clone();
        self.text.replace_range(start..end, insert);
        let range = TextRange::new(TextSize::new(start as u32), TextSize::new(end as u32));
        let edit = TextEdit::replace(range, insert);
        // It does not matter how much of the text is looked at first.
        let [wide, narrow] =
            [ROOM, TextSize::new(1)].map(|room| edited_with(room, &self.tree, &edit));
        let what = || format!("after {insert:?} at {start}..{end} of\n{before}\n=>");
        for tree in [&wide, &narrow].into_iter().flatten() {
            assert_same(tree, &self.text, &what);
        }
        self.cheap += usize::from(wide.is_some());
        self.tree = wide.unwrap_or_else(|| parse(&self.text));
    }
}

/// Numbers that look random and are the same each time.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 33) as usize % bound.max(1)
    }
}

#[test]
fn long_walks_of_random_edits() {
    let walks = std::env::var("WALKS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(5);
    for seed in 0..walks {
        let mut random = Random(seed);
        let mut session = Session::new(MACHINE);
        for step in 0..300 {
            // From time to time start again from something sound.
            if step % 60 == 59 {
                session = Session {
                    cheap: session.cheap,
                    ..Session::new(MACHINE)
                };
            }
            let start = random.below(session.text.len() + 1);
            let len = if random.below(3) == 0 {
                random.below(12)
            } else {
                0
            };
            let insert = if random.below(4) == 0 {
                ""
            } else {
                PIECES[random.below(PIECES.len())]
            };
            session.edit(start, len, insert);
        }
    }
}

/// Such elements are one piece of the tree.
#[test]
fn random_edits_among_elements_that_are_alike() {
    let rows = "<b x=\"1\"/>\n".repeat(60) + &"<p:b/>".repeat(20) + &"<b x=\"&e;\"/>".repeat(20);
    let element = format!("<a xmlns:p=\"u\">{rows}<c>{rows}</c><c xmlns=\"v\">{rows}</c></a>");
    let declared = "<!DOCTYPE a [<!ENTITY e \"f\"><!ATTLIST b p:x CDATA \"1\">]>\n";
    let alike = [
        "<b x=\"1\"/>",
        "<b x=\"1\"/><b x=\"1\"/>",
        "<p:b/>",
        " xmlns:p=\"w\"",
    ];
    for text in [element.clone(), format!("{declared}{element}")] {
        let mut random = Random(7);
        let mut session = Session::new(&text);
        for step in 0..200 {
            if step % 25 == 24 {
                session = Session::new(&text);
            }
            let start = random.below(session.text.len() + 1);
            let len = random.below(3) * random.below(12);
            let insert = match random.below(5) {
                0 => "",
                1 | 2 => alike[random.below(alike.len())],
                _ => PIECES[random.below(PIECES.len())],
            };
            session.edit(start, len, insert);
        }
    }
}

#[test]
fn typing_and_erasing_character_by_character() {
    let typed = [
        ("  <aliases>", "\n    <alias name=\"new\" path=\"0/4\"/>"),
        ("  <aliases>", "\n    <alias name='é'>text &amp; 😀</alias>"),
        ("more ", "<i>now</i> "),
        ("path=\"0/1\"", " note=\"a &lt; b\""),
        (
            "</texts>",
            "\n  <!-- a comment -->\n  <?pi some?><![CDATA[x]]>",
        ),
    ];
    for (place, insert) in typed {
        let mut session = Session::new(MACHINE);
        let start = MACHINE.find(place).unwrap() + place.len();
        let mut at = start;
        for c in insert.chars() {
            session.edit(at, 0, &c.to_string());
            at += c.len_utf8();
        }
        while at > start {
            let c = session.text[..at].chars().next_back().unwrap();
            at -= c.len_utf8();
            session.edit(at, c.len_utf8(), "");
        }
        assert_eq!(session.text, MACHINE);
        let edits = 2 * insert.chars().count();
        assert!(
            session.cheap * 10 >= edits * 9,
            "only {} of {edits} were cheap in {insert:?}",
            session.cheap
        );
    }
}

#[test]
fn what_stands_outside_the_root_is_parsed_by_itself() {
    let texts = [
        MACHINE.to_owned(),
        format!("{MACHINE}<!-- end -->\n"),
        MACHINE.replace('\n', ""),
        "<a/>".to_owned(),
        "<!-- c -->\n  <a>\n <b> </a>\n".to_owned(),
    ];
    let typed = ["<!-- note -->", "<?pi some?>", "\n\n"];
    for text in &texts {
        let root = text.find("<m").or_else(|| text.find("<a")).unwrap();
        for at in [0, root, text.len()] {
            for note in typed {
                let mut session = Session::new(text);
                session.edit(at, 0, note);
                session.edit(at, note.len(), "");
                if parse(text).errors().is_empty() {
                    assert_eq!(session.cheap, 2, "{note:?} at {at} of {text}");
                }
            }
        }
        // Whatever is put there.
        let mut random = Random(3);
        for _ in 0..400 {
            let mut session = Session::new(text);
            for _ in 0..3 {
                let front = random.below(root + 2);
                let back = session.text.len() - random.below(8.min(session.text.len()));
                let at = [front, back][random.below(2)];
                let piece = PIECES[random.below(PIECES.len())];
                session.edit(at, random.below(4), piece);
            }
        }
    }
}

#[test]
fn a_name_may_be_made_again_of_other_letters() {
    let text = "<?xml version\n  <channel target=\"mast\">\n </switch>\n</machine>\n<machine>";
    let mut session = Session::new(text);
    session.edit(text.find("nel").unwrap(), 0, "nel target=\"mast\" pr");
    session.edit(text.find("nel").unwrap(), 3, "nel ");
}

/// What an attribute without a value is called is no use of a prefix, so the use below it has the error.
#[test]
fn prefixes_of_attributes_without_a_value() {
    let text = "<a>\n  <c y:d>\n    <b y:c=\"2\"/>\n  </c>\n</a>";
    let (tag, below) = (text.find(">\n    <b").unwrap(), text.find("<b").unwrap());
    let mut session = Session::new(text);
    session.edit(below, 0, "x");
    session.edit(tag, 0, "=\"1\"");
    session.edit(tag, 4, "");
    session.edit(below + 1, 0, " ");
}

/// Nor is a name that is none.
#[test]
fn prefixes_of_attributes_with_names_that_are_none() {
    let text = "<a>\n  <c y:d=\"1\">\n    <b y:c=\"2\"/>\n  </c>\n</a>";
    let name_end = text.find("=\"1\"").unwrap();
    let mut session = Session::new(text);
    session.edit(name_end, 0, "\u{14}");
    session.edit(name_end, 1, "");
    session.edit(name_end, 0, ":");
    session.edit(name_end, 1, "");
}

#[test]
fn an_end_tag_may_close_an_element_of_its_column_around_the_part() {
    let text =
        "<m>\n  <list>\n    <item id='a'>\n     <list>\n    <item><x/></item>\n  </list>\n</m>\n";
    let mut session = Session::new(text);
    session.edit(text.find("</item>").unwrap(), 7, "<on>");
}

#[test]
fn how_deep_elements_are_that_end_in_hindsight() {
    for (before, after) in [(450, 143), (490, 60), (499, 2)] {
        for closed in [0, 1, 100, 210, 400] {
            let opened = |count| "<box>\n".repeat(count);
            let ends = "</box>\n".repeat(closed);
            let text = format!("<m>\n{}ox>\n{}{ends}</b", opened(before), opened(after));
            let mut session = Session::new(&text);
            let at = 4 + 6 * before;
            session.edit(at, 4, "x>\na");
            session.edit(at, 0, "</box>");
            session.edit(at, 6, "");
        }
    }
}

/// Start tags that are taken for end tags without a `/` were those of open elements, too.
#[test]
fn how_deep_elements_are_behind_end_tags_without_a_slash() {
    for before in [440, 490, 498] {
        let text = format!("<m>\n{}<on>\n</on>\n</m>", "<box>\n".repeat(before));
        let mut session = Session::new(&text);
        for inner in [1, 20, 100] {
            let nested = "<x>".repeat(inner) + &"</x>".repeat(inner);
            let at = text.find("<on>").unwrap() + 4;
            session.edit(at, 0, &nested);
            session.edit(at, nested.len(), "");
        }
    }
}

/// Of elements that ended in hindsight it is not known whether they were open where an edit is.
#[test]
fn an_edit_before_hundreds_of_elements_that_end_in_hindsight() {
    for behind in [400, 494, 600] {
        let mut session = Session::new(&format!("<m><</m><e><e>{}", "<x>".repeat(behind)));
        session.edit(3, 0, "<b/>");
        session.edit(3, 4, "");
    }
}

#[test]
fn edits_inside_wide_and_deep_lists() {
    let wide: String = (0..2000)
        .map(|n| format!("\n  <item id=\"{n}\"/>"))
        .collect();
    let deep = format!("{}{}", "<d>".repeat(450), "</d>".repeat(450));
    let many: String = (0..500).map(|n| format!(" a{n}=\"{n}\"")).collect();
    let mut session = Session::new(&format!(
        "<root><list>{wide}\n</list>{deep}<many{many}/></root>"
    ));
    let mut random = Random(5);
    for _ in 0..150 {
        let start = random.below(session.text.len() + 1);
        session.edit(start, random.below(2), PIECES[random.below(PIECES.len())]);
        let undo = session.text.len();
        if undo > 60_000 {
            break;
        }
    }
    for n in 0..300 {
        let start = session.text.find("<list>").map_or(0, |at| at + 6);
        session.edit(start, 0, &format!("\n  <new id=\"{n}\"/>"));
    }
}

#[test]
fn edits_in_a_tag_with_too_many_attributes() {
    let most = crate::tag::MOST_ATTRIBUTES;
    let some = |count: usize| -> String { (0..count).map(|n| format!(" a{n}=\"\"")).collect() };
    for end in [
        "/></root>",
        "><b/></m></root>",
        "",
        "<b/></root>",
        " x\ny\n",
    ] {
        let start = format!("<root><m{}", some(most - 1));
        let text = format!("{start} b='>' c=\"/>\" d e=\"'\"{end}");
        let mut session = Session::new(&text);
        let mut random = Random(9);
        for _ in 0..25 {
            let at = start.len() - 8 + random.below(session.text.len() - start.len() + 8);
            session.edit(
                at,
                random.below(3).min(session.text.len() - at),
                PIECES[random.below(PIECES.len())],
            );
        }
    }
    let text = format!("<m{} last='1'/>", some(most + 1));
    let tree = parse(&text);
    let [error] = tree.errors() else {
        panic!("one error: {:?}", tree.errors())
    };
    assert_eq!(error.code, crate::FormCode::TooManyAttributes);
    assert_eq!(&text[error.range], &format!("a{most}"));
    let element = tree.root().unwrap();
    assert_eq!(element.attributes().count(), most);
    assert!(element.is_self_closing());
    assert!(parse(&format!("<m{}/>", some(most))).errors().is_empty());
}

#[test]
fn an_edit_at_an_untouched_place_shares_the_rest() {
    let text = MACHINE;
    let tree = parse(text);
    let at = text.find("leg.left").unwrap();
    let edit = TextEdit::insert(TextSize::new(at as u32), "x");
    let new = edited_with(ROOM, &tree, &edit).expect("no full parse for a character in a value");
    let lamps = |tree: &Tree| {
        let root = tree.root().unwrap();
        let lamps = root
            .children()
            .find(|child| child.name() == "lamps")
            .unwrap();
        crate::wide::address(lamps.green)
    };
    assert_eq!(lamps(&tree), lamps(&new));
}

#[test]
fn an_edit_that_does_not_fit_the_text_is_moved_into_it() {
    let tree = parse("<a>é</a>");
    for (range, expected) in [(3..90, "<a>x"), (4..6, "<a>x/a>"), (40..90, "<a>é</a>x")] {
        let range = TextRange::new(TextSize::new(range.start), TextSize::new(range.end));
        let edited = tree.edited(&TextEdit::replace(range, "x"));
        assert_same(&edited, expected, &|| format!("{range:?}"));
    }
}

fn edits() -> impl Strategy<Value = Vec<(usize, usize, &'static str)>> {
    let piece = prop::sample::select(PIECES);
    prop::collection::vec(
        (
            0usize..900,
            prop_oneof![3 => Just(0usize), 1 => 0usize..20],
            piece,
        ),
        1..12,
    )
}

fn soup() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(PIECES), 0..30).prop_map(|pieces| {
        format!(
            "<machine>\n  <aliases>{}</aliases>\n</machine>",
            pieces.concat()
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 250, ..ProptestConfig::default() })]

    #[test]
    fn any_edits_of_a_machine(edits in edits()) {
        let mut session = Session::new(MACHINE);
        for (start, len, insert) in edits {
            session.edit(start, len, insert);
        }
    }

    #[test]
    fn any_edits_of_anything(text in soup(), edits in edits()) {
        let mut session = Session::new(&text);
        for (start, len, insert) in edits {
            session.edit(start % (session.text.len() + 1), len, insert);
        }
    }
}
