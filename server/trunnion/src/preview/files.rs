//! The files that a page may have: the machine's scene, and the buffers that this names beside itself.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use project::Files;
use serde::Deserialize;
use url::Url;

use super::{Subject, facts};

/// The scene's file as it is.
pub(super) fn scene(subject: &dyn Subject) -> Option<Vec<u8>> {
    let view = subject.view().ok()?;
    let largest = view.settings.config.limits.scene.bytes();
    read(&facts::loaded(&view)?.path, largest)
}

/// The file of one of the buffers that the scene lists. None for one that lies elsewhere than in the scene's folder
/// or below.
pub(super) fn buffer(subject: &dyn Subject, place: usize) -> Option<Vec<u8>> {
    let view = subject.view().ok()?;
    let largest = view.settings.config.limits.scene.bytes();
    let scene = &facts::loaded(&view)?.path;
    let name = buffer_names(&read(scene, largest)?)?
        .into_iter()
        .nth(place)??;
    read(&beside(scene, &name)?, largest)
}

/// Size and age of a file; None if it is not there.
pub(crate) type Stamp = Option<(u64, Option<SystemTime>)>;

pub(crate) fn stamp(file: &Path) -> Stamp {
    let about = Files::default().about(file).ok()?;
    Some((about.size, about.modified))
}

type Listed = (Stamp, Arc<[PathBuf]>);

/// The files that scenes refer to, looked up once for each state of a scene.
#[derive(Debug, Default)]
pub(crate) struct Referred {
    /// By scene, with the state in which it was read.
    known: Mutex<HashMap<PathBuf, Listed>>,
}

impl Referred {
    /// The buffers and images that a scene names in its folder or below, there or not. What is in an archive changes
    /// with the archive only, so none are told of a scene there.
    pub(crate) fn by(&self, scene: &Path, largest: u64) -> Arc<[PathBuf]> {
        if project::inside(scene).is_some() {
            return Arc::default();
        }
        let now = stamp(scene);
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        match known.get(scene) {
            Some((then, files)) if *then == now => Arc::clone(files),
            _ => {
                let files: Arc<[PathBuf]> = referred(scene, largest).unwrap_or_default().into();
                known.insert(scene.to_path_buf(), (now, Arc::clone(&files)));
                files
            }
        }
    }
}

fn referred(scene: &Path, largest: u64) -> Option<Vec<PathBuf>> {
    let folder = scene.parent()?;
    let listing = listing(&read(scene, largest)?)?;
    let names = listing.buffers.into_iter().chain(listing.images);
    let names = names.filter_map(|it| it.uri);
    let paths = names.filter_map(|name| leads_to(scene, &name));
    Some(paths.filter(|path| path.starts_with(folder)).collect())
}

/// What a glTF file lists with names of files.
#[derive(Deserialize)]
struct Listing {
    #[serde(default)]
    buffers: Vec<Named>,
    #[serde(default)]
    images: Vec<Named>,
}

#[derive(Deserialize)]
struct Named {
    uri: Option<String>,
}

fn listing(scene: &[u8]) -> Option<Listing> {
    serde_json::from_slice(json_of(scene)?).ok()
}

/// The buffers' URIs as they are written.
fn buffer_names(scene: &[u8]) -> Option<Vec<Option<String>>> {
    let buffers = listing(scene)?.buffers;
    Some(buffers.into_iter().map(|it| it.uri).collect())
}

/// The JSON of a glTF or GLB file (glTF 2.0, section 4.4: after a header of 12 bytes, a chunk's length, kind and data).
fn json_of(scene: &[u8]) -> Option<&[u8]> {
    if !scene.starts_with(b"glTF") {
        return Some(scene.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(scene));
    }
    let length = u32::from_le_bytes(*scene.get(12..)?.first_chunk()?);
    scene.get(20..20_usize.checked_add(length as usize)?)
}

/// Where a relative URI of the scene leads, if that is a file in its folder or below, links followed.
fn beside(scene: &Path, name: &str) -> Option<PathBuf> {
    let path = leads_to(scene, name)?;
    let folder = scene.parent()?;
    if project::inside(scene).is_some() {
        // There are no links in archives, and the URL has no `..` left.
        return path.starts_with(folder).then_some(path);
    }
    let path = path.canonicalize().ok()?;
    path.starts_with(folder.canonicalize().ok()?)
        .then_some(path)
}

/// Where a URI of the scene leads, wherever that is.
fn leads_to(scene: &Path, name: &str) -> Option<PathBuf> {
    let path = Url::from_file_path(scene).ok()?.join(name).ok()?;
    path.to_file_path().ok()
}

fn read(path: &Path, largest: u64) -> Option<Vec<u8>> {
    let files = Files::default();
    // Devices and pipes can be read without an end.
    if !files.is_file(path) {
        return None;
    }
    let read = files.read(path, largest + 1).ok()?;
    (read.len() as u64 <= largest).then_some(read)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use tempfile::TempDir;

    #[test]
    fn buffers_are_taken_from_the_scene_s_folder_and_from_nowhere_else() {
        let folder = TempDir::with_prefix("trunnion-").unwrap();
        let folder = folder.path();
        let scene = folder.join("machines/a.gltf");
        fs::create_dir_all(folder.join("machines/data")).unwrap();
        for file in [
            "machines/a.gltf",
            "machines/data/two words.bin",
            "secret.bin",
        ] {
            fs::write(folder.join(file), "").unwrap();
        }
        assert!(beside(&scene, "data/two%20words.bin").is_some());
        let outside = folder.join("secret.bin");
        let outside = outside.to_str().unwrap();
        for name in [
            "../secret.bin",
            "%2e%2e/secret.bin",
            "data/../../secret.bin",
            outside,
            &format!("file://{outside}"),
            "http://127.0.0.1/secret.bin",
            "data:,secret",
            "missing.bin",
        ] {
            assert_eq!(beside(&scene, name), None, "{name}");
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(outside, folder.join("machines/link.bin")).unwrap();
            assert_eq!(beside(&scene, "link.bin"), None);
        }
    }

    #[test]
    fn files_that_a_scene_refers_to_are_told_there_or_not_and_looked_up_again_when_it_changes() {
        let folder = TempDir::with_prefix("trunnion-").unwrap();
        let folder = folder.path();
        let scene = folder.join("a.gltf");
        let referred = Referred::default();
        let named = |text: &str| {
            fs::write(&scene, text).unwrap();
            let files = referred.by(&scene, 1000);
            let inside = files.iter().map(|file| file.strip_prefix(folder).unwrap());
            inside.map(Path::to_path_buf).collect::<Vec<_>>()
        };
        let text = r#"{"buffers":[{"uri":"a%20b.bin"},{"uri":"data:,x"},{"uri":"../c.bin"},{}],"images":[{"uri":"d.png"}]}"#;
        assert_eq!(named(text), ["a b.bin", "d.png"].map(PathBuf::from));
        assert_eq!(
            named(r#"{"buffers":[{"uri":"e.bin"}]}"#),
            ["e.bin"].map(PathBuf::from)
        );
        assert_eq!(named("<limbs/>"), [""; 0].map(PathBuf::from));
    }

    #[test]
    fn names_are_read_from_text_and_from_the_container() {
        let json = br#"{"buffers": [{"uri": "a.bin"}, {"byteLength": 4}]}"#;
        let names = Some(vec![Some("a.bin".to_owned()), None]);
        assert_eq!(buffer_names(json), names);
        let mut binary = b"glTF\x02\0\0\0\0\0\0\0".to_vec();
        binary.extend((json.len() as u32).to_le_bytes());
        binary.extend(b"JSON");
        binary.extend(json);
        assert_eq!(buffer_names(&binary), names);
        assert_eq!(buffer_names(&binary[..30]), None);
        assert_eq!(buffer_names(b"<scene/>"), None);
    }
}
