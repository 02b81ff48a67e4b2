//! The attributes of two tags.

use std::borrow::Cow;

use syntax::Element;

use crate::document::{Document, Id};

#[derive(Debug)]
pub(crate) enum TagChange {
    Edits(Vec<TagEdit>),
    /// The element has to be written anew.
    Whole,
}

/// Names are as written, prefixes included.
#[derive(Debug)]
pub(crate) enum TagEdit {
    Set(String, String),
    Add(String, String),
    Remove(String),
    Rebind(String, String),
    Unbind(String),
}

impl TagEdit {
    pub(crate) fn name(&self) -> &str {
        match self {
            Self::Set(name, _) | Self::Add(name, _) | Self::Remove(name) => name,
            Self::Rebind(..) | Self::Unbind(_) => "",
        }
    }
}

/// `holds_markup`: there is more in one of the elements than text. Without that it is written anew where that is the only
/// way to the same bytes.
pub(crate) fn compared(
    old: &Document<'_>,
    old_id: Id,
    new: &Document<'_>,
    new_id: Id,
    holds_markup: bool,
) -> TagChange {
    let (Some(one), Some(other)) = (old.element(old_id), new.element(new_id)) else {
        return TagChange::Edits(Vec::new());
    };
    let tags = (
        old.slice(one.start_tag_range()),
        new.slice(other.start_tag_range()),
    );
    if tags.0 == tags.1 && end_tag(old, one) == end_tag(new, other) {
        return TagChange::Edits(Vec::new());
    }
    if one.name() != other.name() {
        return TagChange::Whole;
    }
    let mut edits = Vec::new();
    for attribute in one.attributes() {
        let (name, there) = (attribute.name(), other.attribute(attribute.name()));
        let changed = there.filter(|there| there.value() != attribute.value());
        match (attribute.declared_prefix(), there.is_some(), changed) {
            (_, true, None) => {}
            // No path leads to the default namespace.
            (Some(None), ..) => return TagChange::Whole,
            (Some(Some(prefix)), false, _) => edits.push(TagEdit::Unbind(prefix.to_owned())),
            (Some(Some(prefix)), true, Some(there)) => {
                edits.push(TagEdit::Rebind(
                    prefix.to_owned(),
                    there.value().into_owned(),
                ));
            }
            (None, false, _) => edits.push(TagEdit::Remove(name.to_owned())),
            (None, true, Some(there)) => {
                edits.push(TagEdit::Set(name.to_owned(), there.value().into_owned()));
            }
        }
    }
    for attribute in other.attributes() {
        if one.attribute(attribute.name()).is_some() {
            continue;
        }
        match attribute.declared_prefix() {
            None => edits.push(TagEdit::Add(
                attribute.name().to_owned(),
                attribute.value().into_owned(),
            )),
            Some(None) => return TagChange::Whole,
            // Declared beforehand.
            Some(Some(_)) => {}
        }
    }
    let is_empty = old.nodes[old_id].children.is_empty() && new.nodes[new_id].children.is_empty();
    let is_as_wanted = predicted(old, one, &edits).as_deref() == Some(tag_body(tags.1))
        && end_tag(old, one) == end_tag(new, other)
        && (!is_empty || one.is_self_closing() == other.is_self_closing());
    if !holds_markup && !is_as_wanted {
        return TagChange::Whole;
    }
    TagChange::Edits(edits)
}

fn end_tag<'t>(document: &Document<'t>, element: Element<'_>) -> &'t str {
    element.end_tag().map_or("", |tag| {
        document.slice(tag.range()).trim_start_matches("</")
    })
}

/// Without what closes it.
fn tag_body(tag: &str) -> &str {
    let inner = tag.strip_suffix("/>").or_else(|| tag.strip_suffix('>'));
    inner.unwrap_or(tag)
}

/// What the old tag will be after these edits; None: not what a patch would make of it.
fn predicted(old: &Document<'_>, element: Element<'_>, edits: &[TagEdit]) -> Option<String> {
    let start = usize::from(element.range().start());
    let tag = old.slice(element.start_tag_range());
    let mut text = tag_body(tag).to_owned();
    let attributes: Vec<_> = element.attributes().collect();
    let mut removed = false;
    for attribute in attributes.iter().rev() {
        let is_about = |edit: &&TagEdit| edit.name() == attribute.name();
        match edits.iter().find(is_about) {
            Some(TagEdit::Set(_, value)) => {
                let range = std::ops::Range::<usize>::from(attribute.value_range()?);
                let quote = attribute.quote()?;
                let value: Cow<'_, str> = syntax::escape::attribute(value, quote);
                text.replace_range(range.start - start..range.end - start, &value);
            }
            Some(TagEdit::Remove(_)) => {
                let range = std::ops::Range::<usize>::from(attribute.range());
                let kept = text[..range.start - start].trim_end().len();
                text.replace_range(kept..range.end - start, "");
                removed = true;
            }
            _ => {}
        }
    }
    let added = edits.iter().any(|edit| matches!(edit, TagEdit::Add(..)));
    if !added {
        return Some(text);
    }
    // Additions follow the habits of the whole document, so only the plainest can be told.
    let gap = match attributes.as_slice() {
        [.., before, last] if !removed => {
            let between = usize::from(before.range().end())..usize::from(last.range().start());
            old.text.get(between)?
        }
        _ => " ",
    };
    let blanks = text.len() - text.trim_end().len();
    let tail = text.split_off(text.len() - blanks);
    for edit in edits {
        if let TagEdit::Add(name, value) = edit {
            let value = syntax::escape::attribute(value, '"');
            text.push_str(&format!("{gap}{name}=\"{value}\""));
        }
    }
    text.push_str(&tail);
    Some(text)
}
