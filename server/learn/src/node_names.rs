//! Nodes asked for by their names in the scene, told by looking the names up in real scenes.
//!
//! The notation is the library's, not the slot's, as with index paths. Where documents give names of their own to
//! nodes, or to things that happen to be called as nodes are, those are names of the document and no names of nodes.

use crate::contexts::ContextId;
use crate::names::{Names, SlotRef};
use crate::scenes::ByDocument;
use crate::survey::{Group, Survey};
use crate::symbols::Symbol;
use dialect::{ItemType, NodeNameNotation, NodePath, ValueType};
use foldhash::{HashMap, HashSet};
use scene::NoNode;
use std::collections::{BTreeMap, BTreeSet};

/// So many values of a slot are tried.
const TRIED: usize = 400;

/// Fewer different names prove nothing: they may be words that some node is called by as well.
const ENOUGH: usize = 4;

/// So many separators are tried.
const SEPARATORS: usize = 6;

/// Longer marks are no separators.
const LONGEST_MARK: usize = 3;

/// By slot: documents that have scenes, and the values in them.
type Words = BTreeMap<SlotRef, Vec<(u32, Symbol)>>;

/// What was found out about names of nodes.
#[derive(Debug)]
pub(crate) struct NodeNaming {
    pub(crate) notation: NodeNameNotation,
    pub(crate) slots: BTreeSet<SlotRef>,
}

/// The type of values that are names of nodes and nothing else.
pub(crate) fn item() -> ItemType {
    ItemType::Node {
        aliases: [].into(),
        index_path: false,
        node_name: true,
    }
}

/// How the names of nodes are written, and where. `types`: what is known of index paths and what stands beside them.
pub(crate) fn of(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
    names: &Names,
    types: &HashMap<SlotRef, ValueType>,
) -> Option<NodeNaming> {
    let mut words = words(survey, scenes);
    words.retain(|slot, _| !types.contains_key(slot) && !is_beside_a_path(survey, types, *slot));
    let (_, notation) = best_notation(survey, scenes, &words)?;
    let counts: BTreeMap<SlotRef, Led> = words
        .iter()
        .map(|(slot, values)| (*slot, Led::of(survey, scenes, values, &notation)))
        .collect();
    let strong: BTreeSet<SlotRef> = counts
        .iter()
        .filter(|(_, led)| led.is_strong())
        .map(|(slot, _)| *slot)
        .collect();
    let kept = kept(survey, names, &strong);
    let is_kept = |slot: &SlotRef| {
        let asked = names.references.iter().filter(|one| one.slot == *slot);
        let mut kinds = asked.flat_map(|one| &one.to);
        kept.contains(slot)
            || kinds.any(|kind| {
                let mut givers = names.kinds[*kind].defined_by.iter();
                let has_scenes = |giver: &&SlotRef| {
                    let mut documents = survey.groups[giver.group].documents.iter();
                    documents.any(|document| scenes.contains_key(document))
                };
                givers.any(|giver| {
                    !strong.contains(giver) && has_scenes(&giver) || kept.contains(giver)
                })
            })
    };
    let mut slots: BTreeSet<SlotRef> = strong
        .iter()
        .filter(|slot| !is_kept(slot))
        .copied()
        .collect();
    // Few values of an attribute that holds names of nodes elsewhere.
    let own = |slot: &SlotRef| slot.of(survey).attribute;
    let known: HashSet<Symbol> = slots.iter().filter_map(own).collect();
    let kin = counts.iter().filter(|(slot, led)| {
        let is_called_so = own(slot).is_some_and(|name| known.contains(&name));
        is_called_so && led.good > 0 && led.lost == 0 && !strong.contains(slot)
    });
    slots.extend(kin.map(|(slot, _)| *slot).filter(|slot| !is_kept(slot)));
    (!slots.is_empty()).then_some(NodeNaming { notation, slots })
}

/// How many different names lead to nodes, written in whatever way fits best.
pub(crate) fn score(survey: &Survey<'_>, scenes: &ByDocument<'_>) -> Option<usize> {
    let (score, _) = best_notation(survey, scenes, &words(survey, scenes))?;
    Some(score)
}

/// Whether nearly all of some values lead to nodes.
pub(crate) fn explains(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
    values: &[(u32, Symbol)],
    notation: &NodeNameNotation,
) -> bool {
    let led = Led::of(survey, scenes, values, notation);
    led.good > 0 && led.lost * 10 <= led.good
}

fn words(survey: &Survey<'_>, scenes: &ByDocument<'_>) -> Words {
    let mut words = Words::new();
    let is_word = |value: Symbol| {
        let text = survey.corpus.text(value);
        text.len() <= 200 && text.contains(char::is_alphabetic)
    };
    for (group, known) in survey.groups.iter().enumerate() {
        for (at, slot) in known.slots.iter().enumerate() {
            let step = slot.seen.len().div_ceil(TRIED).max(1);
            let seen = slot.seen.iter().step_by(step);
            let seen = seen.filter(|seen| known.trusts(seen.document));
            let seen = seen.map(|seen| (known.documents[seen.document as usize], seen.value));
            let seen: Vec<(u32, Symbol)> = seen
                .filter(|(document, _)| scenes.contains_key(document))
                .collect();
            let worded = seen.iter().filter(|(_, value)| is_word(*value)).count();
            if worded > 0 && worded * 20 >= seen.len() * 19 {
                words.insert(SlotRef { group, slot: at }, seen);
            }
        }
    }
    words
}

fn best_notation(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
    words: &Words,
) -> Option<(usize, NodeNameNotation)> {
    let score = |notation: &NodeNameNotation| -> usize {
        let led = words
            .values()
            .map(|values| Led::of(survey, scenes, values, notation));
        let strong = led.filter(Led::is_strong);
        strong.map(|led| led.different).sum()
    };
    let mut best = (0, NodeNameNotation::default());
    let mut try_out = |notation: NodeNameNotation, is_stricter: bool| {
        let score = score(&notation);
        if score > best.0 || is_stricter && score == best.0 {
            best = (score, notation);
            return true;
        }
        false
    };
    try_out(NodeNameNotation::default(), false);
    for separator in separators(survey, scenes, words) {
        let notation = |from_root: bool| NodeNameNotation {
            separator: Some(separator.clone()),
            from_root,
        };
        let is_better = try_out(notation(false), false);
        // What says as much and allows less.
        try_out(notation(true), is_better);
    }
    Some(best).filter(|(score, _)| *score >= ENOUGH)
}

/// The marks in values that are no node's name as a whole, the most frequent first.
fn separators(survey: &Survey<'_>, scenes: &ByDocument<'_>, words: &Words) -> Vec<String> {
    let plain = NodeNameNotation::default();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for (document, value) in words.values().flatten() {
        if Led::look_up(survey, scenes, *document, *value, &plain).is_ok() {
            continue;
        }
        let text = survey.corpus.text(*value).trim();
        let marks = text.split(|c: char| !c.is_ascii_punctuation());
        let marks: BTreeSet<&str> = marks
            .filter(|mark| !mark.is_empty() && mark.len() <= LONGEST_MARK)
            .collect();
        marks
            .into_iter()
            .for_each(|mark| *seen.entry(mark).or_default() += 1);
    }
    let mut seen: Vec<(&str, usize)> = seen.into_iter().collect();
    seen.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    seen.truncate(SEPARATORS);
    seen.into_iter().map(|(mark, _)| mark.to_owned()).collect()
}

/// Where the values of a slot lead, taken as names of nodes.
#[derive(Default)]
struct Led {
    /// To one node.
    good: usize,
    /// To several.
    several: usize,
    /// Nowhere.
    lost: usize,
    /// Different ones that lead to one node, per document, and over all documents.
    different: usize,
    distinct: usize,
}

impl Led {
    fn of(
        survey: &Survey<'_>,
        scenes: &ByDocument<'_>,
        values: &[(u32, Symbol)],
        notation: &NodeNameNotation,
    ) -> Self {
        let mut led = Self::default();
        let mut different: HashSet<(u32, Symbol)> = HashSet::default();
        for (document, value) in values {
            match Self::look_up(survey, scenes, *document, *value, notation) {
                Ok(()) => {
                    led.good += 1;
                    different.insert((*document, *value));
                }
                Err(NoNode::Several(_)) => led.several += 1,
                Err(_) => led.lost += 1,
            }
        }
        let distinct: HashSet<Symbol> = different.iter().map(|(_, value)| *value).collect();
        led.different = different.len();
        led.distinct = distinct.len();
        led
    }

    fn look_up(
        survey: &Survey<'_>,
        scenes: &ByDocument<'_>,
        document: u32,
        value: Symbol,
        notation: &NodeNameNotation,
    ) -> Result<(), NoNode> {
        let text = survey.corpus.text(value);
        let path = NodePath::Names(notation.read(text).ok_or(NoNode::NoName)?);
        let scenes = scenes.get(&document).into_iter().flatten();
        let mut found = scenes.map(|scene| scene.find(&path));
        found
            .find(|found| *found != Err(NoNode::NoName))
            .map_or(Err(NoNode::NoName), |found| found.map(|_| ()))
    }

    /// Whether nearly all are names of nodes, and more than some word that a node has as well.
    fn is_strong(&self) -> bool {
        self.distinct >= ENOUGH && self.lost * 10 <= self.good && self.several * 4 <= self.good
    }
}

/// Of the slots whose values are called as nodes are, those that give names to something that holds a node besides: names
/// of animations, say.
fn kept(survey: &Survey<'_>, names: &Names, strong: &BTreeSet<SlotRef>) -> BTreeSet<SlotRef> {
    let given: BTreeSet<SlotRef> = names
        .kinds
        .iter()
        .flat_map(|kind| kind.defined_by.iter().copied())
        .collect();
    let others: Vec<SlotRef> = strong.difference(&given).copied().collect();
    let kept = strong.intersection(&given).filter(|slot| {
        let group = &survey.groups[slot.group];
        let around = holder(group, **slot);
        others.iter().any(|other| {
            let inside = group.contexts.chain(Some(group.slots[other.slot].context));
            other.group == slot.group
                && around.is_some_and(|holder| inside.into_iter().any(|at| at == holder))
        })
    });
    kept.copied().collect()
}

/// The element that a value belongs to: the one that has the attribute, or that holds the element with the text.
fn holder(group: &Group, slot: SlotRef) -> Option<ContextId> {
    let of = &group.slots[slot.slot];
    match of.attribute {
        Some(_) => Some(of.context),
        None => group.contexts.parent(of.context),
    }
}

/// Whether an index path stands beside a value: that says which node is meant.
fn is_beside_a_path(
    survey: &Survey<'_>,
    types: &HashMap<SlotRef, ValueType>,
    slot: SlotRef,
) -> bool {
    let group = &survey.groups[slot.group];
    let own = holder(group, slot);
    types.iter().any(|(path, told)| {
        path.group == slot.group
            && matches!(told.item, ItemType::IndexPath)
            && (holder(group, *path) == own || Some(group.slots[path.slot].context) == own)
    })
}
