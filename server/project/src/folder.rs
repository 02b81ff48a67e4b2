//! The mod around a document.

use crate::{
    disk::Disk,
    files::{self, Files},
    settings::Settings,
};
use dialect::DocumentKind;
use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

/// So many files are opened to see whether a manifest leaves them out.
const MOST_HEADS: usize = 2_000;

/// How much of a file is read to see what kind of document it is.
const HEAD: u64 = 16 << 10;

/// The folder that makes up a mod, as far as it is known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ModFolder {
    pub root: PathBuf,
    /// The manifest, if the mod has one.
    pub manifest: Option<PathBuf>,
    /// All files below the root, relative, with `/` between the steps.
    pub files: Arc<Vec<String>>,
    /// The definitions below the root that a dialect knows by name or root
    /// element. Looked for only where they are asked for: in a manifest.
    pub machines: Vec<String>,
    /// An archive beside the folder that bears its name: the game may load
    /// that one and not the folder.
    pub shadowing_archive: Option<PathBuf>,
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
        let machines = if is_manifest {
            let dialects = settings
                .dialects
                .iter()
                .map(Arc::as_ptr)
                .map(<*const _>::addr);
            let found = disk.once(&root, dialects.collect(), || {
                machines(&root, &files, disk.files(), settings)
            });
            found.to_vec()
        } else {
            Vec::new()
        };
        Self {
            manifest,
            machines,
            shadowing_archive: shadowing_archive(&root, disk),
            files,
            root,
        }
    }
}

fn manifest_in(folder: &Path, disk: &Disk, settings: &Settings) -> Option<PathBuf> {
    let names = disk.folder(folder);
    names
        .iter()
        .find(|name| {
            settings.dialects.iter().any(|dialect| {
                dialect
                    .document_for(None, name)
                    .is_some_and(|kind| kind.is_manifest)
            })
        })
        .map(|name| folder.join(name))
        .filter(|path| disk.files().is_file(path))
}

fn shadowing_archive(root: &Path, disk: &Disk) -> Option<PathBuf> {
    let (above, name) = (root.parent()?, root.file_name()?.to_str()?);
    let archive = format!("{name}.zip").to_lowercase();
    let names = disk.folder(above);
    let found = names.iter().find(|known| known.to_lowercase() == archive)?;
    Some(above.join(found)).filter(|path| path.is_file())
}

/// Those of a mod's files that may be documents of a dialect, by their names; as many as are opened.
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
    files.iter().filter(may_be_one).take(MOST_HEADS)
}

fn machines(root: &Path, files: &[String], disk: &Files, settings: &Settings) -> Vec<String> {
    candidates(files, settings)
        .filter(|file| {
            head(disk, &root.join(file)).is_some_and(|text| {
                let tree = syntax::parse(&text);
                crate::view::fit(&tree, file, settings)
                    .is_some_and(|(_, kind): (_, DocumentKind)| !kind.is_manifest)
            })
        })
        .cloned()
        .collect()
}

fn head(disk: &Files, path: &Path) -> Option<String> {
    let bytes = disk.read(path, HEAD).ok()?;
    // The cut may fall into a character; what comes before is all we need.
    match syntax::decode::bytes(&bytes) {
        Ok(text) => Some(text),
        Err(error) => syntax::decode::bytes(bytes.get(..error.offset)?).ok(),
    }
}
