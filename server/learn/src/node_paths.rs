//! Index paths: chains of child numbers that lead to nodes of a scene, told by walking real scenes.
//!
//! The notation is the library's, not the slot's: every way of writing that occurs is tried on all
//! values that look so, each in the scenes that its own document names, and the one that leads
//! somewhere most often is taken. Then a slot holds index paths if nearly all its paths lead
//! somewhere; where aliases of nodes may stand as well, what is no path must be one of them.

use crate::contexts::ContextId;
use crate::corpus::Source;
use crate::files::Files;
use crate::names::{Names, SlotRef};
use crate::node_names;
use crate::scenes::{ByDocument, XmlScenes};
use crate::surroundings::{self, Surroundings};
use crate::survey::{Group, Slot, Survey};
use crate::symbols::Symbol;
use dialect::{IndexPathNotation, ItemType, Kind, NodeNameNotation, ValueType};
use foldhash::{HashMap, HashMapExt as _, HashSet};
use scene::Scene;
use std::collections::BTreeMap;

/// So many values of a slot are tried.
const TRIED: usize = 400;

/// Longer words are no root marks.
const LONGEST_WORD: usize = 16;

/// Words that fewer values begin with are no root marks.
const USUAL: usize = 4;

/// Fewer different paths prove nothing.
const ENOUGH: usize = 4;

/// What was found out about index paths.
#[derive(Debug, Default)]
pub(crate) struct NodePaths {
    pub(crate) types: HashMap<SlotRef, ValueType>,
    pub(crate) notation: Option<IndexPathNotation>,
    /// How nodes are called by their names, if they are anywhere.
    pub(crate) names: Option<NodeNameNotation>,
}

/// How a value looks: root mark, mark after the root, mark between the others.
type Look = (String, Option<String>, Option<String>);

pub(crate) fn of(survey: &Survey<'_>, scenes: &ByDocument<'_>, names: &Names) -> NodePaths {
    let values = values(survey, scenes);
    let mut found = NodePaths::default();
    let mut open = Vec::new();
    if let Some((_, mut notation)) = best_notation(survey, scenes, &values) {
        notation.after_root_always = ends_open(survey, &values, &notation);
        open = found.paths(survey, scenes, &values, &notation);
        found.notation = Some(notation);
    }
    let aliases = aliases(survey, names, &found);
    let only_named = only_named(survey, names, &found, &aliases);
    let mut is_alias = |(slot, others): &(SlotRef, Vec<(u32, Symbol)>)| {
        let Some(alias) = aliases.iter().find(|alias| alias.explains(others)) else {
            return false;
        };
        let kind = Kind::new(&alias.kind);
        let node = ItemType::Node {
            aliases: [kind].into(),
            index_path: true,
            node_name: false,
        };
        for (slot, item) in [(*slot, node), (alias.slot, ItemType::NameOf(kind))] {
            found.types.insert(slot, ValueType::single(item));
        }
        true
    };
    open.retain(|slot| !is_alias(slot));
    only_named.iter().for_each(|slot| _ = is_alias(slot));
    let Some(naming) = node_names::of(survey, scenes, names, &found.types) else {
        return found;
    };
    for (slot, others) in open {
        if node_names::explains(survey, scenes, &others, &naming.notation) {
            let node = ItemType::Node {
                aliases: [].into(),
                index_path: true,
                node_name: true,
            };
            found.types.insert(slot, ValueType::single(node));
        }
    }
    let named = naming.slots.into_iter();
    let named = named.map(|slot| (slot, ValueType::single(node_names::item())));
    found.types.extend(named);
    found.names = Some(naming.notation);
    found
}

impl NodePaths {
    /// Notes the slots that hold index paths. The others that hold some: with what is no path.
    fn paths(
        &mut self,
        survey: &Survey<'_>,
        scenes: &ByDocument<'_>,
        values: &BTreeMap<SlotRef, Vec<(u32, Symbol)>>,
        notation: &IndexPathNotation,
    ) -> Vec<(SlotRef, Vec<(u32, Symbol)>)> {
        let mut open = Vec::new();
        for (slot, values) in values {
            let paths = Paths::of(survey, scenes, values, notation);
            if paths.good == 0 || paths.bad * 10 > paths.good {
                continue;
            }
            match paths.others.is_empty() || paths.others.len() * 20 < values.len() {
                true if paths.different >= ENOUGH || paths.long > 0 && paths.bad == 0 => {
                    let item = ItemType::IndexPath;
                    self.types.insert(*slot, ValueType::single(item));
                }
                true => {}
                false => open.push((*slot, paths.others)),
            }
        }
        open
    }
}

/// The notation in which most values lead to nodes, and to how many different ones.
pub(crate) fn notation(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
) -> Option<(usize, IndexPathNotation)> {
    best_notation(survey, scenes, &values(survey, scenes))
}

fn best_notation(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
    values: &BTreeMap<SlotRef, Vec<(u32, Symbol)>>,
) -> Option<(usize, IndexPathNotation)> {
    candidates(survey, values)
        .into_iter()
        .map(|notation| (score(survey, scenes, values, &notation), notation))
        .filter(|(score, _)| *score >= ENOUGH)
        .max_by_key(|(score, _)| *score)
}

/// Whether roots alone are written with the mark that follows a root.
fn ends_open(
    survey: &Survey<'_>,
    values: &BTreeMap<SlotRef, Vec<(u32, Symbol)>>,
    notation: &IndexPathNotation,
) -> bool {
    let texts = values
        .values()
        .flatten()
        .map(|(_, value)| survey.corpus.text(*value).trim());
    let roots = texts.filter(|text| notation.parse(text).is_ok_and(|path| path.len() == 1));
    if notation.after_root.is_empty() {
        return false;
    }
    let (mut open, mut all) = (0, 0);
    for root in roots.filter(|root| root.starts_with(&notation.root_mark)) {
        all += 1;
        open += usize::from(root.ends_with(&notation.after_root));
    }
    open * 2 > all
}

/// The scenes of each document: those it names, else those beside it that are called as it is.
pub(crate) fn scenes<'s>(
    survey: &Survey<'_>,
    around: &'s Surroundings,
    files: &Files,
    xml: Option<&'s XmlScenes>,
) -> ByDocument<'s> {
    let known = |path: &str| {
        let own = xml.and_then(|xml| xml.scenes.get(path));
        own.or_else(|| around.scene(path))
    };
    let known_as_scene = |source: &Source| {
        let path = surroundings::path(source);
        xml.is_some_and(|xml| xml.scenes.contains_key(&path))
    };
    let mut scenes = HashMap::new();
    for (at, document) in survey.corpus.documents.iter().enumerate() {
        // A scene has none itself.
        if known_as_scene(&document.source) {
            continue;
        }
        let named = files.named.get(&(at as u32)).into_iter().flatten();
        let mut found: Vec<&Scene> = named.filter_map(|path| known(path)).collect();
        if found.is_empty() {
            let path = surroundings::path(&document.source);
            let (folder, name) = surroundings::split(&path);
            let stem = name.split('.').next().unwrap_or_default();
            found.extend(around.scene_like(folder, stem));
        }
        if !found.is_empty() {
            scenes.insert(at as u32, found);
        }
    }
    scenes
}

/// By slot: the values that stand in documents with scenes.
fn values(survey: &Survey<'_>, scenes: &ByDocument<'_>) -> BTreeMap<SlotRef, Vec<(u32, Symbol)>> {
    let mut values = BTreeMap::new();
    for (group, known) in survey.groups.iter().enumerate() {
        for (at, slot) in known.slots.iter().enumerate() {
            let step = slot.seen.len().div_ceil(TRIED).max(1);
            let seen = slot
                .seen
                .iter()
                .step_by(step)
                .filter(|seen| known.trusts(seen.document));
            let seen = seen.map(|seen| (known.documents[seen.document as usize], seen.value));
            let seen: Vec<(u32, Symbol)> = seen
                .filter(|(document, _)| scenes.contains_key(document))
                .collect();
            if seen
                .iter()
                .any(|(_, value)| look(survey.corpus.text(*value)).is_some())
            {
                values.insert(SlotRef { group, slot: at }, seen);
            }
        }
    }
    values
}

/// How a value is written, if it may be an index path.
fn look(text: &str) -> Option<Look> {
    let text = text.trim();
    if text.len() > 200 {
        return None;
    }
    let start = text.find(|c: char| c.is_ascii_digit())?;
    let is_mark = |mark: &str| mark.len() <= 3 && mark.chars().all(|c| c.is_ascii_punctuation());
    let root_mark = &text[..start];
    let mut marks: Vec<&str> = Vec::new();
    let mut rest = text[start..].trim_start_matches(|c: char| c.is_ascii_digit());
    while !rest.is_empty() {
        let end = rest
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(rest.len());
        marks.push(&rest[..end]);
        rest = rest[end..].trim_start_matches(|c: char| c.is_ascii_digit());
    }
    let later = marks.get(1).copied();
    // A sign in front is that of a number.
    let regular = (is_mark(root_mark) || is_word_mark(root_mark))
        && !root_mark.starts_with(['-', '+'])
        && marks.iter().all(|mark| is_mark(mark))
        && marks.iter().skip(1).all(|mark| Some(*mark) == later);
    regular.then(|| {
        let after_root = marks.first().map(|mark| (*mark).to_owned());
        (root_mark.to_owned(), after_root, later.map(str::to_owned))
    })
}

/// Whether a root mark is a word, perhaps with a mark around it.
fn is_word_mark(mark: &str) -> bool {
    let word = mark.trim_start_matches(|c: char| c.is_ascii_punctuation());
    let word = word.trim_end_matches(|c: char| c.is_ascii_punctuation());
    !word.is_empty() && word.chars().all(char::is_alphabetic) && mark.len() <= LONGEST_WORD
}

/// The notations that the values may be written in.
fn candidates(
    survey: &Survey<'_>,
    values: &BTreeMap<SlotRef, Vec<(u32, Symbol)>>,
) -> Vec<IndexPathNotation> {
    let mut looks: BTreeMap<Look, usize> = BTreeMap::new();
    for (_, value) in values.values().flatten() {
        if let Some(look) = look(survey.corpus.text(*value)) {
            *looks.entry(look).or_default() += 1;
        }
    }
    // Names with numbers look as if they began with a word, each with its own.
    looks.retain(|(root_mark, ..), count| *count >= USUAL || !is_word_mark(root_mark));
    let mut notations: Vec<IndexPathNotation> = Vec::new();
    let mut add = |notation: IndexPathNotation| {
        if !notations.contains(&notation) {
            notations.push(notation);
        }
    };
    for (root_mark, after_root, separator) in looks.keys() {
        let Some(after_root) = after_root else {
            continue;
        };
        // Where no path is longer, one mark is all.
        let separator = separator.as_ref().unwrap_or(after_root);
        for first in [0, 1] {
            let whole = IndexPathNotation {
                separator: separator.clone(),
                after_root: after_root.clone(),
                after_root_always: false,
                first,
                root_mark: root_mark.clone(),
                root_number: true,
            };
            if after_root == separator {
                // The root mark alone is the root; the mark between numbers may follow it.
                let (mark, after) = match root_mark.strip_suffix(separator.as_str()) {
                    Some(mark) if !mark.is_empty() => (mark, separator.as_str()),
                    _ => (root_mark.as_str(), ""),
                };
                add(IndexPathNotation {
                    root_mark: mark.to_owned(),
                    after_root: after.to_owned(),
                    root_number: false,
                    ..whole.clone()
                });
            }
            add(whole);
        }
    }
    // Of those that are as good, the last one is taken.
    notations.sort_by(|one, other| {
        let key = |notation: &IndexPathNotation| {
            (
                notation.root_number,
                notation.separator.clone(),
                notation.after_root.clone(),
                notation.first,
            )
        };
        key(one).cmp(&key(other))
    });
    notations
}

/// How many different paths of several numbers lead somewhere, less those that do not.
fn score(
    survey: &Survey<'_>,
    scenes: &ByDocument<'_>,
    values: &BTreeMap<SlotRef, Vec<(u32, Symbol)>>,
    notation: &IndexPathNotation,
) -> usize {
    let paths = values
        .values()
        .map(|values| Paths::of(survey, scenes, values, notation));
    let good = paths.filter(|paths| paths.bad * 10 <= paths.good && paths.proves);
    good.map(|paths| paths.different.saturating_sub(paths.bad))
        .sum()
}

/// What the values of a slot are in a notation.
#[derive(Default)]
struct Paths {
    /// Paths that lead to a node.
    good: usize,
    /// Those among them that have several numbers.
    long: usize,
    /// Different ones, per document, with several numbers.
    different: usize,
    /// Whether there are any that are not written as numbers with decimals are, or enough that are: a few of these
    /// lead somewhere by chance, whatever they are.
    proves: bool,
    /// Paths that lead nowhere.
    bad: usize,
    /// What is no path.
    others: Vec<(u32, Symbol)>,
}

impl Paths {
    fn of(
        survey: &Survey<'_>,
        scenes: &ByDocument<'_>,
        values: &[(u32, Symbol)],
        notation: &IndexPathNotation,
    ) -> Self {
        let mut paths = Self::default();
        let mut different: HashSet<(u32, Symbol)> = HashSet::default();
        // Single numbers prove little: most numbers of a machine are none of its paths.
        let shortest = 1 + usize::from(!notation.root_number);
        let mut like_numbers: HashSet<Symbol> = HashSet::default();
        for (document, value) in values {
            let Ok(path) = notation.parse(survey.corpus.text(*value)) else {
                paths.others.push((*document, *value));
                continue;
            };
            let scenes = scenes.get(document).into_iter().flatten();
            let leads = scenes.into_iter().any(|scene| scene.walk(&path).is_ok());
            match leads {
                true => {
                    paths.good += 1;
                    if path.len() > shortest {
                        paths.long += 1;
                        different.insert((*document, *value));
                        match is_like_number(survey.corpus.text(*value)) {
                            true => _ = like_numbers.insert(*value),
                            false => paths.proves = true,
                        }
                    }
                }
                false => paths.bad += 1,
            }
        }
        paths.proves |= like_numbers.len() >= ENOUGH;
        paths.different = different.len();
        paths
    }
}

fn is_like_number(text: &str) -> bool {
    let mut marks = text.trim().chars().filter(|c| !c.is_ascii_digit());
    matches!((marks.next(), marks.next()), (Some('.' | ','), None))
}

/// What may give nodes a name: it stands beside an index path.
struct Alias {
    slot: SlotRef,
    kind: String,
    /// Documents and the names in them.
    names: HashSet<(u32, Symbol)>,
}

impl Alias {
    fn explains(&self, values: &[(u32, Symbol)]) -> bool {
        let known = values
            .iter()
            .filter(|value| self.names.contains(value))
            .count();
        known * 10 >= values.len() * 9
    }

    /// How many different names there are in all documents.
    fn different(&self) -> usize {
        let names: HashSet<Symbol> = self.names.iter().map(|(_, name)| *name).collect();
        names.len()
    }
}

/// Those that are names of some kind already come first.
fn aliases(survey: &Survey<'_>, names: &Names, found: &NodePaths) -> Vec<Alias> {
    let mut aliases: Vec<Alias> = Vec::new();
    for path in found
        .types
        .keys()
        .collect::<std::collections::BTreeSet<_>>()
    {
        let group = &survey.groups[path.group];
        let here = path.of(survey);
        for (at, slot) in group.slots.iter().enumerate() {
            let slot_ref = SlotRef {
                group: path.group,
                slot: at,
            };
            let Some(holder) =
                holder(group, here, slot).filter(|_| !found.types.contains_key(&slot_ref))
            else {
                continue;
            };
            if !may_name(survey, group, slot) {
                continue;
            }
            let known = names
                .kinds
                .iter()
                .find(|kind| kind.defined_by.contains(&slot_ref));
            let word = survey.corpus.called(group.contexts.name(holder));
            let seen = slot.seen.iter();
            aliases.push(Alias {
                slot: slot_ref,
                kind: known.map_or_else(|| free_word(word, names), |kind| kind.kind.clone()),
                names: seen
                    .map(|seen| (group.documents[seen.document as usize], seen.value))
                    .collect(),
            });
        }
    }
    let is_known = |alias: &Alias| names.kinds.iter().any(|kind| kind.kind == alias.kind);
    aliases.sort_by_key(|alias| !is_known(alias));
    aliases
}

/// The slots that ask for nodes by nothing but names that stand beside paths, where no others have paths: if all
/// documents have the same few of these, what they are cannot be told by themselves.
fn only_named(
    survey: &Survey<'_>,
    names: &Names,
    found: &NodePaths,
    aliases: &[Alias],
) -> Vec<(SlotRef, Vec<(u32, Symbol)>)> {
    let is_name = |slot: SlotRef| {
        let given = names.kinds.iter().flat_map(|kind| &kind.defined_by);
        let asked = names.references.iter().map(|one| &one.slot);
        given.chain(asked).any(|known| *known == slot)
    };
    let mut slots = Vec::new();
    for alias in aliases.iter().filter(|alias| !is_name(alias.slot)) {
        let group = &survey.groups[alias.slot.group];
        let own = alias.slot.of(survey);
        let is_beside = |path: &SlotRef| {
            path.group != alias.slot.group || holder(group, own, path.of(survey)).is_some()
        };
        if alias.different() < 2 || !found.types.keys().all(is_beside) {
            continue;
        }
        for (at, slot) in group.slots.iter().enumerate() {
            let place = SlotRef {
                group: alias.slot.group,
                slot: at,
            };
            let values = slot.seen.iter().filter(|seen| group.trusts(seen.document));
            let values = values.map(|seen| (group.documents[seen.document as usize], seen.value));
            let values: Vec<(u32, Symbol)> = values.collect();
            let different: HashSet<Symbol> = values.iter().map(|(_, value)| *value).collect();
            let is_elsewhere = slot.context != own.context && holder(group, own, slot).is_none();
            // Two words of several may be said of something else.
            let are_most = different.len() > 1 && different.len() * 2 > alias.different();
            if is_elsewhere && are_most && !is_name(place) && !found.types.contains_key(&place) {
                slots.push((place, values));
            }
        }
    }
    slots
}

/// Whether the values may be names: words, and hardly one of them twice in a document.
fn may_name(survey: &Survey<'_>, group: &Group, slot: &Slot) -> bool {
    let is_word = |value: Symbol| survey.corpus.text(value).contains(char::is_alphabetic);
    let trusted = slot.seen.iter().filter(|seen| group.trusts(seen.document));
    let seen: Vec<(u32, Symbol)> = trusted.map(|seen| (seen.document, seen.value)).collect();
    let different: HashSet<&(u32, Symbol)> = seen.iter().collect();
    seen.iter().all(|(_, value)| is_word(*value)) && different.len() * 20 >= seen.len() * 19
}

/// The element that both values belong to: they are its attributes, or the texts of its children.
fn holder(group: &Group, one: &Slot, other: &Slot) -> Option<ContextId> {
    let around = |slot: &Slot| group.contexts.parent(slot.context);
    let is_text = |slot: &Slot| slot.attribute.is_none();
    match one.context == other.context {
        true => (one.attribute != other.attribute).then_some(one.context),
        false => {
            around(one).filter(|_| is_text(one) && is_text(other) && around(one) == around(other))
        }
    }
}

/// A word that no other kind has.
fn free_word(word: &str, names: &Names) -> String {
    let is_free = |word: &String| names.kinds.iter().all(|kind| kind.kind != *word);
    let numbered = (2..).map(|number| format!("{word}-{number}"));
    std::iter::once(word.to_owned())
        .chain(numbered)
        .find(is_free)
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::look;

    #[test]
    fn a_sign_may_stand_between_numbers_and_not_in_front() {
        let written = |text: &str| look(text).map(|(root, ..)| root);
        assert_eq!(written("stem+3+1").as_deref(), Some("stem+"));
        assert_eq!(written("3-1-2").as_deref(), Some(""));
        assert_eq!((written("+3/1"), written("-3/1")), (None, None));
    }
}
