//! Values for elements that exist: over an old one, or as a new attribute.

use super::{
    complete::{Names, complete},
    element::NewElement,
    lines::Lines,
    set::Unwritable,
    spot::{Parent, closing_mark, insertion},
};
use dialect::{ElementDecl, Leaf, Path, StepKind};
use machine::{Located, Machine, Reader};
use syntax::{Element, Style, TextEdit, TextRange, escape};

/// Writes a value where a path leads from an existing element: over what
/// stands there, or as something new.
pub(crate) fn set_value(
    reader: &Reader<'_>,
    machine: &Machine,
    text: &str,
    style: &Style,
    chain: &[Located<'_>],
    path: &Path,
    value: &str,
) -> Result<TextEdit, Unwritable> {
    if let Some(found) = reader.value(chain, path) {
        let quote = quote_around(text, found.range);
        let written = match path.leaf() {
            Leaf::Attribute(_) => escape::attribute(value, quote.unwrap_or(style.quote)),
            Leaf::Text | Leaf::Element => escape::text(value),
        };
        return Ok(TextEdit::replace(found.range, written));
    }
    let vague = || Unwritable::Vague(path.to_string());
    let at = chain.last().ok_or_else(vague)?;
    let steps: Vec<_> = path
        .steps()
        .iter()
        .filter(|step| step.kind != StepKind::Itself)
        .collect();
    let Some(first) = steps.first() else {
        return match path.leaf() {
            Leaf::Attribute(name) => Ok(new_attribute(
                text,
                &at.element,
                name,
                value,
                style,
                reader.dialect.element(at.context),
            )),
            Leaf::Text | Leaf::Element => Err(vague()),
        };
    };
    let (StepKind::Child(Some(name)), 1) = (&first.kind, steps.len()) else {
        return Err(vague());
    };
    let there = reader.step(chain, first).into_iter().next();
    if let Some(inner) = there {
        let inner = inner.last().ok_or_else(vague)?;
        return match path.leaf() {
            Leaf::Attribute(attribute) => Ok(new_attribute(
                text,
                &inner.element,
                attribute,
                value,
                style,
                reader.dialect.element(inner.context),
            )),
            Leaf::Text | Leaf::Element => new_text(text, &inner.element, value).ok_or_else(vague),
        };
    }
    // The child is missing: it is made with everything the path says of it.
    let mut outer = NewElement::new(at.element.local_name(), at.context);
    outer.set(reader.dialect, path, value)?;
    let child = outer.children().next().cloned().ok_or_else(vague)?;
    let mut names = Names::of(machine, "");
    let mut child = child;
    complete(reader.dialect, machine, &mut child, &mut names, "");
    let parent = Parent::inside(chain.to_vec(), name);
    Ok(insertion(
        reader,
        machine,
        text,
        style,
        &parent,
        vec![child],
        &mut names,
    )?
    .edit)
}

/// The first text of an element that has nothing in it. None: it has, or it is not closed.
fn new_text(text: &str, element: &Element<'_>, value: &str) -> Option<TextEdit> {
    let written = escape::text(value);
    if element.is_self_closing() {
        let mark = closing_mark(&Lines::new(text), *element);
        let written = format!(">{written}</{}>", element.name());
        return Some(TextEdit::replace(mark, written));
    }
    element.end_tag()?;
    let content = element.content_range()?;
    let is_empty = Lines::new(text).slice(content).trim().is_empty();
    is_empty.then(|| TextEdit::replace(content, written))
}

fn quote_around(text: &str, range: TextRange) -> Option<char> {
    let before = text.get(..usize::from(range.start()))?;
    before
        .trim_end()
        .chars()
        .next_back()
        .filter(|c| *c == '"' || *c == '\'')
}

/// A new attribute for an existing element, behind those that are declared
/// before it, on a line of its own where these have lines of their own.
pub(crate) fn new_attribute(
    text: &str,
    element: &Element<'_>,
    name: &str,
    value: &str,
    style: &Style,
    declared: Option<&ElementDecl>,
) -> TextEdit {
    let rank = |name: &str| {
        declared.and_then(|declared| {
            declared
                .attributes
                .iter()
                .position(|known| known.name == name)
        })
    };
    let own = rank(name);
    let attributes: Vec<_> = element.attributes().collect();
    let known_before = attributes.iter().rposition(|attribute| {
        own.is_none() || rank(attribute.name()).is_some_and(|rank| Some(rank) < own)
    });
    // Namespace declarations and the like stay in front.
    let leading = attributes
        .iter()
        .take_while(|attribute| rank(attribute.name()).is_none())
        .count();
    let before = known_before.or(leading.checked_sub(1));
    let end = before
        .and_then(|at| attributes.get(at))
        .map_or(element.name_range().end(), |at| at.range().end());
    let lines = Lines::new(text);
    let gap = before.filter(|at| *at > 0).and_then(|at| {
        Some(TextRange::new(
            attributes.get(at - 1)?.range().end(),
            attributes.get(at)?.range().start(),
        ))
    });
    let gap = gap
        .map(|gap| lines.slice(gap))
        .filter(|gap| gap.contains(['\n', '\r']))
        .unwrap_or(" ");
    let own_quote = before
        .and_then(|at| attributes.get(at))
        .or(attributes.first())
        .and_then(|near| near.quote());
    let quote = own_quote.unwrap_or(style.quote);
    TextEdit::insert(
        end,
        format!(
            "{gap}{name}={quote}{}{quote}",
            escape::attribute(value, quote)
        ),
    )
}
