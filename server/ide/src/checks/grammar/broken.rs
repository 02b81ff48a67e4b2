//! Where a document is so broken that what stands there is not what was meant.

use std::collections::HashSet;

use syntax::{FormCode, TextRange, TextSize};

use super::super::facts::Facts;

/// Where the form errors are.
pub(super) struct Broken {
    /// Where each starts, in order, with the farthest end up to there.
    errors: Vec<(TextSize, TextSize)>,
    /// Starts of the elements whose start tag is so broken that its attributes are not what was meant.
    pub(super) garbled: HashSet<TextSize>,
    /// What could not be read for it.
    pub(super) unread: Vec<TextRange>,
}

impl Broken {
    pub(super) fn of(facts: &Facts<'_>) -> Self {
        let mut broken = Self {
            errors: Vec::new(),
            garbled: HashSet::new(),
            unread: Vec::new(),
        };
        for error in facts.tree().errors() {
            let farthest = broken
                .errors
                .last()
                .map_or(TextSize::new(0), |(_, end)| *end);
            broken
                .errors
                .push((error.range.start(), farthest.max(error.range.end())));
            match error.code {
                FormCode::UnfinishedAttribute
                | FormCode::UnclosedTag
                | FormCode::StrayCharacters
                | FormCode::BadName => {
                    let holder = facts.tree().elements_at(error.range.start()).pop();
                    if let Some(holder) = holder.filter(|holder| {
                        holder
                            .start_tag_range()
                            .contains_inclusive(error.range.start())
                    }) {
                        broken.garbled.insert(holder.range().start());
                        broken.unread.push(holder.start_tag_range());
                    }
                }
                FormCode::UnclosedComment | FormCode::BadCdata | FormCode::BadInstruction => {
                    // The range of the error is what it took with it.
                    broken.unread.push(error.range);
                }
                _ => {}
            }
        }
        broken
    }

    /// Whether a form error is in the range or right at its edge.
    pub(super) fn touches(&self, range: TextRange) -> bool {
        let before = self
            .errors
            .partition_point(|(start, _)| *start <= range.end());
        let farthest = self.errors[..before].last();
        farthest.is_some_and(|(_, end)| *end >= range.start())
    }
}
