//! When a node of a new scene could be one or another, none is said to be found.

use glam::DVec3;
use scene::{Bounds, Fate, Matching, NodeParts, Rest, Scene, SceneBuilder};

/// A root with nodes on it, each with what hangs on it.
fn rig(nodes: &[(NodeParts, &[NodeParts])]) -> Scene {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("rig"));
    for (node, below) in nodes {
        builder.open(node.clone());
        for node in *below {
            builder.leaf(node.clone());
        }
        builder.close();
    }
    builder.finish()
}

fn named(name: &str) -> NodeParts {
    NodeParts::named(name)
}

/// A node with a place of its own, and a mesh that no node at another place has.
fn placed(name: &str, x: f64) -> NodeParts {
    NodeParts {
        rest: Rest::at(DVec3::X * x),
        bounds: Bounds::new(DVec3::ZERO, DVec3::splat(0.1 * x)),
        ..named(name)
    }
}

/// What became of the nodes below the root of the old scene, in its order.
fn fates(old: &Scene, new: &Scene) -> Vec<Fate> {
    Matching::of(old, new).fates.split_off(1)
}

fn is_found(fate: &Fate) -> bool {
    matches!(fate, Fate::Found(_))
}

fn candidates(fate: &Fate) -> usize {
    match fate {
        Fate::Unsure(candidates) => candidates.len(),
        Fate::Found(_) | Fate::Gone => 0,
    }
}

#[test]
fn nodes_that_have_exchanged_their_names_may_have_exchanged_their_places() {
    let old = rig(&[(placed("one", 1.0), &[]), (placed("two", 5.0), &[])]);
    let new = rig(&[(placed("two", 1.0), &[]), (placed("one", 5.0), &[])]);
    let fates = fates(&old, &new);
    assert!(fates.iter().all(|fate| candidates(fate) == 2), "{fates:?}");
    let moved = rig(&[(placed("one", 2.0), &[]), (placed("two", 5.0), &[])]);
    assert!(self::fates(&old, &moved).iter().all(is_found));
}

#[test]
fn a_node_that_stands_in_two_places_now_may_be_the_copy_in_either() {
    let lamp = [placed("lamp", 1.0)];
    let old = rig(&[(named("boom"), &lamp), (named("mast"), &[])]);
    let new = rig(&[(named("boom"), &lamp), (named("mast"), &lamp)]);
    let [boom, of_lamp, mast] = &fates(&old, &new)[..] else {
        panic!("three nodes hang on the root")
    };
    assert!(is_found(boom) && is_found(mast));
    assert_eq!(candidates(of_lamp), 2, "{of_lamp:?}");
}

#[test]
fn nodes_that_look_alike_and_have_changed_are_not_told_by_their_place_in_the_row() {
    let post = |bolt: &str| (named("post"), [named(bolt)]);
    let row = |bolts: [&str; 2]| {
        let posts = bolts.map(post);
        rig(&posts
            .each_ref()
            .map(|(post, bolt)| (post.clone(), &bolt[..])))
    };
    let changed = fates(&row(["a", "b"]), &row(["c", "d"]));
    assert!(
        !is_found(&changed[0]) && !is_found(&changed[2]),
        "{changed:?}"
    );
    let same = fates(&row(["a", "b"]), &row(["a", "b"]));
    assert!(same.iter().all(is_found));
}

/// It may be the double that was renamed, and this one what was put in its place.
#[test]
fn a_renamed_node_that_has_a_double_is_not_found() {
    let lamps = |boom: (&str, f64), post: (&str, f64)| {
        let [boom, post] = [boom, post].map(|(name, x)| [placed(name, x)]);
        rig(&[(named("boom"), &boom), (named("post"), &post)])
    };
    let fate = |old: &Scene, new: &Scene| fates(old, new)[1].clone();
    // Another one has come to have its old name and place …
    let old = lamps(("lamp", 1.0), ("lamp", 9.0));
    let new = lamps(("light", 1.0), ("lamp", 1.0));
    assert!(!is_found(&fate(&old, &new)));
    // … or has had its new name and its place before.
    assert!(!is_found(&fate(&new, &old)));
    // One that has the name stays where it was, there or elsewhere; or one that comes has another name.
    let elsewhere = lamps(("light", 1.0), ("lamp", 9.0));
    assert!(is_found(&fate(&old, &elsewhere)));
    let both = lamps(("lamp", 1.0), ("lamp", 1.0));
    assert!(is_found(&fate(&both, &new)));
    let (horn, moved) = (
        lamps(("lamp", 1.0), ("horn", 9.0)),
        lamps(("light", 1.0), ("horn", 1.0)),
    );
    assert!(is_found(&fate(&horn, &moved)));
}

/// What an empty node hung on was hung on something else: what has come where that was may be the node by another name.
#[test]
fn a_node_that_left_with_what_it_hung_on_may_have_stayed_there_by_another_name() {
    let model = |rig: &[&str], boom: &[&str], mast: &[&str]| {
        let mut builder = SceneBuilder::new();
        builder.open(named("rig"));
        for (name, below) in [("boom", boom), ("mast", mast)] {
            builder.open(named(name));
            if below.contains(&"arm") {
                builder.open(placed("arm", 2.0));
                builder.open(placed("wrist", 3.0));
                builder.leaf(named("lamp"));
                builder.close();
                builder.close();
            }
            for name in below.iter().filter(|name| **name != "arm") {
                builder.leaf(named(name));
            }
            builder.close();
        }
        for name in rig {
            builder.leaf(named(name));
        }
        builder.finish()
    };
    // Old: rig, boom, arm, wrist, lamp.
    let fate = |new: &Scene| Matching::of(&model(&[], &["arm"], &[]), new).fates[4].clone();
    assert!(is_found(&fate(&model(&[], &[], &["arm"]))));
    assert!(!is_found(&fate(&model(&[], &["light"], &["arm"]))));
    // It never hung that far up, and the boom is where it was.
    assert!(is_found(&fate(&model(&["light"], &[], &["arm"]))));
}
