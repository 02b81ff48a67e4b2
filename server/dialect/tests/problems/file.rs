//! The tables of a file, and its elements.

use dialect::Dialect;
use expect_test::expect;

use crate::roles::ROLES;
use crate::{BASE, check, check_added};

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
            17:1 [[[document]]] document `again` fits the same files as `rig`: same root and namespace; change one of them, or tell them apart by `holds` or `root-attributes`
            22:8 ["q:x"] `q:x` is no name for an element; write the root's name without prefix
            23:10 ["a/*.xml"] a pattern is compared with the file's own name; leave out the folders
            23:21 [""] this pattern is empty; write, for example, "*.xml"
            24:1 [[[document]]] `[[document]]` lacks the key `name`; add, for example, `name = "machine"`
            24:1 [[[document]]] `[[document]]` lacks the key `root`; add, for example, `root = "machine"`
        "#]],
    );
}

#[test]
fn any_single_slip_is_survived() {
    for source in [ROLES, Dialect::house_source()] {
        let lines: Vec<&str> = source.lines().collect();
        for at in 0..lines.len() {
            let without: Vec<&str> = lines
                .iter()
                .enumerate()
                .filter(|(n, _)| *n != at)
                .map(|(_, line)| *line)
                .collect();
            let cut = source
                .char_indices()
                .map(|(at, _)| at)
                .nth(at * 7)
                .unwrap_or(0);
            for broken in [without.join("\n"), source[..cut].to_owned()] {
                for problem in Dialect::read(&broken, None).err().unwrap_or_default() {
                    assert!(
                        usize::from(problem.range.end()) <= broken.len(),
                        "{problem}"
                    );
                    assert!(
                        broken.is_char_boundary(problem.range.start().into()),
                        "{problem}"
                    );
                    assert!(!problem.message.is_empty());
                }
            }
        }
    }
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
            15:30 ["a b"] `a b` is no child; write `name` (exactly one, without prefix), `name?` (at most one), `name*` (any number), `name+` (at least one), `name{2,4}` or `one | other`
            15:37 ["rig?!"] `rig?!` is no child; write `name` (exactly one, without prefix), `name?` (at most one), `name*` (any number), `name+` (at least one), `name{2,4}` or `one | other`
            15:46 ["rig{3,2}"] `rig{3,2}` asks for at least 3 and fewer; swap the numbers
            15:65 ["rig*"] `rig` stands among the children twice; remove one
            15:73 ["rig{1,2}"] `rig` stands among the children twice; remove one
            16:9 ["fixed"] `order` is `any` or `listed`, not `fixed`
            17:10 [lonely] nothing holds the element `lonely`: it is neither the root of a document nor among the `children` of an element; add it there or remove it
            19:10 ["a//b"] `a//b` is no key for an element; write its name, or the end of its path such as "wheels/wheel" ("/machine" is the root only, "rig:/data" that of documents `rig`, "item[@sort='tag']" items whose attribute `sort` is `tag`)
        "#]],
    );
}

#[test]
fn choices() {
    check_added(
        r#"[element.part]
children = ["rig | part", "(rig | )", "(box | box)?", "box? | ball", "(box+ | ball)*", "(box | ball", "(box | ball){3,1}"]
"#,
        expect![[r#"
            15:27 ["(rig | )"] `(rig | )` is no choice; write `one | other` (exactly one of them), `(one | other)?` (at most one), `(one | other)*` (any number of them) or `(one | other)+` (at least one)
            15:39 ["(box | box)?"] `box` stands in `(box | box)?` twice; remove one
            15:55 ["box? | ball"] in `box? | ball` write `box` or, if it may come several times, `box+`; if none of them need be there, put `?` behind: `(…)?`
            15:70 ["(box+ | ball)*"] in `(box+ | ball)*` write `box` or, if there may be only one, `box?`; how many there must be is said behind the brackets
            15:88 ["(box | ball"] `(box | ball` is no choice; write `one | other` (exactly one of them), `(one | other)?` (at most one), `(one | other)*` (any number of them) or `(one | other)+` (at least one)
            15:103 ["(box | ball){3,1}"] `(box | ball){3,1}` asks for at least 3 and fewer; swap the numbers
        "#]],
    );
}

#[test]
fn names_may_not_stand_for_too_many_sorts() {
    let part = |number: usize| format!("[element.\"part[@is='p{number}']\"]\n");
    let added: String = (0..400).map(part).collect();
    let added = format!("{added}[element.\"part/part\"]\n[element.\"part/part/part\"]\n");
    let problems = Dialect::read(&format!("{BASE}{added}"), None).unwrap_err();
    let messages: Vec<&str> = problems.iter().map(|one| one.message.as_str()).collect();
    let told = messages.iter().filter(|one| one.contains("100000 paths"));
    let told: Vec<&&str> = told.collect();
    assert_eq!(told.len(), 1, "{messages:?}");
    assert!(told[0].contains("`part/part`"), "{told:?}");
}
