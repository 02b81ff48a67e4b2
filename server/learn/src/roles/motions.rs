//! What channels move, and how: told by how their values compare with where the nodes rest.

mod property;
mod single;

use super::answers::{Answers, Told};
use super::axes;
use super::channels::{Channel, Ends, Form, Window};
use super::columns::Column;
use super::ground::Ground;
use super::hints::hints_at;
use super::measures::{Measures, Row};
use super::proposal::{Part, PartValue, Proposal, word};
use super::records::{Field, Record};
use super::shapes::Value;
use crate::names::SlotRef;
use crate::separators::separator;
use dialect::{Around, Bounds, ItemType, ListRule, Property, Separator, ValueType, Word, WordList};
use property::{Moved, moved};
use scene::Node;
use std::collections::BTreeSet;

/// What all channels of a library have in common.
#[derive(Debug)]
pub(super) struct Common {
    pub(super) measures: Measures,
    pub(super) answers: Option<Answers>,
}

/// The angles of rotations.
fn angles(ends: &Ends, moved: &Moved, columns: &[Column<'_>]) -> Vec<f64> {
    let turns = |row: &usize| moved.of(*row, columns) == Some(Property::Rotation);
    let rows = (0..ends.values.len()).filter(turns);
    let values = rows.filter_map(|row| ends.values[row].as_ref()).flatten();
    values.filter_map(Value::vector).flatten().collect()
}

/// Says what a channel is. `nodes`: the node of each row.
pub(super) fn propose(
    ground: &Ground<'_>,
    record: &Record,
    channel: &Channel,
    nodes: &[Option<&Node>],
    common: &Common,
) -> Proposal {
    let mut proposal = Proposal {
        role: word::CHANNEL,
        confidence: 0.95,
        ..Proposal::default()
    };
    proposal.set(word::NODE, &channel.node.path);
    let node = ValueType::single(channel.node_item.clone());
    proposal.types.push((channel.node.slot, node));
    add_times(&channel.window, &mut proposal);
    let found = nodes.iter().flatten().count();
    if found > 0 {
        let rows = nodes.len();
        proposal.reasons.push(format!(
            "{found} of {rows} elements lead to a node of their scene"
        ));
    } else {
        proposal.confidence -= 0.15;
        proposal
            .assumed
            .push("No scene was there to compare with.".into());
    }
    let contexts = &ground.survey.groups[channel.node.slot.group].contexts;
    let moving = Moving {
        called: ground.survey.corpus.called(contexts.name(channel.context)),
        columns: columns_besides(ground, record, channel),
        channel,
        nodes,
        common,
    };
    let mut said = None;
    for ends in &channel.ends {
        if let Moved::Said { column, .. } = moving.add_ends(ends, &mut proposal) {
            said = Some(column);
        }
    }
    for path in &channel.unknown {
        proposal.confidence -= 0.2;
        let note =
            format!("What the values of {path} move could not be told, so they are left out.");
        proposal.assumed.push(note);
    }
    add_easing(&moving.columns, said, channel, &mut proposal);
    if channel.reaches_up {
        proposal.confidence -= 0.05;
    }
    proposal
}

/// Says where the times of a channel stand.
fn add_times(window: &Window, proposal: &mut Proposal) {
    let time = |list: Option<ListRule>| ValueType {
        item: ItemType::Number {
            range: Bounds::default(),
            unit: None,
        },
        list,
        around: Around::default(),
    };
    let reason = match window {
        Window::Pair(begin, end) => {
            proposal.set(word::BEGIN, &begin.path);
            proposal.set(word::END, &end.path);
            let both = [begin, end].map(|field| (field.slot, time(None)));
            proposal.types.extend(both);
            format!("{} is less than {} nearly everywhere", begin.path, end.path)
        }
        Window::Lasting(begin, duration) => {
            proposal.set(word::BEGIN, &begin.path);
            proposal.set(word::DURATION, &duration.path);
            let both = [begin, duration].map(|field| (field.slot, time(None)));
            proposal.types.extend(both);
            format!(
                "{} and {} together are when others begin",
                begin.path, duration.path
            )
        }
        Window::List(window, mark) => {
            proposal.set(word::WINDOW, &window.path);
            let mut two = time(Some(list_of_two(mark)));
            if mark == "-" {
                two.item = not_negative();
            }
            proposal.types.push((window.slot, two));
            format!("{} holds two rising times", window.path)
        }
        Window::Keyframes(keyframes) => {
            let several = keyframes.times.iter().filter(|times| times.len() > 1);
            proposal.types.push((keyframes.time.slot, time(None)));
            format!(
                "{} rises from {} to {} in {} elements",
                keyframes.time.path,
                keyframes.at,
                keyframes.at,
                several.count()
            )
        }
    };
    proposal.reasons.push(reason);
}

/// The columns of a channel that hold neither its node, its times or its values nor a name.
fn columns_besides<'c>(
    ground: &Ground<'_>,
    record: &Record,
    channel: &'c Channel,
) -> Vec<Column<'c>> {
    let mut used: BTreeSet<SlotRef> = [channel.node.slot].into();
    used.extend(channel.time_slots());
    for ends in &channel.ends {
        let both = [Some(&ends.from), ends.to.as_ref()];
        used.extend(both.into_iter().flatten().flat_map(axes::slots));
        used.extend(ends.along.iter().map(|along| along.field.slot));
    }
    let besides = channel.fields.iter().filter(|field| {
        !used.contains(&field.slot)
            && ground.gives(field.slot).is_none()
            && ground.reference(field.slot).is_none()
    });
    besides
        .map(|field| Column::of(ground, record, field))
        .collect()
}

/// What a channel moves, and what may tell how.
struct Moving<'c> {
    channel: &'c Channel,
    /// What its element is called.
    called: &'c str,
    /// See [`columns_besides`].
    columns: Vec<Column<'c>>,
    /// By row.
    nodes: &'c [Option<&'c Node>],
    common: &'c Common,
}

impl Moving<'_> {
    /// Says what two values of the channel mean. Gives back what they move.
    fn add_ends(&self, ends: &Ends, proposal: &mut Proposal) -> Moved {
        let Self {
            channel,
            called,
            columns,
            nodes,
            common,
        } = self;
        let mut is_from_rest = false;
        let (moved, is_change) = match ends.form {
            Form::Both | Form::Keyframes if starts_at_nought(ends, nodes, &common.measures) => {
                let moved = single::told(ends, called, columns, proposal);
                is_from_rest = are_added(ends, &moved, columns, nodes);
                if !is_from_rest {
                    proposal.from_nought.push(proposal.motions.len());
                }
                (moved, false)
            }
            Form::Single => single::moved(ends, called, columns, nodes, &common.measures, proposal),
            Form::Both | Form::Keyframes => {
                (moved(ends, called, columns, nodes, common, proposal), false)
            }
        };
        proposal.angles.extend(angles(ends, &moved, columns));
        let motion = property_of(&moved, columns, proposal);
        add_motion(ends, &moved, nodes, common, proposal, motion);
        if let Some(along) = &ends.along {
            let path = &along.field.path;
            proposal.types.push((along.field.slot, along.value_type()));
            proposal.reasons.extend(along.reason.clone());
            if !along.assumed.is_empty() {
                proposal.confidence -= 0.1;
                proposal.assumed.extend(along.assumed.iter().cloned());
            }
            proposal.reasons.push(format!("{path} says the axis"));
        }
        let values = proposal.motions.last_mut().into_iter().flatten();
        for part in values.filter(|part| part.key == word::ENDS) {
            match (&channel.window, ends.form) {
                (Window::Keyframes(keyframes), _) => {
                    let value = place(word::VALUE, ends, &ends.from);
                    let at = Part::path(word::AT, &keyframes.at);
                    let time = Part::path(word::TIME, &keyframes.time.path);
                    part.key = word::KEYFRAMES;
                    part.value = PartValue::Parts(vec![at, time, value]);
                }
                (_, Form::Single) => part.key = if is_change { word::BY } else { word::TO },
                _ => {}
            }
        }
        if is_from_rest {
            proposal.reasons.push(format!(
                "{} is nought nearly everywhere although nodes rest elsewhere, so values are added to that",
                ends.from.path
            ));
            note_from_rest(proposal, None);
        }
        moved
    }
}

/// Where a value stands: in one place, in one for each axis, or beside its axis.
fn place(key: &'static str, ends: &Ends, field: &Field) -> Part {
    match &ends.along {
        Some(along) => along.place(key, &field.path, ends.form == Form::Keyframes),
        None => Part::place(key, field),
    }
}

/// Whether values are nought, at one end, nearly everywhere, and never where their node rests.
fn starts_at_nought(ends: &Ends, nodes: &[Option<&Node>], measures: &Measures) -> bool {
    let (mut all, mut nought, mut placed, mut at_rest) = (0, 0, 0, 0);
    for (_, row) in rows(ends, nodes) {
        let [Value::Vector(_), Value::Vector(_)] = row.ends else {
            continue;
        };
        all += 1;
        let is_at_rest =
            row.is_shifted(&measures.length()) || row.is_swung(&measures.angle(), measures.order());
        at_rest += usize::from(is_at_rest);
        nought += usize::from(row.is_from_nought());
        placed += usize::from(row.is_from_nought() && row.is_placed());
    }
    placed >= 3 && nought * 10 >= all * 9 && at_rest * 20 <= all
}

/// Whether such values are added to how nodes rest: where something is shifted, or rests turned.
fn are_added(ends: &Ends, moved: &Moved, columns: &[Column<'_>], nodes: &[Option<&Node>]) -> bool {
    rows(ends, nodes).any(|(at, row)| match moved.of(at, columns) {
        Some(Property::Translation) => row.is_placed(),
        Some(Property::Rotation) => row.is_turned(),
        _ => false,
    })
}

/// Where some motions are added to how nodes rest, those that start at nought are, too, though nothing else shows it.
pub(super) fn agree_on_rest(proposals: &mut [Proposal]) {
    let is_added = |part: &Part| part.key == word::FROM_REST;
    let mut motions = proposals.iter().flat_map(|one| &one.motions).flatten();
    if !motions.any(is_added) {
        return;
    }
    for proposal in proposals {
        for motion in std::mem::take(&mut proposal.from_nought) {
            note_from_rest(proposal, Some(motion));
        }
    }
}

/// Says so of a motion, or of the last one; what shows and hides is a motion of its own then.
fn note_from_rest(proposal: &mut Proposal, motion: Option<usize>) {
    let last = proposal.motions.len().saturating_sub(1);
    let Some(parts) = proposal.motions.get_mut(motion.unwrap_or(last)) else {
        return;
    };
    let shown = parts.clone();
    parts.push(Part {
        key: word::FROM_REST,
        value: PartValue::Yes,
    });
    let is_shown = |meaning: &str| meaning == Property::Visibility.as_str();
    let keep = |parts: &mut Vec<Part>, shows: bool| {
        for part in parts.iter_mut().filter(|part| part.key == word::PROPERTY) {
            if let PartValue::Words { words, .. } = &mut part.value {
                words.retain(|(meaning, _)| is_shown(meaning) == shows);
            }
        }
    };
    let says = |part: &Part| match &part.value {
        PartValue::Words { words, .. } => words.iter().any(|(meaning, _)| is_shown(meaning)),
        _ => false,
    };
    if shown.iter().any(says) {
        keep(parts, false);
        let mut shown = shown;
        keep(&mut shown, true);
        proposal.motions.push(shown);
    }
}

/// What a minus may stand between.
fn not_negative() -> ItemType {
    ItemType::Number {
        range: Bounds {
            min: Some(0.0),
            ..Bounds::default()
        },
        unit: None,
    }
}

fn list_of_two(mark: &str) -> ListRule {
    ListRule {
        separator: separator(mark),
        min: 2,
        max: Some(2),
    }
}

fn rows<'r>(ends: &'r Ends, nodes: &[Option<&'r Node>]) -> impl Iterator<Item = (usize, Row<'r>)> {
    let rows = ends.values.iter().zip(nodes).enumerate();
    rows.filter_map(|(at, (ends, node))| {
        Some((
            at,
            Row {
                ends: ends.as_ref()?,
                node: (*node)?,
            },
        ))
    })
}

/// The part that says what moves.
fn property_of(moved: &Moved, columns: &[Column<'_>], proposal: &mut Proposal) -> Part {
    match moved {
        Moved::Always(property) => {
            let value = PartValue::Word(property.as_str());
            Part {
                key: word::PROPERTY,
                value,
            }
        }
        Moved::Said { column, words } => {
            let column = &columns[*column];
            let words = words
                .iter()
                .map(|(property, words)| (property.as_str(), words.clone()));
            let value = PartValue::Words {
                at: column.field.path.clone(),
                words: words.collect(),
            };
            proposal.types.push((column.field.slot, word_type(column)));
            Part {
                key: word::PROPERTY,
                value,
            }
        }
    }
}

fn add_motion(
    ends: &Ends,
    moved: &Moved,
    nodes: &[Option<&Node>],
    common: &Common,
    proposal: &mut Proposal,
    property: Part,
) {
    let mut parts = vec![property];
    let item = item(ends, moved, common);
    let list = ends
        .outer
        .as_deref()
        .filter(|_| ends.to.is_none())
        .map(list_of_two);
    let value_type = ValueType {
        item,
        list,
        around: Around::default(),
    };
    for field in [Some(&ends.from), ends.to.as_ref()].into_iter().flatten() {
        let slots = axes::slots(field).map(|slot| (slot, value_type.clone()));
        proposal.types.extend(slots);
    }
    match &ends.to {
        None => parts.push(place(word::ENDS, ends, &ends.from)),
        Some(to) => {
            let (mut from, mut to) = (&ends.from, to);
            if is_backwards(ends, nodes, &common.measures, proposal) {
                std::mem::swap(&mut from, &mut to);
            }
            parts.push(place(word::FROM, ends, from));
            parts.push(place(word::TO, ends, to));
        }
    }
    proposal.motions.push(parts);
    let has_words = ends
        .values
        .iter()
        .flatten()
        .any(|[from, _]| matches!(from, Value::Word(_)));
    if let Some(answers) = common.answers.as_ref().filter(|_| has_words) {
        let Answers { yes, no, told } = answers;
        match told {
            Told::Scenes => proposal.reasons.push(format!(
                "\"{yes}\" and \"{no}\" go with nodes that rest shown and hidden"
            )),
            Told::English => {}
            Told::Assumed => {
                proposal.confidence -= 0.1;
                proposal.assumed.push(format!(
                    "\"{yes}\" is taken for shown, \"{no}\" for hidden."
                ));
            }
        }
    }
}

fn item(ends: &Ends, moved: &Moved, common: &Common) -> ItemType {
    match (moved, &common.answers) {
        _ if ends.from.axes.is_some() || ends.along.is_some() => ItemType::Number {
            range: Bounds::default(),
            unit: None,
        },
        (Moved::Always(Property::Visibility), Some(answers)) => ItemType::Boolean {
            yes: vec![answers.yes.clone()],
            no: vec![answers.no.clone()],
        },
        (Moved::Always(Property::Scale), _) if ends.inner.is_none() => ItemType::Number {
            range: Bounds::default(),
            unit: None,
        },
        _ => ItemType::MovedValue {
            separator: ends
                .inner
                .as_deref()
                .map_or(Separator::WhiteSpace, separator),
            units: Box::default(),
        },
    }
}

/// Whether the value that comes second in the files is the one that motions start with: more nodes rest there.
fn is_backwards(
    ends: &Ends,
    nodes: &[Option<&Node>],
    measures: &Measures,
    proposal: &mut Proposal,
) -> bool {
    let (mut first, mut second) = (0, 0);
    for (_, row) in rows(ends, nodes) {
        let rest = &row.node.rest;
        let is_rest = |end: &Value| match end {
            Value::Vector(end) => {
                let end = glam::DVec3::from(*end);
                // Along one axis, all directions are the same.
                if let Some((unit, _)) = measures.length.as_ref().filter(|_| end.is_nan()) {
                    return row.is_place(end, unit);
                }
                let place = rest.translation;
                let along = end.normalize_or_zero().dot(place.normalize_or_zero()) > 0.99999;
                // In whatever unit: the same direction, and the other end is not.
                place.length() > 1e-6 && along || end == rest.scale()
            }
            _ => false,
        };
        match (is_rest(&row.ends[0]), is_rest(&row.ends[1])) {
            (true, false) => first += 1,
            (false, true) => second += 1,
            _ => {}
        }
    }
    let is_backwards = second > first * 2 + 2;
    if is_backwards {
        proposal.reasons.push(format!(
            "nodes rest at the second value in {second} places, at the first in {first}"
        ));
    }
    is_backwards
}

pub(super) fn word_type(column: &Column<'_>) -> ValueType {
    let words = column.words().unwrap_or_default().into_iter();
    let words = words
        .map(|(text, _)| Word {
            text,
            doc: String::new(),
        })
        .collect();
    let item = ItemType::Word(WordList { name: None, words }.into());
    ValueType::single(item)
}

/// A word that says how the motion passes.
fn add_easing(
    columns: &[Column<'_>],
    said: Option<usize>,
    channel: &Channel,
    proposal: &mut Proposal,
) {
    let candidates = columns.iter().enumerate().filter(|(at, column)| {
        let of_channel = !column.field.path.starts_with("..");
        Some(*at) != said && column.field.down <= 1 && of_channel
    });
    let candidates = candidates.filter_map(|(_, column)| {
        let words = column.words()?;
        (1..=5).contains(&words.len()).then_some((column, words))
    });
    const MEANINGS: [&str; 3] = [word::LINEAR, word::STEP, word::SMOOTH];
    let hinted = |word: &str| MEANINGS.into_iter().find(|meaning| hints_at(word, meaning));
    let known = |words: &[(String, usize)]| {
        words
            .iter()
            .filter(|(word, _)| hinted(word).is_some())
            .count()
    };
    let best = candidates.max_by_key(|(_, words)| (known(words), words.len()));
    let Some((column, words)) = best else { return };
    let mut meanings: Vec<(&'static str, Vec<String>)> = Vec::new();
    let is_everywhere = column.share > 0.95;
    let mut guessed = Vec::new();
    for (word, _) in &words {
        let is_free = |meaning: &str| meanings.iter().all(|(known, _)| *known != meaning);
        let by_words = words_only(column, word, channel);
        let meaning = match hinted(word) {
            Some(meaning) => meaning,
            None if by_words => word::STEP,
            None if is_everywhere && is_free(word::LINEAR) => word::LINEAR,
            None => word::SMOOTH,
        };
        if hinted(word).is_none() {
            guessed.push(format!("\"{word}\" is taken for {meaning}."));
        }
        match meanings.iter_mut().find(|(known, _)| *known == meaning) {
            Some((_, words)) => words.push(word.clone()),
            None => meanings.push((meaning, vec![word.clone()])),
        }
    }
    proposal.assumed.extend(guessed);
    let value = PartValue::Words {
        at: column.field.path.clone(),
        words: meanings,
    };
    proposal.parts.push(Part {
        key: word::EASING,
        value,
    });
    proposal.types.push((column.field.slot, word_type(column)));
}

/// Whether a word goes only with answers, which change all at once.
fn words_only(column: &Column<'_>, word: &str, channel: &Channel) -> bool {
    let Some(ends) = channel.ends.first() else {
        return false;
    };
    let rows = ends
        .values
        .iter()
        .enumerate()
        .filter(|(row, _)| column.word(*row) == Some(word));
    let mut rows = rows.filter_map(|(_, pair)| pair.as_ref()).peekable();
    rows.peek().is_some() && rows.all(|[from, _]| matches!(from, Value::Word(_)))
}
