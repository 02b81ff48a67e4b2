//! Controls: elements that refer to an animation and hold a word that no other of the machine has.

mod parts;
mod thing;

pub(super) use thing::{Thing, Things};

use super::animations::Animation;
use super::ground::{Ground, Nodes};
use super::hints::hints_at;
use super::proposal::{Proposal, word};
use super::records::{Field, Record, Records};
use super::shapes;
use super::sides::{Side, numbers, sides};
use crate::contexts::ContextId;
use crate::names::SlotRef;
use dialect::{ControlKind, ValueType};
use foldhash::{HashMap, HashMapExt as _, HashSet};
use parts::{Others, Seen};
use std::collections::BTreeSet;

/// Longer lists are no inputs.
const MOST_INPUTS: usize = 120;

/// An element that drives an animation.
pub(super) struct Candidate<'r> {
    pub(super) record: &'r Record,
    pub(super) animation: (String, Option<(SlotRef, ValueType)>),
    /// Fields that may be the input, the likeliest first.
    pub(super) inputs: Vec<(f64, &'r Field)>,
}

pub(super) fn find(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
    animations: &[Animation],
    things: &Things,
    taken: &BTreeSet<ContextId>,
    channels: &BTreeSet<ContextId>,
) -> (Vec<Proposal>, Seen) {
    let contexts = &ground.survey.groups[records.group].contexts;
    let free = records.all.iter().filter(|record| {
        let mut around = contexts.chain(Some(record.context)).skip(1);
        !taken.contains(&record.context)
            && record.rows.len() >= 2
            && !around.any(|context| channels.contains(&context))
    });
    let candidates =
        free.filter_map(|record| Candidate::of(ground, records, record, animations, things));
    let mut candidates: Vec<Candidate<'_>> = candidates.collect();
    // The innermost ones.
    let around: BTreeSet<ContextId> = candidates
        .iter()
        .flat_map(|one| contexts.chain(Some(one.record.context)).skip(1))
        .collect();
    candidates.retain(|one| !around.contains(&one.record.context));
    prefer_telling(ground, &mut candidates);
    let sides = sides(ground, &candidates);
    // Numbers that digital controls have too.
    let digital = candidates.iter().zip(&sides).filter(|(_, side)| {
        matches!(
            side,
            Side::Always {
                kind: ControlKind::Digital,
                ..
            }
        )
    });
    let digital: BTreeSet<String> = digital
        .flat_map(|(one, _)| numbers(ground, one.record))
        .map(|column| column.field.path.clone())
        .collect();
    let mut seen = Seen::default();
    let mut proposals = Vec::new();
    for (one, side) in candidates.iter().zip(sides) {
        let other = Others {
            things,
            digital: &digital,
        };
        let place = (ground, records, nodes);
        proposals.push(parts::propose(place, one, side, &other, &mut seen));
    }
    (proposals, seen)
}

impl<'r> Candidate<'r> {
    fn of(
        ground: &Ground<'_>,
        records: &Records,
        record: &'r Record,
        animations: &[Animation],
        things: &Things,
    ) -> Option<Self> {
        let animation = driven(ground, records, record, animations)?;
        let but = animation.1.as_ref().map(|(slot, _)| *slot);
        let is_sound = |field: &Field| {
            let asks = |thing: &Thing| thing.asked(ground, record, field, word::SOUND).is_some();
            things.sounds.iter().any(asks)
        };
        // Names of sounds are inputs only if nothing else is, and few words are a list only if nothing else is one.
        let lists = |least| {
            let mut lists = inputs(ground, record, but, least);
            lists.retain(|(_, field)| !is_sound(field));
            lists
        };
        let mut found = [lists(3), lists(2), inputs(ground, record, but, 3)].into_iter();
        Some(Self {
            record,
            animation,
            inputs: found.find(|found| !found.is_empty())?,
        })
    }
}

/// Puts fields that tell inputs apart by element before those that do not.
fn prefer_telling(ground: &Ground<'_>, candidates: &mut [Candidate<'_>]) {
    let words = |field: &Field| -> HashSet<String> {
        let values = field.values.iter();
        values
            .map(|(_, value)| ground.text(*value).to_owned())
            .collect()
    };
    let all: Vec<HashMap<String, HashSet<String>>> = candidates
        .iter()
        .map(|one| {
            let fields = one.inputs.iter();
            fields
                .map(|(_, field)| (field.path.clone(), words(field)))
                .collect()
        })
        .collect();
    for (at, one) in candidates.iter_mut().enumerate() {
        for (score, field) in &mut one.inputs {
            let own = &all[at][&field.path];
            let others = all.iter().enumerate().filter(|(other, _)| *other != at);
            for same in others.filter_map(|(_, others)| others.get(&field.path)) {
                *score += if own.is_disjoint(same) { 0.8 } else { -0.8 };
            }
        }
        one.inputs
            .sort_by(|(one, _), (other, _)| other.total_cmp(one));
    }
}

/// The animation that an element drives: by its name or number, or because it stands in it.
fn driven(
    ground: &Ground<'_>,
    records: &Records,
    record: &Record,
    animations: &[Animation],
) -> Option<(String, Option<(SlotRef, ValueType)>)> {
    for field in record
        .fields
        .iter()
        .filter(|field| !field.several && record.share(field) >= 0.8)
    {
        let mut told = animations.iter().filter_map(|animation| {
            animation
                .thing
                .asked(ground, record, field, animation.proposal.role)
        });
        if let Some(told) = told.find(|told| told.list.is_none()) {
            return Some((field.path.clone(), Some((field.slot, told))));
        }
    }
    let contexts = &ground.survey.groups[records.group].contexts;
    for (up, context) in contexts
        .chain(Some(record.context))
        .enumerate()
        .skip(1)
        .take(2)
    {
        let animation = animations
            .iter()
            .find(|animation| animation.context == context);
        if let Some((_, name)) = animation.and_then(|animation| animation.named.as_ref()) {
            return Some((format!("{}{name}", "../".repeat(up)), None));
        }
    }
    None
}

/// Fields of an element that may say the input: words of a list, at least so many, seldom twice in one document.
fn inputs<'r>(
    ground: &Ground<'_>,
    record: &'r Record,
    but: Option<SlotRef>,
    least: usize,
) -> Vec<(f64, &'r Field)> {
    let mut found = Vec::new();
    for field in record
        .fields
        .iter()
        .filter(|field| field.down <= 1 && !field.several)
    {
        let is_other = Some(field.slot) == but
            || ground
                .gives(field.slot)
                .is_some_and(|kind| ground.is_asked_for(kind))
            || ground.is_file(field.slot)
            || ground.path_item(field.slot).is_some()
            || ground
                .reference(field.slot)
                .is_some_and(|one| one.evidence.exceptions.is_empty())
            || field.path.contains(':');
        if is_other || record.share(field) < 0.9 {
            continue;
        }
        let mut files: HashMap<&str, BTreeSet<u32>> = HashMap::new();
        let mut again = 0;
        for (row, value) in &field.values {
            let document = record.rows[*row as usize].0;
            let text = ground.text(*value);
            again += usize::from(!files.entry(text).or_default().insert(document));
        }
        let is_number = |text: &&str| shapes::row(text, &ground.notation.numbers).is_some();
        let different = files.len();
        let all = field.values.len();
        let alone = files.values().filter(|files| files.len() == 1).count();
        // Words of one list come again in other machines, in a small library not all of them.
        let comes_again = alone * 2 <= different || alone * 4 <= all || different * 3 <= all * 2;
        let is_list = (least..=MOST_INPUTS).contains(&different) && comes_again;
        if !is_list || files.keys().all(is_number) {
            continue;
        }
        let blanks = files.keys().filter(|text| text.contains(' ')).count();
        let capitals = files
            .keys()
            .filter(|text| text.starts_with(char::is_uppercase))
            .count();
        let hinted = files
            .keys()
            .filter(|text| hints_at(text, word::ANALOG) || hints_at(text, word::DIGITAL))
            .count();
        let share = |count: usize, of: usize| count as f64 / of.max(1) as f64;
        let score = 1.5 * (1.0 - (4.0 * share(again, all)).min(1.0)) + share(different.min(8), 8)
            - 0.4 * share(blanks, different)
            - 0.4 * share(capitals, different)
            - share(alone, different)
            + 0.3 * share(hinted, different);
        found.push((score, field));
    }
    found.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    found
}
