//! The scene was exported anew while the definition was open: its nodes are followed from the scene as it was.

use std::sync::Arc;

use dialect::NodePath;
use machine::{Alias, NodeTarget, Outline};
use project::{Earlier, Meaning};
use scene::{Candidate, Fate, Matching, NodeIndex, Scene};
use syntax::TextRange;

use super::by_names::meant;
use super::label;
use crate::node_names::NodeNames;

/// A definition that was written for its scene as it was before.
#[derive(Debug, Clone)]
pub(crate) struct Followed {
    earlier: Arc<Earlier>,
}

/// What became of the node that an index path led to, where that is not what the path leads to now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Astray<'m> {
    Moved(NodeIndex),
    /// It may be one of these, the likeliest first.
    Unsure(&'m [Candidate]),
    Gone,
}

impl Followed {
    /// None: no earlier scene is known, the definition did not fit that either, or all of its paths lead to nodes of
    /// the same names as before, as after a mere sorting. Takes time in proportion to the definition.
    pub(crate) fn of(meaning: &Meaning) -> Option<Self> {
        let earlier = meaning.earlier()?;
        let (before, now) = (&earlier.scenes.before.scene, &earlier.scenes.now.scene);
        let leads_elsewhere = |path: &NodePath| match (before.find(path), now.find(path)) {
            (Ok(before_node), Ok(node)) => before[before_node].name != now[node].name,
            _ => true,
        };
        let is_affected = earlier.outline.node_paths().any(leads_elsewhere);
        (is_affected && fits(&earlier.outline, before)).then(|| Self {
            earlier: earlier.clone(),
        })
    }

    pub(super) fn before(&self) -> &Scene {
        &self.earlier.scenes.before.scene
    }

    pub(super) fn matching(&self) -> &Matching {
        self.earlier.scenes.matching()
    }

    /// What an index path led to, with its name.
    pub(crate) fn led_to(&self, path: &NodePath) -> Option<String> {
        let before = self.before();
        Some(label(before, before.find(path).ok()?))
    }

    /// Whether an index path that was written for the scene as it was leads to another node now. What may well be
    /// the same node under another name is not told.
    pub(crate) fn astray(&self, path: &NodePath) -> Option<Astray<'_>> {
        let (before, now) = (self.before(), &self.earlier.scenes.now.scene);
        let node = before.find(path).ok()?;
        let there = now.find(path).ok();
        let is_namesake = there.is_some_and(|there| now[there].name == before[node].name);
        if is_namesake && path.positions().is_none() {
            return None;
        }
        let fate = self.matching().fates.get(node.index())?;
        match fate {
            Fate::Found(found) => (Some(found.node) != there).then_some(Astray::Moved(found.node)),
            _ if is_namesake => None,
            Fate::Unsure(candidates) => {
                let is_likeliest = candidates.first().map(|one| one.node) == there;
                (!is_likeliest).then_some(Astray::Unsure(candidates))
            }
            Fate::Gone => Some(Astray::Gone),
        }
    }

    /// For each index path of a later version, in the order of the document, whether it was written for the scene as
    /// it was, and not since. Where many were changed, too few count rather than too many.
    pub(crate) fn kept(&self, later: &Outline) -> Vec<bool> {
        let then: Vec<&NodePath> = self.earlier.outline.node_paths().collect();
        let now: Vec<&NodePath> = later.node_paths().collect();
        let pairs = || then.iter().zip(&now);
        if then.len() == now.len() {
            return pairs().map(|(then, now)| then == now).collect();
        }
        let first = pairs().take_while(|(then, now)| then == now).count();
        let ends = then[first..].iter().rev().zip(now[first..].iter().rev());
        let last = now.len() - ends.take_while(|(then, now)| then == now).count();
        (0..now.len()).map(|at| at < first || at >= last).collect()
    }

    /// Where these index paths stand.
    pub(super) fn kept_ranges(&self, later: &Outline) -> Vec<TextRange> {
        let uses = later.all(|facts| &facts.uses);
        let paths = uses.filter(|(_, used)| used.path().is_some());
        let ranges = paths.map(|(entry, used)| used.range + entry.start());
        let kept = ranges.zip(self.kept(later)).filter(|(_, kept)| *kept);
        kept.map(|(range, _)| range).collect()
    }
}

/// Whether a definition may have been written for a scene: every path leads somewhere in it, and no alias away from
/// the node of its name.
fn fits(outline: &Outline, scene: &Scene) -> bool {
    let names = NodeNames::of(scene);
    let is_right = |alias: &Alias| {
        let path = alias.path.as_ref().map(|path| &path.target);
        let (Some(name), Some(NodeTarget::Path(path))) = (&alias.name, path) else {
            return true;
        };
        let there = scene.find(path).ok();
        meant(&names, scene, path, &name.value).is_none_or(|(node, _)| Some(node) == there)
    };
    outline.node_paths().all(|path| scene.find(path).is_ok())
        && outline
            .all(|facts| &facts.aliases)
            .all(|(_, alias)| is_right(alias))
}
