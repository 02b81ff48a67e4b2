//! End tags that write themselves while a person types.

use crate::open_elements::{is_open, left_open};
use project::View;
use syntax::{Element, Place, Source, TextEdit, TextRange, TextSize, Tree};

/// What to insert at the caret after a character was typed there, if anything:
/// `</name>` behind the `>` of a start tag, `name>` behind `</`. Only for
/// elements that have no end tag yet.
pub fn closing(view: &View, offset: TextSize, typed: char) -> Option<String> {
    match typed {
        '>' => behind_start_tag(view, offset),
        '/' => behind_slash(view, offset),
        _ => None,
    }
}

fn behind_start_tag(view: &View, offset: TextSize) -> Option<String> {
    let at_bracket = offset.checked_sub(TextSize::of('>'))?;
    let path = view.tree().elements_at(at_bracket);
    let element = path
        .iter()
        .rfind(|element| element.start_tag_range().end() == offset)?;
    let is_tag = view.document.is_before(offset, ">") && element.is_start_tag_closed();
    let name = element.name();
    if !is_tag || element.is_self_closing() || name.is_empty() {
        return None;
    }
    let is_closed = element.end_tag().is_some_and(|tag| tag.name() == name);
    // An end tag that an outer element of the same name lacks is the outer one's.
    let lacking = path
        .iter()
        .take_while(|outer| *outer != element)
        .any(|outer| outer.name() == name && is_open(outer));
    (!is_closed || lacking).then(|| format!("</{name}>"))
}

fn behind_slash(view: &View, offset: TextSize) -> Option<String> {
    if !view.document.is_before(offset, "</") {
        return None;
    }
    let start = offset - TextSize::of("</");
    let next = view.document.char_at(offset);
    let is_name_next =
        next.is_some_and(|c: char| c.is_alphanumeric() || matches!(c, '_' | ':' | '>'));
    let is_tag = matches!(
        view.tree().place_at(offset),
        Place::EndTagName { .. }
            | Place::ElementName { .. }
            | Place::Content { .. }
            | Place::Outside { .. }
    );
    if is_name_next || !is_tag {
        return None;
    }
    // As it was before: what lacks an end tag there lacks one now.
    let written = TextRange::new(start, offset);
    let tree = view.tree().edited(&TextEdit::delete(written));
    if !is_content(&tree, start) {
        return None;
    }
    let mut path = around(&tree, start);
    path.extend(left_open(&path, start));
    let innermost = path.iter().rev().find(|element| is_open(element))?;
    Some(format!("{}>", innermost.name()))
}

fn is_content(tree: &Tree, offset: TextSize) -> bool {
    matches!(
        tree.place_at(offset),
        Place::Content { .. } | Place::Outside { .. }
    )
}

fn around(tree: &Tree, offset: TextSize) -> Vec<Element<'_>> {
    match tree.place_at(offset) {
        Place::Content { path, .. } => path,
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests;
