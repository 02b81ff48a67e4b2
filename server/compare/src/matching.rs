//! Which node of the old document is which node of the new one.
//!
//! Within parents that belong together, children are told by their names, then by being written alike, by meaning the same, by
//! what they refer to, and at last by likeness among what stands between the same neighbours. What is left then may have
//! moved to another parent. Time grows with the number of nodes, but for sorting.

use std::hash::{BuildHasher, Hash};

use foldhash::{HashMap, HashSet, fast::FixedState};

use crate::document::{Document, Id, Kind, TOP};
use crate::identity::Identities;
use crate::likeness::{self, ALIKE, Likeness};

/// So many pairs of neighbours are compared to one another; among more, order decides.
const MOST_PAIRS: usize = 2_500;

/// So far is looked for a place from which both sides are alike again.
const FARTHEST: usize = 48;

#[derive(Debug)]
pub(crate) struct Matching {
    /// By old node.
    pub(crate) new_of: Vec<Option<Id>>,
    /// By new node.
    pub(crate) old_of: Vec<Option<Id>>,
    /// By old node that is no text: it has a counterpart, in the same parent and in the same order among those that have.
    pub(crate) stays: Vec<bool>,
}

impl Matching {
    pub(crate) fn of(
        old: &Document<'_>,
        new: &Document<'_>,
        identities: [Identities<'_>; 2],
    ) -> Self {
        let mut matcher = Matcher {
            old,
            new,
            identities,
            matching: Matching {
                new_of: vec![None; old.nodes.len()],
                old_of: vec![None; new.nodes.len()],
                stays: vec![false; old.nodes.len()],
            },
            open: Vec::new(),
        };
        matcher.pair(TOP, TOP);
        // A document has one root element, whatever it is called.
        if let Some((old, new)) = matcher.roots() {
            matcher.pair(old, new);
        }
        matcher.work();
        matcher.elsewhere();
        matcher.order();
        matcher.matching
    }
}

struct Matcher<'a, 't> {
    old: &'a Document<'t>,
    new: &'a Document<'t>,
    identities: [Identities<'a>; 2],
    matching: Matching,
    /// Pairs whose children are to be matched.
    open: Vec<(Id, Id)>,
}

/// What a node may have in common with another one.
type KeyOf = fn(&Document<'_>, &Identities<'_>, Id) -> Option<u64>;

/// What two nodes may have in common.
fn key(parts: impl Hash) -> u64 {
    FixedState::default().hash_one(parts)
}

impl Matcher<'_, '_> {
    fn pair(&mut self, old: Id, new: Id) {
        self.matching.new_of[old] = Some(new);
        self.matching.old_of[new] = Some(old);
        self.open.push((old, new));
    }

    fn is_free(&self, old: Id) -> bool {
        self.matching.new_of[old].is_none()
    }

    fn is_free_new(&self, new: Id) -> bool {
        self.matching.old_of[new].is_none()
    }

    fn roots(&self) -> Option<(Id, Id)> {
        let old = self.old.elements(TOP).next()?;
        Some((old, self.new.elements(TOP).next()?))
    }

    fn work(&mut self) {
        while let Some((old, new)) = self.open.pop() {
            if self.old.nodes[old].written == self.new.nodes[new].written {
                self.all_alike(old, new);
            } else {
                self.children(old, new);
            }
        }
    }

    fn all_alike(&mut self, old: Id, new: Id) {
        let pairs: Vec<(Id, Id)> = (self.old.nodes[old].children.iter())
            .zip(&self.new.nodes[new].children)
            .map(|(old, new)| (*old, *new))
            .collect();
        for (old, new) in pairs {
            if self.is_free(old) && self.is_free_new(new) {
                self.pair(old, new);
            }
        }
    }

    fn children(&mut self, parent: Id, new_parent: Id) {
        let old: Vec<Id> = self.old.markup(parent).collect();
        let new: Vec<Id> = self.new.markup(new_parent).collect();
        self.in_step(&old, &new);
        self.by_unique(&old, &new, Self::name_key);
        self.in_order_of(&old, &new, |document, id| document.nodes[id].written);
        self.in_order_of(&old, &new, |document, id| match &document.nodes[id].kind {
            Kind::Element(_) => document.nodes[id].meaning,
            _ => document.nodes[id].written,
        });
        self.by_unique(&old, &new, Self::reference_key);
        self.only_ones(&old, &new);
        self.by_likeness(&old, &new);
        self.texts(parent, new_parent);
    }

    /// What is written alike, or at the same step means the same, in the same order. Where it differs, both sides go on at
    /// the nearest place from which they are written alike again.
    fn in_step(&mut self, old: &[Id], new: &[Id]) {
        let (mut at, mut new_at) = (0, 0);
        while at < old.len() && new_at < new.len() {
            let alike = |at: usize, new_at: usize| match (old.get(at), new.get(new_at)) {
                (Some(one), Some(other)) => {
                    self.old.nodes[*one].written == self.new.nodes[*other].written
                }
                (None, None) => true,
                _ => false,
            };
            if alike(at, new_at) || self.means_the_same(old[at], new[new_at]) {
                if self.is_free(old[at]) && self.is_free_new(new[new_at]) {
                    self.pair(old[at], new[new_at]);
                }
                (at, new_at) = (at + 1, new_at + 1);
                continue;
            }
            // The end alone is no such place: what stands alone before it is told apart step by step.
            let goes_on = |(at, new_at): &(usize, usize)| {
                *at < old.len() && alike(*at, *new_at) && alike(at + 1, new_at + 1)
            };
            let again = (1..2 * FARTHEST).find_map(|steps| {
                let skips = steps.saturating_sub(FARTHEST - 1)..=steps.min(FARTHEST - 1);
                let mut skips = skips.map(|skip| (at + skip, new_at + steps - skip));
                skips.find(goes_on)
            });
            (at, new_at) = again.unwrap_or((at + 1, new_at + 1));
        }
    }

    fn means_the_same(&self, old: Id, new: Id) -> bool {
        let means = |document: &Document<'_>, id: Id| {
            (document.tag(id).is_some(), document.nodes[id].meaning)
        };
        means(self.old, old) == means(self.new, new)
    }

    /// Texts between the same neighbours; what else they are is told where gaps are compared.
    fn texts(&mut self, parent: Id, new_parent: Id) {
        let texts = |document: &Document<'_>, id: Id| -> Vec<Id> {
            let children = document.nodes[id].children.iter().copied();
            children.filter(|one| document.is_text(*one)).collect()
        };
        let (old, new) = (texts(self.old, parent), texts(self.new, new_parent));
        if old.len() == new.len() {
            for (old, new) in old.into_iter().zip(new) {
                self.pair(old, new);
            }
        }
    }

    fn name_key(document: &Document<'_>, identities: &Identities<'_>, id: Id) -> Option<u64> {
        let tag = document.tag(id)?;
        let name = identities.name(document, id)?;
        Some(key((tag.element.local_name(), &*tag.namespace, name)))
    }

    fn reference_key(document: &Document<'_>, identities: &Identities<'_>, id: Id) -> Option<u64> {
        let tag = document.tag(id)?;
        let references = identities.references(document, id);
        if references.is_empty() || identities.name(document, id).is_some() {
            return None;
        }
        Some(key((tag.element.local_name(), &*tag.namespace, references)))
    }

    /// Pairs what has the same key, if neither side has it twice.
    fn by_unique(
        &mut self,
        old: &[Id],
        new: &[Id],
        key: impl Fn(&Document<'_>, &Identities<'_>, Id) -> Option<u64>,
    ) {
        let mut found: HashMap<u64, [Vec<Id>; 2]> = HashMap::default();
        for id in old.iter().copied().filter(|id| self.is_free(*id)) {
            if let Some(key) = key(self.old, &self.identities[0], id) {
                found.entry(key).or_default()[0].push(id);
            }
        }
        for id in new.iter().copied().filter(|id| self.is_free_new(*id)) {
            if let Some(key) = key(self.new, &self.identities[1], id) {
                found.entry(key).or_default()[1].push(id);
            }
        }
        for [old, new] in found.into_values() {
            if let ([old], [new]) = (&old[..], &new[..]) {
                self.pair(*old, *new);
            }
        }
    }

    /// Pairs what has the same key, the first with the first.
    fn in_order_of(&mut self, old: &[Id], new: &[Id], key: impl Fn(&Document<'_>, Id) -> u64) {
        let mut waiting: HashMap<u64, std::collections::VecDeque<Id>> = HashMap::default();
        for id in old.iter().copied().filter(|id| self.is_free(*id)) {
            waiting.entry(key(self.old, id)).or_default().push_back(id);
        }
        for id in new.iter().copied() {
            if self.is_free_new(id)
                && let Some(same) = waiting.get_mut(&key(self.new, id))
                && let Some(found) = same.pop_front()
            {
                self.pair(found, id);
            }
        }
    }

    /// Elements that have no namesake on either side.
    fn only_ones(&mut self, old: &[Id], new: &[Id]) {
        let only = |document: &Document<'_>, all: &[Id]| -> HashMap<u64, Option<Id>> {
            let mut only = HashMap::default();
            for id in all {
                if let Some(tag) = document.tag(*id) {
                    let key = key((tag.element.local_name(), &*tag.namespace));
                    let entry = only.entry(key).and_modify(|known| *known = None);
                    entry.or_insert(Some(*id));
                }
            }
            only
        };
        let new = only(self.new, new);
        for (key, id) in only(self.old, old) {
            let (Some(id), Some(Some(new))) = (id, new.get(&key)) else {
                continue;
            };
            if self.is_free(id) && self.is_free_new(*new) && self.may_be(id, *new) {
                self.pair(id, *new);
            }
        }
    }

    /// Things that have names and do not share one must be alike to be the same.
    fn may_be(&self, old: Id, new: Id) -> bool {
        let [olds, news] = &self.identities;
        let named = olds.name(self.old, old).is_some() && news.name(self.new, new).is_some();
        !named || likeness::of(self.old, old, self.new, new) >= ALIKE
    }

    fn by_likeness(&mut self, old: &[Id], new: &[Id]) {
        // Between neighbours that were found and are in the same order.
        let place: HashMap<Id, usize> = new.iter().enumerate().map(|(at, id)| (*id, at)).collect();
        let pairs: Vec<(usize, usize)> = (old.iter().enumerate())
            .filter_map(|(at, id)| Some((at, *place.get(&self.matching.new_of[*id]?)?)))
            .collect();
        let kept = longest_rising(&pairs);
        let mut from = (0, 0);
        let ends = kept.into_iter().map(|at| pairs[at]);
        for (at, new_at) in ends.chain([(old.len(), new.len())]) {
            let gap = old[from.0..at].iter().copied();
            let left: Vec<Id> = gap.filter(|id| self.is_free(*id)).collect();
            let gap = new[from.1..new_at].iter().copied();
            let came: Vec<Id> = gap.filter(|id| self.is_free_new(*id)).collect();
            if !left.is_empty() && !came.is_empty() {
                self.in_gap(&left, &came);
            }
            from = (at + 1, new_at + 1);
        }
    }

    fn in_gap(&mut self, left: &[Id], came: &[Id]) {
        if left.len() * came.len() <= MOST_PAIRS {
            let mut candidates = Vec::new();
            for (at, old) in left.iter().enumerate() {
                for (new_at, new) in came.iter().enumerate() {
                    let alike = self.likeness(*old, *new, left.len() == 1 && came.len() == 1);
                    if let Some(alike) = alike {
                        candidates.push((alike, at.abs_diff(new_at), *old, *new));
                    }
                }
            }
            candidates.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            for (_, _, old, new) in candidates {
                if self.is_free(old) && self.is_free_new(new) {
                    self.pair(old, new);
                }
            }
            return;
        }
        // Too many to compare each with each: by the order of those that may be the same.
        let mut came = came.iter().copied().peekable();
        for old in left {
            let Some(new) = came.peek().copied() else {
                return;
            };
            let kinds = (&self.old.nodes[*old].kind, &self.new.nodes[new].kind);
            if self.likeness(*old, new, false).is_some() {
                self.pair(*old, new);
                came.next();
            } else if std::mem::discriminant(kinds.0) == std::mem::discriminant(kinds.1) {
                came.next();
            }
        }
    }

    /// How alike two nodes of the same sort and name are, if they may be the same.
    fn likeness(&self, old: Id, new: Id, alone: bool) -> Option<Likeness> {
        match (&self.old.nodes[old].kind, &self.new.nodes[new].kind) {
            (Kind::Element(one), Kind::Element(other)) if one.is_named_as(other) => {
                let alike = likeness::of(self.old, old, self.new, new);
                let [olds, news] = &self.identities;
                let named =
                    olds.name(self.old, old).is_some() && news.name(self.new, new).is_some();
                let least = match (named, alone) {
                    (true, _) => ALIKE,
                    (false, true) => 0.0,
                    (false, false) => likeness::SOMEWHAT,
                };
                (alike >= least).then_some(alike)
            }
            (Kind::Comment, Kind::Comment) => {
                let (one, other) = (self.old.written(old), self.new.written(new));
                Some(0.1 + likeness::of_words(one, other))
            }
            (Kind::Fixed, Kind::Fixed) => {
                // A mark, a declaration and a DOCTYPE differ in their first bytes.
                let (one, other) = (self.old.written(old), self.new.written(new));
                (one.get(..3) == other.get(..3)).then_some(0.1)
            }
            (Kind::Instruction { target: one }, Kind::Instruction { target: other }) => {
                (one == other).then_some(0.1)
            }
            _ => None,
        }
    }

    /// What is left may have moved to another parent.
    fn elsewhere(&mut self) {
        let elements = |document: &Document<'_>| -> Vec<Id> {
            let all = 0..document.nodes.len();
            all.filter(|id| document.tag(*id).is_some()).collect()
        };
        let (old, new) = (elements(self.old), elements(self.new));
        let keys: [KeyOf; 3] = [
            Self::name_key,
            |document, _, id| Some(key((1, document.nodes[id].meaning))),
            Self::reference_key,
        ];
        for key in keys {
            let free: Vec<Id> = old.iter().copied().filter(|id| self.is_free(*id)).collect();
            let came = new.iter().copied().filter(|id| self.is_free_new(*id));
            let came: Vec<Id> = came.collect();
            if free.is_empty() || came.is_empty() {
                return;
            }
            self.by_unique_outermost(&free, &came, key);
        }
    }

    /// Like `by_unique`, outer elements first: what they hold follows them.
    fn by_unique_outermost(&mut self, old: &[Id], new: &[Id], key: KeyOf) {
        let unique = |document: &Document<'_>, identities: &Identities<'_>, all: &[Id]| {
            let mut found: HashMap<u64, Option<Id>> = HashMap::default();
            for id in all {
                if let Some(key) = key(document, identities, *id) {
                    let entry = found.entry(key).and_modify(|known| *known = None);
                    entry.or_insert(Some(*id));
                }
            }
            found
        };
        let olds = unique(self.old, &self.identities[0], old);
        let news = unique(self.new, &self.identities[1], new);
        let mut pairs: Vec<(Id, Id)> = olds
            .into_iter()
            .filter_map(|(key, id)| Some((id?, (*news.get(&key)?)?)))
            .collect();
        pairs.sort_unstable();
        for (old, new) in pairs {
            if self.is_free(old) && self.is_free_new(new) {
                self.pair(old, new);
                self.work();
            }
        }
    }

    /// Finds what stays in its order among its neighbours.
    fn order(&mut self) {
        self.matching.stays[TOP] = true;
        for parent in 0..self.old.nodes.len() {
            let Some(new_parent) = self.matching.new_of[parent] else {
                continue;
            };
            // Nothing at the top changes sides with the root element.
            let roots = (parent == TOP).then(|| self.roots()).flatten();
            let is_right = |(old, new): &(Id, Id)| {
                roots.is_none_or(|roots| old.cmp(&roots.0) == new.cmp(&roots.1))
            };
            let pairs: Vec<(usize, Id)> = (self.old.markup(parent))
                .filter_map(|id| Some((id, self.matching.new_of[id]?)))
                .filter(is_right)
                .filter(|(_, new)| self.new.nodes[*new].parent == new_parent)
                .collect();
            let own: HashSet<usize> = longest_rising(&pairs).into_iter().collect();
            for (at, (old, _)) in pairs.iter().enumerate() {
                self.matching.stays[*old] = own.contains(&at);
            }
        }
    }
}

/// The places of a longest part in which the second numbers rise, of pairs whose first numbers do.
fn longest_rising(pairs: &[(usize, usize)]) -> Vec<usize> {
    // By length: the place of the least last number that so long a part may have (patience sorting).
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(pairs.len());
    for (at, (_, new)) in pairs.iter().enumerate() {
        let length = ends.partition_point(|end| pairs[*end].1 < *new);
        before.push(length.checked_sub(1).map(|shorter| ends[shorter]));
        match ends.get_mut(length) {
            Some(end) => *end = at,
            None => ends.push(at),
        }
    }
    let mut found = Vec::with_capacity(ends.len());
    let mut next = ends.last().copied();
    while let Some(at) = next {
        found.push(at);
        next = before[at];
    }
    found.reverse();
    found
}
