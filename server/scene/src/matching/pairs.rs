//! Taking nodes of two scenes for one another.

use std::collections::{HashMap, HashSet};

use super::side::{Mark, Marks, Side, only_pairs};
use super::{Candidate, Fate, LEAST, MOST_CANDIDATES, SURE};
use crate::{NodeIndex, Scene};

/// So many nodes of one kind are looked at.
const MOST_ALIKE: usize = 8;

/// How much it says that a node stands in such a row, if what the row hangs on was found.
const ROW: f64 = 0.9;

/// So many pairs of leftover children of a node are compared, all with all.
const MOST_COMPARED: usize = 256;

/// The two scenes, and which nodes are taken for which so far.
#[derive(Debug)]
pub(super) struct Pairs<'s> {
    pub(super) old: Side<'s>,
    pub(super) new: Side<'s>,
    /// Old nodes that were found because no sibling, before or after, has their name.
    own_among_siblings: Vec<bool>,
    /// Old nodes that hang on something else now, or on something that does.
    is_away: Vec<bool>,
    /// Old nodes that may have become one thing or another.
    is_contradicted: Vec<bool>,
    /// Old nodes that stand in the same row of siblings as before, nothing of which has changed.
    in_row: Vec<bool>,
    /// Whose children are still to be looked at. None: the roots.
    open: Vec<Option<(NodeIndex, NodeIndex)>>,
}

/// For asking both ways.
#[derive(Clone, Copy, PartialEq)]
enum From {
    Old,
    New,
}

impl<'s> Pairs<'s> {
    pub(super) fn new(old: &'s Scene, new: &'s Scene) -> Self {
        let mut marks = Marks::default();
        Self {
            old: marks.side(old),
            new: marks.side(new),
            own_among_siblings: vec![false; old.nodes.len()],
            is_away: vec![false; old.nodes.len()],
            is_contradicted: vec![false; old.nodes.len()],
            in_row: vec![false; old.nodes.len()],
            open: vec![None],
        }
    }

    /// Whether the two are taken for one another because no sibling of theirs has their name.
    pub(super) fn is_own_among_siblings(&self, old: NodeIndex, new: NodeIndex) -> bool {
        self.own_among_siblings[old.index()] && self.old.partner[old.index()] == Some(new)
    }

    fn pair(&mut self, old: NodeIndex, new: NodeIndex) {
        if self.old.is_free(old) && self.new.is_free(new) {
            self.old.take(old, new);
            self.new.take(new, old);
            self.open.push(Some((old, new)));
        }
    }

    /// Names and unchanged subtrees.
    pub(super) fn by_names(&mut self) {
        let named = |side: &Side<'_>, marks: &[Mark]| -> Vec<(Mark, NodeIndex)> {
            let ids = side.scene.ids().filter(|id| side.names[id.index()] != 0);
            ids.map(|id| (marks[id.index()], id)).collect()
        };
        let only = |marks: fn(&Side<'_>) -> Vec<Mark>, pairs: &Self| {
            only_pairs(
                named(&pairs.old, &marks(&pairs.old)).into_iter(),
                named(&pairs.new, &marks(&pairs.new)).into_iter(),
            )
        };
        let by_name = only(|side| side.names.clone(), self);
        let by_subtree = only(|side| side.subtrees.clone(), self);
        for (old, new) in by_name {
            self.pair(old, new);
        }
        self.descend();
        for (old, new) in by_subtree {
            // An empty node is like any other of its name.
            let tells =
                self.old.geometry(old) != (0, 0) || !self.old.scene.children(old).is_empty();
            if tells {
                self.pair(old, new);
            }
        }
        self.descend();
    }

    /// Pairs what hangs on nodes that are paired, where names or geometry tell the children apart.
    fn descend(&mut self) {
        while let Some(above) = self.open.pop() {
            let olds = self.old.children(above.map(|(old, _)| old)).to_vec();
            let news = self.new.children(above.map(|(_, new)| new)).to_vec();
            for (old, new) in self.in_same_row(&olds, &news) {
                self.pair(old, new);
                self.in_row[old.index()] = self.old.partner[old.index()] == Some(new);
            }
            for with_geometry in [false, true] {
                let keys = |side: &Side<'_>, ids: &[NodeIndex]| -> Vec<_> {
                    ids.iter()
                        .filter(|id| side.is_free(**id) && side.names[id.index()] != 0)
                        .filter(|id| !with_geometry || side.geometry(**id) != (0, 0))
                        .map(|id| {
                            let geometry = with_geometry.then(|| side.geometry(*id));
                            ((side.names[id.index()], geometry), *id)
                        })
                        .collect()
                };
                let (olds, news) = (keys(&self.old, &olds), keys(&self.new, &news));
                for (old, new) in only_pairs(olds.into_iter(), news.into_iter()) {
                    self.pair(old, new);
                    self.own_among_siblings[old.index()] |= !with_geometry;
                }
            }
        }
    }

    /// Which children of two nodes are the same by where they stand in their row: in a row in which everything looks
    /// as before, those that look like no other one or have not changed at all; in another row what has not changed
    /// from its beginning, and to its end.
    fn in_same_row(&self, olds: &[NodeIndex], news: &[NodeIndex]) -> Vec<(NodeIndex, NodeIndex)> {
        let looks = |side: &Side<'_>, id: NodeIndex| (side.names[id.index()], side.geometry(id));
        let both = || olds.iter().copied().zip(news.iter().copied());
        let is_unchanged = |(old, new): &(NodeIndex, NodeIndex)| {
            self.old.subtrees[old.index()] == self.new.subtrees[new.index()]
        };
        let is_same_row = olds.len() == news.len()
            && both().all(|(old, new)| looks(&self.old, old) == looks(&self.new, new));
        if is_same_row {
            let mut counts = HashMap::new();
            for old in olds {
                *counts.entry(looks(&self.old, *old)).or_insert(0) += 1;
            }
            return both()
                .filter(|pair| is_unchanged(pair) || counts[&looks(&self.old, pair.0)] == 1)
                .collect();
        }
        let mut same: Vec<_> = both().take_while(is_unchanged).collect();
        let most = olds.len().min(news.len()) - same.len();
        let backwards = olds.iter().rev().copied().zip(news.iter().rev().copied());
        same.extend(backwards.take_while(is_unchanged).take(most));
        same
    }

    /// Pairs what was renamed, where the neighbourhood leaves no doubt.
    pub(super) fn by_neighbourhood(&mut self) {
        for old in self.old.scene.ids() {
            if !self.old.is_free(old) {
                continue;
            }
            let Some(best) = clear_winner(&self.candidates(From::Old, old)) else {
                continue;
            };
            let back = clear_winner(&self.candidates(From::New, best));
            if back == Some(old) {
                self.pair(old, best);
                self.descend();
            }
        }
    }

    /// Which free nodes a node may have become, or been: the likeliest first.
    fn candidates(&self, from: From, id: NodeIndex) -> Vec<Candidate> {
        let (here, there) = match from {
            From::Old => (&self.old, &self.new),
            From::New => (&self.new, &self.old),
        };
        let free = |id: &&NodeIndex| there.is_free(**id);
        let few = |listed: Option<&Vec<NodeIndex>>| -> Vec<NodeIndex> {
            let listed = listed.into_iter().flatten().take(MOST_COMPARED);
            listed.filter(free).take(MOST_ALIKE).copied().collect()
        };
        let mut nodes = few(there.by_name.get(&here.names[id.index()]));
        nodes.extend(few(there.by_geometry.get(&here.geometry(id))));
        // What hangs on it hangs on these now.
        let partners = here.scene.children(id).iter();
        let partners = partners.filter_map(|child| here.partner[child.index()]);
        let holders = partners.filter_map(|partner| there.scene[partner].parent);
        nodes.extend(holders.filter(|id| there.is_free(*id)).take(MOST_ALIKE));
        // What else hangs there and was not found, where that is little.
        let parent = here.scene[id].parent;
        let other_parent = here.partner_of(parent).filter(|_| here.is_free(id));
        if let Some(other_parent) = other_parent {
            let pairs = here.free_children(parent) * there.free_children(other_parent);
            if pairs <= MOST_COMPARED {
                nodes.extend(there.children(other_parent).iter().filter(free));
            }
        }
        nodes.sort_unstable();
        nodes.dedup();
        let confidence = |node| match from {
            From::Old => self.confidence(id, node),
            From::New => self.confidence(node, id),
        };
        let rated = nodes.into_iter().map(|node| Candidate {
            node,
            confidence: confidence(node),
        });
        let mut likely: Vec<Candidate> = rated
            .filter(|candidate| candidate.confidence >= LEAST)
            .collect();
        by_confidence(&mut likely);
        likely
    }

    /// What became of a node, all things considered. `above`: what became of the node it hangs on.
    pub(super) fn fate(&mut self, old: NodeIndex, above: Option<&Fate>) -> Fate {
        let mut likely = self.candidates(From::Old, old);
        let Some(new) = self.old.partner[old.index()] else {
            likely.truncate(MOST_CANDIDATES);
            self.is_contradicted[old.index()] = likely.len() > 1;
            return match likely.is_empty() {
                true => Fate::Gone,
                false => Fate::Unsure(likely),
            };
        };
        let is_below_found = matches!(above, None | Some(Fate::Found(_)));
        let row = match is_below_found && self.in_row[old.index()] {
            true => ROW,
            false => 0.0,
        };
        let found = Candidate {
            node: new,
            confidence: 1.0 - (1.0 - self.confidence(old, new)) * (1.0 - row),
        };
        let parent = self.old.scene[old].parent;
        self.is_away[old.index()] = !self.has_same_parent(old, new)
            || parent.is_some_and(|parent| self.is_away[parent.index()]);
        let back = self.candidates(From::New, new);
        let is_contradicted = [likely.first(), back.first()]
            .into_iter()
            .flatten()
            .any(|second| !is_clear(found, *second))
            || self.is_disputed(old, new)
            || self.has_namesake(old, new)
            || self.has_successor(old, new)
            // Where a copy cannot be told from its original, neither can what hangs on them.
            || self.is_below_contradicted(old);
        if is_sure(found) && !is_contradicted {
            return Fate::Found(found);
        }
        likely.extend(
            self.rivals(old, new)
                .take(MOST_CANDIDATES)
                .map(|node| Candidate {
                    node,
                    confidence: self.confidence(old, node),
                }),
        );
        likely.push(found);
        by_confidence(&mut likely);
        let mut seen = HashSet::new();
        likely.retain(|candidate| seen.insert(candidate.node));
        likely.truncate(MOST_CANDIDATES);
        if is_contradicted {
            self.is_contradicted[old.index()] = true;
            self.old.release(old);
            self.new.release(new);
        }
        Fate::Unsure(likely)
    }

    /// Whether names and places contradict each other: the new node is not where the old one was, but another one is,
    /// or it is where another one was. Either things were moved or names were, and nobody can tell which.
    fn is_disputed(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let reverse = || {
            let there = self.old.by_geometry.get(&self.new.geometry(new));
            let mut there = there.into_iter().flatten().take(MOST_ALIKE);
            there.any(|other| self.is_rival(*other, new))
        };
        match self.old.geometry(old) != self.new.geometry(new) {
            true => self.rivals(old, new).next().is_some() || reverse(),
            false => self.is_double(old, new),
        }
    }

    /// Whether a node that was renamed where it stood has a double: another node, after or before, of its old or new
    /// name and of its place and size. It may be that one, hung on something else, and this one a copy.
    fn is_double(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let (was, is) = (self.old.names[old.index()], self.new.names[new.index()]);
        let geometry = self.old.geometry(old);
        let is_open = |side: &Side<'_>, other: &Side<'_>, name| {
            let there = side.by_geometry.get(&geometry).into_iter().flatten();
            there.take(MOST_ALIKE).any(|id| {
                let partner = side.partner[id.index()];
                side.names[id.index()] == name
                    && partner.is_none_or(|partner| other.geometry(partner) != geometry)
            })
        };
        was != is && (is_open(&self.new, &self.old, was) || is_open(&self.old, &self.new, is))
    }

    /// Whether a node that was moved or changed has left a gap that something else fills which nothing was found for:
    /// it may be that one that was renamed, and this one a copy. Or the same the other way round.
    fn has_successor(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let (before, after) = (self.old.geometry(old), self.new.geometry(new));
        if before == after && !self.is_away[old.index()] {
            return false;
        }
        let (old_parent, new_parent) = (self.old.scene[old].parent, self.new.scene[new].parent);
        let has_own_name = self.old.has_name_alone(old) && self.new.has_name_alone(new);
        let is_filled = |side: &Side<'_>, parents: Vec<Option<NodeIndex>>, geometry| {
            let leftover = &side.leftover;
            let mut parents = parents.into_iter();
            parents.any(|parent| leftover.places.contains(&(parent, geometry)))
                || ((geometry != (0, 0) || !has_own_name)
                    && leftover.geometries.contains(&geometry))
        };
        let mut homes = self.homes(old);
        homes.push(new_parent);
        let lifted = self.new.partner_of(new_parent).into_iter();
        is_filled(&self.new, homes, before)
            || is_filled(&self.old, lifted.chain([old_parent]).collect(), after)
    }

    /// What became of the node that an old one hung on. If that one is away itself, also of what it hung on, up to
    /// what is where it was: it may have been taken out, and what it held hung there.
    fn homes(&self, old: NodeIndex) -> Vec<Option<NodeIndex>> {
        let parent = self.old.scene[old].parent;
        let mut homes: Vec<_> = self.old.partner_of(parent).into_iter().collect();
        let mut away = parent.filter(|id| self.is_away[id.index()]);
        while let Some(id) = away.filter(|_| homes.len() < MOST_ALIKE) {
            let above = self.old.scene[id].parent;
            homes.extend(self.old.partner_of(above));
            away = above.filter(|id| self.is_away[id.index()]);
        }
        homes
    }

    /// Whether both hang on nodes that were taken for one another, or on nothing.
    pub(super) fn has_same_parent(&self, old: NodeIndex, new: NodeIndex) -> bool {
        self.old.partner_of(self.old.scene[old].parent) == Some(self.new.scene[new].parent)
    }

    fn is_below_contradicted(&self, old: NodeIndex) -> bool {
        let parent = self.old.scene[old].parent;
        parent.is_some_and(|parent| self.is_contradicted[parent.index()])
    }

    /// Whether there is another node of the name, before or after, that nothing was found for, and place and size do
    /// not tell them apart: the original may have moved away and left a copy, or the other way round.
    fn has_namesake(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let (was, is) = (self.old.names[old.index()], self.new.names[new.index()]);
        let (before, after) = (self.old.geometry(old), self.new.geometry(new));
        let is_open = |side: &Side<'_>, name, geometry| {
            match was == is && before != after {
                true => name != 0 && side.leftover.names.contains(&name),
                // Without a name, a place or size of its own still tells.
                false => {
                    (name != 0 || geometry != (0, 0))
                        && side.leftover.looks.contains(&(name, geometry))
                }
            }
        };
        is_open(&self.old, is, after) || is_open(&self.new, was, before)
    }

    /// Other new nodes that are exactly where the old one was, and as large.
    fn rivals(&self, old: NodeIndex, new: NodeIndex) -> impl Iterator<Item = NodeIndex> {
        let there = self.new.by_geometry.get(&self.old.geometry(old));
        let there = there.into_iter().flatten().take(MOST_ALIKE).copied();
        there.filter(move |other| *other != new && self.is_rival(old, *other))
    }

    /// Whether two nodes of the same place and size could be the same one: nothing proves that they are others.
    fn is_rival(&self, old: NodeIndex, new: NodeIndex) -> bool {
        let is_at_home = match self.old.partner[old.index()] {
            Some(partner) => self.old.geometry(old) == self.new.geometry(partner),
            None => false,
        };
        let is_occupied = match self.new.partner[new.index()] {
            Some(partner) => self.old.geometry(partner) == self.new.geometry(new),
            None => false,
        };
        let is_alike = self.old.bounds[old.index()] != 0
            || self.old.names[old.index()] == self.new.names[new.index()]
            || self.hangs_alike(old, new);
        !is_at_home && !is_occupied && is_alike
    }
}

fn is_sure(candidate: Candidate) -> bool {
    candidate.confidence >= SURE - 1e-9
}

/// The first, if it is sure and clear.
fn clear_winner(likely: &[Candidate]) -> Option<NodeIndex> {
    let best = *likely.first().filter(|best| is_sure(**best))?;
    let second = likely.get(1);
    second
        .is_none_or(|second| is_clear(best, *second))
        .then_some(best.node)
}

/// Whether the doubt about the second is at least three times as large.
fn is_clear(best: Candidate, second: Candidate) -> bool {
    1.0 - second.confidence >= 3.0 * (1.0 - best.confidence)
}

/// The likeliest first; among equals in the order of the scene.
fn by_confidence(likely: &mut [Candidate]) {
    likely.sort_by(|a, b| {
        b.confidence
            .total_cmp(&a.confidence)
            .then(a.node.cmp(&b.node))
    });
}
