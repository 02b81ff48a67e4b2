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
