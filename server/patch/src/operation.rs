//! The operations of a patch, as they are written.

use syntax::{Attribute, Element, TextRange, Tree};

use crate::names::{Bindings, bindings};
use crate::problem::{Code, Problem};
use crate::selector::{self, Selector};

/// One operation with everything that the patch says of it.
#[derive(Debug)]
pub(crate) struct Operation<'p> {
    pub(crate) element: Element<'p>,
    /// The whole text of the patch.
    pub(crate) source: &'p str,
    /// What prefixes mean in it.
    pub(crate) bindings: Bindings,
    pub(crate) selector: Selector,
    /// Where `sel` stands.
    pub(crate) selector_range: TextRange,
    pub(crate) what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum What {
    AddNodes(Position),
    /// The name as written in the patch.
    AddAttribute(String),
    /// The prefix.
    AddNamespace(String),
    Replace,
    Remove(Blanks),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Position {
    Append,
    Prepend,
    Before,
    After,
}

/// Which white space goes with a node that is removed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Blanks {
    pub(crate) before: bool,
    pub(crate) after: bool,
}

impl Operation<'_> {
    /// A problem with all of the operation.
    pub(crate) fn problem(&self, code: Code, message: impl Into<String>) -> Problem {
        problem(code, self.element.start_tag_range(), message)
    }
}

fn problem(code: Code, range: TextRange, message: impl Into<String>) -> Problem {
    Problem {
        code,
        range,
        message: message.into(),
    }
}

/// # Errors
/// The patch is not well-formed, or no patch.
pub(crate) fn read<'p>(tree: &'p Tree, source: &'p str) -> Result<Vec<Operation<'p>>, Problem> {
    if let Some(error) = tree.errors().first() {
        return Err(problem(
            Code::InvalidDiffFormat,
            error.range,
            format!("The patch is not well-formed: {}", error.message),
        ));
    }
    let Some(root) = tree.root() else {
        return Err(problem(
            Code::InvalidDiffFormat,
            TextRange::default(),
            "There is no patch in this file. Write `add`, `replace` and `remove` elements in a root element",
        ));
    };
    root.children()
        .map(|element| operation(root, element, source))
        .collect()
}

fn operation<'p>(
    root: Element<'p>,
    element: Element<'p>,
    source: &'p str,
) -> Result<Operation<'p>, Problem> {
    let known: &[&str] = match element.local_name() {
        "add" => &["sel", "pos", "type"],
        "replace" => &["sel"],
        "remove" => &["sel", "ws"],
        other => {
            return Err(problem(
                Code::InvalidDiffFormat,
                element.name_range(),
                format!("`{other}` is no operation. Use `add`, `replace` or `remove`"),
            ));
        }
    };
    // What another namespace adds to an operation is none of ours.
    let strange = element.attributes().find(|attribute| {
        attribute.declared_prefix().is_none()
            && attribute.prefix().is_none()
            && !known.contains(&attribute.name())
    });
    if let Some(attribute) = strange {
        return Err(problem(
            Code::InvalidDiffFormat,
            attribute.name_range(),
            format!(
                "`{}` has no attribute `{}`. It has: {}",
                element.local_name(),
                attribute.name(),
                known.join(", ")
            ),
        ));
    }
    let Some(sel) = element.attribute("sel") else {
        return Err(problem(
            Code::InvalidDiffFormat,
            element.name_range(),
            "This operation does not say what it is about. Add a `sel` with the path of a node",
        ));
    };
    let selector_range = sel.value_range().unwrap_or(sel.range());
    let bindings = bindings(&[root, element]);
    let selector = selector::read(&sel.value(), &bindings)
        .map_err(|(code, message)| problem(code, selector_range, message))?;
    let what = match element.local_name() {
        "add" => addition(&element)?,
        "replace" => What::Replace,
        _ => What::Remove(blanks(&element)?),
    };
    if matches!(what, What::Remove(_)) && element.items().any(|item| !is_blank(&item)) {
        return Err(problem(
            Code::InvalidDiffFormat,
            element.name_range(),
            "`remove` has no content. Leave it empty",
        ));
    }
    Ok(Operation {
        element,
        source,
        bindings,
        selector,
        selector_range,
        what,
    })
}

fn is_blank(item: &syntax::Item<'_>) -> bool {
    matches!(item, syntax::Item::Text(token) if token.text().trim_matches([' ', '\t', '\r', '\n']).is_empty())
        || matches!(item, syntax::Item::Comment(_))
}

fn addition(element: &Element<'_>) -> Result<What, Problem> {
    let pos = element.attribute("pos");
    let Some(kind) = element.attribute("type") else {
        return Ok(What::AddNodes(match pos.as_ref() {
            None => Position::Append,
            Some(pos) => match pos.value().trim() {
                "prepend" => Position::Prepend,
                "before" => Position::Before,
                "after" => Position::After,
                _ => return Err(bad_value(pos, "`prepend`, `before` or `after`")),
            },
        }));
    };
    if let Some(pos) = pos {
        return Err(problem(
            Code::InvalidPatchDirective,
            pos.range(),
            "Attributes and prefixes have no order. Remove `pos`, or `type`",
        ));
    }
    let value = kind.value();
    let value = value.trim();
    let name = |name: &str| !name.is_empty() && !name.contains(['@', ':', ' ', '/', '\'', '"']);
    if let Some(attribute) = value.strip_prefix('@') {
        let parts = attribute.split(':').count();
        if parts <= 2 && attribute.split(':').all(name) && !attribute.starts_with("xmlns") {
            return Ok(What::AddAttribute(attribute.to_owned()));
        }
    } else if let Some(prefix) = value.strip_prefix("namespace::")
        && name(prefix)
    {
        return Ok(What::AddNamespace(prefix.to_owned()));
    }
    Err(bad_value(&kind, "`@name` or `namespace::prefix`"))
}

fn blanks(element: &Element<'_>) -> Result<Blanks, Problem> {
    let (before, after) = match element.attribute("ws") {
        None => (false, false),
        Some(ws) => match ws.value().trim() {
            "before" => (true, false),
            "after" => (false, true),
            "both" => (true, true),
            _ => return Err(bad_value(&ws, "`before`, `after` or `both`")),
        },
    };
    Ok(Blanks { before, after })
}

fn bad_value(attribute: &Attribute<'_>, possible: &str) -> Problem {
    problem(
        Code::InvalidAttributeValue,
        attribute.value_range().unwrap_or(attribute.range()),
        format!(
            "`{}` cannot be `{}`. Write {possible}",
            attribute.name(),
            attribute.value()
        ),
    )
}
