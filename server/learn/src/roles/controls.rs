//! Controls: elements that refer to an animation and hold a word that no other of the machine has.

use super::animations::Animation;
use super::columns::{Column, most};
use super::ground::{Ground, Nodes, node_item};
use super::hints::hints_at;
use super::motions::{separator, word_type};
use super::proposal::{Part, PartValue, Proposal, word};
use super::records::{Field, Record, Records};
use super::shapes;
use super::sides::{Side, numbers, sides};
use super::things::path_of;
use crate::contexts::ContextId;
use crate::names::{Member, SlotRef};
use crate::symbols::Symbol;
use dialect::{Around, ControlKind, ItemType, Kind, ListRule, ValueType};
use foldhash::{HashMap, HashMapExt as _, HashSet};
use std::collections::{BTreeMap, BTreeSet};

/// Longer lists are no inputs.
const MOST_INPUTS: usize = 120;

/// What can be referred to from a control.
#[derive(Debug, Default)]
pub(super) struct Things {
    pub(super) wheels: Option<Thing>,
    pub(super) sounds: Vec<Thing>,
}

/// Elements with a name of a kind, or counted.
#[derive(Debug)]
pub(super) struct Thing {
    pub(super) context: ContextId,
    pub(super) kind: Option<String>,
    /// Documents and the names that are given in them.
    pub(super) names: HashSet<(u32, Symbol)>,
    /// By document, how many there are.
    counts: HashMap<u32, u32>,
}

impl Thing {
    /// Things in a context, with the field that names them, if one does.
    pub(super) fn of(
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
        }
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
    fn asked(
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
        let is_open = ground.reference(field.slot).is_none() && ground.gives(field.slot).is_none();
        if is_open && self.names.is_empty() {
            return self.counted(ground, record, field, kind);
        }
        if !is_open || self.kind.is_none() {
            return None;
        }
        let known = field
            .values
            .iter()
            .filter(|(row, value)| self.names.contains(&(record.rows[*row as usize].0, *value)));
        let different: HashSet<Symbol> = field.values.iter().map(|(_, value)| *value).collect();
        let fits = most(known.count(), field.values.len()) && different.len() > 1;
        let item = ItemType::Reference([kind].into());
        fits.then_some(ValueType::single(item))
    }
}

/// The inputs that were seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Seen {
    pub(super) analog: BTreeSet<String>,
    pub(super) digital: BTreeSet<String>,
}

/// What is known besides a control itself.
struct Others<'o> {
    things: &'o Things,
    /// Paths of numbers that digital controls have.
    digital: &'o BTreeSet<String>,
}

/// An element that drives an animation.
pub(super) struct Candidate<'r> {
    pub(super) record: &'r Record,
    animation: (String, Option<(SlotRef, ValueType)>),
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
    let mut candidates: Vec<Candidate<'_>> = Vec::new();
    for record in records
        .all
        .iter()
        .filter(|record| !taken.contains(&record.context))
    {
        let contexts = &ground.survey.groups[records.group].contexts;
        let mut around = contexts.chain(Some(record.context)).skip(1);
        if record.rows.len() < 2 || around.any(|context| channels.contains(&context)) {
            continue;
        }
        let Some(animation) = driven(ground, records, record, animations) else {
            continue;
        };
        let inputs = inputs(ground, record, animation.1.as_ref().map(|(slot, _)| *slot));
        if !inputs.is_empty() {
            candidates.push(Candidate {
                record,
                animation,
                inputs,
            });
        }
    }
    // The innermost ones.
    let contexts = &ground.survey.groups[records.group].contexts;
    let around: BTreeSet<ContextId> = candidates
        .iter()
        .flat_map(|one| contexts.chain(Some(one.record.context)).skip(1))
        .collect();
    candidates.retain(|one| !around.contains(&one.record.context));
    // Fields that tell inputs apart by element come before those that do not.
    let words = |field: &Field| -> HashSet<String> {
        field
            .values
            .iter()
            .map(|(_, value)| ground.text(*value).to_owned())
            .collect()
    };
    let all: Vec<Vec<(String, HashSet<String>)>> = candidates
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
            let own = all[at].iter().find(|(path, _)| *path == field.path);
            for others in all
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != at)
                .map(|(_, one)| one)
            {
                let same = others.iter().find(|(path, _)| *path == field.path);
                if let (Some((_, own)), Some((_, same))) = (own, same) {
                    *score += if own.is_disjoint(same) { 0.8 } else { -0.8 };
                }
            }
        }
        one.inputs
            .sort_by(|(one, _), (other, _)| other.total_cmp(one));
    }
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
        proposals.push(propose(
            ground, records, nodes, one, side, &other, &mut seen,
        ));
    }
    (proposals, seen)
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

/// Fields of an element that may say the input: words of a list, seldom twice in one document.
fn inputs<'r>(
    ground: &Ground<'_>,
    record: &'r Record,
    but: Option<SlotRef>,
) -> Vec<(f64, &'r Field)> {
    let mut found = Vec::new();
    for field in record
        .fields
        .iter()
        .filter(|field| field.down <= 1 && !field.several)
    {
        let is_other = Some(field.slot) == but
            || ground.gives(field.slot).is_some()
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
        let is_list =
            (3..=MOST_INPUTS).contains(&different) && (alone * 2 <= different || alone * 4 <= all);
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

fn propose(
    ground: &Ground<'_>,
    records: &Records,
    nodes: &Nodes,
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
        let mut instead = proposal.clone();
        instead.others.clear();
        for part in instead
            .parts
            .iter_mut()
            .filter(|part| part.key == word::INPUT)
        {
            part.value = PartValue::Path(other.path.clone());
        }
        instead
            .types
            .retain(|(slot, _)| *slot != input.slot && *slot != other.slot);
        instead
            .types
            .push((other.slot, ValueType::single(ItemType::Input(fixed))));
        let text = format!("the input is {}", other.path);
        proposal.others.push((text, instead));
    }
    proposal
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
            only.first().map(|column| column.field)
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

/// What the player reads: text that differs nearly everywhere, with blanks or capitals.
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
        let is_text = |text: &&&str| text.contains(' ') || text.starts_with(char::is_uppercase);
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
