//! Paths that lead to nodes of the old document, and still do once it has changed elsewhere.
//!
//! A patch is carried out from the end of the document to its start, so whatever stands before a node is as it was in the
//! old document and whatever stands behind it as in the new one. A condition that only this element fulfils in both is
//! true at any time; a place among its namesakes counts those before it.

use std::hash::BuildHasher;

use foldhash::{HashMap, fast::FixedState};

use crate::bindings::{Bindings, prefix_for};
use crate::document::{Document, Id, Kind, TOP};
use crate::identity::{Identities, Rank};
use crate::matching::Matching;

/// Among more namesakes no two conditions are tried together: each try counts them all.
const MOST_COUNTED: usize = 200;

/// Longer values make no good conditions.
const LONGEST: usize = 200;

pub(crate) struct Selectors<'a, 't> {
    old: &'a Document<'t>,
    new: &'a Document<'t>,
    identities: [Identities<'a>; 2],
    matching: &'a Matching,
    known: HashMap<Id, Siblings>,
    /// What [`Self::conditions`] has found: what has thousands of changes in it is on the way to each of them.
    chosen: HashMap<(Id, bool), Option<Vec<Asked<'t>>>>,
}

/// What the children of one element have in common.
#[derive(Debug, Default)]
struct Siblings {
    /// By name: how many in the old document, and in the new one.
    named: HashMap<u64, [usize; 2]>,
    /// By name, attribute (or child) and value.
    values: HashMap<u64, [usize; 2]>,
    /// By name and attribute: how many different values in the old document.
    variety: HashMap<u64, usize>,
    /// The place of an old element among its namesakes, from 1.
    place: HashMap<Id, usize>,
}

/// A path, and the attributes of its last element that it asks for.
#[derive(Debug, Clone)]
pub(crate) struct Selected {
    pub(crate) path: String,
    pub(crate) asked: Vec<String>,
}

/// What is asked of an attribute or child: its name and value.
#[derive(Debug, Clone)]
struct Asked<'t> {
    name: String,
    value: std::borrow::Cow<'t, str>,
    is_child: bool,
    rank: Rank,
    key: u64,
    variety: u64,
}

fn key(parts: impl std::hash::Hash) -> u64 {
    FixedState::default().hash_one(parts)
}

impl<'a, 't> Selectors<'a, 't> {
    pub(crate) fn new(
        old: &'a Document<'t>,
        new: &'a Document<'t>,
        identities: [Identities<'a>; 2],
        matching: &'a Matching,
    ) -> Self {
        Self {
            old,
            new,
            identities,
            matching,
            known: HashMap::default(),
            chosen: HashMap::default(),
        }
    }

    /// A path to an element of the old document all of whose ancestors stay. `as_new`: conditions must hold after all
    /// changes to the element, too.
    pub(crate) fn element(&mut self, id: Id, bindings: &mut Bindings, as_new: bool) -> Selected {
        let mut selected = Selected {
            path: String::new(),
            asked: Vec::new(),
        };
        let way = self.old.way(id);
        for step in &way {
            if !selected.path.is_empty() {
                selected.path.push('/');
            }
            let (text, asked) = self.step(*step, bindings, as_new && *step == id);
            selected.path.push_str(&text);
            selected.asked = asked;
        }
        selected
    }

    /// A path to any node of the old document but an attribute.
    pub(crate) fn node(&mut self, id: Id, bindings: &mut Bindings, as_new: bool) -> String {
        let test = match &self.old.nodes[id].kind {
            Kind::Text { .. } => "text()".to_owned(),
            Kind::Comment => "comment()".to_owned(),
            Kind::Instruction { target } => format!("processing-instruction('{target}')"),
            _ => return self.element(id, bindings, as_new).path,
        };
        let alike = |document: &Document<'_>, other: Id| match (
            &document.nodes[other].kind,
            &self.old.nodes[id].kind,
        ) {
            (Kind::Instruction { target }, Kind::Instruction { target: own }) => target == own,
            (one, own) => std::mem::discriminant(one) == std::mem::discriminant(own),
        };
        let parent = self.old.nodes[id].parent;
        let siblings = &self.old.nodes[parent].children;
        let before = siblings.iter().take_while(|other| **other != id);
        let place = before.filter(|other| alike(self.old, **other)).count() + 1;
        let step = format!("{test}[{place}]");
        match parent {
            TOP => step,
            parent => format!("{}/{step}", self.element(parent, bindings, false).path),
        }
    }

    fn step(&mut self, id: Id, bindings: &mut Bindings, as_new: bool) -> (String, Vec<String>) {
        let parent = self.old.nodes[id].parent;
        self.learn(parent);
        let Some(tag) = self.old.tag(id) else {
            return ("*".to_owned(), Vec::new());
        };
        let local = tag.element.local_name();
        if parent == TOP && as_new {
            // It may be called otherwise by now.
            return ("*".to_owned(), Vec::new());
        }
        let none_is_taken = tag.namespace.is_empty()
            && bindings
                .get(&None)
                .is_some_and(|default| !default.is_empty());
        if none_is_taken {
            // No name without a namespace can be written here.
            let all = self.old.elements(parent).take_while(|other| *other != id);
            return (format!("*[{}]", all.count() + 1), Vec::new());
        }
        let name = match prefix_for(bindings, &tag.namespace, true) {
            Some(prefix) => format!("{prefix}:{local}"),
            None => local.to_owned(),
        };
        let conditions = match self.chosen.get(&(id, as_new)) {
            Some(known) => known.clone(),
            None => {
                let found = self.conditions(id, as_new);
                self.chosen.insert((id, as_new), found.clone());
                found
            }
        };
        let siblings = &self.known[&parent];
        let [olds, news] = self.counts(id);
        // What moved is there twice for a while.
        let is_alone = parent == TOP || olds == 1 && news == usize::from(self.matching.stays[id]);
        let mut asked = Vec::new();
        let text = match conditions {
            Some(found) if !is_alone || found.iter().any(|one| one.rank == Rank::Name) => {
                let mut text = name;
                for mut one in found {
                    Self::with_prefix(&mut one, bindings);
                    let (at, quote) = (if one.is_child { "" } else { "@" }, quote_for(&one.value));
                    text.push_str(&format!("[{at}{}={quote}{}{quote}]", one.name, one.value));
                    if !one.is_child {
                        asked.push(one.name);
                    }
                }
                text
            }
            _ if is_alone => name,
            _ => format!("{name}[{}]", siblings.place.get(&id).copied().unwrap_or(1)),
        };
        (text, asked)
    }

    fn counts(&self, id: Id) -> [usize; 2] {
        let parent = self.old.nodes[id].parent;
        let Some(tag) = self.old.tag(id) else {
            return [0, 0];
        };
        let named = &self.known[&parent].named;
        let name = key((tag.element.local_name(), &*tag.namespace));
        named.get(&name).copied().unwrap_or_default()
    }

    /// The best conditions that only this element fulfils among its namesakes: one, or two together.
    fn conditions(&self, id: Id, as_new: bool) -> Option<Vec<Asked<'t>>> {
        let siblings = self.known.get(&self.old.nodes[id].parent)?;
        let counterpart = self.matching.new_of[id].filter(|_| self.matching.stays[id]);
        let after: Vec<u64> = counterpart.map_or_else(Vec::new, |new| {
            let asked = asked(self.new, &self.identities[1], new);
            asked.into_iter().map(|one| one.key).collect()
        });
        let holds = |found: [usize; 2], is_same: bool| {
            found[0] == 1
                && if is_same {
                    found[1] == 1
                } else {
                    found[1] == 0 && !as_new
                }
        };
        let mut usable: Vec<Asked<'t>> = asked(self.old, &self.identities[0], id)
            .into_iter()
            .filter(|one| is_quotable(&one.value))
            // What is in a child may change before this element's turn comes.
            .filter(|one| !one.is_child || after.contains(&one.key))
            .collect();
        let all = self.counts(id)[0];
        // Where no dialect says what is good for it: what differs everywhere first.
        usable.sort_by_key(|one| {
            let variety = siblings.variety.get(&one.variety).copied();
            let same_somewhere = one.rank == Rank::Unknown && variety.unwrap_or_default() < all;
            (one.rank, same_somewhere)
        });
        let single = usable.iter().position(|one| {
            let found = siblings.values.get(&one.key).copied().unwrap_or_default();
            holds(found, after.contains(&one.key))
        });
        if let Some(at) = single {
            return Some(vec![usable.swap_remove(at)]);
        }
        // Two together: counted among the namesakes, so only for few of these.
        usable.retain(|one| !one.is_child && one.rank <= Rank::Unknown);
        usable.truncate(4);
        if all > MOST_COUNTED {
            return None;
        }
        for first in 0..usable.len() {
            for second in first + 1..usable.len() {
                let pair = [usable[first].key, usable[second].key];
                let is_same = pair.iter().all(|key| after.contains(key));
                if holds(self.count_both(id, pair), is_same) {
                    let second = usable.swap_remove(second);
                    let first = usable.swap_remove(first);
                    return Some(vec![first, second]);
                }
            }
        }
        None
    }

    fn with_prefix(asked: &mut Asked<'_>, bindings: &mut Bindings) {
        if !asked.is_child {
            return;
        }
        let named = asked.name.rsplit(':').next().unwrap_or_default().to_owned();
        let namespace = asked.name[..asked.name.len() - named.len()].trim_end_matches(':');
        asked.name = match prefix_for(bindings, namespace, true) {
            Some(prefix) => format!("{prefix}:{named}"),
            None => named,
        };
    }

    fn count_both(&self, id: Id, pair: [u64; 2]) -> [usize; 2] {
        let count = |document: &Document<'_>, identities: &Identities<'_>, parent: Id| {
            let all = document.elements(parent);
            all.filter(|other| {
                let own = asked(document, identities, *other);
                pair.iter().all(|key| own.iter().any(|one| one.key == *key))
            })
            .count()
        };
        let parent = self.old.nodes[id].parent;
        let new = self.matching.new_of[parent];
        let [olds, news] = &self.identities;
        [
            count(self.old, olds, parent),
            new.map_or(0, |new| count(self.new, news, new)),
        ]
    }

    fn learn(&mut self, parent: Id) {
        if self.known.contains_key(&parent) {
            return;
        }
        let mut siblings = Siblings::default();
        let new_parent = self.matching.new_of[parent];
        let sides = [(self.old, Some(parent)), (self.new, new_parent)];
        for (side, (document, parent)) in sides.into_iter().enumerate() {
            for id in parent
                .into_iter()
                .flat_map(|parent| document.elements(parent))
            {
                let Some(tag) = document.tag(id) else {
                    continue;
                };
                let name = key((tag.element.local_name(), &*tag.namespace));
                let count = siblings.named.entry(name).or_default();
                count[side] += 1;
                if side == 0 {
                    siblings.place.insert(id, count[0]);
                }
                for one in asked(document, &self.identities[side], id) {
                    let count = siblings.values.entry(one.key).or_default();
                    count[side] += 1;
                    if side == 0 && count[0] == 1 {
                        *siblings.variety.entry(one.variety).or_default() += 1;
                    }
                }
            }
        }
        self.known.insert(parent, siblings);
    }
}

/// All that can be asked of an element.
fn asked<'t>(document: &Document<'t>, identities: &Identities<'_>, id: Id) -> Vec<Asked<'t>> {
    let Some(tag) = document.tag(id) else {
        return Vec::new();
    };
    let own = (tag.element.local_name(), &*tag.namespace);
    let attributes = identities.attributes(document, id).into_iter();
    let mut all: Vec<Asked<'t>> = attributes
        // Another prefix may mean another namespace elsewhere.
        .filter(|(name, ..)| !name.contains(':') || *name == "xml:id")
        .map(|(name, value, rank)| Asked {
            key: key((own, name, &*value)),
            variety: key((own, name)),
            name: name.to_owned(),
            value,
            is_child: false,
            rank,
        })
        .collect();
    if let Some((child, value)) = identities.child_name(document, id)
        && let Some(named) = document.tag(child)
    {
        let local = named.element.local_name();
        all.push(Asked {
            key: key((own, "child", local, &*value)),
            variety: key((own, "child", local)),
            name: format!("{}:{local}", named.namespace),
            value,
            is_child: true,
            rank: Rank::Name,
        });
    }
    all
}

fn is_quotable(value: &str) -> bool {
    let has_both_quotes = value.contains('"') && value.contains('\'');
    let is_odd = has_both_quotes || value.contains(['\n', '\r', '\t', '&']);
    value.len() <= LONGEST && !is_odd
}

fn quote_for(value: &str) -> char {
    if value.contains('\'') { '"' } else { '\'' }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bindings::inside;

    /// What they all stand in is looked through once, and not for each of them.
    #[test]
    fn each_of_thousands_in_one_element() {
        let channel = |at| format!("<channel target=\"n{at}\" property=\"rotation\"/>");
        let channels: String = (0..20_000).map(channel).collect();
        let text = format!(
            "<machine xmlns=\"urn:trunnion:machine:1\"><animations><animation id=\"a\">{channels}</animation></animations></machine>"
        );
        let dialect = dialect::Dialect::house();
        let meaning: crate::document::Meaning<'_> = Some((&dialect, &dialect.documents[0]));
        let tree = syntax::parse(&text);
        let document = Document::new(&tree, &text, meaning);
        let identities = [Identities::new(meaning); 2];
        let matching = Matching::of(&document, &document, identities);
        let mut selectors = Selectors::new(&document, &document, identities, &matching);
        let all = (0..document.nodes.len()).filter(|id| {
            let element = document.element(*id);
            element.is_some_and(|element| element.local_name() == "channel")
        });
        let mut bindings = inside(&document, 1);
        for (at, id) in all.enumerate() {
            let path = selectors.element(id, &mut bindings, false).path;
            let own = format!("channel[@target='n{at}']");
            assert_eq!(path, format!("machine/animations/animation[@id='a']/{own}"));
        }
    }
}
