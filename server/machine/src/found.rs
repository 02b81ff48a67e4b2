//! The values of attributes and texts.

use crate::document::{Located, Reader};
use dialect::{AttributeDecl, Dialect, ItemType, Property, ValueType};
use std::borrow::Cow;
use syntax::{Element, Item, TextRange};

/// A value that a path leads to: of an attribute, or the text of an element.
#[derive(Debug, Clone)]
pub struct Found<'t> {
    /// References resolved; surrounding white space removed.
    pub text: Cow<'t, str>,
    pub range: TextRange,
    /// The element that carries the attribute or the text.
    pub at: Located<'t>,
    /// What the grammar says of the value, if it declares it.
    pub declared: Option<&'t AttributeDecl>,
}

/// What a value is taken for that the grammar does not declare.
static FREE_TEXT: ValueType = ValueType::single(ItemType::Text);

/// One item of a value: the value itself, or a member of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListItem<'f> {
    pub text: &'f str,
    pub range: TextRange,
}

impl<'t> Reader<'t> {
    /// The value of an attribute.
    pub fn attribute_value(&self, at: &Located<'t>, name: &str) -> Option<Found<'t>> {
        let declared = self
            .dialect
            .element(at.context)
            .and_then(|element| element.attribute(name));
        let attribute = at.element.attribute(name)?;
        let (text, range) = attribute.value_and_range()?;
        let (text, range) = trimmed_value(text, range);
        Some(Found {
            text,
            range,
            at: *at,
            declared,
        })
    }

    /// The text of an element that has any.
    pub fn text_value(&self, at: &Located<'t>) -> Option<Found<'t>> {
        let (whole, range) = at.element.text_and_range()?;
        let declared = self
            .dialect
            .element(at.context)
            .and_then(|element| element.text.as_ref());
        let text = match whole {
            Cow::Borrowed(text) => Cow::Borrowed(text.trim_ascii()),
            Cow::Owned(text) => Cow::Owned(text.trim_ascii().to_string()),
        };
        Some(Found {
            text,
            range,
            at: *at,
            declared,
        })
    }
}

impl<'t> Found<'t> {
    /// What the value is by its declaration; free text without one.
    pub fn value_type(&self) -> &'t ValueType {
        self.declared.map_or(&FREE_TEXT, |declared| &declared.value)
    }

    /// The members of a list, or the value as its own only item. `property`:
    /// what the channel around the value moves, where that is known.
    pub fn items(
        &self,
        dialect: &Dialect,
        property: Option<Property>,
    ) -> impl Iterator<Item = ListItem<'_>> {
        let value_type = self.value_type();
        let is_one = value_type.is_single();
        let whole = is_one.then_some(ListItem {
            text: &self.text,
            range: self.range,
        });
        let parts = match is_one {
            true => Vec::new(),
            false => dialect.items(value_type, &self.text, property),
        };
        let places = (!is_one).then(|| self.places());
        let parts = parts.into_iter().map(move |part| ListItem {
            text: self.text[part.clone()].trim_ascii(),
            range: places.as_ref().map_or(self.range, |places| places.of(part)),
        });
        whole
            .into_iter()
            .chain(parts)
            .filter(|item| !item.text.is_empty())
    }

    /// Where the members of a list are, or the value as its own only one: with what stands around names.
    pub fn members(&self) -> Vec<TextRange> {
        let places = self.places();
        let members = self.value_type().members(&self.text);
        let members = members.filter(|member| !member.is_empty());
        members.map(|member| places.of(member)).collect()
    }

    /// Where the parts of the text are in the document.
    pub fn places(&self) -> Places {
        let is_plain = usize::from(self.range.len()) == self.text.len();
        Places {
            range: self.range,
            is_plain,
            units: match is_plain {
                true => Vec::new(),
                false => self.units().unwrap_or_default(),
            },
        }
    }

    /// What a value is made of that is not written as it reads.
    fn units(&self) -> Option<Vec<Unit>> {
        let written = self.at.element.slice(self.range);
        let (mut units, all) = units(&written)?;
        // Attributes have blanks in the place of other white space, which are as long.
        let plain = |text: &str| text.replace(|c: char| c.is_ascii_whitespace(), " ");
        if plain(all.trim_ascii()) != plain(&self.text) {
            return None;
        }
        let skipped = all.len() - all.trim_ascii_start().len();
        units.retain(|unit| unit.read >= skipped);
        units.iter_mut().for_each(|unit| unit.read -= skipped);
        Some(units)
    }
}

/// Where the parts of a value's text are in the document.
#[derive(Debug)]
pub struct Places {
    range: TextRange,
    is_plain: bool,
    /// In their order; of a plain value, and of one of which nobody knows it, none.
    units: Vec<Unit>,
}

/// A character, or what is written for one.
#[derive(Debug)]
struct Unit {
    /// Where in the text.
    read: usize,
    /// Where in what is written.
    written: std::ops::Range<usize>,
}

impl Places {
    /// The range of a part of the text. Where that cannot be told, in a CDATA section or among elements, it is the
    /// range of the whole.
    pub fn of(&self, part: std::ops::Range<usize>) -> TextRange {
        let written = match self.is_plain {
            true => part,
            false => {
                let before = |at: usize| self.units.partition_point(|unit| unit.read < at);
                let units = self.units.get(before(part.start)..before(part.end));
                let units = units.unwrap_or_default();
                let (Some(first), Some(last)) = (units.first(), units.last()) else {
                    return self.range;
                };
                first.written.start..last.written.end
            }
        };
        let inside = TextRange::new(size(written.start), size(written.end));
        match inside.end() <= self.range.len() {
            true => inside + self.range.start(),
            false => self.range,
        }
    }
}

/// Longer references are not looked for, in bytes.
const LONGEST_REFERENCE: usize = 32;

/// What a written value is made of, without comments, and how it reads. None where it has something else in it that is
/// not read as it is written.
fn units(written: &str) -> Option<(Vec<Unit>, String)> {
    let (mut units, mut text) = (Vec::new(), String::new());
    let mut at = 0;
    while let Some(c) = written[at..].chars().next() {
        let rest = &written[at..];
        if rest.starts_with("<!--") {
            at += rest.find("-->")? + "-->".len();
            continue;
        }
        let end = match c {
            '<' => return None,
            '&' => {
                let mut near = rest.bytes().take(LONGEST_REFERENCE);
                near.position(|byte| byte == b';').map_or(1, |end| end + 1)
            }
            '\r' if rest.starts_with("\r\n") => 2,
            c => c.len_utf8(),
        };
        units.push(Unit {
            read: text.len(),
            written: at..at + end,
        });
        text.push_str(&syntax::escape::resolved(&rest[..end]));
        at += end;
    }
    Some((units, text))
}

fn size(at: usize) -> syntax::TextSize {
    syntax::TextSize::new(u32::try_from(at).unwrap_or(u32::MAX))
}

/// A value without the white space of XML around it, and its range without. In a value with references in it, the range of
/// the inner part is not known, and stays.
pub(crate) fn trimmed(text: &str, range: TextRange) -> (&str, TextRange) {
    let is_mark = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
    let bytes = text.as_bytes();
    if is_mark(bytes.first()) && is_mark(bytes.last()) {
        // Most values; asked of all.
        return (text, range);
    }
    let inner = text.trim_ascii();
    if usize::from(range.len()) != text.len() {
        return (inner, range);
    }
    let start = text.len() - text.trim_ascii_start().len();
    let inner_range = TextRange::at(range.start() + size(start), size(inner.len()));
    (inner, inner_range)
}

/// The same of a value that may belong to itself.
pub(crate) fn trimmed_value(text: Cow<'_, str>, range: TextRange) -> (Cow<'_, str>, TextRange) {
    match text {
        Cow::Borrowed(text) => {
            let (text, range) = trimmed(text, range);
            (Cow::Borrowed(text), range)
        }
        Cow::Owned(text) => {
            let (text, range) = trimmed(&text, range);
            (Cow::Owned(text.to_owned()), range)
        }
    }
}

/// Whether an element has anything but white space, comments and elements.
pub fn has_text(element: Element<'_>) -> bool {
    element.has_content() && element.items().any(|item| is_text(&item))
}

/// Whether an item is text, and not only white space.
pub(crate) fn is_text(item: &Item<'_>) -> bool {
    match item {
        Item::Text(token) => !token.text().trim_ascii().is_empty(),
        Item::CData(_) | Item::Reference(_) => true,
        _ => false,
    }
}
