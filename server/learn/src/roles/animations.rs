//! Animations: what holds channels, and how long they take.

use super::channels::{Channel, Window};
use super::columns::{Column, most};
use super::controls::Thing;
use super::ground::{Ground, Nodes};
use super::proposal::{Proposal, word};
use super::records::{Field, Record, Records};
use super::things::path_of;
use crate::contexts::ContextId;
use crate::names::{Member, SlotRef};
use dialect::{Bounds, ItemType, Kind, ValueType};
use foldhash::HashMap;
use std::collections::BTreeSet;

/// Elements that hold channels.
#[derive(Debug)]
pub(super) struct Animation {
    pub(super) context: ContextId,
    /// The kind of their names, and where these stand.
    pub(super) named: Option<(String, String)>,
    pub(super) proposal: Proposal,
    pub(super) thing: Thing,
}

/// The animation that a channel belongs to: the nearest element around it that has a name which others ask
/// for, else any name, else the element right around it.
pub(super) fn holder(
    ground: &Ground<'_>,
    records: &Records,
    channel: &Channel,
) -> Option<ContextId> {
    let contexts = &ground.survey.groups[records.group].contexts;
    let around: Vec<ContextId> = contexts.chain(Some(channel.context)).collect();
    let kind = |context: &ContextId| {
        let record = records.get(*context);
        let mut fields = record
            .fields
            .iter()
            .filter(|field| field.down <= 1 && !field.several);
        fields.find_map(|field| {
            ground
                .gives(field.slot)
                .filter(|_| record.share(field) >= 0.8)
        })
    };
    let is_root = |context: &&ContextId| contexts.parent(**context).is_none();
    let is_asked = |context: &&ContextId| {
        let mut references = ground.names.references.iter();
        kind(context)
            .is_some_and(|kind| references.any(|one| ground.asks(one.slot, kind).is_some()))
            || ground
                .names
                .references
                .iter()
                .any(|one| ground.counts(one.slot, **context).is_some())
    };
    let inner = || around.iter().filter(|context| !is_root(context));
    inner()
        .find(is_asked)
        .or_else(|| inner().skip(1).find(|context| kind(context).is_some()))
        .or_else(|| inner().nth(1))
        .copied()
}

/// How channels that stand elsewhere say which animation they belong to.
#[derive(Clone, Debug)]
pub(super) struct Beside {
    /// Where the name stands.
    pub(super) field: Field,
    pub(super) kind: String,
    /// The animation's element, and the slot of its name.
    pub(super) context: ContextId,
    name: SlotRef,
}

/// The animation that a channel names: something with a name that other elements than channels ask for as well, and that
/// the channel does not stand in.
pub(super) fn beside(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    channel: &Channel,
) -> Option<Beside> {
    let group = &ground.survey.groups[records.group];
    let around: Vec<ContextId> = group.contexts.chain(Some(channel.context)).collect();
    let record = records.get(channel.context);
    let fields = channel.fields.iter().filter(|field| {
        !field.several
            && field.slot != channel.node.slot
            && !field.path.starts_with("..")
            && record.share(field) >= 0.9
    });
    let found = fields.filter_map(|field| {
        let reference = ground.reference(field.slot)?;
        let kind = &ground.names.kinds[*reference.to.first()?];
        let is_plain = ground.asks(field.slot, &kind.kind).is_some()
            && reference.form.separator.is_none()
            && matches!(reference.form.member, Member::Name { .. });
        let name = *kind.defined_by.first()?;
        if !is_plain || name.group != records.group || nodes.aliases.contains(&kind.kind) {
            return None;
        }
        let slot = &group.slots[name.slot];
        let context = match slot.attribute {
            Some(_) => slot.context,
            None => group.contexts.parent(slot.context)?,
        };
        // Recordings have names and files, and what stands at a node is no animation.
        let mut own = records.get(context).fields.iter();
        let is_thing = own.any(|own| {
            own.down <= 1 && (ground.is_file(own.slot) || ground.path_item(own.slot).is_some())
        });
        let mut others = ground.names.references.iter();
        let is_asked = others
            .any(|other| other.slot != field.slot && ground.asks(other.slot, &kind.kind).is_some());
        let fits = !is_thing && is_asked && !around.contains(&context);
        fits.then(|| Beside {
            field: field.clone(),
            kind: kind.kind.clone(),
            context,
            name,
        })
    });
    // The one that gathers most channels.
    found.min_by_key(|found| records.get(found.context).rows.len())
}

impl Beside {
    /// Per row of a channel, the row of its animation.
    fn holders(&self, ground: &Ground<'_>, records: &Records, record: &Record) -> Vec<Option<u32>> {
        let animations = records.get(self.context);
        let name = animations
            .fields
            .iter()
            .find(|field| field.slot == self.name);
        let mut known: HashMap<(u32, &str), u32> = HashMap::default();
        for (row, value) in name.into_iter().flat_map(|name| &name.values) {
            let document = animations.rows[*row as usize].0;
            known.entry((document, ground.text(*value))).or_insert(*row);
        }
        let values = self.field.by_row(record.rows.len()).into_iter();
        let rows = values.zip(&record.rows);
        rows.map(|(value, (document, _))| known.get(&(*document, ground.text(value?))).copied())
            .collect()
    }
}

pub(super) fn animation(
    ground: &Ground<'_>,
    records: &Records,
    context: ContextId,
    channels: &[(&Channel, Option<&Beside>)],
) -> Animation {
    let record = records.get(context);
    let mut proposal = Proposal {
        role: word::ANIMATION,
        at: path_of(ground, records.group, context),
        confidence: 0.95,
        ..Proposal::default()
    };
    let fields = || {
        record
            .fields
            .iter()
            .filter(|field| field.down <= 1 && !field.several)
    };
    let name =
        fields().find(|field| ground.gives(field.slot).is_some() && record.share(field) >= 0.8);
    let name = name.or_else(|| fields().find(|field| is_unique(ground, record, field)));
    let named = name.map(|name| {
        let known = ground.gives(name.slot).map(str::to_owned);
        let kind = known.unwrap_or_else(|| free_kind(ground, records.group, context));
        proposal.set(word::NAME, &name.path);
        let item = ItemType::NameOf(Kind::new(&kind));
        proposal.types.push((name.slot, ValueType::single(item)));
        (kind, name.path.clone())
    });
    if named.is_none() {
        proposal.confidence -= 0.1;
    }
    let count: usize = channels
        .iter()
        .map(|(channel, _)| records.get(channel.context).rows.len())
        .sum();
    proposal.reasons.push(format!(
        "it {} {count} channels in {} elements",
        match channels.iter().any(|(_, beside)| beside.is_some()) {
            true => "is named by",
            false => "holds",
        },
        record.rows.len()
    ));
    let lasts = last_ends(ground, records, context, channels);
    let is_time = |field: &Field| {
        let mut channels = channels.iter();
        channels.any(|(channel, _)| channel.time_slots().contains(&field.slot))
    };
    let others = fields().filter(|field| !is_time(field));
    if let Some((field, reason)) = duration(ground, record, others, &lasts) {
        proposal.reasons.push(reason);
        proposal.set(word::DURATION, &field.path);
        let item = ItemType::Number {
            range: Bounds::default(),
            unit: None,
        };
        proposal.types.push((field.slot, ValueType::single(item)));
    }
    let mut thing = Thing::of(ground, records, context, name);
    thing.kind = named.as_ref().map(|(kind, _)| kind.clone());
    Animation {
        context,
        named,
        proposal,
        thing,
    }
}

/// Which of some fields says how long animations last, and why. `lasts`: by row, when the last channel ends.
fn duration<'r>(
    ground: &Ground<'_>,
    record: &Record,
    fields: impl Iterator<Item = &'r Field>,
    lasts: &[Option<f64>],
) -> Option<(&'r Field, String)> {
    let close = |length: f64, last: f64| (length - last).abs() <= 1e-6 * last.abs().max(1.0);
    let mut best: Option<(usize, &Field, usize)> = None;
    for field in fields {
        let column = Column::of(ground, record, field);
        if !column.all_single(|value| value.number().is_some_and(|number| number > 0.0)) {
            continue;
        }
        let rows = column.numbers().into_iter().zip(lasts);
        let rows: Vec<(f64, f64)> = rows
            .filter_map(|(length, last)| Some((length?, (*last)?)))
            .collect();
        let equal = rows.iter().filter(|(length, last)| close(*length, *last));
        let equal = equal.count();
        let enough = rows
            .iter()
            .filter(|(length, last)| *length >= *last || close(*length, *last));
        if most(enough.count(), rows.len())
            && equal * 2 >= rows.len()
            && best.is_none_or(|(known, ..)| equal > known)
        {
            best = Some((equal, field, rows.len()));
        }
    }
    let (equal, field, rows) = best?;
    let reason = format!(
        "{} is where its last channel ends in {equal} of {rows} elements",
        field.path
    );
    Some((field, reason))
}

/// Whether the values may be names although nothing refers to them: words that come once in a document.
fn is_unique(ground: &Ground<'_>, record: &Record, field: &Field) -> bool {
    let mut seen = BTreeSet::new();
    let again = field
        .values
        .iter()
        .filter(|(row, value)| !seen.insert((record.rows[*row as usize].0, *value)));
    let is_word = |text: &str| text.starts_with(char::is_alphabetic);
    let words = field
        .values
        .iter()
        .filter(|(_, value)| is_word(ground.text(*value)));
    record.share(field) >= 0.95
        && most(words.count(), field.values.len())
        && again.count() * 50 <= field.values.len()
        && ground.reference(field.slot).is_none()
        && !ground.is_file(field.slot)
        && ground.path_item(field.slot).is_none()
}

/// A word for the names of elements in a context that no other kind of names has.
fn free_kind(ground: &Ground<'_>, group: usize, context: ContextId) -> String {
    let contexts = &ground.survey.groups[group].contexts;
    let name = ground.survey.corpus.called(contexts.name(context));
    let mut words = (1..).map(|number| match number {
        1 => name.to_owned(),
        number => format!("{name}-{number}"),
    });
    let free = words.find(|word| ground.names.kinds.iter().all(|kind| kind.kind != *word));
    free.unwrap_or_default()
}

/// Per animation, when its last channel ends.
fn last_ends(
    ground: &Ground<'_>,
    records: &Records,
    context: ContextId,
    channels: &[(&Channel, Option<&Beside>)],
) -> Vec<Option<f64>> {
    let mut lasts: Vec<Option<f64>> = vec![None; records.get(context).rows.len()];
    for (channel, beside) in channels {
        let record = records.get(channel.context);
        let ends: Vec<Option<f64>> = match &channel.window {
            Window::Pair(_, end) => Column::of(ground, record, end).numbers(),
            Window::Lasting(begin, duration) => {
                let [begins, lasts] =
                    [begin, duration].map(|field| Column::of(ground, record, field).numbers());
                let ends = begins.into_iter().zip(lasts);
                ends.map(|(begin, lasts)| Some(begin? + lasts?)).collect()
            }
            Window::Keyframes(keyframes) => {
                let times = keyframes.times.iter();
                times.map(|times| times.last().copied()).collect()
            }
            Window::List(window, _) => {
                let column = Column::of(ground, record, window);
                let second = |pair: &Option<[super::shapes::Value; 2]>| pair.as_ref()?[1].number();
                column.pairs.iter().map(second).collect()
            }
        };
        let holders = match beside {
            Some(beside) => beside.holders(ground, records, record),
            None => records.rows_at(ground.survey, channel.context, Some(context)),
        };
        for (holder, end) in holders.into_iter().zip(ends) {
            if let (Some(holder), Some(end)) = (holder, end) {
                let last = &mut lasts[holder as usize];
                *last = Some(last.map_or(end, |known: f64| known.max(end)));
            }
        }
    }
    lasts
}

/// From an animation down to the elements of a context.
pub(super) fn way(ground: &Ground<'_>, group: usize, from: ContextId, to: ContextId) -> String {
    let contexts = &ground.survey.groups[group].contexts;
    let names = contexts
        .chain(Some(to))
        .take_while(|context| *context != from);
    let mut names: Vec<&str> = names
        .map(|context| ground.text(contexts.name(context)))
        .collect();
    names.reverse();
    match names.is_empty() {
        true => ".".to_owned(),
        false => names.join("/"),
    }
}
