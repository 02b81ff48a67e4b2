//! Types documents key by key and looks at the errors after each.
//!
//! At a key, the element being typed is the innermost element that the key belongs to in the finished document. An
//! error disturbs if it lies in another element and was not there when the person turned to this one. Of what is open
//! around the caret, one element may be called unclosed.

use crate::desk::{Desk, Seen};
use crate::{Tally, all};
use syntax::{Item, Tree};

/// Without `CALM=all`, one in so many elements is typed in place.
const SAMPLE: usize = 13;

/// Types the document from its first character to its last; nothing stands behind the caret.
pub(crate) fn from_the_top(desk: &mut Desk, tally: &mut Tally) {
    if !all() && desk.original.len() > 2000 {
        return;
    }
    let finished = desk.original.clone();
    desk.write("");
    type_in(desk, &finished, 0..finished.len(), tally, "from the top");
}

/// Deletes each element and types it again where it was, in the document that is otherwise complete.
pub(crate) fn each_element_in_place(desk: &mut Desk, tally: &mut Tally) {
    let finished = desk.original.clone();
    let tree = syntax::parse(&finished);
    let elements = elements(&tree);
    for (_, range) in elements
        .iter()
        .skip(1)
        .step_by(if all() { 1 } else { SAMPLE })
    {
        desk.replace(range.clone(), "");
        type_in(desk, &finished, range.clone(), tally, "in place");
    }
}

/// Types `range` of the finished text, which is missing from the desk's.
fn type_in(
    desk: &mut Desk,
    finished: &str,
    range: std::ops::Range<usize>,
    tally: &mut Tally,
    how: &str,
) {
    let tree = syntax::parse(finished);
    let owners = Owners::of(&tree, finished);
    // What this document without the element shows is there before anything is typed.
    let without = anchored(desk.errors(), range.start);
    let (mut typing, mut before) = (None, without.clone());
    let mut last = before.clone();
    let keys = finished[range.clone()]
        .char_indices()
        .map(|(at, key)| (range.start + at, key));
    for (at, key) in keys {
        desk.replace(at..at, key.encode_utf8(&mut [0; 4]));
        let caret = at + key.len_utf8();
        let owner = owners.at(at);
        if typing != Some(owner) {
            typing = Some(owner);
            before = last;
        }
        let errors = desk.errors();
        let unclosed = errors
            .iter()
            .filter(|error| error.code == "unclosed-element")
            .count();
        last = anchored(errors, caret);
        let gap = range.end - caret;
        let disturbs = |(place, error): &&(Place, Seen)| {
            let known = |list: &[(Place, Seen)]| {
                list.iter()
                    .any(|(other, seen)| other == place && seen.code == error.code)
            };
            let at = match place {
                Place::FromStart(at) => *at,
                Place::FromCaret(behind) => caret + behind + gap,
            };
            owners.at(at.min(finished.len() - 1)) != owner && !known(&before) && !known(&without)
        };
        let several = how == "from the top" && unclosed > 1;
        match last.iter().find(disturbs) {
            None if several => tally.bad.push((
                format!("{how}: {unclosed} unclosed elements"),
                context(desk, finished, caret),
            )),
            None => tally.good += 1,
            Some((_, error)) => {
                let kind = format!(
                    "{how}: {} while typing <{}>",
                    error.code, owners.names[owner]
                );
                let what = format!(
                    "{} → {}: {}",
                    context(desk, finished, caret),
                    error.code,
                    error.message
                );
                tally.bad.push((kind, what));
            }
        }
    }
}

/// Where an error starts: what is behind the caret moves with it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    FromStart(usize),
    FromCaret(usize),
}

fn anchored(errors: Vec<Seen>, caret: usize) -> Vec<(Place, Seen)> {
    let place = |error: &Seen| match usize::from(error.range.start()) {
        start if start < caret => Place::FromStart(start),
        start => Place::FromCaret(start - caret),
    };
    errors
        .into_iter()
        .map(|error| (place(&error), error))
        .collect()
}

/// The file, the line and what was typed of it.
fn context(desk: &Desk, finished: &str, caret: usize) -> String {
    let start = finished[..caret].rfind('\n').map_or(0, |at| at + 1);
    let line = finished[..caret].matches('\n').count() + 1;
    format!(
        "{}:{line} `{}`",
        desk.name(),
        finished[start..caret].trim_start()
    )
}

/// Each element's name and range, outer before inner.
fn elements(tree: &Tree) -> Vec<(String, std::ops::Range<usize>)> {
    let mut found = Vec::new();
    let mut open = vec![tree.top_level()];
    while let Some(items) = open.last_mut() {
        match items.next() {
            None => {
                open.pop();
            }
            Some(Item::Element(element)) => {
                found.push((element.name().to_owned(), element.range().into()));
                open.push(element.items());
            }
            Some(_) => {}
        }
    }
    found
}

/// For each byte of a text, the innermost element that it belongs to.
struct Owners {
    of_bytes: Vec<usize>,
    names: Vec<String>,
}

impl Owners {
    fn of(tree: &Tree, text: &str) -> Self {
        let mut of_bytes = vec![0; text.len()];
        let mut names = vec!["the document".to_owned()];
        for (name, range) in elements(tree) {
            of_bytes[range].fill(names.len());
            names.push(name);
        }
        Self { of_bytes, names }
    }

    fn at(&self, offset: usize) -> usize {
        self.of_bytes[offset]
    }
}
