//! Comments and processing instructions.

use syntax::TextEdit;

use super::Merger;
use crate::document::Id;

impl Merger<'_, '_> {
    /// One that I wrote otherwise.
    pub(super) fn remark(&mut self, old: Id, own: Id, new: Option<Id>) {
        let Some(new) = new else {
            let sides = [
                Self::written(self.old, old),
                None,
                Self::written(self.own, own),
            ];
            return self.conflict("a comment".to_owned(), sides, None, Some(own));
        };
        let (base, theirs) = (&self.old.nodes[old], &self.new.nodes[new]);
        if theirs.written == self.own.nodes[own].written {
            self.shared += 1;
        } else if base.written == theirs.written {
            let text = self.with_their_lines(self.own.written(own));
            self.edits.push(TextEdit::replace(theirs.range, text));
            self.made += 1;
        } else {
            let sides = [
                Self::written(self.old, old),
                Self::written(self.new, new),
                Self::written(self.own, own),
            ];
            self.conflict("a comment".to_owned(), sides, Some(new), Some(own));
        }
    }
}
