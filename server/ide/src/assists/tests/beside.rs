//! Channels beside their animations, which they name in lists, several of them at a time.

use super::{difference, lines_that_differ, titles};
use crate::assists::{Wish, adjust};
use crate::fixture::Fixture;
use dialect::Dialect;
use expect_test::expect;
use std::sync::Arc;

const TACKLE: &str = r#"
[dialect]
name = "tackle"
format = 1
[inputs]
analog = ["roll", "pitch"]
[[document]]
name = "tackle"
root = "tackle"
files = "*.tackle"
[element.tackle]
children = ["call*", "score*", "move*", "grip*"]
attributes.form = "file"
[element.call.attributes]
path = { type = "index-path", required = true }
so = { type = "name", of = "call", required = true }
[element.score.attributes]
tag = { type = "name", of = "score", required = true }
[element.move.attributes]
in = { type = "reference", of = "score", list = true, required = true }
who = { type = "node", accepts = ["call", "index-path"], required = true }
when = { type = "number", list = { separator = "~", min = 2, max = 2 }, required = true }
what = { type = "word", words = ["shift", "turn"], default = "shift" }
a = { type = "moved-value", required = true }
b = { type = "moved-value", required = true }
[element.grip.attributes]
of = { type = "reference", of = "score", required = true }
by = { type = "input", kind = "analog", required = true }
[[role.scene]]
at = "tackle"
file = "@form"
[[role.alias]]
at = "tackle/call"
name = "@so"
path = "@path"
[[role.animation]]
at = "tackle/score"
name = "@tag"
[[role.channel]]
at = "tackle/move"
animation = "@in"
node = "@who"
window = "@when"
[[role.channel.motion]]
property = { at = "@what", translation = "shift", rotation = "turn" }
from = "@a"
to = "@b"
[[role.control]]
at = "tackle/grip"
kind = "analog"
animation = "@of"
input = "@by"
"#;

const RIG: &str = r#"<tackle form="rig.gltf">
  <call path="0/0" so="Left boom"/>
  <call path="0/1" so="Right boom"/>
  <score tag="unfold"/>
  <score tag="park"/>
  <move in="unfold" who="Left boom" when="1 ~ 3" a="0 0 0" b="0 0 1"/>
  <move in="park unfold" who="0/2" when="FROM ~ 4" a="0 0 0" b="0 2 0"/>
  <move in="unfold" who="Right boom" when="0 ~ 4" what="turn" a="0 0 0" b="0 90 0"/>
</tackle>
"#;

fn tackle(text: &str) -> Fixture {
    let dialect = Dialect::read(TACKLE, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    Fixture::of(text, vec![Arc::new(dialect)])
        .at("x.tackle")
        .scene("tower\n  a box\n  b box\n  hook box\n")
        .file("rig.gltf")
}

#[test]
fn a_name_for_lists_has_nothing_in_it_that_separates_their_members() {
    let text = RIG.replace("FROM", "0").replacen("<move", "<move$0", 1);
    expect![[r#"
        +  <score tag="Left.boom.slide"/>
        ...
        -  <move in="unfold" who="Left boom" when="1 ~ 3" a="0 0 0" b="0 0 1"/>
        +  <move in="Left.boom.slide" who="Left boom" when="0 ~ 2" a="0 0 0" b="0 0 1"/>
        ...
        +  <grip of="Left.boom.slide" by="roll"/>
    "#]]
    .assert_eq(&difference(&tackle(&text), "Make adjustable"));
}

#[test]
fn a_name_that_a_list_would_divide_is_refused() {
    let text = RIG.replace("FROM", "0");
    let wish = Wish {
        parts: vec!["Left boom".to_owned()],
        name: Some("boom out".to_owned()),
        ..Wish::default()
    };
    let refused = adjust(&tackle(&text).view(), &wish).unwrap_err();
    expect!["`boom out` would be taken for something else where it is used, because of a mark or blank in it."].assert_eq(&refused);
}

/// What becomes of the lines if the hook is made adjustable, which moves in two animations from this time on.
fn hook_from(begin: &str) -> String {
    let text = RIG.replace("FROM", begin);
    let wish = Wish {
        parts: vec!["hook".to_owned()],
        animation: Some("unfold".to_owned()),
        ..Wish::default()
    };
    let adjusted = adjust(&tackle(&text).view(), &wish).unwrap_or_else(|reason| panic!("{reason}"));
    lines_that_differ(&text, &adjusted.text)
}

#[test]
fn a_channel_of_several_animations_is_copied_if_its_times_are_moved() {
    expect![[r#"
        +  <score tag="hook.raise"/>
        ...
        -  <move in="park unfold" who="0/2" when="2 ~ 4" a="0 0 0" b="0 2 0"/>
        +  <move in="park" who="0/2" when="2 ~ 4" a="0 0 0" b="0 2 0"/>
        +  <move in="hook.raise" who="0/2" when="0 ~ 2" a="0 0 0" b="0 2 0"/>
        ...
        +  <grip of="hook.raise" by="roll"/>
    "#]]
    .assert_eq(&hook_from("2"));
}

#[test]
fn a_channel_of_several_animations_stays_one_if_its_times_are_right() {
    expect![[r#"
        +  <score tag="hook.raise"/>
        ...
        -  <move in="park unfold" who="0/2" when="0 ~ 4" a="0 0 0" b="0 2 0"/>
        +  <move in="park hook.raise" who="0/2" when="0 ~ 4" a="0 0 0" b="0 2 0"/>
        ...
        +  <grip of="hook.raise" by="roll"/>
    "#]]
    .assert_eq(&hook_from("0"));
}

#[test]
fn a_channel_of_several_animations_is_offered_for_each() {
    let text = RIG
        .replace("FROM", "2")
        .replace("<move in=\"park", "<move$0 in=\"park");
    expect![[r#"
        Make adjustable: `hook` from `unfold` (Hook raise)
        Make adjustable: `hook` from `park` (Park)
        Extract `hook` from `unfold` into an animation of its own"#]]
    .assert_eq(&titles(&tackle(&text)).join("\n"));
    let lines = difference(&tackle(&text), "Make adjustable: `hook` from `unfold`");
    assert_eq!(lines, hook_from("2"));
}
