//! Which nodes channels move.

use foldhash::{HashMap, HashSet};
use std::sync::Arc;

use dialect::NodePath;
use machine::{Entry, Facts};
use scene::{NodeIndex, Scene};

use super::super::index::{Index, Part};
use super::super::site::Site;

/// The nodes that node paths lead to, looked up once.
#[derive(Debug, Default)]
pub(super) struct Nodes {
    by_part: Vec<Option<NodeIndex>>,
    /// By part: the first one that leads to the same node.
    first: Vec<Part>,
    /// The first parts of nodes that names lead to: two index paths never lead to one node.
    named: HashMap<NodeIndex, Part>,
}

impl Nodes {
    pub(super) fn look_up(&mut self, scene: &Scene, index: &Index) {
        let known = self.by_part.len();
        for (number, path) in index.paths().iter().enumerate().skip(known) {
            let own = Part::of(number);
            let node = scene.find(path).ok();
            self.by_part.push(node);
            let Some(node) = node else {
                self.first.push(own);
                continue;
            };
            let first = match path {
                NodePath::Positions(_) if self.named.is_empty() => own,
                NodePath::Positions(_) => self.named.get(&node).copied().unwrap_or(own),
                NodePath::Names(_) => {
                    let counted = NodePath::Positions(scene.index_path(node).into());
                    let counted = index.known_part(&counted);
                    let earlier = counted.and_then(|part| self.first.get(part.number()).copied());
                    *self.named.entry(node).or_insert(earlier.unwrap_or(own))
                }
            };
            self.first.push(first);
        }
    }

    /// The part that stands for all that lead to the same node.
    pub(super) fn first(&self, part: Part) -> Part {
        self.first.get(part.number()).copied().unwrap_or(part)
    }

    pub(super) fn get(&self, part: Part) -> Option<NodeIndex> {
        self.by_part.get(part.number()).copied().flatten()
    }
}

/// The nodes that loose channels move, by the label of their entry, as long as the entry says the same.
#[derive(Debug, Default)]
pub(super) struct Resolved {
    by_label: HashMap<u64, (Arc<Facts>, Vec<Option<Part>>)>,
}

impl Resolved {
    pub(super) fn parts(&mut self, entry: &Entry, index: &mut Index) -> &[Option<Part>] {
        let known = self.by_label.get(&entry.label);
        if known.is_none_or(|(facts, _)| !Arc::ptr_eq(facts, &entry.facts)) {
            let loose = entry.facts.loose.iter();
            let nodes = loose.map(|loose| index.part_of(loose.channel.node.as_ref()?));
            let parts = nodes.collect();
            let now = (entry.facts.clone(), parts);
            self.by_label.insert(entry.label, now);
        }
        self.by_label
            .get(&entry.label)
            .map_or(&[], |(_, parts)| parts)
    }

    /// Forgets what may have changed, and entries that are gone.
    pub(super) fn forget(&mut self, site: &Site<'_>, affected: &HashSet<u64>) {
        for label in affected {
            self.by_label.remove(label);
        }
        if self.by_label.len() > 2 * site.outline.entries().len() + 100 {
            self.by_label.clear();
        }
    }
}
