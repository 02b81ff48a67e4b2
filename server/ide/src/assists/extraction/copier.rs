//! What of the document stands in the new animation.

use super::comments::with_comments;
use crate::assists::site::Site;
use crate::writer::{Lines, Names, NewAttribute, NewElement, NewItem};
use dialect::ItemType;
use syntax::{Element, TextEdit, TextRange};

/// Copies parts of the document into a new element.
pub(super) struct Copier<'c, 'v> {
    pub(super) site: &'c Site<'v>,
    pub(super) moved: &'c [TextRange],
    pub(super) edits: &'c [TextEdit],
    pub(super) names: &'c mut Names,
}

impl Copier<'_, '_> {
    /// Moved elements as they are, elements around them by their attributes.
    pub(super) fn content(
        &mut self,
        element: Element<'_>,
        context: dialect::Context,
    ) -> Vec<NewItem> {
        let lines = Lines::new(self.site.text());
        let mut content = Vec::new();
        for child in element.children() {
            let range = child.range();
            if self.moved.contains(&range) {
                let range = with_comments(self.site, range, self.moved);
                content.push(NewItem::Source {
                    name: child.local_name().to_owned(),
                    indent: lines.indent(range.start()).map(str::to_owned),
                    text: self.edited(range),
                });
            } else if self.moved.iter().any(|moved| range.contains_range(*moved)) {
                let mut around = NewElement::new(
                    child.local_name(),
                    self.site.dialect.element_context(context, &child),
                );
                around.attributes = self.attributes(&child, around.context, |_| true);
                around.content = self.content(child, around.context);
                content.push(NewItem::Element(around));
            }
        }
        content
    }

    /// Attributes as they are written; names are given anew, as no two things
    /// may share one.
    pub(super) fn attributes(
        &mut self,
        element: &Element<'_>,
        context: dialect::Context,
        wanted: impl Fn(&str) -> bool,
    ) -> Vec<NewAttribute> {
        let declared = self.site.dialect.element(context);
        let mut copied = Vec::new();
        for attribute in element.attributes() {
            let Some((quote, range)) = attribute.quote().zip(attribute.value_range()) else {
                continue;
            };
            let rule = declared.and_then(|declared| declared.attribute(attribute.name()));
            let new_name = rule.and_then(|rule| match &rule.value.item {
                ItemType::NameOf(kind) => Some((kind, rule.required)),
                _ => None,
            });
            match new_name {
                Some((kind, true)) if wanted(attribute.name()) => {
                    let name = self.names.take(kind, &attribute.value());
                    copied.push(NewAttribute::new(attribute.name(), name));
                }
                Some(_) => {}
                None if wanted(attribute.name()) => copied.push(NewAttribute {
                    written: Some((self.edited(range), quote)),
                    ..NewAttribute::new(attribute.name(), attribute.value())
                }),
                None => {}
            }
        }
        copied
    }

    /// A part of the document with the edits that fall in it.
    fn edited(&self, range: TextRange) -> String {
        let inside = self
            .edits
            .iter()
            .filter(|edit| range.contains_range(edit.range));
        let shifted: Vec<TextEdit> = inside
            .map(|edit| TextEdit::replace(edit.range - range.start(), edit.insert.clone()))
            .collect();
        let text = self.site.slice(range);
        // The edits were checked not to overlap.
        syntax::apply(text, &shifted).unwrap_or_else(|_| text.to_owned())
    }
}
