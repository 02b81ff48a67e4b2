//! All places of a document that speak of the same thing.
//!
//! Asked at a name, these are the places of the name (what a rename changes)
//! and the positions that count up to the thing it names. Asked at an index
//! path, these are all places that ask for this very node: index paths, the
//! aliases of the node and the uses of these aliases. Asked at an input or a
//! file, all places that say the same input or file.

use crate::occurrences::{Form, occurrences, subject_at};
use project::View;
use syntax::{TextRange, TextSize};

/// The places, in document order. `with_definition`: also where the name itself is given.
pub fn references(view: &View, offset: TextSize, with_definition: bool) -> Vec<TextRange> {
    let Some((subject, _)) = subject_at(view, offset) else {
        return Vec::new();
    };
    occurrences(view, &subject)
        .into_iter()
        .filter(|place| with_definition || place.form != Form::Given)
        .map(|place| place.range)
        .collect()
}

#[cfg(test)]
mod tests;
