use super::*;
use expect_test::expect;

const ROLLERS: &str = "<rollers><roller><spot>#1:1.1</spot></roller><roller/><roller/></rollers>\n";

#[test]
fn the_member_at_the_caret_is_completed() {
    let hand = |follows: &str| {
        Fixture::yard(&format!(
            "{ROLLERS}<hands><hand way=\"key\"><follows>{follows}</follows></hand></hands>"
        ))
    };
    check(
        hand("$0"),
        expect![[r#"
            1 (wheel wheel.left) 1
            2 (wheel) 2
            3 (wheel) 3"#]],
    );
    check(
        hand("1, $0"),
        expect![[r#"
            2 (wheel) 2
            3 (wheel) 3"#]],
    );
    check(
        hand("1, 2$0"),
        expect![[r#"
        2 (wheel) 2
        3 (wheel) 3"#]],
    );
    assert!(taken(&hand("1, $0, 2"), "3").contains("<follows>1, 3, 2</follows>"));
}

#[test]
fn text_of_an_element_is_completed() {
    let strokes = "<strokes><stroke><call>lift</call></stroke></strokes><hands><hand><stroke>$0</stroke></hand></hands>";
    check(Fixture::yard(strokes), expect!["lift (stroke) lift"]);
}

#[test]
fn handles_and_index_paths_in_the_dialects_notation() {
    let body = "<handles><handle><call>mast</call><spot>#1:3</spot></handle></handles><weights><weight><spot>$0</spot></weight></weights>";
    check(
        Fixture::yard(body),
        expect![[r#"
        mast (handle) mast
        #1 (rig) #1
        #1:1 (arm.left) #1:1
        #1:1.1 (wheel.left) #1:1.1
        #1:2 (arm.right) #1:2
        #1:2.1 (wheel.right) #1:2.1
        #1:3 (mast) #1:3
        #1:3.1 (hook) #1:3.1"#]],
    );
    check(
        Fixture::yard("<weights><weight><spot>#1:3.$0</spot></weight></weights>"),
        expect!["#1:3.1 (hook) #1:3.1"],
    );
}

#[test]
fn what_is_added_to_where_a_node_rests_is_nothing_at_first() {
    let moved = |what: &str| {
        Fixture::yard_of_changes(&format!(
            "<strokes><stroke><call>a</call><move><spot>#1:3</spot><span>0 .. 1</span>{what}</move></stroke></strokes>"
        ))
    };
    check(
        moved("<shift>$0</shift>"),
        expect!["0;0;0 (nothing added) 0;0;0"],
    );
    check(
        moved("<swell>$0</swell>"),
        expect!["1;1;1 (nothing added) 1;1;1"],
    );
    // A swing is where the limb goes.
    check(moved("<swing>$0</swing>"), expect!["0;0;0 (at rest) 0;0;0"]);
}

#[test]
fn both_ends_of_a_motion_in_one_list() {
    let shift = |ends: &str| {
        Fixture::yard(&format!(
            "<strokes><stroke><call>a</call><move><spot>#1:3</spot><span>0 .. 1</span><shift>{ends}</shift></move></stroke></strokes>"
        ))
    };
    check(shift("$0"), expect!["0;100;0 (at rest) 0;100;0"]);
    check(
        shift("0;1;0 | $0"),
        expect![[r#"
        0;100;0 (at rest) 0;100;0
        0;1;0 (as at the other end) 0;1;0"#]],
    );
    assert!(taken(&shift("0;1;0 | 0$0"), "0;100;0").contains("<shift>0;1;0 | 0;100;0</shift>"));
}

#[test]
fn an_input_of_the_controls_kind() {
    let grip = |way: &str| {
        Fixture::yard(&format!(
            "<hands><hand way=\"{way}\"><grip>$0</grip></hand></hands>"
        ))
    };
    assert_eq!(labels(&grip("key")), ["key-a", "key-b"]);
    assert_eq!(labels(&grip("axis")), ["thumb-left", "thumb-right", "palm"]);
    assert_eq!(
        labels(&grip("odd")),
        ["thumb-left", "thumb-right", "palm", "key-a", "key-b"]
    );
}

#[test]
fn file_names_with_the_dialects_marks() {
    let fixture = Fixture::yard("<noises><noise><call>a</call><tape>$0</tape></noise></noises>")
        .file("noises/clunk.ogg")
        .file("rigs/rig.rig.xml");
    check(
        fixture,
        expect![[r#"
        noises\clunk.ogg () noises\clunk.ogg
        yard: (in the game's own folder) yard:"#]],
    );
}

#[test]
fn a_full_list_takes_no_more() {
    let pair =
        "<strokes><stroke><call>a</call><move><span>0 .. 1 .. $0</span></move></stroke></strokes>";
    assert_eq!(labels(&Fixture::yard(pair)), [""; 0]);
}
