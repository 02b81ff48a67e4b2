//! Checks on the attributes of one start tag.

use std::collections::HashMap;

use super::Parser;
use crate::TextEdit;
use crate::chars::{self, shown};
use crate::error::{FormCode, FormError};
use crate::tag::{Pair, Tag, range};

/// Up to so many attributes are compared with each other; more go through a table.
pub(crate) const FEW: usize = 12;

/// What tells names apart at a glance: that sorts out nearly all.
#[derive(Default)]
pub(crate) struct Marks(u64);

impl Marks {
    /// Marks a name. True only if it is none of those that were marked before: names that differ in length or last
    /// letter cannot be the same.
    #[inline]
    pub(crate) fn are_new(&mut self, name: &[u8]) -> bool {
        let last = name.last().copied().unwrap_or_default();
        let mark = 1 << ((usize::from(last) + 7 * name.len()) % 64);
        let is_new = self.0 & mark == 0;
        self.0 |= mark;
        is_new
    }
}

pub(crate) fn check_duplicates(parser: &mut Parser<'_>, tag: &Tag) {
    if tag.names_differ {
        return;
    }
    let text = parser.text;
    let name = |pair: &Pair| pair.name(text);
    if tag.pairs.len() <= FEW {
        for (index, pair) in tag.pairs.iter().enumerate().skip(1) {
            if let Some(first) = tag.pairs[..index]
                .iter()
                .find(|first| name(first) == name(pair))
            {
                duplicate(parser, tag, first, pair);
            }
        }
    } else {
        let mut seen = HashMap::with_capacity(tag.pairs.len());
        for pair in &tag.pairs {
            if let Some(first) = seen.insert(name(pair), pair) {
                duplicate(parser, tag, first, pair);
                seen.insert(name(pair), first);
            }
        }
    }
}

pub(crate) fn duplicate(parser: &mut Parser<'_>, tag: &Tag, first: &Pair, pair: &Pair) {
    let name = shown(pair.name(parser.text));
    let other = shown(first.name(parser.text));
    if name.is_empty() {
        return;
    }
    let element = shown(&parser.text[tag.start + 1..tag.name_end]);
    // The white space before it goes with it.
    let from = chars::trim_end(parser.text.as_bytes(), tag.name_end, pair.start);
    let message = if name == other {
        format!("`{name}` is given twice on `<{element}>`. Remove one of the two")
    } else {
        format!(
            "`{name}` and `{other}` are the same attribute: their prefixes stand for one namespace. Remove one of the two"
        )
    };
    parser.error(
        FormError::new(
            FormCode::DuplicateAttribute,
            range(pair.start, pair.name_end),
            message,
        )
        .with_fix(
            format!("Remove this `{name}`"),
            vec![TextEdit::delete(range(from, pair.end))],
        )
        .with_related(
            range(first.start, first.end),
            format!("`{other}` is given here first"),
        ),
    );
}
