//! The old scene is gone: the names of aliases are what is left.

use std::collections::HashMap;

use dialect::NodePath;
use scene::{NodeIndex, Scene};

use super::{Outcome, Paths, Repath};
use crate::node_names::{NodeNames, plain};
use project::View;

/// An alias that is spelled as the node is.
const SAME: f64 = 0.95;
/// An alias that is spelled as the node is but for case and punctuation.
const PLAINLY_SAME: f64 = 0.9;

/// What becomes of each index path, judged by the names of aliases: an alias whose name only one node has means that
/// node, unless it leads to one above or below it; what is written as the path of an alias goes with it. Of other
/// paths nothing is known.
///
/// # Errors
/// No dialect fits the document.
pub fn by_names(view: &View, new: &Scene) -> Result<Repath, String> {
    let paths = Paths::of(view)?;
    let names = NodeNames::of(new);
    let mut known: HashMap<&NodePath, Option<(NodeIndex, f64)>> = HashMap::new();
    for path in &paths.written {
        let Some(meant) = path
            .alias
            .and_then(|alias| meant(&names, new, path.path, alias))
        else {
            continue;
        };
        known
            .entry(path.path)
            .and_modify(|known| {
                // Two aliases that went together and now go apart.
                *known = known.filter(|(node, _)| *node == meant.0);
            })
            .or_insert(Some(meant));
    }
    paths.repath(|path| {
        let own = path
            .alias
            .and_then(|alias| meant(&names, new, path.path, alias));
        let outcome = match own.or_else(|| known.get(path.path).copied().flatten()) {
            Some((node, confidence)) => paths.found(path, new, node, confidence),
            None => Outcome::Unknown,
        };
        (None, outcome)
    })
}

/// The node that an alias means by its name.
pub(super) fn meant(
    names: &NodeNames,
    new: &Scene,
    path: &NodePath,
    alias: &str,
) -> Option<(NodeIndex, f64)> {
    let there = new.find(path).ok();
    let confidence = |node: NodeIndex| match *new[node].name == *alias {
        true => SAME,
        false => PLAINLY_SAME,
    };
    // A path of names says itself which node it means.
    let is_sure =
        |there: &NodeIndex| path.positions().is_none() || plain(&new[*there].name) == plain(alias);
    if let Some(there) = there.filter(is_sure) {
        return Some((there, confidence(there)));
    }
    let node = names.only(alias)?;
    // A node and what hangs on it are often called alike, and either may be meant.
    let is_near = |there| new.is_below(node, there) || new.is_below(there, node);
    (!there.is_some_and(is_near)).then(|| (node, confidence(node)))
}
