//! `trunnion.toml`: what a mod or a workspace says about itself.
//!
//! What can be set, with examples: [`SETTINGS`].

mod reference;
mod stranger;

pub use reference::{SETTINGS, Setting, reference};

use crate::index;
use reference::*;
use std::{
    ops::Range,
    path::{Component, Path, PathBuf},
};
use syntax::{TextRange, TextSize};
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

/// The name of the file.
pub const FILE_NAME: &str = "trunnion.toml";

/// What a `trunnion.toml` says, with its paths made absolute by its folder.
#[derive(Debug, Clone, PartialEq)]
pub struct Config {
    /// The file itself; none when nothing is configured.
    pub path: Option<PathBuf>,
    pub dialects: Vec<PathBuf>,
    /// Where files with the dialect's game prefix are looked for.
    pub game_folder: Option<PathBuf>,
    /// Folders of mods, or archives of them, that are looked to for precedents.
    pub library: Vec<PathBuf>,
    /// Where what is known of the library is kept: the platform's folder for caches if none is
    /// set. None without a library.
    pub cache_folder: Option<PathBuf>,
    pub limits: Limits,
    /// Whether calculated numbers are shown beside what is written.
    pub has_hints: bool,
    /// Whether lenses stand above names, animations and controls.
    pub has_lenses: bool,
    /// The symbol of the unit in which lengths are shown too.
    pub second_length: Option<&'static str>,
}

impl Default for Config {
    /// Nothing is configured.
    fn default() -> Self {
        Self {
            path: None,
            dialects: Vec::new(),
            game_folder: None,
            library: Vec::new(),
            cache_folder: None,
            limits: Limits::default(),
            has_hints: true,
            has_lenses: true,
            second_length: None,
        }
    }
}

/// What is read at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    pub document: Size,
    /// Of the file of a scene.
    pub scene: Size,
    /// Of a scene.
    pub nodes: usize,
    /// Smaller files of a mod are never called heavy.
    pub heavy: Size,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            document: Size {
                megabytes: 64,
                setting: LARGEST_DOCUMENT,
            },
            scene: Size {
                megabytes: 256,
                setting: LARGEST_SCENE,
            },
            nodes: scene::MOST_NODES,
            heavy: Size {
                megabytes: 1,
                setting: HEAVY_FILE,
            },
        }
    }
}

/// The size up to which a file is read, and the setting that says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Size {
    megabytes: u32,
    setting: &'static str,
}

impl Size {
    /// No smaller one can be set.
    pub(crate) const SMALLEST: Self = Self {
        megabytes: 1,
        setting: "",
    };
    /// Nor a larger one.
    const LARGEST: u32 = 1024;

    /// The largest size in bytes that is still read.
    pub fn bytes(self) -> u64 {
        u64::from(self.megabytes) << 20
    }

    /// What to tell about a file of this many bytes that is not read.
    pub fn passed_by(self, bytes: u64) -> String {
        let Self { megabytes, setting } = self;
        format!(
            "It is {:.1} MB large; what is over {megabytes} MB is not read. If it has to be that large, set \
             `{setting}` in trunnion.toml.",
            bytes as f64 / f64::from(1 << 20)
        )
    }
}

/// Something wrong in a settings or dialect file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingsProblem {
    pub path: PathBuf,
    /// In the text of that file.
    pub range: TextRange,
    /// Zero-based.
    pub line: u32,
    /// Zero-based, in characters.
    pub column: u32,
    pub message: String,
}

/// The text of a `trunnion.toml`, read.
#[derive(Debug, Clone, Default)]
pub(crate) struct Reading {
    /// What could be understood; a mistake in one key leaves the others alone.
    pub(crate) config: Config,
    pub(crate) problems: Vec<SettingsProblem>,
    /// What to say if a dialect's file is not there; parallel to `config.dialects`.
    pub(crate) absent: Vec<SettingsProblem>,
    /// The same for `config.game_folder`.
    pub(crate) absent_game: Option<SettingsProblem>,
    /// The same for `config.library`.
    pub(crate) absent_libraries: Vec<SettingsProblem>,
}

/// What can be set for [`SECOND_LENGTH_UNIT`].
const LENGTH_UNITS: [&str; 5] = ["m", "cm", "mm", "in", "ft"];

/// Reads the text of a `trunnion.toml`.
pub(crate) fn read(path: &Path, text: &str) -> Reading {
    let mut reader = Reader {
        path,
        text,
        reading: Reading::default(),
    };
    reader.reading.config.path = Some(path.to_path_buf());
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let message = format!("This is not TOML: {}.", error.message());
        reader.report(error.span().unwrap_or(0..0), message);
    }
    let mut entries: Vec<_> = table.get_ref().iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    for (key, value) in entries {
        match key.get_ref().as_ref() {
            DIALECTS => reader.dialects(value),
            GAME_FOLDER => {
                reader.reading.config.game_folder = reader.folder(GAME_FOLDER, value);
                let message = "There is no such folder; the path starts at this file.".to_owned();
                let absent = reader.problem(value.span(), message);
                reader.reading.absent_game = Some(absent);
            }
            LIBRARY => reader.library(value),
            CACHE_FOLDER => reader.reading.config.cache_folder = reader.folder(CACHE_FOLDER, value),
            LARGEST_DOCUMENT => reader.size(LARGEST_DOCUMENT, value, |limits| &mut limits.document),
            LARGEST_SCENE => reader.size(LARGEST_SCENE, value, |limits| &mut limits.scene),
            HEAVY_FILE => reader.size(HEAVY_FILE, value, |limits| &mut limits.heavy),
            MOST_NODES => {
                let most = u32::try_from(scene::MOST_NODES_EVER).unwrap_or(u32::MAX);
                if let Some(nodes) = reader.number(MOST_NODES, "nodes", most, value) {
                    reader.reading.config.limits.nodes = nodes as usize;
                }
            }
            INLAY_HINTS => reader.answer(INLAY_HINTS, value, |config| &mut config.has_hints),
            CODE_LENSES => reader.answer(CODE_LENSES, value, |config| &mut config.has_lenses),
            SECOND_LENGTH_UNIT => reader.second_length(value),
            other => {
                let message = format!("There is no setting `{other}`. There are {}.", all_keys());
                reader.report(key.span(), message);
            }
        }
    }
    let config = &mut reader.reading.config;
    if config.library.is_empty() {
        config.cache_folder = None;
    } else if config.cache_folder.is_none() {
        config.cache_folder = index::cache_folder();
    }
    reader.reading
}

/// Where the text of a `trunnion.toml` names dialects, in quotes, and which files these are.
pub fn dialects_named(path: &Path, text: &str) -> Vec<(TextRange, PathBuf)> {
    let reading = read(path, text);
    let places = reading.absent.into_iter().map(|absent| absent.range);
    places.zip(reading.config.dialects).collect()
}

/// `a`, `b` and `c`.
fn all_keys() -> String {
    let keys = SETTINGS.map(|setting| format!("`{}`", setting.key));
    match keys.split_last() {
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => String::new(),
    }
}

struct Reader<'r> {
    path: &'r Path,
    text: &'r str,
    reading: Reading,
}

impl Reader<'_> {
    fn problem(&self, at: Range<usize>, message: String) -> SettingsProblem {
        problem(self.path, self.text, at.start, at.end, message)
    }

    fn report(&mut self, at: Range<usize>, message: String) {
        let problem = self.problem(at, message);
        self.reading.problems.push(problem);
    }

    fn dialects(&mut self, value: &Spanned<DeValue<'_>>) {
        let DeValue::Array(files) = value.get_ref() else {
            let message = format!(
                "`{DIALECTS}` takes an array of file names, such as [\"my-game.dialect.toml\"], not {}.",
                described(value.get_ref())
            );
            return self.report(value.span(), message);
        };
        for file in files {
            match file.get_ref().as_str() {
                Some(name) => {
                    let absent = self.problem(
                        file.span(),
                        format!("There is no dialect file `{name}` beside this file."),
                    );
                    self.reading.absent.push(absent);
                    self.reading.config.dialects.push(self.beside(name));
                }
                None => self.report(
                    file.span(),
                    format!(
                        "A dialect is named by its file, such as \"my-game.dialect.toml\", not by {}.",
                        described(file.get_ref())
                    ),
                ),
            }
        }
    }

    fn library(&mut self, value: &Spanned<DeValue<'_>>) {
        let DeValue::Array(folders) = value.get_ref() else {
            let message = format!(
                "`{LIBRARY}` takes an array of folders, such as [\"../mods\"], not {}.",
                described(value.get_ref())
            );
            return self.report(value.span(), message);
        };
        for folder in folders {
            match folder.get_ref().as_str() {
                Some(name) => {
                    let absent = self.problem(
                        folder.span(),
                        format!(
                            "There is no folder or archive `{name}`; the path starts at this file."
                        ),
                    );
                    self.reading.absent_libraries.push(absent);
                    let path = straightened(&self.beside(name));
                    self.reading.config.library.push(path);
                }
                None => self.report(
                    folder.span(),
                    format!(
                        "A library is a folder in quotes, such as \"../mods\", not {}.",
                        described(folder.get_ref())
                    ),
                ),
            }
        }
    }

    fn folder(&mut self, key: &str, value: &Spanned<DeValue<'_>>) -> Option<PathBuf> {
        let name = value.get_ref().as_str();
        if name.is_none() {
            let message = format!(
                "`{key}` takes a folder in quotes, not {}.",
                described(value.get_ref())
            );
            self.report(value.span(), message);
        }
        Some(self.beside(name?))
    }

    /// A whole number from 1 to `most`.
    fn number(
        &mut self,
        key: &str,
        of_what: &str,
        most: u32,
        value: &Spanned<DeValue<'_>>,
    ) -> Option<u32> {
        let number = match value.get_ref() {
            DeValue::Integer(number) => {
                let digits = number.as_str().replace('_', "");
                u32::from_str_radix(&digits, number.radix()).ok()
            }
            _ => None,
        };
        let number = number.filter(|number| (1..=most).contains(number));
        if number.is_none() {
            let message = match value.get_ref() {
                DeValue::Integer(number) => format!(
                    "`{key}` takes a number of {of_what} from 1 to {most}, not {}.",
                    number.as_str()
                ),
                other => format!(
                    "`{key}` takes a number of {of_what} from 1 to {most}, not {}.",
                    described(other)
                ),
            };
            self.report(value.span(), message);
        }
        number
    }

    fn size(&mut self, key: &str, value: &Spanned<DeValue<'_>>, of: fn(&mut Limits) -> &mut Size) {
        if let Some(size) = self.number(key, "megabytes", Size::LARGEST, value) {
            of(&mut self.reading.config.limits).megabytes = size;
        }
    }

    fn answer(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        of: fn(&mut Config) -> &mut bool,
    ) {
        if let DeValue::Boolean(answer) = value.get_ref() {
            *of(&mut self.reading.config) = *answer;
            return;
        }
        let message = format!(
            "`{key}` takes true or false, not {}.",
            described(value.get_ref())
        );
        self.report(value.span(), message);
    }

    fn second_length(&mut self, value: &Spanned<DeValue<'_>>) {
        let named = value.get_ref().as_str();
        let unit = LENGTH_UNITS.into_iter().find(|unit| named == Some(unit));
        if unit.is_none() {
            let message = format!(
                "`{SECOND_LENGTH_UNIT}` takes one of \"{}\".",
                LENGTH_UNITS.join("\", \"")
            );
            self.report(value.span(), message);
        }
        self.reading.config.second_length = unit;
    }

    /// The path that a name means.
    fn beside(&self, name: &str) -> PathBuf {
        self.path.parent().unwrap_or(Path::new("")).join(name)
    }
}

/// The same path without `.` and `..`: files below it are to be recognised by their paths.
pub fn straightened(path: &Path) -> PathBuf {
    let mut straight = PathBuf::new();
    for step in path.components() {
        match step {
            Component::CurDir => {}
            Component::ParentDir if straight.file_name().is_some() => {
                straight.pop();
            }
            other => straight.push(other),
        }
    }
    straight
}

fn described(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a string",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "an array",
        DeValue::Table(_) => "a table",
    }
}

/// A problem at a byte range of a settings file.
pub(crate) fn problem(
    path: &Path,
    text: &str,
    start: usize,
    end: usize,
    message: String,
) -> SettingsProblem {
    let start = floor_char_boundary(text, start);
    let end = floor_char_boundary(text, end).max(start);
    let before = &text[..start];
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    SettingsProblem {
        path: path.to_path_buf(),
        range: TextRange::new(offset(start), offset(end)),
        line: u32::try_from(before.matches('\n').count()).unwrap_or(u32::MAX),
        column: u32::try_from(before[line_start..].chars().count()).unwrap_or(u32::MAX),
        message,
    }
}

fn offset(at: usize) -> TextSize {
    TextSize::new(u32::try_from(at).unwrap_or(u32::MAX))
}

fn floor_char_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len()))
        .rev()
        .find(|&at| text.is_char_boundary(at))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::{Expect, expect};

    #[test]
    fn paths_start_at_the_file() {
        let text = "dialects = [\"d/quay.dialect.toml\"]\ngame-folder = \"../game\"\n";
        let config = read(Path::new("/mods/bram/trunnion.toml"), text).config;
        assert_eq!(
            config.dialects,
            [PathBuf::from("/mods/bram/d/quay.dialect.toml")]
        );
        assert_eq!(
            config.game_folder,
            Some(PathBuf::from("/mods/bram/../game"))
        );
    }

    fn check(text: &str, expected: &Expect) {
        let reading = read(Path::new("trunnion.toml"), text);
        let shown: String = reading
            .problems
            .iter()
            .map(|problem| {
                format!(
                    "{}:{} {}\n",
                    problem.line + 1,
                    problem.column + 1,
                    problem.message
                )
            })
            .collect();
        expected.assert_eq(&shown);
    }

    #[test]
    fn what_the_editor_shows_can_be_set() {
        let text = "inlay-hints = false\ncode-lenses = 0\nsecond-length-unit = \"ft\"\n";
        let config = read(Path::new("trunnion.toml"), text).config;
        assert!(!config.has_hints && config.has_lenses);
        assert_eq!(config.second_length, Some("ft"));
        check(
            "code-lenses = 0\nsecond-length-unit = \"ells\"\n",
            &expect![[r#"
                1:15 `code-lenses` takes true or false, not a number.
                2:22 `second-length-unit` takes one of "m", "cm", "mm", "in", "ft".
            "#]],
        );
    }

    #[test]
    fn all_mistakes_are_reported_at_once_with_their_places() {
        check(
            "dialects = [\"a.toml\", 3]\ngame-foldr = \"/x\"\ngame-folder = 7\n",
            &expect![[r#"
                1:23 A dialect is named by its file, such as "my-game.dialect.toml", not by a number.
                2:1 There is no setting `game-foldr`. There are `dialects`, `game-folder`, `library`, `cache-folder`, `inlay-hints`, `code-lenses`, `second-length-unit`, `largest-document`, `largest-scene`, `most-nodes` and `heavy-file`.
                3:15 `game-folder` takes a folder in quotes, not a number.
            "#]],
        );
        check(
            "dialects = \"a.toml\"\n",
            &expect![[r#"
                1:12 `dialects` takes an array of file names, such as ["my-game.dialect.toml"], not a string.
            "#]],
        );
    }

    #[test]
    fn a_mistake_leaves_the_other_settings_alone() {
        let reading = read(
            Path::new("/m/trunnion.toml"),
            "dialects = [\"a.toml\"]\ncolour = 1\n",
        );
        assert_eq!(reading.config.dialects, [PathBuf::from("/m/a.toml")]);
        assert_eq!(reading.problems.len(), 1);
    }

    #[test]
    fn a_library_is_a_list_of_folders() {
        let read = |text: &str| read(Path::new("/mods/bram/trunnion.toml"), text).config;
        let config =
            read("library = [\"../../quay\", \"/old/mods.zip\"]\ncache-folder = \"kept\"\n");
        assert_eq!(
            config.library,
            [PathBuf::from("/quay"), PathBuf::from("/old/mods.zip")]
        );
        assert_eq!(config.cache_folder, Some(PathBuf::from("/mods/bram/kept")));
        // Without a library nothing is kept.
        assert_eq!(read("cache-folder = \"kept\"\n").cache_folder, None);
        check(
            "library = \"../mods\"\ncache-folder = 1\n",
            &expect![[r#"
                1:11 `library` takes an array of folders, such as ["../mods"], not a string.
                2:16 `cache-folder` takes a folder in quotes, not a number.
            "#]],
        );
    }

    #[test]
    fn limits_are_numbers_within_bounds() {
        let limits = |text: &str| read(Path::new("trunnion.toml"), text).config.limits;
        assert_eq!(limits(""), Limits::default());
        let set = limits("largest-document = 2\nlargest-scene = 3\nmost-nodes = 1_000\n");
        assert_eq!(
            (set.document.bytes(), set.scene.bytes(), set.nodes),
            (2 << 20, 3 << 20, 1_000)
        );
        assert_eq!(
            limits("largest-document = 0\nmost-nodes = -1"),
            Limits::default()
        );
        check(
            "largest-document = 0\nlargest-scene = \"big\"\nmost-nodes = 9000000\n",
            &expect![[r#"
                1:20 `largest-document` takes a number of megabytes from 1 to 1024, not 0.
                2:17 `largest-scene` takes a number of megabytes from 1 to 1024, not a string.
                3:14 `most-nodes` takes a number of nodes from 1 to 1000000, not 9000000.
            "#]],
        );
    }

    #[test]
    fn an_empty_file_is_fine() {
        let reading = read(Path::new("trunnion.toml"), "");
        assert!(reading.problems.is_empty() && reading.config.dialects.is_empty());
    }
}
