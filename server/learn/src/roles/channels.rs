//! Channels: elements that hold a node, two rising times and two values of a kind; or a single value; or keyframes.

mod keyframes;

use super::along::{self, Along};
use super::axes;
use super::columns::{Column, most};
use super::ground::{Ground, Nodes, node_item};
use super::hints::hints_at;
use super::proposal::word;
use super::records::{Field, Record, Records};
use super::shapes::Value;
use crate::contexts::ContextId;
use crate::names::SlotRef;
use dialect::ItemType;
use std::collections::BTreeSet;

/// Fewer elements show nothing.
const ENOUGH: usize = 3;

/// What holds a channel together.
#[derive(Debug)]
pub(super) struct Channel {
    pub(super) context: ContextId,
    pub(super) node: Field,
    pub(super) node_item: ItemType,
    pub(super) window: Window,
    pub(super) ends: Vec<Ends>,
    /// Where values stand of which it could not be told what they move.
    pub(super) unknown: Vec<String>,
    /// All fields that may say more.
    pub(super) fields: Vec<Field>,
    /// Whether something stands around the element.
    pub(super) reaches_up: bool,
}

/// The ways to a begin and an end, or to a duration.
type Times = [String; 2];

impl Channel {
    /// Where its times stand.
    pub(super) fn time_slots(&self) -> Vec<SlotRef> {
        match &self.window {
            Window::Pair(begin, end) | Window::Lasting(begin, end) => vec![begin.slot, end.slot],
            Window::List(window, _) => vec![window.slot],
            Window::Keyframes(keyframes) => vec![keyframes.time.slot],
        }
    }

    fn times(&self) -> Option<Times> {
        match &self.window {
            Window::Pair(begin, end) | Window::Lasting(begin, end) => {
                Some([begin.path.clone(), end.path.clone()])
            }
            Window::List(..) | Window::Keyframes(_) => None,
        }
    }
}

/// Two times.
#[derive(Debug)]
pub(super) enum Window {
    Pair(Field, Field),
    /// Begin and duration.
    Lasting(Field, Field),
    List(Field, String),
    Keyframes(Keyframes),
}

/// Elements in the channel that say the times.
#[derive(Debug)]
pub(super) struct Keyframes {
    /// The way to them.
    pub(super) at: String,
    /// From a keyframe.
    pub(super) time: Field,
    /// By row of the channel.
    pub(super) times: Vec<Vec<f64>>,
}

/// How many values there are, and where.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// Two, in one place or in two.
    Both,
    /// One, which says where it ends or by how much it changes. It counts as both.
    Single,
    /// One in each keyframe; the first and the last count.
    Keyframes,
}

/// Two values.
#[derive(Debug)]
pub(super) struct Ends {
    pub(super) form: Form,
    pub(super) from: Field,
    /// `None`: `from` is a list of both, or all there is.
    pub(super) to: Option<Field>,
    /// Between the two of a list.
    pub(super) outer: Option<String>,
    /// Between the numbers of a vector.
    pub(super) inner: Option<String>,
    /// By row.
    pub(super) values: Vec<Option<[Value; 2]>>,
    /// What says along which axis the values are, if they are single numbers.
    pub(super) along: Option<Along>,
}

/// The channels of a group.
pub(super) fn find(ground: &Ground<'_>, records: &Records, nodes: &Nodes) -> Vec<Channel> {
    let group = &ground.survey.groups[records.group];
    let contexts = || {
        group
            .contexts
            .all()
            .filter(|at| records.get(*at).rows.len() >= ENOUGH)
    };
    let of = |context: ContextId, known: &[Times]| {
        let record = records.get(context);
        let fields = record.fields.clone();
        channel(ground, records.group, record, nodes, fields, false, known)
    };
    let mut whole: Vec<Channel> = contexts().filter_map(|context| of(context, &[])).collect();
    let known: Vec<Times> = whole.iter().filter_map(Channel::times).collect();
    let is_new = |context: &ContextId| !whole.iter().any(|known| known.context == *context);
    let others = contexts().filter(is_new);
    let others: Vec<Channel> = others.filter_map(|context| of(context, &known)).collect();
    whole.extend(others);
    // The innermost ones.
    let around: BTreeSet<ContextId> = whole
        .iter()
        .flat_map(|channel| group.contexts.chain(Some(channel.context)).skip(1))
        .collect();
    let mut found: Vec<Channel> = whole
        .into_iter()
        .filter(|channel| !around.contains(&channel.context))
        .collect();
    let keyed = contexts().filter_map(|frames| {
        let channel = keyframes::channel(ground, records, nodes, frames)?;
        let known = |context: ContextId| found.iter().any(|known| known.context == context);
        let mut inside = group.contexts.chain(Some(frames));
        (!around.contains(&channel.context) && !inside.any(known)).then_some((frames, channel))
    });
    let (frames, keyed): (Vec<ContextId>, Vec<Channel>) = keyed.unzip();
    found.extend(keyed);
    let taken = found.iter().map(|channel| channel.context);
    let taken: BTreeSet<ContextId> = taken.chain(frames).collect();
    for context in contexts() {
        let inside = group
            .contexts
            .chain(Some(context))
            .any(|at| taken.contains(&at));
        if inside || around.contains(&context) {
            continue;
        }
        let mut fields = records.get(context).fields.clone();
        fields.extend(records.above(ground.survey, context));
        found.extend(channel(
            ground,
            records.group,
            records.get(context),
            nodes,
            fields,
            true,
            &[],
        ));
    }
    found
}

fn channel(
    ground: &Ground<'_>,
    group: usize,
    record: &Record,
    nodes: &Nodes,
    mut fields: Vec<Field>,
    reaches_up: bool,
    known: &[Times],
) -> Option<Channel> {
    fields.retain(|field| !field.several && !field.path.contains(':'));
    let (node, node_item) = fields
        .iter()
        .filter(|field| record.share(field) >= 0.8)
        .filter_map(|field| Some((field, node_item(nodes, ground, field.slot)?)))
        .min_by_key(|(field, _)| (field.path.starts_with(".."), field.down))?;
    let is_plain = |field: &&Field| {
        let is_name = ground.gives(field.slot).is_some();
        field.slot != node.slot && !is_name && !ground.is_file(field.slot)
    };
    let plain: Vec<Field> = fields.iter().filter(is_plain).cloned().collect();
    let plain = axes::joined(ground, record, plain);
    let columns: Vec<Column<'_>> = plain
        .iter()
        .map(|field| Column::of(ground, record, field))
        .collect();
    let (window, times) = window(&columns, &Siblings::of(ground, group, record), known)?;
    let columns: Vec<&Column<'_>> = columns
        .iter()
        .filter(|column| !times.contains(&column.field.slot))
        .collect();
    let mut ends = ends(&columns);
    if ends.is_empty() && is_in_something_named(ground, group, record.context) {
        ends = singles(ground, &columns);
    }
    if ends.is_empty() || ends.iter().any(|ends| ends.from.path.starts_with("..")) {
        return None;
    }
    Some(Channel {
        context: record.context,
        node: node.clone(),
        node_item,
        window,
        ends,
        unknown: Vec::new(),
        fields: fields.clone(),
        reaches_up,
    })
}

/// The two times, and the slots they stand in. Some motion begins at once, or the times are called as those of other
/// channels are.
fn window(
    columns: &[Column<'_>],
    siblings: &Siblings,
    known: &[Times],
) -> Option<(Window, Vec<SlotRef>)> {
    let everywhere = |column: &&Column<'_>| column.share >= 0.8;
    let rises = |from: f64, to: f64| from < to && from >= 0.0;
    let mut best: Option<(usize, Window, Vec<SlotRef>)> = None;
    for column in columns.iter().filter(everywhere) {
        let times = |pair: &[Value; 2]| Some([pair[0].number()?, pair[1].number()?]);
        if column.all_pairs(|pair| times(pair).is_some_and(|[from, to]| rises(from, to))) {
            let starts = column.pairs.iter().flatten().filter_map(times);
            let starts = starts.filter(|[from, _]| *from == 0.0).count();
            let outer = column.outer().cloned().unwrap_or_default();
            let slots = vec![column.field.slot];
            let window = Window::List(column.field.clone(), outer);
            if best.as_ref().is_none_or(|(known, ..)| starts > *known) {
                best = Some((starts, window, slots));
            }
        }
    }
    let scalars: Vec<(&Column<'_>, Vec<Option<f64>>)> = columns
        .iter()
        .filter(everywhere)
        .filter(|column| column.all_single(|value| value.number().is_some()))
        .map(|column| (column, column.numbers()))
        .collect();
    // Words first: numbers that go from nought somewhere rise as well.
    let mut pair: Option<(Rank, Window, Vec<SlotRef>)> = None;
    for (one, from) in &scalars {
        for (other, to) in &scalars {
            let rows = from
                .iter()
                .zip(to)
                .filter_map(|(from, to)| Some(((*from)?, (*to)?)));
            let rows: Vec<(f64, f64)> = rows.collect();
            let good = rows.iter().filter(|(from, to)| rises(*from, *to)).count();
            let least = one.field.present.max(other.field.present);
            let starts = rows.iter().filter(|(from, _)| *from == 0.0).count();
            let is_known = || {
                let mut known = known.iter();
                known.any(|[begin, end]| *begin == one.field.path && *end == other.field.path)
            };
            if !most(good, least) || !(starts > 0 || is_known()) {
                continue;
            }
            let joined = [true, false].map(|lasts| siblings.joined(from, to, lasts));
            let are_times = likeness(&one.field.path, word::BEGIN, word::FROM)
                + likeness(&other.field.path, word::END, word::TO);
            // Nothing is told by a number that is always the same.
            let is_varied = rows.iter().any(|(from, _)| *from != rows[0].0);
            let rank = (are_times, joined[0].max(joined[1]), is_varied, starts);
            if pair.as_ref().is_some_and(|(known, ..)| *known >= rank) {
                continue;
            }
            let fields = (one.field.clone(), other.field.clone());
            let window = match joined[0] > 2 * joined[1] + 2 {
                true => Window::Lasting(fields.0, fields.1),
                false => Window::Pair(fields.0, fields.1),
            };
            pair = Some((rank, window, vec![one.field.slot, other.field.slot]));
        }
    }
    if let Some(((.., starts), window, slots)) = pair
        && best.as_ref().is_none_or(|(known, ..)| starts > *known)
    {
        best = Some((starts, window, slots));
    }
    let best = best.map(|(_, window, slots)| (window, slots));
    best.or_else(|| lasting(&scalars, siblings))
}

/// How likely two numbers are times: by their names, by how often motions follow each other, whether they differ, and how
/// often they begin at once.
type Rank = (i32, usize, bool, usize);

/// Whether a name is rather that of a time than that of a value.
fn likeness(name: &str, time: &str, value: &str) -> i32 {
    match (hints_at(name, time), hints_at(name, value)) {
        (true, _) => 1,
        (false, true) => -1,
        (false, false) => 0,
    }
}

/// Begin and duration, told by motions that begin when others beside them are over.
fn lasting(
    scalars: &[(&Column<'_>, Vec<Option<f64>>)],
    siblings: &Siblings,
) -> Option<(Window, Vec<SlotRef>)> {
    let mut best: Option<(usize, &Column<'_>, &Column<'_>)> = None;
    for (one, from) in scalars {
        for (other, lasts) in scalars {
            let is_begin = from.iter().flatten().all(|begin| *begin >= 0.0)
                && from.iter().flatten().any(|begin| *begin == 0.0);
            let is_duration = lasts.iter().flatten().all(|lasts| *lasts > 0.0);
            if one.field.slot == other.field.slot || !is_begin || !is_duration {
                continue;
            }
            let joined = siblings.joined(from, lasts, true);
            let is_enough = joined > 2 && joined * 20 > from.len();
            if is_enough && best.is_none_or(|(known, ..)| joined > known) {
                best = Some((joined, one, other));
            }
        }
    }
    let (_, begin, duration) = best?;
    let slots = vec![begin.field.slot, duration.field.slot];
    let window = Window::Lasting(begin.field.clone(), duration.field.clone());
    Some((window, slots))
}

/// Which rows stand in one element.
struct Siblings {
    /// By row: the document and the element around it.
    around: Vec<(u32, Option<u32>)>,
}

impl Siblings {
    fn of(ground: &Ground<'_>, group: usize, record: &Record) -> Self {
        let documents = &ground.survey.groups[group].documents;
        let around = record.rows.iter().map(|(document, element)| {
            let of = &ground.survey.corpus.documents[documents[*document as usize] as usize];
            (*document, of.elements[*element as usize].parent)
        });
        Self {
            around: around.collect(),
        }
    }

    /// How many rows are over, in one way of reading, when another one beside them begins (but not at once).
    fn joined(&self, begins: &[Option<f64>], seconds: &[Option<f64>], lasts: bool) -> usize {
        let key = |time: f64| (time * 1e4).round() as i64;
        let rows = || self.around.iter().zip(begins).zip(seconds);
        let begun: std::collections::HashSet<(&(u32, Option<u32>), i64)> = rows()
            .filter_map(|((around, begin), _)| Some((around, key((*begin)?))))
            .collect();
        let over = rows().filter_map(|((around, begin), second)| {
            let begin = if lasts { (*begin)? } else { 0.0 };
            Some((around, key(begin + (*second)?)))
        });
        over.filter(|over| begun.contains(over)).count()
    }
}

/// Pairs of values of a kind.
fn ends(columns: &[&Column<'_>]) -> Vec<Ends> {
    let mut found: Vec<Ends> = Vec::new();
    let mut taken = BTreeSet::new();
    for column in columns {
        // Values may be negative.
        let minus = column.outer().is_some_and(|mark| mark == "-");
        let is_end =
            |pair: &[Value; 2]| pair[0].is_like(&pair[1]) && !(minus && pair[0].number().is_some());
        if column.all_pairs(is_end) && !are_other_words(column.pairs.iter().flatten(), true) {
            taken.insert(column.field.slot);
            found.push(Ends {
                form: Form::Both,
                from: column.field.clone(),
                to: None,
                outer: column.outer().cloned(),
                inner: column.inner(true).cloned(),
                values: column.pairs.clone(),
                along: None,
            });
        }
    }
    // Vectors first, then words and plain numbers.
    for pass in 0..2 {
        for (at, one) in columns.iter().enumerate() {
            for other in &columns[at + 1..] {
                let slots = [one.field.slot, other.field.slot];
                if slots.iter().any(|slot| taken.contains(slot)) || !are_beside(one, other) {
                    continue;
                }
                // An attribute is read before the text of its element.
                let (from, to) = match prefix(one) < prefix(other) {
                    true => (other, one),
                    false => (one, other),
                };
                let Some(values) = together(from, to, pass == 0) else {
                    continue;
                };
                if pass > 0 && found.iter().any(|known| known.from.way() == prefix(from)) {
                    continue;
                }
                taken.extend(slots);
                found.push(Ends {
                    form: Form::Both,
                    from: from.field.clone(),
                    to: Some(to.field.clone()),
                    outer: None,
                    inner: one.inner(false).or(other.inner(false)).cloned(),
                    values,
                    along: None,
                });
            }
        }
    }
    found
}

/// Values without another one: vectors, or a number beside what says its axis.
fn singles(ground: &Ground<'_>, columns: &[&Column<'_>]) -> Vec<Ends> {
    let is_value = |value: &Value| value.vector().is_some();
    let values = columns.iter().copied().filter(|column| {
        let vectors = column.singles.iter().flatten().filter_map(Value::vector);
        let are_values = column.all_single(is_value) && !is_direction(vectors.clone());
        are_values && !are_shares(vectors) && !along::says_axes(ground, column)
    });
    let mut values: Vec<&Column<'_>> = values.collect();
    if values.is_empty()
        && columns
            .iter()
            .any(|column| along::says_axes(ground, column))
    {
        values.extend(along::amount(columns));
    }
    let values = values.into_iter();
    values
        .map(|column| Ends {
            form: Form::Single,
            from: column.field.clone(),
            to: None,
            outer: None,
            inner: column.inner(false).cloned(),
            values: column
                .singles
                .iter()
                .map(|value| value.clone().map(|value| [value.clone(), value]))
                .collect(),
            along: None,
        })
        .collect()
}

/// Whether an element stands in one that has a name, as animations have.
fn is_in_something_named(ground: &Ground<'_>, group: usize, context: ContextId) -> bool {
    let of = &ground.survey.groups[group];
    let around = of.contexts.chain(Some(context)).skip(1);
    let around: Vec<ContextId> = around
        .filter(|context| of.contexts.parent(*context).is_some())
        .collect();
    let mut slots = of.slots.iter().enumerate();
    slots.any(|(slot, own)| {
        around.contains(&own.context) && ground.gives(SlotRef { group, slot }).is_some()
    })
}

/// Whether all numbers are shares of 1, as those of colours are.
fn are_shares(vectors: impl Iterator<Item = [f64; 3]>) -> bool {
    let mut numbers = vectors.flatten().filter(|number| !number.is_nan());
    numbers.all(|number| (0.0..=1.0).contains(&number))
}

/// Whether all vectors are of length 1 along an axis: what something else goes along, or turns about.
fn is_direction(mut vectors: impl Iterator<Item = [f64; 3]>) -> bool {
    vectors.all(|vector| {
        let zeros = vector.iter().filter(|number| **number == 0.0).count();
        zeros == 2 && vector.iter().any(|number| number.abs() == 1.0)
    })
}

/// Whether two values stand in one element, or one is the text of it.
fn are_beside(one: &Column<'_>, other: &Column<'_>) -> bool {
    let holds = |one: &Column<'_>, other| one.field.path == prefix(other);
    prefix(one) == prefix(other) || holds(one, other) || holds(other, one)
}

fn prefix<'c>(column: &'c Column<'_>) -> &'c str {
    column.field.way()
}

/// The values of two fields that come together and are built alike.
fn together(
    one: &Column<'_>,
    other: &Column<'_>,
    vectors: bool,
) -> Option<Vec<Option<[Value; 2]>>> {
    let rows = one.singles.iter().zip(&other.singles);
    let values: Vec<Option<[Value; 2]>> = rows
        .map(|(one, other)| match (one, other) {
            (Some(one), Some(other)) if one.is_like(other) => Some([one.clone(), other.clone()]),
            _ => None,
        })
        .collect();
    let all = one.field.present.max(other.field.present);
    let both = values.iter().flatten();
    let moved = both.clone().filter(|[from, to]| from != to).count();
    let has_vectors = both.clone().any(|[from, _]| from.vector().is_some());
    // Two words in an element of their own are no two words that happen to be in one.
    let are_alone = !prefix(one).is_empty() && one.share < 0.95;
    let fits = most(both.clone().count(), all)
        && moved * 2 >= all
        && has_vectors == vectors
        && !are_other_words(both, are_alone);
    fits.then_some(values)
}

/// Whether pairs of words are no answers: those are two words, each on either side (or in a list of
/// its own).
fn are_other_words<'v>(pairs: impl Iterator<Item = &'v [Value; 2]>, in_list: bool) -> bool {
    let (mut left, mut right, mut others) = (BTreeSet::new(), BTreeSet::new(), false);
    for pair in pairs {
        match pair {
            [Value::Word(one), Value::Word(other)] => {
                left.insert(one);
                right.insert(other);
            }
            _ => others = true,
        }
    }
    let all = left.union(&right).count();
    let is_mixed = in_list || others || left.intersection(&right).next().is_some();
    !left.is_empty() && (!is_mixed || all > if others { 4 } else { 2 })
}
