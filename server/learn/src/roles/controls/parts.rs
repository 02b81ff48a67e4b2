//! What plays the parts of a control: input, gain, rate, node, wheels, sounds, text.

use super::super::columns::Column;
use super::super::ground::{Ground, Nodes, node_item};
use super::super::hints::hints_at;
use super::super::motions::word_type;
use super::super::proposal::{Part, PartValue, Proposal, word};
use super::super::records::{Field, Record, Records};
use super::super::sides::{Side, numbers};
use super::super::things::path_of;
use super::{Candidate, Things};
use crate::names::SlotRef;
use dialect::{ControlKind, ItemType, ValueType};
use std::collections::{BTreeMap, BTreeSet};

/// The inputs that were seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::roles) struct Seen {
    pub(in crate::roles) analog: BTreeSet<String>,
    pub(in crate::roles) digital: BTreeSet<String>,
}

/// What is known besides a control itself.
pub(super) struct Others<'o> {
    pub(super) things: &'o Things,
    /// Paths of numbers that digital controls have.
    pub(super) digital: &'o BTreeSet<String>,
}

/// What plays the parts of a control. `place`: the ground, the records, and which values are nodes.
pub(super) fn propose(
    (ground, records, nodes): (&Ground<'_>, &Records, &Nodes),
    one: &Candidate<'_>,
    side: Side,
    others: &Others<'_>,
    seen: &mut Seen,
) -> Proposal {
    let record = one.record;
    let mut proposal = Proposal {
        role: word::CONTROL,
        at: path_of(ground, records.group, record.context),
        confidence: 0.93,
        ..Proposal::default()
    };
    let input = one.inputs[0].1;
    let mut used: BTreeSet<SlotRef> = [input.slot].into();
    let fixed = kind(ground, record, input, &side, &mut proposal, &mut used, seen);
    proposal.set(word::ANIMATION, &one.animation.0);
    if let Some((slot, told)) = &one.animation.1 {
        used.insert(*slot);
        proposal.types.push((*slot, told.clone()));
        proposal
            .reasons
            .push(format!("{} refers to animations", one.animation.0));
    } else {
        proposal.reasons.push("it stands in an animation".into());
    }
    proposal.set(word::INPUT, &input.path);
    let item = ItemType::Input(fixed);
    proposal.types.push((input.slot, ValueType::single(item)));
    let words: BTreeSet<&str> = input
        .values
        .iter()
        .map(|(_, value)| ground.text(*value))
        .collect();
    proposal.reasons.push(format!(
        "{} has {} different words, seldom one twice in a machine",
        input.path,
        words.len()
    ));
    add_numbers(ground, record, &side, others.digital, &used, &mut proposal);
    add_things(ground, record, others.things, &mut used, &mut proposal);
    let node = record
        .fields
        .iter()
        .filter(|field| field.down <= 1 && !field.several);
    let node = node.filter(|field| !used.contains(&field.slot));
    let node = node
        .filter_map(|field| Some((field, node_item(nodes, ground, field.slot)?)))
        .next();
    if let Some((field, item)) = node {
        used.insert(field.slot);
        proposal.set(word::NODE, &field.path);
        proposal.types.push((field.slot, ValueType::single(item)));
    }
    add_text(ground, record, &used, &mut proposal);
    for (_, other) in one.inputs.iter().skip(1).take(2) {
        let instead = with_input(&proposal, input, other, ItemType::Input(fixed));
        let text = format!("the input is {}", other.path);
        proposal.others.push((text, instead));
    }
    proposal
}

/// The same with another input.
fn with_input(proposal: &Proposal, input: &Field, other: &Field, item: ItemType) -> Proposal {
    let mut instead = proposal.clone();
    instead.others.clear();
    let parts = instead.parts.iter_mut();
    for part in parts.filter(|part| part.key == word::INPUT) {
        part.value = PartValue::Path(other.path.clone());
    }
    let replaced = [input.slot, other.slot];
    instead.types.retain(|(slot, _)| !replaced.contains(slot));
    instead.types.push((other.slot, ValueType::single(item)));
    instead
}

/// Says the kind, and notes which inputs it goes with.
fn kind(
    ground: &Ground<'_>,
    record: &Record,
    input: &Field,
    side: &Side,
    proposal: &mut Proposal,
    used: &mut BTreeSet<SlotRef>,
    seen: &mut Seen,
) -> Option<ControlKind> {
    let words = input.by_row(record.rows.len());
    let mut note = |row: usize, kind: ControlKind| {
        if let Some(word) = words[row] {
            let list = match kind {
                ControlKind::Analog => &mut seen.analog,
                ControlKind::Digital => &mut seen.digital,
            };
            list.insert(ground.text(word).to_owned());
        }
    };
    let (sure, why) = match side {
        Side::Always { sure, why, .. } | Side::Said { sure, why, .. } => (*sure, why.clone()),
    };
    proposal.reasons.push(why);
    if !sure {
        proposal.confidence -= 0.2;
    }
    match side {
        Side::Always { kind, .. } => {
            (0..words.len()).for_each(|row| note(row, *kind));
            let value = PartValue::Word(kind.as_str());
            proposal.parts.push(Part {
                key: word::KIND,
                value,
            });
            if !sure {
                proposal
                    .assumed
                    .push(format!("It is taken for {}.", kind.as_str()));
            }
            Some(*kind)
        }
        Side::Said {
            path,
            slot,
            analog,
            digital,
            ..
        } => {
            let field = record.fields.iter().find(|field| field.slot == *slot)?;
            let column = Column::of(ground, record, field);
            for row in 0..words.len() {
                let word = column.word(row).map(str::to_owned);
                match word {
                    Some(word) if analog.contains(&word) => note(row, ControlKind::Analog),
                    Some(word) if digital.contains(&word) => note(row, ControlKind::Digital),
                    _ => {}
                }
            }
            used.insert(*slot);
            let words = vec![
                (ControlKind::Analog.as_str(), analog.clone()),
                (ControlKind::Digital.as_str(), digital.clone()),
            ];
            let value = PartValue::Words {
                at: path.clone(),
                words,
            };
            proposal.parts.push(Part {
                key: word::KIND,
                value,
            });
            proposal.types.push((*slot, word_type(&column)));
            if !sure {
                proposal.assumed.push(format!(
                    "\"{}\" is taken for analog.",
                    analog.join("\", \"")
                ));
            }
            None
        }
    }
}

/// How strongly and how fast: what only analog controls have is the first, what others have too the second.
fn add_numbers(
    ground: &Ground<'_>,
    record: &Record,
    side: &Side,
    digital: &BTreeSet<String>,
    used: &BTreeSet<SlotRef>,
    proposal: &mut Proposal,
) {
    let mut columns = numbers(ground, record);
    columns.retain(|column| !used.contains(&column.field.slot));
    let with_digital = |column: &Column<'_>| match side {
        Side::Always { .. } => digital.contains(&column.field.path),
        Side::Said { slot, digital, .. } => {
            let word = record.fields.iter().find(|field| field.slot == *slot);
            word.is_some_and(|word| {
                let words = Column::of(ground, record, word);
                let rows = column.numbers();
                let with = rows.iter().enumerate().filter(|(row, number)| {
                    number.is_some()
                        && words
                            .word(*row)
                            .is_some_and(|word| digital.iter().any(|known| known == word))
                });
                with.count() > 0
            })
        }
    };
    let hinted = |column: &&Column<'_>, meaning: &str| hints_at(&column.field.path, meaning);
    let is_digital = matches!(
        side,
        Side::Always {
            kind: ControlKind::Digital,
            ..
        }
    );
    let gain = match is_digital {
        true => None,
        _ => {
            let only = columns.iter().filter(|column| !with_digital(column));
            let mut only: Vec<&Column<'_>> = only.collect();
            only.sort_by_key(|column| {
                (
                    hinted(column, word::RATE),
                    !hinted(column, word::GAIN),
                    -(column.field.present as i64),
                )
            });
            let first = only.first().filter(|column| !hinted(column, word::RATE));
            first.map(|column| column.field)
        }
    };
    if let Some(gain) = gain {
        proposal.set(word::GAIN, &gain.path);
    }
    let mut others: Vec<&Column<'_>> = columns
        .iter()
        .filter(|column| gain.is_none_or(|gain| gain.slot != column.field.slot))
        .collect();
    others.sort_by_key(|column| (!hinted(column, word::RATE), -(column.field.present as i64)));
    if let Some(rate) = others.first() {
        proposal.set(word::RATE, &rate.field.path);
    }
    if columns.len() > 1 && !is_digital && !columns.iter().any(with_digital) {
        proposal
            .assumed
            .push("Which number is the gain and which the rate is a guess.".into());
        proposal.confidence -= 0.05;
    }
}

fn add_things(
    ground: &Ground<'_>,
    record: &Record,
    things: &Things,
    used: &mut BTreeSet<SlotRef>,
    proposal: &mut Proposal,
) {
    let wheels = things
        .wheels
        .iter()
        .map(|thing| (word::WHEELS, word::WHEEL, thing));
    let sounds = things
        .sounds
        .iter()
        .map(|thing| (word::SOUNDS, word::SOUND, thing));
    for (key, word, thing) in wheels.chain(sounds) {
        if proposal.part(key).is_some() {
            continue;
        }
        for field in record
            .fields
            .iter()
            .filter(|field| !used.contains(&field.slot))
        {
            let Some(told) = thing.asked(ground, record, field, word) else {
                continue;
            };
            used.insert(field.slot);
            proposal.set(key, &field.path);
            proposal.types.push((field.slot, told));
            proposal
                .reasons
                .push(format!("{} refers to {key}", field.path));
            break;
        }
    }
}

/// What the player reads: words that differ nearly everywhere, with blanks or capitals.
fn add_text(
    ground: &Ground<'_>,
    record: &Record,
    used: &BTreeSet<SlotRef>,
    proposal: &mut Proposal,
) {
    let mut best: Option<(f64, &Field)> = None;
    for field in record
        .fields
        .iter()
        .filter(|field| field.down <= 1 && !field.several)
    {
        let is_other = used.contains(&field.slot)
            || ground.gives(field.slot).is_some()
            || ground.reference(field.slot).is_some()
            || ground.path_item(field.slot).is_some()
            || ground.is_file(field.slot);
        if is_other {
            continue;
        }
        let mut texts: BTreeMap<&str, usize> = BTreeMap::new();
        for (_, value) in &field.values {
            *texts.entry(ground.text(*value)).or_default() += 1;
        }
        let all = texts.len().max(1) as f64;
        let is_text = |text: &&&str| {
            let are_words = text.contains(' ') && text.contains(char::is_alphabetic);
            are_words || text.starts_with(char::is_uppercase)
        };
        let worded = texts.keys().filter(|text| is_text(text)).count() as f64 / all;
        let english = if hints_at(&field.path, word::TEXT) {
            0.2
        } else {
            0.0
        };
        let score = worded + english;
        if score > 0.4 && best.is_none_or(|(known, _)| score > known) {
            best = Some((score, field));
        }
    }
    if let Some((_, field)) = best {
        proposal.set(word::TEXT, &field.path);
        // However few texts were seen: others may be written.
        proposal
            .types
            .push((field.slot, ValueType::single(ItemType::Text)));
    }
}
