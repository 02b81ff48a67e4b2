use expect_test::expect;

use super::*;

#[test]
fn form_errors_bring_their_repairs_along() {
    check(
        r#"<aliases><alias name="mast"path="0/2"/></aliases>"#,
        expect![[r#"
            hint unused-alias at `mast`: Nothing uses the alias `mast`.
            error missing-space at `"`: White space is missing between this attribute and the one before it. Add a space.
              review fix "Add a space": <aliases><alias name="mast" path="0/2"/></aliases>
        "#]],
    );
}

#[test]
fn a_document_that_no_dialect_fits_gets_form_checks_only() {
    let list = |text: &str| said(&Fixture::house(text).at("list.xml"));
    assert_eq!(list("<list><item name='a'/><item name='a'/></list>"), "");
    assert!(list("<list><item></list>").starts_with("error unclosed-element"));
}

#[test]
fn what_an_unclosed_comment_took_along_is_neither_unknown_nor_unused() {
    check(
        r#"<aliases>
             <!-- the mast <alias name="mast" path="0/2"/>
             <alias name="hook" path="0/2/0"/>
           </aliases>
           <animations><animation id="raise"><channel target="mast" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation></animations>
           <controls><switch animation="raise" input="button.raise"/></controls>"#,
        expect![[r#"
            error unclosed-comment at `<!-- the mast <alias name="mast" path="0/2"/>`: This comment is not closed. Write `-->` where it ends.
              review fix "Add `-->`": <!-- the mast <alias name="mast" path="0/2"/> -->
            hint unused-alias at `hook`: Nothing uses the alias `hook`.
        "#]],
    );
}

#[test]
fn what_stands_in_a_garbled_tag_is_not_judged() {
    check(
        r#"<aliases>
             <alias name="mast path="0/2"/>
           </aliases>
           <bodies><body node="mast" mass="1"/></bodies>"#,
        expect![[r#"
            error unfinished-attribute at `name="mast`: The value of `name` has no closing quote. Put a `"` where it ends.
              review fix "Add the closing `"`": <alias name="mast" path="0/2"/>
        "#]],
    );
}

#[test]
fn an_error_in_one_attribute_does_not_hide_the_others() {
    check(
        r#"<sounds><sound id="a&b" file="pump.ogg" gain="7"/></sounds>"#,
        expect![[r#"
            error bad-reference at `&b`: `&b` has no `;`. Write `&b;`, or `&amp;` for a plain `&`.
              review fix "Write `&amp;`": <sounds><sound id="a&amp;b" file="pump.ogg" gain="7"/></sounds>
            error out-of-range at `7`: `7` is out of range: `gain` must be from 0 to 1.
              review fix "Write `1`": <sounds><sound id="a&b" file="pump.ogg" gain="1"/></sounds>
        "#]],
    );
}

#[test]
fn what_follows_an_element_that_was_never_closed_is_not_misplaced() {
    check(
        r#"<animations>
             <animation id="a"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/>
             <animation id="b"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 9 0"/></animation>
           </animations>
           <controls><switch animation="a" input="button.raise"/><switch animation="b" input="button.lower"/></controls>"#,
        expect![[r#"
            error unclosed-element at `<animation`: `<animation>` has no end tag. Write `</animation>` where it ends, or `/>` if nothing belongs in it.
              see `</machine>`: `</machine>` comes before `</animation>`
              review fix "Add `</animation>`": <animation id="a"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation>
        "#]],
    );
}

#[test]
fn a_start_tag_without_its_end_is_closed_as_its_element_asks() {
    let titles = |text: &str| {
        let view = Fixture::house(text).at("list.xml").view();
        let found = super::super::run(&view).into_iter();
        let fixes = found.flat_map(|finding| finding.fixes);
        fixes.map(|fix| fix.title).collect::<Vec<_>>()
    };
    let list = "<list>\n  <part\n    <item/>\n  </part>\n</list>";
    assert_eq!(titles(list), ["Close it with `>`"]);
    assert_eq!(
        titles("<list>\n  <part a='b'\n  <item/>\n</list>"),
        ["Close it with `/>`"]
    );
}

fn codes(text: &str) -> Vec<&'static str> {
    let view = Fixture::house(text).at("list.xml").view();
    super::super::run(&view)
        .iter()
        .map(|finding| finding.code)
        .collect()
}

#[test]
fn what_is_nested_too_deep_is_worth_a_note() {
    let nested = |depth: usize| format!("{}{}", "<part>".repeat(depth), "</part>".repeat(depth));
    assert_eq!(codes(&nested(600)), ["too-deep"]);
    assert!(codes(&nested(100)).is_empty());
}

#[test]
fn thousands_of_errors_are_cut_short() {
    let found = codes(&format!("<list>{}</list>", "<item a=b/>".repeat(12_000)));
    assert!(
        found.contains(&"too-many-errors") && found.len() < 12_000,
        "{}",
        found.len()
    );
    assert!(!codes("<list><item a=b/></list>").contains(&"too-many-errors"));
}
