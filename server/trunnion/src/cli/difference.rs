//! What a change does to a text, line by line.

use std::path::Path;

use super::plain;

/// A unified diff that `patch` understands; empty if nothing changes.
pub(crate) fn unified(file: &Path, before: &str, after: &str) -> String {
    let name = plain::name(file);
    similar::TextDiff::from_lines(before, after)
        .unified_diff()
        .header(&name, &name)
        .to_string()
}
