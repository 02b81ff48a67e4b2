//! Single questions to an outline, answered without putting the machine together.
//!
//! What is asked for by its place is looked for in the portions around the place; what is asked for by its name, in all
//! of them, but nothing is copied on the way. The answers are those that the [`Machine`](crate::Machine) would give.

use crate::{
    facts::{Facts, Ranges, Sort},
    model::{
        Alias, Animation, Channel, Control, Definition, FileUse, NodeRef, NodeTarget, Sound,
        Spanned, Use, Wheel,
    },
    outline::{Entry, Outline},
};
use dialect::{Kind, NodePath};
use std::sync::Arc;
use syntax::{TextRange, TextSize};

/// A name with what it names, without what it is: a large document has many.
#[derive(Debug)]
pub struct Named {
    pub name: TextRange,
    pub element: TextRange,
    /// That of the role that the element plays.
    rank: u8,
}

impl Named {
    fn new(name: TextRange, element: TextRange) -> Self {
        Self {
            name,
            element,
            rank: u8::MAX,
        }
    }
}

impl Entry {
    /// Something that the entry's facts say, with its ranges in the document.
    pub fn placed<T: Clone + Ranges>(&self, said: &T) -> T {
        let mut said = said.clone();
        if let Some(element) = self.portion.element() {
            // Of a long element, the facts know only the tag.
            let tag = TextRange::up_to(self.portion.range.len());
            let full = TextRange::up_to(element.range().len());
            said.each_range(&mut |range| {
                if *range == tag {
                    *range = full;
                }
            });
        }
        said.moved_on(self.start())
    }

    /// All channels that the entry says, loose ones and those of animations in it; ranges as in its facts.
    pub fn channels(&self) -> impl Iterator<Item = &Channel> {
        let loose = self.facts.loose.iter().map(|loose| &loose.channel);
        let animations = self.facts.animations.iter();
        loose.chain(animations.flat_map(|animation| &animation.channels))
    }
}

/// An animation where it is said.
#[derive(Debug)]
pub struct Animated<'o> {
    /// The entry that says `head`.
    pub entry: &'o Entry,
    /// Without the channels that other entries say; ranges as in the entry's facts.
    pub head: &'o Animation,
    /// All of its channels, each with the entry that says it; ranges as in that entry's facts.
    pub channels: Vec<(&'o Entry, &'o Channel)>,
}

impl Animated<'_> {
    /// All of it, with ranges in the document.
    pub fn whole(&self) -> Animation {
        let channels = self.channels.iter();
        Animation {
            channels: channels
                .map(|(entry, channel)| entry.placed(*channel))
                .collect(),
            name: self.entry.placed(&self.head.name),
            duration: self.entry.placed(&self.head.duration),
            element: self.entry.placed(&self.head.element),
        }
    }
}

impl Outline {
    /// All facts of a sort in the order of the document, each with the entry that says it.
    pub fn all<'o, T: 'o>(
        &'o self,
        of: impl Fn(&'o Facts) -> &'o [T],
    ) -> impl Iterator<Item = (&'o Entry, &'o T)> {
        let entries = self.entries().iter();
        entries.flat_map(move |entry| of(&entry.facts).iter().map(move |said| (entry, said)))
    }

    /// All node paths in the order of the document.
    pub fn node_paths(&self) -> impl Iterator<Item = &NodePath> {
        let uses = self.all(|facts| &facts.uses);
        uses.filter_map(|(_, used)| used.path())
    }

    /// The entries that say something about what is within a range or touches it, in the order of the document: those
    /// in it, and the tags of the long elements around them.
    pub fn near(&self, range: TextRange) -> impl Iterator<Item = &Entry> {
        let entries = self.entries();
        let after_start = entries.partition_point(|entry| entry.start() <= range.start());
        let first = after_start.saturating_sub(1);
        let end = entries.partition_point(|entry| entry.start() <= range.end());
        let mut around = Vec::new();
        let mut holder = entries.get(first).and_then(|entry| entry.portion.holder);
        while let Some(at) = holder {
            around.push(at);
            holder = entries[at].portion.holder;
        }
        // The one before may end where the range starts.
        let before = first.checked_sub(1);
        let before = before.filter(|before| !around.contains(before));
        around
            .into_iter()
            .rev()
            .chain(before)
            .chain(first..end)
            .map(|at| &entries[at])
    }

    fn find_near<'o, T: Clone + Ranges + 'o>(
        &'o self,
        at: TextSize,
        of: impl Fn(&'o Facts) -> &'o [T],
        range: impl Fn(&T) -> TextRange,
        is_it: impl Fn(TextRange) -> bool,
    ) -> Option<T> {
        self.near(TextRange::empty(at)).find_map(|entry| {
            let mut said = of(&entry.facts).iter();
            let said = said.find(|said| is_it(entry.placed(&range(said))))?;
            Some(entry.placed(said))
        })
    }

    /// The use at an offset. Its end counts.
    pub fn use_at(&self, offset: TextSize) -> Option<Use> {
        let is_at = |range: TextRange| range.contains_inclusive(offset);
        self.find_near(offset, |facts| &facts.uses, |used| used.range, is_at)
    }

    /// The file that is named at an offset. The end of its name counts.
    pub fn file_at(&self, offset: TextSize) -> Option<FileUse> {
        let is_at = |range: TextRange| range.contains_inclusive(offset);
        self.find_near(offset, |facts| &facts.files, |file| file.name.range, is_at)
    }

    /// The definition whose name stands at an offset. Its end counts.
    pub fn definition_at(&self, offset: TextSize) -> Option<Definition> {
        let is_at = |range: TextRange| range.contains_inclusive(offset);
        let names = |given: &Definition| given.name.range;
        let given = self.find_near(offset, |facts| &facts.definitions, names, is_at)?;
        self.of_what_play_roles(vec![given]).pop()
    }

    /// What gives a name within a range.
    pub fn definitions_in(&self, range: TextRange) -> Vec<Definition> {
        let near = self.near(range).flat_map(|entry| {
            let given = entry.facts.definitions.iter();
            given.map(move |given| (entry, given))
        });
        let inside =
            near.filter(|(entry, given)| range.contains_range(given.name.range + entry.start()));
        self.of_what_play_roles(inside.map(|(entry, given)| entry.placed(given)).collect())
    }

    /// What gives a name, in the order of the document.
    pub fn definitions_called(&self, name: &str) -> Vec<Definition> {
        let all = self.all(|facts| &facts.definitions);
        let named = all.filter(|(_, given)| *given.name.value == *name);
        self.of_what_play_roles(named.map(|(entry, given)| entry.placed(given)).collect())
    }

    /// What gives this name to something of one of these kinds, the first one first.
    pub fn definition(&self, kinds: &[Kind], name: &str) -> Option<Definition> {
        let mut all = self.all(|facts| &facts.definitions);
        let (entry, given) =
            all.find(|(_, given)| *given.name.value == *name && kinds.contains(&given.kind))?;
        self.of_what_play_roles(vec![entry.placed(given)]).pop()
    }

    /// All names that are given, in the order of the document, each with what it names.
    pub fn named(&self) -> Vec<Named> {
        let count = self
            .entries()
            .iter()
            .map(|entry| entry.facts.definitions.len());
        let mut all = Vec::with_capacity(count.sum());
        for entry in self.entries() {
            let given = entry.facts.definitions.iter();
            all.extend(given.map(|given| {
                Named::new(
                    entry.placed(&given.name.range),
                    entry.placed(&given.element),
                )
            }));
        }
        all.sort_unstable_by_key(|named| named.name.start());
        self.find_what_plays_roles(&mut all);
        all
    }

    fn of_what_play_roles(&self, mut given: Vec<Definition>) -> Vec<Definition> {
        given.sort_by_key(|given| given.name.range.start());
        let named = given.iter();
        let named = named.map(|given| Named::new(given.name.range, given.element));
        let mut named: Vec<Named> = named.collect();
        self.find_what_plays_roles(&mut named);
        for (given, named) in given.iter_mut().zip(named) {
            given.element = named.element;
        }
        given
    }

    /// A name may stand in a child element; what it names is the element that plays the role: the same role's last, and
    /// animations before sounds before wheels before aliases. `named`: by where the names start.
    fn find_what_plays_roles(&self, named: &mut [Named]) {
        for entry in self.entries() {
            let mut look = |rank: u8, name: &Option<Spanned<Arc<str>>>, element: TextRange| {
                let Some(start) = name.as_ref().map(|name| name.range.start() + entry.start())
                else {
                    return;
                };
                let first = named.partition_point(|named| named.name.start() < start);
                let here = named[first..].iter_mut();
                for named in here.take_while(|named| named.name.start() == start) {
                    if rank <= named.rank {
                        (named.rank, named.element) = (rank, entry.placed(&element));
                    }
                }
            };
            let facts = &entry.facts;
            for animation in &facts.animations {
                look(0, &animation.name, animation.element);
            }
            for sound in &facts.sounds {
                look(1, &sound.name, sound.element);
            }
            for wheel in &facts.wheels {
                look(2, &wheel.name, wheel.element);
            }
            for alias in &facts.aliases {
                look(3, &alias.name, alias.element);
            }
        }
    }

    /// The alias that a definition names.
    pub fn alias(&self, named: &Definition) -> Option<Alias> {
        let mut all = self.all(|facts| &facts.aliases);
        let (entry, alias) = all.find(|(entry, alias)| {
            let name = alias.name.as_ref();
            name.is_some_and(|name| entry.placed(&name.range) == named.name.range)
        })?;
        Some(entry.placed(alias))
    }

    /// The node path that a node is asked for by: its own, or its alias's.
    pub fn path_of(&self, node: &NodeRef) -> Option<NodePath> {
        match &node.target {
            NodeTarget::Path(path) => Some(path.clone()),
            NodeTarget::Name { kinds, or_node } => {
                self.named_path(kinds, &node.text, or_node.as_deref())
            }
            NodeTarget::Unreadable => None,
        }
    }

    /// The node path that a name of one of these kinds stands for: its alias's; `or_node` where nothing has the name.
    pub fn named_path(
        &self,
        kinds: &[Kind],
        name: &str,
        or_node: Option<&NodePath>,
    ) -> Option<NodePath> {
        let Some(given) = self.definition(kinds, name) else {
            return or_node.cloned();
        };
        match self.alias(&given)?.path?.target {
            NodeTarget::Path(path) => Some(path),
            _ => None,
        }
    }

    /// Whether the element with this very range plays a role.
    pub fn plays_a_role(&self, element: TextRange) -> bool {
        let mut near = self.near(TextRange::empty(element.start()));
        near.any(|entry| {
            let facts = &entry.facts;
            let aliases = facts.aliases.iter().map(|part| part.element);
            let wheels = facts.wheels.iter().map(|part| part.element);
            let sounds = facts.sounds.iter().map(|part| part.element);
            let animations = facts.animations.iter().map(|part| part.element);
            let channels = entry.channels().map(|part| part.element);
            let controls = facts.controls.iter().map(|part| part.element);
            let named = aliases.chain(wheels).chain(sounds).chain(animations);
            let mut all = named.chain(channels).chain(controls);
            all.any(|own| entry.placed(&own) == element)
        })
    }

    /// The sound whose element has this very range.
    pub fn sound(&self, element: TextRange) -> Option<Sound> {
        let is_it = |range| range == element;
        let own = |sound: &Sound| sound.element;
        self.find_near(element.start(), |facts| &facts.sounds, own, is_it)
    }

    /// The control whose element has this very range.
    pub fn control(&self, element: TextRange) -> Option<Control> {
        let is_it = |range| range == element;
        let own = |control: &Control| control.element;
        self.find_near(element.start(), |facts| &facts.controls, own, is_it)
    }

    /// The wheel whose element has this very range, with its position among the wheels.
    pub fn wheel(&self, element: TextRange) -> Option<(usize, Wheel)> {
        let is_it = |range| range == element;
        let own = |wheel: &Wheel| wheel.element;
        let wheel = self.find_near(element.start(), |facts| &facts.wheels, own, is_it)?;
        let mut all = self.all(|facts| &facts.wheels);
        let at = all.position(|(entry, wheel)| entry.placed(&wheel.element) == element)?;
        Some((at, wheel))
    }

    /// The channel whose element has this very range.
    pub fn channel(&self, element: TextRange) -> Option<Channel> {
        self.channels_near(element.start())
            .find(|(range, _, _)| *range == element)
            .map(|(_, entry, channel)| entry.placed(channel))
    }

    /// The innermost channel that has all of a range in it.
    pub fn channel_around(&self, within: TextRange) -> Option<Channel> {
        self.channels_near(within.start())
            .filter(|(range, _, _)| range.contains_range(within))
            .max_by_key(|(range, _, _)| range.start())
            .map(|(_, entry, channel)| entry.placed(channel))
    }

    fn channels_near(&self, at: TextSize) -> impl Iterator<Item = (TextRange, &Entry, &Channel)> {
        let near = self.near(TextRange::empty(at));
        near.flat_map(|entry| {
            let channels = entry.channels();
            channels.map(move |channel| (entry.placed(&channel.element), entry, channel))
        })
    }

    /// The animations in the order of the document, each with its channels.
    pub fn animations(&self) -> Vec<Animated<'_>> {
        let mut animations: Vec<Animated<'_>> = Vec::new();
        // The entries that are the tags of animations, with the first animation of each.
        let mut tags: Vec<(usize, usize)> = Vec::new();
        for (at, entry) in self.entries().iter().enumerate() {
            if entry.portion.element().is_some() && entry.sorts.has(Sort::Animations) {
                tags.push((at, animations.len()));
            }
            animations.extend(entry.facts.animations.iter().map(|head| Animated {
                entry,
                head,
                channels: head.channels.iter().map(|one| (entry, one)).collect(),
            }));
            // Mostly all of an entry belong to the same.
            let loose = &entry.facts.loose;
            for of_one in loose.chunk_by(|one, next| one.depth == next.depth) {
                let holder = of_one.first().map(|one| self.animation_around(at, one));
                let holder = holder.flatten();
                let tag = holder
                    .and_then(|holder| tags.binary_search_by_key(&holder, |(tag, _)| *tag).ok());
                if let Some(tag) = tag {
                    let channels = of_one.iter().map(|loose| (entry, &loose.channel));
                    animations[tags[tag].1].channels.extend(channels);
                }
            }
        }
        animations
    }

    /// The animation whose element has this very range.
    pub fn animation(&self, element: TextRange) -> Option<Animation> {
        let is_it = |range| range == element;
        let own = |animation: &Animation| animation.element;
        self.find_near(element.start(), |facts| &facts.animations, own, is_it)?;
        let animations = self.animations();
        let mut animations = animations.iter();
        let found = animations.find(|one| one.entry.placed(&one.head.element) == element)?;
        Some(found.whole())
    }
}
