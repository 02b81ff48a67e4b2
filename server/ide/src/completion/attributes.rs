//! Attributes that an element does not have yet.

use super::{
    About, Completion, CompletionItem, CompletionKind, element_template::attribute_template,
    habits, seen,
};
use crate::{
    hover::attribute_doc,
    precedents,
    spot::{chain, declaration},
    template::Template,
};
use dialect::{AttributeDecl, Dialect, ElementDecl};
use project::View;
use syntax::{Attribute, Element, Source, Style, TextRange, TextSize, escape};

/// The word beside an attribute that must be there.
const REQUIRED: &str = "required";

/// In a start tag. `edited`: the attribute whose name is being typed.
pub(super) fn complete(
    view: &View,
    path: &[Element<'_>],
    edited: Option<Attribute<'_>>,
    range: TextRange,
    offset: TextSize,
) -> Option<Completion> {
    let element = *path.last()?;
    // Before the first letter of an attribute a new one is wanted.
    let is_before = edited.is_some() && !range.is_empty() && offset == range.start();
    let (edited, range) = match is_before {
        true => (None, TextRange::empty(offset)),
        false => (edited, range),
    };
    if edited.is_some_and(|edited| !edited.name_range().contains_range(range))
        || is_behind_slash(view, range)
    {
        return None;
    }
    let chain = chain(view, path);
    let declared = chain.as_ref().and_then(|chain| declaration(view, chain));
    let others = element
        .attributes()
        .filter(|attribute| Some(*attribute) != edited);
    let present: Vec<&str> = others.map(|attribute| attribute.name()).collect();
    let writer = Writer::new(view, edited, range);
    let mut items = Vec::new();
    if let (Some(dialect), Some(declared)) = (view.dialect(), declared) {
        items = known(dialect, declared, &present, &writer);
        if let Some(spot) = precedents::spot(view, path) {
            let is_required = |item: &CompletionItem| item.detail == REQUIRED;
            habits::of_names(&mut items, is_required, &spot.attributes(), spot.machines());
        }
    }
    if declared.is_none_or(|declared| declared.open) {
        let declared = items.len();
        for name in seen::attributes(view, element) {
            let is_declared = || items[..declared].iter().any(|known| known.label == name);
            if !present.contains(&name) && !is_declared() {
                items.push(used_elsewhere(name, &writer));
            }
        }
    }
    items.extend(namespace(view, path, &present, &writer));
    Some(Completion::new(range, items))
}

/// The attributes that are declared and not present, the required ones first.
fn known(
    dialect: &Dialect,
    declared: &ElementDecl,
    present: &[&str],
    writer: &Writer,
) -> Vec<CompletionItem> {
    let known = declared.attributes.iter();
    let mut missing: Vec<_> = known
        .filter(|known| !present.contains(&known.name.as_str()))
        .collect();
    missing.sort_by_key(|known| !known.required);
    let item = |known: &AttributeDecl| {
        let insert = writer.write(&known.name, attribute_template(known, writer.quote));
        let detail = if known.required { REQUIRED } else { "" };
        CompletionItem::new(CompletionKind::Attribute, &known.name, insert)
            .detail(detail)
            .about(About::Text(attribute_doc(dialect, known)))
    };
    missing.into_iter().map(item).collect()
}

/// An attribute that no grammar knows.
fn used_elsewhere(name: &str, writer: &Writer) -> CompletionItem {
    let quote = writer.quote;
    let whole = Template::new()
        .text(format!("{name}={quote}"))
        .stop("")
        .text(quote);
    CompletionItem::new(CompletionKind::Attribute, name, writer.write(name, whole))
        .detail("used in this file")
}

/// The declaration of the document's namespace, where the root lacks it.
fn namespace(
    view: &View,
    path: &[Element<'_>],
    present: &[&str],
    writer: &Writer,
) -> Option<CompletionItem> {
    let kind = &view.meaning.as_ref()?.kind;
    let namespace = kind
        .namespace
        .as_deref()
        .filter(|namespace| !namespace.is_empty())?;
    let [root] = path else { return None };
    if root.prefix().is_some() || present.contains(&"xmlns") {
        return None;
    }
    let quote = writer.quote;
    let whole = format!(
        "xmlns={quote}{}{quote}",
        escape::attribute(namespace, quote)
    );
    let insert = writer.write("xmlns", whole.into());
    Some(
        CompletionItem::new(CompletionKind::Attribute, "xmlns", insert)
            .detail(namespace)
            .doc("The namespace that marks this document as what it is."),
    )
}

fn is_behind_slash(view: &View, range: TextRange) -> bool {
    range.is_empty() && view.document.is_before(range.start(), "/")
}

/// Writes attributes so that what stands around them stays apart.
struct Writer {
    quote: char,
    /// The value is there already.
    name_only: bool,
    before: &'static str,
    after: &'static str,
}

impl Writer {
    fn new(view: &View, edited: Option<Attribute<'_>>, range: TextRange) -> Self {
        let before = view.document.char_before(range.start());
        let after = view.document.char_at(range.end());
        let is_apart = |c: Option<char>| {
            c.is_none_or(|c| c.is_whitespace() || matches!(c, '>' | '/' | '?' | '<'))
        };
        let blank = |apart: bool| if apart { "" } else { " " };
        Self {
            quote: Style::of(view.tree()).quote,
            name_only: edited.is_some_and(|edited| edited.has_equals()),
            before: blank(before.is_none_or(char::is_whitespace)),
            after: blank(is_apart(after)),
        }
    }

    fn write(&self, name: &str, whole: Template) -> Template {
        if self.name_only {
            return name.into();
        }
        Template::new()
            .text(self.before)
            .then(whole)
            .text(self.after)
            .end()
    }
}
