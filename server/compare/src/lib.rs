//! What changed between two versions of a document: which element became which, in words and as an XML patch.
//!
//! Names of the dialect come first, likeness of content second, places last. The patch is one of RFC 5261. It is carried
//! out on the old version before it is handed out, and what that gives is part of the result. The same comparison brings
//! somebody's changes over to another version.

mod bindings;
mod changes;
mod document;
mod equal;
mod gap;
mod identity;
mod labels;
mod likeness;
mod matching;
mod merge;
mod operations;
mod print;
mod selectors;
mod tags;

pub use changes::{Change, Sort, changes};
pub use merge::{Conflict, Merged, merge};

use dialect::{Dialect, DocumentKind};
use patch::Refusal;
use std::collections::HashMap;
use syntax::{TextRange, Tree};

use document::Document;
use identity::Identities;
use matching::Matching;

/// One version of a document.
#[derive(Debug, Clone, Copy)]
pub struct Version<'a> {
    /// Without form errors.
    pub tree: &'a Tree,
    pub text: &'a str,
    /// None: no dialect fits.
    pub meaning: Option<(&'a Dialect, &'a DocumentKind)>,
}

impl<'a> Version<'a> {
    fn document(&self) -> Document<'a> {
        Document::new(self.tree, self.text, self.meaning)
    }
}

/// An XML patch (RFC 5261) that makes the new version of the old one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Patch {
    /// The whole document; without an operation if nothing differs.
    pub text: String,
    /// How many operations there are.
    pub operations: usize,
    pub gives: Gives,
}

/// What comes of a patch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Gives {
    /// The new version, byte for byte.
    Bytes,
    /// A document that readers of XML cannot tell from the new version. The bytes part in this line of it, from 1.
    Tree { line: usize },
}

/// The patch from one version to another.
///
/// # Errors
/// No patch can say what changed, and why.
pub fn patch(old: &Version<'_>, new: &Version<'_>) -> Result<Patch, String> {
    let (one, other) = (old.document(), new.document());
    let identities = [old, new].map(|version| Identities::new(version.meaning));
    let matching = Matching::of(&one, &other, identities);
    let planned = |anew: bool| {
        let (operations, common) = operations::plan(&one, &other, identities, &matching, anew);
        let text = print::patch(&operations, &common);
        proven(old.text, new.text, &other, text, operations.len())
    };
    // Where pieces do not do, all of it does.
    planned(false).or_else(|_| planned(true))
}

/// Which element of one version is which of the other, by where they stand.
pub fn counterparts(one: &Version<'_>, other: &Version<'_>) -> HashMap<TextRange, TextRange> {
    let identities = [one, other].map(|version| Identities::new(version.meaning));
    let (one, other) = (one.document(), other.document());
    let matching = Matching::of(&one, &other, identities);
    let pairs = matching.new_of.iter().enumerate();
    let pairs = pairs.filter_map(|(id, there)| {
        let (own, there) = (one.element(id)?, other.element((*there)?)?);
        Some((own.range(), there.range()))
    });
    pairs.collect()
}

/// Carries the patch out, and looks at what that gives.
fn proven(
    old: &str,
    new: &str,
    wanted: &Document<'_>,
    text: String,
    operations: usize,
) -> Result<Patch, String> {
    let result = patch::apply(old, &text).map_err(|refusal| match refusal {
        Refusal::Document { message, .. } => message,
        Refusal::Patch(problem) => problem.message,
    })?;
    let gives = if result == new {
        Gives::Bytes
    } else {
        let tree = syntax::parse(&result);
        if let Some(place) = equal::difference(&Document::new(&tree, &result, None), wanted) {
            return Err(format!("it would not be the same: {place}"));
        }
        let same = result.bytes().zip(new.bytes()).take_while(|(a, b)| a == b);
        let line = new.as_bytes()[..same.count().min(new.len())]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count();
        Gives::Tree { line: line + 1 }
    };
    Ok(Patch {
        text,
        operations,
        gives,
    })
}
