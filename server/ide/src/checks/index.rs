//! The names of a document, kept up to date from version to version.

use foldhash::{HashMap, HashSet};

use dialect::{Kind, NodePath};
use machine::{Entry, NodeRef, NodeTarget, Outline, UseTarget};
use syntax::TextSize;

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

/// The number of a node path: equal for equal paths, whatever the node is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Part(u32);

impl Part {
    pub(super) fn number(self) -> usize {
        self.0 as usize
    }
}

/// Everything of one name, each list in the order of the document.
#[derive(Debug, Default)]
pub(super) struct Group {
    pub(super) given: Vec<Given>,
    /// Where things of several kinds have the name: the position of the first of each kind.
    firsts: Box<[usize]>,
    /// Places among the uses of an entry.
    pub(super) used: Vec<Place>,
}

impl Group {
    /// What gives this name to something of one of these kinds, the first one first.
    pub(super) fn definition(&self, kinds: &[Kind]) -> Option<&Given> {
        let is_meant = |given: &&Given| kinds.contains(&given.kind);
        match &*self.firsts {
            [] => self.given.first().filter(is_meant),
            firsts => {
                let mut firsts = firsts.iter().map(|first| &self.given[*first]);
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
        let is_of_a_kind = match &*self.firsts {
            [] => self
                .given
                .first()
                .is_none_or(|first| first.kind == given.kind),
            firsts => firsts
                .iter()
                .any(|first| self.given[*first].kind == given.kind),
        };
        for_one(&mut self.given);
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
            self.firsts = Box::default();
            return;
        }
        let mut kinds: HashSet<&Kind> = HashSet::default();
        let given = self.given.iter().enumerate();
        let firsts = given.filter(|(_, given)| kinds.insert(&given.kind));
        self.firsts = firsts.map(|(at, _)| at).collect();
    }

    /// Whether nothing of the same kind gets this name before.
    pub(super) fn is_first(&self, given: &Given) -> bool {
        self.definition(std::slice::from_ref(&given.kind))
            .is_some_and(|first| first.place == given.place)
    }
}

#[derive(Debug, Default)]
pub(super) struct Index {
    groups: HashMap<String, Group>,
    parts: HashMap<NodePath, Part>,
    /// By part.
    paths: Vec<NodePath>,
    /// How many names of each kind there are.
    counts: HashMap<Kind, usize>,
    /// How many uses ask for something by its position.
    positions: usize,
    /// What the names meant that are being changed.
    before: HashMap<String, Vec<(Kind, GivenRole)>>,
    /// Names with something wrong about them: used and not given, given twice, given for use and not used.
    troubled: HashSet<String>,
}

impl Index {
    pub(super) fn group(&self, name: &str) -> Option<&Group> {
        self.groups.get(name)
    }

    /// What gives this name to something of one of these kinds, the first one first.
    pub(super) fn definition(&self, kinds: &[Kind], name: &str) -> Option<&Given> {
        self.groups.get(name)?.definition(kinds)
    }

    /// The path to a node that is asked for: its own, or its alias's.
    pub(super) fn part_of(&mut self, node: &NodeRef) -> Option<Part> {
        match &node.target {
            NodeTarget::Path(path) => Some(self.part(path)),
            NodeTarget::Name { kinds, or_node } => match self.definition(kinds, &node.text) {
                Some(given) => match &given.role {
                    GivenRole::Alias(part) => *part,
                    _ => None,
                },
                None => Some(self.part(or_node.as_deref()?)),
            },
            NodeTarget::Unreadable => None,
        }
    }

    fn part(&mut self, path: &NodePath) -> Part {
        if let Some(part) = self.parts.get(path) {
            return *part;
        }
        let part = Part(u32::try_from(self.paths.len()).unwrap_or(u32::MAX));
        self.paths.push(path.clone());
        self.parts.insert(path.clone(), part);
        part
    }

    /// The number of a path that was asked for.
    pub(super) fn known_part(&self, path: &NodePath) -> Option<Part> {
        self.parts.get(path).copied()
    }

    /// All node paths that were ever asked for, by part.
    pub(super) fn paths(&self) -> &[NodePath] {
        &self.paths
    }

    /// Whether most of the paths it remembers are of the past.
    pub(super) fn is_worn(&self) -> bool {
        self.paths.len() > 50_000 + 4 * self.groups.len()
    }

    /// How many names of a kind there are.
    pub(super) fn count(&self, kind: &Kind) -> usize {
        self.counts.get(kind).copied().unwrap_or(0)
    }

    pub(super) fn has_positions(&self) -> bool {
        self.positions > 0
    }

    /// The names that have to be looked at.
    pub(super) fn troubled(&self) -> impl Iterator<Item = (&str, &Group)> {
        self.troubled
            .iter()
            .filter_map(|name| Some((name.as_str(), self.groups.get(name)?)))
    }

    /// Forgets what an entry says. Notes the names about which something may have changed.
    pub(super) fn remove(&mut self, entry: &Entry, touched: &mut HashSet<String>) {
        for definition in &entry.facts.definitions {
            let name = &definition.name.value;
            self.note(name);
            if let Some(group) = self.groups.get_mut(name) {
                group.take(entry.label);
                touch(touched, name);
            }
            if let Some(count) = self.counts.get_mut(&definition.kind) {
                *count = count.saturating_sub(1);
            }
        }
        for used in &entry.facts.uses {
            match &used.target {
                UseTarget::Name { name, .. } => {
                    if let Some(group) = self.groups.get_mut(&**name) {
                        // The places of one entry stand together.
                        let first = group
                            .used
                            .partition_point(|place| place.label < entry.label);
                        let count =
                            group.used[first..].partition_point(|place| place.label == entry.label);
                        group.used.drain(first..first + count);
                        touch(touched, name);
                    }
                }
                UseTarget::Position { .. } => self.positions -= 1,
                UseTarget::Path(_) | UseTarget::Input { .. } => {}
            }
        }
    }

    /// Adds what an entry says. Notes the names about which something may have changed.
    pub(super) fn add(&mut self, entry: &Entry, touched: &mut HashSet<String>) {
        let place = |at| Place {
            label: entry.label,
            at,
        };
        let mut roles = self.roles(entry);
        for (at, definition) in entry.facts.definitions.iter().enumerate() {
            let name = &definition.name.value;
            self.note(name);
            let role = roles.remove(&definition.name.range.start());
            let given = Given {
                place: place(at),
                kind: definition.kind.clone(),
                role: role.unwrap_or(GivenRole::Other),
            };
            self.groups.entry(name.clone()).or_default().give(given);
            *self.counts.entry(definition.kind.clone()).or_default() += 1;
            touch(touched, name);
        }
        for (at, used) in entry.facts.uses.iter().enumerate() {
            match &used.target {
                UseTarget::Name { name, .. } => {
                    let place = place(at);
                    let group = match self.groups.get_mut(&**name) {
                        Some(group) => group,
                        None => self.groups.entry(name.to_string()).or_default(),
                    };
                    let index = group.used.partition_point(|other| *other < place);
                    for_one(&mut group.used);
                    group.used.insert(index, place);
                    touch(touched, name);
                }
                UseTarget::Position { .. } => self.positions += 1,
                UseTarget::Path(_) | UseTarget::Input { .. } => {}
            }
        }
    }

    /// By the start of a name: what it is a name of.
    fn roles(&mut self, entry: &Entry) -> HashMap<TextSize, GivenRole> {
        let mut roles = HashMap::default();
        for alias in &entry.facts.aliases {
            let part = alias.path.as_ref().and_then(|path| match &path.target {
                NodeTarget::Path(path) => Some(self.part(path)),
                _ => None,
            });
            if let Some(name) = &alias.name {
                roles.insert(name.range.start(), GivenRole::Alias(part));
            }
        }
        for animation in &entry.facts.animations {
            if let Some(name) = &animation.name {
                roles.insert(name.range.start(), GivenRole::Animation);
            }
        }
        roles
    }

    /// Remembers what a name means before it is changed.
    fn note(&mut self, name: &str) {
        if !self.before.contains_key(name) {
            let meant = self.groups.get(name).map(meant).unwrap_or_default();
            self.before.insert(name.to_owned(), meant);
        }
    }

    /// Looks at the touched names again. Gives back those that mean another node than before.
    pub(super) fn settle(
        &mut self,
        outline: &Outline,
        touched: &HashSet<String>,
    ) -> HashSet<String> {
        let mut renamed = HashSet::default();
        for (name, before) in std::mem::take(&mut self.before) {
            if self.groups.get(&name).map(meant).unwrap_or_default() != before {
                renamed.insert(name);
            }
        }
        for name in touched {
            let Some(group) = self.groups.get(name) else {
                self.troubled.remove(name);
                continue;
            };
            if group.given.is_empty() && group.used.is_empty() {
                self.groups.remove(name);
                self.troubled.remove(name);
            } else if is_troubled(outline, group) {
                self.troubled.insert(name.clone());
            } else {
                self.troubled.remove(name);
            }
        }
        renamed
    }
}

/// What a name means: of each thing that has it, the kind and the node.
fn meant(group: &Group) -> Vec<(Kind, GivenRole)> {
    let given = group.given.iter();
    given
        .map(|given| (given.kind.clone(), given.role.clone()))
        .collect()
}

/// Most names are given once and used once, and a list's first room would be for four.
fn for_one<T>(list: &mut Vec<T>) {
    if list.is_empty() {
        list.reserve_exact(1);
    }
}

fn touch(touched: &mut HashSet<String>, name: &str) {
    if !touched.contains(name) {
        touched.insert(name.to_owned());
    }
}

fn is_troubled(outline: &Outline, group: &Group) -> bool {
    let mut resolved: HashSet<Place> = HashSet::default();
    for place in &group.used {
        let Some(UseTarget::Name { kinds, or_node, .. }) = target(outline, *place) else {
            return true;
        };
        match group.definition(kinds) {
            Some(given) => {
                resolved.insert(given.place);
            }
            None if or_node.is_some() => {}
            None => return true,
        }
    }
    group.given.iter().any(|given| {
        !group.is_first(given)
            || (given.role != GivenRole::Other && !resolved.contains(&given.place))
    })
}

fn target(outline: &Outline, place: Place) -> Option<&UseTarget> {
    let entry = &outline.entries()[outline.position(place.label)?];
    Some(&entry.facts.uses.get(place.at)?.target)
}
