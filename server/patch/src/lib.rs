//! XML patches of RFC 5261: `add`, `replace` and `remove`, applied to a document as text edits.
//!
//! Operations are carried out one after the other, each on what the one before it left. All of them are, or none: a patch
//! that does not fit is refused with the RFC's name for what is wrong and its place. Bytes that no operation touches
//! stay as they are, and what an operation brings along is taken over as it is written in the patch, but for line breaks
//! (as in the document) and prefixes (as the document binds them).

mod carry_out;
mod content;
mod listing;
mod names;
mod operation;
mod problem;
mod select;
mod selector;

pub use problem::{Code, Problem, Refusal};

use listing::Listings;
use operation::Operation;
use syntax::TextSize;

/// The document after the patch; both are whole texts.
///
/// # Errors
/// The document or the patch is not well-formed, or an operation does not fit.
pub fn apply(document: &str, patch: &str) -> Result<String, Refusal> {
    let mut tree = syntax::parse(document);
    if let Some(error) = tree.errors().first() {
        return Err(Refusal::Document {
            range: error.range,
            message: error.message.clone(),
        });
    }
    let patch_tree = syntax::parse(patch);
    // The habits of the whole document as it came: to look for them before each of thousands of operations takes seconds.
    let style = syntax::Style::of(&tree);
    let mut listings = Listings::default();
    for operation in operation::read(&patch_tree, patch)? {
        let edits = carry_out::edits(&operation, &tree, &style, &mut listings)?;
        // From the last to the first, so that the ranges of the others stay right.
        let mut edits = edits;
        edits.sort_by_key(|edit| (edit.range.start(), edit.range.end()));
        for edit in edits.iter().rev() {
            tree = tree.edited(edit);
        }
        still_well_formed(&operation, &tree)?;
    }
    Ok(tree.text())
}

fn still_well_formed(operation: &Operation<'_>, tree: &syntax::Tree) -> Result<(), Problem> {
    let Some(error) = tree.errors().first() else {
        return Ok(());
    };
    let code = match error.code {
        syntax::FormCode::UnboundPrefix => Code::InvalidNamespacePrefix,
        _ => Code::InvalidPatchDirective,
    };
    let at = usize::from(error.range.start() + TextSize::new(1));
    Err(operation.problem(
        code,
        format!(
            "After this operation the document would not be well-formed any more, at byte {at}: {}",
            error.message
        ),
    ))
}
