//! What is known of the files beside a definition. Reads folders and scenes
//! once and remembers them until told that the disk may have changed. Nothing
//! is ever written here.

use crate::below::below;
use crate::config::Limits;
use crate::files::{self, Entries, Entry, Files};
use crate::inventory::{self, Inventory};
use crate::once::ReadOnce;
use crate::scene_change::SceneChanges;
use crate::scene_file::{self, ReadScene, SceneFile};
use crate::settings::Settings;
use crate::step::{self, Difference};
use dashmap::DashMap;
use dialect::{Dialect, XmlSceneFormat};
use std::{
    collections::HashMap,
    path::{Component, Path, PathBuf},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::SystemTime,
};

/// Files of a mod beyond these bounds are not listed: a definition opened
/// from somebody's home folder must not make the server walk all of it.
pub(crate) const MOST_FILES: usize = 20_000;
pub(crate) const DEEPEST: usize = 12;

/// Scenes that nobody looks at any more are kept while all files together are
/// no larger than this. It is little, because a check of many folders never comes
/// back to one: what it keeps only drives what it works with out of the caches.
const SCENES_REMEMBERED: u64 = 2 << 20;

/// Whether a file reference leads anywhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FileState {
    Found(PathBuf),
    /// Opens only where upper and lower case are the same.
    CaseDiffers {
        actual: PathBuf,
        /// As it should be written.
        written: String,
    },
    Missing(PathBuf),
    /// In the game's own folder, which is not configured.
    InGame,
}

/// Size and age of a file, how many nodes are read of it, and the formats of scenes that the dialects describe.
type Stamp = (u64, Option<SystemTime>, usize, Vec<XmlSceneFormat>);

/// What an inventory depends on.
#[derive(Debug, PartialEq)]
struct InventoryKey {
    generation: u64,
    /// Where the dialects are in memory.
    dialects: Vec<usize>,
    limits: Limits,
}

type Folded = HashMap<String, (String, Entry)>;

/// None: it could not be compared.
type Compared = Option<Arc<Vec<Difference>>>;
/// What the choice of a manifest depends on: the generation, and where the dialects are in memory.
type ManifestKey = (u64, Vec<usize>);

/// The cache. All methods may be called from any thread.
#[derive(Debug, Default)]
pub struct Disk {
    files: Files,
    generation: AtomicU64,
    folders: DashMap<PathBuf, (u64, Arc<Entries>)>,
    /// Of folders in which a name was not found as it is written.
    folded: DashMap<PathBuf, (u64, Arc<Folded>)>,
    listings: DashMap<PathBuf, (u64, Arc<Vec<String>>)>,
    inventories: DashMap<PathBuf, (InventoryKey, Arc<Inventory>)>,
    differences: DashMap<PathBuf, (u64, Compared)>,
    manifests: DashMap<PathBuf, (ManifestKey, Option<String>)>,
    /// The slot is filled by the first who asks; others wait for it.
    scenes: ReadOnce<Stamp, ReadScene>,
    scene_changes: SceneChanges,
}

impl Disk {
    /// The files themselves, as they are now.
    pub fn files(&self) -> &Files {
        &self.files
    }

    /// Says that files may have come, gone or changed.
    pub fn changed(&self) {
        self.generation.fetch_add(1, Ordering::Relaxed);
    }

    /// A number that changes whenever files may have changed.
    pub(crate) fn generation(&self) -> u64 {
        self.generation.load(Ordering::Relaxed)
    }

    /// The entries of a folder; none if it cannot be read.
    pub fn folder(&self, path: &Path) -> Arc<Entries> {
        let now = self.generation.load(Ordering::Relaxed);
        if let Some(known) = self.folders.get(path).filter(|known| known.0 == now) {
            return known.1.clone();
        }
        let entries = Arc::new(self.files.entries(path));
        self.folders
            .insert(path.to_path_buf(), (now, Arc::clone(&entries)));
        entries
    }

    /// The same by their names in small letters, with the names as they are; of several the first.
    fn folded(&self, path: &Path) -> Arc<Folded> {
        let now = self.generation();
        if let Some(known) = self.folded.get(path).filter(|known| known.0 == now) {
            return known.1.clone();
        }
        let entries = self.folder(path);
        let backwards = entries.iter().rev();
        let folded = backwards.map(|(name, entry)| (name.to_lowercase(), (name.clone(), *entry)));
        let folded: Arc<Folded> = Arc::new(folded.collect());
        self.folded
            .insert(path.to_path_buf(), (now, Arc::clone(&folded)));
        folded
    }

    /// All files below a folder, relative to it, with `/` between the steps,
    /// sorted. Links are not followed; see the bounds above.
    pub fn files_below(&self, root: &Path) -> Arc<Vec<String>> {
        let now = self.generation.load(Ordering::Relaxed);
        if let Some(known) = self.listings.get(root).filter(|known| known.0 == now) {
            return known.1.clone();
        }
        let files = Arc::new(match files::inside(root) {
            Some(_) => self.files.below(root, DEEPEST, MOST_FILES),
            // Most of these folders are asked for by themselves, too.
            None => below(root, DEEPEST, MOST_FILES, |folder| self.folder(folder)),
        });
        self.listings
            .insert(root.to_path_buf(), (now, Arc::clone(&files)));
        files
    }

    /// The first entry of a folder that has the name of a dialect's manifest, if it is a file. Remembered like the
    /// entries, because it is asked for again for each of a thousand documents below the folder.
    pub(crate) fn manifest(&self, folder: &Path, dialects: &[Arc<Dialect>]) -> Option<String> {
        let addresses = dialects.iter().map(|dialect| Arc::as_ptr(dialect).addr());
        let key = (self.generation(), addresses.collect());
        if let Some(known) = self.manifests.get(folder).filter(|known| known.0 == key) {
            return known.1.clone();
        }
        let is_manifest = |name: &str| {
            dialects.iter().any(|dialect| {
                // Folders around a mod may hold thousands of files that are none.
                let mut manifests = dialect.documents.iter().filter(|kind| kind.is_manifest);
                let may_be_one = manifests.any(|kind| kind.fit(None, name).is_some());
                let kind = may_be_one.then(|| dialect.document_for(None, name));
                kind.flatten().is_some_and(|kind| kind.is_manifest)
            })
        };
        let entries = self.folder(folder);
        let found = entries.iter().find(|(name, _)| is_manifest(name));
        let found = found.filter(|(name, entry)| self.is_file(**entry, || folder.join(name)));
        let found = found.map(|(name, _)| name.clone());
        self.manifests
            .insert(folder.to_path_buf(), (key, found.clone()));
        found
    }

    /// What is in a mod, remembered like its files.
    pub(crate) fn inventory(
        &self,
        root: &Path,
        files: &[String],
        settings: &Settings,
    ) -> Arc<Inventory> {
        let dialects = settings.dialects.iter().map(Arc::as_ptr);
        let key = InventoryKey {
            generation: self.generation(),
            dialects: dialects.map(<*const _>::addr).collect(),
            limits: settings.config.limits,
        };
        if let Some(known) = self.inventories.get(root).filter(|known| known.0 == key) {
            return known.1.clone();
        }
        let inventory = Arc::new(inventory::of(root, files, &self.files, settings));
        self.inventories
            .insert(root.to_path_buf(), (key, Arc::clone(&inventory)));
        inventory
    }

    /// What is not the same in a mod's folder and its archive, remembered like its files.
    pub(crate) fn differences(
        &self,
        root: &Path,
        files: &[String],
        archive: &Path,
        settings: &Settings,
    ) -> Compared {
        let now = self.generation();
        if let Some(known) = self.differences.get(root).filter(|known| known.0 == now) {
            return known.1.clone();
        }
        let found = step::differences(root, files, archive, &self.files, settings).map(Arc::new);
        self.differences
            .insert(root.to_path_buf(), (now, found.clone()));
        found
    }

    /// Follows a relative file name from a folder, step by step, and says
    /// where upper and lower case differ.
    pub fn find(&self, base: &Path, written: &str) -> FileState {
        let mut actual = base.to_path_buf();
        let root = files::inside(base).map(|inside| inside.root);
        let mut spelled: Vec<String> = Vec::new();
        let mut differs = false;
        let mut last = Entry::Other;
        for step in Path::new(written).components() {
            match step {
                Component::CurDir => {}
                // What is in an archive does not lead out of it.
                Component::ParentDir if root.as_deref() == Some(&actual) => {
                    return FileState::Missing(base.join(written));
                }
                Component::ParentDir => {
                    actual.pop();
                    spelled.push("..".to_string());
                    last = Entry::Other;
                }
                Component::Normal(name) => {
                    let found = name.to_str().and_then(|name| self.entry(&actual, name));
                    let Some((found, entry)) = found else {
                        return FileState::Missing(base.join(written));
                    };
                    differs |= found.as_str() != name;
                    actual.push(&found);
                    spelled.push(found);
                    last = entry;
                }
                Component::RootDir | Component::Prefix(_) => {
                    return FileState::Missing(PathBuf::from(written));
                }
            }
        }
        if !self.is_file(last, || actual.clone()) {
            FileState::Missing(actual)
        } else if differs {
            FileState::CaseDiffers {
                actual,
                written: spelled.join("/"),
            }
        } else {
            FileState::Found(actual)
        }
    }

    /// An entry of a folder, with its name as it is there; one that differs from `name` only in upper and lower case if
    /// there is no other.
    fn entry(&self, folder: &Path, name: &str) -> Option<(String, Entry)> {
        match self.folder(folder).get(name) {
            Some(entry) => Some((name.to_string(), *entry)),
            None => self.folded(folder).get(&name.to_lowercase()).cloned(),
        }
    }

    /// Whether an entry of a folder is a file, or a link that leads to one.
    fn is_file(&self, entry: Entry, path: impl FnOnce() -> PathBuf) -> bool {
        match entry {
            Entry::File => true,
            Entry::Folder => false,
            Entry::Other => self.files.is_file(&path()),
        }
    }

    /// The scene in a file.
    ///
    /// # Errors
    /// Sentences that say what could not be read, where and why.
    pub fn scene(&self, path: &Path, dialects: &[Arc<Dialect>], limits: Limits) -> ReadScene {
        let about = self.files.about(path);
        let about = about.map_err(|error| format!("It cannot be opened: {error}."))?;
        if about.size > limits.scene.bytes() {
            return Err(limits.scene.passed_by(about.size));
        }
        let formats = dialects.iter().filter_map(|it| it.scene_format.clone());
        let stamp = (about.size, about.modified, limits.nodes, formats.collect());
        if !self.scenes.knows(path, &stamp) {
            self.forget_scenes(SCENES_REMEMBERED);
        }
        self.scenes.get(path, stamp, || {
            scene_file::read(&self.files, path, about, dialects, limits)
        })
    }

    pub(crate) fn scene_changes(&self) -> &SceneChanges {
        &self.scene_changes
    }

    /// Lets go of scenes that nobody looks at, if all files together have more
    /// than `most` bytes.
    fn forget_scenes(&self, most: u64) {
        let size: u64 = self.scenes.states().map(|(size, ..)| size).sum();
        if size > most {
            let is_looked_at = |file: &Arc<SceneFile>| Arc::strong_count(file) > 1;
            self.scenes
                .retain(|scene| scene.as_ref().is_ok_and(is_looked_at));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crane() -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/ternholt/machines/bram-6.gltf")
    }

    #[test]
    fn what_is_in_an_archive_leads_out_of_no_archive() {
        let folder = crate::fixture::folder();
        std::fs::write(folder.path().join("a.ogg"), "").unwrap();
        let zip = folder.path().join("quay.zip");
        crate::fixture::archive(&zip, &[("b.ogg", b""), ("rigs/a.xml", b"")]);
        let root = crate::files::content_of(&zip);
        let disk = Disk::default();
        let is_found =
            |written| matches!(disk.find(&root.join("rigs"), written), FileState::Found(_));
        assert!(is_found("../b.ogg"));
        assert!(!is_found("../../a.ogg"));
    }

    #[test]
    fn of_names_in_other_cases_the_first_is_meant_as_the_folder_is_now() {
        let folder = crate::fixture::folder();
        let disk = Disk::default();
        let found = |written: &str| match disk.find(folder.path(), written) {
            FileState::CaseDiffers { written, .. } => written,
            FileState::Found(_) => "found".to_owned(),
            other => format!("{other:?}"),
        };
        let make = |name: &str| std::fs::write(folder.path().join(name), "").unwrap();
        ["Ä.ogg", "PUMP.ogg", "Pump.ogg", "pumP.ogg"]
            .iter()
            .for_each(|name| make(name));
        assert_eq!(found("pump.OGG"), "PUMP.ogg");
        assert_eq!(found("ä.ogg"), "Ä.ogg");
        assert_eq!(found("Pump.ogg"), "found");
        assert!(found("hum.ogg").starts_with("Missing"));
        make("Hum.ogg");
        assert!(found("hum.ogg").starts_with("Missing"), "not told yet");
        disk.changed();
        assert_eq!(found("hum.ogg"), "Hum.ogg");
    }

    #[test]
    fn the_files_below_a_folder_are_listed_anew_once_the_disk_has_changed() {
        let folder = crate::fixture::folder();
        let disk = Disk::default();
        let make = |name: &str| std::fs::write(folder.path().join(name), "").unwrap();
        let there = || disk.files_below(folder.path()).to_vec();
        make("a.ogg");
        assert_eq!(there(), ["a.ogg"]);
        make("b.ogg");
        assert_eq!(there(), ["a.ogg"], "not told yet");
        disk.changed();
        assert_eq!(there(), ["a.ogg", "b.ogg"]);
    }

    #[test]
    fn all_who_ask_at_once_get_the_same_scene() {
        let disk = Disk::default();
        let found: Vec<_> = std::thread::scope(|scope| {
            let ask = || disk.scene(&crane(), &[], Limits::default()).unwrap();
            let asking: Vec<_> = (0..8).map(|_| scope.spawn(ask)).collect();
            asking.into_iter().map(|one| one.join().unwrap()).collect()
        });
        assert!(found.iter().all(|file| Arc::ptr_eq(file, &found[0])));
    }

    #[test]
    fn a_scene_is_read_anew_where_its_format_is_another() {
        let yard = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/dialects/yard");
        let text = std::fs::read_to_string(yard.join("yard.dialect.toml")).unwrap();
        let dialect = |text: &str| [Arc::new(Dialect::read(text, None).unwrap())];
        let disk = Disk::default();
        let limbs = yard.join("rigs/dorrik-9.limbs.xml");
        let read = |text: &str| {
            disk.scene(&limbs, &dialect(text), Limits::default())
                .unwrap()
        };
        let before = read(&text);
        let flat = read(&text.replace("children = \"grows\"", "children = \"nothing\""));
        assert!(before.scene.nodes.len() > 1 && flat.scene.nodes.len() == 1);
        // What does not change how scenes are written does not matter.
        let again = read(&text);
        assert!(Arc::ptr_eq(&again, &read(&format!("{text}\n# The end."))));
    }

    #[test]
    fn only_scenes_that_nobody_looks_at_are_forgotten() {
        let disk = Disk::default();
        let file = disk.scene(&crane(), &[], Limits::default()).unwrap();
        disk.forget_scenes(0);
        assert!(Arc::ptr_eq(
            &file,
            &disk.scene(&crane(), &[], Limits::default()).unwrap()
        ));
        drop(file);
        disk.forget_scenes(u64::MAX);
        assert_eq!(disk.scenes.states().count(), 1);
        disk.forget_scenes(0);
        assert_eq!(disk.scenes.states().count(), 0);
    }
}
