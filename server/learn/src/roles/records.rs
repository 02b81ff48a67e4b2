//! Elements with the values that belong to them, as rows of a table: their own attributes and text and
//! those of elements inside them, two steps down.

use crate::contexts::ContextId;
use crate::names::SlotRef;
use crate::survey::{Group, Survey};
use crate::symbols::Symbol;

/// So many documents of a group are looked at.
const DOCUMENTS: usize = 400;

/// So many steps down values belong to an element.
const DOWN: u32 = 2;

/// All elements of one context.
#[derive(Debug)]
pub(super) struct Record {
    pub(super) context: ContextId,
    /// Document (an index into [`Group::documents`]) and element of each.
    pub(super) rows: Vec<(u32, u32)>,
    pub(super) fields: Vec<Field>,
}

/// A place for values, seen from an element around it.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) slot: SlotRef,
    /// As dialects write it.
    pub(super) path: String,
    /// How many steps down.
    pub(super) down: u32,
    /// Row and value, in order of rows.
    pub(super) values: Vec<(u32, Symbol)>,
    /// Whether some elements have several.
    pub(super) several: bool,
    /// In how many elements there is one.
    pub(super) present: usize,
    /// Where numbers for the three axes stand, if it is made of such; the other fields speak of the first one then.
    pub(super) axes: Option<Box<[Option<Field>; 3]>>,
}

/// All records of a group.
#[derive(Debug)]
pub(super) struct Records {
    pub(super) group: usize,
    /// By context.
    pub(super) all: Vec<Record>,
    /// By document that is looked at and element: its row in the record of its context.
    row_of: Vec<Option<Vec<u32>>>,
}

impl Field {
    /// The places that its values stand in: one, or one for each axis.
    pub(super) fn places(&self) -> Vec<&Field> {
        match &self.axes {
            Some(axes) => axes.iter().flatten().collect(),
            None => vec![self],
        }
    }

    /// The way to the element that has the value; elements that hold nothing else count with their parent.
    pub(super) fn way(&self) -> &str {
        self.path.rsplit_once('/').map_or("", |(way, _)| way)
    }

    /// The value of each row; the first one, if there are several.
    pub(super) fn by_row(&self, rows: usize) -> Vec<Option<Symbol>> {
        let mut all = vec![None; rows];
        for (row, value) in self.values.iter().rev() {
            all[*row as usize] = Some(*value);
        }
        all
    }
}

impl Record {
    /// In which share of the elements the field is present.
    pub(super) fn share(&self, field: &Field) -> f64 {
        field.present as f64 / self.rows.len().max(1) as f64
    }
}

impl Records {
    pub(super) fn of(survey: &Survey<'_>, number: usize) -> Self {
        let group = &survey.groups[number];
        let trusted: Vec<usize> = (0..group.documents.len())
            .filter(|at| group.trusts(*at as u32))
            .collect();
        let step = trusted.len().div_ceil(DOCUMENTS).max(1);
        let mut records = Self {
            group: number,
            all: group
                .contexts
                .all()
                .map(|context| Record {
                    context,
                    rows: Vec::new(),
                    fields: Vec::new(),
                })
                .collect(),
            row_of: vec![None; group.documents.len()],
        };
        for at in trusted.into_iter().step_by(step) {
            let rows = group.elements[at].iter().enumerate().map(|(element, of)| {
                let rows = &mut records.all[of.index()].rows;
                rows.push((at as u32, element as u32));
                rows.len() as u32 - 1
            });
            records.row_of[at] = Some(rows.collect());
        }
        for (number, slot) in group.slots.iter().enumerate() {
            let name = group.contexts.name(slot.context);
            if !survey.corpus.tells_sort(name, slot.attribute) {
                records.add(survey, group, number);
            }
        }
        records
    }

    /// Adds the values of a slot to its own elements and to those around them.
    fn add(&mut self, survey: &Survey<'_>, group: &Group, number: usize) {
        let slot = &group.slots[number];
        let mut around: Vec<ContextId> = Vec::new();
        around.extend(
            group
                .contexts
                .chain(Some(slot.context))
                .take(DOWN as usize + 1),
        );
        let mut fields: Vec<Field> = (0..around.len())
            .map(|down| Field {
                slot: SlotRef {
                    group: self.group,
                    slot: number,
                },
                path: path(survey, group, &around[..down], slot.attribute),
                down: down as u32,
                values: Vec::new(),
                several: false,
                present: 0,
                axes: None,
            })
            .collect();
        for seen in &slot.seen {
            let Some(rows) = &self.row_of[seen.document as usize] else {
                continue;
            };
            let document =
                &survey.corpus.documents[group.documents[seen.document as usize] as usize];
            let contexts = &group.elements[seen.document as usize];
            let mut at = Some(seen.element);
            for (field, context) in fields.iter_mut().zip(&around) {
                let Some(element) = at.filter(|at| contexts[*at as usize] == *context) else {
                    break;
                };
                let row = rows[element as usize];
                match field.values.last() {
                    Some((before, _)) if *before == row => field.several = true,
                    _ => field.present += 1,
                }
                field.values.push((row, seen.value));
                at = document.elements[element as usize].parent;
            }
        }
        for (field, context) in fields.into_iter().zip(around) {
            if !field.values.is_empty() {
                self.all[context.index()].fields.push(field);
            }
        }
    }

    pub(super) fn get(&self, context: ContextId) -> &Record {
        &self.all[context.index()]
    }

    /// The values that stand around an element rather than in it: attributes of its parent, and single
    /// elements beside it. Their paths lead up first.
    pub(super) fn above(&self, survey: &Survey<'_>, context: ContextId) -> Vec<Field> {
        let group = &survey.groups[self.group];
        let Some(parent) = group.contexts.parent(context) else {
            return Vec::new();
        };
        let own = survey.corpus.text(group.contexts.name(context));
        let inside = format!("{own}/");
        let fields = self.get(parent).fields.iter().filter(|field| {
            field.down <= 1
                && !field.several
                && field.path != own
                && !field.path.starts_with(&inside)
        });
        let parents = self.rows_above(survey, context);
        fields
            .map(|field| {
                let known = field.by_row(self.get(parent).rows.len());
                let values = parents.iter().enumerate().filter_map(|(row, parent)| {
                    let value = known[(*parent)? as usize]?;
                    Some((row as u32, value))
                });
                let values: Vec<(u32, Symbol)> = values.collect();
                Field {
                    slot: field.slot,
                    path: format!("../{}", field.path),
                    down: 0,
                    present: values.len(),
                    values,
                    several: false,
                    axes: None,
                }
            })
            .collect()
    }

    /// Per row, the row of the parent, if that stands in the context around.
    pub(super) fn rows_above(&self, survey: &Survey<'_>, context: ContextId) -> Vec<Option<u32>> {
        self.rows_at(
            survey,
            context,
            survey.groups[self.group].contexts.parent(context),
        )
    }

    /// Per row, the row of the innermost element around it (or itself) that stands in another context.
    pub(super) fn rows_at(
        &self,
        survey: &Survey<'_>,
        context: ContextId,
        outer: Option<ContextId>,
    ) -> Vec<Option<u32>> {
        let group = &survey.groups[self.group];
        let rows = self.get(context).rows.iter();
        rows.map(|(document, element)| {
            let contexts = &group.elements[*document as usize];
            let elements =
                &survey.corpus.documents[group.documents[*document as usize] as usize].elements;
            let mut at = *element;
            while Some(contexts[at as usize]) != outer {
                at = elements[at as usize].parent?;
            }
            Some(self.row_of[*document as usize].as_ref()?[at as usize])
        })
        .collect()
    }
}

/// From an element down to a value. `inside`: the contexts below the element, innermost first.
fn path(
    survey: &Survey<'_>,
    group: &Group,
    inside: &[ContextId],
    attribute: Option<Symbol>,
) -> String {
    let name = |context: &ContextId| survey.corpus.text(group.contexts.name(*context)).to_owned();
    let mut steps: Vec<String> = inside.iter().rev().map(name).collect();
    match attribute {
        Some(attribute) => steps.push(format!("@{}", survey.corpus.text(attribute))),
        None if steps.is_empty() => steps.push("text()".to_owned()),
        None => {}
    }
    steps.join("/")
}
