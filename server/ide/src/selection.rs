//! Ever larger stretches around a caret: a word, its value, its attribute, its
//! tag, the content around it, the element, and so on outwards.

use crate::spot::value_at;
use project::View;
use syntax::{Attribute, Element, Item, Place, TextRange, TextSize};

/// The stretches around an offset, the smallest first; each holds the one before
/// and is larger. Never empty: the last is the whole text.
pub fn selections(view: &View, offset: TextSize) -> Vec<TextRange> {
    let mut found = vec![word_at(view, offset)];
    let place = view.tree().place_at(offset);
    let path = match &place {
        Place::ElementName { path, range } | Place::EndTagName { path, range } => {
            found.push(*range);
            path.as_slice()
        }
        Place::AttributeName {
            path,
            attribute,
            range,
        } => {
            found.push(*range);
            found.extend(attribute.iter().flat_map(around_attribute));
            path
        }
        Place::AttributeValue {
            path, attribute, ..
        } => {
            found.extend(value_parts(view, offset));
            found.extend(around_attribute(attribute));
            path
        }
        Place::Content { path, range } => {
            found.extend(value_parts(view, offset));
            found.push(*range);
            path
        }
        Place::Outside { range } => {
            found.push(*range);
            &[]
        }
        Place::Comment | Place::CData | Place::ProcessingInstruction | Place::Doctype => &[],
    };
    let around = if path.is_empty() {
        view.tree().elements_at(offset)
    } else {
        path.to_vec()
    };
    found.extend(markup_at(view, &around, offset));
    for element in around.iter().rev() {
        found.extend(parts_around(*element, offset));
        found.push(element.range());
    }
    found.push(TextRange::up_to(TextSize::of(view.text())));
    growing(found)
}

/// Keeps what holds all before it and is larger.
fn growing(ranges: Vec<TextRange>) -> Vec<TextRange> {
    let mut kept: Vec<TextRange> = Vec::new();
    for range in ranges {
        let grows = kept
            .last()
            .is_none_or(|last| range.contains_range(*last) && range != *last);
        if grows && (!range.is_empty() || kept.is_empty()) {
            kept.push(range);
        }
    }
    // A caret between words is no selection worth a step.
    if kept.len() > 1 && kept[0].is_empty() {
        kept.remove(0);
    }
    kept
}

fn word_at(view: &View, offset: TextSize) -> TextRange {
    let Some((before, after)) = view.text().split_at_checked(usize::from(offset)) else {
        return TextRange::empty(TextSize::of(view.text()));
    };
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let left = before.len() - before.trim_end_matches(is_word).len();
    let right = after.len() - after.trim_start_matches(is_word).len();
    let size = |length: usize| TextSize::try_from(length).unwrap_or_default();
    TextRange::new(offset - size(left), offset + size(right))
}

/// The member of a list, then the value.
fn value_parts(view: &View, offset: TextSize) -> Vec<TextRange> {
    let Some(spot) = value_at(view, offset) else {
        return Vec::new();
    };
    let mut parts: Vec<TextRange> = spot
        .item_at(view, offset)
        .map(|(range, _)| range)
        .into_iter()
        .collect();
    parts.push(spot.range);
    parts
}

/// The value with its quotes, then the attribute.
fn around_attribute(attribute: &Attribute<'_>) -> Vec<TextRange> {
    let quoted = attribute
        .value_range()
        .filter(|_| attribute.quote().is_some())
        .map(|value| {
            let end = (value.end() + TextSize::of('"')).min(attribute.range().end());
            TextRange::new(value.start() - TextSize::of('"'), end)
        });
    quoted.into_iter().chain([attribute.range()]).collect()
}

/// The comment, CDATA section or the like around the offset.
fn markup_at(view: &View, path: &[Element<'_>], offset: TextSize) -> Option<TextRange> {
    let items = path
        .last()
        .map_or_else(|| view.tree().top_level(), |element| element.items());
    items
        .take_while(|item| item.range().start() <= offset)
        .filter(|item| !matches!(item, Item::Element(_) | Item::Text(_)))
        .map(|item| item.range())
        .find(|range| range.contains_inclusive(offset))
}

/// The tag or the content of an element that holds the offset.
fn parts_around(element: Element<'_>, offset: TextSize) -> Vec<TextRange> {
    let start = element.start_tag_range();
    let mut parts = vec![start];
    parts.extend(attributes_range(element));
    parts.extend(element.end_tag().map(|tag| tag.range()));
    parts.extend(element.content_range());
    parts.retain(|part| part.contains_inclusive(offset));
    parts.sort_by_key(|part| part.len());
    parts
}

/// From the first to the last attribute.
fn attributes_range(element: Element<'_>) -> Option<TextRange> {
    element
        .attributes()
        .map(|attribute| attribute.range())
        .reduce(TextRange::cover)
}

#[cfg(test)]
mod tests;
