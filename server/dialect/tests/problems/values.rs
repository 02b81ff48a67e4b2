//! The types of values.

use expect_test::expect;

use crate::{check_added, check_type};

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
            14:18 ["nubmer"] `type` is `text`, `boolean`, `integer`, `number`, `vector`, `word`, `name`, `reference`, `position`, `node`, `index-path`, `node-name`, `file`, `input`, `moved-value` or `colour`, not `nubmer` (did you mean `number`?)
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
    // Marks that hold characters of a member, but that no member can hold.
    for mark in ["->", "..", "=>", "to"] {
        check_type(
            &format!(r#"type = "number", list = {{ separator = "{mark}" }}"#),
            expect![[""]],
        );
    }
    check_type(
        r#"type = "text", list = { separator = "/" }"#,
        expect![[""]],
    );
    // A minus may stand between numbers that have none.
    for bound in ["min = 0", "above = 0", "min = 2.5"] {
        check_type(
            &format!(r#"type = "number", {bound}, list = {{ separator = "-" }}"#),
            expect![[""]],
        );
    }
    check_type(
        r#"type = "number", min = -1, list = { separator = "-" }"#,
        expect![[r#"
            14:45 [{ separator = "-" }] `-` cannot separate the members: it is a part of numbers
        "#]],
    );
    check_type(
        r#"type = "integer", min = 0, list = { separator = "+" }"#,
        expect![[r#"
            14:45 [{ separator = "+" }] `+` cannot separate the members: it is a part of numbers
        "#]],
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
fn a_kind_has_one_scope() {
    check_added(
        r#"[element.rig.attributes]
one = { type = "name", of = "rope", scope = "folder" }
two = { type = "name", of = "rope" }
three = { type = "name", of = "rope", scope = "parent" }
four = { type = "name", of = "knot", scope = "everywhere" }
"#,
        expect![[r#"
            17:39 [scope] names of the kind `rope` have the scope `folder` elsewhere; write the same here, or leave it out
            18:46 ["everywhere"] `scope` is `document`, `folder` or `parent`, not `everywhere`
        "#]],
    );
}
