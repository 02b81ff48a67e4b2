//! What a dialect says about elements and attributes.

use crate::prose::{Line, Prose};
use dialect::{AttributeDecl, Choice, Dialect, ElementDecl, Learnt};

/// An element: what it is for, what it holds.
pub(crate) fn element_doc(name: &str, declared: &ElementDecl) -> Prose {
    let attributes = |required: bool| {
        let wanted = declared
            .attributes
            .iter()
            .filter(move |known| known.required == required);
        Line::new().list(wanted.map(|known| Line::new().code(&known.name)))
    };
    let children = declared
        .children
        .iter()
        .map(|rule| Line::new().code(&rule.name));
    let prose = Prose::new()
        .paragraph(Line::new().strong("element").text(" ").code(name))
        .doc(&declared.doc)
        .item(labelled("Must have: ", attributes(true)))
        .item(labelled("May have: ", attributes(false)))
        .item(labelled("Holds: ", Line::new().list(children)));
    let prose = declared.choices.iter().fold(prose, |prose, choice| {
        prose.item(choice_line(declared, choice))
    });
    prose.item(learnt(declared.learnt.as_ref()))
}

/// Children that stand for each other.
fn choice_line(declared: &ElementDecl, choice: &Choice) -> Line {
    let label = match (choice.min, choice.max) {
        (1, Some(1)) => "One of: ",
        (0, Some(1)) => "At most one of: ",
        (1, None) => "At least one of: ",
        _ => return Line::new(),
    };
    let members = declared.members(choice).iter();
    let members = members.map(|rule| Line::new().code(&rule.name));
    labelled(label, Line::new().list(members))
}

/// The text of an element: what the element is for and what may stand in it.
pub(crate) fn text_doc(
    dialect: &Dialect,
    name: &str,
    element: &ElementDecl,
    declared: &AttributeDecl,
) -> Prose {
    Prose::new()
        .paragraph(Line::new().strong("text of").text(" ").code(name))
        .doc(&element.doc)
        .then(value_doc(dialect, declared))
}

/// An attribute: what it is for and what it may say.
pub(crate) fn attribute_doc(dialect: &Dialect, declared: &AttributeDecl) -> Prose {
    Prose::new()
        .paragraph(
            Line::new()
                .strong("attribute")
                .text(" ")
                .code(&declared.name),
        )
        .then(value_doc(dialect, declared))
}

fn value_doc(dialect: &Dialect, declared: &AttributeDecl) -> Prose {
    let value = |label: &str, value: &Option<String>| match value {
        Some(value) => Line::new().text(label).code(value),
        None => Line::new(),
    };
    let need = if declared.required {
        "Required: "
    } else {
        "Optional: "
    };
    Prose::new()
        .doc(&declared.doc)
        .item(
            Line::new()
                .text(need)
                .doc(&dialect.describe(&declared.value)),
        )
        .item(value("Where it is left out: ", &declared.default))
        .item(value("Usual: ", &declared.usual))
        .item(learnt(declared.learnt.as_ref()))
}

fn learnt(learnt: Option<&Learnt>) -> Line {
    match learnt {
        None => Line::new(),
        Some(Learnt { seen: 1, .. }) => Line::new().text("Learnt from files: seen once"),
        Some(learnt) => Line::new().text(format!("Learnt from files: seen {} times", learnt.seen)),
    }
}

/// Nothing if there is nothing to say.
pub(crate) fn labelled(label: &str, line: Line) -> Line {
    if line.is_empty() {
        return line;
    }
    Line::new().text(label).then(line)
}
