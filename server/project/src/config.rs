//! `trunnion.toml`: what a mod or a workspace says about itself.
//!
//! ```toml
//! dialects = ["dialects/quay.dialect.toml"]   # beside this file
//! game-folder = "/games/quay"                 # where prefixed files are looked for
//! ```

use serde::Deserialize;
use std::path::{Path, PathBuf};
use syntax::{TextRange, TextSize};

/// The name of the file.
pub const FILE_NAME: &str = "trunnion.toml";

/// What a `trunnion.toml` says, with its paths made absolute by its folder.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Config {
    /// The file itself; none when nothing is configured.
    pub path: Option<PathBuf>,
    pub dialects: Vec<PathBuf>,
    /// Where files with the dialect's game prefix are looked for.
    pub game_folder: Option<PathBuf>,
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Written {
    #[serde(default)]
    dialects: Vec<PathBuf>,
    game_folder: Option<PathBuf>,
}

/// Reads the text of a `trunnion.toml`.
///
/// # Errors
/// The first mistake with its place: not TOML, an unknown key, a wrong type.
pub(crate) fn read(path: &Path, text: &str) -> Result<Config, SettingsProblem> {
    let written: Written = toml::from_str(text).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        problem(
            path,
            text,
            span.start,
            span.end,
            error.message().to_string(),
        )
    })?;
    let folder = path.parent().unwrap_or(Path::new(""));
    Ok(Config {
        path: Some(path.to_path_buf()),
        dialects: written
            .dialects
            .iter()
            .map(|file| folder.join(file))
            .collect(),
        game_folder: written.game_folder.map(|game| folder.join(game)),
    })
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

    #[test]
    fn paths_start_at_the_file() {
        let text = "dialects = [\"d/quay.dialect.toml\"]\ngame-folder = \"../game\"\n";
        let config = read(Path::new("/mods/bram/trunnion.toml"), text).unwrap();
        assert_eq!(
            config.dialects,
            [PathBuf::from("/mods/bram/d/quay.dialect.toml")]
        );
        assert_eq!(
            config.game_folder,
            Some(PathBuf::from("/mods/bram/../game"))
        );
    }

    #[test]
    fn an_unknown_key_is_an_error_with_its_place() {
        let problem = read(Path::new("trunnion.toml"), "dialects = []\ndialect = 1\n").unwrap_err();
        assert_eq!((problem.line, problem.column), (1, 0));
        assert!(problem.message.contains("dialect"), "{}", problem.message);
    }

    #[test]
    fn an_empty_file_is_fine() {
        assert_eq!(
            read(Path::new("trunnion.toml"), "").unwrap().dialects,
            Vec::<PathBuf>::new()
        );
    }
}
