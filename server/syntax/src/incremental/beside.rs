//! What lies beside the tree after an edit: the errors and the notes of the parser.

use std::sync::{Arc, OnceLock};

use rowan::{GreenNode, TextRange, TextSize};

use super::Edit;
use super::region::{Region, reaches};
use super::window::move_ranges;
use crate::error::{FormCode, FormError};
use crate::parser::Fragment;
use crate::source::LONGEST;
use crate::tree::{Notes, Watch};
use crate::{Tree, chars};

impl Edit<'_> {
    /// A tree with the errors and notes of `region` replaced by those of `fragment`, and the rest moved.
    pub(super) fn tree_with(
        &self,
        green: GreenNode,
        region: Region,
        fragment: Fragment,
    ) -> Option<Tree> {
        if self.joins_bad_characters(region) {
            return None;
        }
        Some(Tree {
            green,
            errors: self.errors_with(region, fragment.errors)?,
            notes: self.notes_with(region, fragment.notes),
            doctype: self.tree.doctype.clone(),
            at_root: OnceLock::new(),
        })
    }

    fn errors_with(&self, region: Region, new: Vec<FormError>) -> Option<Arc<[FormError]>> {
        let old = &self.tree.errors;
        if new.is_empty() && !old.iter().any(|error| reaches(error, region)) {
            return Some(Arc::clone(old));
        }
        let mut errors = Vec::with_capacity(old.len() + new.len());
        for error in old.iter() {
            let at = error.range.start();
            if region.owns(error) {
                // How many elements are open is not known for sure in a part, and that is what it is about.
                if error.range.end() > region.end || error.code == FormCode::TooDeep {
                    return None;
                }
                continue;
            }
            if at < region.start && error.range.end() > region.start {
                return None;
            }
            errors.push(self.moved_error(error, at < region.start));
        }
        errors.extend(new);
        errors.sort_by_key(FormError::order);
        if errors.len() > crate::parser::MOST_ERRORS {
            return None;
        }
        Some(errors.into())
    }

    /// A range outside the region, or around it, moved as the text has moved. An edit between the region's edges moves
    /// what starts at its end; `before`: not so for what belongs to something before the region.
    fn moved(&self, range: TextRange, before: bool) -> TextRange {
        let start = range.start();
        let moves = start >= self.end && !(before && start == self.start);
        let start = if moves { self.after(start) } else { start };
        let end = range.end();
        let end = if end >= self.end && end > self.start {
            self.after(end)
        } else {
            end
        };
        TextRange::new(start, end.max(start))
    }

    fn moved_error(&self, error: &FormError, before: bool) -> FormError {
        let mut error = error.clone();
        move_ranges(&mut error, |range| self.moved(range, before));
        error
    }

    fn notes_with(&self, region: Region, new: Notes) -> Arc<Notes> {
        let old = &self.tree.notes;
        if old.hoisted.is_empty()
            && old.watches.is_empty()
            && new.hoisted.is_empty()
            && new.watches.is_empty()
        {
            return Arc::clone(old);
        }
        let kept = |at: &TextSize| !region.contains(*at);
        let kept_element = |at: &TextSize| kept(at) || (region.only_tag && *at == region.start);
        let moved = |at: TextSize| if at >= region.end { self.after(at) } else { at };
        let mut notes = Notes {
            hoisted: old
                .hoisted
                .iter()
                .copied()
                .filter(kept_element)
                .map(moved)
                .collect(),
            watches: old
                .watches
                .iter()
                .filter(|watch| kept(&watch.from))
                .map(|watch| Watch {
                    from: moved(watch.from),
                    to: if watch.from >= region.end {
                        self.after(watch.to)
                    } else {
                        watch.to
                    },
                })
                .collect(),
            ..Notes::default()
        };
        notes.hoisted.extend(new.hoisted);
        notes.watches.extend(new.watches);
        notes.sort();
        Arc::new(notes)
    }

    /// Whether a run of characters that are nowhere allowed goes over an edge of the region.
    fn joins_bad_characters(&self, region: Region) -> bool {
        let bad = |c: Option<char>| c.is_some_and(|c| !chars::is_char(c));
        let joins = |at: TextSize| {
            let before = || self.text(at.checked_sub(LONGEST).unwrap_or_default(), at);
            let after = || self.text(at, at + LONGEST);
            bad(before().chars().next_back()) && bad(after().chars().next())
        };
        joins(region.start) || joins(self.after(region.end))
    }
}
