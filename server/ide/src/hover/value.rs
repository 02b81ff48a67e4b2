//! What a value means.

use super::{
    attribute_doc, controls_of_input, facts,
    grammar::{labelled, text_doc},
    node::{listed, node_facts},
};
use crate::{
    motions,
    nodes::{Nodes, node_of, rest_value, tidy, tidy_value},
    occurrences::nth,
    owners::named_element,
    prose::{Line, Prose},
    spot::{ValueSpot, declaration},
};
use dialect::{AttributeDecl, Dialect, EndValue, ItemType, Kind, NodePath, Property, Unit};
use machine::{Outline, UseTarget};
use project::{FileState, Meaning, View};
use scene::NoNode;
use syntax::{TextRange, TextSize};

/// The range of the item that is meant, and the text about it.
pub(super) fn of_value(
    view: &View,
    spot: &ValueSpot<'_>,
    offset: TextSize,
) -> Option<(TextRange, Prose)> {
    let (dialect, declared) = (view.dialect()?, spot.declared?);
    let (range, text) = spot.item_at(view, offset)?;
    let own = about(view, dialect, spot, declared, range, &text);
    let doc = match (spot.attribute, declaration(view, &spot.chain)) {
        (None, Some(element)) => text_doc(dialect, spot.element.local_name(), element, declared),
        _ => attribute_doc(dialect, declared),
    };
    Some((range, own.then(doc)))
}

fn about(
    view: &View,
    dialect: &Dialect,
    spot: &ValueSpot<'_>,
    declared: &AttributeDecl,
    range: TextRange,
    text: &str,
) -> Prose {
    let Some(meaning) = &view.meaning else {
        return Prose::new();
    };
    let outline = &*meaning.outline;
    let asking = spot.owner.range();
    match &declared.value.item {
        ItemType::NameOf(kind) => titled(kind.as_str(), text).then(facts(view, asking)),
        ItemType::Reference(kinds) => named(view, outline, kinds, text, range),
        ItemType::PositionOf { kind, .. } => positioned(view, outline, kind, text, range),
        ItemType::Node { aliases, .. } => {
            match outline.use_at(range.start()).map(|used| used.target) {
                Some(UseTarget::Path(path)) => of_path(view, &path, text, asking),
                Some(UseTarget::Name {
                    kinds,
                    name,
                    or_node: Some(path),
                    ..
                }) if outline.definition(&kinds, &name).is_none() => {
                    of_path(view, &path, text, asking)
                }
                _ => named(view, outline, aliases, text, range),
            }
        }
        ItemType::IndexPath => match dialect.notation.index_path.parse(text) {
            Ok(path) => of_path(view, &NodePath::Positions(path.into()), text, asking),
            Err(_) => Prose::new(),
        },
        ItemType::Word(words) => match words.get(text) {
            Some(word) => titled("word", text).doc(&word.doc),
            None => Prose::new(),
        },
        ItemType::Input(_) => {
            let kind = dialect.inputs.kind_of(text);
            let word = kind.and_then(|kind| dialect.inputs.of(kind).get(text));
            let users = controls_of_input(outline, text, Some(asking));
            let title = match kind {
                Some(kind) => titled(&format!("{} input", kind.as_str()), text),
                None => titled("input", text),
            };
            title
                .doc(word.map_or("", |word| &word.doc))
                .item(labelled("Also used by: ", listed(users)))
        }
        ItemType::File { .. } => file(meaning, range, text),
        ItemType::Number { unit, .. } => in_base_units(dialect, declared, unit.as_ref(), text),
        ItemType::Vector { unit, .. } => {
            vector_in_base_units(dialect, declared, unit.as_ref(), text)
        }
        ItemType::MovedValue { .. } => moved(view, dialect, spot, declared, text),
        ItemType::Text
        | ItemType::Boolean { .. }
        | ItemType::Integer { .. }
        | ItemType::Colour(_) => Prose::new(),
    }
}

fn titled(what: &str, name: &str) -> Prose {
    Prose::new().paragraph(Line::new().strong(what).text(" ").code(name))
}

fn named(view: &View, outline: &Outline, kinds: &[Kind], name: &str, range: TextRange) -> Prose {
    match outline.definition(kinds, name) {
        Some(given) => {
            titled(given.kind.as_str(), name).then(facts(view, named_element(view, &given)))
        }
        None if range.is_empty() => Prose::new(),
        None => {
            titled("name", name).paragraph(Line::new().text("Nothing in this file has this name."))
        }
    }
}

fn positioned(view: &View, outline: &Outline, kind: &Kind, text: &str, range: TextRange) -> Prose {
    let Some(UseTarget::Position { index, .. }) =
        outline.use_at(range.start()).map(|used| used.target)
    else {
        return Prose::new();
    };
    match nth(view, kind, index) {
        Some((element, name)) => {
            titled(kind.as_str(), name.map_or(text, |name| &name.value)).then(facts(view, element))
        }
        None => Prose::new()
            .paragraph(Line::new().text(format!("There is no {kind} at this position."))),
    }
}

fn of_path(view: &View, path: &NodePath, text: &str, asking: TextRange) -> Prose {
    let Some(nodes) = Nodes::of(view) else {
        return Prose::new();
    };
    match nodes.scene.find(path) {
        Ok(id) => {
            let name = &nodes.scene[id].name;
            titled("node", if name.is_empty() { text } else { name }).then(node_facts(
                view,
                &nodes,
                id,
                Some(asking),
            ))
        }
        Err(NoNode::NoPosition(_)) => titled("index path", text)
            .paragraph(Line::new().text("It leads to no node of the scene.")),
        Err(NoNode::NoName) => {
            titled("node", text).paragraph(Line::new().text("No node of the scene has this name."))
        }
        Err(NoNode::Several(count)) => titled("node", text)
            .paragraph(Line::new().text(format!("{count} nodes of the scene have this name."))),
    }
}

fn file(meaning: &Meaning, range: TextRange, text: &str) -> Prose {
    let named = meaning.outline.file_at(range.start());
    let named = named.filter(|file| file.name.range == range);
    let state = named.map(|named| meaning.file(&named.name.value));
    let line = match state {
        Some(FileState::Found(path)) => Line::new().text("Found: ").code(path.to_string_lossy()),
        Some(FileState::CaseDiffers { written, .. }) => Line::new()
            .text("On disk it is spelt ")
            .code(written)
            .text(". Some systems will not find it."),
        Some(FileState::Missing(path)) => {
            Line::new().text("Not found: ").code(path.to_string_lossy())
        }
        Some(FileState::InGame) => {
            Line::new().text("In the game's own folder, where it is not looked for.")
        }
        None => return Prose::new(),
    };
    titled("file", text).paragraph(line)
}

/// The number in base units, if its own unit is another.
fn in_base_units(
    dialect: &Dialect,
    declared: &AttributeDecl,
    unit: Option<&Unit>,
    text: &str,
) -> Prose {
    let Some(unit) = unit.filter(|unit| unit.to_base != 1.0) else {
        return Prose::new();
    };
    let Some(number) = dialect.read_quantity(&declared.value, text, None) else {
        return Prose::new();
    };
    let base = unit.quantity.base_unit();
    Prose::new().paragraph(Line::new().code(text).text(format!(
        " {} = {} {}",
        unit.label,
        dialect.write_number(tidy(number)),
        base.label
    )))
}

fn vector_in_base_units(
    dialect: &Dialect,
    declared: &AttributeDecl,
    unit: Option<&Unit>,
    text: &str,
) -> Prose {
    let (Some(unit), ItemType::Vector { separator, .. }) = (
        unit.filter(|unit| unit.to_base != 1.0),
        &declared.value.item,
    ) else {
        return Prose::new();
    };
    let Some(numbers) = dialect.notation.numbers.read_row(text, separator) else {
        return Prose::new();
    };
    let numbers: Vec<f64> = numbers
        .into_iter()
        .map(|number| tidy(unit.to_base(number)))
        .collect();
    let row = dialect.notation.numbers.write_row(&numbers, separator);
    let base = unit.quantity.base_unit();
    Prose::new().paragraph(
        Line::new()
            .code(text)
            .text(format!(" {} = {row} {}", unit.label, base.label)),
    )
}

/// A value at one end of a motion: what it is in base units, and where the node rests.
fn moved(
    view: &View,
    dialect: &Dialect,
    spot: &ValueSpot<'_>,
    declared: &AttributeDecl,
    text: &str,
) -> Prose {
    let Some(end) = motions::end_at(view, spot) else {
        return Prose::new();
    };
    let Some(property) = end.property else {
        return Prose::new();
    };
    let mut prose = Prose::new();
    let value = dialect.read_end(&declared.value, text, property);
    if let (Some(EndValue::Vector(numbers)), Some(quantity)) = (value, property.quantity())
        && let ItemType::MovedValue { units, .. } = &declared.value.item
        && units.of(quantity).to_base != 1.0
    {
        let row = dialect.write_vector(&numbers.map(tidy));
        let (unit, base) = (units.of(quantity), quantity.base_unit());
        prose = prose.paragraph(
            Line::new()
                .code(text)
                .text(format!(" {} = {row} {}", unit.label, base.label)),
        );
    }
    let node = end.channel.node.as_ref();
    let id = node.and_then(|node| node_of(view, node));
    if let (Some(id), Some(scene)) = (id, view.scene()) {
        let rest = tidy_value(rest_value(dialect, &scene[id].rest, property));
        if let Some(written) = dialect.write_end(&declared.value, rest, property) {
            let line = Line::new()
                .text(format!("At rest, the {} is ", property.as_str()))
                .code(written);
            prose = prose.paragraph(match (end.is_added, property) {
                (false, _) => line,
                (true, Property::Scale) => line.text("; this is multiplied"),
                (true, _) => line.text("; this is added"),
            });
        }
    }
    prose
}
