//! One operation as edits of the document.

use std::borrow::Cow;

use syntax::{Attribute, Element, Item, Source as _, Style, TextEdit, TextRange, TextSize, Tree};

use crate::content;
use crate::listing::Listings;
use crate::names::{Bindings, bindings};
use crate::operation::{Blanks, Operation, Position, What};
use crate::problem::{Code, Problem};
use crate::select::{Found, Node, select};

/// What operations are carried out on.
struct Document<'t> {
    tree: &'t Tree,
    style: &'t Style,
}

/// # Errors
/// The operation does not fit the document.
pub(crate) fn edits(
    operation: &Operation<'_>,
    tree: &Tree,
    style: &Style,
    listings: &mut Listings,
) -> Result<Vec<TextEdit>, Problem> {
    let document = Document { tree, style };
    let found = select(operation, tree, listings)?;
    match &operation.what {
        What::AddNodes(position) => document.add_nodes(operation, found, *position),
        What::AddAttribute(name) => document.add_attribute(operation, found, name),
        What::AddNamespace(prefix) => document.add_namespace(operation, found, prefix),
        What::Replace => document.replace(operation, found),
        What::Remove(blanks) => document.remove(operation, found, *blanks),
    }
}

fn is_blank(text: &str) -> bool {
    text.trim_matches([' ', '\t', '\r', '\n']).is_empty()
}

impl<'t> Document<'t> {
    fn slice(&self, range: TextRange) -> Cow<'t, str> {
        self.tree.slice(range)
    }

    /// What prefixes mean in an element, or at the top.
    fn bindings_in(&self, element: Option<Element<'t>>) -> Bindings {
        let path = element.and_then(|element| self.tree.element_with_range(element.range()));
        bindings(&path.unwrap_or_default())
    }

    fn element(&self, operation: &Operation<'_>, found: Found<'t>) -> Result<Element<'t>, Problem> {
        match found.node {
            Node::Element(element) => Ok(element),
            _ => Err(Problem {
                code: Code::InvalidNodeTypes,
                range: operation.selector_range,
                message: "Only an element can have something added to it. Let the path lead to one"
                    .to_owned(),
            }),
        }
    }

    fn add_nodes(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
        position: Position,
    ) -> Result<Vec<TextEdit>, Problem> {
        let all = content::range(operation);
        let newline = self.style.newline;
        let sibling = matches!(position, Position::Before | Position::After);
        if !sibling {
            let element = self.element(operation, found)?;
            let there = self.bindings_in(Some(element));
            let added = content::written(operation, all, &there, newline)?;
            return Ok(match element.content_range() {
                _ if added.is_empty() => Vec::new(),
                Some(inner) if position == Position::Prepend => {
                    vec![TextEdit::insert(inner.start(), added)]
                }
                Some(inner) => vec![TextEdit::insert(inner.end(), added)],
                None => vec![self.opened(element, &added)],
            });
        }
        if matches!(found.node, Node::Attribute(_) | Node::Namespace(_)) {
            self.element(operation, found)?;
        }
        let parent = self.parent(found);
        if parent.is_none() {
            let odd = operation.element.items().find(|item| match item {
                Item::Comment(_) | Item::ProcessingInstruction(_) => false,
                Item::Text(token) => !is_blank(token.text()),
                _ => true,
            });
            if let Some(odd) = odd {
                return Err(Problem {
                    code: Code::InvalidRootElementOperation,
                    range: odd.range(),
                    message: "Beside the root element there may only be comments and processing instructions. Remove this".to_owned(),
                });
            }
        }
        let added = content::written(operation, all, &self.bindings_in(parent), newline)?;
        let range = found.node.range();
        let at = if position == Position::Before {
            range.start()
        } else {
            range.end()
        };
        Ok(vec![TextEdit::insert(at, added)])
    }

    /// The element that a node is in; one that was found by its ID does not say.
    fn parent(&self, found: Found<'t>) -> Option<Element<'t>> {
        let Node::Element(element) = found.node else {
            return found.parent;
        };
        let path = self.tree.element_with_range(element.range())?;
        path.len()
            .checked_sub(2)
            .and_then(|at| path.get(at))
            .copied()
    }

    /// `<a/>` as `<a>…</a>`.
    fn opened(&self, element: Element<'t>, inner: &str) -> TextEdit {
        let tag = element.start_tag_range();
        let written = self.slice(tag);
        let kept = written
            .trim_end_matches("/>")
            .trim_end_matches([' ', '\t', '\r', '\n']);
        let rest = TextRange::new(tag.start() + TextSize::of(kept), tag.end());
        TextEdit::replace(rest, format!(">{inner}</{}>", element.name()))
    }

    /// An attribute behind the others, set apart from them as they are from one another.
    fn new_attribute(&self, element: Element<'t>, name: &str, value: &str) -> TextEdit {
        let attributes: Vec<Attribute<'_>> = element.attributes().collect();
        let gap = match attributes.as_slice() {
            [.., before, last] => {
                self.slice(TextRange::new(before.range().end(), last.range().start()))
            }
            _ => " ".into(),
        };
        let end = attributes
            .last()
            .map_or(element.name_range().end(), |last| last.range().end());
        let quote = self.style.quote;
        let value = syntax::escape::attribute(value, quote);
        TextEdit::insert(end, format!("{gap}{name}={quote}{value}{quote}"))
    }

    fn add_attribute(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
        name: &str,
    ) -> Result<Vec<TextEdit>, Problem> {
        let element = self.element(operation, found)?;
        let value = content::plain(operation)?;
        let mut edits = Vec::new();
        let name = match name.split_once(':') {
            None => name.to_owned(),
            Some((prefix, local)) => {
                let (prefix, declaration) = self.prefix_in(operation, element, prefix)?;
                edits.extend(declaration);
                format!("{prefix}:{local}")
            }
        };
        self.must_be_free(operation, element, &name)?;
        edits.push(self.new_attribute(element, &name, &value));
        Ok(joined(edits))
    }

    /// The prefix that stands in an element for what `prefix` stands for in the patch. If there is none, it is `prefix`,
    /// with the declaration that makes it so.
    fn prefix_in(
        &self,
        operation: &Operation<'_>,
        element: Element<'t>,
        prefix: &str,
    ) -> Result<(String, Option<TextEdit>), Problem> {
        let problem = |message: String| operation.problem(Code::InvalidNamespacePrefix, message);
        let key = Some(prefix.to_owned());
        let Some(namespace) = operation.bindings.get(&key) else {
            return Err(problem(format!(
                "The prefix `{prefix}` is not declared in the patch. Add `xmlns:{prefix}=\"…\"` to it"
            )));
        };
        let there = self.bindings_in(Some(element));
        if there.get(&key) == Some(namespace) {
            return Ok((prefix.to_owned(), None));
        }
        let mut prefixes = there.iter().filter(|(_, to)| *to == namespace);
        if let Some(other) = prefixes.find_map(|(other, _)| other.clone()) {
            return Ok((other, None));
        }
        if there.contains_key(&key) {
            return Err(problem(format!(
                "In the document `{prefix}` stands for another namespace. Use another prefix"
            )));
        }
        let declaration = self.new_attribute(element, &format!("xmlns:{prefix}"), namespace);
        Ok((prefix.to_owned(), Some(declaration)))
    }

    fn must_be_free(
        &self,
        operation: &Operation<'_>,
        element: Element<'t>,
        name: &str,
    ) -> Result<(), Problem> {
        match element.attribute(name) {
            None => Ok(()),
            Some(there) => Err(operation.problem(
                Code::InvalidPatchDirective,
                format!(
                    "The element has `{name}` already, as `{}`. Use `replace` to change it",
                    there.value()
                ),
            )),
        }
    }

    fn add_namespace(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
        prefix: &str,
    ) -> Result<Vec<TextEdit>, Problem> {
        let element = self.element(operation, found)?;
        let namespace = namespace(operation)?;
        let name = format!("xmlns:{prefix}");
        self.must_be_free(operation, element, &name)?;
        Ok(vec![self.new_attribute(element, &name, &namespace)])
    }

    fn replace(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
    ) -> Result<Vec<TextEdit>, Problem> {
        let of_value = |attribute: Attribute<'_>, value: &str| {
            let quote = attribute.quote().unwrap_or(self.style.quote);
            let range = attribute.value_range().unwrap_or(attribute.range());
            vec![TextEdit::replace(
                range,
                syntax::escape::attribute(value, quote),
            )]
        };
        let newline = self.style.newline;
        match found.node {
            Node::Attribute(attribute) => Ok(of_value(attribute, &content::plain(operation)?)),
            Node::Namespace(attribute) => Ok(of_value(attribute, &namespace(operation)?)),
            Node::Text(range) => {
                // Markup would be no text any more.
                content::plain(operation)?;
                let all = content::range(operation);
                let text = content::written(operation, all, &Bindings::new(), newline)?;
                Ok(vec![TextEdit::replace(range, text)])
            }
            node => {
                let one = one_alike(operation, &node)?;
                let there = self.bindings_in(self.parent(found));
                let text = content::written(operation, one, &there, newline)?;
                Ok(vec![TextEdit::replace(node.range(), text)])
            }
        }
    }

    fn remove(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
        blanks: Blanks,
    ) -> Result<Vec<TextEdit>, Problem> {
        let range = found.node.range();
        match found.node {
            Node::Element(_) if self.parent(found).is_none() => {
                return Err(operation.problem(
                    Code::InvalidRootElementOperation,
                    "A document cannot be without its root element. Use `replace`",
                ));
            }
            Node::Element(_) | Node::Comment(_) | Node::Instruction(_) => {}
            _ if blanks.before || blanks.after => {
                return Err(operation.problem(
                    Code::InvalidPatchDirective,
                    "`ws` is for elements, comments and processing instructions only. Remove it",
                ));
            }
            Node::Attribute(_) | Node::Namespace(_) => {
                // A tag begins with its name.
                let tag = found.parent.map_or(range, |parent| parent.range()).start();
                let before = self.slice(TextRange::new(tag, range.start()));
                let kept = before.trim_end_matches([' ', '\t', '\r', '\n']);
                let start = tag + TextSize::of(kept);
                return Ok(vec![TextEdit::delete(TextRange::new(start, range.end()))]);
            }
            Node::Text(_) => {}
        }
        let (start, end) = self.with_blanks(operation, found, blanks)?;
        Ok(vec![
            self.without(self.parent(found), TextRange::new(start, end)),
        ])
    }

    /// The range of a node with the white space that `ws` names, which must be all the text on that side.
    fn with_blanks(
        &self,
        operation: &Operation<'_>,
        found: Found<'t>,
        blanks: Blanks,
    ) -> Result<(TextSize, TextSize), Problem> {
        let range = found.node.range();
        let parent = self.parent(found);
        let items = || parent.map_or_else(|| self.tree.top_level(), |parent| parent.items());
        let is_text =
            |item: &Item<'_>| matches!(item, Item::Text(_) | Item::CData(_) | Item::Reference(_));
        let (mut before, mut after) = (range.start(), range.end());
        for item in items() {
            if item.range().end() <= range.start() {
                before = match is_text(&item) {
                    true => before.min(item.range().start()),
                    false => range.start(),
                };
            } else if item.range().start() >= range.end() {
                if !is_text(&item) {
                    break;
                }
                after = item.range().end();
            }
        }
        let fits = |wanted: bool, side: TextRange, word: &str| {
            if wanted && (side.is_empty() || !is_blank(&self.slice(side))) {
                return Err(operation.problem(
                    Code::InvalidWhitespaceDirective,
                    format!("The text {word} the node is not white space only. Leave this side out of `ws`"),
                ));
            }
            Ok(wanted)
        };
        let start = match fits(
            blanks.before,
            TextRange::new(before, range.start()),
            "before",
        )? {
            true => before,
            false => range.start(),
        };
        let end = match fits(blanks.after, TextRange::new(range.end(), after), "after")? {
            true => after,
            false => range.end(),
        };
        Ok((start, end))
    }

    /// Without a part of the content of an element; `<a/>` if nothing is left, as the RFC's examples have it.
    fn without(&self, parent: Option<Element<'t>>, range: TextRange) -> TextEdit {
        let all = parent.filter(|parent| parent.content_range() == Some(range));
        let Some(parent) = all else {
            return TextEdit::delete(range);
        };
        let tag_end = parent.start_tag_range().end() - TextSize::new(1);
        TextEdit::replace(
            TextRange::new(tag_end, parent.range().end()),
            self.style.self_closing_end,
        )
    }
}

/// Insertions at the same place as one, so that they can be carried out one by one.
fn joined(edits: Vec<TextEdit>) -> Vec<TextEdit> {
    let mut joined: Vec<TextEdit> = Vec::new();
    for edit in edits {
        match joined.last_mut() {
            Some(last) if last.range == edit.range => last.insert.push_str(&edit.insert),
            _ => joined.push(edit),
        }
    }
    joined
}

fn namespace(operation: &Operation<'_>) -> Result<String, Problem> {
    let namespace = content::plain(operation)?;
    let namespace = namespace.trim();
    if namespace.is_empty() {
        return Err(operation.problem(
            Code::InvalidNamespaceUri,
            "A prefix cannot stand for no namespace. Write its name",
        ));
    }
    Ok(namespace.to_owned())
}

/// The one node of the content, which must be of the same type; white space around it is left out.
fn one_alike(operation: &Operation<'_>, node: &Node<'_>) -> Result<TextRange, Problem> {
    let mut items = operation
        .element
        .items()
        .filter(|item| !matches!(item, Item::Text(token) if is_blank(token.text())));
    let what = match node {
        Node::Element(_) => "one element",
        Node::Comment(_) => "one comment",
        _ => "one processing instruction",
    };
    match (items.next(), items.next()) {
        (Some(item), None)
            if matches!(
                (item, node),
                (Item::Element(_), Node::Element(_))
                    | (Item::Comment(_), Node::Comment(_))
                    | (Item::ProcessingInstruction(_), Node::Instruction(_))
            ) =>
        {
            Ok(item.range())
        }
        _ => Err(operation.problem(
            Code::InvalidNodeTypes,
            format!("A node is replaced by one of its type: here must be {what}, and nothing else"),
        )),
    }
}
