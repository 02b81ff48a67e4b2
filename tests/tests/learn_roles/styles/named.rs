//! Styles in which nodes go by their names in the scene, without any names that the definition gives them.

use super::moving::{around_without_aliases, shell_with};
use super::{Channel, Ends, Machine, Style, plain, row};

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
        go(channel, node(&channel.node))
    })
}

fn go(channel: &Channel, node: String) -> String {
    let (sort, ends) = match &channel.ends {
        Ends::Shift(ends) => ("gad", ends),
        Ends::Turn(ends) => ("gyr", ends),
        Ends::Size(_) | Ends::Show(_) => return String::new(),
    };
    let [from, to] = ends.map(|end| row(end, 1.0, 4, " "));
    let [begin, end] = channel.window.map(|time| plain(time, 3));
    format!(
        "    <go whom=\"{node}\" tem=\"{begin}\" fin=\"{end}\" sort=\"{sort}\" ab=\"{from}\" an=\"{to}\"/>\n"
    )
}
