//! Files of the mod.

use super::{
    CompletionItem, CompletionKind,
    values::{Proposals, Wanted},
};
use crate::file_names::{base, relative};
use std::{collections::HashSet, path::Path};

/// The files with one of these extensions, as they must be written here: those
/// that the document does not name yet first, near ones before far ones.
pub(super) fn files(wanted: &Wanted<'_, '_>, extensions: &[String], list: &mut Proposals) {
    let view = wanted.view;
    let notation = &wanted.dialect.notation.files;
    let own = view.document.path.as_path();
    let base = base(wanted.dialect, own, &view.folder.root).unwrap_or(Path::new(""));
    let separator = notation.folder_separators.first().copied().unwrap_or('/');
    let outline = view.meaning.iter().map(|meaning| &meaning.outline);
    let named = outline.flat_map(|outline| outline.all(|facts| &facts.files));
    let named: HashSet<&str> = named.map(|(_, file)| &*file.name.value).collect();
    let machines: HashSet<&str> = view
        .folder
        .inventory
        .machines
        .iter()
        .map(String::as_str)
        .collect();
    let mut found: Vec<_> = view
        .folder
        .files
        .iter()
        .filter(|file| fits(file, extensions))
        .filter_map(|file| {
            let path = view.folder.root.join(file);
            let written = relative(base, &path).filter(|_| path != own)?;
            let written = written.replace('/', separator.encode_utf8(&mut [0; 4]));
            let distance = written.matches(separator).count();
            let is_machine = machines.contains(file.as_str());
            Some((
                named.contains(written.as_str()),
                !is_machine,
                distance,
                written,
            ))
        })
        .collect();
    found.sort();
    let found = list.first_that_hold(
        wanted.typed,
        || found.iter(),
        |(.., written)| written.as_str(),
    );
    for (is_named, .., written) in found {
        let detail = if *is_named { "named in this file" } else { "" };
        let item = CompletionItem::new(CompletionKind::File, written, written.as_str());
        list.items
            .push(item.detail(detail).doc(&wanted.declared.doc));
    }
    if let Some(prefix) = notation
        .game_prefix
        .as_deref()
        .filter(|prefix| !prefix.is_empty())
    {
        let item = CompletionItem::new(CompletionKind::File, prefix, prefix);
        list.add(item.detail("in the game's own folder"));
    }
}

fn fits(file: &str, extensions: &[String]) -> bool {
    let extension = file
        .rsplit_once('.')
        .map(|(_, extension)| extension.to_lowercase());
    extensions.is_empty() || extension.is_some_and(|extension| extensions.contains(&extension))
}
