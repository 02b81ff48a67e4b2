//! What can be folded away.

use project::View;
use syntax::{Element, Item, Items, TextRange, TextSize};

/// A stretch of text to fold away. It starts in the line that stays and ends in
/// the last line that goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fold {
    pub range: TextRange,
    pub kind: FoldKind,
}

/// What a fold hides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoldKind {
    /// An element or a CDATA section.
    Content,
    Comment,
    /// What comes before the root element.
    Prolog,
}

/// All folds of more than one line, in document order.
pub fn folds(view: &View) -> Vec<Fold> {
    let mut folder = Folder {
        view,
        folds: Vec::new(),
    };
    folder.prolog();
    let mut open: Vec<Items<'_>> = vec![view.tree().top_level()];
    while let Some(items) = open.last_mut() {
        match items.next() {
            Some(Item::Element(element)) => {
                folder.element(element);
                open.push(element.items());
            }
            Some(Item::Comment(token)) => folder.add(token.range(), FoldKind::Comment),
            Some(Item::CData(token)) => folder.add(token.range(), FoldKind::Content),
            Some(_) => {}
            None => {
                open.pop();
            }
        }
    }
    let mut folds = folder.folds;
    folds.sort_by_key(|fold| (fold.range.start(), std::cmp::Reverse(fold.range.end())));
    // The outermost of those that look the same stands for all.
    folds.dedup_by_key(|fold| fold.range);
    folds
}

struct Folder<'v> {
    view: &'v View,
    folds: Vec<Fold>,
}

impl Folder<'_> {
    /// The end tag stays in sight if it has a line of its own.
    fn element(&mut self, element: Element<'_>) {
        let range = element.range();
        let end = match element.end_tag() {
            Some(tag) => self.line_end_before(tag.range().start()),
            None => range.end(),
        };
        if end > range.start() {
            self.add(TextRange::new(range.start(), end), FoldKind::Content);
        }
    }

    /// Declaration, document type and processing instructions before the root, as one.
    fn prolog(&mut self) {
        let before = self
            .view
            .tree()
            .top_level()
            .take_while(|item| !matches!(item, Item::Element(_)));
        let prolog = before
            .filter(|item| {
                matches!(
                    item,
                    Item::Declaration(_) | Item::Doctype(_) | Item::ProcessingInstruction(_)
                )
            })
            .map(|item| item.range())
            .reduce(TextRange::cover);
        if let Some(prolog) = prolog {
            self.add(prolog, FoldKind::Prolog);
        }
    }

    /// Adds a stretch if it has more than one line. What starts it stays in sight.
    fn add(&mut self, range: TextRange, kind: FoldKind) {
        let text = &self.view.text()[range];
        let text = text.trim_end();
        let Some(first_line) = text.find(['\n', '\r']) else {
            return;
        };
        let at = |offset: usize| range.start() + TextSize::try_from(offset).unwrap_or_default();
        let range = TextRange::new(at(first_line), at(text.len()));
        self.folds.push(Fold { range, kind });
    }

    /// The end of the line before, if nothing but white space stands between.
    fn line_end_before(&self, offset: TextSize) -> TextSize {
        let before = &self.view.text()[..usize::from(offset)];
        let blank = before.trim_end_matches([' ', '\t']);
        if !blank.ends_with(['\n', '\r']) {
            return offset;
        }
        let kept = blank.trim_end();
        TextSize::try_from(kept.len()).unwrap_or(offset)
    }
}

#[cfg(test)]
mod tests;
