use super::*;
use crate::fixture::{Fixture, YARD};
use expect_test::{Expect, expect};

/// The lines that change, as they are afterwards; or why there are none.
fn check(fixture: Fixture, new_name: &str, expected: Expect) {
    let view = fixture.view();
    let shown = match rename(&view, &[], fixture.offset(), new_name) {
        Ok(renamed) => {
            let edits: Vec<TextEdit> = renamed.into_iter().flat_map(|(_, edits)| edits).collect();
            let after = syntax::apply(view.text(), &edits).unwrap();
            let pairs = view.text().lines().zip(after.lines());
            let changed: Vec<&str> = pairs
                .filter(|(before, after)| before != after)
                .map(|pair| pair.1)
                .collect();
            changed.join("\n")
        }
        Err(refusal) => format!("refused: {refusal}"),
    };
    expected.assert_eq(&shown);
}

const RIG: &str = r#"<aliases>
<alias name="mast" path="0/2"/>
<alias name="arm" path="0/0"/>
</aliases>
<lamps>
<lamp id="mast" node="ma$0st" kind="work"/>
<lamp id="b" node='mast' kind="work"/>
</lamps>"#;

#[test]
fn a_name_changes_wherever_it_stands() {
    check(
        Fixture::rig(RIG),
        "pole",
        expect![[r#"
            <alias name="pole" path="0/2"/>
            <lamp id="mast" node="pole" kind="work"/>
            <lamp id="b" node='pole' kind="work"/>"#]],
    );
}

#[test]
fn a_new_name_is_escaped_for_its_quotes() {
    check(
        Fixture::rig(RIG),
        "Bo's \"<&",
        expect![[r#"
            <alias name="Bo's &quot;&lt;&amp;" path="0/2"/>
            <lamp id="mast" node="Bo's &quot;&lt;&amp;" kind="work"/>
            <lamp id="b" node='Bo&apos;s "&lt;&amp;' kind="work"/>"#]],
    );
}

#[test]
fn a_name_with_references_in_it_changes_too() {
    check(
        Fixture::rig(
            r#"<aliases><alias name="a&amp;b" path="0"/></aliases><bodies><body node="a&#38;$0b" mass="1"/></bodies>"#,
        ),
        "c",
        expect![[
            r#"<aliases><alias name="c" path="0"/></aliases><bodies><body node="c" mass="1"/></bodies>"#
        ]],
    );
}

#[test]
fn text_changes_as_text() {
    check(
        Fixture::yard(
            "<noises><noise><call>pump</call></noise></noises>\n<hands><hand><noise> pu$0mp </noise></hand></hands>",
        ),
        "a > \"b\"",
        expect![[r#"
            <noises><noise><call>a > "b"</call></noise></noises>
            <hands><hand><noise> a > "b" </noise></hand></hands>"#]],
    );
}

#[test]
fn the_same_name_again_changes_nothing() {
    check(Fixture::rig(RIG), "mast", expect![""]);
}

#[test]
fn a_taken_name_is_refused_with_both_places() {
    check(
        Fixture::rig(RIG),
        "arm",
        expect![
            "refused: The alias “mast” (line 3) cannot be called “arm”: the alias in line 4 has that name, and one could be mistaken for the other."
        ],
    );
}

#[test]
fn a_name_of_a_kind_that_nobody_mistakes_it_for_is_free() {
    check(
        Fixture::rig(RIG),
        "b",
        expect![[r#"
            <alias name="b" path="0/2"/>
            <lamp id="mast" node="b" kind="work"/>
            <lamp id="b" node='b' kind="work"/>"#]],
    );
}

#[test]
fn kinds_that_one_place_accepts_could_be_mistaken_for_each_other() {
    let dialect = r#"
        [dialect]
        name = "two"
        title = "Two"
        format = 1
        [[document]]
        name = "two"
        root = "two"
        [element.two]
        children = ["cat*", "dog*", "pet*"]
        [element.cat.attributes]
        id = { type = "name", of = "cat" }
        [element.dog.attributes]
        id = { type = "name", of = "dog" }
        [element.pet.attributes]
        of = { type = "reference", of = ["cat", "dog"], list = { separator = "," } }
    "#;
    let dialect = std::sync::Arc::new(Dialect::read(dialect, None).unwrap());
    let of = |text: &str| Fixture::of(text, vec![dialect.clone()]).at("a.xml");
    check(
        of("<two>\n<cat id=\"tom\"/>\n<dog id=\"re$0x\"/>\n</two>"),
        "tom",
        expect![
            "refused: The dog “rex” (line 3) cannot be called “tom”: the cat in line 2 has that name, and one could be mistaken for the other."
        ],
    );
    check(
        of("<two><cat id=\"t$0om\"/><pet of=\"rex, tom,x\"/></two>"),
        "kim",
        expect![[r#"<two><cat id="kim"/><pet of="rex, kim,x"/></two>"#]],
    );
    check(
        of("<two><cat id=\"a&amp;b\"/><pet of=\"rex, a&amp;$0b,x\"/></two>"),
        "kim",
        expect![[r#"<two><cat id="kim"/><pet of="rex, kim,x"/></two>"#]],
    );
    check(
        of("<two><cat id=\"t$0om\"/>\n<pet of=\"rex,tom\"/></two>"),
        "kim,tom",
        expect![
            "refused: “kim,tom” has “,” in it, which separates the names of a list in line 2: it would be taken for several names there."
        ],
    );
    check(
        of("<two><cat id=\"rex\"/><cat id=\"tom\"/><pet of=\"r&#101;x,to$0m\"/></two>"),
        "kim",
        expect![[r#"<two><cat id="rex"/><cat id="kim"/><pet of="r&#101;x,kim"/></two>"#]],
    );
    // Where no list uses it, a name may hold what you like.
    check(
        of("<two><cat id=\"t$0om\"/></two>"),
        "kim,tom",
        expect![[r#"<two><cat id="kim,tom"/></two>"#]],
    );
}

/// The caret is on a name in a section, so that on no other name is renamed in its place.
#[test]
fn of_names_beside_a_section_only_those_are_renamed_that_the_caret_is_on() {
    let dialect = r#"
        [dialect]
        name = "two"
        format = 1
        [[document]]
        name = "two"
        root = "two"
        [element.two]
        children = ["cat*", "pet*"]
        [element.cat.attributes]
        id = { type = "name", of = "cat" }
        [element.pet]
        text = { type = "reference", of = "cat", list = { separator = "," } }
    "#;
    let dialect = std::sync::Arc::new(Dialect::read(dialect, None).unwrap());
    let of = |pets: &str| {
        let text = format!("<two><cat id='rex'/><cat id='tom'/><pet>{pets}</pet></two>");
        Fixture::of(&text, vec![dialect.clone()]).at("a.xml")
    };
    check(
        of("rex,<![CDATA[to$0m]]>"),
        "kim",
        expect![
            "refused: There is no name here. Put the caret on a name that this file gives to something."
        ],
    );
    check(
        of("r$0ex,<![CDATA[tom]]>"),
        "kim",
        expect!["<two><cat id='kim'/><cat id='tom'/><pet>kim,<![CDATA[tom]]></pet></two>"],
    );
}

#[test]
fn what_cannot_be_a_name_is_refused() {
    check(
        Fixture::rig(RIG),
        " ",
        expect!["refused: A name cannot be empty."],
    );
    check(
        Fixture::rig(RIG),
        " a",
        expect!["refused: “ a” has blanks around it. Leave them out."],
    );
    check(
        Fixture::rig(RIG),
        "a\nb",
        expect!["refused: A name cannot hold the character U+000A."],
    );
}

#[test]
fn an_alias_must_not_read_as_an_index_path() {
    for path in ["0/1", "7"] {
        let fixture = Fixture::rig(RIG);
        let refusal = rename(&fixture.view(), &[], fixture.offset(), path).unwrap_err();
        assert!(refusal.contains("index path"), "{refusal}");
    }
    // A path may have letters itself.
    let stem = YARD.replace("root-mark = \"#\"", "root-mark = \"stem\"");
    let handle = "<handles><handle><call>ma$0st</call><spot>stem1:1</spot></handle></handles>";
    check(
        Fixture::in_yard(&stem, handle),
        "stem1",
        expect![
            "refused: “stem1” would be read as an index path where the handle is used. Choose another name."
        ],
    );
    // No place asks for a lamp or an index path.
    let fixture = Fixture::rig(r#"<lamps><lamp id="l$0" node="0" kind="work"/></lamps>"#);
    assert_eq!(
        rename(&fixture.view(), &[], fixture.offset(), "7").map(|renamed| renamed[0].1.len()),
        Ok(1)
    );
}

#[test]
fn only_names_can_be_renamed() {
    let refusal = |body: &str| {
        let fixture = Fixture::rig(body);
        prepare(&fixture.view(), fixture.offset()).unwrap_err()
    };
    assert!(refusal(r#"<bodies><body node="0/$02" mass="1"/></bodies>"#).contains("index path"));
    assert!(refusal(r#"<controls><switch input="button$0.open"/></controls>"#).contains("inputs"));
    assert!(refusal(r#"<sounds><sound file="a.o$0gg"/></sounds>"#).contains("file"));
    assert!(refusal(r#"<bodies><bo$0dy/></bodies>"#).contains("no name"));
}

#[test]
fn the_place_and_the_name_are_told_beforehand() {
    let fixture = Fixture::rig(r#"<aliases><alias name="a&amp;b$0" path="0"/></aliases>"#);
    let view = fixture.view();
    let renaming = prepare(&view, fixture.offset()).unwrap();
    assert_eq!(
        (&view.text()[renaming.range], &*renaming.name),
        ("a&amp;b", "a&b")
    );
}

#[test]
fn a_name_that_nothing_gives_changes_where_it_is_used() {
    check(
        Fixture::rig(
            "<controls>\n<switch animation=\"go$0\"/>\n<lever animation=\"go\"/>\n</controls>",
        ),
        "run",
        expect![[r#"
            <switch animation="run"/>
            <lever animation="run"/>"#]],
    );
}

#[test]
fn a_name_that_is_cut_where_it_is_used_is_refused() {
    let dialect = r#"
[dialect]
name = "x"
format = 1
[[document]]
name = "x"
root = "x"
[element.x]
children = ["run*"]
[element.run.attributes]
id = { type = "name", of = "run" }
after = { type = "reference", of = "run", ends-before = "." }
"#;
    let dialect = std::sync::Arc::new(Dialect::read(dialect, None).unwrap());
    let text = "<x><run id=\"o$0ut\"/>\n<run after=\"out.end\"/></x>";
    let renamed =
        |name: &str, expected| check(Fixture::of(text, vec![dialect.clone()]), name, expected);
    renamed(
        "a.b",
        expect![
            "refused: “a.b” would be cut in line 2, where names begin or end at a mark that it has in it. Choose a name without the mark."
        ],
    );
    renamed(
        "a-b",
        expect![[r#"
        <x><run id="a-b"/>
        <run after="a-b.end"/></x>"#]],
    );
}
