//! What an operation brings along, as it is written in the document.

use std::collections::BTreeSet;

use syntax::{Element, Item, TextEdit, TextRange, TextSize};

use crate::names::Bindings;
use crate::operation::Operation;
use crate::problem::{Code, Problem};

/// The text of an operation that may have nothing but text, as an attribute's value or a namespace.
///
/// # Errors
/// There is markup in it, or a reference to an entity.
pub(crate) fn plain(operation: &Operation<'_>) -> Result<String, Problem> {
    for item in operation.element.items() {
        match item {
            Item::Text(_) | Item::CData(_) => {}
            Item::Reference(token) => known(token.text(), token.range())?,
            other => {
                return Err(Problem {
                    code: Code::InvalidNodeTypes,
                    range: other.range(),
                    message: "Only text can become a value. Remove this".to_owned(),
                });
            }
        }
    }
    Ok(operation.element.text().into_owned())
}

/// Entities are declared for one document only, and mean nothing in another.
fn known(written: &str, range: TextRange) -> Result<(), Problem> {
    let mut rest = written;
    while let Some(at) = rest.find('&') {
        rest = &rest[at + 1..];
        let name = rest.split(';').next().unwrap_or_default();
        if !name.starts_with('#') && !["amp", "lt", "gt", "quot", "apos"].contains(&name) {
            return Err(Problem {
                code: Code::InvalidEntityDeclaration,
                range,
                message: format!(
                    "The document need not know the entity `&{name};`. Write what it stands for"
                ),
            });
        }
    }
    Ok(())
}

/// The part of an operation's content at `range`, for a place in a document whose line breaks are `newline` and where
/// prefixes mean `there`.
///
/// # Errors
/// A reference to an entity.
pub(crate) fn written(
    operation: &Operation<'_>,
    range: TextRange,
    there: &Bindings,
    newline: &str,
) -> Result<String, Problem> {
    let mut edits = Vec::new();
    for item in operation.element.items() {
        if !range.contains_range(item.range()) {
            continue;
        }
        match item {
            Item::Reference(token) => known(token.text(), token.range())?,
            Item::Element(element) => edits.extend(renamed(operation, element, there)?),
            _ => {}
        }
    }
    let source = &operation.source[std::ops::Range::<usize>::from(range)];
    for edit in &mut edits {
        edit.range -= range.start();
    }
    let text = syntax::apply(source, &edits)
        .map_err(|error| operation.problem(Code::InvalidDiffFormat, error.to_string()))?;
    Ok(with_line_breaks(&text, newline))
}

fn with_line_breaks(text: &str, newline: &str) -> String {
    syntax::escape::plain_lines(text).replace('\n', newline)
}

/// A name in the content whose prefix is declared outside it.
struct Use<'p> {
    prefix: Option<&'p str>,
    of_attribute: bool,
    /// Where prefix and local name stand.
    ranges: Vec<(TextRange, &'p str)>,
}

/// Edits of an element in the patch that give its names, in the document, the namespaces they have in the patch: a
/// prefix that the document binds so (RFC 5261, 4.2.3), else a declaration in the element.
fn renamed<'p>(
    operation: &Operation<'_>,
    top: Element<'p>,
    there: &Bindings,
) -> Result<Vec<TextEdit>, Problem> {
    let (uses, declared) = uses(top)?;
    let here =
        |prefix: &Option<String>| operation.bindings.get(prefix).cloned().unwrap_or_default();
    let all: BTreeSet<Option<String>> = uses
        .iter()
        .map(|one| one.prefix.map(str::to_owned))
        .collect();
    let stays = |prefix: &Option<String>| there.get(prefix).is_some_and(|to| *to == here(prefix));
    let mut edits = Vec::new();
    for prefix in all.iter().filter(|prefix| !stays(prefix)) {
        let namespace = here(prefix);
        let own: Vec<&Use<'_>> = uses
            .iter()
            .filter(|one| one.prefix == prefix.as_deref())
            .collect();
        let needs_prefix = own.iter().any(|one| one.of_attribute);
        let other = there.iter().find(|(other, to)| {
            let same = **to == namespace && !namespace.is_empty();
            let usable = other.is_some() || !needs_prefix;
            let unshadowed = !declared.contains(*other) && (!all.contains(*other) || stays(other));
            same && usable && unshadowed
        });
        match other {
            Some((other, _)) => {
                for (range, local) in own.iter().flat_map(|one| &one.ranges) {
                    let name = other
                        .as_ref()
                        .map_or_else(|| (*local).to_owned(), |other| format!("{other}:{local}"));
                    edits.push(TextEdit::replace(*range, name));
                }
            }
            None => {
                let name = prefix
                    .as_ref()
                    .map_or("xmlns".to_owned(), |prefix| format!("xmlns:{prefix}"));
                let value = syntax::escape::attribute(&namespace, '"');
                edits.push(TextEdit::insert(
                    top.name_range().end(),
                    format!(" {name}=\"{value}\""),
                ));
            }
        }
    }
    // A declaration stands behind a name that may be replaced itself.
    edits.sort_by_key(|edit| (edit.range.start(), edit.range.end()));
    Ok(edits)
}

/// The names in an element that get their namespace from outside, and all prefixes that are declared in it.
fn uses<'p>(top: Element<'p>) -> Result<(Vec<Use<'p>>, BTreeSet<Option<String>>), Problem> {
    let (mut uses, mut all) = (Vec::new(), BTreeSet::new());
    let mut open = vec![(top, BTreeSet::<Option<&str>>::new())];
    while let Some((element, mut inner)) = open.pop() {
        inner.extend(element.attributes().filter_map(|one| one.declared_prefix()));
        all.extend(inner.iter().map(|prefix| prefix.map(str::to_owned)));
        if !inner.contains(&element.prefix()) && element.prefix() != Some("xml") {
            let end = element
                .end_tag()
                .map(|tag| (tag.name_range(), element.local_name()));
            uses.push(Use {
                prefix: element.prefix(),
                of_attribute: false,
                ranges: [(element.name_range(), element.local_name())]
                    .into_iter()
                    .chain(end)
                    .collect(),
            });
        }
        for attribute in element.attributes() {
            known(attribute.raw_value(), attribute.range())?;
            let prefix = attribute.prefix();
            let declares = attribute.declared_prefix().is_some();
            if prefix.is_some() && prefix != Some("xml") && !declares && !inner.contains(&prefix) {
                uses.push(Use {
                    prefix,
                    of_attribute: true,
                    ranges: vec![(attribute.name_range(), attribute.local_name())],
                });
            }
        }
        for item in element.items() {
            match item {
                Item::Reference(token) => known(token.text(), token.range())?,
                Item::Element(child) => open.push((child, inner.clone())),
                _ => {}
            }
        }
    }
    Ok((uses, all))
}

/// All of an operation's content; empty, behind the start tag, if there is none.
pub(crate) fn range(operation: &Operation<'_>) -> TextRange {
    let element = operation.element;
    let none = TextRange::at(element.start_tag_range().end(), TextSize::new(0));
    element.content_range().unwrap_or(none)
}
