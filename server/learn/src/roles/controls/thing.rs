//! What controls refer to: wheels, sounds and animations, by name or by number.

use super::super::columns::most;
use super::super::ground::Ground;
use super::super::records::{Field, Record, Records};
use super::super::shapes;
use crate::contexts::ContextId;
use crate::names::Member;
use crate::separators::{members, separator};
use crate::symbols::Symbol;
use dialect::{Around, ItemType, Kind, ListRule, ValueType};
use foldhash::{HashMap, HashMapExt as _, HashSet};

/// What can be referred to from a control.
#[derive(Debug, Default)]
pub(in crate::roles) struct Things {
    pub(in crate::roles) wheels: Option<Thing>,
    pub(in crate::roles) sounds: Vec<Thing>,
}

/// Elements with a name of a kind, or counted.
#[derive(Debug)]
pub(in crate::roles) struct Thing {
    pub(in crate::roles) context: ContextId,
    pub(in crate::roles) kind: Option<String>,
    /// Documents and the names that are given in them.
    pub(in crate::roles) names: HashSet<(u32, Symbol)>,
    /// By document, how many there are.
    counts: HashMap<u32, u32>,
    /// The names of nodes that they are at, by which they may be called if they have no names of their own.
    nodes: Option<Names>,
}

/// Names of nodes.
#[derive(Debug)]
struct Names {
    /// Of the aliases that these are; `None`: they are the nodes' own.
    kind: Option<Kind>,
    /// Documents and the names.
    all: HashSet<(u32, Symbol)>,
}

impl Thing {
    /// Things in a context, with the field that names them, if one does.
    pub(in crate::roles) fn of(
        ground: &Ground<'_>,
        records: &Records,
        context: ContextId,
        name: Option<&Field>,
    ) -> Self {
        let rows = &records.get(context).rows;
        let names = name.into_iter().flat_map(|name| &name.values);
        let mut counts: HashMap<u32, u32> = HashMap::new();
        rows.iter()
            .for_each(|(document, _)| *counts.entry(*document).or_default() += 1);
        Self {
            context,
            counts,
            kind: name
                .and_then(|name| ground.gives(name.slot))
                .map(str::to_owned),
            names: names
                .map(|(row, name)| (rows[*row as usize].0, *name))
                .collect(),
            nodes: None,
        }
    }

    /// With the names of the nodes that they are at. `kinds`: what aliases are names of.
    pub(in crate::roles) fn at_nodes(
        mut self,
        ground: &Ground<'_>,
        records: &Records,
        node: &Field,
        kinds: &[String],
    ) -> Self {
        let rows = &records.get(self.context).rows;
        let mut kinds = kinds.iter();
        let alias = kinds.find(|kind| ground.asks(node.slot, kind).is_some());
        let is_named = self.kind.is_none() && (alias.is_some() || ground.is_node_name(node.slot));
        self.nodes = is_named.then(|| Names {
            kind: alias.map(|kind| Kind::new(kind)),
            all: node
                .values
                .iter()
                .map(|(row, name)| (rows[*row as usize].0, *name))
                .collect(),
        });
        self
    }

    /// Numbers of things without names: within how many there are, each once, and reaching the last one.
    fn counted(
        &self,
        ground: &Ground<'_>,
        record: &Record,
        field: &Field,
        kind: Kind,
    ) -> Option<ValueType> {
        let mut outer: Option<String> = None;
        let (mut least, mut last, mut several) = (u32::MAX, 0, 0);
        for (row, value) in &field.values {
            let count = *self.counts.get(&record.rows[*row as usize].0)?;
            let (numbers, gaps) = shapes::row(ground.text(*value), &ground.notation.numbers)?;
            let numbers: Vec<u32> = numbers
                .iter()
                .map(|number| {
                    (number.fract() == 0.0 && (0.0..1e6).contains(number)).then_some(*number as u32)
                })
                .collect::<Option<_>>()?;
            if numbers.windows(2).any(|pair| pair[0] >= pair[1]) || numbers.last()? > &count {
                return None;
            }
            several += usize::from(numbers.len() > 1);
            last += usize::from(numbers.last() == Some(&count));
            least = least.min(*numbers.first()?);
            outer = outer.or(gaps.into_iter().next());
        }
        // From nought the last one is one less.
        let first = u32::from(last > 0);
        let list = ListRule {
            separator: separator(&outer?),
            min: 0,
            max: None,
        };
        let item = ItemType::PositionOf { kind, first };
        (several * 2 >= field.values.len() && least >= first).then(|| ValueType {
            list: Some(list),
            ..ValueType::single(item)
        })
    }

    /// What a field is, if it refers to these things: as was found out about names, or because all its values are
    /// names of theirs. By chance, names that are the same in all files would be so too, but not in this company.
    pub(in crate::roles) fn asked(
        &self,
        ground: &Ground<'_>,
        record: &Record,
        field: &Field,
        word: &str,
    ) -> Option<ValueType> {
        let named = self
            .kind
            .as_ref()
            .and_then(|kind| ground.asks(field.slot, kind));
        let kind = Kind::new(self.kind.as_deref().unwrap_or(word));
        if let Some(reference) = named.or_else(|| ground.counts(field.slot, self.context)) {
            let item = match &reference.form.member {
                Member::Position { first } => ItemType::PositionOf {
                    kind,
                    first: *first,
                },
                Member::Name { .. } => ItemType::Reference([kind].into()),
            };
            let list = reference.form.separator.as_ref().map(|mark| ListRule {
                separator: separator(mark),
                min: 0,
                max: None,
            });
            return Some(ValueType {
                item,
                list,
                around: Around::default(),
            });
        }
        if let Some(nodes) = &self.nodes {
            let free = ground.reference(field.slot).is_none();
            let asks = |kind: &Kind| ground.asks(field.slot, kind.as_str()).is_some();
            if free || nodes.kind.as_ref().is_some_and(asks) {
                let item = match &nodes.kind {
                    Some(kind) => ItemType::Reference([*kind].into()),
                    None => crate::node_names::item(),
                };
                let told = listed(ground, record, field, &item, &nodes.all);
                if told.is_some() {
                    return told;
                }
            }
        }
        let is_open = ground.reference(field.slot).is_none() && ground.gives(field.slot).is_none();
        if is_open && self.names.is_empty() {
            return self.counted(ground, record, field, kind);
        }
        if !is_open || self.kind.is_none() {
            return None;
        }
        let item = ItemType::Reference([kind].into());
        listed(ground, record, field, &item, &self.names)
    }
}

/// In so many documents one and the same name is no chance, if it is a word.
const DOCUMENTS: usize = 5;

/// What a field is if it holds nothing but names that stand in the same document, one or several. `item`: what each is.
fn listed(
    ground: &Ground<'_>,
    record: &Record,
    field: &Field,
    item: &ItemType,
    names: &HashSet<(u32, Symbol)>,
) -> Option<ValueType> {
    let names: HashSet<(u32, &str)> = names
        .iter()
        .map(|(document, name)| (*document, ground.text(*name)))
        .collect();
    let marks = [None, Some(" "), Some(","), Some(";"), Some("|")];
    marks.into_iter().find_map(|mark| {
        let mut different: HashSet<&str> = HashSet::default();
        let mut documents: HashSet<u32> = HashSet::default();
        let (mut known, mut all) = (0, 0);
        for (row, value) in &field.values {
            let document = record.rows[*row as usize].0;
            documents.insert(document);
            for member in members(ground.text(*value), mark) {
                all += 1;
                known += usize::from(names.contains(&(document, member)));
                different.insert(member);
            }
        }
        let is_word = |text: &&str| text.chars().filter(|c| c.is_alphabetic()).count() >= 3;
        let is_no_chance =
            different.len() > 1 || documents.len() >= DOCUMENTS && different.iter().all(is_word);
        (most(known, all) && is_no_chance).then(|| ValueType {
            list: mark.map(|mark| ListRule {
                separator: separator(mark),
                min: 0,
                max: None,
            }),
            ..ValueType::single(item.clone())
        })
    })
}
