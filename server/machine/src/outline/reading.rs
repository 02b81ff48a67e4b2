//! An outline in the making.

use super::{Entry, Inside, Outline, PORTIONS_AT_ONCE, Said, chain, earlier::Earlier, same::Same};
use crate::{
    attributes::Attributes,
    channel,
    conformity::{Conformity, Inspection},
    document::{Chain, Located, Reader, walk_from},
    facts::{Facts, LooseChannel, Ranges, Sorts},
    found::is_text,
    here::Here,
    kept::Kept,
    model::Channel,
    names,
    parallel::in_parallel_with,
    reach::Reach,
    read::Roles,
};
use dialect::Property;
use std::sync::Arc;
use syntax::{Element, Portion, TextRange};

/// An entry for each portion of a document. `before`: see [`Outline::read`]; empty if there is none. None if a portion
/// says something that is written in the tag of a long element around it: how far away that is, no portion knows.
pub(super) fn entries(
    reader: Reader<'_>,
    reach: Reach,
    portions: Vec<Portion>,
    before: &Outline,
) -> Option<Vec<Entry>> {
    let mut reading = Reading {
        roles: Roles::of(reader.dialect),
        reader,
        reach,
        entries: Vec::with_capacity(portions.len()),
    };
    let same = Same::of(&portions, before);
    let new = reading.place(portions, before, &same);
    reading.facts(&new, before)?;
    reading.label(&new);
    Some(reading.entries)
}

/// What is made so far.
struct Reading<'t> {
    reader: Reader<'t>,
    reach: Reach,
    roles: Roles<'t>,
    entries: Vec<Entry>,
}

/// An entry of which not all is known from before.
#[derive(Debug)]
struct New {
    at: usize,
    /// The place of the entry before whose label it keeps: its portion is the same but for the content of a long
    /// element, and stands in the same surroundings.
    before: Option<usize>,
    /// If not: an entry before with which it may have items in common.
    like: Option<usize>,
}

impl Reading<'_> {
    /// Makes an entry of each portion, with what is around it. All that is said in the same words in the same
    /// surroundings is taken over; gives back the other entries.
    fn place(&mut self, portions: Vec<Portion>, before: &Outline, same: &Same) -> Vec<New> {
        let mut earlier = Earlier::of(before, same);
        let mut new = Vec::new();
        let unread = Arc::new(Facts::default());
        for (at, portion) in portions.into_iter().enumerate() {
            let holder = portion.holder.and_then(|at| self.entries.get(at));
            let around = holder.and_then(|holder| holder.inside.as_ref());
            // Nearly all.
            if let Some(was) = earlier.unchanged(at, &portion, around) {
                let said = was.said.clone();
                self.entries.push(Entry { portion, said });
                continue;
            }
            let is_tag = portion.element().is_some();
            let inside = is_tag.then(|| earlier.shared(self.inside(&portion, around.cloned())));
            let old = earlier.counterpart(at, &portion, around, inside.as_ref());
            let entry = old.map(|old| &before.entries[old]);
            let said = entry.filter(|entry| entry.portion.identity == portion.identity);
            if said.is_none() {
                let like = match old {
                    None if !is_tag => earlier.like(at, around),
                    _ => None,
                };
                new.push(New {
                    at,
                    before: old,
                    like,
                });
            }
            let said = Arc::new(Said {
                facts: said.map_or(&unread, |said| &said.facts).clone(),
                around: around.cloned(),
                inside,
                label: entry.map_or(0, |entry| entry.label),
                sorts: said.map_or_else(Sorts::default, |said| said.sorts),
                conformity: said.map_or_else(Conformity::default, |said| said.conformity),
            });
            self.entries.push(Entry { portion, said });
        }
        new
    }

    /// What it means to stand in the long element whose tag a portion is.
    fn inside(&self, portion: &Portion, around: Option<Arc<Inside>>) -> Inside {
        let element = portion.element();
        let located = element.and_then(|element| {
            let root = self.reader.root()?;
            match portion.holder {
                None if element == root.element => Some(vec![root]),
                None => None,
                Some(_) => {
                    let mut chain = chain(&self.entries, portion.holder)?;
                    let located = self.reader.locate(&chain, chain.last()?, element)?;
                    chain.push(located);
                    Some(chain)
                }
            }
        });
        let is_animation = located
            .as_ref()
            .is_some_and(|chain| self.is_animation(chain));
        let moved = around.as_ref().and_then(|around| around.property);
        let moved = located.as_ref().map_or(moved, |chain| {
            let mut animations = self.animations_around(portion.holder, chain.len() - 1);
            if is_animation {
                animations.push(Around::outside(chain.len()));
            }
            self.property(chain, &animations).or(moved)
        });
        let namespaces = element.into_iter().flat_map(|element| element.attributes());
        Inside {
            name: element
                .map_or("", |element| element.local_name())
                .to_owned(),
            located: located
                .and_then(|chain| chain.last().map(|at| (at.context, at.default_is_ours()))),
            namespaces: namespaces
                .filter(|attribute| attribute.name().starts_with("xmlns"))
                .map(|attribute| (attribute.name().to_owned(), attribute.value().into_owned()))
                .collect(),
            tag: (self.reach == Reach::Ancestors)
                .then(|| element.map(|element| element.start_tag_text()))
                .flatten(),
            is_animation,
            property: moved,
            around,
        }
    }

    fn is_animation(&self, chain: &Chain<'_>) -> bool {
        let roles = &self.reader.dialect.roles.animations;
        roles
            .iter()
            .any(|role| self.reader.leads_to(&role.at, 0, chain, None))
    }

    /// The animations that a holder is in, or is itself; it has `depth - 1` elements around it.
    fn animations_around(&self, holder: Option<usize>, depth: usize) -> Vec<Around> {
        let mut animations = Vec::new();
        let mut holder = holder.map(|holder| &self.entries[holder]);
        for depth in (1..=depth).rev() {
            let Some(around) = holder else { break };
            if around
                .inside
                .as_ref()
                .is_some_and(|inside| inside.is_animation)
            {
                animations.push(Around::outside(depth));
            }
            holder = around.portion.holder.map(|holder| &self.entries[holder]);
        }
        animations.reverse();
        animations
    }

    /// What an element moves as a channel, if that is one thing.
    fn property(&self, chain: &Chain<'_>, animations: &[Around]) -> Option<Property> {
        let mut attributes = Attributes::default();
        let here = self.reader.here(chain, &mut attributes)?;
        let channels = self.channels(here, animations);
        let mut properties = channels.map(|(_, channel)| channel.property());
        let first = properties.next()??;
        properties
            .all(|other| other == Some(first))
            .then_some(first)
    }

    /// The channels that an element is, each with the innermost animation it belongs to.
    fn channels<'s>(
        &'s self,
        here: Here<'s, '_>,
        animations: &'s [Around],
    ) -> impl Iterator<Item = (&'s Around, Channel)> {
        let roles = self.reader.dialect.roles.channels.iter();
        roles.filter_map(move |role| {
            let leads = |around: &&Around| here.is_at(&role.at, around.depth);
            let around = animations.iter().rev().find(leads)?;
            Some((around, channel::channel(here, role)))
        })
    }

    /// Reads the new entries. None: see [`entries`].
    fn facts(&mut self, new: &[New], before: &Outline) -> Option<()> {
        let read = in_parallel_with(new.len(), PORTIONS_AT_ONCE, Room::default, |room, nth| {
            self.read(&new[nth], before, room)
        });
        for (new, facts) in new.iter().zip(read) {
            let (facts, conformity) = facts?;
            let said = Arc::make_mut(&mut self.entries[new.at].said);
            said.sorts = facts.sorts();
            said.conformity = conformity;
            let old = new.before.map(|old| &before.entries[old]);
            let same = old.filter(|old| old.facts == facts);
            said.facts = same.map_or(facts, |old| old.facts.clone());
            // The tag of a long element mostly says what it said before something changed in the element.
            if let Some(old) = same.filter(|old| old.says(said)) {
                self.entries[new.at].said = old.said.clone();
            }
        }
        Some(())
    }

    /// Gives entries that have none labels between those of their neighbours.
    fn label(&mut self, new: &[New]) {
        let unlabelled: Vec<usize> = new
            .iter()
            .filter(|new| new.before.is_none())
            .map(|new| new.at)
            .collect();
        for run in unlabelled.chunk_by(|one, next| one + 1 == *next) {
            let (start, end) = (run[0], run[0] + run.len());
            let label = |entry: Option<&Entry>| entry.map(|entry| entry.label);
            let last = label(start.checked_sub(1).and_then(|at| self.entries.get(at))).unwrap_or(0);
            let next = label(self.entries.get(end)).unwrap_or(u64::MAX);
            let step = (next - last) / (run.len() as u64 + 1);
            if step == 0 {
                return self.label_afresh();
            }
            for (nth, entry) in (1..).zip(&mut self.entries[start..end]) {
                Arc::make_mut(&mut entry.said).label = last + step * nth;
            }
        }
    }

    /// There is no room left between two labels.
    fn label_afresh(&mut self) {
        let step = u64::MAX / (self.entries.len() as u64 + 1);
        for (nth, entry) in self.entries.iter_mut().enumerate() {
            Arc::make_mut(&mut entry.said).label = step * (nth as u64 + 1);
        }
    }

    /// What the portion of an entry says, and whether it conforms to the grammar. None: see [`entries`].
    fn read<'s>(
        &'s self,
        new: &New,
        before: &Outline,
        room: &mut Room<'s>,
    ) -> Option<(Arc<Facts>, Conformity)> {
        let entry = &self.entries[new.at];
        let Some(chain) = chain(&self.entries, entry.portion.holder) else {
            return Some((Arc::default(), Conformity::Doubtful));
        };
        let like = new.like.map(|old| &before.entries[old]);
        let like = like.map(|old| (Kept::of(&entry.portion, &old.portion), old));
        let holder = chain.last();
        room.inspection.begin(
            chain.len(),
            holder.and_then(|holder| self.reader.dialect.element(holder.context)),
            entry.around.as_ref().and_then(|around| around.property),
        );
        let conformity = match entry.portion.element() {
            Some(element) => {
                self.read_tag(entry, element, chain, room);
                Conformity::Doubtful
            }
            None => self.read_items(entry, like.as_ref(), chain, room),
        };
        let mut facts = room.facts.take();
        if self.reach == Reach::Ancestors
            && facts.start().is_some_and(|start| start < entry.start())
        {
            return None;
        }
        // How long the element is says nothing about it, and must not make its facts new.
        if let Some(element) = entry.portion.element() {
            replace(&mut facts, element.range(), entry.portion.range);
        }
        let facts = facts.moved_back(entry.start());
        let facts = match like {
            Some((kept, old)) => kept.facts(facts, &old.facts),
            None => facts,
        };
        Some((Arc::new(facts), conformity))
    }

    /// Reads the tag of a long element. `chain`: down to what holds it.
    fn read_tag<'s>(
        &'s self,
        entry: &'s Entry,
        element: Element<'s>,
        mut chain: Chain<'s>,
        room: &mut Room<'s>,
    ) {
        let located = entry.inside.as_ref().and_then(|inside| inside.located);
        let Some((context, default_is_ours)) = located else {
            return;
        };
        let mut animations = self.animations_around(entry.portion.holder, chain.len());
        chain.push(Located::new(element, context, default_is_ours));
        // To see whether there is text between all its children would take as long as they are.
        room.inspection.skip();
        if let Some(here) = self.reader.here(&chain, &mut room.attributes) {
            self.visit(here, &mut animations, &mut room.facts, &mut room.inspection);
        }
    }

    /// Reads items, and says whether they conform to the grammar. `like`: an entry that has some of them, which need
    /// not be read again. `chain`: down to what holds them.
    fn read_items<'s>(
        &'s self,
        entry: &'s Entry,
        like: Option<&(Kept, &Entry)>,
        chain: Chain<'s>,
        room: &mut Room<'s>,
    ) -> Conformity {
        let between = like.map(|(kept, _)| kept.between() + entry.start());
        let range = between.unwrap_or(entry.portion.range);
        let items = entry.portion.items();
        let items = items.filter(|item| range.contains_range(item.range()));
        let (mut count, mut has_text) = (0, false);
        let elements = items.filter_map(|item| {
            has_text |= is_text(&item);
            let element = item.into_element()?;
            count += 1;
            Some(element)
        });
        let mut animations = self.animations_around(entry.portion.holder, chain.len());
        let Room {
            attributes,
            facts,
            inspection,
        } = room;
        walk_from(&self.reader, chain, elements, attributes, |here| {
            self.visit(here, &mut animations, facts, inspection);
        });
        let done = inspection.done(count, has_text);
        // Which element is the root may change without anything new in this portion.
        let root = self.reader.root();
        let has_root = |root: Located<'_>| range.contains_range(root.element.range());
        if entry.around.is_none() && !root.is_some_and(has_root) {
            return Conformity::Doubtful;
        }
        like.map_or(done, |(_, old)| done.min(old.conformity))
    }

    /// Notes what one element says. `animations`: those around it that are open, the outermost first.
    fn visit<'s>(
        &'s self,
        here: Here<'_, 's>,
        animations: &mut Vec<Around>,
        facts: &mut Facts,
        inspection: &mut Inspection<'s>,
    ) {
        let depth = here.chain.len();
        animations.retain(|around| around.depth < depth);
        names::collect(here, facts);
        let own = facts.animations.len();
        for role in self.roles.of_elements(here.at.name()) {
            if here.is_at(role.at(), 0) {
                role.read(here, facts);
            }
        }
        animations.extend((own..facts.animations.len()).map(|here| Around {
            depth,
            here: Some(here),
        }));
        for (around, channel) in self.channels(here, animations) {
            inspection.moves(channel.property());
            match around.here {
                Some(here) => facts.animations[here].channels.push(channel),
                None => facts.loose.push(LooseChannel {
                    depth: around.depth,
                    channel,
                }),
            }
        }
        inspection.element(here);
    }
}

/// What a thread reads in, from portion to portion.
#[derive(Default)]
struct Room<'t> {
    attributes: Attributes<'t>,
    /// Empty between portions.
    facts: Facts,
    inspection: Inspection<'t>,
}

/// An animation around an element.
struct Around {
    /// How many elements there are from the root to it, both included.
    depth: usize,
    /// Its place among the animations of the portion, if it is in there.
    here: Option<usize>,
}

impl Around {
    fn outside(depth: usize) -> Self {
        Self { depth, here: None }
    }
}

fn replace(facts: &mut Facts, old: TextRange, new: TextRange) {
    facts.each_range(&mut |range| {
        if *range == old {
            *range = new;
        }
    });
}
