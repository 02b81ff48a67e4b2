//! Checks on the attributes of one start tag.

use std::collections::HashMap;

use super::Parser;
use crate::TextEdit;
use crate::chars::shown;
use crate::error::{FormCode, FormError};
use crate::kind::Kind;
use crate::tag::{Pair, Tag, range};

/// Up to so many attributes are compared with each other; more go through a table.
pub(crate) const FEW: usize = 12;

pub(crate) fn check_duplicates(parser: &mut Parser<'_>, tag: &Tag) {
    let text = parser.text;
    let name = |pair: &Pair| pair.name(text);
    if tag.pairs.len() <= FEW {
        // Names that differ in length or last letter cannot be the same: that sorts out nearly all.
        let mut marks = 0u64;
        let marks_differ = tag.pairs.iter().all(|pair| {
            let last = text.as_bytes()[pair.name_end.max(1) - 1];
            let mark = 1 << ((usize::from(last) + 7 * (pair.name_end - pair.start)) % 64);
            let new = marks & mark == 0;
            marks |= mark;
            new
        });
        if marks_differ {
            return;
        }
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
    let element = shown(&parser.text[tag.pieces[0].start + 1..tag.name_end]);
    // The white space before it goes with it.
    let own = tag.pieces.partition_point(|piece| piece.start < pair.start);
    let before = own.checked_sub(1).and_then(|before| tag.pieces.get(before));
    let from = before
        .filter(|piece| piece.kind == Kind::Space)
        .map_or(pair.start, |piece| piece.start);
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
