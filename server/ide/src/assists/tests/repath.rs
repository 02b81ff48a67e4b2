//! Following nodes after a new export, in both dialects.

use super::{text_after, titles};
use crate::fixture::Fixture;

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
