//! Styles in which nodes go by their names in the scene, without any names that the definition gives them.

use super::moving::{around_without_aliases, go, shell_with};
use super::{Machine, Style};

macro_rules! parts {
    () => {
        around_without_aliases!(
            ("channel brig/feat/go node", "@whom"),
            ("channel brig/feat/go begin", "@tem"),
            ("channel brig/feat/go end", "@fin"),
            ("channel brig/feat/go property", "@sort"),
            ("channel brig/feat/go property.translation", "gad"),
            ("channel brig/feat/go property.rotation", "gyr"),
            ("channel brig/feat/go from", "@ab"),
            ("channel brig/feat/go to", "@an"),
        )
    };
}

/// A node's own name.
pub(crate) const NAMED: Style = Style {
    name: "named",
    write: |machine| written(machine, |names| names.last().unwrap().clone()),
    sides: ["arm port", "arm starboard"],
    parts: parts!(),
    notation: &[],
};

/// All names from the root down.
pub(crate) const TRAILED: Style = Style {
    name: "trailed",
    write: |machine| written(machine, |names| names.join(">")),
    sides: ["hull>arm port", "arm starboard"],
    parts: parts!(),
    notation: &["separator = \">\"", "from = \"root\""],
};

fn written(machine: &Machine, call: impl Fn(Vec<String>) -> String) -> String {
    let node = |node: &super::Node| call(machine.names(node)).replace('>', "&gt;");
    shell_with(machine, 1.0, "", node, |channel| {
        go(channel, &node(&channel.node))
    })
}
