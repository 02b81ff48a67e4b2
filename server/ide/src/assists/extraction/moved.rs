//! Which elements go into the new animation.

use super::Source;
use std::collections::HashSet;
use syntax::{Element, TextRange};

/// What is moved, in the order of the document: the channels, and elements around them that hold nothing else. What stands
/// beside the animation stays where it is.
pub(super) fn moved_elements(source: &Source<'_>, is_beside: bool) -> Vec<TextRange> {
    let mut moved: HashSet<TextRange> = HashSet::new();
    let mut around: Vec<Element<'_>> = Vec::new();
    for (_, chain) in &source.channels {
        let outside = match is_beside {
            true => chain.len().saturating_sub(1),
            false => source.chain.len(),
        };
        let inner = chain.iter().skip(outside).map(|at| at.element);
        let mut inner: Vec<Element<'_>> = inner.collect();
        match inner.pop() {
            Some(channel) => moved.insert(channel.range()),
            None => moved.insert(source.element.range()),
        };
        around.extend(inner);
    }
    // Innermost first, so that an element whose children all move is known to move when its parent is looked at.
    around.sort_by_key(|element| std::cmp::Reverse(element.range().start()));
    around.dedup();
    for element in around {
        let mut children = element.children();
        let all_move = children.all(|child| moved.contains(&child.range()));
        if all_move && !machine::has_text(element) {
            moved.insert(element.range());
        }
    }
    let mut outermost: Vec<TextRange> = moved.into_iter().collect();
    outermost.sort_by_key(|range| range.start());
    // What stands in a moved one moves with it.
    outermost.dedup_by(|inner, outer| outer.contains_range(*inner));
    outermost
}
