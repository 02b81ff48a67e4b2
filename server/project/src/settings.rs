//! Which settings and dialects apply to a document.

use crate::config::{self, Config, SettingsProblem};
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
    configs: DashMap<PathBuf, (Stamp, Result<Config, SettingsProblem>)>,
    dialects: DashMap<PathBuf, (Stamp, ReadDialect)>,
}

impl SettingsStore {
    /// The settings for a document: those of the nearest `trunnion.toml` in
    /// its folder or above.
    pub fn for_document(&self, document: &Path) -> Settings {
        let mut settings = Settings::default();
        let nearest = document
            .ancestors()
            .skip(1)
            .filter(|folder| !folder.as_os_str().is_empty())
            .map(|folder| folder.join(config::FILE_NAME))
            .find(|file| file.is_file());
        if let Some(file) = nearest {
            match self.config(&file) {
                Ok(config) => settings.config = config,
                Err(problem) => settings.problems.push(problem),
            }
        }
        for file in &settings.config.dialects {
            match self.dialect(file) {
                Ok(dialect) => settings.dialects.push(dialect),
                Err(problems) => settings.problems.extend(problems),
            }
        }
        settings.dialects.push(Dialect::house());
        settings
    }

    fn config(&self, file: &Path) -> Result<Config, SettingsProblem> {
        let stamp = stamp(file);
        if let Some(known) = self.configs.get(file).filter(|known| known.0 == stamp) {
            return known.1.clone();
        }
        let read = read_text(file)
            .map_err(|message| config::problem(file, "", 0, 0, message))
            .and_then(|text| config::read(file, &text));
        self.configs
            .insert(file.to_path_buf(), (stamp, read.clone()));
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
    fs::read_to_string(file).map_err(|error| format!("This file cannot be read: {error}."))
}
