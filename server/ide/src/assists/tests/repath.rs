//! Following nodes after a new export, in both dialects.

use syntax::TextRange;

use super::{make, offers, text_after, titles};
use crate::fixture::{Fixture, RIG};

const FOLLOW: &str = "Follow all nodes by the names of their aliases";

#[test]
fn all_stale_paths_follow_at_once_and_what_is_written_like_them() {
    let fixture = Fixture::rig(
        r#"<aliases>
  <alias name="arm.left"  path="0/$01"/>
  <alias name="arm.right" path='0/0'/>
  <alias name="mast"      path="0/2"/>
</aliases>
<wheels><wheel id="a" node="0/0" radius="1" width="1"/></wheels>"#,
    );
    let after = text_after(&fixture, FOLLOW);
    let expected = fixture
        .view()
        .text()
        .replace("path=\"0/1\"", "path=\"0/0\"")
        .replace("path='0/0'", "path='0/1'")
        .replace("node=\"0/0\"", "node=\"0/1\"");
    assert_eq!(after, expected);
}

#[test]
fn paths_in_another_notation_follow_too() {
    let fixture = Fixture::yard(
        "<handles><handle><call>arm left</call><spot>#1:$02</spot></handle>\
         <handle><call>arm right</call><spot>#1:1</spot></handle></handles>",
    );
    let after = text_after(&fixture, FOLLOW);
    let expected = fixture
        .view()
        .text()
        .replace("left</call><spot>#1:2", "left</call><spot>#1:1")
        .replace("right</call><spot>#1:1", "right</call><spot>#1:2");
    assert_eq!(after, expected);
}

#[test]
fn where_one_path_or_none_is_stale_there_is_nothing_to_follow_all_at_once() {
    for aliases in [
        r#"<alias name="arm.left" path="0/$01"/>"#,
        r#"<alias name="arm.left" path="0/$00"/><alias name="other" path="0/2"/>"#,
    ] {
        let fixture = Fixture::rig(&format!("<aliases>{aliases}</aliases>"));
        let offered = titles(&fixture);
        assert!(
            !offered.iter().any(|title| title.starts_with(FOLLOW)),
            "{offered:?}"
        );
    }
}

#[test]
fn the_scene_as_it_was_tells_where_paths_without_an_alias_led() {
    // A beacon has come first, and the mast is called otherwise.
    let now = RIG
        .replace("rig\n", "rig\n  beacon 0 3 0\n")
        .replace("  mast 0", "  mast.lower 0");
    let fixture = Fixture::rig(
        r#"<aliases><alias name="arm.left" path="0/$00"/></aliases>
<wheels><wheel id="a" node="0/0/0" radius="1" width="1"/><wheel id="b" node="0/2" radius="1" width="1"/></wheels>"#,
    )
    .scene(&now);
    let at = TextRange::empty(fixture.marks()[0]);
    let offered = |view: &project::View| {
        let all = offers(view, at).into_iter();
        all.filter(|offer| offer.title.starts_with("Follow all"))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        offered(&fixture.view()),
        [],
        "one path goes by its name, which the finding offers"
    );
    let fixture = fixture.written_for(RIG);
    let view = fixture.view();
    let found = offered(&view);
    assert_eq!(found.len(), 1);
    let change = make(&view, &found[0].key).unwrap();
    let after = syntax::apply(view.text(), &change.edits).unwrap();
    let expected = view
        .text()
        .replace("\"0/2\"", "\"0/3\"")
        .replace("\"0/0\"", "\"0/1\"")
        .replace("\"0/0/0\"", "\"0/1/0\"");
    assert_eq!(after, expected);
    // What was repaired by hand is left alone, and the rest still follows.
    let by_hand = view.with_text(view.text().replace("\"0/0/0\"", "\"0/1/0\""));
    let found = offered(&by_hand);
    let change = make(&by_hand, &found[0].key).unwrap();
    assert_eq!(
        syntax::apply(by_hand.text(), &change.edits).unwrap(),
        expected
    );
    // A scene that the definition was not written for says nothing.
    assert_eq!(offered(&fixture.written_for(&now).view()), []);
}
