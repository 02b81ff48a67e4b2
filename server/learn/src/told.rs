//! Types that are told by more than the values of a slot: by names, index paths and files elsewhere.

use crate::files::Files;
use crate::names::{Affix, Member, Names, Scope, SlotRef};
use crate::node_paths::NodePaths;
use crate::survey::Survey;
use dialect::{Around, ItemType, Kind, ListRule, NameScope, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use std::collections::BTreeSet;

/// What is known of slots otherwise than from their values alone.
pub(crate) struct Told<'n> {
    survey: &'n Survey<'n>,
    paths: &'n NodePaths,
    files: &'n Files,
    names: &'n Names,
    /// What plays a part of a role.
    played: &'n HashMap<SlotRef, ValueType>,
    given: HashMap<SlotRef, usize>,
    asked: HashMap<SlotRef, usize>,
}

impl<'n> Told<'n> {
    pub(crate) fn of(
        survey: &'n Survey<'n>,
        names: &'n Names,
        paths: &'n NodePaths,
        files: &'n Files,
        played: &'n HashMap<SlotRef, ValueType>,
    ) -> Self {
        let mut given = HashMap::new();
        for (kind, known) in names.kinds.iter().enumerate() {
            given.extend(known.defined_by.iter().map(|slot| (*slot, kind)));
        }
        let asked = names.references.iter().enumerate();
        let asked = asked.map(|(at, reference)| (reference.slot, at)).collect();
        Self {
            survey,
            paths,
            files,
            names,
            played,
            given,
            asked,
        }
    }

    /// Within what names are unique, where that is not the document.
    pub(crate) fn scopes(&self) -> Vec<(Kind, NameScope)> {
        let named = self.names.kinds.iter();
        let named = named.filter(|kind| !kind.defined_by.is_empty());
        let scopes = named.map(|kind| {
            let scope = match kind.scope {
                Scope::Document => NameScope::Document,
                Scope::Folder => NameScope::Folder,
                Scope::Parent => NameScope::Parent,
            };
            (Kind::new(&kind.kind), scope)
        });
        scopes
            .filter(|(_, scope)| *scope != NameScope::Document)
            .collect()
    }

    fn kind(&self, kind: usize) -> Kind {
        Kind::new(&self.names.kinds[kind].kind)
    }

    /// What a role, paths to nodes or files tell of a single slot.
    pub(crate) fn of_slot(&self, slot: SlotRef) -> Option<&ValueType> {
        let (played, paths, files) = (self.played, &self.paths.types, &self.files.types);
        let mut told = [played, paths, files].into_iter();
        told.find_map(|types| types.get(&slot))
    }

    /// Whether a slot plays a part of a role.
    pub(crate) fn plays(&self, slot: &SlotRef) -> bool {
        self.played.contains_key(slot)
    }

    /// The type of values that are names or refer to names, if these are.
    pub(crate) fn value_type(&self, slots: &[SlotRef]) -> Option<ValueType> {
        let single = |item: ItemType| Some(ValueType::single(item));
        if let Some(played) = self.played(slots) {
            return Some(played);
        }
        if let Some(path) = self.path(slots) {
            return Some(path);
        }
        if self.are_most(slots, |slot| self.given.contains_key(slot)) {
            let kind = slots.iter().find_map(|slot| self.given.get(slot))?;
            return single(ItemType::NameOf(self.kind(*kind)));
        }
        if !self.are_most(slots, |slot| self.asked.contains_key(slot)) {
            return self.file(slots);
        }
        let asked = slots.iter().filter_map(|slot| self.asked.get(slot));
        let asked: Vec<_> = asked.map(|at| &self.names.references[*at]).collect();
        let first = asked
            .iter()
            .max_by_key(|reference| reference.evidence.places)?;
        let mut kinds: Vec<Kind> = Vec::new();
        for kind in asked.iter().flat_map(|reference| &reference.to) {
            let is_named = !self.names.kinds[*kind].defined_by.is_empty();
            let kind = self.kind(*kind);
            if is_named && !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
        // Things without names can only be counted, for which the dialect needs a role.
        let kind = *kinds.first()?;
        // Values of other sorts would be taken for names that nothing has.
        if asked.iter().any(|reference| reference.mixed) {
            return None;
        }
        let mut around = Around::default();
        let item = match &first.form.member {
            Member::Position { first } => ItemType::PositionOf {
                kind,
                first: *first,
            },
            Member::Name { before, after } => {
                match before {
                    Affix::Nothing => {}
                    Affix::Fixed(text) => around.before.clone_from(text),
                    Affix::Mark(mark) => around.begins_after.clone_from(mark),
                }
                match after {
                    Affix::Nothing => {}
                    Affix::Fixed(text) => around.after.clone_from(text),
                    Affix::Mark(mark) => around.ends_before.clone_from(mark),
                }
                ItemType::Reference(kinds.into())
            }
        };
        let list = first.form.separator.as_ref().map(|separator| ListRule {
            separator: crate::separators::separator(separator),
            min: 0,
            max: None,
        });
        Some(ValueType { item, list, around })
    }
}

impl Told<'_> {
    /// Whether what holds for some slots holds for most of what stands in all of them.
    fn are_most(&self, slots: &[SlotRef], holds: impl Fn(&SlotRef) -> bool) -> bool {
        let places = |slot: &SlotRef| slot.of(self.survey).seen.len();
        let all: usize = slots.iter().map(places).sum();
        let those: usize = slots.iter().filter(|slot| holds(slot)).map(places).sum();
        those > 0 && those * 2 >= all
    }

    /// The type that goes with most of the parts that the slots play.
    fn played(&self, slots: &[SlotRef]) -> Option<ValueType> {
        if !self.are_most(slots, |slot| self.played.contains_key(slot)) {
            return None;
        }
        let played = slots
            .iter()
            .filter_map(|slot| Some((slot, self.played.get(slot)?)));
        let most = played.max_by_key(|(slot, _)| slot.of(self.survey).seen.len());
        most.map(|(_, told)| told.clone())
    }

    /// The type of paths to nodes, and of what may stand for them.
    fn path(&self, slots: &[SlotRef]) -> Option<ValueType> {
        if !self.are_most(slots, |slot| self.paths.types.contains_key(slot)) {
            return None;
        }
        let told = slots.iter().filter_map(|slot| self.paths.types.get(slot));
        told.max_by_key(|value_type| matches!(value_type.item, ItemType::Node { .. }))
            .cloned()
    }

    /// The type of names of files, with what ends they all have.
    fn file(&self, slots: &[SlotRef]) -> Option<ValueType> {
        if !self.are_most(slots, |slot| self.files.types.contains_key(slot)) {
            return None;
        }
        let mut told = slots
            .iter()
            .filter_map(|slot| self.files.types.get(slot))
            .cloned();
        let mut file = told.next()?;
        for other in told {
            if let (ItemType::File { extensions }, ItemType::File { extensions: more }) =
                (&mut file.item, other.item)
            {
                let all: BTreeSet<&String> = match extensions.is_empty() || more.is_empty() {
                    true => BTreeSet::new(),
                    false => extensions.iter().chain(more.iter()).collect(),
                };
                *extensions = all.into_iter().cloned().collect();
            }
        }
        Some(file)
    }
}
