//! What is not the same in a mod's folder and in the archive beside it.

use project::{Difference, How, Workspace};
use std::{fs, io::Write as _, path::Path};
use tempfile::TempDir;
use zip::write::{SimpleFileOptions, ZipWriter};

const MANIFEST: &str =
    "<mod xmlns=\"urn:trunnion:mod:1\" title=\"t\" version=\"1\" author=\"a\"></mod>";

fn pack(archive: &Path, members: &[(&str, &str)]) {
    let mut archive = ZipWriter::new(fs::File::create(archive).unwrap());
    for (name, text) in members {
        let options = SimpleFileOptions::default();
        archive.start_file(*name, options).unwrap();
        archive.write_all(text.as_bytes()).unwrap();
    }
    archive.finish().unwrap();
}

/// What is told at the manifest.
fn told(workspace: &Workspace, manifest: &Path) -> Option<Vec<(String, How)>> {
    let view = workspace.snapshot().view(manifest).unwrap();
    let told = view.folder.out_of_step.as_ref()?.iter();
    Some(
        told.map(|Difference { file, how }| (file.clone(), *how))
            .collect(),
    )
}

#[test]
fn it_is_looked_for_again_once_the_disk_has_changed() {
    let folder = TempDir::with_prefix("trunnion-").unwrap();
    let root = folder.path().join("quay");
    let archive = folder.path().join("quay.zip");
    fs::create_dir(&root).unwrap();
    let manifest = root.join("mod.xml");
    fs::write(&manifest, MANIFEST).unwrap();
    fs::write(root.join("notes.txt"), "old").unwrap();
    pack(&archive, &[("mod.xml", MANIFEST), ("notes.txt", "old")]);
    let mut workspace = Workspace::default();
    workspace.open(manifest.clone(), Some(1), MANIFEST.to_owned());
    assert_eq!(told(&workspace, &manifest), Some(Vec::new()));

    fs::write(root.join("more.txt"), "new").unwrap();
    workspace.disk_changed();
    let more = ("more.txt".to_owned(), How::OnlyInFolder);
    assert_eq!(told(&workspace, &manifest), Some(vec![more.clone()]));

    pack(
        &archive,
        &[
            ("mod.xml", MANIFEST),
            ("log.txt", "x"),
            ("notes.txt", "new"),
        ],
    );
    workspace.disk_changed();
    let log = ("log.txt".to_owned(), How::OnlyInArchive);
    let notes = ("notes.txt".to_owned(), How::OlderInFolder);
    assert_eq!(told(&workspace, &manifest), Some(vec![log, more, notes]));

    fs::write(&archive, "no archive").unwrap();
    workspace.disk_changed();
    assert_eq!(told(&workspace, &manifest), None);
}
