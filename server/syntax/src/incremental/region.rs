//! The part of a text that is parsed again.

use rowan::TextSize;

use crate::error::{FormCode, FormError};

/// A part of the old text with all that was found there, to be replaced.
#[derive(Copy, Clone)]
pub(super) struct Region {
    pub(super) start: TextSize,
    pub(super) end: TextSize,
    /// It is a start tag. What is known about its element stays.
    pub(super) only_tag: bool,
}

impl Region {
    /// Whether an error belongs to what is replaced.
    pub(super) fn owns(&self, error: &FormError) -> bool {
        let about_element = self.only_tag
            && error.range.start() == self.start
            && matches!(
                error.code,
                FormCode::UnclosedElement | FormCode::ExtraRoot | FormCode::TooDeep
            );
        self.contains(error.range.start()) && !about_element
    }

    pub(super) fn contains(&self, offset: TextSize) -> bool {
        self.start <= offset && offset < self.end
    }
}

/// Whether a fix or a related place of an error lies in or behind the region.
pub(super) fn reaches(error: &FormError, region: Region) -> bool {
    let related = error.related.iter().map(|(range, _)| *range);
    let edits = error
        .fix
        .iter()
        .flat_map(|fix| &fix.edits)
        .map(|edit| edit.range);
    related
        .chain(edits)
        .chain([error.range])
        .any(|range| range.end() > region.start)
}
