//! Everything that can be wrong with a dialect file: what is said, and where.

use dialect::Dialect;
use expect_test::{Expect, expect};

/// A small dialect without problems; the tests add to it.
const BASE: &str = r#"[dialect]
name = "quay"
format = 1

[[document]]
name = "rig"
root = "rig"

[element.rig]
children = ["part*"]

[element.part.attributes]
id = { type = "name", of = "part" }
"#;

fn check(toml: &str, expect: Expect) {
    let problems = match Dialect::read(toml, None) {
        Ok(_) => Vec::new(),
        Err(problems) => {
            assert!(!problems.is_empty());
            problems
        }
    };
    let lines: Vec<String> = problems
        .iter()
        .map(|problem| {
            let found = &toml[usize::from(problem.range.start())..usize::from(problem.range.end())];
            let found = found.lines().next().unwrap_or("");
            format!(
                "{}:{} [{found}] {}\n",
                problem.line, problem.column, problem.message
            )
        })
        .collect();
    expect.assert_eq(&lines.concat());
}

/// The problems of the base with something added at the end. Lines count from 14.
fn check_added(toml: &str, expect: Expect) {
    check(&format!("{BASE}{toml}"), expect);
}

/// The problems of a value type in the base.
fn check_type(keys: &str, expect: Expect) {
    let toml = format!("value = {{ {keys} }}\n[words]\ncolour = [\"red\", \"blue\"]\n");
    check_added(&toml, expect);
}

#[test]
fn the_base_has_no_problems() {
    check(BASE, expect![""]);
}

#[test]
fn an_empty_file_says_what_it_lacks() {
    check(
        "",
        expect![[r#"
            1:1 [] the file has no `[dialect]`; add one: the dialect's name and the version of the format
            1:1 [] the file has no `[element]`; add one: what an element may hold, such as `[element.machine]`
            1:1 [] the file has no `[[document]]`; add one: a kind of document, by its root element
        "#]],
    );
}

#[test]
fn toml_slips_are_reported_with_their_place() {
    check(
        "[dialect\nname = 'a\n",
        expect![[r#"
        1:9 [] this is not TOML: unclosed table, expected `]`
    "#]],
    );
    check_added(
        "[element.part]\n[element.part]\n",
        expect![[r#"
            15:10 [part] this key or table stands here for the second time; join both
        "#]],
    );
}

#[test]
fn unknown_keys_are_reported_everywhere_at_once() {
    check_added(
        r#"
colour = "text"
[element.part]
childs = []
[elemnt]
[notation]
decimal = ","
[notation.index-path]
seperator = "/"
[notation.axes]
left = "x"
[units]
lenght = "cm"
[files]
prefix = "$"
[inputs]
analogue = []
[[role.weel]]
[scene]
root = "s"
node = "n"
nam = "@n"
"#,
        expect![[r#"
            17:1 [childs] unknown key `childs` in element `part`; did you mean `children`?
            18:2 [elemnt] unknown key `elemnt` in the file; did you mean `element`?
            20:1 [decimal] unknown key `decimal` in `[notation]`; did you mean `decimal-mark`?
            22:1 [seperator] unknown key `seperator` in `[notation.index-path]`; did you mean `separator`?
            24:1 [left] unknown key `left` in `[notation.axes]`; known here: `right`, `up` or `forward`
            26:1 [lenght] unknown key `lenght` in `[units]`; did you mean `length`?
            28:1 [prefix] unknown key `prefix` in `[files]`; did you mean `game-prefix`?
            30:1 [analogue] unknown key `analogue` in `[inputs]`; did you mean `analog`?
            31:8 [weel] unknown key `weel` in `[role]`; did you mean `wheel`?
            35:1 [nam] unknown key `nam` in `[scene]`; did you mean `name`?
        "#]],
    );
}

#[test]
fn unknown_keys_of_attributes_depend_on_the_type() {
    check_type(
        r#"type = "text", min = 1, docs = "x""#,
        expect![[r#"
        14:26 [min] unknown key `min` in attribute `value` of element `part`; known here: `doc`, `required`, `usual`, `default`, `strict`, `learnt`, `type` or `list`
        14:35 [docs] unknown key `docs` in attribute `value` of element `part`; did you mean `doc`?
    "#]],
    );
    check_type(
        r#"tpye = "number", min = 1"#,
        expect![[r#"
        14:1 [value] attribute `value` of element `part` lacks the key `type`; add, for example, `type = "text"`
        14:11 [tpye] unknown key `tpye` in attribute `value` of element `part`; did you mean `type`?
    "#]],
    );
    check_type(
        r#"type = "nubmer", min = 1, mux = 2"#,
        expect![[r#"
        14:18 ["nubmer"] `type` is `text`, `boolean`, `integer`, `number`, `vector`, `word`, `name`, `reference`, `position`, `node`, `index-path`, `file`, `input` or `moved-value`, not `nubmer` (did you mean `number`?)
        14:37 [mux] unknown key `mux` in attribute `value` of element `part`; did you mean `max`?
    "#]],
    );
}

#[test]
fn wrong_toml_types_are_reported() {
    check_type(
        r#"type = 1"#,
        expect![[r#"
        14:18 [1] `type` takes a string in quotes, not this number
    "#]],
    );
    check_type(
        r#"type = "number", min = "1", max = true, required = "yes""#,
        expect![[r#"
        14:34 ["1"] `min` takes a number (without quotes), not a string
        14:45 [true] `max` takes a number (without quotes), not true or false
        14:62 ["yes"] `required` takes `true` or `false` (without quotes), not a string
    "#]],
    );
    check_type(
        r#"type = "number", min = inf"#,
        expect![[r#"
        14:34 [inf] `min` takes a number (without quotes), not this number
    "#]],
    );
    check_type(
        r#"type = "vector", count = -1"#,
        expect![[r#"
        14:36 [-1] `count` takes a whole number from 0, not this number
    "#]],
    );
    check_type(
        r#"type = "text", doc = 1"#,
        expect![[r#"
        14:32 [1] `doc` takes a string in quotes, not this number
    "#]],
    );
    check_type(
        r#"type = "text", list = 2"#,
        expect![[r#"
        14:33 [2] `list` takes `true` or a table such as { separator = ",", min = 1 }, not this number
    "#]],
    );
    check_added(
        "other = 5\n",
        expect![[r#"
        14:9 [5] `other` takes a table, not this number
    "#]],
    );
}

#[test]
fn header() {
    check(
        &BASE.replace("format = 1", "format = 2"),
        expect![[r#"
        3:10 [2] this program reads format 1 of dialect files, not 2
    "#]],
    );
    check(
        &BASE.replace("\"quay\"", "\"the quay\""),
        expect![[r#"
        2:8 ["the quay"] the name of a dialect holds no blanks; put the long name into `title`
    "#]],
    );
    check(
        &BASE.replace("\"quay\"", "\"\""),
        expect![[r#"
        2:8 [""] `name` is empty; write, for example, "quay"
    "#]],
    );
}

#[test]
fn numbers_and_bounds() {
    check_type(
        r#"type = "number", min = 2, max = 1"#,
        expect![[r#"
        14:43 [1] no number lies between 2 and 1; swap or widen the bounds
    "#]],
    );
    check_type(
        r#"type = "number", above = 1, max = 1"#,
        expect![[r#"
        14:45 [1] no number lies between 1 and 1; swap or widen the bounds
    "#]],
    );
    check_type(
        r#"type = "number", above = 1, min = 1"#,
        expect![[r#"
        14:36 [1] `min` and `above` exclude each other; remove one of them
    "#]],
    );
    check_type(r#"type = "number", min = 1, max = 1"#, expect![[""]]);
    check_type(
        r#"type = "vector", count = 0"#,
        expect![[r#"
        14:36 [0] a vector holds 1 to 64 numbers; for any number of them write `type = "number", list = true`
    "#]],
    );
}

#[test]
fn units() {
    check_type(
        r#"type = "number", unit = "centimeters""#,
        expect![[r#"
        14:35 ["centimeters"] unknown unit `centimeters`; did you mean `cm`?
    "#]],
    );
    check_type(
        r#"type = "number", unit = "cmm", quantity = "length""#,
        expect![[r#"
        14:35 ["cmm"] unknown unit `cmm`; did you mean `cm`?
    "#]],
    );
    check_type(
        r#"type = "number", unit = "furlong""#,
        expect![[r#"
        14:35 ["furlong"] unknown unit `furlong`; known: m, cm, mm, dm, km, in, ft, deg, rad, gon, turn, s, ms, min, h, kg, g, t, lb, m/s, km/h, N, kN, W, kW, hp, Pa, kPa, bar, l, m3, or a [unit] of your own
    "#]],
    );
    check_type(
        r#"type = "number", unit = "cm", quantity = "time""#,
        expect![[r#"
        14:35 ["cm"] `cm` measures length, not time; units of time are s, ms, min, h
    "#]],
    );
    check_type(
        r#"type = "number", quantity = "lenght""#,
        expect![[r#"
        14:39 ["lenght"] `quantity` is `length`, `angle`, `time`, `mass`, `speed`, `force`, `power`, `pressure` or `volume`, not `lenght` (did you mean `length`?)
    "#]],
    );
    check_added(
        "[units]\ntime = \"cm\"\nangle = \"radian\"\n",
        expect![[r#"
        15:8 ["cm"] `cm` measures length, not time; units of time are s, ms, min, h
        16:9 ["radian"] unknown unit `radian`; did you mean `rad`?
    "#]],
    );
}

#[test]
fn own_units() {
    check_added(
        "span = { type = \"number\", unit = \"span\" }\n[unit.span]\nquantity = \"length\"\nsize = 0.23\n",
        expect![[""]],
    );
    check_added(
        "[unit.span]\n[unit.cm]\nquantity = \"length\"\nsize = 0\n",
        expect![[r#"
        14:7 [span] `[unit.span]` lacks the key `quantity`; add, for example, `quantity = "length"`
        14:7 [span] `[unit.span]` lacks the key `size`; add, for example, `size = 0.5`
        15:7 [cm] `cm` is a unit that everybody knows; give yours another name
        17:8 [0] the size of a unit is above 0
    "#]],
    );
}

#[test]
fn words() {
    check_type(
        r#"type = "word", words = "color""#,
        expect![[r#"
        14:34 ["color"] there is no word list `color`; did you mean `colour`?
    "#]],
    );
    check_type(
        r#"type = "word", words = "glyphs""#,
        expect![[r#"
        14:34 ["glyphs"] there is no word list `glyphs`; add it: `[words.glyphs]`, or write the words here: ["…", "…"]
    "#]],
    );
    check_type(
        r#"type = "word""#,
        expect![[r#"
        14:1 [value] attribute `value` of element `part` lacks the key `words`; add, for example, `words = ["pin", "ball"]`
    "#]],
    );
    check_type(
        r#"type = "word", words = []"#,
        expect![[r#"
        14:34 [[]] `words` holds no words; write the words that may stand here
    "#]],
    );
    check_type(
        r#"type = "word", words = ["a", "a"]"#,
        expect![[r#"
        14:40 ["a"] the word `a` stands in this list twice
    "#]],
    );
    check_added(
        "[words]\nempty = []\nbad = 1\n",
        expect![[r#"
        15:1 [empty] the word list `empty` holds no words
        16:1 [bad] the word list `bad` holds no words
        16:7 [1] `bad` takes an array of words, or a table of words with their explanations, not this number
    "#]],
    );
}

#[test]
fn kinds() {
    check_type(
        r#"type = "reference", of = "prat""#,
        expect![[r#"
        14:36 ["prat"] nothing gives a name to the kind `prat`; did you mean `part`?
    "#]],
    );
    check_type(
        r#"type = "reference", of = ["part", "lamp"]"#,
        expect![[r#"
        14:45 ["lamp"] nothing gives a name to the kind `lamp`; some attribute or text must have `type = "name", of = "lamp"`
    "#]],
    );
    check_type(
        r#"type = "reference", of = []"#,
        expect![[r#"
        14:36 [[]] `of` is empty; name at least one kind, such as "wheel"
    "#]],
    );
    check_type(
        r#"type = "reference""#,
        expect![[r#"
        14:1 [value] attribute `value` of element `part` lacks the key `of`; add, for example, `of = "wheel"`
    "#]],
    );
    check_type(
        r#"type = "position", of = "lamp""#,
        expect![[r#"
        14:35 ["lamp"] nothing gives a name to the kind `lamp`; some attribute or text must have `type = "name", of = "lamp"`
    "#]],
    );
    check_type(
        r#"type = "node", accepts = ["part", "index-pth"]"#,
        expect![[r#"
            14:45 ["index-pth"] nothing gives a name to the kind `index-pth`; did you mean `index-path`?
        "#]],
    );
    check_type(
        r#"type = "node", accepts = []"#,
        expect![[r#"
        14:36 [[]] `accepts` is empty; write, for example, ["alias", "index-path"], or leave it out
    "#]],
    );
}

#[test]
fn lists_and_separators() {
    check_type(
        r#"type = "number", list = { separator = "" }"#,
        expect![[r#"
        14:49 [""] `separator` is empty; write " " for blanks, or a mark such as ";"
    "#]],
    );
    check_type(
        r#"type = "number", list = { separator = ".", min = 3, max = 2, least = 1 }"#,
        expect![[r#"
        14:35 [{ separator = ".", min = 3, max = 2, least = 1 }] `.` cannot separate the members: it is a part of numbers
        14:69 [2] `max` 2 is less than `min` 3; swap or widen them
        14:72 [least] unknown key `least` in `list` of attribute `value` of element `part`; known here: `separator`, `min` or `max`
    "#]],
    );
    check_type(
        r#"type = "index-path", list = { separator = "/" }"#,
        expect![[r#"
        14:39 [{ separator = "/" }] `/` cannot separate the members: it is a part of index paths
    "#]],
    );
    check_type(
        r#"type = "text", list = { separator = "/" }"#,
        expect![[""]],
    );
    check_type(
        r#"type = "vector", separator = ".""#,
        expect![[r#"
        14:40 ["."] `.` cannot separate numbers: it is a part of numbers
    "#]],
    );
    check_added(
        "[notation]\ndecimal-mark = \",\"\nvector-separator = \",\"\n",
        expect![[r#"
            16:20 [","] `,` cannot separate numbers: it is a part of numbers
        "#]],
    );
}

#[test]
fn notation() {
    check_added(
        r#"[notation]
decimal-mark = "--"
least-decimals = 4
most-decimals = 2
euler = "xyx"
yes = ["on", "1"]
no = ["off", "1"]
[notation.index-path]
separator = ""
after-root = "0"
first = -1
[notation.axes]
right = "left"
forward = "y"
[files]
game-prefix = ""
folder-separator = ":"
from = "folder"
"#,
        expect![[r#"
            15:16 ["--"] a decimal mark is one character, such as "." or ","
            17:17 [2] `most-decimals` is less than `least-decimals`; swap or raise it
            18:9 ["xyx"] `euler` is `xyz`, `xzy`, `yxz`, `yzx`, `zxy` or `zyx`, not `xyx` (did you mean `xyz`?)
            19:1 [yes] `1` cannot mean both yes and no
            22:13 [""] `separator` is empty; write a mark such as "/"
            23:14 ["0"] `after-root` cannot hold digits
            24:9 [-1] `first` takes a whole number from 0, not this number
            25:11 [axes] `right`, `up` and `forward` must be three different axes; where one is left out it is right = "-x", up = "y", forward = "z"
            26:9 ["left"] `right` is `x`, `y`, `z`, `-x`, `-y` or `-z`, not `left`
            29:15 [""] `game-prefix` is empty; leave the key out if files have no such prefix
            30:20 [":"] folders are separated by "/" or "\\" (or both, the written one first)
            31:8 ["folder"] `from` is `document` or `mod`, not `folder`
        "#]],
    );
}

#[test]
fn documents() {
    check_added(
        r#"[[document]]
name = "rig"
root = "rgi"
[[document]]
name = "again"
root = "rig"
[[document]]
name = "x"
root = "q:x"
files = ["a/*.xml", ""]
[[document]]
"#,
        expect![[r#"
            14:1 [[[document]]] there is a document `rig` already; give this one another name
            14:1 [[[document]]] the root element `rgi` is not declared; did you mean `rig`?
            17:1 [[[document]]] document `again` fits the same files as `rig`: same root and namespace; change one of them
            22:8 ["q:x"] `q:x` is no name for an element; write the root's name without prefix
            23:10 ["a/*.xml"] a pattern is compared with the file's own name; leave out the folders
            23:21 [""] this pattern is empty; write, for example, "*.xml"
            24:1 [[[document]]] `[[document]]` lacks the key `name`; add, for example, `name = "machine"`
            24:1 [[[document]]] `[[document]]` lacks the key `root`; add, for example, `root = "machine"`
        "#]],
    );
}

#[test]
fn children() {
    check_added(
        r#"[element.part]
children = ["prat*", "lamp", "a b", "rig?!", "rig{3,2}", "rig", "rig*", "rig{1,2}"]
order = "fixed"
[element.lonely]
children = ["lonely?"]
[element."a//b"]
"#,
        expect![[r#"
            15:13 ["prat*"] element `part` holds `prat`, which is not declared; did you mean `part`?
            15:22 ["lamp"] element `part` holds `lamp`, which is not declared; add `[element.lamp]`
            15:30 ["a b"] `a b` is no child; write `name` (exactly one, without prefix), `name?` (at most one), `name*` (any number), `name+` (at least one) or `name{2,4}`
            15:37 ["rig?!"] `rig?!` is no child; write `name` (exactly one, without prefix), `name?` (at most one), `name*` (any number), `name+` (at least one) or `name{2,4}`
            15:46 ["rig{3,2}"] `rig{3,2}` asks for at least 3 and fewer; swap the numbers
            15:65 ["rig*"] `rig` stands among the children twice; remove one
            15:73 ["rig{1,2}"] `rig` stands among the children twice; remove one
            16:9 ["fixed"] `order` is `any` or `listed`, not `fixed`
            17:10 [lonely] nothing holds the element `lonely`: it is neither the root of a document nor among the `children` of an element; add it there or remove it
            19:10 ["a//b"] `a//b` is no key for an element; write its name, or the end of its path such as "wheels/wheel" ("/machine" is the root only)
        "#]],
    );
}

#[test]
fn usual_and_default_values_must_fit() {
    check_type(
        r#"type = "number", min = 0, usual = "-1", default = "x""#,
        expect![[r#"
        14:46 [-1] the usual value of `value` does not fit its type: expected a number at least 0
        14:62 [x] the default value of `value` does not fit its type: expected a number at least 0
    "#]],
    );
    check_type(
        r#"type = "word", words = "colour", usual = "green""#,
        expect![[r#"
        14:53 [green] the usual value of `value` does not fit its type: expected `red` or `blue`
    "#]],
    );
    check_type(
        r#"type = "number", list = { min = 2 }, usual = "1""#,
        expect![[r#"
        14:57 [1] the usual value of `value` does not fit its type: expected at least 2 members
    "#]],
    );
    check_type(r#"type = "boolean", usual = true"#, expect![[""]]);
    check_type(r#"type = "number", usual = 0.5"#, expect![[""]]);
}

/// A dialect in which every role can be played.
const ROLES: &str = r#"[dialect]
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
        40:8 ["@path"] `path` leads to `path` of element `alias`, whose type does not fit; it needs `type = "index-path"`
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
        10:17 ["nme"] `type` is `text`, `boolean`, `integer`, `number`, `vector`, `word`, `name`, `reference`, `position`, `node`, `index-path`, `file`, `input` or `moved-value`, not `nme` (did you mean `name`?)
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
        50:1 [[[role.channel]]] write either `begin` and `end`, or `window` for one list of both
    "#]],
    );
    check_roles(
        "begin = \"@begin\"\nend = \"@end\"",
        "",
        expect![[r#"
            50:1 [[[role.channel]]] `[[role.channel]]` lacks the time window; add `begin = "@begin"` and `end = "@end"`, or `window = "@window"` for one list of both
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
        55:1 [[[role.channel.motion]]] a motion needs either `from` and `to`, or `ends` for one list of both
    "#]],
    );
    check_roles(
        "to = \"@to\"",
        "ends = \"@ends\"",
        expect![[r#"
        55:1 [[[role.channel.motion]]] a motion needs either `from` and `to`, or `ends` for one list of both
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

#[test]
fn scenes() {
    check_added(
        "[scene]\n",
        expect![[r#"
        14:2 [scene] `[scene]` lacks the key `root`; add, for example, `root = "machine"`
        14:2 [scene] `[scene]` lacks the key `node`; add, for example, `node = "node"`
    "#]],
    );
    check_added(
        r#"[scene]
root = "tree"
node = ["limb", "a b"]
top = "limbs/@x"
rotation-form = "quaternion"
matrix-order = "row"
bounds-min = "@low"
[scene.units]
length = "s"
"#,
        expect![[r#"
            14:2 [scene] write either `bounds-min` and `bounds-max`, or `bounds` for one list of six numbers
            16:17 ["a b"] `a b` is no name of an element
            17:7 ["limbs/@x"] `top` leads to elements; leave out `@name` or `text()` at the end
            18:17 ["quaternion"] `rotation-form` is `euler`, `quaternion-xyzw`, `quaternion-wxyz` or `axis-angle`, not `quaternion`
            19:16 ["row"] `matrix-order` is `rows` or `columns`, not `row` (did you mean `rows`?)
            22:10 ["s"] `s` measures time, not length; units of length are m, cm, mm, dm, km, in, ft
        "#]],
    );
}

#[test]
fn places_hold_with_carriage_returns_byte_order_marks_and_other_letters() {
    check(
        "\u{feff}[dialect]\r\nname = \"käi\"\r\ntitel = \"Kai\"\r\nformat = 1\r\n",
        expect![[r#"
            1:1 [] the file has no `[element]`; add one: what an element may hold, such as `[element.machine]`
            1:1 [] the file has no `[[document]]`; add one: a kind of document, by its root element
            3:1 [titel] unknown key `titel` in `[dialect]`; did you mean `title`?
        "#]],
    );
}
