//! What the tests lay out on the disk.

use std::fs::File;
use std::io::Write as _;
use std::path::Path;

use tempfile::TempDir;
use zip::write::{SimpleFileOptions, ZipWriter};

/// An empty folder of a test's own, gone when dropped.
pub(crate) fn folder() -> TempDir {
    TempDir::with_prefix("trunnion-").expect("a folder can be made")
}

/// An archive of these names and contents.
pub(crate) fn archive(path: &Path, members: &[(&str, &[u8])]) {
    let file = File::create(path).expect("a file can be made");
    let mut archive = ZipWriter::new(file);
    for (name, content) in members {
        archive
            .start_file(*name, SimpleFileOptions::default())
            .expect("a member can be made");
        archive.write_all(content).expect("it can be filled");
    }
    archive.finish().expect("the archive can be closed");
}
