//! File names that lead somewhere.

use project::{FileState, View};
use std::path::PathBuf;
use syntax::TextRange;

/// A file name and the file it leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    pub range: TextRange,
    pub target: PathBuf,
}

/// The names of files that exist, in document order.
pub fn links(view: &View) -> Vec<Link> {
    let Some(meaning) = &view.meaning else {
        return Vec::new();
    };
    let named = meaning.outline.all(|facts| &facts.files);
    named
        .filter_map(|(entry, file)| match meaning.file(&file.name.value) {
            FileState::Found(path) | FileState::CaseDiffers { actual: path, .. } => Some(Link {
                range: entry.placed(&file.name.range),
                target: path.clone(),
            }),
            FileState::Missing(_) | FileState::InGame => None,
        })
        .collect()
}

#[cfg(test)]
mod tests;
