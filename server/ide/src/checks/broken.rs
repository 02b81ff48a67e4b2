//! Where a document is so broken that what stands there is not what was meant.

use foldhash::HashSet;
use std::hash::{Hash, Hasher};

use syntax::{FormCode, FormError, TextRange, TextSize, Tree};

/// Where the form errors are.
#[derive(Debug)]
pub(super) struct Broken<'v> {
    /// By start.
    errors: &'v [FormError],
    /// By error: the farthest end up to there.
    farthest: Vec<TextSize>,
    /// Starts of the elements whose start tag is so broken that its attributes are not what was meant.
    garbled: HashSet<TextSize>,
    /// The start tags of these.
    garbled_tags: Vec<TextRange>,
    /// What an unclosed comment or the like took with it.
    swallowed: Vec<TextRange>,
}

impl<'v> Broken<'v> {
    pub(super) fn of(tree: &'v Tree) -> Self {
        let errors = tree.errors();
        let mut broken = Self {
            errors,
            farthest: Vec::with_capacity(errors.len()),
            garbled: HashSet::default(),
            garbled_tags: Vec::new(),
            swallowed: Vec::new(),
        };
        let mut farthest = TextSize::new(0);
        for error in errors {
            farthest = farthest.max(error.range.end());
            broken.farthest.push(farthest);
            match error.code {
                FormCode::UnfinishedAttribute
                | FormCode::UnclosedTag
                | FormCode::StrayCharacters
                | FormCode::BadName => broken.garble(tree, error.range.start()),
                FormCode::UnclosedComment | FormCode::BadCdata | FormCode::BadInstruction => {
                    broken.swallowed.push(error.range);
                }
                _ => {}
            }
        }
        broken
    }

    fn garble(&mut self, tree: &Tree, offset: TextSize) {
        let holder = tree
            .elements_at(offset)
            .pop()
            .filter(|holder| holder.start_tag_range().contains_inclusive(offset));
        if let Some(holder) = holder
            && self.garbled.insert(holder.range().start())
        {
            self.garbled_tags.push(holder.start_tag_range());
        }
    }

    /// Whether there are no form errors.
    pub(super) fn is_nowhere(&self) -> bool {
        self.errors.is_empty()
    }

    /// Whether the start tag of the element that starts there is garbled.
    pub(super) fn is_garbled(&self, element: TextSize) -> bool {
        self.garbled.contains(&element)
    }

    /// Start tags in which nobody can say what was meant.
    pub(super) fn garbled_tags(&self) -> &[TextRange] {
        &self.garbled_tags
    }

    /// What comments and the like that do not end took with them.
    pub(super) fn swallowed(&self) -> &[TextRange] {
        &self.swallowed
    }

    /// Whether a form error is in the range or right at its edge.
    pub(super) fn touches(&self, range: TextRange) -> bool {
        // Asked of every portion, after each keystroke; most lie before or behind all errors.
        let (Some(first), Some(last)) = (self.errors.first(), self.farthest.last()) else {
            return false;
        };
        if range.end() < first.range.start() || *last < range.start() {
            return false;
        }
        let before = self.before(range.end());
        before > 0 && self.farthest[before - 1] >= range.start()
    }

    /// From the first to the last form error in the range or right at its edge, as far as that is in the range.
    pub(super) fn reach(&self, range: TextRange) -> Option<TextRange> {
        if !self.touches(range) {
            return None;
        }
        let errors = self.errors[..self.before(range.end())].iter();
        let touching = errors.filter(|error| error.range.end() >= range.start());
        let within = touching.filter_map(|error| error.range.intersect(range));
        within.reduce(TextRange::cover)
    }

    /// A number that stays the same as long as the form errors at a range do, wherever the range moves.
    pub(super) fn digest(&self, range: TextRange, hasher: &mut impl Hasher) {
        let before = self.before(range.end());
        let first = self.farthest[..before].partition_point(|end| *end < range.start());
        for error in &self.errors[first..before] {
            if error.range.end() >= range.start() {
                error.code.as_str().hash(hasher);
                // How far an error leads beyond what is looked at does not matter.
                let start = error.range.start().max(range.start()) - range.start();
                let end = error.range.end().min(range.end()) - range.start();
                (u32::from(start), u32::from(end)).hash(hasher);
            }
        }
    }

    /// How many errors start up to there.
    fn before(&self, end: TextSize) -> usize {
        self.errors
            .partition_point(|error| error.range.start() <= end)
    }
}
