//! Whether a control follows an axis or plays to one end or the other.

use super::columns::Column;
use super::controls::Candidate;
use super::ground::Ground;
use super::hints::hints_at;
use super::proposal::word;
use super::records::Record;
use crate::names::SlotRef;
use dialect::ControlKind;
use foldhash::{HashMap, HashMapExt as _};
use std::collections::BTreeSet;

/// Whether controls follow an axis or play to an end.
#[derive(Clone, Debug)]
pub(super) enum Side {
    Always {
        kind: ControlKind,
        sure: bool,
        why: String,
    },
    Said {
        path: String,
        slot: SlotRef,
        analog: Vec<String>,
        digital: Vec<String>,
        sure: bool,
        why: String,
    },
}

pub(super) fn sides(ground: &Ground<'_>, candidates: &[Candidate<'_>]) -> Vec<Side> {
    if let [one] = candidates
        && let Some(said) = said(ground, one)
    {
        return vec![said];
    }
    let score = |one: &Candidate<'_>| {
        let numbers = numbers(ground, one.record).len() as f64;
        let name = path_name(one.record, ground);
        let english = hint(&name) + inputs_hint(ground, one);
        (numbers, english)
    };
    let scores: Vec<(f64, f64)> = candidates.iter().map(score).collect();
    let greatest = scores
        .iter()
        .map(|(numbers, _)| *numbers)
        .fold(0.0, f64::max);
    let least = scores
        .iter()
        .map(|(numbers, _)| *numbers)
        .fold(f64::MAX, f64::min);
    let side = |scores: &(f64, f64)| {
        let (numbers, english) = *scores;
        let by_numbers = match greatest > least {
            true => {
                if numbers == greatest {
                    1.0
                } else {
                    -1.0
                }
            }
            false => 0.0,
        };
        let total = by_numbers + 0.6 * english;
        Side::Always {
            kind: if total > 0.0 || (total == 0.0 && numbers > 0.0) {
                ControlKind::Analog
            } else {
                ControlKind::Digital
            },
            sure: by_numbers != 0.0 || english != 0.0,
            why: match by_numbers {
                0.0 if english != 0.0 => "English words say which it is".into(),
                0.0 => "nothing tells which it is".into(),
                _ => format!("it has {numbers} numbers, where others have {least} to {greatest}"),
            },
        }
    };
    scores.iter().map(side).collect()
}

fn path_name(record: &Record, ground: &Ground<'_>) -> String {
    let slot = record.fields.first().map(|field| field.slot);
    slot.map_or_else(String::new, |slot| {
        let contexts = &ground.survey.groups[slot.group].contexts;
        ground
            .survey
            .corpus
            .called(contexts.name(record.context))
            .to_owned()
    })
}

/// 1 for analog, -1 for digital.
fn hint(text: &str) -> f64 {
    match (hints_at(text, word::ANALOG), hints_at(text, word::DIGITAL)) {
        (true, false) => 1.0,
        (false, true) => -1.0,
        _ => 0.0,
    }
}

fn inputs_hint(ground: &Ground<'_>, one: &Candidate<'_>) -> f64 {
    let Some((_, field)) = one.inputs.first() else {
        return 0.0;
    };
    let words: BTreeSet<&str> = field
        .values
        .iter()
        .map(|(_, value)| ground.text(*value))
        .collect();
    let sum: f64 = words.iter().map(|word| hint(word)).sum();
    sum.signum() * f64::from(u8::from(sum != 0.0)) * 0.5
}

/// Numbers that a control has besides.
pub(super) fn numbers<'r>(ground: &Ground<'_>, record: &'r Record) -> Vec<Column<'r>> {
    let fields = record.fields.iter().filter(|field| {
        field.down <= 1
            && !field.several
            && ground.reference(field.slot).is_none()
            && ground.gives(field.slot).is_none()
            && ground.path_item(field.slot).is_none()
    });
    let columns = fields.map(|field| Column::of(ground, record, field));
    columns
        .filter(|column| column.all_single(|value| value.number().is_some()))
        .collect()
}

/// A word of a control that tells which kind of input it has.
fn said(ground: &Ground<'_>, one: &Candidate<'_>) -> Option<Side> {
    let record = one.record;
    let input = one.inputs.first()?.1;
    let by_row = input.by_row(record.rows.len());
    let numbers = numbers(ground, record);
    for field in record
        .fields
        .iter()
        .filter(|field| field.down <= 1 && !field.several)
    {
        // What leads somewhere says where, not how.
        let leads = one.animation.1.as_ref().map(|(slot, _)| *slot) == Some(field.slot)
            || ground.reference(field.slot).is_some()
            || ground.gives(field.slot).is_some()
            || ground.path_item(field.slot).is_some()
            || ground.is_file(field.slot);
        if leads || field.slot == input.slot || record.share(field) < 0.95 {
            continue;
        }
        let column = Column::of(ground, record, field);
        let Some(words) = column.words().filter(|words| words.len() == 2) else {
            continue;
        };
        let mut of: HashMap<&str, BTreeSet<&str>> = HashMap::new();
        for (row, value) in by_row.iter().enumerate() {
            if let (Some(value), Some(word)) = (value, column.word(row)) {
                of.entry(ground.text(*value)).or_default().insert(word);
            }
        }
        let clear = of.values().filter(|words| words.len() == 1).count();
        if clear * 20 < of.len() * 19 {
            continue;
        }
        let (first, second) = (&words[0].0, &words[1].0);
        let rows_of = |word: &str| {
            (0..record.rows.len())
                .filter(|row| column.word(*row) == Some(word))
                .count()
        };
        let mut lean = 0.0;
        for number in &numbers {
            let values = number.numbers();
            let share = |word: &str| {
                let with = values
                    .iter()
                    .enumerate()
                    .filter(|(row, value)| value.is_some() && column.word(*row) == Some(word));
                with.count() as f64 / rows_of(word).max(1) as f64
            };
            lean += share(first) - share(second);
        }
        let by_numbers = lean.abs() > 0.4;
        let english = hint(first) - hint(second);
        let analog_first = if by_numbers {
            lean > 0.0
        } else {
            english >= 0.0
        };
        let (analog, digital) = if analog_first {
            (first, second)
        } else {
            (second, first)
        };
        return Some(Side::Said {
            path: field.path.clone(),
            slot: field.slot,
            analog: vec![analog.clone()],
            digital: vec![digital.clone()],
            sure: by_numbers || english != 0.0,
            why: match by_numbers {
                true => format!(
                    "each input goes with one of two words, and numbers go with \"{analog}\""
                ),
                false => "each input goes with one of two words".into(),
            },
        });
    }
    None
}
