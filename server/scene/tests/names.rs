//! Nodes that are asked for by their names.

use dialect::{NodeNames, NodePath};
use scene::{NoNode, NodeIndex, NodeParts, Scene, SceneBuilder};

/// Two legs with a foot each, and a foot by itself.
fn scene() -> Scene {
    let mut builder = SceneBuilder::new();
    builder.open(NodeParts::named("rig"));
    for leg in ["left", "right"] {
        builder.open(NodeParts::named(leg));
        builder.leaf(NodeParts::named("foot"));
        builder.close();
    }
    builder.leaf(NodeParts::named("mast"));
    builder.close();
    builder.leaf(NodeParts::named("foot"));
    builder.finish()
}

fn names(names: &[&str], from_root: bool) -> NodeNames {
    NodeNames {
        names: names.iter().map(|name| (*name).to_owned()).collect(),
        from_root,
    }
}

fn find(wanted: &[&str], from_root: bool) -> Result<NodeIndex, NoNode> {
    scene().find(&NodePath::Names(names(wanted, from_root)))
}

#[test]
fn names_lead_to_the_node_that_hangs_on_nodes_of_the_other_names() {
    assert_eq!(find(&["right", "foot"], false), Ok(NodeIndex(4)));
    assert_eq!(find(&["rig", "right", "foot"], true), Ok(NodeIndex(4)));
    assert_eq!(find(&["rig", "foot"], false), Err(NoNode::NoName));
}

#[test]
fn how_many_nodes_the_names_lead_to_is_told() {
    assert_eq!(find(&["foot"], false), Err(NoNode::Several(3)));
}

#[test]
fn names_from_the_root_begin_at_a_root() {
    assert_eq!(find(&["foot"], true), Ok(NodeIndex(6)));
    assert_eq!(find(&["right", "foot"], true), Err(NoNode::NoName));
}

#[test]
fn a_node_is_named_by_as_few_names_as_tell_it_from_all_others() {
    let scene = scene();
    let to = |node, most| scene.names_to(NodeIndex(node), most, false);
    assert_eq!(to(5, 9), Some(names(&["mast"], false)));
    assert_eq!(to(4, 9), Some(names(&["right", "foot"], false)));
    assert_eq!(to(4, 1), None);
    assert_eq!(to(6, 9), None);
}

#[test]
fn all_names_from_the_root_on_are_written_where_a_dialect_asks_for_them() {
    let named = scene().names_to(NodeIndex(5), 9, true);
    assert_eq!(named, Some(names(&["rig", "mast"], true)));
}

#[test]
fn a_node_is_below_those_that_it_hangs_on_only() {
    let scene = scene();
    let is_below = |node, other| scene.is_below(NodeIndex(node), NodeIndex(other));
    assert!(is_below(2, 0) && is_below(2, 1));
    assert!(!is_below(1, 1) && !is_below(0, 1) && !is_below(3, 1) && !is_below(6, 0));
}
