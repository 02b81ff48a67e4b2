//! Channels that hold elements with a rising time and a value each.

use super::super::along;
use super::super::axes;
use super::super::columns::{Column, most};
use super::super::ground::{Ground, Nodes, node_item};
use super::super::records::{Field, Record, Records};
use super::super::shapes::Value;
use super::{Channel, ENOUGH, Ends, Form, Keyframes, Window};
use crate::contexts::ContextId;
use std::collections::BTreeSet;

/// The channel around keyframes, if the elements of a context are such.
pub(super) fn channel(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    frames: ContextId,
) -> Option<Channel> {
    let contexts = &ground.survey.groups[records.group].contexts;
    let around = contexts.parent(frames)?;
    let (record, outer) = (records.get(frames), records.get(around));
    // By channel: its keyframes, in the order of the document.
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); outer.rows.len()];
    let parents = records.rows_above(ground.survey, frames);
    for (row, parent) in parents.into_iter().enumerate() {
        if let Some(parent) = parent {
            members[parent as usize].push(row);
        }
    }
    let several = members.iter().filter(|rows| rows.len() > 1).count();
    if several < ENOUGH || several * 10 < outer.rows.len() * 6 {
        return None;
    }
    let name = ground.text(contexts.name(frames));
    let inside = format!("{name}/");
    let mut fields = outer.fields.clone();
    fields.retain(|field| field.path != name && !field.path.starts_with(&inside));
    fields.extend(records.above(ground.survey, around));
    fields.retain(|field| !field.several && !field.path.contains(':'));
    let (node, node_item) = fields
        .iter()
        .filter(|field| outer.share(field) >= 0.8)
        .filter_map(|field| Some((field, node_item(nodes, ground, field.slot)?)))
        .min_by_key(|(field, _)| (field.path.starts_with(".."), field.down))?;
    let (node, reaches_up) = (node.clone(), node.path.starts_with(".."));
    if !reaches_up {
        fields.retain(|field| !field.path.starts_with(".."));
    }
    let is_plain = |field: &&Field| {
        !field.several
            && !field.path.contains(':')
            && ground.gives(field.slot).is_none()
            && ground.path_item(field.slot).is_none()
            && !ground.is_file(field.slot)
    };
    let inner: Vec<Field> = record.fields.iter().filter(is_plain).cloned().collect();
    let inner = axes::joined(ground, record, inner);
    let columns: Vec<Column<'_>> = inner
        .iter()
        .map(|field| Column::of(ground, record, field))
        .collect();
    let (time, times) = time(&columns, &members)?;
    let mut ends = values(record, &columns, time, &members);
    let says_axes = |field: &Field| along::says_axes(ground, &Column::of(ground, outer, field));
    if ends.is_empty() && fields.iter().any(says_axes) {
        // Beside what says their axis, plain numbers are no curves of something else.
        let changing = columns
            .iter()
            .filter(|column| column.field.slot != time.slot && changes(column, &members));
        let changing: Vec<&Column<'_>> = changing.collect();
        ends.extend(along::amount(&changing).map(|column| self::ends(column, &members)));
    }
    (!ends.is_empty()).then(|| Channel {
        context: around,
        node,
        node_item,
        window: Window::Keyframes(Keyframes {
            at: name.to_owned(),
            time: time.clone(),
            times,
        }),
        ends,
        unknown: Vec::new(),
        fields,
        reaches_up,
    })
}

/// The field whose numbers rise from keyframe to keyframe, and what they are by channel.
fn time<'f>(columns: &[Column<'f>], members: &[Vec<usize>]) -> Option<(&'f Field, Vec<Vec<f64>>)> {
    let mut best: Option<(usize, &Field, Vec<Vec<f64>>)> = None;
    for column in columns {
        let is_time = |value: &Value| value.number().is_some_and(|number| number >= 0.0);
        if column.share < 0.95 || !column.all_single(is_time) {
            continue;
        }
        let numbers = column.numbers();
        let by_channel = members.iter().map(|rows| {
            let times = rows.iter().filter_map(|row| numbers[*row]);
            times.collect::<Vec<f64>>()
        });
        let times: Vec<Vec<f64>> = by_channel.collect();
        let long = || times.iter().filter(|times| times.len() > 1);
        let rises = |times: &[f64]| times.is_sorted() && times.first() < times.last();
        let rising = long().filter(|times| rises(times)).count();
        let starts = times.iter().any(|times| times.first() == Some(&0.0));
        // What rises step by step is a time rather than what waits now and then.
        let strictly = long().filter(|times| times.is_sorted_by(|one, next| one < next));
        let strictly = strictly.count();
        if most(rising, long().count())
            && starts
            && best.as_ref().is_none_or(|(known, ..)| strictly > *known)
        {
            best = Some((strictly, column.field, times));
        }
    }
    best.map(|(_, field, times)| (field, times))
}

/// Values that change from keyframe to keyframe: vectors, answers, or both. Plain numbers may as well be those of
/// curves that have nothing to do with time.
fn values(
    record: &Record,
    columns: &[Column<'_>],
    time: &Field,
    members: &[Vec<usize>],
) -> Vec<Ends> {
    let is_vector = |value: &Value| value.vector().is_some();
    let is_moved = |value: &Value| is_vector(value) || matches!(value, Value::Word(_));
    let has_vectors = columns.iter().any(|column| column.all_single(is_vector));
    let found = columns.iter().filter(|column| {
        let words: BTreeSet<&str> = (0..record.rows.len())
            .filter_map(|row| column.word(row))
            .collect();
        // Beside vectors, words alone may as well be ways to move.
        let are_words = !column.singles.iter().flatten().any(is_vector);
        column.field.slot != time.slot
            && column.all_single(is_moved)
            && words.len() <= 2
            && !(are_words && has_vectors)
            && changes(column, members)
    });
    found.map(|column| ends(column, members)).collect()
}

/// Whether in half of the channels, values differ from keyframe to keyframe.
fn changes(column: &Column<'_>, members: &[Vec<usize>]) -> bool {
    let by_channel = members.iter().map(|rows| {
        let values = rows.iter().filter_map(|row| column.singles[*row].as_ref());
        values.collect::<Vec<_>>()
    });
    let long: Vec<Vec<&Value>> = by_channel.filter(|values| values.len() > 1).collect();
    let moving = long
        .iter()
        .filter(|values| values.windows(2).any(|pair| differ(pair[0], pair[1])))
        .count();
    moving * 2 >= long.len() && moving >= ENOUGH
}

/// What is not said of an axis is not a number, and no difference.
fn differ(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Vector(one), Value::Vector(other)) => one
            .iter()
            .zip(other)
            .any(|(one, other)| (one - other).abs() > 0.0),
        _ => one != other,
    }
}

fn ends(column: &Column<'_>, members: &[Vec<usize>]) -> Ends {
    let values = members.iter().map(|rows| {
        let mut said = rows.iter().filter_map(|row| column.singles[*row].as_ref());
        let first = said.next()?;
        Some([first.clone(), said.next_back().unwrap_or(first).clone()])
    });
    Ends {
        form: Form::Keyframes,
        from: column.field.clone(),
        to: None,
        outer: None,
        inner: column.inner(false).cloned(),
        values: values.collect(),
        along: None,
    }
}
