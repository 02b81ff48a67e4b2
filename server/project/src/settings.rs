//! Which settings and dialects apply to a document.

use crate::config::{self, Config, Reading, SettingsProblem};
use dashmap::DashMap;
use dialect::Dialect;
use std::{
    fs,
    path::{Path, PathBuf},
    sync::Arc,
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
type ReadDialect = Result<Arc<Dialect>, Vec<SettingsProblem>>;

/// Reads settings and dialects and remembers them while their files stay.
#[derive(Debug, Default)]
pub struct SettingsStore {
    configs: DashMap<PathBuf, (Stamp, Arc<Reading>)>,
    dialects: DashMap<PathBuf, (Stamp, ReadDialect)>,
}

impl SettingsStore {
    /// The settings for a document: those of the nearest `trunnion.toml` in
    /// its folder or above.
    pub fn for_document(&self, document: &Path) -> Settings {
        document
            .parent()
            .map_or_else(Settings::house, |folder| self.for_folder(folder))
    }

    /// The settings for what is in a folder.
    pub fn for_folder(&self, folder: &Path) -> Settings {
        let mut settings = Settings::default();
        let nearest = folder
            .ancestors()
            .filter(|folder| !folder.as_os_str().is_empty())
            .map(|folder| folder.join(config::FILE_NAME))
            .find(|file| file.is_file());
        if let Some(file) = nearest {
            let reading = self.config(&file);
            settings.config = reading.config.clone();
            settings.problems.extend(reading.problems.iter().cloned());
            for (file, absent) in reading.config.dialects.iter().zip(&reading.absent) {
                if !file.exists() {
                    settings.problems.push(absent.clone());
                    continue;
                }
                match self.dialect(file) {
                    Ok(dialect) => settings.dialects.push(dialect),
                    Err(problems) => settings.problems.extend(problems),
                }
            }
            let libraries = reading.config.library.iter();
            let absent = libraries.zip(&reading.absent_libraries);
            let absent = absent.filter(|(folder, _)| !folder.exists());
            settings
                .problems
                .extend(absent.map(|(_, absent)| absent.clone()));
        }
        settings.dialects.push(Dialect::house());
        settings
    }

    fn config(&self, file: &Path) -> Arc<Reading> {
        let stamp = stamp(file);
        if let Some(known) = self.configs.get(file).filter(|known| known.0 == stamp) {
            return Arc::clone(&known.1);
        }
        let read = Arc::new(match read_text(file) {
            Ok(text) => config::read(file, &text),
            Err(message) => Reading {
                problems: vec![config::problem(file, "", 0, 0, message)],
                ..Reading::default()
            },
        });
        self.configs
            .insert(file.to_path_buf(), (stamp, Arc::clone(&read)));
        read
    }

    fn dialect(&self, file: &Path) -> ReadDialect {
        let stamp = stamp(file);
        if let Some(known) = self.dialects.get(file).filter(|known| known.0 == stamp) {
            return known.1.clone();
        }
        let read = read_text(file)
            .map_err(|message| vec![config::problem(file, "", 0, 0, message)])
            .and_then(|text| {
                Dialect::read(&text, Some(file.to_path_buf()))
                    .map(Arc::new)
                    .map_err(|problems| {
                        problems
                            .into_iter()
                            .map(|found| {
                                let range = std::ops::Range::<usize>::from(found.range);
                                config::problem(file, &text, range.start, range.end, found.message)
                            })
                            .collect()
                    })
            });
        self.dialects
            .insert(file.to_path_buf(), (stamp, read.clone()));
        read
    }
}

fn stamp(file: &Path) -> Stamp {
    fs::metadata(file).map_or((0, None), |about| (about.len(), about.modified().ok()))
}

fn read_text(file: &Path) -> Result<String, String> {
    let about =
        fs::metadata(file).map_err(|error| format!("This file cannot be opened: {error}."))?;
    if about.len() > LARGEST_FILE {
        return Err(format!(
            "This file is larger than {} MB.",
            LARGEST_FILE >> 20
        ));
    }
    // What is no file on a disk, a device or a pipe, may have no end, or never begin.
    if !about.is_file() {
        return Err("This is no file.".to_owned());
    }
    fs::read_to_string(file).map_err(|error| format!("This file cannot be read: {error}."))
}
