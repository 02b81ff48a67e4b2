//! Which settings and dialects apply to a document.

use crate::config::{self, Config, Reading, SettingsProblem};
use crate::files::{self, Files};
use crate::once::ReadOnce;
use dashmap::DashMap;
use dialect::Dialect;
use std::{
    path::{Path, PathBuf},
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    time::SystemTime,
};

/// Settings files larger than this are not meant for us.
const LARGEST_FILE: u64 = 16 << 20;

/// What applies to a document: its `trunnion.toml`, the dialects, and what is
/// wrong with either.
#[derive(Debug, Clone, Default)]
pub struct Settings {
    pub config: Config,
    /// The configured ones in their order, then the house dialect.
    pub dialects: Vec<Arc<Dialect>>,
    pub problems: Vec<SettingsProblem>,
}

impl Settings {
    /// The house dialect and nothing else.
    pub fn house() -> Self {
        Self {
            dialects: vec![Dialect::house()],
            ..Self::default()
        }
    }
}

type Stamp = (u64, Option<SystemTime>);
/// No problems: it is some other file.
type ReadDialect = Result<Arc<Dialect>, Vec<SettingsProblem>>;

const NO_DIALECT: &str = "This file is no dialect: it has no table [dialect]. Name one that `trunnion learn` made, or that you wrote.";

/// Whether a file is meant to be a dialect, however wrong. What stands in another one is shown to nobody: settings may
/// come from a stranger.
fn may_be_dialect(file: &Path, text: &str) -> bool {
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let is_table = |line: &str| ["[dialect]", "[[document]]"].contains(&line.trim());
    name.ends_with(".dialect.toml") || text.lines().any(is_table)
}

/// Reads settings and dialects and remembers them while their files stay.
#[derive(Debug, Default)]
pub struct SettingsStore {
    files: Files,
    configs: ReadOnce<Stamp, Arc<Reading>>,
    dialects: ReadOnce<Stamp, ReadDialect>,
    is_wary: AtomicBool,
    /// Folders of versions of one thing.
    versions: Vec<PathBuf>,
    /// By folder, if nothing changes as long as the store is there.
    seen: Option<DashMap<PathBuf, Arc<Settings>>>,
}

impl SettingsStore {
    /// For a run of a command: what applies in a folder is found out once, whatever becomes of the files. A check of a
    /// thousand mods would ask for the settings of the folders around them several thousand times.
    pub fn of_one_run() -> Self {
        Self {
            seen: Some(DashMap::new()),
            ..Self::default()
        }
    }

    /// For several versions of one thing, which lie in these folders: one without dialects of its own, such as an archive
    /// as its author published it, is read by those of the first that has some.
    pub fn of_versions(folders: Vec<PathBuf>) -> Self {
        Self {
            versions: folders,
            ..Self::default()
        }
    }

    /// To be called before anything is read: settings may have been written by a stranger. They then name no folders
    /// that are read or written, and only dialects in their own folder.
    pub fn distrust(&self) {
        self.is_wary.store(true, Ordering::Relaxed);
    }

    /// The settings for a document: those of the nearest `trunnion.toml` in
    /// its folder or above.
    pub fn for_document(&self, document: &Path) -> Settings {
        document
            .parent()
            .map_or_else(Settings::house, |folder| self.for_folder(folder))
    }

    /// The settings for what is in a folder. Of the settings in an archive only the dialects count: whoever reads
    /// somebody else's mod without having unpacked it does not want to be told by it where to look and to write.
    pub fn for_folder(&self, folder: &Path) -> Settings {
        match &self.seen {
            Some(seen) => Settings::clone(&self.remembered(seen, folder)),
            None => self.look(folder),
        }
    }

    /// The settings for what is in a folder: those of the folder above, unless it has some of its own.
    fn remembered(&self, seen: &DashMap<PathBuf, Arc<Settings>>, folder: &Path) -> Arc<Settings> {
        let mut passed = Vec::new();
        let mut found = None;
        for above in folder.ancestors() {
            found = seen.get(above).map(|known| Arc::clone(&known));
            if found.is_some() {
                break;
            }
            passed.push(above);
            // In an archive there are two of them.
            if files::inside(above).is_some() || self.has_settings(above) {
                found = Some(Arc::new(self.look(above)));
                break;
            }
        }
        let found = found.unwrap_or_else(|| Arc::new(Settings::house()));
        for folder in passed {
            seen.insert(folder.to_path_buf(), Arc::clone(&found));
        }
        found
    }

    fn look(&self, folder: &Path) -> Settings {
        let mut settings = self.own(folder);
        if settings.dialects.is_empty() && settings.problems.is_empty() {
            let mut others = self.versions.iter().map(|folder| self.own(folder).dialects);
            let found = others.find(|dialects| !dialects.is_empty());
            settings.dialects = found.unwrap_or_default();
        }
        settings.dialects.push(Dialect::house());
        settings
    }

    /// The same without the house dialect.
    fn own(&self, folder: &Path) -> Settings {
        let mut settings = Settings::default();
        let inside = files::inside(folder);
        if let Some(inside) = &inside
            && let Some(file) = self.nearest(folder, &inside.root)
        {
            let reading = self.config(&file);
            let dialects = reading.config.dialects.iter();
            let own = dialects.filter(|dialect| dialect.starts_with(&inside.root));
            for dialect in own.filter(|dialect| self.files.is_file(dialect)) {
                self.add_dialect(dialect, &mut settings);
            }
        }
        let around = inside.map(|inside| inside.archive);
        if let Some(file) = self.nearest(around.as_deref().unwrap_or(folder), Path::new("")) {
            let reading = self.config(&file);
            settings.config = reading.config.clone();
            settings.problems.extend(reading.problems.iter().cloned());
            for (file, absent) in reading.config.dialects.iter().zip(&reading.absent) {
                match self.files.exists(file) {
                    true if self.is_no_dialect(file) => settings.problems.push(SettingsProblem {
                        message: NO_DIALECT.to_owned(),
                        ..absent.clone()
                    }),
                    true => self.add_dialect(file, &mut settings),
                    false => settings.problems.push(absent.clone()),
                }
            }
            let game = reading.config.game_folder.iter();
            let absent = game
                .zip(&reading.absent_game)
                .filter(|(folder, _)| !folder.is_dir());
            settings
                .problems
                .extend(absent.map(|(_, absent)| absent.clone()));
            let libraries = reading.config.library.iter();
            let absent = libraries.zip(&reading.absent_libraries);
            let absent = absent.filter(|(folder, _)| !folder.exists());
            settings
                .problems
                .extend(absent.map(|(_, absent)| absent.clone()));
        }
        settings
    }

    /// The nearest settings file in a folder or above, up to `top`.
    fn nearest(&self, folder: &Path, top: &Path) -> Option<PathBuf> {
        folder
            .ancestors()
            .take_while(|folder| folder.starts_with(top))
            .find(|folder| self.has_settings(folder))
            .map(|folder| folder.join(config::FILE_NAME))
    }

    fn has_settings(&self, folder: &Path) -> bool {
        !folder.as_os_str().is_empty() && self.files.is_file(&folder.join(config::FILE_NAME))
    }

    /// Whether a file has neither the name nor the tables of a dialect.
    fn is_no_dialect(&self, file: &Path) -> bool {
        matches!(self.dialect(file), Err(problems) if problems.is_empty())
    }

    fn add_dialect(&self, file: &Path, settings: &mut Settings) {
        match self.dialect(file) {
            Ok(dialect) => settings.dialects.push(dialect),
            Err(problems) => settings.problems.extend(problems),
        }
    }

    fn config(&self, file: &Path) -> Arc<Reading> {
        self.configs.get(file, self.stamp(file), || {
            let read = match self.read_text(file) {
                Ok(text) => config::read(file, &text),
                Err(message) => Reading {
                    problems: vec![config::problem(file, "", 0, 0, message)],
                    ..Reading::default()
                },
            };
            Arc::new(match self.is_wary.load(Ordering::Relaxed) {
                true => read.of_a_stranger(|dialect| is_beside(file, dialect)),
                false => read,
            })
        })
    }

    fn dialect(&self, file: &Path) -> ReadDialect {
        self.dialects.get(file, self.stamp(file), || {
            let text = self
                .read_text(file)
                .map_err(|message| vec![config::problem(file, "", 0, 0, message)])?;
            if !may_be_dialect(file, &text) {
                return Err(Vec::new());
            }
            let read = Dialect::read(&text, Some(file.to_path_buf()));
            read.map(Arc::new).map_err(|problems| {
                let placed = problems.into_iter().map(|found| {
                    let range = std::ops::Range::<usize>::from(found.range);
                    config::problem(file, &text, range.start, range.end, found.message)
                });
                placed.collect()
            })
        })
    }

    fn stamp(&self, file: &Path) -> Stamp {
        self.files
            .about(file)
            .map_or((0, None), |about| (about.size, about.modified))
    }

    fn read_text(&self, file: &Path) -> Result<String, String> {
        let about = self
            .files
            .about(file)
            .map_err(|error| format!("This file cannot be opened: {error}."))?;
        if about.size > LARGEST_FILE {
            return Err(format!(
                "This file is larger than {} MB, which is too much for settings or a dialect, so it is not read. Is another file meant?",
                LARGEST_FILE >> 20
            ));
        }
        // What is no file on a disk, a device or a pipe, may have no end, or never begin.
        if !about.is_file {
            return Err(
                "This is a folder or a device, so it is not read. Put a file in its place, or name another one."
                    .to_owned(),
            );
        }
        let bytes = self.files.read(file, LARGEST_FILE);
        let bytes = bytes.map_err(|error| format!("This file cannot be read: {error}."))?;
        String::from_utf8(bytes).map_err(|_| {
            "This file cannot be read: it is not UTF-8. Save it in that encoding.".to_owned()
        })
    }
}

/// Whether a file is in another one's folder or below, also if it is a link.
fn is_beside(other: &Path, file: &Path) -> bool {
    let Some(folder) = other.parent() else {
        return false;
    };
    config::straightened(file).starts_with(config::straightened(folder))
        && match (folder.canonicalize(), file.canonicalize()) {
            (Ok(folder), Ok(file)) => file.starts_with(folder),
            // What is not there, or in an archive, which has no links.
            _ => true,
        }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{archive, folder};

    const DIALECT: &str = "[dialect]\nname = \"quay\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n\
        [element.rig]\n";

    /// The dialects that apply in a folder, without the built-in one.
    fn dialects(folder: &Path) -> Vec<String> {
        let settings = SettingsStore::default().for_folder(folder);
        let own = settings
            .dialects
            .iter()
            .filter(|dialect| dialect.origin.is_some());
        own.map(|dialect| dialect.name.clone()).collect()
    }

    #[test]
    fn an_archive_may_name_dialects_in_itself_only() {
        let folder = folder();
        std::fs::write(folder.path().join("out.dialect.toml"), DIALECT).unwrap();
        let named = |name: &str, file: &str| {
            let zip = folder.path().join(name);
            let settings = format!("dialects = [\"{file}\"]");
            let members = [
                (config::FILE_NAME, settings.as_bytes()),
                ("in.dialect.toml", DIALECT.as_bytes()),
            ];
            archive(&zip, &members);
            dialects(&files::content_of(&zip))
        };
        assert_eq!(named("a.zip", "in.dialect.toml"), ["quay"]);
        assert!(named("b.zip", "../out.dialect.toml").is_empty());
        let outside = folder.path().join("out.dialect.toml");
        let outside = outside.to_string_lossy().replace('\\', "/");
        assert!(named("c.zip", &outside).is_empty());
    }

    #[test]
    fn a_game_folder_that_is_a_file_is_told() {
        let folder = folder();
        std::fs::write(folder.path().join("game"), "").unwrap();
        let settings = "game-folder = \"game\"";
        std::fs::write(folder.path().join(config::FILE_NAME), settings).unwrap();
        let problems = SettingsStore::default().for_folder(folder.path()).problems;
        assert_eq!(problems.len(), 1, "{problems:?}");
    }
}
