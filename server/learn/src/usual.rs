//! Usual values: what others write in a place.

use crate::corpus::Corpus;
use crate::symbols::Symbol;
use crate::values::Values;

/// So many values are kept.
const MOST: usize = 8;

/// Longer values are no help in a list.
const LONGEST: usize = 60;

/// The most frequent values with how often they were seen, unless nearly every place has a value of its own.
pub(crate) fn frequent(values: &Values, corpus: &Corpus) -> Option<Vec<(Symbol, u32)>> {
    let again = values.each.iter().filter(|(value, tally)| {
        let text = corpus.text(*value);
        tally.places > 1 && text.len() <= LONGEST && !text.contains(['\n', '\r'])
    });
    let again: Vec<(Symbol, u32)> = again.map(|(value, tally)| (*value, tally.places)).collect();
    let repeated: u32 = again.iter().map(|(_, places)| places).sum();
    (repeated * 5 >= values.all.places && !again.is_empty())
        .then(|| again.into_iter().take(MOST).collect())
}

/// What most places have, in more than one file.
pub(crate) fn usual(values: &Values) -> Option<Symbol> {
    let (value, tally) = values.each.first()?;
    (tally.places * 2 > values.all.places && tally.files > 1).then_some(*value)
}
