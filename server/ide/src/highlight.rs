//! The places to light up while the caret is on one of them.

use crate::{
    linked_editing,
    occurrences::{Form, occurrences, subject_at},
};
use project::View;
use syntax::{TextRange, TextSize};

/// One place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Highlight {
    pub range: TextRange,
    pub kind: HighlightKind,
}

/// What happens to the name at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HighlightKind {
    /// Neither of the others: a tag's name.
    Text,
    /// The name is used.
    Read,
    /// The name is given.
    Write,
}

/// In document order. On the name of a tag: both tags of the element.
pub fn highlight(view: &View, offset: TextSize) -> Vec<Highlight> {
    if let Some((subject, _)) = subject_at(view, offset) {
        let places = occurrences(view, &subject).into_iter();
        return places
            .map(|place| Highlight {
                range: place.range,
                kind: match place.form {
                    Form::Given => HighlightKind::Write,
                    Form::Used | Form::Indirect => HighlightKind::Read,
                },
            })
            .collect();
    }
    let tags = linked_editing::tag_names(view, offset);
    tags.into_iter()
        .map(|range| Highlight {
            range,
            kind: HighlightKind::Text,
        })
        .collect()
}

#[cfg(test)]
mod tests;
