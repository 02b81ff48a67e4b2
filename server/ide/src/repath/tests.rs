use super::*;
use crate::fixture::{Fixture, YARD, listed_scene};

const OLD: &str = "\
rig
  arm.left 1 0 0 box
    wheel.left 0 0.5 0
  arm.right -1 0 0 box
    wheel.right 0 0.5 0
  mast 0 1 0
    hook 0 0.25 -0.1
  lamp 0 2 0
";

/// A beacon was added, the arms were sorted, the mast was renamed, the lamp has gone.
const NEW: &str = "\
rig
  beacon 0 3 0
  arm.right -1 0 0 box
    wheel.right 0 0.5 0
  arm.left 1 0 0 box
    wheel.left 0 0.5 0
  mast.upper 0 1 0
    hook 0 0.25 -0.1
";

fn moves(repath: &Repath) -> Vec<String> {
    let paths = repath.paths.iter();
    let told = paths.map(|path| match &path.outcome {
        Outcome::Stays(_) => format!("{} stays", path.path),
        Outcome::Moves(to) => format!("{} {}", path.path, to.path),
        Outcome::Unsure(targets) => format!("{} {} candidates", path.path, targets.len()),
        other => format!("{} {other:?}", path.path),
    });
    told.collect()
}

#[test]
fn aliases_and_raw_paths_follow_their_nodes_and_all_else_stays() {
    let body = r#"<!-- as 0/0 was -->
<aliases><alias name="arm.left" path = ' 0/0 '/><alias name='mast'   path="0/2"/><alias name="lamp" path="0/3"/></aliases>
<wheels><wheel id="left" node="0/0/0" radius="1" width="1"/><wheel id="far" node="0/9" radius="1" width="1"/></wheels>"#;
    let view = Fixture::rig(body).view();
    let repath = by_scenes(&view, &listed_scene(OLD), &listed_scene(NEW)).unwrap();
    assert_eq!(
        moves(&repath),
        [
            "0/0 0/2",
            "0/2 0/3",
            "0/3 Gone",
            "0/0/0 0/2/0",
            "0/9 Nowhere"
        ]
    );
    let expected = view
        .text()
        .replace("' 0/0 '", "' 0/2 '")
        .replace("name='mast'   path=\"0/2\"", "name='mast'   path=\"0/3\"")
        .replace("\"0/0/0\"", "\"0/2/0\"");
    assert_eq!(repath.text, expected);
    assert_eq!((repath.moved(), repath.left().count()), (3, 2));
}

#[test]
fn another_dialect_is_written_in_its_own_notation() {
    let body =
        "<handles><handle><call>arm left</call><spot><!-- x --> #1:1 </spot></handle></handles>";
    let view = Fixture::yard(body).view();
    let repath = by_scenes(&view, &listed_scene(OLD), &listed_scene(NEW)).unwrap();
    assert_eq!(moves(&repath), ["#1:1 #1:3"]);
    assert_eq!(repath.text, view.text().replace(" #1:1 ", " #1:3 "));
}

/// Without the number of the root, nothing leads below a second one.
#[test]
fn where_no_path_leads_now_is_told() {
    let yard = YARD.replace("after-root = \":\"", "root-number = false");
    let body = "<handles><handle><call>arm left</call><spot>#1</spot></handle><handle><call>mast</call><spot>#3</spot></handle></handles>";
    let view = Fixture::in_yard(&yard, body).view();
    let second = format!("quay 0 0 0\n  crate 9 0 0\n{NEW}");
    let repath = by_scenes(&view, &listed_scene(OLD), &listed_scene(&second)).unwrap();
    let told = [
        "#1 OutOfReach(\"#3 of root 2\")",
        "#3 OutOfReach(\"#4 of root 2\")",
    ];
    assert_eq!(moves(&repath), told);
    assert_eq!(repath.left().count(), 2);
    assert_eq!(repath.text, view.text());
}

#[test]
fn twins_are_left_to_a_person() {
    let old = "rig\n  rod 1 0 0\n  mast 0 1 0\n";
    let new = "rig\n  rod 1 0 0\n    rod 1 0 0\n  rod 1 0 0\n  mast 0 1 0\n";
    let view = Fixture::rig(r#"<aliases><alias name="rod" path="0/0"/></aliases>"#).view();
    let repath = by_scenes(&view, &listed_scene(old), &listed_scene(new)).unwrap();
    assert_eq!(moves(&repath), ["0/0 3 candidates"]);
    assert_eq!(repath.text, view.text());
}

#[test]
fn without_the_old_scene_aliases_go_by_their_names_and_their_paths_go_with_them() {
    let body = r#"<aliases><alias name="Arm_Left" path="0/0"/><alias name="hook" path="0/2"/><alias name="other" path="0/1"/></aliases>
<wheels><wheel id="a" node="0/0" radius="1" width="1"/><wheel id="b" node="0/0/0" radius="1" width="1"/></wheels>"#;
    let view = Fixture::rig(body).view();
    let repath = by_names(&view, &listed_scene(NEW)).unwrap();
    assert_eq!(
        moves(&repath),
        [
            "0/0 0/2",
            "0/2 0/3/0",
            "0/1 Unknown",
            "0/0 0/2",
            "0/0/0 Unknown"
        ]
    );
}
