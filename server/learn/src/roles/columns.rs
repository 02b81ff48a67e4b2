//! The values of a field, read: as one value each, or as lists of two.

use super::ground::Ground;
use super::records::{Field, Record};
use super::shapes::{self, Marks, Value};
use std::collections::BTreeMap;

/// A field with its values by row.
#[derive(Debug)]
pub(super) struct Column<'f> {
    pub(super) field: &'f Field,
    /// In which share of the elements it is.
    pub(super) share: f64,
    pub(super) singles: Vec<Option<Value>>,
    pub(super) pairs: Vec<Option<[Value; 2]>>,
    /// The marks of single values and of lists, the usual ones.
    single_marks: Marks,
    pair_marks: Marks,
}

impl<'f> Column<'f> {
    pub(super) fn of(ground: &Ground<'_>, record: &Record, field: &'f Field) -> Self {
        if let Some(axes) = &field.axes {
            return Self::of_axes(ground, record, field, axes);
        }
        let numbers = &ground.notation.numbers;
        let values = field.by_row(record.rows.len());
        let text = |at: usize| values[at].map(|value| ground.text(value));
        let rows = 0..values.len();
        let singles: Vec<_> = rows
            .clone()
            .map(|at| shapes::single(text(at)?, numbers))
            .collect();
        let pairs: Vec<_> = rows.map(|at| shapes::pair(text(at)?, numbers)).collect();
        let single_marks = usual(singles.iter().flatten().map(|(_, marks)| marks));
        let pair_marks = usual(pairs.iter().flatten().map(|(_, marks)| marks));
        let outer = &pair_marks.outer;
        let plain = |pair: ([Value; 2], Marks)| (pair.1.outer == *outer).then_some(pair.0);
        Self {
            share: record.share(field),
            singles: singles.into_iter().map(|one| Some(one?.0)).collect(),
            pairs: pairs.into_iter().map(|pair| plain(pair?)).collect(),
            single_marks,
            pair_marks,
            field,
        }
    }

    /// A vector for each row; what is not said of an axis is not a number.
    fn of_axes(
        ground: &Ground<'_>,
        record: &Record,
        field: &'f Field,
        axes: &[Option<Field>; 3],
    ) -> Self {
        let numbers = axes.each_ref().map(|axis| {
            let axis = axis.as_ref()?;
            Some(Column::of(ground, record, axis).numbers())
        });
        let rows = 0..record.rows.len();
        let vector = |row: usize| {
            let said = numbers.each_ref().map(|axis| axis.as_ref()?[row]);
            let vector = said.map(|number| number.unwrap_or(f64::NAN));
            said.iter()
                .any(Option::is_some)
                .then_some(Value::Vector(vector))
        };
        Self {
            share: record.share(field),
            singles: rows.clone().map(vector).collect(),
            pairs: rows.map(|_| None).collect(),
            single_marks: Marks::default(),
            pair_marks: Marks::default(),
            field,
        }
    }

    /// The usual mark between the numbers of a vector.
    pub(super) fn inner(&self, as_pair: bool) -> Option<&String> {
        match as_pair {
            true => self.pair_marks.inner.as_ref(),
            false => self.single_marks.inner.as_ref(),
        }
    }

    /// The mark between the two of a list.
    pub(super) fn outer(&self) -> Option<&String> {
        self.pair_marks.outer.as_ref()
    }

    /// Whether nearly all values fit.
    pub(super) fn all_single(&self, fits: impl Fn(&Value) -> bool) -> bool {
        let good = self
            .singles
            .iter()
            .flatten()
            .filter(|value| fits(value))
            .count();
        most(good, self.field.present)
    }

    pub(super) fn all_pairs(&self, fits: impl Fn(&[Value; 2]) -> bool) -> bool {
        let good = self
            .pairs
            .iter()
            .flatten()
            .filter(|pair| fits(pair))
            .count();
        most(good, self.field.present)
    }

    pub(super) fn numbers(&self) -> Vec<Option<f64>> {
        let values = self.singles.iter();
        values
            .map(|value| value.as_ref().and_then(Value::number))
            .collect()
    }

    /// The words, the most frequent first, if nearly all values are words.
    pub(super) fn words(&self) -> Option<Vec<(String, usize)>> {
        if !self.all_single(|value| matches!(value, Value::Word(_))) {
            return None;
        }
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for value in self.singles.iter().flatten() {
            if let Value::Word(word) = value {
                *counts.entry(word).or_default() += 1;
            }
        }
        let mut words: Vec<(String, usize)> = counts
            .into_iter()
            .map(|(word, count)| (word.to_owned(), count))
            .collect();
        words.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        Some(words)
    }

    pub(super) fn word(&self, row: usize) -> Option<&str> {
        match self.singles[row].as_ref()? {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }
}

/// Nearly all: one of twenty may be a slip.
pub(super) fn most(good: usize, all: usize) -> bool {
    all > 0 && good * 20 >= all * 19
}

/// The marks that most values have; where some have more of them, the fuller ones.
fn usual<'m>(marks: impl Iterator<Item = &'m Marks>) -> Marks {
    let mut outer: BTreeMap<&String, usize> = BTreeMap::new();
    let mut inner: BTreeMap<&String, usize> = BTreeMap::new();
    for marks in marks {
        for (mark, known) in [(&marks.outer, &mut outer), (&marks.inner, &mut inner)] {
            if let Some(mark) = mark {
                *known.entry(mark).or_default() += 1;
            }
        }
    }
    let usual = |known: BTreeMap<&String, usize>| {
        let most = known.into_iter().max_by_key(|(_, count)| *count);
        most.map(|(mark, _)| mark.clone())
    };
    Marks {
        outer: usual(outer),
        inner: usual(inner),
    }
}
