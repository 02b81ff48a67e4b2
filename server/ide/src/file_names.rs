//! How files are written in a definition.

use std::path::Path;

use dialect::{Dialect, FilesFrom};

/// The folder where names of files start, in a document of a mod with this root.
pub(crate) fn base<'p>(dialect: &Dialect, document: &'p Path, root: &'p Path) -> Option<&'p Path> {
    match dialect.notation.files.from {
        FilesFrom::Document => document.parent(),
        FilesFrom::Mod => Some(root),
    }
}

/// A name with `/` between its folders, with the dialect's mark and the prefix of `written` put back.
pub(crate) fn as_written(dialect: &Dialect, written: &str, name: &str) -> String {
    let notation = &dialect.notation.files;
    let mark = notation
        .folder_separators
        .iter()
        .find(|mark| written.contains(**mark))
        .or(notation.folder_separators.first());
    let name = match mark {
        Some(mark) => name.replace('/', &mark.to_string()),
        None => name.to_owned(),
    };
    match notation
        .game_prefix
        .as_deref()
        .filter(|prefix| written.starts_with(prefix))
    {
        Some(prefix) => format!("{prefix}{name}"),
        None => name,
    }
}

/// `target` as written from `base`, with `/` between the steps.
pub(crate) fn relative(base: &Path, target: &Path) -> Option<String> {
    let common = base
        .components()
        .zip(target.components())
        .take_while(|(one, other)| one == other)
        .count();
    let up = base.components().skip(common).map(|_| "..".to_owned());
    let down = target
        .components()
        .skip(common)
        .map(|step| step.as_os_str().to_string_lossy().into_owned());
    let steps: Vec<String> = up.chain(down).collect();
    (!steps.is_empty()).then(|| steps.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_written_from_the_folder_where_names_start() {
        let relative = |base, target| relative(Path::new(base), Path::new(target));
        assert_eq!(
            relative("/mod/machines", "/mod/machines/sounds/pump.ogg").as_deref(),
            Some("sounds/pump.ogg")
        );
        assert_eq!(
            relative("/mod/machines", "/mod/sounds/pump.ogg").as_deref(),
            Some("../sounds/pump.ogg")
        );
        assert_eq!(relative("/mod", "/mod"), None);
    }
}
