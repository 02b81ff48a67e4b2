//! Vectors whose numbers stand in a place of their own for each axis: in attributes or elements whose names differ in
//! nothing but an x, y or z.

use super::columns::Column;
use super::ground::Ground;
use super::records::{Field, Record};
use crate::names::SlotRef;
use std::collections::{BTreeMap, BTreeSet};

/// Fields made of others, which they take the place of.
pub(super) fn joined(ground: &Ground<'_>, record: &Record, fields: Vec<Field>) -> Vec<Field> {
    let mut groups: BTreeMap<(usize, String, bool), [Option<usize>; 3]> = BTreeMap::new();
    for (at, field) in fields
        .iter()
        .enumerate()
        .filter(|(_, field)| !field.several)
    {
        for (place, letter) in field.path.char_indices() {
            let Some(axis) = "xyz".find(letter.to_ascii_lowercase()) else {
                continue;
            };
            let mut rest = field.path.clone();
            rest.remove(place);
            let group = groups.entry((place, rest, letter.is_ascii_uppercase()));
            group.or_default()[axis] = Some(at);
        }
    }
    let count = |axes: &[Option<usize>; 3]| axes.iter().flatten().count();
    let mut groups: Vec<_> = groups
        .into_iter()
        .filter(|(_, axes)| count(axes) > 1)
        .collect();
    groups.sort_by_key(|(_, axes)| std::cmp::Reverse(count(axes)));
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    let mut made = Vec::new();
    for ((_, rest, _), axes) in groups {
        let members = || axes.iter().flatten();
        let are_numbers = |at: &usize| {
            let column = Column::of(ground, record, &fields[*at]);
            !taken.contains(at) && column.all_single(|value| value.number().is_some())
        };
        if !members().all(are_numbers) {
            continue;
        }
        taken.extend(members());
        let axes = axes.map(|at| at.map(|at| fields[at].clone()));
        made.extend(field(&rest, axes));
    }
    let others = fields
        .into_iter()
        .enumerate()
        .filter(|(at, _)| !taken.contains(at));
    let mut all: Vec<Field> = others.map(|(_, field)| field).collect();
    all.extend(made);
    all
}

/// `rest`: the path without the letter for the axis.
fn field(rest: &str, axes: [Option<Field>; 3]) -> Option<Field> {
    let first = axes.iter().flatten().next()?;
    let steps = rest
        .split('/')
        .filter(|step| !matches!(*step, "" | "@" | "text()"));
    let rows: BTreeMap<u32, _> = axes
        .iter()
        .flatten()
        .flat_map(|axis| axis.values.iter().copied())
        .collect();
    Some(Field {
        slot: first.slot,
        path: steps.collect::<Vec<_>>().join("/"),
        down: first.down,
        present: rows.len(),
        values: rows.into_iter().collect(),
        several: false,
        axes: Some(Box::new(axes)),
    })
}

/// The slots of all places.
pub(super) fn slots(field: &Field) -> impl Iterator<Item = SlotRef> {
    field.places().into_iter().map(|place| place.slot)
}
