//! All that a document says, put together from its portions.

use crate::{
    facts::{Ranges, Sort},
    lookup::Animated,
    model::{Counted, Machine, Spanned},
    outline::{Entry, Outline},
};
use dialect::{Dialect, DocumentKind, Kind};
use foldhash::HashMap;
use std::collections::BTreeSet;
use std::sync::Arc;
use syntax::Tree;

/// Reads what a document of this kind says.
pub fn read(tree: &Tree, dialect: &Dialect, kind: &DocumentKind) -> Machine {
    Outline::read(tree, dialect, kind, None).machine(dialect, kind)
}

impl Outline {
    /// The scene that the document names.
    pub fn scene(&self) -> Option<Spanned<Arc<str>>> {
        let named = self.saying(Sort::Scenes).flat_map(|(_, entry)| {
            let scenes = entry.facts.scenes.iter();
            scenes.map(|(rank, scene)| (*rank, scene, entry.start()))
        });
        let (_, scene, start) = named.min_by_key(|(rank, ..)| *rank)?;
        Some(scene.clone().moved_on(start))
    }

    /// All that the portions say, with ranges in the document. Takes time in proportion to the document.
    pub fn machine(&self, dialect: &Dialect, kind: &DocumentKind) -> Machine {
        let mut machine = Machine {
            document: kind.name.clone(),
            is_manifest: kind.is_manifest,
            ..Machine::default()
        };
        for entry in self.entries() {
            let facts = &entry.facts;
            add(&mut machine.definitions, &facts.definitions, entry);
            add(&mut machine.uses, &facts.uses, entry);
            add(&mut machine.files, &facts.files, entry);
            add(&mut machine.aliases, &facts.aliases, entry);
            add(&mut machine.wheels, &facts.wheels, entry);
            add(&mut machine.sounds, &facts.sounds, entry);
            add(&mut machine.controls, &facts.controls, entry);
            add(&mut machine.listings, &facts.listings, entry);
            add(&mut machine.wordings, &facts.wordings, entry);
        }
        machine.animations = self.animations().iter().map(Animated::whole).collect();
        machine.scene = self.scene();
        name_what_plays_a_role(&mut machine);
        count(&mut machine, dialect);
        machine
    }
}

fn add<T: Clone + Ranges>(all: &mut Vec<T>, new: &[T], entry: &Entry) {
    all.extend(new.iter().map(|one| entry.placed(one)));
}

/// A name may stand in a child element; what it names is the element that plays the role.
fn name_what_plays_a_role(machine: &mut Machine) {
    let aliases = machine
        .aliases
        .iter()
        .map(|part| (&part.name, part.element));
    let wheels = machine.wheels.iter().map(|part| (&part.name, part.element));
    let sounds = machine.sounds.iter().map(|part| (&part.name, part.element));
    let animations = machine
        .animations
        .iter()
        .map(|part| (&part.name, part.element));
    let named: HashMap<_, _> = aliases
        .chain(wheels)
        .chain(sounds)
        .chain(animations)
        .filter_map(|(name, element)| Some((name.as_ref()?.range.start(), element)))
        .collect();
    for definition in &mut machine.definitions {
        if let Some(element) = named.get(&definition.name.range.start()) {
            definition.element = *element;
        }
    }
}

/// Notes what positions count: all that plays a role, named or not, and whatever else has a name.
fn count(machine: &mut Machine, dialect: &Dialect) {
    let roles = &dialect.roles;
    let kinds = |kinds: Vec<&Kind>| kinds.into_iter().cloned().collect::<BTreeSet<Kind>>();
    let groups = [
        (
            kinds(roles.aliases.iter().map(|role| &role.kind).collect()),
            machine
                .aliases
                .iter()
                .map(|part| part.element)
                .collect::<Vec<_>>(),
        ),
        (
            kinds(roles.wheels.iter().map(|role| &role.kind).collect()),
            machine.wheels.iter().map(|part| part.element).collect(),
        ),
        (
            kinds(roles.sounds.iter().map(|role| &role.kind).collect()),
            machine.sounds.iter().map(|part| part.element).collect(),
        ),
        (
            kinds(roles.animations.iter().map(|role| &role.kind).collect()),
            machine.animations.iter().map(|part| part.element).collect(),
        ),
    ];
    let named = machine.definitions.iter().map(|definition| Counted {
        kind: definition.kind,
        element: definition.element,
    });
    let mut counted: Vec<Counted> = named
        .filter(|thing| !groups.iter().any(|(kinds, _)| kinds.contains(&thing.kind)))
        .collect();
    for (kinds, elements) in groups {
        for kind in kinds {
            counted.extend(elements.iter().map(|element| Counted {
                kind,
                element: *element,
            }));
        }
    }
    counted.sort_by_key(|thing| thing.element.start());
    machine.counted = counted;
}
