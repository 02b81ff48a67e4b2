//! What editors, systems and other programs leave behind in folders, and what is no part of a mod therefore.

use std::path::Path;

/// Why a file or folder is no part of a mod, by its name alone. `step`: its name without the path. What lies in a
/// leftover folder is a leftover too. A sentence; None: nothing speaks against it.
pub fn leftover(step: &str, is_folder: bool) -> Option<&'static str> {
    let name = step.to_lowercase();
    let (whole, parts) = match is_folder {
        true => (FOLDERS, FOLDERS_LIKE),
        false => (FILES, FILES_LIKE),
    };
    let listed = whole.iter().find(|(known, _)| *known == name);
    let alike = parts.iter().find(|(start, end, _)| {
        name.len() > start.len() + end.len() && name.starts_with(start) && name.ends_with(end)
    });
    listed
        .map(|(_, why)| *why)
        .or_else(|| alike.map(|(_, _, why)| *why))
        .or_else(|| name.starts_with('.').then_some(HIDDEN))
}

/// Whether a file lies in a folder that a system, an editor or a version control keeps for itself, out of sight.
pub fn is_kept_apart(path: &Path) -> bool {
    let steps = path.iter().filter_map(|step| step.to_str());
    let mut hidden = steps.filter(|step| step.starts_with('.'));
    hidden.any(|step| FOLDERS.iter().any(|(known, _)| *known == step))
}

const SYSTEM: &str = "A system's own notes about the folder.";
const SYSTEM_FOLDER: &str = "A system's own folder.";
const VERSIONS: &str = "A version control's own.";
const EDITOR: &str = "An editor's own notes.";
const OLD: &str = "A program's copy of an earlier state.";
const UNSAVED: &str = "An editor's copy of what was not saved.";
const UNFINISHED: &str = "A program's unfinished file.";
const SHORTCUT: &str = "A shortcut to something on one computer.";
const HIDDEN: &str = "Hidden, as its name begins with a dot.";

/// In lower case.
const FOLDERS: &[(&str, &str)] = &[
    ("__macosx", SYSTEM_FOLDER),
    (".appledouble", SYSTEM_FOLDER),
    (".documentrevisions-v100", SYSTEM_FOLDER),
    (".fseventsd", SYSTEM_FOLDER),
    (".spotlight-v100", SYSTEM_FOLDER),
    (".temporaryitems", SYSTEM_FOLDER),
    (".trashes", SYSTEM_FOLDER),
    ("$recycle.bin", SYSTEM_FOLDER),
    ("system volume information", SYSTEM_FOLDER),
    ("lost+found", SYSTEM_FOLDER),
    (".git", VERSIONS),
    (".hg", VERSIONS),
    (".svn", VERSIONS),
    (".bzr", VERSIONS),
    ("cvs", VERSIONS),
    (".idea", EDITOR),
    (".vscode", EDITOR),
    (".vs", EDITOR),
];

/// Beginning and end, in lower case.
const FOLDERS_LIKE: &[(&str, &str, &str)] = &[
    (".trash-", "", SYSTEM_FOLDER),
    (".trunnion-", ".tmp", UNFINISHED),
];

const FILES: &[(&str, &str)] = &[
    (".ds_store", SYSTEM),
    (".localized", SYSTEM),
    (".volumeicon.icns", SYSTEM),
    ("icon\r", SYSTEM),
    (".directory", SYSTEM),
    ("desktop.ini", SYSTEM),
    ("thumbs.db", SYSTEM),
    ("ehthumbs.db", SYSTEM),
    ("ehthumbs_vista.db", SYSTEM),
    (".gitignore", VERSIONS),
    (".gitattributes", VERSIONS),
    (".gitmodules", VERSIONS),
    (".hgignore", VERSIONS),
    (".editorconfig", EDITOR),
];

const FILES_LIKE: &[(&str, &str, &str)] = &[
    ("._", "", SYSTEM),
    (".nfs", "", SYSTEM),
    (".fuse_hidden", "", SYSTEM),
    (".#", "", EDITOR),
    (".~lock.", "#", EDITOR),
    ("~$", "", EDITOR),
    ("#", "#", UNSAVED),
    ("", ".swp", UNSAVED),
    ("", ".swo", UNSAVED),
    ("", ".swn", UNSAVED),
    ("", ".kate-swp", UNSAVED),
    ("", ".autosave", UNSAVED),
    ("", "~", OLD),
    ("", ".bak", OLD),
    ("", ".orig", OLD),
    ("", ".old", OLD),
    ("", ".blend1", OLD),
    ("", ".blend2", OLD),
    ("", ".rej", UNFINISHED),
    ("", ".tmp", UNFINISHED),
    ("", ".temp", UNFINISHED),
    ("", ".part", UNFINISHED),
    ("", ".crdownload", UNFINISHED),
    ("", ".lnk", SHORTCUT),
    ("", ".url", SHORTCUT),
    ("", ".webloc", SHORTCUT),
];

#[cfg(test)]
mod tests {
    use super::{is_kept_apart, leftover};
    use std::path::Path;

    #[test]
    fn what_tools_keep_is_known_by_its_folders() {
        let is_apart = |path: &str| is_kept_apart(Path::new(path));
        assert!(is_apart("/quay/.git/refs/heads/main"));
        assert!(is_apart("/quay/.svn"));
        // Somebody's mods may lie in a hidden folder, or in one that is called like a tool.
        assert!(!is_apart("/home/x/.games/mods/quay/mod.xml"));
        assert!(!is_apart("/home/x/cvs/quay/mod.xml"));
        assert!(!is_apart("/quay/.gitignore"));
    }

    #[test]
    fn leftovers_are_known_by_their_names() {
        for (name, is_folder) in [
            (".DS_Store", false),
            ("._bram-6.machine.xml", false),
            ("__MACOSX", true),
            (".git", true),
            ("Thumbs.db", false),
            ("mod.xml~", false),
            ("mod.xml.~12~", false),
            ("#mod.xml#", false),
            (".#mod.xml", false),
            (".mod.xml.swp", false),
            ("crane.BAK", false),
            (".trunnion-41-0.tmp", false),
            (".trunnion-41-0.tmp", true),
            (".anything", false),
        ] {
            assert!(leftover(name, is_folder).is_some(), "{name}");
        }
    }

    #[test]
    fn a_mods_own_files_are_none() {
        for (name, is_folder) in [
            ("mod.xml", false),
            ("bram-6.machine.xml", false),
            ("old", true),
            ("parts", true),
            ("cvs", false),
            ("~", false),
            ("##", false),
            ("tmp", true),
            ("bold.ogg", false),
            ("größe.png", false),
        ] {
            assert_eq!(leftover(name, is_folder), None, "{name}");
        }
    }
}
