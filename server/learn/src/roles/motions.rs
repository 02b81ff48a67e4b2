//! What channels move, and how: told by how their values compare with where the nodes rest.

use super::answers::{Answers, Told};
use super::channels::{Channel, Ends, Window};
use super::columns::Column;
use super::ground::Ground;
use super::hints::hints_at;
use super::measures::{Measures, Row};
use super::proposal::{Part, PartValue, Proposal, word};
use super::records::Record;
use super::shapes::Value;
use crate::names::SlotRef;
use dialect::{
    Around, Bounds, ItemType, Kinded as _, ListRule, Property, Separator, ValueType, Word, WordList,
};
use scene::Node;
use std::collections::{BTreeMap, BTreeSet};

/// More words are no list of properties or of ways to move.
const MOST_WORDS: usize = 8;

/// What all channels of a library have in common.
#[derive(Debug)]
pub(super) struct Common {
    pub(super) measures: Measures,
    pub(super) answers: Option<Answers>,
}

/// One property, or several that a word tells apart.
enum Moved {
    Always(Property),
    Said {
        column: usize,
        words: Vec<(Property, Vec<String>)>,
    },
}

/// Votes for properties.
#[derive(Clone, Debug, Default)]
struct Votes(BTreeMap<&'static str, f64>);

impl Votes {
    fn add(&mut self, row: &Row<'_>, measures: &Measures) {
        for (property, weight) in row.votes(measures) {
            *self.0.entry(property.as_str()).or_default() += weight;
        }
    }

    /// The property with most votes, with how many, and how many speak for others.
    fn best(&self) -> Option<(Property, f64, f64)> {
        let (word, most) = self
            .0
            .iter()
            .max_by(|one, other| one.1.total_cmp(other.1))?;
        let property = Property::WORDS.iter().find(|(known, _)| known == word)?.1;
        let all: f64 = self.0.values().sum();
        Some((property, *most, all - most))
    }
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
    let of = |item: ItemType, list: Option<ListRule>| ValueType {
        item,
        list,
        around: Around::default(),
    };
    proposal.set(word::NODE, &channel.node.path);
    proposal
        .types
        .push((channel.node.slot, of(channel.node_item.clone(), None)));
    let time = || ItemType::Number {
        range: Bounds::default(),
        unit: None,
    };
    match &channel.window {
        Window::Pair(begin, end) => {
            proposal.set(word::BEGIN, &begin.path);
            proposal.set(word::END, &end.path);
            proposal
                .types
                .extend([begin, end].map(|field| (field.slot, of(time(), None))));
            proposal.reasons.push(format!(
                "{} is less than {} nearly everywhere",
                begin.path, end.path
            ));
        }
        Window::List(window, mark) => {
            proposal.set(word::WINDOW, &window.path);
            proposal
                .types
                .push((window.slot, of(time(), Some(list_of_two(mark)))));
            proposal
                .reasons
                .push(format!("{} holds two rising times", window.path));
        }
    }
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
    let mut used: BTreeSet<SlotRef> = [channel.node.slot].into();
    match &channel.window {
        Window::Pair(begin, end) => used.extend([begin.slot, end.slot]),
        Window::List(window, _) => used.extend([window.slot]),
    }
    for ends in &channel.ends {
        used.insert(ends.from.slot);
        used.extend(ends.to.as_ref().map(|to| to.slot));
    }
    let columns: Vec<Column<'_>> = channel
        .fields
        .iter()
        .filter(|field| {
            !used.contains(&field.slot)
                && ground.gives(field.slot).is_none()
                && ground.reference(field.slot).is_none()
        })
        .map(|field| Column::of(ground, record, field))
        .collect();
    let mut said = None;
    for ends in &channel.ends {
        let moved = moved(channel, ends, &columns, nodes, common, &mut proposal);
        add_motion(ends, &moved, &columns, nodes, common, &mut proposal);
        if let Moved::Said { column, .. } = moved {
            said = Some(column);
        }
    }
    add_easing(&columns, said, channel, &mut proposal);
    if channel.reaches_up {
        proposal.confidence -= 0.05;
    }
    proposal
}

fn list_of_two(mark: &str) -> ListRule {
    ListRule {
        separator: separator(mark),
        min: 2,
        max: Some(2),
    }
}

pub(super) fn separator(mark: &str) -> Separator {
    match mark.trim() {
        "" => Separator::WhiteSpace,
        mark => Separator::Text(mark.to_owned()),
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

/// Which property these ends are of.
fn moved(
    channel: &Channel,
    ends: &Ends,
    columns: &[Column<'_>],
    nodes: &[Option<&Node>],
    common: &Common,
    proposal: &mut Proposal,
) -> Moved {
    let rows: Vec<(usize, Row<'_>)> = rows(ends, nodes).collect();
    let mut all = Votes::default();
    rows.iter()
        .for_each(|(_, row)| all.add(row, &common.measures));
    let stray_at_all = all.best().map_or(f64::MAX, |(.., others)| others);
    let are_mixed = mixed(ends);
    // The word that tells properties apart: less speaks against its parts than against the whole.
    let mut best: Option<(f64, usize)> = None;
    for (at, column) in columns.iter().enumerate() {
        let Some(words) = column.words().filter(|_| column.share >= 0.9) else {
            continue;
        };
        if words.len() < 2 || words.len() > MOST_WORDS || (are_mixed && !splits(ends, column)) {
            continue;
        }
        let mut stray = 0.0;
        for (word, _) in &words {
            let mut votes = Votes::default();
            let of_word = rows
                .iter()
                .filter(|(row, _)| column.word(*row) == Some(word));
            of_word.for_each(|(_, row)| votes.add(row, &common.measures));
            stray += votes.best().map_or(0.0, |(.., others)| others);
        }
        if best.is_none_or(|(known, _)| stray < known) {
            best = Some((stray, at));
        }
    }
    let is_needed = |stray: f64| are_mixed || stray * 2.0 + 2.0 < stray_at_all;
    if let Some((_, at)) = best.filter(|(stray, _)| *stray == 0.0 || is_needed(*stray))
        && (are_mixed || is_needed(best.map_or(0.0, |(stray, _)| stray)))
    {
        return said(at, &columns[at], ends, &rows, common, proposal);
    }
    let name = name(channel, ends);
    let is_word = ends
        .values
        .iter()
        .flatten()
        .all(|[from, _]| matches!(from, Value::Word(_)));
    let is_factor = ends
        .values
        .iter()
        .flatten()
        .all(|[from, _]| matches!(from, Value::Number(_)));
    let property = match all.best() {
        _ if is_word => Property::Visibility,
        _ if is_factor => Property::Scale,
        Some((property, votes, others)) if votes > others => {
            proposal.reasons.push(format!(
                "{} of {} start or end where their node rests, taken as {}",
                votes.round(),
                rows.len(),
                property.as_str()
            ));
            property
        }
        _ => guessed(&name, ends, proposal),
    };
    Moved::Always(property)
}

/// What ends are called: their own element, where that is not the channel itself.
fn name(channel: &Channel, ends: &Ends) -> String {
    let own = ends
        .from
        .path
        .rsplit_once('/')
        .map(|(way, _)| way.to_owned());
    let list = ends.to.is_none().then(|| ends.from.path.clone());
    let _ = channel;
    own.or(list).unwrap_or_default()
}

/// Without scenes: from English, and from how values look.
fn guessed(name: &str, ends: &Ends, proposal: &mut Proposal) -> Property {
    let hinted = Property::WORDS
        .iter()
        .find(|(word, _)| hints_at(name, word));
    let is_whole = |[from, to]: &[Value; 2]| {
        [from, to]
            .iter()
            .all(|end| end.vector().is_some_and(|end| end == [1.0; 3]))
    };
    let vectors = ends.values.iter().flatten();
    let ones = vectors.clone().filter(|pair| is_one(pair)).count();
    let property = match hinted {
        Some((_, property)) => *property,
        None if ones * 2 > vectors.clone().count() && !vectors.clone().all(is_whole) => {
            Property::Scale
        }
        None => Property::Translation,
    };
    proposal.confidence -= 0.3;
    proposal.assumed.push(format!(
        "That {name} moves the {} is a guess.",
        property.as_str()
    ));
    property
}

fn is_one(pair: &[Value; 2]) -> bool {
    pair.iter().any(|end| end.vector() == Some([1.0; 3]))
}

/// Whether some values are words and others are not.
fn mixed(ends: &Ends) -> bool {
    let words = ends
        .values
        .iter()
        .flatten()
        .filter(|[from, _]| matches!(from, Value::Word(_)))
        .count();
    let all = ends.values.iter().flatten().count();
    words > 0 && words * 50 > all && words < all
}

/// Whether each word of a column goes either with words or with others.
fn splits(ends: &Ends, column: &Column<'_>) -> bool {
    let mut seen: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for (at, pair) in ends.values.iter().enumerate() {
        if let (Some(word), Some([from, _])) = (column.word(at), pair) {
            let seen = seen.entry(word).or_default();
            match from {
                Value::Word(_) => seen.0 += 1,
                _ => seen.1 += 1,
            }
        }
    }
    seen.values()
        .all(|(words, others)| words.min(others) * 20 <= words + others)
}

/// Properties by the words of a column.
fn said(
    at: usize,
    column: &Column<'_>,
    ends: &Ends,
    rows: &[(usize, Row<'_>)],
    common: &Common,
    proposal: &mut Proposal,
) -> Moved {
    let mut found: Vec<(Property, Vec<String>)> = Vec::new();
    let mut open = Vec::new();
    let put =
        |found: &mut Vec<(Property, Vec<String>)>, property: Property, word: String| match found
            .iter_mut()
            .find(|(known, _)| *known == property)
        {
            Some((_, words)) => words.push(word),
            None => found.push((property, vec![word])),
        };
    for (word, _) in column.words().unwrap_or_default() {
        let is_of = |row: &usize| column.word(*row) == Some(word.as_str());
        let mut votes = Votes::default();
        let of_word = rows.iter().filter(|(row, _)| is_of(row));
        of_word
            .clone()
            .for_each(|(_, row)| votes.add(row, &common.measures));
        let own = ends.values.iter().enumerate().filter(|(row, _)| is_of(row));
        let mut own = own.filter_map(|(_, pair)| pair.as_ref());
        if own.clone().next().is_some() && own.all(|[from, _]| matches!(from, Value::Word(_))) {
            proposal
                .reasons
                .push(format!("with \"{word}\" the values are answers"));
            put(&mut found, Property::Visibility, word);
            continue;
        }
        match votes.best() {
            Some((property, most, others)) if most > others => {
                let count = of_word.count();
                let most = most.round();
                proposal.reasons.push(format!(
                    "with \"{word}\" {most} of {count} start or end where their node rests, taken as {}",
                    property.as_str()
                ));
                put(&mut found, property, word);
            }
            _ => open.push(word),
        }
    }
    for word in open {
        let rest = [Property::Translation, Property::Rotation, Property::Scale];
        let hinted = rest
            .into_iter()
            .find(|property| hints_at(&word, property.as_str()));
        let free = rest
            .into_iter()
            .find(|property| found.iter().all(|(known, _)| known != property));
        if let Some(property) = hinted.or(free) {
            proposal.confidence -= 0.15;
            proposal
                .assumed
                .push(format!("\"{word}\" is taken for {}.", property.as_str()));
            put(&mut found, property, word);
        }
    }
    Moved::Said {
        column: at,
        words: found,
    }
}

fn add_motion(
    ends: &Ends,
    moved: &Moved,
    columns: &[Column<'_>],
    nodes: &[Option<&Node>],
    common: &Common,
    proposal: &mut Proposal,
) {
    let mut parts = Vec::new();
    match moved {
        Moved::Always(property) => {
            let value = PartValue::Word(property.as_str());
            parts.push(Part {
                key: word::PROPERTY,
                value,
            });
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
            parts.push(Part {
                key: word::PROPERTY,
                value,
            });
            proposal.types.push((column.field.slot, word_type(column)));
        }
    }
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
    proposal.types.push((ends.from.slot, value_type.clone()));
    match &ends.to {
        None => parts.push(Part::path(word::ENDS, &ends.from.path)),
        Some(to) => {
            proposal.types.push((to.slot, value_type));
            let (mut from, mut to) = (&ends.from, to);
            if is_backwards(ends, nodes, proposal) {
                std::mem::swap(&mut from, &mut to);
            }
            parts.push(Part::path(word::FROM, &from.path));
            parts.push(Part::path(word::TO, &to.path));
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
fn is_backwards(ends: &Ends, nodes: &[Option<&Node>], proposal: &mut Proposal) -> bool {
    let (mut first, mut second) = (0, 0);
    for (_, row) in rows(ends, nodes) {
        let rest = &row.node.rest;
        let is_rest = |end: &Value| match end {
            Value::Vector(end) => {
                let end = glam::DVec3::from(*end);
                let place = rest.translation;
                let along = end.normalize_or_zero().dot(place.normalize_or_zero()) > 0.99999;
                // In whatever unit: the same direction, and the other end is not.
                place.length() > 1e-6 && along || end == rest.scale
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
