//! What a place speaks of, and where else a document speaks of it. The common
//! ground of references, highlight and rename.

use crate::{node_paths::are_one, spot::value_at};
use dialect::{Kind, NodePath};
use machine::{Alias, Definition, NodeTarget, Outline, Spanned, Use, UseTarget};
use project::View;
use std::sync::Arc;
use std::{
    cell::OnceCell,
    collections::{HashMap, HashSet},
};
use syntax::{TextRange, TextSize};

/// Something that may be spoken of in several places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Subject {
    Name {
        kind: Kind,
        name: String,
    },
    /// A thing without a name, known by its zero-based position among its kind.
    Nth {
        kind: Kind,
        index: i64,
    },
    /// A scene node, asked for by its place in the scene.
    Node(NodePath),
    Input(String),
    File(String),
}

/// A place that speaks of a [`Subject`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Occurrence {
    pub(crate) range: TextRange,
    pub(crate) form: Form,
}

/// How a place speaks of a [`Subject`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// It gives the name.
    Given,
    /// It uses the name, the path, the input or the file.
    Used,
    /// It means the same thing by other words: a position, or an alias of the node.
    Indirect,
}

/// What the place at an offset speaks of, and the range of the words.
pub(crate) fn subject_at(view: &View, offset: TextSize) -> Option<(Subject, TextRange)> {
    let outline = &view.meaning.as_ref()?.outline;
    if let Some(given) = outline.definition_at(offset) {
        return Some((Subject::of(&given), given.name.range));
    }
    if let Some(used) = outline.use_at(offset) {
        let (used, range) = narrowed(view, outline, used, offset)?;
        return Some((used_subject(view, outline, used)?, range));
    }
    if let Some(file) = outline.file_at(offset) {
        return Some((Subject::File(file.name.value.to_string()), file.name.range));
    }
    nameless_at(view, outline, offset)
}

/// The thing without a name whose tag the offset is at.
fn nameless_at(view: &View, outline: &Outline, offset: TextSize) -> Option<(Subject, TextRange)> {
    let element = *view.tree().elements_at(offset).last()?;
    let (tag, range) = (element.name_range(), element.range());
    if !tag.contains_inclusive(offset) || !may_be_counted(outline, range) {
        return None;
    }
    let machine = view.machine()?;
    let thing = machine
        .counted
        .iter()
        .find(|thing| thing.element == range)?;
    let is_named = machine
        .definitions
        .iter()
        .any(|given| given.element == thing.element);
    if is_named {
        return None;
    }
    let index = machine
        .counted(&thing.kind)
        .position(|counted| counted == thing.element)?;
    let subject = Subject::Nth {
        kind: thing.kind,
        index: i64::try_from(index).ok()?,
    };
    Some((subject, tag))
}

/// Whether the element is one of those that positions count though they have no name.
fn may_be_counted(outline: &Outline, element: TextRange) -> bool {
    outline
        .near(TextRange::empty(element.start()))
        .any(|entry| {
            let facts = &entry.facts;
            let animations = facts.animations.iter().map(|one| one.element);
            let sounds = facts.sounds.iter().map(|one| one.element);
            let wheels = facts.wheels.iter().map(|one| one.element);
            let aliases = facts.aliases.iter().map(|one| one.element);
            let mut all = animations.chain(sounds).chain(wheels).chain(aliases);
            all.any(|one| entry.placed(&one) == element)
        })
}

/// References in a list hide where its members are: all of them have the range
/// of the whole. Then what is written at the offset decides.
fn narrowed(
    view: &View,
    outline: &Outline,
    first: Use,
    offset: TextSize,
) -> Option<(Use, TextRange)> {
    let near = outline.near(TextRange::empty(offset));
    let near = near.flat_map(|entry| entry.facts.uses.iter().map(|used| entry.placed(used)));
    let mut alike: Vec<Use> = near.filter(|used| used.range == first.range).collect();
    let range = first.range;
    if alike.len() < 2 {
        return Some((first, range));
    }
    let written = || value_at(view, offset)?.item_at(view, offset);
    let (range, text) = written()?;
    let says = |used: &Use| matches!(&used.target, UseTarget::Name { name, .. } if **name == *text);
    Some((alike.swap_remove(alike.iter().position(says)?), range))
}

fn used_subject(view: &View, outline: &Outline, used: Use) -> Option<Subject> {
    Some(match used.target {
        UseTarget::Name {
            kinds,
            name,
            or_node,
            ..
        } => match (outline.definition(&kinds, &name), or_node) {
            (None, Some(path)) => Subject::Node(*path),
            (given, _) => Subject::Name {
                kind: match given {
                    Some(given) => given.kind,
                    None => *kinds.first()?,
                },
                name: name.to_string(),
            },
        },
        UseTarget::Position { kind, index } => match nth(view, &kind, index)? {
            (_, Some(name)) => Subject::Name {
                kind,
                name: name.value.to_string(),
            },
            (_, None) => Subject::Nth { kind, index },
        },
        UseTarget::Path(path) => Subject::Node(path),
        UseTarget::Input { word, .. } => Subject::Input(word.to_string()),
    })
}

/// Everything in the document that speaks of the subject, in document order.
pub(crate) fn occurrences(view: &View, subject: &Subject) -> Vec<Occurrence> {
    let Some(meaning) = &view.meaning else {
        return Vec::new();
    };
    let outline = &*meaning.outline;
    let mut found = match subject {
        Subject::Name { kind, name } => of_name(view, outline, kind, name),
        Subject::Nth { kind, index } => of_nth(view, outline, kind, *index),
        Subject::Node(path) => of_node(view, outline, path),
        Subject::Input(word) => of_input(outline, word),
        Subject::File(name) => {
            let all = outline.all(|facts| &facts.files);
            all.filter(|(_, file)| *file.name.value == **name)
                .map(|(entry, file)| used(entry.placed(&file.name.range)))
                .collect()
        }
    };
    found.sort_by_key(|place| (place.range.start(), place.range.end()));
    found.dedup();
    found
}

/// All uses of a document that are about something, as they are about it.
fn uses<'o>(
    outline: &'o Outline,
    form: impl Fn(&'o UseTarget) -> Option<Form>,
) -> impl Iterator<Item = Occurrence> {
    outline
        .all(|facts| &facts.uses)
        .filter_map(move |(entry, place)| {
            Some(Occurrence {
                form: form(&place.target)?,
                range: entry.placed(&place.range),
            })
        })
}

fn of_name(view: &View, outline: &Outline, kind: &Kind, name: &str) -> Vec<Occurrence> {
    let namesakes = outline.definitions_called(name);
    // A use means the first definition that it accepts; without one, whatever is asked about.
    let means_it = |kinds: &[Kind]| {
        let meant = namesakes.iter().find(|given| kinds.contains(&given.kind));
        meant.map_or_else(|| kinds.contains(kind), |given| given.kind == *kind)
    };
    let given = namesakes
        .iter()
        .filter(|given| given.kind == *kind)
        .map(|given| Occurrence {
            range: given.name.range,
            form: Form::Given,
        });
    // Found out only where something is meant by its position.
    let position = OnceCell::new();
    let position = || *position.get_or_init(|| position_of(view, kind, name));
    let places = uses(outline, |target| match target {
        UseTarget::Name {
            kinds, name: word, ..
        } if **word == *name && means_it(kinds) => Some(Form::Used),
        UseTarget::Position {
            kind: counted,
            index,
        } if counted == kind && Some(*index) == position() => Some(Form::Indirect),
        _ => None,
    });
    given.chain(places).collect()
}

/// The tag of a thing without a name, and the positions that count up to it.
fn of_nth(view: &View, outline: &Outline, kind: &Kind, index: i64) -> Vec<Occurrence> {
    let element =
        nth(view, kind, index).and_then(|(range, _)| view.tree().element_with_range(range)?.pop());
    let given = element.map(|element| Occurrence {
        range: element.name_range(),
        form: Form::Given,
    });
    let places = uses(outline, |target| match target {
        UseTarget::Position {
            kind: counted,
            index: at,
        } if counted == kind && *at == index => Some(Form::Used),
        _ => None,
    });
    given.into_iter().chain(places).collect()
}

fn of_node(view: &View, outline: &Outline, path: &NodePath) -> Vec<Occurrence> {
    let is_it = |asked: &NodePath| are_one(view.scene(), asked, path);
    let all = outline.all(|facts| &facts.aliases);
    let names: Vec<Spanned<Arc<str>>> = all
        .filter(|(_, alias)| leads_to(outline, alias, is_it))
        .filter_map(|(entry, alias)| Some(entry.placed(alias.name.as_ref()?)))
        .collect();
    let words: HashSet<&str> = names.iter().map(|name| &*name.value).collect();
    let starts: HashSet<TextSize> = names.iter().map(|name| name.range.start()).collect();
    // By name: what gives it, in order, and whether that is an alias of the node.
    let mut namesakes: HashMap<&str, Vec<(&Kind, bool)>> = HashMap::new();
    for (entry, given) in outline.all(|facts| &facts.definitions) {
        let name = &given.name;
        if words.contains(&*name.value) {
            let is_one = starts.contains(&(name.range.start() + entry.start()));
            let known = namesakes.entry(&name.value).or_default();
            known.push((&given.kind, is_one));
        }
    }
    let means_an_alias = |kinds: &[Kind], word: &str| {
        let mut known = namesakes.get(word).into_iter().flatten();
        let meant = known.find(|(kind, _)| kinds.contains(kind));
        meant.is_some_and(|(_, is_one)| *is_one)
    };
    let is_given = |kinds: &[Kind], word: &str| outline.definition(kinds, word).is_some();
    let given = names.iter().map(|name| Occurrence {
        range: name.range,
        form: Form::Given,
    });
    let places = uses(outline, |target| match target {
        UseTarget::Path(asked) if is_it(asked) => Some(Form::Used),
        UseTarget::Name { kinds, name, .. } if means_an_alias(kinds, name) => Some(Form::Indirect),
        UseTarget::Name {
            kinds,
            name,
            or_node: Some(asked),
            ..
        } if is_it(asked) && !is_given(kinds, name) => Some(Form::Used),
        _ => None,
    });
    given.chain(places).collect()
}

fn leads_to(outline: &Outline, alias: &Alias, is_it: impl Fn(&NodePath) -> bool) -> bool {
    let Some(node) = &alias.path else {
        return false;
    };
    match &node.target {
        NodeTarget::Path(own) => is_it(own),
        _ => outline.path_of(node).is_some_and(|own| is_it(&own)),
    }
}

fn of_input(outline: &Outline, word: &str) -> Vec<Occurrence> {
    let places = uses(outline, |target| match target {
        UseTarget::Input { word: used, .. } if **used == *word => Some(Form::Used),
        _ => None,
    });
    places.collect()
}

fn used(range: TextRange) -> Occurrence {
    Occurrence {
        range,
        form: Form::Used,
    }
}

impl Subject {
    /// What a definition names.
    pub(crate) fn of(given: &Definition) -> Self {
        Self::Name {
            kind: given.kind,
            name: given.name.value.to_string(),
        }
    }
}

/// The element of a kind at a zero-based position in the document, and its
/// name if it has one.
pub(crate) fn nth<'v>(
    view: &'v View,
    kind: &Kind,
    index: i64,
) -> Option<(TextRange, Option<&'v Spanned<Arc<str>>>)> {
    let machine = view.machine()?;
    let element = machine.counted(kind).nth(usize::try_from(index).ok()?)?;
    let given = machine
        .definitions
        .iter()
        .find(|given| given.element == element);
    Some((element, given.map(|given| &given.name)))
}

/// All elements of a kind in document order, with the names they have.
pub(crate) fn all_of<'v>(
    view: &'v View,
    kind: &Kind,
) -> Vec<(TextRange, Option<&'v Spanned<Arc<str>>>)> {
    let Some(machine) = view.machine() else {
        return Vec::new();
    };
    let named = machine.definitions_of(kind);
    let names: HashMap<TextRange, &Spanned<Arc<str>>> =
        named.map(|given| (given.element, &given.name)).collect();
    let elements = machine.counted(kind);
    elements
        .map(|element| (element, names.get(&element).copied()))
        .collect()
}

fn position_of(view: &View, kind: &Kind, name: &str) -> Option<i64> {
    let at = all_of(view, kind)
        .iter()
        .position(|(_, known)| known.is_some_and(|known| *known.value == *name))?;
    i64::try_from(at).ok()
}
