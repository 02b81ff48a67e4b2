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
        return Ok(over(text, style, found.range, path.leaf(), value));
    }
    let vague = || Unwritable::Vague(path.to_string());
    let at = chain.last().ok_or_else(vague)?;
    let steps = path.steps().iter();
    let steps: Vec<_> = steps.filter(|step| step.kind != StepKind::Itself).collect();
    if steps.is_empty() && matches!(path.leaf(), Leaf::Attribute(_)) {
        return new_value(reader, text, style, at, path.leaf(), value).ok_or_else(vague);
    }
    let [step] = steps[..] else {
        return Err(vague());
    };
    let StepKind::Child(Some(name)) = &step.kind else {
        return Err(vague());
    };
    if let Some(child) = reader.step(chain, step).first() {
        let child = child.last().ok_or_else(vague)?;
        return new_value(reader, text, style, child, path.leaf(), value).ok_or_else(vague);
    }
    // The child is missing: it is made with everything the path says of it.
    let mut outer = NewElement::new(at.element.local_name(), at.context);
    outer.set(reader.dialect, path, value)?;
    let mut child = outer.children().next().cloned().ok_or_else(vague)?;
    let names = &mut Names::of(machine, "");
    complete(reader.dialect, machine, &mut child, names, "");
    let parent = Parent::inside(chain.to_vec(), name);
    let made = insertion(reader, machine, text, style, &parent, vec![child], names)?;
    Ok(made.edit)
}

/// A value instead of the one that stands there.
fn over(text: &str, style: &Style, range: TextRange, leaf: &Leaf, value: &str) -> TextEdit {
    let written = match leaf {
        Leaf::Attribute(_) => {
            escape::attribute(value, quote_around(text, range).unwrap_or(style.quote))
        }
        Leaf::Text | Leaf::Element => escape::text(value),
    };
    TextEdit::replace(range, written)
}

/// A value where an element has none: an attribute, or the first text. None: as [`new_text`].
fn new_value(
    reader: &Reader<'_>,
    text: &str,
    style: &Style,
    at: &Located<'_>,
    leaf: &Leaf,
    value: &str,
) -> Option<TextEdit> {
    match leaf {
        Leaf::Attribute(name) => {
            let declared = reader.dialect.element(at.context);
            let edit = new_attribute(text, &at.element, name, value, style, declared);
            Some(edit)
        }
        Leaf::Text | Leaf::Element => new_text(text, &at.element, value),
    }
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
