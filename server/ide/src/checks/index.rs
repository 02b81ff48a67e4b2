//! The names of a document, kept up to date from version to version.

use foldhash::{HashMap, HashSet};
use smallvec::SmallVec;
use std::collections::BTreeSet;
use std::sync::Arc;

use dialect::{Kind, NodePath};
use machine::{Entry, NodeRef, NodeTarget, Outline, UseTarget, in_parallel};
use syntax::TextSize;

use super::numbered::Numbered;

/// Where something is said: in the entry with this label, as its so-manieth fact of the sort.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Place {
    pub(super) label: u64,
    pub(super) at: usize,
}

/// A name that is given.
#[derive(Debug)]
pub(super) struct Given {
    pub(super) place: Place,
    pub(super) kind: Kind,
    pub(super) role: GivenRole,
}

/// What it is a name of.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum GivenRole {
    /// Of a node, where the path to it can be read.
    Alias(Option<Part>),
    Animation,
    Other,
}

/// So many names are worth a thread.
const NAMES_AT_ONCE: usize = 2_000;

/// The number of a node path: equal for equal paths, whatever the node is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Part(u32);

impl Part {
    pub(super) fn of(number: usize) -> Self {
        Self(u32::try_from(number).unwrap_or(u32::MAX))
    }

    pub(super) fn number(self) -> usize {
        self.0 as usize
    }
}

/// Everything of one name, each list in the order of the document.
#[derive(Debug, Default)]
pub(super) struct Group {
    /// Most names are given once.
    pub(super) given: SmallVec<[Given; 1]>,
    /// Where things of several kinds have the name.
    firsts: Option<Box<Firsts>>,
    /// Places among the uses of an entry. Most names are used once.
    pub(super) used: SmallVec<[Place; 1]>,
}

/// The position of the first of each kind.
#[derive(Debug)]
struct Firsts(Vec<usize>);

/// What has happened to a name since the names were settled. Apart from the groups, of which there are many.
#[derive(Debug, Default)]
struct State {
    /// Something about it has changed.
    is_touched: bool,
    /// What gives it has.
    is_noted: bool,
}

impl Group {
    /// What the name means: of each thing that has it, the kind and the node.
    fn meant(&self) -> impl Iterator<Item = (&Kind, &GivenRole)> {
        self.given.iter().map(|given| (&given.kind, &given.role))
    }

    /// What gives this name to something of one of these kinds, the first one first.
    pub(super) fn definition(&self, kinds: &[Kind]) -> Option<&Given> {
        let is_meant = |given: &&Given| kinds.contains(&given.kind);
        match &self.firsts {
            None => self.given.first().filter(is_meant),
            Some(firsts) => {
                let mut firsts = firsts.0.iter().map(|first| &self.given[*first]);
                firsts.find(is_meant)
            }
        }
    }

    /// Adds a given name where it belongs.
    fn give(&mut self, given: Given) {
        let at = self
            .given
            .partition_point(|other| other.place < given.place);
        let is_last = at == self.given.len();
        let is_of_a_kind = match &self.firsts {
            None => self
                .given
                .first()
                .is_none_or(|first| first.kind == given.kind),
            Some(firsts) => firsts
                .0
                .iter()
                .any(|first| self.given[*first].kind == given.kind),
        };
        self.given.insert(at, given);
        if !(is_last && is_of_a_kind) {
            self.find_firsts();
        }
    }

    /// Takes away what an entry gives.
    fn take(&mut self, label: u64) {
        // The places of one entry stand together.
        let first = self
            .given
            .partition_point(|given| given.place.label < label);
        let count = self.given[first..].partition_point(|given| given.place.label == label);
        if count > 0 {
            self.given.drain(first..first + count);
            self.find_firsts();
        }
    }

    fn find_firsts(&mut self) {
        let kind = self.given.first().map(|given| &given.kind);
        if self.given.iter().all(|given| Some(&given.kind) == kind) {
            self.firsts = None;
            return;
        }
        let mut kinds: HashSet<&Kind> = HashSet::default();
        let given = self.given.iter().enumerate();
        let firsts = given.filter(|(_, given)| kinds.insert(&given.kind));
        self.firsts = Some(Box::new(Firsts(firsts.map(|(at, _)| at).collect())));
    }

    /// Whether nothing of the same kind gets this name before.
    pub(super) fn is_first(&self, given: &Given) -> bool {
        self.definition(std::slice::from_ref(&given.kind))
            .is_some_and(|first| first.place == given.place)
    }
}

/// An entry that has come or gone. One that says something else than before has gone and then come.
#[derive(Debug, Clone, Copy)]
pub(super) enum Change<'o> {
    Gone(&'o Entry),
    New(&'o Entry),
}

/// What may have changed.
#[derive(Debug, Default)]
struct Touched {
    /// The names, by their numbers.
    names: Vec<u32>,
    /// What names meant of which that may have changed, if anything.
    before: HashMap<u32, Vec<(Kind, GivenRole)>>,
    /// There were no names before.
    from_nothing: bool,
    /// Some entry that gives names to nodes has come, gone or changed: its aliases may stand at other places.
    aliases: bool,
}

/// The names that mean another node than before, by their numbers; as long as the index stays the same.
#[derive(Debug, Default)]
pub(super) struct Renamed(Vec<u32>);

/// What is known of a node that is asked for.
enum Meant<'n> {
    /// The number of its alias's path.
    Part(Part),
    Path(&'n NodePath),
}

#[derive(Debug, Default)]
pub(super) struct Index {
    names: Numbered<Arc<str>>,
    /// By the number of the name.
    groups: Vec<Group>,
    /// The same.
    states: Vec<State>,
    /// By part.
    paths: Numbered<NodePath>,
    /// How many names of each kind there are.
    counts: HashMap<Kind, usize>,
    /// How many uses ask for something by its position.
    positions: usize,
    /// Names with something wrong about them: used and not given, given twice, given for use and not used.
    troubled: BTreeSet<u32>,
}

impl Index {
    /// An index with room for the names of a document.
    pub(super) fn expecting(outline: &Outline) -> Self {
        let facts = || outline.entries().iter().map(|entry| &entry.facts);
        let names = facts().map(|facts| facts.definitions.len()).sum();
        let mut index = Self::default();
        index.names.reserve(names);
        index.groups.reserve_exact(names);
        index.states.reserve_exact(names);
        let paths = facts().map(|facts| facts.aliases.len()).sum();
        index.paths.reserve(paths);
        index
    }

    pub(super) fn group(&self, name: &str) -> Option<&Group> {
        Some(&self.groups[self.names.number(name)? as usize])
    }

    /// The number of a name, which is that of its group.
    fn number_of(&mut self, name: &Arc<str>) -> u32 {
        let number = self.names.number_or_new(name);
        if number as usize == self.groups.len() {
            self.groups.push(Group::default());
            self.states.push(State::default());
        }
        number
    }

    /// What gives this name to something of one of these kinds, the first one first.
    pub(super) fn definition(&self, kinds: &[Kind], name: &str) -> Option<&Given> {
        self.group(name)?.definition(kinds)
    }

    /// The number of the path to a node that is asked for: its own, or its alias's.
    pub(super) fn part_of(&mut self, node: &NodeRef) -> Option<Part> {
        Some(match self.meant(node)? {
            Meant::Part(part) => part,
            Meant::Path(path) => self.part(path),
        })
    }

    /// The same, where it takes no new number to say it.
    pub(super) fn known_part_of(&self, node: &NodeRef) -> Option<Option<Part>> {
        match self.meant(node) {
            None => Some(None),
            Some(Meant::Part(part)) => Some(Some(part)),
            Some(Meant::Path(path)) => self.known_part(path).map(Some),
        }
    }

    /// The same path, which gets no number by that.
    pub(super) fn path_of<'a>(&'a self, node: &'a NodeRef) -> Option<&'a NodePath> {
        Some(match self.meant(node)? {
            Meant::Part(part) => &self.paths.all()[part.number()],
            Meant::Path(path) => path,
        })
    }

    fn meant<'n>(&self, node: &'n NodeRef) -> Option<Meant<'n>> {
        match &node.target {
            NodeTarget::Path(path) => Some(Meant::Path(path)),
            NodeTarget::Name { kinds, or_node } => match self.definition(kinds, &node.text) {
                Some(given) => match &given.role {
                    GivenRole::Alias(part) => part.map(Meant::Part),
                    _ => None,
                },
                None => or_node.as_deref().map(Meant::Path),
            },
            NodeTarget::Unreadable => None,
        }
    }

    fn part(&mut self, path: &NodePath) -> Part {
        Part(self.paths.number_or_new(path))
    }

    /// The number of a path that was asked for.
    pub(super) fn known_part(&self, path: &NodePath) -> Option<Part> {
        self.paths.number(path).map(Part)
    }

    /// All node paths that were ever asked for, by part.
    pub(super) fn paths(&self) -> &[NodePath] {
        self.paths.all()
    }

    /// Whether most of the paths it remembers are of the past.
    pub(super) fn is_worn(&self) -> bool {
        self.paths.all().len() > 50_000 + 4 * self.names.len()
    }

    /// How many names of a kind there are.
    pub(super) fn count(&self, kind: &Kind) -> usize {
        self.counts.get(kind).copied().unwrap_or(0)
    }

    pub(super) fn has_positions(&self) -> bool {
        self.positions > 0
    }

    /// The names that have to be looked at; in a document that was just opened as they come first in it, so that those
    /// that follow on more than is told need no message.
    pub(super) fn troubled(&self) -> impl Iterator<Item = (&str, &Group)> {
        self.troubled.iter().map(|number| {
            let number = *number as usize;
            (&*self.names.all()[number], &self.groups[number])
        })
    }

    /// Takes in what has changed. Gives back the names that mean another node than before, and whether aliases may have
    /// come, gone or changed. `outline`: as it is now.
    pub(super) fn change(&mut self, outline: &Outline, changes: &[Change<'_>]) -> (Renamed, bool) {
        let mut touched = Touched {
            // No name meant anything, so none means anything else than before.
            from_nothing: self.names.len() == 0,
            ..Touched::default()
        };
        for change in changes {
            match change {
                Change::Gone(entry) => self.remove(entry, &mut touched),
                Change::New(entry) => self.add(entry, &mut touched),
            }
        }
        let are_aliases_touched = touched.aliases;
        (self.settle(outline, touched), are_aliases_touched)
    }

    /// Forgets what an entry says. Notes what may have changed by that.
    fn remove(&mut self, entry: &Entry, touched: &mut Touched) {
        touched.aliases |= !entry.facts.aliases.is_empty();
        for definition in &entry.facts.definitions {
            if let Some(number) = self.names.number(&*definition.name.value) {
                let group = &mut self.groups[number as usize];
                touched.note(number, group, &mut self.states);
                group.take(entry.label);
            }
            if let Some(count) = self.counts.get_mut(&definition.kind) {
                *count = count.saturating_sub(1);
            }
        }
        for used in &entry.facts.uses {
            match &used.target {
                UseTarget::Name { name, .. } => {
                    if let Some(number) = self.names.number(&**name) {
                        let group = &mut self.groups[number as usize];
                        // The places of one entry stand together.
                        let first = group
                            .used
                            .partition_point(|place| place.label < entry.label);
                        let count =
                            group.used[first..].partition_point(|place| place.label == entry.label);
                        group.used.drain(first..first + count);
                        touched.add(number, &mut self.states);
                    }
                }
                UseTarget::Position { .. } => self.positions -= 1,
                UseTarget::Path(_) | UseTarget::Input { .. } => {}
            }
        }
    }

    /// Adds what an entry says. Notes what may have changed by that.
    fn add(&mut self, entry: &Entry, touched: &mut Touched) {
        touched.aliases |= !entry.facts.aliases.is_empty();
        let place = |at| Place {
            label: entry.label,
            at,
        };
        let roles = self.roles(entry);
        for (at, definition) in entry.facts.definitions.iter().enumerate() {
            let number = self.number_of(&definition.name.value);
            let group = &mut self.groups[number as usize];
            touched.note(number, group, &mut self.states);
            group.give(Given {
                place: place(at),
                kind: definition.kind,
                role: role_at(&roles, definition.name.range.start()),
            });
        }
        let of_a_kind = entry.facts.definitions.chunk_by(|a, b| a.kind == b.kind);
        for given in of_a_kind {
            *self.counts.entry(given[0].kind).or_default() += given.len();
        }
        for (at, used) in entry.facts.uses.iter().enumerate() {
            match &used.target {
                UseTarget::Name { name, .. } => {
                    let place = place(at);
                    let number = self.number_of(name);
                    let group = &mut self.groups[number as usize];
                    let index = group.used.partition_point(|other| *other < place);
                    group.used.insert(index, place);
                    touched.add(number, &mut self.states);
                }
                UseTarget::Position { .. } => self.positions += 1,
                UseTarget::Path(_) | UseTarget::Input { .. } => {}
            }
        }
    }

    /// What names are names of, by the start of the name.
    fn roles(&mut self, entry: &Entry) -> Vec<(TextSize, GivenRole)> {
        let (aliases, animations) = (&entry.facts.aliases, &entry.facts.animations);
        let mut roles = Vec::with_capacity(aliases.len() + animations.len());
        for alias in aliases {
            let part = alias.path.as_ref().and_then(|path| match &path.target {
                NodeTarget::Path(path) => Some(self.part(path)),
                _ => None,
            });
            if let Some(name) = &alias.name {
                roles.push((name.range.start(), GivenRole::Alias(part)));
            }
        }
        let names = animations
            .iter()
            .filter_map(|animation| animation.name.as_ref());
        roles.extend(names.map(|name| (name.range.start(), GivenRole::Animation)));
        roles.sort_by_key(|(start, _)| *start);
        roles
    }

    /// Looks at the touched names again. Gives back those that mean another node than before.
    fn settle(&mut self, outline: &Outline, touched: Touched) -> Renamed {
        let mut renamed = Renamed::default();
        let (groups, names) = (&self.groups, &touched.names);
        let are_troubled = in_parallel(names.len(), NAMES_AT_ONCE, |nth| {
            is_troubled(outline, &groups[names[nth] as usize])
        });
        for (number, is_troubled) in touched.names.into_iter().zip(are_troubled) {
            let group = &mut self.groups[number as usize];
            let state = std::mem::take(&mut self.states[number as usize]);
            if state.is_noted && !touched.from_nothing {
                let before = touched.before.get(&number).map_or(&[][..], Vec::as_slice);
                let before = before.iter().map(|(kind, role)| (kind, role));
                if !before.eq(group.meant()) {
                    renamed.0.push(number);
                }
            }
            if group.given.is_empty() && group.used.is_empty() {
                self.names.forget(number);
                self.troubled.remove(&number);
            } else if is_troubled {
                self.troubled.insert(number);
            } else {
                self.troubled.remove(&number);
            }
        }
        renamed
    }

    /// The labels of the entries that use names that mean another node than before.
    pub(super) fn users(&self, renamed: &Renamed) -> HashSet<u64> {
        let groups = renamed
            .0
            .iter()
            .map(|number| &self.groups[*number as usize]);
        let labels = groups.flat_map(|group| group.used.iter().map(|place| place.label));
        labels.collect()
    }
}

impl Renamed {
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl Touched {
    fn add(&mut self, number: u32, states: &mut [State]) {
        if !std::mem::replace(&mut states[number as usize].is_touched, true) {
            self.names.push(number);
        }
    }

    /// Remembers what a name means before what gives it is changed.
    fn note(&mut self, number: u32, group: &Group, states: &mut [State]) {
        self.add(number, states);
        let is_noted = std::mem::replace(&mut states[number as usize].is_noted, true);
        if !is_noted && !group.given.is_empty() {
            let meant = group.meant();
            let meant = meant.map(|(kind, role)| (*kind, role.clone()));
            self.before.insert(number, meant.collect());
        }
    }
}

/// `roles`: sorted; of several at one place the last one counts.
fn role_at(roles: &[(TextSize, GivenRole)], start: TextSize) -> GivenRole {
    let behind = roles.partition_point(|(other, _)| *other <= start);
    match behind.checked_sub(1).map(|at| &roles[at]) {
        Some((found, role)) if *found == start => role.clone(),
        _ => GivenRole::Other,
    }
}

fn is_troubled(outline: &Outline, group: &Group) -> bool {
    // Mostly all uses mean the same thing, which needs no set.
    let mut last: Option<Place> = None;
    let mut others: BTreeSet<Place> = BTreeSet::new();
    for place in &group.used {
        let Some(UseTarget::Name { kinds, or_node, .. }) = target(outline, *place) else {
            return true;
        };
        match group.definition(kinds) {
            Some(given) if last == Some(given.place) => {}
            Some(given) => others.extend(last.replace(given.place)),
            None if or_node.is_some() => {}
            None => return true,
        }
    }
    let is_used = |given: &Given| last == Some(given.place) || others.contains(&given.place);
    group
        .given
        .iter()
        .any(|given| !group.is_first(given) || (given.role != GivenRole::Other && !is_used(given)))
}

fn target(outline: &Outline, place: Place) -> Option<&UseTarget> {
    let entry = outline.labelled(place.label)?;
    Some(&entry.facts.uses.get(place.at)?.target)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dialect::Dialect;

    /// Wheels on an alias, on paths, and on what means no node: a broken alias, something else's name, nothing.
    #[test]
    fn the_path_to_a_node_is_the_one_that_its_number_stands_for() {
        let house = Dialect::house();
        let wheels = ["a", "0/1", "0/2", "b", "w3", "none", "0//1"];
        let wheels = wheels.iter().enumerate();
        let wheels = wheels.map(|(n, node)| format!("<wheel id='w{n}' node='{node}'/>"));
        let text = format!(
            "<machine xmlns='urn:trunnion:machine:1'><aliases><alias name='a' path='0/1'/>
             <alias name='b' path='0//1'/></aliases><wheels>{}</wheels></machine>",
            wheels.collect::<String>()
        );
        let tree = syntax::parse(&text);
        let outline = Outline::read(&tree, &house, &house.documents[0], None);
        let changes: Vec<_> = outline.entries().iter().map(Change::New).collect();
        let mut index = Index::expecting(&outline);
        index.change(&outline, &changes);
        let wheels = outline.entries().iter();
        let wheels = wheels.flat_map(|entry| &entry.facts.wheels);
        let nodes: Vec<&NodeRef> = wheels.map(|wheel| wheel.node.as_ref().unwrap()).collect();
        let paths = nodes.iter().map(|node| index.path_of(node).cloned());
        let paths: Vec<Option<NodePath>> = paths.collect();
        assert_eq!(index.paths().len(), 1, "they were not numbered");
        let has_number = nodes.iter().map(|node| index.known_part_of(node).is_some());
        assert!(has_number.eq([true, true, false, true, true, true, true]));
        let numbered = nodes.iter().map(|node| index.part_of(node));
        let numbered: Vec<_> = numbered.collect();
        let known = nodes.iter().map(|node| index.known_part_of(node));
        assert!(known.eq(numbered.iter().map(|part| Some(*part))));
        let numbered = numbered.into_iter();
        let numbered = numbered.map(|part| Some(index.paths()[part?.number()].clone()));
        assert_eq!(paths, numbered.collect::<Vec<_>>());
        let are_known = paths.iter().map(Option::is_some);
        assert!(are_known.eq([true, true, true, false, false, false, false]));
    }
}
