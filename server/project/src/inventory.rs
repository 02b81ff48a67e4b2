//! What is in a mod, and what of it anybody needs: looked for only where it is asked for, in a manifest.

mod media;
mod mentions;

use crate::scene_file;
use crate::view::Fitting;
use crate::{
    baseline::is_baseline,
    config::Limits,
    disk::DEEPEST,
    files::Files,
    folder::{MOST_DOCUMENTS, candidates},
    settings::Settings,
};
use dialect::Dialect;
use machine::in_parallel;
use media::Media;
use mentions::Mentions;
use std::{
    collections::{HashMap, HashSet},
    path::{Path, PathBuf},
    sync::Arc,
};
use syntax::TextRange;

/// How much of a file is read to see what kind of document it is.
const HEAD: u64 = 16 << 10;
/// How much of a picture or a recording is read to see what it is.
const MEDIA_HEAD: u64 = 64 << 10;
/// How much of a file is searched for names of others.
const MOST_SEARCHED: u64 = 16 << 20;
/// If a mod has more to search, nothing is called unused.
const MOST_SEARCHED_IN_ALL: u64 = 256 << 20;
/// More leftovers are not listed.
const MOST_LEFTOVERS: usize = 1_000;
/// Wider or higher pictures are more than any screen shows of them. Pixels.
const LARGEST_SIDE: u32 = 4096;

/// Endings of files for people to read.
const FOR_PEOPLE: [&str; 5] = ["txt", "md", "pdf", "rtf", "html"];

/// What a mod holds. Files are named from the mod's folder, with `/` between the steps, and in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Inventory {
    /// The definitions that a dialect knows by name or root element, and that may drive a scene.
    pub machines: Vec<String>,
    /// What no other file of the mod names.
    pub unused: Vec<String>,
    /// What makes the mod large for no reason.
    pub heavy: Vec<Heavy>,
    /// What editors and systems left behind, with the reason: files, and folders with `/` at the end.
    pub leftovers: Vec<(String, &'static str)>,
    /// What the texts of controls say.
    pub texts: Vec<ControlText>,
    /// What was not looked at, in a sentence, if there is too much.
    pub left_out: Option<String>,
}

/// A file that could be smaller.
#[derive(Debug, Clone, PartialEq)]
pub struct Heavy {
    pub file: String,
    /// In bytes.
    pub size: u64,
    pub why: Weight,
}

/// What makes a file large.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Weight {
    /// A recording that is not compressed.
    PlainSound,
    /// A picture that is not compressed.
    PlainImage,
    /// A picture of so many pixels.
    LargeImage { width: u32, height: u32 },
    /// Meshes in a scene that no node of it has; in order.
    SpareMeshes(Vec<String>),
}

/// What the player reads at a control.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlText {
    /// The machine's definition.
    pub file: String,
    pub range: TextRange,
    pub text: String,
}

/// Looks through the mod's `files`. `root`: its folder.
pub(crate) fn of(root: &Path, files: &[String], disk: &Files, settings: &Settings) -> Inventory {
    let leftovers = disk.leftovers(root, DEEPEST, MOST_LEFTOVERS);
    let is_left = |file: &&String| {
        let mut left = leftovers.iter();
        left.any(|(left, _)| *file == left || (left.ends_with('/') && file.starts_with(left)))
    };
    let files: Vec<String> = files
        .iter()
        .filter(|file| !is_left(file))
        .cloned()
        .collect();
    let files = &files[..];
    let documents = documents(root, files, disk, settings);
    let of = |wanted: Part| -> Vec<String> {
        let found = documents.iter().filter(|(_, part)| *part == wanted);
        found.map(|(file, _)| file.clone()).collect()
    };
    let (manifests, machines) = (of(Part::Manifest), of(Part::Machine));
    let limits = settings.config.limits;
    let looked_at = in_parallel(files.len(), 16, |at| {
        look_at(disk, &root.join(&files[at]), limits)
    });
    let looked_at: Vec<_> = looked_at.collect();
    let mut inventory = Inventory {
        texts: texts(root, &machines, disk, settings),
        ..Inventory::default()
    };
    for (file, (media, size)) in files.iter().zip(&looked_at) {
        let why = weight(disk, &root.join(file), *media, *size, limits);
        inventory.heavy.extend(why.map(|why| Heavy {
            file: file.clone(),
            size: *size,
            why,
        }));
    }
    let searched: Vec<(&String, u64)> = files
        .iter()
        .zip(&looked_at)
        .filter(|(_, (media, _))| media.is_none())
        .map(|(file, (_, size))| (file, (*size).min(MOST_SEARCHED)))
        .collect();
    // What these are is not looked at, so they may be machines, and name others.
    let has_unread = candidates(files, settings).nth(MOST_DOCUMENTS).is_some();
    let in_all: u64 = searched.iter().map(|(_, size)| size).sum();
    inventory.left_out = left_out(has_unread, in_all);
    if inventory.left_out.is_none() {
        let searched: Vec<&String> = searched.into_iter().map(|(file, _)| file).collect();
        let mentions = mentions(root, files, &searched, disk, settings);
        let may_be_unused = |file: &&String| {
            !machines.contains(file)
                && !manifests.contains(file)
                && stands_by_itself(disk, &root.join(file), settings).is_none()
        };
        inventory.unused = files
            .iter()
            .filter(|file| !mentions.is_mentioned(file))
            .filter(may_be_unused)
            .cloned()
            .collect();
    }
    (inventory.machines, inventory.leftovers) = (machines, leftovers);
    inventory
}

/// What of a mod is not looked at since there is too much of it, in a sentence. `in_all`: bytes to be searched.
fn left_out(has_unread: bool, in_all: u64) -> Option<String> {
    match (has_unread, in_all > MOST_SEARCHED_IN_ALL) {
        (true, _) => Some(format!(
            "Only the first {MOST_DOCUMENTS} files of the mod that may be documents are looked at: machines among the others are not told to be missing here, and no file is called unused."
        )),
        (false, true) => Some(format!(
            "The mod has more than {} MB to be searched for names of files, so no file is called unused.",
            MOST_SEARCHED_IN_ALL >> 20
        )),
        (false, false) => None,
    }
}

/// Where the names of `files` stand in those that are `searched`.
fn mentions(
    root: &Path,
    files: &[String],
    searched: &[&String],
    disk: &Files,
    settings: &Settings,
) -> Mentions {
    let mut mentions = Mentions::of(files);
    let read = in_parallel(searched.len(), 4, |at| {
        let path = root.join(searched[at]);
        let bytes = disk.read(&path, MOST_SEARCHED);
        let found = mentions.search(&bytes.unwrap_or_default());
        match stands_by_itself(disk, &path, settings) {
            // In plain language any word may be the name of some file without its ending.
            Some(Apart::ForPeople) => found
                .into_iter()
                .filter(|word| word.contains('.'))
                .collect(),
            Some(Apart::Setting) => HashSet::new(),
            None => found,
        }
    });
    for (file, found) in searched.iter().zip(read) {
        mentions.add(file, found);
    }
    mentions
}

/// What a file is, if it holds a picture or a recording, and its size in bytes.
fn look_at(disk: &Files, path: &Path, limits: Limits) -> (Option<Media>, u64) {
    let size = disk.about(path).map_or(0, |about| about.size);
    let most = match size >= limits.heavy.bytes() {
        true => MEDIA_HEAD,
        false => media::ENOUGH,
    };
    let head = disk.read(path, most).unwrap_or_default();
    let name = path.to_string_lossy();
    (media::of(&head, &name), size)
}

fn weight(
    disk: &Files,
    path: &Path,
    media: Option<Media>,
    size: u64,
    limits: Limits,
) -> Option<Weight> {
    if size < limits.heavy.bytes() {
        return None;
    }
    match media {
        Some(Media::Sound { is_plain: true }) => Some(Weight::PlainSound),
        Some(Media::Image { is_plain: true, .. }) => Some(Weight::PlainImage),
        Some(Media::Image {
            pixels: Some((width, height)),
            ..
        }) if width.max(height) > LARGEST_SIDE => Some(Weight::LargeImage { width, height }),
        Some(_) => None,
        None if size <= limits.scene.bytes() => {
            let head = disk.read(path, media::ENOUGH).ok()?;
            if !scene::may_be_gltf(&head) {
                return None;
            }
            let about = disk.about(path).ok()?;
            let file = scene_file::skim(disk, path, about, limits.scene.bytes()).ok()?;
            let spare = scene::spare_meshes(file.bytes());
            (!spare.is_empty()).then_some(Weight::SpareMeshes(spare))
        }
        None => None,
    }
}

/// What nobody needs to name, besides documents.
enum Apart {
    /// Settings, dialects and baselines.
    Setting,
    ForPeople,
}

fn stands_by_itself(disk: &Files, path: &Path, settings: &Settings) -> Option<Apart> {
    let name = path.file_name().and_then(|name| name.to_str());
    let is_setting = |file: &PathBuf| file == path;
    if name == Some(crate::CONFIG_FILE_NAME)
        || settings.config.dialects.iter().any(is_setting)
        || settings
            .dialects
            .iter()
            .any(|dialect| dialect.origin.as_ref().is_some_and(is_setting))
        || settings.config.path.as_ref().is_some_and(is_setting)
        || is_baseline(disk, path)
    {
        return Some(Apart::Setting);
    }
    let ending = path.extension().and_then(|ending| ending.to_str());
    let is_for_people =
        ending.is_none_or(|ending| FOR_PEOPLE.contains(&ending.to_lowercase().as_str()));
    is_for_people.then_some(Apart::ForPeople)
}

/// What a document of a dialect is in a mod.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Manifest,
    Machine,
    /// A scene, or what machines bring in: others name it, if it is needed.
    Other,
}

fn documents(
    root: &Path,
    files: &[String],
    disk: &Files,
    settings: &Settings,
) -> Vec<(String, Part)> {
    // By dialect and kind: a mod may hold thousands of one, and to find that out takes time with the grammar.
    let mut are_machines: HashMap<(*const Dialect, String), bool> = HashMap::new();
    let mut part = |file: &String| {
        let text = head(disk, &root.join(file))?;
        let tree = syntax::parse(&text);
        let Fitting { dialect, kind, .. } = crate::view::fit(&tree, name_of(file), settings)?;
        if kind.is_manifest {
            return Some(Part::Manifest);
        }
        let key = (Arc::as_ptr(&dialect), kind.name.clone());
        let is_machine = are_machines
            .entry(key)
            .or_insert_with(|| dialect.may_be_machine(&kind));
        Some(match is_machine {
            true => Part::Machine,
            false => Part::Other,
        })
    };
    candidates(files, settings)
        .take(MOST_DOCUMENTS)
        .filter_map(|file| Some((file.clone(), part(file)?)))
        .collect()
}

/// The last step of a path.
fn name_of(file: &str) -> &str {
    file.rsplit('/').next().unwrap_or_default()
}

fn head(disk: &Files, path: &Path) -> Option<String> {
    let bytes = disk.read(path, HEAD).ok()?;
    // The cut may fall into a character; what comes before is all we need.
    match syntax::decode::bytes(&bytes) {
        Ok(text) => Some(text),
        Err(error) => syntax::decode::bytes(bytes.get(..error.offset)?).ok(),
    }
}

/// What the player reads at the controls of all machines, where the dialect knows of wordings.
fn texts(root: &Path, machines: &[String], disk: &Files, settings: &Settings) -> Vec<ControlText> {
    let has_wordings = |dialect: &Arc<Dialect>| !dialect.roles.wordings.is_empty();
    if !settings.dialects.iter().any(has_wordings) {
        return Vec::new();
    }
    let most = settings.config.limits.document.bytes();
    let read = in_parallel(machines.len(), 1, |at| {
        let file = &machines[at];
        let path = root.join(file);
        let is_readable = disk.about(&path).is_ok_and(|about| about.size <= most);
        let bytes = is_readable.then(|| disk.read(&path, most))?.ok()?;
        let tree = syntax::parse(&syntax::decode::bytes(&bytes).ok()?);
        let Fitting { dialect, kind, .. } = crate::view::fit(&tree, name_of(file), settings)?;
        let machine = machine::read(&tree, &dialect, &kind);
        let texts = machine
            .controls
            .into_iter()
            .filter_map(|control| control.text);
        let texts = texts.map(|text| ControlText {
            file: file.clone(),
            range: text.range,
            text: text.value.to_string(),
        });
        Some(texts.collect::<Vec<_>>())
    });
    read.into_iter().flatten().flatten().collect()
}
