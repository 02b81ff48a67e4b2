//! The mod around a document.

use crate::{Difference, disk::Disk, files, inventory::Inventory, settings::Settings};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

/// So many files of a mod are opened as documents.
pub(crate) const MOST_DOCUMENTS: usize = 2_000;

/// The folder that makes up a mod, as far as it is known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ModFolder {
    pub root: PathBuf,
    /// The manifest, if the mod has one.
    pub manifest: Option<PathBuf>,
    /// All files below the root, relative, with `/` between the steps.
    pub files: Arc<Vec<String>>,
    /// What is in the mod, and what of it anybody needs. Looked for only where it is asked for: in a manifest.
    pub inventory: Arc<Inventory>,
    /// An archive beside the folder that bears its name: the game may load
    /// that one and not the folder.
    pub shadowing_archive: Option<PathBuf>,
    /// What is not the same in that archive. None: it is not known. Looked for in a manifest only.
    pub out_of_step: Option<Arc<Vec<Difference>>>,
}

impl ModFolder {
    /// Finds the mod that a document belongs to: the nearest folder, its own
    /// or above, that holds a manifest; else the nearest with settings; else
    /// its own folder.
    pub(crate) fn around(
        document: &Path,
        is_manifest: bool,
        disk: &Disk,
        settings: &Settings,
    ) -> Self {
        let own = document.parent().unwrap_or(Path::new("")).to_path_buf();
        let in_archive = files::inside(document).map(|inside| inside.root);
        let with_manifest = own
            .ancestors()
            // What is in an archive is a mod of its own.
            .take_while(|folder| {
                !folder.as_os_str().is_empty()
                    && in_archive
                        .as_ref()
                        .is_none_or(|root| folder.starts_with(root))
            })
            .find_map(|folder| Some((folder.to_path_buf(), manifest_in(folder, disk, settings)?)));
        let (root, manifest) = match with_manifest {
            _ if is_manifest => (own, Some(document.to_path_buf())),
            Some((root, manifest)) => (root, Some(manifest)),
            None => {
                let configured = settings.config.path.as_deref().and_then(Path::parent);
                let configured = configured.map(Path::to_path_buf);
                (in_archive.or(configured).unwrap_or(own), None)
            }
        };
        let files = disk.files_below(&root);
        let inventory = match is_manifest {
            true => disk.inventory(&root, &files, settings),
            false => Arc::default(),
        };
        let shadowing_archive = shadowing_archive(&root, disk);
        let out_of_step = match &shadowing_archive {
            Some(archive) if is_manifest => disk.differences(&root, &files, archive, settings),
            _ => None,
        };
        Self {
            manifest,
            inventory,
            shadowing_archive,
            out_of_step,
            files,
            root,
        }
    }
}

fn manifest_in(folder: &Path, disk: &Disk, settings: &Settings) -> Option<PathBuf> {
    Some(folder.join(disk.manifest(folder, &settings.dialects)?))
}

fn shadowing_archive(root: &Path, disk: &Disk) -> Option<PathBuf> {
    let (above, name) = (root.parent()?, root.file_name()?.to_str()?);
    let archive = format!("{name}.zip").to_lowercase();
    let names = disk.folder(above);
    // Few names have the ending, so few are written in small letters.
    let is_zip = |known: &&String| {
        let ending = known.len().checked_sub(4).and_then(|at| known.get(at..));
        ending.is_some_and(|ending| ending.eq_ignore_ascii_case(".zip"))
    };
    let mut archives = names.keys().filter(is_zip);
    let found = archives.find(|known| known.to_lowercase() == archive)?;
    Some(above.join(found)).filter(|path| path.is_file())
}

/// Those of a mod's files that may be documents of a dialect, by their names.
pub(crate) fn candidates<'f>(
    files: &'f [String],
    settings: &Settings,
) -> impl Iterator<Item = &'f String> {
    let may_be_one = |file: &&String| {
        file.to_lowercase().ends_with(".xml")
            || settings
                .dialects
                .iter()
                .any(|dialect| dialect.document_for(None, file).is_some())
    };
    files.iter().filter(may_be_one)
}
