//! Which nodes channels move.

use foldhash::{HashMap, HashSet};
use std::sync::Arc;

use dialect::NodePath;
use machine::{Entry, Facts, PORTIONS_AT_ONCE, Sort, in_parallel};
use scene::{NodeIndex, Scene};

use super::super::index::{Index, Part};
use super::super::site::Site;

/// So many paths are worth a thread.
const PATHS_AT_ONCE: usize = 2_000;

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
        let new = &index.paths()[self.by_part.len()..];
        let found = in_parallel(new.len(), PATHS_AT_ONCE, |nth| scene.find(&new[nth]).ok());
        for (path, node) in new.iter().zip(found) {
            let own = Part::of(self.by_part.len());
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
    /// Finds what most entries ask for, on all cores if they are many. Paths that have no number yet get theirs in
    /// [`Self::parts`].
    pub(super) fn look_ahead(&mut self, site: &Site<'_>, index: &Index) {
        let with_loose = site.outline.saying(Sort::Loose).map(|(_, entry)| entry);
        let new: Vec<&Entry> = with_loose.filter(|entry| !self.is_known(entry)).collect();
        let parts = in_parallel(new.len(), PORTIONS_AT_ONCE, |nth| {
            let loose = new[nth].facts.loose.iter();
            let parts = loose.map(|loose| match &loose.channel.node {
                Some(node) => index.known_part_of(node),
                None => Some(None),
            });
            parts.collect::<Option<Vec<_>>>()
        });
        for (entry, parts) in new.into_iter().zip(parts) {
            let now = parts.map(|parts| (entry.facts.clone(), parts));
            self.by_label.extend(now.map(|now| (entry.label, now)));
        }
    }

    fn is_known(&self, entry: &Entry) -> bool {
        let known = self.by_label.get(&entry.label);
        known.is_some_and(|(facts, _)| Arc::ptr_eq(facts, &entry.facts))
    }

    pub(super) fn parts(&mut self, entry: &Entry, index: &mut Index) -> &[Option<Part>] {
        if !self.is_known(entry) {
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
