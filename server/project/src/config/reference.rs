//! What can be set in a `trunnion.toml`: the one list, from which the reference for readers is made.

/// One setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    pub key: &'static str,
    /// What it takes.
    pub takes: &'static str,
    /// What holds without it.
    pub usual: &'static str,
    /// What it is for.
    pub doc: &'static str,
    /// A line as it may stand in the file.
    pub example: &'static str,
}

pub(super) const DIALECTS: &str = "dialects";
pub(super) const GAME_FOLDER: &str = "game-folder";
pub(super) const LARGEST_DOCUMENT: &str = "largest-document";
pub(super) const LARGEST_SCENE: &str = "largest-scene";
pub(super) const MOST_NODES: &str = "most-nodes";
pub(super) const HEAVY_FILE: &str = "heavy-file";
pub(super) const LIBRARY: &str = "library";
pub(super) const CACHE_FOLDER: &str = "cache-folder";
pub(super) const INLAY_HINTS: &str = "inlay-hints";
pub(super) const CODE_LENSES: &str = "code-lenses";
pub(super) const SECOND_LENGTH_UNIT: &str = "second-length-unit";

/// All settings, in the order in which a reader wants to know of them.
pub const SETTINGS: [Setting; 11] = [
    Setting {
        key: DIALECTS,
        takes: "names of files, from the folder of trunnion.toml",
        usual: "the built-in dialect only",
        doc: "Dialect files, which say what definitions may contain. The built-in dialect is always known besides.",
        example: r#"dialects = ["my-game.dialect.toml"]"#,
    },
    Setting {
        key: GAME_FOLDER,
        takes: "a folder",
        usual: "none: files of the game are not looked for",
        doc: "Where the files are that the game brings along and that definitions name with the dialect's prefix.",
        example: r#"game-folder = "/path/to/the/game""#,
    },
    Setting {
        key: LIBRARY,
        takes: "folders and archives",
        usual: "none",
        doc: "Mods of others, from which usual values and examples are taken.",
        example: r#"library = ["../mods", "../old-mods.zip"]"#,
    },
    Setting {
        key: CACHE_FOLDER,
        takes: "a folder",
        usual: "your system's folder for caches",
        doc: "Where what is known of a library is kept. Nothing is kept without a library.",
        example: r#"cache-folder = "/path/to/a/folder""#,
    },
    Setting {
        key: INLAY_HINTS,
        takes: "true or false",
        usual: "true",
        doc: "Whether calculated numbers are shown beside what is written.",
        example: "inlay-hints = false",
    },
    Setting {
        key: CODE_LENSES,
        takes: "true or false",
        usual: "true",
        doc: "Whether there are lenses: above names how often they are used, above animations and controls *play* and *How others do this*.",
        example: "code-lenses = false",
    },
    Setting {
        key: SECOND_LENGTH_UNIT,
        takes: "\"m\", \"cm\", \"mm\", \"in\" or \"ft\"",
        usual: "none",
        doc: "A unit in which lengths are shown, too.",
        example: r#"second-length-unit = "in""#,
    },
    Setting {
        key: LARGEST_DOCUMENT,
        takes: "megabytes, from 1 to 1024",
        usual: "64",
        doc: "What is larger is not read, which is said in one finding.",
        example: "largest-document = 128",
    },
    Setting {
        key: LARGEST_SCENE,
        takes: "megabytes, from 1 to 1024",
        usual: "256",
        doc: "The same for the file of a scene.",
        example: "largest-scene = 512",
    },
    Setting {
        key: MOST_NODES,
        takes: "a number from 1 to 1000000",
        usual: "200000",
        doc: "Scenes of more nodes are not read.",
        example: "most-nodes = 300000",
    },
    Setting {
        key: HEAVY_FILE,
        takes: "megabytes, from 1 to 1024",
        usual: "1",
        doc: "Files of a mod that are smaller are never called heavy. Larger ones are, if they are recordings or \
              pictures that are not compressed, pictures of more than 4096 pixels in a row or column, or scenes with \
              meshes that no node has.",
        example: "heavy-file = 10",
    },
];

/// The settings as Markdown, for readers.
pub fn reference() -> String {
    let mut text = String::from(
        "# What can be set in trunnion.toml\n\n\
         The file stands in the folder of a mod, or in one above it; the nearest holds. Paths start at it. A change \
         holds at once, also while an editor is open. What is not known is reported and leaves the rest alone.\n",
    );
    for setting in SETTINGS {
        let Setting {
            key,
            takes,
            usual,
            doc,
            example,
        } = setting;
        text.push_str(&format!(
            "\n## {key}\n\n{doc}\n\n- Takes: {takes}\n- Without it: {usual}\n\n```toml\n{example}\n```\n"
        ));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::read;
    use expect_test::expect_file;
    use std::path::Path;

    #[test]
    fn the_reference_is_what_the_code_says() {
        expect_file!["../../SETTINGS.md"].assert_eq(&reference());
    }

    #[test]
    fn every_example_is_taken_and_changes_something() {
        let path = Path::new("/mod/trunnion.toml");
        let without = read(path, "").config;
        for setting in SETTINGS {
            // A cache belongs to a library.
            let more = match setting.key {
                CACHE_FOLDER => "library = [\"mods\"]\n",
                _ => "",
            };
            let reading = read(path, &format!("{more}{}\n", setting.example));
            assert_eq!(reading.problems, [], "{}", setting.key);
            assert_ne!(reading.config, without, "{}", setting.key);
            assert!(setting.example.starts_with(setting.key));
        }
    }
}
