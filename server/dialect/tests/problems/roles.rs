//! Roles and their paths.

use expect_test::{Expect, expect};

use crate::check;

/// A dialect in which every role can be played.
pub(crate) const ROLES: &str = r#"[dialect]
name = "quay"
format = 1
[[document]]
name = "rig"
root = "rig"
[element.rig]
children = ["alias*", "wheel*", "move*", "hand*"]
[element.alias.attributes]
name = { type = "name", of = "alias" }
path = "index-path"
[element.wheel.attributes]
id = { type = "name", of = "wheel" }
node = "node"
radius = "number"
[element.move]
children = ["step*"]
[element.move.attributes]
id = { type = "name", of = "move" }
length = { type = "number", unit = "ms" }
[element.step]
text = "text"
[element.step.attributes]
node = "node"
begin = "number"
end = "number"
times = { type = "number", list = true }
what = { type = "word", words = ["slide", "turn"] }
from = "moved-value"
to = "moved-value"
ends = { type = "moved-value", list = true }
[element.hand.attributes]
move = { type = "reference", of = "move" }
input = "input"
wheels = { type = "reference", of = "wheel", list = true }
text = "text"
[[role.alias]]
at = "rig/alias"
name = "@name"
path = "@path"
[[role.wheel]]
at = "//wheel"
name = "@id"
node = "@node"
radius = "@radius"
[[role.animation]]
at = "rig/move"
name = "@id"
duration = "@length"
[[role.channel]]
at = "step"
node = "@node"
begin = "@begin"
end = "@end"
[[role.channel.motion]]
property = { at = "@what", translation = "slide", rotation = "turn" }
from = "@from"
to = "@to"
[[role.control]]
at = "rig/hand"
kind = "analog"
animation = "@move"
input = "@input"
wheels = "@wheels"
text = "@text"
"#;

/// The problems of the dialect above after one change.
fn check_roles(from: &str, to: &str, expect: Expect) {
    assert!(ROLES.contains(from), "{from}");
    check(&ROLES.replacen(from, to, 1), expect);
}

#[test]
fn roles_without_problems() {
    check(ROLES, expect![[""]]);
}

#[test]
fn role_paths_must_lead_somewhere() {
    check_roles(
        "at = \"rig/alias\"",
        "at = \"rig/alais\"",
        expect![[r#"
        38:6 ["rig/alais"] `at` leads nowhere: `rig` holds no `alais`; did you mean `alias`?
    "#]],
    );
    check_roles(
        "at = \"rig/alias\"",
        "at = \"rgi/alias\"",
        expect![[r#"
        38:6 ["rgi/alias"] `at` leads nowhere: no document has the root `rgi`; did you mean `rig`?
    "#]],
    );
    check_roles(
        "at = \"rig/alias\"",
        "at = \"alias\"",
        expect![[r#"
        38:6 ["alias"] `at` leads nowhere: no document has the root `alias`; the path starts at the root element (rig)
    "#]],
    );
    check_roles(
        "at = \"//wheel\"",
        "at = \"//weel\"",
        expect![[r#"
        42:6 ["//weel"] `at` leads nowhere: no `weel` stands below `the document`; did you mean `wheel`?
    "#]],
    );
    check_roles(
        "name = \"@name\"",
        "name = \"@nam\"",
        expect![[r#"
        39:8 ["@nam"] `name` leads nowhere: `alias` has no attribute `nam`; did you mean `@name`?
    "#]],
    );
    check_roles(
        "name = \"@name\"",
        "name = \"text()\"",
        expect![[r#"
        39:8 ["text()"] `name` leads nowhere: `alias` has no text; declare it there: `text = { type = "…" }`
    "#]],
    );
    check_roles(
        "node = \"@node\"\nbegin",
        "node = \"../../..\"\nbegin",
        expect![[r#"
        52:8 ["../../.."] `node` leads nowhere: `rig` has no parent for `..`
    "#]],
    );
    check_roles(
        "at = \"step\"",
        "at = \"step[@wat='x']\"",
        expect![[r#"
        51:6 ["step[@wat='x']"] `at` leads nowhere: `step` has no attribute `wat`; did you mean `@what`?
    "#]],
    );
    check_roles(
        "at = \"step\"",
        "at = \"step/@node\"",
        expect![[r#"
        51:6 ["step/@node"] `at` leads to elements; leave out `@name` or `text()` at the end
    "#]],
    );
    check_roles(
        "at = \"step\"",
        "at = \"step[\"",
        expect![[r#"
        51:12 [] bad path in `at`: the path ends where a name was expected
    "#]],
    );
    check_roles(
        "at = \"step\"\n",
        "",
        expect![[r#"
        50:1 [[[role.channel]]] `[[role.channel]]` lacks the key `at`; add, for example, `at = "machine/wheels/wheel"`
    "#]],
    );
}

#[test]
fn role_values_must_have_a_fitting_type() {
    check_roles(
        "path = \"index-path\"",
        "path = \"text\"",
        expect![[r#"
            40:8 ["@path"] `path` leads to `path` of element `alias`, whose type does not fit; it needs `type = "index-path"` or `type = "node-name"`
        "#]],
    );
    check_roles(
        "name = { type = \"name\", of = \"alias\" }",
        "name = \"text\"",
        expect![[r#"
        39:8 ["@name"] `name` leads to `name` of element `alias`, whose type does not fit; it needs `type = "name"`
    "#]],
    );
    check_roles(
        "node = \"node\"",
        "node = \"text\"",
        expect![[r#"
        44:8 ["@node"] `node` leads to `node` of element `wheel`, whose type does not fit; it needs `type = "node"`
    "#]],
    );
    check_roles(
        "radius = \"number\"",
        "radius = { type = \"number\", unit = \"s\" }",
        expect![[r#"
        45:10 ["@radius"] `radius` leads to `radius` of element `wheel`, whose type does not fit; it needs a unit of length (its unit `s` measures time)
    "#]],
    );
    check_roles(
        "unit = \"ms\"",
        "unit = \"cm\"",
        expect![[r#"
        49:12 ["@length"] `duration` leads to `length` of element `move`, whose type does not fit; it needs a unit of time (its unit `cm` measures length)
    "#]],
    );
    check_roles(
        "from = \"moved-value\"",
        "from = \"number\"",
        expect![[r#"
        57:8 ["@from"] `from` leads to `from` of element `step`, whose type does not fit; it needs `type = "moved-value"`
    "#]],
    );
    check_roles(
        "of = \"move\" }\ninput",
        "of = \"wheel\" }\ninput",
        expect![[r#"
        62:13 ["@move"] `animation` leads to `move` of element `hand`, whose type does not fit; it needs `type = "reference", of = "move"` (or "position")
    "#]],
    );
    check_roles(
        "of = \"wheel\", list = true",
        "of = \"move\", list = true",
        expect![[r#"
        64:10 ["@wheels"] `wheels` leads to `wheels` of element `hand`, whose type does not fit; it needs `type = "reference", of = "wheel"` (or "position")
    "#]],
    );
    check_roles(
        "name = { type = \"name\", of = \"alias\" }",
        "name = { type = \"nme\" }",
        expect![[r#"
            10:17 ["nme"] `type` is `text`, `boolean`, `integer`, `number`, `vector`, `word`, `name`, `reference`, `position`, `node`, `index-path`, `node-name`, `file`, `input`, `moved-value` or `colour`, not `nme` (did you mean `name`?)
        "#]],
    );
}

#[test]
fn keyframes_and_changes_say_what_they_lack() {
    check_roles(
        "from = \"@from\"\nto = \"@to\"",
        "by = { x = \"@begin\" }\nfrom = \"@from\"",
        expect![[r#"
            55:1 [[[role.channel.motion]]] a motion needs either `from` and `to`, or `to` or `by` alone where it goes on from where the node is, or `ends` for one list of both, or `keyframes`
        "#]],
    );
    check_roles(
        "from = \"@from\"\nto = \"@to\"",
        "to = { w = \"@begin\" }",
        expect![[r#"
            57:1 [to] `to` lacks the key `x`; add, for example, `x = "@x"`
            57:8 [w] unknown key `w` in `to`; known here: `x`, `y` or `z`
        "#]],
    );
    check_roles(
        "from = \"@from\"\nto = \"@to\"",
        "begin = \"@begin\"\nend = \"@end\"\nkeyframes = { at = \"@begin\", value = \"@from\" }",
        expect![[r#"
            55:1 [[[role.channel.motion]]] keyframes say their times themselves; remove the time window
            59:1 [keyframes] `keyframes` lacks the key `time`; add, for example, `time = "@time"`
            59:20 ["@begin"] `at` leads to elements; leave out `@name` or `text()` at the end
        "#]],
    );
    check_roles(
        "from = \"@from\"\nto = \"@to\"",
        "keyframes = { at = \".\", time = \"@from\", value = { z = \"@from\" } }",
        expect![[r#"
            57:32 ["@from"] `time` leads to `from` of element `step`, whose type does not fit; it needs `type = "number"`
            57:55 ["@from"] `z` leads to `from` of element `step`, whose type does not fit; it needs `type = "number"`
        "#]],
    );
}

#[test]
fn windows_and_ends_are_pairs_or_lists() {
    check_roles(
        "begin = \"@begin\"\nend = \"@end\"",
        "window = \"@times\"",
        expect![[""]],
    );
    check_roles(
        "from = \"@from\"\nto = \"@to\"",
        "ends = \"@ends\"",
        expect![[""]],
    );
    check_roles(
        "end = \"@end\"",
        "",
        expect![[r#"
        50:1 [[[role.channel]]] write either `begin` and `end`, or `begin` and `duration`, or `window` for one list of begin and end
    "#]],
    );
    check_roles(
        "begin = \"@begin\"\nend = \"@end\"",
        "",
        expect![[r#"
            50:1 [[[role.channel]]] `[[role.channel]]` lacks the time window; add `begin = "@begin"` and `end = "@end"` (or `duration = "@duration"`), or `window = "@window"` for one list of both
        "#]],
    );
    check_roles(
        "begin = \"@begin\"\nend = \"@end\"",
        "window = \"@begin\"",
        expect![[r#"
        53:10 ["@begin"] `window` leads to `begin` of element `step`, whose type does not fit; it needs `type = "number", list = true`
    "#]],
    );
    check_roles(
        "to = \"@to\"",
        "",
        expect![[r#"
            55:1 [[[role.channel.motion]]] a motion needs either `from` and `to`, or `to` or `by` alone where it goes on from where the node is, or `ends` for one list of both, or `keyframes`
        "#]],
    );
    check_roles(
        "to = \"@to\"",
        "ends = \"@ends\"",
        expect![[r#"
            55:1 [[[role.channel.motion]]] a motion needs either `from` and `to`, or `to` or `by` alone where it goes on from where the node is, or `ends` for one list of both, or `keyframes`
        "#]],
    );
}

#[test]
fn meanings_of_words() {
    check_roles(
        "rotation = \"turn\"",
        "rotation = \"trun\"",
        expect![[r#"
        56:62 ["trun"] `trun` is no word of `what`; did you mean `turn`?
    "#]],
    );
    check_roles(
        "rotation = \"turn\"",
        "rotation = \"slide\"",
        expect![[r#"
        56:62 ["slide"] `slide` is given two meanings; keep one
    "#]],
    );
    check_roles(
        "rotation = \"turn\"",
        "rotatoin = \"turn\"",
        expect![[r#"
        56:51 [rotatoin] unknown key `rotatoin` in `property`; did you mean `rotation`?
    "#]],
    );
    check_roles(
        ", translation = \"slide\", rotation = \"turn\"",
        "",
        expect![[r#"
        56:1 [property] `property` says of no word what it means; add, for example, `translation = "…"` (known: translation, rotation, scale, visibility)
    "#]],
    );
    check_roles(
        "kind = \"analog\"",
        "kind = \"analogue\"",
        expect![[r#"
        61:8 ["analogue"] `kind` is `analog` or `digital`, not `analogue` (did you mean `analog`?)
    "#]],
    );
    check_roles(
        "kind = \"analog\"\n",
        "",
        expect![[r#"
        59:1 [[[role.control]]] `[[role.control]]` lacks the key `kind`; add, for example, `kind = "analog"`
    "#]],
    );
}

#[test]
fn missing_roles() {
    let start = ROLES.find("[[role.animation]]").unwrap();
    let end = ROLES.find("[[role.channel]]").unwrap();
    check(
        &format!("{}{}", &ROLES[..start], &ROLES[end..]),
        expect![[r#"
        46:1 [[[role.channel]]] a channel belongs to an animation; add a `[[role.animation]]`
        58:13 ["@move"] `animation` leads to `move` of element `hand`, whose type does not fit; it needs something to refer to: add a `[[role.animation]]`
    "#]],
    );
    check_roles(
        "[[role.channel.motion]]\nproperty = { at = \"@what\", translation = \"slide\", rotation = \"turn\" }\nfrom = \"@from\"\nto = \"@to\"\n",
        "",
        expect![[r#"
            50:1 [[[role.channel]]] `[[role.channel]]` lacks the key `motion`; add, for example, `motion = [{ property = "translation", from = "@from", to = "@to" }]`
        "#]],
    );
}

#[test]
fn controls_may_stand_inside_the_animation_they_drive() {
    let nested = ROLES
        .replace("\"move*\", \"hand*\"", "\"move*\"")
        .replace("children = [\"step*\"]", "children = [\"step*\", \"hand\"]")
        .replace("at = \"rig/hand\"", "at = \"rig/move/hand\"")
        .replace("animation = \"@move\"", "animation = \"../@id\"");
    check(&nested, expect![[""]]);
    check(
        &nested.replace("\"../@id\"", "\"../../@id\""),
        expect![[r#"
        62:13 ["../../@id"] `animation` leads nowhere: `rig` has no attribute `id`; declare it there
    "#]],
    );
}

#[test]
fn an_open_element_may_hold_what_plays_a_role() {
    let open = ROLES.replace(
        "children = [\"alias*\", \"wheel*\", \"move*\", \"hand*\"]",
        "open = true",
    );
    check(&open, expect![[""]]);
    check(
        &open.replace("at = \"step\"", "at = \"stpe\""),
        expect![[r#"
        51:6 ["stpe"] `at` leads nowhere: `move` holds no `stpe`; did you mean `step`?
    "#]],
    );
    check(
        &open.replace("at = \"rig/alias\"", "at = \"rig/any/alias\""),
        expect![[""]],
    );
}

#[test]
fn usual_values_of_controls() {
    check_roles(
        "text = \"@text\"\n",
        "text = \"@text\"\nusual = { \"@text\" = \"Spread\", \"@txt\" = \"x\", \"@[\" = \"y\", \"@input\" = 3 }\n",
        expect![[r#"
            66:31 ["@txt"] `usual` leads nowhere: `hand` has no attribute `txt`; did you mean `@text`?
            66:47 [[] bad path in `usual`: the name of an attribute must follow `@`
        "#]],
    );
}
