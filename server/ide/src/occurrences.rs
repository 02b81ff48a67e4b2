//! What a place speaks of, and where else a document speaks of it. The common
//! ground of references, highlight and rename.

use crate::spot::value_at;
use dialect::Kind;
use machine::{Alias, Definition, Machine, Spanned, Use, UseTarget};
use project::View;
use std::collections::HashMap;
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
    /// A scene node, asked for by its index path.
    Node(Vec<u32>),
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
    let machine = view.machine()?;
    if let Some(given) = definition_at(machine, offset) {
        return Some((Subject::of(given), given.name.range));
    }
    if let Some(used) = machine.use_at(offset) {
        let (used, range) = narrowed(view, machine, used, offset);
        return Some((used_subject(view, machine, used)?, range));
    }
    let file = machine
        .files
        .iter()
        .find(|file| file.name.range.contains_inclusive(offset));
    if let Some(file) = file {
        return Some((Subject::File(file.name.value.clone()), file.name.range));
    }
    nameless_at(view, machine, offset)
}

/// The thing without a name whose tag the offset is at.
fn nameless_at(view: &View, machine: &Machine, offset: TextSize) -> Option<(Subject, TextRange)> {
    let element = *view.tree().elements_at(offset).last()?;
    let tag = element.name_range();
    let thing = machine
        .counted
        .iter()
        .find(|thing| thing.element == element.range())?;
    let is_named = machine
        .definitions
        .iter()
        .any(|given| given.element == thing.element);
    if is_named || !tag.contains_inclusive(offset) {
        return None;
    }
    let index = machine
        .counted(&thing.kind)
        .position(|counted| counted == thing.element)?;
    let subject = Subject::Nth {
        kind: thing.kind.clone(),
        index: i64::try_from(index).ok()?,
    };
    Some((subject, tag))
}

/// The definition whose name stands at an offset.
pub(crate) fn definition_at(machine: &Machine, offset: TextSize) -> Option<&Definition> {
    machine
        .definitions
        .iter()
        .find(|given| given.name.range.contains_inclusive(offset))
}

/// References in a list hide where its members are: all of them have the range
/// of the whole. Then what is written at the offset decides.
fn narrowed<'m>(
    view: &View,
    machine: &'m Machine,
    first: &'m Use,
    offset: TextSize,
) -> (&'m Use, TextRange) {
    let alike = || machine.uses.iter().filter(|used| used.range == first.range);
    let written = || value_at(view, offset)?.item_at(view, offset);
    if alike().nth(1).is_none() {
        return (first, first.range);
    }
    let meant = written().and_then(|(range, text)| {
        let says =
            |used: &&Use| matches!(&used.target, UseTarget::Name { name, .. } if **name == *text);
        Some((alike().find(says)?, range))
    });
    meant.unwrap_or((first, first.range))
}

fn used_subject(view: &View, machine: &Machine, used: &Use) -> Option<Subject> {
    Some(match &used.target {
        UseTarget::Name { kinds, name, .. } => Subject::Name {
            kind: match machine.definition(kinds, name) {
                Some(given) => given.kind.clone(),
                None => kinds.first()?.clone(),
            },
            name: name.to_string(),
        },
        UseTarget::Position { kind, index } => {
            let kind = kind.clone();
            match nth(view, &kind, *index)? {
                (_, Some(name)) => Subject::Name {
                    kind,
                    name: name.value.clone(),
                },
                (_, None) => Subject::Nth {
                    kind,
                    index: *index,
                },
            }
        }
        UseTarget::Path(path) => Subject::Node(path.to_vec()),
        UseTarget::Input { word, .. } => Subject::Input(word.clone()),
    })
}

/// Everything in the document that speaks of the subject, in document order.
pub(crate) fn occurrences(view: &View, subject: &Subject) -> Vec<Occurrence> {
    let Some(machine) = view.machine() else {
        return Vec::new();
    };
    let mut found = match subject {
        Subject::Name { kind, name } => of_name(view, machine, kind, name),
        Subject::Nth { kind, index } => of_nth(view, machine, kind, *index),
        Subject::Node(path) => of_node(machine, path),
        Subject::Input(word) => of_input(machine, word),
        Subject::File(name) => {
            let same = machine.files.iter().filter(|file| file.name.value == *name);
            same.map(|file| used(file.name.range)).collect()
        }
    };
    found.sort_by_key(|place| (place.range.start(), place.range.end()));
    found.dedup();
    found
}

fn of_name(view: &View, machine: &Machine, kind: &Kind, name: &str) -> Vec<Occurrence> {
    let namesakes: Vec<&Definition> = machine
        .definitions
        .iter()
        .filter(|given| given.name.value == name)
        .collect();
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
    let position = position_of(view, kind, name);
    let places = machine.uses.iter().filter_map(|place| match &place.target {
        UseTarget::Name {
            kinds, name: word, ..
        } if **word == *name && means_it(kinds) => Some(used(place.range)),
        UseTarget::Position {
            kind: counted,
            index,
        } if counted == kind && Some(*index) == position => Some(indirect(place.range)),
        _ => None,
    });
    given.chain(places).collect()
}

/// The tag of a thing without a name, and the positions that count up to it.
fn of_nth(view: &View, machine: &Machine, kind: &Kind, index: i64) -> Vec<Occurrence> {
    let element =
        nth(view, kind, index).and_then(|(range, _)| view.tree().element_with_range(range)?.pop());
    let given = element.map(|element| Occurrence {
        range: element.name_range(),
        form: Form::Given,
    });
    let counted_to = |place: &&Use| {
        let UseTarget::Position {
            kind: counted,
            index: at,
        } = &place.target
        else {
            return false;
        };
        counted == kind && *at == index
    };
    let places = machine.uses.iter().filter(counted_to);
    given
        .into_iter()
        .chain(places.map(|place| used(place.range)))
        .collect()
}

fn of_node(machine: &Machine, path: &[u32]) -> Vec<Occurrence> {
    let leads_there =
        |alias: &&Alias| alias.path.as_ref().and_then(|node| machine.path_of(node)) == Some(path);
    let aliases: Vec<&Alias> = machine.aliases.iter().filter(leads_there).collect();
    let names: Vec<&Spanned<String>> = aliases
        .iter()
        .filter_map(|alias| alias.name.as_ref())
        .collect();
    let is_known = |word: &str| names.iter().any(|name| name.value == word);
    let namesakes: Vec<&Definition> = machine
        .definitions
        .iter()
        .filter(|given| is_known(&given.name.value))
        .collect();
    let means_an_alias = |kinds: &[Kind], word: &str| {
        let fits = |given: &&&Definition| given.name.value == word && kinds.contains(&given.kind);
        let meant = namesakes.iter().find(fits);
        meant.is_some_and(|given| names.iter().any(|name| name.range == given.name.range))
    };
    let given = names.iter().map(|name| Occurrence {
        range: name.range,
        form: Form::Given,
    });
    let places = machine.uses.iter().filter_map(|place| match &place.target {
        UseTarget::Path(asked) if **asked == *path => Some(used(place.range)),
        UseTarget::Name { kinds, name, .. } if means_an_alias(kinds, name) => {
            Some(indirect(place.range))
        }
        _ => None,
    });
    given.chain(places).collect()
}

fn of_input(machine: &Machine, word: &str) -> Vec<Occurrence> {
    let same = machine.uses.iter().filter(|place| match &place.target {
        UseTarget::Input { word: used, .. } => used == word,
        _ => false,
    });
    same.map(|place| used(place.range)).collect()
}

fn used(range: TextRange) -> Occurrence {
    Occurrence {
        range,
        form: Form::Used,
    }
}

fn indirect(range: TextRange) -> Occurrence {
    Occurrence {
        range,
        form: Form::Indirect,
    }
}

impl Subject {
    /// What a definition names.
    pub(crate) fn of(given: &Definition) -> Self {
        Self::Name {
            kind: given.kind.clone(),
            name: given.name.value.clone(),
        }
    }
}

/// The element of a kind at a zero-based position in the document, and its
/// name if it has one.
pub(crate) fn nth<'v>(
    view: &'v View,
    kind: &Kind,
    index: i64,
) -> Option<(TextRange, Option<&'v Spanned<String>>)> {
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
) -> Vec<(TextRange, Option<&'v Spanned<String>>)> {
    let Some(machine) = view.machine() else {
        return Vec::new();
    };
    let named = machine.definitions_of(kind);
    let names: HashMap<TextRange, &Spanned<String>> =
        named.map(|given| (given.element, &given.name)).collect();
    let elements = machine.counted(kind);
    elements
        .map(|element| (element, names.get(&element).copied()))
        .collect()
}

fn position_of(view: &View, kind: &Kind, name: &str) -> Option<i64> {
    let at = all_of(view, kind)
        .iter()
        .position(|(_, known)| known.is_some_and(|known| known.value == name))?;
    i64::try_from(at).ok()
}
