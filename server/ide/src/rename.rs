//! Changing a name everywhere it stands in a document, or in a mod whose documents share it.

use crate::{
    name_places::{names_kind, value_types},
    occurrences::{Form, Subject, occurrences, subject_at},
    shared_names::SharedName,
    spot::{value_at, within},
};
use dialect::{Dialect, ItemType, Kind, NodePath, Separator, ValueType};
use machine::{Definition, Machine, UseTarget};
use project::View;
use std::sync::Arc;
use syntax::{TextEdit, TextRange, TextSize, escape};

/// A name that can be changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renaming {
    /// The name at the place that was asked about.
    pub range: TextRange,
    /// The name as a person reads it: references resolved.
    pub name: String,
}

/// Whether there is a name at an offset that can be changed.
///
/// # Errors
/// Says why not and what to do.
pub fn prepare(view: &View, offset: TextSize) -> Result<Renaming, String> {
    name_at(view, offset).map(|(_, renaming)| renaming)
}

/// The edits that change the name at an offset wherever it stands: each document that has to change, with its edits. These
/// are others than the one that is asked about only if all documents of a mod share the name. `others`: the others of the
/// mod.
///
/// # Errors
/// Says why the name cannot be changed, or not to this one.
pub fn rename<'v>(
    view: &'v View,
    others: &'v [Arc<View>],
    offset: TextSize,
    new_name: &str,
) -> Result<Vec<(&'v View, Vec<TextEdit>)>, String> {
    let (kind, Renaming { name, .. }) = name_at(view, offset)?;
    let dialect = view.dialect().ok_or(NO_NAME)?;
    if new_name == name {
        return Ok(Vec::new());
    }
    refuse_unfit(dialect, &kind, new_name)?;
    let shared = SharedName::at(view, offset);
    let shares = |other: &&View| shared.as_ref().is_some_and(|one| one.is_known_to(other));
    let others: Vec<&View> = others.iter().map(|other| &**other).filter(shares).collect();
    let mut all = std::iter::once(&view).chain(&others);
    if shared.is_some() && !all.any(|one| gives(one, &kind, &name)) {
        return Err(format!(
            "No {kind} is called “{name}” in the files of this mod that can be read, so there is nothing to rename. Write the right name here."
        ));
    }
    let mut renamed = vec![(view, edits_in(view, &kind, &name, new_name)?)];
    for other in others {
        let edits = edits_in(other, &kind, &name, new_name);
        let edits = edits.map_err(|error| {
            let file = other.document.path.file_name().unwrap_or_default();
            format!("In {}: {error}", file.display())
        })?;
        renamed.push((other, edits));
    }
    renamed.retain(|(_, edits)| !edits.is_empty());
    Ok(renamed)
}

/// The edits of one document.
fn edits_in(view: &View, kind: &Kind, old: &str, new: &str) -> Result<Vec<TextEdit>, String> {
    let (Some(machine), Some(dialect)) = (view.machine(), view.dialect()) else {
        return Err(NO_NAME.to_owned());
    };
    refuse_taken(view, machine, dialect, kind, old, new)?;
    refuse_caught(view, machine, kind, new)?;
    let subject = Subject::Name {
        kind: *kind,
        name: old.to_owned(),
    };
    let mut edits = Vec::new();
    for place in occurrences(view, &subject) {
        if place.form != Form::Indirect {
            edits.extend(edit(view, place.range, old, new)?);
        }
    }
    edits.sort_by_key(|edit: &TextEdit| edit.range.start());
    edits.dedup();
    Ok(edits)
}

const NO_NAME: &str =
    "There is no name here. Put the caret on a name that this file gives to something.";

fn name_at(view: &View, offset: TextSize) -> Result<(Kind, Renaming), String> {
    match subject_at(view, offset) {
        Some((Subject::Name { kind, name }, range)) => {
            let by_position = value_at(view, offset)
                .and_then(|spot| spot.declared)
                .is_some_and(|declared| matches!(declared.value.item, ItemType::PositionOf { .. }));
            if by_position {
                return Err(format!(
                    "This is a position, not a name. To rename the {kind} “{name}”, go to where it is named."
                ));
            }
            Ok((kind, Renaming { range, name }))
        }
        Some((Subject::Nth { .. }, _)) => {
            Err("This has no name: it is known by its position.".to_owned())
        }
        Some((Subject::Node(path), _)) => Err(match path {
            NodePath::Positions(_) => {
                "This is an index path, not a name. The names of nodes are given in the scene file."
            }
            NodePath::Names(_) => {
                "This is the name of a node, which is given in the scene file. Rename the node there, then write its new name here."
            }
        }
        .to_owned()),
        Some((Subject::Input(_), _)) => {
            Err("The names of inputs belong to the game and cannot be changed here.".to_owned())
        }
        Some((Subject::File(_), _)) => Err(
            "This is the name of a file. Rename the file, then write its new name here.".to_owned(),
        ),
        None => Err(NO_NAME.to_owned()),
    }
}

fn gives(view: &View, kind: &Kind, name: &str) -> bool {
    let mut given = view
        .machine()
        .into_iter()
        .flat_map(|machine| &machine.definitions);
    given.any(|one| one.kind == *kind && *one.name.value == *name)
}

/// Refuses what cannot be a name of this kind anywhere.
fn refuse_unfit(dialect: &Dialect, kind: &Kind, name: &str) -> Result<(), String> {
    if name.trim().is_empty() {
        return Err("A name cannot be empty.".to_owned());
    }
    if name.trim() != name {
        return Err(format!("“{name}” has blanks around it. Leave them out."));
    }
    if let Some(character) = name.chars().find(|character| character.is_control()) {
        return Err(format!(
            "A name cannot hold the character U+{:04X}.",
            u32::from(character)
        ));
    }
    let paths = &dialect.notation.index_path;
    let places = value_types(dialect).filter(|value| names_kind(&value.item, kind));
    let reads_as_path = |item: &ItemType| {
        matches!(
            item,
            ItemType::Node {
                index_path: true,
                ..
            }
        )
    };
    if (paths.parse(name).is_ok() || paths.looks_like(name))
        && places.into_iter().any(|value| reads_as_path(&value.item))
    {
        let other = match name.contains(char::is_alphabetic) {
            true => "another name",
            false => "a name with a letter in it",
        };
        return Err(format!(
            "“{name}” would be read as an index path where the {kind} is used. Choose {other}."
        ));
    }
    Ok(())
}

/// Refuses a name that would not be read as itself in a place.
fn refuse_cut(view: &View, value: &ValueType, place: TextRange, name: &str) -> Result<(), String> {
    if value.keeps(name) {
        return Ok(());
    }
    let line = line_of(view, place.start());
    let separator = match value.list.as_ref().map(|list| &list.separator) {
        Some(Separator::WhiteSpace) if name.contains(char::is_whitespace) => "a blank".to_owned(),
        Some(Separator::Text(mark)) if name.contains(mark.as_str()) => format!("“{mark}”"),
        _ => {
            return Err(format!(
                "“{name}” would be cut in line {line}, where names begin or end at a mark that it has in it. Choose a name without the mark."
            ));
        }
    };
    Err(format!(
        "“{name}” has {separator} in it, which separates the names of a list in line {line}: it would be taken for several names there."
    ))
}

/// Refuses a name that is taken by something it could be mistaken for: of the
/// same kind, or of a kind that some place accepts as well.
fn refuse_taken(
    view: &View,
    machine: &Machine,
    dialect: &Dialect,
    kind: &Kind,
    old: &str,
    new: &str,
) -> Result<(), String> {
    let mistakable = |other: &Kind| {
        other == kind
            || value_types(dialect)
                .any(|value| names_kind(&value.item, kind) && names_kind(&value.item, other))
    };
    let taken = machine
        .definitions
        .iter()
        .find(|given| *given.name.value == *new && mistakable(&given.kind));
    let Some(taken) = taken else {
        return Ok(());
    };
    let line = |given: &Definition| line_of(view, given.name.range.start());
    let own = machine
        .definitions
        .iter()
        .find(|given| *given.name.value == *old && given.kind == *kind)
        .map_or_else(String::new, |given| format!(" (line {})", line(given)));
    Err(format!(
        "The {kind} “{old}”{own} cannot be called “{new}”: the {} in line {} has that name, and one could be mistaken for the other.",
        taken.kind,
        line(taken),
    ))
}

/// Refuses a name by which some place calls a node of the scene: it would call the renamed thing then.
fn refuse_caught(view: &View, machine: &Machine, kind: &Kind, name: &str) -> Result<(), String> {
    let calls_node = |target: &UseTarget| match target {
        UseTarget::Name {
            kinds,
            name: called,
            or_node,
            ..
        } => or_node.is_some() && **called == *name && kinds.contains(kind),
        _ => false,
    };
    let caught = machine.uses.iter().find(|used| calls_node(&used.target));
    let Some(caught) = caught else {
        return Ok(());
    };
    let line = line_of(view, caught.range.start());
    Err(format!(
        "In line {line} “{name}” means a node of the scene, and would mean this {kind} then. Choose another name."
    ))
}

/// One-based, for people.
fn line_of(view: &View, offset: TextSize) -> u32 {
    let document = &view.document;
    document
        .lines
        .position(&**document, offset, syntax::Encoding::Utf8)
        .line
        + 1
}

/// The edit of one place. The range is the name itself, or a longer stretch of
/// text if references in it hide where the name begins.
fn edit(view: &View, range: TextRange, old: &str, new: &str) -> Result<Vec<TextEdit>, String> {
    let spot = value_at(view, range.start());
    let quote = spot
        .as_ref()
        .and_then(|spot| spot.attribute)
        .map(|attribute| attribute.quote().unwrap_or('"'));
    let written = match quote {
        Some(quote) => escape::attribute(new, quote),
        None => escape::text(new),
    };
    let value = spot.as_ref().and_then(|spot| Some(&spot.declared?.value));
    if let Some(value) = value {
        refuse_cut(view, value, range, new)?;
    }
    let list = value.and_then(|value| value.list.as_ref());
    let raw = &view.text()[range];
    if escape::resolved(raw) == old {
        return Ok(vec![TextEdit::replace(range, written)]);
    }
    let pieces = list.into_iter().flat_map(|list| list.separator.split(raw));
    let edits: Vec<TextEdit> = pieces
        .filter(|piece| escape::resolved(&raw[piece.clone()]) == old)
        .map(|piece| TextEdit::replace(within(range, &piece), written.clone()))
        .collect();
    if edits.is_empty() {
        let line = line_of(view, range.start());
        return Err(format!(
            "In line {line} the name “{old}” is written in a way that cannot be changed safely. Write it plainly there first."
        ));
    }
    Ok(edits)
}

#[cfg(test)]
mod tests;
