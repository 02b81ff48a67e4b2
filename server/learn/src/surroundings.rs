//! What lies beside the documents of a library: files of all sorts, and the scenes among them.

use crate::corpus::{Corpus, Source};
use foldhash::HashMap;
use scene::Scene;

/// The files of a library.
#[derive(Debug, Default)]
pub struct Surroundings {
    /// From the path in lower case to the path as it is.
    files: HashMap<String, String>,
    scenes: HashMap<String, Scene>,
    /// In lower case, without dot.
    extensions: HashMap<String, u32>,
}

/// A file that a name leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Found<'s> {
    pub(crate) path: &'s str,
    /// Whether upper and lower case are as they should be.
    pub(crate) exact: bool,
}

impl Surroundings {
    /// `others`: files that are neither documents nor scenes.
    pub fn new<'o>(
        corpus: &Corpus,
        others: impl IntoIterator<Item = &'o Source>,
        scenes: impl IntoIterator<Item = (Source, Scene)>,
    ) -> Self {
        let mut all = Self::default();
        for source in others {
            all.add(path(source));
        }
        for document in &corpus.documents {
            all.add(path(&document.source));
        }
        for (source, scene) in scenes {
            let path = path(&source);
            all.add(path.clone());
            all.scenes.insert(path, scene);
        }
        all
    }

    fn add(&mut self, path: String) {
        if let Some(extension) = extension(&path) {
            *self.extensions.entry(extension).or_default() += 1;
        }
        self.files.insert(path.to_lowercase(), path);
    }

    /// The file with this name, seen from a folder. The name has `/` between its steps.
    pub(crate) fn find(&self, folder: &str, name: &str) -> Option<Found<'_>> {
        let mut steps: Vec<&str> = folder.split('/').collect();
        for step in name.split('/') {
            match step {
                "" | "." => {}
                ".." => {
                    steps.pop();
                }
                step => steps.push(step),
            }
        }
        let wanted = steps.join("/");
        let path = self.files.get(&wanted.to_lowercase())?;
        let exact = *path == wanted;
        Some(Found { path, exact })
    }

    pub(crate) fn scene(&self, path: &str) -> Option<&Scene> {
        self.scenes.get(path)
    }

    /// The scenes whose files lie in a folder and begin with a name.
    pub(crate) fn scene_like(&self, folder: &str, stem: &str) -> Option<&Scene> {
        let starts = |path: &str| {
            let rest = path
                .strip_prefix(folder)
                .and_then(|rest| rest.strip_prefix('/'));
            rest.and_then(|rest| rest.strip_prefix(stem))
                .is_some_and(|rest| rest.starts_with('.') && !rest.contains('/'))
        };
        self.scenes
            .iter()
            .find(|(path, _)| starts(path))
            .map(|(_, scene)| scene)
    }

    /// Whether some file has this extension.
    pub(crate) fn has_extension(&self, extension: &str) -> bool {
        self.extensions.contains_key(extension)
    }
}

/// A file's path with `/` between the steps; an archive counts as a folder.
pub(crate) fn path(source: &Source) -> String {
    let file = source.file.to_string_lossy().replace('\\', "/");
    match &source.member {
        Some(member) => format!("{file}/{member}"),
        None => file,
    }
}

/// The folder of a path, and the rest.
pub(crate) fn split(path: &str) -> (&str, &str) {
    path.rsplit_once('/').unwrap_or(("", path))
}

/// What comes after the last dot of a file's name, in lower case: a few letters or digits, not only digits.
pub(crate) fn extension(name: &str) -> Option<String> {
    let name = name.rsplit(['/', '\\']).next()?;
    let (stem, end) = name.rsplit_once('.')?;
    let fits = !stem.is_empty()
        && (1..=8).contains(&end.len())
        && end.bytes().all(|c| c.is_ascii_alphanumeric())
        && !end.bytes().all(|c| c.is_ascii_digit());
    fits.then(|| end.to_ascii_lowercase())
}
