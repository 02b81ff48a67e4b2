//! Where in the document's structure a cursor stands: what completion needs to know.

use rowan::{TextRange, TextSize};

use crate::element::trimmed;
use crate::item::{Item, Token};
use crate::kind::Kind;
use crate::{Attribute, Element, Source, Tree};

/// The place of a cursor. `path` holds the elements around it, outermost first; in a tag, the last one is the tag's.
/// `range` is what would be replaced there; it holds the cursor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place<'t> {
    /// At the top level, in no element.
    Outside {
        range: TextRange,
    },
    /// Behind the `<` of a start tag, or in its name.
    ElementName {
        path: Vec<Element<'t>>,
        range: TextRange,
    },
    /// Behind the `</` of an end tag, or in its name. The last of `path` is the element it closes or could close.
    EndTagName {
        path: Vec<Element<'t>>,
        range: TextRange,
    },
    /// In a start tag where an attribute could start, or in the name of one.
    AttributeName {
        path: Vec<Element<'t>>,
        attribute: Option<Attribute<'t>>,
        range: TextRange,
    },
    /// In the value of an attribute, or behind an `=` that no value follows.
    AttributeValue {
        path: Vec<Element<'t>>,
        attribute: Attribute<'t>,
        range: TextRange,
    },
    /// In the content of an element; `range` is the text there without the white space around it.
    Content {
        path: Vec<Element<'t>>,
        range: TextRange,
    },
    Comment,
    CData,
    ProcessingInstruction,
    Doctype,
}

impl Tree {
    /// Where in the structure a cursor at `offset` stands.
    pub fn place_at(&self, offset: TextSize) -> Place<'_> {
        let offset = offset.min(self.text_len());
        let mut path = Vec::new();
        let mut items = self.top_level();
        loop {
            items.seek(offset);
            let touched = items.take_while(|item| item.range().start() <= offset);
            let around: Vec<Item<'_>> = touched.take(2).collect();
            let inside = around
                .iter()
                .find(|item| {
                    let range = item.range();
                    range.start() < offset && (offset < range.end() || is_open_ended(item))
                })
                .copied();
            let Some(Item::Element(element)) = inside else {
                return place_in_item(path, inside.or_else(|| around.first().copied()), offset);
            };
            path.push(element);
            let end_tag = element.end_tag().filter(|tag| offset > tag.range().start());
            if let Some(tag) = end_tag {
                let name = tag.name_range();
                let range = if name.contains_inclusive(offset) {
                    name
                } else {
                    TextRange::empty(offset)
                };
                return Place::EndTagName { path, range };
            }
            let tag = element.start_tag_range();
            if offset < tag.end() || (offset == tag.end() && !element.is_start_tag_closed()) {
                return place_in_tag(path, element, offset);
            }
            items = element.items();
        }
    }
}

/// Whether what is typed at the end of this item still belongs to it.
fn is_open_ended(item: &Item<'_>) -> bool {
    match item {
        Item::Element(element) => match element.end_tag() {
            Some(tag) => tag.name_range().end() == tag.range().end(),
            None => !element.is_self_closing(),
        },
        Item::Comment(token) => !token.text().ends_with("-->") || token.text().len() < 7,
        Item::CData(token) => !token.text().ends_with("]]>"),
        Item::ProcessingInstruction(token) | Item::Declaration(token) => {
            !token.text().ends_with('>')
        }
        Item::Doctype(token) => !token.text().ends_with('>'),
        Item::Error(token) => !token.text().ends_with('>'),
        _ => false,
    }
}

fn place_in_item<'t>(
    path: Vec<Element<'t>>,
    item: Option<Item<'t>>,
    offset: TextSize,
) -> Place<'t> {
    let inside = |token: Token<'_>| token.offset < offset;
    match item {
        Some(Item::Comment(token)) if inside(token) && !is_behind(&item, offset) => Place::Comment,
        Some(Item::CData(token)) if inside(token) && !is_behind(&item, offset) => Place::CData,
        Some(Item::ProcessingInstruction(token) | Item::Declaration(token))
            if inside(token) && !is_behind(&item, offset) =>
        {
            Place::ProcessingInstruction
        }
        Some(Item::Doctype(token)) if inside(token) && !is_behind(&item, offset) => Place::Doctype,
        Some(Item::Error(token))
            if token.kind() == Kind::EndTag && inside(token) && !is_behind(&item, offset) =>
        {
            let name = crate::element::end_tag_name(token.text());
            let range = TextRange::at(token.offset + TextSize::new(2), TextSize::of(name));
            let range = if range.contains_inclusive(offset) {
                range
            } else {
                TextRange::empty(offset)
            };
            Place::EndTagName { path, range }
        }
        Some(Item::Text(token)) => content(path, trimmed(token), offset),
        Some(Item::Reference(token) | Item::Error(token)) => content(path, token.range(), offset),
        _ => content(path, TextRange::empty(offset), offset),
    }
}

/// Whether the cursor stands behind a finished item.
fn is_behind(item: &Option<Item<'_>>, offset: TextSize) -> bool {
    item.is_some_and(|item| item.range().end() == offset && !is_open_ended(&item))
}

fn content(path: Vec<Element<'_>>, range: TextRange, offset: TextSize) -> Place<'_> {
    let range = if range.contains_inclusive(offset) {
        range
    } else {
        TextRange::empty(offset)
    };
    if path.is_empty() {
        Place::Outside { range }
    } else {
        Place::Content { path, range }
    }
}

/// The place in the start tag of `element`, the last of `path`.
fn place_in_tag<'t>(path: Vec<Element<'t>>, element: Element<'t>, offset: TextSize) -> Place<'t> {
    let name = element.name_range();
    if offset <= name.end() {
        let range = if name.contains_inclusive(offset) {
            name
        } else {
            TextRange::empty(offset)
        };
        return Place::ElementName { path, range };
    }
    let here = TextRange::empty(offset);
    let touched = element
        .attributes()
        .filter(|attribute| attribute.range().contains_inclusive(offset))
        .take(2)
        .last();
    let Some(attribute) = touched else {
        return Place::AttributeName {
            path,
            attribute: None,
            range: here,
        };
    };
    if attribute.name_range().contains_inclusive(offset) {
        let range = attribute.name_range();
        return Place::AttributeName {
            path,
            attribute: Some(attribute),
            range,
        };
    }
    match attribute.value_range() {
        Some(range) if range.contains_inclusive(offset) => Place::AttributeValue {
            path,
            attribute,
            range,
        },
        None if attribute.has_equals() => Place::AttributeValue {
            path,
            attribute,
            range: here,
        },
        // Between the name and the quote, or behind the closing quote.
        value => Place::AttributeName {
            path,
            attribute: Some(attribute)
                .filter(|_| value.is_some_and(|value| offset < value.start())),
            range: here,
        },
    }
}
