//! What is calculated, shown beside what is written: how far a channel goes, how long a control takes and what it does to
//! the track width, which node an index path leads to, and lengths in a second unit.

use std::sync::Arc;

use dialect::{Dialect, EndValue, ItemType, NodePath, Property, Quantity};
use machine::{Control, Entry, Outline, Spanned, UseTarget};
use project::View;
use syntax::{Element, TextRange, TextSize};

use crate::figures::{Figures, around, travels};
use crate::measures::rounded;
use crate::nodes::Nodes;
use crate::spot::{chain, declaration};

/// A text that is shown between two characters of the document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hint {
    pub at: TextSize,
    pub label: String,
}

/// Nobody reads more than this at once.
const MOST: usize = 2_000;

/// The hints within a range of the document, in order; none if the settings do not want them.
pub fn hints(view: &View, within: TextRange) -> Vec<Hint> {
    let (config, mut hints) = (&view.settings.config, Vec::new());
    if config.has_hints {
        nodes(view, within, &mut hints);
        numbers(view, within, &mut hints);
    }
    if let Some(symbol) = config.second_length {
        lengths(view, within, symbol, &mut hints);
    }
    hints.sort_by_key(|hint| hint.at);
    // A keyframe ends one motion and begins the next.
    hints.dedup();
    hints.truncate(MOST);
    hints
}

fn is_within(within: TextRange, range: TextRange) -> bool {
    within.intersect(range).is_some()
}

/// Which node an index path leads to.
fn nodes(view: &View, within: TextRange, hints: &mut Vec<Hint>) {
    let (Some(meaning), Some(scene)) = (&view.meaning, view.scene()) else {
        return;
    };
    let near = meaning.outline.near(within);
    let uses = near.flat_map(|entry| {
        let uses = entry.facts.uses.iter();
        uses.map(move |used| (entry.placed(&used.range), used))
    });
    for (range, used) in uses
        .filter(|(range, _)| is_within(within, *range))
        .take(MOST)
    {
        // A name says itself what it leads to.
        let UseTarget::Path(NodePath::Positions(path)) = &used.target else {
            continue;
        };
        let name = scene.walk(path).ok().map(|node| &scene[node].name);
        if let Some(name) = name.filter(|name| !name.is_empty()) {
            hints.push(Hint {
                at: range.end(),
                label: name.to_string(),
            });
        }
    }
}

/// Travels of channels, times and track widths of controls.
fn numbers(view: &View, within: TextRange, hints: &mut Vec<Hint>) {
    let (Some(meaning), Some(found)) = (&view.meaning, Nodes::of(view)) else {
        return;
    };
    let mut add = |element: TextRange, label: String| {
        if let Some(at) = end_of_tag(view, element).filter(|_| !label.is_empty()) {
            hints.push(Hint { at, label });
        }
    };
    let near: Vec<&Entry> = meaning.outline.near(within).collect();
    let channels = near.iter().flat_map(|entry| {
        let channels = entry.channels();
        channels.map(|channel| (entry.placed(&channel.element), channel))
    });
    let shown = channels.filter(|(element, _)| is_within(within, *element));
    let at_rest = Arc::default();
    for (element, channel) in shown.take(MOST) {
        let node = channel.node.as_ref().and_then(|node| found.of_ref(node));
        let travels = node.map(|node| {
            travels(
                view,
                &|asked| found.of_ref(asked),
                &at_rest,
                node,
                channel,
                element,
            )
        });
        add(element, travels.unwrap_or_default().join("; "));
    }
    let controls = near.iter().flat_map(|entry| {
        let controls = entry.facts.controls.iter();
        controls.map(|control| entry.placed(control))
    });
    let controls: Vec<Control> = controls
        .filter(|control| is_within(within, control.element))
        .collect();
    let elements: Vec<TextRange> = controls.iter().map(|control| control.element).collect();
    let Some(machine) = around(view, controls).filter(|_| !elements.is_empty()) else {
        return;
    };
    let Some(figures) = Figures::of(view, &machine, &found) else {
        return;
    };
    for (at, element) in elements.into_iter().enumerate() {
        let mut parts: Vec<String> = figures.full_travel(at).into_iter().collect();
        let tracks = figures
            .played(at)
            .map(|animation| figures.tracks(animation));
        let changing = tracks.into_iter().flatten();
        let changing = changing.filter(|track| track.start != track.end);
        parts.extend(changing.map(|track| format!("track {} to {}", track.start, track.end)));
        add(element, parts.join(", "));
    }
}

/// Where an element's start tag ends.
fn end_of_tag(view: &View, element: TextRange) -> Option<TextSize> {
    let path = view.tree().element_with_range(element)?;
    Some(path.last()?.start_tag_range().end())
}

/// Lengths in the unit of this symbol.
fn lengths(view: &View, within: TextRange, symbol: &str, hints: &mut Vec<Hint>) {
    let (Some(meaning), Some(dialect)) = (&view.meaning, view.dialect()) else {
        return;
    };
    if dialect.notation.units.of(Quantity::Length).name == symbol {
        return;
    }
    let mut all = lengths_of_motions(&meaning.outline, within);
    all.extend(lengths_of_values(view, dialect, within));
    hints.extend(all.into_iter().filter_map(|(at, metres)| {
        let turned = metres.iter();
        let turned =
            turned.map(|metres| Some(rounded(dialect, dialect::in_unit(*metres, symbol)?)));
        let turned: Vec<String> = turned.collect::<Option<_>>()?;
        let label = format!("{} {symbol}", turned.join(" "));
        Some(Hint { at, label })
    }));
}

/// Where translations end, with their metres.
fn lengths_of_motions(outline: &Outline, within: TextRange) -> Vec<(TextSize, Vec<f64>)> {
    let channels = outline.near(within).flat_map(|entry| {
        let channels = entry.channels();
        channels.map(|channel| entry.placed(channel))
    });
    let mut found = Vec::new();
    for motion in channels.flat_map(|channel| channel.motions) {
        if motion.property != Some(Property::Translation) || motion.axes.is_some() {
            continue;
        }
        for Spanned { value, range } in motion.values() {
            if let (EndValue::Vector(metres), true) = (value, is_within(within, *range)) {
                found.push((range.end(), metres.to_vec()));
            }
        }
    }
    found
}

/// Where values end that are declared as lengths, with their metres.
fn lengths_of_values(
    view: &View,
    dialect: &Dialect,
    within: TextRange,
) -> Vec<(TextSize, Vec<f64>)> {
    let mut found = Vec::new();
    let root = view.tree().root().map(|root| vec![root]);
    let mut open: Vec<Vec<Element<'_>>> = root.into_iter().collect();
    let mut left = MOST;
    while let Some(path) = open.pop() {
        let Some(element) = path.last().filter(|one| is_within(within, one.range())) else {
            continue;
        };
        left = left.saturating_sub(1);
        if left == 0 {
            break;
        }
        let declared = chain(view, &path).and_then(|chain| declaration(view, &chain));
        let attributes = element.attributes().map(|attribute| {
            let known = declared.and_then(|declared| declared.attribute(attribute.name()));
            (known, attribute.value_range(), attribute.value())
        });
        let text = declared.and_then(|declared| declared.text.as_ref());
        let text = text.map(|text| (Some(text), element.text_range(), element.text()));
        for (known, range, text) in attributes.chain(text) {
            let metres = known.and_then(|known| metres(dialect, &known.value.item, &text));
            found.extend(
                range
                    .zip(metres)
                    .map(|(range, metres)| (range.end(), metres)),
            );
        }
        let children = element
            .children()
            .map(|child| [&path[..], &[child]].concat());
        open.extend(children);
    }
    found
}

/// What a value says that is declared as a length or several.
fn metres(dialect: &Dialect, item: &ItemType, text: &str) -> Option<Vec<f64>> {
    let (unit, numbers) = match item {
        ItemType::Vector {
            unit, separator, ..
        } => {
            let numbers = dialect.notation.numbers.read_row(text, separator);
            (unit, numbers?)
        }
        ItemType::Number { unit, .. } => (unit, vec![dialect.read_number(text)?]),
        _ => return None,
    };
    let unit = unit.as_ref()?;
    let is_length = unit.quantity == Quantity::Length && !numbers.is_empty();
    is_length.then(|| numbers.iter().map(|one| unit.to_base(*one)).collect())
}

#[cfg(test)]
mod tests;
