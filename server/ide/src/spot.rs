//! What the grammar says about a place.

use crate::motions;
use dialect::{AttributeDecl, ElementDecl};
use machine::{Chain, Reader};
use project::View;
use syntax::{Attribute, Element, Item, Place, Source, TextRange, TextSize, escape};

/// The reader of a document that some dialect fits.
pub(crate) fn reader(view: &View) -> Option<Reader<'_>> {
    let meaning = view.meaning.as_ref()?;
    Some(Reader::new(view.tree(), &meaning.dialect, &meaning.kind))
}

/// From the root down to the last element of `path`, with what the grammar makes
/// of each. None without a dialect, and in what is none of the dialect's business.
pub(crate) fn chain<'v>(view: &'v View, path: &[Element<'v>]) -> Option<Chain<'v>> {
    reader(view)?.chain(path)
}

/// The declaration of the last element of a chain.
pub(crate) fn declaration<'v>(view: &'v View, chain: &Chain<'v>) -> Option<&'v ElementDecl> {
    view.dialect()?.element(chain.last()?.context)
}

/// A value: of an attribute, or the text of an element.
#[derive(Debug)]
pub(crate) struct ValueSpot<'v> {
    /// The element that carries it, last; empty if the grammar knows nothing of it.
    pub(crate) chain: Chain<'v>,
    pub(crate) element: Element<'v>,
    /// The construct that the value says something about: this element, or its
    /// parent if the value is its text.
    pub(crate) owner: Element<'v>,
    /// None: it is the element's text.
    pub(crate) attribute: Option<Attribute<'v>>,
    pub(crate) declared: Option<&'v AttributeDecl>,
    /// All of it, without quotes, with white space around it.
    pub(crate) range: TextRange,
}

/// The value that an offset is in or at.
pub(crate) fn value_at(view: &View, offset: TextSize) -> Option<ValueSpot<'_>> {
    match view.tree().place_at(offset) {
        Place::AttributeValue {
            path,
            attribute,
            range,
        } => {
            let chain = chain(view, &path).unwrap_or_default();
            let declared =
                declaration(view, &chain).and_then(|element| element.attribute(attribute.name()));
            Some(ValueSpot {
                element: *path.last()?,
                owner: *path.last()?,
                attribute: Some(attribute),
                chain,
                declared,
                range,
            })
        }
        Place::Content { path, range } => {
            let chain = chain(view, &path).unwrap_or_default();
            let declared = declaration(view, &chain)?.text.as_ref()?;
            Some(ValueSpot {
                element: *path.last()?,
                owner: *path.iter().rev().nth(1).or(path.last())?,
                attribute: None,
                chain,
                declared: Some(declared),
                range: plain_text(*path.last()?).unwrap_or(range),
            })
        }
        _ => None,
    }
}

/// The content of an element that holds nothing but text.
fn plain_text(element: Element<'_>) -> Option<TextRange> {
    let is_plain = element
        .items()
        .all(|item| matches!(item, Item::Text(_) | Item::Reference(_)));
    element.content_range().filter(|_| is_plain)
}

impl ValueSpot<'_> {
    /// The member of the list that an offset is in or at, or the value as its own
    /// only member: its range as written, its text with references resolved.
    pub(crate) fn item_at(&self, view: &View, offset: TextSize) -> Option<(TextRange, String)> {
        let raw = &*view.document.slice(self.range);
        let property = motions::property_at(view, self);
        let items = view.dialect()?.items(&self.declared?.value, raw, property);
        let at = usize::from(offset.checked_sub(self.range.start())?);
        let item = items
            .into_iter()
            .find(|item| item.start <= at && at <= item.end)?;
        let range = within(self.range, &item);
        Some((range, escape::resolved(&raw[item]).into_owned()))
    }
}

/// The range of a part of the text in `whole`.
pub(crate) fn within(whole: TextRange, part: &std::ops::Range<usize>) -> TextRange {
    let at = |offset: usize| whole.start() + TextSize::try_from(offset).unwrap_or_default();
    TextRange::new(at(part.start), at(part.end))
}
